//! `history`: a vehicle over its visits, or a whole fleet.

use super::error::{Exit, Failure, Hint as _};
use super::open::{style, workshops};
use super::visits::{self, Wanted};
use super::{Globals, World};
use crate::office::due::Visit;
use crate::office::history::{self, Series};
use crate::office::{Summary, whole_km};
use crate::sheet::chart::wear;
use crate::units::{Distance, DistanceUnit, LengthUnit};

/// Show a vehicle's visits, its wear over distance, and what its forecasts were worth
///
/// `--fleet` ranks every vehicle, with wear rates by sheet and part and findings by workshop.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  brakecorner history A0ZDL07V7NK001122\n  brakecorner history --fleet"
)]
pub(super) struct Args {
    /// VIN or registration plate
    #[arg(required_unless_present = "fleet", conflicts_with = "fleet")]
    vehicle: Option<String>,
    /// Every vehicle
    #[arg(long)]
    fleet: bool,
    /// Ask the shared archive instead of folders
    #[cfg(feature = "archive")]
    #[arg(long, value_name = "URL")]
    archive: Option<String>,
    /// A vehicle that returns within this distance with the same trouble is a comeback
    #[arg(long, value_name = "KM", default_value = "2000")]
    comeback: String,
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let within = Distance::parse(&args.comeback, DistanceUnit::Kilometre)
        .hint("a distance looks like 2000")?;
    let mut loaded = loaded(args, globals, world)?;
    loaded.report(world)?;
    loaded
        .visits
        .sort_by(|a, b| a.summary.order().cmp(&b.summary.order()));
    let exit = if loaded.problems.is_empty() {
        Exit::Good
    } else {
        Exit::NoAnswer
    };
    let Some(name) = &args.vehicle else {
        return fleet(&loaded.visits, globals, world).map(|()| exit);
    };
    if loaded.visits.is_empty() {
        return Err(Failure::from(format!("no job of a vehicle `{name}`"))
            .hint("`brakecorner history --fleet` lists the vehicles"));
    }
    vehicle(&loaded.visits, within, globals, world)?;
    Ok(exit)
}

fn loaded(
    args: &Args,
    globals: &Globals,
    world: &mut World<'_>,
) -> Result<visits::Loaded, Failure> {
    #[cfg(feature = "archive")]
    if let Some(url) = &args.archive {
        return Ok(visits::Loaded {
            visits: super::archive::question::visits(url, args.vehicle.as_deref(), world)?,
            ..visits::Loaded::default()
        });
    }
    let shops = workshops(globals, world)?;
    let wanted = match &args.vehicle {
        Some(name) => Wanted::Vehicle(name),
        None => Wanted::All,
    };
    visits::load(&shops, wanted, world)
}

fn vehicle(
    visits: &[Visit],
    within: Distance,
    globals: &Globals,
    world: &mut World<'_>,
) -> Result<(), Failure> {
    let summaries: Vec<&Summary> = visits.iter().map(|v| &v.summary).collect();
    let series = history::all_series(&summaries);
    let doubts = history::doubts(&summaries);
    let pace = history::pace(&summaries);
    let comebacks = history::comebacks(&summaries, within);
    let moved: Vec<_> = summaries
        .windows(2)
        .flat_map(|pair| match pair {
            [before, after] => history::moved(before, after),
            _ => Vec::new(),
        })
        .collect();
    if globals.json {
        let visits: Vec<_> = visits
            .iter()
            .map(|v| {
                let s = &v.summary;
                serde_json::json!({
                    "shop": v.shop, "job": s.job, "date": s.opened.date_naive(),
                    "odometer_km": whole_km(s.odometer), "as_found": s.as_found,
                    "as_left": s.as_left, "state": s.state, "fitted": s.fitted,
                    "not_good": s.found, "declined": s.declined
                })
            })
            .collect();
        let value = serde_json::json!({
            "visits": visits, "pace": pace, "doubts": doubts, "series": series,
            "moved": moved, "comebacks": comebacks
        });
        writeln!(world.out, "{value:#}")?;
        return Ok(());
    }
    let mut out = String::new();
    if let Some(last) = summaries.last() {
        out.push_str(&format!(
            "{}  {}  {}\n",
            last.vehicle, last.vin, last.registration
        ));
    }
    for visit in visits {
        let s = &visit.summary;
        out.push_str(&format!(
            "  {}  {:>9}  {}  found {}, left {}  ({}){}\n",
            s.opened.date_naive(),
            s.odometer.to_whole_km().to_string(),
            s.job,
            s.as_found,
            s.as_left,
            visit.shop,
            fitted_words(s)
        ));
    }
    for doubt in &doubts {
        out.push_str(&format!("  ? {}: {}\n", doubt.job, doubt.words));
    }
    if let Some(pace) = &pace {
        out.push_str(&format!("  {}\n", pace.basis));
    }
    for one in &series {
        series_text(one, globals.plain, &mut out);
    }
    for one in &moved {
        out.push_str(&format!(
            "run-out {} {} to {}: {:.3} to {:.3} mm, moved {:.3} mm towards {:.0}°: {}\n",
            one.corner,
            one.jobs.0,
            one.jobs.1,
            one.before_mm,
            one.after_mm,
            one.change_mm,
            one.change_deg,
            one.words
        ));
    }
    for comeback in &comebacks {
        out.push_str(&format!(
            "comeback {} after {} km of {}: {}\n",
            comeback.job,
            comeback.km,
            comeback.before,
            comeback.what.join(", ")
        ));
    }
    let text = style(globals, world).sheet(&out);
    world.out.write_all(text.as_bytes())?;
    Ok(())
}

fn fitted_words(summary: &Summary) -> String {
    if summary.fitted.is_empty() {
        return String::new();
    }
    let parts: Vec<String> = summary
        .fitted
        .iter()
        .map(|(place, part)| format!("{place} {part:?}").to_lowercase())
        .collect();
    format!("  fitted: {}", parts.join(", "))
}

fn series_text(series: &Series, plain: bool, out: &mut String) {
    let places = if series.item == crate::job::Item::DiscThickness {
        3
    } else {
        1
    };
    let mm = |length: crate::units::Length| length.rounded(LengthUnit::Millimetre, places);
    let ended = if series.replaced { ", replaced" } else { "" };
    out.push_str(&format!(
        "{} {}{ended}\n",
        series.corner,
        series.item.title()
    ));
    // A single reading is a number, not a chart.
    if series.points.len() > 1 {
        let thicknesses: Vec<_> = series.points.iter().map(|p| p.thickness).collect();
        for line in wear(&thicknesses, series.limit, plain) {
            out.push_str(&format!("    {line}\n"));
        }
    }
    for point in &series.points {
        let job = if point.job.is_empty() {
            "before"
        } else {
            &point.job
        };
        out.push_str(&format!(
            "    {:>9}  {:>7} mm  {job}\n",
            point.odometer.to_whole_km().to_string(),
            mm(point.thickness)
        ));
    }
    match &series.forecast {
        Ok(forecast) => {
            out.push_str(&format!(
                "    {:.4} mm per 1000 km; {} km left at least, {} km in the middle\n",
                forecast.rate_mm_per_1000km,
                whole_km(forecast.distance_left_lower),
                whole_km(forecast.distance_left)
            ));
            if forecast.accelerating && series.doubled.is_none() {
                out.push_str("    wears faster than before\n");
            }
        }
        Err(why) => out.push_str(&format!("    {why}\n")),
    }
    for scored in &series.scored {
        out.push_str(&format!(
            "    at {} km: forecast {:.places$} mm, read {:.places$} mm; limit then forecast from {} km on\n",
            scored.odometer_km, scored.forecast_mm, scored.read_mm, scored.earliest_km
        ));
    }
    if let Some(doubled) = &series.doubled {
        out.push_str(&format!(
            "    ! the rate doubled: {:.4}, now {:.4} mm per 1000 km; something may drag\n",
            doubled.before, doubled.now
        ));
    }
}

fn fleet(visits: &[Visit], globals: &Globals, world: &mut World<'_>) -> Result<(), Failure> {
    let fleet = history::fleet(visits);
    if globals.json {
        writeln!(world.out, "{:#}", serde_json::to_value(&fleet)?)?;
        return Ok(());
    }
    let mut out = String::new();
    for vehicle in &fleet.vehicles {
        let first = vehicle.first.as_ref().map_or_else(
            || "no forecast".to_owned(),
            |(part, km)| format!("{part}: {km} km at least"),
        );
        let name = if vehicle.registration.is_empty() {
            &vehicle.vin
        } else {
            &vehicle.registration
        };
        out.push_str(&format!(
            "{:10}  {name}  {}  {} visit{}  {first}\n",
            vehicle.verdict.to_string(),
            vehicle.vehicle,
            vehicle.visits,
            if vehicle.visits == 1 { "" } else { "s" }
        ));
    }
    if !fleet.rates.is_empty() {
        out.push_str("wear, median mm per 1000 km:\n");
    }
    for rate in &fleet.rates {
        out.push_str(&format!(
            "  {}  {}  {:.4}  ({} series)\n",
            rate.sheet, rate.part, rate.median_mm_per_1000km, rate.series
        ));
    }
    for (shop, findings) in &fleet.findings {
        out.push_str(&format!("not good as found at {shop}:\n"));
        for (item, count) in findings {
            out.push_str(&format!("  {count:4}  {item}\n"));
        }
    }
    if !fleet.movements.is_empty() {
        out.push_str("fasteners that turned at the re-torque:\n");
    }
    for m in &fleet.movements {
        let cause = if m.cause.is_empty() {
            "no cause noted"
        } else {
            &m.cause
        };
        out.push_str(&format!(
            "  torqued by {}: {} of {} turned, {} too far, up to {} degrees ({cause})\n",
            m.torqued_by, m.moved, m.fasteners, m.too_far, m.furthest_deg
        ));
    }
    if out.is_empty() {
        out.push_str("no jobs\n");
    }
    let text = style(globals, world).sheet(&out);
    world.out.write_all(text.as_bytes())?;
    Ok(())
}
