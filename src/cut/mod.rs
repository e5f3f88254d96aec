//! Rectifies: flattens the paper by the lattice, evens the light and gives 81 cell images.

use image::GrayImage;
use image::math::Rect;
use ndarray::Array4;

use crate::decode::{Page, sample_several, shrink_part, wide};
use crate::plane::{Lattice, Point};

/// Side of a cell image, in samples.
pub const SIDE: usize = 32;
/// Side of a cell image in which small print and a pen's strokes show more.
pub const FINE: usize = 48;
/// Channels of a cell image: brightness, then the colour differences Cb and Cr.
pub const CHANNELS: usize = 3;
/// Context around the cell, in cells, on each side.
pub const MARGIN: f32 = 0.14;

/// Cells of one grid.
#[derive(Clone, Debug)]
pub struct Cells {
    /// `[81, CHANNELS, SIDE, SIDE]` (or FINE), cells row by row in the lattice's order, samples row by row. Brightness: 0
    /// is the darkest ink of the grid, 1 the paper of that cell (up to 1.2 where brighter). Colour: 0.5
    /// is the paper's, 64 steps of the 8-bit difference make 0.5 more or less.
    pub images: Array4<f32>,
    /// What the light on each cell was like, in the same order.
    pub light: Vec<Light>,
    /// Whether the lines are lighter than the paper, and what stands in the cells is darker: white gaps between tints.
    pub gaps: bool,
}

impl Cells {
    /// The same with white lines dark, as in a negative, and what else is darker than the paper as light as it may be.
    pub fn inverted(&self) -> Self {
        let mut cells = self.clone();
        let all: Vec<f32> = channel::<SIDE>(&mut cells.images, 0).flat_map(|cell| cell.to_vec()).collect();
        let lightest = least(&all, all.len() * 99 / 100).max(1.01);
        for cell in channel::<SIDE>(&mut cells.images, 0) {
            cell.iter_mut().for_each(|value| *value = ((lightest - *value) / (lightest - 1.0)).clamp(0.0, 1.2));
        }
        cells
    }
}

/// What the light on one cell was like, before it was evened.
#[derive(Clone, Copy, Debug, Default)]
pub struct Light {
    /// The paper's brightness, 0 to 255.
    pub paper: f32,
    /// Share of the cell's samples, 0 to 1, that lie within the cell and beyond the picture's edge.
    pub outside: f32,
    /// The cell's colour against that of the grid's paper: differences of blue and of red from brightness, in steps of 8 bits; 0 in grey.
    pub colour: [f32; 2],
}

impl Light {
    /// By how much the colours of two cells differ, in steps of 8 bits.
    pub fn colour_apart(&self, other: &Self) -> f32 {
        (self.colour[0] - other.colour[0]).hypot(self.colour[1] - other.colour[1])
    }
}

/// Where samples are taken from: one channel, shrunk so that a cell has about as many pixels as samples.
struct Plane {
    image: GrayImage,
    factor: (f32, f32),
    origin: Point,
}

impl Plane {
    /// The part of `image` under the lattice, for cells of `side` samples; the lattice is in pixels of a page `width` x `height` large.
    fn under(lattice: &Lattice, image: &GrayImage, page_size: (u32, u32), side: usize) -> Self {
        // Pixels of this channel for one of the page (chroma comes at half size).
        let (sx, sy) = (image.width() as f32 / page_size.0 as f32, image.height() as f32 / page_size.1 as f32);
        let own = lattice.map(|p| Point::new((p.x + 0.5) * sx - 0.5, (p.y + 0.5) * sy - 0.5));
        let points = own.points.as_flattened();
        let margin = own.pitch();
        let bound = |pick: fn(&Point) -> f32, most: u32| {
            let low = points.iter().map(pick).fold(f32::INFINITY, f32::min) - margin;
            let high = points.iter().map(pick).fold(f32::NEG_INFINITY, f32::max) + margin;
            let low = low.clamp(0.0, most.saturating_sub(1) as f32) as u32;
            (low, (high.clamp(0.0, most as f32) as u32).max(low + 1) - low)
        };
        let ((x, width), (y, height)) = (bound(|p| p.x, image.width()), bound(|p| p.y, image.height()));
        let wanted = side as f32 / (1.0 + 2.0 * MARGIN) * 1.15;
        let scale = (wanted / own.pitch()).min(1.0);
        let (w, h) = (((width as f32 * scale).round() as u32).max(1), ((height as f32 * scale).round() as u32).max(1));
        let small = shrink_part(image, Rect { x, y, width, height }, w, h);
        // From page pixels straight to pixels of the shrunken part.
        let (fx, fy) = (w as f32 / width as f32, h as f32 / height as f32);
        let origin = Point::new(((0.5 * sx) - x as f32) * fx - 0.5, ((0.5 * sy) - y as f32) * fy - 0.5);
        Self { image: small, factor: (sx * fx, sy * fy), origin }
    }

    /// The values at the samples of a cell, rows first, in proportion between pixels; beyond the edge the edge's own.
    #[inline(always)]
    fn sample<const N: usize>(&self, spots: &Spots<N>, values: &mut [f32]) {
        for (row, values) in values.chunks_exact_mut(N).enumerate() {
            let (mut x, mut y) = ([0.0; N], [0.0; N]);
            for column in 0..N {
                let p = spots.at(column, row);
                (x[column], y[column]) = (p.x * self.factor.0 + self.origin.x, p.y * self.factor.1 + self.origin.y);
            }
            values.copy_from_slice(&sample_several(&self.image, &x, &y));
        }
    }
}

/// Where the samples of one cell lie on the page.
struct Spots<const N: usize> {
    /// The place of each column at the cell's top.
    top: [[f32; N]; 2],
    /// The way from there to its bottom.
    down: [[f32; N]; 2],
}

impl<const N: usize> Spots<N> {
    /// Where the middle of sample `i` of `N` lies, in shares of the cell.
    fn share(i: usize) -> f32 {
        (i as f32 + 0.5) / N as f32 * (1.0 + 2.0 * MARGIN) - MARGIN
    }

    fn new(corners: &[Point; 4]) -> Self {
        let (mut top, mut down) = ([[0.0; N]; 2], [[0.0; N]; 2]);
        for column in 0..N {
            let share = Self::share(column);
            let (from, to) = (corners[0].toward(corners[1], share), corners[3].toward(corners[2], share));
            let way = to - from;
            (top[0][column], top[1][column]) = (from.x, from.y);
            (down[0][column], down[1][column]) = (way.x, way.y);
        }
        Self { top, down }
    }

    #[inline(always)]
    fn at(&self, column: usize, row: usize) -> Point {
        let down = Self::share(row);
        Point::new(self.top[0][column] + self.down[0][column] * down, self.top[1][column] + self.down[1][column] * down)
    }

    /// The four outermost: all others lie between them.
    fn corners(&self) -> [Point; 4] {
        let last = N - 1;
        [self.at(0, 0), self.at(last, 0), self.at(last, last), self.at(0, last)]
    }

    /// How many of the samples within the cell's own lines lie beyond the edge of a page of this size.
    fn outside(&self, size: (u32, u32)) -> usize {
        let beyond = |p: Point| p.x < -0.5 || p.y < -0.5 || p.x > size.0 as f32 - 0.5 || p.y > size.1 as f32 - 0.5;
        if !self.corners().into_iter().any(beyond) {
            return 0;
        }
        let inside = MARGIN / (1.0 + 2.0 * MARGIN) * N as f32;
        let own = |i: &usize| (inside..=N as f32 - inside).contains(&(*i as f32 + 0.5));
        (0..N)
            .filter(own)
            .flat_map(|row| (0..N).filter(own).map(move |column| (column, row)))
            .filter(|&(column, row)| beyond(self.at(column, row)))
            .count()
    }
}

/// The part of a page under one lattice, shrunk once for any number of cuts into cells of `N` samples a side.
pub struct Sheet<const N: usize = SIDE> {
    page_size: (u32, u32),
    luma: Plane,
    chroma: Option<[Plane; 2]>,
}

impl<const N: usize> Sheet<N> {
    /// The part of `page` under `lattice` and a cell around it.
    pub fn new(page: &Page, lattice: &Lattice) -> Self {
        let page_size = page.luma.dimensions();
        let under = |plane| Plane::under(lattice, plane, page_size, N);
        Self { page_size, luma: under(&page.luma), chroma: page.chroma.as_ref().map(|planes| planes.each_ref().map(under)) }
    }
}

/// The 81 cells under a lattice, rows first.
pub fn cut(page: &Page, lattice: &Lattice) -> Cells {
    cut_sheet::<SIDE>(&Sheet::new(page, lattice), lattice)
}

/// The same by a lattice that may be turned, mirrored or moved by less than a cell against the one that the sheet was made for.
pub fn cut_sheet<const N: usize>(sheet: &Sheet<N>, lattice: &Lattice) -> Cells {
    let Sheet { page_size: size, luma, chroma } = sheet;
    let mut images = Array4::from_elem((81, CHANNELS, N, N), 0.5_f32);
    let mut light = vec![Light::default(); 81];
    for (n, (light, mut image)) in light.iter_mut().zip(images.outer_iter_mut()).enumerate() {
        let spots = Spots::<N>::new(&lattice.cell(n / 9, n % 9));
        let samples = image.as_slice_mut().expect("a new array lies in order");
        let (brightness, colour) = samples.split_at_mut(N * N);
        let (blue, red) = colour.split_at_mut(N * N);
        wide(
            #[inline(always)]
            || {
                luma.sample(&spots, brightness);
                if let Some([cb, cr]) = chroma {
                    cb.sample(&spots, blue);
                    cr.sample(&spots, red);
                }
            },
        );
        light.outside = spots.outside(*size) as f32 / (N * N) as f32;
    }
    let gaps = wide(
        #[inline(always)]
        || {
            if chroma.is_some() {
                even_colour::<N>(&mut images, &mut light);
            }
            even_light::<N>(&mut images, &mut light)
        },
    );
    Cells { images, light, gaps }
}

/// Of a cell's samples of one channel, the margin and the lines left out, the one at `place` from the least, told by how many there are.
#[inline(always)]
fn ranked<const N: usize>(samples: &[f32], place: impl Fn(usize) -> usize) -> f32 {
    let edge = N / 5;
    let across = N - 2 * edge;
    let mut room = [[0.0; N]; N];
    let values = &mut room.as_flattened_mut()[..across * across];
    for (row, values) in values.chunks_exact_mut(across).enumerate() {
        values.copy_from_slice(&samples[(edge + row) * N + edge..][..across]);
    }
    least(values, place(across * across))
}

/// The value at `place` from the least, in the order of [`f32::total_cmp`]. Halving the range that it can lie in and counting, which the processor does for
/// many at once, leaves few to be sorted.
#[inline(always)]
pub(crate) fn least(values: &[f32], place: usize) -> f32 {
    const FEW: usize = 16;
    // A number that rises with the value, as its bits do if it isn't negative; the other way round, the same gives the value's bits.
    let turned = |bits: i32| bits ^ ((bits >> 31) as u32 >> 1) as i32;
    let bits = |value: &f32| turned(value.to_bits() as i32);
    let (mut low, mut high) = (i32::MAX, i32::MIN);
    for value in values {
        (low, high) = (low.min(bits(value)), high.max(bits(value)));
    }
    // How many lie below `low`, and how many up to `high`.
    let (mut below, mut within) = (0, values.len());
    while within - below > FEW && low < high {
        // The middle, rounded down.
        let middle = ((i64::from(low) + i64::from(high)) >> 1) as i32;
        let mut count = 0_u32;
        for value in values {
            count += u32::from(bits(value) <= middle);
        }
        let count = count as usize;
        if count > place {
            (high, within) = (middle, count);
        } else {
            (low, below) = (middle + 1, count);
        }
    }
    if low >= high {
        return f32::from_bits(turned(low) as u32);
    }
    // What comes last of all.
    let mut few = [f32::from_bits(i32::MAX as u32); FEW];
    let rest = values.iter().filter(|value| (low..=high).contains(&bits(value)));
    few.iter_mut().zip(rest).for_each(|(few, &value)| *few = value);
    few.sort_unstable_by(f32::total_cmp);
    few[place - below]
}

/// One channel of each cell.
fn channel<const N: usize>(images: &mut Array4<f32>, channel: usize) -> impl Iterator<Item = &mut [f32]> {
    let samples = images.as_slice_mut().expect("cells lie one behind the other");
    samples.chunks_exact_mut(N * N).skip(channel).step_by(CHANNELS)
}

/// Brightness to 0 (darkest ink of the grid) and 1 (paper of the cell), a negative turned into a positive; whether the lines are white gaps.
#[inline(always)]
fn even_light<const N: usize>(images: &mut Array4<f32>, light: &mut [Light]) -> bool {
    // The paper is what most of a cell shows, whatever is written on it; lines and digits tell the polarity: lines alone may be white gaps between tints.
    let mut lines_darker = 0_i32;
    for cell in channel::<N>(images, 0) {
        let middle = ranked::<N>(cell, |count| (count - 1) / 2);
        let line = |at: usize| (0..N).map(|i| cell[at * N + i] + cell[i * N + at]).sum::<f32>() / (2 * N) as f32;
        let on_line = line((MARGIN / (1.0 + 2.0 * MARGIN) * N as f32) as usize);
        lines_darker += if on_line < middle { 1 } else { -1 };
    }
    let lines_lighter = lines_darker < -40;
    let negative = lines_lighter && is_light_on_dark::<N>(images);
    let mut all = Vec::with_capacity(81 * N * N);
    for (cell, light) in channel::<N>(images, 0).zip(light) {
        if negative {
            // Between white pixels a sample may come out a little whiter than white.
            for value in cell.iter_mut() {
                *value = (255.0 - *value).max(0.0);
            }
        }
        let paper = ranked::<N>(cell, |count| (count - 1) * 4 / 5).max(8.0);
        light.paper = paper;
        for value in cell.iter_mut() {
            *value /= paper;
        }
        all.extend_from_slice(cell);
    }
    // A grid without ink (no line seen at all) isn't blown up to noise.
    let dark = least(&all, all.len() / 100).min(0.9);
    for cell in channel::<N>(images, 0) {
        for value in cell {
            *value = ((*value - dark) / (1.0 - dark)).clamp(0.0, 1.2);
        }
    }
    lines_lighter && !negative
}

/// Whether what stands in the cells is lighter than their paper: by more than what is darker is darker.
#[inline(always)]
fn is_light_on_dark<const N: usize>(images: &mut Array4<f32>) -> bool {
    // A digit covers a tenth of what is looked at, a speck less than the thirtieth left out.
    let beyond = channel::<N>(images, 0).map(|cell| {
        let [low, middle, high] = [1, 15, 29].map(|part| ranked::<N>(cell, |count| count * part / 30));
        (high - middle) - (middle - low)
    });
    beyond.sum::<f32>() > 0.0
}

/// Colour differences against the paper's own tint.
#[inline(always)]
fn even_colour<const N: usize>(images: &mut Array4<f32>, light: &mut [Light]) {
    for kind in 1..CHANNELS {
        // No closure: what is called from within one isn't built for the widest vectors.
        let mut middles = Vec::with_capacity(81);
        for cell in channel::<N>(images, kind) {
            middles.push(ranked::<N>(cell, |count| count / 2));
        }
        let paper = least(&middles, 40);
        for (light, middle) in light.iter_mut().zip(middles) {
            light.colour[kind - 1] = middle - paper;
        }
        for cell in channel::<N>(images, kind) {
            for value in cell {
                *value = (0.5 + (*value - paper) / 128.0).clamp(0.0, 1.0);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn the_least_are_counted_right(values in prop::collection::vec(prop::sample::select(vec![-7.5_f32, -1.5e-5, -0.0, 0.0, 1e-30, 0.25, 0.5, 0.75, 1.0, 7.5, 255.0, f32::NAN, -f32::NAN]), 1..200),
            more in prop::collection::vec(-2.0_f32..256.0, 0..200), place: prop::sample::Index) {
            let mut all = [values, more].concat();
            let place = place.index(all.len());
            let got = least(&all, place);
            all.sort_by(f32::total_cmp);
            prop_assert_eq!(got.to_bits(), all[place].to_bits());
        }
    }

    #[test]
    fn white_lines_between_tints_make_no_negative() {
        // Whether lines are told as gaps, how dark a digit comes out, and how dark the lines come out inverted.
        let printed = |lines: u8, ground: u8, digit: u8| {
            let luma = image::GrayImage::from_fn(200, 200, |x, y| {
                let (u, v) = (x % 20, y % 20);
                image::Luma([if u < 2 || v < 2 {
                    lines
                } else if (8..12).contains(&u) && (5..17).contains(&v) && x / 20 % 2 == 0 {
                    digit
                } else {
                    ground
                }])
            });
            let page = Page { number: 1, luma, chroma: None, damage: Vec::new(), digits: Vec::new() };
            let corners = [(1.0, 1.0), (181.0, 1.0), (181.0, 181.0), (1.0, 181.0)].map(|(x, y)| Point::new(x, y));
            let cells = cut(&page, &Lattice::from_corners(corners).expect("a square"));
            let (middle, line) = (SIDE / 2 - 2, (MARGIN / (1.0 + 2.0 * MARGIN) * SIDE as f32) as usize);
            (cells.gaps, cells.images[[0, 0, middle, middle]] < 0.1, cells.inverted().images[[0, 0, middle, line]] < 0.5)
        };
        assert_eq!(printed(255, 220, 40), (true, true, true));
        assert_eq!(printed(220, 30, 220), (false, true, false));
        assert_eq!(printed(30, 220, 30), (false, true, false));
    }

    #[test]
    fn white_negatives_are_cut() {
        // Between pixels of 255 weights that should add up to one give more than that.
        let luma = image::GrayImage::from_fn(200, 200, |x, y| image::Luma([if x % 20 < 2 || y % 20 < 2 { 255 } else { 0 }]));
        let page = Page { number: 1, luma, chroma: None, damage: Vec::new(), digits: Vec::new() };
        let corners = [(10.3, 10.6), (190.7, 11.1), (189.2, 191.3), (9.6, 190.4)].map(|(x, y)| Point::new(x, y));
        let cells = cut(&page, &Lattice::from_corners(corners).expect("a square"));
        assert!(cells.images.iter().all(|value| (0.0..=1.2).contains(value)));
    }
}
