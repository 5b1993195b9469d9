//! The public half of a signer's key: Ed25519 and nothing else.

use std::fmt;

use base64ct::{Base64, Base64Unpadded, Encoding};
use sha2::{Digest, Sha256};

use crate::record::wire::{WireError, WireReader, put_string, shown};

/// The one key type accepted.
pub(crate) const ED25519: &str = "ssh-ed25519";

/// Key types OpenSSH knows and this program does not accept.
const OTHER_TYPES: [&str; 10] = [
    "ssh-rsa",
    "rsa-sha2-256",
    "rsa-sha2-512",
    "ssh-dss",
    "ecdsa-sha2-nistp256",
    "ecdsa-sha2-nistp384",
    "ecdsa-sha2-nistp521",
    "sk-ssh-ed25519@openssh.com",
    "sk-ecdsa-sha2-nistp256@openssh.com",
    "webauthn-sk-ecdsa-sha2-nistp256@openssh.com",
];

/// Why bytes or text are not a public key this program accepts.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum KeyFormError {
    /// A key type OpenSSH knows, but not Ed25519.
    #[error("key type `{found}` is recognized but not accepted; only `ssh-ed25519` is")]
    NotAccepted {
        /// The type found.
        found: String,
    },
    /// Not a key type at all.
    #[error("`{found}` is not a known key type; expected `ssh-ed25519`")]
    UnknownType {
        /// What stood in the type's place.
        found: String,
    },
    /// The text is not `ssh-ed25519 BASE64 [comment]`.
    #[error("`{found}` is not a public key; expected `ssh-ed25519 AAAA… comment`")]
    NotAKey {
        /// What was given.
        found: String,
    },
    /// The Base64 part does not decode.
    #[error("the key's Base64 is damaged: `{found}`")]
    Base64 {
        /// What was given.
        found: String,
    },
    /// The key blob ends too early.
    #[error("the key {0}")]
    Short(WireError),
    /// The key has the wrong number of bytes.
    #[error("the key is {found} bytes long, expected 32")]
    Length {
        /// How many it has.
        found: usize,
    },
    /// The text says one type and the blob another.
    #[error("the key's text says `{text}` and its bytes say `{blob}`")]
    TypesDiffer {
        /// The type in the text.
        text: String,
        /// The type in the blob.
        blob: String,
    },
    /// Bytes follow the key.
    #[error("{bytes} bytes follow the key")]
    Trailing {
        /// How many.
        bytes: usize,
    },
    /// The bytes are no point on the curve, or one that verifies signatures nobody made.
    #[error("the key's 32 bytes are not a usable Ed25519 point")]
    WeakPoint,
}

/// An Ed25519 public key.
///
/// # Examples
///
/// ```
/// use brakecorner::record::key::SignerKey;
///
/// let line = "ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAINdamAGCsQq31Uv+08lkBzoO4XLz2qYjJa8CGmj3B1Ea jo";
/// let key = SignerKey::from_openssh(line)?;
/// assert!(key.fingerprint().starts_with("SHA256:"));
/// assert_eq!(SignerKey::from_openssh(&key.to_openssh())?, key);
/// # Ok::<(), brakecorner::record::key::KeyFormError>(())
/// ```
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct SignerKey([u8; 32]);

impl SignerKey {
    /// Accepts 32 bytes as a key if they are a point of full order.
    ///
    /// Source: RFC 8032, section 5.1.3 (decoding). A point of small order is refused because it
    /// verifies signatures for messages its owner never saw.
    ///
    /// # Errors
    ///
    /// [`KeyFormError::WeakPoint`].
    pub fn from_bytes(bytes: [u8; 32]) -> Result<Self, KeyFormError> {
        match ed25519_dalek::VerifyingKey::from_bytes(&bytes) {
            Ok(point) if !point.is_weak() => Ok(Self(bytes)),
            _ => Err(KeyFormError::WeakPoint),
        }
    }

    /// Reads `ssh-ed25519 BASE64 [comment]`, the one line of an OpenSSH `.pub` file.
    ///
    /// # Errors
    ///
    /// A [`KeyFormError`] naming what is wrong; other key types of OpenSSH are told apart from
    /// unknown words.
    pub fn from_openssh(line: &str) -> Result<Self, KeyFormError> {
        let mut words = line.split_ascii_whitespace();
        let (Some(kind), base64) = (words.next(), words.next()) else {
            return Err(KeyFormError::NotAKey {
                found: shown(line.as_bytes()),
            });
        };
        check_type(kind.as_bytes())?;
        let base64 = base64.ok_or_else(|| KeyFormError::NotAKey {
            found: shown(line.as_bytes()),
        })?;
        let blob = Base64::decode_vec(base64).map_err(|_| KeyFormError::Base64 {
            found: shown(base64.as_bytes()),
        })?;
        let mut reader = WireReader::new(&blob);
        let inner = reader.string("type").map_err(KeyFormError::Short)?;
        if inner != kind.as_bytes() {
            return Err(KeyFormError::TypesDiffer {
                text: shown(kind.as_bytes()),
                blob: shown(inner),
            });
        }
        Self::from_blob(&blob)
    }

    /// Reads the wire form: the type, then the 32 bytes.
    ///
    /// # Errors
    ///
    /// A [`KeyFormError`]; bytes after the key are refused too.
    pub fn from_blob(blob: &[u8]) -> Result<Self, KeyFormError> {
        let mut reader = WireReader::new(blob);
        check_type(reader.string("type").map_err(KeyFormError::Short)?)?;
        let bytes = reader.string("point").map_err(KeyFormError::Short)?;
        let point = bytes
            .try_into()
            .map_err(|_| KeyFormError::Length { found: bytes.len() })?;
        match reader.left() {
            0 => Self::from_bytes(point),
            bytes => Err(KeyFormError::Trailing { bytes }),
        }
    }

    /// The key's 32 bytes.
    #[must_use]
    pub fn as_bytes(&self) -> &[u8; 32] {
        &self.0
    }

    /// The wire form, which fingerprints and agents use.
    #[must_use]
    pub fn to_blob(&self) -> Vec<u8> {
        let mut blob = Vec::with_capacity(51);
        put_string(&mut blob, ED25519.as_bytes());
        put_string(&mut blob, &self.0);
        blob
    }

    /// The text of a `.pub` file, without comment and line end.
    #[must_use]
    pub fn to_openssh(&self) -> String {
        format!("{ED25519} {}", Base64::encode_string(&self.to_blob()))
    }

    /// `SHA256:` and the unpadded Base64 of the wire form's SHA-256, as `ssh-keygen -l` prints it.
    #[must_use]
    pub fn fingerprint(&self) -> String {
        format!(
            "SHA256:{}",
            Base64Unpadded::encode_string(&Sha256::digest(self.to_blob()))
        )
    }
}

impl fmt::Debug for SignerKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "SignerKey({})", self.fingerprint())
    }
}

impl TryFrom<&ssh_key::PublicKey> for SignerKey {
    type Error = KeyFormError;

    fn try_from(key: &ssh_key::PublicKey) -> Result<Self, KeyFormError> {
        let kind = key.algorithm();
        let key = key
            .key_data()
            .ed25519()
            .ok_or_else(|| KeyFormError::NotAccepted {
                found: shown(kind.as_str().as_bytes()),
            })?;
        Self::from_bytes(key.0)
    }
}

/// Tells Ed25519 from what is recognized and from what is not.
pub(crate) fn check_type(kind: &[u8]) -> Result<(), KeyFormError> {
    if kind == ED25519.as_bytes() {
        return Ok(());
    }
    let found = shown(kind);
    let plain = found.replace("-cert-v01@", "@");
    let known = |name: &str| OTHER_TYPES.contains(&name) || name == ED25519;
    if known(&found) || known(&plain) || plain.strip_suffix("@openssh.com").is_some_and(known) {
        Err(KeyFormError::NotAccepted { found })
    } else {
        Err(KeyFormError::UnknownType { found })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LINE: &str =
        "ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAINdamAGCsQq31Uv+08lkBzoO4XLz2qYjJa8CGmj3B1Ea";

    #[test]
    fn other_types_are_recognized_and_unknown_words_are_not() {
        for kind in [
            "ssh-rsa",
            "ssh-dss",
            "ecdsa-sha2-nistp256",
            "sk-ssh-ed25519@openssh.com",
            "ssh-ed25519-cert-v01@openssh.com",
            "sk-ssh-ed25519-cert-v01@openssh.com",
        ] {
            let error = check_type(kind.as_bytes()).unwrap_err();
            assert!(
                matches!(error, KeyFormError::NotAccepted { .. }),
                "{kind}: {error}"
            );
        }
        let error = check_type(b"ssh-ed25518").unwrap_err();
        assert!(matches!(error, KeyFormError::UnknownType { .. }), "{error}");
    }

    #[test]
    fn a_point_of_small_order_is_refused() {
        // The neutral element y = 1; source: RFC 8032, section 5.1 (curve parameters).
        let mut neutral = [0; 32];
        neutral[0] = 1;
        assert_eq!(SignerKey::from_bytes(neutral), Err(KeyFormError::WeakPoint));
    }

    #[test]
    fn damage_in_a_key_line_is_named() {
        let cut = LINE.get(..LINE.len() - 4).unwrap();
        assert!(matches!(
            SignerKey::from_openssh(cut),
            Err(KeyFormError::Short(_))
        ));
        assert!(matches!(
            SignerKey::from_openssh("ssh-ed25519"),
            Err(KeyFormError::NotAKey { .. })
        ));
        assert!(matches!(
            SignerKey::from_openssh(""),
            Err(KeyFormError::NotAKey { .. })
        ));
        assert!(matches!(
            SignerKey::from_openssh("ssh-ed25519 !!!!"),
            Err(KeyFormError::Base64 { .. })
        ));
    }
}
