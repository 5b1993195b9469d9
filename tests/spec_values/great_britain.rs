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
            "gb-service-others | brake.service_efficiency | >= 50 % | passes | major | 1.2.2 | R",
            "gb-service-others-half | brake.service_efficiency | >= 25 % | passes | dangerous | 1.2.2 | R",
            "gb-parking | brake.parking_efficiency | >= 16 % | passes | major | 1.4.2 | R",
            "gb-parking-half | brake.parking_efficiency | >= 8 % | passes | dangerous | 1.4.2 | R",
            "gb-secondary-single-line | brake.parking_efficiency secondary_single_line | >= 25 % | passes \
             | major | 1.3.2 | R",
        ],
    );
}

#[test]
fn great_britain_chooses_the_efficiency_by_class_and_first_use() {
    // 1.2.2 (R): M1 58 % first used from 1 September 2010, earlier 50 %; N1, M2, M3 50 %.
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
            vec!["gb-service-others", "gb-service-others-half"],
        ),
        (
            "M2",
            "2005-01-01",
            vec!["gb-service-others", "gb-service-others-half"],
        ),
        (
            "M3",
            "2005-01-01",
            vec!["gb-service-others", "gb-service-others-half"],
        ),
        ("N3", "2022-05-03", vec![]),
    ] {
        assert_eq!(
            applying(&gb, item, &used(class, first_used)),
            expected,
            "{class} {first_used}"
        );
    }
}

#[test]
fn what_is_not_known_of_a_vehicle_is_never_guessed() {
    let gb = pack("gb");
    let facts = VehicleFacts {
        class: Some("M1".to_owned()),
        ..VehicleFacts::default()
    };
    let answers = gb.applicable("brake.service_efficiency", &facts);
    let unknown = Applies::Unknown("not known: date of first use".to_owned());
    assert!(
        answers
            .iter()
            .any(|(rule, applies)| rule.id == "gb-service-m1" && *applies == unknown)
    );
    assert_eq!(applying(&gb, "brake.service_efficiency", &facts), NONE);
    // A reason that is known comes before one that is not.
    let other = Applies::NotBecause("for class N1, M2, M3, not M1".to_owned());
    assert!(
        answers
            .iter()
            .any(|(rule, applies)| rule.id == "gb-service-others" && *applies == other)
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
    // 1.1.12 hoses, 1.1.13 pads, 1.1.14 discs: all R.
    let gb = pack("gb");
    for (item, code, expected) in [
        ("hose", "cords", RuleClass::Major),
        ("hose", "bulge", RuleClass::Major),
        ("hose", "porous", RuleClass::Major),
        ("hose", "leak", RuleClass::Dangerous),
        ("hose", "likely_to_fail", RuleClass::Dangerous),
        ("pads.condition", "worn_to_indicator", RuleClass::Major),
        ("pads.condition", "contaminated", RuleClass::Major),
        ("pads.condition", "missing", RuleClass::Dangerous),
        ("pads.condition", "wrongly_mounted", RuleClass::Dangerous),
        ("disc.surface", "obviously_worn", RuleClass::Major),
        ("disc.surface", "contaminated", RuleClass::Major),
        ("disc.surface", "insecure", RuleClass::Dangerous),
        ("disc.surface", "fractured", RuleClass::Dangerous),
        ("disc.surface", "missing", RuleClass::Dangerous),
    ] {
        let rule = gb.defect(item, code, &VehicleFacts::default());
        assert_eq!(rule.map(|rule| rule.class), Some(expected), "{item} {code}");
    }
    assert_eq!(gb.defect("hose", "cracks", &VehicleFacts::default()), None);
    // A disc below its maker's limit is not in itself a failure there, nor is a lit wear lamp alone.
    let remarks: Vec<&str> = gb
        .remarks
        .iter()
        .map(|remark| remark.item.as_str())
        .collect();
    assert_eq!(remarks, ["sensor.wear", "disc.thickness"]);
    assert!(gb.rows.iter().all(|rule| rule.item != "disc.thickness"));
}
