//! Half pages put side by side on sheets that are printed on both sides, stacked, and folded in the middle.

use super::layout::Paper;
use super::page::{Page, Placing};

/// Front and back of each sheet, the outermost first, for pages of half a sheet in reading order. Their number is filled up with blank
/// pages to a multiple of four. The sheets lie on their side, and are turned over at the short edge.
pub fn impose(mut pages: Vec<Page>, paper: Paper) -> Vec<Page> {
    let (height, width) = paper.size();
    let title = pages.first().map_or_else(String::new, |page| page.title.clone());
    let blank = Page { width: width / 2.0, height, title, parts: Vec::new() };
    pages.resize(pages.len().next_multiple_of(4), blank);
    let count = pages.len();
    let mut sides = Vec::with_capacity(count / 2);
    for sheet in 0..count / 4 {
        let (first, last) = (2 * sheet, count - 1 - 2 * sheet);
        for (left, right) in [(last, first), (first + 1, last - 1)] {
            let title = format!("{} | {}", pages[left].title, pages[right].title);
            let mut parts = std::mem::take(&mut pages[left].parts);
            for mut part in std::mem::take(&mut pages[right].parts) {
                part.placing = part.placing.then(Placing::shift(width / 2.0, 0.0));
                parts.push(part);
            }
            sides.push(Page { width, height, title, parts });
        }
    }
    sides
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::page::{Part, Role};

    #[test]
    fn folded_sheets_read_in_order() {
        let page = |number: usize| {
            let parts = vec![Part::new(Role::Figure(number.to_string()), Vec::new())];
            Page { width: 1.0, height: 1.0, title: String::new(), parts }
        };
        for count in [1, 4, 6, 8, 13] {
            let sides = impose((1..=count).map(page).collect(), Paper::A4);
            // Stack and fold: fronts and backs of the left leaves from the innermost sheet out would be read last.
            let told = |side: &Page| -> Vec<String> {
                side.parts.iter().map(|part| if let Role::Figure(told) = &part.role { told.clone() } else { String::new() }).collect()
            };
            let (mut front_half, mut back_half) = (Vec::new(), Vec::new());
            for side in sides.chunks(2) {
                let at = |page: &Page, x: f32| page.parts.iter().position(|part| (part.placing.factors[4] > 0.0) == (x > 0.0));
                let number = |page: &Page, x: f32| at(page, x).map(|index| told(page)[index].clone());
                front_half.extend([number(&side[0], 1.0), number(&side[1], -1.0)]);
                back_half.splice(0..0, [number(&side[1], 1.0), number(&side[0], -1.0)]);
            }
            let read: Vec<String> = front_half.into_iter().chain(back_half).flatten().collect();
            assert_eq!(read, (1..=count).map(|number| number.to_string()).collect::<Vec<_>>(), "{count} pages");
        }
    }
}
