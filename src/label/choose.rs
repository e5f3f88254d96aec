//! Which of the lines near the grids of a page are their labels.

use super::Label;
use super::surroundings;
use super::wording::Wording;

/// A line that was read near a grid.
#[derive(Clone, Debug)]
pub(super) struct Line {
    /// The grid by which it was seen.
    pub(super) grid: usize,
    /// Where, in that grid's cells.
    pub(super) line: surroundings::Line,
    /// How much it looks like that grid's label, 0 to 1.
    pub(super) seen: f32,
    pub(super) kind: Wording,
    pub(super) label: Label,
}

/// Least probability of the text. Set on drawn pages by `scripts/trust/judge_pages.rs`, as the others here.
const SURE: f32 = 0.7;
/// Least worth of a line that becomes a label (how much it looks like one, and how many other grids of the page have theirs there), by its wording:
/// a number, one of a single character (which a board nearby may hold, too), a title with a known word, and unknown words, since a headline must not become a label.
const LEAST_WORTH: [f32; 4] = [0.7, 0.85, 0.5, 0.85];
/// What the text's probability adds to a line's worth where lines are compared.
const SURE_COUNTS: f32 = 0.4;
/// What other grids' lines at the same place add to a line's worth, where all of them have one.
const COMPANY: f32 = 0.3;
/// How much a longer reading of a line tells more than a shorter one: "No. 7" is more than "7" read a little more surely.
const LENGTH_COUNTS: f32 = 0.6;
/// Lines at the same place by their grids lie no farther apart than this, in cells.
const SAME_PLACE: f32 = 0.6;
/// Two lines that share more than this of the smaller one's box are one line, seen by two grids.
const SHARED: f32 = 0.4;

/// A label for each of `count` grids: the worthiest lines first, a line for one grid only.
pub(super) fn choose(mut lines: Vec<Line>, count: usize) -> Vec<Option<Label>> {
    let telling: Vec<bool> = lines.iter().map(|line| lines.iter().all(|other| !tells_more(other, line))).collect();
    let mut telling = telling.into_iter();
    lines.retain(|line| telling.next() == Some(true) && line.kind != Wording::None && line.label.confidence >= SURE);
    let worths = lines.iter().map(|line| (worth(line, &lines, count), line)).filter(|(worth, line)| *worth >= least_worth(line));
    let mut worthy: Vec<(f32, &Line)> = worths.map(|(worth, line)| (worth + SURE_COUNTS * line.label.confidence, line)).collect();
    worthy.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut labels = vec![None; count];
    let mut taken: Vec<[f32; 4]> = Vec::new();
    for (_, line) in worthy {
        if labels[line.grid].is_none() && !taken.iter().any(|place| shared(*place, line.label.place) > SHARED) {
            taken.push(line.label.place);
            labels[line.grid] = Some(line.label.clone());
        }
    }
    labels
}

/// Whether `other` is another reading of the same line, or of more of it, that can be trusted more.
fn tells_more(other: &Line, line: &Line) -> bool {
    let told = |line: &Line| {
        let length = line.label.text.chars().filter(|c| !c.is_whitespace()).count() as f32;
        line.label.confidence * length.powf(LENGTH_COUNTS)
    };
    other.grid == line.grid && shared(other.label.place, line.label.place) > SHARED && told(other) > told(line)
}

fn least_worth(line: &Line) -> f32 {
    LEAST_WORTH[match line.kind {
        Wording::Number if line.label.text.chars().count() > 1 => 0,
        Wording::Number => 1,
        Wording::Title => 2,
        Wording::Words | Wording::None => 3,
    }]
}

/// How much speaks for a line being its grid's label.
fn worth(line: &Line, all: &[Line], count: usize) -> f32 {
    let others = count.saturating_sub(1).max(1) as f32;
    let company = (0..count)
        .filter(|&grid| grid != line.grid)
        .filter_map(|grid| {
            all.iter().filter(|other| other.grid == grid && same_place(&line.line, &other.line)).map(|other| other.seen).reduce(f32::max)
        })
        .sum::<f32>();
    line.seen + COMPANY * company / others
}

/// Whether two lines stand at the same place, each by its own grid: on one side, and there at the same end or in the middle.
fn same_place(a: &surroundings::Line, b: &surroundings::Line) -> bool {
    let near = |a: f32, b: f32| (a - b).abs() < SAME_PLACE;
    let level = near(a.top, b.top) || near(a.bottom, b.bottom);
    let upright = near(a.left, b.left) || near(a.right, b.right) || near(a.left + a.right, b.left + b.right);
    a.run == b.run && level && upright
}

/// The share of the smaller box, 0 to 1, that lies in the other.
fn shared(a: [f32; 4], b: [f32; 4]) -> f32 {
    let overlap = |i: usize| ((a[i] + a[i + 2]).min(b[i] + b[i + 2]) - a[i].max(b[i])).max(0.0);
    let least = (a[2] * a[3]).min(b[2] * b[3]).max(1e-3);
    overlap(0) * overlap(1) / least
}

#[cfg(test)]
mod tests {
    use super::super::surroundings::Run;
    use super::*;

    /// A line above (`top` -1) or below (`top` 9.5) a grid, at `y` on the page.
    fn line(grid: usize, text: &str, top: f32, y: f32, seen: f32) -> Line {
        let line = surroundings::Line { left: 0.0, top, right: 2.0, bottom: top + 0.5, run: Run::Right };
        Line { grid, line, seen, kind: Wording::Number, label: Label { text: text.into(), place: [0.0, y, 20.0, 5.0], confidence: 0.9 } }
    }

    fn texts(labels: &[Option<Label>]) -> Vec<Option<&str>> {
        labels.iter().map(|label| label.as_ref().map(|label| label.text.as_str())).collect()
    }

    #[test]
    fn a_line_between_two_grids_goes_with_the_others_of_the_page() {
        // Three grids below each other, labels above: each upper grid sees the next one's label, too, and even more clearly.
        let lines = vec![
            line(0, "17", -1.0, 90.0, 0.8),
            line(0, "18", 9.5, 195.0, 0.9),
            line(1, "18", -1.0, 195.0, 0.8),
            line(1, "19", 9.5, 295.0, 0.7),
            line(2, "19", -1.0, 295.0, 0.8),
        ];
        assert_eq!(texts(&choose(lines, 3)), [Some("17"), Some("18"), Some("19")]);
    }

    #[test]
    fn one_line_read_twice_counts_once() {
        let mut part = line(0, "151", -1.0, 90.0, 0.9);
        part.label.confidence = 1.0;
        let mut whole = line(0, "No. 151", -1.0, 90.0, 0.8);
        whole.label.confidence = 0.75;
        assert_eq!(texts(&choose(vec![part.clone(), whole.clone()], 1)), [Some("No. 151")]);
        // What is surely no label isn't read as one.
        (whole.kind, whole.label.confidence) = (Wording::None, 0.95);
        part.label.confidence = 0.8;
        assert_eq!(texts(&choose(vec![part, whole], 1)), [None]);
    }

    #[test]
    fn unsure_lines_are_no_labels() {
        let mut faint = line(0, "17", -1.0, 90.0, 0.8);
        faint.label.confidence = 0.3;
        assert_eq!(texts(&choose(vec![faint, line(1, "18", -1.0, 190.0, 0.35)], 2)), [None, None]);
    }

    #[test]
    fn a_line_of_which_one_grid_is_unsure_gains_by_the_others() {
        let lines = vec![line(0, "17", -1.0, 90.0, 0.9), line(1, "18", -1.0, 190.0, 0.45)];
        assert_eq!(texts(&choose(lines, 2)), [Some("17"), Some("18")]);
    }
}
