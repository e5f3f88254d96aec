//! Labels, and what printed solutions say about puzzles, through `gridlift lift` on the sample pages.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use gridlift::plane::{Homography, Point};
use image::RgbImage;
use serde_json::Value;
use tempfile::TempDir;

fn samples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("samples")
}

/// Exit code, page objects and talk of one call in the top folder.
fn lift(arguments: &[&str]) -> (i32, Vec<Value>, String) {
    let mut call = Command::new(env!("CARGO_BIN_EXE_gridlift"));
    let output = call.arg("lift").args(arguments).current_dir(env!("CARGO_MANIFEST_DIR")).output().expect("the program runs");
    let lines = String::from_utf8(output.stdout).expect("UTF-8");
    let pages = lines.lines().map(|line| serde_json::from_str(line).expect("JSON")).collect();
    (output.status.code().expect("an exit code"), pages, String::from_utf8(output.stderr).expect("UTF-8"))
}

fn list(value: &Value) -> &[Value] {
    value.as_array().expect("a list")
}

/// The truth of a sample page.
fn truth(name: &str) -> Value {
    let text = fs::read_to_string(samples().join("truth.jsonl")).expect("the truth is there");
    let mut pages = text.lines().map(|line| serde_json::from_str::<Value>(line).expect("JSON"));
    pages.find(|page| page["photo"] == name).expect("a sample")
}

/// The grid of a page with this label.
fn labelled<'page>(page: &'page Value, label: &str) -> &'page Value {
    list(&page["grids"]).iter().find(|grid| grid["label"] == label).unwrap_or_else(|| panic!("{label} on {}", page["source"]))
}

#[test]
fn each_grid_has_its_own_label_and_its_place() {
    let names = ["several.jpg", "solutions.jpg", "clean.jpg", "phone.jpg", "filled.jpg", "misprint.jpg"];
    let paths = names.map(|name| format!("samples/{name}"));
    let (_, pages, _) = lift(&paths.each_ref().map(String::as_str));
    let mut wrong = Vec::new();
    for (name, page) in names.iter().zip(&pages) {
        let truth = truth(name);
        for expected in list(&truth["grids"]) {
            let part = |value: &Value, i: usize| value[i].as_f64().unwrap_or(f64::NAN);
            let printed = &expected["label_box"];
            let middle = |i: usize| part(printed, i) + part(printed, i + 2) / 2.0;
            let holds = |grid: &&Value| {
                let found = &grid["label_box"];
                (0..2).all(|i| (part(found, i)..part(found, i) + part(found, i + 2)).contains(&middle(i)))
            };
            match list(&page["grids"]).iter().find(holds) {
                Some(grid) if grid["label"] == expected["label"] && grid["solution"].is_null() => {}
                // A label at the right place is the right grid's: its solution is that of the truth.
                Some(grid) if grid["label"] == expected["label"] && grid["solution"] == expected["solution"] => {}
                other => wrong.push(format!("{name}: {} read as {:?}", expected["label"], other.map(|grid| &grid["label"]))),
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn a_turned_page_keeps_its_labels() {
    let folder = TempDir::new().expect("a temporary folder");
    let turned = folder.path().join("turned.png");
    image::open(samples().join("several.jpg")).expect("a sample").rotate180().save(&turned).expect("written");
    let (_, pages, _) = lift(&[turned.to_str().expect("UTF-8")]);
    let mut labels: Vec<&str> = list(&pages[0]["grids"]).iter().filter_map(|grid| grid["label"].as_str()).collect();
    labels.sort_unstable();
    assert_eq!(labels, ["40", "41", "42", "43", "44", "45"]);
}

#[test]
fn printed_solutions_that_agree_are_told() {
    let (exit, pages, talk) = lift(&["samples/several.jpg", "samples/solutions.jpg"]);
    assert_eq!(exit, 0, "{talk}");
    assert_eq!(
        pages.iter().map(|page| page["source"].as_str()).collect::<Vec<_>>(),
        [Some("samples/several.jpg"), Some("samples/solutions.jpg")]
    );
    assert!(list(&pages[0]["grids"]).iter().all(|grid| grid["printed_solution_agrees"] == true));
    assert!(list(&pages[1]["grids"]).iter().all(|grid| grid["printed_solution_agrees"].is_null()), "a solution has no partner of its own");
    let (_, alone, _) = lift(&["samples/several.jpg"]);
    assert!(list(&alone[0]["grids"]).iter().all(|grid| grid["printed_solution_agrees"].is_null()), "nothing to compare with");
}

/// The solutions page with the first two rows of one grid exchanged: as sound as before, and another solution.
fn changed_solutions(label: &str, to: &Path) {
    let page = image::open(samples().join("solutions.jpg")).expect("a sample").to_rgb8();
    let truth = truth("solutions.jpg");
    let grid = list(&truth["grids"]).iter().find(|grid| grid["label"] == label).expect("its solution");
    let number = |value: &Value| value.as_f64().expect("a number") as f32;
    let crossing =
        |row: usize, column: usize| Point::new(number(&grid["lattice"][row][column][0]), number(&grid["lattice"][row][column][1]));
    let mut changed: RgbImage = page.clone();
    for (to, from) in [(0, 1), (1, 0)] {
        for column in 0..9 {
            let quad =
                |row: usize| [crossing(row, column), crossing(row, column + 1), crossing(row + 1, column + 1), crossing(row + 1, column)];
            let map = Homography::from_points(quad(to), quad(from)).expect("a cell");
            let (low, high) = (crossing(to, column), crossing(to + 1, column + 1));
            for y in low.y as u32 + 3..high.y as u32 - 2 {
                for x in low.x as u32 + 3..high.x as u32 - 2 {
                    let at = map.apply(Point::new(x as f32, y as f32));
                    changed.put_pixel(x, y, *page.get_pixel(at.x.round() as u32, at.y.round() as u32));
                }
            }
        }
    }
    changed.save(to).expect("written");
}

/// What every reader of a contradicted puzzle must see.
fn check_contradicted(grid: &Value) {
    assert_eq!((&grid["verdict"], &grid["printed_solution_agrees"]), (&"doubtful".into(), &false.into()));
    let flags = list(&grid["flags"]);
    assert!(!flags.is_empty() && flags.iter().all(|flag| flag["reason"] == "printed solution disagrees"), "{flags:?}");
    for flag in flags {
        // Every given of the first two rows differs, and each is flagged with what the solution has there.
        assert!(["r1", "r2"].iter().any(|row| flag["cell"].as_str().is_some_and(|cell| cell.starts_with(row))), "{flag}");
        assert!(flag["read"] != flag["suggest"]);
    }
}

#[test]
fn a_printed_solution_that_disagrees_makes_its_puzzle_doubtful() {
    let folder = TempDir::new().expect("a temporary folder");
    let solutions = folder.path().join("solutions.png");
    changed_solutions("41", &solutions);
    let solutions = solutions.to_str().expect("UTF-8");
    // Whichever comes first.
    for files in [["samples/several.jpg", solutions], [solutions, "samples/several.jpg"]] {
        let (exit, pages, talk) = lift(&files);
        assert_eq!(exit, 1, "{talk}");
        assert_eq!(pages.iter().map(|page| page["source"].as_str()).collect::<Vec<_>>(), files.map(Some));
        let page = pages.iter().find(|page| page["source"] == "samples/several.jpg").expect("the puzzles");
        check_contradicted(labelled(page, "41"));
        assert!(talk.contains("grid \"41\": doubtful") && talk.contains("(printed solution disagrees)"), "{talk}");
        for label in ["40", "42", "43", "44", "45"] {
            let grid = labelled(page, label);
            assert_eq!((&grid["verdict"], &grid["printed_solution_agrees"]), (&"proven".into(), &true.into()), "{label}");
        }
    }
}

#[test]
fn pages_in_a_folder_change_too() {
    let folder = TempDir::new().expect("a temporary folder");
    let solutions = folder.path().join("solutions.png");
    changed_solutions("44", &solutions);
    let out = folder.path().join("out");
    let (exit, pages, _) =
        lift(&["samples/several.jpg", solutions.to_str().expect("UTF-8"), "--out", out.to_str().expect("UTF-8"), "--pretty"]);
    assert_eq!((exit, pages.len()), (1, 0));
    let text = fs::read_to_string(out.join("samples/several.json")).expect("the puzzles' page");
    let page: Value = serde_json::from_str(&text).expect("JSON");
    check_contradicted(labelled(&page, "44"));
    assert_eq!(labelled(&page, "45")["printed_solution_agrees"], true);
    assert!(text.lines().count() > 10, "still indented");
}
