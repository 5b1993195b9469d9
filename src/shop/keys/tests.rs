use ssh_key::rand_core::{CryptoRng, RngCore};

use super::*;

/// Predictable bytes, for tests alone.
struct Counting(u8);

impl RngCore for Counting {
    fn next_u32(&mut self) -> u32 {
        self.next_u64() as u32
    }
    fn next_u64(&mut self) -> u64 {
        let mut bytes = [0; 8];
        self.fill_bytes(&mut bytes);
        u64::from_be_bytes(bytes)
    }
    fn fill_bytes(&mut self, dest: &mut [u8]) {
        for byte in dest {
            *byte = self.0;
            self.0 = self.0.wrapping_add(1);
        }
    }
    fn try_fill_bytes(&mut self, dest: &mut [u8]) -> Result<(), ssh_key::rand_core::Error> {
        self.fill_bytes(dest);
        Ok(())
    }
}

impl CryptoRng for Counting {}

fn folder() -> (tempfile::TempDir, KeyFolder) {
    let config = tempfile::tempdir().unwrap();
    let keys = KeyFolder::new(&config.path().join("user"));
    (config, keys)
}

#[test]
fn the_same_random_bytes_make_the_same_key_and_device() {
    let (_a, first) = folder();
    let (_b, second) = folder();
    let one = first
        .create("jo", "jo@bench", None, &mut Counting(0))
        .unwrap();
    let two = second
        .create("jo", "jo@bench", None, &mut Counting(0))
        .unwrap();
    assert_eq!(one.public, two.public);
    assert_eq!(
        first.device(&mut Counting(1)).unwrap(),
        second.device(&mut Counting(1)).unwrap()
    );
}

#[test]
fn the_device_id_is_made_once_and_a_damaged_one_is_named() {
    let (_config, keys) = folder();
    let id = keys.device(&mut Counting(0)).unwrap();
    assert_eq!(id.as_str(), "dev-0001020304050607");
    assert_eq!(keys.device(&mut Counting(9)).unwrap(), id);
    fs::write(keys.config.join("device"), "laptop\n").unwrap();
    let error = keys.device(&mut Counting(9)).unwrap_err();
    assert!(error.to_string().contains("`laptop"), "{error}");
}

#[test]
fn a_locked_key_opens_with_its_passphrase_only() {
    let (_config, keys) = folder();
    let made = keys
        .create("jo", "jo@bench", Some("correct horse"), &mut Counting(0))
        .unwrap();
    assert!(made.locked);
    assert!(matches!(
        keys.load("jo", None),
        Err(KeyError::Locked { .. })
    ));
    assert!(matches!(
        keys.load("jo", Some("wrong")),
        Err(KeyError::Passphrase { .. })
    ));
    let key = keys.load("jo", Some("correct horse")).unwrap();
    assert_eq!(key.public_key().key_data(), made.public.key_data());
    assert!(matches!(
        keys.create("bo", "", Some(""), &mut Counting(0)),
        Err(KeyError::EmptyPassphrase)
    ));
}

#[test]
fn a_key_is_never_replaced() {
    let (_config, keys) = folder();
    let first = keys.create("jo", "", None, &mut Counting(0)).unwrap();
    let secret = fs::read(&first.path).unwrap();
    let error = keys.create("jo", "", None, &mut Counting(50)).unwrap_err();
    assert!(matches!(error, KeyError::Exists { .. }), "{error}");
    assert_eq!(fs::read(&first.path).unwrap(), secret);
    let public = fs::read_to_string(first.path.with_extension("pub")).unwrap();
    assert_eq!(public.trim_end(), first.public.to_openssh().unwrap());
}

#[test]
fn names_cannot_leave_the_folder() {
    let (_config, keys) = folder();
    let long = "a".repeat(65);
    for name in [
        "", ".", "..", "../jo", "a/b", "a\\b", "-f", ".jo", "jo.pub", "j o", "jö", &long,
    ] {
        let error = keys.create(name, "", None, &mut Counting(0)).unwrap_err();
        assert!(matches!(error, KeyError::Name { .. }), "{name}: {error}");
        assert!(
            matches!(keys.load(name, None), Err(KeyError::Name { .. })),
            "{name}"
        );
    }
}

#[test]
fn an_unknown_key_is_told_with_its_folder() {
    let (_config, keys) = folder();
    assert!(keys.list().unwrap().keys.is_empty());
    let error = keys.load("jo", None).unwrap_err();
    assert!(matches!(error, KeyError::Unknown { .. }), "{error}");
}

#[cfg(unix)]
#[test]
fn a_key_others_can_read_is_refused_with_what_to_do() {
    use std::os::unix::fs::PermissionsExt;
    let (_config, keys) = folder();
    let made = keys.create("jo", "", None, &mut Counting(0)).unwrap();
    assert_eq!(
        fs::metadata(&made.path).unwrap().permissions().mode() & 0o777,
        0o600
    );
    for mode in [0o640, 0o604, 0o660, 0o610] {
        fs::set_permissions(&made.path, fs::Permissions::from_mode(mode)).unwrap();
        let error = keys.load("jo", None).unwrap_err();
        assert!(
            matches!(error, KeyError::TooOpen { mode: found, .. } if found == mode),
            "{error}"
        );
        assert!(error.to_string().contains("chmod 600"), "{error}");
    }
    fs::set_permissions(&made.path, fs::Permissions::from_mode(0o400)).unwrap();
    assert!(keys.load("jo", None).is_ok());
}

#[test]
fn listing_shows_the_good_and_names_the_bad() {
    let (_config, keys) = folder();
    let good = keys
        .create("jo", "jo@bench", None, &mut Counting(0))
        .unwrap();
    let bad = keys.folder().join("notes");
    let mut options = fs::OpenOptions::new();
    file_mode::owner_only(options.write(true).create_new(true));
    io::Write::write_all(&mut options.open(&bad).unwrap(), b"not a key").unwrap();
    let listing = keys.list().unwrap();
    assert_eq!(listing.keys, [good]);
    assert!(
        matches!(listing.problems.as_slice(), [KeyError::NotAKey { path, .. }] if *path == bad)
    );
}

#[test]
fn an_imported_key_is_the_same_key() {
    let (_config, keys) = folder();
    let made = keys
        .create("jo", "jo@bench", Some("p"), &mut Counting(0))
        .unwrap();
    let copy = keys.import("jo2", &made.path).unwrap();
    assert_eq!(copy.fingerprint(), made.fingerprint());
    assert!(copy.locked);
    assert!(keys.load("jo2", Some("p")).is_ok());
}

#[test]
fn a_huge_file_is_refused_by_its_size() {
    let (_config, keys) = folder();
    keys.create("jo", "", None, &mut Counting(0)).unwrap();
    let path = keys.folder().join("jo");
    fs::write(&path, vec![b'a'; 100_000]).unwrap();
    assert!(matches!(
        keys.load("jo", None),
        Err(KeyError::TooLong {
            limit: MAX_KEY_FILE,
            ..
        })
    ));
}
