//! A plain search for solutions: candidates of a cell as bits, single by single, then the cell with the fewest.
//!
//! It is generic over the shape of the puzzle, so that published counts of small grids check the code that referees
//! `prove` on 9x9 puzzles.

use std::ops::ControlFlow;

use super::shape::Shape;

/// The candidates of every cell, one bit a digit, bit 0 for 1.
pub type Candidates<const CELLS: usize> = [u16; CELLS];

/// A search for the solutions of one puzzle.
#[derive(Clone)]
pub struct Search<'s, const SIDE: usize, const CELLS: usize> {
    shape: &'s Shape<SIDE, CELLS>,
    candidates: Candidates<CELLS>,
    /// Cells whose only candidate was taken from their peers.
    spread: [bool; CELLS],
}

/// No solution is left.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Contradiction;

impl<'s, const SIDE: usize, const CELLS: usize> Search<'s, SIDE, CELLS> {
    const ALL: u16 = ((1_u32 << SIDE) - 1) as u16;

    /// All solutions of the empty grid.
    pub const fn new(shape: &'s Shape<SIDE, CELLS>) -> Self {
        Self { shape, candidates: [Self::ALL; CELLS], spread: [false; CELLS] }
    }

    /// Leaves only these candidates (one bit a digit) in the cell, and spreads what follows from singles.
    ///
    /// # Errors
    /// Where no solution is left. The search is of no use afterwards.
    ///
    /// # Panics
    /// Where `cell` is not below `CELLS`.
    pub fn keep(&mut self, cell: usize, digits: u16) -> Result<(), Contradiction> {
        let left = self.candidates[cell] & digits;
        self.candidates[cell] = left;
        match left.count_ones() {
            0 => Err(Contradiction),
            1 if !self.spread[cell] => self.spread(cell),
            _ => Ok(()),
        }
    }

    /// Shows every solution to `see`, as one bit a cell, until it breaks.
    pub fn each<B>(mut self, see: &mut impl FnMut(&Candidates<CELLS>) -> ControlFlow<B>) -> ControlFlow<B> {
        if self.settle().is_err() {
            return ControlFlow::Continue(());
        }
        let Some(choices) = self.fewest_choices() else { return see(&self.candidates) };
        for &(cell, digit) in choices.iter() {
            let mut branch = self.clone();
            if branch.keep(usize::from(cell), digit).is_ok() {
                branch.each(see)?;
            }
        }
        ControlFlow::Continue(())
    }

    /// The number of solutions, at most `cap`.
    pub fn count(self, cap: u64) -> u64 {
        let mut found = 0;
        if cap > 0 {
            let _ = self.each(&mut |_| {
                found += 1;
                if found < cap { ControlFlow::Continue(()) } else { ControlFlow::Break(()) }
            });
        }
        found
    }

    /// Takes the only candidate of `cell` from its peers, and so on for every cell that is left with one.
    fn spread(&mut self, cell: usize) -> Result<(), Contradiction> {
        let mut waiting = [0_u8; CELLS];
        waiting[0] = cell as u8;
        let mut count = 1;
        self.spread[cell] = true;
        while count > 0 {
            count -= 1;
            let from = usize::from(waiting[count]);
            let digit = self.candidates[from];
            for (kind, &house) in self.shape.places[from].iter().enumerate() {
                for &peer in &self.shape.houses[kind][usize::from(house)] {
                    let peer = usize::from(peer);
                    let had = self.candidates[peer];
                    if had & digit == 0 || peer == from {
                        continue;
                    }
                    let left = had ^ digit;
                    self.candidates[peer] = left;
                    if left == 0 {
                        return Err(Contradiction);
                    }
                    if left & (left - 1) == 0 {
                        self.spread[peer] = true;
                        waiting[count] = peer as u8;
                        count += 1;
                    }
                }
            }
        }
        Ok(())
    }

    /// Draws the cheap conclusions until there is none: digits with one cell left in a house, locked candidates.
    fn settle(&mut self) -> Result<(), Contradiction> {
        self.place_hidden_singles()?;
        while self.lock(0)? | self.lock(1)? {
            self.place_hidden_singles()?;
        }
        Ok(())
    }

    /// Strikes locked candidates: a digit that has all its cells of a box in one line, or of a line in one box, goes
    /// nowhere else in the other. Looks at rows (`kind` 0) or columns (1); tells whether anything was struck.
    fn lock(&mut self, kind: usize) -> Result<bool, Contradiction> {
        let deep = self.shape.box_size[kind];
        let wide = self.shape.box_size[1 - kind];
        let mut changed = false;
        for band in self.shape.houses[kind].chunks_exact(deep) {
            // The candidates of each crossing of a line of the band with a box, lines first.
            let mut crossings = [[0_u16; SIDE]; SIDE];
            for (line, union) in band.iter().zip(&mut crossings) {
                for (cells, union) in line.chunks_exact(wide).zip(union.iter_mut()) {
                    *union = cells.iter().fold(0, |all, &cell| all | self.candidates[usize::from(cell)]);
                }
            }
            for line in 0..deep {
                for square in 0..deep {
                    let here = crossings[line][square];
                    let elsewhere = |skip: usize, of: &dyn Fn(usize) -> u16| (0..deep).filter(|&n| n != skip).fold(0, |all, n| all | of(n));
                    let in_line = elsewhere(square, &|n| crossings[line][n]);
                    let in_box = elsewhere(line, &|n| crossings[n][square]);
                    let (pointing, claiming) = (here & !in_box & in_line, here & !in_line & in_box);
                    if pointing | claiming == 0 {
                        continue;
                    }
                    changed = true;
                    for other in (0..deep).filter(|&n| n != square) {
                        self.strike(&band[line][other * wide..(other + 1) * wide], pointing)?;
                    }
                    for other in (0..deep).filter(|&n| n != line) {
                        self.strike(&band[other][square * wide..(square + 1) * wide], claiming)?;
                    }
                }
            }
        }
        Ok(changed)
    }

    fn strike(&mut self, cells: &[u8], digits: u16) -> Result<(), Contradiction> {
        cells.iter().try_for_each(|&cell| if digits == 0 { Ok(()) } else { self.keep(usize::from(cell), !digits) })
    }

    /// Places every digit that has one cell left in a house, until there is none.
    fn place_hidden_singles(&mut self) -> Result<(), Contradiction> {
        let mut changed = true;
        while changed {
            changed = false;
            for house in self.shape.houses.iter().flatten() {
                let (mut once, mut twice, mut placed) = (0, 0, 0);
                for &cell in house {
                    let here = self.candidates[usize::from(cell)];
                    twice |= once & here;
                    once |= here;
                    placed |= if here & (here - 1) == 0 { here } else { 0 };
                }
                if once != Self::ALL {
                    return Err(Contradiction);
                }
                let mut hidden = once & !twice & !placed;
                while hidden != 0 {
                    let digit = hidden & hidden.wrapping_neg();
                    hidden ^= digit;
                    // An earlier placement may have taken its cell: then a later round notices.
                    let cell = house.iter().find(|&&cell| self.candidates[usize::from(cell)] & digit != 0);
                    self.keep(usize::from(*cell.ok_or(Contradiction)?), digit)?;
                    changed = true;
                }
            }
        }
        Ok(())
    }

    /// The fewest ways on, of which every solution takes exactly one: the digits of a cell or the places of a digit in
    /// a house. `None` when all cells are filled.
    fn fewest_choices(&self) -> Option<Choices<SIDE>> {
        let mut fewest = u32::MAX;
        let mut cell = None;
        for (here, candidates) in self.candidates.iter().enumerate() {
            let count = candidates.count_ones();
            if 1 < count && count < fewest {
                (cell, fewest) = (Some(here), count);
                if count == 2 {
                    break;
                }
            }
        }
        let cell = cell?;
        let mut choices = Choices { all: [(0, 0); SIDE], count: 0 };
        if fewest > 2
            && let Some((house, digit)) = self.twofold()
        {
            house.iter().filter(|&&cell| self.candidates[usize::from(cell)] & digit != 0).for_each(|&cell| choices.add(cell, digit));
            return Some(choices);
        }
        let mut left = self.candidates[cell];
        while left != 0 {
            choices.add(cell as u8, left & left.wrapping_neg());
            left &= left - 1;
        }
        Some(choices)
    }

    /// A house with a digit that has exactly two places in it.
    fn twofold(&self) -> Option<(&'s [u8; SIDE], u16)> {
        self.shape.houses.iter().flatten().find_map(|house| {
            let (mut once, mut twice, mut thrice) = (0, 0, 0);
            for &cell in house {
                let here = self.candidates[usize::from(cell)];
                thrice |= twice & here;
                twice |= once & here;
                once |= here;
            }
            let two = twice & !thrice;
            (two != 0).then(|| (house, two & two.wrapping_neg()))
        })
    }
}

/// Ways on in a search: cells with the digit (one bit) to put there.
struct Choices<const SIDE: usize> {
    all: [(u8, u16); SIDE],
    count: usize,
}

impl<const SIDE: usize> Choices<SIDE> {
    fn add(&mut self, cell: u8, digit: u16) {
        self.all[self.count] = (cell, digit);
        self.count += 1;
    }

    fn iter(&self) -> std::slice::Iter<'_, (u8, u16)> {
        self.all[..self.count].iter()
    }
}
