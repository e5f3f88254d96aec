//! A first look at a PDF page: which digits its text places where, how fine its pictures are, and whether drawing it is
//! a bounded piece of work. Nothing is drawn.

use hayro::hayro_interpret::font::{Glyph, GlyphRun};
use hayro::hayro_interpret::hayro_cmap::BfString;
use hayro::hayro_interpret::{
    BlendMode, ClipPath, Context, Device, DrawMode, DrawProps, Image, ImageDrawProps, InterpreterCache, InterpreterSettings, SoftMask,
    interpret_page,
};
use hayro::hayro_syntax::page::Page;
use hayro::kurbo::{Affine, BezPath, Point, Rect, Shape};

/// More work than this is no puzzle page; forms that draw each other can ask for any amount. A path or a glyph counts 1.
const MOST_WORK: u32 = 3_000_000;
/// What a clip or a group counts: whatever opens one (a form, a pattern) is a drawing of its own.
const WORK_OF_GROUP: u32 = 20;
/// A scan may have a white ground and a frame; with more drawn paths than this, a page has drawings.
const FEW_PATHS: u32 = 20;

/// What was seen of a page.
#[derive(Debug, Default)]
pub struct Survey {
    /// The digits 1 to 9 of visible text: x and y of each one's middle, in points right and down from the page's
    /// upper left corner, and the digit.
    pub digits: Vec<(f64, f64, u8)>,
    /// Whether there are visible text or drawings.
    pub has_print: bool,
    /// The area covered by pictures, in square points, overlaps counted twice.
    pub picture_area: f64,
    /// The resolution of the finest picture, in pixels per point; little ones don't count.
    pub resolution: f64,
    page_area: f64,
    paths: u32,
    work: u32,
}

/// What a survey unwinds with where a page asks for too much work.
pub struct TooMuch;

/// Looks at a page.
///
/// # Panics
/// Unwinds with [`TooMuch`] (silently: no message is printed) where drawing the page would not come to an end.
pub fn survey<'page>(page: &'page Page<'page>, settings: &InterpreterSettings) -> Survey {
    let (width, height) = page.render_dimensions();
    let [a, b, c, d, e, f] = page.initial_transform(true).as_coeffs();
    let bounds = Rect::new(0.0, 0.0, width.into(), height.into());
    let mut survey = Survey { page_area: bounds.area(), ..Survey::default() };
    let mut context = Context::new(Affine::new([a, b, c, d, e, f]), bounds, &InterpreterCache::new(), page.xref(), settings.clone());
    interpret_page(page, &mut context, &mut survey);
    survey.has_print |= survey.paths > FEW_PATHS;
    survey
}

impl Survey {
    fn count(&mut self, work: u32) {
        self.work += work;
        if self.work > MOST_WORK {
            std::panic::resume_unwind(Box::new(TooMuch));
        }
    }
}

impl Device<'_> for Survey {
    fn draw_path(&mut self, _: &BezPath, _: DrawProps<'_>, _: &DrawMode) {
        self.paths += 1;
        self.count(1);
    }

    fn push_clip_path(&mut self, _: &ClipPath) {
        self.count(WORK_OF_GROUP);
    }

    fn push_transparency_group(&mut self, _: f32, _: Option<SoftMask<'_>>, _: BlendMode) {
        self.count(WORK_OF_GROUP);
    }

    fn draw_glyph_run(&mut self, run: &GlyphRun<'_, '_>, props: DrawProps<'_>, mode: &DrawMode) {
        self.count(1);
        // Invisible text is what some other program made of a scan, not what is printed.
        if matches!(mode, DrawMode::Invisible) {
            return;
        }
        self.has_print |= !run.glyphs().is_empty();
        for glyph in run.glyphs() {
            self.count(1);
            let Some(digit) = glyph.as_unicode().and_then(|text| digit(&text)) else { continue };
            let middle = match &**glyph {
                Glyph::Outline(outline) => outline.outline().bounding_box().center(),
                // About the middle of a digit, in thousandths of the font's size.
                Glyph::Type3(drawn) => Point::new(f64::from(drawn.advance_width().unwrap_or(500.0)) / 2.0, 350.0),
            };
            let place = props.transform * glyph.transform() * middle;
            self.digits.push((place.x, place.y, digit));
        }
    }

    fn draw_image(&mut self, image: Image<'_, '_>, props: ImageDrawProps<'_>) {
        self.count(1);
        let area_of_pixel = props.transform.determinant().abs();
        let area = area_of_pixel * f64::from(image.width()) * f64::from(image.height());
        if area_of_pixel > 0.0 && area.is_finite() {
            self.picture_area += area.min(self.page_area);
            // A little one is an ornament.
            if area > 0.01 * self.page_area {
                self.resolution = self.resolution.max(area_of_pixel.sqrt().recip());
            }
        }
    }

    fn pop_clip(&mut self) {}

    fn pop_transparency_group(&mut self) {}
}

/// The digit 1 to 9 that a glyph stands for, full-width ones of East Asian fonts among them.
fn digit(text: &BfString) -> Option<u8> {
    let character = match text {
        BfString::Char(character) => *character,
        BfString::String(string) => {
            let mut characters = string.chars();
            characters.next().filter(|_| characters.next().is_none())?
        }
    };
    match character {
        '1'..='9' => Some(character as u8 - b'0'),
        '\u{ff11}'..='\u{ff19}' => u8::try_from(u32::from(character) - 0xff10).ok(),
        _ => None,
    }
}
