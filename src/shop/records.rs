//! The signed records in a job's folder: which there are, and whether the journal still holds what
//! the last of them was signed over.
//!
//! A journal whose last whole lines were cut off is a good journal by itself; only what was signed
//! before knows that more belongs to it.

use std::path::{Path, PathBuf};

use serde::Deserialize;
use serde_json::value::RawValue;

use super::plain_file::{self, PlainFileError};
use crate::job::journal::sha256_hex;
use crate::job::{Job, Register};
use crate::record::freeze::Snapshots;

/// Longest record that is read, in bytes.
const LONGEST: u64 = 64 << 20;

/// The last record in a job's folder, as far as the journal beside it is concerned.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LastRecord {
    /// Its number.
    pub revision: u32,
    /// Why something is missing, when it was signed all the same; else empty.
    pub incomplete: String,
    path: PathBuf,
    sha256: String,
    /// The instruments as they were when it was signed.
    instruments: Register,
    /// What it was judged by, when it can be read.
    specifications: Option<Snapshots>,
    /// How many entries of the journal were signed.
    entries: usize,
    /// The last of their lines.
    line: String,
}

/// How a journal disagrees with the last record beside it.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Astray {
    /// Entries that were signed are gone.
    #[error(
        "the journal ends at entry {has}, but `{}` was signed over {signed} entries; missing at its end: {}",
        record.display(), signed - has
    )]
    Shorter {
        /// The record.
        record: PathBuf,
        /// How many entries were signed.
        signed: usize,
        /// How many there are.
        has: usize,
    },
    /// The journal was written anew.
    #[error("entry {entry} of the journal is not the one that `{}` was signed over", record.display())]
    Other {
        /// The record.
        record: PathBuf,
        /// The last entry that was signed.
        entry: usize,
    },
    /// The record says nothing that can be compared.
    #[error("`{}` is no record that can be read, so the journal cannot be compared with it", record.display())]
    Form {
        /// The record.
        record: PathBuf,
        /// Why it was not read.
        source: serde_json::Error,
    },
    /// The record or the journal was not read.
    #[error(transparent)]
    Unreadable(#[from] PlainFileError),
}

impl Astray {
    /// Whether what was signed is missing, as far as that can be known.
    #[must_use]
    pub const fn is_loss(&self) -> bool {
        matches!(self, Self::Shorter { .. } | Self::Other { .. })
    }
}

#[derive(Deserialize)]
struct Members<'a> {
    #[serde(default)]
    incomplete: String,
    #[serde(default)]
    instruments: Register,
    #[serde(default)]
    specifications: Option<Snapshots>,
    #[serde(borrow)]
    journal: Vec<&'a RawValue>,
}

impl LastRecord {
    /// What to judge a job by that was signed, and in which nothing a verdict depends on was logged
    /// since: what the register, the sheets and the packs say today changes nothing in it.
    #[must_use]
    pub fn frozen(&self, job: &Job) -> Option<(&Register, &Snapshots)> {
        let vouched = job
            .signed
            .iter()
            .any(|(revision, sha256)| *revision == self.revision && *sha256 == self.sha256);
        let signed = u64::try_from(self.entries).unwrap_or(u64::MAX);
        let since = job
            .log()
            .any(|(meta, event, _)| meta.seq > signed && event.is_judged());
        let struck = job.struck.iter().any(|(meta, ..)| meta.seq > signed);
        let specifications = self.specifications.as_ref()?;
        (vouched && !since && !struck).then_some((&self.instruments, specifications))
    }

    /// Reads the last record of a job's folder; `None` if nothing was signed.
    ///
    /// # Errors
    /// [`Astray::Unreadable`] or [`Astray::Form`].
    pub fn of(folder: &Path) -> Result<Option<Self>, Astray> {
        let Some(path) = revisions(folder).pop() else {
            return Ok(None);
        };
        let bytes = plain_file::read(&path, LONGEST)?;
        let members: Members<'_> =
            serde_json::from_slice(&bytes).map_err(|source| Astray::Form {
                record: path.clone(),
                source,
            })?;
        Ok(Some(Self {
            revision: revision_of(&path).unwrap_or_default(),
            sha256: sha256_hex(&bytes),
            instruments: members.instruments,
            specifications: members.specifications,
            incomplete: members.incomplete,
            entries: members.journal.len(),
            line: members
                .journal
                .last()
                .map_or_else(String::new, |line| line.get().to_owned()),
            path,
        }))
    }

    /// Compares with the journal: the last line that was signed must stand in its place. Since each
    /// line vouches for the one before, those before it then are as they were signed too.
    ///
    /// # Errors
    /// [`Astray::Shorter`] or [`Astray::Other`]; [`Astray::Unreadable`] if the journal is not read.
    pub fn stands_in(&self, journal: &Path) -> Result<(), Astray> {
        let Some(last) = self.entries.checked_sub(1) else {
            return Ok(());
        };
        let bytes = plain_file::read(journal, u64::MAX)?;
        let mut lines = bytes.split(|byte| *byte == b'\n');
        if lines.nth(last) == Some(self.line.as_bytes()) {
            return Ok(());
        }
        let record = self.path.clone();
        let (entry, has) = (
            self.entries,
            bytes.iter().filter(|byte| **byte == b'\n').count(),
        );
        Err(if has < entry {
            Astray::Shorter {
                record,
                signed: entry,
                has,
            }
        } else {
            Astray::Other { record, entry }
        })
    }
}

/// The revision number in a record's file name.
#[must_use]
pub fn revision_of(record: &Path) -> Option<u32> {
    let name = record.file_name()?.to_str()?;
    let digits = name.strip_prefix("record-")?.strip_suffix(".json")?;
    let number: u32 = digits.parse().ok()?;
    // `record-01.json` would be a second name for revision 1.
    (number > 0 && number.to_string() == digits).then_some(number)
}

/// The records of a job's folder, in order of their numbers.
#[must_use]
pub fn revisions(folder: &Path) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    let mut numbered: Vec<(u32, PathBuf)> = entries
        .map(|entry| entry.path())
        .filter_map(|path| Some((revision_of(&path)?, path)))
        .collect();
    numbered.sort();
    numbered.into_iter().map(|(_, path)| path).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A folder with a journal of these lines and a record signed over those.
    fn folder(journal: &[&str], signed: &[&str]) -> tempfile::TempDir {
        let folder = tempfile::tempdir().unwrap();
        let lines: String = journal.iter().map(|line| format!("{line}\n")).collect();
        std::fs::write(folder.path().join("journal.jsonl"), lines).unwrap();
        let record = format!(
            "{{\n  \"job\": \"T\",\n  \"journal\": [\n    {}\n  ]\n}}\n",
            signed.join(",\n    ")
        );
        std::fs::write(folder.path().join("record-1.json"), record).unwrap();
        folder
    }

    fn compared(folder: &tempfile::TempDir) -> Result<(), Astray> {
        let last = LastRecord::of(folder.path()).unwrap().unwrap();
        last.stands_in(&folder.path().join("journal.jsonl"))
    }

    const SIGNED: [&str; 3] = ["{\"seq\":1}", "{\"seq\":2}", "{\"seq\":3}"];

    #[test]
    fn a_journal_that_holds_what_was_signed_stands_and_one_cut_at_any_line_does_not() {
        assert!(compared(&folder(&SIGNED, &SIGNED)).is_ok());
        let longer = [&SIGNED[..], &["{\"seq\":4}"]].concat();
        assert!(compared(&folder(&longer, &SIGNED)).is_ok());
        for has in 0..SIGNED.len() {
            let error = compared(&folder(&SIGNED[..has], &SIGNED)).unwrap_err();
            assert!(
                matches!(&error, Astray::Shorter { signed: 3, has: left, .. } if *left == has),
                "{error}"
            );
        }
    }

    #[test]
    fn a_line_cut_in_its_middle_counts_as_gone() {
        let error = compared(&folder(&["{\"seq\":1}", "{\"seq\":2}"], &SIGNED)).unwrap_err();
        assert!(matches!(error, Astray::Shorter { has: 2, .. }));
        let torn = folder(&SIGNED, &SIGNED);
        let path = torn.path().join("journal.jsonl");
        let text = std::fs::read_to_string(&path).unwrap();
        std::fs::write(&path, &text[..text.len() - 4]).unwrap();
        let error = compared(&torn).unwrap_err();
        assert!(matches!(error, Astray::Shorter { has: 2, .. }), "{error}");
        // Only the line feed is lost: nothing is gone.
        std::fs::write(&path, text.trim_end()).unwrap();
        assert!(compared(&torn).is_ok());
    }

    #[test]
    fn a_journal_cut_and_written_on_is_noticed_by_its_other_line() {
        let other = ["{\"seq\":1}", "{\"seq\":2}", "{\"seq\":3,\"x\":0}"];
        let error = compared(&folder(&other, &SIGNED)).unwrap_err();
        assert!(matches!(&error, Astray::Other { entry: 3, .. }), "{error}");
    }

    #[test]
    fn a_record_that_does_not_read_is_said_and_no_loss() {
        let folder = folder(&SIGNED, &["{"]);
        let error = LastRecord::of(folder.path()).unwrap_err();
        assert!(
            !error.is_loss() && matches!(error, Astray::Form { .. }),
            "{error}"
        );
    }
}
