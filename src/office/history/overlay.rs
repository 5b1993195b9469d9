//! Run-out of two visits overlaid as vectors: what moved, hub or disc.

use serde::Serialize;

use crate::job::{Corner, Phase, Place};
use crate::office::{Ring, Summary, holds};

/// What moved between two run-out rings of the same wheel.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Moved {
    /// The wheel.
    pub corner: Corner,
    /// The visits compared.
    pub jobs: (String, String),
    /// Run-out before and after, peak to peak, in mm.
    pub before_mm: f64,
    /// After.
    pub after_mm: f64,
    /// The difference of the two as a vector, peak to peak, in mm.
    pub change_mm: f64,
    /// Where the difference points, in degrees from stud 1.
    pub change_deg: f64,
    /// What that says.
    pub words: String,
}

/// Overlays the run-out of two visits, wheel by wheel: the last ring of each.
///
/// Formula: vectors `V = A·e^{iφ}` at the wheel; `ΔV = V₂ − V₁`. With the disc at the same clocking
/// the change belongs to whichever part changed since: the disc when one was fitted, else hub, seat
/// or disc alike. At another clocking the disc's share has turned with it, and only two clockings
/// of one visit can tell hub from disc.
#[must_use]
pub fn moved(before: &Summary, after: &Summary) -> Vec<Moved> {
    let last = |rings: &[Ring], corner: Corner, phases: &[Phase]| -> Option<Ring> {
        phases.iter().find_map(|phase| {
            let mut of = rings
                .iter()
                .filter(|r| r.corner == corner && r.phase == *phase);
            of.next_back().cloned()
        })
    };
    let mut corners: Vec<Corner> = after.rings.iter().map(|r| r.corner).collect();
    corners.sort();
    corners.dedup();
    corners
        .into_iter()
        .filter_map(|corner| {
            let one = last(&before.rings, corner, &[Phase::AsLeft, Phase::AsFound])?;
            let two = last(&after.rings, corner, &[Phase::AsFound, Phase::AsLeft])?;
            Some(overlay(before, after, &one, &two))
        })
        .collect()
}

fn overlay(before: &Summary, after: &Summary, one: &Ring, two: &Ring) -> Moved {
    let vector = |ring: &Ring| {
        let angle = ring.high_spot_deg.to_radians();
        let size = ring.peak_to_peak_mm;
        (size * libm::cos(angle), size * libm::sin(angle))
    };
    let ((x1, y1), (x2, y2)) = (vector(one), vector(two));
    let (dx, dy) = (x2 - x1, y2 - y1);
    let size = libm::hypot(dx, dy);
    let noise = 2.0 * libm::hypot(one.u_mm, two.u_mm);
    let new_disc = before.fitted.iter().any(|(place, part)| {
        *part == crate::job::Part::Disc && holds(*place, Place::Corner(one.corner))
    });
    let words = if size <= noise {
        format!("nothing moved that the readings could show ({noise:.3} mm)")
    } else if one.clocking != two.clocking {
        format!(
            "the disc sits at clocking {} instead of {}: its share has turned with it; measure a second clocking to tell hub from disc",
            two.clocking, one.clocking
        )
    } else if new_disc {
        "the disc is the one fitted at the visit before: hub, seat or the new disc has moved"
            .to_owned()
    } else {
        "same disc at the same clocking: the hub's seat (dirt, rust) or the disc itself has moved; clean and measure again".to_owned()
    };
    let degrees = libm::atan2(dy, dx).to_degrees().rem_euclid(360.0);
    Moved {
        corner: one.corner,
        jobs: (before.job.clone(), after.job.clone()),
        before_mm: one.peak_to_peak_mm,
        after_mm: two.peak_to_peak_mm,
        change_mm: libm::round(size * 1e6) / 1e6,
        change_deg: libm::round(degrees * 100.0) / 100.0,
        words,
    }
}
