//! Takes several shots of one grid together and holds the readings against their truth: `judge_shots [--even|--odd] FOLDER...`.
//!
//! A FOLDER is one of `scripts/pages/generate.py --shots N` or of photographs, with a `truth.jsonl`; grids with equal givens in one folder are shots
//! of one puzzle (of photographs, which tell of the largest grid only, by image number even or odd, and not of `full/`). Prints
//! how alike shots of one and of two puzzles are, and how many readings of one, two and three shots are exact, proven, and wrong.

use std::collections::BTreeMap;
use std::path::Path;

use anyhow::{Context, Result};
use gridlift::decide::{CellReading, Mark, Shot, Thresholds, Verdict, decide_together, likeness};
use gridlift::decode::{Options, open};
use gridlift::lift::{GridReading, Lifter};
use gridlift::plane::Point;
use rayon::prelude::*;
use serde_json::Value;

/// One grid of a photo, what is printed there, and which puzzle of which folder it shows.
struct Seen {
    grid: GridReading,
    printed: String,
    puzzle: String,
    photo: String,
}

fn main() -> Result<()> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let half = |number: u64| match words.first().map(String::as_str) {
        Some("--even") => number.is_multiple_of(2),
        Some("--odd") => !number.is_multiple_of(2),
        _ => true,
    };
    let lifter = Lifter::new()?;
    let thresholds: Thresholds = serde_json::from_str(include_str!("../../models/thresholds.json"))?;
    for folder in words.iter().filter(|word| !word.starts_with("--")) {
        let folder = Path::new(folder);
        let text = std::fs::read_to_string(folder.join("truth.jsonl")).with_context(|| folder.display().to_string())?;
        let truths: Vec<Value> = text.lines().map(serde_json::from_str).collect::<Result<_, _>>()?;
        let number = |truth: &Value| truth["photo"].as_str()?.chars().filter(char::is_ascii_digit).collect::<String>().parse().ok();
        let wanted = |truth: &&Value| truth["grids"].is_array() || number(truth).is_some_and(half);
        let truths: Vec<&Value> = truths.iter().filter(wanted).filter(|truth| !truth["photo"].to_string().contains("full/")).collect();
        let seen: Vec<Seen> =
            truths.par_iter().map(|truth| see(&lifter, folder, truth)).collect::<Result<Vec<_>>>()?.into_iter().flatten().collect();
        println!("{}: {} grids of {} photos", folder.display(), seen.len(), truths.len());
        print_likeness(&seen);
        let mut puzzles: BTreeMap<&str, Vec<&Seen>> = BTreeMap::new();
        seen.iter().for_each(|seen| puzzles.entry(&seen.puzzle).or_default().push(seen));
        for together in 1..=3 {
            print_together(&puzzles, together, &thresholds);
        }
    }
    Ok(())
}

fn see(lifter: &Lifter, folder: &Path, truth: &Value) -> Result<Vec<Seen>> {
    let photo = truth["photo"].as_str().context("no photo")?;
    let bytes = std::fs::read(folder.join(photo)).with_context(|| photo.to_owned())?;
    let page = open(&bytes, &Options { colour: true, ..Options::default() })?.next().context("no page")??;
    let read = lifter.lift(&page)?;
    let of = |truth: &Value, grid: GridReading| {
        let printed = truth["givens"].as_str().unwrap_or_default().to_owned();
        let kind = photo.split('/').next().filter(|_| photo.contains('/')).unwrap_or_default();
        Seen { puzzle: format!("{kind} {printed}"), printed, grid, photo: photo.to_owned() }
    };
    let Some(drawn) = truth["grids"].as_array() else {
        let largest = read.grids.into_iter().max_by(|a, b| a.lattice.pitch().total_cmp(&b.lattice.pitch()));
        return Ok(largest.map(|grid| of(truth, grid)).into_iter().collect());
    };
    let middle = |lattice: &[[Point; 10]; 10]| lattice[4][4].toward(lattice[5][5], 0.5);
    let sound = |truth: &&Value| truth["rules"] == "plain" && truth["misprint"].is_null();
    let lies_on = |grid: &GridReading, truth: &Value| {
        let at = |n: usize| &truth["lattice"][n][n];
        let point = |value: &Value| Point::new(value[0].as_f64().unwrap_or_default() as f32, value[1].as_f64().unwrap_or_default() as f32);
        middle(&grid.lattice.points).distance(point(at(4)).toward(point(at(5)), 0.5)) < 3.0 * grid.lattice.pitch()
    };
    Ok(drawn
        .iter()
        .filter(sound)
        .filter_map(|truth| Some(of(truth, read.grids.iter().find(|grid| lies_on(grid, truth))?.clone())))
        .collect())
}

/// The least and other likenesses of shots of one puzzle, and the greatest of two.
fn print_likeness(seen: &[Seen]) {
    let pairs: Vec<(&Seen, &Seen)> =
        seen.iter().enumerate().flat_map(|(i, one)| seen[i + 1..].iter().map(move |other| (one, other))).collect();
    let scores: Vec<(bool, f64, &Seen, &Seen)> =
        pairs.par_iter().map(|(a, b)| (a.printed == b.printed, likeness(&a.grid.shot, &b.grid.shot), *a, *b)).collect();
    for same in [true, false] {
        let mut group: Vec<_> = scores.iter().filter(|score| score.0 == same).collect();
        group.sort_by(|a, b| if same { a.1.total_cmp(&b.1) } else { b.1.total_cmp(&a.1) });
        let told: Vec<String> = group
            .iter()
            .take(12)
            .map(|(_, score, a, b)| format!("{score:.0} ({} {}/{} {})", a.photo, a.grid.reading.verdict, b.photo, b.grid.reading.verdict))
            .collect();
        println!("  {} pairs of {} puzzle: {}", group.len(), if same { "one" } else { "two" }, told.join(" "));
    }
}

/// What came of shots that were taken together.
struct Taken {
    exact: bool,
    proven: bool,
    /// Whether one of them is proven alone.
    any_alone: bool,
    /// Probability of the given (or of none) that was read in each cell, and whether it is right.
    cells: Vec<(f64, bool)>,
}

/// Takes shots of one puzzle with neighbouring names together, so many at a time.
fn print_together(puzzles: &BTreeMap<&str, Vec<&Seen>>, together: usize, thresholds: &Thresholds) {
    let groups: Vec<&[&Seen]> = puzzles.values().filter(|shots| shots.len() >= 2).flat_map(|shots| shots.windows(together)).collect();
    let read: Vec<Taken> = groups.par_iter().map(|group| take(group, thresholds)).collect();
    let count = |of: fn(&Taken) -> bool| read.iter().filter(|taken| of(taken)).count();
    println!(
        "  {together} together: {} readings, {} exact, {} proven, {} wrong and proven; of {} with no shot proven alone, {} proven; {} lost a proven shot",
        read.len(),
        count(|taken| taken.exact),
        count(|taken| taken.proven),
        count(|taken| taken.proven && !taken.exact),
        count(|taken| !taken.any_alone),
        count(|taken| !taken.any_alone && taken.proven),
        count(|taken| taken.any_alone && !taken.proven),
    );
    let unsure: Vec<&(f64, bool)> = read.iter().flat_map(|taken| &taken.cells).filter(|(p, _)| *p < 0.99).collect();
    let mean = |sum: f64| sum / unsure.len().max(1) as f64;
    println!(
        "    cells below 0.99: {}, said {:.3}, right {:.3}",
        unsure.len(),
        mean(unsure.iter().map(|(p, _)| p).sum()),
        mean(unsure.iter().filter(|(_, right)| *right).count() as f64),
    );
}

fn take(group: &[&Seen], thresholds: &Thresholds) -> Taken {
    let reading = decide_together(&group.iter().map(|seen| &seen.grid.shot).collect::<Vec<&Shot>>(), thresholds);
    let printed = &group[0].printed;
    let is_given = |mark: &Mark| matches!(mark, Mark::Given(_));
    let cell = |cell: &CellReading, printed: char| match cell.read {
        Mark::Given(digit) => (cell.probability, digit.to_string() == printed.to_string()),
        _ => (cell.probability + cell.rivals.iter().filter(|(mark, _)| !is_given(mark)).map(|(_, p)| p).sum::<f64>(), printed == '.'),
    };
    Taken {
        exact: reading.givens.is_some_and(|board| board.to_string() == *printed),
        proven: reading.verdict == Verdict::Proven,
        any_alone: group.iter().any(|seen| seen.grid.reading.verdict == Verdict::Proven),
        cells: reading.cells.iter().zip(printed.chars()).map(|(read, printed)| cell(read, printed)).collect(),
    }
}
