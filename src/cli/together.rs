//! `gridlift lift --together`: the pages of one call as shots of the same grids. What was read of each waits for the others; their pictures don't.

use std::sync::Arc;

use anyhow::{Context, anyhow};

use super::inputs::Input;
use super::lift::{File, Job, Lifted, Plan, jobs};
use super::outputs;
use crate::export::page::Page;
use crate::lift::{Lifter, PageReading};
use crate::picture;

/// All that was read so far, in the order of the input.
#[derive(Default)]
pub struct Shots<'plan>(Vec<Held<'plan>>);

struct Held<'plan> {
    input: &'plan Input,
    lifted: Lifted,
    /// The file, where it can't be opened again.
    file: Option<Arc<File<'plan>>>,
}

impl<'plan> Shots<'plan> {
    /// Takes what was read of the next page.
    pub fn take(&mut self, job: Job<'plan>, lifted: Lifted, plan: &Plan) {
        let input = job.file.input;
        let file = (plan.picture.is_some() && input.is_standard()).then_some(job.file);
        self.0.push(Held { input, lifted, file });
    }

    /// The forms to let out, in the order of the input: of pages that speak for the grids of all, of those without a grid and of those that
    /// can't be read. Draws the first kind, where pictures are asked for.
    ///
    /// # Errors
    /// Where a picture can't be drawn or written.
    pub fn together(self, lifter: &Lifter, plan: &'plan Plan) -> anyhow::Result<Vec<(&'plan Input, Page)>> {
        let (mut origins, mut pages, mut held, mut forms) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        for (order, Held { input, lifted, file }) in self.0.into_iter().enumerate() {
            match lifted {
                Lifted::Page(page) => forms.push((order, input, *page)),
                Lifted::Shot(origin, reading) if reading.grids.is_empty() => {
                    forms.push((order, input, Page::from_reading(&origin, &reading, plan.detail)));
                }
                Lifted::Shot(origin, reading) => {
                    origins.push(origin);
                    pages.push(*reading);
                    held.push((order, input, file));
                }
            }
        }
        for spread in lifter.together(&pages) {
            let (Some(page), Some((order, input, file))) =
                (Page::from_spread(&origins, &pages, &spread, plan.detail), held.get(spread.page))
            else {
                continue;
            };
            if plan.picture.is_some() {
                draw(&spread.reading, input, file.as_ref(), plan).with_context(|| format!("{} can't be drawn", input.source.display()))?;
            }
            forms.push((*order, input, page));
        }
        forms.sort_by_key(|(order, ..)| *order);
        Ok(forms.into_iter().map(|(_, input, page)| (input, page)).collect())
    }
}

/// Draws a reading over its page, which is decoded again.
fn draw<'plan>(reading: &PageReading, input: &'plan Input, file: Option<&Arc<File<'plan>>>, plan: &'plan Plan) -> anyhow::Result<()> {
    let Some(folder) = &plan.picture else { return Ok(()) };
    let again = || jobs(input, plan).into_iter().next().map(|job| job.file).context("it is gone");
    let file = file.map_or_else(again, |file| Ok(Arc::clone(file)))?;
    let pages = file.pages.as_ref().map_err(|trouble| anyhow!("{}", trouble.message))?;
    let picture = outputs::to_jpeg(&picture::draw(&pages.page(reading.number)?, reading))?;
    folder.write(&input.below, reading.number, &picture)
}
