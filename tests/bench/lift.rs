//! How long `lift` takes, stage by stage. `scripts/bench/measure.py` drives it beside other libraries in one run:
//! `--serve` answers each path on standard input with its milliseconds, `--start` does nothing but the first look at a page, with the one network that this needs.
//! By hand: `cargo bench --bench lift -- PHOTO...`.

use std::io::{self, BufRead, Write};
use std::sync::Arc;
use std::time::Instant;

use gridlift::decode::{Options, Page, Pages};
use gridlift::find::Finder;
use gridlift::lift::Lifter;
use image::GrayImage;

const STAGES: [&str; 5] = ["decode", "find", "read", "label", "whole"];

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).filter(|argument| argument != "--bench").collect();
    if arguments.first().is_some_and(|argument| argument == "--start") {
        let luma = GrayImage::from_pixel(640, 480, image::Luma([200]));
        let page = Page { number: 1, luma, chroma: None, damage: Vec::new(), digits: Vec::new() };
        Finder::from_onnx(include_bytes!("../../models/find.onnx"))?.glance(&page)?;
        return Ok(());
    }
    let lifter = Lifter::new()?;
    match arguments.first().map(String::as_str) {
        Some("--serve") => {
            for path in io::stdin().lock().lines() {
                let took = lift(&lifter, &path?)?;
                println!("{}", took.map(|ms| format!("{ms:.4}")).join(" "));
                io::stdout().flush()?;
            }
        }
        _ => {
            println!("milliseconds: {}", STAGES.join(", "));
            for path in &arguments {
                let mut rounds = (0..7).map(|_| lift(&lifter, path)).collect::<Result<Vec<_>, _>>()?;
                rounds.sort_by(|a, b| a[4].total_cmp(&b[4]));
                println!("{path} {}", rounds[3].map(|ms| format!("{ms:.1}")).join(" "));
            }
        }
    }
    Ok(())
}

/// The milliseconds of each of `STAGES`, on this thread.
fn lift(lifter: &Lifter, path: &str) -> Result<[f64; 5], Box<dyn std::error::Error>> {
    let bytes = std::fs::read(path)?;
    let start = Instant::now();
    let pages = Pages::new(Arc::new(bytes), &Options { colour: true, ..Options::default() })?;
    let times = lifter.lift_page(&pages, 1)?.times;
    Ok([times.decode, times.find, times.read, times.label, start.elapsed().as_secs_f64() * 1e3])
}
