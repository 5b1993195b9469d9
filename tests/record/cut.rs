//! A journal that has lost whole lines is a good journal by itself; the signed record beside it
//! knows better, and every command that opens the job says so.

use super::*;

/// A signed job whose journal has lost its last lines.
fn cut(lines: usize) -> (Yard, String) {
    let yard = Yard::demo();
    let path = yard.path("jobs/HWY-0411/journal.jsonl");
    let whole = yard.journal("HWY-0411");
    let left: String = whole[..whole.len() - lines]
        .iter()
        .map(|line| format!("{line}\n"))
        .collect();
    std::fs::write(path, &left).unwrap();
    (yard, left)
}

fn journal(yard: &Yard) -> String {
    std::fs::read_to_string(yard.path("jobs/HWY-0411/journal.jsonl")).unwrap()
}

#[test]
fn commands_that_read_a_job_warn_that_signed_entries_are_gone() {
    // The signature's own entry stands behind what the record holds.
    let (yard, _) = cut(4);
    for (args, code) in [
        (&["verdict", "HWY-0411"][..], 1),
        (&["sheet", "HWY-0411"], 0),
        (&["quote", "HWY-0411"], 0),
    ] {
        let said = yard.run(args).ends(code);
        assert!(
            said.err.contains("record-2.json")
                && said.err.contains("missing at its end: 3")
                && said.err.contains("backup"),
            "{args:?}: {}",
            said.err
        );
    }
    let page = yard.run(&["sheet", "HWY-0411"]).ends(0).out;
    assert!(
        page.contains("! Entries that were signed in revision 2 are missing from this job."),
        "{page}"
    );
}

#[test]
fn commands_that_write_refuse_a_job_whose_signed_entries_are_gone() {
    let (yard, left) = cut(2);
    for args in [
        &["log", "HWY-0411", "RL", "hose", "sound"][..],
        &["walk", "HWY-0411"],
        &["sign", "HWY-0411", "--as-found"],
        &["quote", "HWY-0411", "--add", "wiper blades=12.00"],
    ] {
        let said = yard.run(args).ends(2);
        assert!(
            said.err.contains("record-2.json") && said.err.contains("missing at its end: 1"),
            "{args:?}: {}",
            said.err
        );
        assert_eq!(journal(&yard), left, "{args:?}");
    }
}

#[test]
fn a_journal_cut_and_written_on_by_another_program_is_noticed_too() {
    let (yard, left) = cut(2);
    // As somebody would who takes the records away, writes, and puts them back.
    let folder = yard.path("jobs/HWY-0411");
    let away = yard.root().join("record-2.json");
    std::fs::rename(folder.join("record-2.json"), &away).unwrap();
    for _ in 0..3 {
        yard.run(&["log", "HWY-0411", "RL", "hose", "sound"])
            .ends(0);
    }
    std::fs::rename(&away, folder.join("record-2.json")).unwrap();
    assert!(journal(&yard).len() > left.len());
    let said = yard.run(&["verdict", "HWY-0411"]);
    assert!(
        said.err.contains("is not the one that") && said.err.contains("record-2.json"),
        "{}",
        said.err
    );
    yard.run(&["log", "HWY-0411", "RL", "hose", "sound"])
        .ends(2);
}

#[test]
fn a_whole_journal_with_its_records_says_nothing() {
    let yard = Yard::demo();
    for job in ["HWY-0411", "HWY-0417", "HWY-0423", "HWY-0429"] {
        let said = yard.run(&["verdict", job]);
        assert_eq!(said.err, "", "{job}");
    }
    yard.run(&["log", "HWY-0411", "RL", "hose", "sound"])
        .ends(0);
    assert_eq!(yard.run(&["verdict", "HWY-0411"]).err, "");
}
