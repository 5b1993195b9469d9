//! Brake forces, fluid, and what the refit must confirm.

use std::collections::BTreeMap;

use super::Figure;
use super::case::Case;
use super::decide::Draft;
use super::disc::unusable;
use super::finding::{Finding, Results};
use crate::job::{
    Axle, Corner, GateItem, InstrumentKind, Item, Part, Phase, Place, Proceeding, Slot, Take,
};
use crate::measure::conformity::Proof;
use crate::measure::rollers;
use crate::spec::{FastenerSpec, FluidLimits, Policy, fluid_limits};
use crate::units::{Force, Temperature};

/// Forces a wheel, as the roller tester gave them.
fn forces(take: &Take) -> BTreeMap<Corner, Force> {
    take.slots
        .iter()
        .filter_map(|(slot, readings)| match slot {
            Slot::At(corner) => {
                let force = Force::from_mn(readings.last()?.event.entered.value);
                Some((*corner, force))
            }
            _ => None,
        })
        .collect()
}

/// Judges the difference between the wheels of an axle.
pub(super) fn imbalance(case: &Case<'_>, axle: Axle, data: Phase, phase: Phase) -> Option<Finding> {
    let place = Place::Axle(axle);
    let measured = case.measured(
        Place::Vehicle,
        Item::ServiceEfficiency,
        data,
        InstrumentKind::RollerTester,
    )?;
    let forces = forces(measured.take);
    let [left, right] = axle.corners();
    let (left, right) = (*forces.get(&left)?, *forces.get(&right)?);
    let percent = match rollers::imbalance(left, right, rollers::DEFAULT_FORCE_ERROR) {
        Ok(percent) => percent,
        Err(error) => return Some(unusable(place, Item::AxleImbalance, phase, &error)),
    };
    let facts = case.facts(Some(axle));
    let chain = case.sources(&facts).imbalance();
    let too_weak = chain
        .applied
        .as_ref()
        .and_then(|limit| limit.exceptions.higher_effort_up_to)
        .is_some_and(|least| left.max(right) <= least);
    let mut draft = Draft::new(place, Item::AxleImbalance, phase);
    draft.value(Figure::Percent(percent.value), Some(percent.u));
    draft.results(Results::Percent {
        percent: percent.value,
        u_percent: Some(percent.u),
        counted: !too_weak,
    });
    if too_weak {
        draft.note("not counted: the larger force is too small for the rule");
    } else {
        draft.percent(percent.value, &chain, case.policy.rollers_margin.value);
    }
    draft.cautions(&measured.cautions);
    Some(draft.finish())
}

/// Judges the service or the parking brake's efficiency.
pub(super) fn efficiency(
    case: &Case<'_>,
    item: Item,
    data: Phase,
    phase: Phase,
) -> Option<Finding> {
    let place = Place::Vehicle;
    let measured = case.measured(place, item, data, InstrumentKind::RollerTester)?;
    let mass = measured.take.slots.get(&Slot::Mass).and_then(|m| m.last());
    let Some(mass) = mass else {
        let reason = "the vehicle's mass was not entered".to_owned();
        return Some(Finding::not_inspected(place, item, phase, reason));
    };
    // Grams fit an f64 exactly up to 9·10^12 kg.
    #[allow(clippy::cast_precision_loss)]
    let mass_kg = mass.event.entered.value as f64 / 1e3;
    let forces: Vec<Force> = forces(measured.take).into_values().collect();
    let percent = match rollers::efficiency(&forces, mass_kg, rollers::DEFAULT_FORCE_ERROR) {
        Ok(percent) => percent,
        Err(error) => return Some(unusable(place, item, phase, &error)),
    };
    let facts = case.facts(None);
    let chain = match item {
        Item::ParkingEfficiency => case.sources(&facts).parking_efficiency(),
        _ => case.sources(&facts).service_efficiency(),
    };
    let mut draft = Draft::new(place, item, phase);
    draft.value(Figure::Percent(percent.value), Some(percent.u));
    draft.results(Results::Percent {
        percent: percent.value,
        u_percent: Some(percent.u),
        counted: true,
    });
    draft.percent(percent.value, &chain, case.policy.rollers_margin.value);
    draft.cautions(&measured.cautions);
    Some(draft.finish())
}

/// Judges the fluid's boiling point against its grade, directly.
pub(super) fn fluid(case: &Case<'_>, data: Phase, phase: Phase) -> Option<Finding> {
    let place = Place::Vehicle;
    let item = Item::FluidBoiling;
    let measured = case.measured(place, item, data, InstrumentKind::FluidTester)?;
    let reading = measured
        .take
        .slots
        .get(&Slot::Value(1))
        .and_then(|r| r.last())?;
    let boiling = Temperature::from_millidegrees(reading.event.entered.value);
    let mut draft = Draft::new(place, item, phase);
    draft.value(Figure::Temperature(boiling), None);
    let facts = case.facts(None);
    let limits = facts
        .fluid_grade
        .as_deref()
        .and_then(|grade| fluid_limits(case.packs, grade));
    let advise_below = limits
        .as_ref()
        .map(|limits| fluid_watch(limits, case.policy));
    if let Some(limits) = &limits {
        draft.results(Results::Fluid {
            boiling_c: boiling.celsius(),
            dry_min_c: limits.dry.value.celsius(),
            wet_min_c: limits.wet.value.celsius(),
        });
    }
    draft.temperature(boiling, &case.sources(&facts).fluid_boiling(), advise_below);
    draft.cautions(&measured.cautions);
    Some(draft.finish())
}

/// The boiling point below which fluid is an advice: a share of the way from wet to dry minimum.
pub(super) fn fluid_watch(limits: &FluidLimits, policy: &Policy) -> Temperature {
    let (wet, dry) = (
        limits.wet.value.millidegrees(),
        limits.dry.value.millidegrees(),
    );
    let share = policy.fluid_advise.value.thousandths();
    Temperature::from_millidegrees(wet + (dry - wet) * share / 100_000)
}

/// Judges the wheel's fasteners: every final click confirmed.
pub(super) fn wheel_torque(case: &Case<'_>, corner: Corner) -> Finding {
    let place = Place::Corner(corner);
    let expected = usize::from(case.sheet.wheel.fasteners);
    let clicks = case.job.wheels.get(&corner);
    let confirmed = clicks.map_or(0, |wheel| wheel.finals.len());
    if confirmed < expected {
        let reason = format!("{confirmed} of {expected} final clicks confirmed");
        return Finding::not_inspected(place, Item::TorqueWheel, Phase::AsLeft, reason);
    }
    if clicks.is_none_or(|wheel| wheel.second_pass.is_none()) {
        let reason = "the second pass at full torque is not confirmed".to_owned();
        return Finding::not_inspected(place, Item::TorqueWheel, Phase::AsLeft, reason);
    }
    let mut draft = Draft::new(place, Item::TorqueWheel, Phase::AsLeft);
    draft.proof(Proof::Looked);
    draft.results(Results::Fasteners {
        confirmed,
        expected,
    });
    draft.finish()
}

/// The calliper fasteners a corner's work loosened: which, and how many of each are confirmed.
#[must_use]
pub fn calliper_fasteners(case: &Case<'_>, corner: Corner) -> Vec<(Proceeding, FastenerSpec, u8)> {
    let opened = case.job.fitted_at(Place::Corner(corner)).map(|f| f.part);
    let opened: Vec<Part> = opened.collect();
    let carrier = opened.contains(&Part::Disc) || case.job.reclocked(corner);
    let pins = opened.iter().any(|part| matches!(part, Part::Calliper));
    let union = opened.iter().any(|part| matches!(part, Part::Hose));
    let Some(spec) = case
        .axle(corner.axle())
        .and_then(|axle| axle.calliper.as_ref())
    else {
        return Vec::new();
    };
    // A carrier has two bolts, a calliper two slide pins, a hose one union (common practice).
    let wanted = [
        (carrier, Proceeding::CalliperCarrier, &spec.carrier, 2),
        (pins, Proceeding::SlidePin, &spec.slide_pin, 2),
        (union, Proceeding::HoseUnion, &spec.hose_union, 1),
    ];
    wanted
        .into_iter()
        .filter(|(needed, ..)| *needed)
        .filter_map(|(_, proceeding, spec, count)| Some((proceeding, spec.clone()?, count)))
        .collect()
}

/// Judges the calliper fasteners that were undone; `None` when none were.
pub(super) fn calliper_torque(case: &Case<'_>, corner: Corner) -> Option<Finding> {
    let place = Place::Corner(corner);
    let wanted = calliper_fasteners(case, corner);
    let expected: usize = wanted.iter().map(|(_, _, count)| usize::from(*count)).sum();
    if expected == 0 {
        return None;
    }
    let confirmed = wanted
        .iter()
        .map(|(proceeding, _, count)| {
            let done = |n: &u8| {
                case.job
                    .callipers
                    .iter()
                    .any(|(c, p, f, _)| *c == corner && p == proceeding && f == n)
            };
            (1..=*count).filter(done).count()
        })
        .sum::<usize>();
    if confirmed < expected {
        let reason = format!("{confirmed} of {expected} calliper fasteners confirmed");
        return Some(Finding::not_inspected(
            place,
            Item::TorqueCalliper,
            Phase::AsLeft,
            reason,
        ));
    }
    let mut draft = Draft::new(place, Item::TorqueCalliper, Phase::AsLeft);
    draft.proof(Proof::Looked);
    draft.results(Results::Fasteners {
        confirmed,
        expected,
    });
    Some(draft.finish())
}

/// Judges the pedal before the vehicle moves.
pub(super) fn pedal(case: &Case<'_>) -> Finding {
    let item = Item::PedalFirm;
    match case.job.gates.get(&GateItem::PedalFirm) {
        None => Finding::not_inspected(
            Place::Vehicle,
            item,
            Phase::AsLeft,
            "not yet pumped and felt".to_owned(),
        ),
        Some((done, reason)) => {
            let mut draft = Draft::new(Place::Vehicle, item, Phase::AsLeft);
            draft.proof(Proof::Looked);
            if !done {
                draft.fail(format!("pedal not firm: {reason}"), true);
            }
            draft.finish()
        }
    }
}
