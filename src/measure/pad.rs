//! Friction thickness of pads and linings, backing plate excluded.

use serde::{Deserialize, Serialize};

use crate::measure::disc::check_same_unit;
use crate::measure::error::Problems;
use crate::measure::uncertainty::{self, Budget, Gauge};
use crate::measure::{MeasureError, extremes};
use crate::units::Length;

/// Readings of one wheel's pads.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct PadReadings {
    /// The pad on the vehicle's side, leading end first.
    pub inner: Vec<Length>,
    /// The pad on the wheel's side, leading end first.
    pub outer: Vec<Length>,
}

/// One wheel's pads.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Pads {
    /// The thinnest place of both pads.
    pub min: Length,
    /// Leading minus trailing end of the pad where they differ most; `None` when each pad was read
    /// at one place only.
    pub taper: Option<Length>,
    /// The inner pad's thinnest place.
    pub inner_min: Length,
    /// The outer pad's thinnest place.
    pub outer_min: Length,
    /// Inner minus outer, minimum with minimum; negative when the inner pad is thinner.
    pub inner_outer: Length,
    /// Contributions to `u`.
    pub budget: Budget,
    /// Standard uncertainty of one reading.
    pub u: Length,
}

/// One lining, or one pad that is judged alone.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Friction {
    /// The thinnest place.
    pub min: Length,
    /// First (leading) minus last (trailing) reading; `None` for a single reading.
    pub taper: Option<Length>,
    /// Contributions to `u`.
    pub budget: Budget,
    /// Standard uncertainty of one reading.
    pub u: Length,
}

/// Evaluates the pads of one wheel.
///
/// Shape: one or more readings a pad, leading end first. Units: lengths of friction material only.
/// Formula: the smallest of all; `u = a/√3 ⊕ s ⊕ d/√12`. Source: JCGM 100:2008 4.3.7, 5.1.2.
///
/// # Errors
/// [`MeasureError`] when a pad has no reading, a thickness is negative, or the readings are in
/// mixed units by more than can be wear; all of them at once.
///
/// ```
/// use brakecorner::measure::pad::{PadReadings, pads};
/// use brakecorner::measure::uncertainty::Gauge;
/// use brakecorner::units::Length;
///
/// let um = |v: i64| Length::from_nm(v * 1000);
/// let gauge = Gauge {
///     mpe: um(100), resolution: um(100), repeatability: um(50), zero_check: um(0),
///     repeatability_dof: None,
/// };
/// let worn = PadReadings {
///     inner: vec![um(1_100), um(700)],
///     outer: vec![um(4_900), um(5_000)],
/// };
/// let p = pads(&worn, &gauge)?;
/// assert_eq!((p.min, p.inner_outer), (um(700), um(-4_200)));
/// assert_eq!(p.taper, Some(um(400)));
/// assert!((p.u.um() - 81.6).abs() < 0.1);
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn pads(readings: &PadReadings, gauge: &Gauge) -> Result<Pads, MeasureError> {
    let mut problems = Problems::default();
    problems.take(gauge.validate());
    check("inner pad reading", &readings.inner, &mut problems);
    check("outer pad reading", &readings.outer, &mut problems);
    problems.finish()?;
    let inner = friction_of("inner pad reading", &readings.inner, gauge)?;
    let outer = friction_of("outer pad reading", &readings.outer, gauge)?;
    Ok(Pads {
        min: inner.min.min(outer.min),
        taper: [inner.taper, outer.taper]
            .into_iter()
            .flatten()
            .max_by_key(|t| t.abs()),
        inner_min: inner.min,
        outer_min: outer.min,
        inner_outer: inner.min - outer.min,
        budget: inner.budget,
        u: inner.u,
    })
}

/// Evaluates one lining, leading end first; see [`pads`].
///
/// # Errors
/// As [`pads`].
pub fn lining(readings: &[Length], gauge: &Gauge) -> Result<Friction, MeasureError> {
    let mut problems = Problems::default();
    problems.take(gauge.validate());
    check("lining reading", readings, &mut problems);
    problems.finish()?;
    friction_of("lining reading", readings, gauge)
}

fn check(what: &'static str, readings: &[Length], problems: &mut Problems) {
    problems.check(!readings.is_empty(), || MeasureError::TooFew {
        what,
        found: 0,
        needed: 1,
    });
    for (i, &value) in readings.iter().enumerate() {
        problems.check(value >= Length::ZERO, || MeasureError::Negative {
            what: format!("{what} {}", i + 1),
            value,
        });
    }
    // A pad worn to the plate at one end is real, so only thick readings can betray a slip.
    let thick = readings
        .iter()
        .copied()
        .filter(|r| *r >= Length::from_nm(2_000_000));
    check_same_unit(what, thick, problems);
}

fn friction_of(
    what: &'static str,
    readings: &[Length],
    gauge: &Gauge,
) -> Result<Friction, MeasureError> {
    let none = MeasureError::TooFew {
        what,
        found: 0,
        needed: 1,
    };
    let (min, _) = extremes(readings).ok_or(none)?;
    let taper = match readings {
        [leading, .., trailing] => Some(*leading - *trailing),
        _ => None,
    };
    let budget = Budget {
        contributions: uncertainty::reading(gauge, 1, 1.0),
    };
    Ok(Friction {
        min,
        taper,
        u: uncertainty::combined(&budget)?,
        budget,
    })
}
