//! A page as an SVG file (SVG 1.1 with the `role` attribute of WAI-ARIA). What is seen are the glyphs' outlines, so that it looks the same
//! without the font and in programs that take none from a file; over them lies the same text, unseen, to be selected, searched and read aloud.
//! `title` and `desc` tell each figure in words.

use std::collections::BTreeSet;
use std::fmt::Write;

use super::Face;
use super::page::{Ends, Ink, Item, Page, Part, Path, Pen, Role, Segment};

/// The page as an SVG file.
pub fn svg(page: &Page) -> String {
    let mut out = String::new();
    let (width, height) = (number(page.width), number(page.height));
    push(&mut out, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    push(&mut out, "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" ");
    push(&mut out, &format!("width=\"{width}pt\" height=\"{height}pt\" viewBox=\"0 0 {width} {height}\" "));
    push(&mut out, "font-family=\"sans-serif\" role=\"group\" aria-labelledby=\"title\" aria-describedby=\"desc\">\n");
    push(&mut out, &format!("<title id=\"title\">{}</title>\n<desc id=\"desc\">{}</desc>\n", escape(&page.title), escape(&told(page))));
    define_glyphs(&mut out, page);
    page.parts.iter().for_each(|part| draw_part(&mut out, part));
    push(&mut out, "</svg>\n");
    out
}

fn push(out: &mut String, text: &str) {
    out.push_str(text);
}

/// All figures of the page in words.
fn told(page: &Page) -> String {
    let figures = page.parts.iter().filter_map(|part| if let Role::Figure(told) = &part.role { Some(told.as_str()) } else { None });
    figures.collect::<Vec<_>>().join("\n")
}

/// The glyphs that the page shows, a thousand units to the em, each once.
fn define_glyphs(out: &mut String, page: &Page) {
    let mut shown = BTreeSet::new();
    for item in page.parts.iter().flat_map(|part| &part.items) {
        if let Item::Text { face, text, .. } = item {
            shown.extend(text.chars().map(|character| (*face, face.glyph(character))));
        }
    }
    push(out, "<defs>\n");
    for (face, glyph) in shown {
        let outline = data(&face.outline(glyph), 1000.0);
        if !outline.is_empty() {
            push(out, &format!("<path id=\"{}\" d=\"{outline}\"/>\n", glyph_name(face, glyph)));
        }
    }
    push(out, "</defs>\n");
}

fn glyph_name(face: Face, glyph: u16) -> String {
    format!("{}{glyph}", if face == Face::Bold { 'b' } else { 'r' })
}

fn draw_part(out: &mut String, part: &Part) {
    let factors: Vec<String> = part.placing.factors.iter().map(|&factor| number(factor)).collect();
    let transform =
        if part.placing == super::Placing::NONE { String::new() } else { format!(" transform=\"matrix({})\"", factors.join(" ")) };
    let close = match &part.role {
        Role::Figure(told) => {
            let title = told.split(['.', ':']).next().unwrap_or_default();
            push(out, &format!("<g role=\"img\"{transform}><title>{}</title><desc>{}</desc>\n", escape(title), escape(told)));
            "</g>\n"
        }
        Role::Link(address) => {
            let address = escape(address);
            push(out, &format!("<a href=\"{address}\" xlink:href=\"{address}\"><g{transform}>\n"));
            "</g></a>\n"
        }
        Role::Heading => {
            push(out, &format!("<g role=\"heading\" aria-level=\"1\"{transform}>\n"));
            "</g>\n"
        }
        Role::Paragraph => {
            push(out, &format!("<g{transform}>\n"));
            "</g>\n"
        }
        Role::Ornament => {
            push(out, &format!("<g aria-hidden=\"true\"{transform}>\n"));
            "</g>\n"
        }
    };
    part.items.iter().for_each(|item| draw_item(out, item));
    push(out, "<g fill-opacity=\"0\">\n");
    part.items.iter().for_each(|item| lay_text(out, item));
    push(out, "</g>\n");
    push(out, close);
}

fn draw_item(out: &mut String, item: &Item) {
    match item {
        Item::Fill { path, ink } => push(out, &format!("<path d=\"{}\" fill=\"{}\"/>\n", data(path, 1.0), colour(*ink))),
        Item::Stroke { path, pen } => push(out, &format!("<path d=\"{}\" fill=\"none\" {}/>\n", data(path, 1.0), stroke(pen))),
        Item::Text { at: (x, y), size, face, ink, text } => {
            let scale = format!("{:.4}", size / 1000.0);
            let place = format!("translate({} {}) scale({scale})", number(*x), number(*y));
            push(out, &format!("<g fill=\"{}\" transform=\"{place}\">", colour(*ink)));
            let mut across = 0.0;
            for character in text.chars() {
                let glyph = face.glyph(character);
                if !character.is_whitespace() {
                    let name = glyph_name(*face, glyph);
                    push(out, &format!("<use href=\"#{name}\" xlink:href=\"#{name}\" x=\"{}\"/>", number(across)));
                }
                across += face.advance(glyph);
            }
            push(out, "</g>\n");
        }
    }
}

/// A line of text as text, as wide in any font as its outlines are.
fn lay_text(out: &mut String, item: &Item) {
    let Item::Text { at: (x, y), size, face, text, .. } = item else { return };
    let (x, y, size, width) = (number(*x), number(*y), number(*size), number(face.width(text, *size)));
    let place = format!("x=\"{x}\" y=\"{y}\" font-size=\"{size}\" textLength=\"{width}\" lengthAdjust=\"spacingAndGlyphs\"");
    push(out, &format!("<text {place}>{}</text>\n", escape(text)));
}

fn stroke(pen: &Pen) -> String {
    let mut text = format!("stroke=\"{}\" stroke-width=\"{}\" stroke-linejoin=\"round\"", colour(pen.ink), number(pen.width));
    if pen.ends == Ends::Round {
        text.push_str(" stroke-linecap=\"round\"");
    }
    if let Some([dash, gap]) = pen.dash {
        // Writing to a string can't fail.
        let _ = write!(text, " stroke-dasharray=\"{} {}\"", number(dash), number(gap));
    }
    text
}

/// Path data, each length times `scale`.
fn data(path: &Path, scale: f32) -> String {
    let mut text = String::new();
    for segment in &path.0 {
        let (letter, values): (char, &[f32]) = match segment {
            Segment::Move(x, y) => ('M', &[*x, *y]),
            Segment::Line(x, y) => ('L', &[*x, *y]),
            Segment::Curve(values) => ('C', values),
            Segment::Close => ('Z', &[]),
        };
        text.push(letter);
        let values: Vec<String> = values.iter().map(|value| number(value * scale)).collect();
        text.push_str(&values.join(" "));
    }
    text
}

fn colour([red, green, blue]: Ink) -> String {
    format!("#{red:02x}{green:02x}{blue:02x}")
}

/// To a hundredth, without needless zeros.
fn number(value: f32) -> String {
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".into() } else { text.into() }
}

/// Text for XML 1.0, which can't hold control characters at all.
fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\n' | '\t' => out.push(character),
            '\u{fffe}' | '\u{ffff}' => out.push('\u{fffd}'),
            _ if character.is_control() => out.push('\u{fffd}'),
            _ => out.push(character),
        }
    }
    out
}
