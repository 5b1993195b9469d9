//! The same questions to the folders and to the archive, answered row by row alike.

use brakecorner::cli::Exit;

use super::common::{Yard, copy};
use super::shops::{archive, push, role, shared, told, visit};

/// Two workshops: the north's van came back twice, once after its pads were measured in the south.
fn two(name: &str) -> (Yard, String) {
    let server = shared();
    archive(server, name, &["north", "south"]);
    let yard = Yard::demo();
    visit(&yard, "N-1", "2026-06-20", "91000", "2.6");
    visit(&yard, "N-2", "2026-11-20", "99000", "2.3");
    push(&yard, server, &role("north", name), name).ends(0);
    let south = Yard::demo_anew();
    let settings = south.path("workshop.toml");
    let text = std::fs::read_to_string(&settings).unwrap();
    std::fs::write(
        &settings,
        text.replace("Hollin Wharf Yard", "South Wharf Yard"),
    )
    .unwrap();
    // One vehicle is the south's alone; of the others it keeps two.
    std::fs::remove_dir_all(south.path("jobs/HWY-0429")).unwrap();
    push(&south, server, &role("south", name), name).ends(0);
    copy(&south.path(""), &yard.root().join("south"));
    (yard, server.url(&format!("office_{name}"), name))
}

const TIMES: [&str; 3] = [
    "2026-03-04T12:00:00+00:00",
    "2026-11-25T12:00:00+00:00",
    "2031-01-01T00:00:00-05:00",
];

#[track_caller]
fn alike(yard: &Yard, time: &str, folder: &[&str], archive: &[&str]) -> serde_json::Value {
    let (by_folder, by_archive) = (told(yard, time, folder), told(yard, time, archive));
    assert_eq!(
        by_folder.0, by_archive.0,
        "{}\n{}",
        by_folder.2, by_archive.2
    );
    assert_eq!(by_folder.1, by_archive.1);
    serde_json::from_str(&by_archive.1).unwrap_or_default()
}

#[test]
#[ignore = "needs PostgreSQL: run by tests/run"]
fn due_gives_the_same_rows_for_one_shop_and_for_several() {
    let (yard, office) = two("due");
    let north = shared().url(&role("north", "due"), "due");
    for time in TIMES {
        for within in [None, Some("30d"), Some("20000km")] {
            for form in ["--json", "--csv", "--calendar"] {
                // The form is made of the same rows: once each is enough.
                if form != "--json" && (within.is_some() || time != TIMES[1]) {
                    continue;
                }
                let mut rest = vec!["due", form];
                if form == "--calendar" {
                    rest.push("-");
                }
                rest.extend(within.map(|_| "--within"));
                rest.extend(within);
                let with = |more: &[&'static str], url: Option<&str>| {
                    let mut all: Vec<String> = rest.iter().map(|w| (*w).to_owned()).collect();
                    all.extend(more.iter().map(|w| (*w).to_owned()));
                    all.extend(url.map(|_| "--archive".to_owned()));
                    all.extend(url.map(str::to_owned));
                    all
                };
                let (one, one_there) = (with(&["--shop", "shop"], None), with(&[], Some(&north)));
                let words = |all: &[String]| all.to_vec();
                let (a, b) = (words(&one), words(&one_there));
                let a: Vec<&str> = a.iter().map(String::as_str).collect();
                let b: Vec<&str> = b.iter().map(String::as_str).collect();
                let rows = alike(&yard, time, &a, &b);
                if form == "--json" && within.is_none() {
                    let kinds: std::collections::BTreeSet<String> = rows["due"]
                        .as_array()
                        .unwrap()
                        .iter()
                        .map(|row| row["kind"].as_str().unwrap().to_owned())
                        .collect();
                    assert!(kinds.len() >= 4, "{kinds:?}");
                }
                let (a, b) = (
                    with(&["--shop", "shop", "--shop", "south"], None),
                    with(&[], Some(&office)),
                );
                let a: Vec<&str> = a.iter().map(String::as_str).collect();
                let b: Vec<&str> = b.iter().map(String::as_str).collect();
                alike(&yard, time, &a, &b);
            }
        }
    }
}

#[test]
#[ignore = "needs PostgreSQL: run by tests/run"]
fn history_gives_the_same_visits_series_and_ranks() {
    let (yard, office) = two("history");
    let time = TIMES[1];
    for vehicle in [
        "A0ZDL07V7NK001122",
        "a0zdl07v 7nk-001122",
        "A0ZPN08D9PK000733",
    ] {
        for json in [&[][..], &["--json"]] {
            let folder = [
                &["history", vehicle, "--shop", "shop", "--shop", "south"],
                json,
            ]
            .concat();
            let there = [&["history", vehicle, "--archive", &office], json].concat();
            let found = alike(&yard, time, &folder, &there);
            if !json.is_empty() {
                assert!(!found["visits"].as_array().unwrap().is_empty());
            }
        }
    }
    for json in [&[][..], &["--json"]] {
        let folder = [
            &["history", "--fleet", "--shop", "shop", "--shop", "south"],
            json,
        ]
        .concat();
        let there = [&["history", "--fleet", "--archive", &office], json].concat();
        let fleet = alike(&yard, time, &folder, &there);
        if !json.is_empty() {
            assert!(fleet["vehicles"].as_array().unwrap().len() >= 4, "{fleet}");
        }
    }
    let (exit, _, err) = told(&yard, time, &["history", "NONE", "--archive", &office]);
    assert_eq!(exit, Exit::NoAnswer);
    assert!(err.contains("no job of a vehicle"), "{err}");
}

#[test]
#[ignore = "needs PostgreSQL: run by tests/run"]
fn recall_gives_the_same_jobs_and_the_same_changes() {
    let (yard, office) = two("recall");
    let north = shared().url(&role("north", "recall"), "recall");
    for (id, error) in [
        ("HW-M1", "0.006"),
        ("HW-D1", "0.02"),
        ("HW-G1", "0.4"),
        ("HW-T1", "3"),
        ("HW-M1", "0.1"),
    ] {
        for since in [&["--since", "2000-01-01"][..], &[]] {
            for json in [&[][..], &["--json"]] {
                let ask = ["instrument", "recall", id, "--error", error];
                let folder = [&ask[..], since, json, &["--shop", "shop"]].concat();
                let there = [&ask[..], since, json, &["--archive", &north]].concat();
                alike(&yard, TIMES[1], &folder, &there);
                let there = [
                    &ask[..],
                    since,
                    json,
                    &["--archive", &office, "--of", "north"],
                ]
                .concat();
                alike(&yard, TIMES[1], &folder, &there);
            }
        }
    }
    let ask = [
        "instrument",
        "recall",
        "HW-M1",
        "--error",
        "0.1",
        "--since",
        "2000-01-01",
        "--json",
    ];
    let (_, out, err) = told(
        &yard,
        TIMES[1],
        &[&ask[..], &["--archive", &north]].concat(),
    );
    let found: serde_json::Value = serde_json::from_str(&out).unwrap_or_else(|_| panic!("{err}"));
    let jobs = found["jobs"].as_array().unwrap();
    assert!(
        jobs.iter()
            .any(|job| !job["changes"].as_array().unwrap().is_empty()),
        "{found}"
    );
    let ask = ["instrument", "recall", "HW-M1", "--archive", &office];
    let (exit, _, err) = told(&yard, TIMES[1], &ask);
    assert_eq!(exit, Exit::NoAnswer);
    assert!(err.contains("several shops: north, south"), "{err}");
}
