//! `demo`: four whole jobs, from opening to a signed record, on invented data.
//!
//! The inputs in `demo/` are scripts: command lines and the lines a technician types. They are fed
//! to the same code the commands use, with the scenario's clock.

use std::collections::BTreeMap;
use std::ffi::OsString;
use std::io::Cursor;
use std::path::{Path, PathBuf};

use chrono::{DateTime, Duration, FixedOffset};

use super::error::{Exit, Failure, Hint as _};
use super::{Clock, Globals, World, run as run_command};
use crate::shop::atomic;

/// Make a demonstration workshop and carry four jobs through it
///
/// Everything in it is invented. The folder is `./brakecorner-demo` unless `--to` names another; an
/// older demonstration there is replaced, any other folder is left alone.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  brakecorner demo --to /tmp/yard")]
pub(super) struct Args {
    /// Where to make it
    #[arg(long, value_name = "DIR", default_value = "brakecorner-demo")]
    to: PathBuf,
}

/// The scripts, in order.
const SCRIPTS: &[(&str, &str)] = &[
    ("the workshop", include_str!("../../demo/workshop.txt")),
    ("job HWY-0411", include_str!("../../demo/HWY-0411.txt")),
    ("job HWY-0417", include_str!("../../demo/HWY-0417.txt")),
    ("job HWY-0423", include_str!("../../demo/HWY-0423.txt")),
    ("job HWY-0429", include_str!("../../demo/HWY-0429.txt")),
];

/// The jobs they carry from opening to a signed record.
const JOBS: &[&str] = &["HWY-0411", "HWY-0417", "HWY-0423", "HWY-0429"];

/// When the sheets are printed; nothing on them depends on it.
const SHEETS_AT: &str = "2026-03-31T18:00:00+00:00";

/// A file only a demonstration has.
const MARK: &str = ".brakecorner-demo";

/// How far the told clock moves at each entry.
const STEP_SECONDS: i64 = 6;

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let folder = world.folder.join(&args.to);
    clear(&folder)?;
    let mut ran = Vec::new();
    for (name, script) in SCRIPTS {
        writeln!(world.err, "  {name} …")?;
        ran.extend(play(script, &folder, world)?);
        if *name == "the workshop" {
            atomic::write_new(
                &folder.join(MARK),
                b"made by brakecorner demo; may be deleted\n",
            )?;
            let prices = include_bytes!("../../demo/prices.toml");
            atomic::write_new(&folder.join("prices.toml"), prices)?;
        }
    }
    writeln!(world.err, "  their sheets …")?;
    ran.extend(sheets(&folder, world)?);
    finish(args, globals, world, &folder, &ran)
}

/// Makes room: an older demonstration goes, anything else stays and is refused.
fn clear(folder: &Path) -> Result<(), Failure> {
    if !folder.exists() {
        return Ok(());
    }
    let empty = std::fs::read_dir(folder)
        .hint("choose another folder with --to")?
        .next()
        .is_none();
    if !empty && !folder.join(MARK).is_file() {
        return Err(Failure::from(format!(
            "`{}` exists and is no demonstration; it was left as it is",
            folder.display()
        ))
        .hint("choose another folder with --to DIR"));
    }
    std::fs::remove_dir_all(folder)
        .hint("close what uses the folder, or choose another with --to")?;
    Ok(())
}

/// One command of a script with the lines typed to it.
#[derive(Debug)]
struct Scene {
    /// The time the script tells for it; otherwise it follows the scene before.
    at: Option<DateTime<FixedOffset>>,
    command: Vec<String>,
    typed: String,
}

/// Reads a script: `@ TIME`, `$ command`, `| typed line`, `# remark`.
fn scenes(script: &str) -> Result<Vec<Scene>, Failure> {
    let mut at: Option<DateTime<FixedOffset>> = None;
    let mut scenes: Vec<Scene> = Vec::new();
    for (number, line) in (1..).zip(script.lines()) {
        let wrong = |why: &str| Failure::from(format!("demo script line {number}: {why}: {line}"));
        let rest = line.get(2..).unwrap_or_default();
        match line.chars().next() {
            None | Some('#') => {}
            Some('@') => at = Some(rest.parse().map_err(|_| wrong("no time"))?),
            Some('$') => scenes.push(Scene {
                at: at.take(),
                command: words(rest),
                typed: String::new(),
            }),
            Some('|') => {
                let scene = scenes.last_mut().ok_or_else(|| wrong("no command yet"))?;
                scene.typed.push_str(rest);
                scene.typed.push('\n');
            }
            Some(_) => return Err(wrong("not a script line")),
        }
    }
    Ok(scenes)
}

/// Splits a command line at blanks; double quotes keep words together.
fn words(line: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quoted = false;
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            ' ' if !quoted => words.push(String::new()),
            c => {
                if let Some(word) = words.last_mut() {
                    word.push(c);
                }
            }
        }
    }
    words.retain(|word| !word.is_empty());
    words
}

/// Plays a script in a workshop folder; returns the commands that were run.
fn play(script: &str, folder: &Path, world: &mut World<'_>) -> Result<Vec<String>, Failure> {
    let mut ran = Vec::new();
    let mut now: Option<DateTime<FixedOffset>> = None;
    for scene in scenes(script)? {
        let at = scene
            .at
            .or(now)
            .ok_or_else(|| Failure::from("the demo script tells no time"))?;
        let command = scene.command.join(" ");
        now = Some(perform(scene.command, scene.typed, at, folder, world)?);
        ran.push(command);
    }
    Ok(ran)
}

/// Runs one command in a workshop folder, with what is typed to it; returns the told time after it.
fn perform(
    command: Vec<String>,
    typed: String,
    at: DateTime<FixedOffset>,
    folder: &Path,
    world: &mut World<'_>,
) -> Result<DateTime<FixedOffset>, Failure> {
    let mut args: Vec<OsString> = vec!["brakecorner".into(), "--shop".into(), folder.into()];
    args.extend(
        command
            .iter()
            .map(|word| match word.strip_prefix("{folder}") {
                Some("") => folder.into(),
                Some(rest) => folder.join(rest.trim_start_matches('/')).into(),
                None => OsString::from(word),
            }),
    );
    let mut input = Cursor::new(typed.into_bytes());
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let mut env: BTreeMap<String, String> = world.env.clone();
    // The demonstration's people keep their keys with it, away from the user's own.
    let config = folder.join("demo-keys");
    env.insert(
        "BRAKECORNER_CONFIG".into(),
        config.to_string_lossy().into_owned(),
    );
    env.remove("BRAKECORNER_PASSPHRASE");
    let mut inner = World {
        clock: Clock::Told {
            next: at,
            step: Duration::seconds(STEP_SECONDS),
        },
        input: &mut input,
        out: &mut out,
        err: &mut err,
        out_is_terminal: false,
        input_is_terminal: false,
        env,
        folder: world.folder.clone(),
    };
    let exit = run_command(args, &mut inner);
    let after = match inner.clock {
        Clock::Told { next, .. } => next,
        _ => at,
    };
    if exit == Exit::NoAnswer {
        let said = String::from_utf8_lossy(&err).into_owned();
        return Err(Failure::from(format!(
            "the demonstration stopped at `{}`: {said}",
            command.join(" ")
        )));
    }
    Ok(after)
}

/// The forms a sheet is written in; PDF only where the program can.
const FORMS: &[&str] = if cfg!(feature = "pdf") {
    &["txt", "html", "pdf"]
} else {
    &["txt", "html"]
};

/// Writes the sheet of every job in every form into `sheets/`.
fn sheets(folder: &Path, world: &mut World<'_>) -> Result<Vec<String>, Failure> {
    std::fs::create_dir(folder.join("sheets")).hint("choose another folder with --to")?;
    let at: DateTime<FixedOffset> = SHEETS_AT
        .parse()
        .map_err(|_| Failure::from("the demonstration tells no time"))?;
    let mut ran = Vec::new();
    for job in JOBS {
        for form in FORMS {
            let file = format!("{{folder}}/sheets/{job}.{form}");
            let command = ["sheet", *job, "-o", file.as_str()].map(str::to_owned);
            ran.push(command.join(" "));
            perform(command.to_vec(), String::new(), at, folder, world)?;
        }
    }
    Ok(ran)
}

fn finish(
    args: &Args,
    globals: &Globals,
    world: &mut World<'_>,
    folder: &Path,
    ran: &[String],
) -> Result<Exit, Failure> {
    let shop = args.to.display().to_string();
    let inner = Globals {
        shop: vec![folder.to_owned()],
        ..globals.clone()
    };
    if globals.json {
        let value = serde_json::json!({"folder": folder, "commands": ran.len(), "jobs": JOBS});
        writeln!(world.out, "{value:#}")?;
        return Ok(Exit::Good);
    }
    let file = super::open::JobFile::read(&inner, world, JOBS[0])?;
    let judgement = crate::judge::judge(&file.case());
    let style = super::open::style(globals, world);
    let drive = crate::office::drive(&file.case(), &judgement, crate::job::Phase::AsLeft);
    let text = super::verdict::render(&judgement, &drive, style);
    world.out.write_all(text.as_bytes())?;
    for job in JOBS.iter().skip(1) {
        let file = super::open::JobFile::read(&inner, world, job)?;
        let judgement = crate::judge::judge(&file.case());
        let words = [judgement.as_found, judgement.as_left].map(|verdict| style.overall(verdict));
        writeln!(
            world.out,
            "{job}: as found {}, as left {}",
            words[0], words[1]
        )?;
    }
    writeln!(world.out)?;
    writeln!(world.out, "wrote {shop}:")?;
    for (path, what) in [
        ("jobs/*/journal.jsonl", "every reading, as it was given"),
        ("jobs/*/record-1.json", "as found, with its signature .sig"),
        ("jobs/*/record-2.json", "as left, with its signature .sig"),
        ("sheets/*.txt, .html, .pdf", "the four findings sheets"),
        ("signers", "who may sign"),
    ] {
        writeln!(world.out, "  {path:25} {what}")?;
    }
    writeln!(world.out, "try next:")?;
    for (command, what) in [
        ("sheet HWY-0423", "a findings sheet"),
        (
            "verify HWY-0411",
            "check signatures and recompute everything",
        ),
        ("verdict HWY-0411 --json", "the same findings for a program"),
        ("--help", "everything else"),
    ] {
        writeln!(world.out, "  brakecorner --shop {shop} {command:26} {what}")?;
    }
    Ok(Exit::Good)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quotes_keep_words_together() {
        assert_eq!(
            words(r#"key new --by "Ilse Varga""#),
            ["key", "new", "--by", "Ilse Varga"]
        );
    }

    #[test]
    fn every_script_reads() {
        for (name, script) in SCRIPTS {
            assert!(!scenes(script).unwrap().is_empty(), "{name}");
        }
    }
}
