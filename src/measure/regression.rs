//! Straight line through points, its predictions, and the point where it meets a value.
//!
//! Weighted least squares, centred so that large coordinates lose no digits:
//! `y = ȳ + b (x − x̄)`, `b = Sxy/Sxx`. Checked against NIST StRD Norris, the calibration line of
//! JCGM 100:2008 H.3 and the inverse prediction of Eurachem/CITAC QUAM A5.

use crate::measure::MeasureError;
use crate::measure::error::Problems;
use crate::measure::harmonic::count;

/// One observation; all three in the caller's units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// Where.
    pub x: f64,
    /// What was observed.
    pub y: f64,
    /// Its standard uncertainty; 1 for every point when none is known.
    pub u: f64,
}

/// A fitted straight line.
///
/// With the points' own uncertainties the sums are weighted by `1/u²` and [`Spread::Known`] applies;
/// with `u = 1` throughout, the scatter of the residuals is estimated: [`Spread::Residual`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// Number of points.
    pub points: usize,
    /// Weighted mean of x.
    pub centre: f64,
    /// Weighted mean of y: the line's height at the centre.
    pub level: f64,
    /// Slope.
    pub slope: f64,
    /// Sum of the weights.
    pub weight: f64,
    /// Weighted sum of squares of x about the centre.
    pub sxx: f64,
    /// Weighted sum of squared residuals.
    pub residual_squares: f64,
}

/// What the spread of the observations is taken to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spread {
    /// The points' own uncertainties.
    Known,
    /// Those times the residual standard deviation, `√(Σ w r²/(n−2))`.
    Residual,
}

impl Line {
    /// Fits the line.
    ///
    /// # Errors
    /// [`MeasureError`] for fewer than two points, numbers that are not finite, an uncertainty that
    /// is not above zero, or no two different x; all of them at once.
    ///
    /// ```
    /// use brakecorner::measure::regression::{Line, Point};
    ///
    /// let line = Line::through(&[1.0, 2.0, 4.0].map(|x| Point { x, y: 3.0 - 0.5 * x, u: 1.0 }))?;
    /// assert!((line.slope + 0.5).abs() < 1e-15);
    /// assert!((line.at(0.0) - 3.0).abs() < 1e-15);
    /// # Ok::<(), brakecorner::measure::MeasureError>(())
    /// ```
    pub fn through(points: &[Point]) -> Result<Self, MeasureError> {
        check(points)?;
        let weight: f64 = points.iter().map(|p| 1.0 / (p.u * p.u)).sum();
        let mean = |pick: fn(&Point) -> f64| {
            let rough = points.iter().map(pick).sum::<f64>() / count(points.len());
            // A second pass on the differences recovers the digits the first one lost.
            let rest: f64 = points.iter().map(|p| (pick(p) - rough) / (p.u * p.u)).sum();
            rough + rest / weight
        };
        let (centre, level) = (mean(|p| p.x), mean(|p| p.y));
        let (mut sxx, mut sxy) = (0.0, 0.0);
        for p in points {
            let dx = p.x - centre;
            sxx += dx * dx / (p.u * p.u);
            sxy += dx * (p.y - level) / (p.u * p.u);
        }
        if sxx <= 0.0 || !sxx.is_finite() {
            return Err(MeasureError::TooFew {
                what: "different places x",
                found: 1,
                needed: 2,
            });
        }
        let slope = sxy / sxx;
        let residual_squares = points
            .iter()
            .map(|p| {
                let residual = (p.y - level - slope * (p.x - centre)) / p.u;
                residual * residual
            })
            .sum();
        Ok(Self {
            points: points.len(),
            centre,
            level,
            slope,
            weight,
            sxx,
            residual_squares,
        })
    }

    /// Degrees of freedom of the residuals.
    #[must_use]
    pub fn degrees_of_freedom(&self) -> usize {
        self.points.saturating_sub(2)
    }

    /// Residual standard deviation relative to the points' uncertainties; `None` for two points.
    #[must_use]
    pub fn residual_sd(&self) -> Option<f64> {
        let dof = self.degrees_of_freedom();
        (dof > 0).then(|| (self.residual_squares / count(dof)).sqrt())
    }

    /// The line's height at `x`.
    #[must_use]
    pub fn at(&self, x: f64) -> f64 {
        self.level + self.slope * (x - self.centre)
    }

    fn sigma(&self, spread: Spread) -> f64 {
        match spread {
            Spread::Known => 1.0,
            Spread::Residual => self.residual_sd().unwrap_or(f64::NAN),
        }
    }

    /// Standard uncertainty of the line's height at `x`: `σ√(1/W + (x − x̄)²/Sxx)`.
    #[must_use]
    pub fn u_at(&self, x: f64, spread: Spread) -> f64 {
        let dx = x - self.centre;
        self.sigma(spread) * (1.0 / self.weight + dx * dx / self.sxx).sqrt()
    }

    /// Standard uncertainty of the slope: `σ/√Sxx`.
    #[must_use]
    pub fn u_slope(&self, spread: Spread) -> f64 {
        self.sigma(spread) / self.sxx.sqrt()
    }

    /// Correlation between the height at `x` and the slope.
    #[must_use]
    pub fn correlation_at(&self, x: f64) -> f64 {
        let dx = x - self.centre;
        dx / self.sxx.sqrt() / (1.0 / self.weight + dx * dx / self.sxx).sqrt()
    }

    /// Where the line reaches `y`, and the standard uncertainty of that place when `y` itself is the
    /// mean of `readings` new observations (0 for a value without uncertainty).
    ///
    /// Formula: `x = x̄ + (y − ȳ)/b`, `u = (σ/|b|)·√(1/p + 1/W + (x − x̄)²/Sxx)`.
    /// Source: Eurachem/CITAC QUAM 3rd ed. A5 (read). First order: use
    /// [`earliest`](Self::earliest) for a bound.
    #[must_use]
    pub fn inverse(&self, y: f64, readings: u32, spread: Spread) -> (f64, f64) {
        let dx = (y - self.level) / self.slope;
        let new = if readings > 0 {
            1.0 / f64::from(readings)
        } else {
            0.0
        };
        let variance = new + 1.0 / self.weight + dx * dx / self.sxx;
        (
            self.centre + dx,
            self.sigma(spread) / self.slope.abs() * variance.sqrt(),
        )
    }

    /// The smallest x at which a falling line, lowered by `k` standard uncertainties, meets `y`.
    ///
    /// Formula: the root with the margin above of `(ȳ − y + bX)² = k²σ²(1/W + X²/Sxx)`, `X = x − x̄`
    /// (Fieller, no variance for `y`); `k = 0` gives the line itself.
    #[must_use]
    pub fn earliest(&self, y: f64, k: f64, spread: Spread) -> f64 {
        let height = self.level - y;
        if k == 0.0 {
            return self.centre - height / self.slope; // the double root loses half the digits
        }
        let scaled = k * self.sigma(spread);
        let k2 = scaled * scaled;
        let a = self.slope * self.slope - k2 / self.sxx;
        let b = self.slope * height;
        let c = height * height - k2 / self.weight;
        let root = (b * b - a * c).max(0.0).sqrt();
        // This form of the smaller root does not cancel when the slope is barely known.
        let x = if height >= 0.0 {
            c / (root - b)
        } else {
            (-b - root) / a
        };
        self.centre + x
    }
}

fn check(points: &[Point]) -> Result<(), MeasureError> {
    let mut problems = Problems::default();
    problems.check(points.len() >= 2, || MeasureError::TooFew {
        what: "points of a line",
        found: points.len(),
        needed: 2,
    });
    for p in points {
        for (what, value) in [("x", p.x), ("y", p.y), ("standard uncertainty", p.u)] {
            problems.check(value.is_finite(), || MeasureError::NotFinite {
                what,
                value,
            });
        }
        problems.check(p.u > 0.0 || !p.u.is_finite(), || MeasureError::OutOfRange {
            what: "standard uncertainty",
            value: p.u,
            low: f64::MIN_POSITIVE,
            high: f64::MAX,
            unit: "",
        });
    }
    problems.finish()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_lowered_line_meets_the_value_where_it_says() {
        let ys = [5.6, 4.3, 2.9];
        let points: Vec<Point> = [61.05, 72.48, 84.12]
            .iter()
            .zip(ys)
            .map(|(&x, y)| Point { x, y, u: 0.0816 })
            .collect();
        let line = Line::through(&points).unwrap();
        for k in [0.0, 0.5, 1.2816, 3.0, 20.0] {
            let x = line.earliest(2.0, k, Spread::Known);
            let lowered = line.at(x) - k * line.u_at(x, Spread::Known);
            assert!((lowered - 2.0).abs() < 1e-9, "k = {k}: {lowered} at {x}");
        }
    }

    #[test]
    fn a_line_through_one_place_is_refused() {
        let p = |x, y| Point { x, y, u: 1.0 };
        assert!(Line::through(&[p(1.0, 2.0), p(1.0, 3.0)]).is_err());
        assert!(Line::through(&[p(1.0, 2.0)]).is_err());
        let Err(MeasureError::Problems(all)) = Line::through(&[p(f64::NAN, f64::INFINITY)]) else {
            panic!("accepted")
        };
        assert_eq!(all.len(), 3);
    }
}
