//! The narrow rows a record makes, so that questions need not open every record.
//!
//! Everything here can be made again from the record alone; the audit does, and compares.

use std::collections::BTreeMap;

use chrono::{DateTime, FixedOffset, SubsecRound as _};

use crate::job::{Event, Job, Meta, Phase};
use crate::judge::{self, Finding, Judgement};
use crate::office::due::{self, Standing};
use crate::office::{self, Summary};
use crate::record::freeze::{ReadRecord, Specs, Stage};

/// Version of what is derived here; rows of another version are not compared but made anew when
/// read.
pub const DERIVED_BY: i32 = 1;

/// Longest text kept in a key, in characters; longer ones are cut, and the record still holds them.
const LONGEST_KEY: usize = 200;

/// The derived rows of one record.
#[derive(Clone, Debug, PartialEq)]
pub struct Derived {
    /// Its visit.
    pub visit: VisitRow,
    /// Every finding.
    pub verdicts: Vec<VerdictRow>,
    /// Every finding with a number.
    pub results: Vec<ResultRow>,
    /// Instruments and how often each was used.
    pub instruments: Vec<(String, i32)>,
}

/// A record in short.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)] // the columns of the table `visit`, which the documentation describes
pub struct VisitRow {
    pub job_id: String,
    pub revision: i32,
    pub vin: String,
    pub registration: String,
    pub opened_at: DateTime<FixedOffset>,
    pub odometer_km: i64,
    pub signed_at: DateTime<FixedOffset>,
    pub signer: String,
    pub fingerprint: String,
    pub device: String,
    pub sequence: i64,
    pub previous: String,
    pub stage: &'static str,
    pub state: String,
    pub as_found: String,
    pub as_left: String,
    pub summary: String,
}

/// A finding's verdict.
#[derive(Clone, Debug, PartialEq, Eq)]
#[allow(missing_docs)]
pub struct VerdictRow {
    pub n: i16,
    pub place: String,
    pub item: String,
    pub phase: &'static str,
    pub verdict: String,
    pub proof: Option<String>,
    pub urgency: Option<String>,
}

/// A finding's number.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub struct ResultRow {
    pub n: i16,
    pub place: String,
    pub item: String,
    pub phase: &'static str,
    pub value: f64,
    pub unit: &'static str,
    pub limit: Option<f64>,
    pub u: Option<f64>,
    pub probability: Option<f64>,
}

/// A text as the server can hold it: PostgreSQL has no zero character.
#[must_use]
pub fn plain(text: &str) -> String {
    text.replace('\0', "\u{fffd}")
}

fn key(text: &str) -> String {
    plain(&text.chars().take(LONGEST_KEY).collect::<String>())
}

/// A VIN or plate as it is looked for: without blanks and hyphens, in capitals.
#[must_use]
pub fn bare(text: &str) -> String {
    key(&text.replace([' ', '-'], "").to_uppercase())
}

/// A record's job as its folder knows it once the record is signed.
pub fn signed(job: &mut Job, record: &ReadRecord, sha256: &str) {
    let meta = Meta {
        seq: job.last_seq + 1,
        at: record.signed_at,
        by: record.signer.principal.clone(),
    };
    job.apply(
        &meta,
        &Event::Signed {
            revision: record.revision,
            sha256: sha256.to_owned(),
        },
    );
}

/// Derives the rows of a record, from the job its journal makes; `None` if the job was never
/// opened.
#[must_use]
pub fn derive(record: &ReadRecord, mut job: Job, specs: &Specs, sha256: &str) -> Option<Derived> {
    signed(&mut job, record, sha256);
    let case = specs.case(&job, &record.instruments);
    let judgement = judge::judge(&case);
    let summary = office::summary(&case, &judgement)?;
    Some(Derived {
        visit: visit(record, &summary)?,
        verdicts: numbered(&judgement)
            .map(|(n, f)| verdict_row(n, f))
            .collect(),
        results: numbered(&judgement)
            .filter_map(|(n, f)| result_row(n, f))
            .collect(),
        instruments: uses(&job),
    })
}

fn visit(record: &ReadRecord, summary: &Summary) -> Option<VisitRow> {
    Some(VisitRow {
        job_id: plain(&record.job),
        revision: i32::try_from(record.revision).ok()?,
        vin: bare(&summary.vin),
        registration: bare(&summary.registration),
        opened_at: summary.opened.trunc_subsecs(6),
        odometer_km: office::whole_km(summary.odometer),
        signed_at: record.signed_at.trunc_subsecs(6),
        signer: plain(&record.signer.principal),
        fingerprint: key(&record.signer.fingerprint),
        device: key(&record.signer.device),
        sequence: i64::try_from(record.signer.sequence).ok()?,
        previous: key(&record.signer.previous),
        stage: match record.stage {
            Stage::AsFound => "as_found",
            Stage::Final => "final",
        },
        state: word(&summary.state),
        as_found: summary.as_found.to_string(),
        as_left: summary.as_left.to_string(),
        summary: serde_json::to_string(summary).ok()?,
    })
}

/// The one word an enumeration is written as.
pub(super) fn word(value: &impl serde::Serialize) -> String {
    match serde_json::to_value(value) {
        Ok(serde_json::Value::String(word)) => word,
        Ok(other) => other.to_string(),
        Err(_) => String::new(),
    }
}

fn numbered(judgement: &Judgement) -> impl Iterator<Item = (i16, &Finding)> {
    (0..=i16::MAX).zip(judgement.findings())
}

const fn phase(phase: Phase) -> &'static str {
    match phase {
        Phase::AsFound => "as_found",
        Phase::AsLeft => "as_left",
    }
}

fn verdict_row(n: i16, finding: &Finding) -> VerdictRow {
    VerdictRow {
        n,
        place: finding.place.to_string(),
        item: finding.item.to_string(),
        phase: phase(finding.phase),
        verdict: finding.verdict.to_string(),
        proof: finding.proof.as_ref().map(word),
        urgency: finding
            .urgency
            .as_ref()
            .map(|urgency| plain(&word(urgency))),
    }
}

fn result_row(n: i16, finding: &Finding) -> Option<ResultRow> {
    let value = finding.value?;
    Some(ResultRow {
        n,
        place: finding.place.to_string(),
        item: finding.item.to_string(),
        phase: phase(finding.phase),
        value: value.number(),
        unit: value.unit(),
        limit: finding.limit.map(judge::Figure::number),
        u: finding.u,
        probability: finding.conformance_probability,
    })
}

/// How often each instrument was read or clicked; one that was only checked on its standard counts
/// 0.
fn uses(job: &Job) -> Vec<(String, i32)> {
    let mut uses: BTreeMap<String, i32> = BTreeMap::new();
    for (_, event, struck) in job.log() {
        let (id, count) = match event {
            Event::Reading(reading) => match &reading.instrument {
                Some(id) => (id, 1),
                None => continue,
            },
            Event::Torque(task) if !task.instrument.is_empty() => (&task.instrument, 1),
            Event::ZeroCheck(check) => (&check.instrument, 0),
            _ => continue,
        };
        if !struck {
            let known = uses.entry(key(id)).or_default();
            *known = known.saturating_add(count);
        }
    }
    uses.into_iter().collect()
}

/// What stands due of the vehicles these summaries are of, all at one shop.
#[must_use]
pub fn due_of(summaries: &[Summary]) -> Vec<Standing> {
    // Two spellings of a VIN are two vehicles, as they are to the folder.
    let mut vehicles: BTreeMap<&str, Vec<&Summary>> = BTreeMap::new();
    for summary in summaries {
        vehicles.entry(&summary.vin).or_default().push(summary);
    }
    let mut rows = Vec::new();
    for visits in vehicles.values_mut() {
        visits.sort_by(|a, b| a.order().cmp(&b.order()));
        rows.extend(due::standing(visits).into_iter().map(|(_, row)| Standing {
            subject: plain(&row.subject),
            vehicle: plain(&row.vehicle),
            what: plain(&row.what),
            basis: plain(&row.basis),
            ..row
        }));
    }
    rows
}
