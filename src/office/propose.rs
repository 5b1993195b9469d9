//! From findings to the work that would cure them.
//!
//! Rules of the trade (common practice): pads and linings go in axle sets, discs and drums in axle
//! pairs, new discs never without new pads; new pads do not go onto a disc that will not outlast
//! them. What one line cures, no second line is offered for.

use std::fmt;

use serde::{Serialize, Serializer};

use super::outlast;
use crate::job::{Item, Observation, Phase, Place};
use crate::job::{LineId, Work, holds};
use crate::judge::{Case, Figure, Finding, ItemVerdict, Judgement, Urgency};
use crate::units::Length;

/// A finding behind a line.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Because {
    /// Where.
    pub place: Place,
    /// What.
    pub item: Item,
    /// The judgement.
    pub verdict: ItemVerdict,
    /// How soon something must be done.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub urgency: Option<Urgency>,
    /// What was found, in one plain sentence.
    pub sentence: String,
    /// Whether the value stands at its limit or past it.
    #[serde(skip)]
    pub at_limit: bool,
}

impl Because {
    fn of(finding: &Finding) -> Self {
        Self {
            place: finding.place,
            item: finding.item,
            verdict: finding.verdict,
            urgency: finding.urgency.clone(),
            sentence: finding.sentence.clone(),
            at_limit: finding.at_limit(),
        }
    }

    /// Whether the vehicle may not be driven because of it.
    #[must_use]
    pub fn stops(&self) -> bool {
        self.urgency == Some(Urgency::Stop)
    }
}

/// Work proposed for findings.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Proposed {
    /// Where and what.
    pub line: LineId,
    /// The findings it cures, gravest first.
    pub because: Vec<Because>,
    /// What belongs to it or speaks for it: new bolts, a disc that would not outlast the pads.
    pub notes: Vec<String>,
    /// What leaving it means.
    #[serde(serialize_with = "said")]
    pub leaving: Option<Leaving>,
}

/// What leaving a line means, with its distance in whole km. Written out it is what the desk says;
/// a sheet says the same in its own language and units.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Leaving {
    /// The vehicle must not be driven.
    Stops,
    /// It stays outside its limit.
    Fails,
    /// It is at its limit.
    AtLimit,
    /// It may reach its limit.
    Lasts {
        /// The odometer at which, at the earliest.
        km: i64,
        /// How far that is from today's odometer.
        left_km: i64,
    },
    /// Nobody can say a distance.
    Unknown {
        /// How far it is to the next service.
        service_km: i64,
    },
}

impl fmt::Display for Leaving {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Stops => f.write_str("left as it is, the vehicle must not be driven: 0 km"),
            Self::Fails => f.write_str(
                "left as it is, it stays outside its limit from the first kilometre; it should not be handed over like this",
            ),
            Self::AtLimit => f.write_str(
                "left as it is, it is at its limit or past it already; it is put right now or measured again",
            ),
            Self::Lasts { km, left_km } => write!(
                f,
                "left as it is, it may reach its limit from {km} km on, {left_km} km from now"
            ),
            Self::Unknown { service_km } => write!(
                f,
                "left as it is, no distance can be said; it is looked at again at the next service, {service_km} km from now"
            ),
        }
    }
}

/// Written as the desk says it; nothing to say is an empty text.
pub(super) fn said<S: Serializer>(
    leaving: &Option<Leaving>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    match leaving {
        Some(leaving) => serializer.collect_str(leaving),
        None => serializer.serialize_str(""),
    }
}

impl Proposed {
    /// Whether a FAIL is behind it.
    #[must_use]
    pub fn cures_fail(&self) -> bool {
        self.because.iter().any(|b| b.verdict == ItemVerdict::Fail)
    }

    /// Whether a finding is among those it cures.
    #[must_use]
    pub fn cures(&self, place: Place, item: Item) -> bool {
        self.because
            .iter()
            .any(|b| (b.place, b.item) == (place, item))
    }
}

/// Proposes the work for a judged job: what was found, and what still fails as left.
///
/// Every FAIL stands behind at least one line.
#[must_use]
pub fn propose(case: &Case<'_>, judgement: &Judgement) -> Vec<Proposed> {
    let findings = wanting(judgement);
    let mut lines: Vec<Proposed> = Vec::new();
    for finding in &findings {
        if let Some(line) = cure(case, finding) {
            add(&mut lines, line, finding);
        }
    }
    discs_with_pads(case, judgement, &mut lines);
    merge(&mut lines);
    for finding in findings.iter().filter(|f| f.verdict == ItemVerdict::Fail) {
        cover(&mut lines, finding);
    }
    for line in &mut lines {
        line.because
            .sort_by_key(|b| gravity(b.verdict, b.urgency.as_ref()));
        line.notes.extend(belongs(case, line.line));
        line.leaving = Some(leaving(case, line));
    }
    lines.sort_by_key(|l| {
        let gravest = l
            .because
            .iter()
            .map(|b| gravity(b.verdict, b.urgency.as_ref()))
            .min();
        (gravest, l.line)
    });
    lines
}

/// What was found wanting, and what fails as left without having failed as found.
fn wanting(judgement: &Judgement) -> Vec<&Finding> {
    let found: Vec<&Finding> = judgement
        .standing(Phase::AsFound)
        .filter(|f| matches!(f.verdict, ItemVerdict::Fail | ItemVerdict::Advise))
        .collect();
    let fails = |f: &&Finding| f.verdict == ItemVerdict::Fail;
    let new: Vec<&Finding> = judgement
        .standing(Phase::AsLeft)
        .filter(fails)
        .filter(|left| left.phase == Phase::AsLeft)
        .collect();
    let mut all = found;
    // A second FAIL of the same item, after work, is judged by its later sentence.
    all.retain(|f| !new.iter().any(|n| (n.place, n.item) == (f.place, f.item)));
    all.extend(new);
    all
}

fn gravity(verdict: ItemVerdict, urgency: Option<&Urgency>) -> u8 {
    match (verdict, urgency) {
        (_, Some(Urgency::Stop)) => 0,
        (ItemVerdict::Fail, _) => 1,
        (_, Some(Urgency::By { .. })) => 2,
        _ => 3,
    }
}

fn add(lines: &mut Vec<Proposed>, line: LineId, finding: &Finding) {
    match lines.iter_mut().find(|l| l.line == line) {
        Some(known) => known.because.push(Because::of(finding)),
        None => lines.push(Proposed {
            line,
            because: vec![Because::of(finding)],
            notes: Vec::new(),
            leaving: None,
        }),
    }
}

/// The work that cures a finding by itself; `None` for what is put right in passing, or is a
/// consequence of another finding.
fn cure(case: &Case<'_>, finding: &Finding) -> Option<LineId> {
    let fail = finding.verdict == ItemVerdict::Fail;
    let work = match finding.item {
        Item::PadsThickness if fail || worn(case, finding) => Work::Pads,
        Item::PadsCondition | Item::LiningsThickness if fail => match finding.item {
            Item::PadsCondition => Work::Pads,
            _ => Work::Linings,
        },
        Item::LiningsThickness if worn(case, finding) => Work::Linings,
        Item::DiscThickness if fail || worn(case, finding) => Work::DiscsPads,
        Item::DiscSurface | Item::DiscVariation if fail => Work::DiscsPads,
        Item::DiscRunout if fail && after_reclocking(case, finding) => Work::DiscsPads,
        Item::DiscRunout if fail => Work::Reclock,
        Item::DrumDiameter if fail || worn(case, finding) => Work::DrumsLinings,
        Item::BearingFloat if fail => Work::Bearing,
        Item::Hose if fail || code(case, finding) != "bracket" => Work::Hose,
        Item::Pipe if fail => Work::Pipe,
        Item::SensorSpeed if fail => Work::SensorSpeed,
        Item::SensorWear if fail => Work::SensorWear,
        Item::CalliperLeak if fail => Work::Calliper,
        Item::Piston => Work::Calliper,
        Item::SlidePins => Work::SlidePins,
        Item::Springs => Work::Springs,
        Item::CylinderLeak if fail => Work::Cylinder,
        Item::WheelFasteners if fail => Work::Fasteners,
        Item::FluidBoiling => Work::Fluid,
        _ => return None,
    };
    Some(LineId::at(finding.place, work))
}

/// The defect's code behind a look.
fn code<'a>(case: &Case<'a>, finding: &Finding) -> &'a str {
    match case.job.seen(finding.place, finding.item, finding.phase) {
        Some(seen) => match &seen.observation {
            Observation::Defect { code, .. } => code,
            _ => "",
        },
        None => "",
    }
}

/// Whether an advice is about wear, not about the gauge or the reading.
fn worn(case: &Case<'_>, finding: &Finding) -> bool {
    if matches!(finding.urgency, Some(Urgency::By { .. })) {
        return true;
    }
    let (Some(Figure::Length(value)), Some(Figure::Length(limit))) = (finding.value, finding.limit)
    else {
        return false;
    };
    match finding.item {
        Item::PadsThickness => value <= case.policy.pads_plan.value,
        Item::LiningsThickness => value <= limit + case.policy.linings_margin.value,
        Item::DiscThickness => value - limit < case.policy.disc_left_advise.value,
        Item::DrumDiameter => limit - value < Length::from_nm(200_000),
        _ => false,
    }
}

/// Whether a run-out still fails though the disc was turned on the hub and measured again.
fn after_reclocking(case: &Case<'_>, finding: &Finding) -> bool {
    finding.phase == Phase::AsLeft
        && finding
            .place
            .corner()
            .is_some_and(|corner| case.job.reclocked(corner))
}

/// New pads on a disc that will not outlast them: the discs go with them.
fn discs_with_pads(case: &Case<'_>, judgement: &Judgement, lines: &mut [Proposed]) {
    for line in lines.iter_mut().filter(|l| l.line.work == Work::Pads) {
        let Place::Axle(axle) = line.line.place else {
            continue;
        };
        let said: Vec<String> = axle
            .corners()
            .into_iter()
            .filter_map(|corner| outlast::disc_gives_out_first(case, judgement, corner))
            .collect();
        if !said.is_empty() {
            line.line.work = Work::DiscsPads;
            line.notes.extend(said);
        }
    }
}

/// Joins what one piece of work includes of another.
fn merge(lines: &mut Vec<Proposed>) {
    let includes = |outer: LineId, inner: LineId| {
        let pair = matches!(
            (outer.work, inner.work),
            (
                Work::DiscsPads,
                Work::DiscsPads | Work::Pads | Work::Reclock | Work::Springs
            ) | (Work::DrumsLinings, Work::DrumsLinings | Work::Linings)
                | (Work::Pads, Work::Springs)
                | (Work::Calliper, Work::SlidePins)
        );
        pair && holds(outer.place, inner.place)
    };
    let mut index = 0;
    while let Some(inner) = lines.get(index).map(|l| l.line) {
        let outer = lines
            .iter()
            .enumerate()
            .position(|(other, l)| other != index && includes(l.line, inner));
        match outer {
            Some(outer) => {
                let gone = lines.remove(index);
                let outer = if outer > index { outer - 1 } else { outer };
                if let Some(kept) = lines.get_mut(outer) {
                    kept.because.extend(gone.because);
                    kept.notes.extend(gone.notes);
                }
                index = 0;
            }
            None => index += 1,
        }
    }
}

/// A FAIL that no line cures by itself stands behind every line at its place (a pulling brake is
/// cured by what seizes it), or asks for a search of its own.
fn cover(lines: &mut Vec<Proposed>, finding: &Finding) {
    if lines.iter().any(|l| l.cures(finding.place, finding.item)) {
        return;
    }
    let mut found = false;
    for line in lines.iter_mut() {
        let here = holds(finding.place, line.line.place) || line.line.place == finding.place;
        let acts = !matches!(
            line.line.work,
            Work::Fluid | Work::SensorSpeed | Work::SensorWear
        );
        let consequence = matches!(
            finding.item,
            Item::AxleImbalance | Item::ServiceEfficiency | Item::ParkingEfficiency
        );
        if here && acts && consequence {
            line.because.push(Because::of(finding));
            found = true;
        }
    }
    if !found {
        let line = LineId {
            place: finding.place,
            work: Work::Repair,
        };
        add(lines, line, finding);
    }
}

/// What belongs to a line by the vehicle's sheet or by the trade's practice.
fn belongs(case: &Case<'_>, line: LineId) -> Vec<String> {
    let axle = match line.place {
        Place::Axle(axle) => Some(axle),
        Place::Corner(corner) => Some(corner.axle()),
        Place::Vehicle => None,
    };
    let calliper = axle
        .and_then(|axle| case.axle(axle))
        .and_then(|axle| axle.calliper.as_ref());
    let mut notes = Vec::new();
    let single = |spec: Option<&crate::spec::FastenerSpec>| spec.is_some_and(|s| s.single_use);
    if let Some(calliper) = calliper {
        if line.work == Work::DiscsPads && single(calliper.carrier.as_ref()) {
            notes.push("with new carrier bolts: the sheet allows them once".to_owned());
        }
        if matches!(line.work, Work::SlidePins | Work::Calliper)
            && single(calliper.slide_pin.as_ref())
        {
            notes.push("with new slide-pin bolts: the sheet allows them once".to_owned());
        }
    }
    match line.work {
        Work::Calliper => notes.push("with bleeding; pads of both sides must match".to_owned()),
        Work::Hose => notes.push("with bleeding; the other side's hose is as old".to_owned()),
        Work::Fluid => notes.push("with bleeding at every wheel".to_owned()),
        _ => {}
    }
    notes
}

/// What leaving a line means; never a percentage, no scare words.
fn leaving(case: &Case<'_>, line: &Proposed) -> Leaving {
    if line.because.iter().any(Because::stops) {
        return Leaving::Stops;
    }
    if line.cures_fail() {
        return Leaving::Fails;
    }
    if line.because.iter().any(|b| b.at_limit) {
        return Leaving::AtLimit;
    }
    let earliest = line
        .because
        .iter()
        .filter_map(|b| match b.urgency {
            Some(Urgency::By { km: Some(km), .. }) => Some(km),
            _ => None,
        })
        .min();
    let now = case
        .job
        .opening
        .as_ref()
        .map_or(0, |o| outlast::whole_km(o.odometer));
    match earliest {
        Some(km) => Leaving::Lasts {
            km,
            left_km: (km - now).max(0),
        },
        None => Leaving::Unknown {
            service_km: outlast::whole_km(super::service(case).0),
        },
    }
}
