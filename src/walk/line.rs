//! A whole line at once: every value of it is understood before any is written, so that all of them
//! reach the disk in one write and none waits in memory behind a confirmation already shown.

use chrono::NaiveDate;

use super::{Answer, Step, Walk};
use crate::job::{Event, Job, Meta};
use crate::judge::Case;

impl Walk {
    /// Takes a line that may hold several values; the events of all of them come together.
    ///
    /// Values behind a question wait for its answer. Values beyond the end of the item are not taken:
    /// none of them is ever put to another item's question.
    pub fn line(&mut self, case: &Case<'_>, step: &Step, line: &str, day: NaiveDate) -> Answer {
        let first = self.answer(case, step, line, day);
        let (mut events, mut said) = match first {
            Answer::Facts(events, said) => (events, said),
            Answer::Words(said) if !self.queue.is_empty() => (Vec::new(), said),
            other => return other,
        };
        let mut ahead = Ahead::of(case.job);
        let mut taken = 0;
        while let Some(line) = self.queued() {
            taken += ahead.take_in(events.get(taken..).unwrap_or_default());
            let now = Case {
                job: &ahead.job,
                ..*case
            };
            let next = self.next(&now);
            let Some(next) = next.filter(|next| next.about() == step.about()) else {
                said.push(format!("not taken, nothing more is asked here: {line}"));
                break;
            };
            match self.answer(&now, &next, &line, day) {
                Answer::Facts(more, words) => {
                    events.extend(more);
                    said.extend(words);
                }
                Answer::Words(words) => said.extend(words),
                _ => break,
            }
        }
        if events.is_empty() {
            Answer::Words(said)
        } else {
            Answer::Facts(events, said)
        }
    }
}

/// The job as it will be once the events of a line are written; never written itself.
struct Ahead {
    job: Job,
    meta: Option<Meta>,
}

impl Ahead {
    fn of(job: &Job) -> Self {
        let last = job.log().last().map(|(meta, ..)| meta.clone());
        Self {
            meta: last,
            job: job.clone(),
        }
    }

    /// Takes events in and says how many.
    fn take_in(&mut self, events: &[Event]) -> usize {
        let Some(meta) = &self.meta else {
            return 0;
        };
        for event in events {
            let meta = Meta {
                seq: self.job.last_seq + 1,
                ..meta.clone()
            };
            self.job.apply(&meta, event);
        }
        events.len()
    }
}
