//! Mean, standard deviation and lag-1 correlation of repeated readings.
//!
//! Two passes, the second on differences from the mean. Checked against the NIST StRD univariate
//! sets and JCGM 100:2008 4.4.3.

use crate::measure::MeasureError;
use crate::measure::error::Problems;
use crate::measure::harmonic::count;

/// What describes a set of readings; all in the readings' unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Summary {
    /// How many.
    pub count: usize,
    /// Arithmetic mean.
    pub mean: f64,
    /// Standard deviation with n − 1.
    pub sd: f64,
    /// Standard uncertainty of the mean, `sd/√n`.
    pub u_mean: f64,
    /// Correlation of each reading with the one before; `None` when all are equal. Far from zero it
    /// betrays a drift or a gauge left in hold.
    pub lag1: Option<f64>,
}

/// Describes two or more readings.
///
/// Formula: `s² = Σ(x − x̄)²/(n − 1)`, `r₁ = Σ(xᵢ − x̄)(xᵢ₋₁ − x̄)/Σ(x − x̄)²`.
/// Source: JCGM 100:2008 4.2; NIST StRD univariate.
///
/// # Errors
/// [`MeasureError`] for fewer than two readings or one that is not finite; all of them at once.
///
/// ```
/// use brakecorner::measure::describe::summary;
///
/// let s = summary(&[10_000_001.0, 10_000_003.0, 10_000_002.0])?;
/// assert_eq!((s.mean, s.sd, s.lag1), (10_000_002.0, 1.0, Some(-0.5)));
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn summary(values: &[f64]) -> Result<Summary, MeasureError> {
    let mut problems = Problems::default();
    problems.check(values.len() >= 2, || MeasureError::TooFew {
        what: "repeated readings",
        found: values.len(),
        needed: 2,
    });
    for &value in values {
        problems.check(value.is_finite(), || MeasureError::NotFinite {
            what: "reading",
            value,
        });
    }
    problems.finish()?;
    let n = count(values.len());
    let rough = values.iter().sum::<f64>() / n;
    let mean = rough + values.iter().map(|v| v - rough).sum::<f64>() / n;
    let differences: Vec<f64> = values.iter().map(|v| v - mean).collect();
    let squares: f64 = differences.iter().map(|d| d * d).sum();
    let products: f64 = differences
        .iter()
        .zip(differences.iter().skip(1))
        .map(|(a, b)| a * b)
        .sum();
    let sd = (squares / (n - 1.0)).sqrt();
    Ok(Summary {
        count: values.len(),
        mean,
        sd,
        u_mean: sd / n.sqrt(),
        lag1: (squares > 0.0).then(|| products / squares),
    })
}
