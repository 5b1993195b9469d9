//! The record's content: everything a verdict depends on, and the verdict, in one file.
//!
//! The file is JSON, pretty enough to be read in a text editor. Specifications stand in it as the
//! text they were read from, with their SHA-256; the journal stands in it line by line, byte for
//! byte, so that its chain can be followed from the record alone.

use chrono::{DateTime, FixedOffset};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;

use crate::job::journal::{Contents, sha256_hex};
use crate::job::{Job, Register};
use crate::judge::{Case, Judgement};
use crate::spec::{Policy, RulePack, Schedule, Sheet, SpecProblems};

pub use super::read::{Lines, ReadRecord};

/// The word every record begins with.
pub const FORMAT: &str = "brakecorner-record";
/// The word a copy without VIN and plate begins with.
pub const REDACTED_FORMAT: &str = "brakecorner-redacted";
/// Version of the record's form this program writes.
pub const VERSION: u32 = 1;

/// A specification as it was when the record was signed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Snapshot {
    /// The file it was read from, without folder.
    pub file: String,
    /// SHA-256 of the text.
    pub sha256: String,
    /// The text.
    pub text: String,
}

impl Snapshot {
    /// Takes a snapshot of a text.
    #[must_use]
    pub fn of(file: &str, text: &str) -> Self {
        Self {
            file: file.to_owned(),
            sha256: sha256_hex(text.as_bytes()),
            text: text.to_owned(),
        }
    }
}

/// Every specification a verdict depends on.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Snapshots {
    /// The vehicle's spec sheet.
    pub sheet: Snapshot,
    /// The rule packs in force.
    pub rules: Vec<Snapshot>,
    /// The workshop's policy.
    pub policy: Snapshot,
    /// The work schedule.
    pub schedule: Snapshot,
}

/// Snapshots read into types.
#[derive(Clone, Debug)]
pub struct Specs {
    /// The vehicle's spec sheet.
    pub sheet: Sheet,
    /// The rule packs in force.
    pub packs: Vec<RulePack>,
    /// The workshop's policy.
    pub policy: Policy,
    /// The work schedule.
    pub schedule: Schedule,
}

impl Snapshots {
    /// Reads every text.
    ///
    /// # Errors
    /// [`SpecProblems`] of the first file that does not read, all its problems at once.
    pub fn read(&self) -> Result<Specs, SpecProblems> {
        Ok(Specs {
            sheet: Sheet::parse(&self.sheet.text, &self.sheet.file)?,
            packs: self
                .rules
                .iter()
                .map(|pack| RulePack::parse(&pack.text, &pack.file))
                .collect::<Result<_, _>>()?,
            policy: Policy::parse(&self.policy.text, &self.policy.file)?,
            schedule: Schedule::parse(&self.schedule.text, &self.schedule.file)?,
        })
    }

    /// Every snapshot.
    pub fn all(&self) -> impl Iterator<Item = &Snapshot> {
        [&self.sheet, &self.policy, &self.schedule]
            .into_iter()
            .chain(&self.rules)
    }
}

impl Specs {
    /// The case these specifications make of a job.
    #[must_use]
    pub fn case<'a>(&'a self, job: &'a Job, register: &'a Register) -> Case<'a> {
        Case {
            job,
            sheet: &self.sheet,
            packs: &self.packs,
            policy: &self.policy,
            schedule: &self.schedule,
            register,
            assumed: None,
        }
    }
}

/// Who signed, with which key, as which in a row.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SignerStatement {
    /// The signer's name in the signers file.
    pub principal: String,
    /// SHA-256 fingerprint of the key.
    pub fingerprint: String,
    /// The computer the key signed on.
    pub device: String,
    /// Count of this key's signatures on this computer, from 1.
    pub sequence: u64,
    /// SHA-256 of the record this key signed before on this computer; empty for the first.
    pub previous: String,
}

/// Which state of the job a revision freezes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Stage {
    /// What the customer is asked to decide on, before any repair.
    AsFound,
    /// The state the vehicle leaves in.
    Final,
}

/// A record as it is written.
#[derive(Debug, Serialize)]
pub struct Record<'a> {
    /// [`FORMAT`].
    pub format: &'static str,
    /// [`VERSION`].
    pub version: u32,
    /// Version of the rules the verdicts were reached by.
    pub rules_version: u32,
    /// The program that wrote it.
    pub program: &'a str,
    /// Job number.
    pub job: &'a str,
    /// Revision, from 1.
    pub revision: u32,
    /// SHA-256 of the revision before; empty for the first.
    pub previous_revision: &'a str,
    /// Which state it freezes.
    pub stage: Stage,
    /// Why something is missing, when it was signed all the same.
    #[serde(skip_serializing_if = "str::is_empty")]
    pub incomplete: &'a str,
    /// When it was signed, by the signer's clock.
    pub signed_at: DateTime<FixedOffset>,
    /// The workshop.
    pub workshop: &'a str,
    /// Who signed.
    pub signer: SignerStatement,
    /// What came out, in short: as found, as left.
    pub judgement: &'a Judgement,
    /// The instruments with their calibration.
    pub instruments: &'a Register,
    /// The specifications.
    pub specifications: &'a Snapshots,
    /// The journal, line by line as it stands on the disk.
    pub journal: Vec<&'a RawValue>,
}

/// Why a record cannot be written.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum FreezeError {
    /// The journal holds events this version does not know.
    #[error(
        "the journal holds events of a newer version ({}); sign with the version that wrote them",
        .0.join(", ")
    )]
    Unknown(Vec<String>),
    /// Something has no JSON form.
    #[error("the record cannot be written as JSON")]
    Json(#[from] serde_json::Error),
}

impl Record<'_> {
    /// The record's bytes: what gets signed.
    ///
    /// # Errors
    /// [`FreezeError::Json`] if something has no JSON form.
    pub fn to_bytes(&self) -> Result<Vec<u8>, FreezeError> {
        let mut bytes = serde_json::to_vec_pretty(self)?;
        bytes.push(b'\n');
        Ok(bytes)
    }
}

/// The journal's lines for a record, unless it holds what this version cannot judge.
///
/// # Errors
/// [`FreezeError::Unknown`] naming the events, [`FreezeError::Json`] for a line that is no JSON.
pub fn journal_lines<'a>(
    text: &'a str,
    contents: &Contents,
) -> Result<Vec<&'a RawValue>, FreezeError> {
    let unknown: Vec<String> = contents
        .entries
        .iter()
        .filter(|entry| entry.event.is_none())
        .map(|entry| format!("entry {} `{}`", entry.meta.seq, entry.kind))
        .collect();
    if !unknown.is_empty() {
        return Err(FreezeError::Unknown(unknown));
    }
    let whole = text.get(..contents.good_len).unwrap_or(text);
    whole
        .lines()
        .map(|line| Ok(serde_json::from_str(line)?))
        .collect()
}
