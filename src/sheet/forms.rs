//! How numbers, dates and places are written: by language, metric or imperial, rounded toward
//! caution.

use chrono::{DateTime, Datelike as _, FixedOffset, NaiveDate};

use super::words::{Language, Words};
use crate::job::{Item, Phase, Place, Side, SideNames};
use crate::judge::Figure;
use crate::units::{Distance, DistanceUnit, Length, Temperature, Torque};

/// The units a sheet is written in.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize,
)]
#[serde(rename_all = "lowercase")]
pub enum Units {
    /// Millimetres, kilometres, newton-metres, degrees Celsius.
    #[default]
    Metric,
    /// Inches, miles, pound-force feet, degrees Fahrenheit.
    Imperial,
}

/// Which way a number is rounded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Toward {
    /// Down: what may not fall below its limit, and distances left.
    Down,
    /// Up: what may not rise above its limit.
    Up,
    /// To the nearest.
    Nearest,
}

/// A no-break space between number and unit.
const GAP: char = '\u{a0}';

/// Writes numbers and names in one language and one system of units.
#[derive(Debug)]
pub struct Forms {
    /// The messages.
    pub words: Words,
    /// The units.
    pub units: Units,
    /// How the sides are called.
    pub sides: SideNames,
}

impl Forms {
    /// Forms of a language and a system of units.
    #[must_use]
    pub fn new(language: Language, units: Units) -> Self {
        Self {
            words: Words::of(language),
            units,
            sides: SideNames::default(),
        }
    }

    /// The same forms with the sides called so.
    ///
    /// # Examples
    /// ```
    /// use brakecorner::job::{Place, SideNames};
    /// use brakecorner::sheet::forms::{Forms, Units};
    /// use brakecorner::sheet::words::Language;
    /// let place: Place = "FL".parse()?;
    /// let forms = Forms::new(Language::En, Units::Metric);
    /// assert_eq!(forms.place(place), "Front left");
    /// // Where traffic keeps right, the kerb is on the right.
    /// let forms = forms.calling_sides(SideNames::NearsideRight);
    /// assert_eq!(forms.place(place), "Front offside");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    #[must_use]
    pub const fn calling_sides(mut self, sides: SideNames) -> Self {
        self.sides = sides;
        self
    }

    fn mark(&self) -> char {
        self.words.language().decimal_mark()
    }

    /// A length with `places` decimals of a millimetre, or one more of an inch.
    ///
    /// # Examples
    /// ```
    /// use brakecorner::sheet::forms::{Forms, Toward, Units};
    /// use brakecorner::sheet::words::Language;
    /// use brakecorner::units::Length;
    /// let t = Length::from_nm(8_003_723);
    /// let plain = |forms: Forms, toward| forms.length(t, 3, toward).replace('\u{a0}', " ");
    /// assert_eq!(plain(Forms::new(Language::En, Units::Metric), Toward::Down), "8.003 mm");
    /// assert_eq!(plain(Forms::new(Language::De, Units::Metric), Toward::Up), "8,004 mm");
    /// // 8.003723 mm / 25.4 = 0.315107… in
    /// assert_eq!(plain(Forms::new(Language::En, Units::Imperial), Toward::Down), "0.3151 in");
    /// ```
    #[must_use]
    pub fn length(&self, length: Length, places: u32, toward: Toward) -> String {
        let (unit_nm, places, unit) = match self.units {
            Units::Metric => (1_000_000i128, places.min(6), "mm"),
            Units::Imperial => (25_400_000, (places + 1).min(5), "in"),
        };
        let scaled = i128::from(length.nm()) * 10i128.pow(places);
        let whole = divided(scaled, unit_nm, toward);
        format!("{}{GAP}{unit}", self.fixed(whole, places))
    }

    /// A whole number of the last decimal place, written out.
    fn fixed(&self, units: i128, places: u32) -> String {
        let power = 10u128.pow(places);
        let size = units.unsigned_abs();
        let sign = if units < 0 { "−" } else { "" };
        let (whole, rest) = (size / power, size % power);
        if places == 0 {
            return format!("{sign}{whole}");
        }
        format!(
            "{sign}{whole}{}{rest:0width$}",
            self.mark(),
            width = places as usize
        )
    }

    /// A computed number with so many decimals; nothing but digits when it is not finite.
    #[must_use]
    pub fn number(&self, value: f64, places: usize) -> String {
        let value = if value.is_finite() { value } else { 0.0 };
        let text = format!("{value:.places$}");
        text.replace('.', &self.mark().to_string())
            .replace('-', "−")
    }

    /// A whole count with its thousands apart.
    #[must_use]
    pub fn grouped(&self, value: i64) -> String {
        let digits = value.unsigned_abs().to_string();
        let mut out = if value < 0 {
            "−".to_owned()
        } else {
            String::new()
        };
        for (i, digit) in digits.chars().enumerate() {
            if i > 0 && (digits.len() - i).is_multiple_of(3) {
                out.push(GAP);
            }
            out.push(digit);
        }
        out
    }

    /// Whole kilometres of an odometer or a distance, in the sheet's unit.
    #[must_use]
    pub fn km(&self, km: i64, toward: Toward) -> String {
        let (value, unit) = self.odometer(km, toward);
        format!("{}{GAP}{unit}", self.grouped(value))
    }

    /// Whole kilometres as a number of the sheet's unit, and that unit.
    #[must_use]
    pub fn odometer(&self, km: i64, toward: Toward) -> (i64, &'static str) {
        match self.units {
            Units::Metric => (km, "km"),
            Units::Imperial => {
                let miles = divided(
                    i128::from(km) * 1_000_000,
                    DistanceUnit::Mile.mm().into(),
                    toward,
                );
                (i64::try_from(miles).unwrap_or(i64::MAX), "mi")
            }
        }
    }

    /// A distance.
    #[must_use]
    pub fn distance(&self, distance: Distance, toward: Toward) -> String {
        let unit_mm = match self.units {
            Units::Metric => DistanceUnit::Kilometre.mm(),
            Units::Imperial => DistanceUnit::Mile.mm(),
        };
        let value = divided(i128::from(distance.mm()), unit_mm.into(), toward);
        let unit = if self.units == Units::Metric {
            "km"
        } else {
            "mi"
        };
        format!(
            "{}{GAP}{unit}",
            self.grouped(i64::try_from(value).unwrap_or(i64::MAX))
        )
    }

    /// A torque.
    #[must_use]
    pub fn torque(&self, torque: Torque) -> String {
        match self.units {
            Units::Metric => {
                let tenths = divided(i128::from(torque.mnm()), 100, Toward::Nearest);
                let text = if tenths % 10 == 0 {
                    self.fixed(tenths / 10, 0)
                } else {
                    self.fixed(tenths, 1)
                };
                format!("{text}{GAP}N·m")
            }
            Units::Imperial => {
                // 1 lbf·ft = 0.45359237 kg · 9.80665 m/s² · 0.3048 m, exactly.
                let feet = divided(
                    i128::from(torque.mnm()) * 10_000_000_000_000,
                    13_558_179_483_314_004,
                    Toward::Nearest,
                );
                format!("{feet}{GAP}lbf·ft")
            }
        }
    }

    /// A temperature.
    #[must_use]
    pub fn temperature(&self, temperature: Temperature, toward: Toward) -> String {
        let thousandths = i128::from(temperature.millidegrees());
        match self.units {
            Units::Metric => format!(
                "{}{GAP}°C",
                self.fixed(divided(thousandths, 1000, toward), 0)
            ),
            Units::Imperial => {
                let f = divided(thousandths * 9 + 160_000, 5000, toward);
                format!("{}{GAP}°F", self.fixed(f, 0))
            }
        }
    }

    /// A judged figure, rounded toward caution.
    #[must_use]
    pub fn figure(&self, figure: Figure, places: u32, toward: Toward) -> String {
        match figure {
            Figure::Length(length) => self.length(length, places, toward),
            Figure::Percent(percent) => {
                let percent = if percent.is_finite() { percent } else { 0.0 };
                // Whole hundredths: a percentage is far below 2^53 of them.
                #[allow(clippy::cast_possible_truncation)]
                let millionths = libm::round(percent.clamp(-1e9, 1e9) * 1e6) as i128;
                format!(
                    "{}{GAP}%",
                    self.fixed(divided(millionths, 100_000, toward), 1)
                )
            }
            Figure::Temperature(temperature) => self.temperature(temperature, toward),
        }
    }

    /// A day.
    #[must_use]
    pub fn date(&self, date: NaiveDate) -> String {
        let month = self.words.plain(&format!("month-{}", date.month()));
        self.words.say(
            "date",
            &[
                ("day", date.day().to_string().into()),
                ("month", month.into()),
                ("year", date.year().to_string().into()),
            ],
        )
    }

    /// A day with its time.
    #[must_use]
    pub fn time(&self, at: DateTime<FixedOffset>) -> String {
        let clock = at.format("%H:%M").to_string();
        let date = self.date(at.date_naive());
        self.words
            .say("time", &[("date", date.into()), ("clock", clock.into())])
    }

    /// A place.
    #[must_use]
    pub fn place(&self, place: Place) -> String {
        let side = |side: Side| match (self.sides, side) {
            (SideNames::LeftRight, Side::Left) => "left",
            (SideNames::LeftRight, Side::Right) => "right",
            (SideNames::NearsideLeft, Side::Left) | (SideNames::NearsideRight, Side::Right) => {
                "nearside"
            }
            (SideNames::NearsideLeft, Side::Right) | (SideNames::NearsideRight, Side::Left) => {
                "offside"
            }
        };
        match place {
            Place::Corner(corner) => {
                let side = side(corner.side());
                match corner.axle().number() {
                    1 => self.words.plain(&format!("place-front-{side}")),
                    2 => self.words.plain(&format!("place-rear-{side}")),
                    n => self.words.say(
                        &format!("place-axle-{side}"),
                        &[("number", n.to_string().into())],
                    ),
                }
            }
            Place::Axle(axle) => match axle.number() {
                1 => self.words.plain("place-axle-front"),
                2 => self.words.plain("place-axle-rear"),
                n => self
                    .words
                    .say("place-axle", &[("number", n.to_string().into())]),
            },
            Place::Vehicle => self.words.plain("place-vehicle"),
        }
    }

    /// An item.
    #[must_use]
    pub fn item(&self, item: Item) -> String {
        self.words.plain(&format!("item-{}", key(item)))
    }

    /// An item with a capital letter.
    #[must_use]
    pub fn title(&self, item: Item) -> String {
        capital(&self.item(item))
    }

    /// Place and item, as one reads it.
    #[must_use]
    pub fn subject(&self, place: Place, item: Item) -> String {
        match place {
            Place::Vehicle => self.title(item),
            _ => format!("{}, {}", self.place(place), self.item(item)),
        }
    }

    /// A sentence of the judgement in the sheet's language, with places and numbers as the sheet
    /// writes them.
    ///
    /// # Examples
    /// ```
    /// use brakecorner::sheet::forms::{Forms, Units};
    /// use brakecorner::sheet::words::Language;
    /// let forms = Forms::new(Language::De, Units::Metric);
    /// assert_eq!(
    ///     forms.phrase("FL brakes 36.0 % less than FR"),
    ///     "vorn links bremst 36,0 % schwächer als vorn rechts"
    /// );
    /// ```
    #[must_use]
    pub fn phrase(&self, english: &str) -> String {
        self.words.phrase(english, &|blank| self.blank(blank))
    }

    /// A place, a defect or a number within a sentence.
    fn blank(&self, text: &str) -> String {
        if let Ok(place @ Place::Corner(_)) = text.parse::<Place>() {
            return uncapital(&self.place(place));
        }
        let known = Item::ALL.iter().find_map(|item| {
            let defects = crate::judge::defect::defects(*item);
            let defect = defects.iter().find(|defect| defect.words == text)?;
            Some(format!("defect-{}-{}", key(*item), defect.code))
        });
        if let Some(id) = known {
            let sentence = self.words.plain(&id);
            return uncapital(sentence.trim_end_matches('.'));
        }
        self.decimal(text)
    }

    /// A text with the decimal marks of its numbers as the language writes them.
    #[must_use]
    pub fn decimal(&self, text: &str) -> String {
        let letters: Vec<char> = text.chars().collect();
        let digit = |at: Option<usize>| {
            at.and_then(|at| letters.get(at))
                .is_some_and(char::is_ascii_digit)
        };
        let mark = |(at, c): (usize, &char)| {
            let decimal = *c == '.' && digit(at.checked_sub(1)) && digit(at.checked_add(1));
            if decimal { self.mark() } else { *c }
        };
        letters.iter().enumerate().map(mark).collect()
    }

    /// As found, or as left.
    #[must_use]
    pub fn phase(&self, phase: Phase) -> String {
        self.words.plain(match phase {
            Phase::AsFound => "phase-as_found",
            Phase::AsLeft => "phase-as_left",
        })
    }
}

/// An item's name within message names.
#[must_use]
pub(super) fn key(item: Item) -> String {
    item.id().replace('.', "-")
}

/// Decimals a length of an item is shown with.
#[must_use]
pub(super) const fn places(item: Item) -> u32 {
    match item {
        Item::PadsThickness
        | Item::PadsInnerOuter
        | Item::LiningsThickness
        | Item::AxlePadDifference => 1,
        Item::DrumDiameter | Item::DiscThickness | Item::AxleDiscDifference => 2,
        _ => 3,
    }
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    match chars.next() {
        Some(first) => first.to_uppercase().chain(chars).collect(),
        None => String::new(),
    }
}

fn uncapital(text: &str) -> String {
    let mut chars = text.chars();
    match chars.next() {
        Some(first) => first.to_lowercase().chain(chars).collect(),
        None => String::new(),
    }
}

fn divided(value: i128, by: i128, toward: Toward) -> i128 {
    match toward {
        Toward::Down => value.div_euclid(by),
        Toward::Up => -(-value).div_euclid(by),
        Toward::Nearest => (value * 2 + by).div_euclid(by * 2),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plain(text: String) -> String {
        text.replace(GAP, " ")
    }

    #[test]
    fn distances_and_torques_are_written_by_setting_and_language() {
        let en = Forms::new(Language::En, Units::Metric);
        assert_eq!(plain(en.km(84_120, Toward::Down)), "84 120 km");
        assert_eq!(plain(en.torque(Torque::from_mnm(140_000))), "140 N·m");
        assert_eq!(
            en.date(NaiveDate::from_ymd_opt(2026, 3, 2).unwrap()),
            "2 March 2026"
        );
        let de = Forms::new(Language::De, Units::Imperial);
        // 84 120 km = 52 269.7 mi; 140 N·m = 103.26 lbf·ft; 212 °C = 413.6 °F: by hand.
        assert_eq!(plain(de.km(84_120, Toward::Down)), "52 269 mi");
        assert_eq!(plain(de.torque(Torque::from_mnm(140_000))), "103 lbf·ft");
        assert_eq!(
            plain(de.temperature(Temperature::from_millidegrees(212_000), Toward::Down)),
            "413 °F"
        );
        assert_eq!(
            de.date(NaiveDate::from_ymd_opt(2026, 3, 2).unwrap()),
            "2. März 2026"
        );
    }

    #[test]
    fn rounding_never_flatters() {
        let en = Forms::new(Language::En, Units::Metric);
        assert_eq!(
            plain(en.length(Length::from_nm(21_999_999), 2, Toward::Down)),
            "21.99 mm"
        );
        assert_eq!(
            plain(en.length(Length::from_nm(80_001), 3, Toward::Up)),
            "0.081 mm"
        );
        assert_eq!(
            plain(en.length(Length::from_nm(-1), 1, Toward::Down)),
            "−0.1 mm"
        );
        assert_eq!(
            plain(en.length(Length::from_nm(i64::MIN), 3, Toward::Up)),
            "−9223372036854.775 mm"
        );
    }
}
