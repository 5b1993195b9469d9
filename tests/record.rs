//! Signed records as a whole: signing, checking, auditing, handing on, and every way to cheat.
#![allow(clippy::unwrap_used, clippy::panic)]

mod common;

#[path = "record/attack.rs"]
mod attack;
#[path = "record/audit.rs"]
mod audit;
#[path = "record/cut.rs"]
mod cut;
#[path = "record/every_byte.rs"]
mod every_byte;
#[path = "record/handing_on.rs"]
mod handing_on;
#[path = "record/keys.rs"]
mod keys;
#[path = "record/photos.rs"]
mod photos;
#[path = "record/private.rs"]
mod private;
#[cfg(unix)]
#[path = "record/progress.rs"]
mod progress;
#[path = "record/schema.rs"]
mod schema;
#[path = "record/signing.rs"]
mod signing;
#[path = "record/small.rs"]
mod small;
#[path = "record/stored.rs"]
mod stored;

use std::fs;
use std::path::PathBuf;

use common::{Said, Yard};

/// Signs job T-1 although next to nothing was done on it.
fn sign(yard: &Yard) -> Said {
    yard.run(&["sign", "T-1", "--as-found", "--incomplete", "only a test"])
}

/// A workshop with job T-1, signed once.
fn signed() -> Yard {
    let yard = Yard::with_job();
    sign(&yard).ends(0);
    yard
}

/// A file of job T-1.
fn file(yard: &Yard, name: &str) -> PathBuf {
    yard.path(&format!("jobs/T-1/{name}"))
}

/// The stages of a record that are bad, as `verify --json` names them.
fn bad_stages(yard: &Yard, what: &str) -> Vec<String> {
    let said = yard.run(&["verify", what, "--json"]);
    let value = said.json();
    let stages = value["records"].as_array().unwrap().iter().flat_map(|row| {
        let stages = row["check"]["stages"].as_array().unwrap().clone();
        stages.into_iter().filter(|stage| stage["outcome"] == "bad")
    });
    stages
        .map(|stage| stage["stage"].as_str().unwrap().to_owned())
        .collect()
}

/// Kinds of the problems an audit finds.
fn problems(yard: &Yard, args: &[&str]) -> Vec<String> {
    let mut all = vec!["audit", "--json"];
    all.extend(args);
    let said = yard.run(&all);
    let value = said.json();
    let kinds: Vec<String> = value["problems"]
        .as_array()
        .unwrap_or_else(|| panic!("{said:?}"))
        .iter()
        .map(|problem| problem["kind"].as_str().unwrap().to_owned())
        .collect();
    assert_eq!(said.code, Some(i32::from(!kinds.is_empty())), "{said:?}");
    kinds
}

/// Adds an event to job T-1's journal as another program would.
fn append(yard: &Yard, event: brakecorner::job::Event) {
    let (mut journal, _) =
        brakecorner::shop::journal::Journal::open(&file(yard, "journal.jsonl")).unwrap();
    let at = "2026-03-02T09:00:00+00:00".parse().unwrap();
    journal.append(at, "Ilse Varga", &[event]).unwrap();
}

/// Makes a key for a second person and lets its owner sign.
fn second_person(yard: &Yard, name: &str) {
    let config = yard.root().join(format!("config-{}", name.len()));
    let keys = brakecorner::shop::keys::KeyFolder::new(&config);
    let key = keys
        .create("made", name, None, &mut ssh_key::rand_core::OsRng)
        .unwrap();
    yard.run(&["key", "import", key.path.to_str().unwrap(), "--by", name])
        .ends(0);
}

/// A file's text.
fn read(path: PathBuf) -> String {
    fs::read_to_string(path).unwrap()
}
