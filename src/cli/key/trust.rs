//! `key trust` and `key revoke`: who may sign in the workshop, and which keys no longer.

use std::path::{Path, PathBuf};

use chrono::{DateTime, NaiveDate, NaiveTime, Utc};

use super::super::error::{Exit, Failure, Hint as _};
use super::super::open::{person, workshop};
use super::super::{Globals, World};
use crate::record::key::SignerKey;
use crate::record::revoked::Revoked;
use crate::record::signers::{Signer, Signers};
use crate::record::sshsig::{COUNTERSIGN_NAMESPACE, NAMESPACE, REDACTED_NAMESPACE};
use crate::shop::atomic;
use crate::shop::folder::Workshop;
use crate::shop::keys::read_public;
use crate::shop::lock::Lock;
use crate::shop::plain_file;

const LIMIT: u64 = crate::record::signers::MAX_FILE as u64;

/// Let a key sign in this workshop, or change from when until when it may
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  brakecorner key trust tam.pub --name \"Tam Okoro\" --until 2027-03-31 --by \"Ruth Aldous\""
)]
pub(super) struct Trust {
    /// File with the public key: `ssh-ed25519 AAAA…`
    file: PathBuf,
    /// Whose key it is
    #[arg(long, value_name = "NAME")]
    name: String,
    /// First day or moment it may sign (UTC); now, unless given
    #[arg(long, value_name = "TIME", value_parser = from_time)]
    from: Option<DateTime<Utc>>,
    /// Last day or moment it may sign (UTC)
    #[arg(long, value_name = "TIME", value_parser = until_time)]
    until: Option<DateTime<Utc>>,
}

/// Stop trusting a key
///
/// A revoked key counts for nothing any more, not even on records it signed before: whoever has
/// stolen it could have set the clock back. For somebody who leaves in good standing use --leaving:
/// the key signs nothing from now on, and what it has signed stays valid.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  brakecorner key revoke \"Tam Okoro\" --reason \"laptop stolen\" --by \"Ruth Aldous\""
)]
pub(super) struct Revoke {
    /// The person, a key's fingerprint, or a file with the public key
    who: String,
    /// Why, kept as a comment in the file
    #[arg(long, value_name = "WORDS", default_value = "")]
    reason: String,
    /// The key may not sign from now on; what it has signed stays valid
    #[arg(long)]
    leaving: bool,
}

fn from_time(text: &str) -> Result<DateTime<Utc>, String> {
    time(text, NaiveTime::MIN)
}

fn until_time(text: &str) -> Result<DateTime<Utc>, String> {
    // The last second of the day, since the bound itself still counts.
    time(
        text,
        NaiveTime::from_hms_opt(23, 59, 59).unwrap_or(NaiveTime::MIN),
    )
}

fn time(text: &str, of_day: NaiveTime) -> Result<DateTime<Utc>, String> {
    let day = text
        .parse::<NaiveDate>()
        .map(|day| day.and_time(of_day).and_utc());
    day.or_else(|_| text.parse::<DateTime<Utc>>())
        .map_err(|_| "expected a day (2026-03-31) or a moment (2026-03-31T12:00:00Z)".to_owned())
}

/// The file of revoked keys beside a signers file.
pub(crate) fn revoked_path(signers: &Path) -> PathBuf {
    signers.with_file_name("revoked")
}

/// Reads a signers file and the revoked keys beside it; `None` if there is no signers file.
pub(crate) fn read_signers(path: &Path) -> Result<Option<Signers>, Failure> {
    let Some(bytes) = plain_file::read_if_there(path, LIMIT)? else {
        return Ok(None);
    };
    let signers = Signers::parse(&path.display().to_string(), &bytes)?;
    let revoked = revoked_path(path);
    Ok(Some(match plain_file::read_if_there(&revoked, LIMIT)? {
        Some(bytes) => {
            signers.with_revoked(Revoked::parse(&revoked.display().to_string(), &bytes)?)
        }
        None => signers,
    }))
}

/// A key to be trusted.
pub(super) struct Grant<'a> {
    pub(super) name: &'a str,
    pub(super) key: SignerKey,
    pub(super) from: DateTime<Utc>,
    pub(super) until: Option<DateTime<Utc>>,
}

/// Adds a line to the workshop's signers file, or replaces the line of the same name and key.
pub(super) fn grant(shop: &Workshop, grant: &Grant<'_>) -> Result<(), Failure> {
    let path = shop.signers_path();
    let _lock = Lock::take(&path.with_extension("lock"))?;
    let text = text_of(&path)?;
    let signers = read_signers(&path)?;
    if let Some(signers) = &signers {
        signers
            .not_revoked(&grant.key)
            .hint("make a new key; a revoked one stays revoked")?;
    }
    let line = Signer {
        line: 0,
        principals: grant.name.to_owned(),
        namespaces: Some(format!(
            "{NAMESPACE},{COUNTERSIGN_NAMESPACE},{REDACTED_NAMESPACE}"
        )),
        valid_after: Some(grant.from),
        valid_before: grant.until,
        key: grant.key,
        comment: String::new(),
    }
    .render()
    .hint("choose a name of plain letters")?;
    let old = signers
        .iter()
        .flat_map(Signers::lines)
        .find(|one| one.key == grant.key && one.principals == grant.name);
    replace_line(&path, &text, old.map(|old| old.line), &line)
}

fn text_of(path: &Path) -> Result<String, Failure> {
    let bytes = plain_file::read_if_there(path, LIMIT)?.unwrap_or_default();
    String::from_utf8(bytes).hint(format!("`{}` is not UTF-8", path.display()))
}

/// Replaces a line of a file by its number, or adds one at the end.
fn replace_line(path: &Path, text: &str, number: Option<usize>, line: &str) -> Result<(), Failure> {
    let mut lines: Vec<&str> = text.lines().collect();
    match number.and_then(|number| lines.get_mut(number.checked_sub(1)?)) {
        Some(old) => *old = line,
        None => lines.push(line),
    }
    let mut text = lines.join("\n");
    text.push('\n');
    Signers::parse("signers", text.as_bytes())?;
    Ok(atomic::replace(path, text.as_bytes())?)
}

pub(super) fn trust(
    args: &Trust,
    globals: &Globals,
    world: &mut World<'_>,
) -> Result<Exit, Failure> {
    let shop = workshop(globals, world)?;
    let key = SignerKey::try_from(&read_public(&world.folder.join(&args.file))?)?;
    let from = args.from.unwrap_or_else(|| world.clock.now().to_utc());
    grant(
        &shop,
        &Grant {
            name: &args.name,
            key,
            from,
            until: args.until,
        },
    )?;
    if globals.json {
        let value = serde_json::json!({
            "name": args.name, "fingerprint": key.fingerprint(), "from": from, "until": args.until
        });
        writeln!(world.out, "{value:#}")?;
    } else {
        let until = args
            .until
            .map(|until| format!(" until {}", until.format("%Y-%m-%d %H:%M UTC")))
            .unwrap_or_default();
        writeln!(
            world.out,
            "{} may sign in {} with {} from {}{until}",
            args.name,
            shop.settings.name,
            key.fingerprint(),
            from.format("%Y-%m-%d %H:%M UTC")
        )?;
    }
    Ok(Exit::Good)
}

pub(super) fn revoke(
    args: &Revoke,
    globals: &Globals,
    world: &mut World<'_>,
) -> Result<Exit, Failure> {
    let shop = workshop(globals, world)?;
    let by = person(globals, world)?;
    let path = shop.signers_path();
    let lock = Lock::take(&path.with_extension("lock"))?;
    let signers = read_signers(&path)?;
    let lines: Vec<&Signer> = signers.iter().flat_map(Signers::lines).collect();
    let keys = keys_of(args, world, &lines)?;
    let now = world.clock.now();
    if args.leaving {
        end_lines(&path, &lines, &keys, now.to_utc())?;
    } else {
        let file = revoked_path(&path);
        let mut text = text_of(&file)?;
        let already = signers.as_ref().map(Signers::revoked);
        for key in &keys {
            if already.is_some_and(|revoked| revoked.place_of(key).is_some()) {
                continue;
            }
            if !text.is_empty() && !text.ends_with('\n') {
                text.push('\n');
            }
            let reason: String = args.reason.chars().filter(|c| !c.is_control()).collect();
            text.push_str(&format!(
                "# {} by {by}: {reason}\n{}\n",
                now.format("%Y-%m-%d"),
                key.to_openssh()
            ));
        }
        Revoked::parse("revoked", text.as_bytes())?;
        atomic::replace(&file, text.as_bytes())?;
    }
    drop(lock);
    let fingerprints: Vec<String> = keys.iter().map(SignerKey::fingerprint).collect();
    if globals.json {
        let value = serde_json::json!({
            "revoked": !args.leaving, "ended": args.leaving, "fingerprints": fingerprints
        });
        writeln!(world.out, "{value:#}")?;
    } else {
        let what = if args.leaving {
            "signs nothing from now on; what it has signed stays valid"
        } else {
            "is revoked; nothing it ever signed is valid any more"
        };
        for fingerprint in fingerprints {
            writeln!(world.out, "{fingerprint} {what}")?;
        }
        if !args.leaving {
            writeln!(
                world.err,
                "next: `brakecorner audit` lists the records it signed"
            )?;
        }
    }
    Ok(Exit::Good)
}

/// The keys meant: of a person, of a fingerprint, or in a file.
fn keys_of(args: &Revoke, world: &World<'_>, lines: &[&Signer]) -> Result<Vec<SignerKey>, Failure> {
    let mut keys: Vec<SignerKey> = lines
        .iter()
        .filter(|line| line.principals == args.who || line.key.fingerprint() == args.who)
        .map(|line| line.key)
        .collect();
    if keys.is_empty() {
        let path = world.folder.join(&args.who);
        if path.is_file() {
            keys.push(SignerKey::try_from(&read_public(&path)?)?);
        }
    }
    keys.sort_unstable();
    keys.dedup();
    if keys.is_empty() {
        return Err(Failure::from(format!(
            "`{}` is no signer's name, no signer's fingerprint and no key file",
            args.who
        ))
        .hint("`brakecorner key list --signers` shows who may sign"));
    }
    Ok(keys)
}

/// Sets the end of every line of these keys that has none or a later one.
fn end_lines(
    path: &Path,
    lines: &[&Signer],
    keys: &[SignerKey],
    now: DateTime<Utc>,
) -> Result<(), Failure> {
    for line in lines.iter().filter(|line| keys.contains(&line.key)) {
        if line.valid_before.is_some_and(|end| end <= now) {
            continue;
        }
        let ended = Signer {
            valid_before: Some(now),
            ..(*line).clone()
        };
        let text = text_of(path)?;
        let rendered = ended.render().hint(format!(
            "edit line {} of the signers file by hand",
            line.line
        ))?;
        replace_line(path, &text, Some(line.line), &rendered)?;
    }
    Ok(())
}
