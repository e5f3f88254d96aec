//! `gridlift/walk/1`: an ordered list of deductions that solves a puzzle.

use serde::Serialize;

use crate::grid::{Board, CellSet, Digits};
use crate::walk::{Pencil, Rectangle, Step, Strike, Walk, Words, say};

/// The name of this form.
pub const NAME: &str = "gridlift/walk/1";

/// The JSON Schema (draft 2020-12) of this form.
pub const SCHEMA: &str = include_str!("walk.schema.json");

/// One walk. The fields are those of the form, in its order.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct WalkForm {
    schema: &'static str,
    givens: String,
    solution: String,
    complete: bool,
    marks: bool,
    effort: f64,
    minutes: f64,
    carried_most: usize,
    hardest: Option<&'static str>,
    steps: Vec<StepForm>,
    #[serde(skip_serializing_if = "Option::is_none")]
    from: Option<String>,
}

/// One step of a walk.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StepForm {
    n: usize,
    deduction: &'static str,
    view: &'static str,
    houses: Vec<String>,
    cells: Vec<String>,
    digits: Vec<u8>,
    puts: Vec<PutForm>,
    strikes: Vec<StrikeForm>,
    because: BecauseForm,
    rectangle: Option<RectangleForm>,
    effort: f64,
    carried: usize,
    say: String,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
struct PutForm {
    cell: String,
    digit: u8,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
struct StrikeForm {
    cell: String,
    digits: Vec<u8>,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
struct BecauseForm {
    cells: Vec<String>,
    facts: Vec<usize>,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
struct RectangleForm {
    cells: Vec<String>,
    digits: Vec<u8>,
}

impl WalkForm {
    /// The form of a walk through a puzzle with this solution, spoken in these words.
    pub fn new(walk: &Walk, solution: &Board, words: &Words) -> Self {
        Self {
            schema: NAME,
            givens: walk.givens.to_string(),
            solution: solution.to_string(),
            complete: walk.complete,
            marks: walk.pencil == Pencil::Marks,
            effort: hundredths(walk.steps.iter().map(|step| hundredths(step.effort)).sum()),
            minutes: hundredths(walk.minutes()),
            carried_most: walk.carried_most(),
            hardest: walk.hardest().map(|deduction| deduction.name()),
            steps: walk.steps.iter().map(|step| StepForm::new(step, words)).collect(),
            from: (walk.start != walk.givens).then(|| walk.start.to_string()),
        }
    }
}

impl StepForm {
    /// The form of a step, spoken in these words.
    pub fn new(step: &Step, words: &Words) -> Self {
        Self {
            n: step.n,
            deduction: step.deduction.name(),
            view: step.view.name(),
            houses: step.houses.iter().map(ToString::to_string).collect(),
            cells: names(step.cells),
            digits: values(step.digits),
            puts: step.puts.iter().map(|put| PutForm { cell: put.cell.to_string(), digit: put.digit.value() }).collect(),
            strikes: step.strikes.iter().map(StrikeForm::from).collect(),
            because: BecauseForm { cells: names(step.because_cells), facts: step.because_facts.clone() },
            rectangle: step.rectangle.as_ref().map(RectangleForm::from),
            effort: hundredths(step.effort),
            carried: step.carried,
            say: say(step, words),
        }
    }
}

impl From<&Strike> for StrikeForm {
    fn from(strike: &Strike) -> Self {
        Self { cell: strike.cell.to_string(), digits: values(strike.digits) }
    }
}

impl From<&Rectangle> for RectangleForm {
    fn from(rectangle: &Rectangle) -> Self {
        Self { cells: rectangle.cells.map(|cell| cell.to_string()).to_vec(), digits: rectangle.digits.map(|digit| digit.value()).to_vec() }
    }
}

pub(super) fn names(cells: CellSet) -> Vec<String> {
    cells.iter().map(|cell| cell.to_string()).collect()
}

fn values(digits: Digits) -> Vec<u8> {
    digits.iter().map(|digit| digit.value()).collect()
}

/// Two places after the point: more would claim more than is known.
fn hundredths(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}
