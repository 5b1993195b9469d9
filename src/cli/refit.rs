//! `refit`: the wheels go back on, fastener by fastener.

use std::collections::BTreeSet;

use super::ask::Talk;
use super::error::{Exit, Failure};
use super::open::{JobFile, person, style};
use super::{Globals, World};
use crate::job::{
    Complaint, Corner, Entered, Event, Part as Fitted, Phase, Proceeding, RefitPoint, TorqueTask,
    WrenchValue,
};
use crate::judge;
use crate::office::{self, Action};
use crate::shop::journal::Journal;
use crate::units::Torque;
use crate::walk::{Answer, Part, Step, Walk, opening_lines, order, wheel};

/// Put the wheels back on: torque in stages and star order, then the before-it-moves list
///
/// Each final click is confirmed by the fastener's number, or by the value the wrench shows or
/// sends (`140.2 N·m`). On the second pass, `1` says that nothing turned, `3=8 5=4` how far fasteners
/// turned. A wrench out of range or calibration is refused and the step asked for again.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  brakecorner refit HWY-0423")]
pub(super) struct Args {
    /// Job number
    job: String,
    /// A second person has checked the final torque; `--by` is that person
    #[arg(long)]
    check: bool,
}

struct Refit<'a> {
    file: JobFile,
    journal: Journal,
    by: String,
    talk: Talk,
    walk: Walk,
    globals: &'a Globals,
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let by = person(globals, world)?;
    let (file, journal) = JobFile::write(globals, world, &args.job)?;
    {
        let case = file.case();
        let judgement = judge::judge(&case);
        office::possible(&case, &judgement, Action::Refit)
            .map_err(|missing| Failure::from(format!("no refit: {}", missing.join("; "))))?;
    }
    let mut refit = Refit {
        talk: Talk {
            style: style(globals, world),
            quiet: globals.json,
        },
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
                Some(line) => line,
                None => {
                    let prompt = self
                        .walk
                        .prompt(&self.file.case(), &step, self.globals.plain);
                    if shown.as_ref() != Some(&step) {
                        for line in self.drawing(&step) {
                            self.talk.say(world, &line)?;
                        }
                        shown = Some(step.clone());
                    }
                    for line in &prompt.lines {
                        self.talk.say(world, line)?;
                    }
                    match self.talk.ask(world, &prompt.ask)? {
                        Some(line) => line,
                        None => return Ok(false),
                    }
                }
            };
            if !self.answer(world, &step, &line)? {
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
                self.say(world, &["who? `by NAME`, in one line".to_owned()])?;
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

    /// A value the wrench showed: inside the tolerance it is the click, outside it is refused with
    /// both numbers and kept.
    fn value(
        &mut self,
        world: &mut World<'_>,
        step: &Step,
        target: Torque,
        read: Torque,
        line: &str,
    ) -> Result<(), Failure> {
        let Some((corner, proceeding, fastener)) = about(step) else {
            return Ok(());
        };
        let day = world.clock.today();
        let (low, high) = self.tolerance(step, target);
        let case = self.file.case();
        let wrench = self.walk.wrench(&case, target, day).map(|w| w.id.clone());
        let Some(instrument) = wrench else {
            return self
                .plain(world, step, &fastener.to_string(), &[])
                .map(|_| ());
        };
        let accepted = (low..=high).contains(&read);
        let value = Event::WrenchValue(WrenchValue {
            corner,
            proceeding,
            fastener,
            instrument,
            entered: Entered {
                text: line.trim().to_owned(),
                unit: "N·m".to_owned(),
                value: read.mnm(),
            },
            accepted,
        });
        if accepted {
            let key = match proceeding {
                Proceeding::WheelFinal => fastener.to_string(),
                _ => "1".to_owned(),
            };
            return self.plain(world, step, &key, &[value]).map(|_| ());
        }
        self.append(world, &[value])?;
        let side = if read < low { "below" } else { "above" };
        let advice = if read < low {
            "tighten on to the target"
        } else {
            "slacken this one, look at its thread and seat, and torque it again"
        };
        self.talk.say(
            world,
            &format!("  {read} is {side} {target} by more than allowed ({low} to {high}): not confirmed; {advice}"),
        )?;
        // A value that fits in another unit has a better explanation than a loose fastener.
        match judge::plausible::torque_question(read, target).filter(|q| q.contains("scale")) {
            Some(question) => self.talk.say(world, &format!("  {question}")),
            None => Ok(()),
        }
    }

    /// The smallest and largest value that counts: the sheet's tolerance, else the policy's.
    fn tolerance(&self, step: &Step, target: Torque) -> (Torque, Torque) {
        let case = self.file.case();
        let own = match step {
            Step::Calliper {
                corner, proceeding, ..
            } => judge::calliper_fasteners(&case, *corner)
                .into_iter()
                .find(|(p, ..)| p == proceeding)
                .and_then(|(_, spec, _)| spec.tolerance),
            _ => case.sheet.wheel.tolerance,
        };
        let percent = own.unwrap_or(case.policy.torque_tolerance.value);
        let off = target.mnm().saturating_mul(percent.thousandths()) / 100_000;
        (
            Torque::from_mnm(target.mnm() - off),
            Torque::from_mnm(target.mnm() + off),
        )
    }

    /// `3=12 5=2`: how far fasteners turned on the second pass. One that turned too far is a
    /// finding, and the wheel's final torque is asked for again from its first fastener.
    fn turned(
        &mut self,
        world: &mut World<'_>,
        step: &Step,
        corner: Corner,
        line: &str,
    ) -> Result<(), Failure> {
        let count = self.file.case().sheet.wheel.fasteners;
        let mut pairs = Vec::new();
        for word in line.split_whitespace().filter(|w| *w != "1") {
            let read = word.split_once('=').and_then(|(n, degrees)| {
                let degrees = degrees.trim_end_matches('°').parse::<u16>().ok()?;
                Some((n.parse::<u8>().ok()?, degrees))
            });
            match read {
                Some((n, degrees)) if (1..=count).contains(&n) && degrees <= 720 => {
                    pairs.push((n, degrees));
                }
                _ => {
                    return self.talk.say(
                        world,
                        &format!("  `{word}` does not read; expected FASTENER=DEGREES with fasteners 1 to {count}, as in 3=12"),
                    );
                }
            }
        }
        let day = world.clock.today();
        let torque = step.torque().unwrap_or_default();
        let wrench = self
            .walk
            .wrench(&self.file.case(), torque, day)
            .map(|w| w.id.clone());
        let Some(instrument) = wrench else {
            return self.plain(world, step, "1", &[]).map(|_| ());
        };
        let events: Vec<Event> = pairs
            .iter()
            .map(|(fastener, degrees)| {
                Event::Torque(TorqueTask {
                    corner,
                    proceeding: Proceeding::WheelSecondPass,
                    fastener: *fastener,
                    instrument: instrument.clone(),
                    turned_deg: Some(*degrees),
                })
            })
            .collect();
        let allowed = self.file.case().policy.retorque_turned_deg.value;
        let too_far: Vec<&(u8, u16)> = pairs
            .iter()
            .filter(|(_, degrees)| u32::from(*degrees) > allowed)
            .collect();
        if too_far.is_empty() {
            return self.plain(world, step, "1", &events).map(|_| ());
        }
        let words: Vec<String> = too_far
            .iter()
            .map(|(n, degrees)| format!("fastener {n} turned {degrees}°"))
            .collect();
        let reason = format!(
            "{} on the second pass, more than {allowed}° allowed",
            words.join(", ")
        );
        let mut all = events;
        all.push(Event::Note {
            place: crate::job::Place::Corner(corner),
            item: Some(crate::job::Item::TorqueWheel),
            text: reason.clone(),
        });
        all.extend(self.strike_finals(corner, &reason));
        self.append(world, &all)?;
        self.talk.say(
            world,
            &format!("  {reason}: look for paint, rust, dirt or a wrong seat. The final torque of {corner} is asked for again."),
        )
    }

    fn strike_finals(&self, corner: Corner, reason: &str) -> Vec<Event> {
        let finals = self.file.job.log().filter(|(_, event, struck)| {
            !struck
                && matches!(event, Event::Torque(task)
                    if task.corner == corner && task.proceeding == Proceeding::WheelFinal)
        });
        finals
            .map(|(meta, ..)| Event::Struck {
                target: meta.seq,
                reason: reason.to_owned(),
            })
            .collect()
    }

    /// Asks once a wheel whether hub, seats and threads are ready, before its first torque.
    fn prepared(&mut self, world: &mut World<'_>, corner: Corner) -> Result<bool, Failure> {
        let key = (Some(corner), RefitPoint::Prepared);
        if self.file.job.refit_points.get(&key).is_some_and(|p| p.1) {
            return Ok(true);
        }
        // Wheels that were begun before this was asked are not stopped half way.
        if self.file.job.wheels.contains_key(&corner) {
            return Ok(true);
        }
        self.point(world, Some(corner), RefitPoint::Prepared, true)
    }

    /// Asks one point; a `must` is asked until it is done. `false` when the input ended.
    fn point(
        &mut self,
        world: &mut World<'_>,
        corner: Option<Corner>,
        point: RefitPoint,
        must: bool,
    ) -> Result<bool, Failure> {
        loop {
            let place = corner.map_or_else(String::new, |c| format!("{c}: "));
            let ask = format!("{place}{} > ", point.question());
            let Some((done, reason)) = self.talk.yes_no(world, &ask)? else {
                return Ok(false);
            };
            if !done && reason.is_empty() {
                self.talk
                    .say(world, "  no needs its reason: `no` and why, in one line")?;
                continue;
            }
            self.append(
                world,
                &[Event::RefitPoint {
                    corner,
                    point,
                    done,
                    reason,
                }],
            )?;
            if done || !must {
                return Ok(true);
            }
            self.talk
                .say(world, "  noted; the wheel waits until it is so")?;
        }
    }

    /// Road test and bedding-in, done or not with a reason.
    fn after(&mut self, world: &mut World<'_>) -> Result<bool, Failure> {
        let asked = |file: &JobFile, point| file.job.refit_points.contains_key(&(None, point));
        let driven = self
            .file
            .job
            .complaint
            .as_ref()
            .is_some_and(|(_, outcome, _)| *outcome != Complaint::NotTried);
        if !driven
            && !asked(&self.file, RefitPoint::RoadTest)
            && !self.point(world, None, RefitPoint::RoadTest, false)?
        {
            return Ok(false);
        }
        let friction = self.file.job.fitted.iter().any(|f| {
            matches!(
                f.part,
                Fitted::Disc | Fitted::Pads | Fitted::Linings | Fitted::Drum
            )
        });
        if friction
            && !asked(&self.file, RefitPoint::BeddingIn)
            && !self.point(world, None, RefitPoint::BeddingIn, false)?
        {
            return Ok(false);
        }
        if self.file.case().policy.torque_second_person.value
            && !asked(&self.file, RefitPoint::SecondPerson)
        {
            let job = judge::judge(&self.file.case()).job;
            self.talk.say(
                world,
                &format!("a second person checks the final torque: brakecorner refit {job} --check --by NAME"),
            )?;
        }
        Ok(true)
    }

    fn second_person(&mut self, world: &mut World<'_>) -> Result<(), Failure> {
        let same = self.file.job.log().any(|(meta, event, struck)| {
            !struck && matches!(event, Event::Torque(_)) && meta.by.eq_ignore_ascii_case(&self.by)
        });
        if same {
            return Err(Failure::from(format!(
                "{} torqued a wheel of this job: another person must check it",
                self.by
            ))
            .hint("`--by NAME` names the person who checks"));
        }
        if self.file.job.wheels_torqued.is_none() {
            return Err(Failure::from("no wheel of this job was torqued yet"));
        }
        self.append(
            world,
            &[Event::RefitPoint {
                corner: None,
                point: RefitPoint::SecondPerson,
                done: true,
                reason: String::new(),
            }],
        )
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
        for obstacle in &obstacles {
            self.talk.say(world, &format!("  open: {obstacle}"))?;
        }
        if open_left > 0 {
            self.talk.say(world, &format!("  {open_left} readings as left are still open: brakecorner walk {} --part left", judgement.job))?;
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

const fn about(step: &Step) -> Option<(Corner, Proceeding, u8)> {
    match step {
        Step::Stage { corner, number, .. } => Some((*corner, Proceeding::WheelStage, *number)),
        Step::Final {
            corner, fastener, ..
        } => Some((*corner, Proceeding::WheelFinal, *fastener)),
        Step::SecondPass { corner, .. } => Some((*corner, Proceeding::WheelSecondPass, 0)),
        Step::Calliper {
            corner,
            proceeding,
            fastener,
            ..
        } => Some((*corner, *proceeding, *fastener)),
        _ => None,
    }
}

/// A torque with its unit, as a wrench sends it; a bare number is a fastener's key.
fn torque_value(line: &str) -> Option<Torque> {
    let line = line.trim();
    let unit = line.chars().any(char::is_alphabetic);
    let number = line.starts_with(|c: char| c.is_ascii_digit());
    (unit && number).then(|| Torque::parse(line).ok()).flatten()
}
