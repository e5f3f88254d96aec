//! Reads one grid: cut, classify (turned upright), look again, decide.

use std::cell::LazyCell;
use std::time::Instant;

use super::GridReading;
use super::later::Later;
use super::slip::slip;
use super::tints::{tell_other_rules, tell_parity};
use crate::classify::{AlikeReader, CLASSES, CellReader, Evidence, Ink, Inks};
use crate::cut::{Cells, FINE, Light, MARGIN, SIDE, Sheet, cut_sheet, least};
use crate::decide::{Mark, Picture, Reading, SURE_BOXES, Shot, Thresholds, Verdict, decide};
use crate::decode::Page;
use crate::find::Found;
use crate::net::NetError;
use crate::plane::{Lattice, Point, Turn};

/// By how much of a cell further looks are shifted, to the right and down.
const SHIFTS: [(f32, f32); 3] = [(0.05, -0.04), (-0.04, 0.05), (0.03, 0.05)];
/// Looks at what seems proven and nobody has written on after which no other is asked for, if all of them are beyond doubt; at all else it is one more.
const FEWEST: usize = 2;
/// Looks that are each at least so sure of every cell, and of the same, are beyond doubt. Of 421 such grids on 400 drawn pages (seeds 842000 to 842099, all
/// levels) and 160 photographs with even numbers 346 are: with a third look all are proven, too, and read the same.
const BEYOND_DOUBT: f64 = 0.995;
/// A pose likelier than this is taken at once; below it all four turns are read.
const SURE_POSE: f64 = 0.98;
/// Paper brighter than this, of 255, may hide ink that the light has washed out.
const WASHED_OUT: f32 = 250.0;
/// Paper darker than this share of the grid's is no paper, but something over it: of the proven grids on 120 drawn rough photos and 80 real ones no cell had
/// less than 0.43, shadows and all.
const NO_PAPER: f32 = 1.0 / 3.0;
/// Where a lamp shines through, a camera that keeps its highlights, or a file, may leave paper less bright; then it must outshine the other cells by more.
const KEPT_BACK: f32 = 225.0;
/// See `KEPT_BACK`.
const FAR_BRIGHTER: f32 = 20.0;
/// By how much it must outshine the grid's other cells for a lamp's reflection: a page that is bright all over shows its ink.
const OUTSHINES: f32 = 8.0;
/// Ink shows where at least so many givens stand on paper as bright, each with this share of the depth that givens have in the middle.
const FEWEST_SHOWN: usize = 3;
/// See `FEWEST_SHOWN`.
const SHOWN: f64 = 0.7;
/// A cell that is so much brighter than each of the eight around it, and has lost its lines, has a slip of paper over it, or a reflection in it; not so where all of these are givens
/// and others without one are as bright: then givens are printed on a tint. (Asked for alone it doubted 7 of 620 grids on a helper's pages with blinds and streaks of light, all of them right.)
const STANDS_OUT: f32 = 12.0;
/// Where the lines around a cell are washed out with its paper, they keep less than this share of the darkness that lines have around cells at the same place in
/// their boxes, the second darkest of each cell, since a frame may lack a side; white cells among shaded ones keep it all.
const LINES_KEPT: f32 = 0.5;
/// A grid in which a cell's second lightest line is no darker has hardly any within its boxes: in three whose slips no network told it was 0.10 at most, in 14 photographs of
/// a newspaper that tints three cells 0.30 at least.
const FEW_LINES: f32 = 0.15;
/// Where the first look sees other rules likelier than this, all look: of grids of ours so are 3 in 100.
const HINT_OF_RULES: f64 = 0.005;
/// What the last look says of other rules counts by itself above this.
const PLAIN_TO_SEE: f64 = 0.2;
/// Tinted diagonals or windows show other rules so likely.
const TINTED: f64 = 0.6;
/// What shows other rules likelier than this isn't told of: most of it is no puzzle of nine by nine at all.
const FOREIGN: f64 = 0.95;

/// What becomes of a grid that doesn't seem proven at the first look.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Patience {
    /// It is left at that: it will be found anew, or on a larger page, and read there.
    None,
    /// It is looked at again and again.
    All,
}

/// The reading of one grid, and the milliseconds that weighing and proving took; `None` where it is no grid of ours.
pub(super) fn read(
    page: &Page,
    found: &Found,
    readers: &[Later<CellReader>],
    alike: &Later<AlikeReader>,
    thresholds: &Thresholds,
    patience: Patience,
) -> Result<Option<(GridReading, f64)>, NetError> {
    let sheet = Sheet::new(page, &found.lattice);
    let reader = readers[0].get()?;
    let Upright { turn, lattice, cells, inks, mut evidence } = upright(&sheet, &found.lattice, reader)?;
    if cells.gaps {
        // White diagonals and the like are plain to see in dark alone.
        evidence.other_rules = evidence.other_rules.max(reader.look(&cells.inverted(), &inks)?.other_rules);
    }
    if evidence.other_rules > FOREIGN {
        return Ok(None);
    }
    let mut picture = picture_of(page, found, &lattice, &cells, (&evidence, inks.told(&evidence)));
    let start = Instant::now();
    let first = decide(std::slice::from_ref(&evidence), &picture, thresholds);
    let mut deciding = start.elapsed();
    // One accident of cutting must not pass: what would be accepted is cut again, elsewhere. Doubt and
    // handwriting are worth more looks.
    let proven = first.verdict == Verdict::Proven;
    let plain = proven && first.entries.as_ref().is_none_or(|board| board.filled().is_empty());
    let fewest = if plain { FEWEST } else { FEWEST + 1 };
    let fine = LazyCell::new(|| Sheet::<FINE>::new(page, &found.lattice));
    let mut looks = vec![evidence];
    for (shift, reader) in SHIFTS.into_iter().zip(readers.iter().cycle().skip(1)) {
        let enough = looks.len() >= fewest && looks[0].other_rules < HINT_OF_RULES && beyond_doubt(&looks);
        if enough || !proven && patience == Patience::None {
            break;
        }
        let (reader, lattice) = (reader.get()?, shifted(&lattice, shift));
        let cells = if reader.is_fine() { cut_sheet(&fine, &lattice) } else { cut_sheet(&sheet, &lattice) };
        looks.push(reader.look(&cells, &inks)?);
    }
    if looks.len() > FEWEST {
        picture.pairs = alike.get()?.look(&cut_sheet(&fine, &lattice), &looks)?;
    }
    picture.struck = struck(&looks);
    // Where the first look isn't sure of the turn, the others may be.
    picture.upright = picture.upright.max(mean_odds(looks.iter().map(|look| look.pose[0])));
    if !cells.gaps {
        picture.other_rules = other_rules(&looks);
    }
    if tell_other_rules(&cells.light) {
        picture.other_rules = picture.other_rules.max(TINTED);
    }
    if found.shares_a_box {
        picture.other_rules = 1.0;
    }
    let start = Instant::now();
    let mut shot = Shot::new(&looks, picture, thresholds);
    let mut reading = shot.read(thresholds);
    if reading.solution.as_ref().is_some_and(|solution| tell_parity(&cells.light, solution)) {
        shot.picture.other_rules = shot.picture.other_rules.max(TINTED);
        reading = shot.read(thresholds);
    }
    // Nine by nine cells that show no boxes are a table, unless the digits in them make a puzzle; so they are where boxes hardly show and digits clash.
    let clashes = !reading.conflict.is_empty() && f64::from(found.boxes) < SURE_BOXES;
    if clashes || !found.shows_boxes() && reading.solutions != 1 || is_another_lattice(found, &shot, &reading, thresholds) {
        return Ok(None);
    }
    deciding += start.elapsed();
    Ok(Some((GridReading { lattice, turn, reading, label: None, printed_solution_agrees: None, shot }, deciding.as_secs_f64() * 1e3)))
}

/// Whether what seems a grid, and holds next to nothing that can be read, is another lattice: one without boxes; one of four by four lines, as one box of a grid whose boxes stand apart; or one
/// that holds all in the middle of boxes, which are its cells. What a mirrored page shows can't be read, but is a grid.
fn is_another_lattice(found: &Found, shot: &Shot, reading: &Reading, thresholds: &Thresholds) -> bool {
    const FEWEST: usize = 8;
    let printed: Vec<usize> = (0..81).filter(|&n| matches!(reading.cells[n].read, Mark::Given(_))).collect();
    let unread = reading.verdict == Verdict::Unreadable && shot.picture.mirrored < 0.5 || printed.len() < FEWEST;
    let in_the_middle = |&n: &usize| n / 9 % 3 == 1 && n % 3 == 1;
    let no_boxes = f64::from(found.boxes) < thresholds.boxes;
    unread && (no_boxes || !found.shows_cells() || !printed.is_empty() && printed.iter().all(in_the_middle))
}

/// The probability of other rules, as the mean of the log odds that the looks give. The second network is left out: of 1,306 grids of ours on 800 drawn pages
/// (seeds 842000 to 842199) it takes 33 for something else by more than 0.02, the first 18, and all but it, so, 8; none of 24 others is lost by either. The last
/// network sees irregular regions best: of those grids it takes one for something else by more than [`PLAIN_TO_SEE`], and 9 of 16 irregular ones of which the
/// others don't make much.
fn other_rules(looks: &[Evidence]) -> f64 {
    let mean = mean_odds(looks.iter().enumerate().filter(|(n, _)| *n != 1).map(|(_, look)| look.other_rules));
    let last = looks.get(SHIFTS.len()).map_or(0.0, |look| look.other_rules);
    if last > PLAIN_TO_SEE { mean.max(last) } else { mean }
}

/// The probability whose log odds are the mean of the given ones'.
fn mean_odds(given: impl Iterator<Item = f64>) -> f64 {
    let odds: Vec<f64> = given.map(|p| p.max(f64::MIN_POSITIVE).ln() - (1.0 - p).max(f64::EPSILON).ln()).collect();
    1.0 / (1.0 + (-odds.iter().sum::<f64>() / odds.len().max(1) as f64).exp())
}

/// For each cell the probability that what is `other` in it is struck out, as the last look that tells says, which sees most; 0 where none does.
fn struck(looks: &[Evidence]) -> [f64; 81] {
    looks.iter().rev().find_map(|look| look.struck).unwrap_or([0.0; 81])
}

/// Whether all looks see the same in every cell, each of them nearly surely.
fn beyond_doubt(looks: &[Evidence]) -> bool {
    let agree = |cell: usize| (0..CLASSES).any(|class| looks.iter().all(|look| look.cells[cell][class] > BEYOND_DOUBT));
    (0..81).all(agree)
}

/// A grid as it is read: the right way up.
struct Upright {
    turn: Turn,
    lattice: Lattice,
    cells: Cells,
    inks: Inks,
    evidence: Evidence,
}

impl Upright {
    fn look(sheet: &Sheet, lattice: Lattice, turn: Turn, reader: &CellReader) -> Result<Self, NetError> {
        let cells = cut_sheet(sheet, &lattice);
        let inks = Inks::measure(&cells);
        let evidence = reader.look(&cells, &inks)?;
        Ok(Self { turn, lattice, cells, inks, evidence })
    }

    /// How well the print reads this way up, in nats: each cell's best class, held back because cells fail
    /// together, and the pose.
    fn score(&self) -> f64 {
        const SHARE: f64 = 0.2;
        let cells = self.evidence.cells.iter().map(|row| row.iter().copied().fold(0.0, f64::max).ln()).sum::<f64>();
        SHARE * cells + self.evidence.pose[0].max(1e-9).ln()
    }
}

/// The grid turned upright: as it lies, or as its look says that it is turned. Where that isn't sure it is read
/// in all four turns and their mirror images, and the evidence tells how likely each of them is.
fn upright(sheet: &Sheet, found: &Lattice, reader: &CellReader) -> Result<Upright, NetError> {
    let first = Upright::look(sheet, found.clone(), Turn::None, reader)?;
    let pose = first.evidence.pose;
    let likeliest = (0..8).max_by(|&a, &b| pose[a].total_cmp(&pose[b])).unwrap_or(0);
    if likeliest == 0 && pose[0] > SURE_POSE {
        return Ok(first);
    }
    if (1..4).contains(&likeliest) && pose[likeliest] > SURE_POSE {
        let turned = Upright::look(sheet, found.read_at(Turn::ALL[likeliest]), Turn::ALL[likeliest], reader)?;
        if turned.evidence.pose[0] > SURE_POSE {
            return Ok(turned);
        }
    }
    let mut looks = vec![first];
    for turn in &Turn::ALL[1..] {
        looks.push(Upright::look(sheet, found.read_at(*turn), *turn, reader)?);
    }
    for turn in Turn::ALL {
        looks.push(Upright::look(sheet, found.read_at(turn).mirrored(), turn, reader)?);
    }
    let scores: Vec<f64> = looks.iter().map(Upright::score).collect();
    let most = scores.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = scores.iter().map(|score| (score - most).exp()).collect();
    let total: f64 = weights.iter().sum();
    let best = (0..4).max_by(|&a, &b| weights[a].total_cmp(&weights[b])).unwrap_or(0);
    let mut upright = looks.swap_remove(best);
    // The pose as all eight readings tell it, in place of what one look guessed.
    let mirrored: f64 = weights[4..].iter().sum::<f64>() / total;
    upright.evidence.pose = [0.0; 8];
    upright.evidence.pose[0] = weights[best] / total;
    upright.evidence.pose[4] = mirrored;
    upright.evidence.pose[1] = (1.0 - mirrored - weights[best] / total).max(0.0);
    Ok(upright)
}

/// The lattice moved within its own cells.
fn shifted(lattice: &Lattice, (right, down): (f32, f32)) -> Lattice {
    let [a, b, _, d] = lattice.corners();
    let step = (b - a) * (right / 9.0) + (d - a) * (down / 9.0);
    lattice.map(|p| p + step)
}

/// How dark the lines around a cell are, 0 as its paper, the darkest of the four last.
fn lines_around(cells: &Cells, cell: usize) -> [f32; 4] {
    // The lines lie where the context begins; a lattice may be off by two samples.
    let (first, off) = ((MARGIN / (1.0 + 2.0 * MARGIN) * SIDE as f32) as usize, 2);
    let image = cells.images.slice(ndarray::s![cell, 0, .., ..]);
    let darkest = |axis: usize, at: usize| {
        let lanes = (at - off..=at + off).map(|i| image.index_axis(ndarray::Axis(axis), i));
        1.0 - lanes.map(|lane| lane.sum() / SIDE as f32).fold(f32::INFINITY, f32::min)
    };
    let mut sides = [darkest(0, first), darkest(0, SIDE - 1 - first), darkest(1, first), darkest(1, SIDE - 1 - first)];
    sides.sort_by(f32::total_cmp);
    sides
}

/// Whether a cell is likely to hold one certain given.
fn holds_given(evidence: &Evidence, cell: usize) -> bool {
    (1..10).any(|class| evidence.cells[cell][class] > 0.5)
}

/// Whether a cell is likely to hold neither print nor writing.
fn holds_nothing(evidence: &Evidence, cell: usize) -> bool {
    evidence.cells[cell][0] + evidence.cells[cell][CLASSES - 1] > 0.5
}

/// How many neighbours in one box, both with a given or both without, differ in their paper as print on a tint does from print beside it: all by
/// about as much, where a shadow's or a fold's differences are of all sizes. 0 where they don't.
fn tints(light: &[Light], evidence: &Evidence) -> usize {
    // As a logarithm: a lighter tint can hardly be seen.
    const TINT: f32 = 0.08;
    /// In so many colours cells are tinted that make up regions; boxes in as many are not counted. Reckoned, not fitted.
    const MANY_COLOURS: usize = 5;
    let given = |n: usize| holds_given(evidence, n);
    let step = |a: usize, b: usize| (given(a) == given(b)).then(|| (light[a].paper / light[b].paper).ln().abs());
    let within = |at: usize| at % 3 < 2;
    let across = (0..81).filter(|n| within(n % 9)).filter_map(|n| step(n, n + 1));
    let steps: Vec<f32> = across.chain((0..81).filter(|n| within(n / 9)).filter_map(|n| step(n, n + 9))).collect();
    if colours(light) >= MANY_COLOURS {
        return steps.len();
    }
    let mut large: Vec<f32> = steps.iter().copied().filter(|&step| step > TINT).collect();
    large.sort_by(f32::total_cmp);
    let Some(&usual) = large.get(large.len() / 2) else { return 0 };
    let alike = steps.iter().filter(|&&step| (0.75..1.33).contains(&(step / usual))).count();
    let between = steps.iter().filter(|&&step| (0.25..0.75).contains(&(step / usual)) || step > 1.33 * usual).count();
    // Of 754 grids on 400 drawn pages (seeds 840000 to 840099, all levels) so 22 show more than ten such steps; by their number alone, light and folds
    // make it 114.
    if 4 * between < alike { alike } else { 0 }
}

/// Whether a cell is of a colour that no other cell is nearly of: a button lies on it, or a stain. Of 1,671 drawn grids (seeds 999500 to 999619 and those of another
/// drawer) seven have an empty cell of which that is so, most with something on it; a network took one for empty paper. Where a few cells are tinted, or light from
/// two sides colours a corner, others are nearer to a cell's colour than most paper is.
fn has_colour_alone(light: &[Light], cell: usize) -> bool {
    const ALONE: f32 = 5.0;
    const OF_ITS_OWN: f32 = 0.6;
    let own = light[cell].colour[0].hypot(light[cell].colour[1]);
    light.iter().enumerate().all(|(n, other)| n == cell || other.colour_apart(&light[cell]) > ALONE.max(OF_ITS_OWN * own))
}

/// In how many colours cells are tinted, each of at least five cells; 0 where most boxes are of one.
fn colours(light: &[Light]) -> usize {
    /// Colours farther apart than this are others, in steps of 8 bits.
    const APART: f32 = 9.0;
    const FEWEST: usize = 5;
    let apart = |a: &Light, b: &Light| a.colour_apart(b) > APART;
    let mut groups: Vec<(usize, usize)> = Vec::new();
    for n in 0..light.len() {
        match groups.iter_mut().find(|(first, _)| !apart(&light[*first], &light[n])) {
            Some((_, count)) => *count += 1,
            None => groups.push((n, 1)),
        }
    }
    let middle = |at: usize| at % 27 / 9 == 1 && at % 3 == 1;
    let around = |at: usize| [at - 10, at - 9, at - 8, at - 1, at + 1, at + 8, at + 9, at + 10];
    let of_one = (0..81).filter(|&at| middle(at)).filter(|&at| !around(at).into_iter().any(|n| apart(&light[at], &light[n]))).count();
    if of_one > 4 { 0 } else { groups.iter().filter(|(_, count)| *count >= FEWEST).count() }
}

fn picture_of(page: &Page, found: &Found, lattice: &Lattice, cells: &Cells, (evidence, ink): (&Evidence, Ink)) -> Picture {
    let mut outside = [0.0; 81];
    for (share, light) in outside.iter_mut().zip(&cells.light) {
        *share = f64::from(light.outside);
    }
    let flat = Lattice::from_corners(lattice.corners());
    let bend = flat.map_or(0.0, |flat| {
        let apart = lattice.points.as_flattened().iter().zip(flat.points.as_flattened()).map(|(a, b): (&Point, &Point)| a.distance(*b));
        f64::from(apart.fold(0.0, f32::max) / lattice.pitch())
    });
    let mut paper: Vec<f32> = cells.light.iter().map(|light| light.paper).collect();
    paper.sort_by(f32::total_cmp);
    // Few pages have a cell so bright, or of so odd a colour, that its lines are asked for.
    let lines: LazyCell<[[f32; 4]; 81], _> = LazyCell::new(|| std::array::from_fn(|n| lines_around(cells, n)));
    let usual: LazyCell<[f32; 4], _> = LazyCell::new(|| std::array::from_fn(|side| least(&lines.map(|sides| sides[side]), 40)));
    // Cells in the middle of a box have none of its lines, others one or two.
    let place = |n: usize| (n / 9 % 3 == 1, n % 3 == 1);
    let usual_there = |n: usize| {
        let there: Vec<f32> = (0..81).filter(|&m| place(m) == place(n)).map(|m| lines[m][2]).collect();
        least(&there, there.len() / 2)
    };
    let line_lost = |n: usize| lines[n][2] < LINES_KEPT * usual_there(n);
    let neighbours = |n: usize| (0..81).filter(move |&m| m != n && (m / 9).abs_diff(n / 9) < 2 && (m % 9).abs_diff(n % 9) < 2);
    let beside = |n: usize| neighbours(n).filter(move |&m| m / 9 == n / 9 || m % 9 == n % 9);
    let paper_of = |n: usize| cells.light[n].paper;
    let outshines_most = |n: usize| paper_of(n) > paper[40] + OUTSHINES;
    // A reflection that is wider than one cell reaches the cell beside it; a white cell among tinted ones doesn't.
    let spreads = |n: usize| beside(n).any(outshines_most);
    let outshines = |n: usize| {
        let own = paper_of(n);
        (own > WASHED_OUT && outshines_most(n) || own > KEPT_BACK && own > paper[40] + FAR_BRIGHTER) && spreads(n)
    };
    let given = |n: usize| holds_given(evidence, n);
    let as_bright = |n: usize| (0..81).filter(|&m| !given(m) && paper_of(m) + STANDS_OUT / 2.0 > paper_of(n)).count();
    let amid_tints = |n: usize| neighbours(n).all(given) && as_bright(n) > 9;
    let lone = |n: usize| {
        let (dimmest, brightest) =
            neighbours(n).map(paper_of).fold((f32::INFINITY, f32::NEG_INFINITY), |(low, high), paper| (low.min(paper), high.max(paper)));
        // Where light falls off, the neighbours differ among themselves as much.
        brightest + STANDS_OUT.max(brightest - dimmest) < paper_of(n) && !amid_tints(n)
    };
    // Where hardly any line is, none can tell a reflection from paper; but none ends where a box does.
    let no_lines = || usual[1] <= FEW_LINES;
    let is_white_box = |n: usize| {
        let within = |m: &usize| (m / 27, m % 9 / 3) == (n / 27, n % 9 / 3);
        let around = (0..81).filter(within).flat_map(beside).filter(|m| !within(m)).map(paper_of).fold(f32::NEG_INFINITY, f32::max);
        (0..81).filter(within).all(|m| paper_of(m) > around + OUTSHINES / 2.0)
    };
    // Sunlight makes paper as bright as a reflection does, but ink shows in it.
    let usual_depth: LazyCell<f64, _> = LazyCell::new(|| {
        let mut depths: Vec<f64> = (0..81).filter(|&n| given(n)).map(|n| ink.depth[n]).collect();
        depths.sort_by(f64::total_cmp);
        depths.get(depths.len() / 2).copied().unwrap_or(0.0)
    });
    let ink_shows = |n: usize| {
        let as_bright = (0..81).filter(|&m| given(m) && paper_of(m) + 1.0 > paper_of(n));
        let depths: Vec<f64> = as_bright.map(|m| ink.depth[m]).collect();
        depths.len() >= FEWEST_SHOWN && depths.iter().all(|depth| *depth > SHOWN * *usual_depth)
    };
    let washed = |n: usize| outshines(n) && !ink_shows(n) && (line_lost(n) || no_lines() && !is_white_box(n)) || lone(n) && line_lost(n);
    // A slip over lines shows by those that it hides, and a printed tint by those that it leaves: the networks tell both.
    let slip = slip(&cells.light, |n| holds_nothing(evidence, n));
    let under_slip = |n: usize| slip[n] && usual[1] <= FEW_LINES;
    let Ink { depth, sharp, uneven, two_prints, varied, unlike } = ink;
    Picture {
        depth,
        sharp,
        uneven,
        two_prints,
        varied,
        unlike,
        pairs: Vec::new(),
        shaded: std::array::from_fn(|n| {
            paper_of(n) < NO_PAPER * paper[40] || under_slip(n) || evidence.cells[n][0] > 0.5 && has_colour_alone(&cells.light, n)
        }),
        washed: std::array::from_fn(washed),
        tints: tints(&cells.light, evidence),
        seen: f64::from(found.seen),
        boxes: f64::from(found.boxes),
        border: f64::from(found.border),
        outside,
        upright: evidence.pose[0],
        mirrored: evidence.pose[4..].iter().sum(),
        other_rules: evidence.other_rules,
        damaged: !page.damage.is_empty(),
        pitch: f64::from(lattice.pitch()),
        bend,
        struck: [0.0; 81],
        glare: cells.light.iter().filter(|light| light.paper > WASHED_OUT).count() as f64 / 81.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_in_many_colours_are_told_from_boxes_in_many() {
        let light = |colour: &dyn Fn(usize) -> usize| -> Vec<Light> {
            (0..81).map(|cell| Light { paper: 200.0, colour: [20.0 * colour(cell) as f32, 0.0], ..Light::default() }).collect()
        };
        assert_eq!(colours(&light(&|cell| (cell % 9 + cell / 9 * 2) % 9)), 9);
        assert_eq!(colours(&light(&|cell| (cell % 9 + cell / 9) % 2)), 2);
        assert_eq!(colours(&light(&|cell| cell / 27 * 3 + cell % 9 / 3)), 0);
    }

    #[test]
    fn a_colour_of_one_cell_alone_is_told_from_a_tint() {
        let light = |tinted: &[usize]| -> Vec<Light> {
            (0..81).map(|cell| Light { colour: [if tinted.contains(&cell) { 12.0 } else { 0.0 }, 0.0], ..Light::default() }).collect()
        };
        let alone = |tinted: &[usize]| (0..81).filter(|&cell| has_colour_alone(&light(tinted), cell)).collect::<Vec<_>>();
        assert_eq!(alone(&[64]), [64]);
        assert!(alone(&[64, 12]).is_empty());
        let mut unlike = light(&[64, 12]);
        unlike[12].colour[0] = 18.0;
        assert!(!has_colour_alone(&unlike, 12));
    }
}
