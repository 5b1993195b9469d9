//! Wrong input: a clear message, and nothing written.

use brakecorner::cli::Exit;

use super::{Desk, is};

/// The car inspected as found, with the first quote and nothing decided.
fn inspected() -> Desk {
    let desk = Desk::yard();
    desk.play(include_str!("../../demo/HWY-0423.txt"), |s| {
        is(s, "job open")
            || is(s, "log") && !s.args.contains(&"--as-left".into())
            || is(s, "walk HWY-0423 --part found")
    });
    desk
}

#[test]
fn lines_prices_and_times_that_do_not_read_are_named_and_nothing_is_written() {
    let desk = inspected();
    let journal = || std::fs::read(desk.path("jobs/HWY-0423/journal.jsonl")).unwrap();
    let before = journal();
    for (args, words) in [
        (
            vec!["quote", "HWY-0423", "--set", "rear.disc_pads=286"],
            "did you mean `rear.discs_pads`?",
        ),
        (
            vec!["quote", "HWY-0423", "--set", "fluid=-5"],
            "`-5` is negative",
        ),
        (
            vec!["quote", "HWY-0423", "--set", "fluid=5,20"],
            "`5,20` is not an amount of money",
        ),
        (vec!["quote", "HWY-0423", "--set", "fluid"], "sets no price"),
        (
            vec!["quote", "HWY-0423", "--add", "=5"],
            "an empty line is no line",
        ),
        (
            vec!["quote", "HWY-0423", "--drop", "front.pads"],
            "the quote has no line `front.pads`",
        ),
        (
            vec!["quote", "HWY-0423", "--original", "rear pads -118"],
            "`-118` is negative",
        ),
        (
            vec!["quote", "HWY-0423", "--original", "rear pads 1.2.3"],
            "`1.2.3` is not an amount",
        ),
        (
            vec![
                "quote",
                "HWY-0423",
                "--original",
                "rear pads 1",
                "--original",
                "rear.pads=2",
            ],
            "`rear.pads` is given twice",
        ),
        (
            vec!["contact", "HWY-0423", "--yes", "wipers"],
            "the quote has no line `wipers`",
        ),
        (
            vec!["contact", "HWY-0423", "--yes", "fluid", "--no", "fluid"],
            "`fluid` has two answers",
        ),
        (
            vec!["contact", "HWY-0423", "--ceiling", "-1"],
            "`-1` is negative",
        ),
        (
            vec!["contact", "HWY-0423", "--under-ceiling", "fluid"],
            "no amount was agreed before",
        ),
        (
            vec!["contact", "HWY-0423", "--later", "fluid:2026-02-30"],
            "a day looks like 2026-04-30",
        ),
        (
            vec!["contact", "HWY-0423", "--later", "fluid:2026-03-03"],
            "the day 2026-03-03 lies before today, 2026-03-04",
        ),
        (
            vec!["contact", "HWY-0423", "--call-back", "tomorrow"],
            "`tomorrow` is no time",
        ),
        (
            vec!["contact", "HWY-0423", "--call-back", "2026-03-04 13:00"],
            "lies before now",
        ),
        (
            vec!["contact", "HWY-0423", "--means", "pigeon", "--said", "x"],
            "expected telephone",
        ),
        (
            vec!["due", "--within", "soon"],
            "neither days nor a distance",
        ),
        (
            vec![
                "due",
                "--done",
                "HWY-0423",
                "--odometer",
                "97000",
                "--instrument",
                "HW-T1",
                "--none-turned",
            ],
            "no wheel of this job was torqued",
        ),
        (
            vec![
                "due",
                "--done",
                "HWY-9999",
                "--odometer",
                "97000",
                "--instrument",
                "HW-T1",
                "--none-turned",
            ],
            "there is no job `HWY-9999`",
        ),
        (vec!["history", "A0ZWR05C6LK009999"], "no job of a vehicle"),
        (
            vec!["refit", "HWY-0423", "--check"],
            "no wheel of this job was torqued yet",
        ),
    ] {
        desk.at("2026-03-04T14:00:00+00:00", &args, "")
            .ends(Exit::NoAnswer)
            .says(words);
        assert!(journal() == before, "{args:?} wrote something");
    }
}

#[test]
fn a_missing_price_is_named_and_no_yes_is_taken_for_it() {
    let desk = inspected();
    std::fs::remove_file(desk.path("prices.toml")).unwrap();
    desk.at("2026-03-04T14:00:00+00:00", &["quote", "HWY-0423"], "")
        .ends(Exit::Good)
        .says("now cannot be said")
        .says("no price for rear.discs_pads, RR.slide_pins, fluid");
    desk.at(
        "2026-03-04T14:00:00+00:00",
        &["quote", "HWY-0423", "--call"],
        "yes\n",
    )
    .ends(Exit::NoAnswer)
    .says("no price for rear.discs_pads");
    desk.at(
        "2026-03-04T14:00:00+00:00",
        &["contact", "HWY-0423", "--yes", "fluid"],
        "",
    )
    .ends(Exit::NoAnswer)
    .says("a yes to an unknown price is no yes");
    desk.at(
        "2026-03-04T14:00:00+00:00",
        &["quote", "HWY-0423", "--set", "fluid=52"],
        "",
    )
    .ends(Exit::Good);
    desk.at(
        "2026-03-04T14:00:00+00:00",
        &["contact", "HWY-0423", "--yes", "fluid"],
        "",
    )
    .ends(Exit::Good);
    std::fs::write(
        desk.path("prices.toml"),
        "[[price]]\nwork = \"fluid\"\nfixed = \"-52\"\n",
    )
    .unwrap();
    desk.at("2026-03-04T14:00:00+00:00", &["quote", "HWY-0423"], "")
        .ends(Exit::NoAnswer)
        .says("prices.toml")
        .says("`-52` is negative");
}

#[test]
fn a_quote_before_anything_was_inspected_says_so() {
    let desk = Desk::yard();
    desk.play(include_str!("../../demo/HWY-0411.txt"), |s| {
        is(s, "job open")
    });
    desk.at("2026-03-02T08:50:00+00:00", &["quote", "HWY-0411"], "")
        .ends(Exit::NoAnswer)
        .says("nothing was inspected yet");
    desk.at("2026-03-02T08:50:00+00:00", &["refit", "HWY-0411"], "")
        .ends(Exit::NoAnswer)
        .says("nothing was inspected yet");
}

#[test]
fn a_re_torque_with_a_wrong_wrench_or_odometer_is_not_logged() {
    let desk = Desk::demo();
    let now = "2026-03-03T08:00:00+00:00";
    for (odometer, wrench, words) in [
        (
            "84171",
            "HW-T2",
            "the calibration of HW-T2 ended on 2025-12-31",
        ),
        ("84171", "HW-T3", "140 N·m is outside the range of HW-T3"),
        ("84171", "HW-T9", "torque wrenches: HW-T1, HW-T2, HW-T3"),
        ("52300", "HW-T1", "is below 84120 km of the job"),
        ("far", "HW-T1", "an odometer looks like 84171"),
        // 84 172 miles are 135 462 km (source: NIST SP 811 App. B, read; arithmetic own).
        (
            "135462",
            "HW-T1",
            "from 84120 km to 135462 km since 2026-03-02 is further than a vehicle drives",
        ),
    ] {
        let args = [
            "due",
            "--done",
            "HWY-0411",
            "--odometer",
            odometer,
            "--instrument",
            wrench,
            "--none-turned",
        ];
        desk.at(now, &args, "").ends(Exit::NoAnswer).says(words);
    }
    let sure = "due --done HWY-0411 --odometer 135462 --instrument HW-T1 --none-turned --confirm";
    let sure: Vec<&str> = sure.split(' ').collect();
    desk.at(now, &sure, "").ends(Exit::Good);
}

#[test]
fn a_damaged_job_is_named_and_the_others_are_still_listed() {
    let desk = Desk::demo();
    let path = desk.path("jobs/HWY-0417/journal.jsonl");
    let text = std::fs::read_to_string(&path).unwrap();
    std::fs::write(&path, text.replacen("27.947", "27.847", 1)).unwrap();
    let said = desk
        .at("2026-03-06T08:00:00+00:00", &["due"], "")
        .ends(Exit::NoAnswer)
        .says("not read: HWY-0417")
        .says("HWY-0411");
    assert!(!said.out.contains("HWY-0417"));
}
