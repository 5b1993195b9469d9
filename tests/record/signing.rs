//! Making records: two signers at once, death at any moment, countersigning, corrections.

use std::fs;
use std::process::Stdio;
use std::time::Instant;

use super::common::Yard;
use super::{bad_stages, file, problems, read, second_person, sign, signed};

#[test]
fn signers_at_the_same_moment_make_one_row_of_revisions() {
    let yard = Yard::with_job();
    let args = ["sign", "T-1", "--as-found", "--incomplete", "only a test"];
    let children: Vec<_> = (0..4).map(|_| yard.start(&args)).collect();
    for child in children {
        let output = child.wait_with_output().unwrap();
        let err = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(output.status.success(), "{err}");
    }
    assert_eq!(problems(&yard, &[]), Vec::<String>::new());
    for number in 1..=4 {
        let record: serde_json::Value =
            serde_json::from_str(&read(file(&yard, &format!("record-{number}.json")))).unwrap();
        assert_eq!(record["signer"]["sequence"], number);
    }
    assert!(!file(&yard, "record-5.json").exists());
}

/// The program is really killed, at moments spread over its whole run; where exactly each lands is
/// chance, what must hold after each is not.
#[test]
fn killed_at_any_moment_signing_leaves_the_old_state_or_the_new() {
    let yard = Yard::with_job();
    let args = ["sign", "T-1", "--as-found", "--incomplete", "only a test"];
    let start = Instant::now();
    sign(&yard).ends(0);
    let whole = start.elapsed();
    let rounds = 40u32;
    let mut killed = 0;
    for round in 0..rounds {
        let before = count(&yard);
        let mut child = yard
            .command(&args)
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        // Golden-ratio steps spread the moments evenly over 5 to 110 percent of a run.
        let part = (f64::from(round) * 0.618_033_988_749_895).fract() * 1.05 + 0.05;
        std::thread::sleep(whole.mul_f64(part));
        let _ = child.kill();
        killed += u32::from(!child.wait().unwrap().success());
        let after = count(&yard);
        assert!(
            after == before || after == before + 1,
            "{before} became {after}"
        );
        if after > 0 {
            assert_eq!(
                bad_stages(&yard, "T-1"),
                Vec::<String>::new(),
                "round {round}"
            );
        }
        assert!(file(&yard, "journal.jsonl").exists());
    }
    assert!(
        killed > rounds / 4,
        "only {killed} of {rounds} runs were caught alive"
    );
    sign(&yard).ends(0);
    assert_eq!(problems(&yard, &[]), Vec::<String>::new());
}

/// Calls that change something, on the processors this was tried on and others.
#[cfg(target_os = "linux")]
const CHANGING: [&str; 12] = [
    "?write",
    "?pwrite64",
    "?fsync",
    "?fdatasync",
    "?link",
    "?linkat",
    "?rename",
    "?renameat2",
    "?unlink",
    "?unlinkat",
    "?ftruncate",
    "?flock",
];

/// Every call that changes something is cut off in turn: the first of its kind, the second, until
/// the program gets to its end.
#[cfg(target_os = "linux")]
#[test]
#[ignore = "needs strace; tests/run provides it"]
fn killed_before_each_step_in_turn_signing_leaves_the_old_state_or_the_new() {
    let yard = signed();
    yard.run(&["log", "T-1", "FL", "hose", "sound"]).ends(0);
    let saved = yard.root().join("saved");
    for folder in ["shop", "config"] {
        copy_folder(&yard.root().join(folder), &saved.join(folder));
    }
    let plain = yard.command(&["sign", "T-1", "--as-found", "--incomplete", "only a test"]);
    let mut outcomes = [0, 0];
    for call in CHANGING {
        for time in 1.. {
            for folder in ["shop", "config"] {
                fs::remove_dir_all(yard.root().join(folder)).unwrap();
                copy_folder(&saved.join(folder), &yard.root().join(folder));
            }
            let mut traced = std::process::Command::new("strace");
            traced.args([
                "-f",
                "-qq",
                "-o",
                "/dev/null",
                "-e",
                &format!("trace={call}"),
            ]);
            traced.args(["-e", &format!("inject={call}:signal=SIGKILL:when={time}")]);
            traced.arg(plain.get_program()).args(plain.get_args());
            traced.env_clear().current_dir(yard.root());
            for (name, value) in plain.get_envs() {
                traced.env(name, value.unwrap_or_default());
            }
            let ended = traced.stdin(Stdio::null()).output().unwrap().status;
            let after = count(&yard);
            if ended.success() {
                assert_eq!(after, 2);
                break;
            }
            let step = format!("{call} {time}");
            assert!(after == 1 || after == 2, "{step}: {after} records");
            assert_eq!(bad_stages(&yard, "T-1"), Vec::<String>::new(), "{step}");
            outcomes[after - 1] += 1;
            // Whatever was left, signing goes on from it, and nothing is missing or doubled.
            sign(&yard).ends(0);
            assert_eq!(count(&yard), after + 1, "{step}");
            assert_eq!(problems(&yard, &[]), Vec::<String>::new(), "{step}");
        }
    }
    // Both happen: killed before the record has its name, and after it.
    assert!(outcomes[0] >= 10 && outcomes[1] >= 5, "{outcomes:?}");
}

#[cfg(target_os = "linux")]
fn copy_folder(from: &std::path::Path, to: &std::path::Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let there = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy_folder(&entry.path(), &there);
        } else {
            fs::copy(entry.path(), there).unwrap();
        }
    }
}

fn count(yard: &Yard) -> usize {
    (1..)
        .take_while(|n| file(yard, &format!("record-{n}.json")).exists())
        .count()
}

#[test]
fn a_correction_after_signing_is_a_new_revision_that_names_the_old_digest() {
    let yard = signed();
    let first = brakecorner::record::canonical::sha256_hex(
        &fs::read(file(&yard, "record-1.json")).unwrap(),
    );
    yard.run(&["log", "T-1", "FL", "hose", "sound"]).ends(0);
    sign(&yard).ends(0);
    let record: serde_json::Value =
        serde_json::from_str(&read(file(&yard, "record-2.json"))).unwrap();
    assert_eq!(record["previous_revision"], first.as_str());
    assert_eq!(record["signer"]["previous"], first.as_str());
    assert_eq!(bad_stages(&yard, "T-1"), Vec::<String>::new());
}

#[test]
fn a_record_nobody_signed_here_is_not_taken_into_the_journal() {
    let yard = signed();
    for ending in ["", ".sig"] {
        fs::copy(
            file(&yard, &format!("record-1.json{ending}")),
            file(&yard, &format!("record-2.json{ending}")),
        )
        .unwrap();
    }
    let said = sign(&yard).ends(2);
    assert!(
        said.err.contains("the journal knows nothing of it"),
        "{}",
        said.err
    );
    assert!(problems(&yard, &[]).contains(&"not_in_journal".to_owned()));
}

#[test]
fn a_second_person_countersigns_once_and_never_the_signer() {
    let yard = signed();
    second_person(&yard, "Tam Okoro");
    let said = yard.run(&["sign", "T-1", "--countersign"]).ends(2);
    assert!(said.err.contains("cannot countersign"), "{}", said.err);
    let said = yard
        .run(&["sign", "T-1", "--countersign", "--by", "ilse  VARGA"])
        .ends(2);
    assert!(said.err.contains("cannot countersign"), "{}", said.err);
    // Tam's key came after the record; a countersignature is checked at the record's time.
    let late = yard.run(&["sign", "T-1", "--countersign", "--by", "Tam Okoro"]);
    if late.code != Some(0) {
        assert!(late.err.contains("valid from"), "{}", late.err);
        let public = yard.root().join("config/keys/tam-okoro.pub");
        yard.run(&[
            "key",
            "trust",
            public.to_str().unwrap(),
            "--name",
            "Tam Okoro",
            "--from",
            "2020-01-01",
        ])
        .ends(0);
        yard.run(&["sign", "T-1", "--countersign", "--by", "Tam Okoro"])
            .ends(0);
    }
    let said = yard.run(&["verify", "T-1"]).ends(0);
    assert!(
        said.out.contains("countersignature by Tam Okoro"),
        "{}",
        said.out
    );
    let said = yard
        .run(&["sign", "T-1", "--countersign", "--by", "Tam Okoro"])
        .ends(2);
    assert!(said.err.contains("countersigned already"), "{}", said.err);
    // The record's own signature does not pass for a second person's.
    fs::copy(
        file(&yard, "record-1.json.sig"),
        file(&yard, "record-1.json.countersign.sig"),
    )
    .unwrap();
    assert_eq!(bad_stages(&yard, "T-1"), ["countersignature"]);
}

#[test]
fn one_person_with_two_keys_cannot_countersign() {
    let yard = signed();
    second_person(&yard, "Tam Okoro");
    let public = yard.root().join("config/keys/tam-okoro.pub");
    for name in ["Tam Okoro", "Ilse Varga"] {
        yard.run(&[
            "key",
            "trust",
            public.to_str().unwrap(),
            "--name",
            name,
            "--from",
            "2020-01-01",
        ])
        .ends(0);
    }
    let said = yard
        .run(&["sign", "T-1", "--countersign", "--by", "Tam Okoro"])
        .ends(2);
    assert!(
        said.err.contains("a second person is needed"),
        "{}",
        said.err
    );
    assert!(!file(&yard, "record-1.json.countersign.sig").exists());
    assert_eq!(bad_stages(&yard, "T-1"), Vec::<String>::new());
}

#[test]
fn the_policy_frozen_in_the_record_can_require_a_countersignature() {
    let yard = Yard::demo();
    let job = "HWY-0411";
    // The demonstration's final revision is countersigned by nobody and valid.
    yard.run(&["verify", job]).ends(0);
    let settings = read(yard.path("workshop.toml"));
    let policy = settings
        .lines()
        .find_map(|line| line.strip_prefix("policy = "))
        .unwrap()
        .trim_matches('"')
        .to_owned();
    let folder = yard.path("specs/policy");
    fs::create_dir_all(&folder).unwrap();
    fs::write(
        folder.join(format!("{policy}.toml")),
        "id = \"strict\"\n\n[record]\ncountersign_required = { value = true, source = \"own\" }\n",
    )
    .unwrap();
    let config = yard.path("demo-keys");
    let run = |args: &[&str]| {
        let output = yard
            .command(args)
            .env("BRAKECORNER_CONFIG", &config)
            .output()
            .unwrap();
        super::common::Said::from(output)
    };
    let said = run(&["sign", job, "--incomplete", "only a test"]).ends(0);
    assert!(
        said.out.contains("not valid before a second person"),
        "{}",
        said.out
    );
    assert_eq!(bad_stages(&yard, job), ["countersignature"]);
    run(&["sign", job, "--countersign", "--by", "Tam Okoro"]).ends(0);
    yard.run(&["verify", job]).ends(0);
}

/// The demonstration's job, finished and signed, in which a FAIL turns up after all.
#[test]
fn a_declined_fail_is_an_outcome_once_its_caution_was_read_out_and_only_then() {
    let yard = Yard::demo();
    let config = yard.path("demo-keys");
    let run = |args: &[&str]| {
        let output = yard
            .command(args)
            .env("BRAKECORNER_CONFIG", &config)
            .output()
            .unwrap();
        super::common::Said::from(output)
    };
    let job = "HWY-0411";
    let before = count_of(&yard, job);
    run(&["log", job, "FL", "hose", "defect", "leak", "--as-left"]).ends(0);
    let said = run(&["sign", job]).ends(2);
    assert!(
        said.err.contains("FAIL without an outcome: Front left"),
        "{}",
        said.err
    );
    // No reason signs over it.
    let said = run(&["sign", job, "--incomplete", "in a hurry"]).ends(2);
    assert!(said.err.contains("FAIL without an outcome"), "{}", said.err);
    run(&["contact", job, "--no", "FL.hose:sells it"]).ends(0);
    let said = run(&["sign", job]).ends(2);
    assert!(
        said.err
            .contains("FL hose: `FL.hose` was declined without the caution being read out"),
        "{}",
        said.err
    );
    assert_eq!(count_of(&yard, job), before, "nothing was written");
    run(&["contact", job, "--no", "FL.hose:sells it", "--caution"]).ends(0);
    run(&["sign", job]).ends(0);
    assert_eq!(count_of(&yard, job), before + 1);
    yard.run(&["verify", job]).ends(0);
    let path = yard.path(&format!("jobs/{job}/record-{}.json", before + 1));
    let record: serde_json::Value = serde_json::from_str(&read(path)).unwrap();
    assert_eq!(record["judgement"]["verdict"], "FAIL");
    assert_eq!(record["stage"], "final");
    assert_eq!(
        record["incomplete"],
        serde_json::Value::Null,
        "nothing was left out"
    );
}

fn count_of(yard: &Yard, job: &str) -> usize {
    (1..)
        .take_while(|n| yard.path(&format!("jobs/{job}/record-{n}.json")).exists())
        .count()
}

#[test]
fn a_lock_left_by_a_dead_program_holds_nobody_up() {
    let yard = Yard::with_job();
    fs::write(file(&yard, "sign.lock"), "").unwrap();
    sign(&yard).ends(0);
}
