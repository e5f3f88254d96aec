//! Plane projective maps.

use super::Point;

/// A map between two planes that keeps straight lines straight, as a 3x3 matrix of f64 acting on (x, y, 1).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Homography([[f64; 3]; 3]);

impl Homography {
    /// The map that takes each of four points to its partner; `None` where three of `from` or of `to` lie
    /// (almost) on one line. Solves the 8x8 linear system of the direct linear transform (Hartley and
    /// Zisserman, Multiple View Geometry, 2nd edition, section 4.1), the last entry fixed to one.
    pub fn from_points(from: [Point; 4], to: [Point; 4]) -> Option<Self> {
        let mut rows = [[0.0_f64; 9]; 8];
        for (i, (a, b)) in from.iter().zip(&to).enumerate() {
            let (x, y) = (f64::from(a.x), f64::from(a.y));
            let (u, v) = (f64::from(b.x), f64::from(b.y));
            rows[2 * i] = [x, y, 1.0, 0.0, 0.0, 0.0, -u * x, -u * y, u];
            rows[2 * i + 1] = [0.0, 0.0, 0.0, x, y, 1.0, -v * x, -v * y, v];
        }
        let h = solve(&mut rows)?;
        Some(Self([[h[0], h[1], h[2]], [h[3], h[4], h[5]], [h[6], h[7], 1.0]]))
    }

    /// Where `point` goes. Points on the map's horizon give infinite coordinates.
    pub fn apply(&self, point: Point) -> Point {
        let (x, y) = (f64::from(point.x), f64::from(point.y));
        let [a, b, c] = self.0.map(|row| row[0] * x + row[1] * y + row[2]);
        Point::new((a / c) as f32, (b / c) as f32)
    }
}

/// Gaussian elimination with partial pivoting of an 8x9 augmented matrix.
fn solve(rows: &mut [[f64; 9]; 8]) -> Option<[f64; 8]> {
    for column in 0..8 {
        let pivot = (column..8).max_by(|&a, &b| rows[a][column].abs().total_cmp(&rows[b][column].abs()))?;
        if rows[pivot][column].abs() < 1e-9 {
            return None;
        }
        rows.swap(column, pivot);
        let lead = rows[column];
        for (i, row) in rows.iter_mut().enumerate() {
            if i != column {
                let factor = row[column] / lead[column];
                for (value, &above) in row.iter_mut().zip(&lead).skip(column) {
                    *value -= factor * above;
                }
            }
        }
    }
    Some(std::array::from_fn(|i| rows[i][8] / rows[i][i]))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn corner(x: f32, y: f32) -> impl Strategy<Value = Point> {
        (-20.0_f32..20.0, -20.0_f32..20.0).prop_map(move |(dx, dy)| Point::new(x + dx, y + dy))
    }

    proptest! {
        #[test]
        fn there_and_back(a in corner(0.0, 0.0), b in corner(100.0, 0.0), c in corner(100.0, 100.0), d in corner(0.0, 100.0), x in 0.0_f32..9.0, y in 0.0_f32..9.0) {
            let square = [Point::new(0.0, 0.0), Point::new(9.0, 0.0), Point::new(9.0, 9.0), Point::new(0.0, 9.0)];
            let quad = [a, b, c, d];
            let there = Homography::from_points(square, quad).expect("four corners of a convex quad");
            let back = Homography::from_points(quad, square).expect("four corners of a convex quad");
            let point = Point::new(x, y);
            prop_assert!(back.apply(there.apply(point)).distance(point) < 1e-2);
        }
    }

    #[test]
    fn three_on_a_line_is_none() {
        let line = [Point::new(0.0, 0.0), Point::new(1.0, 0.0), Point::new(2.0, 0.0), Point::new(0.0, 1.0)];
        let square = [Point::new(0.0, 0.0), Point::new(1.0, 0.0), Point::new(1.0, 1.0), Point::new(0.0, 1.0)];
        assert_eq!(Homography::from_points(line, square), None);
    }
}
