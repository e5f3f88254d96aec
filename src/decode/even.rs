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
    // Sums and sums of squares over all pixels above and to the left, as far beyond the page's sides as the reach goes. They may run over: differences are
    // right all the same, as no square of this reach holds more than 32 bits do.
    let reach = reach.min(MOST_REACH);
    let across = 2 * reach + 1;
    let stride = width + across;
    let (mut sums, mut squares) = (vec![0_u32; stride * (height + 1)], vec![0_u32; stride * (height + 1)]);
    for (y, row) in luma.as_raw().chunks_exact(width).enumerate() {
        let (mut sum, mut square) = (0_u32, 0_u32);
        let (sums_above, sums_here) = sums[y * stride..][..2 * stride].split_at_mut(stride);
        let (squares_above, squares_here) = squares[y * stride..][..2 * stride].split_at_mut(stride);
        for (x, &value) in (reach + 1..).zip(row) {
            let value = u32::from(value);
            sum = sum.wrapping_add(value);
            square = square.wrapping_add(value * value);
            sums_here[x] = sums_above[x].wrapping_add(sum);
            squares_here[x] = squares_above[x].wrapping_add(square);
        }
        let last = reach + width;
        let (sum, square) = (sums_here[last], squares_here[last]);
        sums_here[last..].fill(sum);
        squares_here[last..].fill(square);
    }
    // Of how many columns within the page each pixel's square is.
    let columns: Vec<f32> = (0..width).map(|x| ((x + reach + 1).min(width) - x.saturating_sub(reach)) as f32).collect();
    let mut even = vec![0.0; width * height];
    for (y, (row, even)) in luma.as_raw().chunks_exact(width).zip(even.chunks_exact_mut(width)).enumerate() {
        let (top, bottom) = (y.saturating_sub(reach), (y + reach + 1).min(height));
        let tall = (bottom - top) as f32;
        // Slices side by side, of which the processor takes several at once.
        let [above, below] = [top, bottom].map(|y| y * stride);
        let corners = [above, above + across, below, below + across];
        let ([a, b, c, d], [e, f, g, h]) = (corners.map(|from| &sums[from..][..width]), corners.map(|from| &squares[from..][..width]));
        for x in 0..width {
            let sum = d[x].wrapping_add(a[x]).wrapping_sub(b[x]).wrapping_sub(c[x]);
            let square = h[x].wrapping_add(e[x]).wrapping_sub(f[x]).wrapping_sub(g[x]);
            even[x] = evened(row[x], sum, square, tall * columns[x] * 255.0);
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
