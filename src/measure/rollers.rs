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
