//! The findings sheet: what it says, that it says no more than the record, and that no text of a
//! person can break it.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers of tests, outside a test function

mod common;

use std::collections::BTreeSet;

use brakecorner::job::journal::sha256_hex;
use brakecorner::job::{
    Corner, Depth, Entered, Event, Item, Job, Kind, Meta, Observation, Opening, Phase, Place,
    ReadingEvent, Register, Slot, Source, Symptom,
};
use brakecorner::judge::{self, Case, defect};
use brakecorner::sheet::forms::Units;
use brakecorner::sheet::model::Form;
use brakecorner::sheet::text::{self, Signs};
use brakecorner::sheet::words::Language;
use brakecorner::sheet::{
    self, Customer, Edition, Material, Paper, PhotoFile, QuoteLine, SheetModel, html,
};
use brakecorner::spec::{
    Policy, RulePack, Schedule, Sheet, builtin_rule_packs, builtin_schedules, builtin_sheets,
};
use brakecorner::units::{Distance, DistanceUnit};
use common::Yard;
use proptest::prelude::*;

/// What a job is judged by, from the built-in files.
struct Bench {
    sheet: Sheet,
    packs: Vec<RulePack>,
    policy: Policy,
    schedule: Schedule,
    register: Register,
}

impl Bench {
    fn new() -> Self {
        let file = |files: &'static [(&'static str, &'static str)], part: &str| {
            let found = files.iter().find(|(name, _)| name.contains(part)).unwrap();
            (found.0, found.1)
        };
        let (name, text) = file(builtin_sheets(), "dunling");
        let sheet = Sheet::parse(text, name).unwrap();
        let (name, text) = file(builtin_rule_packs(), "gb");
        let packs = vec![RulePack::parse(text, name).unwrap()];
        let (name, text) = file(builtin_schedules(), "routine");
        Self {
            sheet,
            packs,
            policy: Policy::builtin(),
            schedule: Schedule::parse(text, name).unwrap(),
            register: Register::default(),
        }
    }

    fn case<'a>(&'a self, job: &'a Job) -> Case<'a> {
        Case {
            job,
            sheet: &self.sheet,
            packs: &self.packs,
            policy: &self.policy,
            schedule: &self.schedule,
            register: &self.register,
        }
    }

    /// The sheet of a job in every way it can be made.
    fn model(&self, job: &Job, extra: &Extra, form: Form) -> SheetModel {
        let case = self.case(job);
        let judgement = judge::judge(&case);
        sheet::sheet(&extra.material(&case, &judgement), form)
    }
}

/// What comes from beside the journal.
#[derive(Clone, Default)]
struct Extra {
    workshop: String,
    address: Vec<String>,
    photos: Vec<PhotoFile>,
    quote: Vec<QuoteLine>,
}

impl Extra {
    fn material<'a>(&'a self, case: &'a Case<'a>, judgement: &'a judge::Judgement) -> Material<'a> {
        Material {
            case,
            judgement,
            workshop: &self.workshop,
            address: &self.address,
            customer: Customer::default(),
            signature: None,
            photos: self.photos.clone(),
            quote: self.quote.clone(),
            state: Phase::AsLeft,
        }
    }
}

fn opening() -> Opening {
    Opening {
        job: "T-1".into(),
        registration: "HW 11".into(),
        vin: "A0ZDL07V7NK001122".into(),
        odometer: Distance::from_whole_km(84_120),
        odometer_unit: DistanceUnit::Kilometre,
        complaint: String::new(),
        symptoms: vec![],
        depth: Depth::Full,
        schedule: "routine".into(),
        sheet: "merlock-dunling".into(),
        rules: vec!["gb".into()],
        policy: "default".into(),
        class: "N1".into(),
        first_used: None,
        quote: String::new(),
    }
}

fn job_of(events: &[Event], by: &str) -> Job {
    let mut job = Job::default();
    for (seq, event) in (1..).zip(events) {
        let meta = Meta {
            seq,
            at: "2026-03-02T08:40:00+00:00".parse().unwrap(),
            by: by.to_owned(),
        };
        job.apply(&meta, event);
    }
    job
}

fn reading(corner: &str, item: Item, slot: Slot, um: i64) -> Event {
    Event::Reading(Box::new(ReadingEvent {
        place: corner.parse().unwrap(),
        item,
        phase: Phase::AsFound,
        take: 1,
        slot,
        entered: Entered {
            text: format!("{}.{:03}", um / 1000, um % 1000),
            unit: "mm".into(),
            value: um * 1000,
        },
        instrument: None,
        clocking: None,
        source: Source::Typed,
        confirmed: false,
    }))
}

fn form(edition: Edition) -> Form {
    Form {
        edition,
        ..Form::default()
    }
}

/// Every text of a JSON value that is shown as text.
fn texts(value: &serde_json::Value, out: &mut Vec<String>) {
    match value {
        serde_json::Value::String(text) if !text.starts_with("<svg") => out.push(text.clone()),
        serde_json::Value::Array(items) => items.iter().for_each(|item| texts(item, out)),
        serde_json::Value::Object(fields) => fields
            .iter()
            .filter(|(key, _)| !matches!(key.as_str(), "palette" | "icons"))
            .for_each(|(_, field)| texts(field, out)),
        _ => {}
    }
}

/// Every number of a JSON value.
fn numbers(value: &serde_json::Value, out: &mut Vec<f64>) {
    match value {
        serde_json::Value::Number(number) => out.extend(number.as_f64()),
        serde_json::Value::Array(items) => items.iter().for_each(|item| numbers(item, out)),
        serde_json::Value::Object(fields) => fields.values().for_each(|field| numbers(field, out)),
        _ => {}
    }
}

/// The numbers before a unit in a text, with their decimals.
fn before_unit(text: &str, unit: &str) -> Vec<(f64, i32)> {
    let text = text.replace('\u{a0}', " ");
    let mut found = Vec::new();
    for (at, _) in text.match_indices(&format!(" {unit}")) {
        let head = &text[..at];
        let start = head
            .rfind(|c: char| !c.is_ascii_digit() && c != '.')
            .map_or(0, |i| i + head[i..].chars().next().unwrap().len_utf8());
        let number = &head[start..];
        if let Ok(value) = number.parse::<f64>() {
            let decimals = number.split_once('.').map_or(0, |(_, d)| d.len());
            found.push((value, i32::try_from(decimals).unwrap()));
        }
    }
    found
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn no_reading_appears_that_is_not_in_the_record(
        ring in proptest::collection::vec(22_000i64..26_500, 10),
        turn in proptest::collection::vec(0i64..120, 10),
        pads in proptest::collection::vec(300i64..12_000, 4),
        float in 0i64..80,
    ) {
        let mut events = vec![Event::Opened(Box::new(opening()))];
        for (i, um) in (1u16..).zip(&ring) {
            events.push(reading("FL", Item::DiscThickness, Slot::Point(i), *um));
        }
        for (i, um) in (1u16..).zip(&turn) {
            events.push(reading("FL", Item::DiscRunout, Slot::Point(i), *um));
        }
        for (slot, um) in [Slot::Inner(1), Slot::Inner(2), Slot::Outer(1), Slot::Outer(2)].into_iter().zip(&pads) {
            events.push(reading("FL", Item::PadsThickness, slot, *um));
        }
        events.push(reading("FL", Item::BearingFloat, Slot::Value(1), float));
        let job = job_of(&events, "Ilse Varga");
        let bench = Bench::new();
        let case = bench.case(&job);
        let judgement = judge::judge(&case);
        let extra = Extra::default();
        let model = sheet::sheet(&extra.material(&case, &judgement), form(Edition::Workshop));

        // As entered: each reading once, in the words of the journal, and no other.
        let technical = model.technical.as_ref().unwrap();
        let mut shown: Vec<&str> = technical.readings.iter().flat_map(|row| &row.texts).map(String::as_str).collect();
        let mut entered: Vec<&str> = events.iter().filter_map(|event| match event {
            Event::Reading(reading) => Some(reading.entered.text.as_str()),
            _ => None,
        }).collect();
        shown.sort_unstable();
        entered.sort_unstable();
        prop_assert_eq!(shown, entered);

        // In sentences, drawings and tables: no length that judgement, journal or limits do not hold.
        let mut known = Vec::new();
        numbers(&serde_json::to_value(&judgement).unwrap(), &mut known);
        let mut whole = Vec::new();
        numbers(&serde_json::to_value(&bench.sheet).unwrap(), &mut whole);
        numbers(&serde_json::to_value(&bench.policy).unwrap(), &mut whole);
        numbers(&serde_json::to_value(&events).unwrap(), &mut whole);
        known.extend(whole.iter().map(|nm| nm / 1e6));
        let drawn: Vec<String> = model.blocks.iter().flat_map(|b| &b.items).filter_map(|i| i.picture.as_ref()).map(|p| p.svg.clone()).collect();
        let page = format!("{}\n{}", text::render(&model, Signs::Unicode).replace('\n', " "), drawn.join(" "));
        let lengths = before_unit(&page, "mm");
        prop_assert!(lengths.len() > 20, "{page}");
        for (value, decimals) in lengths {
            let step = 10f64.powi(-decimals);
            prop_assert!(
                known.iter().any(|k| (k.abs() - value).abs() < step * 1.000_001),
                "{value} mm is nowhere in the record"
            );
        }
    }
}

/// A text that would do harm in HTML, in typst, in a terminal or to a reader.
const HARM: &str = "<script>alert(1)</script><img src=x onerror=alert(2)> \"'&amp; #eval(\"1+1\") #import \"@x\" $x$ *b* _i_ `c` ]] // /* @r \\u{1b} \u{1b}[2J\u{7}\u{0}\u{202e}live\u{2066}\u{200f} 😀 中文 שלום مرحبا %0a {{x}} end";

/// A job with harm in every text a person can give.
fn harmful() -> (Job, Extra) {
    let text = || HARM.to_owned();
    let front: Place = "FL".parse().unwrap();
    let mut events = vec![Event::Opened(Box::new(Opening {
        job: "T-1".into(),
        registration: text(),
        vin: text(),
        complaint: text(),
        quote: text(),
        class: text(),
        symptoms: vec![Symptom::Judder],
        ..opening()
    }))];
    let entered = || Entered {
        text: text(),
        unit: text(),
        value: 5_000_000,
    };
    events.push(Event::ZeroCheck(brakecorner::job::ZeroCheckEvent {
        instrument: text(),
        standard: text(),
        entered: entered(),
        zero_error: brakecorner::units::Length::ZERO,
    }));
    for n in 1..=2 {
        events.push(Event::Reading(Box::new(ReadingEvent {
            entered: entered(),
            instrument: Some(text()),
            ..match reading("FL", Item::PadsThickness, Slot::Inner(n), 5000) {
                Event::Reading(reading) => *reading,
                _ => unreachable!(),
            }
        })));
    }
    let seen = |item, observation| Event::Seen {
        place: front,
        item,
        phase: Phase::AsFound,
        observation,
    };
    events.push(seen(
        Item::Hose,
        Observation::NotInspected { reason: text() },
    ));
    events.push(seen(
        Item::Pipe,
        Observation::Defect {
            code: "rust".into(),
            note: text(),
        },
    ));
    events.push(seen(
        Item::Piston,
        Observation::Defect {
            code: text(),
            note: text(),
        },
    ));
    events.push(Event::Note {
        place: front,
        item: None,
        text: text(),
    });
    events.push(Event::Photo {
        place: front,
        item: Item::Hose,
        sha256: text(),
        name: text(),
    });
    events.push(Event::CastMark {
        corner: "FL".parse().unwrap(),
        entered: Entered {
            value: 23_000_000,
            ..entered()
        },
    });
    events.push(Event::Fitted {
        place: front,
        part: brakecorner::job::Part::Hose,
        batch: Some(text()),
    });
    events.push(Event::TorqueRefused {
        corner: "FL".parse().unwrap(),
        instrument: text(),
        reason: text(),
    });
    events.push(Event::Gate {
        gate: brakecorner::job::GateItem::PedalFirm,
        done: false,
        reason: text(),
    });
    events.push(Event::Asked(brakecorner::job::Answered {
        place: front,
        item: Item::Hose,
        slot: Slot::Value(1),
        entry: text(),
        question: text(),
        answer: text(),
        kept: true,
    }));
    events.push(Event::Left { vehicle: text() });
    events.push(Event::Struck {
        target: 3,
        reason: text(),
    });
    let extra = Extra {
        workshop: text(),
        address: vec![text(), text()],
        photos: vec![],
        quote: vec![QuoteLine {
            words: text(),
            price: Some(text()),
            if_not: Some(text()),
            decided: Some(text()),
        }],
    };
    (job_of(&events, HARM), extra)
}

fn hidden(c: char) -> bool {
    (c.is_control() && c != '\n')
        || matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

#[test]
fn harm_in_any_text_stays_text_in_html_and_on_the_terminal() {
    let (job, extra) = harmful();
    let bench = Bench::new();
    for language in Language::ALL {
        for edition in [Edition::Customer, Edition::Workshop] {
            let model = bench.model(
                &job,
                &extra,
                Form {
                    language,
                    edition,
                    ..Form::default()
                },
            );
            let page = html::render(&model);
            assert!(
                !page.contains("<script") && !page.contains("<img"),
                "{language:?}"
            );
            assert!(
                page.matches("&lt;script&gt;alert(1)&lt;/script&gt;")
                    .count()
                    >= 12
            );
            assert_eq!(page.chars().find(|c| hidden(*c)), None);
            assert!(page.contains(&format!("<html lang=\"{}\">", language.tag())));
            let text = text::render(&model, Signs::Unicode);
            assert_eq!(text.chars().find(|c| hidden(*c)), None);
            let wide = text.lines().find(|line| line.chars().count() > 80);
            assert_eq!(wide, None);
        }
    }
}

#[cfg(feature = "pdf")]
mod pdf {
    use super::*;
    use brakecorner::sheet::pdf::{Job as Print, PdfError, TEMPLATE, render};

    pub(super) fn print(model: &SheetModel, template: Option<&str>) -> Result<Vec<u8>, PdfError> {
        render(&Print {
            model: serde_json::to_value(model).unwrap(),
            head: &model.head,
            photos: &model.photos,
            template,
            fonts: &[],
        })
    }

    /// Pages of a PDF.
    pub(super) fn pages(pdf: &[u8]) -> usize {
        String::from_utf8_lossy(pdf).matches("/Type/Page/").count()
            + String::from_utf8_lossy(pdf)
                .matches("/Type /Page\n")
                .count()
    }

    #[test]
    fn harm_in_any_text_never_costs_the_pdf() {
        let (job, extra) = harmful();
        let bench = Bench::new();
        for edition in [Edition::Customer, Edition::Workshop] {
            for (paper, large) in [(Paper::A4, false), (Paper::Letter, true)] {
                let form = Form {
                    edition,
                    paper,
                    large,
                    ..Form::default()
                };
                let pdf = print(&bench.model(&job, &extra, form), None).unwrap();
                assert!(pdf.starts_with(b"%PDF-1.7"));
            }
        }
    }

    #[test]
    fn the_same_record_gives_the_same_bytes() {
        let (job, extra) = harmful();
        let bench = Bench::new();
        let once = || print(&bench.model(&job, &extra, form(Edition::Workshop)), None).unwrap();
        assert!(once() == once());
    }

    #[test]
    fn an_empty_and_a_huge_job_flow_over_their_pages() {
        let bench = Bench::new();
        let empty = job_of(&[Event::Opened(Box::new(opening()))], "Ilse Varga");
        let model = bench.model(&empty, &Extra::default(), form(Edition::Customer));
        assert!(!model.groups[3].lines.is_empty(), "nothing was seen");
        print(&model, None).unwrap();
        let (job, extra, count) = huge();
        let model = bench.model(&job, &extra, form(Edition::Workshop));
        let findings: usize = model
            .groups
            .iter()
            .filter(|g| g.id != "holds" && g.id != "put_right")
            .map(|g| g.lines.len())
            .sum();
        assert!(count >= 50 && findings >= 60, "{count} {findings}");
        let pdf = print(&model, None).unwrap();
        assert!(
            pages(&pdf) > 10 || pdf.len() > 200_000,
            "{} bytes",
            pdf.len()
        );
    }

    #[test]
    fn a_photo_that_is_no_picture_is_named_and_never_costs_the_sheet() {
        let bench = Bench::new();
        let broken = b"\xff\xd8\xff and then nothing".to_vec();
        let (job, extra) = with_photos(vec![broken]);
        let model = bench.model(&job, &extra, form(Edition::Customer));
        assert_eq!(model.photos[0].format, Some("jpg"));
        print(&model, None).unwrap();
    }

    #[test]
    fn a_workshops_template_is_used_and_a_broken_one_is_explained() {
        let bench = Bench::new();
        let job = job_of(&[Event::Opened(Box::new(opening()))], "Ilse Varga");
        let model = bench.model(&job, &Extra::default(), form(Edition::Customer));
        let own = "#let d = json(\"/sheet.json\")\n#set document(title: d.title)\n= #d.title\n#d.drive.answer";
        let pdf = print(&model, Some(own)).unwrap();
        assert!(pdf.len() < print(&model, Some(TEMPLATE)).unwrap().len());
        let error = print(&model, Some("#set document(title: \"x\")\n= x\n#nonsense")).unwrap_err();
        assert!(error.to_string().contains("nonsense"), "{error}");
        // A template sees nothing but the model.
        for path in ["/etc/passwd", "../secret", "/sheet.typ"] {
            let peek = format!("#read(\"{path}\")");
            assert!(print(&model, Some(&peek)).is_err(), "{path}");
        }
    }
}

/// The sixteen bytes every PNG begins with, and one grey pixel, stored without compression.
fn png() -> Vec<u8> {
    fn crc(bytes: &[u8]) -> u32 {
        !bytes.iter().fold(!0u32, |crc, byte| {
            (0..8).fold(crc ^ u32::from(*byte), |c, _| {
                if c & 1 == 1 {
                    (c >> 1) ^ 0xedb8_8320
                } else {
                    c >> 1
                }
            })
        })
    }
    let mut out = b"\x89PNG\r\n\x1a\n".to_vec();
    let mut chunk = |kind: &[u8], data: &[u8]| {
        out.extend(u32::try_from(data.len()).unwrap().to_be_bytes());
        let body = [kind, data].concat();
        out.extend(&body);
        out.extend(crc(&body).to_be_bytes());
    };
    chunk(b"IHDR", &[0, 0, 0, 1, 0, 0, 0, 1, 8, 0, 0, 0, 0]);
    // zlib header, one stored block of filter 0 and value 0x80, Adler-32 of the two bytes.
    chunk(
        b"IDAT",
        &[
            0x78, 0x01, 0x01, 2, 0, 0xfd, 0xff, 0x00, 0x80, 0x00, 0x82, 0x00, 0x81,
        ],
    );
    chunk(b"IEND", &[]);
    out
}

const JPEG: &[u8] = include_bytes!("data/photos/page.jpg");

fn with_photos(files: Vec<Vec<u8>>) -> (Job, Extra) {
    let mut events = vec![Event::Opened(Box::new(opening()))];
    let mut photos = Vec::new();
    for bytes in files {
        let sha256 = sha256_hex(&bytes);
        events.push(Event::Photo {
            place: "RL".parse().unwrap(),
            item: Item::SensorSpeed,
            sha256: sha256.clone(),
            name: "x".into(),
        });
        photos.push(PhotoFile { sha256, bytes });
    }
    (
        job_of(&events, "Ilse Varga"),
        Extra {
            photos,
            ..Extra::default()
        },
    )
}

/// Every look of every corner with a defect and a long note, twelve photos, a quote of ten lines.
fn huge() -> (Job, Extra, usize) {
    let mut events = vec![Event::Opened(Box::new(Opening {
        complaint: "noise ".repeat(400),
        ..opening()
    }))];
    let mut count = 0;
    let note = format!(
        "{} {}",
        "a long remark of the technician ".repeat(20),
        "x".repeat(300)
    );
    for corner in ["FL", "FR", "RL", "RR"] {
        let place: Place = corner.parse().unwrap();
        for item in Item::ALL.iter().filter(|i| {
            i.kind() == Kind::Look && **i != Item::CylinderLeak && **i != Item::FluidLevel
        }) {
            let code = defect::defects(*item).last().unwrap().code;
            events.push(Event::Seen {
                place,
                item: *item,
                phase: Phase::AsFound,
                observation: Observation::Defect {
                    code: code.into(),
                    note: note.clone(),
                },
            });
            count += 1;
        }
        events.push(Event::Note {
            place,
            item: None,
            text: note.clone(),
        });
    }
    let mut photos = Vec::new();
    for n in 0..12u8 {
        let bytes = if n % 2 == 0 { png() } else { JPEG.to_vec() };
        let sha256 = sha256_hex(&bytes);
        events.push(Event::Photo {
            place: "FL".parse().unwrap(),
            item: Item::Hose,
            sha256: sha256.clone(),
            name: n.to_string(),
        });
        photos.push(PhotoFile { sha256, bytes });
    }
    let line = QuoteLine {
        words: "front discs".into(),
        price: Some("310.00 ISD".into()),
        if_not: Some("It may begin to shake.".into()),
        decided: None,
    };
    let extra = Extra {
        photos,
        quote: vec![line; 10],
        ..Extra::default()
    };
    (job_of(&events, "Ilse Varga"), extra, count)
}

#[test]
fn photos_stand_in_the_page_and_a_missing_or_changed_one_is_said_to_be() {
    let bench = Bench::new();
    let (job, mut extra) = with_photos(vec![png(), JPEG.to_vec(), b"GIF89a".to_vec()]);
    let model = bench.model(&job, &extra, form(Edition::Customer));
    let page = html::render(&model);
    assert_eq!(
        page.matches("<img src=\"data:image/png;base64,iVBORw0KGgo")
            .count(),
        1
    );
    assert_eq!(
        page.matches("<img src=\"data:image/jpeg;base64,/9j/")
            .count(),
        1
    );
    assert!(page.contains("Photo 3 cannot be shown"), "{page}");
    extra.photos[0].bytes.push(0);
    extra.photos.remove(1);
    let page = html::render(&bench.model(&job, &extra, form(Edition::Customer)));
    assert!(
        !page.contains("<img")
            && page.contains("Photo 1 is not in the job")
            && page.contains("Photo 2 is not in")
    );
}

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
        text.matches("do it   ·   leave it   ·   ask me on").count(),
        10
    );
}

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
        "May it be driven?  Yes.",
        "Rear left, pad thickness. We measured 2.9 mm. The maker allows no less",
        "Before 90 791 km on the odometer.",
        "b 91 605 km: Rear right, pad thickness",
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
            && german.contains("Vor dem Stand 90 791 km."),
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
fn a_journal_that_went_on_after_the_signature_is_not_signed() {
    let yard = Yard::demo();
    yard.run(&["log", "HWY-0411", "RL", "hose", "sound"])
        .ends(0);
    let page = yard.run(&["sheet", "HWY-0411"]).ends(0).out;
    assert!(page.contains("Not signed. No signed record"), "{page}");
    assert!(!page.contains("ssh-keygen"));
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

/// A job of the scenario from its journal, unsigned.
fn scenario(job: &str, sheet_name: &str) -> (Bench, Job) {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/jobs");
    let journal = std::fs::read(format!("{folder}/{job}.jsonl")).unwrap();
    let register = std::fs::read_to_string(format!("{folder}/instruments.toml")).unwrap();
    let mut bench = Bench::new();
    let (name, text) = builtin_sheets()
        .iter()
        .find(|(name, _)| name.contains(sheet_name))
        .unwrap();
    bench.sheet = Sheet::parse(text, name).unwrap();
    bench.register = Register::parse(&register).unwrap();
    let job = brakecorner::job::journal::read(&journal).fold();
    let rules = &job.opening.as_ref().unwrap().rules;
    bench.packs = builtin_rule_packs()
        .iter()
        .filter(|(name, _)| rules.iter().any(|rule| *name == format!("{rule}.toml")))
        .map(|(name, text)| RulePack::parse(text, name).unwrap())
        .collect();
    (bench, job)
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

/// Words of a text: runs of letters and digits.
fn words(text: &str) -> BTreeSet<String> {
    text.split(|c: char| !c.is_alphanumeric())
        .filter(|w| !w.is_empty())
        .map(str::to_owned)
        .collect()
}

#[cfg(feature = "pdf")]
#[test]
#[ignore = "needs pdftotext and qpdf; tests/run sets them up"]
fn the_pdf_has_the_words_of_the_model_no_more_and_no_less() {
    let yard = Yard::demo();
    for (job, extra) in [
        ("HWY-0411", vec![]),
        ("HWY-0417", vec!["--for", "workshop"]),
        (
            "HWY-0423",
            vec!["--lang", "de", "--large", "--paper", "letter"],
        ),
        ("HWY-0429", vec!["--for", "workshop", "--lang", "de"]),
    ] {
        let file = format!("{job}.pdf");
        yard.run(&[&["sheet", job, "-o", &file], &extra[..]].concat())
            .ends(0);
        let path = yard.root().join(&file);
        let tool = |program: &str, args: &[&str]| {
            std::process::Command::new(program)
                .args(args)
                .output()
                .unwrap()
        };
        let check = tool("qpdf", &["--check", path.to_str().unwrap()]);
        assert!(check.status.success(), "{check:?}");
        let text = tool("pdftotext", &["-layout", path.to_str().unwrap(), "-"]);
        let printed = words(&String::from_utf8(text.stdout).unwrap());
        let json = yard
            .run(&[&["--json", "sheet", job], &extra[..]].concat())
            .ends(0)
            .json();
        let mut said = Vec::new();
        texts(&json, &mut said);
        let all = words(&said.join(" "));
        // Drawn in pictures: numbers of studs and marks; at the foot: page numbers.
        let drawn = |word: &String| word.chars().all(|c| c.is_ascii_digit()) || word.len() == 1;
        let odd: Vec<&String> = printed
            .iter()
            .filter(|w| !all.contains(*w) && !drawn(w))
            .collect();
        assert!(
            odd.is_empty(),
            "{job}: printed and not in the model: {odd:?}"
        );
        let mut shown = Vec::new();
        let mut body = json;
        for key in ["labels", "language", "paper", "kind", "edition", "as_of"] {
            body.as_object_mut().unwrap().remove(key);
        }
        collect_shown(&body, &mut shown);
        let wanted = words(&shown.join(" "));
        let lost: Vec<&String> = wanted.iter().filter(|w| !printed.contains(*w)).collect();
        assert!(
            lost.is_empty(),
            "{job}: in the model and not printed: {lost:?}"
        );
    }
}

/// Texts a reader sees: without ids, tones, alternative texts of pictures.
fn collect_shown(value: &serde_json::Value, out: &mut Vec<String>) {
    match value {
        serde_json::Value::Object(fields) => {
            for (key, field) in fields {
                let silent = matches!(
                    key.as_str(),
                    "id" | "tone"
                        | "alt"
                        | "svg"
                        | "code"
                        | "palette"
                        | "icons"
                        | "format"
                        | "sha256"
                        | "none"
                );
                if !silent {
                    collect_shown(field, out);
                }
            }
        }
        serde_json::Value::Array(items) => items.iter().for_each(|item| collect_shown(item, out)),
        serde_json::Value::String(text) => out.push(text.clone()),
        _ => {}
    }
}

#[test]
#[ignore = "needs node, axe-core and chromium; tests/run sets them up"]
fn the_page_has_no_barrier_and_does_not_scroll_sideways_on_a_phone() {
    let modules =
        std::env::var("BRAKECORNER_NODE_MODULES").expect("tests/run sets BRAKECORNER_NODE_MODULES");
    let yard = Yard::demo();
    let mut files = Vec::new();
    for (name, args) in [
        ("a.html", vec!["HWY-0411"]),
        (
            "b.html",
            vec!["HWY-0417", "--for", "workshop", "--lang", "de"],
        ),
        (
            "c.html",
            vec!["HWY-0423", "--revision", "1", "--for", "workshop"],
        ),
        ("d.html", vec!["HWY-0429", "--large"]),
        ("w.html", vec!["HWY-0411", "--worksheet"]),
        ("t.html", vec!["HWY-0411", "--tag"]),
    ] {
        yard.run(&[&["sheet"], &args[..], &["-o", name]].concat())
            .ends(0);
        files.push(yard.root().join(name));
    }
    let (job, extra) = harmful();
    let page = html::render(&Bench::new().model(&job, &extra, form(Edition::Workshop)));
    files.push(yard.root().join("harm.html"));
    std::fs::write(files.last().unwrap(), page).unwrap();
    let (job, extra, _) = huge();
    let page = html::render(&Bench::new().model(&job, &extra, form(Edition::Workshop)));
    files.push(yard.root().join("huge.html"));
    std::fs::write(files.last().unwrap(), page).unwrap();
    let out = std::process::Command::new("node")
        .arg(concat!(
            env!("CARGO_MANIFEST_DIR"),
            "/tests/outside/axe.mjs"
        ))
        .arg(modules)
        .args(&files)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&out.stdout);
    assert!(
        out.status.success(),
        "{said}\n{}",
        String::from_utf8_lossy(&out.stderr)
    );
    assert_eq!(
        said.lines()
            .filter(|l| l.ends_with(" no violations, no sideways scrolling"))
            .count(),
        files.len(),
        "{said}"
    );
}

#[test]
fn corners_of_a_third_axle_have_words() {
    let corner: Corner = "3L".parse().unwrap();
    let forms = brakecorner::sheet::forms::Forms::new(Language::De, Units::Metric);
    assert_eq!(forms.place(Place::Corner(corner)), "Achse 3 links");
}
