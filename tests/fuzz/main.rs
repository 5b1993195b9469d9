//! Mutated records, signatures, signers files, revocation lists, time-stamps and journals: none may
//! panic, none may pass for the original.
//!
//! `cargo test --test fuzz` runs each target for a second. For a long run:
//! `BRAKECORNER_FUZZ_SECONDS=600 cargo test --release --test fuzz -- --nocapture`.
//! A failure prints the seed; `BRAKECORNER_FUZZ_SEED=N` repeats it.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

mod mutate;

use std::fs;
use std::path::PathBuf;
use std::time::{Duration, Instant};

use brakecorner::job::journal;
use brakecorner::record::freeze::ReadRecord;
use brakecorner::record::key::SignerKey;
use brakecorner::record::redact::redact;
use brakecorner::record::revoked::Revoked;
use brakecorner::record::signers::Signers;
use brakecorner::record::specs_cache::SpecsCache;
use brakecorner::record::sshsig::{self, NAMESPACE};
use brakecorner::record::stamp;
use brakecorner::record::verify::{Beside, Outcome, Validity, examine};
use mutate::Random;
use ssh_key::private::{Ed25519Keypair, PrivateKey};

fn data(name: &str) -> Vec<u8> {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data")
        .join(name);
    fs::read(path).unwrap()
}

/// Runs one target on mutations of its samples until its time is over.
fn fuzz(target: &str, samples: &[Vec<u8>], mut check: impl FnMut(&[u8], &[u8])) {
    let seconds = std::env::var("BRAKECORNER_FUZZ_SECONDS")
        .ok()
        .and_then(|text| text.parse().ok())
        .unwrap_or(1);
    let seed = std::env::var("BRAKECORNER_FUZZ_SEED")
        .ok()
        .and_then(|text| text.parse().ok())
        .unwrap_or_else(|| u64::from(std::process::id()) ^ 0x9e37_79b9_7f4a_7c15);
    println!("{target}: seed {seed}");
    let mut random = Random::new(seed);
    let start = Instant::now();
    let (mut inputs, mut slowest) = (0u64, Duration::ZERO);
    while start.elapsed() < Duration::from_secs(seconds) {
        let sample = &samples[random.below(samples.len())];
        let input = mutate::mutate(sample, samples, &mut random);
        let began = Instant::now();
        check(sample, &input);
        slowest = slowest.max(began.elapsed());
        inputs += 1;
    }
    println!("{target}: {inputs} inputs, the slowest took {slowest:?}");
    assert!(inputs > 0);
    assert!(
        slowest < Duration::from_secs(20),
        "an input took {slowest:?}"
    );
}

#[test]
fn records() {
    let samples =
        ["record-1.json", "record-2.json"].map(|name| data(&format!("records/v1/{name}")));
    let samples: Vec<Vec<u8>> = samples.into_iter().collect();
    let key = PrivateKey::from(Ed25519Keypair::from_seed(&[3; 32]));
    let public = SignerKey::try_from(key.public_key()).unwrap();
    let signers = format!("* {}\n", public.to_openssh());
    let signers = Signers::parse("signers", signers.as_bytes()).unwrap();
    let original = data("records/v1/record-1.json.sig");
    let cache = SpecsCache::default();
    fuzz("records", &samples, |sample, input| {
        let old = Beside {
            signature: Some(&original),
            signers: Some(&signers),
            ..Beside::default()
        };
        let found = examine(input, &old).verification;
        assert_ne!(
            found.validity(),
            Validity::Valid,
            "the stranger's key is no signer's"
        );
        // Signed anew, so that the stages behind the signature see it too.
        let armour = sshsig::sign(input, NAMESPACE, &key).unwrap();
        let resigned = Beside {
            signature: Some(armour.as_bytes()),
            cache: Some(&cache),
            ..old
        };
        let found = examine(input, &resigned).verification;
        assert_eq!(found.stages.len(), 7);
        if let Ok(copy) = redact(input) {
            // What can be copied is JSON; the copy of a readable record is readable.
            let readable = serde_json::from_slice::<ReadRecord>(input).is_ok();
            if readable && input == sample {
                assert!(serde_json::from_slice::<ReadRecord>(&copy).is_ok());
            }
        }
    });
}

/// Events are changed and the chain is made anew, as a forger who knows the format would: so folding
/// and judging see hostile values too.
#[test]
fn judged_records() {
    let samples = [
        data("records/v1/record-1.json"),
        data("records/v1/record-2.json"),
    ];
    let events: Vec<Vec<u8>> = samples.iter().flat_map(|record| events(record)).collect();
    let key = PrivateKey::from(Ed25519Keypair::from_seed(&[3; 32]));
    let cache = SpecsCache::default();
    let mut random = Random::new(u64::from(std::process::id()));
    let mut judged = 0u64;
    fuzz("judged records", &events, |_, event| {
        let record = &samples[random.below(samples.len())];
        let Some(forged) = forge(record, event, &mut random) else {
            return;
        };
        let armour = sshsig::sign(&forged, NAMESPACE, &key).unwrap();
        let beside = Beside {
            signature: Some(armour.as_bytes()),
            cache: Some(&cache),
            ..Beside::default()
        };
        let found = examine(&forged, &beside).verification;
        let stage = |name: &str| {
            found
                .stages
                .iter()
                .find(|stage| stage.stage == name)
                .unwrap()
        };
        judged += u64::from(stage("journal").outcome == Outcome::Good);
    });
    println!("judged records: {judged} came as far as being judged");
    assert!(judged > 0);
}

/// The events of a record's journal, each as its text.
fn events(record: &[u8]) -> Vec<Vec<u8>> {
    let record: ReadRecord = serde_json::from_slice(record).unwrap();
    let event = |line: &str| {
        let start = line.find(",\"event\":").unwrap() + 9;
        line.as_bytes()[start..line.rfind(",\"sum\":").unwrap()].to_vec()
    };
    record.journal.iter().map(event).collect()
}

/// Puts an event into a record's journal, in place of another or between two, and makes the chain
/// anew; `None` if the event is no JSON.
fn forge(record: &[u8], event: &[u8], random: &mut Random) -> Option<Vec<u8>> {
    let event: Box<serde_json::value::RawValue> = serde_json::from_slice(event).ok()?;
    let text = std::str::from_utf8(record).ok()?;
    let mut all = events(record);
    let at = random.below(all.len());
    let new = event.get().as_bytes().to_vec();
    if random.below(2) == 0 {
        all[at] = new;
    } else {
        all.insert(at, new);
    }
    let mut prev = "0".repeat(64);
    let mut lines = Vec::new();
    for (seq, event) in (1..).zip(&all) {
        let event = std::str::from_utf8(event).ok()?;
        let body = format!(
            "{{\"v\":1,\"seq\":{seq},\"at\":\"2026-03-02T09:00:00+00:00\",\"by\":\"Ilse Varga\",\"prev\":\"{prev}\",\"event\":{event}"
        );
        let line = format!(
            "{body},\"sum\":\"{}\"}}",
            journal::sha256_hex(body.as_bytes())
        );
        prev = journal::sha256_hex(line.as_bytes());
        lines.push(line);
    }
    let start = text.find("\n  \"journal\": [\n")?;
    let forged = format!(
        "{}\n  \"journal\": [\n    {}\n  ]\n}}\n",
        &text[..start],
        lines.join(",\n    ")
    );
    Some(forged.into_bytes())
}

#[test]
fn signatures() {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/data/signatures");
    let mut samples: Vec<Vec<u8>> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "sig"))
        .map(|path| fs::read(path).unwrap())
        .collect();
    samples.sort();
    let message = data("signatures/message");
    let good = data("signatures/accepted-stock-sha512.sig");
    let meaning = sshsig::parse(&good).unwrap();
    fuzz("signatures", &samples, |_, input| {
        if sshsig::verify(&message, NAMESPACE, input).is_ok() {
            let parsed = sshsig::parse(input).unwrap();
            // Spelled differently it may be, but the key is the one that signed.
            assert_eq!(parsed.claimed_key(), meaning.claimed_key());
        }
    });
}

#[test]
fn signers_and_revocations() {
    let mut samples = vec![data("records/v1/signers")];
    samples.push(
        b"SSHKRL\n\0\0\0\0\x01\0\0\0\0\0\0\0\x01\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0"
            .to_vec(),
    );
    samples
        .push(b"a,b*,!c namespaces=\"x,y\",valid-before=\"20300101Z\" ssh-ed25519 AAAA\n".to_vec());
    fuzz("signers and revocations", &samples, |_, input| {
        if let Ok(signers) = Signers::parse("signers", input) {
            for line in signers.lines() {
                // What is rendered reads back as the same line.
                if let Ok(text) = line.render() {
                    let again = Signers::parse("again", text.as_bytes()).unwrap();
                    assert_eq!(again.lines()[0].key, line.key);
                    assert_eq!(again.lines()[0].principals, line.principals);
                }
            }
        }
        let _ = Revoked::parse("revoked", input);
    });
}

#[test]
fn time_stamps() {
    let reply = data("signatures/stamp/reply.tsr");
    let pem = data("signatures/stamp/ca.pem");
    let samples = vec![reply, data("signatures/stamp/request.tsq")];
    fuzz("time-stamps", &samples, |_, input| {
        assert!(stamp::check(input, None, b"other bytes", &pem).is_err());
        let _ = stamp::check(&samples[0], Some(input), b"other bytes", &pem);
    });
}

#[test]
fn journals() {
    let record: ReadRecord = serde_json::from_slice(&data("records/v1/record-2.json")).unwrap();
    let samples = vec![record.journal.text().as_bytes().to_vec()];
    let whole = journal::read(&samples[0]);
    fuzz("journals", &samples, |sample, input| {
        let found = journal::read(input);
        let entries = &found.entries;
        // Never more than a beginning of what was written.
        assert!(entries.len() <= whole.entries.len() || input.len() > sample.len());
        let same = entries.iter().zip(&whole.entries).all(|(a, b)| a == b);
        assert!(same, "an entry changed and was not noticed");
        let _ = found.fold();
    });
}
