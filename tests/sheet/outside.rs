//! What tools that know nothing of this program say of its sheets.

use super::harm::hidden;
use super::jobs::*;
use super::*;

/// Words of a text: runs of letters and digits.
fn words(text: &str) -> BTreeSet<String> {
    text.split(|c: char| !c.is_alphanumeric())
        .filter(|w| !w.is_empty())
        .map(str::to_owned)
        .collect()
}

fn tool(program: &str, args: &[&str]) -> std::process::Output {
    std::process::Command::new(program)
        .args(args)
        .output()
        .unwrap_or_else(|e| panic!("{program}: {e}"))
}

#[cfg(feature = "pdf")]
#[test]
#[ignore = "needs pdftoppm and zbarimg; tests/run sets them up"]
fn the_code_on_the_last_page_reads_as_job_revision_and_digest() {
    let yard = Yard::demo();
    for (job, revision, paper) in [("HWY-0411", 2, "a4"), ("HWY-0423", 1, "letter")] {
        let number = revision.to_string();
        let args = [
            "sheet",
            job,
            "--revision",
            &number,
            "--paper",
            paper,
            "-o",
            "q.pdf",
        ];
        let _ = std::fs::remove_file(yard.root().join("q.pdf"));
        yard.run(&args).ends(0);
        let at = |name: &str| yard.root().join(name).display().to_string();
        let drawn = tool("pdftoppm", &["-r", "150", "-png", &at("q.pdf"), &at(job)]);
        assert!(drawn.status.success(), "{drawn:?}");
        let mut read = Vec::new();
        for entry in std::fs::read_dir(yard.root()).unwrap() {
            let path = entry.unwrap().path();
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            if name.starts_with(job) && name.ends_with(".png") {
                let said = tool("zbarimg", &["-q", "--raw", path.to_str().unwrap()]);
                read.extend(
                    String::from_utf8(said.stdout)
                        .unwrap()
                        .lines()
                        .map(str::to_owned),
                );
            }
        }
        let record =
            std::fs::read(yard.path(&format!("jobs/{job}/record-{revision}.json"))).unwrap();
        assert_eq!(
            read,
            [format!("{job} {revision} sha256:{}", sha256_hex(&record))]
        );
    }
}

/// Nothing of a huge job is cut: every word of its notes, every name in whatever writing, and every
/// photo is in the file; and no page is wider than its paper.
#[cfg(feature = "pdf")]
#[test]
#[ignore = "needs pdftotext, pdfimages and qpdf; tests/run sets them up"]
fn nothing_of_a_huge_job_is_cut() {
    let folder = tempfile::tempdir().unwrap();
    let (mut job, extra, _) = huge();
    let names = ["Ωμέγα", "Булгаков", "שלום", "مرحبا", "Ծանոթ"];
    let sentence = format!(
        "note of many words {} end{}",
        names.join(" "),
        "Z".repeat(90)
    );
    job.apply(
        &Meta {
            seq: 9999,
            at: "2026-03-02T09:40:00+00:00".parse().unwrap(),
            by: names[0].into(),
        },
        &Event::Note {
            place: "RR".parse().unwrap(),
            item: None,
            text: sentence.repeat(20),
        },
    );
    let bench = Bench::new();
    for (large, paper) in [(false, Paper::A4), (true, Paper::Letter)] {
        let wanted = Form {
            large,
            paper,
            ..form(Edition::Workshop)
        };
        let model = bench.model(&job, &extra, wanted);
        let path = folder.path().join("huge.pdf").display().to_string();
        std::fs::write(&path, super::pdf::print(&model, None).unwrap()).unwrap();
        assert!(tool("qpdf", &["--check", &path]).status.success());
        let text = String::from_utf8(tool("pdftotext", &["-raw", &path, "-"]).stdout).unwrap();
        // Without the foot of a page, which may stand within a note, and the places to break at.
        let foot = |line: &&str| line.contains(&model.head.title) || line.starts_with("Page ");
        let body = text.lines().filter(|line| !foot(line));
        let body = body.flat_map(str::chars);
        let flat: String = body
            .filter(|c| !c.is_whitespace() && *c != '\u{200b}' && !hidden(*c))
            .collect();
        assert_eq!(
            flat.matches(&"Z".repeat(90)).count(),
            20 + 20,
            "in its block and in the timeline"
        );
        // The long word of every note, whatever lines it was broken into.
        let long = "x".repeat(300);
        let notes = job
            .log()
            .filter(|(_, e, _)| serde_json::to_string(e).unwrap().contains(&long))
            .count();
        assert!(flat.matches(&long).count() >= notes, "{notes}");
        for name in names {
            let turned: String = name.chars().rev().collect();
            assert!(text.contains(name) || text.contains(&turned), "{name}");
        }
        let listed = String::from_utf8(tool("pdfimages", &["-list", &path]).stdout).unwrap();
        assert_eq!(
            listed
                .lines()
                .skip(2)
                .filter(|l| l.contains(" image "))
                .count(),
            12,
            "{listed}"
        );
        // Every word lies within its page.
        let boxes = String::from_utf8(tool("pdftotext", &["-bbox", &path, "-"]).stdout).unwrap();
        let number = |line: &str, name: &str| -> f64 {
            let (_, after) = line.split_once(&format!("{name}=\"")).unwrap();
            after.split_once('"').unwrap().0.parse().unwrap()
        };
        let (mut width, mut height, mut counted) = (0.0, 0.0, 0);
        for line in boxes.lines() {
            if line.trim_start().starts_with("<page ") {
                (width, height) = (number(line, "width"), number(line, "height"));
            } else if line.trim_start().starts_with("<word ") {
                counted += 1;
                let inside = number(line, "xMin") >= 0.0
                    && number(line, "yMin") >= 0.0
                    && number(line, "xMax") <= width
                    && number(line, "yMax") <= height;
                assert!(inside, "{line}");
            }
        }
        assert!(counted > 3000, "{counted}");
    }
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
