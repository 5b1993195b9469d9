//! What may be entered besides plain readings, and what the judgement makes of it.

use super::bench::*;
use brakecorner::judge::{ForecastResults, Results, clocking_of};
use brakecorner::units::Distance;

fn km(v: i64) -> Distance {
    Distance::from_whole_km(v)
}

fn read(bench: &mut Bench, item: Item, slot: Slot, text: &str) {
    let place = at("FL");
    bench
        .book
        .read(place, item, Phase::AsFound, 1, slot, text, None, None);
}

#[test]
fn a_gauge_as_warm_as_the_disc_needs_no_correction() {
    let thinnest = |gauge: Option<&str>| {
        let mut bench = Bench::van();
        bench.each(|event| {
            if let Event::Reading(r) = event
                && r.slot == Slot::Temperature
            {
                r.entered = Entered::read("80", Quantity::Temperature, "°C").unwrap();
            }
        });
        if let Some(gauge) = gauge {
            read(
                &mut bench,
                Item::DiscThickness,
                Slot::GaugeTemperature,
                gauge,
            );
        }
        bench.ring("FL", um(24_300), um(3));
        bench
            .found("FL", Item::DiscThickness)
            .value
            .unwrap()
            .number()
    };
    assert!((thinnest(Some("80")) - 24.3).abs() < 1e-9);
    // 60 K of 11.4e-6/K: 24.3 / 1.000684.
    assert!((thinnest(None) - 24.3 / 1.000_684).abs() < 1e-6);
    assert!((thinnest(Some("20")) - thinnest(None)).abs() < 1e-12);
}

#[test]
fn each_face_s_loss_is_judged_and_held_against_the_micrometer() {
    // New 26 mm, mean about 24.3: the faces have lost 1.7 mm together.
    for (outer, inner, verdict, words) in [
        ("0.85", "0.85", Pass, ""),
        ("0.70", "1.00", Pass, ""),             // 1.43 times
        ("0.60", "1.10", Advise, "inner face"), // 1.83 times
        ("1.10", "0.60", Advise, "outer face"),
        (
            "0.85",
            "1.20",
            Advise,
            "the lips and the micrometer differ by",
        ), // 0.35 mm too much
    ] {
        let mut bench = Bench::van();
        bench.ring("FL", um(24_300), um(3));
        read(&mut bench, Item::DiscThickness, Slot::LipOuter(1), outer);
        read(&mut bench, Item::DiscThickness, Slot::LipInner(1), inner);
        let found = bench.found("FL", Item::DiscThickness);
        assert_eq!(
            found.verdict, verdict,
            "{outer} {inner}: {:?}",
            found.reasons
        );
        assert!(
            found.reasons.iter().any(|r| r.contains(words)) || words.is_empty(),
            "{:?}",
            found.reasons
        );
        let json = serde_json::to_value(&found).unwrap();
        assert_eq!(
            json["results"]["lip_outer_mm"].to_string(),
            outer.trim_end_matches('0').to_owned()
        );
        assert!(
            json["results"]["lip_closure_mm"].is_number()
                && json["results"]["face_ratio"].is_number()
        );
    }
}

#[test]
fn one_visit_of_parts_whose_fitting_is_known_gives_a_forecast() {
    let forecast = |thickness: Option<Length>, mm: &str| {
        let mut bench = Bench::van();
        bench.retain(|e| !matches!(e, Event::Earlier { .. }));
        bench.book.push(Event::FittedBefore {
            corner: "FL".parse().unwrap(),
            item: Item::PadsThickness,
            odometer: km(60_000),
            thickness,
        });
        let pads = Length::parse(mm, LengthUnit::Millimetre).unwrap();
        bench.set("FL", Item::PadsThickness, |_| Some(pads));
        let found = bench.found("FL", Item::PadsThickness);
        let u = found.u.unwrap();
        match found.results {
            Some(Results::Friction { forecast, .. }) => (forecast, found.verdict, u),
            other => panic!("{other:?}"),
        }
    };
    // 12 mm measured when fitted, 6 mm after 24 120 km, 2 mm is the limit: 4/6 of the way again.
    let (known, verdict, u) = forecast(Some(um(12_000)), "6.0");
    let ForecastResults::Known {
        distance_left_km,
        distance_left_lower_km,
        method,
        ..
    } = known
    else {
        panic!("{known:?}")
    };
    assert_eq!(
        (distance_left_km, method.as_str()),
        (16_080, "one visit, fitting known")
    );
    let lower = 4.0 * 24_120.0 / (6.0 + 1.281_552 * 2f64.sqrt() * u) / 1.25;
    assert_eq!(distance_left_lower_km, lower.round() as i64);
    assert_eq!(verdict, if lower < 15_000.0 { Advise } else { Pass });
    // A thickness nobody measured counts with 0.3 mm: the bound is lower, the middle the same size's.
    let (unmeasured, ..) = forecast(None, "6.0");
    assert!(
        matches!(unmeasured, ForecastResults::Known { .. }),
        "{unmeasured:?}"
    );
    let (grown, ..) = forecast(Some(um(5_000)), "6.0");
    let ForecastResults::None { no_forecast } = grown else {
        panic!("{grown:?}")
    };
    assert!(no_forecast.contains("grows"), "{no_forecast}");
}

#[test]
fn readings_from_before_the_parts_were_fitted_are_another_s() {
    let mut bench = Bench::van();
    bench.book.push(Event::FittedBefore {
        corner: "RL".parse().unwrap(),
        item: Item::PadsThickness,
        odometer: km(80_000),
        thickness: Some(um(4_000)),
    });
    let Some(Results::Friction {
        forecast: ForecastResults::Known { method, .. },
        ..
    }) = bench.found("RL", Item::PadsThickness).results
    else {
        panic!("no forecast")
    };
    assert_eq!(method, "one visit, fitting known");
}

#[test]
fn a_dated_earlier_reading_turns_the_distance_into_a_day_and_an_undated_one_does_not() {
    let urgency = |date: Option<&str>| {
        let mut bench = Bench::van();
        bench.each(|event| {
            if let Event::Earlier {
                odometer,
                date: day,
                ..
            } = event
                && *odometer == km(61_050)
            {
                *day = date.map(|date| date.parse().unwrap());
            }
        });
        bench.found("RL", Item::PadsThickness).urgency
    };
    assert_eq!(
        urgency(None),
        Some(Urgency::By {
            km: Some(89_457),
            date: None
        })
    );
    // 23 070 km in 365 days; 5337 km more are 84 whole days.
    let days = 5_337 * 365 / 23_070;
    assert_eq!(days, 84);
    let expected = "2026-03-02".parse::<chrono::NaiveDate>().unwrap() + chrono::Days::new(84);
    assert_eq!(
        urgency(Some("2025-03-02")),
        Some(Urgency::By {
            km: Some(89_457),
            date: Some(expected)
        })
    );
    // A day that does not lie before the job gives no pace.
    assert!(matches!(
        urgency(Some("2026-03-02")),
        Some(Urgency::By { date: None, .. })
    ));
}

#[test]
fn a_scored_face_is_graded_by_its_measured_depth() {
    for (code, depth, verdict) in [
        ("scored", "0.499", Pass),
        ("scored", "0.500", Advise),
        ("scored", "1.500", Advise),
        ("scored", "1.501", Fail),
        ("scored_deep", "0.3", Fail),
    ] {
        let mut bench = Bench::van();
        bench.defect("FL", Item::DiscSurface, code);
        read(&mut bench, Item::DiscSurface, Slot::Value(1), depth);
        let found = bench.found("FL", Item::DiscSurface);
        assert_eq!(found.verdict, verdict, "{code} {depth}: {}", found.sentence);
        assert_eq!(
            found.value.unwrap().number().to_string(),
            depth.trim_end_matches('0')
        );
    }
}

#[test]
fn only_clockings_the_vehicle_allows_are_recommended() {
    let best = |possible: Option<Vec<u8>>| {
        let mut bench = Bench::of("HWY-0417");
        let front = "front".parse().unwrap();
        if let Some(possible) = possible {
            bench.book.push(Event::Clockings {
                axle: front,
                possible,
            });
        }
        let job = bench.book.fold();
        let case = bench.specs.case(&job, &bench.register);
        let clocking = clocking_of(&case, "FR".parse().unwrap(), None)
            .unwrap()
            .unwrap();
        clocking.best.unwrap()
    };
    let free = best(None);
    let others: Vec<u8> = (0..5).filter(|k| *k != free).collect();
    let bound = best(Some(others));
    assert_ne!(bound, free);
    assert_eq!(best(Some(vec![0])), 0);
    // What the causes say follows: the disc is never to be turned where it cannot go.
    let mut bench = Bench::of("HWY-0417");
    bench.book.push(Event::Clockings {
        axle: "front".parse().unwrap(),
        possible: vec![0, 1],
    });
    let causes = bench.judge().causes;
    let turn = causes
        .iter()
        .find(|c| c.next_test.contains("turn the disc on by"));
    assert!(
        turn.is_none_or(|c| c.next_test.contains("by 0") || c.next_test.contains("by 1")),
        "{turn:?}"
    );
}
