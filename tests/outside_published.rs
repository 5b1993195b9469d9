//! Published examples and tables come out.
//!
//! The source and its status stand beside each check: *read* in a copy of the source's own text,
//! *secondary* in a source that quotes it, *from memory*, or *computed* by independent arithmetic.

#![allow(clippy::unwrap_used, clippy::float_cmp)]

mod outside;

use brakecorner::measure::conformity::{Bound, Proof, conformity};
use brakecorner::measure::describe::summary;
use brakecorner::measure::disc::dtv_floor;
use brakecorner::measure::fluid::Grade;
use brakecorner::measure::regression::{Line, Point, Spread};
use brakecorner::measure::runout::{RunoutRing, runout};
use brakecorner::measure::special::{
    normal_quantile, range_mean, range_quantile, student_t_quantile,
};
use brakecorner::measure::uncertainty::{Budget, Contribution, Distribution, Gauge};
use brakecorner::measure::vin;
use brakecorner::units::{
    Distance, DistanceUnit, Force, ForceUnit, Length, LengthUnit, STANDARD_GRAVITY, Torque,
};
use outside::{Random, columns, gauge, mm, prints_as, same_digits, um};
use rustfft::{FftPlanner, num_complex::Complex};

fn line(points: &[[f64; 2]]) -> Line {
    let points: Vec<Point> = points
        .iter()
        .map(|&[x, y]| Point { x, y, u: 1.0 })
        .collect();
    Line::through(&points).unwrap()
}

#[test]
fn norris_agrees_with_its_certified_values() {
    // Source: NIST StRD, linear regression, Norris (read; recomputed exactly).
    let rows = columns::<2>(include_str!("data/norris.csv"));
    let fit = line(&rows.iter().map(|&[y, x]| [x, y]).collect::<Vec<_>>());
    assert_eq!(fit.points, 36);
    let s = Spread::Residual;
    for (what, got, certified) in [
        ("b0", fit.at(0.0), -0.262_323_073_774_029),
        ("b1", fit.slope, 1.002_116_818_020_45),
        ("sd of b0", fit.u_at(0.0, s), 0.232_818_234_301_152),
        ("sd of b1", fit.u_slope(s), 0.429_796_848_199_937e-3),
        (
            "residual sd",
            fit.residual_sd().unwrap(),
            0.884_796_396_144_373,
        ),
        (
            "residual squares",
            fit.residual_squares,
            26.617_398_529_422_36,
        ),
    ] {
        same_digits(what, got, certified, 11);
    }
    let explained = fit.slope * fit.slope * fit.sxx;
    let f = explained / (fit.residual_squares / 34.0);
    same_digits("F", f, 5_436_385.540_797_845, 11);
    let r2 = explained / (explained + fit.residual_squares);
    same_digits("R²", r2, 0.999_993_745_883_711_7, 14);
}

#[test]
fn the_univariate_sets_agree_with_their_certified_values() {
    // Source: NIST StRD, univariate (read; recomputed to every certified digit).
    for (name, text, mean, sd, lag1) in [
        (
            "Michelso",
            include_str!("data/nist_michelso_values.csv"),
            299.852_4,
            0.079_010_547_819_051_8,
            0.535_199_668_621_283,
        ),
        (
            "Lottery",
            include_str!("data/nist_lottery_values.csv"),
            518.958_715_596_330,
            291.699_727_470_969,
            -0.120_948_622_967_393,
        ),
        (
            "Lew",
            include_str!("data/nist_lew_values.csv"),
            -177.435,
            277.332_168_044_316,
            -0.307_304_800_605_679,
        ),
        (
            "Mavro",
            include_str!("data/nist_mavro_values.csv"),
            2.001_856,
            0.000_429_123_454_003_053,
            0.937_989_183_438_248,
        ),
        (
            "PiDigits",
            include_str!("data/nist_pidigits_values.csv"),
            4.534_8,
            2.867_339_060_288_71,
            -0.003_550_992_872_379_72,
        ),
    ] {
        let values: Vec<f64> = text.lines().map(|l| l.parse().unwrap()).collect();
        let s = summary(&values).unwrap();
        same_digits(name, s.mean, mean, 14);
        same_digits(name, s.sd, sd, 10);
        same_digits(name, s.lag1.unwrap(), lag1, 10);
    }
}

#[test]
fn the_numerically_hard_univariate_sets_keep_what_binary64_can() {
    // Source: NIST StRD, NumAcc1 to NumAcc4 (read). The data of 3 and 4 cannot be represented better.
    let acc = |m: f64| {
        let mut values = vec![m];
        for _ in 0..500 {
            values.extend([m - 0.1, m + 0.1]);
        }
        values
    };
    let one = summary(&[10_000_001.0, 10_000_003.0, 10_000_002.0]).unwrap();
    assert_eq!(
        (one.mean, one.sd, one.lag1),
        (10_000_002.0, 1.0, Some(-0.5))
    );
    for (m, digits) in [(1.2, 13), (1_000_000.2, 9), (10_000_000.2, 8)] {
        let s = summary(&acc(m)).unwrap();
        same_digits("mean", s.mean, m, 15);
        same_digits("sd", s.sd, 0.1, digits);
        same_digits("lag 1", s.lag1.unwrap(), -0.999, digits);
    }
}

#[test]
fn the_thermometer_calibration_line_comes_out() {
    // Source: JCGM 100:2008 H.3 (data read, printed results read and reproduced to more digits).
    let rows = columns::<3>(include_str!("data/gum_h3.csv"));
    let fit = line(&rows.iter().map(|&[_, t, b]| [t, b]).collect::<Vec<_>>());
    let s = Spread::Residual;
    for (what, got, more, printed, decimals) in [
        ("y1", fit.at(20.0), -0.171_203_79, -0.1712, 4),
        ("u(y1)", fit.u_at(20.0, s), 0.002_877_60, 0.0029, 4),
        ("y2", fit.slope, 0.002_182_697_74, 0.002_18, 5),
        ("u(y2)", fit.u_slope(s), 0.000_667_938_773, 0.000_67, 5),
        ("r", fit.correlation_at(20.0), -0.930_429_603, -0.930, 3),
        ("s", fit.residual_sd().unwrap(), 0.003_497_563_96, 0.0035, 4),
        ("b(30 °C)", fit.at(30.0), -0.149_376_813, -0.1494, 4),
        ("u(b)", fit.u_at(30.0, s), 0.004_138_595_75, 0.0041, 4),
    ] {
        prints_as(what, got, printed, decimals);
        same_digits(what, got, more, 6);
    }
}

#[test]
fn the_inverse_prediction_behind_distance_left_comes_out() {
    // Source: Eurachem/CITAC QUAM 3rd ed. A5 (read and reproduced). Calibration with 5 levels × 3,
    // then x from the mean of two new responses 0.0712 and 0.0716.
    let rows = columns::<2>(include_str!("data/quam_a5.csv"));
    let fit = line(&rows);
    let s = Spread::Residual;
    prints_as("intercept", fit.at(0.0), 0.0087, 4);
    prints_as("u(intercept)", fit.u_at(0.0, s), 0.0029, 4);
    prints_as("slope", fit.slope, 0.2410, 4);
    prints_as("u(slope)", fit.u_slope(s), 0.0050, 4);
    prints_as("r", fit.correlation_at(0.0), -0.870, 3);
    assert_eq!(fit.degrees_of_freedom(), 13);
    let (x, u) = fit.inverse(0.5 * (0.0712 + 0.0716), 2, s);
    same_digits("x", x, 0.260_166, 6);
    same_digits("u(x)", u, 0.017_844_61, 6);
    prints_as("x", x, 0.260, 3);
    prints_as("u(x)", u, 0.018, 3);
}

#[test]
fn the_end_gauge_budget_comes_out() {
    // Source: JCGM 100:2008 H.1 (read and reproduced): 25, 9.7, 2.9 and 16.6 nm with 18, 25.6, 50
    // and 2 degrees of freedom.
    let nm = |u, dof| Contribution::new("", u, Distribution::Normal, 1.0, Some(dof));
    let budget = Budget {
        contributions: vec![nm(25.0, 18.0), nm(9.7, 25.6), nm(2.9, 50.0), nm(16.6, 2.0)],
    };
    prints_as("u_c", budget.combined_mm(), 32.0, 0);
    let dof = budget.effective_dof().unwrap();
    assert!((dof - 16.7).abs() < 0.1, "{dof}");
    let k = budget.coverage_factor(0.99);
    prints_as("t99(16)", k, 2.92, 2);
    assert!((k * budget.combined_mm() - 93.0).abs() < 1.0);
}

#[test]
fn twenty_repeated_readings_come_out() {
    // Source: JCGM 100:2008 4.4.3 (secondary, reproduced).
    let s = summary(&[
        96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07, 100.33, 100.42,
        100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72,
    ])
    .unwrap();
    prints_as("mean", s.mean, 100.145, 3);
    prints_as("s", s.sd, 1.489, 3);
    prints_as("s/√20", s.u_mean, 0.333, 3);
}

#[test]
fn student_s_t_agrees_with_the_table() {
    // Source: JCGM 100:2008 Table G.2 (computed; sample rows agree with the printed, secondary).
    let levels = [0.682_7, 0.90, 0.95, 0.954_5, 0.99, 0.997_3];
    let rows = columns::<7>(include_str!("data/gum_table_g2.csv"));
    assert_eq!(rows.len(), 28);
    for [dof, printed @ ..] in rows {
        for (level, t) in levels.into_iter().zip(printed) {
            let got = student_t_quantile(0.5 + level / 2.0, dof);
            prints_as(&format!("t{level}({dof})"), got, t, 2);
        }
    }
}

#[test]
fn one_sided_factors_agree_with_the_table() {
    // Source: JCGM 106:2012 7.3 Table 1 (secondary, computed).
    for (p, z) in [
        (0.80, 0.84),
        (0.90, 1.28),
        (0.95, 1.64),
        (0.99, 2.33),
        (0.999, 3.09),
    ] {
        prints_as(&format!("z({p})"), normal_quantile(p), z, 2);
    }
}

#[test]
fn ranges_of_normal_readings_agree_with_the_tables() {
    // Source: studentized-range and control-chart tables (computed).
    for (n, q95, d2) in [
        (4, 3.63, 2.059),
        (8, 4.29, 2.847),
        (10, 4.47, 3.078),
        (12, 4.62, 3.258),
    ] {
        prints_as(&format!("q95({n})"), range_quantile(0.95, n), q95, 2);
        prints_as(&format!("d2({n})"), range_mean(n), d2, 3);
    }
}

#[test]
fn the_worked_noise_floors_come_out() {
    // By hand: s = 3 µm gives 12.9 and 13.4 µm with 8 and 10 points, s = 1 µm 4.3 and 4.5.
    for (s, n, floor) in [(3, 8, 12.9), (3, 10, 13.4), (1, 8, 4.3), (1, 10, 4.5)] {
        let ideal = Gauge {
            repeatability: um(s),
            resolution: Length::ZERO,
            ..gauge()
        };
        prints_as("floor", dtv_floor(&ideal, n, 1).unwrap().um(), floor, 1);
    }
}

#[test]
fn the_worked_guard_band_comes_out() {
    // By hand: a = 4, d = 1, s = 3, zero 2 µm: u = 4.29 µm; 22.004 against 22.000 is 0.824.
    let part = |v: f64, d| Contribution::new("", v, d, 1.0, None);
    let budget = Budget {
        contributions: vec![
            part(0.004, Distribution::Rectangular),
            part(0.001, Distribution::Resolution),
            part(0.003, Distribution::Normal),
            part(0.002, Distribution::Normal),
        ],
    };
    prints_as("u", budget.combined().um(), 4.29, 2);
    let limit = Bound::AtLeast(um(22_000));
    let c = conformity(um(22_004), budget.combined(), limit);
    prints_as("p", c.probability, 0.824, 3);
    assert_eq!(c.proof, Proof::NotProven);
    assert_eq!(
        conformity(um(22_008), budget.combined(), limit).proof,
        Proof::ProvenIn
    );
    assert_eq!(
        conformity(um(21_992), budget.combined(), limit).proof,
        Proof::ProvenOut
    );
}

#[test]
fn fluid_grades_agree_with_the_standard() {
    // Source: 49 CFR 571.116 S5.1 (secondary).
    for (grade, dry, wet) in [
        ("DOT 3", 205.0, 140.0),
        ("DOT 4", 230.0, 155.0),
        ("DOT 5", 260.0, 180.0),
        ("DOT 5.1", 260.0, 180.0),
    ] {
        let g: Grade = grade.parse().unwrap();
        assert_eq!(
            (g.dry_min().celsius(), g.wet_min().celsius()),
            (dry, wet),
            "{grade}"
        );
    }
}

#[test]
fn unit_factors_are_the_defined_ones() {
    // Source: NIST SP 811 App. B (read through unit tables), exact by definition.
    assert_eq!(
        Length::parse("1 in", LengthUnit::Millimetre).unwrap().nm(),
        25_400_000
    );
    assert_eq!(
        Distance::parse("1 mi", DistanceUnit::Kilometre)
            .unwrap()
            .mm(),
        1_609_344
    );
    assert_eq!(
        Force::parse("1000 lbf", ForceUnit::Newton).unwrap().mn(),
        4_448_222
    );
    assert_eq!(
        Force::parse("1000 kgf", ForceUnit::Newton).unwrap().mn(),
        9_806_650
    );
    assert_eq!(Torque::parse("1000 lbf·ft").unwrap().mnm(), 1_355_818);
    assert_eq!(Torque::parse("1000 lbf·in").unwrap().mnm(), 112_985);
    assert_eq!(Torque::parse("100 kgf·m").unwrap().mnm(), 980_665);
    assert_eq!(STANDARD_GRAVITY, 9.806_65);
}

#[test]
fn check_digits_of_the_published_and_synthetic_numbers_come_out() {
    // Source: 49 CFR 565.15(c) and public worked examples, as the file's columns say.
    let mut seen = 0;
    for row in include_str!("data/vin_examples.csv").lines().skip(1) {
        let mut fields = row.split(',');
        let mut next = || fields.next().unwrap();
        let (number, sum, digit) = (next(), next(), (next(), next()).1);
        let valid = next() == "valid";
        let check = vin::check(number).unwrap();
        assert_eq!(check.weighted_sum.to_string(), sum, "{number}");
        assert_eq!(check.expected.to_string(), digit, "{number}");
        assert_eq!(check.holds(), valid, "{number}");
        seen += 1;
    }
    assert_eq!(seen, 18);
    for wrong in [
        "",
        "ZZ9TEST10AT00000",
        "ZZ9TEST10AT0000090",
        "ZZ9TEST1OAT000009",
        "ÄZ9TEST10AT000009",
    ] {
        assert!(vin::check(wrong).is_err(), "{wrong}");
    }
}

#[test]
fn the_run_out_fit_agrees_with_an_independent_fourier_transform() {
    let mut random = Random::new(1);
    let mut planner = FftPlanner::<f64>::new();
    for case in 0..2_000 {
        let n = 5 + usize::try_from(random.below(60)).unwrap();
        let points: Vec<Length> = (0..n).map(|_| mm(random.normal(0.0, 0.05))).collect();
        let ring = RunoutRing {
            points: points.clone(),
            ..RunoutRing::default()
        };
        let fit = runout(&ring, &gauge()).unwrap().fit.unwrap();
        let mut bins: Vec<Complex<f64>> =
            points.iter().map(|p| Complex::new(p.mm(), 0.0)).collect();
        planner.plan_fft_forward(n).process(&mut bins);
        // X₁ = Σ r e^{−iθ}: amplitude 2|X₁|/n, high spot −arg X₁.
        let amplitude = |k: usize| 4.0 * bins[k].norm() / n as f64;
        assert!(
            (fit.peak_to_peak.mm() - amplitude(1)).abs() < 0.51e-6,
            "case {case}, n = {n}"
        );
        assert!(
            (fit.order2.unwrap().mm() - amplitude(2)).abs() < 0.51e-6,
            "case {case}, n = {n}"
        );
        let high = (-bins[1].arg()).to_degrees().rem_euclid(360.0);
        let off = (fit.high_spot.degrees() - high + 180.0).rem_euclid(360.0) - 180.0;
        assert!(off.abs() < 0.005_1, "case {case}, n = {n}: {off}");
    }
}
