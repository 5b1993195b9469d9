//! What was computed, in words.

use crate::judge::{ForecastResults, Results};

/// The results of an item, a line each.
pub(super) fn lines(results: &Results) -> Vec<String> {
    match results {
        Results::Thickness {
            t_min_mm,
            t_min_point,
            t_mean_mm,
            left_mm,
            forecast,
            faces,
            ..
        } => {
            let mut lines = vec![format!(
                "thinnest is point {t_min_point} with {t_min_mm:.4} mm; mean {t_mean_mm:.4} mm: the thinnest decides"
            )];
            lines.extend(left_mm.map(|left| format!("{left:.4} mm above the limit")));
            lines.extend(forecast.as_ref().map(forecast_line));
            lines.extend(faces.as_ref().map(|faces| {
                let ratio = faces.face_ratio.map_or(String::new(), |r| format!(", ratio {r:.2}"));
                format!(
                    "the faces have lost {:.3} mm outside and {:.3} mm inside{ratio}; with the micrometer they close to {:.3} mm",
                    faces.lip_outer_mm, faces.lip_inner_mm, faces.lip_closure_mm
                )
            }));
            lines
        }
        Results::Variation {
            dtv_um,
            dtv_floor_um,
            order1_um,
            order2_um,
            ..
        } => {
            let mut lines = vec![format!(
                "thickest minus thinnest point {dtv_um:.1} µm; a perfect disc would show up to {dtv_floor_um:.1} µm with this gauge"
            )];
            if let (Some(once), Some(twice)) = (order1_um, order2_um) {
                lines.push(format!(
                    "once a turn {once:.1} µm, twice a turn {twice:.1} µm"
                ));
            }
            lines
        }
        Results::Runout {
            tir_mm,
            swept_mm,
            judged_mm,
            fit,
            closing_error_mm,
            ..
        } => {
            let mut lines = Vec::new();
            lines.extend(tir_mm.map(|tir| format!("largest minus smallest point {tir:.4} mm")));
            lines.extend(swept_mm.map(|swept| format!("swept over one turn {swept:.4} mm")));
            lines.extend(fit.as_ref().map(|fit| {
                format!(
                    "fitted tilt {:.4} mm, high spot {:.1}°; it leaves {:.4} mm",
                    fit.peak_to_peak_mm, fit.high_spot_deg, fit.residual_mm
                )
            }));
            lines.extend(
                closing_error_mm.map(|e| format!("back at stud 1 the dial showed {e:.4} mm more")),
            );
            lines.push(format!(
                "judged is the swept value when given, else the larger of points and fit: {judged_mm:.4} mm"
            ));
            lines
        }
        Results::Friction {
            min_mm,
            taper_mm,
            inner_outer_mm,
            forecast,
            ..
        } => {
            let mut lines = vec![format!("thinnest place {min_mm:.2} mm")];
            lines.push(forecast_line(forecast));
            lines.extend(taper_mm.map(|t| format!("leading minus trailing end {t:.2} mm")));
            lines.extend(inner_outer_mm.map(|d| format!("inner minus outer pad {d:.2} mm")));
            lines
        }
        Results::Drum {
            max_mm,
            ovality_mm,
            bell_mouth_mm,
            ..
        } => {
            let mut lines = vec![format!(
                "largest diameter {max_mm:.3} mm, ovality {ovality_mm:.3} mm"
            )];
            lines.extend(bell_mouth_mm.map(|b| format!("open minus closed end {b:.3} mm")));
            lines
        }
        Results::Float { float_mm, .. } => vec![format!("largest cycle {float_mm:.4} mm")],
        Results::Difference { difference_mm } => vec![format!(
            "difference {difference_mm:.3} mm (inner minus outer, or left minus right), minimum with minimum"
        )],
        Results::Percent {
            percent, counted, ..
        } => vec![if *counted {
            format!("{percent:.2} %")
        } else {
            format!("{percent:.2} %, not counted by the rule that applies")
        }],
        Results::Fluid {
            boiling_c,
            dry_min_c,
            wet_min_c,
        } => vec![format!(
            "boils at {boiling_c:.0} °C; the grade's minimum is {dry_min_c:.0} °C new and {wet_min_c:.0} °C in use"
        )],
        Results::Fasteners {
            confirmed,
            expected,
        } => vec![format!("{confirmed} of {expected} confirmed")],
    }
}

/// The forecast follows section 8 of the method.
fn forecast_line(forecast: &ForecastResults) -> String {
    match forecast {
        ForecastResults::Known {
            rate_mm_per_1000km,
            distance_left_km,
            distance_left_lower_km,
            method,
            ..
        } => format!(
            "wears {rate_mm_per_1000km:.5} mm in 1000 km ({method}; docs/method.md, 8 Wear): {distance_left_km} km left, planned with the lower bound of {distance_left_lower_km} km"
        ),
        ForecastResults::None { no_forecast } => no_forecast.clone(),
    }
}
