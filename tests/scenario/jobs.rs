//! The four invented jobs as journals, built from the readings of `tests/data/scenario.json`.
//!
//! Everything else (vehicles, looks, parts, torques) is invented too.
// Every test file uses its own part of this.
#![allow(dead_code, unreachable_pub, clippy::panic, clippy::type_complexity)]

#[path = "book.rs"]
mod book;

use brakecorner::job::{
    Complaint, Deed, Depth, Event, Item, Observation, Opening, Part, Phase, Place, Proceeding,
    Slot, Symptom,
};
use brakecorner::units::{Distance, Length};
use serde_json::Value;

pub use book::*;

pub fn build(number: &str) -> Book {
    match number {
        "HWY-0411" => mail_van(),
        "HWY-0417" => minibus(),
        "HWY-0423" => private_car(),
        _ => taxi(),
    }
}

fn mail_van() -> Book {
    let data = &scenario()["HWY-0411"];
    let mut book = Book::new("2026-03-02T08:40:00+00:00", "Ilse Varga");
    book.opened(Opening {
        quote: "annual brake inspection 58.00".to_owned(),
        ..opening(
            "HWY-0411",
            "A0ZDL07V7NK001122",
            84_120,
            "N1",
            "2022-05-03",
            "merlock-dunling",
        )
    });
    for name in ["RL", "RR"] {
        let visits = data[name]["visits"].as_array().unwrap();
        for visit in &visits[..visits.len() - 1] {
            book.push(Event::Earlier {
                corner: corner(name),
                item: Item::PadsThickness,
                odometer: Distance::from_whole_km(visit[0].as_i64().unwrap()),
                thickness: Length::from_mm(visit[1].as_f64().unwrap()).unwrap(),
                source: "earlier visit".to_owned(),
                date: None,
                since: Default::default(),
            });
        }
    }
    book.zero("HW-M1", "closed", "0.001", 1);
    for (name, float) in FLOATS {
        let damp: &[(Item, &str)] = if name == "RL" {
            &[(Item::SensorSpeed, "damp")]
        } else {
            &[]
        };
        disc_corner(
            &mut book,
            name,
            &data[name],
            "runout",
            float,
            ("HW-M1", "mm"),
            damp,
        );
    }
    book.sound(Place::Vehicle, Item::FluidLevel, Phase::AsFound);
    book.fluid("212");
    book.done(at("RL"), Deed::CleanedConnector);
    book.sound(at("RL"), Item::SensorSpeed, Phase::AsLeft);
    book.refit(5);
    book
}

fn minibus() -> Book {
    let data = &scenario()["HWY-0417"];
    let mut book = Book::new("2026-03-03T09:15:00+00:00", "Tam Okoro");
    book.opened(Opening {
        complaint: "steering wheel shakes a little when braking from speed, since the new discs"
            .to_owned(),
        symptoms: vec![Symptom::Judder],
        from_words: Vec::new(),
        quote: "front discs 310.00".to_owned(),
        ..opening(
            "HWY-0417",
            "A0ZTN12S0MK000417",
            118_460,
            "M1",
            "2021-04-19",
            "merlock-ternway",
        )
    });
    book.zero("HW-M1", "closed", "0.001", 1);
    book.zero("HW-M2", "25.000 mm rod", "24.998", -2);
    for (name, float) in FLOATS {
        let gauge = if name.starts_with('F') {
            "HW-M2"
        } else {
            "HW-M1"
        };
        let runout = if name == "FR" {
            "runout_found"
        } else {
            "runout"
        };
        disc_corner(
            &mut book,
            name,
            &data[name],
            runout,
            float,
            (gauge, "mm"),
            &[],
        );
    }
    let front = &data["FR"];
    let place = at("FR");
    book.sound(Place::Vehicle, Item::FluidLevel, Phase::AsFound);
    book.fluid("205");
    book.push(Event::Work {
        place,
        deed: Deed::CleanedHub,
        note: "rust flakes under the disc, cleaned bright".to_owned(),
    });
    let left = Phase::AsLeft;
    book.ring(place, left, 1, &front["runout_cleaned_at_0"], Some(0));
    book.done(place, Deed::Reclocked { clocking: 2 });
    book.ring(place, left, 2, &front["runout_at_2"], Some(2));
    book.done(place, Deed::Reclocked { clocking: 3 });
    book.ring(place, left, 3, &front["runout_at_3_as_left"], Some(3));
    for bolt in 1..=2 {
        book.torque("FR", Proceeding::CalliperCarrier, bolt, "HW-T1");
    }
    book.refit(5);
    book.push(Event::ComplaintAnswered {
        outcome: Complaint::Gone,
        distance: Distance::from_whole_km(6),
    });
    book
}

fn rollers(book: &mut Book, data: &Value, phase: Phase) {
    let key = if phase == Phase::AsFound {
        "found"
    } else {
        "left"
    };
    let at = |name: &str| data[key][name].as_i64().unwrap();
    let mass = data["mass_kg"].as_i64().unwrap();
    let wheels = ["FL", "FR", "RL", "RR"].map(|name| (name, at(name)));
    book.forces(Item::ServiceEfficiency, phase, &wheels, mass);
    let parking = data[key]["parking"].as_array().unwrap();
    let parking = [
        ("RL", parking[0].as_i64().unwrap()),
        ("RR", parking[1].as_i64().unwrap()),
    ];
    book.forces(Item::ParkingEfficiency, phase, &parking, mass);
}

fn private_car() -> Book {
    let data = &scenario()["HWY-0423"];
    let mut book = Book::new("2026-03-04T08:05:00+00:00", "Ilse Varga");
    book.opened(Opening {
        complaint: "grinding from the back".to_owned(),
        symptoms: vec![Symptom::Grinding],
        from_words: Vec::new(),
        quote: "rear pads 118.00".to_owned(),
        ..opening(
            "HWY-0423",
            "A0ZWR05C6LK004096",
            96_705,
            "M1",
            "2020-06-11",
            "aldercote-wrenfold",
        )
    });
    book.zero("HW-M1", "closed", "0.001", 1);
    rollers(&mut book, &data["rollers"], Phase::AsFound);
    for (name, float) in FLOATS {
        let worn: &[(Item, &str)] = if name == "RR" {
            &[(Item::WheelSeat, "partly"), (Item::SlidePins, "seized")]
        } else {
            &[]
        };
        disc_corner(
            &mut book,
            name,
            &data[name],
            "runout",
            float,
            ("HW-M1", "mm"),
            worn,
        );
    }
    book.sound(Place::Vehicle, Item::FluidLevel, Phase::AsFound);
    book.fluid("171");
    for name in ["RL", "RR"] {
        book.fitted(at(name), Part::Disc);
        book.fitted(at(name), Part::Pads);
    }
    book.fitted(at("RR"), Part::Calliper);
    book.done(at("RR"), Deed::CleanedSeat);
    for item in [
        Item::SlidePins,
        Item::Piston,
        Item::CalliperLeak,
        Item::WheelSeat,
    ] {
        book.sound(at("RR"), item, Phase::AsLeft);
    }
    for name in ["RL", "RR"] {
        let left = &data[name]["as_left"];
        let place = at(name);
        book.sound(place, Item::PadsCondition, Phase::AsLeft);
        let pads = numbers(&left["pads"]);
        book.pads(place, Phase::AsLeft, &pads[..2], &pads[2..]);
        book.sound(place, Item::DiscSurface, Phase::AsLeft);
        book.ring(place, Phase::AsLeft, 1, &left["runout"], None);
        let ring = printed(&left["disc"], 3);
        book.thickness(place, Phase::AsLeft, &ring, ("HW-M1", "mm"), "20");
        for bolt in 1..=2 {
            book.torque(name, Proceeding::CalliperCarrier, bolt, "HW-T1");
        }
    }
    for pin in 1..=2 {
        book.torque("RR", Proceeding::SlidePin, pin, "HW-T3");
    }
    book.refit(5);
    rollers(&mut book, &data["rollers"], Phase::AsLeft);
    book.push(Event::ComplaintAnswered {
        outcome: Complaint::Gone,
        distance: Distance::from_whole_km(4),
    });
    book
}

fn taxi() -> Book {
    let data = &scenario()["HWY-0429"];
    let mut book = Book::new("2026-03-05T16:20:00+00:00", "Tam Okoro");
    book.opened(Opening {
        depth: Depth::Quick,
        ..opening(
            "HWY-0429",
            "A0ZPN08D9PK000733",
            41_380,
            "M1",
            "2023-07-24",
            "merlock-pindle",
        )
    });
    book.zero("HW-M3", "closed", "0.000", 0);
    let (found, dial) = (Phase::AsFound, Some(("HW-D1", "mm")));
    for (name, float) in FLOATS {
        let (place, here) = (at(name), &data[name]);
        book.looks(place, &[Item::WheelSeat, Item::WheelFasteners], &[]);
        if name == "RL" {
            let reason = "bracket behind the heat shield, shield bolts rusted".to_owned();
            book.look(
                place,
                Item::Hose,
                found,
                Observation::NotInspected { reason },
            );
        } else {
            book.sound(place, Item::Hose, found);
        }
        book.sound(place, Item::Pipe, found);
        if name.starts_with('F') {
            book.looks(place, &[Item::CalliperLeak, Item::PadsCondition], &[]);
            let pads = numbers(&here["pads"]);
            book.pads(place, found, &pads[..1], &pads[1..]);
            book.sound(place, Item::DiscSurface, found);
            book.float(place, found, float);
            let swept = here["swept_mm"].to_string();
            book.read(
                place,
                Item::DiscRunout,
                found,
                1,
                Slot::Swept,
                &swept,
                dial,
                None,
            );
            let ring = printed(&here["disc_in"], 4);
            book.thickness(place, found, &ring, ("HW-M3", "in"), "20");
        } else {
            book.sound(place, Item::CylinderLeak, found);
            book.float(place, found, float);
            let gauge = Some(("HW-G1", "mm"));
            for (key, make) in [
                ("drum_open", Slot::Open as fn(u16) -> Slot),
                ("drum_closed", Slot::Closed),
            ] {
                for (n, text) in (1..).zip(printed(&here[key], 2)) {
                    book.read(
                        place,
                        Item::DrumDiameter,
                        found,
                        1,
                        make(n),
                        &text,
                        gauge,
                        None,
                    );
                }
            }
            for (n, text) in (1..).zip(printed(&here["linings_leading_trailing"], 1)) {
                let gauge = Some(("HW-P1", "mm"));
                book.read(
                    place,
                    Item::LiningsThickness,
                    found,
                    1,
                    Slot::Lining(n),
                    &text,
                    gauge,
                    None,
                );
            }
        }
    }
    book.sound(Place::Vehicle, Item::FluidLevel, found);
    book.refit(4);
    book
}
