//! Tells diagonals, windows and the cells of all even digits that are printed on a tint, by which a puzzle goes by other rules. The networks see cells with their light evened, and hence
//! hardly a tint.

use crate::cut::Light;
use crate::grid::{Board, Cell};

/// One step in so many across the pattern's rim may be spoilt by a shadow's edge, a digit or a pen.
const SPOILT: usize = 6;
/// A tint differs from the paper beside it by so many times what cells beside one another usually differ by.
const STANDS_OUT: f32 = 2.0;
/// And by this at least: of brightness as a logarithm, of colour in steps of 8 bits.
const LEAST: [f32; 3] = [0.012, 1.5, 1.5];

/// Whether the cells of both diagonals, or of the four squares of 3x3 cells that stand one cell from the rim and from each other, are all darker, lighter or
/// of another colour than those beside them, where others hardly differ: so neither chequered cells nor tinted boxes are meant.
pub(super) fn tell_other_rules(light: &[Light]) -> bool {
    [on_diagonal, in_window].into_iter().any(|pattern| is_tinted(light, |n| pattern(n / 9, n % 9)))
}

/// Whether the cells of a solution's even digits, or those of its odd ones, are so: they are marked where a solver needs to know.
pub(super) fn tell_parity(light: &[Light], solution: &Board) -> bool {
    is_tinted(light, |n| solution.get(Cell::ALL[n]).is_some_and(|digit| digit.value() % 2 == 0))
}

/// Whether the cells of a pattern are all darker, lighter or of another colour than those beside them.
fn is_tinted(light: &[Light], pattern: impl Fn(usize) -> bool) -> bool {
    let channels: [&dyn Fn(&Light) -> f32; 3] = [&|light| light.paper.max(1.0).ln(), &|light| light.colour[0], &|light| light.colour[1]];
    channels.into_iter().zip(LEAST).any(|(channel, least)| {
        let values: Vec<f32> = light.iter().map(channel).collect();
        [1.0, -1.0].into_iter().any(|sign| stands_out(&values, &pattern, sign, least))
    })
}

fn on_diagonal(row: usize, column: usize) -> bool {
    row == column || row + column == 8
}

fn in_window(row: usize, column: usize) -> bool {
    !row.is_multiple_of(4) && !column.is_multiple_of(4)
}

/// Whether the values of `pattern` lie, times `sign`, above those of the cells beside them.
fn stands_out(values: &[f32], pattern: &impl Fn(usize) -> bool, sign: f32, least: f32) -> bool {
    let beside = |n: usize| [(n % 9 < 8).then_some(n + 1), (n < 72).then_some(n + 9)].into_iter().flatten().map(move |other| (n, other));
    let (across, mut others): (Vec<_>, Vec<_>) = (0..81).flat_map(beside).partition(|&(one, other)| pattern(one) != pattern(other));
    let step = |(one, other): (usize, usize)| values[one] - values[other];
    others.sort_by(|&a, &b| step(a).abs().total_cmp(&step(b).abs()));
    let tint = least.max(STANDS_OUT * step(others[others.len() / 2]).abs());
    let spoilt = across.iter().filter(|&&(one, other)| sign * step(if pattern(one) { (one, other) } else { (other, one) }) < tint).count();
    SPOILT * spoilt <= across.len()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Paper that grows darker to the right, with some cells tinted.
    fn light(tinted: impl Fn(usize, usize) -> bool, tint: f32, colour: f32) -> Vec<Light> {
        let cell = |n: usize| {
            let (row, column) = (n / 9, n % 9);
            let (tint, colour) = if tinted(row, column) { (tint, colour) } else { (1.0, 0.0) };
            Light { paper: (220.0 - column as f32 - row as f32) * tint, outside: 0.0, colour: [colour, 0.0] }
        };
        (0..81).map(cell).collect()
    }

    #[test]
    fn diagonals_and_windows_are_told_by_brightness_or_colour() {
        for pattern in [on_diagonal, in_window] {
            assert!(tell_other_rules(&light(pattern, 0.95, 0.0)));
            assert!(tell_other_rules(&light(pattern, 1.0, -4.0)));
        }
    }

    #[test]
    fn other_tints_tell_nothing() {
        let patterns: [&dyn Fn(usize, usize) -> bool; 8] = [
            &|_, _| false,
            &|row, column| (row + column) % 2 == 0,
            &|row, column| (row / 3 + column / 3) % 2 == 0,
            &|row, column| row / 3 == 1 && column / 3 == 1,
            &|row, _| row % 2 == 0,
            &|_, column| column % 4 == 0,
            &|row, column| row == column,
            &|row, column| in_window(row, column) && row < 4,
        ];
        assert!(patterns.iter().all(|pattern| !tell_other_rules(&light(pattern, 0.85, 6.0))));
    }

    #[test]
    fn tinted_digits_of_one_parity_are_told_by_the_solution() {
        let solved = "231485796947126853685937214472593168156278439398641527564719382713862945829354671";
        let solution: Board = solved.parse().expect("a board");
        let is_even = |row: usize, column: usize| (solved.as_bytes()[9 * row + column] - b'0').is_multiple_of(2);
        let is_low = |row: usize, column: usize| solved.as_bytes()[9 * row + column] < b'5';
        assert!(tell_parity(&light(is_even, 0.93, 0.0), &solution));
        assert!(tell_parity(&light(|row, column| !is_even(row, column), 1.0, 5.0), &solution));
        assert!(!tell_other_rules(&light(is_even, 0.93, 0.0)));
        assert!(!tell_parity(&light(is_low, 0.93, 0.0), &solution));
        assert!(!tell_parity(&light(|_, _| false, 0.93, 0.0), &solution));
    }
}
