//! Normal, Student t, χ² and range distributions on `libm` alone.
//!
//! Written here and not taken from a statistics crate because those switch to the platform's
//! mathematical functions when another dependency turns a feature on, and then a stored result
//! could differ between machines. Checked against published tables and, in `tests/outside_scipy.rs`,
//! against an independent implementation.
//!
//! Every function returns `NaN` for arguments outside its domain (a probability outside 0 to 1, a
//! degree of freedom or shape outside 0.01 to 10⁷, except that Student's t has no upper one); the
//! models check theirs before they call.

use std::f64::consts::{FRAC_1_SQRT_2, PI};

const LN_SQRT_2PI: f64 = 0.918_938_533_204_672_8;

/// Whether degrees of freedom, or a shape, are within the domain; false for `NaN`.
fn usable(dof: f64) -> bool {
    (0.01..=1e7).contains(&dof)
}

/// Density of the standard normal distribution.
#[must_use]
pub fn normal_density(z: f64) -> f64 {
    libm::exp(-0.5 * z * z - LN_SQRT_2PI)
}

/// Probability that a standard normal variate is at most `z`.
#[must_use]
pub fn normal_cdf(z: f64) -> f64 {
    0.5 * libm::erfc(-z * FRAC_1_SQRT_2)
}

/// The `z` below which a standard normal variate lies with probability `p`.
///
/// Rational starting value, then Halley steps on [`normal_cdf`] in the smaller tail.
///
/// ```
/// use brakecorner::measure::special::normal_quantile;
///
/// // One-sided factors, JCGM 106:2012 7.3 Table 1 (secondary).
/// for (p, z) in [(0.80, 0.84), (0.90, 1.28), (0.95, 1.64), (0.99, 2.33), (0.999, 3.09)] {
///     assert!((normal_quantile(p) - z).abs() < 0.006);
/// }
/// ```
#[must_use]
pub fn normal_quantile(p: f64) -> f64 {
    if !(0.0..=1.0).contains(&p) {
        return f64::NAN;
    }
    if p == 0.0 {
        return f64::NEG_INFINITY;
    }
    if p >= 1.0 {
        return f64::INFINITY;
    }
    if p > 0.5 {
        return -lower_tail_quantile(1.0 - p);
    }
    lower_tail_quantile(p)
}

/// `z` for a lower tail `p` of at most one half.
fn lower_tail_quantile(p: f64) -> f64 {
    if (p - 0.5).abs() < f64::EPSILON / 4.0 {
        return 0.0;
    }
    // Hastings' rational start (error below 4.5e-4), refined to the last bit but one or two.
    let t = (-2.0 * libm::log(p)).sqrt();
    let mut z = -(t
        - (2.515_517 + t * (0.802_853 + t * 0.010_328))
            / (1.0 + t * (1.432_788 + t * (0.189_269 + t * 0.001_308))));
    for _ in 0..4 {
        let error = (normal_cdf(z) - p) / normal_density(z);
        if !error.is_finite() {
            break;
        }
        z -= error / (1.0 + 0.5 * z * error);
    }
    z
}

/// `ln Γ(n+1) − [(n+½) ln n − n + ln √(2π)]`: what Stirling's formula leaves out.
fn stirling_error(n: f64) -> f64 {
    if n < 16.0 {
        return libm::lgamma(n + 1.0) - (n + 0.5) * libm::log(n) + n - LN_SQRT_2PI;
    }
    let n2 = n * n;
    let terms = [
        1.0 / 12.0,
        -1.0 / 360.0,
        1.0 / 1260.0,
        -1.0 / 1680.0,
        1.0 / 1188.0,
    ];
    terms.iter().rev().fold(0.0, |sum, term| sum / n2 + term) / n
}

/// `x ln(x/m) + m − x` without cancellation near `x = m` (Loader 2000, from memory).
fn deviance(x: f64, m: f64) -> f64 {
    let difference = x - m;
    if difference.abs() >= 0.1 * (x + m) {
        return if x > 0.0 {
            x * libm::log(x / m) - difference
        } else {
            m
        };
    }
    let v = difference / (x + m);
    let mut sum = difference * v;
    let mut term = 2.0 * x * v;
    for j in 1..200 {
        term *= v * v;
        let next = sum + term / f64::from(2 * j + 1);
        if (next - sum).abs() <= f64::EPSILON * sum.abs() {
            break;
        }
        sum = next;
    }
    sum
}

/// `x^a (1−x)^b / B(a, b)`, accurate for large `a` and `b`.
fn beta_kernel(a: f64, b: f64, x: f64, y: f64) -> f64 {
    let n = a + b;
    let exponent = stirling_error(n)
        - stirling_error(a)
        - stirling_error(b)
        - deviance(a, n * x)
        - deviance(b, n * y);
    (a * b / (2.0 * PI * n)).sqrt() * libm::exp(exponent)
}

/// Regularised incomplete beta function `I_x(a, b)` with `y = 1 − x` given separately.
fn incomplete_beta(a: f64, b: f64, x: f64, y: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    if y <= 0.0 {
        return 1.0;
    }
    if x > (a + 1.0) / (a + b + 2.0) {
        return 1.0 - beta_fraction(b, a, y, x);
    }
    beta_fraction(a, b, x, y)
}

/// `I_x(a, b)` by its continued fraction (modified Lentz), for `x` below the mean.
fn beta_fraction(a: f64, b: f64, x: f64, y: f64) -> f64 {
    const TINY: f64 = 1e-300;
    let guard = |v: f64| if v.abs() < TINY { TINY } else { v };
    let mut c = 1.0;
    let mut d = 1.0 / guard(1.0 - (a + b) * x / (a + 1.0));
    let mut fraction = d;
    for step in 1..20_000 {
        let m = f64::from(step);
        let a2 = a + 2.0 * m;
        let even = m * (b - m) * x / ((a2 - 1.0) * a2);
        d = 1.0 / guard(1.0 + even * d);
        c = guard(1.0 + even / c);
        fraction *= d * c;
        let odd = -(a + m) * (a + b + m) * x / (a2 * (a2 + 1.0));
        d = 1.0 / guard(1.0 + odd * d);
        c = guard(1.0 + odd / c);
        let change = d * c;
        fraction *= change;
        if (change - 1.0).abs() < 1e-16 {
            break;
        }
    }
    beta_kernel(a, b, x, y) * fraction / a
}

/// Degrees of freedom from which Student's t is computed by expansion around the normal
/// distribution (error below 1e-15 there).
const MANY: f64 = 1e5;

/// The upper tail of Student's t for `t ≥ 0`.
fn student_t_tail(t: f64, dof: f64) -> f64 {
    if dof.is_infinite() {
        return normal_cdf(-t);
    }
    if dof > MANY {
        return normal_cdf(-hill_normal(t, dof));
    }
    let t2 = t * t;
    if t2.is_infinite() {
        return 0.0;
    }
    0.5 * incomplete_beta(0.5 * dof, 0.5, dof / (dof + t2), t2 / (dof + t2))
}

/// The normal deviate with nearly the same tail as `t` (Hill 1970, from memory).
fn hill_normal(t: f64, dof: f64) -> f64 {
    let a = dof - 0.5;
    let b = 48.0 * a * a;
    let w2 = a * libm::log1p(t * t / dof);
    let w = w2.sqrt();
    let higher = (((4.0 * w2 + 33.0) * w2 + 240.0) * w2 + 855.0) * w;
    w + (w2 + 3.0) * w / b - higher / (10.0 * b * (b + 0.8 * w2 * w2 + 100.0))
}

/// Probability that Student's t with `dof` degrees of freedom is at most `t`; infinite degrees of
/// freedom give the normal distribution.
#[must_use]
pub fn student_t_cdf(t: f64, dof: f64) -> f64 {
    if !(usable(dof) || dof > MANY) || t.is_nan() {
        return f64::NAN;
    }
    if t >= 0.0 {
        1.0 - student_t_tail(t, dof)
    } else {
        student_t_tail(-t, dof)
    }
}

fn student_t_density(t: f64, dof: f64) -> f64 {
    if dof > MANY {
        return normal_density(t);
    }
    let half = 0.5 * dof;
    // beta_kernel(½ν, ½, x, 1−x) = x^{ν/2} (1−x)^{1/2} / B, and f(t) = x^{(ν+1)/2} / (√ν B).
    let x = dof / (dof + t * t);
    if t == 0.0 {
        let ln = libm::lgamma(half + 0.5) - libm::lgamma(half) - 0.5 * libm::log(dof * PI);
        return libm::exp(ln);
    }
    beta_kernel(half, 0.5, x, t * t / (dof + t * t)) * x.sqrt()
        / (t.abs() / (dof + t * t).sqrt())
        / dof.sqrt()
}

/// The `t` below which Student's t with `dof` degrees of freedom lies with probability `p`.
///
/// ```
/// use brakecorner::measure::special::student_t_quantile;
///
/// // JCGM 100:2008 Table G.2: t99(16) = 2.92, two-sided.
/// assert!((student_t_quantile(0.995, 16.0) - 2.92).abs() < 0.005);
/// ```
#[must_use]
pub fn student_t_quantile(p: f64, dof: f64) -> f64 {
    if !(usable(dof) || dof > MANY) || !(0.0..=1.0).contains(&p) {
        return f64::NAN;
    }
    if dof.is_infinite() {
        return normal_quantile(p);
    }
    let tail = p.min(1.0 - p);
    let sign = if p < 0.5 { -1.0 } else { 1.0 };
    if tail <= 0.0 {
        return sign * f64::INFINITY;
    }
    sign * invert(
        |t| student_t_tail(t, dof) - tail,
        |t| -student_t_density(t, dof),
        -lower_tail_quantile(tail),
    )
}

/// The root of a function that falls from a positive value at 0 to a negative one, by Newton steps
/// kept inside a bracket. The bracket halves on a logarithmic scale while it spans many orders.
fn invert(f: impl Fn(f64) -> f64, slope: impl Fn(f64) -> f64, start: f64) -> f64 {
    let mut low = 0.0;
    let mut high = start.max(1.0);
    while f(high) > 0.0 {
        low = high;
        high *= 2.0;
        if high > 1e300 {
            return f64::INFINITY;
        }
    }
    let mut x = if start > low && start < high {
        start
    } else {
        0.5 * (low + high)
    };
    for _ in 0..400 {
        let value = f(x);
        if value > 0.0 {
            low = x;
        } else {
            high = x;
        }
        let newton = x - value / slope(x);
        if value == 0.0 || (newton - x).abs() <= 4e-16 * x.abs() {
            return newton;
        }
        let halved = if low > 0.0 && high > 16.0 * low {
            (low * high).sqrt()
        } else {
            0.5 * (low + high)
        };
        let next = if newton > low && newton < high {
            newton
        } else {
            halved
        };
        if (next - x).abs() <= 4e-16 * x.abs() {
            return next;
        }
        x = next;
    }
    x
}

/// Regularised incomplete gamma functions `(P, Q)` of shape `a` at `x`.
fn incomplete_gamma(a: f64, x: f64) -> (f64, f64) {
    if x <= 0.0 {
        return (0.0, 1.0);
    }
    if x.is_infinite() {
        return (1.0, 0.0);
    }
    // x^a e^{-x} / Γ(a+1), by deviance so that large a keeps its digits.
    let kernel = libm::exp(-stirling_error(a) - deviance(a, x)) / (2.0 * PI * a).sqrt();
    if x < a + 1.0 {
        let mut term = 1.0;
        let mut sum = 1.0;
        let mut n = a;
        for _ in 0..30_000 {
            n += 1.0;
            term *= x / n;
            sum += term;
            if term < sum * 1e-17 {
                break;
            }
        }
        let p = kernel * sum;
        return (p, 1.0 - p);
    }
    const TINY: f64 = 1e-300;
    let guard = |v: f64| if v.abs() < TINY { TINY } else { v };
    let mut b = x + 1.0 - a;
    let mut c = 1.0 / TINY;
    let mut d = 1.0 / guard(b);
    let mut fraction = d;
    for step in 1..30_000 {
        let i = f64::from(step);
        let an = -i * (i - a);
        b += 2.0;
        d = 1.0 / guard(an * d + b);
        c = guard(b + an / c);
        let change = d * c;
        fraction *= change;
        if (change - 1.0).abs() < 1e-16 {
            break;
        }
    }
    let q = kernel * a * fraction;
    (1.0 - q, q)
}

/// Probability that a gamma variate of the given shape and scale is at most `x`.
#[must_use]
pub fn gamma_cdf(x: f64, shape: f64, scale: f64) -> f64 {
    if !usable(shape) || scale.is_nan() || scale <= 0.0 || x.is_nan() {
        return f64::NAN;
    }
    incomplete_gamma(shape, x / scale).0
}

/// Probability that χ² with `dof` degrees of freedom is at most `x`.
#[must_use]
pub fn chi_squared_cdf(x: f64, dof: f64) -> f64 {
    gamma_cdf(x, 0.5 * dof, 2.0)
}

/// Probability that χ² with `dof` degrees of freedom exceeds `x`.
#[must_use]
pub fn chi_squared_tail(x: f64, dof: f64) -> f64 {
    if !usable(dof) || x.is_nan() {
        return f64::NAN;
    }
    incomplete_gamma(0.5 * dof, 0.5 * x).1
}

/// The value χ² with `dof` degrees of freedom stays below with probability `p`.
///
/// ```
/// use brakecorner::measure::special::chi_squared_quantile;
///
/// assert!((chi_squared_quantile(0.95, 1.0) - 3.841_458_820_694).abs() < 1e-9);
/// ```
#[must_use]
pub fn chi_squared_quantile(p: f64, dof: f64) -> f64 {
    if !usable(dof) || !(0.0..=1.0).contains(&p) {
        return f64::NAN;
    }
    if p == 0.0 || p >= 1.0 {
        return if p == 0.0 { 0.0 } else { f64::INFINITY };
    }
    let half = 0.5 * dof;
    let density = |x: f64| {
        libm::exp(-stirling_error(half) - deviance(half, 0.5 * x)) / (2.0 * PI * half).sqrt() * half
            / x
    };
    // Wilson and Hilferty's start.
    let z = normal_quantile(p);
    let cube = 1.0 - 2.0 / (9.0 * dof) + z * (2.0 / (9.0 * dof)).sqrt();
    let start = dof * (cube * cube * cube).max(1e-6);
    if p < 0.5 {
        invert(
            |x| p - incomplete_gamma(half, 0.5 * x).0,
            |x| -density(x),
            start,
        )
    } else {
        let tail = 1.0 - p;
        invert(
            |x| incomplete_gamma(half, 0.5 * x).1 - tail,
            |x| -density(x),
            start,
        )
    }
}

/// Probability that Fisher's F with `d1` and `d2` degrees of freedom is at most `x`.
#[must_use]
pub fn fisher_cdf(x: f64, d1: f64, d2: f64) -> f64 {
    if !usable(d1) || !usable(d2) || x.is_nan() {
        return f64::NAN;
    }
    if x <= 0.0 {
        return 0.0;
    }
    if x.is_infinite() {
        return 1.0;
    }
    let n = d1 * x + d2;
    incomplete_beta(0.5 * d1, 0.5 * d2, d1 * x / n, d2 / n)
}

/// Probability that Fisher's F with `d1` and `d2` degrees of freedom exceeds `x`.
#[must_use]
pub fn fisher_tail(x: f64, d1: f64, d2: f64) -> f64 {
    fisher_cdf(1.0 / x, d2, d1)
}

/// The value Fisher's F with `d1` and `d2` degrees of freedom stays below with probability `p`.
#[must_use]
pub fn fisher_quantile(p: f64, d1: f64, d2: f64) -> f64 {
    if !usable(d1) || !usable(d2) || !(0.0..=1.0).contains(&p) {
        return f64::NAN;
    }
    if p == 0.0 || p >= 1.0 {
        return if p == 0.0 { 0.0 } else { f64::INFINITY };
    }
    let density = |x: f64| {
        let n = d1 * x + d2;
        beta_kernel(0.5 * d1, 0.5 * d2, d1 * x / n, d2 / n) / x
    };
    if p < 0.5 {
        invert(|x| p - fisher_cdf(x, d1, d2), |x| -density(x), 1.0)
    } else {
        invert(|x| fisher_tail(x, d1, d2) - (1.0 - p), |x| -density(x), 1.0)
    }
}

/// Probability that the range of `n` standard normal variates is at most `q`.
///
/// Formula: `n ∫ φ(z) [Φ(z+q) − Φ(z)]^{n−1} dz`. The trapezium rule on an entire function that has
/// died out at both ends converges exponentially: a step of 0.2 leaves less than 1e-13.
fn range_cdf(q: f64, n: u32) -> f64 {
    if q <= 0.0 {
        return 0.0;
    }
    const STEP: f64 = 0.2;
    let sum: f64 = (-42..=42)
        .map(|i| {
            let z = STEP * f64::from(i);
            let between = normal_cdf(z + q) - normal_cdf(z);
            normal_density(z) * whole_power(between, n - 1)
        })
        .sum();
    f64::from(n) * sum * STEP
}

/// The mean range of `n` standard normal readings, in units of their standard deviation: the d₂ of
/// control charts; `NaN` for fewer than two readings.
///
/// Formula: `∫ 1 − Φ(z)ⁿ − (1 − Φ(z))ⁿ dz`.
///
/// ```
/// use brakecorner::measure::special::range_mean;
///
/// assert!((range_mean(10) - 3.078).abs() < 0.0005);
/// ```
#[must_use]
pub fn range_mean(n: u32) -> f64 {
    if n < 2 {
        return f64::NAN;
    }
    const STEP: f64 = 0.1;
    let sum: f64 = (-100..=100)
        .map(|i| {
            let z = STEP * f64::from(i);
            1.0 - whole_power(normal_cdf(z), n) - whole_power(normal_cdf(-z), n)
        })
        .sum();
    sum * STEP
}

/// `base^exponent` by repeated squaring: only multiplications, so the same bits everywhere.
pub(crate) fn whole_power(base: f64, exponent: u32) -> f64 {
    let (mut result, mut factor, mut left) = (1.0, base, exponent);
    while left > 0 {
        if left % 2 == 1 {
            result *= factor;
        }
        factor *= factor;
        left /= 2;
    }
    result
}

/// The range that `n` standard normal readings stay below with probability `p`, in units of their
/// standard deviation; `NaN` for fewer than two readings.
///
/// ```
/// use brakecorner::measure::special::range_quantile;
///
/// assert!((range_quantile(0.95, 8) - 4.29).abs() < 0.005);
/// assert!((range_quantile(0.95, 10) - 4.47).abs() < 0.005);
/// ```
#[must_use]
pub fn range_quantile(p: f64, n: u32) -> f64 {
    if n < 2 || !(p > 0.0 && p < 1.0) {
        return f64::NAN;
    }
    // Secant steps; the distribution is smooth and nearly normal in its body.
    let (mut low, mut high) = (0.0, 20.0);
    let mut q = 3.0;
    let mut last: Option<(f64, f64)> = None;
    for _ in 0..200 {
        let error = range_cdf(q, n) - p;
        if error > 0.0 {
            high = q;
        } else {
            low = q;
        }
        let secant = last.map_or(f64::NAN, |(q0, e0)| q - error * (q - q0) / (error - e0));
        last = Some((q, error));
        let next = if secant > low && secant < high {
            secant
        } else {
            0.5 * (low + high)
        };
        if (next - q).abs() < 1e-12 {
            return next;
        }
        q = next;
    }
    q
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn range_quantiles_agree_with_the_studentized_range_tables() {
        // Source: studentized-range tables with infinite degrees of freedom (computed).
        for (n, q) in [(4, 3.63), (8, 4.29), (10, 4.47), (12, 4.62)] {
            assert!((range_quantile(0.95, n) - q).abs() < 0.005, "n = {n}");
        }
    }

    #[test]
    fn quantiles_invert_their_distributions() {
        for p in [1e-9, 0.001, 0.05, 0.3, 0.5, 0.7, 0.95, 0.999] {
            assert!(
                (normal_cdf(normal_quantile(p)) - p).abs() < 1e-15 + 1e-13 * p,
                "normal {p}"
            );
            for dof in [0.5, 1.0, 2.0, 3.0, 10.0, 250.0, 1e6] {
                let t = student_t_quantile(p, dof);
                assert!((student_t_cdf(t, dof) - p).abs() < 1e-13, "t {p} {dof} {t}");
                let x = chi_squared_quantile(p, dof);
                assert!(
                    (chi_squared_cdf(x, dof) - p).abs() < 1e-12,
                    "chi2 {p} {dof} {x}"
                );
                let f = fisher_quantile(p, dof, 7.0);
                assert!(
                    (fisher_cdf(f, dof, 7.0) - p).abs() < 1e-11,
                    "F {p} {dof} {f}"
                );
            }
        }
    }

    #[test]
    fn arguments_outside_the_domain_give_nan() {
        assert!(normal_quantile(1.5).is_nan());
        assert!(student_t_quantile(0.9, 0.0).is_nan());
        assert!(student_t_cdf(f64::NAN, 2.0).is_nan());
        assert!(chi_squared_quantile(-0.1, 2.0).is_nan());
        assert!(range_quantile(0.95, 1).is_nan());
    }
}
