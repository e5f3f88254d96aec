//! The words for marks, verdicts and reasons, the same wherever they are shown.

use std::fmt::{Display, Formatter, Result};

use super::{Mark, Reason, Verdict};

/// The alphabet of the forms: `5` given, `.` empty, `e5` entry, `m` marks, `x` other.
impl Display for Mark {
    fn fmt(&self, to: &mut Formatter<'_>) -> Result {
        match self {
            Self::Empty => to.write_str("."),
            Self::Given(digit) => write!(to, "{digit}"),
            Self::Entry(digit) => write!(to, "e{digit}"),
            Self::Marks => to.write_str("m"),
            Self::Other => to.write_str("x"),
        }
    }
}

impl Verdict {
    /// All of them, the most trusted first.
    pub const ALL: [Self; 5] = [Self::Proven, Self::Mended, Self::Doubtful, Self::Misprinted, Self::Unreadable];
}

impl Display for Verdict {
    fn fmt(&self, to: &mut Formatter<'_>) -> Result {
        to.write_str(match self {
            Self::Proven => "proven",
            Self::Mended => "mended",
            Self::Doubtful => "doubtful",
            Self::Misprinted => "misprinted",
            Self::Unreadable => "unreadable",
        })
    }
}

impl Display for Reason {
    fn fmt(&self, to: &mut Formatter<'_>) -> Result {
        to.write_str(match self {
            Self::Faint => "faint",
            Self::Blurred => "blurred",
            Self::Glare => "glare",
            Self::Covered => "covered",
            Self::RivalDigits => "rival digits",
            Self::PrintOrHandwriting => "print or handwriting",
            Self::MaybeEmpty => "maybe empty",
            Self::BreaksARule => "breaks a rule",
            Self::LineMissing => "line missing",
            Self::CutOff => "cut off",
            Self::TurnUnsure => "turn unsure",
            Self::Mended => "mended",
            Self::OtherRules => "other rules",
            Self::CutShort => "cut short",
            Self::TextDiffers => "text differs",
            Self::PrintedSolution => "printed solution disagrees",
            Self::ShotsDiffer => "shots differ",
        })
    }
}
