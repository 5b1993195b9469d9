//! The PDF: always made, the same for the same record, with a workshop's template and fonts.

use super::jobs::*;

use super::*;
use brakecorner::sheet::pdf::{Job as Print, PdfError, TEMPLATE, render};

pub(super) fn print(model: &SheetModel, template: Option<&str>) -> Result<Vec<u8>, PdfError> {
    render(&Print {
        model: serde_json::to_value(model).unwrap(),
        head: &model.head,
        photos: &model.photos,
        template,
        fonts: &[],
    })
}

/// Pages of a PDF.
pub(super) fn pages(pdf: &[u8]) -> usize {
    String::from_utf8_lossy(pdf).matches("/Type/Page/").count()
        + String::from_utf8_lossy(pdf)
            .matches("/Type /Page\n")
            .count()
}

#[test]
fn harm_in_any_text_never_costs_the_pdf() {
    let (job, extra) = harmful();
    let bench = Bench::new();
    for edition in [Edition::Customer, Edition::Workshop] {
        for (paper, large) in [(Paper::A4, false), (Paper::Letter, true)] {
            let form = Form {
                edition,
                paper,
                large,
                ..Form::default()
            };
            let pdf = print(&bench.model(&job, &extra, form), None).unwrap();
            assert!(pdf.starts_with(b"%PDF-1.7"));
        }
    }
}

#[test]
fn the_same_record_gives_the_same_bytes() {
    let (job, extra) = harmful();
    let bench = Bench::new();
    let once = || print(&bench.model(&job, &extra, form(Edition::Workshop)), None).unwrap();
    assert!(once() == once());
}

#[test]
fn an_empty_and_a_huge_job_flow_over_their_pages() {
    let bench = Bench::new();
    let empty = job_of(&[Event::Opened(Box::new(opening()))], "Ilse Varga");
    let model = bench.model(&empty, &Extra::default(), form(Edition::Customer));
    assert!(!model.groups[3].lines.is_empty(), "nothing was seen");
    print(&model, None).unwrap();
    let (job, extra, count) = huge();
    let model = bench.model(&job, &extra, form(Edition::Workshop));
    let findings: usize = model
        .groups
        .iter()
        .filter(|g| g.id != "holds" && g.id != "put_right")
        .map(|g| g.lines.len())
        .sum();
    assert!(count >= 50 && findings >= 60, "{count} {findings}");
    let pdf = print(&model, None).unwrap();
    assert!(
        pages(&pdf) > 10 || pdf.len() > 200_000,
        "{} bytes",
        pdf.len()
    );
}

#[test]
fn a_photo_that_is_no_picture_is_named_and_never_costs_the_sheet() {
    let bench = Bench::new();
    let broken = b"\xff\xd8\xff and then nothing".to_vec();
    let (job, extra) = with_photos(vec![broken]);
    let model = bench.model(&job, &extra, form(Edition::Customer));
    assert_eq!(model.photos[0].format, None);
    assert!(model.photos[0].caption.contains("cannot be shown"));
    print(&model, None).unwrap();
}

#[test]
fn a_workshops_template_is_used_and_a_broken_one_is_explained() {
    let bench = Bench::new();
    let job = job_of(&[Event::Opened(Box::new(opening()))], "Ilse Varga");
    let model = bench.model(&job, &Extra::default(), form(Edition::Customer));
    let own = "#let d = json(\"/sheet.json\")\n#set document(title: d.title)\n= #d.title\n#d.drive.answer";
    let pdf = print(&model, Some(own)).unwrap();
    assert!(pdf.len() < print(&model, Some(TEMPLATE)).unwrap().len());
    let error = print(&model, Some("#set document(title: \"x\")\n= x\n#nonsense")).unwrap_err();
    assert!(
        error
            .to_string()
            .contains("line 3: unknown variable: nonsense"),
        "{error}"
    );
    // A template sees nothing but the model.
    for path in ["/etc/passwd", "../secret", "/sheet.typ"] {
        let peek = format!("#read(\"{path}\")");
        assert!(print(&model, Some(&peek)).is_err(), "{path}");
    }
}
