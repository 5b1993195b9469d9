//! Chance from a number: the same number gives the same scene on every machine.

/// A small generator of chance (`SplitMix64`); good for invented corners and orders of parts, not for
/// secrets.
///
/// # Examples
/// ```
/// use brakecorner::walk::practice::Dice;
/// let (mut one, mut other) = (Dice::new(7), Dice::new(7));
/// assert_eq!(one.between(1, 6), other.between(1, 6));
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Dice(u64);

impl Dice {
    /// A generator that begins with this number.
    #[must_use]
    pub const fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number from 0 to below 1.
    #[allow(clippy::cast_precision_loss)] // 53 bits fit exactly
    pub fn fraction(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// A whole number from `low` to `high`, both included; `low` if they are the wrong way round.
    pub fn between(&mut self, low: i64, high: i64) -> i64 {
        let span = i128::from(high) - i128::from(low) + 1;
        if span <= 1 {
            return low;
        }
        // The bias of the remainder is below 1e-12 for the spans used here.
        let step = i128::from(self.next()).rem_euclid(span);
        i64::try_from(i128::from(low) + step).unwrap_or(low)
    }

    /// A number of the normal distribution with mean 0 and standard deviation 1.
    ///
    /// Formula: Box and Muller's transform.
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * libm::log(1.0 - self.fraction())).sqrt();
        radius * libm::cos(std::f64::consts::TAU * self.fraction())
    }

    /// Puts values in an order drawn anew.
    pub fn shuffle<T>(&mut self, values: &mut [T]) {
        for last in (1..values.len()).rev() {
            let other = self.between(0, i64::try_from(last).unwrap_or(0));
            values.swap(last, usize::try_from(other).unwrap_or(0));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn normal_numbers_have_mean_zero_and_deviation_one() {
        let mut dice = Dice::new(1);
        let values: Vec<f64> = (0..20_000).map(|_| dice.normal()).collect();
        let mean = values.iter().sum::<f64>() / 20_000.0;
        let variance = values.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / 19_999.0;
        // Five standard errors: 5/√20000 and 5·√(2/20000).
        assert!(
            mean.abs() < 0.036 && (variance - 1.0).abs() < 0.05,
            "{mean} {variance}"
        );
    }

    #[test]
    fn every_face_comes_up_and_no_other() {
        let mut dice = Dice::new(2);
        let mut seen = [0; 6];
        for _ in 0..600 {
            seen[usize::try_from(dice.between(1, 6)).unwrap() - 1] += 1;
        }
        assert!(seen.iter().all(|n| (60..140).contains(n)), "{seen:?}");
        assert_eq!(dice.between(5, 4), 5);
        assert_eq!(dice.between(i64::MIN, i64::MIN), i64::MIN);
    }
}
