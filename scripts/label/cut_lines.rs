//! Lines of text near the grids of a drawn page as the program itself cuts them, for `train.py`; a part of `cut_cells`.

use anyhow::Result;
use gridlift::decode::Page;
use gridlift::label::{LabelReader, Strip};
use gridlift::plane::{Homography, Lattice, Point};
use serde_json::{Value, json};

/// Pixels that strips carry around, as `MARGIN` of `draw.py`, and what the program cuts around a text: before and behind it, above and below it.
const MARGIN: u32 = 8;
const PAD: f32 = 10.0;
const ABOVE: f32 = 5.0;
/// Height of the text in a strip.
const INK: f32 = 22.0;
/// A label lies in a strip if no more than this much of it, in pixels, stands out at either end, or above and below.
const OUT: (f32, f32) = (1.0, 3.0);
/// Labels that are lower in a strip than this, in pixels, or shorter than this share of it are a part of what was cut as the line.
const LEAST_HIGH: f32 = 8.0;
const LEAST_LONG: f32 = 0.5;

/// The lines that hold a label of the page whole, each as its pixels (u8 `[32 + 2 MARGIN, width]`) and what is known of it: `width`, `text`, and `start` and `end`, the columns
/// between which the label stands. `lattices` are those that were found, as printed; `truth` is the page's of `scripts/pages/generate.py`.
pub fn lines(reader: &LabelReader, page: &Page, lattices: &[&Lattice], truth: &Value) -> Result<Vec<(Vec<u8>, Value)>> {
    let labels: Vec<(&str, [Point; 4])> = truth["grids"]
        .as_array()
        .into_iter()
        .flatten()
        .filter_map(|grid| Some((grid["label"].as_str()?, corners(&grid["label_corners"])?)))
        .collect();
    let strips = reader.strips(page, lattices, MARGIN)?;
    let known = |strip: Strip| {
        let (text, [start, end]) = labels.iter().find_map(|(text, corners)| Some((text, within(&strip, *corners)?)))?;
        let known = json!({ "width": strip.image.width(), "text": text, "start": start, "end": end });
        Some((strip.image.into_raw(), known))
    };
    Ok(strips.into_iter().filter_map(known).collect())
}

fn corners(value: &Value) -> Option<[Point; 4]> {
    let point = |at: &Value| Some(Point::new(at[0].as_f64()? as f32, at[1].as_f64()? as f32));
    Some([point(&value[0])?, point(&value[1])?, point(&value[2])?, point(&value[3])?])
}

/// The columns of a strip between which a label of these corners stands; `None` where it isn't in there as a whole, and upright.
fn within(strip: &Strip, label: [Point; 4]) -> Option<[f32; 2]> {
    let (wide, margin) = (strip.image.width() as f32 - 2.0 * MARGIN as f32, MARGIN as f32);
    let (left, right, top, bottom) = (PAD, wide - PAD, ABOVE, ABOVE + INK);
    let own = [Point::new(left, top), Point::new(right, top), Point::new(right, bottom), Point::new(left, bottom)];
    let [a, b, c, d] = label.map(|corner| Homography::from_points(strip.corners, own).map(|map| map.apply(corner)));
    let (a, b, c, d) = (a?, b?, c?, d?);
    let (start, end, high, low) = (a.x.min(d.x), b.x.max(c.x), a.y.min(b.y), c.y.max(d.y));
    let upright = a.x < b.x && d.x < c.x && a.y < d.y && b.y < c.y;
    let whole = start > -OUT.0 && end < wide + OUT.0 && high > -OUT.1 && low < 2.0 * ABOVE + INK + OUT.1;
    let much = low - high > LEAST_HIGH && end - start > LEAST_LONG * (right - left);
    (upright && whole && much).then_some([start + margin, end + margin])
}
