//! The scenario's other jobs from opening to the due list: what was asked, said and written down.

use brakecorner::cli::Exit;
use serde_json::Value;

use super::{Desk, is, rows};

const VAN: &str = include_str!("../../demo/HWY-0411.txt");
const BUS: &str = include_str!("../../demo/HWY-0417.txt");
const CAR: &str = include_str!("../../demo/HWY-0423.txt");
const NOW: &str = "2026-03-05T18:00:00+00:00";

fn ask(desk: &Desk, args: &[&str]) -> Value {
    let said = desk.at(NOW, args, "");
    assert_ne!(said.exit, Exit::NoAnswer, "{said:?}");
    said.json()
}

/// Each answer as `when by means outcome line price until reason`.
fn answers(desk: &Desk, job: &str) -> Vec<String> {
    let said = ask(desk, &["contact", job, "--json"]);
    let text = |value: &Value| value.as_str().unwrap_or("-").to_owned();
    let mut all = Vec::new();
    for contact in said["contacts"].as_array().unwrap() {
        for answer in contact["answers"].as_array().into_iter().flatten() {
            let when = text(&contact["at"]);
            let parts = [
                when[..16].to_owned(),
                text(&contact["by"]),
                text(&contact["means"]),
                text(&answer["outcome"]),
                text(&answer["line"]),
                text(&answer["price"]),
                text(&answer["until"]),
                text(&answer["reason"]),
            ];
            all.push(parts.join(" | "));
        }
    }
    all
}

fn verdicts(desk: &Desk, job: &str) -> (Value, Value) {
    let verdict = ask(desk, &["verdict", job, "--json"]);
    (verdict["as_found"].clone(), verdict["as_left"].clone())
}

/// 58.00 quoted; rear pads at 96.00 suggested by telephone at 10:05 and put off to 2026-04-30.
#[test]
fn the_van_s_pads_are_put_off_to_a_day_and_its_inspection_stands() {
    let desk = Desk::demo();
    assert_eq!(
        answers(&desk, "HWY-0411"),
        [
            "2026-03-02T10:05 | Ruth Aldous | telephone | later | rear.pads | 96.00 | 2026-04-30 | at the next visit"
        ]
    );
    let quote = ask(&desk, &["quote", "HWY-0411", "--json"]);
    assert_eq!(quote["standing"], "grows");
    assert_eq!(quote["original_total"], "58.00");
    assert_eq!(
        (&quote["total"]["gross"], &quote["agreed"]["gross"]),
        (&"154.00".into(), &"58.00".into())
    );
    assert_eq!(
        verdicts(&desk, "HWY-0411"),
        ("ADVISE".into(), "ADVISE".into())
    );
    let due = ask(&desk, &["due", "--json"]);
    let left = rows(&due, "declined", "HWY-0411");
    assert_eq!((left.len(), &left[0]["date"]), (1, &"2026-04-30".into()));
    let points = std::fs::read_to_string(desk.path("jobs/HWY-0411/journal.jsonl")).unwrap();
    assert_eq!(
        points.matches(r#""point":"prepared","done":true"#).count(),
        4,
        "every hub"
    );
    assert_eq!(
        points.matches(r#""point":"road_test","done":true"#).count(),
        1
    );
}

/// Front discs at 310.00 quoted; turning the disc at 45.00 is enough; told at the counter at 11:30.
#[test]
fn the_bus_needs_no_discs_and_the_wrong_wrench_s_click_is_asked_for_again() {
    let before = Desk::yard();
    before.play(BUS, |s| {
        is(s, "job open") || is(s, "walk HWY-0417 --part found")
    });
    let quote = ask(&before, &["quote", "HWY-0417", "--json"]);
    assert_eq!(quote["standing"], "changes_kind");
    assert_eq!(
        (&quote["original_total"], &quote["total"]["gross"]),
        (&"310.00".into(), &"45.00".into())
    );
    assert_eq!(
        quote["call"].as_array().unwrap(),
        &[
            Value::from("FR.reclock: fails and was not quoted (45.00)"),
            "front.discs_pads: FR.reclock is proposed instead".into()
        ]
    );
    let call = before.at(
        "2026-03-03T11:20:00+00:00",
        &["quote", "HWY-0417", "--call"],
        "",
    );
    call.says("Instead of \"front discs\" we propose: clean the hub face, turn the disc to its best position, measure again.")
        .says("45.00 ISD");

    let desk = Desk::demo();
    assert_eq!(
        answers(&desk, "HWY-0417"),
        [
            "2026-03-03T11:30 | Ruth Aldous | in_person | yes | FR.reclock | 45.00 | - | -",
            "2026-03-03T11:30 | Ruth Aldous | in_person | no | front.discs_pads | 310.00 | - | -"
        ]
    );
    assert_eq!(verdicts(&desk, "HWY-0417"), ("FAIL".into(), "PASS".into()));
    let journal = std::fs::read_to_string(desk.path("jobs/HWY-0417/journal.jsonl")).unwrap();
    let refused: Vec<&str> = journal
        .lines()
        .filter(|l| l.contains("torque_refused"))
        .collect();
    assert_eq!(refused.len(), 1);
    assert!(
        refused[0].contains(r#""corner":"RR","instrument":"HW-T2""#),
        "{}",
        refused[0]
    );
    let clicks = |wrench: &str| {
        let final_click = r#""proceeding":"wheel_final""#;
        journal
            .lines()
            .filter(|l| l.contains(final_click) && l.contains(wrench))
            .count()
    };
    assert_eq!((clicks("HW-T1"), clicks("HW-T2")), (20, 0));
    // 118 460 km, 6 km of road test, 50 km to the re-torque (own arithmetic).
    let due = ask(&desk, &["due", "--json"]);
    assert_eq!(rows(&due, "retorque", "HWY-0417")[0]["km"], 118_516);
    assert!(
        rows(&due, "declined", "HWY-0417").is_empty(),
        "good discs left are nothing left"
    );
}

#[test]
fn the_taxi_leaves_incomplete_and_nothing_can_be_said_of_a_quote() {
    let desk = Desk::demo();
    assert_eq!(
        verdicts(&desk, "HWY-0429"),
        ("INCOMPLETE".into(), "INCOMPLETE".into())
    );
    let quote = ask(&desk, &["quote", "HWY-0429", "--json"]);
    assert_eq!(quote["standing"], "cannot_say");
    assert_eq!(quote["not_inspected"], serde_json::json!(["RL hose"]));
    let due = ask(&desk, &["due", "--json"]);
    assert_eq!(rows(&due, "retorque", "HWY-0429")[0]["km"], 41_430);
    assert!(
        rows(&due, "wear", "HWY-0429").is_empty(),
        "one reading is no forecast"
    );
}

#[test]
fn a_quote_stands_when_the_findings_ask_for_what_was_quoted_and_shrinks_when_parts_are_good() {
    let desk = Desk::yard();
    desk.play(CAR, |s| {
        is(s, "job open")
            || is(s, "log") && !s.args.contains(&"--as-left".into())
            || is(s, "walk HWY-0423 --part found")
    });
    let whole = "quote HWY-0423 --original rear.discs_pads=286 --original RR.slide_pins=64 --original fluid=52 --json";
    let quote = ask(&desk, &whole.split(' ').collect::<Vec<_>>());
    assert_eq!(
        (&quote["standing"], &quote["call"]),
        (&"stands".into(), &serde_json::json!([]))
    );
    // A dearer line is growth; a cheaper one is not.
    let quote = ask(&desk, &["quote", "HWY-0423", "--set", "fluid=60", "--json"]);
    assert_eq!(quote["standing"], "grows");
    assert_eq!(quote["call"][0], "fluid: quoted at 52.00, now 60.00");
    let quote = ask(&desk, &["quote", "HWY-0423", "--set", "fluid=50", "--json"]);
    assert_eq!(quote["standing"], "shrinks");

    let desk = Desk::yard();
    desk.play(VAN, |s| {
        is(s, "job open") || is(s, "walk HWY-0411 --part found")
    });
    let more = "quote HWY-0411 --original inspection=58 --original rear.pads=96 --original front.discs_pads=250 --json";
    let quote = ask(&desk, &more.split(' ').collect::<Vec<_>>());
    assert_eq!(quote["standing"], "shrinks");
    assert_eq!(
        (&quote["original_total"], &quote["total"]["gross"]),
        (&"404.00".into(), &"154.00".into())
    );
    assert_eq!(
        quote["call"],
        serde_json::json!(["front.discs_pads: quoted, and measured good"])
    );
    desk.at("2026-03-02T10:05:00+00:00", &["quote", "HWY-0411", "--call"], "")
        .says("Good news first: \"front axle: brake discs and pads, axle set\" was quoted and is not needed");
}

#[test]
fn what_was_agreed_counts_when_the_sum_rises_and_what_was_declined_does_not() {
    let desk = Desk::demo();
    let call = |desk: &Desk| ask(desk, &["quote", "HWY-0423", "--json"])["call"].clone();
    assert_eq!(call(&desk), serde_json::json!([]));
    ask(
        &desk,
        &["quote", "HWY-0423", "--add", "wiper blades=12", "--json"],
    );
    // 286 + 64 were agreed, 52 declined; 12 more make 362 (own arithmetic).
    assert_eq!(
        call(&desk),
        serde_json::json!([
            "extra.wiper-blades: not in the first quote (12.00)",
            "the sum rises from 350.00 to 362.00; policy allows 0 % without a call"
        ])
    );
}

/// Keyboard and wrench are two streams of the process: the program is run as a process of its own.
#[cfg(unix)]
#[test]
fn a_wrench_that_sends_its_clicks_confirms_single_fasteners_and_answers_no_question() {
    use std::io::{BufRead as _, Write as _};
    let desk = Desk::yard();
    for wrench in ["HW-T8 40-200", "HW-T9 5-40"] {
        let (id, range) = wrench.split_once(' ').unwrap();
        let args = format!(
            "instrument add {id} --kind torque_wrench --unit N·m --range {range} --calibrated-until 2099-12-31"
        );
        desk.at(
            "2026-03-02T08:30:00+00:00",
            &args.split(' ').collect::<Vec<_>>(),
            "",
        )
        .ends(Exit::Good);
    }
    desk.play(CAR, |s| {
        !is(s, "refit") && !is(s, "sign HWY-0423 --by") && !is(s, "due")
    });
    let fifo = desk.root.path().join("wrench");
    assert!(
        std::process::Command::new("mkfifo")
            .arg(&fifo)
            .status()
            .unwrap()
            .success()
    );
    let mut child = std::process::Command::new(env!("CARGO_BIN_EXE_brakecorner"))
        .args([
            "--shop",
            "shop",
            "--by",
            "Ilse Varga",
            "refit",
            "HWY-0423",
            "--gauge",
            "wrench",
        ])
        .current_dir(desk.root.path())
        .env("BRAKECORNER_CONFIG", desk.path("demo-keys"))
        .stdin(std::process::Stdio::piped())
        .stdout(std::process::Stdio::piped())
        .spawn()
        .unwrap();
    let mut keys = child.stdin.take().unwrap();
    let mut wrench = std::fs::OpenOptions::new().write(true).open(&fifo).unwrap();
    let out = child.stdout.take().unwrap();
    let (to, said) = std::sync::mpsc::channel();
    std::thread::spawn(move || {
        for line in std::io::BufReader::new(out).lines() {
            if to.send(line.unwrap()).is_err() {
                return;
            }
        }
    });
    let mut all = String::new();
    let mut hears = |words: &str| {
        while let Ok(line) = said.recv_timeout(std::time::Duration::from_secs(60)) {
            all.push_str(&line);
            all.push('\n');
            if line.contains(words) {
                return;
            }
        }
        panic!("`{words}` was never said:\n{all}");
    };
    for n in 1..=4 {
        writeln!(wrench, "0{n} 90.4 N·m").unwrap();
        hears("→ 90 N·m");
    }
    writeln!(wrench, "30.1 OK").unwrap();
    hears("does not read as a torque");
    for _ in 0..2 {
        writeln!(wrench, "30.1").unwrap();
        hears("→ 30 N·m");
    }
    writeln!(wrench, "1.0").unwrap();
    hears("answered at the keyboard");
    writeln!(keys, "yes").unwrap();
    hears("FL stage 1: every fastener");
    writeln!(wrench, "33.0 N·m").unwrap();
    hears("confirm the whole pass at the keyboard");
    writeln!(keys, "1\n1").unwrap();
    hears("FL final: fastener 1");
    writeln!(wrench, "104.4 N·m").unwrap();
    hears("104.4 N·m is below 110 N·m by more than allowed");
    // 81.1 lbf·ft are 109.957 N·m (source: NIST SP 811 App. B, read; arithmetic own).
    writeln!(wrench, "81.1 lbf·ft").unwrap();
    hears("fastener 1 → 110 N·m");
    writeln!(keys, "quit").unwrap();
    hears("open: FL: a fastener's torque is not confirmed (wheel fastener 2, 3, 4, 5)");
    drop((keys, wrench));
    assert!(child.wait().unwrap().success());
    let journal = std::fs::read_to_string(desk.path("jobs/HWY-0423/journal.jsonl")).unwrap();
    assert!(
        journal.contains(r#""text":"81.1 lbf·ft","unit":"N·m","value":109957,"accepted":true"#),
        "{journal}"
    );
    assert_eq!(journal.matches(r#""kind":"wrench_value""#).count(), 8);
}

#[test]
fn what_was_put_right_stands_in_the_table_twice_and_not_among_the_sound() {
    let desk = Desk::demo();
    let verdict = ["verdict", "HWY-0411"];
    let said = desk.at("2026-03-02T18:00:00+00:00", &verdict, "");
    let corner = said.out.split("\nRL ").nth(1).unwrap();
    let corner = corner.split("\nRR ").next().unwrap();
    let (sound, table): (Vec<&str>, Vec<&str>) = corner
        .lines()
        .filter(|line| line.contains("sensor.speed") && !line.contains('>'))
        .partition(|line| line.contains("sound:"));
    assert_eq!(sound.len(), 0, "{corner}");
    assert_eq!(table.len(), 2, "{corner}");
    assert!(
        table[0].contains("ADVISE") && table[1].contains("PASS"),
        "{table:?}"
    );
}
