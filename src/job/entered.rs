//! Values as they are given at a prompt or on a command line.

use super::{Entered, Item, Slot};
use crate::units::{
    Distance, DistanceUnit, Force, ForceUnit, Length, LengthUnit, Temperature, UnitError,
};

/// What a value is a value of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Quantity {
    /// A length, in nanometres.
    Length,
    /// A temperature, in thousandths of a degree Celsius.
    Temperature,
    /// A force, in millinewtons.
    Force,
    /// A mass, in grams.
    Mass,
    /// Something that is so: 1.
    Flag,
}

impl Quantity {
    /// What a slot of an item holds.
    #[must_use]
    pub const fn of(item: Item, slot: Slot) -> Self {
        match (item, slot) {
            (_, Slot::Temperature | Slot::GaugeTemperature) | (Item::FluidBoiling, _) => {
                Self::Temperature
            }
            (_, Slot::Mass) => Self::Mass,
            (_, Slot::At(_)) => Self::Force,
            (_, Slot::Locked(_)) => Self::Flag,
            _ => Self::Length,
        }
    }
}

impl Entered {
    /// Reads a value as it was typed or sent; `unit` applies when the text names none.
    ///
    /// # Errors
    /// [`UnitError`] when the text is no number of this quantity.
    ///
    /// # Examples
    /// ```
    /// use brakecorner::job::{Entered, Quantity};
    /// let entered = Entered::read("0.7611", Quantity::Length, "in")?;
    /// assert_eq!((entered.value, entered.unit.as_str()), (19_331_940, "in"));
    /// # Ok::<(), brakecorner::units::UnitError>(())
    /// ```
    pub fn read(text: &str, quantity: Quantity, unit: &str) -> Result<Self, UnitError> {
        let text = text.trim();
        let (value, unit) = match quantity {
            Quantity::Length => {
                let default: LengthUnit = if unit.is_empty() {
                    LengthUnit::default()
                } else {
                    unit.parse()?
                };
                let named = named_length_unit(text);
                (
                    Length::parse(text, default)?.nm(),
                    named.unwrap_or(default.symbol()),
                )
            }
            Quantity::Temperature => {
                let fahrenheit = unit.contains(['F', 'f']) && !text.contains(['C', 'c', 'F', 'f']);
                let full = if fahrenheit {
                    format!("{text} F")
                } else {
                    text.to_owned()
                };
                let shown = if full.contains(['F', 'f']) {
                    "°F"
                } else {
                    "°C"
                };
                (Temperature::parse(&full)?.millidegrees(), shown)
            }
            Quantity::Force => {
                let default = match unit {
                    "kgf" => ForceUnit::KilogramForce,
                    "lbf" => ForceUnit::PoundForce,
                    _ => ForceUnit::Newton,
                };
                let shown = ["kgf", "lbf"].into_iter().find(|u| text.ends_with(u));
                let shown = shown.unwrap_or(if unit.is_empty() { "N" } else { unit });
                (Force::parse(text, default)?.mn(), shown)
            }
            Quantity::Flag => (1, ""),
            // Exact decimal kilograms to grams, by way of kilometres to millimetres.
            Quantity::Mass => {
                let number = text.trim_end_matches("kg").trim();
                (
                    Distance::parse(number, DistanceUnit::Kilometre)?.mm() / 1_000,
                    "kg",
                )
            }
        };
        Ok(Self {
            text: text.to_owned(),
            unit: unit.to_owned(),
            value,
        })
    }
}

fn named_length_unit(text: &str) -> Option<&'static str> {
    let lower = text.to_ascii_lowercase();
    if lower.ends_with("mm") {
        Some("mm")
    } else if lower.ends_with("in") || lower.ends_with('"') {
        Some("in")
    } else if lower.ends_with("um") || text.ends_with("µm") {
        Some("µm")
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_quantity_reads_in_its_own_unit() {
        for (text, quantity, unit, value, shown) in [
            ("24.308", Quantity::Length, "mm", 24_308_000, "mm"),
            ("0.957in", Quantity::Length, "mm", 24_307_800, "in"),
            ("212", Quantity::Temperature, "°C", 212_000, "°C"),
            ("212", Quantity::Temperature, "°F", 100_000, "°F"),
            ("3920", Quantity::Force, "N", 3_920_000, "N"),
            ("400 kgf", Quantity::Force, "N", 3_922_660, "kgf"),
            ("1432", Quantity::Mass, "kg", 1_432_000, "kg"),
        ] {
            let entered = Entered::read(text, quantity, unit).unwrap();
            assert_eq!(
                (entered.value, entered.unit.as_str()),
                (value, shown),
                "{text}"
            );
            assert_eq!(entered.text, text);
        }
    }
}
