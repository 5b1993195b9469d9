//! A workshop in a temporary folder and the program run in it, as a user runs it.
#![allow(dead_code, unreachable_pub)] // every test file uses its own part of this
#![allow(clippy::unwrap_used, clippy::panic)] // a helper of tests, outside a test function

pub mod terminal;

use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::sync::OnceLock;
use std::time::UNIX_EPOCH;

/// What a command said and how it ended.
#[derive(Debug)]
pub struct Said {
    pub out: String,
    pub err: String,
    pub code: Option<i32>,
}

impl From<Output> for Said {
    fn from(output: Output) -> Self {
        Self {
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
            code: output.status.code(),
        }
    }
}

impl Said {
    /// The results as JSON.
    pub fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.out).unwrap_or_else(|e| panic!("{e}: {self:?}"))
    }

    /// Fails the test unless the command ended with this code.
    #[track_caller]
    pub fn ends(self, code: i32) -> Self {
        assert_eq!(self.code, Some(code), "{}\n{}", self.out, self.err);
        self
    }
}

/// The demonstration's workshop, made once for a build of the program: it takes seconds.
pub fn demonstration() -> &'static Path {
    static MADE: OnceLock<PathBuf> = OnceLock::new();
    MADE.get_or_init(|| {
        let program = std::fs::metadata(env!("CARGO_BIN_EXE_brakecorner")).unwrap();
        let built = program.modified().unwrap().duration_since(UNIX_EPOCH);
        let cache = Path::new(env!("CARGO_TARGET_TMPDIR"));
        let made = cache.join(format!("demo-{}", built.unwrap().as_nanos()));
        if !made.exists() {
            for old in std::fs::read_dir(cache).unwrap().flatten() {
                if old.file_name().to_string_lossy().starts_with("demo-") {
                    let _ = std::fs::remove_dir_all(old.path());
                }
            }
            let yard = Yard {
                root: tempfile::tempdir_in(cache).unwrap(),
            };
            yard.run(&["demo", "--to", "shop"]).ends(0);
            // Another test program may have been quicker; its folder is as good.
            let _ = std::fs::rename(yard.path(""), &made);
        }
        made
    })
}

/// Copies a folder with all it holds.
pub fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let target = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy(&entry.path(), &target);
        } else {
            std::fs::copy(entry.path(), target).unwrap();
        }
    }
}

/// A temporary folder with a workshop in it.
pub struct Yard {
    root: tempfile::TempDir,
}

impl Yard {
    /// An empty folder.
    pub fn empty() -> Self {
        Self {
            root: tempfile::tempdir().unwrap(),
        }
    }

    /// The demonstration's workshop: a copy of the one that this build of the program made.
    pub fn demo() -> Self {
        let yard = Self::empty();
        copy(demonstration(), &yard.path(""));
        yard
    }

    /// The demonstration's workshop made anew, with keys and salts of its own.
    pub fn demo_anew() -> Self {
        let yard = Self::empty();
        yard.run(&["demo", "--to", "shop"]).ends(0);
        yard
    }

    /// A workshop with instruments and keys, and job T-1 opened on the mail van.
    pub fn with_job() -> Self {
        let yard = Self::empty();
        yard.run(&["init", "shop", "--name", "Test Yard"]).ends(0);
        for instrument in [
            "HW-M1 --kind micrometer --range 0-25 --resolution 0.001 --error 0.004 --repeatability 0.001",
            "HW-D1 --kind dial_indicator --range 0-10 --resolution 0.001 --error 0.004 --repeatability 0.001",
            "HW-P1 --kind pad_gauge --range 0-30 --resolution 0.1 --error 0.1 --repeatability 0.05",
            "HW-T1 --kind torque_wrench --unit N·m --range 40-200",
            "HW-F1 --kind fluid_tester --unit °C --resolution 1 --error 3",
        ] {
            let mut args = vec!["instrument", "add"];
            args.extend(instrument.split(' '));
            args.extend(["--calibrated-until", "2099-12-31"]);
            yard.run(&args).ends(0);
        }
        yard.run(&["key", "new"]).ends(0);
        yard.run(&[
            "job",
            "open",
            "T-1",
            "--vin",
            "A0ZDL07V7NK001122",
            "--odometer",
            "84120",
            "--class",
            "N1",
        ])
        .ends(0);
        yard
    }

    /// The temporary folder.
    pub fn root(&self) -> &Path {
        self.root.path()
    }

    /// A path below the workshop.
    pub fn path(&self, below: &str) -> PathBuf {
        self.root.path().join("shop").join(below)
    }

    /// The program, ready to run with a clean environment.
    pub fn command(&self, args: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_brakecorner"));
        command
            .env_clear()
            .env("PATH", std::env::var_os("PATH").unwrap_or_default())
            .env("BRAKECORNER_CONFIG", self.root.path().join("config"))
            .current_dir(self.root.path());
        // `init` and `demo` name their own folder.
        if !matches!(args.first(), Some(&("init" | "demo"))) && self.path("workshop.toml").exists()
        {
            command.args(["--shop", "shop"]);
            if !args.contains(&"--by") {
                command.args(["--by", "Ilse Varga"]);
            }
        }
        command.args(args);
        command
    }

    /// Runs the program with nothing typed.
    pub fn run(&self, args: &[&str]) -> Said {
        self.command(args)
            .stdin(Stdio::null())
            .output()
            .unwrap()
            .into()
    }

    /// Runs the program with these lines typed.
    pub fn typed(&self, args: &[&str], lines: &str) -> Said {
        let mut child = self.start(args);
        // A program that ends early closes its input: not this helper's concern.
        let _ = child.stdin.take().unwrap().write_all(lines.as_bytes());
        child.wait_with_output().unwrap().into()
    }

    /// Starts the program with its streams held open.
    pub fn start(&self, args: &[&str]) -> Child {
        self.command(args)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap()
    }

    /// The lines of a job's journal.
    pub fn journal(&self, job: &str) -> Vec<String> {
        let text =
            std::fs::read_to_string(self.path(&format!("jobs/{job}/journal.jsonl"))).unwrap();
        text.lines().map(str::to_owned).collect()
    }
}

/// The lines typed to one command of the demonstration's script, from the first `walk` on.
pub fn typed_found() -> String {
    let script = include_str!("../../demo/HWY-0411.txt");
    script
        .lines()
        .skip_while(|line| !line.starts_with("$ walk"))
        .skip(1)
        .take_while(|line| !line.starts_with('$'))
        .filter_map(|line| line.strip_prefix('|'))
        .map(|line| format!("{}\n", line.trim()))
        .collect()
}
