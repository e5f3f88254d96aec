//! Moves each crossing onto the printed lines, and measures every segment's darkness.
//!
//! Across each of the 180 segments a profile is taken, averaged along the segment's middle so that a digit
//! or a speck counts little; the line is the dark ridge in it, or the light one where the grid's lines are light. A crossing follows the ridges of the segments
//! beside it, horizontal ones for one direction, vertical ones for the other.

use image::GrayImage;
use image::imageops::invert;
use image::math::Rect;

use super::Found;
use super::apart::set_apart;
use crate::decode::{sample_several, shrink_part, wide};
use crate::plane::{Lattice, Point};

/// Cells are measured at about this many pixels: more adds nothing to a line's place.
const WORK_PITCH: f32 = 36.0;
/// How far to each side of a segment its line is looked for, in cells.
const REACH: f32 = 0.2;
/// Where along a segment the profile is taken, in shares of it: clear of the crossing lines.
const ALONG: [f32; 9] = [0.18, 0.26, 0.34, 0.42, 0.5, 0.58, 0.66, 0.74, 0.82];
/// Offsets at which a profile is sampled.
const SAMPLES: usize = 21;
/// The weight, as a darkness, of staying where the network put a crossing.
const STAY: f32 = 0.02;
/// Paper is never darker than this, of 255: around tinted cells, seen in the negative, it is black.
const LEAST_PAPER: f32 = 16.0;
/// Rounds of measuring and moving; the second starts close enough to see thin lines well.
const ROUNDS: usize = 2;

/// Lines darker than this, in the mean, are dark ones.
const PLAINLY_DARK: f32 = 0.3;
/// Others are light ones, on a tint or in a negative, if light ridges stand out so much more than dark ones.
const LIGHTER: f32 = 1.5;

/// Fainter lines than this, in the median, are not seen: grids with lines round their boxes alone have only two inner ones that are.
const SEEN: f32 = 0.04;

/// Where box lines hold so many times the ink of the others, boxes are plain to see, and so they are where the mean step of the paper's logarithm at their
/// bounds is so large, and so many times that within them. Reckoned, not fitted.
const HEAVIER: f32 = 1.2;
const LEAST_TINT: f32 = 0.02;
const TINTED: f32 = 3.0;
/// What [`Found::boxes`] is then, at least.
pub(super) const PLAIN_BOXES: f32 = 0.65;

/// A line found across one segment.
#[derive(Clone, Copy, Default)]
pub(super) struct Ridge {
    /// How far from the segment, along its normal, in pixels.
    pub(super) offset: f32,
    /// So far is the middle of all that is dark.
    pub(super) middle: f32,
    /// Darkness against the paper beside it, 0 to 1.
    pub(super) depth: f32,
    /// The same of a line with paper on both sides, in grey levels; 0 at the edge of something wide.
    pub(super) step: f32,
    /// The darkness of such a line.
    pub(super) alone: f32,
    /// Its darkness times its width, in cells.
    pub(super) ink: f32,
}

/// The same lattice on the printed lines of `luma`, the page at full size.
pub(super) fn refine(luma: &GrayImage, found: Found) -> Found {
    let scale = (WORK_PITCH / found.lattice.pitch()).min(1.0);
    // Only the part of the page around the grid is shrunk.
    let points = found.lattice.points.as_flattened();
    // A whole cell around it, to see where its lines end.
    let margin = found.lattice.pitch() * 1.3;
    let bound = |pick: fn(&Point) -> f32, most: u32| {
        let low = points.iter().map(pick).fold(f32::INFINITY, f32::min) - margin;
        let high = points.iter().map(pick).fold(f32::NEG_INFINITY, f32::max) + margin;
        let low = low.clamp(0.0, most.saturating_sub(1) as f32) as u32;
        (low, (high.clamp(0.0, most as f32) as u32).max(low + 1) - low)
    };
    let ((x, width), (y, height)) = (bound(|p| p.x, luma.width()), bound(|p| p.y, luma.height()));
    let (w, h) = (((width as f32 * scale).round() as u32).max(1), ((height as f32 * scale).round() as u32).max(1));
    let mut small = shrink_part(luma, Rect { x, y, width, height }, w, h);
    let (fx, fy) = (width as f32 / w as f32, height as f32 / h as f32);
    let mut lattice = found.lattice.map(|p| Point::new((p.x - x as f32 + 0.5) / fx - 0.5, (p.y - y as f32 + 0.5) / fy - 0.5));
    let mut ridges = measure(&small, &lattice);
    if mean(&ridges, |ridge| ridge.alone) < PLAINLY_DARK {
        let mut inverted = small.clone();
        invert(&mut inverted);
        let light = measure(&inverted, &lattice);
        if mean(&light, |ridge| ridge.step) > LIGHTER * mean(&ridges, |ridge| ridge.step) {
            (small, ridges) = (inverted, light);
        }
    }
    for _ in 0..ROUNDS {
        lattice.gap = set_apart(&small, &lattice, &mut ridges);
        lattice = moved(&lattice, &ridges.0, &ridges.1);
        ridges = measure(&small, &lattice);
    }
    let apart = set_apart(&small, &lattice, &mut ridges) > 0.0;
    let lattice = between(lattice, &ridges);
    let (rows, columns) = ridges;
    let ends = ends(&small, &lattice, &rows, &columns);
    let (beyond, shares_a_box) = (beyond(&ends), shares_a_box(&ends));
    let now_plain = found.boxes < PLAIN_BOXES && (apart || shows_boxes(&small, &lattice, &rows, &columns));
    let boxes = if now_plain { PLAIN_BOXES } else { found.boxes };
    let depths = |ridges: [[Ridge; 9]; 10]| ridges.map(|line| line.map(|ridge| ridge.depth));
    let lattice = lattice.map(|p| Point::new((p.x + 0.5) * fx - 0.5 + x as f32, (p.y + 0.5) * fy - 0.5 + y as f32));
    Found { lattice, rows: depths(rows), columns: depths(columns), beyond, shares_a_box, boxes, ..found }
}

/// One of the eight inner lines that meet a side: its darkness, and whether it goes on beyond the rim for a whole cell; `None` where that lies beyond the picture.
type Ends = [(f32, Option<bool>); 8];

/// Where the inner lines end: at the left, the right, the upper and the lower rim.
fn ends(luma: &GrayImage, lattice: &Lattice, rows: &[[Ridge; 9]; 10], columns: &[[Ridge; 9]; 10]) -> [Ends; 4] {
    // Less than this share of the line's own darkness beyond the rim is another thing, or nothing.
    const SAME: f32 = 0.5;
    let p = &lattice.points;
    let (width, height) = (luma.width() as f32 - 1.0, luma.height() as f32 - 1.0);
    // A line's ridges, where it meets the rim, and the crossing before.
    let end = |line: &[Ridge; 9], rim: Point, within: Point| {
        let depth = darkness(line);
        let end = rim + (rim - within);
        if depth < SEEN || !(0.0..=width).contains(&end.x) || !(0.0..=height).contains(&end.y) {
            return (depth, None);
        }
        // All the way: the lines of a grid close by begin only after a gap.
        let goes_on = |from: Point, to: Point| {
            let further = ridge(luma, from, to);
            further.depth > SAME * depth && further.middle.abs() < 0.1 * rim.distance(within)
        };
        (depth, Some(goes_on(rim, end) && goes_on(rim, rim.toward(end, 0.5))))
    };
    [
        std::array::from_fn(|i| end(&rows[i + 1], p[i + 1][0], p[i + 1][1])),
        std::array::from_fn(|i| end(&rows[i + 1], p[i + 1][9], p[i + 1][8])),
        std::array::from_fn(|i| end(&columns[i + 1], p[0][i + 1], p[1][i + 1])),
        std::array::from_fn(|i| end(&columns[i + 1], p[9][i + 1], p[8][i + 1])),
    ]
}

/// The share of inner lines, by their darkness, 0 to 1, that go on beyond the rim, on the side where second most do. Lines of a grid
/// end at its rim, if nothing is printed flush against one side of it; those of a larger table go on at two sides
/// at least, wherever the window lies.
fn beyond(ends: &[Ends; 4]) -> f32 {
    let mut sides = ends.map(|side| {
        let seen = side.iter().filter(|(depth, _)| *depth >= SEEN);
        let all: f32 = seen.clone().map(|(depth, _)| depth).sum();
        let on: f32 = seen.clone().filter(|(_, goes_on)| *goes_on == Some(true)).map(|(depth, _)| depth).sum();
        if seen.count() < 2 { 0.0 } else { on / all }
    });
    sides.sort_by(f32::total_cmp);
    sides[2]
}

/// Whether the lines of a box at one corner go on at both sides there, as far as they are seen, and those farther from it don't: another grid shares the box.
fn shares_a_box(ends: &[Ends; 4]) -> bool {
    let at_corner = |side: &Ends, last: bool| {
        let goes_on = |i: usize| side[if last { 7 - i } else { i }].1;
        let on = |lines: std::ops::Range<usize>| lines.filter(|&i| goes_on(i) == Some(true)).count();
        // The line that bounds the box, and the other one between boxes.
        goes_on(2) == Some(true) && goes_on(5) == Some(false) && ![0, 1].map(goes_on).contains(&Some(false)) && on(3..8) <= 1
    };
    let [left, right, upper, lower] = ends;
    [(left, false, upper, false), (right, false, upper, true), (left, true, lower, false), (right, true, lower, true)]
        .into_iter()
        .any(|(side, is_lower, end, is_right)| at_corner(side, is_lower) && at_corner(end, is_right))
}

/// Whether the lines between the boxes hold plainly more ink than all others within the grid, or the paper's tint changes there and hardly anywhere else.
fn shows_boxes(luma: &GrayImage, lattice: &Lattice, rows: &[[Ridge; 9]; 10], columns: &[[Ridge; 9]; 10]) -> bool {
    let heavier = |lines: &[[Ridge; 9]; 10]| {
        let ink = lines.each_ref().map(|line| median(line.map(|ridge| ridge.ink)));
        let most = [1, 2, 4, 5, 7, 8].into_iter().map(|line| ink[line]).fold(0.0, f32::max);
        ink[3].min(ink[6]) > HEAVIER * most
    };
    heavier(rows) && heavier(columns) || is_tinted_by_boxes(luma, lattice)
}

fn is_tinted_by_boxes(luma: &GrayImage, lattice: &Lattice) -> bool {
    // Clear of lines; ink takes less than a quarter of these places.
    const PLACES: [f32; 5] = [0.2, 0.35, 0.5, 0.65, 0.8];
    let p = &lattice.points;
    let paper = |cell: usize| {
        let (row, column) = (cell / 9, cell % 9);
        let place = |n: usize| {
            let (across, down) = (PLACES[n % 5], PLACES[n / 5]);
            let (left, right) = (p[row][column].toward(p[row + 1][column], down), p[row][column + 1].toward(p[row + 1][column + 1], down));
            left.toward(right, across)
        };
        let mut values: [f32; 25] = sample_several(luma, &std::array::from_fn(|n| place(n).x), &std::array::from_fn(|n| place(n).y));
        values.sort_by(f32::total_cmp);
        values[18].max(1.0).ln()
    };
    let paper: [f32; 81] = std::array::from_fn(paper);
    let (mut at_boxes, mut within) = (0.0, 0.0);
    for cell in 0..81 {
        for (place, next) in [(cell % 9, cell + 1), (cell / 9, cell + 9)] {
            if place < 8 {
                let step = (paper[cell] - paper[next]).abs();
                if place % 3 == 2 { at_boxes += step / 36.0 } else { within += step / 108.0 }
            }
        }
    }
    at_boxes > LEAST_TINT && at_boxes > TINTED * within
}

/// The ridges of the horizontal and of the vertical segments, `[line][segment]`.
pub(super) type Ridges = ([[Ridge; 9]; 10], [[Ridge; 9]; 10]);

fn mean((rows, columns): &Ridges, of: fn(&Ridge) -> f32) -> f32 {
    rows.as_flattened().iter().chain(columns.as_flattened()).map(of).sum::<f32>() / 180.0
}

/// How dark a line is: the median of its ridges, which neither digits nor a gap in it move.
fn darkness(line: &[Ridge; 9]) -> f32 {
    median(line.map(|ridge| ridge.depth))
}

/// How many of the six lines in one direction within the boxes are seen.
pub(super) fn thin_lines_seen(lines: &[[f32; 9]; 10]) -> usize {
    [1, 2, 4, 5, 7, 8].into_iter().filter(|&line| median(lines[line]) > SEEN).count()
}

fn median(mut values: [f32; 9]) -> f32 {
    values.sort_by(f32::total_cmp);
    values[4]
}

fn measure(luma: &GrayImage, lattice: &Lattice) -> Ridges {
    let p = &lattice.points;
    let rows = std::array::from_fn(|line| std::array::from_fn(|i| ridge(luma, p[line][i], p[line][i + 1])));
    let columns = std::array::from_fn(|line| std::array::from_fn(|i| ridge(luma, p[i][line], p[i + 1][line])));
    (rows, columns)
}

/// The direction at right angles to the segment, clockwise of it, of length one.
fn normal(from: Point, to: Point) -> Point {
    let along = to - from;
    let length = along.length().max(1e-3);
    Point::new(-along.y / length, along.x / length)
}

/// Where sample `i` of `N` across a segment lies, along its normal.
pub(super) fn offset<const N: usize>(i: usize, reach: f32) -> f32 {
    (i as f32 / (N - 1) as f32 * 2.0 - 1.0) * reach
}

/// At nine places along a segment the values across it, as far as `reach` to each side; sorted by value at each offset.
pub(super) fn across<const N: usize>(luma: &GrayImage, from: Point, to: Point, reach: f32) -> [[f32; N]; ALONG.len()] {
    let across = normal(from, to);
    let along = ALONG.map(|t| from.toward(to, t));
    let mut values = [[0.0; N]; ALONG.len()];
    wide(
        #[inline(always)]
        || {
            for (values, p) in values.iter_mut().zip(along) {
                let (mut x, mut y) = ([0.0; N], [0.0; N]);
                for i in 0..N {
                    let place = p + across * offset::<N>(i, reach);
                    (x[i], y[i]) = (place.x, place.y);
                }
                *values = sample_several(luma, &x, &y);
            }
            sort(&mut values);
        },
    );
    values
}

/// The brightness of the paper, and how dark each value is against it, 0 to 1.
pub(super) fn against_paper<const N: usize>(profile: &[f32; N]) -> (f32, [f32; N]) {
    let mut sorted = *profile;
    sorted.sort_by(f32::total_cmp);
    let paper = sorted[N * 3 / 4];
    (paper, profile.map(|value| ((paper - value) / paper.max(LEAST_PAPER)).max(0.0)))
}

fn ridge(luma: &GrayImage, from: Point, to: Point) -> Ridge {
    let reach = (to.distance(from) * REACH).max(1.5);
    let offset = |i: usize| offset::<SAMPLES>(i, reach);
    let values = across::<SAMPLES>(luma, from, to, reach);
    // The middle third: neither a speck nor a digit's stroke that ends here moves it.
    let profile: [f32; SAMPLES] = std::array::from_fn(|i| (values[3][i] + values[4][i] + values[5][i]) / 3.0);
    let (paper, darkness) = against_paper(&profile);
    // Nearer ridges are preferred: a digit's edge may be as dark as a thin line.
    let weighted = |i: usize| darkness[i] * (1.0 - 0.4 * (offset(i) / reach).powi(2));
    let peak = (0..SAMPLES).max_by(|&a, &b| weighted(a).total_cmp(&weighted(b))).unwrap_or(SAMPLES / 2);
    let depth = darkness[peak];
    let walk = |step: isize| {
        let mut at = peak as isize;
        while (0..SAMPLES as isize).contains(&(at + step)) && darkness[(at + step) as usize] > 0.4 * depth {
            at += step;
        }
        at as usize
    };
    let (first, last) = (walk(-1), walk(1));
    let (mut sum, mut weight) = (0.0, 1e-6);
    for (i, dark) in darkness.iter().enumerate().take(last + 1).skip(first) {
        sum += dark * offset(i);
        weight += dark;
    }
    // What is dark as far as it is seen is no line but a tint, or what lies around the grid: its edge is where a line would be.
    const LAST: usize = SAMPLES - 1;
    let middle = sum / weight;
    let (offset, alone) = match (first, last) {
        (0, LAST) => (0.0, 0.0),
        (0, last) => ((offset(last) + offset(last + 1)) / 2.0, 0.0),
        (first, LAST) => ((offset(first) + offset(first - 1)) / 2.0, 0.0),
        _ => (middle, depth),
    };
    let width = 2.0 * reach / (LAST as f32 * to.distance(from).max(1e-3));
    Ridge { offset, middle, depth, step: alone * paper.max(LEAST_PAPER), alone, ink: if alone > 0.0 { weight * width } else { 0.0 } }
}

/// Sorts the nine values at each index, the least first: a network of 25 comparisons (Knuth, The Art of Computer Programming, volume 3, section 5.3.4), each
/// of which is done for all indices at once.
#[inline(always)]
fn sort<const N: usize>(values: &mut [[f32; N]; 9]) {
    const PAIRS: [(usize, usize); 25] = [
        (0, 3),
        (1, 7),
        (2, 5),
        (4, 8),
        (0, 7),
        (2, 4),
        (3, 8),
        (5, 6),
        (0, 2),
        (1, 3),
        (4, 5),
        (7, 8),
        (1, 4),
        (3, 6),
        (5, 7),
        (0, 1),
        (2, 4),
        (3, 5),
        (6, 8),
        (2, 3),
        (4, 5),
        (6, 7),
        (1, 2),
        (3, 4),
        (5, 6),
    ];
    for (low, high) in PAIRS {
        let (before, from) = values.split_at_mut(high);
        before[low].iter_mut().zip(&mut from[0]).for_each(|(a, b)| (*a, *b) = (a.min(*b), a.max(*b)));
    }
}

/// Each crossing moved by what the segments along its two lines say.
fn moved(lattice: &Lattice, rows: &[[Ridge; 9]; 10], columns: &[[Ridge; 9]; 10]) -> Lattice {
    let p = &lattice.points;
    let (rows, columns) = (rows.map(as_a_line), columns.map(as_a_line));
    let points = std::array::from_fn(|row| {
        std::array::from_fn(|column| {
            let (across, shift) = line_near(&rows[row], column, |i| p[row][i]);
            let (side, slide) = line_near(&columns[column], row, |i| p[i][column]);
            // The move d with d.across = shift and d.side = slide.
            let determinant = across.cross(side);
            if determinant.abs() < 0.3 {
                return p[row][column];
            }
            let d = Point::new((shift * side.y - slide * across.y) / determinant, (slide * across.x - shift * side.x) / determinant);
            p[row][column] + d
        })
    });
    let next = Lattice { points, ..*lattice };
    if next.is_proper() { next } else { lattice.clone() }
}

/// The ridges of one line, none much darker than most: on a line that can't be seen what is dark are digits.
fn as_a_line(ridges: [Ridge; 9]) -> [Ridge; 9] {
    const MUCH: f32 = 1.5;
    let most = MUCH * darkness(&ridges);
    ridges.map(|ridge| Ridge { depth: ridge.depth.min(most), ..ridge })
}

/// The lattice with lines that can't be seen, or that stray as no page bends them, laid evenly between those of their box that can.
fn between(lattice: Lattice, (rows, columns): &Ridges) -> Lattice {
    // Of 657 true lattices of drawn rough and harsh pages (seeds 842000 to 842199), folds and curls and all, 1 % have a crossing that lies so far, in cells.
    const ASTRAY: f32 = 0.15;
    let most = ASTRAY * lattice.pitch();
    let points = laid_evenly(lattice.points, rows, lattice.gap, most);
    let next = Lattice { points: transposed(laid_evenly(transposed(points), columns, lattice.gap, most)), ..lattice };
    if next.is_proper() { next } else { lattice }
}

fn transposed(points: [[Point; 10]; 10]) -> [[Point; 10]; 10] {
    std::array::from_fn(|i| std::array::from_fn(|j| points[j][i]))
}

/// Lines of crossings, those within a box of which both bounds can be seen laid evenly between these where they can't be seen themselves, or have a crossing
/// further than `most` from there. Over more than a box, perspective and bends don't leave lines even.
fn laid_evenly(mut lines: [[Point; 10]; 10], ridges: &[[Ridge; 9]; 10], gap: f32, most: f32) -> [[Point; 10]; 10] {
    // Thin lines beside thick ones are darker than this share of them; noise and the edges of digits are not.
    const FAINT: f32 = 0.2;
    let depths = ridges.each_ref().map(darkness);
    for line in (0..9).filter(|line| line % 3 > 0) {
        let (before, behind) = (line / 3 * 3, line / 3 * 3 + 3);
        let bounds = depths[before].min(depths[behind]);
        // A gap between boxes has a half on each side of its line.
        let [lead, tail] = [before, behind].map(|bound| if bound % 9 == 0 { 0.0 } else { gap / 2.0 });
        let share = (lead + (line % 3) as f32) / (lead + 3.0 + tail);
        let even = std::array::from_fn(|i| lines[before][i].toward(lines[behind][i], share));
        let strays = || even.iter().zip(&lines[line]).any(|(even, is): (&Point, &Point)| even.distance(*is) > most);
        if bounds >= SEEN && (depths[line] < SEEN.max(FAINT * bounds) || strays()) {
            lines[line] = even;
        }
    }
    lines
}

/// The normal of a printed line at its crossing `at`, and how far along it the line lies from there: a straight
/// line is fitted to the ridges of the two nearest segments on each side, by their darkness.
fn line_near(ridges: &[Ridge; 9], at: usize, crossing: impl Fn(usize) -> Point) -> (Point, f32) {
    let origin = crossing(at);
    let across = normal(crossing(at.saturating_sub(1)), crossing((at + 1).min(9)));
    let along = Point::new(across.y, -across.x);
    let pitch = crossing(at.saturating_sub(1)).distance(crossing((at + 1).min(9))) / if at.is_multiple_of(9) { 1.0 } else { 2.0 };
    // Normal equations of height = level + slope * place, held a little to where the crossing is.
    let (mut weights, mut places, mut squares, mut heights, mut products) = (STAY, 0.0, STAY, 0.0, 0.0);
    for (i, ridge) in ridges.iter().enumerate() {
        let near = match at.abs_diff(i).min(at.abs_diff(i + 1)) {
            0 => 1.0,
            1 => 0.15,
            _ => continue,
        };
        let (from, to) = (crossing(i), crossing(i + 1));
        let spot = from.toward(to, 0.5) + normal(from, to) * ridge.offset - origin;
        let (place, height, weight) = (spot.dot(along) / pitch, spot.dot(across), near * ridge.depth);
        weights += weight;
        places += weight * place;
        squares += weight * place * place;
        heights += weight * height;
        products += weight * place * height;
    }
    let level = (heights * squares - products * places) / (weights * squares - places * places);
    // Beyond its neighbours a line is foretold, not seen: a wild fit at a rim is no reason to leave.
    (across, level.clamp(-REACH * pitch, REACH * pitch))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nine_values_are_sorted_whatever_their_order() {
        // What sorts every row of zeros and ones sorts everything (Knuth, the zero-one principle).
        let mut values: [[f32; 512]; 9] = std::array::from_fn(|bit| std::array::from_fn(|i| (i >> bit & 1) as f32));
        sort(&mut values);
        (0..512_usize).for_each(|i| {
            let ones = i.count_ones() as usize;
            assert!((0..9).all(|rank| values[rank][i] == if rank < 9 - ones { 0.0 } else { 1.0 }), "{i:b}");
        });
    }

    fn refined(page: &GrayImage, points: [[Point; 10]; 10], boxes: f32) -> Found {
        refine(page, Found { boxes, ..Found::seen_well(points.into()) })
    }

    /// Lines two pixels thick between all pairs of these, across and down.
    fn lines(page: &mut GrayImage, columns: &[u32], rows: &[u32]) {
        let (left, right, top, bottom) = (columns[0], columns[columns.len() - 1] + 2, rows[0], rows[rows.len() - 1] + 2);
        let dark = |x: u32, y: u32| columns.iter().any(|&at| (at..at + 2).contains(&x)) || rows.iter().any(|&at| (at..at + 2).contains(&y));
        for (y, x) in (top..bottom).flat_map(|y| (left..right).map(move |x| (y, x))).filter(|&(y, x)| dark(x, y)) {
            page.put_pixel(x, y, image::Luma([60]));
        }
    }

    #[test]
    fn boxes_that_stand_apart_have_their_lines_in_the_middle_of_the_gap() {
        for gap in [0, 6, 12] {
            let box_at = |n: u32| 40 + n * (90 + gap);
            let mut page = GrayImage::from_pixel(400, 400, image::Luma([220]));
            for (row, column) in (0..3).flat_map(|row| (0..3).map(move |column| (row, column))) {
                let of = |from: u32| [0, 30, 60, 90].map(|by| from + by);
                lines(&mut page, &of(box_at(column)), &of(box_at(row)));
            }
            // The middle of the gap, and a pixel and a half off.
            let truth = |k: usize| 40.5 + 30.0 * k as f32 + gap as f32 * [0.0, 0.0, 0.0, 0.5, 1.0, 1.0, 1.5, 2.0, 2.0, 2.0][k];
            let points = std::array::from_fn(|row| std::array::from_fn(|column| Point::new(truth(column) + 1.5, truth(row) - 1.5)));
            let Found { lattice, boxes, .. } = refined(&page, points, 0.1);
            assert!((lattice.gap - gap as f32 / 30.0).abs() < 0.05, "{gap}: {}", lattice.gap);
            let off = |row: usize, column: usize| lattice.points[row][column].distance(Point::new(truth(column), truth(row)));
            assert!((0..100).all(|n| off(n / 10, n % 10) < 0.7), "{gap}");
            assert_eq!(boxes, if gap > 0 { PLAIN_BOXES } else { 0.1 });
            let [left, _, right, _] = lattice.cell(3, 3);
            let cell = box_at(1) as f32 + 0.5;
            assert!(
                left.distance(Point::new(cell, cell)) < 1.5 && right.distance(Point::new(cell + 30.0, cell + 30.0)) < 1.5,
                "{gap}: {left:?}"
            );
        }
    }

    #[test]
    fn a_grid_that_shares_a_box_with_another_is_told_from_one_alone() {
        let grid = |from: u32| -> Vec<u32> { (0..10).map(|k| from + 30 * k).collect() };
        let points = std::array::from_fn(|row| std::array::from_fn(|k| Point::new(40.5 + 30.0 * k as f32, 40.5 + 30.0 * row as f32)));
        let mut page = GrayImage::from_pixel(560, 560, image::Luma([220]));
        lines(&mut page, &grid(40), &grid(40));
        assert!(!refined(&page, points, 1.0).shares_a_box);
        // Another below it, flush with it, shares none.
        let mut below = page.clone();
        lines(&mut below, &grid(40), &grid(310)[..9]);
        assert!(!refined(&below, points, 1.0).shares_a_box);
        lines(&mut page, &grid(220), &grid(220));
        assert!(refined(&page, points, 1.0).shares_a_box);
    }

    /// Draws `rows` rows of nine cells of 30 pixels, the topmost line at `top`: lines two pixels thick, their middles at 40.5 + 30 k and at `top` + 0.5 + 30 k.
    fn rule(page: &mut GrayImage, top: u32, rows: u32) {
        let mut fill = |from: (u32, u32), size: (u32, u32)| {
            for (y, x) in (0..size.1).flat_map(|y| (0..size.0).map(move |x| (y, x))) {
                page.put_pixel(from.0 + x, from.1 + y, image::Luma([60]));
            }
        };
        (0..10).for_each(|k| fill((40 + 30 * k, top), (2, 30 * rows + 2)));
        (0..=rows).for_each(|k| fill((40, top + 30 * k), (272, 2)));
    }

    #[test]
    fn lines_go_on_in_a_table_and_not_in_a_grid_close_by() {
        let beyond = |parts: &[(u32, u32)]| {
            let mut page = GrayImage::from_pixel(360, 600, image::Luma([220]));
            parts.iter().for_each(|&(top, rows)| rule(&mut page, top, rows));
            let points = std::array::from_fn(|row| std::array::from_fn(|k| Point::new(40.5 + 30.0 * k as f32, 150.5 + 30.0 * row as f32)));
            refined(&page, points, 1.0).beyond
        };
        assert_eq!(beyond(&[(90, 14)]), 1.0);
        // Two fifths of a cell above and below.
        assert_eq!(beyond(&[(76, 2), (150, 9), (434, 2)]), 0.0);
    }

    #[test]
    fn white_lines_between_tinted_cells_end_where_the_tint_does() {
        let page = GrayImage::from_fn(360, 360, |x, y| {
            let within = |at: u32| (41..309).contains(&at) && (at - 41) % 30 > 1;
            image::Luma([if within(x) && within(y) { 210 } else { 255 }])
        });
        let points = std::array::from_fn(|row| std::array::from_fn(|k| Point::new(40.5 + 30.0 * k as f32, 40.5 + 30.0 * row as f32)));
        assert_eq!(refined(&page, points, 1.0).beyond, 0.0);
    }

    #[test]
    fn boxes_show_by_ink_or_by_tints() {
        let points = std::array::from_fn(|row| std::array::from_fn(|k| Point::new(40.5 + 30.0 * k as f32, 40.5 + 30.0 * row as f32)));
        let boxes = |page: &GrayImage| refined(page, points, 0.1).boxes;
        let mut plain = GrayImage::from_pixel(360, 360, image::Luma([220]));
        rule(&mut plain, 40, 9);
        assert_eq!(boxes(&plain), 0.1);
        // Half as wide again.
        let mut heavier = plain.clone();
        for (line, at) in [130, 220].into_iter().flat_map(|line| (40..312).map(move |at| (line, at))) {
            heavier.put_pixel(line + 2, at, image::Luma([60]));
            heavier.put_pixel(at, line + 2, image::Luma([60]));
        }
        assert_eq!(boxes(&heavier), PLAIN_BOXES);
        let tinted = |is_tinted: fn(u32, u32) -> bool| {
            GrayImage::from_fn(360, 360, |x, y| {
                let within = (42..310).contains(&x) && (42..310).contains(&y) && plain.get_pixel(x, y).0[0] > 100;
                if within && is_tinted((x - 41) / 30, (y - 41) / 30) { image::Luma([190]) } else { *plain.get_pixel(x, y) }
            })
        };
        assert_eq!(boxes(&tinted(|column, row| (column / 3 + row / 3) % 2 == 0)), PLAIN_BOXES);
        assert_eq!(boxes(&tinted(|column, row| (column + row) % 2 == 0)), 0.1);
    }

    #[test]
    fn a_crossing_goes_onto_its_lines() {
        let mut page = GrayImage::from_pixel(360, 360, image::Luma([220]));
        rule(&mut page, 40, 9);
        let truth = |k: usize| 40.5 + 30.0 * k as f32;
        let off = |row: usize, column: usize| ((row * 7 + column * 3) % 5) as f32 - 2.0;
        let points = std::array::from_fn(|row| {
            std::array::from_fn(|column| Point::new(truth(column) + off(row, column), truth(row) - off(column, row)))
        });
        let found = refined(&page, points, 1.0);
        for row in 0..10 {
            for column in 0..10 {
                let got = found.lattice.points[row][column];
                assert!(got.distance(Point::new(truth(column), truth(row))) < 0.6, "r{row}c{column}: {got:?}");
            }
        }
        assert_eq!(found.beyond, 0.0);
        assert!(found.rows.as_flattened().iter().all(|&depth| depth > 0.4));
    }
}
