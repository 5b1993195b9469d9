//! Whether a disc outlasts new pads: both distances, from both rates.

use crate::job::{Corner, Item, Phase, Place};
use crate::judge::{Case, Figure, Finding, ForecastResults, Judgement, Results};
use crate::measure::wear::{self, Visit};
use crate::units::{Distance, Length, LengthUnit};

/// Whole kilometres, downwards.
#[must_use]
pub const fn whole_km(distance: Distance) -> i64 {
    distance.mm().div_euclid(1_000_000)
}

/// What to say when the disc of a corner would give out before new pads do; `None` when it lasts,
/// or when nothing is known and enough is left.
///
/// Formula: pads `(new − limit)/rate` of the old pads; disc: the lower bound of its own forecast.
/// Without a rate of the disc, less than the policy's planning figure left counts as too little.
#[must_use]
pub(super) fn disc_gives_out_first(
    case: &Case<'_>,
    judgement: &Judgement,
    corner: Corner,
) -> Option<String> {
    let place = Place::Corner(corner);
    let find = |item| {
        judgement
            .standing(Phase::AsFound)
            .find(|f| f.place == place && f.item == item)
    };
    let disc = find(Item::DiscThickness)?;
    let (Some(Figure::Length(value)), Some(Figure::Length(limit))) = (disc.value, disc.limit)
    else {
        return None;
    };
    let left = value - limit;
    // Rounded down: what is left is never shown as more than it is.
    let down = Length::from_nm(left.nm().div_euclid(1_000).saturating_mul(1_000));
    let shown = format!("{} mm", down.rounded(LengthUnit::Millimetre, 3));
    let pads = find(Item::PadsThickness).and_then(|f| pad_life_km(case, corner, f));
    match (disc_life_km(case, corner, value, limit, disc.u), pads) {
        (Some(disc_km), Some(pads_km)) if disc_km < pads_km => Some(format!(
            "{corner}: the disc may reach its limit in {disc_km} km, new pads last about {pads_km} km: new pads would outlive it"
        )),
        (Some(_), Some(_)) => None,
        (disc_km, pads_km) if left < case.policy.disc_left_advise.value => {
            let distance = |km: Option<i64>| {
                km.map_or_else(|| "no distance known".to_owned(), |km| format!("{km} km"))
            };
            Some(format!(
                "{corner}: {shown} is left on the disc ({}); new pads would outlive it ({})",
                distance(disc_km),
                distance(pads_km)
            ))
        }
        _ => None,
    }
}

/// How far new pads would go at the rate of the old ones.
fn pad_life_km(case: &Case<'_>, corner: Corner, pads: &Finding) -> Option<i64> {
    let Some(Results::Friction {
        forecast: ForecastResults::Known {
            rate_mm_per_1000km, ..
        },
        ..
    }) = &pads.results
    else {
        return None;
    };
    let new = case.axle(corner.axle())?.pads.as_ref()?.new_friction()?;
    let Some(Figure::Length(limit)) = pads.limit else {
        return None;
    };
    let km = (new - limit).mm() / rate_mm_per_1000km * 1e3;
    Distance::from_km(km.max(0.0)).map(whole_km)
}

/// The lower bound of the disc's own forecast, where earlier visits give a rate.
fn disc_life_km(
    case: &Case<'_>,
    corner: Corner,
    value: Length,
    limit: Length,
    u: Option<f64>,
) -> Option<i64> {
    let visit = |odometer, thickness| Visit {
        odometer,
        thickness,
        u: None,
        new_parts: false,
    };
    let mut visits: Vec<Visit> = case
        .job
        .earlier
        .iter()
        .filter(|(c, item, ..)| *c == corner && *item == Item::DiscThickness)
        .map(|(_, _, odometer, thickness)| visit(*odometer, *thickness))
        .collect();
    visits.push(visit(case.job.opening.as_ref()?.odometer, value));
    let u = Length::from_mm(u?)?;
    let level = case.policy.forecast_confidence.value.share();
    let pace = case.policy.forecast_pace.value.share();
    let forecast = wear::forecast_at(&visits, limit, u, level).ok()?;
    let forecast = forecast.at_another_pace(pace);
    Some(whole_km(forecast.distance_left_lower))
}
