//! Many shops at once, servers killed in the middle, connections cut: nothing lost, nothing doubled.

use std::time::Duration;

use super::common::Yard;
use super::server::{OWNER, Server};
use super::shops::{archive, contents, count, enrol, push, role, run, shared, target, visit};
use brakecorner::archive::connect::Archive;

/// That each record has exactly its derived rows, and each digest is the bytes'.
#[track_caller]
fn whole(server: &Server, database: &str, shops: i64, records: i64) {
    let row = server
        .admin(database)
        .query_one(
            "SELECT (SELECT count(*) FROM brakecorner.record), (SELECT count(DISTINCT (shop_id, digest)) FROM brakecorner.record),
                (SELECT count(DISTINCT shop_id) FROM brakecorner.record),
                (SELECT count(*) FROM brakecorner.visit v JOIN brakecorner.record r USING (shop_id, digest)),
                (SELECT count(DISTINCT (shop_id, digest)) FROM brakecorner.item_verdict),
                (SELECT count(*) FROM brakecorner.record WHERE sha256(body) <> digest),
                (SELECT count(*) FROM brakecorner.due_state s WHERE NOT EXISTS
                    (SELECT FROM brakecorner.visit v WHERE v.shop_id = s.shop_id AND v.digest = s.digest)),
                (SELECT count(*) FROM (SELECT shop_id, vin, max(known) AS k FROM brakecorner.due_state GROUP BY 1, 2) s
                    JOIN (SELECT shop_id, vin, count(*) AS n FROM brakecorner.visit GROUP BY 1, 2) v USING (shop_id, vin) WHERE k <> n)",
            &[],
        )
        .unwrap();
    let got: Vec<i64> = (0..8).map(|at| row.get(at)).collect();
    assert_eq!(
        got,
        [
            shops * records,
            shops * records,
            shops,
            shops * records,
            shops * records,
            0,
            0,
            0
        ]
    );
}

#[test]
#[ignore = "needs PostgreSQL: run by tests/run"]
fn twenty_shops_push_at_once() {
    let server = shared();
    archive(server, "twenty", &[]);
    let mut owner = Archive::connect(&target(server, OWNER, "twenty")).unwrap();
    let shops: Vec<String> = (1..=20).map(|n| format!("shop-{n}")).collect();
    for shop in &shops {
        enrol(server, &mut owner, "twenty", shop);
    }
    let yard = Yard::demo();
    std::thread::scope(|scope| {
        let pushes: Vec<_> = shops
            .iter()
            .map(|shop| {
                let yard = &yard;
                scope.spawn(move || {
                    push(yard, server, &role(shop, "twenty"), "twenty")
                        .ends(0)
                        .json()["sent"]
                        .as_u64()
                })
            })
            .collect();
        for one in pushes {
            assert_eq!(one.join().unwrap(), Some(8));
        }
    });
    whole(server, "twenty", 20, 8);
}

#[test]
#[ignore = "needs PostgreSQL: run by tests/run"]
fn several_computers_of_one_shop_push_the_same_at_once() {
    let server = shared();
    archive(server, "same", &["north"]);
    let yard = Yard::demo();
    std::thread::scope(|scope| {
        let pushes: Vec<_> = (0..6)
            .map(|_| {
                scope.spawn(|| {
                    push(&yard, server, &role("north", "same"), "same")
                        .ends(0)
                        .json()
                })
            })
            .collect();
        let sent: u64 = pushes
            .into_iter()
            .map(|one| one.join().unwrap()["sent"].as_u64().unwrap())
            .sum();
        assert_eq!(sent, 8, "each record is sent by one of them");
    });
    whole(server, "same", 1, 8);
}

#[test]
#[ignore = "needs PostgreSQL: run by tests/run"]
fn a_server_killed_during_a_push_at_fifty_moments_loses_and_doubles_nothing() {
    // Confirmed is written: a killed server then loses nothing of it, a machine that loses power might.
    let mut server = Server::with(&[], &["synchronous_commit=on"], "");
    let yard = Yard::demo();
    for n in 0..4 {
        visit(
            &yard,
            &format!("N-{n}"),
            &format!("2026-0{}-20", 5 + n),
            &format!("{}", 91_000 + n * 1500),
            &format!("2.{}", 8 - n),
        );
    }
    let before = contents(&yard.path(""));
    let (mut cut, mut resumed) = (0, 0);
    let moments = 50;
    for round in 0..u64::MAX {
        let name = format!("kill{round}");
        archive(&server, &name, &["north"]);
        // A slow disk: every record's row takes its time, so that moments lie in the middle.
        server
            .admin(&name)
            .batch_execute(
                "CREATE FUNCTION public.slow() RETURNS trigger LANGUAGE plpgsql AS 'BEGIN PERFORM pg_sleep(0.01); RETURN NEW; END';
                 CREATE TRIGGER slow BEFORE INSERT ON brakecorner.record FOR EACH ROW EXECUTE FUNCTION public.slow();
                 CREATE TRIGGER slow BEFORE INSERT ON brakecorner.visit FOR EACH ROW EXECUTE FUNCTION public.slow();
                 CREATE TRIGGER slow BEFORE INSERT ON brakecorner.due_state FOR EACH ROW EXECUTE FUNCTION public.slow();",
            )
            .unwrap();
        let url = server.url(&role("north", &name), &name);
        let mut child = yard
            .command(&[
                "archive",
                "push",
                "--to",
                &url,
                "--json",
                "--patience",
                "600",
            ])
            .env("PGPASSWORD", super::server::PASSWORD)
            .stdin(std::process::Stdio::null())
            .stdout(std::process::Stdio::piped())
            .stderr(std::process::Stdio::piped())
            .spawn()
            .unwrap();
        // Five kills a push, each a little later than the one before after the server is back.
        for kill in 0..5u64 {
            std::thread::sleep(Duration::from_millis(
                20 + 13 * ((round * 7 + kill * 5) % 23),
            ));
            if child.try_wait().unwrap().is_some() {
                break;
            }
            server.kill();
            cut += 1;
            server.start_again();
            server.wait_ready();
        }
        let output = child.wait_with_output().unwrap();
        let said = String::from_utf8_lossy(&output.stdout).into_owned();
        assert!(
            output.status.success(),
            "{said}{}",
            String::from_utf8_lossy(&output.stderr)
        );
        let said: serde_json::Value = serde_json::from_str(&said).unwrap();
        resumed += said["retries"].as_u64().unwrap();
        whole(&server, &name, 1, 12);
        assert_eq!(
            run(&yard, &["archive", "status", "--to", &url]).code,
            Some(0)
        );
        if cut >= moments {
            break;
        }
        assert!(round < 60, "only {cut} kills met a push");
    }
    assert!(
        resumed >= 10,
        "{resumed} of {cut} kills met an open connection"
    );
    assert_eq!(contents(&yard.path("")), before, "the folder is untouched");
}

#[test]
#[ignore = "needs PostgreSQL: run by tests/run"]
fn a_push_that_is_killed_goes_on_when_given_again() {
    let server = shared();
    archive(server, "resume", &["north"]);
    let yard = Yard::demo();
    server
        .admin("resume")
        .batch_execute(
            "CREATE FUNCTION public.slow() RETURNS trigger LANGUAGE plpgsql AS 'BEGIN PERFORM pg_sleep(0.05); RETURN NEW; END';
             CREATE TRIGGER slow BEFORE INSERT ON brakecorner.visit FOR EACH ROW EXECUTE FUNCTION public.slow();",
        )
        .unwrap();
    let url = server.url(&role("north", "resume"), "resume");
    for moment in 1..=12u64 {
        let mut child = yard
            .command(&["archive", "push", "--to", &url])
            .env("PGPASSWORD", super::server::PASSWORD)
            .stdout(std::process::Stdio::null())
            .stderr(std::process::Stdio::null())
            .spawn()
            .unwrap();
        std::thread::sleep(Duration::from_millis(35 * moment));
        let _ = child.kill(); // SIGKILL
        child.wait().unwrap();
    }
    push(&yard, server, &role("north", "resume"), "resume").ends(0);
    assert_eq!(count(server, "resume", "record"), 8);
    whole(server, "resume", 1, 8);
}
