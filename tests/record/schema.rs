//! The record's JSON Schema: current, and of the same opinion as the reader, as far as it can be.

use std::fs;
use std::path::PathBuf;

use brakecorner::record::schema::schema;

use super::common::Yard;

fn path() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("docs/record.schema.json")
}

/// Run with `BRAKECORNER_UPDATE=1` to write the file anew after the types have changed.
#[test]
fn the_schema_in_docs_is_the_one_the_types_make() {
    let text = format!("{:#}\n", schema());
    if std::env::var_os("BRAKECORNER_UPDATE").is_some() {
        fs::write(path(), &text).unwrap();
    }
    assert_eq!(fs::read_to_string(path()).unwrap(), text);
}

/// Every record of the demonstration, the mail van's first.
fn records(yard: &Yard) -> Vec<PathBuf> {
    let mut jobs: Vec<PathBuf> = fs::read_dir(yard.path("jobs"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    jobs.sort();
    let numbered = |job: &PathBuf| {
        let job = job.clone();
        (1..)
            .map(move |n| job.join(format!("record-{n}.json")))
            .take_while(|path| path.exists())
    };
    let records: Vec<PathBuf> = jobs.iter().flat_map(numbered).collect();
    assert!(records.len() >= 2, "{records:?}");
    records
}

/// The outside authority: jsonschema of PyPI.
#[test]
#[ignore = "needs Python's jsonschema; tests/run provides it"]
fn an_outside_validator_accepts_our_records_and_refuses_broken_ones() {
    let yard = Yard::demo();
    yard.run(&["record", "redact", "HWY-0411", "-o", "copy.json"])
        .ends(0);
    let python = std::env::var_os("BRAKECORNER_PYTHON").unwrap_or_else(|| "python3".into());
    let script = r#"
import copy, json, sys
from jsonschema import Draft202012Validator
schema = json.load(open(sys.argv[1]))
Draft202012Validator.check_schema(schema)
validator = Draft202012Validator(schema)
records = [json.load(open(name)) for name in sys.argv[2:]]
for name, record in zip(sys.argv[2:], records):
    errors = list(validator.iter_errors(record))
    assert not errors, (name, errors[0].json_path, errors[0].message[:300])
def breaks(what, change):
    broken = copy.deepcopy(records[0])
    change(broken)
    assert not validator.is_valid(broken), what
def put(key, value):
    return lambda r: r.__setitem__(key, value)
breaks("another format", put("format", "receipt"))
breaks("another version", put("version", 2))
breaks("a field nobody knows", put("extra", 1))
breaks("revision as text", put("revision", "1"))
breaks("a digest too short", put("previous_revision", "ab"))
breaks("an unknown stage", put("stage", "draft"))
breaks("no journal", lambda r: r.pop("journal"))
breaks("no signer", lambda r: r.pop("signer"))
breaks("a line without checksum", lambda r: r["journal"][0].pop("sum"))
breaks("an unknown event", lambda r: r["journal"][0]["event"].__setitem__("kind", "hologram"))
breaks("an unknown verdict", lambda r: r["judgement"].__setitem__("verdict", "FINE"))
breaks("a finding without its sentence", lambda r: r["judgement"]["vehicle"]["items"][0].pop("sentence"))
breaks("a reading without value", lambda r: next(
    l["event"] for l in r["journal"] if l["event"]["kind"] == "reading").pop("value"))
breaks("an unknown item", lambda r: next(
    l["event"] for l in r["journal"] if l["event"]["kind"] == "reading").__setitem__("item", "ashtray"))
breaks("a time that is no text", put("signed_at", 5))
breaks("a specification without digest", lambda r: r["specifications"]["sheet"].pop("sha256"))
print("good")
"#;
    let output = std::process::Command::new(python)
        .args(["-c", script])
        .arg(path())
        .args(records(&yard))
        .arg(yard.root().join("copy.json"))
        .output()
        .unwrap();
    let err = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(
        String::from_utf8_lossy(&output.stdout).trim(),
        "good",
        "{err}"
    );
}
