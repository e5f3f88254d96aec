//! Files of many pages, from outside: which pages come, in which order, under which names, and what is said of
//! those that can't be read.

use std::fs;
use std::io::Cursor;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use gridlift::decode::{self, Options};
use image::GrayImage;
use serde_json::Value;
use tempfile::TempDir;
use tiff::encoder::colortype::{Gray8, RGB8};
use tiff::encoder::{Compression, TiffEncoder};
use tiff::tags::Tag;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// A sample page as it is decoded, and its first grid's givens.
fn sample(name: &str) -> (GrayImage, String) {
    let bytes = fs::read(root().join("samples").join(name)).expect("a sample");
    let page = decode::open(&bytes, &Options::default()).expect("a picture").next().expect("a page").expect("decoded");
    let truth = fs::read_to_string(root().join("samples/truth.jsonl")).expect("the truth");
    let lines = truth.lines().map(|line| serde_json::from_str::<Value>(line).expect("JSON"));
    let page_truth = lines.into_iter().find(|line| line["photo"] == name).expect("the sample's truth");
    let givens = page_truth["grids"][0]["givens"].as_str().expect("givens").to_owned();
    (page.luma, givens)
}

/// What `gridlift lift` says of some arguments: exit code, pages and talk.
fn lift(folder: &Path, arguments: &[&str], input: Option<PathBuf>) -> (i32, Vec<Value>, String) {
    let mut call = Command::new(env!("CARGO_BIN_EXE_gridlift"));
    call.arg("lift").args(arguments).current_dir(folder);
    call.stdin(input.map_or(Stdio::null(), |path| fs::File::open(path).expect("input").into()));
    let done = call.output().expect("the program runs");
    let text = String::from_utf8(done.stdout).expect("JSON is UTF-8");
    let pages = text.lines().map(|line| serde_json::from_str(line).expect("JSON")).collect();
    (done.status.code().expect("an exit code"), pages, String::from_utf8_lossy(&done.stderr).into_owned())
}

/// The folder with one file in it.
fn folder(name: &str, bytes: &[u8]) -> TempDir {
    let folder = TempDir::new().expect("a folder");
    fs::write(folder.path().join(name), bytes).expect("room");
    folder
}

/// A TIFF of three pages (grey, packed grey, colour) and a thumbnail that is none.
fn three_pages(pages: [&GrayImage; 3]) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    let mut file = TiffEncoder::new(&mut bytes).expect("a file");
    let (width, height) = pages[0].dimensions();
    file.write_image::<Gray8>(width, height, pages[0]).expect("a page");
    let mut thumbnail = file.new_image::<Gray8>(2, 2).expect("a picture");
    thumbnail.encoder().write_tag(Tag::NewSubfileType, 1_u32).expect("a tag");
    thumbnail.write_data(&[0, 1, 2, 3]).expect("a thumbnail");
    let mut file = file.with_compression(Compression::Lzw);
    let (width, height) = pages[1].dimensions();
    file.write_image::<Gray8>(width, height, pages[1]).expect("a page");
    let (width, height) = pages[2].dimensions();
    let colours: Vec<u8> = pages[2].as_raw().iter().flat_map(|&grey| [grey; 3]).collect();
    file.write_image::<RGB8>(width, height, &colours).expect("a page");
    bytes.into_inner()
}

#[test]
fn every_page_of_a_tiff_is_lifted_in_order() {
    let (clean, clean_givens) = sample("clean.jpg");
    let (misprint, misprint_givens) = sample("misprint.jpg");
    let blank = GrayImage::from_pixel(40, 30, image::Luma([220]));
    let place = folder("book.tiff", &three_pages([&clean, &blank, &misprint]));
    let numbers = |pages: &[Value]| pages.iter().map(|page| page["page"].as_u64().expect("a number")).collect::<Vec<_>>();

    for jobs in ["1", "3"] {
        let (exit, pages, talk) = lift(place.path(), &["book.tiff", "--jobs", jobs], None);
        assert_eq!((exit, numbers(&pages)), (1, vec![1, 2, 3]), "{talk}");
        assert_eq!((&pages[0]["grids"][0]["givens"], &pages[0]["grids"][0]["verdict"]), (&clean_givens.clone().into(), &"proven".into()));
        assert_eq!((&pages[1]["width"], &pages[1]["grids"]), (&40.into(), &Value::Array(Vec::new())));
        assert_eq!(pages[2]["grids"][0]["givens"], misprint_givens.clone());
        assert!(pages.iter().all(|page| page["sha256"] == pages[0]["sha256"]), "one file has one sum");
        assert!(talk.contains("book.tiff, page 3: grid \"63\": misprinted"), "{talk}");
    }

    let (_, pages, talk) = lift(place.path(), &["-", "--pages", "2-"], Some(place.path().join("book.tiff")));
    assert_eq!(numbers(&pages), [2, 3], "{talk}");
    let (exit, pages, talk) = lift(place.path(), &["book.tiff", "--pages", "4-9"], None);
    assert_eq!((exit, &pages[0]["error"]["kind"]), (3, &"no such page".into()));
    assert!(talk.contains("the file has 3"), "{talk}");
    let (exit, _, talk) = lift(place.path(), &["book.tiff", "--pages", "9-4"], None);
    assert!(exit == 2 && talk.contains("12-40"), "{talk}");

    let (_, pages, _) = lift(place.path(), &["book.tiff", "--out", "out", "--picture", "seen", "--pages", "1,3"], None);
    assert!(pages.is_empty());
    for path in ["out/book.json", "out/book.p003.json", "seen/book.jpg", "seen/book.p003.jpg"] {
        assert!(place.path().join(path).is_file(), "{path}");
    }
    assert!(!place.path().join("out/book.p002.json").exists());
    fs::copy(place.path().join("book.tiff"), place.path().join("book.p003.tiff")).expect("a copy");
    let (exit, _, talk) = lift(place.path(), &[".", "--out", "other"], None);
    assert!(exit == 2 && talk.contains("could both write other/book.p003.json"), "{talk}");
}

#[test]
fn each_page_of_a_tiff_has_its_own_error() {
    let (exit, pages, talk) = lift(&root().join("tests/data"), &["four_ways.tiff"], None);
    assert_eq!((exit, pages.len()), (3, 4), "{talk}");
    let messages: Vec<_> = pages.iter().map(|page| page["error"]["message"].as_str().unwrap_or_default()).collect();
    assert!(messages[0].is_empty() && messages[3].is_empty(), "{messages:?}");
    assert!(messages[1].contains("Group 3") && messages[2].contains("palette"), "{messages:?}");
    // The pages were made from one picture: in one bit, and in colour.
    for number in [0, 3] {
        assert_eq!((&pages[number]["width"], &pages[number]["height"]), (&61.into(), &47.into()));
    }
}

/// The only page of a file isn't read, and it is said what it is and what to do.
fn says_what_to_do(name: &str, bytes: &[u8], what: &str) {
    let place = folder(name, bytes);
    let (exit, pages, talk) = lift(place.path(), &[name], None);
    assert_eq!((exit, pages.len(), &pages[0]["error"]["kind"]), (3, 1, &"not supported".into()), "{talk}");
    let message = pages[0]["error"]["message"].as_str().expect("a message");
    assert!(
        message.contains(what) && message.contains("save the page as JPEG or PNG") && message.contains("magick FILE page.png"),
        "{message}"
    );
    assert_eq!(pages[0]["grids"], Value::Array(Vec::new()));
    assert!(talk.starts_with(&format!("{name}: ")) && talk.contains(what), "{talk}");
}

/// A grey TIFF page that gives itself out for another kind by one tag.
fn tiff_with(tag: Tag, value: u16) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    let mut file = TiffEncoder::new(&mut bytes).expect("a file");
    let mut page = file.new_image::<Gray8>(40, 30).expect("a page");
    page.encoder().write_tag(tag, value).expect("a tag");
    page.write_data(&[200; 1200]).expect("a page");
    bytes.into_inner()
}

#[test]
fn a_palette_tiff_says_what_to_do() {
    says_what_to_do("palette.tif", &tiff_with(Tag::PhotometricInterpretation, 3), "with a colour palette");
}

#[test]
fn a_group_3_fax_in_one_dimension_says_what_to_do() {
    says_what_to_do("fax.tif", &tiff_with(Tag::Compression, 2), "in Group 3 fax coding");
}

#[test]
fn a_group_3_fax_says_what_to_do() {
    says_what_to_do("fax.tif", &tiff_with(Tag::Compression, 3), "in Group 3 fax coding");
}

#[test]
fn a_tiff_of_brightness_and_colour_differences_says_what_to_do() {
    says_what_to_do("scan.tif", &tiff_with(Tag::PhotometricInterpretation, 6), "YCbCr");
}

#[cfg(not(feature = "heic"))]
#[test]
fn heic_without_its_feature_says_what_to_do() {
    says_what_to_do("phone.heic", b"\0\0\0\x18ftypheic\0\0\0\0mif1heic", "build with --features heic");
}

#[test]
fn one_bit_pages_in_group_4_coding_are_those_of_the_picture() {
    let read = |name: &str| fs::read(root().join("tests/data").join(name)).expect("a file");
    let page = |bytes: &[u8]| decode::open(bytes, &Options::default()).expect("a picture").next().expect("a page").expect("decoded").luma;
    assert_eq!(page(&read("four_ways.tiff")), page(&read("one_bit.png")));
}

#[test]
fn a_tiff_whose_list_of_pages_breaks_off_says_so() {
    let dot = GrayImage::from_pixel(9, 9, image::Luma([7]));
    let mut bytes = three_pages([&dot, &dot, &dot]);
    let whole = decode::open(&bytes, &Options::default()).expect("pages").count();
    assert_eq!(whole, 3);
    // The end of the last directory, where the file says whether one more follows, is cut.
    let at = u32::from_le_bytes(bytes[4..8].try_into().expect("four bytes")) as usize;
    let count = u16::from_le_bytes([bytes[at], bytes[at + 1]]) as usize;
    bytes[at + 2 + 12 * count..][..4].copy_from_slice(&u32::MAX.to_le_bytes());
    let pages: Vec<_> = decode::open(&bytes, &Options::default()).expect("pages").collect();
    assert!(pages.len() == 2 && pages[0].is_ok() && pages[1].is_err(), "{pages:?}");
}
