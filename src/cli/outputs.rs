//! Where files are written: below a folder, in the same tree as the input, whole or not at all.

use std::collections::{HashMap, HashSet};
use std::ffi::OsString;
use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, bail};
use image::RgbImage;
use image::codecs::jpeg::JpegEncoder;

use super::inputs::{self, Input};

/// A folder that takes one file for each page.
#[derive(Debug)]
pub struct Folder {
    at: PathBuf,
    ending: &'static str,
}

impl Folder {
    /// The folder `at`, for files with `ending`.
    ///
    /// # Errors
    /// Where two inputs would write the same file, or one would be written over.
    pub fn new(at: PathBuf, ending: &'static str, inputs: &[Input]) -> anyhow::Result<Self> {
        let folder = Self { at, ending };
        let mut takers: HashMap<PathBuf, &Path> = HashMap::new();
        for input in inputs {
            let path = folder.path(&input.below, 1);
            if let Some(other) = takers.insert(path.clone(), &input.source) {
                let (one, two) = (other.display(), input.source.display());
                bail!("{one} and {two} would both write {}: lift them in two calls", path.display());
            }
        }
        for (path, source) in &takers {
            let other = unnumbered(path).and_then(|path| takers.get(&path));
            if let Some(other) = other.filter(|other| inputs::may_hold_many(other)) {
                let (one, two) = (source.display(), other.display());
                bail!("{one} and a page of {two} could both write {}: lift them in two calls", path.display());
            }
        }
        let sources: HashSet<_> = inputs.iter().filter_map(|input| input.source.canonicalize().ok()).collect();
        for path in takers.keys() {
            if path.canonicalize().is_ok_and(|path| sources.contains(&path)) {
                bail!("{} is one of the pages and would be written over: name another folder", path.display());
            }
        }
        Ok(folder)
    }

    /// `NAME.json` for the first page of a file, `NAME.p012.json` for its twelfth.
    fn path(&self, below: &Path, page: u32) -> PathBuf {
        let mut name = below.file_name().unwrap_or("page".as_ref()).to_os_string();
        if page > 1 {
            name.push(format!(".p{page:03}"));
        }
        name.push(".");
        name.push(self.ending);
        self.at.join(below).with_file_name(name)
    }

    /// Writes the file for page number `page` of the input that lies at `below`, whole or not at all.
    pub fn write(&self, below: &Path, page: u32, bytes: &[u8]) -> anyhow::Result<()> {
        let path = self.path(below, page);
        write_whole(&path, bytes).with_context(|| format!("{} can't be written", path.display()))
    }

    /// What was written by `write` for a page.
    pub fn read(&self, below: &Path, page: u32) -> anyhow::Result<String> {
        let path = self.path(below, page);
        fs::read_to_string(&path).with_context(|| format!("{} can't be read again", path.display()))
    }
}

/// The path of the first page, where `path` is named as a later page of a file would be.
fn unnumbered(path: &Path) -> Option<PathBuf> {
    let stem = Path::new(path.file_stem()?);
    let number = stem.extension()?.to_str()?.strip_prefix('p')?;
    let is_number = number.len() >= 3 && number.bytes().all(|byte| byte.is_ascii_digit());
    is_number.then(|| path.with_file_name(stem.file_stem().unwrap_or_default()).with_extension(path.extension().unwrap_or_default()))
}

/// Writes a file, and the folders above it. Whoever looks meanwhile sees the old file or the new one, never a part.
pub fn write_whole(path: &Path, bytes: &[u8]) -> std::io::Result<()> {
    if let Some(parent) = path.parent() {
        fs::create_dir_all(parent)?;
    }
    let mut hidden = OsString::from(".");
    hidden.push(path.file_name().unwrap_or_default());
    hidden.push(format!(".{}", std::process::id()));
    let hidden = path.with_file_name(hidden);
    let written = fs::write(&hidden, bytes).and_then(|()| fs::rename(&hidden, path));
    if written.is_err() {
        // The error that matters is the one that comes back.
        let _ = fs::remove_file(&hidden);
    }
    written
}

/// A picture as a JPEG file.
pub fn to_jpeg(picture: &RgbImage) -> anyhow::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    JpegEncoder::new_with_quality(&mut bytes, 88).encode_image(picture).context("the picture can't be coded")?;
    Ok(bytes)
}
