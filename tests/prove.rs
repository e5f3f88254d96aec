//! The prover against a general SAT solver, published facts and the laws of the puzzle.

#[path = "support/plain_search.rs"]
mod plain_search;
#[path = "support/puzzles.rs"]
mod puzzles;
#[path = "support/referee.rs"]
mod referee;
#[path = "support/shape.rs"]
mod shape;

use std::collections::BTreeSet;
use std::ops::ControlFlow;

use gridlift::grid::{Board, Cell, CellSet, Digit};
use gridlift::prove::{self, Count, Repair, canonical};
use plain_search::Search;
use proptest::prelude::*;
use puzzles::Numbers;
use referee::Referee;
use shape::Shape;

#[test]
fn a_general_solver_counts_the_same() {
    let mut numbers = Numbers::new(2026);
    let mut referee = Referee::new();
    let mut seen = [0; 3];
    for n in 0..1000 {
        let sound = puzzles::sound(&mut numbers, 8);
        let puzzle = if n % 2 == 0 { sound } else { puzzles::corrupted(&sound, &mut numbers) };
        let expected = referee.count(&puzzle);
        let proof = prove::prove(&puzzle);
        assert_eq!(prove::count(&puzzle, 2), expected, "{puzzle}");
        assert_eq!(proof.count, [Count::None, Count::One, Count::Many][expected as usize], "{puzzle}");
        for solution in proof.solution.iter().chain(&proof.second) {
            assert!(solution.is_solved() && puzzle.agrees(solution), "{puzzle} {solution}");
        }
        assert_eq!(proof.second.is_some(), expected == 2);
        assert_ne!(proof.solution, proof.second.or(Some(Board::EMPTY)));
        seen[expected as usize] += 1;
    }
    assert!(seen.iter().all(|&count| count >= 30), "each count class was met: {seen:?}");
}

#[test]
fn the_plain_search_gives_published_counts() {
    // 288: the published count of 4x4 grids (Felgenhauer and Jarvis 2006 name it).
    assert_eq!(Search::new(&Shape::<4, 16>::new(2, 2)).count(u64::MAX), 288);
    // 28,200,960: the published count of grids with boxes of two rows and three columns.
    // Any grid's digits can be renamed so that its first row is 123456: the count is 6! = 720 times that.
    let shape = Shape::<6, 36>::new(2, 3);
    let mut search = Search::new(&shape);
    for cell in 0..6 {
        search.keep(cell, 1 << cell).expect("a first row is possible");
    }
    assert_eq!(search.count(u64::MAX) * 720, 28_200_960);
}

#[test]
fn the_plain_search_fills_sixteen_by_sixteen() {
    let shape = Shape::<16, 256>::new(4, 4);
    let mut found = None;
    let _ = Search::new(&shape).each(&mut |solution| {
        found = Some(*solution);
        ControlFlow::Break(())
    });
    let found = found.expect("there are solutions");
    for house in shape.houses.iter().flatten() {
        assert_eq!(house.iter().fold(0, |all, &cell| all | found[usize::from(cell)]), u16::MAX);
    }
}

#[test]
fn the_plain_search_ends_at_the_cap() {
    let shape = Shape::NINE;
    assert_eq!(Search::new(&shape).count(0), 0);
    assert_eq!(Search::new(&shape).count(1000), 1000);
}

#[test]
fn a_plain_search_finds_the_same_solutions() {
    let mut numbers = Numbers::new(2027);
    let mut seen = [0; 4];
    for n in 0..6000 {
        let puzzle = match n % 4 {
            // Digits anywhere, mostly contradictory in view.
            0 => scattered(2 + n % 20, &mut numbers),
            1 => {
                let left = 15 + numbers.below(60);
                thinned(&puzzles::finished(&mut numbers), left, &mut numbers)
            }
            2 => puzzles::corrupted(&puzzles::sound(&mut numbers, 6), &mut numbers),
            // A sound puzzle short of a few givens has few solutions.
            _ => {
                let minimal = puzzles::minimal(&mut numbers);
                thinned(&minimal, minimal.filled().len() - numbers.below(3), &mut numbers)
            }
        };
        let expected = plainly(&puzzle, 400);
        assert_eq!(prove::count(&puzzle, 400), expected.len() as u64, "{puzzle}");
        let found = prove::solutions(&puzzle, 400);
        assert_eq!(found.len(), expected.len(), "{puzzle}");
        let distinct: BTreeSet<Board> = found.iter().copied().collect();
        assert_eq!(distinct.len(), found.len(), "each solution comes once: {puzzle}");
        if expected.len() < 400 {
            assert_eq!(distinct, expected, "{puzzle}");
        } else {
            assert!(found.iter().all(|solution| solution.is_solved() && puzzle.agrees(solution)), "{puzzle}");
        }
        seen[match expected.len() {
            0 => 0,
            1 => 1,
            400 => 3,
            _ => 2,
        }] += 1;
    }
    assert!(seen.iter().all(|&count| count >= 300), "each kind was met: {seen:?}");
}

#[test]
fn a_contradiction_in_a_corner_is_found() {
    // Boards with few givens, or with room elsewhere, take minutes each where the search chooses far from what fails: no clock is needed to notice.
    let lines = [
        "3...7.458.....9.21...3.........3......2....67148.2....9..8.76.2....1...44.6...8..",
        ".....5.8....6.1.43..........1.5........1.6...3.......553.....61........4.........",
        "..4...8.....43.657.6.5........3.7..8...6...42...19.5.31....2...4.57...16..2....9.",
    ];
    let mut numbers = Numbers::new(12);
    for line in lines {
        for _ in 0..10 {
            let puzzle = puzzles::image(&line.parse().expect("81 characters"), &mut numbers);
            assert_eq!(prove::count(&puzzle, 2), 0, "{puzzle}");
            assert!(!prove::conflict(&puzzle).is_empty());
        }
    }
}

#[test]
fn empty_boards_have_many_solutions() {
    assert_eq!(prove::count(&Board::EMPTY, 0), 0);
    assert_eq!(prove::count(&Board::EMPTY, 20_000), 20_000);
    let found: BTreeSet<Board> = prove::solutions(&Board::EMPTY, 3000).into_iter().collect();
    assert!(found.len() == 3000 && found.iter().all(Board::is_solved));
    assert!(prove::solutions(&Board::EMPTY, 0).is_empty());
}

#[test]
fn seventeen_givens_suffice() {
    for line in puzzles::SEVENTEEN {
        let puzzle: Board = line.parse().expect("81 characters");
        assert_eq!((puzzle.filled().len(), prove::prove(&puzzle).count), (17, Count::One), "{line}");
        // No puzzle with 16 givens has one solution (McGuire, Tugemann and Civario 2014).
        assert!(prove::spare(&puzzle).is_empty(), "{line}");
    }
}

#[test]
fn a_conflict_is_a_conflict_and_no_smaller() {
    let mut numbers = Numbers::new(3);
    let mut sizes = BTreeSet::new();
    let mut unsolvable = 0;
    while unsolvable < 60 {
        let minimal = puzzles::minimal(&mut numbers);
        let puzzle = puzzles::corrupted(&minimal, &mut numbers);
        let conflict = prove::conflict(&puzzle);
        if prove::prove(&puzzle).count != Count::None {
            assert!(conflict.is_empty(), "{puzzle}");
            continue;
        }
        unsolvable += 1;
        let only = |cells: CellSet| Board::from_fn(|cell| puzzle.get(cell).filter(|_| cells.contains(cell)));
        assert_eq!(prove::count(&only(conflict), 1), 0, "{puzzle}: {conflict}");
        for cell in conflict.iter() {
            assert_eq!(prove::count(&only(conflict - cell.into()), 1), 1, "{puzzle}: {conflict} without {cell}");
        }
        if !puzzle.conflicts().is_empty() {
            assert_eq!(conflict.len(), 2, "{puzzle}: a pair of equal digits comes first");
        }
        sizes.insert(conflict.len());
    }
    assert!(sizes.len() > 2, "pairs and larger conflicts were met: {sizes:?}");
}

#[test]
fn repairs_are_all_changes_that_leave_one_solution() {
    let mut numbers = Numbers::new(4);
    let mut seen = [0; 3];
    while seen[0] < 12 || seen[2] < 12 {
        let sound = puzzles::sound(&mut numbers, 3);
        let puzzle = puzzles::corrupted(&sound, &mut numbers);
        let count = prove::count(&puzzle, 2);
        seen[count as usize] += 1;
        let mut expected = Vec::new();
        if count != 1 {
            for cell in Cell::ALL {
                for to in std::iter::once(None).chain(Digit::ALL.map(Some)) {
                    if to != puzzle.get(cell) && prove::count(&puzzle.with(cell, to), 2) == 1 {
                        expected.push(Repair { cell, from: puzzle.get(cell), to });
                    }
                }
            }
        }
        assert_eq!(prove::repairs(&puzzle), expected, "{puzzle}");
    }
}

#[test]
fn repairs_of_sparse_puzzles_are_all_found() {
    // One given is missing of a puzzle with the fewest that there can be.
    let puzzle: Board = puzzles::SEVENTEEN[0].parse().expect("81 characters");
    let missing = puzzle.filled().first().expect("it has givens");
    let repairs = prove::repairs(&puzzle.with(missing, None));
    assert!(repairs.contains(&Repair { cell: missing, from: None, to: puzzle.get(missing) }));
    assert!(prove::repairs(&Board::EMPTY).is_empty());
}

#[test]
fn a_spare_given_is_implied_by_the_others() {
    let mut numbers = Numbers::new(5);
    let mut found = 0;
    for _ in 0..100 {
        let puzzle = puzzles::sound(&mut numbers, 2);
        let spare = prove::spare(&puzzle);
        let expected: CellSet = puzzle.filled().iter().filter(|&cell| prove::count(&puzzle.with(cell, None), 2) == 1).collect();
        assert_eq!(spare, expected, "{puzzle}");
        found += spare.len();
    }
    assert!(found > 0);
}

#[test]
fn images_of_a_puzzle_share_its_id() {
    let mut numbers = Numbers::new(6);
    let mut ids = BTreeSet::new();
    for n in 0..120 {
        let puzzle = match n % 4 {
            0 => puzzles::minimal(&mut numbers),
            1 => puzzles::finished(&mut numbers),
            2 => puzzles::sound(&mut numbers, 20),
            _ => thinned(&puzzles::finished(&mut numbers), 3 + n / 8, &mut numbers),
        };
        let id = canonical(&puzzle);
        assert_eq!(canonical(&id), id, "{puzzle}");
        for _ in 0..10 {
            let image = puzzles::image(&puzzle, &mut numbers);
            assert_eq!(canonical(&image), id, "{puzzle} {image}");
            assert!(id <= image, "{id} is the least");
        }
        assert!(n % 4 == 3 || ids.insert(id), "different puzzles differ: {puzzle}");
    }
}

#[test]
fn the_id_is_an_image_of_the_puzzle() {
    let mut numbers = Numbers::new(8);
    for _ in 0..40 {
        let puzzle = puzzles::sound(&mut numbers, 4);
        assert!(is_image(&puzzle, &canonical(&puzzle)), "{puzzle}");
    }
}

#[test]
fn the_id_is_the_least_of_all_images() {
    // Every arrangement of rows and columns of a board, names given in order of appearance.
    let mut numbers = Numbers::new(9);
    for givens in [2, 5, 9, 24] {
        let board = thinned(&puzzles::finished(&mut numbers), givens, &mut numbers);
        let orders = lines();
        let mut least = [9_u8; 81];
        for turned in [false, true] {
            for rows in &orders {
                for columns in &orders {
                    least_line(&board, turned, rows, columns, &mut least);
                }
            }
        }
        let line: String = least.iter().map(|&digit| if digit == 0 { '.' } else { char::from(b'0' + digit) }).collect();
        assert_eq!(canonical(&board).to_string(), line, "{board}");
    }
}

#[test]
fn strange_boards_have_an_id_soon() {
    let cell = |cell: Cell, digit: fn(usize, usize) -> usize| Digit::new(digit(usize::from(cell.row()), usize::from(cell.column())) as u8);
    let makers: [fn(usize, usize) -> usize; 8] = [
        |_, _| 0,
        |_, _| 1,
        |row, column| usize::from(row == column),
        |row, column| if row == column { row + 1 } else { 0 },
        |row, column| (row + column) % 3 + 1,
        |row, column| (row + column) % 2,
        |row, column| usize::from(row % 3 == column % 3),
        |row, column| (3 * row + row / 3 + column) % 9 + 1,
    ];
    for (n, maker) in makers.into_iter().enumerate() {
        let board = Board::from_fn(|place| cell(place, maker));
        let start = std::time::Instant::now();
        let id = canonical(&board);
        let took = start.elapsed();
        assert_eq!(canonical(&puzzles::image(&board, &mut Numbers::new(n as u64))), id, "{board}");
        println!("board {n}: {:.1} ms", took.as_secs_f64() * 1e3);
        assert!(took.as_millis() < 1000, "{board} took {took:?}");
    }
}

/// The board with this many of its digits left.
fn thinned(board: &Board, left: usize, numbers: &mut Numbers) -> Board {
    let mut order = Cell::ALL;
    numbers.shuffle(&mut order);
    let keep: CellSet = order[..left.min(81)].iter().copied().collect();
    Board::from_fn(|cell| board.get(cell).filter(|_| keep.contains(cell)))
}

/// The solutions by the plain search, at most `cap` of them.
fn plainly(puzzle: &Board, cap: usize) -> BTreeSet<Board> {
    static NINE: Shape<9, 81> = Shape::NINE;
    let mut search = Search::new(&NINE);
    let mut found = BTreeSet::new();
    let contradicts = |(cell, digit): (Cell, Digit)| search.keep(cell.index(), 1 << digit.index()).is_err();
    if !puzzle.placed().any(contradicts) {
        let _ = search.each(&mut |solution| {
            found.insert(Board::from_fn(|cell| Digit::new(solution[cell.index()].trailing_zeros() as u8 + 1)));
            if found.len() < cap { ControlFlow::Continue(()) } else { ControlFlow::Break(()) }
        });
    }
    found
}

/// This many random digits in random cells.
fn scattered(count: usize, numbers: &mut Numbers) -> Board {
    let mut board = Board::EMPTY;
    for _ in 0..count {
        board.set(Cell::ALL[numbers.below(81)], Some(numbers.digit()));
    }
    board
}

/// All 1,296 orders of nine lines that keep threes together.
fn lines() -> Vec<[usize; 9]> {
    let orders = [[0, 1, 2], [0, 2, 1], [1, 0, 2], [1, 2, 0], [2, 0, 1], [2, 1, 0]];
    let mut all = Vec::new();
    for bands in orders {
        for a in orders {
            for b in orders {
                for c in orders {
                    let within = [a, b, c];
                    all.push(std::array::from_fn(|place| 3 * bands[place / 3] + within[place / 3][place % 3]));
                }
            }
        }
    }
    all
}

fn least_line(board: &Board, turned: bool, rows: &[usize; 9], columns: &[usize; 9], least: &mut [u8; 81]) {
    let (mut names, mut named, mut is_lower) = ([0; 10], 0, false);
    for place in 0..81 {
        let (row, column) = (rows[place / 9], columns[place % 9]);
        let (row, column) = if turned { (column, row) } else { (row, column) };
        let name = match board.get(Cell::at(row, column).expect("below nine")) {
            None => 0,
            Some(digit) => {
                let name: &mut u8 = &mut names[usize::from(digit.value())];
                if *name == 0 {
                    named += 1;
                    *name = named;
                }
                *name
            }
        };
        if is_lower || name < least[place] {
            is_lower = true;
            least[place] = name;
        } else if name > least[place] {
            return;
        }
    }
}

/// Whether some arrangement of rows and columns with renamed digits makes `image` of `board`: found by matching rows.
fn is_image(board: &Board, image: &Board) -> bool {
    let value =
        |board: &Board, row, column| board.get(Cell::at(row, column).expect("below nine")).map_or(0, |digit| usize::from(digit.value()));
    [false, true].into_iter().any(|turned| {
        let cell = |row, column| if turned { value(board, column, row) } else { value(board, row, column) };
        lines().iter().any(|columns| place_rows(&cell, image, columns, &mut Vec::new(), [0; 10], [0; 10]))
    })
}

fn place_rows(
    cell: &impl Fn(usize, usize) -> usize,
    image: &Board,
    columns: &[usize; 9],
    rows: &mut Vec<usize>,
    names: [usize; 10],
    meanings: [usize; 10],
) -> bool {
    let next = rows.len();
    if next == 9 {
        return true;
    }
    for row in (0..9).filter(|row| !rows.contains(row)).collect::<Vec<_>>() {
        let stays = if next.is_multiple_of(3) { rows.iter().all(|other| other / 3 != row / 3) } else { rows[next - 1] / 3 == row / 3 };
        let (mut names, mut meanings) = (names, meanings);
        let matches = stays
            && (0..9).all(|column| {
                let from = cell(row, columns[column]);
                let to = image.get(Cell::at(next, column).expect("below nine")).map_or(0, |digit| usize::from(digit.value()));
                if from == 0 || to == 0 {
                    return from == to;
                }
                if names[from] == 0 && meanings[to] == 0 {
                    (names[from], meanings[to]) = (to, from);
                }
                names[from] == to
            });
        if matches {
            rows.push(row);
            if place_rows(cell, image, columns, rows, names, meanings) {
                return true;
            }
            rows.pop();
        }
    }
    false
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, rng_seed: proptest::test_runner::RngSeed::Fixed(11), ..ProptestConfig::default() })]

    #[test]
    fn a_board_and_its_line_round_trip(digits in prop::collection::vec(0_u8..=9, 81)) {
        let board = Board::from_fn(|cell| Digit::new(digits[cell.index()]));
        prop_assert_eq!(board.to_string().parse(), Ok(board));
        prop_assert_eq!(board.to_string().replace('.', "0").parse(), Ok(board));
    }

    #[test]
    fn a_text_that_is_no_line_is_refused(text in "[0-9.x ]{0,90}") {
        let is_line = text.len() == 81 && text.bytes().all(|byte| byte == b'.' || byte.is_ascii_digit());
        prop_assert_eq!(text.parse::<Board>().is_ok(), is_line);
    }

    #[test]
    fn symmetries_keep_count_and_id(seed in any::<u64>()) {
        let mut numbers = Numbers::new(seed);
        let puzzle = puzzles::sound(&mut numbers, 4);
        let puzzle = puzzles::corrupted(&puzzle, &mut numbers);
        let image = puzzles::image(&puzzle, &mut numbers);
        prop_assert_eq!(prove::prove(&puzzle).count, prove::prove(&image).count);
        prop_assert_eq!(prove::count(&puzzle, 50), prove::count(&image, 50));
        prop_assert_eq!(prove::repairs(&puzzle).len(), prove::repairs(&image).len());
        prop_assert_eq!(prove::spare(&puzzle).len(), prove::spare(&image).len());
        prop_assert_eq!(canonical(&puzzle), canonical(&image));
    }
}
