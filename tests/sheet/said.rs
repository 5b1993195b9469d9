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
    assert!(page.contains("310.00 ISD") && page.contains("It may begin to shake."));
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
