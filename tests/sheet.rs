//! `gridlift sheet` as a whole: what it writes, held against general tools, and its exit codes.

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use roxmltree::Document;
use tempfile::TempDir;

/// Puzzles of the page generator, each with one solution.
fn lines(count: usize) -> String {
    let text = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("scripts/pages/puzzles.txt")).expect("the puzzles");
    let puzzles = text.lines().filter(|line| !line.starts_with('#')).filter_map(|line| line.split(' ').next());
    puzzles.take(count).map(|line| format!("{line}\n")).collect()
}

/// A folder with `puzzles.txt` in it.
fn folder(count: usize) -> TempDir {
    let folder = TempDir::new().expect("a temporary folder");
    fs::write(folder.path().join("puzzles.txt"), lines(count)).expect("room for a file");
    folder
}

/// Exit code and talk of `gridlift sheet ARGUMENTS`.
fn sheet(folder: &Path, arguments: &[&str]) -> (i32, String) {
    let mut call = Command::new(env!("CARGO_BIN_EXE_gridlift"));
    let output = call.arg("sheet").args(arguments).current_dir(folder).stdin(Stdio::null()).output().expect("the program runs");
    assert!(output.stdout.is_empty(), "data goes to the file");
    (output.status.code().expect("an exit code"), String::from_utf8(output.stderr).expect("UTF-8"))
}

/// What a general tool from Debian says; `None`, said so, where it isn't installed (in CI that is a failure).
fn tool(name: &str, arguments: &[&str], folder: &Path) -> Option<String> {
    match Command::new(name).args(arguments).current_dir(folder).output() {
        Ok(output) => {
            assert!(output.status.success(), "{name} {arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
            Some(String::from_utf8_lossy(&output.stdout).into_owned())
        }
        Err(_) if std::env::var("CI").as_deref() == Ok("true") => panic!("{name} is needed: apt-get install qpdf poppler-utils"),
        Err(_) => {
            println!("skipped: {name} isn't installed (apt-get install qpdf poppler-utils)");
            None
        }
    }
}

#[test]
fn a_pdf_is_sound_and_its_digits_can_be_selected() {
    let folder = folder(6);
    let arguments = ["puzzles.txt", "-o", "six.pdf", "--per-page", "2", "--title", "Week 7", "--link", "https://example.org/7"];
    assert_eq!(sheet(folder.path(), &arguments), (0, "six.pdf: 6 puzzles, 4 pages\n".into()));
    if let Some(said) = tool("qpdf", &["--check", "six.pdf"], folder.path()) {
        assert!(said.contains("No syntax or stream encoding errors"), "{said}");
    }
    let Some(text) = tool("pdftotext", &["-raw", "six.pdf", "-"], folder.path()) else { return };
    let found: Vec<&str> = text.split_whitespace().collect();
    let all: String = found.concat();
    for line in lines(6).lines() {
        let digits: String = line.chars().filter(char::is_ascii_digit).collect();
        assert!(all.contains(&digits), "{line} isn't in {text}");
    }
    for word in ["Week", "https://example.org/7", "Solutions"] {
        assert!(found.contains(&word), "{word} isn't in {text}");
    }
    let info = tool("pdfinfo", &["six.pdf"], folder.path()).expect("it comes with pdftotext");
    assert!(info.contains("Tagged:          yes") && info.contains("Title:           Week 7"), "{info}");
    let told = tool("pdfinfo", &["-struct", "six.pdf"], folder.path()).expect("it comes with pdftotext");
    assert_eq!(told.matches("Figure").count(), 6 + 6 + 4, "each grid and each code is a figure: {told}");
    let fonts = tool("pdffonts", &["six.pdf"], folder.path()).expect("it comes with pdftotext");
    assert!(fonts.lines().skip(2).all(|line| line.contains("yes yes yes")), "embedded, subset, with its characters: {fonts}");
}

#[test]
fn a_hundred_puzzles_take_less_than_a_second_and_little_room() {
    let folder = folder(100);
    let start = Instant::now();
    let (exit, talk) = sheet(folder.path(), &["puzzles.txt", "-o", "hundred.pdf", "--per-page", "4", "--title", "A hundred"]);
    let spent = start.elapsed();
    assert_eq!((exit, talk.as_str()), (0, "hundred.pdf: 100 puzzles, 34 pages\n"));
    let size = fs::metadata(folder.path().join("hundred.pdf")).expect("a file").len();
    println!("100 puzzles with solutions: {} ms, {} bytes a page", spent.as_millis(), size / 34);
    assert!(size / 34 < 20_000, "{size} bytes");
    // The target is a second; a busy machine gets some grace.
    assert!(spent < Duration::from_secs(3), "{spent:?}");
}

#[test]
fn the_smallest_pages_stay_small() {
    let folder = folder(1);
    let much = ["--title", "The quick brown fox", "--link", "https://example.org/orchard-hours/42", "--notes", "--solutions", "none"];
    for more in [&much[5..], &much[..]] {
        let (exit, talk) = sheet(folder.path(), &[&["puzzles.txt", "-o", "one.pdf"], more].concat());
        assert_eq!((exit, talk.as_str()), (0, "one.pdf: 1 puzzle, 1 page\n"));
        let size = fs::metadata(folder.path().join("one.pdf")).expect("a file").len();
        assert!(size < 20_000, "{more:?}: {size} bytes");
    }
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    let folder = folder(8);
    for (first, second) in [("a.pdf", "b.pdf"), ("a.svg", "b.svg"), ("a.png", "b.png")] {
        for out in [first, second] {
            let (exit, talk) = sheet(folder.path(), &["puzzles.txt", "-o", out, "--per-page", "4", "--booklet"]);
            assert_eq!(exit, 0, "{talk}");
        }
        let written = |stem: &str| -> Vec<Vec<u8>> {
            let mut paths: Vec<_> = fs::read_dir(folder.path()).expect("a folder").map(|file| file.expect("a file").path()).collect();
            paths.sort();
            let named = |path: &Path| path.file_name().is_some_and(|name| name.to_string_lossy().starts_with(&stem[..1]));
            let ending = |path: &Path| path.extension() == Path::new(stem).extension();
            paths.iter().filter(|path| named(path) && ending(path)).map(|path| fs::read(path).expect("a file")).collect()
        };
        let (first, second) = (written(first), written(second));
        assert!(!first.is_empty() && first == second, "{} files", first.len());
    }
}

#[test]
fn an_svg_is_xml_that_tells_each_grid() {
    let folder = folder(2);
    let title = "Ampersands & <angles> \"quoted\"";
    let arguments = ["puzzles.txt", "-o", "two.svg", "--title", title, "--link", "https://example.org/?a=1&b=2"];
    assert_eq!(sheet(folder.path(), &arguments), (0, "two.svg: 2 puzzles, 3 pages\n".into()));
    for (number, line) in (1..).zip(lines(2).lines()) {
        let text = fs::read_to_string(folder.path().join(format!("two-{number}.svg"))).expect("a file");
        let document = Document::parse(&text).expect("XML");
        let root = document.root_element();
        let of = |name: &str| root.children().find(|node| node.has_tag_name(name)).and_then(|node| node.text()).unwrap_or_default();
        assert_eq!(of("title"), format!("{title}, page {number} of 3"));
        let told = of("desc");
        for (row, digits) in (1..).zip(line.as_bytes().chunks(9)) {
            let said = told.split(&format!("Row {row}: ")).nth(1).and_then(|rest| rest.split('.').next()).expect("each row is told");
            assert_eq!(said.replace("blank", ".").replace([' ', ','], "").as_bytes(), digits);
        }
        let images: Vec<_> = root.descendants().filter(|node| node.attribute("role") == Some("img")).collect();
        assert!(images.iter().any(|node| node.children().any(|child| child.has_tag_name("desc"))), "a figure has its description");
        let link = root.descendants().find(|node| node.has_tag_name("a")).expect("the address");
        assert_eq!(link.attribute("href"), Some("https://example.org/?a=1&b=2"));
    }
}

#[test]
fn a_png_says_how_large_it_is_printed() {
    let folder = folder(1);
    assert_eq!(sheet(folder.path(), &["puzzles.txt", "-o", "one.png", "--solutions", "none", "--paper", "letter"]).0, 0);
    let bytes = fs::read(folder.path().join("one.png")).expect("a file");
    let picture = image::load_from_memory(&bytes).expect("a PNG file");
    assert_eq!((picture.width(), picture.height()), (2550, 3300));
    // 300 dots an inch are 11,811 a metre.
    let chunk = [b"pHYs".as_slice(), &11_811_u32.to_be_bytes(), &11_811_u32.to_be_bytes(), &[1]].concat();
    assert!(bytes.windows(chunk.len()).any(|window| window == chunk));
}

#[test]
fn the_source_and_its_rights_stand_on_every_page() {
    let folder = folder(1);
    let page = |verdict: &str, label: &str, line: &str| {
        format!(
            r#"{{"schema": "gridlift/page/1", "source": "p.jpg", "page": 1, "sha256": null, "width": 9, "height": 9,
            "made_by": {{"gridlift": "0", "weights": "", "thresholds": ""}}, "error": null,
            "book": {{"title": "Orchard Hours", "publisher": "Pear Tree Press", "year": 2026, "note": null, "rights": "All rights reserved."}},
            "grids": [{{"n": 1, "corners": [[0, 0], [9, 0], [9, 9], [0, 9]], "turn": 0, "label": "{label}", "label_box": null, "givens": "{line}",
            "entries": null, "verdict": "{verdict}", "confidence": 0.5, "settled_by": null, "solutions": 1, "solution": null,
            "id": null, "second": null, "printed_solution_agrees": null}}]}}"#
        )
    };
    let lines = lines(3);
    let [one, two, three] = [0, 1, 2].map(|index| lines.lines().nth(index).expect("a line"));
    let text = [page("proven", "42", one), page("doubtful", "43", two), page("mended", "44", three)].join("\n");
    fs::write(folder.path().join("pages.json"), text).expect("room for a file");
    let (exit, talk) = sheet(folder.path(), &["pages.json", "-o", "trusted.pdf"]);
    assert_eq!(exit, 1, "{talk}");
    for said in ["grid \"43\": doubtful", "grid \"44\": mended", "--accept-mended", "trusted.pdf: 1 puzzle, 2 pages"] {
        assert!(talk.contains(said), "{said} isn't in {talk}");
    }
    assert!(sheet(folder.path(), &["pages.json", "-o", "mended.pdf", "--accept-mended"]).1.contains("2 puzzles, 3 pages"));
    let Some(printed) = tool("pdftotext", &["trusted.pdf", "-"], folder.path()) else { return };
    assert_eq!(printed.matches("Orchard Hours, Pear Tree Press, 2026. All rights reserved").count(), 2, "{printed}");
    assert_eq!(printed.lines().filter(|line| *line == "42").count(), 2, "{printed}");
}

#[test]
fn wrong_calls_say_what_to_do() {
    let folder = folder(1);
    fs::write(folder.path().join("two.txt"), format!("{}{}\n", lines(1), ".".repeat(81))).expect("room for a file");
    let cases: [(&[&str], i32, &str); 8] = [
        (&["puzzles.txt", "-o", "sheet.doc"], 2, "name a file that ends in .pdf, .svg or .png"),
        (&["puzzles.txt", "-o", "sheet.pdf", "--per-page", "3"], 2, "1, 2, 4 or 6 stand on a page"),
        (&["puzzles.txt", "-o", "sheet.pdf", "--paper", "a3"], 2, "the paper is a4 or letter"),
        (&["puzzles.txt", "-o", "sheet.pdf", "--link", "example.org"], 2, "such as https://example.org/week7"),
        (&["puzzles.txt", "-o", "sheet.pdf", "--large-print", "--per-page", "6"], 2, "take fewer to a page"),
        (&["missing.txt", "-o", "sheet.pdf"], 3, "there is no puzzle to print"),
        (&["two.txt", "-o", "most.pdf"], 1, "2 of 2: more than one solution, so it isn't printed"),
        (&["puzzles.txt"], 2, "--out <FILE>"),
    ];
    for (arguments, expected, message) in cases {
        let (exit, talk) = sheet(folder.path(), arguments);
        assert!(exit == expected && talk.contains(message), "{arguments:?}: {exit}, {talk}");
        assert!(!folder.path().join("sheet.pdf").exists(), "{arguments:?}");
    }
    assert!(folder.path().join("most.pdf").exists());
}

#[test]
fn characters_without_a_glyph_are_told() {
    let folder = folder(1);
    let (exit, talk) = sheet(folder.path(), &["puzzles.txt", "-o", "sheet.pdf", "--title", "Woche 7 — 数独"]);
    assert_eq!(exit, 0);
    assert!(talk.contains("no '数', '独'"), "{talk}");
}
