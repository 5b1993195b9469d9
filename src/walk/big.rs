//! Digits readable at two metres, five lines high, ASCII.

/// Draws a short text of digits, sign, point and a few letters.
#[must_use]
pub fn big(text: &str) -> Vec<String> {
    (0..5)
        .map(|row| {
            let mut line = String::from("  ");
            for c in text.chars() {
                line.push_str(glyph(c).get(row).copied().unwrap_or("     "));
                line.push_str("  ");
            }
            line.trim_end().to_owned()
        })
        .collect()
}

const fn glyph(c: char) -> [&'static str; 5] {
    match c {
        '0' => ["#####", "#   #", "#   #", "#   #", "#####"],
        '1' => ["  #  ", " ##  ", "  #  ", "  #  ", "#####"],
        '2' => ["#####", "    #", "#####", "#    ", "#####"],
        '3' => ["#####", "    #", " ####", "    #", "#####"],
        '4' => ["#   #", "#   #", "#####", "    #", "    #"],
        '5' => ["#####", "#    ", "#####", "    #", "#####"],
        '6' => ["#####", "#    ", "#####", "#   #", "#####"],
        '7' => ["#####", "    #", "   # ", "  #  ", "  #  "],
        '8' => ["#####", "#   #", "#####", "#   #", "#####"],
        '9' => ["#####", "#   #", "#####", "    #", "#####"],
        '-' => ["     ", "     ", "#####", "     ", "     "],
        '+' => ["     ", "  #  ", "#####", "  #  ", "     "],
        '.' => ["     ", "     ", "     ", "  ## ", "  ## "],
        ' ' => ["     ", "     ", "     ", "     ", "     "],
        '/' => ["    #", "   # ", "  #  ", " #   ", "#    "],
        'F' => ["#####", "#    ", "#### ", "#    ", "#    "],
        'L' => ["#    ", "#    ", "#    ", "#    ", "#####"],
        'R' => ["#### ", "#   #", "#### ", "#  # ", "#   #"],
        _ => ["     ", "  #  ", " ### ", "  #  ", "     "],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reading_fits_eighty_columns() {
        let lines = big("FR 24.308");
        assert_eq!(lines.len(), 5);
        assert!(lines.iter().all(|line| line.len() <= 80));
        assert_eq!(big("1")[4], "  #####");
    }
}
