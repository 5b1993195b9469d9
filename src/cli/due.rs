//! `due`: what is due over one or more workshops, and the log of a re-torque.

use std::path::PathBuf;

use chrono::{DateTime, FixedOffset};
use comfy_table::{ContentArrangement, Table, presets};

use super::error::{Exit, Failure, Hint as _};
use super::open::{JobFile, person, style, workshops};
use super::visits;
use super::{Globals, World};
use crate::job::{Event, Job, RetorqueCheck, Turned};
use crate::office::due::{DueRow, Within};
use crate::office::history::LONGEST_KM_PER_DAY;
use crate::office::{self, Action, calendar, retorque};
use crate::units::{Distance, DistanceUnit};

/// List what is due: re-torques, wear, calibrations, lines that were left, calls
///
/// Ranked by the earliest it may matter: a date, or a distance at the vehicle's own pace. Exit code
/// 1 when something is overdue, 2 when a job could not be read.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  brakecorner due --within 30d\n  brakecorner due --done HWY-0411 --odometer 84171 --instrument HW-T1 --none-turned"
)]
pub(super) struct Args {
    /// Only what is due within days or a distance (30d, 1000km); overdue always
    #[arg(long, value_name = "30d|1000km")]
    within: Option<Within>,
    /// As comma-separated values
    #[arg(long, conflicts_with_all = ["json", "calendar"])]
    csv: bool,
    /// As a calendar (RFC 5545); to a file when one is named
    #[arg(long, value_name = "FILE", num_args = 0..=1, default_missing_value = "-", conflicts_with = "json")]
    calendar: Option<PathBuf>,
    /// Ask the shared archive instead of folders
    #[cfg(feature = "archive")]
    #[arg(long, value_name = "URL", conflicts_with = "done")]
    archive: Option<String>,
    /// Log the re-torque of a job; say how far each fastener turned
    #[arg(long, value_name = "JOB")]
    done: Option<String>,
    /// Odometer at the re-torque
    #[arg(long, value_name = "KM", requires = "done")]
    odometer: Option<String>,
    /// Torque wrench of the re-torque
    #[arg(long, value_name = "ID", requires = "done")]
    instrument: Option<String>,
    /// A wheel and how far each fastener turned, in their order: FL:0,0,12,0,0 (can be repeated)
    #[arg(long, value_name = "WHEEL:DEG,…", requires = "done")]
    turned: Vec<String>,
    /// Every fastener clicked without turning
    #[arg(long, requires = "done", conflicts_with = "turned")]
    none_turned: bool,
    /// The odometer is right, however far it is from the job's
    #[arg(long, requires = "done")]
    confirm: bool,
    /// What made a fastener turn: paint, rust, wrong seat …
    #[arg(long, value_name = "WORDS", requires = "done", default_value = "")]
    cause: String,
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    if let Some(job) = &args.done {
        return done(args, job, globals, world);
    }
    #[cfg(feature = "archive")]
    if let Some(url) = &args.archive {
        let now = world.clock.now();
        let rows = super::archive::question::due(url, args.within, now, world)?;
        let several = rows
            .iter()
            .any(|row| Some(&row.shop) != rows.first().map(|row| &row.shop));
        return answer(args, (&rows, &[], now), several, globals, world);
    }
    let shops = workshops(globals, world)?;
    let now = world.clock.now();
    let (rows, not_read) = visits::due(&shops, args.within, now, world)?;
    for problem in &not_read {
        writeln!(world.err, "not read: {problem}")?;
    }
    answer(
        args,
        (&rows, &not_read, now),
        shops.len() > 1,
        globals,
        world,
    )
}

fn answer(
    args: &Args,
    (rows, not_read, now): (&[DueRow], &[String], DateTime<FixedOffset>),
    several: bool,
    globals: &Globals,
    world: &mut World<'_>,
) -> Result<Exit, Failure> {
    let today = now.date_naive();
    let overdue = rows.iter().any(|row| row.overdue);
    if globals.json {
        let value = serde_json::json!({
            "today": today, "overdue": overdue, "due": rows, "not_read": not_read
        });
        writeln!(world.out, "{value:#}")?;
    } else if args.csv {
        csv(rows, world)?;
    } else if let Some(path) = &args.calendar {
        let text = calendar::calendar(rows, now);
        if path.as_os_str() == "-" {
            world.out.write_all(text.as_bytes())?;
        } else {
            let path = world.folder.join(path);
            crate::shop::atomic::replace(&path, text.as_bytes())?;
            writeln!(world.err, "wrote {}", path.display())?;
        }
    } else {
        let style = style(globals, world);
        let text = style.sheet(&render(rows, several));
        world.out.write_all(text.as_bytes())?;
    }
    Ok(match (not_read.is_empty(), overdue) {
        (false, _) => Exit::NoAnswer,
        (true, true) => Exit::NotGood,
        (true, false) => Exit::Good,
    })
}

fn render(rows: &[DueRow], several: bool) -> String {
    if rows.is_empty() {
        return "nothing is due\n".to_owned();
    }
    let mut table = Table::new();
    table
        .load_style(presets::NOTHING)
        .set_content_arrangement(ContentArrangement::Disabled);
    for row in rows {
        let date = row
            .date
            .map_or_else(|| "no day".to_owned(), |d| d.to_string());
        let km = row.km.map_or_else(String::new, |km| format!("{km} km"));
        let mut cells = vec![
            if row.overdue { "OVERDUE" } else { "" }.to_owned(),
            date,
            km,
            row.kind.words().to_owned(),
            row.subject.clone(),
            row.vehicle.clone(),
            row.what.clone(),
        ];
        if several {
            cells.insert(4, row.shop.clone());
        }
        table.add_row(cells);
    }
    let text: String = table
        .to_string()
        .lines()
        .map(|line| format!("{}\n", line.trim_end()))
        .collect();
    text
}

fn csv(rows: &[DueRow], world: &mut World<'_>) -> Result<(), Failure> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record([
        "overdue", "date", "km", "km_left", "kind", "shop", "subject", "vehicle", "what", "basis",
    ])?;
    for row in rows {
        let number = |n: Option<i64>| n.map(|n| n.to_string()).unwrap_or_default();
        writer.write_record([
            if row.overdue { "yes" } else { "no" },
            &row.date.map(|d| d.to_string()).unwrap_or_default(),
            &number(row.km),
            &number(row.km_left),
            row.kind.words(),
            &row.shop,
            &row.subject,
            &row.vehicle,
            &row.what,
            &row.basis,
        ])?;
    }
    let bytes = writer
        .into_inner()
        .map_err(|error| Failure::from(error.to_string()))?;
    world.out.write_all(&bytes)?;
    Ok(())
}

/// Finds the one workshop that has a job; two with the same number are named.
fn one_shop(job: &str, globals: &Globals, world: &World<'_>) -> Result<Globals, Failure> {
    let shops = workshops(globals, world)?;
    let having: Vec<_> = shops
        .iter()
        .filter(|shop| shop.journal_path(job).is_ok_and(|path| path.is_file()))
        .collect();
    match having.as_slice() {
        [one] => Ok(Globals {
            shop: vec![one.folder.clone()],
            ..globals.clone()
        }),
        [] => Ok(Globals {
            shop: shops
                .first()
                .map(|s| s.folder.clone())
                .into_iter()
                .collect(),
            ..globals.clone()
        }),
        several => {
            let names: Vec<String> = several
                .iter()
                .map(|s| format!("{} ({})", s.settings.name, s.folder.display()))
                .collect();
            Err(Failure::from(format!(
                "job `{job}` is in several workshops: {}; nothing was logged",
                names.join(", ")
            ))
            .hint("name the one that is meant with `--shop DIR`"))
        }
    }
}

fn done(args: &Args, job: &str, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let globals = &one_shop(job, globals, world)?;
    let by = person(globals, world)?;
    let (mut file, mut journal) = JobFile::write(globals, world, job)?;
    let case = file.case();
    let judgement = crate::judge::judge(&case);
    office::possible(&case, &judgement, Action::Retorque)
        .map_err(|missing| Failure::from(format!("not logged: {}", missing.join("; "))))?;
    let check = check(args, &file, world)?;
    let assessment = retorque::assess(&file.case(), &check);
    if !assessment.not_checked.is_empty() {
        let list: Vec<String> = assessment
            .not_checked
            .iter()
            .map(|(corner, n)| format!("{corner} {n}"))
            .collect();
        return Err(Failure::from(format!(
            "not logged: fasteners not checked: {}",
            list.join(", ")
        ))
        .hint("give every wheel with --turned WHEEL:DEG,… or --none-turned"));
    }
    file.append(
        &mut journal,
        world,
        &by,
        &[Event::RetorqueChecked(Box::new(check))],
    )?;
    if globals.json {
        let value = serde_json::json!({"job": job, "logged": true, "assessment": assessment});
        writeln!(world.out, "{value:#}")?;
    } else {
        writeln!(world.out, "re-torque of {job} logged")?;
        for turned in &assessment.too_far {
            writeln!(
                world.out,
                "  {} fastener {} turned {} degrees, more than {} allowed: take the wheel off, look for paint, rust, dirt or a wrong seat, and torque it anew",
                turned.corner, turned.fastener, turned.degrees, assessment.allowed_deg
            )?;
        }
    }
    Ok(if assessment.good() {
        Exit::Good
    } else {
        Exit::NotGood
    })
}

/// The check as given; odometer and wrench must fit.
fn check(args: &Args, file: &JobFile, world: &World<'_>) -> Result<RetorqueCheck, Failure> {
    let case = file.case();
    let opening = file.job.opening.as_ref();
    let before = opening.map_or(Distance::ZERO, |o| o.odometer);
    let unit = opening.map_or(DistanceUnit::Kilometre, |o| o.odometer_unit);
    let text = args
        .odometer
        .as_deref()
        .ok_or_else(|| Failure::from("the odometer is missing").hint("add --odometer 84171"))?;
    let odometer = Distance::parse(text, unit).hint("an odometer looks like 84171")?;
    if odometer < before {
        return Err(Failure::from(format!(
            "the odometer {} is below {} of the job; nothing was logged",
            odometer.to_whole_km(),
            before.to_whole_km()
        ))
        .hint("is it in miles? write 52300 mi"));
    }
    plausible(args.confirm, file, odometer, world)?;
    let id = args.instrument.as_deref().ok_or_else(|| {
        Failure::from("the torque wrench is missing").hint("add --instrument HW-T1")
    })?;
    wrench_fits(file, id, world)?;
    let fasteners = case.sheet.wheel.fasteners;
    let axles = u8::try_from(case.sheet.axles.len()).unwrap_or(2);
    let mut turned: Vec<Turned> = Vec::new();
    if args.none_turned {
        for corner in Job::corners_of(axles) {
            turned.extend((1..=fasteners).map(|fastener| Turned {
                corner,
                fastener,
                degrees: 0,
            }));
        }
    }
    for text in &args.turned {
        let wheel = retorque::read_turned(text, fasteners).map_err(Failure::from)?;
        if let Some(twice) = wheel
            .iter()
            .find(|t| turned.iter().any(|known| known.corner == t.corner))
        {
            return Err(Failure::from(format!(
                "the wheel {} is given twice",
                twice.corner
            )));
        }
        turned.extend(wheel);
    }
    Ok(RetorqueCheck {
        odometer,
        instrument: id.to_owned(),
        turned,
        cause: args.cause.clone(),
    })
}

/// Asks about an odometer no vehicle reaches in the days since its job: a wrong digit, or miles taken
/// for kilometres.
fn plausible(
    confirmed: bool,
    file: &JobFile,
    odometer: Distance,
    world: &World<'_>,
) -> Result<(), Failure> {
    let (Some(opening), Some(opened)) = (&file.job.opening, &file.job.opened) else {
        return Ok(());
    };
    let since = opened.at.date_naive();
    let days = (world.clock.today() - since).num_days().max(0);
    let driven = (odometer - opening.odometer).km();
    #[allow(clippy::cast_precision_loss)]
    let possible = (days + 1) as f64 * LONGEST_KM_PER_DAY;
    if confirmed || driven <= possible {
        return Ok(());
    }
    Err(Failure::from(format!(
        "from {} to {} since {since} is further than a vehicle drives; nothing was logged",
        opening.odometer.to_whole_km(),
        odometer.to_whole_km()
    ))
    .hint("is it right, and in kilometres? correct it, or add --confirm"))
}

/// A torque checked with a wrench out of range or calibration is no torque.
fn wrench_fits(file: &JobFile, id: &str, world: &World<'_>) -> Result<(), Failure> {
    let Some(instrument) = file.register.get(id) else {
        let all: Vec<&str> = file
            .register
            .of_kind(crate::job::InstrumentKind::TorqueWrench)
            .map(|i| i.id.as_str())
            .collect();
        return Err(Failure::from(format!("`{id}` is not in the register"))
            .hint(format!("torque wrenches: {}", all.join(", "))));
    };
    let torque = file.specs.sheet.wheel.torque.as_ref().map(|t| t.value);
    if let Some(torque) = torque
        && !instrument.covers_torque(torque)
    {
        return Err(Failure::from(format!(
            "{torque} is outside the range of {id}, {} {}; nothing was logged",
            instrument.range,
            instrument.torque_unit()
        )));
    }
    let today = world.clock.today();
    if instrument.calibrated_on(today) {
        return Ok(());
    }
    let until = instrument
        .calibrated_until
        .map_or_else(|| "is not on file".to_owned(), |d| format!("ended on {d}"));
    Err(Failure::from(format!(
        "the calibration of {id} {until}; nothing was logged"
    ))
    .hint("check it again with another wrench"))
}
