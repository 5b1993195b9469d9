//! Properties that hold for any input: invariances, monotonicity, and no panic or NaN ever.

use proptest::collection::vec;
use proptest::prelude::*;

use super::clocking::{ClockedRing, clocking};
use super::conformity::{Bound, Proof, conformity, conformity_of};
use super::disc::{ThicknessConditions, thickness, wear_used};
use super::pad::{PadReadings, pads};
use super::runout::{RunoutRing, runout};
use super::shim::{Face, ShimSetup, shim};
use super::uncertainty::Gauge;
use super::wear::{NoForecast, Visit, forecast, forecast_one_visit};
use super::{
    bearing, describe, dial, drum, faces, hub, pad, pedal, regression, risk, rollers, slips,
    special, study, torque, vin,
};
use crate::units::{Angle, Distance, Force, Length, LengthUnit, Temperature, Torque};

fn um(v: i64) -> Length {
    Length::from_nm(v * 1000)
}

fn gauge() -> Gauge {
    Gauge {
        mpe: um(4),
        resolution: um(1),
        repeatability: um(1),
        zero_check: um(1),
        repeatability_dof: Some(9),
    }
}

/// Points of a believable ring, in nm.
fn ring_nm() -> impl Strategy<Value = Vec<i64>> {
    vec(-200_000i64..200_000, 5..24)
}

fn as_ring(nm: &[i64]) -> RunoutRing {
    let points = nm.iter().map(|&v| Length::from_nm(v)).collect();
    RunoutRing {
        points,
        ..RunoutRing::default()
    }
}

fn near(a: Length, b: Length) -> bool {
    (a - b).abs() <= Length::from_nm(2)
}

fn rank(proof: Proof) -> u8 {
    match proof {
        Proof::ProvenOut => 0,
        Proof::NotProven => 1,
        _ => 2,
    }
}

proptest! {
    #[test]
    fn rotating_a_ring_rotates_only_its_angle(nm in ring_nm(), by in 0usize..24, up in -500_000i64..500_000) {
        let n = nm.len();
        let by = by % n;
        // The rotated ring starts `by` points later, and the dial was zeroed elsewhere.
        let turned: Vec<i64> = (0..n).map(|i| nm[(i + by) % n] + up).collect();
        let (a, b) = (runout(&as_ring(&nm), &gauge()).unwrap(), runout(&as_ring(&turned), &gauge()).unwrap());
        prop_assert_eq!(a.tir, b.tir);
        let (a, b) = (a.fit.unwrap(), b.fit.unwrap());
        prop_assert!(near(a.peak_to_peak, b.peak_to_peak) && near(a.residual, b.residual));
        prop_assert!(near(a.order2.unwrap(), b.order2.unwrap()));
        // Where the tilt is clear, its direction moves by exactly the rotation.
        if a.peak_to_peak > um(20) {
            let moved = a.high_spot.degrees() - 360.0 * by as f64 / n as f64 - b.high_spot.degrees();
            let off = (moved + 180.0).rem_euclid(360.0) - 180.0;
            prop_assert!(off.abs() < 0.03, "{off}");
        }
    }

    #[test]
    fn the_judged_run_out_is_never_below_what_the_points_show(nm in ring_nm(), swept in 0i64..500_000) {
        let ring = RunoutRing { swept: Some(Length::from_nm(swept)), ..as_ring(&nm) };
        let r = runout(&ring, &gauge()).unwrap();
        prop_assert!(r.judged >= r.tir.unwrap());
        prop_assert_eq!(r.swept_below_points, Length::from_nm(swept) < r.tir.unwrap());
        let without = runout(&as_ring(&nm), &gauge()).unwrap();
        prop_assert!(without.judged >= without.tir.unwrap());
        prop_assert!(without.judged >= without.fit.unwrap().peak_to_peak);
    }

    #[test]
    fn angles_written_out_change_nothing(nm in vec(-200_000i64..200_000, 8), turns in -3i64..3) {
        let angles = (0..8).map(|i| Angle::from_centidegrees(4_500 * i + 36_000 * turns)).collect();
        let written = RunoutRing { angles: Some(angles), ..as_ring(&nm) };
        let (a, b) = (runout(&as_ring(&nm), &gauge()).unwrap().fit.unwrap(), runout(&written, &gauge()).unwrap().fit.unwrap());
        prop_assert!(near(a.peak_to_peak, b.peak_to_peak));
        prop_assert!(near(a.u_peak_to_peak, b.u_peak_to_peak));
    }

    #[test]
    fn a_stylus_out_of_square_only_shrinks_the_ring(nm in ring_nm(), angle in -60i64..=60) {
        let tilted = RunoutRing { stylus_angle: Angle::from_degrees(angle as f64), ..as_ring(&nm) };
        let (a, b) = (runout(&as_ring(&nm), &gauge()).unwrap(), runout(&tilted, &gauge()).unwrap());
        let expected = a.tir.unwrap().mm() * libm::cos((angle as f64).to_radians());
        prop_assert!((b.tir.unwrap().mm() - expected).abs() < 3e-6);
    }

    #[test]
    fn another_stud_as_stud_one_turns_the_hub_and_leaves_the_advice(
        hub in (5_000f64..50_000.0, 0f64..360.0), disc in (8_000f64..50_000.0, 0f64..360.0),
        holes in 3u8..=10, shift in 0u8..10,
    ) {
        let shift = shift % holes;
        let beta = 360.0 / f64::from(holes);
        let ring = |k: u8, start: u8| {
            let points = (0..2 * u32::from(holes)).map(|i| {
                let at = beta / 2.0 * f64::from(i) + beta * f64::from(start);
                let c = |a: f64| libm::cos(a.to_radians());
                let nm = hub.0 * c(at - hub.1) + disc.0 * c(at - disc.1 - beta * f64::from(k));
                Length::from_mm(nm / 1e6).unwrap()
            }).collect();
            ClockedRing { clocking: k, ring: RunoutRing { points, ..RunoutRing::default() } }
        };
        let second = holes / 2;
        let first = clocking(holes, &[ring(0, 0), ring(second, 0)], None, &gauge()).unwrap();
        let other = clocking(holes, &[ring(0, shift), ring(second, shift)], None, &gauge()).unwrap();
        for (a, b) in first.clockings.iter().zip(&other.clockings) {
            prop_assert!((a.tir.unwrap() - b.tir.unwrap()).abs() <= Length::from_nm(10));
        }
        let moved = first.hub.unwrap().high_spot.degrees() - beta * f64::from(shift)
            - other.hub.unwrap().high_spot.degrees();
        let off = (moved + 180.0).rem_euclid(360.0) - 180.0;
        prop_assert!(off.abs() < 0.05, "{off}");
    }

    #[test]
    fn a_thinner_reading_never_improves_anything(
        base in 21_000_000i64..24_000_000, spread in vec(0i64..100_000, 2..16),
        which in 0usize..16, less in 1i64..200_000,
    ) {
        let points: Vec<Vec<Length>> = spread.iter().map(|s| vec![Length::from_nm(base + s)]).collect();
        let mut worse = points.clone();
        let which = which % worse.len();
        worse[which] = vec![worse[which][0] - Length::from_nm(less)];
        let none = ThicknessConditions::default();
        let (a, b) = (thickness(&points, &none, &gauge()).unwrap(), thickness(&worse, &none, &gauge()).unwrap());
        prop_assert!(b.t_min <= a.t_min);
        let (limit, new) = (um(22_000), um(25_000));
        let (wa, wb) = (wear_used(new, limit, a.t_min).unwrap(), wear_used(new, limit, b.t_min).unwrap());
        prop_assert!(wb.wear_fraction >= wa.wear_fraction && wb.left <= wa.left);
        let bound = Bound::AtLeast(limit);
        let (ca, cb) = (conformity(a.t_min, a.u, bound), conformity(b.t_min, b.u, bound));
        // u changes with the thickness by less than its last digit here.
        prop_assert!(cb.probability <= ca.probability + 1e-5);
        prop_assert!(cb.beyond || !ca.beyond);
    }

    #[test]
    fn a_worse_extra_reading_never_improves_a_pad_a_drum_or_a_bearing(
        readings in vec(2_000_000i64..9_900_000, 1..6), extra in 2_000_000i64..9_900_000,
    ) {
        let lengths = |v: &[i64]| v.iter().map(|&x| Length::from_nm(x)).collect::<Vec<_>>();
        let few = lengths(&readings);
        let mut more = few.clone();
        more.push(Length::from_nm(extra));
        let worn = |inner: &Vec<Length>| pads(&PadReadings { inner: inner.clone(), outer: few.clone() }, &gauge()).unwrap();
        prop_assert!(worn(&more).min <= worn(&few).min);
        prop_assert!(bearing::float(&more, &gauge()).unwrap().float >= bearing::float(&few, &gauge()).unwrap().float);
        if few.len() > 1 {
            let d = |open: &[Length]| drum::drum(open, &[], &gauge()).unwrap();
            prop_assert!(d(&more).max >= d(&few).max && d(&more).ovality >= d(&few).ovality);
        }
    }

    #[test]
    fn conformity_rises_with_the_margin_and_proof_follows(
        margin in -50_000i64..50_000, more in 0i64..50_000, u in 0i64..20_000,
    ) {
        let limit = um(22_000);
        let at = |m: i64| conformity(limit + Length::from_nm(m), Length::from_nm(u), Bound::AtLeast(limit));
        let (a, b) = (at(margin), at(margin + more));
        prop_assert!(b.probability >= a.probability && rank(b.proof) >= rank(a.proof));
        // Upper limits are the mirror image.
        let mirrored = conformity(limit - Length::from_nm(margin), Length::from_nm(u), Bound::AtMost(limit));
        prop_assert_eq!((mirrored.probability, mirrored.proof, mirrored.beyond), (a.probability, a.proof, a.beyond));
        prop_assert_eq!(a.beyond, margin < 0);
    }

    #[test]
    fn inches_and_millimetres_give_the_same_disc(tenths in vec(7_600i64..7_700, 4..12)) {
        let inch: Vec<_> = tenths.iter()
            .map(|t| vec![Length::parse(&format!("0.{t}"), LengthUnit::Inch).unwrap()]).collect();
        let metric: Vec<_> = tenths.iter()
            .map(|t| vec![Length::parse(&format!("{}.{:05}", t * 254 / 100_000, t * 254 % 100_000), LengthUnit::Millimetre).unwrap()])
            .collect();
        let none = ThicknessConditions::default();
        prop_assert_eq!(thickness(&inch, &none, &gauge()).unwrap(), thickness(&metric, &none, &gauge()).unwrap());
    }

    #[test]
    fn more_readings_a_point_never_widen_the_uncertainty(m in 1usize..10) {
        let ring = |m: usize| vec![vec![um(22_000); m]; 8];
        let none = ThicknessConditions::default();
        let t = |m| thickness(&ring(m), &none, &gauge()).unwrap();
        prop_assert!(t(m + 1).u <= t(m).u && t(m + 1).u_dtv <= t(m).u_dtv && t(m + 1).dtv_floor <= t(m).dtv_floor);
    }

    #[test]
    fn visits_out_of_order_are_refused_and_never_silently_sorted(
        steps in vec((1_000i64..20_000, 300_000i64..900_000), 2..6), swap in 0usize..6,
    ) {
        let (mut km, mut nm) = (10_000, 12_000_000);
        let mut visits: Vec<Visit> = steps.iter().map(|&(dx, dt)| {
            km += dx;
            nm -= dt;
            Visit { odometer: Distance::from_whole_km(km), thickness: Length::from_nm(nm), u: None, new_parts: false }
        }).collect();
        let (limit, u) = (um(2_000), um(50));
        let ordered = forecast(&visits, limit, u).unwrap();
        prop_assert!(ordered.distance_left_lower <= ordered.distance_left);
        // A visit of the parts before these changes nothing.
        let mut with_history = vec![Visit { thickness: um(3_000), ..visits[0].clone() }];
        visits[0].new_parts = true;
        with_history.extend(visits.clone());
        prop_assert_eq!(&forecast(&with_history, limit, u).unwrap(), &ordered);
        visits[0].new_parts = false;
        let i = swap % (visits.len() - 1);
        visits.swap(i, i + 1);
        let refused = forecast(&visits, limit, u).unwrap_err();
        let back = |r: &NoForecast| matches!(r, NoForecast::OdometerBack { .. });
        let named = match &refused {
            NoForecast::Several(all) => all.iter().any(back),
            one => back(one),
        };
        prop_assert!(named, "{refused}");
    }

    #[test]
    fn a_thinner_last_visit_never_lengthens_the_distance_left(
        wear in 500_000i64..3_000_000, less in 0i64..500_000, km in 5_000i64..40_000,
    ) {
        let visit = |km, nm| Visit { odometer: Distance::from_whole_km(km), thickness: Length::from_nm(nm), u: None, new_parts: false };
        let f = |worn: i64| forecast(&[visit(10_000, 10_000_000), visit(10_000 + km, 10_000_000 - worn)], um(2_000), um(80)).unwrap();
        let (a, b) = (f(wear), f(wear + less));
        prop_assert!(b.distance_left <= a.distance_left && b.distance_left_lower <= a.distance_left_lower);
    }
}

/// Any float a person or a file could bring, the odd ones often.
fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![
        any::<f64>(),
        Just(f64::NAN),
        Just(f64::INFINITY),
        Just(f64::NEG_INFINITY),
        Just(0.0),
        Just(f64::MAX),
        Just(f64::MIN_POSITIVE),
        -10.0..10.0f64,
    ]
}

/// Any length at all, the odd ones often.
fn any_length() -> impl Strategy<Value = Length> {
    prop_oneof![
        any::<i64>(),
        Just(i64::MIN),
        Just(i64::MAX),
        Just(0i64),
        -30_000_000i64..30_000_000,
    ]
    .prop_map(Length::from_nm)
}

/// Asserts that every number in a result is finite: a NaN or infinity serialises as `null`, and so
/// do absent options, which are told apart by the debug text.
fn no_nan<T: std::fmt::Debug, E>(result: Result<T, E>) {
    if let Ok(value) = result {
        let text = format!("{value:?}");
        assert!(!text.contains("NaN") && !text.contains("inf"), "{text}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn no_length_makes_a_model_panic_or_answer_nan(
        a in vec(any_length(), 0..12), b in vec(any_length(), 0..12),
        one in any_length(), two in any_length(), three in any_length(),
        g in (any_length(), any_length(), any_length(), any_length(), any::<Option<u32>>()),
        alpha in any_number(), t in any::<Option<i64>>(), count in any::<u8>(), k in vec(any::<u8>(), 0..5),
        angles in proptest::option::of(vec(any::<i64>(), 0..12)),
    ) {
        let g = Gauge { mpe: g.0, resolution: g.1, repeatability: g.2, zero_check: g.3, repeatability_dof: g.4 };
        for gauge in [&g, &gauge()] {
            let conditions = ThicknessConditions {
                zero_error: one,
                disc_temperature: t.map(Temperature::from_millidegrees),
                gauge_temperature: t.map(|t| Temperature::from_millidegrees(t / 2)),
                expansion_per_k: alpha,
                ..ThicknessConditions::default()
            };
            let points: Vec<Vec<Length>> = a.chunks(2).map(<[Length]>::to_vec).collect();
            no_nan(thickness(&points, &conditions, gauge));
            no_nan(thickness(&points, &ThicknessConditions::default(), gauge));
            let ring = RunoutRing {
                points: a.clone(),
                angles: angles.as_ref().map(|v| v.iter().map(|&c| Angle::from_centidegrees(c)).collect()),
                closing: Some(one),
                swept: b.first().copied(),
                stylus_angle: t.map(Angle::from_centidegrees),
                fasteners: Some(count),
            };
            no_nan(runout(&ring, gauge));
            no_nan(runout(&RunoutRing { angles: None, stylus_angle: None, ..ring.clone() }, gauge));
            no_nan(hub::hub_face(&ring, gauge, one, two));
            let rings: Vec<ClockedRing> = k.iter().map(|&c| ClockedRing { clocking: c % 12, ring: as_ring(&a.iter().map(|l| l.nm()).collect::<Vec<_>>()) }).collect();
            no_nan(clocking(count % 12, &rings, Some(&k), gauge));
            no_nan(clocking(count % 12, &rings, None, gauge));
            let setup = ShimSetup { holes: count % 12, measured_diameter: one, plate_diameter: two, sizes: b.clone(), face: Face::Inboard };
            no_nan(shim(&as_ring(&[1, 5, 9, 3, 7]), &setup, gauge));
            no_nan(pads(&PadReadings { inner: a.clone(), outer: b.clone() }, gauge));
            no_nan(pad::lining(&a, gauge));
            no_nan(drum::drum(&a, &b, gauge));
            no_nan(bearing::float(&a, gauge));
            no_nan(faces::two_indicators(&a, &b, gauge, &g));
        }
        no_nan(wear_used(one, two, three));
        no_nan(faces::lips(&a, &b, one, two));
        no_nan(faces::skim(one, two, three, one));
        no_nan(dial::unwrap(&a, two));
        no_nan(pedal::travel(one, two, Some(three)));
        no_nan(torque::crowfoot(Torque::from_mnm(one.nm()), two, three));
        no_nan(torque::plan(Torque::from_mnm(one.nm()), &[alpha, 1.0], count));
        no_nan(torque::wrench_covers(Torque::from_mnm(one.nm()), Torque::from_mnm(two.nm()), Torque::from_mnm(three.nm())));
        no_nan(rollers::imbalance(Force::from_mn(one.nm()), Force::from_mn(two.nm()), alpha));
        no_nan(rollers::efficiency(&[Force::from_mn(one.nm()), Force::from_mn(two.nm())], alpha, 0.03));
        let _ = torque::tolerance(Torque::from_mnm(one.nm()), Torque::from_mnm(two.nm()));
        let _ = torque::AngleStage::new(Torque::from_mnm(one.nm()), Angle::from_centidegrees(two.nm()));
        let expectation = slips::Expectation { new: Some(one), limit: Some(two), ring: a.clone() };
        let _ = slips::slips(three, &expectation);
        let _ = slips::odometer(Distance::from_mm(one.nm()), Distance::from_mm(two.nm()), u32::from(count));
        let c = conformity(one, two, Bound::AtMost(three));
        prop_assert!((0.0..=1.0).contains(&c.probability));
        let cells: Vec<Vec<Vec<Length>>> = a.chunks(4).map(|p| p.chunks(2).map(<[Length]>::to_vec).collect()).collect();
        no_nan(study::study(&cells));
        no_nan(risk::acceptance_limit(Bound::AtLeast(one), two, alpha));
    }

    #[test]
    fn no_history_makes_the_forecast_panic_or_answer_nan(
        visits in vec((any::<i64>(), any_length(), proptest::option::of(any_length()), any::<bool>()), 0..6),
        limit in any_length(), u in any_length(),
    ) {
        let visits: Vec<Visit> = visits.into_iter().map(|(km, thickness, u, new_parts)| {
            Visit { odometer: Distance::from_mm(km), thickness, u, new_parts }
        }).collect();
        no_nan(forecast(&visits, limit, u));
        if let Some(visit) = visits.first() {
            no_nan(forecast_one_visit(Distance::ZERO, limit, u, visit, limit, u));
        }
    }

    #[test]
    fn no_number_makes_a_function_panic(
        x in any_number(), y in any_number(), z in any_number(), n in 0u32..200,
        values in vec(any_number(), 0..6), text in ".{0,20}",
    ) {
        no_nan(conformity_of(x, y, Bound::AtLeast(z)));
        no_nan(risk::between(x, y, z, x));
        let (tolerance, process) = (risk::Interval { low: Some(x), high: Some(z) }, risk::Process::Normal { mean: y, sd: z });
        no_nan(risk::risks(process, y, tolerance, tolerance));
        no_nan(risk::risks(risk::Process::Gamma { shape: x, scale: y }, z, tolerance, tolerance));
        let _ = describe::summary(&values);
        let points: Vec<regression::Point> = values.iter().map(|&v| regression::Point { x: v, y: x, u: y }).collect();
        let _ = regression::Line::through(&points);
        let _ = study::anova(&[vec![values.clone()], vec![values]]);
        for p in [x, 0.95] {
            let _ = (special::normal_quantile(p), special::normal_cdf(p));
            for dof in [y, z, 3.0] {
                let _ = (special::student_t_quantile(p, dof), special::student_t_cdf(p, dof));
                let _ = (special::chi_squared_quantile(p, dof), special::chi_squared_cdf(p, dof));
                let _ = (special::fisher_quantile(p, dof, y), special::fisher_cdf(p, dof, y));
            }
            let _ = special::range_quantile(p, n);
        }
        let _ = vin::check(&text);
    }
}
