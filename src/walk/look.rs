//! Looks: sound, a defect of the list, not inspected; and what one would take the place of.

use super::answer::{Answer, fact, words};
use super::{Step, Walk};
use crate::job::{Event, Fault, Item, Observation, Phase, Place, Seen, Slot};
use crate::judge::{Case, deeds, defect, states};

/// The question a look raises beside a defect found there already.
///
/// Both stand and the worst of them counts, until the wrong one is struck. Only the same defect, with
/// another note perhaps, is entered again unasked.
#[must_use]
pub fn replaces(
    case: &Case<'_>,
    (place, item, phase): (Place, Item, Phase),
    observation: &Observation,
) -> Option<String> {
    let before = &states::look_at_hand(case, place, item, phase)?.observation;
    let Observation::Defect { code, .. } = before else {
        return None;
    };
    let now = match observation {
        Observation::Sound => "sound",
        Observation::NotInspected { .. } => "not inspected",
        Observation::Defect { code: now, .. } if now == code => return None,
        Observation::Defect { code: now, .. } => defect_words(item, now),
    };
    let before = defect_words(item, code);
    Some(format!(
        "{place} {item} was found already: {before}, and now `{now}`; was the entry before wrong?"
    ))
}

/// The question "sound" raises as left, when what was found wrong had nothing done to it that may have
/// cured it.
fn uncured(
    case: &Case<'_>,
    (place, item, phase): (Place, Item, Phase),
    observation: &Observation,
) -> Option<String> {
    if phase == Phase::AsFound || *observation != Observation::Sound {
        return None;
    }
    let code = states::uncured(case, place, item)?;
    let by = deeds::cures(item, Fault::Defect(code)).join(", ");
    Some(format!(
        "{place} {item} was found: {}; what was done? `work {place} …` says it ({by}); `yes` keeps both, and what was found stands",
        defect_words(item, code)
    ))
}

/// The looks of the state at hand that a new one takes the place of.
pub(super) fn struck(case: &Case<'_>, event: &Event) -> Vec<Event> {
    let Event::Seen {
        place,
        item,
        phase,
        observation,
    } = event
    else {
        return Vec::new();
    };
    if replaces(case, (*place, *item, *phase), observation).is_none() {
        return Vec::new();
    }
    let strike = |seen: &Seen| Event::Struck {
        target: seen.meta.seq,
        reason: "a wrong entry, it was said at the prompt".to_owned(),
        second_person: None,
    };
    states::looks_at_hand(case, *place, *item, *phase)
        .into_iter()
        .filter(|seen| matches!(seen.observation, Observation::Defect { .. }))
        .map(strike)
        .collect()
}

impl Walk {
    /// The answer to a look: a number of its list and nothing else, a note behind a defect.
    pub(super) fn look(&mut self, case: &Case<'_>, step: &Step, line: &str) -> Answer {
        let Some((_, item, _)) = step.about() else {
            return Answer::Words(Vec::new());
        };
        let line = line.trim();
        let (number, note) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
        let note = note.trim();
        let list = defect::defects(item);
        let plain = number.bytes().all(|byte| byte.is_ascii_digit())
            && (number == "0" || !number.starts_with('0'));
        let Some(n) = number.parse::<usize>().ok().filter(|_| plain) else {
            return words(format!("`{number}` is not on the list; 0 is sound"));
        };
        if !note.is_empty() && (is_unit(note) || !may_be_note(item, note)) {
            return words(format!(
                "`{line}` looks like a reading; here the number of the defect is asked, 0 is sound"
            ));
        }
        let observation = match n.checked_sub(1).map(|n| list.get(n)) {
            None if note.is_empty() => Observation::Sound,
            None => {
                return words(format!(
                    "0 is sound and takes no note; `note {note}` keeps the remark"
                ));
            }
            Some(Some(defect)) => Observation::Defect {
                code: defect.code.to_owned(),
                note: note.to_owned(),
            },
            Some(None) => {
                return words(format!("the list ends at {}; 0 is sound", list.len()));
            }
        };
        self.seen(case, step, observation, line)
    }

    /// The item of a step cannot be inspected, for this reason.
    pub(super) fn not_inspected(&mut self, case: &Case<'_>, step: &Step, reason: &str) -> Answer {
        let observation = Observation::NotInspected {
            reason: reason.to_owned(),
        };
        self.seen(case, step, observation, reason)
    }

    fn seen(
        &mut self,
        case: &Case<'_>,
        step: &Step,
        observation: Observation,
        entry: &str,
    ) -> Answer {
        let Some((place, item, phase)) = step.about() else {
            return words("this step cannot be left out; `quit` stops the walk here");
        };
        let about = (place, item, phase);
        let question =
            replaces(case, about, &observation).or_else(|| uncured(case, about, &observation));
        let event = Event::Seen {
            place,
            item,
            phase,
            observation,
        };
        if let Some(question) = question {
            let about = (place, item, Slot::Value(1));
            self.ask(step, about, vec![question], entry, Some(event));
            return Answer::Words(Vec::new());
        }
        let said = seen_words(&event).unwrap_or_default();
        fact(event, said)
    }
}

/// A look as it is echoed; nothing for another event.
pub(super) fn seen_words(event: &Event) -> Option<String> {
    let Event::Seen {
        place,
        item,
        observation,
        ..
    } = event
    else {
        return None;
    };
    Some(match observation {
        Observation::Sound => format!("{place} {item} → sound"),
        Observation::Defect { code, .. } => {
            format!("{place} {item} → {}", defect_words(*item, code))
        }
        Observation::NotInspected { reason } => {
            format!("{place} {item} → not inspected: {reason}")
        }
    })
}

fn defect_words(item: Item, code: &str) -> &str {
    defect::find(item, code).map_or(code, |defect| defect.words)
}

/// The unit of a reading alone: no note of anybody.
fn is_unit(note: &str) -> bool {
    let units = [
        "mm", "in", "\"", "div", "um", "µm", "μm", "N", "Nm", "N·m", "km", "kg", "°C", "C", "°F",
    ];
    units.iter().any(|unit| unit.eq_ignore_ascii_case(note))
}

/// Whether what follows a defect's number is a note and not a second number; a scored disc's note
/// may be its depth.
fn may_be_note(item: Item, note: &str) -> bool {
    item == Item::DiscSurface || note.chars().any(char::is_alphabetic)
}
