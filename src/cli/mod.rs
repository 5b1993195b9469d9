//! The command line: one file a command; the only layer that prints, prompts, reads the
//! environment or looks at the clock.

#[cfg(feature = "archive")]
mod archive;
mod ask;
mod audit;
mod check;
mod contact;
mod demo;
mod due;
mod error;
mod facts;
mod history;
mod index;
mod init;
mod instrument;
mod job;
mod key;
mod lazy;
mod log;
mod manual;
mod open;
mod plain;
mod practice;
mod progress;
mod quote;
mod record;
mod refit;
mod sheet;
mod sign;
mod spec;
mod style;
mod vehicle;
mod verdict;
mod verify;
mod visits;
mod walk;
mod work;
mod world;

use std::ffi::OsString;
use std::path::PathBuf;

use clap::{Parser, Subcommand};

use lazy::Lazy;
use plain::Plain;

pub use error::{Exit, Failure};
pub use world::{Clock, ColorChoice, World};

/// Record a brake-corner inspection, judge it, and sign what was found
///
/// Exit codes: 0 done, or every answer good; 1 a valid answer that is not good (ADVISE, FAIL,
/// INCOMPLETE, a signature that does not verify); 2 no answer (wrong use, unreadable, damaged) or
/// not done.
///
/// The tool records and computes. The maker's instructions and local law come first; a competent,
/// where required licensed, person decides.
#[derive(Debug, Parser)]
#[command(
    name = "brakecorner",
    version,
    max_term_width = 100,
    after_help = "Begin with: brakecorner demo"
)]
pub struct Cli {
    #[command(flatten)]
    globals: Globals,
    #[command(subcommand)]
    command: Command,
}

/// Options every command takes.
#[derive(Clone, Debug, clap::Args)]
pub(crate) struct Globals {
    /// Workshop folder; otherwise the one the current folder lies in (`due` and `history` take several)
    #[arg(long, global = true, value_name = "DIR")]
    pub(crate) shop: Vec<PathBuf>,
    /// Results as JSON
    #[arg(long, global = true)]
    pub(crate) json: bool,
    /// Use colour
    #[arg(long, global = true, value_enum, default_value_t, value_name = "WHEN")]
    pub(crate) color: ColorChoice,
    /// Plain ASCII, no lines and no cursor tricks
    #[arg(long, global = true)]
    pub(crate) plain: bool,
    /// Who holds the gauge or the pen; otherwise the user of this computer's settings
    #[arg(long, global = true, value_name = "NAME")]
    pub(crate) by: Option<String>,
}

// The first lines stand here once more because the definitions below them wait until needed; a test
// compares the two.
#[derive(Debug, Subcommand)]
enum Command {
    /// Make a demonstration workshop and carry four jobs through it
    Demo(Lazy<demo::Args>),
    /// Measure, compute and judge one thing at the bench, without a job
    Check(Lazy<check::Args>),
    /// Make a workshop folder
    Init(Lazy<init::Args>),
    /// Open a job, list the jobs, forget a customer's data
    Job(Lazy<job::Args>),
    /// Keep the register of instruments
    Instrument(Lazy<instrument::Args>),
    /// Make, import, list, trust and revoke the keys people sign with
    Key(Lazy<key::Args>),
    /// Walk through a job, corner by corner, prompt by prompt
    Walk(Lazy<walk::Args>),
    /// Practise on an invented corner whose true hub, disc and wear are known
    Practice(Lazy<practice::Args>),
    /// Enter readings of an item, or what a look found
    Log(Lazy<log::Args>),
    /// Log what was done: a part fitted, something cleaned, adjusted, tightened, turned
    Work(Lazy<work::Args>),
    /// Judge a job: PASS, ADVISE or FAIL for every item, with its reason
    Verdict(Lazy<verdict::Args>),
    /// Sign the job's record
    Sign(Lazy<sign::Args>),
    /// Check a signed record, stage by stage
    Verify(Lazy<verify::Args>),
    /// Verify every record of one or more workshops
    Audit(Lazy<audit::Args>),
    /// Make copies of a signed record for others
    Record(Lazy<record::Args>),
    /// Print the findings sheet a customer understands
    Sheet(Lazy<sheet::Args>),
    /// Compare the findings with the first quote, change it, talk about it
    Quote(Lazy<quote::Args>),
    /// Log a talk with the customer and the decision on every line
    Contact(Lazy<contact::Args>),
    /// Put the wheels back on: torque in stages and star order, then the before-it-moves list
    Refit(Lazy<refit::Args>),
    /// List what is due: re-torques, wear, calibrations, lines that were left, calls
    Due(Lazy<due::Args>),
    /// Show a vehicle's visits, its wear over distance, and what its forecasts were worth
    History(Lazy<history::Args>),
    /// Make the index that speeds up `due` and `history`
    Index(Lazy<index::Args>),
    /// Keep the signed records of many workshops in one PostgreSQL database
    #[cfg(feature = "archive")]
    Archive(Lazy<archive::Args>),
    /// List, show, check and bring in spec sheets, rule packs and policies
    Spec(Lazy<spec::Args>),
    /// Show, edit or list the vehicles the workshop knows
    Vehicle(Lazy<vehicle::Args>),
    /// Print the completion script of a shell
    Completions(Lazy<manual::Completions>),
    /// Print the manual page of the program or of a command
    Man(Lazy<manual::Man>),
}

/// Runs one command line in a world.
///
/// Results go to the world's `out`, everything else to its `err`. Never panics on any input.
pub fn run(args: impl IntoIterator<Item = OsString>, world: &mut World<'_>) -> Exit {
    let cli = match Cli::try_parse_from(args) {
        Ok(cli) => cli,
        Err(error) => return usage(&error, world),
    };
    // A sheet may be a PDF, and draws its own text in ASCII; a script is for a shell.
    let file = matches!(
        cli.command,
        Command::Sheet(_) | Command::Completions(_) | Command::Man(_)
    );
    if !cli.globals.plain || cli.globals.json || file {
        return carry_out(cli, world);
    }
    let (mut out, mut err) = (Plain::new(&mut *world.out), Plain::new(&mut *world.err));
    let mut plain = World {
        clock: std::mem::replace(&mut world.clock, Clock::Machine),
        input: &mut *world.input,
        out: &mut out,
        err: &mut err,
        env: world.env.clone(),
        folder: world.folder.clone(),
        out_is_terminal: world.out_is_terminal,
        input_is_terminal: world.input_is_terminal,
    };
    let exit = carry_out(cli, &mut plain);
    world.clock = plain.clock;
    exit
}

fn carry_out(cli: Cli, world: &mut World<'_>) -> Exit {
    let globals = cli.globals;
    let result = match cli.command {
        Command::Demo(args) => demo::run(&args.0, &globals, world),
        Command::Check(args) => check::run(&args.0, &globals, world),
        Command::Init(args) => init::run(&args.0, &globals, world),
        Command::Job(args) => job::run(&args.0, &globals, world),
        Command::Instrument(args) => instrument::run(&args.0, &globals, world),
        Command::Key(args) => key::run(&args.0, &globals, world),
        Command::Walk(args) => walk::run(&args.0, &globals, world),
        Command::Practice(args) => practice::run(&args.0, &globals, world),
        Command::Log(args) => log::run(&args.0, &globals, world),
        Command::Work(args) => work::run(&args.0, &globals, world),
        Command::Verdict(args) => verdict::run(&args.0, &globals, world),
        Command::Sign(args) => sign::run(&args.0, &globals, world),
        Command::Verify(args) => verify::run(&args.0, &globals, world),
        Command::Audit(args) => audit::run(&args.0, &globals, world),
        Command::Record(args) => record::run(&args.0, &globals, world),
        Command::Sheet(args) => sheet::run(&args.0, &globals, world),
        Command::Quote(args) => quote::run(&args.0, &globals, world),
        Command::Contact(args) => contact::run(&args.0, &globals, world),
        Command::Refit(args) => refit::run(&args.0, &globals, world),
        Command::Due(args) => due::run(&args.0, &globals, world),
        Command::History(args) => history::run(&args.0, &globals, world),
        Command::Index(args) => index::run(&args.0, &globals, world),
        #[cfg(feature = "archive")]
        Command::Archive(args) => archive::run(&args.0, &globals, world),
        Command::Spec(args) => spec::run(&args.0, &globals, world),
        Command::Vehicle(args) => vehicle::run(&args.0, &globals, world),
        Command::Completions(args) => manual::completions(&args.0, world),
        Command::Man(args) => manual::man(&args.0, world),
    };
    let result = result.and_then(|exit| Ok(world.out.flush().map(|()| exit)?));
    match result {
        Ok(exit) => exit,
        // Nobody reads any more. Quiet, but never a success: a verdict was not delivered.
        Err(failure) if failure.is_broken_pipe() => Exit::NoAnswer,
        Err(failure) => {
            report(&failure, globals.json, world);
            Exit::NoAnswer
        }
    }
}

fn usage(error: &clap::Error, world: &mut World<'_>) -> Exit {
    use clap::error::ErrorKind;
    let text = error.render().to_string();
    match error.kind() {
        ErrorKind::DisplayHelp | ErrorKind::DisplayVersion => {
            match world
                .out
                .write_all(text.as_bytes())
                .and_then(|()| world.out.flush())
            {
                Ok(()) => Exit::Good,
                Err(_) => Exit::NoAnswer,
            }
        }
        _ => {
            // Nothing better can be done about a closed error stream than to keep the exit code.
            let _ = world.err.write_all(text.as_bytes());
            Exit::NoAnswer
        }
    }
}

fn report(failure: &Failure, json: bool, world: &mut World<'_>) {
    let _ = if json {
        let causes = failure.chain();
        let value = serde_json::json!({
            "error": {"message": causes.join(": "), "causes": causes, "hints": failure.hints()}
        });
        writeln!(world.out, "{value:#}")
    } else {
        write!(world.err, "{failure}")
    };
    let _ = world.out.flush();
}

/// Runs the process's own command line in the real world.
#[must_use]
pub fn main() -> std::process::ExitCode {
    use std::io::IsTerminal as _;
    let stdin = std::io::stdin();
    let input_is_terminal = stdin.is_terminal();
    // Not locked for good: with a gauge the keyboard is read from a thread of its own.
    let mut input = std::io::BufReader::new(stdin);
    let stdout = std::io::stdout();
    let out_is_terminal = stdout.is_terminal();
    let mut out = std::io::BufWriter::new(stdout.lock());
    let mut err = std::io::stderr();
    let mut world = World {
        clock: Clock::Machine,
        input: &mut input,
        out: &mut out,
        err: &mut err,
        out_is_terminal,
        input_is_terminal,
        env: std::env::vars_os()
            .filter_map(|(k, v)| Some((k.into_string().ok()?, v.into_string().ok()?)))
            .collect(),
        folder: std::env::current_dir().unwrap_or_else(|_| PathBuf::from(".")),
    };
    let exit = run(std::env::args_os(), &mut world);
    std::process::ExitCode::from(exit as u8)
}
