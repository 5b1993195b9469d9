//! The distance line: a ruler from today's odometer, each wearing part a mark on it.

use super::{Anchor, Drawing, Shape};
use crate::sheet::palette::{INK, PANEL, SOFT, Tone};

/// A wearing part on the line.
#[derive(Clone, Debug, PartialEq)]
pub struct DistanceMark {
    /// Where on the odometer.
    pub at: i64,
    /// Its letter.
    pub letter: char,
    /// Its tone.
    pub tone: Tone,
}

const WIDTH: f64 = 520.0;
const LEFT: f64 = 14.0;
const RIGHT: f64 = 506.0;
const RULE: f64 = 46.0;

/// Draws the line from `today` to a little beyond the furthest mark.
///
/// `shown` prints an odometer reading; `service` is the next service.
#[must_use]
pub fn distance_line(
    today: i64,
    service: Option<i64>,
    marks: &[DistanceMark],
    words: (&str, &str),
    shown: impl Fn(i64) -> String,
    alt: &str,
) -> Drawing {
    let mut out = Drawing::new(WIDTH, 84.0, alt.to_owned());
    let end = marks
        .iter()
        .map(|m| m.at)
        .chain(service)
        .max()
        .unwrap_or(today);
    let reach = end.saturating_sub(today).max(1);
    // Odometers are far below 2^53.
    #[allow(clippy::cast_precision_loss)]
    let x = |at: i64| {
        let share = at.saturating_sub(today) as f64 / (reach as f64 * 1.08);
        LEFT + share.clamp(0.0, 1.0) * (RIGHT - LEFT)
    };
    out.shapes.push(Shape::Rect {
        at: (LEFT, RULE),
        size: (RIGHT - LEFT, 7.0),
        fill: PANEL,
    });
    out.line((LEFT, RULE), (RIGHT, RULE), INK, 1.6);
    ticks(&mut out, today, reach, &x, &shown);
    if let Some(service) = service {
        let at = x(service);
        out.shapes.push(Shape::Line {
            from: (at, 14.0),
            to: (at, RULE + 9.0),
            ink: SOFT,
            width: 1.2,
            dashed: true,
        });
        let anchor = if at > WIDTH * 0.7 {
            Anchor::End
        } else {
            Anchor::Middle
        };
        out.text((at, 10.0), anchor, 8.5, words.1);
    }
    out.line((LEFT, 14.0), (LEFT, RULE + 9.0), INK, 2.0);
    out.text((LEFT, 10.0), Anchor::Start, 8.5, words.0);
    let mut last = f64::NEG_INFINITY;
    let mut lift = 0.0;
    let mut sorted: Vec<&DistanceMark> = marks.iter().collect();
    sorted.sort_by_key(|mark| mark.at);
    for mark in sorted {
        let at = x(mark.at);
        // Marks that would lie on each other climb.
        lift = if at - last < 14.0 {
            (lift + 13.0) % 26.0
        } else {
            0.0
        };
        last = at;
        draw_mark(&mut out, mark, at, lift);
    }
    out
}

fn draw_mark(out: &mut Drawing, mark: &DistanceMark, at: f64, lift: f64) {
    let ink = mark.tone.ink();
    let top = RULE - 16.0 - lift;
    out.line((at, top + 6.0), (at, RULE), ink, 1.4);
    out.shapes.push(Shape::Dot {
        at: (at, top + 2.0),
        radius: 6.5,
        ink,
        filled: true,
    });
    out.shapes.push(Shape::Text {
        at: (at, top + 5.0),
        anchor: Anchor::Middle,
        size: 8.5,
        bold: true,
        ink: crate::sheet::palette::PAPER,
        text: mark.letter.to_string(),
    });
}

/// Ticks at round distances, four to nine of them.
fn ticks(
    out: &mut Drawing,
    today: i64,
    reach: i64,
    x: &impl Fn(i64) -> f64,
    shown: &impl Fn(i64) -> String,
) {
    let mut step = 1i64;
    let factors = [2, 5, 10];
    let mut scale = 1i64;
    'outer: for _ in 0..12 {
        for factor in factors {
            step = scale.saturating_mul(factor);
            if reach / step <= 6 {
                break 'outer;
            }
        }
        scale = scale.saturating_mul(10);
    }
    let mut at = today
        .div_euclid(step)
        .saturating_add(1)
        .saturating_mul(step);
    for _ in 0..9 {
        if at > today.saturating_add(reach) {
            break;
        }
        let px = x(at);
        out.line((px, RULE), (px, RULE + 5.0), SOFT, 1.0);
        out.text(
            (px, RULE + 17.0),
            if px > RIGHT - 24.0 {
                Anchor::End
            } else {
                Anchor::Middle
            },
            8.0,
            shown(at),
        );
        at = at.saturating_add(step);
    }
    out.text((LEFT, RULE + 30.0), Anchor::Start, 8.5, shown(today));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_stand_in_proportion_to_their_distance() {
        let mark = |at, letter| DistanceMark {
            at,
            letter,
            tone: Tone::Later,
        };
        let drawing = distance_line(
            0,
            Some(4000),
            &[mark(1000, 'a'), mark(2000, 'b'), mark(3000, 'c')],
            ("", ""),
            |v| v.to_string(),
            "",
        );
        let x: Vec<f64> = drawing
            .shapes
            .iter()
            .filter_map(|shape| match shape {
                Shape::Dot { at, .. } => Some(at.0),
                _ => None,
            })
            .collect();
        assert!((x[1] - x[0] - (x[2] - x[1])).abs() < 1e-9 && x[0] > LEFT);
    }

    #[test]
    fn absurd_odometers_are_drawn_all_the_same() {
        for (today, at) in [(i64::MIN, i64::MAX), (i64::MAX, i64::MAX), (5, -5)] {
            let mark = DistanceMark {
                at,
                letter: 'a',
                tone: Tone::Now,
            };
            let drawing = distance_line(today, None, &[mark], ("", ""), |v| v.to_string(), "");
            assert!(drawing.shapes.len() > 3);
        }
    }
}
