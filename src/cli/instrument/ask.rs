//! One question, one line: shared by the commands that ask outside the walk.

use crate::cli::World;
use crate::cli::error::Failure;
use crate::cli::style::wrapped;

/// The longest line taken at once.
const LONGEST_LINE: u64 = 64 * 1024;

/// Writes a line for the person, broken to fit: to the results, or to the error stream when those are JSON.
pub(crate) fn say(world: &mut World<'_>, quiet: bool, line: &str) -> Result<(), Failure> {
    for line in wrapped(line) {
        if quiet {
            writeln!(world.err, "{line}")?;
        } else {
            writeln!(world.out, "{line}")?;
        }
    }
    Ok(())
}

/// Asks and reads one line; `None` when the input has ended.
pub(crate) fn ask(
    world: &mut World<'_>,
    quiet: bool,
    question: &str,
) -> Result<Option<String>, Failure> {
    if quiet {
        write!(world.err, "{question}")?;
        world.err.flush()?;
    } else {
        write!(world.out, "{question}")?;
        world.out.flush()?;
    }
    let mut bytes = Vec::new();
    let mut input = std::io::Read::take(&mut *world.input, LONGEST_LINE);
    if std::io::BufRead::read_until(&mut input, b'\n', &mut bytes)? == 0 {
        say(world, quiet, "")?;
        return Ok(None);
    }
    let line = String::from_utf8_lossy(&bytes).trim().to_owned();
    if !world.input_is_terminal && !quiet {
        // A pipe does not echo: show the line as a person would see it.
        let shown: String = line
            .chars()
            .map(|c| if c.is_control() { '\u{fffd}' } else { c })
            .collect();
        writeln!(world.out, "{shown}")?;
    }
    Ok(Some(line))
}
