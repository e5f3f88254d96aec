//! Step boards on paper, one or several to a page, with the sentence below each and the key to their marks.

use crate::grid::{Cell, Digits};
use crate::walk::{Put, Strike};

use super::Face;
use super::board::{RIM, SMALL, draw};
use super::booklet::impose;
use super::caption::{Caption, Fit};
use super::figure::told;
use super::furniture::{Heading, frame, stacked};
use super::key::Key;
use super::layout::{Area, LEADING, Layout, LayoutError, Order, PerPage, Print};
use super::marks::{Marks, marks};
use super::moments::Moment;
use super::page::{Page, Part, Placing, Role};

/// Between two boards of a page, in points.
const GAP: f32 = 18.0;
/// Between a board and its sentence below, in points.
const BELOW: f32 = 6.0;
/// Between a board and its sentence at its right, in points.
const BESIDE: f32 = 16.0;
/// The smallest type of sentences, in points: common practice, no source.
const SMALLEST: f32 = 6.5;

/// Boards of one puzzle.
#[derive(Clone, Debug)]
pub struct Boards {
    /// What the puzzle is called, where there are several; stands before each heading.
    pub label: Option<String>,
    /// Where it is from and whose it is.
    pub credit: Option<String>,
    /// The moments to draw.
    pub moments: Vec<Moment>,
}

/// Pages of boards, in the order in which they are printed. Where a board has a page to itself, a sentence too long for the room below it
/// goes on overleaf.
///
/// # Errors
/// Where the layout, or the longest sentence in it, leaves digits too small to read.
pub fn board_pages(all: &[Boards], heading: &Heading, layout: &Layout) -> Result<Vec<Page>, LayoutError> {
    let shown: Vec<Shown<'_>> = all.iter().flat_map(|boards| boards.moments.iter().map(|moment| Shown::of(boards, moment))).collect();
    let groups: Vec<&[Shown<'_>]> = shown.chunks(layout.per_page.count()).collect();
    let key = Key::of(shown.iter().map(|shown| (shown.moment, &shown.marks)));
    // Pages overleaf and of the key come with large print only.
    let most = if layout.print == Print::Large { groups.len().max(2) } else { groups.len() };
    let areas = groups.iter().map(|group| frame(layout, heading, &credits(group), 1, most).area);
    let Some(area) = areas.min_by(|one, other| one.height.total_cmp(&other.height)) else { return Ok(Vec::new()) };
    let plan = Plan::of(&shown, &key, area, layout)?;

    let mut leaves: Vec<Leaf> = Vec::with_capacity(groups.len());
    leaves.extend(plan.key_apart(&key, layout.print));
    groups.iter().for_each(|group| leaves.extend(plan.draw(group, &key, layout)));
    let of = leaves.len();
    let finish = |(number, leaf): (usize, Leaf)| {
        let mut page = frame(layout, heading, &leaf.credits, number, of).page;
        page.parts.extend(leaf.parts);
        page
    };
    let pages = (1..).zip(leaves).map(finish).collect();
    Ok(if layout.order == Order::Booklet { impose(pages, layout.paper) } else { pages })
}

/// A board to draw.
struct Shown<'a> {
    boards: &'a Boards,
    moment: &'a Moment,
    marks: Marks,
    caption: Caption<'a>,
}

impl<'a> Shown<'a> {
    fn of(boards: &'a Boards, moment: &'a Moment) -> Self {
        let heading = boards.label.as_ref().map_or_else(|| moment.heading.clone(), |label| format!("{label}, {}", moment.heading));
        Self { boards, moment, marks: marks(moment), caption: Caption { heading, sentence: &moment.sentence } }
    }

    /// The heading where its sentence goes on.
    fn overleaf(&self) -> String {
        let number = self.moment.number;
        self.boards.label.as_ref().map_or_else(|| format!("{number}, continued"), |label| format!("{label}, {number}, continued"))
    }
}

/// What the puzzles of a page say of their source, each saying once.
fn credits(group: &[Shown<'_>]) -> Vec<String> {
    let mut credits: Vec<String> = group.iter().filter_map(|shown| shown.boards.credit.clone()).collect();
    credits.dedup();
    credits
}

/// What stands on a page between header and footer.
struct Leaf {
    credits: Vec<String>,
    parts: Vec<Part>,
}

/// The geometry of all pages of a file.
struct Plan {
    /// Between header and footer.
    area: Area,
    /// One for each board of a page.
    slots: Vec<Area>,
    fit: Fit,
    place: Place,
    key_apart: bool,
}

/// Where heading and sentence stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Place {
    /// The heading above the board, the sentence below it.
    AboveAndBelow,
    /// Both at its right.
    Beside,
}

impl Plan {
    fn of(shown: &[Shown<'_>], key: &Key, area: Area, layout: &Layout) -> Result<Self, LayoutError> {
        // In large print the boards need the room.
        let key_apart = layout.print == Print::Large;
        let taken = if key_apart { 0.0 } else { key.draw(area, layout.print).1 + GAP / 2.0 };
        let slots = Area { height: area.height - taken, ..area }.slots(layout.per_page.shape(), GAP);
        let slot = slots[0];
        let sizes = layout.print.sizes();
        let types = match (layout.print, layout.per_page) {
            (Print::Large, _) => (sizes.text, sizes.text),
            (Print::Ordinary, PerPage::One) => (sizes.label, SMALLEST),
            (Print::Ordinary, PerPage::Two) => (sizes.text, SMALLEST),
            (Print::Ordinary, PerPage::Four | PerPage::Six) => (sizes.small, SMALLEST),
        };
        let captions: Vec<Caption<'_>> = shown.iter().map(|shown| shown.caption.clone()).collect();
        let mut fit = Fit::of(&captions, slot.width, types, |text| slot.width.min(slot.height - BELOW - text));
        let mut place = Place::AboveAndBelow;
        // A slot wider than high has room beside a board of its whole height.
        let beside = slot.width - slot.height - BESIDE;
        if beside > 0.0 {
            let other = Fit::of(&captions, beside, types, |text| if text + BELOW <= slot.height { slot.height } else { 0.0 });
            if other.size >= fit.size && other.side > fit.side {
                (fit, place) = (other, Place::Beside);
            }
        }
        let least = layout.print.least_small() / SMALL * 9.0;
        let below = slot.height - fit.heading - BELOW - least * (1.0 + RIM / 9.0);
        if layout.per_page == PerPage::One && fit.side < least && below >= fit.size * LEADING {
            (fit.side, fit.sentence) = (least, below);
        }
        layout.check_small(fit.side / 9.0 * SMALL)?;
        Ok(Self { area, slots, fit, place, key_apart })
    }

    /// The key on a page of its own.
    fn key_apart(&self, key: &Key, print: Print) -> Option<Leaf> {
        let size = print.sizes().label;
        let room = self.area.below(size * LEADING * 1.5);
        let height = key.draw(room, print).1;
        let heading = stacked(vec!["Key to the marks".into()], (self.area.x, self.area.y), size, Face::Bold);
        let parts = vec![Part::new(Role::Heading, heading), key.draw(Area { height, ..room }, print).0];
        self.key_apart.then_some(Leaf { credits: Vec::new(), parts })
    }

    /// A page of boards, and those on which its sentence goes on.
    fn draw(&self, group: &[Shown<'_>], key: &Key, layout: &Layout) -> Vec<Leaf> {
        let fit = &self.fit;
        let rows = |height: f32| (height / (fit.size * LEADING) + 0.01).floor().max(1.0) as usize;
        let (mut parts, mut overleaf) = (Vec::new(), Vec::new());
        for (shown, slot) in group.iter().zip(&self.slots) {
            let whole = fit.side * (1.0 + RIM / 9.0);
            let (heading, board, text) = match self.place {
                Place::AboveAndBelow => ((slot.x, slot.y), slot.y + fit.heading, (slot.x, slot.y + fit.heading + whole + BELOW)),
                Place::Beside => {
                    let x = slot.x + whole + BESIDE;
                    // Level with the grid's first line.
                    let top = slot.y + whole - fit.side;
                    ((x, top), slot.y, (x, top + fit.heading_of(&shown.caption) + BELOW))
                }
            };
            parts.push(fit.heading(&shown.caption, heading));
            parts.push(board_part(shown.moment, &shown.marks, (slot.x, board), fit.side));
            let mut lines = fit.sentence_lines(&shown.caption);
            let rest = lines.split_off(rows(fit.sentence).min(lines.len()));
            parts.extend(fit.paragraph(lines, text));
            for lines in rest.chunks(rows(self.area.height - fit.heading)) {
                let caption = Caption { heading: shown.overleaf(), sentence: "" };
                let heading = fit.heading(&caption, (self.area.x, self.area.y));
                let text = fit.paragraph(lines.to_vec(), (self.area.x, self.area.y + fit.heading));
                overleaf.push(Leaf { credits: credits(group), parts: [Some(heading), text].into_iter().flatten().collect() });
            }
        }
        if !self.key_apart {
            parts.push(key.draw(self.area, layout.print).0);
        }
        overleaf.insert(0, Leaf { credits: credits(group), parts });
        overleaf
    }
}

/// The board with its numbers and marks, in a square whose top left corner is here.
pub(super) fn board_part(moment: &Moment, marks: &Marks, (x, y): (f32, f32), side: f32) -> Part {
    let rim = side / 9.0 * RIM;
    Part { role: Role::Figure(describe(moment, marks)), placing: Placing::shift(x + rim, y + rim), items: draw(moment, marks, side) }
}

/// The board in words.
fn describe(moment: &Moment, marks: &Marks) -> String {
    let mut text = format!("Board {}.", moment.heading);
    let mut say = |what: &str, items: Vec<String>| {
        if !items.is_empty() {
            text.push_str(&format!(" {what}: {}.", items.join(", ")));
        }
    };
    let digits = |digits: Digits| digits.iter().map(|digit| digit.to_string()).collect::<Vec<_>>().join(" or ");
    let in_cell = |(cell, shown): &(Cell, Digits)| format!("{} in {cell}", digits(*shown));
    let put = |put: &Put| format!("{} in {}", put.digit, put.cell);
    let struck = |strike: &Strike| format!("{} is not {}", strike.cell, digits(strike.digits));
    let cell = |cell: Cell| cell.to_string();
    say("Look along", marks.houses.iter().map(ToString::to_string).collect());
    say("Look at", marks.looked_at.iter().map(cell).collect());
    say("In mind", marks.carried.iter().map(in_cell).collect());
    say("Ruled out before", marks.ruled_out.iter().map(in_cell).collect());
    say("Two ways to fill", marks.rectangle.iter().flat_map(|rectangle| rectangle.cells).map(cell).collect());
    say("Found", marks.found.iter().map(in_cell).collect());
    say("Assumed", marks.assumed.iter().map(put).collect());
    say("Follows", marks.follows.iter().map(put).collect());
    say("Breaks down", marks.broken.iter().map(cell).collect());
    say("Written", marks.written.iter().map(put).collect());
    say("Struck", marks.struck.iter().map(struck).collect());
    text.push_str(" Before it, the board reads:");
    text + &told(&moment.board)
}
