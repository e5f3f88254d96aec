//! The pattern of the givens as evidence of where givens stand.
//!
//! Setters of puzzles often place the givens so that the pattern looks the same after a half turn (common practice, no source; of the 41 puzzles on
//! the training half of the photographs, 24). Where the rest of a grid shows that plainly, a cell's partner tells whether a given stands in it. It says nothing of which.

use super::Mark;
use super::judge::{class_of, top};
use crate::classify::CLASSES;

/// How often a grid has such a pattern.
const USUAL: f64 = 0.5;
/// How often a pair breaks the pattern of a grid that has one: more often than was seen (beside those 24, one puzzle breaks two pairs of 40), so that no pattern
/// outweighs ink that is plain to see.
const BROKEN: f64 = 0.02;

/// Cells' probabilities (classes as in [`crate::classify::Evidence`]), weighed by those of their partners under a half turn. What lies over a cell says nothing of what
/// is under it. A cell that would then be read as what the picture alone gives less than `floor` stays as it is: the pattern may settle what is likely, and a person what isn't.
pub(super) fn weigh(cells: &[[f64; CLASSES]], floor: f64) -> Vec<[f64; CLASSES]> {
    let other = class_of(Mark::Other);
    let seen: Vec<f64> = cells.iter().map(|row| row[1..10].iter().sum()).collect();
    let usual = (seen.iter().sum::<f64>() / 81.0).clamp(0.05, 0.95);
    let share = |given: bool| if given { usual } else { 1.0 - usual };
    // How much likelier what a cell shows is if it holds a given (or none) than it is without knowing.
    let shows: Vec<[f64; 2]> = cells
        .iter()
        .zip(&seen)
        .map(|(row, given)| {
            let given = given + row[other] * usual;
            [(1.0 - given) / (1.0 - usual), given / usual]
        })
        .collect();
    let says = |cell: usize, given: bool| shows[cell][usize::from(given)];
    // How much likelier each pair is if the grid has the pattern, in nats.
    let alike = |cell: usize| [true, false].map(|both| share(both) * says(cell, both) * says(80 - cell, both)).iter().sum::<f64>();
    let pairs: Vec<f64> = (0..40).map(|cell| (BROKEN + (1.0 - BROKEN) * alike(cell)).ln()).collect();
    let all = (USUAL / (1.0 - USUAL)).ln() + pairs.iter().sum::<f64>();
    let mut weighed = cells.to_vec();
    for (cell, row) in weighed.iter_mut().enumerate().filter(|(cell, _)| *cell != 40) {
        // The other pairs alone say whether there is a pattern that this one keeps.
        let kept = (1.0 - BROKEN) / (1.0 + (pairs[cell.min(80 - cell)] - all).exp());
        let factor = |given: bool| kept * says(80 - cell, given) + 1.0 - kept;
        let factors = [factor(false), factor(true)];
        for (class, p) in row.iter_mut().enumerate() {
            let is_given = (1..10).contains(&class);
            *p *= if class == other { usual * factors[1] + (1.0 - usual) * factors[0] } else { factors[usize::from(is_given)] };
        }
        let total: f64 = row.iter().sum();
        row.iter_mut().for_each(|p| *p /= total);
        if cells[cell][top(row, 0..CLASSES)] < floor {
            *row = cells[cell];
        }
    }
    weighed
}

#[cfg(test)]
mod tests {
    use super::*;

    const FLOOR: f64 = 0.65;

    /// Cells of `pattern` (`#` a given), each as sure as `sure`.
    fn cells(pattern: &str, sure: f64) -> Vec<[f64; CLASSES]> {
        let row = |char: char| {
            let mut row = [0.0; CLASSES];
            (row[0], row[5]) = if char == '#' { (1.0 - sure, sure) } else { (sure, 1.0 - sure) };
            row
        };
        pattern.chars().map(row).collect()
    }

    const TURNED: &str = "#..#.#..#.#.....#...##.##..#..#.#..#....#....#..#.#..#..##.##...#.....#.#..#.#..#";
    const OTHERWISE: &str = "##.#....#.#..#..#....#.##..#....#..##...#....#..###..#..##..#...#..#..#.#..#..#.#";

    #[test]
    fn a_partner_tells_where_the_rest_has_a_pattern() {
        let mut cells = cells(TURNED, 0.999);
        (cells[3][0], cells[3][5], cells[3][14]) = (0.0, 0.7, 0.3);
        let weighed = weigh(&cells, FLOOR);
        assert!(weighed[3][5] > 0.98 && weighed[3][14] < 0.02, "{:?}", weighed[3]);
        assert!((weighed.iter().flatten().sum::<f64>() - 81.0).abs() < 1e-9);
        // What the picture leaves open stays open.
        (cells[3][5], cells[3][14]) = (0.4, 0.6);
        assert_eq!(weigh(&cells, FLOOR)[3], cells[3]);
    }

    #[test]
    fn it_says_nothing_where_the_rest_has_none() {
        let mut cells = cells(OTHERWISE, 0.999);
        (cells[3][0], cells[3][5], cells[3][14]) = (0.0, 0.7, 0.3);
        assert!((weigh(&cells, FLOOR)[3][5] - 0.7).abs() < 1e-3);
    }

    #[test]
    fn plain_ink_outweighs_a_pattern_and_what_is_covered_says_nothing() {
        let mut one_more = cells(TURNED, 0.999);
        (one_more[1][0], one_more[1][5]) = (1e-6, 1.0 - 1e-6);
        assert!(weigh(&one_more, FLOOR)[1][5] > 0.999);
        let mut covered = cells(TURNED, 0.999);
        covered[77] = [0.0; CLASSES];
        covered[77][class_of(Mark::Other)] = 1.0;
        (covered[3][0], covered[3][5], covered[3][14]) = (0.0, 0.7, 0.3);
        assert!((weigh(&covered, FLOOR)[3][5] - 0.7).abs() < 0.02);
    }
}
