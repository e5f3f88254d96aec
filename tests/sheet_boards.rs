//! `gridlift sheet --boards`: a board for each step, frames for video and cues, held against the walk and general parsers.

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};

use gridlift::grid::{Board, CellSet};
use gridlift::sheet::{
    Boards, Heading, Item, Layout, Marks, Moment, Order, Page, Paper, Part, PerPage, Print, Role, board_frames, board_pages, marks,
    walk_moments,
};
use gridlift::walk::{Options, Walk, Words, walk};
use tempfile::TempDir;
use vtt::WebVtt;

fn puzzles(count: usize) -> Vec<Board> {
    include_str!("data/walk_puzzles.txt").lines().take(count).map(|line| line[..81].parse().expect("a puzzle")).collect()
}

/// A folder with `one.txt`, a puzzle, and `take.txt`, its walk as a recording with a line each `pace` seconds.
fn folder(pace: usize) -> (TempDir, usize) {
    let folder = TempDir::new().expect("a temporary folder");
    let puzzle = puzzles(1)[0];
    let puts: Vec<_> = walk(&puzzle, &Options::default()).steps.into_iter().filter_map(|step| step.puts).collect();
    let line = |(at, put): (usize, &gridlift::walk::Put)| {
        let seconds = pace * (at + 1);
        format!("{}:{:02} {} = {}\n", seconds / 60, seconds % 60, put.cell, put.digit)
    };
    fs::write(folder.path().join("one.txt"), format!("{puzzle}\n")).expect("room for a file");
    fs::write(folder.path().join("take.txt"), puts.iter().enumerate().map(line).collect::<String>()).expect("room for a file");
    (folder, puts.len())
}

fn sheet(folder: &Path, arguments: &[&str]) -> (i32, String) {
    let mut call = Command::new(env!("CARGO_BIN_EXE_gridlift"));
    let output = call.arg("sheet").args(arguments).current_dir(folder).stdin(Stdio::null()).output().expect("the program runs");
    (output.status.code().expect("an exit code"), String::from_utf8(output.stderr).expect("UTF-8"))
}

#[test]
fn boards_show_what_the_steps_say() {
    let mut kinds = std::collections::BTreeSet::new();
    for puzzle in puzzles(20) {
        let walk = walk(&puzzle, &Options::default());
        let moments = walk_moments(&walk, &Words::default());
        assert_eq!(moments.len(), walk.steps.len() + 1);
        let mut board = puzzle;
        for (moment, step) in moments[1..].iter().zip(&walk.steps) {
            let marks = marks(moment);
            kinds.insert(step.deduction.name());
            assert_eq!((moment.board, marks.written, &marks.struck), (board, step.puts, &step.strikes), "{puzzle} {}", step.n);
            assert_eq!(moment.carried.len(), step.carried, "{puzzle} {}", step.n);
            assert!(marks.looked_at == step.because_cells && marks.looked_at.is_subset(board.filled()), "{puzzle} {}", step.n);
            let small: CellSet = marks.found.iter().chain(&marks.carried).chain(&marks.ruled_out).map(|(cell, _)| *cell).collect();
            assert!(!small.meets(board.filled()), "{puzzle} {}: small digits stand in open cells only", step.n);
            for (from, to, closed) in &marks.sights {
                assert!(from.row() == to.row() || from.column() == to.column(), "{from} {to}");
                // A line of sight never ends on, or closes, a cell of the step.
                assert!(!closed.meets(step.cells) && !closed.meets(board.filled()) && closed.contains(*to), "{puzzle} {}", step.n);
            }
            if let Some(put) = step.puts {
                board.set(put.cell, Some(put.digit));
            }
        }
    }
    assert!(kinds.len() >= 8, "{kinds:?}");
}

/// What the figures of some pages say of themselves.
fn told(pages: &[Page]) -> Vec<&str> {
    let parts = pages.iter().flat_map(|page| &page.parts);
    parts.filter_map(|part| if let Role::Figure(told) = &part.role { Some(told.as_str()) } else { None }).collect()
}

/// The boards of a puzzle's walk.
fn boards_of(puzzle: &Board) -> (Walk, Vec<Boards>) {
    let walk = walk(puzzle, &Options::default());
    let moments = walk_moments(&walk, &Words::default());
    (walk, vec![Boards { label: Some("42".into()), credit: None, moments }])
}

#[test]
fn every_board_is_told_in_words_and_fits_every_layout() {
    let (walk, boards) = boards_of(&puzzles(1)[0]);
    for per_page in PerPage::ALL {
        let layout = Layout { per_page, ..Layout::default() };
        let pages = board_pages(&boards, &Heading::default(), &layout).expect("room");
        let told: Vec<&str> = told(&pages).into_iter().filter(|told| told.starts_with("Board")).collect();
        assert_eq!(told.len(), walk.steps.len() + 1);
        for (told, step) in told[1..].iter().zip(&walk.steps) {
            let put = step.puts.map_or_else(|| "Struck: ".into(), |put| format!("Written: {} in {}.", put.digit, put.cell));
            assert!(told.contains(&put) && told.contains("Row 9:"), "{told}");
        }
    }
    let large = Layout { print: Print::Large, ..Layout::default() };
    let pages = board_pages(&boards, &Heading::default(), &large).expect("room");
    for item in pages.iter().flat_map(|page| &page.parts).flat_map(|part| &part.items) {
        if let Item::Text { size, text, .. } = item {
            // Digits that share a cell, and the key's examples, are as large as they fit.
            assert!(*size >= 17.99 || text.len() == 1, "{text:?} is {size} points");
        }
    }
}

/// The texts of a part, and the rectangle around them: left, top, right, low.
fn texts(part: &Part) -> (Vec<&str>, [f32; 4]) {
    let (mut said, mut around) = (Vec::new(), [f32::INFINITY, f32::INFINITY, 0.0_f32, 0.0_f32]);
    for item in &part.items {
        let Item::Text { at, size, face, text, .. } = item else { continue };
        let ((left, base), width) = (part.placing.point(at.0, at.1), face.width(text, *size));
        around = [around[0].min(left), around[1].min(base - 0.75 * size), around[2].max(left + width), around[3].max(base + 0.2 * size)];
        said.push(text.as_str());
    }
    (said, around)
}

#[test]
fn sentences_are_whole_and_nothing_lies_on_them() {
    // The longest sentences of all walks.
    let mut all: Vec<(usize, Board)> = puzzles(usize::MAX)
        .into_iter()
        .map(|puzzle| (boards_of(&puzzle).1[0].moments.iter().map(|moment| moment.sentence.len()).max().unwrap_or(0), puzzle))
        .collect();
    all.sort_unstable_by_key(|(length, puzzle)| (std::cmp::Reverse(*length), puzzle.to_string()));
    println!("the longest sentences have {:?} characters", all.iter().take(5).map(|(length, _)| *length).collect::<Vec<_>>());
    let mut refused = Vec::new();
    for (length, puzzle) in all.iter().take(4).chain(all.last()) {
        let (_, boards) = boards_of(puzzle);
        let whole: Vec<&str> = boards[0].moments.iter().flat_map(|moment| moment.sentence.split_whitespace()).collect();
        let layouts = PerPage::ALL.map(|per_page| Layout { per_page, ..Layout::default() });
        let large = Layout { print: Print::Large, ..Layout::default() };
        let booklet = Layout { paper: Paper::Letter, order: Order::Booklet, ..Layout::default() };
        for layout in layouts.into_iter().chain([large, booklet]) {
            let pages = match board_pages(&boards, &Heading::default(), &layout) {
                Ok(pages) => pages,
                Err(error) => {
                    refused.push(format!("{length} characters, {layout:?}: {error}"));
                    continue;
                }
            };
            check(&pages, &whole, layout.order == Order::Flat, &format!("{puzzle} {layout:?}"));
        }
        check(&board_frames(&boards[0].moments).expect("room"), &whole, true, &puzzle.to_string());
    }
    // Far longer ones, as words of one's own can make them.
    let (_, mut boards) = boards_of(&all[0].1);
    boards[0].moments[5].sentence = "A sentence that goes on and on, ".repeat(45);
    let whole: Vec<&str> = boards[0].moments.iter().flat_map(|moment| moment.sentence.split_whitespace()).collect();
    for layout in
        [Layout::default(), Layout { print: Print::Large, ..Layout::default() }, Layout { per_page: PerPage::Two, ..Layout::default() }]
    {
        let pages = board_pages(&boards, &Heading::default(), &layout).expect("room");
        check(&pages, &whole, true, &format!("far longer, {layout:?}"));
    }
    check(&board_frames(&boards[0].moments).expect("room"), &whole, true, "far longer");
    boards[0].moments[5].sentence = "Much too long. ".repeat(900);
    let error = board_frames(&boards[0].moments).expect_err("no room").to_string();
    assert!(error.contains("longest sentence"), "{error}");
    let error = board_pages(&boards, &Heading::default(), &Layout { per_page: PerPage::Six, ..Layout::default() }).expect_err("no room");
    assert!(error.to_string().contains("take fewer to a page"), "{error}");
    // Only many to a page may leave too little room.
    assert!(refused.iter().all(|refused| refused.contains("per_page: Six") || refused.contains("per_page: Four")), "{refused:#?}");
    assert!(refused.len() <= 4, "{refused:#?}");
}

fn check(pages: &[Page], whole: &[&str], in_order: bool, name: &str) {
    let mut said: Vec<&str> = Vec::new();
    for page in pages {
        let parts: Vec<_> = page.parts.iter().filter(|part| part.role != Role::Ornament).map(|part| (part, texts(part))).collect();
        for (at, (part, (lines, [left, top, right, low]))) in parts.iter().enumerate() {
            if part.role == Role::Paragraph {
                said.extend(lines.iter().flat_map(|line| line.split_whitespace()));
            }
            assert!(
                *left > 10.0 && *top > 10.0 && *right < page.width - 10.0 && *low < page.height - 10.0,
                "{name}: {lines:?} leaves the page"
            );
            for (_, (others, other)) in &parts[at + 1..] {
                let apart = *right <= other[0] || other[2] <= *left || *low <= other[1] || other[3] <= *top;
                assert!(apart, "{name}, {}: {lines:?} lies on {others:?}", page.title);
            }
        }
    }
    let mut whole = whole.to_vec();
    if !in_order {
        said.sort_unstable();
        whole.sort_unstable();
    }
    assert_eq!(said, whole, "{name}");
}

#[test]
fn the_key_explains_every_mark_of_the_file_and_no_other() {
    let mut explained = std::collections::BTreeSet::new();
    for puzzle in puzzles(usize::MAX) {
        let (_, boards) = boards_of(&puzzle);
        let all: Vec<_> = boards[0].moments.iter().map(|moment| (moment, marks(moment))).collect();
        let any = |found: &dyn Fn(&Moment, &Marks) -> bool| all.iter().any(|(moment, marks)| found(moment, marks));
        let wrong = |marks: &Marks| marks.assumed.is_some_and(|put| marks.struck.iter().any(|struck| struck.cell == put.cell));
        let expected = [
            ("bold digit: printed", true),
            ("light digit: filled in", any(&|moment, _| moment.board.filled() != moment.givens.filled())),
            ("long dashes around a house: look along", any(&|_, marks| !marks.houses.is_empty())),
            ("corner ticks: look at", any(&|_, marks| !marks.looked_at.is_empty())),
            ("line with dots: closes these cells", any(&|_, marks| !marks.sights.is_empty())),
            ("dotted capsule: in mind", any(&|_, marks| !marks.carried.is_empty())),
            ("dotted bar that falls: ruled out before", any(&|_, marks| !marks.ruled_out.is_empty())),
            ("outline through four cells: two ways to fill", any(&|_, marks| marks.rectangle.is_some())),
            ("unbroken capsule: found", any(&|_, marks| !marks.found.is_empty())),
            ("diamond: assumed", any(&|_, marks| marks.assumed.is_some() && !wrong(marks))),
            ("square: follows", any(&|_, marks| !marks.follows.is_empty())),
            ("cross: breaks down", any(&|_, marks| !marks.broken.is_empty())),
            ("diamond with a bar: assumed, so ruled out", any(&|_, marks| wrong(marks))),
            ("ring: written", any(&|_, marks| marks.written.is_some())),
            ("bar that rises: struck", any(&|_, marks| !marks.struck.is_empty() && !wrong(marks))),
        ];
        let entries: Vec<&str> = expected.iter().filter(|(_, shown)| *shown).map(|(entry, _)| *entry).collect();
        explained.extend(entries.iter().copied());
        let pages = board_pages(&boards, &Heading::default(), &Layout::default()).expect("room");
        let key = format!("Key to the marks. {}.", entries.join("; "));
        assert_eq!(told(&pages).iter().filter(|told| **told == key).count(), pages.len(), "{puzzle}: {key}");
        // The same in sight: each entry is written out beside its example.
        let parts = pages[0].parts.iter().find(|part| part.role == Role::Figure(key.clone())).expect("the key");
        let words = entries.iter().filter_map(|entry| Some(entry.split_once(": ")?.1));
        assert!(words.into_iter().all(|word| texts(parts).0.contains(&word)), "{puzzle}");
    }
    println!("marks met: {explained:#?}");
    assert!(explained.len() >= 13, "{explained:#?}");
}

#[test]
fn frames_keep_one_geometry_and_let_the_camera_be_seen() {
    for puzzle in puzzles(5) {
        let mut places = std::collections::BTreeSet::new();
        for frame in board_frames(&boards_of(&puzzle).1[0].moments).expect("room") {
            assert_eq!((frame.width, frame.height), (960.0, 540.0));
            let figure = frame.parts.iter().find(|part| matches!(part.role, Role::Figure(_))).expect("a board");
            let heading = frame.parts.iter().find(|part| part.role == Role::Heading).expect("a heading");
            places.insert(format!("{:?} {:?}", figure.placing, &texts(heading).1[..2]));
        }
        assert_eq!(places.len(), 1, "{places:?}");
    }

    let (folder, puts) = folder(10);
    for (size, width, height) in [("1920x1080", 1920, 1080), ("3840x2160", 3840, 2160)] {
        let (exit, talk) = sheet(folder.path(), &["one.txt", "-o", "frame.png", "--boards", "--frame", size, "--steps", "0-2"]);
        assert_eq!((exit, talk.as_str()), (0, "frame.png: 3 frames\n"), "{puts}");
        let bytes = fs::read(folder.path().join("frame-002.png")).expect("a file a step");
        let picture = image::load_from_memory(&bytes).expect("a PNG file").into_rgba8();
        assert_eq!(picture.dimensions(), (width, height));
        let alpha = |x: u32, y: u32| picture.get_pixel(x, y).0[3];
        assert_eq!((alpha(0, 0), alpha(width - 40, height / 3), alpha(width / 4, height / 3)), (0, 0, 255));
    }
}

#[test]
fn a_cue_file_says_which_board_is_on() {
    let (folder, puts) = folder(7);
    let (exit, talk) = sheet(folder.path(), &["one.txt", "-o", "take.vtt", "--boards", "--rehearsal", "take.txt"]);
    assert_eq!(exit, 0, "{talk}");
    let (exit, talk) = sheet(folder.path(), &["one.txt", "-o", "take.png", "--boards", "--rehearsal", "take.txt", "--frame", "1920x1080"]);
    assert_eq!(exit, 0, "{talk}");
    let text = fs::read_to_string(folder.path().join("take.vtt")).expect("a file");
    let cues = text.parse::<WebVtt>().expect("WebVTT").cues;
    // The parser gives its times back as text only: hh:mm:ss.mmm.
    let ms = |time: &vtt::VttTimestamp| {
        let text = time.to_string();
        let parts: Vec<u128> = text.split([':', '.']).map(|part| part.parse().expect("a number")).collect();
        assert_eq!(parts.len(), 4, "{text}");
        ((parts[0] * 60 + parts[1]) * 60 + parts[2]) * 1000 + parts[3]
    };
    let times: Vec<(u128, u128)> = cues.iter().map(|cue| (ms(&cue.start), ms(&cue.end))).collect();
    assert_eq!(times[0].0, 0);
    assert!(times.iter().all(|(from, to)| from < to) && times.windows(2).all(|pair| pair[0].1 == pair[1].0), "{times:?}");
    assert_eq!(times.last().expect("cues").1, 7000 * puts as u128);
    for cue in &cues {
        let board = folder.path().join(format!("take-{}.png", cue.identifier.as_deref().expect("a number")));
        assert!(board.exists(), "{}", board.display());
    }
    let ends = times.iter().filter(|(_, to)| to % 7000 == 0).count();
    assert_eq!(ends, puts, "a cue ends with each digit");
}

#[test]
fn times_are_shared_and_faults_are_told() {
    let (folder, _) = folder(5);
    let puzzle = puzzles(1)[0];
    let puts: Vec<_> = walk(&puzzle, &Options::default()).steps.into_iter().filter_map(|step| step.puts).take(3).collect();
    let write = |name: &str, times: [&str; 3]| {
        let line = |(time, put): (&str, &gridlift::walk::Put)| format!("{time} {} = {}\n", put.cell, put.digit);
        let text: String = times.into_iter().zip(&puts).map(line).collect();
        fs::write(folder.path().join(name), text).expect("room for a file");
    };
    write("gaps.txt", ["", "0:09", ""]);
    write("back.txt", ["0:09", "0:05", "0:20"]);
    write("none.txt", ["", "", ""]);
    let slip = puts[0].digit.value() % 9 + 1;
    fs::write(folder.path().join("slip.txt"), format!("0:03 {} = {slip}\n0:09 {} = {}\n", puts[0].cell, puts[1].cell, puts[1].digit))
        .expect("room for a file");
    let call = |recording: &str| sheet(folder.path(), &["one.txt", "-o", "cues.vtt", "--boards", "--rehearsal", recording]);
    assert_eq!(call("gaps.txt").0, 0);
    let text = fs::read_to_string(folder.path().join("cues.vtt")).expect("a file");
    // Nothing is to be kept in mind this early: the puzzle and two digits share nine seconds, and one more digit follows.
    assert!(text.contains("00:00:00.000 --> 00:00:03.000") && text.contains("00:00:09.000 --> 00:00:10.000"), "{text}");
    for (recording, exit, message) in [
        ("back.txt", 2, "back in time"),
        ("none.txt", 2, "has no times"),
        ("slip.txt", 1, "so there is no board of it"),
        ("missing.txt", 2, "can't be read"),
    ] {
        let (ended, talk) = call(recording);
        assert!(ended == exit && talk.contains(message), "{recording}: {ended}, {talk}");
    }
    let cases: [(&[&str], &str); 6] = [
        (&["one.txt", "-o", "a.vtt"], "add --boards and --rehearsal"),
        (&["one.txt", "-o", "a.png", "--frame", "1920x1080"], "--boards"),
        (&["one.txt", "-o", "a.pdf", "--boards", "--frame", "1920x1080"], "ends in .png"),
        (&["one.txt", "-o", "a.png", "--boards", "--frame", "640x480"], "1920x1080 or 3840x2160"),
        (&["one.txt", "-o", "a.pdf", "--boards", "--steps", "900"], "there is no step 900"),
        (&["one.txt", "-o", "a.pdf", "--boards", "--notes"], "cannot be used with"),
    ];
    for (arguments, message) in cases {
        let (exit, talk) = sheet(folder.path(), arguments);
        assert!(exit == 2 && talk.contains(message), "{arguments:?}: {exit}, {talk}");
    }
}
