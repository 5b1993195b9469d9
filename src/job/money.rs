//! Money: exact decimals, never floats, never negative.

use std::fmt;
use std::str::FromStr;

use rust_decimal::{Decimal, RoundingStrategy};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// Why a text is no amount, or a sum does not fit.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum MoneyError {
    /// Not a plain decimal number.
    #[error("`{0}` is not an amount of money; expected digits and a point, as in 286.00")]
    NotANumber(String),
    /// Below zero.
    #[error("`{0}` is negative; an amount of money is never below 0")]
    Negative(String),
    /// Finer than a thousandth.
    #[error("`{0}` has more than 3 decimals")]
    TooFine(String),
    /// More than can be written on a quote.
    #[error("`{0}` is more than 999999999.999")]
    TooLarge(String),
}

/// An amount of money in the workshop's currency, zero to 999 999 999.999.
///
/// # Examples
/// ```
/// use brakecorner::job::Money;
/// let (discs, kit): (Money, Money) = ("286.00".parse()?, "64".parse()?);
/// assert_eq!((discs + kit).to_string(), "350.00");
/// assert!("-1".parse::<Money>().is_err());
/// # Ok::<(), brakecorner::job::MoneyError>(())
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Money(Decimal);

/// 999 999 999.999.
const LARGEST: Decimal = Decimal::from_parts(3_567_587_327, 232, 0, false, 3);

impl Money {
    /// Nothing.
    pub const ZERO: Self = Self(Decimal::ZERO);

    /// The amount as a decimal.
    #[must_use]
    pub const fn decimal(self) -> Decimal {
        self.0
    }

    /// An amount from a computation, rounded to `decimals` places, half away from zero; clamped to
    /// what an amount can hold.
    #[must_use]
    pub fn rounded(value: Decimal, decimals: u32) -> Self {
        let value = value.round_dp_with_strategy(decimals, RoundingStrategy::MidpointAwayFromZero);
        Self(value.clamp(Decimal::ZERO, LARGEST))
    }

    /// What remains after `other` is taken away, never below zero.
    #[must_use]
    pub fn less(self, other: Self) -> Self {
        Self((self.0 - other.0).max(Decimal::ZERO))
    }
}

impl std::ops::Add for Money {
    type Output = Self;

    /// The sum; stays at the largest amount when it would exceed it.
    fn add(self, other: Self) -> Self {
        Self((self.0 + other.0).min(LARGEST))
    }
}

impl std::iter::Sum for Money {
    fn sum<I: Iterator<Item = Self>>(amounts: I) -> Self {
        amounts.fold(Self::ZERO, |sum, amount| sum + amount)
    }
}

impl FromStr for Money {
    type Err = MoneyError;

    fn from_str(text: &str) -> Result<Self, MoneyError> {
        let trimmed = text.trim();
        let quoted = || text.to_owned();
        if trimmed.strip_prefix(['-', '−']).is_some() {
            return Err(MoneyError::Negative(quoted()));
        }
        // The decimal library also reads `1_000` and `1e3`; an amount is digits and one point.
        let plain = trimmed.chars().all(|c| c.is_ascii_digit() || c == '.');
        let number = Some(trimmed)
            .filter(|t| plain && !t.is_empty() && !t.starts_with('.') && !t.ends_with('.'))
            .ok_or_else(|| MoneyError::NotANumber(quoted()))?;
        let whole = number.split('.').next().unwrap_or_default();
        if whole.trim_start_matches('0').len() > 9 {
            return Err(MoneyError::TooLarge(quoted()));
        }
        let value =
            Decimal::from_str_exact(number).map_err(|_| MoneyError::NotANumber(quoted()))?;
        if value.scale() > 3 {
            return Err(MoneyError::TooFine(quoted()));
        }
        Ok(Self(value))
    }
}

impl fmt::Display for Money {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut value = self.0.normalize();
        value.rescale(value.scale().max(2));
        f.pad(&value.to_string())
    }
}

impl Serialize for Money {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Money {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?
            .parse()
            .map_err(serde::de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn money(text: &str) -> Money {
        text.parse().unwrap()
    }

    #[test]
    fn amounts_read_back_and_are_compared_by_value() {
        for (text, shown) in [
            ("0", "0.00"),
            ("58", "58.00"),
            ("58.5", "58.50"),
            ("0.125", "0.125"),
            ("999999999.999", "999999999.999"),
            ("007.10", "7.10"),
        ] {
            assert_eq!(money(text).to_string(), shown);
            assert_eq!(money(shown), money(text));
        }
    }

    #[test]
    fn what_is_no_amount_is_refused_with_its_text() {
        for text in [
            "", " ", ".5", "5.", "1,50", "1_000", "1e3", "1.2.3", "£5", "+5", "NaN", "٣",
        ] {
            assert!(
                matches!(text.parse::<Money>(), Err(MoneyError::NotANumber(t)) if t == text),
                "{text}"
            );
        }
        for text in ["-1", "−0.01", "-0"] {
            assert!(matches!(
                text.parse::<Money>(),
                Err(MoneyError::Negative(_))
            ));
        }
        assert!(matches!(
            "1.0001".parse::<Money>(),
            Err(MoneyError::TooFine(_))
        ));
        for text in ["1000000000", &"9".repeat(500)] {
            assert!(matches!(
                text.parse::<Money>(),
                Err(MoneyError::TooLarge(_))
            ));
        }
    }

    #[test]
    fn tenths_add_up_exactly_and_sums_never_overflow() {
        let tenths: Money = std::iter::repeat_n(money("0.10"), 10).sum();
        assert_eq!(tenths, money("1.00"));
        let huge: Money = std::iter::repeat_n(money("999999999.999"), 1000).sum();
        assert_eq!(huge.to_string(), "999999999.999");
        assert_eq!(money("3").less(money("5")), Money::ZERO);
    }

    /// Half away from zero, worked by hand (own arithmetic): 0.125 → 0.13, 0.135 → 0.14, 0.145 →
    /// 0.15; half to even would give 0.12, 0.14, 0.14.
    #[test]
    fn half_a_cent_is_rounded_up() {
        for (value, rounded) in [("0.125", "0.13"), ("0.135", "0.14"), ("0.145", "0.15")] {
            let value = Decimal::from_str_exact(value).unwrap();
            assert_eq!(Money::rounded(value, 2), money(rounded));
        }
    }
}
