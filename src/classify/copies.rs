//! Whether the digits of a page are copies of each other, as print is and handwriting isn't.
//!
//! Two prints of one digit differ by blur and noise alone, whatever the typeface; two that a hand wrote differ in shape. The likeness of two cells is the normalised
//! cross-correlation of their ink (Lewis 1995, "Fast normalized cross-correlation") at the best of a few shifts. How near a digit comes to the others of
//! its kind is weighed against the network's word, which goes by what print and handwriting look like in general.

use super::faces::{self, Faces};
use super::{CLASSES, lean_to_print};
use crate::cut::{Cells, SIDE};
use crate::decode::wide;

/// Clear of the lines.
const EDGE: usize = SIDE / 4 - 1;
/// Samples that one digit may lie off another's place, in each direction.
const SHIFT: usize = 2;
/// Side of what is compared, in samples, and of what it is sought in.
const WINDOW: usize = SIDE - 2 * EDGE;
const AROUND: usize = WINDOW + 2 * SHIFT;
/// Shifts in one direction.
const SHIFTS: usize = 2 * SHIFT + 1;

/// The ink of one cell.
#[derive(Clone)]
struct Shape {
    /// The cell's middle, its mean 0 and its norm 1.
    middle: [[f32; WINDOW]; WINDOW],
    around: [[f32; AROUND]; AROUND],
    /// The norm of what lies in the window at each shift, its mean taken off.
    norms: [[f32; SHIFTS]; SHIFTS],
}

impl Shape {
    #[inline(always)]
    fn of(cells: &Cells, cell: usize) -> Self {
        let image = cells.images.index_axis(ndarray::Axis(0), cell);
        let samples = image.as_slice().expect("cells lie one behind the other");
        let mut shape = Self { middle: [[0.0; WINDOW]; WINDOW], around: [[0.0; AROUND]; AROUND], norms: [[0.0; SHIFTS]; SHIFTS] };
        for (row, around) in (EDGE - SHIFT..).zip(&mut shape.around) {
            for (dark, &value) in around.iter_mut().zip(&samples[row * SIDE + EDGE - SHIFT..]) {
                *dark = (1.0 - value).clamp(0.0, 1.0);
            }
        }
        for (down, norms) in shape.norms.iter_mut().enumerate() {
            for (right, norm) in norms.iter_mut().enumerate() {
                *norm = mean_and_norm(&shape.around, down, right).1;
            }
        }
        let (mean, norm) = mean_and_norm(&shape.around, SHIFT, SHIFT);
        for (middle, around) in shape.middle.iter_mut().zip(&shape.around[SHIFT..]) {
            for (middle, dark) in middle.iter_mut().zip(&around[SHIFT..]) {
                *middle = (dark - mean) / norm;
            }
        }
        shape
    }

    /// How alike two shapes are, -1 to 1.
    #[inline(always)]
    fn likeness(&self, other: &Self) -> f32 {
        let mut best = -1.0_f32;
        for (down, norms) in other.norms.iter().enumerate() {
            for (right, norm) in norms.iter().enumerate() {
                // Sums for each column, so that several can be done at once.
                let mut sums = [0.0; WINDOW];
                for (own, other) in self.middle.iter().zip(&other.around[down..]) {
                    for ((sum, a), b) in sums.iter_mut().zip(own).zip(&other[right..right + WINDOW]) {
                        *sum += a * b;
                    }
                }
                let sum: f32 = sums.iter().sum();
                best = best.max(sum / norm);
            }
        }
        best
    }
}

/// The mean of what lies in the window at this shift, and its norm when that is taken off.
#[inline(always)]
fn mean_and_norm(around: &[[f32; AROUND]; AROUND], down: usize, right: usize) -> (f32, f32) {
    let (mut sums, mut squares) = ([0.0; WINDOW], [0.0; WINDOW]);
    for row in &around[down..down + WINDOW] {
        for ((sum, square), value) in sums.iter_mut().zip(&mut squares).zip(&row[right..right + WINDOW]) {
            *sum += value;
            *square += value * value;
        }
    }
    let (sum, square): (f32, f32) = (sums.iter().sum(), squares.iter().sum());
    let mean = sum / (WINDOW * WINDOW) as f32;
    (mean, (square - sum * mean).max(0.0).sqrt().max(1e-3))
}

/// What the shapes of a grid's print tell, see [`super::Ink`].
pub(super) struct OfPrint {
    pub(super) two_prints: bool,
    pub(super) varied: bool,
    pub(super) unlike: [Option<f64>; 81],
}

/// The shapes of what stands in a grid's cells.
pub(super) struct Shapes(Vec<Shape>);

impl Shapes {
    /// Of cells of [`SIDE`] samples a side.
    pub(super) fn measure(cells: &Cells) -> Self {
        wide(
            #[inline(always)]
            || {
                let mut shapes = Vec::with_capacity(81);
                for cell in 0..81 {
                    shapes.push(Shape::of(cells, cell));
                }
                Self(shapes)
            },
        )
    }

    /// Weighs each cell's probabilities of given and entry by how near its digit comes to the others of its kind, and tells for each which are much like it. `is_odd` tells
    /// cells whose ink is unlike that of most.
    pub(super) fn weigh(&self, cells: &mut [[f64; CLASSES]], is_odd: impl Fn(usize) -> bool) -> Vec<Vec<usize>> {
        let mut copies = vec![Vec::new(); 81];
        let kinds = self.kinds(cells);
        let Some(level) = level_of_print(&kinds) else { return copies };
        let two_prints = come_in_two_prints(&kinds);
        let all_alike = are_all_alike(&kinds) && !two_prints;
        // So many givens no puzzle has: where nearly all digits are alike, the rest of them is print as well.
        let is_finished = all_alike && nearest(&kinds).len() >= FULL;
        for kind in &kinds {
            let two_prints = two_prints || kind.has_two_prints();
            let print = |cell: usize| cells[cell][1..10].iter().sum::<f64>();
            let has_sure_print = kind.cells.iter().any(|&cell| print(cell) > SURELY);
            // Of one digit the network sees some as print and this one as written: what differs isn't the shape.
            let differs: Vec<bool> = kind.cells.iter().map(|&cell| has_sure_print && print(cell) < DOUBTED).collect();
            for (n, &cell) in kind.cells.iter().enumerate() {
                copies[cell] =
                    kind.cells.iter().zip(&kind.alike[n]).filter(|(_, alike)| **alike > ALIKE).map(|(&other, _)| other).collect();
                let is_plain = all_alike && !is_odd(cell);
                let odds = match kind.nearest(n) {
                    _ if is_finished => FINISHED,
                    // Even a hand may write a digit twice alike, or like the print.
                    Some(nearest) if two_prints || differs[n] || all_alike && !is_plain => log_odds(nearest, level).min(0.0),
                    Some(COPY..) if is_plain => ALL_ALIKE,
                    Some(ALIKE..) if is_plain => ALL_ALIKE / 2.0,
                    Some(nearest) => log_odds(nearest, level),
                    None if is_plain => LONE,
                    None => continue,
                };
                lean_to_print(&mut cells[cell], odds);
            }
        }
        copies
    }

    /// Whether most digits are copies of others, and none in two shapes: the digits of a grid that somebody filled in are not.
    pub(super) fn are_mostly_copies(&self, cells: &[[f64; CLASSES]]) -> bool {
        let kinds = self.kinds(cells);
        let is_full = nearest(&kinds).len() >= FULL;
        share_of_copies(&kinds) >= MOST_COPIES && !come_in_two_prints(&kinds) && (!is_full || are_all_alike(&kinds))
    }

    /// Whether what the network takes for print comes in two typefaces that no printer set (a hand as even as type is one of them), and whether it isn't all alike: more than a tenth of
    /// the pairs of one digit are no copies of each other, and for each how much less like its kind it is than is usual. `amounts` are the logarithms of the cells' ink, `places` how tall each digit is and where it stands.
    pub(super) fn of_print(&self, cells: &[[f64; CLASSES]], amounts: &[Option<f64>; 81], places: &[Option<[f64; 3]>; 81]) -> OfPrint {
        let kinds = self.kinds_by(|cell, digit| cells[cell][digit] > LIKELY);
        let pairs: Vec<f32> =
            kinds.iter().flat_map(|kind| kind.alike.iter().enumerate().flat_map(|(n, row)| row[..n].iter().copied())).collect();
        let varied = 10 * pairs.iter().filter(|&&likeness| likeness < NO_COPY).count() > pairs.len();
        let two_prints = come_in_two_prints(&kinds);
        let unlike = unlike(&kinds);
        if nearest(&kinds).len() < FULL {
            return OfPrint { two_prints, varied, unlike };
        }
        let Faces { are_two, are_set_alike } = faces::parts(kinds.iter().map(|kind| (&kind.cells[..], &kind.alike[..])), amounts, places);
        OfPrint { two_prints: (two_prints || are_two) && !are_set_alike, varied, unlike }
    }

    /// The cells of each digit, as far as the network tells.
    fn kinds(&self, cells: &[[f64; CLASSES]]) -> Vec<Kind> {
        self.kinds_by(|cell, digit| cells[cell][digit] + cells[cell][digit + 9] > LIKELY)
    }

    fn kinds_by(&self, holds: impl Fn(usize, usize) -> bool) -> Vec<Kind> {
        let of_digit = |digit: usize| -> Kind {
            let cells: Vec<usize> = (0..81).filter(|&cell| holds(cell, digit)).collect();
            let mut alike = vec![vec![f32::NEG_INFINITY; cells.len()]; cells.len()];
            wide(
                #[inline(always)]
                || {
                    for a in 0..cells.len() {
                        for b in 0..a {
                            let likeness = self.0[cells[a]].likeness(&self.0[cells[b]]);
                            (alike[a][b], alike[b][a]) = (likeness, likeness);
                        }
                    }
                },
            );
            Kind { cells, alike }
        };
        (1..10).map(of_digit).collect()
    }
}

/// Of a cell that holds a digit less likely than this it isn't asked which others are like it.
const LIKELY: f64 = 0.5;
/// Two prints of one digit are mostly more alike than this; of 10,226 pairs of one digit written by hand in the training half of the photographs so are 4 in 1,000.
const COPY: f32 = 0.93;
/// A page whose digits, all but one in twenty of those that aren't alone of their kind, come nearer to another than this is all print: so are 850 of 1,061 grids on drawn
/// pages and photographs in which nobody wrote, and 1 of 406 with four written digits or more. Of a page with so many of them all but three in twenty must be copies: so are
/// none of 270 that somebody filled in, blurred ones of which come nearer to each other than the other measure allows for.
const ALIKE: f32 = 0.88;
const FULL: usize = 60;
/// So near to the middle one of their kind come all but one in ten digits of a finished grid: in 95 % of 411 looks at such whose digits are copies by the measure
/// above. In 468 at grids that somebody filled in, whose digits come nearly as near to each other, it is 0.872 at most.
const OF_ONE_PRINT: f32 = 0.89;
/// Beside the givens of a page, what is written on it is more than the rest.
const MOST_COPIES: f64 = 0.6;
/// Where so many digits come in two shapes, each copied, one is a handwriting that is a typeface, and copies tell nothing.
const TWO_PRINTS: usize = 2;
/// Copies and what is none, where it is asked whether a digit comes in two shapes.
const SURE_COPY: f32 = 0.95;
const NO_COPY: f32 = 0.85;
/// Fewest digits that aren't alone of their kind, so that they tell how alike this page's prints are.
const FEWEST: usize = 6;
/// Log odds of print for a copy on a page that is all print, and for a digit that is alone of its kind there.
const ALL_ALIKE: f64 = 6.0;
const LONE: f64 = 1.5;
/// Of one digit, what the network takes for print as surely as this, and no surer than that, differs by more than its shape.
const SURELY: f64 = 0.95;
const DOUBTED: f64 = 0.8;
/// Log odds of print in a finished grid.
const FINISHED: f64 = 16.0;

/// The cells that hold one digit, printed or written.
struct Kind {
    cells: Vec<usize>,
    /// How alike each two of them are.
    alike: Vec<Vec<f32>>,
}

impl Kind {
    /// How alike the cell is to the one it is most alike; `None` where it is the only one.
    fn nearest(&self, cell: usize) -> Option<f32> {
        (self.cells.len() > 1).then(|| self.alike[cell].iter().copied().fold(f32::NEG_INFINITY, f32::max))
    }

    /// Whether the digit comes in two shapes, each of them copied.
    fn has_two_prints(&self) -> bool {
        let count = self.cells.len();
        let copies: Vec<(usize, usize)> =
            (0..count).flat_map(|a| (0..a).map(move |b| (a, b))).filter(|&(a, b)| self.alike[a][b] > SURE_COPY).collect();
        let apart = |a: usize, b: usize| a != b && self.alike[a][b] < NO_COPY;
        copies.iter().any(|&(a, b)| copies.iter().any(|&(c, d)| apart(a, c) && apart(a, d) && apart(b, c) && apart(b, d)))
    }
}

/// How alike each digit that isn't alone of its kind is to its nearest, the least alike first.
fn nearest(kinds: &[Kind]) -> Vec<f32> {
    let mut nearest: Vec<f32> = kinds.iter().flat_map(|kind| (0..kind.cells.len()).filter_map(|cell| kind.nearest(cell))).collect();
    nearest.sort_by(f32::total_cmp);
    nearest
}

/// How near prints of this page come to each other: three in four digits come less near, written ones among them. `None` where there are too few.
fn level_of_print(kinds: &[Kind]) -> Option<f32> {
    let nearest = nearest(kinds);
    (nearest.len() >= FEWEST).then(|| nearest[nearest.len() * 3 / 4])
}

fn are_all_alike(kinds: &[Kind]) -> bool {
    let nearest = nearest(kinds);
    let above = |place: usize, least: f32| nearest.get(place).is_some_and(|&nearest| nearest > least);
    if nearest.len() >= FULL { above(nearest.len() * 3 / 20, COPY) && are_of_one_print(kinds) } else { above(nearest.len() / 20, ALIKE) }
}

/// How much less like the nearest of its kind each digit is than the middle one of all is: nats of how far they are from being the same.
fn unlike(kinds: &[Kind]) -> [Option<f64>; 81] {
    let all = nearest(kinds);
    let mut unlike = [None; 81];
    let Some(&middle) = all.get(all.len() / 2) else { return unlike };
    for kind in kinds {
        for (n, &cell) in kind.cells.iter().enumerate() {
            unlike[cell] = kind.nearest(n).map(|nearest| nearness(middle) - nearness(nearest));
        }
    }
    unlike
}

/// Whether digits are like most others of their kind, too, and not only like the nearest: a hand that writes each digit alike isn't like the print beside it.
fn are_of_one_print(kinds: &[Kind]) -> bool {
    let middle = |others: &Vec<f32>| {
        let mut others: Vec<f32> = others.iter().copied().filter(|likeness| likeness.is_finite()).collect();
        others.sort_by(f32::total_cmp);
        others.get(others.len() / 2).copied()
    };
    let mut middles: Vec<f32> =
        kinds.iter().filter(|kind| kind.cells.len() > 3).flat_map(|kind| kind.alike.iter().filter_map(middle)).collect();
    middles.sort_by(f32::total_cmp);
    middles.get(middles.len() / 10).is_some_and(|&middle| middle > OF_ONE_PRINT)
}

/// Which share of the digits that aren't alone of their kind are copies of others.
fn share_of_copies(kinds: &[Kind]) -> f64 {
    let nearest = nearest(kinds);
    nearest.iter().filter(|&&likeness| likeness > COPY).count() as f64 / nearest.len().max(1) as f64
}

fn come_in_two_prints(kinds: &[Kind]) -> bool {
    kinds.iter().filter(|kind| kind.has_two_prints()).count() >= TWO_PRINTS
}

/// How near to being the same a likeness is, in nats.
fn nearness(likeness: f32) -> f64 {
    -f64::from(1.0 - likeness.clamp(0.0, 0.995)).ln()
}

/// The log odds of print for a digit that comes so near to others of its kind on a page whose prints come to each other as near as `level`: logistic regression on
/// 19,968 printed and 9,000 written digits. Distances from 1 as logarithms.
fn log_odds(nearest: f32, level: f32) -> f64 {
    const CONSTANT: f64 = 0.41;
    const OWN: [f64; 2] = [-2.21, 1.15];
    const LEVEL: f64 = -0.91;
    const MOST: [f64; 2] = [-4.0, 4.5];
    let (own, level) = (nearness(nearest), nearness(level));
    (CONSTANT + OWN[0] * own + OWN[1] * own * own + LEVEL * level).clamp(MOST[0], MOST[1])
}
