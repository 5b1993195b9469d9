//! Sends a workshop's records: each verified before, each with its derived rows in one transaction.
//!
//! What is there already is the server's to say, so nothing is kept in the workshop's folder: after
//! any death the same command goes on where it stopped. A record pushed twice is stored once.

use std::collections::{BTreeSet, HashMap};
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::time::{Duration, Instant};

use serde::Serialize;

use super::ArchiveError;
use super::connect::Archive;
use super::derive::{self, Derived};
use super::target::Target;
use crate::job::Job;
use crate::record::canonical::{hex, sha256_hex};
use crate::record::freeze::ReadRecord;
use crate::record::signers::Signers;
use crate::record::specs_cache::SpecsCache;
use crate::record::verify::{self, Before, Beside, Validity};

mod rows;

/// Records sent in one transaction.
const BATCH: usize = 200;

/// A record that may be sent.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Candidate {
    /// Its job, as the folder names it.
    pub job: String,
    /// Its revision, as the file names it.
    pub revision: u32,
}

/// What lies in the folder of a record.
#[derive(Debug, Default)]
pub struct Files {
    /// The record.
    pub record: Vec<u8>,
    /// Its signature.
    pub signature: Option<Vec<u8>>,
    /// A second person's signature.
    pub countersignature: Option<Vec<u8>>,
    /// A time-stamp.
    pub stamp: Option<Vec<u8>>,
    /// SHA-256 of the revision before, if it is there.
    pub before: Option<String>,
}

/// A workshop that pushes.
pub struct Workshop<'a> {
    /// Its name.
    pub name: &'a str,
    /// The text of its register of instruments.
    pub register: &'a str,
    /// Who may sign.
    pub signers: Option<&'a Signers>,
    /// Its records.
    pub candidates: &'a [Candidate],
    /// Reads what lies in the folder of one; an error is its words.
    pub read: &'a (dyn Fn(&Candidate) -> Result<Files, String> + Sync),
}

/// How to push.
#[derive(Clone, Copy, Debug)]
pub struct Options {
    /// Verify each record before it is sent. Never off but to measure what it costs.
    pub verify: bool,
    /// Threads that read and verify.
    pub threads: usize,
    /// How long a lost connection is tried again.
    pub patience: Duration,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            verify: true,
            threads: std::thread::available_parallelism().map_or(1, usize::from),
            patience: Duration::from_secs(30),
        }
    }
}

/// A record that was not sent.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Refused {
    /// Job.
    pub job: String,
    /// Revision.
    pub revision: u32,
    /// Why.
    pub why: String,
}

/// The archive holds another record as this revision.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Conflict {
    /// Job.
    pub job: String,
    /// Revision.
    pub revision: u32,
    /// What is in conflict: the record, or what came beside it.
    pub what: &'static str,
    /// SHA-256 in the folder.
    pub here: String,
    /// SHA-256 in the archive.
    pub there: String,
}

/// What a push did.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Pushed {
    /// The shop, as the archive knows it.
    pub shop: String,
    /// Records in the folder.
    pub records: usize,
    /// Sent now.
    pub sent: usize,
    /// There already.
    pub there: usize,
    /// Countersignatures and time-stamps sent now.
    pub seals_sent: usize,
    /// How often the connection had to be made again.
    pub retries: usize,
    /// Not sent, because they are not valid.
    pub refused: Vec<Refused>,
    /// Not sent, because the archive holds another under the same name.
    pub conflicts: Vec<Conflict>,
}

impl Pushed {
    /// Whether the archive now holds everything of the folder.
    #[must_use]
    pub fn complete(&self) -> bool {
        self.refused.is_empty() && self.conflicts.is_empty()
    }
}

/// A digest as it is stored.
pub(super) type Digest = Vec<u8>;

/// Something that lies beside a record.
pub(super) struct Seal {
    digest: Digest,
    kind: &'static str,
    body: Vec<u8>,
}

/// A record made ready.
pub(super) struct New {
    candidate: Candidate,
    digest: Digest,
    files: Files,
    derived: Derived,
}

/// What came of looking at a record.
enum Prepared {
    New(Box<New>, Vec<Seal>),
    There(Vec<Seal>),
    Refused(Refused),
    Conflict(Conflict),
}

/// What the archive holds of the shop.
struct Known {
    records: HashMap<(String, i32), Digest>,
    seals: HashMap<(Digest, String), Digest>,
}

/// Pushes a workshop's records; `shown` is told how many are dealt with.
///
/// # Errors
/// [`ArchiveError`]: what could be sent before stays sent.
pub fn push(
    target: &Target,
    workshop: &Workshop<'_>,
    options: &Options,
    mut shown: impl FnMut(usize),
) -> Result<Pushed, ArchiveError> {
    let mut pushed = Pushed {
        records: workshop.candidates.len(),
        ..Pushed::default()
    };
    let mut quiet = Instant::now();
    let mut wait = Duration::from_millis(100);
    loop {
        pushed.refused.clear();
        pushed.conflicts.clear();
        let before = pushed.sent;
        let error = match attempt(target, workshop, options, &mut pushed, &mut shown) {
            Ok(()) => {
                let not = pushed.refused.len()
                    + pushed.conflicts.iter().filter(|c| c.what == RECORD).count();
                pushed.there = pushed.records.saturating_sub(not + pushed.sent);
                return Ok(pushed);
            }
            Err(error) => error,
        };
        if pushed.sent > before {
            // It goes on between the losses: patience counts from the last success.
            (quiet, wait) = (Instant::now(), Duration::from_millis(100));
        }
        if !matches!(error, ArchiveError::Connect { .. }) {
            wait = Duration::from_millis(100); // the server was there a moment ago
        }
        if !error.passing() || quiet.elapsed() + wait > options.patience {
            return Err(error);
        }
        std::thread::sleep(wait);
        wait = (wait * 2).min(Duration::from_secs(3));
        pushed.retries += 1;
    }
}

const RECORD: &str = "record";

fn attempt(
    target: &Target,
    workshop: &Workshop<'_>,
    options: &Options,
    pushed: &mut Pushed,
    shown: &mut impl FnMut(usize),
) -> Result<(), ArchiveError> {
    let mut archive = Archive::open(target)?;
    let shop = archive.shop()?;
    pushed.shop.clone_from(&shop);
    let in_words = |archive: &Archive, error: &postgres::Error| match archive.words(error) {
        ArchiveError::WrongServer(_) => ArchiveError::WrongServer(shop.clone()),
        other => other,
    };
    let known = (|| {
        rows::profile(&mut archive.client, &shop, workshop)?;
        rows::known(&mut archive.client, &shop)
    })();
    let known = known.map_err(|error| in_words(&archive, &error))?;
    let mut sender = match rows::Sender::new(&mut archive.client, &shop) {
        Ok(sender) => sender,
        Err(error) => return Err(in_words(&archive, &error)),
    };
    let mut done = 0;
    std::thread::scope(|scope| {
        let (batches, ready) = sync_channel::<Vec<Prepared>>(2);
        let known = &known;
        scope.spawn(move || prepare_all(workshop, options, known, &batches));
        receive(&ready, &mut |batch| {
            let count = batch.len();
            send(&mut sender, &mut archive, batch, pushed).map_err(|error| match error {
                Trouble::Client(error) => in_words(&archive, &error),
                Trouble::Raced => ArchiveError::Raced,
            })?;
            done += count;
            shown(done);
            Ok(())
        })
    })
}

/// Hands on what is ready until something fails; the preparing thread then stops by itself.
fn receive(
    ready: &Receiver<Vec<Prepared>>,
    each: &mut dyn FnMut(Vec<Prepared>) -> Result<(), ArchiveError>,
) -> Result<(), ArchiveError> {
    for batch in ready {
        each(batch)?;
    }
    Ok(())
}

/// What stops a batch.
pub(super) enum Trouble {
    Client(postgres::Error),
    Raced,
}

impl From<postgres::Error> for Trouble {
    fn from(error: postgres::Error) -> Self {
        Self::Client(error)
    }
}

fn send(
    sender: &mut rows::Sender,
    archive: &mut Archive,
    batch: Vec<Prepared>,
    pushed: &mut Pushed,
) -> Result<(), Trouble> {
    let (mut new, mut seals) = (Vec::new(), Vec::new());
    for prepared in batch {
        match prepared {
            Prepared::New(one, beside) => {
                new.push(*one);
                seals.extend(beside);
            }
            Prepared::There(beside) => seals.extend(beside),
            Prepared::Refused(refused) => pushed.refused.push(refused),
            Prepared::Conflict(conflict) => pushed.conflicts.push(conflict),
        }
    }
    if new.is_empty() && seals.is_empty() {
        return Ok(());
    }
    match sender.send(&mut archive.client, &new, &seals) {
        Ok(sent) => {
            pushed.sent += sent.records;
            pushed.seals_sent += sent.seals;
            pushed.conflicts.extend(sent.conflicts);
            Ok(())
        }
        // One of them is at fault: find it, and send the others.
        Err(Trouble::Client(error)) if rows_fault(&error) && new.len() + seals.len() > 1 => {
            for one in new {
                let beside: Vec<Seal> = take_seals(&mut seals, &one.digest);
                let alone = Prepared::New(Box::new(one), beside);
                send(sender, archive, vec![alone], pushed)?;
            }
            if !seals.is_empty() {
                let sent = sender.send(&mut archive.client, &[], &seals)?;
                pushed.seals_sent += sent.seals;
            }
            Ok(())
        }
        Err(Trouble::Client(error)) if rows_fault(&error) => match new.first() {
            Some(one) => {
                pushed.refused.push(Refused {
                    job: one.candidate.job.clone(),
                    revision: one.candidate.revision,
                    why: archive.words(&error).to_string(),
                });
                Ok(())
            }
            None => Err(Trouble::Client(error)),
        },
        Err(trouble) => Err(trouble),
    }
}

fn take_seals(seals: &mut Vec<Seal>, digest: &Digest) -> Vec<Seal> {
    let (own, others) = std::mem::take(seals)
        .into_iter()
        .partition(|seal| seal.digest == *digest);
    *seals = others;
    own
}

/// Whether the server refused what a row holds (data exceptions, violated checks, limits), so that
/// other rows may well do.
fn rows_fault(error: &postgres::Error) -> bool {
    error.code().is_some_and(|code| {
        let class = code.code().get(..2).unwrap_or_default();
        matches!(class, "22" | "54") || code.code() == "23514"
    }) && !error
        .as_db_error()
        .is_some_and(|db| db.message().starts_with("no partition of relation"))
}

fn prepare_all(
    workshop: &Workshop<'_>,
    options: &Options,
    known: &Known,
    batches: &SyncSender<Vec<Prepared>>,
) {
    let cache = SpecsCache::default();
    let threads = options.threads.clamp(1, 64);
    for batch in workshop.candidates.chunks(BATCH) {
        let part = batch.len().div_ceil(threads).max(1);
        let look = |one: &Candidate| prepare(one, workshop, options.verify, known, &cache);
        let prepared: Vec<Prepared> = std::thread::scope(|scope| {
            let workers: Vec<_> = batch
                .chunks(part)
                .map(|part| {
                    (
                        part,
                        scope.spawn(move || part.iter().map(look).collect::<Vec<_>>()),
                    )
                })
                .collect();
            let lost = |part: &[Candidate]| {
                let why = "the check of it ended early";
                part.iter().map(|one| refused(one, why)).collect()
            };
            workers
                .into_iter()
                .flat_map(|(part, worker)| worker.join().unwrap_or_else(|_| lost(part)))
                .collect()
        });
        if batches.send(prepared).is_err() {
            return; // sending failed, and says why
        }
    }
}

fn refused(one: &Candidate, why: impl Into<String>) -> Prepared {
    Prepared::Refused(Refused {
        job: one.job.clone(),
        revision: one.revision,
        why: why.into(),
    })
}

fn prepare(
    one: &Candidate,
    workshop: &Workshop<'_>,
    verify: bool,
    known: &Known,
    cache: &SpecsCache,
) -> Prepared {
    let mut files = match (workshop.read)(one) {
        Ok(files) => files,
        Err(why) => return refused(one, why),
    };
    let sha256 = sha256_hex(&files.record);
    let (Some(digest), Ok(revision)) = (unhex(&sha256), i32::try_from(one.revision)) else {
        return refused(one, "its number is too large");
    };
    let conflict = |what, there: &Digest, here: &str| {
        Prepared::Conflict(Conflict {
            job: one.job.clone(),
            revision: one.revision,
            what,
            here: here.to_owned(),
            there: hex(there),
        })
    };
    let mut seals = Vec::new();
    let beside = [
        ("countersignature", files.countersignature.clone()),
        ("stamp", files.stamp.take()),
    ];
    for (kind, body) in beside {
        let Some(body) = body else { continue };
        let here = sha256_hex(&body);
        match known.seals.get(&(digest.clone(), kind.to_owned())) {
            Some(there) if hex(there) == here => {}
            Some(there) => return conflict(kind, there, &here),
            None => seals.push(Seal {
                digest: digest.clone(),
                kind,
                body,
            }),
        }
    }
    let there = known.records.get(&(one.job.clone(), revision));
    match there {
        Some(there) if *there != digest => return conflict(RECORD, there, &sha256),
        Some(_) if seals.is_empty() => return Prepared::There(seals),
        _ => {}
    }
    let (record, job) = match checked(&files, workshop.signers, verify, cache) {
        Ok(both) => both,
        Err(why) => return refused(one, why),
    };
    if there.is_some() {
        return Prepared::There(seals);
    }
    if record.job != one.job || record.revision != one.revision {
        let why = format!(
            "it lies as revision {} of {} and is revision {} of {}",
            one.revision,
            one.job,
            record.revision,
            record.job.escape_debug()
        );
        return refused(one, why);
    }
    let specs = match cache.read(&record.specifications) {
        Ok(specs) => specs,
        Err(problems) => return refused(one, problems.to_string()),
    };
    match derive::derive(&record, job, &specs, &sha256) {
        Some(derived) => Prepared::New(
            Box::new(New {
                candidate: one.clone(),
                digest,
                files,
                derived,
            }),
            seals,
        ),
        None => refused(one, "its job was never opened"),
    }
}

/// The record and its journal, if everything about it is good.
fn checked(
    files: &Files,
    signers: Option<&Signers>,
    verify: bool,
    cache: &SpecsCache,
) -> Result<(Box<ReadRecord>, Job), String> {
    if !verify {
        let record: Box<ReadRecord> =
            serde_json::from_slice(&files.record).map_err(|error| error.to_string())?;
        let job = record.journal().fold();
        return Ok((record, job));
    }
    let beside = Beside {
        signature: files.signature.as_deref(),
        countersignature: files.countersignature.as_deref(),
        signers,
        before: files.before.as_deref().map_or(Before::Missing, Before::Is),
        cache: Some(cache),
    };
    let examined = verify::examine(&files.record, &beside);
    match (
        examined.verification.validity(),
        examined.record,
        examined.journal,
    ) {
        (Validity::Valid, Some(record), Some((_, job))) => Ok((record, job)),
        (Validity::Newer, ..) => Err("it is of a newer version than this program".to_owned()),
        _ => Err(examined
            .verification
            .first_bad()
            .map_or("it could not be checked".to_owned(), |bad| {
                format!("{}: {}", bad.stage, bad.detail)
            })),
    }
}

/// The bytes of a digest in hexadecimal digits.
pub(super) fn unhex(text: &str) -> Option<Digest> {
    (0..text.len())
        .step_by(2)
        .map(|at| u8::from_str_radix(text.get(at..at + 2)?, 16).ok())
        .collect()
}

/// The vehicles of new records, each once, in order: two computers then meet in the same order.
fn vehicles<'a>(new: impl Iterator<Item = &'a New>) -> Vec<&'a str> {
    let vins: BTreeSet<&str> = new.map(|one| one.derived.visit.vin.as_str()).collect();
    vins.into_iter().collect()
}
