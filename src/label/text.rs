//! What a line of text says.

use image::GrayImage;
use ndarray::{ArrayD, ArrayView2, Axis, Ix3, IxDyn};

use super::lexicon::read_by_words;
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

/// What a line says, and the probability of that, 0 to 1.
pub(super) struct Text {
    pub(super) said: String,
    pub(super) confidence: f32,
}

/// What `line` says; `None` where it is too long for a label or says nothing. The network takes `[1, 1, STRIP, W]` and gives log
/// probabilities `[1, W / 4, classes]`.
pub(super) fn read(network: &Network, luma: &GrayImage, around: &Surroundings, line: &Line) -> Result<Option<Text>, NetError> {
    let width = Surroundings::strip_width(line);
    let Some(&wide) = WIDTHS.iter().find(|&&wide| wide >= width) else { return Ok(None) };
    let strip = around.flatten_line(luma, line);
    let values: Vec<f32> = strip.as_raw().iter().map(|&value| f32::from(value)).collect();
    let mean = values.iter().sum::<f32>() / values.len() as f32;
    let spread = (values.iter().map(|value| (value - mean).powi(2)).sum::<f32>() / values.len() as f32).sqrt();
    let input = ArrayD::from_shape_fn(IxDyn(&[1, 1, STRIP as usize, wide as usize]), |at| {
        if at[3] < width as usize { (values[at[2] * width as usize + at[3]] - mean) / (spread + LEAST_SPREAD) } else { 0.0 }
    });
    let classes = ALPHABET.chars().count() + 1;
    let output = network.run(input.view())?.into_iter().next().and_then(|output| output.into_dimensionality::<Ix3>().ok());
    let output = output.filter(|output| output.shape()[0] == 1 && output.shape()[2] == classes);
    let output = output.ok_or_else(|| NetError::Weights(format!("the label reader's output is not [1, W, {classes}]")))?;
    let steps = output.index_axis(Axis(0), 0);
    let read: Vec<(char, f32)> =
        likeliest(&steps).iter().filter_map(|&(code, sure)| Some((ALPHABET.chars().nth(code - 1)?, sure.exp()))).collect();
    let (said, confidence) = read_by_words(&read);
    Ok((!said.is_empty()).then_some(Text { said, confidence }))
}

/// The codes of the likeliest path (the likeliest class of each step, runs joined, blanks left out), and the greatest log probability of
/// each code's run.
fn likeliest(steps: &ArrayView2<f32>) -> Vec<(usize, f32)> {
    let mut codes: Vec<(usize, f32)> = Vec::new();
    let mut before = 0;
    for step in steps.rows() {
        let (best, &value) = step.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1)).unwrap_or((0, &0.0));
        match codes.last_mut() {
            Some((_, sure)) if best == before && best != 0 => *sure = sure.max(value),
            _ if best != 0 => codes.push((best, value)),
            _ => {}
        }
        before = best;
    }
    codes
}

#[cfg(test)]
mod tests {
    use super::*;
    use ndarray::array;

    #[test]
    fn runs_are_one_character_and_blanks_part_them() {
        let steps = array![[0.1_f32, 0.9], [0.2, 0.8], [0.9, 0.1], [0.3, 0.7]].mapv(f32::ln);
        let read = likeliest(&steps.view());
        assert_eq!(read.iter().map(|(code, _)| *code).collect::<Vec<_>>(), [1, 1]);
        assert!((read[0].1.exp() - 0.9).abs() < 1e-6 && (read[1].1.exp() - 0.7).abs() < 1e-6);
    }
}
