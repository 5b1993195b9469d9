//! Files that are there whole or not at all.
//!
//! A file is written beside its place under a hidden name, forced to the medium, then given its
//! name in one step, and the folder is forced to the medium too. Whoever pulls the plug finds the
//! old state or the new. What is *not* promised: a medium that lies about having stored something,
//! and on systems other than Unix the last step, since a folder cannot be synced there.
//!
//! Several files can be published together: all are complete on the medium before the first gets
//! its name, and they get their names in the order given. A reader that treats the **last** as the
//! sign that all are there therefore never sees a half; that is how a record and its signature are
//! written (signature first, record last). Two writers of the same group must hold a lock.
//!
//! Tests and demonstrations pass a hook that is called before every step and may fail it.

use std::ffi::{OsStr, OsString};
use std::fmt;
use std::fs::{self, File, OpenOptions};
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};

use crate::shop::file_mode;

/// What to do when the name is taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Existing {
    /// Leave the old file and fail with [`AtomicError::Exists`].
    Refuse,
    /// Put the new file in its place.
    Replace,
}

/// Who may read the file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Access {
    /// Whoever the system's defaults let.
    Default,
    /// Its owner alone (mode 0600 on Unix): for secrets.
    OwnerOnly,
}

/// One file to write.
#[derive(Clone, Copy, Debug)]
pub struct NewFile<'a> {
    /// Its final name; the folder must exist.
    pub path: &'a Path,
    /// Its whole content.
    pub bytes: &'a [u8],
    /// What to do when the name is taken.
    pub existing: Existing,
    /// Who may read it.
    pub access: Access,
}

/// The steps of writing, in their order; the hook sees each before it happens.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Step {
    /// Make the hidden file.
    Create,
    /// Write the next piece of it (64 KiB at most; at least once).
    Write,
    /// Force it to the medium.
    SyncFile,
    /// Give it its name.
    Publish,
    /// Take the hidden name away, where publishing left it.
    RemoveHidden,
    /// Force the folder to the medium.
    SyncFolder,
}

impl fmt::Display for Step {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Create => "creating the hidden file",
            Self::Write => "writing",
            Self::SyncFile => "forcing the file to the medium",
            Self::Publish => "giving the file its name",
            Self::RemoveHidden => "removing the hidden name",
            Self::SyncFolder => "forcing the folder to the medium",
        })
    }
}

/// Why a file was not written, or not surely.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum AtomicError {
    /// The name is taken, and the old file was left.
    #[error("`{}` exists already and was left as it is", path.display())]
    Exists {
        /// The name.
        path: PathBuf,
    },
    /// The path has no file name.
    #[error("`{}` does not name a file", path.display())]
    NoName {
        /// The path.
        path: PathBuf,
    },
    /// A step failed before any file had its name: the old state is untouched.
    #[error("cannot write `{}`: failed while {step}; nothing was changed", path.display())]
    Failed {
        /// The file that was being written.
        path: PathBuf,
        /// The step that failed.
        step: Step,
        /// What the system said.
        source: io::Error,
    },
    /// A step failed after earlier files of the group had their names and could not be taken back.
    #[error(
        "cannot write `{}`: failed while {step}, and `{}` is already in place",
        path.display(),
        left.display()
    )]
    Half {
        /// The file that was being written.
        path: PathBuf,
        /// The step that failed.
        step: Step,
        /// A file that stayed.
        left: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// The files are in place, but a power cut now might lose them.
    #[error(
        "`{}` is in place, but the folder was not confirmed to be on the medium",
        path.display()
    )]
    NotDurable {
        /// The last file written.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
}

impl AtomicError {
    /// What the user can do about it.
    #[must_use]
    pub fn hint(&self) -> &'static str {
        let source = match self {
            Self::Exists { .. } => return "choose another name, or remove the old file yourself",
            Self::NoName { .. } => return "give a path that ends in a file name",
            Self::NotDurable { .. } => {
                return "check the disk, then open the file and see that it is whole";
            }
            Self::Failed { source, .. } | Self::Half { source, .. } => source,
        };
        match source.kind() {
            ErrorKind::StorageFull | ErrorKind::QuotaExceeded => {
                "the disk is full: free some space and repeat the command"
            }
            ErrorKind::ReadOnlyFilesystem => {
                "the disk is read-only: mount it writable or use a folder on another disk"
            }
            ErrorKind::PermissionDenied => {
                "this user may not write there: change the folder's permissions or use another"
            }
            ErrorKind::NotFound => "the folder is missing: make it first",
            _ => "check the disk and repeat the command",
        }
    }
}

/// Called before every step with the file it is for; an error fails the step.
pub type Hook<'a> = dyn FnMut(Step, &Path) -> io::Result<()> + 'a;

/// A hook that lets everything happen.
///
/// # Errors
///
/// Never.
pub fn no_hook(_: Step, _: &Path) -> io::Result<()> {
    Ok(())
}

/// Writes one file, refusing to replace another.
///
/// # Errors
///
/// An [`AtomicError`].
///
/// # Examples
///
/// ```
/// use brakecorner::shop::atomic::{AtomicError, write_new};
///
/// let folder = tempfile::tempdir()?;
/// let path = folder.path().join("record-1.json");
/// write_new(&path, b"{}\n")?;
/// assert!(matches!(write_new(&path, b"[]\n"), Err(AtomicError::Exists { .. })));
/// assert_eq!(std::fs::read(&path)?, b"{}\n");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn write_new(path: &Path, bytes: &[u8]) -> Result<(), AtomicError> {
    let file = NewFile {
        path,
        bytes,
        existing: Existing::Refuse,
        access: Access::Default,
    };
    write_group(&[file], &mut no_hook)
}

/// Writes one file, replacing what is there in one step.
///
/// # Errors
///
/// An [`AtomicError`], but never [`AtomicError::Exists`].
pub fn replace(path: &Path, bytes: &[u8]) -> Result<(), AtomicError> {
    let file = NewFile {
        path,
        bytes,
        existing: Existing::Replace,
        access: Access::Default,
    };
    write_group(&[file], &mut no_hook)
}

/// Writes several files: all complete before the first has its name, named in the order given.
///
/// If naming one fails, those named before it are removed again unless they replaced a file.
///
/// # Errors
///
/// An [`AtomicError`]; its text says what is on disk.
pub fn write_group(files: &[NewFile<'_>], hook: &mut Hook<'_>) -> Result<(), AtomicError> {
    let mut staged: Vec<Staged<'_>> = Vec::with_capacity(files.len());
    for file in files {
        match stage(file, hook) {
            Ok(hidden) => staged.push(Staged { file, hidden }),
            Err(error) => {
                discard(&staged);
                return Err(error);
            }
        }
    }
    for (done, next) in staged.iter().enumerate() {
        if let Err((step, source)) = publish(next, hook) {
            let (before, after) = staged.split_at(done);
            discard(after);
            return Err(undo(before, next.file.path, step, source));
        }
    }
    sync_folders(files, hook)
}

/// Hidden files left in a folder by a program that was killed: safe to remove when none is running.
///
/// # Errors
///
/// What the system says about reading the folder.
pub fn leftovers(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        let name = entry.file_name();
        let name = name.to_string_lossy();
        if name.starts_with('.') && name.ends_with(SUFFIX) {
            found.push(entry.path());
        }
    }
    found.sort();
    Ok(found)
}

const SUFFIX: &str = ".part";
const PIECE: usize = 64 << 10;

struct Staged<'a> {
    file: &'a NewFile<'a>,
    hidden: PathBuf,
}

/// Writes the hidden file and forces it to the medium; removes it again on failure.
fn stage(new: &NewFile<'_>, hook: &mut Hook<'_>) -> Result<PathBuf, AtomicError> {
    let failed = |step, source| AtomicError::Failed {
        path: new.path.to_owned(),
        step,
        source,
    };
    let name = new.path.file_name().ok_or_else(|| AtomicError::NoName {
        path: new.path.to_owned(),
    })?;
    if new.existing == Existing::Refuse && new.path.symlink_metadata().is_ok() {
        // Only to fail early; the step that counts refuses by itself.
        return Err(AtomicError::Exists {
            path: new.path.to_owned(),
        });
    }
    hook(Step::Create, new.path).map_err(|source| failed(Step::Create, source))?;
    let (hidden, mut file) =
        create_hidden(new, name).map_err(|source| failed(Step::Create, source))?;
    fill(new, &mut file, hook)
        .map(|()| hidden.clone())
        .map_err(|(step, source)| {
            let _ = fs::remove_file(&hidden);
            failed(step, source)
        })
}

fn fill(new: &NewFile<'_>, file: &mut File, hook: &mut Hook<'_>) -> Result<(), (Step, io::Error)> {
    let mut pieces = new.bytes.chunks(PIECE);
    let mut piece = pieces.next().unwrap_or_default();
    loop {
        hook(Step::Write, new.path)
            .and_then(|()| file.write_all(piece))
            .map_err(|source| (Step::Write, source))?;
        match pieces.next() {
            Some(next) => piece = next,
            None => break,
        }
    }
    hook(Step::SyncFile, new.path)
        .and_then(|()| file.sync_all())
        .map_err(|source| (Step::SyncFile, source))
}

/// Opens a hidden file of a name not used before, in the folder of the final one.
fn create_hidden(new: &NewFile<'_>, name: &OsStr) -> io::Result<(PathBuf, File)> {
    static COUNTER: AtomicU32 = AtomicU32::new(0);
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    if new.access == Access::OwnerOnly {
        file_mode::owner_only(&mut options);
    }
    // A name may be taken by a killed process that had our number; a hundred are not.
    let mut last = io::Error::from(ErrorKind::AlreadyExists);
    for _ in 0..100 {
        let number = COUNTER.fetch_add(1, Ordering::Relaxed);
        let mut hidden = OsString::from(".");
        hidden.push(name);
        hidden.push(format!(".{}-{number}{SUFFIX}", std::process::id()));
        let hidden = new.path.with_file_name(hidden);
        match options.open(&hidden) {
            Ok(file) => return Ok((hidden, file)),
            Err(error) if error.kind() == ErrorKind::AlreadyExists => last = error,
            Err(error) => return Err(error),
        }
    }
    Err(last)
}

/// Gives the hidden file its name.
fn publish(staged: &Staged<'_>, hook: &mut Hook<'_>) -> Result<(), (Step, io::Error)> {
    let path = staged.file.path;
    let at = |step| move |source| (step, source);
    hook(Step::Publish, path).map_err(at(Step::Publish))?;
    match staged.file.existing {
        Existing::Replace => fs::rename(&staged.hidden, path).map_err(at(Step::Publish)),
        Existing::Refuse => match fs::hard_link(&staged.hidden, path) {
            Ok(()) => {
                // The file is in place; a hidden name that stays behind is litter, not damage.
                let _ =
                    hook(Step::RemoveHidden, path).and_then(|()| fs::remove_file(&staged.hidden));
                Ok(())
            }
            Err(error) if error.kind() == ErrorKind::AlreadyExists => Err((Step::Publish, error)),
            Err(error) => rename_if_free(staged, error).map_err(at(Step::Publish)),
        },
    }
}

/// For media without hard links (memory sticks, some network shares): looks, then renames.
///
/// Between the two another process could take the name; the callers' lock keeps our own out.
fn rename_if_free(staged: &Staged<'_>, link_error: io::Error) -> io::Result<()> {
    let unsupported = matches!(
        link_error.kind(),
        ErrorKind::Unsupported | ErrorKind::PermissionDenied
    );
    if !unsupported {
        return Err(link_error);
    }
    match staged.file.path.symlink_metadata() {
        Ok(_) => Err(io::Error::from(ErrorKind::AlreadyExists)),
        Err(error) if error.kind() == ErrorKind::NotFound => {
            fs::rename(&staged.hidden, staged.file.path)
        }
        Err(error) => Err(error),
    }
}

/// Takes back what was published before a failure, and says what is on disk now.
fn undo(before: &[Staged<'_>], path: &Path, step: Step, source: io::Error) -> AtomicError {
    let mut left = None;
    for done in before.iter().rev() {
        let kept =
            done.file.existing == Existing::Replace || fs::remove_file(done.file.path).is_err();
        if kept {
            left = Some(done.file.path.to_owned());
        }
    }
    let path = path.to_owned();
    match left {
        Some(left) => AtomicError::Half {
            path,
            step,
            left,
            source,
        },
        None if source.kind() == ErrorKind::AlreadyExists => AtomicError::Exists { path },
        None => AtomicError::Failed { path, step, source },
    }
}

fn discard(staged: &[Staged<'_>]) {
    for one in staged {
        let _ = fs::remove_file(&one.hidden);
    }
}

fn sync_folders(files: &[NewFile<'_>], hook: &mut Hook<'_>) -> Result<(), AtomicError> {
    let mut synced: Vec<&Path> = Vec::new();
    for file in files {
        let folder = match file.path.parent() {
            Some(parent) if parent != Path::new("") => parent,
            _ => Path::new("."),
        };
        if synced.contains(&folder) {
            continue;
        }
        hook(Step::SyncFolder, folder)
            .and_then(|()| sync_folder(folder))
            .map_err(|source| AtomicError::NotDurable {
                path: file.path.to_owned(),
                source,
            })?;
        synced.push(folder);
    }
    Ok(())
}

#[cfg(unix)]
fn sync_folder(folder: &Path) -> io::Result<()> {
    File::open(folder)?.sync_all()
}

#[cfg(not(unix))]
fn sync_folder(_: &Path) -> io::Result<()> {
    Ok(())
}

#[cfg(test)]
mod tests;
