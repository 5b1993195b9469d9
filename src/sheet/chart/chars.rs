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

/// Thickness over visits: a row each, as long as what is there above a floor just below the limit,
/// with the limit marked.
///
/// # Examples
/// ```
/// use brakecorner::sheet::chart::wear;
/// use brakecorner::units::Length;
/// let mm = |v: i64| Length::from_nm(v * 1_000_000);
/// let rows = wear(&[mm(12), mm(7)], Some(mm(2)), true);
/// assert_eq!(rows[0].len(), 40);
/// assert!(rows[1].starts_with("====|===") && rows[1].len() < rows[0].len());
/// ```
#[must_use]
pub fn wear(values: &[Length], limit: Option<Length>, plain: bool) -> Vec<String> {
    const WIDTH: i128 = 40;
    let nm = |length: &Length| i128::from(length.nm());
    let Some(most) = values.iter().map(nm).max().filter(|most| *most > 0) else {
        return Vec::new();
    };
    // From just below the limit up, so that a disc's tenth of a millimetre shows.
    let limit = limit.as_ref().map(nm);
    let floor = limit.map_or(0, |limit| limit - (most - limit).max(100_000) / 10);
    let span = (most - floor).max(1);
    let column = |nm: i128| {
        let at = ((nm - floor) * WIDTH + span / 2).div_euclid(span);
        at.clamp(0, WIDTH)
    };
    let marked = limit.map(column);
    let (bar, mark) = if plain { ('=', '|') } else { ('▬', '┃') };
    let row = |value: &Length| {
        let length = column(nm(value));
        let cells = (0..=WIDTH).map(|at| match (Some(at) == marked, at < length) {
            (true, _) => mark,
            (false, true) => bar,
            (false, false) => ' ',
        });
        cells.collect::<String>().trim_end().to_owned()
    };
    values.iter().map(row).collect()
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
    fn wear_is_drawn_from_just_below_the_limit() {
        let um = |v: i64| Length::from_nm(v * 1000);
        // 0.5 mm above the limit at the most: floor 0.05 mm below it, 40 columns for 0.55 mm.
        let rows = wear(
            &[um(22_500), um(22_000), um(21_900)],
            Some(um(22_000)),
            true,
        );
        assert_eq!(rows[0], format!("====|{}", "=".repeat(35)));
        assert_eq!(rows[1], "====|");
        assert_eq!(rows[2], "    |");
        assert_eq!(wear(&[um(0)], None, true), Vec::<String>::new());
        let ends = [Length::from_nm(i64::MIN), Length::from_nm(i64::MAX)];
        assert_eq!(wear(&ends, Some(Length::from_nm(i64::MIN)), false).len(), 2);
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
