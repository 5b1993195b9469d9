//! A thickness or a diameter on its scale from new to the limit.

use super::{Anchor, Drawing, Shape};
use crate::sheet::palette::{BAND, BEYOND, INK, PANEL, SOFT, Tone};

/// One value on a scale.
#[derive(Clone, Debug, PartialEq)]
pub struct GaugeRow {
    /// As found, as left, or empty when there is one row only.
    pub label: String,
    /// The value, in any one unit.
    pub value: f64,
    /// Half width of the band in which the true value lies, in the same unit.
    pub band: f64,
    /// The value as printed.
    pub shown: String,
    /// The verdict's tone.
    pub tone: Tone,
}

/// A scale from a limit to new.
#[derive(Clone, Debug, PartialEq)]
pub struct Gauge {
    /// The limit.
    pub limit: f64,
    /// The limit as printed, with its word.
    pub limit_shown: String,
    /// When new, if known.
    pub new: Option<f64>,
    /// New as printed, with its word.
    pub new_shown: String,
    /// The values.
    pub rows: Vec<GaugeRow>,
    /// What the drawing says in words.
    pub alt: String,
}

const WIDTH: f64 = 300.0;
const LEFT: f64 = 8.0;
const RIGHT: f64 = 292.0;
const ROW: f64 = 30.0;

/// Draws values to scale: the limit left, new right, what lies beyond the limit hatched, the
/// uncertainty as a band about the value.
///
/// Both a thickness (limit below new) and a diameter (limit above new) run from the limit on the
/// left to new on the right. Nothing is drawn to another scale: a band too narrow to see is
/// narrow.
#[must_use]
pub fn gauge(gauge: &Gauge) -> Drawing {
    let rows = gauge.rows.len().max(1);
    // Counting rows exactly needs no more than a handful.
    #[allow(clippy::cast_precision_loss)]
    let height = 30.0 + ROW * rows as f64;
    let mut out = Drawing::new(WIDTH, height, gauge.alt.clone());
    let (low, high) = ends(gauge);
    let x = |value: f64| {
        let share = if (high - low).abs() < f64::EPSILON {
            0.5
        } else {
            (value - low) / (high - low)
        };
        LEFT + share.clamp(0.0, 1.0) * (RIGHT - LEFT)
    };
    let (limit, bottom) = (x(gauge.limit), height - 16.0);
    for (i, row) in gauge.rows.iter().enumerate() {
        #[allow(clippy::cast_precision_loss)]
        let y = 12.0 + ROW * i as f64;
        draw_row(&mut out, row, &x, limit, y);
    }
    out.line((limit, 4.0), (limit, bottom), INK, 1.4);
    let anchor = if limit < WIDTH * 0.3 {
        Anchor::Start
    } else {
        Anchor::Middle
    };
    out.text(
        (
            if anchor == Anchor::Start { LEFT } else { limit },
            height - 4.0,
        ),
        anchor,
        8.5,
        &*gauge.limit_shown,
    );
    if let Some(new) = gauge.new {
        let at = x(new);
        out.shapes.push(Shape::Line {
            from: (at, 4.0),
            to: (at, bottom),
            ink: SOFT,
            width: 1.0,
            dashed: true,
        });
        out.text((RIGHT, height - 4.0), Anchor::End, 8.5, &*gauge.new_shown);
    }
    out
}

fn draw_row(out: &mut Drawing, row: &GaugeRow, x: &impl Fn(f64) -> f64, limit: f64, y: f64) {
    let (top, tall) = (y + 6.0, 12.0);
    out.shapes.push(Shape::Rect {
        at: (LEFT, top),
        size: (RIGHT - LEFT, tall),
        fill: PANEL,
    });
    out.shapes.push(Shape::Rect {
        at: (LEFT, top),
        size: ((limit - LEFT).max(0.0), tall),
        fill: BEYOND,
    });
    hatch(out, LEFT, limit, top, tall);
    let (a, b) = (x(row.value - row.band), x(row.value + row.band));
    out.shapes.push(Shape::Rect {
        at: (a.min(b), top - 2.0),
        size: ((b - a).abs(), tall + 4.0),
        fill: BAND,
    });
    let at = x(row.value);
    let ink = row.tone.ink();
    out.line((at, top - 3.0), (at, top + tall + 3.0), ink, 2.2);
    out.shapes.push(Shape::Area {
        points: vec![
            (at - 4.0, top - 7.0),
            (at + 4.0, top - 7.0),
            (at, top - 2.0),
        ],
        fill: ink,
    });
    let label = if row.label.is_empty() {
        row.shown.clone()
    } else {
        format!("{} {}", row.label, row.shown)
    };
    // On the side with room; the words never stand on the mark.
    let (tx, anchor) = if at > WIDTH * 0.55 {
        (a.min(b).min(at - 3.0) - 3.0, Anchor::End)
    } else {
        let start = a.max(b).max(at + 3.0) + 3.0;
        // Nor across the limit: about 5.5 points a letter of this size.
        #[allow(clippy::cast_precision_loss)] // a label of a few letters
        let end = start + 5.5 * label.chars().count() as f64;
        let crossed = start < limit + 4.0 && end > limit - 2.0;
        (if crossed { limit + 4.0 } else { start }, Anchor::Start)
    };
    out.shapes.push(Shape::Text {
        at: (tx, top + 9.2),
        anchor,
        size: 9.0,
        bold: true,
        ink: INK,
        text: label,
    });
}

fn hatch(out: &mut Drawing, from: f64, to: f64, top: f64, tall: f64) {
    let mut x = from;
    while x + 4.0 < to && out.shapes.len() < 400 {
        out.line((x, top + tall), (x + 4.0, top), SOFT, 0.5);
        x += 5.0;
    }
}

/// The scale's ends: a tenth of its width beyond the limit, and room for every value.
fn ends(gauge: &Gauge) -> (f64, f64) {
    let first = gauge.rows.first().map_or(gauge.limit, |row| row.value);
    let new = gauge.new.unwrap_or(first);
    let grows = new < gauge.limit;
    let sign = if grows { -1.0 } else { 1.0 };
    let values = gauge
        .rows
        .iter()
        .map(|row| row.value)
        .chain([gauge.limit, new]);
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for value in values.filter(|v| v.is_finite()).map(|v| v * sign) {
        low = low.min(value);
        high = high.max(value);
    }
    if low > high {
        return (0.0, 1.0);
    }
    let room = (high - low).max(1e-6) * 0.1;
    let (low, high) = (low - room, high + room * 0.2);
    (low * sign, high * sign)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(value: f64, band: f64) -> GaugeRow {
        GaugeRow {
            label: String::new(),
            value,
            band,
            shown: value.to_string(),
            tone: Tone::Holds,
        }
    }

    #[test]
    fn the_words_of_a_value_beyond_its_limit_do_not_stand_on_the_limits_line() {
        let worn = GaugeRow {
            label: "as found".into(),
            shown: "0.7 mm".into(),
            ..row(0.7, 0.16)
        };
        let drawing = of(2.0, 10.0, vec![worn]);
        let line = drawing.shapes.iter().find_map(|shape| match shape {
            Shape::Line {
                from, to, width, ..
            } if (*width - 1.4).abs() < 1e-9 => Some(from.0.max(to.0)),
            _ => None,
        });
        let words = drawing.shapes.iter().find_map(|shape| match shape {
            Shape::Text {
                at,
                anchor: Anchor::Start,
                text,
                ..
            } if text == "as found 0.7 mm" => Some(at.0),
            _ => None,
        });
        assert!(words.unwrap() > line.unwrap(), "{words:?} {line:?}");
    }

    fn mark_x(drawing: &Drawing) -> Vec<f64> {
        let marks = drawing.shapes.iter().filter_map(|shape| match shape {
            Shape::Area { points, .. } => Some(points[2].0),
            _ => None,
        });
        marks.collect()
    }

    fn of(limit: f64, new: f64, rows: Vec<GaugeRow>) -> Drawing {
        gauge(&Gauge {
            limit,
            limit_shown: String::new(),
            new: Some(new),
            new_shown: String::new(),
            rows,
            alt: String::new(),
        })
    }

    #[test]
    fn equal_steps_of_thickness_are_equal_steps_on_paper() {
        let drawing = of(
            22.0,
            26.0,
            vec![row(23.0, 0.1), row(24.0, 0.1), row(25.0, 0.1)],
        );
        let x = mark_x(&drawing);
        assert!((x[1] - x[0] - (x[2] - x[1])).abs() < 1e-9 && x[1] > x[0]);
    }

    #[test]
    fn the_band_is_drawn_to_the_same_scale_as_the_value() {
        let drawing = of(22.0, 26.0, vec![row(24.0, 0.25), row(25.0, 0.25)]);
        let x = mark_x(&drawing);
        let band = drawing.shapes.iter().find_map(|shape| match shape {
            Shape::Rect { size, fill, .. } if *fill == BAND => Some(size.0),
            _ => None,
        });
        assert!((band.unwrap() - 0.5 * (x[1] - x[0])).abs() < 1e-9);
    }

    #[test]
    fn a_drum_runs_the_same_way_and_beyond_is_left_of_the_limit() {
        let drawing = of(204.0, 203.0, vec![row(203.2, 0.0), row(204.1, 0.0)]);
        let x = mark_x(&drawing);
        let limit = drawing.shapes.iter().find_map(|shape| match shape {
            Shape::Line { from, width, .. } if (*width - 1.4).abs() < 1e-9 => Some(from.0),
            _ => None,
        });
        let limit = limit.unwrap();
        assert!(x[0] > limit && x[1] < limit, "{x:?} {limit}");
    }

    #[test]
    fn strange_numbers_are_drawn_somewhere_on_the_paper() {
        for drawing in [
            of(f64::NAN, 1.0, vec![row(f64::INFINITY, f64::NAN)]),
            of(1.0, 1.0, vec![row(1.0, 0.0)]),
            of(0.0, 0.0, vec![]),
        ] {
            assert!(!super::super::svg(&drawing).contains("NaN"));
        }
    }
}
