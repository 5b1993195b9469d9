//! The model against worked examples and its own inverse.

use super::*;
use crate::measure::harmonic::cos_sin;

fn gauge() -> Gauge {
    let um = |v: i64| Length::from_nm(v * 1000);
    Gauge {
        mpe: um(4),
        resolution: um(1),
        repeatability: um(1),
        zero_check: um(0),
        repeatability_dof: None,
    }
}

/// A ring of `2·holes` points of a pure tilt.
fn ring(holes: u8, clocking: u8, hub: (f64, f64), disc: (f64, f64)) -> ClockedRing {
    let n = 2 * usize::from(holes);
    let beta = 360.0 / f64::from(holes) * f64::from(clocking);
    let points = harmonic_points(n, hub, (disc.0, disc.1 + beta));
    ClockedRing {
        clocking,
        ring: RunoutRing {
            points,
            ..RunoutRing::default()
        },
    }
}

fn harmonic_points(n: usize, hub: (f64, f64), disc: (f64, f64)) -> Vec<Length> {
    crate::measure::harmonic::even_degrees(n)
        .iter()
        .map(|&d| {
            let part = |(a, phi): (f64, f64)| a * cos_sin(d - phi).0;
            Length::from_mm(part(hub) + part(disc)).unwrap()
        })
        .collect()
}

#[test]
fn the_worked_example_comes_out() {
    // N = 5, H = 31 µm at 40°, D = 27 µm at 55°: worked by hand.
    let (h, d) = ((0.031, 40.0), (0.027, 55.0));
    let rings = [ring(5, 0, h, d), ring(5, 2, h, d)];
    let result = clocking(5, &rings, None, &gauge()).unwrap();
    for (c, tir) in result
        .clockings
        .iter()
        .zip([115.0, 84.3, 22.6, 50.5, 102.0])
    {
        assert!(
            (c.tir.unwrap().um() - tir).abs() < 0.06,
            "{c:?}, expected {tir}"
        );
    }
    assert_eq!(result.best, Some(2));
    assert_eq!(result.lead, Some(Lead::Both));
    // Noise of predictions at k = 1 and 3 relative to one ring: 0.87 and 1.18, by hand.
    let u_ring = 2.0 * gauge().noise_mm() * (2.0f64 / 10.0).sqrt();
    for (k, factor) in [(0, 1.0), (1, 0.87), (2, 1.0), (3, 1.18), (4, 1.18)] {
        let u = result.clockings[k].u.unwrap().mm();
        assert!(
            (u / u_ring - factor).abs() < 0.006,
            "clocking {k}: {}",
            u / u_ring
        );
    }
}

#[test]
fn forbidden_clockings_are_predicted_but_not_recommended() {
    let (h, d) = ((0.031, 40.0), (0.027, 55.0));
    let rings = [ring(5, 0, h, d), ring(5, 3, h, d)];
    let result = clocking(5, &rings, Some(&[0, 3]), &gauge()).unwrap();
    assert_eq!(result.best, Some(3));
    assert!(!result.clockings[2].possible && result.clockings[2].tir.is_some());
}

#[test]
fn one_clocking_is_refused_with_the_best_next_one() {
    let rings = [
        ring(5, 0, (0.03, 0.0), (0.02, 0.0)),
        ring(5, 0, (0.03, 0.0), (0.02, 0.0)),
    ];
    let result = clocking(5, &rings, None, &gauge()).unwrap();
    assert_eq!(
        result.refused,
        Some(Refusal::OneClocking {
            clocking: 0,
            second: Some(2)
        })
    );
    assert_eq!((result.best, result.hub, result.disc), (None, None, None));
    assert!(
        result
            .refused
            .unwrap()
            .to_string()
            .ends_with("best in clocking 2")
    );
}

#[test]
fn a_disc_lost_in_the_noise_is_refused_and_says_which_lever_arm_would_help() {
    let (h, d) = ((0.050, 10.0), (0.000_9, 200.0));
    let near = [ring(10, 0, h, d), ring(10, 1, h, d)];
    let result = clocking(10, &near, None, &gauge()).unwrap();
    let Some(Refusal::LeverArmTooSmall { second, .. }) = result.refused else {
        panic!("{:?}", result.refused)
    };
    assert_eq!(second, 5);
    let far = [ring(10, 0, h, (0.0, 0.0)), ring(10, 5, h, (0.0, 0.0))];
    let refused = clocking(10, &far, None, &gauge()).unwrap().refused;
    assert!(
        matches!(refused, Some(Refusal::DiscTrue { .. })),
        "{refused:?}"
    );
}

#[test]
fn the_closure_tells_a_true_ring_from_numbers_run_backwards() {
    let (h, d) = ((0.031, 40.0), (0.027, 55.0));
    let good = [ring(5, 0, h, d), ring(5, 2, h, d), ring(5, 3, h, d)];
    let closure = clocking(5, &good, None, &gauge()).unwrap().closure.unwrap();
    assert!(closure.agrees && closure.holes == 3, "{closure:?}");
    // The mark sat at stud 4 counted backwards, which is clocking 2 and not 3.
    let backwards = [
        ring(5, 0, h, d),
        ring(5, 2, h, d),
        ClockedRing {
            clocking: 3,
            ..ring(5, 2, h, d)
        },
    ];
    assert!(
        !clocking(5, &backwards, None, &gauge())
            .unwrap()
            .closure
            .unwrap()
            .agrees
    );
}

#[test]
fn three_rings_are_averaged_by_least_squares() {
    let (h, d) = ((0.031, 40.0), (0.027, 55.0));
    let two = clocking(5, &[ring(5, 0, h, d), ring(5, 2, h, d)], None, &gauge()).unwrap();
    let rings = [ring(5, 0, h, d), ring(5, 2, h, d), ring(5, 3, h, d)];
    let three = clocking(5, &rings, None, &gauge()).unwrap();
    assert!(three.disc.unwrap().u < two.disc.unwrap().u);
    assert!((three.hub.unwrap().tir.um() - 62.0).abs() < 0.01);
    assert!(residual(5, &rings, &gauge()).unwrap().unwrap().um() < 0.01);
}

#[test]
fn every_problem_of_the_input_is_named() {
    let swept = RunoutRing {
        swept: Some(Length::from_nm(1)),
        ..RunoutRing::default()
    };
    let rings = [ClockedRing {
        clocking: 12,
        ring: swept,
    }];
    let Err(MeasureError::Problems(all)) = clocking(11, &rings, Some(&[]), &gauge()) else {
        panic!("accepted")
    };
    assert_eq!(all.len(), 4, "{all:?}");
}
