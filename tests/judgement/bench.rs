//! A job that can be bent, and what every row of the table needs.

pub(crate) use crate::jobs::{Book, JOBS, at, register, specs};
pub(crate) use brakecorner::job::{
    Depth, Entered, Event, Item, Meta, Observation, Override, Part, Phase, Place, Quantity,
    Register, Slot, Symptom,
};
pub(crate) use brakecorner::judge::{
    Finding, ItemVerdict, Judgement, Urgency, Verdict, judge, verdicts,
};
pub(crate) use brakecorner::measure::conformity::Proof;
pub(crate) use brakecorner::record::freeze::Specs;
pub(crate) use brakecorner::spec::{RulePack, Sourced, builtin_rule_packs};
pub(crate) use brakecorner::units::{Length, LengthUnit};
pub(crate) use proptest::prelude::*;

pub(crate) use brakecorner::judge::ItemVerdict::{Advise, Fail, NoLimit, NotInspected, Pass};

/// A job that can be bent, with what it is judged by.
#[derive(Clone)]
pub(crate) struct Bench {
    pub(crate) book: Book,
    pub(crate) specs: Specs,
    pub(crate) register: Register,
}

impl Bench {
    pub(crate) fn of(number: &str) -> Self {
        let book = crate::jobs::build(number);
        let sheet = book.fold().opening.unwrap().sheet;
        Self {
            book,
            specs: specs(&sheet),
            register: register(),
        }
    }

    /// The mail van: everything good in front, thin pads in the rear.
    pub(crate) fn van() -> Self {
        Self::of("HWY-0411")
    }

    pub(crate) fn judge(&self) -> Judgement {
        judge(&self.specs.case(&self.book.fold(), &self.register))
    }

    pub(crate) fn found(&self, place: &str, item: Item) -> Finding {
        self.state(place, item, Phase::AsFound)
    }

    pub(crate) fn state(&self, place: &str, item: Item, phase: Phase) -> Finding {
        let place: Place = place.parse().unwrap();
        let judgement = self.judge();
        let found = judgement
            .standing(phase)
            .find(|f| (f.place, f.item) == (place, item));
        found.unwrap_or_else(|| panic!("{place} {item}")).clone()
    }

    pub(crate) fn each(&mut self, mut change: impl FnMut(&mut Event)) {
        for (_, event) in &mut self.book.entries {
            change(event);
        }
    }

    pub(crate) fn retain(&mut self, keep: impl Fn(&Event) -> bool) {
        self.book.entries.retain(|(_, event)| keep(event));
    }

    /// Gives every reading of an item at a place a new value, by slot.
    pub(crate) fn set(&mut self, place: &str, item: Item, value: impl Fn(Slot) -> Option<Length>) {
        let place: Place = place.parse().unwrap();
        self.each(|event| {
            if let Event::Reading(r) = event
                && (r.place, r.item) == (place, item)
                && let Some(length) = value(r.slot)
            {
                let text = length.rounded(LengthUnit::Millimetre, 6);
                r.entered = Entered::read(&text, Quantity::Length, "mm").unwrap();
            }
        });
    }

    /// A thickness ring whose points are all `t` but the third, which is thicker by `dtv`. The
    /// micrometer's zero error of 1 µm is in the readings.
    pub(crate) fn ring(&mut self, place: &str, t: Length, dtv: Length) {
        let zero = Length::from_nm(1_000);
        self.set(place, Item::DiscThickness, |slot| match slot {
            Slot::Point(3) => Some(t + zero + dtv),
            Slot::Point(_) => Some(t + zero),
            _ => None,
        });
    }

    /// A ring without any run-out, confirmed to be so, and a swept value that is judged.
    pub(crate) fn swept(&mut self, place: &str, value: Length) {
        self.set(place, Item::DiscRunout, |_| Some(Length::ZERO));
        self.each(|event| {
            if let Event::Reading(r) = event {
                r.confirmed |= r.item == Item::DiscRunout;
            }
        });
        self.retain(|event| !matches!(event, Event::Reading(r) if r.slot == Slot::Swept));
        let text = value.rounded(LengthUnit::Millimetre, 6);
        let dial = Some(("HW-D1", "mm"));
        let place = place.parse().unwrap();
        self.book.read(
            place,
            Item::DiscRunout,
            Phase::AsFound,
            1,
            Slot::Swept,
            &text,
            dial,
            None,
        );
    }

    pub(crate) fn complains(&mut self, symptom: Symptom) {
        self.each(|event| {
            if let Event::Opened(opening) = event {
                opening.symptoms = vec![symptom];
            }
        });
    }

    pub(crate) fn defect(&mut self, place: &str, item: Item, code: &str) {
        let place: Place = place.parse().unwrap();
        // In place of what was seen there; beside it both would stand.
        self.retain(|event| {
            !matches!(event, Event::Seen { place: p, item: i, phase: Phase::AsFound, .. }
                if (*p, *i) == (place, item))
        });
        self.book.defect(place, item, Phase::AsFound, code);
    }

    pub(crate) fn forces(&mut self, wheels: &[(&str, i64)], locked: &[&str], mass: i64) {
        let item = Item::ServiceEfficiency;
        let tester = Some(("HW-R1", "N"));
        let at = |name: &str| name.parse().unwrap();
        for (name, force) in wheels {
            let slot = Slot::At(at(name));
            self.book.read(
                Place::Vehicle,
                item,
                Phase::AsFound,
                1,
                slot,
                &force.to_string(),
                tester,
                None,
            );
        }
        for name in locked {
            let slot = Slot::Locked(at(name));
            self.book.read(
                Place::Vehicle,
                item,
                Phase::AsFound,
                1,
                slot,
                "locked",
                tester,
                None,
            );
        }
        let text = mass.to_string();
        self.book.read(
            Place::Vehicle,
            item,
            Phase::AsFound,
            1,
            Slot::Mass,
            &text,
            None,
            None,
        );
    }

    pub(crate) fn instrument(
        &mut self,
        id: &str,
        change: impl Fn(&mut brakecorner::job::Instrument),
    ) {
        for instrument in &mut self.register.instruments {
            if instrument.id == id {
                change(instrument);
            }
        }
    }
}

pub(crate) fn um(v: i64) -> Length {
    Length::from_nm(v * 1_000)
}

pub(crate) fn nm(v: i64) -> Length {
    Length::from_nm(v)
}

/// 1.645 u: what lies between a limit and where a value counts as proven.
pub(crate) fn guard(u_mm: f64) -> Length {
    Length::from_mm(1.644_853_627 * u_mm).unwrap()
}

/// A little more than the rounding of a stored probability can hide.
pub(crate) const STEP: Length = Length::from_nm(20);

pub(crate) fn check(what: &str, value: Length, found: &Finding, verdict: ItemVerdict) {
    assert_eq!(
        found.verdict, verdict,
        "{what} at {value}: {} {:?}",
        found.sentence, found.reasons
    );
}
