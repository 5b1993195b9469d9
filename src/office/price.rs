//! The price list: parts, labour, consumables and tax, in exact decimals.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use crate::job::{LineId, Work};
use crate::job::{Money, Place};

/// Why a price list cannot be used.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum PriceError {
    /// Broken TOML, an unknown key, or a number where a text is wanted.
    #[error("{0}")]
    Syntax(String),
    /// A figure that does not read.
    #[error("{entry}: `{key}` is `{value}`; {expected}")]
    Figure {
        /// Which entry.
        entry: String,
        /// Which key.
        key: &'static str,
        /// Its value.
        value: String,
        /// What it should be.
        expected: String,
    },
    /// An entry names both or neither of a fixed price and its parts.
    #[error(
        "{entry}: expected either `fixed`, or `parts` and `hours` (one of the two may be left out)"
    )]
    Shape {
        /// Which entry.
        entry: String,
    },
    /// Two entries are for the same work.
    #[error("{entry}: the same work is priced twice for the same axle and sheet")]
    Twice {
        /// Which entry.
        entry: String,
    },
    /// Several of these.
    #[error("{}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "))]
    Several(Vec<Self>),
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
struct RawList {
    #[serde(default)]
    labour_rate: String,
    #[serde(default)]
    tax: RawTax,
    #[serde(default = "two")]
    decimals: u32,
    #[serde(default)]
    price: Vec<RawPrice>,
}

const fn two() -> u32 {
    2
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
struct RawTax {
    #[serde(default)]
    percent: String,
    #[serde(default)]
    included: bool,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct RawPrice {
    work: String,
    #[serde(default)]
    axle: String,
    #[serde(default)]
    sheet: String,
    #[serde(default)]
    words: String,
    #[serde(default)]
    fixed: String,
    #[serde(default)]
    parts: String,
    #[serde(default)]
    hours: String,
    #[serde(default)]
    consumables: String,
}

/// One entry of a price list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Price {
    /// The work.
    pub work: Work,
    /// Only for this axle.
    pub axle: Option<crate::job::Axle>,
    /// Only for this spec sheet.
    pub sheet: String,
    /// The line in the workshop's own words.
    pub words: String,
    /// The price of one line.
    pub amount: Money,
    /// How it comes about, in words.
    pub made_of: String,
}

/// A workshop's price list.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PriceList {
    /// The entries.
    pub prices: Vec<Price>,
    /// Tax in percent.
    pub tax_percent: Decimal,
    /// Whether the prices hold the tax already.
    pub tax_included: bool,
    /// Decimals an amount is rounded to.
    pub decimals: u32,
}

/// What a sum comes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Total {
    /// Without tax.
    pub net: Money,
    /// The tax.
    pub tax: Money,
    /// With tax: what is paid.
    pub gross: Money,
}

impl PriceList {
    /// Reads a price list.
    ///
    /// Shape: amounts and hours are texts (`"286.00"`), so that no float ever holds money.
    ///
    /// # Errors
    /// [`PriceError`] with every problem of the file.
    ///
    /// # Examples
    /// ```
    /// use brakecorner::office::PriceList;
    /// let list = PriceList::parse(r#"
    ///     labour_rate = "48.00"
    ///     tax = { percent = "20", included = true }
    ///     [[price]]
    ///     work = "slide_pins"
    ///     parts = "22.00"
    ///     hours = "0.875"
    /// "#)?;
    /// let line = "RR.slide_pins".parse()?;
    /// assert_eq!(list.find(line, "any").map(|p| p.amount.to_string()), Some("64.00".into()));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn parse(text: &str) -> Result<Self, PriceError> {
        let raw: RawList = toml::from_str(text)
            .map_err(|e| PriceError::Syntax(e.to_string().trim().to_owned()))?;
        let mut problems = Vec::new();
        let rate = money("price list", "labour_rate", &raw.labour_rate, &mut problems);
        let tax_percent =
            decimal("tax", "percent", &raw.tax.percent, &mut problems).unwrap_or(Decimal::ZERO);
        if tax_percent > Decimal::ONE_HUNDRED {
            problems.push(figure(
                "tax",
                "percent",
                &raw.tax.percent,
                "expected 0 to 100",
            ));
        }
        let mut list = Self {
            prices: Vec::new(),
            tax_percent,
            tax_included: raw.tax.included,
            decimals: raw.decimals.min(3),
        };
        for price in &raw.price {
            let read = read(price, rate, list.decimals, &mut problems);
            if let Some(read) = read {
                let same =
                    |p: &&Price| (p.work, p.axle, &p.sheet) == (read.work, read.axle, &read.sheet);
                if list.prices.iter().any(|p| same(&p)) {
                    let entry = entry_name(price);
                    problems.push(PriceError::Twice { entry });
                }
                list.prices.push(read);
            }
        }
        match problems.len() {
            0 => Ok(list),
            1 => Err(problems.remove(0)),
            _ => Err(PriceError::Several(problems)),
        }
    }

    /// The entry for a line: one for this sheet before one for any, one for this axle before one
    /// for both.
    #[must_use]
    pub fn find(&self, line: LineId, sheet: &str) -> Option<&Price> {
        let axle = match line.place {
            Place::Axle(axle) => Some(axle),
            Place::Corner(corner) => Some(corner.axle()),
            Place::Vehicle => None,
        };
        self.prices
            .iter()
            .filter(|p| p.work == line.work)
            .filter(|p| p.sheet.is_empty() || p.sheet == sheet)
            .filter(|p| p.axle.is_none() || p.axle == axle)
            .max_by_key(|p| (!p.sheet.is_empty(), p.axle.is_some()))
    }

    /// The total of amounts, with the tax computed once on their sum.
    ///
    /// Formula: prices without tax: `tax = round(net · p/100)`, `gross = net + tax`; prices with tax:
    /// `net = round(gross · 100/(100 + p))`, `tax = gross − net`. Rounded half away from zero to the
    /// list's decimals. Source: own; a tax office may want another way.
    #[must_use]
    pub fn total(&self, amounts: impl IntoIterator<Item = Money>) -> Total {
        let sum: Money = amounts.into_iter().sum();
        let hundred = Decimal::ONE_HUNDRED;
        if self.tax_included {
            let gross = Money::rounded(sum.decimal(), self.decimals);
            let net = gross.decimal() * hundred / (hundred + self.tax_percent);
            let net = Money::rounded(net, self.decimals);
            Total {
                net,
                tax: gross.less(net),
                gross,
            }
        } else {
            let net = Money::rounded(sum.decimal(), self.decimals);
            let tax = Money::rounded(net.decimal() * self.tax_percent / hundred, self.decimals);
            Total {
                net,
                tax,
                gross: net + tax,
            }
        }
    }
}

fn entry_name(raw: &RawPrice) -> String {
    let mut name = format!("price `{}`", raw.work);
    for (word, value) in [("axle", &raw.axle), ("sheet", &raw.sheet)] {
        if !value.is_empty() {
            name.push_str(&format!(" {word} {value}"));
        }
    }
    name
}

fn figure(entry: &str, key: &'static str, value: &str, expected: &str) -> PriceError {
    PriceError::Figure {
        entry: entry.to_owned(),
        key,
        value: value.to_owned(),
        expected: expected.to_owned(),
    }
}

/// An amount; an empty text is none.
fn money(
    entry: &str,
    key: &'static str,
    text: &str,
    problems: &mut Vec<PriceError>,
) -> Option<Money> {
    if text.is_empty() {
        return None;
    }
    text.parse()
        .map_err(|error: crate::job::MoneyError| {
            problems.push(figure(entry, key, text, &error.to_string()));
        })
        .ok()
}

/// A number that is no amount: hours, percent.
fn decimal(
    entry: &str,
    key: &'static str,
    text: &str,
    problems: &mut Vec<PriceError>,
) -> Option<Decimal> {
    money(entry, key, text, problems).map(Money::decimal)
}

fn read(
    raw: &RawPrice,
    rate: Option<Money>,
    decimals: u32,
    problems: &mut Vec<PriceError>,
) -> Option<Price> {
    let entry = entry_name(raw);
    let before = problems.len();
    let work: Option<Work> = raw
        .work
        .parse()
        .map_err(|e: crate::job::NameError| {
            problems.push(figure(&entry, "work", &raw.work, &e.to_string()));
        })
        .ok();
    let axle = if raw.axle.is_empty() {
        None
    } else {
        raw.axle
            .parse()
            .map_err(|e: crate::job::NameError| {
                problems.push(figure(&entry, "axle", &raw.axle, &e.to_string()));
            })
            .ok()
    };
    let fixed = money(&entry, "fixed", &raw.fixed, problems);
    let parts = money(&entry, "parts", &raw.parts, problems);
    let hours = decimal(&entry, "hours", &raw.hours, problems);
    let consumables = money(&entry, "consumables", &raw.consumables, problems);
    if problems.len() > before {
        return None;
    }
    let (amount, made_of) = match (fixed, parts, hours) {
        (Some(fixed), None, None) => (fixed, String::new()),
        (None, None, None) | (Some(_), ..) => {
            problems.push(PriceError::Shape { entry });
            return None;
        }
        (None, parts, hours) => {
            let labour = match (hours, rate) {
                (None, _) => None,
                (Some(hours), Some(rate)) => {
                    Some((hours, Money::rounded(hours * rate.decimal(), decimals)))
                }
                (Some(_), None) => {
                    let expected = "the list has no `labour_rate` to turn hours into money";
                    problems.push(figure(&entry, "hours", &raw.hours, expected));
                    return None;
                }
            };
            let mut words = Vec::new();
            words.extend(parts.map(|parts| format!("parts {parts}")));
            words.extend(labour.map(|(hours, cost)| format!("labour {hours} h {cost}")));
            let sum: Money = parts.into_iter().chain(labour.map(|(_, cost)| cost)).sum();
            (sum, words.join(", "))
        }
    };
    let mut words = vec![made_of];
    words.extend(consumables.map(|c| format!("consumables {c}")));
    words.retain(|w| !w.is_empty());
    Some(Price {
        work: work?,
        axle,
        sheet: raw.sheet.clone(),
        words: raw.words.clone(),
        amount: Money::rounded(
            (amount + consumables.unwrap_or(Money::ZERO)).decimal(),
            decimals,
        ),
        made_of: words.join(", "),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn money(text: &str) -> Money {
        text.parse().unwrap()
    }

    fn list(tax: &str, included: bool) -> PriceList {
        let text = format!("tax = {{ percent = \"{tax}\", included = {included} }}");
        PriceList::parse(&text).unwrap()
    }

    /// Own arithmetic, worked by hand.
    ///
    /// Without tax in the price: 286.00 + 64.00 = 350.00; 20 % of it is 70.00; 420.00 to pay.
    /// 7.7 % of 58.55 is 4.508 35 → 4.51. 5 % of 0.50 is 0.025 → 0.03 (half goes up).
    /// With tax in the price: 350.00 · 100/120 = 291.666… → 291.67, tax 58.33.
    /// 0.01 · 100/119 = 0.0084 → 0.01, tax 0.00.
    #[test]
    fn tax_agrees_with_examples_worked_by_hand() {
        for (percent, included, amounts, net, tax, gross) in [
            ("20", false, vec!["286.00", "64.00"], "350", "70", "420"),
            ("7.7", false, vec!["58.55"], "58.55", "4.51", "63.06"),
            ("5", false, vec!["0.50"], "0.50", "0.03", "0.53"),
            (
                "20",
                true,
                vec!["286.00", "64.00"],
                "291.67",
                "58.33",
                "350",
            ),
            ("19", true, vec!["0.01"], "0.01", "0.00", "0.01"),
            ("0", true, vec!["52"], "52", "0", "52"),
            ("0", false, vec![], "0", "0", "0"),
        ] {
            let total = list(percent, included).total(amounts.into_iter().map(money));
            let expected = Total {
                net: money(net),
                tax: money(tax),
                gross: money(gross),
            };
            assert_eq!(total, expected, "{percent} {included}");
        }
    }

    /// 0.875 h at 48.00 is 42.00; 1.333 h at 47.50 is 63.317 5 → 63.32 (own arithmetic).
    #[test]
    fn labour_is_hours_times_the_rate_rounded_once() {
        let text = |hours: &str, rate: &str| {
            format!(
                "labour_rate = \"{rate}\"\n[[price]]\nwork = \"fluid\"\nhours = \"{hours}\"\nconsumables = \"9.50\""
            )
        };
        for (hours, rate, amount) in [("0.875", "48.00", "51.50"), ("1.333", "47.50", "72.82")] {
            let list = PriceList::parse(&text(hours, rate)).unwrap();
            assert_eq!(list.prices[0].amount, money(amount));
        }
    }

    #[test]
    fn the_narrower_entry_wins() {
        let list = PriceList::parse(
            "[[price]]\nwork = \"pads\"\nfixed = \"90\"\n\
             [[price]]\nwork = \"pads\"\naxle = \"rear\"\nfixed = \"80\"\n\
             [[price]]\nwork = \"pads\"\nsheet = \"van\"\nfixed = \"96.00\"\n",
        )
        .unwrap();
        let amount = |line: &str, sheet: &str| {
            let found = list.find(line.parse().unwrap(), sheet);
            found.map(|p| p.amount.to_string())
        };
        assert_eq!(amount("front.pads", "car").unwrap(), "90.00");
        assert_eq!(amount("rear.pads", "car").unwrap(), "80.00");
        assert_eq!(amount("rear.pads", "van").unwrap(), "96.00");
        assert_eq!(amount("fluid", "van"), None);
    }

    #[test]
    fn every_problem_of_a_list_is_named_at_once() {
        let error = PriceList::parse(
            "tax = { percent = \"120\" }\n\
             [[price]]\nwork = \"pads\"\nfixed = \"-3\"\n\
             [[price]]\nwork = \"paint\"\nfixed = \"3\"\n\
             [[price]]\nwork = \"fluid\"\n\
             [[price]]\nwork = \"hose\"\nhours = \"1\"\n\
             [[price]]\nwork = \"bearing\"\nfixed = \"1\"\n[[price]]\nwork = \"bearing\"\nfixed = \"2\"\n",
        )
        .unwrap_err()
        .to_string();
        for words in [
            "expected 0 to 100",
            "`-3` is negative",
            "`paint` is not a kind of work",
            "either `fixed`, or",
            "no `labour_rate`",
            "priced twice",
        ] {
            assert!(error.contains(words), "`{words}` is missing: {error}");
        }
        let error = PriceList::parse("[[price]]\nwork = \"pads\"\nfixed = 3.5\n").unwrap_err();
        assert!(error.to_string().contains("expected a string"), "{error}");
        assert!(
            PriceList::parse("rate = \"3\"")
                .unwrap_err()
                .to_string()
                .contains("unknown field")
        );
    }
}
