//! A plane of a JPEG file at half its size, made from the coarse half of each block's frequencies.

use super::entropy::{LOW, Low};
use super::wide;

/// Pixels of a block at half the size, along each side.
const SIDE: usize = 4;
/// Coefficients of a block: those that make its picture, and a last place for all others.
const PLACES: usize = SIDE * SIDE + 1;
/// Blocks that are drawn side by side.
const LANES: usize = 16;

/// One component of the picture, in whole blocks.
pub struct Plane {
    pixels: Vec<u8>,
    /// Blocks in a row.
    blocks: usize,
    /// Coefficients of the rows of blocks that are being read, not yet dequantised: row, place as in [`Low`], block.
    read: Vec<i16>,
    /// Where in a row of these each coefficient's place begins, in zigzag order.
    places: [u32; 64],
    /// Width and height without what fills the last blocks.
    pub size: (usize, usize),
}

impl Plane {
    /// A black plane of so many blocks across and down, of which `size` pixels are the picture. So many rows of blocks are read at once.
    pub fn new(blocks: (usize, usize), size: (usize, usize), rows: usize) -> Self {
        let across = blocks.0.next_multiple_of(LANES);
        let places = LOW.map(|place| u32::from(place) * across as u32);
        Self { pixels: vec![0; blocks.0 * blocks.1 * SIDE * SIDE], blocks: blocks.0, read: vec![0; rows * PLACES * across], places, size }
    }

    /// A block in one of the rows that are being read, to be filled.
    #[inline(always)]
    pub fn block(&mut self, row: usize, block: usize) -> Block<'_> {
        let first = row * PLACES * self.blocks.next_multiple_of(LANES) + block;
        Block { read: self.read.get_mut(first..).unwrap_or_default(), places: &self.places }
    }

    /// Draws the rows of blocks that were read, of which `first` is the first one, and begins anew. Rows beyond the plane are left out.
    pub fn draw(&mut self, first: usize, steps: &Low) {
        let stride = self.blocks * SIDE;
        let rows = self.pixels.chunks_exact_mut((stride * SIDE).max(1)).skip(first);
        let read = self.read.chunks_exact((PLACES * self.blocks.next_multiple_of(LANES)).max(1));
        wide(
            #[inline(always)]
            || {
                for (pixels, read) in rows.zip(read) {
                    draw_row(read, steps, pixels, stride);
                }
            },
        );
        self.read.fill(0);
    }

    /// The picture, row by row.
    pub fn into_pixels(mut self) -> Vec<u8> {
        let (width, height) = self.size;
        let stride = self.blocks * SIDE;
        for row in 1..height {
            self.pixels.copy_within(row * stride..row * stride + width, row * width);
        }
        self.pixels.truncate(width * height);
        self.pixels
    }
}

/// A block that takes its coefficients; one beyond the plane takes none.
pub struct Block<'plane> {
    read: &'plane mut [i16],
    places: &'plane [u32; 64],
}

impl Block<'_> {
    /// Takes a coefficient by its number in zigzag order, up to 63.
    #[inline(always)]
    pub fn take(&mut self, number: usize, value: i16) {
        if let Some(read) = self.places.get(number).and_then(|&place| self.read.get_mut(place as usize)) {
            *read = value;
        }
    }
}

/// One number for each of several blocks.
type Lanes = [f32; LANES];

/// Draws a row of blocks.
#[inline(always)]
fn draw_row(read: &[i16], steps: &Low, pixels: &mut [u8], stride: usize) {
    let across = read.len() / PLACES;
    for first in (0..across).step_by(LANES) {
        let mut low = [[0.0; LANES]; SIDE * SIDE];
        for (place, low) in low.iter_mut().enumerate() {
            // A half more on one of the two directions, since the block's scale is that of 8x8.
            let step = steps[place] as f32 * 0.5;
            for (low, &value) in low.iter_mut().zip(&read[place * across + first..][..LANES]) {
                *low = f32::from(value) * step;
            }
        }
        // The middle between black and white, of which a pixel's share is a quarter.
        low[0].iter_mut().for_each(|mean| *mean += 4.0 * 128.0);
        let drawn = inverse(&low);
        for (row, drawn) in pixels.chunks_exact_mut(stride).zip(drawn) {
            let row = &mut row[first * SIDE..];
            let width = row.len().min(LANES * SIDE);
            row[..width].copy_from_slice(&drawn.as_flattened()[..width]);
        }
    }
}

/// The inverse cosine transform of four by four: of the 8x8 block's frequencies the lower half in each direction, which is the block at half its
/// size without what would alias. Row by row, the pixels of several blocks side by side.
#[inline(always)]
fn inverse(low: &[Lanes; SIDE * SIDE]) -> [[[u8; SIDE]; LANES]; SIDE] {
    let mut half = [[[0.0; LANES]; SIDE]; SIDE];
    for column in 0..SIDE {
        let down = line([&low[column], &low[SIDE + column], &low[2 * SIDE + column], &low[3 * SIDE + column]]);
        for row in 0..SIDE {
            half[row][column] = down[row];
        }
    }
    let mut drawn = [[[0; SIDE]; LANES]; SIDE];
    for (drawn, [a, b, c, d]) in drawn.iter_mut().zip(&half) {
        let [a, b, c, d] = line([a, b, c, d]);
        for i in 0..LANES {
            let [a, b, c, d] = [a[i], b[i], c[i], d[i]].map(byte);
            drawn[i] = (a | b << 8 | c << 16 | d << 24).to_le_bytes();
        }
    }
    drawn
}

/// The nearest of the numbers from 0 to 255, in the last bits of a number so large that it has no fractions.
#[inline(always)]
fn byte(value: f32) -> u32 {
    (value.clamp(0.0, 255.0) + 8_388_608.0).to_bits() & 255
}

/// The inverse transform of four frequencies.
#[inline(always)]
fn line([a, b, c, d]: [&Lanes; SIDE]) -> [Lanes; SIDE] {
    // Halves of the square root of 2 times the cosines of an eighth and of three eighths of a half turn.
    const LONG: f32 = 0.653_281_5;
    const SHORT: f32 = 0.270_598_05;
    let mut out = [[0.0; LANES]; SIDE];
    for i in 0..LANES {
        let (sum, difference) = (0.5 * (a[i] + c[i]), 0.5 * (a[i] - c[i]));
        let (long, short) = (LONG * b[i] + SHORT * d[i], SHORT * b[i] - LONG * d[i]);
        (out[0][i], out[1][i], out[2][i], out[3][i]) = (sum + long, difference + short, difference - short, sum - long);
    }
    out
}

#[cfg(test)]
mod tests {
    use image::{RgbImage, codecs::jpeg::JpegEncoder};
    use proptest::prelude::*;

    use super::super::entropy::NUMBERS;
    use super::super::{Options, open, wholeness};
    use super::*;

    /// The plane at half its size as it follows from the whole one, 8x8 pixels by 8x8.
    fn halved(width: usize, height: usize, pixel: impl Fn(usize, usize) -> u8) -> Vec<Vec<u8>> {
        let mut half = vec![vec![0; width / 2]; height / 2];
        for (top, left) in (0..height).step_by(8).flat_map(|top| (0..width).step_by(8).map(move |left| (top, left))) {
            let block = std::array::from_fn(|y| std::array::from_fn(|x| f32::from(pixel(left + x, top + y)) - 128.0));
            let coefficients = forward(&block);
            let pixels = drawn(|i| coefficients[i / 4][i % 4].round() as i32);
            for (y, row) in pixels.chunks_exact(SIDE).enumerate() {
                half[top / 2 + y][left / 2..left / 2 + SIDE].copy_from_slice(row);
            }
        }
        half
    }

    /// The pixels of one block with these coefficients.
    fn drawn(coefficient: impl Fn(usize) -> i32) -> Vec<u8> {
        let mut plane = Plane::new((1, 1), (SIDE, SIDE), 1);
        (0..).zip(NUMBERS).for_each(|(place, number)| plane.block(0, 0).take(number.into(), coefficient(place) as i16));
        plane.draw(0, &[1; 17]);
        plane.into_pixels()
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
            // Steps are whole numbers: the coefficients are told in sixteenths, and the picture shrunk as much.
            let picture = drawn(|i| (16.0 * coefficients[i / 4][i % 4]).round() as i32);
            let far = (0..16).map(|i| {
                let (x, y) = (i % 4, i / 4);
                let mean = level + right * (2.0 * x as f32 - 3.0) + down * (2.0 * y as f32 - 3.0);
                (f32::from(picture[y * SIDE + x]) - (16.0 * mean + 128.0).clamp(0.0, 255.0)).abs()
            });
            prop_assert!(far.fold(0.0, f32::max) < 16.0 * 2.0, "{picture:?}");
        }
    }
}
