//! The signed record: what makes it checkable by anyone and changeable by nobody.
//!
//! This layer knows bytes, keys, signatures and times handed to it; it reads no file, clock,
//! environment or random source.
//!
//! | module | holds |
//! |---|---|
//! | [`agent`] | signing with a key held by an ssh-agent |
//! | [`canonical`] | digests, and the strict JSON reader |
//! | [`freeze`] | what a record holds |
//! | [`key`] | a signer's public key |
//! | [`revoked`] | keys no longer trusted |
//! | [`signers`] | who may sign, from when until when |
//! | [`sshsig`] | making and checking signatures that stock `ssh-keygen` understands |
//! | [`stamp`] | RFC 3161 time-stamps |
//! | [`verify`] | checks a record stage by stage |

pub mod agent;
pub mod canonical;
pub mod freeze;
pub mod key;
mod pattern;
pub mod revoked;
pub mod signers;
pub mod sshsig;
pub mod stamp;
pub mod verify;
mod wire;

pub use wire::WireError;
