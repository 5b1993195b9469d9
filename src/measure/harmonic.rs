//! Least-squares fit of one turn: a tilt is a cosine of the angle.
//!
//! Model `r(θ) = c + a cos hθ + b sin hθ`; amplitude `A = √(a² + b²)`, high spot `φ = atan2(b, a)/h`.
//! For evenly spaced points the least-squares solution is the discrete Fourier coefficient
//! `a = (2/N) Σ r cos hθ`; uneven or missing angles go through the normal equations.

use serde::{Deserialize, Serialize};

use crate::measure::MeasureError;
use crate::measure::error::Problems;
use crate::units::{Angle, Length};

/// One order of a ring: how much it swings, and where it is highest.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Harmonic {
    /// Twice the amplitude.
    pub peak_to_peak: Length,
    /// The first place of the highest value, from 0° on.
    pub high_spot: Angle,
}

/// Coefficients of a fit, in the unit of its readings.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Fit {
    /// Constant term.
    pub(crate) constant: f64,
    /// `(a, b)` of each order asked for.
    pub(crate) terms: Vec<(f64, f64)>,
    /// Inverse of the normal matrix, row by row: times σ² it is the covariance.
    pub(crate) inverse: Vec<Vec<f64>>,
}

const DEGREE: f64 = std::f64::consts::PI / 180.0;

/// Even angles over one turn, in degrees.
#[allow(clippy::cast_precision_loss)]
pub(crate) fn even_degrees(n: usize) -> Vec<f64> {
    (0..n).map(|i| 360.0 * i as f64 / n as f64).collect()
}

/// Cosine and sine of an angle in degrees.
pub(crate) fn cos_sin(degrees: f64) -> (f64, f64) {
    let (sin, cos) = libm::sincos(degrees * DEGREE);
    (cos, sin)
}

/// Cosine and sine of each angle, computed once for all orders of a fit.
pub(crate) fn directions(degrees: &[f64]) -> Vec<(f64, f64)> {
    degrees.iter().map(|&d| cos_sin(d)).collect()
}

/// Cosine and sine of `order` times an angle, from those of the angle.
pub(crate) fn multiple((cos, sin): (f64, f64), order: u32) -> (f64, f64) {
    (1..order).fold((cos, sin), |(c, s), _| {
        (c * cos - s * sin, c * sin + s * cos)
    })
}

/// Direction of a phasor in degrees, 0 to 360.
pub(crate) fn direction(a: f64, b: f64) -> f64 {
    let degrees = libm::atan2(b, a) / DEGREE;
    if degrees < 0.0 {
        degrees + 360.0
    } else {
        degrees
    }
}

/// Fits a constant and the given orders to `values` in `directions` by least squares.
///
/// `None` when there are fewer points than coefficients or the angles cannot tell them apart.
pub(crate) fn fit(values: &[f64], directions: &[(f64, f64)], orders: &[u32]) -> Option<Fit> {
    let columns = 1 + 2 * orders.len();
    if values.len() < columns || values.len() != directions.len() {
        return None;
    }
    let mut normal = vec![vec![0.0; columns]; columns];
    let mut right = vec![0.0; columns];
    // Centred values keep the sums small; the constant takes the centre back afterwards.
    let centre = values.iter().sum::<f64>() / count(values.len());
    let mut row = vec![1.0; columns];
    for (&value, &direction) in values.iter().zip(directions) {
        for (pair, &order) in row.get_mut(1..)?.chunks_mut(2).zip(orders) {
            let (cos, sin) = multiple(direction, order);
            pair.copy_from_slice(&[cos, sin]);
        }
        for ((line, total), &x) in normal.iter_mut().zip(&mut right).zip(&row) {
            *total += x * (value - centre);
            for (cell, &y) in line.iter_mut().zip(&row) {
                *cell += x * y;
            }
        }
    }
    let inverse = invert(normal)?;
    let solution: Vec<f64> = inverse
        .iter()
        .map(|line| line.iter().zip(&right).map(|(i, r)| i * r).sum())
        .collect();
    let (constant, rest) = solution.split_first()?;
    let terms = rest
        .chunks(2)
        .filter_map(|p| Some((*p.first()?, *p.get(1)?)))
        .collect();
    Some(Fit {
        constant: constant + centre,
        terms,
        inverse,
    })
}

#[allow(clippy::cast_precision_loss)]
pub(crate) fn count(n: usize) -> f64 {
    n as f64
}

/// Inverts a small symmetric positive matrix by Gauss–Jordan with pivoting; `None` when a pivot is
/// so small that the answer would be noise.
pub(crate) fn invert(mut matrix: Vec<Vec<f64>>) -> Option<Vec<Vec<f64>>> {
    let n = matrix.len();
    let largest = matrix.iter().flatten().fold(0.0f64, |m, v| m.max(v.abs()));
    let mut inverse: Vec<Vec<f64>> = (0..n)
        .map(|i| (0..n).map(|j| if i == j { 1.0 } else { 0.0 }).collect())
        .collect();
    for column in 0..n {
        let pivot = (column..n).max_by(|&p, &q| {
            cell(&matrix, p, column)
                .abs()
                .total_cmp(&cell(&matrix, q, column).abs())
        })?;
        matrix.swap(column, pivot);
        inverse.swap(column, pivot);
        let scale = cell(&matrix, column, column);
        if scale.is_nan() || scale.abs() <= 1e-9 * largest {
            return None;
        }
        for line in [matrix.get_mut(column)?, inverse.get_mut(column)?] {
            line.iter_mut().for_each(|v| *v /= scale);
        }
        let (pivot_line, pivot_inverse) =
            (matrix.get(column)?.clone(), inverse.get(column)?.clone());
        for other in (0..n).filter(|&r| r != column) {
            let factor = cell(&matrix, other, column);
            for (v, p) in matrix.get_mut(other)?.iter_mut().zip(&pivot_line) {
                *v -= factor * p;
            }
            for (v, p) in inverse.get_mut(other)?.iter_mut().zip(&pivot_inverse) {
                *v -= factor * p;
            }
        }
    }
    Some(inverse)
}

fn cell(matrix: &[Vec<f64>], row: usize, column: usize) -> f64 {
    matrix
        .get(row)
        .and_then(|r| r.get(column))
        .copied()
        .unwrap_or(0.0)
}

impl Fit {
    /// The fitted value in a direction, for the given orders (those of the fit).
    pub(crate) fn at(&self, direction: (f64, f64), orders: &[u32]) -> f64 {
        self.terms
            .iter()
            .zip(orders)
            .fold(self.constant, |sum, (&(a, b), &order)| {
                let (cos, sin) = multiple(direction, order);
                sum + a * cos + b * sin
            })
    }
}

/// Order `order` of evenly spaced values in mm; `None` with fewer than `2·order + 1` points.
pub(crate) fn order_of(values_mm: &[f64], order: u32) -> Option<Harmonic> {
    let fit = fit(
        values_mm,
        &directions(&even_degrees(values_mm.len())),
        &[order],
    )?;
    harmonic(*fit.terms.first()?, order)
}

/// Amplitude and high spot of a coefficient pair in mm.
pub(crate) fn harmonic((a, b): (f64, f64), order: u32) -> Option<Harmonic> {
    Some(Harmonic {
        peak_to_peak: Length::from_mm(2.0 * libm::hypot(a, b))?,
        high_spot: Angle::from_degrees(direction(a, b) / f64::from(order.max(1)))?.wrapped(),
    })
}

/// Checks the angles of a ring: one for each point, none twice.
pub(crate) fn check_angles(angles: &[Angle], points: usize) -> Result<(), MeasureError> {
    let mut problems = Problems::default();
    problems.check(angles.len() == points, || MeasureError::CountMismatch {
        what: "angles of a ring",
        found: angles.len(),
        expected: points,
    });
    let mut sorted: Vec<(Angle, usize)> = angles
        .iter()
        .enumerate()
        .map(|(i, a)| (a.wrapped(), i + 1))
        .collect();
    sorted.sort();
    for pair in sorted.windows(2) {
        if let [(angle, first), (again, second)] = pair
            && angle == again
        {
            problems.push(MeasureError::RepeatedAngle {
                angle: *angle,
                first: *first,
                second: *second,
            });
        }
    }
    problems.finish()
}

/// The widest gap between neighbouring angles, as (from, to, width).
pub(crate) fn widest_gap(angles: &[Angle]) -> Option<(Angle, Angle, Angle)> {
    let mut sorted: Vec<Angle> = angles.iter().map(|a| a.wrapped()).collect();
    sorted.sort();
    let first = *sorted.first()?;
    let last = *sorted.last()?;
    let around = Angle::from_centidegrees(36_000) - last + first;
    sorted
        .windows(2)
        .filter_map(|w| Some((*w.first()?, *w.get(1)?, *w.get(1)? - *w.first()?)))
        .chain([(last, first, around)])
        .max_by_key(|gap| gap.2)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_even_ring_gives_the_hand_worked_fit() {
        // Worked by hand: 8 points, a = -0.02452, b = 0.01457, high spot 149.3°.
        let ring = [0.0, 0.018, 0.040, 0.052, 0.050, 0.032, 0.010, -0.002];
        let fit = fit(&ring, &directions(&even_degrees(8)), &[1]).unwrap();
        let (a, b) = fit.terms[0];
        assert!(
            (a + 0.02452).abs() < 5e-6 && (b - 0.01457).abs() < 5e-6,
            "{a} {b}"
        );
        assert!((direction(a, b) - 149.0).abs() < 0.5);
        assert!((fit.constant - 0.025).abs() < 1e-12);
    }

    #[test]
    fn uneven_angles_recover_the_cosine_exactly() {
        let degrees = [0.0, 17.0, 80.0, 133.0, 201.0, 299.0];
        let ring: Vec<f64> = degrees
            .iter()
            .map(|d| {
                let (c, s) = cos_sin(*d);
                0.3 + 0.02 * c - 0.05 * s
            })
            .collect();
        let (a, b) = fit(&ring, &directions(&degrees), &[1]).unwrap().terms[0];
        assert!((a - 0.02).abs() < 1e-12 && (b + 0.05).abs() < 1e-12);
    }

    #[test]
    fn too_few_points_have_no_fit() {
        assert!(fit(&[0.0, 1.0], &directions(&[0.0, 180.0]), &[1]).is_none());
        assert!(fit(&[0.0; 4], &directions(&even_degrees(4)), &[1, 2]).is_none());
        assert!(order_of(&[0.0; 4], 2).is_none());
    }
}
