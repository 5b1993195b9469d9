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

use chrono::{DateTime, SecondsFormat, Utc};

use crate::record::key::{KeyFormError, SignerKey};
use crate::record::pattern::list_matches;
use crate::record::revoked::Revoked;
pub(crate) use crate::record::signers::line::each_line;
use crate::record::signers::line::{check_window, parse_line, plain_list};
use crate::record::wire::shown;

mod line;

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
    /// The key is on the list of revoked keys; nothing it ever signed is trusted.
    #[error("key {fingerprint} is revoked ({place})")]
    Revoked {
        /// The key.
        fingerprint: String,
        /// Where it is revoked, as file and line.
        place: String,
    },
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
    revoked: Revoked,
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
            revoked: Revoked::default(),
        })
    }

    /// Takes a list of revoked keys into account: whatever such a key signed, whenever, is refused.
    #[must_use]
    pub fn with_revoked(mut self, revoked: Revoked) -> Self {
        self.revoked = revoked;
        self
    }

    /// The revoked keys taken into account.
    #[must_use]
    pub const fn revoked(&self) -> &Revoked {
        &self.revoked
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
        self.not_revoked(key)?;
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

    /// The lines a key could sign under for a purpose at a time, in the file's order; none if it is
    /// revoked.
    #[must_use]
    pub fn of_key(&self, key: &SignerKey, namespace: &str, at: DateTime<Utc>) -> Vec<&Signer> {
        if self.not_revoked(key).is_err() {
            return Vec::new();
        }
        self.lines
            .iter()
            .filter(|line| line.key == *key && line.allows(&self.file, namespace, at).is_ok())
            .collect()
    }

    /// Refuses a revoked key.
    ///
    /// # Errors
    ///
    /// [`NotTrusted::Revoked`] naming the place.
    pub fn not_revoked(&self, key: &SignerKey) -> Result<(), NotTrusted> {
        match self.revoked.place_of(key) {
            None => Ok(()),
            Some(place) => Err(NotTrusted::Revoked {
                fingerprint: key.fingerprint(),
                place,
            }),
        }
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

/// A time as messages show it.
fn iso(time: DateTime<Utc>) -> String {
    time.to_rfc3339_opts(SecondsFormat::Secs, true)
}

#[cfg(test)]
mod tests;
