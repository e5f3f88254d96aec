//! Puzzles of which a part can't be seen, because it lies beyond the picture's edge or under something, and pages the wrong way round: one test each.

#[path = "support/drawn.rs"]
mod drawn;

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use drawn::{PUZZLE, page, paper, puzzle};
use gridlift::decide::{Mark, Reason, Verdict};
use gridlift::decode::{self, Options};
use gridlift::grid::{Board, Cell};
use gridlift::lift::{GridReading, Lifter};
use gridlift::plane::{Lattice, Point};
use image::imageops::{crop_imm, flip_horizontal, flip_vertical, overlay, rotate180};
use image::{GrayImage, Luma};
use serde_json::Value;

static LIFTER: LazyLock<Lifter> = LazyLock::new(|| Lifter::new().expect("the bundled weights"));

fn grids(luma: GrayImage) -> Vec<GridReading> {
    LIFTER.lift(&page(luma)).expect("the bundled networks run").grids
}

fn samples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("samples")
}

fn sample(name: &str) -> GrayImage {
    let bytes = fs::read(samples().join(name)).expect("a sample");
    decode::open(&bytes, &Options::default()).expect("a picture").next().expect("a page").expect("decoded").luma
}

/// A picture with one whole puzzle, where that is and what is printed.
struct Shown {
    name: &'static str,
    luma: GrayImage,
    lattice: Lattice,
    givens: String,
}

/// A drawn puzzle and the first of each of three sample pages.
static SHOWN: LazyLock<Vec<Shown>> = LazyLock::new(|| {
    let mut sheet = paper(700, 760);
    let lattice = puzzle(&mut sheet, (80, 90), 60, PUZZLE);
    let drawn = Shown { name: "drawn", luma: sheet, lattice, givens: PUZZLE.into() };
    let text = fs::read_to_string(samples().join("truth.jsonl")).expect("the truth");
    let truth: Vec<Value> = text.lines().map(|line| serde_json::from_str(line).expect("JSON")).collect();
    let photos = ["clean.jpg", "phone.jpg", "filled.jpg"].map(|name| {
        let grid = &truth.iter().find(|page| page["photo"] == name).expect("the sample's truth")["grids"][0];
        let number = |row: usize, column: usize, axis: usize| grid["lattice"][row][column][axis].as_f64().expect("a number") as f32;
        let at = |row: usize, column: usize| Point::new(number(row, column, 0), number(row, column, 1));
        let points = std::array::from_fn(|row| std::array::from_fn(|column| at(row, column)));
        let givens = grid["givens"].as_str().expect("givens").to_owned();
        Shown { name, luma: sample(name), lattice: points.into(), givens }
    });
    [drawn].into_iter().chain(photos).collect()
});

impl Shown {
    /// What of the picture lies between these edges, in pixels: left, top, right, bottom.
    fn part(&self, [left, top, right, bottom]: [f32; 4]) -> GrayImage {
        let (left, top) = (left.max(0.0) as u32, top.max(0.0) as u32);
        let (right, bottom) = ((right as u32).min(self.luma.width()), (bottom as u32).min(self.luma.height()));
        crop_imm(&self.luma, left, top, right - left, bottom - top).to_image()
    }

    /// The outermost places of the lattice: left, top, right, bottom.
    fn bounds(&self) -> [f32; 4] {
        let points = self.lattice.points.as_flattened();
        let least = |pick: fn(&Point) -> f32| points.iter().map(pick).fold(f32::INFINITY, f32::min);
        let most = |pick: fn(&Point) -> f32| points.iter().map(pick).fold(f32::NEG_INFINITY, f32::max);
        [least(|p| p.x), least(|p| p.y), most(|p| p.x), most(|p| p.y)]
    }

    /// How many cells a pixel lies to the right of and below the grid's top left corner, as if it lay flat.
    fn in_cells(&self, x: u32, y: u32) -> (f32, f32) {
        let [a, b, _, d] = self.lattice.corners();
        let (across, down) = ((b - a) * (1.0 / 9.0), (d - a) * (1.0 / 9.0));
        let from = Point::new(x as f32, y as f32) - a;
        (from.cross(down) / across.cross(down), across.cross(from) / across.cross(down))
    }

    /// Whether a grid that was found is this one.
    fn is_at(&self, grid: &GridReading) -> bool {
        let middle = |lattice: &Lattice| lattice.points[0][0].toward(lattice.points[9][9], 0.5);
        middle(&grid.lattice).distance(middle(&self.lattice)) < 3.0 * self.lattice.pitch()
    }

    /// The middle of a side of the grid: left, top, right, bottom.
    fn middle_of_side(&self, side: usize) -> Point {
        let p = &self.lattice.points;
        [p[4][0].toward(p[5][0], 0.5), p[0][4].toward(p[0][5], 0.5), p[4][9].toward(p[5][9], 0.5), p[9][4].toward(p[9][5], 0.5)][side]
    }
}

/// The puzzle cut by one edge of the picture, through the middle of that side so many cells deep.
fn cut_is_not_proven(side: usize, cells: f32) {
    let mut seen = 0;
    for shown in SHOWN.iter() {
        let (width, height) = (shown.luma.width() as f32, shown.luma.height() as f32);
        let (middle, depth) = (shown.middle_of_side(side), cells * shown.lattice.pitch());
        let mut edges = [0.0, 0.0, width, height];
        edges[side] = [middle.x + depth, middle.y + depth, middle.x - depth, middle.y - depth][side];
        for grid in grids(shown.part(edges)) {
            seen += 1;
            assert_ne!(grid.reading.verdict, Verdict::Proven, "{}: {:?}", shown.name, grid.reading.givens.map(|board| board.to_string()));
            assert_ne!(grid.reading.verdict, Verdict::Misprinted, "{}", shown.name);
        }
    }
    assert!(seen > 0, "none of the grids is found");
}

/// A test for each edge and depth.
macro_rules! cut_off {
    ($($name:ident: $side:literal, $cells:literal;)+) => { $(#[test] fn $name() { super::cut_is_not_proven($side, $cells); })+ };
}

mod cut_off {
    cut_off! {
        half_a_cell_at_the_left: 0, 0.5;
        half_a_cell_at_the_top: 1, 0.5;
        half_a_cell_at_the_right: 2, 0.5;
        half_a_cell_at_the_bottom: 3, 0.5;
        a_cell_at_the_left: 0, 1.0;
        a_cell_at_the_top: 1, 1.0;
        a_cell_at_the_right: 2, 1.0;
        a_cell_at_the_bottom: 3, 1.0;
        three_cells_at_the_left: 0, 3.0;
        three_cells_at_the_top: 1, 3.0;
        three_cells_at_the_right: 2, 3.0;
        three_cells_at_the_bottom: 3, 3.0;
    }
}

#[test]
fn a_puzzle_that_is_barely_whole_is_read() {
    for shown in SHOWN.iter() {
        let [left, top, right, bottom] = shown.bounds();
        // Half the frame's width, and three pixels of paper.
        let margin = 0.05 * shown.lattice.pitch() + 3.0;
        let found = grids(shown.part([left - margin, top - margin, right + margin + 1.0, bottom + margin + 1.0]));
        assert_eq!(found.len(), 1, "{}", shown.name);
        let reading = &found[0].reading;
        let flags: Vec<String> = reading.flags.iter().map(|flag| format!("{} {}", flag.cell, flag.reason)).collect();
        assert_eq!(reading.givens.map(|board| board.to_string()).as_ref(), Some(&shown.givens), "{}: {flags:?}", shown.name);
        let whole = grids(shown.luma.clone()).remove(0).reading.verdict;
        assert_eq!(reading.verdict, whole, "{}: {flags:?}", shown.name);
    }
}

/// Lays something of one grey over all of the page that `over` takes in, places being given in cells from the grid's top left corner, and tells
/// which cells lie under it by half or more.
fn covered(shown: &Shown, shade: u8, over: impl Fn(f32, f32) -> bool) -> (GrayImage, Vec<Cell>) {
    let mut luma = shown.luma.clone();
    for (x, y, pixel) in luma.enumerate_pixels_mut() {
        let (column, row) = shown.in_cells(x, y);
        if over(column, row) {
            // A little grain, as any surface has in a photo.
            *pixel = Luma([shade.saturating_add((x * 7 + y * 13) as u8 % 5)]);
        }
    }
    let under = |cell: &Cell| {
        let (row, column) = (f32::from(cell.row()), f32::from(cell.column()));
        let probes = (1..10).flat_map(|v| (1..10).map(move |u| (u as f32 / 10.0, v as f32 / 10.0)));
        probes.filter(|(u, v)| over(column + u, row + v)).count() > 40
    };
    (luma, Cell::ALL.into_iter().filter(under).collect())
}

/// Whatever is covered is never taken for empty without a word, nor is the grid proven.
fn hides_nothing(shade: u8, over: impl Fn(f32, f32) -> bool + Copy) {
    let (mut faults, mut compared) = (Vec::new(), 0);
    for shown in SHOWN.iter() {
        let (luma, under) = covered(shown, shade, over);
        assert!(!under.is_empty());
        for grid in grids(luma) {
            let reading = &grid.reading;
            if matches!(reading.verdict, Verdict::Proven | Verdict::Misprinted) {
                faults.push(format!("{}, grey {shade}: {}", shown.name, reading.verdict));
            }
            // Cells are compared where the lattice is where it was.
            let same = grid.lattice.points[4][4].distance(shown.lattice.points[4][4]) < 0.5 * shown.lattice.pitch();
            if !same || reading.verdict == Verdict::Unreadable {
                continue;
            }
            compared += 1;
            let told = |cell: Cell| reading.flags.iter().any(|flag| flag.cell == cell);
            let hidden = under.iter().filter(|&&cell| shown.givens.as_bytes()[cell.index()] != b'.');
            let taken: Vec<_> = hidden.filter(|cell| reading.cells[cell.index()].read == Mark::Empty && !told(**cell)).collect();
            if !taken.is_empty() {
                faults.push(format!("{}, grey {shade}: {} with {taken:?} taken for empty", shown.name, reading.verdict));
            }
        }
    }
    assert!(faults.is_empty(), "{faults:#?}");
    assert!(compared > 0, "none of the grids is found");
}

mod covered {
    use super::hides_nothing;

    #[test]
    fn by_a_thumb() {
        for shade in [110, 160] {
            hides_nothing(shade, |x, y| ((x - 8.5) / 2.0).powi(2) + ((y - 6.0) / 1.5).powi(2) < 1.0);
        }
    }

    #[test]
    fn by_a_pen() {
        for shade in [30, 90] {
            hides_nothing(shade, |x, y| (y - 2.2 - 0.4 * x).abs() < 0.4 && (1.0..12.0).contains(&x));
        }
    }

    #[test]
    fn by_a_dark_bookmark_over_a_corner() {
        hides_nothing(70, |x, y| x < 2.6 && y < 3.4);
    }

    #[test]
    fn by_a_grey_bookmark_over_a_corner() {
        hides_nothing(150, |x, y| x > 6.3 && y > 6.7);
    }

    #[test]
    fn by_a_white_bookmark_over_a_corner() {
        for shade in [225, 245] {
            hides_nothing(shade, |x, y| x < 2.6 && y < 3.4);
        }
    }

    #[test]
    fn by_a_white_slip_in_the_middle() {
        for shade in [225, 245] {
            hides_nothing(shade, |x, y| (2.6..5.4).contains(&x) && (3.2..4.8).contains(&y));
        }
    }
}

/// A white label over one given at a time, lines and all, where the rest has one solution without it.
#[test]
fn a_given_under_a_white_label_is_not_taken_for_empty_paper() {
    let (mut proven, mut hidden) = (Vec::new(), 0);
    for shown in SHOWN.iter().take(2) {
        let board: Board = shown.givens.parse().expect("a puzzle");
        let spare = |cell: &Cell| board.get(*cell).is_some() && gridlift::prove::count(&board.with(*cell, None), 2) == 1;
        for cell in Cell::ALL.into_iter().filter(spare) {
            let (row, column) = (f32::from(cell.row()) + 0.5, f32::from(cell.column()) + 0.5);
            let (luma, under) = covered(shown, 232, |x, y| (x - column).abs() < 0.6 && (y - row).abs() < 0.6);
            assert_eq!(under, [cell]);
            hidden += 1;
            let found = grids(luma);
            proven.extend(found.iter().filter(|grid| grid.reading.verdict == Verdict::Proven).map(|_| format!("{} {cell}", shown.name)));
        }
    }
    assert!(hidden > 5, "only {hidden} givens are to spare");
    assert!(proven.is_empty(), "{proven:?}");
}

#[test]
fn a_mirrored_page_is_not_proven() {
    let mut seen = 0;
    for shown in SHOWN.iter() {
        for (how, luma) in [("left to right", flip_horizontal(&shown.luma)), ("top to bottom", flip_vertical(&shown.luma))] {
            for grid in grids(luma) {
                seen += 1;
                let reading = &grid.reading;
                assert!(!matches!(reading.verdict, Verdict::Proven | Verdict::Misprinted), "{} {how}: {}", shown.name, reading.verdict);
                let told = reading.flags.iter().any(|flag| flag.reason == Reason::TurnUnsure)
                    || reading.advice.is_some_and(|advice| advice.contains("mirrored"));
                assert!(told, "{} {how}: {}, {:?}", shown.name, reading.verdict, reading.flags);
            }
        }
    }
    assert!(seen > 0, "no mirrored grid is found at all");
}

#[test]
fn a_negative_page_is_read_as_any_other() {
    let mut proven = Vec::new();
    for shown in SHOWN.iter() {
        let mut luma = shown.luma.clone();
        image::imageops::invert(&mut luma);
        for grid in grids(luma).iter().filter(|grid| grid.reading.verdict == Verdict::Proven && shown.is_at(grid)) {
            assert_eq!(grid.reading.givens.as_ref().map(ToString::to_string).as_deref(), Some(shown.givens.as_str()), "{}", shown.name);
            proven.push(shown.name);
        }
    }
    assert!(["drawn", "clean.jpg"].iter().all(|name| proven.contains(name)), "{proven:?}");
}

/// A panel around the grid is light on dark, the page around it is not.
#[test]
fn a_grid_printed_light_on_dark_is_read() {
    let mut proven = 0;
    for shown in SHOWN.iter() {
        let within = |x: u32, y: u32| <[f32; 2]>::from(shown.in_cells(x, y)).iter().all(|at| (-0.2..9.2).contains(at));
        let mut luma = shown.luma.clone();
        let mut levels: Vec<u8> = luma.enumerate_pixels().filter(|&(x, y, _)| within(x, y)).map(|(.., pixel)| pixel.0[0]).collect();
        levels.sort_unstable();
        // What was ink is as light as the paper around, what was paper as dark as the ink.
        let both = u16::from(levels[levels.len() / 50]) + u16::from(levels[levels.len() * 9 / 10]);
        for (_, _, pixel) in luma.enumerate_pixels_mut().filter(|&(x, y, _)| within(x, y)) {
            *pixel = Luma([both.saturating_sub(u16::from(pixel.0[0])).min(255) as u8]);
        }
        for grid in grids(luma).iter().filter(|grid| shown.is_at(grid)) {
            let reading = &grid.reading;
            if reading.verdict == Verdict::Proven {
                assert_eq!(reading.givens.as_ref().map(ToString::to_string).as_deref(), Some(shown.givens.as_str()), "{}", shown.name);
                proven += 1;
            }
        }
    }
    assert!(proven > 0, "none is proven");
}

#[test]
fn solutions_upside_down_beside_upright_puzzles_have_their_own_turn() {
    let solution = gridlift::prove::prove(&PUZZLE.parse().expect("a puzzle")).solution.expect("one solution").to_string();
    let mut sheet = paper(1100, 1100);
    puzzle(&mut sheet, (60, 60), 54, PUZZLE);
    let other: String = PUZZLE.chars().rev().collect();
    puzzle(&mut sheet, (600, 60), 54, &other);
    let mut answers = paper(420, 420);
    puzzle(&mut answers, (30, 30), 40, &solution);
    overlay(&mut sheet, &rotate180(&answers), 60, 620);
    let found = grids(sheet);
    let turns: Vec<u16> = found.iter().map(|grid| grid.turn.degrees()).collect();
    let givens: Vec<String> = found.iter().map(|grid| grid.reading.givens.map(|board| board.to_string()).unwrap_or_default()).collect();
    assert_eq!(turns, [0, 0, 180]);
    assert_eq!(givens, [PUZZLE.to_owned(), other, solution]);
    assert!(found.iter().all(|grid| grid.reading.verdict == Verdict::Proven) && found[2].reading.solved);
}
