//! The signed record: what makes it checkable by anyone and changeable by nobody.
//!
//! This layer knows bytes, keys, signatures and times handed to it; it reads no file, clock,
//! environment or random source.
//!
//! | module | holds |
//! |---|---|
//! | [`canonical`] | digests, and the strict JSON reader |
//! | [`key`] | a signer's public key |
//! | [`revoked`] | keys no longer trusted |
//! | [`signers`] | who may sign, from when until when |
//! | [`sshsig`] | making and checking signatures that stock `ssh-keygen` understands |

pub mod canonical;
pub mod key;
mod pattern;
pub mod revoked;
pub mod signers;
pub mod sshsig;
mod wire;

pub use wire::WireError;
