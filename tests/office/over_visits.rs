//! A vehicle over its visits: pace, dates, slips, wear that doubles, run-out that moves.

use std::collections::BTreeMap;

use brakecorner::job::{Item, Outcome, Part, Phase, Register, Symptom};
use brakecorner::judge::{ItemVerdict, Verdict};
use brakecorner::office::due::{self, DueKind, Visit};
use brakecorner::office::{Declined, Ring, State, Summary, Thickness, Verdicts, history};
use brakecorner::spec::Percent;
use brakecorner::units::{Distance, Length};

fn um(v: i64) -> Length {
    Length::from_nm(v * 1000)
}

/// A visit without anything to say.
fn summary(job: &str, day: &str, km: i64) -> Summary {
    Summary {
        job: job.into(),
        vin: "A0ZDL07V7NK001122".into(),
        registration: "HW 12".into(),
        sheet: "merlock-dunling".into(),
        vehicle: "mail van".into(),
        opened: format!("{day}T08:00:00+00:00").parse().unwrap(),
        odometer: Distance::from_whole_km(km),
        first_used: None,
        symptoms: vec![],
        complaint: None,
        state: State::HandedOver,
        as_found: Verdict::Pass,
        as_left: Verdict::Pass,
        found: BTreeMap::new(),
        left: Verdicts::default(),
        thickness: vec![],
        earlier: vec![],
        rings: vec![],
        fitted: vec![],
        retorque: None,
        movements: vec![],
        declined: vec![],
        call_back: None,
        service: (Distance::from_whole_km(15_000), 12),
        forecast_confidence: Percent::from_thousandths(90_000),
        forecast_pace: Percent::from_thousandths(25_000),
    }
}

fn pads(found: Option<i64>, new: Option<i64>) -> Thickness {
    Thickness {
        corner: "RL".parse().unwrap(),
        item: Item::PadsThickness,
        found: found.map(um),
        new: new.map(um),
        replaced: new.is_some(),
        limit: Some(um(2_000)),
        u: Some(um(80)),
    }
}

fn rows(visits: Vec<Summary>, now: &str) -> Vec<due::DueRow> {
    let visits: Vec<Visit> = visits
        .into_iter()
        .map(|summary| Visit {
            shop: "Yard".into(),
            summary,
        })
        .collect();
    due::due(
        &visits,
        &[("Yard".into(), Register::default())],
        now.parse().unwrap(),
    )
}

fn left_line(fail: bool) -> Declined {
    Declined {
        line: "fluid".into(),
        words: "brake fluid change".into(),
        price: None,
        outcome: Outcome::No,
        until: None,
        reason: String::new(),
        on: "2027-08-31".parse().unwrap(),
        by: "Ruth Aldous".into(),
        means: brakecorner::job::Means::Telephone,
        items: vec![("vehicle".parse().unwrap(), Item::FluidBoiling)],
        fail,
        caution_read: fail,
        leaving: String::new(),
    }
}

/// Twelve months from 29 February 2028 end on 28 February 2029; six from 31 August on 28 February
/// (29 in a leap year) (own arithmetic).
#[test]
fn months_end_where_the_month_ends() {
    for (day, months, due) in [
        ("2028-02-29", 12, "2029-02-28"),
        ("2026-08-31", 6, "2027-02-28"),
        ("2027-08-31", 6, "2028-02-29"),
        ("2026-01-31", 1, "2026-02-28"),
        ("2026-12-31", 2, "2027-02-28"),
    ] {
        let mut visit = summary("A", day, 50_000);
        visit.service.1 = months;
        visit.declined.push(left_line(false));
        let rows = rows(vec![visit], "2026-01-01T00:00:00+00:00");
        assert_eq!(
            rows[0].date,
            Some(due.parse().unwrap()),
            "{day} + {months} months"
        );
    }
}

#[test]
fn a_day_is_the_day_of_its_own_zone() {
    let mut visit = summary("A", "2026-03-01", 50_000);
    visit.call_back = Some("2026-03-04T23:30:00-05:00".parse().unwrap());
    // Half past eleven at night in the west is already the fifth in Greenwich.
    for (now, day, overdue) in [
        ("2026-03-05T04:00:00+00:00", "2026-03-05", false),
        ("2026-03-04T23:00:00-05:00", "2026-03-04", false),
        ("2026-03-05T04:31:00+00:00", "2026-03-05", true),
    ] {
        let rows = rows(vec![visit.clone()], now);
        assert_eq!(
            (rows[0].date, rows[0].overdue),
            (Some(day.parse().unwrap()), overdue),
            "{now}"
        );
    }
}

/// 1 200 km in 30 days are 40 km a day; 5 000 km take 125 days (own arithmetic).
#[test]
fn distance_becomes_a_date_at_the_vehicle_s_own_pace_and_not_without_one() {
    let visits = || {
        vec![
            summary("A", "2026-01-01", 50_000),
            summary("B", "2026-01-31", 51_200),
        ]
    };
    let of = |v: &[Summary]| history::pace(&v.iter().collect::<Vec<_>>());
    let pace = of(&visits()).unwrap();
    assert!((pace.km_per_day - 40.0).abs() < 1e-9);
    let day = |text: &str| text.parse().unwrap();
    assert_eq!(pace.day(day("2026-01-31"), 5_000), day("2026-06-05"));
    assert_eq!(pace.day(day("2026-01-31"), 0), day("2026-01-31"));
    assert_eq!(
        pace.odometer_on(51_200, day("2026-01-31"), day("2026-02-10")),
        51_600
    );
    // Two visits three days apart say nothing; nor does a vehicle that stood still.
    assert_eq!(
        of(&[
            summary("A", "2026-01-01", 50_000),
            summary("B", "2026-01-04", 50_900)
        ]),
        None
    );
    assert_eq!(
        of(&[
            summary("A", "2026-01-01", 50_000),
            summary("B", "2026-02-04", 50_000)
        ]),
        None
    );
    let mut wearing = summary("A", "2026-01-01", 50_000);
    wearing.thickness.push(pads(Some(5_000), None));
    wearing.earlier.push((
        "RL".parse().unwrap(),
        Item::PadsThickness,
        Distance::from_whole_km(30_000),
        um(8_000),
    ));
    let rows = rows(vec![wearing], "2026-01-02T00:00:00+00:00");
    assert_eq!(
        (rows[0].kind, rows[0].date, rows[0].overdue),
        (DueKind::Wear, None, false)
    );
    assert!(rows[0].km.is_some() && rows[0].basis.contains("no day can be said"));
}

#[test]
fn an_odometer_that_runs_back_or_too_fast_is_doubted_with_what_may_explain_it() {
    let doubt = |a: i64, b: i64| {
        let visits = [summary("A", "2026-01-01", a), summary("B", "2026-02-01", b)];
        let refs: Vec<&Summary> = visits.iter().collect();
        (
            history::doubts(&refs).pop().map(|d| d.words),
            history::pace(&refs).is_some(),
        )
    };
    assert_eq!(doubt(50_000, 51_000), (None, true));
    // 51 500 km are 32 001 miles: read in miles, it would have gone on.
    let (words, paced) = doubt(50_000, 32_001);
    assert!(
        words
            .as_deref()
            .unwrap()
            .contains("51501 km if it was read in miles"),
        "{words:?}"
    );
    assert!(!paced, "a doubted odometer gives no pace");
    let (words, _) = doubt(50_000, 10_000);
    assert!(
        words.as_deref().unwrap().ends_with("to 10000 km"),
        "{words:?}"
    );
    // 51 000 km taken for miles become 82 077 km … but a month allows 48 000 km.
    let (words, paced) = doubt(20_000, 82_077);
    assert!(
        words
            .as_deref()
            .unwrap()
            .contains("51000 km if km were taken for miles"),
        "{words:?}"
    );
    assert!(!paced);
}

#[test]
fn new_parts_begin_a_series_and_a_forecast_stands_beside_what_came() {
    let mut visits = [
        summary("A", "2026-01-01", 30_000),
        summary("B", "2026-04-01", 40_000),
        summary("C", "2026-07-01", 50_000),
        summary("D", "2026-10-01", 60_000),
    ];
    visits[0].thickness.push(pads(Some(9_000), None));
    visits[1].thickness.push(pads(Some(7_000), None));
    visits[2].thickness.push(pads(Some(5_100), Some(11_000)));
    visits[3].thickness.push(pads(Some(9_900), None));
    let refs: Vec<&Summary> = visits.iter().collect();
    let all = history::all_series(&refs);
    assert_eq!(all.len(), 2);
    assert!(all[0].replaced && all[0].points.len() == 3);
    assert_eq!(
        all[1]
            .points
            .iter()
            .map(|p| p.thickness)
            .collect::<Vec<_>>(),
        [um(11_000), um(9_900)]
    );
    // 9.0 and 7.0 over 10 000 km say 5.0 for the third visit; 5.1 was read (own arithmetic).
    let scored = &all[0].scored[0];
    assert!((scored.forecast_mm - 5.0).abs() < 1e-9 && (scored.read_mm - 5.1).abs() < 1e-9);
    let open = history::series(&refs);
    assert_eq!(open.len(), 1);
    let forecast = open[0].forecast.as_ref().unwrap();
    assert!((forecast.rate_mm_per_1000km - 0.11).abs() < 1e-9);
}

/// 9.0 mm at 30 000 km and 7.0 mm at 40 000 km wear 0.2 mm per 1000 km around 8.0 mm at 35 000 km; with
/// u = 0.08 mm and Sxx = 50 the bound to 2.0 mm is a root of a quadratic (own arithmetic).
#[test]
fn a_forecast_over_visits_is_as_sure_as_the_newest_visit_s_policy_asks() {
    let lower = |percent: i64| {
        let mut visits = [
            summary("A", "2026-01-01", 30_000),
            summary("B", "2026-04-01", 40_000),
        ];
        visits[0].thickness.push(pads(Some(9_000), None));
        visits[1].thickness.push(pads(Some(7_000), None));
        visits[1].forecast_confidence = Percent::from_thousandths(percent * 1_000);
        let series = history::series(&[&visits[0], &visits[1]]).remove(0);
        series.forecast.unwrap().distance_left_lower.km()
    };
    for (percent, z) in [(90, 1.281_552), (99, 2.326_348)] {
        let (wear, zu2) = (8.0 - 2.0, f64::powi(z * 0.08, 2));
        // (6 − 0.2 X)² = z²u²(1/2 + X²/50), X in 1000 km from 35 000 km: the smaller root.
        let (a, b, c) = (
            0.04 - zu2 / 50.0,
            -2.0 * 0.2 * wear,
            wear * wear - zu2 / 2.0,
        );
        let root = (-b - f64::sqrt(b * b - 4.0 * a * c)) / (2.0 * a);
        let expected = (root - 5.0) * 1e3 / 1.25;
        assert!(
            (lower(percent) - expected).abs() < 1.0,
            "{percent} %: {} {expected}",
            lower(percent)
        );
    }
}

#[test]
fn a_rate_that_doubled_is_named_and_noise_is_not() {
    let series = |last: i64| {
        let mut visits = [
            summary("A", "2026-01-01", 30_000),
            summary("B", "2026-04-01", 40_000),
            summary("C", "2026-07-01", 50_000),
        ];
        for (visit, thickness) in visits.iter_mut().zip([9_000, 8_000, last]) {
            visit.thickness.push(pads(Some(thickness), None));
        }
        history::all_series(&visits.iter().collect::<Vec<_>>()).remove(0)
    };
    let doubled = series(5_500).doubled.unwrap();
    assert!((doubled.before - 0.1).abs() < 1e-9 && (doubled.now - 0.25).abs() < 1e-9);
    assert_eq!(series(6_900).doubled, None, "1.1 mm is not twice 1.0 mm");
}

/// Two tilts of 0.06 mm, at 0° and at 90°, differ by 0.06·√2 = 0.084853 mm at 135° (own arithmetic).
#[test]
fn run_out_of_two_visits_is_overlaid_as_vectors() {
    let ring = |phase, clocking, at| Ring {
        corner: "FR".parse().unwrap(),
        phase,
        clocking,
        peak_to_peak_mm: 0.06,
        high_spot_deg: at,
        u_mm: 0.002,
    };
    let mut before = summary("A", "2026-01-01", 30_000);
    before.rings = vec![ring(Phase::AsFound, 0, 200.0), ring(Phase::AsLeft, 3, 0.0)];
    let mut after = summary("B", "2026-04-01", 31_000);
    after.rings = vec![ring(Phase::AsFound, 3, 90.0)];
    let moved = history::moved(&before, &after).remove(0);
    assert!((moved.change_mm - 0.084_853).abs() < 1e-6 && (moved.change_deg - 135.0).abs() < 0.01);
    assert!(
        moved.words.contains("same disc at the same clocking"),
        "{}",
        moved.words
    );
    before.fitted.push(("front".parse().unwrap(), Part::Disc));
    assert!(
        history::moved(&before, &after)[0]
            .words
            .contains("fitted at the visit before")
    );
    after.rings = vec![ring(Phase::AsFound, 1, 90.0)];
    assert!(
        history::moved(&before, &after)[0]
            .words
            .contains("clocking 1 instead of 3")
    );
    after.rings = vec![ring(Phase::AsFound, 1, 2.0)];
    assert!(
        history::moved(&before, &after)[0]
            .words
            .contains("nothing moved")
    );
}

#[test]
fn a_comeback_is_the_same_trouble_within_the_distance() {
    let mut before = summary("A", "2026-01-01", 30_000);
    before.symptoms.push(Symptom::Judder);
    before
        .found
        .insert("FR disc.runout".into(), ItemVerdict::Fail);
    before.left.insert("FR disc.runout", ItemVerdict::Pass);
    let mut after = summary("B", "2026-02-01", 31_500);
    after.symptoms.push(Symptom::Judder);
    after
        .found
        .insert("FR disc.runout".into(), ItemVerdict::Advise);
    after.found.insert("RL hose".into(), ItemVerdict::Advise);
    let within = |km| history::comebacks(&[&before, &after], Distance::from_whole_km(km));
    assert_eq!(within(1_499), []);
    assert_eq!(
        within(1_500)[0].what,
        ["complaint: judder", "FR disc.runout"]
    );
}

#[test]
fn a_line_that_was_left_stays_due_until_a_later_visit_finds_it_good() {
    let mut before = summary("A", "2026-01-01", 30_000);
    before.declined.push(left_line(true));
    let now = "2028-01-01T00:00:00+00:00";
    let of = |after: Option<Summary>| {
        let visits = [Some(before.clone()), after]
            .into_iter()
            .flatten()
            .collect();
        rows(visits, now)
            .into_iter()
            .filter(|r| r.kind == DueKind::Declined)
            .count()
    };
    assert_eq!(of(None), 1);
    let mut after = summary("B", "2026-06-01", 36_000);
    assert_eq!(of(Some(after.clone())), 1, "not looked at again");
    after
        .left
        .insert("vehicle fluid.boiling", ItemVerdict::Advise);
    assert_eq!(of(Some(after.clone())), 1, "looked at, and still not good");
    after
        .left
        .insert("vehicle fluid.boiling", ItemVerdict::Pass);
    assert_eq!(of(Some(after)), 0);
}

#[test]
fn the_list_is_ranked_by_the_lower_bound_whatever_order_the_jobs_come_in() {
    let mut visits = Vec::new();
    for (n, last) in [3_000i64, 6_000, 4_500].into_iter().enumerate() {
        let mut visit = summary(&format!("J{n}"), "2026-01-01", 50_000);
        visit.vin = format!("VIN{n}");
        visit.first_used = Some("2024-01-01".parse().unwrap());
        visit.earlier.push((
            "RL".parse().unwrap(),
            Item::PadsThickness,
            Distance::from_whole_km(30_000),
            um(8_000),
        ));
        visit.thickness.push(pads(Some(last), None));
        visits.push(visit);
    }
    let forward = rows(visits.clone(), "2026-01-02T00:00:00+00:00");
    visits.reverse();
    assert_eq!(rows(visits, "2026-01-02T00:00:00+00:00"), forward);
    let subjects: Vec<&str> = forward.iter().map(|r| r.subject.as_str()).collect();
    assert_eq!(subjects, ["J0", "J2", "J1"]);
}
