//! Which board is on at which second, as WebVTT (W3C, "WebVTT: The Web Video Text Tracks Format"): chapters for any player, and a
//! list to cut by.

use super::moments::Moment;

/// One board's time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cue {
    /// The board's number, as in its file's name.
    pub number: usize,
    /// From then, in milliseconds from the start.
    pub from_ms: u64,
    /// Until then: later than `from_ms`.
    pub to_ms: u64,
    /// What is on.
    pub text: String,
}

/// A recording that gives no times to cut by.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum CueError {
    /// No placement has a time.
    #[error("the recording has no times: write `2:05 r7c1 = 3` for what was written at two minutes and five seconds")]
    NoTimes,
    /// Time runs backwards.
    #[error("the recording goes back in time at {at}: put its lines in order")]
    Backwards {
        /// The heading of the moment at fault.
        at: String,
    },
}

/// A cue for each moment. One with a time ends then; those before it without a time share what has passed since the last in equal parts.
/// Those after the last time last a second each.
///
/// # Errors
/// Where no moment has a time, or one lies before the last.
pub fn cues(moments: &[Moment]) -> Result<Vec<Cue>, CueError> {
    if moments.iter().all(|moment| moment.until_seconds.is_none()) {
        return Err(CueError::NoTimes);
    }
    let (mut cues, mut waiting, mut now) = (Vec::with_capacity(moments.len()), Vec::new(), 0_u64);
    for moment in moments {
        waiting.push(moment);
        let Some(until) = moment.until_seconds.map(|seconds| u64::from(seconds) * 1000) else { continue };
        if until < now {
            return Err(CueError::Backwards { at: moment.heading.clone() });
        }
        // Two digits within one second: both wait for the next.
        if until > now {
            share(&mut cues, &mut waiting, now, until);
            now = until;
        }
    }
    let rest = now + 1000 * waiting.len() as u64;
    share(&mut cues, &mut waiting, now, rest);
    Ok(cues)
}

fn share(cues: &mut Vec<Cue>, waiting: &mut Vec<&Moment>, from: u64, to: u64) {
    let count = waiting.len() as u64;
    for (at, moment) in (0..).zip(waiting.drain(..)) {
        let time = |part: u64| from + (to - from) * part / count;
        cues.push(Cue { number: moment.number, from_ms: time(at), to_ms: time(at + 1), text: moment.heading.clone() });
    }
}

/// The cues as a WebVTT file. Each is named by its board's number, of three digits or more.
pub fn webvtt(cues: &[Cue]) -> String {
    let mut text = String::from("WEBVTT\n");
    for cue in cues {
        let said = cue.text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace(['\n', '\r'], " ");
        text.push_str(&format!("\n{:03}\n{} --> {}\n{said}\n", cue.number, clock(cue.from_ms), clock(cue.to_ms)));
    }
    text
}

fn clock(ms: u64) -> String {
    format!("{:02}:{:02}:{:02}.{:03}", ms / 3_600_000, ms / 60_000 % 60, ms / 1000 % 60, ms % 1000)
}
