//! The re-torque slip, and the signature with the way to check it.

use chrono::{Days, NaiveDate};

use super::{Material, whole_km};
use crate::job::Event;
use crate::judge::Case;
use crate::sheet::chart;
use crate::sheet::forms::{Forms, Toward};
use crate::sheet::model::{Backing, Fact, SignatureBlock, Slip};

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

/// Re-torque: the sheet's distance and days, else the policy's; `None` while a wheel was not torqued.
pub(super) fn slip(case: &Case<'_>, forms: &Forms) -> Option<Slip> {
    if !crate::office::retorque::not_ready(case).is_empty() {
        return None;
    }
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
    Some(Slip {
        sentences,
        due_km,
        due,
    })
}

/// What a slip says while there is nothing to re-torque.
pub(super) fn no_slip(forms: &Forms) -> Slip {
    Slip {
        sentences: vec![forms.words.plain("retorque-not-yet")],
        due_km: None,
        due: None,
    }
}

pub(super) fn signature(material: &Material<'_>, forms: &Forms) -> SignatureBlock {
    let (signature, changed) = match &material.backing {
        Backing::Signed(signature) => (signature, false),
        Backing::ChangedSince(signature) | Backing::OtherToday { signature, .. } => {
            (signature, true)
        }
        Backing::Unsigned | Backing::Lost { .. } => {
            return SignatureBlock {
                signed: false,
                sentence: forms.words.plain("not-signed"),
                facts: Vec::new(),
                how: String::new(),
                command: Vec::new(),
                qr: None,
            };
        }
    };
    let revision = signature.revision;
    let fact = |id: &str, value: String| Fact {
        label: forms.words.plain(id),
        value,
    };
    let job = &material.judgement.job;
    let facts = vec![
        fact("label-signer", signature.signer.clone()),
        fact("label-signed-at", forms.time(signature.signed_at)),
        fact("label-revision", revision.to_string()),
        fact("label-digest", signature.sha256.clone()),
        fact("label-key", signature.fingerprint.clone()),
    ];
    if changed {
        let args = [("revision", revision.to_string().into())];
        return SignatureBlock {
            signed: false,
            sentence: forms.words.say(
                match material.backing {
                    Backing::OtherToday { .. } => "other-today",
                    _ => "changed-since",
                },
                &args,
            ),
            facts,
            how: forms.words.say("changed-print", &args),
            command: vec![format!("brakecorner sheet {job} --revision {revision}")],
            qr: None,
        };
    }
    let text = format!("{job} {revision} sha256:{}", signature.sha256);
    SignatureBlock {
        signed: true,
        sentence: forms.words.plain("signed"),
        facts,
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
