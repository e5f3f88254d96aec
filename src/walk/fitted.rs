//! Numbers fitted to people's times by `scripts/walk/fit.py`: run it again rather than change them here.

/// How readily each kind of `race.rs` is noticed.
pub(super) const RATES: [f64; 9] = [0.8420, 0.8789, 1.0699, 0.6834, 0.1754, 0.1688, 0.1498, 0.0937, 0.0200];

/// A moment lasts the product of crowd ** CROWD, over rate ** SPEED.
pub(super) const SPEED: f64 = 0.5842;

/// See [`SPEED`].
pub(super) const CROWD: [f64; 3] = [0.9010, 0.3410, 0.2214];

/// The logarithm of people's seconds over the logarithm of the race: where the line starts, and its slope.
pub(super) const LINE: [f64; 2] = [0.6840, 0.8211];

/// What the parts of a step weigh, in the order of `effort::parts`; the middle puzzle of the table takes 40.
pub(super) const WEIGHTS: [f64; 27] = [
    0.2215, 0.2610, 1.2463, 1.1942, 2.1532, 2.1433, 4.7572, 4.1626, 4.1302, 4.7653, 5.9104, 7.1571, 6.0386, 6.5412, 8.3251, 7.1358, 8.3251,
    11.8930, 9.6508, 16.5995, 0.6686, 0.1118, 0.0407, 0.3580, 0.1789, 0.5974, 2.5613,
];
