//! PDF files: scans and vector pages, their text against the picture, damage, locks and hostile files.

#[path = "support/pdf_writer.rs"]
mod pdf_writer;

use std::fs;
use std::path::Path;
use std::sync::LazyLock;

use gridlift::decide::{Reason, Verdict};
use gridlift::decode::{self, Damage, DecodeError, Options, Page};
use gridlift::lift::{Lifter, PageReading};
use pdf_writer::{PdfWriter, packed};
use proptest::prelude::*;

/// A puzzle of the made-up booklet.
const PUZZLE: &str = "974..8....1.6....5....9......1...3..348...519..2...4......6....4....1.9....5..723";

static LIFTER: LazyLock<Lifter> = LazyLock::new(|| Lifter::new().expect("the bundled networks"));

fn options() -> Options {
    Options { colour: true, ..Options::default() }
}

fn pages(bytes: &[u8]) -> Vec<Result<Page, DecodeError>> {
    match decode::open(bytes, &options()) {
        Ok(pages) => pages.collect(),
        Err(error) => vec![Err(error)],
    }
}

fn lift(page: &Result<Page, DecodeError>) -> PageReading {
    LIFTER.lift(page.as_ref().expect("a page")).expect("the networks run")
}

fn sample(name: &str) -> Vec<u8> {
    fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("samples").join(name)).expect("a sample")
}

fn scan(name: &str, resolution: f64) -> Vec<u8> {
    let jpeg = sample(name);
    let size = image::load_from_memory(&jpeg).expect("a picture");
    let mut pdf = PdfWriter::new();
    pdf.add_scan(&jpeg, (size.width(), size.height()), resolution);
    pdf.finish()
}

fn puzzle(mapped: &[(usize, char)]) -> Vec<u8> {
    let mut pdf = PdfWriter::new();
    pdf.add_puzzle(PUZZLE, mapped);
    pdf.finish()
}

/// A little of everything, nothing packed, so that a changed byte reaches every reader.
fn bare() -> Vec<u8> {
    let mut pdf = PdfWriter::new();
    let function = pdf.add("<< /FunctionType 2 /Domain [0 1] /C0 [0 0 0] /C1 [1 1 1] /N 1 >>");
    let form = pdf.add_stream(
        "/Type /XObject /Subtype /Form /BBox [0 0 50 50] /Group << /S /Transparency >>",
        b"0 0 40 40 re W n 9 w 0 0 m 50 50 l S",
    );
    let picture =
        "/Type /XObject /Subtype /Image /Width 4 /Height 2 /BitsPerComponent 1 /ColorSpace [/Indexed /DeviceRGB 1 <000000ffffff>]";
    let picture = pdf.add_stream(picture, b"\x50\xa0");
    let tile = "/PatternType 1 /PaintType 1 /TilingType 1 /BBox [0 0 4 4] /XStep 5 /YStep 5 /Resources << >>";
    let tile = pdf.add_stream(tile, b"0 0 3 3 re f");
    let drawn = pdf.add_stream("", b"600 0 0 0 500 700 d1 0 0 500 700 re f");
    let content = b"q /F Do Q q 30 0 0 30 60 60 cm /P Do Q /Pattern cs /T scn 0 0 20 90 re f /S sh \
        BT /H 12 Tf 10 80 Td [(12) -200 (34)] TJ ET BT /D 9 Tf 1 1 1 rg 50 10 Td (aa) Tj ET";
    let content = pdf.add_stream("", content);
    let resources = format!(
        "/XObject << /F {form} 0 R /P {picture} 0 R >> /Pattern << /T {tile} 0 R >> \
         /Shading << /S << /ShadingType 2 /ColorSpace /DeviceRGB /Coords [0 0 90 90] /Function {function} 0 R >> >> \
         /Font << /H << /Type /Font /Subtype /Type1 /BaseFont /Times-Roman >> /D << /Type /Font /Subtype /Type3 /FontBBox [0 0 600 700] \
         /FontMatrix [0.001 0 0 0.001 0 0] /FirstChar 97 /LastChar 97 /Widths [600] /Encoding << /Differences [97 /seven] >> \
         /CharProcs << /seven {drawn} 0 R >> >> >>"
    );
    let page = format!("<< /Type /Page /Parent 2 0 R /MediaBox [0 0 100 100] /Resources << {resources} >> /Contents {content} 0 R >>");
    pdf.add_bare_page(page);
    pdf.finish()
}

#[test]
fn digits_of_all_fonts_are_told() {
    let page = pages(&bare()).remove(0).expect("a page");
    assert!(page.damage.is_empty());
    let digits: Vec<_> = page.digits.iter().map(|placed| placed.digit).collect();
    assert_eq!(digits, [1, 2, 3, 4, 7, 7]);
}

#[test]
fn a_vector_page_is_drawn_and_proven_and_its_text_agrees() {
    let pages = pages(&puzzle(&[]));
    let page = pages[0].as_ref().expect("a page");
    assert_eq!((page.luma.dimensions(), page.damage.len()), ((1653, 2339), 0), "A4 at 200 pixels an inch");
    let expected = PUZZLE.chars().filter(char::is_ascii_digit).count();
    assert_eq!(page.digits.len(), expected);
    let reading = lift(&pages[0]);
    let grid = &reading.grids[0].reading;
    assert_eq!(
        (grid.verdict, grid.givens.as_ref().map(ToString::to_string).as_deref()),
        (Verdict::Proven, Some(PUZZLE)),
        "{:?}",
        grid.flags
    );
    // Each digit of the text lies in the middle of a cell that shows it.
    for digit in &page.digits {
        let corner = reading.grids[0].lattice.corners()[0];
        let pitch = reading.grids[0].lattice.pitch();
        let (column, row) = ((digit.x - corner.x) / pitch, (digit.y - corner.y) / pitch);
        assert!((column.fract() - 0.5).abs() < 0.2 && (row.fract() - 0.5).abs() < 0.2, "{column} {row}");
        let shown = PUZZLE.as_bytes()[row as usize * 9 + column as usize];
        assert_eq!(shown, b'0' + digit.digit);
    }
}

#[test]
fn a_scan_comes_at_its_own_resolution() {
    let direct = decode::open(&sample("clean.jpg"), &options()).expect("a picture").next().expect("a page").expect("decoded");
    for resolution in [96.0, 300.0] {
        let pages = pages(&scan("clean.jpg", resolution));
        let page = pages[0].as_ref().expect("a page");
        assert_eq!((page.luma.dimensions(), page.digits.len()), (direct.luma.dimensions(), 0), "{resolution}");
        let apart = page.luma.iter().zip(direct.luma.iter()).map(|(a, b)| u64::from(a.abs_diff(*b))).sum::<u64>() as f64;
        let mean = apart / page.luma.len() as f64;
        assert!(mean < 1.0, "{mean} grey levels apart at {resolution}");
        assert_eq!(lift(&pages[0]).grids[0].reading.verdict, Verdict::Proven);
    }
}

#[test]
fn text_that_differs_from_the_picture_makes_doubt() {
    // The first given is drawn as 9, and its text says 5.
    let reading = lift(&pages(&puzzle(&[(0, '5')]))[0]);
    let grid = &reading.grids[0].reading;
    assert_eq!(grid.verdict, Verdict::Doubtful);
    let flags: Vec<_> = grid.flags.iter().map(|flag| (flag.cell.to_string(), flag.reason, flag.suggest.to_string())).collect();
    assert_eq!(flags, [("r1c1".to_owned(), Reason::TextDiffers, "5".to_owned())]);
    assert!(grid.confidence <= 0.5);
    // What isn't a digit is no witness, but where the other givens are text, one without is odd.
    let reading = lift(&pages(&puzzle(&[(0, 'n')]))[0]);
    assert_eq!(reading.grids[0].reading.flags.len(), 1, "{:?}", reading.grids[0].reading.flags);
    assert_eq!(reading.grids[0].reading.flags[0].suggest.to_string(), ".");
}

#[test]
fn invisible_text_over_a_scan_is_no_witness() {
    let jpeg = sample("clean.jpg");
    let mut pdf = PdfWriter::new();
    let image = pdf.add_stream(
        "/Type /XObject /Subtype /Image /Width 1241 /Height 1458 /ColorSpace /DeviceRGB /BitsPerComponent 8 /Filter /DCTDecode",
        &jpeg,
    );
    let resources = format!("/XObject << /Scan {image} 0 R >> /Font << /F << /Type /Font /Subtype /Type1 /BaseFont /Helvetica >> >>");
    let content = "q 595 0 0 700 0 0 cm /Scan Do Q BT 3 Tr /F 20 Tf 100 560 Td (1 2 3 4 5 6 7 8 9) Tj ET";
    pdf.add_page((595.0, 700.0), &resources, content.as_bytes());
    let pages = pages(&pdf.finish());
    assert!(pages[0].as_ref().expect("a page").digits.is_empty());
    assert_eq!(lift(&pages[0]).grids[0].reading.verdict, Verdict::Proven);
}

#[test]
fn pages_come_by_number_and_in_order() {
    let mut pdf = PdfWriter::new();
    let jpeg = sample("several.jpg");
    pdf.add_puzzle(PUZZLE, &[]);
    pdf.add_scan(&jpeg, (1200, 1600), 150.0);
    pdf.add_page((200.0, 100.0), "", b"");
    let bytes = pdf.finish();
    let pages = decode::open(&bytes, &options()).expect("a PDF").only(&"2-".parse().expect("a range")).expect("pages");
    assert_eq!(pages.numbers(), [2, 3]);
    let decoded: Vec<_> = pages.map(|page| page.expect("a page")).collect();
    assert_eq!(decoded.iter().map(|page| page.number).collect::<Vec<_>>(), [2, 3]);
    assert!(decoded[1].luma.pixels().all(|pixel| pixel.0[0] == 255), "an empty page is white");
    let missing = decode::open(&bytes, &options()).expect("a PDF").only(&"9".parse().expect("a number"));
    assert_eq!(missing.err(), Some(DecodeError::NoSuchPage { count: 3 }));
}

#[test]
fn a_cut_file_is_never_taken_for_whole() {
    for whole in [puzzle(&[]), scan("clean.jpg", 150.0)] {
        assert_eq!(pages(&whole)[0].as_ref().expect("a page").damage, []);
        let step = whole.len() / 23;
        for end in (1..whole.len() - 8).step_by(step).chain([whole.len() - 8]) {
            for page in pages(&whole[..end]) {
                assert!(page.is_err() || page.as_ref().is_ok_and(|page| !page.damage.is_empty()), "cut to {end} of {}", whole.len());
            }
        }
    }
}

#[test]
fn damage_within_is_told() {
    // A cut JPEG picture in a PDF that is whole otherwise.
    let jpeg = sample("clean.jpg");
    let mut pdf = PdfWriter::new();
    pdf.add_scan(&jpeg[..jpeg.len() * 2 / 3], (1241, 1458), 150.0);
    assert_eq!(pages(&pdf.finish())[0].as_ref().expect("a page").damage, [Damage::CutShort]);

    // One byte of the packed drawing changed, in turn.
    let whole = puzzle(&[]);
    let start = whole.windows(8).position(|window| window == b"\nstream\n").expect("a stream") + 8;
    let end = whole.windows(11).position(|window| window == b"\nendstream\n").expect("its end");
    for at in (start..end).step_by(97) {
        let mut bytes = whole.clone();
        bytes[at] ^= 0x10;
        let page = &pages(&bytes)[0];
        assert!(page.as_ref().map_or(true, |page| !page.damage.is_empty()), "byte {at}");
    }

    // A picture that can't be decoded at all.
    let mut pdf = PdfWriter::new();
    let entries = "/Type /XObject /Subtype /Image /Width 9 /Height 9 /ColorSpace /DeviceGray /BitsPerComponent 8 /Filter /JPXDecode";
    let image = pdf.add_stream(entries, b"no picture");
    pdf.add_page((90.0, 90.0), &format!("/XObject << /X {image} 0 R >>"), b"90 0 0 90 0 0 cm /X Do");
    assert_eq!(pages(&pdf.finish())[0].as_ref().expect("a page").damage, [Damage::Incomplete]);
}

#[test]
fn a_locked_file_says_so() {
    let mut pdf = PdfWriter::new();
    pdf.add_puzzle(PUZZLE, &[]);
    let word = "00112233445566778899aabbccddeeff".repeat(2);
    pdf.trailer = format!("/Encrypt << /Filter /Standard /V 1 /R 2 /O <{word}> /U <{word}> /P -4 >> /ID [<{word}> <{word}>]");
    let pages = pages(&pdf.finish());
    assert_eq!(pages[0].as_ref().err(), Some(&DecodeError::Locked));
    assert!(DecodeError::Locked.to_string().contains("without a password"));
}

/// Files that ask for more than there is: an error or a bounded picture, soon, and never a panic.
#[test]
fn hostile_files_stay_within_limits() {
    let forms = |count: usize, each: usize| {
        let mut pdf = PdfWriter::new();
        // Each form draws the next one some times over; the last draws itself.
        for number in 1..=count {
            let next = 2 + (number + 1).min(count);
            let content = "/N Do ".repeat(each);
            let entries = format!("/Type /XObject /Subtype /Form /BBox [0 0 9 9] /Resources << /XObject << /N {next} 0 R >> >>");
            assert_eq!(pdf.add_packed(&entries, content.as_bytes()), 2 + number);
        }
        pdf.add_page((200.0, 200.0), "/XObject << /N 3 0 R >>", b"/N Do");
        pdf.finish()
    };
    let page = |size: (f64, f64), content: &[u8]| {
        let mut pdf = PdfWriter::new();
        pdf.add_page(size, "", content);
        pdf.finish()
    };
    let huge_picture = {
        let mut pdf = PdfWriter::new();
        let entries = "/Type /XObject /Subtype /Image /Width 60000 /Height 60000 /ColorSpace /DeviceGray /BitsPerComponent 8";
        let image = pdf.add_packed(entries, &[0; 1000]);
        pdf.add_page((100.0, 100.0), &format!("/XObject << /X {image} 0 R >>"), b"100 0 0 100 0 0 cm /X Do");
        pdf.finish()
    };
    let twice = {
        let mut pdf = PdfWriter::new();
        let inner = packed(&packed(&vec![b' '; 1 << 24]));
        let image = pdf.add_stream("/Type /XObject /Subtype /Form /BBox [0 0 1 1] /Filter [/FlateDecode /FlateDecode]", &inner);
        pdf.add_page((100.0, 100.0), &format!("/XObject << /X {image} 0 R >>"), b"/X Do");
        pdf.finish()
    };
    let cases: [(&str, Vec<u8>, Option<&str>); 11] = [
        ("a form that draws itself", forms(1, 1), None),
        ("a thousand forms in each other", forms(1000, 1), None),
        ("forms that multiply", forms(40, 20), Some("millions of things")),
        ("a page miles long", page((1e9, 1e9), b"0 0 9 9 re f"), None),
        ("a page without height", page((100.0, 0.0), b""), None),
        ("a page of odd numbers", page((1e38, 1e-38), b""), None),
        ("a page that unpacks to no end", page((100.0, 100.0), &vec![b' '; 600 << 20]), Some("unpack to hundreds of megabytes")),
        ("many states saved", page((100.0, 100.0), &b"q ".repeat(200_000)), None),
        ("brackets within brackets", page((100.0, 100.0), &b"[".repeat(300_000)), None),
        ("a picture of billions of pixels", huge_picture, Some("limit")),
        ("data packed twice", twice, Some("packed twice")),
    ];
    for (name, bytes, message) in cases {
        let start = std::time::Instant::now();
        let pages = pages(&bytes);
        match (&pages[0], message) {
            (Ok(page), None) => assert!(page.luma.len() <= 25_000_000, "{name}: {:?}", page.luma.dimensions()),
            (Err(_), None) => {}
            (Err(error), Some(message)) => assert!(error.to_string().contains(message), "{name}: {error}"),
            (Ok(_), Some(_)) => panic!("{name} was drawn"),
        }
        assert!(start.elapsed().as_secs() < 20, "{name} took {:?}", start.elapsed());
    }
}

#[cfg(target_os = "linux")]
#[test]
fn memory_does_not_grow_with_the_pages() {
    /// The most memory that this process ever held, in kilobytes.
    fn most_memory() -> u64 {
        let status = fs::read_to_string("/proc/self/status").expect("Linux");
        let line = status.lines().find(|line| line.starts_with("VmHWM:")).expect("a line");
        line.split_whitespace().nth(1).and_then(|number| number.parse().ok()).expect("a number")
    }
    let jpeg = sample("clean.jpg");
    let mut pdf = PdfWriter::new();
    for _ in 0..30 {
        pdf.add_puzzle(PUZZLE, &[]);
        pdf.add_scan(&jpeg, (1241, 1458), 150.0);
    }
    let mut pages = decode::open(&pdf.finish(), &options()).expect("a PDF");
    assert_eq!(pages.by_ref().take(20).filter(Result::is_ok).count(), 20);
    let before = most_memory();
    assert_eq!(pages.filter(Result::is_ok).count(), 40);
    // The kernel counts a little inexactly: the second may be less by some hundred kB.
    let grown = most_memory().saturating_sub(before);
    // Other tests of this file run meanwhile: one page drawn takes 30 MB.
    assert!(grown < 150_000, "{grown} kB more for 40 pages");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]
    #[test]
    fn changed_bytes_never_panic(which in 0..3_usize, changes in prop::collection::vec((any::<usize>(), any::<u8>()), 1..12), end in any::<usize>()) {
        static FILES: LazyLock<[Vec<u8>; 3]> = LazyLock::new(|| [puzzle(&[(0, '5')]), scan("clean.jpg", 300.0), bare()]);
        let mut bytes = FILES[which].clone();
        for (place, value) in changes {
            let length = bytes.len();
            bytes[place % length] = value;
        }
        let keep = end % (2 * bytes.len());
        bytes.truncate(keep.max(1));
        let options = Options { limit_pixels: 300_000, colour: true };
        if let Ok(pages) = decode::open(&bytes, &options) {
            pages.take(3).for_each(drop);
        }
    }
}
