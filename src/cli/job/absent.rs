//! Items a vehicle is built without: stated at a job, remembered with the vehicle.

use chrono::NaiveDate;

use super::Open;
use crate::cli::error::{Failure, Hint as _};
use crate::cli::open::JobFile;
use crate::job::{Item, Place};
use crate::judge::may_lack;
use crate::shop::vehicles::{Absent, Vehicle};
use crate::spec::Sheet;

/// What the vehicle's file knows, and what is stated now.
pub(super) fn stated(
    open: &Open,
    known: Option<&Vehicle>,
    sheet: &Sheet,
    (by, on): (&str, NaiveDate),
) -> Result<Vec<Absent>, Failure> {
    let mut all: Vec<Absent> = known
        .map(|vehicle| vehicle.absent.clone())
        .unwrap_or_default();
    for text in &open.absent {
        let form = "as in --absent RL:sensor.wear, or --absent rear:sensor.wear";
        let (place, item) = text.split_once(':').ok_or_else(|| {
            Failure::from(format!("`{text}` names no item of a place")).hint(form)
        })?;
        let item: Item = item.parse().hint(form)?;
        let place: Place = place.parse().hint(form)?;
        let corners = match place {
            Place::Corner(corner) => vec![corner],
            Place::Axle(axle) => axle.corners().to_vec(),
            Place::Vehicle => {
                return Err(
                    Failure::from(format!("`{text}`: a corner or an axle is asked")).hint(form),
                );
            }
        };
        for corner in corners {
            may_lack(sheet, corner, item).hint("nothing was written")?;
            if !all
                .iter()
                .any(|one| (one.corner, one.item) == (corner, item))
            {
                all.push(Absent {
                    corner,
                    item,
                    by: by.to_owned(),
                    on,
                });
            }
        }
    }
    Ok(all)
}

/// Takes what a job says is not fitted into the vehicle's file, if it says something new.
pub(crate) fn remember(file: &JobFile) -> Result<(), Failure> {
    let Some(opening) = &file.job.opening else {
        return Ok(());
    };
    let Some(mut vehicle) = file.shop.vehicle(&opening.vin)? else {
        return Ok(());
    };
    let absent = file.job.absent.iter();
    let absent: Vec<Absent> = absent
        .map(|((corner, item), (by, on))| Absent {
            corner: *corner,
            item: *item,
            by: by.clone(),
            on: *on,
        })
        .collect();
    // An older job says nothing about the vehicle as it is now.
    let is_last = vehicle
        .visits
        .last()
        .is_some_and(|visit| visit.job == opening.job);
    if is_last && vehicle.absent != absent {
        vehicle.absent = absent;
        file.shop.write_vehicle(&vehicle)?;
    }
    Ok(())
}
