//! Checks a record, stage by stage: form, signature, signer, journal chain, recomputation.

use chrono::{DateTime, FixedOffset, Utc};
use serde::Serialize;
use serde_json::Value;

use super::canonical::{self, Limits};
use super::freeze::{FORMAT, ReadRecord, Stage, VERSION};
use super::signers::Signers;
use super::sshsig::{self, NAMESPACE};
use crate::judge;

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
    /// Not looked at, because an earlier stage failed or this program is too old for it.
    NotChecked,
}

/// What a check found.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Verification {
    /// Every stage, in order.
    pub stages: Vec<StageResult>,
    /// SHA-256 of the record's bytes.
    pub sha256: String,
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
}

impl Verification {
    /// Whether every stage is good.
    #[must_use]
    pub fn good(&self) -> bool {
        self.stages
            .iter()
            .all(|stage| stage.outcome == Outcome::Good)
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

    fn skip(&mut self, stage: &'static str, why: &str) {
        let detail = why.to_owned();
        self.stages.push(StageResult {
            stage,
            outcome: Outcome::NotChecked,
            detail,
        });
    }
}

/// Checks a record's bytes against its signature and the workshop's signers.
///
/// Never fails as a whole: what is wrong is a stage with its words.
#[must_use]
pub fn verify(bytes: &[u8], signature: Option<&[u8]>, signers: Option<&Signers>) -> Verification {
    let mut found = Verification {
        stages: Vec::new(),
        sha256: canonical::sha256_hex(bytes),
        job: None,
        revision: None,
        state: None,
        signer: None,
        signed_at: None,
        previous_revision: None,
    };
    let record = match form(bytes) {
        Ok(Form::Record(record)) => {
            found.job = Some(record.job.clone());
            found.revision = Some(record.revision);
            found.state = Some(record.stage);
            found.signer = Some(record.signer.principal.clone());
            found.signed_at = Some(record.signed_at);
            found.previous_revision = Some(record.previous_revision.clone());
            let detail = format!("job {}, revision {}", record.job, record.revision);
            found.note("form", Ok(detail));
            Some(record)
        }
        Ok(Form::Newer(version)) => {
            let why = format!(
                "version {version} of the form is newer than this program; nothing bad is known of it"
            );
            found.skip("form", &why);
            None
        }
        Err(why) => {
            found.note("form", Err(why));
            None
        }
    };
    let key = match signature {
        None => {
            found.note(
                "signature",
                Err("there is no signature beside the record".to_owned()),
            );
            None
        }
        Some(armour) => match sshsig::verify(bytes, NAMESPACE, armour) {
            Ok(key) => {
                found.note("signature", Ok(format!("made by {}", key.fingerprint())));
                Some(key)
            }
            Err(error) => {
                found.note("signature", Err(error.to_string()));
                None
            }
        },
    };
    match (&record, &key) {
        (Some(record), Some(key)) => {
            found.note("signer", signer(record, key, signers));
        }
        _ => found.skip("signer", "needs the record's form and its signature"),
    }
    let Some(record) = record else {
        found.skip("journal", "needs the record's form");
        found.skip("results", "needs the record's form");
        return found;
    };
    let contents = record.journal();
    let chain = match (&contents.damage, contents.torn) {
        (None, None) if contents.entries.is_empty() => Err("the journal is empty".to_owned()),
        (None, None) => Ok(format!("{} entries, unbroken", contents.entries.len())),
        (Some(damage), _) => Err(damage.to_string()),
        (None, Some(torn)) => Err(format!(
            "ends in {} bytes of an unfinished line",
            torn.bytes
        )),
    };
    if found.note("journal", chain) {
        results(&mut found, &record, &contents.fold());
    } else {
        found.skip("results", "needs an unbroken journal");
    }
    found
}

enum Form {
    Record(Box<ReadRecord>),
    Newer(u64),
}

fn form(bytes: &[u8]) -> Result<Form, String> {
    let value = canonical::parse_json(bytes, &Limits::default()).map_err(|e| e.to_string())?;
    if value.get("format").and_then(Value::as_str) != Some(FORMAT) {
        return Err(format!("this is no {FORMAT}"));
    }
    let version = value.get("version").and_then(Value::as_u64).unwrap_or(0);
    if version > u64::from(VERSION) {
        return Ok(Form::Newer(version));
    }
    let record: ReadRecord =
        serde_json::from_slice(bytes).map_err(|error| format!("not a record: {error}"))?;
    Ok(Form::Record(Box::new(record)))
}

fn signer(
    record: &ReadRecord,
    key: &super::key::SignerKey,
    signers: Option<&Signers>,
) -> Result<String, String> {
    if key.fingerprint() != record.signer.fingerprint {
        return Err(format!(
            "the record names key {}, but {} signed it",
            record.signer.fingerprint,
            key.fingerprint()
        ));
    }
    let Some(signers) = signers else {
        return Err("no signers file was given: nobody vouches for this key".to_owned());
    };
    let at: DateTime<Utc> = record.signed_at.with_timezone(&Utc);
    signers
        .find(&record.signer.principal, key, NAMESPACE, at)
        .map_err(|error| error.to_string())?;
    Ok(format!(
        "{}, valid at {}",
        record.signer.principal,
        record.signed_at.to_rfc3339()
    ))
}

fn results(found: &mut Verification, record: &ReadRecord, job: &crate::job::Job) {
    if record.rules_version > judge::RULES_VERSION {
        let why = format!(
            "judged by rules version {}, newer than this program",
            record.rules_version
        );
        found.skip("results", &why);
        return;
    }
    let digests = record
        .specifications
        .all()
        .find(|s| canonical::sha256_hex(s.text.as_bytes()) != s.sha256);
    let result = match (digests, record.judge_again(job)) {
        (Some(snapshot), _) => Err(format!(
            "`{}` is not the text its digest names",
            snapshot.file
        )),
        (None, Err(problems)) => Err(format!(
            "a recorded specification does not read: {problems}"
        )),
        (None, Ok(again)) => compare(&record.judgement, &again),
    };
    found.note("results", result);
}

/// Compares the recorded judgement with the recomputed one, naming the first difference.
fn compare(recorded: &Value, again: &judge::Judgement) -> Result<String, String> {
    let again = serde_json::to_value(again).map_err(|error| error.to_string())?;
    match difference(recorded, &again, "judgement") {
        None => Ok("every result and verdict recomputed alike".to_owned()),
        Some(where_) => Err(format!("recomputed differently at {where_}")),
    }
}

fn difference(a: &Value, b: &Value, path: &str) -> Option<String> {
    match (a, b) {
        (Value::Object(x), Value::Object(y)) => {
            if let Some(key) = x
                .keys()
                .chain(y.keys())
                .find(|k| x.contains_key(*k) != y.contains_key(*k))
            {
                return Some(format!("{path}.{key}"));
            }
            x.iter()
                .find_map(|(key, value)| difference(value, y.get(key)?, &format!("{path}.{key}")))
        }
        (Value::Array(x), Value::Array(y)) => {
            if x.len() != y.len() {
                return Some(format!(
                    "{path}: {} entries, {} recomputed",
                    x.len(),
                    y.len()
                ));
            }
            x.iter()
                .zip(y)
                .enumerate()
                .find_map(|(i, (x, y))| difference(x, y, &format!("{path}[{i}]")))
        }
        _ if a == b => None,
        _ => Some(format!("{path}: {a}, recomputed {b}")),
    }
}
