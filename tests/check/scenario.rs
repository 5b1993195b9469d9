//! The demo's readings give the results of the separate slow program, to every printed digit.

use serde_json::Value;

use super::{agrees, json, word};

fn scenario() -> Value {
    serde_json::from_str(include_str!("../data/scenario.json")).unwrap()
}

fn list(values: &Value) -> String {
    let words: Vec<String> = values
        .as_array()
        .unwrap()
        .iter()
        .map(Value::to_string)
        .collect();
    words.join(" ")
}

/// New size, limit, zero error and run-out limit at a corner, in mm: from the invented sheets.
fn facts(job: &str, corner: &str) -> [&'static str; 4] {
    let front = corner.starts_with('F');
    match (job, front) {
        ("HWY-0411", true) => ["26.0", "23.0", "0.001", "0.080"],
        ("HWY-0411", false) => ["12.0", "10.0", "0.001", "0.080"],
        ("HWY-0417", true) => ["28.0", "26.0", "-0.002", "0.080"],
        ("HWY-0417", false) => ["18.0", "16.0", "0.001", "0.080"],
        ("HWY-0423", true) => ["24.0", "22.0", "0.001", "0.100"],
        ("HWY-0423", false) => ["10.0", "8.0", "0.001", "0.100"],
        _ => ["20.0mm", "18.0mm", "0", "0.060"],
    }
}

fn gauge<'a>(args: &mut Vec<&'a str>, mpe: &'a str, resolution: &'a str, repeatability: &'a str) {
    args.extend([
        "--mpe",
        mpe,
        "--resolution",
        resolution,
        "--repeatability",
        repeatability,
    ]);
}

/// The worse of thickness and variation.
fn worse<'v>(a: &'v str, b: &'v str) -> &'v str {
    let rank = |v: &str| {
        ["PASS", "ADVISE", "FAIL"]
            .iter()
            .position(|w| *w == v)
            .unwrap()
    };
    if rank(a) >= rank(b) { a } else { b }
}

fn disc(job: &str, corner: &str, at: &Value, expect: &Value, judder: bool) {
    let [new, limit, zero, _] = facts(job, corner);
    let inches = at.get("disc_in");
    let readings = list(inches.unwrap_or(&at["disc"]));
    let celsius = at["temperature_c"].as_f64().unwrap_or(20.0).to_string();
    let mut args = vec![
        "disc",
        "--readings",
        &readings,
        "--nominal",
        new,
        "--limit",
        limit,
    ];
    args.extend([
        "--zero-error",
        zero,
        "--temperature",
        &celsius,
        "--dtv-limit",
        "0.015mm",
    ]);
    if judder {
        args.extend(["--complaint", "judder"]);
    }
    if inches.is_some() {
        args.extend(["--unit", "in"]);
        gauge(&mut args, "0.004mm", "0.0001", "0.001mm");
    } else {
        gauge(&mut args, "0.004", "0.001", "0.001");
    }
    let (code, got) = json(&args);
    let thickness = &expect["disc.thickness"];
    agrees(
        &got,
        "/t_min_mm",
        thickness["t_min_mm"].as_f64().unwrap(),
        4,
    );
    agrees(
        &got,
        "/t_mean_mm",
        thickness["t_mean_mm"].as_f64().unwrap(),
        4,
    );
    agrees(&got, "/left_mm", thickness["left_mm"].as_f64().unwrap(), 4);
    agrees(
        &got,
        "/wear_fraction",
        thickness["wear_fraction"].as_f64().unwrap(),
        4,
    );
    // The slow program has no expansion-coefficient term; it is below 0.01 µm at these temperatures
    // except at 34 °C.
    let digits = if celsius == "34" { 4 } else { 5 };
    agrees(
        &got,
        "/u_mm",
        thickness["u_um"].as_f64().unwrap() / 1e3,
        digits,
    );
    let sure = thickness["conformance_probability"].as_f64().unwrap();
    agrees(&got, "/conformance_probability", sure, 3);
    let mut verdict = thickness["verdict"].as_str().unwrap();
    if let Some(variation) = expect.get("disc.variation") {
        agrees(&got, "/dtv_um", variation["dtv_um"].as_f64().unwrap(), 1);
        agrees(
            &got,
            "/variation/u_um",
            variation["u_um"].as_f64().unwrap(),
            2,
        );
        assert_eq!(
            got["variation"]["verdict"], variation["verdict"],
            "{job} {corner}"
        );
        verdict = worse(verdict, variation["verdict"].as_str().unwrap());
    }
    assert_eq!(word(&got, "/verdict"), verdict, "{job} {corner}");
    assert_eq!(code == 0, verdict == "PASS", "{job} {corner}");
}

fn ring(job: &str, corner: &str, readings: &Value, expect: &Value, judder: bool) {
    let limit = facts(job, corner)[3];
    let readings = list(readings);
    let mut args = vec![
        "runout",
        "--closing",
        "--readings",
        &readings,
        "--limit",
        limit,
    ];
    if judder {
        args.extend(["--complaint", "judder"]);
    }
    gauge(&mut args, "0.004", "0.001", "0.001");
    let (code, got) = json(&args);
    for (pointer, name, digits) in [
        ("/tir_mm", "tir_mm", 3),
        ("/judged_mm", "judged_mm", 4),
        ("/closing_error_mm", "closing_error_mm", 3),
        ("/fit/peak_to_peak_mm", "peak_to_peak_mm", 4),
        ("/fit/high_spot_deg", "high_spot_deg", 1),
        ("/fit/order2_mm", "order2_mm", 4),
        ("/fit/residual_mm", "residual_mm", 4),
    ] {
        agrees(&got, pointer, expect[name].as_f64().unwrap(), digits);
    }
    agrees(&got, "/u_mm", expect["u_um"].as_f64().unwrap() / 1e3, 5);
    assert_eq!(got["verdict"], expect["verdict"], "{job} {corner}");
    assert_eq!(code == 0, expect["verdict"] == "PASS", "{job} {corner}");
}

fn pads(corner: &str, inner: &str, outer: &str, expect: &Value) {
    let mut args = vec!["pad", "--inner", inner, "--outer", outer, "--limit", "2.0"];
    gauge(&mut args, "0.1", "0.1", "0.05");
    let (_, got) = json(&args);
    agrees(&got, "/min_mm", expect["min_mm"].as_f64().unwrap(), 1);
    agrees(&got, "/left_mm", expect["left_mm"].as_f64().unwrap(), 1);
    agrees(&got, "/u_mm", expect["u_um"].as_f64().unwrap() / 1e3, 4);
    let sure = expect["conformance_probability"].as_f64().unwrap();
    agrees(&got, "/conformance_probability", sure, 4);
    assert_eq!(got["verdict"], expect["verdict"], "{corner}");
}

fn pads_at(corner: &str, at: &Value, expect: &Value) {
    let four = at
        .get("pads_inner_lead_inner_trail_outer_lead_outer_trail")
        .or_else(|| at.get("pads"))
        .map(|v| {
            v.as_array()
                .unwrap()
                .iter()
                .map(Value::to_string)
                .collect::<Vec<_>>()
        });
    match four.as_deref() {
        Some([inner, outer]) => pads(corner, inner, outer, expect),
        Some([a, b, c, d]) => pads(corner, &format!("{a} {b}"), &format!("{c} {d}"), expect),
        _ => {}
    }
}

#[test]
fn discs_rings_and_pads_of_every_corner_agree() {
    let all = scenario();
    let mut compared = 0;
    for job in ["HWY-0411", "HWY-0417", "HWY-0423", "HWY-0429"] {
        let judder = job == "HWY-0417";
        for corner in ["FL", "FR", "RL", "RR"] {
            let at = &all[job][corner];
            let expect = &at["expect"];
            if expect.get("disc.thickness").is_some() {
                disc(job, corner, at, expect, judder);
                compared += 1;
            }
            if let (Some(readings), Some(wanted)) = (at.get("runout"), expect.get("disc.runout")) {
                ring(job, corner, readings, wanted, judder);
                compared += 1;
            }
            if let Some(wanted) = expect.get("pads.thickness") {
                pads_at(corner, at, wanted);
                compared += 1;
            }
            if let Some(left) = at.get("as_left").filter(|l| l.get("disc").is_some()) {
                disc(job, corner, left, &left["expect"], false);
                ring(
                    job,
                    corner,
                    &left["runout"],
                    &left["expect"]["disc.runout"],
                    false,
                );
                compared += 2;
            }
        }
    }
    assert!(compared >= 40, "only {compared} compared");
}

#[test]
fn the_shaking_wheel_is_clocked_as_computed() {
    let all = scenario();
    let at = &all["HWY-0417"]["FR"];
    let expect = &at["expect"];
    for (readings, wanted, judder) in [
        ("runout_found", "found", true),
        ("runout_cleaned_at_0", "cleaned", true),
        ("runout_at_2", "at_2", true),
        ("runout_at_3_as_left", "as_left", false),
    ] {
        ring("HWY-0417", "FR", &at[readings], &expect[wanted], judder);
    }
    let zero = format!("0: {}", list(&at["runout_cleaned_at_0"]));
    let two = format!("2: {}", list(&at["runout_at_2"]));
    let three = format!("3: {}", list(&at["runout_at_3_as_left"]));
    let mut args = vec![
        "clocking",
        "--holes",
        "5",
        "--closing",
        "--at",
        &zero,
        "--at",
        &two,
    ];
    gauge(&mut args, "0.004", "0.001", "0.001");
    let (code, got) = json(&args);
    assert_eq!(code, 0);
    for (part, name) in [("hub", "hub_tir_mm_deg"), ("disc", "disc_tir_mm_deg")] {
        agrees(
            &got,
            &format!("/{part}/tir_mm"),
            expect[name][0].as_f64().unwrap(),
            4,
        );
        agrees(
            &got,
            &format!("/{part}/high_spot_deg"),
            expect[name][1].as_f64().unwrap(),
            1,
        );
    }
    for (k, tir) in expect["predicted_tir_mm"]
        .as_array()
        .unwrap()
        .iter()
        .enumerate()
    {
        agrees(
            &got,
            &format!("/clockings/{k}/tir_mm"),
            tir.as_f64().unwrap(),
            4,
        );
    }
    assert_eq!(got["best_holes"], expect["best"]);
    assert!(got["closure_mm"].is_null());

    // The ring in the chosen clocking confirms the prediction, 2.65 uncertainties off it.
    args.extend(["--at", &three]);
    let (code, got) = json(&args);
    assert_eq!((code, &got["closure_agrees"]), (0, &Value::Bool(true)));
    assert!(got["closure_mm"].as_f64().unwrap() > 0.0);

    // A pin that forbids clockings 3 and 4 leaves 2 as the best.
    args.extend(["--only", "0,1,2"]);
    let (_, got) = json(&args);
    assert_eq!(got["best_holes"], 2);
    assert_eq!(got["clockings"][3]["possible"], false);
}

#[test]
fn the_rear_pads_are_forecast_as_computed() {
    let all = scenario();
    for corner in ["RL", "RR"] {
        let at = &all["HWY-0411"][corner];
        let visits: Vec<String> = at["visits"]
            .as_array()
            .unwrap()
            .iter()
            .map(|v| format!("{}:{}", v[0], v[1]))
            .collect();
        let visits = visits.join(" ");
        let mut args = vec!["wear", "--visits", &visits, "--limit", "2.0"];
        gauge(&mut args, "0.1", "0.1", "0.05");
        let (_, got) = json(&args);
        let expect = &at["expect"]["pads.forecast"];
        agrees(
            &got,
            "/rate_mm_per_1000km",
            expect["rate_mm_per_1000km"].as_f64().unwrap(),
            5,
        );
        assert_eq!(
            got["distance_left_km"], expect["distance_left_km"],
            "{corner}"
        );
        // Over 1.25 for a change of pace, which the independent program knows nothing of.
        let planned = expect["distance_left_lower_km"].as_f64().unwrap() / 1.25;
        assert_eq!(
            got["distance_left_lower_km"],
            planned.round() as i64,
            "{corner}"
        );
    }
}

#[test]
fn the_roller_tester_agrees_found_and_left() {
    let all = scenario();
    let rollers = &all["HWY-0423"]["rollers"];
    for (phase, verdict) in [("found", "FAIL"), ("left", "PASS")] {
        let (at, expect) = (&rollers[phase], &rollers["expect"][phase]);
        let service = format!(
            "FL={},FR={},RL={},RR={}",
            at["FL"], at["FR"], at["RL"], at["RR"]
        );
        let parking = format!("RL={},RR={}", at["parking"][0], at["parking"][1]);
        let (_, got) = json(&[
            "rollers",
            "--service",
            &service,
            "--parking",
            &parking,
            "--mass",
            "1432",
            "--rules",
            "gb",
            "--class",
            "M1",
            "--first-used",
            "2020-06-11",
        ]);
        agrees(
            &got,
            "/axles/0/imbalance_percent",
            expect["front"].as_f64().unwrap(),
            2,
        );
        agrees(
            &got,
            "/axles/1/imbalance_percent",
            expect["rear"].as_f64().unwrap(),
            2,
        );
        agrees(
            &got,
            "/service_efficiency_percent",
            expect["service"].as_f64().unwrap(),
            2,
        );
        agrees(
            &got,
            "/parking_efficiency_percent",
            expect["parking"].as_f64().unwrap(),
            2,
        );
        assert_eq!(word(&got, "/verdict"), verdict, "{phase}");
    }
}

#[test]
fn drums_linings_and_swept_rings_agree() {
    let all = scenario();
    for corner in ["RL", "RR"] {
        let at = &all["HWY-0429"][corner];
        let (open, closed) = (list(&at["drum_open"]), list(&at["drum_closed"]));
        let mut args = vec![
            "drum",
            "--open",
            &open,
            "--closed",
            &closed,
            "--limit",
            "204",
            "--nominal",
            "203",
        ];
        gauge(&mut args, "0.02", "0.01", "0.005");
        let (code, got) = json(&args);
        assert_eq!(code, 0);
        let expect = &at["expect"]["drum.diameter"];
        for (name, digits) in [
            ("max_mm", 2),
            ("ovality_mm", 2),
            ("left_mm", 2),
            ("bell_mouth_mm", 3),
        ] {
            agrees(
                &got,
                &format!("/{name}"),
                expect[name].as_f64().unwrap(),
                digits,
            );
        }
        let linings = list(&at["linings_leading_trailing"]);
        let (code, got) = json(&[
            "pad",
            "--lining",
            &linings,
            "--limit",
            "1.5",
            "--nominal",
            "4.5",
        ]);
        assert_eq!(code, 0);
        agrees(
            &got,
            "/min_mm",
            at["expect"]["linings.thickness"]["min_mm"]
                .as_f64()
                .unwrap(),
            1,
        );
    }
    for corner in ["FL", "FR"] {
        let swept = all["HWY-0429"][corner]["swept_mm"].to_string();
        let (code, got) = json(&["runout", "--swept", &swept, "--limit", "0.060"]);
        assert_eq!((code, word(&got, "/verdict")), (0, "PASS"));
        agrees(&got, "/judged_mm", swept.parse().unwrap(), 4);
        assert!(got["tir_mm"].is_null() && got["fit"].is_null());
    }
}
