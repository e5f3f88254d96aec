//! HEIC files (ISO/IEC 23008-12), through the system's libheif: only where the program is built with the feature `heic`.

use image::ColorType;
use image::metadata::Orientation;
use libheif_rs::{ColorSpace, HeifContext, HeifError, LibHeif, RgbChroma};

use super::{DecodeError, Options, Page, check_size, raster};

/// The main picture of a HEIC file. The library turns it upright, as the file's own boxes say.
///
/// # Errors
/// Where it breaks the limit or can't be decoded: libheif gives no part of a damaged picture.
pub fn decode(bytes: &[u8], options: &Options) -> Result<Page, DecodeError> {
    let file = HeifContext::read_from_bytes(bytes).map_err(damaged)?;
    let handle = file.primary_image_handle().map_err(damaged)?;
    check_size(handle.width(), handle.height(), options)?;
    let picture = LibHeif::new().decode(&handle, ColorSpace::Rgb(RgbChroma::Rgb), None).map_err(damaged)?;
    let size = (picture.width(), picture.height());
    check_size(size.0, size.1, options)?;
    let plane = picture.planes().interleaved.ok_or_else(|| detail("it has no pixels"))?;
    // Rows may be padded.
    let row = size.0 as usize * 3;
    let rows = plane.data.chunks(plane.stride).take(size.1 as usize).map(|stored| stored.get(..row));
    let pixels = rows.collect::<Option<Vec<_>>>().ok_or_else(|| detail("its rows are short"))?.concat();
    if pixels.len() != row * size.1 as usize {
        return Err(detail("its rows are too few"));
    }
    raster::page(&pixels, size, ColorType::Rgb8, Orientation::NoTransforms, options)
}

fn damaged(error: HeifError) -> DecodeError {
    detail(&error.message)
}

fn detail(text: &str) -> DecodeError {
    DecodeError::Damaged { detail: text.into() }
}
