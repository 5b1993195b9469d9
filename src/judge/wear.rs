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

/// What a forecast of a part rests on.
pub(super) struct Evidence {
    /// The readings of the part that is there, this visit's last.
    pub(super) visits: Vec<Visit>,
    /// Odometer, thickness and its uncertainty when it was fitted, where nothing else gives a start.
    pub(super) new: Option<(Distance, Length, Length)>,
    /// It was fitted at a known odometer, and nobody knows what a new one measures.
    new_size_missing: bool,
}

/// The evidence for a part: its earlier readings and this one; a part fitted since starts anew.
pub(super) fn evidence(
    case: &Case<'_>,
    (corner, item): (Corner, Item),
    phase: Phase,
    (min, u): (Length, Length),
) -> Evidence {
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
    let start = fitted.filter(|_| visits.len() == 1);
    let new = start.and_then(|(odometer, thickness)| {
        let (new, u_new) = new_part(case, corner, item, *thickness, u)?;
        Some((*odometer, new, u_new))
    });
    Evidence {
        visits,
        new_size_missing: start.is_some() && new.is_none(),
        new,
    }
}

/// Whether a forecast is due that nobody can give: there is an earlier reading, and nobody knows
/// whether it was of the part that is there now.
pub(super) fn start_unknown(case: &Case<'_>, at: (Corner, Item), phase: Phase) -> bool {
    let (corner, item) = at;
    let renewed = phase == Phase::AsLeft && case.renewed(Place::Corner(corner), item);
    let same = |(c, i, ..): &(Corner, Item, Distance, Length)| (*c, *i) == at;
    case.job.perhaps_renewed.contains(&at)
        && !renewed
        && !case.job.fitted_before.contains_key(&at)
        && !case.job.earlier.iter().any(same)
}

/// Said where an earlier reading gives no start.
const START_UNKNOWN: &str =
    "no forecast: nobody knows whether the part was renewed since its earlier reading";

/// The forecast of a part from its earlier readings and this one.
pub(super) fn outlook(
    case: &Case<'_>,
    corner: Corner,
    item: Item,
    phase: Phase,
    min: Length,
    u: Length,
    limit: Option<Length>,
) -> Outlook {
    let limit = limit.ok_or("no forecast: no limit is on file")?;
    if start_unknown(case, (corner, item), phase) {
        return Err(START_UNKNOWN.to_owned());
    }
    let evidence = evidence(case, (corner, item), phase, (min, u));
    if evidence.new_size_missing {
        return Err("no forecast: the size of the new part is not on file".to_owned());
    }
    let level = case.policy.forecast_confidence.value.share();
    let forecast = match (evidence.new, &evidence.visits[..]) {
        (Some(new), [only]) => wear::forecast_one_visit_at(new, only, limit, u, level),
        (_, visits) => wear::forecast_at(visits, limit, u, level),
    };
    let pace = case.policy.forecast_pace.value.share();
    forecast
        .map(|forecast| forecast.at_another_pace(pace))
        .map_err(|why: NoForecast| why.to_string())
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
    } else if start_unknown(case, (corner, item), draft.phase()) {
        draft.advise(START_UNKNOWN, Urgency::Watch);
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
                "may reach its limit in {} km if it is used as until now, before the next service",
                whole_km(forecast.distance_left_lower)
            ),
            urgency(),
        );
    }
    draft.sharpen(urgency());
}
