//! Whose limit, which instrument, which depth, and parts fitted.

use super::bench::*;

#[test]
fn what_nobody_limits_is_no_limit_and_makes_the_vehicle_incomplete() {
    let mut bench = Bench::van();
    bench.retain(|e| !matches!(e, Event::Earlier { .. }));
    bench.specs.packs.retain(|pack| pack.id != "gb");
    for axle in &mut bench.specs.sheet.axles {
        axle.pads.as_mut().unwrap().min = None;
        axle.disc.as_mut().unwrap().discard = None;
        axle.bearing_float_max = None;
    }
    // Without a figure a bearing is felt; an end float alone says nothing of it.
    for (item, verdict) in [
        (Item::PadsThickness, NoLimit),
        (Item::DiscThickness, NoLimit),
        (Item::BearingFloat, NotInspected),
    ] {
        let found = bench.found("FL", item);
        assert_eq!(found.verdict, verdict, "{}", found.sentence);
        assert!(found.value.is_some());
    }
    assert_eq!(bench.judge().as_left, Verdict::Incomplete);
}

#[test]
fn a_minimum_that_may_include_the_plate_passes_nothing() {
    let mut bench = Bench::van();
    bench.specs.sheet.axles[0].pads.as_mut().unwrap().basis = None;
    let found = bench.found("FL", Item::PadsThickness);
    assert_eq!(
        found.verdict, Advise,
        "the pack's 1.5 mm alone must not pass it: {}",
        found.sentence
    );
}

#[test]
fn exactly_at_an_exclusive_limit_is_beyond_it() {
    // 49 CFR 393.47(d)(1): 1.6 mm (1/16 in) or less fails on a steering axle; (d)(2): less than
    // 1.6 mm fails on others (read).
    let (file, text) = builtin_rule_packs()
        .iter()
        .find(|(file, _)| *file == "us-commercial.toml")
        .unwrap();
    let mut bench = Bench::van();
    bench.specs.packs = vec![RulePack::parse(text, file).unwrap()];
    for axle in &mut bench.specs.sheet.axles {
        axle.pads.as_mut().unwrap().min = None;
    }
    bench.retain(|e| !matches!(e, Event::Earlier { .. }));
    for (place, at_limit) in [("FL", Fail), ("RL", Advise)] {
        let limit = bench
            .found(place, Item::PadsThickness)
            .limit
            .unwrap()
            .number();
        let limit = Length::from_mm(limit).unwrap();
        bench.set(place, Item::PadsThickness, |_| Some(limit));
        check(
            "exactly",
            limit,
            &bench.found(place, Item::PadsThickness),
            at_limit,
        );
        bench.set(place, Item::PadsThickness, |_| Some(limit - nm(1)));
        check(
            "below",
            limit,
            &bench.found(place, Item::PadsThickness),
            Fail,
        );
        bench.set(place, Item::PadsThickness, |_| Some(limit + nm(1)));
        check(
            "above",
            limit,
            &bench.found(place, Item::PadsThickness),
            Advise,
        );
    }
}

#[test]
fn readings_of_an_instrument_that_may_not_give_them_never_pass() {
    let derived = [
        ("FL", Item::DiscThickness),
        ("FL", Item::DiscVariation),
        ("front", Item::AxleDiscDifference),
    ];
    type Change = fn(&mut Bench);
    let changes: [(&str, Change); 4] = [
        ("out of calibration", |b| {
            b.instrument("HW-M1", |i| {
                i.calibrated_until = Some("2026-03-01".parse().unwrap())
            });
        }),
        ("no calibration on file", |b| {
            b.instrument("HW-M1", |i| i.calibrated_until = None);
        }),
        ("not zero-checked", |b| {
            b.retain(|e| !matches!(e, Event::ZeroCheck(_)));
        }),
        ("zero error too large", |b| {
            b.each(|e| {
                if let Event::ZeroCheck(check) = e {
                    check.zero_error = um(3);
                }
            });
        }),
    ];
    for (what, change) in changes {
        let mut bench = Bench::van();
        change(&mut bench);
        for (place, item) in derived {
            let found = bench.found(place, item);
            assert_eq!(found.verdict, Advise, "{what}: {}", found.sentence);
        }
    }
    let mut bench = Bench::van();
    bench.instrument("HW-P1", |i| i.calibrated_until = None);
    for (place, item) in [
        ("FL", Item::PadsThickness),
        ("FL", Item::PadsInnerOuter),
        ("front", Item::AxlePadDifference),
    ] {
        assert_eq!(bench.found(place, item).verdict, Advise, "{item}");
    }
}

#[test]
fn a_lit_wear_lamp_is_an_advice_on_the_pads_too() {
    let mut bench = Bench::van();
    bench.defect("FL", Item::SensorWear, "lamp");
    assert_eq!(bench.found("FL", Item::PadsThickness).verdict, Advise);
    bench.book.fitted(at("FL"), Part::SensorWear);
    bench.book.sound(at("FL"), Item::SensorWear, Phase::AsLeft);
    assert_eq!(
        bench
            .state("FL", Item::PadsThickness, Phase::AsLeft)
            .verdict,
        Pass
    );
}

#[test]
fn a_part_fitted_voids_what_was_found_until_it_is_measured_again() {
    let mut bench = Bench::van();
    bench.book.fitted("front".parse().unwrap(), Part::Disc);
    for item in [
        Item::DiscThickness,
        Item::DiscVariation,
        Item::DiscRunout,
        Item::DiscSurface,
    ] {
        assert_eq!(
            bench.state("FL", item, Phase::AsLeft).verdict,
            NotInspected,
            "{item}"
        );
        assert_eq!(bench.found("FL", item).verdict, Pass, "{item}");
    }
    assert_eq!(bench.judge().as_left, Verdict::Incomplete);
}

#[test]
fn new_pads_on_a_seized_pin_are_not_a_cure() {
    let mut bench = Bench::of("HWY-0423");
    bench.retain(|event| match event {
        Event::Seen { item, phase, .. } => (*item, *phase) != (Item::SlidePins, Phase::AsLeft),
        Event::Fitted { part, .. } => *part != Part::Calliper,
        _ => true,
    });
    let pads = bench.state("RR", Item::PadsThickness, Phase::AsLeft);
    assert_eq!(pads.verdict, Fail, "{}", pads.sentence);
    assert!(pads.reasons[0].contains("not cured"), "{:?}", pads.reasons);
}

#[test]
fn judder_or_pull_asks_for_the_full_depth_and_less_never_passes() {
    for symptom in [Symptom::Judder, Symptom::Pull] {
        let mut bench = Bench::of("HWY-0429");
        bench.complains(symptom);
        let judgement = bench.judge();
        assert_eq!(judgement.depth, Depth::Full);
        for item in [Item::DiscThickness, Item::DiscVariation, Item::DiscRunout] {
            let found = bench.found("FL", item);
            assert_eq!(found.verdict, Advise, "{}", found.sentence);
            assert!(
                found
                    .reasons
                    .iter()
                    .any(|r| r.contains("depth insufficient")),
                "{:?}",
                found.reasons
            );
        }
        // What full depth schedules and nobody looked at is not inspected.
        assert_eq!(bench.found("FL", Item::SlidePins).verdict, NotInspected);
    }
}

#[test]
fn an_unfinished_ring_is_no_inspection_but_a_failure_in_it_stands() {
    let mut bench = Bench::van();
    bench.retain(|event| {
        !matches!(event, Event::Reading(r)
            if r.place == at("FL") && r.item == Item::DiscThickness && matches!(r.slot, Slot::Point(n) if n > 3))
    });
    assert_eq!(bench.found("FL", Item::DiscThickness).verdict, NotInspected);
    bench.ring("FL", um(22_900), Length::ZERO);
    assert_eq!(bench.found("FL", Item::DiscThickness).verdict, Fail);
    let mut bench = Bench::van();
    let outer_missing =
        |e: &Event| !matches!(e, Event::Reading(r) if matches!(r.slot, Slot::Outer(_)));
    bench.retain(outer_missing);
    assert_eq!(bench.found("FL", Item::PadsThickness).verdict, NotInspected);
    bench.set("FL", Item::PadsThickness, |_| Some(um(700)));
    let found = bench.found("FL", Item::PadsThickness);
    assert_eq!((found.verdict, found.urgency), (Fail, Some(Urgency::Stop)));
}

#[test]
fn a_disc_s_earlier_thicknesses_give_its_distance_too() {
    let mut bench = Bench::van();
    for (km, t) in [(40_000, 24.0), (60_000, 23.8)] {
        bench.book.push(Event::Earlier {
            corner: "FL".parse().unwrap(),
            item: Item::DiscThickness,
            odometer: brakecorner::units::Distance::from_whole_km(km),
            thickness: Length::from_mm(t).unwrap(),
            source: "example".into(),
            date: None,
            since: Default::default(),
        });
    }
    bench.ring("FL", um(23_550), um(3));
    // About 0.01 mm in 1000 km: 0.55 mm are some 53 000 km.
    assert_eq!(bench.found("FL", Item::DiscThickness).verdict, Pass);
    bench.specs.sheet.service.distance = None;
    bench.specs.policy.service_distance.value = brakecorner::units::Distance::from_whole_km(60_000);
    let found = bench.found("FL", Item::DiscThickness);
    assert_eq!(found.verdict, Advise, "{}", found.sentence);
    assert!(
        matches!(found.urgency, Some(Urgency::By { km: Some(km), .. }) if (84_120..144_120).contains(&km))
    );
}

#[test]
fn a_cast_mark_that_differs_is_a_finding_and_the_stricter_rules() {
    for (mark, value, verdict) in [
        ("22.5", 22_999, Fail),
        ("24.2", 24_199, Fail),
        ("23.0", 24_000, Pass),
        ("22.5", 24_000, Advise),
    ] {
        let mut bench = Bench::van();
        bench.ring("FL", um(value), um(3));
        bench.book.push(Event::CastMark {
            corner: "FL".parse().unwrap(),
            entered: Entered::read(mark, Quantity::Length, "mm").unwrap(),
        });
        check(
            mark,
            um(value),
            &bench.found("FL", Item::DiscThickness),
            verdict,
        );
    }
}

#[test]
fn a_disc_below_its_machining_thickness_is_told_so_and_still_passes() {
    let mut bench = Bench::van();
    for (value, told) in [(23_601, false), (23_600, true), (23_400, true)] {
        bench.ring("FL", um(value), um(3));
        let found = bench.found("FL", Item::DiscThickness);
        assert_eq!(found.verdict, Pass, "{}", found.sentence);
        assert_eq!(
            found
                .reasons
                .iter()
                .any(|r| r.contains("may not be machined")),
            told,
            "{value}"
        );
    }
}

#[test]
fn two_people_whose_repeats_disagree_ask_for_a_third() {
    let mut bench = Bench::van();
    bench.book.by("Tam Okoro");
    let ring: Vec<String> = (0..10).map(|_| "24.330".to_owned()).collect();
    let item = Item::DiscThickness;
    for (n, text) in (1..).zip(&ring) {
        let gauge = Some(("HW-M1", "mm"));
        bench.book.read(
            at("FL"),
            item,
            Phase::AsFound,
            2,
            Slot::Point(n),
            text,
            gauge,
            None,
        );
    }
    let found = bench.found("FL", item);
    assert_eq!(found.verdict, Advise);
    assert!(
        found.reasons.iter().any(|r| r.contains("Tam Okoro")),
        "{:?}",
        found.reasons
    );
}

#[test]
fn ten_typed_readings_alike_that_nobody_confirmed_are_taken_again() {
    let mut bench = Bench::van();
    bench.ring("FL", um(24_300), Length::ZERO);
    assert_eq!(bench.found("FL", Item::DiscThickness).verdict, Advise);
    bench.each(|event| {
        if let Event::Reading(r) = event {
            r.confirmed = true;
        }
    });
    assert_eq!(bench.found("FL", Item::DiscThickness).verdict, Pass);
}
