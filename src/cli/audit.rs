//! `audit`: verify every record of whole workshops, and what they say together.

mod job;
mod own;
mod spool;

use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::sync::{Arc, Mutex, PoisonError};

use self::job::{Depth, Found, Shop};
use self::own::Own;
use self::spool::Spool;
use super::error::{Exit, Failure, Hint as _};
use super::open::{style, workshop};
use super::progress::Progress;
use super::sign::authorities_path;
use super::verify::read_signers;
use super::{Globals, World};
use crate::record::audit::{Link, Problem, Rows};
use crate::record::specs_cache::SpecsCache;
use crate::shop::plain_file;

/// Most problems listed; more are counted.
const MOST_LISTED: usize = 10_000;

/// Verify every record of one or more workshops
///
/// Checks each record as `verify` does, the journal and the photos beside it, and what all records
/// say together: numbers of a key that are missing or given twice, records that were removed or
/// replaced. Exit code 0 when nothing is wrong, 1 when something is or a record is of a newer
/// version, 2 when there is nothing to audit.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  brakecorner audit north-yard south-yard --json")]
pub(super) struct Args {
    /// Workshop folders; otherwise the one the current folder lies in
    #[arg(value_name = "DIR")]
    folders: Vec<PathBuf>,
    /// Only signatures and signers: no journals, results, photos or rows of numbers
    #[arg(long)]
    signatures: bool,
    /// Threads; as many as there are cores, unless given
    #[arg(long, value_name = "N")]
    threads: Option<usize>,
}

/// What an audit comes to.
#[derive(Default, serde::Serialize)]
struct Report {
    valid: bool,
    jobs: u64,
    unsigned_jobs: u64,
    records: u64,
    records_valid: u64,
    records_newer: u64,
    problems: Vec<Problem>,
    problems_not_listed: u64,
}

impl Report {
    fn add(&mut self, problem: Problem) {
        if self.problems.len() < MOST_LISTED {
            self.problems.push(problem);
        } else {
            self.problems_not_listed += 1;
        }
    }
}

/// A workshop and where it lies.
struct Target {
    folder: PathBuf,
    shop: Shop,
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let targets = targets(args, globals, world)?;
    let depth = if args.signatures {
        Depth::Signatures
    } else {
        Depth::Full
    };
    let threads = args
        .threads
        .or_else(|| std::thread::available_parallelism().ok().map(Into::into))
        .unwrap_or(1)
        .clamp(1, 256);
    let own = Own::read(world, depth);
    let mut progress = Progress::new(globals, world, "jobs", || {
        let jobs = targets
            .iter()
            .filter_map(|target| jobs(&target.folder).ok());
        jobs.map(|jobs| jobs.count() as u64).sum()
    });
    let shown = |done| progress.show(world, done);
    let mut report = audit(&targets, depth, threads, own, shown)?;
    progress.clear(world);
    report.problems.sort();
    report.valid = report.problems.is_empty() && report.records_newer == 0 && report.records > 0;
    if report.records == 0 && report.problems.is_empty() {
        return Err(
            Failure::from(format!("there is no signed record in {} jobs", report.jobs))
                .hint("sign a job with `brakecorner sign JOB`"),
        );
    }
    if globals.json {
        writeln!(world.out, "{:#}", serde_json::to_value(&report)?)?;
    } else {
        show(globals, world, &report)?;
    }
    Ok(if report.valid {
        Exit::Good
    } else {
        Exit::NotGood
    })
}

fn targets(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Vec<Target>, Failure> {
    let mut folders: Vec<PathBuf> = Vec::new();
    for folder in &args.folders {
        let named = Globals {
            shop: vec![folder.clone()],
            ..globals.clone()
        };
        folders.push(workshop(&named, world)?.folder);
    }
    if folders.is_empty() {
        folders.push(workshop(globals, world)?.folder);
    }
    folders
        .into_iter()
        .map(|folder| {
            let shop = Shop {
                signers: read_signers(Some(&folder.join("signers")))?,
                authorities: plain_file::read_if_there(&authorities_path(&folder), 1 << 20)?,
            };
            Ok(Target { folder, shop })
        })
        .collect()
}

/// Job folders of a workshop, as the folder lists them; nothing is kept of those passed.
fn jobs(shop: &Path) -> std::io::Result<impl Iterator<Item = std::io::Result<PathBuf>>> {
    let entries = std::fs::read_dir(shop.join("jobs"))?;
    Ok(entries.filter_map(|entry| {
        let entry = match entry {
            Ok(entry) => entry,
            Err(error) => return Some(Err(error)),
        };
        match entry.file_type() {
            Ok(kind) if kind.is_dir() || kind.is_symlink() => Some(Ok(entry.path())),
            Ok(_) => None,
            Err(error) => Some(Err(error)),
        }
    }))
}

/// Audits every job on several threads; `shown` is told how many jobs are done.
fn audit(
    targets: &[Target],
    depth: Depth,
    threads: usize,
    mut own: Own,
    mut shown: impl FnMut(u64),
) -> Result<Report, Failure> {
    let cache = SpecsCache::default();
    let mut report = Report::default();
    let mut spool = Spool::default();
    let walked: std::io::Result<()> = std::thread::scope(|scope| {
        // Short queues: what waits are paths, and what comes back is soon taken in.
        let (tasks, queue) = sync_channel::<Batch>(threads * 4);
        let (results, answers) = sync_channel::<Vec<Found>>(threads * 4);
        // Shared by the workers alone: when the last has gone, the search for jobs ends too.
        let queue = Arc::new(Mutex::new(queue));
        let walker = scope.spawn(move || walk(targets, &tasks));
        for _ in 0..threads {
            let (results, queue, cache) = (results.clone(), Arc::clone(&queue), &cache);
            scope.spawn(move || work(targets, &queue, &results, cache, depth));
        }
        drop((results, queue));
        for found in answers.into_iter().flatten() {
            report.jobs += 1;
            report.unsigned_jobs += u64::from(found.records == 0);
            report.records += found.records;
            report.records_valid += found.valid;
            report.records_newer += found.newer;
            found
                .problems
                .into_iter()
                .for_each(|problem| report.add(problem));
            for link in &found.links {
                spool.add(link.to_line())?;
            }
            shown(report.jobs);
        }
        walker
            .join()
            .unwrap_or_else(|_| Err(std::io::Error::other("the search for jobs stopped")))
    });
    walked.hint("see that every workshop's folder `jobs` can be read, and that there is room for temporary files")?;
    let mut rows = Rows::default();
    spool.in_order(|line| {
        if let Some(link) = Link::from_line(line) {
            own.meet(&link);
            if let Some(problem) = rows.take(link) {
                report.add(problem);
            }
        }
    })?;
    let folders: Vec<&Path> = targets
        .iter()
        .map(|target| target.folder.as_path())
        .collect();
    own.missing(&folders)
        .into_iter()
        .for_each(|problem| report.add(problem));
    Ok(report)
}

/// Job folders handed on together, each with its workshop's place among the targets: waking a thread
/// for every single one costs more than looking at a small record.
type Batch = Vec<(usize, PathBuf)>;

/// How many make a batch; a workshop with fewer jobs than that is done before it matters.
const BATCH: usize = 8;

fn walk(targets: &[Target], tasks: &SyncSender<Batch>) -> std::io::Result<()> {
    let mut batch = Batch::new();
    for (index, target) in targets.iter().enumerate() {
        for job in jobs(&target.folder)? {
            batch.push((index, job?));
            // Nobody listens any more only if something else has failed already.
            if batch.len() == BATCH && tasks.send(std::mem::take(&mut batch)).is_err() {
                return Ok(());
            }
        }
    }
    let _ = tasks.send(batch);
    Ok(())
}

fn work(
    targets: &[Target],
    queue: &Mutex<Receiver<Batch>>,
    results: &SyncSender<Vec<Found>>,
    cache: &SpecsCache,
    depth: Depth,
) {
    // Asked of the system for every record, its memory would be mapped and given back each time.
    let mut buffer = Vec::new();
    loop {
        let task = queue.lock().unwrap_or_else(PoisonError::into_inner).recv();
        let Ok(batch) = task else { return };
        let found = batch.iter().filter_map(|(index, folder)| {
            let target = targets.get(*index)?;
            Some(job::audit(folder, &target.shop, cache, depth, &mut buffer))
        });
        if results.send(found.collect()).is_err() {
            return;
        }
    }
}

fn show(globals: &Globals, world: &mut World<'_>, report: &Report) -> Result<(), Failure> {
    let style = style(globals, world);
    for problem in &report.problems {
        writeln!(
            world.out,
            "BAD {}: {}: {}",
            style.text(&problem.place),
            problem.kind,
            style.text(&problem.detail)
        )?;
    }
    if report.problems_not_listed > 0 {
        writeln!(
            world.out,
            "and {} problems more",
            report.problems_not_listed
        )?;
    }
    writeln!(
        world.out,
        "{} records of {} jobs: {} valid, {} of a newer version, {} problems; {} jobs unsigned",
        report.records,
        report.jobs,
        report.records_valid,
        report.records_newer,
        report.problems.len() as u64 + report.problems_not_listed,
        report.unsigned_jobs
    )?;
    Ok(())
}
