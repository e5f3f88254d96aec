//! JPEG files: brightness straight from the coded luma, without a detour over RGB.

use std::io::Cursor;

use image::ImageFormat;
use image::metadata::Orientation;
use zune_core::bytestream::ZCursor;
use zune_core::colorspace::ColorSpace;
use zune_core::options::DecoderOptions;
use zune_jpeg::JpegDecoder;

use super::{Afar, Damage, DecodeError, Options, Page, check_size, raster, upright, wholeness};

/// The least short side, in pixels, of a page that is worth a look at half its size: nine cells and their surroundings at `AFAR_PITCH` and more.
const LEAST_SIDE: u32 = 1600;

/// The page in a JPEG file. What the file's own structure says about missing or contradicting data goes to
/// [`Page::damage`]: the decoder itself fills gaps with grey and says nothing. What is known to be `whole` isn't asked again.
pub fn decode(bytes: &[u8], options: &Options, whole: bool) -> Result<Page, DecodeError> {
    let mut decoder = JpegDecoder::new_with_options(ZCursor::new(bytes), settings());
    decoder.decode_headers().map_err(damaged)?;
    let info = decoder.info().ok_or_else(|| damaged("no header"))?;
    let (width, height) = (u32::from(info.width), u32::from(info.height));
    check_size(width, height, options)?;

    let colour_space = decoder.input_colorspace();
    let damage = if whole { None } else { wholeness::judge(bytes, (width, height)) };
    if !matches!(colour_space, Some(ColorSpace::YCbCr | ColorSpace::Luma)) {
        // RGB, CMYK and the like are rare: the image crate converts them.
        let mut page = raster::decode(Cursor::new(bytes), ImageFormat::Jpeg, options)?;
        page.damage.extend(damage);
        return Ok(page);
    }
    let colour = options.colour && colour_space == Some(ColorSpace::YCbCr);
    decoder.set_options(settings().jpeg_set_out_colorspace(if colour { ColorSpace::YCbCr } else { ColorSpace::Luma }));
    let orientation = decoder.exif().and_then(|exif| Orientation::from_exif_chunk(exif)).unwrap_or(Orientation::NoTransforms);
    let pixels = decoder.decode().map_err(damaged)?;

    let pixel_count = width as usize * height as usize;
    if pixels.len() != pixel_count * if colour { 3 } else { 1 } {
        return Err(damaged("the decoder gave another size than the header"));
    }
    let (luma, chroma) = if colour {
        let (luma, chroma) = upright::planes(&pixels, width, height, orientation);
        (luma, Some(chroma))
    } else {
        (upright::stored(pixels, width, height, orientation), None)
    };
    Ok(Page { number: 1, luma, chroma, damage: damage.into_iter().collect(), digits: Vec::new() })
}

/// The page in a JPEG file at half its size, where it is large, undamaged and of even sides: see [`Pages::afar`](super::Pages::afar).
pub fn halved(bytes: &[u8], options: &Options) -> Option<Afar> {
    let mut decoder = JpegDecoder::new_with_options(ZCursor::new(bytes), settings());
    decoder.decode_headers().ok()?;
    let info = decoder.info()?;
    let (width, height) = (u32::from(info.width), u32::from(info.height));
    check_size(width, height, options).ok()?;
    let large = width.min(height) >= LEAST_SIDE && width % 2 + height % 2 == 0;
    let coloured = match decoder.input_colorspace() {
        Some(ColorSpace::YCbCr) => true,
        Some(ColorSpace::Luma) => false,
        _ => return None,
    };
    let mut planes = large.then(|| wholeness::halved(bytes, (width, height)))??.into_iter();
    let orientation = decoder.exif().and_then(|exif| Orientation::from_exif_chunk(exif)).unwrap_or(Orientation::NoTransforms);
    let mut upright = || {
        let plane = planes.next()?;
        let (width, height) = (plane.size.0 as u32, plane.size.1 as u32);
        Some(upright::stored(plane.into_pixels(), width, height, orientation))
    };
    let luma = upright()?;
    let chroma = if coloured && options.colour { Some([upright()?, upright()?]) } else { None };
    if luma.width() * luma.height() * 4 != width * height {
        return None;
    }
    let (width, height) = (2 * luma.width(), 2 * luma.height());
    Some(Afar { page: Page { number: 1, luma, chroma, damage: Vec::new(), digits: Vec::new() }, size: (width, height) })
}

/// What is wrong with a JPEG file, of which nothing is decoded.
///
/// # Errors
/// Where it has no header, or its size breaks the limit.
pub fn judge(bytes: &[u8], options: &Options) -> Result<Option<Damage>, DecodeError> {
    let mut decoder = JpegDecoder::new_with_options(ZCursor::new(bytes), settings());
    decoder.decode_headers().map_err(damaged)?;
    let size = decoder.info().map(|info| (u32::from(info.width), u32::from(info.height))).ok_or_else(|| damaged("no header"))?;
    check_size(size.0, size.1, options)?;
    Ok(wholeness::judge(bytes, size))
}

fn settings() -> DecoderOptions {
    DecoderOptions::default().set_strict_mode(false).set_max_width(usize::MAX).set_max_height(usize::MAX)
}

fn damaged(detail: impl std::fmt::Debug) -> DecodeError {
    DecodeError::Damaged { detail: format!("{detail:?}") }
}
