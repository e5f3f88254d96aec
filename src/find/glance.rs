//! The one large grid of a page, found from afar at a sixth of the time.

use image::GrayImage;
use image::math::Rect;

use super::marks::Crossing;
use super::{Finder, Found, LOOK_SIDE, Look, MOST_BEYOND, MOST_ELSEWHERE, fill, refine, scale_to, strength};
use crate::decode::Page;
use crate::net::NetError;
use crate::plane::Point;

/// The long side, in pixels, of the shrunken page.
const GLANCE_SIDE: u32 = LOOK_SIDE * 2 / 5;
/// What a glance must show to be taken: one lattice of which every crossing was marked, with cells at least so wide on the shrunken page, in pixels.
const LEAST_PITCH: f32 = 14.0;
/// Its crossings are at least so strong in the mean. Of 161 photos and 246 drawn pages with one grid (seeds 842000 to 842099, all levels) 291 show one that is.
const LEAST_STRENGTH: f32 = 0.7;
/// Marks to one side of the grid that are together stronger than this may be another grid, too small to be seen from afar: that side is looked at closely.
const MAY_BE_GRID: f32 = 4.0;
/// Beside a grid that takes less of the page than this, a small printed solution may stand that shows no marks from afar: every side with room for one is looked at.
const ROOMY: f32 = 0.45;
/// The least width of such a side, as a share of the page's long side.
const LEAST_BESIDE: f32 = 0.12;
/// With a larger share of the page than this to be looked at closely, all of it may be as well.
const MOST_CLOSE: f32 = 0.6;

impl Finder {
    /// The page's only lattice, where it is so large and plain that a glance from afar shows it; `None` where [`Finder::find`] must look. What was found this
    /// way is the same but for fractions of a pixel.
    ///
    /// # Errors
    /// Where the network can't be run.
    pub fn glance(&self, page: &Page) -> Result<Option<Found>, NetError> {
        let luma = &page.luma;
        let Look { found, marks } = self.look(luma, scale_to(luma, GLANCE_SIDE))?;
        let Ok([found]) = <[Found; 1]>::try_from(found) else { return Ok(None) };
        let (own, other): (Vec<Crossing>, Vec<Crossing>) = marks.into_iter().partition(|mark| found.has(mark));
        let whole = found.seen > 0.995 && found.lattice.pitch() * scale_to(luma, GLANCE_SIDE) >= LEAST_PITCH;
        if !whole || !fill(luma, [&found]) || strength(&own) < 100.0 * LEAST_STRENGTH || !self.nothing_else(luma, &found, &other)? {
            return Ok(None);
        }
        let found = refine::refine(luma, found);
        Ok((found.lattice.is_proper() && found.beyond < MOST_BEYOND).then_some(found))
    }

    /// Whether `marks` beside the grid are no grid of their own.
    fn nothing_else(&self, luma: &GrayImage, found: &Found, marks: &[Crossing]) -> Result<bool, NetError> {
        let roomy = found.lattice.area() < ROOMY * luma.len() as f32;
        if !roomy && strength(marks) <= MOST_ELSEWHERE {
            return Ok(true);
        }
        let within = |side: &Rect, p: Point| {
            let inside = |at: f32, from: u32, size: u32| at >= from as f32 && at < (from + size) as f32;
            inside(p.x, side.x, side.width) && inside(p.y, side.y, side.height)
        };
        let seen_on = |side: &Rect| strength(marks.iter().filter(|mark| within(side, mark.place)));
        let long = luma.width().max(luma.height());
        let has_room = |side: &Rect| roomy && side.width.min(side.height) as f32 > LEAST_BESIDE * long as f32;
        let close: Vec<Rect> = sides(luma, found).into_iter().filter(|side| seen_on(side) > MAY_BE_GRID || has_room(side)).collect();
        let unexplained = strength(marks.iter().filter(|mark| !close.iter().any(|side| within(side, mark.place))));
        let area = |rect: &Rect| rect.width as f32 * rect.height as f32;
        if unexplained > MOST_ELSEWHERE || close.iter().map(area).sum::<f32>() > MOST_CLOSE * luma.len() as f32 {
            return Ok(false);
        }
        for side in close {
            if !self.look_at(luma, side, scale_to(luma, LOOK_SIDE))?.found.is_empty() {
                return Ok(false);
            }
        }
        Ok(true)
    }
}

/// The parts of a page above, below, left and right of a grid, each over the page's whole width or height and reaching a cell into the grid.
fn sides(luma: &GrayImage, found: &Found) -> [Rect; 4] {
    let (width, height) = luma.dimensions();
    let points = found.lattice.points.as_flattened();
    let inward = found.lattice.pitch();
    let within = |at: f32, most: u32| at.clamp(0.0, most as f32) as u32;
    let least = |pick: fn(&Point) -> f32| points.iter().map(pick).fold(f32::INFINITY, f32::min) + inward;
    let greatest = |pick: fn(&Point) -> f32| points.iter().map(pick).fold(0.0, f32::max) - inward;
    let (left, top) = (within(least(|p| p.x), width), within(least(|p| p.y), height));
    let (right, bottom) = (within(greatest(|p| p.x), width), within(greatest(|p| p.y), height));
    [
        Rect { x: 0, y: 0, width, height: top },
        Rect { x: 0, y: bottom, width, height: height - bottom },
        Rect { x: 0, y: 0, width: left, height },
        Rect { x: right, y: 0, width: width - right, height },
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plane::Lattice;

    #[test]
    fn sides_surround_the_grid() {
        let corners = [(40.0, 30.0), (130.0, 30.0), (130.0, 120.0), (40.0, 120.0)].map(|(x, y)| Point::new(x, y));
        let lattice = Lattice::from_corners(corners).expect("a square");
        let found = Found::seen_well(lattice);
        let sides = sides(&GrayImage::new(200, 150), &found).map(|side| (side.x, side.y, side.width, side.height));
        assert_eq!(sides, [(0, 0, 200, 40), (0, 110, 200, 40), (0, 0, 50, 150), (120, 0, 80, 150)]);
    }
}
