//! Made-up pages and readings for the tests of whole rooms and commands.

#![allow(dead_code, reason = "each test file uses a part of it")]

use gridlift::decide::{CellReading, Flag, Mark, Picture, Reading, Reason, Shot, Thresholds, Verdict};
use gridlift::decode::{Damage, Page};
use gridlift::grid::{Board, Cell, Digit};
use gridlift::label::Label;
use gridlift::lift::{GridReading, PageReading, StageTimes};
use gridlift::plane::{Lattice, Point, Turn};
use image::{GrayImage, Luma};

/// A puzzle of the made-up booklet, with one solution, and that solution.
pub const PUZZLE: &str = "974..8....1.6....5....9......1...3..348...519..2...4......6....4....1.9....5..723";

/// The digit `value`.
pub fn digit(value: u8) -> Digit {
    value.to_string().parse().expect("a digit from 1 to 9")
}

/// A lattice with cells of `pitch` pixels whose top left corner on the page is at `corner`; it stands turned.
pub fn lattice(corner: Point, pitch: f32, turn: Turn) -> Lattice {
    let side = 9.0 * pitch;
    let corners = [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)].map(|(x, y)| corner + Point::new(x, y));
    Lattice::from_corners(corners).expect("a square").read_at(turn)
}

/// A grid with each kind of mark and a flag, at `lattice`.
pub fn grid(lattice: Lattice, turn: Turn, verdict: Verdict) -> GridReading {
    let givens: Board = PUZZLE.parse().expect("81 characters");
    let cell = |place: &Cell| {
        let read = match givens.get(*place) {
            Some(digit) => Mark::Given(digit),
            None => match (place.row() * 9 + place.column()) % 11 {
                0 => Mark::Entry(digit(8)),
                1 => Mark::Marks,
                4 => Mark::Other,
                _ => Mark::Empty,
            },
        };
        CellReading { read, probability: 0.999_999_9, rivals: vec![(Mark::Other, 2.345_678e-5)] }
    };
    let flagged = Cell::ALL[2];
    GridReading {
        lattice,
        turn,
        reading: Reading {
            verdict,
            confidence: 0.999_999_99,
            cells: Cell::ALL.iter().map(cell).collect(),
            givens: Some(givens),
            entries: Some(".".repeat(81).parse().expect("81 characters")),
            marks: Vec::new(),
            solutions: 1,
            solution: None,
            second: None,
            solved: false,
            conflict: vec![Cell::ALL[2], Cell::ALL[80]],
            repairs: vec![(flagged, Some(digit(3))), (Cell::ALL[1], None)],
            flags: vec![Flag {
                cell: flagged,
                reason: Reason::RivalDigits,
                read: Mark::Given(digit(4)),
                suggest: Mark::Given(digit(9)),
                odds: f64::INFINITY,
            }],
            advice: Some("hold the camera straight above the page"),
        },
        label: Some(Label { text: "42".into(), place: [10.04, 5.0, 20.0, 8.0], confidence: 0.99 }),
        printed_solution_agrees: None,
        shot: Shot::new(&[], Picture::default(), &thresholds()),
    }
}

/// The bundled thresholds.
pub fn thresholds() -> Thresholds {
    serde_json::from_str(include_str!("../../models/thresholds.json")).expect("the bundled thresholds")
}

/// A reading of a page with these grids.
pub fn page_reading(size: (u32, u32), grids: Vec<GridReading>) -> PageReading {
    let times = StageTimes { decode: 1.234_567, find: 2.0, read: 3.0, prove: 0.25, label: 0.5 };
    PageReading { number: 1, size, damage: vec![Damage::CutShort], grids, left_out: 0, times }
}

/// A blank grey page with the lines of these grids.
pub fn page((width, height): (u32, u32), grids: &[GridReading]) -> Page {
    let mut luma = GrayImage::from_pixel(width, height, Luma([225]));
    for points in grids.iter().map(|grid| &grid.lattice.points) {
        let across = points.iter().map(|row| (row[0], row[9]));
        let down = points[0].iter().copied().zip(points[9]);
        for (from, to) in across.chain(down) {
            for step in 0..=1000 {
                let at = from.toward(to, step as f32 / 1000.0);
                if (0.0..width as f32).contains(&at.x) && (0.0..height as f32).contains(&at.y) {
                    luma.put_pixel(at.x as u32, at.y as u32, Luma([60]));
                }
            }
        }
    }
    Page { number: 1, luma, chroma: None, damage: Vec::new(), digits: Vec::new() }
}
