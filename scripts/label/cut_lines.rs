//! Lines of text near the grids of a drawn page as the program itself cuts them, for `train.py`; a part of `cut_cells`.

use anyhow::Result;
use gridlift::decode::Page;
use gridlift::label::{LabelReader, Strip};
use gridlift::plane::{Homography, Lattice, Point};
use serde_json::{Value, json};

/// Pixels that strips carry around, as `MARGIN` of `draw.py`.
const MARGIN: u32 = 8;
/// A label lies in a strip if no more than this much of it, in pixels, stands out at either end, or above and below.
const OUT: (f32, f32) = (1.0, 3.0);
/// Labels that are lower in a strip than this, in pixels, or shorter than this share of it are a part of what was cut as the line.
const LEAST_HIGH: f32 = 8.0;
const LEAST_LONG: f32 = 0.15;

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
    let [left, top, right, bottom] = strip.text;
    let own = [Point::new(left, top), Point::new(right, top), Point::new(right, bottom), Point::new(left, bottom)];
    let map = Homography::from_points(strip.corners, own)?;
    let [a, b, c, d] = label.map(|corner| map.apply(corner));
    let (start, end, high, low) = (a.x.min(d.x), b.x.max(c.x), a.y.min(b.y), c.y.max(d.y));
    let (first, across, down) = (MARGIN as f32, (strip.image.width() - MARGIN) as f32, (strip.image.height() - MARGIN) as f32);
    let upright = a.x < b.x && d.x < c.x && a.y < d.y && b.y < c.y;
    let whole = start > first - OUT.0 && end < across + OUT.0 && high > first - OUT.1 && low < down + OUT.1;
    let much = low - high > LEAST_HIGH && end - start > LEAST_LONG * (right - left);
    (upright && whole && much).then_some([start, end])
}
