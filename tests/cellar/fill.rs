//! The plan of a barrel-down.

use barrelwalk::cellar::views::wood::fill::{
    FillPlan, FillRequest, FillWish, NoFill, PassedOver, Portion, PreparedFill,
};
use barrelwalk::reckon::fill::{NoChoice, choose};
use barrelwalk::units::Volume;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, barrel_of, moved, placed, tank_of};

fn oak(label: &str, forest: &str, fills: u32) -> Value {
    json!({
        "kind": "vessel_registered", "vessel": label, "type": "barrel", "capacity_ul": 225 * LITRE, "forest": forest,
        "toast": "medium", "cooper": "Oakes", "seasoning_months": 24 + 12 * fills, "fills": fills,
    })
}

/// The furnished cellar with four more empties: two of Allier, one of them new; two of Vosges, new. `E` stays held.
fn stocked() -> Cellar {
    Cellar::furnished()
        .given(oak("A-new", "Allier", 0))
        .given(oak("A-old", "Allier", 1))
        .given(oak("V-1", "Vosges", 0))
        .given(oak("V-2", "Vosges", 0))
        .given(placed("V-2", "long/A-01-2-b"))
        .given(placed("A-old", "long/A-02-1-a"))
        .given(json!({"kind": "held", "vessel": "E", "why": "sour"}))
}

fn prepare(cellar: &Cellar, tank: &str, portion: Portion, wishes: &[&str]) -> Result<PreparedFill, NoFill> {
    let Some(tank) = cellar.state.vessels.find(tank) else { panic!("no {tank}") };
    let read = |text: &&str| text.parse::<FillWish>().unwrap_or_else(|error| panic!("{error}"));
    cellar.state.prepare_fill(FillRequest {
        tank,
        portion,
        wishes: wishes.iter().map(read).collect(),
        room: None,
        into: None,
    })
}

fn plan(cellar: &Cellar, portion: Portion, wishes: &[&str]) -> FillPlan {
    let prepared = prepare(cellar, "T", portion, wishes).unwrap_or_else(|error| panic!("{error}"));
    let answer = choose(&prepared.question, &|| false, &mut |_| {}).unwrap_or_else(|error| panic!("{error}"));
    FillPlan::of(&prepared, answer)
}

fn labels(cellar: &Cellar, plan: &FillPlan) -> Vec<String> {
    plan.barrels.iter().map(|&id| cellar.state.vessels.get(id).label.to_string()).collect()
}

#[test]
fn barrels_that_lie_come_first_as_they_are_walked_and_held_ones_never() {
    let cellar = stocked();
    let plan = plan(&cellar, Portion::All, &[]);
    assert_eq!(labels(&cellar, &plan), ["V-2", "A-old", "A-new", "V-1"]);
    assert_eq!(plan.answer.stays, Volume::from_litres(1_550 - 900));
}

/// A blend under way takes what it has not drawn yet, as barrels do that are still to be filled.
#[test]
fn what_a_blend_still_takes_is_not_placed() {
    let blend = json!({
        "kind": "work_set", "work": "n", "task": "blending", "into": "X", "lot": "R",
        "stops": [{"vessel": "T", "volume_ul": 1_400 * LITRE}],
    });
    let cellar = stocked().given(tank_of("X", 4_000)).given(blend);
    let sentence = "T holds 1550 L by the book, of which open works are still to take 1400 L. What is left fills no empty: do or \
                    end them first, or use a smaller vessel.";
    assert_eq!(
        prepare(&cellar, "T", Portion::All, &[]).map_err(|error| error.to_string()).err().as_deref(),
        Some(sentence)
    );
    let drawn = cellar.given(json!({
        "kind": "wine_moved", "from": "T", "to": "X", "volume_ul": 700 * LITRE, "purpose": "blend", "lot": "R",
    }));
    assert_eq!(labels(&drawn, &plan(&drawn, Portion::All, &[])).len(), 3);
}

#[test]
fn wishes_choose_among_forests_fills_and_seasons() {
    let cellar = stocked();
    let chosen = |wishes: &[&str]| labels(&cellar, &plan(&cellar, Portion::Barrels(2), wishes));
    assert_eq!(chosen(&["new=100%", "forest:allier>=50%"]), ["V-2", "A-new"]);
    assert_eq!(chosen(&["fill:2>=50%", "forest:Vosges<=0%"]), ["A-old", "A-new"]);
    assert_eq!(chosen(&["seasoning:36=50%", "used=225L", "forest:Vosges=50%"]), ["V-2", "A-old"]);
    assert_eq!(chosen(&["seasoning:24+=100%", "toast:MEDIUM=100%", "new<=0%"]), ["V-2", "A-old"]);
}

/// Three of four are new: all four filled, a quarter is used whatever is wished.
#[test]
fn what_binds_is_said_in_words() {
    let plan = plan(&stocked(), Portion::Barrels(4), &["new>=80%", "forest:Allier>=60%", "toast:medium=100%"]);
    let why: Vec<Option<&str>> = plan.wishes.iter().map(|granted| granted.why.as_deref()).collect();
    assert_eq!(why[0], Some("only 3 of the 4 empties are new: 675.0 L of the 720.0 L asked for"));
    assert_eq!(why[1], Some("only 2 of the 4 empties are forest:Allier: 450.0 L of the 540.0 L asked for"));
    assert_eq!(why[2], None);
    assert!(plan.answer.proved);
}

#[test]
fn the_mix_of_a_plan_is_told_quality_by_quality() {
    let cellar = stocked();
    let plan = plan(&cellar, Portion::Barrels(3), &["forest:Vosges>=60%"]);
    let mix: Vec<String> = plan
        .mix(&cellar.state)
        .into_iter()
        .flat_map(|(quality, kinds)| {
            kinds.into_iter().map(move |kind| format!("{quality} {:?} {} {}", kind.word, kind.barrels, kind.volume))
        })
        .collect();
    let of = |quality: &str, word: &str, barrels| format!("{quality} Some({word:?}) {barrels} {} L", 225 * barrels);
    let told = [of("fill", "new", 2), of("fill", "fill 2", 1), of("forest", "Vosges", 2), of("forest", "Allier", 1)];
    assert_eq!(mix[..4], told);
    assert_eq!(mix[4..], [of("toast", "medium", 3), of("cooper", "Oakes", 3)]);
}

#[test]
fn white_wine_never_goes_into_red_wood() {
    let red = json!({"kind": "vessel_registered", "vessel": "red", "type": "barrel", "capacity_ul": 225 * LITRE, "stained": "red"});
    let cellar = stocked().given(red);
    let Ok(white) = prepare(&cellar, "V", Portion::All, &[]) else { panic!() };
    assert_eq!(
        (white.empties.len(), white.passed_over),
        (4, PassedOver { held: 1, red_wood: 1, ..PassedOver::default() })
    );
    let Ok(red) = prepare(&cellar, "T", Portion::All, &[]) else { panic!() };
    assert_eq!(red.empties.len(), 5);
}

#[test]
fn what_cannot_be_planned_is_told() {
    let cellar = stocked();
    let refused = |tank: &str, portion, wishes: &[&str]| match prepare(&cellar, tank, portion, wishes) {
        Err(refused) => refused.to_string(),
        Ok(prepared) => match choose(&prepared.question, &|| false, &mut |_| {}) {
            Err(refused) => refused.to_string(),
            Ok(answer) => panic!("{answer:?}"),
        },
    };
    assert!(refused("E", Portion::All, &[]).starts_with("E holds nothing by the book."));
    let more = refused("T", Portion::Litres(Volume::from_litres(1_551)), &[]);
    assert_eq!(more, "T holds 1550 L by the book, and 1551 L is to be placed. Ask for less.");
    let unknown = refused("T", Portion::All, &["forest:Alier>=20%"]);
    assert_eq!(unknown, "No barrel of the cellar has forest 'Alier'. Known are Allier, Vosges.");
    assert_eq!(
        refused("T", Portion::All, &["grain:fine>=20%"]),
        "No barrel of the cellar has grain 'fine'. None is known of any."
    );
    let too_many = NoChoice::TooFewEmpties { wanted: 5, empties: 4 };
    assert_eq!(refused("T", Portion::Barrels(5), &[]), too_many.to_string());
    let held = Cellar::furnished().given(json!({"kind": "held", "vessel": "E", "why": "sour"}));
    let none = prepare(&held, "T", Portion::All, &[]).map_err(|refused| refused.to_string());
    let told = "No empty barrel at hand can take this wine (passed over: 1 held). Empty or register barrels first, or free held ones.";
    assert_eq!(none, Err(told.to_owned()));
}

/// S lies in a new barrel of Allier, a used one of Vosges, and a new one of which nothing more is known: a third each.
#[test]
fn the_mix_of_a_lot_is_a_pattern_for_another() {
    let cellar = Cellar::furnished()
        .given(oak("1", "Allier", 0))
        .given(oak("2", "Vosges", 3))
        .given(barrel_of("3", 225))
        .given(moved("U", "1", 225 * LITRE))
        .given(moved("U", "2", 225 * LITRE))
        .given(moved("U", "3", 225 * LITRE));
    let pattern = |lot: &str| {
        let Some(lot) = cellar.state.lots.find(lot) else { panic!("no {lot}") };
        cellar.state.fill_pattern(lot).map(|wishes| wishes.iter().map(FillWish::to_string).collect::<Vec<_>>())
    };
    let third =
        ["new=66.67%", "forest:Allier=33.33%", "forest:Vosges=33.33%", "toast:medium=66.67%", "cooper:Oakes=66.67%"];
    assert_eq!(pattern("S"), Ok(third.map(str::to_owned).to_vec()));
    assert!(matches!(pattern("W"), Err(NoFill::NoPattern(_))));
}

/// V-2 lies beside a barrel of lot S, A-old beside nothing; both are of the same wood for these wishes.
#[test]
fn a_rack_stays_with_one_lot_where_other_choices_come_as_near() {
    let beside =
        stocked().given(json!({"kind": "freed", "vessel": "E", "why": "washed"})).given(moved("U", "E", 225 * LITRE));
    let one = Portion::Litres(Volume::from_litres(225));
    assert_eq!(labels(&beside, &plan(&beside, one, &[])), ["A-old"]);
    assert_eq!(labels(&beside, &plan(&beside, one, &["forest:Vosges=100%"])), ["V-1"], "it lies in no rack");
    // Litres go first: where there is no other barrel the two lots lie beside each other.
    let only = beside.clone().given(json!({"kind": "held", "vessel": "V-1", "why": "sour"}));
    assert_eq!(labels(&only, &plan(&only, one, &["forest:Vosges=100%"])), ["V-2"]);
    // The plan is still told in walking order.
    let all = plan(&beside, Portion::Litres(Volume::from_litres(900)), &[]);
    assert_eq!(labels(&beside, &all), ["V-2", "A-old", "A-new", "V-1"]);
    // Wine of the same lot is no other wine.
    let same =
        stocked().given(json!({"kind": "freed", "vessel": "E", "why": "washed"})).given(moved("T", "E", 225 * LITRE));
    assert_eq!(labels(&same, &plan(&same, one, &[])), ["V-2"]);
    // Nor may an open work fill the other side with another lot.
    let set = json!({
        "kind": "work_set", "work": "down S", "task": "barrel_down", "from": "U", "stops": [{"vessel": "E"}],
    });
    let freed = stocked().given(json!({"kind": "freed", "vessel": "E", "why": "washed"})).given(set);
    assert_eq!(labels(&freed, &plan(&freed, one, &[])), ["A-old"]);
}
