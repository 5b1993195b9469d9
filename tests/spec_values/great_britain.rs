//! The British annual-test manual.

use super::help::*;

#[test]
fn great_britain_says_what_the_annual_test_manual_says() {
    // Annual-test inspection manual, section 1, undated copy: all R. The text compares the lower effort
    // with the higher: below 70 % of it is an imbalance over 30 %, below 50 % of it one over 50 %.
    assert_rows(
        &pack("gb"),
        &[
            "gb-pads-dangerous | pads.thickness | >= 1.500 mm | passes | dangerous | 1.1.13 | R",
            "gb-linings-dangerous | linings.thickness | >= 1.500 mm | passes | dangerous | 1.1.13 | R",
            "gb-imbalance | axle.imbalance | <= 30 % | passes | major | 1.2.1 | R",
            "gb-imbalance-steered | axle.imbalance | <= 50 % | passes | dangerous | 1.2.1 | R",
            "gb-service-m1 | brake.service_efficiency | >= 58 % | passes | major | 1.2.2 | R",
            "gb-service-m1-half | brake.service_efficiency | >= 29 % | passes | dangerous | 1.2.2 | R",
            "gb-service-m1-earlier | brake.service_efficiency | >= 50 % | passes | major | 1.2.2 | R",
            "gb-service-m1-earlier-half | brake.service_efficiency | >= 25 % | passes | dangerous | 1.2.2 | R",
            "gb-service-n1 | brake.service_efficiency | >= 50 % | passes | major | 1.2.2 | R",
            "gb-service-n1-half | brake.service_efficiency | >= 25 % | passes | dangerous | 1.2.2 | R",
            "gb-service-buses | brake.service_efficiency | >= 50 % | passes | major | 1.2.2 | R",
            "gb-service-buses-half | brake.service_efficiency | >= 25 % | passes | dangerous | 1.2.2 | R",
            "gb-service-buses-earlier | brake.service_efficiency | >= 45 % | passes | major | 1.2.2 | R",
            "gb-service-buses-earlier-half | brake.service_efficiency | >= 22.5 % | passes | dangerous | \
             1.2.2 | R",
            "gb-parking | brake.parking_efficiency | >= 16 % | passes | major | 1.4.2 | R",
            "gb-parking-half | brake.parking_efficiency | >= 8 % | passes | dangerous | 1.4.2 | R",
            "gb-secondary-single-line | brake.parking_efficiency | >= 25 % | passes | major | 1.3.2 | R",
            "gb-secondary-single-line-half | brake.parking_efficiency | >= 12.5 % | passes | dangerous | \
             1.3.2 | R",
        ],
    );
}

#[test]
fn great_britain_chooses_the_efficiency_by_class_and_first_use() {
    // 1.2.2 (R): M1 with the service brake on four wheels or more 58 % first used from 1 September
    // 2010, earlier 50 %; N1 50 %; M2, M3 with four wheels or more 50 %, before 1968 45 %.
    let gb = pack("gb");
    let item = "brake.service_efficiency";
    for (class, first_used, expected) in [
        (
            "M1",
            "2010-09-01",
            vec!["gb-service-m1", "gb-service-m1-half"],
        ),
        (
            "M1",
            "2010-08-31",
            vec!["gb-service-m1-earlier", "gb-service-m1-earlier-half"],
        ),
        (
            "N1",
            "2022-05-03",
            vec!["gb-service-n1", "gb-service-n1-half"],
        ),
        (
            "M2",
            "1968-01-01",
            vec!["gb-service-buses", "gb-service-buses-half"],
        ),
        (
            "M3",
            "1967-12-31",
            vec!["gb-service-buses-earlier", "gb-service-buses-earlier-half"],
        ),
        ("N3", "2022-05-03", vec![]),
    ] {
        let facts = |wheels| VehicleFacts {
            braked_wheels: Some(wheels),
            ..used(class, first_used)
        };
        assert_eq!(
            applying(&gb, item, &facts(4)),
            expected,
            "{class} {first_used}"
        );
        // 58 % and the buses' figures ask for four wheels; an N1 van's 50 % does not.
        let few = applying(&gb, item, &facts(3));
        assert_eq!(few.is_empty(), class != "N1", "{class}: {few:?}");
    }
}

#[test]
fn what_is_not_known_of_a_vehicle_is_never_guessed() {
    let gb = pack("gb");
    let facts = VehicleFacts {
        class: Some("M1".to_owned()),
        braked_wheels: Some(4),
        ..VehicleFacts::default()
    };
    let answers = gb.applicable("brake.service_efficiency", &facts);
    let unknown = Applies::Unknown(vec![Fact::FirstUsed]);
    assert!(
        answers
            .iter()
            .any(|(rule, applies)| rule.id == "gb-service-m1" && *applies == unknown)
    );
    assert_eq!(applying(&gb, "brake.service_efficiency", &facts), NONE);
    // A reason that is known comes before one that is not.
    let other = Applies::NotBecause("for class N1, not M1".to_owned());
    assert!(
        answers
            .iter()
            .any(|(rule, applies)| rule.id == "gb-service-n1" && *applies == other)
    );
}

#[test]
fn great_britain_excepts_locked_wheels_and_weak_axles() {
    let gb = pack("gb");
    for rule in gb.rows.iter().filter(|rule| rule.item == "axle.imbalance") {
        // 1.2.1 (R): not counted when the lower wheel locked or the higher effort is not above 40 kg;
        // 40 kgf = 392.266 N.
        assert!(rule.exceptions.lower_wheel_locked);
        assert_eq!(rule.exceptions.higher_effort_up_to.unwrap().mn(), 392_266);
    }
    let efficiencies = gb
        .rows
        .iter()
        .filter(|rule| rule.item.ends_with("efficiency"));
    for rule in efficiencies.filter(|rule| rule.quantity.is_none()) {
        // 1.2.2, 1.4.2 (R): met when more than half of the system's wheels lock.
        assert!(rule.exceptions.met_when_half_lock, "{}", rule.id);
    }
    let steered = |steered| VehicleFacts {
        class: Some("N1".to_owned()),
        steered: Some(steered),
        ..VehicleFacts::default()
    };
    let both = ["gb-imbalance", "gb-imbalance-steered"];
    assert_eq!(applying(&gb, "axle.imbalance", &steered(true)), both);
    assert_eq!(
        applying(&gb, "axle.imbalance", &steered(false)),
        ["gb-imbalance"]
    );
}

#[test]
fn great_britain_classes_defects() {
    // 1.1.10(d) fluid, 1.1.11 pipes, 1.1.12 hoses, 1.1.13 pads, 1.1.14 discs, 1.1.16 callipers, 1.2.1
    // and 1.4.1 efforts, 1.6 sensors, 1.8 fluid: all R. A minor defect is an advisory row.
    use RuleClass::{Advisory, Dangerous, Major};
    let gb = pack("gb");
    let facts = VehicleFacts {
        class: Some("M1".to_owned()),
        actuation: Some(Actuation::Hydraulic),
        ..VehicleFacts::default()
    };
    let expected: &[(&str, &[(&str, RuleClass)])] = &[
        (
            "fluid.level",
            &[
                ("low", Advisory),
                ("low_leak", Advisory),
                ("well_below", Major),
                ("not_visible", Dangerous),
                ("contaminated", Major),
            ],
        ),
        ("fluid.boiling", &[("contaminated", Major)]),
        (
            "pipe",
            &[
                ("likely_to_fail", Dangerous),
                ("leak", Dangerous),
                ("deep", Major),
                ("support", Advisory),
                ("loose", Major),
            ],
        ),
        (
            "hose",
            &[
                ("cracks", Advisory),
                ("chafe", Advisory),
                ("cords", Major),
                ("twisted", Major),
                ("bulge", Major),
                ("porous", Major),
                ("ferrule", Major),
                ("leak", Dangerous),
                ("likely_to_fail", Dangerous),
            ],
        ),
        (
            "pads.condition",
            &[
                ("worn_to_indicator", Major),
                ("contaminated", Major),
                ("soaked", Major),
                ("missing", Dangerous),
                ("wrongly_mounted", Dangerous),
            ],
        ),
        (
            "linings.thickness",
            &[
                ("worn_to_indicator", Major),
                ("contaminated", Major),
                ("soaked", Major),
                ("missing", Dangerous),
                ("wrongly_mounted", Dangerous),
            ],
        ),
        (
            "disc.surface",
            &[
                ("obviously_worn", Major),
                ("contaminated", Major),
                ("insecure", Dangerous),
                ("crack", Dangerous),
                ("missing", Dangerous),
            ],
        ),
        (
            "drum.diameter",
            &[
                ("obviously_worn", Major),
                ("contaminated", Major),
                ("insecure", Dangerous),
                ("crack", Dangerous),
                ("missing", Dangerous),
            ],
        ),
        ("calliper.leak", CALLIPER),
        ("cylinder.leak", CALLIPER),
        (
            "sensor.speed",
            &[
                ("missing", Major),
                ("damaged", Major),
                ("cut", Major),
                ("fault", Major),
                ("lamp_dead", Major),
            ],
        ),
        ("axle.imbalance", &[("no_effort", Dangerous)]),
        (
            "brake.service_efficiency",
            &[
                ("weak", Major),
                ("grabs", Major),
                ("lag", Major),
                ("fluctuates", Major),
                ("binds", Major),
            ],
        ),
        ("brake.parking_efficiency", &[("one_sided", Major)]),
    ];
    for (item, codes) in expected {
        for (code, class) in *codes {
            let rule = gb.defect(item, code, &facts);
            assert_eq!(rule.map(|rule| rule.class), Some(*class), "{item} {code}");
            assert_eq!(rule.map(|rule| rule.status), Some(Status::Read));
        }
    }
    let named: BTreeSet<(&str, &str)> = gb
        .defects
        .iter()
        .flat_map(|rule| {
            rule.codes
                .iter()
                .map(|code| (rule.item.as_str(), code.as_str()))
        })
        .collect();
    let listed: BTreeSet<(&str, &str)> = expected
        .iter()
        .flat_map(|(item, codes)| codes.iter().map(|(code, _)| (*item, *code)))
        .collect();
    assert_eq!(named, listed);
    // 1.1.11, 1.1.12: what leaks air is major.
    let air = VehicleFacts {
        actuation: Some(Actuation::Air),
        ..facts
    };
    for item in ["hose", "pipe"] {
        assert_eq!(
            gb.defect(item, "leak", &air).map(|rule| rule.class),
            Some(Major)
        );
    }
    assert_eq!(gb.defect("hose", "bracket", &air), None);
    // A disc below its maker's limit is not in itself a failure there, nor is a lit wear lamp alone.
    let remarks: Vec<&str> = gb
        .remarks
        .iter()
        .map(|remark| remark.item.as_str())
        .collect();
    assert_eq!(remarks, ["fluid.level", "sensor.wear", "disc.thickness"]);
    assert!(gb.rows.iter().all(|rule| rule.item != "disc.thickness"));
}

const CALLIPER: &[(&str, RuleClass)] = &[
    ("cracked", RuleClass::Major),
    ("leak", RuleClass::Major),
    ("insecure", RuleClass::Major),
    ("affects", RuleClass::Dangerous),
    ("corroded", RuleClass::Major),
    ("likely_to_crack", RuleClass::Dangerous),
    ("over_travel", RuleClass::Major),
    ("no_reserve", RuleClass::Dangerous),
];
