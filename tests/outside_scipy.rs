//! The models against numpy, scipy and statsmodels on random cases.
//!
//! `BRAKECORNER_PYTHON` names a Python with those three installed; `tests/run` provides it. The
//! reference answers are computed in `tests/outside/reference.py`, by other methods than the Rust
//! code's: general solvers, root finding, dummy variables.

#![allow(clippy::unwrap_used, clippy::expect_used)]

mod outside;

use std::io::Write;
use std::process::{Command, Stdio};

use brakecorner::measure::clocking::{ClockedRing, Share, clocking};
use brakecorner::measure::regression::{Line, Point, Spread};
use brakecorner::measure::runout::{RunoutRing, runout};
use brakecorner::measure::special;
use brakecorner::measure::study::{Row, anova};
use brakecorner::measure::wear::{ForecastMethod, Visit, forecast};
use brakecorner::units::{Angle, Distance, Length};
use outside::{Random, gauge, mm};
use serde_json::{Value, json};

const CASES: usize = 2_000;

/// Asks the reference program.
fn reference(model: &str, cases: &[Value]) -> Vec<Value> {
    let python = std::env::var("BRAKECORNER_PYTHON")
        .expect("BRAKECORNER_PYTHON names a Python with numpy, scipy and statsmodels");
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/outside/reference.py");
    let mut child = Command::new(python)
        .arg(script)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let question = serde_json::to_vec(&json!({ "model": model, "cases": cases })).unwrap();
    child.stdin.take().unwrap().write_all(&question).unwrap();
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success(), "the reference program failed");
    let answers: Vec<Value> = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(answers.len(), cases.len());
    answers
}

/// Relative agreement, or absolute below `floor`.
#[track_caller]
fn agree(what: &str, case: &Value, got: f64, want: &Value, relative: f64, floor: f64) {
    let want = want.as_f64().unwrap_or(f64::NAN);
    let allowed = relative * want.abs() + floor;
    assert!(
        (got - want).abs() <= allowed,
        "{what}: {got:e}, reference {want:e}, case {case}"
    );
}

/// Agreement of a stored length to its last nanometre.
#[track_caller]
fn same_nm(what: &str, case: &Value, got: Length, want_mm: &Value) {
    agree(what, case, got.mm(), want_mm, 1e-9, 0.501e-6);
}

/// Agreement of a stored angle to its last hundredth of a degree, round the circle.
#[track_caller]
fn same_angle(what: &str, case: &Value, got: Angle, want: &Value) {
    let off = (got.degrees() - want.as_f64().unwrap() + 180.0).rem_euclid(360.0) - 180.0;
    assert!(
        off.abs() <= 0.005_01,
        "{what}: {got}, reference {want}, case {case}"
    );
}

fn millimetres(points: &[Length]) -> Vec<f64> {
    points.iter().map(|p| p.mm()).collect()
}

#[test]
#[ignore = "needs Python with scipy; tests/run provides it"]
fn harmonic_fits_agree() {
    let mut random = Random::new(101);
    let mut rings = Vec::new();
    while rings.len() < CASES {
        // Uneven angles with missing points, as long as the ring still goes round.
        let n = 6 + random.below(20) as usize;
        let mut angles: Vec<i64> = (0..n).map(|_| random.below(36_000) as i64).collect();
        angles.sort_unstable();
        angles.dedup();
        let angles: Vec<Angle> = angles.into_iter().map(Angle::from_centidegrees).collect();
        let (a, phi) = (random.uniform(0.005, 0.1), random.uniform(0.0, 6.3));
        let points: Vec<Length> = angles
            .iter()
            .map(|t| {
                let tilt = a * (t.degrees().to_radians() - phi).cos();
                mm(tilt + random.normal(0.0, 0.003))
            })
            .collect();
        let ring = RunoutRing {
            points,
            angles: Some(angles),
            ..RunoutRing::default()
        };
        if runout(&ring, &gauge()).is_ok() {
            rings.push(ring);
        }
    }
    let cases: Vec<Value> = rings
        .iter()
        .map(|r| {
            let degrees: Vec<f64> =
                r.angles.iter().flatten().map(|a| a.degrees()).collect();
            json!({ "points": millimetres(&r.points), "degrees": degrees, "sigma": gauge().noise_mm() })
        })
        .collect();
    let (mut orders, mut directions) = (0, 0);
    for ((ring, case), want) in rings.iter().zip(&cases).zip(reference("harmonic", &cases)) {
        let fit = runout(ring, &gauge()).unwrap().fit.unwrap();
        same_nm("2A", case, fit.peak_to_peak, &want["peak_to_peak"]);
        same_angle("high spot", case, fit.high_spot, &want["high_spot"]);
        same_nm("residual", case, fit.residual, &want["residual"]);
        // A tilt lost in the noise has no direction, and its uncertainty is the worst one.
        if fit.u_high_spot < Angle::from_centidegrees(18_000) {
            same_nm("u(2A)", case, fit.u_peak_to_peak, &want["u_peak_to_peak"]);
            same_angle("u(high spot)", case, fit.u_high_spot, &want["u_high_spot"]);
            directions += 1;
        }
        if let Some(order2) = fit.order2 {
            same_nm("order 2", case, order2, &want["order2"]);
            orders += 1;
        }
    }
    assert!(orders > CASES / 2, "{orders}");
    assert!(directions > CASES * 9 / 10, "{directions}");
}

#[test]
#[ignore = "needs Python with scipy; tests/run provides it"]
fn regression_and_its_prediction_bounds_agree() {
    let mut random = Random::new(102);
    let cases: Vec<Value> = (0..CASES)
        .map(|_| {
            let n = 3 + random.below(10);
            let x: Vec<f64> = (0..n).map(|_| random.uniform(0.0, 100.0)).collect();
            let u: Vec<f64> = (0..n).map(|_| random.uniform(0.05, 0.3)).collect();
            let y: Vec<f64> = x
                .iter()
                .zip(&u)
                .map(|(x, u)| 12.0 - 0.1 * x + random.normal(0.0, *u))
                .collect();
            let at = random.uniform(-50.0, 200.0);
            json!({ "x": x, "y": y, "u": u, "at": at, "y_at": random.uniform(-5.0, 1.0) })
        })
        .collect();
    let mut checked = 0;
    for (case, want) in cases.iter().zip(reference("regression", &cases)) {
        let column = |k: &str| -> Vec<f64> {
            case[k]
                .as_array()
                .unwrap()
                .iter()
                .map(|v| v.as_f64().unwrap())
                .collect()
        };
        let points: Vec<Point> = column("x")
            .into_iter()
            .zip(column("y"))
            .zip(column("u"))
            .map(|((x, y), u)| Point { x, y, u })
            .collect();
        let line = Line::through(&points).unwrap();
        let (at, y_at) = (case["at"].as_f64().unwrap(), case["y_at"].as_f64().unwrap());
        let s = Spread::Residual;
        let (inverse, u_inverse) = line.inverse(y_at, 2, s);
        for (key, got) in [
            ("slope", line.slope),
            ("at", line.at(at)),
            ("u_at", line.u_at(at, s)),
            ("u_slope", line.u_slope(s)),
            ("residual_sd", line.residual_sd().unwrap()),
            ("inverse", inverse),
            ("u_inverse", u_inverse),
        ] {
            agree(key, case, got, &want[key], 1e-8, 1e-10);
        }
        // The bound exists on the falling side only where the slope is negative.
        if line.slope < 0.0 {
            let earliest = line.earliest(y_at, special::normal_quantile(0.9), Spread::Known);
            agree("earliest", case, earliest, &want["earliest"], 1e-8, 1e-8);
            checked += 1;
        }
    }
    assert!(checked > CASES * 9 / 10, "{checked}");
}

#[test]
#[ignore = "needs Python with scipy; tests/run provides it"]
fn forecasts_agree_to_the_kilometre() {
    let mut random = Random::new(103);
    let limit = mm(2.0);
    let mut histories = Vec::new();
    while histories.len() < CASES {
        let n = 2 + random.below(5);
        let (rate, noise) = (random.uniform(0.05, 0.2), random.uniform(0.02, 0.2));
        let mut km = random.below(100_000) as i64;
        let mut truth = 12.0;
        let mut visits = Vec::new();
        for _ in 0..n {
            let driven = 3_000 + random.below(15_000) as i64;
            km += driven;
            truth -= rate * driven as f64 / 1000.0;
            visits.push(Visit {
                odometer: Distance::from_whole_km(km),
                thickness: mm((truth + random.normal(0.0, noise)).max(0.0)),
                u: None,
                new_parts: false,
            });
        }
        let u = mm(0.08);
        if let Ok(f) = forecast(&visits, limit, u) {
            histories.push((visits, u, f));
        }
    }
    let cases: Vec<Value> = histories
        .iter()
        .map(|(visits, u, _)| {
            let km: Vec<f64> = visits.iter().map(|v| v.odometer.km()).collect();
            let mm: Vec<f64> = visits.iter().map(|v| v.thickness.mm()).collect();
            json!({ "km": km, "mm": mm, "u": u.mm(), "limit": limit.mm() })
        })
        .collect();
    let mut methods = [0, 0];
    for (((_, _, f), case), want) in histories
        .iter()
        .zip(&cases)
        .zip(reference("forecast", &cases))
    {
        agree(
            "rate",
            case,
            f.rate_mm_per_1000km,
            &want["rate"],
            1e-9,
            1e-9,
        );
        agree(
            "left",
            case,
            f.distance_left.km(),
            &want["middle"],
            1e-9,
            0.501,
        );
        agree(
            "lower",
            case,
            f.distance_left_lower.km(),
            &want["lower"],
            1e-9,
            0.501,
        );
        let known = f.method == ForecastMethod::KnownUncertainty;
        assert_eq!(Some(known), want["known"].as_bool(), "{case}");
        methods[usize::from(known)] += 1;
    }
    assert!(methods.iter().all(|m| *m > 200), "{methods:?}");
}

#[test]
#[ignore = "needs Python with scipy; tests/run provides it"]
fn analysis_of_variance_agrees() {
    let mut random = Random::new(104);
    let mut spread = |sd: f64| random.normal(0.0, sd);
    let mut shapes = Random::new(105);
    let studies: Vec<Vec<Vec<Vec<f64>>>> = (0..CASES)
        .map(|_| {
            let size = |shapes: &mut Random, most: u64| 2 + shapes.below(most - 1);
            let (parts, people, repeats) = (
                size(&mut shapes, 6),
                size(&mut shapes, 3),
                size(&mut shapes, 3),
            );
            (0..parts)
                .map(|_| {
                    let part = 20.0 + spread(0.01);
                    (0..people)
                        .map(|j| {
                            let cell = part + 0.002 * j as f64 + spread(0.001);
                            (0..repeats).map(|_| cell + spread(0.001)).collect()
                        })
                        .collect()
                })
                .collect()
        })
        .collect();
    let cases: Vec<Value> = studies.iter().map(|s| json!({ "readings": s })).collect();
    for ((study, case), want) in studies.iter().zip(&cases).zip(reference("anova", &cases)) {
        let table = anova(study).unwrap();
        let rows: [(&str, Row); 4] = [
            ("parts", table.parts),
            ("people", table.people),
            ("interaction", table.interaction),
            ("repeats", table.repeats),
        ];
        for (name, row) in rows {
            // Readings near 20 with effects of 1e-3: the reference itself keeps about 1e-8.
            agree(name, case, row.squares, &want[name][0], 1e-6, 1e-13);
            agree(name, case, row.dof, &want[name][1], 1e-12, 0.0);
            if let (Some(f), Some(p)) = (row.f, row.p) {
                agree(name, case, f, &want[name][2], 1e-6, 1e-9);
                agree(name, case, p, &want[name][3], 1e-5, 1e-12);
            }
        }
    }
}

#[test]
#[ignore = "needs Python with scipy; tests/run provides it"]
fn clockings_agree() {
    let mut random = Random::new(106);
    let inputs: Vec<(u8, Vec<ClockedRing>)> = (0..CASES)
        .map(|_| {
            let holes = 3 + u8::try_from(random.below(8)).unwrap();
            let mut clockings = vec![
                0,
                1 + u8::try_from(random.below(u64::from(holes) - 1)).unwrap(),
            ];
            for _ in 0..random.below(3) {
                clockings.push(u8::try_from(random.below(u64::from(holes))).unwrap());
            }
            let part = |random: &mut Random| {
                (
                    random.uniform(0.005, 0.06),
                    random.uniform(0.0, std::f64::consts::TAU),
                )
            };
            let (hub, disc) = (part(&mut random), part(&mut random));
            let rings = clockings
                .into_iter()
                .map(|k| {
                    let n = 8 + random.below(8);
                    let beta = std::f64::consts::TAU * f64::from(k) / f64::from(holes);
                    let points = (0..n)
                        .map(|i| {
                            let t = std::f64::consts::TAU * i as f64 / n as f64;
                            let tilt =
                                hub.0 * (t - hub.1).cos() + disc.0 * (t - disc.1 - beta).cos();
                            mm(tilt + random.normal(0.0, 0.002))
                        })
                        .collect();
                    let ring = RunoutRing {
                        points,
                        ..RunoutRing::default()
                    };
                    ClockedRing { clocking: k, ring }
                })
                .collect();
            (holes, rings)
        })
        .collect();
    let cases: Vec<Value> = inputs
        .iter()
        .map(|(holes, rings)| {
            let rings: Vec<Value> = rings
                .iter()
                .map(|r| json!({ "clocking": r.clocking, "points": millimetres(&r.ring.points) }))
                .collect();
            json!({ "holes": holes, "rings": rings, "sigma": gauge().noise_mm() })
        })
        .collect();
    for (((holes, rings), case), want) in
        inputs.iter().zip(&cases).zip(reference("clocking", &cases))
    {
        let got = clocking(*holes, rings, None, &gauge()).unwrap();
        let share = |what: &str, share: Option<Share>| {
            let (share, want) = (share.unwrap(), &want[what]);
            same_nm(what, case, share.tir, &want[0]);
            same_angle(what, case, share.high_spot, &want[1]);
            same_nm(what, case, share.u, &want[2]);
        };
        share("hub", got.hub);
        share("disc", got.disc);
        for (k, clocking) in got.clockings.iter().enumerate() {
            same_nm(
                "predicted",
                case,
                clocking.tir.unwrap(),
                &want["predicted"][k][0],
            );
            same_nm(
                "u predicted",
                case,
                clocking.u.unwrap(),
                &want["predicted"][k][1],
            );
        }
    }
}

/// A distribution function of ours, called with a case's arguments.
type Function = fn(&Value) -> f64;

#[test]
#[ignore = "needs Python with scipy; tests/run provides it"]
fn distribution_functions_agree() {
    fn n(case: &Value, key: &str) -> f64 {
        case[key].as_f64().unwrap()
    }
    let functions: [(&str, Function, f64); 10] = [
        ("normal_cdf", |c| special::normal_cdf(n(c, "x")), 1e-12),
        (
            "normal_quantile",
            |c| special::normal_quantile(n(c, "p")),
            1e-12,
        ),
        (
            "student_t_cdf",
            |c| special::student_t_cdf(n(c, "x"), n(c, "dof")),
            1e-11,
        ),
        (
            "student_t_quantile",
            |c| special::student_t_quantile(n(c, "p"), n(c, "dof")),
            1e-10,
        ),
        (
            "chi_squared_cdf",
            |c| special::chi_squared_cdf(n(c, "x"), n(c, "dof")),
            1e-11,
        ),
        (
            "chi_squared_tail",
            |c| special::chi_squared_tail(n(c, "x"), n(c, "dof")),
            1e-11,
        ),
        (
            "chi_squared_quantile",
            |c| special::chi_squared_quantile(n(c, "p"), n(c, "dof")),
            1e-10,
        ),
        (
            "fisher_tail",
            |c| special::fisher_tail(n(c, "x"), n(c, "dof"), n(c, "dof2")),
            1e-10,
        ),
        (
            "fisher_quantile",
            |c| special::fisher_quantile(n(c, "p"), n(c, "dof"), n(c, "dof2")),
            1e-10,
        ),
        (
            "gamma_cdf",
            |c| special::gamma_cdf(n(c, "x"), n(c, "dof"), n(c, "dof2")),
            1e-11,
        ),
    ];
    let mut random = Random::new(107);
    let mut cases = Vec::new();
    for (name, _, _) in &functions {
        for _ in 0..CASES {
            // Degrees of freedom from 1 to 10⁴, probabilities towards both tails.
            let dof = |random: &mut Random| {
                let whole = random.uniform(0.0, 9.2).exp();
                if random.below(2) == 0 {
                    whole.round().max(1.0)
                } else {
                    whole
                }
            };
            let p = 1.0 / (1.0 + random.uniform(-12.0, 12.0).exp());
            let (d1, d2) = (dof(&mut random), dof(&mut random));
            let x = match *name {
                "normal_cdf" | "student_t_cdf" => random.normal(0.0, 3.0),
                "fisher_tail" => random.uniform(-2.0, 2.0).exp(),
                "gamma_cdf" => d1 * d2 * random.uniform(0.3, 2.0),
                _ => d1 * random.uniform(0.3, 2.0),
            };
            cases.push(json!({ "function": name, "x": x, "p": p, "dof": d1, "dof2": d2 }));
        }
    }
    let answers = reference("distribution", &cases);
    for (case, want) in cases.iter().zip(&answers) {
        let (name, function, relative) =
            functions.iter().find(|f| case["function"] == f.0).unwrap();
        agree(name, case, function(case), want, *relative, 1e-300);
    }
}

#[test]
#[ignore = "needs Python with scipy; tests/run provides it"]
fn range_quantiles_agree() {
    let cases: Vec<Value> = (2..=40)
        .flat_map(|count| {
            [0.5, 0.9, 0.95, 0.99]
                .map(|p| json!({ "function": "range_quantile", "p": p, "n": count }))
        })
        .collect();
    for (case, want) in cases.iter().zip(reference("distribution", &cases)) {
        let count = u32::try_from(case["n"].as_u64().unwrap()).unwrap();
        let got = special::range_quantile(case["p"].as_f64().unwrap(), count);
        agree("range quantile", case, got, &want, 1e-7, 0.0);
    }
}
