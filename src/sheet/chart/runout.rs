//! Run-out unrolled over one turn of the wheel.

use super::{Anchor, Drawing, Shape};
use crate::sheet::palette::{BAND, BEYOND, INK, PANEL, SOFT, Tone};

/// One turn's readings.
#[derive(Clone, Debug, PartialEq)]
pub struct Ring {
    /// As found, as left, or empty.
    pub label: String,
    /// Readings in passing order, evenly spread, in millimetres.
    pub points_mm: Vec<f64>,
    /// The judged total in millimetres.
    pub total_mm: f64,
    /// The total as printed.
    pub shown: String,
    /// Half width of the band about the total, in millimetres.
    pub band_mm: f64,
    /// The verdict's tone.
    pub tone: Tone,
}

const WIDTH: f64 = 300.0;
const LEFT: f64 = 8.0;
const RIGHT: f64 = 292.0;
const TOP: f64 = 8.0;
const TALL: f64 = 90.0;

/// Draws rings of readings over one turn, between two lines as far apart as the limit allows.
///
/// Each ring is moved so that its middle lies in the middle; it stays between the lines exactly
/// when its total keeps the limit. A swept total without a ring is drawn as a bar of its height.
#[must_use]
pub fn unrolled(
    rings: &[Ring],
    limit_mm: Option<f64>,
    limit_shown: &str,
    studs: u8,
    alt: &str,
) -> Drawing {
    let mut out = Drawing::new(WIDTH, TOP + TALL + 30.0, alt.to_owned());
    let reach = rings
        .iter()
        .map(|ring| {
            ring.total_mm
                .max(span(&ring.points_mm).map_or(0.0, |(low, high)| high - low))
        })
        .chain(limit_mm)
        .filter(|v| v.is_finite())
        .fold(0.001, f64::max);
    let middle = TOP + TALL / 2.0;
    // The larger of limit and total fills most of the height.
    let y = |mm: f64| middle - (mm / reach).clamp(-0.55, 0.55) * TALL * 0.84;
    out.shapes.push(Shape::Rect {
        at: (LEFT, TOP),
        size: (RIGHT - LEFT, TALL),
        fill: if limit_mm.is_some() { BEYOND } else { PANEL },
    });
    if let Some(limit) = limit_mm {
        let half = limit / 2.0;
        out.shapes.push(Shape::Rect {
            at: (LEFT, y(half)),
            size: (RIGHT - LEFT, y(-half) - y(half)),
            fill: PANEL,
        });
        for edge in [half, -half] {
            out.line((LEFT, y(edge)), (RIGHT, y(edge)), INK, 1.2);
        }
    }
    draw_studs(&mut out, studs);
    for (i, ring) in rings.iter().enumerate() {
        draw_ring(&mut out, ring, &y, i, rings.len());
    }
    legend(&mut out, rings, limit_shown);
    out
}

fn span(points: &[f64]) -> Option<(f64, f64)> {
    let finite = || points.iter().copied().filter(|v| v.is_finite());
    let low = finite().fold(f64::INFINITY, f64::min);
    let high = finite().fold(f64::NEG_INFINITY, f64::max);
    (low <= high).then_some((low, high))
}

fn draw_studs(out: &mut Drawing, studs: u8) {
    for stud in 0..studs.min(12) {
        let x = LEFT + (RIGHT - LEFT) * f64::from(stud) / f64::from(studs.clamp(1, 12));
        out.line((x, TOP + TALL), (x, TOP + TALL + 4.0), SOFT, 1.0);
        out.text(
            (x + 2.0, TOP + TALL + 9.0),
            Anchor::Start,
            7.0,
            (stud + 1).to_string(),
        );
    }
}

fn draw_ring(out: &mut Drawing, ring: &Ring, y: &impl Fn(f64) -> f64, index: usize, of: usize) {
    let ink = ring.tone.ink();
    let dashed = index + 1 < of;
    let half_band = ring.band_mm / 2.0;
    let Some((low, high)) = span(&ring.points_mm).filter(|_| ring.points_mm.len() > 2) else {
        let x = LEFT + (RIGHT - LEFT) * if index == 0 { 0.3 } else { 0.6 };
        let half = ring.total_mm / 2.0;
        for edge in [half, -half] {
            out.shapes.push(Shape::Rect {
                at: (x - 12.0, y(edge + half_band)),
                size: (24.0, y(edge - half_band) - y(edge + half_band)),
                fill: BAND,
            });
            out.line((x - 8.0, y(edge)), (x + 8.0, y(edge)), ink, 2.0);
        }
        out.line((x, y(half)), (x, y(-half)), ink, 2.0);
        return;
    };
    let middle = f64::midpoint(low, high);
    let count = ring.points_mm.len();
    // Rings have a few dozen points.
    #[allow(clippy::cast_precision_loss)]
    let x = |i: usize| LEFT + (RIGHT - LEFT) * i as f64 / count as f64;
    let closed = ring.points_mm.iter().chain(ring.points_mm.first());
    let points: Vec<(f64, f64)> = closed
        .enumerate()
        .filter(|(_, mm)| mm.is_finite())
        .map(|(i, mm)| (x(i), y(mm - middle)))
        .collect();
    let band = |sign: f64| {
        ring.points_mm
            .iter()
            .chain(ring.points_mm.first())
            .enumerate()
            .filter(|(_, mm)| mm.is_finite())
            .map(move |(i, mm)| (x(i), y(mm - middle + sign * half_band)))
            .collect::<Vec<_>>()
    };
    let mut area = band(1.0);
    area.extend(band(-1.0).into_iter().rev());
    out.shapes.push(Shape::Area {
        points: area,
        fill: BAND,
    });
    for at in points.iter().take(count) {
        out.shapes.push(Shape::Dot {
            at: *at,
            radius: 2.0,
            ink,
            filled: !dashed,
        });
    }
    out.shapes.push(Shape::Path {
        points,
        ink,
        width: 1.6,
        dashed,
    });
}

fn legend(out: &mut Drawing, rings: &[Ring], limit_shown: &str) {
    let base = out.height - 5.0;
    let mut x = LEFT;
    for (i, ring) in rings.iter().enumerate() {
        out.shapes.push(Shape::Line {
            from: (x, base - 3.0),
            to: (x + 14.0, base - 3.0),
            ink: ring.tone.ink(),
            width: 1.8,
            dashed: i + 1 < rings.len(),
        });
        let text = format!("{} {}", ring.label, ring.shown);
        out.text((x + 17.0, base), Anchor::Start, 8.5, text.trim());
        x += 105.0;
    }
    out.text((RIGHT, base), Anchor::End, 8.5, limit_shown);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(points: &[f64]) -> Ring {
        let (low, high) = span(points).unwrap();
        Ring {
            label: String::new(),
            points_mm: points.to_vec(),
            total_mm: high - low,
            shown: String::new(),
            band_mm: 0.0,
            tone: Tone::Holds,
        }
    }

    /// Whether the drawn curve lies between the two limit lines.
    fn inside(drawing: &Drawing) -> bool {
        let limits: Vec<f64> = drawing
            .shapes
            .iter()
            .filter_map(|shape| match shape {
                Shape::Line { from, width, .. } if (*width - 1.2).abs() < 1e-9 => Some(from.1),
                _ => None,
            })
            .collect();
        drawing.shapes.iter().all(|shape| match shape {
            Shape::Path { points, .. } => points
                .iter()
                .all(|(_, y)| *y >= limits[0] - 1e-9 && *y <= limits[1] + 1e-9),
            _ => true,
        })
    }

    #[test]
    fn a_curve_stays_between_the_lines_exactly_when_its_total_keeps_the_limit() {
        let points = [0.0, 0.02, 0.03, 0.01, -0.02, -0.03];
        assert!(inside(&unrolled(&[ring(&points)], Some(0.06), "", 5, "")));
        assert!(inside(&unrolled(&[ring(&points)], Some(0.08), "", 5, "")));
        assert!(!inside(&unrolled(&[ring(&points)], Some(0.059), "", 5, "")));
    }

    #[test]
    fn a_swept_total_without_a_ring_is_drawn_as_a_bar_of_its_height() {
        let swept = Ring {
            points_mm: vec![],
            ..ring(&[0.0, 0.03])
        };
        let drawing = unrolled(&[swept], Some(0.06), "", 4, "");
        let bar = drawing.shapes.iter().find_map(|shape| match shape {
            Shape::Line { from, to, .. }
                if (from.0 - to.0).abs() < 1e-9
                    && from.1 < to.1
                    && from.1 > TOP + 1.0
                    && to.1 < TOP + TALL =>
            {
                Some(to.1 - from.1)
            }
            _ => None,
        });
        // The limit's lines are twice as far apart.
        assert!((bar.unwrap() - TALL * 0.42).abs() < 1e-9, "{bar:?}");
    }
}
