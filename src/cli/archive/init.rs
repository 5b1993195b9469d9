//! `archive init`: make the archive or bring it forward; enrol shops and head office.

use super::{failure, target};
use crate::archive::connect::Archive;
use crate::archive::schema::{self, Layout, Leaf, LeafAddress, PARTS};
use crate::cli::error::{Exit, Failure, Hint as _};
use crate::cli::{Globals, World};

/// Make the archive in a database, or bring it forward to this program's version
///
/// Run by the role that owns the archive. With `--enrol` and `--role` a role is enrolled for a shop,
/// with `--office` one that reads every shop; a role that does not exist is made without a password
/// (set it with `\password` in psql). Over several servers each holds some parts of the shops, and
/// head office's server, made with `--leaf`, reads the others'.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  brakecorner archive init --to postgres://owner@localhost/archive\n  brakecorner archive init --to postgres://owner@localhost/archive --enrol north --role north\n  brakecorner archive init --to postgres://owner@db1/archive --parts 12 --here 0,3,6,9"
)]
pub(in crate::cli) struct Args {
    /// The archive's database
    #[arg(long, value_name = "URL")]
    to: String,
    /// Enrol a shop: its id, made of a-z, 0-9 and -
    #[arg(long, value_name = "ID")]
    enrol: Option<String>,
    /// The role that pushes for the shop
    #[arg(long, value_name = "ROLE", requires = "enrol")]
    role: Option<String>,
    /// A role that reads every shop
    #[arg(long, value_name = "ROLE")]
    office: Option<String>,
    /// Into how many parts the shops are divided, the same on all servers [default: 12]
    #[arg(long, value_name = "N")]
    parts: Option<i32>,
    /// The parts that lie on this server; all, unless given
    #[arg(long, value_name = "N,N,…", value_delimiter = ',')]
    here: Vec<i32>,
    /// Make head office's server, that reads these parts from another: NAME=URL=N,N,… (repeatable)
    #[arg(long, value_name = "NAME=URL=N,…", conflicts_with = "here")]
    leaf: Vec<String>,
}

pub(in crate::cli) fn run(
    args: &Args,
    globals: &Globals,
    world: &mut World<'_>,
) -> Result<Exit, Failure> {
    let target = target(&args.to, world)?;
    let parts = args.parts.unwrap_or(PARTS);
    let mut layout = Layout::single(parts.clamp(0, 1024));
    layout.parts = parts;
    if !args.here.is_empty() {
        layout.here.clone_from(&args.here);
    }
    if !args.leaf.is_empty() {
        layout.here.clear();
        for text in &args.leaf {
            layout.leaves.push(leaf(text, world)?);
        }
    }
    let mut archive = Archive::connect(&target).map_err(failure)?;
    let migrated = schema::migrate(&mut archive, &layout).map_err(failure)?;
    let mut made = Vec::new();
    if let Some(shop) = &args.enrol {
        match &args.role {
            Some(role) => {
                if schema::enrol(&mut archive, shop, role).map_err(failure)? {
                    made.push(role.clone());
                }
            }
            None => schema::note_shop(&mut archive, shop).map_err(failure)?,
        }
    }
    if let Some(role) = &args.office
        && schema::let_read(&mut archive, role).map_err(failure)?
    {
        made.push(role.clone());
    }
    if globals.json {
        let value = serde_json::json!({
            "archive": archive.place(), "version_before": migrated.before, "version": migrated.now,
            "shop": args.enrol, "role": args.role, "office": args.office, "roles_made": made
        });
        writeln!(world.out, "{value:#}")?;
        return Ok(Exit::Good);
    }
    let what = match migrated.before {
        None => "made".to_owned(),
        Some(before) if before == migrated.now => "is up to date".to_owned(),
        Some(before) => format!("brought forward from version {before}"),
    };
    writeln!(
        world.out,
        "archive {} {what}, tables of version {}",
        archive.place(),
        migrated.now
    )?;
    match (&args.enrol, &args.role) {
        (Some(shop), Some(role)) => writeln!(world.out, "`{role}` pushes for shop `{shop}`")?,
        (Some(shop), None) => writeln!(world.out, "shop `{shop}` noted")?,
        _ => {}
    }
    if let Some(role) = &args.office {
        writeln!(world.out, "`{role}` reads every shop")?;
    }
    for role in made {
        writeln!(
            world.out,
            "the role `{role}` was made without a password: set one with `\\password {role}` in psql"
        )?;
    }
    Ok(Exit::Good)
}

fn leaf(text: &str, world: &World<'_>) -> Result<Leaf, Failure> {
    const FORM: &str = "a server looks like one=postgres://db1.example/archive=0,3,6,9";
    let wrong = || {
        Failure::from(format!(
            "`{}` is no server with its parts",
            text.escape_debug()
        ))
    };
    let (name, rest) = text.split_once('=').ok_or_else(wrong).hint(FORM)?;
    let (url, parts) = rest.rsplit_once('=').ok_or_else(wrong).hint(FORM)?;
    let parts = parts
        .split(',')
        .map(|part| part.trim().parse::<i32>())
        .collect::<Result<Vec<_>, _>>()
        .map_err(|_| wrong())
        .hint(FORM)?;
    if name.is_empty() {
        return Err(wrong().hint(FORM));
    }
    Ok(Leaf {
        name: name.to_owned(),
        address: LeafAddress::from(&target(url, world)?),
        parts,
    })
}
