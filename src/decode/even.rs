//! Evening the light, so that shadows and dark corners go and print stays.

use image::GrayImage;

/// The farthest reach.
const MOST_REACH: usize = 127;

/// Each pixel against the mean and spread of the square that reaches `reach` pixels to every side of it, row by row: 0.5
/// is the mean, 0 and 1 are three spreads below and above it or more. A reach beyond 127 is taken as that.
pub fn even(luma: &GrayImage, reach: usize) -> Vec<f32> {
    let (width, height) = (luma.width() as usize, luma.height() as usize);
    if width == 0 || height == 0 {
        return Vec::new();
    }
    // Sums and sums of squares over all pixels above and to the left. They may run over: differences are right all the same, as no square
    // of this reach holds more than 32 bits do.
    let reach = reach.min(MOST_REACH);
    let stride = width + 1;
    let mut sums = vec![(0_u32, 0_u32); stride * (height + 1)];
    for (y, row) in luma.as_raw().chunks_exact(width).enumerate() {
        let (mut sum, mut square) = (0_u32, 0_u32);
        let (above, here) = sums[y * stride..][..2 * stride].split_at_mut(stride);
        for ((above, here), &value) in above[1..].iter().zip(&mut here[1..]).zip(row) {
            let value = u32::from(value);
            sum = sum.wrapping_add(value);
            square = square.wrapping_add(value * value);
            *here = (above.0.wrapping_add(sum), above.1.wrapping_add(square));
        }
    }
    let mut even = Vec::with_capacity(width * height);
    for (y, row) in luma.as_raw().chunks_exact(width).enumerate() {
        let (top, bottom) = (y.saturating_sub(reach), (y + reach + 1).min(height));
        let (above, below) = (&sums[top * stride..][..stride], &sums[bottom * stride..][..stride]);
        for (x, &value) in row.iter().enumerate() {
            let (left, right) = (x.saturating_sub(reach), (x + reach + 1).min(width));
            let (a, b, c, d) = (above[left], above[right], below[left], below[right]);
            let area = ((bottom - top) * (right - left)) as f32 * 255.0;
            let mean = d.0.wrapping_add(a.0).wrapping_sub(b.0).wrapping_sub(c.0) as f32 / area;
            let square = d.1.wrapping_add(a.1).wrapping_sub(b.1).wrapping_sub(c.1) as f32 / (area * 255.0);
            let spread = (square - mean * mean).max(0.0).sqrt();
            even.push(((f32::from(value) / 255.0 - mean) / (spread + 0.02) / 6.0 + 0.5).clamp(0.0, 1.0));
        }
    }
    even
}
