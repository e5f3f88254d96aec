//! The numbers behind effort.

use super::effort::KINDS;

/// What the parts of a step weigh.
#[derive(Clone, Debug)]
pub(super) struct Weights {
    /// Noticing and carrying out a step of each kind.
    pub base: [f64; KINDS],
    /// How readily a step of each kind is noticed, against a full house.
    pub notice: [f64; KINDS],
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

pub(super) const BARE: Weights = Weights {
    //     full  box  naked locked hp   np   ht   nt   xw   ur   xy   xyz  chain col  hq   nq   sword jelly forcing what-if line
    base: [0.2, 0.3, 1.0, 1.0, 1.8, 1.8, 4.0, 3.5, 3.5, 4.0, 5.0, 6.0, 5.0, 5.5, 7.0, 6.0, 7.0, 10.0, 8.0, 14.0, 0.5],
    notice: [1.0, 0.6, 0.12, 0.05, 0.03, 0.03, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.005, 0.005, 0.005, 0.002, 0.3],
    look: 0.1,
    crowd: 0.04,
    recall: 0.3,
    carry: 0.15,
    follow: 0.5,
    search: 2.0,
};

pub(super) const MARKED: Weights = BARE;
