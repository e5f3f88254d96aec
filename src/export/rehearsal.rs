//! `gridlift/rehearsal/1`: a recorded order of placements held against the deductions.

use serde::Serialize;

use super::walk::{StepForm, names};
use crate::grid::Board;
use crate::walk::{Judged, PassedOver, Ruling, Words};

/// The name of this form.
pub const NAME: &str = "gridlift/rehearsal/1";

/// The JSON Schema (draft 2020-12) of this form.
pub const SCHEMA: &str = include_str!("rehearsal.schema.json");

/// One rehearsal. The fields are those of the form, in its order.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RehearsalForm {
    schema: &'static str,
    givens: String,
    complete: bool,
    placements: Vec<PlacementForm>,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
struct PlacementForm {
    line: usize,
    seconds: Option<u32>,
    cell: String,
    digit: u8,
    ruling: &'static str,
    deduction: Option<&'static str>,
    carried: Option<usize>,
    missing: Vec<StepForm>,
    refuted_by: Vec<String>,
    stands: Option<u8>,
    passed_over: Vec<PassedOverForm>,
    facts: Vec<StepForm>,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
struct PassedOverForm {
    cell: String,
    digit: u8,
    deduction: &'static str,
}

impl RehearsalForm {
    /// The form of a judged recording; `complete` says whether every cell was filled at its end.
    pub fn new(givens: &Board, judged: &[Judged], complete: bool, words: &Words) -> Self {
        let placements = judged.iter().map(|judged| PlacementForm::new(judged, words)).collect();
        Self { schema: NAME, givens: givens.to_string(), complete, placements }
    }
}

impl PlacementForm {
    fn new(judged: &Judged, words: &Words) -> Self {
        let steps = |steps: &[crate::walk::Step]| steps.iter().map(|step| StepForm::new(step, words)).collect();
        Self {
            line: judged.placement.line,
            seconds: judged.placement.seconds,
            cell: judged.placement.put.cell.to_string(),
            digit: judged.placement.put.digit.value(),
            ruling: match judged.ruling {
                Ruling::Sound => "sound",
                Ruling::Leap => "leap",
                Ruling::Slip => "slip",
            },
            deduction: judged.deduction.map(|deduction| deduction.name()),
            carried: judged.deduction.map(|_| judged.facts.len()),
            missing: steps(&judged.missing),
            refuted_by: names(judged.refuted_by),
            stands: judged.stands.map(|digit| digit.value()),
            passed_over: judged.passed_over.iter().map(PassedOverForm::from).collect(),
            facts: steps(&judged.facts),
        }
    }
}

impl From<&PassedOver> for PassedOverForm {
    fn from(over: &PassedOver) -> Self {
        Self { cell: over.put.cell.to_string(), digit: over.put.digit.value(), deduction: over.deduction.name() }
    }
}
