//! The sheet's colours: four dark inks that differ in lightness first and in hue second.
//!
//! Each is readable as text on white, and any two stay apart for every common kind of colour
//! vision and in black-and-white print. They are deliberately not the colours of traffic lights;
//! a colour never carries a meaning alone, a word and a shape stand beside it.

use crate::judge::{ItemVerdict, Verdict};

/// A colour as red, green and blue, 0 to 255.
pub type Rgb = [u8; 3];

/// Text and lines.
pub const INK: Rgb = [0x1c, 0x1e, 0x26];
/// Secondary text.
pub const SOFT: Rgb = [0x50, 0x54, 0x60];
/// The paper.
pub const PAPER: Rgb = [0xff, 0xff, 0xff];
/// The ground of a panel.
pub const PANEL: Rgb = [0xf4, 0xf5, 0xf8];
/// What must not be entered in a drawing: the zone beyond a limit.
pub const BEYOND: Rgb = [0xc9, 0xc4, 0xcd];
/// The band of uncertainty in a drawing.
pub const BAND: Rgb = [0xae, 0xc9, 0xe4];

/// What a coloured mark says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Tone {
    /// It holds.
    Holds,
    /// Before a distance or a date, or to watch.
    Later,
    /// Before it moves.
    Now,
    /// Not seen.
    Unseen,
}

impl Tone {
    /// Every tone.
    pub const ALL: [Self; 4] = [Self::Holds, Self::Later, Self::Now, Self::Unseen];

    /// The tone's ink.
    #[must_use]
    pub const fn ink(self) -> Rgb {
        match self {
            Self::Holds => [0x0c, 0x2c, 0x70],  // deep blue
            Self::Later => [0x00, 0x6c, 0x7c],  // petrol
            Self::Now => [0x26, 0x04, 0x22],    // aubergine, the darkest
            Self::Unseen => [0x48, 0x48, 0x4c], // grey
        }
    }

    /// The tone's word in names of styles.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Holds => "holds",
            Self::Later => "later",
            Self::Now => "now",
            Self::Unseen => "unseen",
        }
    }

    /// The tone's shape in plain text.
    #[must_use]
    pub const fn ascii(self) -> &'static str {
        match self {
            Self::Holds => "(o)",
            Self::Later => "(~)",
            Self::Now => "[X]",
            Self::Unseen => "(?)",
        }
    }
}

impl From<ItemVerdict> for Tone {
    fn from(verdict: ItemVerdict) -> Self {
        match verdict {
            ItemVerdict::Pass => Self::Holds,
            ItemVerdict::Advise => Self::Later,
            ItemVerdict::Fail => Self::Now,
            ItemVerdict::NotInspected | ItemVerdict::NoLimit => Self::Unseen,
        }
    }
}

impl From<Verdict> for Tone {
    fn from(verdict: Verdict) -> Self {
        match verdict {
            Verdict::Pass => Self::Holds,
            Verdict::Advise => Self::Later,
            Verdict::Incomplete => Self::Unseen,
            Verdict::Fail => Self::Now,
        }
    }
}

/// The colour as `#rrggbb`.
#[must_use]
pub fn hex([r, g, b]: Rgb) -> String {
    format!("#{r:02x}{g:02x}{b:02x}")
}

#[cfg(test)]
mod tests {
    use super::*;

    type Linear = [f64; 3];

    /// Source: IEC 61966-2-1 (sRGB), from memory.
    fn linear(colour: Rgb) -> Linear {
        colour.map(|c| {
            let v = f64::from(c) / 255.0;
            if v <= 0.04045 {
                v / 12.92
            } else {
                libm::pow((v + 0.055) / 1.055, 2.4)
            }
        })
    }

    fn luminance([r, g, b]: Linear) -> f64 {
        0.2126 * r + 0.7152 * g + 0.0722 * b
    }

    /// Source: WCAG 2.1, contrast ratio (from memory).
    fn contrast(a: Linear, b: Linear) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    /// CIE L*a*b* for D65. Source: CIE 15 (from memory).
    fn lab([r, g, b]: Linear) -> [f64; 3] {
        let f = |t: f64| {
            if t > 216.0 / 24389.0 {
                libm::cbrt(t)
            } else {
                (24389.0 / 27.0 * t + 16.0) / 116.0
            }
        };
        let x = f((0.4124564 * r + 0.3575761 * g + 0.1804375 * b) / 0.95047);
        let y = f(0.2126729 * r + 0.7151522 * g + 0.0721750 * b);
        let z = f((0.0193339 * r + 0.1191920 * g + 0.9503041 * b) / 1.08883);
        [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
    }

    fn difference(a: Linear, b: Linear) -> f64 {
        let (a, b) = (lab(a), lab(b));
        (0..3)
            .map(|i| (a[i] - b[i]) * (a[i] - b[i]))
            .sum::<f64>()
            .sqrt()
    }

    fn through(matrix: [[f64; 3]; 3], colour: Linear) -> Linear {
        matrix.map(|row| {
            let v: f64 = row.iter().zip(colour).map(|(m, c)| m * c).sum();
            v.clamp(0.0, 1.0)
        })
    }

    /// Full protanopia, deuteranopia, tritanopia, and grey print.
    /// Source: Machado, Oliveira, Fernandes 2009, severity 1.0 (from memory; rows sum to 1).
    const EYES: [(&str, [[f64; 3]; 3]); 5] = [
        ("usual", [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]),
        (
            "protanopia",
            [
                [0.152286, 1.052583, -0.204868],
                [0.114503, 0.786281, 0.099216],
                [-0.003882, -0.048116, 1.051998],
            ],
        ),
        (
            "deuteranopia",
            [
                [0.367322, 0.860646, -0.227968],
                [0.280085, 0.672501, 0.047413],
                [-0.011820, 0.042940, 0.968881],
            ],
        ),
        (
            "tritanopia",
            [
                [1.255528, -0.076749, -0.178779],
                [-0.078411, 0.930809, 0.147602],
                [0.004733, 0.691367, 0.303900],
            ],
        ),
        ("grey print", [[0.2126, 0.7152, 0.0722]; 3]),
    ];

    #[test]
    fn every_ink_reads_as_text_on_paper_and_on_a_panel_for_every_eye() {
        for (eye, matrix) in EYES {
            for row in matrix {
                assert!((row.iter().sum::<f64>() - 1.0).abs() < 1e-5, "{eye}");
            }
            let inks = Tone::ALL.map(Tone::ink).into_iter().chain([INK, SOFT]);
            for ink in inks {
                for ground in [PAPER, PANEL] {
                    let seen = contrast(
                        through(matrix, linear(ink)),
                        through(matrix, linear(ground)),
                    );
                    assert!(
                        seen >= 4.5,
                        "{eye}: {} on {}: {seen:.2}",
                        hex(ink),
                        hex(ground)
                    );
                }
            }
            for ground in [BEYOND, BAND] {
                let seen = contrast(
                    through(matrix, linear(INK)),
                    through(matrix, linear(ground)),
                );
                assert!(seen >= 4.5, "{eye}: ink on {}: {seen:.2}", hex(ground));
            }
        }
    }

    #[test]
    fn any_two_tones_differ_for_every_eye_and_in_grey_print() {
        for (eye, matrix) in EYES {
            for (i, a) in Tone::ALL.iter().enumerate() {
                for b in &Tone::ALL[i + 1..] {
                    let seen = difference(
                        through(matrix, linear(a.ink())),
                        through(matrix, linear(b.ink())),
                    );
                    // 2.3 is about the least difference an eye sees side by side; four times that.
                    assert!(seen >= 9.2, "{eye}: {a:?} and {b:?} differ by {seen:.1}");
                }
            }
        }
    }

    #[test]
    fn no_tone_has_the_colour_of_a_traffic_light() {
        // A saturated red, amber or green: the hue of a lamp and a strong colour.
        for tone in Tone::ALL {
            let [_, a, b] = lab(linear(tone.ink()));
            let chroma = (a * a + b * b).sqrt();
            let hue = libm::atan2(b, a).to_degrees().rem_euclid(360.0);
            let lamp = chroma > 20.0 && !(170.0..=345.0).contains(&hue);
            assert!(!lamp, "{tone:?}: hue {hue:.0}, chroma {chroma:.0}");
        }
    }
}
