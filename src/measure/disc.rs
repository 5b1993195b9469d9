//! Disc thickness, thickness variation and wear.
//!
//! Each reading is corrected as `t = (raw − zero error) / (1 + α(T_disc − T_gauge))`; a point is the
//! mean of its readings. The thinnest point decides, never the mean.

use serde::{Deserialize, Serialize};

use std::sync::OnceLock;

use crate::measure::error::Problems;
use crate::measure::harmonic::{self, Harmonic};
use crate::measure::uncertainty::{self, Budget, Contribution, Distribution, Gauge};
use crate::measure::{MeasureError, extremes, length, mean, micro, special};
use crate::units::{Length, Temperature};

/// Linear expansion of grey cast iron, per kelvin; a stated assumption.
///
/// Source: a materials-science textbook's Table B.6 for grades G1800, G3000 and G4000 (read); other
/// tables give 10 to 12 × 10⁻⁶ (secondary), hence [`EXPANSION_HALF_WIDTH`].
pub const GREY_IRON_EXPANSION: f64 = 11.4e-6;
/// Half-width of what is known about the expansion coefficient, per kelvin (own).
pub const EXPANSION_HALF_WIDTH: f64 = 0.6e-6;
/// Half-width of a logged disc temperature, in kelvin (own).
pub const TEMPERATURE_HALF_WIDTH_K: f64 = 1.0;
/// Half-width of the disc's temperature when nobody logged it, in kelvin (own): a driven disc is
/// warmer than the gauge and never colder, so for proof it is taken as warmer by this ± this.
pub const UNKNOWN_TEMPERATURE_HALF_WIDTH_K: f64 = 15.0;
/// Temperature of a gauge that nobody logged: the reference temperature of length measurement.
const REFERENCE_MILLIDEGREES: i64 = 20_000;

/// Under what conditions the thickness was read.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ThicknessConditions {
    /// What the micrometer reads above its setting standard; subtracted from every reading.
    pub zero_error: Length,
    /// The disc's temperature; `None` = not logged, no correction and a wider uncertainty.
    pub disc_temperature: Option<Temperature>,
    /// The gauge's temperature; `None` = 20 °C.
    pub gauge_temperature: Option<Temperature>,
    /// Expansion of the disc per kelvin; [`GREY_IRON_EXPANSION`] unless policy says otherwise.
    pub expansion_per_k: f64,
    /// Half-width of the expansion, per kelvin.
    pub expansion_half_width_per_k: f64,
    /// Half-width of a temperature that was logged, in kelvin.
    pub given_half_width_k: f64,
    /// How much warmer than the gauge the disc is taken as for proof when it was not, in kelvin, and
    /// the half-width of that.
    pub unknown_half_width_k: f64,
}

impl Default for ThicknessConditions {
    fn default() -> Self {
        Self {
            zero_error: Length::ZERO,
            disc_temperature: None,
            gauge_temperature: None,
            expansion_per_k: GREY_IRON_EXPANSION,
            expansion_half_width_per_k: EXPANSION_HALF_WIDTH,
            given_half_width_k: TEMPERATURE_HALF_WIDTH_K,
            unknown_half_width_k: UNKNOWN_TEMPERATURE_HALF_WIDTH_K,
        }
    }
}

impl ThicknessConditions {
    /// The gauge's temperature, logged or not.
    fn gauge_celsius(&self) -> Temperature {
        self.gauge_temperature
            .unwrap_or(Temperature::from_millidegrees(REFERENCE_MILLIDEGREES))
    }

    /// Disc minus gauge, in kelvin; zero when the disc's temperature is not known.
    fn difference_k(&self) -> f64 {
        self.disc_temperature
            .map_or(0.0, |disc| (disc - self.gauge_celsius()).celsius())
    }

    fn check(&self, problems: &mut Problems) {
        problems.check((0.0..=1e-4).contains(&self.expansion_per_k), || {
            MeasureError::OutOfRange {
                what: "expansion coefficient",
                value: self.expansion_per_k,
                low: 0.0,
                high: 1e-4,
                unit: "per kelvin",
            }
        });
        for (what, value, high) in [
            (
                "half-width of the expansion",
                self.expansion_half_width_per_k,
                1e-4,
            ),
            ("half-width of a temperature", self.given_half_width_k, 1e3),
            (
                "half-width of a temperature",
                self.unknown_half_width_k,
                1e3,
            ),
        ] {
            problems.check((0.0..=high).contains(&value), || MeasureError::OutOfRange {
                what,
                value,
                low: 0.0,
                high,
                unit: "K",
            });
        }
        for (what, t) in [
            ("disc temperature", self.disc_temperature),
            ("gauge temperature", self.gauge_temperature),
        ] {
            let celsius = t.map_or(20.0, Temperature::celsius);
            problems.check((-60.0..=900.0).contains(&celsius), || {
                MeasureError::OutOfRange {
                    what,
                    value: celsius,
                    low: -60.0,
                    high: 900.0,
                    unit: "°C",
                }
            });
        }
    }

    /// A raw reading without zero error and at the gauge's temperature.
    fn corrected(&self, raw: Length) -> Result<Length, MeasureError> {
        let scale = 1.0 + self.expansion_per_k * self.difference_k();
        length("corrected thickness", (raw - self.zero_error).mm() / scale)
    }
}

/// A disc's thickness over one ring of points.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Thickness {
    /// The corrected mean of each point, in passing order.
    pub points: Vec<Length>,
    /// The thinnest point: what the limit is compared with.
    pub t_min: Length,
    /// Which point is thinnest, counted from 0; the first of several.
    pub t_min_point: usize,
    /// The thickest point.
    pub t_max: Length,
    /// The mean of the points.
    pub t_mean: Length,
    /// Thickness variation: thickest minus thinnest.
    pub dtv: Length,
    /// What the same gauge shows on a perfect disc in 95 of 100 cases or fewer.
    pub dtv_floor: Length,
    /// Standard uncertainty of the thickness variation.
    pub u_dtv: Length,
    /// Contributions to `u`.
    pub budget: Budget,
    /// Standard uncertainty of the thinnest point.
    pub u: Length,
    /// What the thinnest point is taken as where nobody logged the disc's temperature; `None` when
    /// somebody did.
    pub unlogged: Option<Unlogged>,
    /// Readings a point; the fewest of any point.
    pub readings_per_point: usize,
    /// Once-a-turn part; `None` with fewer than three points.
    pub order1: Option<Harmonic>,
    /// Twice-a-turn part; `None` with fewer than five points.
    pub order2: Option<Harmonic>,
}

/// The thinnest point of a disc whose temperature nobody logged.
///
/// A warm disc reads thick, and a driven one is warm: what was read proves less than it shows. It
/// never proves more, so a value beyond its limit is beyond at any temperature.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Unlogged {
    /// By how much the disc is taken as warmer than the gauge, in kelvin; also the half-width of it.
    pub warmer_k: f64,
    /// The thinnest point at that temperature: what must be proven inside.
    pub t_min: Length,
    /// The thinnest point if the disc were as warm as it may be.
    pub t_least: Length,
    /// Standard uncertainty the thinnest point had with a logged temperature.
    pub u_logged: Length,
}

impl Unlogged {
    fn of(
        gauge: &Gauge,
        readings: usize,
        t_min: Length,
        conditions: &ThicknessConditions,
    ) -> Result<Option<Self>, MeasureError> {
        if conditions.disc_temperature.is_some() {
            return Ok(None);
        }
        let warmer_k = conditions.unknown_half_width_k;
        let warm = |kelvin: f64| {
            let scale = 1.0 + conditions.expansion_per_k * kelvin;
            length("thickness of a warm disc", t_min.mm() / scale)
        };
        let logged = ThicknessConditions {
            disc_temperature: Some(conditions.gauge_celsius()),
            ..conditions.clone()
        };
        Ok(Some(Self {
            warmer_k,
            t_min: warm(warmer_k)?,
            t_least: warm(2.0 * warmer_k)?,
            u_logged: uncertainty::combined(&budget(gauge, readings, t_min, &logged))?,
        }))
    }
}

impl Thickness {
    /// The value that must be proven inside the limit.
    #[must_use]
    pub fn proved(&self) -> Length {
        self.unlogged.map_or(self.t_min, |unlogged| unlogged.t_min)
    }
}

/// Evaluates a ring of thickness readings.
///
/// Shape: one inner list a point, in passing order, evenly spaced from stud 1; each holds the
/// readings taken at that point. Two points at least.
/// Units: lengths, as read. Formula: module docs; variation `max − min`; noise floor
/// `q·√((s² + d²/12)/m)` with `q` the 95 % point of the range of that many normal readings;
/// `u_dtv = √2·√(s²/m + d²/12)`, because differences with one gauge lose the systematic parts.
/// Source: JCGM 100:2008 4.3.7 and 5.1.2 for the budget; the noise floor from the studentized range.
///
/// # Errors
/// [`MeasureError`] for fewer than two points, an empty point, a thickness that is zero or
/// negative, readings in mixed units, a temperature outside −60 to 900 °C; all of them at once.
///
/// ```
/// use brakecorner::measure::disc::{ThicknessConditions, thickness};
/// use brakecorner::measure::uncertainty::Gauge;
/// use brakecorner::units::{Length, Temperature};
///
/// let um = |v: i64| Length::from_nm(v * 1000);
/// let gauge = Gauge {
///     mpe: um(4), resolution: um(1), repeatability: um(1), zero_check: um(1),
///     repeatability_dof: None,
/// };
/// let warm = ThicknessConditions {
///     zero_error: um(1),
///     disc_temperature: Some(Temperature::from_millidegrees(34_000)),
///     ..ThicknessConditions::default()
/// };
/// let ring: Vec<_> = [8017, 8017, 8015, 8013, 8009, 8006, 8006, 8008, 8011, 8016]
///     .map(|v| vec![um(v)]).into();
/// let t = thickness(&ring, &warm, &gauge)?;
/// assert_eq!(t.t_min.to_string(), "8.003723 mm"); // 8.005 mm at 34 °C
/// assert_eq!(t.t_min_point, 5);
/// assert_eq!((t.dtv.um() * 10.0).round(), 110.0);
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn thickness(
    points: &[Vec<Length>],
    conditions: &ThicknessConditions,
    gauge: &Gauge,
) -> Result<Thickness, MeasureError> {
    check_ring(points, conditions, gauge)?;
    let mut means = Vec::with_capacity(points.len());
    for readings in points {
        let corrected = readings
            .iter()
            .map(|&r| conditions.corrected(r))
            .collect::<Result<Vec<_>, _>>()?;
        means.push(mean(&corrected).ok_or(MeasureError::TooFew {
            what: "readings at a point",
            found: 0,
            needed: 1,
        })?);
    }
    let none = MeasureError::TooFew {
        what: "thickness points",
        found: 0,
        needed: 2,
    };
    let (t_min, t_max) = extremes(&means).ok_or_else(|| none.clone())?;
    let t_mean = mean(&means).ok_or(none)?;
    let readings_per_point = points.iter().map(Vec::len).min().unwrap_or(0);
    let budget = budget(gauge, readings_per_point, t_min, conditions);
    let mm: Vec<f64> = means.iter().map(|p| p.mm()).collect();
    Ok(Thickness {
        t_min_point: means.iter().position(|&p| p == t_min).unwrap_or(0),
        t_min,
        t_max,
        t_mean,
        dtv: t_max - t_min,
        dtv_floor: dtv_floor(gauge, means.len(), readings_per_point)?,
        u_dtv: u_dtv(gauge, readings_per_point)?,
        u: uncertainty::combined(&budget)?,
        unlogged: Unlogged::of(gauge, readings_per_point, t_min, conditions)?,
        budget,
        readings_per_point,
        order1: harmonic::order_of(&mm, 1),
        order2: harmonic::order_of(&mm, 2),
        points: means,
    })
}

fn check_ring(
    points: &[Vec<Length>],
    conditions: &ThicknessConditions,
    gauge: &Gauge,
) -> Result<(), MeasureError> {
    let mut problems = Problems::default();
    problems.take(gauge.validate());
    conditions.check(&mut problems);
    problems.check(points.len() >= 2, || MeasureError::TooFew {
        what: "thickness points",
        found: points.len(),
        needed: 2,
    });
    for (index, readings) in points.iter().enumerate() {
        problems.check(!readings.is_empty(), || MeasureError::TooFew {
            what: "readings at a point",
            found: 0,
            needed: 1,
        });
        for &value in readings {
            problems.check(value - conditions.zero_error > Length::ZERO, || {
                MeasureError::NotPositive {
                    what: format!("thickness at point {}", index + 1),
                    value,
                }
            });
        }
    }
    check_same_unit(
        "thickness reading",
        points.iter().flatten().copied(),
        &mut problems,
    );
    problems.finish()
}

/// Refuses a reading more than five times larger or smaller than the ring's median: no disc does
/// that, an inch reading (25.4) or a slipped decimal (10) does.
pub(crate) fn check_same_unit(
    what: &'static str,
    readings: impl Iterator<Item = Length>,
    problems: &mut Problems,
) {
    let readings: Vec<Length> = readings.collect();
    let mut sorted = readings.clone();
    sorted.sort();
    let Some(&typical) = sorted.get(sorted.len() / 2) else {
        return;
    };
    for (i, &value) in readings.iter().enumerate() {
        let (small, large) = (value.min(typical), value.max(typical));
        let positive = small > Length::ZERO;
        problems.check(!positive || large.nm() / 5 <= small.nm(), || {
            MeasureError::MixedUnits {
                what,
                index: i + 1,
                value,
                typical,
            }
        });
    }
}

fn budget(gauge: &Gauge, m: usize, t: Length, conditions: &ThicknessConditions) -> Budget {
    let mut contributions = uncertainty::reading(gauge, m, 1.0);
    contributions.push(Contribution::new(
        "zero check",
        gauge.zero_check.mm(),
        Distribution::Normal,
        1.0,
        None,
    ));
    let rectangular = |source: &str, half_width_mm: f64| {
        Contribution::new(source, half_width_mm, Distribution::Rectangular, 1.0, None)
    };
    let per_k = conditions.expansion_per_k * t.mm();
    if conditions.disc_temperature.is_some() {
        contributions.push(rectangular(
            "temperature of the disc",
            per_k * conditions.given_half_width_k,
        ));
        let alpha =
            conditions.expansion_half_width_per_k * conditions.difference_k().abs() * t.mm();
        contributions.push(rectangular("expansion coefficient", alpha));
    } else {
        let half_width = per_k * conditions.unknown_half_width_k;
        contributions.push(rectangular(
            "temperature of the disc, not logged",
            half_width,
        ));
    }
    Budget { contributions }
}

/// The 95 % point of the range of `n` readings of nothing, found once for each usual `n`: the search
/// for it takes longer than everything else a disc is judged by.
fn floor_quantile(n: u32) -> f64 {
    static KNOWN: [OnceLock<f64>; 65] = [const { OnceLock::new() }; 65];
    let find = || special::range_quantile(0.95, n);
    usize::try_from(n)
        .ok()
        .and_then(|n| KNOWN.get(n))
        .map_or_else(find, |known| *known.get_or_init(find))
}

/// The thickness variation a perfect disc shows in 95 of 100 rings or fewer:
/// `q·√((s² + d²/12)/m)`.
///
/// # Errors
/// [`MeasureError::TooFew`] for fewer than two points or no reading a point.
pub fn dtv_floor(gauge: &Gauge, points: usize, readings: usize) -> Result<Length, MeasureError> {
    let n = u32::try_from(points).unwrap_or(u32::MAX);
    if n < 2 {
        return Err(MeasureError::TooFew {
            what: "thickness points",
            found: points,
            needed: 2,
        });
    }
    if readings == 0 {
        return Err(MeasureError::TooFew {
            what: "readings at a point",
            found: 0,
            needed: 1,
        });
    }
    let q = floor_quantile(n);
    length(
        "noise floor",
        q * gauge.noise_mm() / harmonic::count(readings).sqrt(),
    )
}

/// How many readings a point bring a noise floor, found with `readings` a point, below a limit;
/// `None` for a limit of nothing.
///
/// ```
/// use brakecorner::measure::disc::readings_to_decide;
/// use brakecorner::units::Length;
///
/// let um = |v: i64| Length::from_nm(v * 1000);
/// assert_eq!(readings_to_decide(um(13), 1, um(10)), Some(2)); // 13/√2 = 9.2
/// assert_eq!(readings_to_decide(um(10), 1, um(10)), Some(2)); // at the limit is not below it
/// assert_eq!(readings_to_decide(um(20), 3, um(10)), Some(13));
/// assert_eq!(readings_to_decide(um(20), 3, um(0)), None);
/// ```
#[must_use]
pub fn readings_to_decide(floor: Length, readings: usize, limit: Length) -> Option<u64> {
    let square = |length: Length| i128::from(length.nm()) * i128::from(length.nm());
    let readings = i128::try_from(readings).ok()?;
    let share = square(floor)
        .checked_mul(readings)?
        .checked_div(square(limit))?;
    u64::try_from(share + 1).ok()
}

fn u_dtv(gauge: &Gauge, readings: usize) -> Result<Length, MeasureError> {
    let (s, d) = (gauge.repeatability.mm(), gauge.resolution.mm());
    let variance = s * s / harmonic::count(readings.max(1)) + d * d / 12.0;
    length("uncertainty of the variation", (2.0 * variance).sqrt())
}

/// How far a part has worn between new and its limit.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Wear {
    /// New size minus the thinnest place.
    pub wear: Length,
    /// Wear over what may be worn, to six decimals; above 1 when beyond the limit.
    pub wear_fraction: f64,
    /// Thinnest place minus limit; negative when beyond.
    pub left: Length,
}

/// Wear of a part that gets thinner: `(new − t_min) / (new − limit)`.
///
/// # Errors
/// [`MeasureError::LimitBeyondNew`] when the limit is not below the new size, or
/// [`MeasureError::Negative`] when a thickness is.
///
/// ```
/// use brakecorner::measure::disc::wear_used;
/// use brakecorner::units::Length;
///
/// let mm = |v: i64| Length::from_nm(v * 1_000_000);
/// let wear = wear_used(mm(26), mm(23), mm(24))?;
/// assert_eq!((wear.wear, wear.left), (mm(2), mm(1)));
/// assert_eq!(wear.wear_fraction, 0.666_667);
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn wear_used(new: Length, limit: Length, t_min: Length) -> Result<Wear, MeasureError> {
    let mut problems = Problems::default();
    for (what, value) in [("limit", limit), ("thickness", t_min)] {
        problems.check(value >= Length::ZERO, || MeasureError::Negative {
            what: what.to_owned(),
            value,
        });
    }
    problems.check(limit < new, || MeasureError::LimitBeyondNew {
        limit_name: "limit",
        limit,
        side: "below",
        new,
    });
    problems.finish()?;
    Ok(Wear {
        wear: new - t_min,
        wear_fraction: micro((new - t_min).mm() / (new - limit).mm()),
        left: t_min - limit,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn um(v: i64) -> Length {
        Length::from_nm(v * 1000)
    }

    fn gauge() -> Gauge {
        Gauge {
            mpe: um(4),
            resolution: um(1),
            repeatability: um(1),
            zero_check: um(1),
            repeatability_dof: None,
        }
    }

    fn ring(points: &[i64]) -> Vec<Vec<Length>> {
        points.iter().map(|&p| vec![um(p)]).collect()
    }

    #[test]
    fn the_worked_disc_comes_out() {
        // By hand: thinnest 22.118 at the seventh point, variation 22 µm, once a turn 17 µm with the
        // thick spot at 130°, twice a turn 10 µm, wear used 94.1 %.
        let points = ring(&[22131, 22126, 22133, 22140, 22138, 22129, 22118, 22122]);
        let t = thickness(&points, &ThicknessConditions::default(), &gauge()).unwrap();
        assert_eq!(
            (t.t_min, t.t_min_point, t.t_max, t.dtv),
            (um(22118), 6, um(22140), um(22))
        );
        let (one, two) = (t.order1.unwrap(), t.order2.unwrap());
        assert!((one.peak_to_peak.um() - 17.0).abs() < 0.5, "{one:?}");
        assert!((one.high_spot.degrees() - 130.0).abs() < 1.0, "{one:?}");
        assert!((two.peak_to_peak.um() - 10.0).abs() < 0.5, "{two:?}");
        let wear = wear_used(um(24_000), um(22_000), t.t_min).unwrap();
        assert!((wear.wear_fraction - 0.941).abs() < 1e-9);
    }

    #[test]
    fn a_warm_disc_reads_thick_and_a_warm_gauge_takes_it_back() {
        // By hand: 28 mm at 80 °C reads 0.019 mm thick.
        let hot = ThicknessConditions {
            disc_temperature: Some(Temperature::from_millidegrees(80_000)),
            ..ThicknessConditions::default()
        };
        let points = ring(&[28_000; 8]);
        let t = thickness(&points, &hot, &gauge()).unwrap();
        assert!((28.0 - t.t_min.mm() - 0.0191).abs() < 5e-5, "{}", t.t_min);
        let both = ThicknessConditions {
            gauge_temperature: hot.disc_temperature,
            ..hot
        };
        assert_eq!(
            thickness(&points, &both, &gauge()).unwrap().t_min,
            um(28_000)
        );
    }

    #[test]
    fn an_unlogged_temperature_widens_the_uncertainty_and_corrects_nothing() {
        let points = ring(&[22_010; 8]);
        let none = ThicknessConditions::default();
        let cold = ThicknessConditions {
            disc_temperature: Some(Temperature::from_millidegrees(20_000)),
            ..none.clone()
        };
        let (a, b) = (
            thickness(&points, &none, &gauge()).unwrap(),
            thickness(&points, &cold, &gauge()).unwrap(),
        );
        assert_eq!(a.t_min, b.t_min);
        // By hand: 11.4e-6 · 22.01 · 15/√3 = 2.17 µm.
        let widening = (a.u.um() * a.u.um() - b.u.um() * b.u.um()).sqrt();
        assert!((widening - 2.17).abs() < 0.02, "{widening}");
    }

    #[test]
    fn three_readings_a_point_lower_the_floor_by_the_root_of_three() {
        let three: Vec<Vec<Length>> = ring(&[22_010; 10])
            .iter()
            .map(|p| [&p[..]; 3].concat())
            .collect();
        let none = ThicknessConditions::default();
        let (a, b) = (
            thickness(&ring(&[22_010; 10]), &none, &gauge()).unwrap(),
            thickness(&three, &none, &gauge()).unwrap(),
        );
        assert!((a.dtv_floor.mm() / b.dtv_floor.mm() - 3f64.sqrt()).abs() < 1e-3);
        assert_eq!((a.readings_per_point, b.readings_per_point), (1, 3));
    }

    #[test]
    fn every_problem_of_a_ring_is_named() {
        let mut points = ring(&[22_010, 22_011, 867, -5]);
        points.push(vec![]);
        let wild = ThicknessConditions {
            disc_temperature: Some(Temperature::from_millidegrees(1_000_000)),
            expansion_per_k: f64::NAN,
            ..ThicknessConditions::default()
        };
        let Err(MeasureError::Problems(all)) = thickness(&points, &wild, &gauge()) else {
            panic!("accepted")
        };
        assert_eq!(all.len(), 5, "{all:?}");
        assert!(
            all[4]
                .to_string()
                .starts_with("thickness reading 3 reads 0.867 mm"),
            "{}",
            all[4]
        );
        for few in [vec![], ring(&[22_010])] {
            assert!(thickness(&few, &ThicknessConditions::default(), &gauge()).is_err());
        }
        let swapped = wear_used(um(22_000), um(24_000), um(23_000)).unwrap_err();
        assert_eq!(
            swapped.to_string(),
            "the limit 24.000 mm is not below the new size 22.000 mm"
        );
    }
}
