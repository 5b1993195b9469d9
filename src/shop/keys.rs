//! The user's own signing keys: OpenSSH files in a folder of the user's configuration.
//!
//! The folder and the random source come in as arguments. Secret keys are ordinary OpenSSH files
//! with mode 0600, so `ssh-keygen -Y sign -f FILE` works with them and they can be moved to an
//! agent with `ssh-add`.

use std::fmt;
use std::fs::{self, File};
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use rand_core::CryptoRngCore;
use ssh_key::private::Ed25519Keypair;
use ssh_key::{HashAlg, LineEnding, PrivateKey, PublicKey};

use crate::shop::atomic::{self, Access, AtomicError, Existing, NewFile};
use crate::shop::file_mode;

/// Longest key file read, in bytes; an Ed25519 key takes about 450.
pub const MAX_KEY_FILE: u64 = 16_384;

/// Longest key name, in characters.
pub const MAX_NAME: usize = 64;

/// Why a key could not be made, read or listed.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum KeyError {
    /// The name cannot be a file's.
    #[error("`{}` cannot name a key; expected 1 to 64 of a–z, A–Z, 0–9, `.`, `_`, `-`, the first a letter or digit, not ending in `.pub`", name.escape_debug())]
    Name {
        /// The name.
        name: String,
    },
    /// There is no key of this name.
    #[error("there is no key `{name}` in `{}`", folder.display())]
    Unknown {
        /// The name.
        name: String,
        /// The folder looked in.
        folder: PathBuf,
    },
    /// There is a key of this name already.
    #[error("key `{name}` exists already in `{}`", folder.display())]
    Exists {
        /// The name.
        name: String,
        /// The folder.
        folder: PathBuf,
    },
    /// Somebody beside the owner can read the secret.
    #[error(
        "secret key `{}` has mode {mode:04o}, so others can use it; expected 0600 (chmod 600 '{}')",
        path.display(),
        path.display()
    )]
    TooOpen {
        /// The file.
        path: PathBuf,
        /// Its mode.
        mode: u32,
    },
    /// The file is too long to be a key.
    #[error("`{}` is longer than any key; the limit is {limit} bytes", path.display())]
    TooLong {
        /// The file.
        path: PathBuf,
        /// The limit in bytes.
        limit: u64,
    },
    /// The file is not an OpenSSH key.
    #[error("`{}` is not an OpenSSH key", path.display())]
    NotAKey {
        /// The file.
        path: PathBuf,
        /// What the library said.
        source: ssh_key::Error,
    },
    /// Another type than Ed25519.
    #[error("`{}` is an `{found}` key, which is recognized but not accepted; only `ssh-ed25519` is", path.display())]
    Type {
        /// The file.
        path: PathBuf,
        /// Its type.
        found: String,
    },
    /// The key needs its passphrase.
    #[error("key `{}` is locked by a passphrase", path.display())]
    Locked {
        /// The file.
        path: PathBuf,
    },
    /// The passphrase does not open the key.
    #[error("the passphrase does not open key `{}`", path.display())]
    Passphrase {
        /// The file.
        path: PathBuf,
    },
    /// An empty passphrase was given, which would protect nothing.
    #[error("the passphrase is empty")]
    EmptyPassphrase,
    /// The key could not be encoded.
    #[error("the key cannot be encoded")]
    Encode(#[source] ssh_key::Error),
    /// The device id file holds something else.
    #[error("`{}` holds `{}`, expected `dev-` and 16 hex digits", path.display(), found.escape_debug())]
    Device {
        /// The file.
        path: PathBuf,
        /// What it holds.
        found: String,
    },
    /// A file or folder could not be read.
    #[error("cannot read `{}`", path.display())]
    Read {
        /// The path.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// The folder could not be made.
    #[error("cannot make folder `{}`", path.display())]
    Folder {
        /// The folder.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// A file could not be written.
    #[error(transparent)]
    Write(#[from] AtomicError),
}

/// A key in the folder, as far as it is known without its passphrase.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StoredKey {
    /// Its name: the file's.
    pub name: String,
    /// The secret file.
    pub path: PathBuf,
    /// The public half, with the comment.
    pub public: PublicKey,
    /// Whether a passphrase is needed to use it.
    pub locked: bool,
}

impl StoredKey {
    /// `SHA256:…`, as `ssh-keygen -l` prints it.
    #[must_use]
    pub fn fingerprint(&self) -> String {
        self.public.fingerprint(HashAlg::Sha256).to_string()
    }
}

/// What listing found: the keys, and the files that are none, each with the reason.
#[derive(Debug, Default)]
pub struct Listing {
    /// Usable keys, by name.
    pub keys: Vec<StoredKey>,
    /// Files that cannot be used.
    pub problems: Vec<KeyError>,
}

/// This computer's id, made once: `dev-` and 16 hex digits.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct DeviceId(String);

impl DeviceId {
    /// The id as text.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }

    fn parse(text: &str) -> Option<Self> {
        let text = text.trim_end();
        let digits = text.strip_prefix("dev-")?;
        let hex = |byte: u8| byte.is_ascii_digit() || (b'a'..=b'f').contains(&byte);
        (digits.len() == 16 && digits.bytes().all(hex)).then(|| Self(text.to_owned()))
    }
}

impl fmt::Display for DeviceId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// The folder with the user's keys and device id.
#[derive(Clone, Debug)]
pub struct KeyFolder {
    config: PathBuf,
}

impl KeyFolder {
    /// Uses a configuration folder; nothing is read or made yet.
    ///
    /// Keys are in its folder `keys`, the device id in its file `device`.
    #[must_use]
    pub fn new(config: &Path) -> Self {
        Self {
            config: config.to_owned(),
        }
    }

    /// Makes an Ed25519 key from 32 random bytes and stores it, locked if a passphrase is given.
    ///
    /// # Errors
    ///
    /// A [`KeyError`]; an existing key is never replaced.
    ///
    /// # Examples
    ///
    /// ```
    /// use brakecorner::shop::keys::KeyFolder;
    ///
    /// let config = tempfile::tempdir()?;
    /// let keys = KeyFolder::new(config.path());
    /// let made = keys.create("jo", "jo@bench", None, &mut ssh_key::rand_core::OsRng)?;
    /// assert_eq!(keys.list()?.keys, [made]);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn create(
        &self,
        name: &str,
        comment: &str,
        passphrase: Option<&str>,
        random: &mut impl CryptoRngCore,
    ) -> Result<StoredKey, KeyError> {
        let path = self.path_of(name)?;
        let pair = Ed25519Keypair::random(random);
        let open = PrivateKey::new(pair.into(), comment).map_err(KeyError::Encode)?;
        let public = open.public_key().clone();
        let key = match passphrase {
            None => open,
            Some("") => return Err(KeyError::EmptyPassphrase),
            Some(text) => open.encrypt(random, text).map_err(KeyError::Encode)?,
        };
        self.store(name, path, &key, public)
    }

    /// Copies an OpenSSH Ed25519 secret key into the folder, as it is (locked stays locked).
    ///
    /// # Errors
    ///
    /// A [`KeyError`]; the mode of the original is checked too.
    pub fn import(&self, name: &str, original: &Path) -> Result<StoredKey, KeyError> {
        let path = self.path_of(name)?;
        let key = read_key(original)?;
        let public = public_half(original, &key);
        self.store(name, path, &key, public)
    }

    /// Notes that an agent holds somebody's key: its public half is kept, there is no secret file.
    ///
    /// # Errors
    ///
    /// A [`KeyError`]; [`KeyError::Exists`] if there is a secret key or another agent key of the
    /// name.
    pub fn note_agent(&self, name: &str, public: &PublicKey) -> Result<PathBuf, KeyError> {
        let path = self.path_of(name)?;
        make_folder(&self.folder())?;
        let exists = || KeyError::Exists {
            name: name.to_owned(),
            folder: self.folder(),
        };
        if path.symlink_metadata().is_ok() {
            return Err(exists());
        }
        let mut line = public.to_openssh().map_err(KeyError::Encode)?;
        line.push('\n');
        let public_path = public_path(&path);
        match atomic::write_new(&public_path, line.as_bytes()) {
            Ok(()) => Ok(public_path),
            Err(AtomicError::Exists { .. }) => Err(exists()),
            Err(error) => Err(error.into()),
        }
    }

    /// The public half of a key of this name, whether its secret is here or with an agent.
    ///
    /// # Errors
    ///
    /// [`KeyError::Unknown`] if there is neither, and those of reading.
    pub fn public(&self, name: &str) -> Result<PublicKey, KeyError> {
        match self.get(name) {
            Err(KeyError::Unknown { name, folder }) => {
                let path = public_path(&self.path_of(&name)?);
                match read_public(&path) {
                    Err(KeyError::Read { source, .. })
                        if source.kind() == io::ErrorKind::NotFound =>
                    {
                        Err(KeyError::Unknown { name, folder })
                    }
                    other => other,
                }
            }
            other => Ok(other?.public),
        }
    }

    /// Names of the keys an agent holds: a public half without a secret file.
    ///
    /// # Errors
    ///
    /// [`KeyError::Read`] if the folder cannot be read.
    pub fn agent_names(&self) -> Result<Vec<String>, KeyError> {
        let folder = self.folder();
        let mut names = file_names(&folder)?;
        names.retain(|name| is_public(name));
        for name in &mut names {
            name.truncate(name.len().saturating_sub(4));
        }
        names.retain(|name| !folder.join(name).exists());
        Ok(names)
    }

    /// Lists the keys by name, and what cannot be used with the reason.
    ///
    /// # Errors
    ///
    /// [`KeyError::Read`] if the folder cannot be read; a missing folder is an empty list.
    pub fn list(&self) -> Result<Listing, KeyError> {
        let mut names = file_names(&self.folder())?;
        names.retain(|name| !is_public(name));
        let mut listing = Listing::default();
        for name in names {
            match self.get(&name) {
                Ok(key) => listing.keys.push(key),
                Err(problem) => listing.problems.push(problem),
            }
        }
        Ok(listing)
    }

    /// Finds a key without unlocking it.
    ///
    /// # Errors
    ///
    /// A [`KeyError`].
    pub fn get(&self, name: &str) -> Result<StoredKey, KeyError> {
        let path = self.path_of(name)?;
        let key = self.read_named(name, &path)?;
        let public = public_half(&path, &key);
        Ok(StoredKey {
            name: name.to_owned(),
            path,
            public,
            locked: key.is_encrypted(),
        })
    }

    /// Loads a key for signing.
    ///
    /// # Errors
    ///
    /// [`KeyError::TooOpen`] if others can read the file, [`KeyError::Locked`] without a needed
    /// passphrase, [`KeyError::Passphrase`] with a wrong one, and the others of reading. A
    /// passphrase for a key that has none is ignored.
    pub fn load(&self, name: &str, passphrase: Option<&str>) -> Result<PrivateKey, KeyError> {
        let path = self.path_of(name)?;
        let key = self.read_named(name, &path)?;
        if !key.is_encrypted() {
            return Ok(key);
        }
        let Some(text) = passphrase else {
            return Err(KeyError::Locked { path });
        };
        key.decrypt(text).map_err(|_| KeyError::Passphrase { path })
    }

    /// This computer's id; the first call makes it from 8 random bytes.
    ///
    /// # Errors
    ///
    /// A [`KeyError`].
    pub fn device(&self, random: &mut impl CryptoRngCore) -> Result<DeviceId, KeyError> {
        let path = self.config.join("device");
        if let Some(id) = read_device(&path)? {
            return Ok(id);
        }
        make_folder(&self.config)?;
        let mut bytes = [0; 8];
        random.fill_bytes(&mut bytes);
        let id = DeviceId(format!("dev-{:016x}", u64::from_be_bytes(bytes)));
        match atomic::write_new(&path, format!("{id}\n").as_bytes()) {
            // Another process was first; its id counts.
            Err(AtomicError::Exists { .. }) => Ok(read_device(&path)?.unwrap_or(id)),
            Err(error) => Err(error.into()),
            Ok(()) => Ok(id),
        }
    }

    /// This computer's id, if it has one already.
    ///
    /// # Errors
    ///
    /// A [`KeyError`].
    pub fn known_device(&self) -> Result<Option<DeviceId>, KeyError> {
        read_device(&self.config.join("device"))
    }

    fn folder(&self) -> PathBuf {
        self.config.join("keys")
    }

    fn path_of(&self, name: &str) -> Result<PathBuf, KeyError> {
        let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '.' | '_' | '-');
        let starts = name.starts_with(|c: char| c.is_ascii_alphanumeric());
        if starts && name.len() <= MAX_NAME && name.chars().all(plain) && !is_public(name) {
            Ok(self.folder().join(name))
        } else {
            Err(KeyError::Name {
                name: name.to_owned(),
            })
        }
    }

    fn read_named(&self, name: &str, path: &Path) -> Result<PrivateKey, KeyError> {
        read_key(path).map_err(|error| match error {
            KeyError::Read { source, .. } if source.kind() == io::ErrorKind::NotFound => {
                KeyError::Unknown {
                    name: name.to_owned(),
                    folder: self.folder(),
                }
            }
            other => other,
        })
    }

    fn store(
        &self,
        name: &str,
        path: PathBuf,
        key: &PrivateKey,
        public: PublicKey,
    ) -> Result<StoredKey, KeyError> {
        make_folder(&self.folder())?;
        let secret = key.to_openssh(LineEnding::LF).map_err(KeyError::Encode)?;
        let mut line = public.to_openssh().map_err(KeyError::Encode)?;
        line.push('\n');
        let public_path = public_path(&path);
        // The secret last: it is the file that counts, a public file alone is replaced.
        let files = [
            NewFile {
                path: &public_path,
                bytes: line.as_bytes(),
                existing: Existing::Replace,
                access: Access::Default,
            },
            NewFile {
                path: &path,
                bytes: secret.as_bytes(),
                existing: Existing::Refuse,
                access: Access::OwnerOnly,
            },
        ];
        match atomic::write_group(&files, &mut atomic::no_hook) {
            Ok(()) => Ok(StoredKey {
                name: name.to_owned(),
                path,
                public,
                locked: key.is_encrypted(),
            }),
            Err(AtomicError::Exists { .. }) => Err(KeyError::Exists {
                name: name.to_owned(),
                folder: self.folder(),
            }),
            Err(error) => Err(error.into()),
        }
    }
}

/// Names of a folder's files in order, hidden ones left out; a missing folder has none.
fn file_names(folder: &Path) -> Result<Vec<String>, KeyError> {
    let read = |source| KeyError::Read {
        path: folder.to_owned(),
        source,
    };
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        Err(error) => return Err(read(error)),
    };
    let mut names = Vec::new();
    for entry in entries {
        let name = entry.map_err(read)?.file_name();
        names.push(name.to_string_lossy().into_owned());
    }
    names.retain(|name| !name.starts_with('.'));
    names.sort();
    Ok(names)
}

/// Reads a public key file: `ssh-ed25519 AAAA… comment`.
///
/// # Errors
///
/// [`KeyError::Read`], [`KeyError::TooLong`], [`KeyError::NotAKey`] or [`KeyError::Type`].
pub fn read_public(path: &Path) -> Result<PublicKey, KeyError> {
    let file = File::open(path).map_err(|source| KeyError::Read {
        path: path.to_owned(),
        source,
    })?;
    let text = read_text(path, file)?;
    let text = String::from_utf8_lossy(&text);
    let key = PublicKey::from_openssh(text.trim()).map_err(|source| KeyError::NotAKey {
        path: path.to_owned(),
        source,
    })?;
    if key.key_data().is_ed25519() {
        Ok(key)
    } else {
        Err(KeyError::Type {
            path: path.to_owned(),
            found: key.algorithm().to_string(),
        })
    }
}

fn is_public(name: &str) -> bool {
    name.get(name.len().saturating_sub(4)..)
        .is_some_and(|end| end.eq_ignore_ascii_case(".pub"))
}

/// The public file beside a secret one, named as `ssh-keygen` names it.
fn public_path(secret: &Path) -> PathBuf {
    let mut name = secret.as_os_str().to_owned();
    name.push(".pub");
    PathBuf::from(name)
}

/// The public half; a locked key's comment is locked too, so it is taken from the public file.
///
/// That file is believed for the comment alone, and only if it holds the same key.
fn public_half(secret: &Path, key: &PrivateKey) -> PublicKey {
    let own = key.public_key().clone();
    if !key.is_encrypted() {
        return own;
    }
    let beside = File::open(public_path(secret)).ok().and_then(|file| {
        let mut line = String::new();
        file.take(MAX_KEY_FILE).read_to_string(&mut line).ok()?;
        PublicKey::from_openssh(line.trim()).ok()
    });
    beside
        .filter(|beside| beside.key_data() == own.key_data())
        .unwrap_or(own)
}

/// Reads a secret key file of any name: mode, size, form and type, in this order.
fn read_key(path: &Path) -> Result<PrivateKey, KeyError> {
    let read = |source| KeyError::Read {
        path: path.to_owned(),
        source,
    };
    let file = File::open(path).map_err(read)?;
    if let Some(mode) = file_mode::too_open(&file).map_err(read)? {
        return Err(KeyError::TooOpen {
            path: path.to_owned(),
            mode,
        });
    }
    let text = read_text(path, file)?;
    let key = PrivateKey::from_openssh(text.as_slice()).map_err(|source| KeyError::NotAKey {
        path: path.to_owned(),
        source,
    })?;
    if key.public_key().key_data().is_ed25519() {
        Ok(key)
    } else {
        let found = key.public_key().algorithm().to_string();
        Err(KeyError::Type {
            path: path.to_owned(),
            found,
        })
    }
}

fn read_text(path: &Path, file: File) -> Result<zeroize::Zeroizing<Vec<u8>>, KeyError> {
    // Reserved at once, so that growing leaves no copies of the secret behind in memory.
    let most = MAX_KEY_FILE + 1;
    let mut text = zeroize::Zeroizing::new(Vec::with_capacity(usize::try_from(most).unwrap_or(0)));
    file.take(most)
        .read_to_end(&mut text)
        .map_err(|source| KeyError::Read {
            path: path.to_owned(),
            source,
        })?;
    if text.len() as u64 > MAX_KEY_FILE {
        return Err(KeyError::TooLong {
            path: path.to_owned(),
            limit: MAX_KEY_FILE,
        });
    }
    Ok(text)
}

fn read_device(path: &Path) -> Result<Option<DeviceId>, KeyError> {
    let file = match File::open(path) {
        Ok(file) => file,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(source) => {
            return Err(KeyError::Read {
                path: path.to_owned(),
                source,
            });
        }
    };
    let mut bytes = Vec::new();
    file.take(64)
        .read_to_end(&mut bytes)
        .map_err(|source| KeyError::Read {
            path: path.to_owned(),
            source,
        })?;
    let text = String::from_utf8_lossy(&bytes);
    match DeviceId::parse(&text) {
        Some(id) => Ok(Some(id)),
        None => Err(KeyError::Device {
            path: path.to_owned(),
            found: text.into_owned(),
        }),
    }
}

fn make_folder(folder: &Path) -> Result<(), KeyError> {
    fs::create_dir_all(folder).map_err(|source| KeyError::Folder {
        path: folder.to_owned(),
        source,
    })
}

#[cfg(test)]
mod tests;
