//! Percentages that compare exactly.

use std::fmt;

use serde::{Deserialize, Serialize};

/// A percentage in whole thousandths of a percent; 58 % is 58 000.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
)]
#[serde(transparent)]
pub struct Percent(i64);

impl Percent {
    /// Makes a percentage from whole thousandths of a percent.
    #[must_use]
    pub const fn from_thousandths(thousandths: i64) -> Self {
        Self(thousandths)
    }

    /// The percentage in whole thousandths of a percent.
    #[must_use]
    pub const fn thousandths(self) -> i64 {
        self.0
    }

    /// The percentage as a number, 58.0 for 58 %.
    #[must_use]
    #[allow(clippy::cast_precision_loss)] // exact below 2^53 thousandths
    pub fn percent(self) -> f64 {
        self.0 as f64 / 1e3
    }

    /// The percentage as a share of one, 0.58 for 58 %.
    #[must_use]
    #[allow(clippy::cast_precision_loss)] // exact below 2^53 thousandths
    pub fn share(self) -> f64 {
        self.0 as f64 / 1e5
    }

    /// The nearest thousandth to a computed percentage; `None` if not finite or beyond 1 000 000 %.
    #[must_use]
    #[allow(clippy::cast_possible_truncation)] // bounded by the check
    pub fn from_percent(percent: f64) -> Option<Self> {
        let rounded = libm::round(percent * 1e3);
        (rounded.is_finite() && rounded.abs() <= 1e9).then_some(Self(rounded as i64))
    }

    /// Reads a decimal number with at most three decimals, `None` for anything else.
    pub(super) fn parse(text: &str) -> Option<Self> {
        let (whole, fraction) = text.split_once(['.', ',']).unwrap_or((text, ""));
        let digits = |part: &str| part.bytes().all(|b| b.is_ascii_digit());
        if whole.is_empty() || whole.len() > 7 || fraction.len() > 3 {
            return None;
        }
        if !digits(whole) || !digits(fraction) {
            return None;
        }
        format!("{whole}{fraction:0<3}").parse().ok().map(Self)
    }
}

impl fmt::Display for Percent {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let magnitude = self.0.unsigned_abs();
        let sign = if self.0 < 0 { "-" } else { "" };
        let fraction = format!("{:03}", magnitude % 1000);
        let kept = fraction.trim_end_matches('0');
        let dot = if kept.is_empty() { "" } else { "." };
        write!(f, "{sign}{}{dot}{kept} %", magnitude / 1000)
    }
}
