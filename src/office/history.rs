//! A vehicle over its visits: wear between replacements, pace, what a forecast was worth.

mod fleet;
mod overlay;

use std::collections::BTreeMap;

use chrono::NaiveDate;
use serde::Serialize;

pub use fleet::{Fleet, FleetRate, FleetVehicle, fleet};
pub use overlay::{Moved, moved};

use super::retorque::later;
use super::summary::Summary;
use super::whole_km;
use crate::job::{Corner, Item};
use crate::judge::ItemVerdict;
use crate::measure::wear::{self, Forecast, NoForecast};
use crate::units::{Distance, Length};

/// How fast a vehicle moves, by its own visits.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Pace {
    /// Kilometres a day.
    pub km_per_day: f64,
    /// What it rests on.
    pub basis: String,
}

impl Pace {
    /// The day a distance from `at` is reached, rounded down; at most the end of the calendar.
    #[must_use]
    pub fn day(&self, at: NaiveDate, left_km: i64) -> NaiveDate {
        if left_km <= 0 {
            return at;
        }
        #[allow(clippy::cast_precision_loss)]
        let days = (left_km as f64 / self.km_per_day).floor();
        // Ten thousand years are beyond any calendar a workshop keeps.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let days = days.clamp(0.0, 3_650_000.0) as u64;
        later(at, days)
    }

    /// The odometer the vehicle should show on a day, in whole kilometres.
    #[must_use]
    pub fn odometer_on(&self, from_km: i64, at: NaiveDate, day: NaiveDate) -> i64 {
        odometer_on(self.km_per_day, from_km, at, day)
    }
}

/// The odometer on a day at a pace, in whole kilometres.
pub(super) fn odometer_on(km_per_day: f64, from_km: i64, at: NaiveDate, day: NaiveDate) -> i64 {
    let days = (day - at).num_days().max(0);
    #[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation)]
    let driven = (days as f64 * km_per_day).floor().min(1e12) as i64;
    from_km.saturating_add(driven)
}

/// Visits closer together than this say nothing about a vehicle's pace.
const SHORTEST_DAYS: i64 = 7;

/// A vehicle's pace: between its last two visits far enough apart, else since its first use.
///
/// `None` when the odometer runs back, or when nothing is known.
#[must_use]
pub fn pace(visits: &[&Summary]) -> Option<Pace> {
    let last = visits.last()?;
    if doubts(visits).iter().any(|doubt| doubt.job == last.job) {
        return None;
    }
    let day = last.opened.date_naive();
    let before = visits
        .iter()
        .rev()
        .skip(1)
        .find(|v| (day - v.opened.date_naive()).num_days() >= SHORTEST_DAYS);
    let (from, since, basis) = match before {
        Some(before) if before.odometer < last.odometer => (
            before.odometer,
            before.opened.date_naive(),
            format!("pace since {}", before.job),
        ),
        Some(_) => return None,
        None => {
            let first = last.first_used?;
            (
                Distance::ZERO,
                first,
                format!("pace since first use on {first}"),
            )
        }
    };
    let days = (day - since).num_days();
    if days < SHORTEST_DAYS || last.odometer <= from {
        return None;
    }
    #[allow(clippy::cast_precision_loss)]
    let km_per_day = (last.odometer - from).km() / days as f64;
    Some(Pace {
        km_per_day: libm::round(km_per_day * 1e6) / 1e6,
        basis: format!("{basis}, {km_per_day:.1} km a day"),
    })
}

/// A visit whose odometer cannot be right.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Doubt {
    /// The job.
    pub job: String,
    /// What is doubted, and what may explain it.
    pub words: String,
}

/// Nobody drives further than this in a day, every day (own).
pub(crate) const LONGEST_KM_PER_DAY: f64 = 1_500.0;

/// Odometers that run back, or faster than a vehicle can: a mile/km slip, a wrong digit, another
/// instrument cluster.
#[must_use]
pub fn doubts(visits: &[&Summary]) -> Vec<Doubt> {
    let mut doubts = Vec::new();
    for pair in visits.windows(2) {
        let [before, after] = pair else { continue };
        let (from, to) = (before.odometer.km(), after.odometer.km());
        let days = (after.opened.date_naive() - before.opened.date_naive()).num_days();
        if to < from {
            let in_miles = to * 1.609_344;
            let hint = if in_miles >= from {
                format!("; {in_miles:.0} km if it was read in miles")
            } else {
                String::new()
            };
            doubts.push(Doubt {
                job: after.job.clone(),
                words: format!(
                    "the odometer runs back from {} at {} to {}{hint}",
                    before.odometer, before.job, after.odometer
                ),
            });
        } else {
            #[allow(clippy::cast_precision_loss)]
            let possible = (days.max(0) + 1) as f64 * LONGEST_KM_PER_DAY;
            if to - from > possible {
                let in_km = to / 1.609_344;
                let hint = if in_km >= from && in_km - from <= possible {
                    format!("; {in_km:.0} km if km were taken for miles")
                } else {
                    String::new()
                };
                doubts.push(Doubt {
                    job: after.job.clone(),
                    words: format!(
                        "{:.0} km in {days} days since {} cannot be right{hint}",
                        to - from,
                        before.job
                    ),
                });
            }
        }
    }
    doubts
}

/// One reading of a series.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct SeriesPoint {
    /// The job; empty for a reading from before the first one.
    pub job: String,
    /// The day; the first job's for readings from before it.
    pub day: NaiveDate,
    /// Odometer.
    pub odometer: Distance,
    /// Thinnest place.
    pub thickness: Length,
}

/// The wear of one part from its fitting to its last reading.
#[derive(Clone, Debug, Serialize)]
pub struct Series {
    /// Where.
    pub corner: Corner,
    /// What.
    pub item: Item,
    /// Readings in order.
    pub points: Vec<SeriesPoint>,
    /// The parts were replaced at the end of this series.
    pub replaced: bool,
    /// The limit by the last visit.
    pub limit: Option<Length>,
    /// The forecast from all points, or why there is none.
    #[serde(serialize_with = "forecast_or_why")]
    pub forecast: Result<Forecast, NoForecast>,
    /// For each later reading: what the readings before it had forecast.
    pub scored: Vec<Scored>,
    /// The newest stretch wears at least twice as fast as the one before.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub doubled: Option<Doubled>,
}

fn forecast_or_why<S: serde::Serializer>(
    forecast: &Result<Forecast, NoForecast>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    match forecast {
        Ok(forecast) => forecast.serialize(serializer),
        Err(why) => serializer.serialize_str(&why.to_string()),
    }
}

/// A forecast beside what really happened.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Scored {
    /// The odometer of the reading.
    pub odometer_km: i64,
    /// The thickness that was forecast for it.
    pub forecast_mm: f64,
    /// The thickness that was read.
    pub read_mm: f64,
    /// The odometer the limit would be reached at earliest, by the forecast then.
    pub earliest_km: i64,
}

/// A rate that doubled.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Doubled {
    /// The rate before, in mm per 1000 km.
    pub before: f64,
    /// The newest rate.
    pub now: f64,
}

/// The series of a vehicle that are open now: each part since its last replacement.
#[must_use]
pub fn series(visits: &[&Summary]) -> Vec<Series> {
    all_series(visits)
        .into_iter()
        .filter(|s| !s.replaced)
        .collect()
}

/// Readings of one part and how they are judged.
#[derive(Default)]
struct Part {
    points: Vec<SeriesPoint>,
    limit: Option<Length>,
    u: Option<Length>,
}

/// Every series of a vehicle, replaced parts first; forecasts are as sure as the policy of the newest
/// visit asks.
#[must_use]
pub fn all_series(visits: &[&Summary]) -> Vec<Series> {
    let Some(newest) = visits.last() else {
        return Vec::new();
    };
    let planned = Planned {
        level: newest.forecast_confidence.share(),
        pace: newest.forecast_pace.share(),
    };
    let mut done = Vec::new();
    let mut open: BTreeMap<(Corner, Item), Part> = BTreeMap::new();
    for visit in visits {
        let day = visit.opened.date_naive();
        for (corner, item, odometer, thickness) in &visit.earlier {
            let part = open.entry((*corner, *item)).or_default();
            // What an earlier visit read here itself is not taken twice.
            if part.points.iter().all(|p| p.odometer != *odometer) {
                let point = SeriesPoint {
                    job: String::new(),
                    day,
                    odometer: *odometer,
                    thickness: *thickness,
                };
                part.points.push(point);
                part.points.sort_by_key(|p| p.odometer);
            }
        }
        for read in &visit.thickness {
            let point = |thickness| SeriesPoint {
                job: visit.job.clone(),
                day,
                odometer: visit.odometer,
                thickness,
            };
            let key = (read.corner, read.item);
            let part = open.entry(key).or_default();
            part.limit = read.limit.or(part.limit);
            part.u = read.u.or(part.u);
            part.points.extend(read.found.map(point));
            if read.replaced {
                let old = std::mem::take(part);
                part.limit = old.limit;
                part.u = old.u;
                part.points.extend(read.new.map(point));
                done.push(close(key, old, true, planned));
            }
        }
    }
    done.extend(
        open.into_iter()
            .map(|(key, part)| close(key, part, false, planned)),
    );
    done.retain(|s| !s.points.is_empty());
    done
}

fn visits_of(points: &[SeriesPoint]) -> Vec<wear::Visit> {
    points
        .iter()
        .map(|p| wear::Visit {
            odometer: p.odometer,
            thickness: p.thickness,
            u: None,
            new_parts: false,
        })
        .collect()
}

/// How sure a forecast's lower bound is to be, and what change of pace it allows for.
#[derive(Clone, Copy)]
struct Planned {
    level: f64,
    pace: f64,
}

impl Planned {
    fn forecast(
        self,
        visits: &[wear::Visit],
        (limit, u): (Length, Length),
    ) -> Result<wear::Forecast, NoForecast> {
        let forecast = wear::forecast_at(visits, limit, u, self.level)?;
        Ok(forecast.at_another_pace(self.pace))
    }
}

fn close((corner, item): (Corner, Item), part: Part, replaced: bool, planned: Planned) -> Series {
    let visits = visits_of(&part.points);
    let (limit, u) = (part.limit.unwrap_or_default(), part.u.unwrap_or_default());
    let forecast = if part.limit.is_none() {
        Err(NoForecast::NoLimit)
    } else {
        planned.forecast(&visits, (limit, u))
    };
    Series {
        corner,
        item,
        scored: scored(&part.points, &visits, (limit, u), planned),
        doubled: doubled(&part.points, u),
        points: part.points,
        replaced,
        limit: part.limit,
        forecast,
    }
}

/// What the readings before each reading had forecast for it.
fn scored(
    points: &[SeriesPoint],
    visits: &[wear::Visit],
    sizes: (Length, Length),
    planned: Planned,
) -> Vec<Scored> {
    (2..points.len())
        .filter_map(|n| {
            let (before, last, now) = (visits.get(..n)?, points.get(n - 1)?, points.get(n)?);
            let forecast = planned.forecast(before, sizes).ok()?;
            let driven = (now.odometer - last.odometer).km();
            // The line reaches the limit after `distance_left`: walk back from there.
            let to_limit = forecast.distance_left.km() - driven;
            let forecast_mm = sizes.0.mm() + to_limit * forecast.rate_mm_per_1000km / 1e3;
            Some(Scored {
                odometer_km: whole_km(now.odometer),
                forecast_mm: libm::round(forecast_mm * 1e3) / 1e3,
                read_mm: now.thickness.mm(),
                earliest_km: whole_km(last.odometer + forecast.distance_left_lower),
            })
        })
        .collect()
}

/// Whether the newest stretch wears at least twice as fast as the one before, and by more than
/// twice the uncertainty of both.
fn doubled(points: &[SeriesPoint], u: Length) -> Option<Doubled> {
    let [.., a, b, c] = points else { return None };
    let rate = |from: &SeriesPoint, to: &SeriesPoint| {
        let km = (to.odometer - from.odometer).km() / 1e3;
        (km > 0.0).then(|| {
            (
                (from.thickness - to.thickness).mm() / km,
                u.mm() * std::f64::consts::SQRT_2 / km,
            )
        })
    };
    let ((before, u_before), (now, u_now)) = (rate(a, b)?, rate(b, c)?);
    let real = now - before > 2.0 * libm::hypot(u_before, u_now);
    (before > 0.0 && now >= 2.0 * before && real).then(|| Doubled {
        before: libm::round(before * 1e6) / 1e6,
        now: libm::round(now * 1e6) / 1e6,
    })
}

/// A vehicle that came back with what it had before.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Comeback {
    /// The job it came back to.
    pub job: String,
    /// The job before.
    pub before: String,
    /// Kilometres between them.
    pub km: i64,
    /// What is wrong again.
    pub what: Vec<String>,
}

/// Comebacks within a distance: a complaint that returned, or an item that left good and is not.
#[must_use]
pub fn comebacks(visits: &[&Summary], within: Distance) -> Vec<Comeback> {
    let mut all = Vec::new();
    for pair in visits.windows(2) {
        let [before, after] = pair else { continue };
        let between = after.odometer - before.odometer;
        if between > within || between < Distance::ZERO {
            continue;
        }
        let mut what: Vec<String> = after
            .symptoms
            .iter()
            .filter(|s| before.symptoms.contains(s))
            .map(|s| format!("complaint: {s:?}").to_lowercase())
            .collect();
        let put_right = |key: &String| {
            before.found.contains_key(key) && before.left.get(key) == Some(ItemVerdict::Pass)
        };
        let bad_again = after
            .found
            .iter()
            .filter(|(_, v)| matches!(v, ItemVerdict::Fail | ItemVerdict::Advise));
        what.extend(
            bad_again
                .filter(|(k, _)| put_right(k))
                .map(|(k, _)| k.clone()),
        );
        if !what.is_empty() {
            all.push(Comeback {
                job: after.job.clone(),
                before: before.job.clone(),
                km: whole_km(between),
                what,
            });
        }
    }
    all
}
