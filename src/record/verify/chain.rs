//! The stage `journal`: an unbroken chain of lines, and digests where digests belong.

use super::super::freeze::ReadRecord;
use super::super::redact;
use crate::job::journal::Contents;
use crate::job::{Job, PersonalField};

/// `contents` may have given its entries away; how many there were is told beside it.
pub(super) fn chain(
    record: &ReadRecord,
    contents: &Contents,
    entries: u64,
    job: &Job,
) -> Result<String, String> {
    if let Some(damage) = &contents.damage {
        return Err(damage.to_string());
    }
    if let Some(torn) = contents.torn {
        return Err(format!(
            "ends in {} bytes of an unfinished line",
            torn.bytes
        ));
    }
    if entries == 0 {
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
    let whole = format!("{entries} entries, unbroken");
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
