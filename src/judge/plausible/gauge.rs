//! What an instrument cannot have shown: outside its range, or finer than its step.

use super::together::{About, Entry};
use crate::job::{Instrument, InstrumentKind, Quantity, Slot};
use crate::judge::Case;
use crate::units::Length;

/// `HW-M1 (0-25 mm)`.
#[must_use]
pub fn range_words(instrument: &Instrument) -> String {
    format!(
        "{} ({} {})",
        instrument.id, instrument.range, instrument.unit
    )
}

/// The question a value raises that its instrument cannot have shown.
pub(super) fn beyond_gauge(case: &Case<'_>, about: About<'_>, entry: &Entry<'_>) -> Option<String> {
    let instrument = about.instrument.filter(|_| read_with_it(entry.slot))?;
    let quantity = Quantity::of(about.item, entry.slot);
    let holds = |i: &Instrument| match i.range_of(quantity) {
        Some((low, high)) => (low..=high).contains(&entry.value),
        None => true,
    };
    // A dial is set to zero anywhere: not where it stands but how far it moves is in its range.
    let moves = instrument.kind == InstrumentKind::DialIndicator;
    if !moves && !holds(instrument) {
        let value = match quantity {
            Quantity::Length => Length::from_nm(entry.value).to_string(),
            _ => entry.text.to_owned(),
        };
        let mut others = case.register.of_kind(instrument.kind);
        let right = others.find(|other| other.id != instrument.id && holds(other));
        let right = right.map_or(String::new(), |right| {
            format!(" or was it read with {}?", right.id)
        });
        return Some(format!(
            "{value} is outside the range of {}; is it right?{right}",
            range_words(instrument)
        ));
    }
    // A person may read between two lines of a scale; a display sends whole steps.
    if !entry.from_gauge || quantity != Quantity::Length || !instrument.kind.measures_length() {
        return None;
    }
    let step = instrument.resolution().ok().flatten()?.nm();
    let other_unit = entry.text.contains(|c: char| c.is_alphabetic() || c == '"')
        && !entry.text.ends_with(instrument.unit.as_str());
    (!other_unit && step > 0 && entry.value % step != 0).then(|| {
        format!(
            "{} is no whole step of {}, which shows {} by {}; is it the instrument in use?",
            entry.text, instrument.id, instrument.unit, instrument.resolution
        )
    })
}

/// Whether a value comes from the set's instrument and not from a thermometer, a depth gauge, the
/// weighing machine or a remark.
const fn read_with_it(slot: Slot) -> bool {
    !matches!(
        slot,
        Slot::Temperature
            | Slot::GaugeTemperature
            | Slot::LipOuter(_)
            | Slot::LipInner(_)
            | Slot::Mass
            | Slot::Locked(_)
    )
}
