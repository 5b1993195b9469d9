//! `sign`: freeze a revision of the job and sign it.

use std::path::{Path, PathBuf};

use super::error::{Exit, Failure, Hint as _};
use super::key::key_name;
use super::open::{JobFile, person};
use super::{Globals, World};
use crate::job::Event;
use crate::judge;
use crate::office;
use crate::record::canonical;
use crate::record::freeze::{FORMAT, Record, SignerStatement, Stage, VERSION, journal_lines};
use crate::record::sshsig::{self, NAMESPACE};
use crate::shop::atomic::{self, Access, Existing, NewFile};
use crate::shop::chain::{Chain, Link};
use crate::shop::journal::Journal;
use crate::shop::keys::KeyFolder;
use crate::walk::{Part, steps};

/// Sign the job's record
///
/// `--as-found` freezes what the customer is asked to decide on, before any repair; without it the
/// record is final. Refused, with the list of what is missing, while something is open.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  brakecorner sign HWY-0411 --as-found")]
pub(super) struct Args {
    /// Job number
    job: String,
    /// Freeze what was found, before any repair
    #[arg(long)]
    as_found: bool,
    /// Sign although the walk is unfinished, for this reason; the record says so
    #[arg(long, value_name = "REASON")]
    incomplete: Option<String>,
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let by = person(globals, world)?;
    let (mut file, mut journal) = JobFile::write(globals, world, &args.job)?;
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
        let hint = if missing.hard.is_empty() {
            "finish with `brakecorner walk`, or sign with --incomplete \"REASON\""
        } else {
            "finish with `brakecorner walk`"
        };
        return Err(
            Failure::from(format!("not signed; still open:\n  {}", list.join("\n  "))).hint(hint),
        );
    }
    let incomplete = if missing.soft.is_empty() { "" } else { reason };
    let signed = freeze(&mut file, world, &by, stage, incomplete)?;
    let event = Event::Signed {
        revision: signed.revision,
        sha256: signed.sha256.clone(),
    };
    file.append(&mut journal, world, &by, &[event])?;
    if globals.json {
        let value = serde_json::json!({
            "job": args.job, "revision": signed.revision, "stage": stage,
            "record": signed.path, "sha256": signed.sha256, "signer": by
        });
        writeln!(world.out, "{value:#}")?;
    } else {
        writeln!(
            world.out,
            "signed {} as revision {}",
            args.job, signed.revision
        )?;
        writeln!(world.out, "  sha256 {}", signed.sha256)?;
        let name = signed
            .path
            .file_name()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned();
        writeln!(
            world.err,
            "anyone can check it:\n  ssh-keygen -Y verify -f signers -I \"{by}\" -n {NAMESPACE} -s {name}.sig < {name}"
        )?;
    }
    Ok(Exit::Good)
}

struct Signed {
    revision: u32,
    sha256: String,
    path: PathBuf,
}

/// What stands in the way of a signature: `hard` cannot be signed over, `soft` can with a reason.
#[derive(Default)]
struct Missing {
    hard: Vec<String>,
    soft: Vec<String>,
}

fn missing(file: &JobFile, stage: Stage) -> Missing {
    let case = file.case();
    let mut missing = Missing::default();
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
    }
    if stage == Stage::AsFound {
        return missing;
    }
    let left = open(Part::Left);
    if left > 0 {
        missing
            .soft
            .push(format!("{left} steps of the state as left"));
    }
    if steps(&case, Part::Refit)
        .iter()
        .any(|s| !s.done && matches!(s.step, crate::walk::Step::RoadTest))
    {
        missing
            .soft
            .push("the road test has not answered the complaint".to_owned());
    }
    let judgement = judge::judge(&case);
    let obstacles = office::signing_obstacles(&case, &judgement);
    missing
        .hard
        .extend(obstacles.iter().map(ToString::to_string));
    missing
}

/// A record that was written while its journal entry was not (the program died between the two) is
/// entered now.
fn catch_up(
    file: &mut JobFile,
    journal: &mut Journal,
    world: &mut World<'_>,
    by: &str,
) -> Result<(), Failure> {
    let next = next_revision(file);
    let path = file.folder.join(format!("record-{next}.json"));
    if path.exists() && signature_path(&path).exists() {
        let bytes = std::fs::read(&path)?;
        let event = Event::Signed {
            revision: next,
            sha256: canonical::sha256_hex(&bytes),
        };
        file.append(journal, world, by, &[event])?;
        writeln!(
            world.err,
            "note: revision {next} was signed before; its journal entry is made up for now"
        )?;
    }
    Ok(())
}

fn next_revision(file: &JobFile) -> u32 {
    file.job
        .signed
        .iter()
        .map(|(revision, _)| *revision)
        .max()
        .unwrap_or(0)
        + 1
}

/// Where the signature of a record lies.
pub(super) fn signature_path(record: &Path) -> PathBuf {
    let mut name = record.as_os_str().to_owned();
    name.push(".sig");
    PathBuf::from(name)
}

fn freeze(
    file: &mut JobFile,
    world: &mut World<'_>,
    by: &str,
    stage: Stage,
    incomplete: &str,
) -> Result<Signed, Failure> {
    let config = world.config_folder();
    let keys = KeyFolder::new(&config);
    let passphrase = world.var("BRAKECORNER_PASSPHRASE").map(str::to_owned);
    let name = key_name(by);
    let key = keys
        .load(&name, passphrase.as_deref())
        .hint(format!("make one with `brakecorner key new --by \"{by}\"`; a locked key needs BRAKECORNER_PASSPHRASE"))?;
    let device = keys.device(&mut ssh_key::rand_core::OsRng)?;
    let mut chain = Chain::open(&config, &name)?;
    let journal_path = file.folder.join("journal.jsonl");
    let contents = Journal::peek(&journal_path)?;
    let text = std::fs::read_to_string(&journal_path)?;
    let judgement = judge::judge(&file.case());
    let revision = next_revision(file);
    let previous_revision = file
        .job
        .signed
        .last()
        .map(|(_, sha256)| sha256.clone())
        .unwrap_or_default();
    let fingerprint = key.fingerprint(ssh_key::HashAlg::Sha256).to_string();
    let record = Record {
        format: FORMAT,
        version: VERSION,
        rules_version: judge::RULES_VERSION,
        program: concat!("brakecorner ", env!("CARGO_PKG_VERSION")),
        job: &judgement.job,
        revision,
        previous_revision: &previous_revision,
        stage,
        incomplete,
        signed_at: world.clock.now(),
        workshop: &file.shop.settings.name,
        signer: SignerStatement {
            principal: by.to_owned(),
            fingerprint,
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
    let armour = sshsig::sign(&bytes, NAMESPACE, &key)?;
    let path = file.folder.join(format!("record-{revision}.json"));
    let sha256 = canonical::sha256_hex(&bytes);
    // The place in the row is taken before the files appear, so that a death in between leaves
    // either nothing or a place that the next signature finds unused and takes again.
    chain.reserve(Link {
        sha256: sha256.clone(),
        record: path.clone(),
    })?;
    let signature = signature_path(&path);
    let group = [
        NewFile {
            path: &signature,
            bytes: armour.as_bytes(),
            existing: Existing::Replace,
            access: Access::Default,
        },
        NewFile {
            path: &path,
            bytes: &bytes,
            existing: Existing::Refuse,
            access: Access::Default,
        },
    ];
    atomic::write_group(&group, &mut atomic::no_hook)?;
    chain.confirm()?;
    Ok(Signed {
        revision,
        sha256,
        path,
    })
}
