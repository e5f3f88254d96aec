//! What a line of text says.

use image::GrayImage;
use ndarray::{ArrayD, ArrayView2, Axis, Ix3, IxDyn};

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
    let output = network.run(input)?.into_iter().next().and_then(|output| output.into_dimensionality::<Ix3>().ok());
    let output = output.filter(|output| output.shape()[0] == 1 && output.shape()[2] == classes);
    let output = output.ok_or_else(|| NetError::Weights(format!("the label reader's output is not [1, W, {classes}]")))?;
    let steps = output.index_axis(Axis(0), 0);
    let codes = likeliest(&steps);
    let said: String = codes.iter().filter_map(|&code| ALPHABET.chars().nth(code - 1)).collect();
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    Ok((!said.is_empty()).then(|| Text { said, confidence: probability(&steps, &codes).exp() }))
}

/// The codes of the likeliest path: the likeliest class of each step, runs joined, blanks left out.
fn likeliest(steps: &ArrayView2<f32>) -> Vec<usize> {
    let mut codes = Vec::new();
    let mut before = 0;
    for step in steps.rows() {
        let best = step.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1)).map_or(0, |(code, _)| code);
        if best != 0 && best != before {
            codes.push(best);
        }
        before = best;
    }
    codes
}

/// The logarithm of the probability that all paths together give `codes` (the forward sums of Graves et al. 2006).
fn probability(steps: &ArrayView2<f32>, codes: &[usize]) -> f32 {
    // Blanks before, between and behind the codes.
    let states: Vec<usize> = (0..2 * codes.len() + 1).map(|i| if i % 2 == 0 { 0 } else { codes[i / 2] }).collect();
    let mut sums = vec![f32::NEG_INFINITY; states.len()];
    sums[0] = 0.0;
    for (time, step) in steps.rows().into_iter().enumerate() {
        let before = sums.clone();
        for (i, &state) in states.iter().enumerate() {
            let mut sum = before[i];
            // The first step starts at the first blank or the first code.
            if i >= 1 && (time > 0 || i == 1) {
                sum = added(sum, before[i - 1]);
            }
            if i >= 2 && state != 0 && state != states[i - 2] && time > 0 {
                sum = added(sum, before[i - 2]);
            }
            sums[i] = sum + step[state];
        }
    }
    let last = sums.len() - 1;
    if last == 0 { sums[0] } else { added(sums[last], sums[last - 1]) }
}

/// The logarithm of the sum of two numbers given by their logarithms.
fn added(a: f32, b: f32) -> f32 {
    let (high, low) = if a > b { (a, b) } else { (b, a) };
    if low == f32::NEG_INFINITY { high } else { high + (low - high).exp().ln_1p() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ndarray::array;

    #[test]
    fn runs_are_one_character_and_blanks_part_them() {
        let ln = |rows: ndarray::Array2<f32>| rows.mapv(f32::ln);
        let steps = ln(array![[0.1, 0.9], [0.1, 0.9], [0.9, 0.1], [0.2, 0.8]]);
        assert_eq!(likeliest(&steps.view()), [1, 1]);
        // Of the 16 paths of two classes, "1 1" is given by 1.1., .1.1, 1..1, 11.1 and 1.11.
        let (a, b) = ([0.9_f32, 0.9, 0.1, 0.8], [0.1_f32, 0.1, 0.9, 0.2]);
        let sum = a[0] * b[1] * a[2] * b[3]
            + b[0] * a[1] * b[2] * a[3]
            + a[0] * b[1] * b[2] * a[3]
            + a[0] * a[1] * b[2] * a[3]
            + a[0] * b[1] * a[2] * a[3];
        let found = probability(&steps.view(), &[1, 1]).exp();
        assert!((found - sum).abs() < 1e-5, "{found} for {sum}");
    }

    #[test]
    fn nothing_has_a_probability_too() {
        let steps = array![[0.5_f32, 0.5], [0.25, 0.75]].mapv(f32::ln);
        assert!((probability(&steps.view(), &[]).exp() - 0.125).abs() < 1e-6);
        assert!((probability(&steps.view(), &[1]).exp() - 0.875).abs() < 1e-6);
    }
}
