//! What shows through from the back of the page: a faint grid, mostly mirrored, that isn't printed on this side.

use image::GrayImage;

use super::GridReading;
use crate::cut::least;
use crate::decide::Verdict;
use crate::decode::sample;
use crate::plane::{Lattice, Point};

/// Lines that are less deep than this are seen through the paper, and if the grid is mirrored, less than the second. Of the 3,374 grids on 1,806 drawn pages (a
/// fifth drawer's and ours, all levels) that were read with less than 0.01 of confidence, eleven show through: 0.036 at most, nine of them mirrored. Printed ones have
/// 0.04 and more, those of dark, blurred pages, and none below 0.15 is mirrored.
const FAINT: f32 = 0.03;
const FAINT_AND_MIRRORED: f32 = 0.12;
/// A grid that is read with less confidence can't be read.
const READ: f64 = 0.01;

/// Whether a grid that couldn't be read lies on the page's other side.
pub(super) fn shows_through(luma: &GrayImage, grid: &GridReading) -> bool {
    let reading = &grid.reading;
    let unread = match reading.verdict {
        Verdict::Unreadable => true,
        Verdict::Doubtful => reading.confidence < READ,
        _ => false,
    };
    let most = if grid.shot.picture.mirrored > 0.4 { FAINT_AND_MIRRORED } else { FAINT };
    unread && depth_of_lines(luma, &grid.lattice) < most
}

/// How much darker than their paper the grid's outer and box lines are, 0 to 1, in the median of their pieces from crossing to crossing.
fn depth_of_lines(luma: &GrayImage, lattice: &Lattice) -> f32 {
    /// Places across a line, and how far they reach, in cells.
    const PLACES: usize = 13;
    const REACH: f32 = 0.3;
    let point = |row: usize, column: usize| lattice.points[row][column];
    let across = |a: Point, b: Point, side: Point| {
        let middle = a.toward(b, 0.5);
        let values: Vec<f32> = (0..PLACES)
            .map(|i| {
                let at = middle + side * (REACH * (2.0 * i as f32 / (PLACES - 1) as f32 - 1.0));
                sample(luma, at.x, at.y)
            })
            .collect();
        1.0 - least(&values, 0) / least(&values, PLACES / 2).max(1.0)
    };
    let pieces = [0, 3, 6, 9].into_iter().flat_map(|line| (0..9).map(move |piece| (line, piece)));
    let depths: Vec<f32> = pieces
        .flat_map(|(line, piece)| {
            let inner = if line < 9 { line + 1 } else { line - 1 };
            let level = across(point(line, piece), point(line, piece + 1), point(inner, piece) - point(line, piece));
            let upright = across(point(piece, line), point(piece + 1, line), point(piece, inner) - point(piece, line));
            [level, upright]
        })
        .collect();
    least(&depths, depths.len() / 2)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_as_deep_as_they_are_printed() {
        let corners = [Point::new(20.0, 20.0), Point::new(200.0, 20.0), Point::new(200.0, 200.0), Point::new(20.0, 200.0)];
        let lattice = Lattice::from_corners(corners).expect("a square");
        for (ink, depth) in [(20, 0.9), (190, 0.05), (200, 0.0)] {
            let page = GrayImage::from_fn(220, 220, |x, y| {
                let on_line = |at: u32| (20..=200).contains(&at) && (at - 20).is_multiple_of(60);
                image::Luma([if on_line(x) || on_line(y) { ink } else { 200 }])
            });
            assert!((depth_of_lines(&page, &lattice) - depth).abs() < 1e-3, "{ink}: {}", depth_of_lines(&page, &lattice));
        }
    }
}
