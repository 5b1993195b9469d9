//! Re-torque: when it is due, and what a check says.
//!
//! Never slacken first: the wrench is set to the final torque and every fastener is tightened
//! until it clicks; how far it turned is what matters.

use chrono::{Days, NaiveDate};
use serde::{Deserialize, Serialize};

use super::whole_km;
use crate::job::{Corner, Event, Job, Meta, Proceeding, RetorqueCheck, Turned};
use crate::judge::Case;
use crate::units::Distance;

/// Whose rule it is and what it says.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Rule {
    /// After this distance.
    pub distance: Distance,
    /// Or after this many days, whichever comes first.
    pub days: u32,
    /// Whose rule.
    pub source: String,
}

/// The rule in force: the spec sheet's, else the policy's; each figure by itself.
#[must_use]
pub fn rule(case: &Case<'_>) -> Rule {
    let sheet = case.sheet.retorque.as_ref();
    let distance = sheet.and_then(|rule| rule.distance.as_ref());
    let days = sheet.and_then(|rule| rule.days);
    let source = match (distance, days) {
        (Some(_), Some(_)) => "spec sheet".to_owned(),
        (Some(_), None) => format!("spec sheet; days by {}", case.policy.retorque_days.origin),
        (None, Some(_)) => format!(
            "spec sheet; distance by {}",
            case.policy.retorque_distance.origin
        ),
        (None, None) => format!("workshop policy, {}", case.policy.retorque_distance.origin),
    };
    Rule {
        distance: distance.map_or(case.policy.retorque_distance.value, |d| d.value),
        days: days.unwrap_or(case.policy.retorque_days.value),
        source,
    }
}

/// A re-torque that has not been done.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct OpenRetorque {
    /// The day the wheels were torqued, where they were.
    pub torqued: NaiveDate,
    /// Odometer when they were, road test included.
    pub odometer_km: i64,
    /// Due at this odometer, in whole kilometres, rounded down.
    pub due_km: i64,
    /// Due on this day.
    pub due_date: NaiveDate,
    /// Whose rule.
    pub source: String,
}

/// The re-torque that is still open; `None` before the wheels are torqued, or when it was done
/// after them.
///
/// The day counts from the local date of the last torque. A distance past the end of the calendar
/// stays at its end.
#[must_use]
pub fn open(case: &Case<'_>) -> Option<OpenRetorque> {
    let torqued = case.job.wheels_torqued.as_ref()?;
    if done_since(case.job, torqued) {
        return None;
    }
    let rule = rule(case);
    let test = case.job.complaint.as_ref().map_or(Distance::ZERO, |c| c.2);
    let odometer = case.job.opening.as_ref()?.odometer + test;
    let day = torqued.at.date_naive();
    Some(OpenRetorque {
        torqued: day,
        odometer_km: whole_km(odometer),
        due_km: whole_km(odometer + rule.distance),
        due_date: later(day, u64::from(rule.days)),
        source: rule.source,
    })
}

/// A day some days later, at most the last of the calendar.
#[must_use]
pub fn later(day: NaiveDate, days: u64) -> NaiveDate {
    day.checked_add_days(Days::new(days))
        .unwrap_or(NaiveDate::MAX)
}

fn done_since(job: &Job, torqued: &Meta) -> bool {
    job.retorque_checks
        .iter()
        .any(|(meta, _)| meta.seq > torqued.seq)
}

/// What is missing before a re-torque can be logged.
#[must_use]
pub fn not_ready(case: &Case<'_>) -> Vec<String> {
    match &case.job.wheels_torqued {
        None => vec!["no wheel of this job was torqued".to_owned()],
        Some(torqued) if done_since(case.job, torqued) => {
            vec!["the re-torque of this job is logged already".to_owned()]
        }
        Some(_) if !super::state::signed_as_left(case.job) => {
            vec!["the job is not signed as left yet".to_owned()]
        }
        Some(_) => Vec::new(),
    }
}

/// What a check says.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Assessment {
    /// Fasteners that turned further than policy allows: wheel off, look for paint, rust, dirt, a
    /// wrong seat.
    pub too_far: Vec<Turned>,
    /// Fasteners that were not checked.
    pub not_checked: Vec<(Corner, u8)>,
    /// What policy allows, in degrees.
    pub allowed_deg: u32,
}

impl Assessment {
    /// Whether every fastener was checked and none turned too far.
    #[must_use]
    pub const fn good(&self) -> bool {
        self.too_far.is_empty() && self.not_checked.is_empty()
    }
}

/// Weighs a check against the vehicle's wheels and the policy.
#[must_use]
pub fn assess(case: &Case<'_>, check: &RetorqueCheck) -> Assessment {
    let allowed_deg = case.policy.retorque_turned_deg.value;
    let axles = u8::try_from(case.sheet.axles.len()).unwrap_or(2);
    let every = Job::corners_of(axles)
        .flat_map(|corner| (1..=case.sheet.wheel.fasteners).map(move |n| (corner, n)));
    let checked = |wanted: &(Corner, u8)| {
        check
            .turned
            .iter()
            .any(|t| (t.corner, t.fastener) == *wanted)
    };
    Assessment {
        too_far: check
            .turned
            .iter()
            .filter(|t| u32::from(t.degrees) > allowed_deg)
            .copied()
            .collect(),
        not_checked: every.filter(|one| !checked(one)).collect(),
        allowed_deg,
    }
}

/// How fasteners moved at one check, for the statistics by person and cause.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Movement {
    /// Who torqued the wheel.
    pub torqued_by: String,
    /// What was found as the cause; empty when nothing was.
    pub cause: String,
    /// Fasteners checked.
    pub fasteners: usize,
    /// Fasteners that turned at all.
    pub moved: usize,
    /// Fasteners that turned further than policy allows.
    pub too_far: usize,
    /// The furthest, in degrees.
    pub furthest_deg: u16,
}

/// The movements of every check of a job, by who torqued the wheel.
#[must_use]
pub fn movements(case: &Case<'_>) -> Vec<Movement> {
    let allowed = case.policy.retorque_turned_deg.value;
    let mut all: Vec<Movement> = Vec::new();
    for (_, check) in &case.job.retorque_checks {
        for turned in &check.turned {
            let by = hand(case.job, turned.corner, turned.fastener);
            let known = all
                .iter()
                .position(|m| m.torqued_by == by && m.cause == check.cause);
            let index = known.unwrap_or_else(|| {
                all.push(Movement {
                    torqued_by: by,
                    cause: check.cause.clone(),
                    fasteners: 0,
                    moved: 0,
                    too_far: 0,
                    furthest_deg: 0,
                });
                all.len() - 1
            });
            if let Some(movement) = all.get_mut(index) {
                movement.fasteners += 1;
                movement.moved += usize::from(turned.degrees > 0);
                movement.too_far += usize::from(u32::from(turned.degrees) > allowed);
                movement.furthest_deg = movement.furthest_deg.max(turned.degrees);
            }
        }
    }
    all
}

/// Who made a fastener's final click.
fn hand(job: &Job, corner: Corner, fastener: u8) -> String {
    job.log()
        .filter(|(_, event, struck)| {
            !struck
                && matches!(event, Event::Torque(task)
                    if task.proceeding == Proceeding::WheelFinal
                        && task.corner == corner
                        && task.fastener == fastener)
        })
        .last()
        .map(|(meta, ..)| meta.by.clone())
        .unwrap_or_default()
}

/// Reads `FL:0,0,12,0,0`: a wheel and how far each of its fasteners turned, in their own order.
///
/// # Errors
/// What does not read, or how many fasteners there are.
pub fn read_turned(text: &str, fasteners: u8) -> Result<Vec<Turned>, String> {
    let form =
        "expected CORNER:DEGREES,DEGREES,… one a fastener in order 1, 2, 3 …, as in FL:0,0,12,0,0";
    let (corner, degrees) = text
        .split_once(':')
        .ok_or_else(|| format!("`{text}` does not read; {form}"))?;
    let corner: Corner = corner
        .parse()
        .map_err(|e: crate::job::NameError| e.to_string())?;
    let values: Vec<&str> = degrees.split(',').collect();
    if values.len() != usize::from(fasteners) {
        return Err(format!(
            "`{text}` names {} fasteners, the wheel has {fasteners}",
            values.len()
        ));
    }
    (1..)
        .zip(values)
        .map(|(fastener, value)| match value.trim().parse::<u16>() {
            Ok(degrees) if degrees <= 720 => Ok(Turned {
                corner,
                fastener,
                degrees,
            }),
            _ => Err(format!(
                "`{}` is not a turn in whole degrees, 0 to 720; {form}",
                value.trim()
            )),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_run_over_month_ends_leap_days_and_the_end_of_the_calendar() {
        let day = |text: &str| text.parse::<NaiveDate>().unwrap();
        for (from, days, to) in [
            ("2026-03-28", 7, "2026-04-04"),
            ("2026-12-30", 7, "2027-01-06"),
            ("2028-02-25", 7, "2028-03-03"), // 2028 has a 29 February
            ("2026-02-25", 7, "2026-03-04"),
            ("2100-02-25", 7, "2100-03-04"), // 2100 has none
        ] {
            assert_eq!(later(day(from), days), day(to));
        }
        assert_eq!(later(day("2026-01-01"), u64::MAX), NaiveDate::MAX);
    }

    #[test]
    fn a_wheel_s_turns_are_read_in_order_and_counted() {
        let turned = read_turned("FL:0,0,12,0,0", 5).unwrap();
        assert_eq!(turned.len(), 5);
        assert_eq!((turned[2].fastener, turned[2].degrees), (3, 12));
        for (text, words) in [
            ("FL:0,0", "names 2 fasteners, the wheel has 5"),
            ("XL:0,0,0,0,0", "is not a corner"),
            ("FL 0 0 0 0 0", "does not read"),
            ("FL:0,0,-1,0,0", "`-1` is not a turn"),
            ("FL:0,0,721,0,0", "`721` is not a turn"),
            ("FL:0,0,,0,0", "`` is not a turn"),
        ] {
            let error = read_turned(text, 5).unwrap_err();
            assert!(error.contains(words), "{text}: {error}");
        }
    }
}
