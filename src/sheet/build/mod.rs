//! Builds the models from a judged job. Nothing is computed here that the judgement does not hold.

mod corner;
mod sentence;
mod technical;
mod worksheet;

use std::collections::BTreeMap;

use chrono::{DateTime, Days, FixedOffset, NaiveDate};

use super::chart::{self, DistanceMark};
use super::forms::{Forms, Toward};
use super::model::{
    Block, DistanceLine, Drive, Fact, Form, Group, Head, Line, Mark, Photo, Quote, QuoteLine,
    SCHEMA, SheetModel, Signature, SignatureBlock, Slip, TagModel,
};
use super::palette::Tone;
use super::photo::PhotoFile;
use crate::job::{Depth, Event, Phase};
use crate::judge::{Case, Finding, ForecastResults, ItemVerdict, Judgement, Results, Urgency};
use crate::units::Distance;

pub use worksheet::worksheet;

/// What a sheet is made of.
#[derive(Debug)]
pub struct Material<'a> {
    /// The job and what it is judged by.
    pub case: &'a Case<'a>,
    /// Its judgement.
    pub judgement: &'a Judgement,
    /// The workshop's name.
    pub workshop: &'a str,
    /// Its address.
    pub address: &'a [String],
    /// The signed revision behind it.
    pub signature: Option<Signature>,
    /// Photos, as they lie in the job's folder.
    pub photos: Vec<PhotoFile>,
    /// The desk's revised quote; empty when there is none.
    pub quote: Vec<QuoteLine>,
    /// The state it shows: as the vehicle leaves, or as it was found.
    pub state: Phase,
}

/// The findings sheet.
#[must_use]
pub fn sheet(material: &Material<'_>, form: Form) -> SheetModel {
    let forms = Forms::new(form.language, form.units);
    let case = material.case;
    let standing: Vec<&Finding> = material.judgement.standing(material.state).collect();
    let photos = photos(material, &forms);
    let title = forms.words.say(
        "title-sheet",
        &[("job", material.judgement.job.clone().into())],
    );
    SheetModel {
        kind: "sheet",
        head: head(material, &forms, form, title),
        edition: form.edition,
        drive: drive(&forms, &standing),
        groups: groups(case, material.judgement, &forms, &standing),
        distance: distance(case, &forms, &standing),
        quote: quote(material, &forms),
        blocks: blocks(material, &forms, &photos),
        photos,
        technical: technical::technical(material, &forms, form.edition),
        slip: slip(case, &forms),
        signature: signature(material, &forms),
        cautions: [
            "caution-what",
            "caution-not-official",
            "caution-hidden",
            "caution-law",
            "caution-retorque",
        ]
        .map(|id| forms.words.plain(id))
        .to_vec(),
    }
}

/// The re-torque slip alone.
#[must_use]
pub fn tag(material: &Material<'_>, form: Form) -> TagModel {
    let forms = Forms::new(form.language, form.units);
    let title = forms.words.say(
        "title-tag",
        &[("job", material.judgement.job.clone().into())],
    );
    TagModel {
        kind: "tag",
        head: head(material, &forms, form, title),
        slip: slip(material.case, &forms),
    }
}

fn head(material: &Material<'_>, forms: &Forms, form: Form, title: String) -> Head {
    Head {
        schema: SCHEMA,
        language: form.language.tag(),
        paper: form.paper,
        large: form.large,
        title,
        job: material.judgement.job.clone(),
        workshop: material.workshop.to_owned(),
        address: material.address.to_vec(),
        facts: facts(material, forms),
        as_of: as_of(material),
        labels: forms.words.labels(),
        palette: palette(),
        icons: Tone::ALL
            .into_iter()
            .map(|tone| (tone.word(), chart::icon(tone)))
            .collect(),
    }
}

fn palette() -> BTreeMap<&'static str, String> {
    use super::palette::{INK, PANEL, SOFT, hex};
    let tones = Tone::ALL
        .into_iter()
        .map(|tone| (tone.word(), hex(tone.ink())));
    tones
        .chain([
            ("ink", hex(INK)),
            ("soft", hex(SOFT)),
            ("panel", hex(PANEL)),
        ])
        .collect()
}

/// When the content is from.
fn as_of(material: &Material<'_>) -> Option<DateTime<FixedOffset>> {
    let signed = material
        .signature
        .as_ref()
        .map(|signature| signature.signed_at);
    signed.or_else(|| material.case.job.log().last().map(|(meta, ..)| meta.at))
}

fn facts(material: &Material<'_>, forms: &Forms) -> Vec<Fact> {
    let case = material.case;
    let mut facts = Vec::new();
    let mut add = |label: &str, value: String| {
        if !value.trim().is_empty() {
            let label = forms.words.plain(&format!("label-{label}"));
            facts.push(Fact { label, value });
        }
    };
    add("vehicle", case.sheet.name.clone());
    let opening = case.job.opening.as_ref();
    if let Some(opening) = opening {
        add("registration", opening.registration.clone());
        add("vin", opening.vin.clone());
        add("odometer", forms.distance(opening.odometer, Toward::Down));
    }
    if let Some(opened) = &case.job.opened {
        add("date", forms.date(opened.at.date_naive()));
    }
    add("people", people(case).join(", "));
    let depth = match case.depth() {
        Depth::Quick => "depth-quick",
        Depth::Full => "depth-full",
    };
    add("depth", forms.words.plain(depth));
    if material.state == Phase::AsFound {
        add("phase", forms.phase(Phase::AsFound));
    }
    if let Some(opening) = opening {
        add("complaint", opening.complaint.clone());
    }
    facts
}

/// Everybody who read, looked or torqued; the desk did not measure.
fn people(case: &Case<'_>) -> Vec<String> {
    let mut people: Vec<String> = Vec::new();
    for (meta, event, _) in case.job.log() {
        let measured = matches!(
            event,
            Event::Reading(_)
                | Event::Seen { .. }
                | Event::Torque(_)
                | Event::ZeroCheck(_)
                | Event::CastMark { .. }
        );
        if measured && !people.contains(&meta.by) {
            people.push(meta.by.clone());
        }
    }
    people
}

const fn unseen(verdict: ItemVerdict) -> bool {
    matches!(verdict, ItemVerdict::NotInspected | ItemVerdict::NoLimit)
}

fn drive(forms: &Forms, standing: &[&Finding]) -> Drive {
    let any = |wanted: fn(&Finding) -> bool| standing.iter().any(|finding| wanted(finding));
    let (id, tone) = if any(|f| f.urgency == Some(Urgency::Stop)) {
        ("drive-stop", Tone::Now)
    } else if any(|f| f.verdict == ItemVerdict::Fail) {
        ("drive-fail", Tone::Now)
    } else if standing.is_empty() || any(|f| unseen(f.verdict)) {
        ("drive-open", Tone::Unseen)
    } else if any(|f| f.verdict == ItemVerdict::Advise) {
        ("drive-later", Tone::Later)
    } else {
        ("drive-good", Tone::Holds)
    };
    let group = |id: &str| forms.words.plain(id).into();
    let args = [
        ("now", group("group-now")),
        ("later", group("group-later")),
        ("unseen", group("group-unseen")),
    ];
    Drive {
        question: forms.words.plain("label-drive"),
        answer: forms.words.say(id, &args),
        tone,
    }
}

fn groups(
    case: &Case<'_>,
    judgement: &Judgement,
    forms: &Forms,
    standing: &[&Finding],
) -> Vec<Group> {
    let line = |finding: &&Finding| Line {
        subject: forms.subject(finding.place, finding.item),
        sentences: sentence::sentences(case, forms, finding),
        until: until(forms, finding.urgency.as_ref()),
        tone: finding.verdict.into(),
    };
    let group = |id: &'static str, tone: Tone, lines: Vec<Line>| Group {
        id,
        title: forms.words.plain(match id {
            "now" => "group-now",
            "later" => "group-later",
            "holds" => "group-holds",
            "put_right" => "group-put-right",
            _ => "group-unseen",
        }),
        tone,
        lines,
        none: match id {
            "now" => forms.words.plain("group-now-none"),
            "later" => forms.words.plain("group-later-none"),
            "holds" => forms.words.plain("group-holds-none"),
            "unseen" => forms.words.plain("group-unseen-none"),
            _ => String::new(),
        },
    };
    let of = |wanted: fn(&Finding) -> bool| -> Vec<Line> {
        standing.iter().filter(|f| wanted(f)).map(line).collect()
    };
    let mut now: Vec<&Finding> = standing
        .iter()
        .copied()
        .filter(|f| f.verdict == ItemVerdict::Fail)
        .collect();
    now.sort_by_key(|f| f.urgency != Some(Urgency::Stop));
    let mut later: Vec<&Finding> = standing
        .iter()
        .copied()
        .filter(|f| f.verdict == ItemVerdict::Advise)
        .collect();
    later.sort_by_key(|f| match &f.urgency {
        Some(Urgency::By { km, .. }) => km.unwrap_or(i64::MAX - 1),
        _ => i64::MAX,
    });
    let mut all = vec![
        group("now", Tone::Now, now.iter().map(line).collect()),
        group("later", Tone::Later, later.iter().map(line).collect()),
        group("holds", Tone::Holds, holds(forms, standing)),
        group("unseen", Tone::Unseen, of(|f| unseen(f.verdict))),
    ];
    let put_right: Vec<Line> = judgement
        .standing(Phase::AsFound)
        .filter(|found| matches!(found.verdict, ItemVerdict::Fail | ItemVerdict::Advise))
        .filter(|found| {
            standing.iter().any(|left| {
                (left.place, left.item) == (found.place, found.item)
                    && left.verdict == ItemVerdict::Pass
            })
        })
        .map(|found| Line {
            until: None,
            ..line(&found)
        })
        .collect();
    if !put_right.is_empty() {
        all.push(group("put_right", Tone::Holds, put_right));
    }
    all
}

fn until(forms: &Forms, urgency: Option<&Urgency>) -> Option<String> {
    let km = |km: i64| forms.km(km, Toward::Down).into();
    Some(match urgency? {
        Urgency::Stop => forms.words.plain("until-stop"),
        Urgency::BeforeHandover => forms.words.plain("until-handover"),
        Urgency::By {
            km: Some(at),
            date: None,
        } => forms.words.say("until-km", &[("km", km(*at))]),
        Urgency::By {
            km: None,
            date: Some(date),
        } => forms
            .words
            .say("until-date", &[("date", forms.date(*date).into())]),
        Urgency::By {
            km: Some(at),
            date: Some(date),
        } => forms.words.say(
            "until-km-date",
            &[("km", km(*at)), ("date", forms.date(*date).into())],
        ),
        Urgency::By { .. } | Urgency::Watch => forms.words.plain("until-watch"),
    })
}

/// What holds, in one line: item by item, with the places where it holds if not at all of them.
fn holds(forms: &Forms, standing: &[&Finding]) -> Vec<Line> {
    let mut items: Vec<(crate::job::Item, Vec<&Finding>)> = Vec::new();
    for finding in standing.iter().filter(|f| f.verdict == ItemVerdict::Pass) {
        match items.iter_mut().find(|(item, _)| *item == finding.item) {
            Some((_, at)) => at.push(finding),
            None => items.push((finding.item, vec![finding])),
        }
    }
    if items.is_empty() {
        return Vec::new();
    }
    let words: Vec<String> = items
        .iter()
        .map(|(item, at)| {
            let everywhere = standing.iter().filter(|f| f.item == *item).count() == at.len();
            if everywhere {
                forms.item(*item)
            } else {
                let places: Vec<String> = at.iter().map(|f| forms.place(f.place)).collect();
                format!("{} ({})", forms.item(*item), places.join(", "))
            }
        })
        .collect();
    vec![Line {
        subject: String::new(),
        sentences: vec![format!("{}.", words.join(", "))],
        until: None,
        tone: Tone::Holds,
    }]
}

fn whole_km(distance: Distance) -> i64 {
    distance.mm().div_euclid(1_000_000)
}

/// The next service: the sheet's distance, else the policy's.
fn service_km(case: &Case<'_>) -> Option<i64> {
    let odometer = case.job.opening.as_ref()?.odometer;
    let sheet = case.sheet.service.distance.as_ref().map(|d| d.value);
    Some(whole_km(
        odometer + sheet.unwrap_or(case.policy.service_distance.value),
    ))
}

/// The shortest distance left of a part, where there is a forecast, in whole km.
pub(in crate::sheet) fn lower_km(finding: &Finding) -> Option<i64> {
    let forecast = match &finding.results {
        Some(Results::Friction { forecast, .. }) => forecast,
        Some(Results::Thickness {
            forecast: Some(forecast),
            ..
        }) => forecast,
        _ => return None,
    };
    match forecast {
        ForecastResults::Known {
            distance_left_lower_km,
            ..
        } => Some(*distance_left_lower_km),
        ForecastResults::None { .. } => None,
    }
}

/// The parts with a forecast: what, where on the odometer at the earliest; nearest first.
fn forecasts<'f>(case: &Case<'_>, standing: &[&'f Finding]) -> Vec<(&'f Finding, i64)> {
    let odometer = case
        .job
        .opening
        .as_ref()
        .map_or(Distance::ZERO, |o| o.odometer);
    let mut parts: Vec<(&Finding, i64)> = standing
        .iter()
        .filter_map(|finding| {
            Some((
                *finding,
                whole_km(odometer).saturating_add(lower_km(finding)?),
            ))
        })
        .collect();
    parts.sort_by_key(|(_, at)| *at);
    parts
}

fn distance(case: &Case<'_>, forms: &Forms, standing: &[&Finding]) -> Option<DistanceLine> {
    let today = whole_km(case.job.opening.as_ref()?.odometer);
    let parts = forecasts(case, standing);
    if parts.is_empty() {
        return None;
    }
    let service = service_km(case);
    let letters = ('a'..='z').chain('A'..='Z');
    let lettered: Vec<(char, &Finding, i64)> = letters
        .zip(parts)
        .map(|(letter, (finding, at))| (letter, finding, at))
        .collect();
    // The ruler is in the unit of the sheet, so that its ticks are round.
    let unit = |km: i64| forms.odometer(km, Toward::Down).0;
    let marks: Vec<DistanceMark> = lettered
        .iter()
        .map(|(letter, finding, at)| DistanceMark {
            at: unit(*at),
            letter: *letter,
            tone: finding.verdict.into(),
        })
        .collect();
    let today_words = forms.words.plain("chart-today");
    let service_words = forms.words.plain("chart-service");
    let alt = forms.words.say(
        "chart-distance",
        &[("today", forms.km(today, Toward::Down).into())],
    );
    let drawing = chart::distance_line(
        unit(today),
        service.map(unit),
        &marks,
        (&today_words, &service_words),
        |at| forms.grouped(at),
        &alt,
    );
    let mut ends = vec![Fact {
        label: today_words,
        value: forms.km(today, Toward::Down),
    }];
    if let Some(service) = service {
        ends.push(Fact {
            label: service_words,
            value: forms.km(service, Toward::Down),
        });
    }
    Some(DistanceLine {
        picture: drawing.into(),
        marks: lettered
            .iter()
            .map(|(letter, finding, at)| Mark {
                letter: *letter,
                part: forms.subject(finding.place, finding.item),
                at: forms.km(*at, Toward::Down),
            })
            .collect(),
        ends,
        numbers: (
            unit(today),
            service.map(unit),
            lettered
                .iter()
                .map(|(letter, _, at)| (unit(*at), *letter))
                .collect(),
        ),
    })
}

fn quote(material: &Material<'_>, forms: &Forms) -> Quote {
    let given = material
        .case
        .job
        .opening
        .as_ref()
        .map(|o| o.quote.as_str())
        .unwrap_or_default();
    Quote {
        given: (!given.is_empty())
            .then(|| forms.words.say("quote-given", &[("text", given.into())])),
        none: forms.words.plain("quote-none"),
        lines: material.quote.clone(),
    }
}

fn blocks(material: &Material<'_>, forms: &Forms, photos: &[Photo]) -> Vec<Block> {
    let judgement = material.judgement;
    let mut blocks: Vec<Block> = Vec::new();
    for (corner, judged) in &judgement.corners {
        blocks.push(corner::block(
            material,
            forms,
            photos,
            crate::job::Place::Corner(*corner),
            judged,
        ));
    }
    for (axle, judged) in &judgement.axles {
        blocks.push(corner::block(
            material,
            forms,
            photos,
            crate::job::Place::Axle(*axle),
            judged,
        ));
    }
    blocks.push(corner::block(
        material,
        forms,
        photos,
        crate::job::Place::Vehicle,
        &judgement.vehicle,
    ));
    blocks.retain(|block| {
        !block.items.is_empty() || !block.looked.is_empty() || !block.notes.is_empty()
    });
    blocks
}

fn photos(material: &Material<'_>, forms: &Forms) -> Vec<Photo> {
    let mut files: BTreeMap<&str, &PhotoFile> = BTreeMap::new();
    for file in &material.photos {
        files.insert(&file.sha256, file);
    }
    (1usize..)
        .zip(&material.case.job.photos)
        .map(|(number, (_, place, item, sha256, _))| {
            let count = number.to_string();
            let file = files
                .get(sha256.as_str())
                .filter(|file| file.is_the_recorded_one());
            let format = file.and_then(|file| file.format());
            let caption = match (file, format) {
                (None, _) => forms
                    .words
                    .say("photo-missing", &[("number", count.into())]),
                (_, None) => forms
                    .words
                    .say("photo-unreadable", &[("number", count.into())]),
                _ => forms.words.say(
                    "photo-caption",
                    &[
                        ("number", count.into()),
                        ("place", forms.place(*place).into()),
                        ("item", forms.item(*item).into()),
                    ],
                ),
            };
            Photo {
                number,
                caption,
                format,
                sha256: sha256.clone(),
                bytes: file
                    .filter(|_| format.is_some())
                    .map(|f| f.bytes.clone())
                    .unwrap_or_default(),
            }
        })
        .collect()
}

/// The day the wheels were torqued, else of the last entry.
fn torqued_on(case: &Case<'_>) -> Option<NaiveDate> {
    let mut last = None;
    let mut torqued = None;
    for (meta, event, struck) in case.job.log() {
        last = Some(meta.at.date_naive());
        if matches!(event, Event::Torque(_)) && !struck {
            torqued = last;
        }
    }
    torqued.or(last)
}

/// Re-torque: the sheet's distance and days, else the policy's.
fn slip(case: &Case<'_>, forms: &Forms) -> Slip {
    let rule = case.sheet.retorque.as_ref();
    let distance = rule
        .and_then(|rule| rule.distance.as_ref())
        .map_or(case.policy.retorque_distance.value, |d| d.value);
    let days = rule
        .and_then(|rule| rule.days)
        .unwrap_or(case.policy.retorque_days.value);
    let odometer = case.job.opening.as_ref().map(|o| o.odometer);
    let due_km = odometer.map(|odometer| whole_km(odometer + distance));
    let due = torqued_on(case).and_then(|day| day.checked_add_days(Days::new(days.into())));
    let mut sentences = vec![match &case.sheet.wheel.torque {
        Some(torque) => forms.words.say(
            "retorque-sentence",
            &[("torque", forms.torque(torque.value).into())],
        ),
        None => forms.words.plain("retorque-no-torque"),
    }];
    if let Some(km) = due_km {
        let args = [
            ("km", forms.km(km, Toward::Down).into()),
            ("days", days.into()),
        ];
        sentences.push(forms.words.say("retorque-due", &args));
    }
    if let Some(due) = due {
        sentences.push(
            forms
                .words
                .say("retorque-by-date", &[("date", forms.date(due).into())]),
        );
    }
    sentences.push(forms.words.plain("retorque-how"));
    Slip {
        sentences,
        due_km,
        due,
    }
}

fn signature(material: &Material<'_>, forms: &Forms) -> SignatureBlock {
    let Some(signature) = &material.signature else {
        return SignatureBlock {
            signed: false,
            sentence: forms.words.plain("not-signed"),
            facts: Vec::new(),
            how: String::new(),
            command: Vec::new(),
            qr: None,
        };
    };
    let revision = signature.revision;
    let fact = |id: &str, value: String| Fact {
        label: forms.words.plain(id),
        value,
    };
    let job = &material.judgement.job;
    let text = format!("{job} {revision} sha256:{}", signature.sha256);
    SignatureBlock {
        signed: true,
        sentence: forms.words.plain("signed"),
        facts: vec![
            fact("label-signer", signature.signer.clone()),
            fact("label-signed-at", forms.time(signature.signed_at)),
            fact("label-revision", revision.to_string()),
            fact("label-digest", signature.sha256.clone()),
            fact("label-key", signature.fingerprint.clone()),
        ],
        how: forms.words.plain("check-how"),
        command: vec![
            format!(
                "ssh-keygen -Y verify -f signers -I \"{}\" \\",
                signature.signer.replace('"', "")
            ),
            format!(
                "  -n brakecorner-record -s record-{revision}.json.sig < record-{revision}.json"
            ),
        ],
        qr: chart::qr(&text, &forms.words.plain("chart-qr")).map(Into::into),
    }
}
