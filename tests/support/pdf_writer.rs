//! Writes small PDF files (ISO 32000-1, chapter 7): puzzle pages of lines and text, and scans.

use std::fmt::Write;
use std::io::Write as _;

use flate2::Compression;
use flate2::write::ZlibEncoder;

/// A PDF file in the making. Objects 1 and 2 are the catalogue and the list of pages.
pub struct PdfWriter {
    objects: Vec<Vec<u8>>,
    pages: Vec<usize>,
    /// More entries of the trailer.
    pub trailer: String,
}

impl PdfWriter {
    pub fn new() -> Self {
        Self { objects: vec![Vec::new(); 2], pages: Vec::new(), trailer: String::new() }
    }

    /// Adds an object and gives its number.
    pub fn add(&mut self, object: impl Into<Vec<u8>>) -> usize {
        self.objects.push(object.into());
        self.objects.len()
    }

    /// Adds a stream with these entries of its dictionary.
    pub fn add_stream(&mut self, entries: &str, data: &[u8]) -> usize {
        let head = format!("<< {entries} /Length {} >>\nstream\n", data.len());
        self.add([head.as_bytes(), data, b"\nendstream"].concat())
    }

    /// Adds a stream, packed.
    pub fn add_packed(&mut self, entries: &str, data: &[u8]) -> usize {
        self.add_stream(&format!("{entries} /Filter /FlateDecode"), &packed(data))
    }

    /// Adds a page of `size` points, drawn by the packed stream `content` with these resources.
    pub fn add_page(&mut self, size: (f64, f64), resources: &str, content: &[u8]) {
        let content = self.add_packed("", content);
        self.add_bare_page(format!(
            "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 {} {}] /Resources << {resources} >> /Contents {content} 0 R >>",
            size.0, size.1
        ));
    }

    /// Adds a page object as it is.
    pub fn add_bare_page(&mut self, page: String) {
        let page = self.add(page);
        self.pages.push(page);
    }

    /// Adds a page covered by a JPEG picture of `pixels`, at `resolution` pixels per inch.
    pub fn add_scan(&mut self, jpeg: &[u8], pixels: (u32, u32), resolution: f64) {
        let (width, height) = pixels;
        let entries = format!(
            "/Type /XObject /Subtype /Image /Width {width} /Height {height} /ColorSpace /DeviceRGB /BitsPerComponent 8 /Filter /DCTDecode"
        );
        let image = self.add_stream(&entries, jpeg);
        let size = (f64::from(width) * 72.0 / resolution, f64::from(height) * 72.0 / resolution);
        let content = format!("q {} 0 0 {} 0 0 cm /Scan Do Q", size.0, size.1);
        self.add_page(size, &format!("/XObject << /Scan {image} 0 R >>"), content.as_bytes());
    }

    /// Adds an A4 page with a grid of lines and Helvetica digits. The text of digits in `mapped` cells is given out
    /// as another digit by their font's Unicode map, and drawn as it is.
    pub fn add_puzzle(&mut self, givens: &str, mapped: &[(usize, char)]) {
        let mut fonts = String::from("/F << /Type /Font /Subtype /Type1 /BaseFont /Helvetica >> ");
        for &(cell, digit) in mapped {
            let drawn = givens.as_bytes()[cell];
            let map = format!(
                "/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n/CMapName /M def\n/CMapType 2 def\n\
                 1 begincodespacerange\n<00> <ff>\nendcodespacerange\n1 beginbfchar\n<{drawn:02x}> <{:04x}>\nendbfchar\nendcmap\nend\nend",
                u32::from(digit)
            );
            let map = self.add_packed("", map.as_bytes());
            write!(fonts, "/F{cell} << /Type /Font /Subtype /Type1 /BaseFont /Helvetica /ToUnicode {map} 0 R >> ").expect("text");
        }
        let mut content = String::from("1 1 1 rg 0 0 595 842 re f 0 0 0 rg\n");
        let (left, top, side) = (97.5, 700.0, 44.0);
        for line in 0..10 {
            let (at, width) = (44.0 * f64::from(line), if line % 3 == 0 { 2.4 } else { 0.7 });
            writeln!(content, "{width} w {} {top} m {} {} l S", left + at, left + at, top - 9.0 * side).expect("text");
            writeln!(content, "{left} {} m {} {} l S", top - at, left + 9.0 * side, top - at).expect("text");
        }
        for (cell, digit) in givens.char_indices().filter(|(_, digit)| digit.is_ascii_digit()) {
            let font = if mapped.iter().any(|&(other, _)| other == cell) { format!("F{cell}") } else { "F".into() };
            let (x, y) = (left + side * (cell % 9) as f64 + 14.0, top - side * (cell / 9) as f64 - 33.0);
            writeln!(content, "BT /{font} 28 Tf {x} {y} Td ({digit}) Tj ET").expect("text");
        }
        self.add_page((595.0, 842.0), &format!("/Font << {fonts} >>"), content.as_bytes());
    }

    /// The file.
    pub fn finish(mut self) -> Vec<u8> {
        let kids: Vec<_> = self.pages.iter().map(|page| format!("{page} 0 R")).collect();
        self.objects[0] = b"<< /Type /Catalog /Pages 2 0 R >>".to_vec();
        self.objects[1] = format!("<< /Type /Pages /Kids [{}] /Count {} >>", kids.join(" "), kids.len()).into_bytes();
        let mut file = b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n".to_vec();
        let mut table = String::from("0000000000 65535 f \n");
        for (number, object) in (1..).zip(&self.objects) {
            writeln!(table, "{:010} 00000 n ", file.len()).expect("text");
            file.extend(format!("{number} 0 obj\n").bytes());
            file.extend(object);
            file.extend(b"\nendobj\n");
        }
        let (at, count) = (file.len(), self.objects.len() + 1);
        let trailer = &self.trailer;
        file.extend(
            format!("xref\n0 {count}\n{table}trailer\n<< /Size {count} /Root 1 0 R {trailer} >>\nstartxref\n{at}\n%%EOF\n").bytes(),
        );
        file
    }
}

/// Data as zlib packs them.
pub fn packed(data: &[u8]) -> Vec<u8> {
    let mut packer = ZlibEncoder::new(Vec::new(), Compression::best());
    packer.write_all(data).expect("memory takes it");
    packer.finish().expect("memory takes it")
}
