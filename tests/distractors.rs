//! What looks like a puzzle and isn't, one test for each kind: alone it gives no grid, beside a puzzle that puzzle alone, and a puzzle of other rules
//! is never accepted.

#[allow(dead_code, reason = "shared by several tests, each of which uses a part")]
#[path = "support/camera.rs"]
mod camera;
#[path = "support/distractors.rs"]
mod distractors;
#[path = "support/drawn.rs"]
mod drawn;
#[path = "support/puzzles.rs"]
mod puzzles;

use std::sync::LazyLock;

use camera::CAREFUL;
use distractors::Draw;
use drawn::{PUZZLE, page, paper, puzzle};
use gridlift::decide::{Reason, Verdict};
use gridlift::decode::Page;
use gridlift::lift::{GridReading, Lifter};
use gridlift::plane::{Lattice, Turn};
use puzzles::Numbers;

static LIFTER: LazyLock<Lifter> = LazyLock::new(|| Lifter::new().expect("the bundled weights"));

fn grids(page: &Page) -> Vec<GridReading> {
    LIFTER.lift(page).expect("the bundled networks run").grids
}

/// One grid in words, for the message of a test that fails.
fn said(grid: &GridReading) -> String {
    let reading = &grid.reading;
    let givens = reading.givens.as_ref().map_or_else(|| "no givens".into(), ToString::to_string);
    let corner = grid.lattice.points[0][0];
    let reasons: Vec<String> = reading.flags.iter().map(|flag| flag.reason.to_string()).collect();
    format!("{} at ({:.0}, {:.0}), cells of {:.0}: {givens} {reasons:?}", reading.verdict, corner.x, corner.y, grid.lattice.pitch())
}

/// The drawing as a scan and as a photo, large and small.
fn alone(draw: Draw) -> Vec<(String, Page)> {
    let mut pages = Vec::new();
    for side in [720, 360] {
        let mut sheet = paper(side as u32 + 160, side as u32 + 200);
        draw(&mut sheet, (80, 90), side);
        pages.push((format!("photo, {side} px"), CAREFUL.take(&sheet, &mut Numbers::new(side as u64))));
        pages.push((format!("scan, {side} px"), page(sheet)));
    }
    pages
}

fn gives_no_grid(draw: Draw) {
    let found: Vec<String> =
        alone(draw).iter().flat_map(|(how, page)| grids(page).into_iter().map(move |grid| format!("{how}: {}", said(&grid)))).collect();
    assert!(found.is_empty(), "{found:#?}");
}

/// The greatest distance between two lattices' crossings, in cells.
fn apart(a: &Lattice, b: &Lattice) -> f32 {
    let points = a.points.as_flattened().iter().zip(b.points.as_flattened());
    points.map(|(a, b)| a.distance(*b)).fold(0.0, f32::max) / b.pitch()
}

/// The puzzle left or right of the drawing, and below it.
fn leaves_the_puzzle_alone(draw: Draw) {
    let mut faults = Vec::new();
    for (how, size, at, other) in [
        ("left", (1040, 620), (50, 60), (550, 80)),
        ("right", (1040, 620), (550, 60), (50, 80)),
        ("above", (560, 1060), (50, 50), (60, 560)),
    ] {
        let mut sheet = paper(size.0, size.1);
        draw(&mut sheet, other, 440);
        let lattice = puzzle(&mut sheet, at, 50, PUZZLE);
        let found = grids(&page(sheet));
        let is_it = |grid: &GridReading| {
            let givens = grid.reading.givens.as_ref().map(ToString::to_string);
            grid.reading.verdict == Verdict::Proven && givens.as_deref() == Some(PUZZLE) && grid.turn == Turn::None
        };
        if found.len() != 1 || !is_it(&found[0]) || apart(&found[0].lattice, &lattice) > 0.1 {
            faults.push(format!("the puzzle {how}: {:#?}", found.iter().map(said).collect::<Vec<_>>()));
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// What is wrong with any grid of the drawing that `is_told` doesn't hold of.
fn told(draw: Draw, is_told: fn(&GridReading) -> bool) {
    let untold = |page: &Page| grids(page).into_iter().filter(|grid| !is_told(grid)).map(|grid| said(&grid)).collect::<Vec<_>>();
    let faults: Vec<String> =
        alone(draw).iter().flat_map(|(how, page)| untold(page).into_iter().map(move |grid| format!("{how}: {grid}"))).collect();
    assert!(faults.is_empty(), "{faults:#?}");
}

fn is_flagged(grid: &GridReading, reasons: &[Reason]) -> bool {
    grid.reading.verdict == Verdict::Doubtful && grid.reading.flags.iter().any(|flag| reasons.contains(&flag.reason))
}

/// A table of as many cells as a puzzle may come as a doubtful grid, since puzzles whose boxes can hardly be seen are reported too; then it is said that
/// lines are missing.
fn is_a_table_at_most_doubted(draw: Draw) {
    told(draw, |grid| is_flagged(grid, &[Reason::LineMissing, Reason::OtherRules]));
}

/// Such a puzzle may come as a doubtful grid, and then it is said why, or as one that can't be read.
fn is_told_from_a_plain_puzzle(draw: Draw) {
    told(draw, |grid| grid.reading.verdict == Verdict::Unreadable || is_flagged(grid, &[Reason::OtherRules]));
}

/// Digits in the cages are seen for marks that may hide something rather than for another kind of puzzle: it is doubtful for that.
fn is_doubtful_for_some_reason(draw: Draw) {
    told(draw, |grid| grid.reading.verdict == Verdict::Unreadable || is_flagged(grid, &[Reason::OtherRules, Reason::MaybeEmpty]));
}

#[test]
fn the_drawn_puzzle_of_other_rules_has_several_solutions_by_the_plain_ones() {
    assert_eq!(gridlift::prove::count(&drawn::FEWER.parse().expect("a puzzle"), 2), 2);
}

/// A test of each drawing's own.
macro_rules! each {
    ($check:ident: $($draw:ident)+) => { $(#[test] fn $draw() { super::$check(super::distractors::$draw); })+ };
}

mod no_grid {
    each!(gives_no_grid: crossword crossword_of_nine bar_code square_code spreadsheet word_search_of_nine word_search_of_twelve
        word_search_without_lines calendar four six eight ten twelve twelve_in_threes sixteen cloud seen_through);
}

mod at_most_doubtful {
    each!(is_a_table_at_most_doubted: spreadsheet_with_loose_heads table_without_boxes table_in_blocks_of_two);
}

mod beside_a_puzzle {
    each!(leaves_the_puzzle_alone: crossword crossword_of_nine bar_code square_code spreadsheet spreadsheet_with_loose_heads
        word_search_of_nine word_search_of_twelve word_search_without_lines calendar table_without_boxes table_in_blocks_of_two four six eight
        ten twelve twelve_in_threes sixteen cloud seen_through);
}

mod other_rules {
    each!(is_told_from_a_plain_puzzle: regions cages diagonals shaded_diagonals windows);
    each!(is_doubtful_for_some_reason: cages_and_digits);
}
