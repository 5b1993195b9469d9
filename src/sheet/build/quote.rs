//! The quote: what is offered, what leaving it means, what was decided.

use super::Material;
use crate::job::Outcome;
use crate::judge::Finding;
use crate::office::Leaving;
use crate::sheet::forms::{Forms, Toward};
use crate::sheet::model::{Decided, Offer, Quote, QuoteLine};

pub(super) fn quote(material: &Material<'_>, forms: &Forms) -> Quote {
    let given = material
        .case
        .job
        .opening
        .as_ref()
        .map(|o| o.quote.as_str())
        .unwrap_or_default();
    Quote {
        given: (!given.is_empty())
            .then(|| forms.words.say("quote-given", &[("text", given.into())])),
        none: forms.words.plain("quote-none"),
        lines: material
            .quote
            .iter()
            .map(|offer| line(forms, offer))
            .collect(),
    }
}

fn line(forms: &Forms, offer: &Offer) -> QuoteLine {
    QuoteLine {
        words: offer.words.clone(),
        price: offer.price.as_deref().map(|price| forms.decimal(price)),
        if_not: offer.leaving.map(|left| leaving(forms, left)),
        decided: offer.decided.as_ref().map(|said| decided(forms, said)),
    }
}

/// The line that would have cured a finding, if the customer said no to it or put it off, and
/// neither another line nor a new part cures it.
pub(super) fn declined<'m>(material: &'m Material<'_>, found: &Finding) -> Option<&'m Offer> {
    let about = (found.place, found.item);
    let answered = |offer: &Offer, yes: bool| {
        let outcome = offer.decided.as_ref().map(|said| said.outcome);
        outcome.is_some_and(|outcome| (outcome == Outcome::Yes) == yes)
            && offer.cures.contains(&about)
    };
    let job = material.case.job;
    let fitted = job
        .fitted_at(found.place)
        .any(|fitted| fitted.part.voids(found.item));
    if fitted || material.quote.iter().any(|offer| answered(offer, true)) {
        return None;
    }
    material.quote.iter().find(|offer| answered(offer, false))
}

/// That a line was declined, and what that means for a finding as it stands now.
pub(super) fn declined_words(forms: &Forms, offer: &Offer, holds: bool) -> Vec<String> {
    let no = offer.decided.as_ref().map(|said| said.outcome) == Some(Outcome::No);
    let id = if no { "declined-no" } else { "declined-later" };
    let work = offer.words.as_str().into();
    let mut said = vec![forms.words.say(id, &[("work", work)])];
    if holds {
        said.push(forms.words.plain("declined-holds"));
    } else {
        said.extend(offer.leaving.map(|left| leaving(forms, left)));
    }
    said
}

/// What leaving it means.
pub(super) fn leaving(forms: &Forms, leaving: Leaving) -> String {
    let km = |km: i64| forms.km(km, Toward::Down).into();
    match leaving {
        Leaving::Stops => forms.words.plain("leave-stop"),
        Leaving::Fails => forms.words.plain("leave-fail"),
        Leaving::AtLimit => forms.words.plain("leave-at-limit"),
        Leaving::Lasts { km: at, left_km } => forms
            .words
            .say("leave-km", &[("at", km(at)), ("left", km(left_km))]),
        Leaving::Unknown { service_km } => forms
            .words
            .say("leave-unknown", &[("left", km(service_km))]),
    }
}

fn decided(forms: &Forms, said: &Decided) -> String {
    let means = forms.words.plain(&format!("means-{}", said.means));
    let args = [
        ("outcome", said.outcome.word().into()),
        ("time", forms.time(said.at).into()),
        ("means", means.into()),
    ];
    let mut words = vec![forms.words.say("decided", &args)];
    if let Some(until) = said.ask_again {
        let date = forms.date(until).into();
        words.push(forms.words.say("decided-ask", &[("date", date)]));
    }
    if said.caution_read {
        words.push(forms.words.plain("decided-caution"));
    }
    words.join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::forms::Units;
    use crate::sheet::words::Language;

    #[test]
    fn distances_of_a_line_left_are_written_in_the_sheets_units() {
        let lasts = Leaving::Lasts {
            km: 90_791,
            left_km: 6_671,
        };
        let plain = |forms: Forms| leaving(&forms, lasts).replace('\u{a0}', " ");
        assert_eq!(
            plain(Forms::new(Language::De, Units::Metric)),
            "So belassen, kann es seine Grenze beim Stand 90 791 km erreichen. Das ist in 6 671 km."
        );
        // 90 791 km / 1.609344 = 56 414.9 mi, 6671 km / 1.609344 = 4145.2 mi: by hand.
        assert_eq!(
            plain(Forms::new(Language::En, Units::Imperial)),
            "Left as it is, it may reach its limit at 56 414 mi. That is 4 145 mi from now."
        );
    }
}
