//! Where the refit's lines come from: the command's own input, or keyboard and wrench together.

use std::sync::mpsc::{Receiver, channel};

use crate::cli::World;
use crate::cli::ask::Talk;
use crate::cli::error::{Failure, Hint as _};
use crate::shop::gauge::{Address, Heard, listen_to_keyboard};

/// Keyboard and wrench.
pub(super) enum Input {
    /// The command's own input.
    Own,
    /// Whichever speaks first.
    Merged(Receiver<Heard>),
}

/// One line and who gave it.
pub(super) enum Line {
    Typed(String),
    Wrench(String),
}

impl Input {
    /// The own input, merged with a wrench where one is named.
    pub(super) fn new(gauge: Option<&str>) -> Result<Self, Failure> {
        let Some(text) = gauge else {
            return Ok(Self::Own);
        };
        let address: Address = text
            .parse()
            .hint("a path, or PATH@BAUD for a serial device")?;
        let (to, from) = channel();
        address
            .listen(0, to.clone())
            .hint("go on without --gauge, or plug it in")?;
        listen_to_keyboard(to);
        Ok(Self::Merged(from))
    }

    /// Asks and waits for a line; `None` when the keyboard's input ended.
    pub(super) fn ask(
        &self,
        talk: &Talk,
        world: &mut World<'_>,
        question: &str,
    ) -> Result<Option<Line>, Failure> {
        let Self::Merged(from) = self else {
            return Ok(talk.ask(world, question)?.map(Line::Typed));
        };
        loop {
            talk.show(world, question)?;
            match from.recv() {
                Ok(Heard::Typed(line)) => {
                    let line = line.trim().to_owned();
                    if !world.input_is_terminal {
                        talk.say(world, &line)?;
                    }
                    return Ok(Some(Line::Typed(line)));
                }
                Ok(Heard::Gauge { line, .. }) => {
                    talk.say(world, &line)?;
                    return Ok(Some(Line::Wrench(line)));
                }
                Ok(Heard::GaugeGone { why, .. }) => {
                    talk.say(world, "")?;
                    let gone = format!("  the wrench is gone ({why}); go on at the keyboard");
                    talk.say(world, &gone)?;
                }
                Ok(Heard::KeyboardEnded) | Err(_) => {
                    talk.say(world, "")?;
                    return Ok(None);
                }
            }
        }
    }

    /// Asks until the keyboard says yes or no; `None` when its input ended.
    pub(super) fn yes_no(
        &self,
        talk: &Talk,
        world: &mut World<'_>,
        question: &str,
    ) -> Result<Option<(bool, String)>, Failure> {
        loop {
            match self.ask(talk, world, question)? {
                None => return Ok(None),
                Some(Line::Wrench(_)) => talk.say(world, super::NO_CLICK)?,
                Some(Line::Typed(line)) => match Talk::read_yes_no(&line) {
                    Some(answer) => return Ok(Some(answer)),
                    None => talk.say(world, Talk::NEITHER)?,
                },
            }
        }
    }
}
