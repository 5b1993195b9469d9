//! An instrument that cannot have given a reading passes nothing by it.

use brakecorner::job::Lapse;

use super::bench::*;

const READ: [(&str, &str, Item, &str); 8] = [
    ("HWY-0411", "FL", Item::DiscThickness, "HW-M1"),
    ("HWY-0411", "FL", Item::DiscRunout, "HW-D1"),
    ("HWY-0411", "FL", Item::BearingFloat, "HW-D1"),
    ("HWY-0411", "FL", Item::PadsThickness, "HW-P1"),
    ("HWY-0411", "vehicle", Item::FluidBoiling, "HW-F1"),
    ("HWY-0429", "RL", Item::DrumDiameter, "HW-G1"),
    ("HWY-0429", "RL", Item::LiningsThickness, "HW-P1"),
    ("HWY-0423", "vehicle", Item::ServiceEfficiency, "HW-R1"),
];

/// Gives every reading of an item the mark of another instrument.
fn by(bench: &mut Bench, place: &str, item: Item, id: Option<&str>) {
    let place: Place = place.parse().unwrap();
    bench.each(|event| {
        if let Event::Reading(r) = event
            && (r.place, r.item) == (place, item)
            && r.instrument.is_some()
        {
            r.instrument = id.map(str::to_owned);
        }
    });
}

#[test]
fn an_instrument_of_another_kind_gives_no_pass() {
    for (job, place, item, own) in READ {
        let mut bench = Bench::of(job);
        let before = bench.found(place, item);
        assert_eq!(before.verdict, Pass, "{}", before.sentence);
        // A zero check of its own takes nothing away from the reason.
        for other in ["HW-T1", "HW-M1", "HW-P1", "HW-D1", "HW-F1"] {
            let kind = |id| bench.register.get(id).unwrap().kind;
            if kind(own) == kind(other) {
                continue;
            }
            by(&mut bench, place, item, Some(other));
            let found = bench.found(place, item);
            assert_eq!(found.verdict, Advise, "{other}: {}", found.sentence);
            let said = found.reasons.join("; ");
            let wanted = format!("{other} is a ");
            assert!(said.contains(&wanted), "{said}");
        }
    }
}

#[test]
fn a_value_outside_the_instrument_s_range_gives_no_pass() {
    for ((job, place, item, own), range) in READ.into_iter().zip([
        "25-50",
        "0-0.01",
        "0-0.004",
        "0-5",
        "50-200",
        "150-203.2",
        "0-3",
        "0-3900",
    ]) {
        let mut bench = Bench::of(job);
        bench.instrument(own, |i| i.range = range.into());
        let found = bench.found(place, item);
        assert_eq!(found.verdict, Advise, "{item} {range}: {}", found.sentence);
        let said = found.reasons.join("; ");
        assert!(said.contains("range") && said.contains(range), "{said}");
        bench.instrument(own, |i| i.range = String::new());
        assert_eq!(bench.found(place, item).verdict, Pass, "{item}");
    }
    // A range stands in the instrument's own unit.
    for (unit, range, verdict) in [("in", "0-1", Pass), ("in", "0-0.9", Advise)] {
        let mut bench = Bench::van();
        bench.instrument("HW-M1", |i| {
            i.unit = unit.into();
            i.range = range.into();
            i.resolution = "0.001 mm".into();
            i.error = "0.004 mm".into();
            i.repeatability = "0.001 mm".into();
        });
        let found = bench.found("FL", Item::DiscThickness);
        assert_eq!(found.verdict, verdict, "{range} {unit}: {}", found.sentence);
    }
    for (range, verdict) in [("122-608", Pass), ("122-400", Advise)] {
        let mut bench = Bench::van();
        bench.instrument("HW-F1", |i| {
            i.unit = "°F".into();
            i.range = range.into();
        });
        // 212 °C are 413.6 °F.
        let found = bench.found("vehicle", Item::FluidBoiling);
        assert_eq!(found.verdict, verdict, "{range} °F: {}", found.sentence);
    }
}

#[test]
fn a_zero_error_beyond_what_is_allowed_gives_no_pass_whatever_the_instrument() {
    for (job, place, item, own) in READ {
        let mut bench = Bench::of(job);
        let length = bench.register.get(own).unwrap().kind.measures_length();
        if !length {
            continue;
        }
        // Checked first of all, so that it stands before the readings.
        let check = brakecorner::job::ZeroCheckEvent {
            instrument: own.into(),
            standard: "setting standard".into(),
            entered: Entered::read("0.2", Quantity::Length, "mm").unwrap(),
            zero_error: um(200),
        };
        let (meta, opened) = bench.book.entries.remove(0);
        bench.retain(|e| !matches!(e, Event::ZeroCheck(_)));
        let at = |seq| Meta {
            seq,
            ..meta.clone()
        };
        bench
            .book
            .entries
            .insert(0, (at(0), Event::ZeroCheck(check)));
        bench.book.entries.insert(0, (at(0), opened));
        for (n, (meta, _)) in bench.book.entries.iter_mut().enumerate() {
            meta.seq = n as u64 + 1;
        }
        let found = bench.found(place, item);
        assert_eq!(found.verdict, Advise, "{item}: {}", found.sentence);
        let said = found.reasons.join("; ");
        assert!(
            said.contains("zero error") && said.contains("0.200 mm"),
            "{said}"
        );
    }
}

#[test]
fn a_zero_error_is_taken_off_pads_and_linings_as_off_discs_and_drums() {
    // The gauge reads 0.3 mm too much; 2.2 mm is 1.9 mm, and fails.
    let mut bench = Bench::van();
    bench.set("FL", Item::PadsThickness, |_| Some(um(2_200)));
    assert_eq!(bench.found("FL", Item::PadsThickness).verdict, Advise);
    let seq = bench.book.entries.len() as u64;
    bench.book.zero("HW-P1", "plate", "0.3", 300);
    let entry = bench.book.entries.pop().unwrap();
    bench.book.entries.insert(1, entry);
    for (n, (meta, _)) in bench.book.entries.iter_mut().enumerate() {
        meta.seq = n as u64 + 1;
    }
    assert_eq!(bench.book.entries.len() as u64, seq + 1);
    let found = bench.found("FL", Item::PadsThickness);
    assert_eq!(found.verdict, Fail, "{}", found.sentence);
    assert!((found.value.unwrap().number() - 1.9).abs() < 1e-9);
}

#[test]
fn readings_of_a_set_without_an_instrument_give_no_pass() {
    let mut bench = Bench::van();
    bench.each(|event| {
        if let Event::Reading(r) = event
            && r.place == at("FL")
            && r.slot == Slot::Point(4)
        {
            r.instrument = None;
        }
    });
    for item in [Item::DiscThickness, Item::DiscRunout] {
        let found = bench.found("FL", item);
        assert_eq!(found.verdict, Advise, "{}", found.sentence);
    }
}

/// Every budget by hand, in µm, with a permissible error of 4, a step of 1, s = 3 from a study with 9
/// degrees of freedom and 2 between people; the zero check's 1 is policy's. A thickness carries the
/// people's spread like a zero error, so that a variation is free of it; one ring of a dial is
/// read by one person, and the spread counts with s.
#[test]
fn an_instrument_s_own_study_enters_the_uncertainty() {
    let mut bench = Bench::van();
    for id in ["HW-M1", "HW-D1"] {
        bench.instrument(id, |i| {
            i.error = "0.004".into();
            i.resolution = "0.001".into();
            i.repeatability = "0.003".into();
            i.repeatability_dof = Some(9);
            i.reproducibility = "0.002".into();
        });
    }
    bench.instrument("HW-P1", |i| i.reproducibility = "0.03".into());
    let squares = |parts: &[f64]| parts.iter().map(|u| u * u).sum::<f64>().sqrt() * 1e-3;
    let (a, d) = (4.0 / 3f64.sqrt(), 1.0 / 12f64.sqrt());
    let two = 2f64.sqrt();
    // ± 1 K at 20 °C: 11.4e-6 · 24.304 mm / √3.
    let warm = 11.4e-6 * 24_304.0 / 3f64.sqrt();
    let people = squares(&[3.0, 2.0]) * 1e3;
    for (item, expected) in [
        (Item::DiscThickness, squares(&[a, d, 3.0, 1.0, 2.0, warm])),
        (Item::DiscVariation, squares(&[two * 3.0, two * d])),
        (Item::DiscRunout, squares(&[a, two * people, two * d])),
        // 0.1 mm, steps of 0.1 mm, s = 50 µm and 30 µm between people.
        (
            Item::PadsThickness,
            squares(&[100.0 / 3f64.sqrt(), 100.0 / 12f64.sqrt(), 50.0, 30.0]),
        ),
    ] {
        let u = bench.found("FL", item).u.unwrap();
        assert!(
            (u - expected).abs() < 2e-6,
            "{item}: {u} against {expected}"
        );
    }
    // Without a study of its own the policy's repeatability stands in, and no degrees of freedom.
    bench.instrument("HW-M1", |i| {
        i.repeatability = String::new();
        i.reproducibility = String::new();
    });
    let s = bench.specs.policy.gauge_repeatability.value.um();
    let u = bench.found("FL", Item::DiscThickness).u.unwrap();
    assert!((u - squares(&[a, d, s, 1.0, warm])).abs() < 2e-6, "{u}");
}

/// A time after every reading of the four jobs.
fn afterwards() -> chrono::DateTime<chrono::FixedOffset> {
    "2099-12-31T00:00:00+00:00".parse().unwrap()
}

#[test]
fn what_was_read_in_a_lapse_of_calibration_gives_no_pass() {
    let lapse = Lapse {
        after: None,
        ended: afterwards(),
    };
    for (job, place, item, id) in READ {
        let mut bench = Bench::of(job);
        bench.register.get_mut(id).unwrap().lapse = Some(lapse);
        let found = bench.found(place, item);
        assert_eq!(found.verdict, Advise, "{id}: {}", found.sentence);
        let said = found.reasons.join("; ");
        assert!(
            said.contains("without a calibration when it was read"),
            "{said}"
        );
    }
    // A click of such a wrench is no final one.
    let mut bench = Bench::of("HWY-0411");
    let left = |bench: &Bench| bench.state("FL", Item::TorqueWheel, Phase::AsLeft).verdict;
    assert_eq!(left(&bench), Pass);
    bench.register.get_mut("HW-T1").unwrap().lapse = Some(lapse);
    assert_eq!(left(&bench), NotInspected);
}
