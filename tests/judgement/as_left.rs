//! What is better as left than as found needs something that made it so.

use super::bench::*;
use brakecorner::job::{Contact, LineAnswer, Means, Outcome, QuoteLine};
use brakecorner::office::signing_obstacles;

/// The van's front left pads or disc as left, all readings of one thickness.
fn pads_left(bench: &mut Bench, mm: f64) {
    bench.book.pads(at("FL"), Phase::AsLeft, &[mm], &[mm]);
}

fn disc_left(bench: &mut Bench, mm: &str) {
    let ring: Vec<String> = (0..10)
        .map(|n| format!("{mm}{}", if n == 3 { 3 } else { 1 }))
        .collect();
    let gauge = ("HW-M1", "mm");
    bench
        .book
        .thickness(at("FL"), Phase::AsLeft, &ring, gauge, "20");
}

fn left(bench: &Bench, place: &str, item: Item) -> Finding {
    bench.state(place, item, Phase::AsLeft)
}

#[test]
fn a_disc_thicker_than_it_was_found_is_no_pass_unless_a_disc_was_fitted() {
    let mut bench = Bench::van();
    bench.ring("FL", um(22_900), um(2));
    disc_left(&mut bench, "24.30");
    let found = left(&bench, "FL", Item::DiscThickness);
    assert_eq!(found.verdict, Advise, "{}", found.sentence);
    let said = found.reasons.join("; ");
    assert!(
        said.contains("22.900 mm")
            && said.contains("24.300 mm")
            && said.contains("no part was logged as fitted"),
        "{said}"
    );
    // What follows from the same readings is not passed either.
    assert_eq!(left(&bench, "FL", Item::DiscVariation).verdict, Advise);
    assert_eq!(
        left(&bench, "front", Item::AxleDiscDifference).verdict,
        Advise
    );
    bench.book.fitted(at("FL"), Part::Disc);
    assert_eq!(left(&bench, "FL", Item::DiscThickness).verdict, Pass);
}

#[test]
fn a_gain_that_the_readings_uncertainty_explains_is_no_gain() {
    // u of either ring is 3.1 µm or less: 2·√(u² + u²) is 8.7 µm at most.
    for (micrometres, verdict) in [(24_305, Pass), (24_320, Advise)] {
        let mut bench = Bench::van();
        bench.ring("FL", um(24_300), um(2));
        disc_left(
            &mut bench,
            &format!("24.{:02}", (micrometres - 24_000) / 10),
        );
        let found = left(&bench, "FL", Item::DiscThickness);
        assert!(found.u.unwrap() < 0.0031, "{:?}", found.u);
        assert_eq!(found.verdict, verdict, "{micrometres}: {}", found.sentence);
    }
}

#[test]
fn pads_linings_drums_and_fluid_do_not_get_better_by_themselves() {
    let mut bench = Bench::van();
    bench.set("FL", Item::PadsThickness, |_| Some(um(1_000)));
    pads_left(&mut bench, 6.0);
    for item in [Item::PadsThickness, Item::PadsInnerOuter] {
        assert_eq!(left(&bench, "FL", item).verdict, Advise, "{item}");
    }
    bench.book.fitted(at("FL"), Part::Pads);
    assert_eq!(left(&bench, "FL", Item::PadsThickness).verdict, Pass);

    // A pad that was not measured at first hides nothing of the one that was.
    let mut bench = Bench::van();
    bench.set("FL", Item::PadsThickness, |_| Some(um(1_000)));
    bench.retain(|e| {
        !matches!(e, Event::Reading(r) if r.place == at("FL") && matches!(r.slot, Slot::Outer(_)))
    });
    pads_left(&mut bench, 6.0);
    assert_eq!(left(&bench, "FL", Item::PadsThickness).verdict, Advise);

    let mut bench = Bench::of("HWY-0429");
    bench.set("RL", Item::DrumDiameter, |_| Some(um(204_100)));
    bench.set("RL", Item::LiningsThickness, |_| Some(um(1_000)));
    for (item, slot, text, gauge) in [
        (Item::DrumDiameter, Slot::Open(1), "203.20", "HW-G1"),
        (Item::DrumDiameter, Slot::Open(2), "203.20", "HW-G1"),
        (Item::LiningsThickness, Slot::Lining(1), "4.0", "HW-P1"),
        (Item::LiningsThickness, Slot::Lining(2), "4.0", "HW-P1"),
    ] {
        let gauge = Some((gauge, "mm"));
        bench
            .book
            .read(at("RL"), item, Phase::AsLeft, 1, slot, text, gauge, None);
    }
    for item in [Item::DrumDiameter, Item::LiningsThickness] {
        assert_eq!(left(&bench, "RL", item).verdict, Advise, "{item}");
    }
    bench.book.fitted(at("RL"), Part::Drum);
    bench.book.fitted(at("RL"), Part::Linings);
    for item in [Item::DrumDiameter, Item::LiningsThickness] {
        assert_eq!(left(&bench, "RL", item).verdict, Pass, "{item}");
    }

    let mut bench = Bench::van();
    bench.retain(|e| !matches!(e, Event::Reading(r) if r.item == Item::FluidBoiling));
    bench.book.fluid("150");
    bench.book.read(
        Place::Vehicle,
        Item::FluidBoiling,
        Phase::AsLeft,
        1,
        Slot::Value(1),
        "240",
        Some(("HW-F1", "°C")),
        None,
    );
    let found = left(&bench, "vehicle", Item::FluidBoiling);
    assert_eq!(found.verdict, Advise, "{}", found.sentence);
    bench.book.fitted(Place::Vehicle, Part::Fluid);
    assert_eq!(left(&bench, "vehicle", Item::FluidBoiling).verdict, Pass);
}

fn agree(bench: &mut Bench, line: &str, outcome: Outcome) {
    bench.book.push(Event::Contact(Box::new(Contact {
        with: "the customer".to_owned(),
        means: Means::Telephone,
        reached: true,
        words: String::new(),
        answers: vec![LineAnswer {
            offered: QuoteLine {
                line: line.to_owned(),
                words: line.to_owned(),
                price: None,
            },
            outcome,
            until: None,
            reason: String::new(),
            caution_read: true,
        }],
        call_back: None,
        ceiling: None,
    })));
}

#[test]
fn a_look_that_failed_is_not_sound_again_by_itself() {
    for (item, code, part, line) in [
        (Item::Hose, "leak", Some(Part::Hose), "FL.hose"),
        (
            Item::SlidePins,
            "seized",
            Some(Part::Calliper),
            "FL.slide_pins",
        ),
        (Item::Springs, "missing", None, "front.springs"),
        (Item::Pipe, "cracked", None, "FL.pipe"),
        (Item::BoltsWitness, "loose", None, "FL.repair"),
    ] {
        let mut bench = Bench::van();
        bench.defect("FL", item, code);
        bench.book.sound(at("FL"), item, Phase::AsLeft);
        let found = left(&bench, "FL", item);
        assert_eq!(found.verdict, Advise, "{item}: {}", found.sentence);
        assert!(
            found.sentence.contains("failed as found"),
            "{}",
            found.sentence
        );
        if let Some(part) = part {
            let mut fitted = bench.clone();
            fitted.book.fitted(at("FL"), part);
            assert_eq!(left(&fitted, "FL", item).verdict, Pass, "{item}");
            let mut elsewhere = bench.clone();
            elsewhere.book.fitted(at("FR"), part);
            assert_eq!(left(&elsewhere, "FL", item).verdict, Advise, "{item}");
        }
        agree(&mut bench, line, Outcome::Yes);
        assert_eq!(left(&bench, "FL", item).verdict, Pass, "{item}");
        agree(&mut bench, line, Outcome::No);
        assert_eq!(
            left(&bench, "FL", item).verdict,
            Advise,
            "{item}: no after yes"
        );
    }
    // A calliper comes with its pins, and what no work is named for goes with any at its place.
    for (item, code, line) in [
        (Item::SlidePins, "seized", "FL.calliper"),
        (Item::BoltsWitness, "loose", "FL.hose"),
    ] {
        let mut bench = Bench::van();
        bench.defect("FL", item, code);
        bench.book.sound(at("FL"), item, Phase::AsLeft);
        agree(&mut bench, "FR.calliper", Outcome::Yes);
        assert_eq!(left(&bench, "FL", item).verdict, Advise, "{item}");
        agree(&mut bench, line, Outcome::Yes);
        assert_eq!(left(&bench, "FL", item).verdict, Pass, "{item}");
    }
    // What was only advised may be put right in passing.
    let mut bench = Bench::van();
    bench.defect("FL", Item::SlidePins, "dry");
    bench.book.sound(at("FL"), Item::SlidePins, Phase::AsLeft);
    assert_eq!(left(&bench, "FL", Item::SlidePins).verdict, Pass);
}

#[test]
fn what_was_advised_and_declined_is_not_sound_by_itself_either() {
    let mut bench = Bench::van();
    for (item, code) in [(Item::SlidePins, "dry"), (Item::WheelSeat, "partly")] {
        bench.defect("FL", item, code);
        bench.book.sound(at("FL"), item, Phase::AsLeft);
    }
    agree(&mut bench, "FL.slide_pins", Outcome::No);
    agree(&mut bench, "fluid", Outcome::Later);
    let pins = left(&bench, "FL", Item::SlidePins);
    assert_eq!(pins.verdict, Advise, "{}", pins.sentence);
    assert!(pins.sentence.contains("declined"), "{}", pins.sentence);
    // Nobody was asked about the wheel on its hub: that goes with any work.
    assert_eq!(left(&bench, "FL", Item::WheelSeat).verdict, Pass);
}

#[test]
fn what_was_declined_and_is_better_all_the_same_stands_in_the_way_of_the_signature() {
    for code in ["seized", "dry"] {
        let mut bench = Bench::van();
        bench.defect("FL", Item::SlidePins, code);
        bench.book.sound(at("FL"), Item::SlidePins, Phase::AsLeft);
        let in_the_way = |bench: &Bench| {
            let job = bench.book.fold();
            let case = bench.specs.case(&job, &bench.register);
            let obstacles = signing_obstacles(&case, &judge(&case));
            let mut words = obstacles.iter().map(ToString::to_string);
            words.any(|words| {
                words.contains("`FL.slide_pins` was declined, and the item is no longer")
            })
        };
        agree(&mut bench, "FL.slide_pins", Outcome::No);
        assert_eq!(left(&bench, "FL", Item::SlidePins).verdict, Advise);
        assert!(in_the_way(&bench), "{code}");
        agree(&mut bench, "FL.calliper", Outcome::Yes);
        assert!(!in_the_way(&bench));
    }
}

#[test]
fn a_bearing_felt_rough_is_not_measured_smooth() {
    let mut bench = Bench::van();
    bench.defect("FL", Item::BearingFloat, "rough");
    bench.book.float(at("FL"), Phase::AsLeft, "0.006");
    assert_eq!(left(&bench, "FL", Item::BearingFloat).verdict, Fail);
    bench
        .book
        .sound(at("FL"), Item::BearingFloat, Phase::AsLeft);
    assert_eq!(left(&bench, "FL", Item::BearingFloat).verdict, Advise);
    bench.book.fitted(at("FL"), Part::Bearing);
    assert_eq!(left(&bench, "FL", Item::BearingFloat).verdict, Pass);
}
