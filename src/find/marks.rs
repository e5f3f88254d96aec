//! The network's look at a shrunken page.

use image::GrayImage;
use ndarray::{ArrayD, IxDyn};

use crate::decode::even;
use crate::net::{NetError, Network};
use crate::plane::Point;

/// The network that marks crossings, ready to run.
pub struct Finder {
    network: Network,
}

/// One marked crossing.
#[derive(Clone, Copy, Debug)]
pub(super) struct Crossing {
    /// Where, in pixels of the shrunken page.
    pub(super) place: Point,
    /// Whether it is a crossing of a 9x9 grid, 0 to 1.
    pub(super) strength: f32,
    /// Whether it is a corner of a box, 0 to 1.
    pub(super) boxed: f32,
    /// Whether it lies on the rim of its grid, 0 to 1.
    pub(super) rim: f32,
}

/// Pixels of the shrunken page for each cell of the network's output.
const STRIDE: f32 = 4.0;
/// Crossings weaker than this are not considered: low, since growing weighs them together.
const WEAKEST: f32 = 0.15;
/// How far around a pixel its light is evened, as in `scripts/train/find.py`.
const REACH: usize = 24;
/// The network halves the page this often: sides are padded to a multiple of 2 to this power.
const HALVINGS: u32 = 5;

impl Finder {
    /// The finder in the bytes of an ONNX file: luma `[1, 1, H, W]` (0 to 1) to marks `[1, 6, H/4, W/4]`.
    ///
    /// # Errors
    /// Where the bytes are no such network.
    pub fn from_onnx(bytes: &[u8]) -> Result<Self, NetError> {
        Ok(Self { network: Network::from_onnx(bytes)? })
    }

    pub(super) fn mark(&self, luma: &GrayImage) -> Result<Vec<Crossing>, NetError> {
        let unit = 1 << HALVINGS;
        let (width, height) = (luma.width().next_multiple_of(unit), luma.height().next_multiple_of(unit));
        let even = even(luma, REACH);
        let stride = luma.width() as usize;
        // Beyond the page its last row and column go on.
        let mut padded = Vec::with_capacity((width * height) as usize);
        for y in 0..height {
            let row = &even[y.min(luma.height() - 1) as usize * stride..][..stride];
            padded.extend_from_slice(row);
            padded.resize(padded.len() + width as usize - stride, row[stride - 1]);
        }
        let input = ArrayD::from_shape_vec(IxDyn(&[1, 1, height as usize, width as usize]), padded);
        let input = input.map_err(|error| NetError::Run(error.to_string()))?;
        let outputs = self.network.run(input.view())?;
        let marks = outputs.into_iter().next().filter(|marks| marks.ndim() == 4 && marks.shape()[1] == 6);
        let marks = marks.ok_or_else(|| NetError::Weights("the finder's output is not [1, 6, H, W]".into()))?;
        Ok(peaks(&marks))
    }
}

/// Local maxima of the crossing map, moved by the offsets that the network gives.
fn peaks(marks: &ArrayD<f32>) -> Vec<Crossing> {
    let (rows, columns) = (marks.shape()[2], marks.shape()[3]);
    let at = |channel: usize, row: usize, column: usize| marks[[0, channel, row, column].as_slice()];
    let lowest = -(1.0 / WEAKEST - 1.0).ln();
    let mut found = Vec::new();
    for row in 0..rows {
        for column in 0..columns {
            let value = at(0, row, column);
            if value < lowest {
                continue;
            }
            let around = || {
                (row.saturating_sub(1)..(row + 2).min(rows))
                    .flat_map(|r| (column.saturating_sub(1)..(column + 2).min(columns)).map(move |c| (r, c)))
            };
            // Equal neighbours: the first in reading order is the peak.
            if around().any(|(r, c)| (r, c) != (row, column) && (at(0, r, c) > value || (at(0, r, c) == value && (r, c) < (row, column)))) {
                continue;
            }
            let most = |channel| sigmoid(around().map(|(r, c)| at(channel, r, c)).fold(f32::NEG_INFINITY, f32::max));
            let place = |index: usize, offset: f32| (index as f32 + offset.clamp(-1.0, 1.0)) * STRIDE + (STRIDE - 1.0) / 2.0;
            found.push(Crossing {
                place: Point::new(place(column, at(4, row, column)), place(row, at(5, row, column))),
                strength: sigmoid(value),
                boxed: most(1),
                rim: most(2),
            });
        }
    }
    found
}

fn sigmoid(x: f32) -> f32 {
    1.0 / (1.0 + (-x).exp())
}
