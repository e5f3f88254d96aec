//! Numbers fitted to people's times by `scripts/walk/fit.py`: run it again rather than change them here.

/// How readily each kind of `race.rs` is noticed.
pub(super) const RATES: [f64; 9] = [0.8733, 0.8307, 0.9837, 0.8233, 0.1707, 0.1655, 0.1500, 0.0904, 0.0200];

/// A moment lasts the product of crowd ** CROWD, over rate ** SPEED.
pub(super) const SPEED: f64 = 0.5520;

/// See [`SPEED`].
pub(super) const CROWD: [f64; 3] = [0.8628, 0.3252, 0.2251];

/// The logarithm of people's seconds over the logarithm of the race: where the line starts, and its slope.
pub(super) const LINE: [f64; 2] = [0.3715, 0.8809];

/// What the parts of a step weigh, in the order of `effort::parts`; the middle puzzle of the table takes 40.
pub(super) const WEIGHTS: [f64; 27] = [
    0.2215, 0.2647, 1.2514, 1.1988, 2.1615, 2.1516, 4.7756, 4.1787, 4.1455, 4.7840, 5.9328, 7.1850, 6.0627, 6.5665, 8.3574, 7.1635, 8.3574,
    11.9391, 9.6860, 16.6636, 0.6569, 0.1130, 0.0411, 0.3594, 0.1796, 0.5997, 2.5392,
];
