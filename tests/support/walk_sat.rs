//! A general SAT solver as the referee of walks: the rules as clauses, premises and the opposite of the conclusion as assumptions.

#![allow(dead_code, reason = "each test file uses a part of it")]

use batsat::{BasicSolver, Lit, SolverInterface, Var, lbool};
use gridlift::grid::{Cell, Digit, House};
use gridlift::walk::{Rectangle, Step};

use super::walk_patterns::Premises;

/// The rules of the puzzle.
pub struct Referee {
    solver: BasicSolver,
    variables: Vec<Var>,
}

impl Referee {
    pub fn new() -> Self {
        let mut solver = BasicSolver::default();
        let variables = (0..729).map(|_| solver.new_var_default()).collect();
        let mut referee = Self { solver, variables };
        for cell in Cell::ALL {
            referee.one_of(Digit::ALL.map(|digit| (cell, digit)));
        }
        for house in House::ALL {
            for digit in Digit::ALL {
                let cells: Vec<Cell> = house.cells().iter().collect();
                referee.one_of(std::array::from_fn(|at| (cells[at], digit)));
            }
        }
        referee
    }

    fn literal(&self, cell: Cell, digit: Digit, holds: bool) -> Lit {
        Lit::new(self.variables[9 * cell.index() + digit.index()], holds)
    }

    fn one_of(&mut self, all: [(Cell, Digit); 9]) {
        let mut clause = all.map(|(cell, digit)| self.literal(cell, digit, true)).to_vec();
        self.solver.add_clause_reuse(&mut clause);
        for (at, a) in all.iter().enumerate() {
            for b in &all[..at] {
                let mut clause = vec![self.literal(a.0, a.1, false), self.literal(b.0, b.1, false)];
                self.solver.add_clause_reuse(&mut clause);
            }
        }
    }

    /// Puts and strikes of the step that its premises (and its rectangle) don't imply.
    pub fn not_implied(&mut self, step: &Step, premises: &Premises) -> Vec<String> {
        let mut assumed: Vec<Lit> = premises.seen.iter().map(|&(cell, digit)| self.literal(cell, digit, true)).collect();
        for &(cell, digits) in &premises.struck {
            assumed.extend(digits.iter().map(|digit| self.literal(cell, digit, false)));
        }
        if let Some(Rectangle { cells, digits }) = step.rectangle {
            // "Not all four are of the two digits", switched on for this step alone.
            let switch = self.solver.new_var_default();
            let mut clause = vec![Lit::new(switch, false)];
            for cell in cells {
                clause.extend(Digit::ALL.into_iter().filter(|digit| !digits.contains(digit)).map(|digit| self.literal(cell, digit, true)));
            }
            self.solver.add_clause_reuse(&mut clause);
            assumed.push(Lit::new(switch, true));
        }
        let mut opposites: Vec<(String, Lit)> = Vec::new();
        opposites.extend(step.puts.map(|put| (format!("{} = {}", put.cell, put.digit), self.literal(put.cell, put.digit, false))));
        for strike in &step.strikes {
            opposites
                .extend(strike.digits.iter().map(|digit| (format!("{} not {digit}", strike.cell), self.literal(strike.cell, digit, true))));
        }
        opposites
            .into_iter()
            .filter(|&(_, opposite)| {
                assumed.push(opposite);
                let possible = self.solver.solve_limited(&assumed) != lbool::FALSE;
                assumed.pop();
                possible
            })
            .map(|(what, _)| what)
            .collect()
    }
}
