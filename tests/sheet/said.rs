//! What the sheet says.

use super::jobs::*;
use super::*;

#[test]
fn a_revised_quote_has_three_words_to_strike_out_on_every_line() {
    let bench = Bench::new();
    let (job, extra, _) = huge();
    let model = bench.model(&job, &extra, form(Edition::Customer));
    let page = html::render(&model);
    assert_eq!(
        page.matches("<span>do it</span><span>leave it</span><span>ask me on ")
            .count(),
        10
    );
    assert!(page.contains("310.00 ISD") && page.contains("it stays outside its limit"));
    let text = text::render(&model, Signs::Ascii);
    assert_eq!(
        text.matches("do it   *   leave it   *   ask me on").count(),
        10
    );
}

#[test]
fn metric_and_imperial_sheets_tell_the_same_findings() {
    let (job, extra, _) = huge();
    let bench = Bench::new();
    let lines = |units| {
        let model = bench.model(
            &job,
            &extra,
            Form {
                units,
                ..Form::default()
            },
        );
        model
            .groups
            .iter()
            .map(|g| {
                g.lines
                    .iter()
                    .map(|l| l.subject.clone())
                    .collect::<Vec<_>>()
            })
            .collect::<Vec<_>>()
    };
    assert_eq!(lines(Units::Metric), lines(Units::Imperial));
}

#[test]
fn the_workshops_edition_names_causes_with_what_speaks_for_them() {
    let (bench, job) = scenario("HWY-0423", "wrenfold");
    let model = bench.model(&job, &Extra::default(), form(Edition::Workshop));
    let technical = model.technical.as_ref().unwrap();
    let pins = technical.causes.iter().find(|c| c.cause.contains("pin"));
    let pins = pins.unwrap_or_else(|| panic!("{:?}", technical.causes));
    assert!(!pins.evidence_for.is_empty() && !pins.next_test.is_empty());
    let text = text::render(&model, Signs::Unicode);
    assert!(text.contains("LIKELY CAUSES"), "{text}");
    let customer = bench.model(&job, &Extra::default(), form(Edition::Customer));
    assert!(customer.technical.is_none());
}

#[test]
fn corners_of_a_third_axle_have_words() {
    let corner: Corner = "3L".parse().unwrap();
    let forms = brakecorner::sheet::forms::Forms::new(Language::De, Units::Metric);
    assert_eq!(forms.place(Place::Corner(corner)), "Achse 3 links");
}

/// Compares with a file under `tests/data/sheets`; `BRAKECORNER_UPDATE=1` writes it anew, and the
/// difference is then for a person to read.
#[track_caller]
fn as_kept(name: &str, got: &str) {
    let path = format!("{}/tests/data/sheets/{name}", env!("CARGO_MANIFEST_DIR"));
    if std::env::var_os("BRAKECORNER_UPDATE").is_some() {
        std::fs::write(&path, got).unwrap();
    }
    let kept = std::fs::read_to_string(&path).unwrap_or_default();
    let odd = kept.lines().zip(got.lines()).find(|(a, b)| a != b);
    assert!(
        kept == got,
        "{name} differs, first at {odd:?}; BRAKECORNER_UPDATE=1 writes it anew"
    );
}

#[test]
fn text_and_page_are_as_they_were_kept() {
    let (bench, job) = scenario("HWY-0417", "ternway");
    let extra = Extra {
        workshop: "Hollin Wharf Yard".into(),
        ..Extra::default()
    };
    let model = bench.model(&job, &extra, form(Edition::Workshop));
    as_kept(
        "HWY-0417-workshop.txt",
        &text::render(&model, Signs::Unicode),
    );
    // One element a line, so that a difference can be read.
    let page = html::render(&bench.model(&job, &extra, form(Edition::Customer)));
    as_kept("HWY-0417-customer.html", &page.replace("><", ">\n<"));
    let german = Form {
        language: Language::De,
        units: Units::Imperial,
        ..Form::default()
    };
    let (bench, job) = scenario("HWY-0423", "wrenfold");
    as_kept(
        "HWY-0423-de.txt",
        &text::render(&bench.model(&job, &extra, german), Signs::Ascii),
    );
}

/// Little words that only an English sentence has.
fn english(text: &str) -> Option<&'static str> {
    let padded = format!(" {} ", text.replace(['\u{a0}', ':', ';', ',', '.'], " "));
    [
        " the ", " is ", " of ", " and ", " by ", " with ", " are ", " at ",
    ]
    .into_iter()
    .find(|word| padded.contains(word))
}

#[test]
fn a_german_sheet_has_no_english_sentence_but_what_was_quoted() {
    let mut causes = 0;
    for (job, sheet) in [
        ("HWY-0411", "dunling"),
        ("HWY-0417", "ternway"),
        ("HWY-0423", "wrenfold"),
    ] {
        let (bench, job) = scenario(job, sheet);
        let german = Form {
            language: Language::De,
            ..form(Edition::Workshop)
        };
        let model = bench.model(&job, &Extra::default(), german);
        let technical = model.technical.as_ref().unwrap();
        for cause in &technical.causes {
            causes += 1;
            let said = [&cause.cause, &cause.next_test, &cause.ruled_out_by];
            for text in said
                .into_iter()
                .chain(&cause.evidence_for)
                .chain(&cause.against)
            {
                assert_eq!(english(text), None, "{text}");
                let dotted = text
                    .as_bytes()
                    .windows(3)
                    .any(|w| w[0].is_ascii_digit() && w[1] == b'.' && w[2].is_ascii_digit());
                assert!(!dotted, "a decimal point: {text}");
            }
        }
        for happened in &technical.timeline {
            // A reason or an answer is quoted as it was given.
            let own: String = happened
                .event
                .split('„')
                .map(|p| p.rsplit('“').next().unwrap())
                .collect();
            assert!(!own.contains("Eintrag der Art"), "{own}");
            assert!(
                english(&own).is_none() || happened.event.contains(" abgelehnt: "),
                "{own}"
            );
        }
        for line in model.groups.iter().flat_map(|g| &g.lines) {
            for text in line.sentences.iter().filter(|t| !t.contains('„')) {
                assert_eq!(english(text), None, "{text}");
            }
        }
        let odd = model.head.labels.values().find(|l| english(l).is_some());
        assert_eq!(odd, None);
    }
    assert!(causes > 8, "only {causes} causes were looked at");
}

#[test]
fn an_override_is_said_to_the_customer_with_its_reason_and_listed_for_the_workshop() {
    let bench = Bench::new();
    let over = |verdict, second: Option<&str>, reason: &str| Event::Overridden {
        place: "FL".parse().unwrap(),
        item: Item::Hose,
        phase: Phase::AsFound,
        verdict,
        reason: reason.into(),
        second_person: second.map(str::to_owned),
    };
    let seen = Event::Seen {
        place: "FL".parse().unwrap(),
        item: Item::Hose,
        phase: Phase::AsFound,
        observation: Observation::Defect {
            code: "chafe".into(),
            note: String::new(),
        },
    };
    use brakecorner::job::Override;
    let stands = over(Override::Fail, None, "chafed nearly through");
    let refused = over(Override::Pass, None, "looks fine to me");
    let opened = Event::Opened(Box::new(opening()));
    let job = job_of(&[opened, seen, stands, refused], "Ilse Varga");
    let model = bench.model(&job, &Extra::default(), form(Edition::Workshop));
    let now = &model.groups[0].lines;
    let hose = now
        .iter()
        .find(|l| l.subject.contains("brake hose"))
        .unwrap();
    let said = hose.sentences.join(" ");
    assert!(
        said.contains("set this verdict by hand") && said.contains("“chafed nearly through”"),
        "{said}"
    );
    let listed = &model.technical.as_ref().unwrap().overrides;
    assert_eq!(listed.len(), 2, "{listed:?}");
    assert!(
        listed[0].event.contains("“chafed nearly through”"),
        "{listed:?}"
    );
    assert!(listed[1].event.contains("does not stand"), "{listed:?}");
}

#[test]
fn a_discs_forecast_is_a_mark_on_the_distance_line_at_its_earliest() {
    let bench = Bench::new();
    let earlier = Event::Earlier {
        corner: "FL".parse().unwrap(),
        item: Item::DiscThickness,
        odometer: Distance::from_whole_km(44_120),
        thickness: brakecorner::units::Length::from_nm(25_400_000),
        source: "invoice".into(),
        date: None,
        since: Default::default(),
    };
    let mut events = vec![Event::Opened(Box::new(opening())), earlier];
    events.extend((1..=10).map(|n| reading("FL", Item::DiscThickness, Slot::Point(n), 24_000)));
    let job = job_of(&events, "Ilse Varga");
    let case = bench.case(&job);
    let judgement = judge::judge(&case);
    let json = serde_json::to_value(&judgement).unwrap();
    let items = json["corners"]["FL"]["items"].as_array().unwrap();
    let disc = items
        .iter()
        .find(|i| i["item"] == "disc.thickness")
        .unwrap();
    let left = disc["results"]["forecast"]["distance_left_lower_km"]
        .as_i64()
        .unwrap();
    let model = bench.model(&job, &Extra::default(), form(Edition::Customer));
    let line = model.distance.unwrap();
    let mark = line
        .marks
        .iter()
        .find(|m| m.part.contains("disc thickness"))
        .unwrap();
    let at: String = mark.at.chars().filter(char::is_ascii_digit).collect();
    assert_eq!(at.parse::<i64>().unwrap(), 84_120 + left);
    assert!(left > 0 && left < 40_000, "{left}");
}

#[test]
fn names_in_any_writing_and_long_words_stand_whole_on_every_form() {
    let bench = Bench::new();
    let names = [
        "Ωμέγα Булгаков",
        "שלום עולם",
        "مرحبا بالعالم",
        "ქართული",
        "李小龍",
    ];
    let long = "Donaudampfschifffahrtsgesellschaftskapitänsmützenbandfabrik".repeat(3);
    let complaint = format!("{} {long}", names.join(" / "));
    let opened = Event::Opened(Box::new(Opening {
        complaint: complaint.clone(),
        ..opening()
    }));
    let job = job_of(&[opened], names[0]);
    let model = bench.model(&job, &Extra::default(), form(Edition::Customer));
    let page = html::render(&model);
    assert!(page.contains(&complaint));
    let flat = |text: &str| text.split_whitespace().collect::<String>();
    let text = text::render(&model, Signs::Unicode);
    assert!(flat(&text).contains(&flat(&complaint)), "{text}");
}

#[test]
fn a_job_where_nothing_was_inspected_says_so_on_the_first_page_and_nothing_mild() {
    let yard = Yard::with_job();
    let page = yard.run(&["sheet", "T-1"]).ends(0).out;
    let flat = page.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in [
        "May it be driven? Not yet. Nothing was inspected, so nothing can be said",
        "BEFORE IT MOVES Not known. Nothing was inspected.",
        "Front left: not seen",
    ] {
        assert!(flat.contains(words), "{words}\n{page}");
    }
    for mild in ["speaks against it", "not all seen", "MOVES Nothing."] {
        assert!(!flat.contains(mild), "{mild}\n{page}");
    }
    // One look is something, but no more than that.
    yard.run(&["log", "T-1", "RL", "hose", "sound"]).ends(0);
    let page = yard.run(&["sheet", "T-1"]).ends(0).out;
    assert!(
        page.contains("Not yet. The wheels' final torque")
            && page.contains("Rear left: not all seen"),
        "{page}"
    );
}

#[test]
fn a_record_signed_unfinished_says_so_and_why_wherever_it_is_looked_at() {
    let yard = Yard::with_job();
    let reason = "the customer had to leave";
    yard.run(&["sign", "T-1", "--as-found", "--incomplete", reason])
        .ends(0);
    let said = format!("Revision 1 was signed unfinished. The reason given: “{reason}”");
    for edition in ["customer", "workshop"] {
        let page = yard.run(&["sheet", "T-1", "--for", edition]).ends(0).out;
        let flat = page.split_whitespace().collect::<Vec<_>>().join(" ");
        let at = flat.find(&said).unwrap_or_else(|| panic!("{page}"));
        assert!(at < flat.find("BEFORE IT MOVES").unwrap(), "{page}");
    }
    let page = yard.run(&["sheet", "T-1", "--as", "html"]).ends(0).out;
    assert!(page.contains(&said), "{page}");
    let german = yard.run(&["sheet", "T-1", "--lang", "de"]).ends(0).out;
    assert!(german.contains("unfertig unterschrieben"), "{german}");
    let checked = yard.run(&["verify", "T-1"]).ends(0).out;
    assert!(
        checked.contains(&format!("signed unfinished: {reason}")),
        "{checked}"
    );
    let checked = yard.run(&["--json", "verify", "T-1"]).ends(0).json();
    assert_eq!(checked["records"][0]["check"]["incomplete"], reason);
    let judged = yard.run(&["verdict", "T-1"]).ends(1).out;
    assert!(
        judged.contains(&format!("revision 1 was signed unfinished: {reason}")),
        "{judged}"
    );
    let judged = yard.run(&["--json", "verdict", "T-1"]).ends(1).json();
    assert_eq!(judged["signed_unfinished"]["reason"], reason);
    // A finished one says nothing of the kind.
    let demo = Yard::demo();
    for args in [["verify", "HWY-0411"], ["sheet", "HWY-0411"]] {
        assert!(!demo.run(&args).ends(0).out.contains("unfinished"));
    }
}

#[test]
fn a_verdict_made_less_severe_by_two_people_is_told_to_the_customer_with_their_names() {
    use brakecorner::job::Override;
    let bench = Bench::new();
    let place: Place = "FL".parse().unwrap();
    let seen = Event::Seen {
        place,
        item: Item::Hose,
        phase: Phase::AsFound,
        observation: Observation::Defect {
            code: "cracks".into(),
            note: String::new(),
        },
    };
    let eased = |phase| Event::Overridden {
        place,
        item: Item::Hose,
        phase,
        verdict: Override::Pass,
        reason: "a mark of the mould".into(),
        second_person: Some("Tam Okoro".into()),
    };
    for (language, words) in [
        (
            Language::En,
            "Ilse Varga judged this “holds”, not “watch”, and Tam Okoro agreed: “a mark of the mould”",
        ),
        (
            Language::De,
            "Ilse Varga beurteilt dies als „hält“, nicht „beobachten“, und Tam Okoro stimmt zu: „a mark of the mould“",
        ),
    ] {
        for phase in [Phase::AsFound, Phase::AsLeft] {
            let opened = Event::Opened(Box::new(opening()));
            let job = job_of(&[opened, seen.clone(), eased(phase)], "Ilse Varga");
            let form = Form {
                language,
                ..form(Edition::Customer)
            };
            let model = bench.model(&job, &Extra::default(), form);
            let line = |group: &str| {
                let group = model.groups.iter().find(|g| g.id == group);
                let lines = group.iter().flat_map(|g| &g.lines);
                lines
                    .filter(|l| l.subject.contains("hose") || l.subject.contains("schlauch"))
                    .collect::<Vec<_>>()
            };
            let holds = line("holds");
            assert_eq!(holds.len(), 1, "{:?}", model.groups);
            assert!(holds[0].sentences.iter().any(|s| s == words), "{holds:?}");
            assert!(holds[0].sentences.len() > 1, "what was seen is said too");
            assert!(line("put_right").is_empty(), "it was not put right");
            let block = model.blocks.iter().find(|b| b.code == "FL").unwrap();
            assert!(!block.looked.iter().any(|item| item.contains("hose")));
            let text = text::render(&model, Signs::Unicode);
            let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(flat.contains(words), "{text}");
        }
    }
}

/// A van whose hose was cracked as found, and the answer to its line.
fn declined(later: &[Event], outcome: Outcome) -> SheetModel {
    let place: Place = "FL".parse().unwrap();
    let seen = |phase, observation| Event::Seen {
        place,
        item: Item::Hose,
        phase,
        observation,
    };
    let cracked = Observation::Defect {
        code: "cracks".into(),
        note: String::new(),
    };
    let opened = Event::Opened(Box::new(opening()));
    let events = [&[opened, seen(Phase::AsFound, cracked)], later].concat();
    let decided = Decided {
        outcome,
        at: "2026-03-02T10:05:00+00:00".parse().unwrap(),
        means: "telephone".into(),
        ask_again: None,
        caution_read: false,
    };
    let extra = Extra {
        quote: vec![Offer {
            words: "new front hoses".into(),
            price: None,
            leaving: Some(Leaving::Unknown { service_km: 15_000 }),
            cures: vec![(place, Item::Hose)],
            decided: Some(decided),
        }],
        ..Extra::default()
    };
    Bench::new().model(
        &job_of(&events, "Ilse Varga"),
        &extra,
        form(Edition::Customer),
    )
}

/// What a group of a sheet says of the hose, or nothing.
fn of_the_hose(model: &SheetModel, group: &str) -> String {
    let group = model.groups.iter().find(|g| g.id == group);
    let lines = group.iter().flat_map(|g| &g.lines);
    let hose: Vec<String> = lines
        .filter(|l| l.subject.contains("brake hose"))
        .map(|l| l.sentences.join(" ").replace('\u{a0}', " "))
        .collect();
    hose.join(" / ")
}

#[test]
fn declined_work_is_never_called_put_right_and_the_sheet_says_what_declining_means() {
    let sound = Event::Seen {
        place: "FL".parse().unwrap(),
        item: Item::Hose,
        phase: Phase::AsLeft,
        observation: Observation::Sound,
    };
    // Not looked at again: it stays a finding.
    let model = declined(&[], Outcome::No);
    let said = of_the_hose(&model, "later");
    assert!(
        said.contains("You said no to this work: “new front hoses”.")
            && said.contains("Left as it is, no distance can be said.")
            && said.contains("15 000 km from now"),
        "{said}"
    );
    // Judged sound at the end although nothing was done: it stays what it was, agreed to or not.
    for (outcome, words) in [
        (Outcome::No, "You said no to this work: “new front hoses”."),
        (Outcome::Later, "You put this work off: “new front hoses”."),
        (Outcome::Yes, "no work was noted that would explain it"),
    ] {
        let model = declined(std::slice::from_ref(&sound), outcome);
        assert_eq!(of_the_hose(&model, "put_right"), "");
        let said = of_the_hose(&model, "later");
        assert!(
            said.contains(words) && said.contains("what was found stands"),
            "{outcome:?}: {said}"
        );
    }
    // Fitted after all: put right.
    let fitted = Event::Fitted {
        place: "FL".parse().unwrap(),
        part: brakecorner::job::Part::Hose,
        batch: None,
    };
    let model = declined(&[fitted, sound], Outcome::No);
    let said = of_the_hose(&model, "put_right");
    assert!(!said.is_empty() && !said.contains("said no"), "{said}");
}

#[test]
fn a_value_from_an_unfinished_ring_says_how_many_of_its_points_were_measured() {
    let said = |points: u16| {
        let mut events = vec![Event::Opened(Box::new(opening()))];
        events.extend(
            (1..=points).map(|n| reading("FL", Item::DiscThickness, Slot::Point(n), 24_000)),
        );
        let job = job_of(&events, "Ilse Varga");
        let model = Bench::new().model(&job, &Extra::default(), form(Edition::Customer));
        text::render(&model, Signs::Unicode)
            .replace('\u{a0}', " ")
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
    };
    // Five fasteners: ten points.
    let eight = said(8);
    assert!(
        eight.contains("Disc thickness: 24.00 mm at 8 of 10 points,")
            && eight.contains("We measured 24.00 mm at 8 of 10 points."),
        "{eight}"
    );
    let three = said(3);
    assert!(
        three.contains("Disc thickness: 24.00 mm at 3 of 10 points,")
            && three.contains("The ring is not finished: 3 of 10 points."),
        "{three}"
    );
    let whole = said(10);
    assert!(
        whole.contains("24.00 mm") && !whole.contains("of 10 points"),
        "{whole}"
    );
}
