//! The `check` commands, run as a process, give the worked and published numbers.
//!
//! Sources stand beside each check. `tests/data/scenario.json` was computed by a separate slow program
//! (status: computed).

// A test may stop at the first thing it cannot read.
#![allow(clippy::unwrap_used, clippy::panic)]

#[path = "check/bad_input.rs"]
mod bad_input;
#[path = "check/help.rs"]
mod help;
#[path = "check/scenario.rs"]
mod scenario;
#[path = "check/worked.rs"]
mod worked;

use std::io::Write as _;
use std::process::{Command, Output, Stdio};

use serde_json::Value;

/// Runs `check` with a standard input.
fn run(args: &[&str], input: &str) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_brakecorner"))
        .arg("check")
        .args(args)
        .env_clear()
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // A program that stops at its arguments reads no input; that is not this test's question.
    let _ = child.stdin.take().unwrap().write_all(input.as_bytes());
    child.wait_with_output().unwrap()
}

/// The exit code and the JSON answer.
fn json(args: &[&str]) -> (i32, Value) {
    json_with(args, "")
}

fn json_with(args: &[&str], input: &str) -> (i32, Value) {
    let mut all = args.to_vec();
    all.push("--json");
    let output = run(&all, input);
    let text = String::from_utf8(output.stdout).unwrap();
    let value = serde_json::from_str(&text).unwrap_or_else(|e| {
        panic!(
            "{args:?}: {e}: {text}{:?}",
            String::from_utf8(output.stderr)
        )
    });
    (output.status.code().unwrap(), value)
}

/// The exit code and the text, of results or of errors.
fn text(args: &[&str]) -> (i32, String) {
    let output = run(args, "");
    let code = output.status.code().unwrap();
    let stream = if code == 2 {
        output.stderr
    } else {
        output.stdout
    };
    (code, String::from_utf8(stream).unwrap())
}

/// A number at a JSON pointer.
fn number(value: &Value, pointer: &str) -> f64 {
    value
        .pointer(pointer)
        .and_then(Value::as_f64)
        .unwrap_or_else(|| panic!("no number at {pointer} in {value:#}"))
}

/// A word at a JSON pointer.
fn word<'v>(value: &'v Value, pointer: &str) -> &'v str {
    value
        .pointer(pointer)
        .and_then(Value::as_str)
        .unwrap_or_else(|| panic!("no text at {pointer} in {value:#}"))
}

/// Compares with a figure printed to so many digits.
fn agrees(value: &Value, pointer: &str, want: f64, digits: i32) {
    let got = number(value, pointer);
    let half = 0.500_001 * 10f64.powi(-digits);
    assert!(
        (got - want).abs() <= half,
        "{pointer}: {got}, expected {want}"
    );
}
