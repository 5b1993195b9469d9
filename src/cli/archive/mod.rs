//! `archive`: the shared archive of many workshops.

mod audit;
mod init;
mod push;
pub(super) mod question;
mod status;

use clap::Subcommand;

use super::error::{Exit, Failure};
use super::{Globals, World};
use crate::archive::ArchiveError;
use crate::archive::connect::Archive;
use crate::archive::target::Target;

/// Keep the signed records of many workshops in one PostgreSQL database
///
/// The workshop's folder stays what it is and works without a network; `push` sends what is new, as
/// often as wanted. The password comes from PGPASSWORD, ~/.pgpass or a service file, never from the
/// address. To another computer the connection is encrypted and its certificate checked.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  brakecorner archive init --to postgres://owner@db.example/archive --enrol north --role north\n  brakecorner archive push --to postgres://north@db.example/archive\n  brakecorner due --archive postgres://office@db.example/archive --within 30d"
)]
pub(super) struct Args {
    #[command(subcommand)]
    action: Action,
}

#[derive(Debug, Subcommand)]
enum Action {
    Init(init::Args),
    Push(push::Args),
    Status(status::Args),
    Audit(audit::Args),
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    match &args.action {
        Action::Init(args) => init::run(args, globals, world),
        Action::Push(args) => push::run(args, globals, world),
        Action::Status(args) => status::run(args, globals, world),
        Action::Audit(args) => audit::run(args, globals, world),
    }
}

/// An error of the archive with what to do.
pub(super) fn failure(error: ArchiveError) -> Failure {
    let hint = error.hint();
    Failure::from(error).hint(hint)
}

/// Reads an archive's address with this world's environment.
pub(super) fn target(url: &str, world: &World<'_>) -> Result<Target, Failure> {
    let mut target = Target::read(url, &world.env).map_err(failure)?;
    target.root_certificates = target.root_certificates.map(|path| world.folder.join(path));
    Ok(target)
}

/// Opens an archive to ask it.
pub(super) fn open(url: &str, world: &World<'_>) -> Result<Archive, Failure> {
    Archive::open(&target(url, world)?).map_err(failure)
}
