//! Cuts the grids of labelled pages with the house's own pipeline, for training: `cut_cells FIND.onnx FOLDER OUT [even]`.
//!
//! FOLDER holds `truth.jsonl` of `scripts/pages/generate.py`, or of the real photographs (`corners` instead of lattices; with `even`
//! only their training half). OUT.bin gets u8 `[grids, 81, 3, 32, 32]` (brightness at 212.5 for paper), upright as printed, OUT.jsonl the
//! truth of each grid and by how much of a cell its lattice is off. A grid that `find` misses is cut by its true lattice, shaken a
//! little, so that training sees it too.

use std::io::Write;
use std::path::Path;

use anyhow::{Context, Result};
use gridlift::{cut, decode, find, plane};
use plane::{Lattice, Point, Turn};
use rayon::prelude::*;
use serde_json::{Value, json};

fn main() -> Result<()> {
    let arguments: Vec<String> = std::env::args().collect();
    let [_, weights, folder, out, rest @ ..] = arguments.as_slice() else { anyhow::bail!("cut_cells FIND.onnx FOLDER OUT [even]") };
    let finder = find::Finder::from_onnx(&std::fs::read(weights)?)?;
    let text = std::fs::read_to_string(Path::new(folder).join("truth.jsonl"))?;
    let pages: Vec<Value> = text.lines().map(serde_json::from_str).collect::<Result<_, _>>()?;
    let even = rest.iter().any(|word| word == "even");
    let wanted = |page: &&Value| !even || is_training_half(page["photo"].as_str().unwrap_or_default());
    let grids: Vec<(Vec<u8>, Value)> =
        pages.par_iter().filter(wanted).map(|page| cut_page(&finder, Path::new(folder), page)).collect::<Result<Vec<_>>>()?.concat();
    let mut bytes = std::io::BufWriter::new(std::fs::File::create(format!("{out}.bin"))?);
    let mut lines = String::new();
    for (cells, truth) in &grids {
        bytes.write_all(cells)?;
        lines += &format!("{truth}\n");
    }
    bytes.flush()?;
    std::fs::write(format!("{out}.jsonl.part"), lines)?;
    std::fs::rename(format!("{out}.jsonl.part"), format!("{out}.jsonl"))?;
    let missed = grids.iter().filter(|(_, truth)| truth["found"] == false).count();
    println!("{out}: {} grids, {missed} not found", grids.len());
    Ok(())
}

fn is_training_half(photo: &str) -> bool {
    let digits: String = photo.rsplit('/').next().unwrap_or_default().chars().filter(char::is_ascii_digit).collect();
    (photo.starts_with("printed/") || photo.starts_with("filled/")) && digits.parse::<u32>().is_ok_and(|n| n % 2 == 0)
}

fn cut_page(finder: &find::Finder, folder: &Path, truth: &Value) -> Result<Vec<(Vec<u8>, Value)>> {
    let photo = truth["photo"].as_str().context("no photo")?;
    let bytes = std::fs::read(folder.join(photo)).with_context(|| photo.to_owned())?;
    let page = decode::open(&bytes, &decode::Options { colour: true, ..Default::default() })?.next().context("no page")??;
    let found = finder.find(&page)?;
    let whole = json!([{ "givens": truth["givens"], "entries": truth["entries"], "corners": truth["corners"] }]);
    let grids = if truth["grids"].is_array() { &truth["grids"] } else { &whole };
    let mut cut = Vec::new();
    for grid in grids.as_array().into_iter().flatten() {
        let Some(true_lattice) = lattice_of(grid) else { continue };
        // Of the found lattices, in each of the four turns, the one that lies best on the truth.
        let best = found
            .iter()
            .flat_map(|found| Turn::ALL.map(|turn| found.lattice.read_at(turn)))
            .map(|lattice| (error(&lattice, &true_lattice), lattice))
            .min_by(|a, b| a.0.total_cmp(&b.0));
        let (off, lattice, seen) = match best {
            Some((off, lattice)) if off < 0.35 => (off, lattice, true),
            _ if truth["grids"].is_array() && true_lattice.is_proper() => (0.0, shaken(&true_lattice, photo), false),
            _ => continue,
        };
        let cells = cut::cut(&page, &lattice);
        let image: Vec<u8> = cells
            .images
            .indexed_iter()
            .map(|((_, channel, _, _), &v)| (if channel == 0 { v / 1.2 } else { v } * 255.0).round() as u8)
            .collect();
        let classes = if grid["cells"].is_array() { grid["cells"].clone() } else { classes_of(grid) };
        let line = json!({ "photo": photo, "cells": classes, "marks": grid["marks"].as_array().cloned().unwrap_or_default(), "rules": grid["rules"].as_str().unwrap_or("plain"), "found": seen, "off": off });
        cut.push((image, line));
    }
    Ok(cut)
}

fn classes_of(grid: &Value) -> Value {
    let text = |key: &str| grid[key].as_str().unwrap_or_default().to_owned();
    let (givens, entries) = (text("givens"), text("entries"));
    let pairs = givens.chars().zip(entries.chars()).map(|(given, entry)| match (given, entry) {
        ('.', '.') => ".".to_owned(),
        ('.', entry) => format!("e{entry}"),
        (given, _) => given.to_string(),
    });
    pairs.collect::<Vec<_>>().into()
}

fn lattice_of(grid: &Value) -> Option<Lattice> {
    let point = |value: &Value| Some(Point::new(value[0].as_f64()? as f32, value[1].as_f64()? as f32));
    if grid["lattice"].is_array() {
        let mut lattice = Lattice { points: [[Point::default(); 10]; 10] };
        for (row, line) in lattice.points.iter_mut().enumerate() {
            for (column, place) in line.iter_mut().enumerate() {
                *place = point(&grid["lattice"][row][column])?;
            }
        }
        return Some(lattice);
    }
    let corners: Vec<Point> = grid["corners"].as_array()?.iter().map(point).collect::<Option<_>>()?;
    Lattice::from_corners(corners.try_into().ok()?)
}

/// The median distance of crossings, in cells.
fn error(lattice: &Lattice, truth: &Lattice) -> f32 {
    let mut distances: Vec<f32> =
        lattice.points.as_flattened().iter().zip(truth.points.as_flattened()).map(|(a, b)| a.distance(*b)).collect();
    distances.sort_by(f32::total_cmp);
    distances[50] / truth.pitch().max(1e-3)
}

/// The lattice moved by up to a twentieth of a cell, the same way for the same name.
fn shaken(lattice: &Lattice, name: &str) -> Lattice {
    let seed = name.bytes().fold(17_u32, |sum, byte| sum.wrapping_mul(31).wrapping_add(u32::from(byte)));
    let part = |shift: u32| ((seed >> shift & 255) as f32 / 255.0 - 0.5) * 0.1 * lattice.pitch();
    let step = Point::new(part(0), part(8));
    lattice.map(|p| p + step)
}
