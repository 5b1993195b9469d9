//! Whose entries `undo` strikes, and what a walk does when its entries are struck from outside.

use std::io::{BufRead as _, BufReader, Write as _};
use std::process::{Child, ChildStdin, ChildStdout};

use crate::common::Yard;

struct Walking {
    child: Child,
    input: ChildStdin,
    output: BufReader<ChildStdout>,
}

impl Walking {
    fn begin(yard: &Yard) -> Self {
        let mut child = yard.start(&["walk", "T-1", "--part", "found"]);
        let input = child.stdin.take().unwrap();
        let output = BufReader::new(child.stdout.take().unwrap());
        Self {
            child,
            input,
            output,
        }
    }

    /// Types lines and waits until the walk has said this.
    fn types(&mut self, lines: &str, until: &str) -> String {
        self.input.write_all(lines.as_bytes()).unwrap();
        let mut all = String::new();
        while !all.contains(until) {
            let mut line = String::new();
            assert_ne!(self.output.read_line(&mut line).unwrap(), 0, "{all}");
            all.push_str(&line);
        }
        all
    }

    fn ends(mut self) {
        drop(self.input);
        self.child.wait().unwrap();
    }
}

fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn struck(yard: &Yard) -> usize {
    let journal = yard.journal("T-1");
    let struck = |line: &&String| line.contains(r#""kind":"struck""#);
    journal.iter().filter(struck).count()
}

#[test]
fn nobody_undoes_the_entry_of_another_person() {
    let yard = Yard::with_job();
    let mut first = Walking::begin(&yard);
    first.types("0.001\n0\n0\n", "FL wheel.fasteners →");
    // Tam is sent to FR, where he has entered nothing: neither alone nor by name does he reach FL.
    let said = yard.typed(
        &["walk", "T-1", "--part", "found", "--by", "Tam Okoro"],
        "undo\nundo FL\nundo nowhere\n0\nundo\n",
    );
    assert_eq!(struck(&yard), 1, "{}", said.out);
    let said = flat(&said.out);
    assert!(said.contains("nothing of yours to undo at FR"), "{said}");
    assert!(
        said.contains("the last entry at FL is Ilse Varga's (FL wheel.fasteners)"),
        "{said}"
    );
    assert!(said.contains("`nowhere` is no corner"), "{said}");
    assert!(
        said.contains("struck (still readable): FR wheel.seat"),
        "{said}"
    );
    first.ends();
}

#[test]
fn undo_at_another_corner_says_how_one_s_own_entry_is_reached() {
    let yard = Yard::with_job();
    let said = yard.typed(
        &["walk", "T-1", "--part", "found"],
        "0.001\n0\ngo FR\nundo\nundo FL\n",
    );
    let text = flat(&said.out);
    // The zero check belongs to no corner: it is at hand everywhere.
    assert!(
        text.contains("struck (still readable): zero check of HW-M1"),
        "{text}"
    );
    assert!(
        text.contains("struck (still readable): FL wheel.seat"),
        "{text}"
    );
    assert_eq!(struck(&yard), 2);
}

#[test]
fn a_strike_from_outside_stops_the_walk_and_no_value_goes_to_another_stud() {
    let yard = Yard::with_job();
    let mut first = Walking::begin(&yard);
    let up_to_ring = format!("0.001\n{}6.1 / 6.3\n0\n0.006\n\n", "0\n".repeat(12));
    first.types(&up_to_ring, "end float: ");
    first.types("0.000\n0.004\n0.008\n", "3 of 10, stud 2 → 0.008 mm");
    // The same person, from another place: strikes point 3.
    let said = yard.typed(&["walk", "T-1", "--part", "found"], "undo FL\n");
    assert!(
        flat(&said.out).contains("struck (still readable): FL disc.runout point 3 0.008"),
        "{}",
        said.out
    );
    // Typed for point 4, and the next for point 5: neither is taken, nor what comes before a yes.
    let said = first.types(
        "0.004\n-0.001\nyes\n",
        "look at the screen before the next value: yes goes on > yes",
    );
    assert!(
        said.contains("Ilse Varga struck an entry at FL from another place"),
        "{said}"
    );
    assert!(
        said.contains("not taken: 0.004") && said.contains("not taken: -0.001"),
        "{said}"
    );
    first.types("0.008\n0.004\n", "4 of 10, stud 2½ → 0.004 mm");
    first.ends();
    let points: Vec<(String, String)> = yard
        .journal("T-1")
        .iter()
        .map(|line| serde_json::from_str::<serde_json::Value>(line).unwrap()["event"].clone())
        .filter(|e| e["item"] == "disc.runout" && e["kind"] == "reading")
        .map(|e| {
            (
                e["slot"].as_str().unwrap().to_owned(),
                e["text"].as_str().unwrap().to_owned(),
            )
        })
        .collect();
    let of = |slot: &str| -> Vec<&str> {
        let all = points.iter().filter(|(at, _)| at == slot);
        all.map(|(_, text)| text.as_str()).collect()
    };
    assert_eq!(of("point 3"), ["0.008", "0.008"]);
    assert_eq!(of("point 4"), ["0.004"]);
    assert!(of("point 5").is_empty());
}

#[test]
fn a_step_somebody_else_answered_meanwhile_takes_no_value() {
    let yard = Yard::with_job();
    let mut first = Walking::begin(&yard);
    first.types("0.001\n0\n", "FL wheel.seat →");
    yard.run(&["log", "T-1", "FL", "wheel.fasteners", "sound"])
        .ends(0);
    let said = first.types("1\nyes\n", "yes goes on > yes");
    assert!(
        said.contains("somebody else answered this step meanwhile"),
        "{said}"
    );
    first.types("0\n", "FL hose → sound");
    first.ends();
    let journal = yard.journal("T-1").join("\n");
    assert!(!journal.contains(r#""code""#), "{journal}");
}
