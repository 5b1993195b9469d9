//! Two-sided conformity, guard bands and the risks of a decision.
//!
//! [`conformity`](crate::measure::conformity) asks about one reading; this module asks how a rule of
//! decision does for a whole process of parts. Source: JCGM 106:2012 7, 8 and 9 (secondary), its
//! worked examples in the tests.

use serde::{Deserialize, Serialize};

use crate::measure::conformity::Bound;
use crate::measure::error::Problems;
use crate::measure::{MeasureError, length, micro, special};
use crate::units::Length;

/// Probability that the true value lies between two limits.
///
/// Formula: `Φ((high − value)/u) − Φ((low − value)/u)`.
///
/// # Errors
/// [`MeasureError`] for a number that is not finite, `u` not above zero, or limits out of order.
///
/// ```
/// use brakecorner::measure::risk::between;
///
/// // JCGM 106:2012, oil-viscosity example (from memory, computed).
/// assert_eq!(between(13.6, 1.8, 12.5, 16.3)?, 0.662_63);
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn between(value: f64, u: f64, low: f64, high: f64) -> Result<f64, MeasureError> {
    let mut problems = Problems::default();
    for (what, number) in [
        ("value", value),
        ("lower limit", low),
        ("upper limit", high),
    ] {
        finite(what, number, &mut problems);
    }
    positive("standard uncertainty", u, &mut problems);
    ordered(low, high, &mut problems);
    problems.finish()?;
    Ok(micro(inside(value, u, low, high)))
}

fn inside(value: f64, u: f64, low: f64, high: f64) -> f64 {
    let (from, to) = ((low - value) / u, (high - value) / u);
    // The difference of the smaller tails keeps its digits far from the limits.
    if from > 0.0 {
        special::normal_cdf(-from) - special::normal_cdf(-to)
    } else {
        special::normal_cdf(to) - special::normal_cdf(from)
    }
}

/// The acceptance limit that lies a guard band inside a limit.
///
/// Formula: `limit ± z·u` with `z` the one-sided normal quantile of `probability`; 0.95 gives 1.645 u.
/// Source: JCGM 106:2012 7.3 for z, ISO 14253-1:2017 for 0.95 (both secondary).
///
/// # Errors
/// [`MeasureError`] for a negative `u` or a probability outside 0.5 to 0.999 999.
///
/// ```
/// use brakecorner::measure::conformity::Bound;
/// use brakecorner::measure::risk::acceptance_limit;
/// use brakecorner::units::Length;
///
/// let limit = Bound::AtLeast(Length::from_nm(22_000_000));
/// let guarded = acceptance_limit(limit, Length::from_nm(4_290), 0.95)?;
/// assert_eq!(guarded.nm(), 22_007_056); // 7.06 µm of guard band
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn acceptance_limit(bound: Bound, u: Length, probability: f64) -> Result<Length, MeasureError> {
    let mut problems = Problems::default();
    problems.check(u >= Length::ZERO, || MeasureError::Negative {
        what: "standard uncertainty".to_owned(),
        value: u,
    });
    problems.check((0.5..=0.999_999).contains(&probability), || {
        MeasureError::OutOfRange {
            what: "conformance probability",
            value: probability,
            low: 0.5,
            high: 0.999_999,
            unit: "",
        }
    });
    problems.finish()?;
    let band = length("guard band", special::normal_quantile(probability) * u.mm())?;
    let limit = bound.limit();
    Ok(if bound.is_lower() {
        limit + band
    } else {
        limit - band
    })
}

/// How the true values of a process are distributed before anything is measured.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Process {
    /// A normal distribution.
    Normal {
        /// Its mean.
        mean: f64,
        /// Its standard deviation.
        sd: f64,
    },
    /// A gamma distribution, for quantities that cannot be negative.
    Gamma {
        /// Its shape, at least 1.
        shape: f64,
        /// Its scale.
        scale: f64,
    },
}

impl Process {
    fn density(self, x: f64) -> f64 {
        match self {
            Self::Normal { mean, sd } => special::normal_density((x - mean) / sd) / sd,
            Self::Gamma { shape, scale } if x > 0.0 => {
                let y = x / scale;
                libm::exp((shape - 1.0) * libm::log(y) - y - libm::lgamma(shape)) / scale
            }
            Self::Gamma { shape, scale } => {
                if x == 0.0 && shape <= 1.0 {
                    1.0 / scale
                } else {
                    0.0
                }
            }
        }
    }

    fn below(self, x: f64) -> f64 {
        match self {
            Self::Normal { mean, sd } => special::normal_cdf((x - mean) / sd),
            Self::Gamma { shape, scale } => special::gamma_cdf(x, shape, scale),
        }
    }

    /// Where practically all of it lies.
    fn support(self) -> (f64, f64) {
        match self {
            Self::Normal { mean, sd } => (mean - 10.0 * sd, mean + 10.0 * sd),
            Self::Gamma { shape, scale } => (0.0, scale * (shape + 40.0 + 12.0 * shape.sqrt())),
        }
    }

    fn check(self, problems: &mut Problems) {
        match self {
            Self::Normal { mean, sd } => {
                finite("process mean", mean, problems);
                positive("process standard deviation", sd, problems);
            }
            Self::Gamma { shape, scale } => {
                problems.check((1.0..=1e6).contains(&shape), || MeasureError::OutOfRange {
                    what: "shape of the process",
                    value: shape,
                    low: 1.0,
                    high: 1e6,
                    unit: "",
                });
                positive("scale of the process", scale, problems);
            }
        }
    }
}

/// Two limits, either of which may be open.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Interval {
    /// The smallest value inside; `None` = no lower limit.
    pub low: Option<f64>,
    /// The largest value inside; `None` = no upper limit.
    pub high: Option<f64>,
}

impl Interval {
    fn ends(self) -> (f64, f64) {
        (
            self.low.unwrap_or(f64::NEG_INFINITY),
            self.high.unwrap_or(f64::INFINITY),
        )
    }

    fn check(self, problems: &mut Problems) {
        for (what, end) in [("lower limit", self.low), ("upper limit", self.high)] {
            finite(what, end.unwrap_or(0.0), problems);
        }
        let (low, high) = self.ends();
        ordered(low, high, problems);
    }
}

/// What a decision rule does to a process, each a probability of all parts, to six decimals.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Risks {
    /// Out of tolerance before anything is measured.
    pub out_of_tolerance: f64,
    /// Accepted although out of tolerance: the consumer's risk.
    pub consumer: f64,
    /// Rejected although within tolerance: the producer's risk.
    pub producer: f64,
}

/// Global risks of accepting readings within `acceptance` for a tolerance and a process.
///
/// Units: any one. Formula: `R_C = ∫ outside g(η) P(accept | η) dη`, `R_P` the counterpart, by
/// Simpson's rule between the limits. Source: JCGM 106:2012 9.5.
///
/// # Errors
/// [`MeasureError`] for numbers that are not finite, spreads not above zero, a shape below 1, or limits
/// out of order; all of them at once.
///
/// ```
/// use brakecorner::measure::risk::{Interval, Process, risks};
///
/// // JCGM 106:2012 9.5: resistors of 1500 Ω ± 0.2 Ω, no guard band.
/// let tolerance = Interval { low: Some(1499.8), high: Some(1500.2) };
/// let process = Process::Normal { mean: 1500.0, sd: 0.12 };
/// let r = risks(process, 0.04, tolerance, tolerance)?;
/// assert!((r.consumer - 0.018_94).abs() < 5e-6 && (r.producer - 0.037_21).abs() < 5e-6);
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn risks(
    process: Process,
    u: f64,
    tolerance: Interval,
    acceptance: Interval,
) -> Result<Risks, MeasureError> {
    let mut problems = Problems::default();
    process.check(&mut problems);
    positive("standard uncertainty", u, &mut problems);
    tolerance.check(&mut problems);
    acceptance.check(&mut problems);
    problems.finish()?;
    let raw = raw_risks(process, u, tolerance, acceptance);
    Ok(Risks {
        out_of_tolerance: micro(raw.out_of_tolerance),
        consumer: micro(raw.consumer),
        producer: micro(raw.producer),
    })
}

fn raw_risks(process: Process, u: f64, tolerance: Interval, acceptance: Interval) -> Risks {
    let (low, high) = tolerance.ends();
    let (from, to) = process.support();
    let (accept_low, accept_high) = acceptance.ends();
    let accepted = |x: f64| inside(x, u, accept_low, accept_high);
    let outside = |x: f64| process.density(x) * accepted(x);
    let rejected = |x: f64| process.density(x) * (1.0 - accepted(x));
    let (cut_low, cut_high) = (low.clamp(from, to), high.clamp(from, to));
    Risks {
        out_of_tolerance: process.below(low) + 1.0 - process.below(high),
        consumer: simpson(outside, from, cut_low) + simpson(outside, cut_high, to),
        producer: simpson(rejected, cut_low, cut_high),
    }
}

/// Simpson's rule with 4000 steps: below 1e-9 for integrands as smooth as these.
fn simpson(f: impl Fn(f64) -> f64, from: f64, to: f64) -> f64 {
    const STEPS: u32 = 4000;
    if to <= from {
        return 0.0;
    }
    let h = (to - from) / f64::from(STEPS);
    let sum: f64 = (0..=STEPS)
        .map(|i| {
            let weight = match i {
                0 | STEPS => 1.0,
                i if i % 2 == 1 => 4.0,
                _ => 2.0,
            };
            weight * f(from + h * f64::from(i))
        })
        .sum();
    sum * h / 3.0
}

/// The upper acceptance limit that keeps the consumer's risk of an upper tolerance limit at `risk`.
///
/// Formula: bisection on [`risks`]. Source: JCGM 106:2012 9.5.4.
///
/// # Errors
/// As [`risks`]; also [`MeasureError::OutOfRange`] when `risk` is not between 0 and the risk of
/// accepting everything.
///
/// ```
/// use brakecorner::measure::risk::{Process, upper_acceptance_limit};
///
/// // JCGM 106:2012 9.5.4, ball bearings: a 0.1 % risk needs an acceptance limit of 1.67.
/// let process = Process::Gamma { shape: 4.0, scale: 0.25 };
/// assert!((upper_acceptance_limit(process, 0.25, 2.0, 0.001)? - 1.671_829).abs() < 1e-6);
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn upper_acceptance_limit(
    process: Process,
    u: f64,
    upper_limit: f64,
    risk: f64,
) -> Result<f64, MeasureError> {
    let tolerance = Interval {
        low: None,
        high: Some(upper_limit),
    };
    let everything = Interval {
        low: None,
        high: None,
    };
    let most = risks(process, u, tolerance, everything)?.consumer;
    if risk.is_nan() || risk <= 0.0 || risk >= most {
        return Err(MeasureError::OutOfRange {
            what: "consumer's risk",
            value: risk,
            low: 0.0,
            high: most,
            unit: "",
        });
    }
    let (from, to) = process.support();
    let (mut low, mut high) = (from - 10.0 * u, to + 10.0 * u);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        let acceptance = Interval {
            low: None,
            high: Some(middle),
        };
        if raw_risks(process, u, tolerance, acceptance).consumer > risk {
            high = middle;
        } else {
            low = middle;
        }
    }
    Ok(micro(0.5 * (low + high)))
}

/// Numbers beyond this are nobody's measurement, and their squares would overflow.
const HUGE: f64 = 1e100;

fn finite(what: &'static str, value: f64, problems: &mut Problems) {
    problems.check(value.abs() <= HUGE, || MeasureError::NotFinite {
        what,
        value,
    });
}

fn positive(what: &'static str, value: f64, problems: &mut Problems) {
    problems.check((1.0 / HUGE..=HUGE).contains(&value), || {
        MeasureError::OutOfRange {
            what,
            value,
            low: 1.0 / HUGE,
            high: HUGE,
            unit: "",
        }
    });
}

fn ordered(low: f64, high: f64, problems: &mut Problems) {
    problems.check(low < high || low.is_nan() || high.is_nan(), || {
        MeasureError::OutOfRange {
            what: "lower limit",
            value: low,
            low: f64::NEG_INFINITY,
            high,
            unit: "",
        }
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    const RESISTOR: Process = Process::Normal {
        mean: 1500.0,
        sd: 0.12,
    };
    const TOLERANCE: Interval = Interval {
        low: Some(1499.8),
        high: Some(1500.2),
    };

    #[test]
    fn a_guard_band_trades_the_consumer_s_risk_for_the_producer_s() {
        // Source: JCGM 106:2012 9.5 example (inputs secondary, results computed).
        let guarded = Interval {
            low: Some(1499.82),
            high: Some(1500.18),
        };
        let r = risks(RESISTOR, 0.04, TOLERANCE, guarded).unwrap();
        assert!((r.consumer - 0.009_88).abs() < 5e-6, "{r:?}");
        assert!((r.producer - 0.069_03).abs() < 5e-6, "{r:?}");
    }

    #[test]
    fn the_guard_band_lies_inside_either_limit() {
        let (limit, u) = (Length::from_nm(50_000), Length::from_nm(1_000));
        let at_most = acceptance_limit(Bound::AtMost(limit), u, 0.95).unwrap();
        let at_least = acceptance_limit(Bound::AtLeast(limit), u, 0.95).unwrap();
        assert_eq!((at_most.nm(), at_least.nm()), (48_355, 51_645));
    }

    #[test]
    fn the_ball_bearings_come_out() {
        // Source: JCGM 106:2012 9.5.4, quoted by a national laboratory's open calculator
        // (secondary, reproduced): 4.2 % out of tolerance, consumer's risk 0.8 %.
        let process = Process::Gamma {
            shape: 4.0,
            scale: 0.25,
        };
        let limit = Interval {
            low: None,
            high: Some(2.0),
        };
        let r = raw_risks(process, 0.25, limit, limit);
        assert!(
            (r.out_of_tolerance - 0.042_380_112_0).abs() < 5e-11,
            "{r:?}"
        );
        assert!((r.consumer - 0.008_019_111_9).abs() < 5e-11, "{r:?}");
    }

    #[test]
    fn nonsense_is_refused_with_every_reason() {
        let bad = Process::Gamma {
            shape: 0.5,
            scale: f64::NAN,
        };
        let swapped = Interval {
            low: Some(2.0),
            high: Some(1.0),
        };
        let Err(MeasureError::Problems(all)) = risks(bad, -1.0, swapped, TOLERANCE) else {
            panic!("accepted")
        };
        assert_eq!(all.len(), 4, "{all:?}");
        assert!(upper_acceptance_limit(RESISTOR, 0.04, 1500.2, f64::NAN).is_err());
        assert!(between(f64::NAN, 1.0, 0.0, 1.0).is_err());
    }
}
