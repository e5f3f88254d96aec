//! What `lift` says about a page on standard error, and what it means for the exit code.

use super::Exit;
use crate::decide::Verdict;
use crate::export::page::{Grid, Page};

/// When a page needs no person.
#[derive(Clone, Copy, Debug, Default)]
pub struct Needs {
    /// Whether mended grids pass too.
    pub accept_mended: bool,
    /// How many grids there must be, where that is known.
    pub grids: Option<usize>,
}

impl Needs {
    /// The exit code for one page.
    pub fn exit(&self, page: &Page) -> Exit {
        let settled = |grid: &Grid| {
            grid.settled_by.is_some() || grid.verdict == Verdict::Proven || self.accept_mended && grid.verdict == Verdict::Mended
        };
        let as_many = self.grids.is_none_or(|expected| page.grids.len() == expected);
        match page.error {
            Some(_) => Exit::Input,
            None if as_many && page.grids.iter().all(settled) => Exit::Done,
            None => Exit::NeedsPerson,
        }
    }
}

/// A line for each grid, and one for whatever else a person should know.
pub fn talk(page: &Page, needs: &Needs) -> Vec<String> {
    let place = place(page);
    if let Some(error) = &page.error {
        return vec![format!("{place}: {}", error.message)];
    }
    let notes = |grid: Option<u32>| page.notes.iter().filter(move |note| note.grid == grid);
    let mut lines: Vec<_> = notes(None).map(|note| format!("{place}: {}", note.say)).collect();
    for grid in &page.grids {
        let name = name(grid);
        lines.push(format!("{place}: grid {name}: {}", describe(grid)));
        lines.extend(notes(Some(grid.n)).map(|note| format!("{place}: grid {name}: {}", note.say)));
    }
    if let Some(expected) = needs.grids.filter(|&expected| expected != page.grids.len()) {
        lines.push(format!("{place}: {}", other_number(page.grids.len(), expected)));
    }
    lines
}

/// The words for another number of grids than there should be.
pub fn other_number(found: usize, expected: usize) -> String {
    let grids = if found == 1 { "grid" } else { "grids" };
    format!("{found} {grids} where {expected} should be")
}

/// A line for each grid that the solution printed elsewhere speaks against.
pub fn contradicted(page: &Page) -> Vec<String> {
    let grids = page.grids.iter().filter(|grid| grid.printed_solution_agrees == Some(false));
    grids.map(|grid| format!("{}: grid {}: {}", place(page), name(grid), describe(grid))).collect()
}

fn place(page: &Page) -> String {
    match page.page {
        1 => page.source.clone(),
        number => format!("{}, page {number}", page.source),
    }
}

fn name(grid: &Grid) -> String {
    grid.label.as_ref().map_or_else(|| grid.n.to_string(), |label| format!("{label:?}"))
}

/// Verdict, number of givens and what else matters under it.
fn describe(grid: &Grid) -> String {
    let mut parts = vec![grid.verdict.to_string()];
    if let Some(givens) = &grid.givens {
        parts.push(match givens.chars().filter(char::is_ascii_digit).count() {
            _ if grid.solved => "a finished grid".into(),
            1 => "1 given".into(),
            count => format!("{count} givens"),
        });
    }
    match (grid.solutions, grid.verdict) {
        (Some(1), _) if grid.solved => {}
        (Some(1), _) => parts.push("one solution".into()),
        (Some(0), Verdict::Misprinted) if grid.conflict.is_empty() => parts.push("no solution".into()),
        (Some(0), Verdict::Misprinted) => parts.push(format!("no solution: {} can't stand together", list(&grid.conflict))),
        (Some(_), Verdict::Misprinted) => parts.push("more than one solution".into()),
        _ => {}
    }
    match grid.shots.as_ref().map(Vec::len) {
        None => {}
        Some(1) => parts.push("from 1 shot".into()),
        Some(count) => parts.push(format!("from {count} shots")),
    }
    if grid.verdict == Verdict::Misprinted && !grid.repairs.is_empty() {
        let repairs: Vec<_> = grid.repairs.iter().map(|repair| format!("{} {} to {}", repair.cell, repair.from, repair.to)).collect();
        parts.push(format!("one of these changes would mend it: {}", list(&repairs)));
    }
    if let Some(person) = &grid.settled_by {
        parts.push(format!("settled by {person}"));
    } else if !grid.flags.is_empty() {
        let flags: Vec<_> = grid.flags.iter().map(|flag| format!("{} ({})", flag.cell, flag.reason)).collect();
        parts.push(format!("look at {}", list(&flags)));
    }
    parts.join(", ")
}

/// The first few of `names` in a sentence.
pub(super) fn list(names: &[String]) -> String {
    const MOST: usize = 6;
    match names {
        [] => String::new(),
        [one] => one.clone(),
        _ if names.len() > MOST => format!("{} and {} more", names[..MOST].join(", "), names.len() - MOST),
        [rest @ .., last] => format!("{} and {last}", rest.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::{Value, json};

    /// A page with one grid of 24 givens, with these fields changed.
    fn page(changes: &[(&str, Value)]) -> Page {
        let givens = format!("{}{}", "123456789.......".repeat(2), ".".repeat(49)).replacen("12345678", ".2345678", 1);
        let mut page = json!({
            "schema": "gridlift/page/1", "source": "p.jpg", "page": 1, "made_by": {"gridlift": "", "weights": "", "thresholds": ""},
            "grids": [{"n": 1, "corners": [[0, 0], [1, 0], [1, 1], [0, 1]], "turn": 0, "givens": givens, "verdict": "proven",
                "confidence": 1.0, "solutions": 1}]
        });
        for (place, value) in changes {
            match place.strip_prefix("grid.") {
                Some(field) => page["grids"][0][field] = value.clone(),
                None => page[*place] = value.clone(),
            }
        }
        serde_json::from_value(page).expect("a page")
    }

    #[test]
    fn each_outcome_is_told_and_counted() {
        let flag = |cell| json!({"cell": cell, "reason": "faint", "read": "3", "suggest": "8", "odds": 2.0});
        let all_cells: Vec<_> = (1..=9).map(|n| flag(format!("r1c{n}"))).collect();
        type Case<'a> = (&'a [(&'a str, Value)], &'a str, Exit);
        let shot = json!({"source": "q.jpg", "page": 1, "sha256": null, "n": 1, "turn": 0, "verdict": "doubtful"});
        let cases: [Case; 11] = [
            (&[("grid.shots", json!([shot, shot]))], "p.jpg: grid 1: proven, 17 givens, one solution, from 2 shots", Exit::Done),
            (&[("grid.shots", json!([shot]))], "p.jpg: grid 1: proven, 17 givens, one solution, from 1 shot", Exit::Done),
            (&[], "p.jpg: grid 1: proven, 17 givens, one solution", Exit::Done),
            (&[("grid.label", json!("No. 7"))], "p.jpg: grid \"No. 7\": proven, 17 givens, one solution", Exit::Done),
            (&[("page", json!(3)), ("grid.solved", json!(true))], "p.jpg, page 3: grid 1: proven, a finished grid", Exit::Done),
            (
                &[("grid.verdict", json!("doubtful")), ("grid.flags", json!([flag("r1c2".into()), flag("r5c5".into())]))],
                "p.jpg: grid 1: doubtful, 17 givens, one solution, look at r1c2 (faint) and r5c5 (faint)",
                Exit::NeedsPerson,
            ),
            (
                &[("grid.verdict", json!("mended")), ("grid.flags", json!(all_cells))],
                "p.jpg: grid 1: mended, 17 givens, one solution, look at r1c1 (faint), r1c2 (faint), r1c3 (faint), r1c4 (faint), \
                 r1c5 (faint), r1c6 (faint) and 3 more",
                Exit::NeedsPerson,
            ),
            (
                &[
                    ("grid.verdict", json!("misprinted")),
                    ("grid.solutions", json!(0)),
                    ("grid.conflict", json!(["r1c2", "r1c7"])),
                    ("grid.repairs", json!([{"cell": "r1c7", "from": "2", "to": "."}])),
                ],
                "p.jpg: grid 1: misprinted, 17 givens, no solution: r1c2 and r1c7 can't stand together, \
                 one of these changes would mend it: r1c7 2 to .",
                Exit::NeedsPerson,
            ),
            (
                &[("grid.verdict", json!("misprinted")), ("grid.solutions", json!(2))],
                "p.jpg: grid 1: misprinted, 17 givens, more than one solution",
                Exit::NeedsPerson,
            ),
            (
                &[("grid.verdict", json!("unreadable")), ("grid.givens", json!(null)), ("grid.solutions", json!(null))],
                "p.jpg: grid 1: unreadable",
                Exit::NeedsPerson,
            ),
            (
                &[("grids", json!([])), ("error", json!({"kind": "empty", "message": "the file is empty"}))],
                "p.jpg: the file is empty",
                Exit::Input,
            ),
        ];
        for (changes, line, exit) in cases {
            let page = page(changes);
            assert_eq!(talk(&page, &Needs::default()), [line]);
            assert_eq!(Needs::default().exit(&page), exit, "{line}");
        }
    }

    #[test]
    fn what_needs_a_person_can_be_set() {
        let mended = page(&[("grid.verdict", json!("mended"))]);
        let accepting = Needs { accept_mended: true, grids: Some(1) };
        assert_eq!(accepting.exit(&mended), Exit::Done);
        assert_eq!(Needs { grids: Some(2), ..accepting }.exit(&mended), Exit::NeedsPerson);
        let settled = page(&[("grid.verdict", json!("doubtful")), ("grid.settled_by", json!("Anna"))]);
        assert_eq!(Needs::default().exit(&settled), Exit::Done);
        let talked = talk(&settled, &Needs { grids: Some(2), ..Needs::default() });
        assert_eq!(talked[1], "p.jpg: 1 grid where 2 should be");
    }
}
