//! Brake fluid: boiling point against its grade.

use serde::{Deserialize, Serialize};

use crate::units::Temperature;

/// A grade of brake fluid.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[non_exhaustive]
pub enum Grade {
    /// DOT 3.
    #[serde(rename = "DOT3")]
    Dot3,
    /// DOT 4.
    #[serde(rename = "DOT4")]
    Dot4,
    /// DOT 5, silicone based.
    #[serde(rename = "DOT5")]
    Dot5,
    /// DOT 5.1.
    #[serde(rename = "DOT5.1")]
    Dot51,
}

/// A text that names no grade.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{found}` is not a grade of brake fluid; expected DOT3, DOT4, DOT5 or DOT5.1")]
pub struct UnknownGrade {
    /// What was given.
    pub found: String,
}

impl std::str::FromStr for Grade {
    type Err = UnknownGrade;

    fn from_str(text: &str) -> Result<Self, UnknownGrade> {
        let plain: String = text
            .chars()
            .filter(|c| !matches!(c, ' ' | '-' | '_'))
            .map(|c| c.to_ascii_uppercase())
            .collect();
        match plain.as_str() {
            "DOT3" => Ok(Self::Dot3),
            "DOT4" => Ok(Self::Dot4),
            "DOT5" => Ok(Self::Dot5),
            "DOT5.1" | "DOT51" => Ok(Self::Dot51),
            _ => Err(UnknownGrade {
                found: text.to_owned(),
            }),
        }
    }
}

impl std::fmt::Display for Grade {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Dot3 => "DOT3",
            Self::Dot4 => "DOT4",
            Self::Dot5 => "DOT5",
            Self::Dot51 => "DOT5.1",
        })
    }
}

impl Grade {
    /// Smallest boiling point of fresh fluid.
    ///
    /// Source: 49 CFR 571.116 S5.1 (secondary).
    #[must_use]
    pub const fn dry_min(self) -> Temperature {
        Temperature::from_millidegrees(match self {
            Self::Dot3 => 205_000,
            Self::Dot4 => 230_000,
            Self::Dot5 | Self::Dot51 => 260_000,
        })
    }

    /// Smallest boiling point after taking up water; fluid in service below this must be changed.
    ///
    /// Source: 49 CFR 571.116 S5.1 (secondary).
    #[must_use]
    pub const fn wet_min(self) -> Temperature {
        Temperature::from_millidegrees(match self {
            Self::Dot3 => 140_000,
            Self::Dot4 => 155_000,
            Self::Dot5 | Self::Dot51 => 180_000,
        })
    }

    /// Half way between the two: below it a change is advised (own).
    ///
    /// ```
    /// use brakecorner::measure::fluid::Grade;
    ///
    /// assert_eq!(Grade::Dot4.midway().celsius(), 192.5);
    /// ```
    #[must_use]
    pub const fn midway(self) -> Temperature {
        let sum = self.dry_min().millidegrees() + self.wet_min().millidegrees();
        Temperature::from_millidegrees(sum / 2)
    }

    /// Where a measured boiling point stands; compared directly, a value at a minimum is inside.
    #[must_use]
    pub fn state(self, boiling: Temperature) -> FluidState {
        if boiling < self.wet_min() {
            FluidState::BelowWet
        } else if boiling < self.midway() {
            FluidState::BelowMidway
        } else {
            FluidState::Sound
        }
    }
}

/// Where a measured boiling point stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum FluidState {
    /// Midway or above.
    Sound,
    /// Below midway, not below the wet minimum.
    BelowMidway,
    /// Below the wet minimum.
    BelowWet,
}
