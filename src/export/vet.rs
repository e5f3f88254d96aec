//! `gridlift/vet/1`: whether a puzzle is sound, and what is at fault where it isn't.

use serde::{Deserialize, Serialize};
use serde_json::Map;

use super::page::Repair;
use crate::grid::{Board, CellSet, Digit};
use crate::prove;

/// The name of this form.
pub const NAME: &str = "gridlift/vet/1";

/// The JSON Schema (draft 2020-12) of this form.
pub const SCHEMA: &str = include_str!("vet.schema.json");

/// What was found out about one puzzle. The fields are those of the form, in its order.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Vet {
    /// Always [`NAME`].
    pub schema: String,
    /// The puzzle, 81 characters row by row: `.` for an empty cell, `?` for one that can't be told and counts as empty.
    pub givens: String,
    /// The number of solutions, at most the number that was asked for.
    pub solutions: u64,
    /// Whether there are more solutions than `solutions` says.
    pub capped: bool,
    /// The solution; the first one found where there are more.
    pub solution: Option<String>,
    /// A second solution, where there is one.
    pub second: Option<String>,
    /// Givens that can't stand together and of which none can be left out.
    pub conflict: Vec<String>,
    /// Givens each of which all the others imply.
    pub spare: Vec<String>,
    /// Single changes that would leave exactly one solution; empty where there is one already.
    pub repairs: Vec<Repair>,
    /// Whether no given is spare.
    pub minimal: bool,
    /// The symmetries of the places of the givens.
    pub symmetry: Vec<String>,
    /// The canonical form, equal for all printings of one puzzle.
    pub id: String,
    /// Handwritten digits that differ from the solution; left out where none are known or there isn't one solution.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wrong_entries: Option<Vec<WrongEntry>>,
}

/// A handwritten digit that differs from the solution.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct WrongEntry {
    /// Where.
    pub cell: String,
    /// What someone wrote.
    pub entry: String,
    /// What stands there in the solution.
    pub stands: String,
}

impl Vet {
    /// Vets `givens`, counting up to `cap` solutions (at least two are counted). The cells in `untold` count as empty;
    /// `entries` are handwritten digits, where they are known.
    pub fn new(givens: &Board, untold: CellSet, entries: Option<&Board>, cap: u64) -> Self {
        let cap = cap.max(2);
        let found = prove::count(givens, cap.saturating_add(1));
        let proof = prove::prove(givens);
        let spare = prove::spare(givens);
        let is_sound = proof.count == prove::Count::One;
        let solution = proof.solution.filter(|_| is_sound);
        Self {
            schema: NAME.into(),
            givens: with_untold(givens, untold),
            solutions: found.min(cap),
            capped: found > cap,
            solution: proof.solution.map(|board| board.to_string()),
            second: proof.second.map(|board| board.to_string()),
            conflict: names(prove::conflict(givens)),
            spare: names(spare),
            repairs: prove::repairs(givens).iter().map(repair).collect(),
            minimal: spare.is_empty(),
            symmetry: prove::symmetries(givens.filled()).iter().map(ToString::to_string).collect(),
            id: prove::canonical(givens).to_string(),
            wrong_entries: entries.zip(solution).map(|(entries, solution)| wrong_entries(entries, &solution)),
        }
    }

    /// Whether the puzzle has exactly one solution, and every cell of it is known.
    pub fn is_sound(&self) -> bool {
        self.solutions == 1 && !self.givens.contains('?')
    }
}

fn with_untold(givens: &Board, untold: CellSet) -> String {
    let line = givens.to_string();
    line.chars().enumerate().map(|(index, shown)| if untold.bits() >> index & 1 == 1 { '?' } else { shown }).collect()
}

fn names(cells: CellSet) -> Vec<String> {
    cells.iter().map(|cell| cell.to_string()).collect()
}

fn repair(repair: &prove::Repair) -> Repair {
    let word = |digit: Option<Digit>| digit.map_or_else(|| ".".into(), |digit| digit.to_string());
    Repair { cell: repair.cell.to_string(), from: word(repair.from), to: word(repair.to), unknown: Map::new() }
}

fn wrong_entries(entries: &Board, solution: &Board) -> Vec<WrongEntry> {
    let differs = |(cell, entry)| {
        let stands = solution.get(cell).filter(|&stands| stands != entry)?;
        Some(WrongEntry { cell: cell.to_string(), entry: entry.to_string(), stands: stands.to_string() })
    };
    entries.placed().filter_map(differs).collect()
}
