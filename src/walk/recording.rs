//! Reads a recording: one placement a line, such as `2:05 r7c1 = 3`; the time may be left out, `#` starts a comment.

use super::rehearse::Placement;
use super::step::Put;

/// A line that is no placement.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("line {line}: `{text}` is no placement: write it like `2:05 r7c1 = 3`, with or without the time")]
pub struct RecordingError {
    line: usize,
    text: String,
}

/// The placements of a recording, in order.
///
/// ```
/// let placements = gridlift::walk::recording("# the corner first\n2:05 r7c1 = 3\nr7c2=4\n").unwrap();
/// assert_eq!((placements[0].line, placements[0].seconds), (2, Some(125)));
/// assert_eq!(placements[1].put.digit.value(), 4);
/// ```
///
/// # Errors
/// At the first line that is neither a placement nor empty nor a comment.
pub fn recording(text: &str) -> Result<Vec<Placement>, RecordingError> {
    let mut placements = Vec::new();
    for (at, line) in text.lines().enumerate() {
        let said = line.split('#').next().unwrap_or_default().trim();
        if said.is_empty() {
            continue;
        }
        let placement = placement(at + 1, said).ok_or_else(|| RecordingError { line: at + 1, text: said.chars().take(40).collect() })?;
        placements.push(placement);
    }
    Ok(placements)
}

fn placement(line: usize, said: &str) -> Option<Placement> {
    let (before, digit) = said.split_once('=')?;
    let mut words = before.split_whitespace();
    let first = words.next()?;
    let (seconds, cell) = match words.next() {
        Some(cell) => (Some(seconds(first)?), cell),
        None => (None, first),
    };
    if words.next().is_some() {
        return None;
    }
    Some(Placement { line, seconds, put: Put { cell: cell.parse().ok()?, digit: digit.trim().parse().ok()? } })
}

/// `m:ss` or `h:mm:ss` in seconds.
fn seconds(text: &str) -> Option<u32> {
    let parts: Vec<&str> = text.split(':').collect();
    if !(2..=3).contains(&parts.len()) || parts[1..].iter().any(|part| part.len() != 2) {
        return None;
    }
    parts.iter().enumerate().try_fold(0_u32, |total, (at, part)| {
        let plain = !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
        let value: u32 = part.parse().ok().filter(|&value| plain && (at == 0 || value < 60))?;
        total.checked_mul(60)?.checked_add(value)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn odd_lines_are_refused_by_number() {
        for text in [
            "r7c1",
            "r7c1 = 0",
            "r0c1 = 3",
            "2:5 r1c1 = 3",
            "2:65 r1c1 = 3",
            "soon r1c1 = 3",
            "1 r1c1 = 3",
            "2:05 r1c1 r1c2 = 3",
            "99999999999:00 r1c1 = 3",
            "é = 3",
        ] {
            let error = recording(&format!("\n{text}")).unwrap_err();
            assert!(error.to_string().starts_with("line 2: "), "{error}");
        }
    }

    #[test]
    fn hours_and_comments_are_read() {
        let placements = recording("1:02:03 r1c1=9 # at last\n\n#nothing").unwrap();
        assert_eq!((placements.len(), placements[0].seconds), (1, Some(3723)));
    }
}
