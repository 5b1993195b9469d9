//! Every row of every rule pack that ships, reached from the command line on both sides.
//!
//! For each row a vehicle is made that is in its scope: an own sheet, and a job opened with the facts
//! the row asks for. A number is logged just inside and just beyond the row's figure, a look with each
//! of its defects. The answer must name the row's source and figure, or list it with the reason why it
//! was not the one applied.

use brakecorner::spec::{
    Actuation, AxleCondition, Bound, BrakeForm, Chassis, Conditions, DefectRule, Mounting,
    PackScope, PartState, Rule, RuleClass, RulePack, RuleValue, builtin_rule_packs,
};
use serde_json::Value;

use crate::common::Yard;

/// The brakes of a vehicle as a row wants them.
#[derive(Clone, Copy, PartialEq, Eq)]
struct Brakes {
    brake: BrakeForm,
    actuation: Actuation,
    grade: &'static str,
}

impl Brakes {
    fn of(item: &str, when: &Conditions) -> Self {
        let drum = ["linings.", "drum.", "cylinder."];
        let by_item = if drum.iter().any(|stem| item.starts_with(stem)) {
            BrakeForm::Drum
        } else {
            BrakeForm::Disc
        };
        let grades = ["DOT 3", "DOT 4", "DOT 5", "DOT 5.1"];
        let wanted = when.fluid_grade.as_deref().unwrap_or("DOT 4");
        Self {
            brake: when.brake.unwrap_or(by_item),
            actuation: when.actuation.first().copied().unwrap_or_default(),
            grade: grades.into_iter().find(|grade| *grade == wanted).unwrap(),
        }
    }

    fn id(self) -> String {
        let grade = self.grade.replace([' ', '.'], "-").to_lowercase();
        format!("row-{}-{}-{grade}", self.brake(), self.actuation())
    }

    fn brake(self) -> &'static str {
        match self.brake {
            BrakeForm::Disc => "disc",
            BrakeForm::Drum => "drum",
        }
    }

    fn actuation(self) -> &'static str {
        match self.actuation {
            Actuation::Hydraulic => "hydraulic",
            Actuation::Air => "air",
            Actuation::Electric => "electric",
        }
    }

    /// A sheet that gives no limit of friction, so that the rows' own are judged by.
    fn sheet(self) -> String {
        let axle = |name: &str, steered: bool| {
            let parts = match self.brake {
                BrakeForm::Disc => {
                    "[axle.disc]\nnew_mm = 40.0\ndiscard_mm = 37.0\n[axle.pads]\nbasis = \"friction\"\nnew_mm = 20.0\n"
                }
                BrakeForm::Drum => {
                    "[axle.drum]\nnew_mm = 300.0\nmax_mm = 302.0\n[axle.linings]\nbasis = \"friction\"\nnew_mm = 20.0\n"
                }
            };
            format!(
                "[[axle]]\nname = \"{name}\"\nbrake = \"{}\"\nsteered = {steered}\nactuation = \"{}\"\n{parts}",
                self.brake(),
                self.actuation()
            )
        };
        format!(
            "id = \"{}\"\nname = \"{}\"\nsource = \"invented\"\n[wheel]\nfasteners = 5\ntorque_nm = 140\n[fluid]\ngrade = \"{}\"\n{}{}",
            self.id(),
            self.id(),
            self.grade,
            axle("front", true),
            axle("rear", false)
        )
    }
}

/// A workshop, and a new vehicle for each job, so that none knows what another one told.
struct Rows {
    yard: Yard,
    jobs: u32,
}

impl Rows {
    fn new() -> Self {
        let yard = Yard::empty();
        yard.run(&["init", "shop", "--name", "Test Yard"]).ends(0);
        Self { yard, jobs: 0 }
    }

    /// Opens a job for a vehicle in a row's scope.
    fn open(&mut self, pack: &RulePack, item: &str, when: &Conditions) -> String {
        let brakes = Brakes::of(item, when);
        let sheet = self.yard.path(&format!("specs/{}.toml", brakes.id()));
        if !sheet.exists() {
            std::fs::write(&sheet, brakes.sheet()).unwrap();
        }
        self.jobs += 1;
        let job = format!("R-{}", self.jobs);
        let mut args = vec![
            "job".to_owned(),
            "open".to_owned(),
            job.clone(),
            format!("--vin=A0ZRW{:012}", self.jobs),
            "--odometer=50000".to_owned(),
            format!("--sheet={}", brakes.id()),
            format!("--rules={}", pack.id),
            "--confirm".to_owned(),
        ];
        args.extend(facts(&pack.vehicles, when));
        let args: Vec<&str> = args.iter().map(String::as_str).collect();
        self.yard.run(&args).ends(0);
        job
    }

    /// Logs and asks what became of an item.
    fn logged(&self, job: &str, place: &str, values: &[String], asked: (&str, &str)) -> Value {
        let mut args = vec!["log", job, place];
        args.extend(values.iter().map(String::as_str));
        args.push("--confirm");
        self.yard.run(&args).ends(0);
        let said = self.yard.run(&["verdict", job, "--json"]);
        let json = said.json();
        let (place, item) = asked;
        let items = match place {
            "vehicle" => &json["vehicle"]["items"],
            "front" | "rear" => &json["axles"][place]["items"],
            corner => &json["corners"][corner]["items"],
        };
        let found = items
            .as_array()
            .unwrap()
            .iter()
            .find(|one| one["item"] == item && one["phase"] == "as_found");
        found
            .unwrap_or_else(|| panic!("{job}: no {place} {item} in {items:#}"))
            .clone()
    }
}

/// The options that put a vehicle into a row's scope.
fn facts(pack: &Conditions, when: &Conditions) -> Vec<String> {
    let mut options = Vec::new();
    let mut give = |option: &str, value: String| options.push(format!("{option}={value}"));
    let class = when
        .classes
        .iter()
        .find(|class| pack.classes.is_empty() || pack.classes.contains(class))
        .or_else(|| pack.classes.first());
    if let Some(class) = class {
        give("--class", class.clone());
    }
    let day = when
        .first_used_from
        .or_else(|| when.first_used_before.and_then(|day| day.pred_opt()));
    give(
        "--first-used",
        day.map_or("2015-01-01".to_owned(), |day| day.to_string()),
    );
    // Every mass of the packs is 10 000 lb.
    let up_to = when.gross_mass_up_to_g.or(pack.gross_mass_up_to_g);
    let over = when.gross_mass_over_g.or(pack.gross_mass_over_g);
    for (limit, pounds) in [(up_to, "10000 lb"), (over, "10001 lb")] {
        if let Some(grams) = limit {
            assert_eq!(grams, 4_535_924, "another mass than 10 000 lb");
            give("--gross-mass", pounds.to_owned());
        }
    }
    if let Some(seats) = when.seats_up_to.or(when.seats_over.map(|seats| seats + 1)) {
        give("--seats", seats.to_string());
    }
    if let Some(passenger) = when.passenger {
        give(
            "--carries",
            if passenger { "passengers" } else { "goods" }.to_owned(),
        );
    }
    if let Some(chassis) = when.chassis {
        let word = match chassis {
            Chassis::PassengerCar => "passenger-car",
            Chassis::TruckOrBus => "truck-or-bus",
        };
        give("--chassis", word.to_owned());
    }
    let single = when.single_line.unwrap_or(false);
    give(
        "--brake-lines",
        if single { "one" } else { "two" }.to_owned(),
    );
    let held = match when.mounting {
        Some(Mounting::Fastened) => "fastened",
        _ => "bonded",
    };
    give("--linings-held", held.to_owned());
    let two = when.two_pad_shoe.unwrap_or(false);
    give("--pads-per-shoe", if two { "2" } else { "1" }.to_owned());
    options
}

/// Millimetres with every digit.
fn mm(nm: i64) -> String {
    format!("{}.{:06}", nm / 1_000_000, nm % 1_000_000)
}

/// What to log, so that the row's figure is kept or broken, and where the answer stands.
fn entry(rule: &Rule, beyond: bool) -> (&'static str, Vec<String>, &'static str) {
    let front = rule.when.axle != AxleCondition::NonSteering;
    let corner = if front { "FL" } else { "RL" };
    // The least step to the other side of the figure.
    let exact = beyond != rule.at_limit_passes;
    match (rule.item.as_str(), rule.value) {
        ("pads.thickness" | "linings.thickness", RuleValue::Length(limit)) => {
            let step = match (exact, beyond) {
                (true, _) => 0,
                (false, true) => -1_000,
                (false, false) => 1_000,
            };
            let value = mm(limit.nm() + step);
            let values = if rule.item == "pads.thickness" {
                vec![format!("inner={value}"), format!("outer={value}")]
            } else {
                vec![value]
            };
            let values = [vec![rule.item.clone()], values].concat();
            (corner, values, corner)
        }
        ("axle.imbalance", RuleValue::Percent(limit)) => {
            // 4000 N against what is the limit's share less; 0.1 N is 0.0025 %.
            let lower = 4000.0 * (1.0 - limit.percent() / 100.0) - if exact { 0.0 } else { 0.1 };
            let values = vec![
                "brake.service_efficiency".to_owned(),
                "FL=4000".to_owned(),
                format!("FR={lower:.1}"),
                "RL=3000".to_owned(),
                "RR=3000".to_owned(),
                "mass=1500".to_owned(),
            ];
            ("vehicle", values, "front")
        }
        ("brake.service_efficiency" | "brake.parking_efficiency", RuleValue::Percent(limit)) => {
            let percent = limit.percent() - if exact { 0.0 } else { 0.01 };
            // 1000 kg weigh 9806.65 N.
            let sum = percent * 98.0665;
            let wheels: &[&str] = if rule.item == "brake.parking_efficiency" {
                &["RL", "RR"]
            } else {
                &["FL", "FR", "RL", "RR"]
            };
            let each = (sum / wheels.len() as f64 * 1000.0).ceil() / 1000.0;
            let mut values = vec![rule.item.clone()];
            values.extend(wheels.iter().map(|wheel| format!("{wheel}={each:.3}")));
            values.push("mass=1000".to_owned());
            ("vehicle", values, "vehicle")
        }
        ("fluid.boiling", RuleValue::Temperature(limit)) => {
            let celsius = limit.celsius() - if exact { 0.0 } else { 1.0 };
            (
                "vehicle",
                vec![rule.item.clone(), format!("{celsius}")],
                "vehicle",
            )
        }
        ("disc.variation", _) => {
            let ring = ["38.5", "38.501"].iter().cycle().take(10);
            let values = ring.map(|text| (*text).to_owned());
            let values = [vec!["disc.thickness".to_owned()], values.collect()].concat();
            (corner, values, corner)
        }
        ("disc.runout", _) => {
            let ring = ["0.000", "0.004"].iter().cycle().take(11);
            let values = ring.map(|text| (*text).to_owned());
            (
                corner,
                [vec![rule.item.clone()], values.collect()].concat(),
                corner,
            )
        }
        ("drum.diameter", _) => {
            let values = [
                "drum.diameter",
                "open=300.31,300.29",
                "closed=300.27,300.26",
            ];
            (corner, values.map(str::to_owned).to_vec(), corner)
        }
        (item, _) => panic!("{}: how is {item} logged?", rule.id),
    }
}

fn number(value: RuleValue) -> f64 {
    match value {
        RuleValue::Length(length) => length.mm(),
        RuleValue::Percent(percent) => percent.percent(),
        RuleValue::Temperature(temperature) => temperature.celsius(),
    }
}

/// A limit of the answer with this figure and source.
fn shown<'a>(finding: &'a Value, pack: &RulePack, rule: &Rule) -> Option<&'a Value> {
    let mark = if rule.unconfirmed() {
        " (unconfirmed)"
    } else {
        ""
    };
    let source = format!("{}, {}{mark}", pack.name, rule.clause);
    let limits = finding["limits"].as_array().unwrap();
    let same = |limit: &&Value| {
        let figure = limit["limit"].as_f64().unwrap();
        limit["source"] == source.as_str() && (figure - number(rule.value)).abs() < 1e-9
    };
    // Of rows with one source and figure the one that was applied, or is looser than it, is meant.
    let mut all: Vec<&Value> = limits.iter().filter(same).collect();
    all.sort_by_key(|limit| match limit["not_applied"].as_str() {
        None => 0,
        Some(why) if why.contains("limit applied") => 1,
        Some(_) => 2,
    });
    all.first().copied()
}

/// What must hold of a row with a number; what does not, in words.
fn try_number(rows: &mut Rows, pack: &RulePack, rule: &Rule) -> Vec<String> {
    let mut wrong = Vec::new();
    let judged = pack.scope != PackScope::NewPart && rule.when.part != Some(PartState::New);
    for beyond in [false, true] {
        if beyond && !judged {
            continue;
        }
        let job = rows.open(pack, &rule.item, &rule.when);
        let (place, values, at) = entry(rule, beyond);
        let finding = rows.logged(&job, place, &values, (at, &rule.item));
        let side = if beyond { "beyond" } else { "inside" };
        let mut say = |what: &str| {
            wrong.push(format!("{} {side}: {what}: {finding:#}", rule.id));
        };
        let Some(limit) = shown(&finding, pack, rule) else {
            say("its limit is not shown");
            continue;
        };
        let why = limit["not_applied"].as_str();
        if !judged {
            if why.is_none() {
                say("it was applied");
            }
            continue;
        }
        if why.is_some_and(|why| !why.contains("limit applied")) {
            say("it does not apply");
        }
        let (verdict, urgency) = (&finding["verdict"], &finding["urgency"]);
        // A stricter row may have failed it before this one does.
        let stricter = why.is_some_and(|why| why.contains("looser"));
        let dangerous = rule.class == RuleClass::Dangerous;
        let fits = match (beyond, dangerous) {
            (true, true) => verdict == "FAIL" && urgency == "stop",
            (true, false) => verdict == "FAIL" && (stricter || urgency != "stop"),
            (false, true) => urgency != "stop",
            (false, false) => stricter || verdict == "PASS" || verdict == "ADVISE",
        };
        if !fits {
            say("another verdict");
        }
    }
    wrong
}

/// What must hold of a row about a look.
fn try_defect(rows: &mut Rows, pack: &RulePack, rule: &DefectRule) -> Vec<String> {
    let mut wrong = Vec::new();
    let mark = if rule.unconfirmed() {
        " (unconfirmed)"
    } else {
        ""
    };
    let source = format!("{}, {}{mark}", pack.name, rule.clause);
    let item = rule.item.as_str();
    let words = |list: &[&str]| {
        list.iter()
            .map(|word| (*word).to_owned())
            .collect::<Vec<_>>()
    };
    for code in &rule.codes {
        let (place, values, at, other) = match (item, code.as_str()) {
            ("axle.imbalance", "no_effort") => {
                let forces = |front: &str| {
                    words(&[
                        "brake.service_efficiency",
                        "FL=4000",
                        front,
                        "RL=3000",
                        "RR=3000",
                        "mass=1500",
                    ])
                };
                ("vehicle", forces("FR=0"), "front", forces("FR=3900"))
            }
            ("brake.parking_efficiency", "one_sided") => {
                let forces = |right: &str| words(&[item, "RL=3000", right, "mass=1500"]);
                ("vehicle", forces("RR=0"), "vehicle", forces("RR=2900"))
            }
            _ => {
                let vehicle = item.starts_with("fluid.") || item.starts_with("brake.");
                let place = if vehicle { "vehicle" } else { "FL" };
                (
                    place,
                    words(&[item, "defect", code]),
                    place,
                    words(&[item, "sound"]),
                )
            }
        };
        let job = rows.open(pack, item, &rule.when);
        let finding = rows.logged(&job, place, &values, (at, item));
        let mut say = |what: &str, finding: &Value| {
            wrong.push(format!("{} {code}: {what}: {finding:#}", rule.id));
        };
        let named = |finding: &Value| {
            finding["limit_source"] == source.as_str()
                || finding["reasons"].to_string().contains(&source)
        };
        if !named(&finding) {
            say("its source is not named", &finding);
        }
        let grave = match rule.class {
            RuleClass::Advisory => finding["verdict"] != "PASS",
            RuleClass::Major => finding["verdict"] == "FAIL",
            RuleClass::Dangerous => finding["verdict"] == "FAIL" && finding["urgency"] == "stop",
        };
        if !grave {
            say("not as grave as the row", &finding);
        }
        // The other side: without the defect nothing is said. What is measured is not called sound.
        let measured = [
            "linings.thickness",
            "drum.diameter",
            "fluid.boiling",
            "brake.service_efficiency",
        ];
        if measured.contains(&item) {
            continue;
        }
        let job = rows.open(pack, item, &rule.when);
        let finding = rows.logged(&job, place, &other, (at, item));
        if named(&finding) || finding["urgency"] == "stop" {
            say("named without the defect", &finding);
        }
    }
    wrong
}

fn try_pack(id: &str) {
    let file = format!("{id}.toml");
    let (file, text) = builtin_rule_packs()
        .iter()
        .find(|(name, _)| *name == file)
        .unwrap();
    let pack = RulePack::parse(text, file).unwrap();
    let mut rows = Rows::new();
    let mut wrong = Vec::new();
    for rule in &pack.rows {
        assert!(
            rule.bound == Bound::Minimum || !rule.item.ends_with("efficiency"),
            "{}",
            rule.id
        );
        wrong.extend(try_number(&mut rows, &pack, rule));
    }
    for rule in &pack.defects {
        wrong.extend(try_defect(&mut rows, &pack, rule));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(rows.jobs > 0);
}

macro_rules! packs {
    ($($name:ident $id:literal;)*) => {
        $(
            #[test]
            fn $name() {
                try_pack($id);
            }
        )*

        #[test]
        fn no_pack_is_left_out() {
            let tried = [$($id),*];
            for (file, _) in builtin_rule_packs() {
                assert!(tried.contains(&file.trim_end_matches(".toml")), "{file}");
            }
            assert_eq!(tried.len(), builtin_rule_packs().len());
        }
    };
}

packs! {
    every_row_of_the_fluid_pack_is_reached "brake-fluid";
    every_row_of_the_european_pack_is_reached "eu";
    every_row_of_the_british_pack_is_reached "gb";
    every_row_for_new_discs_is_listed "un-r90-new-discs";
    every_row_of_the_commercial_pack_is_reached "us-commercial";
    every_row_of_the_periodic_pack_is_reached "us-commercial-periodic";
    every_row_of_the_heavy_pack_is_reached "us-heavy";
    every_row_of_the_light_pack_is_reached "us-light";
}
