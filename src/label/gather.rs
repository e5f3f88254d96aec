//! Lines of text that were seen near a grid, each once: what was cut and read of the same line several times is gathered.

use super::spell::Spelling;
use super::surroundings;
use super::wording::{Wording, has_other_words, is_plain_number, wording};

/// What was read of a line at one cut.
#[derive(Clone, Debug)]
pub(super) struct Line {
    /// The grid by which it was seen.
    pub(super) grid: usize,
    /// Where, in that grid's cells.
    pub(super) line: surroundings::Line,
    /// x, y, width and height of the box around it, in page pixels.
    pub(super) place: [f32; 4],
    /// How much the network says that it looks like that grid's label, 0 to 1.
    pub(super) seen: f32,
    /// How much speaks for it by where it stands, where ink alone showed it; `None` where the network marked it.
    pub(super) by_ink: Option<f32>,
    /// The share of the box that lies outside the picture.
    pub(super) outside: f32,
    pub(super) spellings: Vec<Spelling>,
}

/// One way to read a line, by all of its cuts.
#[derive(Clone, Debug)]
pub(super) struct Told {
    pub(super) said: String,
    pub(super) kind: Wording,
    /// Log probability among the ways to read the line.
    pub(super) sure: f32,
    /// Log probability by the network alone, at the cut where it is most.
    pub(super) seen: f32,
    /// Whether a cut has words or stars for how hard the puzzle is behind it.
    pub(super) graded: bool,
    /// The share of the line's cuts that say so.
    pub(super) agreed: f32,
    /// Which share of the line's longest cut the cut had where this was read.
    pub(super) cover: f32,
    pub(super) line: surroundings::Line,
    pub(super) place: [f32; 4],
}

impl Told {
    /// Its characters without blanks, of which it can't be told how many were set.
    pub(super) fn close(&self) -> String {
        close(&self.said)
    }
}

/// A line near a grid, by all of its cuts.
#[derive(Clone, Debug)]
pub(super) struct Gathered {
    pub(super) grid: usize,
    /// The most that a cut of it looks like a label to the network.
    pub(super) seen: f32,
    /// Whether the network marked it, and what ink says where it saw it.
    pub(super) marked: bool,
    pub(super) by_ink: Option<f32>,
    /// The largest share of a cut's box that lies outside the picture.
    pub(super) outside: f32,
    /// The places of all cuts on the page.
    pub(super) places: Vec<[f32; 4]>,
    /// Ways to read it, the likeliest first; never empty.
    pub(super) told: Vec<Told>,
}

/// Two cuts that share more than this of the smaller one's box are of one line.
pub(super) const SHARED: f32 = 0.4;
/// How much a longer cut tells more than a shorter one: "No. 7" is more than "7" read a little more surely.
const LENGTH_COUNTS: f32 = 0.6;
/// What a cut's reading loses, in nats, for each e-fold that it is shorter than the line's longest cut.
const SHORT_COUNTS: f32 = 3.0;
/// What it loses for each nat that the network gives its likeliest reading's characters, in the mean, less than 0, and the most that counts: a cut with more on it
/// than the line tells less.
const BLUR_COUNTS: f32 = 2.0;
const BLURRIEST: f32 = -2.0;
/// What a longer cut says beyond a shorter one is no text where the network gives each character of it less than this (log probability).
const JUNK: f32 = -2.0;
/// A number that the network marked, read at least this surely (log probability), is a label whole.
const WHOLE: f32 = -0.1;
/// A cut says what is at least this likely by it (log probability).
const SAYS: f32 = -1.5;

/// The lines, each once, with all that was read of them.
pub(super) fn gather(mut lines: Vec<Line>) -> Vec<Gathered> {
    let telling = |line: &Line| {
        line.spellings
            .first()
            .map_or(0.0, |first| first.sure.exp() * (close(&first.said).chars().count().max(1) as f32).powf(LENGTH_COUNTS))
    };
    lines.retain(|line| !line.spellings.is_empty());
    lines.sort_by(|a, b| telling(b).total_cmp(&telling(a)));
    let mut groups: Vec<Vec<Line>> = Vec::new();
    for line in lines {
        match groups.iter_mut().find(|group| group.iter().any(|cut| cut.grid == line.grid && shared(cut.place, line.place) > SHARED)) {
            Some(group) => group.push(line),
            None => groups.push(vec![line]),
        }
    }
    groups.iter().filter_map(|cuts| gathered(cuts)).collect()
}

fn gathered(cuts: &[Line]) -> Option<Gathered> {
    let first = cuts.first()?;
    let cuts: Vec<&Line> =
        cuts.iter().filter(|cut| !cuts.iter().any(|part| is_more_than_text(cut, part) || is_joined(cut, part))).collect();
    let longest = cuts.iter().map(|cut| cut.line.length()).fold(0.0, f32::max);
    let mut told: Vec<Told> = Vec::new();
    // For each of them, the log probabilities that the cuts give it.
    let mut says: Vec<Vec<f32>> = Vec::new();
    for cut in &cuts {
        let cover = cut.line.length() / longest;
        let clear = cut.spellings.first().map_or(0.0, |first| first.seen / close(&first.said).chars().count().max(1) as f32);
        let weight = SHORT_COUNTS * cover.ln() + BLUR_COUNTS * clear.max(BLURRIEST);
        for Spelling { said, sure, seen, graded } in &cut.spellings {
            let sure = sure + weight;
            let same = told.iter().position(|other| other.close() == close(said)).unwrap_or_else(|| {
                let fresh = Told {
                    said: said.clone(),
                    kind: wording(said),
                    sure: f32::NEG_INFINITY,
                    seen: f32::NEG_INFINITY,
                    graded: false,
                    agreed: 0.0,
                    cover,
                    line: cut.line,
                    place: cut.place,
                };
                told.push(fresh);
                says.push(Vec::new());
                told.len() - 1
            });
            let (told, says) = (&mut told[same], &mut says[same]);
            if says.iter().all(|other| *other < sure) {
                (told.said, told.kind, told.cover, told.line, told.place) = (said.clone(), wording(said), cover, cut.line, cut.place);
            }
            told.seen = told.seen.max(*seen);
            told.graded |= *graded;
            says.push(sure);
        }
    }
    for (told, says) in told.iter_mut().zip(&says) {
        told.sure = sum(says);
        told.agreed = says.iter().filter(|says| **says > SAYS).count() as f32 / cuts.len() as f32;
    }
    let all = sum(&told.iter().map(|told| told.sure).collect::<Vec<_>>());
    told.iter_mut().for_each(|told| told.sure -= all);
    told.sort_by(|a, b| b.sure.total_cmp(&a.sure));
    if told.is_empty() {
        return None;
    }
    Some(Gathered {
        grid: first.grid,
        seen: cuts.iter().map(|cut| cut.seen).fold(0.0, f32::max),
        marked: cuts.iter().any(|cut| cut.by_ink.is_none()),
        by_ink: cuts.iter().filter_map(|cut| cut.by_ink).reduce(f32::max),
        outside: cuts.iter().map(|cut| cut.outside).fold(0.0, f32::max),
        places: cuts.iter().map(|cut| cut.place).collect(),
        told,
    })
}

/// Whether a cut holds what a part of it says and beside that only what can't be read: a rule, a picture, other print.
fn is_more_than_text(cut: &Line, part: &Line) -> bool {
    let (Some(all), Some(some)) = (cut.spellings.first(), part.spellings.first()) else { return false };
    let (longer, shorter) = (close(&all.said), close(&some.said));
    let more = longer.chars().count().saturating_sub(shorter.chars().count());
    part.line.length() < cut.line.length() && more > 0 && longer.contains(&shorter) && all.seen - some.seen < JUNK * more as f32
}

/// Whether a cut that ink alone shows joins a number that the network marked with what is printed beside it.
fn is_joined(cut: &Line, part: &Line) -> bool {
    let (Some(all), Some(number)) = (cut.spellings.first(), part.spellings.first()) else { return false };
    let seen_so = cut.by_ink.is_some() && part.by_ink.is_none() && part.line.length() < cut.line.length();
    seen_so && number.sure > WHOLE && is_plain_number(&number.said) && has_other_words(&all.said)
}

/// The log of the sum of probabilities given as logs.
fn sum(logs: &[f32]) -> f32 {
    let most = logs.iter().copied().fold(f32::NEG_INFINITY, f32::max);
    if most == f32::NEG_INFINITY { most } else { most + logs.iter().map(|log| (log - most).exp()).sum::<f32>().ln() }
}

/// A text without its blanks.
pub(super) fn close(text: &str) -> String {
    text.split_whitespace().collect()
}

/// The share of the smaller box, 0 to 1, that lies in the other.
pub(super) fn shared(a: [f32; 4], b: [f32; 4]) -> f32 {
    let overlap = |i: usize| ((a[i] + a[i + 2]).min(b[i] + b[i + 2]) - a[i].max(b[i])).max(0.0);
    let least = (a[2] * a[3]).min(b[2] * b[3]).max(1e-3);
    overlap(0) * overlap(1) / least
}

#[cfg(test)]
pub(super) mod tests {
    use super::super::surroundings::Run;
    use super::*;

    /// A line above (`top` -1) or below (`top` 9.5) a grid, `long` cells long, at `y` on the page, with the probabilities of its readings.
    pub(in super::super) fn line(grid: usize, readings: &[(&str, f32)], top: f32, y: f32, seen: f32) -> Line {
        let long = readings[0].0.chars().count() as f32 * 0.4;
        let line = surroundings::Line { left: 0.0, top, right: long, bottom: top + 0.5, run: Run::Right };
        let spelling = |&(said, p): &(&str, f32)| Spelling { said: said.into(), seen: p.ln(), sure: p.ln(), graded: false };
        let spellings = readings.iter().map(spelling).collect();
        Line { grid, line, place: [0.0, y, 10.0 * long, 5.0], seen, by_ink: None, outside: 0.0, spellings }
    }

    #[test]
    fn one_line_cut_twice_counts_once_and_with_its_best() {
        let lines = vec![line(0, &[("122.", 1.0)], -1.0, 90.0, 0.62), line(0, &[("122.", 0.7), ("12.", 0.3)], -1.0, 90.0, 0.91)];
        let gathered = gather(lines);
        assert_eq!(gathered.len(), 1);
        let first = &gathered[0];
        assert_eq!((first.told[0].said.as_str(), first.seen), ("122.", 0.91));
        // The clearer cut counts a little more than the other.
        assert!(first.told[0].agreed == 1.0 && (0.85..0.9).contains(&first.told[0].sure.exp()), "{first:?}");
    }

    #[test]
    fn what_cant_be_read_behind_a_line_is_no_part_of_it() {
        let part = line(0, &[("(2765)", 0.99)], -1.0, 90.0, 0.9);
        let longer = |p: f32| line(0, &[("(2765)7", p), ("(2765)", 0.01)], -1.0, 90.0, 0.9);
        assert_eq!(gather(vec![part.clone(), longer(0.04)])[0].told[0].said, "(2765)");
        assert_eq!(gather(vec![part, longer(0.9)])[0].told[0].said, "(2765)7");
    }

    #[test]
    fn an_article_beside_a_number_is_no_part_of_it() {
        let number = line(0, &[("N° 48", 0.99)], -1.0, 90.0, 0.4);
        let joined = |said| Line { by_ink: Some(0.45), ..line(0, &[(said, 0.95)], -1.0, 90.0, 0.4) };
        assert_eq!(gather(vec![number.clone(), joined("ien sa N° 48")])[0].told[0].said, "N° 48");
        assert_eq!(gather(vec![number, joined("Sudoku N° 48")])[0].told[0].said, "Sudoku N° 48");
    }

    #[test]
    fn the_whole_of_a_line_tells_more_than_a_part() {
        let lines = vec![
            line(0, &[("151", 0.99), ("15", 0.01)], -1.0, 90.0, 0.9),
            line(0, &[("No. 151", 0.75), ("No 151", 0.25)], -1.0, 90.0, 0.8),
        ];
        let gathered = gather(lines);
        assert_eq!((gathered.len(), gathered[0].told[0].said.as_str()), (1, "No. 151"));
    }
}
