//! A QR code as a drawing.

use qrcode::{Color, EcLevel, QrCode};

use super::{Drawing, Shape};
use crate::sheet::palette::{INK, PAPER};

/// Draws a text as a QR code with its quiet zone; `None` when it is too long for one.
#[must_use]
pub fn qr(text: &str, alt: &str) -> Option<Drawing> {
    let code = QrCode::with_error_correction_level(text.as_bytes(), EcLevel::M).ok()?;
    let width = code.width();
    const MODULE: f64 = 2.0;
    // A code has at most 177 modules.
    #[allow(clippy::cast_precision_loss)]
    let at = |n: usize| (n + 4) as f64 * MODULE;
    let size = at(width) + 4.0 * MODULE;
    let mut out = Drawing::new(size, size, alt.to_owned());
    out.shapes.push(Shape::Rect {
        at: (0.0, 0.0),
        size: (size, size),
        fill: PAPER,
    });
    for (y, row) in code.to_colors().chunks(width.max(1)).enumerate() {
        let mut x = 0;
        while x < row.len() {
            let dark = row
                .get(x..)
                .unwrap_or_default()
                .iter()
                .take_while(|c| **c == Color::Dark)
                .count();
            if dark > 0 {
                #[allow(clippy::cast_precision_loss)]
                let wide = dark as f64 * MODULE;
                out.shapes.push(Shape::Rect {
                    at: (at(x), at(y)),
                    size: (wide, MODULE),
                    fill: INK,
                });
            }
            x += dark.max(1);
        }
    }
    Some(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_drawing_has_as_many_dark_modules_as_the_code() {
        let text = "HWY-0411 2 sha256:00";
        let drawing = qr(text, "").unwrap();
        let dark: f64 = drawing
            .shapes
            .iter()
            .map(|shape| match shape {
                Shape::Rect { size, fill, .. } if *fill == INK => size.0 * size.1 / 4.0,
                _ => 0.0,
            })
            .sum();
        let code = QrCode::with_error_correction_level(text, EcLevel::M).unwrap();
        let expected = code
            .to_colors()
            .iter()
            .filter(|c| **c == Color::Dark)
            .count();
        assert!((dark - expected as f64).abs() < 1e-9);
        assert!(qr(&"x".repeat(5000), "").is_none());
    }
}
