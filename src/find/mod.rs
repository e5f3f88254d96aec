//! Finds every 9x9 lattice on a page, with line evidence for each segment.
//!
//! A small convolutional network marks crossings on a shrunken page (`marks`); `grow` joins them into
//! lattices of 10x10 whose heavy lines make 3x3 boxes and whose border ends them; `refine` moves each
//! crossing onto the printed lines at a larger scale. A window of a larger table is no lattice.

mod apart;
mod glance;
mod grow;
mod marks;
mod refine;

use image::GrayImage;
use image::imageops::{FilterType, crop_imm, resize};
use image::math::Rect;

use crate::decode::{Page, shrink_part};
use crate::net::NetError;
use crate::plane::{Lattice, Point};

pub use marks::Finder;

use grow::LEAST_SURPLUS;
use marks::Crossing;

/// A lattice and what speaks for it.
#[derive(Clone, Debug)]
pub struct Found {
    /// The crossings in page pixels; its first row is the one that is topmost on the page (so a turned
    /// print starts at another corner).
    pub lattice: Lattice,
    /// Share of the 100 crossings that the network marked, 0 to 1.
    pub seen: f32,
    /// How much more the sixteen box corners look like box corners than the other crossings do, -1 to 1.
    pub boxes: f32,
    /// How much more the rim looks like a rim than the inside does, -1 to 1.
    pub border: f32,
    /// Darkness of each horizontal segment against the paper beside it, `[line][segment]`, 0 to 1.
    pub rows: [[f32; 9]; 10],
    /// The same of each vertical segment, `[line][segment]`, lines from left to right.
    pub columns: [[f32; 9]; 10],
    /// Share of the inner lines, by their darkness, that go on beyond the rim, on the side where second most do, 0 to 1.
    pub beyond: f32,
    /// Whether the lines of a box at one of its corners go on in another grid.
    pub shares_a_box: bool,
}

/// The long side, in pixels, of the shrunken page on which lattices are looked for.
const LOOK_SIDE: u32 = 640;
/// A greater share of the inner lines than this going on beyond the rim at two sides make it a window of a larger table.
const MOST_BEYOND: f32 = 0.7;
/// Cells smaller than this on the shrunken page, in pixels, are looked at again at twice the scale.
const SMALL_PITCH: f32 = 15.0;
/// Lattices that lie on each other, one with so many times as large cells as the other, are not the same.
const OTHER_SIZE: f32 = 1.5;
/// A third look, at four times the scale, is taken where the page has nearly the pixels for it.
const MOST_ENLARGED: f32 = 1.25;
/// Marks beside the lattices found that no closer look explains add up to this at most. Six of the drawn pages with several grids (842000 to 842099, all levels)
/// show from afar one that is strong enough alone: marks of 13.4 and more beside it, but for one whose other grid lies mostly beyond the page's edge and isn't
/// found by a closer look either.
const MOST_ELSEWHERE: f32 = 8.0;
/// Beside grids that take less of the page than this there is room for others too small to be seen from afar. Of 343 photographs of one grid two take less.
const LEAST_SHARE: f32 = 0.3;

impl Finder {
    /// All lattices of the page, in reading order. `closely` looks for small ones on an enlarged page whatever is found on the plain one.
    ///
    /// # Errors
    /// Where the network can't be run.
    pub fn find(&self, page: &Page, closely: bool) -> Result<Vec<Found>, NetError> {
        let luma = &page.luma;
        let scale = scale_to(luma, LOOK_SIDE);
        let Look { found: mut best, marks } = self.look(luma, scale)?;
        let is_small = |found: &Found| found.lattice.pitch() * scale < SMALL_PITCH;
        // Small cells are seen better on an enlarged page as well, those of a grid that marks alone betray among them.
        let plain: Vec<&Found> = best.iter().filter(|found| found.shows_boxes()).collect();
        let all_large = !closely && !plain.is_empty() && !plain.iter().any(|found| is_small(found));
        let elsewhere =
            strength(marks.iter().filter(|mark| !plain.iter().any(|found| found.lattice.encloses(mark.place) || found.has(mark))));
        if !all_large || elsewhere > MOST_ELSEWHERE || !fill(luma, plain) {
            let mut closer = self.look(luma, 2.0 * scale)?.found;
            if all_large {
                // What is large would have been found already.
                closer.retain(is_small);
            }
            best = merge(best, closer);
            let is_tiny = |found: &Found| found.lattice.pitch() * 2.0 * scale < SMALL_PITCH;
            if 4.0 * scale < MOST_ENLARGED && best.iter().any(is_tiny) {
                let mut closest = self.look(luma, 4.0 * scale)?.found;
                closest.retain(is_tiny);
                best = merge(best, closest);
            }
        }
        let mut found: Vec<Found> = best
            .into_iter()
            .map(|found| refine::refine(luma, found))
            .filter(|found| found.lattice.is_proper() && found.beyond < MOST_BEYOND)
            .collect();
        sort_for_reading(&mut found);
        Ok(found)
    }

    /// Looks at a page, shrunk or enlarged by `scale`.
    fn look(&self, luma: &GrayImage, scale: f32) -> Result<Look, NetError> {
        self.look_at(luma, Rect { x: 0, y: 0, width: luma.width(), height: luma.height() }, scale)
    }

    /// Looks at a part of a page, shrunk or enlarged by `scale`. What is found is told in pixels of the page.
    fn look_at(&self, luma: &GrayImage, part: Rect, scale: f32) -> Result<Look, NetError> {
        let size = |full: u32| ((full as f32 * scale).round() as u32).max(1);
        let (width, height) = (size(part.width), size(part.height));
        let small = if scale > 1.0 {
            resize(&*crop_imm(luma, part.x, part.y, part.width, part.height), width, height, FilterType::Triangle)
        } else {
            shrink_part(luma, part, width, height)
        };
        let mut marks = self.mark(&small)?;
        let factor = (part.width as f32 / small.width() as f32, part.height as f32 / small.height() as f32);
        let corner = Point::new(part.x as f32, part.y as f32);
        let full = |p: Point| Point::new((p.x + 0.5) * factor.0 - 0.5, (p.y + 0.5) * factor.1 - 0.5) + corner;
        let found = grow::grow(&marks).into_iter().map(|found| Found { lattice: found.lattice.map(full), ..found }).collect();
        marks.iter_mut().for_each(|mark| mark.place = full(mark.place));
        Ok(Look { found, marks })
    }
}

/// By how much a page is shrunk to a long side of `side` pixels: 1 where it is smaller.
fn scale_to(luma: &GrayImage, side: u32) -> f32 {
    (side as f32 / luma.width().max(luma.height()).max(1) as f32).min(1.0)
}

impl Found {
    /// Whether the boxes can be seen at all; where they can't, what stands in the cells must tell a puzzle from a table.
    pub fn shows_boxes(&self) -> bool {
        self.boxes >= LEAST_SURPLUS
    }

    /// Whether more than lines between boxes can be seen, which four by four crossings of any other lattice are as well, or the network sees them as boxes' own.
    pub fn shows_cells(&self) -> bool {
        self.boxes > refine::PLAIN_BOXES || refine::thin_lines_seen(&self.rows) + refine::thin_lines_seen(&self.columns) > 6
    }

    /// Whether a mark is of one of the lattice's crossings.
    fn has(&self, mark: &Crossing) -> bool {
        let reach = 0.5 * self.lattice.pitch();
        self.lattice.points.as_flattened().iter().any(|p| p.distance(mark.place) < reach)
    }
}

/// Whether the lattices take so much of the page that others beside them would be as large.
fn fill<'found>(luma: &GrayImage, found: impl IntoIterator<Item = &'found Found>) -> bool {
    found.into_iter().map(|found| found.lattice.area()).sum::<f32>() > LEAST_SHARE * luma.len() as f32
}

/// The sum of the strengths of marks.
fn strength<'marks>(marks: impl IntoIterator<Item = &'marks Crossing>) -> f32 {
    marks.into_iter().map(|mark| mark.strength).sum()
}

/// What one look shows, in pixels of the page.
struct Look {
    found: Vec<Found>,
    marks: Vec<Crossing>,
}

/// Both looks together; where two lattices lie on each other, the one whose boxes were seen stays, or else the one with more crossings. Where their cells
/// differ plainly in size both stay, and reading tells which is a grid: lines that show through the paper make large lattices of several small grids.
fn merge(first: Vec<Found>, second: Vec<Found>) -> Vec<Found> {
    let mut all: Vec<Found> = second.into_iter().chain(first).collect();
    all.sort_by(|a, b| b.shows_boxes().cmp(&a.shows_boxes()).then(b.seen.total_cmp(&a.seen)));
    let mut kept: Vec<Found> = Vec::new();
    for found in all {
        let middle = found.lattice.points[4][4];
        let pitch = found.lattice.pitch();
        let is_same = |other: &Found| {
            let (less, more) = (pitch.min(other.lattice.pitch()), pitch.max(other.lattice.pitch()));
            more < OTHER_SIZE * less && other.lattice.points[4][4].distance(middle) < 4.5 * more
        };
        if !kept.iter().any(is_same) {
            kept.push(found);
        }
    }
    kept
}

/// Rows of grids from top to bottom, each from left to right: two grids share a row where the middle of
/// one lies between the top and the bottom of the other.
fn sort_for_reading(found: &mut Vec<Found>) {
    let middle = |f: &Found| f.lattice.points[4][4].toward(f.lattice.points[5][5], 0.5);
    found.sort_by(|a, b| middle(a).y.total_cmp(&middle(b).y));
    let mut rest = std::mem::take(found);
    while !rest.is_empty() {
        let reach = middle(&rest[0]).y + rest[0].lattice.pitch() * 4.5;
        let (mut row, below): (Vec<Found>, Vec<Found>) = rest.into_iter().partition(|f| middle(f).y <= reach);
        row.sort_by(|a, b| middle(a).x.total_cmp(&middle(b).x));
        found.extend(row);
        rest = below;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    impl Found {
        /// All of whose crossings, boxes and rim the network saw, and no lines as yet.
        pub(super) fn seen_well(lattice: Lattice) -> Self {
            let (rows, columns) = ([[0.0; 9]; 10], [[0.0; 9]; 10]);
            Self { lattice, seen: 1.0, boxes: 1.0, border: 1.0, rows, columns, beyond: 0.0, shares_a_box: false }
        }
    }

    #[test]
    fn of_lattices_that_lie_on_each_other_those_of_one_size_are_the_same() {
        let found = |left: f32, pitch: f32, seen: f32| {
            let corners = [(0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (0.0, 9.0)].map(|(x, y)| Point::new(left + x * pitch, x + y * pitch));
            let lattice = Lattice::from_corners(corners).expect("a square");
            Found { seen, ..Found::seen_well(lattice) }
        };
        let seen = |merged: Vec<Found>| merged.iter().map(|found| found.seen).collect::<Vec<_>>();
        assert_eq!(seen(merge(vec![found(10.0, 30.0, 0.9)], vec![found(13.0, 31.0, 1.0)])), [1.0]);
        assert_eq!(seen(merge(vec![found(10.0, 90.0, 0.9)], vec![found(40.0, 30.0, 1.0), found(350.0, 30.0, 0.8)])), [1.0, 0.9, 0.8]);
    }
}
