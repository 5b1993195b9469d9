//! Records of every version ever written stay valid. The folders are made once and never changed.

use std::fs;
use std::path::{Path, PathBuf};

use brakecorner::record::redact::redact;
use brakecorner::record::signers::Signers;
use brakecorner::record::verify::{Before, Beside, Outcome, examine};

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/data/records")
}

fn verify_version(version: &Path) {
    let get = |name: &str| fs::read(version.join(name)).unwrap();
    let signers = Signers::parse("signers", &get("signers")).unwrap();
    let mut before = None;
    for number in 1..=2 {
        let name = format!("record-{number}.json");
        let record = get(&name);
        let signature = get(&format!("{name}.sig"));
        let countersignature = fs::read(version.join(format!("{name}.countersign.sig"))).ok();
        let beside = Beside {
            signature: Some(&signature),
            countersignature: countersignature.as_deref(),
            signers: Some(&signers),
            before: before.as_deref().map_or(Before::NotAtHand, Before::Is),
            ..Beside::default()
        };
        let found = examine(&record, &beside).verification;
        assert!(found.good(), "{name}: {:?}", found.first_bad());
        for stage in found.stages.iter().take(6) {
            assert_eq!(stage.outcome, Outcome::Good, "{name}: {stage:?}");
        }
        before = Some(found.sha256);
        // The copy is made of the record's bytes and must come out as it was signed.
        let copy = redact(&record).unwrap();
        let beside = Beside {
            signature: Some(&get(&format!("{name}.redacted.sig"))),
            signers: Some(&signers),
            ..Beside::default()
        };
        let found = examine(&copy, &beside).verification;
        assert!(found.good(), "copy of {name}: {:?}", found.first_bad());
    }
}

#[test]
fn stored_records_of_every_version_are_valid() {
    let mut versions: Vec<PathBuf> = fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.is_dir())
        .collect();
    versions.sort();
    assert_eq!(
        versions.len(),
        1,
        "one folder for each version: {versions:?}"
    );
    versions.iter().for_each(|version| verify_version(version));
}

#[test]
fn the_stored_second_revision_is_countersigned() {
    let path = folder().join("v1/record-2.json.countersign.sig");
    assert!(path.is_file());
}
