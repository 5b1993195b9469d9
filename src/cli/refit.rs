//! `refit`: the wheels go back on, fastener by fastener.

mod input;
mod points;
mod wrench;

use std::collections::BTreeSet;

use self::input::{Input, Line};
use self::wrench::torque_value;
use super::ask::Talk;
use super::error::{Exit, Failure};
use super::open::{JobFile, person, style};
use super::style::counted;
use super::{Globals, World};
use crate::job::{Corner, Event, Phase, Proceeding};
use crate::judge::{self, Case};
use crate::office::{self, Action};
use crate::shop::journal::Journal;
use crate::walk::{Answer, Part, Step, Walk, opening_lines, order, wheel};

/// Put the wheels back on: torque in stages and star order, then the before-it-moves list
///
/// Each final click is confirmed by the fastener's number, or by the value the wrench shows
/// (`140.2 N·m`) or sends (`--gauge`). On the second pass, `1` says that nothing turned, `3=8 5=4` how far fasteners
/// turned. A wrench out of range or calibration is refused and the step asked for again.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  brakecorner refit HWY-0423\n  brakecorner refit HWY-0423 --gauge /dev/ttyUSB0@9600"
)]
pub(super) struct Args {
    /// Job number
    job: String,
    /// A second person has checked the final torque; `--by` is that person
    #[arg(long)]
    check: bool,
    /// A torque wrench that sends its clicks: a serial device, a pipe or a pseudo-terminal
    #[arg(long, value_name = "PATH[@BAUD]", conflicts_with = "check")]
    gauge: Option<String>,
}

/// What is said to a value of the wrench where none belongs.
const NO_CLICK: &str = "  that came from the wrench; this is answered at the keyboard";

struct Refit<'a> {
    file: JobFile,
    journal: Journal,
    by: String,
    talk: Talk,
    input: Input,
    walk: Walk,
    globals: &'a Globals,
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let by = person(globals, world)?;
    let (file, journal) = JobFile::write(globals, world, &args.job)?;
    if !args.check {
        let case = file.case();
        let judgement = judge::judge(&case);
        office::possible(&case, &judgement, Action::Refit).map_err(|missing| {
            let missing = missing.join("\n  ");
            Failure::from(format!("no refit yet:\n  {missing}"))
        })?;
    }
    let mut refit = Refit {
        talk: Talk {
            style: style(globals, world),
            quiet: globals.json,
        },
        input: Input::new(args.gauge.as_deref())?,
        walk: Walk::of_part(Part::Refit),
        file,
        journal,
        by,
        globals,
    };
    if args.check {
        refit.second_person(world)?;
        return refit.finish(world);
    }
    for line in opening_lines(Part::Refit) {
        refit.talk.say(world, &format!("! {line}"))?;
    }
    if refit.steps(world)? && refit.after(world)? {
        return refit.finish(world);
    }
    refit.talk.say(
        world,
        &format!(
            "stopped; everything entered is safe. Go on with: brakecorner refit {}",
            args.job
        ),
    )?;
    refit.finish(world)
}

impl Refit<'_> {
    /// Walks the open steps; `false` when it was left before the end.
    fn steps(&mut self, world: &mut World<'_>) -> Result<bool, Failure> {
        let mut shown: Option<Step> = None;
        while let Some(step) = self.walk.next(&self.file.case()) {
            if let Some(corner) = wheel_of(&step)
                && !self.prepared(world, corner)?
            {
                return Ok(false);
            }
            let queued = self.walk.queued();
            let line = match queued {
                Some(line) => Line::Typed(line),
                None => {
                    let day = world.clock.today();
                    let prompt =
                        self.walk
                            .prompt(&self.file.case(), &step, day, self.globals.plain);
                    if shown.as_ref() != Some(&step) {
                        for line in self.drawing(&step) {
                            self.talk.say(world, &line)?;
                        }
                        shown = Some(step.clone());
                    }
                    for line in &prompt.lines {
                        self.talk.say(world, line)?;
                    }
                    match self.input.ask(&self.talk, world, &prompt.ask)? {
                        Some(line) => line,
                        None => return Ok(false),
                    }
                }
            };
            let go_on = match line {
                Line::Typed(line) => self.answer(world, &step, &line)?,
                Line::Wrench(line) => {
                    self.sent(world, &step, &line)?;
                    true
                }
            };
            if !go_on {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// Takes one answer; `false` to stop.
    fn answer(&mut self, world: &mut World<'_>, step: &Step, line: &str) -> Result<bool, Failure> {
        if let Step::SecondPass { corner, .. } = step
            && line.contains('=')
        {
            return self.turned(world, step, *corner, line).map(|()| true);
        }
        match (step.torque(), torque_value(line)) {
            (Some(target), Some(read)) => {
                self.value(world, step, target, read, line).map(|()| true)
            }
            _ => self.plain(world, step, line, &[]),
        }
    }

    /// Hands a line to the walk; `before` is written in front of what it makes of it, if it accepts.
    fn plain(
        &mut self,
        world: &mut World<'_>,
        step: &Step,
        line: &str,
        before: &[Event],
    ) -> Result<bool, Failure> {
        let day = world.clock.today();
        match self.walk.answer(&self.file.case(), step, line, day) {
            Answer::Quit => return Ok(false),
            Answer::Words(said) => self.say(world, &said)?,
            Answer::Person(Some(name)) => {
                self.by = name;
                self.say(world, &[format!("{} holds the wrench", self.by)])?;
            }
            Answer::Person(None) => {
                self.say(world, &["who? `who NAME`, in one line".to_owned()])?;
            }
            Answer::Photo(..) | Answer::Sweep(..) => {
                self.say(world, &["that belongs to `brakecorner walk`".to_owned()])?;
            }
            Answer::Facts(events, said) => {
                let accepted = events.iter().any(|e| matches!(e, Event::Torque(_)));
                let mut all = if accepted {
                    before.to_vec()
                } else {
                    Vec::new()
                };
                all.extend(events);
                self.append(world, &all)?;
                self.say(world, &said)?;
            }
        }
        Ok(true)
    }

    fn say(&self, world: &mut World<'_>, said: &[String]) -> Result<(), Failure> {
        said.iter()
            .try_for_each(|line| self.talk.say(world, &format!("  {line}")))
    }

    fn append(&mut self, world: &mut World<'_>, events: &[Event]) -> Result<(), Failure> {
        let by = self.by.clone();
        self.file.append(&mut self.journal, world, &by, events)
    }

    /// The wheel with what is done and what is next.
    fn drawing(&self, step: &Step) -> Vec<String> {
        let case = self.file.case();
        let count = case.sheet.wheel.fasteners;
        let sequence = order(&case);
        let clicks = |corner: &Corner| {
            let wheel = case.job.wheels.get(corner);
            wheel
                .map(|w| w.finals.keys().copied().collect::<BTreeSet<u8>>())
                .unwrap_or_default()
        };
        let (corner, done, next, what) = match step {
            Step::Stage {
                corner,
                number,
                torque,
            } => (
                corner,
                BTreeSet::new(),
                sequence.first().copied(),
                format!("stage {number}: every fastener to {torque}"),
            ),
            Step::Final {
                corner,
                fastener,
                torque,
            } => (
                corner,
                clicks(corner),
                Some(*fastener),
                format!("final: fastener {fastener} to {torque}"),
            ),
            Step::SecondPass { corner, torque } => (
                corner,
                clicks(corner),
                sequence.first().copied(),
                format!("second pass: every fastener at {torque}, how far does it turn?"),
            ),
            Step::Calliper {
                corner, proceeding, ..
            } => return angles(&case, *corner, *proceeding),
            _ => return Vec::new(),
        };
        let names: Vec<String> = sequence.iter().map(ToString::to_string).collect();
        let mut lines = wheel(count, &done, next);
        lines.push(format!("{corner} {what}; order {}", names.join("-")));
        lines
    }

    fn finish(self, world: &mut World<'_>) -> Result<Exit, Failure> {
        let case = self.file.case();
        let judgement = judge::judge(&case);
        let obstacles = office::signing_obstacles(&case, &judgement);
        let state = office::state(&case, &judgement);
        let open_left = crate::walk::steps(&case, Part::Left)
            .iter()
            .filter(|s| !s.done && !s.optional)
            .filter(|s| s.step.about().is_some_and(|(_, _, p)| p == Phase::AsLeft))
            .count();
        if self.globals.json {
            let value = serde_json::json!({
                "job": judgement.job, "state": state, "obstacles": obstacles,
                "points": self.file.job.refit_points.iter().map(|((corner, point), (meta, done, reason))| {
                    serde_json::json!({"corner": corner, "point": point, "done": done,
                        "reason": reason, "by": meta.by, "at": meta.at.to_rfc3339()})
                }).collect::<Vec<_>>(),
            });
            writeln!(world.out, "{value:#}")?;
            return Ok(Exit::Good);
        }
        self.talk
            .say(world, &format!("{}: {state}", judgement.job))?;
        let drive = office::drive(&case, &judgement, Phase::AsLeft);
        self.talk.say(world, &drive.to_string())?;
        for obstacle in &obstacles {
            self.talk.say(world, &format!("  open: {obstacle}"))?;
        }
        if open_left > 0 {
            self.talk.say(
                world,
                &format!(
                    "  still open as left: {}; brakecorner walk {} --part left",
                    counted(open_left, "answer", "answers"),
                    judgement.job
                ),
            )?;
        }
        if obstacles.is_empty() {
            writeln!(world.err, "next: brakecorner sign {}", judgement.job)?;
        }
        Ok(Exit::Good)
    }
}

/// The wheel a torque step of the wheel is at.
const fn wheel_of(step: &Step) -> Option<Corner> {
    match step {
        Step::Stage { corner, .. }
        | Step::Final { corner, .. }
        | Step::SecondPass { corner, .. } => Some(*corner),
        _ => None,
    }
}

/// The angles a calliper fastener is turned on by after its torque, where the maker gives them.
fn angles(case: &Case<'_>, corner: Corner, proceeding: Proceeding) -> Vec<String> {
    let fasteners = judge::calliper_fasteners(case, corner);
    let stages = fasteners
        .iter()
        .filter(|(p, ..)| *p == proceeding)
        .flat_map(|(_, spec, _)| &spec.angle_stages)
        .map(|angle| format!("{:.0}°", angle.degrees()))
        .collect::<Vec<_>>();
    if stages.is_empty() {
        return stages;
    }
    vec![format!(
        "{corner}: after the click, turn on by {}",
        stages.join(", then by ")
    )]
}
