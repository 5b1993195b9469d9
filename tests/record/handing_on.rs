//! Records for others: the bundle, and checking with stock commands alone.

use std::collections::BTreeMap;
use std::fs;
use std::io::Read as _;
use std::path::Path;

use brakecorner::record::canonical::sha256_hex;

use super::common::Yard;

fn unpack(path: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut archive = tar::Archive::new(fs::File::open(path).unwrap());
    let mut files = BTreeMap::new();
    for entry in archive.entries().unwrap() {
        let mut entry = entry.unwrap();
        let name = entry.path().unwrap().display().to_string();
        let mut bytes = Vec::new();
        entry.read_to_end(&mut bytes).unwrap();
        files.insert(name, bytes);
    }
    files
}

#[test]
fn a_bundle_holds_all_that_is_needed_and_nothing_private() {
    let yard = Yard::demo();
    yard.run(&["record", "bundle", "HWY-0411", "-o", "a.tar"])
        .ends(0);
    let files = unpack(&yard.root().join("a.tar"));
    for name in [
        "README.txt",
        "record-1.json",
        "record-1.json.sig",
        "record-2.json",
        "record-2.json.sig",
        "sheet.txt",
        "signers",
    ] {
        assert!(
            files.contains_key(&format!("HWY-0411/{name}")),
            "{name}: {:?}",
            files.keys()
        );
    }
    assert!(files.keys().all(|name| !name.contains("private")));
    let readme = String::from_utf8(files["HWY-0411/README.txt"].clone()).unwrap();
    assert!(
        !readme.contains("brakecorner verify"),
        "stock commands only"
    );
    for number in 1..=2 {
        let record = &files[&format!("HWY-0411/record-{number}.json")];
        assert!(readme.contains(&sha256_hex(record)));
        assert_eq!(
            *record,
            fs::read(yard.path(&format!("jobs/HWY-0411/record-{number}.json"))).unwrap()
        );
    }
    yard.run(&["record", "bundle", "HWY-0411", "-o", "b.tar"])
        .ends(0);
    let bytes = |name: &str| fs::read(yard.root().join(name)).unwrap();
    assert_eq!(
        bytes("a.tar"),
        bytes("b.tar"),
        "the same job makes the same bytes"
    );
    let said = yard
        .run(&["record", "bundle", "HWY-0411", "-o", "b.tar"])
        .ends(2);
    assert!(said.err.contains("exists already"), "{}", said.err);
}

#[test]
fn nothing_is_bundled_that_does_not_verify() {
    let yard = Yard::demo();
    let path = yard.path("jobs/HWY-0411/record-2.json");
    let text = fs::read_to_string(&path).unwrap();
    fs::write(&path, text.replacen("ADVISE", "PASS", 1)).unwrap();
    let said = yard.run(&["record", "bundle", "HWY-0411"]).ends(2);
    assert!(said.err.contains("is not valid"), "{}", said.err);
    assert!(!yard.root().join("HWY-0411.tar").exists());
}

/// Runs a line of a document in a folder, as a shell does.
fn shell(folder: &Path, line: &str) -> (bool, String) {
    let output = std::process::Command::new("sh")
        .args(["-c", line])
        .env("TZ", "UTC")
        .current_dir(folder)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&output.stdout).into_owned()
        + &String::from_utf8_lossy(&output.stderr);
    (output.status.success(), said)
}

#[test]
#[ignore = "needs ssh-keygen; tests/run provides it"]
fn every_command_of_a_bundles_readme_answers_good() {
    let yard = Yard::demo();
    let config = yard.path("demo-keys");
    let output = yard
        .command(&["sign", "HWY-0411", "--countersign", "--by", "Tam Okoro"])
        .env("BRAKECORNER_CONFIG", config)
        .output()
        .unwrap();
    super::common::Said::from(output).ends(0);
    yard.run(&["record", "bundle", "HWY-0411", "-o", "a.tar"])
        .ends(0);
    let (unpacked, said) = shell(yard.root(), "tar xf a.tar");
    assert!(unpacked, "{said}");
    let folder = yard.root().join("HWY-0411");
    let readme = fs::read_to_string(folder.join("README.txt")).unwrap();
    let lines: Vec<&str> = readme
        .lines()
        .filter_map(|line| line.strip_prefix("    "))
        .filter(|line| line.starts_with("ssh-keygen"))
        .collect();
    assert_eq!(lines.len(), 3, "{readme}");
    for line in &lines {
        let (good, said) = shell(&folder, line);
        assert!(good && said.starts_with("Good"), "{line}: {said}");
    }
    // The digests it prints are those that the command it names prints.
    for name in ["record-1.json", "record-2.json"] {
        let (good, said) = shell(&folder, &format!("sha256sum {name}"));
        let digest = said.split_whitespace().next().unwrap();
        assert!(
            good && readme.contains(&format!("    {digest}\n")),
            "{said}"
        );
    }
    assert!(readme.contains("`sha256sum record-1.json` prints"));
    let path = folder.join("record-1.json");
    let mut bytes = fs::read(&path).unwrap();
    bytes[100] ^= 1;
    fs::write(&path, bytes).unwrap();
    assert!(!shell(&folder, lines[0]).0);
}

#[test]
#[ignore = "needs ssh-keygen and openssl; tests/run provides them"]
fn every_command_of_the_document_on_checking_works() {
    let yard = Yard::demo();
    let document = include_str!("../../docs/checking-a-record.md");
    let jobs = yard.path("jobs/HWY-0411");
    fs::copy(yard.path("signers"), jobs.join("signers")).unwrap();
    yard.run(&[
        "record",
        "redact",
        "HWY-0411",
        "-o",
        "shop/jobs/HWY-0411/copy.json",
    ])
    .ends(0);
    let blocks: Vec<&str> = document
        .split("```sh\n")
        .skip(1)
        .map(|rest| rest.split("```").next().unwrap())
        .collect();
    assert!(blocks.len() >= 4, "{}", blocks.len());
    for block in blocks {
        let (good, said) = shell(&jobs, &format!("set -e\n{block}"));
        assert!(good, "{block}\n{said}");
    }
    // What must be refused is refused.
    let refused: Vec<&str> = document
        .split("```sh refused\n")
        .skip(1)
        .map(|rest| rest.split("```").next().unwrap())
        .collect();
    assert!(!refused.is_empty());
    for block in refused {
        let (good, said) = shell(&jobs, &format!("set -e\n{block}"));
        assert!(!good, "{block}\n{said}");
    }
}

#[test]
#[ignore = "needs ssh-keygen; tests/run provides it"]
fn a_signature_stock_ssh_keygen_makes_over_a_record_is_accepted() {
    let yard = super::signed();
    let key = yard.root().join("config/keys/ilse-varga");
    let record = super::file(&yard, "record-1.json");
    fs::remove_file(super::file(&yard, "record-1.json.sig")).unwrap();
    let line = format!(
        "ssh-keygen -q -Y sign -f '{}' -n brakecorner-record '{}'",
        key.display(),
        record.display()
    );
    let (good, said) = shell(yard.root(), &line);
    assert!(good, "{said}");
    yard.run(&["verify", "T-1"]).ends(0);
}

#[test]
#[ignore = "needs openssl; tests/run provides it"]
fn a_time_stamp_of_an_outside_authority_is_asked_for_checked_and_kept() {
    let yard = super::signed();
    yard.run(&["sign", "T-1", "--stamp-request"]).ends(0);
    let script = "set -e\n\
        cat > tsa.cnf <<END\n\
        [tsa]\ndefault_tsa = t\n[t]\nserial = serial\ncrypto_device = builtin\n\
        signer_cert = tsa.pem\nsigner_key = tsa.key\ncerts = ca.pem\nsigner_digest = sha256\n\
        default_policy = 1.2.3.4\ndigests = sha256, sha512\naccuracy = secs:1\n\
        ess_cert_id_chain = no\ness_cert_id_alg = sha256\n\
        [ext]\nextendedKeyUsage = critical, timeStamping\nkeyUsage = critical, digitalSignature\n\
        END\n\
        echo 01 > serial\n\
        openssl req -x509 -newkey rsa:2048 -nodes -keyout ca.key -out ca.pem -days 30 -subj /CN=CA 2>/dev/null\n\
        openssl req -newkey rsa:2048 -nodes -keyout tsa.key -out tsa.csr -subj /CN=TSA 2>/dev/null\n\
        openssl x509 -req -in tsa.csr -CA ca.pem -CAkey ca.key -CAcreateserial -days 29 -extfile tsa.cnf -extensions ext -out tsa.pem 2>/dev/null\n\
        openssl ts -reply -config tsa.cnf -queryfile shop/jobs/T-1/record-1.json.tsq -out reply.tsr 2>/dev/null\n";
    let (good, said) = shell(yard.root(), script);
    assert!(good, "{said}");
    let args = [
        "sign",
        "T-1",
        "--stamp",
        "reply.tsr",
        "--stamp-trust",
        "ca.pem",
    ];
    let said = yard.run(&args).ends(0);
    assert!(said.out.contains("existed at"), "{}", said.out);
    let (good, said) = shell(
        &yard.path("jobs/T-1"),
        "openssl ts -verify -data record-1.json.sig -in record-1.json.tsr -CAfile ../../../ca.pem",
    );
    assert!(good, "{said}");
    let said = yard
        .run(&["verify", "T-1", "--stamp-trust", "ca.pem"])
        .ends(0);
    assert!(said.out.contains("time-stamp"), "{}", said.out);
    // In a bundle the README's own line checks it.
    fs::copy(yard.root().join("ca.pem"), yard.path("authorities.pem")).unwrap();
    yard.run(&["record", "bundle", "T-1", "-o", "b.tar"])
        .ends(0);
    let (good, said) = shell(
        yard.root(),
        "tar xf b.tar && cd T-1 && sed -n 's/^    openssl/openssl/p' README.txt > lines && grep -q . lines && sh -e lines",
    );
    assert!(good && said.contains("Verification: OK"), "{said}");
    fs::remove_file(yard.path("authorities.pem")).unwrap();
    // A stamp for another revision's signature does not fit.
    super::sign(&yard).ends(0);
    fs::copy(
        super::file(&yard, "record-1.json.tsr"),
        super::file(&yard, "record-2.json.tsr"),
    )
    .unwrap();
    yard.run(&["verify", "T-1", "--stamp-trust", "ca.pem"])
        .ends(1);
    fs::copy(yard.root().join("ca.pem"), yard.path("authorities.pem")).unwrap();
    assert_eq!(super::problems(&yard, &[]), ["time_stamp"]);
}
