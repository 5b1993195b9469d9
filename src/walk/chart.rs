//! Small charts of a ring, in characters.

use crate::units::Length;

/// One line: a bar a reading between the lowest and the highest of the ring.
#[must_use]
pub(super) fn sparkline(values: &[Length], plain: bool) -> String {
    let levels: &[char] = if plain {
        &['_', '.', '-', '=', '*', '#']
    } else {
        &['▁', '▂', '▃', '▄', '▅', '▆', '▇', '█']
    };
    let (Some(low), Some(high)) = (values.iter().min(), values.iter().max()) else {
        return String::new();
    };
    let span = i128::from(high.nm()) - i128::from(low.nm());
    let last = i128::try_from(levels.len() - 1).unwrap_or(0);
    values
        .iter()
        .map(|value| {
            let above = i128::from(value.nm()) - i128::from(low.nm());
            let level = if span == 0 {
                0
            } else {
                (above * last + span / 2) / span
            };
            usize::try_from(level)
                .ok()
                .and_then(|level| levels.get(level))
                .copied()
                .unwrap_or(' ')
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_lowest_and_highest_reading_get_the_lowest_and_highest_bar() {
        let um = |v: i64| Length::from_nm(v * 1000);
        assert_eq!(sparkline(&[um(0), um(4), um(8)], true), "_=#");
        assert_eq!(sparkline(&[um(5); 3], true), "___");
        assert_eq!(sparkline(&[], false), "");
        assert_eq!(
            sparkline(
                &[Length::from_nm(i64::MIN), Length::from_nm(i64::MAX)],
                true
            ),
            "_#"
        );
    }
}
