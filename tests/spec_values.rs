//! Every number of the built-in rule packs and sheets against the published or agreed value.
//!
//! Beside each value stands its clause and how it is known: R read in a copy of the text, S read in a
//! text that quotes it, M from memory. Rows marked S or M are not verified by this test; it only shows
//! that the pack says what was noted, with the same status.

#![allow(clippy::unwrap_used, clippy::panic)] // helpers of tests fail loudly

#[path = "spec_values/europe.rs"]
mod europe;
#[path = "spec_values/great_britain.rs"]
mod great_britain;
#[path = "spec_values/help.rs"]
mod help;
#[path = "spec_values/parts.rs"]
mod parts;
#[path = "spec_values/policy.rs"]
mod policy;
#[path = "spec_values/sheets.rs"]
mod sheets;
#[path = "spec_values/united_states.rs"]
mod united_states;
