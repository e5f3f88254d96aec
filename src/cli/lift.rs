//! `gridlift lift`: pages to JSON.

use std::io::{self, BufWriter, IsTerminal, Write};
use std::num::NonZeroUsize;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::time::Instant;

use anyhow::Context;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use sha2::{Digest, Sha256};

use super::inputs::{self, Input};
use super::ordered::in_order;
use super::outputs::{self, Folder};
use super::{Exit, json, report, say};
use crate::decode;
use crate::export::page::{self, Detail, MadeBy, Origin, Page};
use crate::lift::Lifter;
use crate::picture;

/// Reads every printed 9x9 grid on photos or scans of pages and proves what it read.
#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Arguments {
    /// Pages: picture files, folders (all their pages, in name order), - for one page on standard input
    #[arg(value_name = "PAGE")]
    pages: Vec<PathBuf>,
    /// Read the paths of further pages from a file, one a line (- for standard input)
    #[arg(long, value_name = "LIST")]
    from: Option<PathBuf>,
    /// Write a JSON file for each page below DIR, in the same tree as the input, instead of to standard output
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Draw what was read over each page, below DIR, in the same tree as the input
    #[arg(long, value_name = "DIR")]
    picture: Option<PathBuf>,
    /// Tell each grid's lattice, and each cell with its evidence
    #[arg(long)]
    cells: bool,
    /// Tell the milliseconds that each stage took
    #[arg(long)]
    timings: bool,
    /// Indent the JSON
    #[arg(long)]
    pretty: bool,
    /// Let mended grids pass without a person
    #[arg(long)]
    accept_mended: bool,
    /// How many grids each page must have; another number needs a person
    #[arg(long, value_name = "N")]
    expect: Option<usize>,
    /// How many pages are read at once [default: one for each processor]
    #[arg(long, value_name = "N")]
    jobs: Option<NonZeroUsize>,
    /// Print the JSON Schema of the output and do nothing else
    #[arg(long, exclusive = true)]
    schema: bool,
}

const EXAMPLES: &str = "\
Examples:
  gridlift lift page.jpg                           one page, JSON on standard output
  gridlift lift book/ --out lifted --picture seen  a whole folder, a JSON file and a picture for each page
  find . -name '*.png' | gridlift lift --from -    the pages that another program names
  gridlift lift - < page.jpg | jq .grids           in a pipe

Exit codes: 0 every grid is proven (or there is none); 1 a person must look at something; 2 the call was wrong;
3 some page could not be opened or decoded (the rest was done).";

/// What the arguments ask for, checked.
struct Plan {
    inputs: Vec<Input>,
    detail: Detail,
    pretty: bool,
    out: Option<Folder>,
    picture: Option<Folder>,
    needs: report::Needs,
    jobs: usize,
}

impl Plan {
    fn new(arguments: Arguments) -> anyhow::Result<Self> {
        let inputs = inputs::gather(&arguments.pages, arguments.from.as_deref())?;
        let folder = |at: Option<PathBuf>, ending| at.map(|at| Folder::new(at, ending, &inputs)).transpose();
        let processors = || std::thread::available_parallelism().map_or(1, NonZeroUsize::get);
        Ok(Self {
            detail: Detail { cells: arguments.cells, timings: arguments.timings },
            pretty: arguments.pretty,
            out: folder(arguments.out, "json")?,
            picture: folder(arguments.picture, "jpg")?,
            needs: report::Needs { accept_mended: arguments.accept_mended, grids: arguments.expect },
            jobs: arguments.jobs.map_or_else(processors, NonZeroUsize::get),
            inputs,
        })
    }
}

/// Runs the command.
///
/// # Errors
/// Where the call is wrong, or the output can't be written. Pages that can't be read are told in their JSON.
pub fn run(arguments: Arguments) -> anyhow::Result<Exit> {
    if arguments.schema {
        io::stdout().lock().write_all(page::SCHEMA.as_bytes())?;
        return Ok(Exit::Done);
    }
    let plan = Plan::new(arguments)?;
    let lifter = Lifter::new().context("the networks in this program don't load: install it again")?;
    let bar = progress_bar(plan.inputs.len());
    let mut stdout = BufWriter::new(io::stdout().lock());
    let mut exit = Exit::Done;
    let lift = |input: &Input| (input.below.clone(), lift_file(input, &lifter, &plan));
    in_order(&plan.inputs, plan.jobs, lift, |(below, pages)| -> anyhow::Result<()> {
        for page in pages? {
            exit = exit.max(plan.needs.exit(&page));
            let talk = report::talk(&page, &plan.needs);
            // Nobody listening to the talk is no reason to stop the work.
            bar.suspend(|| talk.iter().for_each(|line| say(line)));
            let text = json(&page, plan.pretty)?;
            match &plan.out {
                Some(folder) => folder.write(&below, page.page, text.as_bytes())?,
                None => {
                    stdout.write_all(text.as_bytes())?;
                    stdout.flush()?;
                }
            }
        }
        bar.inc(1);
        Ok(())
    })?;
    bar.finish_and_clear();
    Ok(exit)
}

/// All pages of one file. The error is of writing pictures; trouble with the file is told in its page.
fn lift_file(input: &Input, lifter: &Lifter, plan: &Plan) -> anyhow::Result<Vec<Page>> {
    let mut origin = Origin { source: input.source.to_string_lossy().into_owned(), sha256: None, made_by: made_by(lifter) };
    let bytes = match input.read() {
        Ok(bytes) => bytes,
        Err(trouble) => return Ok(vec![Page::from_error(&origin, 1, trouble.kind, &trouble.message)]),
    };
    origin.sha256 = Some(Sha256::digest(&bytes).iter().map(|byte| format!("{byte:02x}")).collect());
    let options = decode::Options { colour: true, ..decode::Options::default() };
    let mut done = Vec::new();
    let mut pages = match decode::open(&bytes, &options) {
        Ok(pages) => (1..).zip(pages),
        Err(error) => return Ok(vec![Page::from_error(&origin, 1, error.kind(), &error.to_string())]),
    };
    loop {
        let start = Instant::now();
        // A page that trips over a fault of this program or of a decoder must not stop the thousands after it.
        let lifted = catch_unwind(AssertUnwindSafe(|| {
            let (number, page) = pages.next()?;
            let decode_ms = start.elapsed().as_secs_f64() * 1e3;
            let read = page.map(|page| (lifter.lift(&page), page));
            Some((number, decode_ms, read))
        }));
        match lifted {
            Ok(None) => return Ok(done),
            Ok(Some((_, decode, Ok((Ok(mut reading), page))))) => {
                reading.times.decode = decode;
                if let Some(folder) = &plan.picture {
                    let picture = outputs::to_jpeg(&picture::draw(&page, &reading))?;
                    folder.write(&input.below, reading.number, &picture)?;
                }
                done.push(Page::from_reading(&origin, &reading, plan.detail));
            }
            Ok(Some((number, _, Ok((Err(error), _))))) => {
                done.push(Page::from_error(
                    &origin,
                    number,
                    "internal",
                    &format!("a network can't be run on this page ({error}): please report it"),
                ));
            }
            Ok(Some((number, _, Err(error)))) => {
                done.push(Page::from_error(&origin, number, error.kind(), &error.to_string()));
            }
            Err(_) => {
                let message = "reading this page broke the program: please report it with the page";
                done.push(Page::from_error(&origin, done.len() as u32 + 1, "internal", message));
                return Ok(done);
            }
        }
    }
}

fn made_by(lifter: &Lifter) -> MadeBy {
    MadeBy {
        gridlift: env!("CARGO_PKG_VERSION").into(),
        weights: lifter.weights().into(),
        thresholds: lifter.thresholds().into(),
        ..MadeBy::default()
    }
}

/// A bar on a terminal where there is more than one page, else one that shows nothing.
fn progress_bar(pages: usize) -> ProgressBar {
    if pages < 2 || !io::stderr().is_terminal() {
        return ProgressBar::with_draw_target(None, ProgressDrawTarget::hidden());
    }
    let style = ProgressStyle::with_template("{bar:30} {pos} of {len} pages, {eta} to go");
    ProgressBar::new(pages as u64).with_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()))
}
