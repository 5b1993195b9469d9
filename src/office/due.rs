//! What is due over one or more workshops, ranked by the earliest it may matter.

use std::collections::BTreeMap;

use chrono::{DateTime, FixedOffset, NaiveDate};
use serde::Serialize;

use super::history::{self, Series};
use super::retorque::later;
use super::summary::Summary;
use super::whole_km;
use crate::job::{Outcome, Register};
use crate::judge::ItemVerdict;
use crate::units::Distance;

/// A visit with the workshop it was at.
#[derive(Clone, Debug)]
pub struct Visit {
    /// The workshop's name.
    pub shop: String,
    /// The job in short.
    pub summary: Summary,
}

/// What kind of thing is due.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
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
                    miles.checked_mul(1_609_344).ok_or_else(wrong)? / 1_000_000,
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
    let today = now.date_naive();
    let mut vehicles: BTreeMap<&str, Vec<&Visit>> = BTreeMap::new();
    for visit in visits {
        vehicles.entry(&visit.summary.vin).or_default().push(visit);
    }
    let mut rows = Vec::new();
    for visits in vehicles.values_mut() {
        visits.sort_by_key(|v| v.summary.opened);
        rows.extend(of_vehicle(visits, now));
    }
    for (shop, register) in registers {
        rows.extend(calibrations(shop, register, today));
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
    let Some(last) = visits.last() else {
        return Vec::new();
    };
    let summaries: Vec<&Summary> = visits.iter().map(|v| &v.summary).collect();
    let pace = history::pace(&summaries);
    let today = now.date_naive();
    let mut rows = Vec::new();
    for (index, visit) in visits.iter().enumerate() {
        let after = summaries.get(index + 1..).unwrap_or_default();
        rows.extend(declined(visit, after, pace.as_ref(), today));
        if let Some(at) = visit.summary.call_back {
            let day = at.with_timezone(now.offset()).date_naive();
            let mut row = blank(DueKind::CallBack, visit, "the customer wants to be called");
            row.date = Some(day);
            row.time = Some(at);
            row.overdue = now > at;
            row.basis = format!("agreed for {}", at.format("%Y-%m-%d %H:%M %:z"));
            rows.push(row);
        }
    }
    rows.extend(retorque(last, pace.as_ref(), today));
    for series in history::series(&summaries) {
        rows.extend(wear(last, &series, pace.as_ref(), today));
    }
    rows
}

fn blank(kind: DueKind, visit: &Visit, what: &str) -> DueRow {
    let summary = &visit.summary;
    DueRow {
        kind,
        shop: visit.shop.clone(),
        subject: summary.job.clone(),
        vehicle: if summary.registration.is_empty() {
            summary.vin.clone()
        } else {
            summary.registration.clone()
        },
        what: what.to_owned(),
        date: None,
        km: None,
        km_left: None,
        time: None,
        overdue: false,
        basis: String::new(),
    }
}

/// Turns an odometer into a day at the vehicle's own pace and keeps the earlier of it and `date`.
fn when(
    row: &mut DueRow,
    km: Option<i64>,
    date: Option<NaiveDate>,
    (from, at): (Distance, NaiveDate),
    pace: Option<&history::Pace>,
    today: NaiveDate,
) {
    row.km = km;
    let by_distance = km.zip(pace).map(|(km, pace)| {
        let left = km - whole_km(from);
        row.km_left = Some(km - pace.odometer_on(whole_km(from), at, today));
        (pace.day(at, left), pace)
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
    row.overdue = row.date.is_some_and(|day| day < today);
}

fn start(summary: &Summary) -> (Distance, NaiveDate) {
    (summary.odometer, summary.opened.date_naive())
}

fn retorque(visit: &Visit, pace: Option<&history::Pace>, today: NaiveDate) -> Option<DueRow> {
    let open = visit.summary.retorque.as_ref()?;
    let what = format!(
        "torque every wheel again, never slacken first (after {} km or on {})",
        open.due_km - open.odometer_km,
        open.due_date
    );
    let mut row = blank(DueKind::Retorque, visit, &what);
    row.basis.clone_from(&open.source);
    let from = (Distance::from_whole_km(open.odometer_km), open.torqued);
    when(
        &mut row,
        Some(open.due_km),
        Some(open.due_date),
        from,
        pace,
        today,
    );
    if row.basis.is_empty() {
        row.basis.clone_from(&open.source);
    }
    Some(row)
}

fn wear(
    visit: &Visit,
    series: &Series,
    pace: Option<&history::Pace>,
    today: NaiveDate,
) -> Option<DueRow> {
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
    when(
        &mut row,
        Some(km),
        None,
        (last.odometer, last.day),
        pace,
        today,
    );
    Some(row)
}

fn declined(
    visit: &Visit,
    after: &[&Summary],
    pace: Option<&history::Pace>,
    today: NaiveDate,
) -> Vec<DueRow> {
    let summary = &visit.summary;
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
            let mut row = blank(DueKind::Declined, visit, &what);
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
            when(&mut row, km, Some(date), start(summary), pace, today);
            if row.basis.is_empty() {
                row.basis = basis.to_owned();
            }
            row
        })
        .collect()
}

fn calibrations(shop: &str, register: &Register, today: NaiveDate) -> Vec<DueRow> {
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
