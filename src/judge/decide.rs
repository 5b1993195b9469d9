//! The decision rules, and the building of a finding.
//!
//! *One way* (wear: thickness, pads, linings, drums): beyond the limit is FAIL whether proven or
//! not; inside but not proven in is ADVISE. *Correctable* (run-out, thickness variation, end
//! float): FAIL when proven out, or beyond with the matching complaint; beyond but not proven, or
//! inside but not proven in, is ADVISE with "measure again first"; a thickness variation only where
//! the gauge can decide it. *A statute's figure* (brake forces) is compared as the statute compares:
//! directly; near it is ADVISE.
//!
//! Source of the probability: JCGM 106:2012 (conformance probability for a normal distribution);
//! 0.95 as in ISO 14253-1:2017. The rules themselves are this project's own.

use super::finding::{Ask, Finding, LimitShown, Results};
use super::words::{beside, exactly, subject, verdict_words};
use super::{Figure, ItemVerdict, Urgency};
use crate::job::{Item, Phase, Place};
use crate::measure::conformity::{self, Bound, Proof};
use crate::measure::disc::readings_to_decide;
use crate::spec::{Authority, Limit, LimitBound, LimitChain, Percent, Policy, RuleClass};
use crate::units::{Length, Temperature};

/// A finding in the making; verdicts only ever get worse.
///
/// Two of them run side by side: the verdict, and the *firm* one that stands without the reasons
/// that are doubt only (not proven, a gauge that cannot decide, readings nobody may rely on).
/// Reasons of doubt enter through [`Draft::doubt`] and [`Draft::unreliable`], all others through the
/// rest.
pub(super) struct Draft {
    finding: Finding,
    smaller_is_worse: bool,
    limit_phrase: String,
    proven: f64,
    near: Percent,
}

impl Draft {
    /// Starts with PASS.
    pub(super) fn new(policy: &Policy, place: Place, item: Item, phase: Phase) -> Self {
        let mut finding = Finding::not_inspected(place, item, phase, String::new());
        finding.verdict = ItemVerdict::Pass;
        finding.firm = ItemVerdict::Pass;
        finding.reasons.clear();
        Self {
            finding,
            smaller_is_worse: true,
            limit_phrase: String::new(),
            proven: policy.proof.value.share(),
            near: policy.rollers_margin.value,
        }
    }

    /// The judged value and its uncertainty.
    pub(super) fn value(&mut self, figure: Figure, u: Option<f64>) {
        self.finding.value = Some(figure);
        self.finding.u = u;
    }

    /// Where, and what.
    pub(super) const fn about(&self) -> (Place, Item) {
        (self.finding.place, self.finding.item)
    }

    /// The state that is judged.
    pub(super) const fn phase(&self) -> Phase {
        self.finding.phase
    }

    pub(super) fn results(&mut self, results: Results) {
        self.finding.results = Some(results);
    }

    pub(super) fn proof(&mut self, proof: Proof) {
        self.finding.proof = Some(proof);
    }

    /// Worsens to ADVISE.
    pub(super) fn advise(&mut self, reason: impl Into<String>, urgency: Urgency) {
        if self.finding.firm == ItemVerdict::Pass {
            self.finding.firm = ItemVerdict::Advise;
        }
        self.advised(reason.into(), urgency);
    }

    /// Worsens to ADVISE for a doubt that better readings would settle either way.
    pub(super) fn doubt(&mut self, reason: impl Into<String>) {
        self.advised(reason.into(), Urgency::Watch);
    }

    /// Worsens a PASS to ADVISE because nobody may rely on the readings; no override takes it away.
    pub(super) fn unreliable(&mut self, reason: impl Into<String>) {
        self.finding.no_pass = true;
        self.doubt(reason);
    }

    fn advised(&mut self, reason: String, urgency: Urgency) {
        self.finding.reasons.push(reason);
        if self.finding.verdict == ItemVerdict::Pass {
            self.finding.verdict = ItemVerdict::Advise;
        }
        if self.finding.verdict == ItemVerdict::Advise
            && !matches!(self.finding.urgency, Some(Urgency::By { .. }))
        {
            self.finding.urgency = Some(urgency);
        }
    }

    /// Worsens to FAIL.
    pub(super) fn fail(&mut self, reason: impl Into<String>, stop: bool) {
        self.finding.reasons.insert(0, reason.into());
        self.finding.verdict = ItemVerdict::Fail;
        self.finding.firm = ItemVerdict::Fail;
        if self.finding.urgency != Some(Urgency::Stop) {
            self.finding.urgency = Some(if stop {
                Urgency::Stop
            } else {
                Urgency::BeforeHandover
            });
        }
    }

    /// Gives an advice that already stands its distance; never makes one.
    pub(super) fn sharpen(&mut self, urgency: Urgency) {
        if self.finding.verdict == ItemVerdict::Advise {
            self.finding.urgency = Some(urgency);
        }
    }

    /// The readings are not all there: never a PASS, though a FAIL found in them stands.
    pub(super) fn incomplete(&mut self, reason: impl Into<String>) {
        let reason = reason.into();
        self.finding.partial = true;
        if self.finding.verdict == ItemVerdict::Fail {
            self.finding.reasons.push(reason);
            return;
        }
        self.finding.reasons.insert(0, reason);
        self.finding.verdict = ItemVerdict::NotInspected;
        self.finding.firm = ItemVerdict::NotInspected;
        self.finding.urgency = None;
    }

    /// Worsens a PASS to ADVISE for a reason no override can take away.
    pub(super) fn no_pass(&mut self, reason: impl Into<String>) {
        self.finding.no_pass = true;
        self.advise(reason, Urgency::Watch);
    }

    /// Whether the verdict so far is ADVISE or FAIL.
    pub(super) fn is_worse_than_pass(&self) -> bool {
        matches!(
            self.finding.verdict,
            ItemVerdict::Advise | ItemVerdict::Fail
        )
    }

    /// Whether the verdict so far is FAIL.
    pub(super) fn is_fail(&self) -> bool {
        self.finding.verdict == ItemVerdict::Fail
    }

    /// No override may make the verdict less severe, for this reason; the first one stays.
    pub(super) fn fix(&mut self, why: impl Into<String>) {
        if self.finding.fixed.is_empty() {
            self.finding.fixed = why.into();
        }
    }

    /// Whose rule it is, when it has no number.
    pub(super) fn rule(&mut self, source: String) {
        self.finding.limit_source = source;
    }

    /// Says something that changes nothing.
    pub(super) fn note(&mut self, remark: impl Into<String>) {
        self.finding.reasons.push(remark.into());
    }

    /// Nobody's figure is on file: measured, not judged.
    pub(super) fn no_limit(&mut self, what: &str) {
        self.finding.verdict = ItemVerdict::NoLimit;
        self.finding.firm = ItemVerdict::NoLimit;
        self.finding
            .reasons
            .push(format!("no {what} is on file for this vehicle"));
    }

    /// The readings may not give a PASS, for these reasons.
    pub(super) fn cautions(&mut self, cautions: &[String]) {
        for caution in cautions {
            self.unreliable(format!("no pass from these readings: {caution}"));
        }
    }

    /// Shows a limit chain with the finding; `show` turns its values into figures.
    fn limits<T: Ord + Copy>(&mut self, chain: &LimitChain<T>, show: impl Fn(T) -> Figure) {
        let one = |limit: &Limit<T>, why: &str| LimitShown {
            limit: show(limit.value),
            unit: show(limit.value).unit(),
            source: limit_words(limit),
            not_applied: why.to_owned(),
        };
        if let Some(applied) = &chain.applied {
            self.smaller_is_worse = applied.bound == LimitBound::AtLeast;
            self.finding.limit = Some(show(applied.value));
            self.finding.limit_source = limit_words(applied);
            let figure = exactly(show(applied.value), self.finding.item);
            self.limit_phrase = match applied.bound {
                LimitBound::AtLeast => format!("may not be below {figure}"),
                LimitBound::AtMost => format!("may not be above {figure}"),
            };
            self.finding.limits.push(one(applied, ""));
        }
        let others = chain
            .others
            .iter()
            .map(|other| one(&other.limit, &other.why));
        self.finding.limits.extend(others);
    }

    /// A value beyond a maker's or a pack's limit may not be called better than it is.
    fn bind<T: Ord + Copy>(&mut self, value: T, chain: &LimitChain<T>) {
        let broken = chain
            .in_force()
            .find(|limit| limit.may_fail() && !limit.permits(value));
        if let Some(limit) = broken {
            self.fix(format!("it is beyond the limit of {}", limit.source));
        }
    }

    /// Shows a limit that is not judged by here.
    pub(super) fn aside(&mut self, limit: Length, source: String, why: &str) {
        self.finding.limits.push(LimitShown {
            limit: Figure::Length(limit),
            unit: Figure::Length(limit).unit(),
            source,
            not_applied: why.to_owned(),
        });
    }

    /// Applies a lengths chain: shows it, states the proof, and says whether the value is beyond.
    fn conformity(
        &mut self,
        value: Length,
        u: Length,
        chain: &LimitChain<Length>,
    ) -> Option<(bool, Proof, Limit<Length>)> {
        self.conformity_proved((value, value), u, chain)
    }

    /// The same where proof is asked of another value than the one that was read.
    fn conformity_proved(
        &mut self,
        (value, proved): (Length, Length),
        u: Length,
        chain: &LimitChain<Length>,
    ) -> Option<(bool, Proof, Limit<Length>)> {
        self.limits(chain, Figure::Length);
        self.bind(value, chain);
        let applied = chain.applied.clone()?;
        let bound = match applied.bound {
            LimitBound::AtLeast => Bound::AtLeast(applied.value),
            LimitBound::AtMost => Bound::AtMost(applied.value),
        };
        let conformity = conformity::conformity(proved, u, bound);
        self.finding.conformance_probability = Some(conformity.probability);
        let proof = self.proof_of(conformity.probability);
        self.finding.proof = Some(proof);
        Some((!applied.permits(value), proof, applied))
    }

    /// What a probability proves. Proven in is the policy's figure; proven out, from which a FAIL may
    /// follow, is never policy's to move.
    fn proof_of(&self, probability: f64) -> Proof {
        match conformity::proof(probability) {
            Proof::ProvenOut => Proof::ProvenOut,
            _ if probability >= self.proven => Proof::ProvenIn,
            _ => Proof::NotProven,
        }
    }

    /// Whether the value is proven in.
    pub(super) fn is_proven(&self) -> bool {
        self.finding.proof == Some(Proof::ProvenIn)
    }

    /// Whether a value with this uncertainty would be proven in.
    pub(super) fn would_prove(&self, value: Length, u: Length, bound: Bound<Length>) -> bool {
        let probability = conformity::conformity(value, u, bound).probability;
        self.proof_of(probability) == Proof::ProvenIn
    }

    /// Asks for something nobody entered and that would decide.
    pub(super) fn ask(&mut self, ask: Ask) {
        self.note(ask.to_string());
        self.finding.asks.push(ask);
    }

    /// Judges what only wears one way. Returns whether a limit was on file.
    pub(super) fn one_way(
        &mut self,
        value: Length,
        u: Length,
        chain: &LimitChain<Length>,
        limit_name: &str,
    ) -> bool {
        self.one_way_proved((value, value), u, chain, limit_name)
    }

    /// The same where proof asks for another value than the one that was read: `proved` is what must
    /// be proven in, and only `value` may lie beyond.
    pub(super) fn one_way_proved(
        &mut self,
        (value, proved): (Length, Length),
        u: Length,
        chain: &LimitChain<Length>,
        limit_name: &str,
    ) -> bool {
        let Some((beyond, proof, applied)) = self.conformity_proved((value, proved), u, chain)
        else {
            self.no_limit(limit_name);
            self.finding.reasons.extend(chain.why_none());
            return false;
        };
        if beyond {
            let stop = dangerous(value, chain);
            self.fail(
                format!("it is beyond the limit of {}", applied.source),
                stop,
            );
        } else if proof != Proof::ProvenIn {
            self.doubt(format!(
                "inside the limit but not proven: that it conforms is {}",
                self.likelihood_words()
            ));
        } else if matches!(applied.authority, Authority::RulePack { .. })
            && nearer(value.nm(), applied.value.nm(), self.near)
        {
            self.advise(self.near_words(), Urgency::Watch);
        }
        true
    }

    /// Judges what can be put right or measured again.
    pub(super) fn correctable(
        &mut self,
        value: Length,
        u: Length,
        chain: &LimitChain<Length>,
        complaint_matches: bool,
        limit_name: &str,
    ) -> bool {
        let Some((beyond, proof, applied)) = self.conformity(value, u, chain) else {
            self.no_limit(limit_name);
            self.finding.reasons.extend(chain.why_none());
            return false;
        };
        let state = (beyond, proof);
        if self.fails(value, state, &applied, chain, complaint_matches) {
            return true;
        }
        if beyond {
            self.doubt("beyond the limit: measure again first");
        } else if proof != Proof::ProvenIn {
            self.doubt("inside the limit but not proven: measure again first");
        }
        true
    }

    /// Judges a variation that does not rise above its own noise, where that noise is less than the
    /// limit: nothing is shown, and what there is lies inside.
    pub(super) fn below_floor(
        &mut self,
        value: Length,
        u: Length,
        chain: &LimitChain<Length>,
        floor: Length,
    ) {
        if self.conformity(value, u, chain).is_none() {
            self.no_limit("thickness-variation limit");
        }
        self.note(format!(
            "none shown: below the noise floor of {:.1} µm; three readings a point would tell more",
            floor.um()
        ));
    }

    /// Judges a variation by a gauge whose noise reaches the limit: a sound disc shows as much, so
    /// nothing is passed and nothing fails, unless the value exceeds the limit by more than the noise.
    pub(super) fn within_noise(
        &mut self,
        value: Length,
        u: Length,
        chain: &LimitChain<Length>,
        (floor, readings): (Length, usize),
    ) {
        let Some((_, _, applied)) = self.conformity(value, u, chain) else {
            return;
        };
        let (limit, noise) = (applied.value, floor.um());
        self.finding.conformance_probability = None;
        if value - limit > floor {
            self.finding.proof = Some(Proof::ProvenOut);
            let reason = format!(
                "it is beyond the limit of {} by more than the noise floor of {noise:.1} µm",
                applied.source
            );
            if applied.may_fail() {
                self.fail(reason, dangerous(value, chain));
            } else {
                self.advise(reason, Urgency::Watch);
                self.note(POLICY_ONLY);
            }
            return;
        }
        self.finding.proof = Some(Proof::NotProven);
        let more = readings_to_decide(floor, readings, limit)
            .map_or_else(|| "more".to_owned(), |more| more.to_string());
        self.unreliable(format!(
            "this gauge cannot decide {limit}, a perfect disc may show {noise:.1} µm with it: {more} readings a point, a finer gauge, or its own repeat study"
        ));
    }

    /// FAIL of what can be put right: proven out, or beyond with the matching complaint. Workshop
    /// policy alone never fails anything.
    fn fails(
        &mut self,
        value: Length,
        (beyond, proof): (bool, Proof),
        applied: &Limit<Length>,
        chain: &LimitChain<Length>,
        complaint_matches: bool,
    ) -> bool {
        if matches!(applied.authority, Authority::Policy) {
            self.note(POLICY_ONLY);
            return false;
        }
        let why = match (proof, beyond && complaint_matches) {
            (Proof::ProvenOut, _) => "and proven so",
            (_, true) => "and the complaint matches",
            _ => return false,
        };
        let reason = format!("it is beyond the limit of {}, {why}", applied.source);
        self.fail(reason, dangerous(value, chain));
        true
    }

    /// Judges a second figure of the same item that can be put right, against a limit of its own.
    ///
    /// Says nothing when nobody gives a limit for it.
    pub(super) fn second_figure(
        &mut self,
        what: &str,
        value: Length,
        u: Length,
        chain: &LimitChain<Length>,
    ) {
        let Some(applied) = &chain.applied else {
            return;
        };
        let bound = match applied.bound {
            LimitBound::AtLeast => Bound::AtLeast(applied.value),
            LimitBound::AtMost => Bound::AtMost(applied.value),
        };
        let proof = self.proof_of(conformity::conformity(value, u, bound).probability);
        let beyond = !applied.permits(value);
        let source = limit_words(applied);
        self.aside(applied.value, source, &format!("the limit of the {what}"));
        self.bind(value, chain);
        let text = format!("{what} of {value} against {}", applied.value);
        if applied.may_fail() && proof == Proof::ProvenOut {
            self.fail(
                format!("{text}: beyond the limit, and proven so"),
                dangerous(value, chain),
            );
        } else if beyond {
            self.doubt(format!("{text}: beyond the limit, measure again first"));
        } else if proof != Proof::ProvenIn {
            self.doubt(format!(
                "{text}: inside but not proven, measure again first"
            ));
        }
    }

    /// Judges a percentage of brake forces as a statute does: directly. Beyond is FAIL, however
    /// uncertain the tester; inside, but nearer than 1.645 u or than the policy's share of the limit,
    /// whichever is more, is an advice.
    pub(super) fn percent(&mut self, (value, u): (f64, f64), chain: &LimitChain<Percent>) {
        self.limits(chain, |limit| Figure::Percent(limit.percent()));
        let (Some(applied), Some(exact)) = (&chain.applied, Percent::from_percent(value)) else {
            self.no_limit("limit");
            self.finding.reasons.extend(chain.why_none());
            return;
        };
        self.bind(exact, chain);
        let limit = applied.value.percent();
        let bound = match applied.bound {
            LimitBound::AtLeast => Bound::AtLeast(limit),
            LimitBound::AtMost => Bound::AtMost(limit),
        };
        let beyond = !applied.permits(exact);
        // A force of nothing has no spread: then the comparison alone decides.
        let proof = match conformity::conformity_of(value, u, bound) {
            Ok(conformity) => {
                self.finding.conformance_probability = Some(conformity.probability);
                self.proof_of(conformity.probability)
            }
            Err(_) if beyond => Proof::ProvenOut,
            Err(_) => Proof::NotProven,
        };
        self.finding.proof = Some(proof);
        if beyond && applied.may_fail() {
            self.fail(
                format!("it is beyond the limit of {}", applied.source),
                dangerous(exact, chain),
            );
        } else if beyond {
            self.advise("beyond the limit", Urgency::Watch);
            self.note(POLICY_ONLY);
        } else if proof != Proof::ProvenIn {
            self.doubt(format!(
                "inside the limit but not proven: that it conforms is {}",
                self.likelihood_words()
            ));
        } else if nearer(exact.thousandths(), applied.value.thousandths(), self.near) {
            self.advise(self.near_words(), Urgency::Watch);
        }
    }

    /// A percentage that would be beyond its limit, had the rule not excepted these forces: no FAIL
    /// comes of them and no PASS.
    pub(super) fn not_counted(&mut self, chain: &LimitChain<Percent>, why: &str) {
        self.limits(chain, |limit| Figure::Percent(limit.percent()));
        self.unreliable(format!(
            "not counted: {why}; what does not count is beyond the limit: measure again where it counts"
        ));
    }

    fn near_words(&self) -> String {
        format!("nearer to the limit than {} of it", self.near)
    }

    /// Judges a temperature directly against its lower limit.
    pub(super) fn temperature(
        &mut self,
        value: Temperature,
        chain: &LimitChain<Temperature>,
        advise_below: Option<Temperature>,
    ) {
        self.limits(chain, Figure::Temperature);
        self.bind(value, chain);
        let Some(applied) = &chain.applied else {
            self.no_limit("boiling-point limit");
            return;
        };
        if !applied.permits(value) {
            self.fail(
                format!("it boils below the limit of {}", applied.source),
                dangerous(value, chain),
            );
        } else if let Some(below) = advise_below.filter(|below| value < *below) {
            self.advise(
                format!("it boils below {below}, midway between wet and dry minimum"),
                Urgency::Watch,
            );
        }
    }

    fn likelihood_words(&self) -> &'static str {
        conformity::in_words(self.finding.conformance_probability.unwrap_or(0.0))
    }

    /// Puts the sentences together.
    pub(super) fn finish(mut self) -> Finding {
        if self.finding.urgency == Some(Urgency::Stop) {
            self.fix("a vehicle that must not be driven is never called better");
        }
        let f = &self.finding;
        let what = subject(f.place, f.item);
        let reason = f
            .reasons
            .first()
            .map(|r| format!(" ({r})"))
            .unwrap_or_default();
        let verdict = verdict_words(f.verdict);
        let value = f
            .value
            .map(|value| beside(value, f.limit, f.item, self.smaller_is_worse));
        let sentence = match (value, self.limit_phrase.as_str()) {
            (None, _) => format!("{what}: {verdict}{reason}."),
            (Some(value), "") => format!("{what}: {value}; {verdict}{reason}."),
            (Some(value), limit) => format!("{what}: {value}, {limit}; {verdict}{reason}."),
        };
        let technical = technical(f);
        self.finding.sentence = sentence;
        self.finding.technical = technical;
        self.finding
    }
}

fn technical(f: &Finding) -> String {
    let Some(value) = f.value else {
        return String::new();
    };
    // What lies within half a step of its limit needs more to stand on its own side of it.
    let is_within = |step: f64| {
        let apart = f.limit.map(|limit| (value.number() - limit.number()).abs());
        apart.is_some_and(|apart| apart > 0.0 && apart < step)
    };
    let decimals = match value {
        Figure::Length(_) if is_within(1e-4) => 6,
        Figure::Length(_) => 4,
        _ if is_within(1e-2) => 3,
        _ => 2,
    };
    let mut parts = vec![format!("{:.decimals$} {}", value.number(), value.unit())];
    if let Some(limit) = f.limit {
        parts.push(format!(
            "limit {:.decimals$} ({})",
            limit.number(),
            f.limit_source
        ));
    }
    if let (Some(u), Figure::Length(_)) = (f.u, value) {
        parts.push(format!("u {:.2} µm", u * 1e3));
    }
    if let Some(p) = f.conformance_probability {
        parts.push(format!("p_c {p:.4}"));
    }
    if let Some(proof) = f.proof {
        let word = match proof {
            Proof::ProvenIn => "proven in",
            Proof::NotProven => "not proven",
            Proof::ProvenOut => "proven out",
            _ => "looked",
        };
        parts.push(word.to_owned());
    }
    parts.join(", ")
}

/// Said where nobody but the workshop's policy gives a limit, by which nothing fails.
const POLICY_ONLY: &str = "workshop policy, no maker's figure";

/// Whether a value lies nearer to a limit than a share of it; both in the same whole unit.
fn nearer(value: i64, limit: i64, share: Percent) -> bool {
    let apart = (i128::from(value) - i128::from(limit)).abs();
    apart * 100_000 < i128::from(limit).abs() * i128::from(share.thousandths())
}

/// Whether the value breaks any rule in force whose pack calls that dangerous.
fn dangerous<T: Ord + Copy>(value: T, chain: &LimitChain<T>) -> bool {
    chain.class_of(value) == Some(RuleClass::Dangerous)
}

/// Whose limit it is, marked when nobody has compared it with the text it comes from.
fn limit_words<T: Ord + Copy>(limit: &Limit<T>) -> String {
    let mark = if limit.unconfirmed() {
        " (unconfirmed)"
    } else {
        ""
    };
    let whose = match limit.authority {
        Authority::Maker => "maker: ",
        // The source of a policy's figure says itself whose it is, and that no maker gives one.
        Authority::CastMark | Authority::RulePack { .. } | Authority::Policy => "",
    };
    format!("{whose}{}{mark}", limit.source)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn measured(reasons: impl Fn(&mut Draft)) -> (ItemVerdict, ItemVerdict) {
        let policy = Policy::builtin();
        let corner = Place::Vehicle;
        let mut draft = Draft::new(&policy, corner, Item::DiscThickness, Phase::AsFound);
        reasons(&mut draft);
        let finding = draft.finish();
        (finding.verdict, finding.firm)
    }

    #[test]
    fn the_firm_verdict_knows_no_doubt() {
        use ItemVerdict::{Advise, Fail, NotInspected, Pass};
        assert_eq!(measured(|_| ()), (Pass, Pass));
        assert_eq!(measured(|d| d.doubt("not proven")), (Advise, Pass));
        let cautions = ["no instrument".to_owned()];
        assert_eq!(measured(|d| d.cautions(&cautions)), (Advise, Pass));
        let thin = |d: &mut Draft| {
            d.doubt("not proven");
            d.advise("little left", Urgency::Watch);
        };
        assert_eq!(measured(thin), (Advise, Advise));
        let beyond = |d: &mut Draft| {
            d.fail("beyond", false);
            d.unreliable("no pass");
        };
        assert_eq!(measured(beyond), (Fail, Fail));
        assert_eq!(
            measured(|d| d.incomplete("two of eight")),
            (NotInspected, NotInspected)
        );
    }
}
