//! Practice: whoever measures well is right on every invented corner, every slip of technique is
//! named, and nothing of it can be signed.

#![allow(clippy::unwrap_used, clippy::panic)] // helpers of tests stand outside test functions

mod common;

use brakecorner::job::Item;
use brakecorner::judge::ItemVerdict;
use brakecorner::units::Length;
use brakecorner::walk::practice::{
    FASTENERS, POINTS, Report, Rules, Scene, Session, Slip, Taken, Trap,
};
use common::Yard;

/// What a trainee does differently from one who measures well.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
enum Habit {
    /// Nothing: sees every trap and answers it.
    #[default]
    Good,
    /// Types what the gauge shows and never looks twice.
    Trusting,
    /// Begins the second ring so many points late.
    Late(usize),
    /// Turns the wrong way in the second ring.
    Backwards,
    /// Takes the stud's number for the clocking.
    StudNumber,
    /// Types one value of the thickness ring without looking.
    Blind,
    /// Slips a digit in the third thickness.
    Misreads,
}

fn um(value: i64) -> Length {
    Length::from_nm(value * 1_000)
}

/// The value the gauge shows for a line.
fn shown(session: &mut Session, line: &str) -> String {
    let said = session.answer(line);
    let line = said.lines.first().unwrap();
    line.rsplit_once(": ")
        .unwrap_or_else(|| panic!("no value in {line:?}"))
        .1
        .to_owned()
}

fn stud(point: usize) -> String {
    let half = if point % 2 == 1 { ".5" } else { "" };
    format!("at {}{half}", point / 2 + 1)
}

/// The verdicts the printed limits give the true values.
fn verdict(scene: &Scene, item: &str) -> &'static str {
    let truth = &scene.truth;
    let least = *truth.thickness.iter().min().unwrap();
    let range = |ring: &[Length]| *ring.iter().max().unwrap() - *ring.iter().min().unwrap();
    let pick = |fail: bool, advise: bool| match (fail, advise) {
        (true, _) => "3",
        (_, true) => "2",
        _ => "1",
    };
    match item {
        "disc thickness" => pick(least < um(22_000), least < um(22_300)),
        "disc thickness variation" => pick(
            range(&truth.thickness) > um(20),
            range(&truth.thickness) > um(10),
        ),
        "disc run-out at the wheel" => pick(scene.wheel(0).tir > um(80), false),
        "pad friction thickness" => {
            let least = *truth.pads.iter().min().unwrap();
            pick(least < um(2_000), least <= um(3_000))
        }
        other => panic!("no verdict for {other:?}"),
    }
}

/// Plays a whole practice.
fn play(seed: u64, traps: &[Trap], habit: Habit) -> (Session, Report) {
    let scene = Scene::new(seed, traps);
    let mut session = Session::new(scene.clone(), Rules::new().unwrap());
    let mut begun_again = false;
    for _ in 0..400 {
        if session.done() {
            break;
        }
        let (lines, ask) = session.prompt();
        if ask.starts_with("which clocking") {
            let true_one = scene.truth.clocking;
            let k = match (habit, scene.helper_says) {
                (Habit::Trusting, Some(says)) => says,
                (Habit::StudNumber, _) => true_one + 1,
                _ => true_one,
            };
            session.answer(&k.to_string());
        } else if ask.starts_with("how far in") {
            session.answer(if habit == Habit::Trusting { "" } else { "12" });
            if habit != Habit::Trusting {
                session.answer("rock");
            }
        } else if ask.starts_with("1 PASS") {
            let item = lines[0].rsplit_once("· ").unwrap().1;
            session.answer(verdict(&scene, item));
        } else if ask.starts_with("1 hub") {
            let hub = scene.truth.hub.tir > scene.truth.disc.tir;
            session.answer(if hub { "1" } else { "2" });
        } else {
            let second = session.complete(Taken::Ring1) && !session.complete(Taken::Ring2);
            let at = session.given(Taken::Ring2).len();
            let thick = session.given(Taken::Thickness).len();
            let thickness = session.complete(Taken::Ring2) && !session.complete(Taken::Thickness);
            let value = match habit {
                Habit::Late(by) if second => shown(&mut session, &stud((at + by) % POINTS)),
                Habit::Backwards if second => {
                    shown(&mut session, &stud((2 * POINTS - at) % POINTS))
                }
                Habit::Blind if thickness && thick == 4 => "22.500".to_owned(),
                Habit::Misreads if thickness && thick == 2 => {
                    let right = shown(&mut session, "");
                    format!("{:.3}", right.parse::<f64>().unwrap() + 0.01)
                }
                _ => shown(&mut session, ""),
            };
            let returned = ask.contains("back at stud 1");
            let off = value.parse::<f64>().unwrap().abs() > 0.005;
            if returned && off && habit == Habit::Good && !begun_again {
                begun_again = true;
                session.answer("redo");
            } else {
                session.answer(&value);
            }
        }
    }
    assert!(session.done(), "{seed}: {:?}", session.prompt());
    let report = Report::of(&session);
    (session, report)
}

#[test]
fn whoever_measures_well_is_right_on_every_corner_with_and_without_traps() {
    for seed in 0..150 {
        for traps in [&[][..], &Trap::ALL] {
            let (_, report) = play(seed, traps, Habit::Good);
            assert!(report.good(), "{seed} {traps:?}: {report:#?}");
            assert_eq!(report.verdicts.len(), 4);
            // zero, float, run-out, thinnest, variation, pad, hub, disc
            assert_eq!(report.values.len(), 8);
        }
    }
}

/// Whether a slip is of this kind.
fn is(trap: Trap, slip: &Slip) -> bool {
    matches!(
        (trap, slip),
        (Trap::Return, Slip::ReturnError { ring: 1, .. })
            | (Trap::Scatter, Slip::OneSided { .. })
            | (Trap::Lip, Slip::Lip { .. })
            | (Trap::Clocking, Slip::WrongClocking { .. })
    )
}

#[test]
fn whoever_trusts_the_gauge_hears_exactly_which_trap_it_was() {
    for seed in 0..150 {
        for trap in Trap::ALL {
            let (_, report) = play(seed, &[trap], Habit::Trusting);
            assert_eq!(report.slips.len(), 1, "{seed} {trap}: {:?}", report.slips);
            assert!(
                is(trap, &report.slips[0]),
                "{seed} {trap}: {:?}",
                report.slips
            );
            assert!(!report.good());
        }
    }
}

#[test]
fn every_trap_at_once_is_named_but_for_the_scatter_the_lip_hides() {
    for seed in 0..50 {
        let (_, report) = play(seed, &Trap::ALL, Habit::Trusting);
        for trap in [Trap::Return, Trap::Lip, Trap::Clocking] {
            assert!(
                report.slips.iter().any(|slip| is(trap, slip)),
                "{seed}: {:?}",
                report.slips
            );
        }
    }
}

#[test]
fn a_helper_who_counts_backwards_is_told_from_a_stud_number_taken_for_a_clocking() {
    let mut backwards = 0;
    for seed in 0..40 {
        let (session, report) = play(seed, &[Trap::Clocking], Habit::Trusting);
        let stood = session.scene().truth.clocking;
        let said = FASTENERS - stood;
        assert_eq!(report.slips, [Slip::WrongClocking { said, stood }]);
        assert!(
            report.slips[0].words().contains("against the order"),
            "{:?}",
            report.slips
        );
        backwards += 1;
        if stood + 1 < FASTENERS {
            let (_, report) = play(seed, &[], Habit::StudNumber);
            let said = stood + 1;
            assert_eq!(report.slips, [Slip::WrongClocking { said, stood }]);
        }
    }
    assert_eq!(backwards, 40);
}

#[test]
fn a_ring_begun_at_another_stud_or_run_backwards_is_named() {
    let mut of = 0;
    for seed in 0..60 {
        let scene = Scene::new(seed, &[]);
        let wheel = scene.wheel(scene.truth.clocking);
        // A small run-out fits turned as well as straight, and one that is highest near a point of
        // its mirror fits backwards as well as turned.
        let mirror = wheel.high_spot.degrees() % 18.0;
        if wheel.tir < um(40) || !(4.0..14.0).contains(&mirror) {
            continue;
        }
        of += 1;
        let (_, report) = play(seed, &[], Habit::Late(2));
        assert_eq!(
            report.slips,
            [Slip::WrongStud { ring: 2, late: 2 }],
            "{seed}"
        );
        let (_, report) = play(seed, &[], Habit::Backwards);
        assert_eq!(report.slips, [Slip::Backwards { ring: 2 }], "{seed}");
    }
    assert!(of > 15, "{of}");
}

#[test]
fn a_value_nobody_looked_at_and_a_slipped_digit_are_named() {
    for seed in 0..40 {
        let (_, report) = play(seed, &[], Habit::Blind);
        let blind = Slip::NotLooked {
            set: Taken::Thickness,
            points: 1,
        };
        assert!(report.slips.contains(&blind), "{seed}: {:?}", report.slips);
        let (_, report) = play(seed, &[], Habit::Misreads);
        assert!(
            report.slips.iter().any(|slip| matches!(
                slip,
                Slip::Misread {
                    set: Taken::Thickness,
                    point: 3,
                    ..
                }
            )),
            "{seed}: {:?}",
            report.slips
        );
    }
}

#[test]
fn all_three_verdicts_come_up_for_thickness() {
    let mut seen = [false; 3];
    for seed in 0..40 {
        let (_, report) = play(seed, &[], Habit::Good);
        let judged = report
            .verdicts
            .iter()
            .find(|v| v.item == Item::DiscThickness)
            .unwrap();
        match judged.right.unwrap() {
            ItemVerdict::Pass => seen[0] = true,
            ItemVerdict::Advise => seen[1] = true,
            ItemVerdict::Fail => seen[2] = true,
            other => panic!("{other}"),
        }
    }
    assert_eq!(seen, [true; 3]);
}

/// The lines a good trainee types for a corner; the same number shows the same values.
fn typed(seed: u64) -> String {
    let scene = Scene::new(seed, &[]);
    let mut session = Session::new(scene.clone(), Rules::new().unwrap());
    let mut lines = String::new();
    while !session.done() {
        let (heading, ask) = session.prompt();
        let line = if ask.starts_with("which clocking") {
            scene.truth.clocking.to_string()
        } else if ask.starts_with("how far in") {
            "12".to_owned()
        } else if ask.starts_with("1 PASS") {
            verdict(&scene, heading[0].rsplit_once("· ").unwrap().1).to_owned()
        } else if ask.starts_with("1 hub") {
            let hub = scene.truth.hub.tir > scene.truth.disc.tir;
            if hub { "1".to_owned() } else { "2".to_owned() }
        } else {
            lines.push('\n');
            shown(&mut session, "")
        };
        session.answer(&line);
        lines.push_str(&line);
        lines.push('\n');
    }
    lines
}

#[test]
fn a_practice_through_a_pipe_fits_a_terminal_and_is_kept_apart() {
    let yard = Yard::with_job();
    let said = yard
        .typed(&["practice", "--seed", "7", "--plain"], &typed(7))
        .ends(0);
    assert!(
        said.out.contains("no slip, every verdict right"),
        "{}",
        said.out
    );
    for line in said.out.lines() {
        assert!(line.is_ascii(), "{line:?}");
        let file = line.starts_with("kept in");
        assert!(file || line.len() < 80, "{} columns: {line:?}", line.len());
    }
    let files: Vec<_> = std::fs::read_dir(yard.path("practice")).unwrap().collect();
    assert_eq!(files.len(), 1);
    let text = std::fs::read_to_string(files[0].as_ref().unwrap().path()).unwrap();
    let value: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!(value["format"], "brakecorner-practice");
    assert_eq!(
        (&value["good"], &value["complete"]),
        (&true.into(), &true.into())
    );
    // It is no job.
    assert!(!yard.run(&["job", "list"]).ends(0).out.contains("practice"));
}

#[test]
fn a_practice_works_without_a_workshop_and_stops_when_asked() {
    let yard = Yard::empty();
    let said = yard
        .typed(&["practice", "--seed", "3", "--json"], "\n0.001\nquit\n")
        .ends(0);
    let value = said.json();
    assert_eq!(value["complete"], false);
    assert_eq!(value["seed"], 3);
    assert!(
        said.err.contains("the gauge at the closed anvils"),
        "{}",
        said.err
    );
    assert!(yard.root().join("practice").is_dir());
}

#[test]
fn a_practice_can_never_be_signed_or_verified() {
    let yard = Yard::with_job();
    yard.typed(&["practice", "--seed", "7"], &typed(7)).ends(0);
    let file = std::fs::read_dir(yard.path("practice"))
        .unwrap()
        .next()
        .unwrap()
        .unwrap();
    let name = file.file_name().into_string().unwrap();
    let below = format!("shop/practice/{name}");
    // By its path or by its name alone.
    for named in [below.as_str(), name.as_str()] {
        for command in ["sign", "verify"] {
            let said = yard.run(&[command, named]).ends(2);
            assert!(
                said.err.contains("a practice on an invented corner"),
                "{command} {named}: {}",
                said.err
            );
        }
    }
    // Not even when it is put where a journal or a record lies.
    let text = std::fs::read(file.path()).unwrap();
    let folder = yard.path("jobs/P-1");
    std::fs::create_dir(&folder).unwrap();
    std::fs::write(folder.join("journal.jsonl"), &text).unwrap();
    let said = yard.run(&["sign", "P-1"]).ends(2);
    assert!(said.err.contains("journal"), "{}", said.err);
    std::fs::write(folder.join("record-1.json"), &text).unwrap();
    let said = yard.run(&["verify", "P-1"]).ends(1);
    assert!(
        said.out.contains("this is no brakecorner-record"),
        "{}",
        said.out
    );
}
