//! Reading the lines of a signers file.

use chrono::{DateTime, NaiveDate, Utc};

use crate::record::key::{KeyFormError, SignerKey, check_type};
use crate::record::signers::{LineError, MAX_FILE, Problem, Signer, SignersError, iso};
use crate::record::wire::shown;

/// Runs a parser over every line that is neither empty nor a comment, and collects all problems.
pub(crate) fn each_line<T>(
    file: &str,
    bytes: &[u8],
    parse: impl Fn(&str) -> Result<T, LineError>,
) -> Result<Vec<(usize, T)>, SignersError> {
    if bytes.len() > MAX_FILE {
        let file = file.to_owned();
        return Err(SignersError::TooLong {
            file,
            size: bytes.len(),
            limit: MAX_FILE,
        });
    }
    let mut found = Vec::new();
    let mut problems = Vec::new();
    for (index, line) in bytes.split(|&byte| byte == b'\n').enumerate() {
        let parsed = match std::str::from_utf8(line).map(str::trim_ascii) {
            Err(_) => Err(LineError::NotUtf8),
            Ok(text) if text.is_empty() || text.starts_with('#') => continue,
            Ok(text) => parse(text),
        };
        match parsed {
            Ok(value) => found.push((index + 1, value)),
            Err(error) => {
                problems.push(Problem {
                    file: file.to_owned(),
                    line: index + 1,
                    error,
                });
            }
        }
    }
    if problems.is_empty() {
        Ok(found)
    } else {
        Err(SignersError::Lines { problems })
    }
}

pub(super) fn parse_line(text: &str) -> Result<Signer, LineError> {
    let (principals, rest) = principals(text)?;
    let mut signer = Options::default();
    // OpenSSH too tries a key first, so a line without options is the common case.
    let key_text = if rest.is_empty() || starts_with_key(rest) {
        rest
    } else {
        let (options, rest) = split_options(rest)?;
        signer = Options::parse(options)?;
        rest
    };
    if key_text.is_empty() {
        return Err(LineError::NoKey {
            after: shown(text.as_bytes()),
        });
    }
    let key = SignerKey::from_openssh(key_text)?;
    let comment = key_text
        .splitn(3, [' ', '\t'])
        .nth(2)
        .unwrap_or_default()
        .trim()
        .to_owned();
    Ok(Signer {
        line: 0,
        principals,
        namespaces: signer.namespaces,
        valid_after: signer.after,
        valid_before: signer.before,
        key,
        comment,
    })
}

/// The first word, or the first text in double quotes.
fn principals(text: &str) -> Result<(String, &str), LineError> {
    let (principals, rest) = match text.strip_prefix('"') {
        Some(quoted) => quoted.split_once('"').ok_or_else(|| LineError::OpenQuote {
            text: shown(text.as_bytes()),
        })?,
        None => text.split_once([' ', '\t']).unwrap_or((text, "")),
    };
    if principals.is_empty() {
        return Err(LineError::NoPrincipal);
    }
    Ok((principals.to_owned(), rest.trim_ascii_start()))
}

/// Whether a key type stands here, whatever its kind; options never look like one.
fn starts_with_key(text: &str) -> bool {
    let word = text.split([' ', '\t']).next().unwrap_or_default();
    !matches!(
        check_type(word.as_bytes()),
        Err(KeyFormError::UnknownType { .. })
    )
}

/// Splits at the first space outside double quotes.
fn split_options(text: &str) -> Result<(&str, &str), LineError> {
    let mut quoted = false;
    let mut escaped = false;
    for (at, c) in text.char_indices() {
        match c {
            '"' if !escaped => quoted = !quoted,
            ' ' | '\t' if !quoted => {
                let (options, rest) = text.split_at(at);
                return Ok((options, rest.trim_ascii_start()));
            }
            _ => {}
        }
        escaped = c == '\\' && !escaped;
    }
    if quoted {
        Err(LineError::OpenQuote {
            text: shown(text.as_bytes()),
        })
    } else {
        Ok((text, ""))
    }
}

#[derive(Default)]
struct Options {
    namespaces: Option<String>,
    after: Option<DateTime<Utc>>,
    before: Option<DateTime<Utc>>,
}

impl Options {
    fn parse(text: &str) -> Result<Self, LineError> {
        let mut options = Self::default();
        let mut rest = text;
        loop {
            let at = rest.find(['=', ',']).unwrap_or(rest.len());
            let (name, tail) = rest.split_at(at);
            let tail = options.take(name, tail)?;
            match tail.strip_prefix(',') {
                Some(more) => rest = more,
                None if tail.is_empty() => break,
                None => {
                    return Err(LineError::UnknownOption {
                        option: shown(tail.as_bytes()),
                    });
                }
            }
        }
        check_window(options.after, options.before)?;
        Ok(options)
    }

    /// Takes one option's value, and returns what follows it.
    fn take<'a>(&mut self, name: &str, tail: &'a str) -> Result<&'a str, LineError> {
        // OpenSSH reads option names without regard to case.
        match name.to_ascii_lowercase().as_str() {
            "cert-authority" => Err(LineError::CertAuthority),
            "namespaces" => {
                let (value, tail) = quoted_value("namespaces", tail)?;
                set(&mut self.namespaces, "namespaces", value)?;
                Ok(tail)
            }
            "valid-after" => {
                let (value, tail) = quoted_value("valid-after", tail)?;
                set(&mut self.after, "valid-after", parse_stamp(&value)?)?;
                Ok(tail)
            }
            "valid-before" => {
                let (value, tail) = quoted_value("valid-before", tail)?;
                set(&mut self.before, "valid-before", parse_stamp(&value)?)?;
                Ok(tail)
            }
            _ => Err(LineError::UnknownOption {
                option: shown(name.as_bytes()),
            }),
        }
    }
}

fn set<T>(slot: &mut Option<T>, option: &'static str, value: T) -> Result<(), LineError> {
    match slot.replace(value) {
        None => Ok(()),
        Some(_) => Err(LineError::Twice { option }),
    }
}

/// Reads `="value"`; a backslash keeps a quote inside, as in OpenSSH.
fn quoted_value<'a>(option: &'static str, tail: &'a str) -> Result<(String, &'a str), LineError> {
    let inner = tail
        .strip_prefix("=\"")
        .ok_or(LineError::Unquoted { option })?;
    let mut value = String::new();
    let mut chars = inner.char_indices().peekable();
    while let Some((at, c)) = chars.next() {
        match c {
            '\\' if chars.next_if(|&(_, next)| next == '"').is_some() => value.push('"'),
            '"' if value.is_empty() => return Err(LineError::Empty { option }),
            '"' => return Ok((value, inner.get(at + 1..).unwrap_or_default())),
            _ => value.push(c),
        }
    }
    Err(LineError::OpenQuote {
        text: shown(tail.as_bytes()),
    })
}

/// Reads `YYYYMMDD[HHMM[SS]]Z`.
fn parse_stamp(stamp: &str) -> Result<DateTime<Utc>, LineError> {
    let wrong = || LineError::Stamp {
        stamp: shown(stamp.as_bytes()),
    };
    let digits = |text: &str| {
        matches!(text.len(), 8 | 12 | 14) && text.bytes().all(|byte| byte.is_ascii_digit())
    };
    let Some(text) = stamp.strip_suffix(['Z', 'z']) else {
        return Err(if digits(stamp) {
            LineError::LocalTime {
                stamp: stamp.to_owned(),
            }
        } else {
            wrong()
        });
    };
    if !digits(text) {
        return Err(wrong());
    }
    let part = |from: usize, to: usize| match text.get(from..to) {
        Some(digits) => digits.parse::<u32>().unwrap_or(0),
        None => 0,
    };
    i32::try_from(part(0, 4))
        .ok()
        .and_then(|year| NaiveDate::from_ymd_opt(year, part(4, 6), part(6, 8)))
        .and_then(|date| date.and_hms_opt(part(8, 10), part(10, 12), part(12, 14)))
        .map(|time| time.and_utc())
        .ok_or_else(wrong)
}

pub(super) fn check_window(
    after: Option<DateTime<Utc>>,
    before: Option<DateTime<Utc>>,
) -> Result<(), LineError> {
    match (after, before) {
        (Some(after), Some(before)) if after.timestamp() >= before.timestamp() => {
            Err(LineError::Window {
                after: iso(after),
                before: iso(before),
            })
        }
        _ => Ok(()),
    }
}

/// Accepts names separated by commas that hold nothing with a meaning in the file.
pub(super) fn plain_list(list: &str) -> Result<String, LineError> {
    for name in list.split(',') {
        if name.trim().is_empty() {
            return Err(LineError::NoPrincipal);
        }
        let special = |c: char| matches!(c, '"' | '\\' | '*' | '?' | '!') || c.is_control();
        if name.contains(special) || name.starts_with('#') || name.trim() != name {
            return Err(LineError::Name {
                name: shown(name.as_bytes()),
            });
        }
    }
    Ok(list.to_owned())
}
