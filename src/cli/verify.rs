//! `verify`: check signature, signer, journal and every result of a record.

use std::path::{Path, PathBuf};

use super::error::{Exit, Failure, Hint as _};
pub(super) use super::key::read_signers as read_signers_at;
use super::open::{style, workshop};
use super::sign::{authorities_path, countersignature_path, signature_path, stamp_path};
use super::{Globals, World};
use crate::record::canonical::{Limits, sha256_hex};
use crate::record::signers::Signers;
use crate::record::specs_cache::SpecsCache;
use crate::record::stamp;
use crate::record::verify::{self, Before, Beside, Examined, Outcome, Validity, Verification};
use crate::shop::folder::Workshop;
use crate::shop::journal::Journal;
use crate::shop::plain_file;
pub(super) use crate::shop::records::{revision_of, revisions};

/// Check a signed record, stage by stage
///
/// Give a job number for every revision of the job, or a record file. Exit code 0 when everything
/// is valid, 1 when something is not, or is of a newer version than this program understands, 2
/// when there is nothing to check.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  brakecorner verify HWY-0411")]
pub(super) struct Args {
    /// Job number, or path of a record file
    what: String,
    /// Signers file to trust, instead of the workshop's
    #[arg(long, value_name = "FILE")]
    signers: Option<PathBuf>,
    /// Certificates (PEM) of trusted time-stamping authorities, instead of the workshop's
    #[arg(long, value_name = "FILE")]
    stamp_trust: Option<PathBuf>,
}

/// Largest record that is read, in bytes.
pub(super) const LIMIT: u64 = Limits::DEFAULT.bytes as u64;

/// One record and what was found.
struct Row {
    path: PathBuf,
    found: Verification,
    stamp: Option<Result<String, String>>,
}

impl Row {
    fn validity(&self) -> Validity {
        match &self.stamp {
            Some(Err(_)) => Validity::NotValid,
            _ => self.found.validity(),
        }
    }
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    super::practice::refuse(&args.what, globals, world)?;
    let path = world.folder.join(&args.what);
    let alone = path.is_file();
    let mut broken = Vec::new();
    let (records, home) = if alone {
        let home = home_of(&path);
        (vec![path], home)
    } else {
        let shop = workshop(globals, world)?;
        let folder = shop
            .job_folder(&args.what)
            .hint("a job number, or the path of a record file")?;
        let records = revisions(&folder);
        broken = removed(&folder, &records);
        if records.is_empty() && broken.is_empty() {
            return Err(nothing_signed(&folder, &args.what));
        }
        (records, Some(shop.folder.clone()))
    };
    let named = |option: &Option<PathBuf>, default: fn(&Path) -> PathBuf| {
        let given = option.as_ref().map(|path| world.folder.join(path));
        given.or_else(|| home.as_deref().map(default))
    };
    let signers_path = named(&args.signers, |home| home.join("signers"));
    let signers = read_signers(signers_path.as_deref())?;
    let authorities = match named(&args.stamp_trust, authorities_path) {
        Some(path) => plain_file::read_if_there(&path, 1 << 20)?,
        None => None,
    };
    let place = Place {
        signers: signers.as_ref(),
        whole_job: !alone,
        ..Place::default()
    };
    let mut rows = Vec::new();
    for path in records {
        let (examined, _) = check_file(&path, &place)?;
        if alone {
            is_record(&path, &examined.verification)?;
        }
        let stamp = check_stamp(&path, authorities.as_deref())?;
        rows.push(Row {
            path,
            found: examined.verification,
            stamp,
        });
    }
    report(globals, world, &rows, &broken)
}

/// Refuses a file that nobody ever signed and that does not have a record's form: there is nothing
/// to check. A signed one that lost its form is checked, and is not valid.
fn is_record(path: &Path, found: &Verification) -> Result<(), Failure> {
    let form = found.stages.first();
    let bad = form.filter(|form| form.outcome == Outcome::Bad);
    match bad.filter(|_| !found.newer && !signature_path(path).exists()) {
        None => Ok(()),
        Some(form) => Err(Failure::from(format!(
            "`{}` is no record: {}",
            path.display(),
            form.detail
        ))
        .hint("give a job number, or the path of a record file such as record-1.json")),
    }
}

fn report(
    globals: &Globals,
    world: &mut World<'_>,
    rows: &[Row],
    broken: &[String],
) -> Result<Exit, Failure> {
    let good = broken.is_empty() && rows.iter().all(|row| row.validity() == Validity::Valid);
    if globals.json {
        let rows: Vec<_> = rows
            .iter()
            .map(|row| {
                let mut value = serde_json::json!({
                    "record": row.path, "valid": row.validity() == Validity::Valid,
                    "validity": row.validity(), "check": row.found
                });
                if let (Some(stamp), Some(object)) = (&row.stamp, value.as_object_mut()) {
                    let stamp = match stamp {
                        Ok(text) => serde_json::json!({"valid": true, "detail": text}),
                        Err(text) => serde_json::json!({"valid": false, "detail": text}),
                    };
                    object.insert("time_stamp".to_owned(), stamp);
                }
                value
            })
            .collect();
        let value = serde_json::json!({"valid": good, "records": rows, "revision_chain": broken});
        writeln!(world.out, "{value:#}")?;
    } else {
        show(globals, world, rows, broken)?;
    }
    Ok(if good { Exit::Good } else { Exit::NotGood })
}

/// What a record is checked against beside its own files.
#[derive(Clone, Copy, Default)]
pub(super) struct Place<'a> {
    /// Who may sign.
    pub(super) signers: Option<&'a Signers>,
    /// The record lies in its job's folder, where every earlier revision must be.
    pub(super) whole_job: bool,
    /// Specifications read before.
    pub(super) cache: Option<&'a SpecsCache>,
}

/// Checks a record's file with what lies beside it; returns its bytes too.
pub(super) fn check_file(path: &Path, place: &Place<'_>) -> Result<(Examined, Vec<u8>), Failure> {
    let bytes = plain_file::read(path, LIMIT)?;
    let signature = plain_file::read_if_there(&signature_path(path), LIMIT)?;
    let countersignature = plain_file::read_if_there(&countersignature_path(path), LIMIT)?;
    let before = before(path)?;
    let beside = Beside {
        signature: signature.as_deref(),
        countersignature: countersignature.as_deref(),
        signers: place.signers,
        before: match (&before, place.whole_job) {
            (Some(digest), _) => Before::Is(digest),
            (None, true) => Before::Missing,
            (None, false) => Before::NotAtHand,
        },
        cache: place.cache,
    };
    Ok((verify::examine(&bytes, &beside), bytes))
}

/// Digest of the revision before, if it lies beside the record under its usual name.
fn before(record: &Path) -> Result<Option<String>, Failure> {
    let Some(number) = revision_of(record).and_then(|number| number.checked_sub(1)) else {
        return Ok(None);
    };
    let path = record.with_file_name(format!("record-{number}.json"));
    let bytes = plain_file::read_if_there(&path, LIMIT)?;
    Ok(bytes.map(|bytes| sha256_hex(&bytes)))
}

/// The time-stamp beside a record, if there is one.
fn check_stamp(
    record: &Path,
    authorities: Option<&[u8]>,
) -> Result<Option<Result<String, String>>, Failure> {
    let Some(reply) = plain_file::read_if_there(&stamp_path(record), LIMIT)? else {
        return Ok(None);
    };
    let Some(pem) = authorities else {
        return Ok(None);
    };
    let signature = plain_file::read(&signature_path(record), LIMIT)?;
    Ok(Some(
        stamp::check(&reply, None, &signature, pem)
            .map(|stamp| {
                format!(
                    "existed at {}, says {}",
                    stamp.time.to_rfc3339(),
                    stamp.authority
                )
            })
            .map_err(|error| error.to_string()),
    ))
}

fn nothing_signed(folder: &Path, job: &str) -> Failure {
    match Journal::peek(&folder.join("journal.jsonl")) {
        Ok(_) => Failure::from(format!(
            "job `{job}` has no signed record: an unsigned journal proves nothing"
        ))
        .hint(format!("sign it with `brakecorner sign {job}`")),
        Err(error) => Failure::from(error).hint("`brakecorner job list` shows the jobs"),
    }
}

/// Records the journal knows as signed and that are not there, or are others.
fn removed(folder: &Path, records: &[PathBuf]) -> Vec<String> {
    let Ok(contents) = Journal::peek(&folder.join("journal.jsonl")) else {
        return Vec::new();
    };
    let mut lines = Vec::new();
    for (revision, sha256) in contents.fold().signed {
        let path = records
            .iter()
            .find(|path| revision_of(path) == Some(revision));
        let found = path
            .and_then(|path| plain_file::read(path, LIMIT).ok())
            .map(|bytes| sha256_hex(&bytes));
        let short = sha256.get(..12).unwrap_or(&sha256);
        match found {
            None if path.is_none() => lines.push(format!(
                "revision {revision}, {short}…, was signed and is missing"
            )),
            Some(found) if found != sha256 => lines.push(format!(
                "revision {revision} was signed as {short}… and is now {}…",
                found.get(..12).unwrap_or_default()
            )),
            _ => {}
        }
    }
    lines
}

/// A revision of a job: the one asked for, or the last.
pub(super) fn chosen_revision(
    shop: &Workshop,
    job: &str,
    revision: Option<u32>,
) -> Result<PathBuf, Failure> {
    let folder = shop
        .job_folder(job)
        .hint("job numbers look like HWY-0411")?;
    let records = revisions(&folder);
    let found = match revision {
        Some(number) => records
            .iter()
            .find(|path| revision_of(path) == Some(number)),
        None => records.last(),
    };
    match (found, revision) {
        (Some(path), _) => Ok(path.clone()),
        (None, Some(number)) if !records.is_empty() => Err(Failure::from(format!(
            "job `{job}` has no revision {number}, but {}",
            records.len()
        ))
        .hint(format!("`brakecorner verify {job}` lists the revisions"))),
        _ => Err(nothing_signed(&folder, job)),
    }
}

/// The folder of the signers file that a record handed on alone is checked against: its own, or
/// one above it.
fn home_of(record: &Path) -> Option<PathBuf> {
    record
        .ancestors()
        .skip(1)
        .find(|folder| folder.join("signers").is_file())
        .map(Path::to_owned)
}

pub(super) fn read_signers(path: Option<&Path>) -> Result<Option<Signers>, Failure> {
    path.map_or(Ok(None), read_signers_at)
}

fn show(
    globals: &Globals,
    world: &mut World<'_>,
    rows: &[Row],
    broken: &[String],
) -> Result<(), Failure> {
    let style = style(globals, world);
    for row in rows {
        let word = match row.validity() {
            Validity::Valid => "valid",
            Validity::NotValid => "NOT VALID",
            Validity::Newer => "NEWER than this program",
        };
        let name = row
            .path
            .file_name()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned();
        writeln!(world.out, "{}: {word}", style.text(&name))?;
        for stage in &row.found.stages {
            let mark = match stage.outcome {
                Outcome::Good => "ok",
                Outcome::Bad => "BAD",
                Outcome::NotChecked => "--",
            };
            let (name, detail) = (stage.stage, style.text(&stage.detail));
            writeln!(world.out, "  {mark:3} {name:16} {detail}")?;
        }
        if let Some(reason) = &row.found.incomplete {
            let said = style.text(&format!("signed unfinished: {reason}"));
            writeln!(world.out, "  !   {:16} {said}", "unfinished")?;
        }
        match &row.stamp {
            Some(Ok(text)) => {
                writeln!(world.out, "  ok  {:16} {}", "time-stamp", style.text(text))?
            }
            Some(Err(text)) => {
                writeln!(world.out, "  BAD {:16} {}", "time-stamp", style.text(text))?;
            }
            None => {}
        }
    }
    for line in broken {
        writeln!(world.out, "BAD {}", style.text(line))?;
    }
    Ok(())
}
