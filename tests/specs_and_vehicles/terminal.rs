//! Questions at a terminal: the same commands, with a person there to answer.

use std::collections::BTreeMap;
use std::ffi::OsString;
use std::io::Cursor;

use brakecorner::cli::{Clock, Exit, World, run};

use crate::common::Yard;

/// Runs a command in the yard's workshop as if `lines` were typed at a terminal.
fn at_terminal(yard: &Yard, clock: Clock, args: &[&str], lines: &str) -> (Exit, String, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let mut input = Cursor::new(lines.as_bytes().to_vec());
    let config = yard.root().join("config").display().to_string();
    let mut world = World {
        clock,
        input: &mut input,
        out: &mut out,
        err: &mut err,
        out_is_terminal: false,
        input_is_terminal: true,
        env: BTreeMap::from([("BRAKECORNER_CONFIG".to_owned(), config)]),
        folder: yard.root().to_owned(),
    };
    let all = ["brakecorner", "--shop", "shop", "--by", "Ilse Varga"];
    let all = all.iter().chain(args).map(OsString::from);
    let exit = run(all, &mut world);
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (exit, text(out), text(err))
}

/// A workshop with two sheets of its own that fit the same vehicle.
fn ambiguous() -> Yard {
    let yard = Yard::with_job();
    let van = yard.run(&["spec", "show", "merlock-dunling"]).ends(0).out;
    for id in ["our-van", "our-other-van"] {
        let text = van.replace("id = \"merlock-dunling\"", &format!("id = \"{id}\""));
        std::fs::write(yard.path(&format!("specs/{id}.toml")), text).unwrap();
    }
    yard
}

const OPEN: [&str; 7] = [
    "job",
    "open",
    "T-2",
    "--vin",
    "A0ZDL07V7NK001124",
    "--odometer",
    "100",
];

#[test]
fn of_two_sheets_that_fit_the_one_whose_number_is_typed_is_taken() {
    for (typed, id) in [("1\n", "our-other-van"), ("2\n", "our-van")] {
        let yard = ambiguous();
        let (exit, out, err) = at_terminal(&yard, Clock::Machine, &OPEN, typed);
        assert_eq!(exit, Exit::Good, "{err}");
        assert!(
            err.contains("several spec sheets fit VIN A0ZDL07V7NK001124"),
            "{err}"
        );
        assert!(
            err.contains("1 our-other-van") && err.contains("2 our-van"),
            "{err}"
        );
        assert!(out.contains(&format!("judged by sheet {id}")), "{out}");
    }
}

#[test]
fn without_an_answer_that_names_one_no_sheet_is_taken_and_no_job_is_opened() {
    for typed in [
        "",
        "\n",
        "0\n",
        "3\n",
        "our-van\n",
        "-1\n",
        "99999999999999999999\n",
    ] {
        let yard = ambiguous();
        let (exit, out, err) = at_terminal(&yard, Clock::Machine, &OPEN, typed);
        assert_eq!(exit, Exit::NoAnswer, "{typed:?}: {out}");
        assert!(
            err.contains("choose one with `--sheet`"),
            "{typed:?}: {err}"
        );
        assert!(!yard.path("jobs/T-2").exists(), "{typed:?}");
    }
}

#[test]
fn a_question_of_log_is_asked_at_the_terminal_and_only_yes_keeps_the_value() {
    let yard = Yard::with_job();
    let pads = [
        "log",
        "T-1",
        "FL",
        "pads.thickness",
        "inner=61",
        "outer=6.0",
    ];
    for no in ["no\n", "\n", "", "maybe\n"] {
        let before = yard.journal("T-1").len();
        let (exit, _, err) = at_terminal(&yard, Clock::Machine, &pads, no);
        assert_eq!(exit, Exit::NoAnswer, "{no:?}");
        assert!(
            err.contains("6.100 mm") && err.contains("nothing was logged"),
            "{err}"
        );
        assert_eq!(yard.journal("T-1").len(), before);
    }
    let (exit, out, err) = at_terminal(&yard, Clock::Machine, &pads, "yes\n");
    assert_eq!(exit, Exit::Good, "{err}");
    assert!(out.contains("logged 3 entries"), "{out}");
    let journal = yard.journal("T-1").join("\n");
    assert!(journal.contains(r#""kind":"asked""#) && journal.contains(r#""confirmed":true"#));
}

#[test]
fn two_readings_run_together_become_two_when_a_person_says_so() {
    let yard = Yard::with_job();
    let mut ring = vec!["log", "T-1", "FL", "disc.thickness", "24.30824.309"];
    ring.extend(["24.308"; 7]);
    ring.push("24.307");
    let (exit, out, err) = at_terminal(&yard, Clock::Machine, &ring, "yes\n");
    assert_eq!(exit, Exit::Good, "{err}");
    assert!(out.contains("logged 10 entries"), "{out}");
}

#[test]
fn a_job_whose_last_entry_lies_in_the_future_is_asked_about() {
    let yard = Yard::with_job();
    let clock = || Clock::Told {
        next: "2020-01-02T08:00:00+00:00".parse().unwrap(),
        step: chrono::Duration::seconds(1),
    };
    let look = ["log", "T-1", "FL", "hose", "sound"];
    let before = yard.journal("T-1").len();
    let (exit, _, err) = at_terminal(&yard, clock(), &look, "no\n");
    assert_eq!(exit, Exit::NoAnswer, "{err}");
    assert!(
        err.contains("is in the future, today is 2020-01-02"),
        "{err}"
    );
    assert_eq!(yard.journal("T-1").len(), before);
    let (exit, _, err) = at_terminal(&yard, clock(), &look, "yes\n");
    assert_eq!(exit, Exit::Good, "{err}");
}

#[test]
fn a_symptom_in_the_complaint_s_words_is_asked_about_and_taken_without_an_answer() {
    for (typed, symptoms, from_words) in [
        ("yes\n", Some("judder"), false),
        ("no\n", None, false),
        ("perhaps\n", Some("judder"), true),
        ("", Some("judder"), true),
    ] {
        let yard = Yard::with_job();
        let mut args = OPEN.to_vec();
        args.extend(["--complaint", "shakes a little"]);
        let (exit, _, err) = at_terminal(&yard, Clock::Machine, &args, typed);
        assert_eq!(exit, Exit::Good, "{err}");
        assert!(
            err.contains("the complaint says `shakes`: is it judder?"),
            "{err}"
        );
        let line: serde_json::Value = serde_json::from_str(&yard.journal("T-2")[0]).unwrap();
        assert_eq!(line["event"]["symptoms"][0].as_str(), symptoms, "{typed}");
        assert_eq!(
            line["event"]["from_words"].is_array(),
            from_words,
            "{typed}"
        );
        let noted = yard.journal("T-2").join("\n").contains("answered: no");
        assert_eq!(noted, typed == "no\n");
    }
}

#[test]
fn facts_that_rules_ask_for_are_asked_once_and_one_answer_settles_others() {
    let yard = Yard::with_job();
    let sheet = yard.run(&["spec", "template"]).ends(0).out;
    let sheet = sheet
        .replace("vehicle_class = \"M1\"", "#")
        .replace("gross_mass_kg = 2000", "#")
        .replace("seats = 5", "#")
        .replace("single_line = false", "#");
    std::fs::write(yard.path("specs/ours.toml"), sheet).unwrap();
    let open = |job: &'static str| {
        let vin = "A0ZXX07V7NK001124";
        let odometer = if job == "T-2" { "100" } else { "200" };
        [
            "job",
            "open",
            job,
            "--vin",
            vin,
            "--odometer",
            odometer,
            "--rules",
            "gb,us-commercial",
        ]
    };
    // A class that is none is asked again; N1 says mass and use; the lines are left unknown.
    let (exit, _, err) = at_terminal(&yard, Clock::Machine, &open("T-2"), "M7\nn1\n\n");
    assert_eq!(exit, Exit::Good, "{err}");
    assert!(err.contains("? vehicle class"), "{err}");
    assert!(err.contains("expected one of M1, M2"), "{err}");
    assert!(err.contains("? lines that work its brakes"), "{err}");
    for word in ["gross mass", "seats", "carries", "first used"] {
        assert!(!err.contains(&format!("? {word}")), "{word}: {err}");
    }
    assert!(yard.journal("T-2")[0].contains(r#""class":"N1""#));
    // Only what is still unknown is asked for the next job, and then nothing.
    let (exit, _, err) = at_terminal(&yard, Clock::Machine, &open("T-3"), "two\n");
    assert_eq!(exit, Exit::Good, "{err}");
    assert_eq!(err.matches("? ").count(), 1, "{err}");
    assert!(yard.journal("T-3")[0].contains(r#""single_line":false"#));
    let (exit, _, err) = at_terminal(
        &yard,
        Clock::Machine,
        &{
            let mut again = open("T-4");
            again[6] = "300";
            again
        },
        "",
    );
    assert_eq!(exit, Exit::Good, "{err}");
    assert_eq!(err.matches("? ").count(), 0, "{err}");
}

#[test]
fn a_fact_that_cannot_be_is_asked_again_and_costs_no_other_answer() {
    let yard = Yard::with_job();
    let sheet = yard.run(&["spec", "template"]).ends(0).out;
    let sheet = sheet
        .replace("vehicle_class = \"M1\"", "#")
        .replace("gross_mass_kg = 2000", "#")
        .replace("seats = 5", "#")
        .replace("single_line = false", "#");
    std::fs::write(yard.path("specs/ours.toml"), sheet).unwrap();
    let args = "job open T-2 --vin A0ZXX07V7NK001124 --odometer 100 --gross-mass 3600 --rules gb,us-commercial";
    let args: Vec<&str> = args.split(' ').collect();
    // 3600 kg are no N1; the class is asked once more.
    let (exit, _, err) = at_terminal(&yard, Clock::Machine, &args, "N1\nN2\ntwo\n");
    assert_eq!(exit, Exit::Good, "{err}");
    assert_eq!(err.matches("? vehicle class").count(), 2, "{err}");
    let opened = yard.journal("T-2")[0].clone();
    assert!(opened.contains(r#""class":"N2""#), "{opened}");
}
