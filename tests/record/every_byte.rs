//! Every single changed byte of a record, with every stage looking at it.
//!
//! The record is a small one, so that all stages can look at each of its bytes in a short time.

use std::collections::BTreeMap;

use brakecorner::record::key::SignerKey;
use brakecorner::record::signers::Signers;
use brakecorner::record::sshsig::{NAMESPACE, sign};
use brakecorner::record::verify::{self, Outcome, STAGES, verify};

use super::small::{key, record};

fn signers() -> Signers {
    let public = SignerKey::try_from(key().public_key()).unwrap();
    let line = format!("\"Ilse Varga\" {}\n", public.to_openssh());
    Signers::parse("signers", line.as_bytes()).unwrap()
}

/// Changes every byte in turn, on two threads, and counts the stages that refused.
fn change_every_byte(
    record: &[u8],
    refusing: impl Fn(usize, &[u8]) -> &'static str + Sync,
) -> BTreeMap<&'static str, usize> {
    let part = |from: usize, to: usize| {
        let mut counts = BTreeMap::new();
        let mut changed = record.to_vec();
        for at in from..to {
            changed[at] ^= 1 << (at % 8);
            *counts.entry(refusing(at, &changed)).or_default() += 1;
            changed[at] ^= 1 << (at % 8);
        }
        counts
    };
    let half = record.len() / 2;
    std::thread::scope(|scope| {
        let first = scope.spawn(|| part(0, half));
        let mut counts = part(half, record.len());
        for (stage, count) in first.join().unwrap() {
            *counts.entry(stage).or_default() += count;
        }
        counts
    })
}

#[test]
fn the_small_record_is_valid_and_every_stage_looked_at_it() {
    let record = record();
    let armour = sign(&record, NAMESPACE, &key()).unwrap();
    let found = verify(&record, Some(armour.as_bytes()), Some(&signers()));
    assert!(found.good(), "{found:?}");
    assert_eq!(
        found.stages.iter().map(|s| s.stage).collect::<Vec<_>>(),
        STAGES
    );
}

/// All seven stages look at each changed record; the look at its head alone refuses it too.
#[test]
fn every_changed_byte_is_refused_and_the_failing_stage_is_named() {
    let record = record();
    let armour = sign(&record, NAMESPACE, &key()).unwrap();
    let signers = signers();
    let counts = change_every_byte(&record, |at, changed| {
        let found = verify(changed, Some(armour.as_bytes()), Some(&signers));
        assert!(!found.good(), "byte {at}");
        assert_eq!(found.stages.len(), STAGES.len());
        let signature = found
            .stages
            .iter()
            .find(|s| s.stage == "signature")
            .unwrap();
        assert_eq!(signature.outcome, Outcome::Bad, "byte {at}");
        let quick = verify::signature(changed, Some(armour.as_bytes()), Some(&signers));
        assert!(quick.bad.is_some(), "byte {at}");
        let bad = found.first_bad().unwrap();
        assert!(!bad.detail.is_empty(), "byte {at}");
        bad.stage
    });
    assert_eq!(counts.keys().collect::<Vec<_>>(), [&"form", &"signature"]);
    assert_eq!(counts.values().sum::<usize>(), record.len());
    assert!(counts.values().all(|count| *count > 300), "{counts:?}");
}

/// What was measured, by which limits, and what came of it. How a specification's file was called
/// is no part of it, nor are spaces: those the signature alone protects.
fn meaning(record: &[u8]) -> [serde_json::Value; 3] {
    let mut value: serde_json::Value = serde_json::from_slice(record).unwrap();
    for name in ["sheet", "policy", "schedule"] {
        value["specifications"][name]["file"].take();
    }
    ["judgement", "specifications", "journal"].map(|name| value[name].take())
}

/// The signer as the forger: with a true signature over the changed bytes, what was measured, by
/// which limits, and what came of it are still refused, each by its own stage.
#[test]
fn every_changed_byte_of_readings_limits_and_verdicts_is_refused_though_truly_signed() {
    let record = record();
    let text = String::from_utf8(record.clone()).unwrap();
    let at = |name: &str| text.find(&format!("\n  \"{name}\": ")).unwrap();
    let (judgement, instruments) = (at("judgement"), at("instruments"));
    let (specifications, lines) = (at("specifications"), at("journal"));
    let (signers, key) = (signers(), key());
    let counts = change_every_byte(&record, |at, changed| {
        let armour = sign(changed, NAMESPACE, &key).unwrap();
        let found = verify(changed, Some(armour.as_bytes()), Some(&signers));
        let stage = found.first_bad().map_or("none", |bad| bad.stage);
        let expected: &[&str] = if at >= lines {
            &["form", "journal"]
        } else if at >= specifications {
            &["form", "results"]
        } else if at >= instruments {
            // An instrument nobody used may be called otherwise; here there is none.
            &["form", "results", "none"]
        } else if at >= judgement {
            &["form", "results"]
        } else {
            &["form", "signer", "journal", "results", "revisions", "none"]
        };
        let same = stage == "none" && meaning(changed) == meaning(&record);
        assert!(
            expected.contains(&stage) || same,
            "byte {at}: {stage}, expected {expected:?}"
        );
        stage
    });
    for stage in ["form", "signer", "journal", "results"] {
        assert!(counts.get(stage).is_some_and(|n| *n > 0), "{counts:?}");
    }
}
