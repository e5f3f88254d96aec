//! Effort and time of easiest walks against the greedy ladder's: `cargo bench --bench walk -- FILE [COUNT]`, one puzzle a line.
use std::time::Instant;

use gridlift::grid::Board;
use gridlift::walk::{Deduction, Options, climb, next, walk};

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).filter(|argument| argument != "--bench").collect();
    let Some(path) = arguments.first() else {
        println!("name a file of puzzles, one a line");
        return;
    };
    let count = arguments.get(1).and_then(|count| count.parse().ok()).unwrap_or(usize::MAX);
    let text = std::fs::read_to_string(path).expect("the file can be read");
    let puzzles: Vec<Board> = text.lines().filter_map(|line| line.get(..81)?.parse().ok()).take(count).collect();
    let options = Options::default();
    let (mut ratios, mut walk_ms, mut first_ms, mut carried) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    let (mut complete, mut what_ifs, mut more) = (0, 0, 0);
    let (mut easy, mut ladder) = (0.0, 0.0);
    for puzzle in &puzzles {
        let began = Instant::now();
        next(puzzle, &options);
        first_ms.push(began.elapsed().as_secs_f64() * 1e3);
        let began = Instant::now();
        let easiest = walk(puzzle, &options);
        std::hint::black_box(easiest.minutes());
        walk_ms.push(began.elapsed().as_secs_f64() * 1e3);
        let greedy = climb(puzzle, &options);
        complete += usize::from(easiest.complete);
        what_ifs += usize::from(easiest.steps.iter().any(|step| step.deduction == Deduction::WhatIf));
        more += usize::from(easiest.effort() > greedy.effort() + 1e-9);
        easy += easiest.effort();
        ladder += greedy.effort();
        ratios.push(easiest.effort() / greedy.effort());
        carried.push(easiest.carried_most() as f64);
    }
    let n = puzzles.len();
    println!("{n} puzzles: {complete} walked to the end, {what_ifs} with a what-if");
    println!(
        "effort: easiest {:.2}, ladder {:.2} in the mean; {:.1} % less ({:.1} % in the mean of ratios), more in {more}",
        easy / n as f64,
        ladder / n as f64,
        100.0 * (1.0 - easy / ladder),
        100.0 * (1.0 - ratios.iter().sum::<f64>() / n as f64)
    );
    for (name, values) in
        [("carried at most", &mut carried), ("first step, ms", &mut first_ms), ("whole walk and its minutes, ms", &mut walk_ms)]
    {
        values.sort_by(f64::total_cmp);
        println!("{name}: median {:.3}, 95th percentile {:.3}, most {:.3}", values[n / 2], values[n * 95 / 100], values[n - 1]);
    }
}
