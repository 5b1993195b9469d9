//! Checks a record, stage by stage: form, signature, signer, journal chain, recomputation,
//! revisions, countersignature.

mod head;
mod results;

use chrono::{DateTime, FixedOffset, Utc};
use serde::{Deserialize, Serialize};

use super::canonical::{self, Limits};
use super::freeze::{FORMAT, REDACTED_FORMAT, ReadRecord, Stage, VERSION};
use super::key::SignerKey;
use super::redact;
use super::signers::Signers;
use super::specs_cache::SpecsCache;
use super::sshsig::{self, COUNTERSIGN_NAMESPACE, NAMESPACE, REDACTED_NAMESPACE};
use crate::job::journal::Contents;
use crate::job::{Job, PersonalField};

pub use head::{SignatureCheck, signature};

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

/// A check with what was read on the way.
#[derive(Debug)]
pub struct Examined {
    /// What was found.
    pub verification: Verification,
    /// The record, if its form could be read.
    pub record: Option<Box<ReadRecord>>,
    /// Its journal, if the check went so far.
    pub journal: Option<Contents>,
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
        journal,
        key,
    }
}

/// What a record claims of its signer, whatever its version.
#[derive(Deserialize)]
struct Claim {
    format: String,
    version: u64,
    #[serde(default)]
    signer: Option<ClaimedSigner>,
    #[serde(default)]
    signed_at: Option<DateTime<FixedOffset>>,
    #[serde(skip)]
    redacted: bool,
}

#[derive(Debug, Deserialize)]
struct ClaimedSigner {
    principal: String,
    fingerprint: String,
}

enum Form {
    Record(Box<ReadRecord>),
    Newer(Claim),
    None,
}

impl Form {
    fn claim(&self) -> Option<Claim> {
        match self {
            Self::Record(record) => Some(Claim {
                format: record.format.clone(),
                version: u64::from(record.version),
                signer: Some(ClaimedSigner {
                    principal: record.signer.principal.clone(),
                    fingerprint: record.signer.fingerprint.clone(),
                }),
                signed_at: Some(record.signed_at),
                redacted: record.redaction.is_some(),
            }),
            Self::Newer(claim) => Some(Claim {
                format: claim.format.clone(),
                version: claim.version,
                signer: claim.signer.as_ref().map(|signer| ClaimedSigner {
                    principal: signer.principal.clone(),
                    fingerprint: signer.fingerprint.clone(),
                }),
                signed_at: claim.signed_at,
                redacted: claim.format == REDACTED_FORMAT,
            }),
            Self::None => None,
        }
    }
}

fn check_form(found: &mut Verification, bytes: &[u8]) -> Form {
    match form(bytes) {
        Ok(Form::Record(record)) => {
            found.job = Some(record.job.clone());
            found.revision = Some(record.revision);
            found.state = Some(record.stage);
            found.signer = Some(record.signer.principal.clone());
            found.signed_at = Some(record.signed_at);
            found.previous_revision = Some(record.previous_revision.clone());
            let what = if record.redaction.is_some() {
                "copy without VIN and plate, "
            } else {
                ""
            };
            let detail = format!("{what}job {}, revision {}", record.job, record.revision);
            found.note("form", Ok(detail));
            Form::Record(record)
        }
        Ok(Form::Newer(claim)) => {
            found.newer = true;
            let why = format!(
                "version {} of the form, newer than version {VERSION} that this program reads; nothing bad is known of it",
                claim.version
            );
            found.skip("form", why);
            Form::Newer(claim)
        }
        Ok(Form::None) => Form::None,
        Err(why) => {
            found.note("form", Err(why));
            Form::None
        }
    }
}

fn form(bytes: &[u8]) -> Result<Form, String> {
    canonical::check_json(bytes, &Limits::default()).map_err(|error| describe(&error))?;
    let read = serde_json::from_slice::<ReadRecord>(bytes);
    if let Ok(record) = read {
        let plain = record.format == FORMAT && record.redaction.is_none();
        let copy = record.format == REDACTED_FORMAT && record.redaction.is_some();
        if record.version == VERSION && (plain || copy) {
            if record.revision == 0 {
                return Err("revision 0; they count from 1".to_owned());
            }
            return Ok(Form::Record(Box::new(record)));
        }
    }
    let claim: Claim =
        serde_json::from_slice(bytes).map_err(|error| format!("this is no {FORMAT}: {error}"))?;
    if claim.format != FORMAT && claim.format != REDACTED_FORMAT {
        return Err(format!(
            "this is no {FORMAT} but `{}`",
            claim.format.escape_debug()
        ));
    }
    if claim.version > u64::from(VERSION) {
        return Ok(Form::Newer(claim));
    }
    match serde_json::from_slice::<ReadRecord>(bytes) {
        Err(error) => Err(format!("not a record: {error}")),
        Ok(record) => Err(format!(
            "version {} as `{}` {} a redaction does not exist",
            record.version,
            record.format,
            if record.redaction.is_some() {
                "with"
            } else {
                "without"
            }
        )),
    }
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

fn check_signature(
    found: &mut Verification,
    bytes: &[u8],
    redacted: bool,
    signature: Option<&[u8]>,
) -> Option<SignerKey> {
    let namespace = if redacted {
        REDACTED_NAMESPACE
    } else {
        NAMESPACE
    };
    let Some(armour) = signature else {
        let why = "there is no signature beside the record".to_owned();
        found.note("signature", Err(why));
        return None;
    };
    match sshsig::verify(bytes, namespace, armour) {
        Ok(key) => {
            found.note("signature", Ok(format!("made by {}", key.fingerprint())));
            Some(key)
        }
        Err(error) => {
            found.note("signature", Err(describe(&error)));
            None
        }
    }
}

fn check_signer(
    found: &mut Verification,
    form: &Form,
    key: Option<&SignerKey>,
    signers: Option<&Signers>,
) {
    let claim = form.claim();
    let claimed = claim
        .as_ref()
        .and_then(|claim| Some((claim.signer.as_ref()?, claim.signed_at?)));
    match (claimed, key) {
        (Some((signer, at)), Some(key)) => {
            found.note("signer", trusted(signer, at, key, signers));
        }
        _ => found.skip("signer", "needs the record's form and its signature"),
    }
}

fn trusted(
    claimed: &ClaimedSigner,
    at: DateTime<FixedOffset>,
    key: &SignerKey,
    signers: Option<&Signers>,
) -> Result<String, String> {
    if key.fingerprint() != claimed.fingerprint {
        return Err(format!(
            "the record names key {}, but {} signed it",
            claimed.fingerprint.escape_debug(),
            key.fingerprint()
        ));
    }
    let Some(signers) = signers else {
        return Err("no signers file was given: nobody vouches for this key".to_owned());
    };
    // The copy without VIN and plate is made with the record: who may sign one may sign the other.
    signers
        .find(&claimed.principal, key, NAMESPACE, at.with_timezone(&Utc))
        .map_err(|error| error.to_string())?;
    Ok(format!(
        "{}, valid at {}",
        claimed.principal,
        at.to_rfc3339()
    ))
}

/// Journal and results; says whether the recorded policy requires a countersignature.
fn check_content(
    found: &mut Verification,
    record: &ReadRecord,
    cache: Option<&SpecsCache>,
) -> (Option<Contents>, bool) {
    let contents = record.journal();
    let job = contents.fold();
    if !found.note("journal", chain(record, &contents, &job)) {
        found.skip("results", "needs an unbroken journal");
        return (Some(contents), false);
    }
    let specs = match results::specs(record, cache) {
        Ok(specs) => specs,
        Err(why) => {
            found.note("results", Err(why));
            return (Some(contents), false);
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
    (Some(contents), required)
}

fn chain(record: &ReadRecord, contents: &Contents, job: &Job) -> Result<String, String> {
    if let Some(damage) = &contents.damage {
        return Err(damage.to_string());
    }
    if let Some(torn) = contents.torn {
        return Err(format!(
            "ends in {} bytes of an unfinished line",
            torn.bytes
        ));
    }
    if contents.entries.is_empty() {
        return Err("the journal is empty".to_owned());
    }
    let Some(opening) = &job.opening else {
        return Err("the job was never opened".to_owned());
    };
    if opening.job != record.job {
        return Err(format!(
            "the journal is of job {}, the record of job {}",
            opening.job, record.job
        ));
    }
    for (meta, _, _, sha256, _) in &job.photos {
        if !is_digest(sha256) {
            return Err(format!(
                "entry {}: photo `{}` is named by no SHA-256",
                meta.seq,
                sha256.escape_debug()
            ));
        }
    }
    for (field, sha256) in &job.personal {
        if !is_digest(sha256) {
            return Err(format!("the digest of {} is no SHA-256", field.word()));
        }
    }
    let whole = format!("{} entries, unbroken", contents.entries.len());
    if record.redaction.is_none() {
        return Ok(whole);
    }
    for (field, shown) in [
        (PersonalField::Vin, &opening.vin),
        (PersonalField::Registration, &opening.registration),
    ] {
        let digest = job.personal.get(&field).map(|d| redact::in_place(d));
        let expected = digest.as_deref().unwrap_or(redact::WITHHELD);
        if !shown.is_empty() && shown != expected {
            return Err(format!(
                "{} is shown as `{}`, expected `{expected}`",
                field.word(),
                shown.escape_debug()
            ));
        }
    }
    Ok(format!(
        "{whole} from line 2 on; VIN and plate withheld in line 1"
    ))
}

/// Whether a text is a SHA-256 as this program writes it, and so a harmless file name.
#[must_use]
pub fn is_digest(text: &str) -> bool {
    text.len() == 64
        && text
            .bytes()
            .all(|byte| byte.is_ascii_digit() || (b'a'..=b'f').contains(&byte))
}

fn check_revisions(found: &mut Verification, record: &ReadRecord, before: Before<'_>) {
    let named = record.previous_revision.as_str();
    let short = |digest: &str| {
        digest
            .get(..12)
            .unwrap_or(digest)
            .escape_debug()
            .to_string()
    };
    let number = record.revision.saturating_sub(1);
    let result = match (record.revision, before) {
        (1, _) if named.is_empty() => Ok("the first revision".to_owned()),
        (1, _) => Err(format!(
            "the first revision names {}… before it",
            short(named)
        )),
        (_, Before::Is(digest)) if digest == named => {
            Ok(format!("follows revision {number}, {}…", short(named)))
        }
        (_, Before::Is(digest)) => Err(format!(
            "names {}… as revision {number}, which is {}…",
            short(named),
            short(digest)
        )),
        (_, Before::Missing) => Err(format!("revision {number}, {}…, is missing", short(named))),
        (_, Before::NotAtHand) => {
            let why = format!(
                "names {}… as revision {number}, which is not here",
                short(named)
            );
            found.skip("revisions", why);
            return;
        }
    };
    found.note("revisions", result);
}

fn check_countersignature(
    found: &mut Verification,
    record: &ReadRecord,
    bytes: &[u8],
    beside: &Beside<'_>,
    required: bool,
) {
    let result = match (beside.countersignature, required) {
        (None, true) => Err("there is none, and the recorded policy requires one".to_owned()),
        (None, false) => {
            found.skip("countersignature", "there is none, and none is required");
            return;
        }
        (Some(armour), _) => countersigner(record, bytes, armour, beside.signers),
    };
    if let Ok(name) = &result {
        found.countersigner = Some(name.clone());
    }
    found.note("countersignature", result.map(|name| format!("by {name}")));
}

/// Whose key countersigned. A countersignature carries no time of its own: the key must be valid
/// at the record's.
fn countersigner(
    record: &ReadRecord,
    bytes: &[u8],
    armour: &[u8],
    signers: Option<&Signers>,
) -> Result<String, String> {
    let key =
        sshsig::verify(bytes, COUNTERSIGN_NAMESPACE, armour).map_err(|error| describe(&error))?;
    let fingerprint = key.fingerprint();
    if fingerprint == record.signer.fingerprint {
        return Err("by the key that signed the record; a second person's is needed".to_owned());
    }
    let signers = signers.ok_or("no signers file was given: nobody vouches for this key")?;
    signers
        .not_revoked(&key)
        .map_err(|error| error.to_string())?;
    let at = record.signed_at.with_timezone(&Utc);
    let lines = signers.of_key(&key, COUNTERSIGN_NAMESPACE, at);
    if let Some(same) = lines
        .iter()
        .find(|line| same_person(&line.principals, &record.signer.principal))
    {
        return Err(format!(
            "by {}, who signed the record with another key; a second person is needed",
            same.principals
        ));
    }
    match lines.first() {
        Some(line) => Ok(line.principals.clone()),
        None => Err(format!(
            "nobody may countersign with key {fingerprint} at {}",
            record.signed_at.to_rfc3339()
        )),
    }
}

/// Whether two names are one person's, as far as spelling tells.
#[must_use]
pub fn same_person(a: &str, b: &str) -> bool {
    let plain = |name: &str| {
        name.split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
            .to_lowercase()
    };
    plain(a) == plain(b)
}
