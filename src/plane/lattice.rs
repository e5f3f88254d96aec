//! The 10x10 crossings of a grid's lines.

use super::{Homography, Point};

/// How far a print is rotated clockwise on the page.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Turn {
    /// Upright.
    #[default]
    None,
    /// 90 degrees clockwise: the printed top is on the right.
    Quarter,
    /// 180 degrees: upside down.
    Half,
    /// 270 degrees clockwise: the printed top is on the left.
    ThreeQuarter,
}

impl Turn {
    /// All four, by rising angle.
    pub const ALL: [Self; 4] = [Self::None, Self::Quarter, Self::Half, Self::ThreeQuarter];

    /// The angle in degrees clockwise: 0, 90, 180 or 270.
    pub const fn degrees(self) -> u16 {
        match self {
            Self::None => 0,
            Self::Quarter => 90,
            Self::Half => 180,
            Self::ThreeQuarter => 270,
        }
    }
}

/// The 10x10 crossings of a grid's lines in page pixels: ten rows from top to bottom, each from left to
/// right. It need be neither straight nor even, since it bends with the paper.
#[derive(Clone, Debug, PartialEq)]
pub struct Lattice {
    /// `points[row][column]`; where boxes stand apart, in the middle of the gap.
    pub points: [[Point; 10]; 10],
    /// How far the boxes stand apart, as a share of a cell's side.
    pub gap: f32,
}

impl From<[[Point; 10]; 10]> for Lattice {
    /// Without gaps.
    fn from(points: [[Point; 10]; 10]) -> Self {
        Self { points, gap: 0.0 }
    }
}

impl Lattice {
    /// The flat lattice spanned by four corners, clockwise from the top left; `None` where three of them
    /// lie on a line.
    pub fn from_corners(corners: [Point; 4]) -> Option<Self> {
        let map = Self::flat(corners)?;
        let points = std::array::from_fn(|row| std::array::from_fn(|column| map.apply(Point::new(column as f32, row as f32))));
        Some(points.into())
    }

    /// From cells (to the right of and below the top left corner, beyond the grid as well) to where they lie if the grid with these corners is flat; `None`
    /// where three of them lie on a line.
    pub fn flat(corners: [Point; 4]) -> Option<Homography> {
        let square = [Point::new(0.0, 0.0), Point::new(9.0, 0.0), Point::new(9.0, 9.0), Point::new(0.0, 9.0)];
        Homography::from_points(square, corners)
    }

    /// The outer corners, clockwise from the lattice's own top left.
    pub fn corners(&self) -> [Point; 4] {
        [self.points[0][0], self.points[0][9], self.points[9][9], self.points[9][0]]
    }

    /// The corners of the cell at `row`, `column` (each 0 to 8), clockwise from its top left; the gap beside its box is none of it.
    pub fn cell(&self, row: usize, column: usize) -> [Point; 4] {
        let p = &self.points;
        let corners = [p[row][column], p[row][column + 1], p[row + 1][column + 1], p[row + 1][column]];
        if self.gap == 0.0 {
            return corners;
        }
        // What of the way from line to line is gap: half of it, at an inner bound of the box.
        let share = self.gap / (2.0 + self.gap);
        let ends = |place: usize| match place {
            3 | 6 => (share, 1.0),
            2 | 5 => (0.0, 1.0 - share),
            _ => (0.0, 1.0),
        };
        let ((left, right), (top, bottom)) = (ends(column), ends(row));
        let [a, b, c, d] = corners;
        [(left, top), (right, top), (right, bottom), (left, bottom)]
            .map(|(across, down)| a.toward(b, across).toward(d.toward(c, across), down))
    }

    /// The mean length of a cell's side, in pixels.
    pub fn pitch(&self) -> f32 {
        let [a, b, c, d] = self.corners();
        (a.distance(b) + b.distance(c) + c.distance(d) + d.distance(a)) / 36.0
    }

    /// The area between its four corners, in pixels.
    pub fn area(&self) -> f32 {
        let [a, b, c, d] = self.corners();
        (c - a).cross(d - b).abs() / 2.0
    }

    /// The same crossings for a print that stands turned by `turn` on the page: the first row is then the
    /// one that is topmost *as printed*.
    pub fn read_at(&self, turn: Turn) -> Self {
        let p = &self.points;
        let points = std::array::from_fn(|row| {
            std::array::from_fn(|column| match turn {
                Turn::None => p[row][column],
                Turn::Quarter => p[column][9 - row],
                Turn::Half => p[9 - row][9 - column],
                Turn::ThreeQuarter => p[9 - column][row],
            })
        });
        Self { points, ..*self }
    }

    /// The same crossings, each row from right to left: what a mirror shows.
    pub fn mirrored(&self) -> Self {
        let mut points = self.points;
        points.iter_mut().for_each(|row| row.reverse());
        Self { points, ..*self }
    }

    /// The same crossings with each point put through `map`.
    pub fn map(&self, map: impl Fn(Point) -> Point) -> Self {
        Self { points: self.points.map(|row| row.map(&map)), ..*self }
    }

    /// Whether a point lies within the four corners.
    pub fn encloses(&self, point: Point) -> bool {
        let [a, b, c, d] = self.corners();
        let sides = [(a, b), (b, c), (c, d), (d, a)].map(|(from, to)| (to - from).cross(point - from) > 0.0);
        sides == [true; 4] || sides == [false; 4]
    }

    /// Whether some cells of another lattice lie within the four corners, by their middles: four at least, where bent paper might bring one or two in.
    pub fn shares_cells(&self, other: &Self) -> bool {
        const FEWEST: usize = 4;
        let p = &other.points;
        let middles = (0..81).map(|n| p[n / 9][n % 9].toward(p[n / 9 + 1][n % 9 + 1], 0.5));
        middles.filter(|&middle| self.encloses(middle)).count() >= FEWEST
    }

    /// Whether every cell is a proper quadrilateral, all wound the same way round.
    pub fn is_proper(&self) -> bool {
        let winding = |row, column| {
            let [a, b, c, d] = self.cell(row, column);
            [(a, b, c), (b, c, d), (c, d, a), (d, a, b)].map(|(p, q, r)| (q - p).cross(r - q) > 0.0)
        };
        let first = winding(0, 0)[0];
        (0..9).all(|row| (0..9).all(|column| winding(row, column) == [first; 4]))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square() -> Lattice {
        let corners = [Point::new(0.0, 0.0), Point::new(90.0, 0.0), Point::new(90.0, 90.0), Point::new(0.0, 90.0)];
        Lattice::from_corners(corners).expect("a square")
    }

    #[test]
    fn a_flat_lattice_is_even() {
        let lattice = square();
        assert!(lattice.points[4][7].distance(Point::new(70.0, 40.0)) < 1e-3);
        assert!((lattice.pitch() - 10.0).abs() < 1e-4);
        assert!(lattice.is_proper());
        assert!(lattice.encloses(Point::new(1.0, 89.0)) && !lattice.encloses(Point::new(-1.0, 45.0)));
        assert!(lattice.mirrored().encloses(Point::new(1.0, 89.0)));
    }

    #[test]
    fn lattices_that_share_a_box_share_cells() {
        let lattice = square();
        let moved = |by: f32| lattice.map(|p| Point::new(p.x + by, p.y + by));
        assert!(lattice.shares_cells(&moved(60.0)) && moved(60.0).shares_cells(&lattice));
        assert!(!lattice.shares_cells(&moved(80.0)));
    }

    #[test]
    fn cells_end_at_their_box() {
        // Boxes half a cell apart.
        let lines = [0.0, 10.0, 20.0, 32.5, 45.0, 55.0, 67.5, 80.0, 90.0, 100.0];
        let points = std::array::from_fn(|row| std::array::from_fn(|column| Point::new(lines[column], lines[row])));
        let lattice = Lattice { points, gap: 0.5 };
        for turn in Turn::ALL {
            for n in 0..81 {
                let [a, b, c, _] = lattice.read_at(turn).cell(n / 9, n % 9);
                assert!((a.distance(b) - 10.0).abs() < 1e-3 && (b.distance(c) - 10.0).abs() < 1e-3, "{turn:?} {n}");
            }
        }
        assert!(lattice.cell(2, 3)[0].distance(Point::new(35.0, 20.0)) < 1e-3);
    }

    #[test]
    fn a_turned_page_gives_turned_corners() {
        // A print turned a quarter clockwise has its own top left at the page's top right.
        let lattice = square();
        let first = Turn::ALL.map(|turn| lattice.read_at(turn).corners()[0]);
        let expected = [Point::new(0.0, 0.0), Point::new(90.0, 0.0), Point::new(90.0, 90.0), Point::new(0.0, 90.0)];
        for (got, want) in first.iter().zip(expected) {
            assert!(got.distance(want) < 1e-3, "{got:?} for {want:?}");
        }
        for turn in Turn::ALL {
            assert!(lattice.read_at(turn).is_proper());
        }
    }
}
