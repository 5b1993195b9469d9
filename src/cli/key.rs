//! `key`: the keys people sign with, and who may sign.

use clap::Subcommand;

use super::error::{Exit, Failure, Hint as _};
use super::open::{person, user_path, workshop};
use super::{Globals, World};
use crate::record::key::SignerKey;
use crate::record::signers::{Signer, Signers};
use crate::record::sshsig::{COUNTERSIGN_NAMESPACE, NAMESPACE};
use crate::shop::atomic;
use crate::shop::folder::Workshop;
use crate::shop::keys::{KeyFolder, StoredKey};

/// Make a key to sign with, list keys
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(subcommand)]
    action: Action,
}

#[derive(Debug, Subcommand)]
enum Action {
    New(New),
    List(List),
}

/// Make a key and let its owner sign in this workshop
///
/// The secret half goes into your own settings folder, for you alone to read; the public half into
/// the workshop's signers file. BRAKECORNER_PASSPHRASE locks it.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  brakecorner key new --by \"Ilse Varga\"")]
struct New {}

/// List your keys
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  brakecorner key list")]
struct List {}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    match args.action {
        Action::New(_) => new(globals, world),
        Action::List(_) => list(globals, world),
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

fn new(globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let shop = workshop(globals, world)?;
    let by = person(globals, world)?;
    let config = world.config_folder();
    let keys = KeyFolder::new(&config);
    let passphrase = world.var("BRAKECORNER_PASSPHRASE").map(str::to_owned);
    let key = keys
        .create(
            &key_name(&by),
            &by,
            passphrase.as_deref(),
            &mut ssh_key::rand_core::OsRng,
        )
        .hint("`brakecorner key list` shows the keys you have")?;
    trust(&shop, &by, &key, world)?;
    let user = user_path(world);
    if !user.exists() {
        atomic::write_new(&user, format!("{by}\n").as_bytes())?;
    }
    if globals.json {
        let value =
            serde_json::json!({"name": by, "fingerprint": key.fingerprint(), "path": key.path});
        writeln!(world.out, "{value:#}")?;
    } else {
        writeln!(world.out, "made a key for {by}: {}", key.fingerprint())?;
        writeln!(
            world.out,
            "{by} may sign in {} from now on",
            shop.settings.name
        )?;
    }
    Ok(Exit::Good)
}

/// Adds a line to the workshop's signers file.
fn trust(shop: &Workshop, by: &str, key: &StoredKey, world: &mut World<'_>) -> Result<(), Failure> {
    let path = shop.signers_path();
    let old = match std::fs::read(&path) {
        Ok(bytes) => bytes,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Vec::new(),
        Err(source) => {
            return Err(Failure::from(source).hint(format!("make {} readable", path.display())));
        }
    };
    let signer = Signer {
        line: 0,
        principals: by.to_owned(),
        namespaces: Some(format!("{NAMESPACE},{COUNTERSIGN_NAMESPACE}")),
        valid_after: Some(world.clock.now().to_utc()),
        valid_before: None,
        key: SignerKey::from_openssh(&key.public.to_openssh()?)?,
        comment: String::new(),
    };
    let mut text = String::from_utf8(old).hint("the signers file is not UTF-8")?;
    if !text.is_empty() && !text.ends_with('\n') {
        text.push('\n');
    }
    text.push_str(
        &signer
            .render()
            .hint("choose a name of plain letters for `--by`")?,
    );
    text.push('\n');
    Signers::parse("signers", text.as_bytes())?;
    atomic::replace(&path, text.as_bytes())?;
    Ok(())
}

fn list(globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let listing = KeyFolder::new(&world.config_folder()).list()?;
    if globals.json {
        let keys: Vec<_> = listing
            .keys
            .iter()
            .map(|key| serde_json::json!({"name": key.name, "fingerprint": key.fingerprint(), "locked": key.locked}))
            .collect();
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
        if listing.keys.is_empty() {
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
