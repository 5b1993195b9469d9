//! Inside diameter of a drum.

use serde::{Deserialize, Serialize};

use crate::measure::disc::check_same_unit;
use crate::measure::error::Problems;
use crate::measure::uncertainty::{self, Budget, Gauge};
use crate::measure::{MeasureError, extremes, mean};
use crate::units::Length;

/// A drum's diameters.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Drum {
    /// The largest diameter: what the maximum is compared with.
    pub max: Length,
    /// The largest difference between directions within one end.
    pub ovality: Length,
    /// Mean of the open end minus mean of the closed end; `None` when the closed end was not read.
    pub bell_mouth: Option<Length>,
    /// Contributions to `u`.
    pub budget: Budget,
    /// Standard uncertainty of one diameter.
    pub u: Length,
}

/// Evaluates a drum from diameters at its open and its closed end.
///
/// Shape: two or more directions at the open end, the same or none at the closed end. Units: mm.
/// Formula: largest of all; ovality `max − min` within an end; bell-mouth `mean(open) −
/// mean(closed)`; `u = a/√3 ⊕ s ⊕ d/√12`. Source: common practice; JCGM 100:2008 for `u`.
///
/// # Errors
/// [`MeasureError`] for fewer than two directions at an end that was read, a diameter that is not
/// above zero, or mixed units; all of them at once.
///
/// ```
/// use brakecorner::measure::drum::drum;
/// use brakecorner::measure::uncertainty::Gauge;
/// use brakecorner::units::Length;
///
/// let um = |v: i64| Length::from_nm(v * 1000);
/// let gauge = Gauge {
///     mpe: um(20), resolution: um(10), repeatability: um(5), zero_check: um(0),
///     repeatability_dof: None,
/// };
/// let d = drum(&[um(203_310), um(203_290)], &[um(203_270), um(203_260)], &gauge)?;
/// assert_eq!((d.max, d.ovality, d.bell_mouth), (um(203_310), um(20), Some(um(35))));
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn drum(open: &[Length], closed: &[Length], gauge: &Gauge) -> Result<Drum, MeasureError> {
    let mut problems = Problems::default();
    problems.take(gauge.validate());
    check("open end diameters", open, &mut problems);
    if !closed.is_empty() {
        check("closed end diameters", closed, &mut problems);
    }
    check_same_unit(
        "diameter",
        open.iter().chain(closed).copied(),
        &mut problems,
    );
    problems.finish()?;
    let ends = [extremes(open), extremes(closed)];
    let none = MeasureError::TooFew {
        what: "open end diameters",
        found: 0,
        needed: 2,
    };
    let max = ends.iter().flatten().map(|e| e.1).max().ok_or(none)?;
    let ovality = ends
        .iter()
        .flatten()
        .map(|(l, h)| *h - *l)
        .max()
        .unwrap_or(Length::ZERO);
    let bell_mouth = mean(open).zip(mean(closed)).map(|(o, c)| o - c);
    let budget = Budget {
        contributions: uncertainty::reading(gauge, 1, 1.0),
    };
    Ok(Drum {
        max,
        ovality,
        bell_mouth,
        u: uncertainty::combined(&budget)?,
        budget,
    })
}

fn check(what: &'static str, diameters: &[Length], problems: &mut Problems) {
    problems.check(diameters.len() >= 2, || MeasureError::TooFew {
        what,
        found: diameters.len(),
        needed: 2,
    });
    for (i, &value) in diameters.iter().enumerate() {
        problems.check(value > Length::ZERO, || MeasureError::NotPositive {
            what: format!("{what}, direction {}", i + 1),
            value,
        });
    }
}
