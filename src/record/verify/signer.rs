//! The stage `signer`: was the key's holder allowed to sign at the time the record names.

use chrono::{DateTime, FixedOffset, Utc};

use super::super::key::SignerKey;
use super::super::signers::Signers;
use super::super::sshsig::NAMESPACE;
use super::Verification;
use super::form::{ClaimedSigner, Form};

pub(super) fn check_signer(
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

pub(super) fn trusted(
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
