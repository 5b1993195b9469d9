//! Everything a command may see of the world outside: clock, streams, folders, environment.
//!
//! Handed in as one value so that a test, and the demo, can run the same commands with another
//! clock and other lines.

use std::collections::BTreeMap;
use std::io::{BufRead, Write};
use std::path::{Path, PathBuf};

use chrono::{DateTime, Duration, FixedOffset, Local, NaiveDate, SubsecRound};

/// Where the time comes from.
#[derive(Debug)]
pub enum Clock {
    /// The machine's own clock, with its zone.
    Machine,
    /// A told time, that moves on a little at each look.
    Told {
        /// The time of the next look.
        next: DateTime<FixedOffset>,
        /// How far it moves at each look.
        step: Duration,
    },
}

impl Clock {
    /// The present time, to the second.
    pub fn now(&mut self) -> DateTime<FixedOffset> {
        match self {
            Self::Machine => Local::now().fixed_offset().trunc_subsecs(0),
            Self::Told { next, step } => {
                let now = *next;
                *next += *step;
                now
            }
        }
    }

    /// The present day; unlike [`Clock::now`], asking does not move a told time on.
    #[must_use]
    pub fn today(&self) -> NaiveDate {
        match self {
            Self::Machine => Local::now().date_naive(),
            Self::Told { next, .. } => next.date_naive(),
        }
    }
}

/// When colour is used.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, clap::ValueEnum)]
pub enum ColorChoice {
    /// On a terminal, unless `NO_COLOR` is set or `TERM` is `dumb`.
    #[default]
    Auto,
    /// Always.
    Always,
    /// Never.
    Never,
}

/// The world a command runs in.
pub struct World<'a> {
    /// The clock.
    pub clock: Clock,
    /// Lines typed or sent.
    pub input: &'a mut dyn BufRead,
    /// Results.
    pub out: &'a mut dyn Write,
    /// Prompts of progress, warnings, errors.
    pub err: &'a mut dyn Write,
    /// Whether results go to a terminal.
    pub out_is_terminal: bool,
    /// Whether lines come from a terminal.
    pub input_is_terminal: bool,
    /// Environment variables this program looks at.
    pub env: BTreeMap<String, String>,
    /// The current folder.
    pub folder: PathBuf,
}

impl World<'_> {
    /// An environment variable that is set and not empty.
    #[must_use]
    pub fn var(&self, name: &str) -> Option<&str> {
        self.env
            .get(name)
            .map(String::as_str)
            .filter(|value| !value.is_empty())
    }

    /// The user's own settings folder, where secret keys live.
    #[must_use]
    pub fn config_folder(&self) -> PathBuf {
        let base = self.var("BRAKECORNER_CONFIG").map(PathBuf::from);
        base.unwrap_or_else(|| {
            let home = self.var("HOME").or(self.var("USERPROFILE")).unwrap_or(".");
            self.var("XDG_CONFIG_HOME")
                .or(self.var("APPDATA"))
                .map_or_else(|| Path::new(home).join(".config"), PathBuf::from)
                .join("brakecorner")
        })
    }

    /// Whether to colour results.
    #[must_use]
    pub fn colour(&self, choice: ColorChoice) -> bool {
        match choice {
            ColorChoice::Always => true,
            ColorChoice::Never => false,
            ColorChoice::Auto => {
                self.out_is_terminal
                    && self.var("NO_COLOR").is_none()
                    && self.var("TERM") != Some("dumb")
            }
        }
    }
}
