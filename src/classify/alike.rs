//! Whether digits are copies of each other, as a network sees it that was trained to tell nothing else.
//!
//! It gives the picture of a digit a place: two prints of one digit lie near each other, whatever the typeface, and two that a hand wrote don't (contrastive learning, Hadsell et al.
//! 2006; `scripts/train/alike.py`). The correlation of [`super::copies`] costs less and tells less: of 5,181 entries on a drawer's clean pages it finds 5 % as near to print of their
//! digit as 99 % of print is, a network as this one 0.1 %.

use ndarray::{Array4, ArrayD, Axis, concatenate};

use super::Evidence;
use crate::cut::Cells;
use crate::net::{NetError, Network};

/// Log odds that two pictures at one place are copies; the same number stands in `scripts/train/alike.py`.
const LEVEL: f64 = 5.0;
/// Of a cell in which no digit is likelier than this it isn't asked which others are like it.
const LIKELY: f64 = 0.5;

/// Two cells that hold one digit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pair {
    /// Their numbers, 0 to 80, the lower first.
    pub cells: [usize; 2],
    /// The log odds that they are copies.
    pub odds: f64,
}

/// The network that tells copies.
pub struct AlikeReader(Network);

impl AlikeReader {
    /// The reader in the bytes of an ONNX file: pictures of cells `[N, 3, S, S]` (S: 48) to places `[N, D]` and how unsure each is `[N, 1]`.
    ///
    /// # Errors
    /// Where the bytes are no network.
    pub fn from_onnx(bytes: &[u8]) -> Result<Self, NetError> {
        Ok(Self(Network::from_onnx(bytes)?))
    }

    /// Every two cells that hold one digit, printed or written, with the log odds that they are copies, as print is. Which digit a cell holds is told by `looks` at the same cells.
    ///
    /// # Errors
    /// Where the network can't be run, or takes cells of another size.
    pub fn look(&self, cells: &Cells, looks: &[Evidence]) -> Result<Vec<Pair>, NetError> {
        let digit = |cell: usize| (1..10).find(|&digit| holds(looks, cell, digit));
        let held: Vec<(usize, usize)> = (0..81).filter_map(|cell| Some((cell, digit(cell)?))).collect();
        let pictures: Vec<_> = held.iter().map(|&(cell, _)| cells.images.slice(ndarray::s![cell..=cell, .., .., ..])).collect();
        let Ok(pictures): Result<Array4<f32>, _> = concatenate(Axis(0), &pictures) else { return Ok(Vec::new()) };
        let outputs = self.0.run(pictures.view().into_dyn())?;
        let (places, unsure) = match outputs.as_slice() {
            [places, unsure] if places.shape().first() == Some(&held.len()) && unsure.len() == held.len() => (places, unsure),
            _ => return Err(NetError::Weights("the network that tells copies gives no places".into())),
        };
        let unsure: Vec<f64> = unsure.iter().map(|&unsure| f64::from(unsure)).collect();
        let two = (0..held.len()).flat_map(|b| (0..b).map(move |a| (a, b))).filter(|&(a, b)| held[a].1 == held[b].1);
        let pair =
            |(a, b): (usize, usize)| Pair { cells: [held[a].0, held[b].0], odds: LEVEL - distance(places, a, b) / (unsure[a] + unsure[b]) };
        Ok(two.map(pair).collect())
    }
}

/// The square of how far two places are apart.
fn distance(places: &ArrayD<f32>, a: usize, b: usize) -> f64 {
    let (a, b) = (places.index_axis(Axis(0), a), places.index_axis(Axis(0), b));
    a.iter().zip(b).map(|(a, b)| f64::from(a - b).powi(2)).sum()
}

/// Whether the looks together see the digit in a cell, printed or written.
fn holds(looks: &[Evidence], cell: usize, digit: usize) -> bool {
    let seen: f64 = looks.iter().map(|look| look.cells[cell][digit] + look.cells[cell][digit + 9]).sum();
    seen > LIKELY * looks.len() as f64
}
