//! Several sets of readings of one item, and sets that are not whole.

use super::bench::*;
use brakecorner::job::Deed;

/// A further set of an item of the van's front left, as found or as left.
fn another(bench: &mut Bench, item: Item, phase: Phase, take: u32, read: &[(Slot, &str)]) {
    let (place, gauge) = match item {
        Item::DiscThickness => (at("FL"), ("HW-M1", "mm")),
        Item::PadsThickness => (at("FL"), ("HW-P1", "mm")),
        Item::FluidBoiling => (Place::Vehicle, ("HW-F1", "°C")),
        _ => (at("FL"), ("HW-D1", "mm")),
    };
    for (slot, text) in read {
        bench
            .book
            .read(place, item, phase, take, *slot, text, Some(gauge), None);
    }
}

fn ring(values: [&'static str; 10]) -> Vec<(Slot, &'static str)> {
    (1..).map(Slot::Point).zip(values).collect()
}

#[test]
fn a_later_found_set_that_breaks_the_limit_is_said_and_no_plain_pass() {
    let thin = ring([
        "22.952", "22.951", "22.953", "22.951", "22.950", "22.951", "22.952", "22.951", "22.950",
        "22.951",
    ]);
    let uneven = ring([
        "24.301", "24.331", "24.301", "24.300", "24.301", "24.302", "24.301", "24.300", "24.301",
        "24.301",
    ]);
    let mut wobbly = ring([
        "0.000", "0.010", "0.040", "0.090", "0.120", "0.150", "0.120", "0.090", "0.040", "0.010",
    ]);
    wobbly.push((Slot::Return, "0.000"));
    let pads = vec![(Slot::Inner(1), "1.5"), (Slot::Outer(1), "6.0")];
    for (place, item, entered, read, words) in [
        (
            "FL",
            Item::DiscThickness,
            Item::DiscThickness,
            thin,
            "22.949 mm",
        ),
        (
            "FL",
            Item::DiscVariation,
            Item::DiscThickness,
            uneven,
            "0.031 mm",
        ),
        ("FL", Item::DiscRunout, Item::DiscRunout, wobbly, "0.15"),
        (
            "FL",
            Item::PadsThickness,
            Item::PadsThickness,
            pads,
            "1.500 mm",
        ),
        (
            "FL",
            Item::BearingFloat,
            Item::BearingFloat,
            vec![(Slot::Value(1), "0.080")],
            "0.080 mm",
        ),
        (
            "vehicle",
            Item::FluidBoiling,
            Item::FluidBoiling,
            vec![(Slot::Value(1), "120")],
            "120",
        ),
    ] {
        let mut bench = Bench::van();
        let before = bench.found(place, item);
        assert_eq!(before.verdict, Pass, "{}", before.sentence);
        another(&mut bench, entered, Phase::AsFound, 2, &read);
        let found = bench.found(place, item);
        assert_eq!(found.verdict, Fail, "{}", found.sentence);
        let said = format!("{} {}", found.sentence, found.reasons.join("; "));
        assert!(said.contains(words), "{item}: {said}");
        assert!(said.contains("2 sets of readings"), "{item}: {said}");
        let values: Vec<_> = found.sets.iter().map(|set| set.value).collect();
        assert!(values.contains(&before.value), "both are shown");
        // The order does not matter: the same two sets, the other one first.
        let mut bench = Bench::van();
        bench.each(|event| {
            if let Event::Reading(r) = event
                && r.place == at_of(place)
                && r.item == entered
            {
                r.take = 2;
            }
        });
        another(&mut bench, entered, Phase::AsFound, 1, &read);
        let swapped = bench.found(place, item);
        assert_eq!(
            (swapped.verdict, swapped.value),
            (found.verdict, found.value),
            "{item}"
        );
    }
}

fn at_of(place: &str) -> Place {
    place.parse().unwrap()
}

#[test]
fn a_ring_at_another_clocking_counts_as_the_state_it_was_entered_for() {
    let wobbly = serde_json::json!([
        0.0, 0.01, 0.04, 0.09, 0.12, 0.15, 0.12, 0.09, 0.04, 0.01, 0.0
    ]);
    let mut bench = Bench::van();
    bench
        .book
        .ring(at("FL"), Phase::AsFound, 2, &wobbly, Some(2));
    assert_eq!(bench.found("FL", Item::DiscRunout).verdict, Fail);
    // Turned on the hub, it is another state: a trial of it says nothing of how it came in.
    let mut bench = Bench::van();
    bench.book.done(at("FL"), Deed::Reclocked { clocking: 2 });
    let left = |bench: &Bench| bench.state("FL", Item::DiscRunout, Phase::AsLeft).verdict;
    assert_eq!(left(&bench), NotInspected, "turned, and not measured since");
    bench
        .book
        .ring(at("FL"), Phase::AsLeft, 1, &wobbly, Some(2));
    assert_eq!(bench.found("FL", Item::DiscRunout).verdict, Pass);
    assert_eq!(left(&bench), Fail);
    bench.book.done(at("FL"), Deed::Reclocked { clocking: 3 });
    assert_eq!(left(&bench), NotInspected, "the trial is history");
}

#[test]
fn of_two_sets_as_left_a_worn_part_s_worse_one_is_not_measured_away() {
    let pads = |mm: &'static str| vec![(Slot::Inner(1), mm), (Slot::Outer(1), mm)];
    let two = |first: &'static str, second: &'static str| {
        let mut bench = Bench::van();
        another(
            &mut bench,
            Item::PadsThickness,
            Phase::AsLeft,
            1,
            &pads(first),
        );
        another(
            &mut bench,
            Item::PadsThickness,
            Phase::AsLeft,
            2,
            &pads(second),
        );
        bench.state("FL", Item::PadsThickness, Phase::AsLeft)
    };
    for (first, second) in [("1.5", "6.0"), ("6.0", "1.5")] {
        let left = two(first, second);
        assert_eq!(left.verdict, Fail, "{}", left.sentence);
    }
    // Of the parts before these, nothing is held against these.
    let mut bench = Bench::van();
    another(
        &mut bench,
        Item::PadsThickness,
        Phase::AsLeft,
        1,
        &pads("1.5"),
    );
    bench.book.fitted(at("FL"), Part::Pads);
    another(
        &mut bench,
        Item::PadsThickness,
        Phase::AsLeft,
        2,
        &pads("12.0"),
    );
    let left = bench.state("FL", Item::PadsThickness, Phase::AsLeft);
    assert_eq!(left.verdict, Pass, "{}", left.sentence);
}

#[test]
fn a_doubt_is_settled_by_a_later_surer_set_and_never_by_an_earlier_one() {
    let near = ring([
        "23.400", "23.401", "23.403", "23.401", "23.400", "23.401", "23.402", "23.401", "23.400",
        "23.401",
    ]);
    let mut bench = Bench::van();
    bench.each(|event| {
        if let Event::Reading(r) = event
            && (r.place, r.item) == (at("FL"), Item::DiscThickness)
        {
            r.instrument = None;
        }
    });
    let doubt = bench.found("FL", Item::DiscThickness);
    assert_eq!(doubt.verdict, Advise, "no instrument: {}", doubt.sentence);
    another(&mut bench, Item::DiscThickness, Phase::AsFound, 2, &near);
    let settled = bench.found("FL", Item::DiscThickness);
    assert_eq!(settled.verdict, Pass, "{}", settled.sentence);
    assert_eq!(settled.sets.len(), 2, "both are shown");
    assert!(!settled.sets[0].stands && settled.sets[1].stands);
}

#[test]
fn a_ring_short_of_the_points_the_schedule_asks_for_is_no_plain_pass() {
    // Four points of a thickness tell as much as a quick look; of a run-out, nothing.
    for (item, few) in [
        (Item::DiscThickness, Advise),
        (Item::DiscRunout, NotInspected),
    ] {
        for (gone, verdict, words) in [
            (&[9u16, 10][..], Advise, "8 of 10"),
            (&[10], Advise, "9 of 10"),
            (&[5], few, "4 of 10"),
        ] {
            let mut bench = Bench::van();
            bench.retain(|e| {
                !matches!(e, Event::Reading(r) if (r.place, r.item) == (at("FL"), item)
                    && (matches!(r.slot, Slot::Point(n) if gone.contains(&n)) || r.slot == Slot::Return))
            });
            let found = bench.found("FL", item);
            assert_eq!(found.verdict, verdict, "{gone:?}: {}", found.sentence);
            assert!(found.sentence.contains(words), "{}", found.sentence);
        }
    }
}

#[test]
fn a_whole_ring_typed_all_the_same_is_no_pass_until_confirmed() {
    for item in [Item::DiscThickness, Item::DiscRunout] {
        let mut bench = Bench::van();
        let all = if item == Item::DiscRunout {
            um(0)
        } else {
            um(24_301)
        };
        bench.set("FL", item, |slot| {
            matches!(slot, Slot::Point(_) | Slot::Return).then_some(all)
        });
        let found = bench.found("FL", item);
        assert_eq!(found.verdict, Advise, "{}", found.sentence);
        assert!(
            found.sentence.contains("are the same"),
            "{}",
            found.sentence
        );
        bench.each(|event| {
            if let Event::Reading(r) = event {
                r.confirmed = true;
            }
        });
        assert_eq!(bench.found("FL", item).verdict, Pass);
    }
}
