//! Rooms import only from rooms below them: the table of `DEVELOPERS.md`.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// Each room, and what it may import besides itself.
const MAY_IMPORT: [(&str, &[&str]); 19] = [
    ("grid", &[]),
    ("plane", &[]),
    ("net", &[]),
    ("decode", &[]),
    ("prove", &["grid"]),
    ("walk", &["grid", "prove"]),
    ("find", &["decode", "plane", "net"]),
    ("label", &["decode", "plane", "net"]),
    ("cut", &["decode", "plane"]),
    ("classify", &["decode", "cut", "net", "grid"]),
    ("decide", &["classify", "prove", "grid"]),
    ("lift", &["grid", "plane", "net", "decode", "prove", "find", "label", "cut", "classify", "decide"]),
    ("export", &["lift", "decide", "walk", "prove", "grid", "plane"]),
    ("picture", &["lift", "decide", "decode", "plane", "grid"]),
    ("sheet", &["walk", "grid"]),
    ("shelf", &["lift", "export", "walk", "grid"]),
    ("desk", &["lift", "export", "picture", "sheet", "shelf", "walk", "prove", "plane", "grid"]),
    ("cli", &["*"]),
    ("main.rs", &["cli"]),
];

#[test]
fn imports_go_down() {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut faults = Vec::new();
    let mut seen = BTreeSet::new();
    for path in files_below(&source) {
        let below = path.strip_prefix(&source).expect("it lies below src");
        let room = below.components().next().expect("a name").as_os_str().to_str().expect("an ASCII name");
        if room == "lib.rs" {
            continue;
        }
        let Some((_, allowed)) = MAY_IMPORT.iter().find(|(name, _)| *name == room) else {
            faults.push(format!("{}: the room {room} is not in the table", below.display()));
            continue;
        };
        let text = fs::read_to_string(&path).expect("source is text");
        for (line, other) in imports(&text) {
            seen.insert(other.clone());
            if other != room && *allowed != ["*"] && !allowed.contains(&other.as_str()) {
                faults.push(format!("{}:{line}: {room} may not import {other}", below.display()));
            }
        }
    }
    assert!(faults.is_empty(), "\n{}", faults.join("\n"));
    assert!(seen.contains("decode") && seen.contains("plane"), "the imports were looked at: {seen:?}");
}

/// The rooms named after `crate::` (or the library's name) in code, with their line numbers. Comments don't count:
/// documentation may point anywhere.
fn imports(text: &str) -> Vec<(usize, String)> {
    let mut found = Vec::new();
    for (number, line) in (1..).zip(text.lines()) {
        let code = line.split("//").next().unwrap_or_default();
        for prefix in ["crate::", "gridlift::"] {
            for after in code.split(prefix).skip(1) {
                let names = match after.strip_prefix('{') {
                    Some(list) => list.split('}').next().unwrap_or_default().split(',').map(first_word).collect(),
                    None => vec![first_word(after)],
                };
                found.extend(names.into_iter().filter(|name| !name.is_empty()).map(|name| (number, name)));
            }
        }
    }
    found
}

fn first_word(text: &str) -> String {
    text.trim_start().chars().take_while(|c| c.is_ascii_alphanumeric() || *c == '_').collect()
}

fn files_below(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).expect("src can be read") {
        let path = entry.expect("src can be read").path();
        if path.is_dir() {
            files.extend(files_below(&path));
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            files.push(path);
        }
    }
    files
}

#[test]
fn the_table_is_the_documented_one() {
    let text = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("DEVELOPERS.md")).expect("DEVELOPERS.md");
    let documented: Vec<(String, Vec<String>)> = text.lines().filter_map(row).collect();
    let expected: Vec<(String, Vec<String>)> =
        MAY_IMPORT.iter().map(|(room, others)| ((*room).to_owned(), others.iter().map(|&other| other.to_owned()).collect())).collect();
    assert_eq!(documented, expected);
}

/// Room and imports of one line of the documented table: `| layer | `room` | what it does | may import |`.
fn row(line: &str) -> Option<(String, Vec<String>)> {
    let columns: Vec<&str> = line.split('|').map(str::trim).collect();
    let ["", layer, room, _, others, ""] = columns.as_slice() else { return None };
    layer.parse::<u8>().ok()?;
    let others = match *others {
        "nothing" => Vec::new(),
        "everything" => vec!["*".to_owned()],
        list => list.split(", ").map(str::to_owned).collect(),
    };
    Some((room.trim_matches('`').to_owned(), others))
}

#[test]
fn imports_are_found() {
    let text = "use crate::plane::Point; // crate::walk\nuse crate::{grid::Cell, net};\nlet x = crate::prove::solve();";
    let rooms: Vec<_> = imports(text).into_iter().map(|(line, room)| format!("{line} {room}")).collect();
    assert_eq!(rooms, ["1 plane", "2 grid", "2 net", "3 prove"]);
}
