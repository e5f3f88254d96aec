//! Shrinking by area averaging: each new pixel is the mean of all that it covers, so nothing aliases.

use image::GrayImage;
use image::math::Rect;

use super::wide;

/// `image` at `width` x `height`, neither larger than the original's (larger values are taken as the original's).
pub fn shrink(image: &GrayImage, width: u32, height: u32) -> GrayImage {
    shrink_part(image, Rect { x: 0, y: 0, width: image.width(), height: image.height() }, width, height)
}

/// The same of a part of `image`, without copying it first. What lies beyond the image's edge is left out of the part.
pub fn shrink_part(image: &GrayImage, part: Rect, width: u32, height: u32) -> GrayImage {
    let (x, y) = (part.x.min(image.width()), part.y.min(image.height()));
    let part = Rect { x, y, width: part.width.min(image.width() - x), height: part.height.min(image.height() - y) };
    let (width, height) = (width.clamp(1, part.width.max(1)), height.clamp(1, part.height.max(1)));
    if part.width == 0 || part.height == 0 {
        return GrayImage::new(part.width, part.height);
    }
    let stride = image.width() as usize;
    let pixels = &image.as_raw()[y as usize * stride + x as usize..];
    if (width, height) == (part.width, part.height) {
        let mut copy = Vec::with_capacity(width as usize * height as usize);
        for row in pixels.chunks(stride).take(height as usize) {
            copy.extend_from_slice(&row[..width as usize]);
        }
        return GrayImage::from_raw(width, height, copy).unwrap_or_default();
    }
    let spans = spans(part.width, width);
    let out = wide(
        #[inline(always)]
        || means(pixels, stride, &spans, &self::spans(part.height, height), part.width as usize),
    );
    GrayImage::from_raw(width, height, out).unwrap_or_else(|| GrayImage::new(width, height))
}

/// From here on numbers have no fractions.
const WHOLE: f64 = 4_503_599_627_370_496.0;

/// The mean under each pair of spans, rows first, of rows that lie `stride` apart and are `width` wide.
#[inline(always)]
fn means(pixels: &[u8], stride: usize, columns: &[Span], rows: &[Span], width: usize) -> Vec<u8> {
    let mut out = vec![0; columns.len() * rows.len()];
    let mut sums = Sums::new(width);
    let mut parts = vec![0.0; columns.len()];
    // No more than one whole pixel between the ends: then nothing must be foretold about each span.
    let are_short = columns.iter().all(|span| span.last <= span.first + 2);
    let weights: Vec<f64> = columns.iter().map(|span| f64::from(span.weight())).collect();
    for (row, out) in rows.iter().zip(out.chunks_exact_mut(columns.len().max(1))) {
        // Weights are in 256ths, so that a row's sum fits easily and the rounding stays below a grey level.
        let total = sums.fold(pixels, stride, row) as f64;
        let sums = &sums.weighted;
        let ends = |span: &Span| u64::from(sums[span.first]) * u64::from(span.head) + u64::from(sums[span.last]) * u64::from(span.tail);
        if are_short {
            for (part, span) in parts.iter_mut().zip(columns) {
                let middle = (span.first + 1).min(span.last);
                let whole = u64::from(sums[middle]) * u64::from(span.last > middle);
                *part = (ends(span) + whole * 256) as i64 as f64;
            }
        } else {
            for (part, span) in parts.iter_mut().zip(columns) {
                let whole =
                    if span.last > span.first + 1 { sums[span.first + 1..span.last].iter().map(|&v| u64::from(v)).sum() } else { 0 };
                *part = (ends(span) + whole * 256) as i64 as f64;
            }
        }
        // Exact: whole numbers of less than 53 bits. The mean's own whole part stands in the last bits where fractions have none.
        for ((out, part), weight) in out.iter_mut().zip(&parts).zip(&weights) {
            let weight = weight * total;
            let mean = (part + (weight * 0.5).floor()) / weight;
            let rounded = mean + WHOLE;
            let over = if rounded - WHOLE > mean { 1.0 } else { 0.0 };
            *out = (rounded - over).to_bits() as u8;
        }
    }
    out
}

/// The source pixels that one new pixel covers: whole ones from `first + 1` to `last - 1`, the ends in 256ths.
struct Span {
    first: usize,
    last: usize,
    head: u32,
    tail: u32,
}

impl Span {
    fn weight(&self) -> u32 {
        if self.last == self.first { self.head } else { self.head + self.tail + 256 * (self.last - self.first - 1) as u32 }
    }
}

fn spans(from: u32, to: u32) -> Vec<Span> {
    let step = f64::from(from) / f64::from(to);
    (0..to)
        .map(|i| {
            let (start, end) = (f64::from(i) * step, f64::from(i + 1) * step);
            let first = (start as usize).min(from as usize - 1);
            let last = ((end - 1e-6) as usize).clamp(first, from as usize - 1);
            let whole = |share: f64| ((share * 256.0).round() as u32).clamp(1, 256);
            if first == last {
                Span { first, last, head: whole(end - start), tail: 0 }
            } else {
                Span { first, last, head: whole((first + 1) as f64 - start), tail: whole(end - last as f64) }
            }
        })
        .collect()
}

/// The rows under one span, added up.
struct Sums {
    /// Of whole rows, not yet weighted: narrow numbers, of which the processor adds many at once.
    whole: Vec<u16>,
    weighted: Vec<u32>,
}

/// As many rows of bytes as a sum of 16 bits holds.
const WHOLE_ROWS: usize = 256;

impl Sums {
    fn new(width: usize) -> Self {
        Self { whole: vec![0; width], weighted: vec![0; width] }
    }

    /// Adds the covered rows up into `weighted`, and gives the sum of their weights.
    #[inline(always)]
    fn fold(&mut self, pixels: &[u8], stride: usize, span: &Span) -> u64 {
        let width = self.weighted.len();
        let row = |row: usize| &pixels[row * stride..][..width];
        for (sum, &value) in self.weighted.iter_mut().zip(row(span.first)) {
            *sum = u32::from(value) * span.head;
        }
        let between: Vec<usize> = (span.first + 1..span.last).collect();
        for rows in between.chunks(WHOLE_ROWS) {
            self.whole.fill(0);
            for &y in rows {
                self.whole.iter_mut().zip(row(y)).for_each(|(sum, &value)| *sum += u16::from(value));
            }
            self.weighted.iter_mut().zip(&self.whole).for_each(|(sum, &whole)| *sum += u32::from(whole) << 8);
        }
        if span.last > span.first {
            for (sum, &value) in self.weighted.iter_mut().zip(row(span.last)) {
                *sum += u32::from(value) * span.tail;
            }
        }
        u64::from(span.weight())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use imageproc::gray_image;

    #[test]
    fn halves_are_means() {
        let image = gray_image!(10, 20, 30, 40; 30, 40, 50, 60);
        assert_eq!(shrink(&image, 2, 1), gray_image!(25, 45));
    }

    #[test]
    fn thirds_weigh_what_they_cover() {
        let image = gray_image!(0, 90, 180);
        assert_eq!(shrink(&image, 2, 1), gray_image!(30, 150));
    }

    #[test]
    fn a_part_is_as_if_cut_out_first() {
        let image = GrayImage::from_fn(97, 801, |x, y| image::Luma([(x * 31 + y * 17) as u8]));
        for (x, y, width, height, to) in
            [(3, 5, 60, 700, (7, 2)), (0, 0, 97, 801, (96, 800)), (10, 20, 30, 40, (30, 40)), (90, 790, 7, 11, (1, 3))]
        {
            let apart = image::imageops::crop_imm(&image, x, y, width, height).to_image();
            assert_eq!(shrink_part(&image, Rect { x, y, width, height }, to.0, to.1), shrink(&apart, to.0, to.1));
        }
    }

    #[test]
    fn a_flat_picture_stays_flat() {
        let image = GrayImage::from_pixel(137, 91, image::Luma([201]));
        assert!(shrink(&image, 53, 40).pixels().all(|p| p.0[0] == 201));
    }
}
