//! Facts of a vehicle that rules ask for: entered, refused, missing, kept; and files that do not read.

use serde_json::Value;

use crate::common::Yard;

const CAR: &str = "A0ZWR05C6LK004096";
const VAN: &str = "A0ZDL07V7NK001122";

fn open(yard: &Yard, job: &str, vin: &str, more: &[&str]) -> crate::common::Said {
    let mut args = vec![
        "job",
        "open",
        job,
        "--vin",
        vin,
        "--odometer",
        "96705",
        "--confirm",
    ];
    args.extend(more);
    yard.run(&args)
}

fn service(yard: &Yard, job: &str) -> Value {
    let json = yard.run(&["verdict", job, "--json"]).json();
    let items = json["vehicle"]["items"].as_array().unwrap();
    let found = items
        .iter()
        .find(|one| one["item"] == "brake.service_efficiency");
    found.unwrap().clone()
}

/// Forces of 55 % of the mass.
fn roll(yard: &Yard, job: &str) {
    let forces = "FL=2400 FR=2400 RL=1465 RR=1465 mass=1432";
    let mut args = vec!["log", job, "vehicle", "brake.service_efficiency"];
    args.extend(forces.split(' '));
    yard.run(&args).ends(0);
}

#[test]
fn a_class_that_is_none_is_refused_with_the_known_ones_wherever_it_is_given() {
    let yard = Yard::with_job();
    for args in [
        &[
            "job",
            "open",
            "T-2",
            "--vin",
            CAR,
            "--odometer",
            "1",
            "--class",
            "M7",
        ][..],
        &["job", "facts", "T-1", "--class", "M7"],
        &["vehicle", "edit", VAN, "--class", "M7"],
        &[
            "check",
            "rollers",
            "--service",
            "FL=1,FR=1,RL=1,RR=1",
            "--class",
            "M7",
        ],
    ] {
        let said = yard.run(args).ends(2);
        assert!(
            said.err.contains("M1, M2, M3, N1"),
            "{args:?}: {}",
            said.err
        );
    }
    assert!(!yard.path("jobs/T-2").exists());
    // Letter case is no other class.
    open(&yard, "T-2", CAR, &["--class", "m1"]).ends(0);
    assert!(yard.journal("T-2")[0].contains(r#""class":"M1""#));
    // Nor may a file say one by hand.
    let path = yard.path(&format!("vehicles/{CAR}.toml"));
    let text = std::fs::read_to_string(&path).unwrap();
    std::fs::write(&path, text.replace("class = \"M1\"", "class = \"M7\"")).unwrap();
    let said = open(&yard, "T-3", CAR, &[]).ends(2);
    assert!(
        said.err.contains("class `M7`") && said.err.contains("M1, M2"),
        "{}",
        said.err
    );
}

#[test]
fn facts_that_the_class_cannot_have_are_refused_and_nothing_is_written() {
    let yard = Yard::with_job();
    for (facts, word) in [
        (["--class=N1", "--gross-mass=3501"], "up to 3500 kg"),
        (["--class=N2", "--gross-mass=3500"], "over 3500 kg"),
        (["--class=N3", "--gross-mass=12000"], "over 12000 kg"),
        (["--class=M2", "--gross-mass=5001"], "up to 5000 kg"),
        (["--class=M3", "--gross-mass=5000"], "over 5000 kg"),
        (["--class=M1", "--seats=10"], "9 seats at most"),
        (["--class=M2", "--seats=9"], "10 seats or more"),
        (["--class=N1", "--carries=passengers"], "carries goods"),
        (["--class=M1", "--carries=goods"], "carries passengers"),
    ] {
        let said = open(&yard, "T-2", CAR, &facts).ends(2);
        assert!(said.err.contains(word), "{facts:?}: {}", said.err);
        assert!(!yard.path("jobs/T-2").exists(), "{facts:?}");
        assert!(!yard.path(&format!("vehicles/{CAR}.toml")).exists());
    }
    let before = yard.journal("T-1").len();
    yard.run(&["job", "facts", "T-1", "--gross-mass", "3501"])
        .ends(2);
    yard.run(&["vehicle", "edit", VAN, "--seats", "3", "--class", "M2"])
        .ends(2);
    yard.run(&["job", "facts", "T-1"]).ends(2);
    assert_eq!(yard.journal("T-1").len(), before);
    let shown = yard.run(&["vehicle", "show", VAN, "--json"]).ends(0).json();
    assert_eq!(
        (&shown["class"], shown.get("build")),
        (&Value::from("N1"), None)
    );
    for facts in [
        ["--class=N1", "--gross-mass=3500"],
        ["--class=M1", "--seats=9"],
    ] {
        open(
            &yard,
            &format!("T{}", facts[0].len() + facts[1].len()),
            CAR,
            &facts,
        )
        .ends(0);
        std::fs::remove_file(yard.path(&format!("vehicles/{CAR}.toml"))).unwrap();
    }
}

#[test]
fn a_fact_that_would_decide_is_named_entered_later_and_never_asked_again() {
    let yard = Yard::with_job();
    let said = open(&yard, "T-2", CAR, &["--class", "M1"]).ends(0);
    assert!(
        said.err.contains("not known: date of first use") && said.err.contains("--first-used"),
        "{}",
        said.err
    );
    roll(&yard, "T-2");
    let finding = service(&yard, "T-2");
    assert_eq!(finding["verdict"], "NO LIMIT", "{finding:#}");
    assert_eq!(finding["missing_facts"], serde_json::json!(["first_used"]));
    let sentence = finding["sentence"].as_str().unwrap();
    assert!(sentence.contains("date of first use"), "{sentence}");
    assert!(sentence.contains("ADVISE or FAIL"), "{sentence}");
    let listed = finding["limits"].as_array().unwrap();
    assert!(
        listed.iter().any(|limit| limit["limit"] == 58.0
            && limit["not_applied"]
                .as_str()
                .unwrap()
                .contains("date of first use")),
        "{listed:#?}"
    );
    let text = yard.run(&["verdict", "T-2"]);
    assert!(
        text.err.contains("job facts T-2 --first-used"),
        "{}",
        text.err
    );
    let sheet = yard.run(&["sheet", "T-2"]).ends(0).out;
    let sheet = sheet.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        sheet.contains("a fact of the vehicle that was not entered"),
        "{sheet}"
    );
    // 55 % fails 58 and passes 50.
    yard.run(&["job", "facts", "T-2", "--first-used", "2020-06-11"])
        .ends(0);
    let finding = service(&yard, "T-2");
    assert_eq!(
        (&finding["verdict"], &finding["limit"]),
        (&"FAIL".into(), &58.0.into())
    );
    assert_eq!(finding.get("missing_facts"), None);
    // What was entered wrong is entered again; no tester was named, so it is no PASS.
    yard.run(&["job", "facts", "T-2", "--first-used", "2009-06-11"])
        .ends(0);
    let finding = service(&yard, "T-2");
    assert_eq!(
        (&finding["verdict"], &finding["limit"]),
        (&"ADVISE".into(), &50.0.into())
    );
    // The vehicle keeps it: the next job knows.
    let said = open(&yard, "T-3", CAR, &[]).ends(0);
    assert!(!said.err.contains("not known"), "{}", said.err);
    roll(&yard, "T-3");
    assert_eq!(service(&yard, "T-3")["limit"], 50.0);
}

#[test]
fn every_fact_is_kept_with_the_vehicle_and_shown() {
    let yard = Yard::with_job();
    let facts = [
        "--class=M3",
        "--first-used=2019-03-01",
        "--gross-mass=18000",
        "--seats=53",
        "--chassis=truck-or-bus",
        "--brake-lines=two",
        "--linings-held=fastened",
        "--pads-per-shoe=2",
    ];
    yard.run(&[&["vehicle", "edit", VAN][..], &facts].concat())
        .ends(0);
    let shown = yard.run(&["vehicle", "show", VAN]).ends(0).out;
    for line in [
        "class        M3",
        "gross mass   18000 kg",
        "seats        53, the driver's included",
        "built on     lorry or bus",
        "brake lines  two",
        "linings held riveted or bolted",
        "pads a shoe  2",
    ] {
        assert!(shown.contains(line), "{line}\nin {shown}");
    }
    let opened = open(&yard, "T-2", VAN, &[]).ends(0);
    assert!(!opened.err.contains("not known"), "{}", opened.err);
    let opening: Value = serde_json::from_str(&yard.journal("T-2")[0]).unwrap();
    let build = &opening["event"]["build"];
    assert_eq!(build["gross_mass_g"], 18_000_000);
    assert_eq!(
        (&build["mounting"], &build["two_pad_shoe"]),
        (&"fastened".into(), &true.into())
    );
    for (option, value) in [
        ("--gross-mass", "heavy"),
        ("--gross-mass", "0"),
        ("--seats", "0"),
        ("--carries", "people"),
        ("--chassis", "lorry"),
        ("--brake-lines", "three"),
        ("--linings-held", "glued"),
        ("--pads-per-shoe", "3"),
    ] {
        yard.run(&["vehicle", "edit", VAN, option, value]).ends(2);
    }
}

/// A lorry's sheet with one more line about its linings.
fn lorry(linings: &str) -> String {
    let axle = |name: &str, steered: bool| {
        format!(
            "[[axle]]\nname = \"{name}\"\nbrake = \"drum\"\nsteered = {steered}\nactuation = \"air\"\n[axle.drum]\nnew_mm = 410.0\nmax_mm = 414.0\n[axle.linings]\nbasis = \"friction\"\nnew_mm = 18.0\n{linings}\n"
        )
    };
    format!(
        "id = \"lorry\"\nname = \"Lorry\"\nvin_patterns = [\"A0ZGH*\"]\nvehicle_class = \"N3\"\nsource = \"invented\"\n[wheel]\nfasteners = 10\ntorque_nm = 600\n{}{}",
        axle("front", true),
        axle("rear", false)
    )
}

#[test]
fn a_sheet_says_how_its_linings_are_held_and_what_it_weighs() {
    // 49 CFR 393.47(d), read: 4.8 mm in front with one pad a shoe, 6.4 mm with two.
    for (linings, verdict) in [
        ("two_pad_shoe = false", "PASS"),
        ("two_pad_shoe = true", "FAIL"),
        ("", "NO LIMIT"),
    ] {
        let yard = Yard::with_job();
        std::fs::write(yard.path("specs/lorry.toml"), lorry(linings)).unwrap();
        open(
            &yard,
            "T-2",
            "A0ZGH11T5PK009001",
            &["--rules", "us-commercial"],
        )
        .ends(0);
        yard.run(&[
            "log",
            "T-2",
            "FL",
            "linings.thickness",
            "6.2",
            "--instrument",
            "HW-P1",
        ])
        .ends(0);
        let json = yard.run(&["verdict", "T-2", "--json"]).json();
        let items = json["corners"]["FL"]["items"].as_array().unwrap();
        let found = items
            .iter()
            .find(|one| one["item"] == "linings.thickness")
            .unwrap();
        assert_eq!(found["verdict"], verdict, "{linings}: {found:#}");
    }
    let yard = Yard::with_job();
    let path = yard.path("specs/lorry.toml");
    for (from, to, word) in [
        (
            "source =",
            "gross_mass_kg = 9000\nsource =",
            "class N3 is over 12000 kg",
        ),
        ("source =", "seats = 0\nsource =", "`seats`"),
        ("source =", "chassis = \"ship\"\nsource =", "`ship`"),
        (
            "new_mm = 18.0",
            "new_mm = 18.0\nmounting = \"glue\"",
            "`glue`",
        ),
    ] {
        std::fs::write(&path, lorry("").replacen(from, to, 1)).unwrap();
        let said = yard
            .run(&["spec", "check", "shop/specs/lorry.toml"])
            .ends(1);
        assert!(said.out.contains(word), "{to}: {}", said.out);
    }
}

#[test]
fn a_file_that_does_not_read_stops_only_the_jobs_that_need_it() {
    let yard = Yard::with_job();
    open(
        &yard,
        "T-2",
        CAR,
        &[
            "--class",
            "M1",
            "--first-used",
            "2020-06-11",
            "--rules",
            "eu",
        ],
    )
    .ends(0);
    let log = |job: &str| yard.run(&["log", job, "FL", "hose", "sound"]);
    // Nobody's sheet, a pack, a policy and a schedule that no job here names; one is no text at all.
    std::fs::create_dir_all(yard.path("specs/rules")).unwrap();
    std::fs::create_dir_all(yard.path("specs/policy")).unwrap();
    std::fs::create_dir_all(yard.path("specs/schedules")).unwrap();
    std::fs::write(yard.path("specs/broken.toml"), "id = \"broken").unwrap();
    std::fs::write(yard.path("specs/rules/noise.toml"), [0xff, 0xfe, 0x00]).unwrap();
    std::fs::write(yard.path("specs/policy/strict.toml"), "[disc]\nlimit = 3\n").unwrap();
    std::fs::write(yard.path("specs/schedules/long.toml"), "id = 1\n").unwrap();
    for job in ["T-1", "T-2"] {
        let said = log(job).ends(0);
        for file in ["broken.toml", "noise.toml", "strict.toml", "long.toml"] {
            let named = said
                .err
                .lines()
                .any(|line| line.starts_with("warning:") && line.contains(file));
            assert!(named, "{file}: {}", said.err);
        }
    }
    open(&yard, "T-3", VAN, &[]).ends(0);
    let said = yard.run(&["spec", "check"]).ends(2);
    for file in ["broken.toml", "noise.toml", "strict.toml", "long.toml"] {
        assert!(said.out.contains(file), "{file}: {}", said.out);
    }
    yard.run(&["spec", "list"]).ends(0);
    // The pack of one of them: that job stops, the other goes on.
    std::fs::write(yard.path("specs/rules/gb.toml"), "id = \"gb\"\nname = 3\n").unwrap();
    let said = log("T-1").ends(2);
    assert!(
        said.err.contains("gb.toml") && said.err.contains("spec check"),
        "{}",
        said.err
    );
    log("T-2").ends(0);
    std::fs::remove_file(yard.path("specs/rules/gb.toml")).unwrap();
    log("T-1").ends(0);
    // The van's own sheet, which stands before the built-in one: it is not passed over for that.
    for text in [
        "id = \"merlock-dunling\"\nvin_patterns = [\"A0ZDL*\"]\n",
        "vin_patterns = [\"A0ZDL*\"]\nid = \"merlock-dunling\"\n[wheel\n",
    ] {
        std::fs::write(yard.path("specs/our-van.toml"), text).unwrap();
        assert!(log("T-1").ends(2).err.contains("our-van.toml"));
        assert!(
            open(&yard, "T-9", VAN, &[])
                .ends(2)
                .err
                .contains("our-van.toml")
        );
        log("T-2").ends(0);
    }
    assert!(!yard.path("jobs/T-9").exists());
}

#[test]
fn a_pack_whose_rows_protect_nobody_is_not_used_and_says_why() {
    let yard = Yard::with_job();
    std::fs::create_dir_all(yard.path("specs/rules")).unwrap();
    let pack = |vehicles: &str, row: &str| {
        format!(
            "id = \"ours\"\nname = \"Ours\"\nedition = \"own\"\n{vehicles}[[defect]]\nid = \"a\"\nclause = \"1\"\nstatus = \"read\"\nclass = \"dangerous\"\nsentence = \"s\"\n{row}\n"
        )
    };
    let any = "[vehicles]\nany = true\n";
    for (vehicles, row, word) in [
        (
            any,
            "item = \"hose\"\ncodes = [\"leek\"]",
            "did you mean `leak`?",
        ),
        (any, "item = \"hoose\"\ncodes = [\"leak\"]", "`hoose`"),
        (
            any,
            "item = \"hub.face\"\ncodes = [\"fractured\"]",
            "`fractured`",
        ),
        (
            any,
            "item = \"hose\"\ncodes = [\"leak\"]\nwhen = { classes = [\"M1\"], passenger = false }",
            "no vehicle meets",
        ),
        ("", "item = \"hose\"\ncodes = [\"leak\"]", "which vehicles"),
        (
            "[vehicles]\n",
            "item = \"hose\"\ncodes = [\"leak\"]",
            "any = true",
        ),
    ] {
        std::fs::write(yard.path("specs/rules/ours.toml"), pack(vehicles, row)).unwrap();
        let said = yard.run(&["spec", "check"]).ends(1);
        assert!(said.out.contains(word), "{row}: {}", said.out);
        let said = open(&yard, "T-2", CAR, &["--rules", "ours"]).ends(2);
        assert!(said.err.contains(word), "{row}: {}", said.err);
        assert!(!yard.path("jobs/T-2").exists());
    }
    let good = pack(any, "item = \"hose\"\ncodes = [\"leak\"]");
    std::fs::write(yard.path("specs/rules/ours.toml"), good).unwrap();
    yard.run(&["spec", "check"]).ends(0);
    open(&yard, "T-2", CAR, &["--rules", "ours"]).ends(0);
}
