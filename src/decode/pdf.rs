//! PDF files (ISO 32000-2): each page is drawn alone, at a resolution that its content asks for.
//!
//! A page that is a scan is drawn at the scan's own resolution, print and drawings at a resolution that fits a page of many
//! grids. The file is opened anew for each page, so that what its drawing took is given back: memory doesn't grow with the
//! number of pages, and pages can be drawn on several threads. What the renderer stumbles over is an error of that page.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use hayro::hayro_interpret::InterpreterSettings;
use hayro::hayro_syntax::{LoadPdfError, Pdf, page::Page as PdfPage};
use hayro::vello_cpu::color::palette::css::WHITE;
use hayro::{PixmapSettings, RenderCache, RenderSettings};
use image::ColorType;
use image::metadata::Orientation;

use super::survey::{Survey, TooMuch, survey};
use super::{Damage, DecodeError, Options, Page, PlacedDigit, raster, streams};

/// Points of an inch, the unit of PDF.
const POINTS: f64 = 72.0;
/// What print and drawings are drawn at, in pixels per inch: a grid of 4 cm has cells of 35 pixels.
const PRINT_RESOLUTION: f64 = 200.0;
/// The least long side of a page with print or drawings, and the most of any page, in pixels.
const SIDES: [f64; 2] = [2200.0, 5000.0];
/// A page covered by pictures to more than this share is taken for a scan.
const SCAN_SHARE: f64 = 0.3;
/// Within so many bytes from its end a file closes with `%%EOF` (ISO 32000-1, annex H.3.18, asks for 1024).
const END_REACH: usize = 2048;

/// A PDF file that can be opened.
#[derive(Debug)]
pub struct File {
    bytes: Arc<Vec<u8>>,
    page_count: u32,
    damage: Option<Damage>,
}

impl File {
    /// The file in `bytes`.
    ///
    /// # Errors
    /// Where it is locked or no page is left in it.
    pub fn new(bytes: Arc<Vec<u8>>) -> Result<Self, DecodeError> {
        let page_count = guarded(|| Ok(load(&bytes)?.pages().len()))?;
        let damage = end_damage(&bytes);
        match u32::try_from(page_count) {
            Ok(page_count @ 1..) => Ok(Self { bytes, page_count, damage }),
            _ => Err(DecodeError::Damaged { detail: "it has no page".into() }),
        }
    }

    /// How many pages there are.
    pub fn page_count(&self) -> u32 {
        self.page_count
    }

    /// Page `number`, counted from 1.
    ///
    /// # Errors
    /// Where there is no such page, it breaks a limit, or it can't be drawn.
    pub fn page(&self, number: u32, options: &Options) -> Result<Page, DecodeError> {
        guarded(|| {
            let pdf = load(&self.bytes)?;
            let page = pdf.pages().get((number as usize).wrapping_sub(1));
            let page = page.ok_or(DecodeError::NoSuchPage { count: self.page_count as usize })?;
            let mut damage: Vec<Damage> = self.damage.into_iter().collect();
            damage.extend(streams::check(page, options)?);
            let (incomplete, settings) = settings();
            let seen = survey(page, &settings);
            let scale = scale_for(page, &seen, options)?;
            let mut drawn = draw(page, &settings, scale, options)?;
            if incomplete.load(Ordering::Relaxed) {
                damage.push(Damage::Incomplete);
            }
            drawn.damage = damage;
            // Pixel centres lie at whole numbers.
            let pixel = |point: f64| (point * scale - 0.5) as f32;
            drawn.digits = seen.digits.iter().map(|&(x, y, digit)| PlacedDigit { x: pixel(x), y: pixel(y), digit }).collect();
            Ok(drawn)
        })
    }
}

/// Runs `work`; a fault of the renderer, or a page that asks too much of it, becomes an error.
fn guarded<Output>(work: impl FnOnce() -> Result<Output, DecodeError>) -> Result<Output, DecodeError> {
    catch_unwind(AssertUnwindSafe(work)).unwrap_or_else(|cause| {
        Err(if cause.is::<TooMuch>() {
            DecodeError::Unsupported { what: "PDF pages that draw millions of things".into() }
        } else {
            DecodeError::Damaged { detail: "drawing the page broke off".into() }
        })
    })
}

fn load(bytes: &Arc<Vec<u8>>) -> Result<Pdf, DecodeError> {
    Pdf::new(Arc::clone(bytes)).map_err(|error| match error {
        LoadPdfError::Decryption(_) => DecodeError::Locked,
        LoadPdfError::Invalid => DecodeError::Damaged { detail: "no page can be found in it".into() },
    })
}

/// What the end of the file tells: it must name the table of its objects, and that must be there. Readers search damaged
/// files for whatever objects are left, and say nothing.
fn end_damage(bytes: &[u8]) -> Option<Damage> {
    let tail = &bytes[bytes.len().saturating_sub(END_REACH)..];
    let find = |needle: &[u8]| tail.windows(needle.len()).rposition(|window| window == needle);
    let (Some(start), Some(_)) = (find(b"startxref"), find(b"%%EOF")) else { return Some(Damage::CutShort) };
    let digits = tail[start + 9..].trim_ascii_start().iter().take_while(|byte| byte.is_ascii_digit());
    let offset = digits.fold(0_usize, |number, digit| number.saturating_mul(10).saturating_add(usize::from(digit - b'0')));
    // Offsets count from the header, before which some programs leave bytes.
    let header = bytes.windows(5).take(END_REACH).position(|window| window == b"%PDF-").unwrap_or(0);
    let is_table = |at: usize| {
        let table = bytes.get(at..).unwrap_or_default().trim_ascii_start();
        table.starts_with(b"xref") || table.first().is_some_and(u8::is_ascii_digit)
    };
    (!is_table(offset) && !is_table(offset.saturating_add(header))).then_some(Damage::Corrupt)
}

/// The renderer's settings, and whether it has met something that it couldn't draw.
fn settings() -> (Arc<AtomicBool>, InterpreterSettings) {
    let incomplete = Arc::new(AtomicBool::new(false));
    let warned = Arc::clone(&incomplete);
    let settings =
        InterpreterSettings { warning_sink: Arc::new(move |_| warned.store(true, Ordering::Relaxed)), ..InterpreterSettings::default() };
    (incomplete, settings)
}

/// Pixels per point.
fn scale_for(page: &PdfPage, seen: &Survey, options: &Options) -> Result<f64, DecodeError> {
    let (width, height) = page.render_dimensions();
    let (long, area) = (f64::from(width.max(height)), f64::from(width) * f64::from(height));
    if !(long.is_finite() && width.min(height) > 0.0) {
        return Err(DecodeError::Damaged { detail: "its page has no size".into() });
    }
    let is_scan = seen.picture_area > SCAN_SHARE * area;
    let print = (PRINT_RESOLUTION / POINTS).max(SIDES[0] / long);
    let wanted = match (is_scan, seen.has_print) {
        (true, true) => print.max(seen.resolution),
        (true, false) => seen.resolution,
        (false, _) => print,
    };
    Ok(wanted.min(SIDES[1] / long).min((options.limit_pixels as f64 / area).sqrt()))
}

fn draw(page: &PdfPage, settings: &InterpreterSettings, scale: f64, options: &Options) -> Result<Page, DecodeError> {
    let (width, height) = page.render_dimensions();
    // The renderer rounds down, and draws nothing at all on less than a pixel.
    let factor = |points: f32| ((f64::from(points) * scale).round().max(1.0) as f32 + 0.01) / points;
    let size = PixmapSettings { x_scale: factor(width), y_scale: factor(height), bg_color: WHITE };
    let how = RenderSettings { force_image_interpolation: true, hinting: false, ..RenderSettings::default() };
    let drawn = hayro::render(page, &RenderCache::new(), settings, &how, &size);
    let size = (u32::from(drawn.width()), u32::from(drawn.height()));
    raster::page(drawn.data_as_u8_slice(), size, ColorType::Rgba8, Orientation::NoTransforms, options)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_end_of_a_file_is_looked_at() {
        let whole: &[u8] = b"%PDF-1.4\nxref\n0 1\ntrailer\n<<>>\nstartxref\n9\n%%EOF\n";
        assert_eq!(end_damage(whole), None);
        assert_eq!(end_damage(&[b"junk\n", whole].concat()), None);
        assert_eq!(end_damage(&whole[..whole.len() - 4]), Some(Damage::CutShort));
        assert_eq!(end_damage(&[&whole[..9], b"lost", &whole[9..]].concat()), Some(Damage::Corrupt));
        assert_eq!(end_damage(b""), Some(Damage::CutShort));
    }
}
