//! Pedal reserve.

use serde::{Deserialize, Serialize};

use crate::measure::error::Problems;
use crate::measure::{MeasureError, micro};
use crate::units::Length;

/// Most of the travel a pedal may use at a moderate force, in percent, the limit included.
///
/// Source: 49 CFR 570.55(b), over 10 000 lb, at 50 lbf (read).
pub const TRAVEL_LIMIT_PERCENT: f64 = 80.0;

/// How much of its travel a pedal uses.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct PedalTravel {
    /// Travel used, in percent of the free height, to six decimals.
    pub used_percent: f64,
    /// What is left above the floor.
    pub reserve: Length,
    /// Whether the pedal sank while held: `None` when it was not tried.
    pub sinks: Option<bool>,
}

/// Travel used by a pedal: free height to the floor and height under force.
///
/// Formula: `(free − pressed)/free · 100`; the pedal sinks when its height after the hold is less
/// than before it. Source: 49 CFR 570.55(b)(c) (read).
///
/// # Errors
/// [`MeasureError`] for a free height that is not above zero, a negative height, or a pressed height
/// above the free one; all of them at once.
///
/// ```
/// use brakecorner::measure::pedal::travel;
/// use brakecorner::units::Length;
///
/// let mm = |v: i64| Length::from_nm(v * 1_000_000);
/// let t = travel(mm(130), mm(45), Some(mm(45)))?;
/// assert!((t.used_percent - 65.4).abs() < 0.05);
/// assert_eq!(t.sinks, Some(false));
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn travel(
    free: Length,
    pressed: Length,
    after_hold: Option<Length>,
) -> Result<PedalTravel, MeasureError> {
    let mut problems = Problems::default();
    problems.check(free > Length::ZERO, || MeasureError::NotPositive {
        what: "free pedal height".to_owned(),
        value: free,
    });
    let heights = [
        ("pressed pedal height", Some(pressed)),
        ("pedal height after hold", after_hold),
    ];
    for (what, height) in heights {
        let value = height.unwrap_or(Length::ZERO);
        problems.check(value >= Length::ZERO, || MeasureError::Negative {
            what: what.to_owned(),
            value,
        });
        problems.check(value <= free, || MeasureError::LimitBeyondNew {
            limit_name: what,
            limit: value,
            side: "below",
            new: free,
        });
    }
    problems.finish()?;
    Ok(PedalTravel {
        used_percent: micro(100.0 * (free - pressed).mm() / free.mm()),
        reserve: pressed,
        sinks: after_hold.map(|after| after < pressed),
    })
}
