//! `index.sqlite`: job summaries kept beside the journals they were made from.
//!
//! Derived, and never trusted over a journal: an entry counts only while the journal's length and
//! times are those it was made from, and while program and specifications are the same. Deleting the
//! file loses nothing but time.

use std::collections::HashMap;
use std::fs::Metadata;
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime, UNIX_EPOCH};

use rusqlite::{Connection, params};

/// Why the index could not be used. Never a reason to give no answer: the journals are.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum IndexError {
    /// The file is no index, or is in use.
    #[error("the index `{}` cannot be used", path.display())]
    Database {
        /// The file.
        path: PathBuf,
        /// Why not.
        source: rusqlite::Error,
    },
    /// The file could not be removed.
    #[error("cannot remove `{}`", path.display())]
    Remove {
        /// The file.
        path: PathBuf,
        /// Why not.
        source: std::io::Error,
    },
}

/// What a journal file looked like when its summary was made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stamp {
    length: i64,
    modified_ns: i64,
    changed_ns: i64,
}

/// A file changed this recently may change again without its times showing it.
const SETTLED: Duration = Duration::from_secs(2);

fn nanoseconds(time: SystemTime) -> i64 {
    let since = time.duration_since(UNIX_EPOCH).unwrap_or_default();
    i64::try_from(since.as_nanos()).unwrap_or(i64::MAX)
}

impl Stamp {
    /// The stamp of a file, `None` where the system tells no times.
    #[must_use]
    pub fn of(metadata: &Metadata) -> Option<Self> {
        Some(Self {
            length: i64::try_from(metadata.len()).ok()?,
            modified_ns: nanoseconds(metadata.modified().ok()?),
            changed_ns: changed(metadata),
        })
    }

    /// Whether the file has rested long enough that a later change must show in its times.
    #[must_use]
    pub fn settled(&self, now: SystemTime) -> bool {
        let latest = self.modified_ns.max(self.changed_ns);
        let margin = i64::try_from(SETTLED.as_nanos()).unwrap_or(i64::MAX);
        latest.saturating_add(margin) < nanoseconds(now)
    }
}

/// When the file's state last changed, which no program can set: shows an edit whose author put
/// the old modification time back. Elsewhere the modification time has to do.
#[cfg(unix)]
fn changed(metadata: &Metadata) -> i64 {
    use std::os::unix::fs::MetadataExt as _;
    metadata
        .ctime()
        .saturating_mul(1_000_000_000)
        .saturating_add(metadata.ctime_nsec())
}

#[cfg(not(unix))]
fn changed(_: &Metadata) -> i64 {
    0
}

/// What the index knows of a job, beside its summary.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Known {
    /// The vehicle's VIN.
    pub vin: String,
    /// Its registration plate.
    pub registration: String,
    /// What the journal looked like.
    pub stamp: Stamp,
}

/// One job in the index.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// Job number.
    pub job: String,
    /// What is known of it.
    pub known: Known,
    /// The summary as JSON.
    pub summary: String,
}

/// The index of one workshop.
#[derive(Debug)]
pub struct Index {
    db: Connection,
    path: PathBuf,
}

const FORM: &str = "
CREATE TABLE IF NOT EXISTS about(basis TEXT NOT NULL);
CREATE TABLE IF NOT EXISTS job(
    job TEXT PRIMARY KEY, vin TEXT NOT NULL, registration TEXT NOT NULL,
    length INTEGER NOT NULL, modified INTEGER NOT NULL, changed INTEGER NOT NULL,
    summary TEXT NOT NULL);";

impl Index {
    /// Where a workshop's index lies.
    #[must_use]
    pub fn path(shop: &Path) -> PathBuf {
        shop.join("index.sqlite")
    }

    /// Opens the index, or makes an empty one. One made from another `basis` (another program,
    /// other specifications) is emptied.
    ///
    /// # Errors
    /// [`IndexError::Database`] if the file is no index, or cannot be written.
    pub fn open(path: &Path, basis: &str) -> Result<Self, IndexError> {
        let wrong = |source| IndexError::Database {
            path: path.to_owned(),
            source,
        };
        let db = Connection::open(path).map_err(wrong)?;
        let made = (|| {
            db.busy_timeout(Duration::from_secs(2))?;
            // Losing the last write to a power cut only costs a journal read again.
            db.pragma_update(None, "journal_mode", "WAL")?;
            db.pragma_update(None, "synchronous", "NORMAL")?;
            db.execute_batch(FORM)?;
            let known: Option<String> = db
                .query_row("SELECT basis FROM about", [], |row| row.get(0))
                .map(Some)
                .or_else(|error| match error {
                    rusqlite::Error::QueryReturnedNoRows => Ok(None),
                    other => Err(other),
                })?;
            if known.as_deref() != Some(basis) {
                db.execute("DELETE FROM job", [])?;
                db.execute("DELETE FROM about", [])?;
                db.execute("INSERT INTO about VALUES (?1)", [basis])?;
            }
            Ok(())
        })();
        made.map_err(wrong)?;
        Ok(Self {
            db,
            path: path.to_owned(),
        })
    }

    fn failed(&self) -> impl Fn(rusqlite::Error) -> IndexError + '_ {
        |source| IndexError::Database {
            path: self.path.clone(),
            source,
        }
    }

    /// What is known of every job without its summary: few bytes a job.
    ///
    /// # Errors
    /// [`IndexError::Database`] if the file is damaged.
    pub fn known(&self) -> Result<HashMap<String, Known>, IndexError> {
        let wrong = self.failed();
        let mut statement = self
            .db
            .prepare("SELECT job, vin, registration, length, modified, changed FROM job")
            .map_err(&wrong)?;
        let rows = statement.query_map([], |row| {
            let known = Known {
                vin: row.get(1)?,
                registration: row.get(2)?,
                stamp: Stamp {
                    length: row.get(3)?,
                    modified_ns: row.get(4)?,
                    changed_ns: row.get(5)?,
                },
            };
            Ok((row.get(0)?, known))
        });
        rows.map_err(&wrong)?
            .collect::<Result<_, _>>()
            .map_err(&wrong)
    }

    /// Every summary as JSON, by job.
    ///
    /// # Errors
    /// [`IndexError::Database`] if the file is damaged.
    pub fn summaries(&self) -> Result<HashMap<String, String>, IndexError> {
        let wrong = self.failed();
        let mut statement = self
            .db
            .prepare("SELECT job, summary FROM job")
            .map_err(&wrong)?;
        let rows = statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?)));
        rows.map_err(&wrong)?
            .collect::<Result<_, _>>()
            .map_err(&wrong)
    }

    /// One job's summary as JSON.
    ///
    /// # Errors
    /// [`IndexError::Database`] if the file is damaged or the job is not in it.
    pub fn summary(&self, job: &str) -> Result<String, IndexError> {
        let mut statement = self
            .db
            .prepare_cached("SELECT summary FROM job WHERE job = ?1")
            .map_err(self.failed())?;
        statement
            .query_row([job], |row| row.get(0))
            .map_err(self.failed())
    }

    /// Puts entries in, replacing older ones of the same jobs, all or none.
    ///
    /// # Errors
    /// [`IndexError::Database`] if the file cannot be written.
    pub fn put(&mut self, entries: &[Entry]) -> Result<(), IndexError> {
        if entries.is_empty() {
            return Ok(());
        }
        let path = self.path.clone();
        let wrong = |source| IndexError::Database {
            path: path.clone(),
            source,
        };
        let change = self.db.transaction().map_err(wrong)?;
        {
            let mut statement = change
                .prepare_cached("INSERT OR REPLACE INTO job VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)")
                .map_err(wrong)?;
            for entry in entries {
                statement
                    .execute(params![
                        entry.job,
                        entry.known.vin,
                        entry.known.registration,
                        entry.known.stamp.length,
                        entry.known.stamp.modified_ns,
                        entry.known.stamp.changed_ns,
                        entry.summary
                    ])
                    .map_err(wrong)?;
            }
        }
        change.commit().map_err(wrong)
    }

    /// Removes the index, with the files SQLite keeps beside it.
    ///
    /// # Errors
    /// [`IndexError::Remove`] if a file is there and stays.
    pub fn remove(path: &Path) -> Result<(), IndexError> {
        for ending in ["", "-wal", "-shm"] {
            let mut name = path.as_os_str().to_owned();
            name.push(ending);
            let file = PathBuf::from(name);
            match std::fs::remove_file(&file) {
                Ok(()) => {}
                Err(error) if error.kind() == std::io::ErrorKind::NotFound => {}
                Err(source) => return Err(IndexError::Remove { path: file, source }),
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entry(job: &str, summary: &str) -> Entry {
        Entry {
            job: job.into(),
            known: Known {
                vin: "V".into(),
                registration: String::new(),
                stamp: Stamp {
                    length: 3,
                    modified_ns: 1,
                    changed_ns: 2,
                },
            },
            summary: summary.into(),
        }
    }

    #[test]
    fn entries_are_replaced_by_job_and_gone_with_another_basis() {
        let folder = tempfile::tempdir().unwrap();
        let path = Index::path(folder.path());
        let mut index = Index::open(&path, "one").unwrap();
        index.put(&[entry("A", "1"), entry("B", "2")]).unwrap();
        index.put(&[entry("A", "3")]).unwrap();
        drop(index);
        let index = Index::open(&path, "one").unwrap();
        let all = index.summaries().unwrap();
        assert_eq!((all.len(), all["A"].as_str()), (2, "3"));
        assert_eq!(index.known().unwrap()["B"], entry("B", "").known);
        assert_eq!(index.summary("B").unwrap(), "2");
        assert!(index.summary("C").is_err());
        drop(index);
        let index = Index::open(&path, "two").unwrap();
        assert!(index.known().unwrap().is_empty());
    }

    #[test]
    fn a_file_that_is_no_index_is_refused_and_can_be_removed() {
        let folder = tempfile::tempdir().unwrap();
        let path = Index::path(folder.path());
        std::fs::write(
            &path,
            "not a database, but long enough to be looked at as one",
        )
        .unwrap();
        assert!(matches!(
            Index::open(&path, "one"),
            Err(IndexError::Database { .. })
        ));
        Index::remove(&path).unwrap();
        Index::remove(&path).unwrap();
        assert!(!path.exists());
    }

    #[test]
    fn a_file_changed_just_now_is_not_settled() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("journal");
        std::fs::write(&file, "x").unwrap();
        let stamp = Stamp::of(&std::fs::metadata(&file).unwrap()).unwrap();
        assert!(!stamp.settled(SystemTime::now()));
        assert!(stamp.settled(SystemTime::now() + Duration::from_secs(10)));
    }
}
