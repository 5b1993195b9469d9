//! Photos are named by their SHA-256, and nothing else passes for one.

use std::fs;

use brakecorner::job::{Event, Item};
use brakecorner::record::canonical::sha256_hex;

use super::common::Yard;
use super::{append, file, problems, sign};

fn photo(sha256: &str) -> Event {
    Event::Photo {
        place: "FL".parse().unwrap(),
        item: Item::Hose,
        sha256: sha256.to_owned(),
        name: "IMG_1.jpg".to_owned(),
    }
}

fn with_photo() -> (Yard, String) {
    let yard = Yard::with_job();
    let sha256 = sha256_hex(b"a picture");
    append(&yard, photo(&sha256));
    fs::create_dir_all(file(&yard, "photos")).unwrap();
    (yard, sha256)
}

#[test]
fn signing_is_refused_while_a_photo_is_missing_or_another() {
    let (yard, sha256) = with_photo();
    let said = sign(&yard).ends(2);
    assert!(said.err.contains("is missing from photos/"), "{}", said.err);
    let path = file(&yard, &format!("photos/{sha256}.jpg"));
    fs::write(&path, b"another picture").unwrap();
    let said = sign(&yard).ends(2);
    assert!(
        said.err.contains("not the photo that was taken"),
        "{}",
        said.err
    );
    fs::write(&path, b"a picture").unwrap();
    sign(&yard).ends(0);
    assert_eq!(problems(&yard, &[]), Vec::<String>::new());
}

#[test]
fn an_audit_finds_photos_that_changed_or_went() {
    let (yard, sha256) = with_photo();
    let path = file(&yard, &format!("photos/{sha256}"));
    fs::write(&path, b"a picture").unwrap();
    sign(&yard).ends(0);
    fs::write(&path, b"a retouched picture").unwrap();
    assert_eq!(problems(&yard, &[]), ["photo_changed"]);
    fs::remove_file(&path).unwrap();
    assert_eq!(problems(&yard, &[]), ["photo_missing"]);
}

#[cfg(unix)]
#[test]
fn a_link_in_a_photos_place_is_not_followed() {
    let (yard, sha256) = with_photo();
    let elsewhere = yard.root().join("elsewhere");
    fs::write(&elsewhere, b"a picture").unwrap();
    let path = file(&yard, &format!("photos/{sha256}"));
    std::os::unix::fs::symlink(&elsewhere, &path).unwrap();
    let said = sign(&yard).ends(2);
    assert!(said.err.contains("symbolic link"), "{}", said.err);
    fs::remove_file(&path).unwrap();
    fs::write(&path, b"a picture").unwrap();
    sign(&yard).ends(0);
    fs::remove_file(&path).unwrap();
    std::os::unix::fs::symlink(&elsewhere, &path).unwrap();
    assert_eq!(problems(&yard, &[]), ["not_plain"]);
}

#[test]
fn a_photo_name_that_leads_out_of_the_folder_is_refused() {
    for name in [
        "../../../signers",
        "/etc/hostname",
        "..",
        "",
        &"A".repeat(64),
    ] {
        let yard = Yard::with_job();
        append(&yard, photo(name));
        let said = sign(&yard).ends(2);
        assert!(said.err.contains("is named by no SHA-256"), "{}", said.err);
    }
}
