//! How likely a line near a grid is its label, and how likely it says what was read.
//!
//! Two logistic regressions whose weights `scripts/label/fit_choice.py` prints, fitted to lines near the grids of drawn pages.

use super::gather::{Gathered, SHARED, shared};
use super::place::Candidate;
use super::surroundings::{Line, Run};
use super::wording::{Wording, is_dressed, is_named};

/// What speaks for a line being its grid's label, in the order of `LINE`.
pub(super) type LineEvidence = [f32; 18];
/// What speaks for its likeliest reading, in the order of `READING`.
pub(super) type ReadingEvidence = [f32; 6];

/// Weights of a line's evidence, and the constant.
const LINE: ([f32; 18], f32) =
    ([2.91, 2.76, 0.53, -0.54, 1.51, -1.42, -0.07, 0.45, 2.49, 1.84, 1.03, 1.55, -1.60, 0.75, -7.94, -2.04, 0.79, 1.92], -2.67);
/// Weights of a reading's evidence, and the constant.
const READING: ([f32; 6], f32) = ([3.09, 1.36, 0.00, -0.23, -0.75, -2.66], 6.31);
/// Lines at the same place by their grids lie no farther apart than this, in cells.
const SAME_PLACE: f32 = 0.6;
/// A line this near to a grid's corner or to the middle of its side, in cells, is in line with it.
const IN_LINE: f32 = 0.45;
/// A line of which more than this lies outside the picture is cut by its edge.
const CUT: f32 = 0.1;
/// What the network sees less of than this, it doesn't see.
const LEAST_SEEN: f32 = 0.02;
/// Farther from its grid than this, in cells, all lines are as far.
const FAR: f32 = 2.5;
/// Log probabilities of a character below this are as bad.
const WORST: f32 = -2.0;

/// What speaks for a line being its grid's label: how much the network says so, what ink says, what it says (a number, a single character, a title,
/// unknown words), how far it is, whether in line with the grid, what stands at that place by the page's `count` grids, how well it can be read, how it runs,
/// who saw it, what stands beside its number, whether it stands by another grid, whether the picture cuts it, again how much the network says so, as a logarithm, and whether it
/// says of itself that it is a puzzle's number.
pub(super) fn of_line(line: &Gathered, all: &[Gathered], count: usize) -> LineEvidence {
    let first = &line.told[0];
    let length = first.close().chars().count();
    let is = |holds: bool| f32::from(u8::from(holds));
    let single = first.kind == Wording::Number && length == 1;
    [
        line.seen,
        line.by_ink.unwrap_or(0.0),
        is(first.kind == Wording::Number && !single),
        is(single),
        is(first.kind == Wording::Title),
        is(first.kind == Wording::Words),
        away(&first.line).min(FAR),
        is(in_line(&first.line)),
        company(line.grid, &first.line, all.iter().map(|other| (other.grid, &other.told[0].line, other.seen)), count),
        a_character(first.seen, length),
        is(first.line.run != Run::Right),
        is(line.marked),
        is(line.marked && line.by_ink.is_some()),
        is(first.graded || is_dressed(&first.said)),
        nearer_another(line, all),
        line.outside.min(CUT) / CUT,
        line.seen.max(LEAST_SEEN).ln(),
        is(is_named(&first.said)),
    ]
}

/// The most that [`is_label`] can say of the line with these cuts, each with its grid, whatever is read of it, on a page of `count` grids. `all` are the cuts of
/// all lines.
pub(super) fn at_most(cuts: &[&(usize, Candidate)], all: &[(usize, Candidate)], count: usize) -> f32 {
    // The most or the least of all cuts, whichever speaks more for it.
    let best = |which: usize, of: &dyn Fn(&(usize, Candidate)) -> f32| {
        let values = cuts.iter().map(|cut| of(cut));
        if LINE.0[which] > 0.0 { values.fold(f32::NEG_INFINITY, f32::max) } else { values.fold(f32::INFINITY, f32::min) }
    };
    let is = |holds: bool| f32::from(u8::from(holds));
    let others = all.iter().map(|(grid, cut)| (*grid, &cut.line, cut.seen));
    // What is left at 0 speaks against a line; what reading tells may speak for it.
    let mut evidence = LineEvidence::default();
    evidence[12] = is(LINE.0[12] > 0.0);
    evidence[0] = best(0, &|(_, cut)| cut.seen);
    evidence[1] = best(1, &|(_, cut)| cut.by_ink.unwrap_or(0.0));
    evidence[6] = best(6, &|(_, cut)| away(&cut.line).min(FAR));
    evidence[7] = best(7, &|(_, cut)| is(in_line(&cut.line)));
    evidence[8] = best(8, &|(grid, cut)| company(*grid, &cut.line, others.clone(), count));
    evidence[10] = best(10, &|(_, cut)| is(cut.line.run != Run::Right));
    evidence[11] = best(11, &|(_, cut)| is(cut.by_ink.is_none()));
    evidence[16] = evidence[0].max(LEAST_SEEN).ln();
    let of_kind = |kind: usize| {
        let mut evidence = evidence;
        evidence[kind] = 1.0;
        // What stands beside a number.
        [13, 17].into_iter().for_each(|beside: usize| evidence[beside] = is(kind < 4 && LINE.0[beside] > 0.0));
        is_label(&evidence)
    };
    (2..6).map(of_kind).fold(0.0, f32::max)
}

/// What speaks for a line's likeliest reading: its probability among the others, how well its characters can be read, how many of its cuts agree, its wording, and
/// how much of the line it is.
pub(super) fn of_reading(line: &Gathered) -> ReadingEvidence {
    let first = &line.told[0];
    let is = |holds: bool| f32::from(u8::from(holds));
    [
        first.sure.min(-1e-3),
        a_character(first.seen, first.close().chars().count()),
        first.agreed,
        is(first.kind == Wording::Title),
        is(first.kind == Wording::Words),
        first.cover,
    ]
}

/// The probability that a line is its grid's label.
pub(super) fn is_label(evidence: &LineEvidence) -> f32 {
    logistic(evidence, &LINE.0, LINE.1)
}

/// The probability that a line says its likeliest reading.
pub(super) fn is_right(evidence: &ReadingEvidence) -> f32 {
    logistic(evidence, &READING.0, READING.1)
}

fn logistic(evidence: &[f32], weights: &[f32], constant: f32) -> f32 {
    let sum: f32 = evidence.iter().zip(weights).map(|(value, weight)| value * weight).sum();
    1.0 / (1.0 + (-sum - constant).exp())
}

/// Log probability of a text for each of its characters.
fn a_character(log: f32, length: usize) -> f32 {
    (log / length.max(1) as f32).max(WORST)
}

/// How far a line stands from its grid, in cells.
fn away(line: &Line) -> f32 {
    let beyond = |low: f32, high: f32| (-high).max(low - 9.0).max(0.0);
    beyond(line.left, line.right).hypot(beyond(line.top, line.bottom))
}

/// Whether a line beside its grid stands by its top, or one above or below it at an end or in the middle.
fn in_line(line: &Line) -> bool {
    let at = |a: f32, b: f32| (a - b).abs() < IN_LINE;
    if line.right < 0.0 || line.left > 9.0 {
        line.top.abs() < 1.0
    } else {
        at(line.left, 0.0) || at(line.right, 9.0) || at(line.left + line.right, 9.0)
    }
}

/// How much lines at the same place by the other of `count` grids look like labels, 0 to 1, in the mean. `all` are lines with the number of their grid and how
/// much each looks so.
fn company<'a>(own: usize, line: &Line, all: impl Iterator<Item = (usize, &'a Line, f32)> + Clone, count: usize) -> f32 {
    let there = |grid: usize| {
        let lines = all.clone().filter(|(other, place, _)| *other == grid && same_place(line, place));
        lines.map(|(_, _, seen)| seen).fold(0.0, f32::max)
    };
    (0..count).filter(|&grid| grid != own).map(there).sum::<f32>() / count.saturating_sub(1).max(1) as f32
}

/// How much nearer the line is to another grid by which it was seen, in cells, `FAR` at most.
fn nearer_another(line: &Gathered, all: &[Gathered]) -> f32 {
    let same = |other: &&Gathered| other.grid != line.grid && shared(other.told[0].place, line.told[0].place) > SHARED;
    let least = all.iter().filter(same).map(|other| away(&other.told[0].line)).fold(f32::INFINITY, f32::min);
    (away(&line.told[0].line) - least).clamp(0.0, FAR)
}

/// Whether two lines stand at the same place, each by its own grid: on one side, and there at the same end or in the middle.
fn same_place(a: &Line, b: &Line) -> bool {
    let near = |a: f32, b: f32| (a - b).abs() < SAME_PLACE;
    let level = near(a.top, b.top) || near(a.bottom, b.bottom);
    let upright = near(a.left, b.left) || near(a.right, b.right) || near(a.left + a.right, b.left + b.right);
    a.run == b.run && level && upright
}

#[cfg(test)]
mod tests {
    use super::super::gather::gather;
    use super::super::gather::tests::line;
    use super::*;

    #[test]
    fn lines_at_the_same_place_keep_company() {
        let lines =
            [line(0, &[("17", 1.0)], -1.0, 90.0, 0.9), line(1, &[("18", 1.0)], -1.0, 190.0, 0.5), line(2, &[("19", 1.0)], 9.5, 390.0, 0.8)];
        let all = gather(lines.to_vec());
        let of = |grid: usize| all.iter().find(|line| line.grid == grid).map_or(f32::NAN, |line| of_line(line, &all, 3)[8]);
        assert_eq!([of(0), of(1), of(2)], [0.25, 0.45, 0.0]);
    }

    #[test]
    fn a_line_nearer_to_another_grid_or_cut_by_the_picture_is_less_likely() {
        let far = gather(vec![line(0, &[("17", 1.0)], 10.0, 190.0, 0.9), line(1, &[("17", 1.0)], -0.7, 190.0, 0.9)]);
        let of = |grid: usize| far.iter().find(|line| line.grid == grid).map_or(f32::NAN, |line| nearer_another(line, &far));
        assert!((of(0) - 0.8).abs() < 1e-5 && of(1) == 0.0, "{} {}", of(0), of(1));
        let whole = line(0, &[("17", 1.0)], -1.0, 90.0, 0.9);
        let label = |line: super::super::gather::Line| {
            let all = gather(vec![line]);
            is_label(&of_line(&all[0], &all, 1))
        };
        assert!(label(super::super::gather::Line { outside: 0.5, ..whole.clone() }) < label(whole));
    }

    #[test]
    fn what_is_seen_near_the_grid_and_read_well_is_likelier() {
        let clear = gather(vec![line(0, &[("17", 1.0)], -1.0, 90.0, 0.95)]);
        let faint = gather(vec![line(0, &[("17", 0.2), ("77", 0.2)], -2.4, 70.0, 0.35)]);
        let label = |all: &[Gathered]| is_label(&of_line(&all[0], all, 1));
        let right = |all: &[Gathered]| is_right(&of_reading(&all[0]));
        assert!(label(&clear) > 0.8 && label(&faint) < label(&clear) - 0.2, "{} {}", label(&clear), label(&faint));
        assert!(right(&clear) > 0.9 && right(&faint) < right(&clear) - 0.2, "{} {}", right(&clear), right(&faint));
    }
}
