//! Paper, and how it is shared out.

use std::fmt;

use super::page::MILLIMETRE;

/// The blank rim of every page: what common printers can't reach, and some room to hold it; common practice, no source.
pub(super) const MARGIN: f32 = 14.0 * MILLIMETRE;
/// The smallest type of large print, digits included, in points. The Royal National Institute of Blind People asks for 16 points or
/// more (as quoted in the large print guide of the Office for Disability Issues), the American Printing House for the Blind for 18
/// (from memory).
pub const LARGE_PRINT: f32 = 18.0;
/// The smallest digits of ordinary print, in points: common practice, no source.
const SMALLEST_DIGIT: f32 = 8.0;
/// The smallest of the small digits on boards, likewise.
const SMALLEST_SMALL_DIGIT: f32 = 5.0;
/// The smallest of the small digits in frames for video, a 54th of the frame's height: common practice, no source.
const SMALLEST_IN_FRAME: f32 = 10.0;
/// The height of a digit's em in cells: the digits of the font then fill about half of the cell.
pub(super) const DIGIT: f32 = 0.73;

/// A size of paper, upright.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Paper {
    /// 210 x 297 mm (ISO 216).
    #[default]
    A4,
    /// 8.5 x 11 inches.
    Letter,
}

/// How many puzzles or boards stand on a page.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum PerPage {
    /// One.
    #[default]
    One,
    /// Two, one above the other.
    Two,
    /// Two rows of two.
    Four,
    /// Three rows of two.
    Six,
}

/// How large the print is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Print {
    /// As books have it.
    #[default]
    Ordinary,
    /// For readers with low vision: nothing smaller than [`LARGE_PRINT`].
    Large,
}

/// Room to write beside or below each puzzle.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Notes {
    /// None: the grids are as large as they can be.
    #[default]
    Without,
    /// Ruled lines.
    Ruled,
}

/// Where the solutions stand.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Solutions {
    /// On the last pages.
    #[default]
    Upright,
    /// On the last pages, upside down.
    UpsideDown,
    /// Nowhere.
    Without,
}

/// The order of the pages.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Order {
    /// One after the other.
    #[default]
    Flat,
    /// Two half pages on each side of each sheet, to be printed on both sides (turned over at the short edge) and folded.
    Booklet,
}

/// How pages are laid out.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Layout {
    /// The paper.
    pub paper: Paper,
    /// Puzzles or boards on a page.
    pub per_page: PerPage,
    /// The size of print.
    pub print: Print,
    /// Room to write.
    pub notes: Notes,
    /// The solutions' place.
    pub solutions: Solutions,
    /// The pages' order.
    pub order: Order,
}

/// A layout that leaves too little room.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum LayoutError {
    /// On paper.
    #[error(
        "{per_page} to a page leaves digits of {digit:.1} points, and {print} needs {least:.0}: take fewer to a page, larger paper, \
        or leave out notes, link or booklet"
    )]
    Page {
        /// How many to a page.
        per_page: PerPage,
        /// The size of the smallest digits in points.
        digit: f32,
        /// The print wanted.
        print: &'static str,
        /// The smallest size that it allows.
        least: f32,
    },
    /// In a frame for video.
    #[error(
        "the longest sentence leaves small digits of {digit:.1} points, and frames need {least:.0}: speak in shorter words (--words FILE)"
    )]
    Frame {
        /// The size of the smallest digits in points.
        digit: f32,
        /// The smallest size allowed.
        least: f32,
    },
}

/// A rectangle on a page.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Area {
    pub x: f32,
    pub y: f32,
    pub width: f32,
    pub height: f32,
}

/// Sizes of type, in points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Type {
    pub title: f32,
    pub label: f32,
    pub text: f32,
    /// Sources, page numbers, legends.
    pub small: f32,
}

/// From one line of text to the next, in sizes.
pub(super) const LEADING: f32 = 1.3;

impl Paper {
    /// Points across and down.
    pub const fn size(self) -> (f32, f32) {
        match self {
            Self::A4 => (210.0 * MILLIMETRE, 297.0 * MILLIMETRE),
            Self::Letter => (612.0, 792.0),
        }
    }
}

impl PerPage {
    /// All, fewest first.
    pub const ALL: [Self; 4] = [Self::One, Self::Two, Self::Four, Self::Six];

    /// As a number.
    pub const fn count(self) -> usize {
        let (columns, rows) = self.shape();
        columns * rows
    }

    /// Columns and rows on upright paper.
    pub(super) const fn shape(self) -> (usize, usize) {
        match self {
            Self::One => (1, 1),
            Self::Two => (1, 2),
            Self::Four => (2, 2),
            Self::Six => (2, 3),
        }
    }
}

impl fmt::Display for PerPage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.count().fmt(f)
    }
}

impl Print {
    pub(super) const fn sizes(self) -> Type {
        match self {
            Self::Ordinary => Type { title: 19.0, label: 13.0, text: 11.0, small: 9.0 },
            Self::Large => Type { title: 26.0, label: 22.0, text: LARGE_PRINT, small: LARGE_PRINT },
        }
    }

    /// The smallest digits of puzzles allowed.
    pub(super) const fn least_digit(self) -> f32 {
        match self {
            Self::Ordinary => SMALLEST_DIGIT,
            Self::Large => LARGE_PRINT,
        }
    }

    /// The smallest of the small digits on boards allowed.
    pub(super) const fn least_small(self) -> f32 {
        match self {
            Self::Ordinary => SMALLEST_SMALL_DIGIT,
            Self::Large => LARGE_PRINT,
        }
    }
}

impl LayoutError {
    /// Refuses frames for video whose small digits would have this size, in points, if that is too small.
    pub(super) fn check_frame(digit: f32) -> Result<(), Self> {
        let least = SMALLEST_IN_FRAME;
        if digit < least { Err(Self::Frame { digit, least }) } else { Ok(()) }
    }
}

impl Layout {
    /// Points across and down of a page as it is read: half a sheet in a booklet.
    pub fn page_size(&self) -> (f32, f32) {
        let (width, height) = self.paper.size();
        match self.order {
            Order::Flat => (width, height),
            Order::Booklet => (height / 2.0, width),
        }
    }

    /// Refuses boards whose small digits would have this size, in points, if that is too small.
    pub(super) fn check_small(&self, digit: f32) -> Result<(), LayoutError> {
        self.compare(digit, self.print.least_small())
    }

    /// Refuses grids of this side, in points, whose digits would be too small.
    pub(super) fn check(&self, side: f32) -> Result<(), LayoutError> {
        self.compare(side.max(0.0) / 9.0 * DIGIT, self.print.least_digit())
    }

    fn compare(&self, digit: f32, least: f32) -> Result<(), LayoutError> {
        let print = if self.print == Print::Large { "large print" } else { "print" };
        if digit < least { Err(LayoutError::Page { per_page: self.per_page, digit, print, least }) } else { Ok(()) }
    }
}

impl Area {
    /// Its parts in rows from the top, with `gap` between them.
    pub fn slots(self, (columns, rows): (usize, usize), gap: f32) -> Vec<Self> {
        let width = (self.width - gap * (columns - 1) as f32) / columns as f32;
        let height = (self.height - gap * (rows - 1) as f32) / rows as f32;
        let slot = |index: usize| {
            let (column, row) = ((index % columns) as f32, (index / columns) as f32);
            Self { x: self.x + column * (width + gap), y: self.y + row * (height + gap), width, height }
        };
        (0..columns * rows).map(slot).collect()
    }

    /// What is left below its first `height` points.
    pub fn below(self, height: f32) -> Self {
        Self { y: self.y + height, height: self.height - height, ..self }
    }
}
