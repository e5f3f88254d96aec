//! Reads the number or title printed by a grid.
//!
//! Takes a page and the lattices on it, rows as printed, and gives each grid's label as text, or `None` where there is none or it
//! can't be read for sure. A network marks lines that look like labels in each grid's surroundings (`place`), flattened by
//! the lattice (`surroundings`), beside those that ink alone shows (`ink`), each also with what print follows
//! its ends (`stretch`); a second one reads them (`text`), by words where it is unsure (`spell`,
//! `lexicon`); what only tells how hard a puzzle is, a date or a page number is no label (`wording`). A line that was cut several times counts once (`gather`), with
//! probabilities of being its grid's label and of saying what was read (`weigh`). Then the whole page is weighed (`series`), since the labels of one page stand at the
//! same place by their grids, run on from grid to grid and are worded alike; the likeliest are chosen (`choose`).

mod choose;
mod cyrillic;
mod gather;
mod ink;
mod lexicon;
mod place;
mod ring;
mod series;
mod spell;
mod stretch;
mod surroundings;
mod text;
mod weigh;
mod wording;

use image::GrayImage;

use crate::decode::Page;
use crate::net::{NetError, Network};
use crate::plane::{Lattice, Point};

pub use wording::number_of;

use choose::choose;
use gather::{Gathered, Line, SHARED, gather, shared};
use place::{Candidate, Marks};
use surroundings::Surroundings;
use wording::Wording;

/// Lines read for one grid at most, of those that the network marked and of those that ink shows: beyond the likeliest few there is
/// nothing to win.
const MOST_LINES: usize = 3;

/// A line is read at these heights, as shares of its own more above and below it: letters are told better where they are seen at several sizes.
const THICKNESSES: [f32; 3] = [0.0, 0.08, -0.05];

/// A line that is less likely a label than this, read once, isn't read again.
const LEAST_LIKELY: f32 = 0.1;
/// Nor is one whose reading is this likely right: what says so little or so much more says the same again.
const IN_DOUBT: std::ops::Range<f32> = 0.02..0.97;

/// Lines as they were seen, each with the number of its grid.
type Cuts = Vec<(usize, Candidate)>;

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

/// What the choice of labels weighs about one line near a grid.
#[derive(Clone, Debug)]
pub struct Evidence {
    /// The grid, numbered as the lattices.
    pub grid: usize,
    /// Ways to read the line, the likeliest first.
    pub said: Vec<String>,
    /// The boxes of its cuts, each x, y, width and height in page pixels.
    pub places: Vec<[f32; 4]>,
    /// What speaks for its being the grid's label, in the order of the weights in `src/label/weigh.rs`.
    pub of_line: Vec<f32>,
    /// What speaks for its likeliest reading, likewise.
    pub of_reading: Vec<f32>,
}

/// A line near a grid as it is cut to be read.
#[derive(Clone, Debug)]
pub struct Strip {
    /// Where its text is taken to stand, in page pixels, as one reads it: top left, top right, bottom right, bottom left.
    pub corners: [Point; 4],
    /// The line, upright, 32 pixels high and its margin.
    pub image: GrayImage,
    /// Where these corners lie in the picture, in its pixels: left, top, right, bottom.
    pub text: [f32; 4],
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

    /// The label of each grid, in the order of `lattices`.
    ///
    /// # Errors
    /// Where a network can't be run.
    pub fn read(&self, page: &Page, lattices: &[&Lattice]) -> Result<Vec<Option<Label>>, NetError> {
        let (arounds, seen) = self.seen(page, lattices)?;
        let seen = worth_reading(seen, &arounds);
        let [own, others @ ..] = THICKNESSES;
        let mut lines = self.lines(page, &arounds, &seen, &[own])?;
        let once = gather(lines.clone());
        let in_doubt = |told: &&Gathered| {
            weigh::is_label(&weigh::of_line(told, &once, lattices.len())) > LEAST_LIKELY
                && IN_DOUBT.contains(&weigh::is_right(&weigh::of_reading(told)))
        };
        let doubtful: Vec<&Gathered> = once.iter().filter(in_doubt).collect();
        let of = |told: &&Gathered, line: &Line| told.grid == line.grid && told.places.contains(&line.place);
        let is_doubtful = |line: &Line| doubtful.iter().any(|told| of(told, line));
        let again: Cuts = seen.into_iter().zip(&lines).filter(|(_, line)| is_doubtful(line)).map(|(cut, _)| cut).collect();
        lines.extend(self.lines(page, &arounds, &again, &others)?);
        let mut labels = choose(&gather(lines), lattices);
        labels.iter_mut().flatten().for_each(|label| ring::unring(label, &page.luma));
        Ok(labels)
    }

    /// What the choice of labels weighs, for each line near a grid that may be one: `scripts/label/fit_choice.py` fits the weights to it.
    ///
    /// # Errors
    /// Where a network can't be run.
    pub fn evidence(&self, page: &Page, lattices: &[&Lattice]) -> Result<Vec<Evidence>, NetError> {
        let (arounds, seen) = self.seen(page, lattices)?;
        let lines = gather(self.lines(page, &arounds, &seen, &THICKNESSES)?);
        let evidence = |line: &Gathered| Evidence {
            grid: line.grid,
            said: line.told.iter().map(|told| told.said.clone()).collect(),
            places: line.places.clone(),
            of_line: weigh::of_line(line, &lines, lattices.len()).to_vec(),
            of_reading: weigh::of_reading(line).to_vec(),
        };
        Ok(lines.iter().filter(|line| line.told[0].kind != Wording::None).map(evidence).collect())
    }

    /// The lines near the grids as they are cut to be read, each as often as it is cut, with `margin` more pixels of paper at all sides:
    /// `scripts/label/cut_lines.rs` gives them to training.
    ///
    /// # Errors
    /// Where a network can't be run.
    pub fn strips(&self, page: &Page, lattices: &[&Lattice], margin: u32) -> Result<Vec<Strip>, NetError> {
        let (arounds, seen) = self.seen(page, lattices)?;
        let cut = |(grid, Candidate { line, .. }): (usize, Candidate)| {
            let around = &arounds[grid];
            let image = around.flatten_line(&page.luma, &line, margin);
            Strip { corners: around.corners_of(&line), text: Surroundings::text_in(&image, margin), image }
        };
        Ok(seen.into_iter().filter(|(_, candidate)| text::padded(&candidate.line).is_some()).map(cut).collect())
    }

    /// The lines that were seen near the grids, each cut read at these heights: first all at the first of them.
    fn lines(&self, page: &Page, arounds: &[Surroundings], seen: &[(usize, Candidate)], heights: &[f32]) -> Result<Vec<Line>, NetError> {
        let mut lines = Vec::new();
        for (share, &(grid, Candidate { line, seen, by_ink })) in heights.iter().flat_map(|share| seen.iter().map(move |cut| (share, cut)))
        {
            // The highest that it may be cut, whether it is or not.
            let highest = arounds[grid].box_of(&line.thickened(THICKNESSES.into_iter().fold(0.0, f32::max)));
            let line = line.thickened(*share);
            let spellings = text::read(&self.text, &page.luma, &arounds[grid], &line)?;
            let place = arounds[grid].box_of(&line);
            let inside = shared(highest, [0.0, 0.0, page.luma.width() as f32, page.luma.height() as f32]);
            lines.push(Line { grid, line, place, seen, by_ink, outside: 1.0 - inside, spellings });
        }
        Ok(lines)
    }

    /// The grids' surroundings, and the lines there that may be worth reading, each with the number of its grid; what lies within another grid is none.
    fn seen(&self, page: &Page, lattices: &[&Lattice]) -> Result<(Vec<Surroundings>, Cuts), NetError> {
        let arounds: Vec<Surroundings> = lattices.iter().map(|lattice| Surroundings::new(lattice)).collect();
        let mut seen = Vec::new();
        for (grid, around) in arounds.iter().enumerate() {
            let within_another = |line: &surroundings::Line| {
                let middle = around.place((line.left + line.right) / 2.0, (line.top + line.bottom) / 2.0);
                lattices.iter().enumerate().any(|(other, lattice)| other != grid && lattice.encloses(middle))
            };
            let (near, within) = around.near(&page.luma, ink::PITCH);
            let marks = Marks::see(&self.place, &near, &within)?;
            let (inked, headings) = ink::lines(&near, &within);
            let heads = |line: &surroundings::Line| headings.iter().any(|headings| headings.holds(line));
            seen.extend(
                candidates(&marks, &inked, &page.luma, around)
                    .into_iter()
                    .filter(|candidate| !within_another(&candidate.line) && !heads(&candidate.line))
                    .map(|candidate| (grid, candidate)),
            );
        }
        Ok((arounds, seen))
    }
}

/// What may be a label, by all cuts of its line; what can't, whatever it says, needn't be read. On a page of several grids their labels speak for each other,
/// and for one that alone is unlikely.
fn worth_reading(seen: Cuts, arounds: &[Surroundings]) -> Cuts {
    /// What is less likely than this on a page of several grids isn't read.
    const UNLIKELY: f32 = 0.05;
    /// Nor is what must be read best to be this likely where the grid is alone: of 1,005 grids on 480 drawn pages none lost its label by it.
    const AT_BEST: f32 = 0.9;
    let least = if arounds.len() > 1 { UNLIKELY } else { AT_BEST };
    let places: Vec<[f32; 4]> = seen.iter().map(|(grid, cut)| arounds[*grid].box_of(&cut.line)).collect();
    // Cuts that share their place with one that does are of one line, too.
    let mut lines: Vec<Vec<usize>> = Vec::new();
    for at in 0..seen.len() {
        let same = |line: &Vec<usize>| line.iter().any(|&cut| seen[cut].0 == seen[at].0 && shared(places[cut], places[at]) > SHARED);
        let (of_line, rest): (Vec<_>, Vec<_>) = lines.into_iter().partition(same);
        lines = rest;
        lines.push(of_line.into_iter().flatten().chain([at]).collect());
    }
    let may_be = |line: &Vec<usize>| weigh::at_most(&line.iter().map(|&cut| &seen[cut]).collect::<Vec<_>>(), &seen, arounds.len()) >= least;
    let mut worth: Vec<usize> = lines.iter().filter(|line| may_be(line)).flatten().copied().collect();
    worth.sort_unstable();
    worth.into_iter().map(|cut| seen[cut]).collect()
}

/// The first cuts, as many as are of `MOST_LINES` lines: what was cut twice takes no other line's place.
fn likeliest(cuts: impl Iterator<Item = Candidate>) -> Vec<Candidate> {
    let mut kept: Vec<Candidate> = Vec::new();
    let mut lines = 0;
    for cut in cuts {
        lines += usize::from(!kept.iter().any(|other| shared(other.line.extent(), cut.line.extent()) > SHARED));
        if lines > MOST_LINES {
            break;
        }
        kept.push(cut);
    }
    kept
}

/// The likeliest lines around a grid, by the network and by ink.
fn candidates(marks: &Marks, inked: &[surroundings::Line], luma: &GrayImage, around: &Surroundings) -> Vec<Candidate> {
    let mut candidates = likeliest(marks.candidates().into_iter());
    let by_ink = |line| (ink::worth(line, inked), Candidate { line: *line, seen: marks.seen(line), by_ink: Some(ink::worth(line, inked)) });
    let mut by_ink: Vec<(f32, Candidate)> =
        inked.iter().map(by_ink).map(|(worth, line)| ((worth + 0.5 * line.seen).min(1.0), line)).collect();
    by_ink.sort_by(|a, b| b.0.total_cmp(&a.0));
    candidates.extend(likeliest(by_ink.into_iter().map(|(_, line)| line)));
    let longer = |candidate: &Candidate| Some(Candidate { line: stretch::stretched(luma, around, &candidate.line)?, ..*candidate });
    candidates.extend(candidates.clone().iter().filter_map(longer));
    candidates
}
