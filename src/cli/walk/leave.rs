//! How a sitting ends: what still waited for an answer, and the state the vehicle is left in.

use super::lines::Next;
use super::{Failure, Sitting, World};
use crate::job::Event;
use crate::walk::{Answer, Command, Line, command_among_words, read_line};

impl Sitting<'_> {
    /// Asks for the state the vehicle is left in; no answer is noted as not said. Commands work
    /// here too. False when one of them goes on with the walk.
    pub(super) fn leave(&mut self, world: &mut World<'_>, line: &str) -> Result<bool, Failure> {
        let (events, said) = match self.walk.put_down(line) {
            Answer::Facts(events, said) => (events, said),
            Answer::Words(said) => (Vec::new(), said),
            _ => (Vec::new(), Vec::new()),
        };
        if !events.is_empty() {
            self.append(world, &events)?;
        }
        for line in said {
            self.say(world, &format!("  {line}"))?;
        }
        self.say(world, "The vehicle stands: 1 on the lift, 2 on stands, 3 lowered with wheels hand-tight (NOT torqued), 4 lowered and torqued")?;
        loop {
            let line = match self.lines.next(world, self.quiet, "number or words > ")? {
                Next::Line(line) => line,
                Next::End => return Ok(true),
                Next::Sent(sent) => {
                    let line = sent.line;
                    self.say(world, &format!("  the gauge sent `{line}`: not taken"))?;
                    continue;
                }
                Next::Notice(notice) => {
                    self.say(world, &format!("  {notice}"))?;
                    continue;
                }
            };
            let vehicle = match line.trim() {
                "1" => "on the lift",
                "2" => "on stands",
                "3" => "lowered, wheels hand-tight, not torqued",
                "4" => "lowered and torqued",
                other => {
                    if let Some(command) = command_among_words(other) {
                        if command == Command::Quit {
                            return Ok(true);
                        }
                        if self.goes_on(world, &command, other)? {
                            return Ok(false);
                        }
                        continue;
                    }
                    match read_line(other) {
                        Line::Empty => return Ok(true),
                        Line::Values(_) | Line::NotInspected(_) => {
                            self.say(
                                world,
                                "  1 to 4, or how it stands in words; Enter leaves it unsaid",
                            )?;
                            continue;
                        }
                        _ => other,
                    }
                }
            };
            let vehicle = vehicle.to_owned();
            self.append(world, &[Event::Left { vehicle }])?;
            return Ok(true);
        }
    }

    /// Does what a command says after the walk was left; true when it goes on with the walk.
    fn goes_on(
        &mut self,
        world: &mut World<'_>,
        command: &Command,
        line: &str,
    ) -> Result<bool, Failure> {
        let Some(step) = self.walk.next(&self.file.case()) else {
            self.say(
                world,
                "  there is no step left; 1 to 4, or how it stands in words",
            )?;
            return Ok(false);
        };
        if matches!(command, Command::Yes | Command::No(_) | Command::Past) {
            self.say(
                world,
                "  1 to 4, or how it stands in words; Enter leaves it unsaid",
            )?;
            return Ok(false);
        }
        let day = world.clock.today();
        let answer = self.walk.line(&self.file.case(), &step, line, day);
        self.take(world, &step, answer)?;
        Ok(matches!(
            command,
            Command::Back
                | Command::Go(_)
                | Command::Redo
                | Command::Retake(_)
                | Command::Second
                | Command::Skip(_)
                | Command::Sweep
                | Command::Cast(_)
        ))
    }
}
