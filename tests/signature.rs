//! Signatures, signers and keys against published vectors, stored cases and stock OpenSSH.
#![allow(clippy::unwrap_used, clippy::panic)]

#[path = "signature/stamp.rs"]
mod stamp;
#[path = "signature/stock.rs"]
mod stock;

use std::fs;
use std::path::{Path, PathBuf};

use brakecorner::record::key::SignerKey;
use brakecorner::record::revoked::Revoked;
use brakecorner::record::signers::{NotTrusted, Signers};
use brakecorner::record::sshsig::{self, NAMESPACE, SigError, Stage, sign, verify};
use chrono::{DateTime, Utc};
use ssh_key::private::{Ed25519Keypair, PrivateKey};

fn data(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data/signatures")
        .join(name)
}

fn read(name: &str) -> Vec<u8> {
    fs::read(data(name)).unwrap()
}

fn from_hex(text: &str) -> Vec<u8> {
    (0..text.len())
        .step_by(2)
        .map(|at| u8::from_str_radix(&text[at..at + 2], 16).unwrap())
        .collect()
}

fn seeded(seed: u8) -> PrivateKey {
    PrivateKey::from(Ed25519Keypair::from_seed(&[seed; 32]))
}

fn public(key: &PrivateKey) -> SignerKey {
    SignerKey::try_from(key.public_key()).unwrap()
}

/// The secret key of RFC 8032, 7.1, TEST 1.
fn test_1() -> PrivateKey {
    let vectors = String::from_utf8(read("rfc8032_vectors.csv")).unwrap();
    let seed = vectors
        .lines()
        .nth(1)
        .unwrap()
        .split(',')
        .nth(1)
        .unwrap()
        .to_owned();
    PrivateKey::from(Ed25519Keypair::from_seed(
        &from_hex(&seed).try_into().unwrap(),
    ))
}

const SMALL: &[u8] = b"{\"job\": \"HWY-0417\", \"verdict\": \"FAIL\", \"t_min\": \"19.98 mm\"}\n";

// source: RFC 8032, section 7.1, all five Ed25519 vectors (read)
#[test]
fn all_rfc_8032_vectors_give_the_published_keys_and_signatures() {
    let vectors = String::from_utf8(read("rfc8032_vectors.csv")).unwrap();
    let mut checked = 0;
    for line in vectors.lines().skip(1) {
        let fields: Vec<&str> = line.split(',').collect();
        let [name, secret, public_hex, message, signature] = fields[..] else {
            panic!("{line}")
        };
        let key = Ed25519Keypair::from_seed(&from_hex(secret).try_into().unwrap());
        let key = PrivateKey::from(key);
        assert_eq!(
            public(&key).as_bytes().to_vec(),
            from_hex(public_hex),
            "{name}"
        );
        let made: ssh_key::Signature =
            signature::Signer::try_sign(&key, &from_hex(message)).unwrap();
        assert_eq!(made.as_bytes(), from_hex(signature), "{name}");
        checked += 1;
    }
    assert_eq!(checked, 5);
}

// source: a vector made outside this program and accepted by stock ssh-keygen -Y verify
#[test]
fn the_derived_vector_is_reproduced_byte_for_byte() {
    let message = read("derived.message");
    let expected = String::from_utf8(read("derived.sha512.sig")).unwrap();
    assert_eq!(
        sign(&message, "test@example.org", &test_1()).unwrap(),
        expected
    );
    for name in ["derived.sha512.sig", "derived.sha256.sig"] {
        let key = verify(&message, "test@example.org", &read(name)).unwrap();
        assert_eq!(key, public(&test_1()), "{name}");
    }
}

#[test]
fn every_stored_case_has_the_outcome_and_stage_its_name_tells() {
    let message = read("message");
    let signer = SignerKey::from_openssh(&String::from_utf8(read("signer.pub")).unwrap()).unwrap();
    let mut seen = 0;
    for entry in fs::read_dir(data("")).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        let words: Vec<&str> = name.split('-').collect();
        if path.extension().is_none_or(|end| end != "sig") || name.starts_with("derived") {
            continue;
        }
        seen += 1;
        let result = verify(&message, NAMESPACE, &fs::read(&path).unwrap());
        match (words[0], result) {
            ("accepted", Ok(key)) => assert_eq!(key, signer, "{name}"),
            ("refused", Err(error)) => {
                assert_eq!(error.stage().to_string(), words[1], "{name}: {error}");
                assert!(!error.to_string().ends_with('.'), "{name}: {error}");
            }
            (_, result) => panic!("{name}: {result:?}"),
        }
    }
    assert_eq!(seen, 36, "stored cases");
}

#[test]
fn an_rsa_signature_is_recognized_but_not_accepted() {
    let error = verify(&read("message"), NAMESPACE, &read("refused-key-rsa.sig")).unwrap_err();
    let SigError::Key(why) = error else {
        panic!("{error}")
    };
    assert_eq!(
        why.to_string(),
        "key type `ssh-rsa` is recognized but not accepted; only `ssh-ed25519` is"
    );
}

#[test]
fn every_single_byte_change_of_a_message_is_refused_at_the_signature() {
    let armour = sign(SMALL, NAMESPACE, &seeded(1)).unwrap();
    let parsed = sshsig::parse(armour.as_bytes()).unwrap();
    assert!(parsed.check(SMALL, NAMESPACE).is_ok());
    let mut tried = 0;
    let mut refused = |message: &[u8]| {
        let error = parsed.check(message, NAMESPACE).unwrap_err();
        assert_eq!(error.stage(), Stage::Signature);
        tried += 1;
    };
    for at in 0..SMALL.len() {
        let mut changed = SMALL.to_vec();
        for value in 0..=255 {
            if value != SMALL[at] {
                changed[at] = value;
                refused(&changed);
            }
        }
        let mut shorter = SMALL.to_vec();
        shorter.remove(at);
        refused(&shorter);
        let mut longer = SMALL.to_vec();
        longer.insert(at, b' ');
        refused(&longer);
    }
    refused(&[SMALL, b"\n"].concat());
    refused(b"");
    assert_eq!(tried, SMALL.len() * 257 + 2);
}

#[test]
fn every_single_byte_change_of_the_armour_is_refused_unless_it_is_white_space() {
    let armour = sign(SMALL, NAMESPACE, &seeded(1)).unwrap();
    let bare = |bytes: &[u8]| -> Vec<u8> {
        bytes
            .iter()
            .copied()
            .filter(|byte| !byte.is_ascii_whitespace())
            .collect()
    };
    for at in 0..armour.len() {
        for value in [b'A', b'B', b'z', b'=', b'-', b' ', b'\n', b'\r', 0, 0xff] {
            let mut changed = armour.clone().into_bytes();
            changed[at] = value;
            if let Ok(key) = verify(SMALL, NAMESPACE, &changed) {
                assert_eq!(
                    bare(&changed),
                    bare(armour.as_bytes()),
                    "byte {at} as {value}"
                );
                assert_eq!(key, public(&seeded(1)));
            }
        }
    }
    for cut in 0..armour.trim_end().len() {
        let error = verify(SMALL, NAMESPACE, &armour.as_bytes()[..cut]).unwrap_err();
        assert_eq!(error.stage(), Stage::Armour, "cut at {cut}: {error}");
    }
}

#[test]
fn a_signature_swapped_with_another_records_is_refused() {
    let first = sign(b"record 1\n", NAMESPACE, &seeded(1)).unwrap();
    let second = sign(b"record 2\n", NAMESPACE, &seeded(1)).unwrap();
    for (message, armour) in [(&b"record 1\n"[..], &second), (b"record 2\n", &first)] {
        let error = verify(message, NAMESPACE, armour.as_bytes()).unwrap_err();
        assert!(matches!(error, SigError::BadSignature { .. }), "{error}");
    }
}

#[test]
fn a_message_whose_line_ends_became_crlf_is_refused() {
    let armour = sign(b"a\nb\n", NAMESPACE, &seeded(1)).unwrap();
    let error = verify(b"a\r\nb\r\n", NAMESPACE, armour.as_bytes()).unwrap_err();
    assert_eq!(error.stage(), Stage::Signature);
}

#[test]
fn a_countersignature_cannot_stand_for_a_signature() {
    let armour = sign(SMALL, sshsig::COUNTERSIGN_NAMESPACE, &seeded(2)).unwrap();
    let error = verify(SMALL, NAMESPACE, armour.as_bytes()).unwrap_err();
    assert_eq!(
        error.to_string(),
        "the signature is for namespace `brakecorner-countersign`, expected `brakecorner-record`"
    );
}

#[test]
fn an_overlong_armour_is_refused_by_its_size() {
    let error = verify(SMALL, NAMESPACE, &vec![b'A'; 200 << 20]).unwrap_err();
    assert!(
        matches!(
            error,
            SigError::TooLong {
                limit: sshsig::MAX_ARMOUR,
                ..
            }
        ),
        "{error}"
    );
}

#[test]
fn a_locked_key_does_not_sign() {
    let locked = seeded(1)
        .encrypt(&mut ssh_key::rand_core::OsRng, "secret")
        .unwrap();
    let error = sign(SMALL, NAMESPACE, &locked).unwrap_err();
    assert_eq!((error.stage(), error), (Stage::Signing, SigError::Locked));
}

#[test]
fn a_good_signature_by_the_wrong_expired_or_revoked_signer_is_not_trusted() {
    let (jo, bo) = (seeded(1), seeded(2));
    let text = format!(
        "jo namespaces=\"brakecorner-record\",valid-before=\"20261231Z\" {}\nbo {}\n",
        public(&jo).to_openssh(),
        public(&bo).to_openssh()
    );
    let signers = Signers::parse("signers", text.as_bytes()).unwrap();
    let armour = sign(SMALL, NAMESPACE, &jo).unwrap();
    let key = verify(SMALL, NAMESPACE, armour.as_bytes()).unwrap();
    let now: DateTime<Utc> = "2026-11-25T10:00:00Z".parse().unwrap();
    let later: DateTime<Utc> = "2027-01-01T00:00:00Z".parse().unwrap();
    assert!(signers.find("jo", &key, NAMESPACE, now).is_ok());
    let why = signers.find("bo", &key, NAMESPACE, now).unwrap_err();
    assert!(matches!(&why, NotTrusted::OtherKey { belongs_to, .. } if belongs_to == &["jo"]));
    let why = signers.find("jo", &key, NAMESPACE, later).unwrap_err();
    assert!(matches!(why, NotTrusted::Expired { .. }), "{why}");
    let list = format!("# stolen\n{}\n", key.to_openssh());
    let revoked = Revoked::parse("revoked", list.as_bytes()).unwrap();
    assert_eq!(revoked.place_of(&key).as_deref(), Some("revoked:2"));
    assert_eq!(revoked.place_of(&public(&bo)), None);
}

proptest::proptest! {
    #[test]
    fn arbitrary_bytes_never_panic_and_never_verify(bytes: Vec<u8>) {
        proptest::prop_assert!(verify(SMALL, NAMESPACE, &bytes).is_err());
    }

    #[test]
    fn arbitrary_blobs_in_armour_never_panic_and_never_verify(
        start in proptest::sample::select(vec![&b"SSHSIG\0\0\0\x01\0\0\0\x33"[..], b"SSHSIG", b""]),
        blob: Vec<u8>,
    ) {
        use base64ct::Encoding;
        let base64 = base64ct::Base64::encode_string(&[start, &blob].concat());
        let armour = format!("-----BEGIN SSH SIGNATURE-----\n{base64}\n-----END SSH SIGNATURE-----\n");
        proptest::prop_assert!(verify(SMALL, NAMESPACE, armour.as_bytes()).is_err());
    }

    #[test]
    fn what_is_signed_verifies_and_nothing_else_does(
        message: Vec<u8>, other: Vec<u8>, namespace in "[a-z@.-]{1,30}", seed: u8,
    ) {
        let armour = sign(&message, &namespace, &seeded(seed)).unwrap();
        proptest::prop_assert_eq!(
            verify(&message, &namespace, armour.as_bytes()),
            Ok(public(&seeded(seed)))
        );
        proptest::prop_assert_eq!(
            verify(&other, &namespace, armour.as_bytes()).is_ok(),
            other == message
        );
    }
}
