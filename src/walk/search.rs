//! Looks for the easiest walk: a beam over the orders in which digits can be written, and for each digit the cheapest facts that lead to it.

use std::collections::{BinaryHeap, HashMap, HashSet};
use std::hash::{DefaultHasher, Hash, Hasher};
use std::rc::Rc;

use crate::grid::{CellSet, Digits, House};

use super::cite::{Because, cite};
use super::effort::{Pencil, chances, effort};
use super::position::{Position, StepId};
use super::step::{Deduction, Sighting};
use super::weights::Weights;
use super::{chains, fish, forcing, locked, rectangle, singles, subsets, wings};

/// Which deductions may be used, and how the solver works.
#[derive(Clone, Debug)]
pub(super) struct Rules {
    pub pencil: Pencil,
    /// One bit a deduction, by its place in the ladder.
    pub allowed: u32,
}

impl Rules {
    pub fn allows(&self, deduction: Deduction) -> bool {
        self.allowed >> deduction as u32 & 1 == 1
    }
}

/// The groups of deductions that are looked for together, cheapest first.
pub(super) const TIERS: [fn(&Position, &mut Vec<Sighting>); 8] = [
    locked::find,
    |position, found| subsets::find(position, 2, found),
    |position, found| {
        subsets::find(position, 3, found);
        fish::find(position, 2, found);
    },
    rectangle::find,
    |position, found| {
        wings::find(position, found);
        chains::find(position, found);
    },
    |position, found| {
        subsets::find(position, 4, found);
        fish::find(position, 3, found);
    },
    |position, found| fish::find(position, 4, found),
    forcing::find,
];

/// The deductions of each tier, for the least that any of them costs.
const TIER_DEDUCTIONS: [&[Deduction]; 8] = [
    &[Deduction::LockedCandidates],
    &[Deduction::HiddenPair, Deduction::NakedPair],
    &[Deduction::HiddenTriple, Deduction::NakedTriple, Deduction::XWing],
    &[Deduction::UniqueRectangle],
    &[Deduction::XyWing, Deduction::XyzWing, Deduction::SingleDigitChain, Deduction::Colouring],
    &[Deduction::HiddenQuad, Deduction::NakedQuad, Deduction::Swordfish],
    &[Deduction::Jellyfish],
    &[Deduction::ForcingChain, Deduction::WhatIf],
];

/// Most nested branchings of a what-if. No puzzle met so far needs more than two.
pub(super) const DEEPEST: usize = 4;

/// Tiers that are looked through again after every fact; the dearer ones only once all that was seen is used up.
const CHEAP_TIERS: usize = 3;

/// How many facts are tried for one cell before it counts as out of reach: far more than anyone carries.
const FAR: usize = 30;

/// How many positions are kept after each digit written.
const BEAM: usize = 6;

/// How many ways to go on are tried from each.
const WAYS: usize = 4;

/// A step that some line of the search has taken, or looked at.
pub(super) struct Stored {
    pub sighting: Sighting,
    pub because: Because,
    /// Without what is carried.
    pub effort: f64,
}

/// The steps that led to a position, latest first, shared among the lines of the search.
struct Taken {
    step: StepId,
    before: Option<Rc<Taken>>,
}

/// A position on the way, and what it cost to get there.
#[derive(Clone)]
struct Node {
    position: Position,
    spent: f64,
    taken: Option<Rc<Taken>>,
}

/// A way to write one more digit: the facts found for it in order, then the digit.
struct Way {
    steps: Vec<StepId>,
    cost: f64,
}

/// All steps met, by number; number 0 is none.
pub(super) struct Search<'a> {
    rules: &'a Rules,
    weights: &'a Weights,
    pub store: Vec<Stored>,
    /// What each step costs with the facts found in the same hunt that it needs.
    keys: Vec<f64>,
}

impl<'a> Search<'a> {
    pub fn new(rules: &'a Rules) -> Self {
        let none = Sighting {
            deduction: Deduction::WhatIf,
            view: super::step::View::OneLine,
            houses: Vec::new(),
            cells: CellSet::EMPTY,
            digits: Digits::EMPTY,
            puts: None,
            strikes: Vec::new(),
            absences: Vec::new(),
            rectangle: None,
            line: None,
        };
        let none = Stored { sighting: none, because: Because::default(), effort: 0.0 };
        Self { rules, weights: rules.pencil.weights(), store: vec![none], keys: vec![0.0] }
    }

    pub fn keep(&mut self, sighting: Sighting, because: Because, effort: f64, key: f64) -> StepId {
        self.store.push(Stored { sighting, because, effort });
        self.keys.push(key);
        (self.store.len() - 1) as StepId
    }

    /// The steps of the easiest walks found, best first: to the end, or as far as the allowed deductions lead.
    pub fn easiest(&mut self, start: &Position) -> Vec<Vec<StepId>> {
        let mut beam = vec![Node { position: start.clone(), spent: 0.0, taken: None }];
        let mut stuck: Vec<Node> = Vec::new();
        while beam.iter().any(|node| node.position.filled != CellSet::ALL) {
            let mut next: HashMap<u64, Node> = HashMap::new();
            for node in &beam {
                let ways = self.ways(&node.position, WAYS, CellSet::ALL);
                if ways.is_empty() {
                    stuck.push(node.clone());
                }
                for way in ways {
                    let after = self.follow(node, &way);
                    let key = fingerprint(&after.position);
                    if next.get(&key).is_none_or(|known| known.spent > after.spent) {
                        next.insert(key, after);
                    }
                }
            }
            if next.is_empty() {
                beam = stuck;
                break;
            }
            beam = next.into_values().collect();
            // The map's order is no order: ties are broken by the position itself, so that a walk is the same every time.
            beam.sort_by(|a, b| a.spent.total_cmp(&b.spent).then_with(|| a.position.board.cmp(&b.position.board)));
            beam.truncate(BEAM);
        }
        beam.iter().map(|node| steps_of(node.taken.as_ref())).collect()
    }

    /// The cheapest way to write one more digit, facts first; empty where the allowed deductions lead no further.
    pub fn next(&mut self, position: &Position) -> Vec<StepId> {
        self.reach(position, CellSet::ALL)
    }

    /// The cheapest facts and digit that fill one of the cells without writing any other digit; empty where there are none.
    pub fn reach(&mut self, position: &Position, cells: CellSet) -> Vec<StepId> {
        self.ways(position, 1, cells).into_iter().next().map_or_else(Vec::new, |way| way.steps)
    }

    fn follow(&self, node: &Node, way: &Way) -> Node {
        let mut after = node.clone();
        after.spent += way.cost;
        for &step in &way.steps {
            after.position.apply(&self.store[step as usize].sighting, step);
            after.taken = Some(Rc::new(Taken { step, before: after.taken.take() }));
        }
        after
    }

    /// Up to `most` ways to write one more digit, cheapest first, each for another of the cells.
    fn ways(&mut self, position: &Position, most: usize, cells: CellSet) -> Vec<Way> {
        let base = self.store.len();
        let mut hunt = Hunt { heap: BinaryHeap::new(), seen: HashSet::new(), position: position.clone(), chances: 0.0, base };
        self.scan(&mut hunt, singles::find, true);
        let mut ways: Vec<Way> = Vec::new();
        let mut written = CellSet::EMPTY;
        let mut tier = 0;
        let mut branched = false;
        let mut stale = false;
        let mut facts = 0;
        while ways.len() < most {
            let least = hunt.heap.peek().map_or(f64::INFINITY, |waiting| waiting.key);
            // The cheapest way is sure once nothing cheaper can turn up; others are a bonus and open no dearer tier.
            if tier < TIERS.len() && least > self.tier_least(tier, &hunt) && ways.is_empty() {
                self.scan(&mut hunt, TIERS[tier], false);
                tier += 1;
                continue;
            }
            if hunt.heap.is_empty() && std::mem::take(&mut stale) {
                for find in &TIERS[CHEAP_TIERS..tier] {
                    self.scan(&mut hunt, *find, false);
                }
            }
            let Some(waiting) = hunt.heap.pop() else {
                if branched || !ways.is_empty() || !self.rules.allows(Deduction::WhatIf) {
                    break;
                }
                let Some(sighting) = forcing::find_branching(&hunt.position, DEEPEST) else { break };
                self.offer(&mut hunt, sighting);
                branched = hunt.heap.is_empty();
                continue;
            };
            if let Some(put) = waiting.sighting.puts {
                if cells.contains(put.cell) && !written.contains(put.cell) {
                    written.insert(put.cell);
                    let step = self.keep(waiting.sighting, waiting.because, waiting.effort, waiting.key);
                    ways.push(self.way(step, base));
                }
                continue;
            }
            if !ways.is_empty() {
                continue;
            }
            if cells != CellSet::ALL && facts == FAR {
                break;
            }
            let mut sighting = forcing::demote_long(&hunt.position, waiting.sighting, &waiting.because);
            if sighting.deduction == Deduction::WhatIf && waiting.deduction != Deduction::WhatIf {
                self.offer(&mut hunt, sighting);
                continue;
            }
            sighting.strikes.retain_mut(|strike| {
                strike.digits &= hunt.position.candidates[strike.cell.index()];
                !strike.digits.is_empty()
            });
            if sighting.strikes.is_empty() {
                continue;
            }
            let step = self.keep(sighting, waiting.because, waiting.effort, waiting.key);
            hunt.position.apply(&self.store[step as usize].sighting, step);
            facts += 1;
            self.scan(&mut hunt, singles::find, false);
            for find in &TIERS[..tier.min(CHEAP_TIERS)] {
                self.scan(&mut hunt, *find, false);
            }
            stale = tier > CHEAP_TIERS;
        }
        ways
    }

    /// The least that a deduction of this tier and the digit it leads to could cost.
    fn tier_least(&self, tier: usize, hunt: &Hunt) -> f64 {
        let search = self.weights.search / (1.0 + hunt.chances);
        let least = TIER_DEDUCTIONS[tier].iter().map(|&deduction| self.weights.base[deduction as usize]).fold(f64::INFINITY, f64::min);
        least + 2.0 * search
    }

    /// Puts everything that `find` sees and that is allowed and new on the heap.
    fn scan(&self, hunt: &mut Hunt, find: fn(&Position, &mut Vec<Sighting>), count: bool) {
        let mut found = Vec::new();
        find(&hunt.position, &mut found);
        if count {
            hunt.chances = chances(&found);
        }
        for sighting in found {
            self.offer(hunt, sighting);
        }
    }

    fn offer(&self, hunt: &mut Hunt, sighting: Sighting) {
        if !self.rules.allows(sighting.deduction) || !hunt.seen.insert(mark(&sighting)) {
            return;
        }
        let because = cite(&hunt.position, &sighting);
        let effort = effort(&hunt.position, &sighting, &because, hunt.chances, self.weights);
        let key =
            effort + because.facts.iter().filter(|&&fact| fact as usize >= hunt.base).map(|&fact| self.keys[fact as usize]).sum::<f64>();
        let order = hunt.seen.len();
        hunt.heap.push(Waiting { key, order, effort, deduction: sighting.deduction, sighting, because });
    }

    /// The facts that a step needs and that aren't known yet, in order, then the step.
    fn way(&mut self, step: StepId, base: usize) -> Way {
        let mut needed = vec![step];
        let mut at = 0;
        while at < needed.len() {
            for &fact in &self.store[needed[at] as usize].because.facts {
                if fact as usize >= base && !needed.contains(&fact) {
                    needed.push(fact);
                }
            }
            at += 1;
        }
        needed.sort_unstable();
        Way { cost: needed.iter().map(|&step| self.store[step as usize].effort).sum(), steps: needed }
    }
}

/// What is in view from one position, with the facts found so far in it.
struct Hunt {
    heap: BinaryHeap<Waiting>,
    seen: HashSet<u64>,
    position: Position,
    chances: f64,
    /// Steps from this number on were found in this hunt: they are not paid for yet.
    base: usize,
}

/// A deduction that waits for its turn: the least key first.
struct Waiting {
    key: f64,
    order: usize,
    effort: f64,
    deduction: Deduction,
    sighting: Sighting,
    because: Because,
}

impl PartialEq for Waiting {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Waiting {}

impl PartialOrd for Waiting {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Waiting {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        other.key.total_cmp(&self.key).then(other.order.cmp(&self.order))
    }
}

fn steps_of(taken: Option<&Rc<Taken>>) -> Vec<StepId> {
    let mut steps = Vec::new();
    let mut at = taken;
    while let Some(taken) = at {
        steps.push(taken.step);
        at = taken.before.as_ref();
    }
    steps.reverse();
    steps
}

fn fingerprint(position: &Position) -> u64 {
    let mut hasher = DefaultHasher::new();
    (position.filled, position.places).hash(&mut hasher);
    hasher.finish()
}

/// Tells sightings of one pattern apart from others: strikes are left out, since they dwindle.
fn mark(sighting: &Sighting) -> u64 {
    let mut hasher = DefaultHasher::new();
    let houses = sighting.houses.iter().map(|house: &House| house.index());
    (sighting.deduction, sighting.view, sighting.cells, sighting.digits, houses.collect::<Vec<_>>()).hash(&mut hasher);
    sighting.strikes.first().map(|strike| (strike.cell, strike.digits)).hash(&mut hasher);
    hasher.finish()
}
