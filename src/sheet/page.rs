//! A page as a list of things to draw, the same for every file format.
//!
//! Lengths are points, 72 to the inch; the origin is the top left corner, x runs right and y down.

/// Points to a millimetre.
pub const MILLIMETRE: f32 = 72.0 / 25.4;

/// How far the control points of a quarter circle lie from the corner, in radii: 1 - 4/3 (sqrt 2 - 1).
const NEAR: f32 = 0.447_715;

/// One page.
#[derive(Clone, Debug, PartialEq)]
pub struct Page {
    /// Points across.
    pub width: f32,
    /// Points down.
    pub height: f32,
    /// What the page is, in a few words.
    pub title: String,
    /// What stands on it, in reading order; later parts lie on top.
    pub parts: Vec<Part>,
}

/// Things on a page that belong together, and what they are to someone who can't see them.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// What it is.
    pub role: Role,
    /// From the frame of its items to the page.
    pub placing: Placing,
    /// What is drawn, in order.
    pub items: Vec<Item>,
}

/// What a part is to someone who reads the file by ear.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Role {
    /// A heading.
    Heading,
    /// A line or more of text.
    Paragraph,
    /// A picture, told in words.
    Figure(String),
    /// An address to follow.
    Link(String),
    /// Nothing to be read: rules, page numbers, colour.
    Ornament,
}

/// An affine map: `x' = a x + c y + e`, `y' = b x + d y + f`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placing {
    /// The factors a to f.
    pub factors: [f32; 6],
}

/// A colour: red, green and blue.
pub type Ink = [u8; 3];

/// The ink of digits and rims.
pub const BLACK: Ink = [0, 0, 0];

/// One thing to draw.
#[derive(Clone, Debug, PartialEq)]
pub enum Item {
    /// The inside of an outline, by the non-zero rule.
    Fill {
        /// The outline.
        path: Path,
        /// Its colour.
        ink: Ink,
    },
    /// A line.
    Stroke {
        /// Where it runs.
        path: Path,
        /// How it looks.
        pen: Pen,
    },
    /// A line of text.
    Text {
        /// Where it begins, on the baseline.
        at: (f32, f32),
        /// Its size: the height of the font's em.
        size: f32,
        /// The face.
        face: super::Face,
        /// Its colour.
        ink: Ink,
        /// What it says.
        text: String,
    },
}

/// How a line looks. Its joins are round.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pen {
    /// Its width.
    pub width: f32,
    /// Lengths of dash and gap; `None` for an unbroken line.
    pub dash: Option<[f32; 2]>,
    /// Its ends.
    pub ends: Ends,
    /// Its colour.
    pub ink: Ink,
}

/// The ends of a line and of its dashes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ends {
    /// Cut off where the line ends.
    Flat,
    /// Half a disc beyond.
    Round,
}

/// Lines and curves.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Path(pub Vec<Segment>);

/// A piece of a path.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Segment {
    /// Begins anew here.
    Move(f32, f32),
    /// A straight line to here.
    Line(f32, f32),
    /// A cubic Bézier curve: two control points and the end.
    Curve([f32; 6]),
    /// Back to where it began.
    Close,
}

impl Pen {
    /// An unbroken line with flat ends.
    pub const fn new(width: f32, ink: Ink) -> Self {
        Self { width, dash: None, ends: Ends::Flat, ink }
    }

    /// The same, in dashes.
    pub const fn dashed(self, dash: f32, gap: f32) -> Self {
        Self { dash: Some([dash, gap]), ..self }
    }

    /// The same with round ends.
    pub const fn round(self) -> Self {
        Self { ends: Ends::Round, ..self }
    }
}

impl Placing {
    /// Nothing moves.
    pub const NONE: Self = Self { factors: [1.0, 0.0, 0.0, 1.0, 0.0, 0.0] };

    /// Moves by so much.
    pub const fn shift(x: f32, y: f32) -> Self {
        Self { factors: [1.0, 0.0, 0.0, 1.0, x, y] }
    }

    /// Turns a frame of this size upside down within its place.
    pub const fn half_turn(width: f32, height: f32) -> Self {
        Self { factors: [-1.0, 0.0, 0.0, -1.0, width, height] }
    }

    /// First this one, then `other`.
    #[must_use]
    pub fn then(self, other: Self) -> Self {
        let [a, b, c, d, e, f] = self.factors;
        let ((a, b), (c, d), (e, f)) = (other.turned(a, b), other.turned(c, d), other.point(e, f));
        Self { factors: [a, b, c, d, e, f] }
    }

    /// Where a point comes to lie.
    pub fn point(self, x: f32, y: f32) -> (f32, f32) {
        let (turned_x, turned_y) = self.turned(x, y);
        (turned_x + self.factors[4], turned_y + self.factors[5])
    }

    fn turned(self, x: f32, y: f32) -> (f32, f32) {
        let [a, b, c, d, ..] = self.factors;
        (a * x + c * y, b * x + d * y)
    }
}

impl Path {
    /// A straight line.
    pub fn line(from: (f32, f32), to: (f32, f32)) -> Self {
        Self(vec![Segment::Move(from.0, from.1), Segment::Line(to.0, to.1)])
    }

    /// Lines from point to point, not closed.
    pub fn through(points: &[(f32, f32)]) -> Self {
        let step = |(at, &(x, y)): (usize, &(f32, f32))| if at == 0 { Segment::Move(x, y) } else { Segment::Line(x, y) };
        Self(points.iter().enumerate().map(step).collect())
    }

    /// A rectangle by its top left corner and its size.
    pub fn rectangle(x: f32, y: f32, width: f32, height: f32) -> Self {
        let mut path = Self::through(&[(x, y), (x + width, y), (x + width, y + height), (x, y + height)]);
        path.0.push(Segment::Close);
        path
    }

    /// A rectangle with rounded corners.
    pub fn rounded(x: f32, y: f32, width: f32, height: f32, radius: f32) -> Self {
        let near = radius * NEAR;
        let (right, low) = (x + width, y + height);
        Self(vec![
            Segment::Move(x + radius, y),
            Segment::Line(right - radius, y),
            Segment::Curve([right - near, y, right, y + near, right, y + radius]),
            Segment::Line(right, low - radius),
            Segment::Curve([right, low - near, right - near, low, right - radius, low]),
            Segment::Line(x + radius, low),
            Segment::Curve([x + near, low, x, low - near, x, low - radius]),
            Segment::Line(x, y + radius),
            Segment::Curve([x, y + near, x + near, y, x + radius, y]),
            Segment::Close,
        ])
    }

    /// A circle.
    pub fn circle(x: f32, y: f32, radius: f32) -> Self {
        let (left, top, right, low) = (x - radius, y - radius, x + radius, y + radius);
        let near = radius * NEAR;
        Self(vec![
            Segment::Move(x, top),
            Segment::Curve([right - near, top, right, top + near, right, y]),
            Segment::Curve([right, low - near, right - near, low, x, low]),
            Segment::Curve([left + near, low, left, low - near, left, y]),
            Segment::Curve([left, top + near, left + near, top, x, top]),
            Segment::Close,
        ])
    }

    /// Adds the other path's pieces.
    pub fn extend(&mut self, other: Self) {
        self.0.extend(other.0);
    }
}

impl Part {
    /// A part whose items lie in the page's own frame.
    pub const fn new(role: Role, items: Vec<Item>) -> Self {
        Self { role, placing: Placing::NONE, items }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn placings_follow_each_other() {
        let placing = Placing::half_turn(10.0, 20.0).then(Placing::shift(100.0, 200.0));
        assert_eq!(placing.point(1.0, 2.0), (109.0, 218.0));
        assert_eq!(Placing::shift(1.0, 2.0).then(Placing::half_turn(10.0, 20.0)).point(0.0, 0.0), (9.0, 18.0));
    }
}
