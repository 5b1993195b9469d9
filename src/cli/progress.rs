//! What long work shows on a terminal while it runs.

use std::io::IsTerminal as _;
use std::time::{Duration, Instant};

use super::{Clock, Globals, World};

/// How far the work is, on a terminal's error stream: a bar, or lines where `--plain` asks for
/// them. Nothing if there is no terminal, or the answer is JSON.
pub(super) struct Progress {
    manner: Manner,
    what: &'static str,
    total: u64,
    last: Instant,
    tenths: u64,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Manner {
    Silent,
    Bar,
    Lines,
}

impl Progress {
    const EVERY: Duration = Duration::from_millis(100);

    /// Begins; `count` says how many of `what` there are, and is asked only if that is shown.
    pub(super) fn new(
        globals: &Globals,
        world: &mut World<'_>,
        what: &'static str,
        count: impl FnOnce() -> u64,
    ) -> Self {
        let terminal = matches!(world.clock, Clock::Machine) && std::io::stderr().is_terminal();
        let manner = if !terminal || globals.json {
            Manner::Silent
        } else if globals.plain || world.var("TERM") == Some("dumb") {
            Manner::Lines
        } else {
            Manner::Bar
        };
        let progress = Self {
            manner,
            what,
            total: if manner == Manner::Silent { 0 } else { count() },
            last: Instant::now(),
            tenths: 0,
        };
        if manner == Manner::Bar {
            progress.draw(world, 0);
        }
        progress
    }

    /// Says how many are done.
    pub(super) fn show(&mut self, world: &mut World<'_>, done: u64) {
        match self.manner {
            Manner::Silent => {}
            Manner::Bar => {
                if self.last.elapsed() >= Self::EVERY || done == self.total {
                    self.last = Instant::now();
                    self.draw(world, done);
                }
            }
            Manner::Lines => {
                let tenths = done * 10 / self.total.max(done).max(1);
                if tenths > self.tenths {
                    self.tenths = tenths;
                    // Progress that cannot be shown must not stop the work.
                    let _ = writeln!(world.err, "  {done} of {} {}", self.total, self.what);
                }
            }
        }
    }

    fn draw(&self, world: &mut World<'_>, done: u64) {
        let total = self.total.max(done).max(1);
        let filled = usize::try_from(done * 30 / total).unwrap_or(0);
        let bar = "#".repeat(filled);
        let _ = write!(
            world.err,
            "\r  [{bar:<30}] {done} of {} {}",
            self.total, self.what
        );
        let _ = world.err.flush();
    }

    /// Wipes the bar away.
    pub(super) fn clear(&self, world: &mut World<'_>) {
        if self.manner == Manner::Bar {
            let _ = write!(world.err, "\r\u{1b}[K");
            let _ = world.err.flush();
        }
    }
}
