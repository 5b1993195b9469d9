//! Honest work is not held up: what the vehicle has not, what may be left out, a bearing that is felt.

use crate::common::{Yard, typed_found};

const VIN: &str = "A0ZDL07V7NK001122";

fn open(yard: &Yard, job: &str, more: &[&str]) -> crate::common::Said {
    let mut args = vec![
        "job",
        "open",
        job,
        "--vin",
        VIN,
        "--odometer",
        "84200",
        "--class",
        "N1",
    ];
    args.extend(more);
    yard.run(&args)
}

fn verdict(yard: &Yard, job: &str) -> serde_json::Value {
    yard.run(&["verdict", job, "--json"]).json()
}

fn items(verdict: &serde_json::Value, corner: &str) -> Vec<(String, String)> {
    let items = verdict["corners"][corner]["items"].as_array().unwrap();
    let text = |v: &serde_json::Value| v.as_str().unwrap().to_owned();
    items
        .iter()
        .map(|i| (text(&i["item"]), text(&i["verdict"])))
        .collect()
}

fn of(verdict: &serde_json::Value, corner: &str, item: &str) -> Option<String> {
    let all = items(verdict, corner);
    all.into_iter()
        .find(|(id, _)| id == item)
        .map(|(_, verdict)| verdict)
}

/// Every item but those of the refit is settled: what keeps the vehicle open is nothing of these.
fn open_items(verdict: &serde_json::Value) -> Vec<String> {
    let mut open = Vec::new();
    for corner in ["FL", "FR", "RL", "RR"] {
        let here = items(verdict, corner).into_iter();
        let here = here.filter(|(_, v)| v == "NOT INSPECTED" || v == "NO LIMIT");
        open.extend(here.map(|(item, _)| format!("{corner} {item}")));
    }
    let vehicle = verdict["vehicle"]["items"].as_array().unwrap();
    let here = vehicle.iter().filter(|i| i["verdict"] == "NOT INSPECTED");
    open.extend(here.map(|i| i["item"].as_str().unwrap().to_owned()));
    open.retain(|item| !item.contains("torque.") && !item.contains("pedal.firm"));
    open
}

#[test]
fn a_car_without_a_pad_wear_sensor_is_not_incomplete() {
    let yard = Yard::with_job();
    let typed: String = typed_found();
    // Sensor of the pads is the sixth look of a corner: not fitted instead of sound, at one corner.
    let mut lines: Vec<&str> = typed.lines().collect();
    lines[6] = "-\n5";
    let typed = lines.join("\n") + "\n";
    let said = yard.typed(&["walk", "T-1", "--part", "found"], &typed);
    assert!(
        said.out
            .contains("FL sensor.wear → not fitted to this vehicle"),
        "{}",
        said.out
    );
    let verdict = verdict(&yard, "T-1");
    assert_eq!(of(&verdict, "FL", "sensor.wear"), None);
    assert_eq!(open_items(&verdict), Vec::<String>::new());
    let listed = &verdict["not_part"][0];
    assert_eq!(
        (listed["place"].as_str(), listed["item"].as_str()),
        (Some("FL"), Some("sensor.wear"))
    );
    assert!(
        listed["why"]
            .as_str()
            .unwrap()
            .contains("said by Ilse Varga on"),
        "{listed}"
    );
    // Remembered, and shown with who and when when the next job is opened.
    let said = open(&yard, "T-2", &["--absent", "rear:sensor.wear"]).ends(0);
    assert!(
        said.out
            .contains("not fitted: FL sensor.wear (said by Ilse Varga on"),
        "{}",
        said.out
    );
    assert!(
        said.out.contains("not fitted: RR sensor.wear"),
        "{}",
        said.out
    );
    let said = yard.run(&["vehicle", "show", VIN]).ends(0);
    assert!(said.out.contains("RL sensor.wear (said by"), "{}", said.out);
    // Looked at after all, it is there, and stays so.
    yard.run(&["log", "T-2", "RL", "sensor.wear", "defect", "damp"])
        .ends(0);
    assert_eq!(
        of(&self::verdict(&yard, "T-2"), "RL", "sensor.wear").unwrap(),
        "ADVISE"
    );
    let said = yard
        .run(&["log", "T-2", "RL", "sensor.wear", "absent"])
        .ends(2);
    assert!(said.err.contains("a defect was logged"), "{}", said.err);
    assert!(
        !yard
            .run(&["vehicle", "show", VIN])
            .out
            .contains("RL sensor.wear")
    );
}

#[test]
fn only_what_the_registry_marks_may_be_not_fitted() {
    let yard = Yard::with_job();
    for (place, item) in [
        ("FL", "hose"),
        ("FL", "pads.thickness"),
        ("RL", "bearing.float"),
    ] {
        let said = yard.run(&["log", "T-1", place, item, "absent"]).ends(2);
        assert!(
            said.err
                .contains("not fitted may be: sensor.speed, sensor.wear, slide_pins, springs"),
            "{}",
            said.err
        );
        let said = open(&yard, "T-2", &["--absent", &format!("{place}:{item}")]).ends(2);
        assert!(said.err.contains("is on every vehicle"), "{}", said.err);
    }
    for wrong in ["FL", "vehicle:sensor.wear", "XX:springs", "FL:wings"] {
        open(&yard, "T-2", &["--absent", wrong]).ends(2);
    }
    assert!(!yard.path("jobs/T-2").exists());
    // A sheet that gives a torque for the slide pins has them; another may be of a fixed calliper.
    let open = [
        "job",
        "open",
        "W-1",
        "--vin",
        "A0ZWR05C6LK004096",
        "--odometer",
        "96705",
    ];
    yard.run(&open).ends(0);
    let said = yard
        .run(&["log", "W-1", "FL", "slide_pins", "absent"])
        .ends(2);
    assert!(
        said.err.contains("gives a torque for the slide pins"),
        "{}",
        said.err
    );
    yard.run(&["log", "T-1", "FL", "slide_pins", "absent"])
        .ends(0);
}

#[test]
fn without_a_fluid_tester_the_job_is_not_incomplete() {
    let yard = Yard::with_job();
    let typed = typed_found();
    let without = typed.trim_end().rsplit_once('\n').unwrap().0;
    yard.typed(
        &["walk", "T-1", "--part", "found"],
        &format!("{without}\n\n"),
    );
    let verdict = verdict(&yard, "T-1");
    assert_eq!(open_items(&verdict), Vec::<String>::new());
    assert_eq!(verdict["not_part"][0]["item"], "fluid.boiling");
    let said = yard.run(&["verdict", "T-1"]);
    assert!(
        said.out.contains("not part of this inspection"),
        "{}",
        said.out
    );
    // A reason given in so many words says no more.
    yard.run(&[
        "log",
        "T-1",
        "vehicle",
        "fluid.boiling",
        "not-inspected",
        "no tester",
    ])
    .ends(0);
    let said = self::verdict(&yard, "T-1");
    assert!(
        said["not_part"][0]["why"]
            .as_str()
            .unwrap()
            .contains("no tester"),
        "{said}"
    );
    // Measured, it counts.
    yard.run(&["log", "T-1", "vehicle", "fluid.boiling", "120", "--confirm"])
        .ends(0);
    let said = self::verdict(&yard, "T-1");
    assert_eq!(said["not_part"], serde_json::Value::Null);
    assert_eq!(said["as_found"], "FAIL");
}

/// The workshop's own sheet of the van, without a figure for the bearing.
fn without_a_figure() -> Yard {
    let yard = Yard::with_job();
    let sheet = include_str!("../../specs/vehicles/merlock-dunling.toml");
    let sheet: String = sheet
        .lines()
        .filter(|line| !line.contains("bearing_float_max"))
        .map(|line| format!("{line}\n"))
        .collect();
    std::fs::create_dir_all(yard.path("specs")).unwrap();
    std::fs::write(yard.path("specs/merlock-dunling.toml"), sheet).unwrap();
    open(&yard, "T-2", &[]).ends(0);
    yard
}

#[test]
fn without_a_figure_the_bearing_is_felt_and_the_job_is_not_incomplete() {
    let yard = without_a_figure();
    // The end float's place in the walk takes the look.
    let typed = typed_found();
    let mut lines: Vec<String> = typed.lines().map(str::to_owned).collect();
    for at in 0..lines.len() {
        if at > 0
            && lines[at - 1] == "0"
            && lines[at].starts_with("0.00")
            && lines[at + 1].is_empty()
        {
            "0".clone_into(&mut lines[at]);
        }
    }
    let said = yard.typed(
        &["walk", "T-2", "--part", "found"],
        &(lines.join("\n") + "\n"),
    );
    assert!(
        said.out.contains("3 slight play in the wheel bearing"),
        "{}",
        said.out
    );
    let verdict = verdict(&yard, "T-2");
    assert_eq!(of(&verdict, "FL", "bearing.float").unwrap(), "PASS");
    assert_eq!(open_items(&verdict), Vec::<String>::new(), "{}", said.out);
    assert!(
        verdict["not_part"]
            .to_string()
            .contains("end float was not measured"),
        "{}",
        verdict["not_part"]
    );
}

#[test]
fn what_is_felt_at_the_bearing_is_judged_and_voids_the_run_out() {
    for yard in [without_a_figure(), {
        let yard = Yard::with_job();
        open(&yard, "T-2", &[]).ends(0);
        yard
    }] {
        let ring = [
            "0.000", "0.004", "0.008", "0.004", "-0.001", "-0.012", "-0.019", "-0.022", "-0.017",
            "-0.011", "-0.001",
        ];
        let mut args = vec!["log", "T-2", "FL", "disc.runout"];
        args.extend(ring);
        yard.run(&args).ends(0);
        yard.run(&["log", "T-2", "FL", "bearing.float", "0.006"])
            .ends(0);
        assert_eq!(
            of(&verdict(&yard, "T-2"), "FL", "disc.runout").unwrap(),
            "PASS"
        );
        for (code, bearing, runout) in [
            ("play", "ADVISE", "PASS"),
            ("rough", "FAIL", "NOT INSPECTED"),
            ("clear_play", "FAIL", "NOT INSPECTED"),
        ] {
            yard.run(&[
                "log",
                "T-2",
                "FL",
                "bearing.float",
                "defect",
                code,
                "--confirm",
            ])
            .ends(0);
            let verdict = verdict(&yard, "T-2");
            assert_eq!(
                of(&verdict, "FL", "bearing.float").unwrap(),
                bearing,
                "{code}"
            );
            assert_eq!(of(&verdict, "FL", "disc.runout").unwrap(), runout, "{code}");
        }
    }
}

#[test]
fn a_bearing_nobody_felt_is_not_inspected() {
    let yard = without_a_figure();
    assert_eq!(
        of(&verdict(&yard, "T-2"), "FL", "bearing.float").unwrap(),
        "NOT INSPECTED"
    );
    yard.run(&["log", "T-2", "FL", "bearing.float", "0.006"])
        .ends(0);
    assert_eq!(
        of(&verdict(&yard, "T-2"), "FL", "bearing.float").unwrap(),
        "NOT INSPECTED",
        "an end float without a figure says nothing"
    );
    yard.run(&["log", "T-2", "FL", "bearing.float", "sound"])
        .ends(0);
    assert_eq!(
        of(&verdict(&yard, "T-2"), "FL", "bearing.float").unwrap(),
        "PASS"
    );
    // With the maker's figure the look alone is not the measurement.
    let yard = Yard::with_job();
    yard.run(&["log", "T-1", "FL", "bearing.float", "sound"])
        .ends(0);
    assert_eq!(
        of(&verdict(&yard, "T-1"), "FL", "bearing.float").unwrap(),
        "NOT INSPECTED"
    );
}
