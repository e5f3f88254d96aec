//! Numbers fitted to people's times by `scripts/walk/fit.py`: run it again rather than change them here.

/// How readily each class of `race.rs` is noticed.
pub(super) const RATES: [f64; 26] = [
    1.1539, 1.3491, 1.4516, 1.4825, 0.4767, 0.5000, 0.3788, 0.6064, 1.0627, 0.2456, 0.2427, 0.4314, 0.1073, 0.1259, 0.3166, 0.0823, 0.0979,
    0.0740, 0.0674, 0.1991, 0.1368, 0.1884, 0.1188, 0.0606, 0.0777, 0.0166,
];

/// A moment lasts open share ** CROWD / rate ** SPEED.
pub(super) const SPEED: f64 = 0.8288;

/// See [`SPEED`].
pub(super) const CROWD: f64 = 0.5351;

/// The logarithm of people's seconds over the logarithm of the race: where the line starts, and its slope.
pub(super) const LINE: [f64; 2] = [4.6563, 0.6364];

/// What the parts of a step weigh, in the order of `effort::parts`; the middle puzzle of the table takes 40.
pub(super) const WEIGHTS: [f64; 27] = [
    0.1952, 0.2508, 1.1122, 1.0703, 1.9305, 1.9170, 4.2590, 3.7266, 3.7048, 4.2653, 5.3215, 6.4065, 5.4289, 5.8561, 7.4532, 6.3885, 7.4532,
    10.6475, 8.6537, 14.9065, 0.5217, 0.1015, 0.0378, 0.3209, 0.1603, 0.5355, 2.1273,
];
