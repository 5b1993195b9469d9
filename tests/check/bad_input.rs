//! Bad input is named, all of it at once, and never answered.

use super::{json, run, text};

/// Runs a check that must give no answer, and returns what it says.
fn refused(args: &[&str]) -> String {
    let (code, said) = text(args);
    assert_eq!(code, 2, "{args:?}: {said}");
    assert!(!said.contains("panicked"), "{said}");
    said
}

#[test]
fn each_bad_value_is_named() {
    for (args, named) in [
        (
            vec!["disc", "--readings", "", "--limit", "22"],
            "0 given, at least 2 needed",
        ),
        (
            vec!["disc", "--readings", "22.01"],
            "1 given, at least 2 needed",
        ),
        (vec!["disc", "--readings", "22.01 nan"], "value 2: `nan`"),
        (vec!["disc", "--readings", "22.01 inf"], "`inf`"),
        (vec!["disc", "--readings", "22.01 -22.01"], "-22.010 mm"),
        (
            vec![
                "disc",
                "--readings",
                "22.01 22.02",
                "--limit",
                "24",
                "--nominal",
                "22",
            ],
            "limit 24.000 mm is not below the new size 22.000 mm",
        ),
        (
            vec!["disc", "--readings", "22.01 22.02", "--limit", "-1"],
            "--limit is -1.000 mm",
        ),
        (
            vec![
                "disc",
                "--readings",
                "22.01 22.02",
                "--machine-to",
                "24",
                "--nominal",
                "22.5",
            ],
            "machine-to thickness",
        ),
        (
            vec!["disc", "--readings", "22.01 0.8666in"],
            "`0.8666in` is in inches",
        ),
        (
            vec!["disc", "--readings", "22.01 2.202"],
            "another unit or a slipped decimal",
        ),
        (
            vec![
                "disc",
                "--readings",
                "0.7611 0.7612",
                "--nominal",
                "20",
                "--limit",
                "18",
            ],
            "taken as inches it would be 19.33448 mm",
        ),
        (
            vec!["disc", "--readings", "0.7611 0.7612"],
            "no disc thickness",
        ),
        (
            vec![
                "disc",
                "--readings",
                "19.33 19.34",
                "--unit",
                "in",
                "--nominal",
                "20mm",
            ],
            "no disc thickness",
        ),
        (
            vec![
                "disc",
                "--readings",
                "2.201 2.202",
                "--nominal",
                "24",
                "--limit",
                "22",
            ],
            "22.020 mm",
        ),
        (
            vec![
                "disc",
                "--readings",
                "22.1 22.2 22.3",
                "--readings-per-point",
                "2",
            ],
            "3 given, expected 4",
        ),
        (
            vec![
                "disc",
                "--readings",
                "22.1 22.2",
                "--readings-per-point",
                "0",
            ],
            "readings at a point: 0",
        ),
        (
            vec!["disc", "--readings", "22.1 22.2", "--unit", "furlong"],
            "furlong",
        ),
        (
            vec!["disc", "--readings", "22.1 22.2", "--temperature", "2 K"],
            "`K`",
        ),
        (
            vec!["disc", "--readings", "22.1 22.2", "--mpe", "-0.004"],
            "permissible error is -0.004 mm",
        ),
        (
            vec!["runout", "--readings", "0 1 2"],
            "3 given, at least 4 needed",
        ),
        (
            vec![
                "runout",
                "--readings",
                "0 0.1 0.2 0.1",
                "--angles",
                "0 90 90 270",
            ],
            "90° is given twice, for points 2 and 3",
        ),
        (
            vec![
                "runout",
                "--readings",
                "0 0.1 0.2 0.1",
                "--angles",
                "0 90 180",
            ],
            "3 given, expected 4",
        ),
        (
            vec![
                "runout",
                "--readings",
                "0 0.1 0.2 0.1",
                "--angles",
                "0 10 20 30",
            ],
            "gap",
        ),
        (vec!["runout", "--swept", "-0.1"], "-0.100 mm"),
        (
            vec![
                "runout",
                "--swept",
                "0.02",
                "--readings",
                "0 0.01 0.03 0.01",
            ],
            "--swept 0.020 mm is less than the 0.030 mm",
        ),
        (vec!["runout"], "0 given, at least 4 needed"),
        (
            vec!["clocking", "--holes", "2", "--at", "0: 0 1 0 -1"],
            "2 holes, expected 3 to 10",
        ),
        (
            vec!["clocking", "--holes", "11", "--at", "0: 0 1 0 -1"],
            "11 holes, expected 3 to 10",
        ),
        (
            vec!["clocking", "--holes", "5", "--at", "7: 0 1 0 -1"],
            "clocking is 7, expected 0 to 4",
        ),
        (
            vec!["clocking", "--holes", "5", "--at", "0 1 0 -1"],
            "CLOCKING: READINGS",
        ),
        (
            vec![
                "clocking",
                "--holes",
                "5",
                "--at",
                "0: 0 1 0 -1",
                "--only",
                "0,x",
            ],
            "`x`",
        ),
        (
            vec![
                "shim",
                "--tir",
                "0.1",
                "--high-spot",
                "0",
                "--diameter",
                "0",
                "--flange",
                "150",
            ],
            "measuring diameter is 0.000 mm",
        ),
        (
            vec![
                "shim",
                "--tir",
                "-0.1",
                "--high-spot",
                "0",
                "--diameter",
                "280",
                "--flange",
                "150",
            ],
            "-0.100 mm",
        ),
        (
            vec![
                "hub",
                "--swept",
                "0.1",
                "--radius",
                "0",
                "--at-radius",
                "130",
            ],
            "measuring radius is 0.000 mm",
        ),
        (vec!["bearing", "--readings", "-0.01"], "-0.010 mm"),
        (
            vec!["pad", "--inner", "-1", "--outer", "5"],
            "inner pad reading 1 is -1.000 mm",
        ),
        (
            vec!["pad", "--inner", "5", "--outer", "5", "--unit", "in"],
            "no friction thickness",
        ),
        (
            vec!["drum", "--open", "203.1", "--limit", "204"],
            "1 given, at least 2 needed",
        ),
        (
            vec![
                "drum",
                "--open",
                "203.1 203.2",
                "--limit",
                "202",
                "--nominal",
                "203",
            ],
            "limit 202.000 mm is not above the new size",
        ),
        (
            vec![
                "drum",
                "--open",
                "8.001 8.002",
                "--limit",
                "204",
                "--nominal",
                "203",
            ],
            "203.2508 mm",
        ),
        (vec!["wear", "--visits", "60000-6.0"], "`60000-6.0`"),
        (
            vec!["wear", "--visits", "60000:6 70000:-1", "--limit", "2"],
            "thickness of visit `70000:-1` is -1.000 mm",
        ),
        (vec!["wear", "--visits", ""], "visits: 0 given"),
        (
            vec!["rollers", "--service", "FL=3920,FX=1", "--mass", "1000"],
            "`FX`",
        ),
        (
            vec!["rollers", "--service", "FL=3920", "--mass", "1000"],
            "both wheels",
        ),
        (
            vec!["rollers", "--service", "FL=1,FL=2,FR=1", "--mass", "1000"],
            "`FL` is given twice",
        ),
        (
            vec!["rollers", "--service", "FL=-1,FR=2", "--mass", "1000"],
            "-1",
        ),
        (
            vec!["rollers", "--service", "FL=-5,FR=0", "--mass", "1000"],
            "-5",
        ),
        (
            vec!["rollers", "--service", "FL=1,FR=2", "--mass", "1"],
            "mass is 1",
        ),
        (
            vec![
                "rollers",
                "--service",
                "FL=1,FR=2",
                "--mass",
                "1000",
                "--rules",
                "mars",
            ],
            "no rule pack `mars`",
        ),
        (
            vec!["fluid", "--grade", "DOT7", "--boiling", "171"],
            "`DOT7`",
        ),
        (
            vec!["fluid", "--grade", "DOT4", "--boiling", "17"],
            "boiling point is 17",
        ),
        (
            vec!["torque", "--fasteners", "2", "--target", "140"],
            "2 fasteners, expected 3 to 10",
        ),
        (
            vec!["torque", "--fasteners", "5", "--target", "0"],
            "target torque is 0",
        ),
        (
            vec![
                "torque",
                "--fasteners",
                "5",
                "--target",
                "140",
                "--tool-range",
                "200-40",
            ],
            "200",
        ),
        (
            vec![
                "torque",
                "--fasteners",
                "5",
                "--target",
                "140",
                "--stages",
                "60 30 100",
            ],
            "torque stage",
        ),
    ] {
        let said = refused(&args);
        assert!(said.starts_with("error: "), "{args:?}: {said}");
        assert!(
            said.contains(named),
            "{args:?} does not name `{named}`: {said}"
        );
    }
}

#[test]
fn independent_problems_are_reported_together() {
    let said = refused(&[
        "disc",
        "--readings",
        "22.01 nan",
        "--limit",
        "24",
        "--nominal",
        "22",
        "--temperature",
        "hot",
        "--mpe",
        "x",
    ]);
    assert!(said.contains("4 problems"), "{said}");
    for named in ["`nan`", "24.000 mm", "hot", "--mpe"] {
        assert!(said.contains(named), "{named}: {said}");
    }
    let said = refused(&[
        "clocking",
        "--holes",
        "12",
        "--at",
        "0: 0 1 x 1",
        "--at",
        "nowhere",
    ]);
    for named in ["`x`", "12 holes", "nowhere"] {
        assert!(said.contains(named), "{named}: {said}");
    }
    let said = refused(&[
        "torque",
        "--fasteners",
        "2",
        "--target",
        "-5",
        "--tool-range",
        "x",
    ]);
    assert!(
        said.contains("2 fasteners") && said.contains("-5") && said.contains("`x`"),
        "{said}"
    );
}

#[test]
fn errors_say_what_to_do() {
    let said = refused(&["disc", "--readings", "0.7611 0.7612", "--nominal", "20"]);
    assert!(said.contains("hint: add `--unit in`"), "{said}");
    let said = refused(&[
        "disc",
        "--readings",
        "22.01 22.02",
        "--limit",
        "24",
        "--nominal",
        "22",
    ]);
    assert!(said.contains("swapped"), "{said}");
    // As JSON the error is on the standard output, for programs.
    let (code, value) = json(&["disc", "--readings", "22.01 nan"]);
    assert_eq!(code, 2);
    assert!(
        value["error"]["message"]
            .as_str()
            .unwrap()
            .contains("`nan`")
    );
    assert!(!value["error"]["hints"].as_array().unwrap().is_empty());
}

#[test]
fn what_looks_like_a_slip_can_be_confirmed() {
    let (code, _) = json(&[
        "disc",
        "--readings",
        "2.201 2.202",
        "--nominal",
        "24",
        "--limit",
        "22",
        "--confirm",
    ]);
    assert_eq!(code, 1); // beyond its limit, and believed
}

#[test]
fn the_standard_input_is_read_once_and_not_without_end() {
    let output = run(&["pad", "--inner", "-", "--outer", "-"], "5.0 5.1");
    assert_eq!(output.status.code(), Some(2));
    let said = String::from_utf8(output.stderr).unwrap();
    assert!(
        said.contains("--outer") && said.contains("only one option"),
        "{said}"
    );
    let long = "22.01 ".repeat(200_000);
    let output = run(&["disc", "--readings", "-"], &long);
    assert_eq!(output.status.code(), Some(2));
    assert!(
        String::from_utf8(output.stderr)
            .unwrap()
            .contains("1048576 bytes")
    );
}

#[test]
fn an_option_without_a_part_in_the_check_is_said_to_have_none() {
    let (_, value) = json(&[
        "runout",
        "--swept",
        "0.03",
        "--temperature",
        "20",
        "--nominal",
        "22",
    ]);
    let notes = value["notes"].to_string();
    assert!(
        notes.contains("--temperature") && notes.contains("--nominal"),
        "{notes}"
    );
}

/// Asked about without `--confirm`, answered with it.
#[track_caller]
fn is_asked(args: &[&str], named: &str) {
    let said = refused(args);
    assert!(said.contains(named) && said.contains("--confirm"), "{said}");
    let mut all = args.to_vec();
    all.push("--confirm");
    let (code, said) = text(&all);
    assert_ne!(code, 2, "{said}");
}

#[test]
fn forces_of_no_vehicle_are_asked_about() {
    let rollers = |service: &'static str, mass: &'static str| {
        [
            "rollers",
            "--service",
            service,
            "--mass",
            mass,
            "--rules",
            "gb",
        ]
    };
    is_asked(
        &rollers("FL=3920,FR=3850,RL=2310,RR=2300", "700"),
        "180.3 %",
    );
    is_asked(
        &rollers("FL=3920,FR=3850,RL=231,RR=230", "1432"),
        "7770 N and the rear axle with 461 N, ten times apart",
    );
    is_asked(&rollers("FL=400,FR=392,RL=236,RR=151", "1432"), "in kgf");
    let parking = [
        "rollers",
        "--parking",
        "RL=15100,RR=13900",
        "--mass",
        "1432",
    ];
    is_asked(&parking, "206.5 % of the weight");
}

#[test]
fn a_radius_no_disc_has_and_a_gauge_without_error_are_asked_about() {
    let ring = "0.000 0.010 0.020 0.010 0.000 -0.010 -0.020 -0.010";
    let runout = |from: &'static str, to: &'static str| {
        [
            "runout",
            "--readings",
            ring,
            "--limit",
            "0.08",
            "--radius",
            from,
            "--at-radius",
            to,
        ]
    };
    is_asked(&runout("130", "0.001"), "0.001 mm is no radius of a disc");
    is_asked(&runout("1300", "130"), "1300.000 mm is no radius of a disc");
    let perfect = [
        "runout",
        "--readings",
        ring,
        "--mpe",
        "0",
        "--resolution",
        "0",
        "--repeatability",
        "0",
    ];
    is_asked(&perfect, "no gauge is without error");
    let hub = [
        "hub",
        "--swept",
        "0.028",
        "--radius",
        "6.2",
        "--at-radius",
        "130",
    ];
    is_asked(&hub, "6.200 mm is no radius");
}

#[test]
fn too_large_a_zero_error_of_any_gauge_never_gives_a_pass() {
    // Half a step of a coarse gauge is allowed; 0.005 mm where it shows 0.01 mm (own).
    let pad = [
        "pad",
        "--inner",
        "6.1",
        "--outer",
        "6.3",
        "--limit",
        "2",
        "--zero-error",
    ];
    let lining = ["pad", "--lining", "3.4", "--limit", "1.5", "--zero-error"];
    let drum = [
        "drum",
        "--open",
        "203.31 203.29",
        "--limit",
        "204",
        "--zero-error",
    ];
    for (check, good, bad) in [
        (&pad[..], "0.05", "0.2"),
        (&lining, "0.05", "-0.2"),
        (&drum, "0.005", "0.02"),
    ] {
        for (zero, verdict) in [(good, "PASS"), (bad, "ADVISE")] {
            let mut args = check.to_vec();
            args.push(zero);
            let (_, got) = json(&args);
            assert_eq!(got["verdict"], verdict, "{args:?}: {got:#}");
        }
    }
}

#[test]
fn a_ring_without_any_movement_is_asked_about() {
    let (_, said) = text(&["runout", "--readings", "0 0 0 0 0 0 0 0 0 0"]);
    assert!(
        said.contains("all 10 readings are the same: is the gauge in hold?"),
        "{said}"
    );
    let (_, said) = text(&[
        "disc",
        "--readings",
        "22.01 22.01 22.01 22.01 22.01 22.01 22.01 22.01",
        "--limit",
        "22",
    ]);
    assert!(
        said.contains("all 8 readings are the same: is the gauge in hold?"),
        "{said}"
    );
}

#[test]
fn each_hint_speaks_of_what_was_typed() {
    for (args, named, never) in [
        (
            &["pedal", "--free", "100", "--pressed", "150"][..],
            "--pressed: 150.000 mm is higher than the free pedal",
            "--nominal",
        ),
        (
            &["study", "--part", "0.010 0.012"],
            "a --part each",
            "stud,",
        ),
        (
            &["fluid", "--grade", "DOT4", "--boiling", "nan"],
            "`nan` is not a number",
            "0.8665in",
        ),
        (
            &["runout", "--swept", "0.03", "--stylus-angle", "89.999"],
            "`89.999` is out of range",
            "is 90",
        ),
        (
            &[
                "torque",
                "--fasteners",
                "5",
                "--target",
                "140",
                "--stages",
                "50 40 100",
            ],
            "--stages: 40 % after 50 %",
            "0.4",
        ),
        (
            &[
                "torque",
                "--fasteners",
                "5",
                "--target",
                "140",
                "--stages",
                "30 60",
            ],
            "--stages: the last is 60 %",
            "0.6",
        ),
    ] {
        let said = refused(args);
        assert!(
            said.contains(named) && !said.contains(never),
            "{args:?}: {said}"
        );
    }
}

#[test]
fn wear_refuses_a_service_behind_and_a_part_thicker_than_new() {
    let wear = |visits, more: &[&str]| {
        let mut args = vec![
            "wear",
            "--visits",
            visits,
            "--limit",
            "2",
            "--nominal",
            "12",
        ];
        args.extend(more);
        text(&args)
    };
    let (code, said) = wear("61050:5.6", &["--fitted-at", "40000", "--service=-5"]);
    assert_eq!(code, 2, "{said}");
    assert!(said.contains("--service"), "{said}");
    for visits in ["61050:15.6 72480:14.3", "61050:56 72480:43"] {
        let (code, said) = wear(visits, &[]);
        assert_eq!(code, 2, "{said}");
        assert!(said.contains("thicker than the new part"), "{said}");
    }
}

#[test]
fn a_boiling_point_above_300_says_its_unit() {
    let fluid = |boiling| text(&["fluid", "--grade", "DOT4", "--boiling", boiling]);
    let (code, said) = fluid("310");
    assert_eq!(code, 2, "{said}");
    assert!(said.contains("310C or 310F"), "{said}");
    assert_eq!(fluid("310C").0, 0);
    // 310 °F is 154 °C, below the 155 °C of a DOT 4 fluid in use.
    assert_eq!(fluid("310F").0, 1);
}

#[test]
fn what_no_vehicle_has_is_asked_about_and_taken_with_confirm() {
    for (args, named) in [
        (
            "disc --readings|22.5 22.5 22.5 22.51|--machine-to|21|--limit|22|--nominal|24",
            "21.000 mm is below the minimum 22.000 mm",
        ),
        (
            "disc --readings|22.5 22.5 22.5 22.51|--limit|2.2|--nominal|24",
            "less than a tenth of the new 24.000 mm",
        ),
        (
            "disc --readings|22.5 22.5 22.5 22.51|--limit|22|--temperature|151",
            "hotter than 150",
        ),
        (
            "pedal --free|130|--pressed|45|--after-hold|60",
            "a pedal under a steady force does not rise",
        ),
        (
            "pedal --free|1300|--pressed|450",
            "no height of a free pedal",
        ),
        (
            "rollers --service|FL=3920,FR=3850|--mass|1432",
            "forces of the front axle alone",
        ),
        (
            "runout --readings|0 0.01 0.02 0.02 0.01 0|--fasteners|5",
            "6 readings for 5 fasteners",
        ),
        (
            "clocking --holes|5|--at|0: 0 0.01 0.02 0.02 0.01 0",
            "6 readings for 5 fasteners",
        ),
    ] {
        let args: Vec<&str> = args.splitn(2, ' ').flat_map(|a| a.split('|')).collect();
        let said = refused(&args)
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ");
        assert!(said.contains(named), "{args:?}: {said}");
        assert!(said.contains("--confirm"), "{args:?}: {said}");
        let confirmed: Vec<&str> = args.iter().copied().chain(["--confirm"]).collect();
        let (code, said) = text(&confirmed);
        assert!(
            !said.contains(named) && (code != 2 || args[0] == "clocking"),
            "{confirmed:?}: {said}"
        );
    }
}

#[test]
fn a_return_reading_taken_for_a_point_is_pointed_out() {
    let ring = "0.000 0.001 -0.019 -0.054 -0.090 -0.108 -0.106 -0.087 -0.048 -0.015 0.000";
    let (_, said) = text(&["runout", "--readings", ring]);
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        said.contains("11 readings, the last like the first"),
        "{said}"
    );
    let (_, said) = text(&["runout", "--closing", "--readings", ring]);
    assert!(!said.contains("like the first"), "{said}");
}

#[test]
fn a_study_says_what_came_out_negative_and_that_no_spread_is_not_zero() {
    // Worked by hand beside the model: people (0 − 8)/4 = −2 µm², the interaction's 3.99 stays.
    let (_, got) = json(&[
        "study",
        "--part",
        "0.0099 0.0101 / 0.0119 0.0121",
        "--part",
        "0.0119 0.0121 / 0.0099 0.0101",
    ]);
    assert_eq!(got["people_set_to_zero"], true, "{got:#}");
    let s = got["reproducibility"]["sd_um"].as_f64().unwrap();
    assert!((s - 1.9975).abs() < 0.001, "{got:#}");
    let (_, said) = text(&["study", "--part", "1.0 1.0", "--part", "2.0 2.0"]);
    assert!(said.contains("every repeat was the same"), "{said}");
}

#[test]
fn fewer_than_four_points_of_a_disc_are_asked_about() {
    let few = ["disc", "--readings", "22.01 22.00", "--limit", "22"];
    let (code, said) = super::text(&few);
    assert_eq!(code, 2, "{said}");
    assert!(said.contains("2 points tell too little"), "{said}");
    let (code, _) = super::text(&[&few[..], &["--confirm"]].concat());
    assert_eq!(
        code, 1,
        "kept once somebody says so: two points prove nothing"
    );
    let four = [
        "disc",
        "--readings",
        "22.41 22.40 22.41 22.40",
        "--limit",
        "22",
    ];
    assert_ne!(super::text(&four).0, 2);
}
