//! What the README shows is what happens: its examples run with the exit codes it names, and its JSON is the program's.

use std::fs::{self, File};
use std::path::Path;
use std::process::{Command, Output, Stdio};

use serde_json::Value;
use tempfile::TempDir;

fn readme() -> String {
    fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md")).expect("README.md").replace("\r\n", "\n")
}

/// The text of each fenced block in `language`.
fn blocks(language: &str) -> Vec<String> {
    let text = readme();
    let start = format!("\n```{language}\n");
    text.split(&start).skip(1).map(|rest| rest.split("\n```").next().unwrap_or_default().to_owned()).collect()
}

/// A folder with a copy of the samples, so that examples may write beside them.
fn folder() -> TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let samples = folder.path().join("samples");
    fs::create_dir(&samples).expect("a folder");
    for file in fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("samples")).expect("the samples") {
        let file = file.expect("a sample");
        fs::copy(file.path(), samples.join(file.file_name())).expect("room for a copy");
    }
    folder
}

/// The last of some calls, `ARGUMENTS | gridlift ARGUMENTS`, each of which reads what the one before gave.
fn run(calls: &str, at: &TempDir) -> Output {
    let mut given = Stdio::null();
    let mut last = None;
    for arguments in calls.split("| gridlift ") {
        let mut call = Command::new(env!("CARGO_BIN_EXE_gridlift"));
        let output = call.args(arguments.split_whitespace()).current_dir(at.path()).stdin(given).output().expect("the program runs");
        let between = at.path().join("between");
        fs::write(&between, &output.stdout).expect("room for a file");
        given = File::open(&between).expect("the file just written").into();
        last = Some(output);
    }
    last.expect("at least one call")
}

/// Examples are lines `gridlift ARGUMENTS # ... exit N`.
#[test]
fn the_examples_end_as_they_say() {
    let folder = folder();
    let (mut tried, mut faults) = (0, Vec::new());
    for block in blocks("sh") {
        for line in block.lines() {
            let Some((call, comment)) = line.strip_prefix("gridlift ").and_then(|rest| rest.split_once('#')) else { continue };
            let expected = comment.split("exit ").nth(1).and_then(|rest| rest.chars().next()?.to_digit(10));
            let expected = expected.unwrap_or_else(|| panic!("{line}: no exit code in its comment"));
            let output = run(call, &folder);
            tried += 1;
            if output.status.code() != i32::try_from(expected).ok() {
                faults.push(format!("{line}: {}\n{}", output.status, String::from_utf8_lossy(&output.stderr)));
            }
        }
    }
    assert!(faults.is_empty(), "\n{}", faults.join("\n"));
    assert!(tried >= 5, "{tried} examples were found");
}

#[test]
fn the_answer_shown_is_the_answer_given() {
    let folder = folder();
    let output = run("lift samples/clean.jpg", &folder);
    let given: Value = serde_json::from_slice(&output.stdout).expect("one JSON object");
    let [shown] = blocks("json").try_into().expect("one JSON block");
    let mut shown: Value = serde_json::from_str(&shown).expect("the README's JSON is JSON");
    // What may differ with new weights; the rest must not.
    shown["made_by"] = given["made_by"].clone();
    shown["grids"][0]["confidence"] = given["grids"][0]["confidence"].clone();
    for corner in 0..4 {
        for axis in 0..2 {
            let place = format!("/grids/0/corners/{corner}/{axis}");
            let number = |value: &Value| value.pointer(&place).and_then(Value::as_f64).expect("a number");
            assert!((number(&shown) - number(&given)).abs() < 2.0, "{place}: {} and {}", number(&shown), number(&given));
        }
    }
    shown["grids"][0]["corners"] = given["grids"][0]["corners"].clone();
    assert_eq!(shown, given, "show in README.md what `lift samples/clean.jpg` gives now");
    let talk = String::from_utf8(output.stderr).expect("UTF-8");
    assert!(blocks("text").contains(&talk.trim_end().to_owned()), "the README doesn't show: {talk}");
}
