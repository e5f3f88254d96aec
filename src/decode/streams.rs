//! The streams of data that a PDF page is drawn from: whether they are whole, and within limits.
//!
//! Readers take what they can get out of a damaged stream and say nothing, and a small stream can unpack to any size. So all that
//! a page refers to is walked first: compressed data are unpacked to nowhere, up to a limit and their checksum (RFC 1950), and
//! JPEG pictures are judged as JPEG files are.

use std::collections::HashSet;
use std::io::{ErrorKind, Read};

use flate2::read::ZlibDecoder;
use hayro::hayro_syntax::object::{Array, Dict, MaybeRef, Name, Object, ObjectIdentifier, Stream};
use hayro::hayro_syntax::page::Page;

use super::{Damage, DecodeError, Options, jpeg};

/// The most bytes that one stream may unpack to.
const MOST_BYTES: u64 = 512 << 20;
/// The most objects that a page may refer to.
const MOST_OBJECTS: usize = 200_000;
/// Entries that lead away from the page: to its neighbours, and to where links go.
const AWAY: [&[u8]; 11] = [b"Parent", b"P", b"A", b"AA", b"B", b"Dest", b"IRT", b"Next", b"Popup", b"Prev", b"StructParent"];

/// What is wrong with the data of a page.
///
/// # Errors
/// Where they break a limit.
pub fn check(page: &Page, options: &Options) -> Result<Option<Damage>, DecodeError> {
    let mut seen: HashSet<ObjectIdentifier> = HashSet::new();
    let mut waiting = entries(page.raw());
    // Resources may be inherited from above the page.
    let resources = page.resources();
    for part in [&resources.x_objects, &resources.fonts, &resources.patterns, &resources.shadings, &resources.ext_g_states] {
        waiting.extend(entries(part));
    }
    let (mut damage, mut count) = (None, 0);
    while let Some(object) = waiting.pop() {
        count += 1;
        if count > MOST_OBJECTS {
            return Err(unread("made of hundreds of thousands of objects"));
        }
        let object = match object {
            MaybeRef::NotRef(object) => object,
            MaybeRef::Ref(reference) => {
                let id = reference.into();
                match seen.insert(id).then(|| page.xref().get::<Object>(id)).flatten() {
                    Some(object) => object,
                    None => continue,
                }
            }
        };
        match object {
            Object::Dict(dict) => waiting.extend(entries(&dict)),
            Object::Array(array) => waiting.extend(array.raw_iter()),
            Object::Stream(stream) => {
                damage = damage.or(check_stream(&stream, options)?);
                waiting.extend(entries(stream.dict()));
            }
            _ => {}
        }
    }
    Ok(damage)
}

fn entries<'pdf>(dict: &Dict<'pdf>) -> Vec<MaybeRef<Object<'pdf>>> {
    dict.entries().filter(|(key, _)| !AWAY.contains(&key.as_ref())).map(|(_, value)| value).collect()
}

fn check_stream(stream: &Stream, options: &Options) -> Result<Option<Damage>, DecodeError> {
    let side = |long: &[u8], short: &[u8]| stream.dict().get::<u32>(long).or_else(|| stream.dict().get::<u32>(short));
    if let (Some(width), Some(height)) = (side(b"Width", b"W"), side(b"Height", b"H"))
        && u64::from(width) * u64::from(height) > options.limit_pixels
    {
        return Err(DecodeError::TooLarge { width, height, limit_pixels: options.limit_pixels });
    }
    let filters = filters(stream.dict());
    let is = |filter: &[u8], names: [&str; 2]| names.iter().any(|name| name.as_bytes() == filter);
    const FLATE: [&str; 2] = ["FlateDecode", "Fl"];
    if filters.iter().filter(|filter| is(filter, FLATE) || is(filter, ["LZWDecode", "LZW"])).count() > 1 {
        return Err(unread("packed twice over"));
    }
    match filters.first() {
        Some(filter) if is(filter, FLATE) => unpack(&stream.raw_data()),
        Some(filter) if is(filter, ["DCTDecode", "DCT"]) => jpeg::judge(&stream.raw_data(), options),
        _ => Ok(None),
    }
}

/// The names of a stream's filters, in the order of unpacking.
fn filters(dict: &Dict) -> Vec<Vec<u8>> {
    let key: &[u8] = if dict.contains_key(b"Filter") { b"Filter" } else { b"F" };
    match dict.get::<Name>(key) {
        Some(name) => vec![name.to_vec()],
        None => dict.get::<Array>(key).map(|names| names.iter::<Name>().map(|name| name.to_vec()).collect()).unwrap_or_default(),
    }
}

/// Unpacks zlib data to nowhere.
fn unpack(data: &[u8]) -> Result<Option<Damage>, DecodeError> {
    let mut unpacked = ZlibDecoder::new(data).take(MOST_BYTES + 1);
    match std::io::copy(&mut unpacked, &mut std::io::sink()) {
        Ok(length) if length > MOST_BYTES => Err(unread("that unpack to hundreds of megabytes")),
        Ok(_) => Ok(None),
        Err(error) if error.kind() == ErrorKind::UnexpectedEof => Ok(Some(Damage::CutShort)),
        Err(_) => Ok(Some(Damage::Corrupt)),
    }
}

fn unread(what: &str) -> DecodeError {
    DecodeError::Unsupported { what: format!("PDF pages {what}") }
}
