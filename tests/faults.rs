//! Disks that fill up, lines that are torn, programs that write at the same moment.

#![allow(clippy::unwrap_used)] // helpers of tests stand outside test functions

mod common;

use std::process::{Command, Stdio};

use common::Yard;

/// A real write that the system refuses: the largest file this process may write is made smaller
/// than the journal, which stops it like a full disk (`EFBIG` instead of `ENOSPC`).
#[cfg(unix)]
#[test]
fn a_write_the_disk_refuses_is_said_and_nothing_already_entered_is_lost() {
    let yard = Yard::with_job();
    for _ in 0..8 {
        yard.run(&["log", "T-1", "FL", "hose", "sound"]).ends(0);
    }
    let before = yard.journal("T-1");
    let blocks = std::fs::metadata(yard.path("jobs/T-1/journal.jsonl"))
        .unwrap()
        .len()
        / 512;
    let inner = yard.command(&[
        "log",
        "T-1",
        "FR",
        "hose",
        "defect",
        "leak",
        &"note ".repeat(400),
    ]);
    let said: common::Said = Command::new("sh")
        .arg("-c")
        .arg(format!(
            "trap '' XFSZ; ulimit -f {blocks}; exec \"$0\" \"$@\""
        ))
        .arg(inner.get_program())
        .args(inner.get_args())
        .env_clear()
        .envs(inner.get_envs().filter_map(|(k, v)| Some((k, v?))))
        .current_dir(yard.root())
        .stdin(Stdio::null())
        .output()
        .unwrap()
        .into();
    let said = said.ends(2);
    assert!(
        said.err.contains("the last entry is not on the disk"),
        "{}",
        said.err
    );
    assert!(said.err.contains("entries are safe"), "{}", said.err);
    assert_eq!(yard.journal("T-1"), before);
    yard.run(&["log", "T-1", "FR", "hose", "sound"]).ends(0);
    assert_eq!(yard.journal("T-1").len(), before.len() + 1);
}

/// The walk itself on a full disk: it says so, keeps what was typed, and goes on when there is space.
#[cfg(target_os = "linux")]
#[test]
fn a_walk_on_a_full_disk_says_so_and_goes_on_when_there_is_space_again() {
    use std::io::{BufRead as _, Write as _};
    let yard = Yard::with_job();
    for _ in 0..8 {
        yard.run(&["log", "T-1", "RL", "hose", "sound"]).ends(0);
    }
    let before = yard.journal("T-1");
    let size = std::fs::metadata(yard.path("jobs/T-1/journal.jsonl"))
        .unwrap()
        .len();
    let inner = yard.command(&["walk", "T-1", "--part", "found"]);
    let mut walk = Command::new("bash")
        .arg("-c")
        .arg("trap '' XFSZ; exec \"$0\" \"$@\"")
        .arg(inner.get_program())
        .args(inner.get_args())
        .env_clear()
        .envs(inner.get_envs().filter_map(|(k, v)| Some((k, v?))))
        .current_dir(yard.root())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut keys = walk.stdin.take().unwrap();
    let mut out = std::io::BufReader::new(walk.stdout.take().unwrap());
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
    };
    wait("zero check of HW-M1");
    let limit = |soft: &str| {
        let done = Command::new("prlimit")
            .arg(format!("--pid={}", walk.id()))
            .arg(format!("--fsize={soft}:"))
            .status()
            .unwrap();
        assert!(done.success());
    };
    // Half a line more than there is: the write is cut short, as on a disk that fills up.
    limit(&(size + 100).to_string());
    writeln!(keys, "0.001").unwrap();
    wait("the last entry is not on the disk");
    wait("this answer is NOT on the disk yet");
    // Nothing typed meanwhile is taken for the answer, and trying again says the same.
    writeln!(keys, "0.004").unwrap();
    wait("not taken: Enter tries again");
    writeln!(keys).unwrap();
    wait("this answer is NOT on the disk yet");
    assert_eq!(yard.journal("T-1"), before);
    limit("unlimited");
    writeln!(keys).unwrap();
    wait("HW-M1 zero error 0.001 mm");
    writeln!(keys, "0").unwrap();
    wait("FL wheel.seat → sound");
    drop(keys);
    walk.wait().unwrap();
    let after = yard.journal("T-1");
    assert_eq!(after.len(), before.len() + 2);
    assert!(after[before.len()].contains(r#""kind":"zero_check""#));
    yard.run(&["verdict", "T-1"]).ends(1);
}

#[test]
fn a_torn_last_line_is_reported_set_aside_and_the_job_goes_on() {
    let yard = Yard::with_job();
    let path = yard.path("jobs/T-1/journal.jsonl");
    let whole = std::fs::read_to_string(&path).unwrap();
    let before = whole.lines().count();
    std::fs::write(&path, format!("{whole}{{\"v\":1,\"seq\":2,\"at")).unwrap();
    let said = yard.run(&["log", "T-1", "FL", "hose", "sound"]).ends(0);
    assert!(
        said.err
            .contains("ends in 18 bytes of an entry that was never confirmed"),
        "{}",
        said.err
    );
    assert_eq!(yard.journal("T-1").len(), before + 1);
    let aside = std::fs::read_to_string(yard.path("jobs/T-1/journal.torn")).unwrap();
    assert_eq!(aside, "{\"v\":1,\"seq\":2,\"at\n");
}

#[test]
fn damage_in_the_middle_is_named_and_never_skipped() {
    let yard = Yard::with_job();
    let line = yard.journal("T-1").len() + 1;
    yard.run(&["log", "T-1", "FL", "hose", "sound"]).ends(0);
    yard.run(&["log", "T-1", "FR", "hose", "sound"]).ends(0);
    let path = yard.path("jobs/T-1/journal.jsonl");
    let text = std::fs::read_to_string(&path).unwrap();
    std::fs::write(
        &path,
        text.replacen(r#""place":"FL""#, r#""place":"RL""#, 1),
    )
    .unwrap();
    for args in [
        vec!["verdict", "T-1"],
        vec!["log", "T-1", "RR", "hose", "sound"],
        vec!["walk", "T-1"],
    ] {
        let said = yard.run(&args).ends(2);
        assert!(
            said.err.contains(&format!("is damaged at line {line}")),
            "{args:?}: {}",
            said.err
        );
        assert!(
            said.err.contains("nothing was changed"),
            "{args:?}: {}",
            said.err
        );
    }
}

#[test]
fn four_programs_appending_at_the_same_moment_lose_and_reorder_nothing() {
    let yard = Yard::with_job();
    let before = yard.journal("T-1").len();
    std::thread::scope(|scope| {
        for corner in ["FL", "FR", "RL", "RR"] {
            let yard = &yard;
            scope.spawn(move || {
                for n in 0..12 {
                    let note = format!("number {n}");
                    yard.run(&["log", "T-1", corner, "hose", "defect", "cracks", &note])
                        .ends(0);
                }
            });
        }
    });
    let journal = yard.journal("T-1");
    assert_eq!(journal.len(), before + 48);
    for corner in ["FL", "FR", "RL", "RR"] {
        let mine: Vec<&String> = journal
            .iter()
            .filter(|l| l.contains(&format!(r#""place":"{corner}""#)))
            .collect();
        assert_eq!(mine.len(), 12);
        for (n, line) in mine.iter().enumerate() {
            assert!(line.contains(&format!("number {n}\"")), "{line}");
        }
    }
    yard.run(&["verdict", "T-1"]).ends(1);
}

#[cfg(unix)]
#[test]
fn a_read_only_folder_leaves_the_job_as_it_was() {
    use std::os::unix::fs::PermissionsExt as _;
    let yard = Yard::with_job();
    let before = yard.journal("T-1");
    let journal = yard.path("jobs/T-1/journal.jsonl");
    std::fs::set_permissions(&journal, std::fs::Permissions::from_mode(0o444)).unwrap();
    let said = yard.run(&["log", "T-1", "FL", "hose", "sound"]);
    // The superuser may write all the same; then there is nothing to see here.
    if said.code == Some(2) {
        assert!(said.err.contains("cannot open journal"), "{}", said.err);
        assert_eq!(yard.journal("T-1"), before);
    }
}

/// A scripted walk killed at random moments, again and again, until it is through: no confirmed
/// answer is lost, none is doubled, and the journal is valid at every stop.
///
/// 200 kills by default; `BRAKECORNER_KILLS` sets another number.
#[test]
fn a_walk_killed_at_random_moments_ends_like_one_that_was_not() {
    let kills: usize = std::env::var("BRAKECORNER_KILLS")
        .ok()
        .and_then(|n| n.parse().ok())
        .unwrap_or(200);
    let script: Vec<String> = common::typed_found().lines().map(str::to_owned).collect();
    let undisturbed = Yard::with_job();
    undisturbed
        .typed(&["walk", "T-1", "--part", "found"], &common::typed_found())
        .ends(0);
    let wanted = events(&undisturbed);
    let mut killed = 0;
    let mut seed: u64 = 0x9e37_79b9;
    while killed < kills {
        let yard = Yard::with_job();
        let start = events(&yard).len();
        loop {
            let done = events(&yard).len() - start;
            let rest = rest_of(&script, done);
            if rest.is_empty() {
                break;
            }
            let mut child = yard.start(&["walk", "T-1", "--part", "found"]);
            let mut input = child.stdin.take().unwrap();
            let lines = rest.join("\n") + "\n";
            let feeder = std::thread::spawn(move || {
                // A killed reader closes the pipe: that is what this test is about.
                let _ = std::io::Write::write_all(&mut input, lines.as_bytes());
                input
            });
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            let pause = (seed >> 33) % 60;
            std::thread::sleep(std::time::Duration::from_millis(pause));
            child.kill().unwrap();
            child.wait().unwrap();
            drop(feeder.join().unwrap());
            killed += 1;
            let so_far = events(&yard);
            assert_eq!(so_far, wanted[..so_far.len()], "after kill {killed}");
        }
        assert_eq!(events(&yard), wanted);
        yard.run(&["verdict", "T-1"]).ends(1);
    }
}

/// The journal's events without who and when; every line must be whole.
fn events(yard: &Yard) -> Vec<String> {
    let text = std::fs::read_to_string(yard.path("jobs/T-1/journal.jsonl")).unwrap();
    let whole = text.rfind('\n').map_or("", |end| &text[..=end]);
    whole
        .lines()
        .map(|line| {
            let value: serde_json::Value = serde_json::from_str(line).unwrap();
            value["event"].clone()
        })
        // Salted digests differ from job to job.
        .filter(|event| event["kind"] != "personal")
        .map(|event| event.to_string())
        .collect()
}

/// What is still to be typed when so many events are in the journal: one a line, but for the line
/// that gives both pads, which makes three (inner, passing over its second place, outer).
fn rest_of(script: &[String], mut done: usize) -> Vec<String> {
    let mut rest = Vec::new();
    for line in script {
        let parts: Vec<&str> = match line.split_once(" / ") {
            Some((inner, outer)) => vec![inner, "", outer],
            None => vec![line],
        };
        if done >= parts.len() {
            done -= parts.len();
        } else {
            rest.extend(parts[done..].iter().map(|part| (*part).to_owned()));
            done = 0;
        }
    }
    rest
}
