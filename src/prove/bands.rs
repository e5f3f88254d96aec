//! The places of a digit as three words of 27 bits, one a band, and what follows from three bits at a time.
//!
//! Within a word, bit 9 * (column of the box) + 3 * (row of the band) + (box of the band) stands for a cell. So the nine
//! crossings of a row with a box, which locked candidates are about, are nine neighbouring bits once the word's three
//! thirds are laid over one another, and a table of 512 entries knows all about them. Bit-parallel candidates and locked
//! candidates are general knowledge; the layout is chosen for this search.

/// The places in all three bands, band 0 at the top. The fourth word is always empty: with it, the places fill a
/// register of 128 bits.
pub(super) type Places = [u32; 4];

/// All cells of a band.
pub(super) const BAND: u32 = (1 << 27) - 1;

/// All cells.
pub(super) const ALL: Places = [BAND, BAND, BAND, 0];

/// The cells of the first box of a band; one bit up for the next.
pub(super) const BOX: u32 = 0o111_111_111;

/// The top row of a band.
const TOP: u32 = 7 | 7 << 9 | 7 << 18;

/// A cell: its band, and its bit there by number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Spot {
    pub(super) band: u8,
    pub(super) bit: u8,
}

impl Spot {
    /// Of each cell, row by row.
    pub(super) const OF: [Self; 81] = {
        let mut all = [Self { band: 0, bit: 0 }; 81];
        let mut cell = 0;
        while cell < 81 {
            let (row, column) = (cell / 9, cell % 9);
            all[cell] = Self { band: (row / 3) as u8, bit: (9 * (column % 3) + 3 * (row % 3) + column / 3) as u8 };
            cell += 1;
        }
        all
    };

    /// The cell's number, row by row; 27 bits of each band have one.
    pub(super) const fn cell(self) -> usize {
        let bit = self.bit as usize;
        27 * self.band as usize + 9 * (bit / 3 % 3) + 3 * (bit % 3) + bit / 9
    }

    /// The places that a digit in this cell leaves for that digit: this cell and all that don't see it.
    pub(super) fn leaves(self) -> &'static Places {
        &LEAVES[usize::from(self.band)][usize::from(self.bit & 31)]
    }
}

/// The numbers of the bits that are set, the lowest first.
#[inline(always)]
pub(super) fn bits(mut set: u32) -> impl Iterator<Item = usize> {
    std::iter::from_fn(move || {
        let bit = (set != 0).then(|| set.trailing_zeros() as usize)?;
        set &= set - 1;
        Some(bit)
    })
}

/// By band and bit.
static LEAVES: [[Places; 32]; 3] = {
    let mut all = [[ALL; 32]; 3];
    let mut cell = 0;
    while cell < 81 {
        let mut other = 0;
        while other < 81 {
            let same_row = cell / 9 == other / 9;
            let same_column = cell % 9 == other % 9;
            let same_box = cell / 27 == other / 27 && cell % 9 / 3 == other % 9 / 3;
            if cell != other && (same_row || same_column || same_box) {
                let (from, seen) = (Spot::OF[cell], Spot::OF[other]);
                all[from.band as usize][from.bit as usize][seen.band as usize] &= !(1 << seen.bit);
            }
            other += 1;
        }
        cell += 1;
    }
    all
};

/// What follows for a digit in a band from the crossings of rows with boxes that still have a place.
#[derive(Clone, Copy)]
struct Crossings {
    /// The cells of crossings that some choice of three uses, one in each row and each box. Nothing else can hold the
    /// digit: that is all that locked candidates say.
    open: u32,
    /// The cells of crossings that every such choice uses.
    fixed: u32,
}

/// For each set of crossings (bit 3 * row + box).
static CROSSINGS: [Crossings; 512] = {
    let mut all = [Crossings { open: 0, fixed: 0 }; 512];
    let mut set = 0;
    while set < 512 {
        let (mut open, mut fixed) = (0, 511);
        let mut choice = 0;
        while choice < 6 {
            let first = choice / 2;
            let second = (first + 1 + choice % 2) % 3;
            let third = 3 - first - second;
            let used = 1 << first | 8 << second | 64 << third;
            if set & used == used {
                open |= used;
                fixed &= used;
            }
            choice += 1;
        }
        // A crossing has a cell in each third of the word.
        let cells = 1 | 1 << 9 | 1 << 18;
        all[set as usize] = Crossings { open: open * cells, fixed: if open == 0 { 0 } else { fixed * cells } };
        set += 1;
    }
    all
};

/// What one look at a digit gives.
pub(super) struct Look {
    /// The places that are left.
    pub(super) left: Places,
    /// The places that are the only one in their box.
    pub(super) single: Places,
    /// Whether the columns took something away: then the rows are worth another look.
    pub(super) again: bool,
}

/// Takes from the places of a digit what locked candidates exclude, first by rows, then by columns, which covers
/// hidden singles of all houses; `None` where a band has no place left.
#[inline(always)]
pub(super) fn look([top, middle, bottom, _]: Places) -> Option<Look> {
    let crossings = |band: u32| CROSSINGS[((band | band >> 9 | band >> 18) & 511) as usize];
    let rows = [crossings(top), crossings(middle), crossings(bottom)];
    let before = [top & rows[0].open, middle & rows[1].open, bottom & rows[2].open];

    // The columns of each band that have a place, in the band's top row. In each stack the three bands take one
    // column each, one way round or the other.
    let [a, b, c] = before.map(|band| (band | band >> 3 | band >> 6) & TOP);
    let one_way = a & next_column(b) & last_column(c);
    let other_way = a & last_column(b) & next_column(c);
    let a = one_way | other_way;
    let b = last_column(one_way) | next_column(other_way);
    let c = next_column(one_way) | last_column(other_way);

    let left = [before[0] & all_rows(a), before[1] & all_rows(b), before[2] & all_rows(c)];
    if left[0] == 0 || left[1] == 0 || left[2] == 0 {
        return None;
    }
    // Where neither other band can take a column, this one does.
    let single = [
        left[0] & rows[0].fixed & all_rows(a & !b & !c),
        left[1] & rows[1].fixed & all_rows(b & !a & !c),
        left[2] & rows[2].fixed & all_rows(c & !a & !b),
    ];
    let again = (before[0] ^ left[0]) | (before[1] ^ left[1]) | (before[2] ^ left[2]) != 0;
    Some(Look { left: [left[0], left[1], left[2], 0], single: [single[0], single[1], single[2], 0], again })
}

/// At each column of a box, what stands at the column after it, the first after the last; bits from 27 mean nothing.
const fn next_column(columns: u32) -> u32 {
    columns >> 9 | columns << 18
}

/// At each column of a box, what stands at the column before it.
const fn last_column(columns: u32) -> u32 {
    columns >> 18 | columns << 9
}

/// Columns in the top row as all their cells of the band.
const fn all_rows(columns: u32) -> u32 {
    columns | columns << 3 | columns << 6
}

#[cfg(test)]
mod tests {
    use super::*;

    fn places(cells: &[usize]) -> Places {
        let mut places = [0; 4];
        for &cell in cells {
            places[usize::from(Spot::OF[cell].band)] |= 1 << Spot::OF[cell].bit;
        }
        places
    }

    #[test]
    fn spots_and_cells_match() {
        for (cell, spot) in Spot::OF.into_iter().enumerate() {
            assert_eq!(spot.cell(), cell);
            assert_eq!(spot.leaves().iter().map(|band| band.count_ones()).sum::<u32>(), 61);
            assert_eq!(1, spot.leaves()[usize::from(spot.band)] >> spot.bit & 1);
        }
    }

    #[test]
    fn a_look_says_what_all_arrangements_share() {
        // Every way to put a digit into all rows, columns and boxes, restricted to some places: a look must keep all
        // places that some way uses, and find the singles among those it keeps.
        let ways = arrangements();
        assert_eq!(ways.len(), 46_656);
        let mut state = 1_u64;
        let (mut contradictions, mut singles) = (0, 0);
        for round in 0..400 {
            let some = |state: &mut u64| {
                *state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
                ways[(*state >> 40) as usize % ways.len()]
            };
            let mut start = [0; 4];
            for _ in 0..round % 4 {
                start = std::array::from_fn(|band| start[band] | some(&mut state)[band]);
            }
            let struck = some(&mut state);
            let start: Places = std::array::from_fn(|band| start[band] & !struck[band]);
            let fitting = ways.iter().filter(|way| (0..3).all(|band| way[band] & !start[band] == 0));
            let used = fitting.fold([0; 4], |all: Places, way| std::array::from_fn(|band| all[band] | way[band]));
            match look(start) {
                None => {
                    contradictions += 1;
                    assert_eq!(used, [0; 4]);
                }
                Some(look) => {
                    for ((used, left), single) in used.into_iter().zip(look.left).zip(look.single) {
                        assert_eq!(used & !left, 0);
                        for square in 0..3 {
                            let here = left & BOX << square;
                            assert!(single & here == 0 || here.is_power_of_two());
                        }
                        singles += single.count_ones();
                    }
                }
            }
        }
        assert!(contradictions > 20 && singles > 100, "{contradictions} {singles}");
    }

    #[test]
    fn a_filled_digit_is_nine_singles() {
        let way = arrangements()[7];
        let look = look(way).unwrap();
        assert_eq!((look.left, look.single, look.again), (way, way, false));
        assert!(super::look(places(&[0, 30])).is_none());
    }

    fn arrangements() -> Vec<Places> {
        fn rest(row: usize, columns: &mut Vec<usize>, all: &mut Vec<Places>) {
            if row == 9 {
                all.push(places(&(0..9).map(|row| 9 * row + columns[row]).collect::<Vec<_>>()));
                return;
            }
            for column in 0..9 {
                let clashes = |other: usize| columns[other] == column || other / 3 == row / 3 && columns[other] / 3 == column / 3;
                if !(0..row).any(clashes) {
                    columns.push(column);
                    rest(row + 1, columns, all);
                    columns.pop();
                }
            }
        }
        let mut all = Vec::new();
        rest(0, &mut Vec::new(), &mut all);
        all
    }
}
