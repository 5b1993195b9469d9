//! End float of a wheel bearing.

use serde::{Deserialize, Serialize};

use crate::measure::error::Problems;
use crate::measure::uncertainty::{self, Budget, Gauge};
use crate::measure::{MeasureError, extremes, mean};
use crate::units::Length;

/// End float of one bearing.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct EndFloat {
    /// The largest of the push-and-pull cycles: a loose cycle cannot be averaged away.
    pub float: Length,
    /// The mean of the cycles.
    pub mean: Length,
    /// Largest minus smallest cycle.
    pub spread: Length,
    /// Contributions to `u`.
    pub budget: Budget,
    /// Standard uncertainty of one cycle.
    pub u: Length,
}

/// Evaluates the end float from one or more push-and-pull cycles.
///
/// Units: lengths, each the travel of one cycle. Formula: the largest; `u = a/√3 ⊕ s ⊕ d/√12`.
/// Source: common practice; JCGM 100:2008 for `u`.
///
/// # Errors
/// [`MeasureError`] for no reading or a negative one; all of them at once.
///
/// ```
/// use brakecorner::measure::bearing::float;
/// use brakecorner::measure::uncertainty::Gauge;
/// use brakecorner::units::Length;
///
/// let um = |v: i64| Length::from_nm(v * 1000);
/// let gauge = Gauge {
///     mpe: um(4), resolution: um(1), repeatability: um(1), zero_check: um(0),
///     repeatability_dof: None,
/// };
/// assert_eq!(float(&[um(8), um(10), um(9)], &gauge)?.float, um(10));
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn float(readings: &[Length], gauge: &Gauge) -> Result<EndFloat, MeasureError> {
    let mut problems = Problems::default();
    problems.take(gauge.validate());
    let none = || MeasureError::TooFew {
        what: "end float readings",
        found: 0,
        needed: 1,
    };
    problems.check(!readings.is_empty(), none);
    for (i, &value) in readings.iter().enumerate() {
        problems.check(value >= Length::ZERO, || MeasureError::Negative {
            what: format!("end float reading {}", i + 1),
            value,
        });
    }
    problems.finish()?;
    let (smallest, float) = extremes(readings).ok_or_else(none)?;
    let budget = Budget {
        contributions: uncertainty::reading(gauge, 1, 1.0),
    };
    Ok(EndFloat {
        float,
        mean: mean(readings).ok_or_else(none)?,
        spread: float - smallest,
        u: uncertainty::combined(&budget)?,
        budget,
    })
}
