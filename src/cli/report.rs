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
    let place = match page.page {
        1 => page.source.clone(),
        number => format!("{}, page {number}", page.source),
    };
    if let Some(error) = &page.error {
        return vec![format!("{place}: {}", error.message)];
    }
    let notes = |grid: Option<u32>| page.notes.iter().filter(move |note| note.grid == grid);
    let mut lines: Vec<_> = notes(None).map(|note| format!("{place}: {}", note.say)).collect();
    for grid in &page.grids {
        let name = grid.label.as_ref().map_or_else(|| grid.n.to_string(), |label| format!("{label:?}"));
        lines.push(format!("{place}: grid {name}: {}", describe(grid)));
        lines.extend(notes(Some(grid.n)).map(|note| format!("{place}: grid {name}: {}", note.say)));
    }
    if let Some(expected) = needs.grids.filter(|&expected| expected != page.grids.len()) {
        let found = page.grids.len();
        let grids = if found == 1 { "grid" } else { "grids" };
        lines.push(format!("{place}: {found} {grids} where {expected} should be"));
    }
    lines
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
    if let Some(person) = &grid.settled_by {
        parts.push(format!("settled by {person}"));
    } else if !grid.flags.is_empty() {
        let flags: Vec<_> = grid.flags.iter().map(|flag| format!("{} ({})", flag.cell, flag.reason)).collect();
        parts.push(format!("look at {}", list(&flags)));
    }
    parts.join(", ")
}

/// The first few of `names` in a sentence.
fn list(names: &[String]) -> String {
    const MOST: usize = 6;
    match names {
        [] => String::new(),
        [one] => one.clone(),
        _ if names.len() > MOST => format!("{} and {} more", names[..MOST].join(", "), names.len() - MOST),
        [rest @ .., last] => format!("{} and {last}", rest.join(", ")),
    }
}
