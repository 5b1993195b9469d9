//! Which part is out of true, hub or disc, and where the disc should sit.
//!
//! The tilt measured with the disc in clocking k is `V(k) = H + D·e^{ikβ}`, β = 360°/N: the hub's
//! part stays, the disc's part turns with it. Two clockings separate them, more are averaged by
//! least squares, and every other clocking can be predicted. Clocking k = the disc's own mark is
//! beside the k-th stud to pass the stylus after stud 1; counted that way the answer is the same for
//! both sides of a vehicle and for both turning directions.

mod separation;

use serde::{Deserialize, Serialize};

use crate::measure::error::Problems;
use crate::measure::harmonic::{count, direction};
use crate::measure::runout::{Phasor, RunoutRing, phasor};
use crate::measure::uncertainty::Gauge;
use crate::measure::{MeasureError, length, micro};
use crate::units::{Angle, Length};

use separation::{Complex, Separation};

/// A confirming ring farther from its prediction than this many standard uncertainties disagrees.
pub const CLOSURE_FACTOR: f64 = 3.0;
/// An answer smaller than this many of its standard uncertainties is no answer.
const COVERAGE: f64 = 2.0;

/// A run-out ring and the clocking it was taken in.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ClockedRing {
    /// Beside which stud the disc's mark was: 0 = stud 1, 1 = the next to pass, …
    pub clocking: u8,
    /// The ring; same face and same turning direction as every other one.
    pub ring: RunoutRing,
}

/// One part's share of the run-out at the wheel.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Share {
    /// The run-out this part would have alone.
    pub tir: Length,
    /// Its high spot, from stud 1 for the hub, from the disc's own mark for the disc.
    pub high_spot: Angle,
    /// Standard uncertainty of `tir`.
    pub u: Length,
    /// Standard uncertainty of `high_spot`; 180° when the share is lost in the noise.
    pub u_high_spot: Angle,
}

/// One clocking: predicted, and measured where it was.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Predicted {
    /// Holes the disc is turned by.
    pub holes: u8,
    /// Predicted run-out; `None` when hub and disc could not be told apart.
    pub tir: Option<Length>,
    /// Standard uncertainty of the prediction.
    pub u: Option<Length>,
    /// The fitted run-out of the last ring taken there.
    pub measured: Option<Length>,
    /// Whether the disc can be fitted there.
    pub possible: bool,
}

/// The last ring against what the rings before it predict.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Closure {
    /// The clocking of the confirming ring.
    pub holes: u8,
    /// Length of the difference of the two phasors, as run-out (twice the amplitude).
    pub disagreement: Length,
    /// Standard uncertainty of that difference in one direction.
    pub u: Length,
    /// `disagreement / u`, to six decimals.
    pub ratio: f64,
    /// Whether the ratio is at most [`CLOSURE_FACTOR`]. If not: dirt, a wrong mark, or numbers that
    /// run backwards.
    pub agrees: bool,
}

/// Which part the run-out comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Lead {
    /// The hub's share is more than twice the disc's.
    Hub,
    /// Neither is more than twice the other.
    Both,
    /// The disc's share is more than twice the hub's.
    Disc,
}

/// Why no clocking is recommended.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Refusal {
    /// Every ring was taken in the same clocking.
    #[error(
        "every ring was taken in clocking {clocking}: turn the disc and measure again, best in clocking {}",
        .second.map_or("none is possible".to_owned(), |k| k.to_string())
    )]
    OneClocking {
        /// That clocking.
        clocking: u8,
        /// The clocking that would tell most.
        second: Option<u8>,
    },
    /// The disc's share cannot be told from nothing, and a better lever arm is possible.
    #[error(
        "the disc's share of {tir} is within twice its uncertainty of {u}; measure in clocking {second} too"
    )]
    LeverArmTooSmall {
        /// The disc's share.
        tir: Length,
        /// Its standard uncertainty.
        u: Length,
        /// The clocking that would tell most.
        second: u8,
    },
    /// The disc's share cannot be told from nothing, with the best lever arm there is.
    #[error(
        "the disc's share of {tir} is within twice its uncertainty of {u}: turning the disc changes nothing that could be measured"
    )]
    DiscTrue {
        /// The disc's share.
        tir: Length,
        /// Its standard uncertainty.
        u: Length,
    },
}

/// Hub and disc separated.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Clocking {
    /// The hub's share, with all that stays with it.
    pub hub: Option<Share>,
    /// The disc's share.
    pub disc: Option<Share>,
    /// Which of the two leads.
    pub lead: Option<Lead>,
    /// Every clocking in order.
    pub clockings: Vec<Predicted>,
    /// The possible clocking with the smallest predicted run-out; `None` when refused.
    pub best: Option<u8>,
    /// The smallest and largest run-out any turning of the disc could give, holes or not.
    pub reach: Option<(Length, Length)>,
    /// The last ring against the ones before, when those alone separate hub and disc.
    pub closure: Option<Closure>,
    /// Why nothing is recommended.
    pub refused: Option<Refusal>,
}

fn share(what: &'static str, part: Complex, variance: f64) -> Result<Share, MeasureError> {
    let (size, u) = (part.size(), variance.sqrt());
    let spread = if size > u {
        (u / size).to_degrees().min(180.0)
    } else {
        180.0
    };
    let angle = |degrees: f64| {
        Angle::from_degrees(degrees).ok_or(MeasureError::NotFinite {
            what,
            value: degrees,
        })
    };
    Ok(Share {
        tir: length(what, 2.0 * size)?,
        high_spot: angle(direction(part.re, part.im))?.wrapped(),
        u: length(what, 2.0 * u)?,
        u_high_spot: angle(spread)?,
    })
}

/// The clocking that, after `measured`, tells hub and disc apart best.
///
/// Formula: the largest lever arm `|e^{ikβ} − e^{imβ}|`: N/2 farther for an even number of holes,
/// (N − 1)/2 for an odd one, or the nearest to that among the possible ones. `None` when no other
/// clocking is possible.
///
/// ```
/// use brakecorner::measure::clocking::best_second;
///
/// assert_eq!(best_second(5, 0, None), Some(2));
/// assert_eq!(best_second(6, 1, None), Some(4));
/// assert_eq!(best_second(5, 0, Some(&[0, 1])), Some(1));
/// assert_eq!(best_second(5, 0, Some(&[0])), None);
/// ```
#[must_use]
pub fn best_second(holes: u8, measured: u8, possible: Option<&[u8]>) -> Option<u8> {
    let steps = |k: u8| {
        let apart = k.abs_diff(measured);
        apart.min(holes.saturating_sub(apart))
    };
    (0..holes)
        .map(|i| ((u16::from(measured) + u16::from(i)) % u16::from(holes.max(1))) as u8)
        .filter(|k| *k != measured && possible.is_none_or(|p| p.contains(k)))
        .rev()
        .max_by_key(|k| steps(*k))
}

/// Separates hub and disc and recommends a clocking.
///
/// Shape: rings in the order they were taken, one or more a clocking; `possible` lists the clockings
/// a locating screw or pin allows, `None` = all. Units: as [`RunoutRing`].
/// Formula: weighted least squares of `V = H + D·e^{ikβ}`, weights from the readings' noise alone;
/// predicted run-out `2·|H + D·e^{ikβ}|`; the uncertainty of a prediction from the covariance.
/// Recommended is the smallest predicted run-out among the possible clockings. Refused when only
/// one clocking was measured, or when the disc's share is within twice its own uncertainty: then
/// every clocking is as good as any other.
/// Source: plane vectors and least squares; the closure rule is this project's own. Valid for parts
/// whose faces are flat: order 2 and higher stay with neither.
///
/// # Errors
/// [`MeasureError`] for holes outside 3 to 10, a clocking that does not exist, no ring, no possible
/// clocking, or a ring without a fit; all of them at once.
///
/// ```
/// use brakecorner::measure::clocking::{ClockedRing, clocking};
/// use brakecorner::measure::runout::RunoutRing;
/// use brakecorner::measure::uncertainty::Gauge;
/// use brakecorner::units::Length;
///
/// let um = |v: i64| Length::from_nm(v * 1000);
/// let gauge = Gauge {
///     mpe: um(4), resolution: um(1), repeatability: um(1), zero_check: um(0),
///     repeatability_dof: None,
/// };
/// let ring = |clocking, points: [i64; 10]| ClockedRing {
///     clocking,
///     ring: RunoutRing { points: points.map(um).into(), ..RunoutRing::default() },
/// };
/// let rings = [
///     ring(0, [0, -1, -22, -56, -87, -102, -98, -78, -45, -17]),
///     ring(2, [0, 10, 12, 6, -4, -23, -33, -35, -31, -18]),
/// ];
/// let result = clocking(5, &rings, None, &gauge)?;
/// assert_eq!(result.best, Some(3));
/// let hub = result.hub.expect("two clockings");
/// assert!((hub.tir.mm() - 0.0616).abs() < 5e-5 && (hub.high_spot.degrees() - 19.8).abs() < 0.05);
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn clocking(
    holes: u8,
    rings: &[ClockedRing],
    possible: Option<&[u8]>,
    gauge: &Gauge,
) -> Result<Clocking, MeasureError> {
    let phasors = check(holes, rings, possible, gauge)?;
    let step = 360.0 / f64::from(holes);
    let turn = |k: u8| Complex::unit(f64::from(k) * step);
    let turned: Vec<(Complex, Phasor)> = rings
        .iter()
        .zip(&phasors)
        .map(|(r, v)| (turn(r.clocking), *v))
        .collect();
    let separation = Separation::of(&turned);
    let measured = |k: u8| {
        let last = rings.iter().rposition(|r| r.clocking == k)?;
        phasors
            .get(last)
            .and_then(|v| Length::from_mm(2.0 * libm::hypot(v.a, v.b)))
    };
    let mut clockings = Vec::with_capacity(usize::from(holes));
    for k in 0..holes {
        let e = turn(k);
        let predicted = |f: fn(&Separation, Complex) -> f64, what| {
            separation
                .as_ref()
                .map(|s| length(what, 2.0 * f(s, e)))
                .transpose()
        };
        clockings.push(Predicted {
            holes: k,
            tir: predicted(|s, e| s.predict(e).size(), "predicted run-out")?,
            u: predicted(
                |s, e| s.variance_at(e).max(0.0).sqrt(),
                "uncertainty of a prediction",
            )?,
            measured: measured(k),
            possible: possible.is_none_or(|p| p.contains(&k)),
        });
    }
    let hub = shares(separation.as_ref(), |s| ("hub's share", s.hub))?;
    let disc = shares(separation.as_ref(), |s| ("disc's share", s.disc))?;
    let refused = refusal(holes, rings, possible, disc.as_ref());
    let best = clockings
        .iter()
        .filter(|c| c.possible && refused.is_none())
        .filter_map(|c| Some((c.tir?, c.holes)))
        .min()
        .map(|(_, k)| k);
    Ok(Clocking {
        lead: hub.zip(disc).map(|(h, d)| lead(h.tir, d.tir)),
        reach: hub
            .zip(disc)
            .map(|(h, d)| ((h.tir - d.tir).abs(), h.tir + d.tir)),
        closure: closure(rings, &turned)?,
        hub,
        disc,
        clockings,
        best,
        refused,
    })
}

fn shares(
    separation: Option<&Separation>,
    pick: impl Fn(&Separation) -> (&'static str, Complex),
) -> Result<Option<Share>, MeasureError> {
    separation
        .map(|s| {
            let (what, part) = pick(s);
            share(what, part, s.variance_alone())
        })
        .transpose()
}

fn lead(hub: Length, disc: Length) -> Lead {
    if hub.nm() > 2 * disc.nm() {
        Lead::Hub
    } else if disc.nm() > 2 * hub.nm() {
        Lead::Disc
    } else {
        Lead::Both
    }
}

fn check(
    holes: u8,
    rings: &[ClockedRing],
    possible: Option<&[u8]>,
    gauge: &Gauge,
) -> Result<Vec<Phasor>, MeasureError> {
    let mut problems = Problems::default();
    problems.check((3..=10).contains(&holes), || MeasureError::FastenerCount {
        what: "holes",
        found: holes,
    });
    problems.check(!rings.is_empty(), || MeasureError::TooFew {
        what: "run-out rings",
        found: 0,
        needed: 1,
    });
    problems.check(possible.is_none_or(|p| !p.is_empty()), || {
        MeasureError::TooFew {
            what: "possible clockings",
            found: 0,
            needed: 1,
        }
    });
    let named = rings
        .iter()
        .map(|r| r.clocking)
        .chain(possible.into_iter().flatten().copied());
    for k in named {
        problems.check(k < holes, || MeasureError::OutOfRange {
            what: "clocking",
            value: f64::from(k),
            low: 0.0,
            high: f64::from(holes.saturating_sub(1)),
            unit: "holes",
        });
    }
    problems.check(gauge.noise_mm() > 0.0, || MeasureError::NotPositive {
        what: "repeatability and resolution together".to_owned(),
        value: Length::ZERO,
    });
    let phasors: Vec<Phasor> = rings
        .iter()
        .filter_map(|r| problems.take(phasor(&r.ring, gauge)))
        .collect();
    problems.finish()?;
    Ok(phasors)
}

fn refusal(
    holes: u8,
    rings: &[ClockedRing],
    possible: Option<&[u8]>,
    disc: Option<&Share>,
) -> Option<Refusal> {
    let last = rings.last()?.clocking;
    let Some(disc) = disc else {
        let second = best_second(holes, last, possible);
        return Some(Refusal::OneClocking {
            clocking: last,
            second,
        });
    };
    if disc.tir.mm() > COVERAGE * disc.u.mm() {
        return None;
    }
    let (tir, u) = (disc.tir, disc.u);
    let first = rings.first().map_or(0, |r| r.clocking);
    let best = best_second(holes, first, possible).filter(|k| {
        rings
            .iter()
            .all(|r| steps(holes, r.clocking, first) < steps(holes, *k, first))
    });
    Some(match best {
        Some(second) => Refusal::LeverArmTooSmall { tir, u, second },
        None => Refusal::DiscTrue { tir, u },
    })
}

/// Holes between two clockings, the short way round.
fn steps(holes: u8, a: u8, b: u8) -> u8 {
    let apart = a.abs_diff(b);
    apart.min(holes.saturating_sub(apart))
}

fn closure(
    rings: &[ClockedRing],
    turned: &[(Complex, Phasor)],
) -> Result<Option<Closure>, MeasureError> {
    let (Some((last, before)), Some(ring)) = (turned.split_last(), rings.last()) else {
        return Ok(None);
    };
    let Some(earlier) = Separation::of(before) else {
        return Ok(None);
    };
    let (e, v) = *last;
    let off = earlier
        .predict(e)
        .minus(Complex { re: v.a, im: v.b })
        .size();
    let u = (earlier.variance_at(e) + v.variance).sqrt();
    Ok(Some(Closure {
        holes: ring.clocking,
        disagreement: length("closure", 2.0 * off)?,
        u: length("uncertainty of the closure", 2.0 * u)?,
        ratio: micro(off / u),
        agrees: off <= CLOSURE_FACTOR * u,
    }))
}

/// Mean disagreement of all rings with the common solution, as run-out; for reports.
///
/// # Errors
/// As [`clocking`].
pub fn residual(
    holes: u8,
    rings: &[ClockedRing],
    gauge: &Gauge,
) -> Result<Option<Length>, MeasureError> {
    let phasors = check(holes, rings, None, gauge)?;
    let step = 360.0 / f64::from(holes);
    let turned: Vec<(Complex, Phasor)> = rings
        .iter()
        .zip(phasors)
        .map(|(r, v)| (Complex::unit(f64::from(r.clocking) * step), v))
        .collect();
    let Some(all) = Separation::of(&turned) else {
        return Ok(None);
    };
    let squares: f64 = turned
        .iter()
        .map(|(e, v)| {
            let off = all.predict(*e).minus(Complex { re: v.a, im: v.b }).size();
            off * off
        })
        .sum();
    length(
        "residual of the clockings",
        2.0 * (squares / count(turned.len())).sqrt(),
    )
    .map(Some)
}

#[cfg(test)]
mod tests;
