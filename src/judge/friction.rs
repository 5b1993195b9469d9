//! Pads, linings and drums.

use super::case::{Case, Measured};
use super::decide::Draft;
use super::disc::unusable;
use super::finding::{Finding, Results};
use super::{Figure, Urgency, wear};
use crate::job::{Axle, Corner, InstrumentKind, Item, Part, Phase, Place, Slot, Take};
use crate::measure::MeasureError;
use crate::measure::disc::wear_used;
use crate::measure::drum::{self, Drum};
use crate::measure::pad::{self, PadReadings, Pads};
use crate::spec::{FrictionSpec, LimitChain, Policy};
use crate::units::Length;

/// The evaluated pads of a set, with what speaks against a PASS by them.
pub(super) fn pads_of(case: &Case<'_>, set: &Take) -> Option<(Pads, Vec<String>)> {
    let measured = case.taken(set, InstrumentKind::PadGauge)?;
    let pads = pad::pads(&pad_readings(&measured), &measured.gauge).ok()?;
    Some((pads, measured.cautions))
}

/// The pads' readings, the gauge's zero error taken off.
pub(super) fn pad_readings(measured: &Measured<'_>) -> PadReadings {
    PadReadings {
        inner: corrected(measured, Slot::Inner),
        outer: corrected(measured, Slot::Outer),
    }
}

/// The linings' readings, the gauge's zero error taken off.
pub(super) fn lining_readings(measured: &Measured<'_>) -> Vec<Length> {
    corrected(measured, Slot::Lining)
}

/// The last reading of each slot, the gauge's zero error taken off. Nothing that was read becomes less
/// than nothing by it: a negative thickness could not be evaluated, and worn through is a finding.
fn corrected(measured: &Measured<'_>, make: fn(u16) -> Slot) -> Vec<Length> {
    let readings = measured.take.lengths(make);
    let last = readings.iter().filter_map(|r| r.last().copied());
    last.map(|reading| (reading - measured.zero_error).max(reading.min(Length::ZERO)))
        .collect()
}

/// Judges the thinnest place of both pads.
pub(super) fn pads(case: &Case<'_>, corner: Corner, set: &Take, phase: Phase) -> Option<Finding> {
    let place = Place::Corner(corner);
    let measured = case.taken(set, InstrumentKind::PadGauge)?;
    let readings = pad_readings(&measured);
    let pads = match pad::pads(&readings, &measured.gauge) {
        Ok(pads) => pads,
        Err(error) if readings.inner.is_empty() != readings.outer.is_empty() => {
            return Some(
                one_pad(case, corner, phase, &readings, &measured)
                    .unwrap_or_else(|| unusable(place, Item::PadsThickness, phase, &error)),
            );
        }
        Err(error) => return Some(unusable(place, Item::PadsThickness, phase, &error)),
    };
    let mut draft = Draft::new(case.policy, place, Item::PadsThickness, phase);
    draft.value(Figure::Length(pads.min), Some(pads.u.mm()));
    let axle = case.axle(corner.axle());
    let friction = axle.and_then(|axle| axle.pads.as_ref());
    let facts = case.facts(Some(corner.axle()));
    let chain = case.sources(&facts).pads();
    let limit = chain.applied.as_ref().map(|limit| limit.value);
    let forecast = wear::outlook(
        case,
        corner,
        Item::PadsThickness,
        phase,
        pads.min,
        pads.u,
        limit,
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
        forecast: wear::shown(&forecast),
    });
    let maker = friction.and_then(FrictionSpec::min_friction);
    pad_rules(&mut draft, (pads.min, pads.u), &chain, maker, case.policy);
    if case
        .defect_codes(place, Item::SensorWear, phase)
        .contains(&"lamp")
    {
        draft.advise("the pad-wear lamp is on", Urgency::Watch);
    }
    basis_unknown(friction, &mut draft);
    wear::plan_ahead(case, (corner, Item::PadsThickness), &mut draft, &forecast);
    cause_not_cured(case, place, phase, &mut draft);
    draft.cautions(&measured.cautions);
    Some(draft.finish())
}

/// One pad was measured and the other was not: what is too thin is too thin, the rest is not done.
fn one_pad(
    case: &Case<'_>,
    corner: Corner,
    phase: Phase,
    readings: &PadReadings,
    measured: &Measured<'_>,
) -> Option<Finding> {
    let missing = if readings.inner.is_empty() {
        "inner"
    } else {
        "outer"
    };
    let given: Vec<Length> = readings
        .inner
        .iter()
        .chain(&readings.outer)
        .copied()
        .collect();
    let pad = pad::lining(&given, &measured.gauge).ok()?;
    let mut draft = Draft::new(
        case.policy,
        Place::Corner(corner),
        Item::PadsThickness,
        phase,
    );
    draft.value(Figure::Length(pad.min), Some(pad.u.mm()));
    let facts = case.facts(Some(corner.axle()));
    let chain = case.sources(&facts).pads();
    draft.one_way(pad.min, pad.u, &chain, "minimum pad thickness");
    let friction = case.axle(corner.axle()).and_then(|axle| axle.pads.as_ref());
    let maker = friction.and_then(FrictionSpec::min_friction);
    stop_below_half(case.policy, &mut draft, maker, pad.min);
    draft.incomplete(format!("the {missing} pad was not measured"));
    Some(draft.finish())
}

/// A maker's minimum that may or may not include the backing plate can clear no pad.
fn basis_unknown(friction: Option<&FrictionSpec>, draft: &mut Draft) {
    if friction.is_some_and(|friction| friction.min.is_some() && friction.basis.is_none()) {
        draft.no_pass(
            "the sheet's minimum does not say whether it includes the backing plate, so nothing is passed by it",
        );
    }
}

/// New pads beside a pin or piston that is still seized: the next set goes the same way.
fn cause_not_cured(case: &Case<'_>, place: Place, phase: Phase, draft: &mut Draft) {
    let fitted = case.job.fitted_at(place).any(|f| f.part == Part::Pads);
    if phase != Phase::AsLeft || !fitted {
        return;
    }
    for (item, what) in [(Item::SlidePins, "slide pin"), (Item::Piston, "piston")] {
        if case.defect_codes(place, item, phase).contains(&"seized") {
            draft.fail(
                format!("new pads, but the {what} is still seized: the cause is not cured"),
                false,
            );
            draft.fix(format!("the {what} is still seized"));
        }
    }
}

/// Judges the difference between inner and outer pad.
pub(super) fn inner_outer(
    case: &Case<'_>,
    corner: Corner,
    set: &Take,
    phase: Phase,
) -> Option<Finding> {
    let place = Place::Corner(corner);
    let measured = case.taken(set, InstrumentKind::PadGauge)?;
    let readings = pad_readings(&measured);
    let pads = match pad::pads(&readings, &measured.gauge) {
        Ok(pads) => pads,
        Err(error) => return Some(unusable(place, Item::PadsInnerOuter, phase, &error)),
    };
    let difference = pads.inner_outer;
    let mut draft = Draft::new(case.policy, place, Item::PadsInnerOuter, phase);
    draft.value(Figure::Length(difference.abs()), None);
    draft.results(Results::Difference {
        difference_mm: difference.mm(),
    });
    // Where the gauge is in doubt, the doubt is said and no fault of the vehicle.
    if measured.cautions.is_empty() {
        inner_outer_rules(&mut draft, difference, case.policy);
    }
    draft.cautions(&measured.cautions);
    Some(draft.finish())
}

/// Judges the thinnest lining.
pub(super) fn linings(
    case: &Case<'_>,
    corner: Corner,
    set: &Take,
    phase: Phase,
) -> Option<Finding> {
    let place = Place::Corner(corner);
    let measured = case.taken(set, InstrumentKind::PadGauge)?;
    let readings = lining_readings(&measured);
    let linings = match pad::lining(&readings, &measured.gauge) {
        Ok(linings) => linings,
        Err(error) => return Some(unusable(place, Item::LiningsThickness, phase, &error)),
    };
    let mut draft = Draft::new(case.policy, place, Item::LiningsThickness, phase);
    draft.value(Figure::Length(linings.min), Some(linings.u.mm()));
    let friction = case
        .axle(corner.axle())
        .and_then(|axle| axle.linings.as_ref());
    let facts = case.facts(Some(corner.axle()));
    let chain = case.sources(&facts).linings();
    let limit = chain.applied.as_ref().map(|limit| limit.value);
    let forecast = wear::outlook(
        case,
        corner,
        Item::LiningsThickness,
        phase,
        linings.min,
        linings.u,
        limit,
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
        forecast: wear::shown(&forecast),
    });
    let maker = friction.and_then(FrictionSpec::min_friction);
    let thinnest = (linings.min, linings.u);
    lining_rules(&mut draft, thinnest, &chain, maker, case.policy);
    basis_unknown(friction, &mut draft);
    wear::plan_ahead(
        case,
        (corner, Item::LiningsThickness),
        &mut draft,
        &forecast,
    );
    draft.cautions(&measured.cautions);
    Some(draft.finish())
}

/// The evaluated drum of a set of readings.
pub(super) fn drum_of(measured: &Measured<'_>) -> Result<Drum, MeasureError> {
    let open = corrected(measured, Slot::Open);
    let closed = corrected(measured, Slot::Closed);
    drum::drum(&open, &closed, &measured.gauge)
}

/// Judges the drum's largest diameter.
pub(super) fn drum(case: &Case<'_>, corner: Corner, set: &Take, phase: Phase) -> Option<Finding> {
    let place = Place::Corner(corner);
    let measured = case.taken(set, InstrumentKind::DrumGauge)?;
    let drum = match drum_of(&measured) {
        Ok(drum) => drum,
        Err(error) => return Some(unusable(place, Item::DrumDiameter, phase, &error)),
    };
    let mut draft = Draft::new(case.policy, place, Item::DrumDiameter, phase);
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
    // A difference with one gauge loses the systematic parts: √2·√(s² + d²/12).
    let u = Length::from_mm(2f64.sqrt() * measured.gauge.noise_mm()).unwrap_or(drum.u);
    draft.second_figure(
        "ovality",
        drum.ovality,
        u,
        &case.sources(&facts).drum_ovality(),
    );
    draft.cautions(&measured.cautions);
    Some(draft.finish())
}

/// Judges left against right: the thinnest pads, or the thinnest discs, of an axle.
pub(super) fn left_right(
    case: &Case<'_>,
    axle: Axle,
    item: Item,
    phase: Phase,
    thinnest: impl Fn(Corner) -> Option<(Length, Vec<String>)>,
) -> Option<Finding> {
    let [left, right] = axle.corners();
    let ((left, cautions), (right, others)) = (thinnest(left)?, thinnest(right)?);
    let difference = left - right;
    let mut draft = Draft::new(case.policy, Place::Axle(axle), item, phase);
    draft.value(Figure::Length(difference.abs()), None);
    draft.results(Results::Difference {
        difference_mm: difference.mm(),
    });
    let allowed = match item {
        Item::AxlePadDifference => case.policy.pads_left_right.value,
        _ => case.policy.disc_left_right.value,
    };
    let both: std::collections::BTreeSet<String> = cautions.into_iter().chain(others).collect();
    // Where a gauge is in doubt, the doubt is said and no fault of the vehicle.
    if both.is_empty() && difference.abs() > allowed {
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
    draft.cautions(&both.into_iter().collect::<Vec<_>>());
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
        && min < limit
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
