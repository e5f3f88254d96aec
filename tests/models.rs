//! The weights are those that `models/checksums.txt` names: a swap, a cut download or a changed line ending shows here.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use sha2::{Digest, Sha256};

#[test]
fn the_weights_are_those_that_were_measured() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let list = fs::read_to_string(root.join("models/checksums.txt")).expect("models/checksums.txt");
    let mut listed = BTreeSet::new();
    for line in list.lines() {
        let (expected, name) = line.split_once("  ").expect("a checksum, two blanks and a name, as sha256sum writes them");
        let bytes = fs::read(root.join(name)).unwrap_or_else(|error| panic!("{name}: {error}"));
        let found: String = Sha256::digest(&bytes).iter().map(|byte| format!("{byte:02x}")).collect();
        assert_eq!(found, expected, "{name} is not what was measured; if that is meant: sha256sum models/*.onnx > models/checksums.txt");
        listed.insert(name.to_owned());
    }
    let files = fs::read_dir(root.join("models")).expect("the folder");
    let weights = files.map(|file| format!("models/{}", file.expect("an entry").file_name().display()));
    let weights: BTreeSet<String> = weights.filter(|name| name.ends_with(".onnx")).collect();
    assert_eq!(listed, weights, "each weights file has its line");
}
