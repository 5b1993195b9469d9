//! The guided walk: what to do next, why, and what an answer means.
//!
//! Pure: a [`Walk`] looks at a case, says the next prompt as text, and turns a line into events and
//! words. The command line prints, reads and appends; the journal is on the disk before the next
//! prompt is asked for, so the walk goes on exactly where it stopped after any kind of death.

mod answer;
mod big;
mod caution;
mod command;
mod figures;
mod layout;
mod line;
mod look;
mod picture;
pub mod practice;
mod prompt;
mod reading;
mod spoken;
mod steps;
mod tools;
pub(crate) mod torque;
mod wheel;

pub use answer::{Answer, aside};
pub use big::big;
pub use command::{Command, Line, WORDS, command_among_words, read_line};
pub use figures::possible;
pub use look::replaces;
pub use prompt::{Prompt, opening_lines};
pub use steps::{Part, Stage, Step, instrument_for, instrument_kind, order, slots, steps};
pub use tools::no_instrument_words;
pub use wheel::wheel;

use crate::job::{Corner, Event, GateItem, Instrument, Place};
use crate::judge::Case;

/// A walk in progress: what is not in the journal because it changes nothing there.
#[derive(Clone, Debug, Default)]
pub struct Walk {
    /// Which part of the job is walked.
    part: Option<Part>,
    /// The corner the technician asked for.
    wanted: Option<Corner>,
    /// Instruments chosen in this sitting, the latest last.
    chosen: Vec<String>,
    /// Values of a line that held several, still to be taken.
    queue: Vec<String>,
    /// Who answers; empty when nobody is named.
    by: String,
    /// How the sides are called.
    names: crate::job::SideNames,
    /// Whether lines come from a gauge or a keyboard.
    source: crate::job::Source,
    /// Milliseconds since the gauge's line before this one.
    gap_ms: Option<u64>,
    /// A dial that counts past its zero, as somebody confirmed for this set of readings.
    unwrapping: Option<(crate::job::Item, Place, String)>,
    /// What was said about instruments already; each once a sitting.
    told: std::collections::BTreeSet<String>,
    /// A step that is answered out of turn: gone back to, or read by a second person.
    revisit: Option<Step>,
    /// Points of the before-it-moves list that were answered with no in this sitting: they stay open.
    said_no: Vec<GateItem>,
    /// The gauge types on another keyboard layout: translate from now on, or never ask again.
    layout: Layout,
    /// A line that looks mangled, waiting to be settled.
    mangled: Option<String>,
    /// Corners somebody else is working on.
    held: Vec<Corner>,
    /// A question waiting for its answer.
    pending: Option<Pending>,
    /// A reason waiting to be given for what cannot be inspected.
    reason_for: Option<Step>,
}

/// Whether a gauge's keyboard layout is translated.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Layout {
    /// Nothing odd was seen yet.
    #[default]
    AsTyped,
    /// Digits arrive as the signs above them.
    Translate,
}

/// A value the program asked about.
#[derive(Clone, Debug)]
struct Pending {
    step: Step,
    about: (Place, crate::job::Item, crate::job::Slot),
    questions: Vec<String>,
    entry: String,
    /// What stands once it is confirmed; none for an entry that is no number.
    first: Option<Event>,
    /// The readings an entry is that ran together.
    apart: Vec<String>,
    /// The reading of a dial past its zero, put right.
    past: Option<Event>,
    /// What is kept or dropped with it: the other end of a swept turn.
    with_it: Vec<Event>,
    rest: Vec<String>,
}

impl Walk {
    /// A walk through the whole job, part after part.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// A walk through one part only.
    #[must_use]
    pub fn of_part(part: Part) -> Self {
        Self {
            part: Some(part),
            ..Self::default()
        }
    }

    /// The same walk with the sides called so.
    #[must_use]
    pub fn calling_sides(self, names: crate::job::SideNames) -> Self {
        Self { names, ..self }
    }

    /// Says who answers from here on: nobody undoes another person's entry.
    pub fn worked_by(&mut self, name: &str) {
        name.clone_into(&mut self.by);
    }

    /// The part of the job that has something open, in order.
    #[must_use]
    pub fn part(&self, case: &Case<'_>) -> Option<Part> {
        let parts = match self.part {
            Some(part) => vec![part],
            None => vec![Part::Found, Part::Left, Part::Refit],
        };
        parts
            .into_iter()
            .find(|part| self.next_in(case, *part).is_some())
    }

    /// The next step, or `None` when everything is answered.
    #[must_use]
    pub fn next(&self, case: &Case<'_>) -> Option<Step> {
        if let Some(pending) = &self.pending {
            return Some(pending.step.clone());
        }
        if let Some(step) = &self.reason_for {
            return Some(step.clone());
        }
        if let Some(step) = &self.revisit {
            return Some(step.clone());
        }
        self.part(case)
            .and_then(|part| self.next_in(case, part))
            .map(|stage| self.checked_first(case, self.with_chosen(case, stage.step)))
    }

    /// The step that comes after one, for the prompt.
    #[must_use]
    pub fn after(&self, case: &Case<'_>, step: &Step) -> Option<Step> {
        let part = self.part(case)?;
        let open: Vec<Step> = steps(case, part)
            .into_iter()
            .filter(|stage| !stage.done)
            .map(|stage| stage.step)
            .collect();
        let here = open.iter().position(|other| other == step)?;
        open.get(here + 1).cloned()
    }

    /// Leaves a corner to whoever works on it: the walk goes on elsewhere.
    pub fn leave_to_others(&mut self, corner: Corner) {
        self.held.push(corner);
        self.wanted = None;
    }

    /// The corners left to others.
    #[must_use]
    pub fn left_to_others(&self) -> &[Corner] {
        &self.held
    }

    /// A zero check is made on the micrometer chosen in this sitting, if one was.
    fn with_chosen(&self, case: &Case<'_>, step: Step) -> Step {
        let Step::Zero { instrument } = step else {
            return step;
        };
        let micrometer = |id: &&String| {
            case.register
                .get(id)
                .is_some_and(|i| i.kind == crate::job::InstrumentKind::Micrometer)
                && case.job.zero_error(id, u64::MAX).is_none()
        };
        // A check after a fall is of the one that fell.
        if case.job.fell_unchecked(&instrument, u64::MAX) {
            return Step::Zero { instrument };
        }
        let chosen = self.chosen.iter().rev().find(micrometer).cloned();
        Step::Zero {
            instrument: chosen.unwrap_or(instrument),
        }
    }

    fn next_in(&self, case: &Case<'_>, part: Part) -> Option<Stage> {
        let open: Vec<Stage> = steps(case, part)
            .into_iter()
            .filter(|stage| !stage.done)
            .filter(|stage| !matches!(stage.step, Step::Gate(gate) if self.said_no.contains(&gate)))
            .filter(|stage| {
                stage
                    .step
                    .corner()
                    .is_none_or(|corner| !self.held.contains(&corner))
            })
            .collect();
        let wanted = self.wanted.and_then(|corner| {
            // A micrometer that was never zeroed comes before any corner, and one that fell again.
            let zero = open.iter().find(|s| matches!(s.step, Step::Zero { .. }));
            zero.or_else(|| {
                open.iter()
                    .find(|stage| stage.step.corner() == Some(corner))
            })
        });
        wanted.or(open.first()).cloned()
    }

    /// The instrument the next value comes from: the one chosen in this sitting if it can, else the
    /// one the job used last, else the first in the register that covers the size.
    pub(crate) fn instrument<'a>(
        &self,
        case: &Case<'a>,
        place: Place,
        item: crate::job::Item,
    ) -> Option<&'a Instrument> {
        let kind = instrument_kind(item)?;
        let mut chosen = self
            .chosen
            .iter()
            .rev()
            .filter_map(|id| case.register.get(id));
        chosen
            .find(|instrument| {
                instrument.kind == kind && steps::covers(case, place, item, instrument)
            })
            .or_else(|| instrument_for(case, place, item))
    }
}
