//! `archive audit`: verify every record of the archive, with as many workers as wanted.

use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::mpsc::sync_channel;

use super::{failure, target};
use crate::archive::ArchiveError;
use crate::archive::audit::{self, Report, Trust};
use crate::archive::connect::Archive;
use crate::archive::target::Target;
use crate::cli::error::{Exit, Failure, Hint as _};
use crate::cli::open::{style, workshops};
use crate::cli::progress::Progress;
use crate::cli::verify::read_signers;
use crate::cli::{Globals, World};
use crate::record::specs_cache::SpecsCache;

/// Verify every record of the archive and derive its rows anew
///
/// By head office's role. The work is divided into ranges; the same command on another machine
/// takes part, and after any death the same command goes on where it stopped. Photos are not in the
/// archive and are not looked at. Exit code 0 when nothing is wrong, 1 when something is, 2 when
/// there is nothing to audit.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  brakecorner archive audit --to postgres://office@db.example/archive --signers signers"
)]
pub(in crate::cli) struct Args {
    /// The archive's database
    #[arg(long, value_name = "URL")]
    to: String,
    /// Who may sign: a signers file for all shops, or a folder with one named after each shop's id;
    /// otherwise the workshop's own
    #[arg(long, value_name = "PATH")]
    signers: Option<PathBuf>,
    /// Workers on this machine; as many as there are cores, unless given
    #[arg(long, value_name = "N")]
    workers: Option<usize>,
    /// Begin anew although an audit is under way
    #[arg(long)]
    anew: bool,
}

pub(in crate::cli) fn run(
    args: &Args,
    globals: &Globals,
    world: &mut World<'_>,
) -> Result<Exit, Failure> {
    let trust = trust(args, globals, world)?;
    let target = target(&args.to, world)?;
    let mut archive = Archive::open(&target).map_err(failure)?;
    let run = audit::begin(&mut archive, args.anew).map_err(failure)?;
    if run.ranges == 0 {
        return Err(Failure::from("there is no record in the archive")
            .hint("shops send theirs with `brakecorner archive push --to URL`"));
    }
    if run.done > 0 && !globals.json {
        writeln!(
            world.err,
            "going on: {} of {} ranges were done before",
            run.done, run.ranges
        )?;
    }
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let workers = args.workers.unwrap_or(cores).clamp(1, 64);
    work(&target, &run, workers, &trust, globals, world)?;
    let state = audit::state(&mut archive, &run.id).map_err(failure)?;
    if state.done < state.ranges {
        writeln!(
            world.err,
            "{} of {} ranges are done; others still work on the rest",
            state.done, state.ranges
        )?;
        return Err(Failure::from("the audit is not finished")
            .hint("give the same command again: it goes on, or tells what came out"));
    }
    let report = audit::report(&mut archive, &run.id).map_err(failure)?;
    show(&report, globals, world)?;
    Ok(if report.valid {
        Exit::Good
    } else {
        Exit::NotGood
    })
}

/// The signers files to trust.
fn trust(args: &Args, globals: &Globals, world: &World<'_>) -> Result<Trust, Failure> {
    let mut trust = Trust::default();
    let path = match &args.signers {
        Some(path) => world.folder.join(path),
        None => workshops(globals, world)
            .hint("or name who may sign with `--signers PATH`")?
            .first()
            .map(|shop| shop.signers_path())
            .unwrap_or_default(),
    };
    if !path.is_dir() {
        trust.all = read_signers(Some(&path))?;
        if trust.all.is_none() {
            return Err(Failure::from(format!(
                "there is no signers file `{}`",
                path.display()
            )));
        }
        return Ok(trust);
    }
    for entry in std::fs::read_dir(&path)? {
        let file: PathBuf = entry?.path();
        let name = file
            .file_name()
            .and_then(|name| name.to_str())
            .map(str::to_owned);
        if let (Some(name), true) = (name, Path::is_file(&file))
            && let Some(signers) = read_signers(Some(&file))?
        {
            trust.of.insert(name, signers);
        }
    }
    Ok(trust)
}

fn work(
    target: &Target,
    run: &audit::Run,
    workers: usize,
    trust: &Trust,
    globals: &Globals,
    world: &mut World<'_>,
) -> Result<(), Failure> {
    let host = std::fs::read_to_string("/proc/sys/kernel/hostname").unwrap_or_default();
    let mut progress = Progress::new(globals, world, "ranges", || run.ranges.unsigned_abs());
    let mut done = run.done.unsigned_abs();
    let cache = SpecsCache::default();
    let failed: Mutex<Option<ArchiveError>> = Mutex::new(None);
    std::thread::scope(|scope| {
        let (ranges, finished) = sync_channel::<u64>(64);
        for number in 1..=workers {
            let (ranges, cache, failed) = (ranges.clone(), &cache, &failed);
            let name = format!("{}/{}/{number}", host.trim(), std::process::id());
            scope.spawn(move || {
                let worked = Archive::open(target).and_then(|mut archive| {
                    let each = |records| ranges.send(records).is_ok();
                    audit::work(&mut archive, &run.id, &name, trust, cache, each)
                });
                if let (Err(error), Ok(mut failed)) = (worked, failed.lock()) {
                    failed.get_or_insert(error);
                }
            });
        }
        drop(ranges);
        for _ in finished {
            done += 1;
            progress.show(world, done);
        }
    });
    progress.clear(world);
    match failed.into_inner() {
        Ok(Some(error)) => Err(failure(error)),
        _ => Ok(()),
    }
}

fn show(report: &Report, globals: &Globals, world: &mut World<'_>) -> Result<(), Failure> {
    if globals.json {
        writeln!(world.out, "{:#}", serde_json::to_value(report)?)?;
        return Ok(());
    }
    let style = style(globals, world);
    for problem in &report.problems {
        writeln!(
            world.out,
            "BAD {}: {}: {}",
            style.text(&problem.place),
            style.text(&problem.kind),
            style.text(&problem.detail)
        )?;
    }
    writeln!(
        world.out,
        "{} records: {} valid, {} of a newer version, {} problems; {} workers",
        report.records,
        report.records_valid,
        report.records_newer,
        report.problems.len(),
        report.workers.len()
    )?;
    Ok(())
}
