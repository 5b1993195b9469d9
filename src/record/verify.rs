//! Checks a record, stage by stage: form, signature, signer, journal chain, recomputation,
//! revisions, countersignature.

mod chain;
mod countersign;
mod form;
mod head;
mod results;
mod revisions;
mod signature;
mod signer;

use chrono::{DateTime, FixedOffset};
use serde::Serialize;

use super::canonical;
use super::freeze::{ReadRecord, Stage};
use super::key::SignerKey;
use super::signers::Signers;
use super::specs_cache::SpecsCache;
use crate::job::Job;

pub use chain::is_digest;
pub use countersign::same_person;
pub use head::{SignatureCheck, signature};

use chain::chain;
use countersign::check_countersignature;
use form::{Form, check_form};
use revisions::check_revisions;
use signature::check_signature;
use signer::check_signer;

/// The stages, in the order in which they are checked and reported.
pub const STAGES: [&str; 7] = [
    "form",
    "signature",
    "signer",
    "journal",
    "results",
    "revisions",
    "countersignature",
];

/// One stage of a check and what came of it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct StageResult {
    /// The stage's name.
    pub stage: &'static str,
    /// What came of it.
    pub outcome: Outcome,
    /// What was found, in words.
    pub detail: String,
}

/// What came of a stage.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// As it should be.
    Good,
    /// Not as it should be.
    Bad,
    /// Not looked at: an earlier stage failed, this program is too old for it, or what it needs is
    /// not at hand.
    NotChecked,
}

/// What a check comes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Validity {
    /// Everything that makes a record valid was checked and is good.
    Valid,
    /// Something is bad.
    NotValid,
    /// Nothing bad is known, but the record is of a newer version than this program understands.
    Newer,
}

/// What a check found.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Verification {
    /// Every stage, in order.
    pub stages: Vec<StageResult>,
    /// SHA-256 of the record's bytes.
    pub sha256: String,
    /// The record's form or rules are newer than this program.
    pub newer: bool,
    /// Job number, when the form could be read.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub job: Option<String>,
    /// Revision, when the form could be read.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub revision: Option<u32>,
    /// Which state it freezes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub state: Option<Stage>,
    /// Why something was missing when it was signed all the same; none for a finished job.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub incomplete: Option<String>,
    /// Name of the signer, as recorded.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub signer: Option<String>,
    /// When it was signed, as recorded.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub signed_at: Option<DateTime<FixedOffset>>,
    /// SHA-256 of the revision before, as recorded; empty for the first.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub previous_revision: Option<String>,
    /// Names of those who may have countersigned: whose key it is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub countersigner: Option<String>,
}

impl Verification {
    /// Whether the record is valid: nothing is bad, and every stage from form to results was
    /// checked. The revision before may be out of reach, as when a record is handed on alone.
    #[must_use]
    pub fn good(&self) -> bool {
        self.validity() == Validity::Valid
    }

    /// What the check comes to.
    #[must_use]
    pub fn validity(&self) -> Validity {
        let outcome = |wanted| self.stages.iter().any(|stage| stage.outcome == wanted);
        let unchecked = self.stages.iter().any(|stage| {
            stage.outcome == Outcome::NotChecked
                && !matches!(stage.stage, "revisions" | "countersignature")
        });
        match (outcome(Outcome::Bad), self.newer) {
            (true, _) => Validity::NotValid,
            (false, true) => Validity::Newer,
            (false, false) if unchecked => Validity::NotValid,
            (false, false) => Validity::Valid,
        }
    }

    /// The first stage that is bad.
    #[must_use]
    pub fn first_bad(&self) -> Option<&StageResult> {
        self.stages
            .iter()
            .find(|stage| stage.outcome == Outcome::Bad)
    }

    fn note(&mut self, stage: &'static str, result: Result<String, String>) -> bool {
        let (outcome, detail) = match result {
            Ok(detail) => (Outcome::Good, detail),
            Err(detail) => (Outcome::Bad, detail),
        };
        self.stages.push(StageResult {
            stage,
            outcome,
            detail,
        });
        outcome == Outcome::Good
    }

    fn skip(&mut self, stage: &'static str, why: impl Into<String>) {
        self.stages.push(StageResult {
            stage,
            outcome: Outcome::NotChecked,
            detail: why.into(),
        });
    }
}

/// What is known of the revision before.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Before<'a> {
    /// The record came alone.
    #[default]
    NotAtHand,
    /// It should lie beside the record, and does not.
    Missing,
    /// It lies beside the record and has this digest.
    Is(&'a str),
}

/// What lies beside a record.
#[derive(Clone, Copy, Debug, Default)]
pub struct Beside<'a> {
    /// Its signature.
    pub signature: Option<&'a [u8]>,
    /// A second person's signature.
    pub countersignature: Option<&'a [u8]>,
    /// Who may sign.
    pub signers: Option<&'a Signers>,
    /// The revision before.
    pub before: Before<'a>,
    /// Specifications read before.
    pub cache: Option<&'a SpecsCache>,
}

/// Where a record's journal ends.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct JournalEnd {
    /// Good entries.
    pub entries: u64,
    /// Their length in bytes.
    pub good_len: usize,
    /// Digest of the last of their lines.
    pub head: String,
    /// Nothing after them is damaged.
    pub whole: bool,
}

/// A check with what was read on the way.
#[derive(Debug)]
pub struct Examined {
    /// What was found.
    pub verification: Verification,
    /// The record, if its form could be read.
    pub record: Option<Box<ReadRecord>>,
    /// Its journal, if the check went so far: where it ends, and what it folds to.
    pub journal: Option<(JournalEnd, Job)>,
    /// The key that signed, if the signature holds.
    pub key: Option<SignerKey>,
}

/// Checks a record's bytes against its signature and the workshop's signers.
///
/// Never fails as a whole: what is wrong is a stage with its words.
#[must_use]
pub fn verify(bytes: &[u8], signature: Option<&[u8]>, signers: Option<&Signers>) -> Verification {
    let beside = Beside {
        signature,
        signers,
        ..Beside::default()
    };
    examine(bytes, &beside).verification
}

/// Checks a record's bytes with everything that lies beside it.
#[must_use]
pub fn examine(bytes: &[u8], beside: &Beside<'_>) -> Examined {
    let mut found = Verification {
        stages: Vec::new(),
        sha256: canonical::sha256_hex(bytes),
        newer: false,
        job: None,
        revision: None,
        state: None,
        incomplete: None,
        signer: None,
        signed_at: None,
        previous_revision: None,
        countersigner: None,
    };
    let form = check_form(&mut found, bytes);
    let redacted = form.claim().is_some_and(|claim| claim.redacted);
    let key = check_signature(&mut found, bytes, redacted, beside.signature);
    check_signer(&mut found, &form, key.as_ref(), beside.signers);
    let Form::Record(record) = form else {
        let why = match form {
            Form::Newer(_) => "needs a newer version of this program",
            _ => "needs the record's form",
        };
        for stage in STAGES.iter().skip(3) {
            found.skip(stage, why);
        }
        return Examined {
            verification: found,
            record: None,
            journal: None,
            key,
        };
    };
    let (journal, required) = check_content(&mut found, &record, beside.cache);
    check_revisions(&mut found, &record, beside.before);
    check_countersignature(&mut found, &record, bytes, beside, required);
    Examined {
        verification: found,
        record: Some(record),
        journal: Some(journal),
        key,
    }
}

/// Journal and results; says whether the recorded policy requires a countersignature.
fn check_content(
    found: &mut Verification,
    record: &ReadRecord,
    cache: Option<&SpecsCache>,
) -> ((JournalEnd, Job), bool) {
    let mut contents = record.journal();
    let end = JournalEnd {
        entries: contents.entries.len() as u64,
        good_len: contents.good_len,
        head: std::mem::take(&mut contents.head),
        whole: contents.damage.is_none(),
    };
    let job = Job::of_entries(std::mem::take(&mut contents.entries));
    if !found.note("journal", chain(record, &contents, end.entries, &job)) {
        found.skip("results", "needs an unbroken journal");
        return ((end, job), false);
    }
    let specs = match results::specs(record, cache) {
        Ok(specs) => specs,
        Err(why) => {
            found.note("results", Err(why));
            return ((end, job), false);
        }
    };
    let required = record.stage == Stage::Final && specs.policy.countersign_required.value;
    match results::recompute(record, &job, &specs) {
        results::Recomputed::Newer(why) => {
            found.newer = true;
            found.skip("results", why);
        }
        results::Recomputed::Done(result) => {
            found.note("results", result);
        }
    }
    ((end, job), required)
}

/// An error with its causes, in one line.
fn describe(error: &dyn std::error::Error) -> String {
    let mut text = error.to_string();
    let mut cause = error.source();
    while let Some(next) = cause {
        text.push_str(": ");
        text.push_str(&next.to_string());
        cause = next.source();
    }
    text
}
