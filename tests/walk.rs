//! The walk as a technician drives it: from a pipe, broken off, killed, and gone on with.

#![allow(clippy::unwrap_used)] // helpers of tests stand outside test functions

#[path = "walk/answers.rs"]
mod answers;
mod common;
#[path = "walk/complaint.rs"]
mod complaint;
#[path = "walk/entered.rs"]
mod entered;
#[path = "walk/not_fitted.rs"]
mod not_fitted;
#[path = "walk/undo.rs"]
mod undo;

use std::io::{BufRead as _, BufReader, Write as _};

use common::{Yard, typed_found};

#[test]
fn a_whole_inspection_from_a_pipe_is_complete() {
    let yard = Yard::with_job();
    let said = yard
        .typed(&["walk", "T-1", "--part", "found"], &typed_found())
        .ends(0);
    assert!(said.out.contains("complete: as found"), "{}", said.out);
    assert!(
        said.out
            .contains("FL disc.thickness 6 of 10, stud 3½ → 24.306 mm"),
        "{}",
        said.out
    );
    assert!(
        said.out
            .contains("= PASS Front left: disc thickness: 24.304 mm"),
        "{}",
        said.out
    );
}

#[test]
fn the_walk_goes_on_exactly_where_it_stopped() {
    let whole = Yard::with_job();
    whole
        .typed(&["walk", "T-1", "--part", "found"], &typed_found())
        .ends(0);
    let wanted: Vec<String> = events(&whole);

    let pieces = Yard::with_job();
    let lines: Vec<String> = typed_found()
        .lines()
        .map(|line| format!("{line}\n"))
        .collect();
    for piece in lines.chunks(7) {
        pieces
            .typed(&["walk", "T-1", "--part", "found"], &piece.concat())
            .ends(0);
    }
    assert_eq!(events(&pieces), wanted);
}

/// The journal's events without who and when. Salted digests differ from job to job.
fn events(yard: &Yard) -> Vec<String> {
    let value = |line: &String| serde_json::from_str::<serde_json::Value>(line).unwrap();
    let journal = yard.journal("T-1");
    let events = journal.iter().map(|line| value(line)["event"].clone());
    events
        .filter(|event| event["kind"] != "personal")
        .map(|event| event.to_string())
        .collect()
}

#[test]
fn every_confirmed_answer_survives_a_kill() {
    for stop_after in [1, 5, 14, 20, 31] {
        let yard = Yard::with_job();
        let before = yard.journal("T-1").len();
        let mut child = yard.start(&["walk", "T-1", "--part", "found"]);
        let mut input = child.stdin.take().unwrap();
        let mut output = BufReader::new(child.stdout.take().unwrap());
        let mut confirmed = 0;
        for line in typed_found().lines() {
            writeln!(input, "{line}").unwrap();
            input.flush().unwrap();
            // The echo with its arrow comes only after the entry is on the disk.
            let mut seen = String::new();
            while !seen.contains('→') && !seen.contains("zero error") && !line.is_empty() {
                seen.clear();
                assert_ne!(
                    output.read_line(&mut seen).unwrap(),
                    0,
                    "the walk ended early"
                );
            }
            confirmed += usize::from(!line.is_empty());
            if confirmed == stop_after {
                break;
            }
        }
        child.kill().unwrap();
        child.wait().unwrap();
        let after = yard.journal("T-1").len();
        assert!(
            after - before >= confirmed,
            "{confirmed} confirmed, {} kept",
            after - before
        );
        yard.run(&["verdict", "T-1"]).ends(1);
    }
}

#[test]
fn a_slip_at_the_prompt_is_asked_about_and_both_answers_are_kept() {
    let yard = Yard::with_job();
    let said = yard.typed(
        &["walk", "T-1", "--part", "found"],
        "0.001\ngo FL\n0\n0\n0\n0\n0\n0\n0\n0\n0\n0\n0\n0\n61 / 6.3\n6.1\n",
    );
    assert!(
        said.out
            .contains("? 61.000 mm is more than the new 12.000 mm"),
        "{}",
        said.out
    );
    let journal = yard.journal("T-1").join("\n");
    assert!(
        journal.contains(r#""entry":"61""#),
        "the first entry is kept"
    );
    assert!(
        journal.contains(r#""slot":"inner 1","text":"6.1""#),
        "{journal}"
    );
    assert!(
        journal.contains(r#""slot":"outer 1","text":"6.3""#),
        "the rest of the line is kept"
    );
}

#[test]
fn undo_strikes_and_never_erases() {
    let yard = Yard::with_job();
    let before = yard.journal("T-1").len();
    let said = yard.typed(
        &["walk", "T-1", "--part", "found"],
        "0.001\n0\nundo\n1 all round\n",
    );
    assert!(
        said.out.contains("struck (still readable): FL wheel.seat"),
        "{}",
        said.out
    );
    let journal = yard.journal("T-1");
    assert_eq!(journal.len() - before, 4);
    assert!(journal.join("\n").contains(r#""kind":"struck""#));
    let verdict = yard.run(&["verdict", "T-1", "--json"]).json();
    assert_eq!(verdict["corners"]["FL"]["items"][0]["verdict"], "ADVISE");
}

#[test]
fn not_inspected_needs_a_reason_and_is_never_a_pass() {
    let yard = Yard::with_job();
    let said = yard.typed(&["walk", "T-1", "--part", "found"], "0.001\n-\n\n1\n");
    assert!(said.out.contains("never without a reason"), "{}", said.out);
    let verdict = yard.run(&["verdict", "T-1", "--json"]).json();
    let seat = &verdict["corners"]["FL"]["items"][0];
    assert_eq!(seat["verdict"], "NOT INSPECTED");
    assert_eq!(seat["reasons"][0], "not accessible without dismantling");
}

#[test]
fn a_wrench_out_of_calibration_is_refused_and_the_step_asked_again() {
    let yard = Yard::with_job();
    yard.run(&[
        "instrument",
        "add",
        "HW-T2",
        "--kind",
        "torque_wrench",
        "--unit",
        "N·m",
        "--range",
        "60-300",
        "--calibrated-until",
        "2020-12-31",
    ])
    .ends(0);
    let said = yard.typed(
        &["walk", "T-1", "--part", "refit"],
        "1\n1\nuse HW-T2\n1\n1\n",
    );
    assert!(
        said.out
            .contains("refused: the calibration of HW-T2 ended on 2020-12-31"),
        "{}",
        said.out
    );
    let journal = yard.journal("T-1").join("\n");
    assert!(journal.contains(r#""kind":"torque_refused""#));
    assert!(journal.contains(r#""proceeding":"wheel_final","fastener":1,"instrument":"HW-T1""#));
}

#[test]
fn a_final_click_is_confirmed_by_its_own_number_only() {
    let yard = Yard::with_job();
    let said = yard.typed(&["walk", "T-1", "--part", "refit"], "1\n1\n2\n\n1\n");
    assert!(
        said.out
            .contains("expected 1: confirm this step, nothing else"),
        "{}",
        said.out
    );
    assert!(
        said.out.contains("an empty line is never an answer"),
        "{}",
        said.out
    );
    assert!(
        said.out.contains("FL fastener 1 → 140 N·m (HW-T1)"),
        "{}",
        said.out
    );
}

#[test]
fn a_whole_ring_may_be_given_in_one_line() {
    let yard = Yard::with_job();
    let first: String = typed_found()
        .lines()
        .take(16)
        .map(|line| format!("{line}\n"))
        .collect();
    let ring = "0.000 0.004 0.008 0.004 -0.001 -0.012 -0.019 -0.022 -0.017 -0.011 -0.001\n";
    let said = yard.typed(&["walk", "T-1", "--part", "found"], &(first + ring));
    assert!(
        said.out
            .contains("= PASS Front left: disc run-out at the wheel: 0.030 mm"),
        "{}",
        said.out
    );
}

/// Looks of the first corner, up to its pads.
const LOOKS: &str = "0.001\n0\n0\n0\n0\n0\n0\n0\n0\n0\n0\n0\n0\n";

#[test]
fn back_answers_the_step_before_anew_and_strikes_the_old_reading() {
    let yard = Yard::with_job();
    let typed = format!("{LOOKS}6.1 / 6.3\n0\nback\nback\n6.2\n");
    let said = yard.typed(&["walk", "T-1", "--part", "found"], &typed);
    assert!(said.out.contains("back one step"), "{}", said.out);
    let journal = yard.journal("T-1").join("\n");
    assert!(journal.contains(r#""reason":"read again""#), "{}", said.out);
    let verdict = yard.run(&["verdict", "T-1", "--json"]).json();
    let pads = verdict["corners"]["FL"]["items"].as_array().unwrap();
    let pads = pads.iter().find(|f| f["item"] == "pads.thickness").unwrap();
    assert_eq!(pads["results"]["min_mm"], 6.1);
}

#[test]
fn one_point_of_a_finished_ring_can_be_taken_again() {
    let yard = Yard::with_job();
    let first: String = typed_found()
        .lines()
        .take(28)
        .map(|line| format!("{line}\n"))
        .collect();
    let ring = "24.308 24.309 24.308 24.308 24.308 24.206 24.305 24.305 24.307 24.306\n";
    let said = yard.typed(
        &["walk", "T-1", "--part", "found"],
        &format!("{first}{ring}retake 6\n24.306\n"),
    );
    assert!(said.out.contains("point 6 again"), "{}", said.out);
    let verdict = yard.run(&["verdict", "T-1", "--json"]).json().to_string();
    assert!(verdict.contains(r#""t_min_mm":24.304"#), "{}", said.out);
}

#[test]
fn several_readings_of_one_point_are_joined_by_semicolons() {
    let yard = Yard::with_job();
    let first: String = typed_found()
        .lines()
        .take(28)
        .map(|line| format!("{line}\n"))
        .collect();
    let ring = "24.308;24.309;24.307 24.309;24.308;24.310 24.308;24.308;24.308 24.308;24.307;24.309 24.308;24.308;24.308 24.306;24.306;24.306 24.305;24.304;24.306 24.305;24.305;24.305 24.307;24.307;24.307 24.306;24.306;24.306\n";
    yard.typed(
        &["walk", "T-1", "--part", "found"],
        &format!("{first}{ring}"),
    );
    let verdict = yard.run(&["verdict", "T-1", "--json"]).json().to_string();
    assert!(verdict.contains(r#""readings_per_point":3"#));
}

#[test]
fn who_holds_the_gauge_is_one_key_and_stands_on_each_entry() {
    let yard = Yard::with_job();
    let before = yard.journal("T-1").len();
    let said = yard.typed(
        &["walk", "T-1", "--part", "found", "--with", "Tam Okoro"],
        "0.001\n0\n*\n0\n*\n0\n",
    );
    assert!(
        said.out.contains("Tam Okoro holds the gauge"),
        "{}",
        said.out
    );
    let journal = yard.journal("T-1");
    let by: Vec<&str> = journal
        .iter()
        .skip(before)
        .map(|line| {
            if line.contains(r#""by":"Tam Okoro""#) {
                "Tam"
            } else {
                "Ilse"
            }
        })
        .collect();
    assert_eq!(by, ["Ilse", "Ilse", "Tam", "Ilse"]);
}

#[test]
fn a_second_person_reads_blind_and_the_difference_is_shown_after() {
    let yard = Yard::with_job();
    let typed = format!("{LOOKS}6.1 / 6.3\n0\n0.006\nsecond\n0.008\n");
    let said = yard.typed(&["walk", "T-1", "--part", "found"], &typed);
    let blind = said.out.split("read blind > ").nth(1).unwrap();
    assert!(
        !said
            .out
            .split("hand the gauge over")
            .nth(1)
            .unwrap()
            .split("read blind")
            .next()
            .unwrap()
            .contains("0.006")
    );
    assert!(
        blind.contains("first 0.006 mm, second 0.008 mm: they differ by 2.0 µm"),
        "{blind}"
    );
    assert!(
        yard.journal("T-1")
            .join("\n")
            .contains(r#""kind":"second""#)
    );
}

#[test]
fn dial_divisions_are_counted_in_the_instruments_resolution() {
    let yard = Yard::with_job();
    let said = yard.typed(
        &["walk", "T-1", "--part", "found"],
        &format!("{LOOKS}6.1 / 6.3\n0\n+3.5 div\n"),
    );
    assert!(
        said.out.contains("bearing.float reading → 0.0035 mm"),
        "{}",
        said.out
    );
}

#[test]
fn a_gauge_typing_on_another_keyboard_layout_is_recognised_and_asked_about_once() {
    let yard = Yard::with_job();
    let typed = format!("{LOOKS}6.1 / 6.3\n0\nà;ààè\nyes\n");
    let said = yard.typed(&["walk", "T-1", "--part", "found"], &typed);
    assert!(
        said.out
            .contains("looks like 0.007 typed on another keyboard layout"),
        "{}",
        said.out
    );
    assert!(
        said.out.contains("bearing.float reading → 0.007 mm"),
        "{}",
        said.out
    );
}

#[test]
fn a_photo_is_copied_in_by_its_digest_and_what_is_none_is_refused() {
    let yard = Yard::with_job();
    std::fs::write(yard.root().join("p.jpg"), [0xff, 0xd8, 0xff, 0xe0, 7]).unwrap();
    std::fs::write(yard.root().join("x.jpg"), "no picture").unwrap();
    let said = yard.typed(
        &["walk", "T-1", "--part", "found"],
        "0.001\nphoto p.jpg\nphoto x.jpg\nphoto\n",
    );
    assert!(
        said.out.contains("photo p.jpg of FL wheel.seat"),
        "{}",
        said.out
    );
    assert!(
        said.out.contains("is no JPEG or PNG picture"),
        "{}",
        said.out
    );
    assert!(said.out.contains("no picture lies in"), "{}", said.out);
    let copied = std::fs::read_dir(yard.path("jobs/T-1/photos"))
        .unwrap()
        .count();
    assert_eq!(copied, 1);
}

#[test]
fn two_people_walk_two_corners_and_the_second_hears_who_holds_the_first() {
    let yard = Yard::with_job();
    let mut first = yard.start(&["walk", "T-1", "--part", "found"]);
    let mut input = first.stdin.take().unwrap();
    let mut output = BufReader::new(first.stdout.take().unwrap());
    writeln!(input, "0.001\n0").unwrap();
    let mut seen = String::new();
    while !seen.contains("FL wheel.seat →") {
        seen.clear();
        assert_ne!(output.read_line(&mut seen).unwrap(), 0);
    }
    let said = yard.typed(
        &["walk", "T-1", "--part", "found", "--by", "Tam Okoro"],
        "0\n",
    );
    assert!(
        said.out.contains("FL is held by Ilse Varga on"),
        "{}",
        said.out
    );
    assert!(said.out.contains("FR wheel.seat → sound"), "{}", said.out);
    drop(input);
    first.wait().unwrap();
    let said = yard.typed(
        &["walk", "T-1", "--part", "found", "--by", "Tam Okoro"],
        "0\n",
    );
    assert!(
        said.out.contains("FL wheel.fasteners → sound"),
        "{}",
        said.out
    );
}

#[test]
fn a_corner_is_summed_up_before_the_walk_moves_on() {
    let yard = Yard::with_job();
    let said = yard.typed(&["walk", "T-1", "--part", "found"], &typed_found());
    assert!(said.out.contains("== FL is complete: "), "{}", said.out);
    assert!(said.out.contains("== RL is complete: "), "{}", said.out);
}

#[test]
fn why_draws_where_to_measure_and_big_digits_show_the_value() {
    let yard = Yard::with_job();
    let typed = format!("{LOOKS}why\n6.1 / 6.3\n");
    let said = yard.typed(
        &["walk", "T-1", "--part", "found", "--big", "--plain"],
        &typed,
    );
    assert!(said.out.contains("%%%%% friction"), "{}", said.out);
    assert!(said.out.contains("  #####           #"), "{}", said.out);
    assert!(said.out.is_ascii());
}

/// What was said, with the breaks of its lines taken out.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The lines of the first corner up to its run-out ring.
fn up_to_ring() -> String {
    typed_found()
        .lines()
        .take(17)
        .map(|line| format!("{line}\n"))
        .collect()
}

#[test]
fn values_behind_the_end_of_a_ring_are_never_put_to_another_item() {
    let yard = Yard::with_job();
    let ring = "0.000 0.004 0.008 0.004 -0.001 -0.012 -0.019 -0.022 -0.017 -0.011 -0.001 0.5 0\n";
    let before = yard.journal("T-1").len();
    let said = yard.typed(&["walk", "T-1", "--part", "found"], &(up_to_ring() + ring));
    assert!(
        flat(&said.out).contains("not taken, nothing more is asked here: 0.5 0"),
        "{}",
        said.out
    );
    // Seventeen lines (the pads' line makes three entries), then eleven readings and nothing else.
    assert_eq!(yard.journal("T-1").len() - before, 17 + 2 + 11);
}

#[test]
fn two_readings_run_together_are_asked_about_and_taken_apart() {
    let yard = Yard::with_job();
    let said = yard.typed(
        &["walk", "T-1", "--part", "found"],
        &format!("{}20\n24.30824.309\nyes\n", up_to_thickness()),
    );
    assert!(
        flat(&said.out).contains("was Enter lost between them"),
        "{}",
        said.out
    );
    assert!(
        flat(&said.out).contains("2 of 10, stud 1½ → 24.309 mm"),
        "{}",
        said.out
    );
    let journal = yard.journal("T-1").join("\n");
    assert!(journal.contains(r#""entry":"24.30824.309""#), "{journal}");
    assert!(
        journal.contains(r#""slot":"point 1","text":"24.308""#),
        "{journal}"
    );
    assert!(
        journal.contains(r#""slot":"point 2","text":"24.309""#),
        "{journal}"
    );
}

/// The lines of the first corner up to its disc's temperature.
fn up_to_thickness() -> String {
    typed_found()
        .lines()
        .take(28)
        .map(|line| format!("{line}\n"))
        .collect()
}

#[test]
fn a_sign_that_was_lost_is_asked_about_once_when_the_ring_is_whole() {
    let yard = Yard::with_job();
    let ring = "0.000 0.001 -0.019 -0.054 -0.090 0.108 -0.106 -0.087 -0.048 -0.015\nyes\n0.000\n";
    let said = yard.typed(&["walk", "T-1", "--part", "found"], &(up_to_ring() + ring));
    assert_eq!(
        flat(&said.out).matches("fits the ring only as").count(),
        1,
        "{}",
        said.out
    );
    assert!(
        flat(&said.out).contains("back at stud 1 → 0 mm"),
        "{}",
        said.out
    );
}

#[test]
fn a_dial_that_passed_its_zero_is_asked_about_once_and_put_right() {
    let yard = Yard::with_job();
    yard.run(&["instrument", "edit", "HW-D1", "--turn", "1 mm"])
        .ends(0);
    let typed = "0\n4 div\n980 div\npast\n970 div\n-0.040\n";
    let said = yard.typed(&["walk", "T-1", "--part", "found"], &(up_to_ring() + typed));
    assert_eq!(
        flat(&said.out).matches("half a turn of HW-D1").count(),
        1,
        "{}",
        said.out
    );
    assert!(
        flat(&said.out)
            .contains("4 of 10, stud 2½ → -0.03 mm (the dial showed 970 div, past its zero)"),
        "{}",
        said.out
    );
    let journal = yard.journal("T-1").join("\n");
    assert!(
        journal.contains(r#""entry":"980 div""#)
            && journal.contains(r#""answer":"past","kept":false"#),
        "{journal}"
    );
    assert!(
        journal.contains(r#""text":"980 div","unit":"div","value":-20000"#),
        "{journal}"
    );
    assert!(
        journal.contains(r#""text":"-0.040","unit":"mm","value":-40000"#),
        "{journal}"
    );
}

#[test]
fn an_instrument_that_fell_is_checked_before_its_next_reading() {
    let yard = Yard::with_job();
    let said = yard.typed(
        &["walk", "T-1", "--part", "found"],
        &format!(
            "{}20\n24.308\ndropped\n24.309\n0.002\n24.309\n",
            up_to_thickness()
        ),
    );
    assert!(
        flat(&said.out).contains("HW-M1 fell: checked before its next reading"),
        "{}",
        said.out
    );
    let after = flat(&said.out);
    let after = after.split("HW-M1 fell").nth(1).unwrap();
    assert!(after.contains("zero check of HW-M1 (closed)"), "{after}");
    // A reading typed at the check is no zero: far from the standard.
    assert!(
        after.contains("24.309 is 24.309 mm away from the standard"),
        "{after}"
    );
    assert!(after.contains("HW-M1 zero error 0.002 mm"), "{after}");
    assert!(after.contains("2 of 10, stud 1½ → 24.309 mm"), "{after}");
    let journal = yard.journal("T-1").join("\n");
    assert!(
        journal.contains(r#"{"kind":"dropped","instrument":"HW-M1"}"#),
        "{journal}"
    );
}

#[test]
fn readings_after_a_fall_give_no_pass_until_the_instrument_is_checked() {
    let yard = Yard::with_job();
    let line = "HW-P1";
    let typed = format!("{LOOKS}dropped {line}\n0.0\n");
    let said = yard.typed(&["walk", "T-1", "--part", "found"], &typed);
    assert!(
        flat(&said.out).contains("zero check of HW-P1 (on a flat plate)"),
        "{}",
        said.out
    );
    // Entered past the walk, without the check: the judgement knows of the fall all the same.
    let yard = Yard::with_job();
    yard.typed(
        &["walk", "T-1", "--part", "found"],
        &format!("{LOOKS}dropped {line}\n"),
    );
    yard.run(&[
        "log",
        "T-1",
        "FL",
        "pads.thickness",
        "inner=9.1",
        "outer=9.2",
    ])
    .ends(0);
    let verdict = yard.run(&["verdict", "T-1", "--json"]).json();
    let items = verdict["corners"]["FL"]["items"].as_array().unwrap();
    let pads = items
        .iter()
        .find(|f| f["item"] == "pads.thickness")
        .unwrap();
    assert_eq!(pads["verdict"], "ADVISE");
    assert!(pads["reasons"].to_string().contains("HW-P1 fell"), "{pads}");
}

#[test]
fn an_instrument_past_its_calibration_is_named_once_when_it_is_used() {
    let yard = Yard::with_job();
    yard.run(&[
        "instrument",
        "edit",
        "HW-P1",
        "--calibrated-until",
        "2020-12-31",
    ])
    .ends(0);
    let said = yard.typed(
        &["walk", "T-1", "--part", "found"],
        &format!("{LOOKS}6.1\n6.0\n6.3\n6.2\n"),
    );
    let words = "the calibration of HW-P1 ended on 2020-12-31: its readings are kept";
    assert_eq!(flat(&said.out).matches(words).count(), 1, "{}", said.out);
}

#[test]
fn the_wrong_instrument_is_named_and_the_right_one_stays() {
    let yard = Yard::with_job();
    for (id, range) in [("HW-M2", "50-75"), ("HW-M3", "0-25")] {
        yard.run(&[
            "instrument",
            "add",
            id,
            "--kind",
            "micrometer",
            "--range",
            range,
            "--resolution",
            "0.001",
            "--calibrated-until",
            "2099-12-31",
        ])
        .ends(0);
    }
    let typed = format!(
        "{}use HW-D1\nuse HW-M2\nuse HW-M9\nuse HW-M3\n",
        up_to_thickness()
    );
    let said = yard.typed(&["walk", "T-1", "--part", "found"], &typed);
    for words in [
        "HW-D1 (dial indicator, 0-10 mm) is the wrong kind: this step is read with a micrometer",
        "HW-M2 (50-75 mm) does not hold this part (23.000 mm, 26.000 mm); HW-M1 stays",
        "`HW-M9` is not in the register",
        "using HW-M3 (micrometer, 0-25 mm)",
        // It was never zeroed in this job: that comes before its first reading.
        "zero check of HW-M3 (closed)",
    ] {
        assert!(flat(&said.out).contains(words), "{words}: {}", said.out);
    }
}

#[test]
fn a_reading_outside_the_instruments_range_is_asked_about() {
    let yard = Yard::with_job();
    let said = yard.typed(
        &["walk", "T-1", "--part", "found"],
        &format!("{}20\n25.4\nno\n", up_to_thickness()),
    );
    assert!(
        flat(&said.out).contains("25.400 mm is outside the range of HW-M1 (0-25 mm); is it right?"),
        "{}",
        said.out
    );
    assert!(flat(&said.out).contains("dropped: 25.4"), "{}", said.out);
}

#[test]
fn the_mark_cast_on_a_disc_is_held_against_its_sheet() {
    let yard = Yard::with_job();
    let said = yard.typed(
        &["walk", "T-1", "--part", "found"],
        "0.001\ncast 230\n23.0\n0\n",
    );
    assert!(
        flat(&said.out).contains("? the mark: 230.000 mm beside a new size"),
        "{}",
        said.out
    );
    let journal = yard.journal("T-1").join("\n");
    assert!(
        journal.contains(r#""entry":"230""#) && journal.contains(r#""kind":"cast_mark""#),
        "{journal}"
    );
    assert!(!journal.contains(r#""value":230000000"#), "{journal}");
}

#[test]
fn the_depth_can_be_changed_at_the_walk() {
    let yard = Yard::with_job();
    let said = yard.typed(
        &["walk", "T-1", "--part", "found", "--depth", "quick"],
        &format!("{LOOKS}6.1 / 6.3\n0\n0.006\n0.030\n\n"),
    );
    assert!(
        flat(&said.out).contains("depth: quick from here on"),
        "{}",
        said.out
    );
    assert!(flat(&said.out).contains("1 of 4"), "{}", said.out);
    let journal = yard.journal("T-1").join("\n");
    assert!(
        journal.contains(r#"{"kind":"depth_chosen","depth":"quick"}"#),
        "{journal}"
    );
    // Said again it is no new entry, and the walk goes on as it was.
    let before = yard.journal("T-1").len();
    let said = yard.typed(&["walk", "T-1", "--part", "found", "--depth", "quick"], "");
    assert!(!flat(&said.out).contains("from here on"), "{}", said.out);
    assert_eq!(yard.journal("T-1").len(), before);
    let said = yard.run(&["walk", "T-1", "--depth", "deep"]).ends(2);
    assert!(said.err.contains("expected quick or full"), "{}", said.err);
}

#[test]
fn a_job_with_judder_stays_at_full_depth() {
    let yard = Yard::with_job();
    yard.run(&[
        "job",
        "open",
        "T-2",
        "--vin",
        "A0ZDL07V7NK001122",
        "--odometer",
        "84120",
        "--class",
        "N1",
        "--symptom",
        "judder",
    ])
    .ends(0);
    let said = yard.typed(&["walk", "T-2", "--part", "found", "--depth", "quick"], "");
    assert!(flat(&said.out).contains("keeps it full"), "{}", said.out);
}

#[test]
fn a_routine_corner_takes_this_many_keys() {
    // Every routine answer of the first corner, as it is typed and as gauges send it.
    let script: Vec<String> = typed_found().lines().map(str::to_owned).collect();
    let corner = &script[1..40];
    let typed: usize = corner.iter().map(|line| line.chars().count() + 1).sum();
    // With gauges that send, the readings cost no key; looks, passing over and the temperature do.
    let by_hand = |line: &&String| matches!(line.as_str(), "" | "0" | "20");
    let with_gauges: usize = corner
        .iter()
        .filter(by_hand)
        .map(|line| line.chars().count() + 1)
        .sum();
    let lines = corner.len();
    assert_eq!((lines, typed, with_gauges), (39, 191, 32));
    let yard = Yard::with_job();
    let said = yard.typed(
        &["walk", "T-1", "--part", "found"],
        &(script[..40].join("\n") + "\n"),
    );
    assert!(
        flat(&said.out).contains("== FL is complete"),
        "{}",
        said.out
    );
}

#[test]
fn a_walk_in_a_pipe_writes_no_control_signs_whatever_the_environment() {
    for (set, args) in [("NO_COLOR", vec!["--plain"]), ("CLICOLOR", vec![])] {
        let yard = Yard::with_job();
        let mut command = yard.command(&["walk", "T-1", "--part", "found"]);
        command.args(args).env(set, "1").env("TERM", "xterm");
        let mut child = command
            .stdin(std::process::Stdio::piped())
            .stdout(std::process::Stdio::piped())
            .stderr(std::process::Stdio::piped())
            .spawn()
            .unwrap();
        child
            .stdin
            .take()
            .unwrap()
            .write_all(typed_found().as_bytes())
            .unwrap();
        let out = String::from_utf8(child.wait_with_output().unwrap().stdout).unwrap();
        assert!(out.contains("complete: as found"), "{out}");
        assert!(!out.contains('\u{1b}') && !out.contains('\r'), "{set}");
        let long = out.lines().find(|line| line.chars().count() > 80);
        assert_eq!(long, None, "{set}");
    }
}

/// A van of 140 N·m whose only wrench begins at 50 N·m: stage 1 would be 42 N·m.
fn with_a_wrench_from(range: &str) -> Yard {
    let yard = Yard::with_job();
    yard.run(&["instrument", "edit", "HW-T1", "--range", range])
        .ends(0);
    yard
}

#[test]
fn a_first_stage_below_the_wrench_s_range_rises_to_its_lower_end_and_the_journal_says_so() {
    let yard = with_a_wrench_from("50-200");
    let said = yard.typed(&["walk", "T-1", "--part", "refit"], "1\n1\n");
    assert!(
        said.out
            .contains("HW-T1 begins at 50 N·m: this stage is done at 50 N·m"),
        "{}",
        said.out
    );
    let journal = yard.journal("T-1").join("\n");
    assert!(
        journal.contains(r#""fastener":1,"instrument":"HW-T1","set_to":50000"#),
        "{journal}"
    );
    // The second stage lies in the range and is done as planned.
    assert!(
        journal.contains(r#""fastener":2,"instrument":"HW-T1","set_to":84000"#),
        "{journal}"
    );
}

#[test]
fn a_stage_may_be_done_with_a_hand_wrench_and_no_click_is_written_for_it() {
    let yard = with_a_wrench_from("50-200");
    let said = yard.typed(&["walk", "T-1", "--part", "refit"], "hand\n1\nhand\n");
    assert!(
        said.out
            .contains("FL stage 1 with a hand wrench, not measured"),
        "{}",
        said.out
    );
    // The final torque is never taken from a hand wrench.
    assert!(
        said.out.contains("`hand` is no reading and no command"),
        "{}",
        said.out
    );
    let journal = yard.journal("T-1").join("\n");
    assert!(
        journal.contains(r#""proceeding":"wheel_stage","fastener":1}"#),
        "{journal}"
    );
    assert!(!journal.contains("wheel_final"), "{journal}");
}

#[test]
fn a_click_outside_a_wrench_s_range_is_never_that_wrench_s() {
    // Ends below the second stage of 84 N·m, and below the final torque.
    let yard = with_a_wrench_from("5-60");
    let said = yard.typed(
        &["walk", "T-1", "--part", "refit"],
        "use HW-T1\n1\nuse HW-T1\n1\nhand\nuse HW-T1\n1\n",
    );
    assert!(
        said.out
            .contains("refused: 84 N·m is outside the range of HW-T1, 5-60 N·m"),
        "{}",
        said.out
    );
    assert!(
        said.out
            .contains("refused: 140 N·m is outside the range of HW-T1, 5-60 N·m"),
        "{}",
        said.out
    );
    let journal = yard.journal("T-1").join("\n");
    assert!(
        journal.contains(r#""fastener":1,"instrument":"HW-T1","set_to":42000"#)
            && !journal.contains(r#""fastener":2,"instrument":"HW-T1""#)
            && !journal.contains("wheel_final"),
        "{journal}"
    );
}

#[test]
fn a_refit_does_a_low_stage_at_the_wrench_s_lower_end_and_refuses_a_value_outside_its_range() {
    let yard = with_a_wrench_from("50-142");
    yard.run(&["log", "T-1", "FL", "wheel.seat", "sound"])
        .ends(0);
    let said = yard.typed(&["refit", "T-1"], "yes\n1\n1\n145 N·m\n141 N·m\n");
    assert!(
        said.out
            .contains("145 N·m is outside the range of HW-T1, 50-142 N·m: nothing was noted"),
        "{}{}",
        said.out,
        said.err
    );
    let journal = yard.journal("T-1").join("\n");
    assert!(journal.contains(r#""set_to":50000"#), "{journal}");
    assert!(!journal.contains(r#""value":145000"#), "{journal}");
    assert!(journal.contains(r#""value":141000"#), "{journal}");
}
