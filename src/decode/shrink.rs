//! Shrinking by area averaging: each new pixel is the mean of all that it covers, so nothing aliases.

use image::GrayImage;

/// `image` at `width` x `height`, neither larger than the original's (larger values are taken as the original's).
pub fn shrink(image: &GrayImage, width: u32, height: u32) -> GrayImage {
    let (width, height) = (width.clamp(1, image.width().max(1)), height.clamp(1, image.height().max(1)));
    if (width, height) == image.dimensions() || image.width() == 0 || image.height() == 0 {
        return image.clone();
    }
    let spans = spans(image.width(), width);
    let rows = self::spans(image.height(), height);
    let stride = image.width() as usize;
    let pixels = image.as_raw();
    let mut out = Vec::with_capacity((width * height) as usize);
    let mut sums = vec![0_u32; stride];
    for row in &rows {
        // Weights are in 256ths, so that a row's sum fits easily and the rounding stays below a grey level.
        let total = fold_rows(pixels, stride, row, &mut sums);
        for span in &spans {
            let mut sum = u64::from(sums[span.first]) * u64::from(span.head);
            sum += sums[span.first + 1..span.last.max(span.first + 1)].iter().map(|&v| u64::from(v)).sum::<u64>() * 256;
            if span.last > span.first {
                sum += u64::from(sums[span.last]) * u64::from(span.tail);
            }
            let weight = total * u64::from(span.weight());
            out.push(((sum + weight / 2) / weight) as u8);
        }
    }
    GrayImage::from_raw(width, height, out).unwrap_or_else(|| GrayImage::new(width, height))
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

/// Adds the covered rows into `sums`, weighted, and gives the sum of the weights.
fn fold_rows(pixels: &[u8], stride: usize, span: &Span, sums: &mut [u32]) -> u64 {
    let mut total = 0;
    sums.fill(0);
    for row in span.first..=span.last {
        let weight = if row == span.first {
            span.head
        } else if row == span.last {
            span.tail
        } else {
            256
        };
        total += u64::from(weight);
        for (sum, &value) in sums.iter_mut().zip(&pixels[row * stride..(row + 1) * stride]) {
            *sum += u32::from(value) * weight;
        }
    }
    total
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
    fn a_flat_picture_stays_flat() {
        let image = GrayImage::from_pixel(137, 91, image::Luma([201]));
        assert!(shrink(&image, 53, 40).pixels().all(|p| p.0[0] == 201));
    }
}
