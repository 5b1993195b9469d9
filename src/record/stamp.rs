//! RFC 3161 time-stamps: asking an authority to confirm *when*, and checking what it answers.
//!
//! A signature proves who and what; its time is only the signer's word. A workshop that wants to
//! prove the time sends a request to a time-stamping authority and keeps the reply beside the
//! record. Nothing here talks to a network: the request is a file, and so is the reply.
//!
//! Sources: RFC 3161, 2.4 (request, reply, token); RFC 5652, 5.4 and 11 (what is signed); RFC 5035
//! and RFC 2634 (the token names its signer's certificate); RFC 5280, 4.2.1.12 (extended key
//! usage). All from memory; `openssl ts` is the outside authority in the tests.
//!
//! The authority's certificate has to be valid **at the time the stamp names**, so that an old
//! stamp stays checkable after the certificate's end. Whether the certificate was revoked is not
//! checked: that would take the network. RSA (2048 bits and more, PKCS #1 v1.5), ECDSA on P-256
//! and P-384, and Ed25519 are accepted, with SHA-256, SHA-384 or SHA-512.

use chrono::{DateTime, Utc};
use cms::content_info::ContentInfo;
use der::asn1::{Int, OctetString};
use der::oid::ObjectIdentifier;
use der::{Any, Decode, Encode, Sequence, SliceReader};
use sha2::{Digest, Sha256, Sha384, Sha512};
use x509_cert::ext::Extensions;
use x509_cert::ext::pkix::name::GeneralName;
use x509_cert::spki::AlgorithmIdentifier;
use x509_tsp::{Accuracy, MessageImprint, TimeStampReq, TspVersion};

use crate::record::canonical::hex;
use crate::record::wire::shown;

mod token;

/// Longest reply or request read, in bytes; a reply with its certificates takes 2 to 8 k.
pub const MAX_REPLY: usize = 1 << 18;

const SHA_256: ObjectIdentifier = ObjectIdentifier::new_unwrap("2.16.840.1.101.3.4.2.1");
const SHA_384: ObjectIdentifier = ObjectIdentifier::new_unwrap("2.16.840.1.101.3.4.2.2");
const SHA_512: ObjectIdentifier = ObjectIdentifier::new_unwrap("2.16.840.1.101.3.4.2.3");
const TST_INFO: ObjectIdentifier = ObjectIdentifier::new_unwrap("1.2.840.113549.1.9.16.1.4");

/// Why a time-stamp could not be asked for, or was refused.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum StampError {
    /// The file is longer than any reply.
    #[error("the time-stamp is {size} bytes long, the limit is {limit} bytes")]
    TooLong {
        /// Its length in bytes.
        size: usize,
        /// The limit in bytes.
        limit: usize,
    },
    /// A part is not what RFC 3161 says.
    #[error("the time-stamp's {part} cannot be read")]
    Form {
        /// The part.
        part: &'static str,
        /// What the reader said.
        source: der::Error,
    },
    /// The authority did not grant the request.
    #[error("the authority refused: status {status}, `{text}`")]
    Refused {
        /// The status number of RFC 3161, 2.4.2.
        status: u8,
        /// The authority's words, made safe to show.
        text: String,
    },
    /// A part is missing.
    #[error("the time-stamp has no {part}")]
    Missing {
        /// The part.
        part: &'static str,
    },
    /// A part has another value than it must.
    #[error("the time-stamp's {part} is `{found}`, expected `{expected}`")]
    Other {
        /// The part.
        part: &'static str,
        /// The value found.
        found: String,
        /// The value expected.
        expected: String,
    },
    /// The stamp is over other bytes.
    #[error("the time-stamp is for other bytes: digest {found}, expected {expected}")]
    Digest {
        /// The stamp's digest.
        found: String,
        /// The digest of the bytes given.
        expected: String,
    },
    /// An algorithm that is not accepted.
    #[error("the time-stamp's {part} uses algorithm {oid}, which is not accepted")]
    Algorithm {
        /// Where it is used.
        part: &'static str,
        /// Its object identifier.
        oid: String,
    },
    /// The time is not one.
    #[error("the time-stamp's time `{found}` is not YYYYMMDDHHMMSS[.fff]Z")]
    Time {
        /// The text found.
        found: String,
    },
    /// The trusted certificates cannot be read.
    #[error("the trusted certificates cannot be read: {reason}")]
    Anchors {
        /// Why.
        reason: String,
    },
    /// The signature does not fit.
    #[error("the time-stamp's signature is not by the certificate `{subject}`")]
    Signature {
        /// The certificate's subject, made safe to show.
        subject: String,
    },
    /// The certificate does not lead to a trusted one.
    #[error("the authority's certificate `{subject}` is not trusted at {time}")]
    Chain {
        /// The certificate's subject, made safe to show.
        subject: String,
        /// The stamp's time as RFC 3339.
        time: String,
        /// What the checker said.
        source: webpki::Error,
    },
    /// The certificate is not for time-stamping alone.
    #[error("the certificate `{subject}` is not for time-stamping alone")]
    Usage {
        /// The certificate's subject, made safe to show.
        subject: String,
    },
}

/// What a checked time-stamp says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stamp {
    /// The time the authority confirms.
    pub time: DateTime<Utc>,
    /// How far off the time may be either way, in microseconds, if the authority says.
    pub accuracy_us: Option<u64>,
    /// The stamp's serial number, in hex digits.
    pub serial: String,
    /// The authority's policy, as an object identifier.
    pub policy: String,
    /// The subject of the authority's certificate, made safe to show.
    pub authority: String,
}

/// Makes a request (DER) for a time-stamp over some bytes: over their SHA-512.
///
/// Asks for the authority's certificate, so that the reply can be checked alone. `nonce` are random
/// bytes; they tie the reply to this request.
///
/// # Errors
///
/// [`StampError::Form`] if the request cannot be encoded.
///
/// # Examples
///
/// ```
/// use brakecorner::record::stamp::request;
///
/// let der = request(b"the signature's bytes\n", [7; 8])?;
/// assert_eq!(der.first(), Some(&0x30));
/// # Ok::<(), brakecorner::record::stamp::StampError>(())
/// ```
pub fn request(message: &[u8], nonce: [u8; 8]) -> Result<Vec<u8>, StampError> {
    let form = |source| StampError::Form {
        part: "request",
        source,
    };
    // Neither sign bit nor leading zero, so that the number has one encoding.
    let mut nonce = nonce;
    if let Some(first) = nonce.first_mut() {
        *first = (*first & 0x3f) | 0x40;
    }
    let request = TimeStampReq {
        version: TspVersion::V1,
        message_imprint: MessageImprint {
            hash_algorithm: AlgorithmIdentifier {
                oid: SHA_512,
                parameters: Some(Any::null()),
            },
            hashed_message: OctetString::new(Sha512::digest(message).to_vec()).map_err(form)?,
        },
        req_policy: None,
        nonce: Some(Int::new(&nonce).map_err(form)?),
        cert_req: true,
        extensions: None,
    };
    request.to_der().map_err(form)
}

/// Checks an authority's reply over some bytes, against trusted certificates in PEM.
///
/// With the request at hand the reply must also carry its nonce.
///
/// # Errors
///
/// A [`StampError`] naming the part that was refused.
pub fn check(
    reply: &[u8],
    request: Option<&[u8]>,
    message: &[u8],
    trusted_pem: &[u8],
) -> Result<Stamp, StampError> {
    for file in [Some(reply), request].into_iter().flatten() {
        if file.len() > MAX_REPLY {
            return Err(StampError::TooLong {
                size: file.len(),
                limit: MAX_REPLY,
            });
        }
    }
    let response: Response = decode("reply", reply)?;
    granted(&response.status)?;
    let content = response
        .token
        .ok_or(StampError::Missing { part: "token" })?;
    let token = token::Token::read(&content)?;
    let info: TstInfo = decode("content", &token.content)?;
    check_imprint(&info.message_imprint, message)?;
    if let Some(request) = request {
        let request: TimeStampReq = decode("request", request)?;
        if request.nonce != info.nonce {
            let text = |nonce: Option<Int>| nonce.map_or("none".to_owned(), |n| hex(n.as_bytes()));
            return Err(StampError::Other {
                part: "nonce",
                found: text(info.nonce),
                expected: text(request.nonce),
            });
        }
    }
    let critical = info
        .extensions
        .iter()
        .flatten()
        .find(|extension| extension.critical);
    if let Some(extension) = critical {
        let oid = extension.extn_id.to_string();
        return Err(StampError::Algorithm {
            part: "critical extension",
            oid,
        });
    }
    let time = gen_time(&info.gen_time)?;
    let authority = token.verify(time, trusted_pem)?;
    Ok(Stamp {
        time,
        accuracy_us: info.accuracy.as_ref().map(accuracy_us),
        serial: hex(info.serial_number.as_bytes()),
        policy: info.policy.to_string(),
        authority,
    })
}

/// The reply; the status stays undecoded, since the library's type cannot hold every failure bit.
#[derive(Sequence)]
struct Response {
    status: Any,
    #[asn1(optional = "true")]
    token: Option<ContentInfo>,
}

/// RFC 3161's TSTInfo; the library's own refuses fractions of a second, which the RFC allows.
#[derive(Sequence)]
struct TstInfo {
    version: TspVersion,
    policy: ObjectIdentifier,
    message_imprint: MessageImprint,
    serial_number: Int,
    gen_time: Any,
    #[asn1(optional = "true")]
    accuracy: Option<Accuracy>,
    #[asn1(default = "Default::default")]
    ordering: bool,
    #[asn1(optional = "true")]
    nonce: Option<Int>,
    #[asn1(context_specific = "0", tag_mode = "EXPLICIT", optional = "true")]
    tsa: Option<GeneralName>,
    #[asn1(context_specific = "1", tag_mode = "IMPLICIT", optional = "true")]
    extensions: Option<Extensions>,
}

fn decode<'a, T: Decode<'a>>(part: &'static str, der: &'a [u8]) -> Result<T, StampError> {
    T::from_der(der).map_err(|source| StampError::Form { part, source })
}

/// Status 0 (granted) and 1 (granted with changes) carry a token.
fn granted(status: &Any) -> Result<(), StampError> {
    let form = |source| StampError::Form {
        part: "status",
        source,
    };
    let mut reader = SliceReader::new(status.value()).map_err(form)?;
    let number = u8::decode(&mut reader).map_err(form)?;
    if number <= 1 {
        return Ok(());
    }
    // Words are optional, and only words: whatever cannot be read is left out.
    let words = Vec::<String>::decode(&mut reader).unwrap_or_default();
    Err(StampError::Refused {
        status: number,
        text: shown(words.join(" ").as_bytes()),
    })
}

fn check_imprint(imprint: &MessageImprint, message: &[u8]) -> Result<(), StampError> {
    let expected = digest("imprint", imprint.hash_algorithm.oid, message)?;
    let found = imprint.hashed_message.as_bytes();
    if found == expected {
        Ok(())
    } else {
        Err(StampError::Digest {
            found: hex(found),
            expected: hex(&expected),
        })
    }
}

fn digest(part: &'static str, oid: ObjectIdentifier, bytes: &[u8]) -> Result<Vec<u8>, StampError> {
    match oid {
        SHA_256 => Ok(Sha256::digest(bytes).to_vec()),
        SHA_384 => Ok(Sha384::digest(bytes).to_vec()),
        SHA_512 => Ok(Sha512::digest(bytes).to_vec()),
        other => Err(StampError::Algorithm {
            part,
            oid: other.to_string(),
        }),
    }
}

/// Reads a GeneralizedTime of UTC with any number of decimals of a second.
fn gen_time(time: &Any) -> Result<DateTime<Utc>, StampError> {
    let wrong = || StampError::Time {
        found: shown(time.value()),
    };
    if der::Tagged::tag(time) != der::Tag::GeneralizedTime {
        return Err(wrong());
    }
    let text = std::str::from_utf8(time.value()).map_err(|_| wrong())?;
    let plain = text
        .bytes()
        .all(|b| b.is_ascii_digit() || b == b'.' || b == b'Z');
    let text = text.strip_suffix('Z').filter(|_| plain).ok_or_else(wrong)?;
    if text.split('.').next().is_none_or(|whole| whole.len() != 14) {
        return Err(wrong());
    }
    chrono::NaiveDateTime::parse_from_str(text, "%Y%m%d%H%M%S%.f")
        .map(|time| time.and_utc())
        .map_err(|_| wrong())
}

fn accuracy_us(accuracy: &Accuracy) -> u64 {
    let part = |value: Option<i16>| u64::try_from(value.unwrap_or(0)).unwrap_or(0);
    accuracy
        .seconds
        .unwrap_or(0)
        .saturating_mul(1_000_000)
        .saturating_add(part(accuracy.millis) * 1000)
        .saturating_add(part(accuracy.micros))
}
