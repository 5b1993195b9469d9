//! Every finding explains itself.

use super::bench::*;

#[test]
fn every_finding_explains_itself() {
    for number in JOBS {
        let bench = Bench::of(number);
        let job = bench.book.fold();
        let case = bench.specs.case(&job, &bench.register);
        let judgement = judge(&case);
        for finding in judgement.findings() {
            let explained =
                brakecorner::judge::why::explain(&case, &judgement, finding.place, finding.item);
            let one = explained.iter().find(|e| e.phase == finding.phase).unwrap();
            let last = one.steps.last().unwrap();
            assert_eq!(last.title, "Decision");
            assert!(
                last.lines
                    .last()
                    .unwrap()
                    .starts_with(&finding.verdict.to_string()),
                "{last:?}"
            );
            if finding.conformance_probability.is_some() {
                let titles: Vec<_> = one
                    .steps
                    .iter()
                    .map(|s| s.title)
                    .filter(|title| *title != "Forecast")
                    .collect();
                assert_eq!(
                    titles,
                    [
                        "Readings",
                        "Corrections",
                        "Statistic",
                        "Uncertainty",
                        "Limits",
                        "Decision"
                    ],
                    "{} {}",
                    finding.place,
                    finding.item
                );
            }
        }
    }
}
