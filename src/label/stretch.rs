//! The whole of a line of text of which a part only was seen: print that goes on beyond its ends, on the same height, belongs to it.

use image::GrayImage;

use super::surroundings::{INK, Line, PAD, Run, STRIP, Surroundings, step_of};
use crate::decode::even;

/// How far beside the grid a line is followed, and how far beyond the grid's edge where it stands above, below or along it, in cells.
const BESIDE: f32 = 7.0;
const BEYOND: f32 = 0.5;
/// What reaches no farther than this into the grid's rows or columns, in cells, stands beside them.
const NEAR: f32 = 0.1;
/// A wider gap than this, in pixels of the strip, parts two lines.
const GAP: usize = 24;
/// How far around a pixel of the strip its light is evened, and how far from the mean ink is.
const REACH: usize = 32;
const INKED: f32 = 0.12;
/// Of a column's pixels so many are ink of letters at least; more than the share of the strip's height are a rule or frame.
const LEAST: usize = 2;
const RULE: f32 = 0.85;
/// A line that gains less than this, in pixels of the strip, is the same.
const GAIN: usize = 5;

/// The line with all print that follows its ends without a gap; `None` where nothing does.
pub(super) fn stretched(luma: &GrayImage, around: &Surroundings, line: &Line) -> Option<Line> {
    let (before, behind) = room(line);
    // Mostly nothing follows, which the next few pixels tell.
    let next = (GAP + 2 * GAIN) as f32 * step_of(line);
    followed(luma, around, line, before.min(next), behind.min(next))?;
    followed(luma, around, line, before, behind)
}

/// The line with the print that follows its ends at most so far, in cells.
fn followed(luma: &GrayImage, around: &Surroundings, line: &Line, before: f32, behind: f32) -> Option<Line> {
    let whole = moved(line, before, behind);
    let strip = around.flatten_line(luma, &whole, 0);
    let (width, step) = (strip.width() as usize, step_of(line));
    let (start, end) = ((PAD + before / step) as usize, ((PAD + (before + line.length()) / step) as usize).min(width));
    let flat = even(&strip, REACH);
    let rows = (STRIP as usize - INK as usize) / 2..(STRIP as usize + INK as usize) / 2;
    let count = |column: usize, rows: std::ops::Range<usize>, light: bool| {
        rows.filter(|row| {
            let value = flat[row * width + column] - 0.5;
            if light { value > INKED } else { value < -INKED }
        })
        .count()
    };
    // Ink is what is farther from the mean: there is less of it than of paper.
    let all = |light: bool| (start..end).map(|column| count(column, rows.clone(), light)).sum::<usize>();
    let light = all(true) > all(false);
    let is_rule = |column: usize| count(column, 0..STRIP as usize, light) as f32 > RULE * STRIP as f32;
    let follow = |columns: &mut dyn Iterator<Item = usize>| {
        let (mut last, mut gap) = (None, 0);
        for column in columns {
            if is_rule(column) || gap > GAP {
                break;
            }
            if count(column, rows.clone(), light) >= LEAST {
                (last, gap) = (Some(column), 0);
            } else {
                gap += 1;
            }
        }
        last
    };
    let pad = PAD as usize;
    let first = follow(&mut (pad..start).rev()).map_or(0, |column| start - column);
    let last = follow(&mut (end..width.saturating_sub(pad))).map_or(0, |column| column + 1 - end);
    (first.max(last) > GAIN).then(|| moved(line, first as f32 * step, last as f32 * step))
}

/// How far a line may go on before its beginning and behind its end, in cells; nowhere into the grid.
fn room(line: &Line) -> (f32, f32) {
    let along = |low: f32, high: f32| ((low + BEYOND).max(0.0), (9.0 + BEYOND - high).max(0.0));
    let (left_of, right_of) = (line.right < NEAR, line.left > 9.0 - NEAR);
    let level = line.bottom > -NEAR && line.top < 9.0 + NEAR;
    match line.run {
        Run::Right if !level => along(line.left, line.right),
        Run::Right if left_of => ((line.left + BESIDE).max(0.0), 0.0),
        Run::Right if right_of => (0.0, (9.0 + BESIDE - line.right).max(0.0)),
        // A turned line that is no longer than high is a letter that stands upright.
        Run::Down if (left_of || right_of) && line.length() > line.height() => along(line.top, line.bottom),
        Run::Up if (left_of || right_of) && line.length() > line.height() => {
            let (above, below) = along(line.top, line.bottom);
            (below, above)
        }
        _ => (0.0, 0.0),
    }
}

/// The line with its beginning and its end moved out, in cells.
fn moved(line: &Line, before: f32, behind: f32) -> Line {
    match line.run {
        Run::Right => Line { left: line.left - before, right: line.right + behind, ..*line },
        Run::Down => Line { top: line.top - before, bottom: line.bottom + behind, ..*line },
        Run::Up => Line { top: line.top - behind, bottom: line.bottom + before, ..*line },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plane::{Lattice, Point};

    /// Cells of 20 pixels whose top left crossing is at (180, 80), and bars of a digit's size every 8 pixels in these columns, 15 to 25 pixels above it.
    fn page(bars: std::ops::Range<u32>) -> (GrayImage, Surroundings) {
        let corners = [Point::new(180.0, 80.0), Point::new(360.0, 80.0), Point::new(360.0, 260.0), Point::new(180.0, 260.0)];
        let page = GrayImage::from_fn(500, 340, |x, y| {
            let bar = (55..65).contains(&y) && bars.contains(&x) && x % 8 < 4;
            image::Luma([if bar { 30 } else { 220 }])
        });
        (page, Surroundings::new(&Lattice::from_corners(corners).expect("a square")))
    }

    #[test]
    fn a_line_goes_on_as_far_as_its_print() {
        let (luma, around) = page(184..284);
        let part = Line { left: 1.0, top: -1.25, right: 2.0, bottom: -0.75, run: Run::Right };
        let whole = stretched(&luma, &around, &part).expect("there is more of it");
        assert!((whole.left - 0.2).abs() < 0.1 && (whole.right - 5.2).abs() < 0.1, "{whole:?}");
        assert_eq!((whole.top, whole.bottom), (part.top, part.bottom));
        assert_eq!(stretched(&luma, &around, &whole), None);
    }

    #[test]
    fn a_line_goes_on_beyond_the_margin_but_not_into_the_grid() {
        let beside = Line { left: -3.0, top: 1.0, right: -0.5, bottom: 1.5, run: Run::Right };
        assert_eq!(room(&beside), (BESIDE - 3.0, 0.0));
        let upright = Line { left: 0.2, top: -1.0, right: 0.6, bottom: -0.5, run: Run::Up };
        assert_eq!(room(&upright), (0.0, 0.0));
        let turned = Line { left: -0.9, top: 3.0, right: -0.4, bottom: 5.0, run: Run::Up };
        assert_eq!(room(&turned), (9.0 + BEYOND - 5.0, 3.0 + BEYOND));
    }
}
