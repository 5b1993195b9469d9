//! Tapered correction plate between hub and disc; only where the maker permits, one per hub.
//!
//! A plate whose thickness differs by `s` across its working diameter `d_p` tilts the disc so that
//! the run-out at the measuring diameter `D_m` changes by `s·D_m/d_p`. On the outboard face with
//! plus = outboard its thin edge belongs at the high spot; on the inboard face it is the other way
//! round. It can only sit at the bolt holes, so sizes and holes are searched together.

use serde::{Deserialize, Serialize};

use crate::measure::error::Problems;
use crate::measure::harmonic::{cos_sin, direction};
use crate::measure::runout::{RunoutRing, phasor};
use crate::measure::uncertainty::Gauge;
use crate::measure::{MeasureError, length};
use crate::units::{Angle, Length};

/// The face the run-out was measured on, plus towards the indicator.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Face {
    /// The wheel's side.
    #[default]
    Outboard,
    /// The vehicle's side.
    Inboard,
}

/// What the search needs to know.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ShimSetup {
    /// Bolt holes.
    pub holes: u8,
    /// Diameter the stylus ran on.
    pub measured_diameter: Length,
    /// Working diameter of the plate: the flange it lies on.
    pub plate_diameter: Length,
    /// Thickness differences the plates come in.
    pub sizes: Vec<Length>,
    /// The face measured.
    pub face: Face,
}

/// The plate that would take the whole tilt away.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct IdealShim {
    /// Its thickness difference across the flange.
    pub taper: Length,
    /// Where its thick edge belongs.
    pub thick_at: Angle,
    /// Its wedge angle in minutes of arc, to six decimals.
    pub arc_minutes: f64,
}

/// One plate in one position.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct ShimChoice {
    /// The run-out of the tilt that remains.
    pub residual: Length,
    /// The plate's thickness difference.
    pub size: Length,
    /// The stud its thick edge sits at, counted from 1 in passing order.
    pub stud: u8,
}

/// The ideal plate, and what the plates on the shelf can do.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Shim {
    /// The run-out of the tilt without a plate.
    pub tir: Length,
    /// Its standard uncertainty, which every residual shares.
    pub u: Length,
    /// The ideal plate.
    pub ideal: IdealShim,
    /// The best position of each size, smallest residual first.
    pub choices: Vec<ShimChoice>,
    /// The best of all; `None` when no plate improves on none.
    pub best: Option<ShimChoice>,
}

/// Finds the best correction plate for an assembled run-out ring.
///
/// Formula: ideal `s = TIR·d_p/D_m`; a size `s` with its thick edge at ψ leaves
/// `2·|V ± s·D_m/(2 d_p)·e^{iψ}|`, plus for the outboard face, minus for the inboard one.
/// Source: plane geometry (own derivation). Small angles; a rigid disc.
///
/// # Errors
/// [`MeasureError`] for holes outside 3 to 10, a diameter or size that is not above zero, no size, or
/// a ring without a fit; all of them at once.
///
/// ```
/// use brakecorner::measure::shim::ideal;
/// use brakecorner::units::{Angle, Length};
///
/// let mm = |v: i64| Length::from_nm(v * 1_000_000);
/// let plate = ideal(Length::from_nm(100_000), Angle::ZERO, mm(280), mm(150), Default::default())?;
/// assert!((plate.taper.mm() - 0.0536).abs() < 5e-5);
/// assert!((plate.arc_minutes - 1.23).abs() < 0.005);
/// assert_eq!(plate.thick_at.degrees(), 180.0);
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn shim(ring: &RunoutRing, setup: &ShimSetup, gauge: &Gauge) -> Result<Shim, MeasureError> {
    let mut problems = Problems::default();
    problems.check((3..=10).contains(&setup.holes), || {
        MeasureError::FastenerCount {
            what: "holes",
            found: setup.holes,
        }
    });
    check_diameters(setup.measured_diameter, setup.plate_diameter, &mut problems);
    problems.check(!setup.sizes.is_empty(), || MeasureError::TooFew {
        what: "plate sizes",
        found: 0,
        needed: 1,
    });
    for &size in &setup.sizes {
        problems.check(size > Length::ZERO, || MeasureError::NotPositive {
            what: "plate size".to_owned(),
            value: size,
        });
    }
    let found = problems.take(phasor(ring, gauge));
    problems.finish()?;
    let Some(v) = found else {
        return Err(MeasureError::TooFew {
            what: "run-out points",
            found: 0,
            needed: 4,
        });
    };
    let tir = length("run-out", 2.0 * libm::hypot(v.a, v.b))?;
    let high = direction(v.a, v.b);
    let high_spot = Angle::from_degrees(high).ok_or(MeasureError::NotFinite {
        what: "high spot",
        value: high,
    })?;
    let mut choices = Vec::with_capacity(setup.sizes.len());
    for &size in &setup.sizes {
        choices.extend(best_stud((v.a, v.b), size, setup)?);
    }
    choices.sort();
    Ok(Shim {
        tir,
        u: length("uncertainty of the run-out", 2.0 * v.variance.sqrt())?,
        ideal: ideal(
            tir,
            high_spot,
            setup.measured_diameter,
            setup.plate_diameter,
            setup.face,
        )?,
        best: choices.first().copied().filter(|c| c.residual < tir),
        choices,
    })
}

fn best_stud(
    (a, b): (f64, f64),
    size: Length,
    setup: &ShimSetup,
) -> Result<Option<ShimChoice>, MeasureError> {
    let half = size.mm() * setup.measured_diameter.mm() / (2.0 * setup.plate_diameter.mm());
    let signed = match setup.face {
        Face::Outboard => half,
        Face::Inboard => -half,
    };
    let mut best: Option<ShimChoice> = None;
    for stud in 1..=setup.holes {
        let (c, s) = cos_sin(360.0 * f64::from(stud - 1) / f64::from(setup.holes));
        let left = 2.0 * libm::hypot(a + signed * c, b + signed * s);
        let choice = ShimChoice {
            residual: length("remaining run-out", left)?,
            size,
            stud,
        };
        best = Some(best.map_or(choice, |other| other.min(choice)));
    }
    Ok(best)
}

/// The plate that would take a tilt away entirely.
///
/// # Errors
/// [`MeasureError`] for a negative run-out or a diameter that is not above zero.
pub fn ideal(
    tir: Length,
    high_spot: Angle,
    measured_diameter: Length,
    plate_diameter: Length,
    face: Face,
) -> Result<IdealShim, MeasureError> {
    let mut problems = Problems::default();
    problems.check(tir >= Length::ZERO, || MeasureError::Negative {
        what: "run-out".to_owned(),
        value: tir,
    });
    check_diameters(measured_diameter, plate_diameter, &mut problems);
    problems.finish()?;
    let taper = tir.mm() * plate_diameter.mm() / measured_diameter.mm();
    let radians = libm::atan(taper / plate_diameter.mm());
    let opposite = match face {
        Face::Outboard => Angle::from_centidegrees(18_000),
        Face::Inboard => Angle::ZERO,
    };
    Ok(IdealShim {
        taper: length("taper of the plate", taper)?,
        thick_at: (high_spot + opposite).wrapped(),
        arc_minutes: crate::measure::micro(radians.to_degrees() * 60.0),
    })
}

fn check_diameters(measured: Length, plate: Length, problems: &mut Problems) {
    for (what, value) in [("measuring diameter", measured), ("plate diameter", plate)] {
        problems.check(value > Length::ZERO, || MeasureError::NotPositive {
            what: what.to_owned(),
            value,
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn setup(face: Face) -> ShimSetup {
        let um = |v: i64| Length::from_nm(v * 1000);
        ShimSetup {
            holes: 5,
            measured_diameter: um(260_000),
            plate_diameter: um(140_000),
            sizes: vec![um(76), um(51), um(38)],
            face,
        }
    }

    fn tilt(sign: f64) -> RunoutRing {
        let points = crate::measure::harmonic::even_degrees(10)
            .iter()
            .map(|d| Length::from_mm(sign * 0.0425 * cos_sin(d - 157.0).0).unwrap())
            .collect();
        RunoutRing {
            points,
            ..RunoutRing::default()
        }
    }

    fn gauge() -> Gauge {
        let um = |v: i64| Length::from_nm(v * 1000);
        Gauge {
            mpe: um(4),
            resolution: um(1),
            repeatability: um(1),
            zero_check: um(0),
            repeatability_dof: None,
        }
    }

    #[test]
    fn the_smaller_plate_can_be_the_better_one() {
        // Worked by hand: 0.085 at 157°, Ø260 on Ø140: ideal 0.0458 at 337°; at the nearest stud
        // 0.038 leaves 0.034, 0.051 leaves 0.037, 0.076 leaves 0.071.
        let s = shim(&tilt(1.0), &setup(Face::Outboard), &gauge()).unwrap();
        assert!((s.ideal.taper.mm() - 0.0458).abs() < 5e-5);
        assert!((s.ideal.thick_at.degrees() - 337.0).abs() < 0.01);
        for (choice, (size, residual)) in
            s.choices
                .iter()
                .zip([(38.0, 0.034), (51.0, 0.037), (76.0, 0.071)])
        {
            assert!(
                (choice.size.um() - size).abs() < 1e-9 && choice.stud == 1,
                "{choice:?}"
            );
            assert!((choice.residual.mm() - residual).abs() < 6e-4, "{choice:?}");
        }
        assert_eq!(s.best, s.choices.first().copied());
    }

    #[test]
    fn the_inboard_face_sees_the_same_tilt_the_other_way_round() {
        // The same disc read from behind: every reading changes sign, the plate must not move.
        let front = shim(&tilt(1.0), &setup(Face::Outboard), &gauge()).unwrap();
        let back = shim(&tilt(-1.0), &setup(Face::Inboard), &gauge()).unwrap();
        assert_eq!(front.choices, back.choices);
        assert_eq!(front.ideal.thick_at, back.ideal.thick_at);
    }

    #[test]
    fn a_plate_that_makes_it_worse_is_not_recommended() {
        let mut thick = setup(Face::Outboard);
        thick.sizes = vec![Length::from_nm(500_000)];
        let s = shim(&tilt(1.0), &thick, &gauge()).unwrap();
        assert_eq!((s.best, s.choices.len()), (None, 1));
    }

    #[test]
    fn every_problem_of_the_setup_is_named() {
        let bad = ShimSetup {
            holes: 2,
            measured_diameter: Length::ZERO,
            plate_diameter: Length::from_nm(-1),
            sizes: vec![],
            face: Face::Outboard,
        };
        let Err(MeasureError::Problems(all)) = shim(&RunoutRing::default(), &bad, &gauge()) else {
            panic!("accepted")
        };
        assert_eq!(all.len(), 5, "{all:?}");
    }
}
