//! Turns planes upright and halves them.

use image::GrayImage;
use image::metadata::Orientation;

/// A full-size plane in the file's own frame, made upright as the file's orientation tag says.
///
/// `sample(i)` gives pixel `i`, row by row, of the `width` x `height` plane as stored.
pub fn plane(width: u32, height: u32, orientation: Orientation, sample: impl Fn(usize) -> u8) -> GrayImage {
    let (w, h) = (width as usize, height as usize);
    // Where the upright pixel (x, y) lies in the stored plane: start + x * right + y * down.
    let (w1, h1, step) = (w - 1, (h - 1) * w, w as isize);
    let (start, right, down) = match orientation {
        Orientation::NoTransforms => (0, 1, step),
        Orientation::FlipHorizontal => (w1, -1, step),
        Orientation::Rotate180 => (h1 + w1, -1, -step),
        Orientation::FlipVertical => (h1, 1, -step),
        Orientation::Rotate90FlipH => (0, step, 1),
        Orientation::Rotate90 => (h1, -step, 1),
        Orientation::Rotate270FlipH => (h1 + w1, -step, -1),
        Orientation::Rotate270 => (w1, step, -1),
    };
    let lies_down =
        matches!(orientation, Orientation::Rotate90 | Orientation::Rotate270 | Orientation::Rotate90FlipH | Orientation::Rotate270FlipH);
    let (across, tall) = if lies_down { (h, w) } else { (w, h) };
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

/// The plane at half its size (rounded up): each pixel the mean of the two by two that it covers.
pub fn halve(plane: &GrayImage) -> GrayImage {
    let (width, height) = plane.dimensions();
    let pixels = plane.as_raw();
    let at = |x: u32, y: u32| {
        let (x, y) = (x.min(width - 1) as usize, y.min(height - 1) as usize);
        u16::from(pixels[y * width as usize + x])
    };
    GrayImage::from_fn(width.div_ceil(2), height.div_ceil(2), |x, y| {
        let (x, y) = (2 * x, 2 * y);
        image::Luma([((at(x, y) + at(x + 1, y) + at(x, y + 1) + at(x + 1, y + 1) + 2) / 4) as u8])
    })
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
                let got = plane(width, height, orientation, |i| stored.as_raw()[i]);
                assert_eq!(got, expected.into_luma8(), "tag {tag} at {width} x {height}");
            }
        }
    }

    #[test]
    fn halving_rounds_the_size_up() {
        let plane = GrayImage::from_raw(3, 1, vec![10, 20, 77]).expect("three pixels");
        assert_eq!(halve(&plane).as_raw(), &[15, 77]);
    }
}
