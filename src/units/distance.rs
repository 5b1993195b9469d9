//! Distances driven: kilometres and miles.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::decimal::{nearest, parse_scaled, write_fixed};
use super::{Distance, UnitError};

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
    /// One of it in millimetres, exactly.
    #[must_use]
    pub const fn mm(self) -> i64 {
        match self {
            Self::Kilometre => 1_000_000,
            Self::Mile => 1_609_344,
        }
    }

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
                Ok((unit.mm().into(), 1))
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

    /// The same to the nearest kilometre, as an odometer is printed; miles give a fraction.
    ///
    /// # Examples
    /// ```
    /// use brakecorner::units::{Distance, DistanceUnit};
    /// let odometer = Distance::parse("52270 mi", DistanceUnit::Kilometre)?;
    /// assert_eq!(odometer.to_whole_km().to_string(), "84120 km");
    /// # Ok::<(), brakecorner::units::UnitError>(())
    /// ```
    #[must_use]
    pub const fn to_whole_km(self) -> Self {
        let half = if self.0 < 0 { -500_000 } else { 500_000 };
        Self::from_whole_km(self.0.saturating_add(half) / 1_000_000)
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
