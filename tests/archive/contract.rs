//! What push, status and the stored bytes promise.

use super::common::Yard;
use super::shops::{archive, contents, count, push, role, run, shared};

#[test]
#[ignore = "needs PostgreSQL: run by tests/run"]
fn a_workshop_is_pushed_once_and_what_was_signed_is_stored_byte_for_byte() {
    let (server, yard) = (shared(), Yard::demo());
    archive(server, "once", &["north"]);
    let north = role("north", "once");
    let before = contents(&yard.path(""));
    let url = server.url(&north, "once");
    let said = run(&yard, &["archive", "status", "--to", &url, "--json"])
        .ends(1)
        .json();
    let waiting = said["to_push"].as_array().unwrap().len();
    assert!(waiting >= 3, "{said}");
    let first = push(&yard, server, &north, "once").ends(0).json();
    assert_eq!(
        (first["sent"].as_u64(), first["there"].as_u64()),
        (Some(waiting as u64), Some(0))
    );
    let again = push(&yard, server, &north, "once").ends(0).json();
    assert_eq!(
        (again["sent"].as_u64(), again["there"].as_u64()),
        (Some(0), Some(waiting as u64))
    );
    run(&yard, &["archive", "status", "--to", &url]).ends(0);
    assert_eq!(contents(&yard.path("")), before, "the folder is untouched");
    let rows = server
        .admin("once")
        .query("SELECT job_id, revision, body, sig, encode(digest, 'hex'), encode(sha256(body), 'hex') FROM brakecorner.record", &[])
        .unwrap();
    assert_eq!(rows.len(), waiting);
    for row in rows {
        let (job, revision): (String, i32) = (row.get(0), row.get(1));
        let path = yard.path(&format!("jobs/{job}/record-{revision}.json"));
        assert_eq!(row.get::<_, Vec<u8>>(2), std::fs::read(&path).unwrap());
        let sig =
            std::fs::read(yard.path(&format!("jobs/{job}/record-{revision}.json.sig"))).unwrap();
        assert_eq!(row.get::<_, Vec<u8>>(3), sig);
        assert_eq!(row.get::<_, String>(4), row.get::<_, String>(5));
    }
    for table in [
        "visit",
        "item_verdict",
        "result",
        "instrument_use",
        "due_state",
        "due",
    ] {
        assert!(count(server, "once", table) > 0, "{table}");
    }
    assert_eq!(count(server, "once", "visit"), waiting as i64);
}
