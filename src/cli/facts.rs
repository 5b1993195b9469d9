//! The facts of a vehicle that rules ask for: their options, and the questions for what is missing.

use chrono::NaiveDate;

use super::World;
use super::error::Failure;
use crate::job::{Event, Job, Meta, Opening};
use crate::record::freeze::Specs;
use crate::shop::vehicles::Vehicle;
use crate::spec::{Fact, VehicleFacts};
use crate::units::{Chassis, Mounting, VehicleBuild, VehicleClass, mass_g};

/// What rules ask of a vehicle.
#[derive(Clone, Debug, Default, clap::Args)]
pub(super) struct FactArgs {
    /// Vehicle class for the rules, such as M1 or N1
    #[arg(long, value_parser = class, value_name = "CLASS")]
    pub(super) class: Option<String>,
    /// Date of first use, for the rules
    #[arg(long, value_name = "DATE")]
    pub(super) first_used: Option<NaiveDate>,
    /// Gross mass: kg, or with its unit (10000 lb)
    #[arg(long, value_parser = mass, value_name = "MASS")]
    gross_mass: Option<u64>,
    /// Seats, the driver's included
    #[arg(long, value_parser = clap::value_parser!(u32).range(1..1000), value_name = "NUMBER")]
    seats: Option<u32>,
    /// What it carries: passengers or goods
    #[arg(long, value_parser = carries, value_name = "WHAT")]
    carries: Option<bool>,
    /// What it is built on: passenger-car or truck-or-bus
    #[arg(long, value_parser = chassis, value_name = "WHAT")]
    chassis: Option<Chassis>,
    /// Lines that work its brakes: one, or two and more
    #[arg(long, value_parser = lines, value_name = "NUMBER")]
    brake_lines: Option<bool>,
    /// How pads and linings are held: bonded or fastened (riveted, bolted)
    #[arg(long, value_parser = held, value_name = "HOW")]
    linings_held: Option<Mounting>,
    /// Pads on a shoe: 1 or 2
    #[arg(long, value_parser = pads, value_name = "NUMBER")]
    pads_per_shoe: Option<bool>,
}

pub(super) fn class(text: &str) -> Result<String, String> {
    VehicleClass::find(text)
        .map(|class| class.word.to_owned())
        .ok_or_else(|| format!("expected one of {}", VehicleClass::words()))
}

fn mass(text: &str) -> Result<u64, String> {
    mass_g(text)
        .ok()
        .filter(|grams| *grams > 0)
        .ok_or_else(|| "a gross mass looks like 3500, or 10000 lb".to_owned())
}

/// The value of one of two words.
fn either<T: Copy>(text: &str, words: [(&str, T); 2]) -> Result<T, String> {
    let found = words
        .iter()
        .find(|(word, _)| word.eq_ignore_ascii_case(text.trim()));
    found
        .map(|(_, value)| *value)
        .ok_or_else(|| format!("expected {} or {}", words[0].0, words[1].0))
}

fn carries(text: &str) -> Result<bool, String> {
    either(text, [("passengers", true), ("goods", false)])
}

fn chassis(text: &str) -> Result<Chassis, String> {
    let words = [
        ("passenger-car", Chassis::PassengerCar),
        ("truck-or-bus", Chassis::TruckOrBus),
    ];
    either(&text.replace('_', "-"), words)
}

fn lines(text: &str) -> Result<bool, String> {
    match text.trim() {
        "1" => Ok(true),
        "2" => Ok(false),
        text => either(text, [("one", true), ("two", false)]),
    }
}

fn held(text: &str) -> Result<Mounting, String> {
    either(
        text,
        [
            ("bonded", Mounting::Bonded),
            ("fastened", Mounting::Fastened),
        ],
    )
}

fn pads(text: &str) -> Result<bool, String> {
    either(text, [("1", false), ("2", true)])
}

impl FactArgs {
    /// What is given of the build.
    pub(super) fn build(&self) -> VehicleBuild {
        VehicleBuild {
            gross_mass_g: self.gross_mass,
            seats: self.seats,
            passenger: self.carries,
            chassis: self.chassis,
            single_line: self.brake_lines,
            mounting: self.linings_held,
            two_pad_shoe: self.pads_per_shoe,
        }
    }

    /// Whether no fact is given.
    pub(super) fn is_empty(&self) -> bool {
        self.class.is_none() && self.first_used.is_none() && self.build().is_empty()
    }

    /// Takes over one answer; what is wrong with it in words.
    fn answer(&mut self, fact: Fact, text: &str) -> Result<(), String> {
        match fact {
            Fact::Class => self.class = Some(class(text)?),
            Fact::FirstUsed => {
                let day = text.parse().map_err(|_| "a date looks like 2022-05-03")?;
                self.first_used = Some(day);
            }
            Fact::GrossMass => self.gross_mass = Some(mass(text)?),
            Fact::Seats => {
                let seats: Option<u32> =
                    text.parse().ok().filter(|seats| (1..1000).contains(seats));
                self.seats = Some(seats.ok_or("a number of seats looks like 5")?);
            }
            Fact::Passenger => self.carries = Some(carries(text)?),
            Fact::Chassis => self.chassis = Some(chassis(text)?),
            Fact::SingleLine => self.brake_lines = Some(lines(text)?),
            Fact::Mounting => self.linings_held = Some(held(text)?),
            Fact::TwoPadShoe => self.pads_per_shoe = Some(pads(text)?),
            Fact::Steered
            | Fact::Brake
            | Fact::Actuation
            | Fact::BrakedWheels
            | Fact::FluidGrade => {}
        }
        Ok(())
    }
}

/// The question for a fact and its option; `None` for what a spec sheet says.
const fn question(fact: Fact) -> Option<(&'static str, &'static str)> {
    Some(match fact {
        Fact::Class => ("vehicle class (M1, N1 …)", "--class"),
        Fact::FirstUsed => ("first used on (2022-05-03)", "--first-used"),
        Fact::GrossMass => ("gross mass (kg, or 10000 lb)", "--gross-mass"),
        Fact::Seats => ("seats, the driver's included", "--seats"),
        Fact::Passenger => ("carries passengers or goods", "--carries"),
        Fact::Chassis => ("built on passenger-car or truck-or-bus", "--chassis"),
        Fact::SingleLine => ("lines that work its brakes, one or two", "--brake-lines"),
        Fact::Mounting => ("linings held bonded or fastened", "--linings-held"),
        Fact::TwoPadShoe => ("pads on a shoe, 1 or 2", "--pads-per-shoe"),
        Fact::Steered | Fact::Brake | Fact::Actuation | Fact::BrakedWheels | Fact::FluidGrade => {
            return None;
        }
    })
}

/// What a vehicle's class says that its other facts cannot be.
fn contradiction(class: &str, build: &VehicleBuild) -> Option<String> {
    let facts = VehicleFacts {
        class: Some(class.to_owned()),
        ..VehicleFacts::default()
    };
    facts.built(build).contradiction()
}

/// Refuses facts that a vehicle of its class cannot have.
pub(super) fn agree(class: &str, build: &VehicleBuild) -> Result<(), Failure> {
    match contradiction(class, build) {
        Some(why) => Err(Failure::from(why).hint("correct one of them; nothing was written")),
        None => Ok(()),
    }
}

/// Takes what is given into an opening, and what the vehicle's file knows where nothing is.
pub(super) fn take_into(opening: &mut Opening, given: &FactArgs, known: Option<&Vehicle>) {
    if let Some(class) = &given.class {
        opening.class.clone_from(class);
    } else if let Some(known) = known.filter(|_| opening.class.is_empty()) {
        opening.class.clone_from(&known.class);
    }
    opening.first_used = given
        .first_used
        .or(opening.first_used)
        .or_else(|| known.and_then(|known| known.first_used));
    opening.build = given.build().or(&opening.build);
    if let Some(known) = known {
        opening.build = opening.build.or(&known.build);
    }
}

/// The facts that some rule in force asks for and nobody entered.
fn missing(opening: &Opening, specs: &Specs) -> Vec<Fact> {
    let mut job = Job::default();
    let meta = Meta {
        seq: 1,
        at: chrono::DateTime::UNIX_EPOCH.fixed_offset(),
        by: String::new(),
    };
    job.apply(&meta, &Event::Opened(Box::new(opening.clone())));
    let register = crate::job::Register::default();
    specs.case(&job, &register).unknown_facts()
}

/// Asks a terminal for what rules in force want to know; an empty line leaves it unknown. Without a
/// terminal it is said what is missing.
pub(super) fn ask(
    world: &mut World<'_>,
    opening: &mut Opening,
    specs: &Specs,
) -> Result<(), Failure> {
    if !world.input_is_terminal {
        if let Some(how) = how(&opening.job, missing(opening, specs)) {
            writeln!(world.err, "note: {how}")?;
        }
        return Ok(());
    }
    let mut passed_over: Vec<Fact> = Vec::new();
    // One answer may settle another question: a class says much.
    while let Some((fact, words)) = missing(opening, specs)
        .into_iter()
        .filter(|fact| !passed_over.contains(fact))
        .find_map(|fact| question(fact).map(|(words, _)| (fact, words)))
    {
        write!(world.err, "? {words}, Enter for not known: ")?;
        world.err.flush()?;
        let mut line = String::new();
        if world.input.read_line(&mut line)? == 0 || line.trim().is_empty() {
            passed_over.push(fact);
            continue;
        }
        let mut given = FactArgs::default();
        let mut answered = opening.clone();
        let said = given.answer(fact, line.trim()).and_then(|()| {
            take_into(&mut answered, &given, None);
            contradiction(&answered.class, &answered.build).map_or(Ok(()), Err)
        });
        match said {
            Ok(()) => *opening = answered,
            // Asked again: what was answered before it is not lost with it.
            Err(what) => writeln!(world.err, "  {what}")?,
        }
    }
    Ok(())
}

/// How to enter what is missing; `None` when nothing is that can be entered.
pub(super) fn how(job: &str, missing: impl IntoIterator<Item = Fact>) -> Option<String> {
    let mut facts: Vec<Fact> = missing.into_iter().collect();
    facts.sort_unstable();
    facts.dedup();
    let options: Vec<&str> = facts
        .iter()
        .filter_map(|fact| question(*fact).map(|(_, option)| option))
        .collect();
    (!options.is_empty()).then(|| {
        format!(
            "{}; what hangs on it has no limit until it is entered: brakecorner job facts {job} {} …",
            Fact::not_known(&facts),
            options.join(" … ")
        )
    })
}

/// Takes facts into a vehicle's file.
pub(super) fn remember(vehicle: &mut Vehicle, given: &FactArgs) {
    if let Some(class) = &given.class {
        vehicle.class.clone_from(class);
    }
    vehicle.first_used = given.first_used.or(vehicle.first_used);
    vehicle.build = given.build().or(&vehicle.build);
}

/// What is known of a build, a line each.
pub(super) fn lines_of(build: &VehicleBuild) -> Vec<(&'static str, String)> {
    let word = |known: Option<bool>, yes: &str, no: &str| {
        known.map_or(String::new(), |known| {
            if known { yes } else { no }.to_owned()
        })
    };
    let chassis = build.chassis.map(|chassis| match chassis {
        Chassis::PassengerCar => "passenger car",
        Chassis::TruckOrBus => "lorry or bus",
    });
    let held = build.mounting.map(|held| match held {
        Mounting::Bonded => "bonded",
        Mounting::Fastened => "riveted or bolted",
    });
    let mass = build.gross_mass_g.map(crate::units::kilograms);
    let seats = build
        .seats
        .map(|seats| format!("{seats}, the driver's included"));
    vec![
        ("gross mass", mass.unwrap_or_default()),
        ("seats", seats.unwrap_or_default()),
        ("carries", word(build.passenger, "passengers", "goods")),
        ("built on", chassis.unwrap_or_default().to_owned()),
        ("brake lines", word(build.single_line, "one", "two")),
        ("linings held", held.unwrap_or_default().to_owned()),
        ("pads a shoe", word(build.two_pad_shoe, "2", "1")),
    ]
}
