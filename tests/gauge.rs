//! Gauges that send their readings, and the walk in a real terminal.
#![cfg(unix)]
#![allow(clippy::unwrap_used, clippy::panic)] // helpers of tests stand outside test functions

mod common;

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use common::{Yard, typed_found};
use portable_pty::{CommandBuilder, MasterPty, PtySize, native_pty_system};

fn size(rows: u16, cols: u16) -> PtySize {
    PtySize {
        rows,
        cols,
        pixel_width: 0,
        pixel_height: 0,
    }
}

/// A program in a terminal of its own.
struct Terminal {
    master: Box<dyn MasterPty + Send>,
    keys: Box<dyn std::io::Write + Send>,
    screen: Receiver<String>,
    seen: String,
    child: Box<dyn portable_pty::Child + Send + Sync>,
}

impl Terminal {
    fn start(yard: &Yard, args: &[&str]) -> Self {
        let pair = native_pty_system().openpty(size(24, 80)).unwrap();
        let inner = yard.command(args);
        let mut command = CommandBuilder::new(inner.get_program());
        command.env_clear();
        for (key, value) in inner.get_envs() {
            command.env(key, value.unwrap());
        }
        command.env("TERM", "xterm");
        command.args(inner.get_args());
        command.cwd(yard.root());
        let child = pair.slave.spawn_command(command).unwrap();
        drop(pair.slave);
        let mut reader = pair.master.try_clone_reader().unwrap();
        let (to, screen) = channel();
        std::thread::spawn(move || {
            let mut bytes = [0; 4096];
            while let Ok(n @ 1..) = reader.read(&mut bytes) {
                if to
                    .send(String::from_utf8_lossy(&bytes[..n]).into_owned())
                    .is_err()
                {
                    return;
                }
            }
        });
        let keys = pair.master.take_writer().unwrap();
        Self {
            master: pair.master,
            keys,
            screen,
            seen: String::new(),
            child,
        }
    }

    /// Waits until the screen has shown these words since the last wait.
    #[track_caller]
    fn shows(&mut self, words: &str) -> &mut Self {
        let end = Instant::now() + Duration::from_secs(20);
        loop {
            if let Some(at) = self.seen.find(words) {
                self.seen.drain(..at + words.len());
                return self;
            }
            let left = end.saturating_duration_since(Instant::now());
            match self.screen.recv_timeout(left) {
                Ok(text) => self.seen.push_str(&text),
                Err(_) => panic!("`{words}` never appeared; the screen has:\n{}", self.seen),
            }
        }
    }

    fn types(&mut self, line: &str) -> &mut Self {
        writeln!(self.keys, "{line}").unwrap();
        self.keys.flush().unwrap();
        self
    }
}

impl Drop for Terminal {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[test]
fn a_whole_corner_in_a_real_terminal_and_on_where_it_was_killed() {
    let yard = Yard::with_job();
    let lines: Vec<String> = typed_found().lines().map(str::to_owned).collect();
    // Zero check, twelve looks, pads, faces, float, no sweep, ring and return, temperature, ring,
    // hub face: one corner.
    let corner = 1 + 12 + 1 + 1 + 1 + 1 + 11 + 1 + 10 + 1;
    let mut terminal = Terminal::start(&yard, &["walk", "T-1", "--part", "found"]);
    terminal.shows("zero check of HW-M1");
    for line in &lines[..20] {
        terminal.shows("> ").types(line);
    }
    terminal.shows("stud");
    // The window gets smaller in the middle of it: nothing is lost and nothing is drawn over.
    terminal.master.resize(size(12, 40)).unwrap();
    terminal.shows("> ");
    drop(terminal); // killed
    let mut again = Terminal::start(&yard, &["walk", "T-1", "--part", "found"]);
    for line in &lines[20..corner] {
        again.shows("> ").types(line);
    }
    again
        .shows("== FL is complete")
        .shows("FR · 1 of")
        .types("quit");
    again
        .shows("The vehicle stands")
        .types("2")
        .shows("everything entered is safe");
    let left = yard.journal("T-1").pop().unwrap();
    assert!(
        left.contains(r#""kind":"left","vehicle":"on stands""#),
        "{left}"
    );
}

#[test]
fn a_gauge_on_a_pseudo_terminal_logs_its_readings_and_may_be_unplugged() {
    let yard = Yard::with_job();
    let gauge = native_pty_system().openpty(size(24, 80)).unwrap();
    let path = gauge.master.tty_name().unwrap();
    let mut button = gauge.master.take_writer().unwrap();
    let mut walk = yard.start(&[
        "walk",
        "T-1",
        "--part",
        "found",
        "--gauge",
        path.to_str().unwrap(),
    ]);
    let mut keys = walk.stdin.take().unwrap();
    let mut out = BufReader::new(walk.stdout.take().unwrap());
    let mut wait = |words: &str| {
        let mut line = String::new();
        while !line.contains(words) {
            line.clear();
            assert_ne!(
                out.read_line(&mut line).unwrap(),
                0,
                "`{words}` never appeared"
            );
        }
        line
    };
    writeln!(button, "M1 0.001 mm").unwrap();
    wait("HW-M1 zero error 0.001 mm");
    for _ in 0..12 {
        writeln!(keys, "0").unwrap();
    }
    wait("FL pads.condition → sound");
    writeln!(button, "6.1").unwrap();
    wait("inner pad, leading end → 6.1 mm");
    writeln!(button, "no number").unwrap();
    wait("which holds no number");
    drop(button);
    drop(gauge);
    wait("the gauge is gone");
    writeln!(keys, "6.0").unwrap();
    wait("inner pad, trailing end → 6 mm");
    drop(keys);
    walk.wait().unwrap();
    let journal = yard.journal("T-1").join("\n");
    assert!(
        journal.contains(
            r#""text":"6.1","unit":"mm","value":6100000,"instrument":"HW-P1","source":"gauge""#
        ),
        "{journal}"
    );
    assert!(
        journal.contains(
            r#""text":"6.0","unit":"mm","value":6000000,"instrument":"HW-P1","source":"typed""#
        ),
        "{journal}"
    );
}

#[test]
fn a_streaming_dial_gives_the_swept_turn_without_a_key() {
    let yard = Yard::with_job();
    let fifo = yard.root().join("dial");
    assert!(
        std::process::Command::new("mkfifo")
            .arg(&fifo)
            .status()
            .unwrap()
            .success()
    );
    let mut walk = yard.start(&[
        "walk",
        "T-1",
        "--part",
        "found",
        "--gauge",
        fifo.to_str().unwrap(),
    ]);
    let mut keys = walk.stdin.take().unwrap();
    let mut dial = std::fs::OpenOptions::new().write(true).open(&fifo).unwrap();
    let first: String = typed_found()
        .lines()
        .take(16)
        .map(|line| format!("{line}\n"))
        .collect();
    keys.write_all(first.as_bytes()).unwrap();
    writeln!(keys, "sweep").unwrap();
    let mut out = BufReader::new(walk.stdout.take().unwrap());
    let mut line = String::new();
    while !line.contains("turn once") {
        line.clear();
        assert_ne!(out.read_line(&mut line).unwrap(), 0);
    }
    for value in [
        "0.000", "0.010", "0.021", "0.008", "-0.010", "-0.022", "-0.009", "0.000",
    ] {
        writeln!(dial, "{value}").unwrap();
    }
    while !line.contains("highest →") {
        line.clear();
        assert_ne!(out.read_line(&mut line).unwrap(), 0);
    }
    drop(keys);
    drop(dial);
    walk.wait().unwrap();
    let journal = yard.journal("T-1").join("\n");
    assert!(
        journal.contains(r#""slot":"lowest","text":"-0.022""#),
        "{journal}"
    );
    assert!(
        journal.contains(r#""slot":"highest","text":"0.021""#),
        "{journal}"
    );
    assert!(journal.contains("high spot near 90°"), "{journal}");
}

#[test]
fn a_gauge_that_is_not_there_is_said_before_the_walk_begins() {
    let yard = Yard::with_job();
    let said = yard.run(&["walk", "T-1", "--gauge", "nowhere"]).ends(2);
    assert!(
        said.err.contains("cannot open gauge `nowhere`"),
        "{}",
        said.err
    );
    let said = yard.run(&["walk", "T-1", "--gauge", "/dev/null@0"]).ends(2);
    assert!(said.err.contains("`0` is not a baud rate"), "{}", said.err);
}
