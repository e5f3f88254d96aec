//! Turns cell images into calibrated probabilities.
//!
//! One network sees all 81 cells of a grid at once: what is print on a page shows by comparing its cells. It
//! doesn't know where a cell lies in the grid, so it can't have learnt the rules of the puzzle: its word is
//! evidence from the picture alone.

mod alike;
mod copies;
mod faces;
mod ink;

use ndarray::{ArrayD, Axis};

pub use alike::{AlikeReader, Pair};
pub use ink::{Ink, Inks};

use crate::cut::{Cells, FINE};
use crate::net::{NetError, Network};

/// Possibilities for one cell: empty, given 1 to 9, entry 1 to 9, marks, other.
pub const CLASSES: usize = 21;

/// What the pictures of one grid's cells say.
#[derive(Clone, Debug, PartialEq)]
pub struct Evidence {
    /// `[cell][class]`, each row summing to 1: class 0 is empty, 1 to 9 the givens, 10 to 18 the entries, 19
    /// marks, 20 other (covered, a stain, a letter, crossed out).
    pub cells: Vec<[f64; CLASSES]>,
    /// `[cell][digit - 1]`: if the cell holds marks, the probability that the digit is among them.
    pub marks: Vec<[f64; 9]>,
    /// Probabilities of the four turns that the print may have in these cells (0, 90, 180, 270 degrees
    /// clockwise), then of the same four mirrored; summing to 1.
    pub pose: [f64; 8],
    /// The probability that the grid shows regions beyond rows, columns and boxes.
    pub other_rules: f64,
    /// For each cell the probability that what is `other` in it is struck-out writing or a letter, under which nothing printed can lie; `None` where the
    /// network can't tell.
    pub struck: Option<[f64; 81]>,
}

/// Whatever can look at the cells of a grid: the network, or made-up scores in tests.
pub trait Classifier: Send + Sync {
    /// The evidence in the 81 cells of one grid.
    ///
    /// # Errors
    /// Where the network can't be run.
    fn classify(&self, cells: &Cells) -> Result<Evidence, NetError>;
}

/// The bundled network with its temperatures.
pub struct CellReader {
    network: Network,
    temperature: f64,
}

impl CellReader {
    /// The reader in the bytes of an ONNX file: cells `[1, 81, 3, S, S]` (S: 32 or 48) to class logits `[1, 81, 21]` or, with
    /// struck-out cells told apart from other ones, `[1, 81, 22]`, logits of marks `[1, 81, 9]` and logits of the whole `[1, 9]`. Class logits are divided by `temperature` (Guo et al.
    /// 2017, temperature scaling).
    ///
    /// # Errors
    /// Where the bytes are no network.
    pub fn from_onnx(bytes: &[u8], temperature: f64) -> Result<Self, NetError> {
        Ok(Self { network: Network::from_onnx(bytes)?, temperature })
    }
}

impl Classifier for CellReader {
    fn classify(&self, cells: &Cells) -> Result<Evidence, NetError> {
        self.look(cells, &Inks::measure(cells))
    }
}

impl CellReader {
    /// Whether it takes cells of [`FINE`] samples a side, not of [`SIDE`](crate::cut::SIDE).
    pub fn is_fine(&self) -> bool {
        self.network.input_width() == Some(FINE)
    }

    /// The evidence in the 81 cells of one grid whose ink is as measured, on this or another cut.
    ///
    /// # Errors
    /// Where the network can't be run, or takes cells of another size.
    pub fn look(&self, cells: &Cells, inks: &Inks) -> Result<Evidence, NetError> {
        let outputs = self.network.run(cells.images.view().insert_axis(Axis(0)).into_dyn())?;
        let [classes, marks, whole] = outputs.as_slice() else {
            return Err(NetError::Weights(format!("{} outputs of the reader instead of three", outputs.len())));
        };
        let shapes = [classes, marks, whole].map(ArrayD::shape);
        let tells_struck = shapes[0] == [1, 81, CLASSES + 1];
        if !tells_struck && shapes[0] != [1, 81, CLASSES] || shapes[1..] != [&[1, 81, 9][..], &[1, 9]] {
            return Err(NetError::Weights(format!("the reader's outputs are shaped {shapes:?}")));
        }
        let at = |array: &ArrayD<f32>, cell: usize, i: usize| f64::from(array[[0, cell, i]]);
        let sigmoid = |x: f64| 1.0 / (1.0 + (-x).exp());
        let struck = |cell: usize| sigmoid((at(classes, cell, CLASSES) - at(classes, cell, CLASSES - 1)) / self.temperature);
        let logit = |cell: usize, i: usize| match at(classes, cell, i) / self.temperature {
            // Both kinds of other.
            other if tells_struck && i == CLASSES - 1 => other - (1.0 - struck(cell)).max(f64::MIN_POSITIVE).ln(),
            logit => logit,
        };
        let mut evidence = Evidence {
            cells: (0..81).map(|cell| softmax(std::array::from_fn(|i| logit(cell, i)))).collect(),
            struck: tells_struck.then(|| std::array::from_fn(struck)),
            marks: (0..81).map(|cell| std::array::from_fn(|i| sigmoid(at(marks, cell, i)))).collect(),
            pose: softmax(std::array::from_fn(|i| f64::from(whole[[0, i]]))),
            other_rules: sigmoid(f64::from(whole[[0, 8]])),
        };
        ink::weigh(inks, &mut evidence);
        Ok(evidence)
    }
}

/// Weighs givens against entries by log odds of print; the row sums to 1 again.
pub(crate) fn lean_to_print(row: &mut [f64; CLASSES], odds: f64) {
    row[1..10].iter_mut().for_each(|p| *p *= (odds / 2.0).exp());
    row[10..19].iter_mut().for_each(|p| *p *= (-odds / 2.0).exp());
    let total: f64 = row.iter().sum();
    row.iter_mut().for_each(|p| *p /= total);
}

fn softmax<const N: usize>(logits: [f64; N]) -> [f64; N] {
    let most = logits.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let powers = logits.map(|logit| (logit - most).exp());
    let sum: f64 = powers.iter().sum();
    powers.map(|power| power / sum)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn softmax_sums_to_one_whatever_the_size() {
        let p = softmax([1000.0, 999.0, -1000.0]);
        assert!((p.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        assert!((p[0] / p[1] - std::f64::consts::E).abs() < 1e-9);
    }
}
