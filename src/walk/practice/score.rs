//! The comparison of what was read and judged with what is true, and the slips of technique.

use serde::Serialize;

use super::rules::Values;
use super::steps::Taken;
use super::{FASTENERS, POINTS, Rules, Scene, Session};
use crate::job::Item;
use crate::judge::{Finding, ItemVerdict};
use crate::measure::clocking::{ClockedRing, clocking};
use crate::measure::runout::{CLOSING_ALLOWED, RunoutRing};
use crate::measure::uncertainty::Gauge;
use crate::units::Length;

/// A slip of technique, told from the readings.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "slip", rename_all = "snake_case")]
#[non_exhaustive]
pub enum Slip {
    /// The dial did not come back to its start at stud 1, and the ring was kept.
    ReturnError {
        /// First or second ring.
        ring: u8,
        /// Return reading minus first reading.
        #[serde(rename = "error_nm")]
        error: Length,
    },
    /// The thickness readings scatter to one side only: anvils not square, or dirt between.
    OneSided {
        /// How much too thick they are on average.
        #[serde(rename = "mean_nm")]
        mean: Length,
        /// How much they scatter.
        #[serde(rename = "scatter_nm")]
        scatter: Length,
    },
    /// The anvils stood on the lip at the edge.
    Lip {
        /// At how many points.
        points: usize,
        /// How much too thick on average.
        #[serde(rename = "by_nm")]
        by: Length,
    },
    /// The disc's mark is beside another stud than was said.
    WrongClocking {
        /// The clocking given.
        said: u8,
        /// The true one.
        stood: u8,
    },
    /// A ring begins at another stud than stud 1.
    WrongStud {
        /// First or second ring.
        ring: u8,
        /// How many points late it begins.
        late: usize,
    },
    /// A ring runs against the order in which the studs pass.
    Backwards {
        /// First or second ring.
        ring: u8,
    },
    /// The value of one point was entered for another.
    OtherPoint {
        /// Which set.
        set: Taken,
        /// The point it was entered for, from 1.
        entered_for: usize,
        /// The point it was shown at, from 1.
        shown_at: usize,
    },
    /// What was entered is not what the gauge showed.
    Misread {
        /// Which set.
        set: Taken,
        /// The point, from 1.
        point: usize,
        /// The nearest value the gauge showed there.
        #[serde(rename = "shown_nm")]
        shown: Length,
        /// What was entered.
        #[serde(rename = "entered_nm")]
        entered: Length,
    },
    /// Values were entered without looking at the gauge.
    NotLooked {
        /// Which set.
        set: Taken,
        /// For how many points.
        points: usize,
    },
}

impl Slip {
    /// The slip in words: what, how it shows, and what to do.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::ReturnError { ring, error } => format!(
                "return error at stud 1: ring {ring} came back {:+.0} µm from its start (5 µm allowed). The stand moved; `redo` the ring",
                error.um()
            ),
            Self::OneSided { mean, scatter } => format!(
                "one-sided scatter: thickness on average {:.0} µm too thick, scatter {:.0} µm, never too thin. The anvils were not square or not clean; `rock` them and take the smallest",
                mean.um(),
                scatter.um()
            ),
            Self::Lip { points, by } => format!(
                "lip reading: {points} points about {:.2} mm too thick. The anvils stood on the lip; set them 10 to 15 mm in from the edge",
                by.mm()
            ),
            Self::WrongClocking { said, stood } if (*said + *stood) % FASTENERS == 0 => format!(
                "wrong clocking: {said} was given, the mark stood at {stood}. Counted against the order in which the studs pass"
            ),
            Self::WrongClocking { said, stood } if *said == *stood + 1 => format!(
                "wrong clocking: {said} was given, the mark stood at {stood}. Stud 1 is clocking 0: count the studs after it"
            ),
            Self::WrongClocking { said, stood } => format!(
                "wrong clocking: {said} was given, the mark stood at {stood}. Count the studs that pass after stud 1 until the mark does"
            ),
            Self::WrongStud { ring, late } => format!(
                "wrong stud: ring {ring} begins {late} points late. Zero at stud 1, the painted one, and begin there"
            ),
            Self::Backwards { ring } => format!(
                "turned the other way: ring {ring} runs backwards. Points are counted in the order in which they pass the stylus"
            ),
            Self::OtherPoint {
                set,
                entered_for,
                shown_at,
            } => format!(
                "wrong stud: in the {set}, the value of point {shown_at} was entered for point {entered_for}"
            ),
            Self::Misread {
                set,
                point,
                shown,
                entered,
            } => format!(
                "misread: in the {set}, point {point}, {entered} was entered and {shown} was shown"
            ),
            Self::NotLooked { set, points } => format!(
                "not looked: in the {set}, {points} values were entered without the gauge at their point"
            ),
        }
    }
}

/// A value beside the truth.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Compared {
    /// What it is.
    pub what: &'static str,
    /// From the readings.
    #[serde(rename = "yours_nm")]
    pub yours: Length,
    /// What is true.
    #[serde(rename = "truth_nm")]
    pub truth: Length,
    /// Within what good technique gives.
    pub good: bool,
}

/// A verdict beside the right one.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Judged {
    /// The item.
    pub item: Item,
    /// The trainee's verdict.
    pub yours: Option<ItemVerdict>,
    /// The verdict of the true values.
    pub right: Option<ItemVerdict>,
    /// The verdict of the trainee's readings, by the program.
    pub readings: Option<ItemVerdict>,
}

impl Judged {
    /// Whether the trainee's verdict is right.
    #[must_use]
    pub fn good(&self) -> bool {
        self.yours.is_some() && self.yours == self.right
    }
}

/// How a practice went.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Report {
    /// Values beside the truth.
    pub values: Vec<Compared>,
    /// Verdicts beside the right ones.
    pub verdicts: Vec<Judged>,
    /// Whether the part that is more out of true was named rightly: yours, right.
    pub worse_part: Option<(&'static str, &'static str)>,
    /// Slips of technique, none when the technique was good.
    pub slips: Vec<Slip>,
}

impl Report {
    /// Compares a session with the truth of its scene; what was not finished is left out.
    #[must_use]
    pub fn of(session: &Session) -> Self {
        let scene = session.scene();
        let yours = session.values();
        let mut report = Self::default();
        report.compare(scene, &yours, session);
        report.judge(session.rules(), scene, &yours, session);
        report.worse_part = session.worse().map(|yours| (yours, worse(scene)));
        report.find_slips(scene, &yours, session);
        report
    }

    /// Whether nothing was wrong.
    #[must_use]
    pub fn good(&self) -> bool {
        self.slips.is_empty()
            && self.values.iter().all(|value| value.good)
            && self.verdicts.iter().all(Judged::good)
            && self.worse_part.is_none_or(|(yours, right)| yours == right)
    }

    fn compare(&mut self, scene: &Scene, yours: &Values, session: &Session) {
        let mut add = |what, yours: Option<Length>, truth: Option<Length>, within: i64| {
            if let Some((yours, truth)) = yours.zip(truth) {
                let good = (yours - truth).abs() <= Length::from_nm(within * 1_000);
                self.values.push(Compared {
                    what,
                    yours,
                    truth,
                    good,
                });
            }
        };
        let truth = &scene.truth;
        let done = |set| session.complete(set);
        let when = |set, value: Length| done(set).then_some(value);
        add(
            "zero error",
            when(Taken::Zero, yours.zero_error),
            Some(truth.zero_error),
            2,
        );
        add(
            "end float",
            when(Taken::Float, yours.float),
            Some(truth.float),
            4,
        );
        let range = |ring: &[Length]| Some(*ring.iter().max()? - *ring.iter().min()?);
        if done(Taken::Ring1) {
            add(
                "run-out as found",
                range(&yours.ring),
                range(&scene.ring(0)),
                5,
            );
        }
        if done(Taken::Thickness) {
            let thinnest = |ring: &[Length]| ring.iter().min().copied();
            let least = thinnest(&yours.thickness).map(|t| t - yours.zero_error);
            add("thinnest", least, thinnest(&truth.thickness), 5);
            add(
                "variation",
                range(&yours.thickness),
                range(&truth.thickness),
                6,
            );
        }
        if done(Taken::Pads) {
            let thinnest = |pads: &[Length]| pads.iter().min().copied();
            add(
                "thinnest pad",
                thinnest(&yours.pads),
                thinnest(&truth.pads),
                150,
            );
        }
        let shares = session
            .clocking()
            .and_then(|k| separate(yours, &session.ring2(), k));
        if let Some((hub, disc)) = shares {
            add("hub's share", Some(hub), Some(truth.hub.tir), 8);
            add("disc's share", Some(disc), Some(truth.disc.tir), 8);
        }
    }

    fn judge(&mut self, rules: &Rules, scene: &Scene, yours: &Values, session: &Session) {
        let truth = Values {
            zero_error: Length::ZERO,
            float: scene.truth.float,
            ring: scene.ring(0),
            closing: Some(Length::ZERO),
            thickness: scene.truth.thickness.clone(),
            pads: scene.truth.pads.to_vec(),
        };
        let (right, readings) = (rules.judge(&truth), rules.judge(yours));
        let of = |findings: &[Finding], item| {
            let finding = findings.iter().find(|finding| finding.item == item);
            finding.map(|finding| finding.verdict)
        };
        self.verdicts = session
            .verdicts()
            .iter()
            .map(|(item, yours)| Judged {
                item: *item,
                yours: Some(*yours),
                right: of(&right, *item),
                readings: of(&readings, *item),
            })
            .collect();
    }

    fn find_slips(&mut self, scene: &Scene, yours: &Values, session: &Session) {
        for set in Taken::ALL {
            self.slips.extend(entries(session, set));
        }
        let second = session.ring2();
        let rings = [
            (1, Taken::Ring1, &yours.ring, yours.closing, 0),
            (
                2,
                Taken::Ring2,
                &second,
                session.closing2(),
                scene.truth.clocking,
            ),
        ];
        for (ring, set, points, closing, at) in rings {
            if !session.complete(set) {
                continue;
            }
            self.slips
                .extend(closing.zip(points.first()).and_then(|(back, first)| {
                    let error = back - *first;
                    (error.abs() > CLOSING_ALLOWED).then_some(Slip::ReturnError { ring, error })
                }));
            let by_looks = order_of_looks(ring, set, &self.slips);
            if let Some(slip) = order(ring, points, &scene.ring(at)).or(by_looks) {
                // The ring as a whole says it; its points need not say it once more.
                self.slips
                    .retain(|slip| !matches!(slip, Slip::OtherPoint { set: of, .. } if *of == set));
                self.slips.push(slip);
            }
        }
        if session.complete(Taken::Thickness) {
            self.slips.extend(thickness(scene, yours));
        }
        if let Some(said) = session.clocking().filter(|k| *k != scene.truth.clocking) {
            let stood = scene.truth.clocking;
            self.slips.push(Slip::WrongClocking { said, stood });
        }
    }
}

/// The part that is more out of true.
fn worse(scene: &Scene) -> &'static str {
    if scene.truth.hub.tir > scene.truth.disc.tir {
        "hub"
    } else {
        "disc"
    }
}

/// Hub's and disc's share from two rings.
fn separate(yours: &Values, second: &[Length], at: u8) -> Option<(Length, Length)> {
    let gauge = Gauge {
        mpe: Length::from_nm(4_000),
        resolution: Length::from_nm(1_000),
        repeatability: Length::from_nm(1_000),
        zero_check: Length::ZERO,
        repeatability_dof: None,
    };
    let ring = |clocking, points: &[Length]| ClockedRing {
        clocking,
        ring: RunoutRing {
            points: points.to_vec(),
            ..RunoutRing::default()
        },
    };
    if yours.ring.len() != POINTS || second.len() != POINTS {
        return None;
    }
    let rings = [ring(0, &yours.ring), ring(at, second)];
    let result = clocking(FASTENERS, &rings, None, &gauge).ok()?;
    Some((result.hub?.tir, result.disc?.tir))
}

/// What was entered against what the gauge showed at that point.
fn entries(session: &Session, set: Taken) -> Vec<Slip> {
    let mut slips = Vec::new();
    let mut blind = 0;
    for (index, given) in session.given(set).iter().enumerate() {
        let entered = given.value;
        let here: Vec<Length> = session
            .looks(set)
            .filter(|look| look.point == index)
            .map(|look| look.value)
            .collect();
        // A mean of several looks is as good as one of them.
        let bounds = here.iter().min().zip(here.iter().max());
        if bounds.is_some_and(|(low, high)| (*low..=*high).contains(&entered)) {
            continue;
        }
        // Only a look made for this entry tells where its value is from: values come up twice.
        let elsewhere = session
            .looks(set)
            .find(|look| look.asked == index && look.point != index && look.value == entered);
        let nearest = here.iter().min_by_key(|shown| (**shown - entered).abs());
        match (elsewhere, nearest) {
            (Some(look), _) => slips.push(Slip::OtherPoint {
                set,
                entered_for: index + 1,
                shown_at: look.point + 1,
            }),
            (None, Some(shown)) => slips.push(Slip::Misread {
                set,
                point: index + 1,
                shown: *shown,
                entered,
            }),
            (None, None) => blind += 1,
        }
    }
    if blind > 0 {
        slips.push(Slip::NotLooked { set, points: blind });
    }
    slips
}

/// Root of the mean square of what is left between a ring and another, each about its mean, in mm.
fn left_over(ring: &[Length], truth: &[Length]) -> f64 {
    let differences: Vec<f64> = ring
        .iter()
        .zip(truth)
        .map(|(a, b)| (*a - *b).mm())
        .collect();
    let n = count(differences.len().max(1));
    let mean = differences.iter().sum::<f64>() / n;
    (differences
        .iter()
        .map(|d| (d - mean) * (d - mean))
        .sum::<f64>()
        / n)
        .sqrt()
}

#[allow(clippy::cast_precision_loss)] // a handful of points
fn count(n: usize) -> f64 {
    n as f64
}

/// A ring that fits the truth only when it begins at another stud or runs backwards.
fn order(ring: u8, points: &[Length], truth: &[Length]) -> Option<Slip> {
    let as_it_is = left_over(points, truth);
    let turned = |late: usize, back: bool| -> Vec<Length> {
        (0..POINTS)
            .filter_map(|i| {
                let at = if back { 2 * POINTS - i } else { i };
                truth.get((at + late) % POINTS).copied()
            })
            .collect()
    };
    // A small run-out fits turned as well as straight: nothing can be told from it.
    if as_it_is < 0.006 {
        return None;
    }
    let all = (0..POINTS).flat_map(|late| [(late, false), (late, true)]);
    let (late, back, left) = all
        .map(|(late, back)| (late, back, left_over(points, &turned(late, back))))
        .min_by(|a, b| a.2.total_cmp(&b.2))?;
    // Backwards is only said of a ring that begins at stud 1: of one tilt alone, any other start
    // and direction fit the same readings.
    match (late, back) {
        _ if left > 0.003 || left > as_it_is / 3.0 => None,
        (0, false) => None,
        _ if left_over(points, &turned(0, true)) < 0.003 => Some(Slip::Backwards { ring }),
        _ => {
            let forward = (1..POINTS)
                .map(|late| (late, left_over(points, &turned(late, false))))
                .min_by(|a, b| a.1.total_cmp(&b.1))?;
            (forward.1 < 0.003).then_some(Slip::WrongStud {
                ring,
                late: forward.0,
            })
        }
    }
}

/// The order of a ring from where the gauge stood for it, when several points agree: tells even
/// where the run-out itself looks the same in both orders.
fn order_of_looks(ring: u8, set: Taken, slips: &[Slip]) -> Option<Slip> {
    let pairs: Vec<(usize, usize)> = slips
        .iter()
        .filter_map(|slip| match slip {
            Slip::OtherPoint {
                set: of,
                entered_for,
                shown_at,
            } if *of == set => Some((entered_for - 1, shown_at - 1)),
            _ => None,
        })
        .collect();
    let (entered, shown) = *pairs.first()?;
    let late = (shown + POINTS - entered % POINTS) % POINTS;
    let all = |fits: &dyn Fn(usize, usize) -> bool| pairs.iter().all(|(e, s)| fits(*e, *s));
    if pairs.len() < 3 {
        None
    } else if all(&|e, s| (e + s) % POINTS == 0) {
        Some(Slip::Backwards { ring })
    } else if all(&|e, s| (e + late) % POINTS == s % POINTS) {
        Some(Slip::WrongStud { ring, late })
    } else {
        None
    }
}

/// The lip and the one-sided scatter, from what the readings are too thick.
fn thickness(scene: &Scene, yours: &Values) -> Vec<Slip> {
    let too_thick: Vec<Length> = yours
        .thickness
        .iter()
        .zip(&scene.truth.thickness)
        .map(|(read, truth)| *read - yours.zero_error - *truth)
        .collect();
    let (lip, face): (Vec<Length>, Vec<Length>) = too_thick
        .iter()
        .partition(|by| **by > Length::from_nm(90_000));
    let mean =
        |values: &[Length]| values.iter().map(|v| v.mm()).sum::<f64>() / count(values.len().max(1));
    let mut slips = Vec::new();
    if !lip.is_empty() {
        slips.push(Slip::Lip {
            points: lip.len(),
            by: Length::from_mm(mean(&lip)).unwrap_or_default(),
        });
    }
    if face.len() >= 5 {
        let middle = mean(&face);
        let squares: f64 = face
            .iter()
            .map(|v| (v.mm() - middle) * (v.mm() - middle))
            .sum();
        let scatter = (squares / count(face.len() - 1)).sqrt();
        let least = face.iter().min().copied().unwrap_or_default();
        // Noise alone scatters by about 1 µm to both sides.
        if scatter >= 0.002_5 && middle >= 0.003 && least >= Length::from_nm(-4_000) {
            slips.push(Slip::OneSided {
                mean: Length::from_mm(middle).unwrap_or_default(),
                scatter: Length::from_mm(scatter).unwrap_or_default(),
            });
        }
    }
    slips
}
