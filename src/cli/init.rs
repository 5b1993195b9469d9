//! `init`: make a workshop folder.

use std::path::PathBuf;

use super::error::{Exit, Failure, Hint as _};
use super::{Globals, World};
use crate::job::SideNames;
use crate::shop::folder::{Settings, Workshop};

/// Make a workshop folder
///
/// The folder must be empty or not exist. It holds the workshop's settings, the instrument
/// register, spec sheets, vehicles and jobs; secret keys never lie in it.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  brakecorner init yard --name \"Hollin Wharf Yard\" --rules gb")]
pub(super) struct Args {
    /// Folder to make
    folder: PathBuf,
    /// Name of the workshop
    #[arg(long)]
    name: String,
    /// Address line for the sheet (can be repeated)
    #[arg(long, value_name = "LINE")]
    address: Vec<String>,
    /// Word for money on quotes
    #[arg(long, default_value = "", value_name = "WORD")]
    currency: String,
    /// How the sides are called: left_right, nearside_left (traffic keeps left), nearside_right
    #[arg(long, default_value = "left_right", value_parser = sides, value_name = "WORDS")]
    sides: SideNames,
    /// Rule packs to judge by, separated by commas
    #[arg(
        long,
        value_delimiter = ',',
        default_value = "gb",
        value_name = "NAMES"
    )]
    rules: Vec<String>,
}

fn sides(text: &str) -> Result<SideNames, String> {
    serde_json::from_value(text.into())
        .map_err(|_| "expected left_right, nearside_left or nearside_right".to_owned())
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let known: Vec<&str> = crate::spec::builtin_rule_packs()
        .iter()
        .map(|(file, _)| file.trim_end_matches(".toml"))
        .collect();
    if let Some(unknown) = args
        .rules
        .iter()
        .find(|rule| !known.contains(&rule.as_str()))
    {
        return Err(Failure::from(format!("there is no rule pack `{unknown}`"))
            .hint(format!("there are: {}", known.join(", "))));
    }
    let name = args.name.trim();
    if name.is_empty() {
        return Err(Failure::from("the workshop has no name")
            .hint("it stands on every sheet: --name \"Hollin Wharf Yard\""));
    }
    let settings = Settings {
        name: name.to_owned(),
        address: args.address.clone(),
        currency: args.currency.clone(),
        sides: args.sides,
        rules: args.rules.clone(),
        policy: "default".to_owned(),
        schedule: "routine".to_owned(),
    };
    let folder = world.folder.join(&args.folder);
    let shop = Workshop::create(&folder, settings).hint("choose an empty folder or a new name")?;
    if globals.json {
        let value = serde_json::json!({"shop": shop.folder, "name": shop.settings.name});
        writeln!(world.out, "{value:#}")?;
    } else {
        writeln!(
            world.out,
            "{} is ready in {}",
            shop.settings.name,
            args.folder.display()
        )?;
        writeln!(
            world.err,
            "next: brakecorner --shop {} instrument add … and key new --by \"Your Name\"",
            args.folder.display()
        )?;
    }
    Ok(Exit::Good)
}
