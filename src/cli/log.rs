//! `log`: enter readings and looks by one command.

use super::error::{Exit, Failure, Hint as _};
use super::open::{JobFile, person, style};
use super::{Globals, World};
use crate::job::{
    Entered, Event, Item, Kind, Observation, Phase, Place, Quantity, ReadingEvent, Scope, Slot,
    Source,
};
use crate::judge::{self, defect, plausible};
use crate::units::Length;
use crate::walk;

/// Enter readings of an item, or what a look found
///
/// Readings: `24.308 24.309 …` (a run-out ring ends with the return to stud 1), pads as
/// `inner=5.2,5.1 outer=5.4,5.4` (leading end first), drums as `open=203.31,203.29
/// closed=203.27,203.26`, roller forces as `FL=3920 FR=3850 RL=2310 RR=1480 mass=1432`, swept
/// run-out as `swept=0.031`. Looks: `sound`, `defect CODE [NOTE]`, `not-inspected REASON`.
/// A negative first reading goes after `--`. Unlikely values are asked about.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  brakecorner log HWY-0411 FL disc.thickness 24.308 24.309 24.308 24.308\n  brakecorner log HWY-0411 RL sensor.speed defect damp"
)]
pub(super) struct Args {
    /// Job number
    job: String,
    /// Corner (FL FR RL RR), axle (front rear) or `vehicle`
    place: String,
    /// Item, such as disc.thickness
    item: String,
    /// Readings, or a look
    #[arg(required = true, allow_negative_numbers = true)]
    values: Vec<String>,
    /// As left after the work, instead of as found
    #[arg(long)]
    as_left: bool,
    /// The instrument the readings come from
    #[arg(long, value_name = "ID")]
    instrument: Option<String>,
    /// Temperature of the disc in °C
    #[arg(long, value_name = "C")]
    temperature: Option<String>,
    /// Clocking of the disc on the hub, for run-out
    #[arg(long, value_name = "K")]
    clocking: Option<u8>,
    /// Keep unlikely values without being asked
    #[arg(long)]
    confirm: bool,
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let place: Place = args
        .place
        .parse()
        .hint("corners are FL FR RL RR; axles front and rear; or vehicle")?;
    let item: Item = args
        .item
        .parse()
        .hint("`brakecorner log --help` shows the forms")?;
    let place = scoped(place, item)?;
    let by = person(globals, world)?;
    let (mut file, mut journal) = JobFile::write(globals, world, &args.job)?;
    let phase = if args.as_left {
        Phase::AsLeft
    } else {
        Phase::AsFound
    };
    let events = match look(&args.values, item)? {
        Some(observation) => vec![Event::Seen {
            place,
            item,
            phase,
            observation,
        }],
        None => readings(args, &file, world, place, item, phase)?,
    };
    file.append(&mut journal, world, &by, &events)?;
    answer(globals, world, &file, place, item, phase, events.len())?;
    Ok(Exit::Good)
}

fn scoped(place: Place, item: Item) -> Result<Place, Failure> {
    let fits = match item.scope() {
        Scope::Corner => place.corner().is_some(),
        Scope::Axle => matches!(place, Place::Axle(_)),
        Scope::Vehicle => place == Place::Vehicle,
    };
    let wanted = match item.scope() {
        Scope::Corner => "a corner (FL FR RL RR)",
        Scope::Axle => "an axle (front, rear)",
        Scope::Vehicle => "`vehicle`",
    };
    if fits && matches!(item.kind(), Kind::Look | Kind::Measure) {
        return Ok(place);
    }
    Err(if fits {
        Failure::from(format!(
            "`{item}` is not entered: it follows from other readings or from the refit"
        ))
        .hint("enter the readings it follows from, or go through the refit with `walk`")
    } else {
        Failure::from(format!("`{item}` belongs to {wanted}, not to `{place}`")).hint(format!(
            "for example: log JOB {} {item} …",
            match item.scope() {
                Scope::Corner => "FL",
                Scope::Axle => "front",
                Scope::Vehicle => "vehicle",
            }
        ))
    })
}

/// A look, if the values are one.
fn look(values: &[String], item: Item) -> Result<Option<Observation>, Failure> {
    let [first, rest @ ..] = values else {
        return Ok(None);
    };
    match first.as_str() {
        "sound" => Ok(Some(Observation::Sound)),
        "not-inspected" => {
            let reason = rest.join(" ");
            if reason.trim().is_empty() {
                return Err(Failure::from("not inspected is never without a reason")
                    .hint("log JOB FL hose not-inspected \"behind the heat shield\""));
            }
            Ok(Some(Observation::NotInspected { reason }))
        }
        "defect" => {
            let codes: Vec<&str> = defect::defects(item).iter().map(|d| d.code).collect();
            let hint = format!("defects of {item}: {}", codes.join(", "));
            let code = rest
                .first()
                .ok_or_else(|| Failure::from("no defect was named").hint(&hint))?;
            let known = defect::find(item, code).ok_or_else(|| {
                Failure::from(format!("`{code}` is not a defect of `{item}`")).hint(&hint)
            })?;
            let note = rest.get(1..).unwrap_or_default().join(" ");
            Ok(Some(Observation::Defect {
                code: known.code.to_owned(),
                note,
            }))
        }
        _ => Ok(None),
    }
}

fn readings(
    args: &Args,
    file: &JobFile,
    world: &mut World<'_>,
    place: Place,
    item: Item,
    phase: Phase,
) -> Result<Vec<Event>, Failure> {
    if item.kind() != Kind::Measure {
        return Err(
            Failure::from(format!("`{}` is no look", args.values.join(" ")))
                .hint("sound, defect CODE [NOTE], or not-inspected REASON"),
        );
    }
    let case = file.case();
    let instrument = match &args.instrument {
        Some(id) => Some(file.register.get(id).ok_or_else(|| {
            Failure::from(format!("instrument `{id}` is not in the register"))
                .hint("`brakecorner instrument list` shows it")
        })?),
        None => walk::instrument_for(&case, place, item),
    };
    let unit = instrument.map_or("", |i| i.unit.as_str());
    let take = 1 + file
        .job
        .takes(place, item, phase)
        .map(|take| take.number)
        .max()
        .unwrap_or(0);
    let mut pairs = Vec::new();
    if let Some(temperature) = &args.temperature {
        pairs.push((Slot::Temperature, temperature.clone()));
    }
    pairs.extend(slots(&args.values, item)?);
    let mut events = Vec::new();
    let mut ring: Vec<Length> = Vec::new();
    for (slot, text) in pairs {
        let quantity = Quantity::of(item, slot);
        let unit = if slot == Slot::Temperature {
            "°C"
        } else {
            unit
        };
        let entered = Entered::read(&text, quantity, unit).map_err(|error| {
            Failure::from(error).hint(format!("at {place} {item}, {slot}; nothing was logged"))
        })?;
        let value = Length::from_nm(entered.value);
        let mut confirmed = false;
        if slot != Slot::Temperature
            && let Some(question) = question(&case, (place, item), slot, &entered, &ring)
        {
            confirmed = args.confirm || ask(world, &format!("{place} {item} {slot}: {question}"))?;
            if !confirmed {
                return Err(Failure::from(format!("{place} {item} {slot}: {question}"))
                    .hint("nothing was logged; correct the value, or add --confirm to keep it"));
            }
            events.push(Event::Asked(crate::job::Answered {
                place,
                item,
                slot,
                entry: text.clone(),
                question,
                answer: if args.confirm { "--confirm" } else { "yes" }.to_owned(),
                kept: true,
            }));
        }
        if matches!(slot, Slot::Point(_)) {
            ring.push(value);
        }
        events.push(Event::Reading(Box::new(ReadingEvent {
            place,
            item,
            phase,
            take,
            slot,
            entered,
            instrument: instrument
                .filter(|_| slot != Slot::Temperature)
                .map(|i| i.id.clone()),
            clocking: args.clocking.filter(|_| item == Item::DiscRunout),
            source: Source::Typed,
            confirmed,
        })));
    }
    Ok(events)
}

/// The question a value raises among the ring given with it.
fn question(
    case: &judge::Case<'_>,
    (place, item): (Place, Item),
    slot: Slot,
    entered: &Entered,
    ring: &[Length],
) -> Option<String> {
    match Quantity::of(item, slot) {
        Quantity::Length => {
            let known = plausible::Known {
                ring: ring.to_vec(),
                ..plausible::known(case, place, item)
            };
            plausible::question(item, slot, Length::from_nm(entered.value), &known)
        }
        Quantity::Temperature => {
            plausible::boiling_question(crate::units::Temperature::from_millidegrees(entered.value))
        }
        Quantity::Force | Quantity::Mass | Quantity::Flag => None,
    }
}

/// Asks a yes-or-no question on the error stream; no line at all is no.
fn ask(world: &mut World<'_>, question: &str) -> Result<bool, Failure> {
    if !world.input_is_terminal {
        return Ok(false);
    }
    write!(world.err, "? {question} (yes/no) ")?;
    world.err.flush()?;
    let mut line = String::new();
    world.input.read_line(&mut line)?;
    Ok(matches!(line.trim().to_lowercase().as_str(), "y" | "yes"))
}

/// Which slot each value is for.
fn slots(values: &[String], item: Item) -> Result<Vec<(Slot, String)>, Failure> {
    let mut pairs = Vec::new();
    let mut bare: Vec<String> = Vec::new();
    for value in values {
        match value.split_once('=') {
            Some((name, list)) => named_slots(name, list, item, &mut pairs)?,
            None => bare.push(value.clone()),
        }
    }
    let last = bare.len();
    for (n, text) in (1u16..).zip(bare) {
        let slot = match item {
            Item::DiscThickness => Slot::Point(n),
            Item::DiscRunout if usize::from(n) == last && last > 2 => Slot::Return,
            Item::DiscRunout => Slot::Point(n),
            Item::LiningsThickness => Slot::Lining(n),
            Item::BearingFloat | Item::FluidBoiling => Slot::Value(n),
            _ => {
                return Err(
                    Failure::from(format!("`{text}` has no place in `{item}`")).hint(form(item))
                );
            }
        };
        pairs.push((slot, text));
    }
    Ok(pairs)
}

fn named_slots(
    name: &str,
    list: &str,
    item: Item,
    pairs: &mut Vec<(Slot, String)>,
) -> Result<(), Failure> {
    let values = list.split(',').map(str::to_owned);
    let make: fn(u16) -> Slot = match (item, name) {
        (Item::PadsThickness, "inner") => Slot::Inner,
        (Item::PadsThickness, "outer") => Slot::Outer,
        (Item::DrumDiameter, "open") => Slot::Open,
        (Item::DrumDiameter, "closed") => Slot::Closed,
        (Item::DiscRunout, "swept") => |_| Slot::Swept,
        (Item::ServiceEfficiency | Item::ParkingEfficiency, "mass") => |_| Slot::Mass,
        (Item::ServiceEfficiency | Item::ParkingEfficiency, "locked") => {
            for corner in list.split(',') {
                let corner = corner.parse().hint(form(item))?;
                pairs.push((Slot::Locked(corner), "locked".to_owned()));
            }
            return Ok(());
        }
        (Item::ServiceEfficiency | Item::ParkingEfficiency, corner) => {
            let corner = corner.parse().hint(form(item))?;
            pairs.push((Slot::At(corner), list.to_owned()));
            return Ok(());
        }
        _ => {
            return Err(
                Failure::from(format!("`{name}=` has no place in `{item}`")).hint(form(item))
            );
        }
    };
    pairs.extend((1..).map(make).zip(values));
    Ok(())
}

const fn form(item: Item) -> &'static str {
    match item {
        Item::PadsThickness => "inner=5.2,5.1 outer=5.4,5.4 (leading end first)",
        Item::DrumDiameter => "open=203.31,203.29 closed=203.27,203.26",
        Item::DiscRunout => "0.000 0.004 … back at 0.000, or swept=0.031",
        Item::ServiceEfficiency | Item::ParkingEfficiency => {
            "FL=3920 FR=3850 RL=2310 RR=1480 mass=1432, and locked=FL,FR for wheels that locked"
        }
        _ => "plain values, separated by blanks",
    }
}

fn answer(
    globals: &Globals,
    world: &mut World<'_>,
    file: &JobFile,
    place: Place,
    item: Item,
    phase: Phase,
    entries: usize,
) -> Result<(), Failure> {
    let judgement = judge::judge(&file.case());
    let follows = |other: Item| {
        other == item
            || matches!(
                (item, other),
                (Item::DiscThickness, Item::DiscVariation)
                    | (Item::PadsThickness, Item::PadsInnerOuter)
                    | (Item::ServiceEfficiency, Item::AxleImbalance)
            )
    };
    let findings: Vec<_> = judgement
        .findings()
        .filter(|f| follows(f.item) && f.phase == phase)
        .filter(|f| f.place == place || f.item == Item::AxleImbalance)
        .collect();
    if globals.json {
        let value = serde_json::json!({"logged": entries, "findings": findings});
        writeln!(world.out, "{value:#}")?;
        return Ok(());
    }
    let style = style(globals, world);
    writeln!(world.out, "logged {entries} entries: {place} {item}")?;
    for finding in findings {
        let line = style.text(&finding.sentence);
        writeln!(world.out, "{} {line}", style.verdict(finding.verdict))?;
    }
    Ok(())
}
