//! A lock among programs that work on the same files, waited for only so long.

use std::fs::{File, OpenOptions, TryLockError};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// How long another program may keep a lock before this one gives up.
pub const PATIENCE: Duration = Duration::from_secs(10);

const PAUSE: Duration = Duration::from_millis(20);

/// Why a lock was not taken.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum LockError {
    /// Somebody else holds it.
    #[error("another program has held `{}` for more than {seconds} s", path.display())]
    Busy {
        /// The lock's file.
        path: PathBuf,
        /// How long was waited, in seconds.
        seconds: u64,
    },
    /// The file system refused.
    #[error("cannot lock `{}`", path.display())]
    Io {
        /// The lock's file.
        path: PathBuf,
        /// The system's reason.
        source: std::io::Error,
    },
}

/// A lock that is held until it is dropped, or until the program ends, however it ends.
#[derive(Debug)]
pub struct Lock {
    _file: File,
}

impl Lock {
    /// Takes the lock on a file of its own, which is made if missing and stays afterwards.
    ///
    /// # Errors
    /// [`LockError::Busy`] after [`PATIENCE`], [`LockError::Io`] if the system refuses.
    pub fn take(path: &Path) -> Result<Self, LockError> {
        Self::take_within(path, PATIENCE)
    }

    /// As [`Lock::take`], with another patience.
    ///
    /// # Errors
    /// As [`Lock::take`].
    pub fn take_within(path: &Path, patience: Duration) -> Result<Self, LockError> {
        let io = |source| LockError::Io {
            path: path.to_owned(),
            source,
        };
        let file = OpenOptions::new()
            .create(true)
            .truncate(false)
            .write(true)
            .open(path)
            .map_err(io)?;
        let start = Instant::now();
        loop {
            match file.try_lock() {
                Ok(()) => return Ok(Self { _file: file }),
                Err(TryLockError::WouldBlock) if start.elapsed() < patience => {
                    std::thread::sleep(PAUSE);
                }
                Err(TryLockError::WouldBlock) => {
                    return Err(LockError::Busy {
                        path: path.to_owned(),
                        seconds: patience.as_secs(),
                    });
                }
                Err(TryLockError::Error(source)) => return Err(io(source)),
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_second_taker_is_told_and_gets_it_after_the_first() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("sign.lock");
        let first = Lock::take(&path).unwrap();
        let busy = Lock::take_within(&path, Duration::from_millis(50));
        assert!(matches!(busy, Err(LockError::Busy { .. })));
        drop(first);
        Lock::take_within(&path, Duration::ZERO).unwrap();
    }
}
