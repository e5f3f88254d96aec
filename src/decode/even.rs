//! Evening the light, so that shadows and dark corners go and print stays.

use image::GrayImage;

/// Each pixel against the mean and spread of the square that reaches `reach` pixels to every side of it, row by row: 0.5
/// is the mean, 0 and 1 are three spreads below and above it or more.
pub fn even(luma: &GrayImage, reach: usize) -> Vec<f32> {
    let (width, height) = (luma.width() as usize, luma.height() as usize);
    if width == 0 || height == 0 {
        return Vec::new();
    }
    // Sums and sums of squares over all pixels above and to the left.
    let mut sums = vec![(0_u64, 0_u64); (width + 1) * (height + 1)];
    for (y, row) in luma.as_raw().chunks_exact(width).enumerate() {
        let (mut sum, mut square) = (0, 0);
        for (x, &value) in row.iter().enumerate() {
            sum += u64::from(value);
            square += u64::from(value) * u64::from(value);
            let above = sums[y * (width + 1) + x + 1];
            sums[(y + 1) * (width + 1) + x + 1] = (above.0 + sum, above.1 + square);
        }
    }
    let mut even = Vec::with_capacity(width * height);
    for (y, row) in luma.as_raw().chunks_exact(width).enumerate() {
        let (top, bottom) = (y.saturating_sub(reach), (y + reach + 1).min(height));
        for (x, &value) in row.iter().enumerate() {
            let (left, right) = (x.saturating_sub(reach), (x + reach + 1).min(width));
            let at = |row: usize, column: usize| sums[row * (width + 1) + column];
            let (a, b, c, d) = (at(top, left), at(top, right), at(bottom, left), at(bottom, right));
            let area = ((bottom - top) * (right - left)) as f32 * 255.0;
            let mean = (d.0 + a.0 - b.0 - c.0) as f32 / area;
            let square = (d.1 + a.1 - b.1 - c.1) as f32 / (area * 255.0);
            let spread = (square - mean * mean).max(0.0).sqrt();
            even.push(((f32::from(value) / 255.0 - mean) / (spread + 0.02) / 6.0 + 0.5).clamp(0.0, 1.0));
        }
    }
    even
}
