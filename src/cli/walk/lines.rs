//! Where the walk's lines come from: the command's own input, or keyboard and gauges together.

use std::io::{BufRead as _, Read as _};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::{Duration, Instant};

use super::{Failure, World};
use crate::cli::error::Hint as _;
use crate::cli::style::wrapped_question;
use crate::job::Register;
use crate::shop::gauge::{Address, Heard, listen_to_keyboard};

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
    /// Keyboard and gauges, whichever speaks first.
    Merged(Merged),
}

/// Keyboard and gauges in one row.
pub(super) struct Merged {
    from: Receiver<Heard>,
    /// The mark of the instrument behind each gauge, where one was named.
    marks: Vec<Option<String>>,
    /// When each gauge spoke last.
    spoke: Vec<Option<Instant>>,
    /// What was heard while something else was waited for.
    kept: Option<Heard>,
}

/// A line of a gauge, not yet understood.
pub(super) struct Sent {
    /// The line.
    pub(super) line: String,
    /// The mark of the instrument behind the gauge, where one was named.
    pub(super) mark: Option<String>,
    /// Milliseconds since its line before.
    pub(super) gap_ms: Option<u64>,
}

/// What came next.
pub(super) enum Next {
    /// A line typed.
    Line(String),
    /// A line of a gauge.
    Sent(Sent),
    /// Something to tell.
    Notice(String),
    /// No more lines will come.
    End,
}

/// What came of a turn of a streaming dial.
pub(super) enum Swept {
    /// There is no gauge.
    NoGauge,
    /// The turn's lines, in order.
    Turn(Vec<Sent>),
    /// The turn was broken off; why.
    Broken(String),
}

impl Lines {
    /// Listens to the keyboard and to gauges, each at the speed given or on file.
    pub(super) fn with_gauges(texts: &[String], register: &Register) -> Result<Self, Failure> {
        let (to, from) = channel();
        let mut marks = Vec::new();
        for (gauge, text) in texts.iter().enumerate() {
            let mut address = Address::given(text)
                .hint("a path; PATH@BAUD for a serial device, or PATH@INSTRUMENT")?;
            with_speed(&mut address, register)?;
            address
                .listen(gauge, to.clone())
                .hint("go on without --gauge, or plug it in")?;
            marks.push(address.mark);
        }
        listen_to_keyboard(to);
        Ok(Self::Merged(Merged {
            from,
            spoke: vec![None; marks.len()],
            marks,
            kept: None,
        }))
    }

    /// Shows the prompt and waits for a line.
    pub(super) fn next(
        &mut self,
        world: &mut World<'_>,
        quiet: bool,
        ask: &str,
    ) -> Result<Next, Failure> {
        let ask = wrapped_question(ask);
        if quiet {
            write!(world.err, "{ask}")?;
            world.err.flush()?;
        } else {
            write!(world.out, "{ask}")?;
            world.out.flush()?;
        }
        let next = match self {
            Self::Stream => from_stream(world)?,
            Self::Merged(merged) => merged.next(),
        };
        // A pipe or a gauge does not echo: show the line as a person would see it.
        let echo = match &next {
            Next::Line(line) if !world.input_is_terminal => line.trim_end(),
            Next::Sent(sent) => sent.line.as_str(),
            Next::Line(_) => return Ok(next),
            Next::Notice(_) | Next::End => "",
        };
        if !quiet {
            writeln!(world.out, "{echo}")?;
        }
        Ok(next)
    }

    /// Gathers the lines of one turn.
    pub(super) fn sweep(&mut self) -> Swept {
        match self {
            Self::Stream => Swept::NoGauge,
            Self::Merged(merged) => merged.sweep(),
        }
    }
}

impl Merged {
    fn next(&mut self) -> Next {
        let heard = match self.kept.take() {
            Some(heard) => heard,
            None => match self.from.recv() {
                Ok(heard) => heard,
                Err(_) => return Next::End,
            },
        };
        match heard {
            Heard::Typed(line) => Next::Line(line),
            Heard::Gauge { gauge, line, at } => Next::Sent(self.sent(gauge, line, at)),
            Heard::GaugeGone { gauge, why } => Next::Notice(self.gone(gauge, &why)),
            Heard::KeyboardEnded => {
                // It stays ended: a gauge still plugged in must not keep the next prompt waiting.
                self.kept = Some(Heard::KeyboardEnded);
                Next::End
            }
        }
    }

    fn sent(&mut self, gauge: usize, line: String, at: Instant) -> Sent {
        let before = self
            .spoke
            .get_mut(gauge)
            .and_then(|spoke| spoke.replace(at));
        let gap = before.map(|before| at.saturating_duration_since(before).as_millis());
        Sent {
            line,
            mark: self.marks.get(gauge).cloned().flatten(),
            gap_ms: gap.map(|gap| u64::try_from(gap).unwrap_or(u64::MAX)),
        }
    }

    fn gone(&self, gauge: usize, why: &str) -> String {
        let mark = self.marks.get(gauge).and_then(Option::as_deref);
        let which = mark.map_or("the gauge".to_owned(), |mark| format!("the gauge {mark}"));
        format!("{which} is gone ({why}); go on at the keyboard")
    }

    fn sweep(&mut self) -> Swept {
        let mut turn = Vec::new();
        loop {
            let wait = if turn.is_empty() { PATIENCE } else { QUIET };
            match self.from.recv_timeout(wait) {
                Ok(Heard::Gauge { gauge, line, at }) => {
                    let sent = self.sent(gauge, line, at);
                    turn.push(sent);
                }
                // An empty line ends the turn; anything else typed is meant for the prompt.
                Ok(Heard::Typed(line)) if line.trim().is_empty() => return Swept::Turn(turn),
                Ok(typed @ Heard::Typed(_)) => {
                    self.kept = Some(typed);
                    return Swept::Broken("something was typed".to_owned());
                }
                Ok(Heard::GaugeGone { gauge, why }) => {
                    return Swept::Broken(self.gone(gauge, &why));
                }
                Ok(ended @ Heard::KeyboardEnded) => {
                    self.kept = Some(ended);
                    if turn.is_empty() {
                        return Swept::Turn(turn);
                    }
                }
                Err(RecvTimeoutError::Timeout | RecvTimeoutError::Disconnected) => {
                    return Swept::Turn(turn);
                }
            }
        }
    }
}

/// Gives a device the speed on file when none was named: its instrument's, else the only one there.
fn with_speed(address: &mut Address, register: &Register) -> Result<(), Failure> {
    if let Some(mark) = &address.mark {
        let instrument = register.get(mark).ok_or_else(|| {
            Failure::from(format!(
                "`{mark}` is neither a baud rate nor an instrument of the register"
            ))
            .hint("PATH@BAUD such as /dev/ttyUSB0@9600, or PATH@INSTRUMENT")
        })?;
        address.baud = instrument.baud.filter(|_| address.is_device());
        return Ok(());
    }
    if address.baud.is_some() || !address.is_device() {
        return Ok(());
    }
    let with_baud = register
        .instruments
        .iter()
        .filter_map(|i| Some((i, i.baud?)));
    let mut speeds: Vec<u32> = with_baud.clone().map(|(_, baud)| baud).collect();
    speeds.sort_unstable();
    speeds.dedup();
    match speeds.as_slice() {
        [] => Ok(()),
        [one] => {
            address.baud = Some(*one);
            Ok(())
        }
        _ => {
            let each: Vec<String> = with_baud
                .map(|(i, baud)| format!("{} {baud}", i.id))
                .collect();
            Err(Failure::from(format!(
                "instruments of the register send at different speeds: {}",
                each.join(", ")
            ))
            .hint("name the one that is plugged in: PATH@INSTRUMENT, or PATH@BAUD"))
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
