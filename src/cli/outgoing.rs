//! The pages that `lift` has read, on their way out: a solution printed on a later page may still speak against a puzzle.
//!
//! On standard output everything from the first such puzzle on waits, in memory while it is little and else in a file
//! without a name; with a folder each page is written at once, and those that change are written again.

use std::collections::HashMap;
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::PathBuf;

use anyhow::Context;
use tempfile::SpooledTempFile;

use super::json;
use super::outputs::Folder;
use crate::decide::{Reason, Verdict};
use crate::export::page::{Flag, Grid, Page};
use crate::lift::{Comparison, Partners, Printed};

/// As many bytes of waiting pages are kept in memory.
const MEMORY: usize = 4 << 20;

/// Where pages go, and those that may still change.
pub struct Outgoing<'plan, Out: Write> {
    out: Out,
    folder: Option<&'plan Folder>,
    pretty: bool,
    partners: Partners,
    taken: usize,
    waiting: Option<Waiting>,
    /// Where pages in the folder lie that may still change: below which path, and their number in the file.
    written: HashMap<usize, (PathBuf, u32)>,
}

/// Pages' texts one behind the other.
struct Waiting {
    texts: SpooledTempFile,
    /// The first of them, counted over all pages, and how long each is.
    first: usize,
    lengths: Vec<usize>,
}

impl<'plan, Out: Write> Outgoing<'plan, Out> {
    /// Nothing taken yet. Pages go to `folder`, else to `out`.
    pub fn new(out: Out, folder: Option<&'plan Folder>, pretty: bool) -> Self {
        Self { out, folder, pretty, partners: Partners::default(), taken: 0, waiting: None, written: HashMap::new() }
    }

    /// Takes the next page, of the input that lies at `below`.
    pub fn take(&mut self, below: &std::path::Path, page: &Page) -> anyhow::Result<()> {
        let number = self.taken;
        self.taken += 1;
        let open = self.partners.add(number, page.grids.iter().map(printed));
        let text = json(page, self.pretty)?;
        if let Some(folder) = self.folder {
            if open {
                self.written.insert(number, (below.to_owned(), page.page));
            }
            return folder.write(below, page.page, text.as_bytes());
        }
        if self.waiting.is_none() && !open {
            self.out.write_all(text.as_bytes())?;
            return Ok(self.out.flush()?);
        }
        let fresh = || Waiting { texts: SpooledTempFile::new(MEMORY), first: number, lengths: Vec::new() };
        let waiting = self.waiting.get_or_insert_with(fresh);
        waiting
            .texts
            .write_all(text.as_bytes())
            .context("the pages that wait for their solutions can't be kept in the folder for temporary files")?;
        waiting.lengths.push(text.len());
        Ok(())
    }

    /// Lets every page out. Those that a printed solution speaks against are given to `changed` first.
    pub fn finish(mut self, mut changed: impl FnMut(&Page)) -> anyhow::Result<()> {
        let mut told: HashMap<usize, Vec<Comparison>> = HashMap::new();
        for comparison in self.partners.compare() {
            told.entry(comparison.page).or_default().push(comparison);
        }
        let mut settle = |text: &str, comparisons: &[Comparison]| -> anyhow::Result<String> {
            let mut page: Page = serde_json::from_str(text).context("a page that waited for its solutions was spoiled")?;
            comparisons.iter().for_each(|comparison| settle(&mut page, comparison));
            if comparisons.iter().any(|comparison| !comparison.differences.is_empty()) {
                changed(&page);
            }
            Ok(json(&page, self.pretty)?)
        };
        if let Some(folder) = self.folder {
            let mut pages: Vec<_> = told.iter().collect();
            pages.sort_by_key(|(number, _)| **number);
            for (number, comparisons) in pages {
                let Some((below, page)) = self.written.get(number) else { continue };
                let text = folder.read(below, *page)?;
                folder.write(below, *page, settle(&text, comparisons)?.as_bytes())?;
            }
        }
        if let Some(mut waiting) = self.waiting {
            waiting.texts.seek(SeekFrom::Start(0))?;
            for (number, length) in (waiting.first..).zip(waiting.lengths) {
                let mut text = vec![0; length];
                waiting.texts.read_exact(&mut text)?;
                match told.get(&number) {
                    Some(comparisons) => self.out.write_all(settle(&String::from_utf8(text)?, comparisons)?.as_bytes())?,
                    None => self.out.write_all(&text)?,
                }
            }
        }
        Ok(self.out.flush()?)
    }
}

fn printed(grid: &Grid) -> Printed<'_> {
    Printed {
        label: grid.label.as_deref(),
        givens: grid.givens.as_deref(),
        solution: grid.solution.as_deref().filter(|_| grid.solutions == Some(1)),
        solved: grid.solved,
        sure: matches!(grid.verdict, Verdict::Proven | Verdict::Misprinted),
    }
}

/// Writes into a page what a printed solution says. A puzzle that it speaks against is doubtful until someone looks.
fn settle(page: &mut Page, comparison: &Comparison) {
    let Some(grid) = page.grids.get_mut(comparison.grid) else { return };
    grid.printed_solution_agrees = Some(comparison.differences.is_empty());
    if comparison.differences.is_empty() {
        return;
    }
    if matches!(grid.verdict, Verdict::Proven | Verdict::Mended) {
        grid.verdict = Verdict::Doubtful;
    }
    // A cell was read at least as surely as the whole grid.
    let odds = (grid.confidence / (1.0 - grid.confidence).max(1e-9)).round();
    let flags = comparison.differences.iter().map(|(cell, given, printed)| Flag {
        cell: cell.to_string(),
        reason: Reason::PrintedSolution.to_string(),
        read: given.map_or_else(|| ".".into(), |digit| digit.to_string()),
        suggest: if given.is_some() { printed.to_string() } else { ".".into() },
        odds,
        unknown: Default::default(),
    });
    grid.flags.splice(0..0, flags.collect::<Vec<_>>());
}
