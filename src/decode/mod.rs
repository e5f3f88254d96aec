//! Turns bytes of any supported format into upright pages, within stated limits.

mod shrink;

use image::GrayImage;

pub use shrink::shrink;

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
}

/// Something that makes a page's picture untrustworthy.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Damage {
    /// The file ends before the picture does: some of it is missing.
    CutShort,
    /// The compressed data contradict themselves: some of the picture may be garbage.
    Corrupt,
}
