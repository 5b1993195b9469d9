//! Policy, schedule and item names.

use super::help::*;

#[test]
fn the_policy_file_and_the_built_in_policy_are_the_same() {
    let (file, text) = builtin_policies()[0];
    assert_eq!(Policy::parse(text, file).unwrap(), Policy::builtin());
    // A figure missing from the file would keep its default unnoticed, so look for each line.
    for (table, stem, _, _) in Policy::builtin().list() {
        let section = text.split(&format!("[{table}]\n")).nth(1).unwrap();
        let section = section.split("\n[").next().unwrap();
        let stands = section.lines().any(|line| line.starts_with(stem));
        assert!(stands, "[{table}] {stem} is not in the file");
    }
}

#[test]
fn the_policy_holds_the_agreed_defaults() {
    let policy = Policy::builtin();
    let (own, practice) = (PolicyOrigin::Own, PolicyOrigin::CommonPractice);
    for (name, figure, um, origin) in [
        ("disc left", &policy.disc_left_advise, 300, &own),
        ("variation limit", &policy.dtv_limit, 20, &practice),
        ("variation advise", &policy.dtv_advise, 10, &practice),
        (
            "variation advise, judder",
            &policy.dtv_advise_judder,
            8,
            &practice,
        ),
        ("run-out limit", &policy.runout_limit, 100, &practice),
        (
            "run-out advise, judder",
            &policy.runout_advise_judder,
            50,
            &practice,
        ),
        ("order 2", &policy.runout_order2_advise, 20, &practice),
        ("closing", &policy.runout_closing, 5, &own),
        ("scoring", &policy.scoring_advise, 500, &own),
        ("scoring, severe", &policy.scoring_severe, 1_500, &own),
        ("discs left and right", &policy.disc_left_right, 500, &own),
        ("pads", &policy.pads_plan, 3_000, &practice),
        ("inner and outer", &policy.pads_inner_outer, 2_000, &own),
        ("pads left and right", &policy.pads_left_right, 2_000, &own),
        ("new thickness", &policy.pads_new_uncertainty, 300, &own),
        ("linings", &policy.linings_margin, 500, &own),
        ("repeatability", &policy.gauge_repeatability, 3, &own),
        ("zero check", &policy.zero_check_uncertainty, 1, &own),
        ("zero error, 0.001 mm", &policy.zero_error_fine, 2, &own),
        ("zero error, 0.01 mm", &policy.zero_error_coarse, 5, &own),
        ("neighbours", &policy.ask_neighbour, 300, &own),
        ("above new", &policy.ask_above_new, 500, &own),
    ] {
        assert_eq!(
            (figure.value.nm(), &figure.origin),
            (um * 1_000, origin),
            "{name}"
        );
    }
    assert_eq!(policy.torque_stages.value, [30, 60, 100]);
    assert_eq!(policy.retorque_distance.value.to_string(), "50 km");
    assert_eq!(
        (policy.retorque_days.value, policy.retorque_turned_deg.value),
        (7, 10)
    );
    assert_eq!(policy.rollers_margin.value.to_string(), "5 %");
    assert_eq!(policy.temperature_given.value.millidegrees(), 1_000);
    assert_eq!(policy.temperature_unknown.value.millidegrees(), 15_000);
    // Grey iron 11.4e-6 /K (textbook table, R), half-width of the assumption 0.6e-6 /K.
    assert_eq!(
        (
            policy.expansion_ppb.value,
            policy.expansion_half_width_ppb.value
        ),
        (11_400, 600)
    );
    // 95 %: ISO 14253-1:2017 (S).
    assert_eq!(policy.proof.value.to_string(), "95 %");
}

#[test]
fn specifications_and_jobs_name_the_same_items() {
    let specified: Vec<&str> = items::ITEMS.iter().map(|item| item.id).collect();
    let judged: Vec<&str> = Item::ALL.iter().map(|item| item.id()).collect();
    assert_eq!(specified, judged);
}

#[test]
fn the_routine_schedule_covers_what_each_depth_needs() {
    let (file, text) = builtin_schedules()[0];
    let routine = Schedule::parse(text, file).unwrap();
    let items = |depth, brake| -> Vec<String> {
        routine
            .corner_items(depth, brake)
            .map(|item| item.item.clone())
            .collect()
    };
    let disc = BrakeKind::Disc { vented: true };
    let quick = items(Depth::Quick, disc);
    for item in [
        "hose",
        "pads.thickness",
        "disc.runout",
        "disc.thickness",
        "bearing.float",
    ] {
        assert!(quick.iter().any(|known| known == item), "{item}");
    }
    assert!(!quick.iter().any(|item| item == "disc.variation"));
    assert!(
        routine
            .vehicle_items(Depth::Quick)
            .all(|item| item.item != "fluid.boiling")
    );
    assert!(
        routine
            .vehicle_items(Depth::Full)
            .any(|item| item.item == "fluid.boiling")
    );
    // The run-out is void with a loose bearing, so the bearing comes first at either depth.
    for depth in [Depth::Quick, Depth::Full] {
        let items = items(depth, disc);
        let at = |wanted: &str| items.iter().position(|item| item == wanted).unwrap();
        assert!(at("pads.thickness") < at("bearing.float"));
        assert!(at("bearing.float") < at("disc.runout"));
        assert!(at("disc.runout") < at("disc.thickness"));
    }
    // What the quick depth schedules, the full depth does too.
    for brake in [disc, BrakeKind::Drum] {
        let full = items(Depth::Full, brake);
        assert!(
            items(Depth::Quick, brake)
                .iter()
                .all(|item| full.contains(item))
        );
    }
    let plan = routine.plan(Depth::Full);
    assert_eq!(
        [3, 4, 5, 6, 10].map(|fasteners| plan.points(fasteners)),
        [12, 8, 10, 12, 20]
    );
    assert_eq!(routine.plan(Depth::Quick).points(5), 4);
    assert_eq!(routine.plan(Depth::Quick).runout, RunoutReading::Swept);
    assert_eq!(plan.runout, RunoutReading::SweptAndRing);
}
