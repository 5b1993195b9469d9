//! The audit's progress, in a real terminal and out of one.

use std::io::Read as _;

use portable_pty::{CommandBuilder, PtySize, native_pty_system};

use super::common::Yard;
use super::signed;

/// Runs the program with all its streams on a terminal; returns what the terminal showed.
fn on_terminal(yard: &Yard, args: &[&str], kind: &str) -> String {
    let size = PtySize {
        rows: 24,
        cols: 80,
        pixel_width: 0,
        pixel_height: 0,
    };
    let pair = native_pty_system().openpty(size).unwrap();
    let inner = yard.command(args);
    let mut command = CommandBuilder::new(inner.get_program());
    command.env_clear();
    for (key, value) in inner.get_envs() {
        command.env(key, value.unwrap());
    }
    command.env("TERM", kind);
    command.args(inner.get_args());
    command.cwd(yard.root());
    let mut child = pair.slave.spawn_command(command).unwrap();
    drop(pair.slave);
    let mut reader = pair.master.try_clone_reader().unwrap();
    let (mut screen, mut bytes) = (Vec::new(), [0; 4096]);
    // A terminal whose program has ended answers with an error on some systems.
    while let Ok(n @ 1..) = reader.read(&mut bytes) {
        screen.extend_from_slice(&bytes[..n]);
    }
    assert!(child.wait().unwrap().success());
    String::from_utf8(screen).unwrap()
}

const SAID: &str = "1 records of 1 jobs: 1 valid";

#[test]
fn on_a_terminal_a_bar_is_drawn_filled_and_wiped_away() {
    let yard = signed();
    let screen = on_terminal(&yard, &["audit"], "xterm");
    let (bar, rest) = screen.split_once(SAID).unwrap();
    assert!(
        bar.contains(&format!("[{:30}] 0 of 1 jobs", "")),
        "{screen:?}"
    );
    assert!(
        bar.contains(&format!("[{}] 1 of 1 jobs", "#".repeat(30))),
        "{screen:?}"
    );
    assert!(bar.ends_with("\r\u{1b}[K"), "{screen:?}");
    assert!(!rest.contains('['), "{screen:?}");
}

#[test]
fn plain_progress_is_lines_that_nothing_moves_over() {
    let yard = signed();
    for (args, kind) in [(&["--plain", "audit"][..], "xterm"), (&["audit"], "dumb")] {
        let screen = on_terminal(&yard, args, kind);
        let (lines, _) = screen.split_once(SAID).unwrap();
        assert_eq!(lines, "  1 of 1 jobs\r\n", "{screen:?}");
    }
}

#[test]
fn out_of_a_terminal_and_before_json_there_is_no_progress() {
    let yard = signed();
    let said = yard.run(&["audit"]).ends(0);
    assert_eq!(said.err, "");
    assert!(said.out.starts_with(SAID), "{}", said.out);
    let screen = on_terminal(&yard, &["audit", "--json"], "xterm");
    let value: serde_json::Value = serde_json::from_str(&screen).unwrap();
    assert_eq!(value["valid"], true);
}
