//! What is due over one or more workshops, ranked by the earliest it may matter.

use std::collections::BTreeMap;

use chrono::{DateTime, FixedOffset, NaiveDate};
use serde::{Deserialize, Serialize};

use super::history::{self, Series};
use super::retorque::later;
use super::summary::Summary;
use super::whole_km;
use crate::job::{Outcome, Register};
use crate::judge::ItemVerdict;
use crate::units::{Distance, DistanceUnit};

/// A visit with the workshop it was at.
#[derive(Clone, Debug)]
pub struct Visit {
    /// The workshop's name.
    pub shop: String,
    /// The job in short.
    pub summary: Summary,
}

/// What kind of thing is due.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DueKind {
    /// The customer wants to be called.
    CallBack,
    /// Wheels are to be torqued again.
    Retorque,
    /// A line the customer left.
    Declined,
    /// A part may reach its limit.
    Wear,
    /// An instrument's calibration ends.
    Calibration,
}

impl DueKind {
    /// The kind in words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::CallBack => "call back",
            Self::Retorque => "re-torque",
            Self::Declined => "left",
            Self::Wear => "wear",
            Self::Calibration => "calibration",
        }
    }
}

/// One thing that is due.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DueRow {
    /// What kind.
    pub kind: DueKind,
    /// The workshop.
    pub shop: String,
    /// The job it comes from; the instrument for a calibration.
    pub subject: String,
    /// Registration plate, or the VIN where there is none.
    pub vehicle: String,
    /// What is due, in words.
    pub what: String,
    /// The earliest day it may matter: the date, or the distance at the vehicle's own pace.
    pub date: Option<NaiveDate>,
    /// The odometer it is due at, in whole kilometres: a lower bound.
    pub km: Option<i64>,
    /// Kilometres from the odometer the vehicle should have today.
    pub km_left: Option<i64>,
    /// The time of day, for a call.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub time: Option<DateTime<FixedOffset>>,
    /// Whether the day has passed.
    pub overdue: bool,
    /// Where the day comes from.
    pub basis: String,
}

/// One thing that is due, as it stands whatever day it is asked on: what an index may keep.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Standing {
    /// What kind.
    pub kind: DueKind,
    /// The job it comes from.
    pub subject: String,
    /// Registration plate, or the VIN where there is none.
    pub vehicle: String,
    /// What is due, in words.
    pub what: String,
    /// The earliest day it may matter.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub date: Option<NaiveDate>,
    /// The odometer it is due at, in whole kilometres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub km: Option<i64>,
    /// Odometer in whole kilometres on a day, and the pace from there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<(i64, NaiveDate, f64)>,
    /// The time of day, for a call.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub time: Option<DateTime<FixedOffset>>,
    /// Where the day comes from.
    pub basis: String,
}

impl Standing {
    /// The row as it is to be read now, in the zone of `now`.
    #[must_use]
    pub fn on(self, shop: &str, now: DateTime<FixedOffset>) -> DueRow {
        let today = now.date_naive();
        let there = |time: DateTime<FixedOffset>| time.with_timezone(now.offset()).date_naive();
        DueRow {
            shop: shop.to_owned(),
            date: self.time.map(there).or(self.date),
            km_left: self.km.zip(self.from).map(|(km, (from, at, km_per_day))| {
                km - history::odometer_on(km_per_day, from, at, today)
            }),
            overdue: self.time.map_or_else(
                || self.date.is_some_and(|day| day < today),
                |time| now > time,
            ),
            kind: self.kind,
            subject: self.subject,
            vehicle: self.vehicle,
            what: self.what,
            km: self.km,
            time: self.time,
            basis: self.basis,
        }
    }
}

/// How far ahead to look.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Within {
    /// This many days.
    Days(u32),
    /// This many kilometres of each vehicle.
    Km(i64),
}

impl std::str::FromStr for Within {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let wrong = || format!("`{text}` is neither days nor a distance; expected 30d or 1000km");
        let text = text.trim().to_lowercase();
        let split = text.find(|c: char| !c.is_ascii_digit()).ok_or_else(wrong)?;
        let (number, unit) = text.split_at(split);
        match unit.trim() {
            "d" | "days" | "day" => number.parse().map(Self::Days).map_err(|_| wrong()),
            "km" => number.parse().map(Self::Km).map_err(|_| wrong()),
            "mi" => {
                let miles: i64 = number.parse().map_err(|_| wrong())?;
                Ok(Self::Km(
                    miles
                        .checked_mul(DistanceUnit::Mile.mm())
                        .ok_or_else(wrong)?
                        / 1_000_000,
                ))
            }
            _ => Err(wrong()),
        }
    }
}

/// Everything that is due, earliest first; what has no day stands last.
///
/// Only a vehicle's last visit says what is due by wear and torque; a line that was left stays until
/// a later visit judged its items good.
#[must_use]
pub fn due(
    visits: &[Visit],
    registers: &[(String, Register)],
    now: DateTime<FixedOffset>,
) -> Vec<DueRow> {
    let mut vehicles: BTreeMap<&str, Vec<&Visit>> = BTreeMap::new();
    for visit in visits {
        vehicles.entry(&visit.summary.vin).or_default().push(visit);
    }
    let mut rows = Vec::new();
    for visits in vehicles.values_mut() {
        visits.sort_by(|a, b| a.summary.order().cmp(&b.summary.order()));
        rows.extend(of_vehicle(visits, now));
    }
    for (shop, register) in registers {
        rows.extend(calibrations(shop, register, now.date_naive()));
    }
    rank(&mut rows);
    rows
}

/// Sorts rows: earliest first, what has no day last; the same rows always in the same order.
pub fn rank(rows: &mut [DueRow]) {
    rows.sort_by(|a, b| order(a).cmp(&order(b)));
}

fn order(row: &DueRow) -> (NaiveDate, DueKind, &str, &str, &str) {
    (
        row.date.unwrap_or(NaiveDate::MAX),
        row.kind,
        &row.shop,
        &row.subject,
        &row.what,
    )
}

/// Whether a row lies inside what was asked for; what is overdue always does.
#[must_use]
pub fn inside(row: &DueRow, within: Within, today: NaiveDate) -> bool {
    row.overdue
        || match within {
            Within::Days(days) => row.date.is_some_and(|d| d <= later(today, u64::from(days))),
            Within::Km(km) => row.km_left.is_some_and(|left| left <= km),
        }
}

/// What is due of one vehicle, from its visits in the order they happened.
#[must_use]
pub fn of_vehicle(visits: &[&Visit], now: DateTime<FixedOffset>) -> Vec<DueRow> {
    let summaries: Vec<&Summary> = visits.iter().map(|v| &v.summary).collect();
    let shop = |index: usize| visits.get(index).map_or("", |visit| visit.shop.as_str());
    standing(&summaries)
        .into_iter()
        .map(|(index, row)| row.on(shop(index), now))
        .collect()
}

/// What stands due of one vehicle, from its visits in the order they happened, each with the place
/// of the visit it comes from.
#[must_use]
pub fn standing(visits: &[&Summary]) -> Vec<(usize, Standing)> {
    let Some((last, newest)) = visits.len().checked_sub(1).zip(visits.last()) else {
        return Vec::new();
    };
    let pace = history::pace(visits);
    let mut rows = Vec::new();
    for (index, visit) in visits.iter().enumerate() {
        let after = visits.get(index + 1..).unwrap_or_default();
        let left = declined(visit, after, pace.as_ref());
        rows.extend(left.into_iter().map(|row| (index, row)));
        if let Some(at) = visit.call_back {
            let mut row = blank(DueKind::CallBack, visit, "the customer wants to be called");
            row.date = Some(at.date_naive());
            row.time = Some(at);
            row.basis = format!("agreed for {}", at.format("%Y-%m-%d %H:%M %:z"));
            rows.push((index, row));
        }
    }
    rows.extend(retorque(newest, pace.as_ref()).map(|row| (last, row)));
    for series in history::series(visits) {
        rows.extend(wear(newest, &series, pace.as_ref()).map(|row| (last, row)));
    }
    rows
}

fn blank(kind: DueKind, summary: &Summary, what: &str) -> Standing {
    Standing {
        kind,
        subject: summary.job.clone(),
        vehicle: if summary.registration.is_empty() {
            summary.vin.clone()
        } else {
            summary.registration.clone()
        },
        what: what.to_owned(),
        date: None,
        km: None,
        from: None,
        time: None,
        basis: String::new(),
    }
}

/// Turns an odometer into a day at the vehicle's own pace and keeps the earlier of it and `date`.
fn when(
    row: &mut Standing,
    km: Option<i64>,
    date: Option<NaiveDate>,
    (from, at): (Distance, NaiveDate),
    pace: Option<&history::Pace>,
) {
    row.km = km;
    let by_distance = km.zip(pace).map(|(km, pace)| {
        row.from = Some((whole_km(from), at, pace.km_per_day));
        (pace.day(at, km - whole_km(from)), pace)
    });
    match (date, by_distance) {
        (Some(date), Some((day, pace))) if day < date => {
            row.date = Some(day);
            row.basis = pace.basis.clone();
        }
        (Some(date), _) => row.date = Some(date),
        (None, Some((day, pace))) => {
            row.date = Some(day);
            row.basis = pace.basis.clone();
        }
        (None, None) => {
            row.basis = "the vehicle's pace is not known: no day can be said".to_owned();
        }
    }
}

fn start(summary: &Summary) -> (Distance, NaiveDate) {
    (summary.odometer, summary.opened.date_naive())
}

fn retorque(visit: &Summary, pace: Option<&history::Pace>) -> Option<Standing> {
    let open = visit.retorque.as_ref()?;
    let what = format!(
        "torque every wheel again, never slacken first (after {} km or on {})",
        open.due_km - open.odometer_km,
        open.due_date
    );
    let mut row = blank(DueKind::Retorque, visit, &what);
    row.basis.clone_from(&open.source);
    let from = (Distance::from_whole_km(open.odometer_km), open.torqued);
    when(&mut row, Some(open.due_km), Some(open.due_date), from, pace);
    if row.basis.is_empty() {
        row.basis.clone_from(&open.source);
    }
    Some(row)
}

fn wear(visit: &Summary, series: &Series, pace: Option<&history::Pace>) -> Option<Standing> {
    let forecast = series.forecast.as_ref().ok()?;
    let left = whole_km(forecast.distance_left_lower);
    let last = series.points.last()?;
    let km = whole_km(last.odometer) + left;
    let what = format!(
        "{} {} may reach its limit ({:.3} mm per 1000 km, {left} km left at least)",
        series.corner,
        series.item.title(),
        forecast.rate_mm_per_1000km
    );
    let mut row = blank(DueKind::Wear, visit, &what);
    when(&mut row, Some(km), None, (last.odometer, last.day), pace);
    Some(row)
}

fn declined(summary: &Summary, after: &[&Summary], pace: Option<&history::Pace>) -> Vec<Standing> {
    let still = |declined: &&super::Declined| {
        let good = |later: &&Summary| {
            !declined.items.is_empty()
                && declined.items.iter().all(|(place, item)| {
                    later.left.get(&super::summary::key(*place, *item)) == Some(ItemVerdict::Pass)
                })
        };
        // Offered again at a later visit: the later answer speaks.
        let again = |later: &&Summary| later.declined.iter().any(|d| d.line == declined.line);
        !after.iter().any(|later| good(later) || again(later))
    };
    summary
        .declined
        .iter()
        .filter(still)
        .map(|declined| {
            let caution = if declined.fail { "; it FAILS" } else { "" };
            let what = format!(
                "{} was left ({}){caution}",
                declined.words,
                declined.outcome.word()
            );
            let mut row = blank(DueKind::Declined, summary, &what);
            let (distance, months) = summary.service;
            let day = summary.opened.date_naive();
            let (km, date, basis) = if declined.fail {
                (None, declined.on, "a FAIL is due from the day it was left")
            } else if let (Outcome::Later, Some(until)) = (declined.outcome, declined.until) {
                (None, until, "agreed with the customer")
            } else {
                let next = day
                    .checked_add_months(chrono::Months::new(months))
                    .unwrap_or(NaiveDate::MAX);
                let km = whole_km(summary.odometer + distance);
                (Some(km), next, "next service")
            };
            when(&mut row, km, Some(date), start(summary), pace);
            if row.basis.is_empty() {
                row.basis = basis.to_owned();
            }
            row
        })
        .collect()
}

/// The calibrations of a workshop's instruments.
#[must_use]
pub fn calibrations(shop: &str, register: &Register, today: NaiveDate) -> Vec<DueRow> {
    let row = |instrument: &crate::job::Instrument| {
        let until = instrument.calibrated_until?;
        Some(DueRow {
            kind: DueKind::Calibration,
            shop: shop.to_owned(),
            subject: instrument.id.clone(),
            vehicle: String::new(),
            what: format!("calibration of {} ends", instrument.id),
            date: Some(until),
            km: None,
            km_left: None,
            time: None,
            overdue: until < today,
            basis: "instrument register".to_owned(),
        })
    };
    register.instruments.iter().filter_map(row).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_horizon_is_days_or_a_distance() {
        assert_eq!("30d".parse(), Ok(Within::Days(30)));
        assert_eq!("1000km".parse(), Ok(Within::Km(1000)));
        assert_eq!("1000 KM".parse(), Ok(Within::Km(1000)));
        assert_eq!("100mi".parse(), Ok(Within::Km(160)));
        for text in ["", "30", "d", "-3d", "1.5d", "30 weeks", "99999999999d"] {
            assert!(text.parse::<Within>().is_err(), "{text}");
        }
    }
}
