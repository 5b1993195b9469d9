//! The answer of a check, as a few lines of text or as JSON.

use serde_json::{Value, json};

use crate::cli::style::Style;
use crate::cli::{Exit, Failure, World};
use crate::job::Place;
use crate::judge::{Figure, Finding, ItemVerdict, Verdict};
use crate::measure::conformity::{Proof, in_words};
use crate::measure::uncertainty::Gauge;
use crate::units::{Length, LengthUnit};

/// Columns the text keeps to.
const COLUMNS: usize = 80;
/// Columns of the names of values.
const NAMES: usize = 14;

/// An answer.
pub(super) struct Answer {
    /// What was checked.
    pub(super) title: &'static str,
    /// The judgement; `None` where nothing is judged.
    pub(super) verdict: Option<ItemVerdict>,
    /// Whether the answer is a good one, when there is no verdict.
    pub(super) good: bool,
    /// Values by name.
    pub(super) rows: Vec<(String, String)>,
    /// Why the verdict is what it is.
    pub(super) reasons: Vec<String>,
    /// What else is to be known; changes nothing.
    pub(super) notes: Vec<String>,
    /// The method's name.
    pub(super) method: String,
    /// The same for programs, without verdict, reasons, notes and method.
    pub(super) json: Value,
}

impl Answer {
    /// An answer that nothing is judged in.
    pub(super) fn plain(title: &'static str, method: impl Into<String>) -> Self {
        Self {
            title,
            verdict: None,
            good: true,
            rows: Vec::new(),
            reasons: Vec::new(),
            notes: Vec::new(),
            method: method.into(),
            json: json!({}),
        }
    }

    /// An answer judged by its findings: the worst wins, the reasons of all are kept.
    pub(super) fn judged(
        title: &'static str,
        method: impl Into<String>,
        findings: &[&Finding],
    ) -> Self {
        Self {
            verdict: worst(findings),
            reasons: findings
                .iter()
                .flat_map(|finding| {
                    let reasons = reasons(finding).into_iter();
                    reasons.map(|reason| match findings.len() {
                        1 => reason,
                        _ => format!("{}: {reason}", label(finding)),
                    })
                })
                .collect(),
            ..Self::plain(title, method)
        }
    }

    /// Adds a named value.
    pub(super) fn row(&mut self, name: impl Into<String>, value: impl Into<String>) {
        self.rows.push((name.into(), value.into()));
    }

    /// Adds the line that says how sure a finding is.
    pub(super) fn sure(&mut self, finding: &Finding) {
        if let Some(line) = sureness(finding) {
            self.row("sure", line);
        }
    }

    /// The exit code.
    pub(super) fn exit(&self) -> Exit {
        let good = match self.verdict {
            Some(verdict) => verdict == ItemVerdict::Pass && self.good,
            None => self.good,
        };
        if good { Exit::Good } else { Exit::NotGood }
    }

    /// Prints the answer.
    pub(super) fn write(
        mut self,
        style: Style,
        as_json: bool,
        world: &mut World<'_>,
    ) -> Result<Exit, Failure> {
        let exit = self.exit();
        if as_json {
            if let Value::Object(fields) = &mut self.json {
                if let Some(verdict) = self.verdict {
                    fields.insert("verdict".to_owned(), json!(verdict));
                }
                fields.insert("reasons".to_owned(), json!(self.reasons));
                fields.insert("notes".to_owned(), json!(self.notes));
                // `wear` has a field of this name with the evidence used.
                if !fields.contains_key("method") {
                    fields.insert("method".to_owned(), json!(self.method));
                }
            }
            writeln!(world.out, "{:#}", self.json)?;
        } else {
            world.out.write_all(self.text(style).as_bytes())?;
        }
        Ok(exit)
    }

    fn text(&self, style: Style) -> String {
        let mut out = match self.verdict {
            Some(verdict) => format!("{}  {}\n", self.title, style.verdict(verdict)),
            None => format!("{}\n", self.title),
        };
        for (name, value) in &self.rows {
            let lead = format!("  {name:<NAMES$} ");
            out.push_str(&wrapped(&lead, &style.text(value)));
        }
        for reason in &self.reasons {
            out.push_str(&wrapped("  > ", &style.text(reason)));
        }
        for note in &self.notes {
            out.push_str(&wrapped("  note: ", &style.text(note)));
        }
        out.push_str(&wrapped("  method: ", &style.text(&self.method)));
        out
    }
}

/// What a finding is about, for a reason among those of others.
fn label(finding: &Finding) -> String {
    match finding.place {
        Place::Axle(axle) => format!("{axle} axle"),
        _ => finding.item.title().to_owned(),
    }
}

/// Whose limit a length was judged by.
pub(super) fn whose(finding: &Finding) -> &str {
    let source = finding.limit_source.as_str();
    if source.starts_with("maker: ") {
        "given"
    } else {
        source
    }
}

/// The worst verdict of some findings.
pub(super) fn worst(findings: &[&Finding]) -> Option<ItemVerdict> {
    findings
        .iter()
        .map(|finding| finding.verdict)
        .max_by_key(|verdict| Verdict::from(*verdict))
}

fn reasons(finding: &Finding) -> Vec<String> {
    if finding.verdict != ItemVerdict::NoLimit {
        return finding.reasons.clone();
    }
    if matches!(finding.value, Some(Figure::Length(_))) {
        return vec!["no limit was given: add --limit".to_owned()];
    }
    // What a rule would need to know follows the plain fact.
    let mut reasons = vec!["no rule gives a limit".to_owned()];
    reasons.extend(finding.reasons.iter().skip(1).cloned());
    reasons
}

/// The fields that say how sure a length's finding is.
pub(super) fn sure_fields(finding: &Finding) -> [(&'static str, Value); 4] {
    let limit = finding.limit.map(|limit| limit.number());
    [
        (
            "conformance_probability",
            json!(finding.conformance_probability),
        ),
        ("proof", json!(finding.proof)),
        ("limit_mm", json!(limit)),
        ("limit_source", json!(finding.limit.map(|_| whose(finding)))),
    ]
}

/// Adds fields to a JSON object.
pub(super) fn extend<'f>(value: &mut Value, fields: impl IntoIterator<Item = (&'f str, Value)>) {
    if let Value::Object(map) = value {
        map.extend(fields.into_iter().map(|(k, v)| (k.to_owned(), v)));
    }
}

fn sureness(finding: &Finding) -> Option<String> {
    let probability = finding.conformance_probability?;
    let proof = match finding.proof? {
        Proof::ProvenIn => "proven in",
        Proof::NotProven => "not proven",
        Proof::ProvenOut => "proven out",
        Proof::Looked => "looked at",
    };
    let u = finding.u.map(|u| format!("u {:.2} µm; ", u * 1e3));
    Some(format!(
        "{}that it conforms is {} (probability {probability:.4}): {proof}",
        u.unwrap_or_default(),
        in_words(probability)
    ))
}

/// A length in millimetres with a fixed number of decimals.
pub(super) fn mm(length: Length, places: usize) -> String {
    format!("{} mm", length.rounded(LengthUnit::Millimetre, places))
}

/// What was assumed about the gauge, for the method's line.
pub(super) fn gauge_words(gauge: &Gauge) -> String {
    format!(
        "gauge ±{} with steps of {}, repeatability {}",
        gauge.mpe, gauge.resolution, gauge.repeatability
    )
}

/// Text after a lead, broken at blanks before the last column and indented below.
fn wrapped(lead: &str, text: &str) -> String {
    let indent = lead.chars().count();
    let mut out = lead.to_owned();
    let mut column = indent;
    let mut first = true;
    for word in text.split_whitespace() {
        let width = word.chars().count();
        if !first && column + 1 + width > COLUMNS {
            out.push('\n');
            out.push_str(&" ".repeat(indent));
            column = indent;
        } else if !first {
            out.push(' ');
            column += 1;
        }
        out.push_str(word);
        column += width;
        first = false;
    }
    out.push('\n');
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_line_is_longer_than_eighty_columns() {
        let text = "a word and µm and another ".repeat(20);
        for line in wrapped("  note: ", &text).lines() {
            assert!(line.chars().count() <= COLUMNS, "{line}");
        }
    }
}
