//! Runs the stages over one page or many: the only room that knows the whole pipeline.

mod back;
mod grid;
mod later;
mod partners;
mod slip;
mod text;
mod tints;
mod together;

use std::borrow::Cow;
use std::iter;
use std::thread;
use std::time::Instant;

use sha2::{Digest, Sha256};

use crate::classify::{AlikeReader, CellReader};
use crate::decide::{Reading, Reason, Shot, Thresholds, Verdict};
use crate::decode::{Afar, Damage, DecodeError, Page, Pages};
use crate::find::{Finder, Found};
use crate::label::{Label, LabelReader};
use crate::net::{NetError, on_one_thread};
use crate::plane::{Lattice, Point, Turn};

use grid::Patience;
use later::Later;

pub use partners::{Comparison, Partners, Printed};
pub use together::{Place, Spread};

/// The bytes of an ONNX file.
type Weights = Cow<'static, [u8]>;

/// The bundled network that marks crossings.
const FIND_WEIGHTS: &[u8] = include_bytes!("../../models/find.onnx");
/// The bundled network that reads cells.
const CLASSIFY_WEIGHTS: &[u8] = include_bytes!("../../models/classify.onnx");
/// The bundled networks that look again: other sizes, other training pages.
const SECOND_WEIGHTS: &[u8] = include_bytes!("../../models/second.onnx");
/// See `SECOND_WEIGHTS`.
const THIRD_WEIGHTS: &[u8] = include_bytes!("../../models/third.onnx");
const FINE_WEIGHTS: &[u8] = include_bytes!("../../models/fine.onnx");
/// The bundled network that tells copies of a digit.
const ALIKE_WEIGHTS: &[u8] = include_bytes!("../../models/alike.onnx");
/// The bundled network that marks lines that look like labels.
const LABEL_PLACE_WEIGHTS: &[u8] = include_bytes!("../../models/label_place.onnx");
/// The bundled network that reads such lines.
const LABEL_TEXT_WEIGHTS: &[u8] = include_bytes!("../../models/label_text.onnx");
/// The checksums of all bundled networks.
const CHECKSUMS: &str = include_str!("../../models/checksums.txt");
/// The bundled thresholds.
const THRESHOLDS: &str = include_str!("../../models/thresholds.json");

/// Cells at least so wide, in pixels of a page at half its size, hold all that reading takes: it samples cells at 29 pixels, and the letters of labels, down to
/// a third of a cell high, at 22.
const AFAR_PITCH: f32 = 64.0;
/// A grid with so many printed digits is finished, or was filled in by somebody.
const FULL: usize = 60;
/// Grids of which one's cells are no smaller than this share of the other's are of one size.
const AS_LARGE: f32 = 0.8;

/// Why a page of a file could not be read.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum LiftError {
    /// It can't be decoded.
    #[error(transparent)]
    Decode(#[from] DecodeError),
    /// A network can't be run on it.
    #[error(transparent)]
    Net(#[from] NetError),
}

/// All that was read of one page.
#[derive(Clone, Debug)]
pub struct PageReading {
    /// Which page of its file, from 1.
    pub number: u32,
    /// Width and height of the upright page, in pixels.
    pub size: (u32, u32),
    /// What was wrong with the file.
    pub damage: Vec<Damage>,
    /// The grids, in reading order.
    pub grids: Vec<GridReading>,
    /// Lattices of nine by nine that show other rules (regions, diagonals, cages) or none, such as tables.
    pub left_out: usize,
    /// Milliseconds spent in each stage.
    pub times: StageTimes,
}

/// One grid of a page.
#[derive(Clone, Debug)]
pub struct GridReading {
    /// The crossings, rows as printed.
    pub lattice: Lattice,
    /// How far the print is rotated clockwise on the page.
    pub turn: Turn,
    /// What was read.
    pub reading: Reading,
    /// The number or title printed by the grid.
    pub label: Option<Label>,
    /// Whether the printed solution elsewhere agrees with this puzzle's; `None` where none was found.
    pub printed_solution_agrees: Option<bool>,
    /// The evidence that it was read from, to be weighed together with other shots of the same grid.
    pub shot: Shot,
}

/// Milliseconds of wall time spent in each stage of one page.
#[derive(Clone, Copy, Debug, Default)]
pub struct StageTimes {
    /// Bytes to page.
    pub decode: f64,
    /// Page to lattices.
    pub find: f64,
    /// Cutting, classifying and deciding.
    pub read: f64,
    /// Weighing the cells together and proving, counted within `read` too.
    pub prove: f64,
    /// Finding and reading labels, counted apart from `read`.
    pub label: f64,
}

/// The networks and thresholds, ready for any number of pages on any number of threads.
pub struct Lifter {
    finder: Later<Finder>,
    /// The first look's network, then those that look again.
    readers: Vec<Later<CellReader>>,
    alike: Later<AlikeReader>,
    labels: Later<LabelReader>,
    thresholds: Thresholds,
    weights_hash: String,
    thresholds_hash: String,
}

impl Lifter {
    /// The lifter with the bundled weights and thresholds.
    ///
    /// # Errors
    /// Where the program was built with damaged weights.
    pub fn new() -> Result<Self, NetError> {
        let classify = [CLASSIFY_WEIGHTS, SECOND_WEIGHTS, THIRD_WEIGHTS, FINE_WEIGHTS].map(Cow::Borrowed);
        // To hash all of the networks takes as long as to read a grid.
        let labels = [LABEL_PLACE_WEIGHTS, LABEL_TEXT_WEIGHTS].map(Cow::Borrowed);
        let lifter = Self::assemble(
            Cow::Borrowed(FIND_WEIGHTS),
            &classify,
            Cow::Borrowed(ALIKE_WEIGHTS),
            labels,
            THRESHOLDS,
            short_hash(&[CHECKSUMS.as_bytes()]),
        )?;
        // Made ready while the first page is decoded and looked at. A page that comes sooner waits for those that it needs. Those that only doubt asks for
        // wait for it: they are most of the weights, and most pages are done without.
        let (finder, readers, labels) = (lifter.finder.clone(), lifter.readers.clone(), lifter.labels.clone());
        thread::spawn(move || {
            finder.prepare();
            readers.iter().take(2).for_each(Later::prepare);
            labels.prepare();
        });
        Ok(lifter)
    }

    /// A lifter with other networks (ONNX) for lattices, cells (one or more, in the order in which they look), copies of a digit and labels (that marks them, that reads them)
    /// and other thresholds (JSON), of the same form.
    ///
    /// # Errors
    /// Where one of them isn't of that form.
    pub fn from_parts(find: &[u8], classify: &[&[u8]], alike: &[u8], labels: [&[u8]; 2], thresholds: &str) -> Result<Self, NetError> {
        let owned = |weights: &[u8]| Cow::Owned(weights.to_vec());
        let all: Vec<&[u8]> = iter::once(find).chain(classify.iter().copied()).chain([alike]).chain(labels).collect();
        let classify: Vec<Weights> = classify.iter().copied().map(owned).collect();
        let lifter = Self::assemble(owned(find), &classify, owned(alike), labels.map(owned), thresholds, short_hash(&all))?;
        lifter.finder.get()?;
        lifter.readers.iter().try_for_each(|reader| reader.get().map(drop))?;
        lifter.alike.get()?;
        lifter.labels.get()?;
        Ok(lifter)
    }

    fn assemble(
        find: Weights,
        classify: &[Weights],
        alike: Weights,
        [place, text]: [Weights; 2],
        thresholds: &str,
        weights_hash: String,
    ) -> Result<Self, NetError> {
        let parsed: Thresholds = serde_json::from_str(thresholds).map_err(|error| NetError::Weights(error.to_string()))?;
        let temperature = parsed.temperature;
        let reader = |weights: &Weights| {
            let weights = weights.clone();
            Later::new(move || CellReader::from_onnx(&weights, temperature))
        };
        Ok(Self {
            finder: Later::new(move || Finder::from_onnx(&find)),
            readers: classify.iter().map(reader).collect(),
            alike: Later::new(move || AlikeReader::from_onnx(&alike)),
            labels: Later::new(move || LabelReader::from_onnx(&place, &text)),
            thresholds: parsed,
            weights_hash,
            thresholds_hash: short_hash(&[thresholds.as_bytes()]),
        })
    }

    /// The first eight hexadecimal digits of a SHA-256: of the list of the bundled networks' checksums, or of other networks themselves.
    pub fn weights(&self) -> &str {
        &self.weights_hash
    }

    /// The first eight hexadecimal digits of the thresholds' SHA-256.
    pub fn thresholds(&self) -> &str {
        &self.thresholds_hash
    }

    /// Everything that can be read of one page. `times.decode` is left at 0: the page is decoded already.
    ///
    /// # Errors
    /// Where a network can't be run on this page.
    pub fn lift(&self, page: &Page) -> Result<PageReading, NetError> {
        on_one_thread(|| {
            let (read, times) = self.read(page, Patience::All)?;
            self.complete(page, read, times)
        })
    }

    /// The grids of a page without their labels, `None` for each lattice that is no grid of ours.
    fn read(&self, page: &Page, patience: Patience) -> Result<(Vec<Option<GridReading>>, StageTimes), NetError> {
        let mut times = StageTimes::default();
        let start = Instant::now();
        let glanced = self.finder.get()?.glance(page)?;
        times.find += milliseconds_since(start);
        let read = self.read_grids(page, glanced.as_slice(), Patience::None, &mut times)?;
        // What a glance found and reading proved needs no closer look. All else gets one.
        if read.iter().flatten().any(is_proven) {
            return Ok((read, times));
        }
        let mut look = |closely: bool| {
            let start = Instant::now();
            let found = self.finder.get()?.find(page, closely)?;
            times.find += milliseconds_since(start);
            let mut read = self.read_grids(page, &found, patience, &mut times)?;
            drop_overlaid(&mut read);
            Ok(read)
        };
        let mut read = look(false)?;
        let is_readable = |grid: &GridReading| grid.reading.verdict != Verdict::Unreadable;
        if patience == Patience::All && !read.is_empty() && !read.iter().flatten().any(is_readable) {
            // What looked like a grid may be made of several small ones, or hide them.
            read = look(true)?;
        }
        Ok((read, times))
    }

    /// The grids in these lattices, `None` for each that is none of ours; without patience, up to the first that isn't proven.
    fn read_grids(
        &self,
        page: &Page,
        found: &[Found],
        patience: Patience,
        times: &mut StageTimes,
    ) -> Result<Vec<Option<GridReading>>, NetError> {
        let start = Instant::now();
        let mut grids = Vec::new();
        for found in found {
            let (grid, milliseconds) = grid::read(page, found, &self.readers, &self.alike, &self.thresholds, patience)?.unzip();
            times.prove += milliseconds.unwrap_or(0.0);
            let proven = grid.as_ref().is_some_and(is_proven);
            grids.push(grid);
            // One that isn't proven is enough for a closer look at all.
            if patience == Patience::None && !proven {
                break;
            }
        }
        times.read += milliseconds_since(start);
        Ok(grids)
    }

    /// What was read of a page, with its labels.
    fn complete(&self, page: &Page, read: Vec<Option<GridReading>>, mut times: StageTimes) -> Result<PageReading, NetError> {
        let start = Instant::now();
        let read: Vec<Option<GridReading>> =
            read.into_iter().map(|grid| grid.filter(|grid| !back::shows_through(&page.luma, grid))).collect();
        let left_out = read.iter().filter(|grid| grid.is_none()).count();
        let mut grids: Vec<GridReading> = read.into_iter().flatten().collect();
        // Grids that share cells are one puzzle, each with the other's rules, too. Where one that is cut off lies is not sure.
        let is_puzzle = |n: usize| grids[n].reading.solutions > 0 && !grids[n].shot.picture.is_cut_off(&self.thresholds);
        let shares = |n: usize, m: usize| m != n && is_puzzle(m) && grids[n].lattice.shares_cells(&grids[m].lattice);
        let shared: Vec<bool> = (0..grids.len()).map(|n| is_puzzle(n) && (0..grids.len()).any(|m| shares(n, m))).collect();
        for (grid, _) in grids.iter_mut().zip(shared).filter(|(_, shared)| *shared) {
            grid.shot.picture.other_rules = 1.0;
            grid.reading = grid.shot.read(&self.thresholds);
        }
        // Who filled in one grid of a page in type may have written on the others of its size, where a few digits pass for print; small ones are printed solutions.
        let givens = |grid: &GridReading| grid.reading.givens.as_ref().map_or(0, |board| board.filled().len());
        let in_type = |grid: &&GridReading| grid.shot.picture.two_prints && grid.reading.solutions == 1 && givens(grid) >= FULL;
        let typed: Vec<f32> = grids.iter().filter(in_type).map(|grid| grid.lattice.pitch()).collect();
        let is_beside = |grid: &GridReading| typed.iter().any(|pitch| (AS_LARGE..1.0 / AS_LARGE).contains(&(pitch / grid.lattice.pitch())));
        let may_be = |grid: &&mut GridReading| {
            let picture = &grid.shot.picture;
            picture.varied && !picture.two_prints && !grid.reading.solved && is_beside(grid)
        };
        for grid in grids.iter_mut().filter(may_be) {
            grid.shot.picture.two_prints = true;
            grid.reading = grid.shot.read(&self.thresholds);
        }
        grids.iter_mut().for_each(|grid| text::compare(&page.digits, grid));
        times.read += milliseconds_since(start);
        let start = Instant::now();
        self.label(page, &mut grids)?;
        times.label = milliseconds_since(start);
        Ok(PageReading { number: page.number, size: page.luma.dimensions(), damage: page.damage.clone(), grids, left_out, times })
    }

    /// Everything that can be read of page `number` of a file, `times.decode` included. A large page is read at half its size first, and that is
    /// taken where all its grids are proven and large.
    ///
    /// # Errors
    /// Where there is no such page, nothing of it can be decoded, or a network can't be run on it.
    pub fn lift_page(&self, pages: &Pages, number: u32) -> Result<PageReading, LiftError> {
        let start = Instant::now();
        let afar = pages.afar(number);
        let mut decode = milliseconds_since(start);
        if let Some(afar) = &afar
            && let Some(mut reading) = self.lift_afar(afar)?
        {
            reading.times.decode = decode;
            return Ok(reading);
        }
        drop(afar);
        let again = Instant::now();
        let page = pages.page(number)?;
        decode += milliseconds_since(again);
        let mut reading = self.lift(&page)?;
        reading.times.decode = decode;
        Ok(reading)
    }

    /// The reading of a page seen at half its size, told in pixels of the whole page; `None` where that isn't enough.
    fn lift_afar(&self, afar: &Afar) -> Result<Option<PageReading>, NetError> {
        let large = |grid: &GridReading| grid.lattice.pitch() >= AFAR_PITCH;
        let reading = on_one_thread(|| {
            let (read, times) = self.read(&afar.page, Patience::None)?;
            let enough = !read.is_empty() && read.iter().all(|grid| grid.as_ref().is_some_and(|grid| is_proven(grid) && large(grid)));
            enough.then(|| self.complete(&afar.page, read, times)).transpose()
        })?;
        let Some(mut reading) = reading else { return Ok(None) };
        reading.size = afar.size;
        for grid in &mut reading.grids {
            grid.lattice = grid.lattice.map(|p| Point::new(2.0 * p.x + 0.5, 2.0 * p.y + 0.5));
            grid.shot.picture.pitch *= 2.0;
            if let Some(label) = &mut grid.label {
                let [x, y, width, height] = label.place;
                label.place = [2.0 * x + 0.5, 2.0 * y + 0.5, 2.0 * width, 2.0 * height];
            }
        }
        Ok(Some(reading))
    }

    /// One reading for each grid that these pages show, taken for shots of the same grids: see [`Spread`].
    pub fn together(&self, pages: &[PageReading]) -> Vec<Spread> {
        together::together(pages, &self.thresholds)
    }

    /// Reads the labels of the page's grids. A grid of which it can't be told which way up it is gets none: 16 may be 91.
    fn label(&self, page: &Page, grids: &mut [GridReading]) -> Result<(), NetError> {
        let is_upright = |grid: &GridReading| !grid.reading.flags.iter().any(|flag| flag.reason == Reason::TurnUnsure);
        let mut upright: Vec<&mut GridReading> = grids.iter_mut().filter(|grid| is_upright(grid)).collect();
        let lattices: Vec<&Lattice> = upright.iter().map(|grid| &grid.lattice).collect();
        if lattices.is_empty() {
            return Ok(());
        }
        let labels = self.labels.get()?.read(page, &lattices)?;
        upright.iter_mut().zip(labels).for_each(|(grid, label)| grid.label = label);
        Ok(())
    }
}

/// Of grids that lie on each other the one that was read best stays.
fn drop_overlaid(read: &mut Vec<Option<GridReading>>) {
    let told = |grid: &GridReading| {
        let rank = match grid.reading.verdict {
            Verdict::Unreadable => 0,
            Verdict::Doubtful => 1,
            Verdict::Proven | Verdict::Mended | Verdict::Misprinted => 2,
        };
        let middle = grid.lattice.points[4][4].toward(grid.lattice.points[5][5], 0.5);
        (middle, grid.lattice.pitch(), (rank, grid.reading.confidence))
    };
    let all: Vec<_> = read.iter().flatten().map(told).collect();
    let is_overlaid = |grid: &GridReading| {
        let (middle, pitch, read) = told(grid);
        all.iter().any(|(other, of_other, better)| other.distance(middle) < 4.5 * pitch.max(*of_other) && *better > read)
    };
    read.retain(|grid| !grid.as_ref().is_some_and(is_overlaid));
}

fn is_proven(grid: &GridReading) -> bool {
    grid.reading.verdict == Verdict::Proven
}

fn milliseconds_since(start: Instant) -> f64 {
    start.elapsed().as_secs_f64() * 1e3
}

fn short_hash(parts: &[&[u8]]) -> String {
    let mut hash = Sha256::new();
    parts.iter().for_each(|part| hash.update(part));
    hash.finalize().iter().take(4).map(|byte| format!("{byte:02x}")).collect()
}
