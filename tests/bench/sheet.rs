//! The demonstration's sheet as HTML and PDF, whole process, against headless Chromium printing the
//! same HTML to PDF. Run with `cargo bench --bench sheet`; needs GNU time and Chromium.
//!
//! Time is the median of the runs; memory is the largest resident set of any one process, which
//! favours the browser: it is many processes, and only its largest counts.

#![allow(clippy::print_stdout)] // the result of a benchmark is what it prints

use std::path::Path;
use std::process::{Command, Stdio};

const RUNS: usize = 9;

/// Seconds and peak KiB of a command.
fn measured(program: &str, args: &[&str]) -> Option<(f64, f64)> {
    let out = Command::new("time")
        .args(["-f", "%e %M", program])
        .args(args)
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .output()
        .ok()?;
    if !out.status.success() {
        return None;
    }
    let said = String::from_utf8_lossy(&out.stderr).into_owned();
    let (seconds, kib) = said.lines().last()?.split_once(' ')?;
    Some((seconds.parse().ok()?, kib.parse().ok()?))
}

/// Median time and largest memory of several runs.
fn median(program: &str, args: impl Fn(usize) -> Vec<String>) -> Option<(f64, f64)> {
    let mut all = Vec::new();
    for run in 0..RUNS {
        let args = args(run);
        let args: Vec<&str> = args.iter().map(String::as_str).collect();
        all.push(measured(program, &args)?);
    }
    let memory = all.iter().map(|(_, kib)| *kib).fold(0.0, f64::max);
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    Some((all.get(RUNS / 2)?.0, memory / 1024.0))
}

fn main() {
    let ours = env!("CARGO_BIN_EXE_brakecorner");
    let Ok(folder) = tempfile::tempdir() else {
        println!("no temporary folder");
        return;
    };
    let at = |name: &str| folder.path().join(name).display().to_string();
    let shop = at("shop");
    let made = Command::new(ours)
        .args(["demo", "--to", &shop])
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status();
    if !made.is_ok_and(|status| status.success()) {
        println!("the demonstration could not be made");
        return;
    }
    let sheet = |form: &str, name: String| {
        let args = [
            "--shop", &shop, "sheet", "HWY-0417", "--as", form, "-o", &name,
        ];
        args.map(str::to_owned).to_vec()
    };
    let html = median(ours, |run| sheet("html", at(&format!("{run}.html"))));
    let pdf = median(ours, |run| sheet("pdf", at(&format!("{run}.pdf"))));
    let page = format!("file://{}", at("0.html"));
    let profile = format!("--user-data-dir={}", at("profile"));
    let browser = median("chromium", |run| {
        let to = format!("--print-to-pdf={}", at(&format!("browser-{run}.pdf")));
        [
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            &profile,
            &to,
            &page,
        ]
        .map(str::to_owned)
        .to_vec()
    });
    println!(
        "{:34} {:>10} {:>12}",
        "job HWY-0417, median of 9", "seconds", "peak MiB"
    );
    for (name, result) in [
        ("sheet --as html", html),
        ("sheet --as pdf", pdf),
        ("chromium --print-to-pdf", browser),
    ] {
        match result {
            Some((seconds, mib)) => println!("{name:34} {seconds:>10.3} {mib:>12.1}"),
            None => println!(
                "{name:34} not measured: needs GNU `time`{}",
                if name.starts_with('c') {
                    " and chromium"
                } else {
                    ""
                }
            ),
        }
    }
    if let (Some(pdf), Some(browser)) = (pdf, browser) {
        // GNU time counts hundredths of a second; a run faster than that counts as one.
        println!(
            "chromium / sheet --as pdf: {:.0} times the time, {:.1} times the memory",
            browser.0 / pdf.0.max(0.01),
            browser.1 / pdf.1
        );
        let same = Path::new(&at("0.pdf")).exists();
        assert!(same, "the PDF was written");
    }
}
