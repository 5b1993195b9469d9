//! What the instrument in hand makes of a number: turns of its dial, divisions.

use super::prompt::ring_so_far;
use super::reading::About;
use crate::job::{Entered, Instrument, Item, Quantity, Slot};
use crate::judge::Case;
use crate::judge::states;
use crate::measure::{MeasureError, dial};
use crate::units::{Force, Length, Temperature};

/// Refuses what no part can measure: below nothing, or hotter and colder than any brake.
///
/// What is only unlikely is asked about instead.
///
/// # Errors
/// [`MeasureError`]: a negative end float, size, swept turn, force or mass; a temperature of disc
/// or gauge outside −60 to 900 °C, the range a thickness can be corrected in.
///
/// # Examples
/// ```
/// use brakecorner::job::{Item, Slot};
/// use brakecorner::walk::possible;
/// assert!(possible(Item::BearingFloat, Slot::Value(1), -4_000).is_err());
/// assert!(possible(Item::DiscRunout, Slot::Point(2), -4_000).is_ok());
/// assert!(possible(Item::DiscThickness, Slot::Temperature, -200_000).is_err());
/// ```
pub fn possible(item: Item, slot: Slot, value: i64) -> Result<(), MeasureError> {
    let range = |what, value, (low, high), unit| {
        let inside = (low..=high).contains(&value);
        let error = MeasureError::OutOfRange {
            what,
            value,
            low,
            high,
            unit,
        };
        if inside { Ok(()) } else { Err(error) }
    };
    match (Quantity::of(item, slot), slot) {
        (Quantity::Temperature, Slot::Temperature | Slot::GaugeTemperature) => {
            let celsius = Temperature::from_millidegrees(value).celsius();
            range("the temperature", celsius, (-60.0, 900.0), "°C")
        }
        (Quantity::Force, _) => {
            let newtons = Force::from_mn(value).newtons();
            range("the force", newtons, (0.0, 1e6), "N")
        }
        // Grams of a vehicle fit an f64 exactly.
        #[allow(clippy::cast_precision_loss)]
        (Quantity::Mass, _) => range("the mass", value as f64 / 1e3, (50.0, 1e5), "kg"),
        (Quantity::Length, slot) => {
            let signed = item == Item::DiscRunout && slot != Slot::Swept;
            // Worn friction that reads below nothing is asked about: the gauge's zero may be off.
            let friction = matches!(item, Item::PadsThickness | Item::LiningsThickness);
            if signed || friction || value >= 0 {
                return Ok(());
            }
            Err(MeasureError::Negative {
                what: item.title().to_owned(),
                value: Length::from_nm(value),
            })
        }
        _ => Ok(()),
    }
}

/// The travel a dial's reading stands for when it lies more than half a turn from the one before.
pub(super) fn unwrapped<'i>(
    case: &Case<'_>,
    (place, item, phase): About,
    slot: Slot,
    value: i64,
    instrument: Option<&'i Instrument>,
) -> Option<(&'i Instrument, Length)> {
    if item != Item::DiscRunout || !matches!(slot, Slot::Point(_) | Slot::Return) {
        return None;
    }
    let instrument = instrument?;
    let turn = instrument.turn().ok()??;
    let before = *ring_so_far(states::set_at_hand(case, place, item, phase)?).last()?;
    let both = dial::unwrap(&[before, Length::from_nm(value)], turn).ok()?;
    let travel = *both.readings.get(1)?;
    both.changed.contains(&1).then_some((instrument, travel))
}

/// A value given in divisions of the dial (`+3.5 div`), if it is one.
pub(super) fn divisions(
    text: &str,
    instrument: Option<&Instrument>,
) -> Option<Result<Entered, String>> {
    let number = text.trim().strip_suffix("div")?.trim();
    let division = instrument.and_then(|i| i.resolution().ok().flatten());
    let Some(division) = division else {
        return Some(Err(
            "not taken: the instrument's division is not in the register".to_owned(),
        ));
    };
    // A division count is read like millimetres: exact decimals, then scaled.
    let read = Length::parse(number, crate::units::LengthUnit::Millimetre)
        .map_err(|error| format!("not taken: {error}"))
        .map(|count| Entered {
            text: text.trim().to_owned(),
            unit: "div".to_owned(),
            value: i64::try_from(i128::from(count.nm()) * i128::from(division.nm()) / 1_000_000)
                .unwrap_or(i64::MAX),
        });
    Some(read)
}
