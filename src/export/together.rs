//! From grids that several shots show to the page form.

use serde_json::Map;

use super::page::{Detail, Note, Origin, Page, Shot};
use crate::lift::{PageReading, Place, Spread};

impl Page {
    /// The form of the page that shows some grids best, each with the shots that were read together for it. `pages` are those
    /// that `spread` counts by, and `origins` where they came from; `None` where there is no such page.
    pub fn from_spread(origins: &[Origin], pages: &[PageReading], spread: &Spread, detail: Detail) -> Option<Self> {
        let mut page = Self::from_reading(origins.get(spread.page)?, &spread.reading, detail);
        let note = |kind: &str, say: String, grid| Note { kind: kind.into(), say, grid, unknown: Map::new() };
        for ((grid, shown), unsure) in page.grids.iter_mut().zip(&spread.shown).zip(&spread.unsure) {
            grid.shots = Some(shown.iter().filter_map(|place| shot(origins, pages, *place)).collect());
            for place in unsure {
                let other = place_name(origins, pages, *place)?;
                let say = format!("whether grid {} of {other} is the same can't be told: they are kept apart", place.grid + 1);
                page.notes.push(note("apart", say, Some(grid.n)));
            }
        }
        // What was wrong with shots that have no form of their own.
        let mut others: Vec<Place> = spread.shown.iter().flatten().copied().filter(|place| place.page != spread.page).collect();
        others.sort();
        others.dedup_by_key(|place| place.page);
        for place in others {
            let name = place_name(origins, pages, place)?;
            let damage = pages.get(place.page).into_iter().flat_map(|page| &page.damage);
            page.notes.extend(damage.map(|damage| note(damage.kind(), format!("{name}: {}", damage.say()), None)));
        }
        Some(page)
    }
}

fn shot(origins: &[Origin], pages: &[PageReading], place: Place) -> Option<Shot> {
    let (origin, page) = (origins.get(place.page)?, pages.get(place.page)?);
    let grid = page.grids.get(place.grid)?;
    Some(Shot {
        source: origin.source.clone(),
        page: page.number,
        sha256: origin.sha256.clone(),
        n: u32::try_from(place.grid).ok()? + 1,
        turn: grid.turn.degrees(),
        verdict: grid.reading.verdict,
        unknown: Map::new(),
    })
}

fn place_name(origins: &[Origin], pages: &[PageReading], place: Place) -> Option<String> {
    let source = &origins.get(place.page)?.source;
    Some(match pages.get(place.page)?.number {
        1 => source.clone(),
        number => format!("{source}, page {number}"),
    })
}
