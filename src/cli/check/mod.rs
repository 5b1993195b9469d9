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
mod pedal;
mod report;
mod ring;
mod rollers;
mod runout;
mod shim;
mod study;
mod torque;
mod wear;

use super::error::{Exit, Failure};
use super::lazy::Lazy;
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

// The first lines stand here once more because the definitions below them wait until needed; a test
// compares the two.
#[derive(Debug, clap::Subcommand)]
enum What {
    /// Judge the thickness of a disc and its variation
    Disc(Box<Lazy<disc::Args>>),
    /// Judge the lateral run-out of a disc
    Runout(Box<Lazy<runout::Args>>),
    /// Tell hub and disc apart, and find where the disc should sit
    Clocking(Box<Lazy<clocking::Args>>),
    /// Find the tapered correction plate for an assembled run-out
    Shim(Box<Lazy<shim::Args>>),
    /// Scale the run-out of a hub face to another radius
    Hub(Box<Lazy<hub::Args>>),
    /// Judge the end float of a wheel bearing
    Bearing(Box<Lazy<bearing::Args>>),
    /// Judge the pads of one wheel, or a drum's linings
    Pad(Box<Lazy<pad::Args>>),
    /// Judge the inside diameter of a brake drum
    Drum(Box<Lazy<drum::Args>>),
    /// Forecast how far a part may still go
    Wear(Box<Lazy<wear::Args>>),
    /// Judge brake forces from a roller tester
    Rollers(Box<Lazy<rollers::Args>>),
    /// Judge the boiling point of brake fluid against its grade
    Fluid(Box<Lazy<fluid::Args>>),
    /// Plan the tightening of a wheel: stages, order, tool, re-torque
    Torque(Box<Lazy<torque::Args>>),
    /// Find how much of its travel a brake pedal uses, and whether it sinks
    Pedal(Box<Lazy<pedal::Args>>),
    /// Find how well a gauge and its people repeat
    Study(Box<Lazy<study::Args>>),
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let input = &mut *world.input;
    let answer = match &args.what {
        What::Disc(args) => disc::answer(&args.0, input),
        What::Runout(args) => runout::answer(&args.0, input),
        What::Clocking(args) => clocking::answer(&args.0, input),
        What::Shim(args) => shim::answer(&args.0, input),
        What::Hub(args) => hub::answer(&args.0, input),
        What::Bearing(args) => bearing::answer(&args.0, input),
        What::Pad(args) => pad::answer(&args.0, input),
        What::Drum(args) => drum::answer(&args.0, input),
        What::Wear(args) => wear::answer(&args.0, input),
        What::Rollers(args) => rollers::answer(&args.0),
        What::Fluid(args) => fluid::answer(&args.0),
        What::Torque(args) => torque::answer(&args.0),
        What::Pedal(args) => pedal::answer(&args.0, input),
        What::Study(args) => study::answer(&args.0, input),
    };
    let answer = answer.map_err(error::CheckError::into_failure)?;
    answer.write(style(globals, world), globals.json, world)
}
