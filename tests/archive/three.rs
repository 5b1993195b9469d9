//! Three servers that hold a part of the shops each, and head office's that reads them all.

use brakecorner::archive::connect::Archive;
use brakecorner::archive::schema::{self, Layout, Leaf, LeafAddress};

use super::common::Yard;
use super::server::{OWNER, PASSWORD, Server};
use super::shops::{enrol, make, password, push, role, run, target, visit};

const SHOPS: [&str; 6] = ["north", "south", "east", "west", "harbour", "mill"];

/// The part of each shop, as the engine divides them.
fn parts(server: &Server) -> Vec<usize> {
    let mut admin = server.admin("archive");
    SHOPS
        .iter()
        .map(|shop| {
            (0..3)
                .find(|part| {
                    admin
                        .query_one(
                            "SELECT satisfies_hash_partition('brakecorner.record'::regclass, 3, $1, $2::text)",
                            &[&i32::try_from(*part).unwrap(), shop],
                        )
                        .unwrap()
                        .get(0)
                })
                .unwrap()
        })
        .collect()
}

fn coordinator(leaves: &[Server], office: &Server) {
    office.database("archive");
    let layout = Layout {
        parts: 3,
        here: Vec::new(),
        leaves: leaves
            .iter()
            .enumerate()
            .map(|(part, leaf)| Leaf {
                name: format!("leaf{part}"),
                address: LeafAddress::from(&target(leaf, OWNER, "archive")),
                parts: vec![i32::try_from(part).unwrap()],
            })
            .collect(),
    };
    let mut archive = Archive::connect(&target(office, OWNER, "archive")).unwrap();
    schema::migrate(&mut archive, &layout).unwrap();
    schema::let_read(&mut archive, "office_archive").unwrap();
    password(office, "office_archive");
    for shop in SHOPS {
        schema::note_shop(&mut archive, shop).unwrap();
    }
    for part in 0..leaves.len() {
        office
            .admin("archive")
            .batch_execute(&format!(
                "CREATE USER MAPPING FOR office_archive SERVER leaf{part} OPTIONS (user 'office_archive', password '{PASSWORD}')"
            ))
            .unwrap();
    }
}

#[test]
#[ignore = "needs PostgreSQL: run by tests/run"]
fn three_servers_answer_as_one_and_one_that_is_down_is_named_with_its_shops() {
    let mut leaves: Vec<Server> = (0..3).map(|_| Server::start()).collect();
    let one = Server::start();
    one.database("archive");
    make(&one, "archive", &Layout::single(3), &SHOPS);
    for (part, leaf) in leaves.iter().enumerate() {
        leaf.database("archive");
        let mut layout = Layout::single(3);
        layout.here = vec![i32::try_from(part).unwrap()];
        make(leaf, "archive", &layout, &[]);
        let mut owner = Archive::connect(&target(leaf, OWNER, "archive")).unwrap();
        // Every shop is enrolled everywhere here, to try the wrong server too.
        for shop in SHOPS {
            enrol(leaf, &mut owner, "archive", shop);
        }
    }
    // Head office's server is the single one's neighbour in the same cluster.
    let office = Server::start();
    coordinator(&leaves, &office);
    let home = parts(&one);
    assert!(
        (0..3).all(|part| home.contains(&part)),
        "every server has a shop: {home:?}"
    );
    let yards: Vec<Yard> = SHOPS
        .iter()
        .enumerate()
        .map(|(n, shop)| {
            let yard = Yard::demo();
            let settings = yard.path("workshop.toml");
            let text = std::fs::read_to_string(&settings).unwrap();
            std::fs::write(
                &settings,
                text.replace("Hollin Wharf Yard", &format!("Yard {shop}")),
            )
            .unwrap();
            visit(
                &yard,
                &format!("N-{n}"),
                &format!("2026-0{}-20", n + 4),
                &format!("{}", 90_000 + 1000 * n),
                &format!("2.{}", 8 - n),
            );
            yard
        })
        .collect();
    for ((shop, yard), part) in SHOPS.iter().zip(&yards).zip(&home) {
        let role = role(shop, "archive");
        push(yard, &one, &role, "archive").ends(0);
        push(yard, &leaves[*part], &role, "archive").ends(0);
        let wrong = &leaves[(part + 1) % 3];
        let said = run(
            yard,
            &["archive", "push", "--to", &wrong.url(&role, "archive")],
        )
        .ends(2);
        assert!(
            said.err
                .contains(&format!("does not hold the rows of shop `{shop}`")),
            "{}",
            said.err
        );
    }
    let at = "2026-11-25T12:00:00+00:00";
    let (there, together) = (
        one.url("office_archive", "archive"),
        office.url("office_archive", "archive"),
    );
    let questions: [&[&str]; 6] = [
        &["due", "--json"],
        &["due", "--json", "--within", "30d"],
        &["due", "--json", "--within", "5000km"],
        &["history", "--fleet", "--json"],
        &["history", "A0ZDL07V7NK001122", "--json"],
        &[
            "instrument",
            "recall",
            "HW-M1",
            "--error",
            "0.1",
            "--since",
            "2000-01-01",
            "--json",
            "--of",
            "west",
        ],
    ];
    for question in questions {
        let ask = |url: &str| {
            super::shops::told(&yards[0], at, &[question, &["--archive", url]].concat())
        };
        let (single, three) = (ask(&there), ask(&together));
        assert_eq!(single, three, "{question:?}");
        assert!(single.1.len() > 200, "{question:?} {single:?}");
    }
    let audit = |url: &str| run(&yards[0], &["archive", "audit", "--to", url, "--json"]);
    // The six yards are copies of one, whose key then signed in each: the audit sees its numbers given
    // twice, which is what it is for, and nothing else.
    let audited = |records: u64| {
        let said = audit(&together).ends(1).json();
        assert_eq!(
            (&said["records"], &said["records_valid"]),
            (&records.into(), &records.into())
        );
        let problems = said["problems"].as_array().unwrap();
        assert!(
            problems
                .iter()
                .all(|one| ["doubled number", "row"].contains(&one["kind"].as_str().unwrap())),
            "{said}"
        );
    };
    audited(54);
    // Head office's server is for reading.
    let mut admin = office.admin("archive");
    admin.batch_execute(&format!("CREATE USER MAPPING FOR {OWNER} SERVER leaf0 OPTIONS (user '{OWNER}', password '{PASSWORD}')")).unwrap();
    let written = admin.batch_execute("INSERT INTO brakecorner.workshop_0 (shop_id, received_at, name, register) VALUES ('x', now(), 'x', '')");
    assert!(
        written
            .unwrap_err()
            .as_db_error()
            .unwrap()
            .message()
            .contains("does not allow inserts")
    );
    // One server down.
    leaves[1].stop();
    let missing: Vec<&str> = SHOPS
        .iter()
        .zip(&home)
        .filter(|(_, part)| **part == 1)
        .map(|(shop, _)| *shop)
        .collect();
    let mut sorted = missing.clone();
    sorted.sort_unstable();
    for question in questions.iter().take(4) {
        let (exit, out, err) = super::shops::told(
            &yards[0],
            at,
            &[question, &["--archive", &together][..]].concat(),
        );
        let said = format!("{out}{err}");
        assert_eq!(exit, brakecorner::cli::Exit::NoAnswer, "{said}");
        assert!(
            said.contains(&format!(
                "missing are shops {} on server `leaf1`",
                sorted.join(", ")
            )),
            "{said}"
        );
    }
    for ((shop, yard), part) in SHOPS.iter().zip(&yards).zip(&home) {
        visit(yard, "Z-1", "2026-11-20", "99000", "2.2");
        let role = role(shop, "archive");
        let url = leaves[*part].url(&role, "archive");
        let said = run(yard, &["archive", "push", "--to", &url, "--patience", "0"]);
        assert_eq!(
            said.code,
            Some(if *part == 1 { 2 } else { 0 }),
            "{}",
            said.err
        );
        if *part == 1 {
            assert!(said.err.contains("no connection to"), "{}", said.err);
        }
    }
    leaves[1].start_again();
    leaves[1].wait_ready();
    for ((shop, yard), part) in SHOPS.iter().zip(&yards).zip(&home) {
        let said = push(yard, &leaves[*part], &role(shop, "archive"), "archive")
            .ends(0)
            .json();
        assert_eq!(said["sent"], u64::from(*part == 1));
    }
    audited(60);
}
