//! `instrument`: the register of micrometers, dials and wrenches, with its history.

pub(super) mod ask;
mod check;
pub(super) mod recall;
pub(super) mod study;

use std::fs::{File, OpenOptions};

use clap::Subcommand;

use super::error::{Exit, Failure, Hint as _};
use super::open::workshop;
use super::{Globals, World};
use crate::job::{Event, Instrument, InstrumentKind, Lapse, Register};
use crate::shop::folder::Workshop;
use crate::shop::journal::Journal;
use crate::units::{Force, ForceUnit, LengthUnit, Temperature, Torque, UnitError};

/// Keep the register of instruments
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(subcommand)]
    action: Action,
}

#[derive(Debug, Subcommand)]
enum Action {
    Add(Add),
    List(List),
    Edit(Edit),
    Remove(Remove),
    Check(check::Args),
    Study(study::Args),
    Recall(recall::Args),
}

/// Add an instrument to the register
///
/// A gauge that sends its readings may have a pattern: its line as it is sent, with the changing
/// parts in braces. `{value}` is the number, `{unit}` its unit, `{skip}` anything without a blank; a
/// width makes a column of it (`{skip:3}{value:9}{unit:2}`); a blank stands for any number of blanks.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  brakecorner instrument add HW-M1 --kind micrometer --range 0-25 --resolution 0.001 --error 0.004 --calibrated-until 2026-09-30 --pattern '{value} {unit}' --baud 9600"
)]
struct Add {
    /// The workshop's own mark on it
    id: String,
    /// What it is
    #[arg(long, value_parser = kind)]
    kind: InstrumentKind,
    #[command(flatten)]
    figures: Figures,
}

/// What is known about an instrument; only what is given is changed.
#[derive(Debug, clap::Args)]
struct Figures {
    /// Serial number
    #[arg(long)]
    serial: Option<String>,
    /// Unit it shows: mm, in, N·m, N, °C
    #[arg(long)]
    unit: Option<String>,
    /// Lowest and highest value, in its unit
    #[arg(long, value_name = "LOW-HIGH")]
    range: Option<String>,
    /// Smallest step it shows
    #[arg(long)]
    resolution: Option<String>,
    /// Maximum permissible error: a length, or a percentage
    #[arg(long)]
    error: Option<String>,
    /// Maximum permissible error of a short difference: SPAN=ERROR, such as 0.1=0.005
    #[arg(long, value_name = "SPAN=ERROR")]
    error_within: Option<String>,
    /// Repeatability (one standard deviation); `instrument study` finds it
    #[arg(long)]
    repeatability: Option<String>,
    /// Travel of one full turn of a dial's needle, such as '1 mm'
    #[arg(long)]
    turn: Option<String>,
    /// Last day its calibration holds
    #[arg(long, value_name = "DATE")]
    calibrated_until: Option<chrono::NaiveDate>,
    /// Its line as it sends it, such as '{value} {unit}'
    #[arg(long)]
    pattern: Option<String>,
    /// Speed of its serial line, such as 9600
    #[arg(long)]
    baud: Option<u32>,
}

impl Figures {
    fn onto(&self, instrument: &mut Instrument) {
        let texts = [
            (&self.serial, &mut instrument.serial),
            (&self.unit, &mut instrument.unit),
            (&self.range, &mut instrument.range),
            (&self.resolution, &mut instrument.resolution),
            (&self.error, &mut instrument.error),
            (&self.error_within, &mut instrument.error_within),
            (&self.turn, &mut instrument.turn),
            (&self.pattern, &mut instrument.pattern),
        ];
        for (given, field) in texts {
            if let Some(text) = given {
                field.clone_from(text);
            }
        }
        if let Some(repeatability) = &self.repeatability {
            instrument.repeatability.clone_from(repeatability);
            // A figure given by hand no longer comes from the study.
            instrument.repeatability_dof = None;
        }
        instrument.calibrated_until = self.calibrated_until.or(instrument.calibrated_until);
        instrument.baud = self.baud.or(instrument.baud);
    }
}

/// List the register
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  brakecorner instrument list")]
struct List {}

/// Change what is known about an instrument
///
/// Only what is given changes; an empty text ('') clears a figure. Signed records keep the figures
/// they were judged by.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  brakecorner instrument edit HW-M1 --calibrated-until 2027-09-30"
)]
struct Edit {
    /// Its mark
    id: String,
    /// What it is
    #[arg(long, value_parser = kind)]
    kind: Option<InstrumentKind>,
    #[command(flatten)]
    figures: Figures,
}

/// Take an instrument out of the register
///
/// Refused while a job used it: its verdicts could not be judged again. Its history goes with it.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  brakecorner instrument remove HW-M9")]
struct Remove {
    /// Its mark
    id: String,
}

fn kind(text: &str) -> Result<InstrumentKind, String> {
    serde_json::from_value(text.replace('-', "_").into()).map_err(|_| {
        "expected micrometer, dial_indicator, drum_gauge, pad_gauge, torque_wrench, fluid_tester or roller_tester".to_owned()
    })
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    match &args.action {
        Action::Add(add) => run_add(add, globals, world),
        Action::List(_) => list(globals, world, false),
        Action::Edit(edit) => run_edit(edit, globals, world),
        Action::Remove(remove) => run_remove(remove, globals, world),
        Action::Check(check) if check.is_overview() => list(globals, world, true),
        Action::Check(check) => check::run(check, globals, world),
        Action::Study(study) => study::run(study, globals, world),
        Action::Recall(recall) => recall::run(recall, globals, world),
    }
}

/// The register, held so that no other process changes it until it is written or dropped.
struct Held {
    shop: Workshop,
    register: Register,
    _lock: File,
}

impl Held {
    /// Takes the lock, then reads: what another process wrote meanwhile is not lost.
    fn of(shop: Workshop) -> Result<Self, Failure> {
        let path = shop.register_path().with_extension("lock");
        let lock = OpenOptions::new()
            .create(true)
            .truncate(false)
            .write(true)
            .open(&path)
            .hint(format!("make {} writable", shop.folder.display()))?;
        lock.lock().hint(format!("at {}", path.display()))?;
        let register = shop.register()?;
        Ok(Self {
            shop,
            register,
            _lock: lock,
        })
    }

    fn write(&self) -> Result<(), Failure> {
        Ok(self.shop.write_register(&self.register)?)
    }
}

/// The instrument with this mark, or the failure that lists the marks there are.
fn known<'r>(register: &'r Register, id: &str) -> Result<&'r Instrument, Failure> {
    register.get(id).ok_or_else(|| {
        let marks: Vec<&str> = register.instruments.iter().map(|i| i.id.as_str()).collect();
        let hint = if marks.is_empty() {
            "the register is empty; `brakecorner instrument add` fills it".to_owned()
        } else {
            format!("there are: {}", marks.join(", "))
        };
        Failure::from(format!("instrument `{id}` is not in the register")).hint(hint)
    })
}

/// The unit an instrument shows when nobody says otherwise.
const fn shown_unit(kind: InstrumentKind) -> &'static str {
    match kind {
        InstrumentKind::TorqueWrench => "N·m",
        InstrumentKind::FluidTester => "°C",
        InstrumentKind::RollerTester => "N",
        _ => "mm",
    }
}

/// Why an instrument of this kind cannot show its unit: a wrench in millimetres, a micrometer in
/// newton metres.
fn wrong_unit(instrument: &Instrument) -> Option<UnitError> {
    let one = format!("1 {}", instrument.unit);
    match instrument.kind {
        _ if instrument.unit.is_empty() => None,
        InstrumentKind::TorqueWrench => Torque::parse(&one).err(),
        InstrumentKind::FluidTester => Temperature::parse(&one).err(),
        InstrumentKind::RollerTester => Force::parse(&one, ForceUnit::Newton).err(),
        _ => instrument.unit.parse::<LengthUnit>().err(),
    }
}

/// Refuses figures that do not read, all of them at once.
/// The number a figure begins with, whatever its unit.
fn figure_of(text: &str) -> Option<f64> {
    let text = text.trim().trim_start_matches('±').trim();
    let end = text
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '+')))
        .unwrap_or(text.len());
    text.get(..end)?.replace(',', ".").parse().ok()
}

fn refuse_problems(instrument: &Instrument) -> Result<(), Failure> {
    let kind = instrument.kind.word().replace('_', " ");
    let unit = wrong_unit(instrument);
    if figure_of(&instrument.error).is_some_and(|number| number <= 0.0) {
        let what = format!(
            "instrument `{}`: an error of `{}`: no instrument is without error",
            instrument.id, instrument.error
        );
        return Err(Failure::from(what).hint(
            "give the permissible error of its certificate or class, or '' where it is not known",
        ));
    }
    let text: Vec<String> = instrument
        .problems()
        .iter()
        .map(ToString::to_string)
        .collect();
    if text.is_empty() {
        let Some(why) = unit else { return Ok(()) };
        let hint = format!(
            "a {kind} shows {}: add `--unit`",
            shown_unit(instrument.kind)
        );
        let what = format!("instrument `{}`, a {kind}: {why}", instrument.id);
        return Err(Failure::from(what).hint(hint));
    }
    let mut failure = Failure::from(text.join("; ")).hint(
        "lengths like 0.004 or 0.0001 in; a range like 25-50; a pattern like '{value} {unit}'",
    );
    if unit.is_some() {
        failure = failure.hint(format!("a {kind} shows {}", shown_unit(instrument.kind)));
    }
    Err(failure)
}

fn run_add(add: &Add, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let mut held = Held::of(workshop(globals, world)?)?;
    let mut instrument = Instrument {
        id: add.id.clone(),
        kind: add.kind,
        serial: String::new(),
        unit: shown_unit(add.kind).to_owned(),
        range: String::new(),
        resolution: String::new(),
        error: String::new(),
        error_within: String::new(),
        repeatability: String::new(),
        repeatability_dof: None,
        reproducibility: String::new(),
        turn: String::new(),
        pattern: String::new(),
        baud: None,
        calibrated_until: None,
        lapse: None,
    };
    add.figures.onto(&mut instrument);
    refuse_problems(&instrument)?;
    if add.id.trim().is_empty() || add.id.chars().any(|c| c.is_whitespace() || c.is_control()) {
        return Err(
            Failure::from(format!("`{}` is no mark for an instrument", add.id))
                .hint("a word without blanks, such as HW-M1"),
        );
    }
    if held.register.get(&add.id).is_some() {
        return Err(Failure::from(format!(
            "instrument `{}` is in the register already",
            add.id
        ))
        .hint(format!(
            "change it with `brakecorner instrument edit {}`, or choose another mark",
            add.id
        )));
    }
    held.register.instruments.push(instrument.clone());
    held.write()?;
    said(globals, world, "added", &instrument)
}

fn said(
    globals: &Globals,
    world: &mut World<'_>,
    done: &str,
    instrument: &Instrument,
) -> Result<Exit, Failure> {
    if globals.json {
        writeln!(world.out, "{:#}", serde_json::to_value(instrument)?)?;
    } else {
        writeln!(world.out, "{done} {instrument}")?;
    }
    Ok(Exit::Good)
}

fn run_edit(edit: &Edit, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let mut held = Held::of(workshop(globals, world)?)?;
    let before = known(&held.register, &edit.id)?.clone();
    let mut after = before.clone();
    after.kind = edit.kind.unwrap_or(after.kind);
    edit.figures.onto(&mut after);
    let now = world.clock.now();
    if after.calibrated_until != before.calibrated_until && !before.calibrated_on(now.date_naive())
    {
        // A job still open may hold readings of the time between.
        after.lapse = Some(Lapse {
            after: before.calibrated_until,
            ended: now,
        });
    }
    if after == before {
        return Err(Failure::from(format!("nothing to change in `{}`", edit.id))
            .hint("name what changes, such as `--calibrated-until 2027-09-30`"));
    }
    refuse_problems(&after)?;
    if let Some(instrument) = held.register.get_mut(&edit.id) {
        instrument.clone_from(&after);
    }
    held.write()?;
    said(globals, world, "changed", &after)
}

fn run_remove(remove: &Remove, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let mut held = Held::of(workshop(globals, world)?)?;
    let instrument = known(&held.register, &remove.id)?.clone();
    let mut users = Vec::new();
    for job in held.shop.jobs()? {
        let contents = Journal::peek(&held.shop.journal_path(&job)?)?;
        let used = contents
            .entries
            .iter()
            .filter_map(|entry| entry.event.as_ref())
            .any(|event| names(event, &remove.id));
        if used {
            users.push(job);
        }
    }
    if !users.is_empty() {
        return Err(Failure::from(format!(
            "instrument `{}` was used in {}",
            remove.id,
            users.join(", ")
        ))
        .hint("it stays, so that those verdicts can be judged again; clear its calibration if it is not to be used any more"));
    }
    let id = &remove.id;
    held.register.instruments.retain(|i| i.id != *id);
    held.register.checks.retain(|check| check.instrument != *id);
    held.register
        .studies
        .retain(|study| study.instrument != *id);
    held.write()?;
    said(globals, world, "removed", &instrument)
}

/// Whether an event names an instrument.
fn names(event: &Event, id: &str) -> bool {
    match event {
        Event::ZeroCheck(check) => check.instrument == id,
        Event::Reading(reading) => reading.instrument.as_deref() == Some(id),
        Event::Torque(task) => task.instrument == id,
        Event::TorqueRefused { instrument, .. } | Event::Dropped { instrument } => instrument == id,
        _ => false,
    }
}

fn list(globals: &Globals, world: &mut World<'_>, only_overdue: bool) -> Result<Exit, Failure> {
    let shop = workshop(globals, world)?;
    let register = shop.register()?;
    let today = world.clock.today();
    let mut shown: Vec<&Instrument> = register.instruments.iter().collect();
    if only_overdue {
        shown.retain(|instrument| !instrument.calibrated_on(today));
    }
    if globals.json {
        let rows = shown
            .iter()
            .map(|instrument| with_history(&register, instrument))
            .collect::<Result<Vec<_>, _>>()?;
        writeln!(world.out, "{:#}", serde_json::Value::from(rows))?;
    } else if shown.is_empty() {
        let none = if only_overdue {
            "every calibration holds"
        } else {
            "the register is empty"
        };
        writeln!(world.out, "{none}")?;
    } else {
        let table = table(&register, &shown, today);
        let style = super::open::style(globals, world);
        write!(world.out, "{}", style.sheet(&table.to_string()))?;
    }
    Ok(if only_overdue && !shown.is_empty() {
        Exit::NotGood
    } else {
        Exit::Good
    })
}

/// An instrument with its checks and studies, for `--json`.
fn with_history(
    register: &Register,
    instrument: &Instrument,
) -> Result<serde_json::Value, serde_json::Error> {
    let mut value = serde_json::to_value(instrument)?;
    if let Some(fields) = value.as_object_mut() {
        let checks: Vec<_> = register.checks_of(&instrument.id).collect();
        let studies: Vec<_> = register.studies_of(&instrument.id).collect();
        fields.insert("checks".to_owned(), serde_json::to_value(checks)?);
        fields.insert("studies".to_owned(), serde_json::to_value(studies)?);
    }
    Ok(value)
}

fn table(
    register: &Register,
    shown: &[&Instrument],
    today: chrono::NaiveDate,
) -> comfy_table::Table {
    let mut table = comfy_table::Table::new();
    table.load_style(comfy_table::presets::NOTHING);
    table.set_header([
        "instrument",
        "kind",
        "range",
        "error",
        "calibrated until",
        "last check",
    ]);
    for i in shown {
        let until = i
            .calibrated_until
            .map_or("never".to_owned(), |day| day.to_string());
        let due = if i.calibrated_on(today) {
            until
        } else {
            format!("{until} (run out)")
        };
        let checked = register.checks_of(&i.id).next_back().map(|check| {
            let word = if check.good { "good" } else { "NOT good" };
            format!("{} {word}", check.at.date_naive())
        });
        table.add_row([
            i.id.clone(),
            i.kind.word().replace('_', " "),
            format!("{} {}", i.range, i.unit),
            i.error.clone(),
            due,
            checked.unwrap_or_default(),
        ]);
    }
    table
}
