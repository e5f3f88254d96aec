//! Ties printed solutions to their puzzles by the numbers in their labels, over all pages of one call.

use std::collections::HashMap;

use crate::grid::{Board, Cell, Digit};
use crate::label::number_of;

/// What is known of one grid: its label and what was read.
#[derive(Clone, Copy, Debug)]
pub struct Printed<'a> {
    /// Its label.
    pub label: Option<&'a str>,
    /// The 81-character line of its givens; `None` where it couldn't be read.
    pub givens: Option<&'a str>,
    /// Its only solution, as 81 digits.
    pub solution: Option<&'a str>,
    /// Whether all 81 digits are printed, so that it is a solution itself.
    pub solved: bool,
    /// Whether it was read with confidence.
    pub sure: bool,
}

/// What a printed solution says about a puzzle.
#[derive(Clone, Debug, PartialEq)]
pub struct Comparison {
    /// The page of the puzzle, as it was told to [`Partners::add`].
    pub page: usize,
    /// Which of its grids, from 0.
    pub grid: usize,
    /// Where puzzle and printed solution differ: the cell, the given there, and the digit that the printed solution has. First
    /// givens that differ; cells without a given only where no given does. Empty where they agree.
    pub differences: Vec<(Cell, Option<Digit>, Digit)>,
}

/// Puzzles and solutions by the numbers of their labels. Keeps one of each for a number, however often it is seen: where there are
/// two different ones, it can't be told which belong together, and none does.
#[derive(Debug, Default)]
pub struct Partners {
    by_number: HashMap<String, (Seen<Puzzle>, Seen<Solution>)>,
}

/// What was seen under one number, and where (page and grid).
#[derive(Debug, Default)]
enum Seen<T> {
    #[default]
    None,
    One(T, Vec<(usize, usize)>),
    Different,
}

impl<T: PartialEq> Seen<T> {
    fn and(&mut self, other: T, at: (usize, usize)) {
        match self {
            Self::None => *self = Self::One(other, vec![at]),
            Self::One(one, places) if *one == other => places.push(at),
            _ => *self = Self::Different,
        }
    }
}

#[derive(Debug, PartialEq)]
struct Puzzle {
    givens: Board,
    solution: Option<Board>,
}

/// The printed digits, where they were read with confidence.
#[derive(Debug, PartialEq)]
struct Solution(Option<Board>);

impl Partners {
    /// Takes in a page's grids, in their order. Gives whether one of them is a puzzle about which a printed solution may still
    /// have something to say.
    pub fn add<'a>(&mut self, page: usize, grids: impl IntoIterator<Item = Printed<'a>>) -> bool {
        let mut open = false;
        for (number, printed) in grids.into_iter().enumerate() {
            let Some(key) = printed.label.and_then(number_of) else { continue };
            let Some(givens) = printed.givens.and_then(|line| line.replace('?', ".").parse::<Board>().ok()) else { continue };
            let (puzzles, solutions) = self.by_number.entry(key).or_default();
            if printed.solved {
                solutions.and(Solution(printed.sure.then_some(givens)), (page, number));
            } else {
                let solution = printed.solution.and_then(|line| line.parse().ok());
                open |= solution.is_some();
                puzzles.and(Puzzle { givens, solution }, (page, number));
            }
        }
        open
    }

    /// What the printed solutions say, by page and grid.
    pub fn compare(&self) -> Vec<Comparison> {
        let mut all = Vec::new();
        for (puzzles, solutions) in self.by_number.values() {
            let (Seen::One(puzzle, places), Seen::One(Solution(Some(printed)), _)) = (puzzles, solutions) else { continue };
            let Some(differences) = differences(puzzle, printed) else { continue };
            all.extend(places.iter().map(|&(page, grid)| Comparison { page, grid, differences: differences.clone() }));
        }
        all.sort_by_key(|comparison| (comparison.page, comparison.grid));
        all
    }
}

/// Where the only solution of a puzzle isn't as printed; `None` where it hasn't only one.
fn differences(puzzle: &Puzzle, printed: &Board) -> Option<Vec<(Cell, Option<Digit>, Digit)>> {
    let solution = puzzle.solution.as_ref()?;
    let differing = Cell::ALL.into_iter().filter(|&cell| printed.get(cell) != solution.get(cell));
    let all: Vec<_> = differing.filter_map(|cell| Some((cell, puzzle.givens.get(cell), printed.get(cell)?))).collect();
    let givens: Vec<_> = all.iter().copied().filter(|(_, given, _)| given.is_some()).collect();
    Some(if givens.is_empty() { all } else { givens })
}

#[cfg(test)]
mod tests {
    use super::*;

    const SOLUTION: &str = "123456789456789123789123456214365897365897214897214365531642978642978531978531642";

    /// The solution with every third digit left out, which is enough for these tests.
    fn givens() -> String {
        SOLUTION.chars().enumerate().map(|(i, digit)| if i % 3 == 0 { '.' } else { digit }).collect()
    }

    fn printed<'a>(label: &'a str, givens: &'a str, solved: bool) -> Printed<'a> {
        Printed { label: Some(label), givens: Some(givens), solution: Some(SOLUTION), solved, sure: true }
    }

    #[test]
    fn a_solution_finds_its_puzzle_by_number() {
        let givens = givens();
        let mut partners = Partners::default();
        assert!(partners.add(0, [printed("No. 41", &givens, false), printed("No. 42", &givens, false)]));
        assert!(!partners.add(1, [printed("42", SOLUTION, true)]));
        assert_eq!(partners.compare(), [Comparison { page: 0, grid: 1, differences: Vec::new() }]);
    }

    #[test]
    fn a_puzzle_seen_twice_is_one() {
        let givens = givens();
        let mut partners = Partners::default();
        partners.add(0, [printed("42", &givens, false)]);
        partners.add(1, [printed("42", SOLUTION, true)]);
        partners.add(2, [printed("42", &givens, false)]);
        assert_eq!(partners.compare().iter().map(|comparison| comparison.page).collect::<Vec<_>>(), [0, 2]);
    }

    #[test]
    fn the_givens_that_differ_are_named_or_else_the_other_cells() {
        // r1c2 is given, r1c1 isn't.
        for (cell, given) in [(1, Some(2)), (0, None)] {
            let mut wrong: Vec<char> = SOLUTION.chars().collect();
            wrong[cell] = '9';
            let (wrong, givens): (String, _) = (wrong.into_iter().collect(), givens());
            let mut partners = Partners::default();
            partners.add(0, [printed("42", &givens, false)]);
            partners.add(1, [printed("42", &wrong, true)]);
            let told = partners.compare();
            let differences: Vec<_> =
                told[0].differences.iter().map(|(cell, given, printed)| (cell.index(), given.map(Digit::value), printed.value())).collect();
            assert_eq!(differences, [(cell, given, 9)]);
        }
    }

    #[test]
    fn what_cannot_be_told_is_not_compared() {
        let givens = givens();
        let others = givens.replacen('2', ".", 1);
        let unsure = |label| Printed { sure: false, ..printed(label, SOLUTION, true) };
        let unsolved = |label| Printed { solution: None, ..printed(label, &givens, false) };
        let cases: [(&str, Vec<Printed>); 6] = [
            ("two puzzles", vec![printed("42", &givens, false), printed("#42", &others, false), printed("42", SOLUTION, true)]),
            ("two solutions", vec![printed("42", &givens, false), printed("42", SOLUTION, true), unsure("42")]),
            ("an unsure solution", vec![printed("42", &givens, false), unsure("42")]),
            ("no only solution", vec![unsolved("42"), printed("42", SOLUTION, true)]),
            ("titles", vec![printed("Puzzle", &givens, false), printed("Puzzle", SOLUTION, true)]),
            ("other numbers", vec![printed("B-42", &givens, false), printed("42", SOLUTION, true)]),
        ];
        for (name, grids) in cases {
            let mut partners = Partners::default();
            partners.add(0, grids);
            assert_eq!(partners.compare(), [], "{name}");
        }
    }
}
