//! What tools that know nothing of this program say of its sheets.

use super::jobs::*;
use super::*;

/// Words of a text: runs of letters and digits.
fn words(text: &str) -> BTreeSet<String> {
    text.split(|c: char| !c.is_alphanumeric())
        .filter(|w| !w.is_empty())
        .map(str::to_owned)
        .collect()
}

#[cfg(feature = "pdf")]
#[test]
#[ignore = "needs pdftotext and qpdf; tests/run sets them up"]
fn the_pdf_has_the_words_of_the_model_no_more_and_no_less() {
    let yard = Yard::demo();
    for (job, extra) in [
        ("HWY-0411", vec![]),
        ("HWY-0417", vec!["--for", "workshop"]),
        (
            "HWY-0423",
            vec!["--lang", "de", "--large", "--paper", "letter"],
        ),
        ("HWY-0429", vec!["--for", "workshop", "--lang", "de"]),
    ] {
        let file = format!("{job}.pdf");
        yard.run(&[&["sheet", job, "-o", &file], &extra[..]].concat())
            .ends(0);
        let path = yard.root().join(&file);
        let tool = |program: &str, args: &[&str]| {
            std::process::Command::new(program)
                .args(args)
                .output()
                .unwrap()
        };
        let check = tool("qpdf", &["--check", path.to_str().unwrap()]);
        assert!(check.status.success(), "{check:?}");
        let text = tool("pdftotext", &["-layout", path.to_str().unwrap(), "-"]);
        let printed = words(&String::from_utf8(text.stdout).unwrap());
        let json = yard
            .run(&[&["--json", "sheet", job], &extra[..]].concat())
            .ends(0)
            .json();
        let mut said = Vec::new();
        texts(&json, &mut said);
        let all = words(&said.join(" "));
        // Drawn in pictures: numbers of studs and marks; at the foot: page numbers.
        let drawn = |word: &String| word.chars().all(|c| c.is_ascii_digit()) || word.len() == 1;
        let odd: Vec<&String> = printed
            .iter()
            .filter(|w| !all.contains(*w) && !drawn(w))
            .collect();
        assert!(
            odd.is_empty(),
            "{job}: printed and not in the model: {odd:?}"
        );
        let mut shown = Vec::new();
        let mut body = json;
        for key in ["labels", "language", "paper", "kind", "edition", "as_of"] {
            body.as_object_mut().unwrap().remove(key);
        }
        collect_shown(&body, &mut shown);
        let wanted = words(&shown.join(" "));
        let lost: Vec<&String> = wanted.iter().filter(|w| !printed.contains(*w)).collect();
        assert!(
            lost.is_empty(),
            "{job}: in the model and not printed: {lost:?}"
        );
    }
}

/// Texts a reader sees: without ids, tones, alternative texts of pictures.
fn collect_shown(value: &serde_json::Value, out: &mut Vec<String>) {
    match value {
        serde_json::Value::Object(fields) => {
            for (key, field) in fields {
                let silent = matches!(
                    key.as_str(),
                    "id" | "tone"
                        | "alt"
                        | "svg"
                        | "code"
                        | "palette"
                        | "icons"
                        | "format"
                        | "sha256"
                        | "none"
                );
                if !silent {
                    collect_shown(field, out);
                }
            }
        }
        serde_json::Value::Array(items) => items.iter().for_each(|item| collect_shown(item, out)),
        serde_json::Value::String(text) => out.push(text.clone()),
        _ => {}
    }
}

/// Every text of a JSON value that is shown as text.
fn texts(value: &serde_json::Value, out: &mut Vec<String>) {
    match value {
        serde_json::Value::String(text) if !text.starts_with("<svg") => out.push(text.clone()),
        serde_json::Value::Array(items) => items.iter().for_each(|item| texts(item, out)),
        serde_json::Value::Object(fields) => fields
            .iter()
            .filter(|(key, _)| !matches!(key.as_str(), "palette" | "icons"))
            .for_each(|(_, field)| texts(field, out)),
        _ => {}
    }
}

#[test]
#[ignore = "needs node, axe-core and chromium; tests/run sets them up"]
fn the_page_has_no_barrier_and_does_not_scroll_sideways_on_a_phone() {
    let modules =
        std::env::var("BRAKECORNER_NODE_MODULES").expect("tests/run sets BRAKECORNER_NODE_MODULES");
    let yard = Yard::demo();
    let mut files = Vec::new();
    for (name, args) in [
        ("a.html", vec!["HWY-0411"]),
        (
            "b.html",
            vec!["HWY-0417", "--for", "workshop", "--lang", "de"],
        ),
        (
            "c.html",
            vec!["HWY-0423", "--revision", "1", "--for", "workshop"],
        ),
        ("d.html", vec!["HWY-0429", "--large"]),
        ("w.html", vec!["HWY-0411", "--worksheet"]),
        ("t.html", vec!["HWY-0411", "--tag"]),
    ] {
        yard.run(&[&["sheet"], &args[..], &["-o", name]].concat())
            .ends(0);
        files.push(yard.root().join(name));
    }
    let (job, extra) = harmful();
    let page = html::render(&Bench::new().model(&job, &extra, form(Edition::Workshop)));
    files.push(yard.root().join("harm.html"));
    std::fs::write(files.last().unwrap(), page).unwrap();
    let (job, extra, _) = huge();
    let page = html::render(&Bench::new().model(&job, &extra, form(Edition::Workshop)));
    files.push(yard.root().join("huge.html"));
    std::fs::write(files.last().unwrap(), page).unwrap();
    let out = std::process::Command::new("node")
        .arg(concat!(
            env!("CARGO_MANIFEST_DIR"),
            "/tests/outside/axe.mjs"
        ))
        .arg(modules)
        .args(&files)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&out.stdout);
    assert!(
        out.status.success(),
        "{said}\n{}",
        String::from_utf8_lossy(&out.stderr)
    );
    assert_eq!(
        said.lines()
            .filter(|l| l.ends_with(" no violations, no sideways scrolling"))
            .count(),
        files.len(),
        "{said}"
    );
}
