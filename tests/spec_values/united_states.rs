//! The United States rules.

use super::help::*;

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
