//! Boxes that stand apart, each with lines of its own.

use image::GrayImage;

use super::refine::{Ridge, Ridges, across, against_paper, offset};
use crate::plane::{Lattice, Point};

/// How far the boxes stand apart, in cells: 0 where one line divides them. Where two do, the ridges of those lines are put in the middle between both.
pub(super) fn set_apart(luma: &GrayImage, lattice: &Lattice, (rows, columns): &mut Ridges) -> f32 {
    /// Of nine segments; digits or a fold may hide the others.
    const FEWEST: usize = 6;
    /// The widest gap over the narrowest.
    const ALIKE: f32 = 1.5;
    /// Of a line within boxes so many segments may seem to have two, by digits or tints near it.
    const MOST: usize = 3;
    let p = &lattice.points;
    let pairs = |line: usize, is_row: bool| -> [Option<(f32, Ridge)>; 9] {
        std::array::from_fn(|i| if is_row { pair(luma, p[line][i], p[line][i + 1]) } else { pair(luma, p[i][line], p[i + 1][line]) })
    };
    let mut gaps = Vec::with_capacity(4);
    let mut lines = Vec::with_capacity(4);
    for (line, is_row) in [(3, true), (6, true), (3, false), (6, false)] {
        let pairs = pairs(line, is_row);
        let mut widths: Vec<f32> = pairs.iter().flatten().map(|(width, _)| *width).collect();
        if widths.len() < FEWEST {
            return 0.0;
        }
        widths.sort_by(f32::total_cmp);
        gaps.push(widths[widths.len() / 2]);
        lines.push((line, is_row, pairs));
    }
    gaps.sort_by(f32::total_cmp);
    // Cells may be tiles, all of them apart.
    let within = || [(1, true), (4, true), (7, true), (2, false), (5, false), (8, false)].into_iter();
    if gaps[3] > ALIKE * gaps[0] || within().any(|(line, is_row)| pairs(line, is_row).iter().flatten().count() > MOST) {
        return 0.0;
    }
    for (line, is_row, pairs) in lines {
        let own = if is_row { &mut rows[line] } else { &mut columns[line] };
        // A segment of which the pair isn't seen says nothing of where the line lies.
        *own = pairs.map(|pair| pair.map_or(Ridge::default(), |(_, ridge)| ridge));
    }
    (gaps[1] + gaps[2]) / 2.0
}

/// Two lines on both sides of a segment with paper between them: how far apart they are, in cells, and the ridge that stands for both.
fn pair(luma: &GrayImage, from: Point, to: Point) -> Option<(f32, Ridge)> {
    /// How far to each side of a segment the lines are looked for, and the least and the most that lies between them, in cells: boxes nearer to each other have a double line.
    const REACH: f32 = 0.5;
    const GAP: std::ops::Range<f32> = 0.12..0.7;
    const SAMPLES: usize = 41;
    /// How far the middle between them may lie from the segment, as a share of that: a line with a digit beside it lies on the segment itself.
    const OFF: f32 = 0.3;
    /// Lines are at least so dark, and what lies halfway between them is at most such a share of that.
    const LEAST: f32 = 0.08;
    const CLEAR: f32 = 0.35;
    /// Of nine places along a segment a line is as dark as told at all but two: the stroke of a digit isn't.
    const SHOWN: usize = 6;
    let length = to.distance(from).max(1e-3);
    let reach = REACH * length;
    let offset = |i: usize| offset::<SAMPLES>(i, reach);
    let (paper, darkness) = against_paper(&across::<SAMPLES>(luma, from, to, reach)[SHOWN]);
    let peak = |range: std::ops::Range<usize>| range.max_by(|&a, &b| darkness[a].total_cmp(&darkness[b])).unwrap_or(SAMPLES / 2);
    // The place near the segment that parts two lines best.
    const MIDDLE: usize = SAMPLES / 2;
    const NEAR: usize = SAMPLES / 8;
    let parts = |at: usize| (peak(0..at), peak(at + 1..SAMPLES));
    let stand_out = |&(before, behind): &(usize, usize)| darkness[before].min(darkness[behind]) - darkness[(before + behind) / 2];
    let (before, behind) = (MIDDLE - NEAR..=MIDDLE + NEAR).map(parts).max_by(|a, b| stand_out(a).total_cmp(&stand_out(b)))?;
    let least = darkness[before].min(darkness[behind]);
    let width = (offset(behind) - offset(before)) / length;
    let middle = (offset(before) + offset(behind)) / 2.0;
    let is_pair = least > LEAST
        && darkness[(before + behind) / 2] < CLEAR * least
        && GAP.contains(&width)
        && middle.abs() < OFF * width * length
        && before > 0
        && behind < SAMPLES - 1;
    let ridge = Ridge { offset: middle, middle, depth: least, step: least * paper, alone: least, ink: 0.0 };
    is_pair.then_some((width, ridge))
}
