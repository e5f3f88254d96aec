//! Tells diagonals that are printed on a tint, by which a puzzle goes by other rules. The networks see cells with their light evened, and hence no tint.

use crate::cut::Light;

/// Cells of seventeen on the diagonals that a shadow's edge, a digit or a pen may spoil.
const SPOILT: usize = 3;
/// A tint differs from the paper beside it by so many times what other cells usually differ by.
const STANDS_OUT: f32 = 2.0;
/// And by this at least: of brightness as a logarithm, of colour in steps of 8 bits.
const LEAST: [f32; 3] = [0.012, 1.5, 1.5];

/// Whether the cells of both diagonals are all darker, lighter or of another colour than those one and two cells to their sides, where others hardly differ from
/// theirs: so neither chequered cells nor tinted boxes are meant.
pub(super) fn tinted_diagonals(light: &[Light]) -> bool {
    let channels: [&dyn Fn(&Light) -> f32; 3] = [&|light| light.paper.max(1.0).ln(), &|light| light.colour[0], &|light| light.colour[1]];
    channels.into_iter().zip(LEAST).any(|(channel, least)| {
        let values: Vec<f32> = light.iter().map(channel).collect();
        [1.0, -1.0].into_iter().any(|sign| [1, 2].into_iter().all(|far| stand_out(&values, far, sign, least)))
    })
}

fn on_diagonal(row: usize, column: usize) -> bool {
    row == column || row + column == 8
}

/// Whether the diagonals' values lie, times `sign`, above those of the cells so `far` to the left and right of them.
fn stand_out(values: &[f32], far: usize, sign: f32, least: f32) -> bool {
    // Against the cells beside it that lie on no diagonal.
    let step = |(row, column): (usize, usize)| {
        let beside = [column.checked_sub(far), Some(column + far)].into_iter().flatten().filter(|&c| c < 9 && !on_diagonal(row, c));
        let beside: Vec<f32> = beside.map(|c| values[9 * row + c]).collect();
        (!beside.is_empty()).then(|| values[9 * row + column] - beside.iter().sum::<f32>() / beside.len() as f32)
    };
    let steps = |on: bool| (0..81).map(|n| (n / 9, n % 9)).filter(move |&(row, column)| on_diagonal(row, column) == on).filter_map(step);
    let mut others: Vec<f32> = steps(false).map(f32::abs).collect();
    others.sort_by(f32::total_cmp);
    let Some(usual) = others.get(others.len() / 2) else { return false };
    let tint = least.max(STANDS_OUT * usual);
    steps(true).filter(|step| sign * step < tint).count() <= SPOILT
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
    fn diagonals_are_told_by_brightness_or_colour() {
        assert!(tinted_diagonals(&light(on_diagonal, 0.95, 0.0)));
        assert!(tinted_diagonals(&light(on_diagonal, 1.0, -4.0)));
    }

    #[test]
    fn other_tints_are_no_diagonals() {
        let patterns: [&dyn Fn(usize, usize) -> bool; 5] = [
            &|_, _| false,
            &|row, column| (row + column) % 2 == 0,
            &|row, column| (row / 3 + column / 3) % 2 == 0,
            &|row, _| row % 2 == 0,
            &|row, column| row == column,
        ];
        assert!(patterns.iter().all(|pattern| !tinted_diagonals(&light(pattern, 0.85, 6.0))));
    }
}
