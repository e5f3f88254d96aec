//! Reads the number or title printed by a grid.
//!
//! Takes a page and the lattices on it, rows as printed, and gives each grid's label as text, or `None` where there is none or it
//! can't be read for sure. A network marks lines that look like labels in each grid's surroundings (`place`), flattened by
//! the lattice (`surroundings`), beside those that ink alone shows (`ink`); a second one reads them (`text`); what only tells how hard a puzzle is, a date or a page number
//! is no label (`wording`). Which grid a line belongs to is weighed over the whole page, since the labels of one page stand at the
//! same place by their grids (`choose`).

mod choose;
mod ink;
mod lexicon;
mod place;
mod surroundings;
mod text;
mod wording;

use crate::decode::Page;
use crate::net::{NetError, Network};
use crate::plane::Lattice;

pub use wording::number_of;

use choose::{Line, choose};
use place::{Candidate, Marks};
use surroundings::Surroundings;
use wording::wording;

/// Lines read for one grid at most, of those that the network marked and of those that ink shows: beyond the likeliest few there is
/// nothing to win.
const MOST_LINES: usize = 3;

/// The number or title printed by a grid.
#[derive(Clone, Debug, PartialEq)]
pub struct Label {
    /// The text as printed.
    pub text: String,
    /// x, y, width and height of the smallest upright box around it, in page pixels.
    pub place: [f32; 4],
    /// The probability that `text` is what stands there, 0 to 1.
    pub confidence: f32,
}

/// The networks that find and read labels, ready for any number of pages.
pub struct LabelReader {
    place: Network,
    text: Network,
}

impl LabelReader {
    /// The reader in the bytes of two ONNX files: the one that marks lines and the one that reads them.
    ///
    /// # Errors
    /// Where the bytes are no such networks.
    pub fn from_onnx(place: &[u8], text: &[u8]) -> Result<Self, NetError> {
        Ok(Self { place: Network::from_onnx(place)?, text: Network::from_onnx(text)? })
    }

    /// Makes the network that marks lines ready, which the first grid would else wait for.
    ///
    /// # Errors
    /// Where the network takes no surroundings.
    pub fn prepare(&self) -> Result<(), NetError> {
        self.place.prepare(&Marks::SHAPE)
    }

    /// The label of each grid, in the order of `lattices`.
    ///
    /// # Errors
    /// Where a network can't be run.
    pub fn read(&self, page: &Page, lattices: &[&Lattice]) -> Result<Vec<Option<Label>>, NetError> {
        let mut lines = Vec::new();
        for (grid, lattice) in lattices.iter().enumerate() {
            let around = Surroundings::new(lattice);
            let within_another = |line: &surroundings::Line| {
                let middle = around.place((line.left + line.right) / 2.0, (line.top + line.bottom) / 2.0);
                lattices.iter().enumerate().any(|(other, lattice)| other != grid && lattice.encloses(middle))
            };
            for Candidate { line, seen } in candidates(&Marks::see(&self.place, &page.luma, &around)?, &page.luma, &around) {
                if within_another(&line) {
                    continue;
                }
                let Some(text) = text::read(&self.text, &page.luma, &around, &line)? else { continue };
                let kind = wording(&text.said);
                let label = Label { text: text.said, place: around.box_of(&line), confidence: text.confidence };
                lines.push(Line { grid, line, seen, kind, label });
            }
        }
        Ok(choose(lines, lattices.len()))
    }
}

/// The lines around a grid that are worth reading.
fn candidates(marks: &Marks, luma: &image::GrayImage, around: &Surroundings) -> Vec<Candidate> {
    let mut candidates: Vec<Candidate> = marks.candidates().into_iter().take(MOST_LINES).collect();
    let inked = ink::lines(luma, around);
    let mut by_ink: Vec<Candidate> =
        inked.iter().map(|line| Candidate { line: *line, seen: (ink::worth(line, &inked) + 0.5 * marks.seen(line)).min(1.0) }).collect();
    by_ink.sort_by(|a, b| b.seen.total_cmp(&a.seen));
    candidates.extend(by_ink.into_iter().take(MOST_LINES));
    candidates
}
