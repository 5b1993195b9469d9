//! Text for a terminal or a printer that knows ASCII alone.

/// The same text in ASCII: signs in words or by their nearest sign, Latin letters without their
/// accents, anything else `?`. A blank that does not break a line stays one.
///
/// # Examples
/// ```
/// use brakecorner::sheet::ascii::ascii;
/// assert_eq!(ascii("“Zoë”: 40–200 N·m, 3.5 µm at 20 °C, 15.6°"), "\"Zoe\": 40-200 N*m, 3.5 um at 20 deg C, 15.6 deg");
/// ```
#[must_use]
pub fn ascii(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text.chars().peekable();
    while let Some(c) = rest.next() {
        match c {
            '\u{a0}' => out.push(c),
            c if c.is_ascii() => out.push(c),
            // A degree stands apart from its number and from its scale.
            '°' => {
                let apart = out.is_empty() || out.ends_with([' ', '\u{a0}']);
                out.push_str(if apart { "deg" } else { " deg" });
                if rest.peek().is_some_and(|next| next.is_alphanumeric()) {
                    out.push(' ');
                }
            }
            c => out.push_str(sign(c)),
        }
    }
    out
}

const fn sign(c: char) -> &'static str {
    match c {
        'µ' | 'μ' => "u",
        '·' | '•' => "*",
        '→' => "->",
        '½' => ".5",
        '≥' => ">=",
        '≤' => "<=",
        '−' | '–' | '—' | '─' | '\u{2010}' | '\u{2011}' | '▬' => "-",
        '…' => "...",
        '±' => "+/-",
        '√' => "sqrt ",
        'Σ' => "sum ",
        '⁻' => "^-",
        '⁶' => "6",
        '²' => "^2",
        '³' => "^3",
        '×' => "x",
        '∆' | 'Δ' => "delta",
        'α' => "alpha",
        'β' => "beta",
        'θ' => "theta",
        'π' => "pi",
        'σ' => "sigma",
        'φ' => "phi",
        'ψ' => "psi",
        '“' | '”' | '„' | '″' | '«' | '»' => "\"",
        '‘' | '’' | '‚' | '′' | '´' => "'",
        '●' => "o",
        '◐' => "~",
        '✕' | '■' | '█' => "X",
        '○' | '□' => "?",
        '┃' | '│' => "|",
        '\u{202f}' | '\u{2009}' | '\u{2007}' => " ",
        '€' => "EUR",
        '£' => "GBP",
        'à' | 'á' | 'â' | 'ã' | 'å' => "a",
        'ä' | 'æ' => "ae",
        'ç' | 'č' | 'ć' => "c",
        'è' | 'é' | 'ê' | 'ë' | 'ě' | 'ę' => "e",
        'ì' | 'í' | 'î' | 'ï' => "i",
        'ł' => "l",
        'ñ' | 'ń' => "n",
        'ò' | 'ó' | 'ô' | 'õ' | 'ø' => "o",
        'ö' | 'œ' => "oe",
        'ř' => "r",
        'š' | 'ś' => "s",
        'ß' => "ss",
        'ù' | 'ú' | 'û' => "u",
        'ü' => "ue",
        'ý' | 'ÿ' => "y",
        'ž' | 'ź' | 'ż' => "z",
        'À' | 'Á' | 'Â' | 'Ã' | 'Å' => "A",
        'Ä' | 'Æ' => "Ae",
        'Ç' | 'Č' | 'Ć' => "C",
        'È' | 'É' | 'Ê' | 'Ë' => "E",
        'Ì' | 'Í' | 'Î' | 'Ï' => "I",
        'Ł' => "L",
        'Ñ' => "N",
        'Ò' | 'Ó' | 'Ô' | 'Õ' | 'Ø' => "O",
        'Ö' | 'Œ' => "Oe",
        'Ř' => "R",
        'Š' | 'Ś' => "S",
        'Ù' | 'Ú' | 'Û' => "U",
        'Ü' => "Ue",
        'Ý' => "Y",
        'Ž' | 'Ź' | 'Ż' => "Z",
        _ => "?",
    }
}
