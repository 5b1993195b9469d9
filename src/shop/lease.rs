//! Who works at which corner: two technicians may walk one job, each at a corner of their own.
//!
//! A lease is a lock on a small file in the job's folder; the system gives it back when the
//! program ends, however it ends. What the file says is for people.

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{self, Read as _, Seek as _, Write as _};
use std::path::{Path, PathBuf};

use crate::job::Corner;

/// A corner held by this program.
#[derive(Debug)]
pub struct Lease {
    corner: Corner,
    // Held open: the lock lives as long as this handle.
    _file: File,
}

/// Why a corner was not leased.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum LeaseError {
    /// Somebody else works there.
    #[error("{corner} is held by {holder}")]
    Held {
        /// The corner.
        corner: Corner,
        /// Who, where and since when, as they left it.
        holder: String,
    },
    /// The file system refused.
    #[error("cannot lease the corner with `{}`", path.display())]
    Io {
        /// The file.
        path: PathBuf,
        /// The system's reason.
        source: io::Error,
    },
}

impl Lease {
    /// Leases a corner of the job in `folder`; `holder` says who, where and since when.
    ///
    /// # Errors
    /// [`LeaseError::Held`] naming the holder, [`LeaseError::Io`] if the system refuses.
    pub fn take(folder: &Path, corner: Corner, holder: &str) -> Result<Self, LeaseError> {
        let path = folder.join(format!("lease-{corner}"));
        let refused = |source| LeaseError::Io {
            path: path.clone(),
            source,
        };
        let mut file = OpenOptions::new()
            .read(true)
            .write(true)
            .create(true)
            .truncate(false)
            .open(&path)
            .map_err(refused)?;
        match file.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => {
                let mut holder = String::new();
                // Words for people; if they cannot be read the corner is held all the same.
                let _ = file.read_to_string(&mut holder);
                let holder = holder.trim().to_owned();
                let holder = if holder.is_empty() {
                    "somebody else".to_owned()
                } else {
                    holder
                };
                return Err(LeaseError::Held { corner, holder });
            }
            Err(TryLockError::Error(source)) => return Err(refused(source)),
        }
        file.set_len(0).map_err(refused)?;
        file.rewind().map_err(refused)?;
        writeln!(file, "{holder}").map_err(refused)?;
        Ok(Self {
            corner,
            _file: file,
        })
    }

    /// The corner that is held.
    #[must_use]
    pub const fn corner(&self) -> Corner {
        self.corner
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_corner_is_held_until_its_holder_is_gone() {
        let folder = tempfile::tempdir().unwrap();
        let corner: Corner = "FL".parse().unwrap();
        let first = Lease::take(folder.path(), corner, "Ilse Varga since 10:32").unwrap();
        let error = Lease::take(folder.path(), corner, "Tam Okoro").unwrap_err();
        assert_eq!(error.to_string(), "FL is held by Ilse Varga since 10:32");
        Lease::take(folder.path(), "FR".parse().unwrap(), "Tam Okoro").unwrap();
        drop(first);
        assert_eq!(
            Lease::take(folder.path(), corner, "Tam Okoro")
                .unwrap()
                .corner(),
            corner
        );
    }
}
