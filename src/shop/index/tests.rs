use super::*;

fn entry(job: &str, vin: &str, summary: &str) -> Entry {
    Entry {
        job: job.into(),
        vin: vin.into(),
        registration: format!("HW {vin}"),
        stamp: stamp(1),
        summary: summary.into(),
    }
}

const fn stamp(changed_ns: i64) -> Stamp {
    Stamp {
        length: 3,
        modified_ns: 1,
        changed_ns,
    }
}

fn on_disk(jobs: &[(&str, i64)]) -> Vec<(String, Option<Stamp>)> {
    jobs.iter()
        .map(|(job, changed)| ((*job).to_owned(), Some(stamp(*changed))))
        .collect()
}

#[test]
fn entries_are_replaced_by_job_and_gone_with_another_basis() {
    let folder = tempfile::tempdir().unwrap();
    let path = Index::path(folder.path());
    let mut index = Index::open(&path, "one").unwrap();
    index
        .put(&[entry("A", "V", "1"), entry("B", "V", "2")])
        .unwrap();
    index.put(&[entry("A", "V", "3")]).unwrap();
    drop(index);
    let index = Index::open(&path, "one").unwrap();
    assert_eq!(index.summary("A").unwrap(), "3");
    assert_eq!(index.summary("B").unwrap(), "2");
    assert!(index.summary("C").is_err());
    drop(index);
    let index = Index::open(&path, "two").unwrap();
    assert!(index.summary("A").is_err());
    assert_eq!(index.compare(&[], None).unwrap(), Compared::default());
}

#[test]
fn journals_are_fresh_stale_or_gone_whatever_stands_between() {
    let folder = tempfile::tempdir().unwrap();
    let mut index = Index::open(&Index::path(folder.path()), "one").unwrap();
    let entries = ["B", "D", "F", "H"].map(|job| entry(job, if job < "F" { "V" } else { "W" }, ""));
    index.put(&entries).unwrap();
    let jobs = on_disk(&[("A", 1), ("B", 1), ("C", 1), ("D", 2), ("H", 1), ("I", 1)]);
    let all = index.compare(&jobs, None).unwrap();
    assert_eq!(all.fresh, [1, 4]);
    assert_eq!(all.stale, [0, 2, 3, 5]);
    assert_eq!(all.gone, ["F"]);
    // Of one vehicle, by VIN or by plate as people write it; what is stale may be of any.
    for name in ["W", "w", "h-w w"] {
        let one = index.compare(&jobs, Some(name)).unwrap();
        assert_eq!((one.fresh, one.stale.len()), (vec![4], 4), "{name}");
    }
}

#[test]
fn due_rows_go_with_any_job_of_their_vehicle() {
    let folder = tempfile::tempdir().unwrap();
    let mut index = Index::open(&Index::path(folder.path()), "one").unwrap();
    index
        .put(&[
            entry("A", "V", ""),
            entry("B", "V", ""),
            entry("C", "W", ""),
        ])
        .unwrap();
    let row = |date: Option<&str>, row: &str| DueEntry {
        date: date.map(str::to_owned),
        row: row.into(),
    };
    let vehicles = |index: &Index| -> Vec<String> {
        let all = index.unsettled().unwrap();
        all.into_iter().map(|(vin, _)| vin).collect()
    };
    assert_eq!(vehicles(&index), ["V", "W"]);
    let v = (
        "V".to_owned(),
        vec![row(Some("2026-03-04"), "v1"), row(None, "v2")],
    );
    index
        .settle(&[v.clone(), ("W".to_owned(), vec![])])
        .unwrap();
    assert_eq!(vehicles(&index), Vec::<String>::new());
    assert_eq!(index.due(None).unwrap(), ["v1", "v2"]);
    assert_eq!(index.due(Some("2026-03-04")).unwrap(), ["v1"]);
    assert_eq!(index.due(Some("2026-03-03")).unwrap(), Vec::<String>::new());
    // Another job of the vehicle, a changed one, and one that is gone.
    index.put(&[entry("D", "V", "")]).unwrap();
    assert_eq!(
        (vehicles(&index), index.due(None).unwrap().len()),
        (vec!["V".into()], 0)
    );
    index.settle(std::slice::from_ref(&v)).unwrap();
    // A job that turns out to be of another vehicle is gone from the one and new at the other.
    index.put(&[entry("C", "V", "")]).unwrap();
    assert_eq!(vehicles(&index), ["V", "W"]);
    assert_eq!(index.unsettled().unwrap()[1].1, Vec::<String>::new());
    assert_eq!(index.due(None).unwrap().len(), 0);
    index.settle(&[v, ("W".to_owned(), vec![])]).unwrap();
    index.forget(["A"]).unwrap();
    assert_eq!(index.unsettled().unwrap()[0].1, ["B", "C", "D"]);
    assert_eq!(index.jobs_of("V").unwrap().len(), 3);
}

#[test]
fn a_file_that_is_no_index_is_refused_and_can_be_removed() {
    let folder = tempfile::tempdir().unwrap();
    let path = Index::path(folder.path());
    std::fs::write(
        &path,
        "not a database, but long enough to be looked at as one",
    )
    .unwrap();
    assert!(matches!(
        Index::open(&path, "one"),
        Err(IndexError::Database { .. })
    ));
    Index::remove(&path).unwrap();
    Index::remove(&path).unwrap();
    assert!(!path.exists());
}

#[test]
fn a_file_changed_just_now_is_not_settled() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("journal");
    std::fs::write(&file, "x").unwrap();
    let stamp = Stamp::of(&std::fs::metadata(&file).unwrap()).unwrap();
    assert!(!stamp.settled(SystemTime::now()));
    assert!(stamp.settled(SystemTime::now() + Duration::from_secs(10)));
}
