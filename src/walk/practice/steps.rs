//! What a practice asks for, and the words for it.

use std::fmt;

use serde::Serialize;

use super::{FASTENERS, POINTS};
use crate::job::Item;

/// A set of readings.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Taken {
    /// The micrometer's zero check.
    Zero,
    /// The bearing's end float.
    Float,
    /// The run-out ring as found.
    Ring1,
    /// The run-out ring after the disc was turned on the hub.
    Ring2,
    /// The thickness ring.
    Thickness,
    /// The pads.
    Pads,
}

impl Taken {
    /// All of them, in the order of the work.
    pub const ALL: [Self; 6] = [
        Self::Zero,
        Self::Float,
        Self::Ring1,
        Self::Ring2,
        Self::Thickness,
        Self::Pads,
    ];

    /// How many readings it has.
    #[must_use]
    pub const fn points(self) -> usize {
        match self {
            Self::Zero | Self::Float => 1,
            Self::Ring1 | Self::Ring2 => POINTS + 1,
            Self::Thickness => POINTS,
            Self::Pads => 4,
        }
    }

    /// Whether it goes round the disc.
    #[must_use]
    pub const fn is_ring(self) -> bool {
        matches!(self, Self::Ring1 | Self::Ring2 | Self::Thickness)
    }
}

impl fmt::Display for Taken {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Zero => "zero check",
            Self::Float => "end float",
            Self::Ring1 => "run-out ring as found",
            Self::Ring2 => "run-out ring after turning the disc",
            Self::Thickness => "thickness ring",
            Self::Pads => "pads",
        })
    }
}

/// One thing a practice asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Stage {
    Take(Taken),
    /// Beside which stud is the mark now?
    Clocking,
    /// How far in from the edge do the anvils stand?
    Place,
    /// What is the verdict on this item?
    Verdict(Item),
    /// Which part is more out of true?
    Worse,
    Done,
}

/// The point of a stud: `3`, `3.5`, `3,5` or `3½`.
pub(super) fn stud(text: &str) -> Option<usize> {
    let (number, half) = match text
        .strip_suffix('½')
        .or(text.strip_suffix(".5"))
        .or(text.strip_suffix(",5"))
    {
        Some(number) => (number, 1),
        None => (text, 0),
    };
    let stud: usize = number.trim().parse().ok()?;
    (1..=usize::from(FASTENERS))
        .contains(&stud)
        .then(|| 2 * (stud - 1) + half)
}

/// A point in the technician's words.
pub(super) fn place(set: Taken, index: usize) -> String {
    match (set, index) {
        (Taken::Zero, _) => "the closed anvils".to_owned(),
        (Taken::Float, _) => "the hub, pushed and pulled".to_owned(),
        (Taken::Pads, 0) => "inner pad, leading end".to_owned(),
        (Taken::Pads, 1) => "inner pad, trailing end".to_owned(),
        (Taken::Pads, 2) => "outer pad, leading end".to_owned(),
        (Taken::Pads, _) => "outer pad, trailing end".to_owned(),
        (_, POINTS) => "back at stud 1".to_owned(),
        (_, index) => {
            let half = if index % 2 == 1 { "½" } else { "" };
            format!("stud {}{half}", index / 2 + 1)
        }
    }
}

pub(super) const HELP: [&str; 7] = [
    "  Enter      put the gauge where it is asked for, and look; as often as you like",
    "  0.014      what you read there; several on one line fill the ring",
    "  at 3½      look at another stud without entering anything",
    "  rock       wipe and square the micrometer's anvils, take the smallest",
    "  redo       begin this ring again, the gauge set up anew     undo   strike the last",
    "  show       what was entered     why   how this is done",
    "  quit       stop; what was finished is compared with the truth",
];

pub(super) const fn why(stage: Stage) -> &'static str {
    match stage {
        Stage::Take(Taken::Zero) => {
            "  the zero error is subtracted from every thickness; clean both anvils first"
        }
        Stage::Take(Taken::Float) => {
            "  a loose bearing makes every run-out reading void, so it comes first"
        }
        Stage::Take(Taken::Ring1 | Taken::Ring2) => {
            "  one way only, back to stud 1: more than 5 µm away means the stand moved, `redo`"
        }
        Stage::Take(Taken::Thickness) => {
            "  both anvils flat on clean iron; look twice: what differs by more than 3 µm is not square"
        }
        Stage::Take(Taken::Pads) => "  friction material only, without the backing plate",
        Stage::Clocking => {
            "  stud 1 is clocking 0; count the studs that pass after it until the mark does, and believe your eyes"
        }
        Stage::Place => "  10 to 15 mm in from the edge, clear of the lip",
        Stage::Verdict(_) => {
            "  below a minimum is FAIL; less than 0.30 mm left, variation above 0.010 or pads at 3.0 mm is ADVISE"
        }
        Stage::Worse => "  what turned with the disc is the disc's, what stayed is the hub's",
        Stage::Done => "",
    }
}
