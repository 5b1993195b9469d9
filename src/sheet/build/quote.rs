//! The quote: what is offered, what leaving it means, what was decided.

use super::Material;
use crate::sheet::forms::{Forms, Toward};
use crate::sheet::model::{Decided, Offer, Quote, QuoteLine};
use crate::sheet::words::blanks;

/// What the desk says of leaving a line, by the fixed pieces of its sentence, and our message.
pub(super) const LEAVING: [(&str, &[&str]); 4] = [
    (
        "leave-stop",
        &["left as it is, the vehicle must not be driven: 0 km"],
    ),
    (
        "leave-fail",
        &[
            "left as it is, it stays outside its limit from the first kilometre; it should not be handed over like this",
        ],
    ),
    (
        "leave-km",
        &[
            "left as it is, it may reach its limit from ",
            " km on, ",
            " km from now",
        ],
    ),
    (
        "leave-unknown",
        &[
            "left as it is, no distance can be said; it is looked at again at the next service, ",
            " km from now",
        ],
    ),
];

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
        if_not: (!offer.leaving.is_empty()).then(|| leaving(forms, &offer.leaving)),
        decided: offer.decided.as_ref().map(|said| decided(forms, said)),
    }
}

/// What leaving it means; a sentence the desk does not make is shown as it is.
pub(super) fn leaving(forms: &Forms, said: &str) -> String {
    let km = |text: &str| {
        text.parse()
            .map_or_else(|_| text.to_owned(), |km| forms.km(km, Toward::Down))
    };
    let known = LEAVING
        .iter()
        .find_map(|(id, pieces)| Some((*id, blanks(pieces, said)?)));
    match known.as_ref().map(|(id, found)| (*id, found.as_slice())) {
        Some((id, [])) => forms.words.plain(id),
        Some((id, [left])) => forms.words.say(id, &[("left", km(left).into())]),
        Some((id, [at, left])) => {
            let args = [("at", km(at).into()), ("left", km(left).into())];
            forms.words.say(id, &args)
        }
        _ => said.to_owned(),
    }
}

fn decided(forms: &Forms, said: &Decided) -> String {
    let means = forms.words.plain(&format!("means-{}", said.means));
    let args = [
        ("outcome", said.outcome.as_str().into()),
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
    fn every_way_the_desk_speaks_of_leaving_a_line_has_its_sentence() {
        let source = include_str!("../../office/propose.rs");
        let said = source.matches("left as it is, ").count();
        assert_eq!(
            said,
            LEAVING.len(),
            "the desk says it in another number of ways"
        );
        for (_, pieces) in LEAVING {
            for piece in pieces {
                assert!(source.contains(piece), "the desk does not say `{piece}`");
            }
        }
    }

    #[test]
    fn distances_of_a_line_left_are_written_in_the_sheets_units() {
        let said = "left as it is, it may reach its limit from 90791 km on, 6671 km from now";
        let plain = |forms: Forms| leaving(&forms, said).replace('\u{a0}', " ");
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
