//! The shared archive of many workshops on PostgreSQL.
//!
//! The workshop's folder stays what it is and works without a network; the archive holds copies of
//! its signed records, byte for byte, and narrow tables derived from them, filled in the same
//! transaction. Nothing in it is ever changed or deleted.
//!
//! | module | holds |
//! |---|---|
//! | [`audit`] | verifying every stored record, by many workers at once |
//! | [`connect`] | a connection, with its errors in words |
//! | [`mod@derive`] | the narrow rows a record makes |
//! | [`push`] | sending a workshop's records |
//! | [`query`] | what the desk asks |
//! | [`schema`] | the tables, their roles and their versions |
//! | [`target`] | where the archive is, and the password from its usual places |

pub mod audit;
pub mod connect;
pub mod derive;
mod error;
pub mod push;
pub mod query;
pub mod schema;
pub mod target;

pub use error::ArchiveError;
