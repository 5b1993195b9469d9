//! The program with all its streams on a real terminal.

use std::io::Read as _;
use std::process::Command;

use portable_pty::{CommandBuilder, PtySize, native_pty_system};

/// Runs a command on a terminal of this kind, to a good end; returns what the terminal showed.
pub fn run_command(inner: &Command, kind: &str) -> String {
    let size = PtySize {
        rows: 24,
        cols: 80,
        pixel_width: 0,
        pixel_height: 0,
    };
    let pair = native_pty_system().openpty(size).unwrap();
    let mut command = CommandBuilder::new(inner.get_program());
    command.env_clear();
    for (key, value) in inner.get_envs() {
        command.env(key, value.unwrap());
    }
    command.env("TERM", kind);
    command.args(inner.get_args());
    command.cwd(inner.get_current_dir().unwrap());
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
