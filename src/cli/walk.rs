//! `walk`: the guided walk, prompt by prompt, from a keyboard or a pipe.

use super::error::{Exit, Failure};
use super::open::{JobFile, person, style};
use super::{Globals, World};
use crate::job::Event;
use crate::walk::{Answer, Part, Walk, opening_lines};

/// Walk through a job, corner by corner, prompt by prompt
///
/// Every answer is on the disk before the next prompt appears; the walk goes on exactly where it
/// stopped. `help` at any prompt lists the commands. Lines may come from a pipe.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  brakecorner walk HWY-0411")]
pub(super) struct Args {
    /// Job number
    job: String,
    /// Only this part: found, left or refit
    #[arg(long, value_parser = part)]
    part: Option<Part>,
}

fn part(text: &str) -> Result<Part, String> {
    match text {
        "found" => Ok(Part::Found),
        "left" => Ok(Part::Left),
        "refit" => Ok(Part::Refit),
        _ => Err("expected found, left or refit".to_owned()),
    }
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let by = person(globals, world)?;
    let (mut file, mut journal) = JobFile::write(globals, world, &args.job)?;
    let style = style(globals, world);
    // With --json the words go to the error stream, and only the outcome to the results.
    let quiet = globals.json;
    let mut walk = args.part.map_or_else(Walk::new, Walk::of_part);
    let mut begun: Option<Part> = None;
    let mut stopped = false;
    while let Some(step) = walk.next(&file.case()) {
        let now_part = walk.part(&file.case());
        if now_part != begun {
            begun = now_part;
            for line in begun.map(opening_lines).unwrap_or_default() {
                say(world, quiet, &style.text(&format!("! {line}")))?;
            }
            if begun == Some(Part::Left) {
                say(
                    world,
                    quiet,
                    "Everything is inspected as found. Now what was worked on, as left.",
                )?;
            }
        }
        let line = match walk.queued() {
            Some(line) => line,
            None => {
                let prompt = walk.prompt(&file.case(), &step, globals.plain);
                for line in &prompt.lines {
                    say(world, quiet, &style.text(line))?;
                }
                match read_line(world, quiet, &style.text(&prompt.ask))? {
                    Some(line) => line,
                    None => {
                        stopped = true;
                        break;
                    }
                }
            }
        };
        // The day the answer is given on, for calibrations; in told time it does not move the clock.
        let day = world.clock.today();
        match walk.answer(&file.case(), &step, &line, day) {
            Answer::Quit => {
                stopped = true;
                break;
            }
            Answer::Words(said) => {
                for line in said {
                    say(world, quiet, &style.text(&format!("  {line}")))?;
                }
            }
            Answer::Facts(events, said) => {
                file.append(&mut journal, world, &by, &events)?;
                for line in said {
                    say(world, quiet, &style.text(&format!("  {line}")))?;
                }
                for line in walk.completed(&file.case(), &step) {
                    say(world, quiet, &style.text(&format!("  {line}")))?;
                }
            }
        }
    }
    if stopped {
        leave(&mut file, &mut journal, world, &by, quiet)?;
    }
    finish(args, globals, world, &file, &walk)
}

fn finish(
    args: &Args,
    globals: &Globals,
    world: &mut World<'_>,
    file: &JobFile,
    walk: &Walk,
) -> Result<Exit, Failure> {
    let open = walk.next(&file.case()).is_some();
    if globals.json {
        let value =
            serde_json::json!({"job": args.job, "complete": !open, "entries": file.job.last_seq});
        writeln!(world.out, "{value:#}")?;
    } else if open {
        writeln!(
            world.out,
            "stopped; everything entered is safe. Go on with: brakecorner walk {}",
            args.job
        )?;
    } else {
        let verdict = crate::judge::judge(&file.case());
        let style = style(globals, world);
        writeln!(
            world.out,
            "complete: as found {}, as left {}",
            style.overall(verdict.as_found),
            style.overall(verdict.as_left)
        )?;
        writeln!(world.err, "next: brakecorner sign {}", args.job)?;
    }
    Ok(Exit::Good)
}

/// Asks for the state the vehicle is left in; no answer is noted as not said.
fn leave(
    file: &mut JobFile,
    journal: &mut crate::shop::journal::Journal,
    world: &mut World<'_>,
    by: &str,
    quiet: bool,
) -> Result<(), Failure> {
    say(
        world,
        quiet,
        "The vehicle stands: 1 on the lift, 2 on stands, 3 lowered with wheels hand-tight (NOT torqued), 4 lowered and torqued",
    )?;
    let Some(line) = read_line(world, quiet, "number or words > ")? else {
        return Ok(());
    };
    let vehicle = match line.trim() {
        "" => return Ok(()),
        "1" => "on the lift",
        "2" => "on stands",
        "3" => "lowered, wheels hand-tight, not torqued",
        "4" => "lowered and torqued",
        other => other,
    };
    let event = Event::Left {
        vehicle: vehicle.to_owned(),
    };
    file.append(journal, world, by, &[event])
}

fn say(world: &mut World<'_>, quiet: bool, line: &str) -> Result<(), Failure> {
    if quiet {
        writeln!(world.err, "{line}")?;
    } else {
        writeln!(world.out, "{line}")?;
    }
    Ok(())
}

/// The longest line taken at once; gauges send a dozen characters.
const LONGEST_LINE: u64 = 64 * 1024;

fn read_line(world: &mut World<'_>, quiet: bool, ask: &str) -> Result<Option<String>, Failure> {
    if quiet {
        write!(world.err, "{ask}")?;
        world.err.flush()?;
    } else {
        write!(world.out, "{ask}")?;
        world.out.flush()?;
    }
    let mut bytes = Vec::new();
    let mut input = std::io::Read::take(&mut *world.input, LONGEST_LINE);
    if std::io::BufRead::read_until(&mut input, b'\n', &mut bytes)? == 0 {
        say(world, quiet, "")?;
        return Ok(None);
    }
    // A gauge on the wrong wiring sends bytes that are no text: shown as such, never a reading.
    let line = String::from_utf8_lossy(&bytes).into_owned();
    if !world.input_is_terminal && !quiet {
        // A pipe does not echo: show the line as a person would see it.
        writeln!(world.out, "{}", line.trim_end())?;
    }
    Ok(Some(line))
}
