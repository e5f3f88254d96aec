//! Lifts drawn pages and holds the readings against their truth: `judge_pages FOLDER... [--rows OUT.jsonl]`.
//!
//! Prints a table with a line for each FOLDER (of `scripts/pages/generate.py`) and every grid that is `proven` and wrong; `--rows` writes one
//! line for each grid read, for `scripts/trust/thresholds.py`.

use std::path::Path;

use anyhow::{Context, Result};
use gridlift::decide::Verdict;
use gridlift::decode::{Options, open};
use gridlift::lift::{GridReading, Lifter};
use gridlift::plane::{Lattice, Point};
use rayon::prelude::*;
use serde_json::{Value, json};

#[derive(Default)]
struct Tally {
    grids: usize,
    whole: usize,
    found: usize,
    exact: usize,
    proven: usize,
    turned_right: usize,
    invented: usize,
    other_rules_proven: usize,
    wrong: Vec<String>,
    rows: Vec<Value>,
    /// Probability of what was read in a cell, and whether it was right.
    cells: Vec<(f64, bool)>,
}

fn main() -> Result<()> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let rows_at = arguments.iter().position(|word| word == "--rows");
    let folders = &arguments[..rows_at.unwrap_or(arguments.len())];
    anyhow::ensure!(!folders.is_empty(), "judge_pages FOLDER... [--rows OUT.jsonl]");
    let lifter = Lifter::new()?;
    let mut rows = String::new();
    let mut cells: Vec<(f64, bool)> = Vec::new();
    println!(
        "| pages | number | grids | whole | found | givens exact | proven | wrong proven | turn right | invented | other rules proven |"
    );
    println!("| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |");
    for folder in folders {
        let text = std::fs::read_to_string(Path::new(folder).join("truth.jsonl")).context(folder.clone())?;
        let pages: Vec<Value> = text.lines().map(serde_json::from_str).collect::<Result<_, _>>()?;
        let tallies: Vec<Tally> = pages.par_iter().map(|page| judge(&lifter, Path::new(folder), page)).collect::<Result<_>>()?;
        let sum = |pick: fn(&Tally) -> usize| tallies.iter().map(pick).sum::<usize>();
        let whole = sum(|t| t.whole);
        let share = |count: usize| format!("{count} ({:.1} %)", 100.0 * count as f64 / whole.max(1) as f64);
        let wrong: Vec<&String> = tallies.iter().flat_map(|t| &t.wrong).collect();
        println!(
            "| {folder} | {} | {} | {whole} | {} | {} | {} | {} | {} | {} | {} |",
            pages.len(),
            sum(|t| t.grids),
            share(sum(|t| t.found)),
            share(sum(|t| t.exact)),
            share(sum(|t| t.proven)),
            wrong.len(),
            share(sum(|t| t.turned_right)),
            sum(|t| t.invented),
            sum(|t| t.other_rules_proven),
        );
        wrong.iter().for_each(|line| println!("proven and wrong: {line}"));
        cells.extend(tallies.iter().flat_map(|t| &t.cells));
        rows.extend(tallies.iter().flat_map(|t| &t.rows).map(|row| format!("{row}\n")));
    }
    print_calibration(&cells);
    if let Some(at) = rows_at {
        std::fs::write(arguments.get(at + 1).context("--rows OUT.jsonl")?, rows)?;
    }
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
    let grids: Vec<&Value> = truth["grids"].as_array().into_iter().flatten().collect();
    let lies_on = |grid: &GridReading, truth: &Value| middle(&grid.lattice).distance(middle_of(truth)) < 3.0 * grid.lattice.pitch();
    tally.invented = read.grids.iter().filter(|grid| !grids.iter().any(|truth| lies_on(grid, truth))).count();
    for truth in grids {
        tally.grids += 1;
        let whole = truth["whole"] == true && truth["rules"] == "plain";
        tally.whole += usize::from(whole);
        let Some(grid) = read.grids.iter().find(|grid| lies_on(grid, truth)) else { continue };
        let givens = grid.reading.givens.as_ref().map(ToString::to_string);
        let exact = givens.as_deref() == truth["givens"].as_str();
        let proven = grid.reading.verdict == Verdict::Proven;
        tally.other_rules_proven += usize::from(proven && truth["rules"] != "plain");
        let turn = truth["turn"].as_u64() == Some(u64::from(grid.turn.degrees()));
        if whole {
            tally.found += 1;
            tally.exact += usize::from(exact);
            tally.proven += usize::from(proven);
            tally.turned_right += usize::from(turn);
        }
        if whole && turn {
            let truths = truth["cells"].as_array().into_iter().flatten();
            tally.cells.extend(
                grid.reading
                    .cells
                    .iter()
                    .zip(truths)
                    .map(|(cell, truth)| (cell.probability, truth.as_str() == Some(&cell.read.to_string()))),
            );
        }
        if proven && !exact {
            let told = givens.as_deref().unwrap_or_default();
            let differences: Vec<String> = told
                .chars()
                .zip(truth["givens"].as_str().unwrap_or_default().chars())
                .enumerate()
                .filter(|(_, (read, printed))| read != printed)
                .map(|(i, (read, printed))| format!("r{}c{} {read} for {printed}", i / 9 + 1, i % 9 + 1))
                .take(5)
                .collect();
            tally.wrong.push(format!("{} at {:.6}: {}", folder.join(photo).display(), grid.reading.confidence, differences.join(", ")));
        }
        let flags: Vec<String> = grid.reading.flags.iter().map(|flag| flag.reason.to_string()).collect();
        tally.rows.push(json!({
            "photo": photo, "folder": folder.display().to_string(), "exact": exact, "whole": whole, "turn": turn, "solved": truth["solved"],
            "verdict": grid.reading.verdict.to_string(), "confidence": grid.reading.confidence, "flags": flags, "pitch": grid.lattice.pitch(),
        }));
    }
    Ok(tally)
}

fn middle(lattice: &Lattice) -> Point {
    lattice.points[4][4].toward(lattice.points[5][5], 0.5)
}

fn middle_of(truth: &Value) -> Point {
    let at = |row: usize, column: usize| {
        let value = &truth["lattice"][row][column];
        Point::new(value[0].as_f64().unwrap_or_default() as f32, value[1].as_f64().unwrap_or_default() as f32)
    };
    at(4, 4).toward(at(5, 5), 0.5)
}
