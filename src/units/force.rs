//! Torques and forces.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::decimal::{nearest, parse_scaled, write_fixed};
use super::{Force, Torque, UnitError};

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
