//! The gauge, the uncertainty budget and what follows from it.
//!
//! A budget lists its contributions, each a standard uncertainty in millimetres; they are combined
//! in quadrature, as JCGM 100:2008 (5.1.2) says for independent inputs. A rectangular half-width `a`
//! has `u = a/√3` (4.3.7), a resolution `d` has `u = d/√12` (4.3.7 with a = d/2).

use serde::{Deserialize, Serialize};

use crate::measure::error::Problems;
use crate::measure::{MeasureError, length, special};
use crate::units::Length;

/// What is known about a measuring instrument.
///
/// Units: lengths. `mpe` is the half-width of the permissible error, `repeatability` and
/// `zero_check` are standard deviations.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Gauge {
    /// Maximum permissible error, ± this much.
    pub mpe: Length,
    /// The smallest step the display shows.
    pub resolution: Length,
    /// Standard deviation of repeated readings of one place.
    pub repeatability: Length,
    /// Standard uncertainty of the zero check.
    pub zero_check: Length,
    /// Degrees of freedom of the repeatability; `None` when it is taken as known.
    pub repeatability_dof: Option<u32>,
}

impl Gauge {
    /// Checks that nothing is negative and that degrees of freedom, if any, are at least one.
    ///
    /// # Errors
    /// [`MeasureError::Negative`] or [`MeasureError::TooFew`], all of them at once.
    pub fn validate(&self) -> Result<(), MeasureError> {
        let mut problems = Problems::default();
        for (what, value) in [
            ("permissible error", self.mpe),
            ("resolution", self.resolution),
            ("repeatability", self.repeatability),
            ("uncertainty of the zero check", self.zero_check),
        ] {
            problems.check(value >= Length::ZERO, || MeasureError::Negative {
                what: what.to_owned(),
                value,
            });
        }
        problems.check(self.repeatability_dof != Some(0), || MeasureError::TooFew {
            what: "degrees of freedom of the repeatability",
            found: 0,
            needed: 1,
        });
        problems.finish()
    }

    /// Standard deviation of one reading's noise, `√(s² + d²/12)`, in millimetres.
    #[must_use]
    pub fn noise_mm(&self) -> f64 {
        let (s, d) = (self.repeatability.mm(), self.resolution.mm());
        (s * s + d * d / 12.0).sqrt()
    }

    fn dof(&self) -> Option<f64> {
        self.repeatability_dof.map(f64::from)
    }
}

/// How a contribution's half-width or standard deviation is meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Distribution {
    /// Anywhere within ± a with equal probability: `u = a/√3`.
    Rectangular,
    /// A standard deviation: `u = s`.
    Normal,
    /// A display's smallest step `d`: `u = d/√12`.
    Resolution,
    /// A U-shaped half-width: `u = a/√2`.
    UShaped,
    /// A triangular half-width: `u = a/√6`.
    Triangular,
}

impl Distribution {
    /// What divides the half-width or standard deviation to give a standard uncertainty.
    ///
    /// Source: JCGM 100:2008 4.3.7 and H.1 (secondary); triangular and U-shaped from memory.
    #[must_use]
    pub fn divisor(self) -> f64 {
        match self {
            Self::Rectangular => 3f64.sqrt(),
            Self::Normal => 1.0,
            Self::Resolution => 12f64.sqrt(),
            Self::UShaped => 2f64.sqrt(),
            Self::Triangular => 6f64.sqrt(),
        }
    }
}

/// One line of an uncertainty budget.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Contribution {
    /// Where it comes from, in words.
    pub source: String,
    /// The half-width, resolution or standard deviation it starts from, in mm.
    pub half_width_or_sd_mm: f64,
    /// How that number is meant.
    pub distribution: Distribution,
    /// By how much the result changes per unit of the input.
    pub sensitivity: f64,
    /// The standard uncertainty it brings to the result, in mm.
    pub u_mm: f64,
    /// Degrees of freedom; `None` when taken as known.
    pub degrees_of_freedom: Option<f64>,
}

impl Contribution {
    /// Makes a contribution and computes its standard uncertainty `|sensitivity| · value / divisor`.
    ///
    /// ```
    /// use brakecorner::measure::uncertainty::{Contribution, Distribution};
    ///
    /// let c = Contribution::new("permissible error", 0.004, Distribution::Rectangular, 1.0, None);
    /// assert!((c.u_mm - 0.002_309_4).abs() < 1e-7);
    /// ```
    #[must_use]
    pub fn new(
        source: &str,
        half_width_or_sd_mm: f64,
        distribution: Distribution,
        sensitivity: f64,
        degrees_of_freedom: Option<f64>,
    ) -> Self {
        Self {
            source: source.to_owned(),
            half_width_or_sd_mm,
            distribution,
            sensitivity,
            u_mm: (sensitivity * half_width_or_sd_mm / distribution.divisor()).abs(),
            degrees_of_freedom,
        }
    }
}

/// The contributions to the uncertainty of one result.
///
/// The models of this library fill it in millimetres; the sums hold for any one unit.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Budget {
    /// Each contribution, in the order of the model's formula.
    pub contributions: Vec<Contribution>,
}

impl Budget {
    /// Combined standard uncertainty in mm: the root of the sum of squares.
    ///
    /// Source: JCGM 100:2008 5.1.2.
    ///
    /// ```
    /// use brakecorner::measure::uncertainty::{Budget, Contribution, Distribution};
    ///
    /// let nm = |u| Contribution::new("", u, Distribution::Normal, 1.0, None);
    /// let budget = Budget { contributions: vec![nm(3.0), nm(4.0)] };
    /// assert!((budget.combined_mm() - 5.0).abs() < 1e-12);
    /// ```
    #[must_use]
    pub fn combined_mm(&self) -> f64 {
        self.variance().sqrt()
    }

    /// Combined standard uncertainty to the nearest nanometre; zero when it does not fit a length.
    #[must_use]
    pub fn combined(&self) -> Length {
        Length::from_mm(self.combined_mm()).unwrap_or(Length::ZERO)
    }

    /// Effective degrees of freedom `u_c⁴ / Σ(u_i⁴/ν_i)`; `None` when every contribution is known.
    ///
    /// Source: JCGM 100:2008 G.4.1 (Welch–Satterthwaite).
    #[must_use]
    pub fn effective_dof(&self) -> Option<f64> {
        let variance = self.variance();
        let spread: f64 = self
            .contributions
            .iter()
            .filter_map(|c| {
                let share = c.u_mm * c.u_mm / variance;
                c.degrees_of_freedom.map(|dof| share * share / dof)
            })
            .sum();
        (spread > 0.0 && spread.is_finite()).then(|| 1.0 / spread)
    }

    /// The share of contribution `index` in the variance, 0 to 1; `None` beyond the last one.
    #[must_use]
    pub fn share(&self, index: usize) -> Option<f64> {
        let variance = self.variance();
        let u = self.contributions.get(index)?.u_mm;
        Some(if variance > 0.0 {
            u * u / variance
        } else {
            0.0
        })
    }

    /// Coverage factor for a two-sided interval of `level` (0.95 for 95 %): Student's t with the
    /// effective degrees of freedom truncated to a whole number, as JCGM 100:2008 G.4.1 recommends.
    #[must_use]
    pub fn coverage_factor(&self, level: f64) -> f64 {
        let p = 0.5 + level / 2.0;
        match self.effective_dof() {
            Some(dof) => special::student_t_quantile(p, libm::floor(dof).max(1.0)),
            None => special::normal_quantile(p),
        }
    }

    fn variance(&self) -> f64 {
        self.contributions.iter().map(|c| c.u_mm * c.u_mm).sum()
    }
}

/// The first three lines every direct reading shares: `a/√3`, `s/√m`, `d/√12`.
///
/// `extremes` is 1 for a value and √2 for a difference of two readings; the permissible error of
/// the span is taken once.
pub(crate) fn reading(gauge: &Gauge, readings: usize, extremes: f64) -> Vec<Contribution> {
    #[allow(clippy::cast_precision_loss)]
    let per_mean = 1.0 / (readings.max(1) as f64).sqrt();
    vec![
        Contribution::new(
            "permissible error of the gauge",
            gauge.mpe.mm(),
            Distribution::Rectangular,
            1.0,
            None,
        ),
        Contribution::new(
            "repeatability",
            gauge.repeatability.mm(),
            Distribution::Normal,
            extremes * per_mean,
            gauge.dof(),
        ),
        Contribution::new(
            "resolution",
            gauge.resolution.mm(),
            Distribution::Resolution,
            extremes,
            None,
        ),
    ]
}

/// The combined uncertainty as a length, or the error that names it.
pub(crate) fn combined(budget: &Budget) -> Result<Length, MeasureError> {
    length("combined uncertainty", budget.combined_mm())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn normal(u: f64, dof: f64) -> Contribution {
        Contribution::new("", u, Distribution::Normal, 1.0, Some(dof))
    }

    #[test]
    fn welch_satterthwaite_reproduces_the_published_example() {
        // Source: JCGM 100:2008 G.4.1 (secondary): 0.25, 0.57, 0.82 % with 9, 4, 14 degrees.
        let budget = Budget {
            contributions: vec![normal(0.25, 9.0), normal(0.57, 4.0), normal(0.82, 14.0)],
        };
        assert!((budget.combined_mm() - 1.03).abs() < 0.005);
        let dof = budget.effective_dof().unwrap();
        assert!((dof - 18.9987).abs() < 5e-5, "{dof}");
        // The source rounds u_c and gets 19 degrees of freedom, t95 2.09, U95 2.2 %.
        let t = special::student_t_quantile(0.975, 19.0);
        assert!((t - 2.09).abs() < 0.005);
        assert!((budget.combined_mm() * t - 2.2).abs() < 0.05);
    }

    #[test]
    fn the_shares_of_a_budget_add_up_to_one() {
        let budget = Budget {
            contributions: vec![normal(1.0, 3.0), normal(2.0, 5.0)],
        };
        assert!((budget.share(0).unwrap() - 0.2).abs() < 1e-12);
        assert!((budget.share(1).unwrap() - 0.8).abs() < 1e-12);
        assert_eq!(budget.share(2), None);
    }

    #[test]
    fn a_gauge_with_negative_figures_names_all_of_them() {
        let gauge = Gauge {
            mpe: Length::from_nm(-1),
            resolution: Length::from_nm(-2),
            repeatability: Length::ZERO,
            zero_check: Length::ZERO,
            repeatability_dof: Some(0),
        };
        let Err(MeasureError::Problems(all)) = gauge.validate() else {
            panic!("accepted")
        };
        assert_eq!(all.len(), 3);
    }
}
