//! Slips caught at the prompt: pure functions from a value and what is known to the question to ask.
//!
//! The program asks, it does not refuse; nothing is corrected by itself. Thresholds are this
//! project's own.

mod around;
mod entry;
mod gauge;
mod slipped;
mod together;

pub use around::{
    cast_question, future_question, odometer_question, rollers_question, sign_question,
    torque_question,
};
pub use entry::{double_send, entry_question, split_entry};
use gauge::beyond_gauge;
pub use gauge::range_words;
pub use together::{
    About, Entry, Raised, entries_of, mark_question, other_brake, questions, run_together,
};

use super::Case;
use crate::job::{Corner, Item, Place, Slot};
use crate::units::{Length, Temperature};

/// What is known when a value is entered.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Known {
    /// Size of the new part.
    pub new: Option<Length>,
    /// The limit of the worn part.
    pub limit: Option<Length>,
    /// The values already in this ring, in order.
    pub ring: Vec<Length>,
    /// How many values the ring will have.
    pub ring_size: usize,
    /// The thinnest reading of this part at the last visit.
    pub last: Option<Length>,
    /// The same of the other side of the axle.
    pub last_of_mate: Option<Length>,
    /// The smallest of the same friction at the other end of the axle, read in this job.
    pub mate: Option<Length>,
    /// The other pad's or lining's readings of this set.
    pub fellows: Vec<Length>,
    /// How far from its ring a value is asked about, when not by this program's own default.
    pub far_in_ring: Option<Length>,
    /// How far above the new size a value is asked about, when not by the default.
    pub above_new: Option<Length>,
}

/// What the spec sheet and the readings so far say about an item.
#[must_use]
pub fn known(case: &Case<'_>, place: Place, item: Item) -> Known {
    let axle = place.corner().and_then(|corner| case.axle(corner.axle()));
    let figures = axle.and_then(|axle| match item {
        Item::DiscThickness => axle
            .disc
            .as_ref()
            .map(|disc| (disc.new.as_ref(), disc.discard.as_ref())),
        Item::DrumDiameter => axle
            .drum
            .as_ref()
            .map(|drum| (drum.new.as_ref(), drum.max.as_ref())),
        Item::PadsThickness => axle.pads.as_ref().map(|pads| (pads.new.as_ref(), None)),
        Item::LiningsThickness => axle
            .linings
            .as_ref()
            .map(|linings| (linings.new.as_ref(), None)),
        _ => None,
    });
    let (new, limit) = figures.unwrap_or_default();
    Known {
        new: new.map(|figure| figure.value),
        limit: limit.map(|figure| figure.value),
        ring: Vec::new(),
        mate: None,
        fellows: Vec::new(),
        ring_size: usize::from(case.ring_points()),
        last: place.corner().and_then(|corner| last(case, corner, item)),
        last_of_mate: place
            .corner()
            .and_then(|corner| last(case, corner.mate(), item)),
        far_in_ring: Some(case.policy.ask_neighbour.value),
        above_new: Some(case.policy.ask_above_new.value),
    }
}

/// The latest earlier thickness of the part that is on an item's corner now.
fn last(case: &Case<'_>, corner: Corner, item: Item) -> Option<Length> {
    if case.renewed(Place::Corner(corner), item) {
        return None;
    }
    case.job
        .earlier
        .iter()
        .filter(|(at, what, ..)| (*at, *what) == (corner, item))
        .max_by_key(|(_, _, odometer, _)| *odometer)
        .map(|(.., thickness)| *thickness)
}

/// Values this far from the rest of their ring are asked about.
const FAR_IN_RING: Length = Length::from_nm(300_000);
/// Values this far above the new size are asked about.
const ABOVE_NEW: Length = Length::from_nm(500_000);
/// Values this far below the limit are asked about.
const BELOW_LIMIT: Length = Length::from_nm(1_500_000);
/// Growth since the last visit from which new parts are asked about.
const GROWTH: Length = Length::from_nm(500_000);
/// Difference from a side's own last value from which the other side is considered.
const WRONG_SIDE: Length = Length::from_nm(1_000_000);
/// Deviation from the ring from which swapped digits are looked for.
const SWAPPED: Length = Length::from_nm(100_000);
/// How near to the ring the digits put right must come.
const SWAPPED_FITS: Length = Length::from_nm(30_000);
/// Friction thinner than this is asked about: a digit of another list, or metal on metal.
const NEARLY_NOTHING: Length = Length::from_nm(300_000);
/// Deepest groove or lip that is not asked about.
const DEEP: Length = Length::from_nm(3_000_000);
/// Largest run-out or end float that is not asked about.
const LARGE_RUNOUT: Length = Length::from_nm(500_000);

/// The question a length raises, if any.
///
/// # Examples
/// ```
/// use brakecorner::job::{Item, Slot};
/// use brakecorner::judge::plausible::{Known, question};
/// use brakecorner::units::Length;
/// let mm = |v: f64| Length::from_mm(v);
/// let known = Known { new: mm(26.0), limit: mm(23.0), ..Known::default() };
/// let slip = question(Item::DiscThickness, Slot::Point(1), mm(243.08).unwrap(), &known);
/// assert!(slip.unwrap().contains("24.308 mm"));
/// assert_eq!(question(Item::DiscThickness, Slot::Point(1), mm(24.308).unwrap(), &known), None);
/// ```
#[must_use]
pub fn question(item: Item, slot: Slot, value: Length, known: &Known) -> Option<String> {
    match item {
        Item::DiscSurface => deep(value),
        Item::DiscThickness if matches!(slot, Slot::LipOuter(_) | Slot::LipInner(_)) => deep(value),
        Item::DiscThickness | Item::DrumDiameter => sized(value, known)
            .or_else(|| swapped(value, known))
            .or_else(|| from_ring(value, known))
            .or_else(|| marking(value, known))
            .or_else(|| since_last(item, value, known))
            .or_else(|| hold(value, known)),
        Item::PadsThickness | Item::LiningsThickness => friction(value, known)
            .or_else(|| slipped::beside_fellows(value, known))
            .or_else(|| since_last(item, value, known)),
        Item::DiscRunout => wrapped(slot, value, known)
            .or_else(|| dial(slot, value))
            .or_else(|| slipped::in_ring(slot, value, &known.ring))
            .or_else(|| matches!(slot, Slot::Point(_)).then(|| hold(value, known))?),
        Item::BearingFloat => dial(slot, value),
        _ => None,
    }
}

/// Asks about a part or a gauge too hot to be measured, above 150 °C (own).
///
/// # Examples
/// ```
/// use brakecorner::judge::plausible::heat_question;
/// use brakecorner::units::Temperature;
///
/// assert!(heat_question(Temperature::from_millidegrees(200_000)).is_some());
/// assert_eq!(heat_question(Temperature::from_millidegrees(45_000)), None);
/// ```
#[must_use]
pub fn heat_question(value: Temperature) -> Option<String> {
    let hottest = Temperature::from_millidegrees(150_000);
    (value > hottest).then(|| {
        format!("{value} is hotter than {hottest}, too hot to be measured; is the unit right? Let it cool down")
    })
}

/// Asks about a gauge too warm to be held, above 60 °C (own): it would make every part look thicker.
#[must_use]
pub fn warm_gauge_question(value: Temperature) -> Option<String> {
    let hottest = Temperature::from_millidegrees(60_000);
    (value > hottest).then(|| {
        format!("a gauge at {value} is warmer than {hottest}: nobody holds it; is that the disc's temperature?")
    })
}

/// The question a boiling point raises, if any.
#[must_use]
pub fn boiling_question(value: Temperature) -> Option<String> {
    let celsius = value.celsius();
    let usual = 100.0..=300.0;
    if usual.contains(&celsius) {
        return None;
    }
    let from_fahrenheit = (celsius - 32.0) / 1.8;
    Some(if usual.contains(&from_fahrenheit) {
        format!(
            "{celsius:.0} °C is outside 100 to 300 °C; is it {celsius:.0} °F ({from_fahrenheit:.0} °C)?"
        )
    } else {
        format!("{celsius:.0} °C is outside 100 to 300 °C; is that what the tester showed?")
    })
}

/// The question a corner that was measured already raises.
#[must_use]
pub fn again_question(corner: Corner, item: Item) -> String {
    format!("{corner} {item} was measured already; is this a new set of readings?")
}

fn window(known: &Known) -> Option<(Length, Length)> {
    let (new, limit) = (known.new?, known.limit?);
    let (low, high) = (new.min(limit), new.max(limit));
    let above = known.above_new.unwrap_or(ABOVE_NEW);
    Some((low - BELOW_LIMIT, high + above))
}

/// A value of the wrong size: ten times, a tenth, inches for millimetres, or the reverse.
fn sized(value: Length, known: &Known) -> Option<String> {
    let (low, high) = window(known)?;
    let inside = |nm: i64| (low.nm()..=high.nm()).contains(&nm);
    let nm = value.nm();
    if inside(nm) {
        return None;
    }
    let others = [
        (nm / 10, "the decimal point slipped"),
        (nm.saturating_mul(10), "the decimal point slipped"),
        (nm / 100, "the decimal point is missing"),
        (nm / 1_000, "the decimal point is missing"),
        (nm.saturating_mul(254) / 10, "the gauge shows inches"),
        (nm.saturating_mul(10) / 254, "the gauge shows millimetres"),
    ];
    let expected = format!("expected {low} to {high}");
    Some(match others.into_iter().find(|(other, _)| inside(*other)) {
        Some((other, why)) => format!(
            "{value} is unlikely, {expected}; is it {}, because {why}?",
            Length::from_nm(other)
        ),
        None if nm < low.nm() => {
            format!("{value} is far below the limit, {expected}; is it right?")
        }
        None => {
            format!("{value} is above the new size, {expected}; lip, wrong part, or wrong sheet?")
        }
    })
}

fn from_ring(value: Length, known: &Known) -> Option<String> {
    let middle = middle(known)?;
    let far = known.far_in_ring.unwrap_or(FAR_IN_RING);
    ((value - middle).abs() > far).then(|| {
        format!("{value} is far from the others of this ring (about {middle}); is it right?")
    })
}

fn middle(known: &Known) -> Option<Length> {
    let mut ring = known.ring.clone();
    ring.sort_unstable();
    ring.get(ring.len() / 2).copied()
}

/// Two neighbouring digits swapped: put back, the value fits its ring.
fn swapped(value: Length, known: &Known) -> Option<String> {
    let middle = middle(known)?;
    if (value - middle).abs() <= SWAPPED {
        return None;
    }
    let text = value.rounded(crate::units::LengthUnit::Millimetre, 3);
    let digits: Vec<char> = text.chars().collect();
    let places: Vec<usize> = (0..digits.len())
        .filter(|n| digits.get(*n).is_some_and(char::is_ascii_digit))
        .collect();
    places.windows(2).find_map(|pair| {
        let mut other = digits.clone();
        let [a, b] = *pair else { return None };
        other.swap(a, b);
        let meant: String = other.into_iter().collect();
        let meant = Length::parse(&meant, crate::units::LengthUnit::Millimetre).ok()?;
        ((meant - middle).abs() <= SWAPPED_FITS && meant != value).then(|| {
            format!("{value} is far from the others of this ring (about {middle}); is it {meant}, with two digits swapped?")
        })
    })
}

/// The figure cast on the part typed for a reading: the limit at a second point, or the new size
/// twice in a row.
fn marking(value: Length, known: &Known) -> Option<String> {
    let again = known.ring.contains(&value);
    if known.limit == Some(value) && again {
        return Some(format!(
            "{value} is exactly the limit, for the second time; is that the marking and not a reading?"
        ));
    }
    (known.new == Some(value) && known.ring.last() == Some(&value)).then(|| {
        format!("{value} is exactly the new size, twice in a row; is that the marking and not a reading?")
    })
}

/// Against the last visit: grown, or nearer to the other side's last value than to its own.
fn since_last(item: Item, value: Length, known: &Known) -> Option<String> {
    let last = known.last?;
    // Wear makes a drum larger and everything else thinner.
    let grown = if item == Item::DrumDiameter {
        last - value
    } else {
        value - last
    };
    if let Some(mate) = known.last_of_mate
        && (value - last).abs() > WRONG_SIDE
        && (value - mate).abs() < (value - last).abs()
        && (last - mate).abs() > WRONG_SIDE
    {
        return Some(format!(
            "{value} is nearer to the other side's last value ({mate}) than to this side's ({last}); is it the right corner?"
        ));
    }
    (grown > GROWTH).then(|| {
        format!("{value} is more than at the last visit ({last}); were new parts fitted, and when?")
    })
}

/// A dial past its zero: nearly a whole turn of a 1 mm dial from the reading before.
fn wrapped(slot: Slot, value: Length, known: &Known) -> Option<String> {
    const TURN: Length = Length::from_nm(1_000_000);
    if !matches!(slot, Slot::Point(_) | Slot::Return) {
        return None;
    }
    let before = *known.ring.last()?;
    let jump = value - before;
    let meant = if jump > Length::ZERO {
        value - TURN
    } else {
        value + TURN
    };
    let near = Length::from_nm(200_000);
    (jump.abs() > LARGE_RUNOUT && (meant - before).abs() < near).then(|| {
        format!("{value} after {before} is nearly a whole turn of the needle; is it {meant}, past its zero?")
    })
}

fn hold(value: Length, known: &Known) -> Option<String> {
    let last = known.ring_size >= 8 && known.ring.len() + 1 == known.ring_size;
    (last && known.ring.iter().all(|other| *other == value)).then(|| {
        format!(
            "all {} readings are {value}; is the gauge in hold?",
            known.ring_size
        )
    })
}

/// A groove or a lip deeper than any: the depth gauge's own length, or a slipped decimal.
fn deep(value: Length) -> Option<String> {
    if value < Length::ZERO {
        return Some(format!("a depth of {value} is negative; is it right?"));
    }
    let tenth = Length::from_nm(value.nm() / 10);
    (value > DEEP).then(|| {
        format!("a depth of {value} is more than {DEEP}; is it {tenth}, because the decimal point slipped?")
    })
}

fn friction(value: Length, known: &Known) -> Option<String> {
    if value < Length::ZERO {
        return Some(format!("{value} is negative; is it right?"));
    }
    if value < NEARLY_NOTHING {
        return Some(format!(
            "{value} is nearly nothing; is there really no friction material left?"
        ));
    }
    let new = known.new?;
    let high = new + known.above_new.unwrap_or(ABOVE_NEW);
    if value <= high {
        return None;
    }
    let tenth = Length::from_nm(value.nm() / 10);
    Some(
        if value.nm() > high.nm().saturating_mul(2) && tenth <= high {
            format!(
                "{value} is more than the new {new}; is it {tenth}, because the decimal point slipped?"
            )
        } else {
            format!("{value} is more than the new {new}; does it include the backing plate?")
        },
    )
}

fn dial(slot: Slot, value: Length) -> Option<String> {
    let span = if matches!(slot, Slot::Temperature) {
        return None;
    } else {
        value.abs()
    };
    (span > LARGE_RUNOUT).then(|| {
        let hundredth = Length::from_nm(value.nm() / 100);
        let micrometre = Length::from_nm(value.nm() / 1000);
        let meant = if span.nm() >= 5_000_000 { micrometre } else { hundredth };
        format!("{value} is more than {LARGE_RUNOUT} on the dial; is it {meant} (a slipped decimal or divisions typed)?")
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn mm(v: f64) -> Length {
        Length::from_mm(v).unwrap()
    }

    fn disc() -> Known {
        Known {
            new: Some(mm(26.0)),
            limit: Some(mm(23.0)),
            ring_size: 10,
            ..Known::default()
        }
    }

    #[test]
    fn each_slip_has_its_own_question() {
        for (value, word) in [
            (243.08, "decimal point slipped"),
            (2.4308, "decimal point slipped"),
            (0.957, "inches"),
            (24308.0 / 10.0, "is"),
            (26.8, "above the new size"),
            (20.0, "far below the limit"),
        ] {
            let asked = question(Item::DiscThickness, Slot::Point(1), mm(value), &disc());
            assert!(
                asked.as_ref().is_some_and(|q| q.contains(word)),
                "{value}: {asked:?}"
            );
        }
    }

    #[test]
    fn a_value_far_from_its_ring_and_a_gauge_in_hold_are_asked_about() {
        let ring = Known {
            ring: vec![mm(24.308); 5],
            ..disc()
        };
        let asked = question(Item::DiscThickness, Slot::Point(6), mm(24.7), &ring);
        assert!(asked.unwrap().contains("far from the others"));
        let full = Known {
            ring: vec![mm(24.308); 9],
            ..disc()
        };
        let asked = question(Item::DiscThickness, Slot::Point(10), mm(24.308), &full);
        assert!(asked.unwrap().contains("in hold"));
        let still = Known {
            ring: vec![mm(0.0); 9],
            ring_size: 10,
            ..Known::default()
        };
        let ask = |slot, value| question(Item::DiscRunout, slot, mm(value), &still);
        assert!(ask(Slot::Point(10), 0.0).unwrap().contains("in hold"));
        assert_eq!(ask(Slot::Point(10), 0.001), None);
        assert_eq!(ask(Slot::Swept, 0.0), None);
    }

    #[test]
    fn swapped_digits_the_marking_and_the_wrong_side_have_their_question() {
        let ring = |values: &[f64]| Known {
            ring: values.iter().map(|v| mm(*v)).collect(),
            ..disc()
        };
        let ask = |value: f64, known: &Known| {
            question(Item::DiscThickness, Slot::Point(3), mm(value), known)
        };
        let asked = ask(24.038, &ring(&[24.308, 24.309])).unwrap();
        assert!(
            asked.contains("is it 24.308 mm, with two digits swapped"),
            "{asked}"
        );
        assert!(ask(23.0, &ring(&[23.0])).unwrap().contains("the marking"));
        assert!(ask(26.0, &ring(&[26.0])).unwrap().contains("the marking"));
        assert_eq!(ask(26.0, &ring(&[26.0, 26.001])), None);
        let sides = Known {
            last: Some(mm(25.8)),
            last_of_mate: Some(mm(24.31)),
            ..disc()
        };
        assert!(ask(24.3, &sides).unwrap().contains("right corner"));
        let grown = Known {
            last: Some(mm(24.3)),
            ..disc()
        };
        assert!(ask(25.9, &grown).unwrap().contains("new parts fitted"));
    }

    #[test]
    fn a_needle_past_its_zero_is_recognised() {
        let ring = Known {
            ring: vec![mm(0.0), mm(0.02)],
            ..Known::default()
        };
        let asked = question(Item::DiscRunout, Slot::Point(3), mm(0.97), &ring).unwrap();
        assert!(asked.contains("is it -0.030 mm"), "{asked}");
        assert_eq!(
            question(Item::DiscRunout, Slot::Point(3), mm(-0.03), &ring),
            None
        );
    }

    #[test]
    fn a_pad_thicker_than_new_may_include_its_plate() {
        let known = Known {
            new: Some(mm(12.0)),
            ..Known::default()
        };
        let asked = question(Item::PadsThickness, Slot::Inner(1), mm(17.5), &known);
        assert!(asked.unwrap().contains("backing plate"));
        let asked = question(Item::PadsThickness, Slot::Inner(1), mm(61.0), &known);
        assert!(asked.unwrap().contains("6.100 mm"));
    }

    #[test]
    fn fahrenheit_on_a_celsius_prompt_is_recognised() {
        assert!(
            boiling_question(Temperature::from_millidegrees(414_000))
                .unwrap()
                .contains("°F")
        );
        assert_eq!(
            boiling_question(Temperature::from_millidegrees(212_000)),
            None
        );
    }

    proptest! {
        #[test]
        fn no_value_panics(nm in any::<i64>(), ring in proptest::collection::vec(any::<i64>(), 0..12)) {
            let known = Known {
                new: Some(Length::from_nm(nm.wrapping_mul(3))),
                limit: Some(Length::from_nm(nm.wrapping_add(7))),
                ring: ring.into_iter().map(Length::from_nm).collect(),
                ring_size: 10,
                last: Some(Length::from_nm(nm.wrapping_sub(5))),
                last_of_mate: Some(Length::from_nm(nm.wrapping_mul(5))),
                ..Known::default()
            };
            for item in Item::ALL {
                let _ = question(*item, Slot::Point(1), Length::from_nm(nm), &known);
            }
        }
    }
}
