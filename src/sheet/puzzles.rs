//! Puzzles to solve, with their solutions on the last pages.

use crate::grid::Board;

use super::Face;
use super::booklet::impose;
use super::figure::{lines, told, written};
use super::furniture::{Frame, Heading, frame, least_notes, line, ruled};
use super::layout::{Area, LEADING, Layout, LayoutError, Notes, Order, Solutions};
use super::page::{Page, Part, Placing, Role};

/// A puzzle to print.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Puzzle {
    /// What it is called on the sheet: its label in the book, or its number.
    pub label: String,
    /// Its digits.
    pub givens: Board,
    /// Its only solution.
    pub solution: Board,
    /// Where it is from and whose it is; `None` for nothing to say.
    pub credit: Option<String>,
}

/// Between two puzzles of a page, in points.
const GAP: f32 = 20.0;
/// How many solutions may stand on a page, most first, as columns and rows.
const SOLUTION_SHAPES: [(usize, usize); 6] = [(3, 4), (2, 4), (2, 3), (2, 2), (1, 2), (1, 1)];
/// The most of a puzzle's room that its grid takes where there are notes.
const BESIDE_NOTES: f32 = 0.68;

/// The pages, in the order in which they are printed. No puzzles give no pages.
///
/// # Errors
/// Where the layout leaves digits too small to read.
pub fn puzzle_pages(puzzles: &[Puzzle], heading: &Heading, layout: &Layout) -> Result<Vec<Page>, LayoutError> {
    let all: Vec<&Puzzle> = puzzles.iter().collect();
    let groups: Vec<&[&Puzzle]> = all.chunks(layout.per_page.count()).collect();
    // A finished grid has nothing left to solve.
    let open: Vec<&Puzzle> = match layout.solutions {
        Solutions::Without => Vec::new(),
        Solutions::Upright | Solutions::UpsideDown => puzzles.iter().filter(|puzzle| puzzle.givens != puzzle.solution).collect(),
    };
    let shape = solution_shape(&open, heading, layout)?;
    let solved: Vec<&[&Puzzle]> = open.chunks(shape.0 * shape.1).collect();
    let written = groups.len() + solved.len();
    let blank = if layout.order == Order::Booklet { (4 - written % 4) % 4 } else { 0 };
    let of = written + blank;

    let mut pages = Vec::with_capacity(of);
    for group in groups {
        pages.push(puzzle_page(group, frame(layout, heading, &credits(group), pages.len() + 1, of), layout)?);
    }
    for _ in 0..blank {
        let Frame { mut page, area } = frame(layout, heading, &[], pages.len() + 1, of);
        page.parts.extend(ruled(area, layout.print));
        pages.push(page);
    }
    for group in solved {
        pages.push(solution_page(group, frame(layout, heading, &credits(group), pages.len() + 1, of), layout, shape));
    }
    Ok(if layout.order == Order::Booklet { impose(pages, layout.paper) } else { pages })
}

/// What the puzzles of a page say of their source, each saying once; where there are several, with the labels that it is about.
fn credits(puzzles: &[&Puzzle]) -> Vec<String> {
    let mut said: Vec<(&str, Vec<&str>)> = Vec::new();
    for puzzle in puzzles {
        let Some(credit) = puzzle.credit.as_deref() else { continue };
        match said.iter_mut().find(|(other, _)| *other == credit) {
            Some((_, labels)) => labels.push(&puzzle.label),
            None => said.push((credit, vec![&puzzle.label])),
        }
    }
    match said.as_slice() {
        [(credit, labels)] if labels.len() == puzzles.len() => vec![(*credit).into()],
        _ => said.into_iter().map(|(credit, labels)| format!("{}: {credit}", labels.join(", "))).collect(),
    }
}

fn puzzle_page(puzzles: &[&Puzzle], Frame { mut page, area }: Frame, layout: &Layout) -> Result<Page, LayoutError> {
    let label = layout.print.sizes().label;
    for (puzzle, slot) in puzzles.iter().zip(area.slots(layout.per_page.shape(), GAP)) {
        let room = slot.below(label * LEADING);
        let tall = room.height >= room.width;
        let beside = |length: f32| (length * BESIDE_NOTES).min(length - GAP - least_notes(layout.print));
        let share = |length: f32, along: bool| if layout.notes == Notes::Ruled && along { beside(length) } else { length };
        let side = share(room.width, !tall).min(share(room.height, tall));
        layout.check(side)?;
        let left = if layout.notes == Notes::Ruled && !tall { room.x } else { room.x + (room.width - side) / 2.0 };
        page.parts.push(Part::new(Role::Paragraph, line(&puzzle.label, (left, slot.y), side, label, Face::Bold)));
        page.parts.push(grid(format!("Puzzle {}:", puzzle.label), &puzzle.givens, Face::Bold, (left, room.y), side));
        if layout.notes == Notes::Ruled {
            let beside = side + GAP;
            let area = if tall { room.below(beside) } else { Area { x: left + beside, width: room.width - beside, ..room } };
            page.parts.extend(ruled(area, layout.print));
        }
    }
    Ok(page)
}

/// How many solutions a page takes: as many as can be read, and no more than there are.
fn solution_shape(puzzles: &[&Puzzle], heading: &Heading, layout: &Layout) -> Result<(usize, usize), LayoutError> {
    if puzzles.is_empty() {
        return Ok((1, 1));
    }
    // A page's footer says where its puzzles are from, and takes its room.
    let side = |shape: (usize, usize)| {
        let side = |group: &[&Puzzle]| {
            let Frame { area, .. } = frame(layout, heading, &credits(group), 1, 2);
            solution_slots(area, shape, layout).first().map_or(0.0, |&slot| solution_side(slot, layout))
        };
        puzzles.chunks(shape.0 * shape.1).map(side).fold(f32::INFINITY, f32::min)
    };
    let fits = |&shape: &(usize, usize)| layout.check(side(shape)).is_ok();
    let fewest = |&(columns, rows): &(usize, usize)| columns * rows >= puzzles.len();
    let fitting = SOLUTION_SHAPES.into_iter().filter(fits);
    let shape = fitting.clone().rfind(fewest).or_else(|| fitting.clone().next());
    shape.ok_or(()).or_else(|()| layout.check(side((1, 1))).map(|()| (1, 1)))
}

fn solution_slots(area: Area, shape: (usize, usize), layout: &Layout) -> Vec<Area> {
    area.below(layout.print.sizes().label * LEADING + GAP / 2.0).slots(shape, GAP)
}

fn solution_side(slot: Area, layout: &Layout) -> f32 {
    slot.width.min(slot.height - layout.print.sizes().text * LEADING)
}

fn solution_page(puzzles: &[&Puzzle], Frame { mut page, area }: Frame, layout: &Layout, shape: (usize, usize)) -> Page {
    let sizes = layout.print.sizes();
    let upside_down = layout.solutions == Solutions::UpsideDown;
    let heading = if upside_down { "Solutions (turn the page)" } else { "Solutions" };
    page.parts.push(Part::new(Role::Heading, line(heading, (area.x, area.y), area.width, sizes.label, Face::Bold)));
    let turned = Placing::half_turn(2.0 * area.x + area.width, 2.0 * area.y + area.height + sizes.label * LEADING + GAP / 2.0);
    for (puzzle, slot) in puzzles.iter().zip(solution_slots(area, shape, layout)) {
        let side = solution_side(slot, layout);
        let left = slot.x + (slot.width - side) / 2.0;
        let name = line(&puzzle.label, (left, slot.y), side, sizes.text, Face::Bold);
        let room = slot.below(sizes.text * LEADING);
        let told = format!("Solution of {}:", puzzle.label);
        let mut parts = [Part::new(Role::Paragraph, name), grid(told, &puzzle.solution, Face::Bold, (left, room.y), side)];
        if upside_down {
            parts.iter_mut().for_each(|part| part.placing = part.placing.then(turned));
        }
        page.parts.extend(parts);
    }
    page
}

/// A grid in one face throughout: in two, a reader would take the lighter digits for entries.
fn grid(name: String, board: &Board, face: Face, (x, y): (f32, f32), side: f32) -> Part {
    let mut items = lines(side);
    items.extend(board.placed().map(|(cell, digit)| written(cell, digit, face, side)));
    Part { role: Role::Figure(name + &told(board)), placing: Placing::shift(x, y), items }
}
