//! Photos: copied into the job's folder and named by their digest.

use std::io;
use std::path::{Path, PathBuf};

use super::atomic::{self, AtomicError};
use crate::job::journal::sha256_hex;

/// Largest photo taken in.
pub const LARGEST: u64 = 50 * 1024 * 1024;

/// Why a photo was not taken in.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PhotoError {
    /// It cannot be read.
    #[error("cannot read photo `{}`", path.display())]
    Read {
        /// The file.
        path: PathBuf,
        /// The system's reason.
        source: io::Error,
    },
    /// It is no picture this program takes.
    #[error("`{}` is no JPEG or PNG picture", path.display())]
    NoPicture {
        /// The file.
        path: PathBuf,
    },
    /// It is too large.
    #[error("`{}` is {bytes} bytes, expected at most {LARGEST}", path.display())]
    TooLarge {
        /// The file.
        path: PathBuf,
        /// Its size.
        bytes: u64,
    },
    /// Nothing lies in the inbox.
    #[error("no picture lies in `{}`", path.display())]
    EmptyInbox {
        /// The inbox.
        path: PathBuf,
    },
    /// It could not be written.
    #[error(transparent)]
    Write(#[from] AtomicError),
}

/// A photo taken in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Photo {
    /// SHA-256 of its bytes; also its name, with the ending of its kind.
    pub sha256: String,
    /// The name it came with.
    pub name: String,
}

/// The file ending of a picture by its first bytes: `jpg` or `png`.
#[must_use]
pub fn kind(bytes: &[u8]) -> Option<&'static str> {
    if bytes.starts_with(&[0xff, 0xd8, 0xff]) {
        Some("jpg")
    } else if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
        Some("png")
    } else {
        None
    }
}

/// Where a photo of a job lies, if it does.
#[must_use]
pub fn path_of(job_folder: &Path, sha256: &str) -> Option<PathBuf> {
    // A digest and nothing else: a crafted journal must not name a file outside the folder.
    if sha256.len() != 64 || !sha256.bytes().all(|b| b.is_ascii_hexdigit()) {
        return None;
    }
    ["jpg", "png"]
        .map(|ending| job_folder.join("photos").join(format!("{sha256}.{ending}")))
        .into_iter()
        .find(|path| path.is_file())
}

/// The inbox of a job: any picture put there is taken by the next photo command.
#[must_use]
pub fn inbox(job_folder: &Path) -> PathBuf {
    job_folder.join("photos").join("inbox")
}

/// Copies a picture into the job's folder; from the inbox it is moved.
///
/// `from` is a path, or `None` for the newest picture of the inbox.
///
/// # Errors
/// [`PhotoError`]; the original always stays where it was.
pub fn add(job_folder: &Path, from: Option<&Path>) -> Result<Photo, PhotoError> {
    let inbox = inbox(job_folder);
    let (path, from_inbox) = match from {
        Some(path) => (path.to_owned(), false),
        None => (newest(&inbox)?, true),
    };
    let read = |source| PhotoError::Read {
        path: path.clone(),
        source,
    };
    let bytes = std::fs::metadata(&path).map_err(read)?.len();
    if bytes > LARGEST {
        return Err(PhotoError::TooLarge { path, bytes });
    }
    let content = std::fs::read(&path).map_err(read)?;
    let Some(ending) = kind(&content) else {
        return Err(PhotoError::NoPicture { path });
    };
    let sha256 = sha256_hex(&content);
    let folder = job_folder.join("photos");
    std::fs::create_dir_all(&folder).map_err(|source| PhotoError::Read {
        path: folder.clone(),
        source,
    })?;
    match atomic::write_new(&folder.join(format!("{sha256}.{ending}")), &content) {
        // The same picture again is the same file.
        Ok(()) | Err(AtomicError::Exists { .. }) => {}
        Err(error) => return Err(error.into()),
    }
    if from_inbox {
        // It is safe under its new name; one left behind would only be offered again.
        let _ = std::fs::remove_file(&path);
    }
    let name = path
        .file_name()
        .unwrap_or_default()
        .to_string_lossy()
        .into_owned();
    Ok(Photo { sha256, name })
}

fn newest(inbox: &Path) -> Result<PathBuf, PhotoError> {
    let empty = || PhotoError::EmptyInbox {
        path: inbox.to_owned(),
    };
    let entries = std::fs::read_dir(inbox).map_err(|_| empty())?;
    entries
        .filter_map(Result::ok)
        .map(|entry| entry.path())
        .filter(|path| path.is_file())
        .max_by_key(|path| std::fs::metadata(path).and_then(|m| m.modified()).ok())
        .ok_or_else(empty)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_picture_is_copied_in_under_its_digest_and_the_original_stays() {
        let folder = tempfile::tempdir().unwrap();
        let original = folder.path().join("IMG_1.jpg");
        std::fs::write(&original, [0xff, 0xd8, 0xff, 0xe0, 1, 2, 3]).unwrap();
        let photo = add(folder.path(), Some(&original)).unwrap();
        assert_eq!(photo.name, "IMG_1.jpg");
        assert!(original.exists());
        assert!(path_of(folder.path(), &photo.sha256).unwrap().exists());
        assert_eq!(add(folder.path(), Some(&original)).unwrap(), photo);
    }

    #[test]
    fn the_inbox_gives_its_newest_picture_and_loses_it() {
        let folder = tempfile::tempdir().unwrap();
        assert!(matches!(
            add(folder.path(), None),
            Err(PhotoError::EmptyInbox { .. })
        ));
        std::fs::create_dir_all(inbox(folder.path())).unwrap();
        std::fs::write(inbox(folder.path()).join("a.png"), b"\x89PNG\r\n\x1a\nx").unwrap();
        assert_eq!(add(folder.path(), None).unwrap().name, "a.png");
        assert!(matches!(
            add(folder.path(), None),
            Err(PhotoError::EmptyInbox { .. })
        ));
    }

    #[test]
    fn what_is_no_picture_is_refused_by_its_bytes_not_its_name() {
        let folder = tempfile::tempdir().unwrap();
        let script = folder.path().join("x.jpg");
        std::fs::write(&script, "#!/bin/sh").unwrap();
        assert!(matches!(
            add(folder.path(), Some(&script)),
            Err(PhotoError::NoPicture { .. })
        ));
    }

    #[test]
    fn a_name_that_is_no_digest_never_leaves_the_folder() {
        assert_eq!(path_of(Path::new("/"), "../../etc/passwd"), None);
    }
}
