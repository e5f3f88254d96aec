//! Cuts the grids of labelled pages with the house's own pipeline, for training: `cut_cells FIND.onnx FOLDER OUT [even] [CLASSIFY.onnx] [fine] [lines MODELS LINES]`.
//!
//! FOLDER holds `truth.jsonl` of `scripts/pages/generate.py`, or of the real photographs (`corners` instead of lattices; with `even`
//! only their training half). OUT.bin gets u8 `[grids, 81, 3, 32, 32]` (brightness at 212.5 for paper), upright as printed, OUT.jsonl the
//! truth of each grid, the lattice it was cut by and how far that is off (in cells). With `fine`, OUT.fine.bin gets the same cells at 48x48. A drawn grid that `find` misses is cut by its true
//! lattice, shaken a little, so that training sees it too. A photograph's corners may be those of another crop of it, so
//! its largest lattice counts, if the bundled networks read at least nine tenths of its cells as the truth says.
//!
//! LINES.bin and LINES.jsonl get the labels of drawn pages as the program cuts them with the networks in MODELS (`../label/cut_lines.rs`).

#[path = "../label/cut_lines.rs"]
mod cut_lines;

use std::io::Write;
use std::path::Path;

use anyhow::{Context, Result};
use gridlift::classify::{CellReader, Classifier};
use gridlift::label::LabelReader;
use gridlift::{cut, decode, find, plane};
use plane::{Lattice, Point, Turn};
use rayon::prelude::*;
use serde_json::{Value, json};

fn main() -> Result<()> {
    let arguments: Vec<String> = std::env::args().collect();
    let [_, weights, folder, out, rest @ ..] = arguments.as_slice() else {
        anyhow::bail!("cut_cells FIND.onnx FOLDER OUT [even] [CLASSIFY.onnx]")
    };
    let finder = find::Finder::from_onnx(&std::fs::read(weights)?)?;
    let text = std::fs::read_to_string(Path::new(folder).join("truth.jsonl"))?;
    let pages: Vec<Value> = text.lines().map(serde_json::from_str).collect::<Result<_, _>>()?;
    let even = rest.iter().any(|word| word == "even");
    let reader = rest.iter().find(|word| word.ends_with(".onnx")).map(std::fs::read).transpose()?;
    let reader = reader.map(|bytes| CellReader::from_onnx(&bytes, 1.0)).transpose()?;
    let lines = rest.iter().position(|word| word == "lines").and_then(|at| Some((rest.get(at + 1)?, rest.get(at + 2)?)));
    let labels = lines.map(|(models, _)| label_reader(Path::new(models))).transpose()?;
    let fine = rest.iter().any(|word| word == "fine");
    let cutter = Cutter { finder, reader, labels, fine };
    let wanted = |page: &&Value| !even || is_training_half(page["photo"].as_str().unwrap_or_default());
    let cut: Vec<Cut> = pages.par_iter().filter(wanted).map(|page| cutter.cut_page(Path::new(folder), page)).collect::<Result<_>>()?;
    let grids: Vec<&Grid> = cut.iter().flat_map(|cut| &cut.cells).collect();
    if let Some((_, lines)) = lines {
        write(lines, cut.iter().flat_map(|cut| &cut.lines).map(|(pixels, truth)| (pixels, truth)))?;
    }
    if fine {
        let mut bytes = std::io::BufWriter::new(std::fs::File::create(format!("{out}.fine.bin"))?);
        grids.iter().try_for_each(|grid| bytes.write_all(&grid.fine))?;
        bytes.flush()?;
    }
    write(out, grids.iter().map(|grid| (&grid.pixels, &grid.truth)))?;
    let missed = grids.iter().filter(|grid| grid.truth["found"] == false).count();
    println!("{out}: {} grids, {missed} not found", grids.len());
    Ok(())
}

/// What the networks learn from, each with its truth, as OUT.bin and OUT.jsonl; the second comes last and whole, for who waits for it.
fn write<'a>(out: &str, all: impl Iterator<Item = (&'a Vec<u8>, &'a Value)>) -> Result<()> {
    let mut bytes = std::io::BufWriter::new(std::fs::File::create(format!("{out}.bin"))?);
    let mut lines = String::new();
    for (pixels, truth) in all {
        bytes.write_all(pixels)?;
        lines += &format!("{truth}\n");
    }
    bytes.flush()?;
    std::fs::write(format!("{out}.jsonl.part"), lines)?;
    Ok(std::fs::rename(format!("{out}.jsonl.part"), format!("{out}.jsonl"))?)
}

fn label_reader(models: &Path) -> Result<LabelReader> {
    let read = |name: &str| std::fs::read(models.join(name)).with_context(|| name.to_owned());
    Ok(LabelReader::from_onnx(&read("label_place.onnx")?, &read("label_text.onnx")?)?)
}

/// What cuts a page.
struct Cutter {
    finder: find::Finder,
    reader: Option<CellReader>,
    labels: Option<LabelReader>,
    /// Whether cells of 48x48 are cut as well.
    fine: bool,
}

/// The cells of one grid; those of 48x48 only where they are asked for.
struct Grid {
    pixels: Vec<u8>,
    fine: Vec<u8>,
    truth: Value,
}

/// The grids and the labels of one page, each with its truth.
#[derive(Default)]
struct Cut {
    cells: Vec<Grid>,
    lines: Vec<(Vec<u8>, Value)>,
}

fn is_training_half(photo: &str) -> bool {
    let digits: String = photo.rsplit('/').next().unwrap_or_default().chars().filter(char::is_ascii_digit).collect();
    (photo.starts_with("printed/") || photo.starts_with("filled/")) && digits.parse::<u32>().is_ok_and(|n| n % 2 == 0)
}

impl Cutter {
    fn cut_grid(&self, page: &decode::Page, lattice: &Lattice, truth: Value) -> Grid {
        let fine = || bytes_of(&cut::cut_sheet::<{ cut::FINE }>(&cut::Sheet::new(page, lattice), lattice));
        Grid { pixels: bytes_of(&cut::cut(page, lattice)), fine: if self.fine { fine() } else { Vec::new() }, truth }
    }

    fn cut_page(&self, folder: &Path, truth: &Value) -> Result<Cut> {
        let photo = truth["photo"].as_str().context("no photo")?;
        let bytes = std::fs::read(folder.join(photo)).with_context(|| photo.to_owned())?;
        let page = decode::open(&bytes, &decode::Options { colour: true, ..Default::default() })?.next().context("no page")??;
        let found = self.finder.find(&page, false)?;
        let mut cut = Cut::default();
        if !truth["grids"].is_array() {
            let reader = self.reader.as_ref().context("photographs need the weights of the cell reader")?;
            cut.cells.extend(photo_grid(reader, &page, &found, truth)?.map(|(lattice, line)| self.cut_grid(&page, &lattice, line)));
            return Ok(cut);
        }
        let mut as_printed = Vec::new();
        for grid in truth["grids"].as_array().into_iter().flatten() {
            let Some(true_lattice) = lattice_of(grid) else { continue };
            let (off, lattice, seen) = match nearest(&found, &true_lattice) {
                Some((off, lattice)) => (off, lattice, true),
                _ if true_lattice.is_proper() => (0.0, shaken(&true_lattice, photo), false),
                _ => continue,
            };
            let classes = &grid["cells"];
            let line = json!({ "photo": photo, "cells": classes, "marks": grid["marks"].as_array().cloned().unwrap_or_default(), "rules": grid["rules"].as_str().unwrap_or("plain"), "found": seen, "off": off });
            cut.cells.push(self.cut_grid(&page, &lattice, line));
            as_printed.push(lattice);
        }
        for thing in truth["foreign"].as_array().into_iter().flatten() {
            let Some(lattice) = foreign_lattice(thing, photo) else { continue };
            let seen = nearest(&found, &lattice);
            let line = json!({ "photo": photo, "cells": null, "marks": [], "rules": "foreign", "found": seen.is_some(), "off": 0.0 });
            let lattice = seen.map_or(lattice, |(_, lattice)| lattice);
            cut.cells.push(self.cut_grid(&page, &lattice, line));
        }
        if let Some(labels) = &self.labels {
            cut.lines = cut_lines::lines(labels, &page, &as_printed.iter().collect::<Vec<_>>(), truth)?;
        }
        Ok(cut)
    }
}

/// Of the found lattices, in each of the four turns, the one that lies best on the true one, and how far it is off (in cells); `None` where none lies on it.
fn nearest(found: &[find::Found], truth: &Lattice) -> Option<(f32, Lattice)> {
    const OFF: f32 = 0.35;
    let turned = found.iter().flat_map(|found| Turn::ALL.map(|turn| found.lattice.read_at(turn)));
    let apart = turned.map(|lattice| (error(&lattice, truth), lattice));
    apart.min_by(|a, b| a.0.total_cmp(&b.0)).filter(|(off, _)| *off < OFF)
}

/// Nine by nine cells of a lattice that is no grid of ours: what `find` might take for one.
fn foreign_lattice(thing: &Value, name: &str) -> Option<Lattice> {
    let kind = thing["kind"].as_str()?;
    let count: usize = match kind {
        "irregular" | "table9" => 9,
        "table10" => 10,
        other => other.split('x').next()?.parse().ok().filter(|&count| count >= 9)?,
    };
    let mut corners = [Point::default(); 4];
    for (corner, value) in corners.iter_mut().zip(thing["corners"].as_array()?) {
        *corner = Point::new(value[0].as_f64()? as f32, value[1].as_f64()? as f32);
    }
    let side = count as f32;
    let square = [Point::new(0.0, 0.0), Point::new(side, 0.0), Point::new(side, side), Point::new(0.0, side)];
    let map = plane::Homography::from_points(square, corners)?;
    let step = |shift: u32| (name_seed(name) >> shift) as usize % (count - 8);
    let (row, column) = (step(3), step(11));
    let points = std::array::from_fn(|r| std::array::from_fn(|c| map.apply(Point::new((column + c) as f32, (row + r) as f32))));
    Some(shaken(&Lattice::from(points), name)).filter(Lattice::is_proper)
}

/// The grid of a photograph, of which nothing but what stands in it is known for sure: the largest one, turned as it reads best.
/// `None` where the bundled network reads less than nine tenths of its cells as the truth says: then it is another grid.
fn photo_grid(reader: &CellReader, page: &decode::Page, found: &[find::Found], truth: &Value) -> Result<Option<(Lattice, Value)>> {
    let Some(largest) = found.iter().max_by(|a, b| a.lattice.pitch().total_cmp(&b.lattice.pitch())) else { return Ok(None) };
    let classes = classes_of(truth);
    let mut best = (0, None);
    for turn in Turn::ALL {
        let lattice = largest.lattice.read_at(turn);
        let cells = cut::cut(page, &lattice);
        let evidence = reader.classify(&cells)?;
        let right = evidence.cells.iter().zip(&classes).filter(|(row, class)| row[**class] > 0.3).count();
        if right > best.0 {
            best = (right, Some(lattice));
        }
    }
    let (right, Some(lattice)) = best else { return Ok(None) };
    let names: Vec<String> = classes.iter().map(|&class| name_of(class)).collect();
    let points: Vec<Vec<[f32; 2]>> = lattice.points.iter().map(|row| row.iter().map(|p| [p.x, p.y]).collect()).collect();
    let line = json!({ "photo": truth["photo"], "cells": names, "marks": [], "rules": "plain", "found": true, "lattice": points });
    Ok((right >= 73).then_some((lattice, line)))
}

fn bytes_of(cells: &cut::Cells) -> Vec<u8> {
    cells.images.indexed_iter().map(|((_, channel, _, _), &v)| (if channel == 0 { v / 1.2 } else { v } * 255.0).round() as u8).collect()
}

/// Class numbers of a photograph's cells, in the network's order.
fn classes_of(truth: &Value) -> Vec<usize> {
    let digits =
        |key: &str| truth[key].as_str().unwrap_or_default().bytes().map(|b| usize::from(b.saturating_sub(b'0'))).collect::<Vec<_>>();
    digits("givens")
        .into_iter()
        .zip(digits("entries"))
        .map(|(given, entry)| match (given, entry) {
            (1..=9, _) => given,
            (_, 1..=9) => entry + 9,
            _ => 0,
        })
        .collect()
}

fn name_of(class: usize) -> String {
    match class {
        1..=9 => class.to_string(),
        10..=18 => format!("e{}", class - 9),
        _ => ".".into(),
    }
}

fn lattice_of(grid: &Value) -> Option<Lattice> {
    let gap = grid["gap"].as_f64().unwrap_or(0.0) as f32;
    let mut lattice = Lattice { points: [[Point::default(); 10]; 10], gap };
    for (row, line) in lattice.points.iter_mut().enumerate() {
        for (column, place) in line.iter_mut().enumerate() {
            let value = &grid["lattice"][row][column];
            *place = Point::new(value[0].as_f64()? as f32, value[1].as_f64()? as f32);
        }
    }
    Some(lattice)
}

/// The median distance of crossings, in cells.
fn error(lattice: &Lattice, truth: &Lattice) -> f32 {
    let mut distances: Vec<f32> =
        lattice.points.as_flattened().iter().zip(truth.points.as_flattened()).map(|(a, b)| a.distance(*b)).collect();
    distances.sort_by(f32::total_cmp);
    distances[50] / truth.pitch().max(1e-3)
}

fn name_seed(name: &str) -> u32 {
    name.bytes().fold(17, |sum: u32, byte| sum.wrapping_mul(31).wrapping_add(u32::from(byte)))
}

/// The lattice moved by up to a twentieth of a cell, the same way for the same name.
fn shaken(lattice: &Lattice, name: &str) -> Lattice {
    let seed = name_seed(name);
    let part = |shift: u32| ((seed >> shift & 255) as f32 / 255.0 - 0.5) * 0.1 * lattice.pitch();
    let step = Point::new(part(0), part(8));
    lattice.map(|p| p + step)
}
