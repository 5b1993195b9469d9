//! Likely causes.

use super::bench::*;
use brakecorner::judge::Cause;

use super::cause_rows::Against::{Gone, Says};
use super::cause_rows::{CAR, MINIBUS, TAXI, VAN};

#[test]
fn causes_change_no_verdict_and_are_ordered_by_strength() {
    for number in JOBS {
        let bench = Bench::of(number);
        let job = bench.book.fold();
        let case = bench.specs.case(&job, &bench.register);
        let (with, without) = (judge(&case), verdicts(&case));
        assert!(without.causes.is_empty());
        let bare = Judgement {
            causes: Vec::new(),
            ..with.clone()
        };
        assert_eq!(bare, without, "{number}");
        for cause in &with.causes {
            assert!(
                !cause.evidence.is_empty() && !cause.next_test.is_empty(),
                "{cause:?}"
            );
        }
    }
}

#[test]
fn a_ring_that_disagrees_with_its_prediction_is_said_to() {
    let mut bench = Bench::of("HWY-0417");
    let place = at("FR");
    bench.each(|event| {
        if let Event::Reading(r) = event
            && (r.place, r.item, r.phase) == (place, Item::DiscRunout, Phase::AsLeft)
            && matches!(r.slot, Slot::Point(n) if n < 5)
        {
            r.entered = Entered::read("0.030", Quantity::Length, "mm").unwrap();
        }
    });
    let causes = bench.judge().causes;
    assert!(
        causes.iter().any(|c| c.cause.contains("dirt flake")),
        "{causes:#?}"
    );
}

fn named(bench: &Bench, place: &str, words: &str) -> Option<Cause> {
    let place: Place = place.parse().unwrap();
    let job = bench.book.fold();
    let case = bench.specs.case(&job, &bench.register);
    let (with, without) = (judge(&case), verdicts(&case));
    // Whatever is said about a cause, every verdict is the one without it.
    let bare = Judgement {
        causes: Vec::new(),
        ..with.clone()
    };
    assert_eq!(bare, without, "{words}");
    let mut causes = with.causes.into_iter();
    causes.find(|c| c.place == place && c.cause.contains(words))
}

#[test]
fn each_cause_is_named_by_what_speaks_for_it_and_not_against_the_evidence() {
    for (number, rows) in [
        ("HWY-0411", VAN),
        ("HWY-0429", TAXI),
        ("HWY-0417", MINIBUS),
        ("HWY-0423", CAR),
    ] {
        for (place, words, speaks_for, speaks_against, how) in rows {
            let mut bench = Bench::of(number);
            speaks_for(&mut bench);
            let cause = named(&bench, place, words).unwrap_or_else(|| {
                panic!("{place} {words}: not named: {:#?}", bench.judge().causes)
            });
            assert!(!cause.evidence.is_empty() && !cause.ruled_out_by.is_empty());
            let mut bench = Bench::of(number);
            speaks_against(&mut bench);
            match (how, named(&bench, place, words)) {
                (Gone, None) => {}
                (Says(against), Some(cause)) => {
                    assert!(
                        cause.against.iter().any(|a| a.contains(against)),
                        "{place} {words}: {cause:#?}"
                    );
                }
                (how, cause) => panic!("{place} {words}: {how:?}, {cause:#?}"),
            }
        }
    }
}

/// Every cause the program can name has a row above.
#[test]
fn every_cause_of_the_program_has_its_row() {
    let sources = [
        include_str!("../../src/judge/causes/disc.rs"),
        include_str!("../../src/judge/causes/pads.rs"),
        include_str!("../../src/judge/causes/others.rs"),
    ];
    let made: usize = sources
        .iter()
        .map(|s| s.matches("Cause::new(").count())
        .sum();
    let signs = sources[2].matches("    Sign {\n").count();
    let faces = sources[0].matches("        face(\n").count();
    let leads = 2; // one `Cause::new` says hub, disc, or both
    // The signs and the faces each share one `Cause::new`.
    let all = made - 2 + signs + faces + leads;
    assert_eq!(VAN.len() + TAXI.len() + MINIBUS.len() + CAR.len(), all);
}
