//! What others write into the job while a prompt stands: a value goes to the slot that was on the
//! screen, or is refused.

use super::lines::Next;
use super::{Failure, Sitting, World};
use crate::job::{Corner, Event};
use crate::walk::{Answer, Command, Line, Part, Step, read_line, steps};

impl Sitting<'_> {
    /// Whether the step that was on the screen is still the one that is asked, and nothing of its corner
    /// was struck since. If not, the line is refused, says why, and somebody must look at the screen
    /// before anything more is taken: lines already on their way were meant for other slots.
    pub(super) fn still_asked(
        &mut self,
        world: &mut World<'_>,
        step: &Step,
        line: &str,
    ) -> Result<bool, Failure> {
        for entry in self.journal.read_news()?.entries {
            entry.move_into(&mut self.file.job);
        }
        if self.file.job.last_seq == self.known && self.stopped.is_none() {
            return Ok(true);
        }
        let here = step.corner();
        let struck = self.stopped.take();
        let struck = struck.or_else(|| self.struck_between(here, self.known, u64::MAX));
        self.known = self.file.job.last_seq;
        let case = self.file.case();
        let answered = |part| {
            let stages = steps(&case, part).into_iter();
            stages
                .filter(|stage| stage.done)
                .any(|stage| stage.step == *step)
        };
        let moved = self.walk.next(&case).as_ref() != Some(step)
            && [Part::Found, Part::Left, Part::Refit]
                .into_iter()
                .any(answered);
        let why = match (struck, moved) {
            (Some(struck), _) => struck,
            (None, true) => "somebody else answered this step meanwhile".to_owned(),
            (None, false) => return Ok(true),
        };
        if matches!(read_line(line), Line::Command(Command::Quit)) {
            return Ok(true);
        }
        self.beep(world, 2)?;
        self.say(world, &format!("! {why}"))?;
        self.say(world, &format!("! not taken: {}", line.trim()))?;
        // What waited for an answer was of the slot that was on the screen too.
        match self.walk.put_down(line) {
            Answer::Facts(events, said) => {
                self.append(world, &events)?;
                for line in said {
                    self.say(world, &format!("! {line}"))?;
                }
            }
            Answer::Words(said) => {
                for line in said {
                    self.say(world, &format!("! {line}"))?;
                }
            }
            _ => {}
        }
        loop {
            let ask = "! look at the screen before the next value: yes goes on > ";
            match self.lines.next(world, self.quiet, ask)? {
                Next::Line(line) => match read_line(&line) {
                    Line::Command(Command::Yes) => return Ok(false),
                    _ => self.say(world, &format!("  not taken: {}", line.trim()))?,
                },
                Next::Sent(sent) => {
                    self.say(world, &format!("  not taken: {}", sent.line))?;
                }
                Next::Notice(notice) => self.say(world, &format!("  {notice}"))?,
                Next::End => return Ok(false),
            }
        }
    }

    /// What others struck at a corner, or of no corner, by entries after `from` and up to `to`.
    pub(super) fn struck_between(
        &self,
        here: Option<Corner>,
        from: u64,
        to: u64,
    ) -> Option<String> {
        let news = self.file.job.struck.iter();
        let mut news = news.filter(|(meta, ..)| meta.seq > from && meta.seq <= to);
        news.find_map(|(meta, target, reason)| {
            let (_, event, _) = self.file.job.log().find(|(m, ..)| m.seq == *target)?;
            let corner = event.corner();
            // A remark or a picture moves no slot.
            let moves = !matches!(event, Event::Note { .. } | Event::Photo { .. });
            let place = corner.map_or(String::new(), |corner| format!(" at {corner}"));
            ((corner.is_none() || corner == here) && moves).then(|| {
                format!(
                    "{} struck an entry{place} from another place ({reason})",
                    meta.by
                )
            })
        })
    }
}
