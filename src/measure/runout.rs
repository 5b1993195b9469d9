//! Lateral run-out: what the dial shows over one turn, and the tilt behind it.

use serde::{Deserialize, Serialize};

use crate::measure::error::Problems;
use crate::measure::harmonic::{self, check_angles, widest_gap};
use crate::measure::uncertainty::{self, Budget, Gauge};
use crate::measure::{MeasureError, extremes, length, micro};
use crate::units::{Angle, Length};

/// A closing error up to this much, or one division of the dial if that is more, is accepted (own).
pub const CLOSING_ALLOWED: Length = Length::from_nm(5_000);
/// Widest gap between neighbouring points, in degrees: four points must spread over more than 200°.
const WIDEST_GAP: Angle = Angle::from_centidegrees(16_000);
/// Fewest points from which a tilt can be told from noise.
pub const FEWEST_POINTS: usize = 4;

/// One run-out ring as it was read.
///
/// Units: lengths, plus = the face moved towards the indicator. Points in passing order from
/// stud 1; evenly spaced unless `angles` says otherwise.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct RunoutRing {
    /// The reading at each point, without the return reading; may be empty when `swept` is given.
    pub points: Vec<Length>,
    /// The angle of each point; `None` = evenly spaced from 0°.
    pub angles: Option<Vec<Angle>>,
    /// The return reading, back at the first point.
    pub closing: Option<Length>,
    /// Highest minus lowest seen while turning slowly.
    pub swept: Option<Length>,
    /// Angle of a lever to the face, or of a plunger to the face's normal.
    pub stylus_angle: Option<Angle>,
    /// Number of wheel fasteners, for the clamping order.
    pub fasteners: Option<u8>,
}

/// The tilt and the other orders of a ring.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct HarmonicFit {
    /// Twice the amplitude of the once-a-turn part: the run-out of the tilt.
    pub peak_to_peak: Length,
    /// Where the face is nearest to the indicator.
    pub high_spot: Angle,
    /// Twice-a-turn part, peak to peak: a saddle. `None` when the points cannot show it.
    pub order2: Option<Length>,
    /// Once-a-fastener part, peak to peak: uneven clamping. `None` when the number of fasteners is
    /// not known or the points cannot show it.
    pub order_n: Option<Length>,
    /// What the tilt leaves, peak to peak.
    pub residual: Length,
    /// Standard uncertainty of `peak_to_peak` from the readings' noise alone.
    pub u_peak_to_peak: Length,
    /// Standard uncertainty of `high_spot`; 180° when the tilt is lost in the noise.
    pub u_high_spot: Angle,
}

/// A ring's results.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Runout {
    /// Largest minus smallest of the points, the return reading left out.
    pub tir: Option<Length>,
    /// The swept value, corrected for the stylus.
    pub swept: Option<Length>,
    /// What the limit is compared with: the swept value when given, else the larger of the points'
    /// value and the fitted one. Never less than the points' value.
    pub judged: Length,
    /// Return reading minus first reading.
    pub closing_error: Option<Length>,
    /// Whether the set-up held still.
    pub closing_ok: bool,
    /// The swept value is smaller than what the points show: something was mistyped.
    pub swept_below_points: bool,
    /// The fit; `None` for a ring that was only swept.
    pub fit: Option<HarmonicFit>,
    /// Contributions to `u`.
    pub budget: Budget,
    /// Standard uncertainty of the judged value.
    pub u: Length,
}

/// Evaluates a run-out ring.
///
/// Formula: indicated value `max − min`; tilt `d(θ) = c + A cos(θ − φ)` by least squares, `2A` and
/// `φ`; with a stylus out of square by α every reading is multiplied by `cos α`;
/// `u = a/√3 ⊕ √2·s ⊕ √2·d/√12` for the judged value, `u(2A) = 2σ√(2/N)` with
/// `σ² = s² + d²/12` for the fit (evenly spaced points).
/// Source: least squares, JCGM 100:2008 5.1.2; the cosine of the stylus is common metrology; the
/// closing allowance is this project's own. Valid for a face that is rigid over one turn.
///
/// # Errors
/// [`MeasureError`] for fewer than four points without a swept value, a repeated angle, angles that
/// do not match the points, a gap of 160° or more, a negative swept value, a stylus at more than
/// 60°, or fasteners outside 3 to 10; all of them at once.
///
/// ```
/// use brakecorner::measure::runout::{RunoutRing, runout};
/// use brakecorner::measure::uncertainty::Gauge;
/// use brakecorner::units::Length;
///
/// let um = |v: i64| Length::from_nm(v * 1000);
/// let gauge = Gauge {
///     mpe: um(4), resolution: um(1), repeatability: um(1), zero_check: um(0),
///     repeatability_dof: None,
/// };
/// let ring = RunoutRing {
///     points: [0, 1, -19, -54, -90, -108, -106, -87, -48, -15].map(um).into(),
///     closing: Some(um(0)),
///     ..RunoutRing::default()
/// };
/// let result = runout(&ring, &gauge)?;
/// assert_eq!(result.tir, Some(um(109)));
/// let fit = result.fit.expect("ten points");
/// assert!((fit.peak_to_peak.mm() - 0.1155).abs() < 5e-5);
/// assert!((fit.high_spot.degrees() - 15.6).abs() < 0.05);
/// assert!((result.u.um() - 2.74).abs() < 0.005);
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn runout(ring: &RunoutRing, gauge: &Gauge) -> Result<Runout, MeasureError> {
    check(ring, gauge)?;
    let cosine = ring
        .stylus_angle
        .map_or(1.0, |a| harmonic::cos_sin(a.degrees()).0);
    let corrected = |value: Length| length("corrected reading", value.mm() * cosine);
    let points = ring
        .points
        .iter()
        .map(|&p| corrected(p))
        .collect::<Result<Vec<_>, _>>()?;
    let swept = ring.swept.map(corrected).transpose()?;
    let tir = extremes(&points).map(|(low, high)| high - low);
    let fit = if points.len() >= FEWEST_POINTS {
        fit(ring, &points, gauge, cosine)
    } else {
        None
    };
    let fitted = fit.as_ref().map_or(Length::ZERO, |f| f.peak_to_peak);
    let pointwise = tir.unwrap_or(Length::ZERO);
    let closing_error = match (ring.closing, ring.points.first()) {
        (Some(back), Some(&first)) => Some(corrected(back - first)?),
        _ => None,
    };
    let allowed = CLOSING_ALLOWED.max(gauge.resolution);
    let budget = Budget {
        contributions: uncertainty::reading(gauge, 1, 2f64.sqrt()),
    };
    Ok(Runout {
        judged: swept.map_or(pointwise.max(fitted), |s| s.max(pointwise)),
        closing_ok: closing_error.is_none_or(|e| e.abs() <= allowed),
        swept_below_points: swept.is_some_and(|s| s < pointwise),
        tir,
        swept,
        closing_error,
        fit,
        u: uncertainty::combined(&budget)?,
        budget,
    })
}

fn check(ring: &RunoutRing, gauge: &Gauge) -> Result<(), MeasureError> {
    let mut problems = Problems::default();
    problems.take(gauge.validate());
    if ring.swept.is_none() || !ring.points.is_empty() {
        problems.check(ring.points.len() >= FEWEST_POINTS, || {
            MeasureError::TooFew {
                what: "run-out points",
                found: ring.points.len(),
                needed: FEWEST_POINTS,
            }
        });
    }
    if let Some(swept) = ring.swept {
        problems.check(swept >= Length::ZERO, || MeasureError::Negative {
            what: "swept run-out".to_owned(),
            value: swept,
        });
    }
    if let Some(angles) = &ring.angles {
        let matching = problems
            .take(check_angles(angles, ring.points.len()))
            .is_some();
        if let Some((from, to, gap)) = widest_gap(angles)
            && matching
        {
            problems.check(gap < WIDEST_GAP, || MeasureError::GapTooWide {
                from,
                to,
                gap,
            });
        }
    }
    if let Some(angle) = ring.stylus_angle {
        problems.check(angle.abs().degrees() <= 60.0, || MeasureError::OutOfRange {
            what: "stylus angle",
            value: angle.degrees(),
            low: -60.0,
            high: 60.0,
            unit: "degrees",
        });
    }
    if let Some(found) = ring.fasteners {
        problems.check((3..=10).contains(&found), || MeasureError::FastenerCount {
            what: "fasteners",
            found,
        });
    }
    problems.finish()
}

/// The tilt of a ring as a phasor.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Phasor {
    /// Cosine and sine part of the amplitude, in mm.
    pub(crate) a: f64,
    /// See `a`.
    pub(crate) b: f64,
    /// Variance of either part from the readings' noise, in mm²; the mean of both when the angles
    /// are uneven.
    pub(crate) variance: f64,
}

/// The tilt of a ring without any quantisation, for models that go on computing with it.
///
/// # Errors
/// As [`runout`]; also [`MeasureError::TooFew`] for a ring that was only swept.
pub(crate) fn phasor(ring: &RunoutRing, gauge: &Gauge) -> Result<Phasor, MeasureError> {
    check(ring, gauge)?;
    let cosine = ring
        .stylus_angle
        .map_or(1.0, |a| harmonic::cos_sin(a.degrees()).0);
    let values: Vec<f64> = ring.points.iter().map(|p| p.mm() * cosine).collect();
    let too_few = MeasureError::TooFew {
        what: "run-out points",
        found: values.len(),
        needed: FEWEST_POINTS,
    };
    if values.len() < FEWEST_POINTS {
        return Err(too_few);
    }
    let fit = harmonic::fit(&values, &directions_of(ring), &[1]).ok_or_else(|| too_few.clone())?;
    let &(a, b) = fit.terms.first().ok_or(too_few)?;
    let sigma = gauge.noise_mm() * cosine;
    let diagonal = |i: usize| {
        fit.inverse
            .get(i)
            .and_then(|l| l.get(i))
            .copied()
            .unwrap_or(0.0)
    };
    Ok(Phasor {
        a,
        b,
        variance: 0.5 * (diagonal(1) + diagonal(2)) * sigma * sigma,
    })
}

fn directions_of(ring: &RunoutRing) -> Vec<(f64, f64)> {
    let degrees = match &ring.angles {
        Some(angles) => angles.iter().map(|a| a.degrees()).collect(),
        None => harmonic::even_degrees(ring.points.len()),
    };
    harmonic::directions(&degrees)
}

/// The least share of a pure tilt's run-out that `points` evenly spaced readings can show,
/// `cos(π/n)`; `None` for fewer than four points.
///
/// Source: geometry: at worst the high spot lies half way between two points, and for an even
/// number the low spot does too. An odd number sees a little more, `(1 + cos(π/n))/2`.
///
/// ```
/// use brakecorner::measure::runout::least_seen;
///
/// for (n, share) in [(8, 0.924), (10, 0.951), (12, 0.966)] {
///     assert!((least_seen(n).unwrap_or(0.0) - share).abs() < 5e-4);
/// }
/// ```
#[must_use]
pub fn least_seen(points: usize) -> Option<f64> {
    (points >= FEWEST_POINTS)
        .then(|| micro(libm::cos(std::f64::consts::PI / harmonic::count(points))))
}

/// As which order `points` evenly spaced readings show what really happens `order` times a turn.
///
/// Formula: `order mod n`, folded at n/2: with n points order h looks like n − h.
///
/// ```
/// use brakecorner::measure::runout::seen_as;
///
/// assert_eq!(seen_as(8, 5), Some(3)); // five fasteners look like three with eight points
/// assert_eq!(seen_as(10, 5), Some(5));
/// ```
#[must_use]
pub fn seen_as(points: u32, order: u32) -> Option<u32> {
    let rest = order.checked_rem(points)?;
    Some(rest.min(points - rest))
}

fn fit(ring: &RunoutRing, points: &[Length], gauge: &Gauge, cosine: f64) -> Option<HarmonicFit> {
    let values: Vec<f64> = points.iter().map(|p| p.mm()).collect();
    let directions = directions_of(ring);
    let tilt = harmonic::fit(&values, &directions, &[1])?;
    let &(a, b) = tilt.terms.first()?;
    let amplitude = libm::hypot(a, b);
    let left: Vec<f64> = values
        .iter()
        .zip(&directions)
        .map(|(v, &d)| v - tilt.at(d, &[1]))
        .collect();
    let (low, high) = left
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), &v| {
            (l.min(v), h.max(v))
        });
    let order2 = harmonic::fit(&values, &directions, &[1, 2])
        .and_then(|f| f.terms.get(1).copied())
        .and_then(|(a, b)| Length::from_mm(2.0 * libm::hypot(a, b)));
    let (u_amplitude, u_angle) = u_of_tilt(&tilt, (a, b), gauge.noise_mm() * cosine.abs());
    Some(HarmonicFit {
        peak_to_peak: Length::from_mm(2.0 * amplitude)?,
        high_spot: Angle::from_degrees(harmonic::direction(a, b))?.wrapped(),
        order2,
        order_n: ring
            .fasteners
            .and_then(|n| order_n(&values, &directions, u32::from(n), ring.angles.is_none())),
        residual: Length::from_mm(high - low)?,
        u_peak_to_peak: Length::from_mm(2.0 * u_amplitude)?,
        u_high_spot: Angle::from_degrees(u_angle)?,
    })
}

/// Standard uncertainties of amplitude (mm) and angle (degrees) from the fit's covariance.
fn u_of_tilt(fit: &harmonic::Fit, (a, b): (f64, f64), sigma: f64) -> (f64, f64) {
    let at = |r: usize, c: usize| {
        fit.inverse
            .get(r)
            .and_then(|line| line.get(c))
            .copied()
            .unwrap_or(0.0)
            * sigma
            * sigma
    };
    let (aa, ab, bb) = (at(1, 1), at(1, 2), at(2, 2));
    let amplitude = libm::hypot(a, b);
    let worst = aa.max(bb).max(0.0).sqrt();
    if amplitude <= worst {
        return (worst, 180.0);
    }
    let (c, s) = (a / amplitude, b / amplitude);
    let along = (c * c * aa + 2.0 * c * s * ab + s * s * bb).max(0.0).sqrt();
    let across = (s * s * aa - 2.0 * c * s * ab + c * c * bb).max(0.0).sqrt();
    (along, (across / amplitude).to_degrees().min(180.0))
}

/// The once-a-fastener part, peak to peak.
fn order_n(values: &[f64], directions: &[(f64, f64)], n: u32, even: bool) -> Option<Length> {
    let points = u32::try_from(values.len()).ok()?;
    if even && points == 2 * n {
        // Stud and mid-stud alternate: only the cosine of this order is visible.
        let mut line = vec![vec![0.0; 4]; 4];
        let mut right = [0.0; 4];
        for (&value, &direction) in values.iter().zip(directions) {
            let (c, s) = direction;
            let row = [1.0, c, s, harmonic::multiple(direction, n).0];
            for (i, &x) in row.iter().enumerate() {
                if let (Some(total), Some(cells)) = (right.get_mut(i), line.get_mut(i)) {
                    *total += x * value;
                    cells
                        .iter_mut()
                        .zip(&row)
                        .for_each(|(cell, y)| *cell += x * y);
                }
            }
        }
        let inverse = harmonic::invert(line)?;
        let coefficient: f64 = inverse.last()?.iter().zip(&right).map(|(i, r)| i * r).sum();
        return Length::from_mm(2.0 * coefficient.abs());
    }
    if even && points < 2 * n {
        return None; // it would look like a lower order
    }
    let fit = harmonic::fit(values, directions, &[1, n])?;
    let &(a, b) = fit.terms.get(1)?;
    Length::from_mm(2.0 * libm::hypot(a, b))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn um(v: i64) -> Length {
        Length::from_nm(v * 1000)
    }

    fn gauge() -> Gauge {
        Gauge {
            mpe: um(4),
            resolution: um(1),
            repeatability: um(1),
            zero_check: um(0),
            repeatability_dof: None,
        }
    }

    #[test]
    fn studs_and_mid_studs_that_alternate_show_as_uneven_clamping() {
        // 10 µm up at each of five studs, 10 µm down between them, on top of a tilt.
        let points: Vec<Length> = harmonic::even_degrees(10)
            .iter()
            .enumerate()
            .map(|(i, d)| {
                let clamp = if i % 2 == 0 { 0.010 } else { -0.010 };
                Length::from_mm(0.030 * harmonic::cos_sin(*d).0 + clamp).unwrap()
            })
            .collect();
        let ring = RunoutRing {
            points,
            fasteners: Some(5),
            ..RunoutRing::default()
        };
        let fit = runout(&ring, &gauge()).unwrap().fit.unwrap();
        let within = |a: Length, b: Length| (a - b).abs() <= Length::from_nm(2); // readings are whole nm
        assert!(fit.order_n.is_some_and(|n| within(n, um(20))));
        assert!(within(fit.peak_to_peak, um(60)));
        // Eight points cannot show order five: it would look like order three.
        let eight = RunoutRing {
            points: ring.points.iter().copied().take(8).collect(),
            ..ring.clone()
        };
        assert_eq!(runout(&eight, &gauge()).unwrap().fit.unwrap().order_n, None);
    }

    #[test]
    fn a_closing_error_above_five_micrometres_or_one_division_is_not_ok() {
        let ring = |closing| RunoutRing {
            points: [0, 10, 20, 10].map(um).into(),
            closing: Some(um(closing)),
            ..RunoutRing::default()
        };
        for (closing, ok) in [(0, true), (5, true), (-5, true), (6, false), (-6, false)] {
            assert_eq!(
                runout(&ring(closing), &gauge()).unwrap().closing_ok,
                ok,
                "{closing}"
            );
        }
        let coarse = Gauge {
            resolution: um(10),
            ..gauge()
        };
        assert!(runout(&ring(10), &coarse).unwrap().closing_ok);
        assert!(!runout(&ring(11), &coarse).unwrap().closing_ok);
        // The return reading is not one of the points.
        assert_eq!(runout(&ring(50), &gauge()).unwrap().tir, Some(um(20)));
    }

    #[test]
    fn a_swept_value_below_the_points_is_flagged_and_not_believed() {
        let points: Vec<Length> = [0, 30, 60, 30].map(um).into();
        let ring = RunoutRing {
            points,
            swept: Some(um(47)),
            ..RunoutRing::default()
        };
        let r = runout(&ring, &gauge()).unwrap();
        assert!(r.swept_below_points && r.judged == um(60));
    }

    #[test]
    fn every_problem_of_a_ring_is_named() {
        let ring = RunoutRing {
            points: [0, 1, 2].map(um).into(),
            angles: Some([0, 36_000, 9_000].map(Angle::from_centidegrees).into()),
            closing: None,
            swept: Some(um(-1)),
            stylus_angle: Some(Angle::from_centidegrees(7_000)),
            fasteners: Some(2),
        };
        let Err(MeasureError::Problems(all)) = runout(&ring, &gauge()) else {
            panic!("accepted")
        };
        assert_eq!(all.len(), 5, "{all:?}");
        let half = RunoutRing {
            points: [0, 1, 2, 3].map(um).into(),
            angles: Some(
                [0, 3_000, 9_000, 19_000]
                    .map(Angle::from_centidegrees)
                    .into(),
            ),
            ..RunoutRing::default()
        };
        assert_eq!(
            runout(&half, &gauge()).unwrap_err().to_string(),
            "no reading between 190° and 0°: a gap of 170°, expected less than 160°"
        );
        for few in [0, 1, 3] {
            let ring = RunoutRing {
                points: vec![um(1); few],
                ..RunoutRing::default()
            };
            assert!(runout(&ring, &gauge()).is_err(), "{few} points");
        }
    }
}
