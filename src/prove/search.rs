//! The search for solutions: all candidates of a digit at once, as bits, and a guess where nothing follows.
//!
//! A round looks at the digits that changed ([`look`]), strikes what their singles exclude, and counts the digits of
//! all cells at once by carrying bits from plane to plane, as an adder does. Guesses take a cell with two candidates
//! that sees most others of the kind, then a digit with two places in a box, then a cell with few.

use std::ops::ControlFlow;

use super::bands::{ALL, BAND, BOX, Places, Spot, bits, look};
use crate::grid::{Board, Cell, Digit, Digits};

/// A search for the solutions of one puzzle.
#[derive(Clone)]
pub struct Search {
    /// The places left of each digit.
    digits: [Places; 9],
    /// Cells whose only digit was taken from all that see them, or soon is.
    known: Places,
    /// The digits that changed since they were looked at, one bit each.
    changed: u32,
}

/// No solution is left.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Contradiction;

/// What a search is left with when nothing more follows.
#[derive(Clone, Copy, PartialEq, Eq)]
enum End {
    Solved,
    Open,
}

impl Search {
    /// The search for the solutions with these givens.
    pub fn of(givens: &Board) -> Self {
        let mut search = Self { digits: [ALL; 9], known: [0; 4], changed: 0b1_1111_1111 };
        let mut given = [[0; 4]; 9];
        for cells in Cell::ALL.chunks_exact(27) {
            // Gathered first: a branch for each cell, given or not, costs more than all the rest.
            let mut filled = 0_u32;
            for (place, &cell) in cells.iter().enumerate() {
                filled |= u32::from(givens.get(cell).is_some()) << place;
            }
            for cell in bits(filled).map(|place| cells[place]) {
                let Some(digit) = givens.get(cell) else { continue };
                let spot = Spot::OF[cell.index()];
                let bit = 1 << spot.bit;
                given[digit.index()][usize::from(spot.band)] |= bit;
                search.known[usize::from(spot.band)] |= bit;
                keep_only(&mut search.digits[digit.index()], spot.leaves());
            }
        }
        strike_singles(&mut search.digits, &search.known, &given);
        search
    }

    /// Leaves only these digits in the cell.
    ///
    /// # Errors
    /// Where none of them was left in the cell. The search is of no use afterwards.
    pub fn keep(&mut self, cell: Cell, digits: Digits) -> Result<(), Contradiction> {
        for digit in (Digits::ALL - digits).iter() {
            self.strike(digit.index(), Spot::OF[cell.index()]);
        }
        if self.candidates(cell) == Digits::EMPTY { Err(Contradiction) } else { Ok(()) }
    }

    /// The digits that are left in a cell.
    pub fn candidates(&self, cell: Cell) -> Digits {
        Digits::from_bits(self.digits_at(Spot::OF[cell.index()]) as u16)
    }

    /// Draws the cheap conclusions.
    ///
    /// # Errors
    /// Where they show that no solution is left. The search is of no use afterwards.
    pub fn conclude(&mut self) -> Result<(), Contradiction> {
        self.settle().map(|_| ())
    }

    /// The number of solutions, at most `cap`.
    pub fn count(self, cap: u64) -> u64 {
        self.first(cap, |_| ())
    }

    /// The first solutions found, at most `cap` of them.
    pub fn solutions(self, cap: usize) -> Vec<Board> {
        let mut found = Vec::new();
        self.first(cap as u64, |solved| found.push(solved.board()));
        found
    }

    /// Shows the search to `see` for the first solutions found, at most `cap` of them, each time with that solution's digits; gives their number.
    fn first(mut self, cap: u64, mut see: impl FnMut(&Self)) -> u64 {
        let mut found = 0;
        if cap > 0 {
            let _ = self.each_after(None, &mut None, &mut |solved| {
                see(solved);
                found += 1;
                if found < cap { ControlFlow::Continue(()) } else { ControlFlow::Break(()) }
            });
        }
        found
    }

    /// Shows every solution to `see` until it breaks, after a choice about `about`. `trouble` is what the choice was about that last led to a contradiction.
    ///
    /// What failed last is asked about first: where it fails whatever was chosen before, the search goes back past all
    /// choices that have nothing to do with it (reasoning from last conflicts; Lecoutre, Saïs, Tabary and Vidal 2009).
    fn each_after(
        &mut self,
        about: Option<About>,
        trouble: &mut Option<About>,
        see: &mut impl FnMut(&Self) -> ControlFlow<()>,
    ) -> ControlFlow<()> {
        match self.settle() {
            Err(Contradiction) => {
                *trouble = about;
                return ControlFlow::Continue(());
            }
            Ok(End::Solved) => return see(self),
            Ok(End::Open) => {}
        }
        let troubled = trouble.filter(|&about| self.is_open(about));
        let Some(about) = troubled.or_else(|| self.best_choice()) else { return ControlFlow::Continue(()) };
        let mut left = self.choices(about);
        while left != 0 {
            let (digit, spot) = about.choice(left.trailing_zeros());
            left &= left - 1;
            if left == 0 {
                self.put(digit, spot);
                return self.each_after(Some(about), trouble, see);
            }
            let mut branch = self.clone();
            branch.put(digit, spot);
            branch.each_after(Some(about), trouble, see)?;
        }
        ControlFlow::Continue(())
    }

    /// The board of a solved search.
    fn board(&self) -> Board {
        let mut board = Board::EMPTY;
        for (places, digit) in self.digits.iter().zip(Digit::ALL) {
            for spot in spots(places) {
                board.set(Cell::ALL[spot.cell()], Some(digit));
            }
        }
        board
    }

    /// Draws the cheap conclusions until there is none: singles, hidden or plain, and locked candidates.
    fn settle(&mut self) -> Result<End, Contradiction> {
        loop {
            let mut singles = [0; 4];
            let mut singles_of = [[0; 4]; 9];
            for digit in bits(std::mem::take(&mut self.changed)) {
                let places = &mut self.digits[digit];
                let free = [places[0] & !singles[0], places[1] & !singles[1], places[2] & !singles[2], 0];
                let seen = look(free).ok_or(Contradiction)?;
                self.changed |= u32::from(seen.again) << digit;
                *places = seen.left;
                singles_of[digit] = seen.single;
                singles = [singles[0] | seen.single[0], singles[1] | seen.single[1], singles[2] | seen.single[2], 0];
            }
            self.changed |= strike_singles(&mut self.digits, &singles, &singles_of);

            let [once, twice] = self.planes();
            if once != ALL {
                return Err(Contradiction);
            }
            self.spread(&singles, &twice)?;
            if self.changed == 0 {
                return Ok(if twice == [0; 4] { End::Solved } else { End::Open });
            }
        }
    }

    /// Takes the digits of cells that have no other left from all that see them.
    fn spread(&mut self, singles: &Places, twice: &Places) -> Result<(), Contradiction> {
        for band in 0..3 {
            self.known[band] |= singles[band];
            let plain = BAND & !twice[band] & !self.known[band];
            self.known[band] |= plain;
            for bit in bits(plain) {
                let spot = Spot { band: band as u8, bit: bit as u8 };
                // Another cell that sees this one may have had the same digit alone.
                let digit = self.digits_at(spot).trailing_zeros() as usize;
                keep_only(self.digits.get_mut(digit).ok_or(Contradiction)?, spot.leaves());
                self.changed |= 1 << digit;
            }
        }
        Ok(())
    }

    /// The cells that have at least 1, 2, … `N` digits left.
    fn planes<const N: usize>(&self) -> [Places; N] {
        let mut planes = [[0; 4]; N];
        for places in &self.digits {
            for band in 0..4 {
                let mut carried = places[band];
                for plane in &mut planes {
                    (plane[band], carried) = (plane[band] | carried, plane[band] & carried);
                }
            }
        }
        planes
    }

    /// The digits left in a cell, one bit each.
    fn digits_at(&self, spot: Spot) -> u32 {
        let mut left = 0;
        for (digit, places) in self.digits.iter().enumerate() {
            left |= (places[usize::from(spot.band & 3)] >> (spot.bit & 31) & 1) << digit;
        }
        left
    }

    fn strike(&mut self, digit: usize, spot: Spot) {
        let band = &mut self.digits[digit][usize::from(spot.band & 3)];
        self.changed |= (*band >> (spot.bit & 31) & 1) << digit;
        *band &= !(1 << (spot.bit & 31));
    }

    /// Puts a digit into a cell.
    fn put(&mut self, digit: usize, spot: Spot) {
        for other in (0..9).filter(|&other| other != digit) {
            self.strike(other, spot);
        }
        keep_only(&mut self.digits[digit], spot.leaves());
        self.changed |= 1 << digit;
        self.known[usize::from(spot.band & 3)] |= 1 << (spot.bit & 31);
    }

    /// What to choose about; `None` where every cell has one digit.
    fn best_choice(&self) -> Option<About> {
        let [_, two, three, four] = self.planes();
        let pairs = std::array::from_fn(|band| two[band] & !three[band]);
        let triples: Places = std::array::from_fn(|band| three[band] & !four[band]);
        let cell = || spots(&triples).next().or_else(|| spots(&two).next());
        busiest(&pairs).map(About::Cell).or_else(|| self.twofold()).or_else(|| cell().map(About::Cell))
    }

    /// A digit with two places in a box.
    fn twofold(&self) -> Option<About> {
        for (digit, places) in self.digits.iter().enumerate() {
            for (band, &places) in places.iter().enumerate() {
                for square in 0..3 {
                    let here = places & BOX << square;
                    if (here & here.wrapping_sub(1)).is_power_of_two() {
                        return Some(About::Box { digit: digit as u8, band: band as u8, square });
                    }
                }
            }
        }
        None
    }

    /// The choices, one bit each: of a cell its digits, of a digit in a box its places.
    fn choices(&self, about: About) -> u32 {
        match about {
            About::Cell(spot) => self.digits_at(spot),
            About::Box { digit, band, square } => self.digits[usize::from(digit)][usize::from(band)] & BOX << square,
        }
    }

    fn is_open(&self, about: About) -> bool {
        let choices = self.choices(about);
        choices & choices.wrapping_sub(1) != 0
    }
}

/// What a choice can be about, since every solution takes exactly one way.
#[derive(Clone, Copy)]
enum About {
    /// The digit of a cell.
    Cell(Spot),
    /// The place of a digit in a box.
    Box { digit: u8, band: u8, square: u8 },
}

impl About {
    /// The digit and the cell that a bit of its choices stands for.
    fn choice(self, bit: u32) -> (usize, Spot) {
        match self {
            Self::Cell(spot) => (bit as usize, spot),
            Self::Box { digit, band, .. } => (usize::from(digit), Spot { band, bit: bit as u8 }),
        }
    }
}

/// The cell that sees most others of the set; the first of several.
fn busiest(set: &Places) -> Option<Spot> {
    let mut best = None;
    let mut most = 0;
    for spot in spots(set) {
        let leaves = spot.leaves();
        let seen: u32 = (0..3).map(|band| (set[band] & !leaves[band]).count_ones()).sum();
        if best.is_none() || seen > most {
            (best, most) = (Some(spot), seen);
        }
    }
    best
}

fn spots(set: &Places) -> impl Iterator<Item = Spot> {
    set.iter().enumerate().flat_map(|(band, &places)| bits(places).map(move |bit| Spot { band: band as u8, bit: bit as u8 }))
}

/// Takes cells that have their digit (`singles`, and of each digit its own) from all other digits; gives the digits
/// that lost a place, one bit each.
fn strike_singles(digits: &mut [Places; 9], singles: &Places, own: &[Places; 9]) -> u32 {
    let mut changed = 0;
    for (digit, (places, own)) in digits.iter_mut().zip(own).enumerate() {
        let mut lost = 0;
        for band in 0..4 {
            let struck = places[band] & (singles[band] ^ own[band]);
            lost |= struck;
            places[band] ^= struck;
        }
        changed |= u32::from(lost != 0) << digit;
    }
    changed
}

fn keep_only(places: &mut Places, left: &Places) {
    for (here, left) in places.iter_mut().zip(left) {
        *here &= left;
    }
}
