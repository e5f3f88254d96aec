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
