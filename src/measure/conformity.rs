//! Does the value conform to its limit, and how sure is that?
//!
//! The conformance probability is the probability that the true value lies on the good side of
//! the limit, given the reading and a normal distribution with its standard uncertainty, with no
//! other knowledge: `p = Φ((value − limit)/u)` for a lower limit.
//! Source: JCGM 106:2012 7.3 (secondary, its examples reproduced in the tests). The proof threshold
//! of 95 % is that of ISO 14253-1:2017 (secondary).

use serde::{Deserialize, Serialize};

use crate::measure::{MeasureError, micro, special};
use crate::units::Length;

/// The conformance probability from which a value counts as proven inside.
pub const PROVEN: f64 = 0.95;

/// A one-sided limit; with [`AtLeast`](Self::AtLeast) and [`AtMost`](Self::AtMost) a value at the
/// limit is inside, with the other two it is not.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Bound<T = Length> {
    /// The limit or more conforms.
    AtLeast(T),
    /// The limit or less conforms.
    AtMost(T),
    /// Only more than the limit conforms.
    MoreThan(T),
    /// Only less than the limit conforms.
    LessThan(T),
}

impl<T: PartialOrd + Copy> Bound<T> {
    /// The limit itself.
    #[must_use]
    pub fn limit(&self) -> T {
        match *self {
            Self::AtLeast(l) | Self::AtMost(l) | Self::MoreThan(l) | Self::LessThan(l) => l,
        }
    }

    /// Whether `value` is on the bad side.
    #[must_use]
    pub fn is_beyond(&self, value: T) -> bool {
        !match *self {
            Self::AtLeast(l) => value >= l,
            Self::AtMost(l) => value <= l,
            Self::MoreThan(l) => value > l,
            Self::LessThan(l) => value < l,
        }
    }

    /// Whether the limit bounds from below.
    #[must_use]
    pub fn is_lower(&self) -> bool {
        matches!(self, Self::AtLeast(_) | Self::MoreThan(_))
    }
}

/// How well a verdict is supported by its measurement.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Proof {
    /// Conformance probability of at least 95 %.
    ProvenIn,
    /// Between the two.
    NotProven,
    /// Conformance probability of at most 5 %.
    ProvenOut,
    /// Judged by looking or feeling, not measured.
    Looked,
}

/// The rule by which a measured value is declared proven inside or outside.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum DecisionRule {
    /// Proven inside at a conformance probability of at least 95 %, proven outside at 5 % or less:
    /// a guard band of 1.645 standard uncertainties on either side of the limit.
    #[default]
    GuardBand95,
}

/// A value against its limit.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Conformity {
    /// Probability that the true value conforms, to six decimals.
    pub probability: f64,
    /// What that proves.
    pub proof: Proof,
    /// Whether the value itself, as measured, is beyond the limit.
    pub beyond: bool,
    /// The rule behind `proof`.
    pub rule: DecisionRule,
}

/// Compares a length with its limit.
///
/// Units: lengths; `u` is a standard uncertainty (k = 1). Formula: `p = Φ(margin/u)`, the margin
/// positive on the good side; with `u = 0` the comparison alone decides.
/// Source: JCGM 106:2012 7.3.
///
/// ```
/// use brakecorner::measure::conformity::{Bound, Proof, conformity};
/// use brakecorner::units::Length;
///
/// // 22.004 mm against at least 22.000 mm with u = 4.29 µm: likely good, not proven.
/// let c = conformity(
///     Length::from_nm(22_004_000),
///     Length::from_nm(4_290),
///     Bound::AtLeast(Length::from_nm(22_000_000)),
/// );
/// assert!((c.probability - 0.824).abs() < 0.001);
/// assert_eq!(c.proof, Proof::NotProven);
/// assert!(!c.beyond);
/// ```
#[must_use]
pub fn conformity(value: Length, u: Length, bound: Bound) -> Conformity {
    let limit = bound.limit();
    let margin = if bound.is_lower() {
        value - limit
    } else {
        limit - value
    };
    assess(margin.mm(), u.mm(), bound.is_beyond(value))
}

/// Compares a plain number (a percentage, a temperature) with its limit; see [`conformity`].
///
/// # Errors
/// [`MeasureError::NotFinite`] or [`MeasureError::OutOfRange`] when the value, the limit or `u` is
/// not finite or `u` is negative.
///
/// ```
/// use brakecorner::measure::conformity::{Bound, conformity_of};
///
/// // JCGM 106:2012, breakdown voltage: −5.47 V, u = 0.05 V, at most −5.40 V.
/// assert_eq!(conformity_of(-5.47, 0.05, Bound::AtMost(-5.40))?.probability, 0.919_243);
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn conformity_of(value: f64, u: f64, bound: Bound<f64>) -> Result<Conformity, MeasureError> {
    let limit = bound.limit();
    for (what, number) in [
        ("value", value),
        ("standard uncertainty", u),
        ("limit", limit),
    ] {
        if !number.is_finite() {
            return Err(MeasureError::NotFinite {
                what,
                value: number,
            });
        }
    }
    if u < 0.0 {
        return Err(MeasureError::OutOfRange {
            what: "standard uncertainty",
            value: u,
            low: 0.0,
            high: f64::MAX,
            unit: "",
        });
    }
    let margin = if bound.is_lower() {
        value - limit
    } else {
        limit - value
    };
    Ok(assess(margin, u, bound.is_beyond(value)))
}

fn assess(margin: f64, u: f64, beyond: bool) -> Conformity {
    let probability = if u > 0.0 {
        micro(special::normal_cdf(margin / u))
    } else if beyond {
        0.0
    } else {
        1.0
    };
    Conformity {
        probability,
        proof: proof(probability),
        beyond,
        rule: DecisionRule::GuardBand95,
    }
}

/// The proof state of a conformance probability.
#[must_use]
pub fn proof(probability: f64) -> Proof {
    if probability >= PROVEN {
        Proof::ProvenIn
    } else if probability <= 1.0 - PROVEN {
        Proof::ProvenOut
    } else {
        Proof::NotProven
    }
}

/// A conformance probability in words for people.
///
/// The boundaries are this project's own.
#[must_use]
pub fn in_words(p: f64) -> &'static str {
    match p {
        p if p >= 0.95 => "very likely",
        p if p >= 0.70 => "likely",
        p if p > 0.30 => "about even",
        p if p > 0.05 => "unlikely",
        _ => "very unlikely",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_published_one_sided_examples_come_out() {
        // Source: JCGM 106:2012, breakdown voltage and burst strength (from memory, computed).
        for (value, u, bound, expected) in [
            (-5.47, 0.05, Bound::AtMost(-5.40), 0.919_243),
            (509.7, 8.6, Bound::AtLeast(490.0), 0.989_010),
        ] {
            let got = conformity_of(value, u, bound).unwrap().probability;
            assert!((got - expected).abs() < 1e-6, "{got} for {value}");
        }
    }

    #[test]
    fn a_value_at_the_limit_is_not_beyond_unless_the_limit_is_exclusive() {
        let l = Length::from_nm(8_000_000);
        for (bound, beyond) in [
            (Bound::AtLeast(l), false),
            (Bound::AtMost(l), false),
            (Bound::MoreThan(l), true),
            (Bound::LessThan(l), true),
        ] {
            assert_eq!(
                conformity(l, Length::from_nm(10), bound).beyond,
                beyond,
                "{bound:?}"
            );
            let sure = conformity(l, Length::ZERO, bound).probability;
            assert!((sure - if beyond { 0.0 } else { 1.0 }).abs() < 1e-12);
        }
        let one_less = Length::from_nm(7_999_999);
        assert!(conformity(one_less, Length::ZERO, Bound::AtLeast(l)).beyond);
    }

    #[test]
    fn numbers_that_are_none_are_refused() {
        for (v, u, l) in [
            (f64::NAN, 1.0, 1.0),
            (1.0, f64::INFINITY, 1.0),
            (1.0, -1.0, 1.0),
        ] {
            assert!(
                conformity_of(v, u, Bound::AtLeast(l)).is_err(),
                "{v} {u} {l}"
            );
        }
    }
}
