//! Frames for video: one board each, all of the same geometry, with nothing where the camera's picture is to be seen.

use super::board::{RIM, SMALL, palette};
use super::boards::board_part;
use super::caption::{Caption, Fit};
use super::layout::LayoutError;
use super::marks::marks;
use super::moments::Moment;
use super::page::{Item, Page, Part, Path, Role};

/// Points across and down of a frame; 1920 x 1080 pixels are two to the point.
const SIZE: (f32, f32) = (960.0, 540.0);
/// The blank rim of a frame, and the padding of its cards.
const GAP: f32 = 12.0;
/// Type, and the least of it: 24 lines of a picture of 1080, a 45th of its height; common practice, no source.
const TYPE: (f32, f32) = (16.0, 12.0);

/// A frame for each moment, 960 x 540 points: the board at the left, heading and sentence in a strip along the bottom, and nothing in the
/// rest. All have the same geometry, so that one can follow another without a jump: give all moments of a puzzle, and show those wanted.
///
/// # Errors
/// Where the longest sentence leaves too little room for the board.
pub fn board_frames(moments: &[Moment]) -> Result<Vec<Page>, LayoutError> {
    let (width, height) = SIZE;
    let captions: Vec<Caption<'_>> =
        moments.iter().map(|moment| Caption { heading: moment.heading.clone(), sentence: &moment.sentence }).collect();
    let card = |x: f32, y: f32, width: f32, height: f32| Item::Fill { path: Path::rounded(x, y, width, height, 8.0), ink: palette::WHITE };
    let strip = width - 2.0 * GAP;
    let fit = Fit::of(&captions, strip - 2.0 * GAP, TYPE, |text| height - 5.0 * GAP - text);
    LayoutError::check_frame(fit.side / 9.0 * SMALL)?;
    let board = fit.side * (9.0 + RIM) / 9.0 + GAP;
    let text = (2.0 * GAP, 2.5 * GAP + board);
    let frame = |(moment, caption): (&Moment, &Caption<'_>)| {
        let below = 2.0 * GAP + board;
        let cards = vec![card(GAP, GAP, board, board), card(GAP, below, strip, height - GAP - below)];
        let mut parts = vec![Part::new(Role::Ornament, cards), fit.heading(caption, text)];
        parts.push(board_part(moment, &marks(moment), (GAP * 1.25, GAP * 1.25), fit.side));
        parts.extend(fit.paragraph(fit.sentence_lines(caption), (text.0, text.1 + fit.heading)));
        Page { width, height, title: format!("Board {}", moment.heading), parts }
    };
    Ok(moments.iter().zip(&captions).map(frame).collect())
}
