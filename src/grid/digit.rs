use std::fmt;
use std::ops::{BitAnd, BitAndAssign, BitOr, BitOrAssign, Not, Sub, SubAssign};
use std::str::FromStr;

/// A digit, 1 to 9.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Digit(u8);

impl Digit {
    /// All digits, 1 first.
    pub const ALL: [Self; 9] = [Self(1), Self(2), Self(3), Self(4), Self(5), Self(6), Self(7), Self(8), Self(9)];

    /// The digit of this value; `None` outside 1 to 9.
    pub const fn new(value: u8) -> Option<Self> {
        if 1 <= value && value <= 9 { Some(Self(value)) } else { None }
    }

    /// Its value, 1 to 9.
    pub const fn value(self) -> u8 {
        self.0
    }

    /// Its place in [`Digit::ALL`], 0 to 8.
    pub const fn index(self) -> usize {
        self.0 as usize - 1
    }
}

impl fmt::Display for Digit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// A text that is no digit of a puzzle.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{0:?} is no digit from 1 to 9")]
pub struct DigitError(String);

impl FromStr for Digit {
    type Err = DigitError;

    fn from_str(text: &str) -> Result<Self, DigitError> {
        match *text.as_bytes() {
            [byte] => Self::new(byte.wrapping_sub(b'0')),
            _ => None,
        }
        .ok_or_else(|| DigitError(text.to_owned()))
    }
}

/// A set of digits, such as the candidates of a cell; iterated from 1 up.
///
/// ```
/// use gridlift::grid::{Digit, Digits};
/// let low: Digits = Digit::ALL[..4].iter().copied().collect();
/// assert_eq!(low.to_string(), "1234");
/// assert_eq!((Digits::ALL - low).len(), 5);
/// assert!(low.contains(Digit::new(4).unwrap()));
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Digits(u16);

impl Digits {
    /// No digit.
    pub const EMPTY: Self = Self(0);
    /// 1 to 9.
    pub const ALL: Self = Self(0x1ff);

    /// The digits whose bits are set, bit 0 for 1; bits above 8 are left out.
    pub const fn from_bits(bits: u16) -> Self {
        Self(bits & 0x1ff)
    }

    /// One bit a digit, bit 0 for 1.
    pub const fn bits(self) -> u16 {
        self.0
    }

    /// The set of this digit alone.
    pub const fn of(digit: Digit) -> Self {
        Self(1 << digit.index())
    }

    /// How many digits.
    pub const fn len(self) -> usize {
        self.0.count_ones() as usize
    }

    /// Whether there is none.
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// Whether the digit is in it.
    pub const fn contains(self, digit: Digit) -> bool {
        self.0 >> digit.index() & 1 == 1
    }

    /// Whether every digit of it is in `other`.
    pub const fn is_subset(self, other: Self) -> bool {
        self.0 & !other.0 == 0
    }

    /// Whether the two share a digit.
    pub const fn meets(self, other: Self) -> bool {
        self.0 & other.0 != 0
    }

    /// Puts the digit in.
    pub fn insert(&mut self, digit: Digit) {
        self.0 |= 1 << digit.index();
    }

    /// Takes the digit out.
    pub fn remove(&mut self, digit: Digit) {
        self.0 &= !(1 << digit.index());
    }

    /// Its least digit; `None` when empty.
    pub const fn first(self) -> Option<Digit> {
        Digit::new(self.0.trailing_zeros() as u8 + 1)
    }

    /// Its digit, where it has exactly one.
    pub const fn only(self) -> Option<Digit> {
        if self.0.is_power_of_two() { self.first() } else { None }
    }

    /// Its digits, from 1 up.
    pub fn iter(self) -> impl Iterator<Item = Digit> + Clone {
        let mut bits = self.0;
        std::iter::from_fn(move || {
            let digit = Self(bits).first()?;
            bits &= bits - 1;
            Some(digit)
        })
    }
}

impl BitAnd for Digits {
    type Output = Self;
    fn bitand(self, other: Self) -> Self {
        Self(self.0 & other.0)
    }
}

impl BitOr for Digits {
    type Output = Self;
    fn bitor(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }
}

impl Sub for Digits {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 & !other.0)
    }
}

impl Not for Digits {
    type Output = Self;
    fn not(self) -> Self {
        Self::ALL - self
    }
}

impl BitAndAssign for Digits {
    fn bitand_assign(&mut self, other: Self) {
        *self = *self & other;
    }
}

impl BitOrAssign for Digits {
    fn bitor_assign(&mut self, other: Self) {
        *self = *self | other;
    }
}

impl SubAssign for Digits {
    fn sub_assign(&mut self, other: Self) {
        *self = *self - other;
    }
}

impl From<Digit> for Digits {
    fn from(digit: Digit) -> Self {
        Self::of(digit)
    }
}

impl FromIterator<Digit> for Digits {
    fn from_iter<I: IntoIterator<Item = Digit>>(digits: I) -> Self {
        Self(digits.into_iter().fold(0, |bits, digit| bits | 1 << digit.index()))
    }
}

impl fmt::Display for Digits {
    /// Its digits without anything between them.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.iter().try_for_each(|digit| write!(f, "{digit}"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sets_hold_what_was_put_in() {
        for bits in 0..512 {
            let set = Digits::from_bits(bits);
            assert_eq!(set.iter().collect::<Digits>(), set);
            assert_eq!(set.iter().count(), set.len());
            assert_eq!(set.only().is_some(), set.len() == 1);
            assert_eq!(!!set, set);
        }
        assert_eq!(Digits::EMPTY.first(), None);
    }

    #[test]
    fn only_one_to_nine_are_digits() {
        assert_eq!(Digit::new(0), None);
        assert_eq!(Digit::new(10), None);
        for text in ["", "0", "12", "x"] {
            assert!(text.parse::<Digit>().is_err(), "{text:?}");
        }
        for digit in Digit::ALL {
            assert_eq!(digit.to_string().parse(), Ok(digit));
        }
    }
}
