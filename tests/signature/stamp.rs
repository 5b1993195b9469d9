//! Time-stamps against `openssl ts` as the outside authority.

use std::fs;
use std::path::Path;
use std::process::Command;

use brakecorner::record::stamp::{self, StampError};
use chrono::{DateTime, Utc};

use super::{SMALL, read};

const NONCE: [u8; 8] = [1, 2, 3, 4, 5, 6, 7, 8];

fn openssl(folder: &Path, arguments: &str) -> Vec<u8> {
    let output = Command::new("openssl")
        .current_dir(folder)
        .args(arguments.split(' '))
        .output()
        .unwrap();
    let text = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "openssl {arguments}: {text}");
    output.stdout
}

/// How the authority of a test is made.
struct Authority {
    key: &'static str,
    usage: &'static str,
    days: i32,
    settings: &'static str,
}

impl Default for Authority {
    fn default() -> Self {
        Self {
            key: "rsa:2048",
            usage: "critical,timeStamping",
            days: 300,
            settings: "",
        }
    }
}

impl Authority {
    /// Makes `ca.pem`, `tsa.pem` and their keys, then the reply to a request.
    fn reply(&self, folder: &Path, request: &[u8]) -> Vec<u8> {
        fs::write(
            folder.join("usage"),
            format!("extendedKeyUsage={}\n", self.usage),
        )
        .unwrap();
        fs::write(folder.join("serial"), "01\n").unwrap();
        let settings = format!(
            "[tsa]\ndefault_tsa=here\n[here]\nserial=serial\nsigner_cert=tsa.pem\n\
             signer_key=tsa.key\ncerts=ca.pem\nsigner_digest=sha256\ndefault_policy=1.2.3.4.1\n\
             digests=sha256,sha512\naccuracy=secs:1,millisecs:500\n{}\n",
            self.settings
        );
        fs::write(folder.join("settings"), settings).unwrap();
        fs::write(folder.join("request.tsq"), request).unwrap();
        let key = self.key;
        openssl(
            folder,
            &format!(
                "req -x509 -newkey {key} -nodes -subj /CN=CA -days 300 -keyout ca.key -out ca.pem"
            ),
        );
        openssl(
            folder,
            &format!("req -newkey {key} -nodes -subj /CN=TSA -keyout tsa.key -out tsa.csr"),
        );
        let days = self.days;
        openssl(
            folder,
            &format!(
                "x509 -req -in tsa.csr -CA ca.pem -CAkey ca.key -set_serial 7 -days {days} -extfile usage -out tsa.pem"
            ),
        );
        openssl(
            folder,
            "ts -reply -config settings -queryfile request.tsq -out reply.tsr",
        );
        fs::read(folder.join("reply.tsr")).unwrap()
    }
}

#[test]
fn a_stored_stamp_is_read_and_every_changed_byte_of_it_is_refused_or_without_effect() {
    let (reply, request) = (read("stamp/reply.tsr"), read("stamp/request.tsq"));
    let (message, trusted) = (read("message"), read("stamp/ca.pem"));
    let good = stamp::check(&reply, Some(&request), &message, &trusted).unwrap();
    let expected: DateTime<Utc> = String::from_utf8(read("stamp/time"))
        .unwrap()
        .trim()
        .parse()
        .unwrap();
    assert_eq!(good.time, expected);
    assert_eq!(
        (good.policy.as_str(), good.accuracy_us),
        ("1.2.3.4.1", Some(1_500_000))
    );
    assert_eq!(good.authority, "CN=TSA");
    let mut harmless = 0;
    for at in 0..reply.len() {
        for bit in 0..8 {
            let mut changed = reply.clone();
            changed[at] ^= 1 << bit;
            if let Ok(stamp) = stamp::check(&changed, Some(&request), &message, &trusted) {
                assert_eq!(stamp, good, "byte {at} bit {bit}");
                harmless += 1;
            }
        }
        assert!(
            stamp::check(&reply[..at], None, &message, &trusted).is_err(),
            "cut at {at}"
        );
    }
    // Status word, unused certificate: what nobody signed and nothing depends on.
    assert!(harmless < reply.len() * 8 / 2, "{harmless}");
}

#[test]
fn a_stamp_over_other_bytes_or_for_another_request_is_refused() {
    let (reply, trusted) = (read("stamp/reply.tsr"), read("stamp/ca.pem"));
    let error = stamp::check(&reply, None, SMALL, &trusted).unwrap_err();
    assert!(matches!(error, StampError::Digest { .. }), "{error}");
    let message = read("message");
    assert!(stamp::check(&reply, None, &message, &trusted).is_ok());
    let other = stamp::request(&message, [9; 8]).unwrap();
    let error = stamp::check(&reply, Some(&other), &message, &trusted).unwrap_err();
    assert!(
        matches!(error, StampError::Other { part: "nonce", .. }),
        "{error}"
    );
}

#[test]
fn without_a_trusted_certificate_no_stamp_is_accepted() {
    let error = stamp::check(&read("stamp/reply.tsr"), None, &read("message"), b"").unwrap_err();
    assert!(matches!(error, StampError::Anchors { .. }), "{error}");
}

#[test]
fn our_request_is_the_stored_one() {
    assert_eq!(
        stamp::request(&read("message"), NONCE).unwrap(),
        read("stamp/request.tsq")
    );
}

proptest::proptest! {
    #[test]
    fn arbitrary_replies_never_panic(bytes: Vec<u8>) {
        let trusted = read("stamp/ca.pem");
        proptest::prop_assert!(stamp::check(&bytes, Some(&bytes), b"m", &trusted).is_err());
    }
}

#[test]
#[ignore = "needs openssl; tests/run provides it"]
fn openssl_reads_our_request_and_we_accept_its_reply_as_openssl_does() {
    for (key, settings, decimals) in [
        ("rsa:2048", "", false),
        (
            "rsa:2048",
            "ess_cert_id_alg=sha1\nclock_precision_digits=3",
            true,
        ),
        (
            "ec -pkeyopt ec_paramgen_curve:P-256",
            "ess_cert_id_alg=sha256",
            false,
        ),
        (
            "ec -pkeyopt ec_paramgen_curve:P-384",
            "tsa_name=yes\nordering=yes",
            false,
        ),
    ] {
        let folder = tempfile::tempdir().unwrap();
        let at = folder.path();
        let request = stamp::request(SMALL, NONCE).unwrap();
        let before = Utc::now();
        let reply = Authority {
            key,
            settings,
            ..Authority::default()
        }
        .reply(at, &request);
        let text = String::from_utf8(openssl(at, "ts -query -in request.tsq -text")).unwrap();
        assert!(text.contains("Hash Algorithm: sha512"), "{text}");
        assert!(text.contains("Nonce: 0x4102030405060708"), "{text}");
        openssl(
            at,
            "ts -verify -queryfile request.tsq -in reply.tsr -CAfile ca.pem",
        );
        let trusted = fs::read(at.join("ca.pem")).unwrap();
        let stamp = stamp::check(&reply, Some(&request), SMALL, &trusted).unwrap();
        assert!(
            (stamp.time - before).num_seconds().abs() <= 60,
            "{}",
            stamp.time
        );
        if !decimals {
            assert_eq!(stamp.time.timestamp_subsec_nanos(), 0);
        }
    }
}

#[test]
#[ignore = "needs openssl; tests/run provides it"]
fn a_strange_or_expired_authority_is_refused() {
    let request = stamp::request(SMALL, NONCE).unwrap();
    let try_with = |authority: Authority, trusted: Option<Vec<u8>>| {
        let folder = tempfile::tempdir().unwrap();
        let reply = authority.reply(folder.path(), &request);
        let own = fs::read(folder.path().join("ca.pem")).unwrap();
        (
            stamp::check(&reply, None, SMALL, &trusted.unwrap_or_else(|| own.clone())),
            own,
        )
    };
    let (good, first_ca) = try_with(Authority::default(), None);
    assert!(good.is_ok(), "{good:?}");
    let (strange, _) = try_with(Authority::default(), Some(first_ca));
    assert!(
        matches!(strange, Err(StampError::Chain { .. })),
        "{strange:?}"
    );
    let (expired, _) = try_with(
        Authority {
            days: -1,
            ..Authority::default()
        },
        None,
    );
    assert!(
        matches!(expired, Err(StampError::Chain { .. })),
        "{expired:?}"
    );
}

#[test]
#[ignore = "needs openssl; tests/run provides it"]
fn a_refusal_by_the_authority_is_reported_with_its_words() {
    let folder = tempfile::tempdir().unwrap();
    let request = stamp::request(SMALL, NONCE).unwrap();
    let settings = "digests=sha256";
    let reply = Authority {
        settings,
        ..Authority::default()
    }
    .reply(folder.path(), &request);
    let error = stamp::check(&reply, None, SMALL, b"").unwrap_err();
    let StampError::Refused { status: 2, text } = &error else {
        panic!("{error}")
    };
    assert!(text.contains("not supported"), "{text}");
}

/// `openssl ts` itself refuses to stamp with such a certificate, so the token is made by hand.
#[test]
#[ignore = "needs openssl; tests/run provides it"]
fn a_certificate_that_is_not_for_time_stamping_alone_is_refused() {
    for (usage, good) in [
        ("critical,timeStamping", true),
        ("timeStamping", false),
        ("critical,timeStamping,emailProtection", false),
        ("critical,emailProtection", false),
    ] {
        let folder = tempfile::tempdir().unwrap();
        let at = folder.path();
        let request = stamp::request(SMALL, NONCE).unwrap();
        Authority::default().reply(at, &request);
        openssl(at, "ts -reply -in reply.tsr -token_out -out token.der");
        openssl(
            at,
            "cms -verify -noverify -inform DER -in token.der -out content.der",
        );
        fs::write(at.join("usage"), format!("extendedKeyUsage={usage}\n")).unwrap();
        openssl(
            at,
            "x509 -req -in tsa.csr -CA ca.pem -CAkey ca.key -set_serial 8 -extfile usage -out tsa.pem",
        );
        openssl(
            at,
            "cms -sign -binary -nodetach -cades -nosmimecap -econtent_type 1.2.840.113549.1.9.16.1.4 -md sha256 -signer tsa.pem -inkey tsa.key -in content.der -outform DER -out made.der",
        );
        let token = fs::read(at.join("made.der")).unwrap();
        // SEQUENCE (two bytes of length) { SEQUENCE { INTEGER 0 (granted) }, token }
        let length = u16::try_from(token.len() + 5).unwrap().to_be_bytes();
        let reply = [&[0x30, 0x82], &length[..], &[0x30, 3, 2, 1, 0], &token].concat();
        let trusted = fs::read(at.join("ca.pem")).unwrap();
        let checked = stamp::check(&reply, Some(&request), SMALL, &trusted);
        assert_eq!(checked.is_ok(), good, "{usage}: {checked:?}");
        if let Err(error) = checked {
            let named = matches!(error, StampError::Usage { .. } | StampError::Chain { .. });
            assert!(named, "{usage}: {error}");
        }
    }
}
