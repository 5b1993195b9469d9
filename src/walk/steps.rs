//! The steps of a job, in order, and which of them are done: a pure function of the case.
//!
//! Order at a corner, so that nothing destroys the evidence for what follows: wheel and fasteners,
//! look and feel, pads, end float, run-out as found, thickness, hub face. Then the vehicle's own
//! items; after the work, what was defective or is new; then the refit.

use crate::job::{
    Corner, Depth, Event, GateItem, Instrument, InstrumentKind, Item, Job, Kind, Observation,
    Phase, Place, Proceeding, Slot, Take,
};
use crate::judge::states;
use crate::judge::{Case, calliper_fasteners};
use crate::measure::torque;
use crate::units::{Length, Torque};

/// One thing to answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Step {
    /// Check an instrument on its setting standard.
    Zero {
        /// The instrument.
        instrument: String,
    },
    /// Look at or feel something.
    Look {
        /// Where.
        place: Place,
        /// What.
        item: Item,
        /// As found or as left.
        phase: Phase,
    },
    /// Read a value.
    Read {
        /// Where.
        place: Place,
        /// What.
        item: Item,
        /// As found or as left.
        phase: Phase,
        /// Which value.
        slot: Slot,
    },
    /// Read a value again, blind, by a second person.
    Second {
        /// Where.
        place: Place,
        /// What.
        item: Item,
        /// As found or as left.
        phase: Phase,
        /// Which value.
        slot: Slot,
    },
    /// Confirm an earlier torque stage of a wheel.
    Stage {
        /// The wheel.
        corner: Corner,
        /// Number of the stage, from 1.
        number: u8,
        /// Its torque.
        torque: Torque,
    },
    /// Confirm one wheel fastener's final click.
    Final {
        /// The wheel.
        corner: Corner,
        /// The fastener.
        fastener: u8,
        /// The final torque.
        torque: Torque,
    },
    /// Confirm the second pass over a wheel at full torque.
    SecondPass {
        /// The wheel.
        corner: Corner,
        /// The final torque.
        torque: Torque,
    },
    /// Confirm a calliper fastener.
    Calliper {
        /// The corner.
        corner: Corner,
        /// Which kind of fastener.
        proceeding: Proceeding,
        /// Number of the fastener, from 1.
        fastener: u8,
        /// Its torque.
        torque: Torque,
        /// It must be a new one.
        single_use: bool,
    },
    /// Clear a point before the vehicle moves.
    Gate(GateItem),
    /// Say what the road test did to the complaint.
    RoadTest,
}

impl Step {
    /// The corner a step is at.
    #[must_use]
    pub const fn corner(&self) -> Option<Corner> {
        match self {
            Self::Look { place, .. } | Self::Read { place, .. } | Self::Second { place, .. } => {
                place.corner()
            }
            Self::Stage { corner, .. }
            | Self::Final { corner, .. }
            | Self::SecondPass { corner, .. }
            | Self::Calliper { corner, .. } => Some(*corner),
            Self::Zero { .. } | Self::Gate(_) | Self::RoadTest => None,
        }
    }

    /// The place and item a step is about, and the phase it speaks for.
    #[must_use]
    pub const fn about(&self) -> Option<(Place, Item, Phase)> {
        match self {
            Self::Look { place, item, phase }
            | Self::Read {
                place, item, phase, ..
            } => Some((*place, *item, *phase)),
            _ => None,
        }
    }

    /// Whether the step is a torque to be confirmed, and which.
    #[must_use]
    pub const fn torque(&self) -> Option<Torque> {
        match self {
            Self::Stage { torque, .. }
            | Self::Final { torque, .. }
            | Self::SecondPass { torque, .. }
            | Self::Calliper { torque, .. } => Some(*torque),
            _ => None,
        }
    }

    /// How a torque step is named in the journal: the corner, which tightening, which fastener (or
    /// stage; 0 for a whole pass).
    #[must_use]
    pub const fn torque_key(&self) -> Option<(Corner, Proceeding, u8)> {
        Some(match self {
            Self::Stage { corner, number, .. } => (*corner, Proceeding::WheelStage, *number),
            Self::Final {
                corner, fastener, ..
            } => (*corner, Proceeding::WheelFinal, *fastener),
            Self::SecondPass { corner, .. } => (*corner, Proceeding::WheelSecondPass, 0),
            Self::Calliper {
                corner,
                proceeding,
                fastener,
                ..
            } => (*corner, *proceeding, *fastener),
            _ => return None,
        })
    }
}

/// A step and whether it is done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stage {
    /// The step.
    pub step: Step,
    /// Whether it needs no answer any more.
    pub done: bool,
    /// Whether the walk may go on without it.
    pub optional: bool,
}

/// The three parts of a job.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Part {
    /// Everything as found.
    Found,
    /// What was worked on, as left.
    Left,
    /// The wheels go back on.
    Refit,
}

/// The steps of one part of the job.
#[must_use]
pub fn steps(case: &Case<'_>, part: Part) -> Vec<Stage> {
    match part {
        Part::Found => found(case),
        Part::Left => left(case),
        Part::Refit => refit(case),
    }
}

fn corners(case: &Case<'_>) -> impl Iterator<Item = Corner> + use<> {
    Job::corners_of(u8::try_from(case.sheet.axles.len()).unwrap_or(2))
}

fn found(case: &Case<'_>) -> Vec<Stage> {
    let mut stages = zero_checks(case);
    for corner in corners(case) {
        for item in case.corner_items(corner) {
            item_steps(
                case,
                Place::Corner(corner),
                item,
                Phase::AsFound,
                &mut stages,
            );
        }
    }
    for item in case.vehicle_items() {
        item_steps(case, Place::Vehicle, item, Phase::AsFound, &mut stages);
    }
    stages
}

/// The micrometers this vehicle's discs need, each checked once for the job.
fn zero_checks(case: &Case<'_>) -> Vec<Stage> {
    let mut wanted: Vec<String> = Vec::new();
    for corner in corners(case).filter(|c| case.corner_items(*c).contains(&Item::DiscThickness)) {
        let mic = instrument_for(case, Place::Corner(corner), Item::DiscThickness);
        wanted.extend(
            mic.map(|mic| mic.id.clone())
                .filter(|id| !wanted.contains(id)),
        );
    }
    wanted
        .into_iter()
        .map(|instrument| Stage {
            done: case.job.zero_error(&instrument, u64::MAX).is_some(),
            optional: false,
            step: Step::Zero { instrument },
        })
        .collect()
}

fn item_steps(case: &Case<'_>, place: Place, item: Item, phase: Phase, stages: &mut Vec<Stage>) {
    let seen = states::look_at_hand(case, place, item, phase).map(|seen| &seen.observation);
    let felt =
        item == Item::BearingFloat && place.corner().is_some_and(|c| case.bearing_is_felt(c));
    match item.kind() {
        _ if felt => stages.push(Stage {
            step: Step::Look { place, item, phase },
            done: seen.is_some(),
            optional: false,
        }),
        Kind::Look => stages.push(Stage {
            step: Step::Look { place, item, phase },
            done: seen.is_some(),
            optional: false,
        }),
        Kind::Measure => {
            let passed_over = matches!(seen, Some(Observation::NotInspected { .. }));
            let take = states::set_at_hand(case, place, item, phase);
            for (slot, optional) in slots(case, item) {
                let has = take.is_some_and(|take| take.slots.contains_key(&slot));
                // An optional value is passed over once what follows it has been given.
                let past = optional
                    && (case.job.passed(place, item, phase, slot)
                        || take.is_some_and(|take| begun_after(take, slot)));
                stages.push(Stage {
                    step: Step::Read {
                        place,
                        item,
                        phase,
                        slot,
                    },
                    done: passed_over || has || past,
                    optional,
                });
            }
        }
        Kind::Derived | Kind::Refit => {}
    }
}

/// Whether a set has a value that comes after an optional `slot`.
fn begun_after(take: &Take, slot: Slot) -> bool {
    let has = |wanted: Slot| take.slots.contains_key(&wanted);
    let any_point = take
        .slots
        .keys()
        .any(|other| matches!(other, Slot::Point(_)));
    match slot {
        Slot::Inner(2) => has(Slot::Outer(1)),
        Slot::Swept => any_point || has(Slot::Low) || has(Slot::High),
        Slot::Temperature => any_point,
        // One reading on the inner pad: one on the outer pad is enough.
        Slot::Outer(2) => has(Slot::Outer(1)) && !has(Slot::Inner(2)),
        _ => false,
    }
}

/// The values an item wants, in order, and which of them may be passed over.
#[must_use]
pub fn slots(case: &Case<'_>, item: Item) -> Vec<(Slot, bool)> {
    let points = || (1..=case.ring_points()).map(|n| (Slot::Point(n), false));
    match item {
        Item::PadsThickness => vec![
            (Slot::Inner(1), false),
            (Slot::Inner(2), true),
            (Slot::Outer(1), false),
            (Slot::Outer(2), true),
        ],
        Item::BearingFloat => vec![(Slot::Value(1), false)],
        Item::FluidBoiling => vec![(Slot::Value(1), case.optional(item))],
        Item::DiscRunout if case.depth() == Depth::Full => {
            let mut slots = vec![(Slot::Swept, true)];
            slots.extend(points());
            slots.push((Slot::Return, false));
            slots
        }
        Item::DiscRunout => vec![(Slot::Swept, false)],
        Item::DiscThickness => {
            let mut slots = vec![(Slot::Temperature, true)];
            slots.extend(points());
            slots
        }
        Item::DrumDiameter => [
            Slot::Open(1),
            Slot::Open(2),
            Slot::Closed(1),
            Slot::Closed(2),
        ]
        .map(|slot| (slot, false))
        .to_vec(),
        Item::LiningsThickness => vec![(Slot::Lining(1), false), (Slot::Lining(2), false)],
        _ => Vec::new(),
    }
}

/// What was found defective or is new, as left.
fn left(case: &Case<'_>) -> Vec<Stage> {
    let mut stages = Vec::new();
    for place in corners(case).map(Place::Corner).chain([Place::Vehicle]) {
        let items = match place {
            Place::Corner(corner) => case.corner_items(corner),
            _ => case.vehicle_items(),
        };
        for item in items {
            let new = states::void_since(case, place, item).is_some()
                || states::worked_since(case, place, item);
            let begun = case.job.touched(place, item, Phase::AsLeft);
            let defective = matches!(
                case.job
                    .seen(place, item, Phase::AsFound)
                    .map(|seen| &seen.observation),
                Some(Observation::Defect { .. })
            );
            if new || begun || defective {
                item_steps(case, place, item, Phase::AsLeft, &mut stages);
            }
        }
    }
    stages
}

fn refit(case: &Case<'_>) -> Vec<Stage> {
    let mut stages = Vec::new();
    for corner in corners(case) {
        calliper_steps(case, corner, &mut stages);
    }
    for corner in corners(case) {
        wheel_steps(case, corner, &mut stages);
    }
    for gate in GateItem::ALL {
        stages.push(Stage {
            step: Step::Gate(gate),
            done: case.job.gates.get(&gate).is_some_and(|(done, _)| *done),
            optional: false,
        });
    }
    if case
        .job
        .opening
        .as_ref()
        .is_some_and(|o| !o.symptoms.is_empty())
    {
        let done = case.job.complaint.is_some();
        stages.push(Stage {
            step: Step::RoadTest,
            done,
            optional: false,
        });
    }
    stages
}

fn calliper_steps(case: &Case<'_>, corner: Corner, stages: &mut Vec<Stage>) {
    for (proceeding, spec, count) in calliper_fasteners(case, corner) {
        for fastener in 1..=count {
            let mine = (corner, proceeding, fastener);
            let done = case
                .job
                .callipers
                .iter()
                .any(|(c, p, f, _)| (*c, *p, *f) == mine);
            let (torque, single_use) = (spec.torque.value, spec.single_use);
            stages.push(Stage {
                step: Step::Calliper {
                    corner,
                    proceeding,
                    fastener,
                    torque,
                    single_use,
                },
                done,
                optional: false,
            });
        }
    }
}

fn wheel_steps(case: &Case<'_>, corner: Corner, stages: &mut Vec<Stage>) {
    let Some(target) = case.sheet.wheel.torque.as_ref().map(|torque| torque.value) else {
        return;
    };
    let wheel = case.job.wheels.get(&corner);
    for (number, torque) in (1..).zip(earlier_stages(case, target)) {
        stages.push(Stage {
            step: Step::Stage {
                corner,
                number,
                torque,
            },
            done: wheel.is_some_and(|w| w.stages.contains(&number)),
            optional: false,
        });
    }
    for fastener in order(case) {
        stages.push(Stage {
            step: Step::Final {
                corner,
                fastener,
                torque: target,
            },
            done: wheel.is_some_and(|w| w.finals.contains_key(&fastener)),
            optional: false,
        });
    }
    if case.policy.torque_second_pass.value {
        stages.push(Stage {
            step: Step::SecondPass {
                corner,
                torque: target,
            },
            done: wheel.is_some_and(|w| w.second_pass.is_some()),
            optional: false,
        });
    }
}

/// The torque of each stage before the final one.
fn earlier_stages(case: &Case<'_>, target: Torque) -> Vec<Torque> {
    let percents = &case.policy.torque_stages.value;
    let fractions: Vec<f64> = percents.iter().map(|p| f64::from(*p) / 100.0).collect();
    let mut levels = torque::stages(target, &fractions);
    levels.retain(|level| *level < target);
    levels
}

/// The order in which a wheel's fasteners are tightened: the maker's, else the star.
#[must_use]
pub fn order(case: &Case<'_>) -> Vec<u8> {
    let wheel = &case.sheet.wheel;
    wheel
        .order
        .clone()
        .or_else(|| torque::star_order(wheel.fasteners).ok())
        .unwrap_or_else(|| (1..=wheel.fasteners).collect())
}

/// The kind of instrument an item is read with.
#[must_use]
pub const fn instrument_kind(item: Item) -> Option<InstrumentKind> {
    match item {
        Item::DiscThickness => Some(InstrumentKind::Micrometer),
        Item::DiscRunout | Item::BearingFloat => Some(InstrumentKind::DialIndicator),
        Item::PadsThickness | Item::LiningsThickness => Some(InstrumentKind::PadGauge),
        Item::DrumDiameter => Some(InstrumentKind::DrumGauge),
        Item::FluidBoiling => Some(InstrumentKind::FluidTester),
        Item::ServiceEfficiency | Item::ParkingEfficiency => Some(InstrumentKind::RollerTester),
        _ => None,
    }
}

/// The instrument to use for an item: one of its kind whose range holds what is to be measured,
/// the one used last in this job before others.
#[must_use]
pub fn instrument_for<'a>(case: &Case<'a>, place: Place, item: Item) -> Option<&'a Instrument> {
    let of_kind: Vec<&Instrument> = case.register.of_kind(instrument_kind(item)?).collect();
    let sizes = sizes(case, place, item);
    // Best is a range that holds the new part and the worn one; a part between two ranges takes
    // the one that holds its limit, where the reading matters most.
    let holding = |wanted: &[Length]| -> Vec<&'a Instrument> {
        let all = |i: &&Instrument| wanted.iter().all(|size| i.covers(*size));
        of_kind.iter().copied().filter(all).collect()
    };
    let mut candidates = holding(&sizes);
    if candidates.is_empty() {
        candidates = holding(sizes.get(..1).unwrap_or_default());
    }
    // One that can pass something goes before one that cannot.
    if let Some((last, ..)) = case.job.log().last() {
        let fit = |i: &&Instrument| {
            i.uncalibrated(last.at).is_none()
                && case.register.failed_check(&i.id, last.at).is_none()
        };
        if candidates.iter().any(&fit) {
            candidates.retain(|i| fit(i));
        }
    }
    let named = |event: &Event| match event {
        Event::ZeroCheck(check) => Some(check.instrument.clone()),
        Event::Reading(reading) => reading.instrument.clone(),
        _ => None,
    };
    let standing = case.job.log().filter(|(_, _, struck)| !struck);
    let recent = standing
        .filter_map(|(_, event, _)| named(event))
        .filter_map(|id| {
            candidates
                .iter()
                .copied()
                .find(|candidate| candidate.id == id)
        })
        .last();
    recent.or(candidates.first().copied())
}

/// Whether an instrument's range holds the limit or the new size of what is measured.
pub(super) fn covers(case: &Case<'_>, place: Place, item: Item, instrument: &Instrument) -> bool {
    let sizes = sizes(case, place, item);
    sizes.is_empty() || sizes.iter().any(|size| instrument.covers(*size))
}

/// The limit and the new size of what is measured.
pub(super) fn sizes(case: &Case<'_>, place: Place, item: Item) -> Vec<Length> {
    let axle = place.corner().and_then(|corner| case.axle(corner.axle()));
    let figures = match (item, axle) {
        (Item::DiscThickness, Some(axle)) => axle
            .disc
            .as_ref()
            .map(|disc| [disc.discard.as_ref(), disc.new.as_ref()]),
        (Item::DrumDiameter, Some(axle)) => axle
            .drum
            .as_ref()
            .map(|drum| [drum.max.as_ref(), drum.new.as_ref()]),
        _ => None,
    };
    figures
        .into_iter()
        .flatten()
        .flatten()
        .map(|figure| figure.value)
        .collect()
}
