//! Workshops with signed records, and an archive for them.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::OnceLock;

use brakecorner::archive::connect::Archive;
use brakecorner::archive::schema::{self, Layout};
use brakecorner::archive::target::Target;

use super::common::{Said, Yard};
use super::server::{PASSWORD, Server};

/// The server most tests share; its databases keep them apart.
pub fn shared() -> &'static Server {
    static SERVER: OnceLock<Server> = OnceLock::new();
    SERVER.get_or_init(Server::start)
}

pub fn env() -> BTreeMap<String, String> {
    BTreeMap::from([("PGPASSWORD".to_owned(), PASSWORD.to_owned())])
}

pub fn target(server: &Server, role: &str, database: &str) -> Target {
    Target::read(&server.url(role, database), &env()).unwrap()
}

/// An archive in a database of this name, with these shops; each shop's role is `ID_NAME`.
pub fn archive(server: &Server, database: &str, shops: &[&str]) {
    server.database(database);
    make(server, database, &Layout::single(3), shops);
}

pub fn make(server: &Server, database: &str, layout: &Layout, shops: &[&str]) {
    let mut archive = Archive::connect(&target(server, super::server::OWNER, database)).unwrap();
    schema::migrate(&mut archive, layout).unwrap();
    for shop in shops {
        enrol(server, &mut archive, database, shop);
    }
    let office = format!("office_{database}");
    schema::let_read(&mut archive, &office).unwrap();
    password(server, &office);
}

pub fn enrol(server: &Server, archive: &mut Archive, database: &str, shop: &str) {
    let role = role(shop, database);
    schema::enrol(archive, shop, &role).unwrap();
    password(server, &role);
}

pub fn role(shop: &str, database: &str) -> String {
    format!("{shop}_{database}")
}

pub fn password(server: &Server, role: &str) {
    server
        .admin("postgres")
        .batch_execute(&format!("ALTER ROLE \"{role}\" PASSWORD '{PASSWORD}'"))
        .unwrap();
}

/// Every file below a folder with its bytes: to see that nothing changed.
pub fn contents(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut all = BTreeMap::new();
    let mut open = vec![folder.to_owned()];
    while let Some(folder) = open.pop() {
        for entry in std::fs::read_dir(&folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
            } else {
                all.insert(path.display().to_string(), std::fs::read(&path).unwrap());
            }
        }
    }
    all
}

/// Runs the program with the roles' password in the environment.
pub fn run(yard: &Yard, args: &[&str]) -> Said {
    yard.command(args)
        .env("PGPASSWORD", PASSWORD)
        .stdin(std::process::Stdio::null())
        .output()
        .unwrap()
        .into()
}

pub fn push(yard: &Yard, server: &Server, role: &str, database: &str) -> Said {
    let url = server.url(role, database);
    run(yard, &["archive", "push", "--to", &url, "--json"])
}

pub fn count(server: &Server, database: &str, table: &str) -> i64 {
    server
        .admin(database)
        .query_one(&format!("SELECT count(*) FROM brakecorner.{table}"), &[])
        .unwrap()
        .get(0)
}

/// Runs the program in this process at a told time, with the demonstration's keys.
pub fn told(yard: &Yard, time: &str, args: &[&str]) -> (brakecorner::cli::Exit, String, String) {
    use brakecorner::cli::{Clock, World, run};
    let mut words: Vec<String> = vec!["brakecorner".into(), "--by".into(), "Ilse Varga".into()];
    if !args.contains(&"--shop") && !args.contains(&"--archive") {
        words.extend(["--shop".into(), "shop".into()]);
    }
    words.extend(args.iter().map(|word| (*word).to_owned()));
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let mut input = std::io::Cursor::new(Vec::new());
    let config = yard.path("demo-keys").display().to_string();
    let mut env = env();
    env.insert("BRAKECORNER_CONFIG".to_owned(), config);
    let mut world = World {
        clock: Clock::Told {
            next: time.parse().unwrap(),
            step: chrono::Duration::seconds(1),
        },
        input: &mut input,
        out: &mut out,
        err: &mut err,
        out_is_terminal: false,
        input_is_terminal: false,
        env,
        folder: yard.root().to_owned(),
    };
    let exit = run(words.into_iter().map(Into::into), &mut world);
    (
        exit,
        String::from_utf8(out).unwrap(),
        String::from_utf8(err).unwrap(),
    )
}

/// A later visit of the demonstration's van: its rear pads read again, and signed as found.
pub fn visit(yard: &Yard, job: &str, day: &str, odometer: &str, pads: &str) {
    use brakecorner::cli::Exit;
    let (inner, outer) = (
        format!("inner={pads},{pads}"),
        format!("outer={pads},{pads}"),
    );
    let steps: [&[&str]; 4] = [
        &[
            "job",
            "open",
            job,
            "--vin",
            "A0ZDL07V7NK001122",
            "--odometer",
            odometer,
            "--class",
            "N1",
        ],
        &["log", job, "RL", "pads.thickness", &inner, &outer],
        &["log", job, "RR", "pads.thickness", &inner, &outer],
        &["sign", job, "--as-found", "--incomplete", "pads alone"],
    ];
    for (minute, step) in steps.iter().enumerate() {
        let at = format!("{day}T09:0{minute}:00+00:00");
        let (exit, out, err) = told(yard, &at, step);
        assert_ne!(exit, Exit::NoAnswer, "{step:?}\n{out}\n{err}");
    }
}
