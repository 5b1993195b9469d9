//! The photos a journal names must be there, and be the ones it names.

use std::path::{Path, PathBuf};

use super::super::error::Failure;
use super::super::open::JobFile;
use crate::record::canonical::sha256_hex_of;
use crate::record::verify::is_digest;
use crate::shop::plain_file;

/// Largest photo looked at, in bytes.
const LARGEST: u64 = 256 << 20;

/// What is wrong with a photo.
#[derive(Debug, thiserror::Error)]
pub(in crate::cli) enum PhotoError {
    /// The journal's name for it is no digest, and could lead anywhere.
    #[error("photo `{}` is named by no SHA-256", .0.escape_debug())]
    Name(String),
    /// It is not there.
    #[error("photo {}… is missing from photos/", .0.get(..12).unwrap_or(.0))]
    Missing(String),
    /// It is another.
    #[error("`{}` has SHA-256 {}…, so it is not the photo that was taken", path.display(), found.get(..12).unwrap_or(found))]
    Other {
        /// The file.
        path: PathBuf,
        /// Its digest.
        found: String,
    },
    /// It cannot be read, is a link, or too long.
    #[error(transparent)]
    Read(#[from] plain_file::PlainFileError),
    /// It cannot be read to its end.
    #[error("cannot read `{}`", path.display())]
    Io {
        /// The file.
        path: PathBuf,
        /// The system's reason.
        source: std::io::Error,
    },
}

/// Finds a photo by its digest in a job's folder: a file of this name, with or without an ending.
pub(in crate::cli) fn find(job_folder: &Path, sha256: &str) -> Result<PathBuf, PhotoError> {
    if !is_digest(sha256) {
        return Err(PhotoError::Name(sha256.to_owned()));
    }
    let folder = job_folder.join("photos");
    let plain = folder.join(sha256);
    if plain.symlink_metadata().is_ok() {
        return Ok(plain);
    }
    let entries = std::fs::read_dir(&folder).into_iter().flatten().flatten();
    let start = format!("{sha256}.");
    entries
        .map(|entry| entry.path())
        .find(|path| {
            path.file_name()
                .is_some_and(|name| name.to_string_lossy().starts_with(&start))
        })
        .ok_or_else(|| PhotoError::Missing(sha256.to_owned()))
}

/// Compares one photo with its digest; says where it lies.
pub(in crate::cli) fn compare(job_folder: &Path, sha256: &str) -> Result<PathBuf, PhotoError> {
    let path = find(job_folder, sha256)?;
    let (file, size) = plain_file::open(&path)?;
    if size > LARGEST {
        return Err(plain_file::PlainFileError::TooLong {
            path,
            size,
            limit: LARGEST,
        }
        .into());
    }
    let found =
        sha256_hex_of(std::io::BufReader::with_capacity(1 << 16, file)).map_err(|source| {
            PhotoError::Io {
                path: path.clone(),
                source,
            }
        })?;
    if found == sha256 {
        Ok(path)
    } else {
        Err(PhotoError::Other { path, found })
    }
}

/// Refuses to sign while a photo is missing or another.
pub(super) fn check(file: &JobFile) -> Result<(), Failure> {
    let wrong: Vec<String> = file
        .job
        .photos
        .iter()
        .filter_map(|(meta, place, item, sha256, name)| {
            let error = compare(&file.folder, sha256).err()?;
            Some(format!(
                "entry {}, {place} {item}, `{}`: {error}",
                meta.seq,
                name.escape_debug()
            ))
        })
        .collect();
    if wrong.is_empty() {
        return Ok(());
    }
    Err(Failure::from(format!(
        "not signed; photos are not as they were taken:\n  {}",
        wrong.join("\n  ")
    ))
    .hint("put the original back, or strike the photo's entry out and take it again"))
}
