//! A dial that turned past its zero.
//!
//! A dial shows the travel only within one turn of its needle: 0.95 mm followed by 0.03 mm on a 1 mm
//! dial is 1.03 mm. A jump of more than half a turn between neighbouring points is taken as such a
//! passage; anything less is left alone.

use serde::{Deserialize, Serialize};

use crate::measure::MeasureError;
use crate::measure::error::Problems;
use crate::units::Length;

/// Dial readings with the turns put back.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Unwrapped {
    /// The travel at each point, continuous with the first.
    pub readings: Vec<Length>,
    /// The points, counted from 0, whose reading was changed: to be confirmed by whoever read them.
    pub changed: Vec<usize>,
}

/// Puts whole turns of the needle back into a ring of dial readings.
///
/// Shape: readings in passing order. `turn` = travel of one turn of the needle.
///
/// # Errors
/// [`MeasureError`] for no reading or a turn that is not above zero; all of them at once.
///
/// ```
/// use brakecorner::measure::dial::unwrap;
/// use brakecorner::units::Length;
///
/// let um = |v: i64| Length::from_nm(v * 1000);
/// let ring = unwrap(&[970, 990, 10, 20, 5, 980].map(um), um(1_000))?;
/// assert_eq!(ring.readings, [970, 990, 1_010, 1_020, 1_005, 980].map(um));
/// assert_eq!(ring.changed, [2, 3, 4]);
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn unwrap(readings: &[Length], turn: Length) -> Result<Unwrapped, MeasureError> {
    let mut problems = Problems::default();
    problems.check(!readings.is_empty(), || MeasureError::TooFew {
        what: "dial readings",
        found: 0,
        needed: 1,
    });
    problems.check(turn > Length::ZERO, || MeasureError::NotPositive {
        what: "travel of one turn of the needle".to_owned(),
        value: turn,
    });
    problems.finish()?;
    let mut result = Unwrapped {
        readings: Vec::with_capacity(readings.len()),
        changed: vec![],
    };
    let mut before: Option<Length> = None;
    for (i, &shown) in readings.iter().enumerate() {
        let travel = before.map_or(shown, |b| shown + whole_turns(b - shown, turn));
        if travel != shown {
            result.changed.push(i);
        }
        result.readings.push(travel);
        before = Some(travel);
    }
    Ok(result)
}

/// The whole turns nearest to `gap`; a gap of exactly half a turn counts as none.
fn whole_turns(gap: Length, turn: Length) -> Length {
    let (gap, turn) = (i128::from(gap.nm()), i128::from(turn.nm()));
    let turns = (2 * gap.abs() + turn - 1).div_euclid(2 * turn) * gap.signum();
    Length::from_nm(i64::try_from(turns * turn).unwrap_or(0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ring_without_a_passage_stays_as_it_is() {
        let ring = [0, -54, -108, -48, 0].map(|v| Length::from_nm(v * 1000));
        let same = unwrap(&ring, Length::from_nm(1_000_000)).unwrap();
        assert_eq!(
            (same.readings.as_slice(), same.changed.len()),
            (ring.as_slice(), 0)
        );
    }

    #[test]
    fn a_jump_of_exactly_half_a_turn_is_left_alone() {
        let um = |v: i64| Length::from_nm(v * 1000);
        for (jump, expected) in [(500, 500), (501, -499), (-500, -500), (-501, 499)] {
            let back = unwrap(&[um(0), um(jump)], um(1_000)).unwrap();
            assert_eq!(back.readings[1], um(expected), "{jump}");
        }
    }

    proptest::proptest! {
        #[test]
        fn any_slow_travel_is_recovered_from_its_dial(
            start in 0i64..1_000_000,
            steps in proptest::collection::vec(-499_999i64..499_999, 1..40),
        ) {
            let turn = 1_000_000;
            let mut travel = vec![start];
            for step in steps {
                travel.push(travel[travel.len() - 1] + step);
            }
            let shown: Vec<_> =
                travel.iter().map(|t| Length::from_nm(t.rem_euclid(turn))).collect();
            let back = unwrap(&shown, Length::from_nm(turn)).unwrap();
            let expected: Vec<_> = travel.iter().map(|&t| Length::from_nm(t)).collect();
            proptest::prop_assert_eq!(back.readings, expected);
        }
    }
}
