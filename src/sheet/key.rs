//! The key to the marks: each kind that stands on some board of a file, with its shape and what it says.

use crate::grid::Digit;

use super::Face;
use super::board::{Small, assumption, cross, diamond, palette, rectangle, ring, sight, small, square, ticks};
use super::figure::centred;
use super::layout::{Area, DIGIT, Print};
use super::marks::Marks;
use super::moments::Moment;
use super::page::{BLACK, Item, Part, Path, Pen, Role};

/// A kind of mark, in the order of the key.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Kind {
    Printed,
    FilledIn,
    LookAlong,
    LookAt,
    Closes,
    InMind,
    RuledOut,
    Rectangle,
    Found,
    Assumed,
    Follows,
    Broken,
    AssumedAndStruck,
    Written,
    Struck,
}

/// The key to the marks of these boards.
#[derive(Clone, Debug, Default)]
pub(super) struct Key(Vec<Kind>);

impl Kind {
    const ALL: [Self; 15] = [
        Self::Printed,
        Self::FilledIn,
        Self::LookAlong,
        Self::LookAt,
        Self::Closes,
        Self::InMind,
        Self::RuledOut,
        Self::Rectangle,
        Self::Found,
        Self::Assumed,
        Self::Follows,
        Self::Broken,
        Self::AssumedAndStruck,
        Self::Written,
        Self::Struck,
    ];

    /// Whether the board of a moment shows one.
    fn is_on(self, moment: &Moment, marks: &Marks) -> bool {
        // Named one by one, so that no mark can be added without a thought for its key.
        let Marks { houses, looked_at, sights, carried, ruled_out, found, written, struck, rectangle, assumed, follows, broken } = marks;
        let strikes_assumed =
            |put: &crate::walk::Put| struck.iter().any(|strike| strike.cell == put.cell && strike.digits.contains(put.digit));
        match self {
            Self::Printed => !moment.givens.filled().is_empty(),
            Self::FilledIn => moment.board.filled() != moment.givens.filled(),
            Self::LookAlong => !houses.is_empty(),
            Self::LookAt => !looked_at.is_empty(),
            Self::Closes => !sights.is_empty(),
            Self::InMind => !carried.is_empty(),
            Self::RuledOut => !ruled_out.is_empty(),
            Self::Rectangle => rectangle.is_some(),
            Self::Found => !found.is_empty(),
            Self::Assumed => assumed.is_some_and(|put| !strikes_assumed(&put)),
            Self::AssumedAndStruck => assumed.is_some_and(|put| strikes_assumed(&put)),
            Self::Follows => !follows.is_empty(),
            Self::Broken => !broken.is_empty(),
            Self::Written => written.is_some(),
            Self::Struck => struck.iter().any(|strike| assumed.is_none_or(|put| put.cell != strike.cell)),
        }
    }

    /// Its shape, and what it says.
    const fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::Printed => ("bold digit", "printed"),
            Self::FilledIn => ("light digit", "filled in"),
            Self::LookAlong => ("long dashes around a house", "look along"),
            Self::LookAt => ("corner ticks", "look at"),
            Self::Closes => ("line with dots", "closes these cells"),
            Self::InMind => ("dotted capsule", "in mind"),
            Self::RuledOut => ("dotted bar that falls", "ruled out before"),
            Self::Rectangle => ("outline through four cells", "two ways to fill"),
            Self::Found => ("unbroken capsule", "found"),
            Self::Assumed => ("diamond", "assumed"),
            Self::Follows => ("square", "follows"),
            Self::Broken => ("cross", "breaks down"),
            Self::AssumedAndStruck => ("diamond with a bar", "assumed, so ruled out"),
            Self::Written => ("ring", "written"),
            Self::Struck => ("bar that rises", "struck"),
        }
    }

    /// An example around a point.
    fn sample(self, (x, y): (f32, f32), pitch: f32) -> Vec<Item> {
        let (at, five) = ((x, y), Digit::ALL[4]);
        let digit = |size: f32, face| centred("5", at, size * pitch, face, BLACK);
        match self {
            Self::Printed => vec![digit(DIGIT, Face::Bold)],
            Self::FilledIn => vec![digit(DIGIT, Face::Regular)],
            Self::LookAlong => {
                let path = Path::rounded(x - 0.45 * pitch, y - 0.28 * pitch, 0.9 * pitch, 0.56 * pitch, 0.1 * pitch);
                let pen = Pen::new(0.06 * pitch, palette::BLUE).dashed(0.26 * pitch, 0.12 * pitch);
                vec![Item::Fill { path: path.clone(), ink: palette::SKY_TINT }, Item::Stroke { path, pen }]
            }
            Self::LookAt => vec![ticks(at, pitch), digit(0.5, Face::Bold)],
            Self::Closes => sight((x - 0.45 * pitch, y), &[(x + 0.05 * pitch, y), (x + 0.45 * pitch, y)], pitch),
            Self::InMind => small(at, pitch, 0.44, Small::Carried, &[five]),
            Self::RuledOut => small(at, pitch, 0.5, Small::RuledOut, &[five]),
            Self::Rectangle => vec![rectangle((x - 0.4 * pitch, y - 0.26 * pitch), (x + 0.4 * pitch, y + 0.26 * pitch), pitch)],
            Self::Found => small(at, pitch, 0.44, Small::Found, &[five]),
            Self::Assumed => diamond(at, pitch, five).to_vec(),
            Self::AssumedAndStruck => assumption(at, pitch, five),
            Self::Follows => square(at, pitch, five).to_vec(),
            Self::Broken => vec![cross(at, pitch)],
            Self::Written => ring(at, pitch, five).to_vec(),
            Self::Struck => small(at, pitch, 0.5, Small::Struck, &[five]),
        }
    }
}

impl Key {
    /// The key to all that these boards show.
    pub fn of<'a>(boards: impl Iterator<Item = (&'a Moment, &'a Marks)>) -> Self {
        let mut kinds = Vec::new();
        for (moment, marks) in boards {
            kinds.extend(Kind::ALL.into_iter().filter(|kind| kind.is_on(moment, marks)));
            kinds.sort_unstable();
            kinds.dedup();
        }
        Self(kinds)
    }

    /// The key along the bottom of an area, and its height.
    pub fn draw(&self, area: Area, print: Print) -> (Part, f32) {
        let size = print.sizes().small;
        let (pitch, gap) = (size * 1.9, size * 1.4);
        let width = |kind: Kind| pitch * 1.2 + Face::Regular.width(kind.words().1, size) + gap;
        // Columns, each as wide as its widest entry: as few rows as there can be, then no more columns than those need.
        let columns = |count: usize| -> Vec<f32> {
            let widest = |column: usize| self.0.iter().skip(column).step_by(count).map(|&kind| width(kind)).fold(0.0, f32::max);
            (0..count).map(widest).collect()
        };
        let fits = |count: &usize| columns(*count).iter().sum::<f32>() - gap <= area.width;
        let most = (1..=self.0.len().max(1)).rev().find(fits).unwrap_or(1);
        let rows = self.0.len().div_ceil(most);
        let fewest = (1..=most).find(|count| self.0.len().div_ceil(*count) == rows && fits(count)).unwrap_or(most);
        let columns = columns(fewest);
        let step = pitch * 1.15;
        let height = rows as f32 * step;
        let top = area.y + area.height - height;
        let mut items = Vec::new();
        for (at, kind) in self.0.iter().enumerate() {
            let across: f32 = columns[..at % fewest].iter().sum();
            let (x, y) = (area.x + across + pitch / 2.0, top + ((at / fewest) as f32 + 0.5) * step);
            items.extend(kind.sample((x, y), pitch));
            let text = kind.words().1.into();
            items.push(Item::Text { at: (x + pitch * 0.7, y + size * 0.35), size, face: Face::Regular, ink: BLACK, text });
        }
        let told: Vec<String> = self.0.iter().map(|kind| kind.words()).map(|(shape, says)| format!("{shape}: {says}")).collect();
        (Part::new(Role::Figure(format!("Key to the marks. {}.", told.join("; "))), items), height)
    }
}
