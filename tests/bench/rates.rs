//! How often the program is wrong where it may be, simulated with fixed seeds.
//!
//! `cargo bench --bench rates` prints each rate beside what is promised for it, and ends with exit
//! code 1 when one is missed. The verdicts are those of the `check` commands, which share their rules
//! with the jobs.

#![allow(clippy::print_stdout, clippy::unwrap_used)]

#[path = "../outside/mod.rs"]
mod outside;

use std::process::ExitCode;

use brakecorner::judge::ItemVerdict;
use brakecorner::judge::check::{self, Bench};
use brakecorner::measure::conformity::Proof;
use brakecorner::measure::disc::{Thickness, ThicknessConditions, thickness};
use brakecorner::measure::uncertainty::Gauge;
use brakecorner::measure::wear::{Visit, forecast};
use brakecorner::spec::Policy;
use brakecorner::units::{Distance, Length};
use outside::{Random, gauge, mm, um};

const CASES: u32 = 20_000;
const POINTS: usize = 10;

/// A rate and what is promised for it.
struct Rate {
    what: String,
    found: f64,
    /// The largest or the smallest it may be; `None` for a rate that is only shown.
    promised: Option<Promise>,
}

#[derive(Clone, Copy)]
enum Promise {
    AtMost(f64),
    AtLeast(f64),
}

impl Rate {
    fn new(what: impl Into<String>, found: u32, promised: Option<Promise>) -> Self {
        Self {
            what: what.into(),
            found: f64::from(found) / f64::from(CASES),
            promised,
        }
    }

    fn holds(&self) -> bool {
        self.promised.is_none_or(|promise| match promise {
            Promise::AtMost(most) => self.found <= most,
            Promise::AtLeast(least) => self.found >= least,
        })
    }

    fn print(&self) {
        let promised = match self.promised {
            None => "shown only".to_owned(),
            Some(Promise::AtMost(most)) => format!("at most {:.1} %", most * 100.0),
            Some(Promise::AtLeast(least)) => format!("at least {:.1} %", least * 100.0),
        };
        let mark = if self.holds() { "ok    " } else { "MISSED" };
        println!(
            "{mark} {:6.2} %  {promised:16} {}",
            self.found * 100.0,
            self.what
        );
    }
}

/// A micrometer as it really is: its error, what its zero check left, its noise and its step.
struct Micrometer {
    error: f64,
    zero: f64,
    noise: f64,
    step: f64,
}

impl Micrometer {
    fn drawn(random: &mut Random, gauge: &Gauge, noise: f64) -> Self {
        let a = gauge.mpe.mm();
        Self {
            error: random.uniform(-a, a),
            zero: random.normal(0.0, gauge.zero_check.mm()),
            noise,
            step: gauge.resolution.mm(),
        }
    }

    fn reads(&self, random: &mut Random, truth: f64) -> Length {
        let raw = truth + self.error + self.zero + random.normal(0.0, self.noise);
        mm((raw / self.step).round() * self.step)
    }
}

/// A ring of a disc whose thickness varies once a turn by `variation`, from `thinnest` on, measured by a
/// gauge that has `noise` and is believed to be `gauge`.
fn ring(
    random: &mut Random,
    (thinnest, variation): (f64, f64),
    readings: usize,
    (gauge, noise): (&Gauge, f64),
) -> Thickness {
    let micrometer = Micrometer::drawn(random, gauge, noise);
    let points: Vec<Vec<Length>> = (0..POINTS)
        .map(|point| {
            let turn = std::f64::consts::TAU * point as f64 / POINTS as f64;
            let truth = thinnest + variation * 0.5 * (1.0 + turn.cos());
            (0..readings)
                .map(|_| micrometer.reads(random, truth))
                .collect()
        })
        .collect();
    thickness(&points, &ThicknessConditions::default(), gauge).unwrap()
}

/// Discs that are a nanometre too thin, measured warm without a temperature: how many are proven in.
fn discs(policy: &Policy, warm: std::ops::Range<f64>, seed: u64) -> u32 {
    let alpha = f64::from(policy.expansion_ppb.value) * 1e-9;
    let mut random = Random::new(seed);
    let mut proven = 0;
    for _ in 0..CASES {
        let limit =
            Length::from_nm(8_000_000 + i64::try_from(random.below(28_000)).unwrap() * 1000);
        let kelvin = random.uniform(warm.start, warm.end);
        let truth = (limit.mm() - 1e-6) * (1.0 + alpha * kelvin);
        let gauge = gauge();
        let noise = gauge.repeatability.mm();
        let ring = ring(&mut random, (truth, 0.002), 1, (&gauge, noise));
        let bench = Bench {
            limit: Some(limit),
            judder: false,
            cautions: &[],
            policy,
        };
        let finding = check::disc_thickness(&ring, &bench);
        proven += u32::from(finding.proof == Some(Proof::ProvenIn));
    }
    proven
}

/// Histories of pads whose vehicle changes its pace: how often the bound holds.
///
/// The pace of the way ahead is drawn from ± a quarter about the usual one; with `past` that of every
/// stretch behind as well.
fn bounds(policy: &Policy, visits: std::ops::RangeInclusive<u64>, past: bool, seed: u64) -> u32 {
    const U: f64 = 0.081_65; // the demonstration's pad gauge
    let pace = policy.forecast_pace.value.share();
    let mut random = Random::new(seed);
    let mut held = 0;
    let mut made = 0;
    while made < CASES {
        let n = visits.start() + random.below(visits.end() - visits.start() + 1);
        let usual = random.uniform(0.08, 0.20) / 1000.0; // mm per km
        let mut km = random.uniform(10_000.0, 60_000.0).round();
        let mut truth = random.uniform(9.0, 12.0);
        let mut history = Vec::new();
        for visit in 0..n {
            if visit > 0 {
                let driven = random.uniform(6_000.0, 15_000.0).round();
                let of_usual = if past {
                    random.uniform(0.75, 1.25)
                } else {
                    1.0
                };
                km += driven;
                truth -= driven * usual * of_usual;
            }
            history.push(Visit {
                odometer: Distance::from_whole_km(km as i64),
                thickness: mm((truth + random.normal(0.0, U)).max(0.0)),
                u: None,
                new_parts: false,
            });
        }
        let limit = 2.0;
        if truth <= limit {
            continue; // worn out before the last visit: nothing to forecast
        }
        let Ok(forecast) = forecast(&history, mm(limit), mm(U)) else {
            continue; // refused, so nothing is promised
        };
        made += 1;
        let left = (truth - limit) / (usual * random.uniform(0.75, 1.25));
        let planned = forecast.at_another_pace(pace).distance_left_lower.km();
        held += u32::from(planned <= left + 0.5);
    }
    held
}

/// Discs whose thickness varies by 12 µm against a limit of 10: how many pass by a gauge that nobody
/// studied, which has the noise `noise` in truth.
fn variations(policy: &Policy, readings: usize, noise: f64, seed: u64) -> u32 {
    let unstudied = check::fine_gauge(policy);
    let gauge = Gauge {
        resolution: um(1),
        ..unstudied
    };
    let bench = Bench {
        limit: Some(um(10)),
        judder: false,
        cautions: &[],
        policy,
    };
    let mut random = Random::new(seed);
    let mut passed = 0;
    for _ in 0..CASES {
        let ring = ring(&mut random, (22.5, 0.012), readings, (&gauge, noise));
        let floor = (ring.dtv_floor, ring.readings_per_point);
        let finding = check::disc_variation((ring.dtv, ring.u_dtv), floor, &bench);
        passed += u32::from(finding.verdict == ItemVerdict::Pass);
    }
    passed
}

fn main() -> ExitCode {
    let policy = Policy::builtin();
    let five = Some(Promise::AtMost(0.05));
    let mut rates = vec![Rate::new(
        "disc 1 nm too thin, 0 to 30 K warm, no temperature logged: proven in",
        discs(&policy, 0.0..30.0, 21),
        five,
    )];
    for (seed, kelvin) in (22..).zip([0.0, 10.0, 20.0, 30.0]) {
        rates.push(Rate::new(
            format!("  the same, all {kelvin} K warm"),
            discs(&policy, kelvin..kelvin, seed),
            None,
        ));
    }
    let most = Some(Promise::AtLeast(0.88));
    rates.push(Rate::new(
        "pads, 2 to 6 visits, pace ahead ± 25 %: the bound holds",
        bounds(&policy, 2..=6, false, 31),
        most,
    ));
    rates.push(Rate::new(
        "pads, 2 to 6 visits, pace of every stretch ± 25 %: the bound holds",
        bounds(&policy, 2..=6, true, 32),
        most,
    ));
    for visits in 2..=6 {
        rates.push(Rate::new(
            format!("  the same with {visits} visits"),
            bounds(&policy, visits..=visits, true, 32 + visits),
            None,
        ));
    }
    for (readings, seed) in [(1, 41), (2, 42), (3, 43)] {
        for noise in [0.001, 0.003] {
            rates.push(Rate::new(
                format!(
                    "variation 12 µm against 10, unstudied gauge, {readings} a point, true noise {} µm: PASS",
                    noise * 1e3
                ),
                variations(&policy, readings, noise, seed),
                five,
            ));
        }
    }
    println!("{CASES} cases each, fixed seeds");
    rates.iter().for_each(Rate::print);
    if rates.iter().all(Rate::holds) {
        ExitCode::SUCCESS
    } else {
        println!("a promised rate was missed");
        ExitCode::FAILURE
    }
}
