//! Verdicts from made-up scores: what `decide` says where the pictures say this or that.

#[path = "support/puzzles.rs"]
mod puzzles;
mod support;

use gridlift::classify::{CLASSES, Evidence, Pair};
use gridlift::decide::{Mark, Picture, Reading, Reason, Shot, Verdict, decide, decide_together, likeness};
use gridlift::grid::{Board, Cell};
use gridlift::prove;
use support::thresholds;

const PUZZLE: &str = "...4.....9.7.....3.85...2...7..9.1..15..7..3....6...2...47.9.8..13..2.4.8.9.5....";
/// The classes beside the digits.
const OTHER: usize = 20;

/// Evidence that is sure of these classes.
fn sure(classes: &[usize]) -> Evidence {
    let cells = classes
        .iter()
        .map(|&class| {
            let mut row = [1e-9; CLASSES];
            row[class] = 1.0 - 20e-9;
            row
        })
        .collect();
    let mut pose = [0.0; 8];
    pose[0] = 1.0;
    Evidence { cells, marks: vec![[0.0; 9]; 81], pose, other_rules: 0.0, struck: None }
}

fn classes(line: &str) -> Vec<usize> {
    line.bytes().map(|byte| usize::from(byte.saturating_sub(b'0')) * usize::from(byte != b'.')).collect()
}

fn read(evidence: &Evidence) -> Reading {
    decide(std::slice::from_ref(evidence), &Picture::default(), &thresholds())
}

/// Moves a share of a cell's certainty to another class.
fn split(evidence: &mut Evidence, cell: usize, to: usize, share: f64) {
    let own = (0..CLASSES).max_by(|&a, &b| evidence.cells[cell][a].total_cmp(&evidence.cells[cell][b])).expect("classes");
    evidence.cells[cell][own] = 1.0 - share - 19e-9;
    evidence.cells[cell][to] = share;
}

fn givens(reading: &Reading) -> String {
    reading.givens.expect("givens").to_string()
}

#[test]
fn a_clear_sound_reading_is_proven() {
    let reading = read(&sure(&classes(PUZZLE)));
    assert_eq!(reading.verdict, Verdict::Proven);
    assert_eq!(givens(&reading), PUZZLE);
    assert_eq!(reading.solutions, 1);
    assert!(reading.flags.is_empty() && reading.confidence > 0.999);
}

#[test]
fn a_finished_grid_read_in_part_is_no_puzzle() {
    let solution = prove::solutions(&PUZZLE.parse().expect("a board"), 1)[0].to_string();
    assert_eq!(read(&sure(&classes(&solution))).verdict, Verdict::Proven);
    for missing in [1, 16, 30] {
        let mut some = classes(&solution);
        some[..missing].fill(0);
        let reading = read(&sure(&some));
        assert_eq!(reading.verdict, Verdict::Doubtful);
        assert_eq!(reading.flags.len(), missing);
        assert!(reading.flags.iter().all(|flag| flag.reason == Reason::MaybeEmpty));
    }
}

#[test]
fn a_split_cell_is_never_proven() {
    // In each cell in turn, 60 % of what was sure goes to each other reading of its given.
    for cell in 0..81 {
        let own = classes(PUZZLE)[cell];
        for other in (0..=9).filter(|&class| class != own) {
            let mut evidence = sure(&classes(PUZZLE));
            split(&mut evidence, cell, other, 0.6);
            let reading = read(&evidence);
            assert_ne!(reading.verdict, Verdict::Proven, "{} {own} or {other}", Cell::ALL[cell]);
        }
    }
}

/// The empty cells of the puzzle, and what would keep it sound in each.
fn gaps() -> Vec<(usize, usize)> {
    let solution = prove::solutions(&PUZZLE.parse().expect("a board"), 1)[0].to_string();
    classes(PUZZLE)
        .into_iter()
        .zip(classes(&solution))
        .enumerate()
        .filter(|(_, (given, _))| *given == 0)
        .map(|(n, (_, digit))| (n, digit))
        .collect()
}

#[test]
fn where_no_cell_alone_is_unsure_the_likeliest_faults_are_flagged() {
    let (gaps, mut evidence) = (gaps(), sure(&classes(PUZZLE)));
    // Somebody wrote, in one cell; three others may hold a given, which together is too much.
    split(&mut evidence, gaps[0].0, gaps[0].1 + 9, 1.0 - 19e-9);
    for (&(cell, digit), share) in gaps[1..4].iter().zip([0.003, 0.005, 0.002]) {
        split(&mut evidence, cell, digit, share);
    }
    let reading = read(&evidence);
    assert_eq!((reading.verdict, givens(&reading)), (Verdict::Doubtful, PUZZLE.to_owned()));
    let flagged: Vec<usize> = reading.flags.iter().map(|flag| flag.cell.index()).collect();
    assert!(flagged == [gaps[2].0] || flagged == [gaps[2].0, gaps[1].0], "{flagged:?}");
}

#[test]
fn what_is_doubted_in_one_cell_is_doubted_sooner_in_others() {
    let (gaps, mut evidence) = (gaps(), sure(&classes(PUZZLE)));
    split(&mut evidence, gaps[1].0, gaps[1].1, 0.008);
    assert_eq!(read(&evidence).verdict, Verdict::Proven);
    split(&mut evidence, gaps[0].0, gaps[0].1, 0.03);
    let flagged: Vec<usize> = read(&evidence).flags.iter().map(|flag| flag.cell.index()).collect();
    assert_eq!(flagged, [gaps[0].0, gaps[1].0]);
}

#[test]
fn a_sure_clash_is_a_misprint_though_another_cell_is_unsure() {
    let mut line = classes(PUZZLE);
    line[36 + 2] = 5;
    let mut evidence = sure(&line);
    split(&mut evidence, 3, 9, 0.2);
    let reading = read(&evidence);
    assert_eq!(reading.verdict, Verdict::Misprinted);
    assert_eq!(
        reading.flags.iter().map(|flag| flag.reason).collect::<Vec<_>>(),
        [Reason::BreaksARule, Reason::BreaksARule, Reason::RivalDigits]
    );
    // Where one of the two is unsure it may as well be misread.
    let mut evidence = sure(&line);
    split(&mut evidence, 38, 0, 0.01);
    assert_ne!(read(&evidence).verdict, Verdict::Misprinted);
}

#[test]
fn a_misread_that_breaks_a_rule_is_mended() {
    // r1c4 is a 4; a likelier 9 would clash with nothing nearer than its rules, and only the 4 is sound.
    let mut evidence = sure(&classes(PUZZLE));
    split(&mut evidence, 3, 9, 0.7);
    let reading = read(&evidence);
    assert_eq!(reading.verdict, Verdict::Mended);
    assert_eq!(givens(&reading), PUZZLE);
    let flag = &reading.flags[0];
    assert_eq!((flag.cell, flag.reason), (Cell::ALL[3], Reason::Mended));
    assert_eq!((flag.read, flag.suggest), (Mark::Given("9".parse().expect("a digit")), Mark::Given("4".parse().expect("a digit"))));
}

#[test]
fn a_clear_unsound_reading_is_a_misprint() {
    // Two fives in one row, both as clear as print can be.
    let mut line = classes(PUZZLE);
    line[36 + 2] = 5;
    let reading = read(&sure(&line));
    assert_eq!(reading.verdict, Verdict::Misprinted);
    assert_eq!(reading.solutions, 0);
    assert!(reading.conflict.contains(&Cell::ALL[38]), "{:?}", reading.conflict);
    assert!(reading.repairs.iter().any(|(cell, to)| *cell == Cell::ALL[38] && to.is_none()), "{:?}", reading.repairs);
}

#[test]
fn what_no_single_change_makes_sound_goes_by_other_rules() {
    // Of a puzzle with regions of its own every third given, which leave many solutions by the usual rules.
    let mut line = classes(PUZZLE);
    let givens: Vec<usize> = (0..81).filter(|&cell| line[cell] > 0).collect();
    givens.iter().enumerate().filter(|(n, _)| n % 3 > 0).for_each(|(_, &cell)| line[cell] = 0);
    let reading = read(&sure(&line));
    assert_eq!((reading.verdict, reading.solutions), (Verdict::Doubtful, 2));
    assert!(reading.flags.iter().any(|flag| flag.reason == Reason::OtherRules), "{:?}", reading.flags);
}

#[test]
fn a_printed_puzzle_with_two_solutions_is_a_misprint_too() {
    let puzzle: Board = PUZZLE.parse().expect("a puzzle");
    let loose = Cell::ALL
        .into_iter()
        .find_map(|cell| puzzle.get(cell).map(|_| puzzle.with(cell, None)).filter(|board| prove::count(board, 2) == 2))
        .expect("a needed given");
    let reading = read(&sure(&classes(&loose.to_string())));
    assert_eq!((reading.verdict, reading.solutions), (Verdict::Misprinted, 2));
    let (first, second) = (reading.solution.expect("one"), reading.second.expect("another"));
    assert!(first != second && loose.agrees(&first) && loose.agrees(&second));
    // With more than a trace of other rules, these may be what is missing.
    let beside = |board: &Board, other_rules: f64| {
        decide(&[sure(&classes(&board.to_string()))], &Picture { other_rules, ..Picture::default() }, &thresholds())
    };
    assert_eq!(beside(&loose, 0.01).verdict, Verdict::Misprinted);
    let reading = beside(&loose, 0.05);
    assert_eq!(reading.verdict, Verdict::Doubtful);
    assert!(reading.flags.iter().any(|flag| flag.reason == Reason::OtherRules), "{:?}", reading.flags);
    // Where there are many, a trace is more than enough.
    let seventeen: Board = puzzles::SEVENTEEN[0].parse().expect("a puzzle");
    let looser = seventeen.with(Cell::ALL.into_iter().find(|&cell| seventeen.get(cell).is_some()).expect("a given"), None);
    assert!(prove::count(&looser, 200) > 100);
    assert_eq!([0.0001, 0.01].map(|other_rules| beside(&looser, other_rules).verdict), [Verdict::Misprinted, Verdict::Doubtful]);
}

#[test]
fn what_lies_over_a_cell_is_never_taken_for_empty() {
    let mut line = classes(PUZZLE);
    line[0] = OTHER;
    let reading = read(&sure(&line));
    assert_eq!(reading.verdict, Verdict::Doubtful);
    assert_eq!((reading.flags[0].cell, reading.flags[0].reason), (Cell::ALL[0], Reason::Covered));
}

#[test]
fn entries_stay_out_of_the_givens() {
    let puzzle: Board = PUZZLE.parse().expect("a puzzle");
    let solution = prove::solutions(&puzzle, 1)[0];
    let filled: Vec<usize> = Cell::ALL
        .into_iter()
        .map(|cell| match (puzzle.get(cell), solution.get(cell)) {
            (Some(given), _) => usize::from(given.value()),
            (None, Some(entry)) => usize::from(entry.value()) + 9,
            (None, None) => 0,
        })
        .collect();
    let reading = read(&sure(&filled));
    assert_eq!((reading.verdict, givens(&reading).as_str(), reading.solved), (Verdict::Proven, PUZZLE, false));
    assert_eq!(reading.entries.expect("entries").filled().len(), 81 - puzzle.filled().len());
}

#[test]
fn faults_of_the_picture_forbid_proven() {
    let evidence = sure(&classes(PUZZLE));
    let faults: [(Reason, Picture); 4] = [
        (Reason::TurnUnsure, Picture { upright: 0.9, ..Picture::default() }),
        (Reason::OtherRules, Picture { other_rules: 0.9, ..Picture::default() }),
        (Reason::LineMissing, Picture { boxes: 0.1, ..Picture::default() }),
        (Reason::CutShort, Picture { damaged: true, ..Picture::default() }),
    ];
    for (reason, picture) in faults {
        let reading = decide(std::slice::from_ref(&evidence), &picture, &thresholds());
        assert_eq!(reading.verdict, Verdict::Doubtful, "{reason}");
        assert!(reading.flags.iter().any(|flag| flag.reason == reason), "{reason}");
    }
    let mirrored = decide(&[evidence], &Picture { mirrored: 0.9, upright: 0.1, ..Picture::default() }, &thresholds());
    assert_eq!((mirrored.verdict, mirrored.givens), (Verdict::Unreadable, None));
}

#[test]
fn looks_that_differ_are_doubtful() {
    let mut other = classes(PUZZLE);
    other[3] = 9;
    let reading = decide(&[sure(&classes(PUZZLE)), sure(&other)], &Picture::default(), &thresholds());
    assert_ne!(reading.verdict, Verdict::Proven);
}

#[test]
fn without_a_look_nothing_is_told() {
    let shot = Shot::new(&[], Picture::default(), &thresholds());
    assert!(shot.cells.iter().flatten().all(|p| (p * CLASSES as f64 - 1.0).abs() < 1e-9));
    assert_eq!(shot.read(&thresholds()).verdict, Verdict::Unreadable);
}

#[test]
fn an_empty_cell_in_a_reflection_is_not_proven() {
    let mut washed = [false; 81];
    washed[classes(PUZZLE).iter().position(|&class| class == 0).expect("an empty cell")] = true;
    let reading = decide(&[sure(&classes(PUZZLE))], &Picture { washed, ..Picture::default() }, &thresholds());
    assert_eq!((reading.verdict, reading.flags.len(), reading.flags[0].reason), (Verdict::Doubtful, 1, Reason::Glare));
}

#[test]
fn a_digit_alone_paler_than_the_print_may_be_written() {
    let pale = |cells: &[usize], depth: f64| {
        let mut depths = [0.95; 81];
        cells.iter().for_each(|&cell| depths[cell] = depth);
        decide(&[sure(&classes(PUZZLE))], &Picture { depth: depths, ..Picture::default() }, &thresholds())
    };
    let filled: Vec<usize> = (0..81).filter(|&cell| classes(PUZZLE)[cell] > 0).collect();
    let reading = pale(&filled[4..5], 0.75);
    assert_eq!((reading.verdict, reading.flags.len()), (Verdict::Doubtful, 1));
    assert_eq!((reading.flags[0].cell.index(), reading.flags[0].reason), (filled[4], Reason::PrintOrHandwriting));
    // Neither a little paler ink nor print of many depths tells anything.
    assert_eq!(pale(&filled[4..5], 0.88).verdict, Verdict::Proven);
    assert_eq!(pale(&filled[4..7], 0.75).verdict, Verdict::Proven);
}

#[test]
fn a_pale_digit_that_is_a_copy_is_print() {
    let mut depth = [0.95; 81];
    let cell = (0..81).find(|&cell| classes(PUZZLE)[cell] == 7).expect("a seven");
    depth[cell] = 0.75;
    let verdict = |unlike: f64| {
        let picture = Picture { depth, unlike: std::array::from_fn(|n| (n == cell).then_some(unlike)), ..Picture::default() };
        decide(&[sure(&classes(PUZZLE))], &picture, &thresholds()).verdict
    };
    assert_eq!([0.0, 1.0].map(verdict), [Verdict::Proven, Verdict::Doubtful]);
}

#[test]
fn what_is_unlike_the_print_may_be_written() {
    // One digit more than the puzzle needs, so that the rules can't tell whether somebody wrote it.
    let mut line = classes(PUZZLE);
    let cell = line.iter().position(|&class| class == 0).expect("an empty cell");
    let solution = prove::solutions(&PUZZLE.parse().expect("a puzzle"), 1)[0];
    line[cell] = usize::from(solution.get(Cell::ALL[cell]).expect("a digit").value());
    let read = |share: f64, unlike: Option<f64>| {
        let mut evidence = sure(&line);
        split(&mut evidence, cell, line[cell] + 9, share);
        decide(
            &[evidence],
            &Picture { unlike: std::array::from_fn(|n| if n == cell { unlike } else { None }), ..Picture::default() },
            &thresholds(),
        )
    };
    assert_eq!(
        [None, Some(0.0), Some(2.5)].map(|unlike| read(0.004, unlike).verdict),
        [Verdict::Proven, Verdict::Proven, Verdict::Doubtful]
    );
    assert_eq!([Some(0.0), None].map(|unlike| read(0.025, unlike).verdict), [Verdict::Proven, Verdict::Doubtful]);
    // It may not turn what is read.
    assert_eq!(read(0.3, Some(2.5)).cells[cell].read, read(0.3, None).cells[cell].read);
}

#[test]
fn what_copies_the_print_is_print_and_what_does_not_may_be_written() {
    let line = classes(PUZZLE);
    let fellows: Vec<usize> = (0..81).filter(|&cell| line[cell] == 7).collect();
    let (cell, others) = fellows.split_first().expect("sevens");
    let read = |share: f64, odds: Option<f64>| {
        let mut evidence = sure(&line);
        split(&mut evidence, *cell, line[*cell] + 9, share);
        let pair = |a: usize, b: usize, odds: f64| Pair { cells: [a, b], odds };
        let mut pairs: Vec<Pair> = others.iter().flat_map(|&b| Some(pair(*cell, b, odds?))).collect();
        pairs.extend(others.iter().flat_map(|&b| others.iter().filter(move |&&a| a < b).map(move |&a| pair(a, b, 5.0))));
        decide(&[evidence], &Picture { pairs, ..Picture::default() }, &thresholds())
    };
    // Of three in ten who read it as written none is left where it is a copy, and of one in a thousand a doubt where it isn't.
    assert_eq!([Some(5.0), None].map(|odds| read(0.3, odds).cells[*cell].probability > 0.95), [true, false]);
    assert_eq!([Some(5.0), Some(-8.0)].map(|odds| read(0.001, odds).verdict), [Verdict::Proven, Verdict::Doubtful]);
}

#[test]
fn noise_is_unreadable() {
    let mut evidence = sure(&classes(PUZZLE));
    evidence.cells = vec![[1.0 / CLASSES as f64; CLASSES]; 81];
    assert_eq!(read(&evidence).verdict, Verdict::Unreadable);
}

fn shot(evidence: Evidence) -> Shot {
    Shot::new(&[evidence], Picture::default(), &thresholds())
}

fn together(shots: &[Shot]) -> Reading {
    decide_together(&shots.iter().collect::<Vec<_>>(), &thresholds())
}

#[test]
fn what_one_shot_hides_another_shows() {
    let covered = |cell: usize| {
        let mut line = classes(PUZZLE);
        line[cell] = OTHER;
        shot(sure(&line))
    };
    let mut washed = covered(0);
    washed.picture.washed[1] = true;
    let cut_off = {
        let mut shot = covered(80);
        shot.picture.outside[2] = 0.5;
        shot
    };
    for alone in [&washed, &cut_off] {
        assert_eq!(alone.read(&thresholds()).verdict, Verdict::Doubtful);
    }
    let reading = together(&[washed.clone(), cut_off.clone()]);
    assert_eq!((reading.verdict, givens(&reading).as_str(), reading.flags.len()), (Verdict::Proven, PUZZLE, 0));
    // What is hidden in all of them stays hidden.
    let reading = together(&[washed, covered(0)]);
    assert_eq!((reading.verdict, reading.flags[0].cell), (Verdict::Doubtful, Cell::ALL[0]));
}

#[test]
fn shots_unsure_of_different_cells_help_each_other() {
    // r1c4 may be another digit in one, r5c9 in the other.
    let unsure = |cell: usize, to: usize| {
        let mut evidence = sure(&classes(PUZZLE));
        split(&mut evidence, cell, to, 0.6);
        shot(evidence)
    };
    let shots = [unsure(3, 8), unsure(44, 6)];
    assert!(shots.iter().all(|shot| shot.read(&thresholds()).verdict != Verdict::Proven));
    let reading = together(&shots);
    assert_eq!((reading.verdict, givens(&reading).as_str()), (Verdict::Proven, PUZZLE));
    // Both unsure of the same cell, and both of the wrong digit: no help.
    assert_ne!(together(&[unsure(3, 8), unsure(3, 8)]).verdict, Verdict::Proven);
}

#[test]
fn two_sure_shots_that_differ_are_doubtful() {
    let puzzle: Board = PUZZLE.parse().expect("a puzzle");
    let spare = prove::spare(&puzzle).iter().next().expect("a spare given");
    let without = shot(sure(&classes(&puzzle.with(spare, None).to_string())));
    let whole = shot(sure(&classes(PUZZLE)));
    for shots in [vec![whole.clone(), without.clone()], vec![whole.clone(), whole.clone(), whole.clone(), without.clone()]] {
        assert!(shots.iter().all(|shot| shot.read(&thresholds()).verdict == Verdict::Proven));
        let reading = together(&shots);
        assert_eq!(reading.verdict, Verdict::Doubtful, "{} shots", shots.len());
        assert!(reading.confidence <= 0.5);
        assert_eq!((reading.flags[0].cell, reading.flags[0].reason), (spare, Reason::ShotsDiffer));
    }
}

#[test]
fn one_sure_voice_against_two_keeps_the_doubt() {
    // A 9 in r1c4 leaves no solution, so that shot isn't proven alone; and still it isn't overruled.
    let mut odd = classes(PUZZLE);
    odd[3] = 9;
    let whole = shot(sure(&classes(PUZZLE)));
    assert_ne!(together(&[whole.clone(), whole.clone(), shot(sure(&odd))]).verdict, Verdict::Proven);
}

#[test]
fn a_shot_that_shows_nothing_takes_nothing_away() {
    let mut nothing = sure(&classes(PUZZLE));
    nothing.cells = vec![[1.0 / CLASSES as f64; CLASSES]; 81];
    let mut damaged = shot(nothing.clone());
    damaged.picture.damaged = true;
    let reading = together(&[shot(nothing), shot(sure(&classes(PUZZLE))), damaged]);
    assert_eq!((reading.verdict, givens(&reading).as_str()), (Verdict::Proven, PUZZLE));
}

#[test]
fn faults_of_every_picture_stay() {
    let damaged = |mut shot: Shot| {
        shot.picture.damaged = true;
        shot
    };
    let whole = shot(sure(&classes(PUZZLE)));
    let reading = together(&[damaged(whole.clone()), damaged(whole.clone())]);
    assert!(reading.verdict == Verdict::Doubtful && reading.flags.iter().any(|flag| flag.reason == Reason::CutShort));
    // Regions beyond the boxes are a matter of the print: seen in one shot, they count for all.
    let mut other_rules = whole.clone();
    other_rules.picture.other_rules = 0.9;
    assert_eq!(together(&[other_rules, whole]).verdict, Verdict::Doubtful);
}

#[test]
fn likeness_is_of_the_print() {
    let puzzle: Board = PUZZLE.parse().expect("a puzzle");
    let solution = prove::solutions(&puzzle, 1)[0];
    let whole = shot(sure(&classes(PUZZLE)));
    let written: Vec<usize> = Cell::ALL
        .into_iter()
        .map(|cell| {
            puzzle
                .get(cell)
                .map_or_else(|| usize::from(solution.get(cell).expect("a digit").value()) + 9, |digit| usize::from(digit.value()))
        })
        .collect();
    let filled = shot(sure(&written));
    let alike = likeness;
    assert!(alike(&whole, &whole) > 80.0 && alike(&whole, &filled) > 80.0);
    // Written in between two shots: still the same print.
    let reading = together(&[whole.clone(), filled]);
    assert_eq!((reading.verdict, givens(&reading).as_str()), (Verdict::Proven, PUZZLE));
    let solved = shot(sure(&classes(&solution.to_string())));
    assert!(alike(&whole, &solved) < -50.0, "a puzzle and its printed solution are two grids");
    // The same pattern with other digits, and another pattern.
    let other: Vec<usize> = classes(PUZZLE).into_iter().map(|class| if class == 0 { 0 } else { class % 9 + 1 }).collect();
    let turned: Vec<usize> = classes(PUZZLE).into_iter().rev().collect();
    for different in [other, turned] {
        assert!(alike(&whole, &shot(sure(&different))) < -20.0);
    }
}

#[test]
fn a_cell_too_dark_for_paper_is_not_taken_for_empty() {
    let mut shaded = [false; 81];
    shaded[0] = true;
    let reading = decide(&[sure(&classes(PUZZLE))], &Picture { shaded, ..Picture::default() }, &thresholds());
    assert_eq!((reading.verdict, reading.flags.len(), reading.flags[0].reason), (Verdict::Doubtful, 1, Reason::Covered));
}

#[test]
fn the_picture_tells_why_a_digit_is_unsure_and_changes_nothing_else() {
    // r1c4 is a 4 that may be a 9 or nothing.
    for (to, plain) in [(9, Reason::RivalDigits), (0, Reason::MaybeEmpty)] {
        let mut evidence = sure(&classes(PUZZLE));
        split(&mut evidence, 3, to, 0.38);
        let read = |depth: f64, sharp: f64| {
            let mut picture = Picture::default();
            (picture.depth[3], picture.sharp[3]) = (depth, sharp);
            decide(std::slice::from_ref(&evidence), &picture, &thresholds())
        };
        let cases =
            [(1.0, 0.9, plain), (0.3, 0.9, Reason::Faint), (0.3, 0.2, Reason::Faint), (1.0, 0.2, Reason::Blurred), (0.02, 0.0, plain)];
        for (depth, sharp, reason) in cases {
            let mut reading = read(depth, sharp);
            assert_eq!(reading.flags[0].reason, reason, "{depth} {sharp}");
            assert_eq!(reading.advice.is_some_and(|advice| advice.contains("blurred")), reason == Reason::Blurred);
            (reading.flags[0].reason, reading.advice) = (plain, None);
            assert_eq!(reading, Reading { advice: None, ..read(1.0, 0.9) }, "{depth} {sharp}");
        }
    }
    // What is sure needs no reason, however faint.
    let faint = Picture { depth: std::array::from_fn(|n| if n == 3 { 0.2 } else { 1.0 }), ..Picture::default() };
    assert_eq!(decide(&[sure(&classes(PUZZLE))], &faint, &thresholds()).verdict, Verdict::Proven);
    // Handwriting is told by more than its ink, and stays the reason.
    let mut evidence = sure(&classes(PUZZLE));
    split(&mut evidence, 3, 13, 0.4);
    let reading = decide(&[evidence], &Picture { sharp: [0.2; 81], ..Picture::default() }, &thresholds());
    assert_eq!(reading.flags[0].reason, Reason::PrintOrHandwriting);
}

#[test]
fn a_finished_grid_that_keeps_the_rules_is_doubted_only_where_others_are_plain_to_see() {
    let solution = prove::solutions(&PUZZLE.parse().expect("a puzzle"), 1)[0].to_string();
    let verdict = |evidence: &Evidence, other_rules: f64| {
        decide(std::slice::from_ref(evidence), &Picture { other_rules, ..Picture::default() }, &thresholds()).verdict
    };
    assert_eq!(verdict(&sure(&classes(&solution)), 0.3), Verdict::Proven);
    assert_eq!(verdict(&sure(&classes(&solution)), 0.9), Verdict::Doubtful);
    // Rows and columns may hold what the boxes don't: then it goes by others, and is no misprint.
    let mut moved = classes(&solution);
    moved.rotate_left(9);
    assert_eq!(verdict(&sure(&moved), 0.9), Verdict::Doubtful);
}

#[test]
fn a_finished_grid_of_uneven_ink_is_not_taken_for_print() {
    let solution = prove::solutions(&PUZZLE.parse().expect("a puzzle"), 1)[0];
    let mut evidence = sure(&classes(&solution.to_string()));
    let read =
        |uneven: f64, evidence: &Evidence| decide(std::slice::from_ref(evidence), &Picture { uneven, ..Picture::default() }, &thresholds());
    let printed = read(0.9, &evidence);
    assert_eq!((printed.verdict, printed.solved), (Verdict::Proven, true));
    // One digit looks a little more like handwriting than the others: that is the one to ask about.
    let digit = usize::from(solution.get(Cell::ALL[40]).expect("a digit").value());
    evidence.cells[40][digit + 9] = 1e-4;
    let doubted = read(1.2, &evidence);
    assert_eq!((doubted.verdict, doubted.solved, doubted.flags.len()), (Verdict::Doubtful, false, 1));
    assert_eq!((doubted.flags[0].cell, doubted.flags[0].reason), (Cell::ALL[40], Reason::PrintOrHandwriting));
    // A puzzle with empty cells is no matter of evenness: print and handwriting are told cell by cell.
    assert_eq!(read(1.2, &sure(&classes(PUZZLE))).verdict, Verdict::Proven);
}

#[test]
fn what_comes_in_two_typefaces_is_not_taken_for_print() {
    let two_prints = Picture { two_prints: true, ..Picture::default() };
    let solution = prove::solutions(&PUZZLE.parse().expect("a puzzle"), 1)[0].to_string();
    for text in [solution.as_str(), PUZZLE] {
        let reading = decide(&[sure(&classes(text))], &two_prints, &thresholds());
        assert_eq!((reading.verdict, reading.solved, givens(&reading).as_str()), (Verdict::Doubtful, false, text));
        assert!(reading.confidence <= 0.5 && reading.flags[0].reason == Reason::PrintOrHandwriting, "{:?}", reading.flags);
    }
}

#[test]
fn what_is_struck_out_hides_nothing_and_what_may_be_covered_does() {
    let empty = classes(PUZZLE).iter().position(|&class| class == 0).expect("an empty cell");
    let mut line = classes(PUZZLE);
    line[empty] = OTHER;
    let read = |probability: f64| {
        let mut struck = [0.0; 81];
        struck[empty] = probability;
        decide(&[sure(&line)], &Picture { struck, ..Picture::default() }, &thresholds())
    };
    let struck = read(0.9999);
    assert_eq!((struck.verdict, struck.cells[empty].read, givens(&struck).as_str()), (Verdict::Proven, Mark::Other, PUZZLE));
    // Whether anything is struck out there must be plain, too.
    let mut unsure = sure(&line);
    split(&mut unsure, empty, 0, 0.4);
    let mut struck = [0.0; 81];
    struck[empty] = 0.9999;
    assert_eq!(decide(&[unsure], &Picture { struck, ..Picture::default() }, &thresholds()).verdict, Verdict::Doubtful);
    for probability in [0.0, 0.5, 0.9] {
        let covered = read(probability);
        assert_eq!(
            (covered.verdict, covered.flags.len(), covered.flags[0].reason),
            (Verdict::Doubtful, 1, Reason::Covered),
            "{probability}"
        );
    }
}
