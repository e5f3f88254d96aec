//! Whether the digits of a full grid come in two typefaces, as where somebody filled it in with a hand, or a machine, as even as print.
//!
//! The cells of each digit are parted in two by their likeness (2-means on a kernel, with the least alike two as the first middles; Dhillon et al. 2004, "Kernel k-means").
//! Where there are two faces the parts explain most of what the cells of one digit differ by, one face has more ink than the other, and neither keeps to some places in the grid.
//! A printer sets two faces alike, as where a solution shows in bold what was given: digits as tall, and at the same place in their cells. Who fills in a grid doesn't.

/// Fewer cells of one digit can't be parted.
const FEWEST: usize = 5;
/// Of 1,215 finished grids on drawn pages (a helper's and ours, all levels) five are beyond all four limits, of eight grids with two faces that the networks took for print all but one:
/// the share of what likeness varies by that the parts explain, how much it varies (of 1, for each cell), the share of the amount of ink, and of the parts by place.
const LIKENESS: f64 = 0.62;
const VARIES: f64 = 0.037;
const INK: f64 = 0.28;
const PLACE: f64 = 0.33;

/// Two faces that are set alike differ no more than so in height and in where they stand, to the right and down, in cells: root mean squares over the digits. Of 19 solutions with bold or italic
/// givens on 240 drawn pages (a helper's, all levels) so are 15, of nine grids that were filled in with a typeface (ours) none.
const SET_ALIKE: [f64; 3] = [0.04, 0.022, 0.022];

/// What the two parts of a grid's digits are like.
pub(super) struct Faces {
    /// Whether they are two typefaces.
    pub(super) are_two: bool,
    /// Whether they are set alike.
    pub(super) are_set_alike: bool,
}

/// The faces in which digits come. `kinds` are, for each digit, its cells and how alike each two are, `amounts` the logarithms of the cells' ink, `places` how tall each cell's digit is and how far it
/// stands to the right and down.
pub(super) fn parts<'a>(
    kinds: impl Iterator<Item = (&'a [usize], &'a [Vec<f32>])>,
    amounts: &[Option<f64>; 81],
    places: &[Option<[f64; 3]>; 81],
) -> Faces {
    let (mut likeness, mut ink, mut count) = (Spread::default(), Spread::default(), 0);
    // How the parts of each digit differ in place.
    let mut apart: Vec<[f64; 3]> = Vec::new();
    // Which cells are of the face with more ink.
    let mut heavy: Vec<(usize, f64)> = Vec::new();
    for (cells, alike) in kinds.filter(|(cells, _)| cells.len() >= FEWEST) {
        let kernel = kernel(alike);
        let part = parted(&kernel);
        likeness.add(of_kernel(&kernel, &part));
        count += cells.len();
        let inked: Vec<(usize, f64)> =
            cells.iter().zip(&part).filter_map(|(&cell, &part)| Some((usize::from(part), amounts[cell]?))).collect();
        ink.add(of_groups(&inked));
        let placed =
            |i: usize| cells.iter().zip(&part).filter_map(|(&cell, &part)| Some((usize::from(part), places[cell]?[i]))).collect::<Vec<_>>();
        let differs = |of: Vec<(usize, f64)>| mean_of(group(&of, 1)).1 - mean_of(group(&of, 0)).1;
        if part.contains(&true) && part.contains(&false) {
            apart.push(std::array::from_fn(|i| differs(placed(i))));
        }
        let second = mean_of(group(&inked, 1)).1 > mean_of(group(&inked, 0)).1;
        heavy.extend(cells.iter().zip(&part).map(|(&cell, &part)| (cell, if part == second { 1.0 } else { 0.0 })));
    }
    let by =
        |place: fn(usize) -> usize| of_groups(&heavy.iter().map(|&(cell, heavy)| (place(cell), heavy)).collect::<Vec<_>>()).explained();
    let boxes: [fn(usize) -> usize; 3] = [|cell| cell / 9 % 3, |cell| cell % 3, |cell| cell / 27 * 3 + cell % 9 / 3];
    let are_two = likeness.explained() > LIKENESS
        && likeness.all > VARIES * count as f64
        && ink.explained() > INK
        && boxes.into_iter().all(|place| by(place) < PLACE);
    let square = |i: usize| mean_of(apart.iter().map(|apart| apart[i] * apart[i])).1;
    let are_set_alike = !apart.is_empty() && SET_ALIKE.iter().enumerate().all(|(i, most)| square(i) < most * most);
    Faces { are_two, are_set_alike }
}

/// Sums of squares: between groups, and all.
#[derive(Clone, Copy, Default)]
struct Spread {
    between: f64,
    all: f64,
}

impl Spread {
    fn add(&mut self, other: Self) {
        self.between += other.between;
        self.all += other.all;
    }

    fn explained(&self) -> f64 {
        self.between / self.all.max(f64::MIN_POSITIVE)
    }
}

/// Of numbers, each with its group's.
fn of_groups(values: &[(usize, f64)]) -> Spread {
    let (_, mean) = mean_of(values.iter().map(|(_, value)| *value));
    let most = values.iter().map(|(group, _)| group + 1).max().unwrap_or(0);
    let between = (0..most).map(|of| {
        let (count, own) = mean_of(group(values, of));
        count * (own - mean).powi(2)
    });
    Spread { between: between.sum(), all: values.iter().map(|(_, value)| (value - mean).powi(2)).sum() }
}

fn group(values: &[(usize, f64)], of: usize) -> impl Iterator<Item = f64> {
    values.iter().filter(move |(group, _)| *group == of).map(|(_, value)| *value)
}

/// How many values there are, and their mean; 0 where there are none.
fn mean_of(values: impl Iterator<Item = f64>) -> (f64, f64) {
    let (count, sum) = values.fold((0.0, 0.0), |(count, sum), value| (count + 1.0, sum + value));
    (count, sum / f64::max(count, 1.0))
}

/// Likenesses as a kernel: a cell is as like itself as it is to the one it is most alike, so that noise, of which each has its own, doesn't count.
fn kernel(alike: &[Vec<f32>]) -> Vec<Vec<f64>> {
    let mut kernel: Vec<Vec<f64>> = alike.iter().map(|row| row.iter().map(|&likeness| f64::from(likeness)).collect()).collect();
    for (n, row) in kernel.iter_mut().enumerate() {
        row[n] = row.iter().enumerate().filter(|(other, _)| *other != n).map(|(_, likeness)| *likeness).fold(-1.0, f64::max);
    }
    kernel
}

/// For each cell of one digit which of two parts it is of.
fn parted(kernel: &[Vec<f64>]) -> Vec<bool> {
    const ROUNDS: usize = 2;
    let count = kernel.len();
    let pairs = (0..count).flat_map(|a| (0..a).map(move |b| (a, b)));
    let (a, b) = pairs.min_by(|x, y| kernel[x.0][x.1].total_cmp(&kernel[y.0][y.1])).unwrap_or_default();
    let mut part: Vec<bool> = (0..count).map(|n| n != a && (n == b || kernel[n][b] >= kernel[n][a])).collect();
    for _ in 0..ROUNDS {
        // How near a cell is to the middle of each part, but for what is the same for both.
        let near = |n: usize, of: bool| mean(kernel, &part, |m| m == n, of) - within(kernel, &part, of) / 2.0;
        let moved: Vec<bool> = (0..count).map(|n| near(n, true) >= near(n, false)).collect();
        part = moved;
    }
    part
}

/// The mean of the kernel between the cells that `from` picks and those of a part; 0 where there are none.
fn mean(kernel: &[Vec<f64>], part: &[bool], from: impl Fn(usize) -> bool, of: bool) -> f64 {
    let rows = kernel.iter().enumerate().filter(|(n, _)| from(*n));
    let values = rows.flat_map(|(_, row)| row.iter().zip(part).filter(|(_, part)| **part == of).map(|(value, _)| *value));
    mean_of(values).1
}

fn within(kernel: &[Vec<f64>], part: &[bool], of: bool) -> f64 {
    mean(kernel, part, |n| part[n] == of, of)
}

/// The spread in the space of the kernel.
fn of_kernel(kernel: &[Vec<f64>], part: &[bool]) -> Spread {
    let count = kernel.len() as f64;
    let all = kernel.iter().enumerate().map(|(n, row)| row[n] - row.iter().sum::<f64>() / count).sum();
    let first = part.iter().filter(|part| **part).count() as f64;
    // One cell alone is no face.
    if first < 2.0 || first > count - 2.0 {
        return Spread { between: 0.0, all };
    }
    let apart = within(kernel, part, true) + within(kernel, part, false) - 2.0 * mean(kernel, part, |n| part[n], false);
    Spread { between: first * (count - first) / count * apart, all }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is told of nine digits with nine cells each, digit `d` in row `r` at `(d + 3 r + r / 3) % 9`: all alike but for those of which `second` says another face,
    /// which stands `right` of the first.
    fn faces(second: impl Fn(usize) -> bool, right: f64) -> Faces {
        let noise = |a: usize, b: usize| 0.01 * ((a * b * 7 + a + b) % 3) as f32;
        let likeness = |a: usize, b: usize| if second(a) == second(b) { 0.97 } else { 0.8 } - noise(a, b);
        let cells: [Vec<usize>; 9] = std::array::from_fn(|digit| (0..9).map(|row| 9 * row + (digit + 3 * row + row / 3) % 9).collect());
        let alike =
            cells.each_ref().map(|cells| cells.iter().map(|&a| cells.iter().map(|&b| likeness(a, b)).collect()).collect::<Vec<_>>());
        let places = std::array::from_fn(|cell| Some([0.6, if second(cell) { right } else { 0.0 } + 0.005 * (cell % 3) as f64, 0.0]));
        let amounts = std::array::from_fn(|cell| Some(if second(cell) { 3.4 } else { 3.2 } + 0.01 * (cell % 4) as f64));
        parts(cells.iter().zip(&alike).map(|(cells, alike)| (&cells[..], &alike[..])), &amounts, &places)
    }

    #[test]
    fn two_faces_that_mix_are_told_from_one() {
        assert!(faces(|cell| cell * 29 % 81 < 30, 0.0).are_two);
        assert!(!faces(|_| false, 0.0).are_two);
    }

    #[test]
    fn what_keeps_to_its_places_is_a_tint_or_a_line() {
        assert!(!faces(|cell| (cell / 27 * 3 + cell % 9 / 3) % 2 == 0, 0.0).are_two);
        assert!(!faces(|cell| cell / 9 % 3 == 2, 0.0).are_two);
    }

    #[test]
    fn two_faces_of_one_printer_stand_alike() {
        assert!(faces(|cell| cell * 29 % 81 < 30, 0.01).are_set_alike);
        assert!(!faces(|cell| cell * 29 % 81 < 30, 0.04).are_set_alike);
    }
}
