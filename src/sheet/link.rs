//! An address as a QR code (ISO/IEC 18004), so that someone with the printed sheet finds the video or page that belongs to it.

use qrcode::{Color, EcLevel, QrCode};

use super::page::{BLACK, Item, Path};

/// A module must be this wide in print, in points (0.4 mm), so that a phone reads it from a sheet on a table: common practice, no source.
const SMALLEST_MODULE: f32 = 1.13;
/// The widest code that leaves room beside it, in points (42 mm).
const WIDEST: f32 = 120.0;
/// The usual width, in points (24 mm).
const USUAL: f32 = 68.0;
/// White modules around the code, by ISO/IEC 18004.
const QUIET: usize = 4;

/// An address with its code.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Link {
    address: String,
    /// Modules along a side, the quiet ones left out.
    modules: usize,
    /// Whether each module is dark, row by row.
    dark: Vec<bool>,
}

/// An address that can't be printed as a code.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum LinkError {
    /// It is no address of a page.
    #[error("{0:?} is no web address: write it in full, such as https://example.org/week7")]
    Address(String),
    /// Its code would be too fine.
    #[error("an address of {0} characters makes a code too fine to print: use a shorter one")]
    Length(usize),
}

impl Link {
    /// The address with its code, of medium error correction (15 % of it may be lost).
    ///
    /// # Errors
    /// Where it doesn't begin with `http://` or `https://`, holds anything but visible ASCII, or is too long.
    pub fn new(address: &str) -> Result<Self, LinkError> {
        let rest = address.strip_prefix("https://").or_else(|| address.strip_prefix("http://"));
        if !rest.is_some_and(|rest| !rest.is_empty() && rest.chars().all(|character| character.is_ascii_graphic())) {
            return Err(LinkError::Address(address.chars().take(80).collect()));
        }
        let too_long = || LinkError::Length(address.len());
        let code = QrCode::with_error_correction_level(address, EcLevel::M).map_err(|_| too_long())?;
        let modules = code.width();
        let dark = code.to_colors().into_iter().map(|colour| colour == Color::Dark).collect();
        let link = Self { address: address.into(), modules, dark };
        if link.width() > WIDEST { Err(too_long()) } else { Ok(link) }
    }

    /// The address.
    pub fn address(&self) -> &str {
        &self.address
    }

    /// How wide and high the code is printed, its quiet margin included, in points.
    pub fn width(&self) -> f32 {
        USUAL.max(SMALLEST_MODULE * (self.modules + 2 * QUIET) as f32)
    }

    /// The code with its top left corner, quiet margin included, at (x, y).
    pub(super) fn code(&self, x: f32, y: f32) -> Item {
        let module = self.width() / (self.modules + 2 * QUIET) as f32;
        let mut path = Path::default();
        for (row, line) in self.dark.chunks(self.modules).enumerate() {
            // Dark modules side by side make one rectangle: no hairlines between them.
            let mut column = 0;
            while column < line.len() {
                let run = line[column..].iter().take_while(|&&dark| dark).count();
                if run > 0 {
                    let (left, top) = ((column + QUIET) as f32 * module, (row + QUIET) as f32 * module);
                    path.extend(Path::rectangle(x + left, y + top, run as f32 * module, module));
                }
                column += run.max(1);
            }
        }
        Item::Fill { path, ink: BLACK }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_addresses_become_codes() {
        assert!(Link::new("https://example.org/orchard/7").is_ok());
        for wrong in ["", "example.org", "https://", "https://a b", "javascript:alert(1)", "https://exämple.org"] {
            assert!(matches!(Link::new(wrong), Err(LinkError::Address(_))), "{wrong}");
        }
        assert!(matches!(Link::new(&format!("https://example.org/{}", "x".repeat(3000))), Err(LinkError::Length(_))));
    }
}
