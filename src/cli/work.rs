//! `work`: what was done at the vehicle.

use super::error::{Exit, Failure, Hint as _};
use super::open::{JobFile, person};
use super::{Globals, World};
use crate::job::{Cure, Effect, Place};
use crate::judge::deeds;

/// Log what was done: a part fitted, something cleaned, adjusted, tightened, turned
///
/// Measuring again repairs nothing: what was not good as found is better as left only after work that
/// may have cured it. A part fitted makes void what was measured of the old one.
///
/// Work: `fitted PART` (disc pads linings drum hose pipe calliper slide_pins springs sensor_speed
/// sensor_wear cylinder bearing fluid fasteners wheel cable adjuster), `reclocked K`,
/// `cleaned hub|seat|connector|slide_pins|abutments|disc`, `machined disc|drum`,
/// `tightened union|bolts|fasteners`, `adjusted brake|parking|bearing`, `freed piston`,
/// `secured hose|pipe|wire`, `topped_up fluid`, `bled brakes`, `held pedal` (held down, nothing
/// leaks), `conditioned discs` (braked clean before the roller run). A note, or a part's batch, may
/// follow.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  brakecorner work HWY-0417 FR cleaned hub\n  brakecorner work HWY-0417 FR reclocked 3\n  brakecorner work HWY-0423 rear fitted pads 4711"
)]
pub(super) struct Args {
    /// Job number
    job: String,
    /// Corner (FL FR RL RR), axle (front rear) or `vehicle`
    place: String,
    /// What was done: two words
    #[arg(required = true, num_args = 2.., value_name = "WORK")]
    work: Vec<String>,
}

pub(super) fn run(args: &Args, globals: &Globals, world: &mut World<'_>) -> Result<Exit, Failure> {
    let place: Place = args
        .place
        .parse()
        .hint("corners are FL FR RL RR; axles front and rear; or vehicle")?;
    let (cure, note) = Cure::read(&args.work.join(" "))
        .hint("`brakecorner work --help` lists the words; nothing was logged")?;
    let by = person(globals, world)?;
    let (mut file, mut journal) = JobFile::write(globals, world, &args.job)?;
    if let Some(why) = deeds::impossible(&file.case(), place, cure) {
        return Err(Failure::from(why.to_string()).hint("nothing was logged"));
    }
    let again = deeds::again(&file.case(), place, cure);
    file.append(&mut journal, world, &by, &[cure.event(place, note)])?;
    if globals.json {
        let again: Vec<_> = again
            .iter()
            .map(|(place, item, since)| {
                serde_json::json!({"place": place, "item": item, "void": *since == Effect::Void})
            })
            .collect();
        let value = serde_json::json!({
            "job": args.job, "place": place, "work": cure.to_string(), "by": by, "again": again,
        });
        writeln!(world.out, "{value:#}")?;
        return Ok(Exit::Good);
    }
    writeln!(world.out, "logged: {place} {cure}")?;
    let list = |wanted: Effect| -> Vec<String> {
        let of = again.iter().filter(|(.., since)| *since == wanted);
        of.map(|(place, item, _)| format!("{place} {item}"))
            .collect()
    };
    let (void, worked) = (list(Effect::Void), list(Effect::Worked));
    if !void.is_empty() {
        writeln!(
            world.out,
            "  no longer counts as left until it is entered again: {}",
            void.join(", ")
        )?;
    }
    if !worked.is_empty() {
        writeln!(
            world.out,
            "  what was found stands until it is entered again as left: {}",
            worked.join(", ")
        )?;
    }
    if !again.is_empty() {
        writeln!(
            world.out,
            "  next: `log {} … --as-left`, or `walk {} --part left`",
            args.job, args.job
        )?;
    }
    Ok(Exit::Good)
}
