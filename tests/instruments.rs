//! The register of instruments as its keeper uses it: checks, repeat studies, recalls.

#![allow(clippy::unwrap_used)] // helpers of tests stand outside test functions

mod common;

use std::process::Stdio;

use common::{Yard, typed_found};

fn register(yard: &Yard) -> toml::Table {
    std::fs::read_to_string(yard.path("instruments.toml"))
        .unwrap()
        .parse()
        .unwrap()
}

#[test]
fn a_check_outside_a_job_is_kept_with_day_and_person_and_judged() {
    let yard = Yard::with_job();
    let good = yard
        .run(&["instrument", "check", "HW-M1", "0.001", "0.000", "-0.001"])
        .ends(0);
    assert!(
        good.out.contains("zero error 0.0000 mm, spread 0.0020 mm"),
        "{}",
        good.out
    );
    let bad = yard
        .run(&[
            "instrument",
            "check",
            "HW-M1",
            "0.006",
            "0.005",
            "--after-drop",
        ])
        .ends(1);
    assert!(
        bad.out.contains("(after a drop): zero error 0.0055 mm"),
        "{}",
        bad.out
    );
    assert!(
        bad.err.contains("instrument recall HW-M1 --error 0.0055"),
        "{}",
        bad.err
    );
    let kept = &register(&yard)["check"];
    let rows = kept.as_array().unwrap();
    assert_eq!(rows.len(), 2);
    assert_eq!(rows[1]["by"].as_str(), Some("Ilse Varga"));
    assert_eq!(rows[1]["occasion"].as_str(), Some("after_drop"));
    assert_eq!(rows[1]["good"].as_bool(), Some(false));
    assert_eq!(
        rows[1]["readings"].as_array().unwrap()[0].as_str(),
        Some("0.006")
    );
    assert!(rows[1]["at"].as_str().unwrap().starts_with("20"));
    let list = yard.run(&["instrument", "list"]).ends(0);
    assert!(list.out.contains("NOT good"), "{}", list.out);
}

#[test]
fn a_check_asks_for_its_readings_and_takes_a_rod_for_standard() {
    let yard = Yard::with_job();
    yard.run(&[
        "instrument",
        "add",
        "HW-M2",
        "--kind",
        "micrometer",
        "--range",
        "25-50",
        "--resolution",
        "0.001",
    ])
    .ends(0);
    let said = yard
        .typed(
            &["instrument", "check", "HW-M2"],
            "25.001\nnonsense\n25.009\nundo\n24.999\n\n",
        )
        .ends(0);
    assert!(
        said.out.contains("on its standard of 25.000 mm"),
        "{}",
        said.out
    );
    assert!(said.out.contains("not taken"), "{}", said.out);
    assert!(
        said.out.contains("zero error 0.0000 mm, spread 0.0020 mm"),
        "{}",
        said.out
    );
    // The standard of another instrument is not one of this one.
    let said = yard.run(&["instrument", "check", "HW-M2", "0.001"]).ends(2);
    assert!(
        said.err.contains("away from the standard of 25.000 mm"),
        "{}",
        said.err
    );
    yard.run(&["instrument", "check", "HW-T1", "140"]).ends(2);
    let said = yard.run(&["instrument", "check", "HW-X"]).ends(2);
    assert!(said.err.contains("there are: HW-M1"), "{}", said.err);
}

#[test]
fn without_a_mark_check_still_lists_the_calibrations_that_have_run_out() {
    let yard = Yard::with_job();
    yard.run(&["instrument", "check"]).ends(0);
    yard.run(&[
        "instrument",
        "edit",
        "HW-M1",
        "--calibrated-until",
        "2020-01-31",
    ])
    .ends(0);
    let said = yard.run(&["instrument", "check"]).ends(1);
    assert!(said.out.contains("2020-01-31 (run out)"), "{}", said.out);
}

#[test]
fn a_repeat_study_from_a_file_gives_the_spreads_worked_by_hand_and_feeds_the_budget() {
    let yard = Yard::with_job();
    // Cells 1,3 | 5,7 µm and so on: within each cell ±1 µm, so MS_e = 2 µm² and s = 1.414 µm.
    // Parts 2 and 6 µm apart for the first person, the same for the second: no interaction, so it
    // is pooled: (0 + 8)/(1 + 4) = 1.6 µm², s = 1.265 µm, 5 degrees of freedom.
    std::fs::write(
        yard.root().join("study.csv"),
        "part,person,reading\n\
         a,Ilse Varga,22.001\na,Ilse Varga,22.003\nb,Ilse Varga,22.005\nb,Ilse Varga,22.007\n\
         a,Tom Reed,22.002\nb,Tom Reed,22.008\na,Tom Reed,22.004\nb,Tom Reed,22.006\n",
    )
    .unwrap();
    let said = yard
        .run(&[
            "instrument",
            "study",
            "HW-M1",
            "--from",
            "study.csv",
            "--json",
        ])
        .ends(0);
    let value = said.json();
    assert_eq!(value["study"]["repeatability"], "0.001265 mm");
    assert_eq!(value["study"]["degrees_of_freedom"], 5);
    assert_eq!(value["study"]["people"][1], "Tom Reed");
    // People: (2 − 1.6)/(2·2) = 0.1 µm², 0.316 µm.
    assert_eq!(value["study"]["reproducibility"], "0.000316 mm");
    let kept = register(&yard);
    let mic = &kept["instrument"].as_array().unwrap()[0];
    assert_eq!(mic["repeatability"].as_str(), Some("0.001265 mm"));
    assert_eq!(mic["repeatability_dof"].as_integer(), Some(5));
    assert_eq!(mic["reproducibility"].as_str(), Some("0.000316 mm"));
    assert_eq!(kept["study"].as_array().unwrap().len(), 1);
}

#[test]
fn the_s_of_a_study_changes_the_uncertainty_of_a_verdict() {
    let u = |yard: &Yard| {
        let value = yard.run(&["verdict", "T-1", "--json"]).json();
        let items = value["corners"]["FL"]["items"].as_array().unwrap().clone();
        let item = items
            .iter()
            .find(|item| item["item"] == "disc.thickness")
            .unwrap();
        item["u"].as_f64().unwrap()
    };
    let yard = Yard::with_job();
    yard.typed(&["walk", "T-1", "--part", "found"], &typed_found())
        .ends(0);
    let before = u(&yard);
    let rows: String = (0..6)
        .map(|n| {
            format!(
                "{},Ilse Varga,{}\n",
                n / 2,
                if n % 2 == 0 { "22.000" } else { "22.030" }
            )
        })
        .collect();
    std::fs::write(
        yard.root().join("study.csv"),
        format!("part,person,reading\n{rows}"),
    )
    .unwrap();
    yard.run(&["instrument", "study", "HW-M1", "--from", "study.csv"])
        .ends(0);
    let after = u(&yard);
    assert!(after > before + 0.01, "{before} → {after}");
}

#[test]
fn a_guided_study_is_blind_survives_being_stopped_and_goes_on() {
    let yard = Yard::with_job();
    let args = [
        "instrument",
        "study",
        "HW-M1",
        "--people",
        "Ilse Varga,Tom Reed",
        "--parts",
        "3",
        "--repeats",
        "2",
        "--seed",
        "7",
    ];
    let said = yard
        .typed(&args, "22.001\n22.002\n99\n22.009\nundo\n22.003\nquit\n")
        .ends(2);
    assert!(
        said.out.contains("1 of 12 · round 1 · Ilse Varga · part "),
        "{}",
        said.out
    );
    assert!(
        said.out.contains("outside the range of HW-M1"),
        "{}",
        said.out
    );
    assert!(said.out.contains("stopped after 3 of 12"), "{}", said.out);
    // Nothing that was read before is shown at a later prompt.
    let prompts: Vec<&str> = said.out.lines().filter(|l| l.contains("round")).collect();
    assert!(
        prompts.iter().all(|p| p.matches("22.0").count() <= 1),
        "{prompts:?}"
    );
    assert!(!register(&yard).contains_key("study"));
    let file = std::fs::read_dir(yard.path("studies"))
        .unwrap()
        .next()
        .unwrap()
        .unwrap()
        .path();
    let rest = "22.004\n22.005\n22.006\n22.001\n22.002\n22.003\n22.004\n22.005\n22.006\n";
    let said = yard
        .typed(
            &[
                "instrument",
                "study",
                "HW-M1",
                "--resume",
                file.to_str().unwrap(),
            ],
            rest,
        )
        .ends(0);
    assert!(
        said.out.contains("4 of 12 · round 1 · Tom Reed · part "),
        "{}",
        said.out
    );
    assert!(
        said.out.contains("repeatability (same hand, same part)"),
        "{}",
        said.out
    );
    assert_eq!(register(&yard)["study"].as_array().unwrap().len(), 1);
}

#[test]
fn a_study_that_is_not_balanced_says_what_is_missing() {
    let yard = Yard::with_job();
    std::fs::write(
        yard.root().join("study.csv"),
        "part,person,reading\na,X,1.0\na,X,1.0\nb,X,2.0\n",
    )
    .unwrap();
    let said = yard
        .run(&["instrument", "study", "HW-M1", "--from", "study.csv"])
        .ends(2);
    assert!(
        said.err.contains("repeats of one part by one person"),
        "{}",
        said.err
    );
    std::fs::write(yard.root().join("study.csv"), "teil,wert\n1,2\n").unwrap();
    let said = yard
        .run(&["instrument", "study", "HW-M1", "--from", "study.csv"])
        .ends(2);
    assert!(said.err.contains("no column `part`"), "{}", said.err);
}

#[test]
fn a_recall_names_the_jobs_since_the_last_good_check_and_what_would_change() {
    let yard = Yard::demo();
    let recall = |more: &[&str]| {
        let mut args = vec!["instrument", "recall", "HW-M1"];
        args.extend(more);
        yard.run(&args)
    };
    // The last job that used it began with a good zero check: only that one is in doubt.
    let said = recall(&["--error", "0.006", "--json"]).ends(1);
    let value = said.json();
    let jobs = value["jobs"].as_array().unwrap();
    assert_eq!(jobs.len(), 1);
    assert_eq!(jobs[0]["job"], "HWY-0423");
    let changes = jobs[0]["changes"].as_array().unwrap();
    // 8.0037 mm as judged with the zero error of that day; 8.005 as read, less 6 µm, is below 8.000.
    assert_eq!(changes.len(), 1);
    assert_eq!(changes[0]["place"], "RR");
    assert_eq!(changes[0]["item"], "disc.thickness");
    assert_eq!(
        (&changes[0]["before"], &changes[0]["after"]),
        (&"ADVISE".into(), &"FAIL".into())
    );
    assert!(changes[0]["value_after_mm"].as_f64().unwrap() < 8.0);
    // An error on the safe side changes nothing, but is beyond what is allowed.
    let said = recall(&["--error", "-0.020"]).ends(1);
    assert!(
        said.out.contains("stays ADVISE") && said.out.contains("more than the 0.002 mm allowed"),
        "{}",
        said.out
    );
    // All the way back, every job that used it is named.
    let said = recall(&["--error", "0.0", "--since", "2026-01-01"]);
    for job in ["HWY-0411", "HWY-0417", "HWY-0423"] {
        assert!(said.out.contains(job), "{}", said.out);
    }
    // A good check now clears it.
    yard.run(&["instrument", "check", "HW-M1", "0.000", "0.001"])
        .ends(0);
    let said = recall(&["--error", "0.006"]).ends(0);
    assert!(said.out.contains("no job used it"), "{}", said.out);
}

#[test]
fn a_recall_judges_signed_jobs_by_the_register_as_it_is() {
    let yard = Yard::demo();
    let before = || {
        let args = [
            "instrument",
            "recall",
            "HW-M1",
            "--since",
            "2026-01-01",
            "--json",
        ];
        let said = yard.run(&args).json();
        let jobs = said["jobs"].as_array().unwrap();
        let job = jobs.iter().find(|job| job["job"] == "HWY-0417").unwrap();
        job["before"].as_str().unwrap().to_owned()
    };
    assert_eq!(before(), "PASS");
    yard.run(&[
        "instrument",
        "edit",
        "HW-M1",
        "--calibrated-until",
        "2026-01-01",
    ])
    .ends(0);
    assert_eq!(before(), "ADVISE");
}

#[test]
fn a_recall_with_the_error_the_job_already_knew_changes_nothing() {
    let yard = Yard::with_job();
    yard.typed(&["walk", "T-1", "--part", "found"], &typed_found())
        .ends(0);
    // The demonstration's first line is the zero check: 0.001 mm.
    let value = yard
        .run(&[
            "instrument",
            "recall",
            "HW-M1",
            "--error",
            "0.001",
            "--json",
        ])
        .ends(0)
        .json();
    assert_eq!(value["jobs"][0]["job"], "T-1");
    assert!(value["jobs"][0]["changes"].as_array().unwrap().is_empty());
    assert!(value["beyond_allowed"].is_null());
}

#[test]
fn a_recall_says_when_a_journal_cannot_be_read() {
    let yard = Yard::demo();
    let path = yard.path("jobs/HWY-0411/journal.jsonl");
    let text = std::fs::read_to_string(&path)
        .unwrap()
        .replacen("24.308", "24.408", 1);
    std::fs::write(&path, text).unwrap();
    let said = yard
        .run(&["instrument", "recall", "HW-M1", "--error", "0.0"])
        .ends(2);
    assert!(said.err.contains("HWY-0411"), "{}", said.err);
    assert!(said.out.contains("HWY-0423"), "{}", said.out);
}

#[test]
fn an_instrument_is_edited_and_removed_but_never_from_under_a_job() {
    let yard = Yard::with_job();
    let said = yard
        .run(&[
            "instrument",
            "edit",
            "HW-D1",
            "--pattern",
            "01A{value}",
            "--baud",
            "9600",
        ])
        .ends(0);
    assert!(said.out.contains("changed HW-D1"), "{}", said.out);
    for (option, value, why) in [
        ("--pattern", "{wert}", "pattern `{wert}`"),
        ("--baud", "0", "baud `0`"),
        ("--range", "small", "range `small`"),
        ("--unit", "ell", "unit `ell`"),
    ] {
        let said = yard
            .run(&["instrument", "edit", "HW-D1", option, value])
            .ends(2);
        assert!(said.err.contains(why), "{}", said.err);
    }
    yard.run(&["instrument", "edit", "HW-D1"]).ends(2);
    yard.run(&["instrument", "remove", "HW-P1"]).ends(0);
    assert!(
        !yard
            .run(&["instrument", "list"])
            .ends(0)
            .out
            .contains("HW-P1")
    );
    yard.run(&[
        "log",
        "T-1",
        "FL",
        "bearing.float",
        "0.005",
        "--instrument",
        "HW-D1",
    ])
    .ends(0);
    let said = yard.run(&["instrument", "remove", "HW-D1"]).ends(2);
    assert!(said.err.contains("was used in T-1"), "{}", said.err);
    yard.run(&["instrument", "add", "two words", "--kind", "micrometer"])
        .ends(2);
}

#[test]
fn a_signed_record_carries_the_instruments_and_not_their_history() {
    let yard = Yard::with_job();
    yard.run(&["instrument", "check", "HW-M1", "0.000"]).ends(0);
    yard.typed(&["walk", "T-1", "--part", "found"], &typed_found())
        .ends(0);
    yard.run(&[
        "sign",
        "T-1",
        "--as-found",
        "--incomplete",
        "practice of a test",
    ]);
    let text = std::fs::read_to_string(yard.path("jobs/T-1/record-1.json")).unwrap();
    let record: serde_json::Value = serde_json::from_str(&text).unwrap();
    let fields: Vec<&String> = record["instruments"].as_object().unwrap().keys().collect();
    assert_eq!(fields, ["instrument"]);
    yard.run(&["verify", "T-1"]).ends(0);
}

/// The verdict on the end float of a corner, and its reasons.
fn end_float(yard: &Yard, corner: &str) -> (String, String) {
    let value = yard.run(&["verdict", "T-1", "--json"]).json();
    let items = value["corners"][corner]["items"]
        .as_array()
        .unwrap()
        .clone();
    let found = items
        .iter()
        .find(|one| one["item"] == "bearing.float")
        .unwrap();
    (
        found["verdict"].as_str().unwrap().to_owned(),
        found["reasons"].to_string(),
    )
}

const FLOAT: [&str; 6] = ["log", "T-1", "FL", "bearing.float", "0.005", "--confirm"];

#[test]
fn an_instrument_that_failed_its_check_passes_nothing_until_a_good_one() {
    let yard = Yard::with_job();
    yard.run(&FLOAT).ends(0);
    assert_eq!(end_float(&yard, "FL").0, "PASS");
    let a_second = || std::thread::sleep(std::time::Duration::from_millis(1100)); // times have whole ones
    a_second();
    yard.run(&["instrument", "check", "HW-D1", "0.050"]).ends(1);
    assert_eq!(end_float(&yard, "FL").0, "PASS", "read before it failed");
    yard.run(&["log", "T-1", "FR", "bearing.float", "0.005"])
        .ends(0);
    let (verdict, reasons) = end_float(&yard, "FR");
    assert_eq!(verdict, "ADVISE", "{reasons}");
    assert!(reasons.contains("HW-D1 failed its check on "), "{reasons}");
    // A good check afterwards says nothing of what was read before it.
    a_second();
    yard.run(&["instrument", "check", "HW-D1", "0.000"]).ends(0);
    assert_eq!(end_float(&yard, "FR").0, "ADVISE");
    yard.run(&["sign", "T-1", "--as-found", "--incomplete", "a test"])
        .ends(0);
    yard.run(&["verify", "T-1"]).ends(0);
}

#[test]
fn a_check_far_from_the_standard_is_kept_when_confirmed() {
    let yard = Yard::with_job();
    let said = yard.run(&["instrument", "check", "HW-D1", "0.700"]).ends(2);
    assert!(said.err.contains("--confirm"), "{}", said.err);
    assert!(register(&yard).get("check").is_none());
    yard.run(&["instrument", "check", "HW-D1", "0.700", "--confirm"])
        .ends(1);
    assert_eq!(register(&yard)["check"].as_array().unwrap().len(), 1);
}

#[test]
fn a_calibration_noted_later_makes_no_reading_good_that_was_taken_without_one() {
    let yard = Yard::with_job();
    let until = |day| yard.run(&["instrument", "edit", "HW-D1", "--calibrated-until", day]);
    until("2026-01-31").ends(0);
    yard.run(&FLOAT).ends(0);
    let (verdict, reasons) = end_float(&yard, "FL");
    assert_eq!(verdict, "ADVISE");
    assert!(reasons.contains("ended on 2026-01-31"), "{reasons}");
    until("2099-12-31").ends(0);
    let (verdict, reasons) = end_float(&yard, "FL");
    assert_eq!(verdict, "ADVISE");
    assert!(
        reasons.contains("without a calibration when it was read"),
        "{reasons}"
    );
}

#[test]
fn a_signed_job_is_shown_by_the_instruments_it_was_signed_with() {
    let yard = Yard::with_job();
    yard.typed(&["walk", "T-1", "--part", "found"], &typed_found())
        .ends(0);
    yard.run(&["sign", "T-1", "--as-found", "--incomplete", "a test"])
        .ends(0);
    let sheet = || yard.run(&["sheet", "T-1"]).out;
    let before = sheet();
    yard.run(&["instrument", "edit", "HW-M1", "--error", "0.5"])
        .ends(0);
    yard.run(&["instrument", "edit", "HW-P1", "--repeatability", "0.9"])
        .ends(0);
    assert_eq!(sheet(), before);
    // A correction is signed as it is shown.
    yard.run(&["sign", "T-1", "--as-found", "--incomplete", "again"])
        .ends(0);
    let instruments = |revision| {
        let path = yard.path(&format!("jobs/T-1/record-{revision}.json"));
        let record = std::fs::read_to_string(path).unwrap();
        let record: serde_json::Value = serde_json::from_str(&record).unwrap();
        record["instruments"].clone()
    };
    assert_eq!(instruments(2), instruments(1));
    // What is measured afterwards is measured with them as they are.
    yard.run(&[
        "log",
        "T-1",
        "FL",
        "pads.thickness",
        "inner=6.1,6.1",
        "outer=6.2,6.2",
        "--as-left",
    ]);
    assert_ne!(sheet(), before);
}

#[test]
fn a_study_from_a_file_refuses_what_the_instrument_cannot_show() {
    let yard = Yard::with_job();
    std::fs::write(
        yard.root().join("study.csv"),
        "part,person,reading\na,x,22.001\na,x,22.003\nb,x,210.1\nb,x,22.007\n",
    )
    .unwrap();
    let said = yard
        .run(&["instrument", "study", "HW-M1", "--from", "study.csv"])
        .ends(2);
    assert!(
        said.err.contains("`210.1` is outside the range"),
        "{}",
        said.err
    );
    assert!(register(&yard).get("study").is_none());
}

#[test]
fn checks_made_by_many_at_once_are_all_kept() {
    let yard = Yard::with_job();
    let children: Vec<_> = (0..8)
        .map(|_| {
            yard.command(&["instrument", "check", "HW-M1", "0.001"])
                .stdin(Stdio::null())
                .stdout(Stdio::null())
                .spawn()
                .unwrap()
        })
        .collect();
    for mut child in children {
        assert!(child.wait().unwrap().success());
    }
    assert_eq!(register(&yard)["check"].as_array().unwrap().len(), 8);
}

#[test]
fn no_instrument_is_without_error() {
    let yard = Yard::with_job();
    for error in ["0", "0.000 mm", "0 %", "±0", "-0.004"] {
        let edit = format!("--error={error}");
        let said = yard.run(&["instrument", "edit", "HW-M1", &edit]).ends(2);
        assert!(
            said.err.contains("no instrument is without error"),
            "{error}: {}",
            said.err
        );
    }
    yard.run(&["instrument", "edit", "HW-M1", "--error", "0.005"])
        .ends(0);
}

#[test]
fn a_study_without_any_spread_leaves_what_counted_before() {
    let yard = Yard::with_job();
    let mut file = "part,person,reading\n".to_owned();
    for part in ["1", "2"] {
        for _ in 0..3 {
            file.push_str(&format!("{part},Ilse Varga,2{part}.000\n"));
        }
    }
    std::fs::write(yard.root().join("same.csv"), file).unwrap();
    let before = register(&yard)["instrument"].clone();
    let said = yard
        .run(&["instrument", "study", "HW-M1", "--from", "same.csv"])
        .ends(0);
    assert!(said.out.contains("counts as before"), "{}", said.out);
    assert_eq!(register(&yard)["instrument"], before);
    assert_eq!(register(&yard)["study"].as_array().unwrap().len(), 1);
}
