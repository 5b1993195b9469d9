//! The shared archive on a real PostgreSQL server, which these tests start and stop themselves.
#![cfg(feature = "archive")]
#![allow(dead_code, unreachable_pub)] // not every test uses every helper
#![allow(clippy::unwrap_used, clippy::panic)] // helpers of tests stand outside test functions

mod common;
#[path = "archive/contract.rs"]
mod contract;
#[path = "archive/server.rs"]
mod server;
#[path = "archive/shops.rs"]
mod shops;
