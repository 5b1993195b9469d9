//! Slips of typing and reading, found before a number is believed.
//!
//! Every finding is a question, never a refusal: both the first entry and the confirmation are kept
//! by whoever asks.

use serde::{Deserialize, Serialize};

use crate::units::{Distance, Length};

/// How far above the new size a reading may be before it is questioned (own).
pub const ABOVE_NEW_ALLOWED: Length = Length::from_nm(500_000);
/// How far from its neighbours in one ring a reading may be before it is questioned (own).
pub const NEIGHBOUR_ALLOWED: Length = Length::from_nm(300_000);
/// This many equal readings in a ring look like a gauge left in hold (own).
pub const IDENTICAL: usize = 8;

/// Something about a reading that deserves a question.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Slip {
    /// A slipped decimal: the value ten, a hundred or a thousand times larger or smaller fits.
    Decimal {
        /// What was probably meant.
        meant: Length,
    },
    /// A reading in inches taken for millimetres.
    InchForMillimetre {
        /// What was probably meant.
        meant: Length,
    },
    /// A reading in millimetres taken for inches.
    MillimetreForInch {
        /// What was probably meant.
        meant: Length,
    },
    /// Thicker than new by more than 0.5 mm; for a pad perhaps the backing plate.
    AboveNew {
        /// The new size.
        new: Length,
    },
    /// Far from the other readings of the ring.
    FarFromNeighbours {
        /// Their median.
        typical: Length,
    },
    /// Exactly the limit or the new size: the marking and not a reading?
    IsTheMarking {
        /// The figure it equals.
        marking: Length,
    },
    /// The last eight readings are all the same: is the gauge in hold?
    AllIdentical,
}

/// What a thickness reading is expected to be like.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Expectation {
    /// New size, when known.
    pub new: Option<Length>,
    /// Limit, when known.
    pub limit: Option<Length>,
    /// The readings of the same ring so far.
    pub ring: Vec<Length>,
}

impl Expectation {
    /// Where a believable reading lies: from half the limit to the new size and a little.
    fn window(&self) -> Option<(Length, Length)> {
        match (self.limit, self.new, median(&self.ring)) {
            (Some(limit), Some(new), _) => {
                Some((Length::from_nm(limit.nm() / 2), new + ABOVE_NEW_ALLOWED))
            }
            (None, Some(new), _) => Some((Length::from_nm(new.nm() / 2), new + ABOVE_NEW_ALLOWED)),
            (_, None, Some(m)) => Some((
                Length::from_nm(m.nm() / 2),
                Length::from_nm(m.nm().saturating_mul(3) / 2),
            )),
            (Some(limit), None, None) => Some((
                Length::from_nm(limit.nm() / 2),
                Length::from_nm(limit.nm().saturating_mul(2)),
            )),
            _ => None,
        }
    }
}

fn median(values: &[Length]) -> Option<Length> {
    let mut sorted = values.to_vec();
    sorted.sort();
    sorted.get(sorted.len() / 2).copied()
}

/// Everything about a reading that deserves a question, most telling first; empty when nothing does.
///
/// ```
/// use brakecorner::measure::slips::{Expectation, Slip, slips};
/// use brakecorner::units::Length;
///
/// let um = |v: i64| Length::from_nm(v * 1000);
/// let disc = Expectation { new: Some(um(24_000)), limit: Some(um(22_000)), ring: vec![] };
/// assert_eq!(slips(um(22_130), &disc), []);
/// assert_eq!(slips(um(2_213), &disc), [Slip::Decimal { meant: um(22_130) }]);
/// let inch = slips(Length::from_nm(871_000), &disc);
/// assert_eq!(inch, [Slip::InchForMillimetre { meant: Length::from_nm(22_123_400) }]);
/// ```
#[must_use]
pub fn slips(reading: Length, expected: &Expectation) -> Vec<Slip> {
    let mut found = Vec::new();
    if let Some((low, high)) = expected.window()
        && (reading < low || reading > high)
    {
        found.extend(scale_slip(reading, low, high));
        if found.is_empty()
            && let Some(new) = expected.new
            && reading > new + ABOVE_NEW_ALLOWED
        {
            found.push(Slip::AboveNew { new });
        }
    }
    if let Some(typical) = median(&expected.ring)
        && found.is_empty()
        && (reading - typical).abs() > NEIGHBOUR_ALLOWED
    {
        found.push(Slip::FarFromNeighbours { typical });
    }
    let marking = [expected.limit, expected.new]
        .into_iter()
        .flatten()
        .find(|m| *m == reading);
    if let Some(marking) = marking
        && expected.ring.last() == Some(&reading)
    {
        found.push(Slip::IsTheMarking { marking });
    }
    let same = expected
        .ring
        .iter()
        .rev()
        .take_while(|r| **r == reading)
        .count();
    if same + 1 >= IDENTICAL {
        found.push(Slip::AllIdentical);
    }
    found
}

/// The change of scale that would bring a reading into its window.
fn scale_slip(reading: Length, low: Length, high: Length) -> Option<Slip> {
    let scaled = |numerator: i64, denominator: i64| {
        let value = i128::from(reading.nm()) * i128::from(numerator) / i128::from(denominator);
        i64::try_from(value)
            .ok()
            .map(Length::from_nm)
            .filter(|v| *v >= low && *v <= high)
    };
    // Inches first: 25.4 is nobody's slipped decimal, and close to no power of ten.
    if let Some(meant) = scaled(254, 10) {
        return Some(Slip::InchForMillimetre { meant });
    }
    if let Some(meant) = scaled(10, 254) {
        return Some(Slip::MillimetreForInch { meant });
    }
    [(10, 1), (1, 10), (1, 100), (1, 1000), (100, 1), (1000, 1)]
        .into_iter()
        .find_map(|(n, d)| scaled(n, d))
        .map(|meant| Slip::Decimal { meant })
}

/// Something about an odometer that deserves a question.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum OdometerSlip {
    /// Lower than at the last visit.
    Back {
        /// The last visit's.
        last: Distance,
    },
    /// More than 1000 km a day since the last visit.
    TooFast {
        /// Kilometres a day, rounded.
        km_per_day: u32,
    },
    /// The other unit fits better: read in miles, it would be close to the expected value.
    MilesForKilometres,
}

/// Compares an odometer with the last visit's, `days` ago.
#[must_use]
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
pub fn odometer(now: Distance, last: Distance, days: u32) -> Option<OdometerSlip> {
    const MILE: f64 = 1.609_344;
    let (now_km, last_km) = (now.km(), last.km());
    let most = last_km + 1000.0 * f64::from(days.max(1));
    if now_km < last_km {
        let in_miles = now_km * MILE;
        let fits = in_miles >= last_km && in_miles <= most && now_km > 0.5 * last_km;
        return Some(if fits {
            OdometerSlip::MilesForKilometres
        } else {
            OdometerSlip::Back { last }
        });
    }
    let km_per_day = ((now_km - last_km) / f64::from(days.max(1))) as u32;
    (km_per_day > 1000).then_some(OdometerSlip::TooFast { km_per_day })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn um(v: i64) -> Length {
        Length::from_nm(v * 1000)
    }

    #[test]
    fn each_slip_is_recognised_and_a_good_reading_is_not_questioned() {
        let disc = Expectation {
            new: Some(um(24_000)),
            limit: Some(um(22_000)),
            ring: vec![um(22_130); 3],
        };
        for (reading, expected) in [
            (um(22_131), vec![]),
            (um(221_300), vec![Slip::Decimal { meant: um(22_130) }]),
            (um(2_213), vec![Slip::Decimal { meant: um(22_130) }]),
            (um(24_501), vec![Slip::AboveNew { new: um(24_000) }]),
            (
                um(22_500),
                vec![Slip::FarFromNeighbours {
                    typical: um(22_130),
                }],
            ),
            (
                um(562_102),
                vec![Slip::MillimetreForInch {
                    meant: Length::from_nm(22_130_000),
                }],
            ),
        ] {
            assert_eq!(slips(reading, &disc), expected, "{reading}");
        }
    }

    #[test]
    fn a_gauge_in_hold_and_a_copied_marking_are_asked_about() {
        let held = Expectation {
            new: None,
            limit: None,
            ring: vec![um(22_130); 7],
        };
        assert_eq!(slips(um(22_130), &held), [Slip::AllIdentical]);
        let copied = Expectation {
            new: Some(um(24_000)),
            limit: Some(um(22_000)),
            ring: vec![um(22_000)],
        };
        assert_eq!(
            slips(um(22_000), &copied),
            [Slip::IsTheMarking {
                marking: um(22_000)
            }]
        );
    }

    #[test]
    fn odometers_that_run_back_or_too_fast_are_asked_about() {
        let km = Distance::from_whole_km;
        assert_eq!(odometer(km(84_120), km(72_480), 100), None);
        let back = Some(OdometerSlip::Back { last: km(72_480) });
        assert_eq!(odometer(km(7_000), km(72_480), 100), back);
        assert_eq!(
            odometer(km(52_300), km(72_480), 200),
            Some(OdometerSlip::MilesForKilometres)
        );
        let fast = Some(OdometerSlip::TooFast { km_per_day: 2_752 });
        assert_eq!(odometer(km(100_000), km(72_480), 10), fast);
    }
}
