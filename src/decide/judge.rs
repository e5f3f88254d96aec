//! From evidence to a verdict.

use super::alike;
use super::candidates::{Candidates, Change, GivenOdds, Givens, differing};
use super::pale::pale_alone;
use super::pattern;
use super::rules;
use super::sound::SoundReadings;
use super::unlike;
use super::{CellReading, Flag, Mark, Picture, Reading, Reason, Thresholds, Verdict};
use crate::classify::CLASSES;
use crate::grid::{Board, Cell, Digit};

/// Changes costlier than this many nats (one in a hundred million) are not considered.
const LIMIT_NATS: f64 = 18.0;
/// The same for all changes together that make a sound puzzle of what is blurred: of many cells each may have to be read otherwise.
const SOUND_NATS: f64 = 36.0;
/// A puzzle with more givens is hardly ever printed (the 79 of the photographs have 40 at most; common practice, no source), a finished grid that was read only in
/// part, or writing taken for print, looks just so.
const MOST_GIVENS: usize = 50;
/// A digit that alone is paler than the others is print this often, all else being beyond doubt.
const PALE_IS_PRINT: f64 = 0.7;
/// Rivals below this probability are not told.
const LEAST_RIVAL: f64 = 1e-6;

/// The reading of one grid from its fused evidence.
pub(super) fn judge(cells: &[[f64; CLASSES]], picture: &Picture, thresholds: &Thresholds) -> Reading {
    let cells = pattern::weigh(cells, thresholds.floor);
    // What the network that tells copies says is worth more.
    let cells = if picture.pairs.is_empty() { unlike::weigh(&cells, &picture.unlike) } else { alike::weigh(&cells, &picture.pairs) };
    let cells = &cells[..];
    let odds = given_odds(cells);
    let mut search = Candidates::new(&odds, LIMIT_NATS);
    let Some(likeliest) = search.next() else { return unreadable(cells, &likeliest_marks(cells), picture) };
    let seen = likeliest_marks(cells);
    if is_beyond_hope(&odds, picture) {
        return unreadable(cells, &seen, picture);
    }
    let is_sound = rules::is_sound(&likeliest.givens);
    let is_plain = is_sound && odds.iter().all(|row| row.iter().copied().fold(0.0, f64::max) >= thresholds.cell);
    let together = if is_plain { SoundReadings::default() } else { SoundReadings::of(&odds, SOUND_NATS) };
    // Where too little can be told by the cells, nor by the rules, a list of flags would help nobody.
    if unsure(&odds) > thresholds.hopeless && together.surely(thresholds.sure_to_mend()).is_none() {
        return unreadable(cells, &seen, picture);
    }
    if !is_sound {
        return decide_unsound(cells, &seen, &likeliest.givens, &together, &odds, picture, thresholds);
    }
    // A finished grid that keeps the rules shows by which it goes and where its boxes are, unless other ones are plain to see; a puzzle that keeps them, where its rim is, and boxes are seen
    // with half of the evidence.
    let keeps_rules = is_finished(&likeliest.givens) && picture.other_rules < 0.5;
    let other_rules = if keeps_rules { 0.0 } else { picture.other_rules };
    let sees_boxes = keeps_rules || picture.boxes > thresholds.boxes / 2.0;
    let boxes = if sees_boxes { picture.boxes.max(thresholds.boxes) } else { picture.boxes };
    let picture = &Picture { other_rules, boxes, border: picture.border.max(thresholds.border), ..picture.clone() };
    let rivals = rivals(&likeliest.givens, search.changes());
    let confidence = confidence(&odds, &rivals, together.of_several_changes(&likeliest.givens), picture, thresholds);
    let mut reading = describe(cells, &seen, &likeliest.givens, confidence);
    reading.confidence *= nothing_hidden(cells, &reading, picture);
    flag(&mut reading, cells, &rivals, &together, picture, thresholds);
    // A digit that is doubted for another reason is doubted enough.
    if let Some(pale) = pale_alone(&reading, picture).filter(|pale| !reading.flags.iter().any(|flag| flag.cell == pale.cell)) {
        reading.confidence *= PALE_IS_PRINT;
        reading.flags.push(pale);
    }
    sort_flags(&mut reading, cells, &odds, picture, thresholds);
    let written = seen.iter().any(|mark| matches!(mark, Mark::Entry(_) | Mark::Marks));
    // Digits of five pixels are misread more surely: a 9 was for a 6, at 0.996, on one of 79 photographs shrunk to 10 pixels a cell.
    const TINY_PITCH: f64 = 12.0;
    let least = if written || picture.pitch < TINY_PITCH { thresholds.grid_written } else { thresholds.grid };
    if reading.confidence < least && reading.flags.is_empty() {
        flag_likeliest_faults(&mut reading, cells, &rivals, picture, thresholds, least);
    }
    // Whoever wrote on a page made its rules no less plain.
    let other_rules = other_rules_beside(&reading, picture);
    if other_rules > 1.0 - thresholds.cell {
        reading.flags.push(flag_whole(&reading, Reason::OtherRules));
    }
    let certain = reading.flags.is_empty() && reading.confidence >= least && picture.faults(thresholds).is_empty();
    reading.verdict = if certain { Verdict::Proven } else { Verdict::Doubtful };
    reading.confidence *= 1.0 - other_rules;
    finish(reading, picture, thresholds)
}

/// The probability of other rules where the usual ones leave one solution: a puzzle that needs more, or other regions, seldom has one without them.
fn other_rules_beside(reading: &Reading, picture: &Picture) -> f64 {
    // Of some 900 such puzzles of three drawers one in eight has, and half of these have tints that tell them (`lift/tints.rs`); besides, the networks learned from pages on
    // which one puzzle in ten is so, more than books hold.
    const SELDOM: f64 = 0.06;
    let odds = picture.other_rules / (1.0 - picture.other_rules).max(f64::MIN_POSITIVE);
    let odds = if reading.solutions == 1 && !reading.solved { SELDOM * odds } else { odds };
    odds / (1.0 + odds)
}

/// The likeliest reading breaks a rule: a misread that can be mended, a misprint, or neither can be told.
fn decide_unsound(
    cells: &[[f64; CLASSES]],
    seen: &[Mark],
    likeliest: &Givens,
    together: &SoundReadings,
    odds: &GivenOdds,
    picture: &Picture,
    thresholds: &Thresholds,
) -> Reading {
    // A puzzle with extra houses has several solutions without them, mostly many: of 1,066 such on the pages of four drawers 940 have more than a hundred, of 73 misprints none. So much of a hint
    // of other rules is enough then, and else. Of 208 pages with misprints and 526 with some 1,300 such puzzles 159 are called misprinted, and 18; with 0.004 for both 147 and 13.
    const FEW_SOLUTIONS: u64 = 100;
    const A_HINT: f64 = 0.0005;
    const RATHER_OTHER: f64 = 0.03;
    // How sure the picture alone is of the unsound reading.
    let picture_alone: f64 = odds.iter().zip(likeliest).map(|(row, &digit)| row[usize::from(digit)]).product();
    let weakest = odds.iter().zip(likeliest).map(|(row, &digit)| row[usize::from(digit)]).fold(1.0, f64::min);
    // Misprints are rare: the misreading that would explain it must be rarer still by a margin.
    let misread = together.best().map_or(0.0, |(best, _)| (-best.cost).exp());
    let sure = weakest >= thresholds.cell && misread * thresholds.misprint_margin < thresholds.misprint_prior;
    let whole = !blocked(cells, picture) && !picture.washed.contains(&true) && !picture.shaded.contains(&true);
    // Givens that can't stand together, each read beyond doubt, tell a misprint whatever may be unsure elsewhere.
    let conflict = rules::conflict(likeliest);
    let disputed: f64 = conflict.iter().map(|cell| 1.0 - odds[cell.index()][usize::from(likeliest[cell.index()])]).sum();
    let clash = !conflict.is_empty() && weakest >= thresholds.floor && disputed * thresholds.misprint_margin < thresholds.misprint_prior;
    let cut_off = picture.is_cut_off(thresholds);
    // A misprint is one digit; what no single change makes sound, and is read surely, was never meant to be sound by the usual rules.
    let is_puzzle = likeliest.iter().filter(|&&digit| digit > 0).count() <= MOST_GIVENS;
    let is_unsound = clash || sure && whole;
    let repairs = if is_unsound { rules::repairs(likeliest) } else { Vec::new() };
    let never_was = is_puzzle && is_unsound && repairs.is_empty();
    let hint = || if rules::count(likeliest, FEW_SOLUTIONS + 1) > FEW_SOLUTIONS { A_HINT } else { RATHER_OTHER };
    let needs_more = is_unsound && conflict.is_empty() && picture.other_rules > hint();
    let doubt = picture.doubts_of_rules(thresholds).or((never_was || needs_more).then_some(Reason::OtherRules));
    if picture.faults(thresholds).is_empty() && doubt.is_none() && !cut_off && is_unsound {
        let mut reading =
            describe(cells, seen, likeliest, picture_alone * thresholds.misprint_prior / (thresholds.misprint_prior + misread));
        reading.conflict.clone_from(&conflict);
        reading.repairs = repairs;
        reading.verdict = Verdict::Misprinted;
        flag(&mut reading, cells, &in_full(odds), &SoundReadings::default(), picture, thresholds);
        sort_flags(&mut reading, cells, odds, picture, thresholds);
        reading.flags.retain(|flag| !reading.conflict.contains(&flag.cell));
        if clash || reading.flags.is_empty() {
            let clashing: Vec<Flag> = reading
                .conflict
                .iter()
                .map(|&cell| flag_at(&reading, cell, Reason::BreaksARule, reading.cells[cell.index()].read, 1.0))
                .collect();
            reading.flags.splice(0..0, clashing);
            return finish(reading, picture, thresholds);
        }
    }
    // What reads surely isn't changed only because its boxes can hardly be seen.
    let in_force = doubt.is_none() || doubt == Some(Reason::LineMissing) && !sure;
    let mends = picture.faults(thresholds).is_empty() && in_force;
    if let Some((mended, share)) = together.surely(thresholds.sure_to_mend()).filter(|_| mends) {
        let mut reading = describe(cells, seen, &mended.givens, share * (1.0 - thresholds.misprint_prior));
        flag_mended(&mut reading, likeliest, cells, odds);
        reading.verdict = Verdict::Mended;
        return finish(reading, picture, thresholds);
    }
    // A misread is likelier than a misprint: the best of the readings that keep the rules is shown, with what may be wrong in it.
    if let Some((best, share)) = together.best().filter(|(best, _)| in_force && (-best.cost).exp() > thresholds.misprint_prior) {
        let mut reading = describe(cells, seen, &best.givens, share.min(0.5));
        flag(&mut reading, cells, &[], together, picture, thresholds);
        sort_flags(&mut reading, cells, odds, picture, thresholds);
        reading.flags.extend(doubt.map(|reason| flag_whole(&reading, reason)));
        reading.verdict = Verdict::Doubtful;
        return finish(reading, picture, thresholds);
    }
    let mut reading = describe(cells, seen, likeliest, 0.0);
    reading.conflict = conflict;
    flag(&mut reading, cells, &in_full(odds), &SoundReadings::default(), picture, thresholds);
    let flagged: Vec<Cell> = reading.flags.iter().map(|flag| flag.cell).collect();
    let conflict: Vec<Cell> = reading.conflict.iter().copied().filter(|cell| !flagged.contains(cell)).collect();
    for cell in conflict {
        let flag = flag_of_rival(&reading, cells, cell);
        reading.flags.push(Flag { reason: Reason::BreaksARule, ..flag });
    }
    sort_flags(&mut reading, cells, odds, picture, thresholds);
    reading.flags.extend(doubt.map(|reason| flag_whole(&reading, reason)));
    reading.verdict = Verdict::Doubtful;
    finish(reading, picture, thresholds)
}

/// Flags every cell that is read otherwise than by itself, which was `likeliest`.
fn flag_mended(reading: &mut Reading, likeliest: &Givens, cells: &[[f64; CLASSES]], odds: &GivenOdds) {
    let Some(mended) = reading.givens else { return };
    for cell in Cell::ALL {
        let (n, after) = (cell.index(), mended.get(cell).map_or(0, Digit::value));
        let before = likeliest[n];
        if before != after {
            let odds = odds[n][usize::from(before)] / odds[n][usize::from(after)].max(f64::MIN_POSITIVE);
            let (read, suggest) = (mark_of(before, cells, n), mark_of(after, cells, n));
            reading.flags.push(Flag { cell, reason: Reason::Mended, read, suggest, odds });
        }
    }
}

/// Probabilities of the givens alone: what is written, marked or lies over a cell counts as none.
pub(super) fn given_odds(cells: &[[f64; CLASSES]]) -> GivenOdds {
    std::array::from_fn(|cell| {
        std::array::from_fn(|digit| if digit == 0 { cells[cell][0] + cells[cell][10..].iter().sum::<f64>() } else { cells[cell][digit] })
    })
}

fn mark_at(class: usize) -> Mark {
    let digit = |value: usize| Digit::new(value as u8);
    match class {
        1..=9 => digit(class).map_or(Mark::Other, Mark::Given),
        10..=18 => digit(class - 9).map_or(Mark::Other, Mark::Entry),
        0 => Mark::Empty,
        19 => Mark::Marks,
        _ => Mark::Other,
    }
}

pub(super) fn class_of(mark: Mark) -> usize {
    match mark {
        Mark::Empty => 0,
        Mark::Given(digit) => usize::from(digit.value()),
        Mark::Entry(digit) => usize::from(digit.value()) + 9,
        Mark::Marks => 19,
        Mark::Other => 20,
    }
}

pub(super) fn top(row: &[f64; CLASSES], among: impl Iterator<Item = usize>) -> usize {
    among.max_by(|&a, &b| row[a].total_cmp(&row[b])).unwrap_or(0)
}

fn likeliest_marks(cells: &[[f64; CLASSES]]) -> Vec<Mark> {
    cells.iter().map(|row| mark_at(top(row, 0..CLASSES))).collect()
}

/// What stands in a cell if its given is `digit` (0: the likeliest that is no given).
fn mark_of(digit: u8, cells: &[[f64; CLASSES]], cell: usize) -> Mark {
    if digit > 0 { mark_at(usize::from(digit)) } else { mark_at(top(&cells[cell], std::iter::once(0).chain(10..CLASSES))) }
}

/// Whether something lies over a cell.
fn blocked(cells: &[[f64; CLASSES]], picture: &Picture) -> bool {
    cells.iter().enumerate().any(|(n, row)| picture.hidden(n, row) > 0.5)
}

/// Whether no rules could make up for what can't be told.
fn is_beyond_hope(odds: &GivenOdds, picture: &Picture) -> bool {
    const MOST_UNSURE: usize = 30;
    picture.mirrored > 0.5 || unsure(odds) > MOST_UNSURE
}

/// The cells of which it isn't likely what is printed there; what was written where nothing is printed is no matter.
pub(super) fn unsure(odds: &GivenOdds) -> usize {
    odds.iter().filter(|row| row.iter().copied().fold(0.0, f64::max) < 0.6).count()
}

/// A single change of the reading.
struct Rival {
    change: Change,
    /// Whether the puzzle would still have exactly one solution.
    sound: bool,
}

fn rivals(givens: &Givens, changes: &[Change]) -> Vec<Rival> {
    let is_sound = |change: &Change| {
        let mut other = *givens;
        other[change.cell] = change.digit;
        rules::is_sound(&other)
    };
    changes.iter().map(|change| Rival { change: *change, sound: is_sound(change) }).collect()
}

/// Every rival counted in full, since no rule speaks for an unsound reading.
fn in_full(odds: &GivenOdds) -> Vec<Rival> {
    Candidates::new(odds, LIMIT_NATS).changes().iter().map(|change| Rival { change: *change, sound: true }).collect()
}

impl Rival {
    /// How likely the change is against the sound reading: its likelihood, and the odds of a misprint where it
    /// isn't sound.
    fn weight(&self, thresholds: &Thresholds) -> f64 {
        (-self.change.cost).exp() * if self.sound { 1.0 } else { thresholds.misprint_prior }
    }
}

/// The probability that a sound reading is what is printed.
///
/// Each single change weighs by its likelihood and soundness, several at once by `of_several`; the network's own calibration on whole grids comes
/// last, since the cells of a page fail together.
fn confidence(odds: &GivenOdds, rivals: &[Rival], of_several: f64, picture: &Picture, thresholds: &Thresholds) -> f64 {
    let rivals = rivals.iter().map(|rival| rival.weight(thresholds)).sum::<f64>() + of_several;
    // Changes below the limit, all told.
    let rest: f64 = odds.iter().map(|row| row.iter().filter(|&&p| p > 0.0 && p < (-LIMIT_NATS).exp()).sum::<f64>()).sum();
    let alone = (-(rivals + rest)).exp() * picture.upright;
    thresholds.whole_grid(alone)
}

fn is_given(read: Mark) -> bool {
    matches!(read, Mark::Given(_))
}

fn count_of_givens(reading: &Reading) -> usize {
    reading.cells.iter().filter(|cell| is_given(cell.read)).count()
}

/// How often what lies over a cell hides a given: as many cells hold one, but where those that can be seen leave one solution, few of them could be hidden.
fn hides_given(reading: &Reading) -> f64 {
    // Of the givens of the 79 puzzles of the photographs so many can be dropped (`scripts/trust/stays_unique.rs`, models/README.md).
    const NOT_NEEDED: f64 = 0.405;
    let needed = if reading.solutions == 1 { NOT_NEEDED } else { 1.0 };
    needed * count_of_givens(reading) as f64 / 81.0
}

/// The probability that no given is hidden under something.
fn nothing_hidden(cells: &[[f64; CLASSES]], reading: &Reading, picture: &Picture) -> f64 {
    let free = cells.iter().zip(&reading.cells).enumerate().filter(|(_, (_, cell))| !is_given(cell.read));
    let covered: f64 = free.map(|(n, (row, _))| picture.hidden(n, row)).sum();
    (-covered * hides_given(reading)).exp()
}

/// Whether all 81 digits are printed.
fn is_finished(givens: &Givens) -> bool {
    givens.iter().all(|&digit| digit > 0)
}

/// All fields but verdict and flags.
fn describe(cells: &[[f64; CLASSES]], seen: &[Mark], givens: &Givens, confidence: f64) -> Reading {
    let marks: Vec<Mark> = (0..81)
        .map(|cell| if givens[cell] > 0 || matches!(seen[cell], Mark::Given(_)) { mark_of(givens[cell], cells, cell) } else { seen[cell] })
        .collect();
    let readings = marks.iter().enumerate().map(|(cell, &read)| cell_reading(&cells[cell], read)).collect();
    let entries: Givens = std::array::from_fn(|cell| if let Mark::Entry(digit) = marks[cell] { digit.value() } else { 0 });
    let solved = is_finished(givens);
    let mut reading = Reading {
        verdict: Verdict::Doubtful,
        confidence,
        cells: readings,
        givens: Some(rules::board(givens)),
        entries: Some(rules::board(&entries)),
        marks: Vec::new(),
        solutions: 0,
        solution: None,
        second: None,
        solved,
        conflict: Vec::new(),
        repairs: Vec::new(),
        flags: Vec::new(),
        advice: None,
    };
    rules::solve(givens, &mut reading);
    reading
}

fn cell_reading(row: &[f64; CLASSES], read: Mark) -> CellReading {
    let own = class_of(read);
    let mut rivals: Vec<(Mark, f64)> =
        (0..CLASSES).filter(|&class| class != own && row[class] > LEAST_RIVAL).map(|class| (mark_at(class), row[class])).collect();
    rivals.sort_by(|a, b| b.1.total_cmp(&a.1));
    CellReading { read, probability: row[own], rivals }
}

fn unreadable(cells: &[[f64; CLASSES]], seen: &[Mark], picture: &Picture) -> Reading {
    let readings = seen.iter().enumerate().map(|(cell, &read)| cell_reading(&cells[cell], read)).collect();
    let advice = if picture.mirrored > 0.5 { Some("the page is mirrored: take it the right way round") } else { picture.advice(&[]) };
    Reading {
        verdict: Verdict::Unreadable,
        confidence: 0.0,
        cells: readings,
        givens: None,
        entries: None,
        marks: Vec::new(),
        solutions: 0,
        solution: None,
        second: None,
        solved: false,
        conflict: Vec::new(),
        repairs: Vec::new(),
        flags: Vec::new(),
        advice,
    }
}

/// Flags every cell that isn't certain.
///
/// A cell is certain where its own evidence is well above even and, with the rules weighed in, above the
/// threshold: a rival that would leave no sound puzzle could be true in a misprint only.
fn flag(
    reading: &mut Reading,
    cells: &[[f64; CLASSES]],
    rivals: &[Rival],
    together: &SoundReadings,
    picture: &Picture,
    thresholds: &Thresholds,
) {
    // Of 486 wrong cells on 153 drawn grids that weren't exactly right (seeds 960000 to 960579 and 970000 to 970259, all levels) so 452 carry a flag,
    // without it 424, and a grid has 7 flags in the median instead of 6.
    const LIKEWISE: f64 = 0.9925;
    let differs = reading.givens.map_or([0.0; 81], |givens| together.differing(&givens));
    let hides = hides_given(reading);
    let too_full = count_of_givens(reading) > MOST_GIVENS;
    let print = depth_of_print(reading, picture, thresholds);
    // How sure it is that what was read of a cell's given is right.
    let sure = |cell: Cell| {
        let (n, read) = (cell.index(), reading.cells[cell.index()].read);
        let hidden = picture.hidden(n, &cells[n]);
        let settled = (1.0 / (1.0 + weight_at(n, rivals, thresholds))).min(1.0 - differs[n]) - hides * hidden;
        if given_probability(&cells[n], read, hidden) < thresholds.floor { 0.0 } else { settled }
    };
    let sure = Cell::ALL.map(sure);
    let flags = Cell::ALL.map(|cell| flag_of_rival(reading, cells, cell));
    // The cells of a page fail together: what is doubted in one is doubted sooner in the others.
    let doubted: Vec<Reason> = flags.iter().zip(sure).filter(|(_, sure)| *sure < thresholds.cell).map(|(flag, _)| flag.reason).collect();
    for flag in flags {
        let (n, read, kind) = (flag.cell.index(), flag.read, flag.reason);
        let least = if doubted.contains(&kind) { LIKEWISE } else { thresholds.cell };
        // What is struck out still is ink: whether it is writing, marks or neither is no matter.
        let ink = cells[n][10..].iter().sum::<f64>();
        let unclear = picture.hidden(n, &cells[n]) > 1.0 - thresholds.cell || ink < thresholds.cell;
        let reason = if picture.outside[n] > thresholds.outside {
            Reason::CutOff
        } else if read == Mark::Other && unclear || picture.shaded[n] && !is_given(read) {
            Reason::Covered
        } else if sure[n] < least {
            in_the_picture(kind, n, picture, print)
        } else if picture.washed[n] && !matches!(read, Mark::Given(_) | Mark::Entry(_)) {
            // Where writing can be seen, print could as well.
            Reason::Glare
        } else if too_full && !is_given(read) {
            kind
        } else {
            continue;
        };
        reading.flags.push(Flag { reason, ..flag });
    }
}

/// How likely the changes of one cell are against the reading, all told.
fn weight_at(cell: usize, rivals: &[Rival], thresholds: &Thresholds) -> f64 {
    rivals.iter().filter(|rival| rival.change.cell == cell).map(|rival| rival.weight(thresholds)).sum()
}

/// Where no cell by itself is unsure enough, flags those whose doubts add up to the grid's: the likeliest faults first, until the others' would leave
/// a confidence of `least`.
fn flag_likeliest_faults(
    reading: &mut Reading,
    cells: &[[f64; CLASSES]],
    rivals: &[Rival],
    picture: &Picture,
    thresholds: &Thresholds,
    least: f64,
) {
    let hides = hides_given(reading);
    let doubt = |cell: Cell| {
        let n = cell.index();
        let hidden = if is_given(reading.cells[n].read) { 0.0 } else { picture.hidden(n, &cells[n]) };
        weight_at(n, rivals, thresholds) + hides * hidden
    };
    let mut doubts: Vec<(f64, Cell)> = Cell::ALL.into_iter().map(|cell| (doubt(cell), cell)).collect();
    doubts.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut left: f64 = doubts.iter().map(|(doubt, _)| doubt).sum();
    for (doubt, cell) in doubts {
        reading.flags.push(flag_of_rival(reading, cells, cell));
        left -= doubt;
        if thresholds.whole_grid((-left).exp()) >= least {
            break;
        }
    }
}

/// Puts first the flags whose answer would settle most: by how likely the cell is wrong, both by itself and with the rules and the other cells weighed
/// in. On 49 drawn grids that weren't exactly right (levels rough and harsh) the first three so hold 72 wrong cells, sorted by the single cells 65.
fn sort_flags(reading: &mut Reading, cells: &[[f64; CLASSES]], odds: &GivenOdds, picture: &Picture, thresholds: &Thresholds) {
    let Some(givens) = reading.givens.filter(|_| reading.flags.len() > 1) else { return };
    let wrong = chances_of_being_wrong(&givens, odds, thresholds);
    let risk = |flag: &Flag| {
        let (n, row) = (flag.cell.index(), &cells[flag.cell.index()]);
        wrong[n] + 1.0 - given_probability(row, flag.read, picture.hidden(n, row))
    };
    reading.flags.sort_by(|a, b| risk(b).total_cmp(&risk(a)));
}

/// For each cell the probability that its given isn't `givens`', all likely readings weighed by the picture and the rules.
fn chances_of_being_wrong(givens: &Board, odds: &GivenOdds, thresholds: &Thresholds) -> [f64; 81] {
    const MOST: usize = 300;
    let likely = Candidates::new(odds, LIMIT_NATS).take(MOST).map(|candidate| {
        let prior = if rules::is_sound(&candidate.givens) { 1.0 } else { thresholds.misprint_prior };
        (candidate.givens, (-candidate.cost).exp() * prior)
    });
    differing(givens, likely)
}

/// The probability that the cell's given (or its having none, with nothing that hides one) is right.
fn given_probability(row: &[f64; CLASSES], read: Mark, hidden: f64) -> f64 {
    match read {
        Mark::Given(digit) => row[usize::from(digit.value())],
        _ => row[0] + row[10..].iter().sum::<f64>() - hidden,
    }
}

/// The likeliest other reading of the cell that would change its given, and how many times likelier the
/// reading is.
fn runner_up(cells: &[[f64; CLASSES]], cell: usize, read: Mark) -> (Mark, f64) {
    let row = &cells[cell];
    let other = match read {
        Mark::Given(digit) => top(row, (0..CLASSES).filter(|&class| class != usize::from(digit.value()))),
        _ => top(row, 1..10),
    };
    (mark_at(other), row[class_of(read)] / row[other].max(1e-12))
}

fn reason_for(read: Mark, suggest: Mark) -> Reason {
    match (read, suggest) {
        (Mark::Given(_), Mark::Given(_)) => Reason::RivalDigits,
        (Mark::Given(_), Mark::Entry(_)) | (Mark::Entry(_), Mark::Given(_)) => Reason::PrintOrHandwriting,
        (_, Mark::Other) => Reason::Covered,
        _ => Reason::MaybeEmpty,
    }
}

/// How dark the ink of the sure givens is, in the median; `None` where there is none.
fn depth_of_print(reading: &Reading, picture: &Picture, thresholds: &Thresholds) -> Option<f64> {
    let is_sure = |cell: &CellReading| is_given(cell.read) && cell.probability >= thresholds.cell;
    let sure = picture.depth.iter().zip(&reading.cells).filter(|(_, cell)| is_sure(cell));
    let mut depths: Vec<f64> = sure.map(|(depth, _)| *depth).collect();
    depths.sort_by(f64::total_cmp);
    depths.get(depths.len() / 2).copied()
}

/// The reason for which a digit can't be told, where the picture shows it: ink that is weak against the other givens', or has no sharp edge.
fn in_the_picture(reason: Reason, cell: usize, picture: &Picture, print: Option<f64>) -> Reason {
    // Of 175 proven grids on drawn photos (levels rough and harsh, seeds 870000 to 870039, three shots a page) 2 % held a given less than half as
    // dark as the median; empty cells had up to 0.08 in the median grid; in none were the givens less sharp than 0.43 in the median.
    const FAINT: f64 = 0.5;
    const SOME: f64 = 0.08;
    const BLURRED: f64 = 0.42;
    let (depth, sharp) = (picture.depth[cell], picture.sharp[cell]);
    match reason {
        Reason::RivalDigits | Reason::MaybeEmpty if print.is_some_and(|print| depth < FAINT * print) && depth > SOME => Reason::Faint,
        Reason::RivalDigits | Reason::MaybeEmpty if sharp > 0.0 && sharp < BLURRED => Reason::Blurred,
        reason => reason,
    }
}

fn flag_at(reading: &Reading, cell: Cell, reason: Reason, suggest: Mark, odds: f64) -> Flag {
    Flag { cell, reason, read: reading.cells[cell.index()].read, suggest, odds }
}

/// A flag for what a cell most likely holds else, by what speaks for that.
fn flag_of_rival(reading: &Reading, cells: &[[f64; CLASSES]], cell: Cell) -> Flag {
    let read = reading.cells[cell.index()].read;
    let (suggest, odds) = runner_up(cells, cell.index(), read);
    Flag { cell, reason: reason_for(read, suggest), read, suggest, odds }
}

/// A flag about the grid as a whole, at its first cell.
fn flag_whole(reading: &Reading, reason: Reason) -> Flag {
    flag_at(reading, Cell::ALL[0], reason, reading.cells[0].read, 1.0)
}

/// What holds for every verdict: faults of the picture as a whole take a flag and the word `proven`.
fn finish(mut reading: Reading, picture: &Picture, thresholds: &Thresholds) -> Reading {
    for reason in picture.faults(thresholds) {
        if !reading.flags.iter().any(|other| other.reason == reason) {
            reading.flags.push(flag_whole(&reading, reason));
        }
    }
    // The fewer pixels a digit has, the more their raster makes of it: of 381 finished grids on 70 drawn pages (levels clean and rough, seed 872000) all with
    // more than 1 had cells of less than 26 pixels, while of 80 grids filled in by hand none had less than 35.
    const RASTER: f64 = 16.0;
    let filled_in = reading.solved && picture.uneven > 1.0_f64.hypot(RASTER / picture.pitch);
    if filled_in || picture.two_prints {
        doubt_print(&mut reading);
    }
    if reading.verdict != Verdict::Proven && reading.verdict != Verdict::Misprinted {
        reading.advice = picture.advice(&reading.flags);
    }
    reading
}

/// What is taken for print may be written, since it varies more than one print does (a finished grid filled in by hand is as consistent as a printed one) or comes in
/// two typefaces: flags the digit that looks most like handwriting, since one answer settles all.
fn doubt_print(reading: &mut Reading) {
    let written = |cell: &CellReading, of: Digit| cell.rivals.iter().find(|(mark, _)| *mark == Mark::Entry(of)).map_or(1e-12, |(_, p)| *p);
    let odds = Cell::ALL.into_iter().zip(&reading.cells).filter_map(|(cell, reading)| match reading.read {
        Mark::Given(digit) => Some((reading.probability / written(reading, digit), cell, digit)),
        _ => None,
    });
    reading.solved = false;
    reading.verdict = Verdict::Doubtful;
    reading.confidence = reading.confidence.min(0.5);
    reading.repairs.clear();
    if let Some((odds, cell, digit)) = odds.min_by(|a, b| a.0.total_cmp(&b.0))
        && !reading.flags.iter().any(|flag| flag.cell == cell)
    {
        let flag = Flag { cell, reason: Reason::PrintOrHandwriting, read: Mark::Given(digit), suggest: Mark::Entry(digit), odds };
        reading.flags.insert(0, flag);
    }
}
