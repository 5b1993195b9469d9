//! Verdicts set aside.

use super::bench::*;

/// Asks for an override and says whether it stands and what the verdict then is.
fn overridden(
    bench: &mut Bench,
    place: &str,
    item: Item,
    to: Override,
    second: Option<&str>,
) -> (bool, ItemVerdict) {
    bench.book.push(Event::Overridden {
        place: place.parse().unwrap(),
        item,
        phase: Phase::AsFound,
        verdict: to,
        reason: "as the test asks".into(),
        second_person: second.map(str::to_owned),
    });
    let judgement = bench.judge();
    let shown = judgement.overrides.last().unwrap().shown.clone().unwrap();
    (shown.stands, bench.found(place, item).verdict)
}

#[test]
fn an_override_may_worsen_with_a_reason_and_ease_only_with_a_second_person() {
    let tam = Some("Tam Okoro");
    let fresh = |item, code| {
        let mut bench = Bench::van();
        bench.defect("FL", item, code);
        bench
    };
    let mut bench = Bench::van();
    assert_eq!(
        overridden(&mut bench, "FL", Item::Hose, Override::Fail, None),
        (true, Fail)
    );
    let judgement = bench.judge();
    assert_eq!(
        judgement.as_left,
        Verdict::Fail,
        "what was not looked at again stays as overridden"
    );
    let pins = || fresh(Item::SlidePins, "seized");
    assert_eq!(
        overridden(&mut pins(), "FL", Item::SlidePins, Override::Advise, None),
        (false, Fail)
    );
    let itself = Some("ilse varga");
    assert_eq!(
        overridden(&mut pins(), "FL", Item::SlidePins, Override::Advise, itself),
        (false, Fail)
    );
    assert_eq!(
        overridden(&mut pins(), "FL", Item::SlidePins, Override::Advise, tam),
        (true, Advise)
    );
    assert_eq!(
        overridden(&mut pins(), "FL", Item::SlidePins, Override::Fail, tam),
        (false, Fail)
    );
    // A pack's rule and what must not be driven are never eased.
    for (item, code) in [(Item::Hose, "bulge"), (Item::CalliperLeak, "leak")] {
        assert_eq!(
            overridden(&mut fresh(item, code), "FL", item, Override::Pass, tam),
            (false, Fail),
            "{code}"
        );
    }
}

#[test]
fn an_override_never_lifts_a_limit_nor_passes_what_was_not_inspected() {
    let tam = Some("Tam Okoro");
    let mut bench = Bench::van();
    bench.ring("FL", um(22_999), um(3));
    assert_eq!(
        overridden(&mut bench, "FL", Item::DiscThickness, Override::Advise, tam),
        (false, Fail)
    );
    let mut bench = Bench::van();
    bench.swept("FL", um(81)); // beyond the maker's 80 µm, not proven: ADVISE
    assert_eq!(
        overridden(&mut bench, "FL", Item::DiscRunout, Override::Pass, tam),
        (false, Advise)
    );
    let mut bench = Bench::van();
    bench.swept("FL", um(79)); // inside, not proven
    assert_eq!(
        overridden(&mut bench, "FL", Item::DiscRunout, Override::Pass, tam),
        (true, Pass)
    );
    let mut bench = Bench::van();
    bench.instrument("HW-M1", |i| i.calibrated_until = None);
    assert_eq!(
        overridden(&mut bench, "FL", Item::DiscThickness, Override::Pass, tam),
        (false, Advise)
    );
    let mut bench = Bench::of("HWY-0429");
    assert_eq!(
        overridden(&mut bench, "RL", Item::Hose, Override::Pass, tam),
        (false, NotInspected)
    );
    assert_eq!(
        overridden(&mut bench, "RL", Item::Hose, Override::Fail, None),
        (true, Fail)
    );
}

#[test]
fn an_override_of_nothing_is_listed_all_the_same() {
    let mut bench = Bench::of("HWY-0429");
    bench.book.push(Event::Overridden {
        place: at("FL"),
        item: Item::SlidePins,
        phase: Phase::AsFound,
        verdict: Override::Fail,
        reason: "not scheduled at this depth".into(),
        second_person: None,
    });
    let judgement = bench.judge();
    assert_eq!(judgement.overrides.len(), 1);
    assert_eq!(judgement.overrides[0].shown, None);
}

#[test]
fn a_blank_or_the_same_second_person_agrees_to_nothing() {
    for second in ["", "  ", "Ilse Varga", "ILSE  VARGA", " ilse\tvarga "] {
        let mut bench = Bench::van();
        bench.swept("FL", um(79));
        assert_eq!(
            overridden(
                &mut bench,
                "FL",
                Item::DiscRunout,
                Override::Pass,
                Some(second)
            ),
            (false, Advise),
            "`{second}`"
        );
    }
}

#[test]
fn a_verdict_that_was_set_aside_is_said_in_the_finding_itself() {
    let mut bench = Bench::van();
    bench.swept("FL", um(79));
    let tam = Some("Tam Okoro");
    overridden(&mut bench, "FL", Item::DiscRunout, Override::Pass, tam);
    let found = bench.found("FL", Item::DiscRunout);
    for words in [
        "PASS instead of ADVISE",
        "Ilse Varga",
        "Tam Okoro",
        "as the test asks",
    ] {
        assert!(found.sentence.contains(words), "{}", found.sentence);
    }
    let json = serde_json::to_value(&found).unwrap();
    assert_eq!(json["overrides"][0]["from"], "ADVISE");
}
