//! What an answer means: events for the journal, and words for the technician.

use chrono::NaiveDate;

use super::command::{Command, Line, WORDS, read_line};
use super::reading::{asked, passed, zero};
use super::torque::HAND;
use super::{Layout, Part, Step, Walk, layout, slots, steps};
use crate::job::{Complaint, Event, Item, Kind, Phase, Place};
use crate::judge::{self, Case, may_lack};
use crate::units::{Distance, DistanceUnit};

/// The reason that is none: where there is nothing, nothing was left uninspected.
const NOT_FITTED: &str = "part not fitted to this vehicle";

/// Reasons offered by number when something cannot be inspected.
pub(super) const REASONS: [&str; 6] = [
    "not accessible without dismantling",
    "tool or gauge not at hand",
    "not safe to inspect now",
    "not wanted by the customer",
    NOT_FITTED,
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
        let answer = if matches!(step, Step::Stage { .. }) && line.trim() == HAND {
            self.by_hand(step)
        } else {
            self.answer_as_typed(case, step, line, day)
        };
        if let Answer::Facts(events, _) = &answer
            && !aside(events)
            && self.pending.is_none()
            && self.queue.is_empty()
        {
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
            Line::Command(Command::Quit) => {
                self.mangled = Some(mangled.to_owned());
                Answer::Quit
            }
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
            return self.reason(case, &step, &read, line, day);
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
            Line::NotInspected(reason) => self.not_inspected(case, step, &reason),
            Line::Values(values) => self.values(case, step, &values, line, day),
            Line::Command(command) => self.command(case, step, command),
            Line::Unknown(text) if text.to_lowercase().starts_with("go") => {
                words("go where? a corner, such as `go FR`; `help` lists the commands")
            }
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
            Step::Look { .. } => self.look(case, step, line),
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

    fn reason(
        &mut self,
        case: &Case<'_>,
        step: &Step,
        line: &Line,
        raw: &str,
        day: NaiveDate,
    ) -> Answer {
        let chosen = REASONS
            .iter()
            .zip(1..)
            .find(|(_, n): &(_, usize)| raw.trim() == n.to_string());
        match (chosen.map(|(reason, _)| *reason), line) {
            (Some(NOT_FITTED), _) => self.not_fitted(case, step, day),
            (Some(reason), _) => self.not_inspected(case, step, reason),
            (None, Line::Empty) => {
                self.reason_for = Some(step.clone());
                words("not inspected is never without a reason; `no` goes back to the step")
            }
            // A command is its word alone; with more behind it, it is the beginning of a reason
            // (`no time`, `not safe`).
            (None, Line::Command(Command::No(rest))) if rest.is_empty() => {
                words("back at the step; nothing was entered")
            }
            (None, Line::Command(Command::Undo(_) | Command::Back)) if is_command(raw) => {
                words("back at the step; nothing was entered")
            }
            (None, Line::Command(command)) if is_command(raw) => {
                self.reason_for = Some(step.clone());
                match command {
                    Command::Help | Command::Show | Command::Why => {
                        self.command(case, step, command.clone())
                    }
                    _ => words("a reason is asked here; `no` goes back to the step"),
                }
            }
            (None, Line::Values(_)) => {
                self.reason_for = Some(step.clone());
                words(format!("1 to {}, or the reason in words", REASONS.len()))
            }
            (None, _) => self.not_inspected(case, step, raw.trim()),
        }
    }

    /// The vehicle is built without the item of a step.
    fn not_fitted(&mut self, case: &Case<'_>, step: &Step, day: NaiveDate) -> Answer {
        let Some((Place::Corner(corner), item, _)) = step.about() else {
            self.reason_for = Some(step.clone());
            return words("every vehicle has it; another reason, or `no` goes back to the step");
        };
        let place = Place::Corner(corner);
        let why_not = match may_lack(case.sheet, corner, item) {
            Err(why) => Some(why),
            Ok(()) if case.job.shows_defect(place, item) => Some(format!(
                "a defect was found at {corner} {item}, so it is fitted"
            )),
            Ok(()) => None,
        };
        if let Some(why) = why_not {
            self.reason_for = Some(step.clone());
            return words(format!(
                "{why}; another reason, or `no` goes back to the step"
            ));
        }
        let absent = Event::Absent {
            corner,
            item,
            by: self.by.clone(),
            on: day,
        };
        fact(
            absent,
            format!("{corner} {item} → not fitted to this vehicle"),
        )
    }

    /// Puts down what waits for an answer when the walk is left by `line`: the entry that was asked
    /// about is kept as one that was not taken, and said.
    pub fn put_down(&mut self, line: &str) -> Answer {
        self.reason_for = None;
        self.revisit = None;
        if let Some(mangled) = self.mangled.take() {
            return words(format!("not taken: {mangled}"));
        }
        let Some(pending) = self.pending.take() else {
            return Answer::Words(Vec::new());
        };
        let mut entry = vec![pending.entry.clone()];
        entry.extend(pending.rest.iter().cloned());
        let said = format!("not taken: {}", entry.join(" "));
        Answer::Facts(asked(&pending, line, false), vec![said])
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

/// Whether these events answer no step: remarks and what else is said beside one.
#[must_use]
pub fn aside(events: &[Event]) -> bool {
    events.iter().all(|event| {
        matches!(
            event,
            Event::Note { .. }
                | Event::Photo { .. }
                | Event::CastMark { .. }
                | Event::Dropped { .. }
                | Event::Fitted { .. }
        )
    })
}

/// Whether a line is the word of a command and nothing else.
pub(super) fn is_command(line: &str) -> bool {
    let word = line.trim().to_lowercase();
    WORDS.contains(&word.as_str())
}

fn road_test(values: &[String]) -> Answer {
    if values.len() > 2 {
        return words(
            "1 gone, 2 better, 3 same, 4 not tried; then the km driven, and nothing more",
        );
    }
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
