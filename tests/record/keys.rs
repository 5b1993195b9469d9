//! Keys: import, trust, revoke, and what each does to signatures old and new.

use std::fs;

use super::common::Yard;
use super::{bad_stages, problems, read, second_person, sign, signed};

#[test]
fn a_revoked_key_signs_nothing_and_what_it_signed_counts_no_more() {
    let yard = signed();
    yard.run(&["verify", "T-1"]).ends(0);
    yard.run(&["key", "revoke", "Ilse Varga", "--reason", "laptop stolen"])
        .ends(0);
    let said = sign(&yard).ends(2);
    assert!(said.err.contains("is revoked"), "{}", said.err);
    assert_eq!(bad_stages(&yard, "T-1"), ["signer"]);
    assert_eq!(problems(&yard, &[]), ["revoked"]);
    let listed = yard.run(&["key", "list", "--signers"]).ends(0);
    assert!(listed.out.contains("REVOKED"), "{}", listed.out);
    // A revoked key stays revoked.
    let public = yard.root().join("config/keys/ilse-varga.pub");
    let said = yard
        .run(&[
            "key",
            "trust",
            public.to_str().unwrap(),
            "--name",
            "Ilse Varga",
        ])
        .ends(2);
    assert!(said.err.contains("is revoked"), "{}", said.err);
}

#[test]
fn who_leaves_signs_nothing_more_and_what_was_signed_stays_valid() {
    let yard = signed();
    // The bound is the present second, which itself still counts.
    std::thread::sleep(std::time::Duration::from_millis(1100));
    yard.run(&["key", "revoke", "Ilse Varga", "--leaving"])
        .ends(0);
    std::thread::sleep(std::time::Duration::from_millis(1100));
    let said = sign(&yard).ends(2);
    assert!(said.err.contains("valid until"), "{}", said.err);
    yard.run(&["verify", "T-1"]).ends(0);
    assert_eq!(problems(&yard, &[]), Vec::<String>::new());
}

#[test]
fn a_key_outside_its_time_is_refused_before_anything_is_signed() {
    let yard = Yard::with_job();
    let public = yard.root().join("config/keys/ilse-varga.pub");
    let trust = |args: &[&str]| {
        let mut all = vec![
            "key",
            "trust",
            public.to_str().unwrap(),
            "--name",
            "Ilse Varga",
        ];
        all.extend(args);
        yard.run(&all).ends(0)
    };
    trust(&["--from", "2020-01-01", "--until", "2020-12-31"]);
    let said = sign(&yard).ends(2);
    assert!(
        said.err.contains("valid until 2020-12-31T23:59:59Z"),
        "{}",
        said.err
    );
    trust(&["--from", "2090-01-01"]);
    let said = sign(&yard).ends(2);
    assert!(
        said.err.contains("valid from 2090-01-01T00:00:00Z"),
        "{}",
        said.err
    );
    assert!(!yard.path("jobs/T-1/record-1.json").exists());
    assert_eq!(read(yard.path("signers")).lines().count(), 1);
    trust(&["--from", "2020-01-01"]);
    sign(&yard).ends(0);
}

#[test]
fn a_name_without_a_key_and_a_key_without_trust_are_told_apart() {
    let yard = Yard::with_job();
    let args = [
        "sign",
        "T-1",
        "--as-found",
        "--incomplete",
        "x",
        "--by",
        "Tam Okoro",
    ];
    let said = yard.run(&args).ends(2);
    assert!(
        said.err.contains("there is no key `tam-okoro`"),
        "{}",
        said.err
    );
    second_person(&yard, "Tam Okoro");
    let lines = read(yard.path("signers"));
    let without: String = lines
        .lines()
        .filter(|line| !line.contains("Tam"))
        .map(|line| format!("{line}\n"))
        .collect();
    fs::write(yard.path("signers"), without).unwrap();
    let said = yard.run(&args).ends(2);
    assert!(said.err.contains("`Tam Okoro` is not in"), "{}", said.err);
    fs::remove_file(yard.path("signers")).unwrap();
    let said = yard.run(&args).ends(2);
    assert!(said.err.contains("no signers file"), "{}", said.err);
}

#[test]
fn only_ed25519_is_trusted_and_a_wrong_file_is_named() {
    let yard = Yard::with_job();
    let rsa = concat!(
        "ssh-rsa AAAAB3NzaC1yc2EAAAADAQABAAAAgQDZ5wFQJ1Pq3E0Gf2Yv0aV0Qw8o9i6q0Y1kq9m1bq0Zl3m4x5c6",
        " old"
    );
    let path = yard.root().join("old.pub");
    fs::write(&path, rsa).unwrap();
    let said = yard
        .run(&["key", "trust", path.to_str().unwrap(), "--name", "Tam"])
        .ends(2);
    assert!(said.err.contains("old.pub"), "{}", said.err);
    let said = yard.run(&["key", "revoke", "Nobody"]).ends(2);
    assert!(
        said.err.contains("`Nobody` is no signer's name"),
        "{}",
        said.err
    );
}

#[test]
fn two_people_trusting_keys_at_once_lose_no_line() {
    let yard = Yard::with_job();
    let names = ["Ann A", "Bo B", "Cy C", "Di D"];
    let mut children = Vec::new();
    for (index, name) in names.iter().enumerate() {
        let config = yard.root().join(format!("config-{index}"));
        let mut command = yard.command(&["key", "new", "--by", name]);
        children.push(command.env("BRAKECORNER_CONFIG", config).spawn().unwrap());
    }
    for mut child in children {
        assert!(child.wait().unwrap().success());
    }
    let signers = read(yard.path("signers"));
    assert!(names.iter().all(|name| signers.contains(name)), "{signers}");
}

/// A real agent: started, used, stopped by the number it prints.
#[cfg(unix)]
#[test]
#[ignore = "needs ssh-agent; tests/run provides it"]
fn a_key_in_an_agent_signs_and_its_secret_is_never_here() {
    use std::process::Command;
    let yard = Yard::with_job();
    let socket = yard.root().join("agent");
    let mut agent = Command::new("ssh-agent")
        .args(["-D", "-a"])
        .arg(&socket)
        .stdout(std::process::Stdio::null())
        .spawn()
        .unwrap();
    let wait = std::time::Instant::now();
    while !socket.exists() && wait.elapsed().as_secs() < 10 {
        std::thread::sleep(std::time::Duration::from_millis(20));
    }
    let key = yard.root().join("tam");
    let run = |program: &str, args: &[&str]| {
        let output = Command::new(program)
            .args(args)
            .env("SSH_AUTH_SOCK", &socket)
            .output()
            .unwrap();
        assert!(output.status.success(), "{output:?}");
    };
    run(
        "ssh-keygen",
        &[
            "-q",
            "-t",
            "ed25519",
            "-N",
            "",
            "-C",
            "tam",
            "-f",
            key.to_str().unwrap(),
        ],
    );
    let with_agent = |args: &[&str]| {
        let output = yard
            .command(args)
            .env("SSH_AUTH_SOCK", &socket)
            .output()
            .unwrap();
        super::common::Said::from(output)
    };
    let said = with_agent(&["key", "new", "--agent", "--by", "Tam Okoro"]).ends(2);
    assert!(said.err.contains("holds 0 Ed25519 keys"), "{}", said.err);
    run("ssh-add", &["-q", key.to_str().unwrap()]);
    fs::remove_file(&key).unwrap();
    with_agent(&["key", "new", "--agent", "--by", "Tam Okoro"]).ends(0);
    let args = [
        "sign",
        "T-1",
        "--as-found",
        "--incomplete",
        "x",
        "--by",
        "Tam Okoro",
    ];
    with_agent(&args).ends(0);
    yard.run(&["verify", "T-1"]).ends(0);
    // Nothing but the public half is in the key folder.
    assert!(!yard.root().join("config/keys/tam-okoro").exists());
    let listed = yard.run(&["key", "list"]).ends(0);
    assert!(
        listed.out.contains("held by the ssh-agent"),
        "{}",
        listed.out
    );
    run("ssh-add", &["-q", "-D"]);
    let said = with_agent(&args).ends(2);
    assert!(said.err.contains("does not hold key"), "{}", said.err);
    agent.kill().unwrap();
    agent.wait().unwrap();
    let said = yard.run(&args).ends(2);
    assert!(
        said.err.contains("SSH_AUTH_SOCK is not set"),
        "{}",
        said.err
    );
}
