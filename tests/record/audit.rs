//! What whole workshops say: removed, replaced, doubled, revoked, newer.

use std::fs;

use super::common::Yard;
use super::{file, problems, read, sign, signed};

/// Three revisions.
fn three() -> Yard {
    let yard = signed();
    sign(&yard).ends(0);
    sign(&yard).ends(0);
    yard
}

#[test]
fn a_whole_workshop_is_good_and_an_empty_one_has_nothing_to_audit() {
    let yard = three();
    assert_eq!(problems(&yard, &[]), Vec::<String>::new());
    assert_eq!(problems(&yard, &["--threads", "1"]), Vec::<String>::new());
    assert_eq!(problems(&yard, &["--signatures"]), Vec::<String>::new());
    let said = yard.run(&["audit"]).ends(0);
    assert!(
        said.out.contains("3 records of 1 jobs: 3 valid"),
        "{}",
        said.out
    );
    let said = Yard::with_job().run(&["audit"]).ends(2);
    assert!(said.err.contains("no signed record"), "{}", said.err);
}

#[test]
fn a_look_at_signatures_alone_finds_bad_signatures_and_revoked_keys() {
    let yard = three();
    let path = file(&yard, "record-2.json");
    let text = read(path.clone());
    fs::write(&path, text.replacen("INCOMPLETE", "PASS", 1)).unwrap();
    assert_eq!(problems(&yard, &["--signatures"]), ["signature"]);
    fs::write(&path, &text).unwrap();
    yard.run(&["key", "revoke", "Ilse Varga"]).ends(0);
    assert_eq!(problems(&yard, &["--signatures"]), ["revoked"; 3]);
}

#[test]
fn a_removed_record_is_missed_by_the_journal_the_revisions_and_the_row() {
    let yard = three();
    fs::remove_file(file(&yard, "record-2.json")).unwrap();
    let mut found = problems(&yard, &[]);
    found.sort();
    assert_eq!(found, ["gap", "removed", "revisions"]);
    let said = yard.run(&["verify", "T-1"]).ends(1);
    assert!(
        said.out.contains("was signed and is missing"),
        "{}",
        said.out
    );
}

#[test]
fn the_last_record_removed_is_missed_by_the_journal_and_the_computer_that_signed() {
    let yard = three();
    fs::remove_file(file(&yard, "record-3.json")).unwrap();
    let mut found = problems(&yard, &[]);
    found.sort();
    assert_eq!(found, ["gap", "removed"]);
}

/// Nothing in the workshop names it any more; the computer that signed it remembers.
#[test]
fn the_last_record_removed_with_its_job_is_missed_by_the_computer_that_signed() {
    let yard = signed();
    open_second(&yard);
    yard.run(&["sign", "T-2", "--as-found", "--incomplete", "x"])
        .ends(0);
    assert_eq!(problems(&yard, &[]), Vec::<String>::new());
    fs::remove_dir_all(yard.path("jobs/T-2")).unwrap();
    assert_eq!(problems(&yard, &[]), ["gap"]);
    let said = yard.run(&["audit"]).ends(1);
    assert!(
        said.out.contains(
            "signed number 2 last, and it is gone; the records of the row end at number 1"
        ),
        "{}",
        said.out
    );
    // Signing on does not heal it: the row goes on behind the gap.
    sign(&yard).ends(0);
    assert_eq!(problems(&yard, &[]), ["gap"]);
    // On another computer nobody remembers the end of a row; here the job's journal tells.
    fs::remove_file(file(&yard, "record-2.json")).unwrap();
    fs::remove_dir_all(yard.root().join("config/rows")).unwrap();
    assert_eq!(problems(&yard, &[]), ["removed"]);
}

#[test]
fn a_row_that_does_not_read_is_said_and_hinders_no_audit() {
    let yard = signed();
    fs::write(yard.root().join("config/rows/ilse-varga.json"), "{").unwrap();
    let said = yard.run(&["audit"]).ends(0);
    assert!(
        said.err
            .contains("how far the row of key `ilse-varga` goes on this computer is not known"),
        "{}",
        said.err
    );
}

fn open_second(yard: &Yard) {
    yard.run(&[
        "job",
        "open",
        "T-2",
        "--vin",
        "A0ZDL07V7NK001122",
        "--odometer",
        "84120",
        "--class",
        "N1",
    ])
    .ends(0);
}

#[test]
fn a_whole_job_removed_leaves_a_gap() {
    let yard = signed();
    open_second(&yard);
    yard.run(&["sign", "T-2", "--as-found", "--incomplete", "x"])
        .ends(0);
    fs::remove_dir_all(yard.path("jobs/T-1")).unwrap();
    assert_eq!(problems(&yard, &[]), ["gap"]);
}

#[test]
fn a_record_replaced_by_another_valid_one_is_found() {
    let yard = signed();
    let rows = yard.root().join("config/rows/ilse-varga.json");
    let before = read(rows.clone());
    let journal = fs::read(file(&yard, "journal.jsonl")).unwrap();
    sign(&yard).ends(0);
    let second = fs::read(file(&yard, "record-2.json")).unwrap();
    // Sign another second revision after winding journal and row back.
    for name in [
        "record-2.json",
        "record-2.json.sig",
        "record-2.json.redacted.sig",
    ] {
        fs::remove_file(file(&yard, name)).unwrap();
    }
    let after = fs::read(file(&yard, "journal.jsonl")).unwrap();
    fs::write(file(&yard, "journal.jsonl"), &journal).unwrap();
    fs::write(&rows, before).unwrap();
    std::thread::sleep(std::time::Duration::from_millis(1100));
    sign(&yard).ends(0);
    assert_ne!(fs::read(file(&yard, "record-2.json")).unwrap(), second);
    // The journal as it was tells of the first.
    fs::write(file(&yard, "journal.jsonl"), after).unwrap();
    assert_eq!(problems(&yard, &[]), ["replaced"]);
}

#[test]
fn a_number_given_twice_is_found() {
    let yard = signed();
    let rows = yard.root().join("config/rows/ilse-varga.json");
    let before = read(rows.clone());
    sign(&yard).ends(0);
    fs::write(&rows, before).unwrap();
    sign(&yard).ends(0);
    assert_eq!(problems(&yard, &[]), ["doubled"]);
}

#[test]
fn a_key_used_in_two_workshops_has_a_gap_only_if_one_is_left_out() {
    let yard = signed();
    let run = |args: &[&str]| {
        let mut all = vec!["--shop", "other", "--by", "Ilse Varga"];
        all.extend(args);
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_brakecorner"));
        command
            .args(&all)
            .env_clear()
            .env("BRAKECORNER_CONFIG", yard.root().join("config"))
            .current_dir(yard.root());
        super::common::Said::from(command.output().unwrap())
    };
    yard.run(&["init", "other", "--name", "Other Yard"]).ends(0);
    let public = yard.root().join("config/keys/ilse-varga.pub");
    run(&[
        "key",
        "trust",
        public.to_str().unwrap(),
        "--name",
        "Ilse Varga",
    ])
    .ends(0);
    run(&[
        "job",
        "open",
        "O-1",
        "--vin",
        "A0ZDL07V7NK001122",
        "--odometer",
        "84120",
        "--class",
        "N1",
    ])
    .ends(0);
    run(&["sign", "O-1", "--as-found", "--incomplete", "x"]).ends(0);
    sign(&yard).ends(0);
    assert_eq!(problems(&yard, &["shop"]), ["gap"]);
    assert_eq!(problems(&yard, &["other"]), ["gap"]);
    assert_eq!(problems(&yard, &["shop", "other"]), Vec::<String>::new());
    // A workshop named twice is not two.
    assert_eq!(
        problems(&yard, &["shop", "other", "shop"]),
        Vec::<String>::new()
    );
}

#[test]
fn a_journal_changed_after_signing_is_found_although_the_record_is_valid() {
    let yard = signed();
    let path = file(&yard, "journal.jsonl");
    let text = read(path.clone());
    fs::write(&path, text.replacen("84120", "84121", 1)).unwrap();
    yard.run(&["verify", "T-1"]).ends(0);
    let found = problems(&yard, &[]);
    assert!(found.contains(&"journal_changed".to_owned()), "{found:?}");
}

#[test]
fn a_journal_longer_than_any_record_is_named_and_not_read() {
    let yard = signed();
    let path = file(&yard, "journal.jsonl");
    let big = fs::OpenOptions::new().write(true).open(path).unwrap();
    big.set_len(3 << 30).unwrap();
    let said = yard.run(&["audit"]).ends(1);
    assert!(
        said.out
            .contains("3221225472 bytes long, the limit is 134217728"),
        "{}",
        said.out
    );
}

#[test]
fn a_record_in_another_jobs_folder_is_found() {
    let yard = signed();
    fs::rename(yard.path("jobs/T-1"), yard.path("jobs/T-9")).unwrap();
    assert_eq!(problems(&yard, &[]), ["misplaced"]);
}

#[test]
fn a_record_of_a_newer_version_is_said_to_be_newer_and_not_bad() {
    let yard = signed();
    let path = file(&yard, "record-1.json");
    let text = read(path.clone()).replacen("\"version\": 1", "\"version\": 2", 1);
    fs::write(&path, &text).unwrap();
    // The signature is still looked at, and this one is over other bytes.
    let said = yard.run(&["verify", "T-1"]).ends(1);
    assert!(said.out.contains("NOT VALID"), "{}", said.out);
    let key = brakecorner::shop::keys::KeyFolder::new(&yard.root().join("config"))
        .load("ilse-varga", None)
        .unwrap();
    let armour = brakecorner::record::sshsig::sign(
        text.as_bytes(),
        brakecorner::record::sshsig::NAMESPACE,
        &key,
    )
    .unwrap();
    fs::write(file(&yard, "record-1.json.sig"), armour).unwrap();
    let said = yard.run(&["verify", "jobs/T-1/record-1.json"]);
    drop(said);
    let path = path.to_str().unwrap().to_owned();
    let said = yard.run(&["verify", &path]).ends(1);
    assert!(said.out.contains("NEWER than this program"), "{}", said.out);
    assert!(!said.out.contains("BAD"), "{}", said.out);
    let value = yard.run(&["verify", &path, "--json"]).ends(1).json();
    assert_eq!(value["records"][0]["validity"], "newer");
    let value = yard.run(&["audit", "--json"]).ends(1).json();
    assert_eq!(value["records_newer"], 1);
}

#[cfg(unix)]
#[test]
fn links_and_pipes_in_a_jobs_folder_are_named_and_never_opened() {
    let yard = three();
    let elsewhere = yard.root().join("elsewhere.json");
    fs::rename(file(&yard, "record-3.json"), &elsewhere).unwrap();
    std::os::unix::fs::symlink(&elsewhere, file(&yard, "record-3.json")).unwrap();
    assert_eq!(problems(&yard, &[]), ["not_plain"]);
    let said = yard.run(&["verify", "T-1"]).ends(2);
    assert!(
        said.err.contains("record-3.json` is a symbolic link"),
        "{}",
        said.err
    );
    fs::remove_file(file(&yard, "record-3.json")).unwrap();
    let made = std::process::Command::new("mkfifo")
        .arg(file(&yard, "record-3.json"))
        .status();
    if made.is_ok_and(|status| status.success()) {
        let said = yard.run(&["verify", "T-1"]).ends(2);
        assert!(said.err.contains("is not a plain file"), "{}", said.err);
        assert_eq!(problems(&yard, &[]), ["not_plain"]);
    }
}
