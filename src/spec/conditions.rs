//! Tries a rule's conditions on what is known of a vehicle.

use std::fmt::Display;

use super::rules::{
    Applies, AxleCondition, BrakeForm, Conditions, Mounting, PartState, VehicleFacts,
};
use super::sheet::Actuation;

impl Conditions {
    /// Whether the conditions hold: a condition known to fail decides, then one that cannot be told.
    #[must_use]
    pub fn try_on(&self, facts: &VehicleFacts) -> Applies {
        let mut unknown = None;
        for trial in Self::TRIALS {
            match trial(self, facts) {
                Applies::Yes => {}
                Applies::NotBecause(why) => return Applies::NotBecause(why),
                Applies::Unknown(what) => {
                    unknown.get_or_insert(what);
                }
            }
        }
        unknown.map_or(Applies::Yes, Applies::Unknown)
    }

    /// Each condition, in the order they are named; tried one by one, so that no words are made for
    /// those behind the one that decides.
    const TRIALS: [fn(&Self, &VehicleFacts) -> Applies; 13] = [
        Self::class,
        |own, facts| {
            test(
                own.first_used_from,
                facts.first_used,
                "date of first use",
                |from, used| {
                    (used >= from)
                        .then_some(())
                        .ok_or_else(|| format!("first used {used}, before {from}"))
                },
            )
        },
        |own, facts| {
            test(
                own.first_used_before,
                facts.first_used,
                "date of first use",
                |before, used| {
                    (used < before)
                        .then_some(())
                        .ok_or_else(|| format!("first used {used}, not before {before}"))
                },
            )
        },
        Self::axle,
        |own, facts| {
            test(own.brake, facts.brake, "kind of brake", |wanted, brake| {
                same(wanted, brake, "for a", |form| brake_word(form).to_owned())
            })
        },
        Self::actuation,
        |own, facts| {
            test(
                own.mounting,
                facts.mounting,
                "how the lining is held",
                |wanted, mounting| {
                    same(wanted, mounting, "for a lining that is", |m| {
                        mounting_word(m).to_owned()
                    })
                },
            )
        },
        |own, facts| {
            test(
                own.two_pad_shoe,
                facts.two_pad_shoe,
                "number of pads on a shoe",
                |wanted, two| {
                    let word = |two| {
                        if two {
                            "two pads a shoe"
                        } else {
                            "one pad a shoe"
                        }
                    };
                    same(wanted, two, "for", |two| word(two).to_owned())
                },
            )
        },
        |own, facts| {
            test(
                own.gross_mass_up_to_g,
                facts.gross_mass_g,
                "gross mass",
                |limit, mass| {
                    let why = || {
                        format!(
                            "gross mass {} is over {}",
                            kilograms(mass),
                            kilograms(limit)
                        )
                    };
                    (mass <= limit).then_some(()).ok_or_else(why)
                },
            )
        },
        |own, facts| {
            test(
                own.gross_mass_over_g,
                facts.gross_mass_g,
                "gross mass",
                |limit, mass| {
                    let why = || {
                        format!(
                            "gross mass {} is not over {}",
                            kilograms(mass),
                            kilograms(limit)
                        )
                    };
                    (mass > limit).then_some(()).ok_or_else(why)
                },
            )
        },
        |own, facts| {
            test(
                own.passenger,
                facts.passenger,
                "whether it carries passengers",
                |wanted, is| {
                    let word = |is| {
                        if is {
                            "vehicles that carry passengers"
                        } else {
                            "other vehicles"
                        }
                    };
                    same(wanted, is, "for", |is| word(is).to_owned())
                },
            )
        },
        Self::seats,
        Self::part_and_fluid,
    ];

    fn class(&self, facts: &VehicleFacts) -> Applies {
        match &facts.class {
            _ if self.classes.is_empty() => Applies::Yes,
            None => unknown("vehicle class"),
            Some(class) if self.classes.contains(class) => Applies::Yes,
            Some(class) => Applies::NotBecause(format!(
                "for class {}, not {class}",
                self.classes.join(", ")
            )),
        }
    }

    fn axle(&self, facts: &VehicleFacts) -> Applies {
        match (self.axle, facts.steered) {
            (AxleCondition::Any, _)
            | (AxleCondition::Steering, Some(true))
            | (AxleCondition::NonSteering, Some(false)) => Applies::Yes,
            (_, None) => unknown("whether the axle steers"),
            (AxleCondition::Steering, Some(false)) => not("for steering axles only"),
            (AxleCondition::NonSteering, Some(true)) => not("for axles that do not steer only"),
        }
    }

    fn actuation(&self, facts: &VehicleFacts) -> Applies {
        match facts.actuation {
            _ if self.actuation.is_empty() => Applies::Yes,
            None => unknown("what works the brake"),
            Some(actuation) if self.actuation.contains(&actuation) => Applies::Yes,
            Some(actuation) => {
                let words: Vec<&str> = self.actuation.iter().map(|a| actuation_word(*a)).collect();
                let found = actuation_word(actuation);
                Applies::NotBecause(format!("for {} brakes, not {found}", words.join(" or ")))
            }
        }
    }

    fn seats(&self, facts: &VehicleFacts) -> Applies {
        let up_to = test(
            self.seats_up_to,
            facts.seats,
            "number of seats",
            |limit, seats| {
                (seats <= limit)
                    .then_some(())
                    .ok_or(format!("{seats} seats, more than {limit}"))
            },
        );
        let over = test(
            self.seats_over,
            facts.seats,
            "number of seats",
            |limit, seats| {
                (seats > limit)
                    .then_some(())
                    .ok_or(format!("{seats} seats, not more than {limit}"))
            },
        );
        if up_to == Applies::Yes { over } else { up_to }
    }

    fn part_and_fluid(&self, facts: &VehicleFacts) -> Applies {
        match (self.part, facts.part) {
            (Some(PartState::New), PartState::InService) => return not("for new ones only"),
            (Some(PartState::InService), PartState::New) => return not("for used ones only"),
            _ => {}
        }
        test(
            self.fluid_grade.as_deref(),
            facts.fluid_grade.as_deref(),
            "fluid grade",
            |wanted, grade| same(wanted, grade, "for", str::to_owned),
        )
    }
}

/// Tries one condition: absent it holds, with the fact unknown it cannot be told.
fn test<W, F>(
    wanted: Option<W>,
    fact: Option<F>,
    what: &str,
    judge: impl FnOnce(W, F) -> Result<(), String>,
) -> Applies {
    match (wanted, fact) {
        (None, _) => Applies::Yes,
        (Some(_), None) => unknown(what),
        (Some(wanted), Some(fact)) => {
            judge(wanted, fact).map_or_else(Applies::NotBecause, |()| Applies::Yes)
        }
    }
}

fn same<T: PartialEq + Copy>(
    wanted: T,
    found: T,
    lead: &str,
    word: impl Fn(T) -> String,
) -> Result<(), String> {
    if wanted == found {
        Ok(())
    } else {
        Err(format!("{lead} {}, not {}", word(wanted), word(found)))
    }
}

fn unknown(what: impl Display) -> Applies {
    Applies::Unknown(format!("not known: {what}"))
}

fn not(why: &str) -> Applies {
    Applies::NotBecause(why.to_owned())
}

const fn brake_word(form: BrakeForm) -> &'static str {
    match form {
        BrakeForm::Disc => "disc",
        BrakeForm::Drum => "drum",
    }
}

const fn mounting_word(mounting: Mounting) -> &'static str {
    match mounting {
        Mounting::Bonded => "bonded",
        Mounting::Fastened => "riveted or bolted",
    }
}

const fn actuation_word(actuation: Actuation) -> &'static str {
    match actuation {
        Actuation::Hydraulic => "hydraulic",
        Actuation::Air => "air",
        Actuation::Electric => "electric",
    }
}

fn kilograms(grams: u64) -> String {
    let text = format!("{}.{:03}", grams / 1000, grams % 1000);
    format!("{} kg", text.trim_end_matches('0').trim_end_matches('.'))
}
