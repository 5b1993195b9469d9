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
    assert!(journal.contains("high spot near 103°"), "{journal}");
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

/// The lines of a stream, as they come, read in a thread so that waiting for one may end.
fn lines_of(stream: impl std::io::Read + Send + 'static) -> Receiver<String> {
    let (to, from) = channel();
    std::thread::spawn(move || {
        let mut stream = BufReader::new(stream);
        let mut line = String::new();
        while stream.read_line(&mut line).is_ok_and(|n| n > 0) {
            if to.send(std::mem::take(&mut line)).is_err() {
                return;
            }
        }
    });
    from
}

/// A walk that hears gauges on pseudo-terminals, with its keyboard on a pipe.
struct Bench {
    walk: std::process::Child,
    keys: std::process::ChildStdin,
    out: Receiver<String>,
    buttons: Vec<Box<dyn std::io::Write + Send>>,
    _gauges: Vec<portable_pty::PtyPair>,
}

impl Bench {
    /// `after` is what stands behind each gauge's path.
    fn start(yard: &Yard, after: &[&str]) -> Self {
        let gauges: Vec<_> = after
            .iter()
            .map(|_| native_pty_system().openpty(size(24, 80)).unwrap())
            .collect();
        let paths: Vec<String> = gauges
            .iter()
            .zip(after)
            .map(|(gauge, after)| {
                let path = gauge.master.tty_name().unwrap();
                format!("{}{after}", path.display())
            })
            .collect();
        let mut args = vec!["walk", "T-1", "--part", "found"];
        for path in &paths {
            args.extend(["--gauge", path]);
        }
        let mut walk = yard.start(&args);
        Self {
            keys: walk.stdin.take().unwrap(),
            out: lines_of(walk.stdout.take().unwrap()),
            walk,
            buttons: gauges
                .iter()
                .map(|gauge| gauge.master.take_writer().unwrap())
                .collect(),
            _gauges: gauges,
        }
    }

    #[track_caller]
    fn wait(&mut self, words: &str) -> &mut Self {
        let mut seen = String::new();
        while let Ok(line) = self.out.recv_timeout(Duration::from_secs(20)) {
            if line.contains(words) {
                return self;
            }
            seen.push_str(&line);
        }
        let _ = self.walk.kill();
        panic!("`{words}` never appeared in\n{seen}");
    }

    fn press(&mut self, gauge: usize, bytes: &str) -> &mut Self {
        self.buttons[gauge].write_all(bytes.as_bytes()).unwrap();
        self
    }

    fn types(&mut self, line: &str) -> &mut Self {
        writeln!(self.keys, "{line}").unwrap();
        self
    }

    fn looks(&mut self) -> &mut Self {
        for _ in 0..12 {
            self.types("0");
        }
        self.wait("FL pads.condition → sound")
    }

    fn end(self) {
        let Self { mut walk, keys, .. } = self;
        drop(keys);
        walk.wait().unwrap();
    }
}

#[test]
fn the_pattern_of_the_instrument_says_which_part_of_the_line_is_the_reading() {
    let yard = Yard::with_job();
    for (id, pattern) in [("HW-M1", "01A{value}"), ("HW-P1", "{skip} {value} {unit}")] {
        yard.run(&["instrument", "edit", id, "--pattern", pattern])
            .ends(0);
    }
    let mut bench = Bench::start(&yard, &[""]);
    bench.press(0, "02A+00.001\r\n");
    bench.wait("does not fit the pattern `01A{value}`");
    bench
        .press(0, "01A+00.001\r\n")
        .wait("HW-M1 zero error 0.001 mm");
    // At a look no number of a gauge is an answer, not even one that is on the list.
    bench
        .press(0, "0\r\n")
        .wait("no reading is asked for here: not taken");
    bench.looks();
    bench
        .press(0, "01A+24.308\r\n")
        .wait("it fits the pattern of HW-M1: not taken");
    bench
        .press(0, "D7 0.2402 in\r\n")
        .wait("inner pad, leading end → 6.1011 mm");
    bench.end();
    let journal = yard.journal("T-1").join("\n");
    assert!(
        journal.contains(r#""text":"0.2402 in","unit":"in","value":6101080,"instrument":"HW-P1","source":"gauge""#),
        "{journal}"
    );
}

#[test]
fn two_gauges_are_told_apart_by_their_marks_and_the_wrong_one_is_not_taken() {
    let yard = Yard::with_job();
    let mut bench = Bench::start(&yard, &["@HW-M1", "@HW-P1"]);
    bench.press(0, "0.001\n").wait("HW-M1 zero error 0.001 mm");
    bench.looks();
    bench.press(0, "6.100\n");
    bench.wait("came from HW-M1, and this step is read with HW-P1: not taken");
    bench
        .press(1, "6.1\n")
        .wait("inner pad, leading end → 6.1 mm");
    bench.end();
}

#[test]
fn a_device_without_a_speed_takes_the_one_on_file() {
    let yard = Yard::with_job();
    yard.run(&["instrument", "edit", "HW-M1", "--baud", "4800"])
        .ends(0);
    let mut bench = Bench::start(&yard, &[""]);
    let device = bench._gauges[0].master.tty_name().unwrap();
    // The gauge ends its lines with a carriage return alone, as many do.
    bench.press(0, "0.001\r").wait("HW-M1 zero error 0.001 mm");
    let said = std::process::Command::new("stty")
        .arg("-F")
        .arg(&device)
        .arg("-a")
        .output()
        .unwrap();
    // Opened as a serial line, not as the terminal it was; busy where the test is not root's.
    let modes = String::from_utf8_lossy(&said.stdout);
    let busy = String::from_utf8_lossy(&said.stderr).contains("busy");
    assert!(modes.contains("-icanon") || busy, "{said:?}");
    bench.end();
    yard.run(&["instrument", "edit", "HW-D1", "--baud", "9600"])
        .ends(0);
    let gauge = native_pty_system().openpty(size(24, 80)).unwrap();
    let path = gauge.master.tty_name().unwrap().display().to_string();
    let said = yard.run(&["walk", "T-1", "--gauge", &path]).ends(2);
    assert!(
        said.err
            .contains("different speeds: HW-M1 4800, HW-D1 9600"),
        "{}",
        said.err
    );
    let said = yard
        .run(&["walk", "T-1", "--gauge", "nowhere@HW-X9"])
        .ends(2);
    assert!(
        said.err.contains("neither a baud rate nor an instrument"),
        "{}",
        said.err
    );
}

#[test]
fn a_value_sent_twice_and_one_finer_than_the_gauge_are_asked_about() {
    let yard = Yard::with_job();
    let mut bench = Bench::start(&yard, &[""]);
    bench.press(0, "0.001\n").wait("zero error");
    bench.looks();
    bench.press(0, "6.1\n6.1\n");
    bench.wait("inner pad, leading end → 6.1 mm");
    bench.wait("did the gauge send it twice?");
    bench.types("no").wait("dropped: 6.1");
    bench
        .press(0, "6.02\n")
        .wait("6.02 is no whole step of HW-P1, which shows mm by 0.1");
    bench.types("6.0").wait("inner pad, trailing end → 6 mm");
    bench.end();
    let journal = yard.journal("T-1").join("\n");
    assert!(
        journal.contains(r#""entry":"6.1","question":"6.1 came twice within"#),
        "{journal}"
    );
}

#[test]
fn a_turn_that_is_broken_off_or_does_not_close_is_not_taken() {
    let yard = Yard::with_job();
    let first: Vec<String> = typed_found().lines().take(16).map(str::to_owned).collect();
    let mut bench = Bench::start(&yard, &["@HW-D1"]);
    for line in &first {
        bench.types(line);
    }
    bench.wait("disc run-out");
    bench.types("sweep").wait("turn once");
    bench.press(0, "0.000\n0.010\n0.021\n-0.010\n0.012\n");
    bench.wait("began at 0.000 mm and ended at 0.012 mm");
    bench.types("sweep").wait("turn once");
    bench.press(0, "0.000\n0.010\n0.021\n");
    std::thread::sleep(Duration::from_millis(300));
    bench.types("note the stand slipped");
    bench.wait("the turn is not whole: nothing of it is taken");
    bench.wait("noted: the stand slipped");
    bench.end();
    let journal = yard.journal("T-1").join("\n");
    assert!(
        !journal.contains("disc.runout\",\"phase\":\"as_found\",\"take\""),
        "{journal}"
    );
}

#[test]
fn a_practice_in_a_real_terminal_says_it_is_done_in_one_go_and_is_never_signed() {
    let yard = Yard::with_job();
    let mut terminal = Terminal::start(&yard, &["practice", "--seed", "7"]);
    terminal.shows("Practice on an invented corner. This is no inspection");
    terminal.shows("leaving ends it");
    terminal.shows("> ").types("");
    terminal.shows("> ").types("0.001");
    terminal.master.resize(size(12, 40)).unwrap();
    terminal.shows("> ").types("quit");
    terminal
        .shows("stopped before the end")
        .shows("practice: no job, never signed");
    drop(terminal);
    let file = std::fs::read_dir(yard.path("practice"))
        .unwrap()
        .next()
        .unwrap()
        .unwrap();
    let name = file.file_name().into_string().unwrap();
    let said = yard.run(&["sign", &name]).ends(2);
    assert!(
        said.err.contains("a practice on an invented corner"),
        "{}",
        said.err
    );
}

#[test]
fn a_screen_of_eighty_columns_is_never_overrun_and_nothing_is_drawn_over() {
    let yard = Yard::with_job();
    for args in [
        ["walk", "T-1", "--part", "found", "--plain"],
        ["walk", "T-1", "--part", "found", "--color=never"],
    ] {
        let mut terminal = Terminal::start(&yard, &args);
        terminal.shows("> ").types("help");
        terminal.shows("> ").types("why");
        terminal.shows("> ").types("show");
        terminal.shows("so far as found");
        let mut all = terminal.seen.clone();
        while let Ok(more) = terminal.screen.recv_timeout(Duration::from_millis(300)) {
            all.push_str(&more);
        }
        // No cursor is ever moved: only lines, one after the other.
        assert!(!all.contains('\u{1b}'), "{all:?}");
        assert!(
            all.lines()
                .all(|line| line.trim_end().chars().count() <= 80),
            "{all}"
        );
    }
}
