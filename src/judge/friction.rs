//! Pads, linings and drums.

use super::case::Case;
use super::decide::Draft;
use super::disc::unusable;
use super::finding::{Finding, ForecastResults, Results};
use super::{Figure, Urgency};
use crate::job::{Axle, Corner, InstrumentKind, Item, Phase, Place, Slot};
use crate::measure::disc::wear_used;
use crate::measure::drum;
use crate::measure::pad::{self, PadReadings, Pads};
use crate::measure::wear::{self, Forecast, ForecastMethod, NoForecast, Visit};
use crate::spec::{FrictionSpec, LimitChain, Policy};
use crate::units::{Distance, Length};

/// The evaluated pads of a corner.
pub(super) fn pads_of(case: &Case<'_>, corner: Corner, data: Phase) -> Option<Pads> {
    let place = Place::Corner(corner);
    let measured = case.measured(place, Item::PadsThickness, data, InstrumentKind::PadGauge)?;
    let readings = pad_readings(measured.take);
    pad::pads(&readings, &measured.gauge).ok()
}

fn pad_readings(take: &crate::job::Take) -> PadReadings {
    let last = |rs: Vec<Vec<Length>>| rs.iter().filter_map(|r| r.last().copied()).collect();
    PadReadings {
        inner: last(take.lengths(Slot::Inner)),
        outer: last(take.lengths(Slot::Outer)),
    }
}

/// Judges the thinnest place of both pads.
pub(super) fn pads(case: &Case<'_>, corner: Corner, data: Phase, phase: Phase) -> Option<Finding> {
    let place = Place::Corner(corner);
    let measured = case.measured(place, Item::PadsThickness, data, InstrumentKind::PadGauge)?;
    let pads = match pad::pads(&pad_readings(measured.take), &measured.gauge) {
        Ok(pads) => pads,
        Err(error) => return Some(unusable(place, Item::PadsThickness, phase, &error)),
    };
    let mut draft = Draft::new(place, Item::PadsThickness, phase);
    draft.value(Figure::Length(pads.min), Some(pads.u.mm()));
    let axle = case.axle(corner.axle());
    let friction = axle.and_then(|axle| axle.pads.as_ref());
    let facts = case.facts(Some(corner.axle()));
    let chain = case.sources(&facts).pads();
    let forecast = forecast(
        case,
        corner,
        Item::PadsThickness,
        phase,
        pads.min,
        pads.u,
        &chain,
    );
    draft.results(Results::Friction {
        min_mm: pads.min.mm(),
        left_mm: chain
            .applied
            .as_ref()
            .map(|limit| (pads.min - limit.value).mm()),
        taper_mm: pads.taper.map(Length::mm),
        inner_outer_mm: Some(pads.inner_outer.mm()),
        wear_fraction: used(friction, &chain, pads.min),
        u_um: pads.u.um(),
        forecast: shown(&forecast),
    });
    let maker = friction.and_then(FrictionSpec::min_friction);
    pad_rules(&mut draft, (pads.min, pads.u), &chain, maker, case.policy);
    plan_ahead(case, &mut draft, &forecast);
    draft.cautions(&measured.cautions);
    Some(draft.finish())
}

/// Judges the difference between inner and outer pad.
pub(super) fn inner_outer(
    case: &Case<'_>,
    corner: Corner,
    data: Phase,
    phase: Phase,
) -> Option<Finding> {
    let place = Place::Corner(corner);
    let pads = pads_of(case, corner, data)?;
    let difference = pads.inner_outer;
    let mut draft = Draft::new(place, Item::PadsInnerOuter, phase);
    draft.value(Figure::Length(difference.abs()), None);
    draft.results(Results::Difference {
        difference_mm: difference.mm(),
    });
    inner_outer_rules(&mut draft, difference, case.policy);
    Some(draft.finish())
}

/// Judges the thinnest lining.
pub(super) fn linings(
    case: &Case<'_>,
    corner: Corner,
    data: Phase,
    phase: Phase,
) -> Option<Finding> {
    let place = Place::Corner(corner);
    let measured = case.measured(
        place,
        Item::LiningsThickness,
        data,
        InstrumentKind::PadGauge,
    )?;
    let readings: Vec<Length> = measured
        .take
        .lengths(Slot::Lining)
        .iter()
        .filter_map(|r| r.last().copied())
        .collect();
    let linings = match pad::lining(&readings, &measured.gauge) {
        Ok(linings) => linings,
        Err(error) => return Some(unusable(place, Item::LiningsThickness, phase, &error)),
    };
    let mut draft = Draft::new(place, Item::LiningsThickness, phase);
    draft.value(Figure::Length(linings.min), Some(linings.u.mm()));
    let friction = case
        .axle(corner.axle())
        .and_then(|axle| axle.linings.as_ref());
    let facts = case.facts(Some(corner.axle()));
    let chain = case.sources(&facts).linings();
    let forecast = forecast(
        case,
        corner,
        Item::LiningsThickness,
        phase,
        linings.min,
        linings.u,
        &chain,
    );
    draft.results(Results::Friction {
        min_mm: linings.min.mm(),
        left_mm: chain
            .applied
            .as_ref()
            .map(|limit| (linings.min - limit.value).mm()),
        taper_mm: None,
        inner_outer_mm: None,
        wear_fraction: used(friction, &chain, linings.min),
        u_um: linings.u.um(),
        forecast: shown(&forecast),
    });
    let maker = friction.and_then(FrictionSpec::min_friction);
    lining_rules(
        &mut draft,
        (linings.min, linings.u),
        &chain,
        maker,
        case.policy,
    );
    plan_ahead(case, &mut draft, &forecast);
    draft.cautions(&measured.cautions);
    Some(draft.finish())
}

/// Judges the drum's largest diameter.
pub(super) fn drum(case: &Case<'_>, corner: Corner, data: Phase, phase: Phase) -> Option<Finding> {
    let place = Place::Corner(corner);
    let measured = case.measured(place, Item::DrumDiameter, data, InstrumentKind::DrumGauge)?;
    let end = |make: fn(u16) -> Slot| -> Vec<Length> {
        measured
            .take
            .lengths(make)
            .iter()
            .filter_map(|r| r.last().copied())
            .collect()
    };
    let corrected = |readings: Vec<Length>| -> Vec<Length> {
        readings
            .into_iter()
            .map(|reading| reading - measured.zero_error)
            .collect()
    };
    let (open, closed) = (corrected(end(Slot::Open)), corrected(end(Slot::Closed)));
    let drum = match drum::drum(&open, &closed, &measured.gauge) {
        Ok(drum) => drum,
        Err(error) => return Some(unusable(place, Item::DrumDiameter, phase, &error)),
    };
    let mut draft = Draft::new(place, Item::DrumDiameter, phase);
    draft.value(Figure::Length(drum.max), Some(drum.u.mm()));
    let facts = case.facts(Some(corner.axle()));
    let chain = case
        .sources(&facts)
        .drum_diameter(case.job.cast_mark(corner));
    draft.results(Results::Drum {
        max_mm: drum.max.mm(),
        ovality_mm: drum.ovality.mm(),
        bell_mouth_mm: drum.bell_mouth.map(Length::mm),
        left_mm: chain
            .applied
            .as_ref()
            .map(|limit| (limit.value - drum.max).mm()),
        u_um: drum.u.um(),
    });
    draft.one_way(drum.max, drum.u, &chain, "maximum drum diameter");
    draft.cautions(&measured.cautions);
    Some(draft.finish())
}

/// Judges left against right: the thinnest pads, or the thinnest discs, of an axle.
pub(super) fn left_right(
    case: &Case<'_>,
    axle: Axle,
    item: Item,
    phase: Phase,
    thinnest: impl Fn(Corner) -> Option<Length>,
) -> Option<Finding> {
    let [left, right] = axle.corners();
    let (left, right) = (thinnest(left)?, thinnest(right)?);
    let difference = left - right;
    let mut draft = Draft::new(Place::Axle(axle), item, phase);
    draft.value(Figure::Length(difference.abs()), None);
    draft.results(Results::Difference {
        difference_mm: difference.mm(),
    });
    let allowed = match item {
        Item::AxlePadDifference => case.policy.pads_left_right.value,
        _ => case.policy.disc_left_right.value,
    };
    if difference.abs() > allowed {
        let thinner = if difference < Length::ZERO {
            "left"
        } else {
            "right"
        };
        draft.advise(
            format!("the {thinner} side is more than {allowed} thinner"),
            Urgency::Watch,
        );
    }
    Some(draft.finish())
}

fn used(friction: Option<&FrictionSpec>, chain: &LimitChain<Length>, min: Length) -> Option<f64> {
    let new = friction.and_then(FrictionSpec::new_friction)?;
    let limit = chain.applied.as_ref()?.value;
    wear_used(new, limit, min)
        .ok()
        .map(|wear| wear.wear_fraction)
}

/// The rules for the thinnest pad.
pub(super) fn pad_rules(
    draft: &mut Draft,
    (min, u): (Length, Length),
    chain: &LimitChain<Length>,
    maker: Option<Length>,
    policy: &Policy,
) {
    draft.one_way(min, u, chain, "minimum pad thickness");
    stop_below_half(policy, draft, maker, min);
    let plan = policy.pads_plan.value;
    if min <= plan {
        draft.advise(
            format!("at or below {plan}, where a change is planned"),
            Urgency::Watch,
        );
    }
}

/// The rules for the thinnest lining.
pub(super) fn lining_rules(
    draft: &mut Draft,
    (min, u): (Length, Length),
    chain: &LimitChain<Length>,
    maker: Option<Length>,
    policy: &Policy,
) {
    draft.one_way(min, u, chain, "minimum lining thickness");
    stop_below_half(policy, draft, maker, min);
    let margin = policy.linings_margin.value;
    if chain
        .applied
        .as_ref()
        .is_some_and(|limit| min <= limit.value + margin)
    {
        draft.advise(
            format!("{margin} or less is left above the limit"),
            Urgency::Watch,
        );
    }
}

/// The rule for inner minus outer pad.
pub(super) fn inner_outer_rules(draft: &mut Draft, difference: Length, policy: &Policy) {
    let allowed = policy.pads_inner_outer.value;
    if difference.abs() > allowed {
        let thinner = if difference < Length::ZERO {
            "inner"
        } else {
            "outer"
        };
        draft.advise(
            format!("the {thinner} pad is more than {allowed} thinner than the other"),
            Urgency::Watch,
        );
    }
}

/// Friction below half of the maker's minimum is not to be driven.
fn stop_below_half(policy: &Policy, draft: &mut Draft, maker: Option<Length>, min: Length) {
    let share = policy.friction_stop.value;
    if let Some(limit) = maker
        && i128::from(min.nm()) * 100_000 < i128::from(limit.nm()) * i128::from(share.thousandths())
    {
        draft.fail(
            format!(
                "less than {} % of the maker's minimum is left",
                share.percent()
            ),
            true,
        );
    }
}

/// A forecast, or why there is none.
type Outlook = Result<Forecast, String>;

const fn visit(odometer: Distance, thickness: Length) -> Visit {
    Visit {
        odometer,
        thickness,
        u: None,
        new_parts: false,
    }
}

fn forecast(
    case: &Case<'_>,
    corner: Corner,
    item: Item,
    phase: Phase,
    min: Length,
    u: Length,
    chain: &LimitChain<Length>,
) -> Outlook {
    let fitted = phase == Phase::AsLeft
        && case
            .job
            .fitted_at(Place::Corner(corner))
            .any(|f| super::voids(f.part, item));
    let mut visits: Vec<Visit> = case
        .job
        .earlier
        .iter()
        .filter(|(c, i, ..)| *c == corner && *i == item && !fitted)
        .map(|(_, _, odometer, thickness)| visit(*odometer, *thickness))
        .collect();
    let odometer = case
        .job
        .opening
        .as_ref()
        .map_or(Distance::ZERO, |o| o.odometer);
    visits.push(visit(odometer, min));
    let limit = chain
        .applied
        .as_ref()
        .ok_or("no forecast: no limit is on file")?
        .value;
    wear::forecast(&visits, limit, u).map_err(|why: NoForecast| why.to_string())
}

fn shown(outlook: &Outlook) -> ForecastResults {
    match outlook {
        Ok(forecast) => ForecastResults::Known {
            rate_mm_per_1000km: forecast.rate_mm_per_1000km,
            distance_left_km: whole_km(forecast.distance_left),
            distance_left_lower_km: whole_km(forecast.distance_left_lower),
            method: method_words(forecast.method).to_owned(),
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
fn plan_ahead(case: &Case<'_>, draft: &mut Draft, outlook: &Outlook) {
    let Ok(forecast) = outlook else { return };
    let odometer = case
        .job
        .opening
        .as_ref()
        .map_or(Distance::ZERO, |o| o.odometer);
    let service = case.sheet.service.distance.as_ref().map(|d| d.value);
    plan_rules(draft, forecast, odometer, service);
}

/// The rules for a forecast, counted from an odometer reading.
pub(super) fn plan_rules(
    draft: &mut Draft,
    forecast: &Forecast,
    odometer: Distance,
    service: Option<Distance>,
) {
    let until = whole_km(odometer + forecast.distance_left_lower);
    let urgency = Urgency::By {
        km: Some(until),
        date: None,
    };
    if service.is_some_and(|service| forecast.distance_left_lower < service) {
        draft.advise(
            format!(
                "may reach its limit in {} km, before the next service",
                whole_km(forecast.distance_left_lower)
            ),
            urgency,
        );
    } else {
        draft.sharpen(urgency);
    }
}
