//! The canonical form of a puzzle: one line for all its printings.
//!
//! The symmetries are those under which rules stay the same: permuting rows within a band, bands, columns within a
//! stack, stacks, transposing (3,359,232 in all, Russell and Jarvis 2006) and renaming digits. The least line is
//! found row by row: columns are arranged one by one for each row that can come first, as long as that row stays least,
//! and from then on only the arrangements that kept all rows so far least are carried on.

use super::bands::bits;
use crate::grid::{Board, Cell, Digit};

type Row = [u8; 9];
type Rows = [Row; 9];

/// An arrangement that gives the least rows so far.
#[derive(Clone, Copy)]
struct Arrangement {
    transposed: bool,
    /// Rows taken, one bit each.
    taken: u16,
    /// The band of the row taken last.
    band: usize,
    /// The original column at each place.
    columns: Row,
    /// What each digit is called; 0 for none yet. The name of 0, an empty cell, is 0.
    names: [u8; 10],
    /// How many digits have names.
    named: u8,
}

impl Arrangement {
    /// What the digit is called, the next name if it has none yet.
    const fn name(&self, digit: u8) -> u8 {
        let name = self.names[digit as usize];
        if digit != 0 && name == 0 { self.named + 1 } else { name }
    }
}

/// The least line (empty before 1) among all that symmetries and renaming digits make of the board.
///
/// ```
/// use gridlift::grid::Board;
/// use gridlift::prove::canonical;
/// let line = |first: &str| format!("{first:.<81}").parse::<Board>().unwrap();
/// assert_eq!(canonical(&line("7")), canonical(&line("....5")));
/// assert!(canonical(&line("7")).to_string().ends_with(".1"));
/// assert_ne!(canonical(&line("77")), canonical(&line("7..7")));
/// ```
pub fn canonical(board: &Board) -> Board {
    let upright: Rows = std::array::from_fn(|row| std::array::from_fn(|column| value(board, row, column)));
    let across: Rows = std::array::from_fn(|row| std::array::from_fn(|column| upright[column][row]));
    let grids = [&upright, &across];
    let twins = [Twins::of(&upright), Twins::of(&across)];

    let mut best = [[0; 9]; 9];
    let mut kept = first_rows(grids, &twins, &mut best[0]);
    for least in &mut best[1..] {
        let mut next: Vec<Arrangement> = Vec::new();
        *least = [u8::MAX; 9];
        for arrangement in &kept {
            let turned = usize::from(arrangement.transposed);
            for row in twins[turned].that_may_follow(arrangement.taken, arrangement.band) {
                extend(arrangement, row, &grids[turned][row], least, &mut next);
            }
        }
        kept = next;
    }
    Board::from_fn(|cell| Digit::new(best[usize::from(cell.row())][usize::from(cell.column())]))
}

fn value(board: &Board, row: usize, column: usize) -> u8 {
    Cell::at(row, column).and_then(|cell| board.get(cell)).map_or(0, Digit::value)
}

/// The arrangements whose first row is least, and that row.
fn first_rows(grids: [&Rows; 2], twins: &[Twins; 2], least: &mut Row) -> Vec<Arrangement> {
    let mut kept = Vec::new();
    *least = [u8::MAX; 9];
    for (turned, rows) in grids.into_iter().enumerate() {
        let start = Arrangement { transposed: turned == 1, taken: 0, band: 3, columns: [0; 9], names: [0; 10], named: 0 };
        for row in twins[turned].that_may_follow(0, 3) {
            let first = Arrangement { taken: 1 << row, band: row / 3, ..start };
            arrange_columns(&first, 0, 0, &rows[row], &twins[1 - turned], least, &mut kept);
        }
    }
    kept
}

/// Adds all arrangements that begin with these `placed` columns and make the row with these `cells` least; a row
/// below `least` replaces it and all that was added before.
fn arrange_columns(
    from: &Arrangement,
    placed: usize,
    taken: u16,
    cells: &Row,
    twins: &Twins,
    least: &mut Row,
    kept: &mut Vec<Arrangement>,
) {
    if placed == 9 {
        kept.push(*from);
        return;
    }
    let stack = if placed.is_multiple_of(3) { 3 } else { usize::from(from.columns[placed - 1]) / 3 };
    for column in twins.that_may_follow(taken, stack) {
        let name = from.name(cells[column]);
        if name > least[placed] {
            continue;
        }
        if name < least[placed] {
            least[placed] = name;
            least[placed + 1..].fill(u8::MAX);
            kept.clear();
        }
        let mut next = *from;
        next.columns[placed] = column as u8;
        next.names[usize::from(cells[column])] = name;
        next.named = next.named.max(name);
        arrange_columns(&next, placed + 1, taken | 1 << column, cells, twins, least, kept);
    }
}

/// Adds the arrangement that takes `row` (with these cells) next, where the row it makes is least; a row below
/// `least` replaces it and all that was added before.
fn extend(from: &Arrangement, row: usize, cells: &Row, least: &mut Row, kept: &mut Vec<Arrangement>) {
    let (mut names, mut named) = (from.names, from.named);
    let mut is_lower = false;
    for (place, &column) in from.columns.iter().enumerate() {
        let digit = usize::from(cells[usize::from(column)]);
        if digit != 0 && names[digit] == 0 {
            named += 1;
            names[digit] = named;
        }
        let name = names[digit];
        if is_lower {
            least[place] = name;
        } else if name > least[place] {
            return;
        } else if name < least[place] {
            is_lower = true;
            least[place] = name;
        }
    }
    if is_lower {
        kept.clear();
    }
    kept.push(Arrangement { taken: from.taken | 1 << row, band: row / 3, names, named, ..*from });
}

/// Which rows of a grid, and which bands, equal an earlier one.
struct Twins {
    /// For each row the last earlier row of its band with the same cells.
    rows: [Option<usize>; 9],
    /// For each band the last earlier band with the same rows.
    bands: [Option<usize>; 3],
    /// Whether there are any.
    are_any: bool,
}

impl Twins {
    fn of(grid: &Rows) -> Self {
        let rows = std::array::from_fn(|row| (row / 3 * 3..row).rev().find(|&earlier| grid[earlier] == grid[row]));
        let band = |band: usize| &grid[3 * band..3 * band + 3];
        let bands = std::array::from_fn(|here| (0..here).rev().find(|&earlier| band(earlier) == band(here)));
        let are_any = rows.iter().any(Option::is_some) || bands.iter().any(Option::is_some);
        Self { rows, bands, are_any }
    }

    /// The rows that may come after those taken, the last of them of `band` (3 for none): the rest of the band begun,
    /// else any row of another band. Of rows or bands that are equal throughout only the first may, since they lead to
    /// the same lines.
    fn that_may_follow(&self, taken: u16, band: usize) -> impl Iterator<Item = usize> + use<> {
        let is_free = |other: usize| taken >> other & 1 == 0;
        let begun = if band < 3 { 7 << (3 * band) & !taken } else { 0 };
        let mut left = if begun == 0 { !taken & 0o777 } else { begun };
        if self.are_any {
            let waits = |row: usize| {
                let for_band = begun == 0 && self.bands[row / 3].is_some_and(|band| is_free(3 * band));
                for_band || self.rows[row].is_some_and(is_free)
            };
            left = (0..9).filter(|&row| !waits(row)).fold(0, |all, row| all | left & 1 << row);
        }
        bits(u32::from(left))
    }
}
