//! The weights of effort, with nothing but digits written and with all candidates written down.
//!
//! The unit is such that the middle puzzle of the table of people's times takes 40. The bare weights are fitted (`fitted.rs`).

use super::effort::{KINDS, PARTS};
use super::fitted::WEIGHTS;

/// What the parts of a step weigh.
#[derive(Clone, Debug)]
pub(super) struct Weights {
    /// Noticing and carrying out a step of each kind.
    pub base: [f64; KINDS],
    /// Each filled cell outside the named houses that must be looked at.
    pub look: f64,
    /// Each open cell of the named houses, or digit ruled out for a naked single.
    pub crowd: f64,
    /// Each earlier step whose strikes are used.
    pub recall: f64,
    /// Each fact held in mind during a step.
    pub carry: f64,
    /// Each placement of a line of consequences.
    pub follow: f64,
    /// The search for something to do, divided among the chances in view.
    pub search: f64,
}

/// Nothing is written but digits.
pub(super) const BARE: Weights = from_parts(WEIGHTS);

/// All candidates are written down: naked sets show themselves, facts need no memory, and hidden sets drown in marks. From judgement,
/// since no table of times is known to come from people who write all candidates.
pub(super) const MARKED: Weights = {
    let mut weights = from_parts(WEIGHTS);
    //              full  box  naked locked hp  np   ht   nt   xw   ur   xy   xyz  chain col  hq   nq   sword jelly forcing what line
    weights.base = [0.2, 0.4, 0.3, 1.0, 1.8, 1.0, 3.5, 2.0, 3.0, 2.5, 3.5, 4.0, 4.0, 4.5, 6.0, 4.0, 5.5, 8.0, 7.0, 14.0, 0.6];
    weights.recall = 0.0;
    weights.carry = 0.0;
    weights
};

/// How readily a step of each kind is noticed, against a hidden single in a box: the deduction, with a hidden single in a line last. From
/// judgement; it only shares the search out among the chances in view.
pub(super) const NOTICE: [f64; KINDS] =
    [1.5, 1.0, 0.2, 0.05, 0.03, 0.03, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.005, 0.005, 0.005, 0.002, 0.4];

const fn from_parts(parts: [f64; PARTS]) -> Weights {
    let mut base = [0.0; KINDS];
    let mut at = 0;
    while at < KINDS {
        base[at] = parts[at];
        at += 1;
    }
    let [look, crowd, recall, carry, follow, search] =
        [parts[KINDS], parts[KINDS + 1], parts[KINDS + 2], parts[KINDS + 3], parts[KINDS + 4], parts[KINDS + 5]];
    Weights { base, look, crowd, recall, carry, follow, search }
}
