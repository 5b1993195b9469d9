//! Signature and signer alone, without reading the record to its end: for a quick look at very many.

use std::borrow::Cow;

use chrono::{DateTime, FixedOffset};
use serde::Deserializer as _;
use serde::de::{Error as _, IgnoredAny, MapAccess, Visitor};

use super::super::freeze::{FORMAT, VERSION};
use super::super::key::SignerKey;
use super::super::signers::Signers;
use super::super::sshsig::{self, NAMESPACE};
use super::describe;
use super::form::ClaimedSigner;
use super::signer::trusted;

/// What a look at signature and signer found.
#[derive(Debug)]
pub struct SignatureCheck {
    /// The key that signed, if the signature holds.
    pub key: Option<SignerKey>,
    /// The record is of a newer version.
    pub newer: bool,
    /// What is bad: the stage, and what was found.
    pub bad: Option<(&'static str, String)>,
}

/// Checks signature and signer of a record; of the record itself only the fields before the
/// judgement are read.
#[must_use]
pub fn signature(bytes: &[u8], armour: Option<&[u8]>, signers: Option<&Signers>) -> SignatureCheck {
    let mut check = SignatureCheck {
        key: None,
        newer: false,
        bad: None,
    };
    let head = match Head::read(bytes) {
        Ok(head) => head,
        Err(why) => {
            check.bad = Some(("form", why));
            return check;
        }
    };
    check.newer = head.version > u64::from(VERSION);
    let Some(armour) = armour else {
        let why = "there is no signature beside the record".to_owned();
        check.bad = Some(("signature", why));
        return check;
    };
    match sshsig::verify(bytes, NAMESPACE, armour) {
        Err(error) => check.bad = Some(("signature", describe(&error))),
        Ok(key) => {
            check.key = Some(key);
            let result = trusted(&head.signer, head.signed_at, &key, signers);
            check.bad = result.err().map(|why| ("signer", why));
        }
    }
    check
}

/// What stands before the judgement.
struct Head {
    version: u64,
    signer: ClaimedSigner,
    signed_at: DateTime<FixedOffset>,
}

impl Head {
    fn read(bytes: &[u8]) -> Result<Self, String> {
        let mut fields = Fields::default();
        let mut reader = serde_json::Deserializer::from_slice(bytes);
        // Stopping half-way is an error to the parser; what counts is what was read until then.
        let stopped = reader.deserialize_map(&mut fields);
        if fields.format.as_deref() != Some(FORMAT) {
            let why = stopped.err().map(|error| format!(": {error}"));
            return Err(format!("this is no {FORMAT}{}", why.unwrap_or_default()));
        }
        match (fields.version, fields.signer, fields.signed_at) {
            (Some(version), Some(signer), Some(signed_at)) => Ok(Self {
                version,
                signer,
                signed_at,
            }),
            _ => Err("version, signer or signed_at is missing before the judgement".to_owned()),
        }
    }
}

#[derive(Default)]
struct Fields {
    format: Option<String>,
    version: Option<u64>,
    signer: Option<ClaimedSigner>,
    signed_at: Option<DateTime<FixedOffset>>,
}

impl Fields {
    /// Keeps a value; a second one of the same name is refused.
    fn once<T, E: serde::de::Error>(place: &mut Option<T>, value: T) -> Result<(), E> {
        match place.replace(value) {
            None => Ok(()),
            Some(_) => {
                *place = None;
                Err(E::custom("a field is given twice"))
            }
        }
    }
}

impl<'de> Visitor<'de> for &mut Fields {
    type Value = ();

    fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("a record")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<(), A::Error> {
        while let Some(key) = map.next_key::<Cow<'de, str>>()? {
            match key.as_ref() {
                "format" => Fields::once(&mut self.format, map.next_value()?)?,
                "version" => Fields::once(&mut self.version, map.next_value()?)?,
                "signer" => Fields::once(&mut self.signer, map.next_value()?)?,
                "signed_at" => Fields::once(&mut self.signed_at, map.next_value()?)?,
                "judgement" => return Err(A::Error::custom("far enough")),
                _ => drop(map.next_value::<IgnoredAny>()?),
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const START: &str = r#"{"format":"brakecorner-record","version":1,"signed_at":"2026-03-02T08:00:00Z",
        "signer":{"principal":"Ilse Varga","fingerprint":"SHA256:x","device":"dev-1","sequence":1,"previous":""}"#;

    #[test]
    fn what_stands_before_the_judgement_is_enough_and_a_field_given_twice_is_not() {
        let whole = format!("{START},\"judgement\":{{}} and what not");
        assert!(Head::read(whole.as_bytes()).is_ok());
        let twice = format!(
            "{START},\"signer\":{{\"principal\":\"Tam\",\"fingerprint\":\"y\"}},\"judgement\":{{}}}}"
        );
        assert!(Head::read(twice.as_bytes()).is_err());
        assert!(Head::read(b"{\"judgement\":{}}").is_err());
        assert!(Head::read(b"[1]").is_err());
    }
}
