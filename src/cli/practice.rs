//! `practice`: a corner that is invented, measured with simulated gauges, compared with its truth.

use std::path::{Path, PathBuf};

use super::error::{Exit, Failure, Hint as _};
use super::instrument::ask::{ask, say};
use super::open::{person, style};
use super::style::Style;
use super::style::wrapped;
use super::{Globals, World};
use crate::shop::atomic::{self, AtomicError};
use crate::shop::folder::Workshop;
use crate::units::Length;
use crate::walk::practice::{Dice, FORMAT, Report, Rules, Scene, Session, Taken, Trap};

/// Practise on an invented corner whose true hub, disc and wear are known
///
/// The gauges are simulated: Enter puts the gauge where it is asked for and shows it, and you type
/// what you read. Afterwards your readings and verdicts are compared with the truth, and a slip of
/// technique is named. Practice is kept in a folder of its own, is no job, and can never be signed.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  brakecorner practice\n  brakecorner practice --seed 7 --trap any"
)]
pub(super) struct Args {
    /// Number the corner is drawn from; the same number gives the same corner
    #[arg(long)]
    seed: Option<u64>,
    /// Traps of technique: return, scatter, lip, clocking, all, or any (drawn, not told)
    #[arg(long, value_name = "TRAP", value_delimiter = ',', value_parser = traps)]
    trap: Vec<Traps>,
    /// Folder for what is kept; otherwise `practice` in the workshop, or here
    #[arg(long, value_name = "DIR")]
    to: Option<PathBuf>,
}

#[derive(Clone, Copy, Debug)]
enum Traps {
    One(Trap),
    All,
    Any,
}

fn traps(text: &str) -> Result<Traps, String> {
    match text {
        "all" => Ok(Traps::All),
        "any" => Ok(Traps::Any),
        one => one
            .parse()
            .map(Traps::One)
            .map_err(|error: String| format!("{error}, all or any")),
    }
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    // Nobody answers for a practice: a name is kept when there is one.
    let by = person(globals, world).unwrap_or_default();
    let at = world.clock.now();
    let seed = args.seed.unwrap_or_else(|| at.timestamp().unsigned_abs());
    let scene = Scene::new(seed, &chosen(args, seed));
    let mut session = Session::new(scene, Rules::new()?);
    let quiet = globals.json;
    let style = style(globals, world);
    let said = |world: &mut World<'_>, line: &str| say(world, quiet, &style.text(line));
    for line in session.opening() {
        said(world, &line)?;
    }
    said(world, &format!("practice {seed}"))?;
    while !session.done() {
        let (lines, question) = session.prompt();
        for line in lines {
            said(world, &line)?;
        }
        let Some(line) = ask(world, quiet, &style.text(&question))? else {
            break;
        };
        let answer = session.answer(&line);
        for line in &answer.lines {
            said(world, line)?;
        }
        if answer.quit {
            break;
        }
    }
    let report = Report::of(&session);
    let value = kept(&session, &report, at, &by)?;
    let path = keep(args, globals, world, seed, at, &value)?;
    if globals.json {
        writeln!(world.out, "{value:#}")?;
    } else {
        for line in words(&session, &report, style) {
            writeln!(world.out, "{line}")?;
        }
        writeln!(
            world.out,
            "kept in {} (practice: no job, never signed)",
            path.display()
        )?;
    }
    Ok(Exit::Good)
}

fn chosen(args: &Args, seed: u64) -> Vec<Trap> {
    let mut dice = Dice::new(!seed);
    args.trap
        .iter()
        .flat_map(|traps| match traps {
            Traps::One(trap) => vec![*trap],
            Traps::All => Trap::ALL.to_vec(),
            Traps::Any => {
                let mut all = Trap::ALL.to_vec();
                dice.shuffle(&mut all);
                all.truncate(usize::try_from(dice.between(0, 2)).unwrap_or(1));
                all
            }
        })
        .collect()
}

/// What is kept of a practice.
fn kept(
    session: &Session,
    report: &Report,
    at: chrono::DateTime<chrono::FixedOffset>,
    by: &str,
) -> Result<serde_json::Value, Failure> {
    let scene = session.scene();
    let readings = Taken::ALL
        .into_iter()
        .map(|set| Ok((set.to_string(), serde_json::to_value(session.given(set))?)))
        .collect::<Result<serde_json::Map<_, _>, serde_json::Error>>()?;
    Ok(serde_json::json!({
        "format": FORMAT,
        "version": 1,
        "note": "Practice on an invented corner: no inspection, no vehicle, nothing to be signed.",
        "seed": scene.seed,
        "traps": scene.traps,
        "at": at,
        "by": by,
        "complete": session.done(),
        "good": session.done() && report.good(),
        "truth": scene.truth,
        "readings": readings,
        "clocking": session.clocking(),
        "report": report,
        "slips": report.slips.iter().map(|slip| slip.words()).collect::<Vec<_>>(),
    }))
}

fn keep(
    args: &Args,
    globals: &Globals,
    world: &World<'_>,
    seed: u64,
    at: chrono::DateTime<chrono::FixedOffset>,
    value: &serde_json::Value,
) -> Result<PathBuf, Failure> {
    let folder = match (&args.to, globals.shop.first()) {
        (Some(folder), _) => world.folder.join(folder),
        (None, Some(shop)) => Workshop::open(&world.folder.join(shop))?
            .folder
            .join("practice"),
        (None, None) => Workshop::find(&world.folder)
            .map_or_else(|_| world.folder.clone(), |shop| shop.folder)
            .join("practice"),
    };
    std::fs::create_dir_all(&folder).hint(format!("at {}", folder.display()))?;
    let stamp = at.format("%Y%m%d-%H%M%S");
    let bytes = format!("{value:#}\n");
    for number in 1..1_000u32 {
        let path = folder.join(format!("practice-{seed}-{stamp}-{number}.json"));
        match atomic::write_new(&path, bytes.as_bytes()) {
            Ok(()) => return Ok(path),
            Err(AtomicError::Exists { .. }) => {}
            Err(error) => return Err(error.into()),
        }
    }
    Err(Failure::from(format!(
        "`{}` holds too many practices of this second",
        folder.display()
    )))
}

/// The comparison in words.
fn words(session: &Session, report: &Report, style: Style) -> Vec<String> {
    let mut lines = vec![
        String::new(),
        format!(
            "{:<20}{:>14}{:>14}{:>12}",
            "", "yours", "truth", "difference"
        ),
    ];
    for value in &report.values {
        let mark = if value.good { "" } else { "  <- off" };
        let length = |length: Length| length.to_string();
        lines.push(format!(
            "{:<20}{:>14}{:>14}{:>9} µm{mark}",
            value.what,
            length(value.yours),
            length(value.truth),
            format!("{:+.0}", (value.yours - value.truth).um()),
        ));
    }
    for judged in &report.verdicts {
        let word = |verdict: Option<crate::judge::ItemVerdict>| {
            verdict.map_or("-".to_owned(), |verdict| verdict.to_string())
        };
        let mark = if judged.good() { "right" } else { "WRONG" };
        let mut line = format!(
            "{:<22} you {}, the truth {}: {mark}",
            judged.item.title(),
            word(judged.yours),
            word(judged.right)
        );
        if judged.readings != judged.right {
            line.push_str(&format!(" (your readings give {})", word(judged.readings)));
        }
        lines.push(line);
    }
    if let Some((yours, right)) = report.worse_part {
        let mark = if yours == right { "right" } else { "WRONG" };
        lines.push(format!(
            "{:<22} you {yours}, the truth {right}: {mark}",
            "more out of true"
        ));
    }
    for slip in &report.slips {
        lines.push(format!("slip: {}", slip.words()));
    }
    if !session.done() {
        lines.push("stopped before the end: only what was finished is compared".to_owned());
    } else if report.good() {
        lines.push("no slip, every verdict right".to_owned());
    } else if report.slips.is_empty() {
        lines.push("no slip of technique".to_owned());
    }
    lines
        .iter()
        .flat_map(|line| wrapped(&style.text(line)))
        .collect()
}

/// Refuses a practice file where a job or a record is named.
pub(super) fn refuse(named: &str, globals: &Globals, world: &World<'_>) -> Result<(), Failure> {
    let shop = match globals.shop.first() {
        Some(shop) => Some(world.folder.join(shop)),
        None => Workshop::find(&world.folder).ok().map(|shop| shop.folder),
    };
    let below = shop.map(|shop| shop.join("practice").join(named));
    for path in [Some(world.folder.join(named)), below]
        .into_iter()
        .flatten()
    {
        if is_practice(&path) {
            return Err(Failure::from(format!(
                "`{}` is a practice on an invented corner: it is no record, and it can never be signed",
                path.display()
            ))
            .hint("an inspection is a job: `brakecorner job open JOB …`, then `brakecorner walk JOB`"));
        }
    }
    Ok(())
}

/// Whether a file begins as every practice file does.
fn is_practice(path: &Path) -> bool {
    use std::io::Read as _;
    let mut begin = Vec::new();
    let read = std::fs::File::open(path).and_then(|file| file.take(200).read_to_end(&mut begin));
    read.is_ok() && String::from_utf8_lossy(&begin).contains(&format!("\"{FORMAT}\""))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn any_trap_is_the_same_for_the_same_number() {
        let args = Args {
            seed: None,
            trap: vec![Traps::Any],
            to: None,
        };
        let drawn: Vec<Vec<Trap>> = (0..40).map(|seed| chosen(&args, seed)).collect();
        assert_eq!(
            drawn,
            (0..40).map(|seed| chosen(&args, seed)).collect::<Vec<_>>()
        );
        assert!(drawn.iter().any(Vec::is_empty) && drawn.iter().any(|traps| traps.len() == 2));
    }
}
