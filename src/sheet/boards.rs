//! Step boards: on paper, one or several to a page with the sentence below each; and for video, one board a frame, all of the same
//! geometry, with nothing where the camera's picture is to be seen.

use crate::grid::{Digit, Digits};
use crate::walk::Strike;

use super::Face;
use super::board::{RIM, SMALL, Small, draw, palette, ring, small, ticks};
use super::booklet::impose;
use super::figure::{centred, told};
use super::font::{lines, shortened};
use super::furniture::{Frame, Heading, frame, paragraph, stacked};
use super::layout::{Area, LEADING, Layout, LayoutError, Order, PerPage, Print};
use super::marks::{Marks, marks};
use super::moments::Moment;
use super::page::{BLACK, Item, Page, Part, Path, Pen, Placing, Role};

/// Between two boards of a page, in points.
const GAP: f32 = 18.0;
/// The most of a board's room that its sentence may take; a longer one is set smaller.
const SENTENCE: f32 = 0.3;
/// Between a board and its sentence, in points.
const BELOW: f32 = 6.0;
/// The smallest type of sentences, in points; what is too long even so is cut, and an ellipsis says so.
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

/// Pages of boards, in the order in which they are printed.
///
/// # Errors
/// Where the layout leaves digits too small to read.
pub fn board_pages(all: &[Boards], heading: &Heading, layout: &Layout) -> Result<Vec<Page>, LayoutError> {
    let boards: Vec<(&Boards, &Moment)> = all.iter().flat_map(|boards| boards.moments.iter().map(move |moment| (boards, moment))).collect();
    let groups: Vec<&[(&Boards, &Moment)]> = boards.chunks(layout.per_page.count()).collect();
    let mut pages = Vec::with_capacity(groups.len());
    for group in &groups {
        let mut credit: Vec<String> = group.iter().filter_map(|(boards, _)| boards.credit.clone()).collect();
        credit.dedup();
        let Frame { mut page, area } = frame(layout, heading, &credit, pages.len() + 1, groups.len());
        let (legend, legend_height) = legend(area, layout.print);
        let area = Area { height: area.height - legend_height - GAP / 2.0, ..area };
        let slots = area.slots(layout.per_page.shape(), GAP);
        let room = Room::of(&boards, slots[0], layout);
        layout.check_small(room.side / 9.0 * SMALL)?;
        for ((boards, moment), slot) in group.iter().zip(slots) {
            let name = shortened(&boards.heading(moment), Face::Bold, room.heading, slot.width);
            page.parts.push(Part::new(Role::Heading, stacked(vec![name], (slot.x, slot.y), room.heading, Face::Bold)));
            let top = slot.y + room.heading * LEADING;
            page.parts.push(board_part(moment, (slot.x, top), room.side));
            let below = top + room.side * (1.0 + RIM / 9.0) + BELOW;
            let below = Area { y: below, height: room.sentence_height, ..slot };
            page.parts.extend(sentence(&moment.sentence, below, room.sentence, smallest(layout.print)));
        }
        page.parts.extend(legend);
        pages.push(page);
    }
    Ok(if layout.order == Order::Booklet { impose(pages, layout.paper) } else { pages })
}

impl Boards {
    fn heading(&self, moment: &Moment) -> String {
        self.label.as_ref().map_or_else(|| moment.heading.clone(), |label| format!("{label}, {}", moment.heading))
    }
}

/// What a board, its heading and its sentence take of a slot: the same for all boards of the sheet. Lengths and sizes in points.
struct Room {
    heading: f32,
    side: f32,
    sentence: f32,
    sentence_height: f32,
}

impl Room {
    fn of(boards: &[(&Boards, &Moment)], slot: Area, layout: &Layout) -> Self {
        let sizes = layout.print.sizes();
        let largest = match layout.per_page {
            _ if layout.print == Print::Large => sizes.text,
            PerPage::One => sizes.label,
            PerPage::Two => sizes.text,
            PerPage::Four | PerPage::Six => sizes.small,
        };
        let widest = boards.iter().map(|(boards, moment)| Face::Bold.width(&boards.heading(moment), largest)).fold(1.0, f32::max);
        let heading = (largest * (slot.width / widest).min(1.0)).max(smallest(layout.print));
        let count = |text: &str| lines(text, Face::Regular, largest, slot.width).len();
        let longest = boards.iter().map(|(_, moment)| count(&moment.sentence)).max().unwrap_or(1) as f32 * largest * LEADING;
        // In large print the board comes first: its small digits need the room.
        let board = if layout.print == Print::Large { super::LARGE_PRINT / SMALL * (9.0 + RIM) } else { 0.0 };
        let left = slot.height - heading * LEADING - BELOW - board;
        let sentence_height = longest.min(slot.height * SENTENCE).min(left).max(0.0);
        let left = slot.height - heading * LEADING - sentence_height - BELOW;
        Self { heading, side: slot.width.min(left) * 9.0 / (9.0 + RIM), sentence: largest, sentence_height }
    }
}

const fn smallest(print: Print) -> f32 {
    match print {
        Print::Ordinary => SMALLEST,
        Print::Large => super::LARGE_PRINT,
    }
}

/// The board with its numbers and marks, in a square whose top left corner is here.
fn board_part(moment: &Moment, (x, y): (f32, f32), side: f32) -> Part {
    let marks = marks(moment);
    let rim = side / 9.0 * RIM;
    Part { role: Role::Figure(describe(moment, &marks)), placing: Placing::shift(x + rim, y + rim), items: draw(moment, &marks, side) }
}

/// The sentence, as large as fits.
fn sentence(text: &str, area: Area, largest: f32, smallest: f32) -> Option<Part> {
    if text.is_empty() {
        return None;
    }
    let rows = |size: f32| (area.height / (size * LEADING) + 0.01).floor().max(1.0) as usize;
    let mut size = largest;
    while size > smallest && lines(text, Face::Regular, size, area.width).len() > rows(size) {
        size = (size - 0.5).max(smallest);
    }
    let mut shown = lines(text, Face::Regular, size, area.width);
    if shown.len() > rows(size) {
        shown.truncate(rows(size));
        if let Some(last) = shown.last_mut() {
            *last = shortened(&format!("{last} …"), Face::Regular, size, area.width);
        }
    }
    Some(Part::new(Role::Paragraph, stacked(shown, (area.x, area.y), size, Face::Regular)))
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
    let struck = |strike: &Strike| format!("{} is not {}", strike.cell, digits(strike.digits));
    let in_cell = |(cell, shown): &(crate::grid::Cell, Digits)| format!("{} in {cell}", digits(*shown));
    say("Look along", marks.houses.iter().map(ToString::to_string).collect());
    say("Look at", marks.looked_at.iter().map(|cell| cell.to_string()).collect());
    say("In mind", marks.carried.iter().map(in_cell).collect());
    say("Ruled out earlier", marks.ruled_out.iter().map(|(cell, shown)| format!("{} in {cell}", digits(*shown))).collect());
    say("Found", marks.found.iter().map(in_cell).collect());
    say("Assumed", marks.assumed.iter().map(|put| format!("{} in {}", put.digit, put.cell)).collect());
    say("Follows", marks.follows.iter().map(|put| format!("{} in {}", put.digit, put.cell)).collect());
    say("Written", marks.written.iter().map(|put| format!("{} in {}", put.digit, put.cell)).collect());
    say("Struck", marks.struck.iter().map(struck).collect());
    text.push_str(" Before it, the board reads:");
    text + &told(&moment.board)
}

/// The key to the marks at the bottom of an area, and its height.
fn legend(area: Area, print: Print) -> (Vec<Part>, f32) {
    let size = print.sizes().small;
    let pitch = size * 1.9;
    let entries = ["look along", "look at", "in mind", "found", "written", "struck"];
    let width = |name: &str| pitch * 1.25 + Face::Regular.width(name, size) + size * 1.4;
    let (mut x, mut rows, mut places) = (0.0, 0, Vec::new());
    for name in entries {
        if x > 0.0 && x + width(name) > area.width + size * 1.4 {
            (x, rows) = (0.0, rows + 1);
        }
        places.push((name, x, rows));
        x += width(name);
    }
    let height = (rows + 1) as f32 * pitch * 1.15;
    let top = area.y + area.height - height;
    let mut items = Vec::new();
    for (name, x, row) in places {
        let middle = (area.x + x + pitch / 2.0, top + (row as f32 * 1.15 + 0.5) * pitch);
        items.extend(sample(name, middle, pitch));
        items.push(Item::Text {
            at: (middle.0 + pitch * 0.7, middle.1 + size * 0.35),
            size,
            face: Face::Regular,
            ink: BLACK,
            text: name.into(),
        });
    }
    (vec![Part::new(Role::Paragraph, items)], height)
}

/// One kind of mark, as an example.
fn sample(name: &str, (x, y): (f32, f32), pitch: f32) -> Vec<Item> {
    let digit = Digit::ALL[4];
    match name {
        "look along" => {
            let path = Path::rounded(x - 0.45 * pitch, y - 0.28 * pitch, 0.9 * pitch, 0.56 * pitch, 0.1 * pitch);
            vec![
                Item::Fill { path: path.clone(), ink: palette::SKY_TINT },
                Item::Stroke { path, pen: Pen::new(0.06 * pitch, palette::BLUE).dashed(0.26 * pitch, 0.12 * pitch) },
            ]
        }
        "look at" => vec![ticks((x, y), pitch), centred("5", (x, y), 0.5 * pitch, Face::Bold, BLACK)],
        "in mind" => small((x, y), pitch, 0.44, Small::Carried, &[digit]),
        "found" => small((x, y), pitch, 0.44, Small::Found, &[digit]),
        "written" => ring((x, y), pitch, digit).to_vec(),
        _ => small((x, y), pitch, 0.5, Small::Struck, &[digit]),
    }
}

/// Points across and down of a frame for video; 1920 x 1080 pixels are two to the point.
const FRAME: (f32, f32) = (960.0, 540.0);
/// The blank rim of a frame, and the padding of its cards.
const FRAME_RIM: f32 = 12.0;
/// The height of the strip along the bottom with heading and sentence.
const STRIP: f32 = 78.0;

/// A frame for video for each moment, 960 x 540 points: the board at the left, heading and sentence in a strip along the bottom, and nothing
/// in the rest. The geometry is the same whatever the puzzle, so that one frame can follow another without a jump.
pub fn board_frames(moments: &[Moment]) -> Vec<Page> {
    let (width, height) = FRAME;
    let card = |x: f32, y: f32, width: f32, height: f32| Item::Fill { path: Path::rounded(x, y, width, height, 8.0), ink: palette::WHITE };
    let room = height - 3.0 * FRAME_RIM - STRIP;
    let side = (room - FRAME_RIM) * 9.0 / (9.0 + RIM);
    let strip = Area { x: FRAME_RIM, y: height - FRAME_RIM - STRIP, width: width - 2.0 * FRAME_RIM, height: STRIP };
    let text = Area { x: strip.x + FRAME_RIM, width: strip.width - 2.0 * FRAME_RIM, y: strip.y + 27.0, height: STRIP - 33.0 };
    let frame = |moment: &Moment| {
        let cards = vec![card(FRAME_RIM, FRAME_RIM, room, room), card(strip.x, strip.y, strip.width, strip.height)];
        let heading = shortened(&moment.heading, Face::Bold, 16.0, text.width);
        let mut parts = vec![Part::new(Role::Ornament, cards), board_part(moment, (FRAME_RIM * 1.25, FRAME_RIM * 1.25), side)];
        parts.push(Part::new(Role::Heading, paragraph(&heading, (text.x, strip.y + 5.0), text.width, 16.0, Face::Bold)));
        parts.extend(sentence(&moment.sentence, text, 16.0, SMALLEST + 2.5));
        Page { width, height, title: format!("Board {}", moment.heading), parts }
    };
    moments.iter().map(frame).collect()
}
