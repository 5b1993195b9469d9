//! The workshop folder: what lies where, and how it is found.

use std::io;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use super::journal::{Journal, JournalError};
use crate::job::{Register, RegisterError, SideNames};

/// Why a workshop folder could not be used.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ShopError {
    /// The folder is no workshop.
    #[error("`{}` is no workshop: it holds no workshop.toml", path.display())]
    NoWorkshop {
        /// The folder.
        path: PathBuf,
    },
    /// Nothing above the current folder is a workshop.
    #[error("no workshop found in `{}` or any folder above it", path.display())]
    NotFound {
        /// Where the search began.
        path: PathBuf,
    },
    /// The folder is in use for something else.
    #[error("`{}` exists already", path.display())]
    Exists {
        /// The file or folder.
        path: PathBuf,
    },
    /// The file system refused.
    #[error("cannot {doing} `{}`", path.display())]
    Io {
        /// What was being done.
        doing: &'static str,
        /// The file.
        path: PathBuf,
        /// The system's reason.
        source: io::Error,
    },
    /// A settings file does not read.
    #[error("`{}` does not read", path.display())]
    Syntax {
        /// The file.
        path: PathBuf,
        /// Where and why.
        source: Box<toml::de::Error>,
    },
    /// Settings have no TOML form.
    #[error("cannot write the settings for `{}`", path.display())]
    Encode {
        /// The file.
        path: PathBuf,
        /// Why.
        source: Box<toml::ser::Error>,
    },
    /// The instrument register does not read.
    #[error("`{}`", path.display())]
    Register {
        /// The file.
        path: PathBuf,
        /// What is wrong.
        source: RegisterError,
    },
    /// A job number cannot be a folder name.
    #[error("`{0}` is not a job number; expected 1 to 64 letters, digits, `-`, `_` or `.`")]
    JobName(String),
    /// There is no such job.
    #[error("there is no job `{job}` in `{}`", shop.display())]
    NoJob {
        /// The job's number.
        job: String,
        /// The workshop.
        shop: PathBuf,
    },
    /// A file could not be written.
    #[error(transparent)]
    Write(#[from] super::atomic::AtomicError),
    /// The journal refused.
    #[error(transparent)]
    Journal(#[from] JournalError),
}

/// The workshop's settings, `workshop.toml`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Settings {
    /// The workshop's name.
    pub name: String,
    /// Address lines for the sheet.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub address: Vec<String>,
    /// Currency word for quotes.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub currency: String,
    /// How the sides are called: `left_right`, `nearside_left` or `nearside_right`.
    #[serde(default)]
    pub sides: SideNames,
    /// Rule packs used unless a job says otherwise.
    #[serde(default)]
    pub rules: Vec<String>,
    /// Policy used: a file below `specs/`, or the built-in `workshop`.
    #[serde(default = "default_policy")]
    pub policy: String,
    /// Schedule used unless a job says otherwise.
    #[serde(default = "default_schedule")]
    pub schedule: String,
}

fn default_policy() -> String {
    "workshop".to_owned()
}

fn default_schedule() -> String {
    "routine".to_owned()
}

/// A workshop folder on disk.
#[derive(Clone, Debug)]
pub struct Workshop {
    /// The folder.
    pub folder: PathBuf,
    /// Its settings.
    pub settings: Settings,
}

const SETTINGS: &str = "workshop.toml";

impl Workshop {
    /// Makes a new workshop in a folder that is empty or does not exist.
    ///
    /// # Errors
    /// [`ShopError::Exists`] if the folder holds anything, [`ShopError::Io`] if the system refuses.
    pub fn create(folder: &Path, settings: Settings) -> Result<Self, ShopError> {
        if folder.exists() {
            let mut inside = std::fs::read_dir(folder).map_err(io_error("read", folder))?;
            if inside.next().is_some() {
                return Err(ShopError::Exists {
                    path: folder.to_owned(),
                });
            }
        }
        for name in ["jobs", "specs", "vehicles"] {
            let path = folder.join(name);
            std::fs::create_dir_all(&path).map_err(io_error("create", &path))?;
        }
        let shop = Self {
            folder: folder.to_owned(),
            settings,
        };
        write_toml(&shop.folder.join(SETTINGS), &shop.settings)?;
        shop.write_register(&Register::default())?;
        Ok(shop)
    }

    /// Opens the workshop in a folder.
    ///
    /// # Errors
    /// [`ShopError::NoWorkshop`], or [`ShopError::Syntax`] if its settings do not read.
    pub fn open(folder: &Path) -> Result<Self, ShopError> {
        let path = folder.join(SETTINGS);
        let text = std::fs::read_to_string(&path).map_err(|source| match source.kind() {
            io::ErrorKind::NotFound | io::ErrorKind::NotADirectory => ShopError::NoWorkshop {
                path: folder.to_owned(),
            },
            _ => ShopError::Io {
                doing: "read",
                path: path.clone(),
                source,
            },
        })?;
        let settings = parse_toml(&text, &path)?;
        Ok(Self {
            folder: folder.to_owned(),
            settings,
        })
    }

    /// Finds the workshop a folder lies in, walking up.
    ///
    /// # Errors
    /// [`ShopError::NotFound`], or as [`Workshop::open`].
    pub fn find(from: &Path) -> Result<Self, ShopError> {
        match from
            .ancestors()
            .find(|folder| folder.join(SETTINGS).is_file())
        {
            Some(folder) => Self::open(folder),
            None => Err(ShopError::NotFound {
                path: from.to_owned(),
            }),
        }
    }

    /// The register's file.
    #[must_use]
    pub fn register_path(&self) -> PathBuf {
        self.folder.join("instruments.toml")
    }

    /// Reads the instrument register.
    ///
    /// # Errors
    /// [`ShopError::Io`] or [`ShopError::Register`] naming every figure that does not read.
    pub fn register(&self) -> Result<Register, ShopError> {
        let path = self.register_path();
        let text = std::fs::read_to_string(&path).map_err(io_error("read", &path))?;
        Register::parse(&text).map_err(|source| ShopError::Register { path, source })
    }

    /// Replaces the instrument register, whole or not at all.
    ///
    /// # Errors
    /// [`ShopError::Io`] if the system refuses.
    pub fn write_register(&self, register: &Register) -> Result<(), ShopError> {
        write_toml(&self.register_path(), register)
    }

    /// The file of who may sign, in OpenSSH's `allowed_signers` form.
    #[must_use]
    pub fn signers_path(&self) -> PathBuf {
        self.folder.join("signers")
    }

    /// A job's folder, whether it exists or not.
    ///
    /// # Errors
    /// [`ShopError::JobName`] if the number cannot be a folder name.
    pub fn job_folder(&self, job: &str) -> Result<PathBuf, ShopError> {
        let fine = !job.is_empty()
            && job.len() <= 64
            && !job.starts_with(['.', '-'])
            && job
                .chars()
                .all(|c| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.'));
        if fine {
            Ok(self.folder.join("jobs").join(job))
        } else {
            Err(ShopError::JobName(job.to_owned()))
        }
    }

    /// The path of a job's journal.
    ///
    /// # Errors
    /// As [`Workshop::job_folder`].
    pub fn journal_path(&self, job: &str) -> Result<PathBuf, ShopError> {
        Ok(self.job_folder(job)?.join("journal.jsonl"))
    }

    /// Makes the folder and the empty journal of a new job.
    ///
    /// # Errors
    /// [`ShopError::Exists`] if there is such a job.
    pub fn create_job(&self, job: &str) -> Result<Journal, ShopError> {
        let folder = self.job_folder(job)?;
        let jobs = self.folder.join("jobs");
        std::fs::create_dir_all(&jobs).map_err(io_error("create", &jobs))?;
        match std::fs::create_dir(&folder) {
            Ok(()) => {}
            // A folder without a journal is what a death between the two steps leaves.
            Err(e)
                if e.kind() == io::ErrorKind::AlreadyExists
                    && !folder.join("journal.jsonl").exists() => {}
            Err(source) if source.kind() == io::ErrorKind::AlreadyExists => {
                return Err(ShopError::Exists { path: folder });
            }
            Err(source) => {
                return Err(ShopError::Io {
                    doing: "create",
                    path: folder,
                    source,
                });
            }
        }
        super::sync_folder(&jobs).map_err(io_error("create", &jobs))?;
        Ok(Journal::create(&folder.join("journal.jsonl"))?)
    }

    /// Every job number of the workshop, in order.
    ///
    /// # Errors
    /// [`ShopError::Io`] if the folder cannot be read.
    pub fn jobs(&self) -> Result<Vec<String>, ShopError> {
        let path = self.folder.join("jobs");
        let mut jobs = Vec::new();
        for entry in std::fs::read_dir(&path).map_err(io_error("read", &path))? {
            let entry = entry.map_err(io_error("read", &path))?;
            if entry.path().join("journal.jsonl").is_file() {
                jobs.extend(entry.file_name().into_string().ok());
            }
        }
        jobs.sort();
        Ok(jobs)
    }

    /// The workshop's own files of one kind (`vehicles`, `rules`, `policy`, `schedules`) below
    /// `specs/`, as name without ending and text; sheets lie in `specs/` itself.
    ///
    /// # Errors
    /// [`ShopError::Io`] if a file cannot be read.
    pub fn own_specs(&self, kind: &str) -> Result<Vec<OwnSpec>, ShopError> {
        let folder = match kind {
            "vehicles" => self.folder.join("specs"),
            other => self.folder.join("specs").join(other),
        };
        if !folder.is_dir() {
            return Ok(Vec::new());
        }
        let mut files = Vec::new();
        for entry in std::fs::read_dir(&folder).map_err(io_error("read", &folder))? {
            let path = entry.map_err(io_error("read", &folder))?.path();
            if path.extension().is_some_and(|e| e == "toml") {
                let name = path
                    .file_stem()
                    .unwrap_or_default()
                    .to_string_lossy()
                    .into_owned();
                // One that cannot be read must not hide the others.
                let text = std::fs::read_to_string(&path).map_err(io_error("read", &path));
                files.push(OwnSpec { name, text });
            }
        }
        files.sort_by(|a, b| a.name.cmp(&b.name));
        Ok(files)
    }
}

/// A file of the workshop's specs folder.
#[derive(Debug)]
pub struct OwnSpec {
    /// Its name without the ending.
    pub name: String,
    /// Its text, or why it cannot be read.
    pub text: Result<String, ShopError>,
}

/// Makes a [`ShopError::Io`] of a system error.
pub(crate) fn io_error<'a>(
    doing: &'static str,
    path: &'a Path,
) -> impl FnOnce(io::Error) -> ShopError + 'a {
    move |source| ShopError::Io {
        doing,
        path: path.to_owned(),
        source,
    }
}

pub(crate) fn parse_toml<T: serde::de::DeserializeOwned>(
    text: &str,
    path: &Path,
) -> Result<T, ShopError> {
    toml::from_str(text).map_err(|source| ShopError::Syntax {
        path: path.to_owned(),
        source: Box::new(source),
    })
}

/// Writes a settings file whole or not at all.
pub(crate) fn write_toml<T: Serialize>(path: &Path, value: &T) -> Result<(), ShopError> {
    let text = toml::to_string(value).map_err(|source| ShopError::Encode {
        path: path.to_owned(),
        source: Box::new(source),
    })?;
    Ok(super::atomic::replace(path, text.as_bytes())?)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn settings() -> Settings {
        Settings {
            name: "Hollin Wharf Yard".into(),
            address: vec![],
            currency: "ISD".into(),
            sides: SideNames::default(),
            rules: vec!["gb".into()],
            policy: default_policy(),
            schedule: default_schedule(),
        }
    }

    #[test]
    fn a_workshop_is_found_from_any_folder_inside_it() {
        let root = tempfile::tempdir().unwrap();
        let shop = Workshop::create(&root.path().join("shop"), settings()).unwrap();
        shop.create_job("HWY-0411").unwrap();
        let inside = shop.folder.join("jobs/HWY-0411");
        assert_eq!(Workshop::find(&inside).unwrap().folder, shop.folder);
        assert_eq!(Workshop::find(&inside).unwrap().settings, settings());
        assert!(matches!(
            Workshop::find(root.path()),
            Err(ShopError::NotFound { .. })
        ));
        assert!(matches!(
            Workshop::open(root.path()),
            Err(ShopError::NoWorkshop { .. })
        ));
        assert_eq!(shop.jobs().unwrap(), ["HWY-0411"]);
    }

    #[test]
    fn nothing_is_overwritten() {
        let root = tempfile::tempdir().unwrap();
        std::fs::write(root.path().join("holiday.jpg"), "x").unwrap();
        assert!(matches!(
            Workshop::create(root.path(), settings()),
            Err(ShopError::Exists { .. })
        ));
        let shop = Workshop::create(&root.path().join("s"), settings()).unwrap();
        shop.create_job("A1").unwrap();
        assert!(matches!(
            shop.create_job("A1"),
            Err(ShopError::Exists { .. })
        ));
    }

    #[test]
    fn a_job_number_cannot_leave_its_folder() {
        let root = tempfile::tempdir().unwrap();
        let shop = Workshop::create(&root.path().join("s"), settings()).unwrap();
        for job in [
            "",
            "..",
            "../x",
            "a/b",
            ".hidden",
            "-x",
            "a\0b",
            &"x".repeat(65),
        ] {
            assert!(
                matches!(shop.job_folder(job), Err(ShopError::JobName(_))),
                "{job:?}"
            );
        }
    }
}
