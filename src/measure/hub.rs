//! Run-out of the hub face, and what it becomes at another radius.
//!
//! A tilt grows with the radius: `TIR₂ = TIR₁·r₂/r₁`. Only the tilt does; dirt and dents do not, so
//! the scaled value of a rough face is an upper estimate.

use serde::{Deserialize, Serialize};

use crate::measure::error::Problems;
use crate::measure::runout::{Runout, RunoutRing, runout};
use crate::measure::uncertainty::Gauge;
use crate::measure::{MeasureError, length, micro};
use crate::units::{Angle, Length};

/// A hub face's run-out, there and farther out.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct HubFace {
    /// The ring itself.
    pub runout: Runout,
    /// The judged run-out at the measured radius.
    pub tir: Length,
    /// The same tilt at the other radius.
    pub scaled: Length,
    /// Standard uncertainty of `scaled`.
    pub u_scaled: Length,
    /// High spot, from stud 1; `None` for a ring that was only swept.
    pub high_spot: Option<Angle>,
    /// The tilt itself, in degrees, to six decimals.
    pub tilt_deg: f64,
}

/// Scales a run-out from one radius to another.
///
/// # Errors
/// [`MeasureError`] for a negative run-out or a radius that is not above zero.
///
/// ```
/// use brakecorner::measure::hub::scale;
/// use brakecorner::units::Length;
///
/// let mm = |v: i64| Length::from_nm(v * 1_000_000);
/// let at_the_disc = scale(Length::from_nm(28_000), mm(62), mm(130))?;
/// assert!((at_the_disc.mm() - 0.0587).abs() < 5e-5);
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn scale(tir: Length, from: Length, to: Length) -> Result<Length, MeasureError> {
    let mut problems = Problems::default();
    problems.check(tir >= Length::ZERO, || MeasureError::Negative {
        what: "run-out".to_owned(),
        value: tir,
    });
    for (what, value) in [("measuring radius", from), ("other radius", to)] {
        problems.check(value > Length::ZERO, || MeasureError::NotPositive {
            what: what.to_owned(),
            value,
        });
    }
    problems.finish()?;
    length("scaled run-out", tir.mm() * to.mm() / from.mm())
}

/// Evaluates a hub-face ring and scales it to the radius of the disc.
///
/// Formula: `TIR·r₂/r₁` of the judged value; tilt `atan(TIR/(2 r₁))`. Source: geometry.
///
/// # Errors
/// As [`runout`] and [`scale`].
///
/// ```
/// use brakecorner::measure::hub::hub_face;
/// use brakecorner::measure::runout::RunoutRing;
/// use brakecorner::measure::uncertainty::Gauge;
/// use brakecorner::units::Length;
///
/// let um = |v: i64| Length::from_nm(v * 1000);
/// let gauge = Gauge {
///     mpe: um(4), resolution: um(1), repeatability: um(1), zero_check: um(0),
///     repeatability_dof: None,
/// };
/// let ring = RunoutRing { swept: Some(um(28)), ..RunoutRing::default() };
/// let hub = hub_face(&ring, &gauge, um(62_000), um(130_000))?;
/// assert!((hub.scaled.mm() - 0.0587).abs() < 5e-5);
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn hub_face(
    ring: &RunoutRing,
    gauge: &Gauge,
    radius: Length,
    at_radius: Length,
) -> Result<HubFace, MeasureError> {
    let mut problems = Problems::default();
    let ring = problems.take(runout(ring, gauge));
    problems.take(scale(Length::ZERO, radius, at_radius));
    problems.finish()?;
    let Some(ring) = ring else {
        return Err(MeasureError::TooFew {
            what: "run-out points",
            found: 0,
            needed: 4,
        });
    };
    Ok(HubFace {
        tir: ring.judged,
        scaled: scale(ring.judged, radius, at_radius)?,
        u_scaled: scale(ring.u, radius, at_radius)?,
        high_spot: ring.fit.as_ref().map(|f| f.high_spot),
        tilt_deg: micro(libm::atan(ring.judged.mm() / (2.0 * radius.mm())).to_degrees()),
        runout: ring,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_swept_hub_face_scales_to_the_disc() {
        let mm = |v: i64| Length::from_nm(v * 1_000_000);
        let um = |v: i64| Length::from_nm(v * 1_000);
        let gauge = Gauge {
            mpe: um(4),
            resolution: um(1),
            repeatability: um(1),
            zero_check: um(0),
            repeatability_dof: None,
        };
        let ring = RunoutRing {
            swept: Some(um(58)),
            ..RunoutRing::default()
        };
        let h = hub_face(&ring, &gauge, mm(130), mm(105)).unwrap();
        // Worked by hand: 0.058 at 130 is 0.0468 at 105, a tilt of 0.0128°.
        assert!((h.scaled.mm() - 0.0468).abs() < 5e-5);
        assert!((h.tilt_deg - 0.0128).abs() < 5e-5);
        assert_eq!(h.high_spot, None);
        let Err(MeasureError::Problems(all)) =
            hub_face(&RunoutRing::default(), &gauge, mm(0), mm(-1))
        else {
            panic!("accepted")
        };
        assert_eq!(all.len(), 3);
    }
}
