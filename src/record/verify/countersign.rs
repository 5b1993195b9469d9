//! The stage `countersignature`: a second person's signature on the same bytes.

use chrono::Utc;

use super::super::freeze::ReadRecord;
use super::super::signers::Signers;
use super::super::sshsig::{self, COUNTERSIGN_NAMESPACE};
use super::{Beside, Verification, describe};

pub(super) fn check_countersignature(
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
