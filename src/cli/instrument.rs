//! `instrument`: the register of micrometers, dials and wrenches.

use clap::Subcommand;

use super::error::{Exit, Failure};
use super::open::workshop;
use super::{Globals, World};
use crate::job::{Instrument, InstrumentKind};

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
    Check(Check),
}

/// Add an instrument to the register
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  brakecorner instrument add HW-M1 --kind micrometer --range 0-25 --resolution 0.001 --error 0.004 --calibrated-until 2026-09-30"
)]
struct Add {
    /// The workshop's own mark on it
    id: String,
    /// What it is
    #[arg(long, value_parser = kind)]
    kind: InstrumentKind,
    /// Serial number
    #[arg(long, default_value = "")]
    serial: String,
    /// Unit it shows: mm, in, N·m, N, °C
    #[arg(long, default_value = "mm")]
    unit: String,
    /// Lowest and highest value, in its unit
    #[arg(long, default_value = "", value_name = "LOW-HIGH")]
    range: String,
    /// Smallest step it shows
    #[arg(long, default_value = "")]
    resolution: String,
    /// Maximum permissible error: a length, or a percentage
    #[arg(long, default_value = "")]
    error: String,
    /// Repeatability (one standard deviation) from its own study
    #[arg(long, default_value = "")]
    repeatability: String,
    /// Last day its calibration holds
    #[arg(long, value_name = "DATE")]
    calibrated_until: Option<chrono::NaiveDate>,
}

/// List the register
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  brakecorner instrument list")]
struct List {}

/// Show which calibrations have run out
///
/// Exit code 1 when one has.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  brakecorner instrument check")]
struct Check {}

fn kind(text: &str) -> Result<InstrumentKind, String> {
    serde_json::from_value(text.replace('-', "_").into()).map_err(|_| {
        "expected micrometer, dial_indicator, drum_gauge, pad_gauge, torque_wrench, fluid_tester or roller_tester".to_owned()
    })
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    match &args.action {
        Action::Add(add) => run_add(add, globals, world),
        Action::List(_) => list(globals, world, false),
        Action::Check(_) => list(globals, world, true),
    }
}

fn run_add(add: &Add, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let shop = workshop(globals, world)?;
    let instrument = Instrument {
        id: add.id.clone(),
        kind: add.kind,
        serial: add.serial.clone(),
        unit: add.unit.clone(),
        range: add.range.clone(),
        resolution: add.resolution.clone(),
        error: add.error.clone(),
        repeatability: add.repeatability.clone(),
        calibrated_until: add.calibrated_until,
    };
    let problems = instrument.problems();
    if !problems.is_empty() {
        let text: Vec<String> = problems.iter().map(ToString::to_string).collect();
        return Err(Failure::from(text.join("; "))
            .hint("lengths like 0.004 or 0.0001 in; a range like 25-50"));
    }
    let mut register = shop.register()?;
    if register.get(&add.id).is_some() {
        return Err(Failure::from(format!(
            "instrument `{}` is in the register already",
            add.id
        ))
        .hint(format!(
            "edit {}, or choose another mark",
            shop.register_path().display()
        )));
    }
    register.instruments.push(instrument.clone());
    shop.write_register(&register)?;
    if globals.json {
        writeln!(world.out, "{:#}", serde_json::to_value(&instrument)?)?;
    } else {
        writeln!(world.out, "added {instrument}")?;
    }
    Ok(Exit::Good)
}

fn list(globals: &Globals, world: &mut World<'_>, only_overdue: bool) -> Result<Exit, Failure> {
    let shop = workshop(globals, world)?;
    let register = shop.register()?;
    let today = world.clock.now().date_naive();
    let mut shown: Vec<&Instrument> = register.instruments.iter().collect();
    if only_overdue {
        shown.retain(|instrument| !instrument.calibrated_on(today));
    }
    if globals.json {
        writeln!(world.out, "{:#}", serde_json::to_value(&shown)?)?;
    } else {
        let mut table = comfy_table::Table::new();
        table.load_style(comfy_table::presets::NOTHING);
        table.set_header(["instrument", "kind", "range", "error", "calibrated until"]);
        for i in &shown {
            let until = i
                .calibrated_until
                .map_or("never".to_owned(), |day| day.to_string());
            let due = if i.calibrated_on(today) {
                until
            } else {
                format!("{until} (run out)")
            };
            table.add_row([
                i.id.clone(),
                i.kind.word().replace('_', " "),
                format!("{} {}", i.range, i.unit),
                i.error.clone(),
                due,
            ]);
        }
        if shown.is_empty() {
            let none = if only_overdue {
                "every calibration holds"
            } else {
                "the register is empty"
            };
            writeln!(world.out, "{none}")?;
        } else {
            writeln!(world.out, "{table}")?;
        }
    }
    Ok(if only_overdue && !shown.is_empty() {
        Exit::NotGood
    } else {
        Exit::Good
    })
}
