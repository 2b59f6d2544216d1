//! Printable pages of a small cellar: what they say as plain text and as HTML. Read the kept pages before committing them.

use barrelwalk::cellar::core::label::Label;
use barrelwalk::cellar::core::state::State;
use barrelwalk::cellar::jobs::bottles::bottling::plan::BottlingAsked;
use barrelwalk::sheets::bench::trial;
use barrelwalk::sheets::bottles::bottling;
use barrelwalk::sheets::core::document::{Document, Line};
use barrelwalk::sheets::core::{document, html, plain};
use barrelwalk::sheets::floor::floor_map::Shown;
use barrelwalk::sheets::floor::{cards, floor_map, work};
use barrelwalk::sheets::topping::round;
use barrelwalk::units::Volume;
use serde_json::json;

use crate::given::{self, Cellar};

fn cellar() -> Cellar {
    Cellar::furnished()
        .given(json!({"kind": "held", "vessel": "B2", "why": "smells of <nail> varnish"}))
        .given(json!({"kind": "work_set", "work": "rack R", "task": "racking", "to": "T",
            "stops": [{"vessel": "B1", "volume_ul": 220_000_000_u64, "lees_ul": 4_000_000}]}))
        .given(json!({"kind": "trial_set", "trial": "first blend", "glass_ul": 50_000,
            "components": [{"vessel": "T"}, {"vessel": "U"}],
            "glasses": [
                {"code": "417", "shares_ppm": [1_000_000, 0]},
                {"code": "258", "shares_ppm": [666_667, 333_333]},
                {"code": "936", "shares_ppm": [666_667, 333_333], "repeat_of": "258"},
            ],
            "panel": ["anna", "ben"],
            "servings": {"anna": [["417", "258"], ["936"]], "ben": [["936", "417"], ["258"]]}, "salt": "00ff"}))
        .days(24)
}

fn room(state: &State) -> barrelwalk::cellar::core::state::RoomId {
    state.rooms.find("long").unwrap()
}

fn sheets(cellar: &Cellar) -> Vec<(&'static str, Document)> {
    let (state, now) = (&cellar.state, cellar.now());
    let label = Label::new("rack R").unwrap();
    let vessels = ["B1", "B2", "T"].map(|label| state.vessels.find(label).unwrap());
    vec![
        ("round", round::sheet(state, room(state), now)),
        ("work", work::sheet(state, state.work(&label).unwrap(), now)),
        ("map", floor_map::sheet(state, room(state), Shown::Barrels, now)),
        ("pouring", trial::pouring(state, state.trials.by_label("first blend").unwrap(), Volume::from_ml(1)).unwrap()),
        ("scores", trial::scores(state.trials.by_label("first blend").unwrap())),
        ("cards", cards::sheet(state, &vessels, now)),
    ]
}

#[test]
fn sheets_say_the_same_on_paper_and_in_the_terminal() {
    for (name, sheet) in sheets(&cellar()) {
        insta::assert_snapshot!(format!("{name}_plain"), plain::text(&sheet, 80));
        insta::assert_snapshot!(
            format!("{name}_html"),
            html::page(&sheet).replace(include_str!("../../assets/sheet.css"), "")
        );
    }
}

/// The order of a blend, before its first transfer and after one of 3 % too much.
#[test]
fn the_order_of_a_blend_follows_what_was_measured() {
    let set = json!({"kind": "work_set", "work": "blend N", "task": "blending", "into": "X", "lot": "S",
        "stops": [{"vessel": "T", "volume_ul": 600_000_000}, {"vessel": "U", "volume_ul": 400_000_000}]});
    let order = |cellar: &Cellar| {
        let label = Label::new("blend N").unwrap();
        plain::text(&work::sheet(&cellar.state, cellar.state.work(&label).unwrap(), cellar.now()), 96)
    };
    let begun = cellar().given(given::tank_of("X", 4_000)).given(set);
    insta::assert_snapshot!("blend_plain", order(&begun));
    let half = begun.given(json!({"kind": "wine_moved", "from": "T", "to": "X", "volume_ul": 618_000_000,
        "purpose": "blend", "lot": "S"}));
    insta::assert_snapshot!("blend_under_way_plain", order(&half));
}

/// What is asked for in bottles, what stands in the way, and a line for every hour.
#[test]
fn the_order_of_a_bottling_says_what_is_open() {
    let ticked = |item: &str| json!({"kind": "checked", "lot": "R", "item": item, "met": true});
    let cellar = cellar()
        .given(json!({"kind": "tested", "vessel": "T", "malic_g_l": 0.1, "oxygen_mg_l": 0.4, "turbidity_ntu": 3.5}))
        .given(ticked("cold"))
        .given(json!({"kind": "check_waived", "lot": "R", "item": "heat", "why": "red, no <haze> in two summers"}));
    let tank = cellar.state.vessels.find("T").unwrap();
    let plan = cellar.state.plan_bottling(tank, BottlingAsked::USUAL).unwrap();
    let order = bottling::sheet(&cellar.state, &plan, None, 4, cellar.now());
    insta::assert_snapshot!("bottling_plain", plain::text(&order, 96));
    insta::assert_snapshot!("bottling_html", html::page(&order).replace(include_str!("../../assets/sheet.css"), ""));
}

/// What every taster says of the trial, and it is revealed.
fn opened() -> Cellar {
    let scores = [("anna", [15.0, 16.5, 16.0]), ("ben", [13.0, 15.0, 15.5])];
    let rated = scores.into_iter().flat_map(|(taster, scores)| {
        ["417", "258", "936"].into_iter().zip(scores).map(move |(code, score)| {
            json!({"kind": "glass_rated", "trial": "first blend", "taster": taster, "code": code, "score": score})
        })
    });
    rated.fold(cellar(), Cellar::given).given(json!({"kind": "trial_revealed", "trial": "first blend"}))
}

/// A trial is printed whole once it is revealed and not before, with all that it takes to check the seal.
#[test]
fn the_card_tells_the_codes_and_how_the_seal_is_checked() {
    let before = cellar();
    assert_eq!(trial::revealed(&before.state, before.state.trials.by_label("first blend").unwrap()), None);
    let opened = opened();
    let known = opened.state.trials.by_label("first blend").unwrap();
    let card = trial::revealed(&opened.state, known).unwrap();
    let page = plain::text(&card, 80);
    insta::assert_snapshot!("revealed_trial_plain", page);
    assert!(html::page(&card).contains(known.digest()) && page.contains("00ff"));
}

#[test]
fn a_page_carries_all_it_needs_and_takes_no_word_for_markup() {
    for (name, sheet) in sheets(&cellar()) {
        let page = html::page(&sheet);
        assert!(!page.contains("http") && !page.contains("<script") && !page.contains("<nail>"), "{name}");
        assert!(page.contains("@page"), "{name}");
    }
    assert!(html::page(&round::sheet(&cellar().state, room(&cellar().state), cellar().now())).contains("&lt;nail&gt;"));
}

/// What is done needs no line: the sheet of a round that is under way is of what is left.
#[test]
fn the_sheet_of_an_open_round_is_of_what_is_left() {
    let begun = cellar()
        .given(json!({"kind": "freed", "vessel": "B2", "why": "clean"}))
        .given(json!({"kind": "round_begun", "round": "r1", "room": "long", "from": "T"}));
    let lines = |cellar: &Cellar| {
        let sheet = round::sheet(&cellar.state, room(&cellar.state), cellar.now());
        let document::Block::Table(table) = &sheet.blocks[0] else { panic!("{sheet:?}") };
        table.lines.iter().filter(|line| matches!(line, Line::Cells(_))).count()
    };
    assert_eq!(lines(&begun), 2);
    let topped = begun.given(json!({"kind": "topped", "vessel": "B1", "from": "T", "volume_ul": 1_000_000}));
    assert_eq!(lines(&topped), 1);
}

#[test]
fn only_the_pouring_page_tells_what_is_in_a_glass() {
    for (name, sheet) in sheets(&cellar()) {
        let said = plain::text(&sheet, 80);
        assert_eq!(said.contains("33.0") || said.contains("same as"), name == "pouring", "{name}: {said}");
    }
}
