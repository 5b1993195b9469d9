//! What an answer means: events for the journal, and words for the technician.

use chrono::NaiveDate;

use super::command::{Command, Line, read_line};
use super::reading::{passed, zero};
use super::{Layout, Part, Step, Walk, layout, slots, steps};
use crate::job::{Complaint, Event, Item, Kind, Observation, Phase, Place};
use crate::judge::{self, Case, defect};
use crate::units::{Distance, DistanceUnit};

/// Reasons offered by number when something cannot be inspected.
pub(super) const REASONS: [&str; 6] = [
    "not accessible without dismantling",
    "tool or gauge not at hand",
    "not safe to inspect now",
    "not wanted by the customer",
    "part not fitted to this vehicle",
    "no time in this visit",
];

/// What an answer leads to.
#[derive(Clone, Debug, PartialEq)]
pub enum Answer {
    /// Facts for the journal, then words.
    Facts(Vec<Event>, Vec<String>),
    /// Only words: nothing is written.
    Words(Vec<String>),
    /// A photo is to be copied in: of what, from which path; none means the newest of the inbox.
    Photo(Place, Item, Option<String>),
    /// Somebody else holds the gauge from now on; none means the next person.
    Person(Option<String>),
    /// The gauge streams one slow turn: its readings are to be gathered for this step.
    Sweep(Step),
    /// Stop here.
    Quit,
}

pub(super) fn words(text: impl Into<String>) -> Answer {
    Answer::Words(vec![text.into()])
}

pub(super) fn fact(event: Event, text: impl Into<String>) -> Answer {
    Answer::Facts(vec![event], vec![text.into()])
}

impl Walk {
    /// Takes one line as the answer to a step. `day` is today, for calibrations.
    pub fn answer(&mut self, case: &Case<'_>, step: &Step, line: &str, day: NaiveDate) -> Answer {
        if let Some(mangled) = self.mangled.take() {
            return self.translate_or_not(case, step, line, &mangled, day);
        }
        let translated = layout::translated(line);
        let line = match (self.layout, &translated) {
            (Layout::Translate, Some(digits)) => digits.as_str(),
            (Layout::AsTyped, Some(_)) if matches!(step, Step::Read { .. } | Step::Zero { .. }) => {
                self.mangled = Some(line.trim().to_owned());
                return Answer::Words(Vec::new());
            }
            _ => line,
        };
        let answer = self.answer_as_typed(case, step, line, day);
        if matches!(answer, Answer::Facts(..)) && self.pending.is_none() && self.queue.is_empty() {
            self.revisit = None;
        }
        answer
    }

    /// Settles whether a gauge types on another keyboard layout.
    fn translate_or_not(
        &mut self,
        case: &Case<'_>,
        step: &Step,
        line: &str,
        mangled: &str,
        day: NaiveDate,
    ) -> Answer {
        match read_line(line) {
            Line::Command(Command::Yes) => {
                self.layout = Layout::Translate;
                self.answer(case, step, mangled, day)
            }
            Line::Command(Command::No(_)) => words(format!("dropped: {mangled}")),
            _ => {
                self.mangled = Some(mangled.to_owned());
                words("yes or no")
            }
        }
    }

    fn answer_as_typed(
        &mut self,
        case: &Case<'_>,
        step: &Step,
        line: &str,
        day: NaiveDate,
    ) -> Answer {
        let read = read_line(line);
        if let Line::Command(Command::Quit) = read {
            return Answer::Quit;
        }
        if let Some(pending) = self.pending.take() {
            return self.settle(case, pending, &read, line);
        }
        if let Some(step) = self.reason_for.take() {
            return self.reason(&step, &read, line);
        }
        match read {
            Line::Empty => self.nothing(case, step),
            Line::NotInspected(reason) if reason.is_empty() => {
                if step.about().is_none() {
                    return words("this step cannot be left out; `quit` stops the walk here");
                }
                self.reason_for = Some(step.clone());
                Answer::Words(Vec::new())
            }
            Line::NotInspected(reason) => not_inspected(step, &reason),
            Line::Values(values) => self.values(case, step, &values, line, day),
            Line::Command(command) => self.command(case, step, command),
            Line::Unknown(text) => words(format!(
                "`{text}` is no reading and no command; `help` lists them"
            )),
            Line::Ambiguous(word, many) => words(format!(
                "`{word}` could be {}; one more letter",
                many.join(" or ")
            )),
        }
    }

    fn nothing(&mut self, case: &Case<'_>, step: &Step) -> Answer {
        if let Step::Read {
            place,
            item,
            phase,
            slot,
        } = step
            && slots(case, *item).contains(&(*slot, true))
        {
            return Answer::Facts(vec![passed(*place, *item, *phase, *slot)], Vec::new());
        }
        // Many gauges send Enter after their value: an empty line is never an answer.
        words("nothing entered; an empty line is never an answer here")
    }

    fn values(
        &mut self,
        case: &Case<'_>,
        step: &Step,
        values: &[String],
        line: &str,
        day: NaiveDate,
    ) -> Answer {
        match step {
            Step::Look { place, item, phase } => look(*place, *item, *phase, line),
            Step::Read { .. } => self.take_values(case, step, values),
            Step::Zero { instrument } => zero(case, instrument, values),
            Step::Stage { .. }
            | Step::Final { .. }
            | Step::SecondPass { .. }
            | Step::Calliper { .. } => self.torque(case, step, values, day),
            Step::Second { .. } => self.second_reading(case, step, values),
            Step::Gate(_) => words("answer with yes, or with no and why"),
            Step::RoadTest => road_test(values),
        }
    }

    fn reason(&mut self, step: &Step, line: &Line, raw: &str) -> Answer {
        let chosen = raw
            .trim()
            .parse::<usize>()
            .ok()
            .and_then(|n| REASONS.get(n.wrapping_sub(1)));
        match (chosen, line) {
            (Some(reason), _) => not_inspected(step, reason),
            (None, Line::Empty) => {
                self.reason_for = Some(step.clone());
                words("not inspected is never without a reason; `no` goes back to the step")
            }
            (None, Line::Command(Command::No(_))) => Answer::Words(Vec::new()),
            (None, Line::Values(_)) => {
                self.reason_for = Some(step.clone());
                words(format!("1 to {}, or the reason in words", REASONS.len()))
            }
            (None, _) => not_inspected(step, raw.trim()),
        }
    }

    /// What to say once a step's item is complete: its finding, or nothing yet.
    #[must_use]
    pub fn completed(&self, case: &Case<'_>, step: &Step) -> Vec<String> {
        let Some((place, item, phase)) = step.about() else {
            return Vec::new();
        };
        if item.kind() != Kind::Measure {
            return Vec::new();
        }
        let part = if phase == Phase::AsFound {
            Part::Found
        } else {
            Part::Left
        };
        let open = steps(case, part)
            .into_iter()
            .any(|stage| !stage.done && stage.step.about() == Some((place, item, phase)));
        if open {
            return Vec::new();
        }
        judge::judge(case)
            .findings()
            .filter(|finding| {
                finding.place == place
                    && finding.phase == phase
                    && (finding.item == item
                        || (item == Item::DiscThickness && finding.item == Item::DiscVariation))
            })
            .map(|finding| format!("= {} {}", finding.verdict, finding.sentence))
            .collect()
    }
}

fn look(place: Place, item: Item, phase: Phase, line: &str) -> Answer {
    let (digits, note) = line
        .trim()
        .split_once(char::is_whitespace)
        .unwrap_or((line.trim(), ""));
    let list = defect::defects(item);
    let observation = match digits.parse::<usize>() {
        Ok(0) => Observation::Sound,
        Ok(n) => match list.get(n - 1) {
            Some(defect) => Observation::Defect {
                code: defect.code.to_owned(),
                note: note.trim().to_owned(),
            },
            None => return words(format!("the list ends at {}; 0 is sound", list.len())),
        },
        Err(_) => return words(format!("`{digits}` is not on the list; 0 is sound")),
    };
    let said = match &observation {
        Observation::Defect { code, .. } => {
            let words = defect::find(item, code).map_or(code.as_str(), |defect| defect.words);
            format!("{place} {item} → {words}")
        }
        _ => format!("{place} {item} → sound"),
    };
    fact(
        Event::Seen {
            place,
            item,
            phase,
            observation,
        },
        said,
    )
}

pub(super) fn not_inspected(step: &Step, reason: &str) -> Answer {
    let Some((place, item, phase)) = step.about() else {
        return words("this step cannot be left out; `quit` stops the walk here");
    };
    let observation = Observation::NotInspected {
        reason: reason.to_owned(),
    };
    fact(
        Event::Seen {
            place,
            item,
            phase,
            observation,
        },
        format!("{place} {item} → not inspected: {reason}"),
    )
}

fn road_test(values: &[String]) -> Answer {
    let outcome = match values.first().map(String::as_str) {
        Some("1") => Complaint::Gone,
        Some("2") => Complaint::Better,
        Some("3") => Complaint::Same,
        Some("4") => Complaint::NotTried,
        _ => return words("1 gone, 2 better, 3 same, 4 not tried; then the km driven"),
    };
    let distance = match values.get(1) {
        Some(text) => match Distance::parse(text, DistanceUnit::Kilometre) {
            Ok(distance) => distance,
            Err(error) => return words(format!("not taken: {error}")),
        },
        None if outcome == Complaint::NotTried => Distance::ZERO,
        None => return words("and how many km were driven? `1 6` is gone after 6 km"),
    };
    fact(
        Event::ComplaintAnswered { outcome, distance },
        "road test noted",
    )
}
