//! A photo turned or mirrored must never be proven with other givens than printed.

#[allow(dead_code, reason = "shared by several tests, each of which uses a part")]
mod photos;

use gridlift::decide::Verdict;
use gridlift::decode::Page;
use gridlift::lift::Lifter;
use image::GrayImage;
use image::imageops::{flip_horizontal, rotate90, rotate180, rotate270};
use photos::photos;
use rayon::prelude::*;

fn changed(page: &Page, change: fn(&GrayImage) -> GrayImage) -> Page {
    let chroma = page.chroma.as_ref().map(|planes| planes.each_ref().map(change));
    Page { luma: change(&page.luma), chroma, ..page.clone() }
}

#[test]
fn turned_and_mirrored_photos_are_not_proven_wrong() {
    let Some(photos) = photos(&["printed", "filled", "folded"]) else { return };
    let lifter = Lifter::new().expect("the bundled weights");
    let kept: Vec<_> = photos.into_iter().filter(|photo| photo.kept_apart).collect();
    type Change = (&'static str, u16, fn(&GrayImage) -> GrayImage);
    let changes: [Change; 5] = [
        ("turned 90", 90, |image| rotate90(image)),
        ("turned 180", 180, |image| rotate180(image)),
        ("turned 270", 270, |image| rotate270(image)),
        ("mirrored", 0, |image| flip_horizontal(image)),
        ("mirrored and turned 90", 0, |image| rotate90(&flip_horizontal(image))),
    ];
    let mut wrong = Vec::new();
    for (name, degrees, change) in changes {
        let results: Vec<(bool, bool, Option<String>)> = kept
            .par_iter()
            .map(|photo| {
                let page = photo.page();
                let before = lifter.lift(&page).expect("the bundled networks run");
                let read = lifter.lift(&changed(&page, change)).expect("the bundled networks run");
                let largest = |grids: &[gridlift::lift::GridReading]| {
                    grids.iter().max_by(|a, b| a.lattice.pitch().total_cmp(&b.lattice.pitch())).cloned()
                };
                let Some(grid) = largest(&read.grids) else { return (false, false, None) };
                let own = largest(&before.grids).map_or(0, |grid| grid.turn.degrees());
                let proven = grid.reading.verdict == Verdict::Proven;
                let same = grid.reading.givens.as_ref().is_some_and(|board| board.to_string() == photo.givens);
                let turn = grid.turn.degrees() == (own + degrees) % 360;
                (proven, same && turn, (proven && !same).then(|| format!("{} {name}", photo.name)))
            })
            .collect();
        let count = |pick: fn(&(bool, bool, Option<String>)) -> bool| results.iter().filter(|r| pick(r)).count();
        println!("{name}: {} photos, {} proven, {} read exactly at the right turn", kept.len(), count(|r| r.0), count(|r| r.1));
        wrong.extend(results.into_iter().filter_map(|r| r.2));
    }
    assert!(wrong.is_empty(), "proven and wrong: {wrong:?}");
}
