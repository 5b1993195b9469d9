//! Reads the jobs of one or more workshops in short: from their journals, or from an index that is
//! checked against them.

use std::collections::HashMap;
use std::io::{BufRead as _, BufReader};
use std::path::Path;
use std::time::SystemTime;

use super::World;
use super::error::Failure;
use super::open::Library;
use crate::job::{Job, Opening, Register};
use crate::judge;
use crate::office::due::Visit;
use crate::office::{self, Reopened, Summary};
use crate::record::canonical::sha256_hex;
use crate::record::freeze::Specs;
use crate::shop::folder::Workshop;
use crate::shop::index::{Entry, Index, Known, Stamp};
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
    let known = index.as_ref().and_then(|index| index.known().ok());
    let known = known.unwrap_or_default();
    // For one vehicle only its own summaries are fetched; for all, all at once.
    let all = match (&index, wanted) {
        (Some(index), Wanted::All) => index.summaries().unwrap_or_default(),
        _ => HashMap::new(),
    };
    let fetch = |job: &str| {
        let text = match (all.get(job), &index) {
            (Some(text), _) => Some(std::borrow::Cow::Borrowed(text)),
            (None, Some(index)) => index.summary(job).ok().map(std::borrow::Cow::Owned),
            (None, None) => None,
        };
        text.and_then(|text| serde_json::from_str::<Summary>(&text).ok())
    };
    let mut to_read: Vec<(String, Option<Stamp>)> = Vec::new();
    let fits = |known: &Known| match wanted {
        Wanted::All => true,
        Wanted::Vehicle(name) => is_vehicle(&known.vin, &known.registration, name),
    };
    for (job, stamp) in stamped(shop)? {
        let fresh = known.get(&job).filter(|known| Some(known.stamp) == stamp);
        match fresh.map(|known| fits(known).then(|| fetch(&job))) {
            Some(None) => {}
            Some(Some(Some(summary))) => loaded.visits.push(Visit {
                shop: name.to_owned(),
                summary,
            }),
            Some(Some(None)) | None => to_read.push((job, stamp)),
        }
    }
    let read = scan(shop, &library, register, wanted, &to_read);
    let now = SystemTime::now();
    let mut fresh = Vec::new();
    for (result, (job, stamp)) in read.into_iter().zip(&to_read) {
        match result {
            Ok(None) => {}
            Ok(Some(summary)) => {
                if let (Some(_), Some(stamp)) = (&index, stamp)
                    && stamp.settled(now)
                {
                    fresh.extend(entry_of(job, *stamp, &summary));
                }
                loaded.visits.push(Visit {
                    shop: name.to_owned(),
                    summary,
                });
            }
            Err(problem) => loaded.problems.push(format!("{job}: {problem}")),
        }
    }
    if let Some(index) = &mut index
        && let Err(error) = index.put(&fresh)
    {
        writeln!(
            world.err,
            "note: {error}; the answer comes from the journals"
        )?;
    }
    Ok(())
}

fn entry_of(job: &str, stamp: Stamp, summary: &Summary) -> Option<Entry> {
    Some(Entry {
        job: job.to_owned(),
        known: Known {
            vin: summary.vin.clone(),
            registration: summary.registration.clone(),
            stamp,
        },
        summary: serde_json::to_string(summary).ok()?,
    })
}

/// Form of the summaries an index keeps; another one makes it anew.
const SUMMARY_FORM: u32 = 2;

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
            writeln!(
                world.err,
                "note: {error}; the answer comes from the journals. `brakecorner index rebuild` makes a new one"
            )?;
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
    let read = scan(shop, &library, &register, Wanted::All, &jobs);
    let (mut entries, mut problems) = (Vec::new(), Vec::new());
    let now = SystemTime::now();
    for (result, (job, stamp)) in read.into_iter().zip(&jobs) {
        match (result, stamp) {
            (Ok(Some(summary)), Some(stamp)) if stamp.settled(now) => {
                entries.extend(entry_of(job, *stamp, &summary));
            }
            (Ok(_), _) => {}
            (Err(problem), _) => problems.push(format!("{job}: {problem}")),
        }
    }
    index.put(&entries)?;
    Ok((entries.len(), problems))
}

/// Every job with the stamp of its journal, in order.
fn stamped(shop: &Workshop) -> Result<Vec<(String, Option<Stamp>)>, Failure> {
    let folder = shop.folder.join("jobs");
    let mut jobs = Vec::new();
    for entry in std::fs::read_dir(&folder)? {
        let entry = entry?;
        let Ok(job) = entry.file_name().into_string() else {
            continue;
        };
        let path = entry.path().join("journal.jsonl");
        if let Ok(metadata) = std::fs::metadata(&path) {
            jobs.push((job, Stamp::of(&metadata)));
        }
    }
    jobs.sort_by(|a, b| a.0.cmp(&b.0));
    Ok(jobs)
}

type Scanned = Result<Option<Summary>, String>;

/// Reads and judges jobs, on as many threads as the machine has; answers in the order asked.
fn scan(
    shop: &Workshop,
    library: &Library,
    register: &Register,
    wanted: Wanted<'_>,
    jobs: &[(String, Option<Stamp>)],
) -> Vec<Scanned> {
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let chunk = jobs.len().div_ceil(threads).max(16);
    std::thread::scope(|scope| {
        let workers: Vec<_> = jobs
            .chunks(chunk)
            .map(|part| {
                let work = move || {
                    let mut reader = Reader::new(library, register);
                    let read = |(job, _): &(String, Option<Stamp>)| reader.read(shop, job, wanted);
                    part.iter().map(read).collect::<Vec<_>>()
                };
                (part.len(), scope.spawn(work))
            })
            .collect();
        let lost = |length: usize| {
            (0..length)
                .map(|_| Err("the reader ended early".to_owned()))
                .collect::<Vec<Scanned>>()
        };
        workers
            .into_iter()
            .flat_map(|(length, worker)| worker.join().unwrap_or_else(|_| lost(length)))
            .collect()
    })
}

/// Reads jobs, keeping the specifications it has read before.
struct Reader<'a> {
    library: &'a Library,
    register: &'a Register,
    specs: HashMap<String, Specs>,
}

impl<'a> Reader<'a> {
    fn new(library: &'a Library, register: &'a Register) -> Self {
        Self {
            library,
            register,
            specs: HashMap::new(),
        }
    }

    fn read(&mut self, shop: &Workshop, job: &str, wanted: Wanted<'_>) -> Scanned {
        let path = shop.journal_path(job).map_err(|e| e.to_string())?;
        if let Wanted::Vehicle(name) = wanted
            && !first_line_names(&path, name)
        {
            return Ok(None);
        }
        let contents = Journal::peek(&path).map_err(chain)?;
        let folded = contents.fold();
        let Some(opening) = &folded.opening else {
            return Err("never opened".to_owned());
        };
        if let Wanted::Vehicle(name) = wanted
            && !is_vehicle(&opening.vin, &opening.registration, name)
        {
            return Ok(None);
        }
        self.summary(&folded).map(Some)
    }

    fn summary(&mut self, job: &Job) -> Result<Summary, String> {
        let opening = job.opening.as_ref().ok_or("never opened")?;
        let specs = self.specs(opening)?;
        let register = self.register;
        let specs = self.specs.get(&specs).ok_or("no specifications")?;
        let case = specs.case(job, register);
        let judgement = judge::judge(&case);
        office::summary(&case, &judgement).ok_or_else(|| "never opened".to_owned())
    }

    /// The key of the specifications an opening names, which are read if they were not yet.
    fn specs(&mut self, opening: &Opening) -> Result<String, String> {
        let key = format!(
            "{}\n{}\n{}\n{}",
            opening.sheet,
            opening.policy,
            opening.schedule,
            opening.rules.join(",")
        );
        if !self.specs.contains_key(&key) {
            let snapshots = self
                .library
                .snapshots(opening)
                .map_err(|failure| failure.chain().join(": "))?;
            let specs = snapshots.read().map_err(|e| e.to_string())?;
            self.specs.insert(key.clone(), specs);
        }
        Ok(key)
    }
}

fn chain(error: impl std::error::Error + Send + Sync + 'static) -> String {
    Failure::from(error).chain().join(": ")
}

fn is_vehicle(vin: &str, registration: &str, name: &str) -> bool {
    let same = |text: &str| {
        let bare = |t: &str| t.replace([' ', '-'], "").to_uppercase();
        !text.is_empty() && bare(text) == bare(name)
    };
    same(vin) || same(registration)
}

/// Whether a journal's first line, its opening, may be about a vehicle; spares judging the others.
fn first_line_names(path: &Path, name: &str) -> bool {
    let Ok(file) = std::fs::File::open(path) else {
        return true; // the full reader says what is wrong
    };
    let mut line = Vec::new();
    if BufReader::new(file).read_until(b'\n', &mut line).is_err() {
        return true;
    }
    let bare = |t: &str| t.replace([' ', '-'], "").to_uppercase();
    bare(&String::from_utf8_lossy(&line)).contains(&bare(name))
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
