//! Whether a digit is printed or written, told by its likeness to the other digits of the same page.
//!
//! The network knows what print and handwriting are like in general. On one page there is one print and mostly
//! one pen: their colour, darkness, sharpness, size and place are learnt from the digits that the network is
//! sure of, and weighed against its word for each digit (a Gaussian for each feature and kind, naive Bayes).

use super::copies::{OfPrint, Shapes};
use super::{CLASSES, Evidence, lean_to_print};
use crate::cut::{Cells, Light, SIDE, least};
use crate::decode::wide;

/// Features of a digit's ink, see [`features`].
const FEATURES: usize = 7;
/// The first of them tell of the ink, the others where it lies.
const INK: usize = 4;
/// Least spread of each feature, in its own unit: what one print varies by from cell to cell anyway.
const LEAST_SPREAD: [f64; FEATURES] = [0.02, 0.02, 0.08, 0.05, 0.06, 0.04, 0.04];
/// How far a pen's ink lies from the print of its page, by feature: root mean squares over 4,122 digits written into 80 photographs of the
/// training half.
const PEN_SPREAD: [f64; FEATURES] = [0.15, 0.15, 0.30, 0.24, 0.09, 0.065, 0.075];
/// Digits of each kind, weighed by the network's certainty, that must be there to learn from.
const FEWEST: f64 = 6.0;
/// Features go together (a dark pen is sharp, too), so their sum counts for this share.
const SHARE: f64 = 0.5;
/// The most that likeness may say, in nats.
const MOST: f64 = 6.0;
/// What the colour of a digit says where print and pen differ in it. The print's tells print of a copy of another digit alone: of two pens one may have it, too, but none
/// writes copies.
const BY_COLOUR: f64 = 9.0;
/// How far apart the colours of print and pen must lie, how much less than that the digits of either may be spread, beside what noise spreads any, and how much nearer
/// than that to the print's one digit must be.
const APART: f64 = 0.06;
const SPREAD: (f64, f64) = (0.03, 0.2);
const NEAR: f64 = 0.25;
/// The most that the colour within one digit may be spread, as a share of how far apart they lie, where nothing but the pen's ink is in it.
const PURE: f64 = 0.25;
/// Rounds of learning from what is believed so far.
const ROUNDS: usize = 3;

/// The evidence with each cell's probabilities of given and entry weighed by the likeness of its ink.
pub(super) fn weigh(Inks { inks, mixed, shapes, .. }: &Inks, evidence: &mut Evidence) {
    let median = medians(inks);
    let copies = shapes.weigh(&mut evidence.cells, |cell| inks[cell].is_none_or(|ink| is_odd(&ink, &median)));
    let network: Vec<[f64; CLASSES]> = evidence.cells.clone();
    let kinds = |row: &[f64; CLASSES]| (row[1..10].iter().sum::<f64>(), row[10..19].iter().sum::<f64>());
    // Small notes are of the pen's ink, wherever they stand and however tall they are.
    let noted: Vec<f64> = network.iter().map(|row| row[19]).collect();
    let mut by_colour = [false; 81];
    for _ in 0..ROUNDS {
        let believed: Vec<(f64, f64)> = evidence.cells.iter().map(kinds).collect();
        let learn = |weigh: &dyn Fn(usize) -> f64| {
            Likeness::learn(inks.iter().enumerate().filter_map(|(cell, ink)| ink.map(|ink| (ink, weigh(cell)))))
        };
        let Some(print) = learn(&|cell| believed[cell].0) else { return };
        let pen = learn(&|cell| believed[cell].1).unwrap_or_else(|| print.any_pen());
        let pen = match learn(&|cell| believed[cell].1 + noted[cell]) {
            Some(notes) => pen.with_ink_of(&notes),
            None => pen,
        };
        for (cell, ((row, ink), own)) in evidence.cells.iter_mut().zip(inks).zip(&network).enumerate() {
            let Some(ink) = ink else { continue };
            let has_colour = |cell: usize| inks[cell].is_some_and(|ink| print.has_colour_of(&ink, &pen));
            let in_print = has_colour(cell) && copies[cell].iter().any(|&other| has_colour(other));
            // Under a pen's ring or cross there may be print, which shows in the colour's spread.
            let in_pen = pen.has_colour_of(ink, &print) && mixed[cell] < PURE * pen.apart(&print.means);
            by_colour[cell] = in_print || in_pen;
            let odds = (SHARE * (print.log_density(ink) - pen.log_density(ink))).clamp(-MOST, MOST);
            let odds = if in_print {
                BY_COLOUR
            } else if in_pen {
                -BY_COLOUR
            } else {
                odds
            };
            *row = *own;
            lean_to_print(row, odds);
        }
    }
    // Where the ink turns the network's word round, neither is sure: a pen's cross or ring over print has the pen's ink, too.
    for (cell, (row, own)) in evidence.cells.iter_mut().zip(&network).enumerate() {
        let is_print = |row: &[f64; CLASSES]| kinds(row).0 > kinds(row).1;
        if is_print(row) != is_print(own) && !by_colour[cell] {
            row.iter_mut().zip(own).for_each(|(p, own)| *p = (*p + own) / 2.0);
        }
    }
}

/// What the ink of a grid's cells is like.
#[derive(Clone, Debug, PartialEq)]
pub struct Ink {
    /// How dark each cell's darkest ink is, lines aside: 0 as paper, 1 as the darkest of the grid.
    pub depth: [f64; 81],
    /// How sharp it is: the steepest step from sample to sample as a share of its depth, 0 to 1; 0 where there is too little ink.
    pub sharp: [f64; 81],
    /// How much the ink varies from cell to cell in colour, darkness, sharpness and place: up to 1 where all 81 digits are of one print, more
    /// in a grid filled in by hand.
    pub uneven: f64,
    /// Whether what is taken for print comes in two typefaces.
    pub two_prints: bool,
    /// Whether what is taken for print isn't all alike, so that it may be.
    pub varied: bool,
    /// How much less like the others of its kind each digit of print is than most are, in nats of its distance from the nearest; `None` where it is the only one.
    pub unlike: [Option<f64>; 81],
}

/// What is measured of the ink in each cell.
pub struct Inks {
    depth: [f64; 81],
    /// See [`features`].
    inks: [Option<[f64; FEATURES]>; 81],
    /// How far the colour is spread within each cell's ink.
    mixed: [f64; 81],
    /// The logarithm of how much ink there is in each cell, in samples as dark as its darkest.
    amounts: [Option<f64>; 81],
    /// See [`Ink::uneven`].
    uneven: f64,
    shapes: Shapes,
}

impl Inks {
    /// Of cells of [`SIDE`] samples a side.
    pub fn measure(cells: &Cells) -> Self {
        let (mut depths, mut inks, mut mixed, mut amounts) = ([0.0; 81], [None; 81], [0.0; 81], [None; 81]);
        wide(
            #[inline(always)]
            || {
                for cell in 0..81 {
                    depths[cell] = depth(cells, cell);
                    if let Some((ink, spread, amount)) = features(cells, cell, depths[cell]) {
                        (inks[cell], mixed[cell], amounts[cell]) = (Some(ink), spread, Some(amount.ln()));
                    }
                }
            },
        );
        Self { depth: depths, inks, mixed, amounts, uneven: uneven(&inks, &cells.light), shapes: Shapes::measure(cells) }
    }

    /// What the ink of the grid is like in which `evidence` was seen.
    pub fn told(&self, evidence: &Evidence) -> Ink {
        let &Self { ref depth, ref inks, ref amounts, uneven, ref shapes, .. } = self;
        // Copies are print, be it in two colours.
        let uneven = if uneven > 1.0 && shapes.are_mostly_copies(&evidence.cells) { 1.0 } else { uneven };
        let sharp = std::array::from_fn(|cell| inks[cell].map_or(0.0, |ink| ink[3]));
        let places = inks.map(|ink| ink.map(|[.., height, right, below]| [height, right, below]));
        let OfPrint { two_prints, varied, unlike } = shapes.of_print(&evidence.cells, amounts, &places);
        Ink { depth: *depth, sharp, uneven, two_prints, varied, unlike }
    }
}

/// The median of each feature over all digits.
fn medians(inks: &[Option<[f64; FEATURES]>]) -> [f64; FEATURES] {
    std::array::from_fn(|i| {
        let mut values: Vec<f64> = inks.iter().flatten().map(|ink| ink[i]).collect();
        values.sort_by(f64::total_cmp);
        values.get(values.len() / 2).copied().unwrap_or_default()
    })
}

/// Whether an ink is of another colour, darkness or height than one print has, by far.
fn is_odd(ink: &[f64; FEATURES], median: &[f64; FEATURES]) -> bool {
    const FAR: f64 = 3.0;
    [0, 1, 2, 4].iter().any(|&i| (ink[i] - median[i]).abs() > FAR * LEAST_SPREAD[i])
}

/// How much the features of neighbouring digits of one box differ (so that blur and shade, which change slowly over a page, don't count): the spread that this shows,
/// each in its least, as their geometric mean, in shares of what one print has. Heights are left out, since old-style digits have several. Where enough neighbours have paper of one tint only they are compared: on a tint ink is
/// told from the paper otherwise.
///
/// Set on the 221 sound finished grids of 32 drawn pages (`generate.py --layout solutions --level all --seed 871000`) and of 120 rough ones (seed 870000,
/// three shots of each page), of which 98 % stay below 1 (without colour 95 %), and held against the 80 photographs with even numbers of grids filled in
/// by hand, of which 94 % lie above it (without colour 92 %).
fn uneven(inks: &[Option<[f64; FEATURES]>], light: &[Light]) -> f64 {
    const COLOURED: [usize; 6] = [0, 1, 2, 3, 5, 6];
    /// Of a page without colour: darkness, sharpness and place from left to right, which told most.
    const GREY: [usize; 3] = [2, 3, 5];
    const IN_PRINT: f64 = 0.93;
    const IN_GREY_PRINT: f64 = 1.29;
    /// Keeps the logarithm finite.
    const LEAST: f64 = 0.05;
    /// By how much papers of one tint differ, as a logarithm and in steps of 8 bits, and pairs enough.
    const TINT: (f32, f32) = (0.06, 6.0);
    const ENOUGH: usize = 24;
    // In one box, since boxes may be printed in two colours by turns.
    let neighbours = (0..81).flat_map(|cell| [(cell % 3 < 2, cell, cell + 1), (cell / 9 % 3 < 2, cell, cell + 9)]);
    let are_of_one_tint = |a: &Light, b: &Light| (a.paper / b.paper).ln().abs() < TINT.0 && a.colour_apart(b) < TINT.1;
    let mut pairs: Vec<_> = neighbours
        .filter(|pair| pair.0)
        .filter_map(|(_, a, b)| Some((inks[a]?, inks[b]?, are_of_one_tint(&light[a], &light[b]))))
        .collect();
    if pairs.iter().filter(|pair| pair.2).count() >= ENOUGH {
        pairs.retain(|pair| pair.2);
    }
    let spread = |i: usize| (pairs.iter().map(|(a, b, _)| (a[i] - b[i]).powi(2)).sum::<f64>() / (2.0 * pairs.len().max(1) as f64)).sqrt();
    let mean = |features: &[usize]| {
        let logs = features.iter().map(|&i| (spread(i) / LEAST_SPREAD[i]).max(LEAST).ln());
        (logs.sum::<f64>() / features.len() as f64).exp()
    };
    if spread(0) == 0.0 && spread(1) == 0.0 { mean(&GREY) / IN_GREY_PRINT } else { mean(&COLOURED) / IN_PRINT }
}

/// Mean and spread of each feature over one kind of digits.
struct Likeness {
    means: [f64; FEATURES],
    spreads: [f64; FEATURES],
}

impl Likeness {
    /// From inks with their weights; `None` where there are too few.
    fn learn(inks: impl Iterator<Item = ([f64; FEATURES], f64)> + Clone) -> Option<Self> {
        let total: f64 = inks.clone().map(|(_, weight)| weight).sum();
        if total < FEWEST {
            return None;
        }
        let mean = |of: &dyn Fn(&[f64; FEATURES]) -> f64| inks.clone().map(|(ink, weight)| weight * of(&ink)).sum::<f64>() / total;
        let means: [f64; FEATURES] = std::array::from_fn(|i| mean(&|ink| ink[i]));
        let spreads = std::array::from_fn(|i| mean(&|ink| (ink[i] - means[i]).powi(2)).sqrt().max(LEAST_SPREAD[i]));
        Some(Self { means, spreads })
    }

    /// A pen of which too little was seen to learn from: it may be like the print, or far from it.
    fn any_pen(&self) -> Self {
        Self { means: self.means, spreads: PEN_SPREAD }
    }

    /// The same where colour, darkness and sharpness are as in `other`.
    fn with_ink_of(mut self, other: &Self) -> Self {
        self.means[..INK].copy_from_slice(&other.means[..INK]);
        self.spreads[..INK].copy_from_slice(&other.spreads[..INK]);
        self
    }

    /// Whether an ink has this kind's colour and nothing of the pen's, which is another.
    fn has_colour_of(&self, ink: &[f64; FEATURES], pen: &Self) -> bool {
        let far = self.apart(&pen.means);
        let are_alike = |kind: &Self| kind.spreads[0].hypot(kind.spreads[1]) < SPREAD.0 + SPREAD.1 * far;
        far > APART && are_alike(self) && are_alike(pen) && self.apart(ink) < NEAR * far
    }

    /// How far an ink's colour is from this one's.
    fn apart(&self, ink: &[f64; FEATURES]) -> f64 {
        (ink[0] - self.means[0]).hypot(ink[1] - self.means[1])
    }

    fn log_density(&self, ink: &[f64; FEATURES]) -> f64 {
        let term = |i: usize| {
            // A single wild feature says no more than four spreads do.
            let away = ((ink[i] - self.means[i]) / self.spreads[i]).clamp(-4.0, 4.0);
            -0.5 * away * away - self.spreads[i].ln()
        };
        (0..FEATURES).map(term).sum()
    }
}

/// Clear of the lines.
const EDGE: usize = SIDE / 5;
/// Rows and columns that are.
const CLEAR: std::ops::Range<usize> = EDGE..SIDE - EDGE;
const ACROSS: usize = CLEAR.end - CLEAR.start;

/// Cb, Cr, darkness, sharpness, height, and how far the ink's middle lies right of and below the cell's (in
/// cells), by how much Cb and Cr are spread, and how much ink there is; `None` where the cell holds too little ink.
#[inline(always)]
fn features(cells: &Cells, cell: usize, deepest: f64) -> Option<([f64; FEATURES], f64, f64)> {
    if deepest < 0.15 {
        return None;
    }
    let image = cells.images.index_axis(ndarray::Axis(0), cell);
    let samples = image.as_slice().expect("cells lie one behind the other");
    let at = |channel: usize, row: usize, column: usize| f64::from(samples[(channel * SIDE + row) * SIDE + column]);
    let mut dark = [[0.0; ACROSS + 1]; ACROSS + 1];
    for (y, row) in dark.iter_mut().enumerate() {
        let samples = &samples[(EDGE + y) * SIDE + EDGE..][..ACROSS + 1];
        for (dark, &value) in row.iter_mut().zip(samples) {
            *dark = (1.0 - f64::from(value)).clamp(0.0, 1.0);
        }
    }
    let mut inked = [[0.0; ACROSS]; ACROSS];
    for (row, dark) in inked.iter_mut().zip(&dark) {
        for (ink, dark) in row.iter_mut().zip(dark) {
            *ink = (dark / deepest - 0.4).clamp(0.0, 0.6);
        }
    }
    let weight: f64 = inked.as_flattened().iter().sum();
    if weight < 3.0 {
        return None;
    }
    // Sums of what the ink weighs: its colours, its place, then its colours squared.
    let mut sums = [0.0; 5];
    let mut sharp = 0.0_f64;
    for (y, row) in inked.iter().enumerate() {
        for (x, &ink) in row.iter().enumerate() {
            let (row, column) = (EDGE + y, EDGE + x);
            let steps = (dark[y][x + 1] - dark[y][x]).abs().max((dark[y + 1][x] - dark[y][x]).abs());
            sharp = sharp.max(steps);
            if ink > 0.0 {
                let (blue, red) = (at(1, row, column), at(2, row, column));
                let terms = [blue, red, column as f64, row as f64, blue * blue + red * red];
                sums.iter_mut().zip(terms).for_each(|(sum, term)| *sum += ink * term);
            }
        }
    }
    let has_ink = |row: &[f64; ACROSS]| row.iter().any(|&ink| ink > 0.2);
    let (first, last) = (inked.iter().position(has_ink)?, inked.iter().rposition(has_ink)?);
    let height = (last - first + 1) as f64 / SIDE as f64;
    let [blue, red, right, below, squared] = sums.map(|sum| sum / weight);
    let spread = (squared - blue * blue - red * red).max(0.0).sqrt();
    Some(([blue, red, deepest, sharp / deepest, height, right / SIDE as f64, below / SIDE as f64], spread, weight))
}

/// How dark the darkest ink of a cell is, a few samples of noise aside.
#[inline(always)]
fn depth(cells: &Cells, cell: usize) -> f64 {
    let image = cells.images.index_axis(ndarray::Axis(0), cell);
    let samples = image.as_slice().expect("cells lie one behind the other");
    let mut values = [0.0; ACROSS * ACROSS];
    for (row, values) in CLEAR.zip(values.chunks_exact_mut(ACROSS)) {
        values.copy_from_slice(&samples[row * SIDE + EDGE..][..ACROSS]);
    }
    // Of samples between 0 (ink) and 1.2 the darkest come first.
    let value = least(&values, values.len() - 1 - values.len() * 97 / 100);
    (1.0 - f64::from(value)).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn print_on_tinted_rows_is_even() {
        // On the tint of every other row the same ink seems darker and duller, and as much so in every digit.
        let inks: Vec<Option<[f64; FEATURES]>> = (0..81)
            .map(|cell| Some(if cell / 9 % 2 == 0 { [0.1, 0.1, 0.9, 0.7, 0.5, 0.0, 0.0] } else { [0.3, 0.3, 0.5, 0.4, 0.5, 0.2, 0.2] }))
            .collect();
        let paper = |tinted: bool| Light { paper: if tinted { 150.0 } else { 220.0 }, ..Light::default() };
        let tinted: Vec<Light> = (0..81).map(|cell| paper(cell / 9 % 2 == 1)).collect();
        let plain = vec![paper(false); 81];
        assert!(uneven(&inks, &plain) > 1.0 && uneven(&inks, &tinted) < 0.5);
    }
}
