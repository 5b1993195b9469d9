//! Questions of the desk's commands, from a keyboard or a pipe.

use chrono::{DateTime, FixedOffset, NaiveDate, NaiveDateTime, TimeZone as _};

use super::World;
use super::error::Failure;
use super::style::{Style, wrapped, wrapped_question};

/// The longest line taken at once.
const LONGEST_LINE: u64 = 64 * 1024;

/// Where questions and words go: with JSON results, to the error stream.
pub(crate) struct Talk {
    pub(crate) style: Style,
    pub(crate) quiet: bool,
}

impl Talk {
    /// Says a line.
    pub(crate) fn say(&self, world: &mut World<'_>, line: &str) -> Result<(), Failure> {
        for line in wrapped(&self.style.text(line)) {
            if self.quiet {
                writeln!(world.err, "{line}")?;
            } else {
                writeln!(world.out, "{line}")?;
            }
        }
        Ok(())
    }

    /// Shows a question, without ending its line.
    pub(crate) fn show(&self, world: &mut World<'_>, question: &str) -> Result<(), Failure> {
        let question = wrapped_question(&self.style.text(question));
        let to = if self.quiet {
            &mut *world.err
        } else {
            &mut *world.out
        };
        write!(to, "{question}")?;
        to.flush()?;
        Ok(())
    }

    /// Asks and reads one line; `None` when the input ended.
    pub(crate) fn ask(
        &self,
        world: &mut World<'_>,
        question: &str,
    ) -> Result<Option<String>, Failure> {
        self.show(world, question)?;
        let mut bytes = Vec::new();
        let mut input = std::io::Read::take(&mut *world.input, LONGEST_LINE);
        if std::io::BufRead::read_until(&mut input, b'\n', &mut bytes)? == 0 {
            self.say(world, "")?;
            return Ok(None);
        }
        let line = String::from_utf8_lossy(&bytes).trim().to_owned();
        if !world.input_is_terminal {
            // A pipe does not echo: show the line as a person would see it.
            self.say(world, &line)?;
        }
        Ok(Some(line))
    }

    /// Asks until the answer is yes or no; `None` when the input ended.
    pub(crate) fn yes_no(
        &self,
        world: &mut World<'_>,
        question: &str,
    ) -> Result<Option<(bool, String)>, Failure> {
        loop {
            let Some(line) = self.ask(world, question)? else {
                return Ok(None);
            };
            match Self::read_yes_no(&line) {
                Some(answer) => return Ok(Some(answer)),
                None => self.say(world, Self::NEITHER)?,
            }
        }
    }

    /// What to say to an answer that is neither yes nor no.
    pub(crate) const NEITHER: &'static str = "  yes, or no and why; an empty line is no answer";

    /// Reads yes or no with what follows it; `None` for anything else.
    pub(crate) fn read_yes_no(line: &str) -> Option<(bool, String)> {
        let (word, rest) = line.split_once(' ').unwrap_or((line, ""));
        let yes = match word.to_lowercase().as_str() {
            "yes" | "y" => true,
            "no" | "n" => false,
            _ => return None,
        };
        Some((yes, rest.trim().to_owned()))
    }
}

/// Refuses a day to ask again on that has passed.
pub(crate) fn still_to_come(until: Option<NaiveDate>, today: NaiveDate) -> Result<(), Failure> {
    match until {
        Some(day) if day < today => Err(Failure::from(format!(
            "the day {day} lies before today, {today}"
        ))),
        _ => Ok(()),
    }
}

/// Reads `2026-03-04 16:00` in the clock's own zone, or a full RFC 3339 time; never one that has
/// passed.
pub(crate) fn time(
    text: &str,
    now: DateTime<FixedOffset>,
) -> Result<DateTime<FixedOffset>, Failure> {
    let text = text.trim();
    let local = NaiveDateTime::parse_from_str(text, "%Y-%m-%d %H:%M")
        .or_else(|_| NaiveDateTime::parse_from_str(text, "%Y-%m-%dT%H:%M"))
        .ok()
        .and_then(|local| now.offset().from_local_datetime(&local).single());
    let time = local
        .or_else(|| DateTime::parse_from_rfc3339(text).ok())
        .ok_or_else(|| {
            Failure::from(format!("`{text}` is no time")).hint("a time looks like 2026-03-04 16:00")
        })?;
    if time < now {
        return Err(Failure::from(format!(
            "the time {} lies before now, {}",
            time.to_rfc3339(),
            now.to_rfc3339()
        )));
    }
    Ok(time)
}
