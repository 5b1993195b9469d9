//! The commands around a verdict, as their user runs them: why, override, spec, vehicle.

// A test may stop at the first thing it cannot read.
#![allow(clippy::unwrap_used, clippy::panic)]

mod common;
#[path = "specs_and_vehicles/facts.rs"]
mod facts;
#[path = "specs_and_vehicles/logging.rs"]
mod logging;
#[path = "specs_and_vehicles/rows.rs"]
mod rows;
#[path = "specs_and_vehicles/terminal.rs"]
mod terminal;

use common::Yard;

const VAN: &str = "A0ZDL07V7NK001122";
const MINIBUS: &str = "A0ZTN12S0MK000417";

fn pads(yard: &Yard, job: &str, inner: &str, outer: &str) {
    let (inner, outer) = (format!("inner={inner}"), format!("outer={outer}"));
    yard.run(&["log", job, "RL", "pads.thickness", &inner, &outer])
        .ends(0);
}

/// Odometer in km and thickness in µm of the earlier readings of one item in a job's journal.
fn earlier(yard: &Yard, job: &str, corner: &str, item: &str) -> Vec<(i64, i64)> {
    yard.journal(job)
        .iter()
        .map(|line| serde_json::from_str::<serde_json::Value>(line).unwrap()["event"].clone())
        .filter(|e| e["kind"] == "earlier" && e["corner"] == corner && e["item"] == item)
        .map(|e| {
            (
                e["odometer"].as_i64().unwrap() / 1_000_000,
                e["nm"].as_i64().unwrap() / 1_000,
            )
        })
        .collect()
}

#[test]
fn a_vehicle_s_earlier_jobs_give_the_next_one_its_readings_until_parts_are_fitted() {
    let yard = Yard::with_job();
    let open = |job: &str, km: &str, more: &[&str]| {
        let mut args = vec![
            "job",
            "open",
            job,
            "--vin",
            VAN,
            "--odometer",
            km,
            "--confirm",
        ];
        args.extend(more);
        yard.run(&args).ends(0);
    };
    pads(&yard, "T-1", "5.6", "5.8");
    open("T-2", "95000", &[]);
    assert_eq!(
        earlier(&yard, "T-2", "RL", "pads.thickness"),
        [(84_120, 5_600)]
    );
    pads(&yard, "T-2", "4.4", "4.6");
    open(
        "T-3",
        "106000",
        &["--earlier", "RL:pads.thickness:60000:8.1:same"],
    );
    let visits = [(60_000, 8_100), (84_120, 5_600), (95_000, 4_400)];
    assert_eq!(earlier(&yard, "T-3", "RL", "pads.thickness"), visits);
    pads(&yard, "T-3", "3.2", "3.4");
    yard.typed(&["walk", "T-3"], "fitted rear pads\nquit\n")
        .ends(0);
    yard.run(&[
        "log",
        "T-3",
        "RL",
        "pads.thickness",
        "inner=11.0",
        "outer=11.0",
        "--as-left",
    ])
    .ends(0);
    open("T-4", "117000", &[]);
    assert_eq!(
        earlier(&yard, "T-4", "RL", "pads.thickness"),
        [(106_000, 11_000)]
    );
    // The sheet and the class are known by now.
    let opening = &yard.journal("T-4")[0];
    assert!(opening.contains(r#""class":"N1""#), "{opening}");
}

#[test]
fn a_plate_that_moved_an_odometer_that_ran_back_and_a_wrong_sheet_are_asked_about() {
    let yard = Yard::with_job();
    let open = |job: &str, vin: &str, more: &[&str]| {
        let mut args = vec!["job", "open", job, "--vin", vin];
        args.extend(more);
        yard.run(&args)
    };
    open(
        "T-2",
        VAN,
        &["--odometer", "84500", "--registration", "HW 12"],
    )
    .ends(0);
    let moved = ["--odometer", "10", "--registration", "hw-12"];
    let said = open("T-3", MINIBUS, &moved).ends(2);
    assert!(
        said.err.contains(VAN) && said.err.contains("moved"),
        "{}",
        said.err
    );
    assert!(!yard.path("jobs/T-3").exists(), "nothing was written");
    let shown = yard
        .run(&["vehicle", "show", "HW12", "--json"])
        .ends(0)
        .json();
    assert_eq!(shown["vin"], VAN);
    open("T-3", MINIBUS, &[&moved[..], &["--confirm"]].concat()).ends(0);
    let shown = yard
        .run(&["vehicle", "show", "hw 12", "--json"])
        .ends(0)
        .json();
    assert_eq!(shown["vin"], MINIBUS);
    let before = yard.run(&["vehicle", "show", VAN, "--json"]).ends(0).json();
    assert!(before["plate"][0]["until"].is_string(), "{before}");
    let said = open("T-4", VAN, &["--odometer", "8999"]).ends(2);
    assert!(said.err.contains("less than"), "{}", said.err);
    let said = open(
        "T-4",
        VAN,
        &["--odometer", "84900", "--sheet", "merlock-ternway"],
    )
    .ends(2);
    assert!(said.err.contains("right sheet"), "{}", said.err);
}

#[test]
fn a_vehicle_is_edited_field_by_field_and_refuses_what_it_cannot_have() {
    let yard = Yard::with_job();
    let edit = |args: &[&str]| yard.run(&[&["vehicle", "edit", VAN], args].concat());
    let json = edit(&[
        "--clockings",
        "front=0,2",
        "--note",
        "locating screw",
        "--json",
    ])
    .ends(0)
    .json();
    assert_eq!(json["clockings"]["front"], serde_json::json!([0, 2]));
    assert_eq!(json["note"], "locating screw");
    assert_eq!(json["sheet"], "merlock-dunling");
    for (args, words) in [
        (
            ["--clockings", "front=5"],
            "does not exist with 5 fasteners",
        ),
        (["--clockings", "third=0"], "is no axle"),
        (["--sheet", "nothing"], "no spec sheet fits"),
    ] {
        let said = edit(&args).ends(2);
        assert!(said.err.contains(words), "{}", said.err);
    }
    let after = yard.run(&["vehicle", "show", VAN, "--json"]).ends(0).json();
    assert_eq!(after, json, "what was refused changed nothing");
    std::fs::write(yard.path(&format!("vehicles/{VAN}.toml")), "vin = 7\n").unwrap();
    let said = yard.run(&["vehicle", "show", VAN]).ends(2);
    assert!(said.err.contains(&format!("{VAN}.toml")), "{}", said.err);
    assert!(
        yard.run(&["vehicle", "list"])
            .ends(0)
            .out
            .contains("does not read")
    );
}

#[test]
fn a_verdict_explains_itself_and_an_override_that_cannot_stand_is_not_written() {
    let yard = Yard::demo();
    let said = yard
        .run(&["verdict", "HWY-0411", "--why", "disc.thickness", "FL"])
        .ends(0);
    let mut at = 0;
    for words in [
        "1. Readings",
        "2. Corrections",
        "3. Statistic",
        "4. Uncertainty",
        "5. Limits",
        "6. Decision",
        "PASS",
    ] {
        at += said.out[at..]
            .find(words)
            .unwrap_or_else(|| panic!("{words}: {}", said.out));
    }
    // The section named for each step is in the method.
    let method = include_str!("../docs/method.md");
    for name in [
        "1. Numbers",
        "2. Uncertainty",
        "3. Conformity",
        "4. Disc",
        "5. Run-out",
        "7. Pads, drums, bearings",
        "8. Wear",
        "9. Forces, fluid, pedal, torque",
    ] {
        assert!(method.contains(&format!("## {name}")), "{name}");
    }
    let several = yard
        .run(&["verdict", "HWY-0411", "--why", "disc.thickness"])
        .ends(2);
    assert!(several.err.contains("FL, FR, RL, RR"), "{}", several.err);
    let before = yard.journal("HWY-0411").len();
    let over = |args: &[&str]| {
        let base = ["verdict", "HWY-0411", "--override"];
        yard.run(&[&base[..], args].concat())
    };
    for (args, words) in [
        (
            &["RL:sensor.speed", "--to", "PASS", "--reason", "dry"][..],
            "second person",
        ),
        (
            &["RL:hose", "--to", "PASS", "--reason", "fine"],
            "PASS already",
        ),
        (
            &["RL:drum.diameter", "--to", "FAIL", "--reason", "oval"],
            "nothing is judged there",
        ),
        (&["RL:hose", "--to", "FAIL", "--reason", " "], "no reason"),
    ] {
        let said = over(args).ends(2);
        assert!(said.err.contains(words), "{args:?}: {}", said.err);
        assert_eq!(
            yard.journal("HWY-0411").len(),
            before,
            "{args:?} wrote something"
        );
    }
    let said = over(&[
        "RL:hose",
        "--to",
        "FAIL",
        "--reason",
        "chafed nearly through",
        "--json",
    ])
    .ends(1);
    let json = said.json();
    assert_eq!(json["as_left"], "FAIL");
    assert_eq!(json["overrides"][0]["stands"], true);
    assert_eq!(json["overrides"][0]["by"], "Ilse Varga");
    assert_eq!(yard.journal("HWY-0411").len(), before + 1);
}

#[test]
fn sheets_are_listed_shown_checked_and_brought_in() {
    let yard = Yard::with_job();
    assert!(
        yard.run(&["spec", "list"])
            .ends(0)
            .out
            .contains("merlock-ternway")
    );
    assert!(
        yard.run(&["spec", "show", "ternway"])
            .ends(0)
            .out
            .contains("runout_max_mm = 0.080")
    );
    let said = yard.run(&["spec", "show", "merlock"]).ends(2);
    assert!(
        said.err
            .contains("fits several: sheet merlock-dunling, sheet merlock-pindle"),
        "{}",
        said.err
    );
    assert!(
        yard.run(&["spec", "show", "nothing"])
            .ends(2)
            .err
            .contains("nothing on file fits")
    );

    // Every problem of every file at once, with line and column.
    let template = yard.run(&["spec", "template"]).ends(0).out;
    std::fs::write(yard.path("specs/mine.toml"), &template).unwrap();
    let said = yard.run(&["spec", "check"]).ends(0);
    assert_eq!(said.out, "", "silent when all is well");
    let bad = template
        .replace("new_mm", "nwe_mm")
        .replace("fasteners", "fastners");
    std::fs::write(yard.path("specs/bad.toml"), bad).unwrap();
    std::fs::create_dir_all(yard.path("specs/rules")).unwrap();
    std::fs::write(yard.path("specs/rules/torn.toml"), "id = \"torn\n").unwrap();
    let said = yard.run(&["spec", "check"]).ends(2);
    for words in [
        "did you mean `new_mm`",
        "did you mean `fasteners`",
        "torn.toml:1:",
    ] {
        assert!(said.out.contains(words), "{words}: {}", said.out);
    }
    let json = yard.run(&["spec", "check", "--json"]).ends(2).json();
    assert!(json["lints"][0]["line"].is_u64(), "{json}");
    std::fs::remove_file(yard.path("specs/bad.toml")).unwrap();
    std::fs::remove_file(yard.path("specs/rules/torn.toml")).unwrap();

    let table = "Code;Model;Studs;Disc new;Disc min\n\
                 van-a;Van A;5;26,0;23,0\n\
                 van-b;Van B;5;23,0;26,0\n";
    let mapping = "delimiter = \";\"\ndecimal = \",\"\n[columns]\nid = \"Code\"\nname = \"Model\"\n\
                   wheel.fasteners = \"Studs\"\naxle.front.disc.new_mm = \"Disc new\"\n\
                   axle.front.disc.discard_mm = \"Disc min\"\n[constants]\nsource = \"fleet list\"\n\
                   axle.front.brake = \"disc\"\n";
    std::fs::write(yard.root().join("fleet.csv"), table).unwrap();
    std::fs::write(yard.root().join("fleet.toml"), mapping).unwrap();
    let import = ["spec", "import", "fleet.csv", "--map", "fleet.toml"];
    let dry = yard.run(&[&import[..], &["--dry-run"]].concat()).ends(1);
    assert!(dry.out.contains("would write") && !yard.path("specs/van-a.toml").exists());
    let said = yard.run(&import).ends(1);
    assert!(said.out.contains("wrote specs/van-a.toml"), "{}", said.out);
    assert!(
        said.out.contains("refused line 3") && said.out.contains("swapped"),
        "{}",
        said.out
    );
    let kept = std::fs::read(yard.path("specs/van-a.toml")).unwrap();
    let again = yard.run(&import).ends(1);
    assert!(again.out.contains("exists already"), "{}", again.out);
    assert_eq!(std::fs::read(yard.path("specs/van-a.toml")).unwrap(), kept);
}

#[test]
fn a_workshop_sheet_goes_before_a_built_in_one_and_two_that_fit_are_asked_about() {
    let yard = Yard::with_job();
    let van = yard.run(&["spec", "show", "merlock-dunling"]).ends(0).out;
    let own = |id: &str| {
        let text = van.replace("id = \"merlock-dunling\"", &format!("id = \"{id}\""));
        std::fs::write(yard.path(&format!("specs/{id}.toml")), text).unwrap();
    };
    own("our-van");
    // Another van of the same kind: nothing is known of it yet.
    let open = |job: &str, vin: &str| {
        yard.run(&[
            "job",
            "open",
            job,
            "--vin",
            vin,
            "--odometer",
            "100",
            "--json",
        ])
    };
    let first = open("T-2", "A0ZDL07V7NK001123").ends(0);
    assert_eq!(first.json()["sheet"], "our-van");
    own("our-other-van");
    let said = open("T-3", "A0ZDL07V7NK001124").ends(2);
    assert!(said.out.contains("our-other-van, our-van"), "{}", said.out);
    // What was chosen once is not asked again.
    let again = yard.run(&[
        "job",
        "open",
        "T-4",
        "--vin",
        "A0ZDL07V7NK001123",
        "--odometer",
        "200",
        "--json",
    ]);
    assert_eq!(again.ends(0).json()["sheet"], "our-van");
}

#[test]
fn a_confirmed_rule_is_no_longer_marked_unconfirmed() {
    let yard = Yard::with_job();
    yard.run(&["log", "T-1", "vehicle", "fluid.boiling", "212"])
        .ends(0);
    let why = || yard.run(&["verdict", "T-1", "--why", "fluid.boiling"]).out;
    assert!(why().contains("S5.1 (unconfirmed)  yes"), "{}", why());
    yard.run(&["spec", "confirm", "brake-fluid", "dot4-wet"])
        .ends(0);
    assert!(!why().contains("S5.1 (unconfirmed)  yes"), "{}", why());
    let shown = yard.run(&["spec", "show", "brake-fluid"]).ends(0).out;
    assert!(shown.contains("checked by Ilse Varga"), "{shown}");
    let said = yard
        .run(&["spec", "confirm", "brake-fluid", "dot9"])
        .ends(2);
    assert!(said.err.contains("dot4-wet"), "{}", said.err);
}
