//! Which limit applies, whose it is, and every limit that does not apply and why.
//!
//! FAIL is judged on the strictest of the maker's figure (data sheet or mark on the part) and the rule
//! packs'. Policy stands in only where nobody else gives a figure, and only for thickness variation and
//! run-out; thickness of disc, pad and lining, drum diameter and end float have no stand-in.

use serde::{Deserialize, Serialize};

use super::rules::{Bound, Exceptions, Rule, RuleClass, RulePack, Status};

/// Whose limit it is.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Authority {
    /// The maker's data sheet.
    Maker,
    /// The mark cast or stamped on the part.
    CastMark,
    /// A rule pack.
    RulePack {
        /// The pack's id.
        pack: String,
        /// The rule's id.
        rule: String,
        /// Where in the text the rule stands.
        clause: String,
        /// How the rule came to be known.
        status: Status,
        /// Who compared it with the text for the workshop.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        checked_by: Option<String>,
    },
    /// The workshop's policy; never a reason to FAIL.
    Policy,
}

/// Which side of a limit is allowed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LimitBound {
    /// Readings must be at least the value.
    AtLeast,
    /// Readings must be at most the value.
    AtMost,
}

impl From<Bound> for LimitBound {
    fn from(bound: Bound) -> Self {
        match bound {
            Bound::Minimum => Self::AtLeast,
            Bound::Maximum => Self::AtMost,
        }
    }
}

/// One limit.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Limit<T> {
    /// The value.
    pub value: T,
    /// Which side of it is allowed.
    pub bound: LimitBound,
    /// Whether a reading exactly at the value passes.
    pub at_limit_passes: bool,
    /// Whose limit it is.
    pub authority: Authority,
    /// Where the figure stands, in words for people.
    pub source: String,
    /// How grave the rule pack calls it to break the limit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub class: Option<RuleClass>,
    /// What the rule does not count.
    #[serde(default, skip_serializing_if = "is_empty")]
    pub exceptions: Exceptions,
}

fn is_empty(exceptions: &Exceptions) -> bool {
    *exceptions == Exceptions::default()
}

impl<T: Ord + Copy> Limit<T> {
    /// Makes a limit at which exactly the value passes.
    pub(super) fn new(value: T, bound: LimitBound, authority: Authority, source: String) -> Self {
        Self {
            value,
            bound,
            at_limit_passes: true,
            authority,
            source,
            class: None,
            exceptions: Exceptions::default(),
        }
    }

    /// Makes a limit from a pack's rule.
    pub(super) fn from_rule(value: T, pack: &RulePack, rule: &Rule) -> Self {
        Self {
            value,
            bound: rule.bound.into(),
            at_limit_passes: rule.at_limit_passes,
            authority: Authority::RulePack {
                pack: pack.id.clone(),
                rule: rule.id.clone(),
                clause: rule.clause.clone(),
                status: rule.status,
                checked_by: rule.checked_by.clone(),
            },
            source: format!("{}, {}", pack.name, rule.clause),
            class: Some(rule.class),
            exceptions: rule.exceptions.clone(),
        }
    }

    /// Whether a reading of exactly `value`, taken as true, keeps the limit.
    ///
    /// # Examples
    ///
    /// ```
    /// use brakecorner::spec::{Authority, Limit, LimitBound};
    /// use brakecorner::units::Length;
    ///
    /// let mut limit = Limit {
    ///     value: Length::from_nm(1_600_000),
    ///     bound: LimitBound::AtLeast,
    ///     at_limit_passes: false,
    ///     authority: Authority::Maker,
    ///     source: "example".to_owned(),
    ///     class: None,
    ///     exceptions: Default::default(),
    /// };
    /// assert!(!limit.permits(Length::from_nm(1_600_000)));
    /// assert!(limit.permits(Length::from_nm(1_600_001)));
    /// limit.at_limit_passes = true;
    /// assert!(limit.permits(Length::from_nm(1_600_000)));
    /// ```
    #[must_use]
    pub fn permits(&self, value: T) -> bool {
        match value.cmp(&self.value) {
            std::cmp::Ordering::Equal => self.at_limit_passes,
            std::cmp::Ordering::Less => self.bound == LimitBound::AtMost,
            std::cmp::Ordering::Greater => self.bound == LimitBound::AtLeast,
        }
    }

    /// Whether every reading this limit permits is permitted by `other` too, and not the reverse.
    fn stricter_than(&self, other: &Self) -> bool {
        match self.value.cmp(&other.value) {
            std::cmp::Ordering::Equal => !self.at_limit_passes && other.at_limit_passes,
            std::cmp::Ordering::Less => self.bound == LimitBound::AtMost,
            std::cmp::Ordering::Greater => self.bound == LimitBound::AtLeast,
        }
    }
}

impl<T> Limit<T> {
    /// Whether `unconfirmed` is to be printed beside the limit: it comes from a rule whose text was
    /// not read, and the workshop has not recorded that somebody checked it.
    #[must_use]
    pub fn unconfirmed(&self) -> bool {
        match &self.authority {
            Authority::RulePack {
                status, checked_by, ..
            } => *status != Status::Read && checked_by.is_none(),
            _ => false,
        }
    }

    /// Whether the limit may lead to FAIL; policy's may not.
    #[must_use]
    pub const fn may_fail(&self) -> bool {
        !matches!(self.authority, Authority::Policy)
    }
}

/// A limit that was not the one applied.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct OtherLimit<T> {
    /// The limit.
    pub limit: Limit<T>,
    /// Whether it holds too, and is merely looser than the one applied; breaking it may be graver.
    pub in_force: bool,
    /// Why it was not applied.
    pub why: String,
}

/// The mark on a part and the sheet's figure, when they differ.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct MarkDiffers<T> {
    /// The figure marked on the part.
    pub mark: T,
    /// The sheet's figure.
    pub sheet: T,
}

/// The limit that applies to an item, and the ones that do not.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct LimitChain<T> {
    /// The limit readings are judged by; none means NO LIMIT.
    pub applied: Option<Limit<T>>,
    /// Every other limit with the reason it was not applied, the ones in force first.
    pub others: Vec<OtherLimit<T>>,
    /// The mark on the part differs from the sheet: a finding of its own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mark_differs: Option<MarkDiffers<T>>,
}

impl<T: Ord + Copy> LimitChain<T> {
    /// Every limit in force: the one applied and the looser ones.
    pub fn in_force(&self) -> impl Iterator<Item = &Limit<T>> {
        let looser = self
            .others
            .iter()
            .filter(|other| other.in_force)
            .map(|other| &other.limit);
        self.applied.iter().chain(looser)
    }

    /// The gravest class of the rules a value breaks, if it breaks a rule.
    #[must_use]
    pub fn class_of(&self, value: T) -> Option<RuleClass> {
        self.in_force()
            .filter(|limit| !limit.permits(value))
            .filter_map(|limit| limit.class)
            .max()
    }
}

impl<T> LimitChain<T> {
    /// Why there is no limit, in words for people; `None` when there is one.
    #[must_use]
    pub fn why_none(&self) -> Option<String> {
        if self.applied.is_some() {
            return None;
        }
        if self.others.is_empty() {
            return Some("no maker's figure and no rule is on file".to_owned());
        }
        let reasons: Vec<String> = self
            .others
            .iter()
            .map(|other| format!("{}: {}", other.limit.source, other.why))
            .collect();
        Some(reasons.join("; "))
    }
}

/// Limits collected for one item, before one of them is chosen.
#[derive(Clone, Debug)]
pub(super) struct Candidates<T> {
    bound: LimitBound,
    binding: Vec<Limit<T>>,
    set_aside: Vec<OtherLimit<T>>,
    stand_in: Option<Limit<T>>,
}

impl<T: Ord + Copy> Candidates<T> {
    /// Collects limits of one side; the other side's are set aside.
    pub(super) const fn new(bound: LimitBound) -> Self {
        Self {
            bound,
            binding: Vec::new(),
            set_aside: Vec::new(),
            stand_in: None,
        }
    }

    /// Adds a limit that binds.
    pub(super) fn bind(&mut self, limit: Limit<T>) {
        if limit.bound == self.bound {
            self.binding.push(limit);
        } else {
            self.set_aside(limit, "limits the side of the value that nobody judges");
        }
    }

    /// Adds a limit that does not bind, with the reason.
    pub(super) fn set_aside(&mut self, limit: Limit<T>, why: impl Into<String>) {
        self.set_aside.push(OtherLimit {
            limit,
            in_force: false,
            why: why.into(),
        });
    }

    /// Sets the policy's figure, used when nothing binds.
    pub(super) fn stand_in(&mut self, limit: Limit<T>) {
        self.stand_in = Some(limit);
    }

    /// Chooses the strictest; among equals the first added.
    pub(super) fn choose(mut self) -> LimitChain<T> {
        // A stable sort, so that equals keep the order maker, mark, packs.
        self.binding
            .sort_by(|a, b| match (a.stricter_than(b), b.stricter_than(a)) {
                (true, _) => std::cmp::Ordering::Less,
                (_, true) => std::cmp::Ordering::Greater,
                _ => std::cmp::Ordering::Equal,
            });
        let mut binding = self.binding.into_iter();
        let mut applied = binding.next();
        let mut others: Vec<OtherLimit<T>> = binding
            .map(|limit| {
                let equal = applied
                    .as_ref()
                    .is_some_and(|applied| !applied.stricter_than(&limit));
                let why = if equal {
                    "the same as the limit applied"
                } else {
                    "looser than the limit applied"
                };
                OtherLimit {
                    limit,
                    in_force: true,
                    why: why.to_owned(),
                }
            })
            .collect();
        others.append(&mut self.set_aside);
        match (&applied, self.stand_in) {
            (None, stand_in) => {
                applied = stand_in;
                if let Some(limit) = &mut applied {
                    limit.source.push_str(", no maker's figure");
                }
            }
            (Some(_), Some(limit)) => others.push(OtherLimit {
                limit,
                in_force: false,
                why: "policy stands in only where neither maker nor rule pack gives a figure"
                    .to_owned(),
            }),
            (Some(_), None) => {}
        }
        LimitChain {
            applied,
            others,
            mark_differs: None,
        }
    }
}
