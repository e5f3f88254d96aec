//! Pages as a PDF file: vector, tagged, with the glyphs it shows embedded as text that can be selected.
//!
//! By ISO 32000-1: 9.7 for the fonts, 14.7 and 14.8 for the structure that tells each part's role. There is no date in the file, so
//! that the same pages give the same bytes.

use pdf_writer::types::{ActionType, AnnotationFlags, AnnotationType, LineCapStyle, LineJoinStyle, StructRole};
use pdf_writer::writers::{Catalog, DocumentInfo, StructTreeRoot};
use pdf_writer::{Content, Filter, Finish, Name, Rect, Ref, Str, TextStr};

use super::Face;
use super::page::{Ends, Ink, Item, Page, Part, Path, Pen, Role, Segment};
use super::pdf_file::{File, SETTINGS, chunk, packed};
use super::pdf_fonts::{EmbedError, Fonts};

/// The pages as a PDF file with this title.
///
/// # Errors
/// Where the fonts in the program are damaged.
pub fn pdf(pages: &[Page], title: &str) -> Result<Vec<u8>, EmbedError> {
    let mut next = Ref::new(1);
    let (catalog, tree, info) = (next.bump(), next.bump(), next.bump());
    let (structure, document) = (next.bump(), next.bump());
    let kids: Vec<Ref> = pages.iter().map(|_| next.bump()).collect();
    let mut writer = Writer { file: File::new(), next, fonts: Fonts::of(pages), tree, document, elements: Vec::new(), links: Vec::new() };
    writer.fonts.write(&mut writer.file, &mut writer.next)?;
    let mut parents = Vec::with_capacity(pages.len());
    for (number, (&id, page)) in kids.iter().zip(pages).enumerate() {
        parents.push(writer.write_page(id, number as i32, page));
    }
    let links = writer.write_links(pages.len() as i32);
    let Writer { mut file, next, elements, .. } = writer;

    let mut written = chunk();
    written.pages(tree).kids(kids.iter().copied()).count(kids.len() as i32);
    file.add(&written);
    let mut written = chunk();
    let mut element = written.struct_element(document);
    element.kind(StructRole::Document).parent(structure);
    element.children().items(elements);
    element.finish();
    file.add(&written);
    write_root(&mut file, structure, document, parents.into_iter().chain(links).collect());
    let mut written = chunk();
    let mut told: DocumentInfo<'_> = written.indirect(info).start();
    told.title(TextStr(title)).producer(TextStr(concat!("Gridlift ", env!("CARGO_PKG_VERSION"))));
    told.finish();
    file.add(&written);
    let mut written = chunk();
    let mut root: Catalog<'_> = written.indirect(catalog).start();
    root.pages(tree).lang(TextStr("en")).pair(Name(b"StructTreeRoot"), structure);
    root.mark_info().marked(true);
    root.viewer_preferences().display_doc_title(true);
    root.finish();
    file.add(&written);
    Ok(file.finish(next, catalog, info))
}

/// Writes the root of the structure: its one child, and whom the marked parts of each page and then each link belong to.
fn write_root(file: &mut File, id: Ref, document: Ref, parents: Vec<Ref>) {
    let mut written = chunk();
    let mut root: StructTreeRoot<'_> = written.indirect(id).start();
    root.child(document).parent_tree_next_key(parents.len() as i32);
    let mut tree = root.parent_tree();
    let mut numbers = tree.nums();
    for (key, parent) in (0..).zip(parents) {
        numbers.insert(key, parent);
    }
    numbers.finish();
    tree.finish();
    root.finish();
    file.add(&written);
}

/// What is known while the pages are written.
struct Writer {
    file: File,
    next: Ref,
    fonts: Fonts,
    tree: Ref,
    document: Ref,
    /// The structure elements in reading order.
    elements: Vec<Ref>,
    /// Each address to follow: its annotation, its page, its element, where it is, and itself.
    links: Vec<(Ref, Ref, Ref, Rect, String)>,
}

impl Writer {
    /// Writes a page; gives the array that names the structure element of each of its marked parts.
    fn write_page(&mut self, id: Ref, number: i32, page: &Page) -> Ref {
        let mut content = Content::with_settings(SETTINGS);
        // From here on y runs down from the top.
        content.transform([1.0, 0.0, 0.0, -1.0, 0.0, page.height]);
        let mut marked = Vec::new();
        let mut annotations = Vec::new();
        for part in &page.parts {
            if part.role == Role::Ornament {
                content.begin_marked_content(Name(b"Artifact"));
            } else {
                let element = self.next.bump();
                let role = role(&part.role);
                content.begin_marked_content_with_properties(role.to_name()).properties().identify(marked.len() as i32);
                if let Role::Link(address) = &part.role {
                    let annotation = self.next.bump();
                    annotations.push(annotation);
                    self.links.push((annotation, id, element, bounds(part, page.height), address.clone()));
                }
                self.write_element(element, id, role, part, marked.len() as i32, annotations.last().copied());
                marked.push(element);
            }
            draw_part(&mut content, part, &self.fonts);
            content.end_marked_content();
        }
        self.elements.extend(&marked);
        let (stream, parents) = (self.next.bump(), self.next.bump());
        let mut drawn = chunk();
        drawn.stream(stream, &packed(&content.finish())).filter(Filter::FlateDecode);
        self.file.add_stream(&drawn);
        let mut object = chunk();
        let mut written = object.page(id);
        written.parent(self.tree).media_box(Rect::new(0.0, 0.0, page.width, page.height)).contents(stream).struct_parents(number);
        written.pair(Name(b"Tabs"), Name(b"S"));
        if !annotations.is_empty() {
            written.annotations(annotations);
        }
        let mut resources = written.resources();
        let mut fonts = resources.fonts();
        for (face, id) in self.fonts.written() {
            fonts.pair(font_name(face), id);
        }
        fonts.finish();
        resources.finish();
        written.finish();
        self.file.add(&object);
        let mut object = chunk();
        object.indirect(parents).array().items(marked);
        self.file.add(&object);
        parents
    }

    fn write_element(&mut self, id: Ref, page: Ref, role: StructRole, part: &Part, mark: i32, annotation: Option<Ref>) {
        let mut object = chunk();
        let mut element = object.struct_element(id);
        element.kind(role).parent(self.document).page(page);
        if let Role::Figure(told) = &part.role {
            element.alt(TextStr(told));
        }
        let mut children = element.children();
        children.marked_content_id(mark);
        if let (Role::Link(_), Some(annotation)) = (&part.role, annotation) {
            children.object_ref().page(page).object(annotation);
        }
        children.finish();
        element.finish();
        self.file.add(&object);
    }

    /// Writes the annotations of all links, whose keys go on from `key`; gives the structure element of each.
    fn write_links(&mut self, key: i32) -> Vec<Ref> {
        for (key, (id, page, _, bounds, address)) in (key..).zip(&self.links) {
            let mut object = chunk();
            let mut annotation = object.annotation(*id);
            annotation.subtype(AnnotationType::Link).rect(*bounds).page(*page).border(0.0, 0.0, 0.0, None);
            annotation.flags(AnnotationFlags::PRINT).contents(TextStr(address)).struct_parent(key);
            annotation.action().action_type(ActionType::Uri).uri(Str(address.as_bytes()));
            annotation.finish();
            self.file.add(&object);
        }
        self.links.iter().map(|&(_, _, element, ..)| element).collect()
    }
}

const fn role(role: &Role) -> StructRole {
    match role {
        Role::Heading => StructRole::H1,
        Role::Figure(_) => StructRole::Figure,
        Role::Link(_) => StructRole::Link,
        Role::Paragraph | Role::Ornament => StructRole::P,
    }
}

const fn font_name(face: Face) -> Name<'static> {
    match face {
        Face::Regular => Name(b"R"),
        Face::Bold => Name(b"B"),
    }
}

/// Where the text of a part stands, y up from the bottom as annotations have it.
fn bounds(part: &Part, height: f32) -> Rect {
    let mut around = [f32::INFINITY, f32::INFINITY, f32::NEG_INFINITY, f32::NEG_INFINITY];
    for item in &part.items {
        let Item::Text { at: (x, y), size, face, text, .. } = item else { continue };
        for (x, y) in [(*x, y - size), (x + face.width(text, *size), y + 0.3 * size)] {
            let (x, y) = part.placing.point(x, y);
            around = [around[0].min(x), around[1].min(y), around[2].max(x), around[3].max(y)];
        }
    }
    Rect::new(short(around[0]), short(height - around[3]), short(around[2]), short(height - around[1]))
}

fn draw_part(content: &mut Content, part: &Part, fonts: &Fonts) {
    content.save_state().transform(part.placing.factors.map(short));
    for item in &part.items {
        match item {
            Item::Fill { path, ink } => {
                set_fill(content, *ink);
                trace(content, path);
                content.fill_nonzero();
            }
            Item::Stroke { path, pen } => {
                set_pen(content, pen);
                trace(content, path);
                content.stroke();
            }
            Item::Text { at, size, face, ink, text } => {
                set_fill(content, *ink);
                content.begin_text().set_font(font_name(*face), short(*size));
                content.set_text_matrix([1.0, 0.0, 0.0, -1.0, short(at.0), short(at.1)]);
                content.show(Str(&fonts.encode(*face, text))).end_text();
            }
        }
    }
    content.restore_state();
}

fn set_fill(content: &mut Content, ink: Ink) {
    let [red, green, blue] = ink.map(|value| short(f32::from(value) / 255.0));
    // Grey stays grey: a printer then uses black toner alone.
    if red == green && green == blue {
        content.set_fill_gray(red)
    } else {
        content.set_fill_rgb(red, green, blue)
    };
}

fn set_pen(content: &mut Content, pen: &Pen) {
    let [red, green, blue] = pen.ink.map(|value| short(f32::from(value) / 255.0));
    if red == green && green == blue {
        content.set_stroke_gray(red)
    } else {
        content.set_stroke_rgb(red, green, blue)
    };
    let cap = if pen.ends == Ends::Round { LineCapStyle::RoundCap } else { LineCapStyle::ButtCap };
    content.set_line_width(short(pen.width)).set_line_cap(cap).set_line_join(LineJoinStyle::RoundJoin);
    content.set_dash_pattern(pen.dash.into_iter().flatten().map(short), 0.0);
}

fn trace(content: &mut Content, path: &Path) {
    for segment in &path.0 {
        match *segment {
            Segment::Move(x, y) => content.move_to(short(x), short(y)),
            Segment::Line(x, y) => content.line_to(short(x), short(y)),
            Segment::Curve(curve) => {
                let [x1, y1, x2, y2, x, y] = curve.map(short);
                content.cubic_to(x1, y1, x2, y2, x, y)
            }
            Segment::Close => content.close_path(),
        };
    }
}

/// To a hundredth of a point, a 280th of a millimetre: finer than any printer, and shorter to write.
fn short(value: f32) -> f32 {
    (value * 100.0).round() / 100.0
}
