//! `sign`: freeze a revision of the job and sign it; countersign; time-stamp.

mod countersign;
mod photos;
mod stamp;

use std::path::{Path, PathBuf};

use chrono::{DateTime, FixedOffset};

pub(super) use photos::{PhotoError, compare as compare_photo};
pub(super) use stamp::authorities_path;

use super::error::{Exit, Failure, Hint as _};
use super::key::{Pen, key_name, read_signers};
use super::open::{JobFile, person, workshop};
use super::record::quoted;
use super::verify::LIMIT;
use super::{Globals, World};
use crate::job::{Event, Phase};
use crate::judge;
use crate::office;
use crate::record::canonical;
use crate::record::freeze::{FORMAT, Record, SignerStatement, Stage, VERSION, journal_lines};
use crate::record::redact::redact;
use crate::record::sshsig::{NAMESPACE, REDACTED_NAMESPACE};
use crate::record::verify;
use crate::shop::atomic::{self, Access, Existing, NewFile};
use crate::shop::chain::{Chain, Link};
use crate::shop::journal::Journal;
use crate::shop::keys::KeyFolder;
use crate::shop::lock::Lock;
use crate::shop::plain_file;
use crate::walk::{Part, steps};

/// Sign the job's record
///
/// `--as-found` freezes what the customer is asked to decide on, before any repair; without it the
/// record is final. Refused, with the list of what is missing, while something is open. Signing
/// again after a correction makes the next revision, which names the digest of the one before.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  brakecorner sign HWY-0411 --as-found\n  brakecorner sign HWY-0411 --countersign --by \"Tam Okoro\"\n  brakecorner sign HWY-0411 --stamp-request"
)]
pub(super) struct Args {
    /// Job number
    job: String,
    /// Freeze what was found, before any repair
    #[arg(long)]
    as_found: bool,
    /// Sign although the walk is unfinished, for this reason; the record says so
    #[arg(long, value_name = "REASON")]
    incomplete: Option<String>,
    /// Add a second person's signature to a revision that is signed
    #[arg(long, conflicts_with_all = ["as_found", "incomplete"])]
    countersign: bool,
    /// Write a request for a time-stamp (RFC 3161) on a revision, for an authority of your choice
    #[arg(long, conflicts_with_all = ["as_found", "incomplete", "countersign"])]
    stamp_request: bool,
    /// Check the authority's reply and keep it beside the revision
    #[arg(long, value_name = "FILE", conflicts_with_all = ["as_found", "incomplete", "countersign", "stamp_request"])]
    stamp: Option<PathBuf>,
    /// Certificates (PEM) of the authorities trusted for --stamp; otherwise the workshop's authorities.pem
    #[arg(long, value_name = "FILE", requires = "stamp")]
    stamp_trust: Option<PathBuf>,
    /// Revision to countersign or stamp; the last, unless given
    #[arg(long, value_name = "N")]
    revision: Option<u32>,
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    super::practice::refuse(&args.job, globals, world)?;
    let shop = workshop(globals, world)?;
    let folder = shop
        .job_folder(&args.job)
        .hint("job numbers look like HWY-0411")?;
    if !folder.join("journal.jsonl").is_file() {
        return Err(Failure::from(format!(
            "there is no job `{}` in `{}`",
            args.job,
            shop.folder.display()
        ))
        .hint("`brakecorner job list` shows the jobs"));
    }
    // One signer at a time: two would write the same revision.
    let _lock = Lock::take(&folder.join("sign.lock"))
        .hint("let the other finish, then repeat the command")?;
    if args.countersign {
        countersign::run(args, globals, world)
    } else if args.stamp_request {
        stamp::request(args, globals, world)
    } else if let Some(reply) = &args.stamp {
        stamp::keep(args, reply, globals, world)
    } else {
        run_sign(args, globals, world)
    }
}

fn run_sign(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    if args.revision.is_some() {
        return Err(Failure::from(
            "--revision goes with --countersign, --stamp-request or --stamp",
        )
        .hint("a new signature always makes the next revision"));
    }
    let by = person(globals, world)?;
    let (mut file, mut journal) = JobFile::write(globals, world, &args.job)?;
    file.instruments_as_signed();
    let pen = Pen::of(world, &by)?;
    catch_up(&mut file, &mut journal, world, &by)?;
    let stage = if args.as_found {
        Stage::AsFound
    } else {
        Stage::Final
    };
    let missing = missing(&file, stage);
    let reason = args.incomplete.as_deref().unwrap_or_default().trim();
    if !missing.hard.is_empty() || (!missing.soft.is_empty() && reason.is_empty()) {
        let mut list = missing.hard.clone();
        list.extend(missing.soft.clone());
        let mut failure =
            Failure::from(format!("not signed; still open:\n  {}", list.join("\n  ")));
        for command in &missing.closed_by {
            failure = failure.hint(command.as_str());
        }
        if missing.hard.is_empty() {
            failure = failure.hint("or sign with --incomplete \"REASON\"");
        }
        return Err(failure);
    }
    photos::check(&file)?;
    let incomplete = if missing.soft.is_empty() { "" } else { reason };
    let signed_at = world.clock.now();
    let signers = read_signers(&file.shop.signers_path())?;
    pen.may_sign(&by, signers.as_ref(), NAMESPACE, signed_at)?;
    let frozen = Frozen {
        by: &by,
        stage,
        incomplete,
        signed_at,
    };
    let signed = freeze(&mut file, world, &pen, &frozen)?;
    let event = Event::Signed {
        revision: signed.revision,
        sha256: signed.sha256.clone(),
    };
    file.append(&mut journal, world, &by, &[event])?;
    let countersign = stage == Stage::Final && file.specs.policy.countersign_required.value;
    let phase = match stage {
        Stage::AsFound => Phase::AsFound,
        Stage::Final => Phase::AsLeft,
    };
    let case = file.case();
    let drive = office::drive(&case, &judge::judge(&case), phase);
    if globals.json {
        let value = serde_json::json!({
            "job": args.job, "revision": signed.revision, "stage": stage,
            "record": signed.path, "sha256": signed.sha256, "signer": by,
            "countersignature_required": countersign, "drive": drive
        });
        writeln!(world.out, "{value:#}")?;
    } else {
        writeln!(
            world.out,
            "signed {} as revision {}",
            args.job, signed.revision
        )?;
        writeln!(world.out, "  sha256 {}", signed.sha256)?;
        writeln!(world.out, "  {drive}")?;
        if countersign {
            writeln!(
                world.out,
                "  not valid before a second person countersigns: brakecorner sign {} --countersign --by NAME",
                args.job
            )?;
        }
        let name = file_name(&signed.path);
        writeln!(
            world.err,
            "anyone can check it:\n  ssh-keygen -Y verify -f signers -I {} -n {NAMESPACE} -s {name}.sig < {name}",
            quoted(&by)
        )?;
    }
    Ok(Exit::Good)
}

fn file_name(path: &Path) -> String {
    path.file_name()
        .unwrap_or_default()
        .to_string_lossy()
        .into_owned()
}

struct Signed {
    revision: u32,
    sha256: String,
    path: PathBuf,
}

/// What the signer says of the state that is frozen.
struct Frozen<'a> {
    by: &'a str,
    stage: Stage,
    incomplete: &'a str,
    signed_at: DateTime<FixedOffset>,
}

/// What stands in the way of a signature: `hard` cannot be signed over, `soft` can with a reason.
#[derive(Default)]
struct Missing {
    hard: Vec<String>,
    soft: Vec<String>,
    /// The commands that close what is open, each once.
    closed_by: Vec<String>,
}

impl Missing {
    fn closes(&mut self, command: String) {
        if !self.closed_by.contains(&command) {
            self.closed_by.push(command);
        }
    }
}

fn missing(file: &JobFile, stage: Stage) -> Missing {
    let case = file.case();
    let mut missing = Missing::default();
    let job = file
        .job
        .opening
        .as_ref()
        .map_or("JOB", |opening| opening.job.as_str());
    let open = |part: Part| {
        steps(&case, part)
            .into_iter()
            .filter(|s| !s.done && !s.optional)
            .count()
    };
    let found = open(Part::Found);
    if found > 0 {
        missing
            .soft
            .push(format!("{found} steps of the inspection as found"));
        missing.closes(format!("brakecorner walk {job} --part found"));
    }
    if stage == Stage::AsFound {
        return missing;
    }
    let left = open(Part::Left);
    if left > 0 {
        missing
            .soft
            .push(format!("{left} steps of the state as left"));
        missing.closes(format!("brakecorner walk {job} --part left"));
    }
    if steps(&case, Part::Refit)
        .iter()
        .any(|s| !s.done && matches!(s.step, crate::walk::Step::RoadTest))
    {
        missing
            .soft
            .push("the road test has not answered the complaint".to_owned());
        missing.closes(format!("brakecorner refit {job}"));
    }
    let judgement = judge::judge(&case);
    let obstacles = office::signing_obstacles(&case, &judgement);
    for obstacle in &obstacles {
        missing.hard.push(obstacle.to_string());
        missing.closes(obstacle.closed_by(job));
    }
    missing
}

/// A record that was written while its journal entry was not (the program died between the two) is
/// entered now; anything else that lies in its place is refused.
fn catch_up(
    file: &mut JobFile,
    journal: &mut Journal,
    world: &mut World<'_>,
    by: &str,
) -> Result<(), Failure> {
    let next = next_revision(file);
    let path = file.folder.join(format!("record-{next}.json"));
    let Some(bytes) = plain_file::read_if_there(&path, LIMIT)? else {
        return Ok(());
    };
    let signature = plain_file::read_if_there(&signature_path(&path), LIMIT)?;
    let signers = read_signers(&file.shop.signers_path())?;
    let found = verify::verify(&bytes, signature.as_deref(), signers.as_ref());
    let last = file.job.signed.last().map(|(_, sha256)| sha256.as_str());
    let fits = found.job.as_deref() == file.job.opening.as_ref().map(|o| o.job.as_str())
        && found.revision == Some(next)
        && found.previous_revision.as_deref() == Some(last.unwrap_or_default());
    if !found.good() || !fits {
        let why = match found.first_bad() {
            Some(stage) => format!("{}: {}", stage.stage, stage.detail),
            None => "it is not the next revision of this job".to_owned(),
        };
        return Err(Failure::from(format!(
            "`{}` lies where the next revision goes, and the journal knows nothing of it ({why})",
            path.display()
        ))
        .hint("find out where it came from; move it away to sign"));
    }
    let event = Event::Signed {
        revision: next,
        sha256: found.sha256,
    };
    file.append(journal, world, by, &[event])?;
    writeln!(
        world.err,
        "note: revision {next} was signed before; its journal entry was missing and is written now"
    )?;
    Ok(())
}

fn next_revision(file: &JobFile) -> u32 {
    let last = file.job.signed.iter().map(|(revision, _)| *revision).max();
    last.unwrap_or(0).saturating_add(1)
}

/// Where the signature of a record lies.
pub(super) fn signature_path(record: &Path) -> PathBuf {
    beside(record, ".sig")
}

/// Where a second person's signature of a record lies.
pub(super) fn countersignature_path(record: &Path) -> PathBuf {
    beside(record, ".countersign.sig")
}

/// Where the signature of the copy without VIN and plate lies.
pub(super) fn redacted_signature_path(record: &Path) -> PathBuf {
    beside(record, ".redacted.sig")
}

/// Where a time-stamp of a record's signature lies.
pub(super) fn stamp_path(record: &Path) -> PathBuf {
    beside(record, ".tsr")
}

/// A file that belongs to a record: its name and an ending.
pub(super) fn beside(record: &Path, ending: &str) -> PathBuf {
    let mut name = record.as_os_str().to_owned();
    name.push(ending);
    PathBuf::from(name)
}

fn freeze(
    file: &mut JobFile,
    world: &mut World<'_>,
    pen: &Pen,
    frozen: &Frozen<'_>,
) -> Result<Signed, Failure> {
    let config = world.config_folder();
    let device = KeyFolder::new(&config).device(&mut ssh_key::rand_core::OsRng)?;
    let mut chain = Chain::open(&config, &key_name(frozen.by))
        .hint("let the other signature finish, then repeat the command")?;
    let journal_path = file.folder.join("journal.jsonl");
    let contents = Journal::peek(&journal_path)?;
    let text = std::fs::read_to_string(&journal_path)?;
    // What is frozen must be what was looked through for open points.
    let last = contents.entries.last().map_or(0, |entry| entry.meta.seq);
    if last != file.job.last_seq {
        return Err(Failure::from(format!(
            "not signed: somebody wrote entries {} to {last} meanwhile",
            file.job.last_seq.saturating_add(1)
        ))
        .hint("look at what was entered, then repeat the command"));
    }
    let judgement = judge::judge(&file.case());
    let revision = next_revision(file);
    let previous_revision = file
        .job
        .signed
        .last()
        .map(|(_, sha256)| sha256.clone())
        .unwrap_or_default();
    let record = Record {
        format: FORMAT,
        version: VERSION,
        rules_version: judge::RULES_VERSION,
        program: concat!("brakecorner ", env!("CARGO_PKG_VERSION")),
        job: &judgement.job,
        revision,
        previous_revision: &previous_revision,
        stage: frozen.stage,
        incomplete: frozen.incomplete,
        signed_at: frozen.signed_at,
        workshop: &file.shop.settings.name,
        signer: SignerStatement {
            principal: frozen.by.to_owned(),
            fingerprint: pen.public().fingerprint(),
            device: device.as_str().to_owned(),
            sequence: chain.next_sequence(),
            previous: chain.previous().to_owned(),
        },
        judgement: &judgement,
        instruments: &file.register,
        specifications: &file.snapshots,
        journal: journal_lines(&text, &contents)?,
    };
    let bytes = record.to_bytes()?;
    let armour = pen.sign(&bytes, NAMESPACE)?;
    let copy = pen.sign(&redact(&bytes)?, REDACTED_NAMESPACE)?;
    let path = file.folder.join(format!("record-{revision}.json"));
    let sha256 = canonical::sha256_hex(&bytes);
    // The place in the row is taken before the files appear, so that a death in between leaves
    // either nothing or a place that the next signature finds unused and takes again.
    chain.reserve(Link {
        sha256: sha256.clone(),
        record: path.clone(),
    })?;
    write_record(&path, &bytes, &armour, &copy)?;
    chain.confirm()?;
    Ok(Signed {
        revision,
        sha256,
        path,
    })
}

/// Writes a record with its signatures; the record comes last and is the sign that all are there.
fn write_record(path: &Path, bytes: &[u8], armour: &str, copy: &str) -> Result<(), Failure> {
    let (signature, redacted) = (signature_path(path), redacted_signature_path(path));
    let file = |path, bytes, existing| NewFile {
        path,
        bytes,
        existing,
        access: Access::Default,
    };
    let group = [
        file(&redacted, copy.as_bytes(), Existing::Replace),
        file(&signature, armour.as_bytes(), Existing::Replace),
        file(path, bytes, Existing::Refuse),
    ];
    Ok(atomic::write_group(&group, &mut atomic::no_hook)?)
}
