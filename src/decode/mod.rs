//! Turns bytes of any supported format into upright pages, within stated limits.
//!
//! Takes JPEG, PNG, WebP, BMP, TIFF and PDF (content decides, not the file's name) and gives brightness at full
//! size with the file's orientation tag applied, colour where asked for, and what was damaged. Refuses with a
//! typed error what is over the limit of pixels, what isn't a picture, and what can't be decoded at all.

mod entropy;
mod error;
mod even;
mod halved;
#[cfg(feature = "heic")]
mod heic;
mod jpeg;
mod pdf;
mod ranges;
mod raster;
mod sample;
mod shrink;
mod streams;
mod survey;
mod tiff;
mod upright;
mod wholeness;
mod wide;

pub use error::DecodeError;
pub use even::even;
pub use ranges::PageRanges;
pub use sample::{sample, sample_several, whole};
pub use shrink::{shrink, shrink_part};
pub use wide::wide;

use std::io::Cursor;
use std::sync::{Arc, OnceLock};

use image::{GrayImage, ImageFormat};

/// What is asked of [`open`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Options {
    /// The most pixels a page may have: checked against the header before memory is taken. 120 million by
    /// default, more than any telephone or office scanner gives.
    pub limit_pixels: u64,
    /// Whether pages carry their colour differences, which cost half as much time again. Off by default.
    pub colour: bool,
}

impl Default for Options {
    fn default() -> Self {
        Self { limit_pixels: 120_000_000, colour: false }
    }
}

/// The pages of the file in `bytes`, decoded one at a time as they are asked for.
///
/// # Errors
/// As [`Pages::new`].
///
/// ```
/// use gridlift::decode::{DecodeError, Options, open};
/// assert!(matches!(open(b"a shopping list", &Options::default()), Err(DecodeError::NotAPicture { .. })));
/// ```
pub fn open(bytes: &[u8], options: &Options) -> Result<Pages, DecodeError> {
    Pages::new(Arc::new(bytes.to_vec()), options)
}

/// The pages of one file: in order as an iterator, which goes on after an error, or by number, on any thread.
#[derive(Debug)]
pub struct Pages {
    file: Format,
    options: Options,
    numbers: Vec<u32>,
    done: usize,
}

/// A file of each format that is read.
#[derive(Debug)]
enum Format {
    /// With whether it was seen to be whole.
    Jpeg(Arc<Vec<u8>>, OnceLock<()>),
    Raster(Arc<Vec<u8>>, ImageFormat),
    Tiff(tiff::File),
    Pdf(pdf::File),
    #[cfg(feature = "heic")]
    Heic(Arc<Vec<u8>>),
}

impl Pages {
    /// The pages of the file in `bytes`; none of them is decoded yet. Of an animation it is the first picture.
    ///
    /// # Errors
    /// Where the bytes are no picture of a supported format. What is wrong with one page is told when that page
    /// is asked for.
    pub fn new(bytes: Arc<Vec<u8>>, options: &Options) -> Result<Self, DecodeError> {
        let file = recognise(bytes)?;
        let count = match &file {
            Format::Tiff(file) => file.page_count(),
            Format::Pdf(file) => file.page_count(),
            _ => 1,
        };
        Ok(Self { file, options: *options, numbers: (1..=count).collect(), done: 0 })
    }

    /// Only the pages in `ranges`. A file that holds one picture alone is left as it is.
    ///
    /// # Errors
    /// Where none of its pages is left.
    pub fn only(mut self, ranges: &PageRanges) -> Result<Self, DecodeError> {
        let count = self.numbers.len();
        if count > 1 {
            self.numbers.retain(|&number| ranges.contains(number));
        }
        if self.numbers.is_empty() { Err(DecodeError::NoSuchPage { count }) } else { Ok(self) }
    }

    /// The numbers of the pages, ascending from 1 as the file counts them.
    pub fn numbers(&self) -> &[u32] {
        &self.numbers
    }

    /// Page `number` of the file.
    ///
    /// # Errors
    /// Where there is no such page, or nothing of it can be decoded.
    pub fn page(&self, number: u32) -> Result<Page, DecodeError> {
        let page = match &self.file {
            _ if !self.numbers.contains(&number) => Err(DecodeError::NoSuchPage { count: self.numbers.len() }),
            Format::Jpeg(bytes, whole) => jpeg::decode(bytes, &self.options, whole.get().is_some()),
            Format::Raster(bytes, format) => raster::decode(Cursor::new(bytes.as_slice()), *format, &self.options),
            Format::Tiff(file) => file.page(number, &self.options),
            Format::Pdf(file) => file.page(number, &self.options),
            #[cfg(feature = "heic")]
            Format::Heic(bytes) => heic::decode(bytes, &self.options),
        };
        page.map(|page| Page { number, ..page })
    }
}

impl Pages {
    /// Page `number` at half its size, where that comes at a fraction of the time of the whole: of large JPEG files that are undamaged. `None` of
    /// all others, for which [`Pages::page`] tells what is the matter.
    pub fn afar(&self, number: u32) -> Option<Afar> {
        match &self.file {
            Format::Jpeg(bytes, whole) if self.numbers.contains(&number) => {
                jpeg::halved(bytes, &self.options).inspect(|_| *whole.get_or_init(|| ()))
            }
            _ => None,
        }
    }
}

impl Iterator for Pages {
    type Item = Result<Page, DecodeError>;

    fn next(&mut self) -> Option<Self::Item> {
        let number = *self.numbers.get(self.done)?;
        self.done += 1;
        Some(self.page(number))
    }
}

/// One page, upright (the file's orientation tag is applied).
#[derive(Clone, Debug)]
pub struct Page {
    /// Which page of its file, from 1.
    pub number: u32,
    /// Brightness at full size, gamma-coded as in the file: 0 black to 255 white.
    pub luma: GrayImage,
    /// The colour differences Cb and Cr (JFIF, 128 is neutral) at half the size (rounded up), where colour
    /// was asked for; `None` for grey files.
    pub chroma: Option<[GrayImage; 2]>,
    /// What was wrong with the file, where it could be read all the same.
    pub damage: Vec<Damage>,
    /// The digits that the file's own text (of a PDF) places on the page; none where there is only a picture.
    pub digits: Vec<PlacedDigit>,
}

/// A page at half its size, upright.
#[derive(Clone, Debug)]
pub struct Afar {
    /// The page; what is told of it is in its own, twice as large pixels. Its colour is at half the size that the file has it in.
    pub page: Page,
    /// Width and height of the whole page, in pixels.
    pub size: (u32, u32),
}

/// A digit that a file gives as text.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlacedDigit {
    /// Its middle, in page pixels to the right.
    pub x: f32,
    /// Its middle, in page pixels down.
    pub y: f32,
    /// The digit, 1 to 9.
    pub digit: u8,
}

/// Something that makes a page's picture untrustworthy.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Damage {
    /// The file ends before the picture does: some of it is missing.
    CutShort,
    /// The compressed data contradict themselves: some of the picture may be garbage.
    Corrupt,
    /// Something on the page, such as a font or a picture, can't be drawn: it is missing.
    Incomplete,
}

impl Damage {
    /// The kind in a word or two, as page JSON gives it.
    pub const fn kind(self) -> &'static str {
        match self {
            Self::CutShort => "cut short",
            Self::Corrupt => "corrupt",
            Self::Incomplete => "incomplete",
        }
    }

    /// What it means and what to do.
    pub const fn say(self) -> &'static str {
        match self {
            Self::CutShort => "the file ends early: take or copy it again",
            Self::Corrupt => "the file's data contradict themselves: take or copy it again",
            Self::Incomplete => "a font or picture on the page can't be drawn: print the page to a new PDF, or save it as PNG",
        }
    }
}

/// The file in the format that the first bytes tell, or why it can't hold a page.
fn recognise(bytes: Arc<Vec<u8>>) -> Result<Format, DecodeError> {
    if bytes.is_empty() {
        return Err(DecodeError::Empty);
    }
    match image::guess_format(&bytes) {
        Ok(ImageFormat::Jpeg) => Ok(Format::Jpeg(bytes, OnceLock::new())),
        Ok(ImageFormat::Tiff) => Ok(Format::Tiff(tiff::File::new(bytes)?)),
        Ok(format @ (ImageFormat::Png | ImageFormat::WebP | ImageFormat::Bmp)) => Ok(Format::Raster(bytes, format)),
        _ if is_pdf(&bytes) => Ok(Format::Pdf(pdf::File::new(bytes)?)),
        _ => match foreign_format(&bytes) {
            #[cfg(feature = "heic")]
            Some("HEIC") => Ok(Format::Heic(bytes)),
            #[cfg(not(feature = "heic"))]
            Some("HEIC") => Err(DecodeError::Unsupported { what: "HEIC files (other than by a build with --features heic)".into() }),
            Some(name) => Err(DecodeError::Unsupported { what: format!("{name} files") }),
            None => Err(DecodeError::NotAPicture { looks_like_text: looks_like_text(&bytes) }),
        },
    }
}

/// Whether a PDF header stands within the first 1024 bytes, as readers accept it (ISO 32000-1, annex H.3.4.1).
fn is_pdf(bytes: &[u8]) -> bool {
    bytes[..bytes.len().min(1024)].windows(5).any(|window| window == b"%PDF-")
}

/// The name of a well-known picture format that isn't read here, from its first bytes as the formats'
/// specifications give them.
fn foreign_format(bytes: &[u8]) -> Option<&'static str> {
    let brand = bytes.get(4..12).filter(|head| head.starts_with(b"ftyp")).map(|head| &head[4..]);
    Some(match bytes {
        _ if bytes.starts_with(b"GIF8") => "GIF",
        _ if bytes.starts_with(b"\xff\x0a") || bytes.starts_with(b"\0\0\0\x0cJXL ") => "JPEG XL",
        _ if bytes.starts_with(b"8BPS") => "Photoshop",
        _ if brand.is_some_and(|brand| brand.starts_with(b"avi")) => "AVIF",
        _ if brand.is_some_and(|brand| brand.starts_with(b"he") || brand.starts_with(b"mif")) => "HEIC",
        _ => return None,
    })
}

/// Whether the first bytes hold printable characters alone.
fn looks_like_text(bytes: &[u8]) -> bool {
    let head = &bytes[..bytes.len().min(512)];
    head.iter().all(|&byte| byte >= b' ' || matches!(byte, b'\t' | b'\n' | b'\r'))
}

/// Checks a header's size against the limit, and that there is a pixel at all.
fn check_size(width: u32, height: u32, options: &Options) -> Result<(), DecodeError> {
    let pixels = u64::from(width) * u64::from(height);
    match pixels {
        0 => Err(DecodeError::Damaged { detail: "its header gives a width or height of nothing".into() }),
        _ if pixels > options.limit_pixels => Err(DecodeError::TooLarge { width, height, limit_pixels: options.limit_pixels }),
        _ => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn foreign_bytes_are_named() {
        let cases: [(&[u8], &str); 5] = [
            (b"", "the file is empty"),
            (b"Dear reader,\n", "text"),
            (b"\x01\x02\x03\x04", "not a picture"),
            (b"%PDF-1.7\n", "damaged"),
            (b"\0\0\0\x18ftypheic\0\0\0\0", "HEIC"),
        ];
        for (bytes, expected) in cases {
            let message = open(bytes, &Options::default()).expect_err("no page").to_string();
            assert!(message.contains(expected), "{message:?} for {expected:?}");
        }
    }
}
