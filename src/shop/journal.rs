//! The journal as a file: append under a lock, flushed before the next prompt appears.
//!
//! The lock is a file of its own beside the journal, held for one append only; under it the writer
//! reads what others have appended meanwhile, so several programs may write to one job.

use std::fs::{File, OpenOptions};
use std::io::{self, Read as _, Seek as _, SeekFrom, Write as _};
use std::path::{Path, PathBuf};

use chrono::{DateTime, FixedOffset};

use crate::job::journal::{self, Contents, Damage, Entry, GENESIS, Torn};
use crate::job::{Event, Meta};

/// Why the journal could not be read or written.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum JournalError {
    /// There is no journal.
    #[error("there is no journal at `{}`", path.display())]
    Missing {
        /// Where it was looked for.
        path: PathBuf,
    },
    /// There is a journal already.
    #[error("there is a journal already at `{}`", path.display())]
    Exists {
        /// Where.
        path: PathBuf,
    },
    /// The file system refused.
    #[error("cannot {doing} journal `{}`", path.display())]
    Io {
        /// What was being done.
        doing: &'static str,
        /// The file.
        path: PathBuf,
        /// The system's reason.
        source: io::Error,
    },
    /// A line in the middle is not as it was written.
    #[error("journal `{}` is damaged at {damage}", path.display())]
    Damaged {
        /// The file.
        path: PathBuf,
        /// The first damage.
        damage: Damage,
    },
    /// An append failed half-way and the handle is not to be trusted any more.
    #[error(
        "the last entry is not on the disk: cannot {doing} journal `{}`; {confirmed} entries are safe",
        path.display()
    )]
    NotWritten {
        /// What failed.
        doing: &'static str,
        /// The file.
        path: PathBuf,
        /// How many entries are safely on the disk.
        confirmed: u64,
        /// The system's reason.
        source: io::Error,
    },
    /// An earlier append on this handle failed.
    #[error("journal `{}` is closed to writing after a failed write; open the job again", path.display())]
    Closed {
        /// The file.
        path: PathBuf,
    },
    /// An event has no JSON form.
    #[error(transparent)]
    Encode(#[from] journal::EncodeError),
}

/// Where the journal's bytes live; a file, or a test's double that fails on purpose.
pub trait Medium {
    /// Everything from `offset` to the end.
    ///
    /// # Errors
    /// The system's reason.
    fn read_from(&mut self, offset: u64) -> io::Result<Vec<u8>>;
    /// Adds bytes at the end.
    ///
    /// # Errors
    /// The system's reason; some of the bytes may have been written.
    fn append(&mut self, bytes: &[u8]) -> io::Result<()>;
    /// Waits until everything is on the disk.
    ///
    /// # Errors
    /// The system's reason.
    fn sync(&mut self) -> io::Result<()>;
    /// Cuts the end off.
    ///
    /// # Errors
    /// The system's reason.
    fn truncate(&mut self, len: u64) -> io::Result<()>;
    /// Takes the exclusive lock, waiting for others.
    ///
    /// # Errors
    /// The system's reason.
    fn lock(&mut self) -> io::Result<()>;
    /// Gives the lock back.
    fn unlock(&mut self);
}

/// A journal in a file, with its lock file beside it.
#[derive(Debug)]
pub struct FileMedium {
    file: File,
    lock: File,
}

impl FileMedium {
    fn open(path: &Path) -> io::Result<Self> {
        let file = OpenOptions::new().read(true).append(true).open(path)?;
        // On Windows an append-only handle cannot be locked, hence the file of its own.
        let lock = OpenOptions::new()
            .create(true)
            .truncate(false)
            .write(true)
            .open(path.with_extension("lock"))?;
        Ok(Self { file, lock })
    }
}

impl Medium for FileMedium {
    fn read_from(&mut self, offset: u64) -> io::Result<Vec<u8>> {
        self.file.seek(SeekFrom::Start(offset))?;
        let mut bytes = Vec::new();
        self.file.read_to_end(&mut bytes)?;
        Ok(bytes)
    }

    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.file.write_all(bytes)
    }

    fn sync(&mut self) -> io::Result<()> {
        self.file.sync_data()
    }

    fn truncate(&mut self, len: u64) -> io::Result<()> {
        self.file.set_len(len)
    }

    fn lock(&mut self) -> io::Result<()> {
        self.lock.lock()
    }

    fn unlock(&mut self) {
        // An unlock that fails is undone by the system when the handle closes.
        let _ = self.lock.unlock();
    }
}

/// An open journal.
#[derive(Debug)]
pub struct Journal<M = FileMedium> {
    medium: M,
    path: PathBuf,
    good_len: u64,
    last_seq: u64,
    head: String,
    closed: bool,
    missing_line_feed: bool,
    /// The bytes of an append that failed, until it is known what became of them.
    failed: Vec<u8>,
}

/// What opening found.
#[derive(Debug, Default)]
pub struct Opened {
    /// Every entry.
    pub entries: Vec<Entry>,
    /// An unfinished last line that was never confirmed.
    pub torn: Option<Torn>,
}

impl Journal {
    /// Makes a new, empty journal and its folder entry durable.
    ///
    /// # Errors
    /// [`JournalError::Exists`] if there is one, [`JournalError::Io`] if the system refuses.
    pub fn create(path: &Path) -> Result<Self, JournalError> {
        let io = |source: io::Error| match source.kind() {
            io::ErrorKind::AlreadyExists => JournalError::Exists {
                path: path.to_owned(),
            },
            _ => JournalError::Io {
                doing: "create",
                path: path.to_owned(),
                source,
            },
        };
        let file = OpenOptions::new()
            .write(true)
            .create_new(true)
            .open(path)
            .map_err(io)?;
        file.sync_all().map_err(io)?;
        if let Some(folder) = path.parent() {
            super::sync_folder(folder).map_err(io)?;
        }
        Self::open(path).map(|(journal, _)| journal)
    }

    /// Opens a journal and reads it.
    ///
    /// # Errors
    /// [`JournalError::Missing`], [`JournalError::Damaged`] naming the line, or
    /// [`JournalError::Io`].
    pub fn open(path: &Path) -> Result<(Self, Opened), JournalError> {
        let medium = FileMedium::open(path).map_err(|source| match source.kind() {
            io::ErrorKind::NotFound => JournalError::Missing {
                path: path.to_owned(),
            },
            _ => JournalError::Io {
                doing: "open",
                path: path.to_owned(),
                source,
            },
        })?;
        Self::with_medium(medium, path)
    }

    /// Reads a journal without the wish to write: works in a read-only folder.
    ///
    /// # Errors
    /// As [`Journal::open`].
    pub fn peek(path: &Path) -> Result<Contents, JournalError> {
        let bytes = std::fs::read(path).map_err(|source| match source.kind() {
            io::ErrorKind::NotFound => JournalError::Missing {
                path: path.to_owned(),
            },
            _ => JournalError::Io {
                doing: "read",
                path: path.to_owned(),
                source,
            },
        })?;
        let mut contents = journal::read(&bytes);
        match contents.damage.take() {
            Some(damage) => Err(JournalError::Damaged {
                path: path.to_owned(),
                damage,
            }),
            None => Ok(contents),
        }
    }
}

impl<M: Medium> Journal<M> {
    /// Opens a journal on any medium.
    ///
    /// # Errors
    /// As [`Journal::open`].
    pub fn with_medium(medium: M, path: &Path) -> Result<(Self, Opened), JournalError> {
        let mut journal = Self {
            medium,
            path: path.to_owned(),
            good_len: 0,
            last_seq: 0,
            head: GENESIS.to_owned(),
            closed: false,
            missing_line_feed: false,
            failed: Vec::new(),
        };
        let opened = journal.read_news()?;
        Ok((journal, opened))
    }

    /// Reads what was appended since the last look, by this program or another.
    ///
    /// # Errors
    /// As [`Journal::open`].
    pub fn read_news(&mut self) -> Result<Opened, JournalError> {
        // A good last line without its line feed is read again together with what follows it.
        let bytes = self
            .medium
            .read_from(self.good_len)
            .map_err(|source| self.io("read", source))?;
        let bytes = match bytes.strip_prefix(b"\n") {
            Some(rest) if self.missing_line_feed => {
                self.good_len += 1;
                self.missing_line_feed = false;
                rest
            }
            _ => &bytes,
        };
        let contents = journal::read_from(bytes, self.last_seq, &self.head);
        if let Some(mut damage) = contents.damage {
            damage.offset += usize::try_from(self.good_len).unwrap_or(usize::MAX);
            damage.line += usize::try_from(self.last_seq).unwrap_or(usize::MAX);
            return Err(JournalError::Damaged {
                path: self.path.clone(),
                damage,
            });
        }
        let torn = contents.torn.map(|torn| Torn {
            offset: torn.offset + usize::try_from(self.good_len).unwrap_or(usize::MAX),
            bytes: torn.bytes,
        });
        self.good_len += contents.good_len as u64;
        self.head = contents.head;
        self.last_seq += contents.entries.len() as u64;
        if !contents.entries.is_empty() {
            self.missing_line_feed = contents.missing_line_feed;
        }
        Ok(Opened {
            entries: contents.entries,
            torn,
        })
    }

    /// Appends events and waits until they are on the disk.
    ///
    /// Returns every entry that is new to this handle: what others appended meanwhile, then ours.
    /// An unfinished line left by a writer that died is moved to `journal.torn` beside the
    /// journal, so that nothing typed is lost.
    ///
    /// # Errors
    /// [`JournalError::NotWritten`] if the system refuses: nothing of these events then counts as
    /// written, and the handle takes no more.
    pub fn append(
        &mut self,
        at: DateTime<FixedOffset>,
        by: &str,
        events: &[Event],
    ) -> Result<Vec<Entry>, JournalError> {
        if self.closed {
            return Err(JournalError::Closed {
                path: self.path.clone(),
            });
        }
        self.medium
            .lock()
            .map_err(|source| self.io("lock", source))?;
        let result = self.append_locked(at, by, events);
        self.medium.unlock();
        result
    }

    fn append_locked(
        &mut self,
        at: DateTime<FixedOffset>,
        by: &str,
        events: &[Event],
    ) -> Result<Vec<Entry>, JournalError> {
        let news = self.read_news()?;
        if let Some(torn) = news.torn {
            self.set_aside(torn)?;
        }
        let mut entries = news.entries;
        let mut bytes = Vec::new();
        if self.missing_line_feed {
            bytes.push(b'\n');
        }
        let mut head = self.head.clone();
        for (seq, event) in (self.last_seq + 1..).zip(events) {
            let meta = Meta {
                seq,
                at,
                by: by.to_owned(),
            };
            let (line, digest) = journal::encode(&meta, &head, event)?;
            bytes.extend_from_slice(line.as_bytes());
            bytes.push(b'\n');
            head = digest;
            let kind = String::new();
            entries.push(Entry {
                meta,
                event: Some(event.clone()),
                kind,
            });
        }
        let written = self
            .medium
            .append(&bytes)
            .map_err(|source| ("write to", source))
            .and_then(|()| self.medium.sync().map_err(|source| ("flush", source)));
        if let Err((doing, source)) = written {
            // What was half written is taken back where the disk still lets us; where it does not,
            // the next reader finds a torn line and says so.
            let _ = self.medium.truncate(self.good_len);
            self.closed = true;
            self.failed = bytes;
            let confirmed = self.last_seq;
            return Err(JournalError::NotWritten {
                doing,
                path: self.path.clone(),
                confirmed,
                source,
            });
        }
        self.good_len += bytes.len() as u64;
        self.last_seq += events.len() as u64;
        self.head = head;
        self.missing_line_feed = false;
        Ok(entries)
    }

    /// Opens the handle again after a failed append, once the disk may take entries again.
    ///
    /// How many entries of that append are in the journal after all, because somebody built upon
    /// them: [`Journal::read_news`] then gives them, and only those behind are to be appended again.
    ///
    /// # Errors
    /// [`JournalError::Io`] while the system still refuses; the handle stays closed.
    pub fn mend(&mut self) -> Result<usize, JournalError> {
        if !self.closed {
            return Ok(0);
        }
        self.medium
            .lock()
            .map_err(|source| self.io("lock", source))?;
        let result = self.mend_locked();
        self.medium.unlock();
        result
    }

    fn mend_locked(&mut self) -> Result<usize, JournalError> {
        let left = self
            .medium
            .read_from(self.good_len)
            .map_err(|source| self.io("read", source))?;
        // What a failed flush left behind may be in memory only: it is cut off and written anew.
        let nobody_else = self.failed.starts_with(&left);
        if nobody_else && !left.is_empty() {
            self.medium
                .truncate(self.good_len)
                .map_err(|source| self.io("repair", source))?;
        }
        self.medium
            .sync()
            .map_err(|source| self.io("flush", source))?;
        let lines = |bytes: &'_ [u8]| -> Vec<Vec<u8>> {
            let whole = bytes.split_inclusive(|byte| *byte == b'\n');
            whole.map(<[u8]>::to_vec).collect()
        };
        let standing = lines(&self.failed)
            .iter()
            .zip(&lines(&left))
            .take_while(|(ours, there)| ours == there)
            .filter(|(ours, _)| ours.len() > 1) // a line feed that was missing is no entry
            .count();
        self.failed.clear();
        self.closed = false;
        Ok(if nobody_else { 0 } else { standing })
    }

    /// Keeps the bytes of an unfinished line beside the journal, then cuts them off.
    fn set_aside(&mut self, torn: Torn) -> Result<(), JournalError> {
        let bytes = self
            .medium
            .read_from(torn.offset as u64)
            .map_err(|source| self.io("read", source))?;
        let aside = self.path.with_extension("torn");
        let keep = || -> io::Result<()> {
            let mut file = OpenOptions::new().create(true).append(true).open(&aside)?;
            file.write_all(&bytes)?;
            file.write_all(b"\n")?;
            file.sync_data()
        };
        keep().map_err(|source| JournalError::Io {
            doing: "set aside",
            path: aside.clone(),
            source,
        })?;
        self.medium
            .truncate(torn.offset as u64)
            .map_err(|source| self.io("repair", source))
    }

    fn io(&self, doing: &'static str, source: io::Error) -> JournalError {
        JournalError::Io {
            doing,
            path: self.path.clone(),
            source,
        }
    }
}

#[cfg(test)]
mod tests;
