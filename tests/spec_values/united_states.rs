//! The United States rules.

use super::help::*;

#[test]
fn united_states_over_10000_lb_says_what_570_subpart_b_says() {
    // 49 CFR 570.59(c): R; the 25 % of 570.59(a)(1): M. 1/32 in = 0.79375 mm, 1/16 in = 1.5875 mm.
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
            "us-heavy-imbalance | axle.imbalance | <= 25 % | passes | major | 49 CFR 570.59(a)(1) | M",
        ],
    );
    let bonded = VehicleFacts {
        mounting: Some(Mounting::Bonded),
        brake: Some(BrakeForm::Disc),
        gross_mass_g: Some(9_000_000),
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
    let sinks = heavy.defect("pedal.firm", "sinks", &bonded).unwrap();
    // 570.59(c) (R in part): cracks to the rivet holes.
    for item in ["pads.condition", "linings.thickness"] {
        let cracks = heavy.defect(item, "rivet_cracks", &bonded).unwrap();
        assert_eq!(cracks.clause, "49 CFR 570.59(c)");
    }
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
    assert_eq!(
        remarks,
        ["49 CFR 570.55(b)", "49 CFR 570.59(b)", "49 CFR 570.59(b)"]
    );
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
        ],
    );
    let disc = VehicleFacts {
        brake: Some(BrakeForm::Disc),
        ..VehicleFacts::default()
    };
    let mass = |grams| VehicleFacts {
        gross_mass_g: Some(grams),
        ..disc.clone()
    };
    assert_eq!(
        applying(&light, "pads.thickness", &mass(4_535_924)),
        ["us-light-pads"]
    );
    assert_eq!(applying(&light, "pads.thickness", &mass(4_535_925)), NONE);
    // That the workshop chose the pack says nothing of the mass; a class up to 3500 kg does.
    assert_eq!(applying(&light, "pads.thickness", &disc), NONE);
    let van = VehicleFacts {
        class: Some("N1".to_owned()),
        ..disc
    };
    assert_eq!(applying(&light, "pads.thickness", &van), ["us-light-pads"]);
}

#[test]
fn united_states_commercial_says_what_393_47_and_393_52_say() {
    // 49 CFR 393.47(d): R. 393.52(d): the figures R through 67 Pa. Code ch. 175 Table I; what the
    // chassis has to do with them M, so those rows are M.
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
             CFR 393.52(d) | M",
            "us-commercial-force-bus-car | brake.service_efficiency | >= 52.8 % | passes | major | 49 \
             CFR 393.52(d) | M",
            "us-commercial-force-bus-light | brake.service_efficiency | >= 52.8 % | passes | major | 49 \
             CFR 393.52(d) | M",
            "us-commercial-force-light | brake.service_efficiency | >= 52.8 % | passes | major | 49 CFR \
             393.52(d) | R",
            "us-commercial-force-other | brake.service_efficiency | >= 43.5 % | passes | major | 49 CFR \
             393.52(d) | R",
            "us-commercial-force-bus | brake.service_efficiency | >= 43.5 % | passes | major | 49 CFR \
             393.52(d) | M",
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
    let (car, bus) = (Chassis::PassengerCar, Chassis::TruckOrBus);
    for (passenger, seats, grams, chassis, expected) in [
        (true, 10, 9_000_000, car, "us-commercial-force-passenger"),
        (true, 11, 9_000_000, car, "us-commercial-force-bus-car"),
        (true, 11, 4_535_924, bus, "us-commercial-force-bus-light"),
        (true, 10, 4_535_925, bus, "us-commercial-force-bus"),
        (false, 3, 4_535_924, bus, "us-commercial-force-light"),
        (false, 3, 4_535_925, bus, "us-commercial-force-other"),
    ] {
        let facts = VehicleFacts {
            chassis: Some(chassis),
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
    // 49 CFR 396 App. A 1.a(6)(c) and (d): R; (d) for hydraulic and electric drums read twice, differing,
    // so the stricter row is M. (a) and (b): M. 1/4 in = 6.35 mm, 1/8 in = 3.175 mm, 1/16 in = 1.5875 mm.
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
            "us-periodic-linings-steering | linings.thickness | >= 6.350 mm | passes | major | 49 CFR 396 \
             App. A 1.a(6)(d) | M",
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
    for item in ["pads.condition", "linings.thickness"] {
        for (code, clause) in [("lifting", "(a)"), ("soaked", "(b)")] {
            let rule = periodic
                .defect(item, code, &VehicleFacts::default())
                .unwrap();
            assert!(
                rule.clause.ends_with(clause) && rule.unconfirmed(),
                "{}",
                rule.id
            );
        }
        let indicator = pack("us-commercial")
            .defect(item, "worn_to_indicator", &VehicleFacts::default())
            .cloned()
            .unwrap();
        assert!(indicator.clause == "49 CFR 393.47(d)" && indicator.unconfirmed());
    }
}
