//! The workshop on disk, and the user's own keys.

pub mod agent_socket;
pub mod atomic;
mod file_mode;
pub mod keys;
