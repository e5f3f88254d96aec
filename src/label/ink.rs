//! Lines of text around a grid by their ink alone: dark shapes of a letter's size that stand in a row.
//!
//! The network of `place` knows what a label looks like; this knows only what print looks like. Together they miss less.

use image::GrayImage;

use super::surroundings::{Line, MARGIN, Run, Surroundings};
use crate::decode::even;

/// Pixels a cell of the flattened surroundings.
pub(super) const PITCH: f32 = 24.0;
/// How far around a pixel its light is evened: a cell and a half.
const REACH: usize = 36;
/// Evened brightness below this is ink (0.5 is the mean around, 0 three spreads below it).
const INK: f32 = 0.36;
/// Ink nearer to the grid than this, in cells, is its frame.
const FRAME: f32 = 0.12;
/// Height of a letter or digit, in cells; dots and dashes may be lower.
const LETTER: std::ops::Range<f32> = 0.16..1.3;
/// A shape wider than this, in cells, is a rule, a bar or a picture.
const MOST_WIDE: f32 = 2.2;
/// Shapes farther apart than this, in heights of the line, are no neighbours on it.
const GAP: f32 = 1.1;
/// What leaves the margin at one side must come so near to the grid, in cells.
const NEAR: f32 = 1.0;
/// A line is at least so many times as long as it is high, and one that runs up or down so many times: a lone letter stands upright.
const SHORT: f32 = 0.3;
const LONG: f32 = 1.3;
/// The longest line that can be a label, in cells.
const LONGEST: f32 = 9.5;

/// A dark shape or a line of them: left, top, right and bottom in cells.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Extent {
    left: f32,
    top: f32,
    right: f32,
    bottom: f32,
}

impl Extent {
    fn height(&self) -> f32 {
        self.bottom - self.top
    }

    fn with(&self, other: &Self) -> Self {
        Self {
            left: self.left.min(other.left),
            top: self.top.min(other.top),
            right: self.right.max(other.right),
            bottom: self.bottom.max(other.bottom),
        }
    }

    /// The same with across and down exchanged, so that what runs up or down runs to the right.
    fn turned(&self) -> Self {
        Self { left: self.top, top: self.left, right: self.bottom, bottom: self.right }
    }

    /// Whether another shape stands on the same line, next to this.
    fn continues(&self, other: &Self) -> bool {
        let overlap = self.bottom.min(other.bottom) - self.top.max(other.top);
        let gap = self.left.max(other.left) - self.right.min(other.right);
        let (low, high) = if self.height() < other.height() { (self, other) } else { (other, self) };
        // A dot or dash lies within the line's height; two letters share half of theirs.
        overlap > 0.5 * low.height() && gap < GAP * high.height()
    }
}

/// A row of letters or numbers at one side of a grid that name its columns or rows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Headings {
    extent: Extent,
}

impl Headings {
    /// Whether a line is of it.
    pub(super) fn holds(&self, line: &Line) -> bool {
        let own = Extent { left: line.left, top: line.top, right: line.right, bottom: line.bottom };
        self.has(&own)
    }

    /// Whether the middle of something lies between the grid's ends beside the row, and it doesn't reach far beyond it.
    fn has(&self, own: &Extent) -> bool {
        const BEYOND: f32 = 0.2;
        let Extent { left, top, right, bottom } = self.extent;
        own.left > left - BEYOND && own.right < right + BEYOND && own.top > top - BEYOND && own.bottom < bottom + BEYOND
    }
}

/// The letters or numbers above the columns, if there are such: shapes no wider than a cell, one or two in the middle of nearly every one, all at one height, with nothing between them.
fn headings(shapes: &[Extent]) -> Option<Headings> {
    /// Farther from the grid, in cells, stands something else.
    const FAR: f32 = 1.6;
    /// Of nine columns; a speck or a shadow may hide the others.
    const FEWEST: usize = 7;
    /// How far the middles of shapes may lie from the common height, and the shapes' own ends from the middle of a column, in cells.
    const OFF: f32 = 0.15;
    const HALF: f32 = 0.4;
    /// Of one column: a letter, or two digits.
    const MOST: usize = 2;
    let above: Vec<&Extent> = shapes
        .iter()
        .filter(|shape| shape.bottom < 0.0 && shape.top > -FAR && shape.height() > LETTER.start && shape.left > 0.0 && shape.right < 9.0)
        .collect();
    let middle = |shape: &Extent| (shape.top + shape.bottom) / 2.0;
    above.iter().find_map(|first| {
        let row: Vec<&Extent> = above.iter().copied().filter(|shape| (middle(shape) - middle(first)).abs() < OFF).collect();
        let mut counts = [0; 9];
        for shape in &row {
            let column = ((shape.left + shape.right) / 2.0).clamp(0.0, 8.9) as usize;
            let centre = column as f32 + 0.5;
            if centre - shape.left > HALF || shape.right - centre > HALF {
                return None;
            }
            counts[column] += 1;
        }
        let named = counts.iter().filter(|&&count| (1..=MOST).contains(&count)).count();
        let extent = row.iter().fold(**first, |all, shape| all.with(shape));
        (named >= FEWEST && counts.iter().all(|&count| count <= MOST)).then_some(Headings { extent })
    })
}

/// The lines of print around a grid that may be labels by their size, nearest to it first, and the headings of its columns and rows, which are none.
pub(super) fn lines(luma: &GrayImage, around: &Surroundings) -> (Vec<Line>, Vec<Headings>) {
    let side = ((9.0 + 2.0 * MARGIN) * PITCH) as usize;
    let flat = even(&around.flatten(luma, PITCH), REACH);
    let cells = |pixel: usize| pixel as f32 / PITCH - MARGIN;
    let outside = |pixel: usize| !(-FRAME..9.0 + FRAME).contains(&(cells(pixel) + 0.5 / PITCH));
    let outside: Vec<bool> = (0..side).map(outside).collect();
    let mut ink = Vec::with_capacity(flat.len());
    for (row, &beyond) in flat.chunks_exact(side).zip(&outside) {
        ink.extend(row.iter().zip(&outside).map(|(&value, &beside)| value < INK && (beside || beyond)));
    }
    let mut shapes: Vec<Extent> = Vec::new();
    for start in 0..ink.len() {
        if ink[start] {
            shapes.extend(shape(&mut ink, side, start).map(|[left, top, right, bottom]| Extent {
                left: cells(left),
                top: cells(top),
                right: cells(right + 1),
                bottom: cells(bottom + 1),
            }));
        }
    }
    let letters = |shape: &Extent| shape.height() < LETTER.end && shape.right - shape.left < MOST_WIDE;
    // What is too wide to be read to the right may run up or down.
    let mut beside: Vec<Extent> = shapes.iter().filter(|shape| shape.right < 0.0 || shape.left > 9.0).copied().collect();
    beside.retain(|shape| letters(&shape.turned()));
    shapes.retain(letters);
    // Each side as if it were the upper one.
    let across = |extent: &Extent| Extent { left: extent.left, top: 9.0 - extent.bottom, right: extent.right, bottom: 9.0 - extent.top };
    let turned = |extent: &Extent| extent.turned();
    let turned_across = |extent: &Extent| across(&extent.turned());
    let back = |extent: &Extent| across(extent).turned();
    let same = |extent: &Extent| *extent;
    type Map<'a> = &'a dyn Fn(&Extent) -> Extent;
    let sides: [(Map, Map); 4] = [(&same, &same), (&across, &across), (&turned, &turned), (&turned_across, &back)];
    let named: Vec<Headings> = sides
        .iter()
        .filter_map(|(there, back)| {
            let headings = headings(&shapes.iter().map(there).collect::<Vec<_>>())?;
            Some(Headings { extent: back(&headings.extent) })
        })
        .collect();
    let heads = |shape: &Extent| named.iter().any(|headings| headings.has(shape));
    shapes.retain(|shape| !heads(shape));
    let beside: Vec<Extent> = beside.iter().filter(|shape| !heads(shape)).map(Extent::turned).collect();
    let rim = 0.06 - MARGIN;
    let is_line = |line: &Extent, turned: bool| {
        let least = if turned { LONG } else { SHORT };
        // What begins or ends beyond the margin is followed there (`stretch`) where it comes near the grid.
        let near = !turned && line.right > -NEAR && line.left < 9.0 + NEAR;
        let whole = (near || line.left > rim && line.right < 9.0 - rim) && line.top > rim && line.bottom < 9.0 - rim;
        let long = line.right - line.left;
        whole && LETTER.contains(&line.height()) && long < LONGEST && long > least * line.height()
    };
    let mut lines: Vec<(Extent, &[Run])> = Vec::new();
    lines.extend(join(shapes).into_iter().filter(|line| is_line(line, false)).map(|line| (line, &[Run::Right][..])));
    // Beside a grid text may be turned; which way up it stands, reading tells.
    lines.extend(join(beside).into_iter().filter(|line| is_line(line, true)).map(|line| (line.turned(), &[Run::Up, Run::Down][..])));
    lines.sort_by(|a, b| away(&a.0).total_cmp(&away(&b.0)));
    let lines_of = |(Extent { left, top, right, bottom }, runs): (Extent, &'static [Run])| {
        runs.iter().map(move |&run| Line { left, top, right, bottom, run })
    };
    (lines.into_iter().flat_map(lines_of).collect(), named)
}

/// How much speaks for a line being a label by where it stands alone, 0 to 0.6: near the grid, in line with an edge or the middle of it, and
/// not in a paragraph.
pub(super) fn worth(line: &Line, all: &[Line]) -> f32 {
    const NEAR: f32 = 1.5;
    const IN_LINE: f32 = 0.45;
    let extent = |other: &Line| {
        let extent = Extent { left: other.left, top: other.top, right: other.right, bottom: other.bottom };
        if line.run == Run::Right { extent } else { extent.turned() }
    };
    let own = extent(line);
    let at = |a: f32, b: f32| (a - b).abs() < IN_LINE;
    let beside = line.run == Run::Right && (own.right < 0.0 || own.left > 9.0);
    let in_line =
        if beside { own.top > -1.0 && own.top < 1.0 } else { at(own.left, 0.0) || at(own.right, 9.0) || at(own.left + own.right, 9.0) };
    let stacked = |other: &Line| {
        let other = extent(other);
        let apart = own.top.max(other.top) - own.bottom.min(other.bottom);
        let across = own.right.min(other.right) - own.left.max(other.left);
        apart > 0.0
            && apart < 1.2 * own.height()
            && across > 0.0
            && other.height() > 0.6 * own.height()
            && other.height() < 1.6 * own.height()
    };
    let alone = !all.iter().filter(|other| (other.run == Run::Right) == (line.run == Run::Right)).any(stacked);
    let shares = [(away(&own) < NEAR, 0.25), (in_line, 0.15), (alone, 0.2)];
    shares.iter().filter(|(holds, _)| *holds).map(|(_, share)| share).sum()
}

/// How far a line stands from the grid, in cells.
fn away(line: &Extent) -> f32 {
    let beyond = |low: f32, high: f32| (-high).max(low - 9.0).max(0.0);
    beyond(line.left, line.right).hypot(beyond(line.top, line.bottom))
}

/// Takes one shape of touching ink out of `ink`: its least and greatest column and row, inclusive. `None` for a speck.
fn shape(ink: &mut [bool], side: usize, start: usize) -> Option<[usize; 4]> {
    let mut extent = [start % side, start / side, start % side, start / side];
    let mut open = vec![start];
    ink[start] = false;
    let mut count = 0;
    while let Some(at) = open.pop() {
        count += 1;
        let (x, y) = (at % side, at / side);
        extent = [extent[0].min(x), extent[1].min(y), extent[2].max(x), extent[3].max(y)];
        for near in
            (y.saturating_sub(1)..(y + 2).min(side)).flat_map(|y| (x.saturating_sub(1)..(x + 2).min(side)).map(move |x| y * side + x))
        {
            if std::mem::take(&mut ink[near]) {
                open.push(near);
            }
        }
    }
    (count > 2).then_some(extent)
}

/// Joins shapes into lines until nothing stands next to each other any more.
fn join(mut shapes: Vec<Extent>) -> Vec<Extent> {
    // Letters before dots, so that a dot finds its line.
    shapes.sort_by(|a, b| b.height().total_cmp(&a.height()));
    let mut lines: Vec<Extent> = Vec::new();
    for shape in shapes {
        let mut line = shape;
        while let Some(at) = lines.iter().position(|other| line.continues(other)) {
            line = line.with(&lines.swap_remove(at));
        }
        lines.push(line);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plane::{Lattice, Point};

    fn extent(left: f32, top: f32, right: f32, bottom: f32) -> Extent {
        Extent { left, top, right, bottom }
    }

    #[test]
    fn letters_join_into_lines() {
        // "No. 4" with its dot, and a second line below.
        let shapes = vec![
            extent(0.0, -1.0, 0.3, -0.5),
            extent(0.35, -0.85, 0.6, -0.5),
            extent(0.65, -0.56, 0.7, -0.5),
            extent(0.95, -1.0, 1.2, -0.5),
            extent(0.0, -0.3, 0.3, 0.1),
        ];
        let mut lines = join(shapes);
        lines.sort_by(|a, b| a.top.total_cmp(&b.top));
        assert_eq!(lines, [extent(0.0, -1.0, 1.2, -0.5), extent(0.0, -0.3, 0.3, 0.1)]);
    }

    #[test]
    fn names_of_columns_are_told_from_a_title() {
        let named: Vec<Extent> = (0..9).map(|n| extent(n as f32 + 0.35, -0.6, n as f32 + 0.65, -0.2)).collect();
        let found = headings(&named).expect("names");
        assert!(found.has(&named[0]) && !found.has(&extent(0.0, -1.6, 3.0, -1.0)));
        // Two of nine aren't seen.
        assert!(headings(&named[..7]).is_some() && headings(&named[..6]).is_none());
        let title: Vec<Extent> = (0..20).map(|n| extent(n as f32 * 0.4, -0.6, n as f32 * 0.4 + 0.3, -0.2)).collect();
        assert!(headings(&title).is_none());
    }

    #[test]
    fn dark_shapes_above_a_grid_are_a_line() {
        // Cells of 20 pixels, the top left crossing at (80, 80); three bars of a digit's size stand above it.
        let corner = |x, y| Point::new(x, y);
        let lattice =
            Lattice::from_corners([corner(80.0, 80.0), corner(260.0, 80.0), corner(260.0, 260.0), corner(80.0, 260.0)]).expect("a square");
        let page = GrayImage::from_fn(340, 340, |x, y| {
            let bar = (55..65).contains(&y) && [(80..84), (88..92), (96..100)].iter().any(|columns| columns.contains(&x));
            image::Luma([if bar { 30 } else { 220 }])
        });
        let (lines, _) = lines(&page, &Surroundings::new(&lattice));
        assert_eq!(lines.len(), 1, "{lines:?}");
        let line = &lines[0];
        for (found, expected) in [(line.left, 0.0), (line.top, -1.25), (line.right, 1.0), (line.bottom, -0.75)] {
            assert!((found - expected).abs() < 0.1, "{line:?}");
        }
    }
}
