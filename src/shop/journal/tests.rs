use super::*;
use crate::job::{Item, Observation, Phase};

fn look(item: Item) -> Event {
    Event::Seen {
        place: "FL".parse().unwrap(),
        item,
        phase: Phase::AsFound,
        observation: Observation::Sound,
    }
}

fn at() -> DateTime<FixedOffset> {
    "2026-03-02T08:41:20+00:00".parse().unwrap()
}

/// A disk that fails the n-th operation, after writing `partial` bytes if it is a write.
struct Failing {
    bytes: Vec<u8>,
    operations: usize,
    fail_at: usize,
    partial: usize,
}

impl Failing {
    fn step(&mut self) -> io::Result<()> {
        self.operations += 1;
        if self.operations >= self.fail_at {
            return Err(io::Error::from(io::ErrorKind::StorageFull));
        }
        Ok(())
    }
}

impl Medium for Failing {
    fn read_from(&mut self, offset: u64) -> io::Result<Vec<u8>> {
        Ok(self.bytes[usize::try_from(offset).unwrap()..].to_vec())
    }
    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        if let Err(error) = self.step() {
            self.bytes
                .extend_from_slice(&bytes[..self.partial.min(bytes.len())]);
            return Err(error);
        }
        self.bytes.extend_from_slice(bytes);
        Ok(())
    }
    fn sync(&mut self) -> io::Result<()> {
        self.step()
    }
    fn truncate(&mut self, len: u64) -> io::Result<()> {
        self.step()?;
        self.bytes.truncate(usize::try_from(len).unwrap());
        Ok(())
    }
    fn lock(&mut self) -> io::Result<()> {
        Ok(())
    }
    fn unlock(&mut self) {}
}

#[test]
fn a_disk_that_fills_up_at_any_write_keeps_every_confirmed_entry() {
    let items = [Item::Hose, Item::Pipe, Item::Springs, Item::Piston];
    for fail_at in 1..=9 {
        for partial in [0, 1, 40, 1000] {
            let medium = Failing {
                bytes: Vec::new(),
                operations: 0,
                fail_at,
                partial,
            };
            let (mut journal, _) = Journal::with_medium(medium, Path::new("j")).unwrap();
            let mut confirmed = 0;
            for item in items {
                match journal.append(at(), "Ilse Varga", &[look(item)]) {
                    Ok(_) => confirmed += 1,
                    Err(JournalError::NotWritten {
                        confirmed: said, ..
                    }) => {
                        assert_eq!(said, confirmed as u64);
                        break;
                    }
                    Err(other) => panic!("{other}"),
                }
            }
            let after = journal.append(at(), "Ilse Varga", &[look(Item::Hose)]);
            if confirmed < items.len() {
                assert!(matches!(after, Err(JournalError::Closed { .. })));
            }
            let contents = journal::read(&journal.medium.bytes);
            assert_eq!(contents.damage, None, "fail at {fail_at}");
            assert!(contents.entries.len() >= confirmed, "fail at {fail_at}");
        }
    }
}

/// A disk that fails once, or a few times in a row, and takes everything again after that.
struct Filling {
    inner: Failing,
    failures: usize,
}

impl Filling {
    fn over(&mut self) {
        if self.inner.operations + 1 >= self.inner.fail_at.saturating_add(self.failures) {
            self.inner.fail_at = usize::MAX;
        }
    }
}

impl Medium for Filling {
    fn read_from(&mut self, offset: u64) -> io::Result<Vec<u8>> {
        self.inner.read_from(offset)
    }
    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.over();
        self.inner.append(bytes)
    }
    fn sync(&mut self) -> io::Result<()> {
        self.over();
        self.inner.sync()
    }
    fn truncate(&mut self, len: u64) -> io::Result<()> {
        self.over();
        self.inner.truncate(len)
    }
    fn lock(&mut self) -> io::Result<()> {
        Ok(())
    }
    fn unlock(&mut self) {}
}

#[test]
fn an_append_tried_again_after_any_failure_is_there_once_and_in_order() {
    let items = [Item::Hose, Item::Pipe, Item::Springs, Item::Piston];
    let mut mended = 0;
    for fail_at in 1..=9 {
        for failures in 1..=5 {
            for partial in [0, 1, 40, 1000] {
                let inner = Failing {
                    bytes: Vec::new(),
                    operations: 0,
                    fail_at,
                    partial,
                };
                let medium = Filling { inner, failures };
                let (mut journal, _) = Journal::with_medium(medium, Path::new("j")).unwrap();
                for item in items {
                    let mut tries = 0;
                    while journal.append(at(), "Ilse Varga", &[look(item)]).is_err() {
                        tries += 1;
                        assert!(tries < 20, "fail at {fail_at}, {failures} times");
                        match journal.mend() {
                            Ok(0) => mended += 1,
                            Ok(_) => panic!("nobody else wrote"),
                            Err(JournalError::Io { .. }) => {}
                            Err(other) => panic!("{other}"),
                        }
                    }
                }
                let contents = journal::read(&journal.medium.inner.bytes);
                assert_eq!((contents.damage, contents.torn), (None, None));
                let there: Vec<_> = contents.entries.into_iter().map(|e| e.event).collect();
                assert_eq!(
                    there,
                    items.map(|item| Some(look(item))),
                    "{fail_at} {failures}"
                );
            }
        }
    }
    assert!(mended > 100, "{mended}");
}

#[test]
fn a_failed_append_that_others_have_built_upon_is_not_written_again() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("journal.jsonl");
    let mut one = Journal::create(&path).unwrap();
    let (mut two, _) = Journal::open(&path).unwrap();
    // The flush failed and the cut too: the line stands there whole, unknown to its writer.
    one.append(at(), "Ilse Varga", &[look(Item::Hose)]).unwrap();
    let bytes = std::fs::read(&path).unwrap();
    two.closed = true;
    two.failed.clone_from(&bytes);
    one.append(at(), "Tam Okoro", &[look(Item::Pipe)]).unwrap();
    assert_eq!(two.mend().unwrap(), 1);
    assert_eq!(two.read_news().unwrap().entries.len(), 2);
    // Nobody built upon it: it is cut off, to be written anew.
    let (mut three, _) = Journal::open(&path).unwrap();
    three.good_len = bytes.len() as u64;
    three.closed = true;
    three.failed = std::fs::read(&path).unwrap().split_off(bytes.len());
    assert_eq!(three.mend().unwrap(), 0);
    assert_eq!(std::fs::read(&path).unwrap(), bytes);
}

#[test]
fn of_a_half_written_append_only_what_others_did_not_build_upon_is_written_again() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("journal.jsonl");
    let mut one = Journal::create(&path).unwrap();
    let (mut two, _) = Journal::open(&path).unwrap();
    let ours = [look(Item::Hose), look(Item::Springs)];
    one.append(at(), "Ilse Varga", &ours).unwrap();
    let bytes = std::fs::read(&path).unwrap();
    // The disk was full in the middle of the second line, and the cut failed too.
    std::fs::write(&path, &bytes[..bytes.len() - 9]).unwrap();
    two.closed = true;
    two.failed = bytes;
    let (mut other, _) = Journal::open(&path).unwrap();
    other
        .append(at(), "Tam Okoro", &[look(Item::Pipe)])
        .unwrap();
    let standing = two.mend().unwrap();
    assert_eq!(standing, 1);
    two.append(at(), "Ilse Varga", &ours[standing..]).unwrap();
    let items: Vec<_> = Journal::peek(&path)
        .unwrap()
        .entries
        .into_iter()
        .map(|e| e.event.unwrap())
        .collect();
    let wanted = [Item::Hose, Item::Pipe, Item::Springs].map(look);
    assert_eq!(items, wanted);
}

#[test]
fn a_torn_line_is_set_aside_and_the_journal_goes_on() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("journal.jsonl");
    let mut first = Journal::create(&path).unwrap();
    first
        .append(at(), "Ilse Varga", &[look(Item::Hose)])
        .unwrap();
    let whole = std::fs::read(&path).unwrap();
    for cut in 1..whole.len() - 1 {
        let mut bytes = whole.clone();
        bytes.extend_from_slice(&whole[..cut]);
        std::fs::write(&path, &bytes).unwrap();
        let (mut journal, opened) = Journal::open(&path).unwrap();
        assert_eq!(opened.torn.unwrap().bytes, cut);
        journal
            .append(at(), "Tam Okoro", &[look(Item::Pipe)])
            .unwrap();
        assert_eq!(Journal::peek(&path).unwrap().entries.len(), 2, "cut {cut}");
    }
    let aside = std::fs::read(path.with_extension("torn")).unwrap();
    assert!(aside.starts_with(b"{\n{\"\n{\"v\n"));
}

#[test]
fn a_last_line_that_lost_only_its_line_feed_is_kept() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("journal.jsonl");
    let mut first = Journal::create(&path).unwrap();
    first
        .append(at(), "Ilse Varga", &[look(Item::Hose)])
        .unwrap();
    let whole = std::fs::read(&path).unwrap();
    std::fs::write(&path, &whole[..whole.len() - 1]).unwrap();
    let (mut journal, opened) = Journal::open(&path).unwrap();
    assert_eq!(opened.entries.len(), 1);
    journal
        .append(at(), "Ilse Varga", &[look(Item::Pipe)])
        .unwrap();
    journal
        .append(at(), "Ilse Varga", &[look(Item::Piston)])
        .unwrap();
    assert_eq!(Journal::peek(&path).unwrap().entries.len(), 3);
}

#[test]
fn a_writer_sees_what_another_appended_meanwhile() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("journal.jsonl");
    let mut one = Journal::create(&path).unwrap();
    let (mut two, _) = Journal::open(&path).unwrap();
    one.append(at(), "Ilse Varga", &[look(Item::Hose)]).unwrap();
    let news = two.append(at(), "Tam Okoro", &[look(Item::Pipe)]).unwrap();
    assert_eq!(
        news.iter().map(|e| e.meta.by.as_str()).collect::<Vec<_>>(),
        ["Ilse Varga", "Tam Okoro"]
    );
    assert_eq!(news[1].meta.seq, 2);
}
