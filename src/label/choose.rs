//! Which of the lines near the grids of a page are their labels.

use super::Label;
use super::gather::{Gathered, SHARED, shared};
use super::series::{Possible, settle};
use super::weigh;
use super::wording::Wording;
use crate::plane::Lattice;

/// A label less likely than this is none: a wrong one is worse.
const SURE: f32 = 0.5;
/// Readings of a line that are weighed, beside the likeliest.
const OTHERS: usize = 9;
/// The share of what isn't the likeliest reading that goes to the others; the rest is something that nobody read.
const OTHERS_SHARE: f32 = 0.8;
/// What the lines of one grid together are at most, and what one of them is taken for at most where they are held against each other.
const ALL: f32 = 0.999;

/// A label for each of the grids: the likeliest first, a line for one grid only.
pub(super) fn choose(lines: &[Gathered], lattices: &[&Lattice]) -> Vec<Option<Label>> {
    let mut possible: Vec<Vec<Possible>> = vec![Vec::new(); lattices.len()];
    let mut labels_of: Vec<Vec<Vec<Possible>>> = vec![Vec::new(); lattices.len()];
    for line in lines.iter().filter(|line| line.told[0].kind != Wording::None) {
        labels_of[line.grid].push(readings(line, lines, lattices.len()));
    }
    for (possible, mut lines) in possible.iter_mut().zip(labels_of) {
        exclude_each_other(&mut lines);
        possible.extend(lines.into_iter().flatten());
    }
    settle(&mut possible, lattices);
    let mut likely: Vec<(usize, &Possible)> =
        possible.iter().enumerate().flat_map(|(grid, labels)| sure_ones(labels).map(move |label| (grid, label))).collect();
    likely.sort_by(|a, b| b.1.probability.total_cmp(&a.1.probability));
    let mut labels: Vec<Option<Label>> = vec![None; lattices.len()];
    for (grid, Possible { said, probability, place }) in likely {
        let taken = labels.iter().flatten().any(|label| shared(label.place, *place) > SHARED);
        if labels[grid].is_none() && !taken {
            labels[grid] = Some(Label { text: said.clone(), place: *place, confidence: *probability });
        }
    }
    labels
}

/// The labels of one grid that are likely enough, each together with those that have the same letters and digits: of two ways to read a label that differ in
/// a point the likelier one helps more than none.
fn sure_ones(labels: &[Possible]) -> impl Iterator<Item = &Possible> {
    let letters: Vec<String> = labels.iter().map(|label| label.said.chars().filter(|c| c.is_alphanumeric()).collect()).collect();
    let of =
        |wanted: &String| labels.iter().zip(&letters).filter(|(_, own)| *own == wanted).map(|(label, _)| label.probability).sum::<f32>();
    let sums: Vec<f32> = letters.iter().map(of).collect();
    labels.iter().zip(sums).filter(|(_, sum)| *sum >= SURE).map(|(label, _)| label)
}

/// Of several lines only one is their grid's label: where they can't all be as likely as they look, each alone, they are by their odds. A line that is
/// surely a label so keeps most beside one that may be the next grid's.
fn exclude_each_other(lines: &mut [Vec<Possible>]) {
    let alone: Vec<f32> = lines.iter().map(|labels| labels.iter().map(|label| label.probability).sum()).collect();
    if alone.iter().sum::<f32>() <= ALL {
        return;
    }
    let odds = |alone: &f32| alone.min(ALL) / (1.0 - alone.min(ALL));
    let all = 1.0 + alone.iter().map(odds).sum::<f32>();
    for (labels, alone) in lines.iter_mut().zip(&alone) {
        let share = odds(alone) / all / alone.max(f32::MIN_POSITIVE);
        labels.iter_mut().for_each(|label| label.probability *= share);
    }
}

/// What a line may say, with the probabilities that it is its grid's label and says so.
fn readings(line: &Gathered, all: &[Gathered], count: usize) -> Vec<Possible> {
    let is_label = weigh::is_label(&weigh::of_line(line, all, count));
    let is_right = weigh::is_right(&weigh::of_reading(line));
    let first = line.told[0].sure.exp();
    // The others as likely beside the first as they were read, but no more than it leaves.
    let others = OTHERS_SHARE * (is_right / first).min((1.0 - is_right) / (1.0 - first).max(1e-6));
    let shares = std::iter::once(is_right).chain(line.told.iter().skip(1).take(OTHERS).map(|told| told.sure.exp() * others));
    let labels = line.told.iter().zip(shares).filter(|(told, _)| told.kind != Wording::None);
    labels.map(|(told, share)| Possible { said: told.said.clone(), probability: is_label * share, place: told.place }).collect()
}

#[cfg(test)]
mod tests {
    use super::super::gather::gather;
    use super::super::gather::tests::line;
    use super::*;
    use crate::plane::Point;

    /// Grids of 90 pixels, one below the other.
    fn page(count: usize) -> Vec<Lattice> {
        let square = |i: usize| {
            let y = 100.0 + i as f32 * 100.0;
            Lattice::from_corners([Point::new(0.0, y), Point::new(90.0, y), Point::new(90.0, y + 90.0), Point::new(0.0, y + 90.0)])
        };
        (0..count).filter_map(square).collect()
    }

    fn texts(lines: Vec<super::super::gather::Line>, count: usize) -> Vec<Option<String>> {
        let page = page(count);
        choose(&gather(lines), &page.iter().collect::<Vec<_>>()).into_iter().map(|label| label.map(|label| label.text)).collect()
    }

    fn some(texts: &[&str]) -> Vec<Option<String>> {
        texts.iter().map(|text| Some((*text).to_owned())).collect()
    }

    #[test]
    fn a_line_between_two_grids_goes_with_the_others_of_the_page() {
        // Labels above: each upper grid sees the next one's label, too, and even more clearly.
        let lines = vec![
            line(0, &[("17", 0.99)], -1.0, 90.0, 0.8),
            line(0, &[("18", 0.99)], 9.5, 195.0, 0.9),
            line(1, &[("18", 0.99)], -1.0, 195.0, 0.8),
            line(1, &[("19", 0.99)], 9.5, 295.0, 0.7),
            line(2, &[("19", 0.99)], -1.0, 295.0, 0.8),
        ];
        assert_eq!(texts(lines, 3), some(&["17", "18", "19"]));
    }

    #[test]
    fn what_is_surely_no_label_is_none_in_part_either() {
        let whole = line(0, &[("Page 17", 0.95)], -1.0, 90.0, 0.8);
        assert_eq!(texts(vec![line(0, &[("17", 0.8)], -1.0, 90.0, 0.9), whole], 1), [None]);
    }

    #[test]
    fn a_sure_line_stays_sure_beside_a_likely_one() {
        let line = |probability| vec![Possible { said: "17".into(), probability, place: [0.0; 4] }];
        let mut lines = [line(0.98), line(0.72)];
        exclude_each_other(&mut lines);
        let after = lines.map(|line| line[0].probability);
        assert!(after[0] > 0.9 && after[0] + after[1] < 1.0, "{after:?}");
    }

    #[test]
    fn unsure_lines_are_no_labels() {
        let faint = line(0, &[("17", 0.3), ("11", 0.3), ("71", 0.3)], -1.0, 90.0, 0.8);
        assert_eq!(texts(vec![faint, line(1, &[("R", 0.9)], -2.2, 170.0, 0.32)], 2), [None, None]);
    }

    #[test]
    fn a_reading_gains_by_the_page() {
        let lines = vec![
            line(0, &[("17", 0.99)], -1.0, 90.0, 0.9),
            line(1, &[("13", 0.5), ("18", 0.4)], -1.0, 190.0, 0.7),
            line(2, &[("19", 0.99)], -1.0, 290.0, 0.9),
        ];
        assert_eq!(texts(lines, 3), some(&["17", "18", "19"]));
    }
}
