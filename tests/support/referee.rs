//! A general SAT solver as referee: it knows the rules of the puzzle as clauses and nothing else.

use batsat::{BasicSolver, Lit, SolverInterface, lbool};
use gridlift::grid::{Board, Cell, CellSet, Digit, House};

/// The rules of the puzzle as clauses, ready to be asked about givens.
pub struct Referee {
    solver: BasicSolver,
    holds: Vec<Vec<Lit>>,
}

impl Referee {
    pub fn new() -> Self {
        let mut solver = BasicSolver::default();
        let holds: Vec<Vec<Lit>> = Cell::ALL.iter().map(|_| (0..9).map(|_| Lit::new(solver.new_var_default(), true)).collect()).collect();
        let mut referee = Self { solver, holds };
        for cell in Cell::ALL {
            referee.exactly_one(Digit::ALL.map(|digit| (cell, digit)));
        }
        for house in House::ALL {
            for digit in Digit::ALL {
                referee.exactly_one(cells(house.cells()).map(|cell| (cell, digit)));
            }
        }
        referee
    }

    /// How many solutions the givens have: 0, 1 or 2 for more.
    pub fn count(&mut self, givens: &Board) -> u64 {
        let assumed: Vec<Lit> = givens.placed().map(|(cell, digit)| self.holds[cell.index()][digit.index()]).collect();
        if self.solver.solve_limited(&assumed) != lbool::TRUE {
            return 0;
        }
        let first: Vec<Lit> =
            self.holds.iter().flatten().copied().filter(|&literal| self.solver.value_lit(literal) == lbool::TRUE).collect();
        // Another solution differs somewhere: the clause holds only while its guard is assumed, so it harms no later question.
        let guard = Lit::new(self.solver.new_var_default(), true);
        let mut other: Vec<Lit> = first.iter().map(|&literal| !literal).collect();
        other.push(!guard);
        self.solver.add_clause_reuse(&mut other);
        let mut assumed = assumed;
        assumed.push(guard);
        if self.solver.solve_limited(&assumed) == lbool::TRUE { 2 } else { 1 }
    }

    fn exactly_one(&mut self, choices: [(Cell, Digit); 9]) {
        let literals = choices.map(|(cell, digit)| self.holds[cell.index()][digit.index()]);
        self.solver.add_clause_reuse(&mut literals.to_vec());
        for (n, &one) in literals.iter().enumerate() {
            for &other in &literals[..n] {
                self.solver.add_clause_reuse(&mut vec![!one, !other]);
            }
        }
    }
}

fn cells(set: CellSet) -> [Cell; 9] {
    let all: Vec<Cell> = set.iter().collect();
    all.try_into().expect("a house has nine cells")
}
