//! What is measured, just inside, at and just beyond each limit.

use super::bench::*;

#[test]
fn disc_thickness_fails_below_its_limit_and_passes_only_with_room_to_spare() {
    let limit = um(23_000);
    let mut bench = Bench::van();
    bench.ring("FL", limit, Length::ZERO);
    let band = guard(bench.found("FL", Item::DiscThickness).u.unwrap());
    let left = um(300);
    for (value, verdict, proof) in [
        (limit - band - STEP, Fail, Proof::ProvenOut),
        (limit - band + STEP, Fail, Proof::NotProven),
        (limit - nm(1), Fail, Proof::NotProven),
        (limit, Advise, Proof::NotProven),
        (limit + nm(1), Advise, Proof::NotProven),
        (limit + band - STEP, Advise, Proof::NotProven),
        (limit + band + STEP, Advise, Proof::ProvenIn),
        (limit + left - nm(1), Advise, Proof::ProvenIn),
        (limit + left, Pass, Proof::ProvenIn),
    ] {
        bench.ring("FL", value, um(3));
        let found = bench.found("FL", Item::DiscThickness);
        check("disc.thickness", value, &found, verdict);
        assert_eq!(found.proof, Some(proof), "{value}");
    }
}

#[test]
fn thickness_variation_follows_maker_policy_and_complaint() {
    let limit = um(15);
    let mut bench = Bench::van();
    bench.ring("FL", um(24_300), um(12));
    let band = guard(bench.found("FL", Item::DiscVariation).u.unwrap());
    for (dtv, calm, judder) in [
        (um(4), Pass, Pass),
        (um(8), Pass, Pass),
        (um(8) + nm(1), Pass, Advise),
        (um(10), Pass, Advise),
        (um(10) + nm(1), Advise, Advise),
        (limit - band - STEP, Advise, Advise),
        (limit, Advise, Advise),
        (limit + nm(1), Advise, Fail),
        (limit + band - STEP, Advise, Fail),
        (limit + band + STEP, Fail, Fail),
    ] {
        for (symptom, verdict) in [(Symptom::Squeal, calm), (Symptom::Judder, judder)] {
            bench.complains(symptom);
            bench.ring("FL", um(24_300), dtv);
            check(
                "disc.variation",
                dtv,
                &bench.found("FL", Item::DiscVariation),
                verdict,
            );
        }
    }
}

#[test]
fn policy_alone_never_fails_a_disc() {
    let mut bench = Bench::van();
    let disc = bench.specs.sheet.axles[0].disc.as_mut().unwrap();
    disc.dtv_max = None;
    disc.runout = None;
    bench.complains(Symptom::Judder);
    bench.ring("FL", um(24_300), um(60));
    bench.swept("FL", um(400));
    for item in [Item::DiscVariation, Item::DiscRunout] {
        let found = bench.found("FL", item);
        assert_eq!(found.verdict, Advise, "{}", found.sentence);
        assert!(
            found.limit_source.contains("workshop policy"),
            "{}",
            found.limit_source
        );
    }
    bench.ring("FL", um(24_300), um(6));
    bench.swept("FL", um(40));
    for item in [Item::DiscVariation, Item::DiscRunout] {
        assert_eq!(bench.found("FL", item).verdict, Pass);
    }
}

#[test]
fn below_the_noise_floor_no_variation_is_advised_on() {
    let mut bench = Bench::van();
    bench.complains(Symptom::Judder);
    bench.instrument("HW-M1", |i| i.repeatability = "0.003".into());
    // The floor of ten points with s = 3 µm and d = 1 µm is 13.5 µm: 4.474 · √(9 + 1/12).
    for (dtv, verdict) in [(um(9), Pass), (um(12), Pass), (um(14), Advise)] {
        bench.ring("FL", um(24_300), dtv);
        let found = bench.found("FL", Item::DiscVariation);
        check("disc.variation", dtv, &found, verdict);
        assert_eq!(
            found.reasons.iter().any(|r| r.contains("none shown")),
            verdict == Pass
        );
    }
}

#[test]
fn run_out_fails_when_proven_out_or_with_judder() {
    let limit = um(80);
    let mut bench = Bench::van();
    bench.swept("FL", limit);
    let band = guard(bench.found("FL", Item::DiscRunout).u.unwrap());
    for (value, calm, judder) in [
        (um(50), Pass, Pass),
        (um(50) + nm(1), Pass, Advise),
        (limit - band - STEP, Pass, Advise),
        (limit - band + STEP, Advise, Advise),
        (limit - nm(1), Advise, Advise),
        (limit, Advise, Advise),
        (limit + nm(1), Advise, Fail),
        (limit + band - STEP, Advise, Fail),
        (limit + band + STEP, Fail, Fail),
    ] {
        for (symptom, verdict) in [(Symptom::Squeal, calm), (Symptom::Judder, judder)] {
            bench.complains(symptom);
            bench.swept("FL", value);
            check(
                "disc.runout",
                value,
                &bench.found("FL", Item::DiscRunout),
                verdict,
            );
        }
    }
}

#[test]
fn a_saddle_of_more_than_20_um_is_an_advice() {
    let mut bench = Bench::van();
    for (peak_to_peak, verdict) in [(19.0, Pass), (22.0, Advise)] {
        bench.set("FL", Item::DiscRunout, |slot| {
            let n = match slot {
                Slot::Point(n) => f64::from(n - 1),
                _ => 0.0,
            };
            let wave = (2.0 * n * 36.0f64.to_radians()).cos();
            Length::from_mm(peak_to_peak / 2.0 * wave * 1e-3)
        });
        let found = bench.found("FL", Item::DiscRunout);
        assert_eq!(
            found.verdict, verdict,
            "{peak_to_peak}: {:?}",
            found.reasons
        );
    }
}

#[test]
fn an_end_float_over_its_limit_voids_the_run_out_but_never_passes_it() {
    let limit = um(50);
    let mut bench = Bench::van();
    bench.set("FL", Item::BearingFloat, |_| Some(limit));
    let band = guard(bench.found("FL", Item::BearingFloat).u.unwrap());
    for (value, float, runout) in [
        (limit - band - STEP, Pass, Pass),
        (limit - band + STEP, Advise, Pass),
        (limit, Advise, Pass),
        (limit + nm(1), Advise, NotInspected),
        (limit + band - STEP, Advise, NotInspected),
        (limit + band + STEP, Fail, NotInspected),
    ] {
        bench.set("FL", Item::BearingFloat, |_| Some(value));
        check(
            "bearing.float",
            value,
            &bench.found("FL", Item::BearingFloat),
            float,
        );
        check(
            "disc.runout",
            value,
            &bench.found("FL", Item::DiscRunout),
            runout,
        );
    }
}

#[test]
fn a_loose_bearing_found_voids_a_run_out_measured_again_later() {
    let mut bench = Bench::van();
    bench.set("FL", Item::BearingFloat, |_| Some(um(60)));
    let ring = serde_json::json!([0.0, 0.01, 0.0, 0.01, 0.0, 0.01, 0.0, 0.01, 0.0, 0.01, 0.0]);
    bench.book.ring(at("FL"), Phase::AsLeft, 1, &ring, None);
    assert_eq!(
        bench.state("FL", Item::DiscRunout, Phase::AsLeft).verdict,
        NotInspected
    );
}

#[test]
fn pads_fail_below_the_stricter_minimum_and_stop_where_the_pack_or_half_of_it_says_so() {
    let stop = Some(Urgency::Stop);
    let soon = Some(Urgency::BeforeHandover);
    let watch = Some(Urgency::Watch);
    let mut bench = Bench::van();
    for (value, verdict, urgency) in [
        (nm(999_999), Fail, stop.clone()), // below half of the maker's 2.0 mm
        (nm(1_499_999), Fail, stop),       // the pack's 1.5 mm is class dangerous
        (um(1_500), Fail, soon.clone()),   // exactly 1.5 passes the pack, not the maker
        (nm(1_999_999), Fail, soon),
        (um(2_000), Advise, watch.clone()),
        (um(2_134), Advise, watch.clone()), // inside, not proven: u = 81.6 µm
        (um(2_135), Advise, watch.clone()),
        (um(3_000), Advise, watch),
        (nm(3_000_001), Pass, None),
    ] {
        bench.set("FL", Item::PadsThickness, |_| Some(value));
        let found = bench.found("FL", Item::PadsThickness);
        check("pads.thickness", value, &found, verdict);
        assert_eq!(found.urgency, urgency, "{value}");
    }
}

#[test]
fn differences_of_pads_and_discs_are_advised_on_beyond_the_policy_s_figures() {
    for (difference, verdict) in [(um(2_000), Pass), (nm(2_000_001), Advise)] {
        let mut bench = Bench::van();
        bench.set("FL", Item::PadsThickness, |slot| {
            Some(match slot {
                Slot::Inner(_) => um(6_000),
                _ => um(6_000) + difference,
            })
        });
        check(
            "inner",
            difference,
            &bench.found("FL", Item::PadsInnerOuter),
            verdict,
        );
        bench.set("FL", Item::PadsThickness, |_| Some(um(6_000)));
        bench.set("FR", Item::PadsThickness, |_| Some(um(6_000) + difference));
        check(
            "pads",
            difference,
            &bench.found("front", Item::AxlePadDifference),
            verdict,
        );
    }
    for (difference, verdict) in [(um(500), Pass), (nm(500_001), Advise)] {
        let mut bench = Bench::van();
        bench.ring("FL", um(24_200), Length::ZERO);
        bench.ring("FR", um(24_200) + difference, Length::ZERO);
        check(
            "discs",
            difference,
            &bench.found("front", Item::AxleDiscDifference),
            verdict,
        );
    }
}

#[test]
fn drums_and_linings_wear_one_way() {
    let mut bench = Bench::of("HWY-0429");
    let limit = um(204_000);
    let set = |bench: &mut Bench, value: Length| {
        bench.set("RL", Item::DrumDiameter, |_| Some(value));
    };
    set(&mut bench, limit);
    let band = guard(bench.found("RL", Item::DrumDiameter).u.unwrap());
    for (value, verdict) in [
        (limit - band - STEP, Pass),
        (limit - band + STEP, Advise),
        (limit, Advise),
        (limit + nm(1), Fail),
    ] {
        set(&mut bench, value);
        check(
            "drum",
            value,
            &bench.found("RL", Item::DrumDiameter),
            verdict,
        );
    }
    for (value, verdict, stops) in [
        (nm(1_499_999), Fail, true), // the pack's 1.5 mm is class dangerous
        (um(1_500), Advise, false),
        (um(2_000), Advise, false),
        (nm(2_000_001), Pass, false),
    ] {
        bench.set("RL", Item::LiningsThickness, |_| Some(value));
        let found = bench.found("RL", Item::LiningsThickness);
        check("linings", value, &found, verdict);
        assert_eq!(found.urgency == Some(Urgency::Stop), stops);
    }
}

#[test]
fn a_drum_s_ovality_is_judged_where_the_sheet_limits_it() {
    let mut bench = Bench::of("HWY-0429");
    let oval = |bench: &mut Bench, by: Length| {
        bench.set("RL", Item::DrumDiameter, |slot| {
            Some(match slot {
                Slot::Open(1) => um(203_300) + by,
                _ => um(203_300),
            })
        });
        bench.found("RL", Item::DrumDiameter).verdict
    };
    assert_eq!(oval(&mut bench, um(100)), Pass, "nobody limits it");
    let drum = bench.specs.sheet.axles[1].drum.as_mut().unwrap();
    drum.ovality_max = Some(Sourced::new(um(50)));
    // u = √2·√(5² + 10²/12) = 8.16 µm: a guard band of 13.4 µm.
    for (by, verdict) in [
        (36, Pass),
        (37, Advise),
        (51, Advise),
        (63, Advise),
        (64, Fail),
    ] {
        assert_eq!(oval(&mut bench, um(by)), verdict, "{by} µm");
    }
}
