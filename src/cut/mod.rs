//! Rectifies: flattens the paper by the lattice, evens the light and gives 81 cell images.

use image::GrayImage;
use image::math::Rect;
use ndarray::Array4;

use crate::decode::{Page, sample, shrink_part};
use crate::plane::{Lattice, Point};

/// Side of a cell image, in samples.
pub const SIDE: usize = 32;
/// Channels of a cell image: brightness, then the colour differences Cb and Cr.
pub const CHANNELS: usize = 3;
/// Context around the cell, in cells, on each side.
pub const MARGIN: f32 = 0.14;

/// Cells of one grid.
#[derive(Clone, Debug)]
pub struct Cells {
    /// `[81, CHANNELS, SIDE, SIDE]`, cells row by row in the lattice's order, samples row by row. Brightness: 0
    /// is the darkest ink of the grid, 1 the paper of that cell (up to 1.2 where brighter). Colour: 0.5
    /// is the paper's, 64 steps of the 8-bit difference make 0.5 more or less.
    pub images: Array4<f32>,
    /// What the light on each cell was like, in the same order.
    pub light: Vec<Light>,
    /// Whether the print is lighter than the paper (a negative).
    pub negative: bool,
}

/// What the light on one cell was like, before it was evened.
#[derive(Clone, Copy, Debug, Default)]
pub struct Light {
    /// The paper's brightness, 0 to 255.
    pub paper: f32,
    /// Share of the cell's samples, 0 to 1, that lie within the cell and beyond the picture's edge.
    pub outside: f32,
}

/// Where samples are taken from: one channel, shrunk so that a cell has about as many pixels as samples.
struct Plane {
    image: GrayImage,
    factor: (f32, f32),
    origin: Point,
}

impl Plane {
    /// The part of `image` under the lattice; the lattice is in pixels of a page `width` x `height` large.
    fn under(lattice: &Lattice, image: &GrayImage, page_size: (u32, u32)) -> Self {
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
        let wanted = SIDE as f32 / (1.0 + 2.0 * MARGIN) * 1.15;
        let scale = (wanted / own.pitch()).min(1.0);
        let (w, h) = (((width as f32 * scale).round() as u32).max(1), ((height as f32 * scale).round() as u32).max(1));
        let small = shrink_part(image, Rect { x, y, width, height }, w, h);
        // From page pixels straight to pixels of the shrunken part.
        let (fx, fy) = (w as f32 / width as f32, h as f32 / height as f32);
        let origin = Point::new(((0.5 * sx) - x as f32) * fx - 0.5, ((0.5 * sy) - y as f32) * fy - 0.5);
        Self { image: small, factor: (sx * fx, sy * fy), origin }
    }

    fn place(&self, p: Point) -> Point {
        Point::new(p.x * self.factor.0 + self.origin.x, p.y * self.factor.1 + self.origin.y)
    }

    /// The value at a page point, in proportion between pixels; beyond the edge the edge's own.
    fn sample(&self, p: Point) -> f32 {
        let at = self.place(p);
        sample(&self.image, at.x, at.y)
    }
}

/// Where the sample (`column`, `row`) of a cell lies on the page.
fn spot(corners: &[Point; 4], column: usize, row: usize) -> Point {
    let share = |i: usize| (i as f32 + 0.5) / SIDE as f32 * (1.0 + 2.0 * MARGIN) - MARGIN;
    let (u, v) = (share(column), share(row));
    corners[0].toward(corners[1], u).toward(corners[3].toward(corners[2], u), v)
}

/// The part of a page under one lattice, shrunk once for any number of cuts.
pub struct Sheet {
    page_size: (u32, u32),
    luma: Plane,
    chroma: Option<[Plane; 2]>,
}

impl Sheet {
    /// The part of `page` under `lattice` and a cell around it.
    pub fn new(page: &Page, lattice: &Lattice) -> Self {
        let page_size = page.luma.dimensions();
        let under = |plane| Plane::under(lattice, plane, page_size);
        Self { page_size, luma: under(&page.luma), chroma: page.chroma.as_ref().map(|planes| planes.each_ref().map(under)) }
    }
}

/// The 81 cells under a lattice, rows first.
pub fn cut(page: &Page, lattice: &Lattice) -> Cells {
    cut_sheet(&Sheet::new(page, lattice), lattice)
}

/// The same by a lattice that may be turned, mirrored or moved by less than a cell against the one that the sheet was made for.
pub fn cut_sheet(sheet: &Sheet, lattice: &Lattice) -> Cells {
    let Sheet { page_size: size, luma, chroma } = sheet;
    let mut images = Array4::from_elem((81, CHANNELS, SIDE, SIDE), 0.5_f32);
    let mut light = vec![Light::default(); 81];
    for (n, (light, mut image)) in light.iter_mut().zip(images.outer_iter_mut()).enumerate() {
        let corners = lattice.cell(n / 9, n % 9);
        let samples = image.as_slice_mut().expect("a new array lies in order");
        let (brightness, colour) = samples.split_at_mut(SIDE * SIDE);
        let (blue, red) = colour.split_at_mut(SIDE * SIDE);
        let mut outside = 0;
        for row in 0..SIDE {
            for column in 0..SIDE {
                let p = spot(&corners, column, row);
                let inside = MARGIN / (1.0 + 2.0 * MARGIN) * SIDE as f32;
                let own = |i: usize| (inside..=SIDE as f32 - inside).contains(&(i as f32 + 0.5));
                outside += usize::from(
                    (p.x < -0.5 || p.y < -0.5 || p.x > size.0 as f32 - 0.5 || p.y > size.1 as f32 - 0.5) && own(row) && own(column),
                );
                let place = row * SIDE + column;
                brightness[place] = luma.sample(p);
                if let Some([cb, cr]) = chroma {
                    blue[place] = cb.sample(p);
                    red[place] = cr.sample(p);
                }
            }
        }
        light.outside = outside as f32 / (SIDE * SIDE) as f32;
    }
    let negative = even_light(&mut images, &mut light);
    if chroma.is_some() {
        even_colour(&mut images);
    }
    Cells { images, light, negative }
}

/// Of a cell's samples, the margin and the lines left out, the one at `place` from the least, told by how many there are.
fn ranked(images: &Array4<f32>, cell: usize, channel: usize, place: impl Fn(usize) -> usize) -> f32 {
    let edge = SIDE / 5;
    let mut values: Vec<f32> = images.slice(ndarray::s![cell, channel, edge..SIDE - edge, edge..SIDE - edge]).iter().copied().collect();
    let place = place(values.len());
    *values.select_nth_unstable_by(place, f32::total_cmp).1
}

/// Brightness to 0 (darkest ink of the grid) and 1 (paper of the cell); whether it is a negative, which is
/// turned into a positive.
fn even_light(images: &mut Array4<f32>, light: &mut [Light]) -> bool {
    // The paper is what most of a cell shows, whatever is written on it; the lines tell the polarity.
    let mut lines_darker = 0_i32;
    for cell in 0..81 {
        let middle = ranked(images, cell, 0, |count| (count - 1) / 2);
        let rim = images.slice(ndarray::s![cell, 0, .., ..]);
        let line = |at: usize| (0..SIDE).map(|i| rim[[at, i]] + rim[[i, at]]).sum::<f32>() / (2 * SIDE) as f32;
        let on_line = line((MARGIN / (1.0 + 2.0 * MARGIN) * SIDE as f32) as usize);
        lines_darker += if on_line < middle { 1 } else { -1 };
    }
    let negative = lines_darker < -40;
    if negative {
        images.slice_mut(ndarray::s![.., 0, .., ..]).mapv_inplace(|value| 255.0 - value);
    }
    for (cell, light) in light.iter_mut().enumerate() {
        let paper = ranked(images, cell, 0, |count| (count - 1) * 4 / 5).max(8.0);
        light.paper = paper;
        images.slice_mut(ndarray::s![cell, 0, .., ..]).mapv_inplace(|value| value / paper);
    }
    let mut all: Vec<f32> = images.slice(ndarray::s![.., 0, .., ..]).iter().copied().collect();
    let place = all.len() / 100;
    let dark = *all.select_nth_unstable_by(place, f32::total_cmp).1;
    // A grid without ink (no line seen at all) isn't blown up to noise.
    let dark = dark.min(0.9);
    images.slice_mut(ndarray::s![.., 0, .., ..]).mapv_inplace(|value| ((value - dark) / (1.0 - dark)).clamp(0.0, 1.2));
    negative
}

/// Colour differences against the paper's own tint.
fn even_colour(images: &mut Array4<f32>) {
    for channel in 1..CHANNELS {
        let mut middles: Vec<f32> = (0..81).map(|cell| ranked(images, cell, channel, |count| count / 2)).collect();
        middles.sort_by(f32::total_cmp);
        let paper = middles[40];
        images.slice_mut(ndarray::s![.., channel, .., ..]).mapv_inplace(|value| (0.5 + (value - paper) / 128.0).clamp(0.0, 1.0));
    }
}
