//! The European proposal.

use super::help::*;

#[test]
fn the_european_pack_says_what_the_proposal_says() {
    // Commission proposal COM(2012) 380, annex: all S; the annex of 2014/45/EU was not read.
    assert_rows(
        &pack("eu"),
        &[
            "eu-imbalance | axle.imbalance | <= 30 % | passes | major | annex 1.3.1 of the proposal | S",
            "eu-imbalance-steered | axle.imbalance | <= 50 % | passes | dangerous | annex 1.3.1 of the \
             proposal | S",
            "eu-service-m1 | brake.service_efficiency | >= 58 % | passes | major | annex 1.2.2 of the \
             proposal | S",
            "eu-service-m1-half | brake.service_efficiency | >= 29 % | passes | dangerous | annex 1.2.2 of \
             the proposal | S",
            "eu-service-others | brake.service_efficiency | >= 50 % | passes | major | annex 1.2.2 of the \
             proposal | S",
            "eu-service-others-half | brake.service_efficiency | >= 25 % | passes | dangerous | annex \
             1.2.2 of the proposal | S",
            "eu-service-earlier-m | brake.service_efficiency | >= 50 % | passes | major | annex 1.2.2 of \
             the proposal | S",
            "eu-service-earlier-m-half | brake.service_efficiency | >= 25 % | passes | dangerous | annex \
             1.2.2 of the proposal | S",
            "eu-service-earlier-n1 | brake.service_efficiency | >= 45 % | passes | major | annex 1.2.2 of \
             the proposal | S",
            "eu-service-earlier-n1-half | brake.service_efficiency | >= 22.5 % | passes | dangerous | \
             annex 1.2.2 of the proposal | S",
            "eu-service-earlier-n2-n3 | brake.service_efficiency | >= 43 % | passes | major | annex 1.2.2 \
             of the proposal | S",
            "eu-service-earlier-n2-n3-half | brake.service_efficiency | >= 21.5 % | passes | dangerous | \
             annex 1.2.2 of the proposal | S",
            "eu-parking | brake.parking_efficiency | >= 16 % | passes | major | annex 1.4.2 of the \
             proposal | S",
        ],
    );
    let eu = pack("eu");
    for (class, first_used, expected) in [
        ("M1", "2012-01-01", "eu-service-m1"),
        ("M1", "2011-12-31", "eu-service-earlier-m"),
        ("M2", "2012-01-01", "eu-service-others"),
        ("N1", "2011-12-31", "eu-service-earlier-n1"),
        ("N3", "2011-12-31", "eu-service-earlier-n2-n3"),
        ("N2", "2020-01-01", "eu-service-others"),
    ] {
        let found = applying(&eu, "brake.service_efficiency", &used(class, first_used));
        assert_eq!(
            found,
            [expected.to_owned(), format!("{expected}-half")],
            "{class} {first_used}"
        );
    }
}

#[test]
fn half_of_each_required_efficiency_is_its_own_dangerous_line() {
    // GB 1.2.2 and 1.4.2 (R), EU annex 1.2.2 (S): below half of the required efficiency.
    let number = |rule: &Rule| match rule.value {
        RuleValue::Percent(percent) => percent.thousandths(),
        other => panic!("{other} is no percentage"),
    };
    for (id, count) in [("gb", 7), ("eu", 5)] {
        let pack = pack(id);
        let halves: Vec<&Rule> = pack
            .rows
            .iter()
            .filter(|rule| rule.id.ends_with("-half"))
            .collect();
        assert_eq!(halves.len(), count, "{id}");
        for half in halves {
            let whole = half.id.trim_end_matches("-half");
            let whole = pack.rows.iter().find(|rule| rule.id == whole).unwrap();
            assert_eq!(2 * number(half), number(whole), "{}", half.id);
            assert_eq!(
                (half.class, whole.class),
                (RuleClass::Dangerous, RuleClass::Major)
            );
            assert_eq!(half.when, whole.when);
        }
    }
}
