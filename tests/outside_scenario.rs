//! The four demo jobs, evaluated by a separate slow program, agree to every printed digit.
//!
//! `tests/data/scenario.json` was computed independently of this code (status: computed).

#![allow(clippy::unwrap_used)] // a test may stop at the first thing it cannot read

use brakecorner::measure::clocking::{ClockedRing, clocking};
use brakecorner::measure::conformity::{Bound, conformity};
use brakecorner::measure::disc::{ThicknessConditions, thickness, wear_used};
use brakecorner::measure::drum::drum;
use brakecorner::measure::pad::{PadReadings, pads};
use brakecorner::measure::rollers::{efficiency_percent, imbalance_percent};
use brakecorner::measure::runout::{Runout, RunoutRing, runout};
use brakecorner::measure::uncertainty::Gauge;
use brakecorner::measure::wear::{Visit, forecast};
use brakecorner::units::{Distance, Force, Length, LengthUnit, Temperature};
use serde_json::Value;

fn um(v: i64) -> Length {
    Length::from_nm(v * 1000)
}

fn gauge(mpe: i64, resolution_nm: i64, repeatability: i64, zero: i64) -> Gauge {
    Gauge {
        mpe: um(mpe),
        resolution: Length::from_nm(resolution_nm),
        repeatability: um(repeatability),
        zero_check: um(zero),
        repeatability_dof: None,
    }
}

fn scenario() -> Value {
    serde_json::from_str(include_str!("data/scenario.json")).unwrap()
}

fn lengths(v: &Value, unit: LengthUnit) -> Vec<Length> {
    v.as_array()
        .unwrap()
        .iter()
        .map(|x| Length::parse(&x.to_string(), unit).unwrap())
        .collect()
}

/// Compares with a printed value at its printed precision.
fn agrees(what: &str, got: f64, want: &Value, digits: i32) {
    let want = want.as_f64().unwrap();
    let half = 0.500_001 * 10f64.powi(-digits);
    assert!((got - want).abs() <= half, "{what}: {got}, expected {want}");
}

/// New size, limit and zero error of each disc, in µm: from the vehicles' invented sheets.
fn disc_facts(job: &str, corner: &str) -> (i64, i64, i64) {
    let front = corner.starts_with('F');
    match (job, front) {
        ("HWY-0411", true) => (26_000, 23_000, 1),
        ("HWY-0411", false) => (12_000, 10_000, 1),
        ("HWY-0417", true) => (28_000, 26_000, -2),
        ("HWY-0417", false) => (18_000, 16_000, 1),
        ("HWY-0423", true) => (24_000, 22_000, 1),
        ("HWY-0423", false) => (10_000, 8_000, 1),
        _ => (20_000, 18_000, 0),
    }
}

fn check_disc(job: &str, corner: &str, at: &Value, expect: &Value) {
    let (ring, unit, step) = match at.get("disc_in") {
        Some(inches) => (lengths(inches, LengthUnit::Inch), LengthUnit::Inch, 2_540),
        None => (
            lengths(&at["disc"], LengthUnit::Millimetre),
            LengthUnit::Millimetre,
            1_000,
        ),
    };
    let (new, limit, zero) = disc_facts(job, corner);
    let celsius = at["temperature_c"].as_i64().unwrap_or(20);
    let conditions = ThicknessConditions {
        zero_error: um(zero),
        disc_temperature: Some(Temperature::from_millidegrees(celsius * 1000)),
        ..ThicknessConditions::default()
    };
    let points: Vec<_> = ring.into_iter().map(|r| vec![r]).collect();
    let t = thickness(&points, &conditions, &gauge(4, step, 1, 1)).unwrap();
    let want = &expect["disc.thickness"];
    let name = |field: &str| format!("{job} {corner} {field} ({unit:?})");
    agrees(&name("t_min"), t.t_min.mm(), &want["t_min_mm"], 4);
    agrees(&name("t_mean"), t.t_mean.mm(), &want["t_mean_mm"], 4);
    agrees(&name("u"), t.u.um(), &want["u_um"], 2);
    let wear = wear_used(um(new), um(limit), t.t_min).unwrap();
    agrees(&name("left"), wear.left.mm(), &want["left_mm"], 4);
    agrees(
        &name("fraction"),
        wear.wear_fraction,
        &want["wear_fraction"],
        4,
    );
    let p = conformity(t.t_min, t.u, Bound::AtLeast(um(limit)));
    agrees(
        &name("p"),
        p.probability,
        &want["conformance_probability"],
        4,
    );
    if let Some(variation) = expect.get("disc.variation") {
        agrees(&name("dtv"), t.dtv.um(), &variation["dtv_um"], 1);
        agrees(&name("u_dtv"), t.u_dtv.um(), &variation["u_um"], 2);
    }
}

fn ring(v: &Value) -> Runout {
    let mut points = lengths(v, LengthUnit::Millimetre);
    let closing = points.pop();
    let ring = RunoutRing {
        points,
        closing,
        fasteners: Some(5),
        ..RunoutRing::default()
    };
    runout(&ring, &gauge(4, 1_000, 1, 0)).unwrap()
}

fn check_runout(name: &str, readings: &Value, want: &Value) {
    let r = ring(readings);
    let fit = r.fit.as_ref().unwrap();
    for (field, got, digits) in [
        ("tir_mm", r.tir.unwrap().mm(), 4),
        ("peak_to_peak_mm", fit.peak_to_peak.mm(), 4),
        ("high_spot_deg", fit.high_spot.degrees(), 1),
        ("order2_mm", fit.order2.unwrap().mm(), 4),
        ("residual_mm", fit.residual.mm(), 4),
        ("closing_error_mm", r.closing_error.unwrap().mm(), 4),
        ("judged_mm", r.judged.mm(), 4),
        ("u_um", r.u.um(), 2),
    ] {
        agrees(&format!("{name} {field}"), got, &want[field], digits);
    }
    assert!(r.closing_ok && !r.swept_below_points);
}

fn pad_readings(at: &Value) -> Option<PadReadings> {
    let key = ["pads", "pads_inner_lead_inner_trail_outer_lead_outer_trail"];
    let all = lengths(key.iter().find_map(|k| at.get(*k))?, LengthUnit::Millimetre);
    let (inner, outer) = all.split_at(all.len() / 2);
    Some(PadReadings {
        inner: inner.to_vec(),
        outer: outer.to_vec(),
    })
}

fn check_phase(job: &str, corner: &str, at: &Value) {
    let expect = &at["expect"];
    if at.get("disc").or(at.get("disc_in")).is_some() {
        check_disc(job, corner, at, expect);
    }
    if let Some(readings) = at.get("runout") {
        check_runout(&format!("{job} {corner}"), readings, &expect["disc.runout"]);
    }
    if let (Some(readings), Some(want)) = (pad_readings(at), expect.get("pads.thickness")) {
        let p = pads(&readings, &gauge(100, 100_000, 50, 0)).unwrap();
        agrees(
            &format!("{job} {corner} pad"),
            p.min.mm(),
            &want["min_mm"],
            4,
        );
        agrees(&format!("{job} {corner} pad u"), p.u.um(), &want["u_um"], 1);
    }
}

#[test]
fn every_corner_of_the_four_jobs_agrees_with_the_independent_results() {
    let all = scenario();
    let mut corners = 0;
    for (job, vehicle) in all.as_object().unwrap() {
        for corner in ["FL", "FR", "RL", "RR"] {
            let at = &vehicle[corner];
            check_phase(job, corner, at);
            if let Some(left) = at.get("as_left") {
                let mut left = left.clone();
                left["temperature_c"] = 20.into();
                check_phase(job, corner, &left);
            }
            corners += 1;
        }
    }
    assert_eq!(corners, 16);
}

#[test]
fn the_judder_job_s_rings_agree() {
    let all = scenario();
    let front = &all["HWY-0417"]["FR"];
    for (readings, want) in [
        ("runout_found", "found"),
        ("runout_cleaned_at_0", "cleaned"),
        ("runout_at_2", "at_2"),
        ("runout_at_3_as_left", "as_left"),
    ] {
        check_runout(readings, &front[readings], &front["expect"][want]);
    }
}

#[test]
fn the_wear_forecasts_agree_to_the_kilometre() {
    let all = scenario();
    for corner in ["RL", "RR"] {
        let at = &all["HWY-0411"][corner];
        let visits: Vec<Visit> = at["visits"]
            .as_array()
            .unwrap()
            .iter()
            .map(|v| Visit {
                odometer: Distance::from_whole_km(v[0].as_i64().unwrap()),
                thickness: Length::parse(&v[1].to_string(), LengthUnit::Millimetre).unwrap(),
                u: None,
                new_parts: false,
            })
            .collect();
        let f = forecast(&visits, um(2_000), Length::from_nm(81_650)).unwrap();
        let want = &at["expect"]["pads.forecast"];
        agrees(corner, f.rate_mm_per_1000km, &want["rate_mm_per_1000km"], 5);
        agrees(corner, f.distance_left.km(), &want["distance_left_km"], 0);
        agrees(
            corner,
            f.distance_left_lower.km(),
            &want["distance_left_lower_km"],
            0,
        );
    }
}

#[test]
fn the_drums_and_the_swept_run_out_of_the_taxi_agree() {
    let all = scenario();
    let taxi = &all["HWY-0429"];
    for corner in ["RL", "RR"] {
        let at = &taxi[corner];
        let mm = LengthUnit::Millimetre;
        let d = drum(
            &lengths(&at["drum_open"], mm),
            &lengths(&at["drum_closed"], mm),
            &gauge(20, 10_000, 5, 0),
        )
        .unwrap();
        let want = &at["expect"]["drum.diameter"];
        agrees(corner, d.max.mm(), &want["max_mm"], 4);
        agrees(corner, d.ovality.mm(), &want["ovality_mm"], 4);
        agrees(
            corner,
            d.bell_mouth.unwrap().mm(),
            &want["bell_mouth_mm"],
            4,
        );
        agrees(corner, (um(204_000) - d.max).mm(), &want["left_mm"], 4);
    }
    for corner in ["FL", "FR"] {
        let at = &taxi[corner];
        let swept = Length::parse(&at["swept_mm"].to_string(), LengthUnit::Millimetre).ok();
        let swept_only = RunoutRing {
            swept,
            ..RunoutRing::default()
        };
        let r = runout(&swept_only, &gauge(4, 1_000, 1, 0)).unwrap();
        agrees(
            corner,
            r.judged.mm(),
            &at["expect"]["disc.runout"]["judged_mm"],
            4,
        );
        assert_eq!((r.tir, r.fit), (None, None));
    }
}

#[test]
fn the_roller_forces_agree() {
    let all = scenario();
    let rollers = &all["HWY-0423"]["rollers"];
    let mass = rollers["mass_kg"].as_f64().unwrap();
    for phase in ["found", "left"] {
        let force = |v: &Value| Force::from_mn(v.as_i64().unwrap() * 1000);
        let at = |key: &str| force(&rollers[phase][key]);
        let want = &rollers["expect"][phase];
        let parking = &rollers[phase]["parking"];
        let sum = at("FL") + at("FR") + at("RL") + at("RR");
        for (name, got) in [
            ("front", imbalance_percent(at("FL"), at("FR"))),
            ("rear", imbalance_percent(at("RL"), at("RR"))),
            ("service", efficiency_percent(sum, mass)),
            (
                "parking",
                efficiency_percent(force(&parking[0]) + force(&parking[1]), mass),
            ),
        ] {
            agrees(&format!("{phase} {name}"), got.unwrap(), &want[name], 2);
        }
    }
}

#[test]
fn the_judder_job_s_clockings_agree_and_its_confirming_ring_closes() {
    let all = scenario();
    let front = &all["HWY-0417"]["FR"];
    let want = &front["expect"];
    let clocked = |clocking: u8, key: &str| {
        let mut points = lengths(&front[key], LengthUnit::Millimetre);
        points.pop();
        ClockedRing {
            clocking,
            ring: RunoutRing {
                points,
                ..RunoutRing::default()
            },
        }
    };
    let mut rings = vec![clocked(0, "runout_cleaned_at_0"), clocked(2, "runout_at_2")];
    let g = gauge(4, 1_000, 1, 0);
    let two = clocking(5, &rings, None, &g).unwrap();
    for (share, want) in [
        (two.hub.unwrap(), &want["hub_tir_mm_deg"]),
        (two.disc.unwrap(), &want["disc_tir_mm_deg"]),
    ] {
        agrees("share", share.tir.mm(), &want[0], 4);
        agrees("direction", share.high_spot.degrees(), &want[1], 1);
    }
    for (c, want) in two
        .clockings
        .iter()
        .zip(want["predicted_tir_mm"].as_array().unwrap())
    {
        agrees("predicted", c.tir.unwrap().mm(), want, 4);
    }
    assert_eq!(two.best.map(u64::from), want["best"].as_u64());
    assert_eq!(two.closure, None);
    // The chosen clocking confirms: 1.89 µm off in amplitude, 2.64 of its standard uncertainties
    // (computed independently with numpy).
    rings.push(clocked(3, "runout_at_3_as_left"));
    let closure = clocking(5, &rings, None, &g).unwrap().closure.unwrap();
    agrees("closure", closure.disagreement.um(), &3.79.into(), 2);
    agrees("closure ratio", closure.ratio, &2.637.into(), 3);
    assert!(closure.agrees);
}
