//! Takes the pages of one call for shots of the same grids: tells which grid of one is which of another, and gives one reading for each.
//!
//! Grids are matched by the likeness of what was read, which puzzles that differ never have; labels and the place in reading order count beside it,
//! for shots too poor to tell. Where it can't be told, grids stay apart.

use std::collections::HashMap;

use super::{GridReading, PageReading};
use crate::decide::{Flag, Mark, Reading, Reason, Shot, Thresholds, Verdict, decide_together, likeness};
use crate::grid::Digit;
use crate::label::{Label, number_of};
use crate::plane::{Homography, Point};

/// Grids at least so alike, in nats, are one. On 240 drawn photos of 80 pages (`judge_shots`, levels rough and harsh, seeds 870000 to 870039, 36,876 pairs)
/// two shots of one grid had 43 or more where both could be read, and two puzzles -17 or less where one could.
const SAME: f64 = 20.0;
/// Grids at most so alike are two; between this and `SAME` it can't be told.
const DIFFERENT: f64 = -10.0;
/// What equal numbers in the labels say for two grids being one, and other numbers against it: labels are misread at times, so it is little.
const LABEL: f64 = 10.0;
/// What the same place in reading order says, where the other grids of both pages agree in it.
const PLACE: f64 = 25.0;

/// One grid of one page.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Place {
    /// Which of the pages, from 0.
    pub page: usize,
    /// Which of its grids, from 0.
    pub grid: usize,
}

/// A page that shows some of the grids best, with one reading for each of them out of all shots.
#[derive(Clone, Debug)]
pub struct Spread {
    /// Which of the pages it is, from 0.
    pub page: usize,
    /// The page with those grids, in its own reading order and pixels.
    pub reading: PageReading,
    /// For each of the grids, where it is shown, page by page.
    pub shown: Vec<Vec<Place>>,
    /// For each of the grids, where one is shown of which it can't be told whether it is the same.
    pub unsure: Vec<Vec<Place>>,
}

/// One reading for each grid that these pages show, on as few pages as show them all, in the pages' order. A page without a grid, or whose grids others
/// show better, has no spread.
pub(super) fn together(pages: &[PageReading], thresholds: &Thresholds) -> Vec<Spread> {
    let scores = scores(pages);
    let groups = groups(pages, &scores);
    let unsure = unsure(&scores, &groups);
    let mut left: Vec<(Vec<Place>, Vec<Place>)> = groups.into_iter().zip(unsure).collect();
    let mut spreads: Vec<Spread> = Vec::new();
    while let Some(page) = best_page(pages, &left) {
        let (mut here, elsewhere): (Vec<_>, Vec<_>) = left.into_iter().partition(|(group, _)| on(page, group).is_some());
        here.sort_by_key(|(group, _)| on(page, group));
        left = elsewhere;
        let grids = here.iter().filter_map(|(group, _)| Some(fused(pages, on(page, group)?, group, thresholds))).collect();
        let (shown, unsure) = here.into_iter().unzip();
        spreads.push(Spread { page, reading: PageReading { grids, ..pages[page].clone() }, shown, unsure });
    }
    spreads.sort_by_key(|spread| spread.page);
    spreads
}

fn grid_at(pages: &[PageReading], place: Place) -> &GridReading {
    &pages[place.page].grids[place.grid]
}

/// The member of a group that lies on a page.
fn on(page: usize, group: &[Place]) -> Option<Place> {
    group.iter().copied().find(|place| place.page == page)
}

/// The page that shows most of these groups; of equals the one that is read with most confidence, then the first.
fn best_page(pages: &[PageReading], groups: &[(Vec<Place>, Vec<Place>)]) -> Option<usize> {
    let worth = |page: usize| {
        let shown = groups.iter().filter_map(|(group, _)| on(page, group));
        shown.fold((0, 0.0), |(count, sure), place| (count + 1, sure + grid_at(pages, place).reading.confidence))
    };
    let worths = (0..pages.len()).map(|page| (worth(page), page)).filter(|((count, _), _)| *count > 0);
    worths.max_by(|a, b| a.0.0.cmp(&b.0.0).then(a.0.1.total_cmp(&b.0.1)).then(b.1.cmp(&a.1))).map(|(_, page)| page)
}

/// Two grids of two pages, the earlier first, and how alike they are.
struct Score {
    pair: [Place; 2],
    nats: f64,
}

/// All pairs of grids on two pages, the most alike first.
fn scores(pages: &[PageReading]) -> Vec<Score> {
    let mut scores = Vec::new();
    for (page, one) in pages.iter().enumerate() {
        for (later, other) in pages.iter().enumerate().skip(page + 1) {
            let first = scores.len();
            for (grid, a) in one.grids.iter().enumerate() {
                for (mate, b) in other.grids.iter().enumerate() {
                    let pair = [Place { page, grid }, Place { page: later, grid: mate }];
                    scores.push(Score { pair, nats: likeness(&a.shot, &b.shot) + by_label(a, b) });
                }
            }
            let places_agree = one.grids.len() == other.grids.len() && places_agree(&scores[first..]);
            for score in scores[first..].iter_mut().filter(|score| places_agree && in_place(score) && score.nats > DIFFERENT) {
                score.nats += PLACE;
            }
        }
    }
    scores.sort_by(|a, b| b.nats.total_cmp(&a.nats).then(in_place(b).cmp(&in_place(a))).then(a.pair.cmp(&b.pair)));
    scores
}

fn by_label(a: &GridReading, b: &GridReading) -> f64 {
    let number = |grid: &GridReading| grid.label.as_ref().and_then(|label| number_of(&label.text));
    match (number(a), number(b)) {
        (Some(a), Some(b)) if a == b => LABEL,
        (Some(_), Some(_)) => -LABEL,
        _ => 0.0,
    }
}

/// Whether both stand at the same place of their pages' reading order.
fn in_place(score: &Score) -> bool {
    score.pair[0].grid == score.pair[1].grid
}

/// Whether some grids of two pages are surely the same at the same place, and none at another.
fn places_agree(scores: &[Score]) -> bool {
    let mut sure = scores.iter().filter(|score| score.nats >= SAME).peekable();
    sure.peek().is_some() && sure.all(in_place)
}

/// The grids in groups that are one each: at most one of each page, and no two that are surely different.
fn groups(pages: &[PageReading], scores: &[Score]) -> Vec<Vec<Place>> {
    let nats: HashMap<[Place; 2], f64> = scores.iter().map(|score| (score.pair, score.nats)).collect();
    let places = |(page, reading): (usize, &PageReading)| (0..reading.grids.len()).map(move |grid| vec![Place { page, grid }]);
    let mut groups: Vec<Vec<Place>> = pages.iter().enumerate().flat_map(places).collect();
    for score in scores.iter().take_while(|score| score.nats >= SAME) {
        let at = |place: &Place| groups.iter().position(|group| group.contains(place));
        let (Some(one), Some(other)) = (at(&score.pair[0]), at(&score.pair[1])) else { continue };
        // Two grids of one page are no pair.
        let may_be_one = |a: Place, b: Place| nats.get(&[a.min(b), a.max(b)]).is_some_and(|&nats| nats > DIFFERENT);
        if one != other && groups[one].iter().all(|&a| groups[other].iter().all(|&b| may_be_one(a, b))) {
            let joined = groups.swap_remove(one.max(other));
            groups[one.min(other)].extend(joined);
        }
    }
    groups.iter_mut().for_each(|group| group.sort());
    groups
}

/// For each group, grids outside of it that may be the same as one in it: they are alike enough, or not unlike and nothing else of their groups is.
fn unsure(scores: &[Score], groups: &[Vec<Place>]) -> Vec<Vec<Place>> {
    let at = |place: Place| groups.iter().position(|group| group.contains(&place)).unwrap_or_default();
    let mut told = vec![Vec::new(); groups.len()];
    let mut unlike: HashMap<[usize; 2], bool> = HashMap::new();
    for score in scores {
        let pair = score.pair.map(at);
        *unlike.entry([pair[0].min(pair[1]), pair[0].max(pair[1])]).or_default() |= score.nats <= DIFFERENT;
    }
    for score in scores.iter().filter(|score| score.nats > DIFFERENT) {
        let [one, other] = score.pair.map(at);
        if one != other && (score.nats >= SAME || !unlike[&[one.min(other), one.max(other)]]) {
            told[one].push(score.pair[1]);
            told[other].push(score.pair[0]);
        }
    }
    for (places, group) in told.iter_mut().zip(groups) {
        places.retain(|place| on(place.page, group).is_none());
        places.sort();
        places.dedup();
    }
    told
}

/// The grid at `place`, read from all shots of its group.
fn fused(pages: &[PageReading], place: Place, group: &[Place], thresholds: &Thresholds) -> GridReading {
    let own = grid_at(pages, place);
    let members: Vec<&GridReading> = group.iter().map(|member| grid_at(pages, *member)).collect();
    if members.len() == 1 {
        return own.clone();
    }
    let shots: Vec<&Shot> = members.iter().map(|grid| &grid.shot).collect();
    let mut reading = decide_together(&shots, thresholds);
    members.iter().for_each(|grid| keep_text(&mut reading, &grid.reading));
    GridReading { reading, label: label(own, &members), ..own.clone() }
}

/// Where the text in a shot's file speaks against what all shots show, the grid stays doubtful.
fn keep_text(reading: &mut Reading, alone: &Reading) {
    let given = |mark: Mark| if let Mark::Given(digit) = mark { Some(digit) } else { None::<Digit> };
    for flag in alone.flags.iter().filter(|flag| flag.reason == Reason::TextDiffers) {
        let Some(read) = reading.cells.get(flag.cell.index()).map(|cell| cell.read) else { continue };
        if given(read) != given(flag.suggest) {
            reading.verdict = Verdict::Doubtful;
            reading.confidence = reading.confidence.min(0.5);
            reading.flags.retain(|other| other.cell != flag.cell);
            reading.flags.insert(0, Flag { read, ..flag.clone() });
        }
    }
}

/// The label that most shots read with most confidence; where another shot than `own` read it, its place is carried over by the corners of both grids.
fn label(own: &GridReading, members: &[&GridReading]) -> Option<Label> {
    let labels = || members.iter().filter_map(|grid| Some((*grid, grid.label.as_ref()?)));
    let votes = |text: &str| labels().filter(|(_, label)| label.text == text).map(|(_, label)| label.confidence).sum::<f32>();
    let (from, best) =
        labels().max_by(|a, b| votes(&a.1.text).total_cmp(&votes(&b.1.text)).then(a.1.confidence.total_cmp(&b.1.confidence)))?;
    if let Some(label) = own.label.as_ref().filter(|label| label.text == best.text) {
        return Some(label.clone());
    }
    let [x, y, width, height] = best.place;
    let there = Homography::from_points(from.lattice.corners(), own.lattice.corners())?;
    let corners = [(x, y), (x + width, y), (x + width, y + height), (x, y + height)].map(|(x, y)| there.apply(Point::new(x, y)));
    let low = |pick: fn(&Point) -> f32| corners.iter().map(pick).fold(f32::INFINITY, f32::min);
    let high = |pick: fn(&Point) -> f32| corners.iter().map(pick).fold(f32::NEG_INFINITY, f32::max);
    let (left, top) = (low(|p| p.x), low(|p| p.y));
    Some(Label { place: [left, top, high(|p| p.x) - left, high(|p| p.y) - top], ..best.clone() })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::classify::{CLASSES, Evidence};
    use crate::decide::Picture;
    use crate::lift::StageTimes;
    use crate::plane::{Lattice, Turn};

    const ONE: &str = "...4.....9.7.....3.85...2...7..9.1..15..7..3....6...2...47.9.8..13..2.4.8.9.5....";
    const TWO: &str = "974..8....1.6....5....9......1...3..348...519..2...4......6....4....1.9....5..723";
    const THREE: &str = "8..........36......7..9.2...5...7.......457.....1...3...1....68..85...1..9....4..";

    fn thresholds() -> Thresholds {
        serde_json::from_str(include_str!("../../models/thresholds.json")).expect("the bundled thresholds")
    }

    /// A grid in which these digits were read, each with this probability and else nothing told.
    fn grid(givens: &str, sure: f64, label: Option<&str>) -> GridReading {
        let row = |byte: u8| {
            let mut row = [(1.0 - sure) / CLASSES as f64; CLASSES];
            row[usize::from(byte.saturating_sub(b'0')) * usize::from(byte != b'.')] += sure;
            row
        };
        let mut pose = [0.0; 8];
        pose[0] = 1.0;
        let evidence =
            Evidence { cells: givens.bytes().map(row).collect(), marks: vec![[0.0; 9]; 81], pose, other_rules: 0.0, struck: None };
        let shot = Shot::new(&[evidence], Picture::default(), &thresholds());
        let lattice = Lattice::from_corners([(0.0, 0.0), (90.0, 0.0), (90.0, 90.0), (0.0, 90.0)].map(|(x, y)| Point::new(x, y)));
        GridReading {
            lattice: lattice.expect("a square"),
            turn: Turn::None,
            reading: shot.read(&thresholds()),
            label: label.map(|text| Label { text: text.into(), place: [10.0, -20.0, 20.0, 10.0], confidence: 0.9 }),
            printed_solution_agrees: None,
            shot,
        }
    }

    fn page(grids: Vec<GridReading>) -> PageReading {
        PageReading { number: 1, size: (100, 100), damage: Vec::new(), grids, left_out: 0, times: StageTimes::default() }
    }

    /// The groups as words: `0.1 2.0` is the second grid of the first page and the first of the third.
    fn told(spreads: &[Spread]) -> Vec<String> {
        let word = |place: &Place| format!("{}.{}", place.page, place.grid);
        let groups = spreads.iter().flat_map(|spread| &spread.shown);
        groups.map(|group| group.iter().map(word).collect::<Vec<_>>().join(" ")).collect()
    }

    #[test]
    fn shots_may_show_some_of_the_grids_in_any_order() {
        let sure = |givens| grid(givens, 0.9999, None);
        let pages = [page(vec![sure(ONE), sure(TWO)]), page(vec![sure(TWO)]), page(vec![sure(THREE), sure(ONE)])];
        let spreads = together(&pages, &thresholds());
        assert_eq!(told(&spreads), ["0.0 2.1", "0.1 1.0", "2.0"]);
        assert_eq!(spreads.iter().map(|spread| spread.page).collect::<Vec<_>>(), [0, 2]);
        assert!(spreads.iter().flat_map(|spread| &spread.reading.grids).all(|grid| grid.reading.verdict == Verdict::Proven));
        assert!(spreads.iter().flat_map(|spread| &spread.unsure).all(Vec::is_empty));
    }

    #[test]
    fn the_page_that_shows_most_and_best_speaks() {
        let pages = [page(vec![grid(ONE, 0.9, None)]), page(vec![grid(ONE, 0.9999, None)]), page(Vec::new())];
        assert_eq!(together(&pages, &thresholds())[0].page, 1);
    }

    #[test]
    fn what_is_too_poor_to_tell_stays_apart_and_is_named() {
        let pages = [page(vec![grid(ONE, 0.9999, None)]), page(vec![grid(ONE, 0.02, None)])];
        let spreads = together(&pages, &thresholds());
        assert_eq!(told(&spreads), ["0.0", "1.0"]);
        assert_eq!(spreads[0].unsure, [[Place { page: 1, grid: 0 }]]);
        assert_eq!(spreads[1].unsure, [[Place { page: 0, grid: 0 }]]);
    }

    #[test]
    fn a_poor_grid_is_placed_by_its_neighbours() {
        let sure = |givens| grid(givens, 0.9999, None);
        let pages = [page(vec![sure(ONE), sure(TWO)]), page(vec![sure(ONE), grid(TWO, 0.02, None)])];
        assert_eq!(told(&together(&pages, &thresholds())), ["0.0 1.0", "0.1 1.1"]);
        // Not so where another number of grids is seen.
        let pages = [page(vec![sure(ONE), sure(TWO)]), page(vec![sure(ONE), grid(TWO, 0.02, None), sure(THREE)])];
        assert!(told(&together(&pages, &thresholds())).contains(&"1.1".to_owned()));
    }

    #[test]
    fn labels_help_where_readings_say_little_and_never_against_them() {
        let poor = |label| page(vec![grid(ONE, 0.2, Some(label))]);
        let joined = |pages: &[PageReading]| told(&together(pages, &thresholds())).len() == 1;
        let nats = likeness(&grid(ONE, 0.2, None).shot, &grid(ONE, 0.2, None).shot);
        assert!((SAME - LABEL..SAME).contains(&nats), "{nats}: the grids of this test are of no use");
        assert!(joined(&[poor("42"), poor("No. 42")]) && !joined(&[poor("42"), poor("43")]));
        let sure = |givens, label| page(vec![grid(givens, 0.9999, Some(label))]);
        assert!(joined(&[sure(ONE, "42"), sure(ONE, "43")]) && !joined(&[sure(ONE, "42"), sure(TWO, "42")]));
    }

    #[test]
    fn a_shot_like_two_puzzles_joins_them_not() {
        // Halves of two puzzles: alike to both, which are not alike.
        let half: String = ONE[..41].to_owned() + &TWO[41..];
        let pages = [ONE, &half, TWO].map(|givens| page(vec![grid(givens, 0.9999, None)]));
        let spreads = together(&pages, &thresholds());
        assert!(told(&spreads).iter().all(|group| !(group.contains("0.0") && group.contains("2.0"))), "{:?}", told(&spreads));
    }

    #[test]
    fn a_label_that_only_another_shot_read_is_carried_over() {
        let (mut wide, plain) = (grid(ONE, 0.99, Some("42")), grid(ONE, 0.9999, None));
        wide.lattice = wide.lattice.map(|p| Point::new(2.0 * p.x + 5.0, 2.0 * p.y));
        wide.label.iter_mut().for_each(|label| label.place = [25.0, -40.0, 40.0, 20.0]);
        let spreads = together(&[page(vec![wide]), page(vec![plain])], &thresholds());
        assert_eq!(spreads[0].page, 1);
        let label = spreads[0].reading.grids[0].label.as_ref().expect("a label");
        assert_eq!(label.text, "42");
        let off = label.place.iter().zip([10.0, -20.0, 20.0, 10.0]).map(|(a, b)| (a - b).abs()).fold(0.0, f32::max);
        assert!(off < 0.01, "{:?}", label.place);
    }

    #[test]
    fn text_that_speaks_against_one_shot_speaks_against_all() {
        let mut scanned = grid(ONE, 0.9999, None);
        let digit = |value| Digit::new(value).map_or(Mark::Empty, Mark::Given);
        let flag = Flag { cell: crate::grid::Cell::ALL[3], reason: Reason::TextDiffers, read: digit(4), suggest: digit(5), odds: 1.0 };
        (scanned.reading.verdict, scanned.reading.flags) = (Verdict::Doubtful, vec![flag]);
        let spreads = together(&[page(vec![scanned]), page(vec![grid(ONE, 0.9999, None)])], &thresholds());
        let reading = &spreads[0].reading.grids[0].reading;
        assert_eq!((reading.verdict, reading.flags.len(), reading.flags[0].reason), (Verdict::Doubtful, 1, Reason::TextDiffers));
    }
}
