//! Numbers in a ring, whose sides are read as parentheses: what a number is printed in is no part of the label.

use std::collections::HashSet;

use image::GrayImage;

use super::Label;

/// Directions, in degrees from straight up or down, in which parentheses have no ink and a ring has.
const ASKED: [f32; 7] = [-30.0, -20.0, -10.0, 0.0, 10.0, 20.0, 30.0];
/// Of 7 directions up and 7 down so many must meet ink, each way.
const FEWEST: usize = 6;
/// How far ink is sought, in halves of the text's length: a ring drawn round it is about as far everywhere.
const FARTHEST: f32 = 1.3;
/// Nearer to the middle than this, in heights of the text, lies the text itself.
const NEAREST: f32 = 0.55;
/// Steps on the way.
const STEPS: usize = 24;
/// How far into the text's box its ring's sides reach from its ends, as a share of its height.
const SIDE: f32 = 0.3;
/// A letter is higher than this share of the text's height.
const LETTER: f32 = 0.5;

/// Takes the parentheses off where they are the sides of a ring.
pub(super) fn unring(label: &mut Label, luma: &GrayImage) {
    let inner = label.text.strip_prefix('(').unwrap_or(&label.text);
    let opened = inner.len() < label.text.len();
    let inner = inner.strip_suffix(')').unwrap_or(inner);
    if inner.len() == label.text.len() {
        return;
    }
    // A ring may have parentheses in it, too.
    let own = label.text.chars().count() - inner.chars().count();
    if within_ring(label.place, luma, opened).is_some_and(|shapes| shapes < inner.chars().count() + own) {
        label.text = inner.trim().to_owned();
    }
}

/// How many shapes of a letter's height a ring holds: `None` where no ink closes above and below the text in this box (x, y, width and height in page pixels), as
/// one with the ink at its left or right end.
fn within_ring([x, y, width, height]: [f32; 4], luma: &GrayImage, at_left: bool) -> Option<usize> {
    let (middle, radius) = ((x + width / 2.0, y + height / 2.0), width / 2.0);
    let inside = |column: f32, row: f32| column >= 0.0 && row >= 0.0 && column < luma.width() as f32 && row < luma.height() as f32;
    let at = |right: f32, down: f32| {
        let (column, row) = ((middle.0 + right).round(), (middle.1 + down).round());
        inside(column, row).then_some((column as u32, row as u32))
    };
    let value = |(column, row): (u32, u32)| luma.get_pixel(column, row).0[0];
    let mut values: Vec<u8> = Vec::new();
    for row in 0..STEPS {
        let down = (row as f32 / (STEPS - 1) as f32 - 0.5) * height;
        values.extend((0..STEPS).filter_map(|column| at((column as f32 / (STEPS - 1) as f32 - 0.5) * width, down)).map(value));
    }
    values.sort_unstable();
    let at_share = |twentieths: usize| values.get(values.len() * twentieths / 20).copied();
    let (darkest, middle_value, paper, lightest) = (at_share(1)?, at_share(10)?, at_share(15)?, at_share(19)?);
    // Light on dark, a bar: what is dark around it is no ring.
    if lightest - middle_value > middle_value - darkest {
        return None;
    }
    let ink = paper - (paper - darkest) / 2;
    // All that hangs together with the ink beside the text, as far as a ring reaches.
    let farthest = FARTHEST * radius.max(height);
    let within = |(column, row): (u32, u32)| (column as f32 - middle.0).hypot(row as f32 - middle.1) < farthest;
    let rows = (-2..=2).map(|step| step as f32 * height / 8.0);
    let columns = (0..STEPS).map(|step| (radius - SIDE * height * step as f32 / (STEPS - 1) as f32) * if at_left { -1.0 } else { 1.0 });
    // The outermost ink of each row: what lies farther in may be the text's own.
    let outermost = |down: f32| columns.clone().filter_map(|right| at(right, down)).find(|&spot| value(spot) < ink);
    let mut open: Vec<(u32, u32)> = rows.filter_map(outermost).collect();
    let grow = |shape: &mut HashSet<(u32, u32)>, open: &mut Vec<(u32, u32)>| {
        shape.extend(open.iter());
        while let Some((column, row)) = open.pop() {
            let rows = row.saturating_sub(1)..row + 2;
            for spot in rows.flat_map(|row| (column.saturating_sub(1)..column + 2).map(move |column| (column, row))) {
                if inside(spot.0 as f32, spot.1 as f32) && within(spot) && value(spot) < ink && shape.insert(spot) {
                    open.push(spot);
                }
            }
        }
    };
    let mut ring = HashSet::new();
    grow(&mut ring, &mut open);
    let meets = |degrees: f32, up: f32| {
        let (sine, cosine) = degrees.to_radians().sin_cos();
        let (from, to) = (NEAREST * height, FARTHEST * radius);
        (0..STEPS)
            .map(|step| from + (to - from).max(0.0) * step as f32 / (STEPS - 1) as f32)
            .any(|far| at(far * sine, up * far * cosine).is_some_and(|spot| ring.contains(&spot)))
    };
    let closes = [-1.0, 1.0].iter().all(|&up| ASKED.iter().filter(|&&degrees| meets(degrees, up)).count() >= FEWEST);
    closes.then(|| {
        let mut known = ring;
        let spots = (0..height as u32)
            .flat_map(|down| (0..width as u32).map(move |right| (right as f32 - width / 2.0, down as f32 - height / 2.0)));
        let mut heights = Vec::new();
        for spot in spots.filter_map(|(right, down)| at(right, down)) {
            if value(spot) < ink && !known.contains(&spot) {
                let mut shape = HashSet::new();
                grow(&mut shape, &mut vec![spot]);
                let rows = || shape.iter().map(|&(_, row)| row);
                heights.extend(rows().max().zip(rows().min()).map(|(last, first)| last + 1 - first));
                known.extend(shape);
            }
        }
        heights.iter().filter(|&&tall| tall as f32 > LETTER * height).count()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drawn(has_ink: impl Fn(f32, f32) -> bool) -> GrayImage {
        GrayImage::from_fn(100, 100, |x, y| image::Luma([if has_ink(x as f32 - 50.0, y as f32 - 50.0) { 40 } else { 230 }]))
    }

    fn text(luma: &GrayImage) -> String {
        let mut label = Label { text: "(9)".into(), place: [30.0, 38.0, 40.0, 24.0], confidence: 1.0 };
        unring(&mut label, luma);
        label.text
    }

    #[test]
    fn a_ring_is_no_parenthesis() {
        let digit = |x: f32, y: f32| x.abs() < 3.0 && y.abs() < 9.0;
        let ring = |x: f32, y: f32| (x.hypot(y) - 20.0).abs() < 1.5;
        assert_eq!(text(&drawn(|x, y| digit(x, y) || ring(x, y))), "9");
        assert_eq!(text(&drawn(|x, y| digit(x, y) || ring(x, y) && y.abs() < 12.0)), "(9)");
        // Parentheses within a ring.
        let within = |x: f32, y: f32| (x.hypot(y) - 20.0).abs() < 1.5 && y.abs() < 11.0 || (x.hypot(y) - 25.0).abs() < 1.5;
        assert_eq!(text(&drawn(|x, y| digit(x, y) || within(x, y))), "(9)");
        // The same, the ring taken for them.
        let within = |x: f32, y: f32| (x.hypot(y) - 20.0).abs() < 1.5 || (x.hypot(y) - 12.0).abs() < 1.5 && y.abs() < 8.0;
        assert_eq!(text(&drawn(|x, y| digit(x, y) || within(x, y))), "(9)");
        // A line of the grid below it doesn't close it.
        assert_eq!(text(&drawn(|x, y| digit(x, y) || ring(x, y) && y.abs() < 12.0 || (18.0..20.0).contains(&y))), "(9)");
        // A bar that it stands on, light on dark, is no ring.
        let on_bar = drawn(|x, y| x.abs() < 45.0 && y.abs() < 20.0 && !digit(x, y) && !(ring(x, y) && y.abs() < 12.0));
        assert_eq!(text(&on_bar), "(9)");
    }
}
