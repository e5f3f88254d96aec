//! What a walk is made of: deductions, the views they are seen in, and steps with their reasons.

use std::fmt;
use std::str::FromStr;

use crate::grid::{Cell, CellSet, Digit, Digits, House};

macro_rules! named {
    ($(#[$doc:meta])* $name:ident { $($(#[$variant_doc:meta])* $variant:ident = $text:literal,)* }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum $name { $($(#[$variant_doc])* #[doc = concat!("`", $text, "`")] $variant,)* }

        impl $name {
            /// Every one, in the order in which they are declared.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)*];

            /// The name used in JSON, on the command line and in the words file.
            pub const fn name(self) -> &'static str {
                match self { $(Self::$variant => $text,)* }
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(self.name())
            }
        }

        impl FromStr for $name {
            type Err = UnknownName;

            fn from_str(text: &str) -> Result<Self, UnknownName> {
                let wanted = text.trim();
                Self::ALL.iter().copied().find(|one| one.name().eq_ignore_ascii_case(wanted)).ok_or_else(|| UnknownName {
                    given: wanted.to_string(),
                    known: Self::ALL.iter().map(|one| one.name()).collect::<Vec<_>>().join(", "),
                })
            }
        }
    };
}

/// A deduction or view that this version doesn't know.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{given}` is not known here: use one of {known}")]
pub struct UnknownName {
    given: String,
    known: String,
}

named! {
    /// What is concluded, under its field name. The order is the ladder's: simplest first.
    Deduction {
        FullHouse = "full house",
        HiddenSingle = "hidden single",
        NakedSingle = "naked single",
        LockedCandidates = "locked candidates",
        HiddenPair = "hidden pair",
        NakedPair = "naked pair",
        HiddenTriple = "hidden triple",
        NakedTriple = "naked triple",
        XWing = "X-wing",
        UniqueRectangle = "unique rectangle",
        XyWing = "XY-wing",
        XyzWing = "XYZ-wing",
        SingleDigitChain = "single-digit chain",
        Colouring = "colouring",
        HiddenQuad = "hidden quad",
        NakedQuad = "naked quad",
        Swordfish = "swordfish",
        Jellyfish = "jellyfish",
        ForcingChain = "forcing chain",
        WhatIf = "what-if",
    }
}

named! {
    /// How a deduction is seen. [`patterns`](super::patterns) lists which views each deduction has.
    View {
        InBox = "in a box",
        InRow = "in a row",
        InColumn = "in a column",
        AlongRows = "along rows",
        AlongColumns = "along columns",
        AcrossBox = "where rows and columns cross the box",
        AlongTwoRows = "along two rows",
        AlongTwoColumns = "along two columns",
        RowCrossesColumn = "where a row and a column cross the box",
        AroundCell = "around the cell",
        OneHouse = "from one house",
        TwoHouses = "from two houses",
        BoxToRow = "from a box along a row",
        BoxToColumn = "from a box along a column",
        RowToBox = "from a row into a box",
        ColumnToBox = "from a column into a box",
        OneCornerOpen = "one corner open",
        SharedSpare = "two corners share a spare digit",
        SparePair = "two corners make a pair",
        TiedCorners = "two corners tied by a digit",
        LineAndBox = "over a line and a box",
        RowAndColumn = "over a row and a column",
        TwoLinks = "two links",
        ThreeLinks = "three links",
        FourLinks = "four links",
        ColourMeetsItself = "a colour meets itself",
        BetweenColours = "between the colours",
        CellRunsDry = "a cell runs dry",
        HouseRunsDry = "a house runs dry",
        OneLine = "one line",
        BranchingLines = "branching lines",
    }
}

impl View {
    /// The view of a deduction within one house.
    pub(super) const fn within(house: House) -> Self {
        if house.is_row() {
            Self::InRow
        } else if house.is_column() {
            Self::InColumn
        } else {
            Self::InBox
        }
    }
}

impl Deduction {
    /// Whether the step writes a digit; every other deduction strikes candidates.
    pub const fn puts(self) -> bool {
        matches!(self, Self::FullHouse | Self::HiddenSingle | Self::NakedSingle)
    }
}

/// Digits that can't stand in a cell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Strike {
    /// The empty cell.
    pub cell: Cell,
    /// The digits struck from it: never empty.
    pub digits: Digits,
}

/// A digit written into a cell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Put {
    /// The cell, empty before.
    pub cell: Cell,
    /// What is written.
    pub digit: Digit,
}

/// Four cells in two rows, two columns and two boxes that two digits can't fill: the puzzle would have two solutions.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rectangle {
    /// The corners, row by row; none of them is a given.
    pub cells: [Cell; 4],
    /// The two digits.
    pub digits: [Digit; 2],
}

/// Why one more digit falls in a line of consequences.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reason {
    /// It is what the line assumes.
    Assumed,
    /// It is the last digit for its cell.
    LastDigit,
    /// It is the last place for the digit in this house.
    LastPlace(House),
}

/// Where a line of consequences breaks down.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Breakdown {
    /// No digit is left for the cell.
    Cell(Cell),
    /// The house has no place left for the digit.
    House(House, Digit),
}

/// An assumption and what follows, up to where it breaks down.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// The assumption first, then its consequences in order.
    pub placements: Vec<(Put, Reason)>,
    /// How it ends.
    pub end: LineEnd,
}

/// The end of a line of consequences.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LineEnd {
    /// Nothing fits any more.
    Broken(Breakdown),
    /// Every digit left for this cell breaks down in a line of its own.
    Branches(Cell, Vec<Line>),
}

impl Line {
    /// Placements in the line and all its branches, assumptions included.
    pub fn len(&self) -> usize {
        self.placements.len()
            + match &self.end {
                LineEnd::Broken(_) => 0,
                LineEnd::Branches(_, lines) => lines.iter().map(Line::len).sum(),
            }
    }

    /// Whether nothing is assumed: never so for a line that a step carries.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }
}

/// A deduction seen in a position, before its reasons are looked up.
#[derive(Clone, Debug)]
pub(super) struct Sighting {
    pub deduction: Deduction,
    pub view: View,
    pub houses: Vec<House>,
    pub cells: CellSet,
    pub digits: Digits,
    pub puts: Option<Put>,
    pub strikes: Vec<Strike>,
    /// What the pattern needs: these digits can't stand in these cells.
    pub absences: Vec<(Cell, Digits)>,
    pub rectangle: Option<Rectangle>,
    pub line: Option<Line>,
}

/// One step of a walk with its reasons.
#[derive(Clone, Debug)]
pub struct Step {
    /// Its number in the walk, from 1.
    pub n: usize,
    /// What is concluded.
    pub deduction: Deduction,
    /// How it is seen.
    pub view: View,
    /// The houses of the pattern: base lines before cover lines for a fish.
    pub houses: Vec<House>,
    /// The cells of the pattern.
    pub cells: CellSet,
    /// The digits of the pattern.
    pub digits: Digits,
    /// The digit written, for a full house, hidden or naked single.
    pub puts: Option<Put>,
    /// What is struck, for every other deduction.
    pub strikes: Vec<Strike>,
    /// Filled cells outside the named houses that must be looked at.
    pub because_cells: CellSet,
    /// Numbers of the earlier steps whose strikes are used, ascending.
    pub because_facts: Vec<usize>,
    /// The rectangle, where the step needs the puzzle to have exactly one solution.
    pub rectangle: Option<Rectangle>,
    /// The assumption and its consequences, for forcing chains and what-ifs.
    pub line: Option<Line>,
    /// What the step costs someone who solves, in a unit such that the middle puzzle of the table of people's times takes 40.
    pub effort: f64,
    /// Earlier steps whose strikes this or a later step still cites.
    pub carried: usize,
}
