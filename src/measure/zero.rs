//! Zero check of a micrometer on its setting standard.

use serde::{Deserialize, Serialize};

use crate::measure::error::Problems;
use crate::measure::{MeasureError, describe, extremes, length, mean};
use crate::units::Length;

/// Standard uncertainty of a zero check whose repeats do not say more (own).
pub const U_ZERO: Length = Length::from_nm(1_000);
/// Largest zero error, and largest spread, of an instrument that shows 0.001 mm or finer (own).
pub const ALLOWED_FINE: Length = Length::from_nm(2_000);
/// The same for a coarser instrument, such as one that shows 0.01 mm (own).
pub const ALLOWED_COARSE: Length = Length::from_nm(5_000);
/// Coarsest resolution that counts as fine: 0.0001 in, which is 2.54 µm.
const FINE: Length = Length::from_nm(2_540);

/// A zero check's result.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ZeroCheck {
    /// Mean reading minus the standard: to be subtracted from every reading, once.
    pub zero_error: Length,
    /// Largest minus smallest reading.
    pub spread: Length,
    /// Standard uncertainty: 1 µm, or the standard deviation of the mean if that is more.
    pub u: Length,
    /// What is allowed for this resolution, error and spread alike.
    pub allowed: Length,
    /// Whether both are within it, the limit included; if not, stop and adjust.
    pub ok: bool,
}

/// Evaluates a zero check.
///
/// Shape: one or more readings of the same standard; `standard` is its certified length, zero when
/// the anvils are closed on each other. Formula: `mean − standard`; `u = max(1 µm, s/√n)`.
/// Source: common practice; the allowances are this project's own.
///
/// # Errors
/// [`MeasureError`] for no reading, a negative standard, or a resolution that is not above zero; all
/// of them at once.
///
/// ```
/// use brakecorner::measure::zero::zero_check;
/// use brakecorner::units::Length;
///
/// let um = |v: i64| Length::from_nm(v * 1000);
/// let z = zero_check(&[um(24_998), um(24_998), um(24_998)], um(25_000), um(1))?;
/// assert_eq!((z.zero_error, z.u, z.ok), (um(-2), um(1), true));
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn zero_check(
    readings: &[Length],
    standard: Length,
    resolution: Length,
) -> Result<ZeroCheck, MeasureError> {
    let mut problems = Problems::default();
    let none = MeasureError::TooFew {
        what: "zero check readings",
        found: 0,
        needed: 1,
    };
    problems.check(!readings.is_empty(), || none.clone());
    problems.check(standard >= Length::ZERO, || MeasureError::Negative {
        what: "setting standard".to_owned(),
        value: standard,
    });
    problems.check(resolution > Length::ZERO, || MeasureError::NotPositive {
        what: "resolution".to_owned(),
        value: resolution,
    });
    problems.finish()?;
    let zero_error = mean(readings).ok_or_else(|| none.clone())? - standard;
    let (low, high) = extremes(readings).ok_or(none)?;
    let spread = high - low;
    let mm: Vec<f64> = readings.iter().map(|r| r.mm()).collect();
    let repeated = if mm.len() > 1 {
        describe::summary(&mm)?.u_mean
    } else {
        0.0
    };
    let allowed = if resolution <= FINE {
        ALLOWED_FINE
    } else {
        ALLOWED_COARSE
    };
    Ok(ZeroCheck {
        zero_error,
        spread,
        u: U_ZERO.max(length("uncertainty of the zero check", repeated)?),
        allowed,
        ok: zero_error.abs() <= allowed && spread <= allowed,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn um(v: i64) -> Length {
        Length::from_nm(v * 1000)
    }

    #[test]
    fn the_allowance_follows_the_resolution_and_includes_its_limit() {
        for (reading, resolution, ok) in [
            (2, 1, true),
            (3, 1, false),
            (-2, 1, true),
            (5, 10, true),
            (6, 10, false),
        ] {
            let z = zero_check(&[um(reading)], Length::ZERO, um(resolution)).unwrap();
            assert_eq!(z.ok, ok, "{reading} µm at {resolution} µm");
        }
    }

    #[test]
    fn repeats_that_scatter_say_more_than_one_micrometre() {
        let z = zero_check(&[um(-4), um(4)], Length::ZERO, um(10)).unwrap();
        assert_eq!((z.u, z.spread, z.ok), (um(4), um(8), false));
        assert!(zero_check(&[], um(-1), um(0)).is_err());
    }
}
