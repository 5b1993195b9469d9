//! Reads quantities: numbers exactly as written, their unit part of the key, with their origin.

use toml::de::DeValue;

use super::percent::Percent;
use super::problem::ProblemKind;
use super::reader::{Section, Value, number_text};
use super::sourced::Sourced;
use crate::units::{
    Distance, DistanceUnit, Force, ForceUnit, Length, LengthUnit, Temperature, Torque, UnitError,
    mass_g,
};

impl<'r, 't> Section<'r, 't> {
    /// Reads a quantity whose unit is part of the key: `stem` plus one of the suffixes.
    fn quantity<T>(&self, stem: &str, units: &[Unit<T>]) -> Option<Sourced<T>> {
        let mut found: Option<(String, Sourced<T>)> = None;
        for unit in units {
            let key = format!("{stem}{}", unit.suffix);
            let Some((_, value)) = self.get(&key) else {
                continue;
            };
            if let Some((other, _)) = &found {
                self.problem(
                    &key,
                    ProblemKind::GivenTwice {
                        other: self.key(other),
                    },
                );
                continue;
            }
            if let Some(quantity) = self.sourced(&key, value, unit) {
                found = Some((key, quantity));
            }
        }
        found.map(|(_, quantity)| quantity)
    }

    /// Reads `22.4` or `{ value = 22.4, source = "…" }`.
    fn sourced<T>(&self, key: &str, value: Value<'r, 't>, unit: &Unit<T>) -> Option<Sourced<T>> {
        let DeValue::Table(table) = value.get_ref() else {
            let origin = self.origin.clone();
            let place = self.reader.place(value.span().start);
            let value = self.number(key, value, unit)?;
            return Some(Sourced {
                value,
                origin,
                place,
            });
        };
        let at = value.span().start;
        let inner = Section::new(self.reader, self.key(key), table, at, &self.origin);
        let number = inner.get("value");
        if number.is_none() {
            inner.missing("value", "the number itself");
        }
        let quantity = number.and_then(|(_, number)| {
            let place = self.reader.place(number.span().start);
            let value = inner.number("value", number, unit)?;
            Some(Sourced {
                value,
                origin: inner.origin.clone(),
                place,
            })
        });
        inner.finish();
        quantity
    }

    fn number<T>(&self, key: &str, value: Value<'r, 't>, unit: &Unit<T>) -> Option<T> {
        let Some(text) = number_text(value.get_ref()) else {
            self.wrong_type(key, "a number", value);
            return None;
        };
        let at = value.span().start;
        if text.starts_with('-') {
            let expected = "zero or more".to_owned();
            self.reader.report(
                at,
                self.key(key),
                ProblemKind::OutOfRange {
                    found: text,
                    expected,
                },
            );
            return None;
        }
        match (unit.parse)(&text) {
            Ok(quantity) => Some(quantity),
            Err(error) => {
                self.reader
                    .report(at, self.key(key), ProblemKind::Quantity(error));
                None
            }
        }
    }

    /// Reads a length from `STEM_mm`, `STEM_um` or `STEM_in`.
    pub(super) fn length(&self, stem: &str) -> Option<Sourced<Length>> {
        self.quantity(stem, &LENGTH_UNITS)
    }

    /// Reads a torque from `STEM_nm` or `STEM_lbf_ft`.
    pub(super) fn torque(&self, stem: &str) -> Option<Sourced<Torque>> {
        self.quantity(stem, &TORQUE_UNITS)
    }

    /// Reads a distance from `STEM_km` or `STEM_mi`.
    pub(super) fn distance(&self, stem: &str) -> Option<Sourced<Distance>> {
        self.quantity(stem, &DISTANCE_UNITS)
    }

    /// Reads a force from `STEM_n`, `STEM_kgf` or `STEM_lbf`.
    pub(super) fn force(&self, stem: &str) -> Option<Sourced<Force>> {
        self.quantity(stem, &FORCE_UNITS)
    }

    /// Reads a temperature from `STEM_c` or `STEM_f`.
    pub(super) fn temperature(&self, stem: &str) -> Option<Sourced<Temperature>> {
        self.quantity(stem, &TEMPERATURE_UNITS)
    }

    /// Reads a percentage from `STEM_percent`.
    pub(super) fn percent(&self, stem: &str) -> Option<Sourced<Percent>> {
        self.quantity(stem, &PERCENT_UNITS)
    }

    /// Reads a difference of temperatures from `STEM_k`.
    pub(super) fn temperature_difference(&self, stem: &str) -> Option<Sourced<Temperature>> {
        self.quantity(stem, &KELVIN_UNITS)
    }

    /// Reads a whole number that may carry an origin.
    pub(super) fn sourced_whole(&self, key: &str) -> Option<Sourced<u32>> {
        self.quantity(key, &WHOLE_UNITS)
    }

    /// Reads yes or no, which may carry an origin.
    pub(super) fn sourced_flag(&self, key: &str) -> Option<Sourced<bool>> {
        self.sourced_with(key, |section, key| section.flag(key))
    }

    /// Reads a list of whole numbers, which may carry an origin.
    pub(super) fn sourced_wholes(&self, key: &str) -> Option<Sourced<Vec<u32>>> {
        self.sourced_with(key, |section, key| section.whole_list(key, 1..1_000_001))
    }

    /// Reads `key` or, when it is a table, its `value`.
    fn sourced_with<T>(
        &self,
        key: &str,
        read: impl Fn(&Self, &str) -> Option<T>,
    ) -> Option<Sourced<T>> {
        let (at, value) = self.get(key)?;
        if !matches!(value.get_ref(), DeValue::Table(_)) {
            let place = self.reader.place(at);
            return read(self, key).map(|value| Sourced {
                value,
                origin: self.origin.clone(),
                place,
            });
        }
        let inner = self.table(key)?;
        if !inner.has("value") {
            inner.missing("value", "the value itself");
        }
        let (place, origin) = (inner.place(), inner.origin.clone());
        let found = read(&inner, "value").map(|value| Sourced {
            value,
            origin,
            place,
        });
        inner.finish();
        found
    }

    /// Reads a mass in whole grams from `STEM_kg` or `STEM_lb`, given in whole units.
    pub(super) fn mass(&self, stem: &str) -> Option<u64> {
        self.quantity(stem, &MASS_UNITS).map(|mass| mass.value)
    }
}

/// A unit as part of a key, and how a number in it is read.
struct Unit<T> {
    suffix: &'static str,
    parse: fn(&str) -> Result<T, UnitError>,
}

const LENGTH_UNITS: [Unit<Length>; 3] = [
    Unit {
        suffix: "_mm",
        parse: |text| Length::parse(text, LengthUnit::Millimetre),
    },
    Unit {
        suffix: "_in",
        parse: |text| Length::parse(text, LengthUnit::Inch),
    },
    Unit {
        suffix: "_um",
        parse: |text| Length::parse(&format!("{text}um"), LengthUnit::Millimetre),
    },
];

const TORQUE_UNITS: [Unit<Torque>; 2] = [
    Unit {
        suffix: "_nm",
        parse: Torque::parse,
    },
    Unit {
        suffix: "_lbf_ft",
        parse: |text| Torque::parse(&format!("{text} lbf ft")),
    },
];

const DISTANCE_UNITS: [Unit<Distance>; 2] = [
    Unit {
        suffix: "_km",
        parse: |text| Distance::parse(text, DistanceUnit::Kilometre),
    },
    Unit {
        suffix: "_mi",
        parse: |text| Distance::parse(text, DistanceUnit::Mile),
    },
];

const FORCE_UNITS: [Unit<Force>; 3] = [
    Unit {
        suffix: "_n",
        parse: |text| Force::parse(text, ForceUnit::Newton),
    },
    Unit {
        suffix: "_kgf",
        parse: |text| Force::parse(text, ForceUnit::KilogramForce),
    },
    Unit {
        suffix: "_lbf",
        parse: |text| Force::parse(text, ForceUnit::PoundForce),
    },
];

const TEMPERATURE_UNITS: [Unit<Temperature>; 2] = [
    Unit {
        suffix: "_c",
        parse: Temperature::parse,
    },
    Unit {
        suffix: "_f",
        parse: |text| Temperature::parse(&format!("{text} F")),
    },
];

const KELVIN_UNITS: [Unit<Temperature>; 1] = [Unit {
    suffix: "_k",
    parse: Temperature::parse,
}];

const WHOLE_UNITS: [Unit<u32>; 1] = [Unit {
    suffix: "",
    parse: |text| {
        text.parse().map_err(|_| UnitError::NotANumber {
            text: text.to_owned(),
            example: "12",
        })
    },
}];

const PERCENT_UNITS: [Unit<Percent>; 1] = [Unit {
    suffix: "_percent",
    parse: |text| {
        Percent::parse(text).ok_or_else(|| UnitError::NotANumber {
            text: text.to_owned(),
            example: "58 or 65.2",
        })
    },
}];

const MASS_UNITS: [Unit<u64>; 2] = [
    Unit {
        suffix: "_kg",
        parse: mass_g,
    },
    Unit {
        suffix: "_lb",
        parse: |text| mass_g(&format!("{text}lb")),
    },
];
