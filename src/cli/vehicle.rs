//! `vehicle`: what the workshop knows about a vehicle, and what its earlier jobs measured.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use clap::Subcommand;

use super::error::{Exit, Failure, Hint as _};
use super::facts::{self, FactArgs};
use super::open::{Library, style, workshop};
use super::{Globals, World};
use crate::job::{Corner, Event, Item, Job, Opening, Phase, Place, Since};
use crate::judge::{self, Figure, plausible};
use crate::shop::folder::Workshop;
use crate::shop::journal::Journal;
use crate::shop::vehicles::{AxleLayout, Vehicle, same_plate};
use crate::spec::{BrakeKind, Sheet};
use crate::units::{Distance, Length};

/// Show, edit or list the vehicles the workshop knows
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(subcommand)]
    action: Action,
}

#[derive(Debug, Subcommand)]
enum Action {
    Show(Show),
    Edit(Edit),
    List(List),
}

/// Show a vehicle: identity, layout, clockings, plates, visits
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  brakecorner vehicle show A0ZTN12S0MK000417")]
struct Show {
    /// VIN, or the plate it carries
    vehicle: String,
}

/// Change what is known of a vehicle
///
/// Only what is named is changed. The file `vehicles/VIN.toml` may be edited by hand as well.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  brakecorner vehicle edit A0ZTN12S0MK000417 --clockings front=0,1,2,3,4"
)]
struct Edit {
    /// VIN, or the plate it carries
    vehicle: String,
    /// Plate it carries now
    #[arg(long, value_name = "PLATE")]
    registration: Option<String>,
    /// Spec sheet to use
    #[arg(long, value_name = "NAME")]
    sheet: Option<String>,
    #[command(flatten)]
    facts: FactArgs,
    /// Clockings the disc can be fitted in: AXLE=0,1,2 (can be repeated; AXLE= forgets them)
    #[arg(long, value_name = "AXLE=LIST")]
    clockings: Vec<String>,
    /// A remark; empty deletes it
    #[arg(long, value_name = "WORDS")]
    note: Option<String>,
    /// Say yes to the question of a plate that another vehicle carries
    #[arg(long)]
    confirm: bool,
}

/// List the vehicles
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  brakecorner vehicle list")]
struct List {}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    match &args.action {
        Action::Show(show) => run_show(show, globals, world),
        Action::Edit(edit) => run_edit(edit, globals, world),
        Action::List(_) => run_list(globals, world),
    }
}

/// A vehicle by its VIN or the plate it carries.
fn find(shop: &Workshop, text: &str) -> Result<Vehicle, Failure> {
    let text = text.trim();
    let known: Vec<Vehicle> = shop
        .vehicles()?
        .into_iter()
        .filter_map(|(vin, vehicle)| match vehicle {
            // The one that is asked for must not be passed over because it does not read.
            Err(error) if vin.eq_ignore_ascii_case(text) => Some(Err(error)),
            Err(_) => None,
            Ok(vehicle) => Some(Ok(vehicle)),
        })
        .collect::<Result<_, _>>()
        .hint("correct the file, or move it away: the next job writes it anew")?;
    let by_vin = known.iter().find(|v| v.vin.eq_ignore_ascii_case(text));
    let by_plate = || {
        known
            .iter()
            .find(|v| v.plate().is_some_and(|plate| same_plate(plate, text)))
    };
    by_vin.or_else(by_plate).cloned().ok_or_else(|| {
        Failure::from(format!("no vehicle `{text}` is known here"))
            .hint("`brakecorner vehicle list` shows them; opening a job for a VIN makes one")
    })
}

fn run_show(show: &Show, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let shop = workshop(globals, world)?;
    let vehicle = find(&shop, &show.vehicle)?;
    print(&vehicle, globals, world)
}

fn print(vehicle: &Vehicle, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    if globals.json {
        writeln!(world.out, "{:#}", serde_json::to_value(vehicle)?)?;
        return Ok(Exit::Good);
    }
    let style = style(globals, world);
    let mut lines = vec![format!("VIN          {}", vehicle.vin)];
    let mut add = |name: &str, text: String| {
        if !text.is_empty() {
            lines.push(format!("{name:12} {text}"));
        }
    };
    add("plate", vehicle.plate().unwrap_or_default().to_owned());
    add("class", vehicle.class.clone());
    let first_used = vehicle.first_used.map(|day| day.to_string());
    add("first used", first_used.unwrap_or_default());
    for (name, text) in facts::lines_of(&vehicle.build) {
        add(name, text);
    }
    add("spec sheet", vehicle.sheet.clone());
    let axles: Vec<String> = vehicle
        .axles
        .iter()
        .map(|axle| format!("{} {}", axle.name, axle.brake))
        .collect();
    add("brakes", axles.join(", "));
    add("fasteners", format!("{} a wheel", vehicle.fasteners));
    for (axle, clockings) in &vehicle.clockings {
        let list: Vec<String> = clockings.iter().map(u8::to_string).collect();
        add("clockings", format!("{axle}: {}", list.join(", ")));
    }
    for one in &vehicle.absent {
        add("not fitted", one.to_string());
    }
    add("note", vehicle.note.clone());
    for seen in vehicle.plates.iter().filter(|seen| seen.until.is_some()) {
        let until = seen.until.map_or(String::new(), |day| format!(" to {day}"));
        add(
            "before",
            format!("{} from {}{until}", seen.plate, seen.since),
        );
    }
    for visit in &vehicle.visits {
        add(
            "visit",
            format!("{}  {}  {} km", visit.date, visit.job, visit.odometer_km),
        );
    }
    for line in lines {
        writeln!(world.out, "{}", style.text(&line))?;
    }
    Ok(Exit::Good)
}

fn run_edit(edit: &Edit, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let shop = workshop(globals, world)?;
    let mut vehicle = find(&shop, &edit.vehicle)?;
    if let Some(name) = &edit.sheet {
        let library = Library::of(&shop)?;
        let id = library.sheet_for(world, &vehicle.vin, Some(name))?;
        learn(&mut vehicle, &library.sheet(&id)?);
    }
    facts::remember(&mut vehicle, &edit.facts);
    facts::agree(&vehicle.class, &vehicle.build)?;
    if let Some(note) = &edit.note {
        vehicle.note.clone_from(note);
    }
    for text in &edit.clockings {
        let (axle, list) = clockings(text, &vehicle)?;
        if list.is_empty() {
            vehicle.clockings.remove(&axle);
        } else {
            vehicle.clockings.insert(axle, list);
        }
    }
    let mut before = None;
    if let Some(plate) = &edit.registration {
        before = plate_moves(&shop, plate, &vehicle.vin, edit.confirm, world)?;
        vehicle.carries(plate, world.clock.today());
    }
    shop.write_vehicle(&vehicle)?;
    if let Some(before) = before {
        shop.write_vehicle(&before)?;
    }
    print(&vehicle, globals, world)
}

/// `front=0,1,2`.
fn clockings(text: &str, vehicle: &Vehicle) -> Result<(String, Vec<u8>), Failure> {
    let form = "as in --clockings front=0,1,2,3,4";
    let (axle, list) = text
        .split_once('=')
        .ok_or_else(|| Failure::from(format!("`{text}` names no clockings")).hint(form))?;
    if !vehicle.axles.iter().any(|known| known.name == axle) {
        let names: Vec<&str> = vehicle
            .axles
            .iter()
            .map(|axle| axle.name.as_str())
            .collect();
        return Err(
            Failure::from(format!("`{axle}` is no axle of this vehicle"))
                .hint(format!("its axles are: {}", names.join(", "))),
        );
    }
    let mut clockings = Vec::new();
    for word in list
        .split(',')
        .map(str::trim)
        .filter(|word| !word.is_empty())
    {
        let clocking: u8 = word
            .parse()
            .map_err(|_| Failure::from(format!("`{word}` is no clocking")).hint(form))?;
        if clocking >= vehicle.fasteners.max(1) {
            return Err(Failure::from(format!(
                "clocking {clocking} does not exist with {} fasteners",
                vehicle.fasteners
            ))
            .hint("clockings run from 0 to one less than the fasteners"));
        }
        clockings.push(clocking);
    }
    clockings.sort_unstable();
    clockings.dedup();
    Ok((axle.to_owned(), clockings))
}

fn run_list(globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let shop = workshop(globals, world)?;
    let style = style(globals, world);
    let vehicles = shop.vehicles()?;
    if globals.json {
        let rows: Vec<_> = vehicles
            .iter()
            .map(|(vin, vehicle)| match vehicle {
                Ok(vehicle) => serde_json::json!({
                    "vin": vin, "plate": vehicle.plate(), "sheet": vehicle.sheet,
                    "visits": vehicle.visits.len(),
                }),
                Err(error) => serde_json::json!({"vin": vin, "error": Failure::from(error.to_string()).chain()}),
            })
            .collect();
        writeln!(world.out, "{:#}", serde_json::Value::from(rows))?;
        return Ok(Exit::Good);
    }
    for (vin, vehicle) in vehicles {
        let line = match vehicle {
            Ok(vehicle) => {
                let last = vehicle.visits.last().map_or(String::new(), |visit| {
                    format!("  last {} at {} km", visit.date, visit.odometer_km)
                });
                format!(
                    "{vin}  {:12} {}{last}",
                    vehicle.plate().unwrap_or("-"),
                    vehicle.sheet
                )
            }
            Err(error) => format!("{vin}  does not read: {error}"),
        };
        writeln!(world.out, "{}", style.text(&line))?;
    }
    Ok(Exit::Good)
}

/// Asks a question that `--confirm` answers with yes; without a terminal nobody can, and nothing is
/// done.
pub(super) fn confirmed(world: &mut World<'_>, question: &str, yes: bool) -> Result<(), Failure> {
    if yes {
        return Ok(());
    }
    if world.input_is_terminal {
        write!(world.err, "? {question} (yes/no) ")?;
        world.err.flush()?;
        let mut line = String::new();
        world.input.read_line(&mut line)?;
        if matches!(line.trim().to_lowercase().as_str(), "y" | "yes") {
            return Ok(());
        }
    }
    Err(Failure::from(question.to_owned())
        .hint("nothing was written; correct it, or add --confirm if it is right"))
}

/// A plate another vehicle carries is asked about; the other vehicle, without it, is handed back to
/// be written once the rest is done.
pub(super) fn plate_moves(
    shop: &Workshop,
    plate: &str,
    vin: &str,
    yes: bool,
    world: &mut World<'_>,
) -> Result<Option<Vehicle>, Failure> {
    if plate.trim().is_empty() {
        return Ok(None);
    }
    let Some(mut other) = shop.plate_elsewhere(plate, vin)? else {
        return Ok(None);
    };
    let question = format!(
        "plate {plate} is that of VIN {} here; has it moved to VIN {vin}?",
        other.vin
    );
    confirmed(world, &question, yes)?;
    other.gives_up(world.clock.today());
    Ok(Some(other))
}

/// Asks about an odometer that does not follow the last visit's.
pub(super) fn odometer_follows(
    vehicle: Option<&Vehicle>,
    opening: &Opening,
    yes: bool,
    world: &mut World<'_>,
) -> Result<(), Failure> {
    let Some(last) = vehicle.and_then(|vehicle| vehicle.last_visit(&opening.job)) else {
        return Ok(());
    };
    let days = (world.clock.today() - last.date).num_days();
    let days = u32::try_from(days.max(0)).unwrap_or(u32::MAX);
    let before = Distance::from_whole_km(last.odometer_km);
    match plausible::odometer_question(opening.odometer.to_whole_km(), before, days) {
        Some(question) => confirmed(world, &question, yes),
        None => Ok(()),
    }
}

/// Takes over what a sheet says about a vehicle's build.
pub(super) fn learn(vehicle: &mut Vehicle, sheet: &Sheet) {
    vehicle.sheet.clone_from(&sheet.id);
    vehicle.fasteners = sheet.wheel.fasteners;
    vehicle.axles = sheet
        .axles
        .iter()
        .map(|axle| AxleLayout {
            name: axle.name.clone(),
            brake: match axle.brake {
                BrakeKind::Disc { .. } => "disc",
                BrakeKind::Drum => "drum",
            }
            .to_owned(),
        })
        .collect();
}

/// The clockings a vehicle's discs can be fitted in, as events of its next job.
pub(super) fn clockings_known(vehicle: Option<&Vehicle>) -> Vec<Event> {
    let known = vehicle.into_iter().flat_map(|vehicle| &vehicle.clockings);
    known
        .filter_map(|(axle, possible)| {
            Some(Event::Clockings {
                axle: axle.parse().ok()?,
                possible: possible.clone(),
            })
        })
        .collect()
}

/// What was measured at a corner, visit after visit.
type Series = BTreeMap<(Corner, Item), BTreeMap<Distance, (Length, String, Option<NaiveDate>)>>;

/// The readings of the same parts in this workshop's earlier jobs of a vehicle, as events.
///
/// A part fitted in between begins a new series. Jobs that do not read are named and passed over.
pub(super) fn earlier(
    shop: &Workshop,
    library: &Library,
    opening: &Opening,
    world: &mut World<'_>,
) -> Result<Vec<Event>, Failure> {
    let mut jobs = Vec::new();
    for name in shop.jobs()? {
        if name == opening.job {
            continue;
        }
        match Journal::peek(&shop.journal_path(&name)?) {
            Ok(contents) => jobs.push((name, contents.fold())),
            Err(error) => writeln!(
                world.err,
                "note: job {name} does not read, its readings are not used: {error}"
            )?,
        }
    }
    jobs.retain(|(_, job)| {
        job.opening.as_ref().is_some_and(|before| {
            before.vin.eq_ignore_ascii_case(&opening.vin) && before.odometer < opening.odometer
        })
    });
    jobs.sort_by_key(|(_, job)| job.opening.as_ref().map(|before| before.odometer));
    let mut series = Series::new();
    let register = shop.register()?;
    for (name, job) in &jobs {
        if let Err(failure) = visit(&mut series, name, job, library, &register) {
            writeln!(
                world.err,
                "note: job {name} cannot be judged, its readings are not used: {}",
                failure.chain().join(": ")
            )?;
        }
    }
    Ok(series
        .into_iter()
        .flat_map(|((corner, item), visits)| {
            visits.into_iter().map(
                move |(odometer, (thickness, source, date))| Event::Earlier {
                    corner,
                    item,
                    odometer,
                    thickness,
                    source,
                    date,
                    // The visit was here, and what was fitted in it began a new series.
                    since: Since::Same,
                },
            )
        })
        .collect())
}

fn visit(
    series: &mut Series,
    name: &str,
    job: &Job,
    library: &Library,
    register: &crate::job::Register,
) -> Result<(), Failure> {
    let Some(opening) = &job.opening else {
        return Ok(());
    };
    let specs = library.snapshots(opening)?.read()?;
    let judgement = judge::judge(&specs.case(job, register));
    for (corner, item, odometer, thickness) in &job.earlier {
        series
            .entry((*corner, *item))
            .or_default()
            .entry(*odometer)
            .or_insert_with(|| {
                let day = job.earlier_days.get(&(*corner, *item, *odometer));
                (*thickness, format!("before job {name}"), day.copied())
            });
    }
    let wears = |item| {
        matches!(
            item,
            Item::PadsThickness | Item::LiningsThickness | Item::DiscThickness
        )
    };
    for finding in judgement.standing(Phase::AsLeft) {
        let Place::Corner(corner) = finding.place else {
            continue;
        };
        if !wears(finding.item) {
            continue;
        }
        let visits = series.entry((corner, finding.item)).or_default();
        let renewed = job
            .fitted_at(finding.place)
            .any(|fitted| fitted.part.voids(finding.item));
        if renewed {
            visits.clear();
        }
        if let Some(Figure::Length(thickness)) = finding.value {
            let day = job.opened.as_ref().map(|meta| meta.at.date_naive());
            visits.insert(opening.odometer, (thickness, format!("job {name}"), day));
        }
    }
    Ok(())
}
