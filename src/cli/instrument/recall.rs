//! `instrument recall`: which verdicts rest on an instrument that turned out wrong.
//!
//! The core is pure: a job's events are folded again with the readings as they would have been
//! corrected had the error been known, and judged by the same rules and limits.

use std::collections::BTreeMap;
use std::sync::Arc;

use chrono::{DateTime, FixedOffset, NaiveDate};
use serde::Serialize;

use super::known;
use crate::cli::error::{Exit, Failure, Hint as _};
use crate::cli::open::{JobFile, style, workshop};
use crate::cli::{Globals, World};
use crate::job::{
    Event, Instrument, InstrumentKind, Item, Job, Phase, Place, ReadingEvent, Register, Slot,
};
use crate::judge::{self, Case, Finding, ItemVerdict, Verdict, allowed_zero_error};
use crate::record::freeze::Specs;
use crate::units::{Length, Temperature};

/// List every job that rests on an instrument, and what a new error would change
///
/// Looks at everything read with it since its last good check: a zero check of a job or one of
/// `instrument check`. The error is reading minus standard, as `instrument check` gives it; every
/// such reading is corrected by it and judged again. For a dial it is taken as its new permissible
/// error, because a constant error leaves run-out as it is; for a wrench the jobs are listed.
///
/// Exit code 1 when a verdict would change or rests on an error beyond what is allowed.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  brakecorner instrument recall HW-M1 --error 0.006")]
pub(super) struct Args {
    /// Its mark
    id: String,
    /// The error it was found to have, reading minus standard
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    error: Option<String>,
    /// From this day on, instead of since its last good check
    #[arg(long, value_name = "DATE")]
    since: Option<NaiveDate>,
    /// Ask the shared archive instead of the folder
    #[cfg(feature = "archive")]
    #[arg(long, value_name = "URL")]
    archive: Option<String>,
    /// The shop whose instrument it is, where head office asks the archive
    #[cfg(feature = "archive")]
    #[arg(long, value_name = "ID", requires = "archive")]
    of: Option<String>,
}

/// A job with what it is judged by.
pub(in crate::cli) struct Held {
    pub(in crate::cli) job: Job,
    pub(in crate::cli) specs: Arc<Specs>,
    pub(in crate::cli) register: Arc<Register>,
}

impl Held {
    fn case(&self) -> Case<'_> {
        self.specs.case(&self.job, &self.register)
    }
}

/// What a recall looks through.
pub(in crate::cli) struct Source {
    pub(in crate::cli) register: Register,
    /// Jobs by name, in order.
    pub(in crate::cli) jobs: Vec<(String, Held)>,
    /// Jobs that cannot be read, and why.
    pub(in crate::cli) unread: Vec<(String, String)>,
}

/// A finding that a new error changes.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(super) struct Change {
    place: Place,
    item: Item,
    phase: Phase,
    before: ItemVerdict,
    after: ItemVerdict,
    value_before_mm: Option<f64>,
    value_after_mm: Option<f64>,
}

/// A job that rests on an instrument.
#[derive(Clone, Debug, PartialEq, Serialize)]
struct Recalled {
    job: String,
    /// Readings and torque clicks with it since the last good check.
    uses: usize,
    /// The job's last signed revision.
    revision: Option<u32>,
    before: Verdict,
    after: Verdict,
    changes: Vec<Change>,
}

/// What the error means for this kind of instrument.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Wrong {
    /// Readings are too large by this.
    Offset(Length),
    /// Temperatures are too high by this many thousandths of a degree.
    Warmer(i64),
    /// Differences may be wrong by up to this.
    Within(Length),
    /// Nothing is known but that it is not to be trusted.
    Unknown,
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let Source {
        register,
        jobs: files,
        unread,
    } = source(args, globals, world)?;
    let instrument = known(&register, &args.id)?.clone();
    let wrong = wrong(args, &instrument)?;
    let since = match args.since {
        Some(day) => Since::Day(day),
        None => last_good(
            &register,
            &args.id,
            files.iter().map(|(_, file)| file.case()),
        ),
    };
    let mut recalled = Vec::new();
    let mut beyond = None;
    for (name, file) in &files {
        let case = file.case();
        let found = recall(&case, &instrument, since, wrong);
        if let (Wrong::Offset(error), Some(_)) = (wrong, &found) {
            let allowed = allowed_zero_error(&instrument, case.policy);
            if instrument.kind == InstrumentKind::Micrometer && error.abs() > allowed {
                beyond = Some(allowed);
            }
        }
        recalled.extend(found.map(|found| Recalled {
            job: name.clone(),
            ..found
        }));
    }
    let changed = recalled.iter().any(|job| !job.changes.is_empty());
    if globals.json {
        let value = serde_json::json!({
            "instrument": args.id, "since": since.words(), "error": args.error,
            "beyond_allowed": beyond.map(|allowed| allowed.to_string()),
            "jobs": recalled,
            "not_read": unread.iter().map(|(job, why)| serde_json::json!({"job": job, "why": why})).collect::<Vec<_>>(),
        });
        writeln!(world.out, "{value:#}")?;
    } else {
        let lines = report(&instrument, since, wrong, &recalled, beyond);
        let style = style(globals, world);
        for line in lines {
            super::ask::say(world, false, &style.text(&line))?;
        }
    }
    if let Some((job, why)) = unread.first() {
        return Err(Failure::from(format!(
            "{} of the workshop's jobs cannot be read, so this list may lack some: {job}: {why}",
            unread.len()
        )));
    }
    let untrusted = matches!(wrong, Wrong::Unknown) && args.error.is_some() && !recalled.is_empty();
    Ok(if changed || beyond.is_some() || untrusted {
        Exit::NotGood
    } else {
        Exit::Good
    })
}

fn source(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Source, Failure> {
    #[cfg(feature = "archive")]
    if let Some(url) = &args.archive {
        return crate::cli::archive::question::recall(url, &args.id, args.of.as_deref(), world);
    }
    let shop = workshop(globals, world)?;
    let register = shop.register()?;
    known(&register, &args.id)?;
    // What is judged anew is judged by the register as it is, whatever a job was signed with.
    let plain = Arc::new(register.for_judging());
    let mut source = Source {
        register,
        jobs: Vec::new(),
        unread: Vec::new(),
    };
    for job in shop.jobs()? {
        match JobFile::read(globals, world, &job) {
            Ok(file) => {
                let held = Held {
                    job: file.job,
                    specs: Arc::new(file.specs),
                    register: Arc::clone(&plain),
                };
                source.jobs.push((job, held));
            }
            Err(failure) => source.unread.push((job, failure.chain().join(": "))),
        }
    }
    Ok(source)
}

fn wrong(args: &Args, instrument: &Instrument) -> Result<Wrong, Failure> {
    let Some(text) = &args.error else {
        return Ok(Wrong::Unknown);
    };
    let length = || {
        Length::parse(text, instrument.length_unit()).hint("a length such as 0.006 or -0.0002 in")
    };
    Ok(match instrument.kind {
        InstrumentKind::Micrometer | InstrumentKind::DrumGauge | InstrumentKind::PadGauge => {
            Wrong::Offset(length()?)
        }
        InstrumentKind::DialIndicator => Wrong::Within(length()?.abs()),
        InstrumentKind::FluidTester => Wrong::Warmer(
            Temperature::parse(text)
                .hint("a temperature such as 4")?
                .millidegrees(),
        ),
        InstrumentKind::TorqueWrench | InstrumentKind::RollerTester => Wrong::Unknown,
    })
}

/// From when on an instrument's readings are in doubt.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Since {
    Ever,
    Day(NaiveDate),
    Check(DateTime<FixedOffset>),
}

impl Since {
    fn covers(self, at: DateTime<FixedOffset>) -> bool {
        match self {
            Self::Ever => true,
            Self::Day(day) => at.date_naive() >= day,
            // The same second counts: too many jobs looked at harm nobody.
            Self::Check(check) => at >= check,
        }
    }

    fn words(self) -> String {
        match self {
            Self::Ever => "ever: no good check is on file".to_owned(),
            Self::Day(day) => format!("since {day}"),
            Self::Check(at) => {
                format!("since its last good check, {}", at.format("%Y-%m-%d %H:%M"))
            }
        }
    }
}

/// The last check that was good, of the register or of any job.
fn last_good<'a>(register: &Register, id: &str, cases: impl Iterator<Item = Case<'a>>) -> Since {
    let own = register
        .checks_of(id)
        .filter(|check| check.good)
        .map(|check| check.at);
    let in_jobs = cases.flat_map(|case| {
        let good: Vec<DateTime<FixedOffset>> = case
            .job
            .zero_checks
            .iter()
            .filter(|check| {
                let allowed = register.get(id).map(|i| allowed_zero_error(i, case.policy));
                check.event.instrument == id
                    && allowed.is_some_and(|allowed| check.event.zero_error.abs() <= allowed)
            })
            .map(|check| check.meta.at)
            .collect();
        good
    });
    own.chain(in_jobs).max().map_or(Since::Ever, Since::Check)
}

/// Judges a job as it is and as it would be; `None` when it did not use the instrument since.
fn recall(
    case: &Case<'_>,
    instrument: &Instrument,
    since: Since,
    wrong: Wrong,
) -> Option<Recalled> {
    let standing = case
        .job
        .log()
        .filter(|(meta, _, struck)| !struck && since.covers(meta.at));
    let uses = standing
        .filter(|(_, event, _)| match event {
            Event::Reading(reading) => reading.instrument.as_deref() == Some(&instrument.id),
            Event::Torque(task) => task.instrument == instrument.id,
            _ => false,
        })
        .count();
    if uses == 0 {
        return None;
    }
    let before = judge::judge(case);
    let after = match wrong {
        Wrong::Offset(_) | Wrong::Warmer(_) => {
            let job = corrected(case.job, &instrument.id, since, wrong);
            judge::judge(&Case { job: &job, ..*case })
        }
        Wrong::Within(error) => {
            let mut register = case.register.clone();
            if let Some(changed) = register.get_mut(&instrument.id) {
                changed.error = error.to_string();
            }
            judge::judge(&Case {
                register: &register,
                ..*case
            })
        }
        Wrong::Unknown => before.clone(),
    };
    let changes = before
        .findings()
        .filter_map(|old| {
            let new = after
                .findings()
                .find(|new| (new.place, new.item, new.phase) == (old.place, old.item, old.phase))?;
            (new.verdict != old.verdict).then(|| change(old, new))
        })
        .collect();
    Some(Recalled {
        job: before.job.clone(),
        uses,
        revision: case.job.signed.last().map(|(revision, _)| *revision),
        before: before.verdict,
        after: after.verdict,
        changes,
    })
}

fn change(old: &Finding, new: &Finding) -> Change {
    let number = |finding: &Finding| finding.value.map(judge::Figure::number);
    Change {
        place: old.place,
        item: old.item,
        phase: old.phase,
        before: old.verdict,
        after: new.verdict,
        value_before_mm: number(old),
        value_after_mm: number(new),
    }
}

type Set = (Place, Item, Phase, u32);

/// The job with every doubtful reading as it would have been, had the error been known.
fn corrected(job: &Job, id: &str, since: Since, wrong: Wrong) -> Job {
    // A set is corrected by the zero in force at its last reading: that is what gets replaced.
    let mut last: BTreeMap<Set, (u64, Option<String>)> = BTreeMap::new();
    for (meta, event, struck) in job.log() {
        if let (Event::Reading(reading), false) = (event, struck) {
            last.insert(set(reading), (meta.seq, reading.instrument.clone()));
        }
    }
    let mut again = Job::default();
    for (meta, event, struck) in job.log() {
        if struck {
            continue;
        }
        match event {
            Event::Reading(reading)
                if reading.instrument.as_deref() == Some(id) && since.covers(meta.at) =>
            {
                let mut reading = reading.clone();
                let zero = last
                    .get(&set(&reading))
                    .filter(|_| reading.item == Item::DiscThickness)
                    .and_then(|(seq, of)| job.zero_error(of.as_deref()?, *seq))
                    .map_or(0, |check| check.event.zero_error.nm());
                let shift = match wrong {
                    Wrong::Offset(error) if is_size(&reading) => zero.saturating_sub(error.nm()),
                    Wrong::Warmer(error) if reading.item == Item::FluidBoiling => -error,
                    _ => 0,
                };
                reading.entered.value = reading.entered.value.saturating_add(shift);
                again.apply(meta, &Event::Reading(reading));
            }
            other => again.apply(meta, other),
        }
    }
    again
}

const fn set(reading: &ReadingEvent) -> Set {
    (reading.place, reading.item, reading.phase, reading.take)
}

/// Whether a reading is a size: in a difference a constant error cancels.
fn is_size(reading: &ReadingEvent) -> bool {
    matches!(
        reading.item,
        Item::DiscThickness | Item::PadsThickness | Item::LiningsThickness | Item::DrumDiameter
    ) && reading.slot != Slot::Temperature
}

fn report(
    instrument: &Instrument,
    since: Since,
    wrong: Wrong,
    recalled: &[Recalled],
    beyond: Option<Length>,
) -> Vec<String> {
    let mut lines = vec![format!("{instrument}, {}", since.words())];
    match wrong {
        Wrong::Offset(error) => lines.push(format!("judged again with an error of {error}")),
        Wrong::Within(error) => {
            lines.push(format!("judged again with a permissible error of {error}"));
        }
        Wrong::Warmer(_) => lines.push("judged again with the temperatures corrected".to_owned()),
        Wrong::Unknown if instrument.kind == InstrumentKind::TorqueWrench => lines.push(
            "what a wrench was off by cannot be judged afterwards: torque those wheels again"
                .to_owned(),
        ),
        Wrong::Unknown => lines.push(
            "what its error would change can be told with `--error`; without it, the jobs only"
                .to_owned(),
        ),
    }
    if recalled.is_empty() {
        lines.push("no job used it".to_owned());
    }
    for job in recalled {
        let signed = job
            .revision
            .map_or("not signed".to_owned(), |n| format!("signed revision {n}"));
        let outcome = match (wrong, job.changes.is_empty()) {
            (Wrong::Unknown, _) => job.before.to_string(),
            (_, true) => format!("stays {}", job.before),
            (_, false) => format!("{} → {}", job.before, job.after),
        };
        lines.push(format!(
            "{}  {} uses, {signed}: {outcome}",
            job.job, job.uses
        ));
        for change in &job.changes {
            let number = |value: Option<f64>| value.map_or("-".to_owned(), |v| format!("{v:.4}"));
            lines.push(format!(
                "  {} {}{} {} → {} ({} → {})",
                change.place,
                change.item,
                if change.phase == Phase::AsLeft {
                    ", as left:"
                } else {
                    ", as found:"
                },
                change.before,
                change.after,
                number(change.value_before_mm),
                number(change.value_after_mm),
            ));
        }
    }
    if let Some(allowed) = beyond {
        lines.push(format!(
            "the error is more than the {allowed} allowed: no PASS may rest on it until measured again"
        ));
    }
    lines
}
