//! Quantities with their units: parse, convert, print.
//!
//! Every quantity is a whole number of a small unit, so that a limit compares exactly and the
//! bytes that get signed are the same on every machine. Statistics leave this world through
//! [`Length::mm`] and its kin, run in `f64`, and come back through [`Length::from_mm`], which says
//! how it rounds.
//!
//! | type | one unit is | why |
//! |---|---|---|
//! | [`Length`] | 1 nm | exact for millimetres and for 0.0001 in (2540 nm) |
//! | [`Torque`] | 1 mN·m | finer than any wrench |
//! | [`Force`] | 1 mN | finer than any roller tester |
//! | [`Distance`] | 1 mm | exact for kilometres and for miles (1 609 344 mm) |
//! | [`Temperature`] | 0.001 °C | |
//! | [`Angle`] | 0.01° | the precision stored results are quantised to |
//!
//! Beside them stand the few words in which rules tell vehicles apart: [`VehicleBuild`],
//! [`VehicleClass`].
//!
//! Conversion factors are exact by definition (1 in = 25.4 mm, 1 mi = 1609.344 m,
//! 1 lbf = 4.4482216152605 N, g = 9.80665 m/s²); source: NIST SP 811, Appendix B.
//!
//! # Examples
//!
//! ```
//! use brakecorner::units::{Length, LengthUnit};
//!
//! let metric = Length::parse("22,01", LengthUnit::Millimetre)?;
//! assert_eq!(metric.nm(), 22_010_000);
//! let imperial = Length::parse("0.8665in", LengthUnit::Millimetre)?;
//! assert_eq!(imperial.to_string(), "22.0091 mm");
//! # Ok::<(), brakecorner::units::UnitError>(())
//! ```

mod build;
mod decimal;
mod distance;
mod force;
mod length;

use std::fmt;

use serde::{Deserialize, Serialize};

pub use build::{
    Chassis, Mounting, VEHICLE_CLASSES, VehicleBuild, VehicleClass, kilograms, mass_g,
};
pub use distance::DistanceUnit;
pub use force::ForceUnit;
pub use length::LengthUnit;

use decimal::{nearest, parse_scaled, split_unit, write_fixed};

/// Standard acceleration of free fall in m/s², exact by definition (NIST SP 811, B.8).
pub const STANDARD_GRAVITY: f64 = 9.806_65;

/// Why a text is not a quantity.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum UnitError {
    /// Nothing but white space was given.
    #[error("no number was given")]
    Empty,
    /// The text does not read as a decimal number followed by an optional unit.
    #[error("`{text}` is not a number; expected something like {example}")]
    NotANumber {
        /// What was given.
        text: String,
        /// A text that would have been accepted.
        example: &'static str,
    },
    /// The unit is not one this quantity is measured in.
    #[error("`{unit}` is not a unit of {quantity}; expected one of {expected}")]
    UnknownUnit {
        /// The unit given.
        unit: String,
        /// The quantity's name.
        quantity: &'static str,
        /// The accepted spellings.
        expected: &'static str,
    },
    /// The magnitude is beyond what this quantity can hold.
    #[error("`{text}` is out of range; expected at most {limit} in size")]
    OutOfRange {
        /// What was given.
        text: String,
        /// The largest accepted magnitude, with its unit.
        limit: &'static str,
    },
}

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $units:ident, $from:ident, $unit_doc:literal) => {
        $(#[$doc])*
        #[derive(
            Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
        )]
        #[serde(transparent)]
        pub struct $name(i64);

        impl $name {
            /// Nothing of it.
            pub const ZERO: Self = Self(0);

            #[doc = concat!("Makes the quantity from whole ", $unit_doc, ".")]
            #[must_use]
            pub const fn $from(units: i64) -> Self {
                Self(units)
            }

            #[doc = concat!("The quantity in whole ", $unit_doc, ".")]
            #[must_use]
            pub const fn $units(self) -> i64 {
                self.0
            }

            /// The magnitude without its sign.
            #[must_use]
            pub const fn abs(self) -> Self {
                Self(self.0.saturating_abs())
            }
        }

        impl std::ops::Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0.saturating_add(other.0))
            }
        }

        impl std::ops::Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0.saturating_sub(other.0))
            }
        }

        impl std::ops::Neg for $name {
            type Output = Self;
            fn neg(self) -> Self {
                Self(self.0.saturating_neg())
            }
        }

        impl std::iter::Sum for $name {
            fn sum<I: Iterator<Item = Self>>(items: I) -> Self {
                items.fold(Self::ZERO, |total, item| total + item)
            }
        }
    };
}

quantity!(
    /// A length in whole nanometres; a thickness, a dial reading, a wear.
    Length, nm, from_nm, "nanometres"
);
quantity!(
    /// A torque in whole millinewton-metres.
    Torque, mnm, from_mnm, "millinewton-metres"
);
quantity!(
    /// A force in whole millinewtons.
    Force, mn, from_mn, "millinewtons"
);
quantity!(
    /// A distance driven, or an odometer, in whole millimetres.
    Distance, mm, from_mm, "millimetres"
);
quantity!(
    /// A temperature in thousandths of a degree Celsius.
    Temperature, millidegrees, from_millidegrees, "thousandths of a degree Celsius"
);
quantity!(
    /// An angle in hundredths of a degree, in the passing order of the studs; 0 is stud 1.
    Angle, centidegrees, from_centidegrees, "hundredths of a degree"
);

impl Temperature {
    /// Reads a temperature; degrees Celsius when the text names no unit, `F` converts.
    ///
    /// # Errors
    /// [`UnitError`] when the text is no number, has another unit, or exceeds 2000 °C in size.
    pub fn parse(text: &str) -> Result<Self, UnitError> {
        let (number, suffix) = split_unit(text);
        let suffix = suffix.trim_start_matches('°').trim();
        let limit = ("2000 °C", 2_000_000);
        if number.is_empty() && !suffix.is_empty() {
            let (text, example) = (text.trim().to_owned(), "34");
            return Err(UnitError::NotANumber { text, example });
        }
        match suffix {
            "" | "C" | "c" => parse_scaled(number, "34", limit, |_| Ok((1_000, 1))).map(Self),
            "F" | "f" => parse_scaled(number, "93 F", ("3632 °F", 3_632_000), |_| Ok((1_000, 1)))
                .map(|f| Self(((i128::from(f) - 32_000) * 5 / 9) as i64)),
            other => Err(UnitError::UnknownUnit {
                unit: other.to_owned(),
                quantity: "temperature",
                expected: "°C, °F",
            }),
        }
    }

    /// The temperature in degrees Celsius.
    #[must_use]
    #[allow(clippy::cast_precision_loss)]
    pub fn celsius(self) -> f64 {
        self.0 as f64 / 1e3
    }
}

impl fmt::Display for Temperature {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write_fixed(f, self.0, 3, 0)?;
        f.write_str(" °C")
    }
}

impl Angle {
    /// Reads an angle in degrees.
    ///
    /// # Errors
    /// [`UnitError`] when the text is no number, has another unit, or exceeds 100 000°.
    pub fn parse(text: &str) -> Result<Self, UnitError> {
        parse_scaled(text, "36", ("100000°", 10_000_000), |suffix| match suffix {
            "" | "°" | "deg" => Ok((100, 1)),
            other => Err(UnitError::UnknownUnit {
                unit: other.to_owned(),
                quantity: "angle",
                expected: "°, deg",
            }),
        })
        .map(Self)
    }

    /// The angle in degrees.
    #[must_use]
    #[allow(clippy::cast_precision_loss)]
    pub fn degrees(self) -> f64 {
        self.0 as f64 / 1e2
    }

    /// The nearest hundredth of a degree to a computed angle, `None` if not finite or beyond 100 000°.
    #[must_use]
    pub fn from_degrees(degrees: f64) -> Option<Self> {
        nearest(degrees * 1e2, 10_000_000).map(Self)
    }

    /// The same direction between 0° (included) and 360° (excluded).
    #[must_use]
    pub const fn wrapped(self) -> Self {
        Self(self.0.rem_euclid(36_000))
    }
}

impl fmt::Display for Angle {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write_fixed(f, self.0, 2, 0)?;
        f.write_str("°")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn inch_readings_are_exact_in_nanometres() {
        // 1 in = 25.4 mm by definition (NIST SP 811, App. B).
        for (text, nm) in [
            ("0.7611in", 19_331_940),
            ("0.0001 in", 2_540),
            ("1\"", 25_400_000),
        ] {
            assert_eq!(
                Length::parse(text, LengthUnit::Millimetre).unwrap().nm(),
                nm,
                "{text}"
            );
        }
    }

    #[test]
    fn decimal_point_and_comma_and_signs_read_alike() {
        for (text, nm) in [
            ("22.01", 22_010_000),
            ("22,01", 22_010_000),
            ("+0.004", 4_000),
            ("\u{2212}0.019", -19_000),
            (" 8.017 mm ", 8_017_000),
            ("15 µm", 15_000),
        ] {
            assert_eq!(
                Length::parse(text, LengthUnit::Millimetre).unwrap().nm(),
                nm,
                "{text}"
            );
        }
    }

    #[test]
    fn what_is_no_number_is_named() {
        for text in [
            "", "  ", "2x", "1.2.3", "--1", "NaN", "inf", "1e3", "22.01 kg", "9999999",
        ] {
            assert!(
                Length::parse(text, LengthUnit::Millimetre).is_err(),
                "{text} was accepted"
            );
        }
        assert_eq!(
            Length::parse("2x4", LengthUnit::Millimetre)
                .unwrap_err()
                .to_string(),
            "`x4` is not a unit of length; expected one of mm, µm, in"
        );
    }

    #[test]
    fn torque_units_convert_by_the_exact_factors() {
        assert_eq!(Torque::parse("1000 lbf·ft").unwrap().mnm(), 1_355_818);
        assert_eq!(Torque::parse("1 kgf·m").unwrap().mnm(), 9_807);
        assert_eq!(Torque::parse("140 N·m").unwrap().to_string(), "140 N·m");
    }

    #[test]
    fn miles_and_spaced_odometers_are_exact() {
        let miles = Distance::parse("100 mi", DistanceUnit::Kilometre).unwrap();
        assert_eq!(miles.mm(), 160_934_400);
        let km = Distance::parse("84 120", DistanceUnit::Kilometre).unwrap();
        assert_eq!(km.to_string(), "84120 km");
    }

    #[test]
    fn fahrenheit_converts() {
        assert_eq!(
            Temperature::parse("212 °F").unwrap().millidegrees(),
            100_000
        );
        assert_eq!(Temperature::parse("34").unwrap().to_string(), "34 °C");
    }

    #[test]
    fn rounding_for_print_goes_half_away_from_zero() {
        let t = Length::from_nm(8_003_723);
        assert_eq!(t.rounded(LengthUnit::Millimetre, 4), "8.0037");
        assert_eq!(
            Length::from_nm(-2_500_000).rounded(LengthUnit::Millimetre, 0),
            "-3"
        );
        assert_eq!(t.to_string(), "8.003723 mm");
    }

    proptest::proptest! {
        #[test]
        fn a_length_survives_printing_and_parsing(nm in -10_000_000_000i64..10_000_000_000) {
            let length = Length::from_nm(nm);
            let again = Length::parse(&length.to_string(), LengthUnit::Inch).unwrap();
            proptest::prop_assert_eq!(length, again);
        }

        #[test]
        fn no_text_panics(text in ".{0,40}") {
            let _ = Length::parse(&text, LengthUnit::Millimetre);
            let _ = Torque::parse(&text);
            let _ = Distance::parse(&text, DistanceUnit::Mile);
            let _ = Temperature::parse(&text);
            let _ = Force::parse(&text, ForceUnit::PoundForce);
            let _ = Angle::parse(&text);
        }
    }
}
