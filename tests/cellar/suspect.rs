//! What makes a wine suspect, and what follows from it.

use barrelwalk::cellar::views::topping::group::Group;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, moved, topped};

fn tested(vessel: &str, va: f64) -> Value {
    json!({"kind": "tested", "vessel": vessel, "va_g_l": va})
}

fn found(vessel: &str, analyte: &str, value: f64) -> Value {
    json!({"kind": "tested", "vessel": vessel, "values": {analyte: value}})
}

fn declared(analyte: &str, fields: &Value) -> Value {
    let mut fact = json!({"kind": "analyte_declared", "analyte": analyte, "unit": "µg/L"});
    for (field, value) in fields.as_object().into_iter().flatten() {
        fact[field] = value.clone();
    }
    fact
}

fn why(cellar: &Cellar, vessel: &str) -> String {
    cellar.state.suspect_words(cellar.vessel(vessel)).unwrap_or_default()
}

fn keg(label: &str) -> Value {
    json!({"kind": "vessel_registered", "vessel": label, "type": "keg", "capacity_ul": 100 * LITRE})
}

fn with_keg(litres: u64) -> Cellar {
    Cellar::furnished().given(keg("K")).given(moved("T", "K", litres * LITRE))
}

/// A keg at 1.6 g/L tops nothing, a barrel at 1.35 comes last.
#[test]
fn volatile_acidity_above_the_alarm_makes_a_wine_suspect() {
    let cellar = with_keg(80).given(tested("K", 1.6)).given(tested("B1", 1.35)).given(tested("B2", 0.55)).days(5);
    assert_eq!(why(&cellar, "B1"), "volatile acidity 1.35 g/L as acetic on 1 Sep, above the alarm at 0.90");
    assert_eq!(why(&cellar, "B2"), "");
    let room = cellar.state.rooms.find("long").expect("a room");
    let plan = cellar.state.plan_round(room, cellar.now());
    let label = |id| cellar.state.vessels.get(id).label.as_str();
    let walked: Vec<_> = plan.stops.iter().map(|stop| (label(stop.vessel), stop.group, stop.from.map(label))).collect();
    assert_eq!(walked, [("B2", Group::Clean, Some("T")), ("B1", Group::Suspect, Some("T"))]);
    assert_eq!(plan.suspect_sources.into_iter().map(label).collect::<Vec<_>>(), ["K"]);
    assert_eq!(plan.sources.last().copied().map(label), Some("K"));
}

#[test]
fn the_house_sets_its_own_alarm() {
    let cellar = Cellar::furnished().given(tested("B1", 0.75));
    assert_eq!(why(&cellar, "B1"), "");
    let strict = cellar.given(json!({"kind": "practice_set", "va_alarm_g_l": 0.7}));
    assert_eq!(why(&strict, "B1"), "volatile acidity 0.75 g/L as acetic on 1 Sep, above the alarm at 0.70");
    strict
        .when(json!({"kind": "practice_set", "va_alarm_g_l": 9.0}))
        .then_has_no_effect("An alarm of volatile acidity in g/L of 9 is out of range");
}

/// The alarm itself is still well.
#[test]
fn what_is_tested_well_again_is_suspect_no_more() {
    let cellar = Cellar::furnished().given(tested("B1", 0.91)).days(3).given(tested("B1", 0.90));
    assert_eq!(why(&cellar, "B1"), "");
    // Nor is an empty barrel, nor one that was filled anew.
    let moved_on = Cellar::furnished()
        .given(tested("B1", 1.5))
        .given(json!({"kind": "wine_moved", "from": "B1", "to": "T", "volume_ul": 225 * LITRE, "purpose": "racking"}));
    assert_eq!(why(&moved_on, "B1"), "");
    assert_eq!(why(&moved_on.given(moved("T", "B1", 225 * LITRE)), "B1"), "");
}

/// A composite hides how its barrels differ: it makes all of them suspect, and clears none that was tested by itself.
#[test]
fn a_composite_makes_suspect_and_clears_none() {
    let drawn = |vessel: &str, sample: &str| json!({"kind": "sampled", "vessel": vessel, "volume_ul": 100_000, "sample": sample});
    let result = |sample: &str, va: f64| json!({"kind": "tested", "sample": sample, "va_g_l": va});
    let both = |cellar: Cellar, sample: &str| cellar.given(drawn("B1", sample)).given(drawn("B2", sample));
    let cellar = both(Cellar::furnished(), "s1").given(result("s1", 1.1));
    assert!(!why(&cellar, "B1").is_empty() && !why(&cellar, "B2").is_empty());
    // Its own test clears the one, not the other.
    let cellar = cellar.days(1).given(tested("B1", 0.6));
    assert_eq!((why(&cellar, "B1").as_str(), why(&cellar, "B2").is_empty()), ("", false));
    let cellar = both(cellar.days(1).given(tested("B2", 1.2)).days(1), "s2").given(result("s2", 0.6));
    assert_eq!(why(&cellar, "B2"), "volatile acidity 1.20 g/L as acetic on 3 Sep, above the alarm at 0.90");
    // What was drawn before its own test says nothing against that.
    let late = both(Cellar::furnished(), "s3").days(1).given(tested("B1", 0.5)).given(result("s3", 1.3));
    assert_eq!(why(&late, "B1"), "");
}

#[test]
fn volatile_acidity_that_rises_makes_a_wine_suspect() {
    let cellar = Cellar::furnished().given(tested("B1", 0.52)).days(45).given(tested("B1", 0.67));
    assert_eq!(why(&cellar, "B1"), "volatile acidity rising, 0.52 g/L as acetic on 1 Sep, 0.67 on 16 Oct");
    // So it stays while it stays high, until the low test is out of the reach of the last.
    let later = cellar.clone().days(30).given(tested("B1", 0.68));
    assert!(!why(&later, "B1").is_empty());
    assert_eq!(why(&later.days(90).given(tested("B1", 0.68)), "B1"), "");
    // What a laboratory scatters by is no rise, nor is a young wine's malolactic fermentation, nor what took a year.
    let unmoved = [(0.60, 20, 0.70), (0.25, 30, 0.50), (0.52, 200, 0.70), (0.70, 30, 0.55)];
    for (before, days, after) in unmoved {
        let cellar = Cellar::furnished().given(tested("B1", before)).days(days).given(tested("B1", after));
        assert_eq!(why(&cellar, "B1"), "", "{before} to {after}");
    }
}

/// A house says itself by how much it may rise, and from where on that counts.
#[test]
fn a_house_has_its_own_figures_of_a_rise() {
    let cellar = Cellar::furnished().given(tested("B1", 0.42)).days(45).given(tested("B1", 0.52));
    assert_eq!(why(&cellar, "B1"), "");
    let strict = cellar.given(json!({"kind": "practice_set", "va_rise_g_l": 0.1, "va_risen_g_l": 0.5}));
    assert_eq!(why(&strict, "B1"), "volatile acidity rising, 0.42 g/L as acetic on 1 Sep, 0.52 on 16 Oct");
    let in_meq = strict.given(json!({"kind": "practice_set", "acid_unit": "meq"}));
    assert_eq!(why(&in_meq, "B1"), "volatile acidity rising, 7.0 meq/L on 1 Sep, 8.7 on 16 Oct");
}

/// A laboratory that gives one wine back within 0.05 g/L of itself makes no wine suspect, however often it is asked.
#[test]
fn the_scatter_of_a_laboratory_trips_nothing() {
    let scatter = [0.03, -0.05, 0.0, 0.05, -0.02, 0.04, -0.04, 0.01, 0.05, -0.05, 0.02, 0.05];
    let mut cellar = Cellar::furnished();
    for (month, off) in scatter.into_iter().enumerate() {
        // A tenth of a gram a year is what a barrel does anyhow.
        let va = 0.60 + 0.1 / 12.0 * f64::from(u8::try_from(month).unwrap_or(0)) + off;
        cellar = cellar.days(30).given(tested("B1", (va * 100.0).round() / 100.0));
        assert_eq!(why(&cellar, "B1"), "", "month {month}");
    }
}

#[test]
fn what_the_house_declares_makes_a_wine_suspect() {
    let cellar = Cellar::furnished()
        .given(declared("4-ethylphenol", &json!({"warn": 425})))
        .given(declared("malvidin", &json!({"low": 10, "high": 500})))
        .given(declared("geosmin", &json!({})));
    let cellar = cellar.given(found("B1", "4-ethylphenol", 520.0)).given(found("B2", "4-ethylphenol", 425.0));
    assert_eq!(why(&cellar, "B1"), "4-ethylphenol 520 µg/L on 1 Sep, above 425");
    assert_eq!(why(&cellar, "B2"), "");
    // What is above what is wanted; what lies below is only little; what has no limit is only told.
    let wanted = cellar.clone().given(found("B2", "malvidin", 501.0)).given(found("B2", "geosmin", 9.0));
    assert_eq!(why(&wanted, "B2"), "malvidin 501 µg/L on 1 Sep, above 500");
    assert_eq!(why(&wanted.given(found("B2", "malvidin", 5.0)), "B2"), "");
    // Declared again it counts as it was said last.
    assert_eq!(why(&cellar.given(declared("4-ethylphenol", &json!({}))), "B1"), "");
}

#[test]
fn what_nobody_declared_is_refused_and_kept() {
    let cellar = Cellar::furnished()
        .when(found("B1", "4-EP", 900.0))
        .then_counted_in_doubt("No value is called '4-EP'. Check its spelling, or declare it first");
    assert_eq!(why(&cellar, "B1"), "");
    // What is declared later gives old results their meaning.
    assert_eq!(why(&cellar.given(declared("4-EP", &json!({"warn": 425}))), "B1"), "4-EP 900 µg/L on 1 Sep, above 425");
}

#[test]
fn what_no_laboratory_gives_is_refused() {
    let cellar = Cellar::furnished().given(declared("TCA", &json!({})));
    let cases = [
        (declared("pH", &json!({})), "a field of its own in every test: ph"),
        (declared("volatile acidity", &json!({})), "a field of its own in every test: va_g_l"),
        (declared("4", &json!({})), "cannot be the name of a value"),
        (declared("a, b", &json!({})), "cannot be the name of a value"),
        (declared("TCA", &json!({"low": 5, "high": 1})), "The least that is wanted of TCA is above the most"),
        (declared("TCA", &json!({"warn": -1})), "-1 is no value of TCA"),
        (found("B1", "TCA", -2.0), "-2 is no value of TCA"),
        (json!({"kind": "tested", "vessel": "B1", "values": {}}), "No result is said"),
    ];
    for (fact, part) in cases {
        cellar.clone().when(fact).then_has_no_effect(part);
    }
}

/// What was tasted of another fill still says something of wood, and nothing of steel.
#[test]
fn a_taste_stands_for_wood_and_for_the_fill_of_steel() {
    let cellar = with_keg(80)
        .given(json!({"kind": "tasted", "vessel": "K", "marks": ["Brett"]}))
        .given(json!({"kind": "tasted", "vessel": "B1", "marks": ["Brett"]}));
    assert_eq!(why(&cellar, "K"), "Brettanomyces tasted on 1 Sep");
    let empty = |vessel: &str, litres: u64| json!({"kind": "wine_moved", "from": vessel, "to": "U", "volume_ul": litres * LITRE, "purpose": "other"});
    let cellar = cellar.given(empty("K", 80)).given(empty("B1", 225)).given(moved("T", "K", 50 * LITRE));
    let cellar = cellar.given(moved("T", "B1", 225 * LITRE));
    assert_eq!((why(&cellar, "K").as_str(), why(&cellar, "B1").as_str()), ("", "Brettanomyces tasted on 1 Sep"));
}

const ACID: &str = "volatile acidity 1.60 g/L as acetic on 1 Sep, above the alarm at 0.90";

/// Whoever chooses a suspect vessel for a round is asked then, and not at every barrel.
#[test]
fn a_suspect_topping_vessel_is_asked_about_once() {
    let asks = format!("K is suspect: {ACID}. Other wine would be topped from it.");
    let cellar = with_keg(80).given(tested("K", 1.6));
    let begun = |from: &str| json!({"kind": "round_begun", "round": "r", "room": "long", "from": from});
    assert_eq!(cellar.clone().when(begun("K")).asked(), [asks.as_str()]);
    assert_eq!(cellar.clone().when(begun("T")).asked(), [""; 0]);
    let walked = cellar.clone().given(begun("T"));
    let changed = json!({"kind": "source_changed", "round": "r", "from": "K"});
    assert_eq!(walked.clone().when(changed.clone()).asked(), [asks.as_str()]);
    let one = || topped("B1", "K", 100_000);
    assert_eq!(walked.clone().when(one()).asked(), [asks.as_str()]);
    let chosen = walked.given(changed);
    assert_eq!(chosen.clone().when(one()).asked(), [""; 0]);
    // The plan of what is left goes by what was chosen.
    let round = chosen.state.rounds.find("r").expect("a round");
    let plan = chosen.state.plan_rest(round, chosen.now());
    assert_eq!(plan.suspect_sources, []);
    assert!(plan.sources.contains(&chosen.state.vessels.find("K").expect("a keg")));
}

/// A suspect wine is asked about before it comes into other wine, unless the work that it is of has named it.
#[test]
fn suspect_wine_is_named_before_it_comes_into_other_wine() {
    let racked = |to: &str| json!({"kind": "wine_moved", "from": "B1", "to": to, "volume_ul": 200 * LITRE, "purpose": "racking"});
    let cellar = with_keg(80).given(tested("B1", 1.6));
    assert_eq!(cellar.clone().when(racked("T")).asked(), [format!("B1 is suspect: {ACID}. Its wine would go into T.")]);
    assert_eq!(cellar.clone().when(racked("E")).asked(), [""; 0]);
    let asked = barrelwalk::cellar::jobs::wood::racking::RackingAsked {
        lot: cellar.state.lots.find("R").expect("a lot"),
        racks: Vec::new(),
        to: cellar.state.vessels.find("T").expect("a tank"),
        into: None,
    };
    let plan = cellar.state.plan_racking(asked, cellar.now()).expect("a plan");
    assert_eq!(cellar.state.suspects_in_words(&plan.suspect), format!("B1 ({ACID})"));
    let set = json!({"kind": "work_set", "work": "w", "task": "racking", "to": "T", "stops": [{"vessel": "B1", "volume_ul": 200 * LITRE}]});
    assert_eq!(cellar.given(set).when(racked("T")).asked(), [""; 0]);
}

#[test]
fn the_review_of_a_lot_names_its_suspects() {
    let cellar = Cellar::furnished().given(tested("B1", 1.6));
    let lot = cellar.state.lots.find("R").expect("a lot");
    let review = cellar.state.review(lot, cellar.now());
    assert_eq!(cellar.state.suspects_in_words(&review.suspect), format!("B1 ({ACID})"));
}

fn tasted(vessel: &str, mark: &str) -> Value {
    json!({"kind": "tasted", "vessel": vessel, "marks": [mark]})
}

/// A keg that is filled from a suspect tank tops nothing until it is tested well by itself.
#[test]
fn a_keg_filled_from_a_suspect_tank_is_suspect_until_it_is_tested_well() {
    let cellar = Cellar::furnished().given(tested("T", 1.35)).given(keg("K")).given(moved("T", "K", 80 * LITRE));
    let came = "volatile acidity 1.35 g/L as acetic on 1 Sep, above the alarm at 0.90, with the wine from T";
    assert_eq!(why(&cellar, "K"), came);
    let asked = cellar.clone().when(topped("B1", "K", 100_000)).asked();
    assert_eq!(asked, [format!("K is suspect: {came}. Other wine would be topped from it.")]);
    let room = cellar.state.rooms.find("long").expect("a room");
    let plan = cellar.state.plan_round(room, cellar.now());
    assert!(plan.suspect_sources.contains(&cellar.state.vessels.find("K").expect("a keg")));
    // So is what is filled from the keg in its turn; it says where that was found.
    let on = cellar.clone().given(keg("K2")).given(moved("K", "K2", 40 * LITRE));
    assert_eq!(why(&on, "K2"), came);
    // What was drawn before it came in clears nothing, nor does a composite; its own test does.
    let drawn = |cellar: Cellar| {
        let of = |vessel: &str| json!({"kind": "sampled", "vessel": vessel, "volume_ul": 100_000, "sample": "s"});
        cellar.given(of("K")).given(of("B1")).given(json!({"kind": "tested", "sample": "s", "va_g_l": 0.5}))
    };
    assert_eq!(why(&drawn(cellar.clone().days(1)), "K"), came);
    assert_eq!(why(&cellar.days(1).given(tested("K", 0.52)), "K"), "");
}

/// 80 L at 1.30 and 20 L at 0.50 g/L are 100 L at 1.14; 700 L more at 0.50 make 800 L at 0.58.
#[test]
fn what_was_tested_mixes_by_volume() {
    let cellar = Cellar::furnished()
        .given(json!({"kind": "vessel_registered", "vessel": "X", "type": "tank", "capacity_ul": 1_000 * LITRE}))
        .given(tested("U", 0.5))
        .given(tested("B1", 1.30))
        .given(moved("U", "X", 20 * LITRE))
        .given(moved("B1", "X", 80 * LITRE));
    assert_eq!(
        why(&cellar, "X"),
        "volatile acidity 1.14 g/L as acetic on 1 Sep, above the alarm at 0.90, with the wine from B1"
    );
    let cellar = cellar.given(moved("U", "X", 700 * LITRE));
    assert_eq!(why(&cellar, "X"), "");
    // A stricter house finds it there.
    let strict = cellar.given(json!({"kind": "practice_set", "va_alarm_g_l": 0.57}));
    assert_eq!(
        why(&strict, "X"),
        "volatile acidity 0.58 g/L as acetic on 1 Sep, above the alarm at 0.57, with the wine from B1"
    );
}

/// What the house declares goes along as what every laboratory reports does.
#[test]
fn what_the_house_declares_goes_along() {
    let cellar = Cellar::furnished()
        .given(declared("4-ethylphenol", &json!({"warn": 425})))
        .given(found("B1", "4-ethylphenol", 520.0))
        .given(keg("K"))
        .given(moved("B1", "K", 80 * LITRE));
    assert_eq!(why(&cellar, "K"), "4-ethylphenol 520 µg/L on 1 Sep, above 425, with the wine from B1");
    assert_eq!(why(&cellar.days(1).given(found("K", "4-ethylphenol", 300.0)), "K"), "");
}

/// A drop in a tank is no alarm; a tenth of it is. It is tasted well again.
#[test]
fn what_was_tasted_goes_along_by_its_share() {
    let tank = json!({"kind": "vessel_registered", "vessel": "X", "type": "tank", "capacity_ul": 1_000 * LITRE});
    let cellar = Cellar::furnished().given(tank).given(moved("U", "X", 500 * LITRE)).given(tasted("B1", "Brett"));
    let drop = cellar.given(moved("B1", "X", LITRE));
    assert_eq!(why(&drop, "X"), "");
    let tenth = drop.given(moved("B1", "X", 60 * LITRE));
    assert_eq!(why(&tenth, "X"), "Brettanomyces tasted on 1 Sep, in B1, from which 11 % of it came");
    assert_eq!(why(&tenth.clone().days(1).given(tasted("X", "plum")), "X"), "");
    // More of other wine makes it less.
    assert_eq!(why(&tenth.given(moved("U", "X", 100 * LITRE)), "X"), "");
    let keg = Cellar::furnished().given(tasted("B1", "Brett")).given(keg("K")).given(moved("B1", "K", 80 * LITRE));
    assert_eq!(why(&keg, "K"), "Brettanomyces tasted on 1 Sep, in B1, from which it came");
}

/// Litre by litre from a suspect keg a barrel becomes suspect too, once a tenth of it came from there: 22.5 of 225 L.
#[test]
fn many_drops_are_an_alarm() {
    let mut cellar = with_keg(80).given(tasted("K", "Brett"));
    for _ in 0..23 {
        assert_eq!(why(&cellar, "B1"), "");
        cellar = cellar.days(7).given(topped("B1", "K", LITRE));
    }
    let mut more = 0;
    while why(&cellar, "B1").is_empty() {
        cellar = cellar.days(7).given(topped("B1", "K", LITRE));
        more += 1;
    }
    assert!((1..4).contains(&more), "{more}: what was topped is itself diluted by what is topped later");
    assert!(why(&cellar, "B1").starts_with("Brettanomyces tasted on 1 Sep, in K, from which 10 % of it came"));
}

/// Where one tested far too high was in the lot, a drop of it makes no tank of the lot suspect that nobody tested.
#[test]
fn what_was_found_elsewhere_in_a_lot_does_not_count_for_all_of_it() {
    let tank = json!({"kind": "vessel_registered", "vessel": "X", "type": "tank", "capacity_ul": 1_000 * LITRE});
    let cellar = Cellar::furnished().given(tank).given(moved("T", "X", 500 * LITRE)).given(tested("B1", 1.35));
    assert_eq!(why(&cellar.given(moved("B1", "X", 5 * LITRE)), "X"), "");
}

#[test]
fn nothing_goes_along_with_clean_wine() {
    let cellar = Cellar::furnished().given(tested("B1", 0.5)).given(keg("K")).given(moved("B1", "K", 80 * LITRE));
    assert_eq!((why(&cellar, "K").as_str(), cellar.vessel("K").carried.is_none()), ("", true));
}
