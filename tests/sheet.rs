//! `gridlift sheet` as a whole: what it writes, held against general tools, and its exit codes.

#[path = "support/tools.rs"]
mod tools;

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use roxmltree::Document;
use tempfile::TempDir;
use tools::tool;

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

#[test]
fn a_pdf_is_sound_and_its_digits_can_be_selected() {
    let folder = folder(6);
    let arguments = ["puzzles.txt", "-o", "six.pdf", "--per-page", "2", "--title", "Week 7", "--link", "https://example.org/7"];
    assert_eq!(sheet(folder.path(), &arguments), (0, "six.pdf: 6 puzzles, 4 pages\n".into()));
    let Some(said) = tool("qpdf", &["--check", "six.pdf"], folder.path()) else { return };
    assert!(said.contains("No syntax or stream encoding errors"), "{said}");
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
    // Each grid is told in words, here without packing and compression.
    tool("qpdf", &["--qdf", "--object-streams=disable", "six.pdf", "plain.pdf"], folder.path()).expect("qpdf, as above");
    let plain = String::from_utf8_lossy(&fs::read(folder.path().join("plain.pdf")).expect("a file")).into_owned();
    for (number, line) in (1..).zip(lines(6).lines()) {
        let told = plain.split(&format!("/Alt (Puzzle {number}:")).nth(1).and_then(|rest| rest.split(')').next());
        assert_eq!(retold(told.expect("a text for each grid")), line);
    }
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
fn pages_of_every_layout_stay_small() {
    let folder = folder(24);
    fs::write(folder.path().join("one.txt"), lines(1)).expect("room for a file");
    let much =
        ["--title", "The quick brown fox", "--link", "https://example.org/orchard-hours/42", "--source", "Orchard Hours, Pear Tree Press"];
    let mut largest = (0, String::new());
    for paper in ["a4", "letter"] {
        let boards = ["1", "2", "4", "6"].map(|number| vec!["puzzles.txt", "--grid", "3", "--boards", "--per-page", number]);
        let puzzles = ["1", "2", "4", "6"].map(|number| vec!["puzzles.txt", "--per-page", number]);
        let others: [&[&str]; 10] = [
            &["one.txt", "--solutions", "none"],
            &["one.txt", "--solutions", "none", "--notes"],
            &["puzzles.txt", "--solutions", "none"],
            &["puzzles.txt", "--large-print"],
            &["puzzles.txt", "--notes", "--per-page", "2"],
            &["puzzles.txt", "--booklet"],
            &["puzzles.txt", "--booklet", "--per-page", "4", "--solutions", "upside-down"],
            &["puzzles.txt", "--grid", "3", "--boards", "--large-print"],
            &["puzzles.txt", "--grid", "3", "--boards", "--booklet"],
            &["one.txt", "--boards", "--steps", "1"],
        ];
        for layout in boards.iter().chain(&puzzles).map(Vec::as_slice).chain(others) {
            // Six boards, their sentences and a code are too much for a page of Letter.
            let more = if layout.ends_with(&["6"]) { &much[..4] } else { &much[..] };
            let arguments = [layout, more, &["--paper", paper, "-o", "out.pdf"]].concat();
            let (exit, talk) = sheet(folder.path(), &arguments);
            assert_eq!(exit, 0, "{arguments:?}: {talk}");
            let pages: u64 =
                talk.rsplit(", ").next().and_then(|end| end.split(' ').next()).and_then(|count| count.parse().ok()).expect("pages");
            let size = fs::metadata(folder.path().join("out.pdf")).expect("a file").len() / pages;
            println!("{size:6} bytes a page, {pages:3} pages: {}", arguments[..arguments.len() - 2].join(" "));
            largest = largest.max((size, arguments.join(" ")));
        }
    }
    assert!(largest.0 < 20_000, "{largest:?}");
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    let boards = ["one.txt", "--boards", "--steps", "1-4"];
    let cases: [(&str, &[&str]); 9] = [
        ("puzzles.pdf", &["puzzles.txt", "--per-page", "4", "--booklet", "--title", "Week 7", "--link", "https://example.org/7"]),
        ("puzzles.svg", &["puzzles.txt", "--per-page", "4", "--notes"]),
        ("puzzles.png", &["puzzles.txt", "--per-page", "6", "--solutions", "upside-down"]),
        ("boards.pdf", &["one.txt", "--boards", "--per-page", "4"]),
        ("boards.svg", &boards),
        ("boards.png", &boards),
        ("frames.png", &["one.txt", "--boards", "--frame", "1920x1080", "--steps", "1-2"]),
        ("taken.pdf", &["one.txt", "--boards", "--rehearsal", "take.txt"]),
        ("taken.vtt", &["one.txt", "--boards", "--rehearsal", "take.txt"]),
    ];
    // Two runs that have nothing in common but the input: folder, second, clock, tongue, number of threads.
    let write = |threads: &str, zone: &str| {
        let folder = folder(8);
        fs::write(folder.path().join("one.txt"), lines(1)).expect("room for a file");
        fs::write(folder.path().join("take.txt"), take(&lines(1))).expect("room for a file");
        for (out, arguments) in cases {
            let mut call = Command::new(env!("CARGO_BIN_EXE_gridlift"));
            call.arg("sheet").args(arguments).args(["-o", out]).current_dir(folder.path()).stdin(Stdio::null());
            let output = call.env("RAYON_NUM_THREADS", threads).env("TZ", zone).env("LANG", zone).output().expect("the program runs");
            assert!(output.status.success(), "{out}: {}", String::from_utf8_lossy(&output.stderr));
        }
        let files = fs::read_dir(folder.path()).expect("a folder").map(|file| file.expect("a file"));
        files.map(|file| (file.file_name(), fs::read(file.path()).expect("a file"))).collect::<BTreeMap<_, _>>()
    };
    let first = write("1", "UTC");
    std::thread::sleep(Duration::from_millis(1100));
    let second = write("4", "Pacific/Auckland");
    assert!(first.keys().eq(second.keys()) && first.len() > 20, "{:?}", first.keys());
    for (name, bytes) in &first {
        assert!(bytes == &second[name], "{name:?} differs");
    }
}

/// The digits of a puzzle's solution as a recording, one each three seconds, in reading order.
fn take(line: &str) -> String {
    let givens: gridlift::grid::Board = line.trim().parse().expect("a puzzle");
    let solution = gridlift::prove::prove(&givens).solution.expect("a solution");
    let open = solution.placed().filter(|(cell, _)| givens.get(*cell).is_none());
    (1..).zip(open).map(|(number, (cell, digit))| format!("{}:{:02} {cell} = {digit}\n", number / 20, number % 20 * 3)).collect()
}

#[test]
fn an_svg_is_xml_that_tells_each_grid() {
    let folder = folder(2);
    let title = "Ampersands & <angles> \"quoted\"";
    let arguments = ["puzzles.txt", "-o", "two.svg", "--title", title, "--link", "https://example.org/?a=1&b=2"];
    assert_eq!(sheet(folder.path(), &arguments), (0, "two.svg: 2 puzzles, 3 pages\n".into()));
    tool("xmllint", &["--noout", "two-1.svg", "two-2.svg", "two-3.svg"], folder.path());
    for (number, line) in (1..).zip(lines(2).lines()) {
        let text = fs::read_to_string(folder.path().join(format!("two-{number}.svg"))).expect("a file");
        let document = Document::parse(&text).expect("XML");
        let root = document.root_element();
        let of = |name: &str| root.children().find(|node| node.has_tag_name(name)).and_then(|node| node.text()).unwrap_or_default();
        assert_eq!(of("title"), format!("{title}, page {number} of 3"));
        assert_eq!(retold(of("desc")), line);
        let images: Vec<_> = root.descendants().filter(|node| node.attribute("role") == Some("img")).collect();
        let grid = images.iter().find(|node| told_by(node).starts_with("Puzzle")).expect("a figure has its description");
        // Text that can be selected stands where its outlines are, row by row.
        let texts: Vec<_> = grid.descendants().filter(|node| node.has_tag_name("text")).collect();
        let digits: String = texts.iter().filter_map(|node| node.text()).collect();
        assert_eq!(digits, line.chars().filter(char::is_ascii_digit).collect::<String>());
        let outlines = grid.descendants().filter(|node| node.has_tag_name("use")).count();
        assert_eq!(outlines, digits.len());
        let all: Vec<&str> = root.descendants().filter(|node| node.has_tag_name("text")).filter_map(|node| node.text()).collect();
        assert!(all.contains(&title) && all.contains(&"https://example.org/?a=1&b=2"), "{all:?}");
        let link = root.descendants().find(|node| node.has_tag_name("a")).expect("the address");
        assert_eq!(link.attribute("href"), Some("https://example.org/?a=1&b=2"));
    }
}

/// The line of a grid that is told row by row.
fn retold(told: &str) -> String {
    let row = |row: usize| {
        let said = told.split(&format!("Row {row}: ")).nth(1).and_then(|rest| rest.split('.').next()).expect("each row is told");
        said.replace("blank", ".").replace([' ', ','], "")
    };
    (1..=9).map(row).collect()
}

/// What a figure says of itself.
fn told_by<'a>(node: &roxmltree::Node<'a, '_>) -> &'a str {
    node.children().find(|child| child.has_tag_name("desc")).and_then(|child| child.text()).unwrap_or_default()
}

#[test]
fn pdf_and_svg_look_like_the_png_to_other_programs() {
    let folder = folder(4);
    fs::write(folder.path().join("one.txt"), lines(1)).expect("room for a file");
    let cases: [(&str, &[&str]); 3] = [
        ("puzzles", &["puzzles.txt", "--per-page", "4", "--solutions", "none", "--title", "Week 7", "--link", "https://example.org/7"]),
        ("turned", &["one.txt", "--solutions", "upside-down", "--booklet"]),
        ("boards", &["one.txt", "--boards", "--per-page", "4", "--steps", "20-23"]),
    ];
    for (name, arguments) in cases {
        for ending in ["pdf", "svg", "png"] {
            let out = format!("{name}.{ending}");
            let (exit, talk) = sheet(folder.path(), &[arguments, &["-o", &out]].concat());
            assert_eq!(exit, 0, "{talk}");
        }
        let numbered = |ending: &str| {
            let numbered = format!("{name}-1.{ending}");
            if folder.path().join(&numbered).exists() { numbered } else { format!("{name}.{ending}") }
        };
        let open = |file: &str| image::open(folder.path().join(file)).expect("a PNG file").into_luma8();
        let ours = open(&numbered("png"));
        let pdf = [format!("{name}.pdf"), format!("{name}-pdf")];
        let drawn = tool("pdftoppm", &["-r", "300", "-f", "1", "-l", "1", "-singlefile", "-png", &pdf[0], &pdf[1]], folder.path());
        let from_pdf = drawn.map(|_| open(&format!("{name}-pdf.png")));
        let (svg, wide) = (numbered("svg"), ours.width().to_string());
        let drawn = tool("rsvg-convert", &["-w", &wide, "-b", "white", "-o", "svg.png", &svg], folder.path());
        let from_svg = drawn.map(|_| open("svg.png"));
        for (kind, theirs) in [("PDF", from_pdf), ("SVG", from_svg)].into_iter().filter_map(|(kind, theirs)| Some((kind, theirs?))) {
            let off = theirs.height().abs_diff(ours.height()) + theirs.width().abs_diff(ours.width());
            assert!(off <= 2, "{name}, {kind}: {:?} and {:?}", theirs.dimensions(), ours.dimensions());
            // Averaged over squares of 16 pixels, 1.4 millimetres, so that the edges' smoothing doesn't matter.
            let (columns, rows) = (ours.width().min(theirs.width()) / 16, ours.height().min(theirs.height()) / 16);
            let mean = |picture: &image::GrayImage, x: u32, y: u32| -> f32 {
                let pixels = (0..256).map(|at| f32::from(picture.get_pixel(x * 16 + at % 16, y * 16 + at / 16).0[0]));
                pixels.sum::<f32>() / 256.0
            };
            let squares = (0..rows).flat_map(|y| (0..columns).map(move |x| (x, y)));
            let worst = squares.map(|(x, y)| (mean(&ours, x, y) - mean(&theirs, x, y)).abs()).fold(0.0, f32::max);
            println!("{name}, {kind}: squares differ by up to {worst:.0} of 255");
            assert!(worst < 40.0, "{name}, {kind}: {worst}");
        }
    }
}

#[test]
fn a_code_on_the_printed_page_leads_to_its_address() {
    let folder = folder(4);
    let long = format!("https://example.org/orchard-hours/{}", "week/".repeat(20));
    for (address, layout) in [("https://example.org/7", "1"), ("http://example.org/a?b=1&c=%20#d", "6"), (&long, "2")] {
        let arguments = ["puzzles.txt", "-o", "link.pdf", "--per-page", layout, "--title", "Week 7", "--link", address];
        let (exit, talk) = sheet(folder.path(), &arguments);
        assert_eq!(exit, 0, "{talk}");
        if tool("pdftoppm", &["-r", "300", "-f", "1", "-l", "1", "-singlefile", "-png", "link.pdf", "page"], folder.path()).is_none() {
            return;
        }
        let page = image::open(folder.path().join("page.png")).expect("a PNG file").into_luma8();
        let mut prepared = rqrr::PreparedImage::prepare_from_greyscale(page.width() as usize, page.height() as usize, |x, y| {
            page.get_pixel(x as u32, y as u32).0[0]
        });
        let codes = prepared.detect_grids();
        let read: Vec<String> = codes.iter().map(|code| code.decode().expect("a whole code").1).collect();
        assert_eq!(read, [address]);
        if let Some(said) = tool("zbarimg", &["--quiet", "--raw", "page.png"], folder.path()) {
            assert_eq!(said.trim_end(), address);
        }
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
