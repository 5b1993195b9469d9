//! `sheet`: the findings sheet for the customer.

use std::path::PathBuf;

use super::error::{Exit, Failure};
use super::open::{JobFile, style};
use super::verify::{read_signers, revisions};
use super::{Globals, World};
use crate::judge;
use crate::record::verify;
use crate::sheet::{SheetModel, Signature, text};

/// Print the findings sheet a customer understands
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  brakecorner sheet HWY-0411")]
pub(super) struct Args {
    /// Job number
    job: String,
    /// Write to this file instead of the terminal
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let file = JobFile::read(globals, world, &args.job)?;
    let case = file.case();
    let judgement = judge::judge(&case);
    let signature = signature(&file)?;
    let model = SheetModel::of(&case, &judgement, &file.shop.settings.name, signature);
    let content = if globals.json {
        format!("{:#}\n", serde_json::to_value(&model)?)
    } else {
        style(globals, world).sheet(&text::render(&model))
    };
    match &args.output {
        Some(path) => {
            let path = world.folder.join(path);
            crate::shop::atomic::write_new(&path, content.as_bytes())?;
            writeln!(world.err, "wrote {}", path.display())?;
        }
        None => world.out.write_all(content.as_bytes())?,
    }
    Ok(Exit::Good)
}

/// The last signed revision, if it verifies and the journal has not gone on since.
fn signature(file: &JobFile) -> Result<Option<Signature>, Failure> {
    let Some(path) = revisions(&file.folder).pop() else {
        return Ok(None);
    };
    let bytes = std::fs::read(&path)?;
    let signature = std::fs::read(super::sign::signature_path(&path)).ok();
    let signers = read_signers(Some(&file.shop.signers_path()))?;
    let found = verify::verify(&bytes, signature.as_deref(), signers.as_ref());
    let last = file.job.log().last().map(|(_, event, _)| event.clone());
    let unchanged = matches!(last, Some(crate::job::Event::Signed { .. }));
    if !found.good() || !unchanged {
        return Ok(None);
    }
    let record: crate::record::freeze::ReadRecord = serde_json::from_slice(&bytes)?;
    Ok(Some(Signature {
        revision: record.revision,
        sha256: found.sha256,
        signer: record.signer.principal,
        fingerprint: record.signer.fingerprint,
        signed_at: record.signed_at,
    }))
}
