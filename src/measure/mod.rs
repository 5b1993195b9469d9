//! Measurement models: readings in, values with their uncertainty out.
//!
//! Everything here is a pure function of its arguments: no clock, file, environment or terminal.
//! Lengths come in and go out as whole nanometres ([`Length`]); between the
//! two the statistics run in `f64`, and every transcendental function comes from `libm`, so a result
//! has the same bits on every machine. Stored results are quantised: lengths to 1 nm, angles to
//! 0.01°, probabilities to 10⁻⁶, distances to 1 km.
//!
//! | module | model |
//! |---|---|
//! | [`uncertainty`], [`zero`] | the gauge and its zero check, the budget, degrees of freedom |
//! | [`conformity`], [`risk`] | probability of conforming, proof, guard bands, risks |
//! | [`study`] | repeat study: repeatability, reproducibility, part spread |
//! | [`disc`] | thickness, thickness variation and its noise floor, wear |
//! | [`faces`] | lips, taper, skimming, two indicators |
//! | [`runout`], [`dial`] | run-out ring: indicated and fitted values, closing error |
//! | [`harmonic`] | least-squares fit of one turn |
//! | [`clocking`], [`shim`], [`hub`] | hub or disc, best position, correction plate, hub face |
//! | [`pad`], [`drum`], [`bearing`] | pads and linings, drums, end float |
//! | [`wear`] | rate and distance left, with a one-sided 90 % lower bound |
//! | [`rollers`], [`fluid`], [`torque`], [`pedal`] | forces, fluid, tightening, pedal |
//! | [`slips`], [`vin`] | slips to ask about, identification number |
//! | [`regression`], [`describe`] | straight line and inverse prediction; repeated readings |
//! | [`special`] | normal, Student t, χ², F and range functions |
//!
//! Angles grow in the order in which the marks pass the stylus; 0° is stud 1.

pub mod bearing;
pub mod clocking;
pub mod conformity;
pub mod describe;
pub mod dial;
pub mod disc;
pub mod drum;
mod error;
pub mod faces;
pub mod fluid;
pub mod harmonic;
pub mod hub;
pub mod pad;
pub mod pedal;
pub mod regression;
pub mod risk;
pub mod rollers;
pub mod runout;
pub mod shim;
pub mod slips;
pub mod special;
pub mod study;
pub mod torque;
pub mod uncertainty;
pub mod vin;
pub mod wear;
pub mod zero;

#[cfg(test)]
mod properties;

pub use error::MeasureError;

use crate::units::Length;

/// Rounds to six decimals, the precision probabilities and fractions are stored with.
#[must_use]
pub(crate) fn micro(value: f64) -> f64 {
    let rounded = libm::round(value * 1e6) / 1e6;
    if rounded == 0.0 { 0.0 } else { rounded } // no negative zero in signed bytes
}

/// The nearest nanometre to a computed length in millimetres, or the error that names it.
pub(crate) fn length(what: &'static str, mm: f64) -> Result<Length, MeasureError> {
    Length::from_mm(mm).ok_or(MeasureError::NotFinite { what, value: mm })
}

/// The smallest and the largest of some lengths.
pub(crate) fn extremes(values: &[Length]) -> Option<(Length, Length)> {
    Some((*values.iter().min()?, *values.iter().max()?))
}

/// The mean of some lengths to the nearest nanometre, half away from zero.
pub(crate) fn mean(values: &[Length]) -> Option<Length> {
    let n = i128::try_from(values.len()).ok().filter(|n| *n > 0)?;
    let sum: i128 = values.iter().map(|v| i128::from(v.nm())).sum();
    let twice = 2 * sum;
    let rounded = if sum >= 0 {
        (twice + n) / (2 * n)
    } else {
        (twice - n) / (2 * n)
    };
    i64::try_from(rounded).ok().map(Length::from_nm)
}
