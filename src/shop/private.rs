//! `private.toml`: what is known of the customer, beside the record and never in it.
//!
//! The journal, and with it the record, holds only a digest of each value, made with a random salt
//! of its own. With value and salt at hand anybody can see that the record speaks of this person;
//! once the file is deleted, nobody can, not even by trying every telephone number.
//!
//! The digest is `SHA-256("SALT:FIELD:VALUE")`, all as text, the salt as 64 hex digits, so stock
//! tools make it too: `printf '%s' 'SALT:customer:VALUE' | sha256sum`.

use std::collections::BTreeMap;
use std::fmt;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use super::atomic::{self, Access, AtomicError, Existing, NewFile};
use super::plain_file::{self, PlainFileError};
use crate::job::journal::sha256_hex;
use crate::job::{Event, Job, PersonalField};

/// The file's name in a job's folder.
pub const FILE: &str = "private.toml";

const LIMIT: u64 = 64 * 1024;

/// Why the private file could not be read, written or deleted.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PrivateError {
    /// The file is not a plain one, too long, or refused by the system.
    #[error(transparent)]
    Read(#[from] PlainFileError),
    /// The file is not what it should be.
    #[error("`{}` does not read", path.display())]
    Syntax {
        /// The file.
        path: PathBuf,
        /// Where and why.
        source: Box<toml::de::Error>,
    },
    /// The file is not UTF-8.
    #[error("`{}` is not UTF-8", path.display())]
    NotUtf8 {
        /// The file.
        path: PathBuf,
    },
    /// It has no TOML form.
    #[error("cannot write `{}`", path.display())]
    Encode {
        /// The file.
        path: PathBuf,
        /// Why.
        source: Box<toml::ser::Error>,
    },
    /// It could not be written.
    #[error(transparent)]
    Write(#[from] AtomicError),
    /// It could not be deleted.
    #[error("cannot delete `{}`", path.display())]
    Delete {
        /// The file.
        path: PathBuf,
        /// The system's reason.
        source: std::io::Error,
    },
}

/// One value with its salt.
#[derive(Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Salted {
    /// The value as it was given.
    pub value: String,
    /// 64 random hex digits.
    pub salt: String,
}

impl fmt::Debug for Salted {
    // A debug print must not leak what may be deleted tomorrow.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Salted(…)")
    }
}

impl Salted {
    /// The digest that stands in journal and record.
    ///
    /// # Examples
    /// ```
    /// use brakecorner::job::PersonalField;
    /// use brakecorner::shop::private::Salted;
    ///
    /// let salted = Salted { value: "Mara Ellwood".to_owned(), salt: "0".repeat(64) };
    /// assert_eq!(salted.digest(PersonalField::Customer).len(), 64);
    /// ```
    #[must_use]
    pub fn digest(&self, field: PersonalField) -> String {
        sha256_hex(format!("{}:{}:{}", self.salt, field.word(), self.value).as_bytes())
    }
}

/// What is known of the customer and the vehicle's identity, each value with its salt.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Private {
    /// The values by field.
    #[serde(flatten)]
    pub fields: BTreeMap<PersonalField, Salted>,
}

impl Private {
    /// Salts values; `random` fills 32 bytes for each, whose digest in hex is the salt.
    #[must_use]
    pub fn new<'a>(
        values: impl IntoIterator<Item = (PersonalField, &'a str)>,
        mut random: impl FnMut(&mut [u8; 32]),
    ) -> Self {
        let salted = values
            .into_iter()
            .map(|(field, value)| (field, value.trim()))
            .filter(|(_, value)| !value.is_empty())
            .map(|(field, value)| {
                let mut salt = [0; 32];
                random(&mut salt);
                let salted = Salted {
                    value: value.to_owned(),
                    salt: sha256_hex(&salt),
                };
                (field, salted)
            });
        Self {
            fields: salted.collect(),
        }
    }

    /// The events that put the digests into the journal.
    #[must_use]
    pub fn events(&self) -> Vec<Event> {
        self.fields
            .iter()
            .map(|(field, salted)| Event::Personal {
                field: *field,
                sha256: salted.digest(*field),
            })
            .collect()
    }

    /// Reads a job's file; `None` if there is none, because nothing was ever given or because it
    /// was deleted.
    ///
    /// # Errors
    /// A [`PrivateError`].
    pub fn read(job_folder: &Path) -> Result<Option<Self>, PrivateError> {
        let path = job_folder.join(FILE);
        let Some(bytes) = plain_file::read_if_there(&path, LIMIT)? else {
            return Ok(None);
        };
        let text =
            String::from_utf8(bytes).map_err(|_| PrivateError::NotUtf8 { path: path.clone() })?;
        match toml::from_str(&text) {
            Ok(private) => Ok(Some(private)),
            Err(source) => Err(PrivateError::Syntax {
                path,
                source: Box::new(source),
            }),
        }
    }

    /// Writes a job's file, for its owner alone to read where the system knows that.
    ///
    /// # Errors
    /// A [`PrivateError`]; an older file is never replaced.
    pub fn write(&self, job_folder: &Path) -> Result<(), PrivateError> {
        let path = job_folder.join(FILE);
        let text = toml::to_string(self).map_err(|source| PrivateError::Encode {
            path: path.clone(),
            source: Box::new(source),
        })?;
        let head =
            "# The customer's own data. Never signed; `brakecorner job forget JOB` deletes it.\n";
        let text = format!("{head}{text}");
        let file = NewFile {
            path: &path,
            bytes: text.as_bytes(),
            existing: Existing::Refuse,
            access: Access::OwnerOnly,
        };
        Ok(atomic::write_group(&[file], &mut atomic::no_hook)?)
    }

    /// Deletes a job's file, and what a killed writer may have left of it; says whether there was
    /// one.
    ///
    /// What the medium itself keeps of deleted bytes, and backups, are beyond this program.
    ///
    /// # Errors
    /// [`PrivateError::Delete`].
    pub fn forget(job_folder: &Path) -> Result<bool, PrivateError> {
        let path = job_folder.join(FILE);
        let remove = |path: &Path| match std::fs::remove_file(path) {
            Ok(()) => Ok(true),
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(false),
            Err(source) => Err(PrivateError::Delete {
                path: path.to_owned(),
                source,
            }),
        };
        for left in atomic::leftovers(job_folder).unwrap_or_default() {
            let ours = left
                .file_name()
                .is_some_and(|name| name.to_string_lossy().starts_with(&format!(".{FILE}.")));
            if ours {
                remove(&left)?;
            }
        }
        let was = remove(&path)?;
        super::sync_folder(job_folder).map_err(|source| PrivateError::Delete { path, source })?;
        Ok(was)
    }
}

/// What can be shown today of a value that the journal holds a digest of.
#[derive(Clone, PartialEq, Eq)]
pub enum Standing {
    /// The value, which fits its digest.
    Known(String),
    /// It was deleted, as the customer may ask; only the digest is left.
    Forgotten,
    /// There is a value, and it is not the one that was digested.
    Other,
}

impl fmt::Debug for Standing {
    // As for [`Salted`].
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Known(_) => "Known(…)",
            Self::Forgotten => "Forgotten",
            Self::Other => "Other",
        })
    }
}

/// Everything that was given of the customer and the vehicle's identity, with what of it can be
/// shown today: for the findings sheet, which leaves a gap where a value was forgotten.
///
/// What was never given is not in it. Reads the job's file.
///
/// # Errors
/// A [`PrivateError`] if there is a file and it does not read.
pub fn standing(
    job_folder: &Path,
    job: &Job,
) -> Result<BTreeMap<PersonalField, Standing>, PrivateError> {
    let private = Private::read(job_folder)?.unwrap_or_default();
    let of = |(field, sha256): (&PersonalField, &String)| {
        let standing = match private.fields.get(field) {
            None => Standing::Forgotten,
            Some(salted) if salted.digest(*field) == *sha256 => {
                Standing::Known(salted.value.clone())
            }
            Some(_) => Standing::Other,
        };
        (*field, standing)
    };
    Ok(job.personal.iter().map(of).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample() -> Private {
        let mut counter = 0u8;
        Private::new(
            [
                (PersonalField::Customer, "Mara Ellwood"),
                (PersonalField::Telephone, " "),
                (PersonalField::Vin, "A0ZDL07V7NK001122"),
            ],
            |salt| {
                counter += 1;
                salt.fill(counter);
            },
        )
    }

    #[test]
    fn the_digest_is_what_stock_tools_make_of_salt_field_and_value() {
        // source: printf '%s' 'SALT:customer:Mara Ellwood' | sha256sum (run), the salt being
        // 72cd6e8422c407fb6d098690f1130b7ded7ec2f7f5e1d30bd9d521f015363793
        let private = sample();
        let salted = private.fields.get(&PersonalField::Customer).unwrap();
        assert_eq!(
            salted.digest(PersonalField::Customer),
            "ee3d78715375d3c9a5c15a3b2e254c05089de1d465d3e174698169cf67b960dc"
        );
    }

    #[test]
    fn what_is_written_is_read_and_what_is_forgotten_is_gone() {
        let folder = tempfile::tempdir().unwrap();
        let private = sample();
        assert_eq!(private.events().len(), 2);
        private.write(folder.path()).unwrap();
        assert_eq!(Private::read(folder.path()).unwrap(), Some(private.clone()));
        assert!(private.write(folder.path()).is_err());
        assert!(Private::forget(folder.path()).unwrap());
        assert_eq!(Private::read(folder.path()).unwrap(), None);
        assert!(!Private::forget(folder.path()).unwrap());
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
    }

    #[test]
    fn a_value_is_known_until_it_is_forgotten_or_exchanged() {
        let folder = tempfile::tempdir().unwrap();
        let private = sample();
        let mut job = Job::default();
        assert_eq!(standing(folder.path(), &job).unwrap(), BTreeMap::new());
        for (field, salted) in &private.fields {
            job.personal.insert(*field, salted.digest(*field));
        }
        private.write(folder.path()).unwrap();
        let shown = standing(folder.path(), &job).unwrap();
        let name = Standing::Known("Mara Ellwood".to_owned());
        assert_eq!(shown.get(&PersonalField::Customer), Some(&name));
        assert_eq!(shown.get(&PersonalField::Telephone), None, "never given");
        job.personal.insert(PersonalField::Customer, "0".repeat(64));
        let shown = standing(folder.path(), &job).unwrap();
        assert_eq!(shown.get(&PersonalField::Customer), Some(&Standing::Other));
        Private::forget(folder.path()).unwrap();
        let shown = standing(folder.path(), &job).unwrap();
        assert_eq!(shown.len(), 2);
        assert!(shown.values().all(|s| *s == Standing::Forgotten));
    }

    #[test]
    fn a_debug_print_shows_no_value() {
        assert!(!format!("{:?}", sample()).contains("Mara"));
        let known = Standing::Known("Mara".to_owned());
        assert!(!format!("{known:?}").contains("Mara"));
    }
}
