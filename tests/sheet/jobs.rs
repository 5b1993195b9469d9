//! Jobs made by hand: harmful, huge, with photos, and those of the scenario.

use super::*;

/// A text that would do harm in HTML, in typst, in a terminal or to a reader.
pub(super) const HARM: &str = "<script>alert(1)</script><img src=x onerror=alert(2)> \"'&amp; #eval(\"1+1\") #import \"@x\" $x$ *b* _i_ `c` ]] // /* @r \\u{1b} \u{1b}[2J\u{7}\u{0}\u{202e}live\u{2066}\u{200f} 😀 中文 שלום مرحبا %0a {{x}} end";

/// A job with harm in every text a person can give.
pub(super) fn harmful() -> (Job, Extra) {
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
        from_words: Vec::new(),
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
        second_person: None,
    });
    let extra = Extra {
        workshop: text(),
        address: vec![text(), text()],
        photos: vec![],
        quote: vec![Offer {
            words: text(),
            price: Some(text()),
            leaving: Some(Leaving::Stops),
            cures: vec![(front, Item::Pipe)],
            decided: Some(Decided {
                outcome: Outcome::No,
                at: "2026-03-02T08:40:00+00:00".parse().unwrap(),
                means: text(),
                ask_again: None,
                caution_read: true,
            }),
        }],
    };
    (job_of(&events, HARM), extra)
}

/// The checksum of a PNG's chunk.
pub(super) fn crc(bytes: &[u8]) -> u32 {
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

/// The sixteen bytes every PNG begins with, and one grey pixel, stored without compression.
pub(super) fn png() -> Vec<u8> {
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

pub(super) const JPEG: &[u8] = include_bytes!("../data/photos/page.jpg");

pub(super) fn with_photos(files: Vec<Vec<u8>>) -> (Job, Extra) {
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
pub(super) fn huge() -> (Job, Extra, usize) {
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
    let line = Offer {
        words: "front discs".into(),
        price: Some("310.00 ISD".into()),
        leaving: Some(Leaving::Fails),
        cures: vec![],
        decided: None,
    };
    let extra = Extra {
        photos,
        quote: vec![line; 10],
        ..Extra::default()
    };
    (job_of(&events, "Ilse Varga"), extra, count)
}

/// A job of the scenario from its journal, unsigned.
pub(super) fn scenario(job: &str, sheet_name: &str) -> (Bench, Job) {
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
