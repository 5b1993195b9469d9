//! Reads files of a folder that somebody else may have filled: no links followed, no devices
//! opened, no more bytes taken than a limit.

use std::fs::File;
use std::io::{self, Read as _};
use std::path::{Path, PathBuf};

/// Why a file was not read.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PlainFileError {
    /// There is none.
    #[error("there is no `{}`", path.display())]
    Missing {
        /// Where it was looked for.
        path: PathBuf,
    },
    /// A symbolic link, which could lead anywhere.
    #[error("`{}` is a symbolic link, which is not followed", path.display())]
    Link {
        /// The link.
        path: PathBuf,
    },
    /// A folder, a pipe, a device.
    #[error("`{}` is not a plain file", path.display())]
    NotPlain {
        /// The path.
        path: PathBuf,
    },
    /// More than is read.
    #[error("`{}` is {size} bytes long, the limit is {limit} bytes", path.display())]
    TooLong {
        /// The file.
        path: PathBuf,
        /// Its length in bytes.
        size: u64,
        /// The limit in bytes.
        limit: u64,
    },
    /// The file system refused.
    #[error("cannot read `{}`", path.display())]
    Io {
        /// The file.
        path: PathBuf,
        /// The system's reason.
        source: io::Error,
    },
}

/// Opens a plain file; says its length.
///
/// # Errors
/// A [`PlainFileError`].
pub fn open(path: &Path) -> Result<(File, u64), PlainFileError> {
    let owned = || path.to_owned();
    let io = |source: io::Error| match source.kind() {
        io::ErrorKind::NotFound | io::ErrorKind::NotADirectory => {
            PlainFileError::Missing { path: owned() }
        }
        _ => PlainFileError::Io {
            path: owned(),
            source,
        },
    };
    let kind = path.symlink_metadata().map_err(io)?.file_type();
    if kind.is_symlink() {
        return Err(PlainFileError::Link { path: owned() });
    }
    // Asked before opening: opening a pipe would wait for its other end.
    if !kind.is_file() {
        return Err(PlainFileError::NotPlain { path: owned() });
    }
    let file = File::open(path).map_err(io)?;
    let meta = file.metadata().map_err(io)?;
    if !meta.is_file() {
        return Err(PlainFileError::NotPlain { path: owned() });
    }
    Ok((file, meta.len()))
}

/// Reads a plain file of at most `limit` bytes.
///
/// # Errors
/// A [`PlainFileError`].
pub fn read(path: &Path, limit: u64) -> Result<Vec<u8>, PlainFileError> {
    let mut bytes = Vec::new();
    read_into(path, limit, &mut bytes)?;
    Ok(bytes)
}

/// The same, in the place of what `bytes` held before: for very many files one after the other.
///
/// # Errors
/// A [`PlainFileError`]; `bytes` may then hold a part of the file.
pub fn read_into(path: &Path, limit: u64, bytes: &mut Vec<u8>) -> Result<(), PlainFileError> {
    bytes.clear();
    let (file, size) = open(path)?;
    let too_long = |size| PlainFileError::TooLong {
        path: path.to_owned(),
        size,
        limit,
    };
    if size > limit {
        return Err(too_long(size));
    }
    bytes.reserve(usize::try_from(size).unwrap_or(0).saturating_add(1));
    let read = file
        .take(limit.saturating_add(1))
        .read_to_end(bytes)
        .map_err(|source| PlainFileError::Io {
            path: path.to_owned(),
            source,
        })?;
    // It may have grown since it was asked.
    if read as u64 > limit {
        return Err(too_long(read as u64));
    }
    Ok(())
}

/// As [`read`], `None` if there is no such file.
///
/// # Errors
/// A [`PlainFileError`] other than [`PlainFileError::Missing`].
pub fn read_if_there(path: &Path, limit: u64) -> Result<Option<Vec<u8>>, PlainFileError> {
    match read(path, limit) {
        Ok(bytes) => Ok(Some(bytes)),
        Err(PlainFileError::Missing { .. }) => Ok(None),
        Err(error) => Err(error),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_at_the_limit_is_read_and_one_byte_more_is_not() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("record-1.json");
        std::fs::write(&path, b"12345").unwrap();
        assert_eq!(read(&path, 5).unwrap(), b"12345");
        assert!(matches!(
            read(&path, 4),
            Err(PlainFileError::TooLong {
                size: 5,
                limit: 4,
                ..
            })
        ));
        assert!(matches!(
            read(folder.path(), 4),
            Err(PlainFileError::NotPlain { .. })
        ));
        assert!(
            read_if_there(&folder.path().join("none"), 4)
                .unwrap()
                .is_none()
        );
    }

    #[cfg(unix)]
    #[test]
    fn a_link_is_not_followed() {
        let folder = tempfile::tempdir().unwrap();
        let (path, link) = (folder.path().join("a"), folder.path().join("b"));
        std::fs::write(&path, b"1").unwrap();
        std::os::unix::fs::symlink(&path, &link).unwrap();
        assert!(matches!(read(&link, 9), Err(PlainFileError::Link { .. })));
    }
}
