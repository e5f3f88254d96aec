//! `gridlift vet` as a whole: what it takes, says and gives, and its exit codes.

mod support;

use std::collections::BTreeSet;
use std::fs;
use std::io::{Read, Write};
use std::path::Path;
use std::process::{Command, Output, Stdio};

use gridlift::decide::Verdict;
use gridlift::export::page::{Detail, Origin, Page};
use gridlift::export::vet::{SCHEMA, Vet};
use gridlift::plane::{Point, Turn};
use serde_json::Value;
use support::PUZZLE;
use tempfile::TempDir;

/// What one call gave.
struct Done {
    exit: i32,
    stdout: String,
    talk: String,
}

impl Done {
    /// The objects on standard output, each valid by the schema.
    fn vets(&self) -> Vec<Vet> {
        let schema: Value = serde_json::from_str(SCHEMA).expect("the schema is JSON");
        let validator = jsonschema::validator_for(&schema).expect("the schema is a schema");
        let lines = self.stdout.lines().map(|line| serde_json::from_str::<Value>(line).unwrap_or_else(|_| panic!("JSON, not {line}")));
        lines
            .map(|value| {
                let faults: Vec<_> = validator.iter_errors(&value).map(|error| error.to_string()).collect();
                assert!(faults.is_empty(), "{value}: {faults:?}");
                serde_json::from_value(value).expect("the schema's objects are vets")
            })
            .collect()
    }
}

fn start(folder: &Path, arguments: &[&str]) -> std::process::Child {
    let mut call = Command::new(env!("CARGO_BIN_EXE_gridlift"));
    call.arg("vet").args(arguments).current_dir(folder);
    call.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    call.spawn().expect("the program starts")
}

fn vet_in(folder: &Path, arguments: &[&str], input: &str) -> Done {
    let mut child = start(folder, arguments);
    // A call that fails early doesn't read its input.
    let _ = child.stdin.take().expect("a pipe").write_all(input.as_bytes());
    let Output { status, stdout, stderr } = child.wait_with_output().expect("the program ends");
    let text = |bytes| String::from_utf8(bytes).expect("UTF-8");
    Done { exit: status.code().expect("an exit code"), stdout: text(stdout), talk: text(stderr) }
}

fn vet(arguments: &[&str]) -> Done {
    vet_in(Path::new("."), arguments, "")
}

/// The puzzle with these cells (by place, row by row from 0) set.
fn changed(changes: &[(usize, &str)]) -> String {
    let mut line = PUZZLE.to_owned();
    changes.iter().for_each(|&(place, shown)| line.replace_range(place..=place, shown));
    line
}

/// A page with a grid of the given verdict, as lift writes it.
fn page(verdict: Verdict) -> Page {
    let grid = support::grid(support::lattice(Point::new(10.0, 10.0), 20.0, Turn::None), Turn::None, verdict);
    let origin = Origin { source: "orchard/p007.jpg".into(), sha256: Some("0f".repeat(32)), ..Origin::default() };
    Page::from_reading(&origin, &support::page_reading((300, 300), vec![grid.clone(), grid]), Detail::default())
}

fn json(page: &Page) -> String {
    serde_json::to_string(page).expect("a page is JSON")
}

#[test]
fn a_sound_puzzle_is_told_so() {
    let done = vet(&[PUZZLE]);
    assert_eq!((done.exit, done.talk.as_str()), (0, "sound, 26 givens, one solution\n"));
    let [vet] = &done.vets()[..] else { panic!("one object") };
    assert_eq!((vet.givens.as_str(), vet.solutions, vet.capped, vet.minimal), (PUZZLE, 1, false, true));
    assert_eq!(vet.symmetry, ["half turn"]);
    assert!(vet.conflict.is_empty() && vet.spare.is_empty() && vet.repairs.is_empty() && vet.second.is_none());
    let zeros = self::vet(&[&PUZZLE.replace('.', "0")]);
    assert_eq!(zeros.vets(), done.vets());
}

#[test]
fn fields_come_in_the_order_of_the_design() {
    let order =
        ["schema", "givens", "solutions", "capped", "solution", "second", "conflict", "spare", "repairs", "minimal", "symmetry", "id"];
    let value: Value = serde_json::from_str(&vet(&[PUZZLE]).stdout).expect("JSON");
    let keys: Vec<_> = value.as_object().expect("an object").keys().map(String::as_str).collect();
    assert_eq!(keys, order);
}

#[test]
fn faults_are_named_with_what_would_mend_them() {
    // r1c2 reads 4 for 7: r1c3 is a 4 already.
    let twins = vet(&[&changed(&[(1, "4")])]);
    assert_eq!(twins.exit, 1);
    let [found] = &twins.vets()[..] else { panic!("one object") };
    assert_eq!((found.solutions, &found.conflict[..]), (0, &["r1c2".to_owned(), "r1c3".to_owned()][..]));
    let mends =
        |vet: &Vet| vet.repairs.iter().map(|repair| (repair.cell.clone(), repair.from.clone(), repair.to.clone())).collect::<BTreeSet<_>>();
    assert!(mends(found).contains(&("r1c2".into(), "4".into(), "7".into())), "{:?}", found.repairs);
    assert!(twins.talk.starts_with("unsound, 26 givens, no solution: r1c2 and r1c3 can't stand together; "), "{}", twins.talk);

    // No given of the puzzle is spare: without one there is more than one solution.
    let missing = vet(&[&changed(&[(0, ".")])]);
    assert_eq!(missing.exit, 1);
    let [found] = &missing.vets()[..] else { panic!("one object") };
    assert!(found.solutions == 2 && found.second.is_some() && found.second != found.solution, "{found:?}");
    assert!(mends(found).contains(&("r1c1".into(), ".".into(), "9".into())), "{:?}", found.repairs);
}

#[test]
fn solutions_are_counted_up_to_the_cap() {
    let empty = ".".repeat(81);
    for (cap, solutions, capped) in [("2", 2, true), ("100", 100, true)] {
        let [found] = &vet(&[&empty, "--count", cap]).vets()[..] else { panic!("one object") };
        assert_eq!((found.solutions, found.capped), (solutions, capped));
    }
    let missing = changed(&[(0, ".")]);
    let [found] = &vet(&[&missing, "--count", "100000"]).vets()[..] else { panic!("one object") };
    let all = found.solutions.to_string();
    assert!(found.solutions > 1 && !found.capped, "{found:?}");
    let [exact] = &vet(&[&missing, "--count", &all]).vets()[..] else { panic!("one object") };
    assert_eq!((exact.solutions, exact.capped), (found.solutions, false), "the cap is reached, and there are no more");
}

#[test]
fn a_file_of_lines_gives_a_line_each() {
    let folder = TempDir::new().expect("a temporary folder");
    let unsound = changed(&[(0, ".")]);
    fs::write(folder.path().join("puzzles.txt"), format!("\u{feff}{PUZZLE}\r\n\r\n{unsound}\n{PUZZLE}")).expect("written");
    let done = vet_in(folder.path(), &["puzzles.txt"], "");
    assert_eq!(done.exit, 1);
    let counts: Vec<_> = done.vets().iter().map(|vet| vet.solutions).collect();
    assert_eq!(counts, [1, 2, 1]);
    let talk: Vec<_> = done.talk.lines().collect();
    assert_eq!((talk.len(), talk[0]), (3, "1 of 3: sound, 26 givens, one solution"));
    assert!(talk[1].starts_with("2 of 3: unsound, 25 givens, more than 2 solutions"), "{}", talk[1]);
    let piped = vet_in(folder.path(), &["-"], &format!("{PUZZLE}\n{unsound}\n{PUZZLE}\n"));
    assert_eq!((piped.exit, piped.stdout), (1, done.stdout));
    let second = vet_in(folder.path(), &["puzzles.txt", "--grid", "4"], "");
    assert_eq!((second.exit, second.vets().len()), (0, 1), "line 4 holds the last puzzle");
}

#[test]
fn page_json_is_vetted_whatever_its_verdict() {
    let mut page = page(Verdict::Doubtful);
    page.grids[1].label = Some("43".into());
    let solution = gridlift::prove::prove(&PUZZLE.parse().expect("81 characters")).solution.expect("it is sound").to_string();
    let wrong_at = PUZZLE.find('.').expect("an empty cell");
    let right_at = PUZZLE.rfind('.').expect("an empty cell");
    let mut entries = ".".repeat(81);
    let stands = &solution[wrong_at..=wrong_at];
    let wrong = if stands == "1" { "2" } else { "1" };
    entries.replace_range(wrong_at..=wrong_at, wrong);
    entries.replace_range(right_at..=right_at, &solution[right_at..=right_at]);
    for grid in &mut page.grids {
        grid.givens = Some(PUZZLE.into());
        grid.entries = Some(entries.clone());
    }
    let done = vet_in(Path::new("."), &["-"], &format!("{}\n{}\n", json(&page), json(&page)));
    assert_eq!((done.exit, done.vets().len()), (0, 4), "{}", done.talk);
    let found = &done.vets()[0].wrong_entries.clone().expect("the page has entries");
    let cell = format!("r{}c{}", wrong_at / 9 + 1, wrong_at % 9 + 1);
    assert_eq!(found.len(), 1);
    assert_eq!((&found[0].cell, found[0].entry.as_str(), found[0].stands.as_str()), (&cell, wrong, stands));
    let talk =
        format!("orchard/p007.jpg: grid \"42\": sound, 26 givens, one solution; wrong entries: {cell} has {wrong} where {stands} stands");
    assert_eq!(done.talk.lines().next(), Some(talk.as_str()));

    for (wanted, name) in [("43", "\"43\""), ("1", "\"42\"")] {
        let picked = vet_in(Path::new("."), &["-", "--grid", wanted], &json(&page));
        assert_eq!(picked.vets().len(), 1);
        assert!(picked.talk.contains(&format!("grid {name}: ")), "{wanted}: {}", picked.talk);
    }
    let missing = vet_in(Path::new("."), &["-", "--grid", "99"], &json(&page));
    assert_eq!((missing.exit, missing.talk.as_str()), (2, "gridlift: no grid is called \"99\": there are 42, 43\n"));
}

#[test]
fn cells_that_cannot_be_told_need_a_person() {
    let mut page = page(Verdict::Doubtful);
    page.grids.truncate(1);
    page.grids[0].entries = None;
    let untold = PUZZLE.find('.').expect("an empty cell");
    page.grids[0].givens = Some(changed(&[(untold, "?")]));
    let done = vet_in(Path::new("."), &["-"], &json(&page));
    let [found] = &done.vets()[..] else { panic!("one object") };
    assert_eq!((done.exit, found.solutions, found.givens.matches('?').count(), found.wrong_entries.is_none()), (1, 1, 1, true));
    assert!(done.talk.contains("in doubt") && done.talk.contains("can't be told"), "{}", done.talk);
    page.grids[0].givens = None;
    let unread = vet_in(Path::new("."), &["-"], &json(&page));
    assert_eq!((unread.exit, unread.stdout.as_str()), (1, ""));
    assert_eq!(unread.talk, "orchard/p007.jpg: grid \"42\": unreadable: no digits were read\n");
}

#[test]
fn bad_input_is_told_and_the_rest_done() {
    let folder = TempDir::new().expect("a temporary folder");
    let file = |name: &str, bytes: &[u8]| fs::write(folder.path().join(name), bytes).expect("written");
    file("mixed.txt", format!("{PUZZLE}\n12x\n{PUZZLE}\n").as_bytes());
    file("empty.txt", b"");
    file("picture.txt", b"\x89PNG\xff\xfe");
    file("broken.json", br#"{"schema": "gridlift/page/1", "#);
    file("other.json", br#"{"schema": "gridlift/walk/1"}"#);
    let cases = [
        ("mixed.txt", 3, 2, "mixed.txt, line 2: character 3, 'x', is neither a digit nor '.' (it belongs to r1c3)"),
        ("empty.txt", 3, 0, "empty.txt: there is no puzzle in it"),
        ("picture.txt", 3, 0, "picture.txt: this is not text"),
        ("broken.json", 3, 0, "broken.json: this is no JSON"),
        ("other.json", 3, 0, "other.json: gridlift/page/1 is needed, as lift gives it"),
        ("missing.txt", 3, 0, "missing.txt: there is no such file: check the path"),
        (".", 3, 0, ".: this is a folder: name a file of puzzles"),
        (&PUZZLE[..80], 2, 0, "gridlift: this puzzle can't be read: a puzzle is a line of 81 characters, row by row, and this one has 80"),
        (&PUZZLE.replacen('.', "x", 1), 2, 0, "gridlift: this puzzle can't be read: character 4, 'x', is neither"),
    ];
    for (puzzle, exit, count, message) in cases {
        let done = vet_in(folder.path(), &[puzzle], "");
        assert_eq!((done.exit, done.vets().len()), (exit, count), "{puzzle}: {}", done.talk);
        assert!(done.talk.contains(message), "{puzzle}: {}", done.talk);
    }
    for wrong in [&["--count", "1", PUZZLE][..], &[], &[PUZZLE, "--grid"]] {
        assert_eq!(vet(wrong).exit, 2, "{wrong:?}");
    }
}

#[test]
fn schema_and_help_are_printed() {
    let schema = vet(&["--schema"]);
    assert_eq!((schema.exit, schema.stdout.as_str(), schema.talk.as_str()), (0, SCHEMA, ""));
    let help = vet(&["--help"]);
    assert!(help.exit == 0 && help.stdout.contains("Examples:") && help.stdout.contains("Exit codes:"));
    let pretty = vet(&[PUZZLE, "--pretty"]);
    assert!(pretty.stdout.lines().count() > 10 && serde_json::from_str::<Vet>(&pretty.stdout).is_ok());
}

#[test]
fn a_closed_pipe_ends_quietly() {
    let mut child = start(Path::new("."), &["-"]);
    let mut input = child.stdin.take().expect("a pipe");
    let mut output = child.stdout.take().expect("a pipe");
    input.write_all(format!("{PUZZLE}\n").repeat(500).as_bytes()).expect("it reads all before it writes");
    drop(input);
    output.read_exact(&mut [0]).expect("the first object");
    drop(output);
    let done = child.wait_with_output().expect("the program ends");
    let talk = String::from_utf8(done.stderr).expect("UTF-8");
    assert!(talk.lines().all(|line| line.contains("sound, 26 givens")), "{talk}");
    assert_eq!(done.status.code(), Some(0));
}
