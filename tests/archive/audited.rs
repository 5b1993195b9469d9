//! The audit: damage found, work shared, and gone on with after a death.

use super::common::terminal::run_command;
use super::common::{Said, Yard};
use super::server::{OWNER, PASSWORD, Server};
use super::shops::{archive, push, role, run, shared};

fn pushed(name: &str) -> (&'static Server, Yard, String) {
    let server = shared();
    archive(server, name, &["north"]);
    let yard = Yard::demo();
    push(&yard, server, &role("north", name), name).ends(0);
    (server, yard, server.url(&format!("office_{name}"), name))
}

fn audit(yard: &Yard, url: &str, more: &[&str]) -> Said {
    let mut args = vec!["archive", "audit", "--to", url, "--json"];
    args.extend(more);
    run(yard, &args)
}

fn kinds(said: &Said) -> Vec<(String, String)> {
    let text = |value: &serde_json::Value| value.as_str().unwrap().to_owned();
    let problems = said.json();
    let problems = problems["problems"].as_array().unwrap().clone();
    problems
        .iter()
        .map(|p| (text(&p["place"]), text(&p["kind"])))
        .collect()
}

#[test]
#[ignore = "needs PostgreSQL: run by tests/run"]
fn a_whole_archive_is_good_and_an_empty_one_has_nothing_to_audit() {
    let (server, yard, url) = pushed("audit");
    let said = audit(&yard, &url, &[]).ends(0).json();
    assert_eq!(
        (&said["records"], &said["records_valid"], &said["valid"]),
        (&8.into(), &8.into(), &true.into())
    );
    archive(server, "nothing", &["north"]);
    let empty = server.url("office_nothing", "nothing");
    let said = run(&yard, &["archive", "audit", "--to", &empty]).ends(2);
    assert!(
        said.err.contains("no record in the archive"),
        "{}",
        said.err
    );
    // A signers file that does not vouch.
    let none = yard.root().join("nobody");
    std::fs::write(&none, "").unwrap();
    let said = audit(
        &yard,
        &url,
        &["--signers", none.to_str().unwrap(), "--anew"],
    )
    .ends(1);
    assert_eq!(
        kinds(&said)
            .iter()
            .filter(|(_, kind)| kind == "signer")
            .count(),
        8
    );
    // By shop: a folder with a file for each.
    let by_shop = yard.root().join("by-shop");
    std::fs::create_dir(&by_shop).unwrap();
    std::fs::copy(yard.path("signers"), by_shop.join("north")).unwrap();
    audit(
        &yard,
        &url,
        &["--signers", by_shop.to_str().unwrap(), "--anew"],
    )
    .ends(0);
    // A shop may not audit.
    let shop = server.url(&role("north", "audit"), "audit");
    let said = run(&yard, &["archive", "audit", "--to", &shop]).ends(2);
    assert!(said.err.contains("may not do this"), "{}", said.err);
}

#[test]
#[ignore = "needs PostgreSQL: run by tests/run"]
fn every_kind_of_damage_to_what_is_stored_is_found() {
    let (server, yard, url) = pushed("damage");
    let mut admin = server.admin("damage");
    let at = "shop_id = 'north' AND job_id = 'HWY-0411' AND revision = 1";
    let digest = format!("digest = (SELECT digest FROM brakecorner.record WHERE {at})");
    // What an owner, or a failing disk, could do; undone after each.
    let cases: [(String, &[&str]); 9] = [
        (
            format!(
                "UPDATE brakecorner.record SET body = set_byte(body, 5000, get_byte(body, 5000) # 1) WHERE {at}"
            ),
            &["stored", "signature"],
        ),
        (
            format!("UPDATE brakecorner.record SET sig = set_byte(sig, 100, 65) WHERE {at}"),
            &["signature"],
        ),
        (
            format!(
                "UPDATE brakecorner.record SET body = substring(body from 1 for 4000) WHERE {at}"
            ),
            &["form", "stored"],
        ),
        (
            "UPDATE brakecorner.record SET job_id = 'HWY-9999' WHERE job_id = 'HWY-0411'"
                .to_owned(),
            &["misplaced"],
        ),
        (
            format!(
                "UPDATE brakecorner.visit SET as_found = 'PASS', summary = replace(summary, 'FAIL', 'PASS') WHERE {at}"
            ),
            &["derived"],
        ),
        (
            format!(
                "UPDATE brakecorner.item_verdict SET verdict = 'PASS' WHERE verdict <> 'PASS' AND {digest}"
            ),
            &["derived"],
        ),
        (
            format!(
                "UPDATE brakecorner.result SET value = value + 0.001 WHERE {digest} AND n = (SELECT min(n) FROM brakecorner.result WHERE {digest})"
            ),
            &["derived"],
        ),
        (
            format!("DELETE FROM brakecorner.instrument_use WHERE {digest}"),
            &["derived"],
        ),
        (
            format!(
                "DELETE FROM brakecorner.visit WHERE {at}; DELETE FROM brakecorner.record WHERE {at}"
            ),
            &["gap", "revisions"],
        ),
    ];
    for (sql, expected) in cases {
        admin.batch_execute("BEGIN").unwrap();
        admin.batch_execute("COMMIT").unwrap();
        let kept = server.admin("postgres");
        drop(kept);
        // A copy of the database takes the damage.
        drop(admin);
        let mut postgres = server.admin("postgres");
        postgres
            .batch_execute("DROP DATABASE IF EXISTS damaged")
            .unwrap();
        let since = std::time::Instant::now();
        while let Err(error) = postgres.batch_execute("CREATE DATABASE damaged TEMPLATE damage") {
            assert!(since.elapsed().as_secs() < 20, "{error}");
            std::thread::sleep(std::time::Duration::from_millis(100));
        }
        server
            .admin("damaged")
            .batch_execute(&sql)
            .unwrap_or_else(|e| panic!("{sql}: {e}"));
        let there = server.url("office_damage", "damaged");
        let said = audit(&yard, &there, &[]).ends(1);
        let found = kinds(&said);
        for kind in expected {
            assert!(
                found.iter().any(|(_, found)| found == kind),
                "{kind} of {sql}: {found:?}"
            );
        }
        assert!(
            found
                .iter()
                .all(|(place, _)| place.starts_with("north/HWY-0") || place.contains("HWY-9999")),
            "{found:?}"
        );
        admin = server.admin("damage");
    }
    drop(admin);
    audit(&yard, &url, &[]).ends(0);
    let _ = OWNER;
}

#[test]
#[ignore = "needs PostgreSQL: run by tests/run"]
fn several_workers_share_an_audit_and_one_that_dies_leaves_its_range_to_the_others() {
    let (server, yard, url) = pushed("share");
    let mut office = server.client("office_share", "share");
    // As on another machine: an audit begun, and a worker that holds a range and dies.
    office
        .batch_execute(
            "INSERT INTO brakecorner.audit_run (run_id, ranges) VALUES ('00000000-0000-0000-0000-000000000001', 4);
             INSERT INTO brakecorner.audit_range (run_id, n, shop_id, first_job, last_job, records)
             SELECT '00000000-0000-0000-0000-000000000001', row_number() OVER (ORDER BY job_id) - 1, 'north', job_id, job_id, 2
             FROM (SELECT DISTINCT job_id FROM brakecorner.record) AS j",
        )
        .unwrap();
    let mut other = server.client("office_share", "share");
    let mut held = other.transaction().unwrap();
    let row = held
        .query_one(
            "SELECT n FROM brakecorner.audit_range ORDER BY n LIMIT 1 FOR UPDATE SKIP LOCKED",
            &[],
        )
        .unwrap();
    assert_eq!(row.get::<_, i32>(0), 0);
    let said = run(&yard, &["archive", "audit", "--to", &url, "--workers", "2"]).ends(2);
    assert!(said.err.contains("3 of 4 ranges are done"), "{}", said.err);
    assert!(said.err.contains("not finished"), "{}", said.err);
    drop(held); // the other machine dies
    drop(other);
    let said = audit(&yard, &url, &[]).ends(0);
    let report = said.json();
    assert_eq!(report["records"], 8);
    let workers = report["workers"].as_object().unwrap();
    let ranges: i64 = workers.values().map(|n| n.as_i64().unwrap()).sum();
    assert_eq!(ranges, 4, "each range once: {workers:?}");
    assert_eq!(report["run"], "00000000-0000-0000-0000-000000000001");
    // The next audit is a new one.
    assert_ne!(audit(&yard, &url, &[]).ends(0).json()["run"], report["run"]);
}

#[test]
#[ignore = "needs PostgreSQL: run by tests/run"]
fn on_a_terminal_a_push_and_an_audit_show_how_far_they_are() {
    let server = shared();
    archive(server, "bar", &["north"]);
    let yard = Yard::demo();
    let on_terminal = |args: &[&str]| {
        let mut command = yard.command(args);
        command.env("PGPASSWORD", PASSWORD);
        run_command(&command, "xterm")
    };
    let full = "#".repeat(30);
    let pushed = on_terminal(&[
        "archive",
        "push",
        "--to",
        &server.url(&role("north", "bar"), "bar"),
    ]);
    assert!(
        pushed.contains(&format!("[{full}] 8 of 8 records\r\u{1b}[K")),
        "{pushed:?}"
    );
    let office = server.url("office_bar", "bar");
    let audited = on_terminal(&["archive", "audit", "--to", &office]);
    let (bar, rest) = audited.split_once("\r\u{1b}[K").unwrap();
    assert!(
        bar.contains(&format!("[{:30}] 0 of 1 ranges", "")),
        "{audited:?}"
    );
    assert!(
        bar.ends_with(&format!("[{full}] 1 of 1 ranges")),
        "{audited:?}"
    );
    assert!(!rest.contains('['), "{audited:?}");
    let plain = on_terminal(&["--plain", "archive", "audit", "--anew", "--to", &office]);
    assert!(plain.starts_with("  1 of 1 ranges\r\n"), "{plain:?}");
}

#[test]
#[ignore = "needs PostgreSQL: run by tests/run"]
fn a_range_of_jobs_is_found_by_the_key_in_any_language() {
    let server = shared();
    archive(server, "ranges", &["north"]);
    let mut admin = server.admin("ranges");
    admin.batch_execute("SET enable_seqscan = off").unwrap();
    for table in ["record", "visit"] {
        let plan = admin
            .query(
                &format!(
                    "EXPLAIN SELECT digest FROM brakecorner.{table} WHERE shop_id = 'north'
                     AND job_id COLLATE \"C\" BETWEEN 'A' AND 'B'"
                ),
                &[],
            )
            .unwrap();
        let plan: String = plan.iter().map(|row| row.get::<_, &str>(0)).collect();
        let condition = plan.split("Index Cond: ").nth(1).unwrap_or_default();
        assert!(condition.contains("job_id >= 'A'"), "{plan}");
    }
}
