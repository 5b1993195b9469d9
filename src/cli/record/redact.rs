//! `record redact`: a copy of a record for third parties, without VIN and plate.

use std::path::PathBuf;

use super::super::error::{Exit, Failure, Hint as _};
use super::super::open::workshop;
use super::super::sign::{beside, redacted_signature_path};
use super::super::verify::{LIMIT, chosen_revision, read_signers, revision_of};
use super::super::{Globals, World};
use crate::record::redact::{leaks, redact};
use crate::record::verify;
use crate::shop::atomic::{self, Access, Existing, NewFile};
use crate::shop::plain_file;

/// Write a copy of a record in which VIN and plate are replaced by salted digests
///
/// The copy was signed together with the record: signature, signer, journal and every result can
/// be checked from it alone, with stock ssh-keygen or with `brakecorner verify FILE`. What was typed
/// in free words stays as it is; you are told if VIN or plate stand in it.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  brakecorner record redact HWY-0411 -o for-the-auction.json")]
pub(super) struct Redact {
    /// Job number
    job: String,
    /// Revision to copy; the last, unless given
    #[arg(long, value_name = "N")]
    revision: Option<u32>,
    /// File to write; its signature goes beside it as FILE.sig
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
}

pub(super) fn run(
    args: &Redact,
    globals: &Globals,
    world: &mut World<'_>,
) -> Result<Exit, Failure> {
    let shop = workshop(globals, world)?;
    let record = chosen_revision(&shop, &args.job, args.revision)?;
    let bytes = plain_file::read(&record, LIMIT)?;
    let copy = redact(&bytes)?;
    let signature = plain_file::read_if_there(&redacted_signature_path(&record), LIMIT)?
        .ok_or_else(|| {
            Failure::from(format!(
                "the signature of the copy is missing beside `{}`",
                record.display()
            ))
            .hint("it is made together with the record; restore it from a backup, or sign a new revision")
        })?;
    let signers = read_signers(Some(&shop.signers_path()))?;
    let found = verify::verify(&copy, Some(&signature), signers.as_ref());
    if !found.good() {
        let why = found.first_bad().map_or_else(
            || "it is of a newer version".to_owned(),
            |stage| format!("{}: {}", stage.stage, stage.detail),
        );
        return Err(Failure::from(format!(
            "the copy would not be valid ({why}); it was not written"
        ))
        .hint(format!(
            "`brakecorner verify {}` shows every stage",
            args.job
        )));
    }
    let number = revision_of(&record).unwrap_or(1);
    let default = || PathBuf::from(format!("{}-record-{number}.redacted.json", args.job));
    let path = world
        .folder
        .join(args.output.clone().unwrap_or_else(default));
    let signature_path = beside(&path, ".sig");
    let file = |path, bytes| NewFile {
        path,
        bytes,
        existing: Existing::Refuse,
        access: Access::Default,
    };
    let group = [file(&signature_path, &signature), file(&path, &copy)];
    atomic::write_group(&group, &mut atomic::no_hook).hint("choose another file with -o")?;
    let leaking = leaking(&bytes, &copy);
    for what in &leaking {
        writeln!(
            world.err,
            "warning: {what} still stands in the copy, in words somebody typed; read it before you hand it on"
        )?;
    }
    if globals.json {
        let value = serde_json::json!({
            "job": args.job, "revision": number, "copy": path, "signature": signature_path,
            "sha256": found.sha256, "still_in_it": leaking
        });
        writeln!(world.out, "{value:#}")?;
    } else {
        writeln!(world.out, "wrote {} and its .sig", path.display())?;
    }
    Ok(Exit::Good)
}

/// Which of VIN and plate the copy still holds.
fn leaking(record: &[u8], copy: &[u8]) -> Vec<&'static str> {
    let Ok(record) = serde_json::from_slice::<crate::record::freeze::ReadRecord>(record) else {
        return Vec::new();
    };
    let Some(opening) = record.journal().fold().opening else {
        return Vec::new();
    };
    [
        ("the VIN", &opening.vin),
        ("the plate", &opening.registration),
    ]
    .into_iter()
    .filter(|(_, value)| leaks(copy, value))
    .map(|(what, _)| what)
    .collect()
}
