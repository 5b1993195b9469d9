//! The distance line: how far each wearing part may last at the least.

use super::whole_km;
use crate::judge::{Case, Finding, ForecastResults, Results};
use crate::sheet::chart::{self, DistanceMark};
use crate::sheet::forms::{Forms, Toward};
use crate::sheet::model::{DistanceLine, Fact, Mark};
use crate::units::Distance;

/// The next service: the sheet's distance, else the policy's.
fn service_km(case: &Case<'_>) -> Option<i64> {
    let odometer = case.job.opening.as_ref()?.odometer;
    let sheet = case.sheet.service.distance.as_ref().map(|d| d.value);
    Some(whole_km(
        odometer + sheet.unwrap_or(case.policy.service_distance.value),
    ))
}

/// The shortest distance left of a part, where there is a forecast, in whole km.
pub(in crate::sheet) fn lower_km(finding: &Finding) -> Option<i64> {
    let forecast = match &finding.results {
        Some(Results::Friction { forecast, .. }) => forecast,
        Some(Results::Thickness {
            forecast: Some(forecast),
            ..
        }) => forecast,
        _ => return None,
    };
    match forecast {
        ForecastResults::Known {
            distance_left_lower_km,
            ..
        } => Some(*distance_left_lower_km),
        ForecastResults::None { .. } => None,
    }
}

/// The parts with a forecast: what, where on the odometer at the earliest; nearest first.
fn forecasts<'f>(case: &Case<'_>, standing: &[&'f Finding]) -> Vec<(&'f Finding, i64)> {
    let odometer = case
        .job
        .opening
        .as_ref()
        .map_or(Distance::ZERO, |o| o.odometer);
    let mut parts: Vec<(&Finding, i64)> = standing
        .iter()
        .filter_map(|finding| {
            Some((
                *finding,
                whole_km(odometer).saturating_add(lower_km(finding)?),
            ))
        })
        .collect();
    parts.sort_by_key(|(_, at)| *at);
    parts
}

pub(super) fn distance(
    case: &Case<'_>,
    forms: &Forms,
    standing: &[&Finding],
) -> Option<DistanceLine> {
    let today = whole_km(case.job.opening.as_ref()?.odometer);
    let parts = forecasts(case, standing);
    if parts.is_empty() {
        return None;
    }
    let service = service_km(case);
    let letters = ('a'..='z').chain('A'..='Z');
    let lettered: Vec<(char, &Finding, i64)> = letters
        .zip(parts)
        .map(|(letter, (finding, at))| (letter, finding, at))
        .collect();
    // The ruler is in the unit of the sheet, so that its ticks are round.
    let unit = |km: i64| forms.odometer(km, Toward::Down).0;
    let marks: Vec<DistanceMark> = lettered
        .iter()
        .map(|(letter, finding, at)| DistanceMark {
            at: unit(*at),
            letter: *letter,
            tone: finding.verdict.into(),
        })
        .collect();
    let today_words = forms.words.plain("chart-today");
    let service_words = forms.words.plain("chart-service");
    let alt = forms.words.say(
        "chart-distance",
        &[("today", forms.km(today, Toward::Down).into())],
    );
    let drawing = chart::distance_line(
        unit(today),
        service.map(unit),
        &marks,
        (&today_words, &service_words),
        |at| forms.grouped(at),
        &alt,
    );
    let mut ends = vec![Fact {
        label: today_words,
        value: forms.km(today, Toward::Down),
    }];
    if let Some(service) = service {
        ends.push(Fact {
            label: service_words,
            value: forms.km(service, Toward::Down),
        });
    }
    Some(DistanceLine {
        picture: drawing.into(),
        marks: lettered
            .iter()
            .map(|(letter, finding, at)| Mark {
                letter: *letter,
                part: forms.subject(finding.place, finding.item),
                at: forms.km(*at, Toward::Down),
            })
            .collect(),
        ends,
        numbers: (
            unit(today),
            service.map(unit),
            lettered
                .iter()
                .map(|(letter, _, at)| (unit(*at), *letter))
                .collect(),
        ),
    })
}
