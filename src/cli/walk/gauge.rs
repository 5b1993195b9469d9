//! What a gauge's lines mean at a step: the pattern of its instrument, its unit, one slow turn.

use super::lines::{Sent, Swept};
use super::{Failure, Sitting, World};
use crate::cli::style::counted;
use crate::job::{Entered, Event, Instrument, Quantity, Source};
use crate::shop::gauge::reading;
use crate::units::Length;
use crate::walk::{Answer, Step};

impl Sitting<'_> {
    /// The value a gauge's line holds for a step, or why it is not taken.
    pub(super) fn understood(&self, step: &Step, sent: &Sent) -> Result<String, String> {
        let line = &sent.line;
        if !self.walk.takes_reading(step) {
            return Err(format!(
                "the gauge sent `{line}`, and no reading is asked for here: not taken"
            ));
        }
        let case = self.file.case();
        let wanted = self.walk.reads_with(&case, step);
        if let Some(mark) = &sent.mark
            && wanted.is_none_or(|wanted| wanted.id != *mark)
        {
            let wanted = wanted.map_or("no instrument on file", |wanted| wanted.id.as_str());
            return Err(format!(
                "`{line}` came from {mark}, and this step is read with {wanted}: not taken; `use {mark}` if that is right"
            ));
        }
        let by_pattern = |instrument: &Instrument| {
            let pattern = instrument.line_pattern().ok().flatten()?;
            Some(pattern.read(line).map(|sent| sent.to_string()))
        };
        match wanted.and_then(by_pattern) {
            Some(Ok(value)) => Ok(value),
            Some(Err(why)) => {
                let other = self.file.register.instruments.iter().find(|other| {
                    wanted.is_none_or(|wanted| wanted.id != other.id)
                        && by_pattern(other).is_some_and(|read| read.is_ok())
                });
                let other = other.map_or(String::new(), |other| {
                    format!("; it fits the pattern of {}", other.id)
                });
                Err(format!("{why}{other}: not taken"))
            }
            None => reading(line).map_err(|why| format!("the gauge sent `{line}`, {why}")),
        }
    }

    /// One slow turn of a streaming dial: lowest, highest, and where the highest was.
    pub(super) fn sweep(&mut self, world: &mut World<'_>, step: &Step) -> Result<(), Failure> {
        self.say(
            world,
            "  turn once, slowly, from stud 1 to stud 1; the sweep ends when the gauge is quiet, or at Enter",
        )?;
        world.out.flush()?;
        let turn = match self.lines.sweep() {
            Swept::NoGauge => {
                return self.say(
                    world,
                    "  a sweep needs a gauge that streams: walk --gauge PATH",
                );
            }
            Swept::Broken(why) => {
                self.say(world, &format!("  {why}"))?;
                return self.say(world, "  the turn is not whole: nothing of it is taken");
            }
            Swept::Turn(turn) => turn,
        };
        let read = match self.turn_of(step, &turn) {
            Ok(read) => read,
            Err(why) => return self.say(world, &format!("  {why}; nothing of the turn is taken")),
        };
        let (Some(low), Some(high)) = (
            read.iter().min_by_key(|(value, _)| *value),
            read.iter().max_by_key(|(value, _)| *value),
        ) else {
            return self.say(world, "  the gauge sent nothing");
        };
        let at = read.iter().position(|one| one == high).unwrap_or(0);
        // The turn begins and ends at stud 1: its last reading is at 360°.
        #[allow(clippy::cast_precision_loss)] // a turn has some thousand readings
        let angle = 360.0 * at as f64 / (read.len() - 1).max(1) as f64;
        let said = format!(
            "{} in the turn; high spot near {angle:.0}° if the turn was even",
            counted(read.len(), "reading", "readings")
        );
        self.say(world, &format!("  {said}"))?;
        let line = format!("{} {}", low.1, high.1);
        if !self.still_asked(world, step, &line)? {
            return Ok(());
        }
        self.walk.line_from(Source::Gauge, None);
        let answer = self
            .walk
            .line(&self.file.case(), step, &line, world.clock.today());
        let note = step.about().map(|(place, item, _)| Event::Note {
            place,
            item: Some(item),
            text: said,
        });
        // The turn and what is known of it are written together.
        let answer = match (answer, note) {
            (Answer::Facts(mut events, words), Some(note)) => {
                events.push(note);
                Answer::Facts(events, words)
            }
            (other, _) => other,
        };
        self.take(world, step, answer)
    }

    /// The values of a turn with their texts; the turn must have come back to where it began.
    fn turn_of(&self, step: &Step, turn: &[Sent]) -> Result<Vec<(Length, String)>, String> {
        let case = self.file.case();
        let instrument = self.walk.reads_with(&case, step);
        let unit = instrument.map_or("", |instrument| instrument.unit.as_str());
        let mut read = Vec::with_capacity(turn.len());
        for sent in turn {
            let text = self.understood(step, sent)?;
            let entered =
                Entered::read(&text, Quantity::Length, unit).map_err(|error| error.to_string())?;
            read.push((Length::from_nm(entered.value), text));
        }
        // The same bound as for a ring's return: 5 µm or one step of the dial (common practice).
        let step = instrument.and_then(|i| i.resolution().ok().flatten());
        let allowed = step.unwrap_or_default().max(Length::from_nm(5_000));
        if let (Some((first, _)), Some((last, _))) = (read.first(), read.last())
            && (*last - *first).abs() > allowed
        {
            return Err(format!(
                "the turn began at {first} and ended at {last}: not back at stud 1, or the stand moved"
            ));
        }
        Ok(read)
    }
}
