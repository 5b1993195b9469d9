//! The guided walk: what to do next, why, and what an answer means.
//!
//! Pure: a [`Walk`] looks at a case, says the next prompt as text, and turns a line into events and
//! words. The command line prints, reads and appends; the journal is on the disk before the next
//! prompt is asked for, so the walk goes on exactly where it stopped after any kind of death.

mod answer;
mod caution;
mod chart;
mod command;
mod prompt;
mod steps;
mod wheel;

pub use answer::Answer;
pub use command::{Command, Line, WORDS, read_line};
pub use prompt::{Prompt, opening_lines};
pub use steps::{Part, Stage, Step, instrument_for, instrument_kind, order, slots, steps};
pub use wheel::wheel;

use crate::job::{Corner, Event, Instrument, Place};
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
    /// A question waiting for its answer.
    pending: Option<Pending>,
    /// A reason waiting to be given for what cannot be inspected.
    reason_for: Option<Step>,
}

/// A value the program asked about.
#[derive(Clone, Debug)]
struct Pending {
    step: Step,
    question: String,
    entry: String,
    first: Event,
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
        self.part(case)
            .and_then(|part| self.next_in(case, part))
            .map(|stage| stage.step)
    }

    fn next_in(&self, case: &Case<'_>, part: Part) -> Option<Stage> {
        let open: Vec<Stage> = steps(case, part)
            .into_iter()
            .filter(|stage| !stage.done)
            .collect();
        let wanted = self.wanted.and_then(|corner| {
            // A micrometer that was never zeroed comes before any corner.
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

    /// The torque wrench to use: the one chosen in this sitting, else one whose range covers the
    /// torque, in calibration before others.
    pub(crate) fn wrench<'a>(
        &self,
        case: &Case<'a>,
        torque: crate::units::Torque,
        day: chrono::NaiveDate,
    ) -> Option<&'a Instrument> {
        let wrench = crate::job::InstrumentKind::TorqueWrench;
        let chosen = self
            .chosen
            .iter()
            .rev()
            .filter_map(|id| case.register.get(id));
        let mut chosen = chosen.filter(|instrument| instrument.kind == wrench);
        let fits = |i: &&Instrument| {
            i.range_numbers()
                .is_none_or(|(low, high)| (low..=high).contains(&torque.nm()))
        };
        chosen.next().or_else(|| {
            let all: Vec<&Instrument> = case.register.of_kind(wrench).filter(fits).collect();
            let good = all.iter().copied().find(|i| i.calibrated_on(day));
            good.or(all.first().copied())
        })
    }
}
