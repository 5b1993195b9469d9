//! `index`: the derived index of a workshop with many jobs.

use clap::Subcommand;

use super::error::{Exit, Failure};
use super::open::workshops;
use super::visits;
use super::{Globals, World};

/// Make the index that speeds up `due` and `history`
///
/// The index is derived from the journals and checked against them: deleting it, or leaving it
/// behind, never changes an answer. A workshop of a few hundred jobs needs none.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(subcommand)]
    action: Action,
}

#[derive(Debug, Subcommand)]
enum Action {
    /// Make it anew from every journal
    #[command(after_help = "Example:\n  brakecorner index rebuild --shop /srv/highway")]
    Rebuild,
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    match args.action {
        Action::Rebuild => rebuild(globals, world),
    }
}

fn rebuild(globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let mut exit = Exit::Good;
    let mut rows = Vec::new();
    for shop in workshops(globals, world)? {
        let (jobs, problems) = visits::rebuild(&shop)?;
        for problem in &problems {
            writeln!(world.err, "not read: {problem}")?;
            exit = Exit::NoAnswer;
        }
        if globals.json {
            rows.push(serde_json::json!({
                "shop": shop.settings.name, "indexed": jobs, "not_read": problems
            }));
        } else {
            writeln!(world.out, "{}: {jobs} jobs indexed", shop.settings.name)?;
        }
    }
    if globals.json {
        writeln!(world.out, "{:#}", serde_json::Value::from(rows))?;
    }
    Ok(exit)
}
