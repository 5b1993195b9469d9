//! Wear forecasts from the readings of earlier visits, and the advice that follows.

use super::Urgency;
use super::case::Case;
use super::decide::Draft;
use super::finding::ForecastResults;
use crate::job::{Corner, Item, Phase, Place};
use crate::measure::wear::{self, Forecast, ForecastMethod, NoForecast, Visit};
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
    let mut visits: Vec<Visit> = case
        .job
        .earlier
        .iter()
        .filter(|(at, what, ..)| *at == corner && *what == item && !renewed)
        .map(|(_, _, odometer, thickness)| visit(*odometer, *thickness))
        .collect();
    visits.push(visit(case.odometer(), min));
    let limit = limit.ok_or("no forecast: no limit is on file")?;
    wear::forecast(&visits, limit, u).map_err(|why: NoForecast| why.to_string())
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
pub(super) fn plan_ahead(case: &Case<'_>, draft: &mut Draft, outlook: &Outlook) {
    if let Ok(forecast) = outlook {
        plan_rules(draft, forecast, case.odometer(), case.service_distance());
    }
}

/// The rules for a forecast, counted from an odometer reading.
pub(super) fn plan_rules(
    draft: &mut Draft,
    forecast: &Forecast,
    odometer: Distance,
    service: Distance,
) {
    let urgency = || Urgency::By {
        km: Some(whole_km(odometer + forecast.distance_left_lower)),
        date: None,
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
