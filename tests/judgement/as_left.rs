//! What is better as left than as found needs something that made it so.

use super::bench::*;
use brakecorner::job::{Complaint, Contact, Deed, LineAnswer, Means, Outcome, QuoteLine};
use brakecorner::office::signing_obstacles;
use brakecorner::units::Distance;

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
fn a_worn_disc_measured_thicker_stays_what_it_was_until_a_disc_is_fitted() {
    let mut bench = Bench::van();
    bench.ring("FL", um(22_900), um(2));
    let mut replaced = bench.clone();
    disc_left(&mut bench, "24.30");
    let found = left(&bench, "FL", Item::DiscThickness);
    assert_eq!(found.verdict, Fail, "{}", found.sentence);
    let said = found.reasons.join("; ");
    assert!(said.contains("22.9") && said.contains("24.3"), "{said}");
    assert_eq!(
        left(&bench, "front", Item::AxleDiscDifference).verdict,
        Advise,
        "the difference follows the corners"
    );
    // Fitted after it was measured, the new disc was not measured.
    bench.book.fitted(at("FL"), Part::Disc);
    assert_eq!(
        left(&bench, "FL", Item::DiscThickness).verdict,
        NotInspected
    );
    replaced.book.fitted(at("FL"), Part::Disc);
    disc_left(&mut replaced, "24.30");
    assert_eq!(left(&replaced, "FL", Item::DiscThickness).verdict, Pass);
    assert_eq!(
        replaced.found("FL", Item::DiscThickness).verdict,
        Fail,
        "what was found stays found"
    );
}

#[test]
fn pads_linings_drums_and_fluid_do_not_get_better_by_themselves() {
    let worn = || {
        let mut bench = Bench::van();
        bench.set("FL", Item::PadsThickness, |_| Some(um(1_000)));
        bench
    };
    let mut bench = worn();
    pads_left(&mut bench, 6.0);
    assert_eq!(left(&bench, "FL", Item::PadsThickness).verdict, Fail);
    let mut bench = worn();
    bench.book.fitted(at("FL"), Part::Pads);
    pads_left(&mut bench, 6.0);
    assert_eq!(left(&bench, "FL", Item::PadsThickness).verdict, Pass);

    // A pad that was not measured at first hides nothing of the one that was.
    let mut bench = worn();
    bench.retain(|e| {
        !matches!(e, Event::Reading(r) if r.place == at("FL") && matches!(r.slot, Slot::Outer(_)))
    });
    pads_left(&mut bench, 6.0);
    assert_eq!(left(&bench, "FL", Item::PadsThickness).verdict, Fail);

    let again = |bench: &mut Bench| {
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
    };
    for (fitted, verdict) in [(false, Fail), (true, Pass)] {
        let mut bench = Bench::of("HWY-0429");
        bench.set("RL", Item::DrumDiameter, |_| Some(um(204_100)));
        bench.set("RL", Item::LiningsThickness, |_| Some(um(1_000)));
        if fitted {
            bench.book.fitted(at("RL"), Part::Drum);
            bench.book.fitted(at("RL"), Part::Linings);
        }
        again(&mut bench);
        for item in [Item::DrumDiameter, Item::LiningsThickness] {
            assert_eq!(left(&bench, "RL", item).verdict, verdict, "{item}");
        }
    }

    for (fitted, verdict) in [(false, Fail), (true, Pass)] {
        let mut bench = Bench::van();
        bench.retain(|e| !matches!(e, Event::Reading(r) if r.item == Item::FluidBoiling));
        bench.book.fluid("150");
        if fitted {
            bench.book.fitted(Place::Vehicle, Part::Fluid);
        }
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
        assert_eq!(found.verdict, verdict, "{}", found.sentence);
    }
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

/// What may cure a defect, and what does not though it sounds like it.
enum Did {
    Fitted(Part),
    Work(Deed),
}

fn does(bench: &mut Bench, place: &str, did: &Did) {
    match did {
        Did::Fitted(part) => bench.book.fitted(at(place), *part),
        Did::Work(deed) => bench.book.done(at(place), *deed),
    }
}

#[test]
fn a_look_that_was_not_sound_is_sound_again_only_after_what_may_have_cured_it() {
    use Did::{Fitted, Work};
    let hub = || Work(Deed::CleanedHub);
    for (item, code, cure, other, verdict) in [
        (
            Item::Hose,
            "leak",
            Fitted(Part::Hose),
            Work(Deed::SecuredHose),
            Fail,
        ),
        (
            Item::Hose,
            "bracket",
            Work(Deed::SecuredHose),
            hub(),
            Advise,
        ),
        (
            Item::Pipe,
            "cracked",
            Fitted(Part::Pipe),
            Work(Deed::TightenedUnion),
            Fail,
        ),
        (
            Item::SlidePins,
            "seized",
            Fitted(Part::Calliper),
            Fitted(Part::Pads),
            Fail,
        ),
        (
            Item::SlidePins,
            "seized",
            Fitted(Part::SlidePins),
            hub(),
            Fail,
        ),
        (
            Item::SlidePins,
            "dry",
            Work(Deed::CleanedSlidePins),
            hub(),
            Advise,
        ),
        (
            Item::SlidePins,
            "boot",
            Fitted(Part::SlidePins),
            Work(Deed::CleanedSlidePins),
            Advise,
        ),
        (
            Item::Springs,
            "missing",
            Fitted(Part::Springs),
            Work(Deed::CleanedAbutments),
            Fail,
        ),
        (
            Item::BoltsWitness,
            "loose",
            Work(Deed::TightenedBolts),
            Work(Deed::TightenedFasteners),
            Fail,
        ),
        (
            Item::SensorSpeed,
            "damp",
            Work(Deed::CleanedConnector),
            Work(Deed::SecuredWire),
            Advise,
        ),
        (
            Item::SensorSpeed,
            "cut",
            Fitted(Part::SensorSpeed),
            Work(Deed::SecuredWire),
            Fail,
        ),
        (
            Item::DiscSurface,
            "crack",
            Fitted(Part::Disc),
            Work(Deed::MachinedDisc),
            Fail,
        ),
        (
            Item::HubFace,
            "rust",
            hub(),
            Work(Deed::CleanedSeat),
            Advise,
        ),
    ] {
        let mut bench = Bench::van();
        bench.defect("FL", item, code);
        let words = format!("{item} {code}");
        let after = |bench: &Bench, place: &str, did: &[&Did]| {
            let mut bench = bench.clone();
            for did in did {
                does(&mut bench, place, did);
            }
            bench.book.sound(at("FL"), item, Phase::AsLeft);
            left(&bench, "FL", item)
        };
        let untouched = after(&bench, "FL", &[]);
        assert_eq!(
            untouched.verdict, verdict,
            "{words}: {}",
            untouched.sentence
        );
        assert_eq!(
            untouched.urgency,
            bench.found("FL", item).urgency,
            "{words}"
        );
        let said = after(&bench, "FL", &[&other]);
        assert_eq!(said.verdict, verdict, "{words}: {}", said.sentence);
        assert_eq!(
            after(&bench, "FR", &[&cure]).verdict,
            verdict,
            "{words}: elsewhere"
        );
        assert_eq!(after(&bench, "FL", &[&cure]).verdict, Pass, "{words}");
        // What is agreed is not done.
        agree(&mut bench, "FL.repair", Outcome::Yes);
        assert_eq!(after(&bench, "FL", &[]).verdict, verdict, "{words}: agreed");
    }
}

#[test]
fn a_union_tightened_counts_once_the_pedal_was_held_and_a_seat_once_the_refit_says_so() {
    let mut bench = Bench::van();
    bench.retain(|e| !matches!(e, Event::Gate { .. }));
    bench.defect("FL", Item::Pipe, "leak");
    bench.book.done(at("FL"), Deed::TightenedUnion);
    bench.book.sound(at("FL"), Item::Pipe, Phase::AsLeft);
    assert_eq!(left(&bench, "FL", Item::Pipe).verdict, Fail);
    bench.book.done(Place::Vehicle, Deed::HeldPedal);
    assert_eq!(left(&bench, "FL", Item::Pipe).verdict, Pass);

    let mut bench = Bench::van();
    bench.retain(|e| !matches!(e, Event::RefitPoint { .. }));
    bench.defect("FL", Item::WheelSeat, "hard");
    bench.book.done(at("FL"), Deed::CleanedSeat);
    bench.book.sound(at("FL"), Item::WheelSeat, Phase::AsLeft);
    assert_eq!(left(&bench, "FL", Item::WheelSeat).verdict, Advise);
    bench.book.refit(5);
    assert_eq!(left(&bench, "FL", Item::WheelSeat).verdict, Pass);
}

#[test]
fn what_was_declined_and_is_better_all_the_same_stands_in_the_way_of_the_signature() {
    for code in ["seized", "dry"] {
        let mut bench = Bench::van();
        bench.defect("FL", Item::SlidePins, code);
        bench.book.done(at("FL"), Deed::CleanedSlidePins);
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
        assert_eq!(left(&bench, "FL", Item::SlidePins).verdict, Pass);
        assert!(in_the_way(&bench), "{code}");
        agree(&mut bench, "FL.calliper", Outcome::Yes);
        assert!(!in_the_way(&bench));
    }
}

#[test]
fn a_bearing_felt_rough_is_not_measured_smooth() {
    let mut bench = Bench::van();
    bench.defect("FL", Item::BearingFloat, "rough");
    let mut fitted = bench.clone();
    bench.book.float(at("FL"), Phase::AsLeft, "0.006");
    assert_eq!(left(&bench, "FL", Item::BearingFloat).verdict, Fail);
    bench
        .book
        .sound(at("FL"), Item::BearingFloat, Phase::AsLeft);
    assert_eq!(left(&bench, "FL", Item::BearingFloat).verdict, Fail);
    fitted.book.fitted(at("FL"), Part::Bearing);
    fitted.book.float(at("FL"), Phase::AsLeft, "0.006");
    assert_eq!(left(&fitted, "FL", Item::BearingFloat).verdict, Pass);
}

#[test]
fn a_complaint_gone_by_itself_lifts_nothing_and_after_work_what_rested_on_it_alone() {
    let gone = |bench: &mut Bench| {
        bench.book.push(Event::ComplaintAnswered {
            outcome: Complaint::Gone,
            distance: Distance::from_whole_km(5),
        });
    };
    let mut bench = Bench::van();
    bench.complains(Symptom::Judder);
    bench.ring("FL", um(24_300), um(9));
    assert_eq!(bench.found("FL", Item::DiscVariation).verdict, Advise);
    let mut untouched = bench.clone();
    gone(&mut untouched);
    assert_eq!(left(&untouched, "FL", Item::DiscVariation).verdict, Advise);
    bench.book.done(at("FL"), Deed::CleanedHub);
    gone(&mut bench);
    assert_eq!(left(&bench, "FL", Item::DiscVariation).verdict, Pass);
}
