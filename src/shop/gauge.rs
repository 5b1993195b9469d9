//! Gauges that send their readings: a serial device, a pipe, a pseudo-terminal.

use std::io::{self, BufRead as _, BufReader, Read};
use std::path::{Path, PathBuf};
use std::sync::mpsc::Sender;
use std::time::Duration;

/// Where lines come from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Heard {
    /// A line typed at the keyboard.
    Typed(String),
    /// A line sent by a gauge.
    Gauge(String),
    /// The keyboard's stream has ended.
    KeyboardEnded,
    /// The gauge was unplugged, or its stream ended; the system's words.
    GaugeGone(String),
}

/// A gauge's address: a path, and a baud rate for a serial device.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Address {
    /// The device, pipe or pseudo-terminal.
    pub path: PathBuf,
    /// Baud rate; none for a pipe or a device that needs none.
    pub baud: Option<u32>,
}

/// Why a gauge could not be opened.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum GaugeError {
    /// The baud rate is no rate.
    #[error("`{0}` is not a baud rate; expected a number such as 9600")]
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
        match text.rsplit_once('@') {
            Some((path, baud)) => match baud.parse::<u32>() {
                Ok(rate) if rate > 0 => Ok(Self {
                    path: path.into(),
                    baud: Some(rate),
                }),
                _ => Err(GaugeError::Baud(baud.to_owned())),
            },
            None => Ok(Self {
                path: text.into(),
                baud: None,
            }),
        }
    }
}

impl Address {
    /// Opens the gauge and sends its lines from a thread of its own until it is gone.
    ///
    /// # Errors
    /// [`GaugeError`] if it cannot be opened.
    pub fn listen(&self, to: Sender<Heard>) -> Result<(), GaugeError> {
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
        std::thread::spawn(move || forward(stream, &to));
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

/// Sends whole lines on; a line that is not finished when a read times out is kept.
fn forward(stream: impl Read, to: &Sender<Heard>) {
    let mut reader = BufReader::new(stream);
    let mut line = Vec::new();
    loop {
        let gone = match reader.read_until(b'\n', &mut line) {
            Ok(0) => Some("its stream ended".to_owned()),
            Ok(_) if line.ends_with(b"\n") || line.ends_with(b"\r") => None,
            Ok(_) => continue,
            Err(error)
                if matches!(
                    error.kind(),
                    io::ErrorKind::TimedOut | io::ErrorKind::Interrupted
                ) =>
            {
                if line.len() > LONGEST {
                    line.clear();
                }
                continue;
            }
            Err(error) => Some(error.to_string()),
        };
        let text = String::from_utf8_lossy(&line).trim().to_owned();
        if !text.is_empty() && to.send(Heard::Gauge(text)).is_err() {
            return;
        }
        line.clear();
        if let Some(why) = gone {
            // Nobody listens any more: the walk has ended.
            let _ = to.send(Heard::GaugeGone(why));
            return;
        }
    }
}

/// Sends the keyboard's lines on from a thread of its own.
pub fn listen_to_keyboard(to: Sender<Heard>) {
    std::thread::spawn(move || {
        for line in io::stdin().lock().split(b'\n') {
            let Ok(bytes) = line else { break };
            let text = String::from_utf8_lossy(&bytes).into_owned();
            if to.send(Heard::Typed(text)).is_err() {
                return;
            }
        }
        let _ = to.send(Heard::KeyboardEnded);
    });
}

/// The reading in a gauge's line: its first number, with the unit that follows it.
///
/// # Examples
/// ```
/// use brakecorner::shop::gauge::reading;
/// assert_eq!(reading("01A+024.308").as_deref(), Some("+024.308"));
/// assert_eq!(reading("M1 0.9570 in OK").as_deref(), Some("0.9570 in"));
/// assert_eq!(reading("ERR"), None);
/// ```
#[must_use]
pub fn reading(line: &str) -> Option<String> {
    let numeric = |c: char| c.is_ascii_digit() || matches!(c, '+' | '-' | '.' | ',');
    let mut best: Option<(usize, &str)> = None;
    let mut rest = line;
    let mut offset = 0;
    // The reading is the number with a decimal mark; a channel number before it has none.
    while let Some(start) = rest.find(numeric) {
        let tail = &rest[start..];
        let sign = usize::from(tail.starts_with(['+', '-']));
        let end = tail[sign..]
            .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',')))
            .map_or(tail.len(), |end| end + sign);
        let end = end.max(1);
        let number = &tail[..end];
        if number.contains(|c: char| c.is_ascii_digit()) {
            let decimal = number.contains(['.', ',']);
            if best.is_none() || decimal {
                best = Some((offset + start, number));
            }
            if decimal {
                break;
            }
        }
        offset += start + end;
        rest = &tail[end..];
    }
    let (at, number) = best?;
    let after = line[at + number.len()..].trim_start();
    let unit = ["mm", "in", "um"].into_iter().find(|unit| {
        after
            .strip_prefix(unit)
            .is_some_and(|rest| !rest.starts_with(|c: char| c.is_alphabetic()))
    });
    Some(unit.map_or_else(|| number.to_owned(), |unit| format!("{number} {unit}")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_number_with_a_decimal_mark_is_the_reading() {
        for (line, want) in [
            ("24.308", Some("24.308")),
            ("CH2 -0.019 mm", Some("-0.019 mm")),
            ("01A-000.019", Some("-000.019")),
            ("140", Some("140")),
            ("24,308mm", Some("24,308 mm")),
            ("+ - .", None),
            ("", None),
        ] {
            assert_eq!(reading(line).as_deref(), want, "{line}");
        }
    }

    #[test]
    fn an_address_may_name_a_baud_rate_and_never_zero() {
        let address: Address = "/dev/ttyUSB0@9600".parse().unwrap();
        assert_eq!(
            (address.path, address.baud),
            ("/dev/ttyUSB0".into(), Some(9600))
        );
        assert_eq!("fifo".parse::<Address>().unwrap().baud, None);
        assert!("/dev/ttyUSB0@0".parse::<Address>().is_err());
        assert!("/dev/ttyUSB0@fast".parse::<Address>().is_err());
    }

    #[test]
    fn lines_are_sent_on_whole_and_the_end_is_told() {
        let (to, from) = std::sync::mpsc::channel();
        forward(&b"24.308\r\n24.3"[..], &to);
        drop(to);
        let heard: Vec<Heard> = from.iter().collect();
        assert_eq!(heard[0], Heard::Gauge("24.308".into()));
        assert!(matches!(heard.last(), Some(Heard::GaugeGone(_))));
    }

    proptest::proptest! {
        #[test]
        fn no_line_panics(line in ".{0,80}") {
            let _ = reading(&line);
        }
    }
}
