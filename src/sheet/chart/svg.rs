//! Shapes as SVG.

use std::fmt::Write as _;

use super::{Anchor, Drawing, Shape};
use crate::sheet::palette::{Rgb, Tone, hex};

/// The drawing as an SVG document, its words as `aria-label`.
///
/// # Examples
/// ```
/// use brakecorner::sheet::chart::{star_order, svg};
/// let drawing = star_order(&[1, 3, 5, 2, 4], "Order of tightening: 1 3 5 2 4");
/// let svg = svg(&drawing);
/// assert!(svg.starts_with("<svg ") && svg.contains("aria-label=\"Order of tightening"));
/// ```
#[must_use]
pub fn svg(drawing: &Drawing) -> String {
    let (w, h) = (number(drawing.width), number(drawing.height));
    let mut out = format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {w} {h}" width="{w}" height="{h}" role="img" aria-label="{}">"#,
        escaped(&drawing.alt)
    );
    for shape in &drawing.shapes {
        write_shape(&mut out, shape);
    }
    out.push_str("</svg>");
    out
}

fn write_shape(out: &mut String, shape: &Shape) {
    // Writing to a string cannot fail.
    let _ = match shape {
        Shape::Line {
            from,
            to,
            ink,
            width,
            dashed,
        } => write!(
            out,
            r#"<path d="M{} {}L{} {}" {}/>"#,
            number(from.0),
            number(from.1),
            number(to.0),
            number(to.1),
            stroke(*ink, *width, *dashed)
        ),
        Shape::Path {
            points,
            ink,
            width,
            dashed,
        } => write!(
            out,
            r#"<path d="{}" {} stroke-linejoin="round"/>"#,
            path(points),
            stroke(*ink, *width, *dashed)
        ),
        Shape::Area { points, fill } => {
            write!(
                out,
                r#"<path d="{}Z" fill="{}"/>"#,
                path(points),
                hex(*fill)
            )
        }
        Shape::Rect { at, size, fill } => write!(
            out,
            r#"<rect x="{}" y="{}" width="{}" height="{}" fill="{}"/>"#,
            number(at.0),
            number(at.1),
            number(size.0),
            number(size.1),
            hex(*fill)
        ),
        Shape::Dot {
            at,
            radius,
            ink,
            filled,
        } => write!(
            out,
            r#"<circle cx="{}" cy="{}" r="{}" fill="{}" stroke="{}" stroke-width="1.2"/>"#,
            number(at.0),
            number(at.1),
            number(*radius),
            if *filled {
                hex(*ink)
            } else {
                "#ffffff".to_owned()
            },
            hex(*ink)
        ),
        Shape::Text {
            at,
            anchor,
            size,
            bold,
            ink,
            text,
        } => write!(
            out,
            r#"<text x="{}" y="{}" font-family="DejaVu Sans, Verdana, sans-serif" font-size="{}"{}{} fill="{}">{}</text>"#,
            number(at.0),
            number(at.1),
            number(*size),
            match anchor {
                Anchor::Start => "",
                Anchor::Middle => r#" text-anchor="middle""#,
                Anchor::End => r#" text-anchor="end""#,
            },
            if *bold { r#" font-weight="bold""# } else { "" },
            hex(*ink),
            escaped(text)
        ),
    };
}

fn stroke(ink: Rgb, width: f64, dashed: bool) -> String {
    let dash = if dashed {
        r#" stroke-dasharray="4 3""#
    } else {
        ""
    };
    format!(
        r#"fill="none" stroke="{}" stroke-width="{}"{dash}"#,
        hex(ink),
        number(width)
    )
}

fn path(points: &[(f64, f64)]) -> String {
    let mut out = String::new();
    for (i, (x, y)) in points.iter().enumerate() {
        let _ = write!(
            out,
            "{}{} {}",
            if i == 0 { 'M' } else { 'L' },
            number(*x),
            number(*y)
        );
    }
    out
}

/// Two decimals at most, without a trailing zero; the same on every machine.
fn number(value: f64) -> String {
    let text = format!("{:.2}", if value.is_finite() { value } else { 0.0 });
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

/// Text made safe inside an SVG element or attribute; characters XML does not have are shown as
/// replaced.
pub(crate) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\n' | '\t' => out.push(' '),
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => out.push('\u{fffd}'),
            c => out.push(c),
        }
    }
    out
}

/// The shape of a tone: a filled disc, a ring half filled, a square with a cross, an empty ring.
#[must_use]
pub fn icon(tone: Tone) -> String {
    let ink = hex(tone.ink());
    let body = match tone {
        Tone::Holds => format!(r#"<circle cx="8" cy="8" r="6.5" fill="{ink}"/>"#),
        Tone::Later => format!(
            r##"<circle cx="8" cy="8" r="6" fill="#ffffff" stroke="{ink}" stroke-width="1.6"/><path d="M8 2A6 6 0 0 1 8 14Z" fill="{ink}"/>"##
        ),
        Tone::Now => format!(
            r##"<rect x="1.5" y="1.5" width="13" height="13" fill="{ink}"/><path d="M4.8 4.8L11.2 11.2M11.2 4.8L4.8 11.2" stroke="#ffffff" stroke-width="2" fill="none"/>"##
        ),
        Tone::Unseen => format!(
            r##"<circle cx="8" cy="8" r="6" fill="#ffffff" stroke="{ink}" stroke-width="1.6" stroke-dasharray="2.6 1.9"/>"##
        ),
    };
    format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 16 16" width="16" height="16" aria-hidden="true" class="mark">{body}</svg>"#
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_cannot_leave_their_place() {
        let mut drawing = Drawing::new(10.0, 10.0, r#""><script>alert(1)</script>"#.into());
        drawing.text((1.0, 1.0), Anchor::Start, 9.0, "</text><script>\u{0}");
        let svg = svg(&drawing);
        assert!(
            !svg.contains("<script") && svg.contains("&lt;script&gt;\u{fffd}"),
            "{svg}"
        );
    }

    #[test]
    fn numbers_are_short_and_never_minus_nought() {
        assert_eq!(number(1.50), "1.5");
        assert_eq!(number(-0.001), "0");
        assert_eq!(number(f64::NAN), "0");
    }
}
