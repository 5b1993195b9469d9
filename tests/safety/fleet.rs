//! Simulated vehicles: sound ones with realistic wear, and ones with one true defect.
//!
//! A vehicle is drawn with true sizes; readings are made from them as a gauge makes them: its own error
//! for the day (rectangular within the permissible error), its scatter, its zero error, the temperature
//! of the disc, and the step it shows. The judgement sees the readings alone.

use std::f64::consts::TAU;

use brakecorner::job::{Depth, Event, GateItem, Item, Phase, Place, Slot};
use brakecorner::judge::{ItemVerdict, Judgement, Verdict, judge};
use brakecorner::record::freeze::Specs;

use super::answer::{Drive, drive};
use super::jobs::{BEFORE_PADS, Book, at, opening, register, specs};

/// Random numbers with a seed (SplitMix64); the same on every machine.
#[derive(Clone, Debug)]
pub struct Rng(pub u64);

impl Rng {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Uniform in [0, 1).
    pub fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Normal with this standard deviation.
    fn normal(&mut self, sigma: f64) -> f64 {
        let radius = libm::sqrt(-2.0 * libm::log(1.0 - self.unit()));
        sigma * radius * libm::cos(TAU * self.unit())
    }

    pub fn chance(&mut self, p: f64) -> bool {
        self.unit() < p
    }

    pub fn below(&mut self, n: usize) -> usize {
        (self.unit() * n as f64) as usize
    }
}

/// What may be truly wrong with a vehicle, and the best driving answer it deserves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Defect {
    /// A look with this defect.
    Seen(Item, &'static str, Drive),
    PadsThin,
    PadsNearlyGone,
    DiscThin,
    RunOut,
    Variation,
    EndFloat,
    FluidWet,
    Imbalance,
    WheelWithoutBrake,
    Weak,
    ParkingWeak,
    ParkingOneSided,
    DrumLarge,
    LiningsThin,
    HoseNotSeen,
    WheelNotTorqued,
    PedalNotPumped,
}

impl Defect {
    pub const ALL: [Self; 37] = {
        use Defect::Seen;
        use Drive::{No, NotYet};
        [
            Seen(Item::Hose, "leak", No),
            Seen(Item::Hose, "cords", No),
            Seen(Item::Hose, "bulge", NotYet),
            Seen(Item::Pipe, "leak", No),
            Seen(Item::Pipe, "deep", NotYet),
            Seen(Item::WheelFasteners, "loose", No),
            Seen(Item::WheelFasteners, "missing", No),
            Seen(Item::WheelFasteners, "thread", NotYet),
            Seen(Item::CalliperLeak, "leak", No),
            Seen(Item::CylinderLeak, "leak", No),
            Seen(Item::SlidePins, "seized", NotYet),
            Seen(Item::Piston, "seized", NotYet),
            Seen(Item::Springs, "missing", NotYet),
            Seen(Item::BoltsWitness, "loose", NotYet),
            Seen(Item::PadsCondition, "metal", No),
            Seen(Item::PadsCondition, "lifting", NotYet),
            Seen(Item::DiscSurface, "insecure", No),
            Seen(Item::DiscSurface, "crack", NotYet),
            Seen(Item::SensorSpeed, "cut", NotYet),
            Seen(Item::FluidLevel, "low_leak", NotYet),
            Self::PadsThin,
            Self::PadsNearlyGone,
            Self::DiscThin,
            Self::RunOut,
            Self::Variation,
            Self::EndFloat,
            Self::FluidWet,
            Self::Imbalance,
            Self::WheelWithoutBrake,
            Self::Weak,
            Self::ParkingWeak,
            Self::ParkingOneSided,
            Self::DrumLarge,
            Self::LiningsThin,
            Self::HoseNotSeen,
            Self::WheelNotTorqued,
            Self::PedalNotPumped,
        ]
    };

    /// The best answer a vehicle with it may get.
    pub const fn deserves(self) -> Drive {
        match self {
            Self::Seen(_, _, drive) => drive,
            Self::PadsNearlyGone | Self::WheelWithoutBrake | Self::ParkingOneSided => Drive::No,
            Self::HoseNotSeen => Drive::NotKnown,
            _ => Drive::NotYet,
        }
    }
}

/// A vehicle as it was inspected.
pub struct Vehicle {
    pub book: Book,
    pub sheet: &'static str,
    /// Where advice is true: a part near its limit or its planning figure.
    pub plan: Vec<(Place, Item)>,
    /// The defect asked for is one this vehicle can have.
    pub has_defect: bool,
}

impl Vehicle {
    pub fn judge(&self) -> Judgement {
        let specs = read_once(self.sheet);
        judge(&specs.case(&self.book.fold(), &register()))
    }
}

/// What vehicles of a sheet are judged by, read once.
fn read_once(sheet: &'static str) -> &'static Specs {
    static READ: std::sync::OnceLock<Vec<(&str, Specs)>> = std::sync::OnceLock::new();
    let read = READ.get_or_init(|| BUILDS.iter().map(|b| (b.sheet, specs(b.sheet))).collect());
    &read.iter().find(|(id, _)| *id == sheet).unwrap().1
}

/// The sizes an axle's brake has, mm.
#[derive(Clone, Copy)]
enum Brake {
    Disc {
        new: f64,
        limit: f64,
        runout: f64,
        pads: f64,
    },
    Drum {
        new: f64,
        max: f64,
        linings: f64,
    },
}

/// The figures of the invented vehicles, as their sheets have them.
struct Build {
    sheet: &'static str,
    vin: &'static str,
    class: &'static str,
    mass: f64,
    fasteners: u8,
    axles: [Brake; 2],
}

const fn disc(new: f64, limit: f64, runout: f64, pads: f64) -> Brake {
    Brake::Disc {
        new,
        limit,
        runout,
        pads,
    }
}

/// Linings may not be below this; pads not below 2.0 mm on any of them.
const LINING_MIN: f64 = 1.5;
/// Largest end float.
const FLOAT_MAX: f64 = 0.050;
/// Largest thickness variation: the makers', or the policy's where a maker is silent.
const DTV_MAX: f64 = 0.015;

const BUILDS: [Build; 4] = [
    Build {
        sheet: "merlock-dunling",
        vin: "A0ZDL07V7NK001122",
        class: "N1",
        mass: 1_900.0,
        fasteners: 5,
        axles: [disc(26.0, 23.0, 0.080, 12.0), disc(12.0, 10.0, 0.080, 11.0)],
    },
    Build {
        sheet: "merlock-ternway",
        vin: "A0ZTN12S0MK000417",
        class: "M1",
        mass: 1_900.0,
        fasteners: 5,
        axles: [disc(28.0, 26.0, 0.080, 11.0), disc(18.0, 16.0, 0.080, 10.0)],
    },
    Build {
        sheet: "aldercote-wrenfold",
        vin: "A0ZWR05C6LK004096",
        class: "M1",
        mass: 1_432.0,
        fasteners: 5,
        axles: [disc(24.0, 22.0, 0.100, 12.0), disc(10.0, 8.0, 0.100, 10.0)],
    },
    Build {
        sheet: "merlock-pindle",
        vin: "A0ZPN08D9PK000733",
        class: "M1",
        mass: 1_350.0,
        fasteners: 4,
        axles: [
            disc(20.0, 18.0, 0.060, 11.0),
            Brake::Drum {
                new: 203.0,
                max: 204.0,
                linings: 4.5,
            },
        ],
    },
];

/// Draws a vehicle.
pub fn draw(seed: u64, defect: Option<Defect>) -> Vehicle {
    let mut rng = Rng(seed);
    let build = &BUILDS[rng.below(BUILDS.len())];
    let full = rng.chance(0.6);
    let mut book = Book::new("2026-03-02T08:40:00+00:00", "Ilse Varga");
    let mut opened = opening(
        "J",
        build.vin,
        84_120,
        build.class,
        "2021-05-03",
        build.sheet,
    );
    opened.depth = if full { Depth::Full } else { Depth::Quick };
    book.opened(opened);
    book.zero("HW-M1", "closed", "0.001", 1);
    book.zero("HW-M2", "25.000 mm rod", "24.998", -2);
    let mut drawing = Drawing {
        thickness_error: rng.between(-0.004, 0.004),
        pad_error: rng.between(-0.1, 0.1),
        bad: rng.below(4),
        again: rng.chance(0.2),
        rng,
        book,
        defect,
        full,
        fasteners: build.fasteners,
        dtv_figure: build.sheet != "merlock-pindle",
        has_defect: false,
        plan: Vec::new(),
    };
    for (axle, brake) in build.axles.into_iter().enumerate() {
        drawing.axle(axle, brake);
    }
    drawing.vehicle();
    drawing.rollers(build.mass);
    drawing.refit();
    Vehicle {
        book: drawing.book,
        sheet: build.sheet,
        plan: drawing.plan,
        has_defect: drawing.has_defect,
    }
}

/// A value as a gauge shows it, without a zero below zero.
fn shown(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.bytes().all(|b| matches!(b, b'0' | b'.')) => rest.to_owned(),
        _ => text,
    }
}

const NAMES: [&str; 4] = ["FL", "FR", "RL", "RR"];

/// A vehicle while it is drawn and inspected.
struct Drawing {
    rng: Rng,
    book: Book,
    defect: Option<Defect>,
    /// The corner the defect is at.
    bad: usize,
    has_defect: bool,
    full: bool,
    /// Every reading is taken twice.
    again: bool,
    fasteners: u8,
    /// The maker gives a figure for the thickness variation.
    dtv_figure: bool,
    plan: Vec<(Place, Item)>,
    /// The errors of the gauges on this day, mm.
    thickness_error: f64,
    pad_error: f64,
}

impl Drawing {
    /// Whether the defect drawn is this one, at this corner; then the vehicle has it.
    fn is(&mut self, defect: Defect, corner: usize) -> bool {
        let is = self.defect == Some(defect) && corner == self.bad;
        self.has_defect |= is;
        is
    }

    fn looks(&mut self, place: Place, corner: usize, items: &[Item]) {
        for &item in items {
            if item == Item::Hose && self.is(Defect::HoseNotSeen, corner) {
                continue;
            }
            match self.defect {
                Some(Defect::Seen(odd, code, _)) if odd == item && corner == self.bad => {
                    self.has_defect = true;
                    self.book.defect(place, item, Phase::AsFound, code);
                }
                _ => self.book.sound(place, item, Phase::AsFound),
            }
        }
    }

    #[allow(clippy::too_many_arguments)] // what one reading needs
    fn read(&mut self, place: Place, item: Item, take: u32, slot: Slot, text: &str, gauge: &str) {
        let unit = match gauge {
            "HW-F1" => "°C",
            "HW-R1" => "N",
            _ => "mm",
        };
        let gauge = (!gauge.is_empty()).then_some((gauge, unit));
        let found = Phase::AsFound;
        self.book
            .read(place, item, found, take, slot, text, gauge, None);
    }

    /// One set, or two where the technician took every reading again.
    fn takes(&self) -> std::ops::RangeInclusive<u32> {
        1..=if self.again { 2 } else { 1 }
    }

    fn axle(&mut self, axle: usize, brake: Brake) {
        let worn = self.rng.unit();
        let friction = self.rng.unit();
        for corner in [2 * axle, 2 * axle + 1] {
            match brake {
                Brake::Disc { .. } => self.disc_corner(corner, brake, worn, friction),
                Brake::Drum { .. } => self.drum_corner(corner, brake, worn, friction),
            }
        }
    }

    fn disc_corner(&mut self, corner: usize, brake: Brake, worn: f64, friction: f64) {
        let Brake::Disc {
            new,
            limit,
            runout,
            pads,
        } = brake
        else {
            return;
        };
        let place = at(NAMES[corner]);
        if self.full {
            self.looks(place, corner, &BEFORE_PADS);
        } else {
            let quick = [
                Item::WheelSeat,
                Item::WheelFasteners,
                Item::Hose,
                Item::Pipe,
                Item::CalliperLeak,
                Item::PadsCondition,
            ];
            self.looks(place, corner, &quick);
        }
        let pad = if self.is(Defect::PadsThin, corner) {
            self.rng.between(1.3, 1.7)
        } else if self.is(Defect::PadsNearlyGone, corner) {
            self.rng.between(0.2, 0.7)
        } else {
            2.5 + (pads - 2.8) * friction
        };
        self.pads(place, pad, pads);
        self.looks(place, corner, &[Item::DiscSurface]);
        self.float(place, corner);
        let tilt = if self.is(Defect::RunOut, corner) {
            runout + self.rng.between(0.030, 0.080)
        } else {
            self.rng.between(0.010, 0.6 * runout)
        };
        self.runout(place, tilt);
        let thickness = if self.is(Defect::DiscThin, corner) {
            limit - self.rng.between(0.03, 0.6)
        } else {
            limit + 0.08 + (new - limit - 0.1) * worn + self.rng.normal(0.03).clamp(-0.07, 0.07)
        };
        // A quick look judges no variation by its four points, and a policy's figure fails nothing.
        let dtv = if self.full && self.dtv_figure && self.is(Defect::Variation, corner) {
            DTV_MAX + 0.005 + self.rng.between(0.008, 0.03)
        } else {
            self.rng.between(0.001, 0.006)
        };
        if thickness - limit < 0.33 {
            self.plan.push((place, Item::DiscThickness));
        }
        self.thickness(place, thickness.min(new), dtv);
        if self.full {
            self.looks(place, corner, &[Item::HubFace]);
        }
    }

    fn pads(&mut self, place: Place, pad: f64, new: f64) {
        let outer = (pad + self.rng.normal(0.25).clamp(-0.5, 0.5)).clamp(0.1, new);
        if pad.min(outer) < 3.25 {
            self.plan.push((place, Item::PadsThickness));
        }
        let ends = if self.full { 2 } else { 1 };
        for take in self.takes() {
            for (make, value) in [(Slot::Inner as fn(u16) -> Slot, pad), (Slot::Outer, outer)] {
                for end in 1..=ends {
                    let text = shown((value + self.pad_error + self.rng.normal(0.05)).max(0.1), 1);
                    self.read(place, Item::PadsThickness, take, make(end), &text, "HW-P1");
                }
            }
        }
    }

    fn float(&mut self, place: Place, corner: usize) {
        let float = if self.is(Defect::EndFloat, corner) {
            FLOAT_MAX + self.rng.between(0.012, 0.1)
        } else {
            self.rng.between(0.002, 0.025)
        };
        for take in self.takes() {
            let text = shown((float + self.rng.normal(0.001)).max(0.0), 3);
            self.read(
                place,
                Item::BearingFloat,
                take,
                Slot::Value(1),
                &text,
                "HW-D1",
            );
        }
    }

    fn runout(&mut self, place: Place, tir: f64) {
        let high = self.rng.between(0.0, TAU);
        let order2 = self.rng.between(0.0, 0.003);
        let points = 2 * u16::from(self.fasteners);
        for take in self.takes() {
            if !self.full {
                let text = shown((tir + self.rng.normal(0.0015)).abs(), 3);
                self.read(place, Item::DiscRunout, take, Slot::Swept, &text, "HW-D1");
                continue;
            }
            let at = |n: u16| {
                let angle = TAU * f64::from(n) / f64::from(points);
                tir / 2.0 * libm::cos(angle - high) + order2 * libm::cos(2.0 * angle)
            };
            for n in 0..=points {
                let slot = if n == points {
                    Slot::Return
                } else {
                    Slot::Point(n + 1)
                };
                let noise = if n == 0 { 0.0 } else { self.rng.normal(0.001) };
                let text = shown(at(n % points) - at(0) + noise, 3);
                self.read(place, Item::DiscRunout, take, slot, &text, "HW-D1");
            }
        }
    }

    fn thickness(&mut self, place: Place, thinnest: f64, dtv: f64) {
        let item = Item::DiscThickness;
        let points = if self.full {
            2 * u16::from(self.fasteners)
        } else {
            4
        };
        let phase = self.rng.between(0.0, TAU);
        // A disc as warm as after a drive and a wait, or cold; told or not.
        let warm = if self.rng.chance(0.5) {
            self.rng.between(0.0, 25.0)
        } else {
            0.0
        };
        let told = self.rng.chance(0.5);
        let (gauge, zero) = if thinnest > 24.99 {
            ("HW-M2", -0.002)
        } else {
            ("HW-M1", 0.001)
        };
        for take in self.takes() {
            if told {
                let text = shown(20.0 + warm + self.rng.between(-0.5, 0.5), 0);
                self.read(place, item, take, Slot::Temperature, &text, "");
            }
            for n in 0..points {
                let angle = TAU * f64::from(n) / f64::from(points);
                let true_size = thinnest + dtv / 2.0 * (1.0 - libm::cos(angle - phase));
                let warm_size = true_size * (1.0 + 11.4e-6 * warm);
                let read = warm_size + zero + self.thickness_error + self.rng.normal(0.001);
                self.read(
                    place,
                    item,
                    take,
                    Slot::Point(n + 1),
                    &shown(read, 3),
                    gauge,
                );
            }
        }
    }

    fn drum_corner(&mut self, corner: usize, brake: Brake, worn: f64, friction: f64) {
        let Brake::Drum { new, max, linings } = brake else {
            return;
        };
        let place = at(NAMES[corner]);
        let before = [
            Item::WheelSeat,
            Item::WheelFasteners,
            Item::Hose,
            Item::Pipe,
            Item::CylinderLeak,
        ];
        self.looks(place, corner, &before);
        if self.full {
            self.looks(place, corner, &[Item::SensorSpeed, Item::BoltsWitness]);
        }
        self.float(place, corner);
        let size = if self.is(Defect::DrumLarge, corner) {
            max + self.rng.between(0.08, 0.6)
        } else {
            new + (max - new - 0.12) * worn
        };
        let error = self.rng.between(-0.02, 0.02);
        for take in self.takes() {
            for (make, less) in [(Slot::Open as fn(u16) -> Slot, 0.0), (Slot::Closed, 0.03)] {
                for n in 1..=2 {
                    let read = size - less + error - self.rng.between(0.0, 0.02);
                    let text = shown(read + self.rng.normal(0.005), 2);
                    self.read(place, Item::DrumDiameter, take, make(n), &text, "HW-G1");
                }
            }
        }
        let lining = if self.is(Defect::LiningsThin, corner) {
            self.rng.between(0.4, LINING_MIN - 0.3)
        } else {
            LINING_MIN + 0.4 + (linings - LINING_MIN - 0.5) * friction
        };
        if lining < LINING_MIN + 0.75 {
            self.plan.push((place, Item::LiningsThickness));
        }
        for take in self.takes() {
            for n in 1..=2 {
                let read = lining + self.pad_error + self.rng.normal(0.05);
                let text = shown(read.clamp(0.1, linings + 0.3), 1);
                self.read(
                    place,
                    Item::LiningsThickness,
                    take,
                    Slot::Lining(n),
                    &text,
                    "HW-P1",
                );
            }
        }
    }

    fn vehicle(&mut self) {
        let place = Place::Vehicle;
        self.looks(place, self.bad, &[Item::FluidLevel]);
        let wet = self.is(Defect::FluidWet, self.bad);
        // A workshop without a tester leaves the boiling point out.
        if wet || (self.full && self.rng.chance(0.8)) {
            let boiling = if wet {
                self.rng.between(115.0, 145.0)
            } else {
                self.rng.between(205.0, 262.0)
            };
            let text = shown(boiling + self.rng.between(-3.0, 3.0), 0);
            self.read(place, Item::FluidBoiling, 1, Slot::Value(1), &text, "HW-F1");
        }
    }

    /// Roller forces, where the workshop has a tester.
    fn rollers(&mut self, mass: f64) {
        let weight = mass * 9.806_65;
        let axle = self.bad / 2;
        let imbalanced = self.is(Defect::Imbalance, self.bad);
        let without = self.is(Defect::WheelWithoutBrake, self.bad);
        let weak = self.is(Defect::Weak, self.bad);
        let parking_weak = self.is(Defect::ParkingWeak, self.bad);
        let one_sided = self.is(Defect::ParkingOneSided, self.bad);
        let odd = imbalanced || without || weak || parking_weak || one_sided;
        if !odd && self.rng.chance(0.7) {
            return;
        }
        let efficiency = if weak {
            self.rng.between(0.30, 0.45)
        } else {
            self.rng.between(0.68, 0.85)
        };
        let share = self.rng.between(0.60, 0.70);
        let mut forces = [
            share / 2.0,
            share / 2.0,
            (1.0 - share) / 2.0,
            (1.0 - share) / 2.0,
        ]
        .map(|part| weight * efficiency * part);
        for axle in 0..2 {
            forces[2 * axle + self.rng.below(2)] *= self.rng.between(0.85, 1.0);
        }
        let mate = self.bad ^ 1;
        if imbalanced {
            forces[self.bad] = forces[mate] * self.rng.between(0.52, 0.64);
            // The others make up for it: the efficiency is not what is wrong.
            forces[2 * (1 - axle)] *= 1.1;
            forces[2 * (1 - axle) + 1] *= 1.1;
        }
        if without {
            forces[self.bad] = 0.0;
        }
        let mass = shown(mass, 0);
        let tens = |force: f64| shown(libm::round(force / 10.0) * 10.0, 0);
        let item = Item::ServiceEfficiency;
        for (name, force) in NAMES.into_iter().zip(forces) {
            let read = force * (1.0 + self.rng.between(-0.02, 0.02));
            let slot = Slot::At(name.parse().unwrap());
            self.read(Place::Vehicle, item, 1, slot, &tens(read), "HW-R1");
        }
        self.read(Place::Vehicle, item, 1, Slot::Mass, &mass, "");
        let item = Item::ParkingEfficiency;
        let parking = if parking_weak {
            self.rng.between(0.09, 0.145)
        } else {
            self.rng.between(0.20, 0.30)
        };
        for (corner, name) in [(2, "RL"), (3, "RR")] {
            let mut force = weight * parking / 2.0 * self.rng.between(0.95, 1.0);
            if one_sided {
                force = if corner % 2 == self.bad % 2 {
                    0.0
                } else {
                    2.0 * force
                };
            }
            let slot = Slot::At(name.parse().unwrap());
            self.read(Place::Vehicle, item, 1, slot, &tens(force), "HW-R1");
        }
        self.read(Place::Vehicle, item, 1, Slot::Mass, &mass, "");
    }

    fn refit(&mut self) {
        self.book.refit(self.fasteners);
        if self.is(Defect::WheelNotTorqued, self.bad) {
            let corner = NAMES[self.bad].parse().unwrap();
            self.book.entries.retain(
                |(_, event)| !matches!(event, Event::Torque(task) if task.corner == corner),
            );
        }
        if self.is(Defect::PedalNotPumped, self.bad) {
            self.book.entries.retain(|(_, event)| {
                !matches!(
                    event,
                    Event::Gate {
                        gate: GateItem::PedalFirm,
                        ..
                    }
                )
            });
        }
    }
}

/// How many sound vehicles of a fleet went out, and what held up the others.
#[derive(Debug, Default)]
pub struct Sound {
    pub vehicles: usize,
    pub passed: usize,
    pub advised: usize,
    /// Seeds of those held up, with the items that did it; none where only the answer did.
    pub held_up: Vec<(u64, Vec<Item>)>,
}

/// A sound vehicle goes out when every verdict is PASS or advice that is true.
pub fn sound(seeds: std::ops::Range<u64>) -> Sound {
    let mut fleet = Sound::default();
    for seed in seeds {
        let vehicle = draw(seed, None);
        let judgement = vehicle.judge();
        fleet.vehicles += 1;
        let held: Vec<Item> = judgement
            .standing(Phase::AsLeft)
            .filter(|finding| match finding.verdict {
                ItemVerdict::Pass => false,
                ItemVerdict::Advise => !vehicle.plan.contains(&(finding.place, finding.item)),
                _ => true,
            })
            .map(|finding| finding.item)
            .collect();
        if held.is_empty() && matches!(drive(&judgement), Drive::Yes | Drive::Until) {
            let pass = judgement.verdict == Verdict::Pass;
            fleet.passed += usize::from(pass);
            fleet.advised += usize::from(!pass);
        } else {
            fleet.held_up.push((seed, held));
        }
    }
    fleet
}

/// Vehicles with one true defect: how many were drawn, and those that were answered better than it
/// deserves.
pub fn defective(defect: Defect, seeds: std::ops::Range<u64>) -> (usize, Vec<(u64, Drive)>) {
    let (mut drawn, mut better) = (0, Vec::new());
    for seed in seeds {
        let vehicle = draw(seed, Some(defect));
        if !vehicle.has_defect {
            continue; // a drum brake has no pads
        }
        drawn += 1;
        let answer = drive(&vehicle.judge());
        if answer > defect.deserves() {
            better.push((seed, answer));
        }
    }
    (drawn, better)
}
