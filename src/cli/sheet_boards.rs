//! The boards of `gridlift sheet --boards`: one for each step of a walk, or of a rehearsal in its own order.

use std::path::PathBuf;

use anyhow::bail;

use super::rehearse::read_recording;
use super::sheet::{Format, Out, Pixels};
use super::walk::read_words;
use super::{Exit, say};
use crate::sheet::{self, Boards, Ground, Heading, Layout, Moment, Page, Puzzle};
use crate::walk::{Options, Placement, Ruling, Uniqueness, Words, rehearse, walk};

/// How boards are drawn.
#[derive(Debug, clap::Args)]
pub struct BoardArguments {
    /// A board for each step of the easiest walk, with what is looked at, kept in mind, written and struck, and a sentence below
    #[arg(long)]
    boards: bool,
    /// Only these steps: 12, or 12-15
    #[arg(long, value_name = "FROM-TO", requires = "boards", value_parser = steps)]
    steps: Option<(usize, usize)>,
    /// Boards in the order of a recording instead, as `gridlift rehearse` takes it: one placement a line, `2:05 r7c1 = 3`
    #[arg(long, value_name = "FILE", requires = "boards")]
    rehearsal: Option<PathBuf>,
    /// Frames for video, PNG with nothing behind the board, one file a step: 1920x1080 or 3840x2160 pixels
    #[arg(long, value_name = "SIZE", requires = "boards", value_parser = frame, conflicts_with_all = ["per_page", "paper", "large_print", "booklet", "title", "source", "link"])]
    frame: Option<f32>,
    /// Use nothing that needs the puzzle to have exactly one solution
    #[arg(long, requires = "boards")]
    no_unique: bool,
    /// Speak in the words of this TOML file, as `gridlift walk` takes it
    #[arg(long, value_name = "FILE", requires = "boards")]
    words: Option<PathBuf>,
}

/// The boards asked for, checked.
pub struct BoardPlan {
    steps: Option<(usize, usize)>,
    placements: Option<Vec<Placement>>,
    /// Pixels to the point of frames for video.
    frame: Option<f32>,
    options: Options,
    words: Words,
}

impl BoardArguments {
    /// What is asked for; `None` where it is puzzles, not boards.
    ///
    /// # Errors
    /// Where the call was wrong, or words or recording can't be read.
    pub(super) fn plan(&self, format: Format) -> anyhow::Result<Option<BoardPlan>> {
        if format == Format::Vtt && self.rehearsal.is_none() {
            bail!("a cue file tells which board is on at which second: add --boards and --rehearsal FILE");
        }
        if self.frame.is_some() && format != Format::Png {
            bail!("frames for video are PNG files: name one that ends in .png");
        }
        if !self.boards {
            return Ok(None);
        }
        let uniqueness = if self.no_unique { Uniqueness::Unused } else { Uniqueness::Used };
        Ok(Some(BoardPlan {
            steps: self.steps,
            placements: self.rehearsal.as_deref().map(read_recording).transpose()?,
            frame: self.frame,
            options: Options { uniqueness, ..Options::default() },
            words: read_words(self.words.as_deref())?,
        }))
    }
}

impl BoardPlan {
    /// Draws and writes the boards.
    ///
    /// # Errors
    /// Where more puzzles are given than the boards can be of, there is no such step, or a file can't be written.
    pub(super) fn run(&self, puzzles: &[Puzzle], heading: &Heading, layout: &Layout, out: &Out) -> anyhow::Result<Exit> {
        if (self.frame.is_some() || self.placements.is_some()) && puzzles.len() > 1 {
            bail!("frames and rehearsals are of one puzzle, and there are {}: pick one with --grid", puzzles.len());
        }
        let mut exit = Exit::Done;
        let mut all = Vec::with_capacity(puzzles.len());
        for puzzle in puzzles {
            let (moments, ended) = self.moments(puzzle);
            exit = exit.max(ended);
            let label = (puzzles.len() > 1).then(|| puzzle.label.clone());
            all.push(Boards { label, credit: puzzle.credit.clone(), moments });
        }
        if out.format == Format::Vtt {
            let cues = sheet::cues(&all[0].moments)?;
            out.write(&out.path, sheet::webvtt(&cues).as_bytes())?;
            say(&format!("{}: {} cues", out.path.display(), cues.len()));
            return Ok(exit);
        }
        let first = if self.frame.is_some() { 0 } else { 1 };
        let (from, to) = self.steps.unwrap_or((first, usize::MAX));
        let wanted = |moment: &Moment| (from..=to).contains(&moment.number);
        for boards in &all {
            if self.steps.is_some() && !boards.moments.iter().any(wanted) {
                bail!("there is no step {from}: the last one is {}", boards.moments.len() - 1);
            }
        }
        let count = all.iter().flat_map(|boards| &boards.moments).filter(|moment| wanted(moment)).count();
        if count == 0 {
            say(&format!("{}: not written, there is no step to draw", out.path.display()));
            return Ok(exit);
        }
        if let Some(scale) = self.frame {
            // Drawn for all steps, so that those made in a later call have the same geometry.
            let moments = &all[0].moments;
            let frames = sheet::board_frames(moments)?.into_iter().zip(moments).filter(|(_, moment)| wanted(moment));
            let (frames, numbers): (Vec<Page>, Vec<usize>) = frames.map(|(frame, moment)| (frame, moment.number)).unzip();
            out.write_pages(&frames, Pixels { scale, ground: Ground::Clear, first: numbers.first().copied() })?;
            say(&format!("{}: {count} frames", out.path.display()));
        } else {
            all.iter_mut().for_each(|boards| boards.moments.retain(wanted));
            let pages = sheet::board_pages(&all, heading, layout)?;
            out.write_pages(&pages, Pixels::PAPER)?;
            out.talk(count, "board", &pages);
        }
        Ok(exit)
    }

    fn moments(&self, puzzle: &Puzzle) -> (Vec<Moment>, Exit) {
        let Some(placements) = &self.placements else {
            let walk = walk(&puzzle.givens, &self.options);
            if !walk.complete {
                say(&format!("{}: the walk ends early, after {} steps", puzzle.label, walk.steps.len()));
            }
            let exit = if walk.complete { Exit::Done } else { Exit::NeedsPerson };
            return (sheet::walk_moments(&walk, &self.words), exit);
        };
        let (judged, _) = rehearse(&puzzle.givens, &puzzle.solution, placements, &self.options);
        let mut exit = Exit::Done;
        for slip in judged.iter().filter(|judged| judged.ruling == Ruling::Slip) {
            let (line, put) = (slip.placement.line, slip.placement.put);
            say(&format!("line {line}: {} is not {}, so there is no board of it (`gridlift rehearse` says why)", put.cell, put.digit));
            exit = Exit::NeedsPerson;
        }
        (sheet::rehearsal_moments(&puzzle.givens, &judged, &self.words), exit)
    }
}

/// `12` or `12-15`.
fn steps(text: &str) -> Result<(usize, usize), String> {
    let (from, to) = text.split_once('-').unwrap_or((text, text));
    match (from.trim().parse(), to.trim().parse()) {
        (Ok(from), Ok(to)) if from <= to => Ok((from, to)),
        _ => Err("name steps like 12 or 12-15".into()),
    }
}

/// Pixels to the point for frames of 960 x 540 points.
fn frame(text: &str) -> Result<f32, String> {
    match text {
        "1920x1080" => Ok(2.0),
        "3840x2160" => Ok(4.0),
        _ => Err("frames are 1920x1080 or 3840x2160 pixels".into()),
    }
}
