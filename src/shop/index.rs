//! `index.sqlite`: job summaries kept beside the journals they were made from.
//!
//! Derived, and never trusted over a journal: an entry counts only while the journal's length and
//! times are those it was made from, and while program and specifications are the same. Deleting the
//! file loses nothing but time.

use std::fs::Metadata;
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime, UNIX_EPOCH};

use rusqlite::{Connection, OptionalExtension as _, Transaction, params};
use serde::de::DeserializeOwned;

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
    /// What it keeps does not read.
    #[error("the index `{}` is damaged", path.display())]
    Damaged {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        source: serde_json::Error,
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

/// One job in the index.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// Job number.
    pub job: String,
    /// The vehicle's VIN.
    pub vin: String,
    /// Its registration plate.
    pub registration: String,
    /// What the journal looked like.
    pub stamp: Stamp,
    /// The summary as JSON.
    pub summary: String,
}

/// How the journals on the disk compare with the index.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Compared {
    /// Jobs that are wanted and whose entry holds, as places in the list given.
    pub fresh: Vec<usize>,
    /// Jobs without an entry, or whose journal has changed since, as places in the list given.
    pub stale: Vec<usize>,
    /// Entries whose journal is gone.
    pub gone: Vec<String>,
}

/// A thing that is due, as the index keeps it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DueEntry {
    /// Its day, `YYYY-MM-DD`; none when no day can be said.
    pub date: Option<String>,
    /// The row as JSON.
    pub row: String,
}

/// The index of one workshop.
#[derive(Debug)]
pub struct Index {
    db: Connection,
    path: PathBuf,
}

/// Stamps stand apart from summaries, so that comparing reads a hundred bytes a job and not
/// thousands. The rows in `due` are made from a vehicle's jobs as they stand here, but for the
/// vehicles in `unsettled`, whose rows are still to be made.
const FORM: &str = "
CREATE TABLE IF NOT EXISTS about(basis TEXT NOT NULL);
CREATE TABLE IF NOT EXISTS job(
    job TEXT PRIMARY KEY, vin TEXT NOT NULL, bare_vin TEXT NOT NULL, bare_plate TEXT NOT NULL,
    length INTEGER NOT NULL, modified INTEGER NOT NULL, changed INTEGER NOT NULL) WITHOUT ROWID;
CREATE INDEX IF NOT EXISTS job_vin ON job(vin);
CREATE TABLE IF NOT EXISTS summary(job TEXT PRIMARY KEY, summary TEXT NOT NULL);
CREATE TABLE IF NOT EXISTS unsettled(vin TEXT PRIMARY KEY) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS due(vin TEXT NOT NULL, date TEXT, entry TEXT NOT NULL);
CREATE INDEX IF NOT EXISTS due_vin ON due(vin);
CREATE INDEX IF NOT EXISTS due_date ON due(date);";

const EMPTY: &str = "DROP TABLE IF EXISTS job; DROP TABLE IF EXISTS summary;
DROP TABLE IF EXISTS unsettled; DROP TABLE IF EXISTS due; DROP TABLE IF EXISTS about;";

/// A VIN or registration plate without what people write differently.
#[must_use]
pub fn bare(name: &str) -> String {
    name.replace([' ', '-'], "").to_uppercase()
}

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
            db.execute_batch("CREATE TABLE IF NOT EXISTS about(basis TEXT NOT NULL);")?;
            let known: Option<String> = db
                .query_row("SELECT basis FROM about", [], |row| row.get(0))
                .map(Some)
                .or_else(|error| match error {
                    rusqlite::Error::QueryReturnedNoRows => Ok(None),
                    other => Err(other),
                })?;
            if known.as_deref() != Some(basis) {
                db.execute_batch(EMPTY)?;
                db.execute_batch(FORM)?;
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

    fn failed(&self) -> impl Fn(rusqlite::Error) -> IndexError + use<> {
        let path = self.path.clone();
        move |source| IndexError::Database {
            path: path.clone(),
            source,
        }
    }

    /// Reads what the index keeps as JSON.
    ///
    /// # Errors
    /// [`IndexError::Damaged`] if the text does not hold it.
    pub fn read<T: DeserializeOwned>(&self, text: &str) -> Result<T, IndexError> {
        serde_json::from_str(text).map_err(|source| IndexError::Damaged {
            path: self.path.clone(),
            source,
        })
    }

    /// Compares the journals on the disk, sorted by job, with the entries; `vehicle` (a VIN or a
    /// plate) leaves out the fresh ones of other vehicles.
    ///
    /// # Errors
    /// [`IndexError::Database`] if the file is damaged.
    pub fn compare(
        &self,
        jobs: &[(String, Option<Stamp>)],
        vehicle: Option<&str>,
    ) -> Result<Compared, IndexError> {
        let compared = || {
            let mut statement = self.db.prepare(
                "SELECT job, length, modified, changed, ?1 = '' OR bare_vin = ?1 OR bare_plate = ?1
                 FROM job ORDER BY job",
            )?;
            let mut rows = statement.query([vehicle.map(bare).unwrap_or_default()])?;
            let mut compared = Compared::default();
            let mut next = 0;
            while let Some(row) = rows.next()? {
                let name = row.get_ref(0)?.as_str()?;
                while jobs.get(next).is_some_and(|(job, _)| job.as_str() < name) {
                    compared.stale.push(next);
                    next += 1;
                }
                let Some((_, stamp)) = jobs.get(next).filter(|(job, _)| job == name) else {
                    compared.gone.push(name.to_owned());
                    continue;
                };
                let known = Stamp {
                    length: row.get(1)?,
                    modified_ns: row.get(2)?,
                    changed_ns: row.get(3)?,
                };
                if *stamp != Some(known) {
                    compared.stale.push(next);
                } else if row.get(4)? {
                    compared.fresh.push(next);
                }
                next += 1;
            }
            compared.stale.extend(next..jobs.len());
            Ok(compared)
        };
        compared().map_err(self.failed())
    }

    /// One job's summary as JSON.
    ///
    /// # Errors
    /// [`IndexError::Database`] if the file is damaged or the job is not in it.
    pub fn summary(&self, job: &str) -> Result<String, IndexError> {
        let summary = || {
            self.db
                .prepare_cached("SELECT summary FROM summary WHERE job = ?1")?
                .query_row([job], |row| row.get(0))
        };
        summary().map_err(self.failed())
    }

    /// Takes entries out: their journals are gone, or have changed.
    ///
    /// # Errors
    /// [`IndexError::Database`] if the file cannot be written.
    pub fn forget<'a>(
        &mut self,
        jobs: impl IntoIterator<Item = &'a str>,
    ) -> Result<(), IndexError> {
        let wrong = self.failed();
        let forget = || {
            let change = self.db.transaction()?;
            for job in jobs {
                take_out(&change, job)?;
            }
            change.commit()
        };
        forget().map_err(wrong)
    }

    /// Forgets the due rows of vehicles.
    ///
    /// # Errors
    /// [`IndexError::Database`] if the file cannot be written.
    pub fn unsettle<'a>(
        &mut self,
        vins: impl IntoIterator<Item = &'a str>,
    ) -> Result<(), IndexError> {
        let wrong = self.failed();
        let forget = || {
            let change = self.db.transaction()?;
            for vin in vins {
                unsettle(&change, vin)?;
            }
            change.commit()
        };
        forget().map_err(wrong)
    }

    /// Puts entries in, replacing older ones of the same jobs, all or none.
    ///
    /// # Errors
    /// [`IndexError::Database`] if the file cannot be written.
    pub fn put(&mut self, entries: &[Entry]) -> Result<(), IndexError> {
        let wrong = self.failed();
        let mut put = || {
            let change = self.db.transaction()?;
            for entry in entries {
                take_out(&change, &entry.job)?;
                unsettle(&change, &entry.vin)?;
                change
                    .prepare_cached("INSERT INTO job VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)")?
                    .execute(params![
                        entry.job,
                        entry.vin,
                        bare(&entry.vin),
                        bare(&entry.registration),
                        entry.stamp.length,
                        entry.stamp.modified_ns,
                        entry.stamp.changed_ns,
                    ])?;
                change
                    .prepare_cached("INSERT INTO summary VALUES (?1, ?2)")?
                    .execute(params![entry.job, entry.summary])?;
            }
            change.commit()
        };
        put().map_err(wrong)
    }

    /// Vehicles whose due rows are not made yet, with their jobs.
    ///
    /// # Errors
    /// [`IndexError::Database`] if the file is damaged.
    pub fn unsettled(&self) -> Result<Vec<(String, Vec<String>)>, IndexError> {
        let unsettled = || {
            let mut statement = self.db.prepare(
                "SELECT unsettled.vin, job.job FROM unsettled LEFT JOIN job USING (vin)
                 ORDER BY unsettled.vin",
            )?;
            let mut rows = statement.query([])?;
            let mut vehicles: Vec<(String, Vec<String>)> = Vec::new();
            while let Some(row) = rows.next()? {
                let (vin, job): (String, Option<String>) = (row.get(0)?, row.get(1)?);
                match vehicles.last_mut() {
                    Some((last, jobs)) if *last == vin => jobs.extend(job),
                    _ => vehicles.push((vin, job.into_iter().collect())),
                }
            }
            Ok(vehicles)
        };
        unsettled().map_err(self.failed())
    }

    /// Jobs of a vehicle that are in the index.
    ///
    /// # Errors
    /// [`IndexError::Database`] if the file is damaged.
    pub fn jobs_of(&self, vin: &str) -> Result<Vec<String>, IndexError> {
        let jobs = || -> rusqlite::Result<Vec<String>> {
            self.db
                .prepare_cached("SELECT job FROM job WHERE vin = ?1")?
                .query_map([vin], |row| row.get(0))?
                .collect()
        };
        jobs().map_err(self.failed())
    }

    /// Keeps the due rows of vehicles, made from their jobs as they stand in the index.
    ///
    /// # Errors
    /// [`IndexError::Database`] if the file cannot be written.
    pub fn settle(&mut self, vehicles: &[(String, Vec<DueEntry>)]) -> Result<(), IndexError> {
        let wrong = self.failed();
        let mut settle = || {
            let change = self.db.transaction()?;
            for (vin, rows) in vehicles {
                unsettle(&change, vin)?;
                for row in rows {
                    change
                        .prepare_cached("INSERT INTO due VALUES (?1, ?2, ?3)")?
                        .execute(params![vin, row.date, row.row])?;
                }
                change
                    .prepare_cached("DELETE FROM unsettled WHERE vin = ?1")?
                    .execute([vin])?;
            }
            change.commit()
        };
        settle().map_err(wrong)
    }

    /// The due rows of every settled vehicle as JSON; until a day (`YYYY-MM-DD`, included), or all.
    ///
    /// # Errors
    /// [`IndexError::Database`] if the file is damaged.
    pub fn due(&self, until: Option<&str>) -> Result<Vec<String>, IndexError> {
        let due = || -> rusqlite::Result<Vec<String>> {
            match until {
                Some(day) => self
                    .db
                    .prepare("SELECT entry FROM due WHERE date <= ?1")?
                    .query_map([day], |row| row.get(0))?
                    .collect(),
                None => self
                    .db
                    .prepare("SELECT entry FROM due")?
                    .query_map([], |row| row.get(0))?
                    .collect(),
            }
        };
        due().map_err(self.failed())
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

/// Takes one job out, and what was made from it.
fn take_out(change: &Transaction<'_>, job: &str) -> rusqlite::Result<()> {
    let vin: Option<String> = change
        .prepare_cached("SELECT vin FROM job WHERE job = ?1")?
        .query_row([job], |row| row.get(0))
        .optional()?;
    let Some(vin) = vin else { return Ok(()) };
    unsettle(change, &vin)?;
    for table in ["job", "summary"] {
        change
            .prepare_cached(&format!("DELETE FROM {table} WHERE job = ?1"))?
            .execute([job])?;
    }
    Ok(())
}

/// Forgets the due rows of a vehicle: they are to be made anew.
fn unsettle(change: &Transaction<'_>, vin: &str) -> rusqlite::Result<()> {
    change
        .prepare_cached("DELETE FROM due WHERE vin = ?1")?
        .execute([vin])?;
    change
        .prepare_cached("INSERT OR IGNORE INTO unsettled VALUES (?1)")?
        .execute([vin])?;
    Ok(())
}

#[cfg(test)]
mod tests;
