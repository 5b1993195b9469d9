//! `job`: open a job, list jobs, forget the customer.

mod absent;
mod symptoms;

use clap::Subcommand;

pub(super) use absent::remember as remember_absent;

use super::error::{Exit, Failure, Hint as _};
use super::facts::FactArgs;
use super::open::{JobFile, Library, person, style, workshop, write_failure};
use super::style::counted;
use super::{Globals, World, facts, vehicle};
use crate::job::{Depth, Event, Item, Opening, PersonalField, Since, Symptom};
use crate::measure::vin;
use crate::shop::vehicles::{Absent, Vehicle};
use crate::spec::Sheet;
use crate::units::{
    Distance, DistanceUnit, Length, LengthUnit, UnitError, VehicleBuild, VehicleClass,
};

/// Open a job, list the jobs, forget a customer's data
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(subcommand)]
    action: Action,
}

#[derive(Debug, Subcommand)]
enum Action {
    Open(Box<Open>),
    Facts(Box<Facts>),
    List(List),
    Forget(super::record::Forget),
}

/// Open a job for a vehicle
///
/// The spec sheet is found by the VIN unless one is named. A judder or pull complaint makes the
/// depth full.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  brakecorner job open HWY-0411 --vin A0ZDL07V7NK001122 --odometer 84120 --class N1 --first-used 2022-05-03"
)]
struct Open {
    /// Job number
    job: String,
    /// Vehicle identification number
    #[arg(long)]
    vin: String,
    /// Odometer, km unless a unit is given (52270 mi)
    #[arg(long, allow_hyphen_values = true)]
    odometer: String,
    /// Registration plate
    #[arg(long, default_value = "")]
    registration: String,
    /// Customer's name; kept in private.toml, only a salted digest is ever signed
    #[arg(long, default_value = "", value_name = "NAME")]
    customer: String,
    /// Customer's telephone number; kept likewise
    #[arg(long, default_value = "", value_name = "NUMBER")]
    telephone: String,
    /// Customer's address; kept likewise
    #[arg(long, default_value = "", value_name = "WORDS")]
    address: String,
    /// Complaint in the customer's words
    #[arg(long, default_value = "", value_name = "WORDS")]
    complaint: String,
    /// What the complaint is: judder, pull, squeal, grinding, soft_pedal, warning_lamp (can be
    /// repeated); words of the complaint that mean one are taken for it, `none` refuses them
    #[arg(long, value_parser = symptom, value_name = "WORD")]
    symptom: Vec<Wanted>,
    /// An item the vehicle is built without: CORNER:ITEM or AXLE:ITEM (can be repeated); remembered
    #[arg(long, value_name = "PLACE:ITEM")]
    absent: Vec<String>,
    /// How deep: quick or full
    #[arg(long, default_value = "full", value_parser = depth)]
    depth: Depth,
    #[command(flatten)]
    facts: FactArgs,
    /// Spec sheet, when the VIN does not name one
    #[arg(long, value_name = "NAME")]
    sheet: Option<String>,
    /// Rule packs instead of the workshop's, separated by commas
    #[arg(long, value_delimiter = ',', value_name = "NAMES")]
    rules: Vec<String>,
    /// Work schedule instead of the workshop's
    #[arg(long, value_name = "NAME")]
    schedule: Option<String>,
    /// Original quote, in words and money
    #[arg(long, default_value = "", value_name = "WORDS")]
    quote: String,
    /// A thickness from before, and whether the part was renewed since (same, renewed@KM, unknown):
    /// CORNER:ITEM:ODOMETER:THICKNESS[:DATE]:SINCE (can be repeated)
    #[arg(long, value_name = "C:I:KM:MM[:DATE]:SINCE")]
    earlier: Vec<String>,
    /// Say yes to every question: a plate that moved, an odometer that looks wrong
    #[arg(long)]
    confirm: bool,
}

/// Enter facts of the vehicle that rules ask for
///
/// They hold for this job from now on and are kept in the vehicle's file for the next one.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  brakecorner job facts HWY-0411 --gross-mass 3500 --seats 3")]
struct Facts {
    /// Job number
    job: String,
    #[command(flatten)]
    facts: FactArgs,
    /// Say yes to the question of a date in the future
    #[arg(long)]
    confirm: bool,
}

/// List the jobs of the workshop
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  brakecorner job list")]
struct List {}

/// A symptom that is named, or the refusal of any.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Wanted {
    Symptom(Symptom),
    None,
}

fn symptom(text: &str) -> Result<Wanted, String> {
    if text == "none" {
        return Ok(Wanted::None);
    }
    let symptom = serde_json::from_value(text.replace('-', "_").into());
    symptom.map(Wanted::Symptom).map_err(|_| {
        "expected judder, pull, squeal, grinding, soft_pedal, warning_lamp or none".to_owned()
    })
}

fn depth(text: &str) -> Result<Depth, String> {
    serde_json::from_value(text.into()).map_err(|_| "expected quick or full".to_owned())
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    match &args.action {
        Action::Open(open) => run_open(open, globals, world),
        Action::Facts(facts) => run_facts(facts, globals, world),
        Action::List(_) => run_list(globals, world),
        Action::Forget(forget) => super::record::forget(forget, globals, world),
    }
}

fn run_open(open: &Open, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let shop = workshop(globals, world)?;
    let by = person(globals, world)?;
    let vin = open.vin.trim().to_ascii_uppercase();
    check_vin(&vin, world)?;
    let odometer = Distance::parse(&open.odometer, DistanceUnit::Kilometre)
        .hint("an odometer looks like 84120, or 52270 mi")?;
    if odometer < Distance::ZERO {
        return Err(Failure::from(format!(
            "--odometer {}: no odometer shows less than 0",
            open.odometer
        ))
        .hint("an odometer looks like 84120, or 52270 mi"));
    }
    let in_miles = open.odometer.to_lowercase().contains("mi");
    let given = open
        .earlier
        .iter()
        .map(|text| earlier(text))
        .collect::<Result<Vec<_>, _>>()?;
    check_odometer(&given, odometer)?;
    check_dates(&given, world.clock.today(), open.confirm, world)?;
    let complaint = symptoms::of_complaint(open, &shop, world)?;
    let library = Library::of(&shop)?;
    let known = shop
        .vehicle(&vin)
        .hint("correct the vehicle's file, or move it away: the next job writes it anew")?;
    let named = open.sheet.clone().or_else(|| {
        let sheet = known.as_ref().map(|vehicle| vehicle.sheet.clone());
        sheet.filter(|sheet| !sheet.is_empty())
    });
    let mut rules = if open.rules.is_empty() {
        shop.settings.rules.clone()
    } else {
        open.rules.clone()
    };
    // The fluid's boiling points are a rule pack like any other, and always in force.
    if !rules.iter().any(|rule| rule == "brake-fluid") {
        rules.push("brake-fluid".to_owned());
    }
    let mut opening = Opening {
        job: open.job.clone(),
        registration: open.registration.clone(),
        sheet: library.sheet_for(world, &vin, named.as_deref())?,
        vin,
        odometer,
        odometer_unit: if in_miles {
            DistanceUnit::Mile
        } else {
            DistanceUnit::Kilometre
        },
        complaint: open.complaint.clone(),
        symptoms: complaint.symptoms,
        from_words: complaint.from_words,
        depth: open.depth,
        schedule: open
            .schedule
            .clone()
            .unwrap_or_else(|| shop.settings.schedule.clone()),
        rules,
        policy: shop.settings.policy.clone(),
        class: String::new(),
        first_used: None,
        build: VehicleBuild::default(),
        quote: open.quote.clone(),
    };
    facts::take_into(&mut opening, &open.facts, known.as_ref());
    if !opening.class.is_empty() && VehicleClass::find(&opening.class).is_none() {
        return Err(Failure::from(format!(
            "the vehicle's file says class `{}`, which is none",
            opening.class
        ))
        .hint(format!("the classes are {}", VehicleClass::words())));
    }
    facts::agree(&opening.class, &opening.build)?;
    future(opening.first_used, open.confirm, world)?;
    library.warn_unread(world)?;
    let specs = library.snapshots(&opening)?.read()?;
    let build = library.sheet(&opening.sheet)?;
    if !build.vin_patterns.is_empty() && !build.fits_vin(&opening.vin) {
        let question = format!(
            "sheet `{}` is for VINs like {}, and this one is {}; is it the right sheet?",
            build.id,
            build.vin_patterns.join(", "),
            opening.vin
        );
        vehicle::confirmed(world, &question, open.confirm)?;
    }
    let absent = absent::stated(open, known.as_ref(), &build, (&by, world.clock.today()))?;
    vehicle::odometer_follows(known.as_ref(), &opening, open.confirm, world)?;
    facts::ask(world, &mut opening, &specs)?;
    let before =
        vehicle::plate_moves(&shop, &open.registration, &opening.vin, open.confirm, world)?;
    let from_jobs = vehicle::earlier(&shop, &library, &opening, world)?;
    let mut events = vec![Event::Opened(Box::new(opening.clone()))];
    events.extend(merged(given, from_jobs));
    events.extend(vehicle::clockings_known(known.as_ref()));
    events.extend(complaint.refused);
    events.extend(absent.iter().map(Absent::event));
    let sheet = opening.sheet.clone();
    let private = super::record::private_of(&[
        (PersonalField::Customer, &open.customer),
        (PersonalField::Telephone, &open.telephone),
        (PersonalField::Address, &open.address),
        (PersonalField::Vin, &open.vin.trim().to_ascii_uppercase()),
        (PersonalField::Registration, &open.registration),
    ]);
    events.extend(private.events());
    let mut journal = shop
        .create_job(&open.job)
        .hint("choose another job number")?;
    // Before the journal: a digest whose salt is lost would say nothing to anybody.
    private.write(&shop.job_folder(&open.job)?)?;
    journal
        .append(world.clock.now(), &by, &events)
        .map_err(write_failure)?;
    let mut vehicle = known.unwrap_or_default();
    remember(&mut vehicle, &opening, &build, world.clock.today());
    vehicle.absent.clone_from(&absent);
    shop.write_vehicle(&vehicle)?;
    if let Some(before) = before {
        shop.write_vehicle(&before)?;
    }
    if globals.json {
        let value = serde_json::json!({"job": open.job, "sheet": sheet, "folder": shop.job_folder(&open.job)?});
        writeln!(world.out, "{value:#}")?;
    } else {
        writeln!(
            world.out,
            "job {} is open, judged by sheet {sheet}",
            open.job
        )?;
        for one in &absent {
            writeln!(world.out, "not fitted: {one}")?;
        }
        writeln!(world.err, "next: brakecorner walk {}", open.job)?;
    }
    Ok(Exit::Good)
}

fn run_facts(args: &Facts, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    if args.facts.is_empty() {
        return Err(Failure::from("no fact is given").hint(
            "as in `brakecorner job facts HWY-0411 --gross-mass 3500`; `--help` lists them",
        ));
    }
    let by = person(globals, world)?;
    let (mut file, mut journal) = JobFile::write(globals, world, &args.job)?;
    let mut opening = file
        .job
        .opening
        .clone()
        .ok_or_else(|| Failure::from(format!("job `{}` was never opened", args.job)))?;
    facts::take_into(&mut opening, &args.facts, None);
    facts::agree(&opening.class, &opening.build)?;
    future(args.facts.first_used, args.confirm, world)?;
    let event = Event::Facts {
        class: args.facts.class.clone().unwrap_or_default(),
        first_used: args.facts.first_used,
        build: args.facts.build(),
    };
    file.append(&mut journal, world, &by, &[event])?;
    if let Some(mut vehicle) = file.shop.vehicle(&opening.vin)? {
        facts::remember(&mut vehicle, &args.facts);
        file.shop.write_vehicle(&vehicle)?;
    }
    if globals.json {
        let value = serde_json::json!({
            "job": args.job, "class": opening.class, "first_used": opening.first_used,
            "build": opening.build,
        });
        writeln!(world.out, "{value:#}")?;
    } else {
        writeln!(
            world.out,
            "taken for job {}, and kept for vehicle {}",
            args.job, opening.vin
        )?;
    }
    Ok(Exit::Good)
}

/// Asks about a first use on a day that has not come.
fn future(day: Option<chrono::NaiveDate>, yes: bool, world: &mut World<'_>) -> Result<(), Failure> {
    if let Some(day) = day
        && let Some(question) = crate::judge::plausible::future_question(day, world.clock.today())
    {
        vehicle::confirmed(world, &format!("first used: {question}"), yes)?;
    }
    Ok(())
}

/// Earlier readings given by hand, and those of the workshop's jobs at other distances.
fn merged(given: Vec<Event>, from_jobs: Vec<Event>) -> Vec<Event> {
    let key = |event: &Event| match event {
        Event::Earlier {
            corner,
            item,
            odometer,
            ..
        } => Some((*corner, *item, *odometer)),
        _ => None,
    };
    let known: Vec<_> = given.iter().filter_map(key).collect();
    let others = from_jobs
        .into_iter()
        .filter(|event| key(event).is_none_or(|key| !known.contains(&key)));
    let mut all: Vec<Event> = others.chain(given).collect();
    all.sort_by_key(key);
    all
}

/// Takes what a job says about its vehicle into the vehicle's file.
fn remember(vehicle: &mut Vehicle, opening: &Opening, sheet: &Sheet, day: chrono::NaiveDate) {
    vehicle.vin.clone_from(&opening.vin);
    vehicle::learn(vehicle, sheet);
    if !opening.class.is_empty() {
        vehicle.class.clone_from(&opening.class);
    }
    vehicle.first_used = opening.first_used.or(vehicle.first_used);
    vehicle.build = opening.build.or(&vehicle.build);
    vehicle.carries(&opening.registration, day);
    vehicle.visited(&opening.job, day, opening.odometer);
}

fn check_vin(text: &str, world: &mut World<'_>) -> Result<(), Failure> {
    match vin::check(text) {
        Ok(check) if check.holds() => Ok(()),
        // Outside North America the digit need not hold: said, not refused.
        Ok(check) => {
            writeln!(
                world.err,
                "note: VIN {text}: position 9 is `{}`, the check digit would be `{}`; outside North America it need not hold. Compare it with the vehicle.",
                check.found, check.expected
            )?;
            Ok(())
        }
        Err(error) => {
            Err(Failure::from(error).hint("a VIN has 17 letters and digits, never I, O or Q"))
        }
    }
}

/// `RL:pads.thickness:61050:5.6:same`.
fn earlier(text: &str) -> Result<Event, Failure> {
    let form = "expected CORNER:ITEM:ODOMETER:THICKNESS:SINCE, as in RL:pads.thickness:61050:5.6:same, or with its day before SINCE, 5.6:2025-04-11:same; SINCE says whether the part was renewed since: same, renewed@ODOMETER or unknown";
    let (reading, since) = text.rsplit_once(':').unwrap_or((text, ""));
    let Some(since) = since_then(since).hint(form)? else {
        let missing = format!("`{text}` does not say whether the part was renewed since");
        return Err(Failure::from(missing).hint(form));
    };
    let parts: Vec<&str> = reading.split(':').collect();
    let (given, date) = match parts[..] {
        [corner, item, odometer, thickness] => ([corner, item, odometer, thickness], None),
        [corner, item, odometer, thickness, date] => {
            let date = date
                .parse()
                .map_err(|_| Failure::from(format!("`{date}` is no date")).hint(form))?;
            ([corner, item, odometer, thickness], Some(date))
        }
        _ => return Err(Failure::from(format!("`{text}` is no earlier reading")).hint(form)),
    };
    let [corner, item, odometer, thickness] = given;
    let item: Item = item.parse().hint(form)?;
    if !matches!(
        item,
        Item::PadsThickness | Item::LiningsThickness | Item::DiscThickness
    ) {
        return Err(Failure::from(format!("`{item}` does not wear by distance")).hint(form));
    }
    Ok(Event::Earlier {
        corner: corner.parse().hint(form)?,
        item,
        odometer: Distance::parse(odometer, DistanceUnit::Kilometre).hint(form)?,
        thickness: Length::parse(thickness, LengthUnit::Millimetre).hint(form)?,
        source: "entered when the job was opened".to_owned(),
        date,
        since,
    })
}

/// Whether a part was renewed since an earlier reading; `None` when the word says nothing of it.
fn since_then(word: &str) -> Result<Option<Since>, UnitError> {
    Ok(match word.split_once('@') {
        None if word == "same" => Some(Since::Same),
        None if word == "unknown" => Some(Since::Unknown),
        Some(("renewed", odometer)) => {
            let fitted = Distance::parse(odometer, DistanceUnit::Kilometre)?;
            Some(Since::RenewedAt(fitted))
        }
        _ => None,
    })
}

fn check_odometer(events: &[Event], odometer: Distance) -> Result<(), Failure> {
    for event in events {
        let Event::Earlier {
            odometer: before,
            since,
            ..
        } = event
        else {
            continue;
        };
        let miles = "is one of them in miles? write 52270 mi";
        if *before >= odometer {
            return Err(Failure::from(format!(
                "an earlier reading at {} is not before the odometer of today, {}",
                before.to_whole_km(),
                odometer.to_whole_km()
            ))
            .hint(miles));
        }
        if let Since::RenewedAt(fitted) = since
            && !(*before..=odometer).contains(fitted)
        {
            return Err(Failure::from(format!(
                "a part renewed at {} was not renewed between its reading at {} and today at {}",
                fitted.to_whole_km(),
                before.to_whole_km(),
                odometer.to_whole_km()
            ))
            .hint(miles));
        }
    }
    Ok(())
}

/// An earlier reading on a day that has not come: a slip of the year.
fn check_dates(
    events: &[Event],
    today: chrono::NaiveDate,
    yes: bool,
    world: &mut World<'_>,
) -> Result<(), Failure> {
    for event in events {
        if let Event::Earlier {
            date: Some(date), ..
        } = event
            && let Some(question) = crate::judge::plausible::future_question(*date, today)
        {
            vehicle::confirmed(world, &format!("earlier reading: {question}"), yes)?;
        }
    }
    Ok(())
}

fn run_list(globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let shop = workshop(globals, world)?;
    let style = style(globals, world);
    let mut rows = Vec::new();
    for job in shop.jobs()? {
        // One job that does not read must not hide the others.
        let state = match crate::shop::journal::Journal::peek(&shop.journal_path(&job)?) {
            Ok(contents) => {
                let folded = contents.fold();
                let vin = folded
                    .opening
                    .as_ref()
                    .map(|o| o.vin.clone())
                    .unwrap_or_default();
                (
                    vin,
                    format!(
                        "{}, {} signed",
                        counted(
                            usize::try_from(folded.last_seq).unwrap_or(usize::MAX),
                            "entry",
                            "entries"
                        ),
                        folded.signed.len()
                    ),
                )
            }
            Err(error) => (String::new(), error.to_string()),
        };
        rows.push((job, state.0, state.1));
    }
    if globals.json {
        let rows: Vec<_> = rows
            .iter()
            .map(|(job, vin, state)| serde_json::json!({"job": job, "vin": vin, "state": state}))
            .collect();
        writeln!(world.out, "{:#}", serde_json::Value::from(rows))?;
    } else {
        for (job, vin, state) in rows {
            writeln!(
                world.out,
                "{}",
                style.text(&format!("{job}  {vin}  {state}"))
            )?;
        }
    }
    Ok(Exit::Good)
}
