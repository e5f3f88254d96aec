//! Finds slips of coloured paper that lie over cells, by their colour alone: where a grid has no lines within its boxes, a slip hides none.

use crate::cut::{Light, least};

/// A slip hides so many cells of one row or column at most; more of one colour are a tint.
const LONGEST: usize = 4;
/// By how much it differs from the paper around it: in steps of 8 bits, and in steps of the grid's usual difference, taken as `USUAL` steps of 8 bits at least.
const DIFFERS: f32 = 4.0;
const STANDS_OUT: f32 = 6.0;
const USUAL: f32 = 0.5;
/// How many times as far as any other cell's its colour is off.
const ALONE: f32 = 2.0;

/// The cells that a slip lies over, one at most: few cells beside each other, all `bare`, of another colour than the paper around them while nothing else in the grid
/// is. On 3,120 drawn pages of all levels it tells 48 of 173 grids with up to four covered cells (the others under fingers, pens, white paper or glare) and 5 of 5,118
/// others, with one tinted row and writing in colour.
pub(super) fn slip(light: &[Light], bare: impl Fn(usize) -> bool) -> [bool; 81] {
    let off = colours_off(light);
    let stands_out = |n: usize| off[n][0] > DIFFERS && off[n][1] > STANDS_OUT && bare(n);
    let under: Vec<usize> = (0..81).filter(|&n| stands_out(n)).collect();
    let nearest = under.iter().map(|&n| off[n][1]).fold(f32::INFINITY, f32::min);
    let most = (0..81).filter(|n| !under.contains(n)).map(|n| off[n][1]).fold(0.0_f32, f32::max);
    let is_slip = (1..=LONGEST).contains(&under.len()) && in_a_line(&under) && nearest > ALONE * most;
    std::array::from_fn(|n| is_slip && under.contains(&n))
}

/// Whether cells in rising order lie side by side in a row or column.
fn in_a_line(cells: &[usize]) -> bool {
    let step = |by: usize| cells.windows(2).all(|pair| pair[1] - pair[0] == by);
    step(9) || step(1) && cells.iter().all(|n| n / 9 == cells[0] / 9)
}

/// For each cell how far its colour is from the median of the five by five cells around it: in steps of 8 bits, and in steps of the usual difference.
fn colours_off(light: &[Light]) -> [[f32; 2]; 81] {
    let median = |values: &[f32]| least(values, values.len() / 2);
    let near = |n: usize| (0..81_usize).filter(move |m| (m / 9).abs_diff(n / 9) < 3 && (m % 9).abs_diff(n % 9) < 3);
    let off: [[f32; 81]; 2] = [0, 1]
        .map(|axis| std::array::from_fn(|n| light[n].colour[axis] - median(&near(n).map(|m| light[m].colour[axis]).collect::<Vec<f32>>())));
    let usual = off.map(|off| 1.48 * median(&off.map(f32::abs))).map(|usual| usual.max(USUAL));
    std::array::from_fn(|n| [off[0][n].hypot(off[1][n]), (off[0][n] / usual[0]).hypot(off[1][n] / usual[1])])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Paper that turns warmer to the right, with some cells coloured otherwise.
    fn lit(other: &[usize]) -> Vec<Light> {
        let light = |n: usize| Light {
            colour: [(n % 9) as f32 + if other.contains(&n) { 20.0 } else { 0.0 }, (n * 7 % 5) as f32 * 0.2],
            ..Light::default()
        };
        (0..81).map(light).collect()
    }

    fn told(other: &[usize]) -> Vec<usize> {
        let under = slip(&lit(other), |_| true);
        (0..81).filter(|&n| under[n]).collect()
    }

    #[test]
    fn a_slip_is_told_wherever_it_lies() {
        for cells in [&[0][..], &[40], &[5, 6], &[7, 16, 25], &[77, 78, 79, 80], &[53, 62, 71, 80]] {
            assert_eq!(told(cells), cells);
        }
    }

    #[test]
    fn tints_and_shades_are_none() {
        assert!(told(&[]).is_empty());
        assert!(told(&[8, 9]).is_empty(), "the end of one row and the beginning of the next");
        assert!(told(&[10, 16, 64, 70]).is_empty(), "cells apart");
        assert!(told(&[30, 31, 32, 39, 40, 41, 48, 49, 50]).is_empty(), "a box");
        assert!(slip(&lit(&[40]), |n| n != 40).iter().all(|under| !under), "a given stands on it");
    }
}
