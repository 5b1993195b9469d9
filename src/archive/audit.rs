//! Verifies every stored record and derives its rows anew, by any number of workers on any number
//! of machines: an audit is divided into ranges of jobs, and whoever is free takes the next. A
//! worker that dies leaves its range to the others.

use std::collections::{BTreeMap, HashMap};

use postgres::Transaction;
use serde::{Deserialize, Serialize};

use super::ArchiveError;
use super::connect::Archive;
use super::derive::{self, DERIVED_BY, Derived, ResultRow, VerdictRow, VisitRow};
use crate::record::audit::{Link, Problem, ProblemKind, Rows};
use crate::record::canonical::{hex, sha256_hex};
use crate::record::signers::Signers;
use crate::record::specs_cache::SpecsCache;
use crate::record::verify::{self, Before, Beside, Outcome, Validity};

/// Jobs in a range.
const RANGE: i64 = 100;

/// Who may sign, by shop.
#[derive(Debug, Default)]
pub struct Trust {
    /// For every shop without its own.
    pub all: Option<Signers>,
    /// For single shops.
    pub of: BTreeMap<String, Signers>,
}

impl Trust {
    fn of(&self, shop: &str) -> Option<&Signers> {
        self.of.get(shop).or(self.all.as_ref())
    }
}

/// Something an audit found, as it is stored.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Found {
    /// Where: shop, job, revision.
    pub place: String,
    /// What kind of thing is wrong: as in `brakecorner audit`, or `stored` or `derived`.
    pub kind: String,
    /// What was found, in words.
    pub detail: String,
}

impl Found {
    fn new(place: &str, kind: impl ToString, detail: impl Into<String>) -> Self {
        Self {
            place: place.to_owned(),
            kind: kind.to_string(),
            detail: detail.into(),
        }
    }

    fn of(problem: Problem) -> Self {
        Self {
            kind: problem.kind.to_string(),
            place: problem.place,
            detail: problem.detail,
        }
    }
}

/// An audit under way.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Run {
    /// Its id.
    pub id: String,
    /// Ranges in all.
    pub ranges: i64,
    /// Ranges done before.
    pub done: i64,
}

/// Goes on with the audit that is under way, or begins one.
///
/// # Errors
/// [`ArchiveError`] of the server.
pub fn begin(archive: &mut Archive, anew: bool) -> Result<Run, ArchiveError> {
    if !anew && let Some(run) = under_way(archive)? {
        return Ok(run);
    }
    let made = make(archive);
    let id = made.map_err(|error| archive.words(&error))?;
    state(archive, &id)
}

fn under_way(archive: &mut Archive) -> Result<Option<Run>, ArchiveError> {
    let rows = archive.ask(
        "SELECT r.run_id::text FROM brakecorner.audit_run r WHERE r.ranges >
            (SELECT count(*) FROM brakecorner.audit_result d WHERE d.run_id = r.run_id)
         ORDER BY r.started_at DESC LIMIT 1",
        &[],
    )?;
    match rows.first() {
        Some(row) => state(archive, row.get(0)).map(Some),
        None => Ok(None),
    }
}

/// How far an audit is.
///
/// # Errors
/// [`ArchiveError`] of the server.
pub fn state(archive: &mut Archive, id: &str) -> Result<Run, ArchiveError> {
    let rows = archive.ask(
        "SELECT r.ranges::bigint, (SELECT count(*) FROM brakecorner.audit_result d WHERE d.run_id = r.run_id)
         FROM brakecorner.audit_run r WHERE r.run_id = $1::text::uuid",
        &[&id],
    )?;
    let row = rows
        .first()
        .ok_or_else(|| ArchiveError::Server(format!("there is no audit {id}")))?;
    Ok(Run {
        id: id.to_owned(),
        ranges: row.get(0),
        done: row.get(1),
    })
}

/// Divides what is there into ranges: all revisions of a job lie in one.
fn make(archive: &mut Archive) -> Result<String, postgres::Error> {
    let mut work = archive.client.transaction()?;
    let ranges = work.query(
        "SELECT shop_id, min(job_id COLLATE \"C\"), max(job_id COLLATE \"C\"), sum(records)::bigint FROM (
            SELECT shop_id, job_id, count(*) AS records,
                (row_number() OVER (PARTITION BY shop_id ORDER BY job_id COLLATE \"C\") - 1) / $1 AS part
            FROM brakecorner.record GROUP BY shop_id, job_id) AS jobs
         GROUP BY shop_id, part ORDER BY shop_id, part",
        &[&RANGE],
    )?;
    let count = i32::try_from(ranges.len()).unwrap_or(i32::MAX);
    let id: String = work
        .query_one("SELECT gen_random_uuid()::text", &[])?
        .get(0);
    work.execute(
        "INSERT INTO brakecorner.audit_run (run_id, ranges) VALUES ($1::text::uuid, $2)",
        &[&id, &count],
    )?;
    let numbers: Vec<i32> = (0..count).collect();
    let column = |at: usize| {
        ranges
            .iter()
            .map(|row| row.get(at))
            .collect::<Vec<String>>()
    };
    let records: Vec<i64> = ranges.iter().map(|row| row.get(3)).collect();
    work.execute(
        "INSERT INTO brakecorner.audit_range (run_id, n, shop_id, first_job, last_job, records)
         SELECT $1::text::uuid, * FROM unnest($2::int[], $3::text[], $4::text[], $5::text[], $6::bigint[])",
        &[&id, &numbers, &column(0), &column(1), &column(2), &records],
    )?;
    work.commit()?;
    Ok(id)
}

/// Works on an audit until no range is free; `shown` is told each range's records and says whether
/// to go on.
///
/// # Errors
/// [`ArchiveError`] of the server; ranges done before stay done.
pub fn work(
    archive: &mut Archive,
    run: &str,
    worker: &str,
    trust: &Trust,
    cache: &SpecsCache,
    mut shown: impl FnMut(u64) -> bool,
) -> Result<(), ArchiveError> {
    loop {
        let done = one_range(archive, run, worker, trust, cache);
        match done {
            Ok(Some(records)) => {
                if !shown(records) {
                    return Ok(());
                }
            }
            Ok(None) => return Ok(()),
            Err(error) => return Err(archive.words(&error)),
        }
    }
}

/// Takes one range; the lock on it lasts as long as the work, and goes with the worker.
fn one_range(
    archive: &mut Archive,
    run: &str,
    worker: &str,
    trust: &Trust,
    cache: &SpecsCache,
) -> Result<Option<u64>, postgres::Error> {
    let mut work = archive.client.transaction()?;
    let taken = work.query_opt(
        "SELECT r.n, r.shop_id, r.first_job, r.last_job FROM brakecorner.audit_range r
         WHERE r.run_id = $1::text::uuid AND NOT EXISTS
            (SELECT FROM brakecorner.audit_result d WHERE d.run_id = r.run_id AND d.n = r.n)
         ORDER BY r.n LIMIT 1 FOR UPDATE OF r SKIP LOCKED",
        &[&run],
    )?;
    let Some(taken) = taken else {
        return Ok(None);
    };
    let (n, shop): (i32, String) = (taken.get(0), taken.get(1));
    let (first, last): (String, String) = (taken.get(2), taken.get(3));
    let tally = check(&mut work, &shop, &first, &last, trust, cache)?;
    let problems = serde_json::to_string(&tally.problems).unwrap_or_else(|_| "[]".to_owned());
    // A range that two have taken one after the other counts once.
    work.execute(
        "INSERT INTO brakecorner.audit_result (run_id, n, worker, records, valid, newer, problems)
         VALUES ($1::text::uuid, $2, $3, $4, $5, $6, $7) ON CONFLICT DO NOTHING",
        &[
            &run,
            &n,
            &worker,
            &tally.records,
            &tally.valid,
            &tally.newer,
            &problems,
        ],
    )?;
    work.commit()?;
    Ok(Some(tally.records.unsigned_abs()))
}

/// What a range came to.
#[derive(Default)]
struct Tally {
    records: i64,
    valid: i64,
    newer: i64,
    problems: Vec<Found>,
}

/// The derived rows that are stored, by the record's digest.
#[derive(Default)]
struct Stored {
    visits: HashMap<Vec<u8>, (i32, VisitRow)>,
    verdicts: HashMap<Vec<u8>, Vec<VerdictRow>>,
    results: HashMap<Vec<u8>, Vec<ResultRow>>,
    instruments: HashMap<Vec<u8>, Vec<(String, i32)>>,
    countersignatures: HashMap<Vec<u8>, Vec<u8>>,
}

fn check(
    work: &mut Transaction<'_>,
    shop: &str,
    first: &str,
    last: &str,
    trust: &Trust,
    cache: &SpecsCache,
) -> Result<Tally, postgres::Error> {
    let mut stored = stored(work, shop, first, last)?;
    let records = work.query(
        "SELECT job_id, revision, digest, body, sig FROM brakecorner.record WHERE shop_id = $1
         AND job_id COLLATE \"C\" BETWEEN $2 AND $3 ORDER BY job_id COLLATE \"C\", revision",
        &[&shop, &first, &last],
    )?;
    let mut tally = Tally::default();
    let mut before: Option<(String, i32, String)> = None;
    for row in &records {
        let (job, revision): (String, i32) = (row.get(0), row.get(1));
        let (digest, body): (&[u8], &[u8]) = (row.get(2), row.get(3));
        let place = format!("{shop}/{job}/record-{revision}");
        tally.records += 1;
        let problems = tally.problems.len();
        let known = before
            .as_ref()
            .filter(|(name, number, _)| *name == job && number + 1 == revision);
        let beside = Beside {
            signature: Some(row.get(4)),
            countersignature: stored.countersignatures.get(digest).map(Vec::as_slice),
            signers: trust.of(shop),
            before: known.map_or(Before::Missing, |(.., sha256)| Before::Is(sha256)),
            cache: Some(cache),
        };
        let sha256 = sha256_hex(body);
        if sha256 != hex(digest) {
            let detail = format!(
                "the digest stored is {}…, the bytes' is {}…",
                short(&hex(digest)),
                short(&sha256)
            );
            tally.problems.push(Found::new(&place, "stored", detail));
        }
        let examined = verify::examine(body, &beside);
        for stage in examined
            .verification
            .stages
            .iter()
            .filter(|stage| stage.outcome == Outcome::Bad)
        {
            tally
                .problems
                .push(Found::new(&place, stage.stage, stage.detail.clone()));
        }
        let newer = examined.verification.validity() == Validity::Newer;
        let record = examined.record.filter(|_| !newer);
        if let (Some(record), Some((_, folded))) =
            (record, examined.journal.filter(|(end, _)| end.whole))
        {
            if record.job != job || i64::from(record.revision) != i64::from(revision) {
                let detail = format!(
                    "it is revision {} of job {}",
                    record.revision,
                    record.job.escape_debug()
                );
                tally
                    .problems
                    .push(Found::new(&place, ProblemKind::Misplaced, detail));
            }
            let again = cache
                .read(&record.specifications)
                .ok()
                .and_then(|specs| derive::derive(&record, folded, &specs, &sha256));
            if let Some(again) = again {
                let different = stored.differs(digest, again);
                tally
                    .problems
                    .extend(different.map(|what| Found::new(&place, "derived", what)));
            }
        }
        if newer {
            tally.newer += 1;
        } else if tally.problems.len() == problems {
            tally.valid += 1;
        }
        before = Some((job, revision, sha256));
    }
    Ok(tally)
}

fn short(digest: &str) -> &str {
    digest.get(..12).unwrap_or(digest)
}

impl Stored {
    /// What of the stored rows is not as it is derived; nothing for rows another version derived.
    fn differs(&mut self, digest: &[u8], again: Derived) -> Option<String> {
        let Some((derived_by, visit)) = self.visits.remove(digest) else {
            return Some("there is no visit for the record".to_owned());
        };
        if derived_by != DERIVED_BY {
            return None;
        }
        let wrong = |table: &str| {
            Some(format!(
                "the rows in `{table}` are not what the record says"
            ))
        };
        if visit != again.visit {
            wrong("visit")
        } else if self.verdicts.remove(digest).unwrap_or_default() != again.verdicts {
            wrong("item_verdict")
        } else if self.results.remove(digest).unwrap_or_default() != again.results {
            wrong("result")
        } else if self.instruments.remove(digest).unwrap_or_default() != again.instruments {
            wrong("instrument_use")
        } else {
            None
        }
    }
}

fn phase(text: &str) -> &'static str {
    match text {
        "as_found" => "as_found",
        "as_left" => "as_left",
        _ => "?",
    }
}

fn stored(
    work: &mut Transaction<'_>,
    shop: &str,
    first: &str,
    last: &str,
) -> Result<Stored, postgres::Error> {
    let mut stored = Stored::default();
    let seals = work.query(
        "SELECT s.digest, s.body FROM brakecorner.seal s JOIN brakecorner.record r
            ON r.shop_id = s.shop_id AND r.digest = s.digest
         WHERE s.shop_id = $1 AND r.shop_id = $1 AND s.kind = 'countersignature' AND r.job_id COLLATE \"C\" BETWEEN $2 AND $3",
        &[&shop, &first, &last],
    )?;
    stored.countersignatures = seals.iter().map(|row| (row.get(0), row.get(1))).collect();
    let visits = work.query(
        "SELECT v.digest, v.derived_by, v.job_id, v.revision, v.vin, v.registration, v.opened_at, v.odometer_km, v.signed_at,
            v.signer, v.fingerprint, v.device, v.sequence, v.previous, v.stage, v.state, v.as_found, v.as_left, v.summary
         FROM brakecorner.visit v WHERE v.shop_id = $1 AND v.job_id COLLATE \"C\" BETWEEN $2 AND $3",
        &[&shop, &first, &last],
    )?;
    for row in &visits {
        let visit = VisitRow {
            job_id: row.get(2),
            revision: row.get(3),
            vin: row.get(4),
            registration: row.get(5),
            opened_at: row.get(6),
            odometer_km: row.get(7),
            signed_at: row.get(8),
            signer: row.get(9),
            fingerprint: row.get(10),
            device: row.get(11),
            sequence: row.get(12),
            previous: row.get(13),
            stage: match row.get(14) {
                "as_found" => "as_found",
                "final" => "final",
                _ => "?",
            },
            state: row.get(15),
            as_found: row.get(16),
            as_left: row.get(17),
            summary: row.get(18),
        };
        stored.visits.insert(row.get(0), (row.get(1), visit));
    }
    let digests: Vec<&Vec<u8>> = stored.visits.keys().collect();
    let verdicts = work.query(
        "SELECT digest, n, place, item, phase, verdict, proof, urgency FROM brakecorner.item_verdict
         WHERE shop_id = $1 AND digest = ANY ($2) ORDER BY digest, n",
        &[&shop, &digests],
    )?;
    let results = work.query(
        "SELECT digest, n, place, item, phase, value, unit, limit_value, u, conformance_probability
         FROM brakecorner.result WHERE shop_id = $1 AND digest = ANY ($2) ORDER BY digest, n",
        &[&shop, &digests],
    )?;
    let instruments = work.query(
        "SELECT digest, instrument, uses FROM brakecorner.instrument_use
         WHERE shop_id = $1 AND digest = ANY ($2) ORDER BY digest, instrument COLLATE \"C\"",
        &[&shop, &digests],
    )?;
    for row in &verdicts {
        stored
            .verdicts
            .entry(row.get(0))
            .or_default()
            .push(VerdictRow {
                n: row.get(1),
                place: row.get(2),
                item: row.get(3),
                phase: phase(row.get(4)),
                verdict: row.get(5),
                proof: row.get(6),
                urgency: row.get(7),
            });
    }
    for row in &results {
        stored
            .results
            .entry(row.get(0))
            .or_default()
            .push(ResultRow {
                n: row.get(1),
                place: row.get(2),
                item: row.get(3),
                phase: phase(row.get(4)),
                value: row.get(5),
                unit: match row.get(6) {
                    "mm" => "mm",
                    "%" => "%",
                    "°C" => "°C",
                    _ => "?",
                },
                limit: row.get(7),
                u: row.get(8),
                probability: row.get(9),
            });
    }
    for row in &instruments {
        let uses = stored.instruments.entry(row.get(0)).or_default();
        uses.push((row.get(1), row.get(2)));
    }
    Ok(stored)
}

/// What an audit comes to.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Report {
    /// Nothing is wrong.
    pub valid: bool,
    /// The audit's id.
    pub run: String,
    /// Records looked at.
    pub records: i64,
    /// Records that are valid.
    pub records_valid: i64,
    /// Records of a newer version, of which nothing bad is known.
    pub records_newer: i64,
    /// Who took part, and how many ranges each did.
    pub workers: BTreeMap<String, i64>,
    /// What is wrong.
    pub problems: Vec<Found>,
}

/// Puts an audit's ranges together, once all are done, and follows the rows of all keys: a number
/// missing is a record missing.
///
/// # Errors
/// [`ArchiveError`] of the server.
pub fn report(archive: &mut Archive, run: &str) -> Result<Report, ArchiveError> {
    let mut report = Report {
        run: run.to_owned(),
        ..Report::default()
    };
    archive.each(
        "SELECT worker, records, valid, newer, problems FROM brakecorner.audit_result WHERE run_id = $1::text::uuid",
        &[&run],
        |row| {
            *report.workers.entry(row.get(0)).or_default() += 1;
            report.records += row.get::<_, i64>(1);
            report.records_valid += row.get::<_, i64>(2);
            report.records_newer += row.get::<_, i64>(3);
            let problems: Vec<Found> =
                serde_json::from_str(row.get(4)).map_err(|error| ArchiveError::Stored {
                    place: format!("audit {run}"),
                    why: error.to_string(),
                })?;
            report.problems.extend(problems);
            Ok(())
        },
    )?;
    let mut rows = Rows::default();
    archive.each(
        "SELECT fingerprint, device, sequence, digest, previous, shop_id, job_id, revision FROM brakecorner.visit
         ORDER BY fingerprint COLLATE \"C\", device COLLATE \"C\", sequence, digest",
        &[],
        |row| {
            let link = Link {
                fingerprint: row.get(0),
                device: row.get(1),
                sequence: row.get::<_, i64>(2).unsigned_abs(),
                sha256: hex(row.get::<_, &[u8]>(3)),
                previous: row.get(4),
                place: format!(
                    "{}/{}/record-{}",
                    row.get::<_, &str>(5),
                    row.get::<_, &str>(6),
                    row.get::<_, i32>(7)
                ),
            };
            report.problems.extend(rows.take(link).map(Found::of));
            Ok(())
        },
    )?;
    report.problems.sort();
    report.valid = report.problems.is_empty() && report.records_newer == 0;
    Ok(report)
}
