//! How fast a part wears and how far it may still go.
//!
//! Only real evidence gives a rate: two or more visits of the same parts, or one visit of parts
//! whose fitting odometer and new size are known. The planning figure is the one-sided 90 % lower
//! bound of the distance left, never the middle.

use serde::{Deserialize, Serialize};

use crate::measure::special;
use crate::units::{Distance, Length};

/// One-sided confidence of the lower bound.
pub const LOWER_BOUND_LEVEL: f64 = 0.90;
/// Standard uncertainty of a new part's size when nobody measured it (own).
pub const U_NEW_UNMEASURED: Length = Length::from_nm(300_000);
/// Residuals larger than this quantile of χ² allows do not agree with the readings' uncertainty.
const AGREEMENT: f64 = 0.95;
/// Wear must exceed this many standard uncertainties of the difference before it is a rate.
const SIGNIFICANT: f64 = 3.0;
/// The newest stretch wearing this much faster than before is worth a look (own).
const ACCELERATION: f64 = 1.5;

/// The thinnest place of a part at one visit.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Visit {
    /// Odometer at the visit.
    pub odometer: Distance,
    /// Thinnest place.
    pub thickness: Length,
    /// Its standard uncertainty when it differs from the common one.
    pub u: Option<Length>,
    /// New parts were fitted at this visit, and `thickness` is theirs: a new series begins here.
    pub new_parts: bool,
}

/// By which evidence the lower bound was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum ForecastMethod {
    /// Line through the visits; the scatter agrees with the readings' own uncertainty.
    KnownUncertainty,
    /// Line through the visits; the scatter is larger, so it and Student's t are used.
    ResidualSpread,
    /// One visit of parts whose fitting is known.
    OneVisit,
}

/// Why there is no forecast.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum NoForecast {
    /// No visit at all.
    #[error("no forecast: no reading")]
    NoReading,
    /// One reading of parts whose start is unknown.
    #[error("no forecast: one reading, start unknown")]
    StartUnknown,
    /// The odometer ran backwards.
    #[error("no forecast: the odometer runs back from {before} to {after}")]
    OdometerBack {
        /// The earlier reading.
        before: Distance,
        /// The later, smaller reading.
        after: Distance,
    },
    /// The vehicle did not move between the visits.
    #[error("no forecast: no distance between the readings, all at {odometer}")]
    NoDistance {
        /// The odometer at all of them.
        odometer: Distance,
    },
    /// The part grew thicker: it was changed, or one of the readings is wrong.
    #[error("no forecast: thickness grows from {before} to {after}; were parts changed?")]
    Growing {
        /// The earlier thickness.
        before: Length,
        /// The later, larger thickness.
        after: Length,
    },
    /// The wear is not distinguishable from the readings' uncertainty.
    #[error("no forecast: wear of {wear} is less than {needed}, three times its uncertainty")]
    TooLittleWear {
        /// The wear found.
        wear: Length,
        /// The wear needed.
        needed: Length,
    },
    /// A negative or unusable number in the input.
    #[error("no forecast: {what} is {value}, expected more than 0 mm")]
    NotPositive {
        /// The quantity.
        what: &'static str,
        /// Its value.
        value: Length,
    },
    /// Several independent reasons.
    #[error("{}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "))]
    Several(
        /// Each of them.
        Vec<NoForecast>,
    ),
}

/// How fast a part wears, and how far it may still go.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Forecast {
    /// Wear rate in mm per 1000 km, to 10⁻⁹.
    pub rate_mm_per_1000km: f64,
    /// The last reading minus the limit; negative when beyond.
    pub left: Length,
    /// Distance from the last odometer to where the line meets the limit, to 1 km; the middle, not
    /// for planning. Zero when already there.
    pub distance_left: Distance,
    /// The same with 90 % one-sided confidence, to 1 km: the planning figure.
    pub distance_left_lower: Distance,
    /// The evidence used.
    pub method: ForecastMethod,
    /// Visits the forecast rests on.
    pub visits: usize,
    /// The factor before the standard uncertainty: normal or Student's t.
    pub factor: f64,
    /// Degrees of freedom of the residuals; `None` for fewer than three visits.
    pub degrees_of_freedom: Option<usize>,
    /// Sum of squared residuals over their variance; compared with χ². `None` as above.
    pub chi_squared: Option<f64>,
    /// The newest stretch wears more than 1.5 times as fast as the ones before, and by more than
    /// its uncertainty: something may have begun to drag.
    pub accelerating: bool,
}

/// The weighted line through a series, distances in 1000 km from the weighted centre.
struct Line {
    centre: f64,
    level: f64,
    slope: f64,
    weight: f64,
    sxx: f64,
    chi_squared: f64,
}

impl Line {
    fn through(points: &[(f64, f64, f64)]) -> Self {
        let weights = points.iter().map(|p| 1.0 / (p.2 * p.2));
        let weight: f64 = weights.clone().sum();
        let mean = |pick: fn(&(f64, f64, f64)) -> f64| {
            points
                .iter()
                .zip(weights.clone())
                .map(|(p, w)| w * pick(p))
                .sum::<f64>()
                / weight
        };
        let (centre, level) = (mean(|p| p.0), mean(|p| p.1));
        let (mut sxx, mut sxy) = (0.0, 0.0);
        for (p, w) in points.iter().zip(weights.clone()) {
            let dx = p.0 - centre;
            sxx += w * dx * dx;
            sxy += w * dx * (p.1 - level);
        }
        let slope = sxy / sxx;
        let chi_squared = points
            .iter()
            .zip(weights)
            .map(|(p, w)| {
                let residual = p.1 - level - slope * (p.0 - centre);
                w * residual * residual
            })
            .sum();
        Self {
            centre,
            level,
            slope,
            weight,
            sxx,
            chi_squared,
        }
    }

    /// Where `level − limit + slope·X = factor·√(1/W + X²/Sxx)`: the earlier crossing.
    fn crossing(&self, limit: f64, factor: f64) -> f64 {
        let height = self.level - limit;
        let f2 = factor * factor;
        let a = self.slope * self.slope - f2 / self.sxx;
        let b = self.slope * height;
        let c = height * height - f2 / self.weight;
        let root = (b * b - a * c).max(0.0).sqrt();
        // Of the two roots the one where the margin is on the upper side; this form does not
        // cancel when the slope is barely known.
        if height >= 0.0 {
            c / (root - b)
        } else {
            (-b - root) / a
        }
    }
}

/// Forecasts the distance left from the visits of one part.
///
/// Shape: visits in the order they happened; only those since the last new parts count.
/// Units: odometer, thickness; `limit` is the smallest allowed thickness, `u` the standard
/// uncertainty of a reading that gives none of its own.
/// Formula: weighted straight line `t = t̄ + b·X`; distance left where it meets the limit; the
/// lower bound is the smaller root of `(t̄ − L + bX)² = k²(1/W + X²/Sxx)` (Fieller), with `k` the
/// normal 90 % point while the residuals agree with the readings' uncertainty (χ² at 5 %), else
/// Student's t times the residual spread. No variance for the limit.
/// Source: inverse prediction as in Eurachem/CITAC QUAM 3rd ed. A5 (read, reproduced in tests).
///
/// # Errors
/// [`NoForecast`] names each reason: no or one reading, an odometer that runs back, thickness that
/// grows by more than three uncertainties, wear smaller than three uncertainties of the difference.
///
/// ```
/// use brakecorner::measure::wear::{Visit, forecast};
/// use brakecorner::units::{Distance, Length};
///
/// let visit = |km, um: i64| Visit {
///     odometer: Distance::from_whole_km(km),
///     thickness: Length::from_nm(um * 1000),
///     u: None,
///     new_parts: false,
/// };
/// let visits = [visit(61_050, 5_600), visit(72_480, 4_300), visit(84_120, 2_900)];
/// let limit = Length::from_nm(2_000_000);
/// let f = forecast(&visits, limit, Length::from_nm(81_650))?;
/// assert_eq!(f.distance_left, Distance::from_whole_km(7796));
/// assert_eq!(f.distance_left_lower, Distance::from_whole_km(6671));
/// # Ok::<(), brakecorner::measure::wear::NoForecast>(())
/// ```
pub fn forecast(visits: &[Visit], limit: Length, u: Length) -> Result<Forecast, NoForecast> {
    let start = visits.iter().rposition(|v| v.new_parts).unwrap_or(0);
    let series = visits.get(start..).unwrap_or_default();
    let (first, last) = match series {
        [] => return Err(NoForecast::NoReading),
        [_] => return Err(NoForecast::StartUnknown),
        [first, .., last] => (first, last),
    };
    check_series(series, limit, u)?;
    let own = |v: &Visit| v.u.unwrap_or(u).mm();
    let points: Vec<(f64, f64, f64)> = series
        .iter()
        .map(|v| (v.odometer.km() / 1e3, v.thickness.mm(), own(v)))
        .collect();
    let line = Line::through(&points);
    if line.slope >= 0.0 {
        return Err(NoForecast::Growing {
            before: first.thickness,
            after: last.thickness,
        });
    }
    let agreement = Agreement::of(&line, series.len());
    let from_centre = last.odometer.km() / 1e3 - line.centre;
    let middle = line.crossing(limit.mm(), 0.0) - from_centre;
    let lower = line.crossing(limit.mm(), agreement.margin) - from_centre;
    Ok(Forecast {
        rate_mm_per_1000km: libm::round(-line.slope * 1e9) / 1e9,
        left: last.thickness - limit,
        distance_left: whole_km(middle * 1e3),
        distance_left_lower: whole_km(lower.min(middle) * 1e3),
        method: agreement.method,
        visits: series.len(),
        factor: agreement.factor,
        degrees_of_freedom: agreement.dof,
        chi_squared: agreement.dof.map(|_| line.chi_squared),
        accelerating: accelerating(&points),
    })
}

/// Which spread the lower bound uses.
struct Agreement {
    method: ForecastMethod,
    dof: Option<usize>,
    factor: f64,
    /// `factor`, times the residual spread where that is used.
    margin: f64,
}

impl Agreement {
    fn of(line: &Line, visits: usize) -> Self {
        let dof = visits.checked_sub(2).filter(|d| *d > 0);
        if let Some(d) = dof {
            let nu = crate::measure::harmonic::count(d);
            if line.chi_squared > special::chi_squared_quantile(AGREEMENT, nu) {
                let factor = special::student_t_quantile(LOWER_BOUND_LEVEL, nu);
                let spread = (line.chi_squared / nu).sqrt();
                let method = ForecastMethod::ResidualSpread;
                return Self {
                    method,
                    dof,
                    factor,
                    margin: factor * spread,
                };
            }
        }
        let factor = special::normal_quantile(LOWER_BOUND_LEVEL);
        Self {
            method: ForecastMethod::KnownUncertainty,
            dof,
            factor,
            margin: factor,
        }
    }
}

/// A distance left to the nearest whole kilometre, never below zero.
fn whole_km(km: f64) -> Distance {
    Distance::from_km(libm::round(km.max(0.0))).unwrap_or(Distance::from_whole_km(10_000_000))
}

fn check_series(series: &[Visit], limit: Length, u: Length) -> Result<(), NoForecast> {
    let mut reasons = Vec::new();
    let mut positive = |what, value: Length| {
        if value <= Length::ZERO {
            reasons.push(NoForecast::NotPositive { what, value });
        }
    };
    for v in series {
        positive("uncertainty of a reading", v.u.unwrap_or(u));
        positive("thickness", v.thickness + Length::from_nm(1)); // worn to nothing is a reading
    }
    positive("limit", limit + Length::from_nm(1));
    let difference = |a: &Visit, b: &Visit| {
        libm::hypot(a.u.unwrap_or(u).mm(), b.u.unwrap_or(u).mm()) * SIGNIFICANT
    };
    for pair in series.windows(2) {
        let [a, b] = pair else { continue };
        if b.odometer < a.odometer {
            reasons.push(NoForecast::OdometerBack {
                before: a.odometer,
                after: b.odometer,
            });
        }
        if (b.thickness - a.thickness).mm() > difference(a, b) {
            reasons.push(NoForecast::Growing {
                before: a.thickness,
                after: b.thickness,
            });
        }
    }
    if let [first, .., last] = series {
        if first.odometer == last.odometer {
            reasons.push(NoForecast::NoDistance {
                odometer: last.odometer,
            });
        }
        let (wear, needed) = (first.thickness - last.thickness, difference(first, last));
        let grows = reasons
            .iter()
            .any(|r| matches!(r, NoForecast::Growing { .. }));
        if wear.mm() < needed && !grows {
            let needed = Length::from_mm(needed).unwrap_or(wear);
            reasons.push(NoForecast::TooLittleWear { wear, needed });
        }
    }
    match reasons.len() {
        0 => Ok(()),
        1 => Err(reasons.remove(0)),
        _ => Err(NoForecast::Several(reasons)),
    }
}

/// Whether the newest stretch wears faster than the ones before by half and by its uncertainty.
fn accelerating(points: &[(f64, f64, f64)]) -> bool {
    let [first, .., before, last] = points else {
        return false;
    };
    if points.len() < 3 || last.0 <= before.0 || before.0 <= first.0 {
        return false;
    }
    let newest = (before.1 - last.1) / (last.0 - before.0);
    let earlier = (first.1 - before.1) / (before.0 - first.0);
    let u_newest = libm::hypot(before.2, last.2) / (last.0 - before.0);
    let u_earlier = libm::hypot(first.2, before.2) / (before.0 - first.0);
    newest > ACCELERATION * earlier && newest - earlier > 2.0 * libm::hypot(u_newest, u_earlier)
}

/// Forecasts from a single visit of parts whose fitting is known.
///
/// Formula: `rate = (new − t)/distance`; lower bound with `(new − t + 1.2816·u)/distance`, `u` of the
/// difference, the new thickness's own included. Source: this project's own.
///
/// # Errors
/// [`NoForecast`], as [`forecast`].
///
/// ```
/// use brakecorner::measure::wear::{U_NEW_UNMEASURED, Visit, forecast_one_visit};
/// use brakecorner::units::{Distance, Length};
///
/// let um = |v: i64| Length::from_nm(v * 1000);
/// let visit = Visit {
///     odometer: Distance::from_whole_km(60_000), thickness: um(6_000), u: None, new_parts: false,
/// };
/// let f = forecast_one_visit(
///     Distance::from_whole_km(30_000), um(12_000), U_NEW_UNMEASURED, &visit, um(2_000), um(80),
/// )?;
/// assert_eq!(f.distance_left, Distance::from_whole_km(20_000)); // 0.2 mm per 1000 km, 4 mm left
/// assert_eq!(f.distance_left_lower, Distance::from_whole_km(18_756));
/// # Ok::<(), brakecorner::measure::wear::NoForecast>(())
/// ```
pub fn forecast_one_visit(
    fitted_at: Distance,
    new: Length,
    u_new: Length,
    visit: &Visit,
    limit: Length,
    u: Length,
) -> Result<Forecast, NoForecast> {
    let fitted = Visit {
        odometer: fitted_at,
        thickness: new,
        u: Some(u_new),
        new_parts: true,
    };
    check_series(&[fitted, visit.clone()], limit, u)?;
    let km = (visit.odometer - fitted_at).km();
    let wear = (new - visit.thickness).mm();
    let left = visit.thickness - limit;
    let factor = special::normal_quantile(LOWER_BOUND_LEVEL);
    let margin = factor * libm::hypot(u_new.mm(), visit.u.unwrap_or(u).mm());
    Ok(Forecast {
        rate_mm_per_1000km: libm::round(wear / km * 1e12) / 1e9,
        left,
        distance_left: whole_km(left.mm() * km / wear),
        distance_left_lower: whole_km(left.mm() * km / (wear + margin)),
        method: ForecastMethod::OneVisit,
        visits: 1,
        factor,
        degrees_of_freedom: None,
        chi_squared: None,
        accelerating: false,
    })
}
