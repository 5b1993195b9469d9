//! Every number of the built-in rule packs and sheets against the published or agreed value.
//!
//! Beside each value stands its clause and how it is known: R read in a copy of the text, S read in a
//! text that quotes it, M from memory. Rows marked S or M are not verified by this test; it only shows
//! that the pack says what was noted, with the same status.

#![allow(clippy::unwrap_used, clippy::panic)] // helpers of tests fail loudly

use std::collections::BTreeSet;

use brakecorner::job::Item;
use brakecorner::spec::{
    Actuation, Applies, AxleCondition, Bound, BrakeForm, BrakeKind, Conditions, Depth,
    FastenerSpec, Mounting, PackScope, PartState, Policy, PolicyOrigin, Rule, RuleClass, RulePack,
    RuleValue, RunoutReading, Schedule, Sheet, Status, VehicleFacts, builtin_policies,
    builtin_rule_packs, builtin_schedules, builtin_sheets, items,
};

fn packs() -> Vec<RulePack> {
    builtin_rule_packs()
        .iter()
        .map(|(file, text)| RulePack::parse(text, file).unwrap())
        .collect()
}

fn pack(id: &str) -> RulePack {
    packs().into_iter().find(|pack| pack.id == id).unwrap()
}

fn sheet(id: &str) -> Sheet {
    let file = format!("{id}.toml");
    let (file, text) = builtin_sheets()
        .iter()
        .find(|(name, _)| *name == file)
        .unwrap();
    Sheet::parse(text, file).unwrap()
}

/// The pack's numbers are exactly the expected ones, no row more and none less. A row reads
/// `id | item | bound and value | at the limit | class | clause | status`.
fn assert_rows(pack: &RulePack, expected: &[&str]) {
    let wanted: BTreeSet<String> = expected.iter().map(|row| (*row).to_owned()).collect();
    let found: BTreeSet<String> = pack.rows.iter().map(describe).collect();
    let missing: Vec<_> = wanted.difference(&found).collect();
    let extra: Vec<_> = found.difference(&wanted).collect();
    assert!(
        missing.is_empty() && extra.is_empty(),
        "missing {missing:#?}\nextra {extra:#?}"
    );
    assert_eq!(pack.rows.len(), expected.len());
}

fn describe(rule: &Rule) -> String {
    let item = match &rule.quantity {
        Some(quantity) => format!("{} {quantity}", rule.item),
        None => rule.item.clone(),
    };
    let bound = if rule.bound == Bound::Minimum {
        ">="
    } else {
        "<="
    };
    let at_limit = if rule.at_limit_passes {
        "passes"
    } else {
        "fails"
    };
    let class = match rule.class {
        RuleClass::Advisory => "advisory",
        RuleClass::Major => "major",
        RuleClass::Dangerous => "dangerous",
    };
    let status = match rule.status {
        Status::Read => "R",
        Status::Secondary => "S",
        Status::Memory => "M",
    };
    let (id, value, clause) = (&rule.id, rule.value, &rule.clause);
    format!("{id} | {item} | {bound} {value} | {at_limit} | {class} | {clause} | {status}")
}

fn when(pack: &RulePack, id: &str) -> Conditions {
    pack.rows
        .iter()
        .find(|rule| rule.id == id)
        .unwrap()
        .when
        .clone()
}

/// The rules of an item that apply, by id.
fn applying(pack: &RulePack, item: &str, facts: &VehicleFacts) -> Vec<String> {
    pack.applicable(item, facts)
        .into_iter()
        .filter(|(_, applies)| *applies == Applies::Yes)
        .map(|(rule, _)| rule.id.clone())
        .collect()
}

fn used(class: &str, first_used: &str) -> VehicleFacts {
    VehicleFacts {
        class: Some(class.to_owned()),
        first_used: Some(first_used.parse().unwrap()),
        ..VehicleFacts::default()
    }
}

const NONE: [&str; 0] = [];

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

#[test]
fn the_european_pack_says_what_the_proposal_says() {
    // Commission proposal COM(2012) 380, annex: all S; the annex of 2014/45/EU was not read.
    assert_rows(
        &pack("eu"),
        &[
            "eu-imbalance | axle.imbalance | <= 30 % | passes | major | annex 1.3.1 of the proposal | S",
            "eu-imbalance-steered | axle.imbalance | <= 50 % | passes | dangerous | annex 1.3.1 of the \
             proposal | S",
            "eu-service-m1 | brake.service_efficiency | >= 58 % | passes | major | annex 1.2.2 of the \
             proposal | S",
            "eu-service-m1-half | brake.service_efficiency | >= 29 % | passes | dangerous | annex 1.2.2 of \
             the proposal | S",
            "eu-service-others | brake.service_efficiency | >= 50 % | passes | major | annex 1.2.2 of the \
             proposal | S",
            "eu-service-others-half | brake.service_efficiency | >= 25 % | passes | dangerous | annex \
             1.2.2 of the proposal | S",
            "eu-service-earlier-m | brake.service_efficiency | >= 50 % | passes | major | annex 1.2.2 of \
             the proposal | S",
            "eu-service-earlier-m-half | brake.service_efficiency | >= 25 % | passes | dangerous | annex \
             1.2.2 of the proposal | S",
            "eu-service-earlier-n1 | brake.service_efficiency | >= 45 % | passes | major | annex 1.2.2 of \
             the proposal | S",
            "eu-service-earlier-n1-half | brake.service_efficiency | >= 22.5 % | passes | dangerous | \
             annex 1.2.2 of the proposal | S",
            "eu-service-earlier-n2-n3 | brake.service_efficiency | >= 43 % | passes | major | annex 1.2.2 \
             of the proposal | S",
            "eu-service-earlier-n2-n3-half | brake.service_efficiency | >= 21.5 % | passes | dangerous | \
             annex 1.2.2 of the proposal | S",
            "eu-parking | brake.parking_efficiency | >= 16 % | passes | major | annex 1.4.2 of the \
             proposal | S",
            "eu-parking-combination | brake.parking_efficiency combination | >= 12 % | passes | major | \
             annex 1.4.2 of the proposal | S",
        ],
    );
    let eu = pack("eu");
    for (class, first_used, expected) in [
        ("M1", "2012-01-01", "eu-service-m1"),
        ("M1", "2011-12-31", "eu-service-earlier-m"),
        ("M2", "2012-01-01", "eu-service-others"),
        ("N1", "2011-12-31", "eu-service-earlier-n1"),
        ("N3", "2011-12-31", "eu-service-earlier-n2-n3"),
        ("N2", "2020-01-01", "eu-service-others"),
    ] {
        let found = applying(&eu, "brake.service_efficiency", &used(class, first_used));
        assert_eq!(
            found,
            [expected.to_owned(), format!("{expected}-half")],
            "{class} {first_used}"
        );
    }
}

#[test]
fn half_of_each_required_efficiency_is_its_own_dangerous_line() {
    // GB 1.2.2 and 1.4.2 (R), EU annex 1.2.2 (S): below half of the required efficiency.
    let number = |rule: &Rule| match rule.value {
        RuleValue::Percent(percent) => percent.thousandths(),
        other => panic!("{other} is no percentage"),
    };
    for (id, count) in [("gb", 4), ("eu", 5)] {
        let pack = pack(id);
        let halves: Vec<&Rule> = pack
            .rows
            .iter()
            .filter(|rule| rule.id.ends_with("-half"))
            .collect();
        assert_eq!(halves.len(), count, "{id}");
        for half in halves {
            let whole = half.id.trim_end_matches("-half");
            let whole = pack.rows.iter().find(|rule| rule.id == whole).unwrap();
            assert_eq!(2 * number(half), number(whole), "{}", half.id);
            assert_eq!(
                (half.class, whole.class),
                (RuleClass::Dangerous, RuleClass::Major)
            );
            assert_eq!(half.when, whole.when);
        }
    }
}

#[test]
fn united_states_over_10000_lb_says_what_570_subpart_b_says() {
    // 49 CFR 570.59(c), 570.55(b): R. 1/32 in = 0.79375 mm, 1/16 in = 1.5875 mm.
    let heavy = pack("us-heavy");
    assert_rows(
        &heavy,
        &[
            "us-heavy-pads-fastened | pads.thickness | >= 0.79375 mm | passes | major | 49 CFR 570.59(c) | R",
            "us-heavy-pads-bonded | pads.thickness | >= 1.5875 mm | passes | major | 49 CFR 570.59(c) | R",
            "us-heavy-linings-fastened | linings.thickness | >= 0.79375 mm | passes | major | 49 CFR \
             570.59(c) | R",
            "us-heavy-linings-bonded | linings.thickness | >= 1.5875 mm | passes | major | 49 CFR \
             570.59(c) | R",
            "us-heavy-pedal-travel | pedal.firm travel_used | <= 80 % | passes | major | 49 CFR 570.55(b) \
             | R",
        ],
    );
    let bonded = VehicleFacts {
        mounting: Some(Mounting::Bonded),
        ..VehicleFacts::default()
    };
    assert_eq!(
        applying(&heavy, "pads.thickness", &bonded),
        ["us-heavy-pads-bonded"]
    );
    // 10 000 lb = 4535.9237 kg; the pack is for vehicles over it.
    for (grams, applies) in [(4_535_924, false), (4_535_925, true)] {
        let facts = VehicleFacts {
            gross_mass_g: Some(grams),
            ..bonded.clone()
        };
        assert_eq!(
            !applying(&heavy, "pads.thickness", &facts).is_empty(),
            applies,
            "{grams} g"
        );
    }
    // 570.55(c) (R): 125 lbf held 10 s without further drop.
    let sinks = heavy
        .defect("pedal.firm", "sinks", &VehicleFacts::default())
        .unwrap();
    assert_eq!(
        (sinks.clause.as_str(), sinks.status),
        ("49 CFR 570.55(c)", Status::Read)
    );
    // 570.59(b) (R): the embossed figure governs, else the maker's.
    let remarks: Vec<&str> = heavy
        .remarks
        .iter()
        .map(|remark| remark.clause.as_str())
        .collect();
    assert_eq!(remarks, ["49 CFR 570.59(b)"; 2]);
}

#[test]
fn united_states_light_vehicles_follow_the_parallel_statute() {
    // RCW 46.37.360(2)-(5): S. 25 % on rollers, 49 CFR 570.5: M. Rim 1/8 in, 49 CFR 570.10(b): R.
    let light = pack("us-light");
    assert_rows(
        &light,
        &[
            "us-light-pads | pads.thickness | >= 0.79375 mm | passes | major | RCW 46.37.360(2)-(5) | S",
            "us-light-linings | linings.thickness | >= 0.79375 mm | passes | major | RCW 46.37.360(2)-(5) \
             | S",
            "us-light-imbalance | axle.imbalance | <= 25 % | passes | major | 49 CFR 570.5 | M",
            "us-wheel-rim | wheel.seat rim_runout | <= 3.175 mm | passes | major | 49 CFR 570.10(b) | R",
        ],
    );
    let mass = |grams| VehicleFacts {
        gross_mass_g: Some(grams),
        ..VehicleFacts::default()
    };
    assert_eq!(
        applying(&light, "pads.thickness", &mass(4_535_924)),
        ["us-light-pads"]
    );
    assert_eq!(applying(&light, "pads.thickness", &mass(4_535_925)), NONE);
    // The workshop chose the pack, so an unknown mass does not stop it.
    assert_eq!(
        applying(&light, "pads.thickness", &VehicleFacts::default()),
        ["us-light-pads"]
    );
}

#[test]
fn united_states_commercial_says_what_393_47_and_393_52_say() {
    // 49 CFR 393.47(d): R. 393.52(d): R through 67 Pa. Code ch. 175 Table I.
    let commercial = pack("us-commercial");
    assert_rows(
        &commercial,
        &[
            "us-commercial-pads-steering | pads.thickness | >= 1.600 mm | fails | major | 49 CFR \
             393.47(d)(1) | R",
            "us-commercial-pads-non-steering | pads.thickness | >= 1.600 mm | passes | major | 49 CFR \
             393.47(d)(2) | R",
            "us-commercial-linings-steering | linings.thickness | >= 1.600 mm | fails | major | 49 CFR \
             393.47(d)(1) | R",
            "us-commercial-linings-non-steering | linings.thickness | >= 1.600 mm | passes | major | 49 \
             CFR 393.47(d)(2) | R",
            "us-commercial-pads-air | pads.thickness | >= 3.200 mm | passes | major | 49 CFR 393.47(d) | R",
            "us-commercial-linings-air-steering | linings.thickness | >= 4.800 mm | passes | major | 49 \
             CFR 393.47(d) | R",
            "us-commercial-linings-air-steering-two-pad | linings.thickness | >= 6.400 mm | passes | major \
             | 49 CFR 393.47(d) | R",
            "us-commercial-linings-air-non-steering | linings.thickness | >= 6.400 mm | passes | major | \
             49 CFR 393.47(d) | R",
            "us-commercial-force-passenger | brake.service_efficiency | >= 65.2 % | passes | major | 49 \
             CFR 393.52(d) | R",
            "us-commercial-force-light | brake.service_efficiency | >= 52.8 % | passes | major | 49 CFR \
             393.52(d) | R",
            "us-commercial-force-other | brake.service_efficiency | >= 43.5 % | passes | major | 49 CFR \
             393.52(d) | R",
            "us-commercial-force-bus | brake.service_efficiency | >= 43.5 % | passes | major | 49 CFR \
             393.52(d) | R",
        ],
    );
    let two_pad = when(&commercial, "us-commercial-linings-air-steering-two-pad");
    assert_eq!(
        (two_pad.axle, two_pad.two_pad_shoe),
        (AxleCondition::Steering, Some(true))
    );
    assert_eq!(
        when(&commercial, "us-commercial-pads-air").axle,
        AxleCondition::Any
    );
}

#[test]
fn united_states_commercial_chooses_by_axle_brake_and_vehicle() {
    let commercial = pack("us-commercial");
    let axle = |steered, brake, actuation| VehicleFacts {
        steered: Some(steered),
        brake: Some(brake),
        actuation: Some(actuation),
        two_pad_shoe: Some(false),
        ..VehicleFacts::default()
    };
    let (disc, drum) = (BrakeForm::Disc, BrakeForm::Drum);
    let (hydraulic, air, electric) = (Actuation::Hydraulic, Actuation::Air, Actuation::Electric);
    for (facts, item, expected) in [
        (
            axle(true, disc, hydraulic),
            "pads.thickness",
            "us-commercial-pads-steering",
        ),
        (
            axle(false, disc, electric),
            "pads.thickness",
            "us-commercial-pads-non-steering",
        ),
        (
            axle(true, disc, air),
            "pads.thickness",
            "us-commercial-pads-air",
        ),
        (
            axle(true, drum, air),
            "linings.thickness",
            "us-commercial-linings-air-steering",
        ),
        (
            axle(false, drum, air),
            "linings.thickness",
            "us-commercial-linings-air-non-steering",
        ),
        (
            axle(false, drum, hydraulic),
            "linings.thickness",
            "us-commercial-linings-non-steering",
        ),
    ] {
        assert_eq!(applying(&commercial, item, &facts), [expected]);
    }
    for (passenger, seats, grams, expected) in [
        (true, 10, 9_000_000, "us-commercial-force-passenger"),
        (true, 11, 3_000_000, "us-commercial-force-bus"),
        (false, 3, 4_535_924, "us-commercial-force-light"),
        (false, 3, 4_535_925, "us-commercial-force-other"),
    ] {
        let facts = VehicleFacts {
            passenger: Some(passenger),
            seats: Some(seats),
            gross_mass_g: Some(grams),
            ..VehicleFacts::default()
        };
        assert_eq!(
            applying(&commercial, "brake.service_efficiency", &facts),
            [expected]
        );
    }
}

#[test]
fn the_periodic_inspection_differs_at_exactly_one_sixteenth() {
    // 49 CFR 396 App. A 1.a(6)(c) and (d): R. 1/4 in = 6.35 mm, 1/8 in = 3.175 mm, 1/16 in = 1.5875 mm.
    let periodic = pack("us-commercial-periodic");
    assert_rows(
        &periodic,
        &[
            "us-periodic-linings-non-steering | linings.thickness | >= 1.5875 mm | fails | major | 49 CFR \
             396 App. A 1.a(6)(c) | R",
            "us-periodic-linings-air-non-steering | linings.thickness | >= 6.350 mm | passes | major | 49 \
             CFR 396 App. A 1.a(6)(c) | R",
            "us-periodic-pads-air-non-steering | pads.thickness | >= 3.175 mm | passes | major | 49 CFR \
             396 App. A 1.a(6)(c) | R",
            "us-periodic-linings-air-steering | linings.thickness | >= 6.350 mm | passes | major | 49 CFR \
             396 App. A 1.a(6)(d) | R",
            "us-periodic-pads-air-steering | pads.thickness | >= 3.175 mm | passes | major | 49 CFR 396 \
             App. A 1.a(6)(d) | R",
            "us-periodic-pads-steering | pads.thickness | >= 1.5875 mm | fails | major | 49 CFR 396 App. A \
             1.a(6)(d) | R",
            "us-periodic-linings-electric-steering | linings.thickness | >= 1.5875 mm | fails | major | 49 \
             CFR 396 App. A 1.a(6)(d) | R",
        ],
    );
    let at_limit = |pack: &RulePack, id: &str| {
        pack.rows
            .iter()
            .find(|rule| rule.id == id)
            .unwrap()
            .at_limit_passes
    };
    assert!(!at_limit(&periodic, "us-periodic-linings-non-steering"));
    assert!(at_limit(
        &pack("us-commercial"),
        "us-commercial-linings-non-steering"
    ));
}

#[test]
fn new_discs_follow_un_r90_and_never_judge_a_vehicle() {
    // UN R90 5.3.3.1.1 and 5.3.3.1.2, printed in GRRF-80-12: R.
    let r90 = pack("un-r90-new-discs");
    assert_rows(
        &r90,
        &[
            "r90-variation-light | disc.variation | <= 0.015 mm | passes | major | 5.3.3.1.1 | R",
            "r90-runout-light | disc.runout | <= 0.050 mm | passes | major | 5.3.3.1.1 | R",
            "r90-variation-heavy | disc.variation | <= 0.030 mm | passes | major | 5.3.3.1.1 | R",
            "r90-runout-heavy | disc.runout | <= 0.150 mm | passes | major | 5.3.3.1.1 | R",
            "r90-drum-runout | drum.diameter radial_runout | <= 0.050 mm | passes | major | 5.3.3.1.2 | R",
            "r90-drum-ovality | drum.diameter ovality | <= 0.040 mm | passes | major | 5.3.3.1.2 | R",
        ],
    );
    assert_eq!(r90.scope, PackScope::NewPart);
    assert_eq!(
        when(&r90, "r90-runout-light").classes,
        ["M1", "N1", "O1", "O2"]
    );
    assert_eq!(when(&r90, "r90-drum-ovality").classes, ["M1", "N1"]);
    assert!(
        r90.rows
            .iter()
            .all(|rule| rule.when.part == Some(PartState::New))
    );
}

#[test]
fn brake_fluid_boils_where_571_116_says() {
    // 49 CFR 571.116 S5.1: S.
    let fluid = pack("brake-fluid");
    assert_rows(
        &fluid,
        &[
            "dot3-dry | fluid.boiling | >= 205 °C | passes | major | 49 CFR 571.116 S5.1 | S",
            "dot3-wet | fluid.boiling | >= 140 °C | passes | major | 49 CFR 571.116 S5.1 | S",
            "dot4-dry | fluid.boiling | >= 230 °C | passes | major | 49 CFR 571.116 S5.1 | S",
            "dot4-wet | fluid.boiling | >= 155 °C | passes | major | 49 CFR 571.116 S5.1 | S",
            "dot5-dry | fluid.boiling | >= 260 °C | passes | major | 49 CFR 571.116 S5.1 | S",
            "dot5-wet | fluid.boiling | >= 180 °C | passes | major | 49 CFR 571.116 S5.1 | S",
            "dot5-1-dry | fluid.boiling | >= 260 °C | passes | major | 49 CFR 571.116 S5.1 | S",
            "dot5-1-wet | fluid.boiling | >= 180 °C | passes | major | 49 CFR 571.116 S5.1 | S",
        ],
    );
    for (id, grade, part) in [
        ("dot3-dry", "DOT 3", PartState::New),
        ("dot4-wet", "DOT 4", PartState::InService),
        ("dot5-1-wet", "DOT 5.1", PartState::InService),
    ] {
        let conditions = when(&fluid, id);
        assert_eq!(
            (conditions.fluid_grade.as_deref(), conditions.part),
            (Some(grade), Some(part))
        );
    }
}

#[test]
fn every_limit_that_was_not_read_is_unconfirmed_until_somebody_checks_it() {
    for mut pack in packs() {
        assert!(!pack.edition.is_empty(), "{}", pack.id);
        let rows = pack.rows.clone();
        for row in rows {
            assert_eq!(row.unconfirmed(), row.status != Status::Read, "{}", row.id);
            assert!(pack.confirm(&row.id, "Ruth Aldous"));
            let confirmed = pack.rows.iter().find(|rule| rule.id == row.id).unwrap();
            assert!(!confirmed.unconfirmed(), "{}", row.id);
        }
        assert!(!pack.confirm("no such rule", "Ruth Aldous"));
    }
}

/// A disc axle's new size, minimum, run-out, variation, pads' new size and minimum, in micrometres.
fn disc_axle(sheet: &Sheet, axle: &str) -> [Option<i64>; 6] {
    let axle = sheet.axle(axle).unwrap();
    let disc = axle.disc.as_ref().unwrap();
    let pads = axle.pads.as_ref().unwrap();
    [
        disc.new.as_ref().map(|figure| figure.value),
        disc.discard.as_ref().map(|figure| figure.value),
        disc.runout.as_ref().map(|runout| runout.tir()),
        disc.dtv_max.as_ref().map(|figure| figure.value),
        pads.new_friction(),
        pads.min_friction(),
    ]
    .map(|length| length.map(|length| length.nm() / 1_000))
}

#[test]
fn the_invented_sheets_hold_the_invented_figures() {
    for (id, axle, expected) in [
        (
            "merlock-dunling",
            "front",
            [26_000, 23_000, 80, 15, 12_000, 2_000],
        ),
        (
            "merlock-dunling",
            "rear",
            [12_000, 10_000, 80, 15, 11_000, 2_000],
        ),
        (
            "merlock-ternway",
            "front",
            [28_000, 26_000, 80, 15, 11_000, 2_000],
        ),
        (
            "merlock-ternway",
            "rear",
            [18_000, 16_000, 80, 15, 10_000, 2_000],
        ),
        (
            "aldercote-wrenfold",
            "front",
            [24_000, 22_000, 100, 15, 12_000, 2_000],
        ),
        (
            "aldercote-wrenfold",
            "rear",
            [10_000, 8_000, 100, 15, 10_000, 2_000],
        ),
    ] {
        assert_eq!(
            disc_axle(&sheet(id), axle),
            expected.map(Some),
            "{id} {axle}"
        );
    }
    let pindle = sheet("merlock-pindle");
    // The maker of the Pindle gives no figure for the thickness variation.
    let expected = [
        Some(20_000),
        Some(18_000),
        Some(60),
        None,
        Some(11_000),
        Some(2_000),
    ];
    assert_eq!(disc_axle(&pindle, "front"), expected);
    let rear = pindle.axle("rear").unwrap();
    assert_eq!(rear.brake, BrakeKind::Drum);
    let drum = rear.drum.as_ref().unwrap();
    let linings = rear.linings.as_ref().unwrap();
    assert_eq!(drum.new.as_ref().unwrap().value.to_string(), "203.000 mm");
    assert_eq!(drum.max.as_ref().unwrap().value.to_string(), "204.000 mm");
    assert_eq!(linings.new_friction().unwrap().to_string(), "4.500 mm");
    assert_eq!(linings.min_friction().unwrap().to_string(), "1.500 mm");
    let dunling = sheet("merlock-dunling");
    let machine_to = dunling.axles[0]
        .disc
        .as_ref()
        .unwrap()
        .machine_to
        .as_ref()
        .unwrap();
    assert_eq!(machine_to.value.to_string(), "23.600 mm");
    assert_eq!(
        dunling
            .retorque
            .unwrap()
            .distance
            .unwrap()
            .value
            .to_string(),
        "50 km"
    );
}

#[test]
fn the_invented_sheets_hold_wheels_torques_and_intervals() {
    for (id, class, fasteners, thread, torque, carrier, single_use, slide_pin) in [
        (
            "merlock-dunling",
            "N1",
            5,
            "M14",
            "140 N·m",
            None,
            false,
            None,
        ),
        (
            "merlock-ternway",
            "M1",
            5,
            "M14",
            "160 N·m",
            Some("105 N·m"),
            false,
            None,
        ),
        (
            "aldercote-wrenfold",
            "M1",
            5,
            "M12",
            "110 N·m",
            Some("90 N·m"),
            true,
            Some("30 N·m"),
        ),
        (
            "merlock-pindle",
            "M1",
            4,
            "M12",
            "100 N·m",
            None,
            false,
            None,
        ),
    ] {
        let sheet = sheet(id);
        assert_eq!(sheet.vehicle_class.as_deref(), Some(class), "{id}");
        assert_eq!(sheet.wheel.fasteners, fasteners, "{id}");
        assert_eq!(sheet.wheel.thread.as_deref(), Some(thread), "{id}");
        assert_eq!(
            sheet.wheel.torque.as_ref().unwrap().value.to_string(),
            torque,
            "{id}"
        );
        assert_eq!(sheet.fluid_grade.as_ref().unwrap().value, "DOT 4", "{id}");
        assert_eq!(
            sheet.service.distance.as_ref().unwrap().value.to_string(),
            "15000 km",
            "{id}"
        );
        assert_eq!(sheet.service.months, Some(12), "{id}");
        for axle in &sheet.axles {
            let float = axle.bearing_float_max.as_ref().unwrap();
            assert_eq!(float.value.to_string(), "0.050 mm", "{id} {}", axle.name);
            let calliper = axle.calliper.clone().unwrap_or_default();
            let torque = |fastener: &FastenerSpec| fastener.torque.value.to_string();
            assert_eq!(
                calliper.carrier.as_ref().map(torque).as_deref(),
                carrier,
                "{id}"
            );
            assert_eq!(
                calliper.carrier.is_some_and(|bolts| bolts.single_use),
                single_use,
                "{id}"
            );
            assert_eq!(
                calliper.slide_pin.as_ref().map(torque).as_deref(),
                slide_pin,
                "{id}"
            );
        }
    }
}

#[test]
fn each_demonstration_vehicle_finds_its_own_sheet_only() {
    for (vin, id) in [
        ("A0ZDL07V7NK001122", "merlock-dunling"),
        ("A0ZTN12S0MK000417", "merlock-ternway"),
        ("A0ZWR05C6LK004096", "aldercote-wrenfold"),
        ("A0ZPN08D9PK000733", "merlock-pindle"),
    ] {
        let fitting: Vec<String> = builtin_sheets()
            .iter()
            .map(|(file, text)| Sheet::parse(text, file).unwrap())
            .filter(|sheet| sheet.fits_vin(vin))
            .map(|sheet| sheet.id)
            .collect();
        assert_eq!(fitting, [id]);
    }
}

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
