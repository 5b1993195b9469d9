//! Every way to change a record, and every file that is none.

use std::fs;

use brakecorner::record::signers::Signers;
use brakecorner::record::sshsig;
use brakecorner::record::sshsig::{COUNTERSIGN_NAMESPACE, NAMESPACE, sign as ssh_sign};
use brakecorner::record::verify::{Outcome, Validity, verify};
use brakecorner::shop::keys::KeyFolder;
use ssh_key::private::{Ed25519Keypair, PrivateKey};

use super::common::Yard;
use super::{bad_stages, file, read, signed};

struct Case {
    yard: Yard,
    record: Vec<u8>,
    signature: Vec<u8>,
    signers: Signers,
    key: PrivateKey,
}

fn case() -> Case {
    let yard = signed();
    let record = fs::read(file(&yard, "record-1.json")).unwrap();
    let signature = fs::read(file(&yard, "record-1.json.sig")).unwrap();
    let signers = Signers::parse("signers", &fs::read(yard.path("signers")).unwrap()).unwrap();
    let key = KeyFolder::new(&yard.root().join("config"))
        .load("ilse-varga", None)
        .unwrap();
    Case {
        yard,
        record,
        signature,
        signers,
        key,
    }
}

impl Case {
    /// The first bad stage of other bytes with the old signature.
    fn stage(&self, record: &[u8], signature: &[u8]) -> Option<&'static str> {
        let found = verify(record, Some(signature), Some(&self.signers));
        found.first_bad().map(|stage| stage.stage)
    }

    /// The first bad stage of a text that the true signer signs: what the signature cannot catch.
    fn resigned(&self, record: &str) -> Option<&'static str> {
        let armour = ssh_sign(record.as_bytes(), NAMESPACE, &self.key).unwrap();
        self.stage(record.as_bytes(), armour.as_bytes())
    }

    fn text(&self) -> String {
        String::from_utf8(self.record.clone()).unwrap()
    }
}

#[test]
fn the_record_itself_is_valid() {
    let case = case();
    assert_eq!(case.stage(&case.record, &case.signature), None);
}

/// All stages look at every byte of a small record in `every_byte`; here the signature looks at
/// every byte of one as the program writes it.
#[test]
fn every_changed_byte_of_a_whole_record_is_refused_by_its_signature() {
    let case = case();
    let refused = |from: usize, to: usize| {
        let mut changed = case.record.clone();
        for at in from..to {
            changed[at] ^= 1 << (at % 8);
            let signature = sshsig::verify(&changed, NAMESPACE, &case.signature);
            assert!(signature.is_err(), "byte {at} went unnoticed");
            changed[at] ^= 1 << (at % 8);
        }
    };
    let half = case.record.len() / 2;
    std::thread::scope(|scope| {
        scope.spawn(|| refused(0, half));
        refused(half, case.record.len());
    });
}

#[test]
fn every_changed_byte_of_a_signature_is_refused_or_without_effect_on_its_meaning() {
    let case = case();
    let true_meaning = sshsig::parse(&case.signature).unwrap();
    for at in 0..case.signature.len() {
        for bit in 0..8 {
            let mut changed = case.signature.clone();
            changed[at] ^= 1 << bit;
            match case.stage(&case.record, &changed) {
                Some(stage) => assert!(["signature", "signer"].contains(&stage), "byte {at}"),
                // Such as the unused bits of the last Base64 digit: it decodes to the same bytes.
                None => assert_eq!(
                    sshsig::parse(&changed).unwrap(),
                    true_meaning,
                    "byte {at} bit {bit}"
                ),
            }
        }
    }
}

#[test]
fn a_record_cut_anywhere_is_refused() {
    let case = case();
    for cut in (0..case.record.len()).step_by(97) {
        assert!(
            case.stage(&case.record[..cut], &case.signature).is_some(),
            "{cut}"
        );
    }
}

/// The signer as the forger: each later stage must catch its own.
#[test]
fn what_a_true_signer_cannot_forge_is_caught_by_the_later_stages() {
    let case = case();
    let text = case.text();
    assert_eq!(case.resigned(&text), None);
    for (from, to, stage) in [
        // A verdict that the readings do not give.
        (
            "\"verdict\": \"INCOMPLETE\"",
            "\"verdict\": \"PASS\"",
            "results",
        ),
        // A fact in the journal.
        ("\"odometer\":84120", "\"odometer\":74120", "journal"),
        // A limit: the text no longer has its digest.
        ("machine_to", "machine_up_to", "results"),
        // Another job's number.
        ("\"job\": \"T-1\"", "\"job\": \"T-2\"", "journal"),
        // A first revision that claims another before it.
        (
            "\"previous_revision\": \"\"",
            "\"previous_revision\": \"00\"",
            "revisions",
        ),
        // Somebody else's name, or another key's.
        (
            "\"principal\": \"Ilse Varga\"",
            "\"principal\": \"Tam Okoro\"",
            "signer",
        ),
        (
            "\"fingerprint\": \"SHA256:",
            "\"fingerprint\": \"SHA256:x",
            "signer",
        ),
        // A time when the key was not valid.
        ("\"signed_at\": \"20", "\"signed_at\": \"19", "signer"),
        // A field nobody knows.
        ("\"workshop\":", "\"workshops\":", "form"),
        ("\"revision\": 1", "\"revision\": 0", "form"),
        (
            "\"format\": \"brakecorner-record\"",
            "\"format\": \"brakecorner-redacted\"",
            "form",
        ),
        (
            "\"format\": \"brakecorner-record\"",
            "\"format\": \"other\"",
            "form",
        ),
    ] {
        let changed = text.replacen(from, to, 1);
        assert_ne!(changed, text, "`{from}` is not in the record");
        assert_eq!(case.resigned(&changed), Some(stage), "{from}");
    }
}

#[test]
fn rules_of_a_newer_version_are_said_to_be_newer_and_nothing_is_called_bad() {
    let case = case();
    let check = |to: &str| {
        let changed = case.text().replacen(
            "\"rules_version\": 1",
            &format!("\"rules_version\": {to}"),
            1,
        );
        assert_ne!(changed, case.text());
        let armour = ssh_sign(changed.as_bytes(), NAMESPACE, &case.key).unwrap();
        let signature = Some(armour.as_bytes());
        verify(changed.as_bytes(), signature, Some(&case.signers))
    };
    let newer = check("99");
    assert_eq!(newer.validity(), Validity::Newer);
    assert!(newer.first_bad().is_none() && !newer.good());
    let results = newer.stages.iter().find(|s| s.stage == "results").unwrap();
    assert_eq!(results.outcome, Outcome::NotChecked);
    assert!(results.detail.contains("rules version 99"), "{results:?}");
    // A version that never existed is no newer one.
    assert_eq!(check("0").first_bad().unwrap().stage, "results");
    assert_eq!(check("-1").first_bad().unwrap().stage, "form");
}

#[test]
fn a_journal_line_left_out_or_added_breaks_the_chain() {
    let case = case();
    let value: serde_json::Value = serde_json::from_slice(&case.record).unwrap();
    let lines = value["journal"].as_array().unwrap().len();
    assert!(lines >= 2, "{lines}");
    let text = case.text();
    let start = text.rfind("\"journal\": [\n").unwrap() + "\"journal\": [\n".len();
    let body = &text[start..text.rfind("\n  ]").unwrap()];
    let all: Vec<&str> = body.split(",\n").collect();
    let with = |lines: Vec<&str>| format!("{}{}\n  ]\n}}\n", &text[..start], lines.join(",\n"));
    assert_eq!(with(all.clone()), text);
    assert_eq!(case.resigned(&with(all[1..].to_vec())), Some("journal"));
    assert_eq!(case.resigned(&with(vec![all[0], all[0]])), Some("journal"));
    assert_eq!(
        case.resigned(&with(all.iter().rev().copied().collect())),
        Some("journal")
    );
    assert_eq!(case.resigned(&with(vec![])), Some("journal"));
}

#[test]
fn wrong_signatures_are_refused_with_their_stage() {
    let case = case();
    let other = PrivateKey::from(Ed25519Keypair::from_seed(&[9; 32]));
    let data = |name: &str| {
        fs::read(format!(
            "{}/tests/data/signatures/{name}",
            env!("CARGO_MANIFEST_DIR")
        ))
        .unwrap()
    };
    let swapped = ssh_sign(b"another record", NAMESPACE, &case.key).unwrap();
    let namespace = ssh_sign(&case.record, COUNTERSIGN_NAMESPACE, &case.key).unwrap();
    let stranger = ssh_sign(&case.record, NAMESPACE, &other).unwrap();
    let crlf = String::from_utf8(case.signature.clone())
        .unwrap()
        .replace('\n', "\r\n");
    let cut = case.signature.len() - 40;
    for (signature, stage, words) in [
        (swapped.as_bytes(), "signature", "does not fit"),
        (namespace.as_bytes(), "signature", "brakecorner-countersign"),
        (stranger.as_bytes(), "signer", "the record names key"),
        (crlf.as_bytes(), "signature", "CRLF"),
        (&case.signature[..cut], "signature", "cut off"),
        (&data("refused-key-rsa.sig"), "signature", "ssh-rsa"),
        (b"", "signature", "BEGIN SSH SIGNATURE"),
    ] {
        let found = verify(&case.record, Some(signature), Some(&case.signers));
        let bad = found.first_bad().unwrap();
        assert_eq!(bad.stage, stage, "{bad:?}");
        if words != "does not fit" {
            assert!(bad.detail.contains(words), "{words}: {}", bad.detail);
        }
    }
    assert_eq!(
        verify(&case.record, None, None).first_bad().unwrap().stage,
        "signature"
    );
    // Lines that end as on Windows are other bytes.
    let text = case.text().replace('\n', "\r\n");
    assert_eq!(
        case.stage(text.as_bytes(), &case.signature),
        Some("signature")
    );
}

#[test]
fn a_signer_out_of_time_unknown_or_revoked_is_refused_by_verify() {
    let case = case();
    let line = read(case.yard.path("signers"));
    let put = |text: String| fs::write(case.yard.path("signers"), text).unwrap();
    put(line.replacen("valid-after=\"20", "valid-after=\"30", 1));
    assert_eq!(bad_stages(&case.yard, "T-1"), ["signer"]);
    put(line.replacen("valid-after=", "valid-before=", 1).replacen(
        "before=\"20",
        "before=\"19",
        1,
    ));
    assert_eq!(bad_stages(&case.yard, "T-1"), ["signer"]);
    put(line.replacen("Ilse Varga", "Tam Okoro", 1));
    assert_eq!(bad_stages(&case.yard, "T-1"), ["signer"]);
    put(line.replacen("brakecorner-record,", "", 1));
    assert_eq!(bad_stages(&case.yard, "T-1"), ["signer"]);
    put(line.clone());
    let key = line.split("ssh-ed25519").nth(1).unwrap();
    fs::write(case.yard.path("revoked"), format!("ssh-ed25519{key}")).unwrap();
    assert_eq!(bad_stages(&case.yard, "T-1"), ["signer"]);
    // A revocation list that cannot be read must not be an empty one.
    fs::write(case.yard.path("revoked"), "ssh-ed25519 AAAA").unwrap();
    let said = case.yard.run(&["verify", "T-1"]).ends(2);
    assert!(said.err.contains("revoked:1"), "{}", said.err);
}

#[test]
fn files_that_are_no_record_are_bounded_refused_and_named() {
    let deep = format!("{}{}", "[".repeat(100_000), "]".repeat(100_000));
    let twice = "{\"format\": \"brakecorner-record\", \"version\": 1, \"version\": 1}";
    let many = format!("[{}0]", "0,".repeat(1_100_000));
    for (bytes, words) in [
        (deep.as_bytes(), "nested more than 64 levels"),
        (twice.as_bytes(), "key `version` is given twice"),
        (many.as_bytes(), "more than 1000000 values"),
        (b"{\"format\": \"\xff\"}", "not UTF-8 from byte 12"),
        (b"\xef\xbb\xbf{}", "not JSON"),
        (b"", "not JSON"),
        (b"{}", "no brakecorner-record"),
        (
            b"{\"format\": \"brakecorner-record\", \"version\": 0}",
            "not a record",
        ),
        (
            b"{\"format\": \"brakecorner-record\", \"version\": 1}",
            "missing field",
        ),
        (
            b"{\"format\": \"brakecorner-record\", \"version\": -1}",
            "no brakecorner-record",
        ),
    ] {
        let found = verify(bytes, None, None);
        let bad = found.first_bad().unwrap();
        assert_eq!(bad.stage, "form");
        assert!(bad.detail.contains(words), "{words}: {}", bad.detail);
    }
}

#[test]
fn a_record_of_200_megabytes_is_refused_without_being_read() {
    let yard = signed();
    let path = file(&yard, "record-1.json");
    let big = fs::OpenOptions::new().write(true).open(&path).unwrap();
    big.set_len(200 << 20).unwrap();
    let said = yard.run(&["verify", "T-1"]).ends(2);
    assert!(
        said.err
            .contains("209715200 bytes long, the limit is 67108864"),
        "{}",
        said.err
    );
    assert!(super::problems(&yard, &[]).contains(&"form".to_owned()));
}
