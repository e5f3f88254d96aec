//! A page in colours, on which lines, shapes and stamps can be laid with soft edges.

use image::{Rgb, RgbImage};

use crate::decode::Page;
use crate::plane::Point;

/// Red, green and blue.
pub type Colour = [u8; 3];

/// A picture being drawn. Places are in page pixels; the picture may be some whole number of times larger, and
/// have a white margin around the page.
pub struct Canvas {
    picture: RgbImage,
    scale: u32,
    margin: u32,
}

/// A corner and the two sides that leave it: the frame in which a stamp is laid down.
#[derive(Clone, Copy, Debug)]
pub struct Frame {
    /// The corner that is top left as printed.
    pub origin: Point,
    /// From there along the top edge.
    pub right: Point,
    /// From there along the left edge.
    pub down: Point,
}

impl Frame {
    /// The place at shares `x` and `y` of the sides.
    pub fn at(&self, x: f32, y: f32) -> Point {
        self.origin + self.right * x + self.down * y
    }

    /// The part of the frame from shares `x`, `y`, with sides of `width` and `height` shares.
    pub fn part(&self, x: f32, y: f32, width: f32, height: f32) -> Self {
        Self { origin: self.at(x, y), right: self.right * width, down: self.down * height }
    }

    /// Its corners, clockwise as printed.
    pub fn corners(&self) -> [Point; 4] {
        [self.at(0.0, 0.0), self.at(1.0, 0.0), self.at(1.0, 1.0), self.at(0.0, 1.0)]
    }

    /// The shares at which `place` lies; `None` where the frame has no area.
    fn shares(&self, place: Point) -> Option<(f32, f32)> {
        let area = self.right.cross(self.down);
        let from = place - self.origin;
        (area.abs() > 1e-6).then(|| (from.cross(self.down) / area, self.right.cross(from) / area))
    }
}

impl Canvas {
    /// The page in its own colours, `scale` times as large, with a margin of `margin` page pixels on each side.
    pub fn new(page: &Page, scale: u32, margin: u32) -> Self {
        let (width, height) = page.luma.dimensions();
        let picture = RgbImage::from_fn((width + 2 * margin) * scale, (height + 2 * margin) * scale, |x, y| {
            let (x, y) = ((x / scale).wrapping_sub(margin), (y / scale).wrapping_sub(margin));
            if x < width && y < height { Rgb(colour_at(page, x, y)) } else { Rgb([255; 3]) }
        });
        Self { picture, scale, margin }
    }

    /// The finished picture.
    pub fn finish(self) -> RgbImage {
        self.picture
    }

    /// Draws a line of `width` page pixels with round ends.
    pub fn line(&mut self, from: Point, to: Point, width: f32, colour: Colour) {
        let along = to - from;
        let long = along.dot(along).max(1e-6);
        let half = width / 2.0;
        let soft = 1.0 / self.scale as f32;
        self.cover(&[from, to], half + soft, colour, |place| {
            let share = ((place - from).dot(along) / long).clamp(0.0, 1.0);
            0.5 + (half - place.distance(from + along * share)) / soft
        });
    }

    /// Draws the outline of a shape with corners.
    pub fn outline(&mut self, corners: &[Point], width: f32, colour: Colour) {
        for (&from, &to) in corners.iter().zip(corners.iter().cycle().skip(1)) {
            self.line(from, to, width, colour);
        }
    }

    /// Fills a frame.
    pub fn fill(&mut self, frame: &Frame, colour: Colour) {
        let (right, down) = (frame.right.length(), frame.down.length());
        let soft = 1.0 / self.scale as f32;
        self.cover(&frame.corners(), soft, colour, |place| {
            let Some((x, y)) = frame.shares(place) else { return 0.0 };
            let inside = [x * right, (1.0 - x) * right, y * down, (1.0 - y) * down];
            0.5 + inside.into_iter().fold(f32::INFINITY, f32::min) / soft
        });
    }

    /// Fills a disc.
    pub fn disc(&mut self, middle: Point, radius: f32, colour: Colour) {
        self.line(middle, middle, 2.0 * radius, colour);
    }

    /// Lays down a mask of `width` x `height` samples (row by row, 0 to 1) so that it fills the frame.
    pub fn stamp(&mut self, frame: &Frame, mask: &[f32], (width, height): (usize, usize), colour: Colour) {
        let sample = |x: isize, y: isize| {
            let inside = (0..width as isize).contains(&x) && (0..height as isize).contains(&y);
            if inside { mask[y as usize * width + x as usize] } else { 0.0 }
        };
        self.cover(&frame.corners(), 1.0, colour, |place| {
            let Some((x, y)) = frame.shares(place) else { return 0.0 };
            let (x, y) = (x * width as f32 - 0.5, y * height as f32 - 0.5);
            let (left, top) = (x.floor(), y.floor());
            let (dx, dy) = (x - left, y - top);
            let (left, top) = (left as isize, top as isize);
            let row = |y| sample(left, y) * (1.0 - dx) + sample(left + 1, y) * dx;
            row(top) * (1.0 - dy) + row(top + 1) * dy
        });
    }

    /// Samples of the picture for one page pixel.
    pub fn scale(&self) -> u32 {
        self.scale
    }

    /// Mixes `colour` into each pixel around `places` (`margin` page pixels beyond them) by the share that
    /// `coverage` gives for it.
    fn cover(&mut self, places: &[Point], margin: f32, colour: Colour, coverage: impl Fn(Point) -> f32) {
        let (scale, edge) = (self.scale as f32, self.margin as f32 + 0.5);
        let range = |value: fn(&Point) -> f32, end: u32| {
            let low = places.iter().map(value).fold(f32::INFINITY, f32::min) - margin;
            let high = places.iter().map(value).fold(f32::NEG_INFINITY, f32::max) + margin;
            // Casting to an unsigned number takes anything below zero, and no number, as zero.
            ((low + edge) * scale) as u32..(((high + edge) * scale).ceil() as u32).min(end)
        };
        let (columns, rows) = (range(|p| p.x, self.picture.width()), range(|p| p.y, self.picture.height()));
        for y in rows {
            for x in columns.clone() {
                let place = Point::new((x as f32 + 0.5) / scale - edge, (y as f32 + 0.5) / scale - edge);
                let share = coverage(place).clamp(0.0, 1.0);
                if share > 0.0 {
                    let Rgb(pixel) = self.picture.get_pixel_mut(x, y);
                    for (value, new) in pixel.iter_mut().zip(colour) {
                        *value = (f32::from(*value) * (1.0 - share) + f32::from(new) * share).round() as u8;
                    }
                }
            }
        }
    }
}

/// The page's colour at a pixel (JFIF 1.02, section "Conversion to and from RGB").
fn colour_at(page: &Page, x: u32, y: u32) -> Colour {
    let luma = f32::from(page.luma.get_pixel(x, y).0[0]);
    let Some([cb, cr]) = &page.chroma else { return [luma as u8; 3] };
    let difference = |plane: &image::GrayImage| f32::from(plane.get_pixel(x / 2, y / 2).0[0]) - 128.0;
    let (cb, cr) = (difference(cb), difference(cr));
    [luma + 1.402 * cr, luma - 0.344_136 * cb - 0.714_136 * cr, luma + 1.772 * cb].map(|value| value.round() as u8)
}
