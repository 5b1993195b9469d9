//! Every measured row on both sides of its limit and of both edges of its guard band: beyond and
//! proven so, beyond, at the limit, inside, inside and proven so.
//!
//! The guard band is 1.645 u, as in ISO 14253-1:2017 (secondary).

use super::bench::*;

use Proof::{NotProven, ProvenIn, ProvenOut};

/// 1.645, the one-sided 95 % point of the normal distribution.
const Z: f64 = 1.644_853_627;

/// What each of the seven places around a limit proves, from the worst to the best.
const PROOFS: [Proof; 7] = [
    ProvenOut, NotProven, NotProven, NotProven, NotProven, NotProven, ProvenIn,
];

/// Seven lengths around a limit, from the worst to the best; `sign` is 1 where less is worse.
fn around(limit: Length, u_mm: f64, sign: i64) -> [Length; 7] {
    let band = guard(u_mm).nm();
    let step = STEP.nm();
    [
        -band - step,
        -band + step,
        -1,
        0,
        1,
        band - step,
        band + step,
    ]
    .map(|off| nm(limit.nm() + sign * off))
}

fn rows(
    bench: &mut Bench,
    (place, item): (&str, Item),
    (limit, sign): (Length, i64),
    set: impl Fn(&mut Bench, Length),
    verdicts: [ItemVerdict; 7],
) {
    set(bench, limit);
    let u = bench.found(place, item).u.unwrap();
    for ((value, verdict), proof) in around(limit, u, sign).into_iter().zip(verdicts).zip(PROOFS) {
        set(bench, value);
        let found = bench.found(place, item);
        check(item.id(), value, &found, verdict);
        assert_eq!(
            found.proof,
            Some(proof),
            "{item} at {value}: {}",
            found.technical
        );
    }
}

/// What wears one way fails beyond its limit, proven or not; what is proven in may still be watched.
const ONE_WAY: [ItemVerdict; 7] = [Fail, Fail, Fail, Advise, Advise, Advise, Advise];
/// A statute's figure is compared directly.
const DIRECT: [ItemVerdict; 7] = [Fail, Fail, Fail, Advise, Advise, Advise, Pass];
/// What can be put right fails only when proven out.
const CORRECTABLE: [ItemVerdict; 7] = [Fail, Advise, Advise, Advise, Advise, Advise, Pass];
/// The same with the matching complaint.
const COMPLAINED: [ItemVerdict; 7] = [Fail, Fail, Fail, Advise, Advise, Advise, Advise];

#[test]
fn pads_and_linings_at_their_limits_and_guard_bands() {
    // The maker's 2.0 mm, and the policy's plan of 3.0 mm above it.
    let set = |place: &'static str, item: Item| {
        move |b: &mut Bench, value: Length| b.set(place, item, |_| Some(value))
    };
    let item = Item::PadsThickness;
    rows(
        &mut Bench::van(),
        ("FL", item),
        (um(2_000), 1),
        set("FL", item),
        ONE_WAY,
    );
    // No maker's figure: the pack's 1.5 mm, and the policy's 0.5 mm above it.
    let item = Item::LiningsThickness;
    let mut taxi = Bench::of("HWY-0429");
    let limit = taxi.found("RL", item).limit.unwrap().number();
    let limit = Length::from_mm(limit).unwrap();
    rows(
        &mut taxi,
        ("RL", item),
        (limit, 1),
        set("RL", item),
        ONE_WAY,
    );
}

#[test]
fn drums_at_their_limit_and_guard_bands() {
    let item = Item::DrumDiameter;
    let mut verdicts = ONE_WAY;
    verdicts[6] = Pass; // nothing is planned ahead for a drum
    let set = |b: &mut Bench, value: Length| b.set("RL", item, |_| Some(value));
    rows(
        &mut Bench::of("HWY-0429"),
        ("RL", item),
        (um(204_000), -1),
        set,
        verdicts,
    );
}

#[test]
fn run_out_and_end_float_at_their_limits_and_guard_bands() {
    let swept = |b: &mut Bench, value: Length| b.swept("FL", value);
    let mut bench = Bench::van();
    rows(
        &mut bench,
        ("FL", Item::DiscRunout),
        (um(80), -1),
        swept,
        CORRECTABLE,
    );
    bench.complains(Symptom::Judder);
    rows(
        &mut bench,
        ("FL", Item::DiscRunout),
        (um(80), -1),
        swept,
        COMPLAINED,
    );
    let float = |b: &mut Bench, value: Length| b.set("FL", Item::BearingFloat, |_| Some(value));
    rows(
        &mut Bench::van(),
        ("FL", Item::BearingFloat),
        (um(50), -1),
        float,
        CORRECTABLE,
    );
}

#[test]
fn thickness_and_its_variation_at_their_limits_and_guard_bands() {
    let ring = |b: &mut Bench, value: Length| b.ring("FL", value, um(3));
    rows(
        &mut Bench::van(),
        ("FL", Item::DiscThickness),
        (um(23_000), 1),
        ring,
        ONE_WAY,
    );
    let dtv = |b: &mut Bench, value: Length| b.ring("FL", um(24_300), value);
    let mut verdicts = CORRECTABLE;
    verdicts[6] = Advise; // more than the policy's 10 µm
    let mut bench = Bench::van();
    rows(
        &mut bench,
        ("FL", Item::DiscVariation),
        (um(15), -1),
        dtv,
        verdicts,
    );
    bench.complains(Symptom::Judder);
    rows(
        &mut bench,
        ("FL", Item::DiscVariation),
        (um(15), -1),
        dtv,
        COMPLAINED,
    );
}

/// Efficiencies, and imbalances, around a limit: a force of 3 % half-width makes the uncertainty
/// follow the value, so the edges of the band are solved for.
fn shares(value_at: impl Fn(f64) -> f64, limit: f64) -> [f64; 7] {
    const EPSILON: f64 = 1e-3;
    let (worst, best) = (value_at(-Z), value_at(Z));
    let worse = (worst - limit).signum() * EPSILON;
    [
        worst + worse,
        worst - worse,
        limit + worse,
        limit,
        limit - worse,
        best + worse,
        best - worse,
    ]
}

fn judged(
    bench: &Bench,
    place: &str,
    item: Item,
    percent: f64,
    verdict: ItemVerdict,
    proof: Proof,
) {
    let found = bench.found(place, item);
    let value = found.value.unwrap().number();
    assert!((value - percent).abs() < 1e-4, "{value} for {percent}");
    assert_eq!(
        found.verdict, verdict,
        "{item} {percent}: {}",
        found.sentence
    );
    assert_eq!(
        found.proof,
        Some(proof),
        "{item} {percent}: {}",
        found.technical
    );
}

/// A vehicle so heavy that thousandths of a newton are fine steps.
const MASS_KG: i64 = 100_000;

#[test]
fn efficiencies_at_their_limits_and_guard_bands() {
    // gb 1.2.2 and 1.4.2: at least 50 % for this class, at least 16 % for the parking brake.
    for (item, limit, names) in [
        (Item::ServiceEfficiency, 50.0, &["FL", "FR", "RL", "RR"][..]),
        (Item::ParkingEfficiency, 16.0, &["RL", "RR"][..]),
    ] {
        let count = names.len() as f64;
        // u = value · 3 %/√3/√n for n wheels alike.
        let k = 0.03 / 3f64.sqrt() / count.sqrt();
        let values = shares(|z| limit / (1.0 - z * k), limit);
        for ((percent, verdict), proof) in values.into_iter().zip(DIRECT).zip(PROOFS) {
            let mut bench = Bench::van();
            let wheel = percent * 1e-2 * MASS_KG as f64 * 9.806_65 / count;
            let forces = names.iter().map(|name| {
                let slot = Slot::At(name.parse().unwrap());
                (slot, format!("{wheel:.3}"))
            });
            for (slot, text) in forces.chain([(Slot::Mass, MASS_KG.to_string())]) {
                let tester = Some(("HW-R1", "N"));
                bench.book.read(
                    Place::Vehicle,
                    item,
                    Phase::AsFound,
                    1,
                    slot,
                    &text,
                    tester,
                    None,
                );
            }
            // Proven in, but nearer than 5 % of the limit: 2.5 points, and 0.8.
            let verdict = if verdict == Pass { Advise } else { verdict };
            judged(&bench, "vehicle", item, percent, verdict, proof);
        }
    }
}

#[test]
fn an_imbalance_at_its_limit_and_guard_bands() {
    // gb 1.2.1: at most 30 %. u = 100·(lower/higher)·√2·3 %/√3.
    let spread = 100.0 * 2f64.sqrt() * 0.03 / 3f64.sqrt();
    let values = shares(|z| (30.0 - z * spread) / (1.0 - z * spread / 100.0), 30.0);
    // Whether somebody complains changes nothing. 1.645 u are 2.9 points, 5 % of the limit 1.5.
    for complaint in [None, Some(Symptom::Pull)] {
        for ((percent, verdict), proof) in values.into_iter().zip(DIRECT).zip(PROOFS) {
            let mut bench = Bench::van();
            bench.instrument("HW-R1", |tester| tester.range = "0-2000000".into());
            if let Some(symptom) = complaint {
                bench.complains(symptom);
            }
            let higher = 1_000_000_i64;
            let lower = (higher as f64 * (1.0 - percent / 100.0)).round() as i64;
            let wheels = [
                ("FL", higher),
                ("FR", lower),
                ("RL", higher),
                ("RR", higher),
            ];
            bench.forces(&wheels, &[], MASS_KG);
            judged(
                &bench,
                "front",
                Item::AxleImbalance,
                percent,
                verdict,
                proof,
            );
        }
    }
}

#[test]
fn a_boiling_point_at_its_limit_is_compared_as_it_stands() {
    for (celsius, verdict) in [
        ("154.999", Fail),
        ("155", Advise),
        ("155.001", Advise),
        ("192.499", Advise),
        ("192.5", Pass),
        ("192.501", Pass),
    ] {
        let mut bench = Bench::van();
        bench.retain(|e| !matches!(e, Event::Reading(r) if r.item == Item::FluidBoiling));
        bench.book.fluid(celsius);
        let found = bench.found("vehicle", Item::FluidBoiling);
        assert_eq!(found.verdict, verdict, "{celsius}");
    }
}
