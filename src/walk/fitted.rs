//! Numbers fitted to people's times by `scripts/walk/fit.py`: run it again rather than change them here.

/// How readily each kind of `race.rs` is noticed.
pub(super) const RATES: [f64; 9] = [0.8360, 0.8344, 1.2530, 0.6705, 0.1596, 0.1677, 0.1523, 0.0942, 0.0200];

/// A moment lasts the product of crowd ** CROWD, over rate ** SPEED.
pub(super) const SPEED: f64 = 0.6536;

/// See [`SPEED`].
pub(super) const CROWD: [f64; 2] = [0.8217, 0.5398];

/// The logarithm of people's seconds over the logarithm of the race: where the line starts, and its slope.
pub(super) const LINE: [f64; 2] = [3.4254, 0.7584];

/// What the parts of a step weigh, in the order of `effort::parts`; the middle puzzle of the table takes 40.
pub(super) const WEIGHTS: [f64; 27] = [
    0.2227, 0.2683, 1.2562, 1.2032, 2.1694, 2.1591, 4.7924, 4.1933, 4.1612, 4.8007, 5.9548, 7.2105, 6.0892, 6.5895, 8.3867, 7.1886, 8.3867,
    11.9809, 9.7219, 16.7225, 0.6465, 0.1137, 0.0417, 0.3607, 0.1803, 0.6019, 2.4952,
];
