//! Who may do what: shops apart, nothing ever changed, a stolen password.

use postgres::Client;

use super::common::Yard;
use super::server::Server;
use super::shops::{archive, count, push, role, run, shared};

/// Two shops with the same jobs, pushed.
fn two(name: &str) -> &'static Server {
    let server = shared();
    archive(server, name, &["north", "south"]);
    let yard = Yard::demo();
    push(&yard, server, &role("north", name), name).ends(0);
    push(&yard, server, &role("south", name), name).ends(0);
    server
}

fn code(client: &mut Client, sql: &str) -> Option<String> {
    let error = client.batch_execute(sql).err()?;
    Some(error.code().unwrap().code().to_owned())
}

const TABLES: [&str; 9] = [
    "record",
    "seal",
    "workshop",
    "visit",
    "item_verdict",
    "result",
    "instrument_use",
    "due_state",
    "due",
];

#[test]
#[ignore = "needs PostgreSQL: run by tests/run"]
fn a_stolen_shop_password_reads_nothing_of_another_shop() {
    let server = two("apart");
    let mut thief = server.client(&role("north", "apart"), "apart");
    for table in TABLES {
        let sql = format!(
            "SELECT count(*) FILTER (WHERE shop_id = 'north'), count(*) FILTER (WHERE shop_id <> 'north') FROM brakecorner.{table}"
        );
        let row = thief.query_one(&sql, &[]).unwrap();
        assert_eq!(row.get::<_, i64>(1), 0, "{table}");
        assert!(row.get::<_, i64>(0) > 0 || table == "seal", "{table}");
        let all = count(server, "apart", table);
        assert_eq!(
            all,
            2 * row.get::<_, i64>(0),
            "{table}: the other shop has as many"
        );
    }
    // Not that there is another shop at all.
    for sql in [
        "SELECT count(*) FROM brakecorner.member WHERE shop_id <> 'north'",
        "SELECT count(*) FROM brakecorner.shop WHERE shop_id <> 'north'",
    ] {
        assert_eq!(
            thief.query_one(sql, &[]).unwrap().get::<_, i64>(0),
            0,
            "{sql}"
        );
    }
    // An error's words must not carry a row out: the policy speaks before any other condition.
    let leak = "SELECT 1 / (CASE WHEN shop_id = 'south' THEN 0 ELSE 1 END) FROM brakecorner.record";
    assert_eq!(code(&mut thief, leak), None);
    let leak = "SELECT summary::int FROM brakecorner.visit WHERE shop_id = 'south'";
    assert_eq!(
        code(&mut thief, leak),
        None,
        "no row of another shop reaches the cast"
    );
    // Neither a setting nor another role helps.
    for sql in [
        "SET ROLE south_apart",
        "SET SESSION AUTHORIZATION south_apart",
        "SELECT * FROM brakecorner.record_0",
        "SELECT * FROM brakecorner.audit_run",
        "CREATE TABLE brakecorner.mine (x int)",
        "COPY brakecorner.record TO '/dev/null'",
    ] {
        assert_eq!(code(&mut thief, sql).as_deref(), Some("42501"), "{sql}");
    }
    let group = "SET ROLE brakecorner_shop; SELECT 1 / (SELECT count(*) FROM brakecorner.record)";
    assert_eq!(
        code(&mut thief, group).as_deref(),
        Some("22012"),
        "the group's role has no shop"
    );
    thief
        .batch_execute("RESET ROLE; SET row_security = off")
        .unwrap();
    let off = "SELECT * FROM brakecorner.record";
    assert_eq!(code(&mut thief, off).as_deref(), Some("42501"));
}

#[test]
#[ignore = "needs PostgreSQL: run by tests/run"]
fn a_shop_cannot_write_as_another_nor_change_or_delete_anything() {
    let server = two("fixed");
    let mut north = server.client(&role("north", "fixed"), "fixed");
    let mut office = server.client("office_fixed", "fixed");
    let foreign = [
        "INSERT INTO brakecorner.record (shop_id, job_id, revision, digest, body, sig) VALUES ('south', 'X', 1, sha256('x'), 'x', 'x')",
        "INSERT INTO brakecorner.seal (shop_id, digest, kind, body) SELECT 'south', sha256('x'), 'stamp', 'x'",
        "INSERT INTO brakecorner.workshop (shop_id, name, register) VALUES ('south', 'x', '')",
        "INSERT INTO brakecorner.item_verdict VALUES ('south', sha256('x'), 1, 'FL', 'hose', 'as_found', 'PASS', NULL, NULL)",
        "INSERT INTO brakecorner.instrument_use VALUES ('south', sha256('x'), 'M', 1)",
        "INSERT INTO brakecorner.due_state VALUES ('south', 'V', 99, sha256('x'), 1)",
    ];
    for sql in foreign {
        assert_eq!(code(&mut north, sql).as_deref(), Some("42501"), "{sql}");
    }
    // The time of receipt is the server's.
    let dated = "INSERT INTO brakecorner.record (shop_id, job_id, revision, digest, body, sig, received_at) VALUES ('north', 'X', 1, sha256('x'), 'x', 'x', '2001-01-01')";
    assert_eq!(code(&mut north, dated).as_deref(), Some("42501"));
    for client in [&mut north, &mut office] {
        for table in TABLES {
            for sql in [
                format!("UPDATE brakecorner.{table} SET shop_id = shop_id"),
                format!("DELETE FROM brakecorner.{table}"),
                format!("TRUNCATE brakecorner.{table}"),
                format!("DROP TABLE brakecorner.{table}"),
                format!("UPDATE brakecorner.{table}_1 SET shop_id = shop_id"),
            ] {
                assert_eq!(code(client, &sql).as_deref(), Some("42501"), "{sql}");
            }
        }
    }
    let insert =
        "INSERT INTO brakecorner.workshop (shop_id, name, register) VALUES ('north', 'x', '')";
    assert_eq!(
        code(&mut office, insert).as_deref(),
        Some("42501"),
        "head office only reads"
    );
    // The catalogue says the same: the one right to change anything is the audit's claim.
    let rows = server
        .admin("fixed")
        .query(
            "SELECT table_name::text, column_name::text, grantee::text FROM information_schema.column_privileges
             WHERE table_schema = 'brakecorner' AND privilege_type = 'UPDATE' AND grantee NOT IN ('owner', 'PUBLIC')",
            &[],
        )
        .unwrap();
    let rights: Vec<(String, String, String)> = rows
        .iter()
        .map(|row| (row.get(0), row.get(1), row.get(2)))
        .collect();
    let claim = ("audit_range", "claim", "brakecorner_office");
    assert_eq!(
        rights,
        [(claim.0.to_owned(), claim.1.to_owned(), claim.2.to_owned())]
    );
    let rows = server
        .admin("fixed")
        .query(
            "SELECT grantee::text, table_name::text FROM information_schema.table_privileges WHERE table_schema = 'brakecorner'
             AND privilege_type IN ('UPDATE', 'DELETE', 'TRUNCATE') AND grantee <> 'owner'",
            &[],
        )
        .unwrap();
    assert!(rows.is_empty(), "{rows:?}");
}

#[test]
#[ignore = "needs PostgreSQL: run by tests/run"]
fn head_office_reads_every_shop_and_cannot_push() {
    let server = two("office");
    let mut office = server.client("office_office", "office");
    let shops = "SELECT count(DISTINCT shop_id) FROM brakecorner.record";
    assert_eq!(office.query_one(shops, &[]).unwrap().get::<_, i64>(0), 2);
    let url = server.url("office_office", "office");
    let said = run(&Yard::demo(), &["archive", "push", "--to", &url]).ends(2);
    assert!(said.err.contains("enrolled for no shop"), "{}", said.err);
    let said = run(
        &Yard::demo(),
        &["archive", "status", "--to", &url, "--json"],
    )
    .ends(0)
    .json();
    assert_eq!(said["shops"].as_array().unwrap().len(), 2);
}
