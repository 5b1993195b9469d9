//! What must hold for every job.

use super::bench::*;

/// How bad an item's verdict is; what was not inspected stands between ADVISE and FAIL.
const fn badness(verdict: ItemVerdict) -> u8 {
    match verdict {
        Pass => 0,
        Advise => 1,
        NotInspected | NoLimit => 2,
        Fail => 3,
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    #[test]
    fn a_thinner_point_never_improves_the_disc(
        base in 22_980_000i64..23_400_000, point in 1u16..=10, less in 1i64..400_000, judder: bool
    ) {
        let mut bench = Bench::van();
        if judder {
            bench.complains(Symptom::Judder);
        }
        bench.ring("FL", nm(base), um(3));
        let before = bench.found("FL", Item::DiscThickness);
        bench.set("FL", Item::DiscThickness, |slot| {
            (slot == Slot::Point(point)).then(|| nm(base - less))
        });
        let after = bench.found("FL", Item::DiscThickness);
        prop_assert!(badness(after.verdict) >= badness(before.verdict), "{} {}", before.sentence, after.sentence);
    }

    #[test]
    fn a_larger_variation_or_run_out_never_improves_it(
        dtv in 0i64..40_000, runout in 0i64..160_000, more in 1i64..60_000, judder: bool
    ) {
        let mut bench = Bench::van();
        if judder {
            bench.complains(Symptom::Judder);
        }
        let mut both = |dtv: i64, runout: i64| {
            bench.ring("FL", um(24_300), nm(dtv));
            bench.swept("FL", nm(runout));
            [Item::DiscVariation, Item::DiscRunout].map(|item| badness(bench.found("FL", item).verdict))
        };
        let before = both(dtv.max(1), runout);
        let after = both(dtv.max(1) + more, runout + more);
        prop_assert!(after[0] >= before[0] && after[1] >= before[1], "{before:?} {after:?}");
    }

    #[test]
    fn thinner_pads_and_larger_floats_improve_nothing_but_may_void_a_ring(
        pad in 500_000i64..7_000_000, less in 1i64..500_000, float in 0i64..60_000, more in 1i64..40_000
    ) {
        let mut bench = Bench::van();
        bench.set("FL", Item::PadsThickness, |_| Some(nm(pad)));
        bench.set("FL", Item::BearingFloat, |_| Some(nm(float)));
        let before = bench.judge();
        bench.set("FL", Item::PadsThickness, |_| Some(nm(pad - less)));
        bench.set("FL", Item::BearingFloat, |_| Some(nm(float + more)));
        let after = bench.judge();
        for (b, a) in before.standing(Phase::AsFound).zip(after.standing(Phase::AsFound)) {
            prop_assert_eq!((b.place, b.item), (a.place, a.item));
            if a.place != at("FL") {
                continue;
            }
            prop_assert!(badness(a.verdict) >= badness(b.verdict), "{} {}", b.sentence, a.sentence);
        }
    }

    #[test]
    fn the_order_in_which_things_were_looked_at_changes_nothing(seed in any::<u64>()) {
        for number in JOBS {
            let bench = Bench::of(number);
            let wanted = serde_json::to_string(&bench.judge()).unwrap();
            let mut shuffled = Bench::of(number);
            shuffle_looks(&mut shuffled.book.entries, seed);
            prop_assert_eq!(serde_json::to_string(&shuffled.judge()).unwrap(), wanted);
        }
    }
}

/// Swaps looks of the first state with each other; the sequence numbers stay where they are.
fn shuffle_looks(entries: &mut [(Meta, Event)], seed: u64) {
    let looks: Vec<usize> = entries
        .iter()
        .enumerate()
        .filter(|(_, (_, event))| {
            matches!(
                event,
                Event::Seen {
                    phase: Phase::AsFound,
                    ..
                }
            )
        })
        .map(|(n, _)| n)
        .collect();
    let mut state = seed | 1;
    for n in (1..looks.len()).rev() {
        // Any generator will do; this one is Knuth's multiplier.
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1);
        let other = (state >> 33) as usize % (n + 1);
        let (a, b) = (looks[n], looks[other]);
        let (x, y) = (entries[a].1.clone(), entries[b].1.clone());
        entries[a].1 = y;
        entries[b].1 = x;
    }
}

#[test]
fn taking_any_entry_away_never_makes_a_pass() {
    for number in JOBS {
        let whole = Bench::of(number);
        let before = whole.judge();
        for gone in 0..whole.book.entries.len() {
            let event = &whole.book.entries[gone].1;
            if !matches!(
                event,
                Event::Reading(_) | Event::Seen { .. } | Event::Torque(_) | Event::Gate { .. }
            ) {
                continue;
            }
            // What the schedule calls optional is judged when it is entered, and listed when not.
            let optional = matches!(event, Event::Reading(r) if r.item == Item::FluidBoiling);
            let mut bench = whole.clone();
            bench.book.entries.remove(gone);
            if optional {
                let left_out = bench.judge().not_part;
                assert!(left_out.iter().any(|one| one.item == Item::FluidBoiling));
                continue;
            }
            let after = verdicts(&bench.specs.case(&bench.book.fold(), &bench.register));
            for (was, is) in [
                (before.as_found, after.as_found),
                (before.as_left, after.as_left),
            ] {
                assert!(
                    is != Verdict::Pass || was == Verdict::Pass,
                    "{number} without {event:?}: {was} became {is}"
                );
            }
        }
    }
}

#[test]
fn leaving_any_scheduled_item_out_leaves_the_minibus_incomplete() {
    let whole = Bench::of("HWY-0417");
    let judgement = whole.judge();
    assert_eq!(judgement.as_left, Verdict::Pass);
    let mut tried = 0;
    for finding in judgement.standing(Phase::AsLeft) {
        let (place, item) = (finding.place, finding.item);
        let mut bench = whole.clone();
        let before = bench.book.entries.len();
        bench.retain(|event| match event {
            Event::Reading(r) => (r.place, r.item) != (place, item),
            Event::Seen {
                place: p, item: i, ..
            } => (*p, *i) != (place, item),
            _ => true,
        });
        if bench.book.entries.len() == before {
            continue; // derived, or confirmed at the refit
        }
        let optional = item == Item::FluidBoiling;
        let expected = if optional {
            Verdict::Pass
        } else {
            Verdict::Incomplete
        };
        let without = bench.judge();
        assert_eq!(without.as_left, expected, "{place} {item}");
        assert_eq!(
            without.not_part.len(),
            usize::from(optional),
            "{place} {item}"
        );
        tried += 1;
    }
    assert_eq!(tried, 4 * 18 + 2); // four corners, fluid level and boiling point
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    #[test]
    fn a_larger_drum_and_thinner_linings_improve_nothing(
        drum in 203_000_000i64..204_200_000, more in 1i64..400_000,
        lining in 500_000i64..4_000_000, less in 1i64..500_000
    ) {
        let mut bench = Bench::of("HWY-0429");
        let mut both = |drum: i64, lining: i64| {
            bench.set("RL", Item::DrumDiameter, |_| Some(nm(drum)));
            bench.set("RL", Item::LiningsThickness, |_| Some(nm(lining)));
            let items = [Item::DrumDiameter, Item::LiningsThickness];
            items.map(|item| badness(bench.found("RL", item).verdict))
        };
        let (before, after) = (both(drum, lining), both(drum + more, lining - less));
        prop_assert!(after[0] >= before[0] && after[1] >= before[1], "{before:?} {after:?}");
    }

    #[test]
    fn less_force_at_the_weaker_wheel_improves_neither_balance_nor_efficiency(
        strong in 500i64..4_000, weak in 300i64..4_000, less in 1i64..300, pull: bool
    ) {
        let weak = weak.min(strong);
        let both = |weak: i64| {
            let mut bench = Bench::van();
            bench.complains(if pull { Symptom::Pull } else { Symptom::SoftPedal });
            bench.forces(&[("FL", strong), ("FR", weak), ("RL", 2_000), ("RR", 2_000)], &[], 1_200);
            let balance = bench.found("front", Item::AxleImbalance).verdict;
            let efficiency = bench.found("vehicle", Item::ServiceEfficiency).verdict;
            [badness(balance), badness(efficiency)]
        };
        let (before, after) = (both(weak), both(weak - less));
        prop_assert!(after[0] >= before[0] && after[1] >= before[1], "{before:?} {after:?}");
    }

    #[test]
    fn a_lower_boiling_point_or_a_deeper_groove_improves_nothing(
        celsius in 120i64..260, colder in 1i64..80, depth in 0i64..2_500_000, deeper in 1i64..1_500_000
    ) {
        let both = |celsius: i64, depth: i64| {
            let mut bench = Bench::van();
            bench.retain(|e| !matches!(e, Event::Reading(r) if r.item == Item::FluidBoiling));
            bench.book.fluid(&celsius.to_string());
            bench.defect("FL", Item::DiscSurface, "scored");
            let text = nm(depth).rounded(LengthUnit::Millimetre, 6);
            let slot = Slot::Value(1);
            bench.book.read(at("FL"), Item::DiscSurface, Phase::AsFound, 1, slot, &text, None, None);
            let fluid = bench.found("vehicle", Item::FluidBoiling).verdict;
            [badness(fluid), badness(bench.found("FL", Item::DiscSurface).verdict)]
        };
        let (before, after) = (both(celsius, depth), both(celsius - colder, depth + deeper));
        prop_assert!(after[0] >= before[0] && after[1] >= before[1], "{before:?} {after:?}");
    }
}

/// The same job judged twice, and judged from a copy that went through its text, gives the same bytes.
#[test]
fn judging_again_gives_the_same_bytes() {
    for number in JOBS {
        let bench = Bench::of(number);
        let bytes = |job: &brakecorner::job::Job| {
            let case = bench.specs.case(job, &bench.register);
            serde_json::to_string(&judge(&case)).unwrap()
        };
        let first = bytes(&bench.book.fold());
        let read = brakecorner::job::journal::read(bench.book.text().as_bytes());
        let mut again = brakecorner::job::Job::default();
        for entry in &read.entries {
            entry.apply_to(&mut again);
        }
        assert_eq!(bytes(&again), first, "{number}");
    }
}
