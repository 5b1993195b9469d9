//! Where the walk's lines come from: the command's own input, or keyboard and gauge together.

use std::io::{BufRead as _, Read as _};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::Duration;

use super::{Failure, World};
use crate::shop::gauge::{Address, GaugeError, Heard, listen_to_keyboard, reading};

/// The longest line taken at once; gauges send a dozen characters.
const LONGEST_LINE: u64 = 64 * 1024;
/// A streaming gauge that is quiet this long has ended its turn.
const QUIET: Duration = Duration::from_millis(1500);
/// How long a sweep waits for its first reading.
const PATIENCE: Duration = Duration::from_secs(30);

/// The walk's input.
pub(super) enum Lines {
    /// The command's own input.
    Stream,
    /// Keyboard and gauge, whichever speaks first.
    Merged(Receiver<Heard>),
}

/// What came next.
pub(super) enum Next {
    /// A line typed.
    Line(String),
    /// A reading of the gauge.
    Reading(String),
    /// Something to tell.
    Notice(String),
    /// No more lines will come.
    End,
}

impl Lines {
    pub(super) fn with_gauge(address: &Address) -> Result<Self, GaugeError> {
        let (to, from) = channel();
        address.listen(to.clone())?;
        listen_to_keyboard(to);
        Ok(Self::Merged(from))
    }

    /// Shows the prompt and waits for a line.
    pub(super) fn next(
        &mut self,
        world: &mut World<'_>,
        quiet: bool,
        ask: &str,
    ) -> Result<Next, Failure> {
        if quiet {
            write!(world.err, "{ask}")?;
            world.err.flush()?;
        } else {
            write!(world.out, "{ask}")?;
            world.out.flush()?;
        }
        let next = match self {
            Self::Stream => from_stream(world)?,
            Self::Merged(from) => match from.recv() {
                Ok(Heard::Typed(line)) => Next::Line(line),
                Ok(Heard::Gauge(line)) => match reading(&line) {
                    Some(value) => Next::Reading(value),
                    None => Next::Notice(format!("the gauge sent `{line}`, which holds no number")),
                },
                Ok(Heard::GaugeGone(why)) => {
                    Next::Notice(format!("the gauge is gone ({why}); go on at the keyboard"))
                }
                Ok(Heard::KeyboardEnded) | Err(_) => Next::End,
            },
        };
        // A pipe or a gauge does not echo: show the line as a person would see it.
        let echo = match &next {
            Next::Line(line) if !world.input_is_terminal => line.trim_end(),
            Next::Reading(value) => value.as_str(),
            Next::Line(_) => return Ok(next),
            Next::Notice(_) | Next::End => "",
        };
        if !quiet {
            writeln!(world.out, "{echo}")?;
        }
        Ok(next)
    }

    /// Gathers the readings of one turn; `None` without a gauge.
    pub(super) fn sweep(&mut self) -> Option<Vec<String>> {
        let Self::Merged(from) = self else {
            return None;
        };
        let mut readings = Vec::new();
        loop {
            let wait = if readings.is_empty() { PATIENCE } else { QUIET };
            match from.recv_timeout(wait) {
                Ok(Heard::Gauge(line)) => readings.extend(reading(&line)),
                Ok(Heard::Typed(_) | Heard::KeyboardEnded | Heard::GaugeGone(_))
                | Err(RecvTimeoutError::Timeout | RecvTimeoutError::Disconnected) => {
                    return Some(readings);
                }
            }
        }
    }
}

fn from_stream(world: &mut World<'_>) -> Result<Next, Failure> {
    let mut bytes = Vec::new();
    let mut input = (&mut *world.input).take(LONGEST_LINE);
    if input.read_until(b'\n', &mut bytes)? == 0 {
        return Ok(Next::End);
    }
    // A gauge on the wrong wiring sends bytes that are no text: shown as such, never a reading.
    Ok(Next::Line(
        String::from_utf8_lossy(&bytes)
            .trim_end_matches(['\r', '\n'])
            .to_owned(),
    ))
}
