//! `walk`: the guided walk, prompt by prompt, from a keyboard, a pipe or a gauge.

mod gauge;
mod leave;
mod left_before;
mod lines;
mod outside;

use self::lines::{Lines, Next};
use super::error::{Exit, Failure};
use super::job::remember_absent;
use super::open::{JobFile, person, style};
use super::style::{Style, counted, wrapped};
use super::{Globals, World};
use crate::job::{Corner, Depth, Event, Phase, Source};
use crate::judge::{self, ItemVerdict, plausible};
use crate::office;
use crate::shop::journal::{Journal, JournalError};
use crate::shop::lease::{Lease, LeaseError};
use crate::shop::photos;
use crate::walk::{Answer, Part, Step, Walk, aside, big, opening_lines, steps};

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
    /// A gauge that sends its readings: a serial device, a pipe or a pseudo-terminal; its speed, or
    /// the instrument it is (can be repeated). Without a speed the register's is used
    #[arg(long, value_name = "PATH[@BAUD|@INSTRUMENT]")]
    gauge: Vec<String>,
    /// From here on another depth: quick or full
    #[arg(long, value_parser = depth)]
    depth: Option<Depth>,
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

fn depth(text: &str) -> Result<Depth, String> {
    serde_json::from_value(text.into()).map_err(|_| "expected quick or full".to_owned())
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let by = person(globals, world)?;
    let (file, journal) = JobFile::write(globals, world, &args.job)?;
    let lines = if args.gauge.is_empty() {
        Lines::Stream
    } else {
        Lines::with_gauges(&args.gauge, &file.register)?
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
        known: 0,
        stopped: None,
    };
    sitting.walk.worked_by(&sitting.by);
    sitting.known = sitting.file.job.last_seq;
    if sitting.begin(world)? {
        sitting.run(world)?;
    }
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
    /// The last entry of the journal that was on the screen or was made here.
    known: u64,
    /// What others struck here while an answer was being written.
    stopped: Option<String>,
}

impl Sitting<'_> {
    /// Before the first step: a clock that cannot be right, and another depth. False: not today.
    fn begin(&mut self, world: &mut World<'_>) -> Result<bool, Failure> {
        let last = self
            .file
            .job
            .log()
            .last()
            .map(|(meta, ..)| meta.at.date_naive());
        let future = last.and_then(|day| plausible::future_question(day, world.clock.today()));
        if let Some(question) = future {
            self.say(world, &format!("? the job's last entry: {question}"))?;
            loop {
                match self
                    .lines
                    .next(world, self.quiet, "yes goes on, no stops > ")?
                {
                    Next::Line(line) if matches!(line.trim(), "yes" | "y") => break,
                    Next::Line(line) if matches!(line.trim(), "no" | "n" | "quit") => {
                        return Ok(false);
                    }
                    Next::End => return Ok(false),
                    _ => {}
                }
            }
            let note = Event::Note {
                place: crate::job::Place::Vehicle,
                item: None,
                text: format!("asked: {question}; answered: yes"),
            };
            self.append(world, &[note])?;
        }
        let had = self.file.job.opening.as_ref().map(|opening| opening.depth);
        if let Some(depth) = self.args.depth
            && had != Some(depth)
        {
            self.append(world, &[Event::DepthChosen { depth }])?;
            let word = if depth == Depth::Quick {
                "quick"
            } else {
                "full"
            };
            let said = if self.file.case().depth() == depth {
                format!("depth: {word} from here on; what was read stays")
            } else {
                "depth: quick is noted, but the complaint (judder or pull) keeps it full".to_owned()
            };
            self.say(world, &said)?;
        }
        Ok(true)
    }

    fn run(&mut self, world: &mut World<'_>) -> Result<(), Failure> {
        if !self.left_before(world)? {
            return self.leave(world, "").map(|_| ());
        }
        let mut begun: Option<Part> = None;
        while let Some(step) = self.walk.next(&self.file.case()) {
            let part = self.walk.part(&self.file.case());
            if part != begun {
                if part == Some(Part::Refit) && !self.may_refit(world)? {
                    return self.leave(world, "").map(|_| ());
                }
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
            self.known = self.file.job.last_seq;
            let day = world.clock.today();
            let words = self.walk.instrument_words(&self.file.case(), &step, day);
            for line in words {
                self.say(world, &format!("! {line}"))?;
            }
            let Some(line) = self.ask(world, &step)? else {
                return self.leave(world, "").map(|_| ());
            };
            if !self.still_asked(world, &step, &line)? {
                continue;
            }
            match self.walk.line(&self.file.case(), &step, &line, day) {
                Answer::Quit if self.leave(world, &line)? => return Ok(()),
                Answer::Quit => {}
                other => self.take(world, &step, other)?,
            }
        }
        Ok(())
    }

    /// Whether the wheels may go back on: not past something the vehicle must not be driven with and
    /// that nobody has decided about.
    fn may_refit(&self, world: &mut World<'_>) -> Result<bool, Failure> {
        let case = self.file.case();
        let judgement = judge::judge(&case);
        let open = office::before_refit(&case, &judgement);
        if open.is_empty() {
            return Ok(true);
        }
        let drive = office::drive(&case, &judgement, Phase::AsLeft);
        self.say(world, &drive.to_string())?;
        self.say(
            world,
            "Before the wheels go back on: what was done, or what was decided?",
        )?;
        for obstacle in open {
            self.say(world, &format!("  {obstacle}"))?;
            self.say(
                world,
                &format!("    {}", obstacle.closed_by(&judgement.job)),
            )?;
        }
        Ok(false)
    }

    /// Shows the prompt and reads a line.
    fn ask(&mut self, world: &mut World<'_>, step: &Step) -> Result<Option<String>, Failure> {
        let day = world.clock.today();
        let prompt = self.walk.prompt(&self.file.case(), step, day, self.plain);
        for line in &prompt.lines {
            self.say(world, line)?;
        }
        let ask = self.style.text(&prompt.ask);
        loop {
            match self.lines.next(world, self.quiet, &ask)? {
                Next::Line(line) => {
                    self.walk.line_from(Source::Typed, None);
                    return Ok(Some(line));
                }
                Next::Sent(sent) => match self.understood(step, &sent) {
                    Ok(line) => {
                        self.walk.line_from(Source::Gauge, sent.gap_ms);
                        return Ok(Some(line));
                    }
                    Err(why) => {
                        self.beep(world, 2)?;
                        self.say(world, &format!("  {why}"))?;
                    }
                },
                Next::Notice(notice) => {
                    self.beep(world, 2)?;
                    self.say(world, &format!("  {notice}"))?;
                }
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
                self.walk.worked_by(&self.by);
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
        self.append(world, events)?;
        self.beep(world, if self.walk.asks() { 2 } else { 1 })?;
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
        if let Some(corner) = step.corner().filter(|_| !aside(events)) {
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
                "== {corner} is complete: {}, {}",
                counted(good, "item holds", "items hold"),
                counted(open.len(), "wants attention", "want attention")
            ),
        )?;
        for line in open {
            self.say(world, &line)?;
        }
        Ok(())
    }

    /// Appends, and waits on a disk that is full or fails until it takes the entry: what was typed
    /// stays at hand, and everything confirmed before is safe.
    fn append(&mut self, world: &mut World<'_>, events: &[Event]) -> Result<(), Failure> {
        let mut left = events;
        loop {
            let by = self.by.clone();
            let before = self.file.job.last_seq;
            let failure = match self.file.append(&mut self.journal, world, &by, left) {
                Ok(()) => {
                    let own = u64::try_from(left.len()).unwrap_or(u64::MAX);
                    let others = self.file.job.last_seq.saturating_sub(own);
                    let here = self.lease.as_ref().map(Lease::corner);
                    let struck = self.struck_between(here, before, others);
                    self.stopped = struck.or(self.stopped.take());
                    return Ok(());
                }
                Err(failure) => failure,
            };
            self.beep(world, 2)?;
            for line in failure.chain() {
                self.say(world, &format!("! {line}"))?;
            }
            self.say(
                world,
                "! this answer is NOT on the disk yet. Make space, then Enter tries again; `quit` leaves without it",
            )?;
            loop {
                match self.lines.next(world, self.quiet, "Enter or quit > ")? {
                    Next::Line(line) if line.trim().is_empty() => break,
                    Next::Line(line) if line.trim() == "quit" => return Err(failure),
                    Next::End => return Err(failure),
                    _ => self.say(world, "  not taken: Enter tries again, `quit` leaves")?,
                }
            }
            match self.journal.mend() {
                Ok(standing) => left = left.get(standing..).unwrap_or_default(),
                Err(JournalError::Io { .. } | JournalError::NotWritten { .. }) => {}
                Err(other) => return Err(other.into()),
            }
        }
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
                for entry in self.journal.read_news()?.entries {
                    entry.move_into(&mut self.file.job);
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

    fn finish(&mut self, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
        remember_absent(&self.file)?;
        let case = self.file.case();
        let open = self.walk.next(&case).is_some() || !self.walk.left_to_others().is_empty();
        if globals.json {
            let value = serde_json::json!({
                "job": self.args.job, "complete": !open, "entries": self.file.job.last_seq,
                "drive": office::drive(&case, &judge::judge(&case), Phase::AsLeft)
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
            let drive = office::drive(&case, &verdict, Phase::AsLeft);
            self.say(world, &drive.to_string())?;
            let obstacles = office::signing_obstacles(&case, &verdict);
            let next = obstacles.first().map_or_else(
                || format!("brakecorner sign {}", self.args.job),
                |open| open.closed_by(&self.args.job),
            );
            writeln!(world.err, "next: {next}")?;
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
