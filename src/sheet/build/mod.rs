//! Builds the models from a judged job. Nothing is computed here that the judgement does not hold.

mod corner;
mod desk;
mod distance;
mod limits;
mod quote;
mod sentence;
mod slip;
mod technical;
mod worksheet;

use std::collections::BTreeMap;

use chrono::{DateTime, FixedOffset};

use super::chart;
use super::forms::{Forms, Toward};
use super::model::{
    Backing, Block, Customer, Drive, Fact, Form, Group, Head, Line, Offer, Photo, SCHEMA,
    SheetModel, TagModel,
};
use super::palette::Tone;
use super::photo::PhotoFile;
use crate::job::{Depth, Event, Phase};
use crate::judge::{Case, Finding, ItemVerdict, Judgement, Urgency};
use crate::office::{self, DriveAnswer, Reason};
use crate::units::Distance;

use distance::distance;
pub(in crate::sheet) use distance::lower_km;
use slip::{no_slip, signature, slip};
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
    /// The customer, from beside the record.
    pub customer: Customer,
    /// The signed revision behind it.
    pub backing: Backing,
    /// Photos, as they lie in the job's folder.
    pub photos: Vec<PhotoFile>,
    /// The desk's revised quote; empty when there is none.
    pub quote: Vec<Offer>,
    /// The state it shows: as the vehicle leaves, or as it was found.
    pub state: Phase,
}

/// The forms a document is written in.
pub(in crate::sheet) fn forms(form: Form) -> Forms {
    Forms::new(form.language, form.units).calling_sides(form.sides)
}

/// The findings sheet.
#[must_use]
pub fn sheet(material: &Material<'_>, form: Form) -> SheetModel {
    let forms = forms(form);
    let case = material.case;
    let standing: Vec<&Finding> = material.judgement.standing(material.state).collect();
    let photos = photos(material, &forms);
    SheetModel {
        kind: "sheet",
        head: head(material, &forms, form, "sheet"),
        edition: form.edition,
        drive: drive(material, &forms, &standing),
        notices: notices(material, &forms),
        groups: groups(material, &forms, &standing),
        distance: distance(case, &forms, &standing),
        quote: quote::quote(material, &forms),
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
    let forms = forms(form);
    TagModel {
        kind: "tag",
        head: head(material, &forms, form, "tag"),
        slip: slip(material.case, &forms).unwrap_or_else(|| no_slip(&forms)),
    }
}

fn head(material: &Material<'_>, forms: &Forms, form: Form, kind: &'static str) -> Head {
    let job = material.judgement.job.as_str();
    let title = forms
        .words
        .say(&format!("title-{kind}"), &[("job", job.into())]);
    Head {
        schema: SCHEMA,
        language: form.language.tag(),
        paper: form.paper,
        large: form.large,
        title,
        job: material.judgement.job.clone(),
        workshop: material.workshop.to_owned(),
        address: material.address.to_vec(),
        facts: facts(material, forms, kind),
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
    let signed = material.backing.signed().map(|signed| signed.signed_at);
    signed.or_else(|| material.case.job.log().last().map(|(meta, ..)| meta.at))
}

fn facts(material: &Material<'_>, forms: &Forms, kind: &str) -> Vec<Fact> {
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
    }
    add("customer", customer(material, forms, kind));
    if let Some(opening) = opening {
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

/// The customer's name, on the sheet alone: what hangs at the wheel or in the vehicle needs none.
fn customer(material: &Material<'_>, forms: &Forms, kind: &str) -> String {
    match &material.customer {
        Customer::Given(name) if kind == "sheet" => name.clone(),
        Customer::Deleted if kind == "sheet" => forms.words.plain("customer-deleted"),
        Customer::Differs if kind == "sheet" => forms.words.plain("customer-differs"),
        _ => String::new(),
    }
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

/// Whether not one of these was inspected, so that nothing can be said.
fn nothing_seen(findings: &[&Finding]) -> bool {
    findings
        .iter()
        .all(|finding| finding.verdict == ItemVerdict::NotInspected)
}

/// Whether nothing but the refit's own steps has an answer.
fn nothing_inspected(findings: &[&Finding]) -> bool {
    use crate::job::Kind;
    let mut looked = findings.iter().filter(|f| f.item.kind() != Kind::Refit);
    looked.all(|finding| finding.verdict == ItemVerdict::NotInspected)
}

/// May it be driven: the office's answer, in the customer's words.
fn drive(material: &Material<'_>, forms: &Forms, standing: &[&Finding]) -> Drive {
    let drive = office::drive(material.case, material.judgement, material.state);
    let refit_alone = !drive
        .because
        .iter()
        .any(|reason| matches!(reason, Reason::BeforeHandover { .. }));
    let (id, tone) = match drive.answer {
        DriveAnswer::No => ("drive-stop", Tone::Now),
        DriveAnswer::NotYet if nothing_inspected(standing) => ("drive-nothing", Tone::Unseen),
        DriveAnswer::NotYet if refit_alone => ("drive-refit", Tone::Now),
        DriveAnswer::NotYet => ("drive-fail", Tone::Now),
        DriveAnswer::NotKnown if nothing_seen(standing) => ("drive-unknown", Tone::Unseen),
        DriveAnswer::NotKnown => ("drive-open", Tone::Unseen),
        DriveAnswer::Until => ("drive-until", Tone::Later),
        DriveAnswer::Yes => ("drive-good", Tone::Holds),
    };
    let group = |id: &str| forms.words.plain(id).into();
    let until = match (drive.until_km, drive.until_date) {
        (Some(km), Some(date)) => forms.words.say(
            "drive-until-both",
            &[
                ("km", forms.km(km, Toward::Down).into()),
                ("date", forms.date(date).into()),
            ],
        ),
        (Some(km), None) => forms.km(km, Toward::Down),
        (None, Some(date)) => forms.date(date),
        (None, None) => String::new(),
    };
    let args = [
        ("now", group("group-now")),
        ("later", group("group-later")),
        ("unseen", group("group-unseen")),
        ("until", until.into()),
    ];
    let mut answer = forms.words.say(id, &args);
    if drive.because.contains(&Reason::RefitToCome) && drive.answer >= DriveAnswer::NotKnown {
        answer = format!("{answer} {}", forms.words.plain("drive-refit-to-come"));
    }
    Drive {
        question: forms.words.plain("label-drive"),
        answer,
        tone,
    }
}

/// What the signed record must tell beside the findings.
fn notices(material: &Material<'_>, forms: &Forms) -> Vec<String> {
    let words = &forms.words;
    let revision = |number: u32| ("revision", number.to_string().into());
    let mut notices = Vec::new();
    match &material.backing {
        Backing::Lost { revision: number } => {
            notices.push(words.say("notice-lost", &[revision(*number)]));
        }
        Backing::ChangedSince(signed) => {
            notices.push(words.say("notice-changed", &[revision(signed.revision)]));
        }
        Backing::OtherToday {
            signature,
            otherwise,
        } => {
            let what: Vec<String> = otherwise
                .iter()
                .map(|(place, item)| forms.subject(*place, *item))
                .collect();
            let args = [
                revision(signature.revision),
                ("what", what.join("; ").into()),
            ];
            notices.push(words.say("notice-other-today", &args));
        }
        Backing::Unsigned | Backing::Signed(_) => {}
    }
    if let Backing::Signed(signed)
    | Backing::ChangedSince(signed)
    | Backing::OtherToday {
        signature: signed, ..
    } = &material.backing
        && !signed.incomplete.is_empty()
    {
        let reason = ("reason", signed.incomplete.as_str().into());
        notices.push(words.say("notice-unfinished", &[revision(signed.revision), reason]));
    }
    notices
}

fn groups(material: &Material<'_>, forms: &Forms, standing: &[&Finding]) -> Vec<Group> {
    let sentences = |finding: &Finding| {
        let mut said = sentence::sentences(material.case, forms, finding);
        if matches!(finding.verdict, ItemVerdict::Fail | ItemVerdict::Advise)
            && let Some(offer) = quote::declined(material, finding)
        {
            let left = standing
                .iter()
                .find(|left| (left.place, left.item) == (finding.place, finding.item));
            let holds = left.is_some_and(|left| left.verdict == ItemVerdict::Pass);
            said.extend(quote::declined_words(forms, offer, holds));
        }
        said
    };
    let line = |finding: &&Finding| Line {
        subject: forms.subject(finding.place, finding.item),
        sentences: sentences(finding),
        until: until(forms, finding),
        tone: finding.verdict.into(),
    };
    let group = |id: &'static str, tone: Tone, lines: Vec<Line>| Group {
        id,
        title: forms.words.plain(match id {
            "now" => "group-now",
            "later" => "group-later",
            "holds" => "group-holds",
            "put_right" => "group-put-right",
            "declined" => "group-declined",
            _ => "group-unseen",
        }),
        tone,
        lines,
        none: match id {
            "now" | "later" if nothing_seen(standing) => forms.words.plain("group-none-unknown"),
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
        group("holds", Tone::Holds, {
            let mut lines = holds(forms, standing);
            lines.extend(of(|f| {
                f.verdict == ItemVerdict::Pass && (sentence::eased(f) || !f.struck.is_empty())
            }));
            lines
        }),
        group("unseen", Tone::Unseen, of(|f| unseen(f.verdict))),
    ];
    // What was found wanting and holds now: by work, or although the customer declined the work.
    let (declined, put_right): (Vec<&Finding>, Vec<&Finding>) = material
        .judgement
        .standing(Phase::AsFound)
        .filter(|found| matches!(found.verdict, ItemVerdict::Fail | ItemVerdict::Advise))
        .filter(|found| {
            standing.iter().any(|left| {
                (left.place, left.item) == (found.place, found.item)
                    && left.verdict == ItemVerdict::Pass
                    && !sentence::eased(left)
            })
        })
        .partition(|found| quote::declined(material, found).is_some());
    for (id, tone, found) in [
        ("put_right", Tone::Holds, put_right),
        ("declined", Tone::Later, declined),
    ] {
        let before = |found: &&Finding| Line {
            until: None,
            ..line(found)
        };
        if !found.is_empty() {
            all.push(group(id, tone, found.iter().map(before).collect()));
        }
    }
    all
}

fn until(forms: &Forms, finding: &Finding) -> Option<String> {
    let urgency = finding.urgency.as_ref();
    if urgency == Some(&Urgency::Watch) && finding.verdict == ItemVerdict::Advise {
        // What needs work now is not put off to a service.
        if let Some(id) = work_now(finding) {
            return Some(forms.words.plain(id));
        }
    }
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

/// The work that an advice names in place of a date: at or past its limit, or seized on the hub.
fn work_now(finding: &Finding) -> Option<&'static str> {
    use crate::job::Item;
    match finding.item {
        Item::WheelSeat | Item::HubFace => return Some("until-seat"),
        _ => {}
    }
    finding.at_limit().then_some("until-at-limit")
}

/// What holds, in one line: item by item, with the places where it holds if not at all of them.
/// What holds by a person's word alone is not among it.
fn holds(forms: &Forms, standing: &[&Finding]) -> Vec<Line> {
    let mut items: Vec<(crate::job::Item, Vec<&Finding>)> = Vec::new();
    let holding = |f: &&&Finding| {
        f.verdict == ItemVerdict::Pass && !sentence::eased(f) && f.struck.is_empty()
    };
    for finding in standing.iter().filter(holding) {
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
            let bare = file.and_then(|file| file.bare());
            let caption = match (file, &bare) {
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
                format: bare.as_ref().map(|bare| bare.format),
                sha256: sha256.clone(),
                bytes: bare.map(|bare| bare.bytes).unwrap_or_default(),
            }
        })
        .collect()
}
