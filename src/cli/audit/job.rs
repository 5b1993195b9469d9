//! Everything an audit asks of one job's folder.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use super::super::sign::{
    PhotoError, compare_photo, countersignature_path, signature_path, stamp_path,
};
use super::super::verify::{LIMIT, revision_of};
use crate::job::Job;
use crate::job::journal::{self, Contents};
use crate::record::audit::{Link, Problem, ProblemKind};
use crate::record::freeze::ReadRecord;
use crate::record::key::SignerKey;
use crate::record::signers::Signers;
use crate::record::specs_cache::SpecsCache;
use crate::record::stamp;
use crate::record::verify::{self, Before, Beside, Outcome, Validity, Verification};
use crate::shop::plain_file::{self, PlainFileError};

/// Longest journal that is read, in bytes: twice the longest record, which holds it.
const JOURNAL_LIMIT: u64 = 2 * LIMIT;

/// How far an audit goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Depth {
    /// Everything.
    Full,
    /// Signatures and signers.
    Signatures,
}

/// A workshop under audit.
pub(super) struct Shop {
    /// Who may sign there.
    pub(super) signers: Option<Signers>,
    /// Certificates of trusted time-stamping authorities.
    pub(super) authorities: Option<Vec<u8>>,
}

/// What was found in one job's folder.
#[derive(Default)]
pub(super) struct Found {
    /// Records looked at.
    pub(super) records: u64,
    /// Records that are valid.
    pub(super) valid: u64,
    /// Records of a newer version, of which nothing bad is known.
    pub(super) newer: u64,
    /// What is wrong.
    pub(super) problems: Vec<Problem>,
    /// The records' places in their keys' rows.
    pub(super) links: Vec<Link>,
}

/// The longest buffer that is kept from one job to the next, in bytes: no usual record is longer.
const KEPT: usize = 1 << 20;

/// Audits a job's folder; its records are read into `buffer`.
pub(super) fn audit(
    folder: &Path,
    shop: &Shop,
    cache: &SpecsCache,
    depth: Depth,
    buffer: &mut Vec<u8>,
) -> Found {
    let mut auditor = Auditor {
        folder,
        shop,
        cache,
        depth,
        journal: Vec::new(),
        seen: Vec::new(),
        found: Found::default(),
    };
    match auditor.records() {
        Ok(records) => auditor.run(records, buffer),
        Err(source) => {
            let detail = format!("cannot be read: {source}");
            auditor.problem(folder, ProblemKind::Form, detail);
        }
    }
    if buffer.capacity() > KEPT {
        *buffer = Vec::new();
    }
    auditor.found
}

/// A record that was read, as far as the job as a whole needs it.
struct Seen {
    revision: u32,
    path: PathBuf,
    sha256: String,
    /// Its journal, if it is whole: bytes, entries, digest of the last line.
    journal: Option<(usize, u64, String)>,
    /// The photos its journal names.
    photos: Vec<String>,
    /// The signatures its journal names: revision and digest.
    signed: Vec<(u32, String)>,
}

struct Auditor<'a> {
    folder: &'a Path,
    shop: &'a Shop,
    cache: &'a SpecsCache,
    depth: Depth,
    journal: Vec<u8>,
    seen: Vec<Seen>,
    found: Found,
}

impl Auditor<'_> {
    fn problem(&mut self, place: &Path, kind: ProblemKind, detail: impl Into<String>) {
        self.found.problems.push(Problem {
            place: place.display().to_string(),
            kind,
            detail: detail.into(),
        });
    }

    fn unreadable(&mut self, place: &Path, error: &PlainFileError) {
        let kind = match error {
            PlainFileError::Link { .. } | PlainFileError::NotPlain { .. } => ProblemKind::NotPlain,
            _ => ProblemKind::Form,
        };
        self.problem(place, kind, error.to_string());
    }

    /// The job's records in order; links among the folder's other entries are noted.
    fn records(&mut self) -> std::io::Result<Vec<PathBuf>> {
        let mut records = Vec::new();
        for entry in std::fs::read_dir(self.folder)? {
            let entry = entry?;
            let path = entry.path();
            if let Some(number) = revision_of(&path) {
                records.push((number, path));
            } else if entry.file_type()?.is_symlink() {
                let what = "a symbolic link, which is not followed";
                self.problem(&path, ProblemKind::NotPlain, what);
            }
        }
        records.sort();
        Ok(records.into_iter().map(|(_, path)| path).collect())
    }

    fn run(&mut self, records: Vec<PathBuf>, buffer: &mut Vec<u8>) {
        let journal_path = self.folder.join("journal.jsonl");
        if self.depth == Depth::Full && !journal_path.is_symlink() {
            match plain_file::read(&journal_path, JOURNAL_LIMIT) {
                Ok(bytes) => self.journal = bytes,
                Err(error) => self.unreadable(&journal_path, &error),
            }
        }
        for path in records {
            self.found.records += 1;
            match plain_file::read_into(&path, LIMIT, buffer) {
                Ok(()) if self.depth == Depth::Signatures => self.signature(&path, buffer),
                Ok(()) => self.record(&path, buffer),
                Err(error) => self.unreadable(&path, &error),
            }
        }
        if self.depth == Depth::Full {
            let signed = self.against_journal(&journal_path);
            self.photos(&signed);
        }
    }

    /// A file beside a record; one that cannot be read is a problem of its own.
    fn side(&mut self, path: &Path) -> Option<Vec<u8>> {
        match plain_file::read_if_there(path, LIMIT) {
            Ok(bytes) => bytes,
            Err(error) => {
                self.unreadable(path, &error);
                None
            }
        }
    }

    /// Signature and signer alone.
    fn signature(&mut self, path: &Path, bytes: &[u8]) {
        let signature = self.side(&signature_path(path));
        let check = verify::signature(bytes, signature.as_deref(), self.shop.signers.as_ref());
        match check.bad {
            Some((stage, detail)) => {
                let kind = stage_kind(stage, self.revoked(check.key.as_ref()));
                self.problem(path, kind, detail);
            }
            None if check.newer => self.found.newer += 1,
            None => self.found.valid += 1,
        }
    }

    fn record(&mut self, path: &Path, bytes: &[u8]) {
        let number = revision_of(path).unwrap_or(0);
        let signature = self.side(&signature_path(path));
        let countersignature = self.side(&countersignature_path(path));
        let before = self.seen.last().filter(|seen| seen.revision + 1 == number);
        let beside = Beside {
            signature: signature.as_deref(),
            countersignature: countersignature.as_deref(),
            signers: self.shop.signers.as_ref(),
            before: before.map_or(Before::Missing, |seen| Before::Is(&seen.sha256)),
            cache: Some(self.cache),
        };
        let examined = verify::examine(bytes, &beside);
        let stamp_good = self.stamp(path, signature.as_deref());
        let verification = examined.verification;
        let revoked = self.revoked(examined.key.as_ref());
        if verification.good() && stamp_good {
            self.found.valid += 1;
        } else if verification.validity() == Validity::Newer {
            self.found.newer += 1;
        } else {
            self.bad_stages(path, &verification, revoked);
        }
        let mut seen = Seen {
            revision: number,
            path: path.to_owned(),
            sha256: verification.sha256,
            journal: None,
            photos: Vec::new(),
            signed: Vec::new(),
        };
        if let Some(record) = examined.record {
            self.placed(path, number, &record);
            if examined.key.is_some() {
                let place = path.display().to_string();
                self.found
                    .links
                    .push(Link::of(&record, &seen.sha256, &place));
            }
            if let Some((journal, job)) = examined.journal.filter(|(end, _)| end.whole) {
                self.continued(path, &record);
                seen.photos = photos_of(&job);
                seen.signed = job.signed;
                seen.journal = Some((journal.good_len, journal.entries, journal.head));
            }
        }
        self.seen.push(seen);
    }

    fn revoked(&self, key: Option<&SignerKey>) -> bool {
        let revoked = self.shop.signers.as_ref().map(Signers::revoked);
        key.zip(revoked)
            .is_some_and(|(key, revoked)| revoked.place_of(key).is_some())
    }

    fn bad_stages(&mut self, path: &Path, verification: &Verification, revoked: bool) {
        for stage in &verification.stages {
            if stage.outcome != Outcome::Bad {
                continue;
            }
            self.problem(path, stage_kind(stage.stage, revoked), stage.detail.clone());
        }
    }

    fn stamp(&mut self, path: &Path, signature: Option<&[u8]>) -> bool {
        let reply_path = stamp_path(path);
        let (Some(pem), Some(signature)) = (self.shop.authorities.as_deref(), signature) else {
            return true;
        };
        let Some(reply) = self.side(&reply_path) else {
            return true;
        };
        match stamp::check(&reply, None, signature, pem) {
            Ok(_) => true,
            Err(error) => {
                self.problem(&reply_path, ProblemKind::TimeStamp, error.to_string());
                false
            }
        }
    }

    /// A record belongs into the folder of its job, under its number.
    fn placed(&mut self, path: &Path, number: u32, record: &ReadRecord) {
        let folder = self.folder.file_name().unwrap_or_default();
        if folder.to_string_lossy() != record.job || number != record.revision {
            let detail = format!("it is revision {} of job {}", record.revision, record.job);
            self.problem(path, ProblemKind::Misplaced, detail);
        }
    }

    /// The journal beside a record must begin with the journal inside it.
    fn continued(&mut self, path: &Path, record: &ReadRecord) {
        let begins = self.journal.starts_with(record.journal.text().as_bytes());
        if !begins && !self.journal.is_empty() {
            let what = "the journal beside the record does not begin with what was signed";
            self.problem(path, ProblemKind::JournalChanged, what);
        }
    }

    /// Compares the journal's signatures with the records that are there; returns the photos it
    /// names.
    fn against_journal(&mut self, journal_path: &Path) -> Vec<String> {
        let contents = self.tail();
        if let Some(damage) = contents.damage {
            self.problem(journal_path, ProblemKind::Journal, damage.to_string());
            return Vec::new();
        }
        let mut job = Job::default();
        for entry in &contents.entries {
            entry.apply_to(&mut job);
        }
        // The part that was signed before is known from the records; it holds the earlier signatures.
        let before = self.last_vouched();
        let mut signed = before.map(|seen| seen.signed.clone()).unwrap_or_default();
        signed.extend(job.signed.iter().cloned());
        for (revision, sha256) in &signed {
            let short = sha256.get(..12).unwrap_or(sha256);
            let seen = self.seen.iter().find(|seen| seen.revision == *revision);
            match seen {
                Some(seen) if seen.sha256 == *sha256 => {}
                Some(seen) => {
                    let found = seen.sha256.get(..12).unwrap_or_default();
                    let detail = format!("the journal says {short}… was signed, this is {found}…");
                    let path = seen.path.clone();
                    self.problem(&path, ProblemKind::Replaced, detail);
                }
                None => {
                    let path = self.folder.join(format!("record-{revision}.json"));
                    // A record that is there and could not be read has its problem already.
                    if path.symlink_metadata().is_err() {
                        let detail = format!("the journal says it was signed as {short}…");
                        self.problem(&path, ProblemKind::Removed, detail);
                    }
                }
            }
        }
        let unknown: Vec<PathBuf> = self
            .seen
            .iter()
            .filter(|seen| {
                !signed
                    .iter()
                    .any(|(revision, _)| *revision == seen.revision)
            })
            .map(|seen| seen.path.clone())
            .collect();
        for path in unknown {
            let what = "the journal does not say that it was signed";
            self.problem(&path, ProblemKind::NotInJournal, what);
        }
        photos_of(&job)
    }

    /// What the journal holds beyond the part that the last record vouches for; all of it, if none
    /// does.
    fn tail(&self) -> Contents {
        match self.last_vouched().and_then(|seen| seen.journal.as_ref()) {
            Some((length, entries, head)) => {
                let rest = self.journal.get(*length..).unwrap_or_default();
                journal::read_from(rest, *entries, head)
            }
            None => journal::read(&self.journal),
        }
    }

    /// Whether the journal is long enough to hold a record's part; that it does hold it was
    /// compared when the record was read.
    fn vouched(&self, length: usize) -> bool {
        let changed = self
            .found
            .problems
            .iter()
            .any(|problem| problem.kind == ProblemKind::JournalChanged);
        !changed && length <= self.journal.len()
    }

    /// The last record whose part of the journal stands unchanged in the journal.
    fn last_vouched(&self) -> Option<&Seen> {
        let vouched = |seen: &&Seen| {
            seen.journal
                .as_ref()
                .is_some_and(|(length, ..)| self.vouched(*length))
        };
        self.seen.iter().rev().find(vouched)
    }

    fn photos(&mut self, later: &[String]) {
        let mut photos: BTreeSet<String> = later.iter().cloned().collect();
        for seen in &self.seen {
            photos.extend(seen.photos.iter().cloned());
        }
        for sha256 in photos {
            let folder = self.folder.join("photos");
            if let Err(error) = compare_photo(self.folder, &sha256) {
                let kind = match &error {
                    PhotoError::Missing(_) => ProblemKind::PhotoMissing,
                    PhotoError::Read(
                        PlainFileError::Link { .. } | PlainFileError::NotPlain { .. },
                    ) => ProblemKind::NotPlain,
                    _ => ProblemKind::PhotoChanged,
                };
                self.problem(&folder, kind, error.to_string());
            }
        }
    }
}

fn stage_kind(stage: &str, revoked: bool) -> ProblemKind {
    match stage {
        "signature" => ProblemKind::Signature,
        "signer" if revoked => ProblemKind::Revoked,
        "signer" => ProblemKind::Signer,
        "journal" => ProblemKind::Journal,
        "results" => ProblemKind::Results,
        "revisions" => ProblemKind::Revisions,
        "countersignature" => ProblemKind::Countersignature,
        _ => ProblemKind::Form,
    }
}

fn photos_of(job: &Job) -> Vec<String> {
    job.photos
        .iter()
        .map(|(_, _, _, sha256, _)| sha256.clone())
        .collect()
}
