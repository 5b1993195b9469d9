//! Changes of a job that speak for or against a cause.

use super::bench::*;
use brakecorner::job::{Proceeding, TorqueTask};

pub(crate) fn pads(b: &mut Bench, place: &str, inner: i64, outer: i64) {
    b.set(place, Item::PadsThickness, |slot| {
        Some(um(if matches!(slot, Slot::Inner(_)) {
            inner
        } else {
            outer
        }))
    });
}

pub(crate) fn taper(b: &mut Bench) {
    pads(b, "FL", 5_000, 6_000);
    let gauge = Some(("HW-P1", "mm"));
    let (item, slot) = (Item::PadsThickness, Slot::Inner(2));
    b.book
        .read(at("FL"), item, Phase::AsFound, 1, slot, "6.5", gauge, None);
}

pub(crate) fn lips(b: &mut Bench, outer: &str, inner: &str) {
    for (slot, text) in [(Slot::LipOuter(1), outer), (Slot::LipInner(1), inner)] {
        b.book.read(
            at("FL"),
            Item::DiscThickness,
            Phase::AsFound,
            1,
            slot,
            text,
            None,
            None,
        );
    }
}

pub(crate) fn before(b: &mut Bench, visits: [(i64, i64); 2]) {
    for (km, thickness) in visits {
        b.book.push(Event::Earlier {
            corner: "FL".parse().unwrap(),
            item: Item::PadsThickness,
            odometer: brakecorner::units::Distance::from_whole_km(km),
            thickness: um(thickness),
            source: "example".into(),
            date: None,
            since: Default::default(),
        });
    }
}

pub(crate) fn wave(b: &mut Bench, order: f64, micrometres: f64) {
    b.retain(|e| !matches!(e, Event::Reading(r) if r.slot == Slot::Swept));
    b.set("FL", Item::DiscRunout, |slot| {
        let n = match slot {
            Slot::Point(n) => f64::from(n - 1),
            _ => 0.0,
        };
        let wave = (order * n * 36.0f64.to_radians()).cos();
        Length::from_mm(micrometres / 2.0 * wave * 1e-3)
    });
}

pub(crate) fn soft_pedal(b: &mut Bench, celsius: &str) {
    b.complains(Symptom::SoftPedal);
    b.retain(|e| !matches!(e, Event::Reading(r) if r.item == Item::FluidBoiling));
    b.book.fluid(celsius);
}

pub(crate) fn forces(b: &mut Bench, front_left: i64) {
    let wheels = [
        ("FL", front_left),
        ("FR", 3_500),
        ("RL", 2_000),
        ("RR", 2_000),
    ];
    b.forces(&wheels, &[], 2_000);
}

pub(crate) fn parking(b: &mut Bench, left: i64) {
    for (name, force) in [("RL", left), ("RR", 1_500)] {
        let slot = Slot::At(name.parse().unwrap());
        let (item, tester) = (Item::ParkingEfficiency, Some(("HW-R1", "N")));
        let text = force.to_string();
        b.book.read(
            Place::Vehicle,
            item,
            Phase::AsFound,
            1,
            slot,
            &text,
            tester,
            None,
        );
    }
}

pub(crate) fn turned(b: &mut Bench, degrees: u16) {
    b.book.push(Event::Torque(TorqueTask {
        corner: "FL".parse().unwrap(),
        proceeding: Proceeding::WheelSecondPass,
        fastener: 3,
        instrument: "HW-T1".into(),
        set_to: None,
        turned_deg: Some(degrees),
    }));
}

pub(crate) fn sound(_: &mut Bench) {}

pub(crate) fn linings(b: &mut Bench, leading: i64) {
    b.set("RL", Item::LiningsThickness, |slot| {
        Some(um(if slot == Slot::Lining(1) {
            leading
        } else {
            4_000
        }))
    });
}

pub(crate) fn oval(b: &mut Bench, by: i64) {
    b.set("RL", Item::DrumDiameter, |slot| {
        Some(um(203_300 + if slot == Slot::Open(1) { by } else { 0 }))
    });
}

/// Gives every ring at the front right that was taken in a known clocking the tilts of hub and disc,
/// in micrometres.
pub(crate) fn tilt(b: &mut Bench, hub: f64, disc: f64) {
    let high = 40f64.to_radians();
    b.each(|event| {
        let Event::Reading(r) = event else { return };
        let (Some(k), Slot::Point(n)) = (r.clocking, r.slot) else {
            if r.item == Item::DiscRunout && r.clocking.is_some() {
                r.entered = Entered::read("0.000", Quantity::Length, "mm").unwrap();
            }
            return;
        };
        let angle = f64::from(n - 1) * 36f64.to_radians();
        let turn = f64::from(k) * 72f64.to_radians();
        let wave = |angle: f64| hub * (angle - high).cos() + disc * (angle - high - turn).cos();
        let text = format!("{:.3}", (wave(angle) - wave(0.0)) * 1e-3);
        r.entered = Entered::read(&text, Quantity::Length, "mm").unwrap();
    });
}

/// The ring after cleaning shows what the one before it showed.
pub(crate) fn as_before_cleaning(b: &mut Bench) {
    let first: Vec<(Slot, Entered)> = b
        .book
        .entries
        .iter()
        .filter_map(|(_, event)| match event {
            Event::Reading(r)
                if (r.place, r.item, r.phase, r.take)
                    == (at("FR"), Item::DiscRunout, Phase::AsFound, 1) =>
            {
                Some((r.slot, r.entered.clone()))
            }
            _ => None,
        })
        .collect();
    b.each(|event| {
        if let Event::Reading(r) = event
            && (r.place, r.item, r.phase, r.take) == (at("FR"), Item::DiscRunout, Phase::AsLeft, 1)
            && let Some((_, entered)) = first.iter().find(|(slot, _)| *slot == r.slot)
        {
            r.entered = entered.clone();
        }
    });
}

/// The first points of the ring as left show this.
pub(crate) fn set_left(b: &mut Bench, place: &str, text: &str) {
    b.each(|event| {
        if let Event::Reading(r) = event
            && (r.place, r.item, r.phase) == (at(place), Item::DiscRunout, Phase::AsLeft)
            && matches!(r.slot, Slot::Point(2..=4))
        {
            r.entered = Entered::read(text, Quantity::Length, "mm").unwrap();
        }
    });
}
