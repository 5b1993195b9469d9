//! The policy frozen with a job drives what it is for, and makes nothing fail.

use std::collections::BTreeSet;

use super::bench::*;
use brakecorner::spec::Policy;

/// A policy from the text of its file.
fn policy(text: &str) -> Policy {
    Policy::parse(text, "policy.toml").unwrap()
}

#[test]
fn the_proof_a_policy_asks_for_moves_pass_and_advise_and_never_a_failure() {
    let limit = um(80);
    let mut bench = Bench::van();
    bench.swept("FL", limit);
    let u = bench.found("FL", Item::DiscRunout).u.unwrap();
    let times = |k: f64| Length::from_mm(k * u).unwrap();
    // Conformance probabilities 0.977, 0.841, 0.159 and 0.023: Φ(2), Φ(1) and their mirror images.
    for (value, usual, strict, lax) in [
        (limit - times(2.0), Pass, Advise, Pass),
        (limit - times(1.0), Advise, Advise, Pass),
        (limit + times(1.0), Advise, Advise, Advise),
        (limit + times(2.0), Fail, Fail, Fail),
    ] {
        for (text, verdict) in [
            ("", usual),
            ("[decision]\nproof_percent = 99\n", strict),
            ("[decision]\nproof_percent = 60\n", lax),
        ] {
            bench.specs.policy = policy(text);
            bench.swept("FL", value);
            check(text, value, &bench.found("FL", Item::DiscRunout), verdict);
        }
    }
}

#[test]
fn the_confidence_a_policy_asks_of_a_forecast_moves_its_lower_bound() {
    let lower = |percent: f64| {
        let mut bench = Bench::van();
        bench.specs.policy = policy(&format!(
            "[decision]\nforecast_confidence_percent = {percent}\n"
        ));
        match bench.found("RL", Item::PadsThickness).urgency {
            Some(Urgency::By { km: Some(km), .. }) => km - 84_120,
            other => panic!("{other:?}"),
        }
    };
    // The default's 90 % is the job's own figure.
    assert_eq!(lower(90.0), 5_337);
    assert!(lower(60.0) > lower(90.0) && lower(90.0) > lower(99.0));
    // A bound beyond the service is no advice of its own: the confidence decides the verdict.
    for (percent, verdict) in [(60.0, Pass), (99.0, Advise)] {
        let mut bench = Bench::van();
        bench.specs.policy = policy(&format!(
            "[decision]\nforecast_confidence_percent = {percent}\n[pads]\nplan_mm = 2.5\n"
        ));
        let service = brakecorner::units::Distance::from_whole_km(5_700);
        bench.specs.sheet.service.distance.as_mut().unwrap().value = service;
        let found = bench.found("RL", Item::PadsThickness);
        assert_eq!(found.verdict, verdict, "{percent}: {}", found.sentence);
    }
}

#[test]
fn the_half_width_of_a_temperature_widens_the_uncertainty_and_decides_a_pass() {
    for (given, key) in [
        (true, "temperature_given_k"),
        (false, "temperature_unknown_k"),
    ] {
        let judged = |kelvin: f64| {
            let mut bench = Bench::van();
            bench.specs.policy = policy(&format!(
                "[gauges]\n{key} = {kelvin}\n[disc]\nleft_advise_mm = 0.001\n"
            ));
            if !given {
                bench.retain(|e| !matches!(e, Event::Reading(r) if r.slot == Slot::Temperature));
            }
            bench.ring("FL", um(23_000) + um(20), um(3));
            bench.found("FL", Item::DiscThickness)
        };
        let (narrow, wide) = (judged(1.0), judged(100.0));
        assert_eq!(narrow.verdict, Pass, "{key}: {}", narrow.sentence);
        assert_eq!(wide.verdict, Advise, "{key}: {}", wide.sentence);
        // 100 K, rectangular, of 11.4e-6/K and 23.02 mm is 15.15 µm.
        let part = 100.0 * 11.4e-6 * 23.02 / 3f64.sqrt();
        let narrow_part = part / 100.0;
        let rest = (narrow.u.unwrap().powi(2) - narrow_part.powi(2)).sqrt();
        let expected = (rest * rest + part * part).sqrt();
        assert!((wide.u.unwrap() - expected).abs() < 2e-6, "{:?}", wide.u);
    }
}

#[test]
fn the_closing_error_a_policy_allows_decides_whether_a_ring_counts() {
    let judged = |text: &str| {
        let mut bench = Bench::van();
        bench.specs.policy = policy(text);
        bench.retain(|e| !matches!(e, Event::Reading(r) if r.slot == Slot::Swept));
        bench.set("FL", Item::DiscRunout, |slot| {
            (slot == Slot::Return).then_some(um(8))
        });
        bench.found("FL", Item::DiscRunout)
    };
    assert_eq!(judged("").verdict, NotInspected);
    assert_eq!(judged("[disc]\nrunout_closing_mm = 0.008\n").verdict, Pass);
    assert_eq!(
        judged("[disc]\nrunout_closing_mm = 0.007\n").verdict,
        NotInspected
    );
}

/// Every item of every job that fails under a policy.
fn failures(policy: &Policy) -> BTreeSet<String> {
    JOBS.into_iter()
        .flat_map(|number| {
            let mut bench = Bench::of(number);
            bench.specs.policy = policy.clone();
            // Readings beyond the makers' figures, so that there is something to fail.
            bench.ring("FL", um(22_000), um(25));
            bench.swept("FR", um(400));
            bench.defect("FR", Item::DiscSurface, "scored");
            let judgement = bench.judge();
            judgement
                .findings()
                .filter(|f| f.verdict == Fail)
                .map(|f| format!("{number} {} {} {:?}", f.place, f.item, f.phase))
                .collect::<Vec<_>>()
        })
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// Whatever the policy says, the same items fail.
    #[test]
    fn no_policy_makes_anything_fail_or_saves_it(
        proof in 51u32..99, confidence in 51u32..99, kelvin in 0u32..200, plan in 0u32..20,
        left in 0u32..9, watch in 1u32..400, stop in 1u32..300, margin in 0u32..60, severe in 1u32..15
    ) {
        let text = format!(
            "[decision]\nproof_percent = {proof}\nforecast_confidence_percent = {confidence}\n\
             [gauges]\ntemperature_given_k = {kelvin}\ntemperature_unknown_k = {kelvin}\n\
             [pads]\nplan_mm = {plan}\nstop_percent = {stop}\ninner_outer_mm = {left}\nleft_right_mm = {left}\n\
             [linings]\nmargin_mm = {left}\n[rollers]\nmargin_percent = {margin}\n\
             [disc]\nleft_advise_mm = {left}\nleft_right_mm = {left}\ndtv_limit_mm = {0:.3}\ndtv_advise_mm = {0:.3}\n\
             dtv_advise_judder_mm = {0:.3}\nrunout_limit_mm = {0:.3}\nrunout_advise_judder_mm = {0:.3}\n\
             runout_order2_advise_mm = {0:.3}\nscoring_advise_mm = {1:.1}\nscoring_severe_mm = {1:.1}\n",
            f64::from(watch) * 1e-3, f64::from(severe) * 0.1
        );
        prop_assert_eq!(failures(&policy(&text)), failures(&Policy::builtin()));
    }
}

#[test]
fn a_policy_s_limit_says_once_that_it_is_one() {
    let mut bench = Bench::van();
    let disc = bench.specs.sheet.axles[0].disc.as_mut().unwrap();
    disc.dtv_max = None;
    disc.runout = None;
    for item in [Item::DiscVariation, Item::DiscRunout] {
        let found = bench.found("FL", item);
        let source = &found.limit_source;
        assert_eq!(
            source,
            "workshop policy (common practice), no maker's figure"
        );
        assert_eq!(found.limits[0].source, *source);
    }
    // Beside a maker's figure nobody says that there is none.
    let rear = bench.found("RL", Item::DiscRunout);
    let policy = rear.limits.iter().find(|l| l.source.contains("policy"));
    assert_eq!(policy.unwrap().source, "workshop policy (common practice)");
}
