//! Signing with a key held by a running ssh-agent, so that the secret never touches this program.
//!
//! Source: the ssh-agent protocol, draft-miller-ssh-agent, listing keys and signing (from memory,
//! and checked against a running agent). The stream is an argument;
//! [`crate::shop::agent_socket`] connects one.

use std::io::{self, Read, Write};

use crate::record::key::{KeyFormError, SignerKey};
use crate::record::sshsig::{self, SigError};
use crate::record::wire::{WireError, WireReader, put_string, shown};

/// Longest message read from an agent, in bytes; OpenSSH's own limit is 256 KiB.
pub const MAX_REPLY: usize = 256 << 10;

const FAILURE: u8 = 5;
const REQUEST_IDENTITIES: u8 = 11;
const IDENTITIES_ANSWER: u8 = 12;
const SIGN_REQUEST: u8 = 13;
const SIGN_RESPONSE: u8 = 14;

/// Why the agent gave no keys or no signature.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum AgentError {
    /// The stream failed.
    #[error("the ssh-agent does not answer")]
    Stream(#[from] io::Error),
    /// The reply is longer than any should be.
    #[error("the ssh-agent announces a reply of {size} bytes, the limit is {limit} bytes")]
    TooLong {
        /// The announced length.
        size: usize,
        /// The limit.
        limit: usize,
    },
    /// The reply is cut off inside.
    #[error("the ssh-agent's reply {0}")]
    Short(WireError),
    /// Bytes follow the reply's last field.
    #[error("{bytes} bytes follow the ssh-agent's reply")]
    Trailing {
        /// How many.
        bytes: usize,
    },
    /// The agent refused: it is locked, has not the key, or the user said no.
    #[error("the ssh-agent refused to {what}")]
    Refused {
        /// What was asked of it.
        what: &'static str,
    },
    /// A reply of an unexpected kind.
    #[error("the ssh-agent sent a message of type {found}, expected {expected}")]
    Unexpected {
        /// The type expected.
        expected: u8,
        /// The type found.
        found: u8,
    },
    /// The signature it made is refused.
    #[error("the ssh-agent's signature is refused")]
    Signature(#[source] SigError),
}

/// A key the agent holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AgentKey {
    /// The public half.
    pub key: SignerKey,
    /// The comment, made safe to show.
    pub comment: String,
}

/// What the agent holds.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct AgentKeys {
    /// Ed25519 keys, in the agent's order.
    pub keys: Vec<AgentKey>,
    /// Why each of the others cannot be used.
    pub others: Vec<KeyFormError>,
}

/// Asks the agent for its keys.
///
/// # Errors
///
/// An [`AgentError`].
pub fn identities(stream: &mut (impl Read + Write)) -> Result<AgentKeys, AgentError> {
    let reply = ask(
        stream,
        &[REQUEST_IDENTITIES],
        IDENTITIES_ANSWER,
        "list its keys",
    )?;
    let mut reader = WireReader::new(&reply);
    let count = reader.u32("number of keys").map_err(AgentError::Short)?;
    let mut found = AgentKeys::default();
    for _ in 0..count {
        let blob = reader.string("key").map_err(AgentError::Short)?;
        let comment = reader.string("comment").map_err(AgentError::Short)?;
        match SignerKey::from_blob(blob) {
            Ok(key) => found.keys.push(AgentKey {
                key,
                comment: shown(comment),
            }),
            Err(why) => found.others.push(why),
        }
    }
    at_end(&reader)?;
    Ok(found)
}

/// Has the agent sign a message, checks what it made, and returns the armoured signature.
///
/// # Errors
///
/// An [`AgentError`]; [`AgentError::Signature`] if the signature does not verify.
pub fn sign(
    stream: &mut (impl Read + Write),
    key: &SignerKey,
    message: &[u8],
    namespace: &str,
) -> Result<String, AgentError> {
    let data = sshsig::signed_data(message, namespace).map_err(AgentError::Signature)?;
    let mut request = vec![SIGN_REQUEST];
    put_string(&mut request, &key.to_blob());
    put_string(&mut request, &data);
    // No flags: they choose among RSA's hashes.
    request.extend_from_slice(&0u32.to_be_bytes());
    let reply = ask(stream, &request, SIGN_RESPONSE, "sign with this key")?;
    let mut reader = WireReader::new(&reply);
    let blob = reader.string("signature").map_err(AgentError::Short)?;
    at_end(&reader)?;
    sshsig::inner_signature(blob)
        .and_then(|raw| sshsig::assemble(key, namespace, &raw))
        .and_then(|armour| sshsig::verify(message, namespace, armour.as_bytes()).map(|_| armour))
        .map_err(AgentError::Signature)
}

fn at_end(reader: &WireReader<'_>) -> Result<(), AgentError> {
    match reader.left() {
        0 => Ok(()),
        bytes => Err(AgentError::Trailing { bytes }),
    }
}

/// Sends one request and reads one reply of the expected type, without its type byte.
fn ask(
    stream: &mut (impl Read + Write),
    request: &[u8],
    expected: u8,
    what: &'static str,
) -> Result<Vec<u8>, AgentError> {
    let mut framed = Vec::with_capacity(request.len() + 4);
    put_string(&mut framed, request);
    stream.write_all(&framed)?;
    stream.flush()?;
    let mut length = [0; 4];
    stream.read_exact(&mut length)?;
    let size = usize::try_from(u32::from_be_bytes(length)).unwrap_or(usize::MAX);
    if size > MAX_REPLY {
        return Err(AgentError::TooLong {
            size,
            limit: MAX_REPLY,
        });
    }
    let mut reply = vec![0; size];
    stream.read_exact(&mut reply)?;
    let mut reader = WireReader::new(&reply);
    match reader.byte("type").map_err(AgentError::Short)? {
        found if found == expected => Ok(reply.split_off(1)),
        FAILURE => Err(AgentError::Refused { what }),
        found => Err(AgentError::Unexpected { expected, found }),
    }
}

#[cfg(test)]
mod tests {
    use ssh_key::private::{Ed25519Keypair, PrivateKey};

    use super::*;

    /// An agent of few words: its replies are prepared, what it is sent is kept.
    struct Prepared {
        replies: io::Cursor<Vec<u8>>,
        sent: Vec<u8>,
    }

    impl Prepared {
        fn new(reply: &[u8]) -> Self {
            let mut framed = Vec::new();
            put_string(&mut framed, reply);
            Self {
                replies: io::Cursor::new(framed),
                sent: Vec::new(),
            }
        }
    }

    impl Read for Prepared {
        fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
            self.replies.read(buffer)
        }
    }

    impl Write for Prepared {
        fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
            self.sent.extend_from_slice(bytes);
            Ok(bytes.len())
        }
        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    fn key() -> PrivateKey {
        PrivateKey::from(Ed25519Keypair::from_seed(&[7; 32]))
    }

    fn public() -> SignerKey {
        SignerKey::try_from(key().public_key()).unwrap()
    }

    /// The agent's reply with a signature over some data.
    fn reply_over(data: &[u8]) -> Vec<u8> {
        let signature: ssh_key::Signature = signature::Signer::try_sign(&key(), data).unwrap();
        let mut inner = Vec::new();
        put_string(&mut inner, b"ssh-ed25519");
        put_string(&mut inner, signature.as_bytes());
        let mut reply = vec![SIGN_RESPONSE];
        put_string(&mut reply, &inner);
        reply
    }

    #[test]
    fn a_signature_by_the_agent_is_the_one_the_key_makes_itself() {
        let data = sshsig::signed_data(b"message", "n").unwrap();
        let mut agent = Prepared::new(&reply_over(&data));
        let armour = sign(&mut agent, &public(), b"message", "n").unwrap();
        assert_eq!(armour, sshsig::sign(b"message", "n", &key()).unwrap());
        let mut expected = vec![SIGN_REQUEST];
        put_string(&mut expected, &public().to_blob());
        put_string(&mut expected, &data);
        expected.extend([0; 4]);
        assert_eq!(agent.sent.get(4..), Some(expected.as_slice()));
    }

    #[test]
    fn an_agent_that_signs_something_else_is_found_out() {
        let data = sshsig::signed_data(b"another message", "n").unwrap();
        let error = sign(
            &mut Prepared::new(&reply_over(&data)),
            &public(),
            b"message",
            "n",
        );
        assert!(matches!(
            error,
            Err(AgentError::Signature(SigError::BadSignature { .. }))
        ));
    }

    #[test]
    fn refusal_silence_and_overlong_replies_are_told_apart() {
        let try_with = |mut agent: Prepared| sign(&mut agent, &public(), b"m", "n").unwrap_err();
        let error = try_with(Prepared::new(&[FAILURE]));
        assert_eq!(
            error.to_string(),
            "the ssh-agent refused to sign with this key"
        );
        let error = try_with(Prepared::new(&[IDENTITIES_ANSWER]));
        assert!(
            matches!(
                error,
                AgentError::Unexpected {
                    expected: 14,
                    found: 12
                }
            ),
            "{error}"
        );
        let silent = Prepared {
            replies: io::Cursor::new(Vec::new()),
            sent: Vec::new(),
        };
        assert!(matches!(try_with(silent), AgentError::Stream(_)));
        let long = Prepared {
            replies: io::Cursor::new(vec![0xff; 8]),
            sent: Vec::new(),
        };
        assert!(matches!(try_with(long), AgentError::TooLong { .. }));
        assert!(matches!(try_with(Prepared::new(&[])), AgentError::Short(_)));
    }

    #[test]
    fn other_key_types_are_listed_with_the_reason() {
        let mut reply = vec![IDENTITIES_ANSWER, 0, 0, 0, 2];
        let mut rsa = Vec::new();
        put_string(&mut rsa, b"ssh-rsa");
        put_string(&mut reply, &rsa);
        put_string(&mut reply, b"old");
        put_string(&mut reply, &public().to_blob());
        put_string(&mut reply, b"jo\x1b[2J");
        let found = identities(&mut Prepared::new(&reply)).unwrap();
        assert_eq!(found.keys.len(), 1);
        assert_eq!(found.keys[0].comment, "jo\\u{1b}[2J");
        assert!(
            matches!(&found.others[0], KeyFormError::NotAccepted { found } if found == "ssh-rsa")
        );
    }

    proptest::proptest! {
        #[test]
        fn arbitrary_replies_never_panic(reply: Vec<u8>, kind in 10u8..16) {
            let mut framed = vec![kind];
            framed.extend(&reply);
            let _ = identities(&mut Prepared::new(&framed));
            let _ = sign(&mut Prepared::new(&framed), &public(), b"m", "n");
        }
    }
}
