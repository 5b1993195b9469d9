//! `check`: the calculator at the bench, without a job and without a folder.

mod bearing;
mod clocking;
mod disc;
mod drum;
mod error;
mod fluid;
mod hub;
mod input;
mod pad;
mod report;
mod ring;
mod rollers;
mod runout;
mod shim;
mod torque;
mod wear;

use super::error::{Exit, Failure};
use super::open::style;
use super::{Globals, World};

/// Measure, compute and judge one thing at the bench, without a job
///
/// Readings are separated by blanks; `-` reads them from the standard input. A unit may follow any
/// length. Exit code 0 when every answer is PASS, 1 when it is a valid answer that is not (ADVISE,
/// FAIL, NO LIMIT, a refused forecast or clocking), 2 when there is none.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example:\n  brakecorner check disc --readings \"22.01 22.00 22.01 22.02\" --limit 22"
)]
pub(super) struct Args {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, clap::Subcommand)]
enum What {
    Disc(Box<disc::Args>),
    Runout(Box<runout::Args>),
    Clocking(Box<clocking::Args>),
    Shim(Box<shim::Args>),
    Hub(Box<hub::Args>),
    Bearing(bearing::Args),
    Pad(Box<pad::Args>),
    Drum(drum::Args),
    Wear(Box<wear::Args>),
    Rollers(rollers::Args),
    Fluid(fluid::Args),
    Torque(torque::Args),
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let input = &mut *world.input;
    let answer = match &args.what {
        What::Disc(args) => disc::answer(args, input),
        What::Runout(args) => runout::answer(args, input),
        What::Clocking(args) => clocking::answer(args, input),
        What::Shim(args) => shim::answer(args, input),
        What::Hub(args) => hub::answer(args, input),
        What::Bearing(args) => bearing::answer(args, input),
        What::Pad(args) => pad::answer(args, input),
        What::Drum(args) => drum::answer(args, input),
        What::Wear(args) => wear::answer(args, input),
        What::Rollers(args) => rollers::answer(args),
        What::Fluid(args) => fluid::answer(args),
        What::Torque(args) => torque::answer(args),
    };
    let answer = answer.map_err(error::CheckError::into_failure)?;
    answer.write(style(globals, world), globals.json, world)
}
