//! Connecting to a running ssh-agent: the one place that knows what kind of socket it has.

use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// How long to wait for the agent, which may be asking its user for consent.
pub const PATIENCE: Duration = Duration::from_secs(120);

/// Why no agent could be reached.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum SocketError {
    /// The socket does not answer.
    #[error("cannot reach the ssh-agent at `{}`", path.display())]
    Connect {
        /// The socket, which the user's environment names in `SSH_AUTH_SOCK`.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// This system's agents use something else than Unix sockets.
    #[error("reaching an ssh-agent is not supported on this system; use a key file")]
    NotSupported,
}

/// A connection to an agent.
pub trait AgentStream: Read + Write {}

impl<T: Read + Write> AgentStream for T {}

/// Connects to the agent's socket, with [`PATIENCE`] for each answer.
///
/// # Errors
///
/// [`SocketError::Connect`], or [`SocketError::NotSupported`] where there are no Unix sockets.
#[cfg(unix)]
pub fn connect(path: &Path) -> Result<Box<dyn AgentStream>, SocketError> {
    let open = || {
        let stream = std::os::unix::net::UnixStream::connect(path)?;
        stream.set_read_timeout(Some(PATIENCE))?;
        stream.set_write_timeout(Some(PATIENCE))?;
        Ok(stream)
    };
    match open() {
        Ok(stream) => Ok(Box::new(stream)),
        Err(source) => Err(SocketError::Connect {
            path: path.to_owned(),
            source,
        }),
    }
}

/// Connects to the agent's socket, with [`PATIENCE`] for each answer.
///
/// # Errors
///
/// [`SocketError::Connect`], or [`SocketError::NotSupported`] where there are no Unix sockets.
#[cfg(not(unix))]
pub fn connect(_: &Path) -> Result<Box<dyn AgentStream>, SocketError> {
    Err(SocketError::NotSupported)
}

#[cfg(all(test, unix))]
mod tests {
    use super::*;

    #[test]
    fn a_missing_socket_is_an_error_with_its_path() {
        let folder = tempfile::tempdir().unwrap();
        let error = connect(&folder.path().join("agent.1")).err().unwrap();
        assert!(error.to_string().contains("agent.1"), "{error}");
    }
}
