//! The findings sheet: one model, from which every form of it is drawn.

pub mod text;

use chrono::{DateTime, FixedOffset, NaiveDate};
use serde::Serialize;

use crate::job::{Phase, Place};
use crate::judge::{Case, Finding, ItemVerdict, Judgement, Urgency, Verdict};
use crate::units::Distance;

/// The signed revision a sheet shows.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Signature {
    /// Revision number.
    pub revision: u32,
    /// SHA-256 of the record.
    pub sha256: String,
    /// Who signed.
    pub signer: String,
    /// Fingerprint of the key.
    pub fingerprint: String,
    /// When.
    pub signed_at: DateTime<FixedOffset>,
}

/// One line of a group.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Line {
    /// Where, in words.
    pub place: String,
    /// What was found, the limit and whose.
    pub sentence: String,
    /// Until when, for what can wait.
    pub until: Option<String>,
}

/// A wearing part on the distance line.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Mark {
    /// The part.
    pub part: String,
    /// Earliest odometer at which it may reach its limit, in whole km.
    pub km: i64,
}

/// Everything on the sheet.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SheetModel {
    /// The workshop.
    pub workshop: String,
    /// Job number.
    pub job: String,
    /// The day the job was opened.
    pub date: Option<NaiveDate>,
    /// Registration plate.
    pub registration: String,
    /// VIN.
    pub vin: String,
    /// The vehicle by its spec sheet.
    pub vehicle: String,
    /// Odometer in whole km.
    pub odometer_km: i64,
    /// People who entered something.
    pub people: Vec<String>,
    /// How deep the inspection went.
    pub depth: String,
    /// Whether it may be driven, in one sentence.
    pub may_it_be_driven: String,
    /// The state it leaves in.
    pub verdict: Verdict,
    /// Before it moves: stop, or before handover.
    pub before_it_moves: Vec<Line>,
    /// Before a distance or a date.
    pub before_later: Vec<Line>,
    /// What holds, in a few words.
    pub holds: Vec<String>,
    /// What was not seen or has no figure, and why.
    pub not_seen: Vec<Line>,
    /// What was put right in this visit.
    pub put_right: Vec<Line>,
    /// Wearing parts on the distance line.
    pub distance_line: Vec<Mark>,
    /// Odometer of the next service in whole km.
    pub next_service_km: Option<i64>,
    /// Re-torque due at this odometer in whole km, and within these days.
    pub retorque: Option<(i64, u32)>,
    /// Fastener torque, in words.
    pub wheel_torque: String,
    /// The signed revision, or none: then the sheet says "not signed".
    pub signature: Option<Signature>,
}

impl SheetModel {
    /// The sheet of a judged job.
    #[must_use]
    pub fn of(
        case: &Case<'_>,
        judgement: &Judgement,
        workshop: &str,
        signature: Option<Signature>,
    ) -> Self {
        let opening = case.job.opening.as_ref();
        let odometer = opening.map_or(Distance::ZERO, |o| o.odometer);
        let standing: Vec<&Finding> = judgement.standing(Phase::AsLeft).collect();
        let group = |wanted: fn(&Finding) -> bool| -> Vec<Line> {
            standing
                .iter()
                .filter(|f| wanted(f))
                .map(|f| line(f))
                .collect()
        };
        let service = case.sheet.service.distance.as_ref().map(|d| d.value);
        let retorque = case.sheet.retorque.as_ref();
        let retorque_distance = retorque
            .and_then(|rule| rule.distance.as_ref())
            .map_or(case.policy.retorque_distance.value, |d| d.value);
        let retorque_days = retorque
            .and_then(|rule| rule.days)
            .unwrap_or(case.policy.retorque_days.value);
        Self {
            workshop: workshop.to_owned(),
            job: judgement.job.clone(),
            date: case.job.opened.as_ref().map(|meta| meta.at.date_naive()),
            registration: opening.map(|o| o.registration.clone()).unwrap_or_default(),
            vin: opening.map(|o| o.vin.clone()).unwrap_or_default(),
            vehicle: case.sheet.name.clone(),
            odometer_km: whole_km(odometer),
            people: people(case),
            depth: format!("{:?}", case.depth()).to_lowercase(),
            may_it_be_driven: may_it_be_driven(&standing),
            verdict: judgement.as_left,
            before_it_moves: group(|f| f.verdict == ItemVerdict::Fail),
            before_later: group(|f| f.verdict == ItemVerdict::Advise),
            holds: holds(&standing),
            not_seen: group(|f| {
                matches!(f.verdict, ItemVerdict::NotInspected | ItemVerdict::NoLimit)
            }),
            put_right: put_right(judgement, &standing),
            distance_line: marks(&standing, odometer),
            next_service_km: service.map(|service| whole_km(odometer + service)),
            retorque: Some((whole_km(odometer + retorque_distance), retorque_days)),
            wheel_torque: case
                .sheet
                .wheel
                .torque
                .as_ref()
                .map(|torque| torque.value.to_string())
                .unwrap_or_default(),
            signature,
        }
    }
}

fn whole_km(distance: Distance) -> i64 {
    distance.mm().div_euclid(1_000_000)
}

fn people(case: &Case<'_>) -> Vec<String> {
    let mut people: Vec<String> = Vec::new();
    for (meta, _, _) in case.job.log() {
        if !people.contains(&meta.by) {
            people.push(meta.by.clone());
        }
    }
    people
}

fn line(finding: &Finding) -> Line {
    let until = match &finding.urgency {
        Some(Urgency::By { .. }) => finding.urgency.as_ref().map(ToString::to_string),
        _ => None,
    };
    Line {
        place: finding.place.in_words(),
        sentence: finding.sentence.clone(),
        until,
    }
}

fn may_it_be_driven(standing: &[&Finding]) -> String {
    let stop = standing.iter().any(|f| f.urgency == Some(Urgency::Stop));
    let fail = standing.iter().any(|f| f.verdict == ItemVerdict::Fail);
    let open = standing
        .iter()
        .any(|f| matches!(f.verdict, ItemVerdict::NotInspected | ItemVerdict::NoLimit));
    match (stop, fail, open) {
        (true, ..) => "No. Do not drive it before the points below are put right.",
        (_, true, _) => "Not before the points below are put right.",
        (_, _, true) => {
            "Nothing we inspected speaks against it, but we could not inspect everything; see \"not seen\"."
        }
        _ => "Nothing we inspected speaks against it.",
    }
    .to_owned()
}

/// What holds, item by item, with the corners together.
fn holds(standing: &[&Finding]) -> Vec<String> {
    let mut items: Vec<(&str, Vec<String>)> = Vec::new();
    for finding in standing.iter().filter(|f| f.verdict == ItemVerdict::Pass) {
        let place = match finding.place {
            Place::Corner(corner) => corner.to_string(),
            Place::Axle(axle) => axle.to_string(),
            Place::Vehicle => String::new(),
        };
        let title = finding.item.title();
        match items.iter_mut().find(|(known, _)| *known == title) {
            Some((_, places)) => places.push(place),
            None => items.push((title, vec![place])),
        }
    }
    items
        .into_iter()
        .map(|(title, places)| {
            let places = places.join(" ");
            if places.is_empty() {
                title.to_owned()
            } else {
                format!("{title} ({places})")
            }
        })
        .collect()
}

/// Found wanting, and good as it leaves.
fn put_right(judgement: &Judgement, standing: &[&Finding]) -> Vec<Line> {
    judgement
        .standing(Phase::AsFound)
        .filter(|found| matches!(found.verdict, ItemVerdict::Fail | ItemVerdict::Advise))
        .filter(|found| {
            standing.iter().any(|left| {
                (left.place, left.item) == (found.place, found.item)
                    && left.verdict == ItemVerdict::Pass
            })
        })
        .map(line)
        .collect()
}

fn marks(standing: &[&Finding], odometer: Distance) -> Vec<Mark> {
    use crate::judge::{ForecastResults, Results};
    standing
        .iter()
        .filter_map(|finding| match &finding.results {
            Some(Results::Friction {
                forecast:
                    ForecastResults::Known {
                        distance_left_lower_km,
                        ..
                    },
                ..
            }) => Some(Mark {
                part: format!("{} {}", finding.place, finding.item.title()),
                km: whole_km(odometer) + distance_left_lower_km,
            }),
            _ => None,
        })
        .collect()
}
