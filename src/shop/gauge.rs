//! Gauges that send their readings: a serial device, a pipe, a pseudo-terminal.

use std::io::{self, BufRead as _, Read};
use std::path::{Path, PathBuf};
use std::sync::mpsc::Sender;
use std::time::{Duration, Instant};

/// Where lines come from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Heard {
    /// A line typed at the keyboard.
    Typed(String),
    /// A line sent by a gauge.
    Gauge {
        /// Which of the gauges listened to, from 0.
        gauge: usize,
        /// The line.
        line: String,
        /// When its end arrived.
        at: Instant,
    },
    /// The keyboard's stream has ended.
    KeyboardEnded,
    /// A gauge was unplugged, or its stream ended; the system's words.
    GaugeGone {
        /// Which of the gauges listened to, from 0.
        gauge: usize,
        /// Why.
        why: String,
    },
}

/// A gauge's address: a path, then a baud rate or the instrument's mark.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Address {
    /// The device, pipe or pseudo-terminal.
    pub path: PathBuf,
    /// Baud rate; none for a pipe or a device that needs none.
    pub baud: Option<u32>,
    /// The mark of the instrument behind it, as in the register.
    pub mark: Option<String>,
}

/// Why a gauge could not be opened.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum GaugeError {
    /// What stands behind the `@` is neither a rate nor a mark.
    #[error("`{0}` is not a baud rate; expected a number such as 9600, or an instrument's mark")]
    Baud(String),
    /// The serial device refused.
    #[error("cannot open gauge `{}`", path.display())]
    Serial {
        /// The device.
        path: PathBuf,
        /// The reason.
        source: serialport::Error,
    },
    /// The file system refused.
    #[error("cannot open gauge `{}`", path.display())]
    Io {
        /// The device.
        path: PathBuf,
        /// The system's reason.
        source: io::Error,
    },
}

impl std::str::FromStr for Address {
    type Err = GaugeError;

    fn from_str(text: &str) -> Result<Self, GaugeError> {
        let (path, after) = match text.rsplit_once('@') {
            Some((path, after)) => (path, Some(after)),
            None => (text, None),
        };
        let number = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
        let (baud, mark) = match after {
            None => (None, None),
            Some(after) if number(after) => match after.parse::<u32>() {
                Ok(rate) if rate > 0 => (Some(rate), None),
                _ => return Err(GaugeError::Baud(after.to_owned())),
            },
            Some(after) => (None, Some(after.to_owned())),
        };
        Ok(Self {
            path: path.into(),
            baud,
            mark,
        })
    }
}

impl Address {
    /// Reads an address as it was given; a path that is there as a whole is one, `@` and all.
    ///
    /// # Errors
    /// [`GaugeError::Baud`] for what stands behind the `@`.
    pub fn given(text: &str) -> Result<Self, GaugeError> {
        if Path::new(text).exists() {
            return Ok(Self {
                path: text.into(),
                baud: None,
                mark: None,
            });
        }
        text.parse()
    }

    /// Whether the path is a device, for which a speed means something; a pipe and a file have none.
    #[must_use]
    pub fn is_device(&self) -> bool {
        #[cfg(unix)]
        {
            use std::os::unix::fs::FileTypeExt as _;
            std::fs::metadata(&self.path).is_ok_and(|meta| meta.file_type().is_char_device())
        }
        #[cfg(not(unix))]
        {
            !self.path.is_file()
        }
    }

    /// Opens the gauge and sends its lines from a thread of its own until it is gone.
    ///
    /// # Errors
    /// [`GaugeError`] if it cannot be opened.
    pub fn listen(&self, gauge: usize, to: Sender<Heard>) -> Result<(), GaugeError> {
        let stream: Box<dyn Read + Send> = match self.baud {
            Some(baud) => {
                let port = serialport::new(self.path.to_string_lossy(), baud)
                    .timeout(Duration::from_millis(200))
                    .open()
                    .map_err(|source| GaugeError::Serial {
                        path: self.path.clone(),
                        source,
                    })?;
                Box::new(port)
            }
            None => Box::new(open(&self.path)?),
        };
        std::thread::spawn(move || forward(stream, gauge, &to));
        Ok(())
    }
}

fn open(path: &Path) -> Result<std::fs::File, GaugeError> {
    std::fs::File::open(path).map_err(|source| GaugeError::Io {
        path: path.to_owned(),
        source,
    })
}

/// Longest line a gauge may send.
const LONGEST: usize = 256;

/// Bytes of a stream, cut into lines at every carriage return and line feed.
#[derive(Default)]
struct Cutter {
    line: Vec<u8>,
    too_long: bool,
}

impl Cutter {
    /// Takes a byte; gives the line it ends, if it ends one that holds something.
    ///
    /// A line longer than any gauge sends is noise: it is dropped up to its end.
    fn push(&mut self, byte: u8) -> Option<String> {
        if byte == b'\n' || byte == b'\r' {
            let noise = std::mem::take(&mut self.too_long);
            let line = std::mem::take(&mut self.line);
            let text = String::from_utf8_lossy(&line).trim().to_owned();
            return (!noise && !text.is_empty()).then_some(text);
        }
        if self.line.len() >= LONGEST {
            self.too_long = true;
        } else {
            self.line.push(byte);
        }
        None
    }
}

/// Sends whole lines on until the stream ends.
///
/// What came without its line end is no reading: a gauge unplugged while it sends `24.308` may have
/// sent `24.3`. It is named with the end.
fn forward(mut stream: impl Read, gauge: usize, to: &Sender<Heard>) {
    let mut cutter = Cutter::default();
    let mut bytes = [0; 256];
    let why = loop {
        match stream.read(&mut bytes) {
            Ok(0) => break "its stream ended".to_owned(),
            Ok(read) => {
                for byte in bytes.iter().take(read) {
                    let Some(line) = cutter.push(*byte) else {
                        continue;
                    };
                    let at = Instant::now();
                    if to.send(Heard::Gauge { gauge, line, at }).is_err() {
                        return;
                    }
                }
            }
            Err(error)
                if matches!(
                    error.kind(),
                    io::ErrorKind::TimedOut
                        | io::ErrorKind::Interrupted
                        | io::ErrorKind::WouldBlock
                ) => {}
            Err(error) => break error.to_string(),
        }
    };
    let cut_off = String::from_utf8_lossy(&cutter.line).trim().to_owned();
    let why = if cut_off.is_empty() {
        why
    } else {
        format!("{why}; `{cut_off}` was cut off and is not taken")
    };
    // Nobody listens any more: the walk has ended.
    let _ = to.send(Heard::GaugeGone { gauge, why });
}

/// Sends the keyboard's lines on from a thread of its own.
pub fn listen_to_keyboard(to: Sender<Heard>) {
    std::thread::spawn(move || {
        for line in io::stdin().lock().split(b'\n') {
            let Ok(bytes) = line else { break };
            let text = String::from_utf8_lossy(&bytes)
                .trim_end_matches('\r')
                .to_owned();
            if to.send(Heard::Typed(text)).is_err() {
                return;
            }
        }
        let _ = to.send(Heard::KeyboardEnded);
    });
}

/// Why a gauge's line without a pattern gives no reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum Unclear {
    /// There is no number in it.
    #[error("which holds no number")]
    NoNumber,
    /// There are several that may be the reading.
    #[error(
        "which holds several numbers; `instrument edit ID --pattern` says which is the reading"
    )]
    Several,
}

/// The reading in the line of a gauge whose pattern is not on file: its one number, with the unit
/// that follows it. Where one number has a decimal mark, whole numbers before it are a channel's.
///
/// # Errors
/// [`Unclear`]
///
/// # Examples
/// ```
/// use brakecorner::shop::gauge::{Unclear, reading};
/// assert_eq!(reading("01A+024.308").as_deref(), Ok("+024.308"));
/// assert_eq!(reading("M1 0.9570 in OK").as_deref(), Ok("0.9570 in"));
/// assert_eq!(reading("ERR"), Err(Unclear::NoNumber));
/// assert_eq!(reading("24.308 0.9570"), Err(Unclear::Several));
/// ```
pub fn reading(line: &str) -> Result<String, Unclear> {
    let numbers = numbers(line);
    let decimal: Vec<_> = numbers
        .iter()
        .filter(|(_, number)| number.contains(['.', ',']))
        .collect();
    let (at, number) = match (decimal.as_slice(), numbers.as_slice()) {
        ([one], _) => **one,
        ([], [one]) => *one,
        ([], []) => return Err(Unclear::NoNumber),
        _ => return Err(Unclear::Several),
    };
    let after = line
        .get(at + number.len()..)
        .unwrap_or_default()
        .trim_start();
    let unit = ["mm", "in", "um", "µm"].into_iter().find(|unit| {
        after
            .strip_prefix(unit)
            .is_some_and(|rest| !rest.starts_with(|c: char| c.is_alphabetic()))
    });
    Ok(unit.map_or_else(|| number.to_owned(), |unit| format!("{number} {unit}")))
}

/// Every number of a line, with where it begins.
fn numbers(line: &str) -> Vec<(usize, &str)> {
    let part = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',');
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(rest) = line.get(at..) {
        let Some(start) = rest.find(|c: char| part(c) || matches!(c, '+' | '-')) else {
            break;
        };
        let tail = rest.get(start..).unwrap_or_default();
        let sign = usize::from(tail.starts_with(['+', '-']));
        let digits = tail.get(sign..).unwrap_or_default();
        let end = sign + digits.find(|c| !part(c)).unwrap_or(digits.len());
        let number = tail.get(..end).unwrap_or_default();
        if number.contains(|c: char| c.is_ascii_digit()) {
            found.push((at + start, number));
        }
        at += start + end.max(1);
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_number_with_a_decimal_mark_is_the_reading() {
        for (line, want) in [
            ("24.308", Ok("24.308")),
            ("CH2 -0.019 mm", Ok("-0.019 mm")),
            ("01A-000.019", Ok("-000.019")),
            ("140", Ok("140")),
            ("24,308mm", Ok("24,308 mm")),
            ("+ - .", Err(Unclear::NoNumber)),
            ("", Err(Unclear::NoNumber)),
            ("24.308 24.309", Err(Unclear::Several)),
            ("3 140", Err(Unclear::Several)),
        ] {
            assert_eq!(reading(line).as_deref(), want.as_deref(), "{line}");
        }
    }

    #[test]
    fn an_address_may_name_a_baud_rate_or_an_instrument_and_never_zero() {
        let address: Address = "/dev/ttyUSB0@9600".parse().unwrap();
        assert_eq!(
            (address.path, address.baud),
            ("/dev/ttyUSB0".into(), Some(9600))
        );
        assert_eq!("fifo".parse::<Address>().unwrap().baud, None);
        let address: Address = "/dev/ttyUSB0@HW-M1".parse().unwrap();
        assert_eq!(
            (address.mark.as_deref(), address.baud),
            (Some("HW-M1"), None)
        );
        for wrong in ["/dev/ttyUSB0@0", "/dev/ttyUSB0@", "x@99999999999"] {
            assert!(wrong.parse::<Address>().is_err(), "{wrong}");
        }
    }

    fn heard(bytes: &[u8]) -> Vec<String> {
        let (to, from) = std::sync::mpsc::channel();
        forward(bytes, 0, &to);
        drop(to);
        from.iter()
            .map(|heard| match heard {
                Heard::Gauge { line, .. } => line,
                Heard::GaugeGone { why, .. } => format!("gone: {why}"),
                other => format!("{other:?}"),
            })
            .collect()
    }

    #[test]
    fn lines_end_at_either_sign_and_what_was_cut_off_is_no_reading() {
        assert_eq!(
            heard(b"24.308\r\n24.309\r\r\n24.310\n24.3"),
            [
                "24.308",
                "24.309",
                "24.310",
                "gone: its stream ended; `24.3` was cut off and is not taken"
            ]
        );
        let mut noise = vec![b'7'; 100_000];
        noise.extend_from_slice(b"\r24.308\r");
        assert_eq!(heard(&noise), ["24.308", "gone: its stream ended"]);
    }

    proptest::proptest! {
        #[test]
        fn no_line_panics(line in ".{0,80}") {
            let _ = reading(&line);
        }
    }
}
