//! The real photographs with their truth: B. Wicht, J. Hennebert, "Camera-based Sudoku recognition with Deep Belief Network", SoCPaR
//! 2014, and "Mixed handwritten and printed digit recognition in Sudoku with Convolutional Deep Belief Network", ICDAR 2015 (CC-BY-4.0).
//!
//! They are read from `PAGE_PHOTOS` (default `../shared/photos`). Where the folder is absent the tests say that they are skipped; in
//! CI (`CI=true`) a missing folder is a failure.

use std::path::PathBuf;

use gridlift::decode::{Options, Page, open};
use serde_json::Value;

/// One photograph and what is printed and written on it.
pub struct Photo {
    pub name: String,
    pub folder: String,
    /// Odd image number: nothing was trained or tuned on it. `folded/` is never trained on either.
    pub kept_apart: bool,
    pub givens: String,
    pub entries: String,
    path: PathBuf,
}

impl Photo {
    pub fn page(&self) -> Page {
        let bytes = std::fs::read(&self.path).expect("a photo that the truth names");
        open(&bytes, &Options { colour: true, ..Options::default() }).expect("a JPEG").next().expect("a page").expect("a whole page")
    }
}

/// The photos of `folders`, or `None`, said so, where they are absent.
pub fn photos(folders: &[&str]) -> Option<Vec<Photo>> {
    let root =
        std::env::var_os("PAGE_PHOTOS").map_or_else(|| PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../shared/photos"), PathBuf::from);
    let Ok(text) = std::fs::read_to_string(root.join("truth.jsonl")) else {
        assert!(std::env::var("CI").as_deref() != Ok("true"), "no photos at {}: set PAGE_PHOTOS", root.display());
        println!("skipped: no photos at {} (set PAGE_PHOTOS)", root.display());
        return None;
    };
    let all = text.lines().map(|line| {
        let truth: Value = serde_json::from_str(line).expect("a JSON line");
        let name = truth["photo"].as_str().expect("a photo's name").to_owned();
        let digits: String = name.chars().filter(char::is_ascii_digit).collect();
        let folder = name.split('/').next().unwrap_or_default().to_owned();
        let text = |key: &str| truth[key].as_str().unwrap_or_default().to_owned();
        Photo {
            kept_apart: folder == "folded" || digits.parse::<u32>().is_ok_and(|n| n % 2 == 1),
            path: root.join(&name),
            givens: text("givens"),
            entries: text("entries"),
            folder,
            name,
        }
    });
    Some(all.filter(|photo| folders.contains(&photo.folder.as_str())).collect())
}
