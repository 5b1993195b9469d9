//! A whole fleet: vehicles ranked, wear rates by sheet and part, findings by workshop.

use std::collections::BTreeMap;

use serde::Serialize;

use super::{Series, all_series};
use crate::office::due::Visit;
use crate::office::retorque::Movement;
use crate::office::{Summary, whole_km};

/// A vehicle of a fleet in a line.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FleetVehicle {
    /// VIN.
    pub vin: String,
    /// Registration plate.
    pub registration: String,
    /// The vehicle by its sheet.
    pub vehicle: String,
    /// Visits.
    pub visits: usize,
    /// The state it left in last.
    pub verdict: crate::judge::Verdict,
    /// The part that may reach its limit first, and in how many kilometres at least.
    pub first: Option<(String, i64)>,
}

/// A median wear rate.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FleetRate {
    /// Spec sheet.
    pub sheet: String,
    /// Axle and part.
    pub part: String,
    /// Series it rests on.
    pub series: usize,
    /// Median, in mm per 1000 km.
    pub median_mm_per_1000km: f64,
}

/// A whole fleet.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Fleet {
    /// Vehicles: worst verdict first, then the shortest lower bound.
    pub vehicles: Vec<FleetVehicle>,
    /// Wear rates by sheet and part.
    pub rates: Vec<FleetRate>,
    /// Findings that were not good as found, by workshop and item.
    pub findings: BTreeMap<String, BTreeMap<String, usize>>,
    /// How fasteners moved at re-torques: by who torqued and by cause.
    pub movements: Vec<Movement>,
}

/// Ranks the vehicles of a fleet and gathers rates and findings.
#[must_use]
pub fn fleet(visits: &[Visit]) -> Fleet {
    let mut fleet = Fleet::default();
    let mut vehicles: BTreeMap<&str, Vec<&Summary>> = BTreeMap::new();
    for visit in visits {
        let summary = &visit.summary;
        vehicles.entry(&summary.vin).or_default().push(summary);
        let counts = fleet.findings.entry(visit.shop.clone()).or_default();
        for key in summary.found.keys() {
            let item = key.split_once(' ').map_or(key.as_str(), |(_, item)| item);
            *counts.entry(item.to_owned()).or_default() += 1;
        }
        for movement in &summary.movements {
            add_movement(&mut fleet.movements, movement);
        }
    }
    let mut rates: BTreeMap<(String, String), Vec<f64>> = BTreeMap::new();
    for visits in vehicles.values_mut() {
        visits.sort_by(|a, b| a.order().cmp(&b.order()));
        let series = all_series(visits);
        for one in &series {
            if let (Ok(forecast), Some(last)) = (&one.forecast, visits.last()) {
                let part = format!("{} {}", one.corner.axle(), one.item.id());
                let key = (last.sheet.clone(), part);
                rates
                    .entry(key)
                    .or_default()
                    .push(forecast.rate_mm_per_1000km);
            }
        }
        fleet.vehicles.extend(vehicle_line(visits, &series));
    }
    fleet.vehicles.sort_by(|a, b| {
        let left = |v: &FleetVehicle| v.first.as_ref().map_or(i64::MAX, |f| f.1);
        b.verdict
            .cmp(&a.verdict)
            .then(left(a).cmp(&left(b)))
            .then(a.vin.cmp(&b.vin))
    });
    fleet.rates = rates
        .into_iter()
        .map(|((sheet, part), rates)| FleetRate {
            sheet,
            part,
            series: rates.len(),
            median_mm_per_1000km: median(rates),
        })
        .collect();
    fleet
}

fn add_movement(all: &mut Vec<Movement>, one: &Movement) {
    let same = all
        .iter_mut()
        .find(|m| (&m.torqued_by, &m.cause) == (&one.torqued_by, &one.cause));
    match same {
        Some(sum) => {
            sum.fasteners += one.fasteners;
            sum.moved += one.moved;
            sum.too_far += one.too_far;
            sum.furthest_deg = sum.furthest_deg.max(one.furthest_deg);
        }
        None => all.push(one.clone()),
    }
}

fn vehicle_line(visits: &[&Summary], series: &[Series]) -> Option<FleetVehicle> {
    let last = visits.last()?;
    let first = series
        .iter()
        .filter(|s| !s.replaced)
        .filter_map(|s| {
            let left = whole_km(s.forecast.as_ref().ok()?.distance_left_lower);
            Some((format!("{} {}", s.corner, s.item.title()), left))
        })
        .min_by_key(|(_, left)| *left);
    Some(FleetVehicle {
        vin: last.vin.clone(),
        registration: last.registration.clone(),
        vehicle: last.vehicle.clone(),
        visits: visits.len(),
        verdict: last.as_left,
        first,
    })
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    let middle = values.len() / 2;
    let at = |i: usize| values.get(i).copied().unwrap_or(0.0);
    let value = if values.len() % 2 == 1 {
        at(middle)
    } else {
        f64::midpoint(at(middle.saturating_sub(1)), at(middle))
    };
    libm::round(value * 1e9) / 1e9
}
