//! `walk`: the guided walk, prompt by prompt, from a keyboard, a pipe or a gauge.

mod left_before;
mod lines;

use self::lines::{Lines, Next};
use super::error::{Exit, Failure, Hint as _};
use super::open::{JobFile, person, style};
use super::style::{Style, wrapped};
use super::{Globals, World};
use crate::job::{Corner, Event};
use crate::judge::{self, ItemVerdict};
use crate::shop::gauge::Address;
use crate::shop::journal::Journal;
use crate::shop::lease::{Lease, LeaseError};
use crate::shop::photos;
use crate::walk::{Answer, Part, Step, Walk, big, opening_lines, steps};

/// Walk through a job, corner by corner, prompt by prompt
///
/// Every answer is on the disk before the next prompt appears; the walk goes on exactly where it
/// stopped. `help` at any prompt lists the commands. Lines may come from a pipe, and readings from
/// a gauge. Two people may walk one job at two corners.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  brakecorner walk HWY-0411")]
pub(super) struct Args {
    /// Job number
    job: String,
    /// Only this part: found, left or refit
    #[arg(long, value_parser = part)]
    part: Option<Part>,
    /// Who else may hold the gauge: `*` at a prompt hands it over (can be repeated)
    #[arg(long, value_name = "NAME")]
    with: Vec<String>,
    /// A gauge that sends its readings: a serial device, a pipe or a pseudo-terminal
    #[arg(long, value_name = "PATH[@BAUD]")]
    gauge: Option<String>,
    /// Show the last value in digits readable at two metres
    #[arg(long)]
    big: bool,
    /// Sound: one beep for what was taken, two for what wants a look
    #[arg(long)]
    sound: bool,
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
    let (file, journal) = JobFile::write(globals, world, &args.job)?;
    let lines = match &args.gauge {
        None => Lines::Stream,
        Some(text) => {
            let address: Address = text
                .parse()
                .hint("a path, or PATH@BAUD for a serial device")?;
            Lines::with_gauge(&address).hint("go on without --gauge, or plug it in")?
        }
    };
    let mut people = vec![by.clone()];
    people.extend(args.with.iter().filter(|name| **name != by).cloned());
    let mut sitting = Sitting {
        args,
        style: style(globals, world),
        quiet: globals.json,
        plain: globals.plain,
        walk: args
            .part
            .map_or_else(Walk::new, Walk::of_part)
            .calling_sides(file.shop.settings.sides),
        file,
        journal,
        by,
        people,
        lines,
        lease: None,
    };
    sitting.run(world)?;
    sitting.finish(globals, world)
}

/// One sitting of a walk.
struct Sitting<'a> {
    args: &'a Args,
    style: Style,
    /// With --json the words go to the error stream, and only the outcome to the results.
    quiet: bool,
    plain: bool,
    walk: Walk,
    file: JobFile,
    journal: Journal,
    by: String,
    people: Vec<String>,
    lines: Lines,
    lease: Option<Lease>,
}

impl Sitting<'_> {
    fn run(&mut self, world: &mut World<'_>) -> Result<(), Failure> {
        if !self.left_before(world)? {
            return self.leave(world);
        }
        let mut begun: Option<Part> = None;
        while let Some(step) = self.walk.next(&self.file.case()) {
            let part = self.walk.part(&self.file.case());
            if part != begun {
                begun = part;
                for line in part.map(opening_lines).unwrap_or_default() {
                    self.say(world, &format!("! {line}"))?;
                }
                if part == Some(Part::Left) {
                    self.say(
                        world,
                        "Everything is inspected as found. Now what was worked on, as left.",
                    )?;
                }
            }
            if !self.lease(world, &step)? {
                continue;
            }
            let line = match self.walk.queued() {
                Some(line) => line,
                None => match self.ask(world, &step)? {
                    Some(line) => line,
                    None => return self.leave(world),
                },
            };
            let day = world.clock.today();
            match self.walk.answer(&self.file.case(), &step, &line, day) {
                Answer::Quit => return self.leave(world),
                other => self.take(world, &step, other)?,
            }
        }
        Ok(())
    }

    /// Shows the prompt and reads a line.
    fn ask(&mut self, world: &mut World<'_>, step: &Step) -> Result<Option<String>, Failure> {
        let prompt = self.walk.prompt(&self.file.case(), step, self.plain);
        for line in &prompt.lines {
            self.say(world, line)?;
        }
        let ask = self.style.text(&prompt.ask);
        loop {
            match self.lines.next(world, self.quiet, &ask)? {
                Next::Line(line) => {
                    self.walk.line_from_gauge(false);
                    return Ok(Some(line));
                }
                Next::Reading(line) => {
                    self.walk.line_from_gauge(true);
                    return Ok(Some(line));
                }
                Next::Notice(notice) => self.say(world, &format!("  {notice}"))?,
                Next::End => return Ok(None),
            }
        }
    }

    fn take(&mut self, world: &mut World<'_>, step: &Step, answer: Answer) -> Result<(), Failure> {
        match answer {
            Answer::Quit => {}
            Answer::Words(said) => {
                if !said.is_empty() {
                    self.beep(world, 2)?;
                }
                for line in said {
                    self.say(world, &format!("  {line}"))?;
                }
            }
            Answer::Facts(events, said) => self.write(world, step, &events, &said)?,
            Answer::Person(name) => {
                self.by = match name {
                    Some(name) => name,
                    None => self.next_person(),
                };
                if !self.people.contains(&self.by) {
                    self.people.push(self.by.clone());
                }
                self.say(world, &format!("  {} holds the gauge", self.by))?;
            }
            Answer::Photo(place, item, path) => {
                let path = path.map(|path| world.folder.join(path));
                match photos::add(&self.file.folder, path.as_deref()) {
                    Ok(photo) => {
                        let said = format!("photo {} of {place} {item}", photo.name);
                        let event = Event::Photo {
                            place,
                            item,
                            sha256: photo.sha256,
                            name: photo.name,
                        };
                        self.write(world, step, &[event], &[said])?;
                    }
                    Err(error) => {
                        for line in Failure::from(error).chain() {
                            self.say(world, &format!("  {line}"))?;
                        }
                        let inbox = photos::inbox(&self.file.folder);
                        self.say(
                            world,
                            &format!(
                                "  put the picture into {}, or name its path",
                                inbox.display()
                            ),
                        )?;
                    }
                }
            }
            Answer::Sweep(step) => self.sweep(world, &step)?,
        }
        Ok(())
    }

    /// Writes events, says what was taken, and what is complete by it.
    fn write(
        &mut self,
        world: &mut World<'_>,
        step: &Step,
        events: &[Event],
        said: &[String],
    ) -> Result<(), Failure> {
        self.file
            .append(&mut self.journal, world, &self.by, events)?;
        self.beep(world, 1)?;
        for line in said {
            self.say(world, &format!("  {line}"))?;
            let value = line
                .rsplit_once("→ ")
                .and_then(|(_, value)| value.split(' ').next());
            if let Some(value) = value.filter(|v| {
                self.args.big && v.starts_with(|c: char| c.is_ascii_digit() || c == '-')
            }) {
                for row in big(value) {
                    self.say(world, &row)?;
                }
            }
        }
        for line in self.walk.completed(&self.file.case(), step) {
            self.say(world, &format!("  {line}"))?;
        }
        if let Some(corner) = step.corner() {
            self.corner_summary(world, step, corner)?;
        }
        Ok(())
    }

    /// When the last step of a corner is answered: what came of it, before moving on.
    fn corner_summary(
        &mut self,
        world: &mut World<'_>,
        step: &Step,
        corner: Corner,
    ) -> Result<(), Failure> {
        let case = self.file.case();
        let found = steps(&case, Part::Found);
        let here = |stage: &&crate::walk::Stage| stage.step.corner() == Some(corner);
        let belongs = found.iter().any(|stage| stage.step == *step);
        if !belongs
            || found
                .iter()
                .filter(here)
                .any(|stage| !stage.done && !stage.optional)
        {
            return Ok(());
        }
        let judgement = judge::judge(&case);
        let Some(judged) = judgement.corners.get(&corner) else {
            return Ok(());
        };
        let waiting = crate::job::Item::TorqueWheel;
        let open: Vec<String> = judged
            .items
            .iter()
            .filter(|f| f.verdict != ItemVerdict::Pass && f.item != waiting)
            .map(|f| format!("  {} {}", f.verdict, f.sentence))
            .collect();
        let good = judged
            .items
            .iter()
            .filter(|f| f.verdict == ItemVerdict::Pass)
            .count();
        self.say(
            world,
            &format!(
                "== {corner} is complete: {good} items hold, {} want attention",
                open.len()
            ),
        )?;
        for line in open {
            self.say(world, &line)?;
        }
        Ok(())
    }

    /// One slow turn of a streaming dial: lowest, highest, and where the highest was.
    fn sweep(&mut self, world: &mut World<'_>, step: &Step) -> Result<(), Failure> {
        self.say(
            world,
            "  turn once, slowly, from stud 1 to stud 1; the sweep ends when the gauge is quiet",
        )?;
        world.out.flush()?;
        let Some(readings) = self.lines.sweep() else {
            return self.say(
                world,
                "  a sweep needs a gauge that streams: walk --gauge PATH",
            );
        };
        let numbers: Vec<f64> = readings
            .iter()
            .filter_map(|text| text.split(' ').next()?.replace(',', ".").parse().ok())
            .collect();
        let order = |a: &(usize, &f64), b: &(usize, &f64)| a.1.total_cmp(b.1);
        let (Some(low), Some(high)) = (
            numbers.iter().enumerate().min_by(order),
            numbers.iter().enumerate().max_by(order),
        ) else {
            return self.say(world, "  the gauge sent nothing");
        };
        #[allow(clippy::cast_precision_loss)] // a turn has some thousand readings
        let angle = 360.0 * high.0 as f64 / numbers.len() as f64;
        let said = format!(
            "{} readings in the turn; high spot near {angle:.0}° if the turn was even",
            numbers.len()
        );
        self.say(world, &format!("  {said}"))?;
        let line = format!("{} {}", readings[low.0], readings[high.0]);
        self.walk.line_from_gauge(true);
        let answer = self
            .walk
            .answer(&self.file.case(), step, &line, world.clock.today());
        let note = step.about().map(|(place, item, _)| Event::Note {
            place,
            item: Some(item),
            text: said,
        });
        if let (Answer::Facts(..), Some(note)) = (&answer, note) {
            self.file
                .append(&mut self.journal, world, &self.by, &[note])?;
        }
        self.take(world, step, answer)
    }

    /// Holds the step's corner; false when somebody else does and the walk must go on elsewhere.
    fn lease(&mut self, world: &mut World<'_>, step: &Step) -> Result<bool, Failure> {
        let Some(corner) = step.corner() else {
            return Ok(true);
        };
        if self
            .lease
            .as_ref()
            .is_some_and(|lease| lease.corner() == corner)
        {
            return Ok(true);
        }
        self.lease = None;
        let host = world
            .var("HOSTNAME")
            .or(world.var("COMPUTERNAME"))
            .unwrap_or("this computer");
        let holder = format!("{} on {host}, process {}", self.by, std::process::id());
        match Lease::take(&self.file.folder, corner, &holder) {
            Ok(lease) => {
                self.lease = Some(lease);
                // The other may have answered steps of this corner before giving it back.
                for entry in &self.journal.read_news()?.entries {
                    entry.apply_to(&mut self.file.job);
                }
                Ok(self.walk.next(&self.file.case()).as_ref() == Some(step))
            }
            Err(held @ LeaseError::Held { .. }) => {
                self.say(world, &format!("  {held}; going on elsewhere"))?;
                self.walk.leave_to_others(corner);
                Ok(false)
            }
            // A folder that takes no lease takes no entry either: the append says so properly.
            Err(LeaseError::Io { .. }) => Ok(true),
        }
    }

    fn next_person(&self) -> String {
        let here = self
            .people
            .iter()
            .position(|name| *name == self.by)
            .unwrap_or(0);
        self.people
            .get((here + 1) % self.people.len())
            .unwrap_or(&self.by)
            .clone()
    }

    /// Asks for the state the vehicle is left in; no answer is noted as not said.
    fn leave(&mut self, world: &mut World<'_>) -> Result<(), Failure> {
        self.say(world, "The vehicle stands: 1 on the lift, 2 on stands, 3 lowered with wheels hand-tight (NOT torqued), 4 lowered and torqued")?;
        let Next::Line(line) = self.lines.next(world, self.quiet, "number or words > ")? else {
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
        self.file
            .append(&mut self.journal, world, &self.by, &[event])
    }

    fn finish(&mut self, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
        let case = self.file.case();
        let open = self.walk.next(&case).is_some() || !self.walk.left_to_others().is_empty();
        if globals.json {
            let value = serde_json::json!({
                "job": self.args.job, "complete": !open, "entries": self.file.job.last_seq
            });
            writeln!(world.out, "{value:#}")?;
        } else if open {
            writeln!(
                world.out,
                "stopped; everything entered is safe. Go on with: brakecorner walk {}",
                self.args.job
            )?;
        } else {
            let verdict = judge::judge(&case);
            writeln!(
                world.out,
                "complete: as found {}, as left {}",
                self.style.overall(verdict.as_found),
                self.style.overall(verdict.as_left)
            )?;
            writeln!(world.err, "next: brakecorner sign {}", self.args.job)?;
        }
        Ok(Exit::Good)
    }

    fn say(&self, world: &mut World<'_>, line: &str) -> Result<(), Failure> {
        for line in wrapped(&self.style.text(line)) {
            if self.quiet {
                writeln!(world.err, "{line}")?;
            } else {
                writeln!(world.out, "{line}")?;
            }
        }
        Ok(())
    }

    fn beep(&self, world: &mut World<'_>, times: usize) -> Result<(), Failure> {
        if self.args.sound {
            write!(world.err, "{}", "\u{7}".repeat(times))?;
        }
        Ok(())
    }
}
