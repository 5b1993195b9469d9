//! No reading on the sheet that is not in the record.

use super::*;

/// Every number of a JSON value.
fn numbers(value: &serde_json::Value, out: &mut Vec<f64>) {
    match value {
        serde_json::Value::Number(number) => out.extend(number.as_f64()),
        serde_json::Value::Array(items) => items.iter().for_each(|item| numbers(item, out)),
        serde_json::Value::Object(fields) => fields.values().for_each(|field| numbers(field, out)),
        _ => {}
    }
}

/// The numbers before a unit in a text, with their decimals.
fn before_unit(text: &str, unit: &str) -> Vec<(f64, i32)> {
    let text = text.replace('\u{a0}', " ");
    let mut found = Vec::new();
    for (at, _) in text.match_indices(&format!(" {unit}")) {
        let head = &text[..at];
        let start = head
            .rfind(|c: char| !c.is_ascii_digit() && c != '.')
            .map_or(0, |i| i + head[i..].chars().next().unwrap().len_utf8());
        let number = &head[start..];
        if let Ok(value) = number.parse::<f64>() {
            let decimals = number.split_once('.').map_or(0, |(_, d)| d.len());
            found.push((value, i32::try_from(decimals).unwrap()));
        }
    }
    found
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn no_reading_appears_that_is_not_in_the_record(
        ring in proptest::collection::vec(22_000i64..26_500, 10),
        turn in proptest::collection::vec(0i64..120, 10),
        pads in proptest::collection::vec(300i64..12_000, 4),
        float in 0i64..80,
    ) {
        let mut events = vec![Event::Opened(Box::new(opening()))];
        for (i, um) in (1u16..).zip(&ring) {
            events.push(reading("FL", Item::DiscThickness, Slot::Point(i), *um));
        }
        for (i, um) in (1u16..).zip(&turn) {
            events.push(reading("FL", Item::DiscRunout, Slot::Point(i), *um));
        }
        for (slot, um) in [Slot::Inner(1), Slot::Inner(2), Slot::Outer(1), Slot::Outer(2)].into_iter().zip(&pads) {
            events.push(reading("FL", Item::PadsThickness, slot, *um));
        }
        events.push(reading("FL", Item::BearingFloat, Slot::Value(1), float));
        let job = job_of(&events, "Ilse Varga");
        let bench = Bench::new();
        let case = bench.case(&job);
        let judgement = judge::judge(&case);
        let extra = Extra::default();
        let model = sheet::sheet(&extra.material(&case, &judgement), form(Edition::Workshop));

        // As entered: each reading once, in the words of the journal, and no other.
        let technical = model.technical.as_ref().unwrap();
        let mut shown: Vec<&str> = technical.readings.iter().flat_map(|row| &row.texts).map(String::as_str).collect();
        let mut entered: Vec<&str> = events.iter().filter_map(|event| match event {
            Event::Reading(reading) => Some(reading.entered.text.as_str()),
            _ => None,
        }).collect();
        shown.sort_unstable();
        entered.sort_unstable();
        prop_assert_eq!(shown, entered);

        // In sentences, drawings and tables: no length that judgement, journal or limits do not hold.
        let mut known = Vec::new();
        numbers(&serde_json::to_value(&judgement).unwrap(), &mut known);
        let mut whole = Vec::new();
        numbers(&serde_json::to_value(&bench.sheet).unwrap(), &mut whole);
        numbers(&serde_json::to_value(&bench.policy).unwrap(), &mut whole);
        numbers(&serde_json::to_value(&events).unwrap(), &mut whole);
        known.extend(whole.iter().map(|nm| nm / 1e6));
        let drawn: Vec<String> = model.blocks.iter().flat_map(|b| &b.items).filter_map(|i| i.picture.as_ref()).map(|p| p.svg.clone()).collect();
        let page = format!("{}\n{}", text::render(&model, Signs::Unicode).replace('\n', " "), drawn.join(" "));
        let lengths = before_unit(&page, "mm");
        prop_assert!(lengths.len() > 20, "{page}");
        for (value, decimals) in lengths {
            let step = 10f64.powi(-decimals);
            prop_assert!(
                known.iter().any(|k| (k.abs() - value).abs() < step * 1.000_001),
                "{value} mm is nowhere in the record"
            );
        }
    }
}
