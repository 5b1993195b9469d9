//! A practice at the prompt: what is asked, what the gauge shows, what is taken.

use std::collections::BTreeMap;

use serde::Serialize;

use super::rules::Values;
use super::steps::{HELP, Stage, Taken, place, stud, why};
use super::{Dice, FASTENERS, POINTS, Rules, Scene, Trap};
use crate::job::{Entered, Item, Quantity};
use crate::judge::ItemVerdict;
use crate::units::Length;

/// A reading as the trainee entered it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Given {
    /// Exactly as typed.
    pub text: String,
    /// As understood.
    #[serde(rename = "nm")]
    pub value: Length,
}

/// What the gauge showed.
#[derive(Clone, Copy, Debug)]
pub(super) struct Look {
    pub(super) set: Taken,
    /// Where it was.
    pub(super) point: usize,
    /// The point that was asked for then.
    pub(super) asked: usize,
    pub(super) value: Length,
}

/// What came of a line.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Said {
    /// Words for the trainee.
    pub lines: Vec<String>,
    /// The trainee wants to stop.
    pub quit: bool,
}

fn say(line: impl Into<String>) -> Said {
    Said {
        lines: vec![line.into()],
        quit: false,
    }
}

/// The order of the work.
const STAGES: [Stage; 13] = [
    Stage::Take(Taken::Zero),
    Stage::Take(Taken::Float),
    Stage::Take(Taken::Ring1),
    Stage::Clocking,
    Stage::Take(Taken::Ring2),
    Stage::Place,
    Stage::Take(Taken::Thickness),
    Stage::Take(Taken::Pads),
    Stage::Verdict(Item::DiscThickness),
    Stage::Verdict(Item::DiscVariation),
    Stage::Verdict(Item::DiscRunout),
    Stage::Verdict(Item::PadsThickness),
    Stage::Worse,
];

/// Words that are commands here; no reading begins like one of them.
const WORDS: [&str; 8] = ["at", "help", "quit", "redo", "rock", "show", "undo", "why"];

/// A practice in progress.
#[derive(Clone, Debug)]
pub struct Session {
    scene: Scene,
    rules: Rules,
    dice: Dice,
    stage: usize,
    given: BTreeMap<Taken, Vec<Given>>,
    /// Everything the gauge showed.
    looks: Vec<Look>,
    /// The first ring was begun again, with the stand set firmly.
    firm: bool,
    square: bool,
    from_edge: Length,
    clocking: Option<u8>,
    verdicts: Vec<(Item, ItemVerdict)>,
    worse: Option<&'static str>,
}

impl Session {
    /// Begins a practice on a scene.
    #[must_use]
    pub fn new(scene: Scene, rules: Rules) -> Self {
        let trap = |trap| scene.traps.contains(&trap);
        Self {
            // The gauges' noise is drawn apart from the corner.
            dice: Dice::new(scene.seed ^ 0x5eed_0f90_15e5),
            square: !trap(Trap::Scatter),
            from_edge: Length::from_nm(if trap(Trap::Lip) {
                3_000_000
            } else {
                12_000_000
            }),
            scene,
            rules,
            stage: 0,
            given: BTreeMap::new(),
            looks: Vec::new(),
            firm: false,
            clocking: None,
            verdicts: Vec::new(),
            worse: None,
        }
    }

    /// The scene.
    #[must_use]
    pub const fn scene(&self) -> &Scene {
        &self.scene
    }

    pub(super) const fn rules(&self) -> &Rules {
        &self.rules
    }

    /// The readings of a set.
    #[must_use]
    pub fn given(&self, set: Taken) -> &[Given] {
        self.given.get(&set).map_or(&[], Vec::as_slice)
    }

    /// Whether a set has all its readings.
    #[must_use]
    pub fn complete(&self, set: Taken) -> bool {
        self.given(set).len() == set.points()
    }

    /// What the gauge showed in a set.
    pub(super) fn looks(&self, set: Taken) -> impl Iterator<Item = &Look> {
        self.looks.iter().filter(move |look| look.set == set)
    }

    /// The clocking the trainee gave.
    #[must_use]
    pub const fn clocking(&self) -> Option<u8> {
        self.clocking
    }

    pub(super) fn verdicts(&self) -> &[(Item, ItemVerdict)] {
        &self.verdicts
    }

    pub(super) const fn worse(&self) -> Option<&'static str> {
        self.worse
    }

    /// Whether everything was answered.
    #[must_use]
    pub fn done(&self) -> bool {
        self.stage() == Stage::Done
    }

    fn stage(&self) -> Stage {
        STAGES.get(self.stage).copied().unwrap_or(Stage::Done)
    }

    fn lengths(&self, set: Taken) -> Vec<Length> {
        self.given(set).iter().map(|given| given.value).collect()
    }

    pub(super) fn ring2(&self) -> Vec<Length> {
        self.lengths(Taken::Ring2)
            .into_iter()
            .take(POINTS)
            .collect()
    }

    pub(super) fn closing2(&self) -> Option<Length> {
        self.lengths(Taken::Ring2).get(POINTS).copied()
    }

    pub(super) fn values(&self) -> Values {
        let ring = self.lengths(Taken::Ring1);
        let first = |set| self.lengths(set).first().copied().unwrap_or_default();
        Values {
            zero_error: first(Taken::Zero),
            float: first(Taken::Float),
            closing: ring.get(POINTS).copied(),
            ring: ring.into_iter().take(POINTS).collect(),
            thickness: self.lengths(Taken::Thickness),
            pads: self.lengths(Taken::Pads),
        }
    }

    /// Lines to show before the first prompt.
    #[must_use]
    pub fn opening(&self) -> Vec<String> {
        [
            "Practice on an invented corner. This is no inspection; nothing of it can be signed.",
            "It is done in one go: leaving ends it, and what was done is compared and kept.",
            "Disc: new 24.000, minimum 22.000 mm. Run-out at most 0.080, variation at most 0.020 mm.",
            "Pads: new 12.0, minimum 2.0 mm. End float at most 0.050 mm. Five studs; stud 1 is painted.",
            "Enter puts the gauge where it is asked for and shows it; type what you read there.",
            "`at 3½` looks elsewhere, `rock` squares the anvils, `redo` begins a ring again, `help`.",
        ]
        .map(str::to_owned)
        .to_vec()
    }

    /// The lines above the prompt, and the prompt itself.
    #[must_use]
    pub fn prompt(&self) -> (Vec<String>, String) {
        match self.stage() {
            Stage::Take(set) => self.prompt_take(set),
            Stage::Clocking => (self.mark_picture(), "which clocking is this, 0 to 4 > ".to_owned()),
            Stage::Place => (
                vec![
                    "practice · thickness · the face is 45 mm wide; its outer edge has a lip of rust"
                        .to_owned(),
                ],
                format!(
                    "how far in from the edge stand the anvils, mm [Enter = {:.0}] > ",
                    self.from_edge.mm()
                ),
            ),
            Stage::Verdict(item) => (
                vec![format!("practice · your verdict · {}", item.title())],
                "1 PASS, 2 ADVISE, 3 FAIL > ".to_owned(),
            ),
            Stage::Worse => (
                vec!["practice · your verdict · where the run-out comes from".to_owned()],
                "1 hub more than disc, 2 disc more than hub > ".to_owned(),
            ),
            Stage::Done => (Vec::new(), String::new()),
        }
    }

    fn prompt_take(&self, set: Taken) -> (Vec<String>, String) {
        let index = self.given(set).len();
        let mut lines = Vec::new();
        if index == 0 {
            lines.push(format!("practice · {set}"));
            if set.is_ring() && set != Taken::Thickness {
                lines.push("  the dial is zeroed at stud 1; turn one way only".to_owned());
            }
        }
        let unit = if set == Taken::Pads {
            "0.1 mm"
        } else {
            "0.001 mm"
        };
        let ask = format!(
            "{} of {} · {} [{unit}] > ",
            index + 1,
            set.points(),
            place(set, index)
        );
        (lines, ask)
    }

    /// The studs in the order they pass, with the disc's mark.
    fn mark_picture(&self) -> Vec<String> {
        let mut studs = String::from("  stud    ");
        let mut marks = String::from("  mark    ");
        for stud in 1..=FASTENERS {
            let here = stud == self.scene.truth.clocking + 1;
            studs.push_str(&format!("{stud:<5}"));
            marks.push_str(if here { "*    " } else { ".    " });
        }
        let mut lines = vec![
            "practice · the disc was taken off and put back turned".to_owned(),
            "  the studs as they pass the stylus, and the mark on the disc's bell:".to_owned(),
            studs,
            marks,
        ];
        if let Some(says) = self.scene.helper_says {
            lines.push(format!(
                "  your helper says: \"I turned it on by {says} studs.\""
            ));
        }
        lines
    }

    /// Takes a line.
    pub fn answer(&mut self, line: &str) -> Said {
        let line = line.trim();
        let numeric =
            |c: char| c.is_ascii_digit() || matches!(c, '+' | '-' | '.' | ',' | '\u{2212}');
        if line.is_empty() || line.starts_with(numeric) {
            return self.take_line(line);
        }
        let (word, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
        let word = word.to_lowercase();
        let many: Vec<&str> = WORDS.into_iter().filter(|w| w.starts_with(&word)).collect();
        let exact = WORDS.into_iter().find(|known| *known == word);
        match (exact, many.as_slice()) {
            (Some(word), _) => self.command(word, rest.trim()),
            (None, [word]) => self.command(word, rest.trim()),
            (None, []) => self.word(line),
            (None, many) => say(format!(
                "  `{word}` could be {}; one more letter",
                many.join(" or ")
            )),
        }
    }

    /// A word that is no command: a verdict in words.
    fn word(&mut self, line: &str) -> Said {
        let verdict = match line.to_lowercase().as_str() {
            "pass" => "1",
            "advise" => "2",
            "fail" => "3",
            "hub" if self.stage() == Stage::Worse => "1",
            "disc" if self.stage() == Stage::Worse => "2",
            _ => {
                return say(format!(
                    "  `{line}` is no reading and no command; `help` lists them"
                ));
            }
        };
        match self.stage() {
            Stage::Verdict(_) | Stage::Worse => self.take_line(verdict),
            _ => say("  the verdicts come at the end; a reading is asked for"),
        }
    }

    fn take_line(&mut self, line: &str) -> Said {
        match self.stage() {
            Stage::Take(set) if line.is_empty() => self.look(set, self.given(set).len()),
            Stage::Take(set) => self.take(set, line),
            Stage::Clocking => match line.parse::<u8>() {
                Ok(k) if k < FASTENERS => {
                    self.clocking = Some(k);
                    self.on(format!("  clocking {k}"))
                }
                _ => say(format!(
                    "  a clocking is a number from 0 to {}",
                    FASTENERS - 1
                )),
            },
            Stage::Place => self.set_anvils(line),
            Stage::Verdict(item) => {
                let verdict = match line {
                    "1" => ItemVerdict::Pass,
                    "2" => ItemVerdict::Advise,
                    "3" => ItemVerdict::Fail,
                    _ => return say("  1 PASS, 2 ADVISE or 3 FAIL"),
                };
                self.verdicts.push((item, verdict));
                self.on(format!("  {} → {verdict}", item.title()))
            }
            Stage::Worse => {
                let part = match line {
                    "1" => "hub",
                    "2" => "disc",
                    _ => return say("  1 hub or 2 disc"),
                };
                self.worse = Some(part);
                self.on(format!("  the {part}"))
            }
            Stage::Done => Said::default(),
        }
    }

    fn on(&mut self, line: String) -> Said {
        self.stage += 1;
        say(line)
    }

    fn set_anvils(&mut self, line: &str) -> Said {
        if !line.is_empty() {
            match Entered::read(line, Quantity::Length, "mm") {
                Ok(entered) if (0..=45_000_000).contains(&entered.value) => {
                    self.from_edge = Length::from_nm(entered.value);
                }
                Ok(_) => return say("  the face is 45 mm wide"),
                Err(error) => return say(format!("  not taken: {error}")),
            }
        }
        self.on(format!(
            "  the anvils stand {:.0} mm in",
            self.from_edge.mm()
        ))
    }

    /// The gauge at a point.
    fn look(&mut self, set: Taken, point: usize) -> Said {
        let dice = &mut self.dice;
        let asked = self.given.get(&set).map_or(0, Vec::len);
        let value = match set {
            Taken::Zero => self.scene.zero(dice),
            Taken::Float => self.scene.end_float(dice),
            // It was zeroed here a moment ago.
            Taken::Ring1 | Taken::Ring2 if asked == 0 && point == 0 => Length::ZERO,
            Taken::Ring1 => {
                let moved = if self.firm {
                    Length::ZERO
                } else {
                    self.scene.knocked_by(asked)
                };
                self.scene.dial(0, point, moved, dice)
            }
            Taken::Ring2 => {
                let at = self.scene.truth.clocking;
                self.scene.dial(at, point, Length::ZERO, dice)
            }
            Taken::Thickness => self
                .scene
                .micrometer(point, self.from_edge, self.square, dice),
            Taken::Pads => self.scene.pad(point, dice),
        };
        self.looks.push(Look {
            set,
            point,
            asked,
            value,
        });
        let places = if set == Taken::Pads { 1 } else { 3 };
        let shown = value.rounded(crate::units::LengthUnit::Millimetre, places);
        say(format!("  the gauge at {}: {shown}", place(set, point)))
    }

    fn take(&mut self, set: Taken, line: &str) -> Said {
        let mut values = Vec::new();
        for text in line.split_whitespace() {
            match Entered::read(text, Quantity::Length, "mm") {
                Ok(entered) => values.push(Given {
                    text: text.to_owned(),
                    value: Length::from_nm(entered.value),
                }),
                Err(error) => return say(format!("  nothing taken: {error}")),
            }
        }
        let taken = self.given.entry(set).or_default();
        let room = set.points().saturating_sub(taken.len());
        if values.len() > room {
            return say(format!(
                "  nothing taken: {} values, and {room} are wanted here",
                values.len()
            ));
        }
        let from = taken.len();
        let mut said = Said::default();
        for (index, given) in (from..).zip(&values) {
            said.lines
                .push(format!("  {set} {} → {} mm", place(set, index), given.text));
        }
        taken.extend(values);
        if taken.len() == set.points() {
            self.stage += 1;
        }
        said
    }

    fn command(&mut self, word: &str, rest: &str) -> Said {
        match word {
            "quit" => Said {
                lines: Vec::new(),
                quit: true,
            },
            "at" => self.at(rest),
            "rock" => self.rock(),
            "redo" => self.redo(),
            "undo" => self.undo(),
            "show" => Said {
                lines: self.show(),
                quit: false,
            },
            "why" => say(why(self.stage())),
            _ => Said {
                lines: HELP.map(str::to_owned).to_vec(),
                quit: false,
            },
        }
    }

    fn at(&mut self, rest: &str) -> Said {
        match (self.stage(), stud(rest)) {
            (Stage::Take(set), Some(point)) if set.is_ring() => self.look(set, point),
            (Stage::Take(set), None) if set.is_ring() => {
                say(format!("  `at` and a stud: 1, 1½ (or 1.5) … {FASTENERS}½"))
            }
            _ => say("  `at` is for a ring"),
        }
    }

    fn rock(&mut self) -> Said {
        if self.stage() != Stage::Take(Taken::Thickness) {
            return say("  `rock` is for the micrometer on the disc");
        }
        self.square = true;
        say("  faces wiped, anvils rocked square, smallest taken; from now on at every point")
    }

    fn redo(&mut self) -> Said {
        let Stage::Take(set) = self.stage() else {
            return say("  there is no ring at this step");
        };
        // A ring that was just finished is begun again from the next step's prompt, too.
        let begun = if self.given(set).is_empty() {
            self.set_before()
        } else {
            Some((self.stage, set))
        };
        let Some((stage, set)) = begun else {
            return say("  nothing was read yet");
        };
        self.begin_again(stage, set)
    }

    /// The set that was finished before this step, and its step.
    fn set_before(&self) -> Option<(usize, Taken)> {
        let before = STAGES.get(..self.stage)?;
        before
            .iter()
            .enumerate()
            .rev()
            .find_map(|(at, stage)| match stage {
                Stage::Take(set) => Some((at, *set)),
                _ => None,
            })
    }

    fn begin_again(&mut self, stage: usize, set: Taken) -> Said {
        self.stage = stage;
        self.given.remove(&set);
        self.looks.retain(|look| look.set != set);
        if set == Taken::Ring1 {
            // The stand is set up anew.
            self.firm = true;
        }
        say(format!(
            "  the {set} is begun again; the gauge is set up anew"
        ))
    }

    fn undo(&mut self) -> Said {
        if let Stage::Take(set) = self.stage()
            && let Some(last) = self.given.get_mut(&set).and_then(Vec::pop)
        {
            return say(format!("  struck: {}", last.text));
        }
        match self
            .stage
            .checked_sub(1)
            .and_then(|before| STAGES.get(before))
        {
            None => say("  there is nothing to undo"),
            Some(before) => {
                self.stage -= 1;
                match before {
                    Stage::Take(set) => {
                        let last = self.given.get_mut(set).and_then(Vec::pop);
                        let text = last.map(|given| given.text).unwrap_or_default();
                        say(format!("  struck: {text}"))
                    }
                    Stage::Clocking => {
                        self.clocking = None;
                        say("  struck: the clocking")
                    }
                    Stage::Verdict(_) => {
                        self.verdicts.pop();
                        say("  struck: the verdict")
                    }
                    _ => say("  one step back"),
                }
            }
        }
    }

    fn show(&self) -> Vec<String> {
        Taken::ALL
            .into_iter()
            .filter(|set| !self.given(*set).is_empty())
            .map(|set| {
                let texts: Vec<&str> = self.given(set).iter().map(|g| g.text.as_str()).collect();
                format!("  {set}: {}", texts.join(" "))
            })
            .collect()
    }
}
