//! What the sheet says.

use super::jobs::*;
use super::*;

#[test]
fn a_revised_quote_has_three_words_to_strike_out_on_every_line() {
    let bench = Bench::new();
    let (job, extra, _) = huge();
    let model = bench.model(&job, &extra, form(Edition::Customer));
    let page = html::render(&model);
    assert_eq!(
        page.matches("<span>do it</span><span>leave it</span><span>ask me on ")
            .count(),
        10
    );
    assert!(page.contains("310.00 ISD") && page.contains("It may begin to shake."));
    let text = text::render(&model, Signs::Ascii);
    assert_eq!(
        text.matches("do it   ·   leave it   ·   ask me on").count(),
        10
    );
}

#[test]
fn metric_and_imperial_sheets_tell_the_same_findings() {
    let (job, extra, _) = huge();
    let bench = Bench::new();
    let lines = |units| {
        let model = bench.model(
            &job,
            &extra,
            Form {
                units,
                ..Form::default()
            },
        );
        model
            .groups
            .iter()
            .map(|g| {
                g.lines
                    .iter()
                    .map(|l| l.subject.clone())
                    .collect::<Vec<_>>()
            })
            .collect::<Vec<_>>()
    };
    assert_eq!(lines(Units::Metric), lines(Units::Imperial));
}

#[test]
fn the_workshops_edition_names_causes_with_what_speaks_for_them() {
    let (bench, job) = scenario("HWY-0423", "wrenfold");
    let model = bench.model(&job, &Extra::default(), form(Edition::Workshop));
    let technical = model.technical.as_ref().unwrap();
    let pins = technical.causes.iter().find(|c| c.cause.contains("pin"));
    let pins = pins.unwrap_or_else(|| panic!("{:?}", technical.causes));
    assert!(!pins.evidence_for.is_empty() && !pins.next_test.is_empty());
    let text = text::render(&model, Signs::Unicode);
    assert!(text.contains("LIKELY CAUSES"), "{text}");
    let customer = bench.model(&job, &Extra::default(), form(Edition::Customer));
    assert!(customer.technical.is_none());
}

#[test]
fn corners_of_a_third_axle_have_words() {
    let corner: Corner = "3L".parse().unwrap();
    let forms = brakecorner::sheet::forms::Forms::new(Language::De, Units::Metric);
    assert_eq!(forms.place(Place::Corner(corner)), "Achse 3 links");
}

/// Compares with a file under `tests/data/sheets`; `BRAKECORNER_UPDATE=1` writes it anew, and the
/// difference is then for a person to read.
#[track_caller]
fn as_kept(name: &str, got: &str) {
    let path = format!("{}/tests/data/sheets/{name}", env!("CARGO_MANIFEST_DIR"));
    if std::env::var_os("BRAKECORNER_UPDATE").is_some() {
        std::fs::write(&path, got).unwrap();
    }
    let kept = std::fs::read_to_string(&path).unwrap_or_default();
    let odd = kept.lines().zip(got.lines()).find(|(a, b)| a != b);
    assert!(
        kept == got,
        "{name} differs, first at {odd:?}; BRAKECORNER_UPDATE=1 writes it anew"
    );
}

#[test]
fn text_and_page_are_as_they_were_kept() {
    let (bench, job) = scenario("HWY-0417", "ternway");
    let extra = Extra {
        workshop: "Hollin Wharf Yard".into(),
        ..Extra::default()
    };
    let model = bench.model(&job, &extra, form(Edition::Workshop));
    as_kept(
        "HWY-0417-workshop.txt",
        &text::render(&model, Signs::Unicode),
    );
    // One element a line, so that a difference can be read.
    let page = html::render(&bench.model(&job, &extra, form(Edition::Customer)));
    as_kept("HWY-0417-customer.html", &page.replace("><", ">\n<"));
    let german = Form {
        language: Language::De,
        units: Units::Imperial,
        ..Form::default()
    };
    let (bench, job) = scenario("HWY-0423", "wrenfold");
    as_kept(
        "HWY-0423-de.txt",
        &text::render(&bench.model(&job, &extra, german), Signs::Ascii),
    );
}
