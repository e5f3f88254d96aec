//! The sheets' font: which glyph a character has, how wide text runs, how it breaks into lines. `fonts/` holds the files and their licence.

use std::sync::LazyLock;

use ttf_parser::{GlyphId, OutlineBuilder};

use super::page::{Path, Segment};

/// A face of the font.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Face {
    /// For text, and for digits that are written in.
    Regular,
    /// For givens and headings.
    Bold,
}

static PARSED: LazyLock<[ttf_parser::Face<'static>; 2]> = LazyLock::new(|| {
    Face::ALL.map(|face| ttf_parser::Face::parse(face.file(), 0).expect("the font in the program is whole: its checksum is tested"))
});

impl Face {
    /// Both faces.
    pub const ALL: [Self; 2] = [Self::Regular, Self::Bold];

    /// The font file.
    pub const fn file(self) -> &'static [u8] {
        match self {
            Self::Regular => include_bytes!("fonts/regular.ttf"),
            Self::Bold => include_bytes!("fonts/bold.ttf"),
        }
    }

    /// The parsed font.
    pub(super) fn parsed(self) -> &'static ttf_parser::Face<'static> {
        &PARSED[self as usize]
    }

    /// The character's glyph; 0, the font's empty box, where it has none.
    pub(super) fn glyph(self, character: char) -> u16 {
        self.parsed().glyph_index(character).map_or(0, |glyph| glyph.0)
    }

    /// How far the glyph moves the pen, in thousandths of the size.
    pub(super) fn advance(self, glyph: u16) -> f32 {
        let units = f32::from(self.parsed().units_per_em());
        f32::from(self.parsed().glyph_hor_advance(GlyphId(glyph)).unwrap_or(0)) * 1000.0 / units
    }

    /// The width of a line of text of this size.
    pub fn width(self, text: &str, size: f32) -> f32 {
        text.chars().map(|character| self.advance(self.glyph(character))).sum::<f32>() * size / 1000.0
    }

    /// The glyph's outline at size 1, its origin on the baseline, y down.
    pub(super) fn outline(self, glyph: u16) -> Path {
        let mut pen = GlyphPen { path: Path::default(), unit: 1.0 / f32::from(self.parsed().units_per_em()), last: (0.0, 0.0) };
        // A glyph without an outline, such as the space, draws nothing.
        let _ = self.parsed().outline_glyph(GlyphId(glyph), &mut pen);
        pen.path
    }
}

/// The characters of a text that the font has no glyph for, each once.
pub fn missing(text: &str) -> Vec<char> {
    let mut missing: Vec<char> = text.chars().filter(|&character| Face::Regular.glyph(character) == 0).collect();
    missing.sort_unstable();
    missing.dedup();
    missing
}

/// The text broken between words into lines no wider than `width`. A word that is wider is broken within.
pub fn lines(text: &str, face: Face, size: f32, width: f32) -> Vec<String> {
    let space = face.width(" ", size);
    let (mut lines, mut taken) = (vec![String::new()], 0.0);
    for word in text.split_whitespace() {
        for piece in pieces(word, face, size, width) {
            let wide = face.width(&piece, size);
            match lines.last_mut() {
                Some(last) if last.is_empty() => (*last, taken) = (piece, wide),
                Some(last) if taken + space + wide <= width => {
                    last.push(' ');
                    last.push_str(&piece);
                    taken += space + wide;
                }
                _ => {
                    lines.push(piece);
                    taken = wide;
                }
            }
        }
    }
    lines
}

/// The word, or where it is wider than `width` the longest pieces of it that aren't.
fn pieces(word: &str, face: Face, size: f32, width: f32) -> Vec<String> {
    if face.width(word, size) <= width {
        return vec![word.into()];
    }
    let mut pieces = vec![String::new()];
    for character in word.chars() {
        let last = pieces.len() - 1;
        pieces[last].push(character);
        if face.width(&pieces[last], size) > width && pieces[last].chars().count() > 1 {
            pieces[last].pop();
            pieces.push(character.into());
        }
    }
    pieces
}

/// The text in one line no wider than `width`: what is too much is cut off, and an ellipsis says so.
pub fn shortened(text: &str, face: Face, size: f32, width: f32) -> String {
    if face.width(text, size) <= width {
        return text.into();
    }
    let mut kept: String = text.into();
    while kept.pop().is_some() {
        let shown = format!("{}…", kept.trim_end());
        if face.width(&shown, size) <= width {
            return shown;
        }
    }
    String::new()
}

struct GlyphPen {
    path: Path,
    unit: f32,
    last: (f32, f32),
}

impl GlyphPen {
    fn at(&self, x: f32, y: f32) -> (f32, f32) {
        (x * self.unit, -y * self.unit)
    }
}

impl OutlineBuilder for GlyphPen {
    fn move_to(&mut self, x: f32, y: f32) {
        self.last = self.at(x, y);
        self.path.0.push(Segment::Move(self.last.0, self.last.1));
    }

    fn line_to(&mut self, x: f32, y: f32) {
        self.last = self.at(x, y);
        self.path.0.push(Segment::Line(self.last.0, self.last.1));
    }

    /// A quadratic curve as the cubic one that runs alike.
    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        let (from, control, to) = (self.last, self.at(x1, y1), self.at(x, y));
        let toward = |end: (f32, f32)| (end.0 + (control.0 - end.0) * 2.0 / 3.0, end.1 + (control.1 - end.1) * 2.0 / 3.0);
        let (first, second) = (toward(from), toward(to));
        self.path.0.push(Segment::Curve([first.0, first.1, second.0, second.1, to.0, to.1]));
        self.last = to;
    }

    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        let (first, second, to) = (self.at(x1, y1), self.at(x2, y2), self.at(x, y));
        self.path.0.push(Segment::Curve([first.0, first.1, second.0, second.1, to.0, to.1]));
        self.last = to;
    }

    fn close(&mut self) {
        self.path.0.push(Segment::Close);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_breaks_where_it_is_too_wide() {
        let text = "three short words and anextremelylongoneafterthem";
        let lines = lines(text, Face::Regular, 10.0, 80.0);
        assert!(lines.len() > 3 && lines.iter().all(|line| Face::Regular.width(line, 10.0) <= 80.0), "{lines:?}");
        assert_eq!(lines.concat().replace(' ', ""), text.replace(' ', ""));
    }

    #[test]
    fn too_long_a_line_says_that_it_was_cut() {
        assert_eq!(shortened("short", Face::Bold, 10.0, 100.0), "short");
        let cut = shortened("a title that is far too long", Face::Bold, 10.0, 60.0);
        assert!(cut.ends_with('…') && Face::Bold.width(&cut, 10.0) <= 60.0, "{cut}");
    }

    #[test]
    fn characters_without_a_glyph_are_named() {
        assert_eq!(missing("Orchard Hours, p. 42 — “Ä”"), []);
        assert_eq!(missing("数独 数"), ['数', '独']);
    }
}
