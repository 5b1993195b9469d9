//! Reads jobs from their journals, judged, on every processor.

use std::collections::HashMap;
use std::io::{BufRead as _, BufReader};
use std::path::Path;

use super::Wanted;
use crate::cli::error::Failure;
use crate::cli::open::Library;
use crate::job::{Job, Opening, Register};
use crate::judge;
use crate::office::{self, Summary};
use crate::record::freeze::{Snapshots, Specs};
use crate::shop::folder::Workshop;
use crate::shop::index::{Stamp, bare};
use crate::shop::journal::Journal;
use crate::shop::records::LastRecord;

/// Every job with the stamp of its journal, in order.
pub(super) fn stamped(shop: &Workshop) -> Result<Vec<Stamped>, Failure> {
    let folder = shop.folder.join("jobs");
    let mut names: Vec<String> = std::fs::read_dir(&folder)?
        .filter_map(|entry| match entry {
            Ok(entry) => entry.file_name().into_string().ok().map(Ok),
            Err(error) => Some(Err(error)),
        })
        .collect::<Result<_, _>>()?;
    names.sort_unstable();
    let stamp = |job: String| {
        let metadata = std::fs::metadata(folder.join(&job).join("journal.jsonl")).ok()?;
        Some((job, Stamp::of(&metadata)))
    };
    Ok(in_parallel(names, 512, |part| {
        part.into_iter().filter_map(stamp).collect()
    }))
}

/// Splits work over as many threads as the machine has; the answers in the order asked.
fn in_parallel<T: Send, R: Send>(
    mut all: Vec<T>,
    at_least: usize,
    work: impl Fn(Vec<T>) -> Vec<R> + Sync,
) -> Vec<R> {
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let chunk = all.len().div_ceil(threads).max(at_least);
    let work = &work;
    std::thread::scope(|scope| {
        let mut parts = Vec::new();
        while all.len() > chunk {
            let rest = all.split_off(chunk);
            parts.push(std::mem::replace(&mut all, rest));
        }
        let others: Vec<_> = parts
            .into_iter()
            .map(|part| scope.spawn(move || work(part)))
            .collect();
        let last = work(all);
        let mut answers = Vec::new();
        for other in others {
            match other.join() {
                Ok(part) => answers.extend(part),
                // A thread that panicked is a fault of the program: it goes on as one.
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        answers.extend(last);
        answers
    })
}

/// A job with the stamp of its journal.
pub(super) type Stamped = (String, Option<Stamp>);

/// A job's summary; none when it is not of the vehicle that is wanted.
pub(super) type Scanned = Result<Option<Summary>, String>;

/// Reads and judges jobs; answers in the order asked.
pub(super) fn scan(
    shop: &Workshop,
    library: &Library,
    register: &Register,
    wanted: Wanted<'_>,
    jobs: &[&Stamped],
) -> Vec<Scanned> {
    in_parallel(jobs.to_vec(), 16, |part| {
        let mut reader = Reader::new(library, register);
        part.into_iter()
            .map(|(job, _)| reader.read(shop, job, wanted))
            .collect()
    })
}

/// Reads jobs, keeping the specifications it has read before.
pub(super) struct Reader<'a> {
    library: &'a Library,
    register: &'a Register,
    pub(super) specs: HashMap<String, Specs>,
}

impl<'a> Reader<'a> {
    pub(super) fn new(library: &'a Library, register: &'a Register) -> Self {
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
        let folder = path.parent().unwrap_or(Path::new("."));
        // A record that cannot be read is for `verify` to say; the journal speaks for itself.
        let last = LastRecord::of(folder).ok().flatten();
        self.summary(&folded, last.as_ref()).map(Some)
    }

    /// Sums a job up; a signed one by what it was signed with.
    fn summary(&mut self, job: &Job, last: Option<&LastRecord>) -> Result<Summary, String> {
        let opening = job.opening.as_ref().ok_or("never opened")?;
        let frozen = last.and_then(|last| last.frozen(job));
        let specs = match frozen {
            Some((_, snapshots)) => self.specs_signed(snapshots)?,
            None => self.specs(opening)?,
        };
        let register = frozen.map_or(self.register, |(register, _)| register);
        let specs = self.specs.get(&specs).ok_or("no specifications")?;
        let case = specs.case(job, register);
        let judgement = judge::judge(&case);
        office::summary(&case, &judgement).ok_or_else(|| "never opened".to_owned())
    }

    /// The key of the specifications a record holds, which are read if they were not yet.
    fn specs_signed(&mut self, snapshots: &Snapshots) -> Result<String, String> {
        let rules = snapshots.rules.iter().map(|rules| rules.sha256.as_str());
        let key = [&snapshots.sheet, &snapshots.policy, &snapshots.schedule]
            .map(|snapshot| snapshot.sha256.as_str())
            .into_iter()
            .chain(rules)
            .collect::<Vec<_>>()
            .join("\n");
        if !self.specs.contains_key(&key) {
            let specs = snapshots.read().map_err(|e| e.to_string())?;
            self.specs.insert(key.clone(), specs);
        }
        Ok(key)
    }

    /// The key of the specifications an opening names, which are read if they were not yet.
    pub(super) fn specs(&mut self, opening: &Opening) -> Result<String, String> {
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
    let same = |text: &str| !text.is_empty() && bare(text) == bare(name);
    same(vin) || same(registration)
}

/// Whether a journal's first line, its opening, may be about a vehicle; spares judging the others.
pub(super) fn first_line_names(path: &Path, name: &str) -> bool {
    let Ok(file) = std::fs::File::open(path) else {
        return true; // the full reader says what is wrong
    };
    let mut line = Vec::new();
    if BufReader::new(file).read_until(b'\n', &mut line).is_err() {
        return true;
    }
    bare(&String::from_utf8_lossy(&line)).contains(&bare(name))
}
