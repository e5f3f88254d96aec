//! Words as masks. The font is a subset (Latin letters and digits) of DejaVu Sans Bold; its licence lies
//! beside it.

use ab_glyph::{Font, FontRef, PxScale, ScaleFont};

/// A line of text as a mask.
pub struct Words {
    /// Samples row by row, 0 to 1.
    pub mask: Vec<f32>,
    /// Width and height in samples.
    pub size: (usize, usize),
}

impl Words {
    /// `text` in one line, `height` samples high: capital letters and digits stand in the middle and take
    /// up about six tenths of it.
    pub fn new(text: &str, height: usize) -> Self {
        let font = FontRef::try_from_slice(include_bytes!("label.ttf")).expect("the font in the program is whole");
        let scaled = font.as_scaled(PxScale::from(height as f32));
        let mut glyphs = Vec::new();
        let (mut across, mut last) = (height as f32 * 0.1, None);
        for character in text.chars() {
            let id = scaled.glyph_id(character);
            across += last.map_or(0.0, |last| scaled.kern(last, id));
            glyphs.push(id.with_scale_and_position(scaled.scale(), ab_glyph::point(across, height as f32 * 0.79)));
            across += scaled.h_advance(id);
            last = Some(id);
        }
        let width = (across + height as f32 * 0.1).ceil() as usize;
        let mut mask = vec![0.0; width * height];
        for outline in glyphs.into_iter().filter_map(|glyph| font.outline_glyph(glyph)) {
            let (left, top) = (outline.px_bounds().min.x as i64, outline.px_bounds().min.y as i64);
            outline.draw(|x, y, share| {
                let (x, y) = (left + i64::from(x), top + i64::from(y));
                if (0..width as i64).contains(&x) && (0..height as i64).contains(&y) {
                    let sample: &mut f32 = &mut mask[y as usize * width + x as usize];
                    *sample = sample.max(share);
                }
            });
        }
        Self { mask, size: (width, height) }
    }
}
