//! `gridlift walk`, and each deduction on boards of its own.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on may say so by breaking")]

mod support {
    pub mod walk_patterns;
    pub mod walk_sat;
}

use std::collections::BTreeMap;
use std::process::{Command, Output};

use gridlift::export::walk::{SCHEMA, WalkForm};
use gridlift::grid::{Board, CellSet};
use gridlift::walk::{
    BUILT_IN, Deduction, Options, Pencil, Step, Uniqueness, View, Words, climb, in_view, next, patterns, say, shows, walk,
};
use serde_json::Value;
use support::walk_patterns::{Premises, faults};
use support::walk_sat::Referee;

const EASY: &str = "9741.82..81.6..9.56..39.8..7.14..3..3487..5195.29..4..2..86.1..4..2.169.1..5..723";

/// The first of the project's generated minimal puzzles, one with facts to carry among them.
fn puzzles() -> Vec<Board> {
    include_str!("data/walk_puzzles.txt").lines().map(|line| line.parse().unwrap()).collect()
}

fn gridlift(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_gridlift")).arg("walk").args(arguments).output().unwrap()
}

fn object(output: &Output) -> Value {
    serde_json::from_slice(&output.stdout).unwrap_or_else(|error| panic!("{error}: {output:?}"))
}

/// A board of `tests/data/deductions.txt`.
struct Example {
    shown: bool,
    deduction: Deduction,
    view: View,
    givens: Board,
    board: Board,
    cells: CellSet,
    digits: String,
}

fn examples() -> Vec<Example> {
    let lines = include_str!("data/deductions.txt").lines().filter(|line| !line.starts_with('#'));
    lines
        .map(|line| {
            let parts: Vec<&str> = line.split(" | ").collect();
            Example {
                shown: parts[0] == "+",
                deduction: parts[1].parse().unwrap(),
                view: parts[2].parse().unwrap(),
                givens: parts[3].parse().unwrap(),
                board: parts[4].parse().unwrap(),
                cells: parts[5].split(' ').map(|cell| cell.parse::<gridlift::grid::Cell>().unwrap()).collect(),
                digits: parts[6].to_string(),
            }
        })
        .collect()
}

#[test]
fn every_deduction_is_seen_where_it_is_and_not_where_it_is_nearly() {
    let mut referee = Referee::new();
    let mut counts: BTreeMap<Deduction, (usize, usize)> = BTreeMap::new();
    let mut wrong = Vec::new();
    for example in examples() {
        let options = Options { from: Some(example.board), ..Options::default() };
        let same =
            |step: &&Step| step.deduction == example.deduction && step.cells == example.cells && step.digits.to_string() == example.digits;
        let steps = in_view(&example.givens, &options);
        let found = steps.iter().filter(same).find(|step| step.view == example.view);
        if found.is_some() != example.shown {
            wrong.push(format!("{} ({}) on {}: {}", example.deduction, example.view, example.board, found.is_some()));
        }
        let count = counts.entry(example.deduction).or_default();
        *(if example.shown { &mut count.0 } else { &mut count.1 }) += 1;
        // Whatever is seen on these boards keeps the contract, near misses included.
        for step in &steps {
            let broken = faults(step, &example.board, &[]);
            // A near miss may have lost a given, so rectangles are refereed with their clause like everything else.
            let loose = referee.not_implied(step, &Premises::of(step, &example.board, &[]));
            if !broken.is_empty() || !loose.is_empty() {
                wrong.push(format!("{} on {}: {broken:?} {loose:?}", step.deduction, example.board));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    for deduction in Deduction::ALL {
        let (shown, nearly) = counts.get(deduction).copied().unwrap_or_default();
        assert!(shown >= 3 && nearly >= 2, "{deduction}: {shown} boards, {nearly} near misses");
    }
}

#[test]
fn every_view_is_one_of_its_deduction() {
    for puzzle in puzzles() {
        for step in walk(&puzzle, &Options::default()).steps {
            assert!(patterns::views(step.deduction).contains(&step.view), "{}: {}", step.deduction, step.view);
        }
    }
}

#[test]
fn the_easiest_walk_is_never_harder_than_the_ladder() {
    for (n, puzzle) in puzzles().iter().enumerate() {
        let pencil = if n % 2 == 0 { Pencil::Bare } else { Pencil::Marks };
        let options = Options { pencil, ..Options::default() };
        let (easiest, ladder) = (walk(puzzle, &options), climb(puzzle, &options));
        assert!(easiest.complete && easiest.effort() <= ladder.effort() + 1e-9, "{puzzle}: {} over {}", easiest.effort(), ladder.effort());
    }
}

#[test]
fn a_walk_is_the_same_every_time() {
    let said = |puzzle| walk(puzzle, &Options::default()).steps.iter().map(|step| say(step, &Words::default())).collect::<Vec<_>>();
    for puzzle in puzzles().iter().take(8) {
        assert_eq!(said(puzzle), said(puzzle));
    }
}

#[test]
fn without_uniqueness_no_step_has_a_rectangle_and_the_end_is_reached() {
    let mut with = 0;
    for puzzle in puzzles() {
        with += walk(&puzzle, &Options::default()).steps.iter().filter(|step| step.rectangle.is_some()).count();
        let bare = walk(&puzzle, &Options { uniqueness: Uniqueness::Unused, ..Options::default() });
        assert!(bare.complete && bare.steps.iter().all(|step| step.rectangle.is_none()), "{puzzle}");
    }
    assert!(with > 0, "no rectangle at all: the test shows nothing");
}

#[test]
fn a_hint_is_one_digit_with_its_facts() {
    for puzzle in puzzles() {
        let hint = next(&puzzle, &Options::default());
        let (last, facts) = hint.steps.split_last().unwrap();
        assert!(last.puts.is_some() && facts.iter().all(|step| step.puts.is_none()));
    }
}

#[test]
fn the_way_to_a_deduction_ends_with_it_and_keeps_the_contract() {
    let mut seen = 0;
    for puzzle in puzzles().iter().take(20) {
        for deduction in [Deduction::HiddenPair, Deduction::XWing, Deduction::NakedSingle] {
            let way = shows(puzzle, &Options::default(), deduction, None);
            let Some(last) = way.steps.last() else { continue };
            seen += 1;
            assert_eq!(last.deduction, deduction);
            let mut board = way.start;
            for (at, step) in way.steps.iter().enumerate() {
                assert_eq!(faults(step, &board, &way.steps[..at]), Vec::<String>::new(), "{puzzle} {deduction} step {}", step.n);
                step.puts.iter().for_each(|put| board.set(put.cell, Some(put.digit)));
            }
        }
    }
    assert!(seen > 20, "{seen}");
}

#[test]
fn every_export_is_valid_by_its_schema() {
    let schema: Value = serde_json::from_str(SCHEMA).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    for puzzle in puzzles() {
        let walk = walk(&puzzle, &Options::default());
        let solution = gridlift::prove::prove(&puzzle).solution.unwrap();
        let value = serde_json::to_value(WalkForm::new(&walk, &solution, &Words::default())).unwrap();
        let faults: Vec<String> = validator.iter_errors(&value).map(|error| format!("{}: {error}", error.instance_path())).collect();
        assert_eq!(faults, Vec::<String>::new());
        let said = value["steps"].as_array().unwrap().iter().map(|step| step["say"].as_str().unwrap().to_string());
        said.for_each(|said| assert!(!said.contains(['{', '}', '[', ']']) && !said.contains("  "), "{said}"));
    }
}

#[test]
fn the_command_walks_and_talks() {
    let output = gridlift(&[EASY]);
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    let walk = object(&output);
    assert_eq!((&walk["schema"], &walk["complete"], &walk["marks"]), (&"gridlift/walk/1".into(), &true.into(), &false.into()));
    let sum: f64 = walk["steps"].as_array().unwrap().iter().map(|step| step["effort"].as_f64().unwrap()).sum();
    assert!((walk["effort"].as_f64().unwrap() - sum).abs() < 0.006);
    assert!(String::from_utf8_lossy(&output.stderr).contains("at the hardest"));
    assert_eq!(object(&gridlift(&[EASY, "--marks"]))["marks"], true);
}

#[test]
fn deductions_can_be_left_out_or_singled_out() {
    let output = gridlift(&[EASY, "--only", "full house"]);
    assert_eq!((output.status.code(), &object(&output)["complete"]), (Some(1), &false.into()));
    let output = gridlift(&[EASY, "--without", "full house,naked single"]);
    let walk = object(&output);
    let named = |step: &Value| step["deduction"] == "full house" || step["deduction"] == "naked single";
    assert!(!walk["steps"].as_array().unwrap().iter().any(named));
    assert_eq!(gridlift(&[EASY, "--only", "golden pair"]).status.code(), Some(2));
}

#[test]
fn a_walk_may_start_half_way() {
    let full = object(&gridlift(&[EASY]));
    let solution = full["solution"].as_str().unwrap();
    let half: String =
        EASY.chars().zip(solution.chars()).enumerate().map(|(at, (given, digit))| if at < 40 { digit } else { given }).collect();
    let rest = object(&gridlift(&[EASY, "--from", &half]));
    assert!(rest["complete"] == true && rest["from"] == half.as_str());
    assert!(rest["steps"].as_array().unwrap().len() < full["steps"].as_array().unwrap().len());
    let wrong = half.replacen(&half[1..2], if &half[1..2] == "9" { "8" } else { "9" }, 1);
    assert_eq!(gridlift(&[EASY, "--from", &wrong]).status.code(), Some(2), "a digit that the solution contradicts");
}

#[test]
fn an_unsound_puzzle_has_no_walk() {
    let output = gridlift(&[&".".repeat(81)]);
    assert_eq!((output.status.code(), output.stdout.len()), (Some(1), 0));
    assert!(String::from_utf8_lossy(&output.stderr).contains("more than one solution"));
}

#[test]
fn a_teacher_speaks_in_words_of_their_own() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("own.toml");
    let own = "[names]\nbox = \"Block {n}\"\ncell = \"Z{row}S{column}\"\n[say]\n\"full house\" = \"Noch {digit} in {cell}.\"\n\"hidden single/along rows\" = \"{house}: {digit} in {cell}.\"\n";
    std::fs::write(&path, own).unwrap();
    let walk = object(&gridlift(&[EASY, "--words", path.to_str().unwrap()]));
    let said: Vec<&str> = walk["steps"].as_array().unwrap().iter().map(|step| step["say"].as_str().unwrap()).collect();
    assert!(said.iter().any(|said| said.starts_with("Noch ")) && said.iter().any(|said| said.starts_with("Block ")), "{said:?}");
    std::fs::write(&path, "[say]\n\"full house\" = \"{nothing}\"\n").unwrap();
    let output = gridlift(&[EASY, "--words", path.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("full house"));
    let printed = gridlift(&["--words-example"]);
    assert_eq!(String::from_utf8(printed.stdout).unwrap(), BUILT_IN);
}

#[test]
fn boards_are_printed_to_read() {
    let output = gridlift(&[EASY, "--board", "--next"]);
    let text = String::from_utf8(output.stdout).unwrap();
    assert!(text.contains("  1  ") && text.contains('[') && text.lines().filter(|line| line.starts_with("     ")).count() >= 18, "{text}");
}

#[test]
fn a_view_that_a_deduction_lacks_is_refused() {
    let output = gridlift(&[EASY, "--shows", "X-wing/in a box"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("along rows, along columns"));
}
