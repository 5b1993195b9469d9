//! What may still be true of a vehicle of which not every fact is known.
//!
//! A rule's scope fails closed: what is not known neither makes a rule apply nor keeps it away. Whether
//! it matters is found by trying: every combination of values that the rules tell apart is one
//! possible vehicle, and a verdict that is the same for all of them needs no more facts.

use chrono::NaiveDate;

use super::rules::{Applies, BrakeForm, Conditions, Fact, RulePack, VehicleFacts};
use super::sheet::Actuation;
use super::sheet_read::FLUID_GRADES;
use crate::units::{Chassis, Mounting, VEHICLE_CLASSES};

/// The facts on which it hangs whether a rule of the packs about an item applies.
#[must_use]
pub fn unknown_facts(packs: &[RulePack], item: &str, facts: &VehicleFacts) -> Vec<Fact> {
    let mut unknown: Vec<Fact> = packs
        .iter()
        .flat_map(|pack| {
            let about = pack.conditions_about(item);
            about.map(|when| pack.applies(when, facts))
        })
        .filter_map(|applies| match applies {
            Applies::Unknown(facts) => Some(facts),
            _ => None,
        })
        .flatten()
        .collect();
    unknown.sort_unstable();
    unknown.dedup();
    unknown
}

/// The vehicles that one with these facts may be, as far as the rules about an item tell them apart:
/// one of each kind, none twice. A vehicle of no class stands for what no rule names.
///
/// # Examples
///
/// ```
/// use brakecorner::spec::{BrakeForm, RulePack, VehicleFacts, builtin_rule_packs, possible};
///
/// let (file, text) = builtin_rule_packs().iter().find(|(file, _)| *file == "us-heavy.toml").unwrap();
/// let packs = [RulePack::parse(text, file)?];
/// let facts = VehicleFacts {
///     gross_mass_g: Some(9_000_000),
///     brake: Some(BrakeForm::Drum),
///     ..VehicleFacts::default()
/// };
/// // Bonded or fastened.
/// assert_eq!(possible(&packs, "linings.thickness", &facts).len(), 2);
/// # Ok::<(), brakecorner::spec::SpecProblems>(())
/// ```
#[must_use]
pub fn possible(packs: &[RulePack], item: &str, facts: &VehicleFacts) -> Vec<VehicleFacts> {
    let told_apart: Vec<&Conditions> = packs
        .iter()
        .flat_map(|pack| pack.conditions_about(item).chain([&pack.vehicles]))
        .collect();
    let mut worlds = vec![facts.clone()];
    for fact in unknown_facts(packs, item, facts) {
        worlds = worlds
            .iter()
            .flat_map(|world| {
                // A class that was tried may have settled it.
                if unknown_facts(packs, item, world).contains(&fact) {
                    with(world, fact, &told_apart)
                } else {
                    vec![world.clone()]
                }
            })
            .filter(|world| world.contradiction().is_none())
            .collect();
    }
    // Of the worlds in which the same rules apply one is enough.
    let mut seen: Vec<Vec<bool>> = Vec::new();
    worlds.retain(|world| {
        let rules: Vec<bool> = packs
            .iter()
            .flat_map(|pack| {
                let about = pack.conditions_about(item);
                about.map(|when| pack.applies(when, world) == Applies::Yes)
            })
            .collect();
        let new = !seen.contains(&rules);
        if new {
            seen.push(rules);
        }
        new
    });
    worlds
}

/// The vehicle with each value of one fact that the conditions tell apart.
fn with(world: &VehicleFacts, fact: Fact, told_apart: &[&Conditions]) -> Vec<VehicleFacts> {
    let both = |set: fn(&mut VehicleFacts, bool)| each(world, &[false, true], |w, v| set(w, *v));
    let around = |limits: Vec<u64>| {
        let mut values: Vec<u64> = limits
            .iter()
            .flat_map(|limit| [*limit, limit + 1])
            .collect();
        values.sort_unstable();
        values.dedup();
        values
    };
    let limits = |read: fn(&Conditions) -> [Option<u64>; 2]| {
        around(told_apart.iter().flat_map(|c| read(c)).flatten().collect())
    };
    match fact {
        Fact::Class => {
            let words = VEHICLE_CLASSES.iter().map(|class| class.word).chain([""]);
            let words: Vec<&str> = words.collect();
            each(world, &words, |w, word| w.class = Some((*word).to_owned()))
        }
        Fact::FirstUsed => {
            let days = told_apart
                .iter()
                .flat_map(|c| [c.first_used_from, c.first_used_before])
                .flatten()
                .flat_map(|day| [day.pred_opt(), Some(day)])
                .flatten();
            let mut days: Vec<NaiveDate> = days.collect();
            days.sort_unstable();
            days.dedup();
            each(world, &days, |w, day| w.first_used = Some(*day))
        }
        Fact::GrossMass => {
            let masses = limits(|c| [c.gross_mass_up_to_g, c.gross_mass_over_g]);
            each(world, &masses, |w, mass| w.gross_mass_g = Some(*mass))
        }
        Fact::Seats => {
            let seats = limits(|c| [c.seats_up_to.map(u64::from), c.seats_over.map(u64::from)]);
            each(world, &seats, |w, seats| {
                w.seats = u32::try_from(*seats).ok()
            })
        }
        Fact::BrakedWheels => {
            let from =
                |c: &Conditions| c.braked_wheels_from.map(|n| u64::from(n.saturating_sub(1)));
            let wheels = around(told_apart.iter().filter_map(|c| from(c)).collect());
            each(world, &wheels, |w, wheels| {
                w.braked_wheels = u32::try_from(*wheels).ok()
            })
        }
        Fact::Passenger => both(|w, v| w.passenger = Some(v)),
        Fact::SingleLine => both(|w, v| w.single_line = Some(v)),
        Fact::TwoPadShoe => both(|w, v| w.two_pad_shoe = Some(v)),
        Fact::Steered => both(|w, v| w.steered = Some(v)),
        Fact::Chassis => each(
            world,
            &[Chassis::PassengerCar, Chassis::TruckOrBus],
            |w, chassis| w.chassis = Some(*chassis),
        ),
        Fact::Mounting => each(world, &[Mounting::Bonded, Mounting::Fastened], |w, held| {
            w.mounting = Some(*held);
        }),
        Fact::Brake => each(world, &[BrakeForm::Disc, BrakeForm::Drum], |w, brake| {
            w.brake = Some(*brake);
        }),
        Fact::Actuation => each(
            world,
            &[Actuation::Hydraulic, Actuation::Air, Actuation::Electric],
            |w, actuation| w.actuation = Some(*actuation),
        ),
        Fact::FluidGrade => {
            let grades: Vec<&str> = FLUID_GRADES.into_iter().chain([""]).collect();
            each(world, &grades, |w, grade| {
                w.fluid_grade = Some((*grade).to_owned());
            })
        }
    }
}

fn each<T>(
    world: &VehicleFacts,
    values: &[T],
    set: impl Fn(&mut VehicleFacts, &T),
) -> Vec<VehicleFacts> {
    let one = |value: &T| {
        let mut world = world.clone();
        set(&mut world, value);
        world
    };
    values.iter().map(one).collect()
}
