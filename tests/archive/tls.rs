//! Encrypted, with certificate and name checked.

use std::path::Path;
use std::process::Command;

use super::common::Yard;
use super::server::{Server, write};
use super::shops::{archive, role, run};

fn openssl(folder: &Path, args: &[&str]) {
    let output = Command::new("openssl")
        .args(args)
        .current_dir(folder)
        .output()
        .unwrap();
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
}

/// An authority, and a server's certificate by it.
fn certificates(folder: &Path, name: &str) {
    let key = [
        "-newkey",
        "ec",
        "-pkeyopt",
        "ec_paramgen_curve:prime256v1",
        "-nodes",
    ];
    let ca = [
        "req",
        "-x509",
        "-days",
        "30",
        "-subj",
        "/CN=authority",
        "-keyout",
        "ca.key",
        "-out",
        "ca.pem",
    ];
    openssl(folder, &[&ca[..], &key].concat());
    openssl(
        folder,
        &[
            &[
                "req",
                "-subj",
                "/CN=server",
                "-keyout",
                "server.key",
                "-out",
                "server.csr",
            ][..],
            &key,
        ]
        .concat(),
    );
    std::fs::write(folder.join("names"), format!("subjectAltName=DNS:{name}")).unwrap();
    openssl(
        folder,
        &[
            "x509",
            "-req",
            "-in",
            "server.csr",
            "-CA",
            "ca.pem",
            "-CAkey",
            "ca.key",
            "-CAcreateserial",
            "-days",
            "30",
            "-extfile",
            "names",
            "-out",
            "server.crt",
        ],
    );
}

#[test]
#[ignore = "needs PostgreSQL: run by tests/run"]
fn another_computer_is_reached_encrypted_and_only_under_its_own_name() {
    let server = Server::start();
    let yard = Yard::demo();
    archive(&server, "tls", &["north"]);
    certificates(yard.root(), "archive.test");
    for file in ["server.key", "server.crt"] {
        let text = std::fs::read_to_string(yard.root().join(file)).unwrap();
        write(&server.folder().join("data").join(file), &text);
    }
    server.restrict("data/server.key");
    let mut admin = server.admin("tls");
    for sql in ["ALTER SYSTEM SET ssl = on", "SELECT pg_reload_conf()"] {
        admin.batch_execute(sql).unwrap();
    }
    let url = |host: &str, ca: &str| {
        format!(
            "postgres://{}@{host}:{}/tls?hostaddr=127.0.0.1&sslrootcert={ca}",
            role("north", "tls"),
            server.port
        )
    };
    let push = |url: &str| run(&yard, &["archive", "push", "--to", url, "--patience", "0"]);
    // The new setting takes a moment.
    let since = std::time::Instant::now();
    let mut said = push(&url("archive.test", "ca.pem"));
    while said.code != Some(0) && since.elapsed().as_secs() < 10 {
        std::thread::sleep(std::time::Duration::from_millis(100));
        said = push(&url("archive.test", "ca.pem"));
    }
    said.ends(0);
    let said = push(&url("other.test", "ca.pem")).ends(2);
    assert!(
        said.err.contains("no connection to other.test"),
        "{}",
        said.err
    );
    assert!(said.err.contains("certificate"), "{}", said.err);
    // Another authority does not vouch for it.
    std::fs::create_dir(yard.root().join("strange")).unwrap();
    certificates(&yard.root().join("strange"), "archive.test");
    let said = push(&url("archive.test", "strange/ca.pem")).ends(2);
    assert!(said.err.contains("certificate"), "{}", said.err);
    let said = push(&url("archive.test", "missing.pem")).ends(2);
    assert!(said.err.contains("missing.pem"), "{}", said.err);
    // A server that offers no encryption is not spoken to at all.
    let plain = Server::start();
    let refused = format!(
        "postgres://x@archive.test:{}/tls?hostaddr=127.0.0.1&sslrootcert=ca.pem",
        plain.port
    );
    let said = push(&refused).ends(2);
    assert!(said.err.contains("TLS"), "{}", said.err);
}
