//! Wear forecasts from the readings of earlier visits, and the advice that follows.

use chrono::NaiveDate;

use super::Urgency;
use super::case::Case;
use super::decide::Draft;
use super::finding::ForecastResults;
use crate::job::{Corner, Item, Phase, Place};
use crate::measure::wear::{self, Forecast, ForecastMethod, NoForecast, Visit};
use crate::spec::FrictionSpec;
use crate::units::{Distance, Length};

/// A forecast, or why there is none.
pub(super) type Outlook = Result<Forecast, String>;

const fn visit(odometer: Distance, thickness: Length) -> Visit {
    Visit {
        odometer,
        thickness,
        u: None,
        new_parts: false,
    }
}

/// The forecast of a part from its earlier readings and this one; a part fitted since starts anew.
pub(super) fn outlook(
    case: &Case<'_>,
    corner: Corner,
    item: Item,
    phase: Phase,
    min: Length,
    u: Length,
    limit: Option<Length>,
) -> Outlook {
    let renewed = phase == Phase::AsLeft && case.renewed(Place::Corner(corner), item);
    let fitted = case.job.fitted_before.get(&(corner, item));
    let fitted = fitted.filter(|_| !renewed);
    let same_parts = |odometer: Distance| fitted.is_none_or(|(fitted, _)| odometer >= *fitted);
    let mut visits: Vec<Visit> = case
        .job
        .earlier
        .iter()
        .filter(|(at, what, ..)| *at == corner && *what == item && !renewed)
        .filter(|(_, _, odometer, _)| same_parts(*odometer))
        .map(|(_, _, odometer, thickness)| visit(*odometer, *thickness))
        .collect();
    visits.push(visit(case.odometer(), min));
    let limit = limit.ok_or("no forecast: no limit is on file")?;
    let level = case.policy.forecast_confidence.value.share();
    let forecast = match (fitted, &visits[..]) {
        (Some((odometer, thickness)), [only]) => {
            let new = new_part(case, corner, item, *thickness, u)
                .ok_or("no forecast: the size of the new part is not on file")?;
            wear::forecast_one_visit_at((*odometer, new.0, new.1), only, limit, u, level)
        }
        _ => wear::forecast_at(&visits, limit, u, level),
    };
    forecast.map_err(|why: NoForecast| why.to_string())
}

/// The thickness of a part when it was fitted, with its uncertainty: as measured then, else the
/// sheet's new size with the policy's uncertainty of a thickness nobody measured.
fn new_part(
    case: &Case<'_>,
    corner: Corner,
    item: Item,
    measured: Option<Length>,
    u: Length,
) -> Option<(Length, Length)> {
    if let Some(thickness) = measured {
        return Some((thickness, u));
    }
    let axle = case.axle(corner.axle())?;
    let size = match item {
        Item::PadsThickness => axle.pads.as_ref().and_then(FrictionSpec::new_friction),
        Item::LiningsThickness => axle.linings.as_ref().and_then(FrictionSpec::new_friction),
        Item::DiscThickness => axle.disc.as_ref()?.new.as_ref().map(|new| new.value),
        _ => None,
    };
    Some((size?, case.policy.pads_new_uncertainty.value))
}

/// The day by which the lower bound is used up, at the distance a day between the earliest dated
/// reading of the same parts and this visit; `None` without one.
fn day(case: &Case<'_>, corner: Corner, item: Item, lower: Distance) -> Option<NaiveDate> {
    let today = case.job.opened.as_ref()?.at.date_naive();
    let since = case.job.fitted_before.get(&(corner, item));
    let (before, then) = case
        .job
        .earlier_days
        .range((corner, item, Distance::ZERO)..)
        .take_while(|((at, what, _), _)| (*at, *what) == (corner, item))
        .map(|((_, _, odometer), date)| (*odometer, *date))
        .find(|(odometer, _)| since.is_none_or(|(fitted, _)| odometer >= fitted))?;
    let driven = (case.odometer() - before).mm();
    let days = i128::from((today - then).num_days());
    if driven <= 0 || days <= 0 {
        return None;
    }
    let more = i128::from(lower.mm()) * days / i128::from(driven);
    today.checked_add_days(chrono::Days::new(u64::try_from(more).ok()?))
}

/// The forecast as it is stored.
pub(super) fn shown(outlook: &Outlook) -> ForecastResults {
    match outlook {
        Ok(forecast) => ForecastResults::Known {
            rate_mm_per_1000km: forecast.rate_mm_per_1000km,
            distance_left_km: whole_km(forecast.distance_left),
            distance_left_lower_km: whole_km(forecast.distance_left_lower),
            method: method_words(forecast.method).to_owned(),
            accelerating: forecast.accelerating,
        },
        Err(why) => ForecastResults::None {
            no_forecast: why.clone(),
        },
    }
}

pub(super) const fn method_words(method: ForecastMethod) -> &'static str {
    match method {
        ForecastMethod::KnownUncertainty => "line through the visits, known reading uncertainty",
        ForecastMethod::ResidualSpread => "line through the visits, spread of the residuals",
        ForecastMethod::OneVisit => "one visit, fitting known",
    }
}

pub(super) fn whole_km(distance: Distance) -> i64 {
    distance.mm().div_euclid(1_000_000)
}

/// A forecast that reaches the limit before the next service is an advice with that distance; and
/// any advice with a forecast carries it.
pub(super) fn plan_ahead(
    case: &Case<'_>,
    (corner, item): (Corner, Item),
    draft: &mut Draft,
    outlook: &Outlook,
) {
    if let Ok(forecast) = outlook {
        let date = day(case, corner, item, forecast.distance_left_lower);
        let service = case.service_distance();
        plan_rules(draft, forecast, case.odometer(), service, date);
    }
}

/// The rules for a forecast, counted from an odometer reading.
pub(super) fn plan_rules(
    draft: &mut Draft,
    forecast: &Forecast,
    odometer: Distance,
    service: Distance,
    date: Option<NaiveDate>,
) {
    let urgency = || Urgency::By {
        km: Some(whole_km(odometer + forecast.distance_left_lower)),
        date,
    };
    if forecast.distance_left_lower < service {
        draft.advise(
            format!(
                "may reach its limit in {} km, before the next service",
                whole_km(forecast.distance_left_lower)
            ),
            urgency(),
        );
    }
    draft.sharpen(urgency());
}
