//! `completions` and `man`: what a shell and a manual reader want to know of the command line.

use std::path::PathBuf;

use clap::CommandFactory as _;
use clap_complete::Shell;

use super::error::{Exit, Failure, Hint as _};
use super::{Cli, World};

/// Print the completion script of a shell
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  brakecorner completions bash > ~/.local/share/bash-completion/completions/brakecorner"
)]
pub(super) struct Completions {
    /// Which shell
    #[arg(value_enum)]
    shell: Shell,
}

/// Print the manual page of the program or of a command
///
/// In roff, for `man -l`; with --to one page a command is written into a folder.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  brakecorner man | man -l -\n  brakecorner man check disc | man -l -\n  brakecorner man --to ~/.local/share/man/man1"
)]
pub(super) struct Man {
    /// The command, as in `check disc`
    command: Vec<String>,
    /// Write a page for every command into this folder
    #[arg(long, value_name = "DIR", conflicts_with = "command")]
    to: Option<PathBuf>,
}

pub(super) fn completions(args: &Completions, world: &mut World<'_>) -> Result<Exit, Failure> {
    let mut command = Cli::command();
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut command, "brakecorner", &mut script);
    world.out.write_all(&script)?;
    Ok(Exit::Good)
}

pub(super) fn man(args: &Man, world: &mut World<'_>) -> Result<Exit, Failure> {
    let mut command = Cli::command();
    command.build();
    if let Some(folder) = &args.to {
        let folder = world.folder.join(folder);
        std::fs::create_dir_all(&folder)
            .and_then(|()| clap_mangen::generate_to(command, &folder))
            .map_err(|why| format!("{}: cannot write the pages here: {why}", folder.display()))
            .hint("choose a folder you may write to, or print one page without --to")?;
        return Ok(Exit::Good);
    }
    let mut page = &command;
    for name in &args.command {
        page = page.find_subcommand(name).ok_or_else(|| {
            Failure::from(format!("there is no command `{}`", args.command.join(" ")))
                .hint("`brakecorner --help` lists them")
        })?;
    }
    let mut roff = Vec::new();
    clap_mangen::Man::new(page.clone()).render(&mut roff)?;
    world.out.write_all(&roff)?;
    Ok(Exit::Good)
}
