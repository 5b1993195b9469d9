//! `log`: enter readings and looks by one command.

mod done;
mod slots;
mod strike;

use self::slots::{form, slots};
use super::error::{Exit, Failure, Hint as _};
use super::job::remember_absent;
use super::open::{JobFile, person, style};
use super::style::counted;
use super::{Globals, World};
use crate::job::{
    Entered, Event, Item, Kind, Observation, Phase, Place, Quantity, ReadingEvent, Scope, Slot,
    Source,
};
use crate::judge::{self, defect, may_lack, plausible};
use crate::units::{Distance, DistanceUnit, Length, LengthUnit};
use crate::walk;

/// Enter readings of an item, or what a look found
///
/// Readings: `24.308 24.309 …` (a run-out ring ends with the return to stud 1), with them
/// `lip_outer=0.86 lip_inner=1.01` for the depth of each face below its lip; pads as
/// `inner=5.2,5.1 outer=5.4,5.4` (leading end first), drums as `open=203.31,203.29
/// closed=203.27,203.26`, roller forces as `FL=3920 FR=3850 RL=2310 RR=1480 mass=1432`, swept
/// run-out as `swept=0.031`. Looks: `sound`, `defect CODE [NOTE]`, `not-inspected REASON`; a scored
/// disc's depth as `--depth 0.7`; `absent` for a sensor, spring or slide pin the vehicle is built
/// without. A bearing takes a look beside its end float. A wrong set, or a wrong look, is struck:
/// `struck REASON`.
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
    #[arg(long, value_name = "C", allow_negative_numbers = true)]
    temperature: Option<String>,
    /// Temperature of the gauge in °C, when not 20
    #[arg(long, value_name = "C", allow_negative_numbers = true)]
    gauge_temperature: Option<String>,
    /// Depth of a scored disc's grooves, as measured
    #[arg(long, value_name = "MM")]
    depth: Option<String>,
    /// Odometer at which the pads, linings or disc on this corner now were fitted
    #[arg(long, value_name = "KM")]
    fitted_at: Option<String>,
    /// Their thickness then, when it was measured
    #[arg(long, value_name = "MM", requires = "fitted_at")]
    new_thickness: Option<String>,
    /// The limit cast on the disc or drum, read at this corner
    #[arg(long, value_name = "MARK")]
    cast: Option<String>,
    /// Clocking of the disc on the hub, for run-out
    #[arg(long, value_name = "K")]
    clocking: Option<u8>,
    /// The set to strike, by its number; otherwise the last
    #[arg(long, value_name = "N")]
    set: Option<u32>,
    /// Who else agreed to strike what was signed for
    #[arg(long, value_name = "NAME")]
    second_person: Option<String>,
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
    in_order(args, &file, world)?;
    fits_clocking(args, &file, item)?;
    let about = (place, item, phase);
    if args.values.first().is_some_and(|word| word == "struck") {
        let events = strike::strikes(args, &file, about, &by)?;
        file.append(&mut journal, world, &by, &events)?;
        answer(globals, world, &file, place, item, phase, events.len())?;
        return Ok(Exit::Good);
    }
    let done = done::belongs(args, &file, world, about)?;
    let absent = matches!(&args.values[..], [word] if word == "absent");
    let mut events = match look(&args.values, item)? {
        _ if absent => vec![not_fitted(&file, world, &by, (place, item))?],
        Some(observation) => seen(args, &file, world, (place, item, phase), observation)?,
        None => readings(args, &file, world, place, item, phase)?,
    };
    if let Some(depth) = &args.depth {
        events.extend(scored(args, &file, world, (place, item, phase), depth)?);
    }
    if let Some(odometer) = &args.fitted_at {
        events.insert(0, fitted_at(args, &file, place, item, odometer)?);
    }
    if let Some(mark) = &args.cast {
        events.splice(0..0, cast(args, &file, world, place, item, mark)?);
    }
    events.splice(0..0, done);
    let done = done::explained(args, &file, world, about, &events)?;
    events.splice(0..0, done);
    let had = file.job.absent.clone();
    file.append(&mut journal, world, &by, &events)?;
    if file.job.absent != had {
        remember_absent(&file)?;
    }
    answer(globals, world, &file, place, item, phase, events.len())?;
    Ok(Exit::Good)
}

/// The vehicle is built without an item here.
fn not_fitted(
    file: &JobFile,
    world: &World<'_>,
    by: &str,
    (place, item): (Place, Item),
) -> Result<Event, Failure> {
    let hint = "nothing was logged; what is there and was not inspected is `not-inspected REASON`";
    let Some(corner) = place.corner() else {
        return Err(Failure::from(format!("`{item}` is on every vehicle")).hint(hint));
    };
    may_lack(&file.specs.sheet, corner, item).hint(hint)?;
    if file.job.shows_defect(place, item) {
        return Err(Failure::from(format!(
            "a defect was logged for {corner} {item}, so it is fitted"
        ))
        .hint("nothing was logged; if the defect was a slip, whoever entered it strikes it with `undo` in the walk"));
    }
    Ok(Event::Absent {
        corner,
        item,
        by: by.to_owned(),
        on: world.clock.today(),
    })
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
        // A measured item is no look, but for a bearing that is felt and what has defects of its own.
        word @ ("sound" | "defect")
            if item.kind() == Kind::Measure
                && item != Item::BearingFloat
                && (word == "sound" || defect::defects(item).is_empty()) =>
        {
            Err(
                Failure::from(format!("`{item}` is measured, and `{word}` is no reading")).hint(
                    format!("readings as {}; or not-inspected REASON", form(item)),
                ),
            )
        }
        "sound" if rest.is_empty() => Ok(Some(Observation::Sound)),
        "sound" => Err(Failure::from(format!(
            "`sound` stands alone; `{}` has no place",
            rest.join(" ")
        ))
        .hint("defect CODE [NOTE], or not-inspected REASON")),
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

/// A look, with the question it raises where a defect was found already.
fn seen(
    args: &Args,
    file: &JobFile,
    world: &mut World<'_>,
    (place, item, phase): (Place, Item, Phase),
    observation: Observation,
) -> Result<Vec<Event>, Failure> {
    if args.temperature.is_some() || args.gauge_temperature.is_some() {
        return Err(
            Failure::from("a temperature goes with readings, not with a look")
                .hint("leave --temperature out; nothing was logged"),
        );
    }
    let case = file.case();
    let question = walk::replaces(&case, (place, item, phase), &observation)
        .or_else(|| plausible::other_brake(&case, place, item));
    if let Some(question) = question.as_ref().filter(|_| !args.confirm)
        && !ask(world, question)?
    {
        return Err(Failure::from(question.clone())
            .hint(format!(
                "strike the wrong one first: log {} {place} {item} struck \"why\"",
                args.job
            ))
            .hint("nothing was logged; with --confirm both are kept, and the worst counts"));
    }
    let asked = question.map(|question| {
        let slot = Slot::Value(1);
        let raised = plausible::Raised {
            entry: 0,
            slot,
            question,
        };
        answered(args, (place, item), raised, &args.values.join(" "))
    });
    let seen = Event::Seen {
        place,
        item,
        phase,
        observation,
    };
    Ok(asked.into_iter().chain([seen]).collect())
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
    let take = next_take(file, place, item, phase);
    let mut pairs = Vec::new();
    if let Some(temperature) = &args.temperature {
        pairs.push((Slot::Temperature, temperature.clone()));
    }
    if let Some(temperature) = &args.gauge_temperature {
        pairs.push((Slot::GaugeTemperature, temperature.clone()));
    }
    let values = taken_apart(&args.values, world)?;
    pairs.extend(slots(&values, item)?);
    let read = pairs
        .iter()
        .map(|(slot, text)| {
            let unit = match slot {
                Slot::Temperature | Slot::GaugeTemperature => "°C",
                // A depth gauge's, unless the text says otherwise.
                Slot::LipOuter(_) | Slot::LipInner(_) => "mm",
                _ => unit,
            };
            let hint = || format!("at {place} {item}, {slot}; nothing was logged");
            let entered = Entered::read(text, Quantity::of(item, *slot), unit).hint(hint())?;
            walk::possible(item, *slot, entered.value).hint(hint())?;
            Ok(entered)
        })
        .collect::<Result<Vec<_>, Failure>>()?;
    let entries: Vec<plausible::Entry<'_>> = pairs
        .iter()
        .zip(&read)
        .map(|((slot, _), entered)| plausible::Entry::typed(*slot, entered))
        .collect();
    let about = plausible::About {
        place,
        item,
        phase,
        clocking: args.clocking,
        instrument,
    };
    let raised = plausible::questions(&case, about, &[], &entries);
    settle(args, world, (place, item), &raised)?;
    if instrument.is_none()
        && let Some(words) = walk::no_instrument_words(&case, place, item)
    {
        writeln!(world.err, "note: {words}; `--instrument ID` names one")?;
    }
    // A disc that was turned is where it was turned to, unless somebody says otherwise.
    let turned = place.corner().filter(|corner| file.job.reclocked(*corner));
    let clocking = args
        .clocking
        .or_else(|| turned.and_then(|corner| case.clocking_now(corner)));
    let mut events = Vec::new();
    for (index, ((slot, text), entered)) in pairs.iter().zip(&read).enumerate() {
        let asked: Vec<_> = raised
            .iter()
            .filter(|raised| raised.entry == index)
            .collect();
        events.extend(
            asked
                .iter()
                .map(|raised| answered(args, (place, item), (*raised).clone(), text)),
        );
        events.push(Event::Reading(Box::new(ReadingEvent {
            place,
            item,
            phase,
            take,
            slot: *slot,
            entered: entered.clone(),
            instrument: instrument
                .filter(|_| {
                    !matches!(
                        slot,
                        Slot::Temperature
                            | Slot::GaugeTemperature
                            | Slot::LipOuter(_)
                            | Slot::LipInner(_)
                    )
                })
                .map(|i| i.id.clone()),
            clocking: clocking.filter(|_| item == Item::DiscRunout),
            source: Source::Typed,
            confirmed: !asked.is_empty(),
        })));
    }
    Ok(events)
}

/// Refuses a clocking that the wheel does not have, or that is of nothing.
fn fits_clocking(args: &Args, file: &JobFile, item: Item) -> Result<(), Failure> {
    let Some(clocking) = args.clocking else {
        return Ok(());
    };
    if item != Item::DiscRunout {
        return Err(Failure::from(format!("`{item}` has no clocking"))
            .hint("--clocking goes with disc.runout; nothing was logged"));
    }
    let fasteners = file.case().sheet.wheel.fasteners;
    if clocking < fasteners {
        return Ok(());
    }
    Err(Failure::from(format!(
        "clocking {clocking}: a wheel with {fasteners} fasteners has 0 to {}",
        fasteners.saturating_sub(1)
    ))
    .hint("the disc's dot beside the K-th stud to pass after stud 1; nothing was logged"))
}

/// Asks when the job's last entry lies in the future: the clock of one machine is wrong.
fn in_order(args: &Args, file: &JobFile, world: &mut World<'_>) -> Result<(), Failure> {
    let last = file.job.log().last().map(|(meta, ..)| meta.at.date_naive());
    let question = last.and_then(|day| plausible::future_question(day, world.clock.today()));
    let Some(question) = question.filter(|_| !args.confirm) else {
        return Ok(());
    };
    let question = format!("the job's last entry: {question}");
    if ask(world, &question)? {
        return Ok(());
    }
    Err(Failure::from(question)
        .hint("nothing was logged; set this machine's clock, or add --confirm to go on"))
}

/// The measured depth of a scored disc, with the question it raised.
fn scored(
    args: &Args,
    file: &JobFile,
    world: &mut World<'_>,
    (place, item, phase): (Place, Item, Phase),
    depth: &str,
) -> Result<Vec<Event>, Failure> {
    let scored = matches!(
        args.values.get(..2),
        Some([look, code]) if look == "defect" && code.starts_with("scored")
    );
    if item != Item::DiscSurface || !scored {
        return Err(Failure::from("--depth is the depth of a scored disc")
            .hint("log JOB FL disc.surface defect scored --depth 0.7"));
    }
    let entered = Entered::read(depth, Quantity::Length, "mm")
        .map_err(|error| Failure::from(error).hint("at --depth; nothing was logged"))?;
    if let Some(id) = &args.instrument
        && file.register.get(id).is_none()
    {
        return Err(
            Failure::from(format!("instrument `{id}` is not in the register"))
                .hint("`brakecorner instrument list` shows it"),
        );
    }
    let slot = Slot::Value(1);
    let entries = [plausible::Entry::typed(slot, &entered)];
    let about = plausible::About {
        place,
        item,
        phase,
        clocking: None,
        instrument: None,
    };
    let raised = plausible::questions(&file.case(), about, &[], &entries);
    settle(args, world, (place, item), &raised)?;
    let confirmed = !raised.is_empty();
    let asked = raised
        .into_iter()
        .map(|raised| answered(args, (place, item), raised, depth));
    let reading = Event::Reading(Box::new(ReadingEvent {
        place,
        item,
        phase,
        take: next_take(file, place, item, phase),
        slot,
        instrument: args.instrument.clone(),
        clocking: None,
        source: Source::Typed,
        confirmed,
        entered: entered.clone(),
    }));
    Ok(asked.chain([reading]).collect())
}

/// When the parts on a corner were fitted.
fn fitted_at(
    args: &Args,
    file: &JobFile,
    place: Place,
    item: Item,
    odometer: &str,
) -> Result<Event, Failure> {
    let wears = matches!(
        item,
        Item::PadsThickness | Item::LiningsThickness | Item::DiscThickness
    );
    let Some(corner) = place.corner().filter(|_| wears) else {
        return Err(Failure::from(format!("`{item}` does not wear by distance"))
            .hint("--fitted-at goes with pads.thickness, linings.thickness or disc.thickness"));
    };
    let opening = file.job.opening.as_ref();
    let unit = opening.map_or(DistanceUnit::Kilometre, |opening| opening.odometer_unit);
    let odometer = Distance::parse(odometer, unit).hint("at --fitted-at; nothing was logged")?;
    if let Some(now) = opening.map(|opening| opening.odometer)
        && odometer >= now
    {
        return Err(Failure::from(format!(
            "the parts were fitted at {}, which is not before the odometer of this job, {}",
            odometer.to_whole_km(),
            now.to_whole_km()
        ))
        .hint("is one of them in miles? write 52270 mi"));
    }
    let thickness = match &args.new_thickness {
        Some(text) => Some(
            Length::parse(text, LengthUnit::Millimetre)
                .hint("at --new-thickness; nothing was logged")?,
        ),
        None => None,
    };
    Ok(Event::FittedBefore {
        corner,
        item,
        odometer,
        thickness,
    })
}

fn next_take(file: &JobFile, place: Place, item: Item, phase: Phase) -> u32 {
    let takes = file.job.takes(place, item, phase);
    1 + takes.map(|take| take.number).max().unwrap_or(0)
}

fn answered(
    args: &Args,
    (place, item): (Place, Item),
    raised: plausible::Raised,
    entry: &str,
) -> Event {
    Event::Asked(crate::job::Answered {
        place,
        item,
        slot: raised.slot,
        entry: entry.to_owned(),
        question: raised.question,
        answer: if args.confirm { "--confirm" } else { "yes" }.to_owned(),
        kept: true,
    })
}

/// The limit cast on a corner's disc or drum, with the question it raised.
fn cast(
    args: &Args,
    file: &JobFile,
    world: &mut World<'_>,
    place: Place,
    item: Item,
    mark: &str,
) -> Result<Vec<Event>, Failure> {
    let marked = matches!(item, Item::DiscThickness | Item::DrumDiameter);
    let Some(corner) = place.corner().filter(|_| marked) else {
        return Err(Failure::from(format!("`{item}` carries no cast limit"))
            .hint("--cast goes with disc.thickness or drum.diameter"));
    };
    let entered = Entered::read(mark, Quantity::Length, "mm")
        .map_err(|error| Failure::from(error).hint("at --cast; nothing was logged"))?;
    let question = plausible::mark_question(&file.case(), corner, Length::from_nm(entered.value));
    let raised: Vec<_> = question
        .into_iter()
        .map(|question| plausible::Raised {
            entry: 0,
            slot: Slot::Value(1),
            question: format!("the mark: {question}"),
        })
        .collect();
    settle(args, world, (place, item), &raised)?;
    let asked = raised
        .into_iter()
        .map(|raised| answered(args, (place, item), raised, mark));
    Ok(asked.chain([Event::CastMark { corner, entered }]).collect())
}

/// Values that are two readings run together, taken apart once somebody says so.
fn taken_apart(values: &[String], world: &mut World<'_>) -> Result<Vec<String>, Failure> {
    let mut apart = Vec::new();
    for value in values {
        match plausible::run_together(value) {
            Some((question, [one, two])) => {
                if !ask(world, &question)? {
                    return Err(Failure::from(question)
                        .hint(format!("nothing was logged; write them apart: {one} {two}")));
                }
                apart.extend([one, two]);
            }
            None => apart.push(value.clone()),
        }
    }
    Ok(apart)
}

/// Asks every question; one that is not answered with yes leaves everything unlogged.
fn settle(
    args: &Args,
    world: &mut World<'_>,
    (place, item): (Place, Item),
    raised: &[plausible::Raised],
) -> Result<(), Failure> {
    if args.confirm {
        return Ok(());
    }
    let words =
        |raised: &plausible::Raised| format!("{place} {item} {}: {}", raised.slot, raised.question);
    let hint = "nothing was logged; correct the value, or add --confirm to keep it";
    if !world.input_is_terminal && !raised.is_empty() {
        let all: Vec<String> = raised.iter().map(words).collect();
        return Err(Failure::from(all.join("\n")).hint(hint));
    }
    for raised in raised {
        if !ask(world, &words(raised))? {
            return Err(Failure::from(words(raised)).hint(hint));
        }
    }
    Ok(())
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
    let entries = counted(entries, "entry", "entries");
    writeln!(world.out, "logged {entries}: {place} {item}")?;
    for finding in findings {
        let line = style.text(&finding.sentence);
        writeln!(world.out, "{} {line}", style.verdict(finding.verdict))?;
    }
    Ok(())
}
