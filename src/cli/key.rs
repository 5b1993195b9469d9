//! `key`: the keys people sign with, and who may sign.

mod pen;
mod trust;

use std::path::PathBuf;

use clap::Subcommand;
use ssh_key::PublicKey;

pub(crate) use pen::Pen;
pub(crate) use trust::read_signers;

use super::error::{Exit, Failure, Hint as _};
use super::open::{person, style, user_path, workshop};
use super::{Globals, World};
use crate::record::key::SignerKey;
use crate::record::signers::Signers;
use crate::shop::atomic;
use crate::shop::folder::Workshop;
use crate::shop::keys::KeyFolder;

/// Make, import, list, trust and revoke the keys people sign with
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(subcommand)]
    action: Action,
}

#[derive(Debug, Subcommand)]
enum Action {
    New(New),
    Import(Import),
    List(List),
    Trust(trust::Trust),
    Revoke(trust::Revoke),
}

/// Make a key and let its owner sign in this workshop
///
/// The secret half goes into your own settings folder, for you alone to read; the public half into
/// the workshop's signers file. BRAKECORNER_PASSPHRASE locks it. With --agent no key is made: the
/// one your ssh-agent holds is used, and its secret never touches this program.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  brakecorner key new --by \"Ilse Varga\"\n  brakecorner key new --by \"Ilse Varga\" --agent"
)]
struct New {
    /// Use an Ed25519 key of the running ssh-agent; name its fingerprint if it holds several
    #[arg(long, value_name = "FINGERPRINT", num_args = 0..=1, default_missing_value = "")]
    agent: Option<String>,
}

/// Take over an OpenSSH Ed25519 key you have, and let its owner sign in this workshop
///
/// The secret file is copied into your own settings folder; a passphrase stays on it.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  brakecorner key import ~/.ssh/id_ed25519 --by \"Ilse Varga\"")]
struct Import {
    /// The secret key file
    file: PathBuf,
}

/// List your keys, or who may sign in this workshop
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  brakecorner key list --signers")]
struct List {
    /// Who may sign in this workshop, from when until when, and what is revoked
    #[arg(long)]
    signers: bool,
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    match &args.action {
        Action::New(new) => run_new(new, globals, world),
        Action::Import(import) => run_import(import, globals, world),
        Action::List(List { signers: true }) => list_signers(globals, world),
        Action::List(_) => list(globals, world),
        Action::Trust(args) => trust::trust(args, globals, world),
        Action::Revoke(args) => trust::revoke(args, globals, world),
    }
}

/// The file name of a person's key: letters and digits of the name, lower case.
pub(crate) fn key_name(person: &str) -> String {
    let mut name = String::new();
    for c in person.chars() {
        if c.is_ascii_alphanumeric() {
            name.push(c.to_ascii_lowercase());
        } else if !name.is_empty() && !name.ends_with('-') {
            name.push('-');
        }
    }
    let name = name.trim_end_matches('-').to_owned();
    // A name without any ASCII letter still gets a file of its own.
    if name.is_empty() {
        let digest = crate::job::journal::sha256_hex(person.as_bytes());
        format!("key-{}", digest.get(..12).unwrap_or_default())
    } else {
        name
    }
}

fn run_new(new: &New, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let shop = workshop(globals, world)?;
    let by = person(globals, world)?;
    if let Some(which) = &new.agent {
        return new_in_agent(which, &shop, &by, globals, world);
    }
    let keys = KeyFolder::new(&world.config_folder());
    let passphrase = world.var("BRAKECORNER_PASSPHRASE").map(str::to_owned);
    let key = keys
        .create(
            &key_name(&by),
            &by,
            passphrase.as_deref(),
            &mut ssh_key::rand_core::OsRng,
        )
        .hint("`brakecorner key list` shows your keys")?;
    let made = Made {
        verb: "made a key",
        path: key.path,
        key: SignerKey::try_from(&key.public)?,
    };
    introduce(&shop, &by, &made, globals, world)
}

/// Chooses a key the agent holds.
fn new_in_agent(
    which: &str,
    shop: &Workshop,
    by: &str,
    globals: &Globals,
    world: &mut World<'_>,
) -> Result<Exit, Failure> {
    let held = pen::held(&pen::socket(world)?)?;
    let fitting: Vec<_> = held
        .iter()
        .filter(|one| which.is_empty() || one.key.fingerprint() == which)
        .collect();
    let [one] = fitting[..] else {
        let known: Vec<String> = held
            .iter()
            .map(|one| format!("{} {}", one.key.fingerprint(), one.comment))
            .collect();
        return Err(Failure::from(format!(
            "the ssh-agent holds {} Ed25519 keys that fit, expected 1",
            fitting.len()
        ))
        .hint(if known.is_empty() {
            "add one with `ssh-add FILE`".to_owned()
        } else {
            format!(
                "choose with --agent FINGERPRINT among: {}",
                known.join(", ")
            )
        }));
    };
    let public = PublicKey::from_openssh(&one.key.to_openssh())?;
    let path = KeyFolder::new(&world.config_folder()).note_agent(&key_name(by), &public)?;
    let made = Made {
        verb: "noted the agent's key",
        path,
        key: one.key,
    };
    introduce(shop, by, &made, globals, world)
}

fn run_import(import: &Import, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let shop = workshop(globals, world)?;
    let by = person(globals, world)?;
    let keys = KeyFolder::new(&world.config_folder());
    let key = keys
        .import(&key_name(&by), &world.folder.join(&import.file))
        .hint("an Ed25519 key is made by `ssh-keygen -t ed25519`, or by `brakecorner key new`")?;
    let made = Made {
        verb: "imported a key",
        path: key.path,
        key: SignerKey::try_from(&key.public)?,
    };
    introduce(&shop, &by, &made, globals, world)
}

/// A key that has just come into the folder.
struct Made {
    verb: &'static str,
    path: PathBuf,
    key: SignerKey,
}

/// Lets the key sign in the workshop, and remembers whose computer this is.
fn introduce(
    shop: &Workshop,
    by: &str,
    made: &Made,
    globals: &Globals,
    world: &mut World<'_>,
) -> Result<Exit, Failure> {
    let grant = trust::Grant {
        name: by,
        key: made.key,
        from: world.clock.now().to_utc(),
        until: None,
    };
    trust::grant(shop, &grant)?;
    let user = user_path(world);
    if !user.exists() {
        atomic::write_new(&user, format!("{by}\n").as_bytes())?;
    }
    let fingerprint = made.key.fingerprint();
    if globals.json {
        let value = serde_json::json!({"name": by, "fingerprint": fingerprint, "path": made.path});
        writeln!(world.out, "{value:#}")?;
    } else {
        writeln!(world.out, "{} for {by}: {fingerprint}", made.verb)?;
        writeln!(
            world.out,
            "{by} may sign in {} from now on",
            shop.settings.name
        )?;
    }
    Ok(Exit::Good)
}

fn list_signers(globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let shop = workshop(globals, world)?;
    let style = style(globals, world);
    let signers = read_signers(&shop.signers_path())?;
    let mut rows = Vec::new();
    for line in signers.iter().flat_map(Signers::lines) {
        let revoked = signers
            .as_ref()
            .and_then(|signers| signers.revoked().place_of(&line.key));
        if globals.json {
            rows.push(serde_json::json!({
                "name": line.principals, "fingerprint": line.key.fingerprint(),
                "from": line.valid_after, "until": line.valid_before, "revoked": revoked.is_some()
            }));
            continue;
        }
        let bound = |word: &str, time: Option<chrono::DateTime<chrono::Utc>>| {
            time.map(|time| format!("  {word} {}", time.format("%Y-%m-%d %H:%M UTC")))
                .unwrap_or_default()
        };
        let text = format!(
            "{}  {}{}{}{}",
            line.principals,
            line.key.fingerprint(),
            bound("from", line.valid_after),
            bound("until", line.valid_before),
            revoked
                .map(|place| format!("  REVOKED ({place})"))
                .unwrap_or_default()
        );
        writeln!(world.out, "{}", style.text(&text))?;
    }
    if globals.json {
        writeln!(world.out, "{:#}", serde_json::Value::from(rows))?;
    }
    Ok(Exit::Good)
}

fn list(globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let folder = KeyFolder::new(&world.config_folder());
    let listing = folder.list()?;
    let mut in_agent = Vec::new();
    for name in folder.agent_names()? {
        let key = SignerKey::try_from(&folder.public(&name)?)?;
        in_agent.push((name, key.fingerprint()));
    }
    if globals.json {
        let mut keys: Vec<_> = listing
            .keys
            .iter()
            .map(|key| serde_json::json!({"name": key.name, "fingerprint": key.fingerprint(), "locked": key.locked, "agent": false}))
            .collect();
        keys.extend(in_agent.iter().map(|(name, fingerprint)| {
            serde_json::json!({"name": name, "fingerprint": fingerprint, "locked": false, "agent": true})
        }));
        writeln!(world.out, "{:#}", serde_json::Value::from(keys))?;
    } else {
        for key in &listing.keys {
            let lock = if key.locked {
                " (locked by a passphrase)"
            } else {
                ""
            };
            writeln!(world.out, "{}  {}{lock}", key.name, key.fingerprint())?;
        }
        for (name, fingerprint) in &in_agent {
            writeln!(world.out, "{name}  {fingerprint} (held by the ssh-agent)")?;
        }
        if listing.keys.is_empty() && in_agent.is_empty() {
            writeln!(
                world.out,
                "you have no key; `brakecorner key new --by \"Your Name\"` makes one"
            )?;
        }
    }
    for problem in listing.problems {
        writeln!(world.err, "note: {problem}")?;
    }
    Ok(Exit::Good)
}
