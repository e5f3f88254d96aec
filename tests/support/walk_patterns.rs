//! Holds the fields of a step against the pattern of its deduction (`gridlift::walk::patterns`), from its premises alone.

#![allow(dead_code, reason = "each test file uses a part of it")]

use gridlift::grid::{Board, Cell, CellSet, Digit, Digits, House};
use gridlift::walk::{Breakdown, Deduction, Line, LineEnd, Reason, Rectangle, Step, View};

/// What a step may lean on.
#[derive(Clone)]
pub struct Premises {
    /// Digits that may be looked at.
    pub seen: Vec<(Cell, Digit)>,
    /// Strikes of the cited facts.
    pub struck: Vec<(Cell, Digits)>,
}

impl Premises {
    /// Those of `step`, taken on `board`; `earlier` holds the steps before it.
    pub fn of(step: &Step, board: &Board, earlier: &[Step]) -> Self {
        Self::from_parts(step, board, earlier, step.because_cells, &step.because_facts)
    }

    pub fn from_parts(step: &Step, board: &Board, earlier: &[Step], cells: CellSet, facts: &[usize]) -> Self {
        let houses = step.houses.iter().fold(CellSet::EMPTY, |cells, house| cells | house.cells());
        let seen = board.placed().filter(|&(cell, _)| (houses | cells).contains(cell)).collect();
        let struck = facts.iter().flat_map(|&n| earlier[n - 1].strikes.iter().map(|strike| (strike.cell, strike.digits))).collect();
        Self { seen, struck }
    }

    /// What each cell can still take, as far as the premises tell.
    pub fn candidates(&self) -> [Digits; 81] {
        let mut left = [Digits::ALL; 81];
        for &(cell, digit) in &self.seen {
            cell.peers().iter().for_each(|peer| left[peer.index()].remove(digit));
        }
        for &(cell, digits) in &self.struck {
            left[cell.index()] -= digits;
        }
        for &(cell, digit) in &self.seen {
            left[cell.index()] = Digits::of(digit);
        }
        left
    }
}

/// Every other way in which the fields break their pattern; nothing where they keep it.
pub fn faults(step: &Step, board: &Board, earlier: &[Step]) -> Vec<String> {
    let mut faults = Vec::new();
    let premises = Premises::of(step, board, earlier);
    if let Err(fault) = shows(step, &premises) {
        faults.push(fault);
    }
    if step.puts.is_some() != step.deduction.puts() || step.puts.is_some() != step.strikes.is_empty() {
        faults.push("puts and strikes don't suit the deduction".into());
    }
    if let Some(put) = step.puts
        && board.get(put.cell).is_some()
    {
        faults.push("the cell is filled already".into());
    }
    let known = |cell: Cell| {
        let struck = earlier.iter().flat_map(|step| &step.strikes).filter(|strike| strike.cell == cell);
        struck.fold(!board.candidates(cell), |known, strike| known | strike.digits)
    };
    for strike in &step.strikes {
        if strike.digits.is_empty() || board.get(strike.cell).is_some() || strike.digits.meets(known(strike.cell)) {
            faults.push(format!("the strike at {} is no news", strike.cell));
        }
    }
    faults.extend(
        superfluous(step, board, earlier).into_iter().map(|what| format!("{} ({}): {what} is superfluous", step.deduction, step.view)),
    );
    faults
}

/// Cited cells and facts without which the pattern shows all the same.
pub fn superfluous(step: &Step, board: &Board, earlier: &[Step]) -> Vec<String> {
    let mut idle = Vec::new();
    for cell in step.because_cells.iter() {
        let cells = step.because_cells - CellSet::of(cell);
        if shows(step, &Premises::from_parts(step, board, earlier, cells, &step.because_facts)).is_ok() {
            idle.push(cell.to_string());
        }
    }
    for &fact in &step.because_facts {
        let facts: Vec<usize> = step.because_facts.iter().copied().filter(|&other| other != fact).collect();
        if shows(step, &Premises::from_parts(step, board, earlier, step.because_cells, &facts)).is_ok() {
            idle.push(format!("step {fact}"));
        }
    }
    idle
}

/// Whether the premises show the pattern in the named houses and cells.
fn shows(step: &Step, premises: &Premises) -> Result<(), String> {
    let left = premises.candidates();
    let say = |holds: bool, what: &str| if holds { Ok(()) } else { Err(format!("{} ({}): {what}", step.deduction, step.view)) };
    let filled: CellSet = premises.seen.iter().map(|&(cell, _)| cell).collect();
    let house = step.houses.first().copied();
    let digit = step.digits.first().ok_or("no digit")?;
    let places = |digit: Digit, house: House| house.cells().iter().filter(|cell| left[cell.index()].contains(digit)).collect::<CellSet>();
    let union = step.cells.iter().fold(Digits::EMPTY, |union, cell| union | left[cell.index()]);
    let size = match step.deduction {
        Deduction::HiddenPair | Deduction::NakedPair | Deduction::XWing => 2,
        Deduction::HiddenTriple | Deduction::NakedTriple | Deduction::Swordfish => 3,
        Deduction::HiddenQuad | Deduction::NakedQuad | Deduction::Jellyfish => 4,
        _ => 1,
    };
    let struck_cells: CellSet = step.strikes.iter().map(|strike| strike.cell).collect();
    let struck_digits = step.strikes.iter().fold(Digits::EMPTY, |digits, strike| digits | strike.digits);
    match step.deduction {
        Deduction::FullHouse | Deduction::HiddenSingle => {
            let house = house.filter(|_| step.houses.len() == 1).ok_or("one house")?;
            let put = step.puts.ok_or("a put")?;
            say(places(put.digit, house) == CellSet::of(put.cell), "another place is open")?;
            let open = (house.cells() - filled).len();
            say((open == 1) == (step.deduction == Deduction::FullHouse), "full house or hidden single")
        }
        Deduction::NakedSingle => {
            let put = step.puts.ok_or("a put")?;
            say(step.houses.is_empty() && left[put.cell.index()] == Digits::of(put.digit), "another digit is open")
        }
        Deduction::LockedCandidates => {
            let [from, to] = step.houses[..] else { return Err("two houses".into()) };
            say(from.is_square() != to.is_square(), "a box and a line")?;
            say(places(digit, from).is_subset(to.cells()), "another place is open")?;
            say(struck_cells.is_subset(to.cells() - from.cells()) && struck_digits == step.digits, "strikes elsewhere")
        }
        Deduction::HiddenPair | Deduction::HiddenTriple | Deduction::HiddenQuad => {
            let house = house.filter(|_| step.houses.len() == 1).ok_or("one house")?;
            say(step.cells.len() == size && step.digits.len() == size, "size")?;
            say(step.digits.iter().all(|digit| places(digit, house).is_subset(step.cells)), "another place is open")?;
            say(struck_cells.is_subset(step.cells) && !struck_digits.meets(step.digits), "strikes elsewhere")
        }
        Deduction::NakedPair | Deduction::NakedTriple | Deduction::NakedQuad => {
            let house = house.filter(|_| step.houses.len() == 1).ok_or("one house")?;
            say(step.cells.len() == size && step.digits.len() == size && step.cells.is_subset(house.cells()), "size")?;
            say(union.is_subset(step.digits), "another digit is open")?;
            say(struck_cells.is_subset(house.cells() - step.cells) && struck_digits.is_subset(step.digits), "strikes elsewhere")
        }
        Deduction::XWing | Deduction::Swordfish | Deduction::Jellyfish => {
            say(step.houses.len() == 2 * size, "size")?;
            let (bases, covers) = step.houses.split_at(size);
            let all = |houses: &[House]| houses.iter().fold(CellSet::EMPTY, |cells, house| cells | house.cells());
            say(bases.iter().all(|&base| places(digit, base).is_subset(all(covers))), "another place is open")?;
            say(struck_cells.is_subset(all(covers) - all(bases)) && struck_digits == step.digits, "strikes elsewhere")
        }
        Deduction::UniqueRectangle => {
            let Rectangle { cells, digits } = step.rectangle.ok_or("a rectangle")?;
            let corners: CellSet = cells.into_iter().collect();
            let pair = Digits::from_iter(digits);
            let rows: std::collections::BTreeSet<u8> = cells.iter().map(|cell| cell.row()).collect();
            let columns: std::collections::BTreeSet<u8> = cells.iter().map(|cell| cell.column()).collect();
            let boxes: std::collections::BTreeSet<u8> = cells.iter().map(|cell| cell.square()).collect();
            say((corners.len(), rows.len(), columns.len(), boxes.len()) == (4, 2, 2, 2), "no rectangle")?;
            let floor: CellSet = corners.iter().filter(|cell| left[cell.index()].is_subset(pair)).collect();
            say(floor.len() >= if step.view == View::OneCornerOpen { 3 } else { 2 }, "the floor holds more than the pair")?;
            refuted(step, &left)
        }
        Deduction::XyWing | Deduction::XyzWing => {
            let pairs = step.cells.iter().filter(|cell| left[cell.index()].len() == 2).count();
            let wanted = if step.deduction == Deduction::XyWing { 3 } else { 2 };
            say(step.cells.len() == 3 && step.digits.len() == 3 && pairs == wanted && union == step.digits, "the cells hold more")?;
            refuted(step, &left)
        }
        Deduction::SingleDigitChain | Deduction::Colouring => {
            say((2..=4).contains(&step.houses.len()), "two to four houses")?;
            let links = step.houses.iter().map(|&house| places(digit, house));
            say(links.clone().all(|link| link.len() == 2 && link.is_subset(step.cells)), "a house has other places")?;
            refuted(step, &left)
        }
        Deduction::ForcingChain => {
            say(step.houses.len() <= 4, "more than four houses")?;
            follows(step.line.as_ref().ok_or("a line")?, &left)?;
            refuted(step, &left)
        }
        Deduction::WhatIf => {
            say(step.houses.len() <= 4, "more than four houses")?;
            follows(step.line.as_ref().ok_or("a line")?, &left)
        }
    }
}

/// Whether each strike's opposite breaks down by singles within 16 placements.
fn refuted(step: &Step, left: &[Digits; 81]) -> Result<(), String> {
    for strike in &step.strikes {
        for digit in strike.digits.iter() {
            let mut left = *left;
            place(&mut left, strike.cell, digit);
            let mut done = CellSet::of(strike.cell);
            let mut placements = 1;
            while !broken(&left, step.rectangle) {
                let single = Cell::ALL
                    .into_iter()
                    .filter(|&cell| !done.contains(cell))
                    .find_map(|cell| single(&left, cell).map(|digit| (cell, digit)));
                let Some((cell, digit)) = single.filter(|_| placements < 16) else {
                    return Err(format!("{}: {digit} at {} isn't refuted by singles in 16 placements", step.deduction, strike.cell));
                };
                // What the premises alone fill is no placement of the line.
                let given = left[cell.index()].len() == 1 && cell.peers().iter().all(|peer| !left[peer.index()].contains(digit));
                placements += usize::from(!given);
                done.insert(cell);
                place(&mut left, cell, digit);
            }
        }
    }
    Ok(())
}

fn single(left: &[Digits; 81], cell: Cell) -> Option<Digit> {
    left[cell.index()].only().or_else(|| {
        let last = |digit: &Digit| {
            cell.houses().iter().any(|house| house.cells().iter().all(|other| other == cell || !left[other.index()].contains(*digit)))
        };
        left[cell.index()].iter().find(last)
    })
}

fn place(left: &mut [Digits; 81], cell: Cell, digit: Digit) {
    left[cell.index()] &= Digits::of(digit);
    cell.peers().iter().for_each(|peer| left[peer.index()].remove(digit));
}

fn broken(left: &[Digits; 81], rectangle: Option<Rectangle>) -> bool {
    let dry = Cell::ALL.iter().any(|cell| left[cell.index()].is_empty());
    let closed =
        House::ALL.iter().any(|house| house.cells().iter().fold(Digits::EMPTY, |all, cell| all | left[cell.index()]) != Digits::ALL);
    let ambiguous = rectangle
        .is_some_and(|rectangle| rectangle.cells.iter().all(|cell| left[cell.index()].is_subset(rectangle.digits.into_iter().collect())));
    dry || closed || ambiguous
}

/// Whether each placement of a line follows from the premises and the placements before it, and the line ends as it says.
fn follows(line: &Line, left: &[Digits; 81]) -> Result<(), String> {
    let mut left = *left;
    for (at, &(put, reason)) in line.placements.iter().enumerate() {
        let holds = match reason {
            Reason::Assumed => at == 0,
            Reason::LastDigit => left[put.cell.index()].is_subset(put.digit.into()),
            Reason::LastPlace(house) => house.cells().iter().all(|cell| cell == put.cell || !left[cell.index()].contains(put.digit)),
        };
        if !holds {
            return Err(format!("{} = {} doesn't follow in the line", put.cell, put.digit));
        }
        place(&mut left, put.cell, put.digit);
    }
    match &line.end {
        LineEnd::Broken(Breakdown::Cell(cell)) if left[cell.index()].is_empty() => Ok(()),
        LineEnd::Broken(Breakdown::House(house, digit)) if house.cells().iter().all(|cell| !left[cell.index()].contains(*digit)) => Ok(()),
        LineEnd::Branches(cell, lines) => {
            let tried: Digits = lines.iter().map(|line| line.placements[0].0.digit).collect();
            if !left[cell.index()].is_subset(tried) || lines.iter().any(|line| line.placements[0].0.cell != *cell) {
                return Err(format!("a digit of {cell} isn't tried"));
            }
            lines.iter().try_for_each(|line| follows(line, &left))
        }
        LineEnd::Broken(_) => Err("the line doesn't break down where it says".into()),
    }
}
