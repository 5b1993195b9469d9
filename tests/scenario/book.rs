//! A journal in the making, and what every invented job shares.

use brakecorner::job::journal::{self, GENESIS};
use brakecorner::job::{
    Corner, Deed, Depth, Entered, Event, GateItem, Item, Job, Meta, Observation, Opening, Part,
    Phase, Place, Proceeding, Quantity, ReadingEvent, RefitPoint, Register, Slot, Source,
    TorqueTask, ZeroCheckEvent,
};
use brakecorner::record::freeze::{Snapshot, Snapshots, Specs};
use brakecorner::spec::{builtin_policies, builtin_rule_packs, builtin_schedules, builtin_sheets};
use brakecorner::units::{Distance, DistanceUnit, Length};
use chrono::{DateTime, Duration, FixedOffset};
use serde_json::Value;

pub const JOBS: [&str; 4] = ["HWY-0411", "HWY-0417", "HWY-0423", "HWY-0429"];

pub fn scenario() -> Value {
    serde_json::from_str(include_str!("../data/scenario.json")).unwrap()
}

pub fn register() -> Register {
    Register::parse(include_str!("../data/jobs/instruments.toml")).unwrap()
}

pub fn specs(sheet: &str) -> Specs {
    let named = |files: &[(&str, &str)], id: &str| {
        let (file, text) = files
            .iter()
            .find(|(file, _)| file.trim_end_matches(".toml") == id)
            .unwrap_or_else(|| panic!("no {id}"));
        Snapshot::of(file, text)
    };
    let snapshots = Snapshots {
        sheet: named(builtin_sheets(), sheet),
        rules: ["gb", "brake-fluid"]
            .map(|id| named(builtin_rule_packs(), id))
            .into(),
        policy: named(builtin_policies(), "default"),
        schedule: named(builtin_schedules(), "routine"),
    };
    snapshots.read().unwrap()
}

pub fn corner(text: &str) -> Corner {
    text.parse().unwrap()
}

pub fn at(text: &str) -> Place {
    Place::Corner(corner(text))
}

/// A journal in the making.
#[derive(Clone)]
pub struct Book {
    time: DateTime<FixedOffset>,
    by: String,
    pub entries: Vec<(Meta, Event)>,
}

impl Book {
    pub fn new(time: &str, by: &str) -> Self {
        Self {
            time: time.parse().unwrap(),
            by: by.to_owned(),
            entries: Vec::new(),
        }
    }

    pub fn by(&mut self, by: &str) {
        self.by = by.to_owned();
    }

    pub fn push(&mut self, event: Event) {
        let meta = Meta {
            seq: self.entries.len() as u64 + 1,
            at: self.time,
            by: self.by.clone(),
        };
        self.time += Duration::seconds(6);
        self.entries.push((meta, event));
    }

    pub fn fold(&self) -> Job {
        let mut job = Job::default();
        for (meta, event) in &self.entries {
            job.apply(meta, event);
        }
        job
    }

    /// The journal's bytes.
    pub fn text(&self) -> String {
        let mut text = String::new();
        let mut head = GENESIS.to_owned();
        for (meta, event) in &self.entries {
            let (line, digest) = journal::encode(meta, &head, event).unwrap();
            text.push_str(&line);
            text.push('\n');
            head = digest;
        }
        text
    }

    pub fn opened(&mut self, opening: Opening) {
        self.push(Event::Opened(Box::new(opening)));
    }

    pub fn zero(&mut self, instrument: &str, standard: &str, reading: &str, error_um: i64) {
        self.push(Event::ZeroCheck(ZeroCheckEvent {
            instrument: instrument.to_owned(),
            standard: standard.to_owned(),
            entered: Entered::read(reading, Quantity::Length, "mm").unwrap(),
            zero_error: Length::from_nm(error_um * 1000),
        }));
    }

    pub fn look(&mut self, place: Place, item: Item, phase: Phase, observation: Observation) {
        self.push(Event::Seen {
            place,
            item,
            phase,
            observation,
        });
    }

    pub fn sound(&mut self, place: Place, item: Item, phase: Phase) {
        self.look(place, item, phase, Observation::Sound);
    }

    pub fn defect(&mut self, place: Place, item: Item, phase: Phase, code: &str) {
        let code = code.to_owned();
        let note = String::new();
        self.look(place, item, phase, Observation::Defect { code, note });
    }

    #[allow(clippy::too_many_arguments)] // one call a reading, in the order of the journal
    pub fn read(
        &mut self,
        place: Place,
        item: Item,
        phase: Phase,
        take: u32,
        slot: Slot,
        text: &str,
        instrument: Option<(&str, &str)>,
        clocking: Option<u8>,
    ) {
        let unit = instrument.map_or("", |(_, unit)| unit);
        self.push(Event::Reading(Box::new(ReadingEvent {
            place,
            item,
            phase,
            take,
            slot,
            entered: Entered::read(text, Quantity::of(item, slot), unit).unwrap(),
            instrument: instrument.map(|(id, _)| id.to_owned()),
            clocking,
            source: Source::Typed,
            confirmed: false,
        })));
    }

    pub fn pads(&mut self, place: Place, phase: Phase, inner: &[f64], outer: &[f64]) {
        let slots: [(fn(u16) -> Slot, &[f64]); 2] = [(Slot::Inner, inner), (Slot::Outer, outer)];
        for (make, values) in slots {
            for (n, value) in (1..).zip(values) {
                let text = format!("{value:.1}");
                let gauge = Some(("HW-P1", "mm"));
                self.read(
                    place,
                    Item::PadsThickness,
                    phase,
                    1,
                    make(n),
                    &text,
                    gauge,
                    None,
                );
            }
        }
    }

    pub fn float(&mut self, place: Place, phase: Phase, text: &str) {
        let dial = Some(("HW-D1", "mm"));
        self.read(
            place,
            Item::BearingFloat,
            phase,
            1,
            Slot::Value(1),
            text,
            dial,
            None,
        );
    }

    /// A run-out ring; its last value is the return to stud 1.
    pub fn ring(
        &mut self,
        place: Place,
        phase: Phase,
        take: u32,
        ring: &Value,
        clocking: Option<u8>,
    ) {
        let ring = numbers(ring);
        let last = ring.len();
        for (n, value) in ring.iter().enumerate() {
            let slot = if n + 1 == last {
                Slot::Return
            } else {
                Slot::Point(n as u16 + 1)
            };
            let text = format!("{value:.3}");
            let dial = Some(("HW-D1", "mm"));
            self.read(
                place,
                Item::DiscRunout,
                phase,
                take,
                slot,
                &text,
                dial,
                clocking,
            );
        }
    }

    pub fn thickness(
        &mut self,
        place: Place,
        phase: Phase,
        ring: &[String],
        gauge: (&str, &str),
        celsius: &str,
    ) {
        let item = Item::DiscThickness;
        self.read(
            place,
            item,
            phase,
            1,
            Slot::Temperature,
            celsius,
            None,
            None,
        );
        for (n, text) in (1..).zip(ring) {
            self.read(
                place,
                item,
                phase,
                1,
                Slot::Point(n),
                text,
                Some(gauge),
                None,
            );
        }
    }

    pub fn fluid(&mut self, celsius: &str) {
        let tester = Some(("HW-F1", "°C"));
        self.read(
            Place::Vehicle,
            Item::FluidBoiling,
            Phase::AsFound,
            1,
            Slot::Value(1),
            celsius,
            tester,
            None,
        );
    }

    /// Everything that is looked at and sound at a disc corner in full depth, but what `except` has.
    pub fn looks(&mut self, place: Place, items: &[Item], except: &[(Item, &str)]) {
        for item in items {
            match except.iter().find(|(odd, _)| odd == item) {
                Some((_, code)) => self.defect(place, *item, Phase::AsFound, code),
                None => self.sound(place, *item, Phase::AsFound),
            }
        }
    }

    /// Stages, final clicks and second pass of every wheel, and the list before it moves.
    pub fn refit(&mut self, fasteners: u8) {
        for name in ["FL", "FR", "RL", "RR"] {
            self.push(Event::RefitPoint {
                corner: Some(corner(name)),
                point: RefitPoint::Prepared,
                done: true,
                reason: String::new(),
            });
            for stage in 1..=2 {
                self.torque(name, Proceeding::WheelStage, stage, "HW-T1");
            }
            if name == "RR" && fasteners == 5 && self.is_job("HWY-0417") {
                self.push(Event::TorqueRefused {
                    corner: corner(name),
                    instrument: "HW-T2".to_owned(),
                    reason: "its calibration ended on 2025-12-31".to_owned(),
                });
            }
            for fastener in 1..=fasteners {
                self.torque(name, Proceeding::WheelFinal, fastener, "HW-T1");
            }
            self.torque(name, Proceeding::WheelSecondPass, 1, "HW-T1");
        }
        for gate in GateItem::ALL {
            self.push(Event::Gate {
                gate,
                done: true,
                reason: String::new(),
            });
        }
    }

    pub fn is_job(&self, number: &str) -> bool {
        matches!(&self.entries.first(), Some((_, Event::Opened(opening))) if opening.job == number)
    }

    pub fn torque(&mut self, at: &str, proceeding: Proceeding, fastener: u8, wrench: &str) {
        self.push(Event::Torque(TorqueTask {
            corner: corner(at),
            proceeding,
            fastener,
            instrument: wrench.to_owned(),
            set_to: None,
            turned_deg: None,
        }));
    }

    pub fn done(&mut self, place: Place, deed: Deed) {
        self.push(Event::Work {
            place,
            deed,
            note: String::new(),
        });
    }

    pub fn fitted(&mut self, place: Place, part: Part) {
        self.push(Event::Fitted {
            place,
            part,
            batch: None,
        });
    }

    pub fn forces(&mut self, item: Item, phase: Phase, wheels: &[(&str, i64)], mass: i64) {
        let tester = Some(("HW-R1", "N"));
        for (name, force) in wheels {
            let text = force.to_string();
            self.read(
                Place::Vehicle,
                item,
                phase,
                1,
                Slot::At(corner(name)),
                &text,
                tester,
                None,
            );
        }
        let text = mass.to_string();
        self.read(
            Place::Vehicle,
            item,
            phase,
            1,
            Slot::Mass,
            &text,
            None,
            None,
        );
    }
}

pub fn numbers(list: &Value) -> Vec<f64> {
    list.as_array()
        .unwrap()
        .iter()
        .map(|v| v.as_f64().unwrap())
        .collect()
}

pub fn printed(list: &Value, places: usize) -> Vec<String> {
    numbers(list)
        .iter()
        .map(|v| format!("{v:.places$}"))
        .collect()
}

pub fn opening(
    job: &str,
    vin: &str,
    km: i64,
    class: &str,
    first_used: &str,
    sheet: &str,
) -> Opening {
    Opening {
        job: job.to_owned(),
        registration: String::new(),
        vin: vin.to_owned(),
        odometer: Distance::from_whole_km(km),
        odometer_unit: DistanceUnit::Kilometre,
        complaint: String::new(),
        symptoms: vec![],
        from_words: Vec::new(),
        depth: Depth::Full,
        schedule: "routine".to_owned(),
        sheet: sheet.to_owned(),
        rules: vec!["gb".to_owned(), "brake-fluid".to_owned()],
        policy: "default".to_owned(),
        class: class.to_owned(),
        first_used: Some(first_used.parse().unwrap()),
        build: Default::default(),
        quote: String::new(),
    }
}

pub const BEFORE_PADS: [Item; 12] = [
    Item::WheelSeat,
    Item::WheelFasteners,
    Item::Hose,
    Item::Pipe,
    Item::SensorSpeed,
    Item::SensorWear,
    Item::CalliperLeak,
    Item::SlidePins,
    Item::Piston,
    Item::Springs,
    Item::BoltsWitness,
    Item::PadsCondition,
];

/// One disc corner in full depth, from wheel to hub face.
pub fn disc_corner(
    book: &mut Book,
    name: &str,
    data: &Value,
    runout: &str,
    float: &str,
    gauge: (&str, &str),
    except: &[(Item, &str)],
) {
    let place = at(name);
    book.looks(place, &BEFORE_PADS, except);
    let key = ["pads", "pads_inner_lead_inner_trail_outer_lead_outer_trail"];
    let pads = numbers(key.iter().find_map(|k| data.get(*k)).unwrap());
    let (inner, outer) = pads.split_at(pads.len() / 2);
    book.pads(place, Phase::AsFound, inner, outer);
    book.looks(place, &[Item::DiscSurface], except);
    book.float(place, Phase::AsFound, float);
    book.ring(place, Phase::AsFound, 1, &data[runout], None);
    let ring = printed(&data["disc"], 3);
    let celsius = data["temperature_c"].to_string();
    book.thickness(place, Phase::AsFound, &ring, gauge, &celsius);
    book.looks(place, &[Item::HubFace], except);
}

pub const FLOATS: [(&str, &str); 4] = [
    ("FL", "0.006"),
    ("FR", "0.005"),
    ("RL", "0.008"),
    ("RR", "0.007"),
];
