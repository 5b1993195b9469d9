use super::*;

const KEY: &str =
    "ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAINdamAGCsQq31Uv+08lkBzoO4XLz2qYjJa8CGmj3B1Ea";

fn key() -> SignerKey {
    SignerKey::from_openssh(KEY).unwrap()
}

fn other_key() -> SignerKey {
    // RFC 8032, 7.1, test 2, public key (read).
    let hex = "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c";
    let mut bytes = [0; 32];
    for (byte, at) in bytes.iter_mut().zip((0..64).step_by(2)) {
        *byte = u8::from_str_radix(&hex[at..at + 2], 16).unwrap();
    }
    SignerKey::from_bytes(bytes).unwrap()
}

fn at(text: &str) -> DateTime<Utc> {
    text.parse().unwrap()
}

fn signers(text: &str) -> Signers {
    Signers::parse("signers", text.as_bytes()).unwrap()
}

fn problem(line: &str) -> LineError {
    match Signers::parse("signers", line.as_bytes()).unwrap_err() {
        SignersError::Lines { problems } => problems[0].error.clone(),
        other => panic!("{other}"),
    }
}

const NOW: &str = "2026-11-25T10:00:00Z";

#[test]
fn a_plain_line_lets_its_key_sign_for_any_purpose_at_any_time() {
    let signers = signers(&format!("# the bench\n\n  jo,bo {KEY} bench laptop\r\n"));
    let line = signers.find("bo", &key(), "anything", at(NOW)).unwrap();
    assert_eq!((line.line, line.comment.as_str()), (3, "bench laptop"));
}

#[test]
fn a_wrong_name_and_a_wrong_key_are_told_apart() {
    let signers = signers(&format!("jo {KEY}\n"));
    let why = signers.find("bo", &other_key(), "n", at(NOW)).unwrap_err();
    assert!(matches!(why, NotTrusted::UnknownPrincipal { .. }), "{why}");
    let why = signers.find("jo", &other_key(), "n", at(NOW)).unwrap_err();
    assert!(matches!(&why, NotTrusted::OtherKey { belongs_to, .. } if belongs_to.is_empty()));
    let why = signers.find("bo", &key(), "n", at(NOW)).unwrap_err();
    assert!(matches!(&why, NotTrusted::OtherKey { belongs_to, .. } if belongs_to == &["jo"]));
}

#[test]
fn both_bounds_are_included_to_the_second() {
    let signers = signers(&format!(
        "jo valid-after=\"20260101Z\",valid-before=\"202606301159Z\" {KEY}\n"
    ));
    let find = |time: &str| signers.find("jo", &key(), "n", at(time));
    assert!(matches!(
        find("2025-12-31T23:59:59Z"),
        Err(NotTrusted::NotYetValid { .. })
    ));
    assert!(find("2026-01-01T00:00:00Z").is_ok());
    assert!(find("2026-06-30T11:59:00Z").is_ok());
    assert!(find("2026-06-30T11:59:00.9Z").is_ok());
    let why = find("2026-06-30T11:59:01Z").unwrap_err();
    assert_eq!(
        why.to_string(),
        "signers:1: the key was valid until 2026-06-30T11:59:00Z, \
         and the signature is of 2026-06-30T11:59:01Z"
    );
}

#[test]
fn namespaces_are_patterns_and_a_missing_one_is_refused() {
    let signers = signers(&format!("jo namespaces=\"file,brakecorner-*\" {KEY}\n"));
    assert!(
        signers
            .find("jo", &key(), "brakecorner-record", at(NOW))
            .is_ok()
    );
    let why = signers.find("jo", &key(), "git", at(NOW)).unwrap_err();
    assert!(
        matches!(&why, NotTrusted::Namespace { allowed, .. } if allowed == "file,brakecorner-*")
    );
}

#[test]
fn a_renewed_key_is_found_on_its_second_line() {
    let signers = signers(&format!(
        "jo valid-before=\"20260101Z\" {KEY}\njo valid-after=\"20260601Z\" {KEY}\n"
    ));
    assert_eq!(signers.find("jo", &key(), "n", at(NOW)).unwrap().line, 2);
    assert_eq!(
        signers
            .of_key(&key(), "n", at("2025-01-01T00:00:00Z"))
            .len(),
        1
    );
    assert!(
        signers
            .find("jo", &key(), "n", at("2026-03-01T00:00:00Z"))
            .is_err()
    );
}

#[test]
fn names_with_spaces_stand_in_quotes() {
    let signers = signers(&format!("\"J. Marsh,!K. *\" {KEY}\n"));
    assert!(signers.find("J. Marsh", &key(), "n", at(NOW)).is_ok());
    assert!(signers.find("K. Marsh", &key(), "n", at(NOW)).is_err());
}

#[test]
fn every_wrong_line_is_named_at_once() {
    let text = format!("jo valid-after=\"20260101\" {KEY}\nbo {KEY}\nmo cert-authority {KEY}\nlo");
    let error = Signers::parse("shop/signers", text.as_bytes()).unwrap_err();
    let text = error.to_string();
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines.len(), 3, "{text}");
    assert!(
        lines[0].starts_with("shop/signers:1: `20260101` is local time"),
        "{text}"
    );
    assert!(
        lines[1].starts_with("shop/signers:3: `cert-authority` is recognized"),
        "{text}"
    );
    assert!(lines[2].starts_with("shop/signers:4: "), "{text}");
}

#[test]
fn each_mistake_has_its_own_error() {
    use LineError as E;
    let k = KEY;
    type Check = fn(&E) -> bool;
    let cases: [(String, Check); 20] = [
        (format!("\"jo {k}"), |e| matches!(e, E::OpenQuote { .. })),
        (format!("\"\" {k}"), |e| matches!(e, E::NoPrincipal)),
        ("jo".to_owned(), |e| matches!(e, E::NoKey { .. })),
        ("jo namespaces=\"n\"".to_owned(), |e| {
            matches!(e, E::NoKey { .. })
        }),
        (format!("jo valid-after=\"20260101\" {k}"), |e| {
            matches!(e, E::LocalTime { .. })
        }),
        (format!("jo valid-after=\"20260101000000\" {k}"), |e| {
            matches!(e, E::LocalTime { .. })
        }),
        (format!("jo valid-after=\"20261301Z\" {k}"), |e| {
            matches!(e, E::Stamp { .. })
        }),
        (format!("jo valid-after=\"20260101246000Z\" {k}"), |e| {
            matches!(e, E::Stamp { .. })
        }),
        (format!("jo valid-after=\"2026-01-01\" {k}"), |e| {
            matches!(e, E::Stamp { .. })
        }),
        (format!("jo valid-after=\"2026010112Z\" {k}"), |e| {
            matches!(e, E::Stamp { .. })
        }),
        (format!("jo valid-after=20260101Z {k}"), |e| {
            matches!(e, E::Unquoted { .. })
        }),
        (format!("jo valid-after=\"\" {k}"), |e| {
            matches!(e, E::Empty { .. })
        }),
        (format!("jo namespaces=\"a\",namespaces=\"b\" {k}"), |e| {
            matches!(e, E::Twice { .. })
        }),
        (format!("jo namespaces=\"a\"x {k}"), |e| {
            matches!(e, E::UnknownOption { .. })
        }),
        (format!("jo no-touch {k}"), |e| {
            matches!(e, E::UnknownOption { .. })
        }),
        (format!("jo namespaces=\"a {k}"), |e| {
            matches!(e, E::OpenQuote { .. })
        }),
        (
            format!("jo valid-after=\"20260102Z\",valid-before=\"20260102Z\" {k}"),
            |e| matches!(e, E::Window { .. }),
        ),
        ("jo ssh-rsa AAAA".to_owned(), |e| {
            matches!(e, E::Key(KeyFormError::NotAccepted { .. }))
        }),
        ("jo ssh-ed25519 AAAA".to_owned(), |e| {
            matches!(e, E::Key(KeyFormError::Short(_)))
        }),
        (format!("jo namespaces=\"a\" x {k}"), |e| {
            matches!(e, E::Key(KeyFormError::UnknownType { .. }))
        }),
    ];
    for (line, expected) in cases {
        let error = problem(&line);
        assert!(expected(&error), "{line}: {error:?}");
    }
    assert_eq!(
        match Signers::parse("s", b"jo \xff").unwrap_err() {
            SignersError::Lines { problems } => problems[0].error.clone(),
            other => panic!("{other}"),
        },
        E::NotUtf8
    );
}

#[test]
fn a_name_that_would_widen_the_line_is_not_rendered() {
    for name in [
        "*", "jo,*", "a?c", "!jo", "#jo", "j\"o", "jo\nbo", "", "a,,b", " jo",
    ] {
        let signer = Signer {
            line: 0,
            principals: name.to_owned(),
            namespaces: None,
            valid_after: None,
            valid_before: None,
            key: key(),
            comment: String::new(),
        };
        assert!(signer.render().is_err(), "{name}");
    }
}

proptest::proptest! {
    #[test]
    fn arbitrary_bytes_never_panic(bytes: Vec<u8>) {
        let _ = Signers::parse("f", &bytes);
    }

    #[test]
    fn lines_near_the_format_never_panic(text in r#"[a-z",=\\ !*#]{0,20}(namespaces=|valid-after=)?[a-z0-9",=\\ Z]{0,30}( ssh-ed25519 AAAA)?"#) {
        let _ = Signers::parse("f", text.as_bytes());
    }

    #[test]
    fn a_rendered_line_reads_back(
        name in "[a-z][a-z @.]{0,10}[a-z]",
        namespace in proptest::option::of("[a-z-]{1,9}"),
        after in proptest::option::of(0i64..4_000_000_000),
        length in proptest::option::of(1i64..1_000_000),
        comment in "([a-z]+( [a-z]+)?)?",
    ) {
        let time = |s: i64| DateTime::from_timestamp(s, 0).unwrap();
        let signer = Signer {
            line: 1,
            principals: name.clone(),
            namespaces: namespace,
            valid_after: after.map(time),
            valid_before: length.map(|l| time(after.unwrap_or(0) + l)),
            key: key(),
            comment,
        };
        let read = signers(&signer.render().unwrap());
        proptest::prop_assert_eq!(read.lines(), &[signer]);
    }
}
