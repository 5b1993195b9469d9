use std::collections::BTreeMap;

use super::*;

/// Every file in a folder with its content.
fn state(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    fs::read_dir(folder)
        .unwrap()
        .map(|entry| {
            let path = entry.unwrap().path();
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            (name, fs::read(&path).unwrap())
        })
        .collect()
}

fn file<'a>(path: &'a Path, bytes: &'a [u8], existing: Existing) -> NewFile<'a> {
    NewFile {
        path,
        bytes,
        existing,
        access: Access::Default,
    }
}

/// Counts the steps of a group without faults.
fn steps_of(files: &[(&str, &[u8], Existing)]) -> Vec<Step> {
    let folder = tempfile::tempdir().unwrap();
    let mut steps = Vec::new();
    run(folder.path(), files, &mut |step, _| {
        steps.push(step);
        Ok(())
    })
    .unwrap();
    steps
}

fn run(
    folder: &Path,
    files: &[(&str, &[u8], Existing)],
    hook: &mut Hook<'_>,
) -> Result<(), AtomicError> {
    let paths: Vec<PathBuf> = files.iter().map(|(name, ..)| folder.join(name)).collect();
    let group: Vec<NewFile<'_>> = files
        .iter()
        .zip(&paths)
        .map(|((_, bytes, existing), path)| file(path, bytes, *existing))
        .collect();
    write_group(&group, hook)
}

const PAIR: [(&str, &[u8], Existing); 2] = [
    ("record-1.json.sig", b"signature", Existing::Refuse),
    ("record-1.json", b"record", Existing::Refuse),
];

#[test]
fn a_pair_is_complete_before_the_first_has_its_name() {
    use Step::{Create, Publish, RemoveHidden, SyncFile, SyncFolder, Write};
    assert_eq!(
        steps_of(&PAIR),
        [
            Create,
            Write,
            SyncFile,
            Create,
            Write,
            SyncFile,
            Publish,
            RemoveHidden,
            Publish,
            RemoveHidden,
            SyncFolder
        ]
    );
}

#[test]
fn a_fault_at_any_step_leaves_the_old_state_or_the_new() {
    for failing in 0..steps_of(&PAIR).len() {
        for kind in [
            ErrorKind::StorageFull,
            ErrorKind::ReadOnlyFilesystem,
            ErrorKind::Other,
        ] {
            let folder = tempfile::tempdir().unwrap();
            fs::write(folder.path().join("other"), b"untouched").unwrap();
            let old = state(folder.path());
            let mut at = 0;
            let result = run(folder.path(), &PAIR, &mut |_, _| {
                at += 1;
                if at - 1 == failing {
                    Err(io::Error::from(kind))
                } else {
                    Ok(())
                }
            });
            let mut now = state(folder.path());
            now.retain(|name, _| !name.ends_with(SUFFIX));
            match result {
                Ok(()) | Err(AtomicError::NotDurable { .. }) => {
                    assert_eq!(now.len(), 3, "step {failing}");
                    assert_eq!(now["record-1.json"], b"record");
                    assert_eq!(now["record-1.json.sig"], b"signature");
                }
                Err(AtomicError::Failed { .. }) => {
                    assert_eq!(now, old, "step {failing}");
                    assert!(
                        leftovers(folder.path()).unwrap().is_empty(),
                        "step {failing}"
                    );
                }
                Err(error) => panic!("step {failing}: {error}"),
            }
        }
    }
}

/// What a process killed before a step leaves: the same calls, cut off by unwinding.
#[test]
fn being_killed_before_any_step_never_leaves_a_record_without_its_signature() {
    for killed in 0..steps_of(&PAIR).len() {
        let folder = tempfile::tempdir().unwrap();
        let cut = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| {
            let mut at = 0;
            let _ = run(folder.path(), &PAIR, &mut |_, _| {
                at += 1;
                if at - 1 == killed {
                    std::panic::resume_unwind(Box::new("killed"));
                }
                Ok(())
            });
        }));
        assert!(cut.is_err());
        let now = state(folder.path());
        if let Some(record) = now.get("record-1.json") {
            assert_eq!(record, b"record");
            assert_eq!(now["record-1.json.sig"], b"signature", "step {killed}");
        }
        for name in now.keys() {
            let known = PAIR.iter().any(|(own, ..)| own == name) || name.ends_with(SUFFIX);
            assert!(known, "step {killed} left {name}");
        }
    }
}

#[test]
fn an_existing_file_is_refused_and_kept_byte_for_byte() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("record-1.json");
    write_new(&path, b"first").unwrap();
    let error = write_new(&path, b"second").unwrap_err();
    assert!(matches!(error, AtomicError::Exists { .. }), "{error}");
    assert_eq!(fs::read(&path).unwrap(), b"first");
    replace(&path, b"third").unwrap();
    assert_eq!(fs::read(&path).unwrap(), b"third");
    assert_eq!(state(folder.path()).len(), 1);
}

#[test]
fn a_file_that_appears_between_looking_and_naming_is_refused_too() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("record-1.json");
    let new = [file(&path, b"ours", Existing::Refuse)];
    let error = write_group(&new, &mut |step, path| {
        if step == Step::Publish {
            fs::write(path, b"theirs")
        } else {
            Ok(())
        }
    })
    .unwrap_err();
    assert!(matches!(error, AtomicError::Exists { .. }), "{error}");
    assert_eq!(fs::read(&path).unwrap(), b"theirs");
    assert!(leftovers(folder.path()).unwrap().is_empty());
}

#[test]
fn when_the_second_of_a_pair_is_taken_the_first_is_taken_back() {
    let folder = tempfile::tempdir().unwrap();
    let record = folder.path().join("record-1.json");
    let error = run(folder.path(), &PAIR, &mut |step, path| {
        if step == Step::Publish && path == record {
            fs::write(path, b"theirs")
        } else {
            Ok(())
        }
    })
    .unwrap_err();
    assert!(matches!(error, AtomicError::Exists { .. }), "{error}");
    assert_eq!(
        state(folder.path()),
        [("record-1.json".to_owned(), b"theirs".to_vec())].into()
    );
}

#[test]
fn a_full_disk_is_named_with_what_to_do() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("record-1.json");
    let new = [file(&path, b"ours", Existing::Refuse)];
    let error = write_group(&new, &mut |step, _| {
        if step == Step::Write {
            Err(io::Error::from(ErrorKind::StorageFull))
        } else {
            Ok(())
        }
    })
    .unwrap_err();
    let text = error.to_string();
    assert!(
        text.contains("record-1.json") && text.contains("nothing was changed"),
        "{text}"
    );
    assert!(error.hint().contains("disk is full"), "{}", error.hint());
}

#[test]
fn a_missing_folder_is_an_error_with_its_path() {
    let folder = tempfile::tempdir().unwrap();
    let error = write_new(&folder.path().join("gone").join("a"), b"").unwrap_err();
    assert!(error.to_string().contains("gone"), "{error}");
    assert!(
        error.hint().contains("folder is missing"),
        "{}",
        error.hint()
    );
    assert!(matches!(
        write_new(Path::new("/"), b""),
        Err(AtomicError::NoName { .. })
    ));
}

#[test]
fn an_empty_and_a_large_file_arrive_whole() {
    let folder = tempfile::tempdir().unwrap();
    let large = vec![7; PIECE * 2 + 1];
    write_new(&folder.path().join("empty"), b"").unwrap();
    write_new(&folder.path().join("large"), &large).unwrap();
    assert_eq!(fs::read(folder.path().join("empty")).unwrap(), b"");
    assert_eq!(fs::read(folder.path().join("large")).unwrap(), large);
}

#[cfg(unix)]
#[test]
fn a_dangling_link_in_the_place_counts_as_taken() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("record-1.json");
    std::os::unix::fs::symlink("/nowhere/else", &path).unwrap();
    assert!(matches!(
        write_new(&path, b"x"),
        Err(AtomicError::Exists { .. })
    ));
}

#[cfg(unix)]
#[test]
fn a_secret_is_readable_by_its_owner_alone_from_the_start() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("key");
    let secret = NewFile {
        path: &path,
        bytes: b"s",
        existing: Existing::Refuse,
        access: Access::OwnerOnly,
    };
    let mut modes = Vec::new();
    write_group(&[secret], &mut |step, _| {
        if step == Step::Write {
            for left in leftovers(folder.path()).unwrap() {
                modes.push(fs::metadata(left).unwrap().permissions().mode() & 0o777);
            }
        }
        Ok(())
    })
    .unwrap();
    assert_eq!(modes, [0o600]);
    assert_eq!(
        fs::metadata(&path).unwrap().permissions().mode() & 0o777,
        0o600
    );
}
