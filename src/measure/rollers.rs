//! Brake forces from a roller tester.

use serde::{Deserialize, Serialize};

use crate::measure::error::Problems;
use crate::measure::harmonic::count;
use crate::measure::{MeasureError, micro};
use crate::units::{Force, STANDARD_GRAVITY};

/// Permissible error of a roller tester as a fraction of the force, when the register gives none
/// (own): a half-width.
pub const DEFAULT_FORCE_ERROR: f64 = 0.03;

/// A percentage with its standard uncertainty, both in percent and to six decimals.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Percent {
    /// The value.
    pub value: f64,
    /// Its standard uncertainty.
    pub u: f64,
}

fn check_force(what: &'static str, force: Force, problems: &mut Problems) {
    problems.check(force >= Force::ZERO, || MeasureError::OutOfRange {
        what,
        value: force.newtons(),
        low: 0.0,
        high: 1e6,
        unit: "N",
    });
}

fn check_error(error: f64, problems: &mut Problems) {
    problems.check((0.0..=0.5).contains(&error), || MeasureError::OutOfRange {
        what: "permissible error of the roller tester",
        value: error,
        low: 0.0,
        high: 0.5,
        unit: "of the force",
    });
}

/// Imbalance of an axle in percent.
///
/// Formula: `(larger − smaller)/larger · 100`. Source: annual-test inspection manual 1.2.1 (read).
///
/// # Errors
/// [`MeasureError::OutOfRange`] for a negative force, or when both are zero.
///
/// ```
/// use brakecorner::measure::rollers::imbalance_percent;
/// use brakecorner::units::Force;
///
/// let n = |v: i64| Force::from_mn(v * 1000);
/// assert!((imbalance_percent(n(2310), n(1480))? - 35.93).abs() < 0.005);
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn imbalance_percent(a: Force, b: Force) -> Result<f64, MeasureError> {
    Ok(imbalance(a, b, 0.0)?.value)
}

/// Imbalance with its uncertainty from a relative permissible error of each wheel's force.
///
/// Formula: `u = 100 · (smaller/larger) · √2 · e/√3`: the wheels are independent.
/// Source: JCGM 100:2008 5.1.2.
///
/// # Errors
/// As [`imbalance_percent`]; also for an error outside 0 to 0.5.
///
/// ```
/// use brakecorner::measure::rollers::{DEFAULT_FORCE_ERROR, imbalance};
/// use brakecorner::units::Force;
///
/// let n = |v: i64| Force::from_mn(v * 1000);
/// let rear = imbalance(n(2310), n(1480), DEFAULT_FORCE_ERROR)?;
/// assert!((rear.value - 35.93).abs() < 0.005 && (rear.u - 1.57).abs() < 0.005);
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn imbalance(a: Force, b: Force, force_error: f64) -> Result<Percent, MeasureError> {
    let mut problems = Problems::default();
    check_force("brake force", a, &mut problems);
    check_force("brake force", b, &mut problems);
    check_error(force_error, &mut problems);
    let (low, high) = (a.min(b).newtons(), a.max(b).newtons());
    problems.check(high > 0.0 || low < 0.0, || MeasureError::OutOfRange {
        what: "larger brake force",
        value: high,
        low: 0.001,
        high: 1e6,
        unit: "N",
    });
    problems.finish()?;
    let ratio = low / high;
    Ok(Percent {
        value: micro(100.0 * (1.0 - ratio)),
        u: micro(100.0 * ratio * force_error * (2.0f64 / 3.0).sqrt()),
    })
}

/// Brake efficiency in percent of the weight.
///
/// Formula: `ΣF/(m·g) · 100`. Source: annual-test inspection manual 1.2.2 (read); g exact.
///
/// # Errors
/// [`MeasureError::OutOfRange`] for a negative force or a mass outside 50 to 100 000 kg.
///
/// ```
/// use brakecorner::measure::rollers::efficiency_percent;
/// use brakecorner::units::Force;
///
/// let sum = Force::from_mn(11_560_000);
/// assert!((efficiency_percent(sum, 1432.0)? - 82.32).abs() < 0.005);
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn efficiency_percent(sum: Force, mass_kg: f64) -> Result<f64, MeasureError> {
    Ok(efficiency(&[sum], mass_kg, 0.0)?.value)
}

/// Efficiency from each wheel's force, with its uncertainty.
///
/// Formula: `u = 100/(m·g) · √Σ(F·e/√3)²`; the mass is taken as given.
///
/// # Errors
/// As [`efficiency_percent`]; also for no force at all or an error outside 0 to 0.5.
///
/// ```
/// use brakecorner::measure::rollers::efficiency;
/// use brakecorner::units::Force;
///
/// let wheels = [3920, 3850, 2310, 1480].map(|v| Force::from_mn(v * 1000));
/// let service = efficiency(&wheels, 1432.0, 0.03)?;
/// assert!((service.value - 82.32).abs() < 0.005 && (service.u - 0.76).abs() < 0.005);
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn efficiency(
    forces: &[Force],
    mass_kg: f64,
    force_error: f64,
) -> Result<Percent, MeasureError> {
    let mut problems = Problems::default();
    problems.check(!forces.is_empty(), || MeasureError::TooFew {
        what: "brake forces",
        found: 0,
        needed: 1,
    });
    for &force in forces {
        check_force("brake force", force, &mut problems);
    }
    check_error(force_error, &mut problems);
    problems.check((50.0..=100_000.0).contains(&mass_kg), || {
        MeasureError::OutOfRange {
            what: "mass",
            value: mass_kg,
            low: 50.0,
            high: 100_000.0,
            unit: "kg",
        }
    });
    problems.finish()?;
    let weight = mass_kg * STANDARD_GRAVITY;
    let sum: f64 = forces.iter().map(|f| f.newtons()).sum();
    let squares: f64 = forces.iter().map(|f| f.newtons() * f.newtons()).sum();
    Ok(Percent {
        value: micro(100.0 * sum / weight),
        u: micro(100.0 * squares.sqrt() * force_error / 3f64.sqrt() / weight),
    })
}

/// Fluctuation of one wheel's force over a turn at steady pedal, in percent.
///
/// Formula: `(max − min)/max · 100`. Source: common practice.
///
/// # Errors
/// [`MeasureError`] for fewer than two forces, a negative one, or nothing above zero.
///
/// ```
/// use brakecorner::measure::rollers::fluctuation_percent;
/// use brakecorner::units::Force;
///
/// let n = |v: i64| Force::from_mn(v * 1000);
/// assert!((fluctuation_percent(&[n(2480), n(2300), n(2100)])? - 15.3).abs() < 0.05);
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn fluctuation_percent(forces: &[Force]) -> Result<f64, MeasureError> {
    let mut problems = Problems::default();
    problems.check(forces.len() >= 2, || MeasureError::TooFew {
        what: "brake forces of one turn",
        found: forces.len(),
        needed: 2,
    });
    for &force in forces {
        check_force("brake force", force, &mut problems);
    }
    problems.finish()?;
    let high = forces.iter().max().copied().unwrap_or(Force::ZERO);
    let low = forces.iter().min().copied().unwrap_or(Force::ZERO);
    Ok(imbalance(high, low, 0.0)?.value)
}

/// Mean force of repeated readings of one wheel, in newtons.
///
/// # Errors
/// [`MeasureError::TooFew`] for none.
pub fn mean_newtons(forces: &[Force]) -> Result<f64, MeasureError> {
    if forces.is_empty() {
        return Err(MeasureError::TooFew {
            what: "brake forces",
            found: 0,
            needed: 1,
        });
    }
    Ok(forces.iter().map(|f| f.newtons()).sum::<f64>() / count(forces.len()))
}

/// The forces of one axle and what locked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct AxleForces {
    /// Left wheel.
    pub left: Force,
    /// Right wheel.
    pub right: Force,
    /// Whether the left wheel locked on the rollers.
    pub left_locked: bool,
    /// Whether the right wheel locked.
    pub right_locked: bool,
}

/// Whether an axle's imbalance counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Counted {
    /// It counts.
    Yes,
    /// The wheel with the lower force locked: the tyre and not the brake set the limit.
    LowerLocked,
    /// The higher force is not above the smallest one that counts.
    TooWeak,
}

/// Whether an axle's imbalance counts under a rule pack.
///
/// `counts_above` is the force the higher wheel must exceed; `None` when the pack has no such rule.
/// Source: annual-test inspection manual 1.2.1, which excepts a locked lower wheel and a higher
/// effort of not more than 40 kg (read).
///
/// ```
/// use brakecorner::measure::rollers::{AxleForces, Counted, counted};
/// use brakecorner::units::{Force, ForceUnit};
///
/// let n = |v: i64| Force::from_mn(v * 1000);
/// let axle = AxleForces { left: n(300), right: n(380), left_locked: false, right_locked: false };
/// let forty = Force::parse("40", ForceUnit::KilogramForce)?;
/// assert_eq!(counted(&axle, Some(forty)), Counted::TooWeak); // 40 kgf = 392 N
/// assert_eq!(counted(&axle, None), Counted::Yes);
/// # Ok::<(), brakecorner::units::UnitError>(())
/// ```
#[must_use]
pub fn counted(axle: &AxleForces, counts_above: Option<Force>) -> Counted {
    let lower_locked = match axle.left.cmp(&axle.right) {
        std::cmp::Ordering::Less => axle.left_locked,
        std::cmp::Ordering::Greater => axle.right_locked,
        std::cmp::Ordering::Equal => axle.left_locked || axle.right_locked,
    };
    if lower_locked {
        Counted::LowerLocked
    } else if counts_above.is_some_and(|least| axle.left.max(axle.right) <= least) {
        Counted::TooWeak
    } else {
        Counted::Yes
    }
}

/// How little a wheel brakes beside the other of its axle.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Idle {
    /// It was rolled and showed no force.
    Nothing,
    /// It showed less than a fifth of the other wheel's force.
    Little,
}

/// A wheel that shows less than one part in this many of its axle mate's force hardly brakes (own).
const IDLE_PART: i64 = 5;

/// Which wheels of an axle, left and right, do not brake.
///
/// A wheel that locked brakes as much as its tyre holds. A pair whose higher force is not above
/// `light` is too lightly loaded for little to mean anything; nothing still is nothing. Source: own.
///
/// ```
/// use brakecorner::measure::rollers::{AxleForces, Idle, idle};
/// use brakecorner::units::Force;
///
/// let n = |v: i64| Force::from_mn(v * 1000);
/// let axle = AxleForces { left: n(350), right: n(0), left_locked: false, right_locked: false };
/// assert_eq!(idle(&axle, Some(n(392))), [None, Some(Idle::Nothing)]);
/// let weak = AxleForces { right: n(69), ..axle };
/// assert_eq!(idle(&weak, Some(n(392))), [None, None]);
/// assert_eq!(idle(&weak, None), [None, Some(Idle::Little)]);
/// assert_eq!(idle(&AxleForces { right: n(70), ..axle }, None), [None, None]);
/// ```
#[must_use]
pub fn idle(axle: &AxleForces, light: Option<Force>) -> [Option<Idle>; 2] {
    let one = |own: Force, mate: Force, locked: bool| {
        let counts = light.is_none_or(|light| mate > light);
        let little = own.mn().saturating_mul(IDLE_PART) < mate.mn();
        match (locked, own <= Force::ZERO) {
            (true, _) => None,
            (_, true) => Some(Idle::Nothing),
            (_, false) => (counts && little).then_some(Idle::Little),
        }
    };
    [
        one(axle.left, axle.right, axle.left_locked),
        one(axle.right, axle.left, axle.right_locked),
    ]
}

/// Whether more than half of a brake system's wheels locked on the rollers, which meets its
/// efficiency whatever the forces are where the rule pack says so.
///
/// Source: annual-test inspection manual 1.2.2 (read).
#[must_use]
pub fn locked_enough(axles: &[AxleForces]) -> bool {
    let locked: usize = axles
        .iter()
        .map(|a| usize::from(a.left_locked) + usize::from(a.right_locked))
        .sum();
    locked > axles.len()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn n(v: i64) -> Force {
        Force::from_mn(v * 1000)
    }

    #[test]
    fn three_percent_of_force_makes_two_and_a_half_points_of_rear_imbalance() {
        // By hand: ratio 1480/2310 = 0.6407; u = 100 · 0.6407 · √2 · 0.03/√3 = 1.569 points.
        let p = imbalance(n(2310), n(1480), DEFAULT_FORCE_ERROR).unwrap();
        assert!((p.u - 1.569).abs() < 1e-3, "{p:?}");
        let equal = imbalance(n(2000), n(2000), DEFAULT_FORCE_ERROR).unwrap();
        assert!(equal.value.abs() < 1e-12);
    }

    #[test]
    fn a_locked_lower_wheel_and_a_weak_pair_do_not_count() {
        let axle = AxleForces {
            left: n(3000),
            right: n(2000),
            left_locked: true,
            right_locked: false,
        };
        assert_eq!(counted(&axle, None), Counted::Yes);
        let swapped = AxleForces {
            left_locked: false,
            right_locked: true,
            ..axle
        };
        assert_eq!(counted(&swapped, None), Counted::LowerLocked);
        let mirrored = AxleForces {
            left: n(2000),
            right: n(3000),
            ..axle
        };
        assert_eq!(counted(&mirrored, None), Counted::LowerLocked);
        assert_eq!(
            counted(
                &AxleForces {
                    left_locked: false,
                    ..mirrored
                },
                None
            ),
            Counted::Yes
        );
        assert_eq!(counted(&axle, Some(n(3000))), Counted::TooWeak);
        assert!(!locked_enough(&[axle, swapped]));
        assert!(locked_enough(&[
            AxleForces {
                right_locked: true,
                ..axle
            },
            swapped
        ]));
        assert!(!locked_enough(&[]));
    }

    #[test]
    fn two_still_wheels_have_no_imbalance_and_no_nan() {
        assert!(imbalance_percent(n(0), n(0)).is_err());
        assert!(efficiency_percent(n(1000), f64::NAN).is_err());
        assert!(fluctuation_percent(&[n(0), n(0)]).is_err());
        assert!(fluctuation_percent(&[n(5)]).is_err());
    }
}
