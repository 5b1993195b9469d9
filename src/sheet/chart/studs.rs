//! A wheel's fasteners: the order of tightening, and where on the disc readings are taken.

use super::{Anchor, Drawing, Shape, on_circle};
use crate::sheet::palette::{INK, PAPER, SOFT, Tone};

const SIZE: f64 = 130.0;
const CENTRE: (f64, f64) = (65.0, 65.0);

/// Draws the fasteners as one sees the wheel, with their order of tightening.
///
/// `order` holds the fastener numbers from 1, as they are tightened.
#[must_use]
pub fn star_order(order: &[u8], alt: &str) -> Drawing {
    let mut out = Drawing::new(SIZE, SIZE, alt.to_owned());
    out.shapes.push(Shape::Dot {
        at: CENTRE,
        radius: 60.0,
        ink: SOFT,
        filled: false,
    });
    let count = order.len().max(1);
    // A wheel has at most a dozen fasteners.
    #[allow(clippy::cast_precision_loss)]
    let place = |number: u8| {
        on_circle(
            CENTRE,
            44.0,
            360.0 * f64::from(number.saturating_sub(1)) / count as f64,
        )
    };
    let points: Vec<(f64, f64)> = order.iter().map(|n| place(*n)).collect();
    out.shapes.push(Shape::Path {
        points,
        ink: Tone::Holds.ink(),
        width: 1.0,
        dashed: true,
    });
    for (i, number) in order.iter().enumerate() {
        let at = place(*number);
        out.shapes.push(Shape::Dot {
            at,
            radius: 11.0,
            ink: INK,
            filled: false,
        });
        out.shapes.push(Shape::Text {
            at: (at.0, at.1 + 4.0),
            anchor: Anchor::Middle,
            size: 11.0,
            bold: true,
            ink: INK,
            text: (i + 1).to_string(),
        });
    }
    out
}

/// Draws where the readings of a ring are taken: at the studs (numbered) and between them.
#[must_use]
pub fn ring_positions(points: u16, studs: u8, alt: &str) -> Drawing {
    let mut out = Drawing::new(SIZE, SIZE, alt.to_owned());
    out.shapes.push(Shape::Dot {
        at: CENTRE,
        radius: 60.0,
        ink: SOFT,
        filled: false,
    });
    out.shapes.push(Shape::Dot {
        at: CENTRE,
        radius: 20.0,
        ink: SOFT,
        filled: false,
    });
    for stud in 0..studs.min(12) {
        let at = on_circle(
            CENTRE,
            12.0,
            360.0 * f64::from(stud) / f64::from(studs.clamp(1, 12)),
        );
        out.shapes.push(Shape::Dot {
            at,
            radius: 2.0,
            ink: SOFT,
            filled: true,
        });
    }
    let points = points.clamp(1, 36);
    for point in 0..points {
        let at = on_circle(CENTRE, 46.0, 360.0 * f64::from(point) / f64::from(points));
        let on_stud = u32::from(point) * u32::from(studs) % u32::from(points) == 0;
        out.shapes.push(Shape::Dot {
            at,
            radius: 8.0,
            ink: INK,
            filled: on_stud,
        });
        out.shapes.push(Shape::Text {
            at: (at.0, at.1 + 3.0),
            anchor: Anchor::Middle,
            size: 8.5,
            bold: on_stud,
            ink: if on_stud { PAPER } else { INK },
            text: (point + 1).to_string(),
        });
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_fastener_tightened_is_marked_one_at_the_top() {
        let drawing = star_order(&[1, 3, 5, 2, 4], "");
        let one = drawing.shapes.iter().find_map(|shape| match shape {
            Shape::Text { at, text, .. } if text == "1" => Some(*at),
            _ => None,
        });
        assert!((one.unwrap().0 - 65.0).abs() < 1e-9 && one.unwrap().1 < 30.0);
    }

    #[test]
    fn every_other_point_of_ten_lies_at_a_stud_of_five() {
        let drawing = ring_positions(10, 5, "");
        let filled = drawing.shapes.iter().filter(
            |shape| matches!(shape, Shape::Dot { radius, filled: true, .. } if *radius > 5.0),
        );
        assert_eq!(filled.count(), 5);
    }
}
