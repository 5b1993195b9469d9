//! Single commands as a user runs them, with right and with wrong input.

mod common;

use common::Yard;

#[test]
fn a_folder_that_is_no_workshop_is_named_with_what_to_do() {
    let yard = Yard::empty();
    let said = yard.run(&["verdict", "T-1"]).ends(2);
    assert!(said.err.contains("no workshop found in"), "{}", said.err);
    assert!(said.err.contains("brakecorner init DIR"), "{}", said.err);
    let said = yard.run(&["--shop", "nowhere", "verdict", "T-1"]).ends(2);
    assert!(said.err.contains("is no workshop"), "{}", said.err);
}

#[test]
fn unknown_corners_items_jobs_and_defects_are_named_with_the_known_ones() {
    let yard = Yard::with_job();
    for (args, words) in [
        (
            ["log", "T-1", "XL", "hose", "sound"],
            "corners are FL FR RL RR",
        ),
        (
            ["log", "T-1", "FL", "disc.thicknes", "1"],
            "did you mean `disc.thickness`?",
        ),
        (
            ["log", "T-9", "FL", "hose", "sound"],
            "there is no job `T-9`",
        ),
        (
            ["log", "T-1", "FL", "hose", "banana"],
            "sound, defect CODE [NOTE], or not-inspected",
        ),
        (
            ["log", "T-1", "FL", "fluid.boiling", "212"],
            "belongs to `vehicle`, not to `FL`",
        ),
        (
            ["log", "T-1", "FL", "disc.variation", "3"],
            "follows from other readings",
        ),
        (
            ["log", "T-1", "FL", "disc.thickness", "24.3x"],
            "nothing was logged",
        ),
        (
            ["log", "T-1", "FL", "hose", "not-inspected"],
            "never without a reason",
        ),
    ] {
        let before = yard.journal("T-1");
        let said = yard.run(&args).ends(2);
        assert!(said.err.contains(words), "{args:?}: {}", said.err);
        assert_eq!(yard.journal("T-1"), before, "{args:?} wrote something");
    }
    let said = yard
        .run(&["log", "T-1", "FL", "hose", "defect", "sad"])
        .ends(2);
    assert!(
        said.err.contains("defects of hose: leak, cords"),
        "{}",
        said.err
    );
}

#[test]
fn a_reading_ten_times_too_big_is_asked_about_and_kept_when_confirmed() {
    let yard = Yard::with_job();
    let args = [
        "log",
        "T-1",
        "FL",
        "disc.thickness",
        "243.08",
        "24.3",
        "24.3",
        "24.3",
    ];
    let said = yard.run(&args).ends(2);
    assert!(
        said.err
            .contains("is it 24.308 mm, because the decimal point slipped?"),
        "{}",
        said.err
    );
    assert!(said.err.contains("--confirm"), "{}", said.err);
    let mut confirmed = args.to_vec();
    confirmed.push("--confirm");
    yard.run(&confirmed).ends(0);
    let journal = yard.journal("T-1").join("\n");
    assert!(journal.contains(r#""text":"243.08""#) && journal.contains(r#""confirmed":true"#));
    assert!(
        journal.contains("the decimal point slipped"),
        "the question is kept beside the answer"
    );
}

#[test]
fn logging_a_ring_gives_its_verdict_at_once() {
    let yard = Yard::with_job();
    let values = "0.000 0.001 -0.019 -0.054 -0.090 -0.108 -0.106 -0.087 -0.048 -0.015 0.000";
    let mut args = vec!["log", "T-1", "FR", "disc.runout"];
    args.extend(values.split(' '));
    let said = yard.run(&args).ends(0);
    assert!(said.out.contains("FAIL"), "{}", said.out);
    assert!(
        said.out.contains("0.116 mm, may not be above 0.080 mm"),
        "{}",
        said.out
    );
}

#[test]
fn errors_are_json_when_results_are() {
    let yard = Yard::with_job();
    let said = yard
        .run(&["--json", "log", "T-1", "XL", "hose", "sound"])
        .ends(2);
    assert!(
        said.json()["error"]["message"]
            .as_str()
            .unwrap()
            .contains("`XL` is not a corner")
    );
    assert!(
        said.json()["error"]["hints"][0]
            .as_str()
            .unwrap()
            .contains("FL FR RL RR")
    );
}

/// The commands below a command, or below none, with the line that the list of them gives each.
fn listed(yard: &Yard, path: &[&str]) -> Vec<(String, String)> {
    let mut args = path.to_vec();
    args.push("--help");
    let said = yard.run(&args).ends(0);
    let Some((_, list)) = said.out.split_once("Commands:\n") else {
        return vec![];
    };
    let list = list.split_once("\n\n").map_or(list, |(list, _)| list);
    let mut found: Vec<(String, String)> = vec![];
    for line in list.lines() {
        // A long line goes on below its beginning, further in.
        match line.strip_prefix("  ").filter(|l| !l.starts_with(' ')) {
            Some(entry) => {
                let (name, says) = entry.split_once(' ').unwrap_or((entry, ""));
                found.push((name.to_owned(), says.trim().to_owned()));
            }
            None => {
                if let Some((_, says)) = found.last_mut() {
                    *says = format!("{says} {}", line.trim()).trim().to_owned();
                }
            }
        }
    }
    found.retain(|(name, _)| name != "help");
    found
}

#[test]
fn every_command_has_help_with_an_example_and_is_listed_as_its_own_help_begins() {
    let yard = Yard::empty();
    let mut seen = 0;
    for (command, says) in listed(&yard, &[]) {
        let below = listed(&yard, &[&command]);
        let mut paths = vec![(vec![command.as_str()], says.as_str())];
        for (sub, says) in &below {
            paths.push((vec![command.as_str(), sub.as_str()], says.as_str()));
        }
        for (path, says) in paths {
            let mut args = path.clone();
            args.push("--help");
            let said = yard.run(&args).ends(0);
            let whole = said.out.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(whole.starts_with(says), "{path:?}: {says}\n{}", said.out);
            // Where there are commands below, the examples stand with them.
            let example = said.out.contains("Example") || said.out.contains("Commands:\n");
            assert!(example, "{path:?}: {}", said.out);
            assert!(said.out.contains("--json"), "{path:?}: {}", said.out);
            seen += 1;
        }
    }
    assert!(seen > 50, "{seen} commands");
}

#[test]
fn every_command_has_a_manual_page_and_stands_in_the_completions() {
    let yard = Yard::empty();
    yard.run(&["man", "--to", "pages"]).ends(0);
    let pages: Vec<String> = std::fs::read_dir(yard.path("").parent().unwrap().join("pages"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    let completions = yard.run(&["completions", "bash"]).ends(0).out;
    for (command, _) in listed(&yard, &[]) {
        let page = format!("brakecorner-{command}.1");
        assert!(pages.contains(&page), "{page} of {pages:?}");
        assert!(
            completions.contains(&format!("brakecorner,{command})")),
            "{command}"
        );
    }
    let disc = yard.run(&["man", "check", "disc"]).ends(0).out;
    assert!(
        disc.contains("dtv\\-limit") || disc.contains("dtv-limit"),
        "{disc}"
    );
    let unknown = yard.run(&["man", "check", "disk"]).ends(2);
    assert!(
        unknown.err.contains("there is no command `check disk`"),
        "{}",
        unknown.err
    );
}

#[test]
fn a_typing_error_in_a_command_is_met_with_a_suggestion() {
    let yard = Yard::empty();
    let said = yard.run(&["verdit", "T-1"]).ends(2);
    assert!(said.err.contains("verdict"), "{}", said.err);
}

#[test]
fn a_reader_that_goes_away_never_turns_a_bad_verdict_into_a_good_one() {
    let yard = Yard::demo();
    let mut child = yard.start(&["verdict", "HWY-0411"]);
    drop(child.stdout.take());
    let status = child.wait().unwrap();
    assert_ne!(status.code(), Some(0));
    let mut err = String::new();
    std::io::Read::read_to_string(&mut child.stderr.take().unwrap(), &mut err).unwrap();
    assert_eq!(err, "", "a broken pipe is quiet");
}

#[test]
fn colour_is_never_used_in_a_pipe_and_never_needed() {
    let yard = Yard::demo();
    assert!(!yard.run(&["verdict", "HWY-0411"]).out.contains('\u{1b}'));
    assert!(
        yard.run(&["verdict", "HWY-0411", "--color", "always"])
            .out
            .contains('\u{1b}')
    );
    let plain = yard.run(&["verdict", "HWY-0411", "--plain"]).out;
    assert!(plain.is_ascii(), "{plain}");
    assert!(plain.contains("~ ADVISE") && plain.contains("o PASS"));
}

#[test]
fn signing_is_refused_with_the_list_of_what_is_open() {
    let yard = Yard::with_job();
    let said = yard.run(&["sign", "T-1"]).ends(2);
    for words in [
        "steps of the inspection as found",
        "FL: a fastener's torque is not confirmed",
        "before it moves: pedal pumped until firm",
    ] {
        assert!(said.err.contains(words), "`{words}`: {}", said.err);
    }
    // A reason opens the way for an unfinished inspection, never for an unconfirmed fastener.
    yard.run(&["sign", "T-1", "--incomplete", "customer in a hurry"])
        .ends(2);
    let said = yard
        .run(&[
            "sign",
            "T-1",
            "--as-found",
            "--incomplete",
            "customer in a hurry",
        ])
        .ends(0);
    assert!(said.out.contains("revision 1"), "{}", said.out);
    let record = std::fs::read_to_string(yard.path("jobs/T-1/record-1.json")).unwrap();
    assert!(record.contains("customer in a hurry"));
}

#[test]
fn an_unsigned_job_proves_nothing_and_says_so() {
    let yard = Yard::with_job();
    let said = yard.run(&["verify", "T-1"]).ends(2);
    assert!(
        said.err.contains("an unsigned journal proves nothing"),
        "{}",
        said.err
    );
    let sheet = yard.run(&["sheet", "T-1"]).ends(0).out;
    assert!(sheet.contains("Not signed"), "{sheet}");
}

#[test]
fn nothing_inspected_is_incomplete_and_never_a_pass() {
    let yard = Yard::with_job();
    let verdict = yard.run(&["verdict", "T-1", "--json"]).ends(1).json();
    assert_eq!(verdict["verdict"], "INCOMPLETE");
}

#[test]
fn an_instrument_out_of_calibration_gives_no_pass() {
    let yard = Yard::with_job();
    yard.run(&[
        "instrument",
        "add",
        "OLD",
        "--kind",
        "pad_gauge",
        "--resolution",
        "0.1",
        "--error",
        "0.1",
        "--calibrated-until",
        "2020-01-31",
    ])
    .ends(0);
    let said = yard
        .run(&[
            "log",
            "T-1",
            "FL",
            "pads.thickness",
            "inner=6.1",
            "outer=6.3",
            "--instrument",
            "OLD",
        ])
        .ends(0);
    assert!(said.out.contains("ADVISE"), "{}", said.out);
    assert!(
        said.out
            .contains("the calibration of OLD ended on 2020-01-31"),
        "{}",
        said.out
    );
    yard.run(&["instrument", "check"]).ends(1);
}

#[test]
fn a_torque_wrench_is_in_newton_metres_and_no_instrument_shows_another_kind_s_unit() {
    let yard = Yard::with_job();
    let add = |id: &str, rest: &str| {
        let mut args = vec!["instrument", "add", id, "--kind"];
        args.extend(rest.split(' '));
        yard.run(&args)
    };
    let said = add("HW-T7", "torque_wrench --range 40-200").ends(0);
    assert!(said.out.contains("40-200 N·m"), "{}", said.out);
    add("HW-T8", "torque_wrench --unit lbf·ft").ends(0);
    for (rest, hint) in [
        ("torque_wrench --unit mm", "a torque wrench shows N·m"),
        ("micrometer --unit N·m", "a micrometer shows mm"),
        ("fluid_tester --unit mm", "a fluid tester shows °C"),
        ("roller_tester --unit mm", "a roller tester shows N"),
    ] {
        let said = add("HW-X1", rest).ends(2);
        assert!(said.err.contains(hint), "{rest}: {}", said.err);
    }
    yard.run(&["instrument", "edit", "HW-M1", "--kind", "torque_wrench"])
        .ends(2);
}

#[test]
fn what_no_part_can_measure_is_refused_and_never_kept() {
    let yard = Yard::with_job();
    let before = yard.journal("T-1").len();
    for (args, named) in [
        ("FL disc.thickness sound", "`disc.thickness` is measured"),
        (
            "FL disc.thickness defect thin",
            "`disc.thickness` is measured",
        ),
        (
            "FL disc.thickness 24.308 --temperature -200",
            "-200, expected -60 to 900 °C",
        ),
        (
            "FL disc.thickness 24.308 --gauge-temperature 2000",
            "expected -60 to 900 °C",
        ),
        (
            "FL disc.runout 0.000 0.010 0.020 0.000 --clocking 99",
            "0 to 4",
        ),
        ("FL disc.thickness 24.308 --clocking 1", "has no clocking"),
        (
            "FL bearing.float --confirm -- -0.004",
            "-0.004 mm, expected 0 mm or more",
        ),
        ("FL disc.runout --confirm swept=-0.031", "-0.031 mm"),
        ("FL hose sound quite", "`sound` stands alone"),
        ("FL hose sound --temperature 20", "not with a look"),
        (
            "vehicle brake.service_efficiency FL=-1 FR=1 RL=1 RR=1 mass=1432",
            "expected 0 to 1000000 N",
        ),
    ] {
        let mut all = vec!["log", "T-1"];
        all.extend(args.split(' '));
        let said = yard.run(&all).ends(2);
        assert!(said.err.contains(named), "{args}: {}", said.err);
    }
    assert_eq!(yard.journal("T-1").len(), before);
}

#[test]
fn plain_output_is_ascii_whatever_the_command() {
    let yard = Yard::demo();
    for args in [
        "verdict HWY-0423",
        "verdict HWY-0423 --why disc.thickness RR",
        "verdict HWY-0417 --why disc.runout FR",
        "verdict HWY-9999",
        "sheet HWY-0423",
        "sheet HWY-0423 --lang de",
        "sheet HWY-0429 --worksheet",
        "quote HWY-0423",
        "contact HWY-0423",
        "history A0ZWR05C6LK004096",
        "due --within 400d",
        "verify HWY-0423",
        "audit",
        "job list",
        "instrument list",
        "instrument edit HW-T1 --unit N·m --range 40-210",
        "instrument remove HW-M1",
        "vehicle list",
        "vehicle show A0ZWR05C6LK004096",
        "spec list",
        "spec show gb",
        "spec template",
        "check torque --fasteners 5 --target 140",
        "check disc --readings 22.01",
        "check runout --readings 0 --stylus-angle 89",
        "log HWY-0411 XX hose sound",
        "walk HWY-0423",
        "practice --seed 1",
        "--by Zoë contact HWY-0411 --not-reached",
        "contact HWY-0411",
    ] {
        let mut all = vec!["--plain"];
        all.extend(args.split(' '));
        let said = yard.typed(&all, "-\nhelp\nwhy\nquit\n");
        let text = said.out + &said.err;
        let sign = text.chars().find(|c| !c.is_ascii());
        assert_eq!(sign, None, "{args}: {text}");
        assert!(!text.is_empty(), "{args}");
    }
    // JSON is data, and stays as it is.
    let json = yard.run(&["--plain", "--json", "instrument", "list"]);
    assert!(json.out.contains("N·m"), "{}", json.out);
}

#[test]
fn an_odometer_is_printed_in_whole_kilometres_and_never_below_nothing() {
    let yard = Yard::with_job();
    let open = |job: &str, odometer: &str| {
        let mut args = vec!["job", "open", job, "--vin", "A0ZTN12S0MK000417"];
        args.extend(["--class", "M1", "--odometer", odometer, "--confirm"]);
        yard.run(&args)
    };
    for below in ["-5", "-0.5 mi"] {
        let said = open("T-2", below).ends(2);
        assert!(
            said.err.contains("no odometer shows less than 0"),
            "{}",
            said.err
        );
    }
    open("T-2", "52270 mi").ends(0);
    let log = |more: &[&str]| {
        let mut args = vec!["log", "T-2", "FL", "pads.thickness"];
        args.extend(["inner=6.1", "outer=6.3"]);
        args.extend(more);
        yard.run(&args)
    };
    let said = log(&["--fitted-at", "60000 mi"]).ends(2);
    assert!(
        said.err
            .contains("fitted at 96561 km, which is not before the odometer of this job, 84120 km"),
        "{}",
        said.err
    );
    log(&[]).ends(0);
    let said = yard.run(&["history", "A0ZTN12S0MK000417"]).ends(0);
    assert!(
        said.out.contains("84120 km") && !said.out.contains("84120."),
        "{}",
        said.out
    );
}

#[test]
fn a_workshop_without_a_name_is_not_made() {
    let yard = Yard::empty();
    for name in ["", "  "] {
        let said = yard.run(&["init", "shop", "--name", name]).ends(2);
        assert!(
            said.err.contains("the workshop has no name"),
            "{}",
            said.err
        );
    }
    assert!(!yard.path("workshop.toml").exists());
}

#[test]
fn one_of_a_thing_is_said_in_the_singular() {
    let yard = Yard::with_job();
    let said = yard.run(&["log", "T-1", "FL", "hose", "sound"]).ends(0);
    assert!(said.out.contains("logged 1 entry: FL hose"), "{}", said.out);
    let mut args = vec!["check", "study"];
    args.extend(["--part", "0.010 0.012", "--part", "0.030 0.031"]);
    let said = yard.run(&args).ends(0);
    assert!(
        said.out.contains("2 parts × 1 person × 2 readings"),
        "{}",
        said.out
    );
}

#[test]
fn a_later_answer_names_a_day_or_nothing() {
    let yard = Yard::demo();
    let said = yard
        .run(&["contact", "HWY-0423", "--later", "fluid:garbage"])
        .ends(2);
    assert!(said.err.contains("`garbage` is no day"), "{}", said.err);
}

#[test]
fn the_exit_code_says_whether_there_was_an_answer_and_whether_it_is_good() {
    let yard = Yard::demo();
    std::fs::write(yard.path("none.toml"), "no toml [\n").unwrap();
    yard.run(&["spec", "check", "shop/none.toml"]).ends(2);
    let said = yard.run(&["verify", "shop/none.toml"]).ends(2);
    assert!(said.err.contains("is no record"), "{}", said.err);
    // A signed record that was spoilt is an answer: not valid.
    std::fs::write(yard.path("jobs/HWY-0411/record-1.json"), "no json\n").unwrap();
    yard.run(&["verify", "shop/jobs/HWY-0411/record-1.json"])
        .ends(1);
    let why = |more: &[&str], code: i32| {
        let mut args = vec!["verdict", "HWY-0423", "--why"];
        args.extend(more);
        yard.run(&args).ends(code)
    };
    let said = why(&["pads.thickness", "RR"], 1);
    assert!(said.out.contains("FAIL, do not drive"), "{}", said.out);
    let said = why(&["pads.thickness", "RR", "--as-left"], 0);
    assert!(!said.out.contains("as found"), "{}", said.out);
    why(&["pads.thickness", "FL", "--as-left"], 0);
    let said = yard.run(&["verdict", "HWY-0423", "--as-left"]).ends(2);
    assert!(
        said.err.contains("goes with --why or --override"),
        "{}",
        said.err
    );
}
