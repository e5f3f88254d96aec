//! What a line of text says.

use image::GrayImage;
use ndarray::{ArrayD, Axis, Ix3, IxDyn};

use super::spell::{Spelling, spellings};
use super::surroundings::{Line, STRIP, Surroundings};
use crate::net::{NetError, Network};

/// The characters that can be read; the network's class 0 is none of them (the blank of CTC, Graves et al. 2006), class 1 the first. As
/// `ALPHABET` of `scripts/label/lines.py`.
const ALPHABET: &str = " 0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz.,:;-#()/'&!?+*°º\
    àáâãäçèéêëìíîïñòóôõöùúûüßÀÁÂÃÄÇÈÉÊËÌÍÎÏÑÒÓÔÕÖÙÚÛÜ";
/// Widths at which the network is run; a longer line is not read.
const WIDTHS: [u32; 6] = [64, 96, 128, 192, 256, 384];
/// Grey levels added to a line's spread, so that blank paper isn't blown up.
const LEAST_SPREAD: f32 = 4.0;

/// The width at which a line is read; `None` where it is too long for a label.
pub(super) fn padded(line: &Line) -> Option<u32> {
    let width = Surroundings::strip_width(line);
    WIDTHS.into_iter().find(|&wide| wide >= width)
}

/// What `line` may say, the likeliest first; nothing where it is too long for a label or says nothing. The network takes `[1, 1, STRIP, W]` and gives log
/// probabilities `[1, W / 4, classes]`.
pub(super) fn read(network: &Network, luma: &GrayImage, around: &Surroundings, line: &Line) -> Result<Vec<Spelling>, NetError> {
    let width = Surroundings::strip_width(line);
    let Some(wide) = padded(line) else { return Ok(Vec::new()) };
    let strip = around.flatten_line(luma, line, 0);
    let values: Vec<f32> = strip.as_raw().iter().map(|&value| f32::from(value)).collect();
    let mean = values.iter().sum::<f32>() / values.len() as f32;
    let spread = (values.iter().map(|value| (value - mean).powi(2)).sum::<f32>() / values.len() as f32).sqrt();
    let input = ArrayD::from_shape_fn(IxDyn(&[1, 1, STRIP as usize, wide as usize]), |at| {
        if at[3] < width as usize { (values[at[2] * width as usize + at[3]] - mean) / (spread + LEAST_SPREAD) } else { 0.0 }
    });
    let alphabet: Vec<char> = ALPHABET.chars().collect();
    let classes = alphabet.len() + 1;
    let output = network.run(input.view())?.into_iter().next().and_then(|output| output.into_dimensionality::<Ix3>().ok());
    let output = output.filter(|output| output.shape()[0] == 1 && output.shape()[2] == classes);
    let output = output.ok_or_else(|| NetError::Weights(format!("the label reader's output is not [1, W, {classes}]")))?;
    Ok(spellings(&output.index_axis(Axis(0), 0), &alphabet))
}
