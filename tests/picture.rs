//! The picture of a reading: what is drawn, where, and at which scale.

mod support;

use gridlift::decide::Verdict;
use gridlift::grid::Cell;
use gridlift::picture;
use gridlift::plane::{Point, Turn};
use image::{Rgb, RgbImage};

const BLUE: Rgb<u8> = Rgb([0, 114, 178]);
const YELLOW: Rgb<u8> = Rgb([240, 228, 66]);

fn count(picture: &RgbImage, colour: Rgb<u8>, (left, top, side): (f32, f32, f32)) -> usize {
    let pixels = picture.enumerate_pixels();
    pixels
        .filter(|(x, y, pixel)| **pixel == colour && (left..left + side).contains(&(*x as f32)) && (top..top + side).contains(&(*y as f32)))
        .count()
}

#[test]
fn digits_and_flags_follow_the_turn() {
    for turn in Turn::ALL {
        let lattice = support::lattice(Point::new(60.0, 80.0), 60.0, turn);
        let grid = support::grid(lattice.clone(), turn, Verdict::Doubtful);
        let size = (700, 760);
        let picture = picture::draw(&support::page(size, std::slice::from_ref(&grid)), &support::page_reading(size, vec![grid.clone()]));
        assert_eq!(picture.dimensions(), size);
        for (place, cell) in Cell::ALL.iter().zip(&grid.reading.cells) {
            let [a, b, c, d] = lattice.cell(place.row().into(), place.column().into());
            let left = a.x.min(b.x).min(c.x).min(d.x);
            let top = a.y.min(b.y).min(c.y).min(d.y);
            let given = matches!(cell.read, gridlift::decide::Mark::Given(_));
            let blue = count(&picture, BLUE, (left + 1.0, top + 1.0, 58.0));
            assert_eq!(blue > 50, given, "{place} at {turn:?}: {blue} blue pixels");
            if given {
                // The corner that is top left as printed.
                let corner = a.toward(c, 0.17);
                let chip = count(&picture, BLUE, (corner.x - 10.0, corner.y - 10.0, 20.0));
                assert_eq!(chip, blue, "{place} at {turn:?}");
            }
            let flagged = grid.reading.flags.iter().any(|flag| flag.cell == *place);
            assert_eq!(count(&picture, YELLOW, (left + 1.0, top + 1.0, 58.0)) > 50, flagged, "{place} at {turn:?}");
        }
    }
}

#[test]
fn small_grids_are_enlarged_and_large_ones_are_not() {
    for (pitch, side, expected) in [(22.0, 240, 480), (11.0, 130, 520), (440.0, 4400, 4400)] {
        let grid = support::grid(support::lattice(Point::new(15.0, 15.0), pitch, Turn::None), Turn::None, Verdict::Proven);
        let size = (side, side);
        let picture = picture::draw(&support::page(size, &[]), &support::page_reading(size, vec![grid]));
        assert_eq!(picture.width(), expected, "pitch {pitch}");
    }
}

#[test]
fn a_grid_beyond_the_page_is_drawn_as_far_as_it_goes() {
    let grid = support::grid(support::lattice(Point::new(-200.0, -1e6), 50.0, Turn::None), Turn::None, Verdict::Unreadable);
    let partly = support::grid(support::lattice(Point::new(-200.0, -100.0), 50.0, Turn::Half), Turn::Half, Verdict::Misprinted);
    let size = (300, 200);
    let picture = picture::draw(&support::page(size, &[]), &support::page_reading(size, vec![grid, partly]));
    assert_eq!(picture.dimensions(), (300 + 2 * 37, 200 + 2 * 37), "the margin is bounded");
}
