//! The lists over many jobs: with and without the index, over two workshops, as a calendar.

use brakecorner::cli::Exit;
use serde_json::Value;

use super::{Desk, rows};

#[test]
fn an_index_that_is_missing_stale_or_broken_never_changes_an_answer() {
    let desk = Desk::demo();
    let now = "2026-03-06T08:00:00+00:00";
    let ask = || -> Vec<String> {
        [
            &["due", "--json"][..],
            &["due", "--within", "30d", "--json"],
            &["due", "--within", "7000km", "--csv"],
            &["history", "A0ZWR05C6LK004096", "--json"],
            &["history", "A0ZPN08D9PK000733", "--json"],
            &["history", "--fleet", "--json"],
        ]
        .map(|args| {
            let said = desk.at(now, args, "");
            format!("{:?}\n{}", said.exit, said.out)
        })
        .to_vec()
    };
    let index = desk.path("index.sqlite");
    let without = || {
        let aside = desk.root.path().join("aside");
        std::fs::rename(&index, &aside).unwrap();
        let answers = ask();
        std::fs::rename(&aside, &index).unwrap();
        answers
    };
    // Journals written this moment are not yet trusted to show a change in their times.
    let rest = || std::thread::sleep(std::time::Duration::from_millis(2_100));
    let plain = ask();
    rest();
    desk.at(now, &["index", "rebuild"], "")
        .ends(Exit::Good)
        .says("4 jobs indexed");
    assert_eq!(ask(), plain, "fresh");

    let journal = |job: &str| desk.path(&format!("jobs/{job}/journal.jsonl"));
    let first = std::fs::read(journal("HWY-0429")).unwrap();
    let open = |job: &str| {
        let args = format!("job open {job} --vin A0ZWR05C6LK004096 --odometer 96790 --class M1");
        let args: Vec<&str> = args.split(' ').collect();
        desk.at("2026-03-06T07:30:00+00:00", &args, "")
            .ends(Exit::Good);
    };
    let call = ["contact", "HWY-0429", "--call-back", "2026-03-07 09:00"];
    let changes: [(&str, &dyn Fn()); 6] = [
        ("a job goes on", &|| {
            desk.at(now, &call, "").ends(Exit::Good);
        }),
        ("a new visit of a known vehicle", &|| open("HWY-0501")),
        ("a copy from before is put back", &|| {
            std::fs::write(journal("HWY-0429"), &first).unwrap();
        }),
        ("a job is damaged", &|| {
            let text = std::fs::read_to_string(journal("HWY-0417")).unwrap();
            std::fs::write(journal("HWY-0417"), text.replacen("27.947", "27.847", 1)).unwrap();
        }),
        ("a job is gone", &|| {
            std::fs::remove_dir_all(desk.path("jobs/HWY-0501")).unwrap();
        }),
        ("an instrument is added", &|| {
            let args = "instrument add HW-T9 --kind torque_wrench --range 40-200 --calibrated-until 2026-03-10";
            let args: Vec<&str> = args.split(' ').collect();
            desk.at(now, &args, "").ends(Exit::Good);
        }),
    ];
    let mut before = plain;
    for (what, change) in changes {
        change();
        for rested in [false, true] {
            if rested {
                rest();
            }
            // Twice: from what has just been read anew, and from what is then kept of it.
            let (one, two, plain) = (ask(), ask(), without());
            assert_eq!(one, plain, "{what}, rested {rested}");
            assert_eq!(two, plain, "{what}, again, rested {rested}");
            assert!(rested || plain != before, "{what} shows in no answer");
            before = plain;
        }
    }

    // What the index keeps is spoilt inside a file that is still a database.
    let sql = |text: &str| {
        rusqlite::Connection::open(&index)
            .unwrap()
            .execute_batch(text)
            .unwrap()
    };
    for spoil in [
        "UPDATE due SET entry = substr(entry, 1, 20)",
        "UPDATE summary SET summary = 'gone'; INSERT OR IGNORE INTO unsettled SELECT vin FROM job",
        "DROP TABLE due",
    ] {
        sql(spoil);
        assert_eq!(ask(), before, "{spoil}");
        // Spoilt summaries are made anew from the journals in passing.
        if !spoil.contains("summary") {
            desk.at(now, &["due"], "")
                .says("the answer comes from the journals");
        }
        desk.at(now, &["index", "rebuild"], "");
        assert_eq!(ask(), before, "{spoil}, made anew");
    }
    std::fs::write(&index, "this is no database at all, only words").unwrap();
    for ending in ["-wal", "-shm"] {
        let _ = std::fs::remove_file(desk.path(&format!("index.sqlite{ending}")));
    }
    assert_eq!(ask(), before, "broken");
    std::fs::remove_file(&index).unwrap();
    assert_eq!(ask(), before, "deleted");
}

#[test]
fn the_same_job_number_in_two_workshops_is_told_apart() {
    let desk = Desk::demo();
    desk.at("2026-03-01T08:00:00+00:00", &["demo", "--to", "other"], "")
        .ends(Exit::Good);
    let now = "2026-03-02T18:00:00+00:00";
    let both = ["--shop", "shop", "--shop", "other"];
    let with = |more: &[&'static str]| {
        both.iter()
            .copied()
            .chain(more.iter().copied())
            .collect::<Vec<_>>()
    };
    desk.at(
        now,
        &with(&[
            "due",
            "--done",
            "HWY-0411",
            "--odometer",
            "84171",
            "--instrument",
            "HW-T1",
            "--none-turned",
        ]),
        "",
    )
    .ends(Exit::NoAnswer)
    .says("job `HWY-0411` is in several workshops");
    let due = desk.at(now, &with(&["due", "--json"]), "").json();
    let shops: Vec<&Value> = rows(&due, "calibration", "HW-T2")
        .iter()
        .map(|r| &r["shop"])
        .collect();
    assert_eq!(shops.len(), 2);
    assert_ne!(
        shops[0], shops[1],
        "two workshops of one name are told apart by folder"
    );
    desk.at(now, &with(&["verdict", "HWY-0411"]), "")
        .ends(Exit::NoAnswer)
        .says("this command works in one workshop; `--shop` was given 2 times");
}

/// The outside authority for the calendar: another iCalendar parser.
#[test]
#[ignore = "needs Python with icalendar; tests/run provides it"]
fn python_s_icalendar_reads_the_calendar_as_it_was_meant() {
    let desk = Desk::demo();
    let now = "2026-03-05T18:00:00+00:00";
    let call = [
        "contact",
        "HWY-0429",
        "--not-reached",
        "--call-back",
        "2026-03-06 09:00",
        "--said",
        "é; comma, and\\backslash",
    ];
    desk.at(now, &call, "").ends(Exit::Good);
    let due = desk
        .at("2026-03-05T19:00:00+00:00", &["due", "--json"], "")
        .json();
    let text = desk
        .at("2026-03-05T19:00:00+00:00", &["due", "--calendar"], "")
        .out;
    let file = desk.root.path().join("due.ics");
    std::fs::write(&file, &text).unwrap();
    assert!(
        text.split("\r\n")
            .all(|l| l.len() <= 75 && !l.contains('\n')),
        "folded, CRLF"
    );
    let python = std::env::var("BRAKECORNER_PYTHON").unwrap_or_else(|_| "python3".into());
    let program = "import icalendar, json, sys\n\
        c = icalendar.Calendar.from_ical(open(sys.argv[1], 'rb').read())\n\
        assert str(c['VERSION']) == '2.0' and c['PRODID']\n\
        print(json.dumps([[str(e['UID']), e['DTSTART'].dt.isoformat(), str(e['SUMMARY']), str(e['DESCRIPTION']), str(e['DTSTAMP'].dt.tzinfo)] for e in c.walk('VEVENT')]))";
    let said = std::process::Command::new(python)
        .args(["-c", program])
        .arg(&file)
        .output()
        .unwrap();
    assert!(
        said.status.success(),
        "{}",
        String::from_utf8_lossy(&said.stderr)
    );
    let events: Value = serde_json::from_slice(&said.stdout).unwrap();
    let events = events.as_array().unwrap();
    let with_day: Vec<&Value> = due["due"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|r| !r["date"].is_null())
        .collect();
    assert_eq!(events.len(), with_day.len());
    for (event, row) in events.iter().zip(with_day) {
        let start = event[1].as_str().unwrap();
        assert!(
            start.starts_with(row["date"].as_str().unwrap()),
            "{event} {row}"
        );
        assert!(
            event[3]
                .as_str()
                .unwrap()
                .starts_with(row["what"].as_str().unwrap())
        );
        assert_eq!(event[4], "UTC");
    }
    let uids: std::collections::BTreeSet<&str> =
        events.iter().map(|e| e[0].as_str().unwrap()).collect();
    assert_eq!(uids.len(), events.len(), "every UID is its own");
}
