//! Worked examples, decision rules and options one by one.

use serde_json::{Value, json as value};

use super::{agrees, json, json_with, number, text, word};

#[test]
fn the_worked_uncertainty_leaves_22_004_unproven_against_22() {
    // Worked: a = 4 µm, d = 1 µm, s = 3 µm, zero 2 µm give u = 4.29 µm and 0.824; the temperature,
    // given to ±1 K, adds 0.0024 µm. Source of the rule: JCGM 106:2012 7.3 (from memory).
    let (code, got) = json(&[
        "disc",
        "--readings",
        "22.004 22.004 22.004 22.004",
        "--limit",
        "22",
        "--temperature",
        "20",
        "--mpe",
        "0.004",
        "--resolution",
        "0.001",
        "--repeatability",
        "0.003",
        "--zero-uncertainty",
        "0.002",
    ]);
    assert_eq!((code, word(&got, "/verdict")), (1, "ADVISE"));
    agrees(&got, "/u_mm", 0.00429, 5);
    agrees(&got, "/conformance_probability", 0.824, 3);
    assert_eq!(word(&got, "/proof"), "not_proven");
}

#[test]
fn the_noise_floor_is_the_range_of_normal_readings() {
    // 95 % range quantiles 4.29 (n = 8) and 4.47 (n = 10) in units of s: studentized-range tables
    // (computed). With d = 0.000001 mm only s remains.
    for (n, s, floor) in [
        (8, "0.003", 12.9),
        (10, "0.003", 13.4),
        (8, "0.001", 4.3),
        (10, "0.001", 4.5),
    ] {
        let readings = vec!["22.500"; n].join(" ");
        let (_, got) = json(&[
            "disc",
            "--readings",
            &readings,
            "--limit",
            "22",
            "--repeatability",
            s,
            "--resolution",
            "0.000001",
        ]);
        agrees(&got, "/dtv_floor_um", floor, 1);
    }
}

#[test]
fn more_readings_a_point_lower_the_floor() {
    let readings = "22.50 22.50 22.50 22.51 22.50 22.50 22.50 22.51 22.51 22.50 22.50 22.50";
    let (_, one) = json(&["disc", "--readings", readings, "--limit", "22"]);
    let (_, three) = json(&[
        "disc",
        "--readings",
        readings,
        "--limit",
        "22",
        "--readings-per-point",
        "3",
    ]);
    assert!(number(&three, "/dtv_floor_um") < number(&one, "/dtv_floor_um"));
    assert_eq!(three["readings_per_point"], 3);
}

#[test]
fn wear_fails_beyond_its_limit_and_not_exactly_at_it() {
    // Exactly at the limit is not beyond, but nothing is left: ADVISE. One step thinner is FAIL.
    for (reading, verdict) in [("22.000", "ADVISE"), ("21.999", "FAIL"), ("22.400", "PASS")] {
        let readings = [reading; 4].join(" ");
        let (code, got) = json(&[
            "disc",
            "--readings",
            &readings,
            "--limit",
            "22",
            "--temperature",
            "20",
        ]);
        assert_eq!(word(&got, "/verdict"), verdict, "{reading}");
        assert_eq!(code, i32::from(verdict != "PASS"), "{reading}");
    }
}

#[test]
fn without_a_limit_a_thickness_is_measured_and_not_judged() {
    let (code, got) = json(&["disc", "--readings", "22.01 22.00 22.02 22.01"]);
    assert_eq!((code, word(&got, "/verdict")), (1, "NO LIMIT"));
    agrees(&got, "/t_min_mm", 22.0, 3);
    for field in [
        "conformance_probability",
        "proof",
        "left_mm",
        "wear_fraction",
    ] {
        assert!(got[field].is_null(), "{field}");
    }
    assert!(
        got["reasons"][0].as_str().unwrap().contains("--limit"),
        "{got:#}"
    );
    for args in [
        vec!["bearing", "--readings", "0.01"],
        vec!["pad", "--inner", "6.0", "--outer", "6.1"],
        vec!["drum", "--open", "203.1 203.2"],
        vec![
            "rollers",
            "--service",
            "FL=3920,FR=3850",
            "--mass",
            "1432",
            "--confirm",
        ],
    ] {
        let (code, got) = json(&args);
        assert_eq!((code, word(&got, "/verdict")), (1, "NO LIMIT"), "{args:?}");
    }
}

#[test]
fn policy_alone_advises_and_never_fails() {
    let (code, got) = json(&["runout", "--swept", "0.150"]);
    assert_eq!((code, word(&got, "/verdict")), (1, "ADVISE"));
    assert_eq!(word(&got, "/proof"), "proven_out");
    let (code, got) = json(&["runout", "--swept", "0.047"]);
    assert_eq!((code, word(&got, "/verdict")), (0, "PASS"));
    let (code, got) = json(&["runout", "--swept", "0.055", "--complaint", "judder"]);
    assert_eq!((code, word(&got, "/verdict")), (1, "ADVISE"));
    let (code, got) = json(&["runout", "--swept", "0.150", "--limit", "0.080"]);
    assert_eq!((code, word(&got, "/verdict")), (1, "FAIL"));
}

#[test]
fn run_out_just_beyond_is_measured_again_unless_the_complaint_matches() {
    let beyond = ["runout", "--swept", "0.082", "--limit", "0.080"];
    assert_eq!(word(&json(&beyond).1, "/verdict"), "ADVISE");
    let mut complained = beyond.to_vec();
    complained.extend(["--complaint", "judder"]);
    assert_eq!(word(&json(&complained).1, "/verdict"), "FAIL");
}

#[test]
fn a_dial_that_does_not_return_is_no_measurement() {
    let moved = "0.000 0.010 0.020 0.030 0.020 0.010 0.009";
    let (code, got) = json(&["runout", "--closing", "--readings", moved, "--limit", "0.1"]);
    assert_eq!((code, word(&got, "/verdict")), (1, "NOT INSPECTED"));
    agrees(&got, "/closing_error_mm", 0.009, 3);
}

#[test]
fn a_slanted_stylus_shows_too_much() {
    // cos 60° = 0.5.
    let (_, got) = json(&["runout", "--swept", "0.100", "--stylus-angle", "60"]);
    agrees(&got, "/judged_mm", 0.05, 6);
}

#[test]
fn a_tilt_grows_with_the_radius_and_its_limit_is_met_there() {
    let (code, got) = json(&[
        "runout",
        "--swept",
        "0.028",
        "--radius",
        "62",
        "--at-radius",
        "130",
        "--limit",
        "0.05",
    ]);
    agrees(&got, "/judged_mm", 0.0587, 4);
    agrees(&got, "/scaled_mm", 0.0587, 4);
    agrees(&got, "/swept_mm", 0.028, 4);
    assert_eq!(code, 1);
}

#[test]
fn uneven_angles_recover_the_tilt() {
    // 0.05·cos(θ − 30°) at six uneven angles, to 0.1 µm.
    let degrees = [0.0f64, 17.0, 80.0, 133.0, 201.0, 299.0];
    let readings: Vec<String> = degrees
        .iter()
        .map(|d| format!("{:.4}", 0.05 * (d - 30.0).to_radians().cos()))
        .collect();
    let (_, got) = json(&[
        "runout",
        "--readings",
        &readings.join(" "),
        "--angles",
        "0 17 80 133 201 299",
    ]);
    agrees(&got, "/fit/peak_to_peak_mm", 0.1, 4);
    agrees(&got, "/fit/high_spot_deg", 30.0, 0);
    // With the return reading's own angle given too, it is the same ring.
    let closed = format!("{} {}", readings.join(" "), readings[0]);
    let (_, again) = json(&[
        "runout",
        "--closing",
        "--readings",
        &closed,
        "--angles",
        "0 17 80 133 201 299 360",
    ]);
    assert_eq!(got["fit"], again["fit"]);
}

#[test]
fn a_dial_past_its_zero_is_put_right() {
    let (_, got) = json(&[
        "runout",
        "--readings",
        "0.97 0.99 0.01 0.02 0.005 0.98",
        "--dial-turn",
        "1",
    ]);
    agrees(&got, "/tir_mm", 0.05, 6);
    assert_eq!(
        got["notes"]
            .as_array()
            .unwrap()
            .iter()
            .filter(|n| n.as_str().unwrap().contains("past the dial's zero"))
            .count(),
        3
    );
}

#[test]
fn two_opposed_dials_see_the_variation_without_the_wobble() {
    let (code, got) = json(&[
        "disc",
        "--dial-outer",
        "0 0.012 0.020 0.016 0.004 -0.008 -0.016 -0.012",
        "--dial-inner",
        "0 -0.010 -0.016 -0.010 0.002 0.010 0.016 0.010",
        "--repeatability",
        "0.0001",
        "--resolution",
        "0.001",
        "--dtv-limit",
        "0.015",
    ]);
    agrees(&got, "/dtv_um", 8.0, 1);
    agrees(&got, "/two_dials/tir_outer_mm", 0.036, 4);
    agrees(&got, "/two_dials/tir_inner_mm", 0.032, 4);
    assert_eq!((code, word(&got, "/verdict")), (0, "PASS"));
}

#[test]
fn a_disc_may_be_skimmed_to_its_machine_to_thickness_and_no_further() {
    let disc = |cut: &str| {
        json(&[
            "disc",
            "--readings",
            "24.304 24.306 24.305 24.304",
            "--temperature",
            "20",
            "--limit",
            "23",
            "--nominal",
            "26",
            "--machine-to",
            "23.6",
            "--cut",
            cut,
        ])
    };
    let (_, got) = disc("0.1");
    agrees(&got, "/skim/after_mm", 24.104, 4);
    assert!(
        word(&got, "/skim/sentence").starts_with("may be skimmed: after removing 0.100 mm a face")
    );
    let (_, got) = disc("0.4");
    assert!(word(&got, "/skim/sentence").starts_with("may not be skimmed"));
}

#[test]
fn lips_and_a_second_ring_describe_the_faces() {
    let (_, got) = json(&[
        "disc",
        "--readings",
        "22.13 22.13 22.13 22.13",
        "--nominal",
        "24",
        "--limit",
        "22",
        "--lip-outer",
        "0.86",
        "--lip-inner",
        "1.01",
        "--inner-ring",
        "22.03 22.03",
    ]);
    agrees(&got, "/faces/closure_mm", 0.0, 6);
    assert_eq!(got["faces"]["closes"], true);
    agrees(&got, "/taper_mm", 0.1, 6);
}

#[test]
fn a_warm_disc_reads_thick() {
    // 28 mm at 80 °C reads 0.019 mm thick (11.4e-6 per kelvin: a materials textbook, read).
    let readings = ["28.000"; 4].join(" ");
    let (_, got) = json(&["disc", "--readings", &readings, "--temperature", "80"]);
    agrees(&got, "/t_min_mm", 28.0 - 0.01914, 4);
    let fahrenheit = json(&["disc", "--readings", &readings, "--temperature", "176 F"]).1;
    assert_eq!(got["t_min_mm"], fahrenheit["t_min_mm"]);
}

#[test]
fn inches_and_millimetres_give_the_same_answer() {
    let (_, inches) = json(&[
        "disc",
        "--unit",
        "in",
        "--readings",
        "0.8665 0.8666 0.8666 0.8666",
        "--limit",
        "22mm",
    ]);
    let (_, suffixed) = json(&[
        "disc",
        "--readings",
        "0.8665in 0.8666 in 0.8666in 0.8666in",
        "--limit",
        "22",
    ]);
    assert_eq!(inches, suffixed);
    agrees(&inches, "/t_min_mm", 0.8665 * 25.4, 6);
}

#[test]
fn readings_come_from_the_standard_input_too() {
    let args = ["disc", "--readings", "-", "--limit", "22"];
    let (code, piped) = json_with(&args, "22.41\n22.42\n22,40\n22.43\n");
    let (plain, given) = json(&[
        "disc",
        "--readings",
        "22.41 22.42 22.40 22.43",
        "--limit",
        "22",
    ]);
    assert_eq!((code, piped), (plain, given));
}

#[test]
fn one_clocking_is_refused_with_the_best_second_one() {
    let (code, got) = json(&[
        "clocking",
        "--holes",
        "5",
        "--at",
        "0: 0 0.017 0.013 -0.011 -0.046 -0.078",
    ]);
    assert_eq!((code, &got["refused"]), (1, &Value::Bool(true)));
    assert!(got["best_holes"].is_null() && got["hub"].is_null());
    assert!(
        got["reasons"][0].as_str().unwrap().contains("clocking 2"),
        "{got:#}"
    );
}

#[test]
fn a_ring_far_from_its_prediction_is_not_believed() {
    let (code, got) = json(&[
        "clocking",
        "--holes",
        "5",
        "--at",
        "0: 0.0000 0.0172 0.0129 -0.0114 -0.0463 -0.0785 -0.0957 -0.0913 -0.0671 -0.0322",
        "--at",
        "2: 0.0000 0.0069 0.0118 0.0129 0.0098 0.0036 -0.0033 -0.0083 -0.0094 -0.0062",
        "--at",
        "1: 0.0000 0.0000 0.0000 0.0000 0.0000 0.0000 0.0000 0.0000 0.0000 0.0000",
    ]);
    assert_eq!((code, &got["closure_agrees"]), (1, &Value::Bool(false)));
}

#[test]
fn a_forecast_is_refused_by_name_and_an_odometer_in_miles_is_read() {
    for (visits, reason) in [
        ("60000:6.0", "start unknown"),
        ("60000:6.0 50000:5.0", "runs back"),
        ("60000:6.0 70000:7.0", "grows"),
        ("60000:6.00 70000:5.95", "wear of"),
        ("60000:6.0 60000:4.0", "no distance"),
    ] {
        let (code, got) = json(&["wear", "--visits", visits, "--limit", "2"]);
        assert_eq!(code, 1, "{visits}");
        assert!(word(&got, "/refused").contains(reason), "{visits}: {got:#}");
        assert_eq!(word(&got, "/verdict"), "NOT INSPECTED");
        assert!(got["distance_left_km"].is_null());
    }
    // 0.2 mm per 1000 km over 30 000 km, 4 mm left: 20 000 km in the middle.
    let one = [
        "wear",
        "--visits",
        "60000:6.0",
        "--fitted-at",
        "30000",
        "--nominal",
        "12",
        "--limit",
        "2",
    ];
    let (_, got) = json(&one);
    assert_eq!(got["distance_left_km"], 20_000);
    let miles = json(&[
        "wear",
        "--visits",
        "10000:6.0 20000:5.0",
        "--distance-unit",
        "mi",
        "--limit",
        "2",
    ])
    .1;
    agrees(&miles, "/rate_mm_per_1000km", 1.0 / 16.093_44, 6);
    // New parts begin a new series; what wore before does not count.
    let renewed = "10000:4.0 20000:12.0:new 30000:11.0 40000:10.0";
    let (_, got) = json(&["wear", "--visits", renewed, "--limit", "2"]);
    agrees(&got, "/rate_mm_per_1000km", 0.1, 6);
    assert_eq!(got["visits"], 3);
}

#[test]
fn forces_in_other_units_and_exceptions_of_the_pack() {
    let newtons = json(&[
        "rollers",
        "--service",
        "FL=3922.66,FR=3922.66",
        "--confirm",
        "--mass",
        "1000",
    ])
    .1;
    let kgf = json(&[
        "rollers",
        "--service",
        "FL=400,FR=400",
        "--confirm",
        "--unit",
        "kgf",
        "--mass",
        "1000",
    ])
    .1;
    assert_eq!(
        newtons["service_efficiency_percent"],
        kgf["service_efficiency_percent"]
    );
    agrees(&kgf, "/service_efficiency_percent", 80.0, 6);
    let gb = |more: &[&str]| {
        let mut args = vec![
            "rollers",
            "--mass",
            "1432",
            "--rules",
            "gb",
            "--class",
            "M1",
            "--first-used",
            "2020-06-11",
        ];
        args.extend(more);
        json(&args)
    };
    // Annual-test inspection manual 1.2.1 (read): not counted when the lower wheel locked.
    let (code, got) = gb(&[
        "--service",
        "FL=3920,FR=3850,RL=2310,RR=1480",
        "--locked",
        "RR",
    ]);
    assert_eq!(
        (code, &got["axles"][1]["counted"]),
        (1, &Value::Bool(false)), // which is no PASS
        "{got:#}"
    );
    let (code, got) = gb(&[
        "--service",
        "FL=3920,FR=3850,RL=2310,RR=1480",
        "--locked",
        "RL",
    ]);
    assert_eq!((code, &got["axles"][1]["counted"]), (1, &Value::Bool(true)));
    // … nor when the higher effort is not above 40 kg (392 N).
    let weak = ["--service", "FL=4920,FR=4850,RL=390,RR=100"];
    let (code, _) = text(&["rollers", weak[0], weak[1], "--mass", "1432"]);
    assert_eq!(code, 2, "twenty times apart is asked about");
    let (_, got) = gb(&[weak[0], weak[1], "--confirm"]);
    assert_eq!(got["axles"][1]["not_counted_because"], "too_weak");
    // 1.2.2 (read): earlier cars need 50 %.
    let old = [
        "rollers",
        "--service",
        "FL=1800,FR=1800,RL=2000,RR=2000",
        "--mass",
        "1432",
        "--rules",
        "gb",
        "--class",
        "M1",
    ];
    let with = |day: &str| {
        let mut args = old.to_vec();
        args.extend(["--first-used", day]);
        word(&json(&args).1, "/verdict").to_owned()
    };
    assert_eq!(with("2009-06-11"), "PASS"); // 54.1 %, 4.1 points inside: 5 % of 50 are 2.5
    assert_eq!(with("2012-06-11"), "FAIL");
    // The parking brake may be tested with another mass.
    let (_, got) = gb(&["--parking", "RL=1510,RR=1390", "--parking-mass", "2864"]);
    agrees(&got, "/parking_efficiency_percent", 20.65 / 2.0, 2);
}

#[test]
fn fluid_grades_have_their_published_boiling_points() {
    // Source: 49 CFR 571.116 S5.1 (secondary).
    for (grade, dry, wet) in [
        ("DOT3", 205.0, 140.0),
        ("dot 4", 230.0, 155.0),
        ("DOT5", 260.0, 180.0),
        ("DOT5.1", 260.0, 180.0),
    ] {
        let (_, got) = json(&["fluid", "--grade", grade, "--boiling", "200"]);
        assert_eq!(
            (got["dry_min_c"].as_f64(), got["wet_min_c"].as_f64()),
            (Some(dry), Some(wet)),
            "{grade}"
        );
    }
    for (boiling, verdict) in [
        ("155", "ADVISE"),
        ("154.9", "FAIL"),
        ("192.5", "PASS"),
        ("192.4", "ADVISE"),
        ("400 F", "PASS"),
    ] {
        let (code, got) = json(&["fluid", "--grade", "DOT4", "--boiling", boiling]);
        assert_eq!(word(&got, "/verdict"), verdict, "{boiling}");
        assert_eq!(code, i32::from(verdict != "PASS"));
    }
}

#[test]
fn torque_takes_tools_angles_and_crowfeet() {
    let (code, got) = json(&[
        "torque",
        "--fasteners",
        "4",
        "--target",
        "30",
        "--tool-range",
        "40-200",
    ]);
    assert_eq!((code, &got["tool"]["cover"]), (1, &value!("out_of_range")));
    let (code, got) = json(&[
        "torque",
        "--fasteners",
        "4",
        "--target",
        "35",
        "--tool-range",
        "20-200 Nm",
    ]);
    assert_eq!(
        (code, &got["tool"]["cover"]),
        (1, &value!("below_calibration"))
    );
    // By hand: 120 · 420/465 = 108.4.
    let (_, got) = json(&[
        "torque",
        "--fasteners",
        "6",
        "--target",
        "120",
        "--arm",
        "420",
        "--extension",
        "45",
        "--angle",
        "90",
        "--stages",
        "50 100",
    ]);
    agrees(&got, "/set_nm", 108.4, 1);
    assert_eq!(got["angle_deg"], 90.0);
    assert_eq!(got["stages_nm"], value!([60.0, 120.0]));
    assert_eq!(got["order"], value!([1, 4, 2, 5, 3, 6]));
    // 1 lbf·ft = 1.3558179483314004 N·m exactly (NIST SP 811, read through unit tables).
    let (_, got) = json(&["torque", "--fasteners", "5", "--target", "100 lbf·ft"]);
    agrees(&got, "/target_nm", 135.582, 3);
}

#[test]
fn every_fixed_field_is_there() {
    let sure = [
        "conformance_probability",
        "proof",
        "verdict",
        "reasons",
        "u_mm",
    ];
    let has = |args: &[&str], fields: &[&str]| {
        let (_, got) = json(args);
        for field in fields {
            assert!(
                got.get(field).is_some(),
                "{args:?}: {field} is missing in {got:#}"
            );
        }
    };
    let disc = [
        "t_min_mm",
        "t_mean_mm",
        "dtv_um",
        "dtv_floor_um",
        "wear_mm",
        "wear_fraction",
        "left_mm",
    ];
    has(
        &["disc", "--readings", "22 22 22 22"],
        &[&disc[..], &sure].concat(),
    );
    let runout = ["tir_mm", "swept_mm", "judged_mm", "closing_error_mm", "fit"];
    has(
        &["runout", "--swept", "0.01"],
        &[&runout[..], &sure].concat(),
    );
    has(
        &["clocking", "--holes", "5", "--at", "0: 0 1 0 -1"],
        &[
            "hub",
            "disc",
            "clockings",
            "best_holes",
            "closure_mm",
            "refused",
            "reasons",
        ],
    );
    has(
        &[
            "shim",
            "--tir",
            "0.1",
            "--high-spot",
            "0",
            "--diameter",
            "280",
            "--flange",
            "150",
        ],
        &["ideal", "choices", "best"],
    );
    has(
        &[
            "hub",
            "--swept",
            "0.1",
            "--radius",
            "60",
            "--at-radius",
            "130",
        ],
        &["tir_mm", "scaled_mm", "high_spot_deg"],
    );
    has(
        &["bearing", "--readings", "0.01"],
        &["float_mm", "u_mm", "proof", "verdict", "reasons"],
    );
    let pad = [
        "min_mm",
        "taper_mm",
        "inner_outer_mm",
        "wear_fraction",
        "left_mm",
    ];
    has(
        &["pad", "--inner", "6", "--outer", "6"],
        &[&pad[..], &sure].concat(),
    );
    has(
        &["drum", "--open", "203.1 203.2"],
        &[
            "max_mm",
            "ovality_mm",
            "bell_mouth_mm",
            "left_mm",
            "proof",
            "verdict",
            "reasons",
        ],
    );
    has(
        &["wear", "--visits", "1000:6"],
        &[
            "rate_mm_per_1000km",
            "left_mm",
            "distance_left_km",
            "distance_left_lower_km",
            "method",
            "verdict",
            "reasons",
        ],
    );
    has(
        &["rollers", "--parking", "RL=1,RR=1"],
        &[
            "axles",
            "service_efficiency_percent",
            "parking_efficiency_percent",
            "verdict",
            "reasons",
        ],
    );
    has(
        &["fluid", "--grade", "DOT4", "--boiling", "200"],
        &["boiling_c", "dry_min_c", "wet_min_c", "verdict", "reasons"],
    );
    has(
        &["torque", "--fasteners", "5", "--target", "140"],
        &[
            "target_nm",
            "stages_nm",
            "order",
            "passes",
            "tolerance_nm",
            "retorque",
        ],
    );
}

#[test]
fn text_keeps_to_eighty_columns_and_plain_text_to_ascii() {
    for args in [
        vec![
            "disc",
            "--readings",
            "22.004 22.006 22.010 22.004",
            "--limit",
            "22",
            "--nominal",
            "24",
            "--plain",
        ],
        vec![
            "runout",
            "--swept",
            "0.09",
            "--complaint",
            "judder",
            "--plain",
        ],
        vec![
            "torque",
            "--fasteners",
            "10",
            "--target",
            "140",
            "--tool-range",
            "40-200",
            "--plain",
        ],
        vec![
            "rollers",
            "--service",
            "FL=3920,FR=3850",
            "--confirm",
            "--mass",
            "1432",
            "--rules",
            "gb",
            "--plain",
        ],
        vec!["fluid", "--grade", "DOT4", "--boiling", "171", "--plain"],
    ] {
        let (_, out) = text(&args);
        assert!(out.is_ascii(), "{out}");
        assert!(out.contains("method:"), "{out}");
        for line in out.lines() {
            assert!(line.chars().count() <= 80, "{line}");
        }
    }
    let (_, out) = text(&["disc", "--readings", "22.4 22.4 22.4 22.4", "--limit", "22"]);
    assert!(
        out.starts_with("disc  ● PASS\n") || out.starts_with("disc  ◐ ADVISE\n"),
        "{out}"
    );
}

#[test]
fn too_large_a_zero_error_never_gives_a_pass() {
    // 2 µm are allowed for an instrument that shows 0.001 mm (this project's own figure).
    for (zero, verdict) in [("0.002", "PASS"), ("0.003", "ADVISE"), ("-0.003", "ADVISE")] {
        let (_, got) = json(&[
            "disc",
            "--readings",
            "23.000 23.001 23.000 23.001",
            "--limit",
            "22",
            "--temperature",
            "20",
            "--zero-error",
            zero,
        ]);
        assert_eq!(word(&got, "/verdict"), verdict, "{zero}: {got:#}");
    }
}

#[test]
fn a_crowfoot_changes_the_setting_of_every_pass() {
    // Own arithmetic: 400/(400 + 100) = 0.8; of 140 N·m in 30, 60, 100 %: 33.6, 67.2, 112 N·m.
    let args = [
        "torque",
        "--fasteners",
        "5",
        "--target",
        "140",
        "--arm",
        "400",
        "--extension",
        "100",
        "--tool-range",
        "40-200",
    ];
    let (code, said) = text(&args);
    assert_eq!(code, 0, "{said}");
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    for one in [
        // Below the range of 40-200: its lower end.
        "wrench set to 40 N·m",
        "wrench set to 67.2 N·m",
        "wrench set to 112 N·m",
    ] {
        assert!(said.contains(one), "{one}: {said}");
    }
    assert!(
        said.contains(
            "33.6 N·m is below the wrench's range: that pass is done at its lower end, 40 N·m"
        ),
        "{said}"
    );
    let (_, value) = json(&args);
    assert_eq!(value["passes"][0]["set_nm"], 40.0);
}

#[test]
fn a_forecast_in_miles_is_told_in_miles() {
    let (_, said) = text(&[
        "wear",
        "--visits",
        "38000:0.22in 45000:0.17in 52000:0.11in",
        "--distance-unit",
        "mi",
        "--limit",
        "2",
        "--mpe",
        "0.1",
    ]);
    // 5582 km over 1.25 are 4466 km, 2775.0 mi; 52000 mi + 2775 mi = 54775 mi.
    assert!(
        said.contains("2775 mi (4466 km) left at the least"),
        "{said}"
    );
    assert!(said.contains("odometer 54775 mi"), "{said}");
}
