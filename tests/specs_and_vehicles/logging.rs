//! What `log` asks before it keeps a value, and what it takes besides plain readings.

use crate::common::Yard;

const RING: [&str; 10] = [
    "24.308", "24.309", "24.308", "24.310", "24.309", "24.308", "24.307", "24.308", "24.309",
    "24.308",
];

fn logged(yard: &Yard, before: usize) -> bool {
    yard.journal("T-1").len() > before
}

/// Logs, expects the question and nothing kept; with `--confirm` it is kept beside the question.
#[track_caller]
fn is_asked(yard: &Yard, args: &[&str], word: &str) {
    let before = yard.journal("T-1").len();
    let mut all = vec!["log", "T-1"];
    all.extend(args);
    let said = yard.run(&all).ends(2);
    assert!(said.err.contains(word), "{args:?}: {}", said.err);
    assert!(said.err.contains("nothing was logged"), "{}", said.err);
    assert!(!logged(yard, before), "{args:?}");
}

#[test]
fn two_readings_run_together_are_asked_about_and_taken_apart_only_by_a_person() {
    let yard = Yard::with_job();
    let mut args = vec!["FL", "disc.thickness", "24.30824.309"];
    args.extend(&RING[2..]);
    is_asked(
        &yard,
        &args,
        "24.308 and 24.309: was Enter lost between them",
    );
    is_asked(&yard, &args, "write them apart: 24.308 24.309");
}

#[test]
fn a_doubled_digit_and_a_gauge_in_hold_are_asked_about() {
    let yard = Yard::with_job();
    let mut args = vec!["FL", "disc.thickness"];
    args.extend(&RING[..9]);
    args.push("24.3088");
    is_asked(&yard, &args, "one digit more than the readings before it");
    let hold = ["24.308"; 10];
    let mut args = vec!["FL", "disc.thickness"];
    args.extend(hold);
    is_asked(&yard, &args, "is the gauge in hold");
}

#[test]
fn every_question_of_a_line_is_said_at_once_and_kept_with_its_answer() {
    let yard = Yard::with_job();
    let mut args = vec!["log", "T-1", "FL", "disc.thickness"];
    args.extend(&RING[..8]);
    args.extend(["243.08", "2.4308"]);
    let said = yard.run(&args).ends(2);
    assert_eq!(
        said.err.matches("the decimal point slipped").count(),
        2,
        "{}",
        said.err
    );
    args.push("--confirm");
    yard.run(&args).ends(0);
    let asked = yard
        .journal("T-1")
        .iter()
        .filter(|l| l.contains(r#""kind":"asked""#))
        .count();
    assert!(asked >= 2, "{asked}");
}

#[test]
fn a_corner_measured_already_is_asked_about_and_another_clocking_until_it_was_turned() {
    let yard = Yard::with_job();
    let mut args = vec!["log", "T-1", "FL", "disc.thickness"];
    args.extend(RING);
    yard.run(&args).ends(0);
    is_asked(&yard, &args[2..], "was measured already");
    let ring = [
        "0.000", "0.010", "0.020", "0.010", "0.000", "-0.010", "-0.020", "-0.010", "0.000",
        "0.004", "0.000",
    ];
    let mut args = vec!["log", "T-1", "FL", "disc.runout"];
    args.extend(ring);
    yard.run(&args).ends(0);
    is_asked(&yard, &args[2..], "was measured already");
    args.extend(["--clocking", "2"]);
    is_asked(&yard, &args[2..], "was it turned");
    yard.run(&["work", "T-1", "FL", "reclocked", "2"]).ends(0);
    args.push("--as-left");
    yard.run(&args).ends(0);
}

#[test]
fn a_lost_sign_in_a_ring_and_forces_in_kgf_show_when_the_set_is_whole() {
    let yard = Yard::with_job();
    let lost = [
        "0.000", "0.001", "-0.019", "-0.054", "-0.090", "0.108", "-0.106", "-0.087", "-0.048",
        "-0.015", "0.000",
    ];
    let mut args = vec!["FL", "disc.runout"];
    args.extend(lost);
    is_asked(&yard, &args, "was its sign lost");
    let forces = [
        "vehicle",
        "brake.service_efficiency",
        "FL=400",
        "FR=392",
        "RL=236",
        "RR=151",
        "mass=1432",
    ];
    is_asked(&yard, &forces, "were the forces read in kgf");
}

#[test]
fn a_thickness_typed_for_a_temperature_is_asked_about() {
    let yard = Yard::with_job();
    let mut args = vec!["FL", "disc.thickness", "--temperature", "24.308"];
    args.extend(RING);
    is_asked(&yard, &args, "looks like a thickness");
}

#[test]
fn the_mark_cast_on_a_disc_is_held_against_its_sheet_and_judged() {
    let yard = Yard::with_job();
    let mut args = vec!["FL", "disc.thickness"];
    args.extend(RING);
    let with = |mark: &'static str| {
        let mut all = args.clone();
        all.extend(["--cast", mark]);
        all
    };
    is_asked(&yard, &with("230"), "the decimal point slipped");
    is_asked(&yard, &with("26.5"), "were the two swapped");
    let mut all = vec!["log", "T-1"];
    all.extend(with("24.0"));
    let said = yard.run(&all).ends(0);
    assert!(said.out.contains("24.0"), "{}", said.out);
    let hose = [
        "FL",
        "pads.thickness",
        "inner=9.0",
        "outer=9.0",
        "--cast",
        "3",
    ];
    let mut all = vec!["log", "T-1"];
    all.extend(hose);
    assert!(yard.run(&all).ends(2).err.contains("carries no cast limit"));
}

#[test]
fn a_day_that_has_not_come_is_asked_about() {
    let yard = Yard::with_job();
    let said = yard
        .run(&[
            "job",
            "open",
            "T-2",
            "--vin",
            "A0ZDL07V7NK001122",
            "--odometer",
            "84200",
            "--first-used",
            "2199-01-01",
        ])
        .ends(2);
    assert!(
        said.err.contains("2199-01-01 is in the future"),
        "{}",
        said.err
    );
}

#[test]
fn lips_and_the_gauge_s_temperature_go_with_a_ring() {
    let yard = Yard::with_job();
    let mut args = vec!["--json", "log", "T-1", "FL", "disc.thickness"];
    args.extend(RING);
    args.extend([
        "lip_outer=0.60",
        "lip_inner=1.10",
        "--temperature",
        "34",
        "--gauge-temperature",
        "30",
    ]);
    let json = yard.run(&args).ends(0).json();
    let thickness = &json["findings"][0];
    assert_eq!(thickness["item"], "disc.thickness");
    assert_eq!(thickness["results"]["lip_inner_mm"], 1.1);
    assert_eq!(thickness["verdict"], "ADVISE");
    let sentence = thickness["sentence"].as_str().unwrap();
    assert!(sentence.contains("inner face has lost"), "{sentence}");
    let why = yard.run(&["verdict", "T-1", "--why", "disc.thickness", "FL"]);
    assert!(why.out.contains("gauge at 30"), "{}", why.out);
    is_asked(
        &yard,
        &["FR", "disc.thickness", "24.308", "lip_outer=8.6"],
        "a depth of 8.6",
    );
}

#[test]
fn a_scored_disc_s_depth_is_a_number() {
    let yard = Yard::with_job();
    let scored = [
        "FL",
        "disc.surface",
        "defect",
        "scored",
        "inner face",
        "--depth",
    ];
    let with = |depth: &'static str| {
        let mut args = scored.to_vec();
        args.push(depth);
        args
    };
    is_asked(&yard, &with("16"), "a depth of 16");
    for (depth, verdict) in [("0.4", "PASS"), ("1.5", "ADVISE"), ("1.6", "FAIL")] {
        let mut args = vec!["--json", "log", "T-1"];
        args.extend(with(depth));
        args.push("--confirm"); // the depths after the first are asked about: measured already
        let json = yard.run(&args).ends(0).json();
        assert_eq!(json["findings"][0]["verdict"], verdict, "{depth}");
        assert_eq!(json["findings"][0]["value"].to_string(), depth);
    }
    let wrong = yard
        .run(&["log", "T-1", "FL", "hose", "sound", "--depth", "1"])
        .ends(2);
    assert!(
        wrong.err.contains("--depth is the depth of a scored disc"),
        "{}",
        wrong.err
    );
    let stranger = yard
        .run(&[
            "log",
            "T-1",
            "FL",
            "disc.surface",
            "defect",
            "scored",
            "--depth",
            "1",
            "--instrument",
            "X9",
        ])
        .ends(2);
    assert!(
        stranger.err.contains("`X9` is not in the register"),
        "{}",
        stranger.err
    );
    let unread = yard
        .run(&[
            "log",
            "T-1",
            "FL",
            "disc.surface",
            "defect",
            "scored",
            "--depth",
            "deep",
        ])
        .ends(2);
    assert!(unread.err.contains("nothing was logged"), "{}", unread.err);
}

#[test]
fn parts_whose_fitting_is_known_give_a_forecast_of_one_visit() {
    let yard = Yard::with_job();
    let pads = [
        "FL",
        "pads.thickness",
        "inner=6.0",
        "outer=6.0",
        "--fitted-at",
    ];
    let mut args = vec!["--json", "log", "T-1"];
    args.extend(pads);
    args.extend(["60000", "--new-thickness", "12.0"]);
    let json = yard.run(&args).ends(0).json();
    let forecast = &json["findings"][0]["results"]["forecast"];
    assert_eq!(forecast["method"], "one visit, fitting known");
    assert_eq!(forecast["distance_left_km"], 16_080);
    for (odometer, word) in [
        ("90000", "not before the odometer"),
        ("x", "nothing was logged"),
    ] {
        let mut args = vec!["log", "T-1"];
        args.push("FR");
        args.extend(&pads[1..]);
        args.push(odometer);
        let said = yard.run(&args).ends(2);
        assert!(said.err.contains(word), "{}", said.err);
    }
    let said = yard
        .run(&["log", "T-1", "FL", "hose", "sound", "--fitted-at", "100"])
        .ends(2);
    assert!(
        said.err.contains("does not wear by distance"),
        "{}",
        said.err
    );
}

#[test]
fn an_earlier_reading_with_its_day_gives_a_date() {
    let yard = Yard::with_job();
    let open = |job: &str, earlier: &str| {
        yard.run(&[
            "job",
            "open",
            job,
            "--vin",
            "A0ZDL07V7NK001122",
            "--odometer",
            "84120",
            "--class",
            "N1",
            "--earlier",
            earlier,
        ])
    };
    let bad = open("T-2", "RL:pads.thickness:61050:5.6:yesterday:same").ends(2);
    assert!(bad.err.contains("`yesterday` is no date"), "{}", bad.err);
    let future = open("T-2", "RL:pads.thickness:61050:5.6:2199-03-02:same").ends(2);
    assert!(
        future.err.contains("2199-03-02 is in the future"),
        "{}",
        future.err
    );
    open("T-2", "RL:pads.thickness:61050:5.6:2020-03-02:same").ends(0);
    let json = yard
        .run(&[
            "--json",
            "log",
            "T-2",
            "RL",
            "pads.thickness",
            "inner=2.9",
            "outer=3.1",
        ])
        .ends(0)
        .json();
    let pads = &json["findings"][0];
    assert_eq!(pads["urgency"], "by");
    assert!(
        pads["by_km"].as_i64().unwrap() > 84_120 && pads["by_date"].is_string(),
        "{pads}"
    );
}

#[test]
fn the_clockings_of_the_vehicle_go_into_its_next_job() {
    let yard = Yard::with_job();
    yard.run(&[
        "vehicle",
        "edit",
        "A0ZDL07V7NK001122",
        "--clockings",
        "front=0,2",
    ])
    .ends(0);
    yard.run(&[
        "job",
        "open",
        "T-2",
        "--vin",
        "A0ZDL07V7NK001122",
        "--odometer",
        "84200",
        "--class",
        "N1",
    ])
    .ends(0);
    let journal = yard.journal("T-2").join("\n");
    assert!(
        journal.contains(r#""kind":"clockings","axle":"front","possible":[0,2]"#),
        "{journal}"
    );
}
