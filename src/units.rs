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

use std::fmt;

use serde::{Deserialize, Serialize};

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

/// A decimal number as it was written: `digits × 10^-scale`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Decimal {
    digits: i128,
    scale: u32,
}

/// Most digits a reading may carry; no gauge prints more, and `i128` holds any product with a unit.
const MAX_DIGITS: usize = 15;

impl Decimal {
    /// Reads `22.01`, `22,01`, `+0.004`, `-0.019`, `−3`, `.5`; one decimal mark at most.
    fn parse(text: &str) -> Option<Self> {
        let (negative, body) = match text.strip_prefix(['-', '\u{2212}']) {
            Some(rest) => (true, rest),
            None => (false, text.strip_prefix('+').unwrap_or(text)),
        };
        let mut digits: i128 = 0;
        let mut scale = 0;
        let mut seen = 0;
        let mut mark = false;
        for c in body.chars() {
            match c {
                '0'..='9' => {
                    seen += 1;
                    if seen > MAX_DIGITS {
                        return None;
                    }
                    digits = digits * 10 + i128::from(u32::from(c) - u32::from('0'));
                    scale += u32::from(mark);
                }
                '.' | ',' if !mark => mark = true,
                _ => return None,
            }
        }
        (seen > 0).then_some(Self {
            digits: if negative { -digits } else { digits },
            scale,
        })
    }

    /// `self × numerator / denominator`, rounded half away from zero.
    fn scaled(self, numerator: i128, denominator: i128) -> Option<i128> {
        let product = self.digits.checked_mul(numerator)?;
        let divisor = 10i128.checked_pow(self.scale)?.checked_mul(denominator)?;
        let half = divisor / 2;
        Some(if product >= 0 {
            (product + half) / divisor
        } else {
            (product - half) / divisor
        })
    }
}

/// Splits `0.8665 in` into the number and the unit.
fn split_unit(text: &str) -> (&str, &str) {
    let trimmed = text.trim();
    let end = trimmed
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',' | '+' | '-' | '\u{2212}')))
        .unwrap_or(trimmed.len());
    (&trimmed[..end], trimmed[end..].trim())
}

fn parse_scaled(
    text: &str,
    example: &'static str,
    limit: (&'static str, i64),
    factor: impl Fn(&str) -> Result<(i128, i128), UnitError>,
) -> Result<i64, UnitError> {
    let (number, unit) = split_unit(text);
    if number.is_empty() && unit.is_empty() {
        return Err(UnitError::Empty);
    }
    let decimal = Decimal::parse(number).ok_or_else(|| UnitError::NotANumber {
        text: text.trim().to_owned(),
        example,
    })?;
    let (numerator, denominator) = factor(unit)?;
    decimal
        .scaled(numerator, denominator)
        .and_then(|value| i64::try_from(value).ok())
        .filter(|value| value.unsigned_abs() <= limit.1.unsigned_abs())
        .ok_or_else(|| UnitError::OutOfRange {
            text: text.trim().to_owned(),
            limit: limit.0,
        })
}

/// Prints `units / 10^places` with at least `least` decimals and no superfluous zeros after them.
fn write_fixed(f: &mut fmt::Formatter<'_>, units: i64, places: usize, least: usize) -> fmt::Result {
    let scale = 10u64.pow(u32::try_from(places).unwrap_or(0));
    let magnitude = units.unsigned_abs();
    let sign = if units < 0 { "-" } else { "" };
    let fraction = format!("{:0places$}", magnitude % scale);
    let kept = fraction.trim_end_matches('0').len().max(least);
    write!(f, "{sign}{}", magnitude / scale)?;
    if kept > 0 {
        write!(f, ".{}", &fraction[..kept])?;
    }
    Ok(())
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

/// Units a length is read in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum LengthUnit {
    /// Millimetre.
    #[default]
    #[serde(rename = "mm")]
    Millimetre,
    /// Inch, exactly 25.4 mm.
    #[serde(rename = "in")]
    Inch,
}

impl LengthUnit {
    const fn nm(self) -> i128 {
        match self {
            Self::Millimetre => 1_000_000,
            Self::Inch => 25_400_000,
        }
    }

    /// The unit's symbol, `mm` or `in`.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Millimetre => "mm",
            Self::Inch => "in",
        }
    }
}

impl std::str::FromStr for LengthUnit {
    type Err = UnitError;

    fn from_str(text: &str) -> Result<Self, UnitError> {
        match text.trim().to_ascii_lowercase().as_str() {
            "mm" => Ok(Self::Millimetre),
            "in" | "inch" | "\"" => Ok(Self::Inch),
            other => Err(UnitError::UnknownUnit {
                unit: other.to_owned(),
                quantity: "length",
                expected: "mm, in",
            }),
        }
    }
}

/// Longest length accepted: 10 m, far beyond any brake part.
const MAX_LENGTH: (&str, i64) = ("10 m", 10_000_000_000);

impl Length {
    /// Reads a length; `unit` applies when the text names none.
    ///
    /// Accepts a decimal point or comma, a sign, and the suffixes `mm`, `µm`, `um`, `in` and `"`.
    /// Digits finer than a nanometre round half away from zero.
    ///
    /// # Errors
    /// [`UnitError`] when the text is no number, has another unit, or exceeds 10 m.
    pub fn parse(text: &str, unit: LengthUnit) -> Result<Self, UnitError> {
        parse_scaled(text, "22.013", MAX_LENGTH, |suffix| match suffix {
            "" => Ok((unit.nm(), 1)),
            "mm" | "MM" => Ok((LengthUnit::Millimetre.nm(), 1)),
            "um" | "µm" | "\u{3bc}m" => Ok((1_000, 1)),
            "in" | "IN" | "\"" => Ok((LengthUnit::Inch.nm(), 1)),
            other => Err(UnitError::UnknownUnit {
                unit: other.to_owned(),
                quantity: "length",
                expected: "mm, µm, in",
            }),
        })
        .map(Self)
    }

    /// The length in millimetres.
    #[must_use]
    #[allow(clippy::cast_precision_loss)] // below 2^53 nm = 9000 km nothing is lost
    pub fn mm(self) -> f64 {
        self.0 as f64 / 1e6
    }

    /// The length in micrometres.
    #[must_use]
    #[allow(clippy::cast_precision_loss)]
    pub fn um(self) -> f64 {
        self.0 as f64 / 1e3
    }

    /// The nearest whole nanometre to a computed length in millimetres.
    ///
    /// Returns `None` for a value that is not finite or exceeds 10 m in size.
    #[must_use]
    pub fn from_mm(mm: f64) -> Option<Self> {
        nearest(mm * 1e6, MAX_LENGTH.1).map(Self)
    }

    /// The length written in `unit` with `places` decimals, rounded half away from zero.
    #[must_use]
    pub fn rounded(self, unit: LengthUnit, places: usize) -> String {
        let power = 10i128.pow(u32::try_from(places.min(9)).unwrap_or(9));
        let units = Decimal {
            digits: i128::from(self.0),
            scale: 0,
        }
        .scaled(power, unit.nm())
        .and_then(|v| i64::try_from(v).ok())
        .unwrap_or(i64::MAX);
        let mut text = String::new();
        let _ = fmt::write(
            &mut text,
            format_args!(
                "{}",
                Fixed {
                    units,
                    places: places.min(9)
                }
            ),
        );
        text
    }
}

/// Helper that prints a fixed number of decimals.
struct Fixed {
    units: i64,
    places: usize,
}

impl fmt::Display for Fixed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write_fixed(f, self.units, self.places, self.places)
    }
}

/// The nearest whole number to `value`, if finite and no larger than `limit` in size.
#[allow(clippy::cast_possible_truncation, clippy::cast_precision_loss)]
fn nearest(value: f64, limit: i64) -> Option<i64> {
    let rounded = libm::round(value);
    (rounded.is_finite() && rounded.abs() <= limit as f64).then_some(rounded as i64)
}

impl fmt::Display for Length {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write_fixed(f, self.0, 6, 3)?;
        f.write_str(" mm")
    }
}

impl Torque {
    /// Reads a torque; newton-metre when the text names no unit.
    ///
    /// Accepts `N·m`, `Nm`, `N m`, `lbf·ft`, `lbf ft`, `lbf·in` and `kgf·m`.
    ///
    /// # Errors
    /// [`UnitError`] when the text is no number, has another unit, or exceeds 10 000 N·m.
    pub fn parse(text: &str) -> Result<Self, UnitError> {
        parse_scaled(text, "140 N·m", ("10000 N·m", 10_000_000), |suffix| {
            let plain: String = suffix
                .chars()
                .filter(|c| !matches!(c, '·' | '.' | ' ' | '*'))
                .collect();
            match plain.as_str() {
                "" | "Nm" | "NM" => Ok((1_000, 1)),
                "lbfft" => Ok((13_558_179_483_314_004, 10_000_000_000_000)),
                "lbfin" => Ok((1_129_848_290_276_167, 10_000_000_000_000)),
                "kgfm" => Ok((980_665, 100)),
                _ => Err(UnitError::UnknownUnit {
                    unit: suffix.to_owned(),
                    quantity: "torque",
                    expected: "N·m, lbf·ft, lbf·in, kgf·m",
                }),
            }
        })
        .map(Self)
    }

    /// The torque in newton-metres.
    #[must_use]
    #[allow(clippy::cast_precision_loss)]
    pub fn nm(self) -> f64 {
        self.0 as f64 / 1e3
    }

    /// The nearest whole millinewton-metre to a computed torque, `None` if not finite or beyond 10 000 N·m.
    #[must_use]
    pub fn from_nm(newton_metres: f64) -> Option<Self> {
        nearest(newton_metres * 1e3, 10_000_000).map(Self)
    }
}

impl fmt::Display for Torque {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write_fixed(f, self.0, 3, 0)?;
        f.write_str(" N·m")
    }
}

/// Units a roller tester prints a force in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum ForceUnit {
    /// Newton.
    #[default]
    #[serde(rename = "N")]
    Newton,
    /// Kilogram-force, 9.80665 N.
    #[serde(rename = "kgf")]
    KilogramForce,
    /// Pound-force, 4.4482216152605 N.
    #[serde(rename = "lbf")]
    PoundForce,
}

impl Force {
    /// Reads a force; `unit` applies when the text names none.
    ///
    /// # Errors
    /// [`UnitError`] when the text is no number, has another unit, or exceeds 1 000 000 N.
    pub fn parse(text: &str, unit: ForceUnit) -> Result<Self, UnitError> {
        parse_scaled(text, "3920", ("1000000 N", 1_000_000_000), |suffix| {
            let unit = match suffix {
                "" => unit,
                "N" => ForceUnit::Newton,
                "kgf" => ForceUnit::KilogramForce,
                "lbf" => ForceUnit::PoundForce,
                other => {
                    return Err(UnitError::UnknownUnit {
                        unit: other.to_owned(),
                        quantity: "force",
                        expected: "N, kgf, lbf",
                    });
                }
            };
            Ok(match unit {
                ForceUnit::Newton => (1_000, 1),
                ForceUnit::KilogramForce => (980_665, 100),
                ForceUnit::PoundForce => (44_482_216_152_605, 10_000_000_000),
            })
        })
        .map(Self)
    }

    /// The force in newtons.
    #[must_use]
    #[allow(clippy::cast_precision_loss)]
    pub fn newtons(self) -> f64 {
        self.0 as f64 / 1e3
    }
}

impl fmt::Display for Force {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write_fixed(f, self.0, 3, 0)?;
        f.write_str(" N")
    }
}

/// Units an odometer counts in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum DistanceUnit {
    /// Kilometre.
    #[default]
    #[serde(rename = "km")]
    Kilometre,
    /// Mile, exactly 1.609344 km.
    #[serde(rename = "mi")]
    Mile,
}

impl DistanceUnit {
    /// The unit's symbol, `km` or `mi`.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Kilometre => "km",
            Self::Mile => "mi",
        }
    }
}

impl std::str::FromStr for DistanceUnit {
    type Err = UnitError;

    fn from_str(text: &str) -> Result<Self, UnitError> {
        match text.trim().to_ascii_lowercase().as_str() {
            "km" => Ok(Self::Kilometre),
            "mi" | "mile" | "miles" => Ok(Self::Mile),
            other => Err(UnitError::UnknownUnit {
                unit: other.to_owned(),
                quantity: "distance",
                expected: "km, mi",
            }),
        }
    }
}

impl Distance {
    /// Reads a distance; `unit` applies when the text names none. Spaces between digits are
    /// accepted (`84 120`), as people write odometers.
    ///
    /// # Errors
    /// [`UnitError`] when the text is no number, has another unit, or exceeds 10 000 000 km.
    pub fn parse(text: &str, unit: DistanceUnit) -> Result<Self, UnitError> {
        let mut joined = String::with_capacity(text.len());
        let mut rest = text.trim().chars().peekable();
        while let Some(c) = rest.next() {
            let between_digits = matches!(c, ' ' | '\u{202f}' | '\u{a0}')
                && joined.ends_with(|p: char| p.is_ascii_digit())
                && rest.peek().is_some_and(char::is_ascii_digit);
            if !between_digits {
                joined.push(c);
            }
        }
        parse_scaled(
            &joined,
            "84120 km",
            ("10000000 km", 10_000_000_000_000),
            |suffix| {
                let unit = match suffix {
                    "" => unit,
                    other => other.parse()?,
                };
                Ok(match unit {
                    DistanceUnit::Kilometre => (1_000_000, 1),
                    DistanceUnit::Mile => (1_609_344, 1),
                })
            },
        )
        .map(Self)
    }

    /// The distance in kilometres.
    #[must_use]
    #[allow(clippy::cast_precision_loss)]
    pub fn km(self) -> f64 {
        self.0 as f64 / 1e6
    }

    /// A distance of whole kilometres.
    #[must_use]
    pub const fn from_whole_km(km: i64) -> Self {
        Self(km.saturating_mul(1_000_000))
    }

    /// The nearest millimetre to a computed distance, `None` if not finite or beyond 10 000 000 km.
    #[must_use]
    pub fn from_km(km: f64) -> Option<Self> {
        nearest(km * 1e6, 10_000_000_000_000).map(Self)
    }
}

impl fmt::Display for Distance {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write_fixed(f, self.0, 6, 0)?;
        f.write_str(" km")
    }
}

impl Temperature {
    /// Reads a temperature; degrees Celsius when the text names no unit, `F` converts.
    ///
    /// # Errors
    /// [`UnitError`] when the text is no number, has another unit, or exceeds 2000 °C in size.
    pub fn parse(text: &str) -> Result<Self, UnitError> {
        let (number, suffix) = split_unit(text);
        let suffix = suffix.trim_start_matches('°').trim();
        let limit = ("2000 °C", 2_000_000);
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
