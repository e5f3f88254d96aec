//! How heading, board and sentence share their room: the same for all boards of a file, chosen by the longest sentence, so that none is cut.

use super::Face;
use super::board::RIM;
use super::font::lines;
use super::furniture::stacked;
use super::layout::LEADING;
use super::page::{Part, Role};

/// What is said of a board.
#[derive(Clone, Debug)]
pub(super) struct Caption<'a> {
    /// Stands above, or first.
    pub heading: String,
    /// Stands below; may be empty.
    pub sentence: &'a str,
}

/// Sizes that go together, in points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Fit {
    /// The size of type.
    pub size: f32,
    /// The width of lines.
    width: f32,
    /// The height of the tallest heading.
    pub heading: f32,
    /// The height of the tallest sentence.
    pub sentence: f32,
    /// The side of the grid, its numbers left out.
    pub side: f32,
}

/// The share of its side that a board keeps before type gets smaller than it would like to be.
const KEPT: f32 = 0.85;

impl Fit {
    /// The largest type that leaves the board most of its side, else the `least` type and what board that leaves. Lines are `width` wide;
    /// `room` gives the length that is left for a board with its numbers beside text of some height.
    pub fn of(captions: &[Caption<'_>], width: f32, (largest, least): (f32, f32), room: impl Fn(f32) -> f32) -> Self {
        let side = |text: f32| room(text) * 9.0 / (9.0 + RIM);
        let free = side(2.0 * largest * LEADING);
        let at = |size: f32| {
            let tallest = |text: &dyn Fn(&Caption<'_>) -> usize| captions.iter().map(text).max().unwrap_or(0) as f32 * size * LEADING;
            let heading = tallest(&|caption| lines(&caption.heading, Face::Bold, size, width).len());
            let sentence =
                tallest(&|caption| if caption.sentence.is_empty() { 0 } else { lines(caption.sentence, Face::Regular, size, width).len() });
            Self { size, width, heading, sentence, side: side(heading + sentence) }
        };
        let steps = ((largest - least) / 0.5).ceil().max(0.0) as usize;
        let sizes = (0..=steps).map(|step| (largest - 0.5 * step as f32).max(least));
        let mut fits = sizes.map(at);
        // At least one size is tried: `steps` counts from 0.
        let last = at(least);
        fits.find(|fit| fit.side >= KEPT * free).unwrap_or(last)
    }

    /// The heading, its top left corner here.
    pub fn heading(&self, caption: &Caption<'_>, at: (f32, f32)) -> Part {
        Part::new(Role::Heading, stacked(lines(&caption.heading, Face::Bold, self.size, self.width), at, self.size, Face::Bold))
    }

    /// The height of this heading.
    pub fn heading_of(&self, caption: &Caption<'_>) -> f32 {
        lines(&caption.heading, Face::Bold, self.size, self.width).len() as f32 * self.size * LEADING
    }

    /// The sentence, line by line.
    pub fn sentence_lines(&self, caption: &Caption<'_>) -> Vec<String> {
        if caption.sentence.is_empty() { Vec::new() } else { lines(caption.sentence, Face::Regular, self.size, self.width) }
    }

    /// Lines of a sentence, the first one's top left corner here; `None` for none.
    pub fn paragraph(&self, lines: Vec<String>, at: (f32, f32)) -> Option<Part> {
        (!lines.is_empty()).then(|| Part::new(Role::Paragraph, stacked(lines, at, self.size, Face::Regular)))
    }
}
