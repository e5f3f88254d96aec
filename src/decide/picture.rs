//! What is known of the picture as a whole, and the thresholds held against it.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::judge::class_of;
use super::{Flag, Mark, Reason};
use crate::classify::{CLASSES, Pair};

/// What the earlier stages say of a grid's picture, in plain numbers.
#[derive(Clone, Debug, PartialEq)]
pub struct Picture {
    /// Share of the crossings that were seen, 0 to 1.
    pub seen: f64,
    /// How much more box corners look like box corners than other crossings do, -1 to 1.
    pub boxes: f64,
    /// How much more the rim looks like a rim than the inside does, -1 to 1.
    pub border: f64,
    /// Share of each cell that lies beyond the picture's edge, 0 to 1.
    pub outside: [f64; 81],
    /// Probability that the print stands as it was read.
    pub upright: f64,
    /// Probability that the page is mirrored.
    pub mirrored: f64,
    /// Probability that the grid shows regions beyond rows, columns and boxes.
    pub other_rules: f64,
    /// Whether the file is damaged, so that part of the picture may be made up.
    pub damaged: bool,
    /// Mean side of a cell, in page pixels.
    pub pitch: f64,
    /// How far crossings lie from the flat lattice of the four corners, in cells, at most.
    pub bend: f64,
    /// Cells of which a light may have burnt out what stands in them, or that a slip of paper hides.
    pub washed: [bool; 81],
    /// Cells so dark, or of so odd a colour, that something may lie over what stands in them.
    pub shaded: [bool; 81],
    /// For each cell the probability that what is `other` in it is struck-out writing or a letter, under which nothing printed can lie.
    pub struck: [f64; 81],
    /// Pairs of neighbours in one box, both with a given or both without, of which one is printed on a tint: whole boxes and tinted givens make none.
    pub tints: usize,
    /// Share of cells whose paper is at the top of the brightness range, 0 to 1.
    pub glare: f64,
    /// How dark the darkest ink of each cell is, lines aside: 0 as paper, 1 as the darkest of the grid.
    pub depth: [f64; 81],
    /// How sharp the ink of each cell is: the steepest step from sample to sample as a share of its depth, 0 to 1; 0 where there is none.
    pub sharp: [f64; 81],
    /// How much the ink of the digits varies from cell to cell: 1 for one print, as in [`crate::classify::Ink`].
    pub uneven: f64,
    /// Whether what is taken for print comes in two typefaces.
    pub two_prints: bool,
    /// Whether what is taken for print isn't all alike, so that it may be.
    pub varied: bool,
    /// How much less like the others of its kind each digit of print is than most are, as in [`crate::classify::Ink`].
    pub unlike: [Option<f64>; 81],
    /// Every two cells that hold one digit, with the log odds that they are copies; empty where that wasn't asked.
    pub pairs: Vec<Pair>,
}

impl Default for Picture {
    /// A picture of which nothing bad is known.
    fn default() -> Self {
        Self {
            seen: 1.0,
            boxes: 1.0,
            border: 1.0,
            outside: [0.0; 81],
            upright: 1.0,
            mirrored: 0.0,
            other_rules: 0.0,
            damaged: false,
            pitch: 40.0,
            bend: 0.0,
            washed: [false; 81],
            shaded: [false; 81],
            struck: [0.0; 81],
            tints: 0,
            glare: 0.0,
            depth: [1.0; 81],
            sharp: [1.0; 81],
            uneven: 1.0,
            two_prints: false,
            varied: false,
            unlike: [None; 81],
            pairs: Vec::new(),
        }
    }
}

/// What pictures of one grid say of each two cells, as the mean of those that say something.
fn mean_pairs(pictures: &[&Picture]) -> Vec<Pair> {
    let mut all: BTreeMap<[usize; 2], Vec<f64>> = BTreeMap::new();
    for pair in pictures.iter().flat_map(|picture| &picture.pairs) {
        all.entry(pair.cells).or_default().push(pair.odds);
    }
    all.into_iter().map(|(cells, odds)| Pair { cells, odds: odds.iter().sum::<f64>() / odds.len() as f64 }).collect()
}

/// Boxes that show less are unsure. Of 749 drawn grids (seeds 840000 to 840099, all levels) 5 % had less; tables of nine by nine without boxes had up to 0.41.
pub(crate) const SURE_BOXES: f64 = 0.6;

impl Picture {
    /// What `used` pictures of one grid say together: what one of them shows well, the others need not. Whether the print follows
    /// other rules is asked of `all`, since it is a matter of the print.
    pub(super) fn together<'a>(used: &[&Self], all: impl ExactSizeIterator<Item = &'a Self>) -> Self {
        let most = |pick: fn(&Self) -> f64| used.iter().map(|picture| pick(picture)).fold(f64::NEG_INFINITY, f64::max);
        let least = |pick: fn(&Self) -> f64| used.iter().map(|picture| pick(picture)).fold(f64::INFINITY, f64::min);
        let shots = all.len().max(1) as f64;
        Self {
            seen: most(|picture| picture.seen),
            boxes: most(|picture| picture.boxes),
            border: most(|picture| picture.border),
            outside: std::array::from_fn(|cell| used.iter().map(|picture| picture.outside[cell]).fold(1.0, f64::min)),
            upright: most(|picture| picture.upright),
            mirrored: least(|picture| picture.mirrored),
            other_rules: all.map(|picture| picture.other_rules).sum::<f64>() / shots,
            damaged: used.iter().all(|picture| picture.damaged),
            pitch: most(|picture| picture.pitch),
            bend: least(|picture| picture.bend),
            washed: std::array::from_fn(|cell| used.iter().all(|picture| picture.washed[cell])),
            shaded: std::array::from_fn(|cell| used.iter().all(|picture| picture.shaded[cell])),
            struck: std::array::from_fn(|cell| used.iter().map(|picture| picture.struck[cell]).fold(1.0, f64::min)),
            tints: used.iter().map(|picture| picture.tints).min().unwrap_or(0),
            glare: least(|picture| picture.glare),
            depth: std::array::from_fn(|cell| used.iter().map(|picture| picture.depth[cell]).fold(0.0, f64::max)),
            sharp: std::array::from_fn(|cell| used.iter().map(|picture| picture.sharp[cell]).fold(0.0, f64::max)),
            uneven: most(|picture| picture.uneven),
            two_prints: used.iter().any(|picture| picture.two_prints),
            varied: used.iter().all(|picture| picture.varied),
            unlike: std::array::from_fn(|cell| used.iter().filter_map(|picture| picture.unlike[cell]).min_by(f64::total_cmp)),
            pairs: mean_pairs(used),
        }
    }

    /// The probability that something lies over a cell, of which this is the evidence, and may hide what is printed there.
    pub(super) fn hidden(&self, cell: usize, row: &[f64; CLASSES]) -> f64 {
        row[class_of(Mark::Other)] * (1.0 - self.struck[cell])
    }

    /// Whether some cell lies beyond the picture's edge, by more than chance.
    pub(crate) fn is_cut_off(&self, thresholds: &Thresholds) -> bool {
        self.outside.iter().any(|&share| share > thresholds.outside)
    }

    /// What speaks against the picture as a whole.
    pub fn faults(&self, thresholds: &Thresholds) -> Vec<Reason> {
        let mut faults = Vec::new();
        if self.upright < thresholds.upright {
            faults.push(Reason::TurnUnsure);
        }
        if self.other_rules > thresholds.other_rules {
            faults.push(Reason::OtherRules);
        }
        if self.seen < thresholds.seen || self.boxes < thresholds.boxes || self.border < thresholds.border {
            faults.push(Reason::LineMissing);
        }
        if self.damaged {
            faults.push(Reason::CutShort);
        }
        faults
    }

    /// What makes it uncertain by which rules the puzzle goes: then that it has no solution, or several, is no fault of the page. A sound puzzle
    /// needs no such doubt, since extra houses leave its solution as it is.
    pub(super) fn doubts_of_rules(&self, thresholds: &Thresholds) -> Option<Reason> {
        // A tinted cell or two make up to eight; of drawn puzzles, tinted diagonals make 19 and windows 27.
        const MOST_TINTS: usize = 10;
        if self.other_rules > 1.0 - thresholds.cell || self.tints > MOST_TINTS {
            Some(Reason::OtherRules)
        } else if self.boxes < SURE_BOXES {
            Some(Reason::LineMissing)
        } else {
            None
        }
    }

    /// One line that says how to take a better picture of a grid with these flags; `None` where nothing measured calls for it.
    pub fn advice(&self, flags: &[Flag]) -> Option<&'static str> {
        // Common practice, no source: below about 16 pixels a cell, digits lose their inner shapes.
        const SMALL_PITCH: f64 = 16.0;
        const MUCH_BEND: f64 = 0.35;
        let flagged = |reason: Reason| flags.iter().filter(|flag| flag.reason == reason).count();
        if self.outside.iter().any(|&share| share > 0.02) {
            Some("take the whole grid into the picture")
        } else if self.damaged {
            Some("the file is damaged: copy or take it again")
        } else if self.mirrored > 0.5 {
            Some("the page is mirrored: take it the right way round")
        } else if self.glare > 0.1 && self.glare < 0.9 || flagged(Reason::Glare) > 0 {
            Some("turn the page away from the light: part of it is washed out")
        } else if self.pitch < SMALL_PITCH {
            Some("go closer: the digits are only a few pixels high")
        } else if 2 * flagged(Reason::Blurred) > flags.len() {
            Some("go closer, hold still and let the camera focus: the digits are blurred")
        } else if self.bend > MUCH_BEND {
            Some("lay the page flatter")
        } else {
            None
        }
    }
}

/// What evidence must reach. `models/README.md` tells from which pages, by which scripts.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Thresholds {
    /// Class logits of the cell reader are divided by this (temperature scaling, Guo et al. 2017).
    pub temperature: f64,
    /// Least probability of a given, or of having none, in each cell of a `proven` grid, the rules weighed in.
    pub cell: f64,
    /// The same from the picture alone.
    pub floor: f64,
    /// Power of the geometric mean of several looks; their number would take them for independent.
    pub fusion: f64,
    /// How much each look counts in that mean, where all networks looked, in their order.
    pub looks: Vec<f64>,
    /// Least confidence of a `proven` grid in which nobody has written.
    pub grid: f64,
    /// Least confidence of a `proven` grid in which somebody has written: a right entry taken for a given leaves
    /// the puzzle sound, so the rules don't guard against it.
    pub grid_written: f64,
    /// Least probability that the print stands as it was read.
    pub upright: f64,
    /// Most probability of other rules.
    pub other_rules: f64,
    /// Least share of crossings seen.
    pub seen: f64,
    /// Least surplus of box corners.
    pub boxes: f64,
    /// Least surplus of the rim.
    pub border: f64,
    /// Most of a cell that may lie beyond the picture's edge.
    pub outside: f64,
    /// How often a printed puzzle is unsound.
    pub misprint_prior: f64,
    /// How many times likelier a misprint must be than a misread to be called one.
    pub misprint_margin: f64,
    /// By how many nats the mended reading must beat all other sound ones together.
    pub mend_margin: f64,
    /// More cells without a likely reading than this make a grid unreadable.
    pub hopeless: usize,
    /// Slope and level of the logistic fit from the confidence of independent cells to that of whole grids
    /// (Platt 1999), in log odds.
    pub whole_slope: f64,
    /// See `whole_slope`.
    pub whole_level: f64,
}

impl Thresholds {
    /// Least share of all sound readings that a mended one must have.
    pub(super) fn sure_to_mend(&self) -> f64 {
        1.0 / (1.0 + (-self.mend_margin).exp())
    }

    /// The confidence of the whole grid, where independent cells would give `alone`.
    pub fn whole_grid(&self, alone: f64) -> f64 {
        let alone = alone.clamp(1e-9, 1.0 - 1e-9);
        let odds = self.whole_slope * (alone / (1.0 - alone)).ln() + self.whole_level;
        1.0 / (1.0 + (-odds).exp())
    }
}
