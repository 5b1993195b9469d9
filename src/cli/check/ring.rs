//! A run-out ring as the checks that use one are given it.

use super::error::CheckError;
use super::input::Reader;
use crate::measure::dial::unwrap;
use crate::measure::runout::{CLOSING_ALLOWED, FEWEST_POINTS, RunoutRing};
use crate::units::{Angle, Length, UnitError};

/// Options about how a ring was taken.
#[derive(Debug, clap::Args)]
#[command(next_help_heading = "How the ring was taken")]
pub(super) struct RingArgs {
    /// The last reading is the return to the first mark
    #[arg(long)]
    closing: bool,
    /// Angle of each point in passing order, 0 = stud 1; otherwise evenly spaced
    #[arg(long, value_name = "DEGREES", allow_hyphen_values = true)]
    angles: Option<String>,
    /// Angle of a lever stylus to the face, or of a plunger to the face's normal
    #[arg(long, value_name = "DEGREES", allow_hyphen_values = true)]
    stylus_angle: Option<String>,
    /// Travel of one turn of the needle: readings that jumped past zero are put right
    #[arg(long, value_name = "LENGTH")]
    dial_turn: Option<String>,
}

/// The ring's options, read once for one or more rings.
pub(super) struct RingOptions {
    closing: bool,
    angles: Option<Vec<Angle>>,
    stylus_angle: Option<Angle>,
    turn: Option<Length>,
}

impl RingArgs {
    /// The stylus's angle as it was typed: rounded to its hundredth, 89.999° would be named 90°.
    fn stylus_angle(&self, reader: &mut Reader<'_>) -> Option<Angle> {
        const MOST: f64 = 60.0;
        let option = "--stylus-angle";
        let text = self.stylus_angle.as_deref();
        let angle = reader.angle(option, text)?;
        if angle.degrees().abs() <= MOST {
            return Some(angle);
        }
        let text = text.unwrap_or_default().trim().to_owned();
        let why = UnitError::OutOfRange {
            text, limit: "60°"
        };
        reader.problems.push(CheckError::Value { option, why });
        None
    }

    /// Reads the options.
    pub(super) fn read(&self, reader: &mut Reader<'_>) -> RingOptions {
        RingOptions {
            closing: self.closing,
            angles: reader.angles("--angles", self.angles.as_deref()),
            stylus_angle: self.stylus_angle(reader),
            turn: reader.positive("--dial-turn", self.dial_turn.as_deref()),
        }
    }
}

impl RingOptions {
    /// A remark where the last reading looks like the return to the first mark: an odd number of
    /// readings, the last one where the first was. Taken for a point it turns the whole fit.
    fn unclosed(&self, points: &[Length]) -> Option<String> {
        let (first, last) = (points.first()?, points.last()?);
        let like_a_return = !self.closing
            && self.angles.is_none()
            && points.len() > FEWEST_POINTS
            && points.len() % 2 == 1
            && (*last - *first).abs() <= CLOSING_ALLOWED;
        like_a_return.then(|| {
            format!(
                "{} readings, the last like the first: if it is the return to the first mark, say `--closing`; here it was taken for a point of its own",
                points.len()
            )
        })
    }

    /// Asks about one reading more than a wheel with this many fasteners has points, the last one
    /// nearer to the first than a quarter of the ring's span (own), as a return is.
    pub(super) fn ask_return(
        &self,
        reader: &mut Reader<'_>,
        option: &'static str,
        points: &[Length],
        fasteners: u8,
    ) {
        let (n, found) = (usize::from(fasteners), points.len());
        let one_more = found == n + 1 || found == 2 * n + 1;
        let ends = points.iter().min().zip(points.iter().max());
        let turn = points.first().zip(points.last());
        let returns = turn.zip(ends).is_some_and(|((first, last), (low, high))| {
            (*last - *first).abs().nm().saturating_mul(4) <= (*high - *low).nm()
        });
        let odd = !self.closing && self.angles.is_none() && one_more && returns;
        let question = format!(
            "{found} readings for {n} fasteners, one more than points: is the last the return to the first mark? Then say `--closing`"
        );
        reader.ask(option, odd.then_some(question));
    }

    /// A ring from its readings, and a remark for each reading that was put right.
    pub(super) fn ring(
        &self,
        reader: &mut Reader<'_>,
        mut points: Vec<Length>,
    ) -> (RunoutRing, Vec<String>) {
        let mut notes = Vec::new();
        if let Some(turn) = self.turn
            && let Some(travel) = reader
                .problems
                .take(unwrap(&points, turn).map_err(CheckError::from))
        {
            notes.extend(travel.changed.iter().filter_map(|i| {
                let (shown, meant) = (points.get(*i)?, travel.readings.get(*i)?);
                let point = i + 1;
                Some(format!(
                    "reading {point}, {shown}, is past the dial's zero and taken as {meant}"
                ))
            }));
            points = travel.readings;
        }
        notes.extend(self.unclosed(&points));
        let closing = if self.closing { points.pop() } else { None };
        let mut angles = self.angles.clone();
        if let Some(angles) = &mut angles
            && closing.is_some()
            && angles.len() == points.len() + 1
            && angles.first().map(|a| a.wrapped()) == angles.last().map(|a| a.wrapped())
        {
            angles.pop(); // the return's own angle
        }
        let ring = RunoutRing {
            points,
            angles,
            closing,
            swept: None,
            stylus_angle: self.stylus_angle,
            fasteners: None,
        };
        (ring, notes)
    }
}
