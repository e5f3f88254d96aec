//! Printed sheets are lifted again: rendered, put through a camera model, and read by the library, each grid must come out `proven` and as
//! it was printed, and each solution `solved`.
//!
//! `SHEETS=500 cargo test --release --test sheet_again -- --nocapture` runs that many sheets of all layouts; the default is a share of them.
//! `FAULTS=FOLDER` keeps the pictures of pages with a fault there.

#[allow(dead_code, reason = "shared by several tests, each of which uses a part")]
#[path = "support/camera.rs"]
mod camera;
#[path = "support/puzzles.rs"]
mod puzzles;

use std::collections::BTreeMap;

use camera::CAREFUL;
use gridlift::decide::{Flag, Verdict};
use gridlift::lift::Lifter;
use gridlift::prove::prove;
use gridlift::sheet::{Ground, Heading, Layout, Link, Notes, Order, Page, Paper, PerPage, Print, Puzzle, Solutions, pixels, puzzle_pages};
use image::GrayImage;
use puzzles::{Numbers, sound};
use rayon::prelude::*;

/// Sheets that every run lifts again.
const FEWEST: usize = 14;
/// Dots to the inch that the camera sees of the sheet: a page filling most of a phone's picture has more.
const DOTS_PER_INCH: f32 = 150.0;

/// Every layout that there is room for, each with and without title and link.
fn layouts() -> Vec<(Layout, Heading)> {
    let mut layouts = Vec::new();
    for (number, per_page) in PerPage::ALL.into_iter().cycle().take(48).enumerate() {
        let pick = |period: usize| number / 4 / period % 2 == 1;
        let print = if pick(1) && per_page.count() < 4 { Print::Large } else { Print::Ordinary };
        let order = if pick(2) && per_page.count() < 6 && print == Print::Ordinary { Order::Booklet } else { Order::Flat };
        let notes = if pick(3) && (order == Order::Flat || per_page.count() < 4) { Notes::Ruled } else { Notes::Without };
        let solutions = if number % 5 == 1 { Solutions::UpsideDown } else { Solutions::Upright };
        let paper = if pick(5) || number % 3 == 1 { Paper::Letter } else { Paper::A4 };
        let title = (number % 3 != 0).then(|| format!("Orchard Hours, week {number}"));
        let link = (number % 4 == 3).then(|| Link::new(&format!("https://example.org/orchard/{number}")).expect("an address"));
        layouts.push((Layout { paper, per_page, print, notes, solutions, order }, Heading { title, link }));
    }
    layouts
}

fn puzzles(count: usize, numbers: &mut Numbers) -> Vec<Puzzle> {
    let puzzle = |index: usize| {
        let givens = sound(numbers, 8);
        let solution = prove(&givens).solution.expect("a sound puzzle");
        let credit = Some("Orchard Hours, Pear Tree Press, 2026. May be copied for its readers".into());
        Puzzle { label: (index + 1).to_string(), givens, solution, credit }
    };
    (0..count).map(puzzle).collect()
}

fn rendered(page: &Page, dots_per_inch: f32) -> GrayImage {
    let pixels = pixels(page, dots_per_inch / 72.0, Ground::Paper).expect("a page of paper");
    // Rec. 601, as JPEG has it; sheets of puzzles are grey anyway.
    let grey = pixels.rgba.chunks_exact(4).map(|p| (0.299 * f32::from(p[0]) + 0.587 * f32::from(p[1]) + 0.114 * f32::from(p[2])) as u8);
    GrayImage::from_vec(pixels.width, pixels.height, grey.collect()).expect("a byte a pixel")
}

/// Keeps the picture of a page with a fault where `FAULTS` says.
fn keep(photo: &GrayImage, sheet: usize, title: &str) {
    if let Some(folder) = std::env::var_os("FAULTS") {
        let name = format!("sheet {sheet}, {}.png", title.replace(['|', '/'], "-"));
        photo.save(std::path::Path::new(&folder).join(name)).expect("room for a picture");
    }
}

#[test]
fn sheets_are_read_as_they_were_printed() {
    let count = std::env::var("SHEETS").ok().map_or(FEWEST, |count| count.parse().expect("SHEETS is a number"));
    let layouts = layouts();
    let lifter = Lifter::new().expect("the bundled weights");
    let results: Vec<(usize, usize, Vec<String>)> = (0..count)
        .into_par_iter()
        .map(|sheet| {
            let mut numbers = Numbers::new(sheet as u64 + 1);
            // Spread over all layouts however few are asked for.
            let (layout, heading) = &layouts[(sheet * 19) % layouts.len()];
            let puzzles = puzzles(layout.per_page.count(), &mut numbers);
            let pages = puzzle_pages(&puzzles, heading, layout).unwrap_or_else(|error| panic!("{layout:?}: {error}"));
            let mut printed: BTreeMap<String, usize> = BTreeMap::new();
            for puzzle in &puzzles {
                *printed.entry(puzzle.givens.to_string()).or_default() += 1;
                *printed.entry(puzzle.solution.to_string()).or_default() += 1;
            }
            let (grids, mut faults) = (printed.len(), Vec::new());
            for page in &pages {
                let photo = CAREFUL.take(&rendered(page, DOTS_PER_INCH), &mut numbers);
                let faults_before = faults.len();
                for (number, grid) in (1..).zip(lifter.lift(&photo).expect("the bundled networks run").grids) {
                    let reading = &grid.reading;
                    let givens = reading.givens.as_ref().map(ToString::to_string).unwrap_or_default();
                    let full = !givens.contains('.');
                    if reading.verdict != Verdict::Proven || full != reading.solved {
                        let told = |flag: &Flag| {
                            format!("{} {:?}: {:?} or {:?}, {:.0}", flag.cell, flag.reason, flag.read, flag.suggest, flag.odds)
                        };
                        let flags: Vec<String> = reading.flags.iter().map(told).collect();
                        let sheet = sheet + 1;
                        faults.push(format!(
                            "sheet {sheet}, {layout:?}, {}, grid {number}: {}, {givens}, {flags:?}",
                            page.title, reading.verdict
                        ));
                    }
                    match printed.get_mut(&givens) {
                        Some(left) if *left > 0 => *left -= 1,
                        _ => faults.push(format!("{layout:?}, {}, grid {number} was never printed: {givens}", page.title)),
                    }
                }
                if faults.len() > faults_before {
                    keep(&photo.luma, sheet + 1, &page.title);
                }
            }
            faults.extend(printed.iter().filter(|(_, left)| **left > 0).map(|(line, _)| format!("{layout:?}: not found: {line}")));
            (pages.len(), grids, faults)
        })
        .collect();
    let pages: usize = results.iter().map(|result| result.0).sum();
    let grids: usize = results.iter().map(|result| result.1).sum();
    let clean = results.iter().filter(|result| result.2.is_empty()).count();
    println!("{clean} of {count} sheets ({pages} pages, {grids} grids) read as printed, every grid proven");
    let faults: Vec<&String> = results.iter().flat_map(|result| &result.2).collect();
    assert!(faults.is_empty(), "\n{}", faults.iter().map(|fault| fault.as_str()).collect::<Vec<_>>().join("\n"));
}

#[test]
fn a_photographed_code_leads_to_its_address() {
    let mut numbers = Numbers::new(7);
    for (layout, heading) in layouts().into_iter().filter(|(_, heading)| heading.link.is_some()) {
        let pages = puzzle_pages(&puzzles(1, &mut numbers), &heading, &layout).expect("room");
        // A telephone's picture of a page has twice the dots that the lifting is tested with.
        let photo = CAREFUL.take(&rendered(&pages[0], 2.0 * DOTS_PER_INCH), &mut numbers).luma;
        let dark = |x: usize, y: usize| photo.get_pixel(x as u32, y as u32).0[0];
        let mut prepared = rqrr::PreparedImage::prepare_from_greyscale(photo.width() as usize, photo.height() as usize, dark);
        let read: Vec<String> = prepared.detect_grids().iter().filter_map(|code| Some(code.decode().ok()?.1)).collect();
        let address = heading.link.as_ref().map(Link::address).expect("those with a link");
        assert!(!read.is_empty() && read.iter().all(|read| read == address), "{layout:?}: {read:?} is not {address}");
    }
}
