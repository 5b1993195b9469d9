//! Which slot of its item each value of a `log` command is for.

use crate::cli::error::{Failure, Hint as _};
use crate::job::{Item, Slot};

/// Which slot each value is for.
pub(super) fn slots(values: &[String], item: Item) -> Result<Vec<(Slot, String)>, Failure> {
    let mut pairs = Vec::new();
    let mut bare: Vec<String> = Vec::new();
    for value in values {
        match value.split_once('=') {
            Some((name, list)) => named_slots(name, list, item, &mut pairs)?,
            None => bare.push(value.clone()),
        }
    }
    let last = bare.len();
    for (n, text) in (1u16..).zip(bare) {
        let slot = match item {
            Item::DiscThickness => Slot::Point(n),
            Item::DiscRunout if usize::from(n) == last && last > 2 => Slot::Return,
            Item::DiscRunout => Slot::Point(n),
            Item::LiningsThickness => Slot::Lining(n),
            Item::BearingFloat | Item::FluidBoiling => Slot::Value(n),
            _ => {
                return Err(
                    Failure::from(format!("`{text}` has no place in `{item}`")).hint(form(item))
                );
            }
        };
        pairs.push((slot, text));
    }
    Ok(pairs)
}

fn named_slots(
    name: &str,
    list: &str,
    item: Item,
    pairs: &mut Vec<(Slot, String)>,
) -> Result<(), Failure> {
    let values = list.split(',').map(str::to_owned);
    let make: fn(u16) -> Slot = match (item, name) {
        (Item::PadsThickness, "inner") => Slot::Inner,
        (Item::PadsThickness, "outer") => Slot::Outer,
        (Item::DrumDiameter, "open") => Slot::Open,
        (Item::DrumDiameter, "closed") => Slot::Closed,
        (Item::DiscThickness, "lip_outer") => Slot::LipOuter,
        (Item::DiscThickness, "lip_inner") => Slot::LipInner,
        (Item::DiscRunout, "swept") => |_| Slot::Swept,
        (Item::ServiceEfficiency | Item::ParkingEfficiency, "mass") => |_| Slot::Mass,
        (Item::ServiceEfficiency | Item::ParkingEfficiency, "locked") => {
            for corner in list.split(',') {
                let corner = corner.parse().hint(form(item))?;
                pairs.push((Slot::Locked(corner), "locked".to_owned()));
            }
            return Ok(());
        }
        (Item::ServiceEfficiency | Item::ParkingEfficiency, corner) => {
            let corner = corner.parse().hint(form(item))?;
            pairs.push((Slot::At(corner), list.to_owned()));
            return Ok(());
        }
        _ => {
            return Err(
                Failure::from(format!("`{name}=` has no place in `{item}`")).hint(form(item))
            );
        }
    };
    pairs.extend((1..).map(make).zip(values));
    Ok(())
}

pub(super) const fn form(item: Item) -> &'static str {
    match item {
        Item::PadsThickness => "inner=5.2,5.1 outer=5.4,5.4 (leading end first)",
        Item::DiscThickness => {
            "24.308 24.309 …, and lip_outer=0.86 lip_inner=1.01 for the depth of each face below its lip"
        }
        Item::DrumDiameter => "open=203.31,203.29 closed=203.27,203.26",
        Item::DiscRunout => "0.000 0.004 … back at 0.000, or swept=0.031",
        Item::ServiceEfficiency | Item::ParkingEfficiency => {
            "FL=3920 FR=3850 RL=2310 RR=1480 mass=1432, and locked=FL,FR for wheels that locked"
        }
        _ => "plain values, separated by blanks",
    }
}
