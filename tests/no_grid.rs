//! Pictures without a sudoku grid give none: drawn here, since nothing else is sure to hold none.
//!
//! Beyond these, the photographs and texts that the registries' scikit-image 0.26.0 and scikit-learn 1.9.1 wheels carry (faces, a cat, coins, a page of
//! text, chessboards, 31 pictures) were lifted by hand: none gave a grid.

use ab_glyph::{Font, FontRef, PxScale, ScaleFont, point};
use gridlift::decode::Page;
use gridlift::lift::Lifter;
use image::{GrayImage, Luma};
use imageproc::drawing::draw_filled_rect_mut;
use imageproc::rect::Rect;

const FONT: &[u8] = include_bytes!("../src/picture/label.ttf");
const PAPER: Luma<u8> = Luma([236]);
const INK: Luma<u8> = Luma([40]);

fn paper() -> GrayImage {
    GrayImage::from_pixel(900, 1000, PAPER)
}

/// A table of `columns` x `rows` cells of `pitch` pixels with lines of `width` pixels, digits in it where `digit` gives one.
fn table(columns: i32, rows: i32, pitch: i32, width: u32, digit: impl Fn(i32, i32) -> Option<i32>) -> GrayImage {
    let mut page = paper();
    let (left, top) = (40, 50);
    for i in 0..=columns {
        draw_filled_rect_mut(&mut page, Rect::at(left + i * pitch, top).of_size(width, (rows * pitch) as u32 + width), INK);
    }
    for i in 0..=rows {
        draw_filled_rect_mut(&mut page, Rect::at(left, top + i * pitch).of_size((columns * pitch) as u32 + width, width), INK);
    }
    for row in 0..rows {
        for column in 0..columns {
            if let Some(digit) = digit(row, column) {
                let place = (left + column * pitch + pitch / 4, top + row * pitch + pitch / 6);
                write(&mut page, place, pitch * 7 / 10, &digit.to_string());
            }
        }
    }
    page
}

/// Draws a line of text, its top left at (`x`, `y`), `size` pixels high.
fn write(page: &mut GrayImage, (x, y): (i32, i32), size: i32, text: &str) {
    let font = FontRef::try_from_slice(FONT).expect("the bundled font");
    let scaled = font.as_scaled(PxScale::from(size as f32));
    let mut right = x as f32;
    for letter in text.chars() {
        let id = font.glyph_id(letter);
        let glyph = id.with_scale_and_position(size as f32, point(right, y as f32 + scaled.ascent()));
        right += scaled.h_advance(id);
        let Some(outline) = font.outline_glyph(glyph) else { continue };
        let bounds = outline.px_bounds();
        outline.draw(|column, row, share| {
            let (x, y) = (bounds.min.x as u32 + column, bounds.min.y as u32 + row);
            if share > 0.5 && x < page.width() && y < page.height() {
                page.put_pixel(x, y, INK);
            }
        });
    }
}

fn chessboard(side: i32) -> GrayImage {
    let mut page = paper();
    for row in 0..side {
        for column in (0..side).filter(|column| (row + column) % 2 == 1) {
            draw_filled_rect_mut(&mut page, Rect::at(60 + column * 80, 80 + row * 80).of_size(80, 80), INK);
        }
    }
    page
}

fn ruled() -> GrayImage {
    let mut page = paper();
    for i in 0..28 {
        draw_filled_rect_mut(&mut page, Rect::at(0, 60 + i * 32).of_size(900, 2), Luma([150]));
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
            let read = lifter
                .lift(&Page { number: 1, luma, chroma: None, damage: Vec::new(), digits: Vec::new() })
                .expect("the bundled networks run");
            (!read.grids.is_empty()).then(|| format!("{name}: {} grids", read.grids.len()))
        })
        .collect();
    assert!(found.is_empty(), "{found:?}");
}
