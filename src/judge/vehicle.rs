//! Brake forces, fluid, and what the refit must confirm.

use std::collections::{BTreeMap, BTreeSet};

use super::case::Case;
use super::decide::Draft;
use super::disc::unusable;
use super::finding::{Finding, Results};
use super::{Figure, Urgency};
use crate::job::{
    Axle, Corner, Deed, Event, GateItem, InstrumentKind, Item, Part, Phase, Place, Proceeding,
    Slot, Symptom, Take, TorqueTask,
};
use crate::measure::conformity::Proof;
use crate::measure::rollers::{self, AxleForces, Counted};
use crate::spec::{FastenerSpec, FluidLimits, LimitChain, Percent, Policy, fluid_limits};
use crate::units::{Force, Temperature};

/// Forces a wheel, as the roller tester gave them.
pub(super) fn forces(take: &Take) -> BTreeMap<Corner, Force> {
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

fn locked(take: &Take, corner: Corner) -> bool {
    take.slots.contains_key(&Slot::Locked(corner))
}

/// The forces of an axle with what locked; `None` unless both wheels were measured.
fn axle_forces(take: &Take, axle: Axle) -> Option<AxleForces> {
    let forces = forces(take);
    let [left, right] = axle.corners();
    Some(AxleForces {
        left: *forces.get(&left)?,
        right: *forces.get(&right)?,
        left_locked: locked(take, left),
        right_locked: locked(take, right),
    })
}

/// Judges the difference between the wheels of an axle.
pub(super) fn imbalance(case: &Case<'_>, axle: Axle, set: &Take, phase: Phase) -> Option<Finding> {
    let place = Place::Axle(axle);
    let measured = case.taken(set, InstrumentKind::RollerTester)?;
    let forces = axle_forces(measured.take, axle)?;
    let percent = match rollers::imbalance(forces.left, forces.right, rollers::DEFAULT_FORCE_ERROR)
    {
        Ok(percent) => percent,
        Err(error) => return Some(unusable(place, Item::AxleImbalance, phase, &error)),
    };
    let facts = case.facts(Some(axle));
    let chain = case.sources(&facts).imbalance();
    let counted = counted(&forces, &chain);
    let mut draft = Draft::new(case.policy, place, Item::AxleImbalance, phase);
    draft.value(Figure::Percent(percent.value), Some(percent.u));
    draft.results(Results::Percent {
        percent: percent.value,
        u_percent: Some(percent.u),
        counted: counted == Counted::Yes,
    });
    match counted {
        Counted::TooWeak => draft.note("not counted: the larger force is too small for the rule"),
        Counted::LowerLocked => {
            draft.note("not counted: the wheel with the lower force locked on the rollers");
        }
        Counted::Yes => {
            let pulls = case.complains(Symptom::Pull, phase);
            let margin = case.policy.rollers_margin.value;
            draft.percent((percent.value, percent.u), &chain, pulls, margin);
            if draft.is_fail() && nothing_explains(case, axle, phase) {
                draft.note("nothing else found at this axle explains it: look further");
            }
        }
    }
    draft.cautions(&measured.cautions);
    Some(draft.finish())
}

/// Whether the rule that applies counts an axle's forces.
fn counted(forces: &AxleForces, chain: &LimitChain<Percent>) -> Counted {
    let Some(limit) = &chain.applied else {
        return Counted::Yes;
    };
    let counted = rollers::counted(forces, limit.exceptions.higher_effort_up_to);
    // A pack without the exception counts a locked wheel like any other.
    if counted == Counted::LowerLocked && !limit.exceptions.lower_wheel_locked {
        return rollers::counted(
            &AxleForces {
                left_locked: false,
                right_locked: false,
                ..*forces
            },
            limit.exceptions.higher_effort_up_to,
        );
    }
    counted
}

/// Whether no look at the axle's brakes found a defect.
fn nothing_explains(case: &Case<'_>, axle: Axle, phase: Phase) -> bool {
    let brake = [
        Item::Hose,
        Item::CalliperLeak,
        Item::SlidePins,
        Item::Piston,
        Item::PadsCondition,
        Item::DiscSurface,
        Item::CylinderLeak,
    ];
    axle.corners().into_iter().map(Place::Corner).all(|place| {
        brake
            .iter()
            .all(|item| case.defect_code(place, *item, phase).is_none())
    })
}

/// Judges the service or the parking brake's efficiency.
pub(super) fn efficiency(case: &Case<'_>, item: Item, set: &Take, phase: Phase) -> Option<Finding> {
    let place = Place::Vehicle;
    let measured = case.taken(set, InstrumentKind::RollerTester)?;
    let missing = |reason: String| Some(Finding::not_inspected(place, item, phase, reason));
    let mass = measured.take.slots.get(&Slot::Mass).and_then(|m| m.last());
    let Some(mass) = mass else {
        return missing("the vehicle's mass was not entered".to_owned());
    };
    // Grams fit an f64 exactly up to 9·10^12 kg.
    #[allow(clippy::cast_precision_loss)]
    let mass_kg = mass.event.entered.value as f64 / 1e3;
    let forces = forces(measured.take);
    // The parking brake need not act on every wheel; the service brake does.
    let without = case.corners().find(|corner| !forces.contains_key(corner));
    if let (Item::ServiceEfficiency, Some(corner)) = (item, without) {
        return missing(format!("no force was entered for {corner}"));
    }
    let wheels: Vec<Force> = forces.values().copied().collect();
    let percent = match rollers::efficiency(&wheels, mass_kg, rollers::DEFAULT_FORCE_ERROR) {
        Ok(percent) => percent,
        Err(error) => return Some(unusable(place, item, phase, &error)),
    };
    let facts = case.facts(None);
    let chain = match item {
        Item::ParkingEfficiency => case.sources(&facts).parking_efficiency(),
        _ => case.sources(&facts).service_efficiency(),
    };
    let met_by_locking = chain
        .applied
        .as_ref()
        .is_some_and(|limit| limit.exceptions.met_when_half_lock)
        && half_locked(measured.take, &forces);
    let mut draft = Draft::new(case.policy, place, item, phase);
    draft.value(Figure::Percent(percent.value), Some(percent.u));
    draft.results(Results::Percent {
        percent: percent.value,
        u_percent: Some(percent.u),
        counted: !met_by_locking,
    });
    if met_by_locking {
        draft.note("met: more than half of the wheels of this brake locked on the rollers");
    } else {
        let soft = case.complains(Symptom::SoftPedal, phase) && item == Item::ServiceEfficiency;
        let margin = case.policy.rollers_margin.value;
        draft.percent((percent.value, percent.u), &chain, soft, margin);
    }
    draft.cautions(&measured.cautions);
    Some(draft.finish())
}

/// Whether more than half of the wheels that were measured locked.
fn half_locked(take: &Take, forces: &BTreeMap<Corner, Force>) -> bool {
    let locked = forces
        .keys()
        .filter(|corner| locked(take, **corner))
        .count();
    2 * locked > forces.len()
}

/// Judges the fluid's boiling point against its grade, directly.
pub(super) fn fluid(case: &Case<'_>, set: &Take, phase: Phase) -> Option<Finding> {
    let place = Place::Vehicle;
    let item = Item::FluidBoiling;
    let measured = case.taken(set, InstrumentKind::FluidTester)?;
    let boiling = boiling(measured.take)?;
    let mut draft = Draft::new(case.policy, place, item, phase);
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
    let chain = case.sources(&facts).fluid_boiling();
    draft.temperature(boiling, &chain, advise_below);
    draft.cautions(&measured.cautions);
    Some(draft.finish())
}

fn boiling(take: &Take) -> Option<Temperature> {
    let reading = take.slots.get(&Slot::Value(1))?.last()?;
    Some(Temperature::from_millidegrees(reading.event.entered.value))
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

/// Torque steps of a corner that stand and were done with a wrench that may do them: in the register,
/// in calibration that day, its range covering the torque.
fn clicks<'a>(
    case: &Case<'a>,
    corner: Corner,
    torque: Option<&crate::units::Torque>,
) -> (Vec<&'a TorqueTask>, usize) {
    let done = case.job.log().filter(|(_, _, struck)| !struck);
    let tasks = done.filter_map(|(meta, event, _)| match event {
        Event::Torque(task) if task.corner == corner => Some((meta, task)),
        _ => None,
    });
    let (good, bad): (Vec<_>, Vec<_>) = tasks.partition(|(meta, task)| {
        task.proceeding == Proceeding::WheelStage
            || case.register.get(&task.instrument).is_some_and(|wrench| {
                let covers = torque.is_none_or(|torque| wrench.covers_torque(*torque));
                wrench.uncalibrated(meta.at).is_none() && covers
            })
    });
    let good = good.into_iter().map(|(_, task)| task).collect();
    (good, bad.len())
}

/// Judges the wheel's fasteners: every final click confirmed.
pub(super) fn wheel_torque(case: &Case<'_>, corner: Corner) -> Finding {
    let place = Place::Corner(corner);
    let expected = usize::from(case.sheet.wheel.fasteners);
    let torque = case.sheet.wheel.torque.as_ref().map(|torque| &torque.value);
    let (good, refused) = clicks(case, corner, torque);
    let finals: BTreeSet<u8> = good
        .iter()
        .filter(|task| task.proceeding == Proceeding::WheelFinal)
        .map(|task| task.fastener)
        .filter(|fastener| (1..=case.sheet.wheel.fasteners).contains(fastener))
        .collect();
    let confirmed = finals.len();
    if confirmed < expected {
        let more = if refused > 0 {
            ", the others by a wrench out of calibration or range"
        } else {
            ""
        };
        let reason = format!("{confirmed} of {expected} final clicks confirmed{more}");
        return Finding::not_inspected(place, Item::TorqueWheel, Phase::AsLeft, reason);
    }
    let second: Vec<_> = good
        .iter()
        .filter(|task| task.proceeding == Proceeding::WheelSecondPass)
        .collect();
    if second.is_empty() {
        let reason = "the second pass at full torque is not confirmed".to_owned();
        return Finding::not_inspected(place, Item::TorqueWheel, Phase::AsLeft, reason);
    }
    let mut draft = Draft::new(case.policy, place, Item::TorqueWheel, Phase::AsLeft);
    draft.proof(Proof::Looked);
    if torque.is_none() {
        draft.no_limit("wheel torque");
    }
    let most = case.policy.retorque_turned_deg.value;
    let turned = second
        .iter()
        .filter_map(|task| Some((task.fastener, task.turned_deg?)));
    for (fastener, degrees) in turned.filter(|(_, degrees)| u32::from(*degrees) > most) {
        draft.advise(
            format!("fastener {fastener} turned {degrees}° on the second pass, more than {most}°: look at seats and threads"),
            Urgency::Watch,
        );
    }
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
    let pins = opened
        .iter()
        .any(|part| matches!(part, Part::Calliper | Part::SlidePins))
        || case.did(corner, Deed::CleanedSlidePins);
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
        .map(|(proceeding, spec, count)| {
            let (good, _) = clicks(case, corner, Some(&spec.torque.value));
            let done = |n: &u8| {
                good.iter()
                    .any(|task| task.proceeding == *proceeding && task.fastener == *n)
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
    let mut draft = Draft::new(case.policy, place, Item::TorqueCalliper, Phase::AsLeft);
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
            let mut draft = Draft::new(case.policy, Place::Vehicle, item, Phase::AsLeft);
            draft.proof(Proof::Looked);
            if !done {
                draft.fail(format!("pedal not firm: {reason}"), true);
            }
            draft.finish()
        }
    }
}
