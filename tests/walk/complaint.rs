//! A complaint in words sets its symptom.

use crate::common::{Said, Yard};

fn open(yard: &Yard, more: &[&str]) -> Said {
    let mut args = vec![
        "job",
        "open",
        "T-2",
        "--vin",
        "A0ZDL07V7NK001122",
        "--odometer",
        "84200",
        "--class",
        "N1",
    ];
    args.extend(more);
    yard.run(&args)
}

fn opening(yard: &Yard) -> serde_json::Value {
    serde_json::from_str::<serde_json::Value>(&yard.journal("T-2")[0]).unwrap()["event"].clone()
}

#[test]
fn a_complaint_in_words_sets_its_symptom_and_says_so() {
    for (complaint, symptom) in [
        ("steering wheel shakes at 80", "judder"),
        ("vibrates when braking", "judder"),
        ("pulls to the left", "pull"),
        ("no judder since the last visit", "judder"),
        ("Bremse quietscht", "squeal"),
    ] {
        let yard = Yard::with_job();
        let said = open(&yard, &["--complaint", complaint]).ends(0);
        assert!(
            said.err
                .contains(&format!("taken as {symptom}, from words")),
            "{}",
            said.err
        );
        let opening = opening(&yard);
        assert_eq!(opening["symptoms"], serde_json::json!([symptom]));
        assert_eq!(opening["from_words"], serde_json::json!([symptom]));
    }
}

#[test]
fn a_symptom_that_was_named_is_not_from_words_and_none_refuses_them() {
    let yard = Yard::with_job();
    open(&yard, &["--complaint", "it judders", "--symptom", "judder"]).ends(0);
    assert_eq!(opening(&yard)["symptoms"], serde_json::json!(["judder"]));
    assert_eq!(opening(&yard)["from_words"], serde_json::Value::Null);
    let yard = Yard::with_job();
    let said = open(&yard, &["--complaint", "no judder", "--symptom", "none"]).ends(0);
    assert!(!said.err.contains("taken as"), "{}", said.err);
    assert_eq!(opening(&yard)["symptoms"], serde_json::Value::Null);
    let journal = yard.journal("T-2").join("\n");
    assert!(journal.contains("answered: --symptom none"), "{journal}");
    let yard = Yard::with_job();
    open(&yard, &["--symptom", "none", "--symptom", "judder"]).ends(2);
    open(&yard, &["--symptom", "wobble"]).ends(2);
    assert!(!yard.path("jobs/T-2").exists());
}

#[test]
fn judder_in_words_makes_a_quick_inspection_full() {
    let yard = Yard::with_job();
    open(&yard, &["--complaint", "shakes", "--depth", "quick"]).ends(0);
    let verdict = yard.run(&["verdict", "T-2", "--json"]).json();
    assert_eq!(verdict["depth"], "full");
}

#[test]
fn a_workshop_adds_words_of_its_own_and_a_list_that_does_not_read_is_named() {
    let yard = Yard::with_job();
    std::fs::create_dir_all(yard.path("specs/words")).unwrap();
    let list = yard.path("specs/words/dialect.toml");
    std::fs::write(
        &list,
        "language = \"x\"\n[symptoms]\njudder = [\"hotters\"]\n",
    )
    .unwrap();
    open(&yard, &["--complaint", "it hotters"]).ends(0);
    assert_eq!(opening(&yard)["symptoms"], serde_json::json!(["judder"]));
    let yard = Yard::with_job();
    std::fs::create_dir_all(yard.path("specs/words")).unwrap();
    std::fs::write(yard.path("specs/words/x.toml"), "language = 3\n").unwrap();
    let said = open(&yard, &["--complaint", "it hotters"]).ends(2);
    assert!(said.err.contains("specs/words/x.toml"), "{}", said.err);
}
