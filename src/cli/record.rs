//! `record`: copies of a signed record for others; and `job forget`, which leaves it valid.

mod bundle;
mod redact;

pub(super) use bundle::quoted;

use clap::Subcommand;
use ssh_key::rand_core::{OsRng, RngCore as _};

use super::error::{Exit, Failure, Hint as _};
use super::open::workshop;
use super::style::counted;
use super::{Globals, World};
use crate::job::PersonalField;
use crate::shop::journal::Journal;
use crate::shop::private::Private;

/// Make copies of a signed record for others
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(subcommand)]
    action: Action,
}

#[derive(Debug, Subcommand)]
enum Action {
    Redact(redact::Redact),
    Bundle(bundle::Bundle),
}

/// Delete the customer's name, telephone number and address from a job
///
/// Deletes the job's private.toml, where they stand with their salts. Journal and records keep
/// digests that say nothing without the salts; signatures and results stay valid.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  brakecorner job forget HWY-0411")]
pub(super) struct Forget {
    /// Job number
    job: String,
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    match &args.action {
        Action::Redact(args) => redact::run(args, globals, world),
        Action::Bundle(args) => bundle::run(args, globals, world),
    }
}

/// Salts what is known when a job is opened.
pub(super) fn private_of(values: &[(PersonalField, &str)]) -> Private {
    Private::new(values.iter().copied(), |salt| OsRng.fill_bytes(salt))
}

pub(super) fn forget(
    args: &Forget,
    globals: &Globals,
    world: &mut World<'_>,
) -> Result<Exit, Failure> {
    let shop = workshop(globals, world)?;
    let folder = shop
        .job_folder(&args.job)
        .hint("job numbers look like HWY-0411")?;
    let contents = Journal::peek(&folder.join("journal.jsonl"))
        .hint("`brakecorner job list` shows the jobs")?;
    let job = contents.fold();
    let was =
        Private::forget(&folder).hint("make the folder writable, or delete the file yourself")?;
    let digests: Vec<&str> = job.personal.keys().map(|field| field.word()).collect();
    let mut remains = Vec::new();
    if !digests.is_empty() {
        remains.push(format!(
            "digests of {}, which say nothing without the salts just deleted",
            digests.join(", ")
        ));
    }
    if let Some(opening) = &job.opening {
        remains.push(format!("VIN {}", opening.vin));
        if !opening.registration.is_empty() {
            remains.push(format!("plate {}", opening.registration));
        }
        if !opening.complaint.is_empty() {
            remains.push("the complaint in the customer's own words".to_owned());
        }
    }
    if !job.notes.is_empty() {
        remains.push(counted(
            job.notes.len(),
            "note in free words",
            "notes in free words",
        ));
    }
    if !job.photos.is_empty() {
        remains.push(counted(job.photos.len(), "photo", "photos"));
    }
    remains.push("the names of those who worked on it".to_owned());
    if globals.json {
        let value = serde_json::json!({"job": args.job, "deleted": was, "remains": remains});
        writeln!(world.out, "{value:#}")?;
        return Ok(Exit::Good);
    }
    let said = if was {
        "forgot the customer of"
    } else {
        "nothing was kept of the customer of"
    };
    writeln!(world.out, "{said} {}", args.job)?;
    writeln!(
        world.out,
        "what remains, in the journal and in every record:"
    )?;
    for line in remains {
        writeln!(world.out, "  {line}")?;
    }
    writeln!(
        world.out,
        "not reached: backups, printed or sent sheets, and what the disk itself keeps of deleted files"
    )?;
    Ok(Exit::Good)
}
