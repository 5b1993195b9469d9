//! Who may sign, from when until when: OpenSSH's allowed_signers format.
//!
//! Source: ssh-keygen(1), ALLOWED SIGNERS (read). One line a key:
//! `principal[,principal…] [options] ssh-ed25519 AAAA… [comment]`; principals are patterns with
//! `*`, `?` and `!`, in double quotes if they hold spaces. Options: `namespaces="…"`,
//! `valid-after="…"`, `valid-before="…"`, both bounds included.
//!
//! Stricter than OpenSSH in three ways, each with an error that names file and line: a stamp
//! without `Z` is refused (it would mean another instant on each computer), `cert-authority` and
//! keys other than Ed25519 are recognized but refused, and one bad line refuses the whole file, so
//! that a typing mistake cannot silently take somebody's rights away or leave them in place.

use chrono::{DateTime, NaiveDate, SecondsFormat, Utc};

use crate::record::key::{KeyFormError, SignerKey};
use crate::record::pattern::list_matches;
use crate::record::wire::shown;

/// Longest signers or revocation file read, in bytes: some ten thousand keys.
pub const MAX_FILE: usize = 1 << 20;

/// One thing wrong with a line.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum LineError {
    /// The line is not UTF-8.
    #[error("the line is not UTF-8")]
    NotUtf8,
    /// A double quote is not closed.
    #[error("a double quote is not closed in `{text}`")]
    OpenQuote {
        /// The text from the quote on.
        text: String,
    },
    /// No principal stands at the start, or an empty one.
    #[error("there is no name before the key")]
    NoPrincipal,
    /// Nothing follows the principals or options.
    #[error("there is no key after `{after}`")]
    NoKey {
        /// What the key should have followed.
        after: String,
    },
    /// The key is refused.
    #[error(transparent)]
    Key(#[from] KeyFormError),
    /// An authority that signs other keys.
    #[error("`cert-authority` is recognized but not accepted; list each person's own key")]
    CertAuthority,
    /// Neither a key nor an option OpenSSH has.
    #[error(
        "`{option}` is neither a key type nor an option; expected `ssh-ed25519`, or namespaces, valid-after or valid-before"
    )]
    UnknownOption {
        /// The option.
        option: String,
    },
    /// An option's value is not in double quotes.
    #[error("option `{option}` needs its value in double quotes, as in {option}=\"…\"")]
    Unquoted {
        /// The option.
        option: &'static str,
    },
    /// An option is given twice.
    #[error("option `{option}` is given twice")]
    Twice {
        /// The option.
        option: &'static str,
    },
    /// An option has an empty value.
    #[error("option `{option}` is empty")]
    Empty {
        /// The option.
        option: &'static str,
    },
    /// A stamp in local time.
    #[error("`{stamp}` is local time, which differs between computers; write `{stamp}Z` for UTC")]
    LocalTime {
        /// The stamp.
        stamp: String,
    },
    /// Not a stamp.
    #[error("`{stamp}` is not a time; expected YYYYMMDDZ, YYYYMMDDHHMMZ or YYYYMMDDHHMMSSZ")]
    Stamp {
        /// The text.
        stamp: String,
    },
    /// The end does not come after the start.
    #[error("valid-before {before} is not after valid-after {after}")]
    Window {
        /// The start.
        after: String,
        /// The end.
        before: String,
    },
    /// A name that would be read as a pattern or break the line.
    #[error(
        "`{name}` cannot stand in a signers file; no quotes, commas, `*`, `?`, `!`, `#` at the start, or control characters"
    )]
    Name {
        /// The name.
        name: String,
    },
}

/// A problem with its place.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{file}:{line}: {error}")]
pub struct Problem {
    /// The file's name as it was given.
    pub file: String,
    /// The line, from 1.
    pub line: usize,
    /// What is wrong.
    pub error: LineError,
}

/// Why a signers or revocation file was refused.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum SignersError {
    /// The file is too long.
    #[error("`{file}` is {size} bytes long, the limit is {limit} bytes")]
    TooLong {
        /// The file's name.
        file: String,
        /// Its length in bytes.
        size: usize,
        /// The limit in bytes.
        limit: usize,
    },
    /// Lines are wrong; all of them are listed.
    #[error("{}", problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))]
    Lines {
        /// Every problem, in the order of the lines.
        problems: Vec<Problem>,
    },
}

/// Why a key may not sign as somebody.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum NotTrusted {
    /// The name is in no line.
    #[error("`{principal}` is not in {file}")]
    UnknownPrincipal {
        /// The name.
        principal: String,
        /// The file's name.
        file: String,
    },
    /// The name is there, but with other keys.
    #[error("key {fingerprint} is not a key of `{principal}` in {file}")]
    OtherKey {
        /// The name.
        principal: String,
        /// The key.
        fingerprint: String,
        /// The file's name.
        file: String,
        /// Whose key it is, as the lines name them; empty if nobody's.
        belongs_to: Vec<String>,
    },
    /// The key may sign, but not for this purpose.
    #[error("{file}:{line}: the key may sign for `{allowed}`, not for `{namespace}`")]
    Namespace {
        /// The file's name.
        file: String,
        /// The line.
        line: usize,
        /// The purposes the line allows.
        allowed: String,
        /// The purpose asked for.
        namespace: String,
    },
    /// Signed before the key was valid.
    #[error("{file}:{line}: the key is valid from {after}, and the signature is of {at}")]
    NotYetValid {
        /// The file's name.
        file: String,
        /// The line.
        line: usize,
        /// The start, as RFC 3339.
        after: String,
        /// When it was signed, as RFC 3339.
        at: String,
    },
    /// Signed after the key's time.
    #[error("{file}:{line}: the key was valid until {before}, and the signature is of {at}")]
    Expired {
        /// The file's name.
        file: String,
        /// The line.
        line: usize,
        /// The end, as RFC 3339.
        before: String,
        /// When it was signed, as RFC 3339.
        at: String,
    },
}

/// One line of a signers file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Signer {
    /// The line's number from 1; 0 if it was not read from a file.
    pub line: usize,
    /// Names and patterns, separated by commas.
    pub principals: String,
    /// Purposes and patterns, separated by commas; any if absent.
    pub namespaces: Option<String>,
    /// First second at which the key is valid.
    pub valid_after: Option<DateTime<Utc>>,
    /// Last second at which the key is valid.
    pub valid_before: Option<DateTime<Utc>>,
    /// The key.
    pub key: SignerKey,
    /// What follows the key.
    pub comment: String,
}

impl Signer {
    /// Renders the line, without line end.
    ///
    /// Only plain names are rendered, never patterns: what one person's name widens to must not
    /// depend on its characters.
    ///
    /// # Errors
    ///
    /// [`LineError::Name`], [`LineError::NoPrincipal`] or [`LineError::Window`].
    ///
    /// # Examples
    ///
    /// ```
    /// use brakecorner::record::key::SignerKey;
    /// use brakecorner::record::signers::{Signer, Signers};
    ///
    /// let text = "ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAINdamAGCsQq31Uv+08lkBzoO4XLz2qYjJa8CGmj3B1Ea";
    /// let signer = Signer {
    ///     line: 0,
    ///     principals: "J. Marsh".to_owned(),
    ///     namespaces: Some("brakecorner-record".to_owned()),
    ///     valid_after: "2026-01-01T00:00:00Z".parse().ok(),
    ///     valid_before: None,
    ///     key: SignerKey::from_openssh(text)?,
    ///     comment: "bench laptop".to_owned(),
    /// };
    /// let line = signer.render()?;
    /// assert!(line.starts_with(r#""J. Marsh" namespaces="brakecorner-record",valid-after="#));
    /// assert_eq!(Signers::parse("signers", line.as_bytes())?.lines().len(), 1);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn render(&self) -> Result<String, LineError> {
        let principals = plain_list(&self.principals)?;
        let mut options = Vec::new();
        if let Some(namespaces) = &self.namespaces {
            options.push(format!("namespaces=\"{}\"", plain_list(namespaces)?));
        }
        check_window(self.valid_after, self.valid_before)?;
        for (name, bound) in [
            ("valid-after", self.valid_after),
            ("valid-before", self.valid_before),
        ] {
            if let Some(time) = bound {
                options.push(format!("{name}=\"{}Z\"", time.format("%Y%m%d%H%M%S")));
            }
        }
        if self.comment.chars().any(char::is_control) {
            return Err(LineError::Name {
                name: shown(self.comment.as_bytes()),
            });
        }
        let mut parts = Vec::new();
        parts.push(if principals.contains(' ') {
            format!("\"{principals}\"")
        } else {
            principals
        });
        if !options.is_empty() {
            parts.push(options.join(","));
        }
        parts.push(self.key.to_openssh());
        if !self.comment.is_empty() {
            parts.push(self.comment.clone());
        }
        Ok(parts.join(" "))
    }

    fn allows(&self, file: &str, namespace: &str, at: DateTime<Utc>) -> Result<(), NotTrusted> {
        let (file, line) = (file.to_owned(), self.line);
        if let Some(allowed) = &self.namespaces
            && !list_matches(allowed, namespace)
        {
            let allowed = shown(allowed.as_bytes());
            return Err(NotTrusted::Namespace {
                file,
                line,
                allowed,
                namespace: namespace.to_owned(),
            });
        }
        // Whole seconds, as OpenSSH compares.
        if let Some(after) = self.valid_after
            && at.timestamp() < after.timestamp()
        {
            return Err(NotTrusted::NotYetValid {
                file,
                line,
                after: iso(after),
                at: iso(at),
            });
        }
        if let Some(before) = self.valid_before
            && at.timestamp() > before.timestamp()
        {
            return Err(NotTrusted::Expired {
                file,
                line,
                before: iso(before),
                at: iso(at),
            });
        }
        Ok(())
    }
}

/// A signers file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Signers {
    file: String,
    lines: Vec<Signer>,
}

impl Signers {
    /// Reads a signers file; `file` is only for messages.
    ///
    /// # Errors
    ///
    /// [`SignersError`] with every wrong line.
    pub fn parse(file: &str, bytes: &[u8]) -> Result<Self, SignersError> {
        let lines = each_line(file, bytes, parse_line)?;
        let lines = lines
            .into_iter()
            .map(|(line, signer)| Signer { line, ..signer })
            .collect();
        Ok(Self {
            file: file.to_owned(),
            lines,
        })
    }

    /// The file's lines in their order, comments left out.
    #[must_use]
    pub fn lines(&self) -> &[Signer] {
        &self.lines
    }

    /// Finds the line that lets a key sign as somebody, for a purpose, at a time.
    ///
    /// # Errors
    ///
    /// [`NotTrusted`]; of several lines the one that comes nearest is reported.
    pub fn find(
        &self,
        principal: &str,
        key: &SignerKey,
        namespace: &str,
        at: DateTime<Utc>,
    ) -> Result<&Signer, NotTrusted> {
        let mut named = false;
        let mut nearest = None;
        for line in self
            .lines
            .iter()
            .filter(|line| list_matches(&line.principals, principal))
        {
            named = true;
            if line.key != *key {
                continue;
            }
            match line.allows(&self.file, namespace, at) {
                Ok(()) => return Ok(line),
                Err(why) => nearest = Some(nearest.map_or(why.clone(), |old| nearer(old, why))),
            }
        }
        Err(nearest.unwrap_or_else(|| self.not_found(named, principal, key)))
    }

    /// The lines a key could sign under for a purpose at a time, in the file's order.
    #[must_use]
    pub fn of_key(&self, key: &SignerKey, namespace: &str, at: DateTime<Utc>) -> Vec<&Signer> {
        self.lines
            .iter()
            .filter(|line| line.key == *key && line.allows(&self.file, namespace, at).is_ok())
            .collect()
    }

    fn not_found(&self, named: bool, principal: &str, key: &SignerKey) -> NotTrusted {
        let principal = shown(principal.as_bytes());
        let belongs_to: Vec<String> = self
            .lines
            .iter()
            .filter(|line| line.key == *key)
            .map(|line| shown(line.principals.as_bytes()))
            .collect();
        let file = self.file.clone();
        if named || !belongs_to.is_empty() {
            NotTrusted::OtherKey {
                principal,
                fingerprint: key.fingerprint(),
                file,
                belongs_to,
            }
        } else {
            NotTrusted::UnknownPrincipal { principal, file }
        }
    }
}

/// Of two refusals the one about time: it says the key and the purpose were right.
fn nearer(old: NotTrusted, new: NotTrusted) -> NotTrusted {
    if matches!(new, NotTrusted::Namespace { .. }) {
        old
    } else {
        new
    }
}

fn iso(time: DateTime<Utc>) -> String {
    time.to_rfc3339_opts(SecondsFormat::Secs, true)
}

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

fn parse_line(text: &str) -> Result<Signer, LineError> {
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
        crate::record::key::check_type(word.as_bytes()),
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

fn check_window(
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
fn plain_list(list: &str) -> Result<String, LineError> {
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

#[cfg(test)]
mod tests;
