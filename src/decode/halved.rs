//! A plane of a JPEG file at half its size, made from the coarse half of each block's frequencies.

use super::entropy::Low;
use super::whole;

/// Pixels of a block at half the size, along each side.
const SIDE: usize = 4;

/// One component of the picture, in whole blocks.
pub struct Plane {
    pixels: Vec<u8>,
    stride: usize,
    /// Width and height without what fills the last blocks.
    pub size: (usize, usize),
}

impl Plane {
    /// A black plane of so many blocks across and down, of which `size` pixels are the picture.
    pub fn new(blocks: (usize, usize), size: (usize, usize)) -> Self {
        let stride = blocks.0 * SIDE;
        Self { pixels: vec![0; stride * blocks.1 * SIDE], stride, size }
    }

    /// Draws the block at column and row `place` from its coefficients and their steps; one that doesn't vary is its mean alone. A block beyond the
    /// plane is left out.
    pub fn put(&mut self, place: (usize, usize), low: &Low, steps: &Low, varies: bool) {
        let first = place.1 * SIDE * self.stride + place.0 * SIDE;
        let Some(pixels) = self.pixels.get_mut(first..) else { return };
        let block = if varies { inverse(low, steps) } else { [[byte(low[0] as f32 * steps[0] as f32 / 8.0); SIDE]; SIDE] };
        for (row, values) in pixels.chunks_mut(self.stride).zip(block) {
            if let Some(row) = row.first_chunk_mut() {
                *row = values;
            }
        }
    }

    /// The picture, row by row.
    pub fn into_pixels(mut self) -> Vec<u8> {
        let (width, height) = self.size;
        for row in 1..height {
            self.pixels.copy_within(row * self.stride..row * self.stride + width, row * width);
        }
        self.pixels.truncate(width * height);
        self.pixels
    }
}

fn byte(value: f32) -> u8 {
    whole((value + 128.5).clamp(0.0, 255.0)) as u8
}

/// The inverse cosine transform of four by four: of the 8x8 block's frequencies the lower half in each direction, which is the block at half its
/// size without what would alias.
fn inverse(low: &Low, steps: &Low) -> [[u8; SIDE]; SIDE] {
    // Half of 1, and halves of the square root of 2 times the cosines of an eighth and of three eighths of a half turn; and a half more on one of the
    // two directions, since the block's scale is that of 8x8.
    let mut rows = [[0.0; SIDE]; SIDE];
    let scaled = low.iter().zip(steps).map(|(&low, &step)| low as f32 * step as f32 * 0.5);
    rows.as_flattened_mut().iter_mut().zip(scaled).for_each(|(value, scaled)| *value = scaled);
    let values = turned(across(turned(across(rows))));
    let mut block = [[0; SIDE]; SIDE];
    block.as_flattened_mut().iter_mut().zip(values.as_flattened()).for_each(|(pixel, &value)| *pixel = byte(value));
    block
}

/// The inverse transform along the first index.
#[inline(always)]
fn across(x: [[f32; SIDE]; SIDE]) -> [[f32; SIDE]; SIDE] {
    const LONG: f32 = 0.653_281_5;
    const SHORT: f32 = 0.270_598_05;
    let mut out = [[0.0; SIDE]; SIDE];
    for i in 0..SIDE {
        let (sum, difference) = (0.5 * (x[0][i] + x[2][i]), 0.5 * (x[0][i] - x[2][i]));
        let (long, short) = (LONG * x[1][i] + SHORT * x[3][i], SHORT * x[1][i] - LONG * x[3][i]);
        (out[0][i], out[1][i], out[2][i], out[3][i]) = (sum + long, difference + short, difference - short, sum - long);
    }
    out
}

#[inline(always)]
fn turned(x: [[f32; SIDE]; SIDE]) -> [[f32; SIDE]; SIDE] {
    let mut out = [[0.0; SIDE]; SIDE];
    for i in 0..SIDE {
        for k in 0..SIDE {
            out[i][k] = x[k][i];
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use image::{RgbImage, codecs::jpeg::JpegEncoder};
    use proptest::prelude::*;

    use super::super::{Options, open, wholeness};
    use super::*;

    /// The plane at half its size as it follows from the whole one, 8x8 pixels by 8x8.
    fn halved(width: usize, height: usize, pixel: impl Fn(usize, usize) -> u8) -> Vec<Vec<u8>> {
        let mut half = vec![vec![0; width / 2]; height / 2];
        for (top, left) in (0..height).step_by(8).flat_map(|top| (0..width).step_by(8).map(move |left| (top, left))) {
            let block = std::array::from_fn(|y| std::array::from_fn(|x| f32::from(pixel(left + x, top + y)) - 128.0));
            let coefficients = forward(&block);
            let mut low = [0; 17];
            (0..16).for_each(|i| low[i] = (coefficients[i / 4][i % 4]).round() as i32);
            for (y, row) in inverse(&low, &[1; 17]).into_iter().enumerate() {
                half[top / 2 + y][left / 2..left / 2 + SIDE].copy_from_slice(&row);
            }
        }
        half
    }

    /// Every pixel of the file's brightness against what the other decoder makes of it.
    fn check(file: &[u8], width: u32, height: u32) {
        let page = open(file, &Options::default()).expect("a picture").next().expect("a page").expect("decoded");
        let planes = wholeness::halved(file, (width, height)).expect("a whole file");
        // Blocks at the right and lower edge that aren't whole can't be told from what is seen of them.
        let (across, down) = (width as usize / 8 * 8, height as usize / 8 * 8);
        let expected = halved(across, down, |x, y| page.luma.get_pixel(x as u32, y as u32).0[0]);
        let stride = planes[0].size.0;
        let pixels = planes.into_iter().next().expect("brightness").into_pixels();
        for (y, row) in expected.iter().enumerate() {
            for (x, &value) in row.iter().enumerate() {
                assert!(pixels[y * stride + x].abs_diff(value) <= 3, "{} for {value} at {x}, {y}", pixels[y * stride + x]);
            }
        }
    }

    #[test]
    fn restart_markers_are_passed() {
        check(include_bytes!("../../tests/data/restarts.jpg"), 61, 47);
    }

    #[test]
    fn progressive_files_are_read_too() {
        check(include_bytes!("../../tests/data/progressive.jpg"), 61, 47);
    }

    #[test]
    fn what_is_damaged_is_left_to_others() {
        for file in [&include_bytes!("../../tests/data/restarts.jpg")[..], include_bytes!("../../tests/data/progressive.jpg")] {
            for end in 2..file.len() {
                assert!(wholeness::halved(&file[..end], (61, 47)).is_none(), "cut to {end}");
            }
        }
    }

    /// The cosine transform of a block of 8x8 as T.81 (A.3.3) has it.
    fn forward(block: &[[f32; 8]; 8]) -> [[f32; 8]; 8] {
        let c = |u: usize| if u == 0 { std::f32::consts::FRAC_1_SQRT_2 } else { 1.0 };
        let cosine = |x: usize, u: usize| ((2 * x + 1) as f32 * u as f32 * std::f32::consts::PI / 16.0).cos();
        std::array::from_fn(|v| {
            std::array::from_fn(|u| {
                let sum: f32 = (0..64).map(|i| block[i / 8][i % 8] * cosine(i % 8, u) * cosine(i / 8, v)).sum();
                0.25 * c(u) * c(v) * sum
            })
        })
    }

    proptest! {
        #[test]
        fn both_decoders_agree(seed in any::<u32>(), width in 1..80_u32, height in 1..80_u32, quality in 20..=100_u8, noise in 0..60_u32) {
            // Neither so dark nor so bright that either decoder clips.
            let value = |x: u32, y: u32, c: u32| {
                let speck = seed.wrapping_mul(747_796_405).wrapping_add(x * 7919 + y * 104_729 + c * 1_299_709).wrapping_mul(2_891_336_453) >> 16;
                (100 + x / 4 + y / 4 + speck % (noise + 1)) as u8
            };
            let picture = RgbImage::from_fn(width, height, |x, y| image::Rgb([value(x, y, 0), value(x, y, 1), value(x, y, 2)]));
            let mut file = Vec::new();
            JpegEncoder::new_with_quality(&mut file, quality).encode_image(&picture).expect("memory takes it");
            check(&file, width, height);
        }

        #[test]
        fn any_bytes_are_borne(progressive: bool, changes in prop::collection::vec((0..4000_usize, any::<u8>()), 1..20)) {
            let files = [&include_bytes!("../../tests/data/restarts.jpg")[..], include_bytes!("../../tests/data/progressive.jpg")];
            let mut file = files[usize::from(progressive)].to_vec();
            for (place, value) in changes {
                let place = 2 + place % (file.len() - 2);
                file[place] = value;
            }
            let _ = wholeness::halved(&file, (61, 47));
        }

        /// A smooth block at half its size is the block's means of two by two.
        #[test]
        fn smooth_blocks_are_halved(level in -60.0_f32..60.0, right in -6.0_f32..6.0, down in -6.0_f32..6.0) {
            let block: [[f32; 8]; 8] = std::array::from_fn(|y| std::array::from_fn(|x| level + right * (x as f32 - 3.5) + down * (y as f32 - 3.5)));
            let coefficients = forward(&block);
            let mut low = [0; 17];
            (0..16).for_each(|i| low[i] = (16.0 * coefficients[i / 4][i % 4]).round() as i32);
            // Steps are whole numbers: the coefficients are told in sixteenths, and the picture shrunk as much.
            let picture = inverse(&low, &[1; 17]);
            let far = (0..16).map(|i| {
                let (x, y) = (i % 4, i / 4);
                let mean = level + right * (2.0 * x as f32 - 3.0) + down * (2.0 * y as f32 - 3.0);
                (f32::from(picture[y][x]) - (16.0 * mean + 128.0).clamp(0.0, 255.0)).abs()
            });
            prop_assert!(far.fold(0.0, f32::max) < 16.0 * 2.0, "{picture:?}");
        }
    }
}
