//! Lifts drawn pages and holds the readings against their truth: `judge_pages [--rows OUT.jsonl] [--weights DIR] [--labels] FOLDER...`.
//!
//! Prints a table with a line for each FOLDER (of `scripts/pages/generate.py`, or of photographs with their `truth.jsonl`) and every grid that is `proven` and wrong, or called
//! misprinted and sound; `--rows` writes one line for each grid read, for `thresholds.py` and `reliability.py` of `scripts/trust`; `--weights` takes networks and thresholds
//! from DIR in place of the bundled ones; `--labels` names every label that was read otherwise than printed.
//!
//! Shares are of the **open** grids: those that lie wholly in the picture, are of our rules, have no cell that the truth calls `x`
//! (covered) and are printed without a fault. Grids that aren't open can't be `proven` by definition; wrong ones among them count all the same.

#[path = "truth.rs"]
mod truth;

use std::path::{Path, PathBuf};

use anyhow::{Context, Result};
use gridlift::decide::{Mark, Reason, Verdict};
use gridlift::decode::{Options, open};
use gridlift::grid::{Board, Cell};
use gridlift::lift::{GridReading, Lifter};
use gridlift::plane::Point;
use gridlift::prove;
use rayon::prelude::*;
use serde_json::{Value, json};
use truth::{close, middle, middle_of};

#[derive(Default)]
struct Tally {
    grids: usize,
    open: usize,
    found: usize,
    exact: usize,
    proven: usize,
    /// Handwritten digits of open grids, those read as written, and those taken for print.
    written: usize,
    written_right: usize,
    written_as_print: usize,
    turned_right: usize,
    /// Labels as printed, or none where none is printed; none where one is printed; all that aren't as printed.
    labels_right: usize,
    labels_missed: usize,
    labels_off: Vec<String>,
    invented: usize,
    other_rules_proven: usize,
    /// Grids whose print is unsound, and those of them that were called misprinted and named the cell or a second solution.
    unsound: usize,
    misprinted: usize,
    /// Grids proven or called misprinted that aren't what was read.
    wrong: Vec<String>,
    rows: Vec<Value>,
    /// Probability of what was read in a cell, and whether it was right.
    cells: Vec<(f64, bool)>,
}

struct Call {
    folders: Vec<PathBuf>,
    rows: Option<PathBuf>,
    weights: Option<PathBuf>,
    labels: bool,
}

fn parse() -> Result<Call> {
    let mut call = Call { folders: Vec::new(), rows: None, weights: None, labels: false };
    let mut words = std::env::args().skip(1);
    while let Some(word) = words.next() {
        match word.as_str() {
            "--rows" => call.rows = Some(words.next().context("--rows OUT.jsonl")?.into()),
            "--weights" => call.weights = Some(words.next().context("--weights DIR")?.into()),
            "--labels" => call.labels = true,
            _ => call.folders.push(word.into()),
        }
    }
    anyhow::ensure!(!call.folders.is_empty(), "judge_pages [--rows OUT.jsonl] [--weights DIR] [--labels] FOLDER...");
    Ok(call)
}

fn lifter(weights: Option<&Path>) -> Result<Lifter> {
    let Some(folder) = weights else { return Ok(Lifter::new()?) };
    let read = |name: &str| std::fs::read(folder.join(name)).with_context(|| format!("{name} in {}", folder.display()));
    Ok(Lifter::from_parts(
        &read("find.onnx")?,
        &[&read("classify.onnx")?, &read("second.onnx")?, &read("third.onnx")?, &read("fine.onnx")?],
        &read("alike.onnx")?,
        [&read("label_place.onnx")?, &read("label_text.onnx")?],
        &String::from_utf8(read("thresholds.json")?)?,
    )?)
}

fn main() -> Result<()> {
    let call = parse()?;
    let lifter = lifter(call.weights.as_deref())?;
    let mut rows = String::new();
    let mut cells: Vec<(f64, bool)> = Vec::new();
    println!(
        "| pages | number | grids | open | found | givens exact | proven | turn right | label right | label missed | label wrong | invented | other rules proven | misprints called so | wrong | entries right | entries as print |"
    );
    println!("|{}", " --- |".repeat(17));
    for folder in &call.folders {
        let text = std::fs::read_to_string(folder.join("truth.jsonl")).with_context(|| folder.display().to_string())?;
        let pages: Vec<Value> = text.lines().map(serde_json::from_str).collect::<Result<_, _>>()?;
        let tallies: Vec<Tally> = pages.par_iter().map(|page| judge(&lifter, folder, page)).collect::<Result<_>>()?;
        let sum = |pick: fn(&Tally) -> usize| tallies.iter().map(pick).sum::<usize>();
        let open = sum(|t| t.open);
        let share = |count: usize| format!("{count} ({:.1} %)", 100.0 * count as f64 / open.max(1) as f64);
        let wrong: Vec<&String> = tallies.iter().flat_map(|t| &t.wrong).collect();
        println!(
            "| {} | {} | {} | {open} | {} | {} | {} | {} | {} | {} | {} | {} | {} | {} of {} | {} | {} of {} | {} |",
            folder.file_name().unwrap_or_default().display(),
            pages.len(),
            sum(|t| t.grids),
            share(sum(|t| t.found)),
            share(sum(|t| t.exact)),
            share(sum(|t| t.proven)),
            share(sum(|t| t.turned_right)),
            share(sum(|t| t.labels_right)),
            sum(|t| t.labels_missed),
            sum(|t| t.labels_off.len() - t.labels_missed),
            sum(|t| t.invented),
            sum(|t| t.other_rules_proven),
            sum(|t| t.misprinted),
            sum(|t| t.unsound),
            wrong.len(),
            sum(|t| t.written_right),
            sum(|t| t.written),
            sum(|t| t.written_as_print),
        );
        wrong.iter().for_each(|line| println!("wrong: {line}"));
        if call.labels {
            tallies.iter().flat_map(|t| &t.labels_off).for_each(|line| println!("label: {line}"));
        }
        cells.extend(tallies.iter().flat_map(|t| &t.cells));
        rows.extend(tallies.iter().flat_map(|t| &t.rows).map(|row| format!("{row}\n")));
    }
    print_flags(&rows)?;
    print_calibration(&cells);
    if let Some(file) = call.rows {
        std::fs::write(file, rows)?;
    }
    Ok(())
}

/// Of the grids that aren't exactly right, the wrong cells that carry a flag, and how many flags a grid has; a grid called unreadable has none, and needs none.
fn print_flags(rows: &str) -> Result<()> {
    let rows: Vec<Value> = rows.lines().map(serde_json::from_str).collect::<Result<_, _>>()?;
    let inexact: Vec<&Value> =
        rows.iter().filter(|row| row["exact"] == false && row["verdict"] != "unreadable" && row["open"] == true).collect();
    let sum = |key: &str| inexact.iter().filter_map(|row| row[key].as_u64()).sum::<u64>();
    let mut flags: Vec<usize> = inexact.iter().map(|row| row["flags"].as_array().map_or(0, Vec::len)).collect();
    flags.sort_unstable();
    println!(
        "open grids not exactly right: {} (and {} unreadable); {} of {} wrong cells carry a flag; flags a grid: median {}, most {}",
        inexact.len(),
        rows.iter().filter(|row| row["verdict"] == "unreadable" && row["open"] == true).count(),
        sum("wrong_flagged"),
        sum("wrong_cells"),
        flags.get(flags.len() / 2).copied().unwrap_or_default(),
        flags.last().copied().unwrap_or_default(),
    );
    Ok(())
}

/// The reliability of cells below 0.999 in 15 bins of equal width, and their expected calibration error (Guo et al. 2017).
fn print_calibration(cells: &[(f64, bool)]) {
    const BINS: usize = 15;
    let unsure: Vec<&(f64, bool)> = cells.iter().filter(|(p, _)| *p < 0.999).collect();
    let mut error = 0.0;
    println!("cells below 0.999: {} of {}; probability said, share right, cells:", unsure.len(), cells.len());
    for bin in 0..BINS {
        let inside: Vec<_> = unsure.iter().filter(|(p, _)| ((p * BINS as f64) as usize).min(BINS - 1) == bin).collect();
        if inside.is_empty() {
            continue;
        }
        let count = inside.len() as f64;
        let said = inside.iter().map(|(p, _)| p).sum::<f64>() / count;
        let right = inside.iter().filter(|(_, right)| *right).count() as f64 / count;
        error += (said - right).abs() * count / unsure.len() as f64;
        println!("  {said:.3} {right:.3} {}", inside.len());
    }
    println!("calibration error {:.2} %", 100.0 * error);
}

fn judge(lifter: &Lifter, folder: &Path, truth: &Value) -> Result<Tally> {
    let photo = truth["photo"].as_str().context("no photo")?;
    let bytes = std::fs::read(folder.join(photo)).with_context(|| photo.to_owned())?;
    let page = open(&bytes, &Options { colour: true, ..Options::default() })?.next().context("no page")??;
    let read = lifter.lift(&page)?;
    let mut tally = Tally::default();
    let of_photo = [of_photo(truth)];
    // Of a photograph the largest grid is told about, and nothing of where it lies.
    let drawn = truth["grids"].as_array();
    let grids: Vec<&Value> = drawn.into_iter().flatten().chain(of_photo.iter().filter(|_| drawn.is_none())).collect();
    let largest = read.grids.iter().map(|grid| grid.lattice.pitch()).fold(0.0, f32::max);
    let lies_on = |grid: &GridReading, truth: &Value| match drawn {
        Some(_) => middle(&grid.lattice).distance(middle_of(truth)) < 3.0 * grid.lattice.pitch(),
        None => grid.lattice.pitch() == largest,
    };
    // Irregular regions and the like have no truth of their own, but a place: they may be told as such.
    let strangers = || read.grids.iter().filter(|_| drawn.is_some()).filter(|grid| !grids.iter().any(|truth| lies_on(grid, truth)));
    let told_apart = |grid: &&GridReading| {
        let says_so = grid.reading.verdict == Verdict::Doubtful && grid.reading.flags.iter().any(|flag| flag.reason == Reason::OtherRules);
        says_so && truth["foreign"].as_array().into_iter().flatten().any(|foreign| is_irregular(foreign, grid))
    };
    tally.invented = strangers().filter(|grid| !told_apart(grid)).count();
    for grid in strangers().filter(|grid| matches!(grid.reading.verdict, Verdict::Proven | Verdict::Misprinted)) {
        tally.other_rules_proven += 1;
        tally.wrong.push(format!(
            "{}: {} at {:.6} where no grid of ours is",
            folder.join(photo).display(),
            grid.reading.verdict,
            grid.reading.confidence
        ));
    }
    for truth in grids {
        tally.grids += 1;
        let covered = truth["cells"].as_array().into_iter().flatten().any(|cell| cell == "x");
        let whole = truth["whole"] == true && truth["rules"] == "plain" && !covered;
        let printed = truth["givens"].as_str().unwrap_or_default();
        let unsound = truth["misprint"].is_object() && printed.parse::<Board>().is_ok_and(|board| prove::count(&board, 2) != 1);
        let open = whole && !unsound;
        tally.open += usize::from(open);
        tally.unsound += usize::from(unsound && whole);
        let Some(grid) = read.grids.iter().find(|grid| lies_on(grid, truth)) else { continue };
        let reading = &grid.reading;
        let givens = reading.givens.as_ref().map(ToString::to_string);
        let exact = givens.as_deref() == Some(printed);
        let proven = reading.verdict == Verdict::Proven;
        let misprinted = reading.verdict == Verdict::Misprinted;
        tally.other_rules_proven += usize::from(proven && truth["rules"] != "plain");
        let turn = truth["turn"].as_u64() == Some(u64::from(grid.turn.degrees()));
        if open {
            tally.found += 1;
            tally.exact += usize::from(exact);
            tally.proven += usize::from(proven);
            tally.turned_right += usize::from(turn);
            let (read, printed) = (grid.label.as_ref().map(|label| close(&label.text)), truth["label"].as_str().map(close));
            tally.labels_right += usize::from(read == printed);
            tally.labels_missed += usize::from(read.is_none() && printed.is_some());
            if read != printed {
                let sure = grid.label.as_ref().map_or(0.0, |label| label.confidence);
                tally.labels_off.push(format!("{photo}: {read:?} at {sure:.3} for {printed:?}"));
            }
        }
        if unsound && whole {
            let spoiled = truth["misprint"]["cell"].as_str().and_then(|name| name.parse::<Cell>().ok());
            // Where the truth names no cell, what clashes as it is printed is named rightly.
            let clashing = spoiled.map_or(exact && !reading.conflict.is_empty(), |cell| reading.conflict.contains(&cell));
            let named = reading.second.is_some() || clashing;
            tally.misprinted += usize::from(misprinted && named);
        }
        let truths = truth["cells"].as_array().into_iter().flatten().filter(|_| whole && (turn || drawn.is_none()));
        let cells: Vec<(f64, bool)> = reading
            .cells
            .iter()
            .zip(truths)
            .map(|(cell, truth)| (cell.probability, truth.as_str() == Some(&cell.read.to_string())))
            .collect();
        let unsure: Vec<&(f64, bool)> = cells.iter().filter(|(p, _)| *p < 0.999).collect();
        if open {
            for (cell, entry) in reading.cells.iter().zip(truth["entries"].as_str().unwrap_or_default().chars()) {
                tally.written += usize::from(entry != '.');
                tally.written_right += usize::from(entry != '.' && cell.read.to_string() == format!("e{entry}"));
                tally.written_as_print += usize::from(entry != '.' && matches!(cell.read, Mark::Given(_)));
            }
        }
        if proven && !exact || misprinted && !unsound {
            let at = format!("{} {} at {:.6}", folder.join(photo).display(), reading.verdict, reading.confidence);
            tally.wrong.push(format!("{at}: {}", differences(givens.as_deref().unwrap_or_default(), printed)));
        }
        let flags: Vec<String> = reading.flags.iter().map(|flag| flag.reason.to_string()).collect();
        let (wrong_cells, unflagged) = wrong_cells(grid, printed);
        tally.rows.push(json!({
            "photo": photo, "folder": folder.display().to_string(), "level": truth["level"], "exact": exact, "open": open, "turn": turn,
            "uneven": grid.shot.picture.uneven, "seen": grid.shot.picture.seen, "boxes": grid.shot.picture.boxes, "rules": truth["rules"], "other_rules": grid.shot.picture.other_rules, "solutions": reading.solutions, "solved": truth["solved"], "written": truth["entries"].as_str().is_some_and(|entries| entries.contains(|c| c != '.')),
            "verdict": reading.verdict.to_string(), "confidence": reading.confidence, "flags": flags, "pitch": grid.lattice.pitch(),
            "wrong_cells": wrong_cells, "wrong_flagged": wrong_cells - unflagged.len(), "unflagged": unflagged, "unsure": unsure,
        }));
        tally.cells.extend(cells);
    }
    Ok(tally)
}

/// Whether a grid lies where one with irregular regions is drawn.
fn is_irregular(foreign: &Value, grid: &GridReading) -> bool {
    let corner = |n: usize| {
        Point::new(
            foreign["corners"][n][0].as_f64().unwrap_or_default() as f32,
            foreign["corners"][n][1].as_f64().unwrap_or_default() as f32,
        )
    };
    foreign["kind"] == "irregular" && corner(0).toward(corner(2), 0.5).distance(middle(&grid.lattice)) < 3.0 * grid.lattice.pitch()
}

/// The truth about a photograph's main grid, in the form of drawn ones.
fn of_photo(truth: &Value) -> Value {
    let line = |key: &str| truth[key].as_str().unwrap_or_default().chars();
    let cells: Vec<String> = line("givens")
        .zip(line("entries"))
        .map(|(given, entry)| if given == '.' && entry != '.' { format!("e{entry}") } else { given.to_string() })
        .collect();
    json!({ "givens": truth["givens"], "entries": truth["entries"], "cells": cells, "whole": true, "rules": "plain", "solved": false })
}

/// The number of cells whose given isn't as printed, and those of them that carry no flag: the cell, what is printed, what was read and its probability.
fn wrong_cells(grid: &GridReading, printed: &str) -> (usize, Vec<String>) {
    let Some(givens) = grid.reading.givens.as_ref().map(ToString::to_string) else { return (0, Vec::new()) };
    let cells = Cell::ALL.into_iter().zip(givens.bytes().zip(printed.bytes()));
    let wrong: Vec<(Cell, u8, u8)> =
        cells.filter(|(_, (read, true_))| read != true_).map(|(cell, (read, true_))| (cell, read, true_)).collect();
    let unflagged = wrong.iter().filter(|(cell, ..)| !grid.reading.flags.iter().any(|flag| flag.cell == *cell));
    let told = unflagged.map(|&(cell, read, true_)| {
        let reading = &grid.reading.cells[cell.index()];
        format!("{cell} {} as {} ({}) at {:.4}", char::from(true_), char::from(read), reading.read, reading.probability)
    });
    (wrong.len(), told.collect())
}

fn differences(read: &str, printed: &str) -> String {
    let pairs = read.chars().zip(printed.chars()).enumerate().filter(|(_, (read, printed))| read != printed);
    let told: Vec<String> =
        pairs.map(|(i, (read, printed))| format!("r{}c{} {read} for {printed}", i / 9 + 1, i % 9 + 1)).take(5).collect();
    told.join(", ")
}
