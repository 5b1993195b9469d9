//! Readings and limits in, findings out: a pure function of a [`Case`].
//!
//! An item is judged as found from what was first entered. As left it is judged from what was
//! measured again; if a part was fitted, the readings of the old part are void and the item is
//! NOT INSPECTED until it is measured again; else the found readings are judged once more with the
//! complaint as it then stands. Verdicts roll up item → corner → axle → vehicle, the worst wins.

mod case;
pub mod check;
mod decide;
pub mod defect;
mod disc;
mod finding;
mod friction;
mod look;
pub mod plausible;
mod vehicle;
mod verdict;
mod words;

use std::collections::BTreeMap;

use serde::Serialize;

pub use case::{Case, allowed_zero_error};
pub use finding::{Figure, Finding, FitResults, ForecastResults, LimitShown, Results};
pub use vehicle::calliper_fasteners;
pub use verdict::{ItemVerdict, Urgency, Verdict, worst};

use crate::job::{Axle, Corner, Item, Job, Kind, Part, Phase, Place};
use crate::units::Length;

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

/// Judges a job.
///
/// # Errors
/// None: what cannot be judged is NOT INSPECTED or NO LIMIT with its reason.
#[must_use]
pub fn judge(case: &Case<'_>) -> Judgement {
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
    };
    judgement.as_found = worst(judgement.standing(Phase::AsFound).map(|f| f.verdict));
    judgement.as_left = worst(judgement.standing(Phase::AsLeft).map(|f| f.verdict));
    judgement.verdict = judgement.as_left;
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
    let mut findings = Vec::new();
    for item in case
        .corner_items(corner)
        .into_iter()
        .filter(|item| item.kind() != Kind::Refit)
    {
        findings.extend(both_phases(case, place, item, |data, phase| {
            judge_corner(case, corner, item, data, phase)
        }));
    }
    findings.extend(vehicle::calliper_torque(case, corner));
    if case.due_at_refit(Item::TorqueWheel) {
        findings.push(vehicle::wheel_torque(case, corner));
    }
    findings
}

fn judge_corner(
    case: &Case<'_>,
    corner: Corner,
    item: Item,
    data: Phase,
    phase: Phase,
) -> Option<Finding> {
    let place = Place::Corner(corner);
    // A defect seen, or a reason why not, answers a measured item as well.
    let seen = look::look(case, place, item, data, phase);
    let measured = match item {
        Item::DiscThickness => disc::thickness(case, corner, data, phase),
        Item::DiscVariation => disc::variation(case, corner, data, phase)
            .or_else(|| missing_ring(case, corner, data, phase)),
        Item::DiscRunout => disc::runout(case, corner, data, phase),
        Item::BearingFloat => disc::bearing(case, corner, data, phase),
        Item::PadsThickness => friction::pads(case, corner, data, phase),
        Item::PadsInnerOuter => friction::inner_outer(case, corner, data, phase)
            .or_else(|| missing_pads(case, corner, data, phase)),
        Item::LiningsThickness => friction::linings(case, corner, data, phase),
        Item::DrumDiameter => friction::drum(case, corner, data, phase),
        _ => None,
    };
    match (seen, measured) {
        (Some(seen), Some(measured)) => Some(graver(seen, measured)),
        (seen, measured) => seen.or(measured),
    }
}

fn missing_ring(case: &Case<'_>, corner: Corner, data: Phase, phase: Phase) -> Option<Finding> {
    let seen = case
        .job
        .seen(Place::Corner(corner), Item::DiscThickness, data)?;
    let reason = match &seen.observation {
        crate::job::Observation::NotInspected { reason } => reason.clone(),
        _ => return None,
    };
    Some(Finding::not_inspected(
        Place::Corner(corner),
        Item::DiscVariation,
        phase,
        reason,
    ))
}

fn missing_pads(case: &Case<'_>, corner: Corner, data: Phase, phase: Phase) -> Option<Finding> {
    let seen = case
        .job
        .seen(Place::Corner(corner), Item::PadsThickness, data)?;
    let reason = match &seen.observation {
        crate::job::Observation::NotInspected { reason } => reason.clone(),
        _ => return None,
    };
    Some(Finding::not_inspected(
        Place::Corner(corner),
        Item::PadsInnerOuter,
        phase,
        reason,
    ))
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
    let thickness = |corner: Corner, data: Phase, phase: Phase| -> Option<Length> {
        match disc::thickness(case, corner, data, phase)?.value? {
            Figure::Length(length) => Some(length),
            _ => None,
        }
    };
    let state = |phase: Phase, corner: Corner, item: Item| {
        if phase == Phase::AsLeft && case.job.touched(Place::Corner(corner), item, Phase::AsLeft) {
            Phase::AsLeft
        } else {
            Phase::AsFound
        }
    };
    for item in case
        .axle_items(axle)
        .into_iter()
        .filter(|item| *item != Item::AxleImbalance)
    {
        let judged = |phase: Phase| {
            friction::left_right(case, axle, item, phase, |corner| {
                let source = if item == Item::AxlePadDifference {
                    Item::PadsThickness
                } else {
                    Item::DiscThickness
                };
                if voided(case, Place::Corner(corner), source, phase) {
                    return None;
                }
                let data = state(phase, corner, source);
                if item == Item::AxlePadDifference {
                    friction::pads_of(case, corner, data).map(|pads| pads.min)
                } else {
                    thickness(corner, data, phase)
                }
            })
        };
        findings.extend(pair(judged(Phase::AsFound), judged(Phase::AsLeft)));
    }
    let data = if case
        .job
        .touched(Place::Vehicle, Item::ServiceEfficiency, Phase::AsLeft)
    {
        Phase::AsLeft
    } else {
        Phase::AsFound
    };
    findings.extend(pair(
        vehicle::imbalance(case, axle, Phase::AsFound, Phase::AsFound),
        vehicle::imbalance(case, axle, data, Phase::AsLeft),
    ));
    debug_assert!(findings.iter().all(|finding| finding.place == place));
    findings
}

fn vehicle_findings(case: &Case<'_>) -> Vec<Finding> {
    let place = Place::Vehicle;
    let mut items = case.vehicle_items();
    // Roller forces are an optional input: judged when given, absent when not.
    for item in [Item::ServiceEfficiency, Item::ParkingEfficiency] {
        let given = [Phase::AsFound, Phase::AsLeft]
            .into_iter()
            .any(|phase| case.job.touched(place, item, phase));
        if given && !items.contains(&item) {
            items.push(item);
        }
    }
    let mut findings = Vec::new();
    for item in items.into_iter().filter(|item| item.kind() != Kind::Refit) {
        findings.extend(both_phases(case, place, item, |data, phase| {
            let seen = look::look(case, place, item, data, phase);
            let measured = match item {
                Item::FluidBoiling => vehicle::fluid(case, data, phase),
                Item::ServiceEfficiency | Item::ParkingEfficiency => {
                    vehicle::efficiency(case, item, data, phase)
                }
                _ => None,
            };
            match (seen, measured) {
                (Some(seen), Some(measured)) => Some(graver(seen, measured)),
                (seen, measured) => seen.or(measured),
            }
        }));
    }
    if case.due_at_refit(Item::PedalFirm) {
        findings.push(vehicle::pedal(case));
    }
    findings
}

/// The finding as found, and the one as left where it differs.
fn both_phases(
    case: &Case<'_>,
    place: Place,
    item: Item,
    judge_item: impl Fn(Phase, Phase) -> Option<Finding>,
) -> Vec<Finding> {
    let missing = |phase| {
        Finding::not_inspected(
            place,
            item,
            phase,
            "scheduled, and nothing was entered".to_owned(),
        )
    };
    let found =
        judge_item(Phase::AsFound, Phase::AsFound).unwrap_or_else(|| missing(Phase::AsFound));
    let source = source_item(item);
    let left = if case.job.touched(place, source, Phase::AsLeft) {
        judge_item(Phase::AsLeft, Phase::AsLeft).unwrap_or_else(|| missing(Phase::AsLeft))
    } else if voided(case, place, source, Phase::AsLeft) {
        let reason = "a new part was fitted and not yet measured".to_owned();
        Finding::not_inspected(place, item, Phase::AsLeft, reason)
    } else {
        judge_item(Phase::AsFound, Phase::AsLeft).unwrap_or_else(|| missing(Phase::AsLeft))
    };
    pair(Some(found), Some(left))
}

fn pair(found: Option<Finding>, left: Option<Finding>) -> Vec<Finding> {
    match (found, left) {
        (Some(found), Some(left)) if left.same_but_for_phase(&found) => vec![found],
        (found, left) => found.into_iter().chain(left).collect(),
    }
}

/// The item whose readings an item is judged from.
const fn source_item(item: Item) -> Item {
    match item {
        Item::DiscVariation => Item::DiscThickness,
        Item::PadsInnerOuter => Item::PadsThickness,
        other => other,
    }
}

/// Whether a part fitted since makes the found readings of an item void, and nothing was entered
/// for it as left.
fn voided(case: &Case<'_>, place: Place, item: Item, phase: Phase) -> bool {
    phase == Phase::AsLeft
        && !case.job.touched(place, item, Phase::AsLeft)
        && case
            .job
            .fitted_at(place)
            .any(|fitted| voids(fitted.part, item))
}

/// Whether fitting a part voids what was found for an item.
#[must_use]
pub const fn voids(part: Part, item: Item) -> bool {
    match part {
        Part::Disc => matches!(
            item,
            Item::DiscSurface | Item::DiscRunout | Item::DiscThickness | Item::DiscVariation
        ),
        Part::Pads => {
            matches!(
                item,
                Item::PadsCondition | Item::PadsThickness | Item::PadsInnerOuter
            )
        }
        Part::Linings => matches!(item, Item::LiningsThickness),
        Part::Drum => matches!(item, Item::DrumDiameter),
        Part::Hose => matches!(item, Item::Hose),
        Part::Calliper => {
            matches!(item, Item::SlidePins | Item::Piston | Item::CalliperLeak)
        }
        Part::SensorSpeed => matches!(item, Item::SensorSpeed),
        Part::SensorWear => matches!(item, Item::SensorWear),
        Part::Cylinder => matches!(item, Item::CylinderLeak),
        Part::Bearing => matches!(item, Item::BearingFloat),
        Part::Fluid => matches!(item, Item::FluidBoiling),
    }
}
