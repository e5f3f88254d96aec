//! TIFF files: their pages (TIFF 6.0, section 2, "Image File Directory"; BigTIFF with its wider offsets), each of which
//! the image crate then decodes as if it were the first.

use std::io::{self, BufReader, Read, Seek, SeekFrom};
use std::sync::Arc;

use image::ImageFormat;

use super::{DecodeError, Options, Page, raster};

/// More pages than this aren't looked for.
const MOST_PAGES: usize = 100_000;
/// Tags (TIFF 6.0, section 8).
const NEW_SUBFILE_TYPE: u16 = 254;
const COMPRESSION: u16 = 259;
const PHOTOMETRIC: u16 = 262;
/// Bits of `NewSubfileType`: a smaller copy of another picture, and a mask of what is see-through in one.
const NO_PAGE: u32 = 1 | 4;

/// A TIFF file and where its pages are.
#[derive(Debug)]
pub struct File {
    bytes: Arc<Vec<u8>>,
    form: Form,
    /// Where the directory of each page starts.
    directories: Vec<u64>,
}

impl File {
    /// The file in `bytes`. Thumbnails and masks are no pages. Where the chain of directories breaks off, one
    /// more page is counted, so that somebody is told.
    ///
    /// # Errors
    /// Where there is no page at all.
    pub fn new(bytes: Arc<Vec<u8>>) -> Result<Self, DecodeError> {
        let form = Form::of(&bytes).ok_or_else(|| damaged("its header is cut short"))?;
        let mut directories = Vec::new();
        let mut seen = std::collections::HashSet::new();
        let mut next = form.first(&bytes);
        while let Some(at) = next.filter(|&at| at != 0 && seen.insert(at) && directories.len() < MOST_PAGES) {
            let directory = form.directory(&bytes, at);
            if directory.as_ref().is_none_or(|directory| directory.subfile_type & NO_PAGE == 0) {
                directories.push(at);
            }
            next = directory.map(|directory| directory.next);
        }
        if directories.is_empty() { Err(damaged("it has no page")) } else { Ok(Self { bytes, form, directories }) }
    }

    /// How many pages there are.
    pub fn page_count(&self) -> u32 {
        self.directories.len() as u32
    }

    /// Page `number`, counted from 1.
    ///
    /// # Errors
    /// Where there is no such page, or nothing of it can be decoded.
    pub fn page(&self, number: u32, options: &Options) -> Result<Page, DecodeError> {
        let at = self.directories.get((number as usize).wrapping_sub(1)).copied();
        let at = at.ok_or(DecodeError::NoSuchPage { count: self.directories.len() })?;
        let directory = self.form.directory(&self.bytes, at).ok_or_else(|| damaged("the list of its pages breaks off here"))?;
        let unread = |what: &str| DecodeError::Unsupported { what: format!("TIFF pages {what}") };
        match (directory.compression, directory.photometric) {
            (2 | 3, _) => Err(unread("in Group 3 fax coding")),
            (_, 3) => Err(unread("with a colour palette")),
            (_, 6) => Err(unread("coded as brightness and colour differences (YCbCr)")),
            _ => {
                let file = BufReader::new(StartingAt { bytes: &self.bytes, header: self.form.header(at), at: 0 });
                raster::decode(file, ImageFormat::Tiff, options)
            }
        }
    }
}

/// How the file writes numbers.
#[derive(Clone, Copy, Debug)]
struct Form {
    little_endian: bool,
    big: bool,
}

/// What matters of a directory.
struct Directory {
    subfile_type: u32,
    compression: u32,
    photometric: u32,
    /// Where the next one starts; 0 for none.
    next: u64,
}

impl Form {
    fn of(bytes: &[u8]) -> Option<Self> {
        let little_endian = bytes.starts_with(b"II");
        let form = Self { little_endian, big: false };
        Some(Self { big: form.number(bytes, 2, 2)? == 43, ..form })
    }

    /// The unsigned number of `size` bytes at byte `at`.
    fn number(self, bytes: &[u8], at: u64, size: usize) -> Option<u64> {
        let at = usize::try_from(at).ok()?;
        let digits = bytes.get(at..at.checked_add(size)?)?;
        let join = |number: u64, &byte: &u8| number << 8 | u64::from(byte);
        Some(if self.little_endian { digits.iter().rev().fold(0, join) } else { digits.iter().fold(0, join) })
    }

    /// Where the first directory starts.
    fn first(self, bytes: &[u8]) -> Option<u64> {
        if self.big { self.number(bytes, 8, 8) } else { self.number(bytes, 4, 4) }
    }

    fn directory(self, bytes: &[u8], at: u64) -> Option<Directory> {
        let (count_size, entry_size, next_size) = if self.big { (8, 20, 8) } else { (2, 12, 4) };
        let count = self.number(bytes, at, count_size)?;
        let start = at.checked_add(count_size as u64)?;
        let end = start.checked_add(count.checked_mul(entry_size)?)?;
        let mut directory = Directory { subfile_type: 0, compression: 1, photometric: 0, next: self.number(bytes, end, next_size)? };
        for entry in (start..end).step_by(entry_size as usize) {
            let field = match self.number(bytes, entry, 2)? as u16 {
                NEW_SUBFILE_TYPE => &mut directory.subfile_type,
                COMPRESSION => &mut directory.compression,
                PHOTOMETRIC => &mut directory.photometric,
                _ => continue,
            };
            // Type 3 is a number of two bytes, all others that these tags may have are of four.
            let size = if self.number(bytes, entry + 2, 2)? == 3 { 2 } else { 4 };
            *field = self.number(bytes, entry + if self.big { 12 } else { 8 }, size)? as u32;
        }
        Some(directory)
    }

    /// The header of a file whose first directory starts at `at`.
    fn header(self, at: u64) -> Vec<u8> {
        let digits = |number: u64, size: usize| {
            let bytes = if self.little_endian { number.to_le_bytes() } else { number.to_be_bytes() };
            if self.little_endian { bytes[..size].to_vec() } else { bytes[8 - size..].to_vec() }
        };
        let order: &[u8] = if self.little_endian { b"II" } else { b"MM" };
        let parts = if self.big { [digits(43, 2), digits(8, 4), digits(at, 8)] } else { [digits(42, 2), Vec::new(), digits(at, 4)] };
        [order, &parts.concat()].concat()
    }
}

/// A file read with another header.
struct StartingAt<'bytes> {
    bytes: &'bytes [u8],
    header: Vec<u8>,
    at: u64,
}

impl Read for StartingAt<'_> {
    fn read(&mut self, to: &mut [u8]) -> io::Result<usize> {
        let at = usize::try_from(self.at).unwrap_or(usize::MAX);
        let mut from = self.header.get(at..).filter(|rest| !rest.is_empty()).or(self.bytes.get(at..)).unwrap_or_default();
        let read = from.read(to)?;
        self.at += read as u64;
        Ok(read)
    }
}

impl Seek for StartingAt<'_> {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        let place = match to {
            SeekFrom::Start(at) => Some(at),
            SeekFrom::End(by) => (self.bytes.len() as u64).checked_add_signed(by),
            SeekFrom::Current(by) => self.at.checked_add_signed(by),
        };
        self.at = place.ok_or(io::ErrorKind::InvalidInput)?;
        Ok(self.at)
    }
}

fn damaged(detail: &str) -> DecodeError {
    DecodeError::Damaged { detail: detail.into() }
}
