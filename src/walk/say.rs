//! Says a step in one sentence.

use crate::grid::{Cell, CellSet, Digit, Digits, House};

use super::step::{Breakdown, Line, LineEnd, Step};
use super::words::{Words, fill};

/// One sentence that a teacher could speak about the step.
pub fn say(step: &Step, words: &Words) -> String {
    let template = words.sentence(step.deduction, step.view);
    let sentence = fill(template, &|name| value(step, words, name));
    let mut letters = sentence.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

fn value(step: &Step, words: &Words, name: &str) -> String {
    let half = step.houses.len() / 2;
    match name {
        "cell" => step.cells.first().map_or_else(String::new, |first| cell(words, first)),
        "cells" => cells(words, step.cells),
        "digit" => step.digits.first().map_or_else(String::new, |digit| digit.to_string()),
        "digits" => digits(words, step.digits, "and"),
        "house" | "first" => step.houses.first().map_or_else(String::new, |&first| house(words, first)),
        "last" => step.houses.last().map_or_else(String::new, |&last| house(words, last)),
        "houses" => houses(words, &step.houses),
        "bases" => houses(words, &step.houses[..half]),
        "covers" => houses(words, &step.houses[half..]),
        "seen" => cells(words, step.because_cells),
        "facts" => {
            let facts = step.because_facts.iter().map(|n| fill(words.name("step"), &|_| n.to_string()));
            list(words, "and", facts.collect())
        }
        "strikes" => {
            let struck = step.strikes.iter().map(|strike| {
                let value = |name: &str| if name == "cell" { cell(words, strike.cell) } else { digits(words, strike.digits, "or") };
                fill(words.name("not"), &value)
            });
            list(words, "and", struck.collect())
        }
        "corners" => step.rectangle.map_or_else(String::new, |rectangle| cells(words, rectangle.cells.into_iter().collect())),
        "rectangle" => step.rectangle.map_or_else(String::new, |rectangle| digits(words, rectangle.digits.into_iter().collect(), "and")),
        "line" => step.line.as_ref().map_or_else(String::new, |line| tell(line, words)),
        _ => String::new(),
    }
}

/// A line of consequences in words, its branches within.
fn tell(line: &Line, words: &Words) -> String {
    let mut parts: Vec<String> = Vec::new();
    for (at, (put, _)) in line.placements.iter().enumerate() {
        let template = words.name(if at == 0 { "suppose" } else { "follows" });
        parts.push(fill(template, &|name| if name == "cell" { cell(words, put.cell) } else { put.digit.to_string() }));
    }
    match &line.end {
        LineEnd::Broken(breakdown) => parts.push(broken(*breakdown, words)),
        LineEnd::Branches(at, lines) => {
            let told: Vec<String> = lines.iter().map(|line| format!("({})", tell(line, words))).collect();
            parts.push(fill(words.name("branches"), &|_| cell(words, *at)) + &told.join(" "));
        }
    }
    parts.join(", ")
}

fn broken(breakdown: Breakdown, words: &Words) -> String {
    match breakdown {
        Breakdown::Cell(at) => fill(words.name("no_digit"), &|_| cell(words, at)),
        Breakdown::House(at, digit) => {
            fill(words.name("no_place"), &|name| if name == "house" { house(words, at) } else { digit.to_string() })
        }
    }
}

/// The cell's name in these words.
pub(super) fn cell(words: &Words, cell: Cell) -> String {
    fill(words.name("cell"), &|name| (1 + if name == "row" { cell.row() } else { cell.column() }).to_string())
}

fn house(words: &Words, house: House) -> String {
    let kind = if house.is_row() {
        "row"
    } else if house.is_column() {
        "column"
    } else {
        "box"
    };
    fill(words.name(kind), &|_| (house.number() + 1).to_string())
}

fn cells(words: &Words, cells: CellSet) -> String {
    list(words, "and", cells.iter().map(|one| cell(words, one)).collect())
}

fn digits(words: &Words, digits: Digits, joined_by: &str) -> String {
    list(words, joined_by, digits.iter().map(|digit: Digit| digit.to_string()).collect())
}

fn houses(words: &Words, houses: &[House]) -> String {
    list(words, "and", houses.iter().map(|&one| house(words, one)).collect())
}

fn list(words: &Words, joined_by: &str, mut parts: Vec<String>) -> String {
    let Some(last) = parts.pop() else { return String::new() };
    if parts.is_empty() {
        return last;
    }
    format!("{} {} {last}", parts.join(", "), words.name(joined_by))
}
