//! Shapes as characters, for the terminal and the text sheet.

use crate::units::Length;

/// One line: a bar a reading, between the lowest and the highest of the ring.
///
/// # Examples
/// ```
/// use brakecorner::sheet::chart::sparkline;
/// use brakecorner::units::Length;
/// let um = |v: i64| Length::from_nm(v * 1000);
/// assert_eq!(sparkline(&[um(0), um(4), um(8)], true), "_=#");
/// ```
#[must_use]
pub fn sparkline(values: &[Length], plain: bool) -> String {
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
    let level = |value: &Length| {
        let above = i128::from(value.nm()) - i128::from(low.nm());
        let level = if span == 0 {
            0
        } else {
            (above * last + span / 2) / span
        };
        usize::try_from(level)
            .ok()
            .and_then(|l| levels.get(l))
            .copied()
            .unwrap_or(' ')
    };
    values.iter().map(level).collect()
}

/// A scale of `width` characters from a limit to new with the value on it: `|=====o-----|`.
///
/// What is left of the wear is drawn `=`, what is used `-`; beyond the limit the mark stands
/// outside the left end.
#[must_use]
pub fn bar(limit: Length, new: Length, value: Length, width: usize) -> String {
    let width = width.clamp(4, 200);
    let span = i128::from(new.nm()) - i128::from(limit.nm());
    let at = i128::from(value.nm()) - i128::from(limit.nm());
    let inner = i128::try_from(width).unwrap_or(4);
    let cell = if span == 0 {
        0
    } else {
        (at * inner).div_euclid(span)
    };
    if cell < 0 {
        return format!("X|{}|", "-".repeat(width));
    }
    let cell = usize::try_from(cell).unwrap_or(0).min(width - 1);
    format!(" |{}o{}|", "=".repeat(cell), "-".repeat(width - 1 - cell))
}

/// A ruler of `width` characters from `low` to `high` with letters at their places.
#[must_use]
pub fn strip(low: i64, high: i64, marks: &[(i64, char)], width: usize) -> String {
    let width = width.clamp(2, 400);
    let mut cells = vec!['-'; width];
    let span = i128::from(high) - i128::from(low);
    for (at, mark) in marks {
        let above = i128::from((*at).clamp(low.min(high), high.max(low))) - i128::from(low);
        let last = i128::try_from(width - 1).unwrap_or(1);
        let cell = if span == 0 { 0 } else { above * last / span };
        if let Some(cell) = usize::try_from(cell).ok().and_then(|c| cells.get_mut(c)) {
            *cell = *mark;
        }
    }
    cells.into_iter().collect()
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
        let ends = [Length::from_nm(i64::MIN), Length::from_nm(i64::MAX)];
        assert_eq!(sparkline(&ends, true), "_#");
    }

    #[test]
    fn a_value_beyond_its_limit_stands_outside_the_scale() {
        let mm = |v: i64| Length::from_nm(v * 1_000_000);
        assert_eq!(bar(mm(10), mm(20), mm(9), 10), "X|----------|");
        assert_eq!(bar(mm(10), mm(20), mm(10), 10), " |o---------|");
        assert_eq!(bar(mm(10), mm(20), mm(15), 10), " |=====o----|");
        assert_eq!(bar(mm(10), mm(20), mm(25), 10), " |=========o|");
        // A drum grows: new below its limit.
        assert_eq!(bar(mm(204), mm(203), mm(205), 4), "X|----|");
    }

    #[test]
    fn a_ruler_holds_every_mark() {
        assert_eq!(
            strip(0, 9, &[(0, '|'), (9, 'S'), (99, 'a')], 10),
            "|--------a"
        );
        assert_eq!(strip(5, 5, &[(5, 'a')], 3), "a--");
    }
}
