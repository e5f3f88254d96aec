//! Which pages of a file are wanted.

use std::str::FromStr;

/// Page numbers from 1, as `3`, `12-40`, `5-` (to the end) or a list of these: `1,4-6`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PageRanges {
    /// First and last page of each range, both wanted.
    ranges: Vec<(u32, u32)>,
}

impl PageRanges {
    /// Whether page `number` is wanted.
    pub fn contains(&self, number: u32) -> bool {
        self.ranges.iter().any(|&(first, last)| (first..=last).contains(&number))
    }
}

impl FromStr for PageRanges {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let range = |part: &str| {
            let (first, last) = part.split_once('-').unwrap_or((part, part));
            let first: u32 = first.trim().parse().ok()?;
            let last = if last.trim().is_empty() { u32::MAX } else { last.trim().parse().ok()? };
            (1..=last).contains(&first).then_some((first, last))
        };
        let ranges = text.split(',').map(range).collect::<Option<Vec<_>>>();
        ranges.map(|ranges| Self { ranges }).ok_or_else(|| "write pages as 3, 12-40, 5- (to the end) or 1,4-6, counted from 1".into())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_are_read() {
        let cases: [(&str, &[u32]); 5] =
            [("3", &[3]), ("2-4", &[2, 3, 4]), ("8-", &[8, 9]), ("1,4-5", &[1, 4, 5]), (" 7 , 1 - 2", &[1, 2, 7])];
        for (text, expected) in cases {
            let ranges: PageRanges = text.parse().expect(text);
            let wanted: Vec<u32> = (0..10).filter(|&number| ranges.contains(number)).collect();
            assert_eq!(wanted, expected, "{text}");
        }
        for text in ["", "-", "0", "4-2", "1,", "-3", "a", "1-2-3", "99999999999"] {
            assert!(text.parse::<PageRanges>().is_err(), "{text}");
        }
    }
}
