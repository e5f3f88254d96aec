//! Finds every 9x9 lattice on a page, with line evidence for each segment.
//!
//! A small convolutional network marks crossings on a shrunken page (`marks`); `grow` joins them into
//! lattices of 10x10 whose heavy lines make 3x3 boxes and whose border ends them; `refine` moves each
//! crossing onto the printed lines at a larger scale. A window of a larger table is no lattice.

mod grow;
mod marks;
mod refine;

use image::GrayImage;

use crate::decode::{Page, shrink};
use crate::net::NetError;
use crate::plane::{Lattice, Point};

pub use marks::Finder;

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
    /// Share of the inner lines that go on beyond the rim, on the side where second most do, 0 to 1.
    pub beyond: f32,
}

/// The long side, in pixels, of the shrunken page on which lattices are looked for.
const LOOK_SIDE: u32 = 640;
/// The same of the glance, which takes a quarter of the time.
const GLANCE_SIDE: u32 = LOOK_SIDE / 2;
/// What a glance must show to be taken as it is: a lattice of which every crossing was marked, with cells at least so many pixels wide, its crossings so
/// strong in the mean, and so little strength in all other places. Of 360 photos and 240 drawn pages 344 pass, and on none of them a second grid is missed;
/// the least strength elsewhere with a second grid was 13.7.
const GLANCE_PITCH: f32 = 16.0;
/// See `GLANCE_PITCH`.
const GLANCE_STRENGTH: f32 = 0.8;
/// See `GLANCE_PITCH`.
const GLANCE_ELSEWHERE: f32 = 10.0;
/// More of the inner lines than this going on beyond the rim at two sides make it a window of a larger table.
const MOST_BEYOND: f32 = 0.7;
/// Cells smaller than this on the shrunken page, in pixels, are looked at again at twice the scale.
const SMALL_PITCH: f32 = 15.0;

impl Finder {
    /// All lattices of the page, in reading order.
    ///
    /// # Errors
    /// Where the network can't be run.
    pub fn find(&self, page: &Page) -> Result<Vec<Found>, NetError> {
        let luma = &page.luma;
        let mut best = self.look(luma, LOOK_SIDE)?.found;
        let long = luma.width().max(luma.height());
        let scale = LOOK_SIDE as f32 / long as f32;
        let small = best.iter().any(|found| found.lattice.pitch() * scale < SMALL_PITCH);
        if scale < 0.75 && (best.is_empty() || small) {
            let closer = self.look(luma, (2 * LOOK_SIDE).min(long))?.found;
            best = merge(best, closer);
        }
        let mut found: Vec<Found> = best
            .into_iter()
            .map(|found| refine::refine(luma, found))
            .filter(|found| found.lattice.is_proper() && found.beyond < MOST_BEYOND)
            .collect();
        sort_for_reading(&mut found);
        Ok(found)
    }

    /// The page's only lattice, where it is so large and plain that a glance from afar shows it; `None` where [`Finder::find`] must look. What was found this
    /// way is the same but for fractions of a pixel.
    ///
    /// # Errors
    /// Where the network can't be run.
    pub fn glance(&self, page: &Page) -> Result<Option<Found>, NetError> {
        let Look { found, strength, elsewhere } = self.look(&page.luma, GLANCE_SIDE)?;
        let scale = GLANCE_SIDE as f32 / page.luma.width().max(page.luma.height()) as f32;
        let Some([found]) = <[Found; 1]>::try_from(found).ok().filter(|[found]| {
            let whole = found.seen > 0.995 && found.lattice.pitch() * scale.min(1.0) >= GLANCE_PITCH;
            whole && strength >= GLANCE_STRENGTH && elsewhere <= GLANCE_ELSEWHERE
        }) else {
            return Ok(None);
        };
        let found = refine::refine(&page.luma, found);
        Ok((found.lattice.is_proper() && found.beyond < MOST_BEYOND).then_some(found))
    }

    fn look(&self, luma: &GrayImage, side: u32) -> Result<Look, NetError> {
        let scale = (side as f32 / luma.width().max(luma.height()).max(1) as f32).min(1.0);
        let size = |full: u32| ((full as f32 * scale).round() as u32).max(1);
        let (width, height) = (size(luma.width()), size(luma.height()));
        let small = shrink(luma, width, height);
        let marks = self.mark(&small)?;
        let factor = (luma.width() as f32 / width as f32, luma.height() as f32 / height as f32);
        let full = |p: Point| Point::new((p.x + 0.5) * factor.0 - 0.5, (p.y + 0.5) * factor.1 - 0.5);
        let found = grow::grow(&marks);
        let in_grid = |mark: &Crossing| {
            found
                .iter()
                .any(|found| found.lattice.points.as_flattened().iter().any(|p| p.distance(mark.place) < 0.5 * found.lattice.pitch()))
        };
        let (own, other): (Vec<Crossing>, Vec<Crossing>) = marks.into_iter().partition(in_grid);
        let total = |marks: &[Crossing]| marks.iter().map(|mark| mark.strength).sum::<f32>();
        let (strength, elsewhere) = (total(&own) / (100.0 * found.len().max(1) as f32), total(&other));
        let found = found.into_iter().map(|found| Found { lattice: found.lattice.map(full), ..found }).collect();
        Ok(Look { found, strength, elsewhere })
    }
}

/// What one look at a page shows.
struct Look {
    found: Vec<Found>,
    /// The mean strength, 0 to 1, of the crossings of the lattices that were found.
    strength: f32,
    /// The sum of the strengths of all other crossings.
    elsewhere: f32,
}

/// Both looks together; where two lattices lie on each other, the one with more crossings seen stays.
fn merge(first: Vec<Found>, second: Vec<Found>) -> Vec<Found> {
    let mut all: Vec<Found> = second.into_iter().chain(first).collect();
    all.sort_by(|a, b| b.seen.total_cmp(&a.seen));
    let mut kept: Vec<Found> = Vec::new();
    for found in all {
        let middle = found.lattice.points[4][4];
        let reach = found.lattice.pitch() * 4.5;
        if !kept.iter().any(|other| other.lattice.points[4][4].distance(middle) < reach.max(other.lattice.pitch() * 4.5)) {
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
