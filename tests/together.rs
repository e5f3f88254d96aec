//! `gridlift lift --together`: several shots of the same grids, from the command line, and on the photographs of puzzles that were taken often.

#[allow(dead_code, reason = "shared by several tests, each of which uses a part")]
mod photos;
mod support;

use std::fs;
use std::path::Path;
use std::process::Command;

use gridlift::decide::{Thresholds, Verdict, decide_together};
use gridlift::decode::Page;
use gridlift::grid::{Board, Cell};
use gridlift::lift::{GridReading, Lifter, PageReading};
use gridlift::prove;
use image::{GrayImage, Rgb, RgbImage};
use photos::{Photo, photos};
use rayon::prelude::*;
use serde_json::Value;
use support::thresholds;
use tempfile::TempDir;

/// Exit code, page objects and talk of one call in `folder`. Each page is checked against the schema.
fn lift(folder: &Path, arguments: &[&str]) -> (i32, Vec<Value>, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_gridlift")).arg("lift").args(arguments).current_dir(folder).output().expect("it runs");
    let lines = String::from_utf8(output.stdout).expect("UTF-8");
    let pages: Vec<Value> = lines.lines().map(|line| serde_json::from_str(line).expect("JSON")).collect();
    let schema: Value = serde_json::from_str(gridlift::export::page::SCHEMA).expect("the schema is JSON");
    let validator = jsonschema::validator_for(&schema).expect("the schema is a schema");
    for page in &pages {
        let faults: Vec<_> = validator.iter_errors(page).map(|error| format!("{}: {error}", error.instance_path())).collect();
        assert!(faults.is_empty(), "{}: {faults:?}", page["source"]);
    }
    (output.status.code().expect("an exit code"), pages, String::from_utf8(output.stderr).expect("UTF-8"))
}

fn samples() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("samples")
}

/// The sample `clean.jpg` and what is printed on it.
struct Sample {
    picture: RgbImage,
    truth: Value,
}

impl Sample {
    fn new() -> Self {
        let text = fs::read_to_string(samples().join("truth.jsonl")).expect("the truth is there");
        let pages = text.lines().map(|line| serde_json::from_str::<Value>(line).expect("JSON"));
        let truth = pages.into_iter().find(|page| page["photo"] == "clean.jpg").expect("the sample")["grids"][0].clone();
        Self { picture: image::open(samples().join("clean.jpg")).expect("a sample").into_rgb8(), truth }
    }

    fn givens(&self) -> Board {
        self.truth["givens"].as_str().expect("a line").parse().expect("a puzzle")
    }

    /// The picture with the inside of a cell painted over.
    fn painted(&self, cell: Cell, colour: Rgb<u8>) -> RgbImage {
        let mut picture = self.picture.clone();
        let at = |row: usize, column: usize, axis: usize| self.truth["lattice"][row][column][axis].as_f64().expect("a number");
        let (row, column) = (cell.row().into(), cell.column().into());
        let (left, right) = (at(row, column, 0) + 9.0, at(row + 1, column + 1, 0) - 9.0);
        let (top, bottom) = (at(row, column, 1) + 9.0, at(row + 1, column + 1, 1) - 9.0);
        for y in top as u32..bottom as u32 {
            for x in left as u32..right as u32 {
                picture.put_pixel(x, y, colour);
            }
        }
        picture
    }
}

const INK: Rgb<u8> = Rgb([50, 40, 40]);

#[test]
fn shots_that_hide_different_cells_are_proven_together() {
    let sample = Sample::new();
    let folder = TempDir::new().expect("a folder");
    let at = |name: &str| folder.path().join(name);
    sample.painted(Cell::ALL[10], INK).save(at("one.png")).expect("a file");
    // A second one from the side, with another cell covered.
    image::imageops::rotate90(&sample.painted(Cell::ALL[70], INK)).save(at("two.png")).expect("a file");
    for name in ["one.png", "two.png"] {
        let (exit, pages, talk) = lift(folder.path(), &[name]);
        assert_eq!((exit, &pages[0]["grids"][0]["verdict"]), (1, &"doubtful".into()), "{talk}");
        assert!(pages[0]["grids"][0].get("shots").is_none());
    }
    let (exit, pages, talk) = lift(folder.path(), &["--together", "one.png", "two.png", "--expect", "1", "--picture", "seen", "--cells"]);
    assert_eq!((exit, pages.len()), (0, 1), "{talk}");
    assert!(talk.ends_with("proven, 27 givens, one solution, from 2 shots\n"), "{talk}");
    let grid = &pages[0]["grids"][0];
    assert_eq!((&grid["givens"], &grid["verdict"]), (&sample.truth["givens"], &"proven".into()));
    let shots = grid["shots"].as_array().expect("shots");
    let of = |key: &str| shots.iter().map(|shot| shot[key].clone()).collect::<Vec<Value>>();
    assert_eq!(of("source"), ["one.png", "two.png"]);
    assert_eq!((of("turn"), of("n")), (vec![0.into(), 90.into()], vec![1.into(), 1.into()]));
    assert_eq!(of("verdict"), ["doubtful", "doubtful"]);
    for shot in shots {
        let (_, alone, _) = lift(folder.path(), &[shot["source"].as_str().expect("a path")]);
        assert_eq!((&shot["sha256"], &shot["page"]), (&alone[0]["sha256"], &alone[0]["page"]));
    }
    // One picture: of the page that carries the reading.
    let drawn: Vec<_> = fs::read_dir(at("seen")).expect("a folder").map(|file| file.expect("a file").file_name()).collect();
    assert_eq!(drawn, [Path::new(pages[0]["source"].as_str().expect("a path")).with_extension("jpg")]);
    // What needs a person alone, needs one again where nothing better is shown.
    fs::copy(at("one.png"), at("again.png")).expect("a copy");
    assert_eq!(lift(folder.path(), &["--together", "one.png", "again.png"]).0, 1);
}

#[test]
fn sure_shots_that_differ_are_doubtful() {
    let sample = Sample::new();
    let folder = TempDir::new().expect("a folder");
    let spare = prove::spare(&sample.givens()).iter().next().expect("a given that the others imply");
    sample.picture.save(folder.path().join("whole.png")).expect("a file");
    sample.painted(spare, Rgb([236, 232, 222])).save(folder.path().join("less.png")).expect("a file");
    let (exit, pages, talk) = lift(folder.path(), &["whole.png", "less.png"]);
    assert_eq!(exit, 0, "each is proven alone, since the puzzle stays sound: {talk}");
    assert_ne!(pages[0]["grids"][0]["givens"], pages[1]["grids"][0]["givens"]);
    let (exit, pages, talk) = lift(folder.path(), &["--together", "whole.png", "less.png"]);
    assert_eq!((exit, pages.len()), (1, 1), "{talk}");
    let flag = &pages[0]["grids"][0]["flags"][0];
    assert_eq!((&pages[0]["grids"][0]["verdict"], &flag["reason"]), (&"doubtful".into(), &"shots differ".into()));
    assert_eq!(flag["cell"], spare.to_string());
}

#[test]
fn different_puzzles_stay_apart_and_bad_files_are_told() {
    // The sixth grid of several.jpg is that of clean.jpg, from another angle; phone.jpg shows another one.
    let (exit, pages, talk) = lift(&samples(), &["--together", "clean.jpg", "truth.jsonl", "several.jpg", "phone.jpg", "--expect", "7"]);
    assert_eq!(exit, 3, "{talk}");
    let sources: Vec<_> = pages.iter().map(|page| page["source"].as_str().expect("a path")).collect();
    assert_eq!(sources, ["truth.jsonl", "several.jpg", "phone.jpg"], "in the order of the input: {talk}");
    assert_eq!(pages[0]["error"]["kind"], "not a picture");
    let grids: Vec<&Value> = pages.iter().flat_map(|page| page["grids"].as_array().expect("a list")).collect();
    let shots: Vec<usize> = grids.iter().map(|grid| grid["shots"].as_array().map_or(0, Vec::len)).collect();
    assert_eq!((shots.len(), shots.iter().sum::<usize>()), (7, 8), "{talk}");
    let joined = grids.iter().find(|grid| grid["label"] == "42").expect("number 42");
    assert_eq!((&joined["shots"][0]["source"], &joined["shots"][1]["source"]), (&"clean.jpg".into(), &"several.jpg".into()));
    assert_eq!((&joined["shots"][0]["n"], &joined["n"]), (&1.into(), &joined["shots"][1]["n"]));
    assert!(!talk.contains("where 7 should be"), "{talk}");
    let (exit, _, talk) = lift(&samples(), &["--together", "clean.jpg", "several.jpg", "--expect", "7"]);
    assert!(exit == 1 && talk.contains("in all shots: 6 grids where 7 should be"), "{talk}");
}

/// The largest grid: the truth is about that one.
fn main_grid(page: &PageReading) -> Option<(usize, &GridReading)> {
    page.grids.iter().enumerate().max_by(|a, b| a.1.lattice.pitch().total_cmp(&b.1.lattice.pitch()))
}

/// The page as a phone too far away would have taken it: shrunk so that a cell of its main grid is `pitch` pixels wide.
fn from_afar(page: &Page, read: &PageReading, pitch: f32) -> Page {
    let own = main_grid(read).map_or(pitch, |(_, grid)| grid.lattice.pitch());
    let share = (pitch / own).min(1.0);
    let shrunk = |image: &GrayImage| {
        let side = |length: u32| ((length as f32 * share).round() as u32).max(1);
        image::imageops::thumbnail(image, side(image.width()), side(image.height()))
    };
    Page { luma: shrunk(&page.luma), chroma: page.chroma.as_ref().map(|planes| planes.each_ref().map(shrunk)), ..page.clone() }
}

/// The photographs of a table's line, what was read of them, and what may not be.
struct Set<'a> {
    name: &'a str,
    photos: Vec<&'a Photo>,
    pages: Vec<PageReading>,
    faults: Vec<String>,
}

impl Set<'_> {
    /// Takes photographs of one puzzle with neighbouring names together, so many at a time, and prints how they were read.
    fn take_together(&mut self, shots: usize, thresholds: &Thresholds) {
        let shown = || self.photos.iter().zip(&self.pages).filter_map(|(photo, page)| Some((*photo, main_grid(page)?.1)));
        let mut puzzles: Vec<&str> = self.photos.iter().map(|photo| photo.givens.as_str()).collect();
        puzzles.sort_unstable();
        puzzles.dedup();
        let mut groups: Vec<Vec<(&Photo, &GridReading)>> = Vec::new();
        for puzzle in puzzles {
            let of_one: Vec<_> = shown().filter(|(photo, _)| photo.givens == puzzle).collect();
            groups.extend(of_one.windows(shots).map(<[_]>::to_vec));
        }
        let (mut exact, mut proven, mut wrong, mut none_alone, mut won, mut lost) = (0, 0, 0, 0, 0, 0);
        for group in &groups {
            let reading = decide_together(&group.iter().map(|(_, grid)| &grid.shot).collect::<Vec<_>>(), thresholds);
            let is_exact = reading.givens.is_some_and(|board| board.to_string() == group[0].0.givens);
            let is_proven = reading.verdict == Verdict::Proven;
            let any_alone = group.iter().any(|(_, grid)| grid.reading.verdict == Verdict::Proven);
            exact += usize::from(is_exact);
            proven += usize::from(is_proven);
            none_alone += usize::from(!any_alone);
            won += usize::from(is_proven && !any_alone);
            lost += usize::from(!is_proven && any_alone);
            if is_proven && !is_exact {
                wrong += 1;
                self.faults.push(format!("proven and wrong: {} and others {}", group[0].0.name, self.name));
            }
        }
        println!("| {} | {shots} | {} | {exact} | {proven} | {wrong} | {none_alone} | {won} | {lost} |", self.name, groups.len());
    }

    /// Takes all of them in one call, where none may be joined with another puzzle's. Gives how many could be joined, and how many were.
    fn take_all(&mut self, lifter: &Lifter) -> (usize, usize) {
        let is_main = |page: usize, grid: usize| main_grid(&self.pages[page]).is_some_and(|(main, _)| main == grid);
        let mut joined = 0;
        for group in lifter.together(&self.pages).iter().flat_map(|spread| &spread.shown) {
            let main: Vec<&Photo> =
                group.iter().filter(|place| is_main(place.page, place.grid)).map(|place| self.photos[place.page]).collect();
            joined += usize::from(main.len() > 1) * main.len();
            if let Some(other) = main.iter().find(|photo| photo.givens != main[0].givens) {
                self.faults.push(format!("joined: {} and {} {}", main[0].name, other.name, self.name));
            }
        }
        let often = |one: &&&Photo| self.photos.iter().filter(|other| other.givens == one.givens).count() > 1;
        (self.photos.iter().filter(often).count(), joined)
    }
}

#[test]
fn photos_taken_together_are_never_proven_wrong() {
    let Some(all) = photos(&["printed", "filled", "folded"]) else { return };
    let lifter = Lifter::new().expect("the bundled weights");
    let kept: Vec<Photo> = all.into_iter().filter(|photo| photo.kept_apart).collect();
    let lift = |page: &Page| lifter.lift(page).expect("the bundled networks run");
    println!(
        "| photographs kept apart | together | readings | exact | proven | wrong proven | none proven alone | of these proven | no more proven |"
    );
    println!("|{}", " --- |".repeat(9));
    let (mut faults, mut told) = (Vec::new(), Vec::new());
    for (name, folder, pitch) in [
        ("printed", "printed", None),
        ("filled", "filled", None),
        ("printed, shrunk to 12 pixels a cell", "printed", Some(12.0)),
        ("printed, shrunk to 10 pixels a cell", "printed", Some(10.0)),
    ] {
        let photos: Vec<&Photo> = kept.iter().filter(|photo| photo.folder == folder).collect();
        let read = |photo: &&Photo| match (photo.page(), pitch) {
            (page, Some(pitch)) => lift(&from_afar(&page, &lift(&page), pitch)),
            (page, None) => lift(&page),
        };
        let pages = photos.par_iter().map(read).collect();
        let mut set = Set { name, photos, pages, faults: Vec::new() };
        (1..=3).for_each(|shots| set.take_together(shots, &thresholds()));
        let (often, joined) = set.take_all(&lifter);
        told.push(format!("{name}: of {often} photographs of puzzles that were taken more than once, {joined} were joined with others"));
        assert!(pitch.is_some() || joined as f64 >= 0.95 * often as f64, "{name}: {joined} of {often} joined");
        faults.extend(set.faults);
    }
    told.iter().for_each(|line| println!("{line}"));
    assert!(faults.is_empty(), "{faults:?}");
}
