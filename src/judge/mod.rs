//! Readings and limits in, findings out: a pure function of a [`Case`].
//!
//! An item is judged as found from the sets and looks of its first state, as left from those of its
//! last; within a state the worst stands. If a part was fitted, the readings of the old part are void
//! and the item is NOT INSPECTED until it is measured again; where nothing is new, the found readings
//! are judged once more with the complaint as it then stands. What was not good as found is better as
//! left only after something that may have cured it (`state`). Verdicts roll up item → corner → axle →
//! vehicle, the worst wins.

mod case;
mod causes;
pub mod check;
mod clocking;
mod decide;
pub mod deeds;
pub mod defect;
mod disc;
mod finding;
mod friction;
mod look;
mod not_part;
mod overrides;
pub mod plausible;
mod scope;
mod state;
pub mod states;
mod stops;
mod vehicle;
mod verdict;
mod wear;
pub mod why;
mod words;

use std::collections::BTreeMap;

use serde::Serialize;

pub use case::{Case, allowed_zero_error};
pub use causes::Cause;
pub use clocking::clocking_of;
pub use finding::{
    Ask, Figure, Finding, FitResults, ForecastResults, LimitShown, Results, SetShown, Struck,
};
pub use not_part::{NotPart, may_lack};
pub use overrides::{OverrideListed, OverrideShown};
pub use stops::may_stop;
pub use vehicle::calliper_fasteners;
pub use verdict::{ItemVerdict, Urgency, Verdict, worst};

use self::state::{Cured, Entered, JudgedSet, LastState, States};
use crate::job::{
    Axle, Corner, Depth, Fault, Item, Job, Kind, Observation, Phase, Place, Seen, Slot, Take,
};

/// Version of the rules a verdict was reached by; a record names it, and every version stays in
/// the program.
pub const RULES_VERSION: u32 = 1;

/// The judgement of one place: its items and the worst of them as the vehicle leaves.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PlaceJudgement {
    /// The worst item in the state the vehicle leaves in.
    pub verdict: Verdict,
    /// Findings as found, and as left where they differ.
    pub items: Vec<Finding>,
}

/// The judgement of a whole job.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Judgement {
    /// Job number.
    pub job: String,
    /// The state the vehicle leaves in.
    pub verdict: Verdict,
    /// The state it came in.
    pub as_found: Verdict,
    /// The state it leaves in.
    pub as_left: Verdict,
    /// Every corner.
    pub corners: BTreeMap<Corner, PlaceJudgement>,
    /// Every axle that has something of its own to say.
    pub axles: BTreeMap<Axle, PlaceJudgement>,
    /// The vehicle's own items.
    pub vehicle: PlaceJudgement,
    /// Likely causes, the strongest first; they change no verdict.
    pub causes: Vec<Cause>,
    /// Every verdict somebody set aside, and whether that stands.
    pub overrides: Vec<OverrideListed>,
    /// How deep the inspection went.
    pub depth: Depth,
    /// What is no part of the inspection, and why.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub not_part: Vec<NotPart>,
}

impl Judgement {
    /// Every finding of every place.
    pub fn findings(&self) -> impl Iterator<Item = &Finding> {
        self.corners
            .values()
            .chain(self.axles.values())
            .chain(std::iter::once(&self.vehicle))
            .flat_map(|place| &place.items)
    }

    /// What keeps the vehicle from being driven as it leaves.
    pub fn stops(&self) -> impl Iterator<Item = &Finding> {
        self.standing(Phase::AsLeft)
            .filter(|finding| finding.urgency == Some(Urgency::Stop))
    }

    /// The findings of one state: as found, or as the vehicle leaves.
    pub fn standing(&self, phase: Phase) -> impl Iterator<Item = &Finding> {
        self.corners
            .values()
            .chain(self.axles.values())
            .chain(std::iter::once(&self.vehicle))
            .flat_map(move |place| standing(&place.items, phase))
    }
}

/// The findings of a place that speak for a phase: as left, a later finding replaces the found one.
fn standing(items: &[Finding], phase: Phase) -> Vec<&Finding> {
    items
        .iter()
        .filter(|finding| match phase {
            Phase::AsFound => finding.phase == Phase::AsFound,
            Phase::AsLeft => {
                finding.phase == Phase::AsLeft
                    || !items.iter().any(|later| {
                        later.phase == Phase::AsLeft
                            && (later.place, later.item) == (finding.place, finding.item)
                    })
            }
        })
        .collect()
}

/// Judges a job, and adds the likely causes.
///
/// # Errors
/// None: what cannot be judged is NOT INSPECTED or NO LIMIT with its reason.
#[must_use]
pub fn judge(case: &Case<'_>) -> Judgement {
    let mut judgement = verdicts(case);
    judgement.causes = causes::causes(case, &judgement);
    judgement
}

/// Judges a job without looking for causes: every verdict is settled here.
#[must_use]
pub fn verdicts(case: &Case<'_>) -> Judgement {
    let corners: BTreeMap<Corner, PlaceJudgement> = Job::corners_of(axle_count(case))
        .map(|corner| (corner, gather(corner_findings(case, corner))))
        .collect();
    let axles: BTreeMap<Axle, PlaceJudgement> = case
        .axles()
        .map(|axle| (axle, gather(axle_findings(case, axle))))
        .filter(|(_, judged)| !judged.items.is_empty())
        .collect();
    let vehicle = gather(vehicle_findings(case));
    let mut judgement = Judgement {
        job: case
            .job
            .opening
            .as_ref()
            .map(|o| o.job.clone())
            .unwrap_or_default(),
        verdict: Verdict::Incomplete,
        as_found: Verdict::Incomplete,
        as_left: Verdict::Incomplete,
        corners,
        axles,
        vehicle,
        causes: Vec::new(),
        overrides: Vec::new(),
        depth: case.depth(),
        not_part: not_part::not_part(case),
    };
    judgement.as_found = worst(judgement.standing(Phase::AsFound).map(|f| f.verdict));
    judgement.as_left = worst(judgement.standing(Phase::AsLeft).map(|f| f.verdict));
    judgement.verdict = judgement.as_left;
    judgement.overrides =
        overrides::list(case, judgement.findings().collect::<Vec<_>>().into_iter());
    judgement
}

fn axle_count(case: &Case<'_>) -> u8 {
    u8::try_from(case.sheet.axles.len()).unwrap_or(9)
}

fn gather(items: Vec<Finding>) -> PlaceJudgement {
    let verdict = if items.is_empty() {
        Verdict::Pass
    } else {
        worst(standing(&items, Phase::AsLeft).iter().map(|f| f.verdict))
    };
    PlaceJudgement { verdict, items }
}

fn corner_findings(case: &Case<'_>, corner: Corner) -> Vec<Finding> {
    let place = Place::Corner(corner);
    let same = case.unchanged(place);
    let mut findings = Vec::new();
    for item in with_entered(case, place, case.corner_items(corner)) {
        findings.extend(both_states(case, place, item, same));
    }
    let mut refit: Vec<Finding> = vehicle::calliper_torque(case, corner).into_iter().collect();
    if case.due_at_refit(Item::TorqueWheel) {
        refit.push(vehicle::wheel_torque(case, corner));
    }
    for finding in refit {
        findings.extend(settle(case, None, Some(finding), false));
    }
    findings
}

/// The items of a place to judge: what is scheduled there, and what was entered beside it. A defect is
/// one at any depth, and roller forces are an optional input.
fn with_entered(case: &Case<'_>, place: Place, scheduled: Vec<Item>) -> Vec<Item> {
    let entered = |item: &Item| {
        matches!(item.kind(), Kind::Look | Kind::Measure)
            && !scheduled.contains(item)
            && [Phase::AsFound, Phase::AsLeft]
                .into_iter()
                .any(|phase| case.job.touched(place, *item, phase))
    };
    let more: Vec<Item> = Item::ALL.iter().copied().filter(entered).collect();
    scheduled
        .into_iter()
        .filter(|item| item.kind() != Kind::Refit)
        .chain(more)
        .collect()
}

/// Judges one set of readings of an item by itself.
fn judge_set(
    case: &Case<'_>,
    place: Place,
    item: Item,
    set: &Take,
    phase: Phase,
) -> Option<Finding> {
    match (place, item) {
        (Place::Corner(corner), Item::DiscThickness) => disc::thickness(case, corner, set, phase),
        (Place::Corner(corner), Item::DiscVariation) => disc::variation(case, corner, set, phase),
        (Place::Corner(corner), Item::DiscRunout) => disc::runout(case, corner, set, phase),
        (Place::Corner(corner), Item::BearingFloat) => disc::bearing(case, corner, set, phase),
        (Place::Corner(corner), Item::PadsThickness) => friction::pads(case, corner, set, phase),
        (Place::Corner(corner), Item::PadsInnerOuter) => {
            friction::inner_outer(case, corner, set, phase)
        }
        (Place::Corner(corner), Item::LiningsThickness) => {
            friction::linings(case, corner, set, phase)
        }
        (Place::Corner(corner), Item::DrumDiameter) => friction::drum(case, corner, set, phase),
        (Place::Axle(axle), Item::AxleImbalance) => vehicle::imbalance(case, axle, set, phase),
        (Place::Vehicle, Item::FluidBoiling) => vehicle::fluid(case, set, phase),
        (Place::Vehicle, Item::ServiceEfficiency | Item::ParkingEfficiency) => {
            vehicle::efficiency(case, item, set, phase)
        }
        _ => None,
    }
}

fn judge_sets<'a>(
    case: &Case<'_>,
    (place, item): (Place, Item),
    sets: &[Entered<'a>],
    phase: Phase,
) -> Vec<JudgedSet<'a>> {
    let judge_one = |(entered, take): &Entered<'a>| {
        let mut finding = scope::tried(case, (place, item), |case| {
            judge_set(case, place, item, take, phase)
        })?;
        finding.set = Some(finding::SetId {
            phase: *entered,
            take: take.number,
        });
        Some(JudgedSet {
            phase: *entered,
            take,
            finding,
        })
    };
    sets.iter().filter_map(judge_one).collect()
}

/// A state of an item, judged, with what was wrong in it.
struct JudgedState<'a> {
    finding: Finding,
    faults: Vec<Fault<'a>>,
}

/// Judges the sets and looks of one state of an item; `None` when they answer nothing.
fn judge_state<'a>(
    case: &Case<'_>,
    (place, item): (Place, Item),
    (sets, looks): &(Vec<Entered<'a>>, Vec<&'a Seen>),
    phase: Phase,
) -> Option<JudgedState<'a>> {
    let measured = state::worst_of(judge_sets(case, (place, item), sets, phase));
    let mut looks = state::looks_standing(looks);
    // A reason why not, before it was measured after all, is answered.
    let last_set = sets.iter().map(|(_, take)| take.begun()).max();
    looks.retain(|seen| {
        !matches!(seen.observation, Observation::NotInspected { .. })
            || last_set.is_none_or(|last| seen.meta.seq > last)
    });
    // A scored face's depth is a reading of the look itself.
    let depth = sets
        .iter()
        .filter_map(|(_, take)| take.length(Slot::Value(1)))
        .max();
    let depth = depth.filter(|_| item == Item::DiscSurface);
    let mut faults = Vec::new();
    let off =
        |finding: &Finding| matches!(finding.verdict, ItemVerdict::Fail | ItemVerdict::Advise);
    let mut seen = Vec::new();
    for look in looks {
        let judged = scope::tried(case, (place, item), |case| {
            look::look(case, place, item, look, depth, phase)
        });
        let Some(finding) = judged else {
            continue;
        };
        if let Observation::Defect { code, .. } = &look.observation
            && off(&finding)
        {
            faults.push(Fault::Defect(code));
        }
        seen.push(finding);
    }
    faults.extend(measured.as_ref().filter(|m| off(m)).map(|_| Fault::Value));
    let felt = item == Item::BearingFloat
        && place
            .corner()
            .is_some_and(|corner| case.bearing_is_felt(corner));
    let finding = match (state::gravest_look(seen), measured) {
        // Felt, and measured against nobody's figure: what was felt is judged.
        (Some(mut seen), Some(measured)) if felt => {
            let float = measured.value.map(|value| {
                format!(
                    "end float {} measured, and no maker's figure to hold it against",
                    value.in_words()
                )
            });
            seen.reasons.extend(float);
            seen
        }
        (Some(seen), Some(measured)) => graver(seen, measured),
        (None, Some(measured)) if felt => {
            let reason =
                "nobody felt the bearing; an end float without a maker's figure says nothing";
            Finding {
                value: measured.value,
                ..Finding::not_inspected(place, item, phase, reason.to_owned())
            }
        }
        (seen, measured) => seen.or(measured)?,
    };
    Some(JudgedState { finding, faults })
}

/// Of a look and a measurement of the same item, the graver; a look that could not be made does
/// not void a measurement that was, but a measurement never hides a defect.
fn graver(seen: Finding, measured: Finding) -> Finding {
    match (seen.verdict, measured.verdict) {
        (ItemVerdict::Fail, _) => seen,
        (_, ItemVerdict::Fail) => measured,
        (ItemVerdict::NotInspected, _) => seen,
        (_, ItemVerdict::NotInspected | ItemVerdict::NoLimit) => measured,
        (ItemVerdict::Advise, _) => seen,
        _ => measured,
    }
}

fn axle_findings(case: &Case<'_>, axle: Axle) -> Vec<Finding> {
    let place = Place::Axle(axle);
    let mut findings = Vec::new();
    for item in case
        .axle_items(axle)
        .into_iter()
        .filter(|item| *item != Item::AxleImbalance)
    {
        findings.extend(difference(case, axle, item));
    }
    if !States::of(case, place, Item::AxleImbalance).sets.is_empty() {
        let same = case.unchanged(Place::Vehicle);
        findings.extend(both_states(case, place, Item::AxleImbalance, same));
    }
    debug_assert!(findings.iter().all(|finding| finding.place == place));
    findings
}

/// The difference between an axle's sides, which follows its corners: what stands there is compared,
/// and what is good again there is good here.
fn difference(case: &Case<'_>, axle: Axle, item: Item) -> Vec<Finding> {
    let source = if item == Item::AxlePadDifference {
        Item::PadsThickness
    } else {
        Item::DiscThickness
    };
    let judged = |phase: Phase| {
        friction::left_right(case, axle, item, phase, |corner| {
            let sets = case.sets_standing(Place::Corner(corner), source, phase);
            let thinnest = |set: &Take| {
                if item == Item::AxlePadDifference {
                    friction::pads_of(case, set).map(|(pads, cautions)| (pads.min, cautions))
                } else {
                    disc::thinnest(case, set)
                }
            };
            sets.into_iter()
                .filter_map(thinnest)
                .min_by_key(|(thinnest, _)| *thinnest)
        })
    };
    let sides = axle.corners().map(Place::Corner);
    let found = judged(Phase::AsFound);
    let left = if sides.into_iter().all(|side| case.unchanged(side)) {
        found.clone().map(|found| Finding {
            phase: Phase::AsLeft,
            ..found
        })
    } else {
        judged(Phase::AsLeft)
    };
    let again = |side: Place| case.job.touched(side, source, Phase::AsLeft);
    let reused = !sides.into_iter().any(again);
    settle(case, found, left, reused)
}

fn vehicle_findings(case: &Case<'_>) -> Vec<Finding> {
    let place = Place::Vehicle;
    let items = with_entered(case, place, case.vehicle_items());
    let same = case.unchanged(place);
    let mut findings = Vec::new();
    for item in items {
        findings.extend(both_states(case, place, item, same));
    }
    if case.due_at_refit(Item::PedalFirm) {
        findings.extend(settle(case, None, Some(vehicle::pedal(case)), false));
    }
    findings
}

/// The finding as found, and the one as left where it differs. Where nothing changed since, the second
/// is the first and is not worked out again.
fn both_states(case: &Case<'_>, place: Place, item: Item, unchanged: bool) -> Vec<Finding> {
    if case.left_out(place, item) {
        return Vec::new();
    }
    let missing = |phase| {
        Finding::not_inspected(
            place,
            item,
            phase,
            "scheduled, and nothing was entered".to_owned(),
        )
    };
    let states = States::of(case, place, item);
    let found_entries = states.found();
    let (mut found, faults) = match judge_state(case, (place, item), &found_entries, Phase::AsFound)
    {
        Some(judged) => (judged.finding, judged.faults),
        None => (missing(Phase::AsFound), Vec::new()),
    };
    struck(case, (place, item), Phase::AsFound, &mut found);
    if unchanged {
        let left = Finding {
            phase: Phase::AsLeft,
            ..found.clone()
        };
        return settle(case, Some(found), Some(left), true);
    }
    let last = states.last();
    let judged = |entries: &(Vec<Entered<'_>>, Vec<&Seen>)| {
        judge_state(case, (place, item), entries, Phase::AsLeft)
            .map_or_else(|| missing(Phase::AsLeft), |judged| judged.finding)
    };
    let mut left = match &last {
        LastState::Void => {
            Finding::not_inspected(place, item, Phase::AsLeft, states.void_words().to_owned())
        }
        LastState::AsFound => judged(&found_entries),
        LastState::Same => judged(&states.first()),
        LastState::Again { sets, looks } => judged(&(sets.clone(), looks.clone())),
    };
    if matches!(last, LastState::AsFound | LastState::Same) {
        struck(case, (place, item), Phase::AsFound, &mut left);
    }
    struck(case, (place, item), Phase::AsLeft, &mut left);
    let cured = states.cured(case, place, item, &faults);
    let may_be_better = match &last {
        LastState::Void => true,
        // Nothing is new but the complaint, or the sets' own rule has spoken.
        LastState::AsFound | LastState::Same => found.verdict != ItemVerdict::Fail,
        LastState::Again { .. } => cured == Cured::Yes || left.settles_doubt_of(&found),
    };
    let off = matches!(found.verdict, ItemVerdict::Fail | ItemVerdict::Advise);
    let worked = !states.ends.is_empty() && cured != Cured::No && !faults.is_empty();
    if matches!(last, LastState::AsFound) && worked && left.verdict == ItemVerdict::Advise {
        left.not_seen_since_work();
    }
    if off && !may_be_better && state::gravity(&left) < state::gravity(&found) {
        let said = left;
        left = match &last {
            LastState::Same => judged(&states.first()),
            _ => judged(&found_entries),
        };
        left.hold(&found, &said, cured);
    }
    if matches!(last, LastState::Same) {
        left.unexplained |= off && better_entry(case, (place, item), &states, &found);
    }
    let reused = matches!(last, LastState::AsFound);
    settle(case, Some(found), Some(left), reused)
}

/// What an item was found to be.
fn judged_as_found(case: &Case<'_>, place: Place, item: Item) -> Option<Finding> {
    let entries = States::of(case, place, item).found();
    Some(judge_state(case, (place, item), &entries, Phase::AsFound)?.finding)
}

/// Whether something entered as left in a state that never ended is better than what was found.
fn better_entry(
    case: &Case<'_>,
    about: (Place, Item),
    states: &States<'_>,
    found: &Finding,
) -> bool {
    let as_left = |phase: &Phase| *phase == Phase::AsLeft;
    let sets = states.sets.iter().filter(|(phase, _)| as_left(phase));
    let looks = states.looks.iter().filter(|(phase, _)| as_left(phase));
    let alone = (
        sets.copied().collect(),
        looks.map(|(_, seen)| *seen).collect(),
    );
    judge_state(case, about, &alone, Phase::AsLeft)
        .is_some_and(|judged| state::gravity(&judged.finding) < state::gravity(found))
}

/// Says of a finding which whole sets or looks were struck though they failed.
fn struck(case: &Case<'_>, (place, item): (Place, Item), phase: Phase, finding: &mut Finding) {
    if case.job.struck.is_empty() || finding.verdict == ItemVerdict::Fail {
        return;
    }
    let (at, from) = state::source(place, item);
    let mut last_strike = None;
    for set in case.job.struck_sets(at, from) {
        if set.phase != phase {
            continue;
        }
        let entered = [(set.phase, &set.take)];
        let Some(judged) = judge_sets(case, (place, item), &entered, phase).pop() else {
            continue;
        };
        if judged.finding.verdict == ItemVerdict::Fail && !judged.finding.partial {
            last_strike = last_strike.max(Some(set.struck.seq));
            let last = set.take.last();
            finding.tell_struck(Struck {
                value: judged.finding.value,
                defect: None,
                by: last.map(|last| last.meta.by.clone()).unwrap_or_default(),
                struck_by: set.struck.by.clone(),
                reason: set.reason.clone(),
            });
        }
    }
    for (seen, strike, reason) in case.job.struck_looks(place, item, phase) {
        let look = scope::tried(case, (place, item), |case| {
            look::look(case, place, item, &seen, None, phase)
        });
        if look.is_some_and(|look| look.verdict == ItemVerdict::Fail)
            && let Observation::Defect { code, .. } = seen.observation
        {
            last_strike = last_strike.max(Some(strike.seq));
            finding.tell_struck(Struck {
                value: None,
                defect: Some(code),
                by: seen.meta.by,
                struck_by: strike.by.clone(),
                reason: reason.to_owned(),
            });
        }
    }
    // Who strikes what failed looks once more; what was entered before does not come back by itself.
    let sets = case.job.sets(at, from).into_iter();
    let looks = case.job.looks(place, item).into_iter();
    let entered = sets
        .map(|(_, take)| take.begun())
        .chain(looks.map(|(_, seen)| seen.meta.seq));
    if last_strike.is_some_and(|strike| entered.max().is_none_or(|last| last < strike))
        && finding.verdict != ItemVerdict::NotInspected
    {
        finding.open_after_strike();
    }
}

/// Applies what people set aside, and keeps the finding as left only where it differs. An override
/// as found goes on speaking as left when nothing was looked at again (`reused`).
fn settle(
    case: &Case<'_>,
    found: Option<Finding>,
    left: Option<Finding>,
    reused: bool,
) -> Vec<Finding> {
    let both: &[Phase] = &[Phase::AsFound, Phase::AsLeft];
    let left_phases = if reused { both } else { &[Phase::AsLeft] };
    pair(
        found.map(|finding| overrides::apply(case, finding, &[Phase::AsFound])),
        left.map(|finding| overrides::apply(case, finding, left_phases)),
    )
}

fn pair(found: Option<Finding>, left: Option<Finding>) -> Vec<Finding> {
    match (found, left) {
        (Some(found), Some(left)) if left.same_but_for_phase(&found) => vec![found],
        (found, left) => found.into_iter().chain(left).collect(),
    }
}
