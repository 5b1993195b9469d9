//! The row of signatures a key has made on this computer: sequence number and digest of the last.
//!
//! Kept beside the key, outside every workshop. A record that is taken away leaves a gap in the
//! row; two computers do not fork it, since each has its own.

use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use super::atomic::{self, AtomicError};
use super::lock::{Lock, LockError};
use crate::job::journal::sha256_hex;

/// Why the row could not be read or written.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ChainError {
    /// The file system refused.
    #[error("cannot read `{}`", path.display())]
    Read {
        /// The file.
        path: PathBuf,
        /// The system's reason.
        source: std::io::Error,
    },
    /// The file does not read.
    #[error("`{}` does not read", path.display())]
    Syntax {
        /// The file.
        path: PathBuf,
        /// Where and why.
        source: serde_json::Error,
    },
    /// The file could not be written.
    #[error(transparent)]
    Write(#[from] AtomicError),
    /// Another program signs with this key.
    #[error(transparent)]
    Lock(#[from] LockError),
}

/// A signature about to be made.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Link {
    /// Digest of the record.
    pub sha256: String,
    /// Where the record will lie.
    pub record: PathBuf,
}

#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct State {
    /// Signatures made.
    sequence: u64,
    /// Digest of the last record signed.
    previous: String,
    /// Where the last record was written; unknown in rows of earlier programs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    record: Option<PathBuf>,
    /// A signature that was begun and not yet confirmed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pending: Option<Link>,
}

impl State {
    /// Reads a row's file; `None` if there is none.
    fn read(path: &Path) -> Result<Option<Self>, ChainError> {
        let mut state: Self = match std::fs::read(path) {
            Ok(bytes) => serde_json::from_slice(&bytes).map_err(|source| ChainError::Syntax {
                path: path.to_owned(),
                source,
            })?,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(None),
            Err(source) => {
                return Err(ChainError::Read {
                    path: path.to_owned(),
                    source,
                });
            }
        };
        // A signature that was begun counts if its record is on the disk as it was meant.
        if let Some(link) = state.pending.take()
            && std::fs::read(&link.record).is_ok_and(|b| sha256_hex(&b) == link.sha256)
        {
            state.count(link);
        }
        Ok(Some(state))
    }

    fn count(&mut self, link: Link) {
        self.sequence += 1;
        self.previous = link.sha256;
        self.record = Some(link.record);
    }
}

/// The end of a row, as this computer knows it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Last {
    /// The last number given.
    pub sequence: u64,
    /// Digest of the record that has it.
    pub sha256: String,
    /// Where the record was written, if that is known.
    pub record: Option<PathBuf>,
}

/// How far the row of a key goes; `None` if it never signed here. Locks and writes nothing.
///
/// # Errors
/// [`ChainError`] if the file does not read.
pub fn last(config: &Path, key: &str) -> Result<Option<Last>, ChainError> {
    let state = State::read(&config.join("rows").join(format!("{key}.json")))?;
    Ok(state.filter(|state| state.sequence > 0).map(|state| Last {
        sequence: state.sequence,
        sha256: state.previous,
        record: state.record,
    }))
}

/// Names of the keys that have a row here, in order.
#[must_use]
pub fn names(config: &Path) -> Vec<String> {
    let entries = std::fs::read_dir(config.join("rows"));
    let mut names: Vec<String> = entries
        .into_iter()
        .flatten()
        .flatten()
        .filter_map(|entry| {
            let name = entry.file_name().into_string().ok()?;
            Some(name.strip_suffix(".json")?.to_owned())
        })
        .collect();
    names.sort();
    names
}

/// The row of one key on this computer; nobody else can open it meanwhile, or two records would
/// get the same number.
#[derive(Debug)]
pub struct Chain {
    path: PathBuf,
    state: State,
    _lock: Lock,
}

impl Chain {
    /// Opens the row of a key.
    ///
    /// A signature that was begun and not confirmed counts if its record is on the disk as it was
    /// meant, and is forgotten if not.
    ///
    /// # Errors
    /// [`ChainError`] if the file does not read, or another program keeps the row.
    pub fn open(config: &Path, key: &str) -> Result<Self, ChainError> {
        let folder = config.join("rows");
        std::fs::create_dir_all(&folder).map_err(|source| ChainError::Read {
            path: folder.clone(),
            source,
        })?;
        let lock = Lock::take(&folder.join(format!("{key}.lock")))?;
        let path = folder.join(format!("{key}.json"));
        let state = State::read(&path)?.unwrap_or_default();
        Ok(Self {
            path,
            state,
            _lock: lock,
        })
    }

    /// The number the next signature gets, from 1.
    #[must_use]
    pub const fn next_sequence(&self) -> u64 {
        self.state.sequence + 1
    }

    /// Digest of the last record signed; empty before the first.
    #[must_use]
    pub fn previous(&self) -> &str {
        &self.state.previous
    }

    /// Notes a signature about to be made.
    ///
    /// # Errors
    /// [`ChainError::Write`] if the file cannot be written.
    pub fn reserve(&mut self, link: Link) -> Result<(), ChainError> {
        self.state.pending = Some(link);
        self.save()
    }

    /// Counts the signature that was noted.
    ///
    /// # Errors
    /// [`ChainError::Write`] if the file cannot be written.
    pub fn confirm(&mut self) -> Result<(), ChainError> {
        if let Some(link) = self.state.pending.take() {
            self.state.count(link);
        }
        self.save()
    }

    fn save(&self) -> Result<(), ChainError> {
        let text = serde_json::to_vec_pretty(&self.state).map_err(|source| ChainError::Syntax {
            path: self.path.clone(),
            source,
        })?;
        Ok(atomic::replace(&self.path, &text)?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_signature_that_never_reached_the_disk_leaves_no_gap() {
        let folder = tempfile::tempdir().unwrap();
        let record = folder.path().join("record-1.json");
        let link = Link {
            sha256: sha256_hex(b"{}"),
            record: record.clone(),
        };
        let mut chain = Chain::open(folder.path(), "ilse-varga").unwrap();
        chain.reserve(link.clone()).unwrap();
        drop(chain);
        let again = Chain::open(folder.path(), "ilse-varga").unwrap();
        assert_eq!((again.next_sequence(), again.previous()), (1, ""));
        drop(again);
        std::fs::write(&record, b"{}").unwrap();
        let after = Chain::open(folder.path(), "ilse-varga").unwrap();
        assert_eq!(
            (after.next_sequence(), after.previous()),
            (2, link.sha256.as_str())
        );
    }

    #[test]
    fn confirmed_signatures_count_up() {
        let folder = tempfile::tempdir().unwrap();
        let mut chain = Chain::open(folder.path(), "tam-okoro").unwrap();
        for n in 1..=3u64 {
            assert_eq!(chain.next_sequence(), n);
            let link = Link {
                sha256: format!("{n}"),
                record: folder.path().join("none"),
            };
            chain.reserve(link).unwrap();
            chain.confirm().unwrap();
            drop(chain);
            chain = Chain::open(folder.path(), "tam-okoro").unwrap();
        }
        assert_eq!(chain.previous(), "3");
    }
}
