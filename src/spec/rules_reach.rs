//! Finds rows that no vehicle can reach: they would protect nobody.

use super::items::{self, Scope};
use super::reader::Section;
use super::rules::{
    Applies, Bound, BrakeForm, Conditions, PackScope, PartState, Rule, RuleClass, RulePack, Status,
    VehicleFacts,
};
use super::scope::possible;
use super::sheet::Actuation;
use super::sheet_read::AXLE_NAMES;

/// The defects that can be found at an item, by its id.
pub(super) type Codes<'a> = dyn Fn(&str) -> Vec<&'static str> + 'a;

/// What a row is tried against.
pub(super) struct Reach<'a> {
    pub(super) scope: PackScope,
    pub(super) vehicles: &'a Conditions,
    /// Nothing means that rows are not tried.
    pub(super) codes: Option<&'a Codes<'a>>,
}

/// What limits are looked up for, and the side of the value that is judged.
const LOOKED_UP: [(&str, Option<&str>, Bound); 12] = [
    ("disc.thickness", None, Bound::Minimum),
    ("disc.variation", None, Bound::Maximum),
    ("disc.runout", None, Bound::Maximum),
    ("drum.diameter", None, Bound::Maximum),
    ("drum.diameter", Some("ovality"), Bound::Maximum),
    ("pads.thickness", None, Bound::Minimum),
    ("linings.thickness", None, Bound::Minimum),
    ("bearing.float", None, Bound::Maximum),
    ("axle.imbalance", None, Bound::Maximum),
    ("brake.service_efficiency", None, Bound::Minimum),
    ("brake.parking_efficiency", None, Bound::Minimum),
    ("fluid.boiling", None, Bound::Minimum),
];

impl Reach<'_> {
    /// Reports a rule with a number that nothing is compared with.
    pub(super) fn check_rule(&self, section: &Section<'_, '_>, rule: &Rule) {
        if self.codes.is_none() {
            return;
        }
        let quantity = rule.quantity.as_deref();
        let name = match quantity {
            Some(quantity) => format!("{} {quantity}", rule.item),
            None => rule.item.clone(),
        };
        let looked_up = LOOKED_UP
            .iter()
            .find(|(item, of, _)| (*item, *of) == (rule.item.as_str(), quantity));
        match looked_up {
            None => section.contradiction(
                if quantity.is_some() {
                    "quantity"
                } else {
                    "item"
                },
                format!("no limit is looked up for `{name}`: no vehicle reaches this rule"),
            ),
            Some((_, _, bound)) if *bound != rule.bound => {
                let (judged, side) = match bound {
                    Bound::Minimum => ("smallest", "maximum"),
                    Bound::Maximum => ("largest", "minimum"),
                };
                section.contradiction(
                    "id",
                    format!("the {judged} of `{name}` is judged; a {side} is never reached"),
                );
            }
            Some(_) => self.check_scope(section, &rule.item, &rule.when),
        }
    }

    /// Reports a rule about a defect that cannot be found.
    pub(super) fn check_defect(
        &self,
        section: &Section<'_, '_>,
        item: &str,
        named: &[String],
        when: &Conditions,
    ) {
        let Some(codes) = self.codes else {
            return;
        };
        let known = codes(item);
        for code in named.iter().filter(|code| !known.contains(&code.as_str())) {
            if known.is_empty() {
                section.contradiction(
                    "codes",
                    format!("`{item}` has no defects, so `{code}` is never found"),
                );
            } else {
                section.unknown_word("codes", code, known.iter().copied());
            }
        }
        self.check_scope(section, item, when);
    }

    fn check_scope(&self, section: &Section<'_, '_>, item: &str, when: &Conditions) {
        if !self.reached(item, when) {
            let key = if section.has("when") { "when" } else { "id" };
            section.contradiction(key, "no vehicle meets all of these conditions");
        }
    }

    /// Whether some vehicle meets the row's conditions and the pack's.
    fn reached(&self, item: &str, when: &Conditions) -> bool {
        let pack = alone(self.vehicles, item, when);
        let packs = std::slice::from_ref(&pack);
        let on_axle = items::find(item).is_none_or(|known| known.scope != Scope::Vehicle);
        let axles: Vec<VehicleFacts> = if on_axle {
            axles(item)
        } else {
            vec![VehicleFacts::default()]
        };
        let parts: &[PartState] = match self.scope {
            PackScope::Inspection => &[PartState::InService],
            PackScope::NewPart => &[PartState::New],
            PackScope::Fluid => &[PartState::InService, PartState::New],
        };
        let all = axles.iter().flat_map(|axle| {
            parts.iter().map(|part| VehicleFacts {
                part: *part,
                ..axle.clone()
            })
        });
        let most_wheels = u32::try_from(2 * AXLE_NAMES.len()).unwrap_or(u32::MAX);
        all.flat_map(|facts| possible(packs, item, &facts))
            .filter(|world| {
                world
                    .braked_wheels
                    .is_none_or(|wheels| wheels <= most_wheels)
            })
            // A row about the whole vehicle knows no axle.
            .filter(|world| {
                on_axle
                    || (world.steered.is_none()
                        && world.brake.is_none()
                        && world.actuation.is_none())
            })
            .any(|world| pack.applies(when, &world) == Applies::Yes)
    }
}

/// Every kind of axle on which an item is inspected.
fn axles(item: &str) -> Vec<VehicleFacts> {
    let of = |stems: &[&str]| stems.iter().any(|stem| item.starts_with(stem));
    let brakes: &[BrakeForm] = if of(&["pads.", "disc.", "axle.pad", "axle.disc", "calliper."]) {
        &[BrakeForm::Disc]
    } else if of(&["linings.", "drum.", "cylinder."]) {
        &[BrakeForm::Drum]
    } else {
        &[BrakeForm::Disc, BrakeForm::Drum]
    };
    let mut axles = Vec::new();
    for brake in brakes {
        for actuation in [Actuation::Hydraulic, Actuation::Air, Actuation::Electric] {
            for steered in [false, true] {
                axles.push(VehicleFacts {
                    brake: Some(*brake),
                    actuation: Some(actuation),
                    steered: Some(steered),
                    ..VehicleFacts::default()
                });
            }
        }
    }
    axles
}

/// A pack of one row.
fn alone(vehicles: &Conditions, item: &str, when: &Conditions) -> RulePack {
    let rule = super::rules::DefectRule {
        id: String::new(),
        item: item.to_owned(),
        codes: Vec::new(),
        clause: String::new(),
        status: Status::Read,
        checked_by: None,
        class: RuleClass::Major,
        when: when.clone(),
        sentence: String::new(),
    };
    RulePack {
        id: String::new(),
        name: String::new(),
        edition: String::new(),
        scope: PackScope::Inspection,
        vehicles: vehicles.clone(),
        rows: Vec::new(),
        defects: vec![rule],
        remarks: Vec::new(),
    }
}
