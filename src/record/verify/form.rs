//! The stage `form`: are the bytes a record, and of which version.

use chrono::{DateTime, FixedOffset};
use serde::Deserialize;

use super::super::canonical::{self, Limits};
use super::super::freeze::{FORMAT, REDACTED_FORMAT, ReadRecord, VERSION};
use super::{Verification, describe};

/// What a record claims of its signer, whatever its version.
#[derive(Deserialize)]
pub(super) struct Claim {
    format: String,
    version: u64,
    #[serde(default)]
    pub(super) signer: Option<ClaimedSigner>,
    #[serde(default)]
    pub(super) signed_at: Option<DateTime<FixedOffset>>,
    #[serde(skip)]
    pub(super) redacted: bool,
}

#[derive(Debug, Deserialize)]
pub(super) struct ClaimedSigner {
    pub(super) principal: String,
    pub(super) fingerprint: String,
}

pub(super) enum Form {
    Record(Box<ReadRecord>),
    Newer(Claim),
    None,
}

impl Form {
    pub(super) fn claim(&self) -> Option<Claim> {
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

pub(super) fn check_form(found: &mut Verification, bytes: &[u8]) -> Form {
    match form(bytes) {
        Ok(Form::Record(record)) => {
            found.job = Some(record.job.clone());
            found.revision = Some(record.revision);
            found.state = Some(record.stage);
            found.incomplete = Some(&record.incomplete)
                .filter(|reason| !reason.is_empty())
                .cloned();
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
    let read = match ReadRecord::at_once(bytes, &Limits::DEFAULT) {
        Some(record) => Ok(record),
        None => {
            canonical::check_json(bytes, &Limits::DEFAULT).map_err(|error| describe(&error))?;
            serde_json::from_slice::<ReadRecord>(bytes)
        }
    };
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
