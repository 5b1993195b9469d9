//! Vehicle identification number and its check digit.
//!
//! Source: 49 CFR 565.15(c) (read). Outside North America the digit need not hold (ISO 3779,
//! secondary), so a mismatch is a question and not a refusal; length and alphabet always hold.

/// Weight of each of the seventeen places.
const WEIGHTS: [u32; 17] = [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2];

/// Why a text cannot be a vehicle identification number anywhere.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum VinError {
    /// Not seventeen characters.
    #[error("`{vin}` has {found} characters, expected 17")]
    Length {
        /// What was given.
        vin: String,
        /// Its number of characters.
        found: usize,
    },
    /// A character that never occurs: I, O, Q, or no letter or digit at all.
    #[error(
        "`{vin}` has `{found}` at place {place}, expected a digit or a letter other than I, O, Q"
    )]
    Character {
        /// What was given.
        vin: String,
        /// The character.
        found: char,
        /// Its place, from 1.
        place: usize,
    },
}

/// What the check digit says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct VinCheck {
    /// Weighted sum of all places.
    pub weighted_sum: u32,
    /// The digit that belongs at place 9: `0` to `9` or `X`.
    pub expected: char,
    /// What stands there.
    pub found: char,
}

impl VinCheck {
    /// Whether the check digit holds.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.expected == self.found
    }
}

fn value(c: char) -> Option<u32> {
    Some(match c {
        '0'..='9' => u32::from(c) - u32::from('0'),
        'A' | 'J' => 1,
        'B' | 'K' | 'S' => 2,
        'C' | 'L' | 'T' => 3,
        'D' | 'M' | 'U' => 4,
        'E' | 'N' | 'V' => 5,
        'F' | 'W' => 6,
        'G' | 'P' | 'X' => 7,
        'H' | 'Y' => 8,
        'R' | 'Z' => 9,
        _ => return None,
    })
}

/// Computes the check digit of a vehicle identification number; lower case is accepted.
///
/// Formula: letters valued by the regulation's table, weighted 8 7 6 5 4 3 2 10 0 9 8 7 6 5 4 3 2,
/// the sum's remainder by 11, ten written X.
///
/// # Errors
/// [`VinError`] for another length than 17 or a character that never occurs.
///
/// ```
/// use brakecorner::measure::vin::check;
///
/// assert!(check("ZZ9TEST1XAT000003")?.holds()); // remainder 10
/// assert!(!check("ZZ9TEST11AT000003")?.holds());
/// assert!(check("ZZ9TEST1XAT00000O").is_err());
/// # Ok::<(), brakecorner::measure::vin::VinError>(())
/// ```
pub fn check(vin: &str) -> Result<VinCheck, VinError> {
    let upper: Vec<char> = vin.trim().chars().map(|c| c.to_ascii_uppercase()).collect();
    if upper.len() != WEIGHTS.len() {
        return Err(VinError::Length {
            vin: vin.to_owned(),
            found: upper.len(),
        });
    }
    let mut weighted_sum = 0;
    for (i, (&c, weight)) in upper.iter().zip(WEIGHTS).enumerate() {
        let worth = value(c).ok_or_else(|| VinError::Character {
            vin: vin.to_owned(),
            found: c,
            place: i + 1,
        })?;
        weighted_sum += worth * weight;
    }
    let expected = match weighted_sum % 11 {
        10 => 'X',
        rest => char::from_digit(rest, 10).unwrap_or('0'),
    };
    Ok(VinCheck {
        weighted_sum,
        expected,
        found: upper.get(8).copied().unwrap_or('0'),
    })
}
