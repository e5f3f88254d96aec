//! Evening the light, so that shadows and dark corners go and print stays.

use image::GrayImage;

use super::wide;

/// The farthest reach.
const MOST_REACH: usize = 127;

/// Each pixel against the mean and spread of the square that reaches `reach` pixels to every side of it, row by row: 0.5
/// is the mean, 0 and 1 are three spreads below and above it or more. A reach beyond 127 is taken as that.
pub fn even(luma: &GrayImage, reach: usize) -> Vec<f32> {
    wide(
        #[inline(always)]
        || evenly(luma, reach),
    )
}

#[inline(always)]
fn evenly(luma: &GrayImage, reach: usize) -> Vec<f32> {
    let (width, height) = (luma.width() as usize, luma.height() as usize);
    if width == 0 || height == 0 {
        return Vec::new();
    }
    // Sums and sums of squares over all pixels above and to the left. They may run over: differences are right all the same, as no square
    // of this reach holds more than 32 bits do.
    let reach = reach.min(MOST_REACH);
    let stride = width + 1;
    let (mut sums, mut squares) = (vec![0_u32; stride * (height + 1)], vec![0_u32; stride * (height + 1)]);
    for (y, row) in luma.as_raw().chunks_exact(width).enumerate() {
        let (mut sum, mut square) = (0_u32, 0_u32);
        let (sums_above, sums_here) = sums[y * stride..][..2 * stride].split_at_mut(stride);
        let (squares_above, squares_here) = squares[y * stride..][..2 * stride].split_at_mut(stride);
        for (x, &value) in row.iter().enumerate() {
            let value = u32::from(value);
            sum = sum.wrapping_add(value);
            square = square.wrapping_add(value * value);
            sums_here[x + 1] = sums_above[x + 1].wrapping_add(sum);
            squares_here[x + 1] = squares_above[x + 1].wrapping_add(square);
        }
    }
    let mut even = vec![0.0; width * height];
    for (y, (row, even)) in luma.as_raw().chunks_exact(width).zip(even.chunks_exact_mut(width)).enumerate() {
        let (top, bottom) = (y.saturating_sub(reach), (y + reach + 1).min(height));
        let sums = [top, bottom].map(|y| &sums[y * stride..][..stride]);
        let squares = [top, bottom].map(|y| &squares[y * stride..][..stride]);
        let tall = bottom - top;
        let one = |x: usize| {
            let (left, right) = (x.saturating_sub(reach), (x + reach + 1).min(width));
            let of =
                |rows: [&[u32]; 2]| rows[1][right].wrapping_add(rows[0][left]).wrapping_sub(rows[0][right]).wrapping_sub(rows[1][left]);
            evened(row[x], of(sums), of(squares), (tall * (right - left)) as f32 * 255.0)
        };
        let whole = reach..width.saturating_sub(reach).max(reach);
        (0..whole.start.min(width)).chain(whole.end.min(width)..width).for_each(|x| even[x] = one(x));
        // Squares that lie within the page from left to right are all of one size: slices side by side, of which the processor takes several at once.
        let count = whole.len();
        if count > 0 {
            let area = (tall * (2 * reach + 1)) as f32 * 255.0;
            let across = 2 * reach + 1;
            let [[a, b, c, d], [e, f, g, h]] = [sums, squares]
                .map(|[above, below]| [&above[..count], &above[across..][..count], &below[..count], &below[across..][..count]]);
            let (row, even) = (&row[whole.clone()], &mut even[whole]);
            for i in 0..count {
                let sum = d[i].wrapping_add(a[i]).wrapping_sub(b[i]).wrapping_sub(c[i]);
                let square = h[i].wrapping_add(e[i]).wrapping_sub(f[i]).wrapping_sub(g[i]);
                even[i] = evened(row[i], sum, square, area);
            }
        }
    }
    even
}

/// A pixel against the mean and spread of a square, of which the sum, the sum of squares, and 255 times the count of pixels are given.
#[inline(always)]
fn evened(value: u8, sum: u32, square: u32, area: f32) -> f32 {
    let mean = sum as f32 / area;
    let square = square as f32 / (area * 255.0);
    let spread = (square - mean * mean).max(0.0).sqrt();
    ((f32::from(value) / 255.0 - mean) / (spread + 0.02) / 6.0 + 0.5).clamp(0.0, 1.0)
}
