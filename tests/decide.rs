//! Verdicts from made-up scores: what `decide` says where the pictures say this or that.

use gridlift::classify::{CLASSES, Evidence};
use gridlift::decide::{Mark, Picture, Reading, Reason, Thresholds, Verdict, decide};
use gridlift::grid::{Board, Cell};
use gridlift::prove;

const PUZZLE: &str = "...4.....9.7.....3.85...2...7..9.1..15..7..3....6...2...47.9.8..13..2.4.8.9.5....";
/// The classes beside the digits.
const OTHER: usize = 20;

fn thresholds() -> Thresholds {
    serde_json::from_str(include_str!("../models/thresholds.json")).expect("the bundled thresholds")
}

fn picture() -> Picture {
    Picture {
        seen: 1.0,
        boxes: 0.9,
        border: 0.9,
        outside: [0.0; 81],
        upright: 1.0,
        mirrored: 0.0,
        other_rules: 0.0,
        negative: false,
        damaged: false,
        pitch: 40.0,
        bend: 0.0,
        washed: [false; 81],
        glare: 0.0,
    }
}

/// Evidence that is sure of these classes.
fn sure(classes: &[usize]) -> Evidence {
    let cells = classes
        .iter()
        .map(|&class| {
            let mut row = [1e-9; CLASSES];
            row[class] = 1.0 - 20e-9;
            row
        })
        .collect();
    let mut pose = [0.0; 8];
    pose[0] = 1.0;
    Evidence { cells, marks: vec![[0.0; 9]; 81], pose, other_rules: 0.0 }
}

fn classes(line: &str) -> Vec<usize> {
    line.bytes().map(|byte| usize::from(byte.saturating_sub(b'0')) * usize::from(byte != b'.')).collect()
}

fn read(evidence: &Evidence) -> Reading {
    decide(std::slice::from_ref(evidence), &picture(), &thresholds())
}

/// Moves a share of a cell's certainty to another class.
fn split(evidence: &mut Evidence, cell: usize, to: usize, share: f64) {
    let own = (0..CLASSES).max_by(|&a, &b| evidence.cells[cell][a].total_cmp(&evidence.cells[cell][b])).expect("classes");
    evidence.cells[cell][own] = 1.0 - share - 19e-9;
    evidence.cells[cell][to] = share;
}

fn givens(reading: &Reading) -> String {
    reading.givens.expect("givens").to_string()
}

#[test]
fn a_clear_sound_reading_is_proven() {
    let reading = read(&sure(&classes(PUZZLE)));
    assert_eq!(reading.verdict, Verdict::Proven);
    assert_eq!(givens(&reading), PUZZLE);
    assert_eq!(reading.solutions, 1);
    assert!(reading.flags.is_empty() && reading.confidence > 0.999);
}

#[test]
fn a_split_cell_is_never_proven() {
    // In each cell in turn, 60 % of what was sure goes to each other reading of its given.
    for cell in 0..81 {
        let own = classes(PUZZLE)[cell];
        for other in (0..=9).filter(|&class| class != own) {
            let mut evidence = sure(&classes(PUZZLE));
            split(&mut evidence, cell, other, 0.6);
            let reading = read(&evidence);
            assert_ne!(reading.verdict, Verdict::Proven, "{} {own} or {other}", Cell::ALL[cell]);
        }
    }
}

#[test]
fn a_misread_that_breaks_a_rule_is_mended() {
    // r1c4 is a 4; a likelier 9 would clash with nothing nearer than its rules, and only the 4 is sound.
    let mut evidence = sure(&classes(PUZZLE));
    split(&mut evidence, 3, 9, 0.7);
    let reading = read(&evidence);
    assert_eq!(reading.verdict, Verdict::Mended);
    assert_eq!(givens(&reading), PUZZLE);
    let flag = &reading.flags[0];
    assert_eq!((flag.cell, flag.reason), (Cell::ALL[3], Reason::Mended));
    assert_eq!((flag.read, flag.suggest), (Mark::Given("9".parse().expect("a digit")), Mark::Given("4".parse().expect("a digit"))));
}

#[test]
fn a_clear_unsound_reading_is_a_misprint() {
    // Two fives in one row, both as clear as print can be.
    let mut line = classes(PUZZLE);
    line[36 + 2] = 5;
    let reading = read(&sure(&line));
    assert_eq!(reading.verdict, Verdict::Misprinted);
    assert_eq!(reading.solutions, 0);
    assert!(reading.conflict.contains(&Cell::ALL[38]), "{:?}", reading.conflict);
    assert!(reading.repairs.iter().any(|(cell, to)| *cell == Cell::ALL[38] && to.is_none()), "{:?}", reading.repairs);
}

#[test]
fn a_printed_puzzle_with_two_solutions_is_a_misprint_too() {
    let puzzle: Board = PUZZLE.parse().expect("a puzzle");
    let loose = Cell::ALL
        .into_iter()
        .find_map(|cell| puzzle.get(cell).map(|_| puzzle.with(cell, None)).filter(|board| prove::count(board, 2) == 2))
        .expect("a needed given");
    let reading = read(&sure(&classes(&loose.to_string())));
    assert_eq!((reading.verdict, reading.solutions), (Verdict::Misprinted, 2));
    let (first, second) = (reading.solution.expect("one"), reading.second.expect("another"));
    assert!(first != second && loose.agrees(&first) && loose.agrees(&second));
}

#[test]
fn what_lies_over_a_cell_is_never_taken_for_empty() {
    let mut line = classes(PUZZLE);
    line[0] = OTHER;
    let reading = read(&sure(&line));
    assert_eq!(reading.verdict, Verdict::Doubtful);
    assert_eq!((reading.flags[0].cell, reading.flags[0].reason), (Cell::ALL[0], Reason::Covered));
}

#[test]
fn entries_stay_out_of_the_givens() {
    let puzzle: Board = PUZZLE.parse().expect("a puzzle");
    let solution = prove::solutions(&puzzle, 1)[0];
    let filled: Vec<usize> = Cell::ALL
        .into_iter()
        .map(|cell| match (puzzle.get(cell), solution.get(cell)) {
            (Some(given), _) => usize::from(given.value()),
            (None, Some(entry)) => usize::from(entry.value()) + 9,
            (None, None) => 0,
        })
        .collect();
    let reading = read(&sure(&filled));
    assert_eq!((reading.verdict, givens(&reading).as_str(), reading.solved), (Verdict::Proven, PUZZLE, false));
    assert_eq!(reading.entries.expect("entries").filled().len(), 81 - puzzle.filled().len());
}

#[test]
fn faults_of_the_picture_forbid_proven() {
    let evidence = sure(&classes(PUZZLE));
    let faults: [(Reason, Picture); 5] = [
        (Reason::TurnUnsure, Picture { upright: 0.9, ..picture() }),
        (Reason::OtherRules, Picture { other_rules: 0.9, ..picture() }),
        (Reason::LineMissing, Picture { boxes: 0.1, ..picture() }),
        (Reason::CutShort, Picture { damaged: true, ..picture() }),
        (Reason::Negative, Picture { negative: true, ..picture() }),
    ];
    for (reason, picture) in faults {
        let reading = decide(std::slice::from_ref(&evidence), &picture, &thresholds());
        assert_eq!(reading.verdict, Verdict::Doubtful, "{reason}");
        assert!(reading.flags.iter().any(|flag| flag.reason == reason), "{reason}");
    }
    let mirrored = decide(&[evidence], &Picture { mirrored: 0.9, upright: 0.1, ..picture() }, &thresholds());
    assert_eq!((mirrored.verdict, mirrored.givens), (Verdict::Unreadable, None));
}

#[test]
fn looks_that_differ_are_doubtful() {
    let mut other = classes(PUZZLE);
    other[3] = 9;
    let reading = decide(&[sure(&classes(PUZZLE)), sure(&other)], &picture(), &thresholds());
    assert_ne!(reading.verdict, Verdict::Proven);
}

#[test]
fn an_empty_cell_in_a_reflection_is_not_proven() {
    let mut washed = [false; 81];
    washed[classes(PUZZLE).iter().position(|&class| class == 0).expect("an empty cell")] = true;
    let reading = decide(&[sure(&classes(PUZZLE))], &Picture { washed, ..picture() }, &thresholds());
    assert_eq!((reading.verdict, reading.flags.len(), reading.flags[0].reason), (Verdict::Doubtful, 1, Reason::Glare));
}

#[test]
fn noise_is_unreadable() {
    let mut evidence = sure(&classes(PUZZLE));
    evidence.cells = vec![[1.0 / CLASSES as f64; CLASSES]; 81];
    assert_eq!(read(&evidence).verdict, Verdict::Unreadable);
}
