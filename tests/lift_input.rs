//! `gridlift lift` and what it is given: bad files, folders, lists, pipes; messages, JSON and exit codes.

use std::fs;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use image::{GrayImage, ImageFormat, Luma};
use serde_json::Value;
use tempfile::TempDir;

/// What one call gave.
struct Done {
    exit: i32,
    pages: Vec<Value>,
    talk: String,
}

fn lift_in(folder: &Path, arguments: &[&str], input: &[u8]) -> Done {
    let mut call = Command::new(env!("CARGO_BIN_EXE_gridlift"));
    call.arg("lift").args(arguments).current_dir(folder);
    call.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = call.spawn().expect("the program starts");
    // A call that fails early doesn't read its input.
    let _ = child.stdin.take().expect("a pipe").write_all(input);
    let Output { status, stdout, stderr } = child.wait_with_output().expect("the program ends");
    let stdout = String::from_utf8(stdout).expect("JSON is UTF-8");
    let pages = stdout.lines().map(|line| serde_json::from_str(line).unwrap_or_else(|_| panic!("JSON, not {line}"))).collect();
    Done { exit: status.code().expect("an exit code"), pages, talk: String::from_utf8(stderr).expect("talk is UTF-8") }
}

fn blank(width: u32, height: u32, grey: u8, format: ImageFormat) -> Vec<u8> {
    let mut bytes = std::io::Cursor::new(Vec::new());
    GrayImage::from_pixel(width, height, Luma([grey])).write_to(&mut bytes, format).expect("memory takes it");
    bytes.into_inner()
}

/// A PNG file whose header promises this size, and nothing after it.
fn png_header(width: u32, height: u32) -> Vec<u8> {
    let mut chunk = b"IHDR".to_vec();
    chunk.extend(width.to_be_bytes());
    chunk.extend(height.to_be_bytes());
    chunk.extend([8, 0, 0, 0, 0]);
    // The checksum of PNG (ISO 3309), bit by bit.
    let crc = !chunk.iter().fold(!0_u32, |crc, &byte| {
        (0..8).fold(crc ^ u32::from(byte), |crc, _| if crc & 1 == 1 { crc >> 1 ^ 0xedb8_8320 } else { crc >> 1 })
    });
    let mut file = b"\x89PNG\r\n\x1a\n\0\0\0\x0d".to_vec();
    file.extend(chunk);
    file.extend(crc.to_be_bytes());
    file.extend(b"\0\0\0\0IDAT");
    file
}

/// A folder with these files.
fn folder(files: &[(&str, &[u8])]) -> TempDir {
    let folder = TempDir::new().expect("a temporary folder");
    for (name, bytes) in files {
        let path = folder.path().join(name);
        fs::create_dir_all(path.parent().expect("it has one")).expect("a folder");
        fs::write(path, bytes).expect("a file");
    }
    folder
}

#[test]
fn each_bad_input_has_its_message_and_exit_code() {
    let jpeg = blank(400, 300, 200, ImageFormat::Jpeg);
    let png = blank(400, 300, 200, ImageFormat::Png);
    let huge = png_header(100_000, 100_000);
    let mut huge_jpeg = jpeg.clone();
    let frame = jpeg.windows(2).position(|pair| pair == [0xff, 0xc0]).expect("a frame header");
    huge_jpeg[frame + 5..frame + 9].copy_from_slice(&[0xff; 4]);
    // Name, bytes, exit code, kind of error (none where it is decoded), what is said.
    let heic = if cfg!(feature = "heic") { ("damaged", "damaged") } else { ("not supported", "build with --features heic") };
    type Case<'a> = (&'a str, &'a [u8], i32, Option<&'a str>, &'a str);
    let cases: &[Case] = &[
        ("empty.jpg", b"", 3, Some("empty"), "the file is empty"),
        ("text.jpg", b"Plums 2 pounds\nPears 3\n", 3, Some("not a picture"), "this is text"),
        ("noise.png", &[7, 1, 99, 0, 3], 3, Some("not a picture"), "not a picture of a known kind"),
        ("page.heic", b"\0\0\0\x18ftypheic\0\0\0\0mif1heic", 3, Some(heic.0), heic.1),
        ("huge.png", &huge, 3, Some("too large"), "100000 x 100000 pixels"),
        ("huge.jpg", &huge_jpeg, 3, Some("too large"), "65535 x 65535 pixels"),
        ("header only.jpg", &jpeg[..frame], 3, Some("damaged"), "nothing of it can be read"),
        ("header only.png", &png_header(10, 10), 3, Some("damaged"), "nothing of it can be read"),
        ("cut.jpg", &jpeg[..jpeg.len() - 40], 0, None, "the file ends early"),
        ("closed.jpg", &[&jpeg[..jpeg.len() - 40], b"\xff\xd9"].concat(), 0, None, "the file ends early"),
        ("cut.png", &png[..png.len() - 30], 0, None, "the file ends early"),
        ("really a png.jpg", &png, 0, None, "no 9x9 grid"),
        ("no ending", &jpeg, 0, None, "no 9x9 grid"),
        ("dot.png", &blank(1, 1, 255, ImageFormat::Png), 0, None, "no 9x9 grid"),
        ("dot.jpg", &blank(1, 1, 0, ImageFormat::Jpeg), 0, None, "no 9x9 grid"),
        ("black.png", &blank(640, 480, 0, ImageFormat::Png), 0, None, "no 9x9 grid"),
        ("sliver.png", &blank(3000, 1, 90, ImageFormat::Png), 0, None, "no 9x9 grid"),
    ];
    let mut faults = Vec::new();
    for (name, bytes, exit, kind, said) in cases {
        let place = folder(&[(name, bytes)]);
        let done = lift_in(place.path(), &[name], b"");
        let [page] = &done.pages[..] else { panic!("{name}: {} pages, {}", done.pages.len(), done.talk) };
        let got_kind = page["error"]["kind"].as_str();
        if done.exit != *exit || got_kind != *kind || !done.talk.contains(said) || !done.talk.starts_with(&format!("{name}: ")) {
            faults.push(format!("{name}: exit {}, kind {got_kind:?}, said {}", done.exit, done.talk));
        }
        assert_eq!(page["grids"], Value::Array(Vec::new()), "{name}");
        assert_eq!(page["source"], *name);
        assert_eq!(page["sha256"].as_str().map(str::len), Some(64), "{name}");
    }
    assert!(faults.is_empty(), "\n{}", faults.join("\n"));
}

#[test]
fn cut_files_are_noted_on_their_page() {
    let jpeg = blank(400, 300, 200, ImageFormat::Jpeg);
    let place = folder(&[("cut.jpg", &jpeg[..jpeg.len() - 40])]);
    let done = lift_in(place.path(), &["cut.jpg"], b"");
    assert_eq!(done.pages[0]["notes"][0]["kind"], "cut short");
    assert_eq!((&done.pages[0]["width"], &done.pages[0]["height"]), (&400.into(), &300.into()));
}

#[test]
fn odd_but_sound_files_are_decoded() {
    let data = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data");
    let done = lift_in(&data, &["."], b"");
    // Two pages of four_ways.tiff aren't read.
    assert_eq!(done.exit, 3, "{}", done.talk);
    let (read, unread): (Vec<_>, Vec<_>) = done.pages.iter().partition(|page| page["error"].is_null());
    assert_eq!((read.len(), unread.len()), (10, 2));
    for page in read {
        let kinds: Vec<_> = page["notes"].as_array().expect("a list").iter().map(|note| note["kind"].clone()).collect();
        assert_eq!(kinds, ["no grid"], "{}", page["source"]);
        assert_eq!((&page["width"], &page["height"]), (&61.into(), &47.into()), "{}", page["source"]);
    }
    for page in unread {
        assert_eq!((&page["source"], &page["error"]["kind"]), (&"./four_ways.tiff".into(), &"not supported".into()));
    }
}

#[test]
fn one_bad_file_stops_no_other_and_order_is_kept() {
    let page = blank(60, 40, 200, ImageFormat::Png);
    let files: Vec<_> = (0..30).map(|n| format!("book/p{n:02}.png")).collect();
    let all: Vec<(&str, &[u8])> =
        files.iter().map(|name| (name.as_str(), if name.ends_with("p07.png") { b"" as &[u8] } else { &page })).collect();
    let place = folder(&all);
    for jobs in ["1", "3", "64"] {
        let done = lift_in(place.path(), &["book", "gone.png", "--jobs", jobs], b"");
        assert_eq!(done.exit, 3);
        let sources: Vec<_> = done.pages.iter().map(|page| page["source"].as_str().expect("a path")).collect();
        let expected: Vec<_> = files.iter().map(String::as_str).chain(["gone.png"]).collect();
        assert_eq!(sources, expected, "with {jobs} jobs");
        let errors: Vec<_> = done.pages.iter().filter_map(|page| page["error"]["kind"].as_str()).collect();
        assert_eq!(errors, ["empty", "missing"]);
        assert!(done.talk.contains("gone.png: there is no such file"), "{}", done.talk);
        assert_eq!(done.pages[30]["sha256"], Value::Null);
    }
}

#[test]
fn folders_are_searched_for_pictures_alone() {
    let page = blank(20, 20, 200, ImageFormat::Png);
    let place = folder(&[
        ("b/2.JPG", &page),
        ("b/10.png", &page),
        ("b/notes.txt", b"pears"),
        ("b/.hidden.png", &page),
        ("b/a/1.tiff", &page),
        ("none/readme.txt", b"plums"),
    ]);
    let done = lift_in(place.path(), &["b/"], b"");
    let sources: Vec<_> = done.pages.iter().map(|page| page["source"].as_str().expect("a path")).collect();
    assert_eq!(sources, ["b/10.png", "b/2.JPG", "b/a/1.tiff"]);

    let done = lift_in(place.path(), &["none", "b/10.png"], b"");
    assert_eq!(done.exit, 3);
    assert!(done.talk.contains("none: there is no page in this folder"), "{}", done.talk);
    assert_eq!(done.pages.len(), 2, "the other page is read");
}

#[test]
fn standard_input_and_lists() {
    let page = blank(20, 20, 200, ImageFormat::Png);
    let place = folder(&[("one page.png", &page), ("more/two.png", &page), ("list", b"one page.png\r\n\nmore\n")]);
    let done = lift_in(place.path(), &["-"], &page);
    assert_eq!((done.exit, &done.pages[0]["source"]), (0, &"-".into()));
    for (list, input) in [("list", b"" as &[u8]), ("-", b"one page.png\nmore/two.png")] {
        let done = lift_in(place.path(), &["--from", list], input);
        let sources: Vec<_> = done.pages.iter().map(|page| page["source"].as_str().expect("a path")).collect();
        assert_eq!(sources, ["one page.png", "more/two.png"], "{}", done.talk);
    }
}

#[test]
fn wrong_calls_do_nothing() {
    let page = blank(20, 20, 200, ImageFormat::Png);
    let place = folder(&[("a.png", &page), ("a.jpg", &page), ("pictures/b.jpg", &page)]);
    let cases: [(&[&str], &str); 7] = [
        (&[], "name at least one page"),
        (&["-", "-"], "standard input (-) can be read only once"),
        (&["-", "--from", "-"], "standard input (-) can be read only once"),
        (&["a.png", "a.jpg", "--out", "out"], "would both write"),
        (&["pictures", "--picture", "pictures"], "would be written over"),
        (&["a.png", "--jobs", "0"], "--jobs"),
        (&["a.png", "--expect", "some"], "--expect"),
    ];
    for (arguments, said) in cases {
        let done = lift_in(place.path(), arguments, b"");
        assert_eq!(done.exit, 2, "{arguments:?}: {}", done.talk);
        assert!(done.talk.contains(said), "{arguments:?}: {}", done.talk);
        assert!(done.pages.is_empty() && !place.path().join("out").exists(), "{arguments:?}");
    }
    let done = lift_in(place.path(), &["--from", "gone"], b"");
    assert_eq!(done.exit, 3, "{}", done.talk);
    assert!(done.talk.contains("gone"), "{}", done.talk);
}

#[test]
fn files_are_written_in_the_tree_of_the_input() {
    let page = blank(20, 20, 200, ImageFormat::Png);
    let place = folder(&[("book/p1.png", &page), ("book/ch2/p2.png", b""), ("loose.png", &page)]);
    let done = lift_in(place.path(), &["book", "loose.png", "--out", "out", "--picture", "seen", "--pretty", "--timings"], b"");
    assert_eq!((done.exit, done.pages.len()), (3, 0), "{}", done.talk);
    let mut got = Vec::new();
    let mut folders = vec![place.path().join("out"), place.path().join("seen")];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).expect("a folder") {
            let path = entry.expect("an entry").path();
            if path.is_dir() { folders.push(path) } else { got.push(path.strip_prefix(place.path()).expect("below").to_owned()) }
        }
    }
    got.sort();
    let expected = ["out/ch2/p2.json", "out/loose.json", "out/p1.json", "seen/loose.jpg", "seen/p1.jpg"];
    assert_eq!(got, expected.map(Into::<std::path::PathBuf>::into));
    let text = fs::read_to_string(place.path().join("out/p1.json")).expect("a file");
    assert!(text.lines().count() > 5, "it is indented");
    let json: Value = serde_json::from_str(&text).expect("JSON");
    assert!(json["ms"]["decode"].is_number());
    assert_eq!(json["source"], "book/p1.png");
}

#[test]
fn expected_grids_are_counted() {
    let page = blank(20, 20, 200, ImageFormat::Png);
    let place = folder(&[("a.png", &page)]);
    assert_eq!(lift_in(place.path(), &["a.png", "--expect", "0"], b"").exit, 0);
    let done = lift_in(place.path(), &["a.png", "--expect", "1"], b"");
    assert_eq!(done.exit, 1);
    assert!(done.talk.contains("0 grids where 1 should be"), "{}", done.talk);
}

#[test]
fn the_schema_is_printed_as_it_is() {
    let call = Command::new(env!("CARGO_BIN_EXE_gridlift")).args(["lift", "--schema"]).output().expect("the program runs");
    assert_eq!(String::from_utf8(call.stdout).expect("text"), gridlift::export::page::SCHEMA);
    assert_eq!(call.status.code(), Some(0));
}

#[cfg(unix)]
#[test]
fn a_closed_pipe_ends_quietly() {
    let page = blank(20, 20, 200, ImageFormat::Png);
    let place = folder(&[("a.png", &page)]);
    let line = format!("'{}' lift $(yes a.png | head -2000) | head -1", env!("CARGO_BIN_EXE_gridlift"));
    let call = Command::new("sh").args(["-c", &line]).current_dir(place.path()).output().expect("sh runs");
    let talk = String::from_utf8(call.stderr).expect("text");
    assert!(!talk.contains("panic") && !talk.contains("ipe"), "{}", talk.lines().last().unwrap_or_default());
    assert_eq!(call.stdout.iter().filter(|&&byte| byte == b'\n').count(), 1);
}
