//! `instrument check`: which calibrations have run out, or one instrument on its standard.

use super::ask::{ask, say};
use super::{Held, known};
use crate::cli::error::{Exit, Failure, Hint as _};
use crate::cli::open::{person, style, workshop};
use crate::cli::{Globals, World};
use crate::job::{Check, Entered, Instrument, InstrumentKind, Occasion, Quantity};
use crate::judge::allowed_zero_error;
use crate::measure::zero::{ZeroCheck, zero_check};
use crate::shop::folder::Workshop;
use crate::spec::{Policy, builtin_policies};
use crate::units::{Length, LengthUnit};

/// Show which calibrations have run out, or check one instrument on its standard
///
/// Without a mark: exit code 1 when a calibration has run out. With one: its readings on the
/// standard, given here or asked for one a line (an empty line ends them), are compared with it and
/// kept in its history; exit code 1 when the error or the spread is more than is allowed.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  brakecorner instrument check\n  brakecorner instrument check HW-M1 0.001 0.000 0.001\n  brakecorner instrument check HW-M2 --after-drop --standard 25.000"
)]
pub(super) struct Args {
    /// Its mark; without it, the calibrations that have run out
    id: Option<String>,
    /// Readings on the standard; asked for when none is given
    #[arg(allow_negative_numbers = true)]
    readings: Vec<String>,
    /// It fell or was knocked
    #[arg(long)]
    after_drop: bool,
    /// Length of the standard; otherwise the lower end of a micrometer's range, zero for others
    #[arg(long, value_name = "LENGTH")]
    standard: Option<String>,
    /// The readings are right although they are far from the standard
    #[arg(long)]
    confirm: bool,
}

impl Args {
    pub(super) const fn is_overview(&self) -> bool {
        self.id.is_none()
    }
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let by = person(globals, world)?;
    let shop = workshop(globals, world)?;
    let id = args.id.as_deref().unwrap_or_default();
    let instrument = known(&shop.register()?, id)?.clone();
    if !instrument.kind.measures_length() {
        return Err(
            Failure::from(format!("{instrument} has no zero to check")).hint(format!(
                "note a calibration with `brakecorner instrument edit {id} --calibrated-until DATE`"
            )),
        );
    }
    let policy = policy(&shop)?;
    let standard = standard(args, &instrument)?;
    let readings = if args.readings.is_empty() {
        asked(globals, world, &instrument, standard)?
    } else {
        args.readings.clone()
    };
    let result = evaluate(&instrument, &policy, standard, &readings, args.confirm)?;
    let check = Check {
        instrument: instrument.id.clone(),
        at: world.clock.now(),
        by,
        occasion: if args.after_drop {
            Occasion::AfterDrop
        } else {
            Occasion::Routine
        },
        standard: standard.to_string(),
        readings,
        zero_error: result.zero_error.to_string(),
        spread: result.spread.to_string(),
        good: result.ok,
    };
    let mut held = Held::of(shop)?;
    held.register.checks.push(check.clone());
    held.write()?;
    if globals.json {
        let value = serde_json::json!({
            "check": check, "u": result.u.to_string(), "allowed": result.allowed.to_string(),
        });
        writeln!(world.out, "{value:#}")?;
    } else {
        show(globals, world, &check, &result)?;
    }
    Ok(if result.ok { Exit::Good } else { Exit::NotGood })
}

/// The workshop's policy: its own file before the built-in one.
fn policy(shop: &Workshop) -> Result<Policy, Failure> {
    let name = &shop.settings.policy;
    let own = shop
        .own_specs("policy")?
        .into_iter()
        .find(|one| one.name == *name);
    if let Some(own) = own {
        return Ok(Policy::parse(&own.text?, &format!("{}.toml", own.name))?);
    }
    let built_in = builtin_policies()
        .iter()
        .find(|(file, _)| file.trim_end_matches(".toml") == name);
    match built_in {
        Some((file, text)) => Ok(Policy::parse(text, file)?),
        None => Err(Failure::from(format!("there is no policy `{name}`"))
            .hint("workshop.toml names the policy; `default` is built in")),
    }
}

fn standard(args: &Args, instrument: &Instrument) -> Result<Length, Failure> {
    let unit = instrument.length_unit();
    if let Some(text) = &args.standard {
        return Length::parse(text, unit).hint("a length such as 25.000");
    }
    match (instrument.kind, instrument.range_numbers()) {
        (InstrumentKind::Micrometer, Some((low, _))) => {
            Length::parse(&format!("{low:.4}"), unit).hint("a length such as 25.000")
        }
        (InstrumentKind::DrumGauge, _) => Err(Failure::from(
            "a drum gauge is checked on a ring or rod of known length",
        )
        .hint("name it with `--standard 230.000`")),
        _ => Ok(Length::ZERO),
    }
}

/// Readings one a line until an empty one.
fn asked(
    globals: &Globals,
    world: &mut World<'_>,
    instrument: &Instrument,
    standard: Length,
) -> Result<Vec<String>, Failure> {
    let quiet = globals.json;
    let style = style(globals, world);
    let what = if standard == Length::ZERO {
        "closed, or on a flat".to_owned()
    } else {
        format!("on its standard of {standard}")
    };
    say(
        world,
        quiet,
        &style.text(&format!(
            "{instrument} {what}. Clean both faces; take it off and put it on again each time. Three readings or more; an empty line ends."
        )),
    )?;
    let mut readings: Vec<String> = Vec::new();
    loop {
        let question = format!("reading {} [{}] > ", readings.len() + 1, instrument.unit);
        let Some(line) = ask(world, quiet, &style.text(&question))? else {
            break;
        };
        match line.as_str() {
            "" if readings.is_empty() => say(world, quiet, "  one reading at least")?,
            "" => break,
            "undo" => {
                readings.pop();
            }
            "quit" => return Err(Failure::from("not checked: nothing was kept")),
            text => match Entered::read(text, Quantity::Length, &instrument.unit) {
                Ok(_) => readings.push(text.to_owned()),
                Err(error) => say(world, quiet, &style.text(&format!("  not taken: {error}")))?,
            },
        }
    }
    Ok(readings)
}

/// The farthest a reading may be from its standard to be taken for one without a question.
const FARTHEST: Length = Length::from_nm(500_000);

fn evaluate(
    instrument: &Instrument,
    policy: &Policy,
    standard: Length,
    readings: &[String],
    confirmed: bool,
) -> Result<ZeroCheck, Failure> {
    let mut lengths = Vec::new();
    for text in readings {
        let entered = Entered::read(text, Quantity::Length, &instrument.unit)?;
        let length = Length::from_nm(entered.value);
        if !confirmed && (length - standard).abs() > FARTHEST {
            return Err(Failure::from(format!(
                "`{text}` is {} away from the standard of {standard}",
                length - standard
            ))
            .hint("check the standard (`--standard`) and the unit; if it does show that, add `--confirm`: the check is kept, and the instrument passes nothing until a good one")
            .hint("nothing was kept"));
        }
        lengths.push(length);
    }
    let resolution = instrument.resolution()?.unwrap_or(Length::from_nm(10_000));
    let mut result = zero_check(&lengths, standard, resolution)?;
    // The same allowance as a job's zero check is judged by.
    result.allowed = allowed_zero_error(instrument, policy);
    result.ok = result.zero_error.abs() <= result.allowed && result.spread <= result.allowed;
    Ok(result)
}

fn show(
    globals: &Globals,
    world: &mut World<'_>,
    check: &Check,
    result: &ZeroCheck,
) -> Result<(), Failure> {
    let style = style(globals, world);
    let um = |length: Length| length.rounded(LengthUnit::Millimetre, 4);
    let outcome = if result.ok {
        "good".to_owned()
    } else {
        "NOT good: adjust it and check again before it is used".to_owned()
    };
    let text = format!(
        "{} ({}): zero error {} mm, spread {} mm, {} mm allowed, u {} mm: {outcome}",
        check.instrument,
        check.occasion.words(),
        um(result.zero_error),
        um(result.spread),
        um(result.allowed),
        um(result.u),
    );
    say(world, false, &style.text(&text))?;
    if !result.ok {
        writeln!(
            world.err,
            "next: brakecorner instrument recall {} --error {}",
            check.instrument,
            um(result.zero_error)
        )?;
    }
    Ok(())
}
