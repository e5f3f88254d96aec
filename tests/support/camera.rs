//! A phone's camera over a printed sheet: a little aslant and turned, light that falls off, blur, noise, JPEG.

use gridlift::decode::{Options, Page, open};
use gridlift::plane::{Homography, Point};
use image::codecs::jpeg::JpegEncoder;
use image::imageops::blur;
use image::{GrayImage, Luma};

use super::puzzles::Numbers;

/// How hard a camera makes it.
#[derive(Clone, Copy, Debug)]
pub struct Camera {
    /// How far each corner of the sheet may be off, in shares of its width.
    pub aslant: f32,
    /// How far the sheet may be turned either way, in degrees.
    pub turned: f32,
    /// The blur's spread in pixels.
    pub blur: f32,
    /// The noise's spread in grey levels.
    pub noise: f32,
    /// JPEG quality, 1 to 100.
    pub quality: u8,
}

/// A careful person at a desk.
pub const CAREFUL: Camera = Camera { aslant: 0.015, turned: 2.0, blur: 0.8, noise: 3.0, quality: 85 };

impl Camera {
    /// The sheet as this camera takes it, on a dark table, decoded from its JPEG file.
    pub fn take(&self, sheet: &GrayImage, numbers: &mut Numbers) -> Page {
        let mut share = || numbers.below(2001) as f32 / 1000.0 - 1.0;
        let (width, height) = (sheet.width() as f32, sheet.height() as f32);
        let rim = (width.max(height) * 0.06).round();
        let (middle, turn) = (Point::new(width / 2.0, height / 2.0), (share() * self.turned).to_radians());
        let corners = [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)].map(|(x, y)| Point::new(x, y));
        let taken = corners.map(|corner| {
            let from = corner - middle;
            let turned = Point::new(from.x * turn.cos() - from.y * turn.sin(), from.x * turn.sin() + from.y * turn.cos());
            middle + turned + Point::new(rim + share() * self.aslant * width, rim + share() * self.aslant * width)
        });
        let to_sheet = Homography::from_points(taken, corners).expect("four corners of a sheet");
        let (light_x, light_y) = (share() * 0.12, share() * 0.12);
        let size = ((width + 2.0 * rim) as u32, (height + 2.0 * rim) as u32);
        let photo = GrayImage::from_fn(size.0, size.1, |x, y| {
            let at = to_sheet.apply(Point::new(x as f32, y as f32));
            let lit = 0.86 + light_x * (x as f32 / size.0 as f32 - 0.5) + light_y * (y as f32 / size.1 as f32 - 0.5);
            Luma([(sample(sheet, at) * lit).round() as u8])
        });
        let mut photo = blur(&photo, self.blur);
        for pixel in photo.pixels_mut() {
            // The sum of three even numbers is nearly normal.
            let noise = (share() + share() + share()) * self.noise;
            pixel.0[0] = (f32::from(pixel.0[0]) + noise).round().clamp(0.0, 255.0) as u8;
        }
        let mut bytes = Vec::new();
        JpegEncoder::new_with_quality(&mut bytes, self.quality).encode_image(&photo).expect("a JPEG file");
        let mut pages = open(&bytes, &Options::default()).expect("a JPEG file");
        pages.next().expect("one page").expect("a whole page")
    }
}

/// Brightness between four pixels; a dark table beyond the sheet.
fn sample(sheet: &GrayImage, at: Point) -> f32 {
    let at_pixel = |x: f32, y: f32| {
        let inside = x >= 0.0 && y >= 0.0 && x < sheet.width() as f32 && y < sheet.height() as f32;
        if inside { f32::from(sheet.get_pixel(x as u32, y as u32).0[0]) } else { 70.0 }
    };
    let (left, top) = (at.x.floor(), at.y.floor());
    let (dx, dy) = (at.x - left, at.y - top);
    let row = |y: f32| at_pixel(left, y) * (1.0 - dx) + at_pixel(left + 1.0, y) * dx;
    row(top) * (1.0 - dy) + row(top + 1.0) * dy
}
