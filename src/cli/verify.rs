//! `verify`: check signature, signer, journal and every result of a record.

use std::path::{Path, PathBuf};

use super::error::{Exit, Failure, Hint as _};
use super::open::{style, workshop};
use super::sign::signature_path;
use super::{Globals, World};
use crate::record::signers::Signers;
use crate::record::verify::{self, Outcome, Verification};
use crate::shop::journal::Journal;

/// Check a signed record, stage by stage
///
/// Give a job number for every revision of the job, or a record file. Exit code 0 when everything
/// is valid, 1 when something is not, 2 when there is nothing to check.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  brakecorner verify HWY-0411")]
pub(super) struct Args {
    /// Job number, or path of a record file
    what: String,
    /// Signers file to trust, instead of the workshop's
    #[arg(long, value_name = "FILE")]
    signers: Option<PathBuf>,
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    super::practice::refuse(&args.what, globals, world)?;
    let path = world.folder.join(&args.what);
    let (records, signers_path) = if path.is_file() {
        let beside = find_signers(&path);
        (vec![path], args.signers.clone().or(beside))
    } else {
        let shop = workshop(globals, world)?;
        let folder = shop
            .job_folder(&args.what)
            .hint("a job number, or the path of a record file")?;
        let records = revisions(&folder);
        if records.is_empty() {
            return Err(nothing_signed(&folder, &args.what));
        }
        (
            records,
            Some(args.signers.clone().unwrap_or_else(|| shop.signers_path())),
        )
    };
    let signers = read_signers(signers_path.as_deref())?;
    let mut all = Vec::new();
    for record in &records {
        let bytes = read_record(record)?;
        let signature = std::fs::read(signature_path(record)).ok();
        all.push((
            record,
            verify::verify(&bytes, signature.as_deref(), signers.as_ref()),
        ));
    }
    let broken = revision_chain(&all);
    let good = broken.is_empty() && all.iter().all(|(_, found)| found.good());
    if globals.json {
        let rows: Vec<_> = all
            .iter()
            .map(|(path, found)| serde_json::json!({"record": path, "valid": found.good(), "check": found}))
            .collect();
        let value = serde_json::json!({"valid": good, "records": rows, "revision_chain": broken});
        writeln!(world.out, "{value:#}")?;
    } else {
        show(globals, world, &all, &broken)?;
    }
    Ok(if good { Exit::Good } else { Exit::NotGood })
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

/// Largest record that is read.
const LARGEST: u64 = 256 * 1024 * 1024;

fn read_record(path: &Path) -> Result<Vec<u8>, Failure> {
    let len = std::fs::metadata(path)
        .hint(format!("at {}", path.display()))?
        .len();
    if len > LARGEST {
        return Err(Failure::from(format!(
            "`{}` is {len} bytes, more than {LARGEST}",
            path.display()
        )));
    }
    std::fs::read(path).hint(format!("at {}", path.display()))
}

/// The records of a job's folder, in order.
pub(super) fn revisions(folder: &Path) -> Vec<PathBuf> {
    (1u32..)
        .map(|n| folder.join(format!("record-{n}.json")))
        .take_while(|path| path.exists())
        .collect()
}

/// A signers file in the record's folder or a workshop above it.
fn find_signers(record: &Path) -> Option<PathBuf> {
    record
        .ancestors()
        .skip(1)
        .map(|folder| folder.join("signers"))
        .find(|path| path.is_file())
}

pub(super) fn read_signers(path: Option<&Path>) -> Result<Option<Signers>, Failure> {
    let Some(path) = path else { return Ok(None) };
    match std::fs::read(path) {
        Ok(bytes) => Ok(Some(Signers::parse(&path.display().to_string(), &bytes)?)),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(None),
        Err(error) => Err(Failure::from(error).hint(format!("at {}", path.display()))),
    }
}

/// Whether each revision names the digest of the one before it.
fn revision_chain(all: &[(&PathBuf, Verification)]) -> Vec<String> {
    all.windows(2)
        .filter_map(|pair| {
            let ((_, before), (path, after)) = (&pair[0], &pair[1]);
            let named = after.previous_revision.as_deref()?;
            (named != before.sha256).then(|| {
                format!(
                    "{} names {}… as the revision before it, which is {}…",
                    path.display(),
                    named.get(..12).unwrap_or(named),
                    before.sha256.get(..12).unwrap_or_default()
                )
            })
        })
        .collect()
}

fn show(
    globals: &Globals,
    world: &mut World<'_>,
    all: &[(&PathBuf, Verification)],
    broken: &[String],
) -> Result<(), Failure> {
    let style = style(globals, world);
    for (path, found) in all {
        let word = if found.good() { "valid" } else { "NOT VALID" };
        let name = path
            .file_name()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned();
        writeln!(world.out, "{}: {word}", style.text(&name))?;
        for stage in &found.stages {
            let mark = match stage.outcome {
                Outcome::Good => "ok",
                Outcome::Bad => "BAD",
                Outcome::NotChecked => "--",
            };
            writeln!(
                world.out,
                "  {mark:3} {:10} {}",
                stage.stage,
                style.text(&stage.detail)
            )?;
        }
    }
    for line in broken {
        writeln!(world.out, "BAD revision chain: {}", style.text(line))?;
    }
    Ok(())
}
