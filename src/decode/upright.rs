//! Turns planes upright and halves them.

use image::GrayImage;
use image::metadata::Orientation;

/// How the upright plane is read out of the stored one, as the file's orientation tag says: whether its rows
/// are stored columns, and whether each stored axis runs backwards.
#[derive(Clone, Copy)]
struct Walk {
    swaps: bool,
    flips_x: bool,
    flips_y: bool,
}

impl Walk {
    fn new(orientation: Orientation) -> Self {
        let (swaps, flips_x, flips_y) = match orientation {
            Orientation::NoTransforms => (false, false, false),
            Orientation::FlipHorizontal => (false, true, false),
            Orientation::Rotate180 => (false, true, true),
            Orientation::FlipVertical => (false, false, true),
            Orientation::Rotate90FlipH => (true, false, false),
            Orientation::Rotate90 => (true, false, true),
            Orientation::Rotate270FlipH => (true, true, true),
            Orientation::Rotate270 => (true, true, false),
        };
        Self { swaps, flips_x, flips_y }
    }
}

/// A full-size plane in the file's own frame, made upright as the file's orientation tag says.
///
/// `sample(i)` gives pixel `i`, row by row, of the `width` x `height` plane as stored.
pub fn plane(width: u32, height: u32, orientation: Orientation, sample: impl Fn(usize) -> u8) -> GrayImage {
    let walk = Walk::new(orientation);
    let (w, h) = (width as usize, height as usize);
    let (across, tall) = if walk.swaps { (h, w) } else { (w, h) };
    // Where the upright pixel (x, y) lies in the stored plane: start + x * right + y * down.
    let start = if walk.flips_x { w - 1 } else { 0 } + if walk.flips_y { (h - 1) * w } else { 0 };
    let column_step = if walk.flips_x { -1 } else { 1 };
    let row_step = if walk.flips_y { -(w as isize) } else { w as isize };
    let (right, down) = if walk.swaps { (row_step, column_step) } else { (column_step, row_step) };
    if !(walk.swaps || walk.flips_x || walk.flips_y) {
        let pixels = (0..w * h).map(sample).collect();
        return GrayImage::from_raw(width, height, pixels).expect("the buffer was made for this size");
    }
    let mut pixels = vec![0; w * h];
    // Square blocks keep both planes in the processor's cache while rows turn into columns.
    const BLOCK: usize = 64;
    for top in (0..tall).step_by(BLOCK) {
        for left in (0..across).step_by(BLOCK) {
            for y in top..(top + BLOCK).min(tall) {
                let width = BLOCK.min(across - left);
                let row = &mut pixels[y * across + left..][..width];
                let first = start as isize + y as isize * down + left as isize * right;
                for (x, pixel) in row.iter_mut().enumerate() {
                    *pixel = sample((first + x as isize * right) as usize);
                }
            }
        }
    }
    GrayImage::from_raw(across as u32, tall as u32, pixels).expect("the buffer was made for this size")
}

/// A full-size plane as stored, made upright; taken over as it is where it lies upright already.
pub fn stored(pixels: Vec<u8>, width: u32, height: u32, orientation: Orientation) -> GrayImage {
    match orientation {
        Orientation::NoTransforms => GrayImage::from_raw(width, height, pixels).expect("a plane of this size"),
        _ => plane(width, height, orientation, |i| pixels[i]),
    }
}

/// The three planes of which `pixels` holds one byte each for every pixel in turn, as stored: the first at full size and upright, the others as
/// [`half_plane`] gives them.
pub fn planes(pixels: &[u8], width: u32, height: u32, orientation: Orientation) -> (GrayImage, [GrayImage; 2]) {
    let (w, h) = (width as usize, height as usize);
    if w % 2 + h % 2 > 0 {
        let sample = |channel: usize| move |i: usize| pixels[3 * i + channel];
        return (
            plane(width, height, orientation, sample(0)),
            [1, 2].map(|channel| half_plane(width, height, orientation, sample(channel))),
        );
    }
    // Most pictures have even sides: two rows at a time, each byte touched once.
    let mut first = Vec::with_capacity(w * h);
    let mut halves = [(); 2].map(|()| Vec::with_capacity(w * h / 4));
    for two in pixels.chunks_exact(6 * w) {
        first.extend(two.chunks_exact(3).map(|pixel| pixel[0]));
        let (above, below) = two.split_at(3 * w);
        for (channel, half) in (1..).zip(&mut halves) {
            half.extend(above.chunks_exact(6).zip(below.chunks_exact(6)).map(|(above, below)| {
                let sum = [above[channel], above[channel + 3], below[channel], below[channel + 3]].map(u16::from).iter().sum::<u16>();
                (sum.div_ceil(2) / 2) as u8
            }));
        }
    }
    (stored(first, width, height, orientation), halves.map(|half| stored(half, width / 2, height / 2, orientation)))
}

/// The same plane at half its size (rounded up): each pixel is the mean of the two by two that it covers, the
/// last row and column doubled where the size is odd.
pub fn half_plane(width: u32, height: u32, orientation: Orientation, sample: impl Fn(usize) -> u8) -> GrayImage {
    let walk = Walk::new(orientation);
    let (w, h) = (width as usize, height as usize);
    // Halving comes first, since turning a quarter is cheaper: pairs must then start where the upright plane does.
    let pair = |at: usize, size: usize, flips: bool| {
        let first = (2 * at).saturating_sub(usize::from(flips && size % 2 == 1));
        let second = if flips && size % 2 == 1 { 2 * at } else { (2 * at + 1).min(size - 1) };
        (first, second)
    };
    let (half_width, half_height) = (w.div_ceil(2), h.div_ceil(2));
    let mut halved = Vec::with_capacity(half_width * half_height);
    for y in 0..half_height {
        let (above, below) = pair(y, h, walk.flips_y);
        for x in 0..half_width {
            let (left, right) = pair(x, w, walk.flips_x);
            let corners = [above * w + left, above * w + right, below * w + left, below * w + right];
            halved.push((corners.iter().map(|&index| u16::from(sample(index))).sum::<u16>().div_ceil(2) / 2) as u8);
        }
    }
    plane(half_width as u32, half_height as u32, orientation, |i| halved[i])
}

#[cfg(test)]
mod tests {
    use super::*;
    use image::DynamicImage;

    #[test]
    fn every_orientation_agrees_with_the_image_crate() {
        for (width, height) in [(3, 2), (1, 4), (5, 1), (1, 1), (130, 67)] {
            let stored = GrayImage::from_fn(width, height, |x, y| image::Luma([(x * 31 + y * 7) as u8]));
            for tag in 1..=8 {
                let orientation = Orientation::from_exif(tag).expect("tags run from 1 to 8");
                let mut expected = DynamicImage::ImageLuma8(stored.clone());
                expected.apply_orientation(orientation);
                let expected = expected.into_luma8();
                let sample = |i: usize| stored.as_raw()[i];
                assert_eq!(plane(width, height, orientation, sample), expected, "tag {tag} at {width} x {height}");
                // Turning first and halving then is the same.
                let halved = half_plane(expected.width(), expected.height(), Orientation::NoTransforms, |i| expected.as_raw()[i]);
                assert_eq!(half_plane(width, height, orientation, sample), halved, "half, tag {tag} at {width} x {height}");
            }
        }
    }

    #[test]
    fn planes_are_parted_alike_whatever_the_size() {
        for (width, height) in [(6, 4), (5, 4), (6, 3), (2, 2), (1, 1)] {
            let pixels: Vec<u8> = (0..width * height * 3).map(|i| (i * i + 7 * i) as u8).collect();
            for tag in 1..=8 {
                let orientation = Orientation::from_exif(tag).expect("tags run from 1 to 8");
                let sample = |channel: usize| {
                    let pixels = &pixels;
                    move |i: usize| pixels[3 * i + channel]
                };
                let (first, halves) = planes(&pixels, width, height, orientation);
                assert_eq!(first, plane(width, height, orientation, sample(0)), "tag {tag} at {width} x {height}");
                assert_eq!(
                    halves,
                    [1, 2].map(|channel| half_plane(width, height, orientation, sample(channel))),
                    "tag {tag} at {width} x {height}"
                );
            }
        }
    }

    #[test]
    fn halving_rounds_the_size_up() {
        let halved = half_plane(3, 1, Orientation::NoTransforms, |i| [10, 20, 77][i]);
        assert_eq!(halved.as_raw(), &[15, 77]);
    }
}
