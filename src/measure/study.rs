//! Repeat study of a gauge: parts × people × repeats.
//!
//! Two-way crossed analysis of variance with interaction splits the spread of the readings into
//! repeatability (the same person, the same part), reproducibility (different people) and the parts'
//! own spread. With one person only, repeatability and part spread remain.

use serde::{Deserialize, Serialize};

use crate::measure::error::Problems;
use crate::measure::harmonic::count;
use crate::measure::{MeasureError, length, special};
use crate::units::Length;

/// Above this probability of the interaction's F the interaction is pooled with repeatability
/// (common practice in gauge studies).
pub const POOLING_LEVEL: f64 = 0.25;
/// Confidence of the intervals, two-sided.
pub const INTERVAL_LEVEL: f64 = 0.95;

/// One line of an analysis of variance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Row {
    /// Sum of squares.
    pub squares: f64,
    /// Degrees of freedom.
    pub dof: f64,
    /// F against the error of the rows below; `None` where nothing is left to compare with.
    pub f: Option<f64>,
    /// Probability of such an F or more by chance.
    pub p: Option<f64>,
}

impl Row {
    /// Mean square.
    #[must_use]
    pub fn mean_square(&self) -> f64 {
        if self.dof > 0.0 {
            self.squares / self.dof
        } else {
            0.0
        }
    }
}

/// A balanced two-way analysis of variance with interaction.
///
/// The F of every row is against repeatability: the table of the fixed-effects model, as statistics
/// programs print it. The variance components of [`study`] use the mean squares alone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Anova {
    /// Between parts.
    pub parts: Row,
    /// Between people; no degrees of freedom with one person.
    pub people: Row,
    /// Parts × people; no degrees of freedom with one person.
    pub interaction: Row,
    /// Within each part and person.
    pub repeats: Row,
    /// Numbers of parts, people and repeats.
    pub shape: (usize, usize, usize),
}

/// Analyses readings `[part][person][repeat]` in any one unit.
///
/// # Errors
/// [`MeasureError`] for fewer than two parts, no person, fewer than two repeats, a cell with another
/// number of readings, or a reading that is not finite; all of them at once.
///
/// ```
/// use brakecorner::measure::study::anova;
///
/// let table = anova(&[
///     vec![vec![1.0, 3.0], vec![2.0, 4.0]],
///     vec![vec![5.0, 7.0], vec![8.0, 6.0]],
/// ])?;
/// assert_eq!((table.parts.squares, table.people.squares), (32.0, 2.0));
/// assert_eq!((table.interaction.squares, table.repeats.squares), (0.0, 8.0));
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn anova(readings: &[Vec<Vec<f64>>]) -> Result<Anova, MeasureError> {
    let shape = check(readings)?;
    let (a, b, r) = (count(shape.0), count(shape.1), count(shape.2));
    let all = readings.iter().flatten().flatten();
    let rough = all.clone().sum::<f64>() / (a * b * r);
    // Sums of differences from a rough mean keep the digits of large readings.
    let cell = |values: &Vec<f64>| values.iter().map(|v| v - rough).sum::<f64>() / r;
    let cells: Vec<Vec<f64>> = readings
        .iter()
        .map(|part| part.iter().map(cell).collect())
        .collect();
    let grand = cells.iter().flatten().sum::<f64>() / (a * b);
    let part_means: Vec<f64> = cells.iter().map(|p| p.iter().sum::<f64>() / b).collect();
    let person_means: Vec<f64> = (0..shape.1)
        .map(|j| cells.iter().filter_map(|p| p.get(j)).sum::<f64>() / a)
        .collect();
    let squares = |values: &[f64]| {
        values
            .iter()
            .map(|m| (m - grand) * (m - grand))
            .sum::<f64>()
    };
    let mut interaction = 0.0;
    let mut within = 0.0;
    for ((part, means), part_mean) in readings.iter().zip(&cells).zip(&part_means) {
        for ((values, mean), person_mean) in part.iter().zip(means).zip(&person_means) {
            let off = mean - part_mean - person_mean + grand;
            interaction += off * off;
            within += values
                .iter()
                .map(|v| (v - rough - mean) * (v - rough - mean))
                .sum::<f64>();
        }
    }
    let error = (within, a * b * (r - 1.0));
    Ok(Anova {
        parts: row(squares(&part_means) * b * r, a - 1.0, error),
        people: row(squares(&person_means) * a * r, b - 1.0, error),
        interaction: row(interaction * r, (a - 1.0) * (b - 1.0), error),
        repeats: Row {
            squares: within,
            dof: error.1,
            f: None,
            p: None,
        },
        shape,
    })
}

fn row(squares: f64, dof: f64, (error_squares, error_dof): (f64, f64)) -> Row {
    let error = error_squares / error_dof;
    let f = (dof > 0.0 && error > 0.0).then(|| squares / dof / error);
    Row {
        squares,
        dof,
        f,
        p: f.map(|f| special::fisher_tail(f, dof, error_dof)),
    }
}

fn check(readings: &[Vec<Vec<f64>>]) -> Result<(usize, usize, usize), MeasureError> {
    let mut problems = Problems::default();
    let people = readings.first().map_or(0, Vec::len);
    let repeats = readings.first().and_then(|p| p.first()).map_or(0, Vec::len);
    for (what, found, needed) in [
        ("parts of a repeat study", readings.len(), 2),
        ("people of a repeat study", people, 1),
        ("repeats of a repeat study", repeats, 2),
    ] {
        problems.check(found >= needed, || MeasureError::TooFew {
            what,
            found,
            needed,
        });
    }
    for part in readings {
        problems.check(part.len() == people, || MeasureError::CountMismatch {
            what: "people who measured a part",
            found: part.len(),
            expected: people,
        });
        for cell in part {
            problems.check(cell.len() == repeats, || MeasureError::CountMismatch {
                what: "repeats of one part by one person",
                found: cell.len(),
                expected: repeats,
            });
            for &value in cell {
                problems.check(value.is_finite(), || MeasureError::NotFinite {
                    what: "reading of a repeat study",
                    value,
                });
            }
        }
    }
    problems.finish()?;
    Ok((readings.len(), people, repeats))
}

/// A standard deviation with its confidence interval.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Spread {
    /// The standard deviation.
    pub sd: Length,
    /// Lower end of the 95 % interval.
    pub low: Length,
    /// Upper end of the 95 % interval.
    pub high: Length,
}

/// Results of a repeat study.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Study {
    /// The gauge's own spread: same person, same part. What [`Gauge`] wants.
    ///
    /// [`Gauge`]: crate::measure::uncertainty::Gauge
    pub repeatability: Spread,
    /// Its degrees of freedom.
    pub repeatability_dof: u32,
    /// Spread between people, interaction included; `None` with one person.
    pub reproducibility: Option<Spread>,
    /// Repeatability and reproducibility together.
    pub gauge: Length,
    /// The parts' own spread.
    pub parts: Spread,
    /// Each person's own repeatability, in order.
    pub per_person: Vec<Length>,
    /// Whether the interaction was too small to keep apart.
    pub pooled: bool,
    /// Whether the people's own component came out negative and counts as zero.
    pub people_set_to_zero: bool,
    /// Whether the parts' component came out negative and counts as zero.
    pub parts_set_to_zero: bool,
    /// Numbers of parts, people and repeats.
    pub shape: (usize, usize, usize),
}

/// Evaluates a repeat study.
///
/// Shape: `readings[part][person][repeat]`, the same number everywhere; two parts and two repeats at
/// least, one person or more. Units: lengths.
/// Formula: random-effects components from the mean squares: repeatability `MS_e`, interaction
/// `(MS_ab − MS_e)/r`, people `(MS_b − MS_ab)/(a r)`, parts `(MS_a − MS_ab)/(b r)`, each negative one
/// set to zero by itself; the interaction is pooled when its F has a probability above 0.25. Intervals: exact χ²
/// for repeatability, modified large-sample for the others.
/// Source: analysis of variance as in gauge-study practice; the intervals after Graybill and Wang
/// (from memory; their coverage is simulated in the tests).
///
/// # Errors
/// As [`anova`].
///
/// ```
/// use brakecorner::measure::study::study;
/// use brakecorner::units::Length;
///
/// let um = |v: i64| Length::from_nm(v * 1000);
/// let readings = vec![
///     vec![vec![um(22_001), um(22_003)]],
///     vec![vec![um(22_011), um(22_009)]],
///     vec![vec![um(21_998), um(22_000)]],
/// ];
/// let s = study(&readings)?;
/// assert_eq!(s.repeatability.sd.nm(), 1_414); // half the squared differences are 2 µm² each
/// assert_eq!((s.repeatability_dof, s.reproducibility), (3, None));
/// # Ok::<(), brakecorner::measure::MeasureError>(())
/// ```
pub fn study(readings: &[Vec<Vec<Length>>]) -> Result<Study, MeasureError> {
    let mm: Vec<Vec<Vec<f64>>> = readings
        .iter()
        .map(|part| {
            part.iter()
                .map(|c| c.iter().map(|v| v.mm()).collect())
                .collect()
        })
        .collect();
    let table = anova(&mm)?;
    let components = Components::of(&table);
    let error = components.error;
    Ok(Study {
        repeatability: exact(error)?,
        repeatability_dof: nearest_u32(error.dof),
        reproducibility: (table.shape.1 > 1)
            .then(|| combination(&components.reproducibility()))
            .transpose()?,
        gauge: length("gauge spread", components.gauge_variance().sqrt())?,
        parts: combination(&components.parts())?,
        per_person: (0..table.shape.1)
            .map(|j| own_repeatability(&mm, j))
            .collect::<Result<_, _>>()?,
        pooled: components.pooled,
        people_set_to_zero: table.shape.1 > 1 && components.people_negative(),
        parts_set_to_zero: estimate(&components.parts()) < 0.0,
        shape: table.shape,
    })
}

#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn nearest_u32(value: f64) -> u32 {
    value.clamp(0.0, f64::from(u32::MAX)) as u32
}

fn own_repeatability(mm: &[Vec<Vec<f64>>], person: usize) -> Result<Length, MeasureError> {
    let alone: Vec<Vec<Vec<f64>>> = mm
        .iter()
        .map(|part| part.get(person).cloned().into_iter().collect())
        .collect();
    length(
        "repeatability of one person",
        anova(&alone)?.repeats.mean_square().sqrt(),
    )
}

/// A mean square with its degrees of freedom.
#[derive(Clone, Copy, Debug)]
struct MeanSquare {
    value: f64,
    dof: f64,
}

/// The mean squares a random-effects model is made of.
struct Components {
    parts: MeanSquare,
    people: MeanSquare,
    interaction: MeanSquare,
    error: MeanSquare,
    pooled: bool,
    shape: (f64, f64, f64),
}

impl Components {
    fn of(table: &Anova) -> Self {
        let square = |row: &Row| MeanSquare {
            value: row.mean_square(),
            dof: row.dof,
        };
        let (a, b, r) = table.shape;
        let shape = (count(a), count(b), count(r));
        let (parts, people) = (square(&table.parts), square(&table.people));
        let pooled = b == 1 || table.interaction.p.is_none_or(|p| p > POOLING_LEVEL);
        let dof = table.interaction.dof + table.repeats.dof;
        let joint = MeanSquare {
            value: (table.interaction.squares + table.repeats.squares) / dof,
            dof,
        };
        let (interaction, error) = if pooled {
            (joint, joint)
        } else {
            (square(&table.interaction), square(&table.repeats))
        };
        Self {
            parts,
            people,
            interaction,
            error,
            pooled,
            shape,
        }
    }

    /// `(coefficient, mean square)` of the parts' variance.
    fn parts(&self) -> Vec<(f64, MeanSquare)> {
        let (_, b, r) = self.shape;
        vec![
            (1.0 / (b * r), self.parts),
            (-1.0 / (b * r), self.interaction),
        ]
    }

    /// Whether the people's own component, without the interaction, is negative.
    fn people_negative(&self) -> bool {
        self.people.value < self.interaction.value // the joint error where it is pooled
    }

    /// People and interaction together, each of them zero where it comes out negative: a negative
    /// component of the people must not eat what the interaction adds.
    fn reproducibility(&self) -> Vec<(f64, MeanSquare)> {
        let (a, _, r) = self.shape;
        let per = 1.0 / (a * r);
        if self.pooled {
            return vec![(per, self.people), (-per, self.error)];
        }
        if self.people_negative() {
            return vec![(1.0 / r, self.interaction), (-1.0 / r, self.error)];
        }
        vec![
            (per, self.people),
            ((a - 1.0) * per, self.interaction),
            (-1.0 / r, self.error),
        ]
    }

    fn gauge_variance(&self) -> f64 {
        let people = if self.shape.1 > 1.0 {
            estimate(&self.reproducibility()).max(0.0)
        } else {
            0.0
        };
        self.error.value + people
    }
}

fn estimate(terms: &[(f64, MeanSquare)]) -> f64 {
    terms.iter().map(|(c, m)| c * m.value).sum()
}

/// Exact interval of one mean square.
fn exact(m: MeanSquare) -> Result<Spread, MeasureError> {
    let tail = 0.5 * (1.0 - INTERVAL_LEVEL);
    let end = |p| {
        (m.value * m.dof / special::chi_squared_quantile(p, m.dof))
            .max(0.0)
            .sqrt()
    };
    Ok(Spread {
        sd: length("repeatability", m.value.max(0.0).sqrt())?,
        low: length("repeatability", end(1.0 - tail))?,
        high: length("repeatability", end(tail))?,
    })
}

/// Modified large-sample interval of a combination of mean squares.
///
/// Each mean square alone would get its exact χ² interval, from `−G` to `+H` relative to itself;
/// the deviations are added in quadrature, the other way round for negative coefficients.
fn combination(terms: &[(f64, MeanSquare)]) -> Result<Spread, MeasureError> {
    let tail = 0.5 * (1.0 - INTERVAL_LEVEL);
    let (mut below, mut above) = (0.0, 0.0);
    for (coefficient, m) in terms {
        let size = coefficient.abs() * m.value;
        let g = size * (1.0 - m.dof / special::chi_squared_quantile(1.0 - tail, m.dof));
        let h = size * (m.dof / special::chi_squared_quantile(tail, m.dof) - 1.0);
        let (down, up) = if *coefficient > 0.0 { (g, h) } else { (h, g) };
        below += down * down;
        above += up * up;
    }
    let middle = estimate(terms);
    let root = |variance: f64| length("spread", variance.max(0.0).sqrt());
    Ok(Spread {
        sd: root(middle)?,
        low: root(middle - below.sqrt())?,
        high: root(middle + above.sqrt())?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_negative_component_of_the_people_does_not_eat_the_interaction() {
        // By hand: two parts, two people, cells 10/12 and 12/10 with repeats ±0.1:
        // MS_ab = 4·2/2 … squares 2·Σ(±1)² = 8 with 1 degree of freedom, MS_b = 0, MS_e = 0.02;
        // interaction (8 − 0.02)/2 = 3.99, people (0 − 8)/4 = −2 set to zero: s = √3.99 = 1.9975.
        let um = |v: f64| Length::from_nm((v * 1000.0).round() as i64);
        let cell = |v: f64| vec![um(v - 0.1), um(v + 0.1)];
        let s = study(&[vec![cell(10.0), cell(12.0)], vec![cell(12.0), cell(10.0)]]).unwrap();
        assert!(!s.pooled && s.people_set_to_zero && s.parts_set_to_zero);
        assert_eq!(s.reproducibility.unwrap().sd.nm(), 1_997);
    }

    #[test]
    fn one_person_has_repeatability_and_no_reproducibility() {
        let um = |v: i64| Length::from_nm(v * 1000);
        let readings = vec![vec![vec![um(10), um(12)]], vec![vec![um(20), um(22)]]];
        let s = study(&readings).unwrap();
        assert_eq!(s.repeatability.sd.nm(), 1_414);
        assert_eq!((s.reproducibility, s.gauge), (None, s.repeatability.sd));
        assert_eq!(s.per_person, [s.repeatability.sd]);
        // Parts: (MS 100 − 2)/2 = 49 µm².
        assert_eq!(s.parts.sd.nm(), 7_000);
        assert!(s.repeatability.low < s.repeatability.sd);
        assert!(s.repeatability.sd < s.repeatability.high);
    }

    #[test]
    fn two_people_come_out_as_worked_by_hand() {
        // Mean squares 1190.33, 48, 16, 2.333 µm²: repeatability √2.333, interaction (16 − 2.333)/2,
        // people (48 − 16)/6, parts (1190.33 − 16)/4; the interaction's F has p = 0.028.
        let um = |v: i64| Length::from_nm(v * 1000);
        let cell = |a, b| vec![um(a), um(b)];
        let readings = vec![
            vec![cell(10, 12), cell(20, 18)],
            vec![cell(30, 31), cell(33, 36)],
            vec![cell(50, 49), cell(48, 51)],
        ];
        let s = study(&readings).unwrap();
        assert!(!s.pooled);
        let reproducibility = s.reproducibility.unwrap();
        for (what, got, expected_um) in [
            ("repeatability", s.repeatability.sd, 1.527_525),
            ("its low end", s.repeatability.low, 0.968_9f64.sqrt()),
            ("its high end", s.repeatability.high, 11.314_556f64.sqrt()),
            ("reproducibility", reproducibility.sd, 3.488_075),
            ("gauge", s.gauge, 3.807_887),
            ("parts", s.parts.sd, 17.134_274),
        ] {
            assert!(
                (got.um() - expected_um).abs() < 6e-4,
                "{what}: {got}, {expected_um} µm"
            );
        }
        assert_eq!(s.repeatability_dof, 6);
        assert!(
            reproducibility.low < reproducibility.sd && reproducibility.sd < reproducibility.high
        );
    }

    #[test]
    fn an_interaction_lost_in_the_noise_is_pooled() {
        let um = |v: i64| Length::from_nm(v * 1000);
        let readings: Vec<Vec<Vec<Length>>> = [10, 30, 50]
            .iter()
            .map(|part| {
                [0, 6]
                    .map(|person| vec![um(part + person - 1), um(part + person + 1)])
                    .into()
            })
            .collect();
        let s = study(&readings).unwrap();
        // No interaction at all: 12 µm² over 2 + 6 degrees of freedom.
        assert!(s.pooled && s.repeatability_dof == 8);
        assert!((s.repeatability.sd.um() - 1.5f64.sqrt()).abs() < 6e-4);
    }

    #[test]
    fn identical_readings_have_no_spread_and_no_nan() {
        let readings = vec![vec![vec![Length::from_nm(5); 3]; 2]; 4];
        let s = study(&readings).unwrap();
        assert_eq!(s.gauge, Length::ZERO);
        assert_eq!(s.parts.high, Length::ZERO);
        assert!(s.pooled);
    }

    #[test]
    fn a_ragged_study_names_every_hole() {
        let x = Length::from_nm(1);
        let ragged = vec![vec![vec![x], vec![x, x]], vec![vec![x]]];
        let Err(MeasureError::Problems(all)) = study(&ragged) else {
            panic!("accepted")
        };
        assert_eq!(all.len(), 3, "{all:?}");
        assert!(anova(&[]).is_err());
        assert!(anova(&[vec![vec![1.0, f64::NAN]], vec![vec![1.0, 2.0]]]).is_err());
    }
}
