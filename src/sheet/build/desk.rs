//! The timeline's entries of the desk, the refit and the customer's data.

use super::technical::word_of;

use crate::job::{Contact, Event, Place, QuoteEdit};
use crate::sheet::forms::{Forms, Toward};

/// An entry in words; none for kinds told elsewhere.
pub(super) fn told(forms: &Forms, event: &Event) -> Option<String> {
    let words = &forms.words;
    Some(match event {
        Event::Passed {
            place, item, phase, ..
        } => words.say(
            "event-passed",
            &[
                ("place", forms.place(*place).into()),
                ("item", forms.item(*item).into()),
                ("phase", forms.phase(*phase).into()),
            ],
        ),
        Event::Second {
            place,
            item,
            phase,
            entered,
            ..
        } => words.say(
            "event-second",
            &[
                ("place", forms.place(*place).into()),
                ("item", forms.item(*item).into()),
                ("phase", forms.phase(*phase).into()),
                ("text", entered.text.as_str().into()),
            ],
        ),
        Event::Personal { .. } => words.plain("event-personal"),
        Event::OriginalQuote { lines } => {
            let count = u32::try_from(lines.len()).unwrap_or(u32::MAX);
            words.say("event-quote", &[("count", count.into())])
        }
        Event::QuoteEdited(edit) => edited(forms, edit),
        Event::Contact(contact) => spoken(forms, contact),
        Event::RefitPoint {
            corner,
            point,
            done,
            reason,
        } => {
            let place = corner.map_or(Place::Vehicle, Place::Corner);
            let point = words.plain(&format!("point-{}", word_of(point)));
            let id = if *done {
                "event-point"
            } else {
                "event-point-not"
            };
            let args = [
                ("place", forms.place(place).into()),
                ("point", point.into()),
                ("reason", reason.as_str().into()),
            ];
            words.say(id, &args)
        }
        Event::WrenchValue(value) => words.say(
            "event-wrench",
            &[
                ("place", forms.place(Place::Corner(value.corner)).into()),
                ("instrument", value.instrument.as_str().into()),
                ("text", value.entered.text.as_str().into()),
            ],
        ),
        Event::RetorqueChecked(check) => words.say(
            "event-retorque",
            &[
                ("km", forms.distance(check.odometer, Toward::Down).into()),
                ("instrument", check.instrument.as_str().into()),
            ],
        ),
        _ => return None,
    })
}

fn edited(forms: &Forms, edit: &QuoteEdit) -> String {
    match edit {
        QuoteEdit::Add(line) => {
            let text = line.words.as_str().into();
            forms.words.say("event-quote-add", &[("text", text)])
        }
        QuoteEdit::Drop { line } => {
            let text = line.as_str().into();
            forms.words.say("event-quote-drop", &[("text", text)])
        }
        QuoteEdit::Set { line, price } => forms.words.say(
            "event-quote-set",
            &[
                ("text", line.as_str().into()),
                ("price", forms.decimal(&price.to_string()).into()),
            ],
        ),
    }
}

fn spoken(forms: &Forms, contact: &Contact) -> String {
    let means = forms
        .words
        .plain(&format!("means-{}", word_of(&contact.means)));
    let id = match (contact.reached, contact.words.is_empty()) {
        (false, _) => "event-contact-missed",
        (true, true) => "event-contact",
        (true, false) => "event-contact-words",
    };
    let args = [
        ("means", means.into()),
        ("text", contact.words.as_str().into()),
    ];
    forms.words.say(id, &args)
}
