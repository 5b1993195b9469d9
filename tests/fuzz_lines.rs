//! Random lines at the walk's prompts and random bytes in a journal: nothing panics, no reading is
//! taken for a command, and the journal that comes of it is whole.

#![allow(clippy::unwrap_used, clippy::panic)] // helpers of tests stand outside test functions

use brakecorner::job::journal::{self, GENESIS, encode};
use brakecorner::job::{Depth, Event, Job, Meta, Opening, Register, Source, Symptom};
use brakecorner::judge::{Case, judge};
use brakecorner::record::freeze::{Snapshot, Snapshots, Specs};
use brakecorner::spec::{builtin_policies, builtin_schedules, builtin_sheets};
use brakecorner::units::{Distance, DistanceUnit};
use brakecorner::walk::practice::{Dice, Rules, Scene, Session, Trap};
use brakecorner::walk::{Answer, Line, Walk, read_line};
use proptest::prelude::*;

/// Text a gauge, a finger or a fault may send, as a number.
const NUMBER: &str = "[-+\u{2212}]?([0-9]{1,6}([.,][0-9]{0,6})?|[.,][0-9]{1,4})";

proptest! {
    #![proptest_config(ProptestConfig { cases: 3_000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_line_panics(line in any::<String>()) {
        let _ = read_line(&line);
    }

    #[test]
    fn no_bytes_of_a_gauge_panic(bytes in proptest::collection::vec(any::<u8>(), 0..200)) {
        let _ = read_line(&String::from_utf8_lossy(&bytes));
    }

    #[test]
    fn no_reading_is_taken_for_a_command(
        readings in proptest::collection::vec(NUMBER, 1..12),
        unit in "( ?(mm|in|µm|\"|°C))?",
        blank in "( |  |\t)",
        end in "(|\r|\n|\r\n| )",
    ) {
        let line = format!("{}{end}", readings
            .iter()
            .map(|reading| format!("{reading}{unit}"))
            .collect::<Vec<_>>()
            .join(&blank));
        match read_line(&line) {
            // Every digit that was sent is in the values, in the order it was sent.
            Line::Values(values) => {
                let digits = |text: &str| text.chars().filter(char::is_ascii_digit).collect::<String>();
                prop_assert_eq!(digits(&values.concat()), digits(&line));
            }
            other => prop_assert!(false, "{:?} → {:?}", line, other),
        }
    }

    #[test]
    fn a_line_that_begins_with_a_digit_is_never_a_command(rest in any::<String>(), digit in 0u8..10) {
        let line = format!("{digit}{rest}");
        let read = read_line(&line);
        prop_assert!(
            !matches!(read, Line::Command(_) | Line::NotInspected(_) | Line::Empty),
            "{:?} → {:?}", line, read
        );
    }

    #[test]
    fn the_journal_reader_takes_any_bytes(bytes in proptest::collection::vec(any::<u8>(), 0..2_000)) {
        let contents = journal::read(&bytes);
        prop_assert!(contents.good_len <= bytes.len());
        let _ = contents.fold();
    }

    #[test]
    fn the_journal_reader_takes_any_text_that_looks_like_a_journal(
        lines in proptest::collection::vec(
            "\\{\"v\":[0-9]{1,3},\"seq\":[0-9]{1,20},\"at\":\"[0-9T:+-]{0,25}\",\"by\":\".{0,5}\",\"prev\":\"[0-9a-f]{0,64}\",\"event\":\\{.{0,20}\\},\"sum\":\"[0-9a-f]{0,64}\"\\}\n",
            0..4,
        ),
    ) {
        let contents = journal::read(lines.concat().as_bytes());
        // A line whose digests are invented is never an entry.
        prop_assert!(contents.entries.is_empty());
    }
}

/// A vehicle, its limits and some instruments, all from the program itself.
struct Bench {
    specs: Specs,
    register: Register,
    opening: Opening,
}

fn snapshot(files: &[(&str, &str)], file: &str) -> Snapshot {
    let (file, text) = files.iter().find(|(name, _)| *name == file).unwrap();
    Snapshot::of(file, text)
}

impl Bench {
    fn new(sheet: &str, depth: Depth) -> Self {
        let specs = Snapshots {
            sheet: snapshot(builtin_sheets(), &format!("{sheet}.toml")),
            rules: Vec::new(),
            policy: snapshot(builtin_policies(), "default.toml"),
            schedule: snapshot(builtin_schedules(), "routine.toml"),
        }
        .read()
        .unwrap();
        let register = Register::parse(
            r#"
            [[instrument]]
            id = "M1"
            kind = "micrometer"
            unit = "mm"
            range = "0-25"
            resolution = "0.001"
            error = "0.004"
            calibrated_until = "2099-12-31"
            [[instrument]]
            id = "M2"
            kind = "micrometer"
            unit = "in"
            range = "1-2"
            resolution = "0.0001"
            error = "0.004 mm"
            calibrated_until = "2099-12-31"
            [[instrument]]
            id = "D1"
            kind = "dial_indicator"
            unit = "mm"
            range = "0-10"
            resolution = "0.001"
            turn = "0.1 mm"
            [[instrument]]
            id = "P1"
            kind = "pad_gauge"
            unit = "mm"
            [[instrument]]
            id = "G1"
            kind = "drum_gauge"
            unit = "mm"
            [[instrument]]
            id = "T1"
            kind = "torque_wrench"
            unit = "N·m"
            range = "40-200"
            calibrated_until = "2099-12-31"
            [[instrument]]
            id = "F1"
            kind = "fluid_tester"
            unit = "°C"
            "#,
        )
        .unwrap();
        let opening = Opening {
            job: "F-1".into(),
            registration: String::new(),
            vin: String::new(),
            odometer: Distance::from_whole_km(84_120),
            odometer_unit: DistanceUnit::Kilometre,
            complaint: String::new(),
            symptoms: vec![Symptom::Judder],
            from_words: Vec::new(),
            depth,
            schedule: "routine".into(),
            sheet: sheet.into(),
            rules: Vec::new(),
            policy: "default".into(),
            class: String::new(),
            first_used: None,
            build: Default::default(),
            quote: String::new(),
        };
        Self {
            specs,
            register,
            opening,
        }
    }

    fn case<'a>(&'a self, job: &'a Job) -> Case<'a> {
        self.specs.case(job, &self.register)
    }
}

/// A journal in memory: the bytes, and the job they fold to.
struct Memory {
    job: Job,
    bytes: Vec<u8>,
    head: String,
}

impl Memory {
    fn new(opening: &Opening) -> Self {
        let mut memory = Self {
            job: Job::default(),
            bytes: Vec::new(),
            head: GENESIS.to_owned(),
        };
        memory.append(&Event::Opened(Box::new(opening.clone())));
        memory
    }

    fn append(&mut self, event: &Event) {
        let meta = Meta {
            seq: self.job.last_seq + 1,
            at: "2026-03-02T08:40:00+00:00".parse().unwrap(),
            by: "Ilse Varga".into(),
        };
        let (line, digest) = encode(&meta, &self.head, event).unwrap();
        self.bytes.extend_from_slice(line.as_bytes());
        self.bytes.push(b'\n');
        self.head = digest;
        self.job.apply(&meta, event);
    }

    /// What was written reads back whole, and folds to the same judgement.
    fn check(&self, bench: &Bench) {
        let contents = journal::read(&self.bytes);
        assert_eq!(contents.damage, None);
        assert_eq!(contents.torn, None);
        assert_eq!(contents.entries.len() as u64, self.job.last_seq);
        assert!(contents.entries.iter().all(|entry| entry.event.is_some()));
        let folded = contents.fold();
        assert_eq!(judge(&bench.case(&folded)), judge(&bench.case(&self.job)));
    }
}

/// A line somebody may type: mostly sensible, sometimes not.
fn line(dice: &mut Dice, step: usize) -> String {
    const WORDS: &[&str] = &[
        "retake 3",
        "retake",
        "second",
        "photo",
        "photo x.jpg",
        "who",
        "who Tom Reed",
        "sweep",
        "past",
        "dropped",
        "dropped M1",
        "dropped nothing",
        "24.30824.309",
        "98 div",
        "éé;''ç",
        "&à?àà'",
        "undo",
        "redo ring",
        "redo",
        "skip",
        "skip no light",
        "note all well",
        "note",
        "go FR",
        "go RL",
        "go XX",
        "show",
        "why",
        "help",
        "use M1",
        "use M2",
        "use nothing",
        "yes",
        "no",
        "no not yet",
        "- shield in the way",
        "-",
        "cast 23.0",
        "cast",
        "cast x",
        "u",
        "s",
        "Q!",
        "fitted rear pads 4711",
        "fitted RL disc",
        "fitted",
        "fitted rear banana",
        "back",
        "",
        "/",
        "6.1 / 6.3",
        "6.1/6.3",
        "1 6",
        "0 a remark",
        "2",
        "\u{1b}[A",
        "\0",
        "ß→½",
        "+3.5 div",
        "as-left",
        "24.308 24.309 24.308 24.306",
        "0.957in",
        "22,01",
        "99999999999999999999",
        "1e308",
        "NaN",
        "inf",
        "--",
        "+",
        "-.",
        "2026-03-02",
    ];
    let pick = |dice: &mut Dice, n: usize| {
        usize::try_from(dice.between(0, i64::try_from(n).unwrap() - 1)).unwrap()
    };
    match dice.between(0, 9) {
        0..=2 => WORDS[pick(dice, WORDS.len())].to_owned(),
        3 => "0".to_owned(),
        4 => "1".to_owned(),
        5 => dice.between(0, 6).to_string(),
        6 => format!("{:.3}", 20.0 + 5.0 * dice.fraction()),
        7 => format!("{:.3}", 0.1 * dice.normal()),
        8 => format!(
            "{:.1} {:.1}",
            12.0 * dice.fraction(),
            12.0 * dice.fraction()
        ),
        _ => {
            let len = dice.between(0, 12);
            let seed = u32::try_from(step % 7).unwrap();
            (0..len)
                .filter_map(|_| {
                    char::from_u32(u32::try_from(dice.between(0, 0x2ff)).unwrap() + seed)
                })
                .collect()
        }
    }
}

/// Walks with random lines and gives the journal and how many lines wrote something.
fn walk(seed: u64, sheet: &str, depth: Depth, steps: usize) -> usize {
    let bench = Bench::new(sheet, depth);
    let mut memory = Memory::new(&bench.opening);
    let mut dice = Dice::new(seed);
    let mut walk = Walk::new();
    let day = "2026-03-02".parse().unwrap();
    let mut wrote = 0;
    for number in 0..steps {
        let Some(step) = walk.next(&bench.case(&memory.job)) else {
            break;
        };
        let typed = line(&mut dice, number);
        let prompt = walk.prompt(&bench.case(&memory.job), &step, day, number % 2 == 0);
        assert!(!prompt.ask.is_empty());
        let gauge = number % 5 == 0;
        let source = if gauge { Source::Gauge } else { Source::Typed };
        walk.line_from(source, gauge.then_some(100));
        let _ = walk.instrument_words(&bench.case(&memory.job), &step, day);
        let asked = walk.asks();
        let answer = walk.line(&bench.case(&memory.job), &step, &typed, day);
        match answer {
            Answer::Facts(events, _) => {
                for event in &events {
                    memory.append(event);
                    // What a reading keeps as given was in the line that was given.
                    if let Event::Reading(reading) = event
                        && !reading.confirmed
                        && !asked
                    {
                        let bare = |text: &str| text.replace(char::is_whitespace, "");
                        assert!(
                            bare(&typed).contains(&bare(&reading.entered.text)),
                            "{:?} from {typed:?}",
                            reading.entered
                        );
                    }
                }
                wrote += usize::from(!events.is_empty());
                let _ = walk.completed(&bench.case(&memory.job), &step);
            }
            Answer::Quit => {
                // The walk is left and taken up again: nothing is kept but the journal.
                walk = Walk::new();
            }
            _ => {}
        }
    }
    memory.check(&bench);
    wrote
}

#[test]
fn whole_walks_on_random_lines_leave_a_whole_journal() {
    let mut wrote = 0;
    for seed in 0..6 {
        for (sheet, depth) in [
            ("merlock-dunling", Depth::Full),
            ("aldercote-wrenfold", Depth::Full),
            ("merlock-pindle", Depth::Quick),
            ("merlock-ternway", Depth::Full),
        ] {
            wrote += walk(seed, sheet, depth, 300);
        }
    }
    // Random lines get somewhere: this is no test of refusals alone.
    assert!(wrote > 2_000, "{wrote}");
}

#[test]
fn a_practice_takes_thousands_of_random_lines() {
    let mut taken = 0;
    for seed in 0..40 {
        let mut dice = Dice::new(seed + 1_000);
        let mut session = Session::new(Scene::new(seed, &Trap::ALL), Rules::new().unwrap());
        for number in 0..200 {
            let (_, ask) = session.prompt();
            assert_eq!(ask.is_empty(), session.done());
            session.answer(&line(&mut dice, number));
        }
        taken += brakecorner::walk::practice::Taken::ALL
            .iter()
            .map(|set| session.given(*set).len())
            .sum::<usize>();
        let _ = brakecorner::walk::practice::Report::of(&session).good();
    }
    assert!(taken > 400, "{taken}");
}
