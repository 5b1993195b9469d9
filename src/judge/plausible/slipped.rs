//! Slips of ten: a value that fits only with its decimal point moved.

use super::Known;
use crate::job::Slot;
use crate::units::Length;

/// A step of the dial from the reading before that a run-out under its limit never makes.
const STEP: Length = Length::from_nm(60_000);
/// How near to the reading before it a tenth must come.
const NEAR: Length = Length::from_nm(20_000);
/// Points that must have gone before a ring's own spread says what is far.
const ENOUGH: usize = 3;
/// What is nearer than this to the others of its ring is not far from them.
const FAR: Length = Length::from_nm(15_000);
/// The smallest spread a ring is taken to have.
const SPREAD: Length = Length::from_nm(4_000);

/// A point of a run-out ring that lies far outside the points before it, and whose tenth does not.
///
/// Far is four times the spread of the points before it. A disc of even run-out makes no such step:
/// of eight points a turn, the three round its highest show 0.15 of its run-out and the next lies 0.35
/// of it below them. With fewer points before it, far is 0.06 mm from the last and five times the
/// largest, which even run-out of 0.15 mm does not reach. Own.
pub(super) fn in_ring(slot: Slot, value: Length, ring: &[Length]) -> Option<String> {
    if !matches!(slot, Slot::Point(_) | Slot::Return) {
        return None;
    }
    let (low, high) = (*ring.iter().min()?, *ring.iter().max()?);
    let last = *ring.last()?;
    let tenth = Length::from_nm(value.nm() / 10);
    let slipped = if ring.len() >= ENOUGH {
        let spread = (high - low).max(SPREAD);
        let outside = (low - value).max(value - high);
        outside > FAR.max(Length::from_nm(spread.nm() * 4))
            && (low - spread..=high + spread).contains(&tenth)
    } else {
        let largest = low.abs().max(high.abs());
        (value - last).abs() >= STEP
            && (tenth - last).abs() <= NEAR
            && value.abs().nm() >= largest.nm().saturating_mul(5)
    };
    slipped.then(|| {
        format!("{value} after {last} is far from the points before it; is it {tenth}, because the decimal point slipped?")
    })
}

/// Friction ten times, or a tenth, of what stands beside it: the other pad's or lining's, the other
/// side's, the last visit's.
///
/// A factor of four apart, and within a quarter of it once the decimal point is moved. Own.
pub(super) fn beside_fellows(value: Length, known: &Known) -> Option<String> {
    let others = known.fellows.iter().map(|other| (*other, "beside it"));
    let mate = known.mate.map(|mate| (mate, "on the other side"));
    let last = known.last.map(|last| (last, "at the last visit"));
    others.chain(mate).chain(last).find_map(|(other, whose)| {
        let (nm, fellow) = (value.nm(), other.nm());
        let fits = |moved: i64| (moved - fellow).abs() <= fellow / 4;
        let meant = if nm.saturating_mul(4) < fellow {
            nm.saturating_mul(10)
        } else if nm / 4 > fellow {
            nm / 10
        } else {
            return None;
        };
        (fellow > 0 && fits(meant)).then(|| {
            format!(
                "{value}, and {other} {whose}: did the decimal point of one of them slip (is it {})?",
                Length::from_nm(meant)
            )
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn ring(um: &[i64]) -> Vec<Length> {
        um.iter().map(|v| Length::from_nm(v * 1000)).collect()
    }

    fn asks(before: &[i64], value: i64) -> bool {
        in_ring(Slot::Point(1), Length::from_nm(value * 1000), &ring(before)).is_some()
    }

    #[test]
    fn one_slipped_point_of_a_ring_is_asked_about() {
        assert!(asks(&[0], 80));
        assert!(asks(&[0, 4], 80));
        assert!(asks(&[0, 4, 8, 4, -1], 80));
        assert!(asks(&[0, 1, 2, 1], 20));
        assert!(asks(&[0, 4, 8, 4], -60));
        assert!(!asks(&[0, 1, -19], -54));
        assert!(!asks(&[], 80));
    }

    #[test]
    fn a_pad_ten_times_off_its_fellow_is_asked_about_and_a_worn_one_is_not() {
        let mm = |v: f64| Length::from_mm(v).unwrap();
        let known = |fellow: f64| Known {
            fellows: vec![mm(fellow)],
            ..Known::default()
        };
        assert!(
            beside_fellows(mm(0.61), &known(6.3))
                .unwrap()
                .contains("6.100 mm")
        );
        assert!(beside_fellows(mm(6.3), &known(0.61)).is_some());
        assert_eq!(beside_fellows(mm(2.9), &known(6.3)), None);
        assert_eq!(beside_fellows(mm(2.3), &known(9.0)), None);
    }

    proptest! {
        /// A disc that runs out evenly, read in steps of the dial, raises no question at any point.
        #[test]
        fn an_even_run_out_is_never_asked_about(
            tir_um in 0i64..140, phase in 0.0f64..std::f64::consts::TAU, points in 8usize..24, noise in proptest::collection::vec(-1i64..2, 24)
        ) {
            let value = |n: usize| {
                let angle = phase + std::f64::consts::TAU * n as f64 / points as f64;
                let half = tir_um as f64 / 2.0;
                (half * angle.sin() - half * phase.sin()).round() as i64 + noise[n]
            };
            let all: Vec<i64> = (0..points).map(value).collect();
            for n in 1..points {
                prop_assert!(!asks(&all[..n], all[n]), "{all:?} at {n}");
            }
        }
    }
}
