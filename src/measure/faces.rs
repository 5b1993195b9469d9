//! More about a disc's faces: lips, taper, skimming, two indicators.

use serde::{Deserialize, Serialize};

use crate::measure::conformity::{Bound, Conformity, conformity};
use crate::measure::disc::Thickness;
use crate::measure::error::Problems;
use crate::measure::harmonic::count;
use crate::measure::uncertainty::{Budget, Contribution, Distribution, Gauge};
use crate::measure::{MeasureError, extremes, length, mean, micro, risk, uncertainty};
use crate::units::Length;

/// Lips and micrometer agree when they close within this much (own).
pub const LIP_CLOSURE_ALLOWED: Length = Length::from_nm(50_000);
/// One face losing this many times as much as the other is worth a look (own).
pub const FACE_RATIO: f64 = 1.5;

/// What each face of a disc has lost.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct FaceWear {
    /// Mean depth of the outer face below its unworn lip.
    pub outer: Length,
    /// Mean depth of the inner face below its unworn lip.
    pub inner: Length,
    /// Both depths together minus (new size − mean thickness).
    pub closure: Length,
    /// Whether the closure is within 0.05 mm; if not, a wrong new size, a machined disc or a wrong lip
    /// reading.
    pub closes: bool,
    /// The larger loss over the smaller, to six decimals; `None` when one face lost nothing.
    pub ratio: Option<f64>,
}

/// Loss of each face from the depth of the swept band below the lip.
///
/// Shape: one or more depths a face. Formula: means; closure `outer + inner − (new − mean
/// thickness)`. Source: common practice; the allowance is this project's own.
///
/// # Errors
/// [`MeasureError`] for a face without a depth, a negative depth, or a mean thickness that is not
/// above zero; all of them at once.
///
/// ```
/// use brakecorner::measure::faces::lips;
/// use brakecorner::units::Length;
///
/// let um = |v: i64| Length::from_nm(v * 1000);
/// let w = lips(&[um(860)], &[um(1_010)], um(24_000), um(22_130))?;
/// assert!(w.closes && w.closure == Length::ZERO);
/// assert_eq!(w.ratio, Some(1.174_419));
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn lips(
    outer: &[Length],
    inner: &[Length],
    new: Length,
    t_mean: Length,
) -> Result<FaceWear, MeasureError> {
    let mut problems = Problems::default();
    for (what, depths) in [("outer lip depths", outer), ("inner lip depths", inner)] {
        problems.check(!depths.is_empty(), || MeasureError::TooFew {
            what,
            found: 0,
            needed: 1,
        });
        for &value in depths {
            problems.check(value >= Length::ZERO, || MeasureError::Negative {
                what: what.to_owned(),
                value,
            });
        }
    }
    for (what, value) in [("new size", new), ("mean thickness", t_mean)] {
        problems.check(value > Length::ZERO, || MeasureError::NotPositive {
            what: what.to_owned(),
            value,
        });
    }
    problems.finish()?;
    let of = |depths| mean(depths).unwrap_or(Length::ZERO);
    let (outer, inner) = (of(outer), of(inner));
    let closure = outer + inner - (new - t_mean);
    let (less, more) = (outer.min(inner), outer.max(inner));
    Ok(FaceWear {
        outer,
        inner,
        closure,
        closes: closure.abs() <= LIP_CLOSURE_ALLOWED,
        ratio: (less > Length::ZERO).then(|| micro(more.mm() / less.mm())),
    })
}

/// Thickness across the swept band: outer ring against a second one near the bore.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Taper {
    /// Outer mean minus inner mean.
    pub taper: Length,
    /// Standard uncertainty of the difference; the systematic parts cancel.
    pub u: Length,
}

/// Taper between two rings of the same disc and gauge.
///
/// Formula: difference of the means; `u² = (s²/m + d²/12)·(1/N₁ + 1/N₂)`.
///
/// # Errors
/// [`MeasureError`] when the gauge's figures are negative.
///
/// ```
/// use brakecorner::measure::disc::{ThicknessConditions, thickness};
/// use brakecorner::measure::faces::taper;
/// use brakecorner::measure::uncertainty::Gauge;
/// use brakecorner::units::Length;
///
/// let um = |v: i64| Length::from_nm(v * 1000);
/// let gauge = Gauge {
///     mpe: um(4), resolution: um(1), repeatability: um(1), zero_check: um(1),
///     repeatability_dof: None,
/// };
/// let ring = |t| thickness(&vec![vec![um(t)]; 8], &ThicknessConditions::default(), &gauge);
/// let t = taper(&ring(22_100)?, &ring(22_140)?, &gauge)?;
/// assert_eq!(t.taper, um(-40));
/// assert_eq!(t.u.nm(), 520); // √2 · 1.04 µm / √8
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn taper(outer: &Thickness, inner: &Thickness, gauge: &Gauge) -> Result<Taper, MeasureError> {
    gauge.validate()?;
    let variance = |ring: &Thickness| {
        let (s, d) = (gauge.repeatability.mm(), gauge.resolution.mm());
        (s * s / count(ring.readings_per_point.max(1)) + d * d / 12.0)
            / count(ring.points.len().max(1))
    };
    let u = (variance(outer) + variance(inner)).sqrt();
    Ok(Taper {
        taper: outer.t_mean - inner.t_mean,
        u: length("uncertainty of the taper", u)?,
    })
}

/// What skimming would leave.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Skim {
    /// Removed from each face.
    pub per_face: Length,
    /// The thinnest place afterwards.
    pub after: Length,
    /// That against the machine-to thickness.
    pub conformity: Conformity,
    /// The deepest cut a face for which the machine-to thickness stays proven; zero when none is.
    pub deepest_per_face: Length,
}

/// Whether a disc may be skimmed by a given cut a face.
///
/// Formula: `after = t_min − 2·cut`, against the machine-to thickness; deepest cut
/// `(t_min − machine-to − 1.645 u)/2`. Source: the maker's machine-to figure; guard band as
/// [`risk::acceptance_limit`].
///
/// # Errors
/// [`MeasureError::Negative`] for a negative cut, limit or uncertainty.
///
/// ```
/// use brakecorner::measure::conformity::Proof;
/// use brakecorner::measure::faces::skim;
/// use brakecorner::units::Length;
///
/// let um = |v: i64| Length::from_nm(v * 1000);
/// let s = skim(um(24_304), um(3), um(100), um(23_600))?;
/// assert_eq!(s.after, um(24_104));
/// assert_eq!(s.conformity.proof, Proof::ProvenIn);
/// assert_eq!(s.deepest_per_face.nm(), 349_532);
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn skim(
    t_min: Length,
    u: Length,
    per_face: Length,
    machine_to: Length,
) -> Result<Skim, MeasureError> {
    let mut problems = Problems::default();
    for (what, value) in [
        ("cut a face", per_face),
        ("machine-to thickness", machine_to),
        ("standard uncertainty", u),
    ] {
        problems.check(value >= Length::ZERO, || MeasureError::Negative {
            what: what.to_owned(),
            value,
        });
    }
    problems.finish()?;
    let bound = Bound::AtLeast(machine_to);
    let spare = t_min - risk::acceptance_limit(bound, u, crate::measure::conformity::PROVEN)?;
    let after = t_min - per_face - per_face;
    Ok(Skim {
        per_face,
        after,
        conformity: conformity(after, u, bound),
        deepest_per_face: Length::from_nm((spare.nm() / 2).max(0)),
    })
}

/// Thickness variation from two opposed indicators.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct TwoIndicators {
    /// Change of thickness at each point; the wobble cancels.
    pub points: Vec<Length>,
    /// Largest minus smallest.
    pub dtv: Length,
    /// Run-out the outer indicator alone shows.
    pub tir_outer: Length,
    /// Run-out the inner indicator alone shows.
    pub tir_inner: Length,
    /// Contributions to `u`.
    pub budget: Budget,
    /// Standard uncertainty of `dtv`.
    pub u: Length,
}

/// Thickness variation from two opposed indicators, both plus towards the indicator.
///
/// Shape: the same points of one turn, in passing order, without the return reading.
/// Formula: `r_outer(θ) + r_inner(θ)`; `u` from both gauges' permissible errors and two readings of
/// each. Source: geometry; JCGM 100:2008 5.1.2.
///
/// # Errors
/// [`MeasureError`] for fewer than four points or lists of different length; all of them at once.
///
/// ```
/// use brakecorner::measure::faces::two_indicators;
/// use brakecorner::measure::uncertainty::Gauge;
/// use brakecorner::units::Length;
///
/// let um = |v: i64| Length::from_nm(v * 1000);
/// let gauge = Gauge {
///     mpe: um(4), resolution: um(1), repeatability: um(1), zero_check: um(0),
///     repeatability_dof: None,
/// };
/// let outer = [0, 12, 20, 16, 4, -8, -16, -12].map(um);
/// let inner = [0, -10, -16, -10, 2, 10, 16, 10].map(um);
/// let t = two_indicators(&outer, &inner, &gauge, &gauge)?;
/// assert_eq!((t.dtv, t.tir_outer, t.tir_inner), (um(8), um(36), um(32)));
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn two_indicators(
    outer: &[Length],
    inner: &[Length],
    outer_gauge: &Gauge,
    inner_gauge: &Gauge,
) -> Result<TwoIndicators, MeasureError> {
    let mut problems = Problems::default();
    problems.take(outer_gauge.validate());
    problems.take(inner_gauge.validate());
    problems.check(outer.len() >= 4, || MeasureError::TooFew {
        what: "points of two indicators",
        found: outer.len(),
        needed: 4,
    });
    problems.check(outer.len() == inner.len(), || MeasureError::CountMismatch {
        what: "points of the inner indicator",
        found: inner.len(),
        expected: outer.len(),
    });
    problems.finish()?;
    let points: Vec<Length> = outer.iter().zip(inner).map(|(o, i)| *o + *i).collect();
    let span = |values: &[Length]| extremes(values).map_or(Length::ZERO, |(l, h)| h - l);
    let mut contributions = Vec::new();
    for (side, gauge) in [("outer", outer_gauge), ("inner", inner_gauge)] {
        let root2 = 2f64.sqrt();
        for (source, value, kind, sensitivity) in [
            (
                "permissible error",
                gauge.mpe,
                Distribution::Rectangular,
                1.0,
            ),
            (
                "repeatability",
                gauge.repeatability,
                Distribution::Normal,
                root2,
            ),
            (
                "resolution",
                gauge.resolution,
                Distribution::Resolution,
                root2,
            ),
        ] {
            let dof = gauge.repeatability_dof.map(f64::from);
            contributions.push(Contribution::new(
                &format!("{source}, {side} indicator"),
                value.mm(),
                kind,
                sensitivity,
                dof.filter(|_| kind == Distribution::Normal),
            ));
        }
    }
    let budget = Budget { contributions };
    Ok(TwoIndicators {
        dtv: span(&points),
        tir_outer: span(outer),
        tir_inner: span(inner),
        points,
        u: uncertainty::combined(&budget)?,
        budget,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wrong_new_size_does_not_close() {
        let um = |v: i64| Length::from_nm(v * 1000);
        let w = lips(&[um(860)], &[um(1_010)], um(25_000), um(22_130)).unwrap();
        assert!(!w.closes && w.closure == um(-1_000));
        assert_eq!(
            lips(&[um(0)], &[um(5)], um(24_000), um(23_990))
                .unwrap()
                .ratio,
            None
        );
        assert!(lips(&[], &[um(-1)], um(0), um(0)).is_err());
    }

    #[test]
    fn a_disc_at_its_machine_to_thickness_may_not_be_cut() {
        let um = |v: i64| Length::from_nm(v * 1000);
        let s = skim(um(23_600), um(3), um(1), um(23_600)).unwrap();
        assert!(s.conformity.beyond && s.deepest_per_face == Length::ZERO);
    }
}
