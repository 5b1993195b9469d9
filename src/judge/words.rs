//! The plain words of findings.

use super::{Figure, ItemVerdict};
use crate::job::{Item, Place};
use crate::units::{Length, LengthUnit};

/// What a finding is about: `Front left disc thickness`.
#[must_use]
pub(crate) fn subject(place: Place, item: Item) -> String {
    let mut text = place.in_words();
    if let Some(first) = text.get_mut(0..1) {
        first.make_ascii_uppercase();
    }
    match place {
        Place::Vehicle => capital(item.title()),
        _ => format!("{text}: {}", item.title()),
    }
}

fn capital(text: &str) -> String {
    let mut text = text.to_owned();
    if let Some(first) = text.get_mut(0..1) {
        first.make_ascii_uppercase();
    }
    text
}

/// How many decimals a length of an item is shown with.
#[must_use]
pub(crate) const fn places(item: Item) -> usize {
    match item {
        Item::PadsThickness
        | Item::PadsInnerOuter
        | Item::LiningsThickness
        | Item::AxlePadDifference => 1,
        Item::DrumDiameter => 2,
        _ => 3,
    }
}

/// A length shown in millimetres, rounded toward caution: what may not fall below its limit is
/// rounded down, what may not rise above it is rounded up.
#[must_use]
pub(crate) fn cautious(length: Length, places: usize, smaller_is_worse: bool) -> String {
    let step = 10i64.pow(6u32.saturating_sub(u32::try_from(places).unwrap_or(6)));
    let nm = length.nm();
    let kept = if smaller_is_worse {
        nm.div_euclid(step)
    } else {
        -(-nm).div_euclid(step)
    };
    format!(
        "{} mm",
        Length::from_nm(kept * step).rounded(LengthUnit::Millimetre, places)
    )
}

/// A figure for a sentence.
#[must_use]
pub(crate) fn shown(figure: Figure, item: Item, smaller_is_worse: bool) -> String {
    match figure {
        Figure::Length(length) => cautious(length, places(item), smaller_is_worse),
        Figure::Percent(percent) => format!("{percent:.2} %"),
        Figure::Temperature(temperature) => temperature.to_string(),
    }
}

/// The verdict in words for a sentence.
#[must_use]
pub(crate) const fn verdict_words(verdict: ItemVerdict) -> &'static str {
    match verdict {
        ItemVerdict::Pass => "within limits",
        ItemVerdict::Advise => "needs attention",
        ItemVerdict::Fail => "not within limits",
        ItemVerdict::NotInspected => "not inspected",
        ItemVerdict::NoLimit => "measured, but no limit is on file",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn print_is_rounded_toward_caution() {
        let t = Length::from_nm(8_003_723);
        assert_eq!(cautious(t, 3, true), "8.003 mm");
        assert_eq!(cautious(t, 3, false), "8.004 mm");
        assert_eq!(cautious(Length::from_nm(109_000), 3, false), "0.109 mm");
    }
}
