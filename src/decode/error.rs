//! What can keep a page from being decoded, by whose fault it is.

/// Why a file or a page gave no picture. Each message says what to do.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum DecodeError {
    /// There are no bytes at all.
    #[error("the file is empty: copy it again from where it came")]
    Empty,
    /// The bytes are of no known picture format.
    #[error("this is {}: give a JPEG, PNG, WebP, BMP, TIFF or PDF file", if *.looks_like_text { "text, not a picture" } else { "not a picture of a known kind" })]
    NotAPicture {
        /// Whether it is readable text.
        looks_like_text: bool,
    },
    /// A picture format, or a variant of one, that isn't read.
    #[error("{what} are not read: save the page as JPEG or PNG, with ImageMagick for example: magick FILE page.png")]
    Unsupported {
        /// The format or variant, in the plural.
        what: String,
    },
    /// The header promises more pixels than the limit.
    #[error("the picture is {width} x {height} pixels, and the limit is {} million pixels: shrink it", .limit_pixels / 1_000_000)]
    TooLarge {
        /// Pixels across, as the header says.
        width: u32,
        /// Pixels down, as the header says.
        height: u32,
        /// The limit that it breaks, in pixels.
        limit_pixels: u64,
    },
    /// A PDF that opens with a password only.
    #[error("the PDF is locked with a password, or in a way that isn't read: save a copy without a password")]
    Locked,
    /// None of the pages that were asked for is in the file.
    #[error("none of the pages asked for is there: the file has {count}")]
    NoSuchPage {
        /// How many pages there are.
        count: usize,
    },
    /// Of a supported format, and damaged so that nothing of the picture is left.
    #[error("the picture is damaged and nothing of it can be read ({detail}): take or copy it again")]
    Damaged {
        /// What the decoder stumbled over.
        detail: String,
    },
}

impl DecodeError {
    /// The kind in a word or two, as page JSON gives it.
    pub fn kind(&self) -> &'static str {
        match self {
            Self::Empty => "empty",
            Self::NotAPicture { .. } => "not a picture",
            Self::Unsupported { .. } => "not supported",
            Self::TooLarge { .. } => "too large",
            Self::Locked => "locked",
            Self::NoSuchPage { .. } => "no such page",
            Self::Damaged { .. } => "damaged",
        }
    }
}
