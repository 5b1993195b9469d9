//! Brake forces, fluid, and what the refit must confirm.

use std::collections::{BTreeMap, BTreeSet};

use super::case::Case;
use super::decide::Draft;
use super::disc::unusable;
use super::finding::{Finding, Results};
use super::{Figure, Urgency, look};
use crate::job::{
    Axle, Corner, Deed, Event, GateItem, Instrument, InstrumentKind, Item, Part, Phase, Place,
    Proceeding, Slot, Take, TorqueTask,
};
use crate::measure::MeasureError;
use crate::measure::conformity::Proof;
use crate::measure::rollers::{self, AxleForces, Counted, Idle};
use crate::spec::{
    FastenerSpec, FluidLimits, LimitChain, Percent, Policy, RulePack, VehicleFacts, fluid_limits,
};
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

/// The forces of an axle with what locked; the wheel whose force was not entered when one is missing.
fn axle_forces(take: &Take, axle: Axle) -> Result<AxleForces, Corner> {
    let forces = forces(take);
    let [left, right] = axle.corners();
    let force = |corner: Corner| forces.get(&corner).copied().ok_or(corner);
    Ok(AxleForces {
        left: force(left)?,
        right: force(right)?,
        left_locked: locked(take, left),
        right_locked: locked(take, right),
    })
}

fn not_entered(corner: Corner) -> String {
    format!("no force was entered for {corner}")
}

/// What a set of forces is good to: the tester's registered share, else the program's own.
pub(super) fn force_error(case: &Case<'_>, take: &Take) -> f64 {
    let readings = take.readings();
    let mut named = readings.filter_map(|reading| reading.event.instrument.as_deref());
    let tester = named.next().and_then(|id| case.register.get(id));
    tester
        .and_then(Instrument::error_share)
        .unwrap_or(rollers::DEFAULT_FORCE_ERROR)
}

/// What brake forces are judged by.
pub(super) struct Statute<'a> {
    /// The limits that apply.
    pub(super) chain: &'a LimitChain<Percent>,
    /// The rule packs.
    pub(super) packs: &'a [RulePack],
    /// What is known of the vehicle and the axle.
    pub(super) facts: &'a VehicleFacts,
}

/// Judges the difference between the wheels of an axle.
pub(super) fn imbalance(case: &Case<'_>, axle: Axle, set: &Take, phase: Phase) -> Option<Finding> {
    let place = Place::Axle(axle);
    let item = Item::AxleImbalance;
    let measured = case.taken(set, InstrumentKind::RollerTester)?;
    let forces = match axle_forces(measured.take, axle) {
        Ok(forces) => forces,
        Err(corner) => {
            let reason = not_entered(corner);
            return Some(Finding::not_inspected(place, item, phase, reason));
        }
    };
    let error = force_error(case, measured.take);
    let facts = case.facts(Some(axle));
    let statute = Statute {
        chain: &case.sources(&facts).imbalance(),
        packs: case.packs,
        facts: &facts,
    };
    let mut draft = Draft::new(case.policy, place, item, phase);
    if let Err(why) = imbalance_rules(&mut draft, axle, (&forces, error), &statute) {
        return Some(unusable(place, item, phase, &why));
    }
    if draft.is_fail() && nothing_explains(case, axle, phase) {
        draft.note("nothing else found at this axle explains it: look further");
    }
    draft.cautions(&measured.cautions);
    Some(draft.finish())
}

/// The rules for the forces of an axle: what counts is compared with the limit, and a wheel that does
/// not brake fails whether it counts or not.
pub(super) fn imbalance_rules(
    draft: &mut Draft,
    axle: Axle,
    (forces, error): (&AxleForces, f64),
    statute: &Statute<'_>,
) -> Result<Counted, MeasureError> {
    let light = statute.chain.applied.as_ref();
    let light = light.and_then(|limit| limit.exceptions.higher_effort_up_to);
    let idle = rollers::idle(forces, light);
    let percent = match rollers::imbalance(forces.left, forces.right, error) {
        Ok(percent) => percent,
        // Two wheels without any force have no imbalance, and still do not brake.
        Err(_) if idle == [Some(Idle::Nothing); 2] => {
            idle_rules(draft, axle, idle, NO_EFFORT, statute);
            return Ok(Counted::Yes);
        }
        Err(why) => return Err(why),
    };
    let counted = counted(forces, percent, statute.chain);
    draft.value(Figure::Percent(percent.value), Some(percent.u));
    draft.results(Results::Percent {
        percent: percent.value,
        u_percent: Some(percent.u),
        counted: counted == Counted::Yes,
    });
    match counted {
        Counted::TooWeak => {
            draft.not_counted(statute.chain, "the larger force is too small for the rule")
        }
        Counted::LowerLocked => draft.not_counted(
            statute.chain,
            "the wheel with the lower force locked on the rollers",
        ),
        Counted::Yes => draft.percent((percent.value, percent.u), statute.chain),
    }
    idle_rules(draft, axle, idle, NO_EFFORT, statute);
    Ok(counted)
}

/// Code of a wheel that does not brake, in the rows of a rule pack about [`Item::AxleImbalance`].
const NO_EFFORT: (Item, &str) = (Item::AxleImbalance, "no_effort");
/// Code of a parking brake that acts on one wheel of an axle, about [`Item::ParkingEfficiency`].
const ONE_SIDED: (Item, &str) = (Item::ParkingEfficiency, "one_sided");

/// A wheel that does not brake: FAIL and not to be driven, by the pack's row where it has one, else by
/// this project's own rule.
fn idle_rules(
    draft: &mut Draft,
    axle: Axle,
    idle: [Option<Idle>; 2],
    (item, code): (Item, &str),
    statute: &Statute<'_>,
) {
    let [left, right] = axle.corners();
    let mut any = false;
    for (corner, mate, idle) in [(left, right, idle[0]), (right, left, idle[1])] {
        let what = match idle {
            None => continue,
            Some(Idle::Nothing) => format!("{corner} does not brake: it showed no force"),
            Some(Idle::Little) => {
                format!("{corner} hardly brakes: it showed less than a fifth of {mate}'s force")
            }
        };
        draft.fail(what, true);
        any = true;
    }
    if any && let Some((pack, rule)) = look::gravest(statute.packs, item, code, statute.facts) {
        let source = look::rule_source(pack, rule);
        draft.note(format!("{source}: {}", rule.sentence));
    }
}

/// Whether the rule that applies counts an axle's forces. What lies inside the limit needs no
/// exception from it.
fn counted(forces: &AxleForces, percent: rollers::Percent, chain: &LimitChain<Percent>) -> Counted {
    let Some(limit) = &chain.applied else {
        return Counted::Yes;
    };
    if Percent::from_percent(percent.value).is_some_and(|value| limit.permits(value)) {
        return Counted::Yes;
    }
    // A pack without the exception counts a locked wheel like any other.
    let except = limit.exceptions.lower_wheel_locked;
    let seen = AxleForces {
        left_locked: forces.left_locked && except,
        right_locked: forces.right_locked && except,
        ..*forces
    };
    rollers::counted(&seen, limit.exceptions.higher_effort_up_to)
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
    let error = force_error(case, measured.take);
    // The parking brake need not act on every axle; the service brake does.
    let without = match item {
        Item::ParkingEfficiency => half_entered(&forces),
        _ => case.corners().find(|corner| !forces.contains_key(corner)),
    };
    if let Some(corner) = without {
        return missing(not_entered(corner));
    }
    let wheels: Vec<Force> = forces.values().copied().collect();
    let percent = match rollers::efficiency(&wheels, mass_kg, error) {
        Ok(percent) => percent,
        Err(error) => return Some(unusable(place, item, phase, &error)),
    };
    let facts = case.facts(None);
    let chain = match item {
        Item::ParkingEfficiency => case.sources(&facts).parking_efficiency(),
        _ => case.sources(&facts).service_efficiency(),
    };
    let axles: BTreeMap<Axle, AxleForces> = forces
        .keys()
        .map(|corner| corner.axle())
        .filter_map(|axle| Some((axle, axle_forces(measured.take, axle).ok()?)))
        .collect();
    let statute = Statute {
        chain: &chain,
        packs: case.packs,
        facts: &facts,
    };
    let mut draft = Draft::new(case.policy, place, item, phase);
    efficiency_rules(&mut draft, percent, &axles, &statute);
    draft.cautions(&measured.cautions);
    Some(draft.finish())
}

/// A wheel without a force whose axle mate has one.
fn half_entered(forces: &BTreeMap<Corner, Force>) -> Option<Corner> {
    let mut mates = forces.keys().flat_map(|corner| corner.axle().corners());
    mates.find(|corner| !forces.contains_key(corner))
}

/// The rules for the efficiency of a brake: the sum against its limit, and for the parking brake that
/// it acts on both wheels of each axle it acts on.
pub(super) fn efficiency_rules(
    draft: &mut Draft,
    percent: rollers::Percent,
    axles: &BTreeMap<Axle, AxleForces>,
    statute: &Statute<'_>,
) {
    let (_, item) = draft.about();
    let wheels: Vec<AxleForces> = axles.values().copied().collect();
    let exceptions = statute.chain.applied.as_ref().map(|l| &l.exceptions);
    let met = exceptions.is_some_and(|except| except.met_when_half_lock)
        && rollers::locked_enough(&wheels);
    draft.value(Figure::Percent(percent.value), Some(percent.u));
    draft.results(Results::Percent {
        percent: percent.value,
        u_percent: Some(percent.u),
        counted: !met,
    });
    if met {
        draft.note("met: more than half of the wheels of this brake locked on the rollers");
    } else {
        draft.percent((percent.value, percent.u), statute.chain);
    }
    if item == Item::ParkingEfficiency {
        let acts = |forces: &AxleForces| forces.left > Force::ZERO || forces.right > Force::ZERO;
        let none = !wheels.iter().any(acts);
        // An axle the parking brake does not act on is no defect of it.
        for (axle, forces) in axles.iter().filter(|(_, forces)| none || acts(forces)) {
            idle_rules(
                draft,
                *axle,
                rollers::idle(forces, None),
                ONE_SIDED,
                statute,
            );
        }
    }
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
    // What was torqued before the wheel came off again does not hold.
    let off = case
        .job
        .done
        .iter()
        .filter(|done| done.cure.takes_wheel_off())
        .filter(|done| crate::job::holds(done.place, Place::Corner(corner)))
        .map(|done| done.meta.seq)
        .max()
        .unwrap_or(0);
    let tasks = done.filter_map(|(meta, event, _)| match event {
        Event::Torque(task) if task.corner == corner && meta.seq > off => Some((meta, task)),
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
