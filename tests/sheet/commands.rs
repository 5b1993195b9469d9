//! The command, on the demonstration's jobs.

use super::*;

#[test]
fn the_demonstrations_sheet_says_what_the_customer_must_know() {
    let yard = Yard::demo();
    let sheet = |args: &[&str]| {
        yard.run(&[&["sheet"], args].concat())
            .ends(0)
            .out
            .replace('\u{a0}', " ")
    };
    let page = sheet(&["HWY-0411"]);
    for words in [
        "May it be driven?  Yes, until 89 457 km.",
        "Rear left, pad thickness. We measured 2.9 mm. The maker allows no less",
        "Before 89 457 km on the odometer.",
        "b 90 108 km: Rear right, pad thickness",
        "Signed by              Ilse Varga",
        "ssh-keygen -Y verify -f signers -I \"Ilse Varga\"",
        "“annual brake inspection 58.00”",
        "Do it by 84 170 km",
    ] {
        assert!(page.contains(words), "{words}\n{page}");
    }
    assert!(
        page.lines().all(|line| line.chars().count() <= 80),
        "{page}"
    );
    // Lines break where there is room.
    let flat = |page: String| page.split_whitespace().collect::<Vec<_>>().join(" ");
    let german = flat(sheet(&["HWY-0411", "--lang", "de"]));
    assert!(
        german.contains("Gemessen haben wir 2,9 mm.")
            && german.contains("Vor dem Stand 89 457 km."),
        "{german}"
    );
    let imperial = flat(sheet(&["HWY-0411", "--units", "imperial"]));
    // 2.9 mm = 0.114 in, 84 120 km = 52 269 mi, 140 N·m = 103 lbf·ft: by hand, rounded down.
    for words in ["0.11 in", "52 269 mi", "103 lbf·ft"] {
        assert!(imperial.contains(words), "{words}\n{imperial}");
    }
    let plain = yard.run(&["--plain", "sheet", "HWY-0429"]).ends(0).out;
    assert!(
        plain.contains("(?) Rear left, brake hose.") && !plain.contains('○'),
        "{plain}"
    );
    let stop = sheet(&["HWY-0423", "--revision", "1"]);
    assert!(
        stop.contains("No. Do not drive it before") && stop.contains("Revision               1"),
        "{stop}"
    );
    // As found the wheels are not back on yet: nothing is said of their fasteners' torque.
    assert!(stop.contains("State        as found") && !stop.contains("fasteners are confirmed"));
}

#[test]
fn a_sheet_of_a_job_changed_after_its_signature_names_the_signed_revision_and_how_to_print_it() {
    let yard = Yard::demo();
    yard.run(&["log", "HWY-0411", "RL", "hose", "sound"])
        .ends(0);
    let digest = yard.run(&["--json", "verify", "HWY-0411"]).ends(0).json()["records"][1]["check"]
        ["sha256"]
        .as_str()
        .unwrap()
        .to_owned();
    for edition in ["customer", "workshop"] {
        let page = yard
            .run(&["sheet", "HWY-0411", "--for", edition])
            .ends(0)
            .out;
        let flat = page.split_whitespace().collect::<Vec<_>>().join(" ");
        for words in [
            "! This job was changed after revision 2 was signed.",
            "This sheet is not what was signed.",
            "Revision 2",
            digest.as_str(),
            "brakecorner sheet HWY-0411 --revision 2",
        ] {
            assert!(flat.contains(words), "{words}\n{page}");
        }
        assert!(!page.contains("ssh-keygen") && !page.contains("No signed record"));
    }
    let page = yard.run(&["sheet", "HWY-0411", "--as", "html"]).ends(0).out;
    assert!(page.contains(&digest) && page.contains("--revision 2"));
    // Striking an entry out is a change too.
    let yard = Yard::demo();
    let path = yard.path("jobs/HWY-0411/journal.jsonl");
    let (mut journal, _) = brakecorner::shop::journal::Journal::open(&path).unwrap();
    let struck = Event::Struck {
        target: 20,
        reason: "typed twice".into(),
        second_person: None,
    };
    let at = "2026-03-02T12:00:00+00:00".parse().unwrap();
    journal.append(at, "Ilse Varga", &[struck]).unwrap();
    let page = yard.run(&["sheet", "HWY-0411"]).ends(0).out;
    assert!(page.contains("changed after revision 2"), "{page}");
    // The revision itself still is.
    let page = yard
        .run(&["sheet", "HWY-0411", "--revision", "2"])
        .ends(0)
        .out;
    assert!(page.contains("A signed record stands behind"), "{page}");
    assert!(
        yard.run(&["sheet", "HWY-0411", "--revision", "9"])
            .ends(2)
            .err
            .contains("no revision 9")
    );
}

#[test]
fn the_calendar_is_the_same_for_the_same_record_and_well_formed() {
    let yard = Yard::demo();
    let once = yard.run(&["sheet", "HWY-0411", "--calendar"]).ends(0).out;
    assert_eq!(
        once,
        yard.run(&["sheet", "HWY-0411", "--calendar"]).ends(0).out
    );
    for line in [
        "BEGIN:VCALENDAR\r\n",
        "UID:HWY-0411-retorque@brakecorner.invalid\r\n",
        "DTSTART;VALUE=DATE:20260309\r\n",
        "UID:HWY-0411-service@brakecorner.invalid\r\n",
        "DTSTART;VALUE=DATE:20270302\r\n",
        "DTSTAMP:20260302T",
    ] {
        assert!(once.contains(line), "{line}\n{once}");
    }
    // RFC 5545, 3.1: lines of at most 75 octets, ended by CR LF.
    assert!(
        once.split("\r\n")
            .all(|line| line.len() <= 75 && !line.contains('\n')),
        "{once}"
    );
}

#[test]
fn the_worksheet_has_every_scheduled_item_with_its_limit_and_a_box_a_reading() {
    let yard = Yard::demo();
    let page = yard
        .run(&["sheet", "HWY-0411", "--worksheet"])
        .ends(0)
        .out
        .replace('\u{a0}', " ");
    for words in [
        "Order of tightening: 1 3 5 2 4.",
        "Measuring points 1 to 10, in turning order from stud 1.",
        "42 N·m, 84 N·m, 140 N·m, then once more at full torque",
        "Disc thickness, at least 23.00 mm. Readings 1 to 10:",
        "Disc wobble, at most 0.080 mm.",
        "brakecorner log HWY-0411 RR",
    ] {
        assert!(page.contains(words), "{words}\n{page}");
    }
    let work = yard
        .run(&["sheet", "HWY-0411", "--worksheet", "--json"])
        .ends(0)
        .json();
    assert_eq!(
        work["pages"].as_array().unwrap().len(),
        2,
        "one page an axle"
    );
    let drum = yard.run(&["sheet", "HWY-0429", "--worksheet"]).ends(0).out;
    assert!(drum.contains("Drum diameter") && drum.contains("Lowest and highest of one slow turn"));
}

#[test]
fn nothing_is_overwritten_and_a_pdf_is_named_by_its_ending() {
    let yard = Yard::demo();
    yard.run(&["sheet", "HWY-0411", "-o", "a.pdf"]).ends(0);
    assert!(
        std::fs::read(yard.root().join("a.pdf"))
            .unwrap()
            .starts_with(b"%PDF-")
    );
    yard.run(&["sheet", "HWY-0411", "-o", "a.pdf"]).ends(2);
    yard.run(&["sheet", "HWY-0411", "-o", "a.html"]).ends(0);
    assert!(
        std::fs::read_to_string(yard.root().join("a.html"))
            .unwrap()
            .starts_with("<!DOCTYPE html>")
    );
    assert!(
        yard.run(&["sheet", "--template-default"])
            .ends(0)
            .out
            .contains("json(\"/sheet.json\")")
    );
}

/// A job opened with a customer's name.
fn with_customer() -> Yard {
    let yard = Yard::with_job();
    let open = [
        "job",
        "open",
        "T-9",
        "--vin",
        "A0ZDL07V7NK001122",
        "--odometer",
        "84200",
        "--class",
        "N1",
    ];
    let customer = ["--customer", "Mara Ellwood", "--telephone", "00 11 22"];
    yard.run(&[&open[..], &customer].concat()).ends(0);
    yard
}

#[test]
fn the_customers_name_stands_on_the_sheet_until_it_is_forgotten_and_never_at_the_wheel() {
    let yard = with_customer();
    let page = |args: &[&str]| yard.run(&[&["sheet", "T-9"], args].concat()).ends(0).out;
    assert!(page(&[]).contains("Mara Ellwood") && !page(&[]).contains("00 11 22"));
    assert!(!page(&["--worksheet"]).contains("Mara") && !page(&["--tag"]).contains("Mara"));
    // Another name than the one the record has the digest of is not shown as the customer's.
    let private = yard.path("jobs/T-9/private.toml");
    let text = std::fs::read_to_string(&private).unwrap();
    std::fs::write(&private, text.replace("Mara", "Nora")).unwrap();
    let changed = page(&[]);
    assert!(
        changed.contains("the name on file is not the one recorded"),
        "{changed}"
    );
    assert!(!changed.contains("Ellwood"));
    std::fs::write(&private, text).unwrap();
    yard.run(&["job", "forget", "T-9"]).ends(0);
    let forgotten = page(&[]);
    assert!(
        forgotten.contains("the name was deleted on request"),
        "{forgotten}"
    );
    assert!(page(&["--lang", "de"]).contains("der Name wurde auf Wunsch gelöscht"));
    // Nobody gave a name to the other job: nothing was deleted there.
    assert!(!yard.run(&["sheet", "T-1"]).ends(0).out.contains("Customer"));
}

#[test]
fn sides_are_called_as_the_workshop_calls_them() {
    let yard = Yard::demo();
    let settings = yard.path("workshop.toml");
    let text = std::fs::read_to_string(&settings).unwrap();
    for (sides, word) in [("nearside_left", "nearside"), ("nearside_right", "offside")] {
        let lines = text.lines().filter(|line| !line.starts_with("sides"));
        let set = std::iter::once(format!("sides = \"{sides}\"")).chain(lines.map(str::to_owned));
        std::fs::write(&settings, set.collect::<Vec<_>>().join("\n")).unwrap();
        let page = yard.run(&["sheet", "HWY-0411"]).ends(0).out;
        assert!(
            page.contains(&format!("Rear {word}, pad thickness. We measured 2.9")),
            "{page}"
        );
        assert!(!page.contains("Rear left") && !page.contains("Front right"));
        let work = yard.run(&["sheet", "HWY-0411", "--worksheet"]).ends(0).out;
        // What is typed stays the same.
        assert!(work.contains(&format!("Front {word}")) && work.contains("log HWY-0411 FL"));
    }
}

#[test]
fn a_workshops_settings_are_kept_to_and_a_wrong_one_is_named() {
    let yard = Yard::demo();
    let settings = "language = \"de\"\nunits = \"imperial\"\npaper = \"letter\"\n";
    std::fs::write(yard.path("sheet.toml"), settings).unwrap();
    let json = yard.run(&["--json", "sheet", "HWY-0411"]).ends(0).json();
    assert_eq!(
        (&json["language"], &json["paper"]),
        (&"de".into(), &"letter".into())
    );
    assert!(json.to_string().contains("52\u{a0}269\u{a0}mi"));
    // The command's own choice comes first.
    let json = yard.run(&[
        "--json", "sheet", "HWY-0411", "--lang", "en", "--paper", "a4",
    ]);
    let json = json.ends(0).json();
    assert_eq!(
        (&json["language"], &json["paper"]),
        (&"en".into(), &"a4".into())
    );
    for (wrong, named) in [("paper = \"a5\"", "a5"), ("color = 1", "color")] {
        std::fs::write(yard.path("sheet.toml"), wrong).unwrap();
        let said = yard.run(&["sheet", "HWY-0411"]).ends(2);
        assert!(
            said.err.contains("sheet.toml") && said.err.contains(named),
            "{}",
            said.err
        );
    }
}

#[test]
fn what_cannot_be_done_is_said_with_what_to_do() {
    let yard = Yard::demo();
    let fails = |args: &[&str]| yard.run(&[&["sheet"], args].concat()).ends(2).err;
    let said = fails(&["HWY-0411", "--revision", "9"]);
    assert!(
        said.contains("there is no revision 9; the job has 2"),
        "{said}"
    );
    let said = fails(&["HWY-0411", "-o", "nowhere/a.html"]);
    assert!(said.contains("nowhere"), "{said}");
    let said = fails(&["HWY-9999"]);
    assert!(said.contains("HWY-9999"), "{said}");
    let said = fails(&["HWY-0411", "--as", "docx"]);
    assert!(said.contains("docx"), "{said}");
    let said = fails(&[]);
    assert!(said.contains("JOB"), "{said}");
    // A revision somebody changed.
    let record = yard.path("jobs/HWY-0411/record-1.json");
    let text = std::fs::read_to_string(&record).unwrap();
    std::fs::write(&record, text.replacen("24.308", "24.309", 1)).unwrap();
    let said = fails(&["HWY-0411", "--revision", "1"]);
    assert!(said.contains("revision 1 does not verify"), "{said}");
    // No program that shows files.
    let mut command = yard.command(&[
        "sheet", "HWY-0417", "--as", "html", "-o", "a.html", "--open",
    ]);
    let said = common::Said::from(command.env("PATH", "").output().unwrap()).ends(2);
    assert!(
        said.err.contains("open ") && said.err.contains("a.html by hand"),
        "{}",
        said.err
    );
    assert!(yard.root().join("a.html").exists());
}

#[cfg(feature = "pdf")]
#[test]
fn a_templates_error_is_named_with_file_and_line() {
    let yard = Yard::demo();
    let ours = yard.run(&["sheet", "--template-default"]).ends(0).out;
    std::fs::write(yard.root().join("our.typ"), &ours).unwrap();
    yard.run(&[
        "sheet",
        "HWY-0411",
        "--template",
        "our.typ",
        "-o",
        "same.pdf",
    ])
    .ends(0);
    let built_in = std::fs::read(yard.path("sheets/HWY-0411.pdf")).unwrap();
    assert!(std::fs::read(yard.root().join("same.pdf")).unwrap() == built_in);
    let line = ours
        .lines()
        .position(|l| l.starts_with("#let sheet()"))
        .unwrap()
        + 1;
    let broken = ours.replacen("#let sheet() = [", "#let sheet() = [#nonsense", 1);
    std::fs::write(yard.root().join("our.typ"), broken).unwrap();
    let said = yard
        .run(&["sheet", "HWY-0411", "--template", "our.typ", "-o", "b.pdf"])
        .ends(2);
    let wanted = format!("our.typ:{line}: unknown variable: nonsense");
    assert!(said.err.contains(&wanted), "{wanted}\n{}", said.err);
    assert!(said.err.contains("--template-default"), "{}", said.err);
    assert!(!yard.root().join("b.pdf").exists());
    let said = yard
        .run(&["sheet", "HWY-0411", "--template", "no.typ"])
        .ends(2);
    assert!(said.err.contains("no.typ"), "{}", said.err);
    // Nothing of the computer is read.
    let peek = "#set document(title: \"x\")\n= x\n#read(\"/etc/hostname\")";
    std::fs::write(yard.root().join("our.typ"), peek).unwrap();
    let said = yard
        .run(&["sheet", "HWY-0411", "--template", "our.typ", "-o", "c.pdf"])
        .ends(2);
    assert!(said.err.contains("our.typ:3: "), "{}", said.err);
}
