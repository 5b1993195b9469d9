//! The wheel as characters: which fastener is next, which are done, in which order.

use std::collections::BTreeSet;

/// Half the width and half the height of the drawing, in characters. A character is about twice as
/// high as it is wide.
const HALF: (f64, f64) = (14.0, 6.0);

/// Draws a wheel's fasteners from 1 to `count` round the circle, clockwise from the top as one looks
/// at the wheel: `[3]` is next, `(1)` is done, ` 2 ` is to come.
///
/// # Examples
/// ```
/// use std::collections::BTreeSet;
/// use brakecorner::walk::wheel;
/// let lines = wheel(5, &BTreeSet::from([1]), Some(3));
/// let text = lines.join("\n");
/// assert!(text.contains("(1)") && text.contains("[3]") && text.contains(" 2"));
/// ```
#[must_use]
pub fn wheel(count: u8, done: &BTreeSet<u8>, next: Option<u8>) -> Vec<String> {
    let (half_width, half_height) = HALF;
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let (width, height) = (
        (2.0 * half_width) as usize + 5,
        (2.0 * half_height) as usize + 1,
    );
    let mut rows = vec![vec![' '; width]; height];
    for fastener in 1..=count {
        let angle = f64::from(fastener - 1) / f64::from(count) * std::f64::consts::TAU;
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let (column, row) = (
            (half_width + half_width * libm::sin(angle))
                .round()
                .max(0.0) as usize,
            (half_height - half_height * libm::cos(angle))
                .round()
                .max(0.0) as usize,
        );
        let (open, close) = match (next == Some(fastener), done.contains(&fastener)) {
            (true, _) => ('[', ']'),
            (false, true) => ('(', ')'),
            (false, false) => (' ', ' '),
        };
        let label: Vec<char> = format!("{open}{fastener}{close}").chars().collect();
        for (offset, c) in label.into_iter().enumerate() {
            if let Some(cell) = rows.get_mut(row).and_then(|r| r.get_mut(column + offset)) {
                *cell = c;
            }
        }
    }
    // The hub in the middle, so that the circle reads as a wheel.
    for (offset, c) in " + ".chars().enumerate() {
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let (row, column) = (half_height as usize, half_width as usize + offset);
        if let Some(cell) = rows.get_mut(row).and_then(|r| r.get_mut(column)) {
            *cell = c;
        }
    }
    rows.into_iter()
        .map(|row| row.into_iter().collect::<String>().trim_end().to_owned())
        .collect()
}
