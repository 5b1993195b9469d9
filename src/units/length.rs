//! Lengths: millimetres, micrometres, inches.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::decimal::{Decimal, Fixed, nearest, parse_scaled, write_fixed};
use super::{Length, UnitError};

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

impl fmt::Display for Length {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write_fixed(f, self.0, 6, 3)?;
        f.write_str(" mm")
    }
}
