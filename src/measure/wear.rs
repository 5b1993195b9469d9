//! How fast a part wears and how far it may still go.
//!
//! Only real evidence gives a rate: two or more visits of the same parts, or one visit of parts
//! whose fitting odometer and new size are known. The planning figure is the one-sided 90 % lower
//! bound of the distance left, never the middle.

use serde::{Deserialize, Serialize};

use crate::measure::harmonic::count;
use crate::measure::regression::{Line, Point, Spread};
use crate::measure::{micro, special};
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
    /// Nothing to wear down to.
    #[error("no forecast: no limit is on file for this part")]
    NoLimit,
    /// A negative size in the input.
    #[error("no forecast: {what} is {value}, expected 0 mm or more")]
    Negative {
        /// The quantity.
        what: &'static str,
        /// Its value.
        value: Length,
    },
    /// An uncertainty that is none.
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
    /// Sum of squared residuals over their variance, to six decimals; compared with χ². `None` as
    /// above.
    pub chi_squared: Option<f64>,
    /// The newest stretch wears more than 1.5 times as fast as the ones before, and by more than
    /// its uncertainty: something may have begun to drag.
    pub accelerating: bool,
}

impl Forecast {
    /// The same with a lower bound that also holds if the vehicle wears the part faster from now on, by
    /// `share` (0.25 for a quarter): divided by `1 + share`, to 1 km. Source: own.
    ///
    /// A straight line knows how well the past is known and nothing about a change of use.
    #[must_use]
    pub fn at_another_pace(self, share: f64) -> Self {
        let slower = self.distance_left_lower.km() / (1.0 + share.max(0.0));
        Self {
            distance_left_lower: whole_km(slower),
            ..self
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
    forecast_at(visits, limit, u, LOWER_BOUND_LEVEL)
}

/// The same with another one-sided confidence of the lower bound, between 0.5 and 1.
///
/// # Errors
/// [`NoForecast`], as [`forecast`].
pub fn forecast_at(
    visits: &[Visit],
    limit: Length,
    u: Length,
    level: f64,
) -> Result<Forecast, NoForecast> {
    let start = visits.iter().rposition(|v| v.new_parts).unwrap_or(0);
    let series = visits.get(start..).unwrap_or_default();
    let (first, last) = match series {
        [] => return Err(NoForecast::NoReading),
        [_] => return Err(NoForecast::StartUnknown),
        [first, .., last] => (first, last),
    };
    check_series(series, limit, u)?;
    let points = points(series, u);
    let no_distance = NoForecast::NoDistance {
        odometer: last.odometer,
    };
    let line = Line::through(&points).map_err(|_| no_distance)?;
    if line.slope >= 0.0 {
        return Err(NoForecast::Growing {
            before: first.thickness,
            after: last.thickness,
        });
    }
    let agreement = Agreement::of(&line, level);
    let now = last.odometer.km() / 1e3;
    let reaches = |k| line.earliest(limit.mm(), k, agreement.spread) - now;
    let (middle, lower) = (reaches(0.0), reaches(agreement.factor));
    Ok(Forecast {
        rate_mm_per_1000km: libm::round(-line.slope * 1e9) / 1e9,
        left: last.thickness - limit,
        distance_left: whole_km(middle * 1e3),
        distance_left_lower: whole_km(lower.min(middle) * 1e3),
        method: agreement.method,
        visits: series.len(),
        factor: agreement.factor,
        degrees_of_freedom: agreement.dof,
        chi_squared: agreement.dof.map(|_| micro(line.residual_squares)),
        accelerating: accelerating(&points),
    })
}

/// The visits as points of the line: thousands of kilometres, millimetres.
fn points(series: &[Visit], u: Length) -> Vec<Point> {
    series
        .iter()
        .map(|v| Point {
            x: v.odometer.km() / 1e3,
            y: v.thickness.mm(),
            u: v.u.unwrap_or(u).mm(),
        })
        .collect()
}

/// The line a forecast rests on, `x` in thousands of kilometres and `y` in millimetres: to do it again
/// by hand. `None` where no line goes through the visits.
#[must_use]
pub fn line(visits: &[Visit], u: Length) -> Option<Line> {
    let start = visits.iter().rposition(|v| v.new_parts).unwrap_or(0);
    Line::through(&points(visits.get(start..)?, u)).ok()
}

/// Which spread the lower bound uses.
struct Agreement {
    method: ForecastMethod,
    spread: Spread,
    dof: Option<usize>,
    factor: f64,
}

impl Agreement {
    fn of(line: &Line, level: f64) -> Self {
        let dof = Some(line.degrees_of_freedom()).filter(|d| *d > 0);
        if let Some(d) = dof {
            let nu = count(d);
            if line.residual_squares > special::chi_squared_quantile(AGREEMENT, nu) {
                let factor = special::student_t_quantile(level, nu);
                let method = ForecastMethod::ResidualSpread;
                return Self {
                    method,
                    spread: Spread::Residual,
                    dof,
                    factor,
                };
            }
        }
        let factor = special::normal_quantile(level);
        Self {
            method: ForecastMethod::KnownUncertainty,
            spread: Spread::Known,
            dof,
            factor,
        }
    }
}

/// A distance left to the nearest whole kilometre, never below zero.
fn whole_km(km: f64) -> Distance {
    Distance::from_km(libm::round(km.max(0.0))).unwrap_or(Distance::from_whole_km(10_000_000))
}

fn check_series(series: &[Visit], limit: Length, u: Length) -> Result<(), NoForecast> {
    let mut reasons = Vec::new();
    for v in series {
        let u = v.u.unwrap_or(u);
        if u <= Length::ZERO {
            let what = "uncertainty of a reading";
            reasons.push(NoForecast::NotPositive { what, value: u });
        }
    }
    // Worn to nothing is a reading, and so is a part that may be worn to nothing.
    let sizes = series.iter().map(|v| ("thickness", v.thickness));
    for (what, value) in sizes.chain([("limit", limit)]) {
        if value < Length::ZERO {
            reasons.push(NoForecast::Negative { what, value });
        }
    }
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
fn accelerating(points: &[Point]) -> bool {
    let [first, .., before, last] = points else {
        return false;
    };
    if points.len() < 3 || last.x <= before.x || before.x <= first.x {
        return false;
    }
    let rate = |a: &Point, b: &Point| {
        let distance = b.x - a.x;
        ((a.y - b.y) / distance, libm::hypot(a.u, b.u) / distance)
    };
    let ((earlier, u_earlier), (newest, u_newest)) = (rate(first, before), rate(before, last));
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
    let new = (fitted_at, new, u_new);
    forecast_one_visit_at(new, visit, limit, u, LOWER_BOUND_LEVEL)
}

/// The same with another one-sided confidence of the lower bound, between 0.5 and 1; the new parts
/// are their fitting odometer, thickness and its standard uncertainty.
///
/// # Errors
/// [`NoForecast`], as [`forecast`].
pub fn forecast_one_visit_at(
    (fitted_at, new, u_new): (Distance, Length, Length),
    visit: &Visit,
    limit: Length,
    u: Length,
    level: f64,
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
    let factor = special::normal_quantile(level);
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

#[cfg(test)]
mod tests {
    use super::*;

    fn um(v: i64) -> Length {
        Length::from_nm(v * 1000)
    }

    fn visit(km: i64, t: i64) -> Visit {
        Visit {
            odometer: Distance::from_whole_km(km),
            thickness: um(t),
            u: None,
            new_parts: false,
        }
    }

    #[test]
    fn two_visits_of_a_disc_come_out_as_worked_by_hand() {
        // By hand: 0.41 mm over 15 580 km is 0.0263 mm per 1000 km, 27 000 km for 0.71 mm.
        let f = forecast(
            &[visit(42_310, 23_120), visit(57_890, 22_710)],
            um(22_000),
            um(5),
        )
        .unwrap();
        assert!((f.rate_mm_per_1000km - 0.026_316).abs() < 1e-6);
        assert_eq!(f.distance_left, Distance::from_whole_km(26_980));
        assert_eq!(
            (f.method, f.degrees_of_freedom),
            (ForecastMethod::KnownUncertainty, None)
        );
    }

    #[test]
    fn scatter_beyond_the_readings_uncertainty_widens_the_bound() {
        let visits = [
            visit(10_000, 10_000),
            visit(20_000, 8_500),
            visit(30_000, 8_000),
        ];
        let (tight, loose) = (
            forecast(&visits, um(2_000), um(20)).unwrap(),
            forecast(&visits, um(2_000), um(400)).unwrap(),
        );
        assert_eq!(tight.method, ForecastMethod::ResidualSpread);
        assert_eq!(loose.method, ForecastMethod::KnownUncertainty);
        assert!((tight.factor - 3.077_683_537).abs() < 1e-8); // t90 with one degree of freedom
        assert!(tight.distance_left_lower < tight.distance_left);
    }

    #[test]
    fn a_more_certain_visit_weighs_more() {
        let mut visits = [
            visit(10_000, 10_000),
            visit(20_000, 8_600),
            visit(30_000, 7_000),
        ];
        let plain = forecast(&visits, um(2_000), um(150)).unwrap();
        visits[1].u = Some(um(1_000)); // a rough reading in the middle hardly pulls the line
        let weighted = forecast(&visits, um(2_000), um(150)).unwrap();
        assert!(weighted.distance_left < plain.distance_left);
    }

    #[test]
    fn each_refusal_says_which_it_is() {
        let f = |visits: &[Visit]| forecast(visits, um(2_000), um(80)).unwrap_err();
        assert_eq!(f(&[]), NoForecast::NoReading);
        assert_eq!(
            f(&[visit(1, 5_000)]).to_string(),
            "no forecast: one reading, start unknown"
        );
        let renewed = Visit {
            new_parts: true,
            ..visit(50_000, 12_000)
        };
        assert_eq!(
            f(&[visit(10_000, 9_000), renewed]),
            NoForecast::StartUnknown
        );
        for (visits, expected) in [
            (
                [visit(10_000, 9_000), visit(20_000, 8_900)],
                "no forecast: wear of 0.100 mm is less than 0.339411 mm, three times its uncertainty",
            ),
            (
                [visit(10_000, 9_000), visit(20_000, 9_500)],
                "no forecast: thickness grows from 9.000 mm to 9.500 mm; were parts changed?",
            ),
            (
                [visit(20_000, 9_000), visit(10_000, 5_000)],
                "no forecast: the odometer runs back from 20000 km to 10000 km",
            ),
            (
                [visit(20_000, 9_000), visit(20_000, 5_000)],
                "no forecast: no distance between the readings, all at 20000 km",
            ),
        ] {
            assert_eq!(f(&visits).to_string(), expected);
        }
        assert_eq!(
            f(&[visit(10_000, 9_000), visit(20_000, -1)]).to_string(),
            "no forecast: thickness is -0.001 mm, expected 0 mm or more"
        );
        assert!(forecast(&[visit(10_000, 9_000), visit(20_000, 0)], um(0), um(80)).is_ok());
        let both = f(&[visit(20_000, 9_000), visit(10_000, 9_900)]);
        assert!(
            matches!(both, NoForecast::Several(ref all) if all.len() == 2),
            "{both}"
        );
    }

    #[test]
    fn a_part_beyond_its_limit_has_no_distance_left_and_negative_thickness_left() {
        let f = forecast(
            &[visit(10_000, 4_000), visit(20_000, 1_900)],
            um(2_000),
            um(80),
        )
        .unwrap();
        assert_eq!(
            (f.distance_left, f.distance_left_lower),
            (Distance::ZERO, Distance::ZERO)
        );
        assert_eq!(f.left, um(-100));
    }

    #[test]
    fn a_newest_stretch_that_wears_much_faster_is_flagged() {
        let steady = [
            visit(10_000, 10_000),
            visit(20_000, 9_000),
            visit(30_000, 8_000),
        ];
        let dragging = [
            visit(10_000, 10_000),
            visit(20_000, 9_000),
            visit(30_000, 6_500),
        ];
        assert!(!forecast(&steady, um(2_000), um(80)).unwrap().accelerating);
        assert!(forecast(&dragging, um(2_000), um(80)).unwrap().accelerating);
    }
}
