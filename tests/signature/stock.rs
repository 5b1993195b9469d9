//! Against stock OpenSSH as the outside authority: `ssh-keygen`, `ssh-agent`, `ssh-add`.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};

use brakecorner::record::agent;
use brakecorner::record::key::SignerKey;
use brakecorner::record::revoked::Revoked;
use brakecorner::record::signers::Signers;
use brakecorner::record::sshsig::{NAMESPACE, sign, verify};
use brakecorner::shop::agent_socket;
use brakecorner::shop::keys::{KeyError, KeyFolder};
use ssh_key::rand_core::OsRng;

use super::{SMALL, public, seeded};

fn run(command: &mut Command) -> Output {
    let output = command.env("TZ", "UTC").output().unwrap();
    let text = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{command:?}: {text}");
    output
}

fn keygen(folder: &Path, arguments: &[&str]) -> Output {
    run(Command::new("ssh-keygen")
        .current_dir(folder)
        .args(arguments))
}

/// Whether `ssh-keygen -Y verify` accepts `signature` over `message`, with what it says.
fn stock_accepts(folder: &Path, principal: &str, namespace: &str, more: &[&str]) -> (bool, String) {
    let output = Command::new("ssh-keygen")
        .current_dir(folder)
        .env("TZ", "UTC")
        .args([
            "-Y", "verify", "-f", "signers", "-I", principal, "-n", namespace,
        ])
        .args(["-s", "message.sig"])
        .args(more)
        .stdin(fs::File::open(folder.join("message")).unwrap())
        .output()
        .unwrap();
    (
        output.status.success(),
        String::from_utf8_lossy(&output.stderr).into_owned(),
    )
}

fn put(folder: &Path, name: &str, bytes: impl AsRef<[u8]>) -> PathBuf {
    let path = folder.join(name);
    fs::write(&path, bytes).unwrap();
    path
}

#[test]
#[ignore = "needs ssh-keygen; tests/run provides it"]
fn stock_ssh_keygen_accepts_our_signature_and_refuses_it_over_other_bytes() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    put(
        at,
        "signers",
        format!("jo {}\n", public(&seeded(1)).to_openssh()),
    );
    put(at, "message", SMALL);
    put(
        at,
        "message.sig",
        sign(SMALL, NAMESPACE, &seeded(1)).unwrap(),
    );
    assert!(stock_accepts(at, "jo", NAMESPACE, &[]).0);
    assert!(!stock_accepts(at, "bo", NAMESPACE, &[]).0);
    assert!(!stock_accepts(at, "jo", "brakecorner-countersign", &[]).0);
    put(at, "message", [SMALL, b"\n"].concat());
    assert!(!stock_accepts(at, "jo", NAMESPACE, &[]).0);
}

#[test]
#[ignore = "needs ssh-keygen; tests/run provides it"]
fn we_accept_what_stock_ssh_keygen_signs_with_either_hash() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    keygen(at, &["-q", "-t", "ed25519", "-N", "", "-f", "key"]);
    let key = SignerKey::from_openssh(&fs::read_to_string(at.join("key.pub")).unwrap()).unwrap();
    for hash in ["sha512", "sha256"] {
        put(at, "message", SMALL);
        let hashalg = format!("hashalg={hash}");
        keygen(
            at,
            &[
                "-Y", "sign", "-f", "key", "-n", NAMESPACE, "-O", &hashalg, "message",
            ],
        );
        let armour = fs::read(at.join("message.sig")).unwrap();
        assert_eq!(verify(SMALL, NAMESPACE, &armour), Ok(key), "{hash}");
        assert!(verify(b"else", NAMESPACE, &armour).is_err(), "{hash}");
        fs::remove_file(at.join("message.sig")).unwrap();
    }
}

#[test]
#[ignore = "needs ssh-keygen; tests/run provides it"]
fn with_the_same_key_ours_and_stocks_signatures_are_the_same_bytes() {
    let folder = tempfile::tempdir().unwrap();
    let keys = KeyFolder::new(folder.path());
    let made = keys.create("jo", "jo@bench", None, &mut OsRng).unwrap();
    put(folder.path(), "message", SMALL);
    let file = made.path.to_str().unwrap();
    keygen(
        folder.path(),
        &["-Y", "sign", "-f", file, "-n", NAMESPACE, "message"],
    );
    let theirs = fs::read_to_string(folder.path().join("message.sig")).unwrap();
    assert_eq!(
        sign(SMALL, NAMESPACE, &keys.load("jo", None).unwrap()).unwrap(),
        theirs
    );
}

#[test]
#[ignore = "needs ssh-keygen; tests/run provides it"]
fn stock_ssh_keygen_opens_our_locked_key_and_prints_our_fingerprint() {
    let folder = tempfile::tempdir().unwrap();
    let keys = KeyFolder::new(folder.path());
    let made = keys
        .create("jo", "jo@bench", Some("two words"), &mut OsRng)
        .unwrap();
    let file = made.path.to_str().unwrap();
    let public = keygen(folder.path(), &["-y", "-P", "two words", "-f", file]);
    let printed = String::from_utf8(public.stdout).unwrap();
    assert_eq!(printed.trim(), made.public.to_openssh().unwrap());
    let listed = keygen(folder.path(), &["-l", "-f", file]);
    let listed = String::from_utf8(listed.stdout).unwrap();
    assert!(listed.contains(&made.fingerprint()), "{listed}");
    let own = SignerKey::try_from(&made.public).unwrap();
    assert_eq!(own.fingerprint(), made.fingerprint());
}

#[test]
#[ignore = "needs ssh-keygen; tests/run provides it"]
fn a_stock_key_is_imported_and_an_rsa_key_is_refused_by_type() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    keygen(
        at,
        &[
            "-q",
            "-t",
            "ed25519",
            "-N",
            "pass phrase",
            "-C",
            "jo",
            "-f",
            "stock",
        ],
    );
    keygen(
        at,
        &["-q", "-t", "rsa", "-b", "2048", "-N", "", "-f", "rsa"],
    );
    let keys = KeyFolder::new(at);
    let stored = keys.import("jo", &at.join("stock")).unwrap();
    let public = fs::read_to_string(at.join("stock.pub")).unwrap();
    assert_eq!(stored.public.to_openssh().unwrap(), public.trim());
    assert!(matches!(
        keys.load("jo", Some("pass")),
        Err(KeyError::Passphrase { .. })
    ));
    let key = keys.load("jo", Some("pass phrase")).unwrap();
    let armour = sign(SMALL, NAMESPACE, &key).unwrap();
    put(at, "signers", format!("jo {public}"));
    put(at, "message", SMALL);
    put(at, "message.sig", armour);
    assert!(stock_accepts(at, "jo", NAMESPACE, &[]).0);
    let error = keys.import("old", &at.join("rsa")).unwrap_err();
    assert!(
        matches!(&error, KeyError::Type { found, .. } if found == "ssh-rsa"),
        "{error}"
    );
}

/// Each line, name, purpose and time: what stock says, we say.
#[test]
#[ignore = "needs ssh-keygen; tests/run provides it"]
fn we_trust_whom_stock_ssh_keygen_trusts() {
    let key = public(&seeded(1)).to_openssh();
    let other = public(&seeded(2)).to_openssh();
    let window = "valid-after=\"20260101Z\",valid-before=\"20260630115900Z\"";
    let line = |start: &str| format!("{start} {key} a comment\n");
    let cases: Vec<(String, &str, &str, &str, bool)> = vec![
        (line("jo"), "jo", NAMESPACE, "20260301000000", true),
        (line("jo"), "bo", NAMESPACE, "20260301000000", false),
        (line("bo,jo"), "jo", NAMESPACE, "20260301000000", true),
        (line("j?"), "jo", NAMESPACE, "20260301000000", true),
        (line("*"), "jo", NAMESPACE, "20260301000000", true),
        (line("*,!jo"), "jo", NAMESPACE, "20260301000000", false),
        (line("!jo,*"), "jo", NAMESPACE, "20260301000000", false),
        (line("!jo"), "bo", NAMESPACE, "20260301000000", false),
        (line("JO"), "jo", NAMESPACE, "20260301000000", false),
        (
            line("\"J. Marsh,bo\""),
            "J. Marsh",
            NAMESPACE,
            "20260301000000",
            true,
        ),
        (
            line("\"J. Marsh\""),
            "J.",
            NAMESPACE,
            "20260301000000",
            false,
        ),
        (
            line("jo NameSpaces=\"file,brake*\""),
            "jo",
            NAMESPACE,
            "20260301000000",
            true,
        ),
        (
            line("jo namespaces=\"file\""),
            "jo",
            NAMESPACE,
            "20260301000000",
            false,
        ),
        (
            line("jo namespaces=\"*,!brake*\""),
            "jo",
            NAMESPACE,
            "20260301000000",
            false,
        ),
        (
            line(&format!("jo {window}")),
            "jo",
            NAMESPACE,
            "20251231235959",
            false,
        ),
        (
            line(&format!("jo {window}")),
            "jo",
            NAMESPACE,
            "20260101000000",
            true,
        ),
        (
            line(&format!("jo {window}")),
            "jo",
            NAMESPACE,
            "20260630115900",
            true,
        ),
        (
            line(&format!("jo {window}")),
            "jo",
            NAMESPACE,
            "20260630115901",
            false,
        ),
        (
            line("jo valid-after=\"202603010000Z\""),
            "jo",
            NAMESPACE,
            "20260301000000",
            true,
        ),
        (
            format!("jo {other}\n"),
            "jo",
            NAMESPACE,
            "20260301000000",
            false,
        ),
        (
            format!("jo {other}\n\n# both\n  jo {key}\n"),
            "jo",
            NAMESPACE,
            "20260301000000",
            true,
        ),
        (
            format!("jo {key}\r\n"),
            "jo",
            NAMESPACE,
            "20260301000000",
            true,
        ),
        (
            line("jo valid-after=\"20260301Z\",valid-before=\"20260101Z\""),
            "jo",
            NAMESPACE,
            "20260301000000",
            false,
        ),
        (
            line("jo namespaces=\"a\",namespaces=\"brake*\""),
            "jo",
            NAMESPACE,
            "20260301000000",
            false,
        ),
        (line("jo unknown"), "jo", NAMESPACE, "20260301000000", false),
    ];
    for (text, principal, namespace, time, expected) in cases {
        let folder = tempfile::tempdir().unwrap();
        let at = folder.path();
        put(at, "signers", &text);
        put(at, "message", SMALL);
        let armour = sign(SMALL, NAMESPACE, &seeded(1)).unwrap();
        put(at, "message.sig", &armour);
        let verify_time = format!("verify-time={time}Z");
        let (theirs, said) = stock_accepts(at, principal, namespace, &["-O", &verify_time]);
        assert_eq!(theirs, expected, "stock, {text}{principal} {time}: {said}");
        let moment = chrono::NaiveDateTime::parse_from_str(time, "%Y%m%d%H%M%S")
            .unwrap()
            .and_utc();
        let signer = verify(SMALL, NAMESPACE, armour.as_bytes()).unwrap();
        let ours = Signers::parse("signers", text.as_bytes())
            .is_ok_and(|signers| signers.find(principal, &signer, namespace, moment).is_ok());
        assert_eq!(ours, expected, "ours, {text}{principal} {time}");
    }
}

#[test]
#[ignore = "needs ssh-keygen; tests/run provides it"]
fn a_line_we_render_is_one_stock_ssh_keygen_trusts() {
    let signer = brakecorner::record::signers::Signer {
        line: 0,
        principals: "J. Marsh".to_owned(),
        namespaces: Some(NAMESPACE.to_owned()),
        valid_after: "2026-01-01T00:00:00Z".parse().ok(),
        valid_before: "2026-12-31T23:59:59Z".parse().ok(),
        key: public(&seeded(1)),
        comment: "bench laptop".to_owned(),
    };
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    put(at, "signers", signer.render().unwrap() + "\n");
    put(at, "message", SMALL);
    put(
        at,
        "message.sig",
        sign(SMALL, NAMESPACE, &seeded(1)).unwrap(),
    );
    let time = |time: &str| stock_accepts(at, "J. Marsh", NAMESPACE, &["-O", time]).0;
    assert!(time("verify-time=20261231235959Z"));
    assert!(!time("verify-time=20270101000000Z"));
}

#[test]
#[ignore = "needs ssh-keygen; tests/run provides it"]
fn a_key_revoked_by_stock_ssh_keygen_is_revoked_here_and_the_other_way_round() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let (jo, bo) = (public(&seeded(1)), public(&seeded(2)));
    put(at, "jo.pub", format!("{} jo\n", jo.to_openssh()));
    put(at, "sha256", format!("sha256: {}\n", jo.to_openssh()));
    put(at, "sha1", format!("sha1: {}\n", jo.to_openssh()));
    put(at, "list", format!("# stolen\n{} jo\n", jo.to_openssh()));
    put(
        at,
        "signers",
        format!("jo {}\nbo {}\n", jo.to_openssh(), bo.to_openssh()),
    );
    put(at, "message", SMALL);
    for source in ["jo.pub", "sha256", "sha1"] {
        keygen(at, &["-q", "-k", "-f", &format!("{source}.krl"), source]);
    }
    for file in ["jo.pub.krl", "sha256.krl", "sha1.krl", "list"] {
        let revoked = Revoked::parse(file, &fs::read(at.join(file)).unwrap()).unwrap();
        for (name, seed, key, good) in [("jo", 1, jo, false), ("bo", 2, bo, true)] {
            put(
                at,
                "message.sig",
                sign(SMALL, NAMESPACE, &seeded(seed)).unwrap(),
            );
            assert_eq!(
                stock_accepts(at, name, NAMESPACE, &["-r", file]).0,
                good,
                "{file} {name}"
            );
            assert_eq!(revoked.place_of(&key).is_none(), good, "{file} {name}");
        }
    }
}

/// A running agent, ended with the test.
struct Agent {
    child: Child,
    socket: PathBuf,
}

impl Agent {
    fn start(folder: &Path) -> Self {
        let socket = folder.join("agent");
        let child = Command::new("ssh-agent")
            .args(["-D", "-a"])
            .arg(&socket)
            .stdout(Stdio::null())
            .spawn()
            .unwrap();
        let agent = Self { child, socket };
        for _ in 0..200 {
            if agent_socket::connect(&agent.socket).is_ok() {
                return agent;
            }
            std::thread::sleep(std::time::Duration::from_millis(25));
        }
        panic!("the agent did not start within 5 s");
    }

    fn add(&self, arguments: &[&str]) -> Output {
        run(Command::new("ssh-add")
            .env("SSH_AUTH_SOCK", &self.socket)
            .arg("-q")
            .args(arguments))
    }
}

impl Drop for Agent {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[test]
#[ignore = "needs ssh-agent; tests/run provides it"]
fn a_real_agent_signs_what_stock_ssh_keygen_accepts() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let running = Agent::start(at);
    keygen(
        at,
        &[
            "-q", "-t", "ed25519", "-N", "", "-C", "jo@bench", "-f", "key",
        ],
    );
    keygen(
        at,
        &["-q", "-t", "rsa", "-b", "2048", "-N", "", "-f", "rsa"],
    );
    running.add(&[at.join("rsa").to_str().unwrap()]);
    running.add(&[at.join("key").to_str().unwrap()]);
    let text = fs::read_to_string(at.join("key.pub")).unwrap();
    let key = SignerKey::from_openssh(&text).unwrap();

    let mut stream = agent_socket::connect(&running.socket).unwrap();
    let held = agent::identities(&mut stream).unwrap();
    assert_eq!((held.keys.len(), held.others.len()), (1, 1));
    assert_eq!(
        (held.keys[0].key, held.keys[0].comment.as_str()),
        (key, "jo@bench")
    );

    let armour = agent::sign(&mut stream, &key, SMALL, NAMESPACE).unwrap();
    put(at, "signers", format!("jo {text}"));
    put(at, "message", SMALL);
    put(at, "message.sig", armour);
    assert!(stock_accepts(at, "jo", NAMESPACE, &[]).0);

    let stranger = agent::sign(&mut stream, &public(&seeded(3)), SMALL, NAMESPACE).unwrap_err();
    assert!(
        matches!(stranger, agent::AgentError::Refused { .. }),
        "{stranger}"
    );
}
