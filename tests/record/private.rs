//! The customer's data: digests in what is signed, values beside it, gone when asked for.

use std::fs;

use brakecorner::record::canonical::sha256_hex;

use super::common::Yard;
use super::{problems, read, sign};

const NAME: &str = "Mara Ellwood";
const PHONE: &str = "0555 010 203";
const ADDRESS: &str = "3 Weir Lane, Hollin";
const VIN: &str = "A0ZDL07V7NK001122";
const PLATE: &str = "HW 41 MVN";

/// A workshop with job P-1 for a named customer, signed once.
fn customer() -> Yard {
    let yard = Yard::with_job();
    yard.run(&[
        "job",
        "open",
        "P-1",
        "--vin",
        VIN,
        "--odometer",
        "84120",
        "--class",
        "N1",
        "--registration",
        PLATE,
        "--customer",
        NAME,
        "--telephone",
        PHONE,
        "--address",
        ADDRESS,
    ])
    .ends(0);
    yard.run(&["sign", "P-1", "--as-found", "--incomplete", "only a test"])
        .ends(0);
    yard
}

fn at(yard: &Yard, name: &str) -> std::path::PathBuf {
    yard.path(&format!("jobs/P-1/{name}"))
}

#[test]
fn what_is_signed_holds_digests_that_value_and_salt_explain() {
    let yard = customer();
    let record = read(at(&yard, "record-1.json"));
    let journal = read(at(&yard, "journal.jsonl"));
    for text in [&record, &journal] {
        for secret in [NAME, PHONE, ADDRESS] {
            assert!(!text.contains(secret), "{secret}");
        }
    }
    let private: toml::Table = toml::from_str(&read(at(&yard, "private.toml"))).unwrap();
    for (field, value) in [
        ("customer", NAME),
        ("telephone", PHONE),
        ("address", ADDRESS),
        ("vin", VIN),
        ("registration", PLATE),
    ] {
        let salt = private[field]["salt"].as_str().unwrap();
        assert_eq!(private[field]["value"].as_str(), Some(value));
        let digest = sha256_hex(format!("{salt}:{field}:{value}").as_bytes());
        assert!(record.contains(&digest), "{field}");
    }
    let salts: std::collections::BTreeSet<_> = private
        .values()
        .map(|field| field["salt"].to_string())
        .collect();
    assert_eq!(salts.len(), 5, "each value has a salt of its own");
}

#[cfg(unix)]
#[test]
fn the_private_file_is_for_its_owner_alone() {
    use std::os::unix::fs::PermissionsExt as _;
    let yard = customer();
    let mode = fs::metadata(at(&yard, "private.toml"))
        .unwrap()
        .permissions()
        .mode();
    assert_eq!(mode & 0o777, 0o600);
}

#[test]
fn forgetting_the_customer_leaves_the_record_valid_and_says_what_remains() {
    let yard = customer();
    let said = yard.run(&["job", "forget", "P-1"]).ends(0);
    for words in ["customer, telephone, address", VIN, PLATE, "backups"] {
        assert!(said.out.contains(words), "{words}: {}", said.out);
    }
    assert!(!at(&yard, "private.toml").exists());
    for entry in fs::read_dir(at(&yard, "")).unwrap() {
        let bytes = fs::read(entry.unwrap().path()).unwrap_or_default();
        let text = String::from_utf8_lossy(&bytes).into_owned();
        assert!(!text.contains(NAME) && !text.contains(PHONE));
    }
    yard.run(&["verify", "P-1"]).ends(0);
    sign(&yard).ends(0);
    assert_eq!(problems(&yard, &[]), Vec::<String>::new());
    let said = yard.run(&["job", "forget", "P-1"]).ends(0);
    assert!(said.out.contains("nothing was kept"), "{}", said.out);
}

/// What the findings sheet prints: each value while it is there, and a gap for each one forgotten.
#[test]
fn what_can_be_shown_of_the_customer_is_known_before_forgetting_and_a_gap_after_it() {
    use brakecorner::job::PersonalField;
    use brakecorner::shop::private::{Standing, standing};

    let yard = customer();
    let shown = || {
        let journal = fs::read(at(&yard, "journal.jsonl")).unwrap();
        let job = brakecorner::job::journal::read(&journal).fold();
        standing(&at(&yard, ""), &job).unwrap()
    };
    let before = shown();
    assert_eq!(before.len(), 5);
    let name = Standing::Known(NAME.to_owned());
    assert_eq!(before.get(&PersonalField::Customer), Some(&name));
    yard.run(&["job", "forget", "P-1"]).ends(0);
    let after = shown();
    assert_eq!(after.len(), 5, "that there was a customer is still known");
    assert!(after.values().all(|field| *field == Standing::Forgotten));
    yard.run(&["verify", "P-1"]).ends(0);
    // A job for nobody in particular has no gaps, since nothing was ever given.
    let journal = fs::read(yard.path("jobs/T-1/journal.jsonl")).unwrap();
    let job = brakecorner::job::journal::read(&journal).fold();
    let never = standing(&yard.path("jobs/T-1"), &job).unwrap();
    assert!(!never.contains_key(&PersonalField::Customer));
}

#[test]
fn a_copy_for_others_shows_neither_vin_nor_plate_and_is_valid_by_itself() {
    let yard = customer();
    yard.run(&["job", "forget", "P-1"]).ends(0);
    yard.run(&["record", "redact", "P-1", "-o", "copy.json"])
        .ends(0);
    let copy = read(yard.root().join("copy.json"));
    for secret in [NAME, PHONE, ADDRESS, VIN, PLATE] {
        assert!(!copy.contains(secret), "{secret}");
    }
    // Handed on alone: only the copy, its signature and the signers.
    let alone = Yard::empty();
    for name in ["copy.json", "copy.json.sig"] {
        fs::copy(yard.root().join(name), alone.root().join(name)).unwrap();
    }
    fs::copy(yard.path("signers"), alone.root().join("signers")).unwrap();
    let said = alone.run(&["verify", "copy.json"]).ends(0);
    assert!(
        said.out.contains("copy without VIN and plate"),
        "{}",
        said.out
    );
    // It names the record it was made of.
    let digest = sha256_hex(&fs::read(at(&yard, "record-1.json")).unwrap());
    assert!(copy.contains(&digest));
}

#[test]
fn a_changed_copy_is_refused_and_the_record_does_not_pass_for_its_copy() {
    let yard = customer();
    yard.run(&["record", "redact", "P-1", "-o", "copy.json"])
        .ends(0);
    let path = yard.root().join("copy.json");
    let copy = read(path.clone());
    fs::write(&path, copy.replacen("as_found", "as_Found", 1)).unwrap();
    yard.run(&["verify", "copy.json", "--signers", "shop/signers"])
        .ends(1);
    fs::write(&path, &copy).unwrap();
    yard.run(&["verify", "copy.json", "--signers", "shop/signers"])
        .ends(0);
    // Each other's signature does not fit: another namespace, other bytes.
    fs::copy(
        at(&yard, "record-1.json.sig"),
        yard.root().join("copy.json.sig"),
    )
    .unwrap();
    yard.run(&["verify", "copy.json", "--signers", "shop/signers"])
        .ends(1);
    fs::copy(
        at(&yard, "record-1.json.redacted.sig"),
        at(&yard, "record-1.json.sig"),
    )
    .unwrap();
    yard.run(&["verify", "P-1"]).ends(1);
}

#[test]
fn a_vin_somebody_typed_into_a_note_is_warned_about() {
    let yard = Yard::with_job();
    yard.run(&[
        "log",
        "T-1",
        "FL",
        "hose",
        "not-inspected",
        &format!("see {VIN}"),
    ])
    .ends(0);
    sign(&yard).ends(0);
    let said = yard
        .run(&["record", "redact", "T-1", "-o", "copy.json"])
        .ends(0);
    assert!(
        said.err.contains("the VIN still stands in the copy"),
        "{}",
        said.err
    );
}

#[test]
fn no_existing_file_is_replaced_by_a_copy() {
    let yard = customer();
    fs::write(yard.root().join("copy.json"), "mine").unwrap();
    yard.run(&["record", "redact", "P-1", "-o", "copy.json"])
        .ends(2);
    assert_eq!(read(yard.root().join("copy.json")), "mine");
    assert!(!yard.root().join("copy.json.sig").exists());
}
