//! Readings and limits in, findings out: a pure function of a [`Case`].
//!
//! An item is judged as found from what was first entered. As left it is judged from what was
//! measured again; if a part was fitted, the readings of the old part are void and the item is
//! NOT INSPECTED until it is measured again; else the found readings are judged once more with the
//! complaint as it then stands. Verdicts roll up item → corner → axle → vehicle, the worst wins.

mod case;
mod causes;
pub mod check;
mod clocking;
mod decide;
pub mod defect;
mod disc;
mod finding;
mod friction;
mod look;
mod not_part;
mod overrides;
pub mod plausible;
mod repeat;
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
pub use finding::{Figure, Finding, FitResults, ForecastResults, LimitShown, Results};
pub use not_part::{NotPart, may_lack};
pub use overrides::{OverrideListed, OverrideShown};
pub use vehicle::calliper_fasteners;
pub use verdict::{ItemVerdict, Urgency, Verdict, worst};

use crate::job::{Axle, Corner, Depth, Item, Job, Kind, Part, Phase, Place};

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
    for item in case
        .corner_items(corner)
        .into_iter()
        .filter(|item| item.kind() != Kind::Refit)
    {
        findings.extend(both_phases(case, place, item, same, |data, phase| {
            judge_corner(case, corner, item, data, phase)
        }));
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
        // Felt, and measured against nobody's figure: what was felt is judged.
        (Some(mut seen), Some(measured))
            if item == Item::BearingFloat && case.bearing_is_felt(corner) =>
        {
            let float = measured.value.map(|value| {
                format!(
                    "end float {:.3} {} measured, and no maker's figure to hold it against",
                    value.number(),
                    value.unit()
                )
            });
            seen.reasons.extend(float);
            Some(seen)
        }
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
    let sides = axle.corners().map(Place::Corner);
    let same = sides.into_iter().all(|side| case.unchanged(side));
    let mut findings = Vec::new();
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
                let data = case.standing(Place::Corner(corner), source, phase);
                if item == Item::AxlePadDifference {
                    friction::pads_of(case, corner, data)
                        .map(|(pads, cautions)| (pads.min, cautions))
                } else {
                    disc::thinnest(case, corner, data)
                }
            })
        };
        let again = |corner: Corner| {
            let place = Place::Corner(corner);
            let source = if item == Item::AxlePadDifference {
                Item::PadsThickness
            } else {
                Item::DiscThickness
            };
            case.job.touched(place, source, Phase::AsLeft)
        };
        let reused = !axle.corners().into_iter().any(again);
        let found = judged(Phase::AsFound);
        let left = if same {
            found.clone().map(|found| Finding {
                phase: Phase::AsLeft,
                ..found
            })
        } else {
            judged(Phase::AsLeft)
        };
        findings.extend(settle(case, found, left, reused));
    }
    let data = case.standing(Place::Vehicle, Item::ServiceEfficiency, Phase::AsLeft);
    findings.extend(settle(
        case,
        vehicle::imbalance(case, axle, Phase::AsFound, Phase::AsFound),
        vehicle::imbalance(case, axle, data, Phase::AsLeft),
        data == Phase::AsFound,
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
    let same = case.unchanged(place);
    let mut findings = Vec::new();
    for item in items.into_iter().filter(|item| item.kind() != Kind::Refit) {
        findings.extend(both_phases(case, place, item, same, |data, phase| {
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
        findings.extend(settle(case, None, Some(vehicle::pedal(case)), false));
    }
    findings
}

/// The finding as found, and the one as left where it differs. Where nothing changed since, the second
/// is the first and is not worked out again.
fn both_phases(
    case: &Case<'_>,
    place: Place,
    item: Item,
    unchanged: bool,
    judge_item: impl Fn(Phase, Phase) -> Option<Finding>,
) -> Vec<Finding> {
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
    let found =
        judge_item(Phase::AsFound, Phase::AsFound).unwrap_or_else(|| missing(Phase::AsFound));
    if unchanged {
        let left = Finding {
            phase: Phase::AsLeft,
            ..found.clone()
        };
        return settle(case, Some(found), Some(left), true);
    }
    let source = source_item(item);
    let again = case.job.touched(place, source, Phase::AsLeft);
    let left = if again {
        judge_item(Phase::AsLeft, Phase::AsLeft).unwrap_or_else(|| missing(Phase::AsLeft))
    } else if voided(case, place, source, Phase::AsLeft) {
        let reason = "a new part was fitted and not yet measured".to_owned();
        Finding::not_inspected(place, item, Phase::AsLeft, reason)
    } else {
        judge_item(Phase::AsFound, Phase::AsLeft).unwrap_or_else(|| missing(Phase::AsLeft))
    };
    settle(case, Some(found), Some(left), !again)
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
