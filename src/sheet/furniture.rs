//! What stands around the puzzles of a page: title and address above, source and page number below, and lines to write on.

use super::Face;
use super::figure::DIGIT_HEIGHT;
use super::font::{lines, shortened};
use super::layout::{Area, LEADING, Layout, MARGIN, Print, Type};
use super::link::Link;
use super::page::{BLACK, Ink, Item, MILLIMETRE, Page, Part, Path, Pen, Role};

/// What every page of a sheet says.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Heading {
    /// The title, above.
    pub title: Option<String>,
    /// An address to follow, with its code.
    pub link: Option<Link>,
}

/// A page before anything stands in its middle.
pub(super) struct Frame {
    pub page: Page,
    /// The room between header and footer.
    pub area: Area,
}

/// Grey that copiers keep as fine dots, for lines to write on.
const FAINT: Ink = [110, 110, 110];
/// Between header, body and footer, in points.
const GAP: f32 = 12.0;

/// A page with its header and footer. `credit` says where its puzzles are from, one paragraph each; `number` counts from 1.
pub(super) fn frame(layout: &Layout, heading: &Heading, credit: &[String], number: usize, of: usize) -> Frame {
    let (width, height) = layout.page_size();
    let area = Area { x: MARGIN, y: MARGIN, width: width - 2.0 * MARGIN, height: height - 2.0 * MARGIN };
    let sizes = layout.print.sizes();
    let place = if of > 1 { format!("page {number} of {of}") } else { "one page".into() };
    let title = heading.title.as_ref().map_or_else(|| format!("Puzzles, {place}"), |title| format!("{title}, {place}"));
    let mut parts = Vec::new();
    let top = header(&mut parts, heading, area, sizes);
    let bottom = footer(&mut parts, credit, area, sizes, (of > 1).then(|| format!("{number} / {of}")));
    let area = Area { y: area.y + top, height: area.height - top - bottom, ..area };
    Frame { page: Page { width, height, title, parts }, area }
}

/// Draws the header; gives its height, the gap below included.
fn header(parts: &mut Vec<Part>, heading: &Heading, area: Area, sizes: Type) -> f32 {
    let Heading { title, link } = heading;
    if title.is_none() && link.is_none() {
        return 0.0;
    }
    let code = link.as_ref().map_or(0.0, |link| link.width());
    let width = area.width - if code > 0.0 { code + GAP } else { 0.0 };
    let mut y = area.y;
    if let Some(title) = title {
        let text = paragraph(title, (area.x, y), width, sizes.title, Face::Bold);
        y += height(&text, sizes.title);
        parts.push(Part::new(Role::Heading, text));
    }
    if let Some(link) = link {
        let text = paragraph(link.address(), (area.x, y + 2.0), width, sizes.text, Face::Regular);
        y += height(&text, sizes.text) + 2.0;
        parts.push(Part::new(Role::Link(link.address().into()), text));
        let told = format!("QR code of the address {}", link.address());
        parts.push(Part::new(Role::Figure(told), vec![link.code(area.x + area.width - code, area.y)]));
    }
    let bottom = y.max(area.y + code) + 3.0;
    let rule = Path::line((area.x, bottom), (area.x + area.width, bottom));
    parts.push(Part::new(Role::Ornament, vec![Item::Stroke { path: rule, pen: Pen::new(1.0, BLACK) }]));
    bottom + GAP - area.y
}

/// Draws the footer; gives its height, the gap above included.
fn footer(parts: &mut Vec<Part>, credit: &[String], area: Area, sizes: Type, number: Option<String>) -> f32 {
    let size = sizes.small;
    let room = number.as_ref().map_or(0.0, |number| Face::Bold.width(number, size) + GAP);
    let text: Vec<String> = credit.iter().flat_map(|credit| lines(credit, Face::Regular, size, area.width - room)).collect();
    let height = text.len().max(usize::from(number.is_some())) as f32 * size * LEADING;
    if height == 0.0 {
        return 0.0;
    }
    let top = area.y + area.height - height;
    if let Some(number) = number {
        let x = area.x + area.width - Face::Bold.width(&number, size);
        let item = Item::Text { at: (x, top + size), size, face: Face::Bold, ink: BLACK, text: number };
        parts.push(Part::new(Role::Ornament, vec![item]));
    }
    if !text.is_empty() {
        parts.push(Part::new(Role::Paragraph, stacked(text, (area.x, top), size, Face::Regular)));
    }
    height + GAP
}

/// A text broken into lines, the first one's top at `at`.
pub(super) fn paragraph(text: &str, at: (f32, f32), width: f32, size: f32, face: Face) -> Vec<Item> {
    stacked(lines(text, face, size, width), at, size, face)
}

/// Lines of text below each other, the first one's top at `at`.
pub(super) fn stacked(lines: Vec<String>, (x, y): (f32, f32), size: f32, face: Face) -> Vec<Item> {
    let item = |(row, text)| Item::Text { at: (x, y + size + row as f32 * size * LEADING), size, face, ink: BLACK, text };
    lines.into_iter().enumerate().map(item).collect()
}

/// One line of text that ends with an ellipsis where it is too long; its top at `at`.
pub(super) fn line(text: &str, at: (f32, f32), width: f32, size: f32, face: Face) -> Vec<Item> {
    stacked(vec![shortened(text, face, size, width)], at, size, face)
}

/// The height of lines of this size.
pub(super) fn height(lines: &[Item], size: f32) -> f32 {
    lines.len() as f32 * size * LEADING
}

/// From one line to write on to the next: common practice for lined paper; large print has room for large writing.
fn pitch(print: Print) -> f32 {
    if print == Print::Large { 12.0 * MILLIMETRE } else { 8.0 * MILLIMETRE }
}

/// The least length, either way, of room for notes.
pub(super) fn least_notes(print: Print) -> f32 {
    3.0 * pitch(print)
}

/// Lines to write on, as many as fit, dotted so that they are no grid's lines; nothing where less than one fits.
pub(super) fn ruled(area: Area, print: Print) -> Vec<Part> {
    let sizes = print.sizes();
    let pitch = pitch(print);
    let first = sizes.small * DIGIT_HEIGHT + pitch;
    let count = ((area.height - first) / pitch).floor() + 1.0;
    if count < 1.0 || area.width + 0.01 < least_notes(print) {
        return Vec::new();
    }
    let mut path = Path::default();
    for line in 0..count as usize {
        let y = area.y + first + line as f32 * pitch;
        path.extend(Path::line((area.x, y), (area.x + area.width, y)));
    }
    let pen = Pen::new(0.8, FAINT).dashed(0.0, 4.0).round();
    vec![
        Part::new(Role::Paragraph, line("Notes", (area.x, area.y - sizes.small * 0.2), area.width, sizes.small, Face::Regular)),
        Part::new(Role::Ornament, vec![Item::Stroke { path, pen }]),
    ]
}
