//! The dates that follow from a job, as an RFC 5545 calendar.

use chrono::{DateTime, Datelike as _, FixedOffset, Months, NaiveDate, Utc};
use icalendar::{Calendar, Class, Component as _, Event, EventLike as _};

use super::build::Material;
use super::forms::{Forms, Toward};
use super::model::{Form, TagModel};
use crate::job::Phase;

/// The calendar of a job: the re-torque, and the next service with its forecast.
///
/// Identifiers and time stamps come from the record, so that the same record gives the same file,
/// and a later one replaces the earlier in a calendar.
#[must_use]
pub fn calendar(material: &Material<'_>, tag: &TagModel, form: Form) -> String {
    let forms = super::build::forms(form);
    let mut calendar = Calendar::empty();
    calendar.append_property(icalendar::Property::new("VERSION", "2.0"));
    calendar.append_property(icalendar::Property::new(
        "PRODID",
        "-//brakecorner//findings sheet//EN",
    ));
    calendar.append_property(icalendar::Property::new("CALSCALE", "GREGORIAN"));
    let Some(stamp) = tag.head.as_of else {
        return calendar.to_string();
    };
    let vehicle = [
        &material.case.sheet.name,
        material
            .case
            .job
            .opening
            .as_ref()
            .map_or(&String::new(), |o| &o.registration),
    ]
    .into_iter()
    .filter(|text| !text.is_empty())
    .cloned()
    .collect::<Vec<_>>()
    .join(" ");
    let named = |id: &str| {
        forms
            .words
            .say(id, &[("vehicle", visible(&vehicle).into())])
    };
    let job = &material.judgement.job;
    if let Some(due) = tag.slip.due {
        let text = tag.slip.sentences.join(" ");
        calendar.push(day(
            &format!("{job}-retorque"),
            stamp,
            due,
            &named("calendar-retorque"),
            &text,
        ));
    }
    if let Some(due) = service_day(material) {
        let text = service_text(material, &forms);
        calendar.push(day(
            &format!("{job}-service"),
            stamp,
            due,
            &named("calendar-service"),
            &text,
        ));
    }
    calendar.to_string()
}

fn day(id: &str, stamp: DateTime<FixedOffset>, on: NaiveDate, summary: &str, text: &str) -> Event {
    let mut event = Event::new();
    event
        .uid(&format!("{id}@brakecorner.invalid"))
        .timestamp(stamp.with_timezone(&Utc))
        .class(Class::Private)
        .summary(summary)
        .description(&visible(text))
        .all_day(on);
    event.done()
}

fn visible(text: &str) -> String {
    text.chars().map(super::text::visible).collect()
}

fn service_day(material: &Material<'_>) -> Option<NaiveDate> {
    let opened = material.case.job.opened.as_ref()?.at.date_naive();
    let months = material
        .case
        .sheet
        .service
        .months
        .unwrap_or(material.case.policy.service_months.value);
    opened
        .checked_add_months(Months::new(months))
        .filter(|day| day.year() < 10_000)
}

/// The nearest forecast, or the service's own distance.
fn service_text(material: &Material<'_>, forms: &Forms) -> String {
    let case = material.case;
    let whole_km = |d: crate::units::Distance| d.mm().div_euclid(1_000_000);
    let odometer = case
        .job
        .opening
        .as_ref()
        .map_or(0, |o| whole_km(o.odometer));
    let nearest: Vec<i64> = material
        .judgement
        .standing(Phase::AsLeft)
        .filter_map(|finding| Some(odometer.saturating_add(super::build::lower_km(finding)?)))
        .collect();
    let km = |km: i64| ("km", forms.km(km, Toward::Down).into());
    let service = case
        .sheet
        .service
        .distance
        .as_ref()
        .map_or(case.policy.service_distance.value, |d| d.value);
    let service = odometer.saturating_add(whole_km(service));
    let before: Vec<i64> = nearest.into_iter().filter(|at| *at <= service).collect();
    match before.iter().min() {
        Some(first) => {
            let items = u32::try_from(before.len()).unwrap_or(u32::MAX);
            forms.words.say(
                "calendar-service-text",
                &[("items", items.into()), km(*first)],
            )
        }
        None => forms.words.say("calendar-service-plain", &[km(service)]),
    }
}
