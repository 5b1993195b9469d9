//! What the desk needs of one job, small enough to keep for every job of a workshop.

use std::collections::BTreeMap;

use chrono::{DateTime, FixedOffset, NaiveDate};
use serde::{Deserialize, Serialize};

use super::decision::{Declined, declined};
use super::retorque::{self, Movement, OpenRetorque};
use super::state::{State, state};
use super::verdicts::Verdicts;
use crate::job::{Complaint, Corner, Item, Part, Phase, Place, Symptom};
use crate::judge::{Case, Figure, Finding, ItemVerdict, Judgement, Results, Verdict};
use crate::spec::{Percent, Policy};
use crate::units::{Distance, Length};

/// The thinnest place of a part at one visit.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Thickness {
    /// Where.
    pub corner: Corner,
    /// Disc, pads or linings.
    pub item: Item,
    /// As found.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub found: Option<Length>,
    /// As left, when new parts were fitted and measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub new: Option<Length>,
    /// New parts were fitted at this visit.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub replaced: bool,
    /// The limit it is judged by.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limit: Option<Length>,
    /// Standard uncertainty of a reading.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub u: Option<Length>,
}

/// The fitted run-out of a wheel at one visit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Ring {
    /// Where.
    pub corner: Corner,
    /// As found or as left.
    pub phase: Phase,
    /// The disc's clocking.
    pub clocking: u8,
    /// Peak to peak of the fit, in mm.
    pub peak_to_peak_mm: f64,
    /// Where its high spot is, in degrees.
    pub high_spot_deg: f64,
    /// Standard uncertainty of the peak to peak, in mm.
    pub u_mm: f64,
}

/// One job in short.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Summary {
    /// Job number.
    pub job: String,
    /// VIN.
    pub vin: String,
    /// Registration plate.
    pub registration: String,
    /// Id of the spec sheet.
    pub sheet: String,
    /// The vehicle by its spec sheet.
    pub vehicle: String,
    /// When it was opened.
    pub opened: DateTime<FixedOffset>,
    /// Odometer then.
    pub odometer: Distance,
    /// Date of first use.
    pub first_used: Option<NaiveDate>,
    /// The complaint in the trade's words.
    pub symptoms: Vec<Symptom>,
    /// The road test's answer.
    pub complaint: Option<Complaint>,
    /// Where the job stands.
    pub state: State,
    /// The state it came in.
    pub as_found: Verdict,
    /// The state it leaves in.
    pub as_left: Verdict,
    /// Items that are not good as found, by place and item.
    pub found: BTreeMap<String, ItemVerdict>,
    /// Every item as it leaves, by place and item.
    pub left: Verdicts,
    /// Wearing parts.
    pub thickness: Vec<Thickness>,
    /// Readings of the same parts from before the first job.
    pub earlier: Vec<(Corner, Item, Distance, Length)>,
    /// Run-out rings.
    pub rings: Vec<Ring>,
    /// Parts fitted.
    pub fitted: Vec<(Place, Part)>,
    /// The re-torque that is still open.
    pub retorque: Option<OpenRetorque>,
    /// How fasteners moved at re-torques.
    pub movements: Vec<Movement>,
    /// Lines the customer left.
    pub declined: Vec<Declined>,
    /// When the customer wants to be called again.
    pub call_back: Option<DateTime<FixedOffset>>,
    /// Distance and months to the next service.
    pub service: (Distance, u32),
    /// How sure a forecast's lower bound is, by the job's policy.
    #[serde(default = "usual_confidence")]
    pub forecast_confidence: Percent,
    /// By how much faster a part may wear from then on, by the job's policy.
    #[serde(default = "usual_pace")]
    pub forecast_pace: Percent,
}

/// The pace of summaries from before it was kept with them.
fn usual_pace() -> Percent {
    Policy::builtin().forecast_pace.value
}

/// The confidence of summaries from before it was kept with them.
fn usual_confidence() -> Percent {
    Policy::builtin().forecast_confidence.value
}

impl Summary {
    /// What visits are ordered by: when they began, and by number where that is the same.
    #[must_use]
    pub fn order(&self) -> (DateTime<FixedOffset>, &str) {
        (self.opened, &self.job)
    }
}

/// The key of an item in a summary's maps.
#[must_use]
pub(crate) fn key(place: Place, item: Item) -> String {
    format!("{place} {item}")
}

/// The short form of a judged job; `None` if it was never opened.
#[must_use]
pub fn summary(case: &Case<'_>, judgement: &Judgement) -> Option<Summary> {
    let opening = case.job.opening.as_ref()?;
    let verdicts = |phase| {
        judgement
            .standing(phase)
            .map(|f| (key(f.place, f.item), f.verdict))
    };
    Some(Summary {
        job: opening.job.clone(),
        vin: opening.vin.clone(),
        registration: opening.registration.clone(),
        sheet: case.sheet.id.clone(),
        vehicle: case.sheet.name.clone(),
        opened: case.job.opened.as_ref()?.at,
        odometer: opening.odometer,
        first_used: opening.first_used,
        symptoms: opening.symptoms.clone(),
        complaint: case.job.complaint.as_ref().map(|c| c.1),
        state: state(case, judgement),
        as_found: judgement.as_found,
        as_left: judgement.as_left,
        found: verdicts(Phase::AsFound)
            .filter(|(_, verdict)| *verdict != ItemVerdict::Pass)
            .collect(),
        left: verdicts(Phase::AsLeft).collect(),
        thickness: thickness(case, judgement),
        earlier: case.job.earlier.clone(),
        rings: rings(judgement),
        fitted: case.job.fitted.iter().map(|f| (f.place, f.part)).collect(),
        retorque: retorque::open(case),
        movements: retorque::movements(case),
        declined: declined(case, judgement),
        call_back: case.job.contacts.last().and_then(|(_, c)| c.call_back),
        service: super::service(case),
        forecast_confidence: case.policy.forecast_confidence.value,
        forecast_pace: case.policy.forecast_pace.value,
    })
}

fn length(figure: Option<Figure>) -> Option<Length> {
    match figure {
        Some(Figure::Length(length)) => Some(length),
        _ => None,
    }
}

fn thickness(case: &Case<'_>, judgement: &Judgement) -> Vec<Thickness> {
    const WEARING: [Item; 3] = [
        Item::DiscThickness,
        Item::PadsThickness,
        Item::LiningsThickness,
    ];
    let mut all = Vec::new();
    for found in judgement
        .standing(Phase::AsFound)
        .filter(|f| WEARING.contains(&f.item))
    {
        let Place::Corner(corner) = found.place else {
            continue;
        };
        let replaced = case
            .job
            .fitted_at(found.place)
            .any(|f| f.part.voids(found.item));
        let same = |f: &&Finding| (f.place, f.item) == (found.place, found.item);
        let left = judgement
            .standing(Phase::AsLeft)
            .filter(|_| replaced)
            .find(same);
        let figures = left.filter(|f| f.value.is_some()).unwrap_or(found);
        let one = Thickness {
            corner,
            item: found.item,
            found: length(found.value),
            new: left.and_then(|f| length(f.value)),
            replaced,
            limit: length(figures.limit).or(length(found.limit)),
            u: figures.u.or(found.u).and_then(Length::from_mm),
        };
        if one.found.is_some() || one.new.is_some() {
            all.push(one);
        }
    }
    all
}

fn rings(judgement: &Judgement) -> Vec<Ring> {
    judgement
        .findings()
        .filter_map(|f| match (&f.results, f.place) {
            (
                Some(Results::Runout {
                    fit: Some(fit),
                    clocking,
                    ..
                }),
                Place::Corner(corner),
            ) => Some(Ring {
                corner,
                phase: f.phase,
                clocking: *clocking,
                peak_to_peak_mm: fit.peak_to_peak_mm,
                high_spot_deg: fit.high_spot_deg,
                u_mm: fit.u_peak_to_peak_mm,
            }),
            _ => None,
        })
        .collect()
}
