//! Slips around the measurement: odometer, date, torque, brake forces, the mark on the part, the
//! dial's sign.

use chrono::NaiveDate;

use crate::measure::runout::{RunoutRing, runout};
use crate::measure::slips::{self, OdometerSlip};
use crate::measure::uncertainty::Gauge;
use crate::units::{Distance, Force, ForceUnit, Length, Torque};

/// The question an odometer raises beside the last visit's, `days` ago, if any.
///
/// # Examples
/// ```
/// use brakecorner::judge::plausible::odometer_question;
/// use brakecorner::units::Distance;
/// let km = Distance::from_whole_km;
/// assert!(odometer_question(km(52_270), km(72_480), 200).unwrap().contains("miles"));
/// assert_eq!(odometer_question(km(84_120), km(72_480), 200), None);
/// ```
#[must_use]
pub fn odometer_question(now: Distance, last: Distance, days: u32) -> Option<String> {
    Some(match slips::odometer(now, last, days)? {
        OdometerSlip::Back { last } => {
            format!("the odometer shows {now}, less than {last} at the last visit; is it right?")
        }
        OdometerSlip::TooFast { km_per_day } => format!(
            "from {last} to {now} in {days} days is {km_per_day} km a day; is it right, and in kilometres?"
        ),
        OdometerSlip::MilesForKilometres => format!(
            "the odometer shows {now}, after {last} at the last visit; was it read in miles?"
        ),
    })
}

/// The question a day that has not come yet raises, if it has not.
#[must_use]
pub fn future_question(day: NaiveDate, today: NaiveDate) -> Option<String> {
    (day > today).then(|| format!("{day} is in the future, today is {today}; is it right?"))
}

/// The question a torque raises beside its target: read in the other unit.
///
/// # Examples
/// ```
/// use brakecorner::judge::plausible::torque_question;
/// use brakecorner::units::Torque;
/// let nm = |v: &str| Torque::parse(v).unwrap();
/// assert!(torque_question(nm("103.3"), nm("140")).unwrap().contains("lbf·ft"));
/// assert_eq!(torque_question(nm("138"), nm("140")), None);
/// ```
#[must_use]
pub fn torque_question(value: Torque, target: Torque) -> Option<String> {
    /// One pound-force foot in newton metres, by definition of the pound and the foot.
    const FOOT_POUND: f64 = 1.355_817_948_331_400_4;
    /// One kilogram-force metre in newton metres, by definition.
    const KILOGRAM_METRE: f64 = 9.806_65;
    let (given, wanted) = (value.nm(), target.nm());
    if wanted <= 0.0 || (given - wanted).abs() <= 0.05 * wanted {
        return None;
    }
    let fits = |factor: f64| (given * factor - wanted).abs() <= 0.02 * wanted;
    let unit = if fits(FOOT_POUND) {
        "lbf·ft"
    } else if fits(KILOGRAM_METRE) {
        "kgf·m"
    } else {
        return Some(format!(
            "the wrench is set to {value}, and {target} is asked for; is it right?"
        ));
    };
    Some(format!(
        "the wrench is set to {value}, and {target} is asked for; is its scale in {unit}?"
    ))
}

/// The question roller forces raise beside the vehicle's mass: kilogram-force typed as newton, or
/// the reverse.
///
/// # Examples
/// ```
/// use brakecorner::judge::plausible::rollers_question;
/// use brakecorner::units::Force;
/// let n = |v: i64| Force::from_mn(v * 1000);
/// let kgf_typed = [n(400), n(392), n(236), n(151)];
/// assert!(rollers_question(&kgf_typed, 1432.0).unwrap().contains("kgf"));
/// assert_eq!(rollers_question(&[n(3920), n(3850), n(2310), n(1480)], 1432.0), None);
/// ```
#[must_use]
pub fn rollers_question(forces: &[Force], mass_kg: f64) -> Option<String> {
    let sum: f64 = forces.iter().map(|force| force.newtons()).sum();
    let kilogram_force = Force::parse("1", ForceUnit::KilogramForce).ok()?.newtons();
    let percent = 100.0 * sum / (mass_kg * kilogram_force);
    let usual = 10.0..=130.0;
    if !percent.is_finite() || sum <= 0.0 || usual.contains(&percent) {
        return None;
    }
    let meant = if usual.contains(&(percent * kilogram_force)) {
        "; were the forces read in kgf?"
    } else if usual.contains(&(percent / kilogram_force)) {
        "; are the forces in newton, and was kgf chosen?"
    } else {
        "; are forces and mass right?"
    };
    Some(format!(
        "these forces give an efficiency of {percent:.1} %{meant}"
    ))
}

/// The question the limit cast on a part raises beside the sheet: not on the worn side of the new
/// size, far from the sheet's, or ten times off.
///
/// `is_drum`: the limit of a drum is above its new size, that of a disc below.
#[must_use]
pub fn cast_question(
    mark: Length,
    new: Option<Length>,
    sheet: Option<Length>,
    is_drum: bool,
) -> Option<String> {
    let new = new?;
    let worn_side = if is_drum { mark > new } else { mark < new };
    let ten = Length::from_nm(mark.nm() / 10);
    let tenth = Length::from_nm(mark.nm().saturating_mul(10));
    let near = |size: Length| (size - new).abs().nm() <= new.nm() / 4;
    if near(ten) || near(tenth) {
        let meant = if near(ten) { ten } else { tenth };
        return Some(format!(
            "{mark} beside a new size of {new}; is it {meant}, because the decimal point slipped?"
        ));
    }
    if !worn_side {
        let word = if is_drum { "not above" } else { "not below" };
        return Some(format!(
            "the limit {mark} is {word} the new size {new}; were the two swapped?"
        ));
    }
    // Published limits of discs lie 0.5 to 4 mm from the new size.
    let far = Length::from_nm(4_000_000);
    match sheet {
        Some(sheet) if sheet == mark => None,
        _ => ((mark - new).abs() > far).then(|| {
            format!("the limit {mark} is more than {far} from the new size {new}; is it right?")
        }),
    }
}

/// The question a finished ring raises when one reading fits only with its sign turned round.
///
/// Formula: the fit's residual falls below a quarter when one reading is negated. Own.
#[must_use]
pub fn sign_question(points: &[Length]) -> Option<String> {
    /// A ring that leaves less than this is good as it is.
    const GOOD: Length = Length::from_nm(20_000);
    let residual = |points: Vec<Length>| {
        let micrometre = Length::from_nm(1_000);
        let gauge = Gauge {
            mpe: micrometre,
            resolution: micrometre,
            repeatability: micrometre,
            zero_check: Length::ZERO,
            repeatability_dof: None,
        };
        let ring = RunoutRing {
            points,
            ..RunoutRing::default()
        };
        Some(runout(&ring, &gauge).ok()?.fit?.residual)
    };
    let as_given = residual(points.to_vec())?;
    if as_given <= GOOD {
        return None;
    }
    (0..points.len()).find_map(|turned| {
        let mut other = points.to_vec();
        let value = *other.get(turned)?;
        *other.get_mut(turned)? = Length::ZERO - value;
        let left = residual(other)?;
        (value != Length::ZERO && left.nm() < as_given.nm() / 4).then(|| {
            format!(
                "point {} fits the ring only as {}; was its sign lost?",
                turned + 1,
                Length::ZERO - value
            )
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn um(v: i64) -> Length {
        Length::from_nm(v * 1000)
    }

    #[test]
    fn a_lost_sign_is_found_and_a_true_ring_is_left_alone() {
        let ring: Vec<Length> = [0, 1, -19, -54, -90, -108, -106, -87, -48, -15]
            .map(um)
            .into();
        assert_eq!(sign_question(&ring), None);
        let mut lost = ring.clone();
        lost[5] = um(108);
        assert!(sign_question(&lost).unwrap().contains("point 6"));
    }

    #[test]
    fn a_cast_limit_is_held_against_the_new_size() {
        let mm = |v: f64| Length::from_mm(v).unwrap();
        let ask = |mark: f64, drum: bool| {
            let new = if drum { 203.0 } else { 26.0 };
            cast_question(mm(mark), Some(mm(new)), None, drum)
        };
        assert_eq!(ask(23.0, false), None);
        assert!(ask(230.0, false).unwrap().contains("23.000 mm"));
        assert!(ask(26.5, false).unwrap().contains("swapped"));
        assert!(ask(20.0, false).unwrap().contains("is it right"));
        assert_eq!(ask(204.0, true), None);
        assert!(ask(202.0, true).unwrap().contains("swapped"));
    }

    #[test]
    fn tomorrow_is_asked_about_and_today_is_not() {
        let day = |d| NaiveDate::from_ymd_opt(2026, 3, d).unwrap();
        assert_eq!(future_question(day(2), day(2)), None);
        assert!(future_question(day(3), day(2)).unwrap().contains("future"));
    }

    proptest! {
        #[test]
        fn no_input_panics(nm in any::<i32>(), other in any::<i32>(), mass in any::<f64>(), ring in proptest::collection::vec(any::<i32>(), 0..14)) {
            let l = |v: i32| Length::from_nm(i64::from(v));
            let _ = cast_question(l(nm), Some(l(other)), Some(l(nm)), nm % 2 == 0);
            let _ = rollers_question(&[Force::from_mn(i64::from(nm))], mass);
            let _ = sign_question(&ring.into_iter().map(l).collect::<Vec<_>>());
        }
    }
}
