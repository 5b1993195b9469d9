//! The promised probabilities hold in simulated histories.

#![allow(clippy::unwrap_used)]

mod outside;

use brakecorner::measure::conformity::{Bound, Proof, conformity};
use brakecorner::measure::disc::{ThicknessConditions, thickness};
use brakecorner::measure::study::study;
use brakecorner::measure::wear::{ForecastMethod, Visit, forecast};
use brakecorner::units::{Distance, Length, Temperature};
use outside::{Random, gauge, mm, um};

/// Simulates histories of a pad and returns the share of lower bounds at or below the truth, and the
/// share judged by the residual spread.
fn coverage(seed: u64, visits: std::ops::Range<u64>, claimed: f64, noise: f64) -> (f64, f64) {
    const HISTORIES: u32 = 20_000;
    let mut random = Random::new(seed);
    let (mut held, mut residual) = (0u32, 0u32);
    for _ in 0..HISTORIES {
        let n = visits.start + random.below(visits.end - visits.start);
        let rate = random.uniform(0.10, 0.13) / 1000.0; // mm per km
        let mut km = random.uniform(10_000.0, 60_000.0);
        let mut truth = 12.0;
        let mut history = Vec::new();
        for i in 0..n {
            let driven = if i == 0 {
                0.0
            } else {
                random.uniform(6_000.0, 12_000.0)
            };
            km = (km + driven).round();
            truth -= driven * rate;
            history.push(Visit {
                odometer: Distance::from_whole_km(km as i64),
                thickness: mm(truth + random.normal(0.0, noise)),
                u: None,
                new_parts: i == 0,
            });
        }
        // The limit lies a random way ahead of the last true thickness.
        let left_km = random.uniform(2_000.0, 15_000.0);
        let limit = mm((truth - left_km * rate).max(0.0));
        let left_km = (truth - limit.mm()) / rate;
        let f = forecast(&history, limit, mm(claimed)).unwrap();
        held += u32::from(f.distance_left_lower.km() <= left_km + 0.5);
        residual += u32::from(f.method == ForecastMethod::ResidualSpread);
    }
    (
        f64::from(held) / f64::from(HISTORIES),
        f64::from(residual) / f64::from(HISTORIES),
    )
}

#[test]
fn lower_bounds_hold_in_ninety_percent_when_the_uncertainty_is_known() {
    let (held, _) = coverage(11, 2..6, 0.05, 0.05);
    assert!((held - 0.90).abs() <= 0.015, "held in {held}");
}

#[test]
fn lower_bounds_hold_in_ninety_percent_when_the_residuals_disagree() {
    let (held, residual) = coverage(12, 4..7, 0.002, 0.10);
    assert!(residual > 0.99, "residual spread used in {residual}");
    assert!((held - 0.90).abs() <= 0.015, "held in {held}");
}

/// The whole chain at the limit: a disc whose thinnest point is truly just below its limit.
#[test]
fn a_truly_undersized_disc_passes_in_five_percent_at_most() {
    const DISCS: u32 = 20_000;
    let limit = um(22_000);
    let conditions = ThicknessConditions {
        disc_temperature: Some(Temperature::from_millidegrees(20_000)),
        ..ThicknessConditions::default()
    };
    let g = gauge();
    let mut random = Random::new(13);
    let mut passed = 0u32;
    for _ in 0..DISCS {
        // The thinnest place is 1 nm too thin, another is 0.1 mm thicker; errors as the budget says.
        let common = random.uniform(-0.004, 0.004)
            + random.normal(0.0, 0.001)
            + 22.0 * 11.4e-6 * random.uniform(-1.0, 1.0);
        let mut read = |truth: f64| {
            let value = truth + common + random.normal(0.0, 0.001);
            vec![mm((value * 1000.0).round() / 1000.0)]
        };
        let points = [read(21.999_999), read(22.1)];
        let t = thickness(&points, &conditions, &g).unwrap();
        let c = conformity(t.t_min, t.u, Bound::AtLeast(limit));
        passed += u32::from(!c.beyond && c.proof == Proof::ProvenIn);
    }
    let share = f64::from(passed) / f64::from(DISCS);
    assert!(share <= 0.05, "passed {share}");
    assert!(
        share > 0.01,
        "the guard band is wider than it says: passed {share}"
    );
}

#[test]
fn intervals_of_the_repeat_study_hold_in_ninety_five_percent_or_more() {
    const STUDIES: u32 = 3_000;
    let mut random = Random::new(14);
    let (sd_part, sd_person, sd_cross, sd_error) = (10.0, 3.0, 1.0, 1.5);
    let truth = [sd_error, f64::hypot(sd_person, sd_cross), sd_part];
    let mut held = [0u32; 3];
    for _ in 0..STUDIES {
        let people: Vec<f64> = (0..4).map(|_| random.normal(0.0, sd_person)).collect();
        let readings: Vec<Vec<Vec<Length>>> = (0..8)
            .map(|_| {
                let part = random.normal(0.0, sd_part);
                people
                    .iter()
                    .map(|person| {
                        let cell = 20_000.0 + part + person + random.normal(0.0, sd_cross);
                        (0..3)
                            .map(|_| mm((cell + random.normal(0.0, sd_error)) / 1000.0))
                            .collect()
                    })
                    .collect()
            })
            .collect();
        let s = study(&readings).unwrap();
        let spreads = [s.repeatability, s.reproducibility.unwrap(), s.parts];
        for ((count, spread), truth) in held.iter_mut().zip(spreads).zip(truth) {
            *count += u32::from(spread.low.um() <= truth && truth <= spread.high.um());
        }
    }
    for (what, count) in ["repeatability", "reproducibility", "parts"]
        .iter()
        .zip(held)
    {
        let share = f64::from(count) / f64::from(STUDIES);
        assert!((0.935..=0.99).contains(&share), "{what}: {share}");
    }
}
/// Between the two regimes the readings' uncertainty is understated and three visits seldom show it:
/// the worst of it, stated in docs/method.md, is about 82 %.
#[test]
fn an_understated_uncertainty_costs_the_bound_no_more_than_ten_points() {
    let (held, _) = coverage(20, 3..4, 0.04, 0.08);
    assert!((0.80..0.85).contains(&held), "held in {held}");
}
