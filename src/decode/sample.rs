//! Brightness between pixels.

use image::GrayImage;

/// The value of `image` at (`x`, `y`), 0 to 255, in proportion between the four pixels around it (whole numbers are
/// pixel centres); beyond the edge the edge's own. The image must not be empty.
pub fn sample(image: &GrayImage, x: f32, y: f32) -> f32 {
    let (width, height) = (image.width() as usize, image.height() as usize);
    let (x, y) = (x.clamp(0.0, (width - 1) as f32), y.clamp(0.0, (height - 1) as f32));
    let (left, top) = (x as usize, y as usize);
    let (right, bottom) = ((left + 1).min(width - 1), (top + 1).min(height - 1));
    let (fx, fy) = (x - left as f32, y - top as f32);
    let pixels = image.as_raw();
    let get = |x: usize, y: usize| f32::from(pixels[y * width + x]);
    let upper = get(left, top) * (1.0 - fx) + get(right, top) * fx;
    let lower = get(left, bottom) * (1.0 - fx) + get(right, bottom) * fx;
    upper * (1.0 - fy) + lower * fy
}

/// The same at several places at once, at less cost each within [`wide`](super::wide).
#[inline(always)]
pub fn sample_several<const N: usize>(image: &GrayImage, x: &[f32; N], y: &[f32; N]) -> [f32; N] {
    let (width, height) = (image.width() as usize, image.height() as usize);
    if width < 2 || height < 2 {
        return std::array::from_fn(|i| sample(image, x[i], y[i]));
    }
    let pixels = image.as_raw();
    let (mut fx, mut fy, mut first) = ([0.0; N], [0.0; N], [0_i32; N]);
    for i in 0..N {
        // The last row and column are taken for the second of two, so that none of the four pixels around a place is missing.
        let (x, y) = (x[i].max(0.0).min(width as f32 - 1.0), y[i].max(0.0).min(height as f32 - 1.0));
        let (left, top) = (whole(x).min(width as i32 - 2), whole(y).min(height as i32 - 2));
        (fx[i], fy[i]) = (x - left as f32, y - top as f32);
        first[i] = top * width as i32 + left;
    }
    // The four corners of each place, a byte each.
    let mut corners = [0_i32; N];
    for i in 0..N {
        let around = &pixels[first[i] as usize..][..width + 2];
        corners[i] = i32::from_le_bytes([around[0], around[1], around[width], around[width + 1]]);
    }
    let mut values = [0.0; N];
    for i in 0..N {
        let corner = |place: i32| (corners[i] >> (8 * place) & 255) as f32;
        let (a, b, c, d) = (corner(0), corner(1), corner(2), corner(3));
        let upper = a * (1.0 - fx[i]) + b * fx[i];
        let lower = c * (1.0 - fx[i]) + d * fx[i];
        values[i] = upper * (1.0 - fy[i]) + lower * fy[i];
    }
    values
}

/// The whole part of a number from 0 to 2^22. A cast does the same and minds what isn't a number, for which it takes one after the other; this is done to
/// several at once.
#[inline(always)]
pub fn whole(value: f32) -> i32 {
    /// From here on numbers have no fractions: adding it rounds.
    const WHOLE: f32 = 8_388_608.0;
    let rounded = value + WHOLE;
    (rounded.to_bits() as i32).wrapping_sub(WHOLE.to_bits() as i32) - i32::from(rounded - WHOLE > value)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn whole_parts_are_as_casts_have_them(value in 0.0_f32..70_000.0) {
            for value in [value, value.floor(), value.floor() + 0.5, value.floor().next_down().max(0.0)] {
                prop_assert_eq!(whole(value), value as i32);
            }
        }

        #[test]
        fn several_at_once_are_as_one_by_one(x in prop::array::uniform8(-2.0_f32..9.0), y in prop::array::uniform8(0.0_f32..7.0), size in (1..9_u32, 1..9_u32)) {
            let image = GrayImage::from_fn(size.0, size.1, |x, y| image::Luma([(x * 97 + y * 41) as u8]));
            let single: [f32; 8] = std::array::from_fn(|i| sample(&image, x[i], y[i]));
            prop_assert_eq!(sample_several(&image, &x, &y), single);
        }
    }
}
