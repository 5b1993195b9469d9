//! `archive status`: what the archive holds of this workshop, and what is still to be pushed.

use super::{failure, open};
use crate::archive::query;
use crate::cli::error::{Exit, Failure, Hint as _};
use crate::cli::open::workshop;
use crate::cli::{Globals, World};
use crate::record::canonical::sha256_hex;

/// Say what the archive holds, and what of this workshop is still to be pushed
///
/// A shop's role compares with the workshop's folder: exit code 0 when everything is in the
/// archive, 1 when something is still to be pushed or differs. Head office's role gets every
/// shop's count and last receipt.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  brakecorner archive status --to postgres://north@db.example/archive"
)]
pub(in crate::cli) struct Args {
    /// The archive's database
    #[arg(long, value_name = "URL")]
    to: String,
}

pub(in crate::cli) fn run(
    args: &Args,
    globals: &Globals,
    world: &mut World<'_>,
) -> Result<Exit, Failure> {
    let mut archive = open(&args.to, world)?;
    let shops = query::shops(&mut archive).map_err(failure)?;
    if archive.shop().is_err() {
        if globals.json {
            let value = serde_json::json!({
                "archive": archive.place(), "version": crate::archive::schema::VERSION, "shops": shops
            });
            writeln!(world.out, "{value:#}")?;
            return Ok(Exit::Good);
        }
        for shop in &shops {
            let last = shop
                .last_received
                .map_or("nothing received".to_owned(), |at| {
                    format!("last received {}", at.format("%Y-%m-%d %H:%M UTC"))
                });
            writeln!(
                world.out,
                "{}  {}  {} records, {last}",
                shop.shop, shop.name, shop.records
            )?;
        }
        if shops.is_empty() {
            writeln!(world.out, "no shop has pushed anything yet")?;
        }
        return Ok(Exit::Good);
    }
    compare(&mut archive, &shops, globals, world)
}

/// What differs between folder and archive.
#[derive(Default)]
struct Difference {
    there: usize,
    to_push: Vec<String>,
    differ: Vec<String>,
    only_there: Vec<String>,
}

fn compare(
    archive: &mut crate::archive::connect::Archive,
    shops: &[query::ShopRow],
    globals: &Globals,
    world: &mut World<'_>,
) -> Result<Exit, Failure> {
    let shop = workshop(globals, world)
        .hint("in the folder of a workshop this compares it with the archive")?;
    let id = archive.shop().map_err(failure)?;
    let mut stored = query::records_of(archive, &id).map_err(failure)?;
    let mut found = Difference::default();
    for one in super::push::candidates(&shop)? {
        let path = shop
            .job_folder(&one.job)?
            .join(format!("record-{}.json", one.revision));
        let bytes = crate::shop::plain_file::read(&path, crate::cli::verify::LIMIT)?;
        let name = format!("{} revision {}", one.job, one.revision);
        match stored.remove(&(one.job, one.revision)) {
            None => found.to_push.push(name),
            Some(digest) if digest == sha256_hex(&bytes) => found.there += 1,
            Some(_) => found.differ.push(name),
        }
    }
    found.only_there = stored
        .into_keys()
        .map(|(job, revision)| format!("{job} revision {revision}"))
        .collect();
    let last = shops
        .iter()
        .find(|row| row.shop == id)
        .and_then(|row| row.last_received);
    if globals.json {
        let value = serde_json::json!({
            "archive": archive.place(), "version": crate::archive::schema::VERSION, "shop": id,
            "there": found.there, "to_push": found.to_push, "differ": found.differ,
            "only_in_archive": found.only_there, "last_received": last
        });
        writeln!(world.out, "{value:#}")?;
    } else {
        let last = last.map_or("nothing received yet".to_owned(), |at| {
            format!("last received {}", at.format("%Y-%m-%d %H:%M UTC"))
        });
        writeln!(
            world.out,
            "shop {id} in {}: {} records there, {} to push; {last}",
            archive.place(),
            found.there,
            found.to_push.len()
        )?;
        for (word, names) in [
            ("to push", &found.to_push),
            ("differs", &found.differ),
            ("only in the archive", &found.only_there),
        ] {
            for name in names {
                writeln!(world.out, "  {word}: {name}")?;
            }
        }
    }
    Ok(if found.to_push.is_empty() && found.differ.is_empty() {
        Exit::Good
    } else {
        Exit::NotGood
    })
}
