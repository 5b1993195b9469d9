//! What the customer left at earlier visits comes back as the first questions of this one.

use super::lines::Next;
use super::{Failure, Sitting, World};
use crate::cli::ask::Talk;
use crate::cli::visits;
use crate::job::{Event, Place};
use crate::walk::Part;

impl Sitting<'_> {
    /// Asks what was left before, each question once a job; `false` when the input ended.
    ///
    /// The answer is a remark: what is so now is for the inspection to find.
    pub(super) fn left_before(&mut self, world: &mut World<'_>) -> Result<bool, Failure> {
        if !matches!(self.args.part, None | Some(Part::Found)) {
            return Ok(true);
        }
        for reopened in visits::reopened(&self.file.shop, &self.file.job)? {
            let asked = self.file.job.log().any(|(_, event, struck)| {
                !struck
                    && matches!(event, Event::Note { place: Place::Vehicle, text, .. }
                        if text.starts_with(&reopened.question))
            });
            if asked {
                continue;
            }
            let question = self.style.text(&format!(
                "{} yes, or no and what was done > ",
                reopened.question
            ));
            let (yes, words) = loop {
                match self.lines.next(world, self.quiet, &question)? {
                    Next::End => return Ok(false),
                    Next::Line(line) => match Talk::read_yes_no(line.trim()) {
                        Some(answer) => break answer,
                        None => self.say(world, Talk::NEITHER)?,
                    },
                    Next::Sent(_) => {
                        self.say(world, "  a reading is no answer to this")?;
                    }
                    Next::Notice(notice) => self.say(world, &format!("  {notice}"))?,
                }
            };
            let answer = if yes { "yes" } else { "no" };
            let text = format!("{} {answer} {words}", reopened.question);
            let event = Event::Note {
                place: Place::Vehicle,
                item: None,
                text: text.trim_end().to_owned(),
            };
            self.append(world, &[event])?;
        }
        Ok(true)
    }
}
