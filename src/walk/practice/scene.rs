//! An invented corner: what is true, what the gauges show of it, and the traps that are set.

use std::fmt;
use std::str::FromStr;

use serde::Serialize;

use super::{Dice, FASTENERS, POINTS};
use crate::units::{Angle, Length};

/// A trap of technique that a scene may hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Trap {
    /// The dial's stand is knocked during the ring: it does not come back to its start at stud 1.
    Return,
    /// The anvils are not square: readings scatter to one side only, too thick.
    Scatter,
    /// The micrometer is offered at the edge, over the lip of rust.
    Lip,
    /// The disc is put back on another stud than the helper says.
    Clocking,
}

impl Trap {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Return, Self::Scatter, Self::Lip, Self::Clocking];

    /// The trap's word on the command line.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Return => "return",
            Self::Scatter => "scatter",
            Self::Lip => "lip",
            Self::Clocking => "clocking",
        }
    }
}

impl fmt::Display for Trap {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

impl FromStr for Trap {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let known = Self::ALL.into_iter().find(|trap| trap.word() == text);
        known.ok_or_else(|| {
            format!("`{text}` is no trap; expected return, scatter, lip or clocking")
        })
    }
}

/// A tilt: what it moves over one turn, and where it is highest.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Tilt {
    /// Highest minus lowest over one turn.
    #[serde(rename = "tir_nm")]
    pub tir: Length,
    /// Where it is highest, in hundredths of a degree.
    #[serde(rename = "high_spot_centidegrees")]
    pub high_spot: Angle,
}

impl Tilt {
    /// Its height in mm at an angle in degrees.
    fn at(self, degrees: f64) -> f64 {
        let from_top = (degrees - self.high_spot.degrees()).to_radians();
        0.5 * self.tir.mm() * libm::cos(from_top)
    }
}

/// What is true of the invented corner.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Truth {
    /// The hub's tilt, its high spot counted from stud 1.
    pub hub: Tilt,
    /// The disc's tilt, its high spot counted from the disc's own mark.
    pub disc: Tilt,
    /// Thickness at each point, mid-face.
    #[serde(rename = "thickness_nm")]
    pub thickness: Vec<Length>,
    /// How much thicker the lip at the edge is.
    #[serde(rename = "lip_height_nm")]
    pub lip_height: Length,
    /// How far in the lip reaches.
    #[serde(rename = "lip_width_nm")]
    pub lip_width: Length,
    /// The bearing's end float.
    #[serde(rename = "float_nm")]
    pub float: Length,
    /// Pads: inner leading, inner trailing, outer leading, outer trailing.
    #[serde(rename = "pads_nm")]
    pub pads: [Length; 4],
    /// The micrometer's zero error.
    #[serde(rename = "zero_error_nm")]
    pub zero_error: Length,
    /// Beside which stud the disc's mark is on the second ring: clocking, from 0.
    pub clocking: u8,
}

/// An invented corner with its traps.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Scene {
    /// The number it was drawn from.
    pub seed: u64,
    /// What is true of it.
    pub truth: Truth,
    /// The traps that are set.
    pub traps: Vec<Trap>,
    /// How many studs the helper says the disc was turned on by, when that is a trap.
    pub helper_says: Option<u8>,
    /// After which point the stand is knocked, and by how much.
    knock: Option<(usize, Length)>,
}

const fn um(value: i64) -> Length {
    Length::from_nm(value * 1_000)
}

/// Degrees between the points of a ring.
const STEP: f64 = 360.0 / POINTS as f64;

#[allow(clippy::cast_precision_loss)] // a handful of points
pub(super) fn degrees(point: usize) -> f64 {
    STEP * (point % POINTS) as f64
}

impl Scene {
    /// Draws a corner; the same number and traps give the same corner.
    ///
    /// Its values keep clear of every limit by more than the gauges' noise, so that whoever measures
    /// well always gets the right verdict.
    #[must_use]
    pub fn new(seed: u64, traps: &[Trap]) -> Self {
        let mut dice = Dice::new(seed);
        let (hub, disc) = tilts(&mut dice);
        let mut traps = traps.to_vec();
        traps.sort_unstable();
        traps.dedup();
        let clocking = u8::try_from(dice.between(1, i64::from(FASTENERS) - 1)).unwrap_or(1);
        let truth = Truth {
            hub,
            disc,
            thickness: thickness(&mut dice),
            lip_height: um(dice.between(150, 400)),
            lip_width: um(dice.between(5_000, 7_000)),
            float: um(dice.between(3, 20)),
            pads: pads(&mut dice),
            zero_error: um(dice.between(-2, 2)),
            clocking,
        };
        let size = um(dice.between(14, 30));
        let knocked = (
            usize::try_from(dice.between(3, 7)).unwrap_or(4),
            if dice.between(0, 1) == 0 { size } else { -size },
        );
        // Counting against the turning direction is how it goes wrong in practice.
        let says = FASTENERS - clocking;
        Self {
            seed,
            knock: traps.contains(&Trap::Return).then_some(knocked),
            helper_says: traps.contains(&Trap::Clocking).then_some(says),
            truth,
            traps,
        }
    }

    /// The dial's travel in mm at a point of a ring, zeroed at stud 1, without noise.
    fn travel(&self, clocking: u8, point: usize) -> f64 {
        let turned = f64::from(clocking) * 360.0 / f64::from(FASTENERS);
        let at = |degrees: f64| self.truth.hub.at(degrees) + self.truth.disc.at(degrees - turned);
        at(degrees(point)) - at(0.0)
    }

    /// The true ring of the dial in a clocking: the points, without the return.
    #[must_use]
    pub fn ring(&self, clocking: u8) -> Vec<Length> {
        (0..POINTS)
            .map(|point| Length::from_mm(self.travel(clocking, point)).unwrap_or_default())
            .collect()
    }

    /// The tilt at the wheel in a clocking: hub and disc together.
    #[must_use]
    pub fn wheel(&self, clocking: u8) -> Tilt {
        together(self.truth.hub, self.truth.disc, clocking)
    }

    /// How far the stand has moved while this point of the first ring is asked for.
    pub(super) fn knocked_by(&self, point: usize) -> Length {
        self.knock
            .filter(|(after, _)| point > *after)
            .map_or(Length::ZERO, |(_, by)| by)
    }

    /// What the dial shows at a point, with its stand moved so far since it was zeroed.
    pub(super) fn dial(
        &self,
        clocking: u8,
        point: usize,
        moved: Length,
        dice: &mut Dice,
    ) -> Length {
        let travel = self.travel(clocking, point) + moved.mm();
        shown(travel + NOISE_MM * dice.normal(), um(1))
    }

    /// What the micrometer shows on its closed anvils.
    pub(super) fn zero(&self, dice: &mut Dice) -> Length {
        shown(
            self.truth.zero_error.mm() + 0.5 * NOISE_MM * dice.normal(),
            um(1),
        )
    }

    /// What the micrometer shows at a point, so far in from the edge, held so.
    pub(super) fn micrometer(
        &self,
        point: usize,
        from_edge: Length,
        square: bool,
        dice: &mut Dice,
    ) -> Length {
        let truth = self
            .truth
            .thickness
            .get(point % POINTS)
            .copied()
            .unwrap_or_default();
        let mut mm = truth.mm() + self.truth.zero_error.mm() + NOISE_MM * dice.normal();
        if from_edge < self.truth.lip_width {
            mm += self.truth.lip_height.mm() * (0.8 + 0.4 * dice.fraction());
        }
        if !square {
            // Out of square a micrometer can only read too much.
            mm += 0.002 + 0.028 * dice.fraction();
        }
        shown(mm, um(1))
    }

    /// What the dial shows when the bearing is pushed and pulled.
    pub(super) fn end_float(&self, dice: &mut Dice) -> Length {
        shown(self.truth.float.mm() + NOISE_MM * dice.normal(), um(1)).max(Length::ZERO)
    }

    /// What the depth gauge shows at a pad's end.
    pub(super) fn pad(&self, index: usize, dice: &mut Dice) -> Length {
        let truth = self.truth.pads.get(index).copied().unwrap_or_default();
        shown(truth.mm() + 0.03 * dice.normal(), um(100))
    }
}

/// Standard deviation of the simulated micrometer and dial.
const NOISE_MM: f64 = 0.000_7;

/// A value as a display with this step shows it.
fn shown(mm: f64, step: Length) -> Length {
    let steps = libm::round(mm / step.mm());
    Length::from_mm(steps * step.mm()).unwrap_or_default()
}

fn together(hub: Tilt, disc: Tilt, clocking: u8) -> Tilt {
    let turned = f64::from(clocking) * 360.0 / f64::from(FASTENERS);
    let part = |tilt: Tilt, by: f64| {
        let (sin, cos) = libm::sincos((tilt.high_spot.degrees() + by).to_radians());
        (tilt.tir.mm() * cos, tilt.tir.mm() * sin)
    };
    let ((a, b), (c, d)) = (part(hub, 0.0), part(disc, turned));
    let (x, y) = (a + c, b + d);
    Tilt {
        tir: Length::from_mm(libm::hypot(x, y)).unwrap_or_default(),
        high_spot: Angle::from_degrees(libm::atan2(y, x).to_degrees())
            .unwrap_or_default()
            .wrapped(),
    }
}

/// Hub and disc: as found clearly within or clearly over the limit of 80 µm, one part clearly worse.
fn tilts(dice: &mut Dice) -> (Tilt, Tilt) {
    let over = dice.between(0, 1) == 1;
    let mut last = (None, None);
    for _ in 0..1_000 {
        let mut tilt = || Tilt {
            tir: um(dice.between(20, 80)),
            high_spot: Angle::from_centidegrees(dice.between(0, 35_999)),
        };
        let (hub, disc) = (tilt(), tilt());
        last = (Some(hub), Some(disc));
        let found = together(hub, disc, 0).tir;
        let clear = if over {
            found >= um(95)
        } else {
            (um(25)..=um(65)).contains(&found)
        };
        if clear && (hub.tir - disc.tir).abs() >= um(15) {
            break;
        }
    }
    let level = Tilt {
        tir: um(30),
        high_spot: Angle::default(),
    };
    (last.0.unwrap_or(level), last.1.unwrap_or(level))
}

/// A thickness ring whose thinnest point and variation lie clear of the limits.
fn thickness(dice: &mut Dice) -> Vec<Length> {
    let (low, high) = match dice.between(0, 2) {
        0 => (21_600, 21_960),
        1 => (22_050, 22_250),
        _ => (22_400, 23_700),
    };
    let thinnest = um(dice.between(low, high));
    let variation = match dice.between(0, 2) {
        0 => dice.between(2_000, 6_000),
        1 => dice.between(12_000, 13_500),
        _ => dice.between(26_000, 40_000),
    };
    let order2 = 0.1 + 0.4 * dice.fraction();
    let (one, two) = (360.0 * dice.fraction(), 180.0 * dice.fraction());
    let shape: Vec<f64> = (0..POINTS)
        .map(|point| {
            let at = degrees(point);
            libm::cos((at - one).to_radians()) + order2 * libm::cos((2.0 * (at - two)).to_radians())
        })
        .collect();
    let (least, most) = shape
        .iter()
        .fold((f64::MAX, f64::MIN), |(l, m), v| (l.min(*v), m.max(*v)));
    let scale = Length::from_nm(variation).mm() / (most - least);
    shape
        .iter()
        .map(|v| thinnest + Length::from_mm((v - least) * scale).unwrap_or_default())
        .collect()
}

/// Four pad thicknesses whose thinnest lies clear of the limits.
fn pads(dice: &mut Dice) -> [Length; 4] {
    let (low, high) = match dice.between(0, 2) {
        0 => (12, 16),
        1 => (24, 27),
        _ => (40, 90),
    };
    let thinnest = dice.between(low, high);
    let mut all = [0, 0, 0, 0].map(|_: i64| thinnest + dice.between(0, 12));
    let at = usize::try_from(dice.between(0, 3)).unwrap_or(0);
    if let Some(pad) = all.get_mut(at) {
        *pad = thinnest;
    }
    all.map(|tenths| um(100 * tenths))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_number_gives_the_same_corner_and_another_gives_another() {
        assert_eq!(Scene::new(11, &Trap::ALL), Scene::new(11, &Trap::ALL));
        assert_ne!(Scene::new(11, &[]).truth, Scene::new(12, &[]).truth);
        // Traps change the gauges, not the corner.
        assert_eq!(Scene::new(11, &[]).truth, Scene::new(11, &Trap::ALL).truth);
    }

    #[test]
    fn hub_and_disc_add_up_to_the_ring_the_dial_travels() {
        for seed in 0..50 {
            let scene = Scene::new(seed, &[]);
            for clocking in 0..FASTENERS {
                let wheel = scene.wheel(clocking);
                for (point, travel) in scene.ring(clocking).iter().enumerate() {
                    let expected = wheel.at(degrees(point)) - wheel.at(0.0);
                    assert!(
                        (travel.mm() - expected).abs() < 1e-5,
                        "{seed} {clocking} {point}"
                    );
                }
            }
        }
    }

    #[test]
    fn every_trap_has_a_word_that_reads_back() {
        for trap in Trap::ALL {
            assert_eq!(trap.to_string().parse(), Ok(trap));
        }
        assert!("rust".parse::<Trap>().is_err());
    }
}
