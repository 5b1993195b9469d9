//! The clocking advice against simulated geometry, not against its own formula.
//!
//! A hub whose flange is tilted, a disc whose face is not parallel to its mounting face, and an
//! indicator fixed in space are built from planes and rotations. The wheel is turned one way, the
//! technician numbers the studs as they pass the stylus, and the recommended physical stud must be
//! the one that gives the least simulated run-out: on both sides of the vehicle, in both turning
//! directions, on both faces.

#![allow(clippy::unwrap_used)]

mod outside;

use std::f64::consts::TAU;

use brakecorner::measure::clocking::{ClockedRing, clocking};
use brakecorner::measure::runout::RunoutRing;
use brakecorner::measure::shim::{Face, ShimSetup, shim};
use outside::{Random, gauge, mm, um};

type Vector = [f64; 3];
type Matrix = [Vector; 3];

/// Rotation about the axle, which is the third coordinate.
fn about_axle(angle: f64) -> Matrix {
    let (s, c) = angle.sin_cos();
    [[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]]
}

/// Rotation by `angle` about an axis in the plane of the wheel, at direction `at`.
fn about_spoke(at: f64, angle: f64) -> Matrix {
    let (s, c) = angle.sin_cos();
    product(
        about_axle(at),
        product(
            [[1.0, 0.0, 0.0], [0.0, c, -s], [0.0, s, c]],
            about_axle(-at),
        ),
    )
}

fn product(a: Matrix, b: Matrix) -> Matrix {
    a.map(|row| [0, 1, 2].map(|j| row[0] * b[0][j] + row[1] * b[1][j] + row[2] * b[2][j]))
}

fn apply(m: Matrix, v: Vector) -> Vector {
    m.map(|row| row[0] * v[0] + row[1] * v[1] + row[2] * v[2])
}

fn dot(a: Vector, b: Vector) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// One corner: everything in mm and radians, in coordinates fixed to the vehicle.
struct Corner {
    studs: u8,
    /// +1 when outboard is along the third coordinate, −1 on the other side of the vehicle.
    outboard: f64,
    /// Which way the wheel is turned, as a rotation about the third coordinate.
    turning: f64,
    /// Whether the stylus is on the inboard face.
    inboard_face: bool,
    /// Direction of the stylus from the axle, and its radius.
    stylus: f64,
    radius: f64,
    /// Tilt of the flange: direction of the spoke and angle.
    hub: (f64, f64),
    /// Wedge of the face against the disc's mounting face, likewise.
    wedge: (f64, f64),
    /// Wedge plate between the two, when there is one: direction and angle in the hub.
    plate: Option<(f64, f64)>,
}

impl Corner {
    fn random(random: &mut Random) -> Self {
        let angle = |random: &mut Random| random.uniform(0.0, TAU);
        let radius = random.uniform(90.0, 180.0);
        let tilt = |random: &mut Random| random.uniform(0.015, 0.09) / (2.0 * radius);
        Self {
            studs: 3 + u8::try_from(random.below(8)).unwrap(),
            outboard: if random.below(2) == 0 { 1.0 } else { -1.0 },
            turning: if random.below(2) == 0 { 1.0 } else { -1.0 },
            inboard_face: random.below(2) == 0,
            stylus: angle(random),
            radius,
            hub: (angle(random), tilt(random)),
            wedge: (angle(random), tilt(random)),
            plate: None,
        }
    }

    /// What the indicator shows with the wheel turned by `turned` and the disc sitting `disc` round
    /// from where it was found; plus = the face moves towards the indicator.
    fn indicator(&self, turned: f64, disc: f64) -> f64 {
        let plate = self
            .plate
            .map_or(about_axle(0.0), |(at, angle)| about_spoke(at, angle));
        let flange = product(
            product(
                about_axle(self.turning * turned),
                about_spoke(self.hub.0, self.hub.1),
            ),
            plate,
        );
        let seated = product(flange, about_axle(disc));
        let face = product(seated, about_spoke(self.wedge.0, self.wedge.1));
        let normal = apply(face, [0.0, 0.0, 1.0]);
        let out = if self.inboard_face {
            -self.outboard
        } else {
            self.outboard
        };
        // The face's centre is 40 mm along the disc's own axis; the inboard face 20 mm.
        let offset = self.outboard * if self.inboard_face { 20.0 } else { 40.0 };
        let centre = apply(seated, [0.0, 0.0, offset]);
        let (s, c) = self.stylus.sin_cos();
        let (x, y) = (self.radius * c, self.radius * s);
        // Height of the plane at the stylus's line, which is parallel to the axle.
        let z = (dot(normal, centre) - normal[0] * x - normal[1] * y) / normal[2];
        out * (z - offset)
    }

    /// Direction, in the hub at rest, of the `k`-th stud to pass the stylus after stud 1; stud 1
    /// stands at the stylus.
    fn stud(&self, k: u8) -> f64 {
        self.stylus - self.turning * TAU * f64::from(k) / f64::from(self.studs)
    }

    /// A ring read at every stud and mid-stud with the disc's mark beside the stud at `direction`.
    fn ring(&self, direction: f64) -> RunoutRing {
        let points = 2 * u32::from(self.studs);
        let zero = self.indicator(0.0, direction - self.stylus);
        RunoutRing {
            points: (0..points)
                .map(|i| {
                    let turned = TAU * f64::from(i) / f64::from(points);
                    mm(self.indicator(turned, direction - self.stylus) - zero)
                })
                .collect(),
            ..RunoutRing::default()
        }
    }

    /// The run-out a slow turn shows with the disc's mark at `direction`.
    fn simulated(&self, direction: f64) -> f64 {
        let values =
            (0..720).map(|i| self.indicator(TAU * f64::from(i) / 720.0, direction - self.stylus));
        let (low, high) = values.fold((f64::MAX, f64::MIN), |(low, high), v| {
            (low.min(v), high.max(v))
        });
        high - low
    }
}

#[test]
fn the_recommended_stud_gives_the_least_simulated_run_out() {
    let mut random = Random::new(7);
    let mut kinds = std::collections::HashSet::new();
    for trial in 0..400 {
        let corner = Corner::random(&mut random);
        kinds.insert((
            corner.outboard > 0.0,
            corner.turning > 0.0,
            corner.inboard_face,
        ));
        let second = (corner.studs / 2).max(1);
        let rings = [0, second].map(|k| ClockedRing {
            clocking: k,
            ring: corner.ring(corner.stud(k)),
        });
        let answer = clocking(corner.studs, &rings, None, &gauge()).unwrap();
        let best = answer.best.unwrap();
        // Every physical stud, by brute force.
        let all: Vec<f64> = (0..corner.studs)
            .map(|k| corner.simulated(corner.stud(k)))
            .collect();
        let least = all.iter().copied().fold(f64::MAX, f64::min);
        assert!(
            all[usize::from(best)] <= least + 2e-5,
            "trial {trial}: {best}, {all:?}"
        );
        for (predicted, simulated) in answer.clockings.iter().zip(&all) {
            let off = predicted.tir.unwrap().mm() - simulated;
            assert!(
                off.abs() < 3e-5,
                "trial {trial}: {predicted:?}, simulated {simulated}"
            );
        }
    }
    assert_eq!(kinds.len(), 8, "every side, direction and face was tried");
}

#[test]
fn studs_numbered_against_the_passing_order_would_give_wrong_advice() {
    // This is what the convention protects from: the same readings, the studs counted backwards.
    let mut random = Random::new(8);
    let mut wrong = 0;
    for _ in 0..200 {
        let corner = Corner {
            studs: 5,
            ..Corner::random(&mut random)
        };
        let backwards = |k: u8| corner.stud((5 - k) % 5);
        let rings = [0, 2].map(|k| ClockedRing {
            clocking: k,
            ring: corner.ring(backwards(k)),
        });
        let answer = clocking(5, &rings, None, &gauge()).unwrap();
        let Some(best) = answer.best else { continue };
        let all: Vec<f64> = (0..5).map(|k| corner.simulated(backwards(k))).collect();
        let least = all.iter().copied().fold(f64::MAX, f64::min);
        wrong += u32::from(all[usize::from(best)] > least + 1e-3);
    }
    assert!(wrong > 60, "only {wrong} of 200 were wrong");
}

#[test]
fn a_confirming_ring_counted_backwards_is_caught_by_the_closure() {
    let mut random = Random::new(9);
    let (mut caught, mut tried) = (0, 0);
    for _ in 0..200 {
        let corner = Corner {
            studs: 5,
            ..Corner::random(&mut random)
        };
        let ring = |clocking: u8, at: u8| ClockedRing {
            clocking,
            ring: corner.ring(corner.stud(at)),
        };
        let honest = clocking(5, &[ring(0, 0), ring(2, 2), ring(1, 1)], None, &gauge()).unwrap();
        assert!(honest.closure.unwrap().agrees, "{:?}", honest.closure);
        let slipped = clocking(5, &[ring(0, 0), ring(2, 2), ring(1, 4)], None, &gauge()).unwrap();
        tried += 1;
        caught += u32::from(!slipped.closure.unwrap().agrees);
    }
    assert!(caught == tried, "{caught} of {tried} caught");
}

#[test]
fn the_correction_plate_sits_where_it_takes_the_run_out_away() {
    let mut random = Random::new(10);
    for trial in 0..200 {
        let mut corner = Corner::random(&mut random);
        let flange = random.uniform(60.0, 80.0);
        let ring = corner.ring(corner.stud(0));
        let setup = ShimSetup {
            holes: corner.studs,
            measured_diameter: mm(2.0 * corner.radius),
            plate_diameter: mm(2.0 * flange),
            sizes: vec![um(10), um(20), um(40)],
            face: if corner.inboard_face {
                Face::Inboard
            } else {
                Face::Outboard
            },
        };
        let answer = shim(&ring, &setup, &gauge()).unwrap();
        for choice in &answer.choices {
            // Thick edge at that stud: there the disc is pushed outboard. A rotation about the
            // spoke a quarter turn behind lifts the face at the stud along the third coordinate.
            let at = corner.stud(choice.stud - 1);
            let angle = (choice.size.mm() / (2.0 * flange)).atan();
            corner.plate = Some((at - TAU / 4.0, corner.outboard * angle));
            let simulated = corner.simulated(corner.stud(0));
            let off = choice.residual.mm() - simulated;
            assert!(
                off.abs() < 5e-5,
                "trial {trial}: {choice:?}, simulated {simulated}"
            );
        }
    }
}
