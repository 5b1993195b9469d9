//! SSH signatures over whole files, as stock `ssh-keygen -Y sign` and `-Y verify` use them.
//!
//! Source: OpenSSH's protocol note on SSHSIG. The blob is `"SSHSIG"`, version 1, public key,
//! namespace, reserved, hash algorithm, signature; what is signed is `"SSHSIG"`, namespace,
//! reserved, hash algorithm and the hash of the message. We write SHA-512 and Ed25519, armoured in
//! lines of 70, and accept SHA-256 too, since stock `ssh-keygen` can be told to use it.
//!
//! Where `ssh-keygen` is lenient we follow or tighten, and this is all of it (its column as tried
//! with OpenSSH 9.2):
//!
//! | in the armour | `ssh-keygen -Y verify` | here |
//! |---|---|---|
//! | CRLF line ends | refused at the first line, let pass after it | refused, with its own error |
//! | spaces and empty lines between the first and the last line | accepted | accepted |
//! | text after the end line | ignored | refused: one file holds one signature |
//! | reserved field not empty | ignored | refused: it is not covered by what was signed |
//! | version 0 | accepted | refused |
//! | a scalar S not reduced | accepted | refused (RFC 8032, 5.1.7) |
//! | a key of small order, which verifies messages nobody signed | accepted if listed | refused |

use std::fmt;

use base64ct::{Base64, Encoding};
use ed25519_dalek::VerifyingKey;
use sha2::{Digest, Sha256, Sha512};
use ssh_key::{Algorithm, LineEnding, PrivateKey, SshSig};

use crate::record::key::{KeyFormError, SignerKey, check_type};
use crate::record::wire::{WireError, WireReader, put_string, shown};

/// The namespace of a record's own signature.
pub const NAMESPACE: &str = "brakecorner-record";

/// The namespace of a second person's signature on the same record.
pub const COUNTERSIGN_NAMESPACE: &str = "brakecorner-countersign";

/// The namespace of the signature on the copy without VIN and plate.
pub const REDACTED_NAMESPACE: &str = "brakecorner-redacted";

/// Longest armour read, in bytes; ours is under 400, the largest RSA signature of OpenSSH under 8 k.
pub const MAX_ARMOUR: usize = 65_536;

const MAGIC: &[u8] = b"SSHSIG";
const BEGIN: &str = "-----BEGIN SSH SIGNATURE-----";
const END: &str = "-----END SSH SIGNATURE-----";

/// The steps of checking a signature, in their order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[non_exhaustive]
pub enum Stage {
    /// The text around the Base64, and its decoding.
    Armour,
    /// The fields in the decoded bytes.
    Blob,
    /// The type and value of the public key.
    Key,
    /// What the signature says it is for.
    Namespace,
    /// Which hash was signed.
    Hash,
    /// The signature itself.
    Signature,
    /// Making a signature, not checking one.
    Signing,
}

impl fmt::Display for Stage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Armour => "armour",
            Self::Blob => "blob",
            Self::Key => "key",
            Self::Namespace => "namespace",
            Self::Hash => "hash",
            Self::Signature => "signature",
            Self::Signing => "signing",
        })
    }
}

/// Why a signature was refused, or could not be made.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum SigError {
    /// The armour is longer than any signature.
    #[error("the signature file is {size} bytes long, the limit is {limit} bytes")]
    TooLong {
        /// Its length in bytes.
        size: usize,
        /// The limit in bytes.
        limit: usize,
    },
    /// The first line is not the begin line.
    #[error("the signature does not start with `-----BEGIN SSH SIGNATURE-----` but with `{found}`")]
    NoBegin {
        /// How it starts.
        found: String,
    },
    /// The lines end as on Windows; stock `ssh-keygen` refuses that too.
    #[error("the signature's lines end in CRLF, expected LF alone (first at byte {offset})")]
    Crlf {
        /// Where the first carriage return is, from 0.
        offset: usize,
    },
    /// There is no end line: the file was cut off.
    #[error("the signature is cut off: no `-----END SSH SIGNATURE-----` in its {bytes} bytes")]
    NoEnd {
        /// The length in bytes.
        bytes: usize,
    },
    /// Text follows the end line.
    #[error("{bytes} bytes follow the end line of the signature")]
    TrailingText {
        /// How many.
        bytes: usize,
    },
    /// The lines between do not decode.
    #[error("the signature's Base64 is damaged in its {characters} characters")]
    Base64 {
        /// How many characters there are without line ends.
        characters: usize,
    },
    /// The decoded bytes do not start with `SSHSIG`.
    #[error("the decoded signature starts with `{found}`, expected `SSHSIG`")]
    NotSshSig {
        /// What it starts with.
        found: String,
    },
    /// A version other than 1.
    #[error("the signature has version {found}, expected 1")]
    Version {
        /// The version found.
        found: u32,
    },
    /// A field is cut off.
    #[error("the signature {0}")]
    Short(WireError),
    /// Bytes follow the last field.
    #[error("{bytes} bytes follow the signature's last field")]
    TrailingData {
        /// How many.
        bytes: usize,
    },
    /// The reserved field holds something, which nobody signed.
    #[error("the signature's reserved field holds {bytes} bytes, expected none")]
    Reserved {
        /// How many.
        bytes: usize,
    },
    /// The public key is not an Ed25519 key.
    #[error("the signature's key is refused")]
    Key(#[source] KeyFormError),
    /// The signature is for another purpose.
    #[error("the signature is for namespace `{found}`, expected `{expected}`")]
    Namespace {
        /// The namespace wanted.
        expected: String,
        /// The namespace found.
        found: String,
    },
    /// The hash is neither SHA-512 nor SHA-256.
    #[error("hash `{found}` is not accepted; expected `sha512` or `sha256`")]
    Hash {
        /// The name found.
        found: String,
    },
    /// The inner signature is of another type than the key.
    #[error("the inner signature's type is refused")]
    SignatureType(#[source] KeyFormError),
    /// The inner signature has the wrong number of bytes.
    #[error("the inner signature is {found} bytes long, expected 64")]
    SignatureLength {
        /// How many it has.
        found: usize,
    },
    /// The signature was not made by this key over this message.
    #[error("the signature by {fingerprint} does not fit the {bytes} bytes signed")]
    BadSignature {
        /// The key's fingerprint.
        fingerprint: String,
        /// The message's length in bytes.
        bytes: usize,
    },
    /// The secret key is still locked by its passphrase.
    #[error("the secret key is locked by a passphrase")]
    Locked,
    /// The library refused to sign.
    #[error("the key cannot sign")]
    CannotSign(#[source] ssh_key::Error),
}

impl SigError {
    /// The step at which the check stopped.
    #[must_use]
    pub fn stage(&self) -> Stage {
        match self {
            Self::TooLong { .. }
            | Self::NoBegin { .. }
            | Self::Crlf { .. }
            | Self::NoEnd { .. }
            | Self::TrailingText { .. }
            | Self::Base64 { .. } => Stage::Armour,
            Self::NotSshSig { .. }
            | Self::Version { .. }
            | Self::Short(_)
            | Self::TrailingData { .. }
            | Self::Reserved { .. } => Stage::Blob,
            Self::Key(_) => Stage::Key,
            Self::Namespace { .. } => Stage::Namespace,
            Self::Hash { .. } => Stage::Hash,
            Self::SignatureType(_) | Self::SignatureLength { .. } | Self::BadSignature { .. } => {
                Stage::Signature
            }
            Self::Locked | Self::CannotSign(_) => Stage::Signing,
        }
    }
}

/// The hash a signature was made over.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum HashName {
    /// SHA-256, which stock `ssh-keygen` writes when told to.
    Sha256,
    /// SHA-512, which we write.
    Sha512,
}

impl HashName {
    fn as_str(self) -> &'static str {
        match self {
            Self::Sha256 => "sha256",
            Self::Sha512 => "sha512",
        }
    }

    fn digest(self, message: &[u8]) -> Vec<u8> {
        match self {
            Self::Sha256 => Sha256::digest(message).to_vec(),
            Self::Sha512 => Sha512::digest(message).to_vec(),
        }
    }
}

/// A signature read from its armour and well formed, but not yet checked against a message.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Parsed {
    key: SignerKey,
    namespace: Vec<u8>,
    hash: HashName,
    signature: [u8; 64],
}

impl Parsed {
    /// The key the signature claims; it proves nothing until [`Parsed::check`] has accepted it.
    #[must_use]
    pub fn claimed_key(&self) -> &SignerKey {
        &self.key
    }

    /// The namespace the signature claims, made safe to show.
    #[must_use]
    pub fn claimed_namespace(&self) -> String {
        shown(&self.namespace)
    }

    /// The hash the signature is over.
    #[must_use]
    pub fn hash(&self) -> HashName {
        self.hash
    }

    /// Checks namespace and signature, and returns the key that signed.
    ///
    /// # Errors
    ///
    /// [`SigError::Namespace`] or [`SigError::BadSignature`].
    pub fn check(&self, message: &[u8], namespace: &str) -> Result<SignerKey, SigError> {
        if self.namespace != namespace.as_bytes() {
            return Err(SigError::Namespace {
                expected: namespace.to_owned(),
                found: self.claimed_namespace(),
            });
        }
        let data = to_be_signed(message, namespace, self.hash);
        let signature = ed25519_dalek::Signature::from_bytes(&self.signature);
        VerifyingKey::from_bytes(self.key.as_bytes())
            .and_then(|key| key.verify_strict(&data, &signature))
            .map_err(|_| SigError::BadSignature {
                fingerprint: self.key.fingerprint(),
                bytes: message.len(),
            })?;
        Ok(self.key)
    }
}

/// Signs a message and returns the armoured signature, line end included.
///
/// Ed25519 is deterministic, so the same message, namespace and key give the same bytes.
///
/// # Errors
///
/// [`SigError::Locked`] if the key still needs its passphrase, [`SigError::Key`] if it is not
/// Ed25519, [`SigError::Namespace`] if the namespace is empty.
///
/// # Examples
///
/// ```
/// use brakecorner::record::sshsig::{NAMESPACE, sign, verify};
/// use ssh_key::private::{Ed25519Keypair, PrivateKey};
///
/// let key = PrivateKey::from(Ed25519Keypair::from_seed(&[7; 32]));
/// let armour = sign(b"thickness 22.01 mm\n", NAMESPACE, &key)?;
/// assert!(verify(b"thickness 22.01 mm\n", NAMESPACE, armour.as_bytes()).is_ok());
/// assert!(verify(b"thickness 22.10 mm\n", NAMESPACE, armour.as_bytes()).is_err());
/// # Ok::<(), brakecorner::record::sshsig::SigError>(())
/// ```
pub fn sign(message: &[u8], namespace: &str, key: &PrivateKey) -> Result<String, SigError> {
    let public = SignerKey::try_from(key.public_key()).map_err(SigError::Key)?;
    if key.is_encrypted() {
        return Err(SigError::Locked);
    }
    let data = signed_data(message, namespace)?;
    let signature: ssh_key::Signature = signature::Signer::try_sign(key, &data)
        .map_err(|error| SigError::CannotSign(error.into()))?;
    let bytes = signature.as_bytes();
    let raw = bytes
        .try_into()
        .map_err(|_| SigError::SignatureLength { found: bytes.len() })?;
    assemble(&public, namespace, raw)
}

/// The bytes a signer's key has to sign for a message: for keys held elsewhere, such as an agent's.
///
/// # Errors
///
/// [`SigError::Namespace`] if the namespace is empty, which the format forbids.
pub fn signed_data(message: &[u8], namespace: &str) -> Result<Vec<u8>, SigError> {
    if namespace.is_empty() {
        return Err(SigError::Namespace {
            expected: NAMESPACE.to_owned(),
            found: String::new(),
        });
    }
    Ok(to_be_signed(message, namespace, HashName::Sha512))
}

/// Puts a raw signature over [`signed_data`] into its armour.
///
/// It does not check the signature; whoever got it from elsewhere calls [`verify`] next.
///
/// # Errors
///
/// [`SigError::CannotSign`] if the library refuses the parts.
pub fn assemble(
    key: &SignerKey,
    namespace: &str,
    signature: &[u8; 64],
) -> Result<String, SigError> {
    let public =
        ssh_key::public::KeyData::Ed25519(ssh_key::public::Ed25519PublicKey(*key.as_bytes()));
    ssh_key::Signature::new(Algorithm::Ed25519, signature.to_vec())
        .and_then(|inner| SshSig::new(public, namespace, ssh_key::HashAlg::Sha512, inner))
        .and_then(|whole| whole.to_pem(LineEnding::LF))
        .map_err(SigError::CannotSign)
}

/// Checks an armoured signature over a message, and returns the key that signed.
///
/// Whether that key may sign is another question: see [`crate::record::signers`].
///
/// # Errors
///
/// A [`SigError`]; [`SigError::stage`] names the step that failed.
pub fn verify(message: &[u8], namespace: &str, armour: &[u8]) -> Result<SignerKey, SigError> {
    parse(armour)?.check(message, namespace)
}

/// Reads an armoured signature without a message.
///
/// # Errors
///
/// A [`SigError`] of the stages armour, blob, key, hash or signature.
pub fn parse(armour: &[u8]) -> Result<Parsed, SigError> {
    let blob = dearmour(armour)?;
    let mut reader = WireReader::new(&blob);
    let magic = reader
        .bytes("magic", MAGIC.len())
        .map_err(SigError::Short)?;
    if magic != MAGIC {
        return Err(SigError::NotSshSig {
            found: shown(magic),
        });
    }
    match reader.u32("version").map_err(SigError::Short)? {
        1 => {}
        found => return Err(SigError::Version { found }),
    }
    let key = reader.string("public key").map_err(SigError::Short)?;
    let namespace = reader.string("namespace").map_err(SigError::Short)?;
    let reserved = reader.string("reserved field").map_err(SigError::Short)?;
    let hash = reader.string("hash algorithm").map_err(SigError::Short)?;
    let signature = reader.string("signature").map_err(SigError::Short)?;
    if reader.left() > 0 {
        return Err(SigError::TrailingData {
            bytes: reader.left(),
        });
    }
    if !reserved.is_empty() {
        return Err(SigError::Reserved {
            bytes: reserved.len(),
        });
    }
    Ok(Parsed {
        key: SignerKey::from_blob(key).map_err(SigError::Key)?,
        namespace: namespace.to_vec(),
        hash: hash_name(hash)?,
        signature: inner_signature(signature)?,
    })
}

fn hash_name(name: &[u8]) -> Result<HashName, SigError> {
    match name {
        b"sha512" => Ok(HashName::Sha512),
        b"sha256" => Ok(HashName::Sha256),
        other => Err(SigError::Hash {
            found: shown(other),
        }),
    }
}

/// Reads the wire form of an Ed25519 signature: its type, then 64 bytes.
pub(crate) fn inner_signature(blob: &[u8]) -> Result<[u8; 64], SigError> {
    let mut reader = WireReader::new(blob);
    let kind = reader.string("signature type").map_err(SigError::Short)?;
    check_type(kind).map_err(SigError::SignatureType)?;
    let bytes = reader.string("signature bytes").map_err(SigError::Short)?;
    if reader.left() > 0 {
        return Err(SigError::TrailingData {
            bytes: reader.left(),
        });
    }
    bytes
        .try_into()
        .map_err(|_| SigError::SignatureLength { found: bytes.len() })
}

fn to_be_signed(message: &[u8], namespace: &str, hash: HashName) -> Vec<u8> {
    let mut data = MAGIC.to_vec();
    put_string(&mut data, namespace.as_bytes());
    put_string(&mut data, b"");
    put_string(&mut data, hash.as_str().as_bytes());
    put_string(&mut data, &hash.digest(message));
    data
}

/// Takes the armour off; see the module's table for what it lets pass.
fn dearmour(armour: &[u8]) -> Result<Vec<u8>, SigError> {
    if armour.len() > MAX_ARMOUR {
        return Err(SigError::TooLong {
            size: armour.len(),
            limit: MAX_ARMOUR,
        });
    }
    let Some(body) = armour.strip_prefix(BEGIN.as_bytes()) else {
        return Err(SigError::NoBegin {
            found: shown(armour.get(..29).unwrap_or(armour)),
        });
    };
    if let Some(offset) = armour.iter().position(|&byte| byte == b'\r') {
        return Err(SigError::Crlf { offset });
    }
    if !body.starts_with(b"\n") {
        return Err(SigError::NoBegin {
            found: shown(armour.get(..40).unwrap_or(armour)),
        });
    }
    let end = format!("\n{END}");
    let at = body
        .windows(end.len())
        .position(|window| window == end.as_bytes())
        .ok_or(SigError::NoEnd {
            bytes: armour.len(),
        })?;
    let (lines, tail) = body.split_at(at);
    let after = tail.get(end.len()..).unwrap_or_default().trim_ascii();
    if !after.is_empty() {
        return Err(SigError::TrailingText { bytes: after.len() });
    }
    let compact: Vec<u8> = lines
        .iter()
        .copied()
        .filter(|byte| !byte.is_ascii_whitespace())
        .collect();
    let damaged = SigError::Base64 {
        characters: compact.len(),
    };
    let text = std::str::from_utf8(&compact).map_err(|_| damaged.clone())?;
    Base64::decode_vec(text).map_err(|_| damaged)
}
