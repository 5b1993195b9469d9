//! The inspection items: one registry of their ids, where each belongs and what it measures.

/// Where an item belongs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Scope {
    /// One wheel's corner.
    Corner,
    /// One axle.
    Axle,
    /// The vehicle.
    Vehicle,
}

/// What an item's result is measured in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Measured {
    /// Looked at or felt, not measured.
    Looked,
    /// A length.
    Length,
    /// A percentage.
    Percent,
    /// A temperature.
    Temperature,
    /// A torque.
    Torque,
}

/// One inspection item.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Item {
    /// The id used in commands, files and records.
    pub id: &'static str,
    /// Where it belongs.
    pub scope: Scope,
    /// What it is measured in.
    pub measured: Measured,
}

const fn item(id: &'static str, scope: Scope, measured: Measured) -> Item {
    Item {
        id,
        scope,
        measured,
    }
}

/// Every inspection item, the corner's first, in the order of work.
pub const ITEMS: [Item; 33] = [
    item("wheel.seat", Scope::Corner, Measured::Looked),
    item("wheel.fasteners", Scope::Corner, Measured::Looked),
    item("hose", Scope::Corner, Measured::Looked),
    item("pipe", Scope::Corner, Measured::Looked),
    item("sensor.speed", Scope::Corner, Measured::Looked),
    item("sensor.wear", Scope::Corner, Measured::Looked),
    item("calliper.leak", Scope::Corner, Measured::Looked),
    item("slide_pins", Scope::Corner, Measured::Looked),
    item("piston", Scope::Corner, Measured::Looked),
    item("springs", Scope::Corner, Measured::Looked),
    item("bolts.witness", Scope::Corner, Measured::Looked),
    item("pads.condition", Scope::Corner, Measured::Looked),
    item("pads.thickness", Scope::Corner, Measured::Length),
    item("pads.inner_outer", Scope::Corner, Measured::Length),
    item("disc.surface", Scope::Corner, Measured::Looked),
    item("bearing.float", Scope::Corner, Measured::Length),
    item("disc.runout", Scope::Corner, Measured::Length),
    item("disc.thickness", Scope::Corner, Measured::Length),
    item("disc.variation", Scope::Corner, Measured::Length),
    item("hub.face", Scope::Corner, Measured::Looked),
    item("drum.diameter", Scope::Corner, Measured::Length),
    item("linings.thickness", Scope::Corner, Measured::Length),
    item("cylinder.leak", Scope::Corner, Measured::Looked),
    item("torque.calliper", Scope::Corner, Measured::Torque),
    item("torque.wheel", Scope::Corner, Measured::Torque),
    item("axle.disc_difference", Scope::Axle, Measured::Length),
    item("axle.pad_difference", Scope::Axle, Measured::Length),
    item("axle.imbalance", Scope::Axle, Measured::Percent),
    item("fluid.boiling", Scope::Vehicle, Measured::Temperature),
    item("fluid.level", Scope::Vehicle, Measured::Looked),
    item(
        "brake.service_efficiency",
        Scope::Vehicle,
        Measured::Percent,
    ),
    item(
        "brake.parking_efficiency",
        Scope::Vehicle,
        Measured::Percent,
    ),
    item("pedal.firm", Scope::Vehicle, Measured::Looked),
];

/// The item of this id.
#[must_use]
pub fn find(id: &str) -> Option<&'static Item> {
    ITEMS.iter().find(|item| item.id == id)
}
