//! New discs, brake fluid, and what nobody confirmed.

use super::help::*;

#[test]
fn new_discs_follow_un_r90_and_never_judge_a_vehicle() {
    // UN R90 5.3.3.1.1 and 5.3.3.1.2, printed in GRRF-80-12: R.
    let r90 = pack("un-r90-new-discs");
    assert_rows(
        &r90,
        &[
            "r90-variation-light | disc.variation | <= 0.015 mm | passes | major | 5.3.3.1.1 | R",
            "r90-runout-light | disc.runout | <= 0.050 mm | passes | major | 5.3.3.1.1 | R",
            "r90-variation-heavy | disc.variation | <= 0.030 mm | passes | major | 5.3.3.1.1 | R",
            "r90-runout-heavy | disc.runout | <= 0.150 mm | passes | major | 5.3.3.1.1 | R",
            "r90-drum-ovality | drum.diameter ovality | <= 0.040 mm | passes | major | 5.3.3.1.2 | R",
        ],
    );
    assert_eq!(r90.scope, PackScope::NewPart);
    assert_eq!(
        when(&r90, "r90-runout-light").classes,
        ["M1", "N1", "O1", "O2"]
    );
    assert_eq!(when(&r90, "r90-drum-ovality").classes, ["M1", "N1"]);
    assert!(
        r90.rows
            .iter()
            .all(|rule| rule.when.part == Some(PartState::New))
    );
}

#[test]
fn brake_fluid_boils_where_571_116_says() {
    // 49 CFR 571.116 S5.1: S.
    let fluid = pack("brake-fluid");
    assert_rows(
        &fluid,
        &[
            "dot3-dry | fluid.boiling | >= 205 °C | passes | major | 49 CFR 571.116 S5.1 | S",
            "dot3-wet | fluid.boiling | >= 140 °C | passes | major | 49 CFR 571.116 S5.1 | S",
            "dot4-dry | fluid.boiling | >= 230 °C | passes | major | 49 CFR 571.116 S5.1 | S",
            "dot4-wet | fluid.boiling | >= 155 °C | passes | major | 49 CFR 571.116 S5.1 | S",
            "dot5-dry | fluid.boiling | >= 260 °C | passes | major | 49 CFR 571.116 S5.1 | S",
            "dot5-wet | fluid.boiling | >= 180 °C | passes | major | 49 CFR 571.116 S5.1 | S",
            "dot5-1-dry | fluid.boiling | >= 260 °C | passes | major | 49 CFR 571.116 S5.1 | S",
            "dot5-1-wet | fluid.boiling | >= 180 °C | passes | major | 49 CFR 571.116 S5.1 | S",
        ],
    );
    for (id, grade, part) in [
        ("dot3-dry", "DOT 3", PartState::New),
        ("dot4-wet", "DOT 4", PartState::InService),
        ("dot5-1-wet", "DOT 5.1", PartState::InService),
    ] {
        let conditions = when(&fluid, id);
        assert_eq!(
            (conditions.fluid_grade.as_deref(), conditions.part),
            (Some(grade), Some(part))
        );
    }
}

#[test]
fn every_limit_that_was_not_read_is_unconfirmed_until_somebody_checks_it() {
    for mut pack in packs() {
        assert!(!pack.edition.is_empty(), "{}", pack.id);
        let rows = pack.rows.clone();
        for row in rows {
            assert_eq!(row.unconfirmed(), row.status != Status::Read, "{}", row.id);
            assert!(pack.confirm(&row.id, "Ruth Aldous"));
            let confirmed = pack.rows.iter().find(|rule| rule.id == row.id).unwrap();
            assert!(!confirmed.unconfirmed(), "{}", row.id);
        }
        assert!(!pack.confirm("no such rule", "Ruth Aldous"));
    }
}

/// Each of these has a table above or beside this one that holds exactly its rows.
#[test]
fn no_built_in_pack_is_without_its_table() {
    let ids: BTreeSet<String> = packs().into_iter().map(|pack| pack.id).collect();
    let tables = [
        include_str!("great_britain.rs"),
        include_str!("europe.rs"),
        include_str!("united_states.rs"),
        include_str!("parts.rs"),
    ]
    .concat();
    for id in &ids {
        let pack = pack(id);
        assert!(!pack.rows.is_empty(), "{id} has no row");
        let named = tables
            .match_indices(&format!("pack(\"{id}\")"))
            .any(|(at, _)| {
                // The pack is read, and what follows holds its rows.
                tables
                    .get(at..)
                    .is_some_and(|after| after.contains("assert_rows("))
            });
        assert!(named, "no table holds the rows of {id}");
    }
    assert_eq!(tables.matches("\n    assert_rows(").count(), ids.len());
}
