//! A page as pixels: drawn from the same list as PDF and SVG, and coded as PNG.

use tiny_skia::{Color, FillRule, LineCap, LineJoin, Paint, PathBuilder, Pixmap, Stroke, StrokeDash, Transform};

use super::page::{Ends, Ink, Item, Page, Part, Path, Pen, Placing, Segment};

/// What lies under the drawing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ground {
    /// White paper.
    Paper,
    /// Nothing: what isn't drawn on can be seen through.
    Clear,
}

/// A page can't be drawn as pixels.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum PixelError {
    /// It has no pixels, or too many.
    #[error("a picture of {width} x {height} pixels can't be drawn: choose another size")]
    Size {
        /// Pixels across.
        width: f32,
        /// Pixels down.
        height: f32,
    },
    /// The coder refused it.
    #[error("the picture can't be coded as PNG: {0}")]
    Coding(String),
}

/// A drawn page: red, green, blue and opacity of each pixel, row by row, 0 to 255 (not multiplied by opacity).
#[derive(Clone, Debug, PartialEq)]
pub struct Pixels {
    /// Pixels across.
    pub width: u32,
    /// Pixels down.
    pub height: u32,
    /// Four bytes a pixel.
    pub rgba: Vec<u8>,
    ground: Ground,
    scale: f32,
}

/// The page drawn with `scale` pixels to the point.
///
/// # Errors
/// Where that gives no pixels, or more than fit in memory.
pub fn pixels(page: &Page, scale: f32, ground: Ground) -> Result<Pixels, PixelError> {
    let (width, height) = ((page.width * scale).round(), (page.height * scale).round());
    let sane = |length: f32| (1.0..=30_000.0).contains(&length);
    let canvas = if sane(width) && sane(height) { Pixmap::new(width as u32, height as u32) } else { None };
    let mut canvas = canvas.ok_or(PixelError::Size { width, height })?;
    if ground == Ground::Paper {
        canvas.fill(Color::WHITE);
    }
    for part in &page.parts {
        draw_part(&mut canvas, part, Placing { factors: [scale, 0.0, 0.0, scale, 0.0, 0.0] });
    }
    let (width, height) = (canvas.width(), canvas.height());
    Ok(Pixels { width, height, rgba: canvas.take_demultiplied(), ground, scale })
}

/// The pixels as a PNG file that says how large it is to be printed; without opacity where it lies on paper.
///
/// # Errors
/// Where the coder refuses it.
pub fn png(pixels: &Pixels) -> Result<Vec<u8>, PixelError> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, pixels.width, pixels.height);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_compression(png::Compression::Balanced);
    let per_metre = (pixels.scale * 72.0 / 0.0254).round() as u32;
    encoder.set_pixel_dims(Some(png::PixelDimensions { xppu: per_metre, yppu: per_metre, unit: png::Unit::Meter }));
    let coloured = |pixel: &[u8]| pixel[0] != pixel[1] || pixel[1] != pixel[2];
    let (colour, data) = match pixels.ground {
        Ground::Clear => (png::ColorType::Rgba, pixels.rgba.clone()),
        Ground::Paper if pixels.rgba.chunks_exact(4).any(coloured) => {
            (png::ColorType::Rgb, pixels.rgba.chunks_exact(4).flat_map(|pixel| [pixel[0], pixel[1], pixel[2]]).collect())
        }
        Ground::Paper => (png::ColorType::Grayscale, pixels.rgba.chunks_exact(4).map(|pixel| pixel[0]).collect()),
    };
    encoder.set_color(colour);
    let code = |error: png::EncodingError| PixelError::Coding(error.to_string());
    let mut writer = encoder.write_header().map_err(code)?;
    writer.write_image_data(&data).map_err(code)?;
    writer.finish().map_err(code)?;
    Ok(bytes)
}

fn draw_part(canvas: &mut Pixmap, part: &Part, scale: Placing) {
    let placing = part.placing.then(scale);
    for item in &part.items {
        match item {
            Item::Fill { path, ink } => fill(canvas, path, placing, *ink),
            Item::Stroke { path, pen } => draw_line(canvas, path, placing, pen),
            Item::Text { at, size, face, ink, text } => {
                let mut across = at.0;
                for character in text.chars() {
                    let glyph = face.glyph(character);
                    let glyph_placing = Placing { factors: [*size, 0.0, 0.0, *size, across, at.1] }.then(placing);
                    fill(canvas, &face.outline(glyph), glyph_placing, *ink);
                    across += face.advance(glyph) * size / 1000.0;
                }
            }
        }
    }
}

fn fill(canvas: &mut Pixmap, path: &Path, placing: Placing, ink: Ink) {
    if let Some(path) = traced(path) {
        canvas.fill_path(&path, &paint(ink), FillRule::Winding, transform(placing), None);
    }
}

fn draw_line(canvas: &mut Pixmap, path: &Path, placing: Placing, pen: &Pen) {
    let Some(path) = traced(path) else { return };
    let stroke = Stroke {
        width: pen.width,
        line_cap: if pen.ends == Ends::Round { LineCap::Round } else { LineCap::Butt },
        line_join: LineJoin::Round,
        dash: pen.dash.and_then(|dash| StrokeDash::new(dash.to_vec(), 0.0)),
        ..Stroke::default()
    };
    canvas.stroke_path(&path, &paint(pen.ink), &stroke, transform(placing), None);
}

fn paint([red, green, blue]: Ink) -> Paint<'static> {
    let mut paint = Paint { anti_alias: true, ..Paint::default() };
    paint.set_color_rgba8(red, green, blue, 255);
    paint
}

fn transform(placing: Placing) -> Transform {
    let [a, b, c, d, e, f] = placing.factors;
    Transform::from_row(a, b, c, d, e, f)
}

fn traced(path: &Path) -> Option<tiny_skia::Path> {
    let mut builder = PathBuilder::new();
    for segment in &path.0 {
        match *segment {
            Segment::Move(x, y) => builder.move_to(x, y),
            Segment::Line(x, y) => builder.line_to(x, y),
            Segment::Curve([x1, y1, x2, y2, x, y]) => builder.cubic_to(x1, y1, x2, y2, x, y),
            Segment::Close => builder.close(),
        }
    }
    builder.finish()
}
