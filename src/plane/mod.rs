//! Points, homographies and the lattice type, all in page pixels.
//!
//! The frame is the upright page: x runs right, y runs down, and whole numbers are pixel centres, so the
//! top left pixel of a page covers -0.5 to 0.5 in both directions.

mod homography;
mod lattice;

pub use homography::Homography;
pub use lattice::{Lattice, Turn};

/// A place on a page, in pixels of the upright page.
#[derive(Clone, Copy, Debug, Default, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Point {
    /// Pixels to the right of the centre of the leftmost pixels.
    pub x: f32,
    /// Pixels below the centre of the topmost pixels.
    pub y: f32,
}

impl Point {
    /// The point at `x`, `y`.
    pub const fn new(x: f32, y: f32) -> Self {
        Self { x, y }
    }

    /// The point a share `t` of the way from here to `other` (0 gives this one, 1 the other).
    pub fn toward(self, other: Self, t: f32) -> Self {
        self + (other - self) * t
    }

    /// The distance from the origin, in pixels.
    pub fn length(self) -> f32 {
        self.dot(self).sqrt()
    }

    /// The distance between two points, in pixels.
    pub fn distance(self, other: Self) -> f32 {
        (self - other).length()
    }

    /// The z part of the cross product: positive where `other` lies clockwise of this one on the page.
    pub fn cross(self, other: Self) -> f32 {
        self.x * other.y - self.y * other.x
    }

    /// The dot product.
    pub fn dot(self, other: Self) -> f32 {
        self.x * other.x + self.y * other.y
    }
}

impl std::ops::Add for Point {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::new(self.x + other.x, self.y + other.y)
    }
}

impl std::ops::Sub for Point {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::new(self.x - other.x, self.y - other.y)
    }
}

impl std::ops::Mul<f32> for Point {
    type Output = Self;
    fn mul(self, factor: f32) -> Self {
        Self::new(self.x * factor, self.y * factor)
    }
}
