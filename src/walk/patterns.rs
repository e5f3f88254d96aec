//! What each deduction looks like: its houses, its cells, what it needs, what it concludes, and the views it has.
//!
//! A step's premises are the rules of the puzzle, the digits in the filled cells of its named houses and in the cells it cites, and the strikes of the steps
//! it cites. "Open" below means: as far as the premises tell. `tests/support/walk_patterns.rs` holds the fields of steps against
//! this page, and a SAT solver referees that premises imply conclusions (`tests/walk_referee.rs`).
//!
//! | deduction | houses | cells, digits | the pattern | concludes |
//! | --- | --- | --- | --- | --- |
//! | full house | 1 | 1, 1 | one cell of the house is open | puts the house's last digit |
//! | hidden single | 1 | 1, 1 | the digit has one open place in the house | puts it |
//! | naked single | none | 1, 1 | the cell has one open digit | puts it |
//! | locked candidates | from, to: a box and a line, or a line and a box | the places, 1 | the digit's open places in `from` lie in `to` | strikes it from the rest of `to` |
//! | hidden pair, triple, quad | 1 | k, k | the k digits have no open place in the house but the k cells | strikes other digits from them |
//! | naked pair, triple, quad | 1 | k, k | the k cells have no open digit but the k | strikes those from the rest of the house |
//! | X-wing, swordfish, jellyfish | k base lines, then k cover lines | the places, 1 | the digit's open places in the base lines lie on the cover lines | strikes it from the rest of the cover lines |
//! | unique rectangle | none, or the house of the roof | the corners (and a third cell), 2 (and spares) | two or three corners have no open digit but the two; see the views | strikes what would leave two solutions |
//! | XY-wing | pivot to each wing | 3, 3 | three cells of two digits, ab, ac, bc; the pivot ab sees both wings | strikes c from what sees both wings |
//! | XYZ-wing | pivot to each wing | 3, 3 | the pivot has abc, the wings ac and bc | strikes c from what sees all three |
//! | single-digit chain | 2 to 4, in order | 2 a house, 1 | in each house the digit has two open places; the second of one sees the first of the next | strikes it from what sees both ends of the whole |
//! | colouring | 2 to 4, in order | houses + 1, 1 | in each house the digit has two open places, the second shared with the next house; colours take turns | see the views |
//! | forcing chain | up to 4 | all in its line | an assumption, then last digits and last places, at most 12 placements, until a cell or a house runs dry | strikes the assumption |
//! | what-if | none | all in its line | the same without a bound; its line may branch over the digits of a cell | strikes the assumption |
//!
//! For unique rectangle, XY-wing, XYZ-wing, single-digit chain, colouring and forcing chain the opposite of each strike falls from the
//! premises by singles within 16 placements. A forcing chain's names of houses are the first four in which it found a last place;
//! what it needs of others is cited cell by cell.
//!
//! The views:
//! - *full house* by its house. *Hidden single*: in a row, in a column, or in a box along rows (every other open cell lies in a row that
//!   holds the digit), along columns, or where rows and columns cross the box (both are needed, or a fact).
//! - *naked single*: from one house that holds the eight other digits, from two houses together, or around the cell.
//! - *locked candidates* by where the digit is confined and which house loses it.
//! - *hidden pair* in a box: along two rows (both digits stand in the row of every other open cell), along two columns, or where a row and a
//!   column cross the box (each other open cell has both digits in its row or both in its column); else by its house, as larger sets.
//! - *unique rectangle*: one corner open (three corners hold the pair alone: it is struck from the fourth); two corners share a spare digit (the
//!   other two hold the pair and one digit more, the same: one of them takes it); two corners make a pair (their two spare digits and
//!   a third cell of their house that holds just those); two corners tied by a digit (it has no other place in their house: the
//!   other digit of the pair is struck from both).
//! - *wings*: over a line and a box, or over a row and a column, by the two houses.
//! - *single-digit chain* by its number of houses. *Colouring*: a colour meets itself (two or four houses; the ends see each other: that colour is struck), or
//!   between the colours (three houses; struck from what sees both ends).
//! - *fish* along rows or along columns, by the base lines.
//! - *forcing chain*: a cell, or a house, runs dry. *What-if*: one line, or branching lines.

use super::step::{Deduction, View};

/// The views of a deduction.
pub const fn views(deduction: Deduction) -> &'static [View] {
    use View::*;
    match deduction {
        Deduction::FullHouse => &[InRow, InColumn, InBox],
        Deduction::HiddenSingle => &[InRow, InColumn, AlongRows, AlongColumns, AcrossBox],
        Deduction::NakedSingle => &[OneHouse, TwoHouses, AroundCell],
        Deduction::LockedCandidates => &[BoxToRow, BoxToColumn, RowToBox, ColumnToBox],
        Deduction::HiddenPair => &[InRow, InColumn, InBox, AlongTwoRows, AlongTwoColumns, RowCrossesColumn],
        Deduction::NakedPair | Deduction::HiddenTriple | Deduction::NakedTriple | Deduction::HiddenQuad | Deduction::NakedQuad => {
            &[InRow, InColumn, InBox]
        }
        Deduction::XWing | Deduction::Swordfish | Deduction::Jellyfish => &[AlongRows, AlongColumns],
        Deduction::UniqueRectangle => &[OneCornerOpen, SharedSpare, SparePair, TiedCorners],
        Deduction::XyWing => &[LineAndBox, RowAndColumn],
        Deduction::XyzWing => &[LineAndBox],
        Deduction::SingleDigitChain => &[TwoLinks, ThreeLinks, FourLinks],
        Deduction::Colouring => &[ColourMeetsItself, BetweenColours],
        Deduction::ForcingChain => &[CellRunsDry, HouseRunsDry],
        Deduction::WhatIf => &[OneLine, BranchingLines],
    }
}
