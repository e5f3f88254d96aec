//! How long `prove` takes, beside a general SAT solver in the same run: `cargo bench --bench prove`.

#[path = "../support/puzzles.rs"]
mod puzzles;
#[path = "../support/referee.rs"]
mod referee;

use std::hint::black_box;
use std::time::Instant;

use gridlift::grid::Board;
use gridlift::prove;
use puzzles::Numbers;

fn main() {
    let mut numbers = Numbers::new(7);
    let seventeen: Vec<Board> = puzzles::SEVENTEEN.iter().map(|line| line.parse().expect("a line")).collect();
    let sparse: Vec<Board> = seventeen.iter().flat_map(|puzzle| images(puzzle, 100, &mut numbers)).collect();
    let minimal: Vec<Board> = (0..200).map(|_| puzzles::minimal(&mut numbers)).collect();
    let hard: Board = HARD.parse().expect("a line");
    let hard = images(&hard, 50, &mut numbers);
    let unsolvable = images(&UNSOLVABLE.parse().expect("a line"), 50, &mut numbers);
    let corrupted: Vec<Board> = minimal.iter().map(|puzzle| puzzles::corrupted(puzzle, &mut numbers)).collect();
    println!("microseconds: median, 99 %, greatest, total ms");
    for (name, set) in [
        ("17 givens", &sparse),
        ("minimal", &minimal),
        ("hard", &hard),
        ("no solution, no conflict in view", &unsolvable),
        ("corrupted", &corrupted),
    ] {
        let own = time(&format!("{name}: count to two"), set, |puzzle| prove::count(puzzle, 2));
        let mut referee = referee::Referee::new();
        let general = time(&format!("{name}: SAT solver"), &set[..set.len().min(50)], |puzzle| referee.count(puzzle));
        println!("    {:.0} times faster (medians)", general / own);
    }
    time("minimal: id", &minimal, prove::canonical);
    let finished: Vec<Board> = minimal.iter().filter_map(|puzzle| prove::prove(puzzle).solution).collect();
    time("finished: id", &finished, prove::canonical);
    time("17 givens: id", &sparse, prove::canonical);
    time("minimal: spare", &minimal, prove::spare);
    time("corrupted: conflict", &corrupted, prove::conflict);
    time("corrupted: repairs", &corrupted, prove::repairs);
    time("no solution: conflict", &unsolvable, prove::conflict);
    time("no solution: repairs", &unsolvable, prove::repairs);
}

/// A hard puzzle for people and for searches, from memory.
const HARD: &str = "8..........36......7..9.2...5...7.......457.....1...3...1....68..85...1..9....4..";

/// Givens without a solution that no pair of equal digits gives away, from memory.
const UNSOLVABLE: &str = ".....5.8....6.1.43..........1.5........1.6...3.......553.....61........4.........";

fn images(puzzle: &Board, count: usize, numbers: &mut Numbers) -> Vec<Board> {
    (0..count).map(|_| puzzles::image(puzzle, numbers)).collect()
}

/// Prints how long `work` takes for each board; gives the median in microseconds.
fn time<T>(name: &str, boards: &[Board], mut work: impl FnMut(&Board) -> T) -> f64 {
    let mut took: Vec<f64> = boards
        .iter()
        .map(|board| {
            let start = Instant::now();
            black_box(work(black_box(board)));
            start.elapsed().as_secs_f64() * 1e6
        })
        .collect();
    took.sort_by(f64::total_cmp);
    let at = |share: f64| took[((took.len() - 1) as f64 * share) as usize];
    println!("{name:45} {:9.1} {:9.1} {:9.1} {:9.1}", at(0.5), at(0.99), at(1.0), took.iter().sum::<f64>() / 1e3);
    at(0.5)
}
