//! Damaged files of every format: a page or a typed error, never a panic.

use std::fs;
use std::path::Path;

use gridlift::decode::{Damage, DecodeError, Options, open};
use proptest::prelude::*;

const FILES: [&str; 8] =
    ["animated.webp", "cmyk.jpg", "four_ways.tiff", "one_bit.png", "palette.png", "progressive.jpg", "restarts.jpg", "two_pages.tiff"];

fn file(name: &str) -> Vec<u8> {
    fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data").join(name)).expect("the file is there")
}

/// What became of each page: its damage, or why it can't be decoded.
fn decode(bytes: &[u8]) -> Vec<Result<Vec<Damage>, DecodeError>> {
    let options = Options { limit_pixels: 1_000_000, colour: true };
    match open(bytes, &options) {
        Ok(pages) => pages.map(|page| page.map(|page| page.damage)).collect(),
        Err(error) => vec![Err(error)],
    }
}

proptest! {
    #[test]
    fn changed_bytes_never_panic(which in 0..FILES.len(), changes in prop::collection::vec((any::<usize>(), any::<u8>()), 1..12), end in any::<usize>()) {
        let mut bytes = file(FILES[which]);
        for (place, value) in changes {
            let length = bytes.len();
            bytes[place % length] = value;
        }
        // Half of them are cut, too.
        let keep = end % (2 * bytes.len());
        bytes.truncate(keep.max(1));
        decode(&bytes);
    }
}

#[test]
fn a_cut_file_is_never_taken_for_whole() {
    for name in FILES {
        let whole = file(name);
        // Of the pages that can't be read as they are, cutting says nothing.
        let unread = |page: &Result<_, DecodeError>| matches!(page, Err(DecodeError::Unsupported { .. }));
        let pages = decode(&whole);
        assert!(pages.iter().all(|page| unread(page) || *page == Ok(Vec::new())), "{name}: {pages:?}");
        // The last few bytes may be an end mark or an index that no pixel needs.
        for end in (1..whole.len() * 9 / 10).step_by(7) {
            let pages = decode(&whole[..end]);
            let told = |page: &Result<Vec<Damage>, _>| !unread(page) && *page != Ok(Vec::new());
            assert!(pages.iter().any(told), "{name} cut to {end} of {} bytes: {pages:?}", whole.len());
        }
    }
}
