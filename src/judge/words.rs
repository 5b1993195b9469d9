//! The plain words of findings.

use super::{Figure, ItemVerdict};
use crate::job::{Item, Place};
use crate::spec::Percent;
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

/// A length rounded toward caution: what may not fall below its limit is rounded down, what may not
/// rise above it is rounded up.
fn toward_caution(length: Length, places: usize, smaller_is_worse: bool) -> Length {
    let step = 10i64.pow(6u32.saturating_sub(u32::try_from(places).unwrap_or(6)));
    let nm = length.nm();
    let kept = if smaller_is_worse {
        nm.div_euclid(step)
    } else {
        -(-nm).div_euclid(step)
    };
    Length::from_nm(kept.saturating_mul(step))
}

/// A figure for a sentence, beside the limit it is judged by.
///
/// Lengths are rounded toward caution. A figure gets as many more decimals as it takes to stand on the
/// same side of its limit as it does unrounded: nothing beyond a limit reads as if it kept it, and
/// nothing inside as if it did not.
#[must_use]
pub(crate) fn beside(
    figure: Figure,
    limit: Option<Figure>,
    item: Item,
    smaller_is_worse: bool,
) -> String {
    match (figure, limit) {
        (Figure::Length(length), limit) => {
            let limit = match limit {
                Some(Figure::Length(limit)) => Some(limit),
                _ => None,
            };
            let (places, shown) = (places(item)..=6)
                .map(|places| (places, toward_caution(length, places, smaller_is_worse)))
                .find(|(_, shown)| {
                    limit.is_none_or(|limit| shown.cmp(&limit) == length.cmp(&limit))
                })
                .unwrap_or((6, length));
            format!("{} mm", shown.rounded(LengthUnit::Millimetre, places))
        }
        (Figure::Percent(percent), Some(Figure::Percent(limit))) => {
            // Percentages are compared by the thousandth.
            let thousandths =
                |percent: f64| Percent::from_percent(percent).map(Percent::thousandths);
            let (value, limit) = (thousandths(percent), thousandths(limit));
            let rounded = value.map(|value| (value + 5 * value.signum()) / 10 * 10);
            if rounded.cmp(&limit) == value.cmp(&limit) {
                format!("{percent:.2} %")
            } else {
                format!("{percent:.3} %")
            }
        }
        (Figure::Percent(percent), _) => format!("{percent:.2} %"),
        (Figure::Temperature(temperature), _) => temperature.to_string(),
    }
}

/// A limit for a sentence: never rounded.
#[must_use]
pub(crate) fn exactly(limit: Figure, item: Item) -> String {
    match limit {
        Figure::Length(length) => {
            let places = (places(item)..6)
                .find(|places| toward_caution(length, *places, true) == length)
                .unwrap_or(6);
            format!("{} mm", length.rounded(LengthUnit::Millimetre, places))
        }
        Figure::Percent(percent)
            if Percent::from_percent(percent).is_some_and(|p| p.thousandths() % 10 != 0) =>
        {
            format!("{percent:.3} %")
        }
        other => beside(other, None, item, true),
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
    use proptest::prelude::*;

    #[test]
    fn print_is_rounded_toward_caution_but_never_across_the_limit_nor_onto_it() {
        let um = |v: i64| Figure::Length(Length::from_nm(v * 1_000));
        for (nm, limit, item, smaller, shown) in [
            (8_003_723, 8_000, Item::DiscThickness, true, "8.003 mm"),
            (8_000_723, 8_000, Item::DiscThickness, true, "8.0007 mm"),
            (7_999_999, 8_000, Item::DiscThickness, true, "7.999 mm"),
            (8_000_000, 8_000, Item::DiscThickness, true, "8.000 mm"),
            (109_000, 80, Item::DiscRunout, false, "0.109 mm"),
            (
                203_043_000,
                203_050,
                Item::DrumDiameter,
                false,
                "203.043 mm",
            ),
            (203_041_000, 204_000, Item::DrumDiameter, false, "203.05 mm"),
            (2_040_000, 2_000, Item::PadsThickness, true, "2.04 mm"),
            (1_520_000, 1_550, Item::PadsThickness, true, "1.5 mm"),
            (1_570_000, 1_550, Item::PadsThickness, true, "1.57 mm"),
        ] {
            let value = Figure::Length(Length::from_nm(nm));
            assert_eq!(beside(value, Some(um(limit)), item, smaller), shown);
        }
        let percent = |value, limit| {
            let (value, limit) = (Figure::Percent(value), Figure::Percent(limit));
            beside(value, Some(limit), Item::AxleImbalance, false)
        };
        assert_eq!(percent(35.93, 30.0), "35.93 %");
        assert_eq!(percent(30.001, 30.0), "30.001 %");
        assert_eq!(percent(29.999, 30.0), "29.999 %");
    }

    #[test]
    fn a_limit_is_printed_as_it_is() {
        let um = |v: i64| Figure::Length(Length::from_nm(v * 1_000));
        assert_eq!(exactly(um(2_000), Item::PadsThickness), "2.0 mm");
        assert_eq!(exactly(um(1_550), Item::PadsThickness), "1.55 mm");
        let inches = Figure::Length(Length::from_nm(1_587_500));
        assert_eq!(exactly(inches, Item::PadsThickness), "1.5875 mm");
        assert_eq!(
            exactly(Figure::Percent(16.2), Item::ParkingEfficiency),
            "16.20 %"
        );
        assert_eq!(
            exactly(Figure::Percent(16.125), Item::ParkingEfficiency),
            "16.125 %"
        );
    }

    proptest! {
        #[test]
        fn a_length_in_a_sentence_is_on_its_own_side_of_the_limit(
            limit in 0i64..30_000_000, apart in -3_000i64..3_000, smaller: bool
        ) {
            let (limit, value) = (Length::from_nm(limit), Length::from_nm(limit + apart));
            for item in [Item::PadsThickness, Item::DrumDiameter, Item::DiscThickness] {
                let read = |text: String| Length::parse(&text, LengthUnit::Millimetre).unwrap();
                let shown_limit = read(exactly(Figure::Length(limit), item));
                let shown = read(beside(Figure::Length(value), Some(Figure::Length(limit)), item, smaller));
                prop_assert_eq!(shown_limit, limit);
                prop_assert_eq!(shown.cmp(&limit), value.cmp(&limit));
            }
        }
    }
}
