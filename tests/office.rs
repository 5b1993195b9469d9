//! The desk: quote, decisions, refit, re-torque, due list and history, as they are used.

#![allow(clippy::unwrap_used, clippy::panic)] // helpers of tests stand outside test functions

#[path = "office/bad_input.rs"]
mod bad_input;
#[path = "office/commands.rs"]
mod commands;
mod common;
#[path = "office/flows.rs"]
mod flows;
#[path = "office/jobs.rs"]
mod jobs;
#[path = "office/lists.rs"]
mod lists;
#[path = "office/machine.rs"]
mod machine;
#[path = "office/over_visits.rs"]
mod over_visits;
#[path = "office/wheels.rs"]
mod wheels;

use std::collections::BTreeMap;
use std::io::Cursor;
use std::path::PathBuf;

use brakecorner::cli::{Clock, Exit, World, run};
use chrono::Duration;
use serde_json::Value;

/// A workshop and the program run in it at told times.
struct Desk {
    root: tempfile::TempDir,
}

/// What a command said and how it ended.
#[derive(Debug)]
struct Said {
    out: String,
    err: String,
    exit: Exit,
}

impl Said {
    #[track_caller]
    fn ends(self, exit: Exit) -> Self {
        assert_eq!(self.exit, exit, "{}\n{}", self.out, self.err);
        self
    }

    #[track_caller]
    fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.out).unwrap_or_else(|e| panic!("{e}: {self:?}"))
    }

    #[track_caller]
    fn says(self, words: &str) -> Self {
        let all = format!("{}\n{}", self.out, self.err);
        // Lines break at 79 columns: the words are compared without the breaks.
        let unbroken = all.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(
            all.contains(words) || unbroken.contains(words),
            "`{words}` is missing:\n{all}"
        );
        self
    }
}

/// One scene of a script: when, what, and what is typed.
#[derive(Clone, Debug, Default)]
struct Scene {
    at: Option<String>,
    args: Vec<String>,
    typed: String,
}

impl Desk {
    /// The demonstration's workshop with its four jobs.
    fn demo() -> Self {
        let desk = Self {
            root: tempfile::tempdir().unwrap(),
        };
        common::copy(common::demonstration(), &desk.path(""));
        desk
    }

    /// The demonstration's workshop without its jobs.
    fn yard() -> Self {
        let desk = Self {
            root: tempfile::tempdir().unwrap(),
        };
        desk.play(include_str!("../demo/workshop.txt"), |_| true);
        std::fs::write(
            desk.path("prices.toml"),
            include_str!("../demo/prices.toml"),
        )
        .unwrap();
        desk
    }

    fn path(&self, below: &str) -> PathBuf {
        self.root.path().join("shop").join(below)
    }

    /// Runs a command at a told time with lines typed.
    fn at(&self, time: &str, args: &[&str], typed: &str) -> Said {
        let mut words = vec!["brakecorner".to_owned()];
        if !args.contains(&"--shop") && !matches!(args.first(), Some(&("demo" | "init"))) {
            words.extend(["--shop".to_owned(), "shop".to_owned()]);
        }
        words.extend(args.iter().map(|w| (*w).to_owned()));
        if !args.contains(&"--by") {
            words.extend(["--by".to_owned(), "Ilse Varga".to_owned()]);
        }
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let mut input = Cursor::new(typed.as_bytes().to_vec());
        let config = self.path("demo-keys").to_string_lossy().into_owned();
        let mut world = World {
            clock: Clock::Told {
                next: time.parse().unwrap(),
                step: Duration::seconds(1),
            },
            input: &mut input,
            out: &mut out,
            err: &mut err,
            out_is_terminal: false,
            input_is_terminal: false,
            env: BTreeMap::from([("BRAKECORNER_CONFIG".to_owned(), config)]),
            folder: self.root.path().to_owned(),
        };
        let exit = run(words.into_iter().map(Into::into), &mut world);
        Said {
            out: String::from_utf8(out).unwrap(),
            err: String::from_utf8(err).unwrap(),
            exit,
        }
    }

    /// Plays the scenes of a script that are wanted; the time runs on from scene to scene.
    fn play(&self, script: &str, wanted: impl Fn(&Scene) -> bool) {
        let mut now = String::new();
        for scene in scenes(script) {
            if let Some(at) = &scene.at {
                now.clone_from(at);
            }
            if wanted(&scene) {
                let shop = self.root.path().join("shop");
                let shop = shop.to_string_lossy();
                let args: Vec<&str> = scene
                    .args
                    .iter()
                    .map(|w| if w == "{folder}" { &*shop } else { w.as_str() })
                    .collect();
                let said = self.at(&now, &args, &scene.typed);
                assert_ne!(said.exit, Exit::NoAnswer, "{:?}: {}", scene.args, said.err);
            }
        }
    }
}

/// Reads a script of the demonstration: `@ TIME`, `$ command`, `| typed line`, `# remark`.
fn scenes(script: &str) -> Vec<Scene> {
    let mut scenes: Vec<Scene> = Vec::new();
    let mut at = None;
    for line in script.lines() {
        let rest = line.get(2..).unwrap_or_default();
        match line.chars().next() {
            Some('@') => at = Some(rest.to_owned()),
            Some('$') => scenes.push(Scene {
                at: at.take(),
                args: words(rest),
                typed: String::new(),
            }),
            Some('|') => {
                let typed = &mut scenes.last_mut().unwrap().typed;
                typed.push_str(rest);
                typed.push('\n');
            }
            _ => {}
        }
    }
    scenes
}

fn words(line: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quoted = false;
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            ' ' if !quoted => words.push(String::new()),
            c => words.last_mut().unwrap().push(c),
        }
    }
    words.retain(|word| !word.is_empty());
    words
}

/// Where a scene of a job's script stands: its command's first word and part.
fn is(scene: &Scene, words: &str) -> bool {
    scene.args.join(" ").starts_with(words)
}

/// The rows of a due list of a kind and about a job or instrument.
fn rows<'a>(due: &'a Value, kind: &str, subject: &str) -> Vec<&'a Value> {
    due["due"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|r| r["kind"] == kind && r["subject"] == subject)
        .collect()
}
