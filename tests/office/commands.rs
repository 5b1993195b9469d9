//! The machine's claim again, through the command line: whatever is typed in whatever order, a final
//! signature is only made over a job with nothing open.

use std::cell::Cell;
use std::sync::OnceLock;

use brakecorner::cli::Exit;
use brakecorner::job::{Event, journal};
use brakecorner::record::freeze::Specs;
use brakecorner::shop::folder::Workshop;
use proptest::prelude::*;
use proptest::test_runner::TestRunner;

use super::common::copy;
use super::{Desk, Scene, is, machine};

const CAR: &str = include_str!("../../demo/HWY-0423.txt");

/// The car's job at three points of its way: inspected; repaired with nobody asked; all but signed.
fn beginnings() -> &'static [Desk; 3] {
    static MADE: OnceLock<[Desk; 3]> = OnceLock::new();
    let found = |s: &Scene| {
        is(s, "job open")
            || is(s, "log") && !s.args.contains(&"--as-left".into())
            || is(s, "walk HWY-0423 --part found")
    };
    let signed = |s: &Scene| is(s, "sign HWY-0423 --by");
    MADE.get_or_init(|| {
        let made = |wanted: &dyn Fn(&Scene) -> bool| {
            let desk = Desk::yard();
            desk.play(CAR, wanted);
            desk
        };
        [
            made(&found),
            made(&|s| !signed(s) && !is(s, "quote")),
            made(&|s| !signed(s)),
        ]
    })
}

/// A command and what is typed to it.
#[derive(Clone, Debug)]
struct Typed {
    args: Vec<String>,
    lines: String,
}

fn typed(args: &str, lines: &str) -> Typed {
    Typed {
        args: args.split(' ').map(str::to_owned).collect(),
        lines: lines.to_owned(),
    }
}

/// Everything the refit asks; what does not fit its question is asked again.
fn whole_refit() -> String {
    format!(
        "{}{}{}1 4\nyes\nyes\n",
        "1\n".repeat(6),
        "yes\n1\n1\n1\n3\n5\n2\n4\n1\n".repeat(4),
        "yes\n".repeat(7)
    )
}

/// Words a technician may type at any prompt of the refit or of the walk.
const WORDS: [&str; 22] = [
    "1",
    "2",
    "3",
    "4",
    "5",
    "0",
    "yes",
    "yes",
    "no later",
    "no",
    "",
    "110.2 N·m",
    "80 N·m",
    "3=12",
    "1=2 3=4",
    "use HW-T2",
    "undo",
    "back",
    "- cannot be reached",
    "by Tam Okoro",
    "10.0 10.0 / 10.0 10.0",
    "1 4",
];

fn command() -> impl Strategy<Value = Typed> {
    let line = prop::sample::select(
        &[
            "rear.discs_pads",
            "rear.pads",
            "RR.slide_pins",
            "fluid",
            "front.pads",
        ][..],
    );
    let answer = prop::sample::select(&["yes", "no", "later", "under-ceiling"][..]);
    let words = prop::collection::vec(prop::sample::select(&WORDS[..]), 1..40);
    let parts = prop::collection::vec(
        prop::sample::select(
            &[
                "fitted rear disc",
                "fitted rear pads",
                "fitted RR calliper",
                "0",
                "10.0 10.0 / 10.0 10.0",
                "",
            ][..],
        ),
        1..8,
    );
    let fixed = prop::sample::select(
        &[
            "contact HWY-0423 --yes rear.discs_pads --yes RR.slide_pins",
            "contact HWY-0423 --no rear.discs_pads --no RR.slide_pins --caution",
            "contact HWY-0423 --no rear.discs_pads --no RR.slide_pins",
            "contact HWY-0423 --ceiling 400",
            "quote HWY-0423 --drop rear.discs_pads",
            "quote HWY-0423 --add rear.pads=96.00",
            "quote HWY-0423 --set RR.slide_pins=50.00",
            "log HWY-0423 RR slide_pins --as-left sound",
            "log HWY-0423 RR slide_pins --as-left defect seized",
            "log HWY-0423 RR pads.thickness --as-left inner=9.8,9.8 outer=9.8,9.8",
            "log HWY-0423 RR pads.thickness --as-left inner=0.7,0.7 outer=4.8,4.8",
            "sign HWY-0423 --as-found",
        ][..],
    );
    let refit = || prop::sample::select(&["refit HWY-0423", "walk HWY-0423 --part refit"][..]);
    prop_oneof![
        4 => fixed.prop_map(|args| typed(args, "")),
        3 => (line, answer, any::<bool>()).prop_map(|(line, answer, caution)| {
            let caution = if caution { " --caution" } else { "" };
            typed(&format!("contact HWY-0423 --{answer} {line}{caution}"), "")
        }),
        3 => refit().prop_map(|args| typed(args, &whole_refit())),
        2 => (refit(), words).prop_map(|(args, words)| typed(args, &words.join("\n"))),
        1 => parts.prop_map(|words| typed("walk HWY-0423 --part left", &words.join("\n"))),
        1 => Just(typed("quote HWY-0423 --call", "no\nyes\nno\nyes\nlater\nyes\n\n\n")),
        3 => Just(typed("sign HWY-0423 --incomplete why-not", "")),
    ]
}

/// The events of the job as they stand on the disk.
fn events(desk: &Desk) -> Vec<Event> {
    let bytes = std::fs::read(desk.path("jobs/HWY-0423/journal.jsonl")).unwrap();
    let contents = journal::read(&bytes);
    let entries = contents.entries.into_iter();
    entries.map(|entry| entry.event.unwrap()).collect()
}

/// Plays a sequence and signs at its end; says how often a final signature was made.
fn play(desk: &Desk, sequence: &[Typed], specs: &Specs) -> Result<u32, String> {
    let register = Workshop::open(&desk.path(""))
        .map_err(|e| e.to_string())?
        .register()
        .map_err(|e| e.to_string())?;
    let mut signatures = 0;
    let last = typed("sign HWY-0423 --incomplete why-not", "");
    for (n, command) in sequence.iter().chain([&last]).enumerate() {
        let before = events(desk);
        let args: Vec<&str> = command.args.iter().map(String::as_str).collect();
        let time = format!("2026-03-04T{:02}:{:02}:00+00:00", 16 + n / 60, n % 60);
        let said = desk.at(&time, &args, &command.lines);
        let after = events(desk);
        if !after.starts_with(&before) {
            return Err(format!("{args:?} changed what was written"));
        }
        let signing = args[0] == "sign" && !args.contains(&"--as-found");
        if signing && said.exit == Exit::NoAnswer && after.len() > before.len() {
            return Err(format!("a refused signature wrote {:?}", after.last()));
        }
        if signing && said.exit == Exit::Good {
            signatures += 1;
            let open = machine::open(&before, specs, &register);
            if !open.is_empty() {
                return Err(format!("signed, and open: {open:#?}"));
            }
        }
    }
    Ok(signatures)
}

#[test]
fn no_sequence_of_commands_signs_a_job_with_something_open() {
    let specs = machine::specs();
    let (signed, refused) = (Cell::new(0), Cell::new(0));
    let sequences = (0usize..3, prop::collection::vec(command(), 0..9));
    let mut runner = TestRunner::new(ProptestConfig {
        cases: 40,
        failure_persistence: None,
        max_shrink_iters: 40,
        ..ProptestConfig::default()
    });
    let ran = runner.run(&sequences, |(beginning, sequence)| {
        let desk = Desk {
            root: tempfile::tempdir().unwrap(),
        };
        copy(beginnings()[beginning].root.path(), desk.root.path());
        match play(&desk, &sequence, &specs) {
            Ok(0) => refused.set(refused.get() + 1),
            Ok(_) => signed.set(signed.get() + 1),
            Err(why) => return Err(TestCaseError::fail(why)),
        }
        Ok(())
    });
    assert!(ran.is_ok(), "{}", ran.unwrap_err());
    assert!(
        signed.get() >= 3 && refused.get() >= 3,
        "{signed:?} {refused:?}"
    );
}
