//! The signed record: what makes it checkable by anyone and changeable by nobody.
//!
//! This layer knows bytes, keys, signatures and times handed to it; it reads no file, clock,
//! environment or random source.
//!
//! | module | holds |
//! |---|---|
//! | [`agent`] | signing with a key held by an ssh-agent |
//! | [`audit`] | what many records say together |
//! | [`canonical`] | digests, and the strict JSON reader |
//! | [`freeze`] | what a record holds |
//! | [`key`] | a signer's public key |
//! | [`redact`] | the copy without VIN and plate |
//! | [`revoked`] | keys no longer trusted |
//! | [`schema`] | the record's JSON Schema |
//! | [`signers`] | who may sign, from when until when |
//! | [`specs_cache`] | specifications read once for many records |
//! | [`sshsig`] | making and checking signatures that stock `ssh-keygen` understands |
//! | [`stamp`] | RFC 3161 time-stamps |
//! | [`verify`] | checks a record stage by stage |

pub mod agent;
pub mod audit;
pub mod canonical;
pub mod freeze;
pub mod key;
mod outline;
mod pattern;
mod read;
pub mod redact;
pub mod revoked;
pub mod schema;
pub mod signers;
pub mod specs_cache;
pub mod sshsig;
pub mod stamp;
pub mod verify;
mod wire;

pub use wire::WireError;
