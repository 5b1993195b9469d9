//! What a prompt takes for an answer, and what happens to what it does not take.

use crate::common::Yard;

fn kinds(yard: &Yard) -> Vec<String> {
    let journal = yard.journal("T-1");
    let kind = |line: &String| {
        let line: serde_json::Value = serde_json::from_str(line).unwrap();
        line["event"]["kind"].as_str().unwrap().to_owned()
    };
    journal.iter().map(kind).collect()
}

fn verdict_of(yard: &Yard, item: &str) -> serde_json::Value {
    let verdict = yard.run(&["verdict", "T-1", "--json"]).json();
    let items = verdict["corners"]["FL"]["items"].as_array().unwrap();
    let of = items.iter().find(|found| found["item"] == item).unwrap();
    of["verdict"].clone()
}

fn seat(yard: &Yard) -> serde_json::Value {
    let verdict = yard.run(&["verdict", "T-1", "--json"]).json();
    verdict["corners"]["FL"]["items"][0]["verdict"].clone()
}

#[test]
fn a_look_that_would_replace_a_defect_is_asked_about_by_log() {
    let yard = Yard::with_job();
    yard.run(&["log", "T-1", "FL", "hose", "defect", "leak"])
        .ends(0);
    for other in [
        &["sound"][..],
        &["not-inspected", "no time"],
        &["defect", "chafe"],
    ] {
        let before = yard.journal("T-1").len();
        let mut args = vec!["log", "T-1", "FL", "hose"];
        args.extend(other);
        let said = yard.run(&args).ends(2);
        assert!(
            said.err.contains("FL hose was found already: hose leaking")
                && said.err.contains("nothing was logged")
                && said.err.contains("--confirm"),
            "{}",
            said.err
        );
        assert_eq!(yard.journal("T-1").len(), before);
    }
    // The same defect again is no contradiction; "sound" as left is one until something was done.
    let said = yard
        .run(&["log", "T-1", "FL", "hose", "defect", "leak", "at the union"])
        .ends(0);
    assert!(said.out.contains("logged 1 entry: FL hose"), "{}", said.out);
    let said = yard
        .run(&["log", "T-1", "FL", "hose", "sound", "--as-left"])
        .ends(2);
    assert!(said.err.contains("what was done?"), "{}", said.err);
    yard.run(&["log", "T-1", "FL", "hose", "sound", "--confirm"])
        .ends(0);
    let journal = yard.journal("T-1").join("\n");
    assert!(
        journal.contains("was the entry before wrong?")
            && journal.contains(r#""answer":"--confirm""#),
        "{journal}"
    );
    assert_eq!(verdict_of(&yard, "hose"), "FAIL", "both stand");
    yard.run(&["log", "T-1", "FL", "hose", "struck"]).ends(2);
}

#[test]
fn a_look_that_would_replace_a_defect_is_asked_about_in_the_walk() {
    let yard = Yard::with_job();
    let said = yard.typed(
        &["walk", "T-1", "--part", "found"],
        "0.001\n1\nback\n0\nmaybe\nno\n0\n",
    );
    assert!(
        said.out
            .contains("? FL wheel.seat was found already: wheel partly seized"),
        "{}",
        said.out
    );
    assert_eq!(seat(&yard), "ADVISE");
    let said = yard.typed(&["walk", "T-1", "--part", "found"], "back\nback\n0\nyes\n");
    assert!(said.out.contains("FL wheel.seat → sound"), "{}", said.out);
    assert_eq!(seat(&yard), "PASS");
    let journal = yard.journal("T-1").join("\n");
    assert!(
        journal.contains("a wrong entry, it was said at the prompt"),
        "{journal}"
    );
}

#[test]
fn undo_strikes_what_was_done_last_whatever_it_was() {
    let yard = Yard::with_job();
    let said = yard.typed(
        &["walk", "T-1", "--part", "found"],
        "0.001\n0\nfitted rear pads 4711\nundo\ncast 23\nundo\n",
    );
    assert!(
        said.out
            .contains("struck (still readable): fitted at rear: pads"),
        "{}",
        said.out
    );
    assert!(
        said.out
            .contains("struck (still readable): the limit cast on the part at FL, 23"),
        "{}",
        said.out
    );
    assert_eq!(seat(&yard), "PASS", "the look before them stands");
}

#[test]
fn a_look_takes_only_the_numbers_of_its_list() {
    let yard = Yard::with_job();
    yard.typed(&["walk", "T-1", "--part", "found"], "0.001\n");
    let before = yard.journal("T-1").len();
    let said = yard.typed(
        &["walk", "T-1", "--part", "found"],
        "3 mm\n+5 div\n0 mm\n00\n01\n+1\n0.0\n1 2\n0 dry\n9\n\u{2212}1\n",
    );
    assert!(!said.out.contains("→"), "{}", said.out);
    assert!(
        said.out.contains("`3 mm` looks like a reading"),
        "{}",
        said.out
    );
    assert!(
        said.out.contains("`note dry` keeps the remark"),
        "{}",
        said.out
    );
    assert_eq!(yard.journal("T-1").len(), before);
    let said = yard.typed(
        &["walk", "T-1", "--part", "found"],
        "1 0.7 mm gap all round\n",
    );
    assert!(
        said.out.contains("wheel partly seized on the hub"),
        "{}",
        said.out
    );
}

#[test]
fn a_click_is_confirmed_by_one_number_alone() {
    let yard = Yard::with_job();
    let before = yard.journal("T-1").len();
    let said = yard.typed(&["walk", "T-1", "--part", "refit"], "1 2 3\n1 mm\n01\n+1\n");
    assert!(!said.out.contains('→'), "{}", said.out);
    assert_eq!(yard.journal("T-1").len(), before);
}

#[test]
fn commands_work_where_the_walk_asks_how_the_vehicle_stands() {
    let yard = Yard::with_job();
    let said = yard.typed(
        &["walk", "T-1", "--part", "found"],
        "0.001\n1\nquit\nhelp\nundo\nnote jack borrowed\n7\n2 mm\n2\n",
    );
    assert!(
        said.out.contains("struck (still readable): FL wheel.seat"),
        "{}",
        said.out
    );
    assert!(said.out.contains("noted: jack borrowed"), "{}", said.out);
    assert!(said.out.contains("retake 6"), "help is shown: {}", said.out);
    let kinds = kinds(&yard);
    assert_eq!(kinds[kinds.len() - 4..], ["seen", "struck", "note", "left"]);
    assert!(
        yard.journal("T-1")
            .last()
            .unwrap()
            .contains(r#""vehicle":"on stands""#)
    );
}

#[test]
fn back_at_the_last_question_goes_on_with_the_walk_and_quit_leaves_it_unsaid() {
    let yard = Yard::with_job();
    let said = yard.typed(
        &["walk", "T-1", "--part", "found"],
        "0.001\n1\nquit\nback\n0\nyes\nquit\nquit\n",
    );
    assert!(said.out.contains("FL wheel.seat → sound"), "{}", said.out);
    assert!(!kinds(&yard).contains(&"left".to_owned()));
    // Words that only begin like a command are words.
    yard.typed(
        &["walk", "T-1", "--part", "found"],
        "quit\nnot moved, second bay\n",
    );
    let journal = yard.journal("T-1");
    assert!(
        journal
            .last()
            .unwrap()
            .contains(r#""vehicle":"not moved, second bay""#)
    );
}

#[test]
fn a_command_is_never_kept_as_the_reason_why_nothing_was_inspected() {
    let yard = Yard::with_job();
    let said = yard.typed(
        &["walk", "T-1", "--part", "found"],
        "0.001\n-\nundo\n-\nhelp\n+1\n01\nno time left today\n",
    );
    assert!(
        said.out
            .contains("FL wheel.seat → not inspected: no time left today"),
        "{}",
        said.out
    );
    assert_eq!(said.out.matches("→").count(), 1, "{}", said.out);
    assert!(said.out.contains("nothing was entered"), "{}", said.out);
}

#[test]
fn an_entry_that_waits_for_yes_or_no_is_kept_when_the_walk_is_left() {
    for end in ["quit\n2\n", ""] {
        let yard = Yard::with_job();
        let looks = "0\n".repeat(12);
        let typed = format!("0.001\n{looks}61 / 6.3\n{end}");
        let said = yard.typed(&["walk", "T-1", "--part", "found"], &typed);
        assert!(
            said.out.contains("not taken: 61 / 6.3"),
            "{end}: {}",
            said.out
        );
        let journal = yard.journal("T-1").join("\n");
        assert!(
            journal.contains(r#""entry":"61""#) && journal.contains(r#""kept":false"#),
            "{journal}"
        );
    }
}

#[test]
fn no_line_of_a_walk_or_a_refit_is_wider_than_a_terminal() {
    let yard = Yard::with_job();
    let walk = yard.typed(
        &["walk", "T-1"],
        "help\nwhy\n0.001\n-\n1\nshow\nfitted front pads\nquit\n2\n",
    );
    let refit = yard.typed(
        &["refit", "T-1"],
        "no rusty\nyes\nhelp\nwhy\n1\n99 N·m\n1\n200 N·m\n1\nquit\n",
    );
    for said in [walk, refit] {
        for line in said.out.lines() {
            assert!(line.chars().count() < 80, "{line}");
        }
    }
}

#[test]
fn a_remark_at_a_step_gone_back_to_does_not_answer_it() {
    let yard = Yard::with_job();
    let said = yard.typed(
        &["walk", "T-1", "--part", "found"],
        "0.001\n0\nback\nnote look again\ncast 23\n1\ngo\n",
    );
    assert!(
        said.out.contains("FL wheel.seat → wheel partly seized"),
        "{}",
        said.out
    );
    assert!(said.out.contains("go where?"), "{}", said.out);
}

#[test]
fn help_stays_a_table_on_a_narrow_terminal() {
    let yard = Yard::with_job();
    let said = yard.typed(&["walk", "T-1"], "help\n");
    assert!(
        said.out
            .contains("  retake 6    one point of the ring again   redo     strike"),
        "{}",
        said.out
    );
}
