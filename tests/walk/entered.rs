//! What is asked about a value, however it is entered.

use crate::common::Yard;

/// Logs, expects the question and nothing kept; with `--confirm` the question is kept beside it.
#[track_caller]
fn is_asked(yard: &Yard, args: &[&str], words: &str) {
    let before = yard.journal("T-1").len();
    let mut all = vec!["log", "T-1"];
    all.extend(args);
    let said = yard.run(&all).ends(2);
    assert!(said.err.contains(words), "{args:?}: {}", said.err);
    assert_eq!(yard.journal("T-1").len(), before, "{args:?}");
    all.push("--confirm");
    yard.run(&all).ends(0);
    let journal = yard.journal("T-1").split_off(before).join("\n");
    assert!(
        journal.contains(words) && journal.contains(r#""answer":"--confirm""#),
        "{journal}"
    );
}

const RING: [&str; 11] = [
    "0.000", "0.004", "0.008", "0.004", "-0.001", "-0.004", "-0.006", "-0.004", "-0.002", "0.001",
    "0.000",
];

#[test]
fn a_slip_of_ten_in_one_point_of_a_run_out_is_asked_about() {
    for (point, slipped) in [(1, "0.08"), (2, "0.08"), (5, "-0.04"), (7, "-0.07")] {
        let yard = Yard::with_job();
        let mut args = vec!["FL", "disc.runout"];
        args.extend(RING);
        args[2 + point] = slipped;
        is_asked(&yard, &args, "because the decimal point slipped");
    }
    let yard = Yard::with_job();
    let mut args = vec!["log", "T-1", "FL", "disc.runout"];
    args.extend(RING);
    yard.run(&args).ends(0);
}

#[test]
fn a_slip_of_ten_in_a_pad_is_asked_about_beside_its_fellow_its_mate_and_its_past() {
    let yard = Yard::with_job();
    is_asked(
        &yard,
        &["RL", "pads.thickness", "inner=0.61", "outer=6.3"],
        "did the decimal point of one of them slip",
    );
    let yard = Yard::with_job();
    yard.run(&[
        "log",
        "T-1",
        "FL",
        "pads.thickness",
        "inner=6.1",
        "outer=6.3",
    ])
    .ends(0);
    is_asked(
        &yard,
        &["FR", "pads.thickness", "inner=0.61", "outer=0.63"],
        "on the other side: did the decimal point",
    );
    let yard = Yard::with_job();
    yard.run(&[
        "log",
        "T-1",
        "FL",
        "pads.thickness",
        "inner=6.1",
        "outer=6.3",
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
    let said = yard
        .run(&[
            "log",
            "T-2",
            "FL",
            "pads.thickness",
            "inner=0.58",
            "outer=0.59",
        ])
        .ends(2);
    assert!(
        said.err.contains("at the last visit: did the decimal"),
        "{}",
        said.err
    );
    // Worn to a third of its fellow is no slip.
    yard.run(&[
        "log",
        "T-2",
        "FL",
        "pads.thickness",
        "inner=2.0",
        "outer=5.9",
    ])
    .ends(0);
}

#[test]
fn the_walk_asks_what_log_asks() {
    let yard = Yard::with_job();
    yard.run(&[
        "log",
        "T-1",
        "FR",
        "pads.thickness",
        "inner=6.1",
        "outer=6.3",
    ])
    .ends(0);
    let typed = format!("0.001\n{}0.61\nno\n", "0\n".repeat(12));
    let said = yard.typed(&["walk", "T-1", "--part", "found"], &typed);
    let flat = said.out.replace("\n  ", " ").replace('\n', " ");
    assert!(
        flat.contains("on the other side: did the decimal point"),
        "{}",
        said.out
    );
}

#[test]
fn a_reading_outside_the_named_instrument_is_asked_about_by_log() {
    let yard = Yard::with_job();
    let ring = ["25.4"; 10];
    let mut args = vec!["FL", "disc.thickness", "--instrument", "HW-M1"];
    args.extend(ring);
    args[4] = "25.401";
    is_asked(&yard, &args, "is outside the range of HW-M1 (0-25 mm)");
    yard.run(&[
        "instrument",
        "add",
        "HW-F2",
        "--kind",
        "fluid_tester",
        "--unit",
        "°C",
        "--range",
        "100-200",
        "--resolution",
        "1",
        "--error",
        "3",
    ])
    .ends(0);
    is_asked(
        &yard,
        &["vehicle", "fluid.boiling", "212", "--instrument", "HW-F2"],
        "212 is outside the range of HW-F2",
    );
}

#[test]
fn readings_without_an_instrument_are_told_at_once_that_no_pass_follows() {
    let yard = Yard::with_job();
    let said = yard
        .run(&[
            "log",
            "T-1",
            "RL",
            "pads.thickness",
            "inner=6.1",
            "outer=6.3",
        ])
        .ends(0);
    assert!(!said.err.contains("can give a PASS"), "{}", said.err);
    let said = yard
        .run(&[
            "log",
            "T-1",
            "vehicle",
            "brake.service_efficiency",
            "FL=3920",
            "FR=3850",
            "RL=2310",
            "RR=2300",
            "mass=1432",
        ])
        .ends(0);
    assert!(
        said.err.contains("no roller tester is in the register")
            && said.err.contains("no reading can give a PASS"),
        "{}",
        said.err
    );
}
