//! What only the workshop's edition has: numbers, readings as entered, causes, overrides, timeline.

use super::Material;
use super::corner::verdict_id;
use super::limits::whose;
use super::sentence::{defect_sentence, limit};
use crate::job::{Deed, Event, Meta, Observation, Place, Proceeding, ReadingEvent, TorqueTask};
use crate::judge::{Figure, Finding};
use crate::measure::conformity::Proof;
use crate::sheet::forms::{Forms, Toward, places};
use crate::sheet::model::{CauseRow, Edition, Happening, ReadingsRow, Technical, TechnicalRow};

pub(super) fn technical(
    material: &Material<'_>,
    forms: &Forms,
    edition: Edition,
) -> Option<Technical> {
    if edition == Edition::Customer {
        return None;
    }
    let rows = material.judgement.findings().filter(|f| f.value.is_some());
    Some(Technical {
        rows: rows.map(|f| row(material, forms, f)).collect(),
        readings: readings(material, forms),
        causes: causes(material, forms),
        overrides: overrides(material, forms),
        timeline: timeline(material, forms),
    })
}

fn row(material: &Material<'_>, forms: &Forms, f: &Finding) -> TechnicalRow {
    let whose = whose(material.case, f.place, f.item).filter(|_| f.limit.is_some());
    let full = |figure: Figure| match figure {
        Figure::Length(length) => forms.length(length, 4, super::sentence::toward(f.item)),
        other => forms.figure(other, places(f.item), super::sentence::toward(f.item)),
    };
    let uncertainty = match (f.u, f.value) {
        (Some(u), Some(Figure::Length(_))) => format!("{} µm", forms.number(u * 1e3, 2)),
        (Some(u), Some(Figure::Percent(_))) => format!("{} %", forms.number(u, 2)),
        _ => String::new(),
    };
    let proof = f.proof.map(|proof| match proof {
        Proof::ProvenIn => "proof-proven_in",
        Proof::NotProven => "proof-not_proven",
        Proof::ProvenOut => "proof-proven_out",
        _ => "proof-looked",
    });
    TechnicalRow {
        place: forms.place(f.place),
        item: forms.item(f.item),
        phase: forms.phase(f.phase),
        reading: f.value.map(full).unwrap_or_default(),
        limit: limit(forms, f).unwrap_or_default(),
        whose: whose.map(|w| w.words(forms)).unwrap_or_default(),
        uncertainty,
        probability: f
            .conformance_probability
            .map(|p| forms.number(p, 4))
            .unwrap_or_default(),
        proof: proof.map(|id| forms.words.plain(id)).unwrap_or_default(),
        verdict: forms.words.plain(verdict_id(f.verdict)),
    }
}

/// Every set of readings that stands, as it was entered.
fn readings(material: &Material<'_>, forms: &Forms) -> Vec<ReadingsRow> {
    let mut rows: Vec<(ReadingEvent, ReadingsRow)> = Vec::new();
    for (_, event, struck) in material.case.job.log() {
        let Event::Reading(reading) = event else {
            continue;
        };
        if struck {
            continue;
        }
        let same = |(first, _): &(ReadingEvent, ReadingsRow)| {
            (
                first.place,
                first.item,
                first.phase,
                first.take,
                &first.instrument,
            ) == (
                reading.place,
                reading.item,
                reading.phase,
                reading.take,
                &reading.instrument,
            )
        };
        let text = reading.entered.text.clone();
        match rows.iter_mut().find(|row| same(row)) {
            Some((_, row)) => row.texts.push(text),
            None => rows.push((
                (**reading).clone(),
                ReadingsRow {
                    place: forms.place(reading.place),
                    item: forms.item(reading.item),
                    phase: forms.phase(reading.phase),
                    instrument: reading.instrument.clone().unwrap_or_default(),
                    texts: vec![text],
                },
            )),
        }
    }
    rows.into_iter().map(|(_, row)| row).collect()
}

/// The judgement's causes, in the sheet's language.
fn causes(material: &Material<'_>, forms: &Forms) -> Vec<CauseRow> {
    let causes = material.judgement.causes.iter();
    let all = |said: &[String]| said.iter().map(|s| forms.phrase(s)).collect();
    causes
        .map(|cause| CauseRow {
            cause: format!(
                "{}: {}",
                forms.place(cause.place),
                forms.phrase(&cause.cause)
            ),
            evidence_for: all(&cause.evidence),
            against: all(&cause.against),
            next_test: forms.phrase(&cause.next_test),
            ruled_out_by: forms.phrase(&cause.ruled_out_by),
        })
        .collect()
}

fn happening(forms: &Forms, meta: &Meta, event: String, struck: bool) -> Happening {
    Happening {
        time: forms.time(meta.at),
        person: meta.by.clone(),
        event,
        struck,
    }
}

fn overrides(material: &Material<'_>, forms: &Forms) -> Vec<Happening> {
    let job = &material.case.job;
    let mut rows: Vec<(u64, Happening)> = Vec::new();
    for (meta, asked) in &job.asked {
        let args = [
            ("place", forms.place(asked.place).into()),
            ("item", forms.item(asked.item).into()),
            ("entry", asked.entry.as_str().into()),
            ("question", asked.question.as_str().into()),
            ("answer", asked.answer.as_str().into()),
        ];
        rows.push((
            meta.seq,
            happening(forms, meta, forms.words.say("event-asked", &args), false),
        ));
    }
    for (meta, target, reason) in &job.struck {
        let args = [
            ("target", target.to_string().into()),
            ("reason", reason.as_str().into()),
        ];
        rows.push((
            meta.seq,
            happening(forms, meta, forms.words.say("event-struck", &args), false),
        ));
    }
    for (meta, corner, wrench, reason) in &job.refused {
        let args = [
            ("place", forms.place(Place::Corner(*corner)).into()),
            ("instrument", wrench.as_str().into()),
            ("reason", reason.as_str().into()),
        ];
        rows.push((
            meta.seq,
            happening(
                forms,
                meta,
                forms.words.say("event-torque-refused", &args),
                false,
            ),
        ));
    }
    for (meta, event, _) in job.log() {
        let Event::Overridden { .. } = event else {
            continue;
        };
        let mut told = told(forms, event, 1);
        if let Some(why) = refused(material, forms, meta.seq) {
            let why = forms.words.say("override-refused", &[("why", why.into())]);
            told = format!("{told}; {why}");
        }
        rows.push((meta.seq, happening(forms, meta, told, false)));
    }
    rows.sort_by_key(|(seq, _)| *seq);
    rows.into_iter().map(|(_, row)| row).collect()
}

/// Why an override does not stand, if it does not.
fn refused(material: &Material<'_>, forms: &Forms, seq: u64) -> Option<String> {
    let mut shown = material
        .judgement
        .overrides
        .iter()
        .filter_map(|o| o.shown.as_ref());
    let set = shown.find(|set| set.seq == seq)?;
    (!set.stands).then(|| forms.phrase(&set.why_not))
}

/// What runs of like entries have in common: they become one line.
#[derive(PartialEq)]
enum Run<'a> {
    Reading(Place, crate::job::Item, crate::job::Phase, u32),
    Sound(Place, crate::job::Phase),
    Torque(crate::job::Corner, &'a str, bool),
    Personal,
    Alone(u64),
}

fn run<'a>(meta: &Meta, event: &'a Event) -> Run<'a> {
    match event {
        Event::Reading(r) => Run::Reading(r.place, r.item, r.phase, r.take),
        Event::Seen {
            place,
            phase,
            observation: Observation::Sound,
            ..
        } => Run::Sound(*place, *phase),
        Event::Personal { .. } => Run::Personal,
        // What a stage was done at is its own line.
        Event::Torque(task) if task.proceeding == Proceeding::WheelStage => Run::Alone(meta.seq),
        Event::Torque(task) => {
            let wheel = matches!(
                task.proceeding,
                Proceeding::WheelFinal | Proceeding::WheelSecondPass
            );
            Run::Torque(task.corner, &task.instrument, wheel)
        }
        _ => Run::Alone(meta.seq),
    }
}

fn timeline(material: &Material<'_>, forms: &Forms) -> Vec<Happening> {
    let log: Vec<(&Meta, &Event, bool)> = material.case.job.log().collect();
    let runs =
        log.chunk_by(|a, b| run(a.0, a.1) == run(b.0, b.1) && a.2 == b.2 && a.0.by == b.0.by);
    runs.filter_map(|entries| {
        let (meta, event, struck) = entries.first()?;
        let count = u32::try_from(entries.len()).unwrap_or(u32::MAX);
        if let Event::Seen {
            place,
            phase,
            observation: Observation::Sound,
            ..
        } = event
        {
            let items: Vec<String> = entries
                .iter()
                .filter_map(|(_, event, _)| match event {
                    Event::Seen { item, .. } => Some(forms.item(*item)),
                    _ => None,
                })
                .collect();
            let args = [
                ("place", forms.place(*place).into()),
                ("item", items.join(", ").into()),
                ("phase", forms.phase(*phase).into()),
            ];
            let told = forms.words.say("event-seen-sound", &args);
            return Some(happening(forms, meta, told, *struck));
        }
        Some(happening(forms, meta, told(forms, event, count), *struck))
    })
    .collect()
}

/// A stage of a wheel: with which wrench, and at which torque it was really done.
fn told_stage(forms: &Forms, task: &TorqueTask) -> String {
    let mut args = vec![
        ("place", forms.place(Place::Corner(task.corner)).into()),
        ("stage", u32::from(task.fastener).into()),
        ("instrument", task.instrument.as_str().into()),
    ];
    let id = match task.set_to {
        _ if task.instrument.is_empty() => "event-stage-hand",
        Some(set) => {
            args.push(("torque", forms.torque(set).into()));
            "event-stage-at"
        }
        None => "event-stage",
    };
    forms.words.say(id, &args)
}

/// An event, or a run of like ones, in words.
fn told(forms: &Forms, event: &Event, count: u32) -> String {
    let words = &forms.words;
    let place = |place: &Place| ("place", forms.place(*place).into());
    let item = |item: &crate::job::Item| ("item", forms.item(*item).into());
    match event {
        Event::Opened(_) => words.plain("event-opened"),
        Event::Earlier {
            corner,
            item: about,
            odometer,
            thickness,
            ..
        } => words.say(
            "event-earlier",
            &[
                place(&Place::Corner(*corner)),
                item(about),
                (
                    "value",
                    forms
                        .length(*thickness, places(*about), Toward::Down)
                        .into(),
                ),
                ("km", forms.distance(*odometer, Toward::Down).into()),
            ],
        ),
        Event::FittedBefore {
            corner,
            item: about,
            odometer,
            ..
        } => words.say(
            "event-fitted-before",
            &[
                place(&Place::Corner(*corner)),
                item(about),
                ("km", forms.distance(*odometer, Toward::Down).into()),
            ],
        ),
        Event::Clockings { axle, possible } => {
            let list: Vec<String> = possible.iter().map(u8::to_string).collect();
            let args = [place(&Place::Axle(*axle)), ("list", list.join(", ").into())];
            words.say("event-clockings", &args)
        }
        Event::Absent {
            corner,
            item: about,
            by,
            on,
        } => words.say(
            "event-absent",
            &[
                place(&Place::Corner(*corner)),
                item(about),
                ("by", by.as_str().into()),
                ("on", forms.date(*on).into()),
            ],
        ),
        Event::ZeroCheck(check) => words.say(
            "event-zero",
            &[
                ("instrument", check.instrument.as_str().into()),
                ("standard", check.standard.as_str().into()),
                ("text", check.entered.text.as_str().into()),
            ],
        ),
        Event::Reading(r) => words.say(
            "event-readings",
            &[
                place(&r.place),
                item(&r.item),
                ("phase", forms.phase(r.phase).into()),
                ("count", count.into()),
            ],
        ),
        Event::Seen {
            place: at,
            item: about,
            phase,
            observation,
        } => {
            let mut args = vec![
                place(at),
                item(about),
                ("phase", forms.phase(*phase).into()),
            ];
            match observation {
                // Told above, a run at a time.
                Observation::Sound => String::new(),
                Observation::Defect { code, .. } => {
                    args.push(("defect", defect_sentence(forms, *about, code).into()));
                    words.say("event-seen-defect", &args)
                }
                Observation::NotInspected { reason } => {
                    args.push(("reason", reason.as_str().into()));
                    words.say("event-seen-not", &args)
                }
            }
        }
        Event::Struck { target, reason, .. } => words.say(
            "event-struck",
            &[
                ("target", target.to_string().into()),
                ("reason", reason.as_str().into()),
            ],
        ),
        Event::Asked(asked) => words.say(
            "event-asked",
            &[
                place(&asked.place),
                item(&asked.item),
                ("entry", asked.entry.as_str().into()),
                ("question", asked.question.as_str().into()),
                ("answer", asked.answer.as_str().into()),
            ],
        ),
        Event::Note {
            place: at, text, ..
        } => words.say("event-note", &[place(at), ("text", text.as_str().into())]),
        Event::Photo {
            place: at,
            item: about,
            ..
        } => words.say("event-photo", &[place(at), item(about)]),
        _ => told_refit(forms, event, count),
    }
}

fn told_refit(forms: &Forms, event: &Event, count: u32) -> String {
    let words = &forms.words;
    match event {
        Event::CastMark { corner, entered } => words.say(
            "event-cast",
            &[
                ("place", forms.place(Place::Corner(*corner)).into()),
                ("text", entered.text.as_str().into()),
            ],
        ),
        Event::Fitted { place, part, batch } => {
            let part = words.plain(&format!("part-{}", word_of(part)));
            let mut args = vec![("place", forms.place(*place).into()), ("part", part.into())];
            match batch {
                Some(batch) => {
                    args.push(("batch", batch.as_str().into()));
                    words.say("event-fitted-batch", &args)
                }
                None => words.say("event-fitted", &args),
            }
        }
        Event::Work { place, deed, note } => {
            let clocking = match deed {
                Deed::Reclocked { clocking } => clocking.to_string(),
                _ => String::new(),
            };
            let args = [("clocking", clocking.into())];
            let done = words.say(&format!("deed-{}", deed.word()), &args);
            let mut args = vec![("place", forms.place(*place).into()), ("done", done.into())];
            if note.is_empty() {
                words.say("event-work", &args)
            } else {
                args.push(("note", note.as_str().into()));
                words.say("event-work-note", &args)
            }
        }
        Event::ComplaintAnswered { outcome, distance } => words.say(
            "event-complaint",
            &[
                ("outcome", word_of(outcome).into()),
                ("km", forms.distance(*distance, Toward::Nearest).into()),
            ],
        ),
        Event::Torque(task) if task.proceeding == Proceeding::WheelStage => told_stage(forms, task),
        Event::Torque(task) => words.say(
            "event-torque",
            &[
                ("place", forms.place(Place::Corner(task.corner)).into()),
                ("instrument", task.instrument.as_str().into()),
                ("count", count.into()),
            ],
        ),
        Event::TorqueRefused {
            corner,
            instrument,
            reason,
        } => words.say(
            "event-torque-refused",
            &[
                ("place", forms.place(Place::Corner(*corner)).into()),
                ("instrument", instrument.as_str().into()),
                ("reason", reason.as_str().into()),
            ],
        ),
        Event::Gate { gate, done, reason } => {
            let gate = words.plain(&format!("gate-{}", word_of(gate)));
            let id = if *done {
                "event-gate-done"
            } else {
                "event-gate-not"
            };
            words.say(
                id,
                &[("gate", gate.into()), ("reason", reason.as_str().into())],
            )
        }
        Event::Overridden {
            place,
            item,
            phase,
            verdict,
            reason,
            second_person,
        } => {
            let verdict = verdict_id((*verdict).into());
            let mut args = vec![
                ("place", forms.place(*place).into()),
                ("item", forms.item(*item).into()),
                ("phase", forms.phase(*phase).into()),
                ("verdict", words.plain(verdict).into()),
                ("reason", reason.as_str().into()),
            ];
            match second_person {
                Some(second) => {
                    args.push(("second", second.as_str().into()));
                    words.say("event-override-second", &args)
                }
                None => words.say("event-override", &args),
            }
        }
        Event::Left { vehicle } => words.say("event-left", &[("text", vehicle.as_str().into())]),
        Event::Signed { revision, .. } => {
            words.say("event-signed", &[("revision", revision.to_string().into())])
        }
        other => super::desk::told(forms, other).unwrap_or_else(|| {
            let kind = serde_json::to_value(other)
                .ok()
                .and_then(|value| value.get("kind")?.as_str().map(str::to_owned))
                .unwrap_or_default();
            words.say("event-other", &[("kind", kind.into())])
        }),
    }
}

/// A unit variant's word in the journal.
pub(super) fn word_of<T: serde::Serialize>(value: &T) -> String {
    match serde_json::to_value(value) {
        Ok(serde_json::Value::String(word)) => word,
        _ => String::new(),
    }
}
