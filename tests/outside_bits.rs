//! The same bits everywhere: results that get signed must not depend on the machine.
//!
//! The values were computed once by this code and are checked for correctness elsewhere; here only
//! their bits are pinned. A change of one of them changes what old records recompute to.

#![allow(clippy::unwrap_used)]

mod outside;

use brakecorner::measure::clocking::{ClockedRing, clocking};
use brakecorner::measure::conformity::{Bound, conformity};
use brakecorner::measure::disc::{ThicknessConditions, thickness};
use brakecorner::measure::hub::hub_face;
use brakecorner::measure::risk::{Process, upper_acceptance_limit};
use brakecorner::measure::runout::{RunoutRing, runout};
use brakecorner::measure::shim::{Face, ideal};
use brakecorner::measure::special::{
    chi_squared_quantile, fisher_quantile, normal_cdf, normal_quantile, range_quantile,
    student_t_quantile,
};
use brakecorner::measure::wear::{Visit, forecast};
use brakecorner::units::{Angle, Distance, Temperature};
use outside::{gauge, mm, um};

fn ring(points: [i64; 10]) -> RunoutRing {
    RunoutRing {
        points: points.map(um).into(),
        ..RunoutRing::default()
    }
}

const FOUND: [i64; 10] = [0, 1, -19, -54, -90, -108, -106, -87, -48, -15];
const CLEANED: [i64; 10] = [0, -1, -22, -56, -87, -102, -98, -78, -45, -17];
const TURNED: [i64; 10] = [0, 10, 12, 6, -4, -23, -33, -35, -31, -18];

#[test]
fn unquantised_functions_keep_their_bits() {
    for (what, got, bits) in [
        ("Φ(1.2345)", normal_cdf(1.234_5), 0x3fec_8719_8d7a_0883),
        ("Φ(−7)", normal_cdf(-7.0), 0x3d76_83c3_6759_a445),
        ("z(0.9)", normal_quantile(0.9), 0x3ff4_813c_36e2_6d33),
        ("z(0.001)", normal_quantile(0.001), 0xc008_b8cb_b720_4470),
        (
            "t(0.95, 3)",
            student_t_quantile(0.95, 3.0),
            0x4002_d3b0_3560_9bc3,
        ),
        (
            "t(0.9, 1)",
            student_t_quantile(0.9, 1.0),
            0x4008_9f18_8bdc_d7b0,
        ),
        (
            "χ²(0.95, 2)",
            chi_squared_quantile(0.95, 2.0),
            0x4017_f742_7b73_e390,
        ),
        (
            "F(0.95, 3, 7)",
            fisher_quantile(0.95, 3.0, 7.0),
            0x4011_6327_c53f_51e8,
        ),
        (
            "q(0.95, 10)",
            range_quantile(0.95, 10),
            0x4011_e580_d1ea_3785u64,
        ),
    ] {
        assert_eq!(
            got.to_bits(),
            bits,
            "{what} = {got:e} is {:#018x}",
            got.to_bits()
        );
    }
}

#[test]
fn stored_results_keep_their_last_digit() {
    let warm = ThicknessConditions {
        zero_error: um(1),
        disc_temperature: Some(Temperature::from_millidegrees(34_000)),
        ..ThicknessConditions::default()
    };
    let points = [8017, 8017, 8015, 8013, 8009, 8006, 8006, 8008, 8011, 8016].map(|v| vec![um(v)]);
    let t = thickness(&points, &warm, &gauge()).unwrap();
    let order1 = t.order1.unwrap();
    let p = conformity(t.t_min, t.u, Bound::AtLeast(um(8_000)));
    let r = runout(&ring(FOUND), &gauge()).unwrap();
    let fit = r.fit.clone().unwrap();
    let rings = [(0, CLEANED), (2, TURNED)].map(|(clocking, points)| ClockedRing {
        clocking,
        ring: ring(points),
    });
    let c = clocking(5, &rings, None, &gauge()).unwrap();
    let (hub, disc) = (c.hub.unwrap(), c.disc.unwrap());
    let visit = |km, t| Visit {
        odometer: Distance::from_whole_km(km),
        thickness: um(t),
        u: None,
        new_parts: false,
    };
    let f = forecast(
        &[
            visit(61_050, 5_600),
            visit(72_480, 4_300),
            visit(84_120, 2_900),
        ],
        um(2_000),
        um(82),
    )
    .unwrap();
    let plate = ideal(um(100), Angle::ZERO, mm(280.0), mm(150.0), Face::Outboard).unwrap();
    let hub_face = hub_face(&ring(CLEANED), &gauge(), mm(62.0), mm(130.0)).unwrap();
    let process = Process::Gamma {
        shape: 4.0,
        scale: 0.25,
    };
    let limit = upper_acceptance_limit(process, 0.25, 2.0, 0.001).unwrap();
    let got = [
        ("t_min", t.t_min.nm().to_string()),
        ("t_mean", t.t_mean.nm().to_string()),
        ("u", t.u.nm().to_string()),
        ("floor", t.dtv_floor.nm().to_string()),
        (
            "order 1",
            format!("{} {}", order1.peak_to_peak.nm(), order1.high_spot),
        ),
        ("p", p.probability.to_string()),
        ("2A", fit.peak_to_peak.nm().to_string()),
        ("high spot", fit.high_spot.to_string()),
        ("residual", fit.residual.nm().to_string()),
        ("u(2A)", fit.u_peak_to_peak.nm().to_string()),
        ("u(high spot)", fit.u_high_spot.to_string()),
        ("hub", format!("{} {}", hub.tir.nm(), hub.high_spot)),
        ("disc", format!("{} {}", disc.tir.nm(), disc.high_spot)),
        ("best", c.clockings[3].tir.unwrap().nm().to_string()),
        ("rate", f.rate_mm_per_1000km.to_string()),
        (
            "distances",
            format!("{} {}", f.distance_left, f.distance_left_lower),
        ),
        (
            "plate",
            format!("{} {}", plate.taper.nm(), plate.arc_minutes),
        ),
        (
            "hub face",
            format!("{} {}", hub_face.scaled.nm(), hub_face.tilt_deg),
        ),
        ("acceptance", limit.to_string()),
    ];
    let pinned: [&str; 19] = [
        "8003723",
        "8009522",
        "2724",
        "4657",
        "11686 21.92°",
        "0.914147",
        "115511",
        "15.62°",
        "5227",
        "931",
        "0.46°",
        "61565 19.82°",
        "45282 3.28°",
        "24154",
        "0.11704503",
        "7796 km 6666 km",
        "53571 1.227767",
        "221755 0.048868",
        "1.671829",
    ];
    for ((what, got), pinned) in got.iter().zip(pinned) {
        assert_eq!(got, pinned, "{what}");
    }
}
