//! Decimal numbers as people write them, without a detour through binary fractions.

use std::fmt;

use super::UnitError;

/// A decimal number as it was written: `digits × 10^-scale`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Decimal {
    pub(super) digits: i128,
    pub(super) scale: u32,
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
    pub(super) fn scaled(self, numerator: i128, denominator: i128) -> Option<i128> {
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
pub(super) fn split_unit(text: &str) -> (&str, &str) {
    let trimmed = text.trim();
    let end = trimmed
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',' | '+' | '-' | '\u{2212}')))
        .unwrap_or(trimmed.len());
    (&trimmed[..end], trimmed[end..].trim())
}

pub(super) fn parse_scaled(
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
pub(super) fn write_fixed(
    f: &mut fmt::Formatter<'_>,
    units: i64,
    places: usize,
    least: usize,
) -> fmt::Result {
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

/// Helper that prints a fixed number of decimals.
pub(super) struct Fixed {
    pub(super) units: i64,
    pub(super) places: usize,
}

impl fmt::Display for Fixed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write_fixed(f, self.units, self.places, self.places)
    }
}

/// The nearest whole number to `value`, if finite and no larger than `limit` in size.
#[allow(clippy::cast_possible_truncation, clippy::cast_precision_loss)]
pub(super) fn nearest(value: f64, limit: i64) -> Option<i64> {
    let rounded = libm::round(value);
    (rounded.is_finite() && rounded.abs() <= limit as f64).then_some(rounded as i64)
}
