//! Tightening: order, stages, tool range and tolerance.

use serde::{Deserialize, Serialize};

use crate::measure::MeasureError;
use crate::measure::error::Problems;
use crate::units::{Angle, Length, Torque};

/// Stages as fractions of the target when nobody says otherwise (own).
pub const DEFAULT_STAGES: [f64; 3] = [0.3, 0.6, 1.0];

/// The order in which a wheel's fasteners are tightened, numbered from 1 round the circle.
///
/// Formula: even counts go to the opposite one each time, odd counts about half way round; from five
/// up no two neighbours follow each other. Source: common practice; the maker's order wins.
///
/// # Errors
/// [`MeasureError::FastenerCount`] outside 3 to 10.
///
/// ```
/// use brakecorner::measure::torque::star_order;
///
/// assert_eq!(star_order(5)?, [1, 3, 5, 2, 4]);
/// assert!(star_order(2).is_err());
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn star_order(fasteners: u8) -> Result<Vec<u8>, MeasureError> {
    let order: &[u8] = match fasteners {
        3 => &[1, 2, 3], // no opposite exists: go round twice at the first stage
        4 => &[1, 3, 2, 4],
        5 => &[1, 3, 5, 2, 4],
        6 => &[1, 4, 2, 5, 3, 6],
        7 => &[1, 4, 7, 3, 6, 2, 5],
        8 => &[1, 5, 3, 7, 2, 6, 4, 8],
        9 => &[1, 5, 9, 4, 8, 3, 7, 2, 6],
        10 => &[1, 6, 3, 8, 5, 10, 7, 2, 9, 4],
        found => {
            return Err(MeasureError::FastenerCount {
                what: "fasteners",
                found,
            });
        }
    };
    Ok(order.to_vec())
}

/// The torque of each stage, to 0.001 N·m.
///
/// A fraction that is not finite, or a result beyond what a torque can hold, gives no stage; check
/// fractions with [`plan`] where they come from a person.
///
/// ```
/// use brakecorner::measure::torque::{DEFAULT_STAGES, stages};
/// use brakecorner::units::Torque;
///
/// let nm = |v: i64| Torque::from_mnm(v * 1000);
/// assert_eq!(stages(nm(140), &DEFAULT_STAGES), [nm(42), nm(84), nm(140)]);
/// ```
#[must_use]
pub fn stages(target: Torque, fractions: &[f64]) -> Vec<Torque> {
    fractions
        .iter()
        .filter_map(|f| Torque::from_nm(target.nm() * f))
        .collect()
}

/// One round over all fasteners.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Pass {
    /// What the wrench is set to.
    pub torque: Torque,
    /// The fasteners in order, numbered from 1.
    pub order: Vec<u8>,
    /// The second round at full torque, where nothing should turn any more.
    pub verification: bool,
}

/// The rounds of a tightening: each stage once, then a second round at full torque.
///
/// # Errors
/// [`MeasureError`] for fasteners outside 3 to 10, a target that is not above zero, no stage, or
/// fractions that do not rise to 1; all of them at once.
///
/// ```
/// use brakecorner::measure::torque::{DEFAULT_STAGES, plan};
/// use brakecorner::units::Torque;
///
/// let passes = plan(Torque::from_mnm(140_000), &DEFAULT_STAGES, 5)?;
/// let set: Vec<f64> = passes.iter().map(|p| p.torque.nm()).collect();
/// assert_eq!(set, [42.0, 84.0, 140.0, 140.0]);
/// assert!(passes[3].verification);
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn plan(target: Torque, fractions: &[f64], fasteners: u8) -> Result<Vec<Pass>, MeasureError> {
    let mut problems = Problems::default();
    let order = problems.take(star_order(fasteners)).unwrap_or_default();
    check_target(target, &mut problems);
    problems.check(!fractions.is_empty(), || MeasureError::TooFew {
        what: "torque stages",
        found: 0,
        needed: 1,
    });
    let mut before = 0.0;
    for &fraction in fractions {
        problems.check(fraction > before && fraction <= 1.0, || {
            MeasureError::OutOfRange {
                what: "torque stage, each more than the one before",
                value: fraction,
                low: before,
                high: 1.0,
                unit: "of the target",
            }
        });
        before = fraction;
    }
    if let Some(&last) = fractions.last() {
        problems.check((last - 1.0).abs() < 1e-9, || MeasureError::OutOfRange {
            what: "last torque stage",
            value: last,
            low: 1.0,
            high: 1.0,
            unit: "of the target",
        });
    }
    problems.finish()?;
    let mut passes: Vec<Pass> = stages(target, fractions)
        .into_iter()
        .map(|torque| Pass {
            torque,
            order: order.clone(),
            verification: false,
        })
        .collect();
    passes.push(Pass {
        torque: target,
        order,
        verification: true,
    });
    Ok(passes)
}

/// What a wrench is set to for a stage of a tightening to `target`.
///
/// Shape: a stage below the wrench's range rises to its lower end, for a click below it measures
/// nothing; `None` when the wrench cannot do this stage: it ends below it, or begins above the target.
///
/// ```
/// use brakecorner::measure::torque::stage_setting;
/// use brakecorner::units::Torque;
///
/// let nm = |v: i64| Torque::from_mnm(v * 1000);
/// let wrench = (nm(40), nm(200));
/// assert_eq!(stage_setting(nm(36), nm(120), wrench), Some(nm(40)));
/// assert_eq!(stage_setting(nm(72), nm(120), wrench), Some(nm(72)));
/// assert_eq!(stage_setting(nm(11), nm(36), wrench), None);
/// ```
#[must_use]
pub fn stage_setting(
    stage: Torque,
    target: Torque,
    (low, high): (Torque, Torque),
) -> Option<Torque> {
    let set = stage.max(low);
    (set <= high.min(target)).then_some(set)
}

fn check_target(target: Torque, problems: &mut Problems) {
    problems.check(target > Torque::ZERO, || MeasureError::OutOfRange {
        what: "target torque",
        value: target.nm(),
        low: 0.001,
        high: 10_000.0,
        unit: "N·m",
    });
}

/// Whether a wrench can be trusted with a target.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum WrenchCover {
    /// Within the range, and at or above the lowest calibrated point.
    Covered,
    /// Within the range, below 20 % of its maximum: no calibration point is that low.
    BelowCalibration,
    /// Outside the range.
    OutOfRange,
}

/// Compares a target with a wrench's range, both ends included.
///
/// Source: calibrated at 20, 60 and 100 % of the maximum, ISO 6789:2003 (secondary).
///
/// # Errors
/// [`MeasureError::OutOfRange`] when the range is empty or the target not above zero.
///
/// ```
/// use brakecorner::measure::torque::{WrenchCover, wrench_covers};
/// use brakecorner::units::Torque;
///
/// let nm = |v: i64| Torque::from_mnm(v * 1000);
/// assert_eq!(wrench_covers(nm(140), nm(40), nm(200))?, WrenchCover::Covered);
/// assert_eq!(wrench_covers(nm(30), nm(40), nm(200))?, WrenchCover::OutOfRange);
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn wrench_covers(
    target: Torque,
    low: Torque,
    high: Torque,
) -> Result<WrenchCover, MeasureError> {
    let mut problems = Problems::default();
    check_target(target, &mut problems);
    problems.check(low >= Torque::ZERO && low < high, || {
        MeasureError::OutOfRange {
            what: "lower end of the wrench's range",
            value: low.nm(),
            low: 0.0,
            high: high.nm(),
            unit: "N·m",
        }
    });
    problems.finish()?;
    Ok(if target < low || target > high {
        WrenchCover::OutOfRange
    } else if target.mnm().saturating_mul(5) < high.mnm() {
        WrenchCover::BelowCalibration
    } else {
        WrenchCover::Covered
    })
}

/// What a wrench of the common class may deviate at a setting.
///
/// Formula: ±4 % for a tool whose maximum is above 10 N·m, ±6 % up to 10 N·m.
/// Source: ISO 6789:2003, type II class A (secondary).
///
/// ```
/// use brakecorner::measure::torque::tolerance;
/// use brakecorner::units::Torque;
///
/// let nm = |v: i64| Torque::from_mnm(v * 1000);
/// assert_eq!(tolerance(nm(120), nm(200)), Torque::from_mnm(4_800));
/// ```
#[must_use]
pub fn tolerance(setting: Torque, tool_maximum: Torque) -> Torque {
    let percent = if tool_maximum.mnm() > 10_000 { 4 } else { 6 };
    Torque::from_mnm(setting.mnm().saturating_mul(percent) / 100)
}

/// A torque followed by an angle, as some makers give for single-use fasteners.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct AngleStage {
    /// The snug torque the angle starts from.
    pub snug: Torque,
    /// The angle to turn further; stages of it are added up.
    pub angle: Angle,
}

impl AngleStage {
    /// Makes an angle stage.
    ///
    /// # Errors
    /// [`MeasureError::OutOfRange`] when the torque is not above zero or the angle not in 1° to 720°.
    pub fn new(snug: Torque, angle: Angle) -> Result<Self, MeasureError> {
        let mut problems = Problems::default();
        check_target(snug, &mut problems);
        problems.check((1.0..=720.0).contains(&angle.degrees()), || {
            MeasureError::OutOfRange {
                what: "tightening angle",
                value: angle.degrees(),
                low: 1.0,
                high: 720.0,
                unit: "degrees",
            }
        });
        problems.finish()?;
        Ok(Self { snug, angle })
    }

    /// The angle in quarter turns, for people with a paint mark and no protractor.
    #[must_use]
    pub fn quarter_turns(&self) -> f64 {
        self.angle.degrees() / 90.0
    }
}

/// What to set a wrench to when an extension in line with it (a crowfoot) lengthens its arm.
///
/// Formula: `set = target · L/(L + E)`, `L` from the drive to the hand, `E` from the drive to the
/// fastener along the wrench. Source: common practice (a lever).
///
/// # Errors
/// [`MeasureError`] when the arm or the target is not above zero or the extension is negative.
///
/// ```
/// use brakecorner::measure::torque::crowfoot;
/// use brakecorner::units::{Length, Torque};
///
/// let mm = |v: i64| Length::from_nm(v * 1_000_000);
/// let set = crowfoot(Torque::from_mnm(120_000), mm(420), mm(45))?;
/// assert!((set.nm() - 108.4).abs() < 0.05);
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn crowfoot(target: Torque, arm: Length, extension: Length) -> Result<Torque, MeasureError> {
    let mut problems = Problems::default();
    check_target(target, &mut problems);
    problems.check(arm > Length::ZERO, || MeasureError::NotPositive {
        what: "length of the wrench".to_owned(),
        value: arm,
    });
    problems.check(extension >= Length::ZERO, || MeasureError::Negative {
        what: "length of the extension".to_owned(),
        value: extension,
    });
    problems.finish()?;
    let set = target.nm() * arm.mm() / (arm + extension).mm();
    Torque::from_nm(set).ok_or(MeasureError::NotFinite {
        what: "wrench setting",
        value: set,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_order_is_a_permutation_without_neighbours_from_five_up() {
        for n in 3..=10u8 {
            let order = star_order(n).unwrap();
            let mut sorted = order.clone();
            sorted.sort_unstable();
            assert_eq!(sorted, (1..=n).collect::<Vec<_>>(), "{n}");
            for pair in order.windows(2).filter(|_| n >= 5) {
                let step = (i16::from(pair[0]) - i16::from(pair[1])).rem_euclid(i16::from(n));
                assert!(step != 1 && step != i16::from(n) - 1, "{n}: {pair:?}");
            }
            for pair in order.chunks_exact(2).filter(|_| n % 2 == 0) {
                let step = (i16::from(pair[1]) - i16::from(pair[0])).rem_euclid(i16::from(n));
                assert_eq!(step, i16::from(n / 2), "{n}: {pair:?} are not opposite");
            }
        }
        for n in [0, 2, 11, 255] {
            assert!(star_order(n).is_err());
        }
    }

    #[test]
    fn a_plan_ends_with_a_second_round_at_full_torque() {
        let target = Torque::from_mnm(110_000);
        let passes = plan(target, &DEFAULT_STAGES, 5).unwrap();
        assert_eq!(passes.len(), 4);
        assert!(passes[3].verification && passes[3].torque == target && passes[2].torque == target);
        let Err(MeasureError::Problems(all)) = plan(Torque::ZERO, &[0.6, 0.3], 2) else {
            panic!("accepted")
        };
        assert_eq!(all.len(), 4, "{all:?}");
    }

    #[test]
    fn a_wrench_covers_its_range_and_is_calibrated_from_a_fifth_of_it_up() {
        let nm = |v: i64| Torque::from_mnm(v * 1000);
        for (target, cover) in [
            (19, WrenchCover::OutOfRange),
            (20, WrenchCover::BelowCalibration),
            (39, WrenchCover::BelowCalibration),
            (40, WrenchCover::Covered),
            (200, WrenchCover::Covered),
            (201, WrenchCover::OutOfRange),
        ] {
            assert_eq!(
                wrench_covers(nm(target), nm(20), nm(200)).unwrap(),
                cover,
                "{target}"
            );
        }
        assert!(wrench_covers(nm(0), nm(200), nm(40)).is_err());
    }

    #[test]
    fn small_tools_have_the_wider_tolerance() {
        let nm = |v: i64| Torque::from_mnm(v * 1000);
        assert_eq!(tolerance(nm(10), nm(10)), Torque::from_mnm(600));
        assert_eq!(tolerance(nm(10), nm(50)), Torque::from_mnm(400));
    }
}
