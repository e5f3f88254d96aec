//! `gridlift rehearse`: slips at their lines, leaps with what is missing, nothing invented.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on may say so by breaking")]

use std::process::{Command, Output};

use gridlift::export::rehearsal::{RehearsalForm, SCHEMA};
use gridlift::grid::{Board, Digit};
use gridlift::prove::prove;
use gridlift::walk::{Options, Placement, Put, Ruling, Words, rehearse, walk};
use serde_json::Value;

/// Puzzles to rehearse: `GRIDLIFT_WALKS` names a file of more.
fn puzzles() -> Vec<Board> {
    let file = std::env::var("GRIDLIFT_WALKS").ok().map(|path| std::fs::read_to_string(path).unwrap());
    file.as_deref().unwrap_or(include_str!("data/walk_puzzles.txt")).lines().map(|line| line[..81].parse().unwrap()).collect()
}

/// The placements of the easiest walk, a line each.
fn placements(puzzle: &Board) -> Vec<Placement> {
    let puts = walk(puzzle, &Options::default()).steps.into_iter().filter_map(|step| step.puts);
    puts.enumerate().map(|(at, put)| Placement { line: at + 1, seconds: Some(5 * at as u32), put }).collect()
}

#[test]
fn one_wrong_digit_is_one_slip_at_its_line() {
    let mut faults = Vec::new();
    let all = puzzles();
    for (n, puzzle) in all.iter().enumerate() {
        let solution = prove(puzzle).solution.unwrap();
        let mut recorded = placements(puzzle);
        let at = (7 * n + 3) % recorded.len();
        let right = recorded[at].put.digit;
        let wrong = Digit::ALL[(right.index() + 1 + n % 8) % 9];
        recorded[at].put.digit = wrong;
        let (judged, complete) = rehearse(puzzle, &solution, &recorded, &Options::default());
        let slips: Vec<usize> = judged.iter().filter(|one| one.ruling == Ruling::Slip).map(|one| one.placement.line).collect();
        if slips != [at + 1] || judged[at].stands != Some(right) || judged[at].refuted_by.is_empty() || !complete {
            faults.push(format!("{puzzle}: {wrong} for {right} at line {}: slips at {slips:?}", at + 1));
            continue;
        }
        // What is named as refuting does refute: with those digits alone, the wrong one has no solution.
        let mut board = *puzzle;
        recorded[..at].iter().for_each(|placement| board.set(placement.put.cell, Some(placement.put.digit)));
        let kept = Board::from_fn(|cell| board.get(cell).filter(|_| judged[at].refuted_by.contains(cell)));
        if prove(&kept.with(recorded[at].put.cell, Some(wrong))).solution.is_some() {
            faults.push(format!("{puzzle}: {} don't refute {wrong}", judged[at].refuted_by));
        }
    }
    println!("{} walks with one digit corrupted, {} faults", all.len(), faults.len());
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn a_leap_names_what_comes_first() {
    let (mut leaps, mut sound) = (0, 0);
    for puzzle in puzzles().iter().take(30) {
        let solution = prove(puzzle).solution.unwrap();
        // The last digit of the walk, written first.
        let last = placements(puzzle).pop().unwrap();
        let (judged, _) = rehearse(puzzle, &solution, &[last], &Options::default());
        match judged[0].ruling {
            Ruling::Leap => {
                leaps += 1;
                assert!(judged[0].missing.iter().any(|step| step.puts.is_some()), "{puzzle}: a leap lacks a digit");
            }
            Ruling::Sound => sound += 1,
            Ruling::Slip => panic!("{puzzle}: the digit is right"),
        }
    }
    assert!(leaps >= 15, "{leaps} leaps, {sound} sound");
}

#[test]
fn what_is_simpler_is_passed_over() {
    let mut listed = 0;
    for puzzle in puzzles().iter().take(20) {
        let solution = prove(puzzle).solution.unwrap();
        let recorded = placements(puzzle);
        let late = recorded[recorded.len() / 2].clone();
        let (judged, _) = rehearse(puzzle, &solution, &[late], &Options::default());
        for over in &judged[0].passed_over {
            listed += 1;
            assert_eq!(solution.get(over.put.cell), Some(over.put.digit));
        }
    }
    assert!(listed > 10, "{listed}");
}

const EASY: &str = "9741.82..81.6..9.56..39.8..7.14..3..3487..5195.29..4..2..86.1..4..2.169.1..5..723";

fn gridlift(recording: &str, more: &[&str]) -> Output {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("take.txt");
    std::fs::write(&path, recording).unwrap();
    Command::new(env!("CARGO_BIN_EXE_gridlift")).args(["rehearse", EASY, path.to_str().unwrap()]).args(more).output().unwrap()
}

fn recording() -> String {
    let puzzle: Board = EASY.parse().unwrap();
    let lines = placements(&puzzle).into_iter().map(|Placement { seconds, put: Put { cell, digit }, .. }| {
        let seconds = seconds.unwrap();
        format!("{}:{:02} {cell} = {digit}\n", seconds / 60, seconds % 60)
    });
    lines.collect()
}

#[test]
fn the_command_judges_a_recording() {
    let output = gridlift(&recording(), &[]);
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    let value: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(value["complete"], true);
    assert!(value["placements"].as_array().unwrap().iter().all(|placement| placement["ruling"] == "sound"));
    let schema: Value = serde_json::from_str(SCHEMA).unwrap();
    assert!(jsonschema::validator_for(&schema).unwrap().is_valid(&value));
}

#[test]
fn a_slip_needs_a_person_and_odd_lines_are_refused() {
    let wrong = recording().lines().next().unwrap().to_string();
    let digit = wrong.chars().last().unwrap();
    let wrong = format!("{}{}", &wrong[..wrong.len() - 1], if digit == '9' { '1' } else { '9' });
    let output = gridlift(&wrong, &[]);
    assert_eq!(output.status.code(), Some(1));
    let value: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(value["placements"][0]["ruling"], "slip");
    assert!(!value["placements"][0]["refuted_by"].as_array().unwrap().is_empty());
    let output = gridlift("2:05 r7c1 is 3\n", &[]);
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("line 1"));
}

/// A page object as `lift` prints it, whose one grid is [`EASY`] with `entries` written into it.
fn half_solved(entries: &Board) -> String {
    serde_json::json!({
        "schema": "gridlift/page/1", "source": "orchard/p042.jpg", "page": 1, "sha256": "0f".repeat(32), "width": 640, "height": 480,
        "made_by": {"gridlift": "0.1.0", "weights": "a1b2c3d4", "thresholds": "e5f6a7b8"}, "book": null, "error": null, "notes": [],
        "grids": [{
            "n": 1, "corners": [[0, 0], [9, 0], [9, 9], [0, 9]], "turn": 0, "label": "42", "label_box": null,
            "givens": EASY, "entries": entries.to_string(), "marks": [], "verdict": "proven", "confidence": 0.9999, "settled_by": null,
            "solutions": 1, "solution": prove(&EASY.parse().unwrap()).solution.unwrap().to_string(), "solved": false, "id": EASY,
            "second": null, "conflict": [], "repairs": [], "printed_solution_agrees": null, "flags": []
        }]
    })
    .to_string()
}

#[test]
fn entries_of_a_page_are_rehearsed_as_a_set() {
    let puzzle: Board = EASY.parse().unwrap();
    let written: Vec<Put> = placements(&puzzle).into_iter().take(12).map(|placement| placement.put).collect();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("page.json");
    let rehearsed = |entries: &Board| {
        std::fs::write(&path, half_solved(entries)).unwrap();
        let output = Command::new(env!("CARGO_BIN_EXE_gridlift")).args(["rehearse", path.to_str().unwrap(), "--entries"]).output().unwrap();
        let value: Value = serde_json::from_slice(&output.stdout).unwrap_or_else(|_| panic!("{output:?}"));
        (output.status.code(), value)
    };
    // All right: each is reached, in an order of its own making, whatever the order of the cells.
    let entries = written.iter().fold(Board::EMPTY, |board, put| board.with(put.cell, Some(put.digit)));
    let (code, value) = rehearsed(&entries);
    let all = value["placements"].as_array().unwrap();
    assert_eq!((code, all.len(), &value["complete"]), (Some(0), written.len(), &Value::Bool(false)));
    for placement in all {
        assert_eq!(placement["ruling"], "sound", "{placement}");
        assert_eq!(placement["seconds"], Value::Null);
    }
    // One wrong: a slip there, told what stands, and the others are judged as before.
    let wrong = written[5];
    let digit = Digit::ALL[(wrong.digit.index() + 4) % 9];
    let (code, value) = rehearsed(&entries.with(wrong.cell, Some(digit)));
    let slips: Vec<&Value> = value["placements"].as_array().unwrap().iter().filter(|placement| placement["ruling"] == "slip").collect();
    assert_eq!((code, slips.len()), (Some(1), 1), "{value}");
    assert_eq!((&slips[0]["cell"], &slips[0]["stands"]), (&wrong.cell.to_string().into(), &(wrong.digit.index() + 1).into()));
    // Nothing written: nothing judged.
    let (code, value) = rehearsed(&Board::EMPTY);
    assert_eq!((code, &value["placements"]), (Some(0), &serde_json::json!([])));
}

#[test]
fn chapters_begin_at_the_start() {
    let output = gridlift(&recording(), &["--chapters"]);
    let text = String::from_utf8(output.stdout).unwrap();
    let lines: Vec<&str> = text.lines().collect();
    assert!(lines[0].starts_with("0:00  ") && lines.len() >= 2, "{text}");
    assert!(lines.iter().all(|line| line.split_once("  ").is_some_and(|(time, what)| time.contains(':') && !what.is_empty())));
}

#[test]
fn every_rehearsal_is_valid_by_its_schema() {
    let schema: Value = serde_json::from_str(SCHEMA).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    for puzzle in puzzles().iter().take(10) {
        let solution = prove(puzzle).solution.unwrap();
        let mut recorded = placements(puzzle);
        recorded.reverse();
        let (judged, complete) = rehearse(puzzle, &solution, &recorded, &Options::default());
        let value = serde_json::to_value(RehearsalForm::new(puzzle, &judged, complete, &Words::default())).unwrap();
        let faults: Vec<String> = validator.iter_errors(&value).map(|error| error.to_string()).collect();
        assert_eq!(faults, Vec::<String>::new());
    }
}
