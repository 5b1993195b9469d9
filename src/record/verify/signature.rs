//! The stage `signature`: which key made it, over exactly these bytes.

use super::super::key::SignerKey;
use super::super::sshsig::{self, NAMESPACE, REDACTED_NAMESPACE};
use super::{Verification, describe};

pub(super) fn check_signature(
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
