//! Hub and disc from rings in several clockings, as plane vectors.

use crate::measure::harmonic::cos_sin;
use crate::measure::runout::Phasor;

/// A complex number; only what this model needs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Complex {
    pub(super) re: f64,
    pub(super) im: f64,
}

impl Complex {
    pub(super) fn unit(degrees: f64) -> Self {
        let (re, im) = cos_sin(degrees);
        Self { re, im }
    }
    pub(super) fn plus(self, o: Self) -> Self {
        Self {
            re: self.re + o.re,
            im: self.im + o.im,
        }
    }
    pub(super) fn minus(self, o: Self) -> Self {
        Self {
            re: self.re - o.re,
            im: self.im - o.im,
        }
    }
    pub(super) fn times(self, o: Self) -> Self {
        Self {
            re: self.re * o.re - self.im * o.im,
            im: self.re * o.im + self.im * o.re,
        }
    }
    pub(super) fn scaled(self, factor: f64) -> Self {
        Self {
            re: self.re * factor,
            im: self.im * factor,
        }
    }
    fn conjugate(self) -> Self {
        Self {
            re: self.re,
            im: -self.im,
        }
    }
    pub(super) fn size(self) -> f64 {
        libm::hypot(self.re, self.im)
    }
}

/// Weighted least squares of `V = H + D e`: the solution and what its covariance needs.
pub(super) struct Separation {
    pub(super) hub: Complex,
    pub(super) disc: Complex,
    /// Sum of the weights, and the weighted sum of the unit vectors.
    weight: f64,
    turn: Complex,
    determinant: f64,
}

impl Separation {
    /// `None` when all rings share one clocking.
    pub(super) fn of(rings: &[(Complex, Phasor)]) -> Option<Self> {
        let (mut weight, mut determinant) = (0.0, 0.0);
        let nothing = Complex { re: 0.0, im: 0.0 };
        let (mut turn, mut sum, mut turned) = (nothing, nothing, nothing);
        for (i, (e, v)) in rings.iter().enumerate() {
            let w = 1.0 / v.variance;
            let value = Complex { re: v.a, im: v.b };
            weight += w;
            turn = turn.plus(e.scaled(w));
            sum = sum.plus(value.scaled(w));
            turned = turned.plus(e.conjugate().times(value).scaled(w));
            // W² − |Σwe|² as a sum of squares: exactly zero when every clocking is the same.
            for (f, x) in rings.get(..i).unwrap_or_default() {
                let arm = e.minus(*f).size();
                determinant += w * arm * arm / x.variance;
            }
        }
        if determinant <= 1e-9 * weight * weight {
            return None;
        }
        let hub = sum
            .scaled(weight)
            .minus(turn.times(turned))
            .scaled(1.0 / determinant);
        let disc = turned
            .scaled(weight)
            .minus(turn.conjugate().times(sum))
            .scaled(1.0 / determinant);
        Some(Self {
            hub,
            disc,
            weight,
            turn,
            determinant,
        })
    }

    pub(super) fn predict(&self, e: Complex) -> Complex {
        self.hub.plus(self.disc.times(e))
    }

    /// Variance of either part of hub or disc alone.
    pub(super) fn variance_alone(&self) -> f64 {
        self.weight / self.determinant
    }

    /// Variance of either part of the prediction at `e`.
    pub(super) fn variance_at(&self, e: Complex) -> f64 {
        let common = self.turn.conjugate().times(e).re;
        2.0 * (self.weight - common) / self.determinant
    }
}
