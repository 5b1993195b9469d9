//! The shared archive on a real PostgreSQL server, which these tests start and stop themselves.
#![cfg(feature = "archive")]
#![allow(dead_code, unreachable_pub)] // not every test uses every helper
#![allow(clippy::unwrap_used, clippy::panic)] // helpers of tests stand outside test functions

#[path = "archive/answers.rs"]
mod answers;
#[path = "archive/audited.rs"]
mod audited;
#[path = "archive/bad.rs"]
mod bad;
mod common;
#[path = "archive/contract.rs"]
mod contract;
#[path = "archive/many.rs"]
mod many;
#[path = "archive/roles.rs"]
mod roles;
#[path = "archive/server.rs"]
mod server;
#[path = "archive/shops.rs"]
mod shops;
#[path = "archive/three.rs"]
mod three;
#[path = "archive/tls.rs"]
mod tls;
