//! Shared by the outside checks: a small random generator and gauges.

#![allow(dead_code, clippy::unwrap_used)] // each test binary uses a part of it

use brakecorner::measure::uncertainty::Gauge;
use brakecorner::units::Length;

/// SplitMix64: the same numbers on every machine, no dependency.
pub(crate) struct Random(u64);

impl Random {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed)
    }

    pub(crate) fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Uniform between `low` and `high`.
    pub(crate) fn uniform(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// A whole number from 0 to `n − 1`.
    pub(crate) fn below(&mut self, n: u64) -> u64 {
        self.bits() % n
    }

    /// A normal variate (Box–Muller).
    pub(crate) fn normal(&mut self, mean: f64, sd: f64) -> f64 {
        let u = self.uniform(f64::MIN_POSITIVE, 1.0).max(1e-300);
        let v = self.uniform(0.0, std::f64::consts::TAU);
        mean + sd * (-2.0 * u.ln()).sqrt() * v.cos()
    }
}

pub(crate) fn um(v: i64) -> Length {
    Length::from_nm(v * 1000)
}

pub(crate) fn mm(v: f64) -> Length {
    Length::from_mm(v).unwrap()
}

/// A micrometer or dial indicator of the common class.
pub(crate) fn gauge() -> Gauge {
    Gauge {
        mpe: um(4),
        resolution: um(1),
        repeatability: um(1),
        zero_check: um(1),
        repeatability_dof: None,
    }
}

/// Columns of a small comma-separated file with one header line.
pub(crate) fn columns<const N: usize>(text: &str) -> Vec<[f64; N]> {
    text.lines()
        .skip(1)
        .map(|line| {
            let mut row = [f64::NAN; N];
            for (cell, field) in row.iter_mut().zip(line.split(',')) {
                *cell = match field {
                    "inf" => f64::INFINITY,
                    number => number.parse().unwrap(),
                };
            }
            row
        })
        .collect()
}

/// Asserts that two numbers agree to `digits` significant digits.
#[track_caller]
pub(crate) fn same_digits(what: &str, got: f64, want: f64, digits: i32) {
    let allowed = 0.5 * want.abs() * 10f64.powi(1 - digits);
    assert!(
        (got - want).abs() <= allowed,
        "{what}: {got:.17e}, expected {want:.17e}"
    );
}

/// Asserts that a number rounds to the printed one.
#[track_caller]
pub(crate) fn prints_as(what: &str, got: f64, printed: f64, decimals: i32) {
    let half = 0.500_000_1 * 10f64.powi(-decimals);
    assert!(
        (got - printed).abs() <= half,
        "{what}: {got}, printed {printed}"
    );
}
