//! `gridlift lift`: pages to JSON.

use std::io::{self, BufWriter, IsTerminal, Write};
use std::num::NonZeroUsize;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::sync::{Arc, OnceLock};
use std::time::Instant;

use anyhow::Context;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use sha2::{Digest, Sha256};

use super::inputs::{self, Input, Trouble};
use super::ordered::in_order;
use super::outgoing::Outgoing;
use super::outputs::{self, Folder};
use super::together::Shots;
use super::{Exit, report, say};
use crate::decode::{self, PageRanges};
use crate::export::page::{self, Detail, MadeBy, Origin, Page};
use crate::lift::{LiftError, Lifter, PageReading};
use crate::picture;

/// Reads every printed 9x9 grid on photos or scans of pages and proves what it read.
#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub struct Arguments {
    /// Pages: files (JPEG, PNG, WebP, BMP, TIFF, PDF), folders (all their pages, in name order), - for a file on standard input
    #[arg(value_name = "PAGE")]
    files: Vec<PathBuf>,
    /// Read the paths of further pages from a file, one a line (- for standard input)
    #[arg(long, value_name = "LIST")]
    from: Option<PathBuf>,
    /// Of PDF and TIFF files, read only these pages: 3, 12-40, 5- (to the end) or a list of these, 1,4-6
    #[arg(long, value_name = "PAGES")]
    pages: Option<PageRanges>,
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
    /// Take the pages for shots of the same grids, and give one reading for each grid, on the page that shows them best
    #[arg(long)]
    together: bool,
    /// How many grids each page must have (with --together: all pages as one); another number needs a person
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
  gridlift lift book.tiff --pages 12-40            some pages of a file that holds many
  gridlift lift - < page.jpg | jq .grids           in a pipe
  gridlift lift --together one.jpg two.jpg         several shots of one page, read as one
  gridlift lift puzzles/ solutions/                puzzles held against the solutions printed under their numbers

Exit codes: 0 every grid is proven (or there is none); 1 a person must look at something; 2 the call was wrong;
3 some page could not be opened or decoded (the rest was done).";

/// What the arguments ask for, checked.
pub(super) struct Plan {
    inputs: Vec<Input>,
    pub(super) detail: Detail,
    pretty: bool,
    out: Option<Folder>,
    pub(super) picture: Option<Folder>,
    pages: Option<PageRanges>,
    together: bool,
    needs: report::Needs,
    jobs: usize,
}

impl Plan {
    fn new(arguments: Arguments) -> anyhow::Result<Self> {
        let inputs = inputs::gather(&arguments.files, arguments.from.as_deref())?;
        let folder = |at: Option<PathBuf>, ending| at.map(|at| Folder::new(at, ending, &inputs)).transpose();
        let processors = || std::thread::available_parallelism().map_or(1, NonZeroUsize::get);
        Ok(Self {
            detail: Detail { cells: arguments.cells, timings: arguments.timings },
            pretty: arguments.pretty,
            out: folder(arguments.out, "json")?,
            picture: folder(arguments.picture, "jpg")?,
            pages: arguments.pages,
            together: arguments.together,
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
    let mut outgoing = Outgoing::new(BufWriter::new(io::stdout().lock()), plan.out.as_ref(), plan.pretty);
    let mut exit = Exit::Done;
    let mut shots = Shots::default();
    // Shots taken together are counted all at once.
    let needs = report::Needs { grids: plan.needs.grids.filter(|_| !plan.together), ..plan.needs };
    let mut let_out = |input: &Input, page: &Page| -> anyhow::Result<()> {
        exit = exit.max(needs.exit(page));
        let talk = report::talk(page, &needs);
        // Nobody listening to the talk is no reason to stop the work.
        bar.suspend(|| talk.iter().for_each(|line| say(line)));
        outgoing.take(&input.below, page)
    };
    let pages = plan.inputs.iter().flat_map(|input| jobs(input, &plan));
    let lift = |job| (lift_page(&job, &lifter, &plan), job);
    in_order(pages, plan.jobs, lift, |(lifted, job)| -> anyhow::Result<()> {
        bar.inc(u64::from(job.last));
        match lifted? {
            lifted if plan.together => shots.take(job, lifted, &plan),
            Lifted::Page(page) => let_out(job.file.input, &page)?,
            Lifted::Shot(..) => {}
        }
        Ok(())
    })?;
    let spreads = shots.together(&lifter, &plan)?;
    spreads.iter().try_for_each(|(input, page)| let_out(input, page))?;
    bar.finish_and_clear();
    let found: usize = spreads.iter().map(|(_, page)| page.grids.len()).sum();
    if let Some(expected) = plan.needs.grids.filter(|&expected| plan.together && expected != found) {
        exit = exit.max(Exit::NeedsPerson);
        say(&format!("in all shots: {}", report::other_number(found, expected)));
    }
    outgoing.finish(|page| {
        exit = exit.max(needs.exit(page));
        report::contradicted(page).iter().for_each(|line| say(line));
    })?;
    Ok(exit)
}

/// What came of one page.
pub(super) enum Lifted {
    /// Its form: of a page of its own, or of one that can't be read.
    Page(Box<Page>),
    /// What was read of a shot that waits for others.
    Shot(Origin, Box<PageReading>),
}

/// One file, open; its pages share it.
pub(super) struct File<'plan> {
    pub(super) input: &'plan Input,
    /// `None` where it can't be read.
    bytes: Option<Arc<Vec<u8>>>,
    sha256: OnceLock<String>,
    pub(super) pages: Result<decode::Pages, Trouble>,
}

/// One page of a file.
pub(super) struct Job<'plan> {
    pub(super) file: Arc<File<'plan>>,
    number: u32,
    /// Whether it is the last of its file.
    last: bool,
}

/// The pages of a file that are wanted; where it can't be read there is one, which tells so.
pub(super) fn jobs<'plan>(input: &'plan Input, plan: &'plan Plan) -> Vec<Job<'plan>> {
    let options = decode::Options { colour: true, ..decode::Options::default() };
    let (bytes, pages) = match input.read() {
        Ok(bytes) => {
            let bytes = Arc::new(bytes);
            let pages = decode::Pages::new(Arc::clone(&bytes), &options);
            let pages = match &plan.pages {
                Some(ranges) => pages.and_then(|pages| pages.only(ranges)),
                None => pages,
            };
            (Some(bytes), pages.map_err(|error| Trouble { kind: error.kind(), message: error.to_string() }))
        }
        Err(trouble) => (None, Err(trouble)),
    };
    let numbers = pages.as_ref().map_or(vec![1], |pages| pages.numbers().to_vec());
    let file = Arc::new(File { input, bytes, sha256: OnceLock::new(), pages });
    let last = numbers.last().copied();
    numbers.into_iter().map(|number| Job { file: Arc::clone(&file), number, last: Some(number) == last }).collect()
}

/// What comes of one page. The error is of writing pictures; trouble with the page is told in its form.
fn lift_page(job: &Job, lifter: &Lifter, plan: &Plan) -> anyhow::Result<Lifted> {
    let Job { file, number, .. } = job;
    let hash = |bytes: &[u8]| Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect();
    let origin = Origin {
        source: file.input.source.to_string_lossy().into_owned(),
        sha256: file.bytes.as_ref().map(|bytes| file.sha256.get_or_init(|| hash(bytes)).clone()),
        made_by: made_by(lifter),
    };
    let form = |page: Page| Ok(Lifted::Page(Box::new(page)));
    let fail = |kind: &str, message: &str| form(Page::from_error(&origin, *number, kind, message));
    let pages = match &file.pages {
        Ok(pages) => pages,
        Err(trouble) => return fail(trouble.kind, &trouble.message),
    };
    // A page that trips over a fault of this program or of a decoder must not stop the thousands after it.
    let lifted = catch_unwind(AssertUnwindSafe(|| match plan.picture {
        None => Ok((lifter.lift_page(pages, *number)?, None)),
        // A picture is drawn over the whole page.
        Some(_) => {
            let start = Instant::now();
            let page = pages.page(*number)?;
            let decode = start.elapsed().as_secs_f64() * 1e3;
            let mut reading = lifter.lift(&page)?;
            reading.times.decode = decode;
            Ok((reading, Some(page)))
        }
    }));
    match lifted {
        Ok(Ok((reading, _))) if plan.together => Ok(Lifted::Shot(origin, Box::new(reading))),
        Ok(Ok((reading, page))) => {
            if let (Some(folder), Some(page)) = (&plan.picture, page) {
                let picture = outputs::to_jpeg(&picture::draw(&page, &reading))?;
                folder.write(&file.input.below, reading.number, &picture)?;
            }
            form(Page::from_reading(&origin, &reading, plan.detail))
        }
        Ok(Err(LiftError::Decode(error))) => fail(error.kind(), &error.to_string()),
        Ok(Err(error)) => fail("internal", &format!("a network can't be run on this page ({error}): please report it")),
        Err(_) => fail("internal", "reading this page broke the program: please report it with the page"),
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

/// A bar on a terminal where there is more than one file, else one that shows nothing.
fn progress_bar(files: usize) -> ProgressBar {
    if files < 2 || !io::stderr().is_terminal() {
        return ProgressBar::with_draw_target(None, ProgressDrawTarget::hidden());
    }
    let style = ProgressStyle::with_template("{bar:30} {pos} of {len} files, {eta} to go");
    ProgressBar::new(files as u64).with_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()))
}
