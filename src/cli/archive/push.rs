//! `archive push`: send what is new of a workshop's signed records.

use std::path::Path;
use std::time::Duration;

use super::{failure, target};
use crate::archive::push::{Candidate, Files, Options, Pushed, Workshop, push};
use crate::cli::error::{Exit, Failure, Hint as _};
use crate::cli::open::{style, workshop};
use crate::cli::progress::Progress;
use crate::cli::sign::{countersignature_path, signature_path, stamp_path};
use crate::cli::verify::{LIMIT, read_signers, revision_of, revisions};
use crate::cli::{Globals, World};
use crate::record::canonical::sha256_hex;
use crate::shop::{folder, plain_file};

/// Send a workshop's signed records to the archive
///
/// Every record is verified before it is sent; one that is not valid stays here and is named. What
/// is in the archive already is not sent again, so a push that was cut off is simply given again.
/// Nothing in the workshop's folder is changed. Customers' names, telephone numbers and addresses
/// never leave the folder: the records hold their digests. Exit code 0 when the archive holds
/// every record, 2 when something was not sent.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  brakecorner archive push --to postgres://north@db.example/archive"
)]
pub(in crate::cli) struct Args {
    /// The archive's database
    #[arg(long, value_name = "URL")]
    to: String,
    /// How long to try again when the connection is lost, in seconds
    #[arg(long, value_name = "SECONDS", default_value_t = 30)]
    patience: u64,
    /// Threads that verify; as many as there are cores, unless given
    #[arg(long, value_name = "N")]
    threads: Option<usize>,
}

/// The records of a workshop's folder, in order.
pub(super) fn candidates(shop: &folder::Workshop) -> Result<Vec<Candidate>, Failure> {
    let mut all = Vec::new();
    for job in shop.jobs()? {
        for path in revisions(&shop.job_folder(&job)?) {
            all.extend(revision_of(&path).map(|revision| Candidate {
                job: job.clone(),
                revision,
            }));
        }
    }
    Ok(all)
}

/// Reads what lies beside a record.
pub(super) fn files(shop: &folder::Workshop, one: &Candidate) -> Result<Files, String> {
    let folder = shop
        .job_folder(&one.job)
        .map_err(|error| error.to_string())?;
    let path = folder.join(format!("record-{}.json", one.revision));
    let read = |path: &Path| plain_file::read(path, LIMIT).map_err(|error| error.to_string());
    let beside =
        |path: &Path| plain_file::read_if_there(path, LIMIT).map_err(|error| error.to_string());
    let before = match one.revision.checked_sub(1) {
        None | Some(0) => None,
        Some(number) => beside(&folder.join(format!("record-{number}.json")))?,
    };
    Ok(Files {
        record: read(&path)?,
        signature: beside(&signature_path(&path))?,
        countersignature: beside(&countersignature_path(&path))?,
        stamp: beside(&stamp_path(&path))?,
        before: before.map(|bytes| sha256_hex(&bytes)),
    })
}

pub(in crate::cli) fn run(
    args: &Args,
    globals: &Globals,
    world: &mut World<'_>,
) -> Result<Exit, Failure> {
    let target = target(&args.to, world)?;
    let shop = workshop(globals, world)?;
    let signers = read_signers(Some(&shop.signers_path()))?;
    let register = plain_file::read_if_there(&shop.register_path(), LIMIT)?.unwrap_or_default();
    let register = String::from_utf8(register).hint("instruments.toml is no UTF-8 text")?;
    let candidates = candidates(&shop)?;
    let read = |one: &Candidate| files(&shop, one);
    let source = Workshop {
        name: &shop.settings.name,
        register: &register,
        signers: signers.as_ref(),
        candidates: &candidates,
        read: &read,
    };
    let mut options = Options {
        patience: Duration::from_secs(args.patience),
        ..Options::default()
    };
    if let Some(threads) = args.threads {
        options.threads = threads.clamp(1, 64);
    }
    let mut progress = Progress::new(globals, world, "records", || candidates.len() as u64);
    let pushed = push(&target, &source, &options, |done| {
        progress.show(world, done as u64)
    });
    progress.clear(world);
    let pushed = pushed.map_err(failure)?;
    report(&pushed, globals, world)?;
    Ok(if pushed.complete() {
        Exit::Good
    } else {
        Exit::NoAnswer
    })
}

fn report(pushed: &Pushed, globals: &Globals, world: &mut World<'_>) -> Result<(), Failure> {
    if globals.json {
        let mut value = serde_json::to_value(pushed)?;
        if let Some(object) = value.as_object_mut() {
            object.insert("complete".to_owned(), pushed.complete().into());
        }
        writeln!(world.out, "{value:#}")?;
        return Ok(());
    }
    let style = style(globals, world);
    for one in &pushed.refused {
        writeln!(
            world.out,
            "not sent: {} revision {}: {}",
            style.text(&one.job),
            one.revision,
            style.text(&one.why)
        )?;
    }
    for one in &pushed.conflicts {
        let short = |digest: &str| digest.get(..12).unwrap_or_default().to_owned();
        writeln!(
            world.out,
            "conflict: {} revision {}: the archive holds another {}, {}…, than the folder, {}…",
            style.text(&one.job),
            one.revision,
            one.what,
            short(&one.there),
            short(&one.here)
        )?;
    }
    writeln!(
        world.out,
        "shop {}: {} records sent, {} there already, {} not sent; {} countersignatures and time-stamps sent",
        pushed.shop,
        pushed.sent,
        pushed.there,
        pushed.refused.len() + pushed.conflicts.len(),
        pushed.seals_sent
    )?;
    if pushed.retries > 0 {
        writeln!(
            world.err,
            "the connection was made again {} times",
            pushed.retries
        )?;
    }
    if !pushed.refused.is_empty() {
        writeln!(
            world.err,
            "hint: `brakecorner verify JOB` says what is wrong with a record"
        )?;
    }
    if !pushed.conflicts.is_empty() {
        writeln!(
            world.err,
            "hint: two different records carry one number: find out who signed which before anything else; nothing in the archive is ever replaced"
        )?;
    }
    Ok(())
}
