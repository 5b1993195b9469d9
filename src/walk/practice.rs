//! Practice on an invented corner whose true hub, disc and wear are known.
//!
//! Pure: a [`Scene`] is drawn from a number, a [`Session`] says the next prompt and takes a line, a
//! [`Report`] compares what was read and judged with the truth and names the slip of technique. The
//! gauges are simulated with their noise and, where wanted, with a trap: a knocked stand, anvils that
//! are not square, a lip of rust under the anvils, a disc that is put back on another stud than said.
//!
//! Nothing of it is a job: there is no journal, and what is kept has a format word of its own.

mod dice;
mod rules;
mod scene;
mod score;
mod session;
mod steps;

pub use dice::Dice;
pub use rules::Rules;
pub use scene::{Scene, Tilt, Trap, Truth};
pub use score::{Compared, Judged, Report, Slip};
pub use session::{Given, Said, Session};
pub use steps::Taken;

/// The word every practice file begins with; no record and no journal begins so.
pub const FORMAT: &str = "brakecorner-practice";

/// Studs of the practice corner.
pub const FASTENERS: u8 = 5;

/// Points of a ring: every stud and half way to the next.
pub const POINTS: usize = 2 * FASTENERS as usize;
