//! Charts: a few shapes on a plane, drawn as SVG for paper and browser or as characters for the
//! terminal. The shapes are computed once from the same readings.

mod chars;
mod distance;
mod qr;
mod runout;
mod scale;
mod studs;
mod svg;

pub use chars::{bar, sparkline, strip, wear};
pub use distance::{DistanceMark, distance_line};
pub use qr::qr;
pub use runout::{Ring, unrolled};
pub use scale::{Gauge, GaugeRow, gauge};
pub use studs::{ring_positions, star_order};
pub use svg::{icon, svg};

use super::palette::Rgb;

/// Where a text stands on its point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// Begins there.
    Start,
    /// Has its middle there.
    Middle,
    /// Ends there.
    End,
}

/// One shape; coordinates in points from the upper left.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)] // the fields are coordinates and say what they are
pub enum Shape {
    Line {
        from: (f64, f64),
        to: (f64, f64),
        ink: Rgb,
        width: f64,
        dashed: bool,
    },
    Path {
        points: Vec<(f64, f64)>,
        ink: Rgb,
        width: f64,
        dashed: bool,
    },
    Area {
        points: Vec<(f64, f64)>,
        fill: Rgb,
    },
    Rect {
        at: (f64, f64),
        size: (f64, f64),
        fill: Rgb,
    },
    Dot {
        at: (f64, f64),
        radius: f64,
        ink: Rgb,
        filled: bool,
    },
    Text {
        at: (f64, f64),
        anchor: Anchor,
        size: f64,
        bold: bool,
        ink: Rgb,
        text: String,
    },
}

/// A drawing with what it says in words.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    /// Width in points.
    pub width: f64,
    /// Height in points.
    pub height: f64,
    /// What it shows, for who cannot see it.
    pub alt: String,
    /// The shapes, in drawing order.
    pub shapes: Vec<Shape>,
}

impl Drawing {
    pub(crate) const fn new(width: f64, height: f64, alt: String) -> Self {
        Self {
            width,
            height,
            alt,
            shapes: Vec::new(),
        }
    }

    pub(crate) fn line(&mut self, from: (f64, f64), to: (f64, f64), ink: Rgb, width: f64) {
        self.shapes.push(Shape::Line {
            from,
            to,
            ink,
            width,
            dashed: false,
        });
    }

    pub(crate) fn text(
        &mut self,
        at: (f64, f64),
        anchor: Anchor,
        size: f64,
        text: impl Into<String>,
    ) {
        self.shapes.push(Shape::Text {
            at,
            anchor,
            size,
            bold: false,
            ink: super::palette::INK,
            text: text.into(),
        });
    }
}

/// A point of a circle, its angle in degrees clockwise from the top.
pub(crate) fn on_circle(centre: (f64, f64), radius: f64, degrees: f64) -> (f64, f64) {
    let radians = degrees.to_radians();
    (
        centre.0 + radius * libm::sin(radians),
        centre.1 - radius * libm::cos(radians),
    )
}
