//! Joins marked crossings into lattices.
//!
//! From a strong crossing and two steps to its neighbours, the lattice grows crossing by crossing: each
//! known step foretells the next, so that bends and perspective are followed. Gaps of up to two crossings are
//! bridged. Of what has grown, the 10x10 window is taken that best fits the marks of boxes and rim.

use std::collections::{HashMap, VecDeque};

use super::Found;
use super::marks::Crossing;
use crate::plane::{Lattice, Point};

/// How far from its foretold place, in steps, a crossing may lie.
const REACH: f32 = 0.3;
/// Crossings missing in a row that are bridged.
const BRIDGE: u8 = 2;
/// Crossings of a hundred that must have been marked. With fewer, more is guessed than seen.
const FEWEST: usize = 55;
/// Least surplus of box corners and of rim over the rest: see [`Found::boxes`]. Other tables stay below.
pub(super) const LEAST_SURPLUS: f32 = 0.25;
/// With so many of a hundred crossings marked, the boxes may show at full size, or by the digits, alone.
const NEARLY_ALL: usize = 90;

/// Neighbours of eight that must be seen around a seed: corners of a grid have three and start nothing.
const LEAST_SUPPORT: usize = 5;

/// Where a lattice has been followed to.
#[derive(Clone, Copy)]
struct Node {
    place: Point,
    /// The crossing seen there, if one was.
    crossing: Option<usize>,
    /// The steps to the next column and to the next row.
    steps: [Point; 2],
    /// How many unseen crossings were passed to get here.
    bridged: u8,
}

type Nodes = HashMap<(i32, i32), Node>;

/// All lattices that the crossings make, in no particular order, in pixels of the shrunken page.
pub(super) fn grow(crossings: &[Crossing]) -> Vec<Found> {
    let mut free: Vec<bool> = vec![true; crossings.len()];
    let mut seeds: Vec<(f32, usize, [Point; 2])> =
        (0..crossings.len()).filter_map(|seed| first_steps(crossings, seed).map(|(score, steps)| (score, seed, steps))).collect();
    seeds.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut found = Vec::new();
    for (_, seed, steps) in seeds {
        if !free[seed] {
            continue;
        }
        let nodes = follow(crossings, &free, seed, steps);
        if nodes.values().filter(|node| node.crossing.is_some()).count() < FEWEST {
            continue;
        }
        match best_window(crossings, &nodes) {
            Some((lattice, used)) => {
                for index in used {
                    free[index] = false;
                }
                found.push(lattice);
            }
            // Whatever this is, another seed of it would grow the same.
            None => nodes.values().filter_map(|node| node.crossing).for_each(|index| free[index] = false),
        }
    }
    found
}

/// The steps from `seed` to its neighbours along the two directions of its lattice (the first runs more to the
/// right, the second more downward), and how well they are supported.
fn first_steps(crossings: &[Crossing], seed: usize) -> Option<(f32, [Point; 2])> {
    const NEAREST: usize = 10;
    let origin = crossings[seed].place;
    let mut near: Vec<Point> = (0..crossings.len()).filter(|&i| i != seed).map(|i| crossings[i].place - origin).collect();
    if near.len() > NEAREST {
        near.select_nth_unstable_by(NEAREST, |a, b| a.length().total_cmp(&b.length()));
        near.truncate(NEAREST);
    }
    let supported = |a: Point, b: Point| {
        let spots = [a, b, a * -1.0, b * -1.0, a + b, a - b, b - a, (a + b) * -1.0];
        spots.iter().filter(|&&spot| near.iter().any(|&p| p.distance(spot) < REACH * a.length().min(b.length()))).count()
    };
    let mut best: Option<(f32, [Point; 2])> = None;
    for (i, &a) in near.iter().enumerate() {
        for &b in &near[..i] {
            let (long, short) = (a.length().max(b.length()), a.length().min(b.length()));
            let sine = a.cross(b).abs() / (a.length() * b.length()).max(1e-6);
            if long > 1.8 * short || sine < 0.75 {
                continue;
            }
            let count = supported(a, b);
            // A diagonal taken for a side is supported as well, but is longer and leans more.
            let score = count as f32 - 8.0 * (1.0 - sine) - 2.0 * (long / short - 1.0);
            if count >= LEAST_SUPPORT && best.is_none_or(|(most, _)| score > most) {
                best = Some((score, [a, b]));
            }
        }
    }
    let (score, [a, b]) = best?;
    let (right, down) = if a.x.abs() > a.y.abs() || b.y.abs() > b.x.abs() { (a, b) } else { (b, a) };
    let right = if right.x < 0.0 { right * -1.0 } else { right };
    let down = if right.cross(down) < 0.0 { down * -1.0 } else { down };
    Some((score + crossings[seed].strength, [right, down]))
}

/// Follows the lattice from `seed` in all directions.
fn follow(crossings: &[Crossing], free: &[bool], seed: usize, steps: [Point; 2]) -> Nodes {
    let mut nodes = Nodes::new();
    let mut taken = vec![false; crossings.len()];
    let mut queue = VecDeque::from([(0, 0)]);
    nodes.insert((0, 0), Node { place: crossings[seed].place, crossing: Some(seed), steps, bridged: 0 });
    taken[seed] = true;
    while let Some(at) = queue.pop_front() {
        let node = nodes[&at];
        for (axis, sign) in [(0, 1), (0, -1), (1, 1), (1, -1)] {
            let next = if axis == 0 { (at.0, at.1 + sign) } else { (at.0 + sign, at.1) };
            // Twenty each way is beyond any grid of ours, wherever the seed lies in it.
            if next.0.abs() > 20 || next.1.abs() > 20 || nodes.get(&next).is_some_and(|other| other.crossing.is_some()) {
                continue;
            }
            let step = node.steps[axis] * sign as f32;
            let expected = node.place + step;
            let nearest = (0..crossings.len())
                .filter(|&i| free[i] && !taken[i])
                .map(|i| (i, crossings[i].place.distance(expected)))
                .min_by(|a, b| a.1.total_cmp(&b.1))
                .filter(|&(_, distance)| distance < REACH * step.length());
            let seen = nearest.map(|(index, _)| index);
            if seen.is_none() && (node.bridged >= BRIDGE || nodes.contains_key(&next)) {
                continue;
            }
            let place = seen.map_or(expected, |index| crossings[index].place);
            let mut steps = node.steps;
            if let Some(index) = seen {
                taken[index] = true;
                let spans = f32::from(node.bridged) + 1.0;
                let fresh = (place - node.place) * (sign as f32);
                // After a gap the step is better known from the whole gap than from its last part.
                steps[axis] = steps[axis].toward(fresh, 0.7 / spans);
            }
            let bridged = if seen.is_some() { 0 } else { node.bridged + 1 };
            nodes.insert(next, Node { place, crossing: seen, steps, bridged });
            queue.push_back(next);
        }
    }
    nodes
}

/// The 10x10 window that fits the marks best, its missing crossings filled in, with the crossings it uses;
/// `None` where no window is a grid.
fn best_window(crossings: &[Crossing], nodes: &Nodes) -> Option<(Found, Vec<usize>)> {
    let seen: HashMap<(i32, i32), usize> = nodes.iter().filter_map(|(&at, node)| node.crossing.map(|index| (at, index))).collect();
    let range = |axis: fn(&(i32, i32)) -> i32| Some((seen.keys().map(axis).min()?, seen.keys().map(axis).max()?));
    let (top, bottom) = range(|at| at.0)?;
    let (left, right) = range(|at| at.1)?;
    let mut best: Option<(f32, (i32, i32))> = None;
    for row in top - 3..=(bottom - 6).max(top) {
        for column in left - 3..=(right - 6).max(left) {
            let score = window_score(crossings, &seen, (row, column));
            if best.is_none_or(|(most, _)| score > most) {
                best = Some((score, (row, column)));
            }
        }
    }
    let (_, corner) = best?;
    let at = |row: usize, column: usize| seen.get(&(corner.0 + row as i32, corner.1 + column as i32)).copied();
    let mut places = [[None; 10]; 10];
    let mut used = Vec::new();
    let (mut boxed, mut unboxed, mut rim, mut inner) = (Mean::default(), Mean::default(), Mean::default(), Mean::default());
    for (row, line) in places.iter_mut().enumerate() {
        for (column, place) in line.iter_mut().enumerate() {
            let Some(index) = at(row, column) else { continue };
            let crossing = crossings[index];
            *place = Some(crossing.place);
            used.push(index);
            if row % 3 == 0 && column % 3 == 0 { &mut boxed } else { &mut unboxed }.add(crossing.boxed);
            if row % 9 == 0 || column % 9 == 0 { &mut rim } else { &mut inner }.add(crossing.rim);
        }
    }
    let (boxes, border) = (boxed.value() - unboxed.value(), rim.value() - inner.value());
    if used.len() < FEWEST || boxes < LEAST_SURPLUS && used.len() < NEARLY_ALL || border < LEAST_SURPLUS {
        return None;
    }
    let lattice = fill(&places)?;
    let found = Found {
        lattice,
        seen: used.len() as f32 / 100.0,
        boxes,
        border,
        rows: [[0.0; 9]; 10],
        columns: [[0.0; 9]; 10],
        beyond: 0.0,
        shares_a_box: false,
    };
    Some((found, used))
}

/// How well the window whose top left crossing is `corner` fits what was seen: crossings inside speak for
/// it, crossings just outside and marks of boxes and rim in other places against it.
fn window_score(crossings: &[Crossing], seen: &HashMap<(i32, i32), usize>, corner: (i32, i32)) -> f32 {
    seen.iter()
        .map(|(&(row, column), &index)| {
            let (row, column) = (row - corner.0, column - corner.1);
            let crossing = crossings[index];
            if !(0..10).contains(&row) || !(0..10).contains(&column) {
                return -crossing.strength;
            }
            let sign = |wanted: bool, value: f32| if wanted { value } else { -value };
            crossing.strength + sign(row % 3 == 0 && column % 3 == 0, crossing.boxed) + sign(row % 9 == 0 || column % 9 == 0, crossing.rim)
        })
        .sum()
}

/// A mean that is taken bit by bit; 0 of nothing.
#[derive(Default)]
struct Mean {
    sum: f32,
    count: f32,
}

impl Mean {
    fn add(&mut self, value: f32) {
        self.sum += value;
        self.count += 1.0;
    }

    fn value(&self) -> f32 {
        if self.count > 0.0 { self.sum / self.count } else { 0.0 }
    }
}

/// The whole lattice: unseen crossings, and seen ones that stick out by more than a third of a cell, come
/// from a cubic surface fitted to the rest. `None` where too few are left to fit it.
fn fill(places: &[[Option<Point>; 10]; 10]) -> Option<Lattice> {
    let first = Surface::fit(places)?;
    let pitch = first.at(4.0, 5.0).distance(first.at(4.0, 4.0));
    let mut kept = *places;
    for (row, line) in kept.iter_mut().enumerate() {
        for (column, place) in line.iter_mut().enumerate() {
            *place = place.filter(|p| p.distance(first.at(row as f32, column as f32)) < pitch / 3.0);
        }
    }
    let surface = Surface::fit(&kept)?;
    let points =
        std::array::from_fn(|row| std::array::from_fn(|column| kept[row][column].unwrap_or_else(|| surface.at(row as f32, column as f32))));
    let lattice = Lattice::from(points);
    lattice.is_proper().then_some(lattice)
}

/// x and y as cubic polynomials (ten terms) of row and column.
struct Surface([[f64; 10]; 2]);

impl Surface {
    fn terms(row: f32, column: f32) -> [f64; 10] {
        let (u, v) = (f64::from(column) / 4.5 - 1.0, f64::from(row) / 4.5 - 1.0);
        [1.0, u, v, u * u, u * v, v * v, u * u * u, u * u * v, u * v * v, v * v * v]
    }

    fn at(&self, row: f32, column: f32) -> Point {
        let terms = Self::terms(row, column);
        let [x, y] = self.0.map(|weights| weights.iter().zip(&terms).map(|(w, t)| w * t).sum::<f64>());
        Point::new(x as f32, y as f32)
    }

    /// Least squares over the places that are known, the higher terms held back a little (ridge).
    fn fit(places: &[[Option<Point>; 10]; 10]) -> Option<Self> {
        let mut normal = [[0.0_f64; 12]; 10];
        let mut count = 0;
        for (row, line) in places.iter().enumerate() {
            for (column, place) in line.iter().enumerate() {
                let Some(place) = place else { continue };
                count += 1;
                let terms = Self::terms(row as f32, column as f32);
                for (i, equation) in normal.iter_mut().enumerate() {
                    for (value, term) in equation.iter_mut().zip(&terms) {
                        *value += terms[i] * term;
                    }
                    equation[10] += terms[i] * f64::from(place.x);
                    equation[11] += terms[i] * f64::from(place.y);
                }
            }
        }
        if count < FEWEST * 2 / 3 {
            return None;
        }
        for (i, equation) in normal.iter_mut().enumerate().skip(3) {
            equation[i] += if i < 6 { 0.05 } else { 0.2 };
        }
        eliminate(&mut normal)?;
        Some(Self([10, 11].map(|side| std::array::from_fn(|i| normal[i][side] / normal[i][i]))))
    }
}

/// Gauss-Jordan elimination of a positive definite system with two right sides.
fn eliminate(rows: &mut [[f64; 12]; 10]) -> Option<()> {
    for column in 0..10 {
        let lead = rows[column];
        if lead[column].abs() < 1e-9 {
            return None;
        }
        for (i, row) in rows.iter_mut().enumerate() {
            if i != column {
                let factor = row[column] / lead[column];
                for (value, above) in row.iter_mut().zip(&lead) {
                    *value -= factor * above;
                }
            }
        }
    }
    Some(())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The marks of a grid bent over paper of `bend`, its top left at `origin`.
    fn grid(origin: Point, pitch: f32, bend: f32) -> Vec<Crossing> {
        (0..100)
            .map(|i| {
                let (row, column) = (i / 10, i % 10);
                let sag = bend * ((column as f32 - 4.5) / 4.5).powi(2);
                Crossing {
                    place: origin + Point::new(column as f32 * pitch, row as f32 * pitch + sag),
                    strength: 0.9,
                    boxed: if row % 3 == 0 && column % 3 == 0 { 0.9 } else { 0.05 },
                    rim: if row % 9 == 0 || column % 9 == 0 { 0.9 } else { 0.05 },
                }
            })
            .collect()
    }

    #[test]
    fn a_bent_grid_with_gaps_is_followed() {
        let whole = grid(Point::new(50.0, 60.0), 20.0, 15.0);
        let seen: Vec<Crossing> = whole.iter().enumerate().filter(|(i, _)| i % 7 != 3).map(|(_, c)| *c).collect();
        let found = grow(&seen);
        assert_eq!(found.len(), 1);
        for (i, crossing) in whole.iter().enumerate() {
            let got = found[0].lattice.points[i / 10][i % 10];
            assert!(got.distance(crossing.place) < 2.0, "crossing {i}: {got:?} for {:?}", crossing.place);
        }
    }

    #[test]
    fn two_grids_are_two() {
        let mut marks = grid(Point::new(20.0, 20.0), 20.0, 0.0);
        marks.extend(grid(Point::new(240.0, 30.0), 20.0, 0.0));
        assert_eq!(grow(&marks).len(), 2);
    }

    #[test]
    fn a_window_of_a_larger_table_is_none() {
        let table: Vec<Crossing> = (0..400)
            .map(|i| Crossing { place: Point::new((i % 20) as f32 * 20.0, (i / 20) as f32 * 20.0), strength: 0.6, boxed: 0.2, rim: 0.1 })
            .collect();
        assert!(grow(&table).is_empty());
    }

    #[test]
    fn a_lattice_off_by_a_row_is_put_right() {
        // A stray line of crossings above the grid, as from a ruled heading.
        let mut marks = grid(Point::new(50.0, 60.0), 20.0, 0.0);
        marks.extend((0..10).map(|i| Crossing { place: Point::new(50.0 + i as f32 * 20.0, 40.0), strength: 0.5, boxed: 0.1, rim: 0.3 }));
        let found = grow(&marks);
        assert_eq!(found.len(), 1);
        assert!(found[0].lattice.points[0][0].distance(Point::new(50.0, 60.0)) < 1.0);
    }
}
