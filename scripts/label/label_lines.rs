//! Lines near the grids of drawn pages with the evidence that the choice of labels weighs, for `fit_choice.py`: `label_lines MODELS FOLDER... > OUT.jsonl`.
//!
//! MODELS holds the two networks for labels, each FOLDER drawn pages with `truth.jsonl` of `scripts/pages/generate.py`. One line of JSON for each line of text near a
//! grid: what was read, what is printed, the evidence, whether it is the label, and whether it was read as printed. Grids of which it can't be
//! told whether they have a label, since the picture's edge cuts them, are left out.

#[path = "../trust/truth.rs"]
mod truth;

use std::path::Path;

use anyhow::{Context, Result};
use gridlift::decide::Reason;
use gridlift::decode::{Options, open};
use gridlift::label::LabelReader;
use gridlift::lift::{GridReading, Lifter};
use gridlift::plane::Lattice;
use rayon::prelude::*;
use serde_json::{Value, json};
use truth::{close, middle, middle_of};

/// Boxes that share this much of what both cover are of one line.
const SAME: f64 = 0.25;

fn main() -> Result<()> {
    let arguments: Vec<String> = std::env::args().collect();
    let [_, models, folders @ ..] = arguments.as_slice() else { anyhow::bail!("label_lines MODELS FOLDER...") };
    let read = |name: &str| std::fs::read(Path::new(models).join(name)).with_context(|| name.to_owned());
    let reader = LabelReader::from_onnx(&read("label_place.onnx")?, &read("label_text.onnx")?)?;
    let lifter = Lifter::new()?;
    for folder in folders.iter().map(Path::new) {
        let text = std::fs::read_to_string(folder.join("truth.jsonl")).with_context(|| folder.display().to_string())?;
        let pages: Vec<Value> = text.lines().map(serde_json::from_str).collect::<Result<_, _>>()?;
        let rows: Vec<Vec<Value>> = pages.par_iter().map(|truth| lines(&lifter, &reader, folder, truth)).collect::<Result<_>>()?;
        rows.iter().flatten().for_each(|row| println!("{row}"));
    }
    Ok(())
}

fn lines(lifter: &Lifter, reader: &LabelReader, folder: &Path, truth: &Value) -> Result<Vec<Value>> {
    let photo = truth["photo"].as_str().context("no photo")?;
    let bytes = std::fs::read(folder.join(photo)).with_context(|| photo.to_owned())?;
    let page = open(&bytes, &Options { colour: true, ..Options::default() })?.next().context("no page")??;
    let read = lifter.lift(&page)?;
    let is_upright = |grid: &&GridReading| !grid.reading.flags.iter().any(|flag| flag.reason == Reason::TurnUnsure);
    let lattices: Vec<&Lattice> = read.grids.iter().filter(is_upright).map(|grid| &grid.lattice).collect();
    let mut rows = Vec::new();
    for line in reader.evidence(&page, &lattices)? {
        let grids = truth["grids"].as_array().into_iter().flatten();
        let lattice = lattices[line.grid];
        let Some(grid) = grids.into_iter().find(|grid| middle(lattice).distance(middle_of(grid)) < 3.0 * lattice.pitch()) else { continue };
        let printed = grid["label"].as_str();
        if printed.is_none() && grid["whole"] != true {
            continue;
        }
        let place: Vec<f64> = grid["label_box"].as_array().into_iter().flatten().filter_map(Value::as_f64).collect();
        let is_label = line
            .places
            .iter()
            .any(|of_line| <[f64; 4]>::try_from(&place[..]).is_ok_and(|place| both(of_line.map(f64::from), place) > SAME));
        let is_right = printed.is_some_and(|printed| line.said.first().is_some_and(|said| close(said) == close(printed)));
        rows.push(json!({
            "photo": folder.join(photo).display().to_string(), "grid": line.grid, "said": line.said, "printed": printed,
            "of_line": line.of_line, "of_reading": line.of_reading, "is_label": is_label, "is_right": is_right,
        }));
    }
    Ok(rows)
}

/// The share of what two boxes cover that both do.
fn both(a: [f64; 4], b: [f64; 4]) -> f64 {
    let overlap = |i: usize| ((a[i] + a[i + 2]).min(b[i] + b[i + 2]) - a[i].max(b[i])).max(0.0);
    let inner = overlap(0) * overlap(1);
    inner / (a[2] * a[3] + b[2] * b[3] - inner).max(1e-3)
}
