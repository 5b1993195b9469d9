//! Every example printed by `--help` runs and gives what stands below it.

use serde_json::Value;

use super::{agrees, json, run, word};

/// The example in the help of a check, as its arguments after `check`.
fn example(name: &str) -> (Vec<String>, String) {
    let output = run(&[name, "--help"], "");
    let help = String::from_utf8(output.stdout).unwrap();
    let start = help
        .find("  brakecorner check ")
        .unwrap_or_else(|| panic!("{name}: no example"));
    let (command, below) = help[start..].split_once("\n\n").unwrap();
    for line in help[start..].lines() {
        assert!(
            line.chars().count() <= 88,
            "{name}: too long to copy: {line}"
        );
    }
    let words = shell_words(command);
    assert_eq!(words[..2], ["brakecorner", "check"], "{name}");
    (words[2..].to_vec(), below.to_owned())
}

/// Words as a shell splits them: double quotes, and a backslash at the end of a line.
fn shell_words(command: &str) -> Vec<String> {
    let joined = command.replace("\\\n", " ");
    let mut words = vec![];
    let mut word: Option<String> = None;
    let mut quoted = false;
    for c in joined.chars() {
        match c {
            '"' => {
                quoted = !quoted;
                word.get_or_insert_default();
            }
            c if c.is_whitespace() && !quoted => words.extend(word.take()),
            c => word.get_or_insert_default().push(c),
        }
    }
    words.extend(word);
    words
}

/// Runs the example and gives the exit code, the answer, and the text below the example.
fn run_example(name: &str) -> (i32, Value, String) {
    let (args, below) = example(name);
    let args: Vec<&str> = args.iter().map(String::as_str).collect();
    let (code, answer) = json(&args);
    (code, answer, below)
}

#[test]
fn the_disc_example_is_inside_and_not_proven() {
    let (code, answer, below) = run_example("disc");
    assert_eq!((code, word(&answer, "/verdict")), (1, "ADVISE"));
    assert_eq!(word(&answer, "/proof"), "not_proven");
    assert!(below.contains("ADVISE"));
}

#[test]
fn the_runout_example_is_the_ring_with_rust_under_the_disc() {
    // Source: the demo's independently computed results (computed).
    let (code, answer, below) = run_example("runout");
    assert_eq!((code, word(&answer, "/verdict")), (1, "FAIL"));
    agrees(&answer, "/tir_mm", 0.109, 3);
    agrees(&answer, "/fit/peak_to_peak_mm", 0.1155, 4);
    agrees(&answer, "/fit/high_spot_deg", 15.6, 1);
    for figure in ["0.109 mm", "0.1155 mm", "15.6°"] {
        assert!(below.contains(figure), "{figure}: {below}");
    }
}

#[test]
fn the_clocking_example_predicts_the_worked_run_outs() {
    // Worked by plane vectors: hub 31 µm at 40°, disc 27 µm at 55° (amplitudes), five holes.
    let (code, answer, below) = run_example("clocking");
    assert_eq!(code, 0);
    agrees(&answer, "/hub/tir_mm", 0.062, 4);
    agrees(&answer, "/hub/high_spot_deg", 40.0, 1);
    agrees(&answer, "/disc/tir_mm", 0.054, 4);
    agrees(&answer, "/disc/high_spot_deg", 55.0, 1);
    for (k, um) in [115.0, 84.3, 22.6, 50.5, 102.0].into_iter().enumerate() {
        agrees(&answer, &format!("/clockings/{k}/tir_mm"), um / 1000.0, 4);
        assert!(below.contains(&format!("{um:.1}")), "{below}");
    }
    assert_eq!(answer["best_holes"], 2);
    assert_eq!(answer["refused"], false);
}

#[test]
fn the_shim_example_needs_the_worked_plate() {
    // Worked: 0.10 mm at Ø280 on a Ø150 flange.
    let (code, answer, below) = run_example("shim");
    assert_eq!(code, 0);
    agrees(&answer, "/ideal/taper_mm", 0.0536, 4);
    agrees(&answer, "/ideal/arc_minutes", 1.23, 2);
    agrees(&answer, "/ideal/thick_at_deg", 180.0, 1);
    assert!(below.contains("0.0536") && below.contains("1.23"));
    // By hand: a plate of 0.04 tilts by 0.0747 at 144° from the high spot; 0.1 and that leave 0.0591.
    agrees(&answer, "/best/size_mm", 0.04, 3);
    agrees(&answer, "/best/residual_mm", 0.0591, 4);
    assert_eq!(answer["best"]["hole"], 3);
}

#[test]
fn the_hub_example_grows_with_the_radius() {
    let (code, answer, below) = run_example("hub");
    assert_eq!(code, 0);
    agrees(&answer, "/scaled_mm", 0.028 * 130.0 / 62.0, 4);
    assert!(below.contains("0.0587"));
}

#[test]
fn the_bearing_example_takes_the_loosest_cycle() {
    let (code, answer, below) = run_example("bearing");
    assert_eq!((code, word(&answer, "/verdict")), (0, "PASS"));
    agrees(&answer, "/float_mm", 0.010, 3);
    assert!(below.contains("PASS"));
}

#[test]
fn the_pad_example_is_worn_through_inside() {
    let (code, answer, below) = run_example("pad");
    assert_eq!((code, word(&answer, "/verdict")), (1, "FAIL"));
    agrees(&answer, "/min_mm", 0.7, 1);
    agrees(&answer, "/inner_outer_mm", -4.2, 1);
    assert!(below.contains("4.2 mm") && below.contains("FAIL"));
}

#[test]
fn the_drum_example_has_its_printed_size() {
    let (code, answer, below) = run_example("drum");
    assert_eq!((code, word(&answer, "/verdict")), (0, "PASS"));
    agrees(&answer, "/left_mm", 0.69, 2);
    agrees(&answer, "/ovality_mm", 0.02, 2);
    agrees(&answer, "/bell_mouth_mm", 0.035, 3);
    assert!(below.contains("0.69") && below.contains("0.035"));
}

#[test]
fn the_wear_example_plans_by_the_lower_bound() {
    // Source: the demo's independently computed forecast (computed).
    let (code, answer, below) = run_example("wear");
    assert_eq!((code, word(&answer, "/verdict")), (1, "ADVISE"));
    agrees(&answer, "/rate_mm_per_1000km", 0.11705, 5);
    assert_eq!(answer["distance_left_km"], 7796);
    assert_eq!(answer["distance_left_lower_km"], 5337);
    assert!(below.contains("5337"));
}

#[test]
fn the_rollers_example_is_out_of_balance_behind() {
    // Limits: annual-test inspection manual 1.2.1, 1.2.2, 1.4.2 (read).
    let (code, answer, below) = run_example("rollers");
    assert_eq!((code, word(&answer, "/verdict")), (1, "FAIL"));
    agrees(&answer, "/axles/0/imbalance_percent", 1.79, 2);
    agrees(&answer, "/axles/1/imbalance_percent", 35.93, 2);
    agrees(&answer, "/service_efficiency_percent", 82.32, 2);
    agrees(&answer, "/parking_efficiency_percent", 20.65, 2);
    assert!(below.contains("35.93") && below.contains("82.32") && below.contains("20.65"));
}

#[test]
fn the_fluid_example_is_below_midway() {
    // Boiling points: 49 CFR 571.116 S5.1 (secondary).
    let (code, answer, below) = run_example("fluid");
    assert_eq!((code, word(&answer, "/verdict")), (1, "ADVISE"));
    assert_eq!(
        (answer["dry_min_c"].as_f64(), answer["wet_min_c"].as_f64()),
        (Some(230.0), Some(155.0))
    );
    assert!(below.contains("192.5"));
}

#[test]
fn the_torque_example_goes_round_as_a_star() {
    let (code, answer, below) = run_example("torque");
    assert_eq!(code, 0);
    assert_eq!(answer["stages_nm"], serde_json::json!([42.0, 84.0, 140.0]));
    assert_eq!(answer["order"], serde_json::json!([1, 3, 5, 2, 4]));
    assert_eq!(answer["passes"].as_array().unwrap().len(), 4);
    assert_eq!(answer["passes"][3]["verification"], true);
    assert_eq!(
        answer["retorque"],
        serde_json::json!({"distance_km": 50.0, "days": 7})
    );
    agrees(&answer, "/tolerance_nm", 7.0, 3);
    assert!(below.contains("1 3 5 2 4"));
}

#[test]
fn the_pedal_example_keeps_a_third_of_its_travel() {
    // 100 (130 − 45)/130 = 65.38 (own arithmetic).
    let (code, answer, below) = run_example("pedal");
    assert_eq!(code, 0, "{answer}");
    agrees(&answer, "/used_percent", 65.384_615, 6);
    assert_eq!(answer["sinks"], false);
    assert!(below.contains("65.4 %"));
}

#[test]
fn a_pedal_that_sinks_or_goes_too_far_is_not_good() {
    let (code, answer) = json(&["pedal", "--free", "130", "--pressed", "26"]);
    assert_eq!(code, 0, "exactly 80 % is allowed: {answer}");
    let (code, answer) = json(&["pedal", "--free", "130", "--pressed", "25.9"]);
    assert_eq!(code, 1, "{answer}");
    let held = [
        "pedal",
        "--free",
        "130",
        "--pressed",
        "45",
        "--after-hold",
        "44",
    ];
    let (code, answer) = json(&held);
    assert_eq!(code, 1, "{answer}");
    assert!(word(&answer, "/reasons/0").contains("sinks"));
}

#[test]
fn the_study_example_separates_gauge_people_and_parts() {
    // Mean squares 1190.33, 48, 16 and 2.333 µm² by hand (own arithmetic).
    let (code, answer, below) = run_example("study");
    assert_eq!(code, 0, "{answer}");
    agrees(&answer, "/repeatability/sd_um", 1.527_525, 2);
    agrees(&answer, "/reproducibility/sd_um", 3.488_075, 2);
    agrees(&answer, "/part_spread/sd_um", 17.134_274, 2);
    assert!(below.contains("1.53 µm"));
}

#[test]
fn a_ragged_study_names_every_hole_at_once() {
    let args = ["study", "--part", "1 2 / 1", "--part", "1 2 / 1 / 3"];
    let output = run(&args, "");
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert!(said.matches("repeats of one part").count() >= 2, "{said}");
    let output = run(&["study", "--part", "1 2 / ", "--part", "x 2"], "");
    let said = String::from_utf8(output.stderr).unwrap();
    assert!(said.contains("two slashes") && said.contains('x'), "{said}");
}

#[test]
fn the_list_of_checks_says_what_each_ones_own_help_says() {
    let list = String::from_utf8(run(&["--help"], "").stdout).unwrap();
    for name in [
        "disc", "runout", "clocking", "shim", "hub", "bearing", "pad", "drum", "wear", "rollers",
        "fluid", "torque", "pedal", "study",
    ] {
        let own = String::from_utf8(run(&[name, "--help"], "").stdout).unwrap();
        let first = own.lines().next().unwrap();
        assert!(list.contains(first), "{name}: `{first}` is not in {list}");
    }
}
