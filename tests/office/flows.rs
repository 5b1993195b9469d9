//! The scenario's jobs from opening to the due list, through the command line.

use brakecorner::cli::Exit;
use serde_json::Value;

use super::{Desk, is, rows};

const CAR: &str = include_str!("../../demo/HWY-0423.txt");
const VAN: &str = include_str!("../../demo/HWY-0411.txt");

fn line<'a>(quote: &'a Value, id: &str) -> &'a Value {
    quote["lines"]
        .as_array()
        .unwrap()
        .iter()
        .find(|l| l["line"] == id)
        .unwrap_or_else(|| panic!("no line {id}: {quote:#}"))
}

/// The prices are the scenario's: 118.00 quoted; 286.00, 64.00, 52.00 revised; 350.00 agreed.
#[test]
fn a_quote_for_pads_grows_to_discs_with_its_findings_and_one_line_is_declined() {
    let desk = Desk::demo();
    let quote = desk
        .at(
            "2026-03-04T17:00:00+00:00",
            &["quote", "HWY-0423", "--json"],
            "",
        )
        .ends(Exit::Good)
        .json();
    assert_eq!(quote["standing"], "grows");
    assert_eq!(quote["original_total"], "118.00");
    assert_eq!(quote["total"]["gross"], "402.00");
    assert_eq!(quote["agreed"]["gross"], "350.00");
    let discs = line(&quote, "rear.discs_pads");
    assert_eq!(
        (&discs["price"], &discs["answer"]),
        (&"286.00".into(), &"yes".into())
    );
    let because: Vec<String> = discs["because"]
        .as_array()
        .unwrap()
        .iter()
        .map(|b| {
            format!(
                "{} {}",
                b["place"].as_str().unwrap(),
                b["item"].as_str().unwrap()
            )
        })
        .collect();
    for finding in [
        "RR pads.thickness",
        "RR disc.thickness",
        "rear axle.imbalance",
    ] {
        assert!(because.contains(&finding.to_owned()), "{because:?}");
    }
    assert!(
        discs["notes"]
            .to_string()
            .contains("new pads would outlive it")
    );
    assert_eq!(line(&quote, "rear.pads")["by"], "rear.discs_pads");
    let fluid = line(&quote, "fluid");
    assert_eq!(
        (&fluid["price"], &fluid["answer"]),
        (&"52.00".into(), &"no".into())
    );
    assert!(
        fluid["leaving"]
            .as_str()
            .unwrap()
            .contains("15000 km from now")
    );
    assert_eq!(
        quote["call"].as_array().unwrap().len(),
        0,
        "everything is answered"
    );
}

#[test]
fn before_anybody_was_asked_the_desk_is_told_to_call_and_for_what() {
    let desk = Desk::yard();
    desk.play(CAR, |s| {
        is(s, "job open")
            || is(s, "log") && !s.args.contains(&"--as-left".into())
            || is(s, "walk HWY-0423 --part found")
    });
    let said = desk
        .at("2026-03-04T14:00:00+00:00", &["quote", "HWY-0423"], "")
        .ends(Exit::Good);
    said.says("rear.discs_pads: fails and was not quoted (286.00)")
        .says("fluid: not in the first quote (52.00)")
        .says("the sum rises from 118.00 to 402.00");
    // A limit agreed before takes the small line, not the large one.
    desk.at(
        "2026-03-04T14:01:00+00:00",
        &["contact", "HWY-0423", "--ceiling", "60.00"],
        "",
    )
    .ends(Exit::Good);
    let quote = desk
        .at(
            "2026-03-04T14:02:00+00:00",
            &["quote", "HWY-0423", "--json"],
            "",
        )
        .json();
    let call = quote["call"].to_string();
    assert!(
        !call.contains("fluid") && call.contains("rear.discs_pads"),
        "{call}"
    );
    desk.at(
        "2026-03-04T14:03:00+00:00",
        &["contact", "HWY-0423", "--under-ceiling", "RR.slide_pins"],
        "",
    )
    .ends(Exit::NoAnswer)
    .says("64.00 is more than what is left of the amount agreed before: 60.00 of 60.00");
    desk.at(
        "2026-03-04T14:04:00+00:00",
        &["contact", "HWY-0423", "--under-ceiling", "fluid"],
        "",
    )
    .ends(Exit::Good);
    let quote = desk
        .at(
            "2026-03-04T14:05:00+00:00",
            &["quote", "HWY-0423", "--json"],
            "",
        )
        .json();
    assert_eq!(quote["ceiling"]["left"], "8.00");
}

#[test]
fn a_telephone_call_takes_answers_from_a_pipe_and_keeps_them_when_the_line_goes_dead() {
    let desk = Desk::yard();
    desk.play(CAR, |s| {
        is(s, "job open")
            || is(s, "log") && !s.args.contains(&"--as-left".into())
            || is(s, "walk HWY-0423 --part found")
    });
    let said = desk
        .at(
            "2026-03-04T14:20:00+00:00",
            &["quote", "HWY-0423", "--call"],
            "\nperhaps\nyes\n",
        )
        .ends(Exit::Good)
        .says("``  is no answer".replace("  ", " ").as_str())
        .says("`perhaps` is no answer")
        .says("the answers so far are written down; the rest is open");
    assert!(
        said.out
            .contains("If you leave it: left as it is, the vehicle must not be driven")
    );
    // A FAIL that is left: the caution is read out and its reading is asked for.
    desk.at(
        "2026-03-04T14:30:00+00:00",
        &["quote", "HWY-0423", "--call"],
        "no too dear\nno\nno\n\n\n",
    )
    .ends(Exit::Good)
    .says("We must tell you plainly");
    let contact = desk
        .at(
            "2026-03-04T14:40:00+00:00",
            &["contact", "HWY-0423", "--json"],
            "",
        )
        .json();
    let answers: Vec<String> = contact["contacts"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|c| c["answers"].as_array().cloned().unwrap_or_default())
        .map(|a| {
            format!(
                "{} {}",
                a["line"].as_str().unwrap(),
                a["outcome"].as_str().unwrap()
            )
        })
        .collect();
    assert_eq!(
        answers,
        ["rear.discs_pads yes", "RR.slide_pins no", "fluid no"]
    );
    desk.at("2026-03-04T14:41:00+00:00", &["contact", "HWY-0423"], "")
        .says("RR slide_pins: `RR.slide_pins` was declined without the caution being read out");
    // A mind changed is a new entry; the old one stays.
    desk.at(
        "2026-03-04T14:42:00+00:00",
        &["contact", "HWY-0423", "--yes", "RR.slide_pins"],
        "",
    )
    .ends(Exit::Good)
    .says("no RR.slide_pins (64.00), \"too dear\"")
    .says("yes RR.slide_pins (64.00)");
}

#[test]
fn work_nobody_agreed_to_blocks_the_signature_until_somebody_does() {
    let desk = Desk::yard();
    desk.play(CAR, |s| !is(s, "quote") && !is(s, "sign HWY-0423 --by"));
    let sign = ["sign", "HWY-0423"];
    desk.at("2026-03-04T17:00:00+00:00", &sign, "")
        .ends(Exit::NoAnswer)
        .says("rear: disc fitted, and the customer has not agreed to it")
        .says("RR: slide-pin kit fitted, and the customer has not agreed to it");
    desk.at(
        "2026-03-04T17:01:00+00:00",
        &[
            "contact",
            "HWY-0423",
            "--yes",
            "rear.discs_pads",
            "--yes",
            "RR.slide_pins",
        ],
        "",
    )
    .ends(Exit::Good);
    desk.at("2026-03-04T17:02:00+00:00", &sign, "")
        .ends(Exit::Good);
}

#[test]
fn work_that_was_declined_and_done_all_the_same_blocks_the_signature() {
    let desk = Desk::yard();
    desk.play(CAR, |s| !is(s, "quote") && !is(s, "sign HWY-0423 --by"));
    let sign = ["sign", "HWY-0423"];
    let mut answers = vec!["contact", "HWY-0423", "--yes", "rear.discs_pads"];
    answers.extend(["--no", "RR.slide_pins", "--caution"]);
    desk.at("2026-03-04T17:01:00+00:00", &answers, "")
        .ends(Exit::Good);
    let declined =
        "RR slide_pins: `RR.slide_pins` was declined, and the item is no longer as it was found";
    desk.at("2026-03-04T17:02:00+00:00", &sign, "")
        .ends(Exit::NoAnswer)
        .says(declined)
        .says("log the customer's yes if it was agreed to after all");
    desk.at("2026-03-04T17:03:00+00:00", &["contact", "HWY-0423"], "")
        .ends(Exit::Good)
        .says(declined);
    let agreed = ["contact", "HWY-0423", "--yes", "RR.slide_pins"];
    desk.at("2026-03-04T17:04:00+00:00", &agreed, "")
        .ends(Exit::Good);
    desk.at("2026-03-04T17:05:00+00:00", &sign, "")
        .ends(Exit::Good);
}

#[test]
fn nothing_may_go_on_by_a_quote_before_anything_was_inspected() {
    let desk = Desk::yard();
    desk.play(CAR, |s| is(s, "job open"));
    let hidden = ["log", "HWY-0423", "FL", "hose", "not-inspected", "hidden"];
    desk.at("2026-03-04T09:00:00+00:00", &hidden, "")
        .ends(Exit::Good);
    let quote = desk.at("2026-03-04T09:01:00+00:00", &["quote", "HWY-0423"], "");
    assert!(!quote.out.contains("work may go on:"), "{}", quote.out);
    quote
        .ends(Exit::Good)
        .says("it cannot be said yet whether the quote stands")
        .says("whether work may go on cannot be said yet: nothing was inspected");
}

#[test]
fn a_fail_left_undone_needs_the_caution_and_is_due_from_that_day() {
    let desk = Desk::yard();
    // Nothing is repaired: only the refit follows.
    desk.play(CAR, |s| {
        is(s, "job open")
            || is(s, "log") && !s.args.contains(&"--as-left".into())
            || is(s, "walk HWY-0423 --part found")
            || is(s, "sign HWY-0423 --as-found")
    });
    let typed = format!(
        "{}{}4 0\nno not driven\n",
        wheels_in("yes\n"),
        "yes\n".repeat(7)
    );
    // Past what must not be driven nobody is led to the torque wrench.
    desk.at("2026-03-04T15:00:00+00:00", &["refit", "HWY-0423"], &typed)
        .ends(Exit::NoAnswer)
        .says("no refit yet");
    desk.at("2026-03-04T15:30:00+00:00", &["sign", "HWY-0423"], "")
        .ends(Exit::NoAnswer)
        .says("FAIL without an outcome: Rear right: pad friction thickness: 0.7 mm");
    let lines = [
        "contact",
        "HWY-0423",
        "--no",
        "rear.discs_pads",
        "--no",
        "RR.slide_pins",
        "--no",
        "fluid",
    ];
    desk.at("2026-03-04T15:31:00+00:00", &lines, "")
        .ends(Exit::Good)
        .says("read out the caution");
    desk.at("2026-03-04T15:32:00+00:00", &["sign", "HWY-0423"], "")
        .ends(Exit::NoAnswer)
        .says("was declined without the caution being read out");
    let mut with_caution = lines.to_vec();
    with_caution.push("--caution");
    desk.at("2026-03-04T15:33:00+00:00", &with_caution, "")
        .ends(Exit::Good);
    desk.at("2026-03-04T15:33:30+00:00", &["refit", "HWY-0423"], &typed)
        .ends(Exit::Good);
    desk.at(
        "2026-03-04T15:50:00+00:00",
        &["sign", "HWY-0423", "--incomplete", "nothing was repaired"],
        "",
    )
    .ends(Exit::Good);
    let sheet = desk
        .at(
            "2026-03-04T15:55:00+00:00",
            &["sheet", "HWY-0423", "--json"],
            "",
        )
        .ends(Exit::Good);
    sheet
        .says("No, on 4 March 2026, 15:33, by telephone")
        .says("We said that it is outside its limit and advised against driving it");
    let due = desk
        .at("2026-03-05T08:00:00+00:00", &["due", "--json"], "")
        .ends(Exit::NotGood)
        .json();
    let left = rows(&due, "declined", "HWY-0423");
    assert_eq!(left.len(), 3);
    let discs = left
        .iter()
        .find(|r| r["what"].as_str().unwrap().contains("discs"))
        .unwrap();
    assert_eq!(
        (&discs["date"], &discs["overdue"]),
        (&"2026-03-04".into(), &true.into())
    );
    assert!(discs["what"].as_str().unwrap().ends_with("it FAILS"));
}

/// What is typed for four wheels of five fasteners: prepared, two stages, five finals, second pass.
fn wheels_in(prepared: &str) -> String {
    format!("{prepared}1\n1\n1\n3\n5\n2\n4\n1\n").repeat(4)
}

#[test]
fn the_refit_names_the_next_fastener_and_takes_keys_or_the_wrench_s_own_value() {
    let desk = Desk::yard();
    desk.play(CAR, |s| {
        !is(s, "refit") && !is(s, "sign HWY-0423 --by") && !is(s, "due")
    });
    // Rear callipers: four carrier bolts and two slide pins, all opened by the work.
    let callipers = "1\n1\n1\n1\n1\n1\n";
    let first = "no rust on the face\nyes\n1\n1\n\
                 104.4 N·m\n115.6 Nm\n110.2 N·m\nuse HW-T2\n3\n3\n5\n2\n4\n3=12 5=4\n1\n3\n5\n2\n4\n1=2\n";
    let rest = "yes\n1\n1\n1\n3\n5\n2\n4\n1\n".repeat(3);
    let typed = format!("{callipers}{first}{rest}{}1 4\nyes\n", "yes\n".repeat(7));
    let said = desk
        .at("2026-03-04T16:00:00+00:00", &["refit", "HWY-0423"], &typed)
        .ends(Exit::Good);
    let journal = std::fs::read_to_string(desk.path("jobs/HWY-0423/journal.jsonl")).unwrap();
    let said = said
        .says("noted; the wheel waits until it is so")
        .says("FL final: fastener 1 to 110 N·m; order 1-3-5-2-4")
        .says("104.4 N·m is below 110 N·m by more than allowed (104.5 N·m to 115.5 N·m): not confirmed")
        .says("115.6 N·m is above 110 N·m")
        .says("refused: the calibration of HW-T2 ended on 2025-12-31; again with another wrench")
        .says("fastener 3 turned 12° on the second pass, more than 10° allowed")
        .says("ready to be signed");
    assert!(
        said.out.contains("[3]") && said.out.contains("(1)"),
        "the wheel is drawn"
    );
    assert!(journal.contains(r#""text":"110.2 N·m""#) && journal.contains(r#""accepted":false"#));
    assert!(journal.contains(r#""fastener":1,"instrument":"HW-T1","turned_deg":2"#));
    desk.at("2026-03-04T17:00:00+00:00", &["sign", "HWY-0423"], "")
        .ends(Exit::Good);
    desk.at("2026-03-04T17:10:00+00:00", &["refit", "HWY-0423"], "")
        .ends(Exit::NoAnswer)
        .says("it is signed as left");
}

#[test]
fn where_policy_wants_a_second_person_the_same_hands_do_not_count() {
    let desk = Desk::yard();
    let folder = desk.path("specs/policy");
    std::fs::create_dir_all(&folder).unwrap();
    std::fs::write(
        folder.join("default.toml"),
        "id = \"default\"\n[torque]\nsecond_person = true\n",
    )
    .unwrap();
    desk.play(VAN, |s| !is(s, "sign HWY-0411 --by"));
    desk.at("2026-03-02T12:00:00+00:00", &["sign", "HWY-0411"], "")
        .ends(Exit::NoAnswer)
        .says("a second person has not checked the final torque");
    desk.at(
        "2026-03-02T12:01:00+00:00",
        &["refit", "HWY-0411", "--check"],
        "",
    )
    .ends(Exit::NoAnswer)
    .says("Ilse Varga torqued a wheel of this job: another person must check it");
    desk.at(
        "2026-03-02T12:02:00+00:00",
        &["refit", "HWY-0411", "--check", "--by", "Tam Okoro"],
        "",
    )
    .ends(Exit::Good);
    desk.at("2026-03-02T12:03:00+00:00", &["sign", "HWY-0411"], "")
        .ends(Exit::Good);
}

/// 84 120 km by 2026-03-02 since first use on 2022-05-03 is 84 120/1 399 = 60.13 km a day: 6 671 km
/// are 110.9 days, so 2026-06-20 (own arithmetic).
#[test]
fn the_van_is_due_by_distance_at_its_own_pace_and_its_re_torque_until_it_is_logged() {
    let desk = Desk::demo();
    let now = "2026-03-02T18:00:00+00:00";
    let due = desk
        .at(now, &["due", "--json"], "")
        .ends(Exit::NotGood)
        .json();
    let wear = rows(&due, "wear", "HWY-0411");
    assert_eq!(
        (&wear[0]["date"], &wear[0]["km"]),
        (&"2026-05-29".into(), &89457.into())
    );
    assert_eq!(wear[0]["km_left"], 5337);
    let retorque = rows(&due, "retorque", "HWY-0411");
    assert_eq!(
        (&retorque[0]["km"], &retorque[0]["overdue"]),
        (&84170.into(), &false.into())
    );
    let left = rows(&due, "declined", "HWY-0411");
    assert_eq!(left[0]["date"], "2026-04-30");
    // HW-T2 ran out of calibration and is overdue whatever is asked for.
    let near = desk
        .at(now, &["due", "--within", "30d", "--json"], "")
        .json();
    assert_eq!(rows(&near, "calibration", "HW-T2")[0]["overdue"], true);
    assert!(rows(&near, "wear", "HWY-0411").is_empty());
    let far = desk
        .at(now, &["due", "--within", "5500km", "--json"], "")
        .json();
    assert_eq!(
        rows(&far, "wear", "HWY-0411").len(),
        1,
        "5337 km are within, 5988 are not"
    );
    let done = [
        "due",
        "--done",
        "HWY-0411",
        "--odometer",
        "84171",
        "--instrument",
        "HW-T1",
    ];
    let with = |more: &[&'static str]| {
        done.iter()
            .copied()
            .chain(more.iter().copied())
            .collect::<Vec<_>>()
    };
    desk.at(now, &with(&["--turned", "FL:0,0,12,0,0"]), "")
        .ends(Exit::NoAnswer)
        .says("fasteners not checked: FR 1");
    let all = [
        "--turned",
        "FL:0,0,12,0,0",
        "--turned",
        "FR:0,0,0,0,0",
        "--turned",
        "RL:0,0,0,0,0",
        "--turned",
        "RR:0,3,0,0,0",
        "--cause",
        "paint under the seat",
    ];
    desk.at(now, &with(&all), "")
        .ends(Exit::NotGood)
        .says("FL fastener 3 turned 12 degrees, more than 10 allowed");
    let due = desk.at(now, &["due", "--json"], "").json();
    assert!(rows(&due, "retorque", "HWY-0411").is_empty());
    desk.at(now, &with(&["--none-turned"]), "")
        .ends(Exit::NoAnswer)
        .says("the re-torque of this job is logged already");
    desk.at(now, &["history", "--fleet"], "").says(
        "torqued by Ilse Varga: 2 of 20 turned, 1 too far, up to 12 degrees (paint under the seat)",
    );
}

#[test]
fn a_call_back_is_due_until_the_next_talk() {
    let desk = Desk::demo();
    let call = [
        "contact",
        "HWY-0429",
        "--not-reached",
        "--call-back",
        "2026-03-06 09:00",
    ];
    desk.at("2026-03-05T18:00:00+00:00", &call, "")
        .ends(Exit::Good);
    let due = desk
        .at("2026-03-05T19:00:00+00:00", &["due", "--json"], "")
        .json();
    let row = rows(&due, "call_back", "HWY-0429")[0].clone();
    assert_eq!(
        (&row["date"], &row["overdue"]),
        (&"2026-03-06".into(), &false.into())
    );
    // 09:00 +00:00 is 10:00 +01:00: at 09:30 +01:00 it is still to come, at 10:30 it has passed.
    for (now, overdue) in [
        ("2026-03-06T09:30:00+01:00", false),
        ("2026-03-06T10:30:00+01:00", true),
    ] {
        let due = desk.at(now, &["due", "--json"], "").json();
        assert_eq!(
            rows(&due, "call_back", "HWY-0429")[0]["overdue"],
            overdue,
            "{now}"
        );
    }
    desk.at(
        "2026-03-06T09:10:00+00:00",
        &["contact", "HWY-0429", "--said", "will book again"],
        "",
    )
    .ends(Exit::Good);
    let due = desk
        .at("2026-03-06T09:20:00+00:00", &["due", "--json"], "")
        .json();
    assert!(rows(&due, "call_back", "HWY-0429").is_empty());
}

#[test]
fn what_was_left_is_the_first_question_of_the_next_visit() {
    let desk = Desk::demo();
    let open = [
        "job",
        "open",
        "HWY-0501",
        "--vin",
        "A0ZWR05C6LK004096",
        "--odometer",
        "99000",
        "--class",
        "M1",
    ];
    desk.at("2026-05-01T08:00:00+00:00", &open, "")
        .ends(Exit::Good);
    desk.at(
        "2026-05-01T08:01:00+00:00",
        &["log", "HWY-0501", "FL", "hose", "sound"],
        "",
    )
    .ends(Exit::Good);
    let first = desk
        .at("2026-05-01T08:02:00+00:00", &["quote", "HWY-0501"], "")
        .ends(Exit::Good);
    assert!(
        first.out.starts_with(
            "left before: HWY-0423 on 2026-03-04: \"brake fluid change\" was left. Is it still so?"
        ),
        "{}",
        first.out
    );
    // The other vehicles' customers left other things.
    assert_eq!(first.out.matches("left before").count(), 1);
    // The walk asks before anything else, until it is answered, and then no more.
    let question = "\"brake fluid change\" was left. Is it still so?";
    let walk = |time: &str, typed: &str| {
        let time = format!("2026-05-01T{time}:00+00:00");
        desk.at(&time, &["walk", "HWY-0501"], typed)
            .ends(Exit::Good)
            .out
    };
    let unanswered = walk("08:03", "");
    assert!(
        unanswered.contains(question) && !unanswered.contains("HW-M1"),
        "{unanswered}"
    );
    let asked = walk(
        "08:04",
        "0.001\nperhaps\nyes not this year either\n0.001\nquit\n",
    );
    let first_zero = asked.find("HW-M1").unwrap();
    assert!(asked.rfind(question).unwrap() < first_zero, "{asked}");
    assert_eq!(asked.matches(question).count(), 3, "two answers were none");
    let journal = std::fs::read_to_string(desk.path("jobs/HWY-0501/journal.jsonl")).unwrap();
    assert!(journal.contains("Is it still so? yes not this year either"));
    assert!(!walk("08:05", "quit\n").contains(question));
}
