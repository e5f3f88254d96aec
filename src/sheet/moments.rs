//! The moments of a walk or of a rehearsal, each of which makes one board: what stands, what is in mind, and what is seen next.

use crate::grid::Board;
use crate::walk::{Judged, Put, Ruling, Step, Walk, Words, say};

/// One moment.
#[derive(Clone, Debug)]
pub struct Moment {
    /// Its number: 0 for the puzzle before the first step, then on from 1.
    pub number: usize,
    /// What it shows, in a few words.
    pub heading: String,
    /// The sentence to speak; empty for the puzzle itself.
    pub sentence: String,
    /// The printed digits.
    pub givens: Board,
    /// What stands before the step.
    pub board: Board,
    /// What is seen; `None` for the puzzle itself and for a digit that is written ahead of its reasons.
    pub step: Option<Step>,
    /// The digit that is written.
    pub put: Option<Put>,
    /// The facts in mind: earlier steps whose strikes this or a later step uses.
    pub carried: Vec<Step>,
    /// When it ends, in seconds from the start, where a recording says.
    pub until_seconds: Option<u32>,
}

impl Moment {
    /// The puzzle, before anything is written.
    fn opening(givens: &Board, board: &Board) -> Self {
        Self {
            number: 0,
            heading: "The puzzle".into(),
            sentence: String::new(),
            givens: *givens,
            board: *board,
            step: None,
            put: None,
            carried: Vec::new(),
            until_seconds: None,
        }
    }

    fn of(step: &Step, opening: &Self, board: &Board, carried: Vec<Step>, words: &Words) -> Self {
        Self {
            number: step.n,
            heading: format!("{}: {}, {}", step.n, step.deduction, step.view),
            sentence: say(step, words),
            board: *board,
            step: Some(step.clone()),
            put: step.puts,
            carried,
            ..opening.clone()
        }
    }
}

/// The puzzle, and each step of the walk.
pub fn walk_moments(walk: &Walk, words: &Words) -> Vec<Moment> {
    let opening = Moment::opening(&walk.givens, &walk.start);
    let mut board = walk.start;
    let mut moments = vec![opening.clone()];
    for step in &walk.steps {
        let used = |fact: &&Step| fact.n < step.n && walk.steps[step.n - 1..].iter().any(|later| later.because_facts.contains(&fact.n));
        let carried = walk.steps.iter().filter(used).cloned().collect();
        moments.push(Moment::of(step, &opening, &board, carried, words));
        if let Some(put) = step.puts {
            board.set(put.cell, Some(put.digit));
        }
    }
    moments
}

/// The puzzle, and for each right placement of a rehearsal the facts that it takes and the placement itself, numbered on. A slip makes no
/// board; what stands in its cell is on those that follow.
pub fn rehearsal_moments(givens: &Board, judged: &[Judged], words: &Words) -> Vec<Moment> {
    let opening = Moment::opening(givens, givens);
    let mut board = *givens;
    let mut moments = vec![opening.clone()];
    for judged in judged {
        let put = judged.placement.put;
        let before = moments.len() - 1;
        let numbered = |step: &Step| {
            let because_facts = step.because_facts.iter().map(|fact| fact + before).collect();
            Step { n: step.n + before, because_facts, ..step.clone() }
        };
        let steps: Vec<Step> = judged.facts.iter().chain(&judged.step).map(numbered).collect();
        for (at, step) in steps.iter().enumerate() {
            let used = |fact: &&Step| steps[at..].iter().any(|later| later.because_facts.contains(&fact.n));
            moments.push(Moment::of(step, &opening, &board, steps[..at].iter().filter(used).cloned().collect(), words));
        }
        if judged.ruling == Ruling::Leap {
            let number = moments.len();
            let missing = match judged.missing.len() {
                1 => "1 step comes".into(),
                count => format!("{count} steps come"),
            };
            let sentence = format!("{} is {}, before it can be seen: {missing} first.", put.cell, put.digit);
            let heading = format!("{number}: ahead of its reasons");
            moments.push(Moment { number, heading, sentence, board, put: Some(put), ..opening.clone() });
        }
        if moments.len() > before + 1
            && let Some(last) = moments.last_mut()
        {
            last.until_seconds = judged.placement.seconds;
        }
        board.set(put.cell, Some(judged.stands.unwrap_or(put.digit)));
    }
    moments
}
