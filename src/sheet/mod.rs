//! Draws puzzles and step boards to print and to show.
//!
//! Takes puzzles with their solutions, or a walk; gives [`Page`]s, lists of things to draw in points, which become one [`pdf`] file, or an
//! [`svg`] or [`png`] file each. The same input gives the same bytes. Refuses layouts whose digits would be too small to read.

mod board;
mod boards;
mod booklet;
mod caption;
mod cues;
mod figure;
mod font;
mod frames;
mod furniture;
mod key;
mod layout;
mod link;
mod marks;
mod moments;
mod page;
mod pdf;
mod pdf_file;
mod pdf_fonts;
mod png;
mod puzzles;
mod svg;

pub use boards::{Boards, board_pages};
pub use cues::{Cue, CueError, cues, webvtt};
pub use font::{Face, missing};
pub use frames::board_frames;
pub use furniture::Heading;
pub use layout::{LARGE_PRINT, Layout, LayoutError, Notes, Order, Paper, PerPage, Print, Solutions};
pub use link::{Link, LinkError};
pub use marks::{Marks, marks};
pub use moments::{Moment, rehearsal_moments, walk_moments};
pub use page::{Ends, Ink, Item, Page, Part, Path, Pen, Placing, Role, Segment};
pub use pdf::pdf;
pub use pdf_fonts::EmbedError;
pub use png::{Ground, PixelError, Pixels, pixels, png};
pub use puzzles::{Puzzle, puzzle_pages};
pub use svg::svg;
