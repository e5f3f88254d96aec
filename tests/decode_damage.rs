//! Damaged files of every format: a page or a typed error, never a panic.

use std::fs;
use std::path::Path;

use gridlift::decode::{Damage, Options, open};
use proptest::prelude::*;

const FILES: [&str; 7] = ["animated.webp", "cmyk.jpg", "one_bit.png", "palette.png", "progressive.jpg", "restarts.jpg", "two_pages.tiff"];

fn file(name: &str) -> Vec<u8> {
    fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data").join(name)).expect("the file is there")
}

/// The damage of the page, if there is one.
fn decode(bytes: &[u8]) -> Option<Vec<Damage>> {
    let options = Options { limit_pixels: 1_000_000, colour: true };
    open(bytes, &options).ok()?.next()?.ok().map(|page| page.damage)
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
        assert_eq!(decode(&whole), Some(Vec::new()), "{name}");
        // The last few bytes may be an end mark or an index that no pixel needs; the second page of a TIFF may
        // be cut without harm to the first.
        let needed = if name == "two_pages.tiff" { whole.len() / 2 } else { whole.len() };
        for end in (1..needed * 9 / 10).step_by(7) {
            if let Some(damage) = decode(&whole[..end]) {
                assert!(!damage.is_empty(), "{name} cut to {end} of {} bytes", whole.len());
            }
        }
    }
}
