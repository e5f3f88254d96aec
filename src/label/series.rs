//! The labels of one page in the light of each other: their numbers mostly run on from grid to grid, and they are worded alike.

use crate::plane::{Lattice, Point};

/// One label that a grid may have.
#[derive(Clone, Debug)]
pub(super) struct Possible {
    pub(super) said: String,
    pub(super) probability: f32,
    pub(super) place: [f32; 4],
}

/// Numbers that a label may have: how little it says that one fits by accident.
const NUMBERS: f64 = 1000.0;
/// The share of labels that stand out of their page's run or wording.
const ODD: f64 = 0.1;
/// The grids of a page, printed and photographed alike, are misread alike: each counts for less than a witness of its own.
const WITNESS: f64 = 0.7;
/// Grids whose middles differ by less than this, in grids, stand in one row.
const ROW: f32 = 0.5;

/// Weighs what each grid's label may be (probabilities of one grid's sum to 1 at most; the rest is that it has none of these) by those of the other grids.
pub(super) fn settle(possible: &mut [Vec<Possible>], lattices: &[&Lattice]) {
    if possible.len() > 1 {
        by_numbers(possible, lattices);
        by_manner(possible);
    }
}

/// A run of numbers over the page: that of the first grid, and each grid's rank.
struct Series<'a> {
    start: i64,
    ranks: &'a [i64],
    /// Log of how much likelier it makes what was read than no run at all does.
    gain: f64,
}

/// Bayes' rule over all runs that some reading fits, and none: in a run nearly every grid has its number, without one any number is as likely.
fn by_numbers(possible: &mut [Vec<Possible>], lattices: &[&Lattice]) {
    let orders = reading_orders(lattices);
    let numbers: Vec<Vec<Vec<i64>>> = possible.iter().map(|grid| grid.iter().map(|label| numbers(&label.said)).collect()).collect();
    let mut all: Vec<Series> = Vec::new();
    for ranks in &orders {
        let mut starts: Vec<i64> =
            numbers.iter().zip(ranks).flat_map(|(grid, rank)| grid.iter().flatten().map(move |number| number - rank)).collect();
        starts.sort_unstable();
        starts.dedup();
        for start in starts {
            let fitting = |grid: usize| {
                let labels = possible[grid].iter().zip(&numbers[grid]);
                labels.filter(|(_, numbers)| numbers.contains(&(start + ranks[grid]))).map(|(label, _)| f64::from(label.probability)).sum()
            };
            let gain = |fitting: f64| WITNESS * ((1.0 - ODD) * NUMBERS * fitting + ODD).ln();
            let gains: f64 = (0..possible.len()).map(|grid| gain(fitting(grid))).sum();
            all.push(Series { start, ranks, gain: gains - (NUMBERS * orders.len() as f64).ln() });
        }
    }
    let most = all.iter().map(|series| series.gain).fold(0.0, f64::max);
    let sum = (-most).exp() + all.iter().map(|series| (series.gain - most).exp()).sum::<f64>();
    let none = (-most).exp() / sum;
    for (grid, labels) in possible.iter_mut().enumerate() {
        let weight = |numbers: Option<&Vec<i64>>| {
            let in_series = |series: &Series| {
                let fits = numbers.is_some_and(|numbers| numbers.contains(&(series.start + series.ranks[grid])));
                (series.gain - most).exp() / sum * (ODD + if fits { (1.0 - ODD) * NUMBERS } else { 0.0 })
            };
            none + all.iter().map(in_series).sum::<f64>()
        };
        let weights: Vec<f64> = (0..labels.len()).map(|i| weight(numbers[grid].get(i))).collect();
        reweigh(labels, &weights, weight(None));
    }
}

/// Labels of one page are worded alike ("No. 7", "No. 8"), and a page without labels has none at any grid.
fn by_manner(possible: &mut [Vec<Possible>]) {
    let manners: Vec<Vec<String>> = possible.iter().map(|grid| grid.iter().map(|label| manner(&label.said)).collect()).collect();
    let mut known: Vec<&String> = manners.iter().flatten().collect();
    known.sort_unstable();
    known.dedup();
    let of_page = |wanted: &String| -> f64 {
        let of_grid = |(labels, manners): (&Vec<Possible>, &Vec<String>)| {
            let alike = labels.iter().zip(manners).filter(|(_, manner)| *manner == wanted);
            let share: f64 = alike.map(|(label, _)| f64::from(label.probability)).sum();
            ((1.0 - ODD) * share + ODD).ln()
        };
        possible.iter().zip(&manners).map(of_grid).sum()
    };
    let gains: Vec<f64> = known.iter().map(|manner| of_page(manner)).collect();
    let most = gains.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let sum: f64 = gains.iter().map(|gain| (gain - most).exp()).sum();
    for (labels, manners) in possible.iter_mut().zip(&manners) {
        let share = |manner: &String| known.binary_search(&manner).map_or(0.0, |i| (gains[i] - most).exp() / sum);
        let weights: Vec<f64> = manners.iter().map(|manner| ODD + (1.0 - ODD) * share(manner)).collect();
        reweigh(labels, &weights, 0.5);
    }
}

/// Multiplies the probabilities by their weights and what they leave by `rest`, so that all together are 1 again.
fn reweigh(labels: &mut [Possible], weights: &[f64], rest: f64) {
    let left = (1.0 - labels.iter().map(|label| f64::from(label.probability)).sum::<f64>()).max(0.0) * rest;
    let all: f64 = left + labels.iter().zip(weights).map(|(label, weight)| f64::from(label.probability) * weight).sum::<f64>();
    if all > 0.0 {
        labels.iter_mut().zip(weights).for_each(|(label, weight)| label.probability = (f64::from(label.probability) * weight / all) as f32);
    }
}

/// The last and the first number in a text: one of them tells the grid, the other, if there are two, how hard it is.
fn numbers(text: &str) -> Vec<i64> {
    let runs = text.split(|c: char| !c.is_ascii_digit()).filter(|run| !run.is_empty());
    let all: Vec<i64> = runs.filter_map(|run| run.parse().ok()).collect();
    let mut ends: Vec<i64> = all.last().into_iter().chain(all.first()).copied().collect();
    ends.dedup();
    ends
}

/// A text with its numbers, single letters and words left open, "No" and its like aside, and without blanks.
fn manner(text: &str) -> String {
    let mut manner = String::new();
    let mut rest: Vec<char> = text.chars().filter(|c| !c.is_whitespace()).collect();
    while let Some(&first) = rest.first() {
        let run = |is: fn(char) -> bool| rest.iter().take_while(|c| is(**c)).count();
        let long = if first.is_ascii_digit() {
            manner.push('9');
            run(|c| c.is_ascii_digit())
        } else if first.is_alphabetic() && first != 'º' {
            let long = run(|c| c.is_alphabetic() && c != 'º');
            let word = rest[..long].iter().collect::<String>().to_lowercase();
            manner += match word.as_str() {
                "no" | "nr" | "n" => &word,
                _ if long == 1 => "A",
                _ => "w",
            };
            long
        } else {
            manner.push(first);
            1
        };
        rest.drain(..long);
    }
    manner
}

/// The ranks of the grids in the orders in which they may be numbered: row by row, and column by column.
fn reading_orders(lattices: &[&Lattice]) -> [Vec<i64>; 2] {
    let count = lattices.len().max(1) as f32;
    let mean = |vector: fn(&Lattice) -> Point| {
        let sum = lattices.iter().map(|lattice| vector(lattice)).fold(Point::default(), |a, b| Point::new(a.x + b.x, a.y + b.y));
        Point::new(sum.x / count, sum.y / count)
    };
    let side = |from: Point, to: Point| Point::new(to.x - from.x, to.y - from.y);
    let axes = [mean(|lattice| lattice.points[0][0].toward(lattice.points[0][9], 1.0)), mean(|lattice| lattice.points[0][0])];
    let across = side(axes[1], axes[0]);
    let down = side(axes[1], mean(|lattice| lattice.points[9][0]));
    let along = |axis: Point| -> Vec<f32> {
        let long = axis.dot(axis).max(1.0);
        lattices.iter().map(|lattice| lattice.points[4][4].toward(lattice.points[5][5], 0.5).dot(axis) / long).collect()
    };
    let (x, y) = (along(across), along(down));
    [ranks(&y, &x), ranks(&x, &y)]
}

/// The rank of each grid where rows go by `level` and `place` tells the place in a row, both in grids.
fn ranks(level: &[f32], place: &[f32]) -> Vec<i64> {
    let mut by_level: Vec<usize> = (0..level.len()).collect();
    by_level.sort_by(|&a, &b| level[a].total_cmp(&level[b]));
    let mut rows: Vec<Vec<usize>> = Vec::new();
    for grid in by_level {
        match rows.last_mut() {
            Some(row) if level[grid] - row.iter().map(|&other| level[other]).sum::<f32>() / row.len() as f32 <= ROW => row.push(grid),
            _ => rows.push(vec![grid]),
        }
    }
    let mut ranks = vec![0; level.len()];
    let mut next = 0;
    for row in &mut rows {
        row.sort_by(|&a, &b| place[a].total_cmp(&place[b]));
        for &grid in row.iter() {
            ranks[grid] = next;
            next += 1;
        }
    }
    ranks
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Grids of 90 pixels, two in a row.
    fn page(count: usize) -> Vec<Lattice> {
        let square = |i: usize| {
            let (x, y) = ((i % 2) as f32 * 150.0, (i / 2) as f32 * 150.0);
            Lattice::from_corners([Point::new(x, y), Point::new(x + 90.0, y), Point::new(x + 90.0, y + 90.0), Point::new(x, y + 90.0)])
        };
        (0..count).filter_map(square).collect()
    }

    fn settled(page: &[Lattice], grids: &[&[(&str, f32)]]) -> Vec<Vec<f32>> {
        let possible = |&(said, probability): &(&str, f32)| Possible { said: said.into(), probability, place: [0.0; 4] };
        let mut all: Vec<Vec<Possible>> = grids.iter().map(|grid| grid.iter().map(possible).collect()).collect();
        settle(&mut all, &page.iter().collect::<Vec<_>>());
        all.iter().map(|grid| grid.iter().map(|label| label.probability).collect()).collect()
    }

    #[test]
    fn a_number_gains_by_the_run_it_is_in() {
        let run: [&[(&str, f32)]; 4] = [&[("17", 0.9)], &[("13", 0.5), ("18", 0.3)], &[("19", 0.9)], &[("20", 0.4), ("26", 0.4)]];
        let after = settled(&page(4), &run);
        assert!(after[1][1] > 0.9 && after[1][0] < 0.1 && after[3][0] > 0.9, "{after:?}");
        // Down the columns as well.
        let run: [&[(&str, f32)]; 4] = [&[("17", 0.9)], &[("13", 0.5), ("19", 0.3)], &[("18", 0.9)], &[("20", 0.8)]];
        assert!(settled(&page(4), &run)[1][1] > 0.9);
    }

    #[test]
    fn numbers_without_a_run_stay() {
        let after = settled(&page(3), &[&[("17", 0.9)], &[("244", 0.9), ("18", 0.0001)], &[("3", 0.9)]]);
        assert!(after.iter().all(|grid| grid[0] > 0.85), "{after:?}");
    }

    #[test]
    fn labels_of_a_page_are_worded_alike() {
        let after = settled(&page(2), &[&[("Puzzle - easy", 0.9)], &[("Game hard", 0.5), ("Game - hard", 0.4)]]);
        assert!(after[1][1] > after[1][0], "{after:?}");
        assert_eq!(["No. 7", "B-42", "Level 4 192", "n° 7"].map(manner), ["no.9", "A-9", "w9", "n°9"]);
    }
}
