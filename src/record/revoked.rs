//! Keys that are no longer trusted: a list of public keys, or OpenSSH's binary revocation list.
//!
//! Sources: ssh-keygen(1), KEY REVOCATION LISTS (read); OpenSSH's note on the binary format, which
//! starts with `SSHKRL`. Both are what `ssh-keygen -Y verify -r FILE` takes. A file that cannot be
//! understood in full is an error and not an empty list: whoever revokes a key must not be ignored.

use std::collections::BTreeMap;

use sha2::{Digest, Sha256};

use crate::record::key::{KeyFormError, SignerKey};
use crate::record::signers::{MAX_FILE, SignersError, each_line};
use crate::record::wire::{WireError, WireReader};

const MAGIC: &[u8] = b"SSHKRL\n\0";

/// Why a revocation file was refused.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum RevokedError {
    /// The file is too long, or lines of a list are wrong.
    #[error(transparent)]
    List(#[from] SignersError),
    /// The binary list is cut off.
    #[error("revocation list `{file}` {source}")]
    Short {
        /// The file's name.
        file: String,
        /// What was missing.
        source: WireError,
    },
    /// A version this program does not know.
    #[error("revocation list `{file}` has format version {found}, expected 1")]
    Version {
        /// The file's name.
        file: String,
        /// The version.
        found: u32,
    },
    /// A part of the list that this program cannot apply.
    #[error(
        "revocation list `{file}` has a section of {what}, which is recognized but not accepted; list the public keys themselves"
    )]
    NotAccepted {
        /// The file's name.
        file: String,
        /// What the section holds.
        what: &'static str,
    },
    /// A section type nobody knows.
    #[error("revocation list `{file}` has an unknown section of type {found}")]
    UnknownSection {
        /// The file's name.
        file: String,
        /// The type.
        found: u8,
    },
    /// A digest of the wrong length.
    #[error("revocation list `{file}` holds a SHA-256 of {found} bytes, expected 32")]
    Digest {
        /// The file's name.
        file: String,
        /// The length in bytes.
        found: usize,
    },
}

/// The revoked keys, by the SHA-256 of their wire form.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Revoked {
    file: String,
    /// The line that revokes the key; 0 in a binary list.
    keys: BTreeMap<[u8; 32], usize>,
}

impl Revoked {
    /// Reads a revocation file of either form; `file` is only for messages.
    ///
    /// # Errors
    ///
    /// A [`RevokedError`].
    ///
    /// # Examples
    ///
    /// ```
    /// use brakecorner::record::key::SignerKey;
    /// use brakecorner::record::revoked::Revoked;
    ///
    /// let line = "ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAINdamAGCsQq31Uv+08lkBzoO4XLz2qYjJa8CGmj3B1Ea";
    /// let revoked = Revoked::parse("revoked", format!("# lost\n{line} laptop\n").as_bytes())?;
    /// let place = revoked.place_of(&SignerKey::from_openssh(line)?);
    /// assert_eq!(place.as_deref(), Some("revoked:2"));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn parse(file: &str, bytes: &[u8]) -> Result<Self, RevokedError> {
        if bytes.len() > MAX_FILE {
            let file = file.to_owned();
            return Err(SignersError::TooLong {
                file,
                size: bytes.len(),
                limit: MAX_FILE,
            }
            .into());
        }
        let keys = match bytes.strip_prefix(MAGIC) {
            Some(body) => binary(file, body)?,
            None => list(file, bytes)?,
        };
        Ok(Self {
            file: file.to_owned(),
            keys,
        })
    }

    /// Where a key is revoked, as `file:line` (or the file alone, if it is a binary list).
    #[must_use]
    pub fn place_of(&self, key: &SignerKey) -> Option<String> {
        let digest: [u8; 32] = Sha256::digest(key.to_blob()).into();
        self.keys.get(&digest).map(|line| match line {
            0 => self.file.clone(),
            line => format!("{}:{line}", self.file),
        })
    }

    /// How many keys are revoked.
    #[must_use]
    pub fn len(&self) -> usize {
        self.keys.len()
    }

    /// Whether no key is revoked.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.keys.is_empty()
    }
}

/// One public key a line. Other types than Ed25519 may be listed: they cannot sign anyway.
fn list(file: &str, bytes: &[u8]) -> Result<BTreeMap<[u8; 32], usize>, RevokedError> {
    let lines = each_line(file, bytes, |text| match SignerKey::from_openssh(text) {
        Ok(key) => Ok(Some(key)),
        Err(KeyFormError::NotAccepted { .. }) => Ok(None),
        Err(error) => Err(error.into()),
    })?;
    let mut keys = BTreeMap::new();
    for (line, key) in lines {
        if let Some(key) = key {
            keys.entry(Sha256::digest(key.to_blob()).into())
                .or_insert(line);
        }
    }
    Ok(keys)
}

/// The sections of a binary list, after its magic.
fn binary(file: &str, body: &[u8]) -> Result<BTreeMap<[u8; 32], usize>, RevokedError> {
    let short = |source| RevokedError::Short {
        file: file.to_owned(),
        source,
    };
    let not_accepted = |what| RevokedError::NotAccepted {
        file: file.to_owned(),
        what,
    };
    let mut reader = WireReader::new(body);
    match reader.u32("format version").map_err(short)? {
        1 => {}
        found => {
            return Err(RevokedError::Version {
                file: file.to_owned(),
                found,
            });
        }
    }
    for field in ["list number", "date", "flags"] {
        reader.u64(field).map_err(short)?;
    }
    reader.string("reserved field").map_err(short)?;
    reader.string("comment").map_err(short)?;
    let mut keys = BTreeMap::new();
    while reader.left() > 0 {
        let kind = reader.byte("section type").map_err(short)?;
        let mut section = WireReader::new(reader.string("section").map_err(short)?);
        match kind {
            // Certificates: none is accepted here, so none needs revoking.
            1 => {}
            // Keys in their wire form.
            2 => {
                while section.left() > 0 {
                    let blob = section.string("key").map_err(short)?;
                    keys.insert(Sha256::digest(blob).into(), 0);
                }
            }
            3 if section.left() == 0 => {}
            3 => return Err(not_accepted("SHA-1 fingerprints")),
            4 => return Err(not_accepted("signatures over the list")),
            // SHA-256 of the wire form.
            5 => {
                while section.left() > 0 {
                    let digest = section.string("fingerprint").map_err(short)?;
                    let digest = digest.try_into().map_err(|_| RevokedError::Digest {
                        file: file.to_owned(),
                        found: digest.len(),
                    })?;
                    keys.insert(digest, 0);
                }
            }
            // An extension: its name, whether it may be skipped, its data.
            255 => {
                section.string("extension name").map_err(short)?;
                if section.byte("extension flag").map_err(short)? != 0 {
                    return Err(not_accepted("a critical extension"));
                }
            }
            found => {
                return Err(RevokedError::UnknownSection {
                    file: file.to_owned(),
                    found,
                });
            }
        }
    }
    Ok(keys)
}

#[cfg(test)]
mod tests {
    use super::*;

    const LINE: &str =
        "ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAINdamAGCsQq31Uv+08lkBzoO4XLz2qYjJa8CGmj3B1Ea";

    #[test]
    fn a_line_that_is_no_key_refuses_the_list_and_is_named() {
        let text = format!("{LINE}\nssh-ed25519 AAAA\n\nnonsense here\n");
        let error = Revoked::parse("revoked", text.as_bytes())
            .unwrap_err()
            .to_string();
        assert!(
            error.contains("revoked:2: ") && error.contains("revoked:4: "),
            "{error}"
        );
    }

    #[test]
    fn keys_of_other_types_may_stand_in_the_list() {
        let text = format!("ssh-rsa AAAA old\n{LINE}\n");
        assert_eq!(Revoked::parse("revoked", text.as_bytes()).unwrap().len(), 1);
    }

    #[test]
    fn an_unknown_or_cut_binary_list_is_refused() {
        let mut krl = MAGIC.to_vec();
        krl.extend(1u32.to_be_bytes());
        krl.extend([0; 24 + 8]);
        assert!(Revoked::parse("krl", &krl).unwrap().is_empty());
        for cut in 8..krl.len() {
            let error = Revoked::parse("krl", &krl[..cut]).unwrap_err();
            assert!(
                matches!(error, RevokedError::Short { .. }),
                "{cut}: {error}"
            );
        }
        let mut unknown = krl.clone();
        unknown.extend([9, 0, 0, 0, 0]);
        let error = Revoked::parse("krl", &unknown).unwrap_err();
        assert!(
            matches!(error, RevokedError::UnknownSection { found: 9, .. }),
            "{error}"
        );
        let mut sha1 = krl;
        sha1.extend([3, 0, 0, 0, 1, 0]);
        let error = Revoked::parse("krl", &sha1).unwrap_err();
        assert!(error.to_string().contains("SHA-1"), "{error}");
    }

    proptest::proptest! {
        #[test]
        fn arbitrary_bytes_never_panic(bytes: Vec<u8>) {
            let _ = Revoked::parse("f", &bytes);
            let _ = Revoked::parse("f", &[MAGIC, &[0, 0, 0, 1], &bytes].concat());
        }
    }
}
