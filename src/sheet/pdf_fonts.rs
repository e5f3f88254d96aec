//! The fonts within a PDF file: of each face only the glyphs that the pages show, with the characters they stand for.

use std::collections::BTreeMap;

use pdf_writer::types::{CidFontType, FontFlags, SystemInfo, UnicodeCmap};
use pdf_writer::{Filter, Finish, Name, Rect, Ref, Str};
use subsetter::GlyphRemapper;
use ttf_parser::{FaceParsingError, RawFace, Tag};

use super::Face;
use super::page::{Item, Page};
use super::pdf_file::{File, chunk, packed};

/// The font can't be embedded: the program's font files are damaged.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("the font can't be put into the PDF ({0}): the program's own font file is damaged, install it anew")]
pub struct EmbedError(String);

/// The faces that some pages use.
pub struct Fonts(BTreeMap<Face, Used>);

/// The glyphs of one face that are shown.
#[derive(Default)]
struct Used {
    /// From the font's glyph numbers to those in the file.
    glyphs: GlyphRemapper,
    /// The character that each glyph in the file stands for, and its width in thousandths of the size.
    shown: BTreeMap<u16, (char, f32)>,
    /// The font object, once it is written.
    id: Option<Ref>,
}

/// The tables of an embedded TrueType font.
const NEEDED: [&[u8; 4]; 9] = [b"cvt ", b"fpgm", b"glyf", b"head", b"hhea", b"hmtx", b"loca", b"maxp", b"prep"];

const IDENTITY: SystemInfo<'static> = SystemInfo { registry: Str(b"Adobe"), ordering: Str(b"Identity"), supplement: 0 };

impl Fonts {
    /// What the pages show.
    pub fn of(pages: &[Page]) -> Self {
        let mut fonts: BTreeMap<Face, Used> = BTreeMap::new();
        for item in pages.iter().flat_map(|page| &page.parts).flat_map(|part| &part.items) {
            let Item::Text { face, text, .. } = item else { continue };
            let used = fonts.entry(*face).or_default();
            for character in text.chars() {
                let glyph = face.glyph(character);
                used.shown.entry(used.glyphs.remap(glyph)).or_insert((character, face.advance(glyph)));
            }
        }
        Self(fonts)
    }

    /// The text as glyph numbers of two bytes each.
    pub fn encode(&self, face: Face, text: &str) -> Vec<u8> {
        let glyphs = self.0.get(&face).map(|used| &used.glyphs);
        let number = |character| glyphs.and_then(|glyphs| glyphs.get(face.glyph(character))).unwrap_or(0);
        text.chars().flat_map(|character| number(character).to_be_bytes()).collect()
    }

    /// The font object of each face, after [`Fonts::write`].
    pub fn written(&self) -> impl Iterator<Item = (Face, Ref)> + '_ {
        self.0.iter().filter_map(|(&face, used)| Some((face, used.id?)))
    }

    /// Writes the fonts.
    ///
    /// # Errors
    /// Where a font file is damaged.
    pub fn write(&mut self, file: &mut File, next: &mut Ref) -> Result<(), EmbedError> {
        for (&face, used) in &mut self.0 {
            used.id = Some(write_face(file, next, face, used)?);
        }
        Ok(())
    }
}

fn write_face(file: &mut File, next: &mut Ref, face: Face, used: &Used) -> Result<Ref, EmbedError> {
    let (id, outlines, descriptor, program, characters) = (next.bump(), next.bump(), next.bump(), next.bump(), next.bump());
    let name = name(face, used);
    let name = Name(name.as_bytes());
    let mut written = chunk();
    written.type0_font(id).base_font(name).encoding_predefined(Name(b"Identity-H")).descendant_font(outlines).to_unicode(characters);
    file.add(&written);

    let mut written = chunk();
    let mut font = written.cid_font(outlines);
    font.subtype(CidFontType::Type2).base_font(name).system_info(IDENTITY).font_descriptor(descriptor);
    font.cid_to_gid_map_predefined(Name(b"Identity"));
    let mut widths = font.widths();
    for (&glyph, &(_, width)) in &used.shown {
        widths.consecutive(glyph, [width]);
    }
    widths.finish();
    font.finish();
    file.add(&written);

    let parsed = face.parsed();
    let thousandths = |units: i16| f32::from(units) * 1000.0 / f32::from(parsed.units_per_em());
    let around = parsed.global_bounding_box();
    let around = [around.x_min, around.y_min, around.x_max, around.y_max].map(thousandths);
    let mut written = chunk();
    let mut told = written.font_descriptor(descriptor);
    told.name(name).flags(FontFlags::SYMBOLIC).bbox(Rect::new(around[0], around[1], around[2], around[3])).italic_angle(0.0);
    told.ascent(thousandths(parsed.ascender())).descent(thousandths(parsed.descender()));
    told.cap_height(thousandths(parsed.capital_height().unwrap_or(parsed.ascender())));
    // Common practice for the two weights; only viewers without the embedded font would use it.
    told.stem_v(if face == Face::Bold { 140.0 } else { 85.0 }).font_file2(program);
    told.finish();
    file.add(&written);

    let subset = subsetter::subset(face.file(), 0, &used.glyphs).map_err(|error| EmbedError(error.to_string()))?;
    let subset = bare(&subset).map_err(|error| EmbedError(error.to_string()))?;
    let mut written = chunk();
    written.stream(program, &packed(&subset)).filter(Filter::FlateDecode).pair(Name(b"Length1"), subset.len() as i32);
    file.add_stream(&written);

    let mut map = UnicodeCmap::new(Name(b"Characters"), IDENTITY);
    used.shown.iter().for_each(|(&glyph, &(character, _))| map.pair(glyph, character));
    let mut written = chunk();
    written.cmap(characters, &packed(&map.finish())).filter(Filter::FlateDecode);
    file.add_stream(&written);
    Ok(id)
}

/// The font program with those tables alone that ISO 32000-1, 9.9 asks for: its names, for one, are an eighth of so small a font.
fn bare(font: &[u8]) -> Result<Vec<u8>, FaceParsingError> {
    let parsed = RawFace::parse(font, 0)?;
    let kept = |tag: &Tag| NEEDED.contains(&&tag.to_bytes());
    let records: Vec<_> = parsed.table_records.into_iter().filter(|record| kept(&record.tag)).collect();
    let count = records.len() as u16;
    // The three fields that help to search the directory by halves.
    let power = count.checked_ilog2().unwrap_or(0) as u16;
    let range = 16 << power;
    let head = [count, range, power, 16 * count - range].map(u16::to_be_bytes).concat();
    let mut out = [font.get(..4).unwrap_or_default(), &head].concat();
    let mut body = Vec::new();
    for record in records {
        let data = parsed.table(record.tag).unwrap_or_default();
        let at = 12 + 16 * u32::from(count) + body.len() as u32;
        let numbers = [record.check_sum, at, data.len() as u32].map(u32::to_be_bytes).concat();
        out.extend([&record.tag.to_bytes()[..], &numbers].concat());
        body.extend(data);
        body.resize(body.len().next_multiple_of(4), 0);
    }
    out.extend(body);
    Ok(out)
}

/// The font's name after six letters that stand for the choice of glyphs, as ISO 32000-1, 9.6.4 asks.
fn name(face: Face, used: &Used) -> String {
    let fold = |sum: u64, &(character, _): &(char, f32)| sum.wrapping_mul(31).wrapping_add(u64::from(u32::from(character)));
    let mut sum = used.shown.values().fold(7, fold);
    let mut letters = String::new();
    for _ in 0..6 {
        letters.push(char::from(b'A' + (sum % 26) as u8));
        sum /= 26;
    }
    format!("{letters}+Inter-{face:?}")
}
