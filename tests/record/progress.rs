//! The audit's progress, in a real terminal and out of one.

use super::common::Yard;
use super::common::terminal::run_command;
use super::signed;

fn on_terminal(yard: &Yard, args: &[&str], kind: &str) -> String {
    run_command(&yard.command(args), kind)
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
