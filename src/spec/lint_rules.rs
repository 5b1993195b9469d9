//! The lint's rules: sizes that contradict each other, slipped decimals, missing sources.

use super::figures::{Figure, figures};
use super::lint::{Lint, Severity};
use super::problem::{Place, Problem, ProblemKind};
use super::reader::Reader;
use super::sheet::{AxleSpec, BrakeKind, DiscSpec, DrumSpec, FrictionBasis, FrictionSpec, Sheet};
use super::sourced::{Origin, Sourced};
use crate::units::Length;

/// Everything contradictory or doubtful in a sheet that could be read.
pub(super) fn findings(sheet: &Sheet, reader: &Reader<'_>) -> Vec<Lint> {
    let mut lints = Findings {
        reader,
        lints: Vec::new(),
    };
    for figure in figures(sheet) {
        lints.slip(&figure);
        lints.origin(&figure);
    }
    lints.patterns(sheet);
    for (index, axle) in sheet.axles.iter().enumerate() {
        lints.axle(axle, &format!("axle[{}]", index + 1));
    }
    if sheet.wheel.torque.is_none() && sheet.wheel.fasteners > 0 {
        let message =
            "no wheel torque is given; the refit cannot be checked against the maker's figure";
        lints.doubt(
            reader.place_of("wheel.torque_nm"),
            "wheel.torque_nm",
            message,
        );
    }
    lints.lints
}

struct Findings<'f, 't> {
    reader: &'f Reader<'t>,
    lints: Vec<Lint>,
}

impl Findings<'_, '_> {
    fn add(&mut self, severity: Severity, place: Place, key: &str, kind: ProblemKind) {
        let problem = Problem {
            file: self.reader.file().to_owned(),
            place,
            key: key.to_owned(),
            kind,
        };
        self.lints.push(Lint { severity, problem });
    }

    fn doubt(&mut self, place: Place, key: &str, message: impl Into<String>) {
        self.add(
            Severity::Warning,
            place,
            key,
            ProblemKind::Doubt {
                message: message.into(),
            },
        );
    }

    fn contradiction(&mut self, place: Place, key: &str, message: String) {
        self.add(
            Severity::Error,
            place,
            key,
            ProblemKind::Contradiction { message },
        );
    }

    /// A figure outside its usual range, with what it may have been meant to be.
    fn slip(&mut self, figure: &Figure<'_>) {
        let Some(window) = figure.window else { return };
        if window.holds(figure.amount) {
            return;
        }
        let print = |amount| figure.unit.print(amount);
        let usual = format!("{} to {}", print(window.low), print(window.high));
        let meant = figure
            .unit
            .slips(figure.amount)
            .find(|(_, amount)| window.holds(*amount));
        let kind = ProblemKind::Unusual {
            found: print(figure.amount),
            usual,
            meant: meant.map(|(slip, amount)| format!("{} ({slip})", print(amount))),
        };
        self.add(Severity::Warning, figure.place, &figure.key, kind);
    }

    fn origin(&mut self, figure: &Figure<'_>) {
        let Origin {
            source,
            entered_by,
            checked_by,
            ..
        } = figure.origin;
        if source
            .as_deref()
            .is_none_or(|source| source.trim().is_empty())
        {
            self.add(
                Severity::Warning,
                figure.place,
                &figure.key,
                ProblemKind::NoSource,
            );
        }
        if let (Some(entered), Some(checked)) = (entered_by, checked_by)
            && entered.trim().eq_ignore_ascii_case(checked.trim())
        {
            let message = format!("entered and checked by the same person, {entered}");
            self.doubt(figure.place, &figure.key, message);
        }
    }

    fn patterns(&mut self, sheet: &Sheet) {
        if sheet.vin_patterns.is_empty() {
            let message = "no pattern is given; the sheet is found by name only";
            self.doubt(
                self.reader.place_of("vin_patterns"),
                "vin_patterns",
                message,
            );
        }
        for pattern in &sheet.vin_patterns {
            if let Some(message) = pattern_doubt(pattern) {
                self.doubt(
                    self.reader.place_of("vin_patterns"),
                    "vin_patterns",
                    message,
                );
            }
        }
    }

    fn axle(&mut self, axle: &AxleSpec, path: &str) {
        if let Some(disc) = &axle.disc {
            self.disc(disc, &format!("{path}.disc"));
        }
        if let Some(drum) = &axle.drum {
            self.drum(drum, &format!("{path}.drum"));
        }
        let disc_brake = axle.brake != BrakeKind::Drum;
        for (friction, name, needed) in [
            (&axle.pads, "pads", disc_brake),
            (&axle.linings, "linings", !disc_brake),
        ] {
            let path = format!("{path}.{name}");
            if needed {
                let min = friction.as_ref().and_then(|friction| friction.min.as_ref());
                self.no_limit(min, &format!("{path}.min_mm"));
            }
            if let Some(friction) = friction {
                self.friction(friction, &path);
            }
        }
    }

    /// A limit nobody gives and policy has no stand-in for.
    fn no_limit<T>(&mut self, limit: Option<&T>, key: &str) {
        if limit.is_none() {
            self.doubt(
                self.reader.place_of(key),
                key,
                "not given; the item stays NO LIMIT",
            );
        }
    }

    fn disc(&mut self, disc: &DiscSpec, path: &str) {
        self.no_limit(disc.discard.as_ref(), &format!("{path}.discard_mm"));
        let definition = format!("{path}.runout_definition");
        if let Some(runout) = &disc.runout
            && !self.reader.holds(&definition)
        {
            let message = "say `runout_definition = \"tir\"` or `\"half\"`; until then it is taken as \
                           `tir`, the stricter";
            self.doubt(runout.max.place, &definition, message);
        }
        let key = format!("{path}.discard");
        self.wear(
            &key,
            ("the minimum", disc.discard.as_ref()),
            disc.new.as_ref(),
            (500, 8_000),
        );
        if let (Some(machine), Some(discard)) = (&disc.machine_to, &disc.discard)
            && machine.value < discard.value
        {
            let message = format!(
                "machining to {} would go below the minimum {}",
                machine.value, discard.value
            );
            self.contradiction(machine.place, &format!("{path}.machine_to"), message);
        }
        if let (Some(machine), Some(new)) = (&disc.machine_to, &disc.new)
            && machine.value >= new.value
        {
            let message = format!("{} is not below the new size {}", machine.value, new.value);
            self.contradiction(machine.place, &format!("{path}.machine_to"), message);
        }
    }

    fn drum(&mut self, drum: &DrumSpec, path: &str) {
        self.no_limit(drum.max.as_ref(), &format!("{path}.max_mm"));
        let (Some(max), Some(new)) = (&drum.max, &drum.new) else {
            return;
        };
        let key = format!("{path}.max");
        if max.value <= new.value {
            let swapped = if max.value < new.value {
                "; were the two swapped?"
            } else {
                ""
            };
            let message = format!(
                "the maximum {} is not above the new size {}{swapped}",
                max.value, new.value
            );
            self.contradiction(max.place, &key, message);
        } else {
            self.allowance(max.place, &key, max.value - new.value, (500, 6_000));
        }
    }

    fn friction(&mut self, friction: &FrictionSpec, path: &str) {
        let key = format!("{path}.min");
        self.wear(
            &key,
            ("the minimum", friction.min.as_ref()),
            friction.new.as_ref(),
            (1_000, 30_000),
        );
        if friction.basis.is_none() && friction.min.is_some() {
            let message = "say `basis = \"friction\"` or `\"with_plate\"`: until then the minimum is \
                           not used, and the item stays NO LIMIT";
            let key = format!("{path}.basis");
            self.doubt(self.reader.place_of(&key), &key, message);
        }
        if let (Some(FrictionBasis::WithPlate { plate }), Some(min)) =
            (&friction.basis, &friction.min)
            && min.value <= plate.value
        {
            let message = format!(
                "the minimum {} leaves no friction on a plate of {}",
                min.value, plate.value
            );
            self.contradiction(min.place, &key, message);
        }
    }

    /// A minimum against the new size.
    fn wear(
        &mut self,
        key: &str,
        (what, limit): (&str, Option<&Sourced<Length>>),
        new: Option<&Sourced<Length>>,
        allowance_um: (i64, i64),
    ) {
        let (Some(limit), Some(new)) = (limit, new) else {
            return;
        };
        if limit.value >= new.value {
            let swapped = if limit.value > new.value {
                "; were the two swapped?"
            } else {
                ""
            };
            let message = format!(
                "{what} {} is not below the new size {}{swapped}",
                limit.value, new.value
            );
            self.contradiction(limit.place, key, message);
        } else {
            self.allowance(limit.place, key, new.value - limit.value, allowance_um);
        }
    }

    fn allowance(&mut self, place: Place, key: &str, found: Length, (low, high): (i64, i64)) {
        let (low, high) = (Length::from_nm(low * 1_000), Length::from_nm(high * 1_000));
        if found < low || found > high {
            let message =
                format!("{found} of wear between new and limit; {low} to {high} is usual");
            self.doubt(place, key, message);
        }
    }
}

/// What is doubtful about a VIN pattern. A VIN has 17 characters and never I, O or Q (ISO 3779).
fn pattern_doubt(pattern: &str) -> Option<String> {
    let allowed = |c: char| {
        matches!(c, '*' | '?')
            || (c.is_ascii_alphanumeric() && !matches!(c.to_ascii_uppercase(), 'I' | 'O' | 'Q'))
    };
    if let Some(odd) = pattern.chars().find(|c| !allowed(*c)) {
        return Some(format!("`{pattern}` holds `{odd}`, which no VIN holds"));
    }
    let fixed = pattern.chars().filter(|c| *c != '*').count();
    if fixed > 17 || (fixed != 17 && !pattern.contains('*')) {
        return Some(format!("`{pattern}` cannot fit the 17 characters of a VIN"));
    }
    let said = pattern.chars().filter(|c| !matches!(c, '*' | '?')).count();
    (said < 3).then(|| format!("`{pattern}` fits nearly every vehicle"))
}
