//! Tries a rule's conditions on what is known of a vehicle.

use super::rules::{Applies, AxleCondition, BrakeForm, Conditions, Fact, PartState, VehicleFacts};
use super::sheet::Actuation;
use crate::units::{Chassis, Mounting, VehicleBuild, VehicleClass, kilograms};

impl Conditions {
    /// Whether the conditions hold: a condition known to fail decides, then those that cannot be told.
    #[must_use]
    pub fn try_on(&self, facts: &VehicleFacts) -> Applies {
        let mut unknown = Vec::new();
        for trial in Self::TRIALS {
            match trial(self, facts) {
                Trial::Holds => {}
                Trial::Fails(why) => return Applies::NotBecause(why),
                Trial::NotKnown(fact) => unknown.push(fact),
            }
        }
        unknown.sort_unstable();
        unknown.dedup();
        if unknown.is_empty() {
            Applies::Yes
        } else {
            Applies::Unknown(unknown)
        }
    }

    /// Each condition, in the order they are named; tried one by one, so that no words are made for
    /// those behind the one that decides.
    const TRIALS: [fn(&Self, &VehicleFacts) -> Trial; 17] = [
        Self::class,
        |own, facts| {
            test(
                own.first_used_from,
                facts.first_used,
                Fact::FirstUsed,
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
                Fact::FirstUsed,
                |before, used| {
                    (used < before)
                        .then_some(())
                        .ok_or_else(|| format!("first used {used}, not before {before}"))
                },
            )
        },
        Self::axle,
        |own, facts| {
            test(own.brake, facts.brake, Fact::Brake, |wanted, brake| {
                same(wanted, brake, "for a", |form| brake_word(form).to_owned())
            })
        },
        Self::actuation,
        |own, facts| {
            test(
                own.mounting,
                facts.mounting,
                Fact::Mounting,
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
                Fact::TwoPadShoe,
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
        |own, facts| Self::up_to(own.gross_mass_up_to_g, || facts.mass()),
        |own, facts| Self::over(own.gross_mass_over_g, || facts.mass()),
        |own, facts| {
            test(
                own.passenger,
                facts.carries_passengers(),
                Fact::Passenger,
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
        |own, facts| Self::up_to(own.seats_up_to.map(u64::from), || facts.seat_count()),
        |own, facts| Self::over(own.seats_over.map(u64::from), || facts.seat_count()),
        |own, facts| {
            test(
                own.chassis,
                facts.chassis,
                Fact::Chassis,
                |wanted, chassis| {
                    same(wanted, chassis, "for the chassis of", |c| {
                        chassis_word(c).to_owned()
                    })
                },
            )
        },
        |own, facts| {
            test(
                own.braked_wheels_from,
                facts.braked_wheels,
                Fact::BrakedWheels,
                |from, wheels| {
                    let why =
                        || format!("for a service brake on {from} wheels or more, not on {wheels}");
                    (wheels >= from).then_some(()).ok_or_else(why)
                },
            )
        },
        |own, facts| {
            test(
                own.single_line,
                facts.single_line,
                Fact::SingleLine,
                |wanted, single| {
                    let word = |single| {
                        if single {
                            "brakes of a single line"
                        } else {
                            "brakes of two lines"
                        }
                    };
                    same(wanted, single, "for", |single| word(single).to_owned())
                },
            )
        },
        Self::part_and_fluid,
    ];

    fn class(&self, facts: &VehicleFacts) -> Trial {
        match &facts.class {
            _ if self.classes.is_empty() => Trial::Holds,
            None => Trial::NotKnown(Fact::Class),
            Some(class) if self.classes.contains(class) => Trial::Holds,
            Some(class) => Trial::Fails(format!(
                "for class {}, not {class}",
                self.classes.join(", ")
            )),
        }
    }

    fn axle(&self, facts: &VehicleFacts) -> Trial {
        match (self.axle, facts.steered) {
            (AxleCondition::Any, _)
            | (AxleCondition::Steering, Some(true))
            | (AxleCondition::NonSteering, Some(false)) => Trial::Holds,
            (_, None) => Trial::NotKnown(Fact::Steered),
            (AxleCondition::Steering, Some(false)) => not("for steering axles only"),
            (AxleCondition::NonSteering, Some(true)) => not("for axles that do not steer only"),
        }
    }

    fn actuation(&self, facts: &VehicleFacts) -> Trial {
        match facts.actuation {
            _ if self.actuation.is_empty() => Trial::Holds,
            None => Trial::NotKnown(Fact::Actuation),
            Some(actuation) if self.actuation.contains(&actuation) => Trial::Holds,
            Some(actuation) => {
                let words: Vec<&str> = self.actuation.iter().map(|a| actuation_word(*a)).collect();
                let found = actuation_word(actuation);
                Trial::Fails(format!("for {} brakes, not {found}", words.join(" or ")))
            }
        }
    }

    fn up_to(limit: Option<u64>, known: impl FnOnce() -> Range) -> Trial {
        let Some(limit) = limit else {
            return Trial::Holds;
        };
        let known = known();
        if known.high <= limit {
            Trial::Holds
        } else if known.low > limit {
            Trial::Fails(known.words("over", limit))
        } else {
            Trial::NotKnown(known.of)
        }
    }

    fn over(limit: Option<u64>, known: impl FnOnce() -> Range) -> Trial {
        let Some(limit) = limit else {
            return Trial::Holds;
        };
        let known = known();
        if known.low > limit {
            Trial::Holds
        } else if known.high <= limit {
            Trial::Fails(known.words("not over", limit))
        } else {
            Trial::NotKnown(known.of)
        }
    }

    fn part_and_fluid(&self, facts: &VehicleFacts) -> Trial {
        match (self.part, facts.part) {
            (Some(PartState::New), PartState::InService) => return not("for new ones only"),
            (Some(PartState::InService), PartState::New) => return not("for used ones only"),
            _ => {}
        }
        test(
            self.fluid_grade.as_deref(),
            facts.fluid_grade.as_deref(),
            Fact::FluidGrade,
            |wanted, grade| same(wanted, grade, "for", str::to_owned),
        )
    }
}

/// What became of one condition.
enum Trial {
    Holds,
    Fails(String),
    NotKnown(Fact),
}

/// What is known of a number: that it lies between these two, both included.
struct Range {
    of: Fact,
    low: u64,
    high: u64,
    /// The class it follows from, when the number itself is not known.
    class: Option<&'static str>,
}

impl Range {
    /// Why a rule for another number does not apply.
    fn words(&self, side: &str, limit: u64) -> String {
        let number = |n: u64| match self.of {
            Fact::GrossMass => kilograms(n),
            _ => n.to_string(),
        };
        let what = self.of.words();
        match self.class {
            Some(class) => format!("the {what} of class {class} is {side} {}", number(limit)),
            None => format!("{what} {} is {side} {}", number(self.low), number(limit)),
        }
    }
}

impl VehicleFacts {
    fn known_class(&self) -> Option<&'static VehicleClass> {
        self.class.as_deref().and_then(VehicleClass::find)
    }

    /// The gross mass in grams, else what the class says of it.
    fn mass(&self) -> Range {
        let class = self.known_class();
        let exact = self.gross_mass_g;
        let over = class.and_then(|class| class.mass_over_g);
        let up_to = class.and_then(|class| class.mass_up_to_g);
        Range {
            of: Fact::GrossMass,
            low: exact.or(over.map(|over| over + 1)).unwrap_or(0),
            high: exact.or(up_to).unwrap_or(u64::MAX),
            class: class.map(|class| class.word).filter(|_| exact.is_none()),
        }
    }

    /// The number of seats, else what the class says of it.
    fn seat_count(&self) -> Range {
        let class = self.known_class();
        let exact = self.seats.map(u64::from);
        let from = class.and_then(|class| class.seats_from).map(u64::from);
        let up_to = class.and_then(|class| class.seats_up_to).map(u64::from);
        Range {
            of: Fact::Seats,
            low: exact.or(from).unwrap_or(0),
            high: exact.or(up_to).unwrap_or(u64::MAX),
            class: class.map(|class| class.word).filter(|_| exact.is_none()),
        }
    }

    /// Whether the vehicle carries passengers: as entered, else as its class says.
    fn carries_passengers(&self) -> Option<bool> {
        self.passenger
            .or_else(|| self.known_class().map(|class| class.passenger))
    }

    /// What the class says that the other facts cannot be; `None` when they agree.
    #[must_use]
    pub fn contradiction(&self) -> Option<String> {
        self.known_class()?.contradicts(&VehicleBuild {
            gross_mass_g: self.gross_mass_g,
            seats: self.seats,
            passenger: self.passenger,
            ..VehicleBuild::default()
        })
    }
}

/// Tries one condition: absent it holds, with the fact unknown it cannot be told.
fn test<W, F>(
    wanted: Option<W>,
    known: Option<F>,
    fact: Fact,
    judge: impl FnOnce(W, F) -> Result<(), String>,
) -> Trial {
    match (wanted, known) {
        (None, _) => Trial::Holds,
        (Some(_), None) => Trial::NotKnown(fact),
        (Some(wanted), Some(known)) => {
            judge(wanted, known).map_or_else(Trial::Fails, |()| Trial::Holds)
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

fn not(why: &str) -> Trial {
    Trial::Fails(why.to_owned())
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

const fn chassis_word(chassis: Chassis) -> &'static str {
    match chassis {
        Chassis::PassengerCar => "a passenger car",
        Chassis::TruckOrBus => "a lorry or bus",
    }
}

const fn actuation_word(actuation: Actuation) -> &'static str {
    match actuation {
        Actuation::Hydraulic => "hydraulic",
        Actuation::Air => "air",
        Actuation::Electric => "electric",
    }
}
