//! Where lines of text that look like labels stand around a grid.

use image::GrayImage;
use ndarray::{ArrayD, IxDyn};

use super::surroundings::{Line, MARGIN, Run, Surroundings};
use crate::decode::even;
use crate::net::{NetError, Network};

/// Pixels a cell of the flattened surroundings, and their side.
const PITCH: f32 = 16.0;
const SIDE: u32 = 224;
/// How far around a pixel its light is evened, as in `scripts/label/nets.py`.
const REACH: usize = 24;
/// Pixels of the surroundings for each spot of the network's output.
const STRIDE: f32 = 4.0;
/// Spots weaker than this are no part of a line.
const WEAKEST: f32 = 0.3;
/// Spots at most so far from each other, along the line and across it, belong to one line.
const GAP: (usize, usize) = (4, 1);
/// From how many spots at its end a line's end is taken.
const END: usize = 3;

/// A line of text that may be a label.
#[derive(Clone, Copy, Debug)]
pub(super) struct Candidate {
    pub(super) line: Line,
    /// How much it looks like a label of this grid, 0 to 1.
    pub(super) seen: f32,
    /// How much ink says so, 0 to 0.6, where the line was seen by ink alone.
    pub(super) by_ink: Option<f32>,
}

/// One spot of the output that is part of a label.
struct Spot {
    row: usize,
    column: usize,
    weight: f32,
    /// Left, top, right and bottom of the label as it is seen from here, in cells.
    sides: [f32; 4],
}

/// What the network says about a grid's surroundings: for each `Run` a logit, then the distances to the label's four sides in cells,
/// `[1, 7, SIDE / 4, SIDE / 4]`.
pub(super) struct Marks(ArrayD<f32>);

const SPOTS: usize = (SIDE as f32 / STRIDE) as usize;

impl Marks {
    /// Asks the network, which takes `[1, 1, SIDE, SIDE]`.
    pub(super) fn see(network: &Network, luma: &GrayImage, around: &Surroundings) -> Result<Self, NetError> {
        let flat = even(&around.flatten(luma, PITCH), REACH);
        let side = SIDE as usize;
        let input = ArrayD::from_shape_vec(IxDyn(&[1, 1, side, side]), flat).map_err(|error| NetError::Run(error.to_string()))?;
        let output = network.run(input.view())?.into_iter().next().filter(|output| output.shape() == [1, 7, SPOTS, SPOTS]);
        output.map(Self).ok_or_else(|| NetError::Weights(format!("the label finder's output is not [1, 7, {SPOTS}, {SPOTS}]")))
    }

    fn at(&self, channel: usize, row: usize, column: usize) -> f32 {
        self.0[[0, channel, row, column].as_slice()]
    }

    /// How much the spot is part of a label that runs this way, 0 to 1.
    fn weight(&self, run: Run, row: usize, column: usize) -> f32 {
        1.0 / (1.0 + (-self.at(run as usize, row, column)).exp())
    }

    /// How much the likeliest spot of a line is part of a label, 0 to 1.
    pub(super) fn seen(&self, line: &Line) -> f32 {
        let spots = |from: f32, to: f32| {
            let index = |cells: f32| ((cells + MARGIN) * PITCH / STRIDE).clamp(0.0, SPOTS as f32 - 1.0) as usize;
            index(from)..=index(to)
        };
        let all = spots(line.top, line.bottom).flat_map(|row| spots(line.left, line.right).map(move |column| (row, column)));
        all.map(|(row, column)| self.weight(line.run, row, column)).fold(0.0, f32::max)
    }

    /// The lines that look like labels, the likeliest first.
    pub(super) fn candidates(&self) -> Vec<Candidate> {
        let mut found = Vec::new();
        for run in [Run::Right, Run::Down, Run::Up] {
            let mut marked = Vec::new();
            for (row, column) in (0..SPOTS).flat_map(|row| (0..SPOTS).map(move |column| (row, column))) {
                let weight = self.weight(run, row, column);
                if weight < WEAKEST {
                    continue;
                }
                let cells = |index: usize| (index as f32 + 0.5) * STRIDE / PITCH - MARGIN;
                let (x, y) = (cells(column), cells(row));
                let far = |side: usize| self.at(side, row, column);
                marked.push(Spot { row, column, weight, sides: [x - far(3), y - far(4), x + far(5), y + far(6)] });
            }
            found.extend(groups(marked, run).iter().filter_map(|group| candidate(group, run)));
        }
        found.sort_by(|a: &Candidate, b| b.seen.total_cmp(&a.seen));
        found
    }
}

/// Spots that belong together.
fn groups(mut spots: Vec<Spot>, run: Run) -> Vec<Vec<Spot>> {
    let (wide, tall) = if run == Run::Right { GAP } else { (GAP.1, GAP.0) };
    let mut groups = Vec::new();
    while let Some(first) = spots.pop() {
        let mut group = vec![first];
        let mut next = 0;
        while let Some(Spot { row, column, .. }) = group.get(next) {
            let near = |spot: &Spot| spot.row.abs_diff(*row) <= tall && spot.column.abs_diff(*column) <= wide;
            let (joining, rest): (Vec<_>, Vec<_>) = spots.into_iter().partition(near);
            spots = rest;
            group.extend(joining);
            next += 1;
        }
        groups.push(group);
    }
    groups
}

/// The line that a group of spots sees: its long sides as all of them see them, its ends as the spots near each end do.
fn candidate(group: &[Spot], run: Run) -> Option<Candidate> {
    let mean = |side: usize, counts: &dyn Fn(&Spot) -> bool| {
        let chosen = || group.iter().filter(|spot| counts(spot));
        chosen().map(|spot| spot.sides[side] * spot.weight).sum::<f32>() / chosen().map(|spot| spot.weight).sum::<f32>()
    };
    let along = |spot: &Spot| if run == Run::Right { spot.column } else { spot.row };
    let first = group.iter().map(along).min()?;
    let last = group.iter().map(along).max()?;
    let (all, start, end) = (|_: &Spot| true, |spot: &Spot| along(spot) < first + END, |spot: &Spot| along(spot) + END > last);
    let line = if run == Run::Right {
        Line { left: mean(0, &start), top: mean(1, &all), right: mean(2, &end), bottom: mean(3, &all), run }
    } else {
        Line { left: mean(0, &all), top: mean(1, &start), right: mean(2, &all), bottom: mean(3, &end), run }
    };
    let seen = group.iter().map(|spot| spot.weight).fold(0.0, f32::max);
    (line.height() > 0.05 && line.length() > 0.05).then_some(Candidate { line, seen, by_ink: None })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spot(row: usize, column: usize, sides: [f32; 4]) -> Spot {
        Spot { row, column, weight: 1.0, sides }
    }

    #[test]
    fn spots_of_two_lines_stay_apart() {
        let sides = [0.0, -1.0, 2.0, -0.5];
        let spots = vec![spot(8, 10, sides), spot(8, 13, sides), spot(9, 16, sides), spot(8, 30, sides), spot(12, 10, sides)];
        let mut sizes: Vec<usize> = groups(spots, Run::Right).iter().map(Vec::len).collect();
        sizes.sort_unstable();
        assert_eq!(sizes, [1, 1, 3]);
    }

    #[test]
    fn a_long_line_ends_where_its_end_is_seen() {
        // Each spot sees no farther than 1.5 cells.
        let group: Vec<Spot> =
            (0..20).map(|i| spot(5, i, [(i as f32 * 0.25 - 1.5).max(0.0), -1.0, (i as f32 * 0.25 + 1.5).min(5.0), -0.4])).collect();
        let Line { left, top, right, bottom, .. } = candidate(&group, Run::Right).expect("a line").line;
        assert!(left.abs() < 1e-5 && (right - 5.0).abs() < 1e-5 && (top + 1.0).abs() < 1e-5 && (bottom + 0.4).abs() < 1e-5);
    }
}
