//! Pictures without a sudoku grid give none: drawn here, since nothing else is sure to hold none.
//!
//! Beyond these, the photographs and texts that the registries' scikit-image 0.26.0 and scikit-learn 1.9.1 wheels carry (faces, a cat, coins, a page of
//! text, chessboards, 31 pictures) were lifted by hand: none gave a grid.

#[path = "support/drawn.rs"]
mod drawn;

use drawn::{INK, Table, fill, page, write};
use gridlift::lift::Lifter;
use image::{GrayImage, Luma};

fn paper() -> GrayImage {
    drawn::paper(900, 1000)
}

/// A table of `columns` x `rows` cells of `pitch` pixels with lines of `width` pixels, digits in it where `digit` gives one.
fn table(columns: i32, rows: i32, pitch: i32, width: i32, digit: impl Fn(i32, i32) -> Option<i32>) -> GrayImage {
    let (mut page, cells) = (paper(), Table { corner: (40, 50), columns, rows, pitch, line: width });
    cells.draw(&mut page);
    cells.write(&mut page, |row, column| digit(row, column).map(|digit| digit.to_string()));
    page
}

fn chessboard(side: i32) -> GrayImage {
    let mut page = paper();
    for row in 0..side {
        for column in (0..side).filter(|column| (row + column) % 2 == 1) {
            fill(&mut page, (60 + column * 80, 80 + row * 80), (80, 80), INK);
        }
    }
    page
}

fn ruled() -> GrayImage {
    let mut page = paper();
    for i in 0..28 {
        fill(&mut page, (0, 60 + i * 32), (900, 2), Luma([150]));
    }
    page
}

fn text() -> GrayImage {
    let mut page = paper();
    for line in 0..40 {
        let words: String = (0..16).map(|i| format!("{} ", (line * 7919 + i * 104_729) % 9973)).collect();
        write(&mut page, (40, 40 + line * 23), 20, &words);
    }
    page
}

#[test]
fn nothing_is_found_where_there_is_no_grid() {
    let lifter = Lifter::new().expect("the bundled weights");
    let some = |row: i32, column: i32| ((row * 5 + column * 3) % 4 == 0).then_some((row * 7 + column * 2) % 9 + 1);
    let pages: Vec<(&str, GrayImage)> = vec![
        ("white paper", paper()),
        ("black", GrayImage::new(640, 480)),
        ("chessboard", chessboard(8)),
        ("nine by nine chequers", chessboard(9)),
        ("ruled paper", ruled()),
        ("squared paper", table(40, 44, 20, 1, |_, _| None)),
        ("text", text()),
        ("calendar", table(7, 5, 110, 3, |row, column| Some(row * 7 + column + 1))),
        ("8x8 table", table(8, 8, 90, 3, some)),
        ("10x10 table", table(10, 10, 80, 3, some)),
        ("12x12 table", table(12, 12, 66, 3, some)),
        ("4x4 grid", table(4, 4, 180, 4, some)),
        ("6x6 grid", table(6, 6, 130, 4, some)),
        ("list of figures", table(5, 30, 30, 2, |row, column| Some((row * 31 + column * 17) % 90 + 10))),
    ];
    let found: Vec<String> = pages
        .into_iter()
        .filter_map(|(name, luma)| {
            let read = lifter.lift(&page(luma)).expect("the bundled networks run");
            (!read.grids.is_empty()).then(|| format!("{name}: {} grids", read.grids.len()))
        })
        .collect();
    assert!(found.is_empty(), "{found:?}");
}
