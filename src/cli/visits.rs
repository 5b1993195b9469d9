//! Reads the jobs of one or more workshops in short: from their journals, or from an index that is
//! checked against them.

mod scan;

use std::collections::BTreeMap;
use std::time::SystemTime;

use chrono::{DateTime, FixedOffset};

use self::scan::{Reader, Stamped, first_line_names, scan, stamped};
use super::World;
use super::error::Failure;
use super::open::Library;
use crate::job::{Job, Register};
use crate::judge;
use crate::office::due::{self, DueRow, Standing, Visit, Within};
use crate::office::{self, Reopened, Summary};
use crate::record::canonical::sha256_hex;
use crate::shop::folder::Workshop;
use crate::shop::index::{Compared, DueEntry, Entry, Index, IndexError};
use crate::shop::journal::Journal;

/// The jobs of several workshops.
#[derive(Default)]
pub(crate) struct Loaded {
    pub(crate) visits: Vec<Visit>,
    pub(crate) registers: Vec<(String, Register)>,
    /// Jobs that could not be read: their answers are missing.
    pub(crate) problems: Vec<String>,
}

impl Loaded {
    /// Says which jobs are missing from an answer.
    pub(crate) fn report(&self, world: &mut World<'_>) -> Result<(), Failure> {
        for problem in &self.problems {
            writeln!(world.err, "not read: {problem}")?;
        }
        Ok(())
    }
}

/// Which jobs are wanted.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Wanted<'a> {
    /// All of them.
    All,
    /// Those whose opening names this VIN or registration.
    Vehicle(&'a str),
}

impl Wanted<'_> {
    const fn vehicle(&self) -> Option<&str> {
        match self {
            Self::All => None,
            Self::Vehicle(name) => Some(name),
        }
    }
}

/// Reads the wanted jobs of the workshops.
pub(crate) fn load(
    shops: &[Workshop],
    wanted: Wanted<'_>,
    world: &mut World<'_>,
) -> Result<Loaded, Failure> {
    let mut loaded = Loaded::default();
    for shop in shops {
        let register = shop.register()?;
        let name = unique_name(&loaded, shop);
        load_shop(shop, &name, wanted, &register, world, &mut loaded)?;
        loaded.registers.push((name, register));
    }
    Ok(loaded)
}

/// The workshop's name, with its folder where two have the same.
fn unique_name(loaded: &Loaded, shop: &Workshop) -> String {
    let name = shop.settings.name.clone();
    if loaded.registers.iter().any(|(known, _)| *known == name) {
        format!("{name} ({})", shop.folder.display())
    } else {
        name
    }
}

fn load_shop(
    shop: &Workshop,
    name: &str,
    wanted: Wanted<'_>,
    register: &Register,
    world: &mut World<'_>,
    loaded: &mut Loaded,
) -> Result<(), Failure> {
    let library = Library::of(shop)?;
    let mut index = open_index(shop, &library, world)?;
    let jobs = stamped(shop)?;
    let everything = || Compared {
        stale: (0..jobs.len()).collect(),
        ..Compared::default()
    };
    let compared = match &index {
        Some(index) => index
            .compare(&jobs, wanted.vehicle())
            .unwrap_or_else(|_| everything()),
        None => everything(),
    };
    let mut push = |summary| {
        loaded.visits.push(Visit {
            shop: name.to_owned(),
            summary,
        });
    };
    let mut stale: Vec<&Stamped> = compared.stale.iter().filter_map(|i| jobs.get(*i)).collect();
    for stamped in compared.fresh.iter().filter_map(|i| jobs.get(*i)) {
        match index
            .as_ref()
            .and_then(|index| kept(index, &stamped.0).ok())
        {
            Some(summary) => push(summary),
            None => stale.push(stamped),
        }
    }
    let read = scan(shop, &library, register, wanted, &stale);
    let now = SystemTime::now();
    let mut entries = Vec::new();
    for (result, stamped) in read.into_iter().zip(&stale) {
        match result {
            Ok(None) => {}
            Ok(Some(summary)) => {
                entries.extend(
                    index
                        .as_ref()
                        .and_then(|_| entry_of(stamped, &summary, now)),
                );
                push(summary);
            }
            Err(problem) => loaded.problems.push(format!("{}: {problem}", stamped.0)),
        }
    }
    if let Some(index) = &mut index {
        let kept = index
            .forget(compared.gone.iter().map(String::as_str))
            .and_then(|()| index.put(&entries));
        if let Err(error) = kept {
            without_index(&error, world)?;
        }
    }
    Ok(())
}

/// A summary as the index keeps it.
fn kept(index: &Index, job: &str) -> Result<Summary, IndexError> {
    index.read(&index.summary(job)?)
}

/// A job for the index; none while its journal was changed so recently that a further change may
/// not show.
fn entry_of((job, stamp): &Stamped, summary: &Summary, now: SystemTime) -> Option<Entry> {
    Some(Entry {
        job: job.clone(),
        vin: summary.vin.clone(),
        registration: summary.registration.clone(),
        stamp: stamp.filter(|stamp| stamp.settled(now))?,
        summary: serde_json::to_string(summary).ok()?,
    })
}

fn without_index(error: &IndexError, world: &mut World<'_>) -> Result<(), Failure> {
    writeln!(
        world.err,
        "note: {error}; the answer comes from the journals. `brakecorner index rebuild` makes a new one"
    )?;
    Ok(())
}

/// What is due over the workshops, within what was asked for, and the jobs that could not be read.
pub(crate) fn due(
    shops: &[Workshop],
    within: Option<Within>,
    now: DateTime<FixedOffset>,
    world: &mut World<'_>,
) -> Result<(Vec<DueRow>, Vec<String>), Failure> {
    let (mut rows, problems) = match indexed_due(shops, within, now, world)? {
        Some(answer) => answer,
        None => {
            let loaded = load(shops, Wanted::All, world)?;
            let rows = due::due(&loaded.visits, &loaded.registers, now);
            (rows, loaded.problems)
        }
    };
    if let Some(within) = within {
        rows.retain(|row| due::inside(row, within, now.date_naive()));
    }
    Ok((rows, problems))
}

/// The due list of one workshop from the rows its index keeps; `None` without an index that can be
/// used. Over several workshops a vehicle's visits may be spread, which no index of one knows.
fn indexed_due(
    shops: &[Workshop],
    within: Option<Within>,
    now: DateTime<FixedOffset>,
    world: &mut World<'_>,
) -> Result<Option<(Vec<DueRow>, Vec<String>)>, Failure> {
    let [shop] = shops else { return Ok(None) };
    let library = Library::of(shop)?;
    let Some(mut index) = open_index(shop, &library, world)? else {
        return Ok(None);
    };
    let register = shop.register()?;
    let jobs = stamped(shop)?;
    let (rows, problems) = match standing(
        shop,
        &library,
        &register,
        &mut index,
        &jobs,
        until(within, now),
    ) {
        Ok(answer) => answer,
        Err(error) => {
            without_index(&error, world)?;
            return Ok(None);
        }
    };
    let name = &shop.settings.name;
    let mut rows: Vec<DueRow> = rows.into_iter().map(|row| row.on(name, now)).collect();
    rows.extend(due::calibrations(name, &register, now.date_naive()));
    due::rank(&mut rows);
    Ok(Some((rows, problems)))
}

/// The last day whose rows are wanted; a day more, since a call's day is another in another zone.
fn until(within: Option<Within>, now: DateTime<FixedOffset>) -> Option<String> {
    match within {
        Some(Within::Days(days)) => {
            let last = office::retorque::later(now.date_naive(), u64::from(days) + 1);
            // Texts compare like days only while years have four digits.
            let text = last.to_string();
            (text.len() == 10).then_some(text)
        }
        _ => None,
    }
}

/// Brings the index up to date with the journals, and takes the rows that stand due from it.
fn standing(
    shop: &Workshop,
    library: &Library,
    register: &Register,
    index: &mut Index,
    jobs: &[Stamped],
    until: Option<String>,
) -> Result<(Vec<Standing>, Vec<String>), IndexError> {
    let compared = index.compare(jobs, None)?;
    let stale: Vec<&Stamped> = compared.stale.iter().filter_map(|i| jobs.get(*i)).collect();
    let changed = stale.iter().map(|(job, _)| job.as_str());
    index.forget(compared.gone.iter().map(String::as_str).chain(changed))?;
    let read = scan(shop, library, register, Wanted::All, &stale);
    let now = SystemTime::now();
    let (mut entries, mut problems) = (Vec::new(), Vec::new());
    // Jobs the index must not keep yet count this time all the same.
    let mut moving: BTreeMap<String, Vec<Summary>> = BTreeMap::new();
    for (result, stamped) in read.into_iter().zip(&stale) {
        match result {
            Ok(None) => {}
            Ok(Some(summary)) => match entry_of(stamped, &summary, now) {
                Some(entry) => entries.push(entry),
                None => moving.entry(summary.vin.clone()).or_default().push(summary),
            },
            Err(problem) => problems.push(format!("{}: {problem}", stamped.0)),
        }
    }
    index.put(&entries)?;
    index.unsettle(moving.keys().map(String::as_str))?;
    settle(index, &moving)?;
    let mut rows = Vec::new();
    for (vin, visits) in moving {
        let mut visits = visits;
        for job in index.jobs_of(&vin)? {
            visits.push(kept(index, &job)?);
        }
        rows.extend(of_vehicle(&mut visits));
    }
    for text in index.due(until.as_deref())? {
        rows.push(index.read(&text)?);
    }
    Ok((rows, problems))
}

/// Makes the due rows of every vehicle that has none yet, but for those still moving.
fn settle(index: &mut Index, moving: &BTreeMap<String, Vec<Summary>>) -> Result<(), IndexError> {
    let vehicles = index.unsettled()?;
    for some in vehicles.chunks(1_000) {
        let mut made = Vec::new();
        for (vin, jobs) in some.iter().filter(|(vin, _)| !moving.contains_key(vin)) {
            let mut visits = Vec::new();
            for job in jobs {
                visits.push(kept(index, job)?);
            }
            let rows = of_vehicle(&mut visits).into_iter().filter_map(|row| {
                Some(DueEntry {
                    date: row.date.map(|day| day.to_string()),
                    row: serde_json::to_string(&row).ok()?,
                })
            });
            made.push((vin.clone(), rows.collect()));
        }
        index.settle(&made)?;
    }
    Ok(())
}

fn of_vehicle(visits: &mut [Summary]) -> Vec<Standing> {
    visits.sort_by(|a, b| a.order().cmp(&b.order()));
    let visits: Vec<&Summary> = visits.iter().collect();
    due::standing(&visits)
        .into_iter()
        .map(|(_, row)| row)
        .collect()
}

/// Form of what an index keeps; another one makes it anew.
const SUMMARY_FORM: u32 = 3;

/// What summaries depend on besides their journals: program, rules, specifications, instruments.
fn basis(shop: &Workshop, library: &Library) -> Result<String, Failure> {
    let mut text = format!(
        "{} {} {SUMMARY_FORM}\n",
        env!("CARGO_PKG_VERSION"),
        judge::RULES_VERSION
    );
    text.push_str(&std::fs::read_to_string(shop.register_path()).unwrap_or_default());
    for part in library.texts() {
        text.push('\n');
        text.push_str(part);
    }
    Ok(sha256_hex(text.as_bytes()))
}

/// The workshop's index, if it has one that can be used.
fn open_index(
    shop: &Workshop,
    library: &Library,
    world: &mut World<'_>,
) -> Result<Option<Index>, Failure> {
    let path = Index::path(&shop.folder);
    if !path.is_file() {
        return Ok(None);
    }
    match Index::open(&path, &basis(shop, library)?) {
        Ok(index) => Ok(Some(index)),
        Err(error) => {
            without_index(&error, world)?;
            Ok(None)
        }
    }
}

/// Makes the index anew; returns how many jobs are in it and which could not be read.
pub(crate) fn rebuild(shop: &Workshop) -> Result<(usize, Vec<String>), Failure> {
    let path = Index::path(&shop.folder);
    Index::remove(&path)?;
    let library = Library::of(shop)?;
    let register = shop.register()?;
    let mut index = Index::open(&path, &basis(shop, &library)?)?;
    let jobs = stamped(shop)?;
    let all: Vec<&Stamped> = jobs.iter().collect();
    let (mut count, mut problems) = (0, Vec::new());
    for some in all.chunks(10_000) {
        let read = scan(shop, &library, &register, Wanted::All, some);
        let now = SystemTime::now();
        let mut entries = Vec::new();
        for (result, stamped) in read.into_iter().zip(some) {
            match result {
                Ok(Some(summary)) => entries.extend(entry_of(stamped, &summary, now)),
                Ok(None) => {}
                Err(problem) => problems.push(format!("{}: {problem}", stamped.0)),
            }
        }
        index.put(&entries)?;
        count += entries.len();
    }
    settle(&mut index, &BTreeMap::new())?;
    Ok((count, problems))
}

/// What the customer of a job left at earlier visits of the same vehicle, to be asked first.
pub(crate) fn reopened(shop: &Workshop, job: &Job) -> Result<Vec<Reopened>, Failure> {
    let (Some(opening), Some(opened)) = (&job.opening, &job.opened) else {
        return Ok(Vec::new());
    };
    let library = Library::of(shop)?;
    let register = shop.register()?;
    let mut reader = Reader::new(&library, &register);
    let mut earlier: Vec<Job> = Vec::new();
    for (name, _) in stamped(shop)? {
        let path = shop.journal_path(&name)?;
        if name == opening.job || !first_line_names(&path, &opening.vin) {
            continue;
        }
        // A job that does not read cannot be asked about; `verify` and `due` say so.
        let Ok(contents) = Journal::peek(&path) else {
            continue;
        };
        let other = contents.fold();
        let before = other
            .opened
            .as_ref()
            .is_some_and(|meta| meta.at < opened.at);
        let same = other.opening.as_ref().is_some_and(|o| o.vin == opening.vin);
        if before && same {
            earlier.push(other);
        }
    }
    earlier.sort_by_key(|job| job.opened.as_ref().map(|meta| meta.at));
    let mut keys = Vec::new();
    for job in &earlier {
        if let Some(opening) = &job.opening
            && let Ok(key) = reader.specs(opening)
        {
            keys.push((key, job));
        }
    }
    let cases: Vec<_> = keys
        .iter()
        .filter_map(|(key, job)| Some(reader.specs.get(key)?.case(job, &register)))
        .map(|case| {
            let judgement = judge::judge(&case);
            (case, judgement)
        })
        .collect();
    let pairs: Vec<_> = cases
        .iter()
        .map(|(case, judgement)| (case, judgement))
        .collect();
    Ok(office::reopened(&pairs))
}
