//! What a line of text says.

use image::GrayImage;
use ndarray::{ArrayD, Axis, Ix3, IxDyn};

use super::cyrillic::restored;
use super::spell::{Spelling, spellings, without_grades};
use super::surroundings::{Line, STRIP, Surroundings};
use crate::net::{NetError, Network};

/// The characters that can be read; the network's class 0 is none of them (the blank of CTC, Graves et al. 2006), class 1 the first. As
/// `ALPHABET` of `scripts/label/lines.py`. A network may know only the first of them: what is added comes last.
const ALPHABET: &str = " 0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz.,:;-#()/'&!?+*°º\
    àáâãäçèéêëìíîïñòóôõöùúûüßÀÁÂÃÄÇÈÉÊËÌÍÎÏÑÒÓÔÕÖÙÚÛÜ[]åæøÅÆØ\
    ąćęłńśźżčďěňřšťůžýőűğışășțđĄĆĘŁŃŚŹŻČĎĚŇŘŠŤŮŽÝŐŰĞİŞĂȘȚĐ\
    БГДЖЗИЙЛПУФЦЧШЩЪЫЬЭЮЯЄҐЂЉЊЋЏбвгджзийклмнптфцчшщъыьэюяґєђљњћџ\
    №§–—·•|=«»„“”’%@★_第問題号回";
/// The network is run at widths from the first to the second that are multiples of the third; a longer line is not read.
const WIDTHS: (u32, u32, u32) = (64, 384, 32);
/// One pixel of a text in so many may be darker or brighter than what counts.
const RARE: usize = 100;
/// Grey levels added to a line's spread, so that blank paper isn't blown up.
const LEAST_SPREAD: f32 = 4.0;

/// The width at which a line is read; `None` where it is too long for a label.
pub(super) fn padded(line: &Line) -> Option<u32> {
    let (least, most, step) = WIDTHS;
    Some(Surroundings::strip_width(line).next_multiple_of(step).max(least)).filter(|&wide| wide <= most)
}

/// The brightness of a strip's pixels, kept to what occurs where the text stands: a page beside a black bar or a frame leaves letters no contrast.
fn within_text(strip: &GrayImage) -> Vec<f32> {
    let [left, top, right, bottom] = Surroundings::text_in(strip, 0).map(|edge| edge as usize);
    let mut counts = [0_usize; 256];
    for row in strip.as_raw().chunks_exact(strip.width().max(1) as usize).take(bottom).skip(top) {
        row[left.min(right)..right].iter().for_each(|&value| counts[usize::from(value)] += 1);
    }
    let odd = counts.iter().sum::<usize>() / RARE;
    let low = first_beyond(odd, (0..=u8::MAX).map(|value| (value, counts[usize::from(value)]))).unwrap_or(0);
    let high = first_beyond(odd, (0..=u8::MAX).rev().map(|value| (value, counts[usize::from(value)]))).unwrap_or(u8::MAX);
    strip.as_raw().iter().map(|value| f32::from((*value).clamp(low, high))).collect()
}

/// The first value with which more than `odd` are passed, of values and their counts.
fn first_beyond(odd: usize, values: impl Iterator<Item = (u8, usize)>) -> Option<u8> {
    let passed = values.scan(0, |passed, (value, count)| {
        *passed += count;
        Some((value, *passed))
    });
    passed.filter(|(_, passed)| *passed > odd).map(|(value, _)| value).next()
}

/// What `line` may say, but for how hard the puzzle is behind its number, the likeliest first; nothing where it is too long for a label or says nothing.
/// The network takes `[1, 1, STRIP, W]` and gives log probabilities `[1, W / 4, classes]`.
pub(super) fn read(network: &Network, luma: &GrayImage, around: &Surroundings, line: &Line) -> Result<Vec<Spelling>, NetError> {
    let width = Surroundings::strip_width(line);
    let Some(wide) = padded(line) else { return Ok(Vec::new()) };
    let strip = around.flatten_line(luma, line, 0);
    let values = within_text(&strip);
    let mean = values.iter().sum::<f32>() / values.len() as f32;
    let spread = (values.iter().map(|value| (value - mean).powi(2)).sum::<f32>() / values.len() as f32).sqrt();
    let mut input = vec![0.0; (STRIP * wide) as usize];
    for (input, values) in input.chunks_exact_mut(wide as usize).zip(values.chunks_exact(width as usize)) {
        input.iter_mut().zip(values).for_each(|(input, value)| *input = (value - mean) / (spread + LEAST_SPREAD));
    }
    let input =
        ArrayD::from_shape_vec(IxDyn(&[1, 1, STRIP as usize, wide as usize]), input).map_err(|error| NetError::Run(error.to_string()))?;
    let alphabet: Vec<char> = ALPHABET.chars().collect();
    let classes = alphabet.len() + 1;
    let output = network.run(input.view())?.into_iter().next().and_then(|output| output.into_dimensionality::<Ix3>().ok());
    let output = output.filter(|output| output.shape()[0] == 1 && (2..=classes).contains(&output.shape()[2]));
    let output = output.ok_or_else(|| NetError::Weights(format!("the label reader's output is not [1, W, 2 to {classes}]")))?;
    let spelled = spellings(&output.index_axis(Axis(0), 0), &alphabet);
    Ok(without_grades(spelled.into_iter().map(|spelling| Spelling { said: restored(&spelling.said), ..spelling }).collect()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_brighter_beside_a_text_takes_it_no_contrast() {
        // Grey letters on black, white paper above them.
        let strip = GrayImage::from_fn(60, STRIP, |x, y| {
            image::Luma([if y < 3 {
                250
            } else if x % 8 < 3 {
                90
            } else {
                20
            }])
        });
        let values = within_text(&strip);
        let most = values.iter().copied().fold(0.0, f32::max);
        assert_eq!((values[0], most), (90.0, 90.0));
    }
}
