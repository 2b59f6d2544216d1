//! A barrel-down at the screen: wishes that are written, what is found, and the work that is begun and walked.

use barrelwalk::cellar::views::wood::fill::FillPlan;
use barrelwalk::reckon::fill::choose;
use barrelwalk::tui::core::apart::Found as Best;
use barrelwalk::tui::core::work::Answer;
use barrelwalk::tui::edge::screen::Message;
use barrelwalk::tui::wood::fill::{FillPage, Found};
use barrelwalk::units::Volume;

use crate::cellar;
use crate::pictures::{keep, keep_both};
use crate::walk::{Walk, found};

/// A room of forty empties, three of them new and one stained red, a tank of 4,000 L red wine and one of 500 L white.
fn stocked() -> Walk {
    let mut facts = vec![
        cellar::fact(
            "09-01",
            r#""kind":"room_laid_out","room":"north","rows":[{"row":"N","stacks":5,"tiers":4,"sides":2}]"#,
        ),
        cellar::fact("09-01", r#""kind":"vessel_registered","vessel":"T7","type":"tank","capacity_ul":5000000000"#),
        cellar::fact("09-01", r#""kind":"vessel_registered","vessel":"T8","type":"tank","capacity_ul":1000000000"#),
        cellar::fact("09-01", r#""kind":"lot_opened","lot":"M26 Oak","colour":"red""#),
    ];
    for (tank, lot, volume) in [("T7", "M26 Upper Terrace", 4_000_000_000_u64), ("T8", "W26 Chalk", 500_000_000)] {
        facts.push(cellar::fact(
            "09-02",
            &format!(r#""kind":"wine_received","vessel":"{tank}","lot":"{lot}","parts":[{{"origin":"{lot}","volume_ul":{volume}}}]"#),
        ));
    }
    for number in 0..40 {
        let forest = if number % 2 == 0 { "Allier" } else { "Vosges" };
        let side = if number % 2 == 0 { "a" } else { "b" };
        let fills = if number < 3 { r#""fills":0"# } else { r#""fills":1"# };
        let stained = if number == 39 { r#","stained":"red""# } else { "" };
        facts.push(cellar::fact(
            "09-01",
            &format!(
                r#""kind":"vessel_registered","vessel":"N{number:02}","type":"barrel","capacity_ul":228000000,"forest":"{forest}","toast":"medium","cooper":"Hollow Oak",{fills}{stained}"#
            ),
        ));
        let place = format!("north/N-{:02}-{}-{side}", number / 8 + 1, number / 2 % 4 + 1);
        facts.push(cellar::fact(
            "09-01",
            &format!(r#""kind":"vessel_placed","vessel":"N{number:02}","place":"{place}""#),
        ));
    }
    let before = Walk::small();
    cellar::record(before.path(), &facts);
    let mut walk = before.reopened();
    walk.keep_cellar_of(before);
    walk
}

/// The page of the tank of red wine, with the barrels of the room north found.
fn page() -> Walk {
    let mut walk = stocked();
    walk.press("/ `T7` enter d enter").comes();
    walk.press("`in north` enter").comes();
    walk
}

fn plan(walk: &Walk) -> &FillPlan {
    let Found::Plan(_, plan) = &walk.fill_page().found else { panic!("{:?}", walk.fill_page().found) };
    plan
}

#[test]
fn the_works_page_offers_to_fill_from_every_tank_that_holds_wine() {
    let mut walk = stocked();
    walk.press("d");
    let text = walk.text(80, 24);
    for tank in ["T1", "T7", "T8"] {
        assert!(text.contains(&format!("Fill barrels from {tank}: plan it")), "{text}");
    }
    assert!(!text.contains("from T2"), "{text}");
}

#[test]
fn from_the_empty_page_to_a_wish_that_cannot_be_met() {
    let mut walk = stocked();
    walk.press("/ `T7` enter d enter");
    assert!(walk.text(80, 24).contains("searching"));
    walk.comes();
    keep(&walk, "fill-without-a-wish");
    walk.press("`in north` enter").comes();
    walk.press("`new>=30%` enter").comes();
    walk.press("`forest:Allier>=50%` enter").comes();
    keep_both(&walk, "fill-that-binds");
    // 17 barrels of 228 L are 3,876 L; 30 % of that are 1,162.8 L, and the three new barrels hold 684 L.
    let plan = plan(&walk);
    assert_eq!((plan.barrels.len(), plan.answer.missed), (17, Volume::from_ml(478_800)));
    assert!(plan.answer.proved);
}

#[test]
fn the_best_so_far_is_shown_while_it_is_searched_and_escape_stops_it() {
    let mut walk = page();
    walk.press("`new>=10%` enter");
    let number = walk.asked();
    let Found::Working(prepared, None) = &walk.fill_page().found else { panic!() };
    let answer = choose(&prepared.question, &|| true, &mut |_| {}).unwrap();
    let best = FillPlan::so_far(prepared, answer.clone());
    let stopped = FillPlan::of(prepared, answer);
    let best_of = |number| Message::Answer(Answer::SoFar { number, found: Best::new(best.clone()) });
    walk.take(best_of(number - 1));
    assert!(matches!(walk.fill_page().found, Found::Working(_, None)));
    walk.take(best_of(number));
    keep(&walk, "fill-searching");
    walk.press("enter");
    assert_eq!(walk.said(), "The search goes on. esc stops it with the best so far.");
    walk.press("esc");
    walk.take(found(number, stopped));
    assert!(matches!(walk.fill_page().found, Found::Plan(..)));
    walk.press("esc");
    assert!(walk.model.page::<FillPage>().is_none());
}

#[test]
fn what_comes_after_the_page_was_left_or_changed_is_dropped() {
    let mut walk = page();
    let (number, before) = (walk.asked(), plan(&walk).clone());
    walk.press("`new>=5%` enter");
    walk.take(found(number, before.clone()));
    assert!(matches!(walk.fill_page().found, Found::Working(..)));
    walk.comes();
    walk.press("esc");
    walk.take(found(number + 1, before));
    assert!(walk.model.page::<FillPage>().is_none());
}

#[test]
fn what_cannot_be_asked_is_told_beside_it_and_asks_nothing() {
    for (line, sentence) in [
        ("new", "'new' says no amount. Write a wish like"),
        ("oak>=20%", "'oak' is no kind of barrel."),
        ("new>=120%", "'120%' is more than all. Give at most 100%."),
        ("new>=30", "'30' is no amount. Give a share like 30% or litres like 900L."),
        ("fill:zero>=3%", "'fill:zero' needs a whole number"),
        ("forest:Alier>=5%", "No barrel of the cellar has forest 'Alier'. Known are Allier, Missouri"),
        ("40", "'40' could be litres or barrels. Write 40 L or 40 barrels."),
        ("40 buckets", "'40 buckets' is no number of barrels or litres."),
        ("18 barrels", "The 18 smallest empties hold 4104 L and there is only 4000 L. Ask for at most 17 barrels."),
        ("90 barrels", "90 barrels are to be filled, but only 40 empties are at hand."),
        ("0 barrels", "Nothing is to be placed."),
        ("5000 L", "T7 holds 4000 L by the book, and 5000 L is to be placed."),
        ("100 L", "The smallest empty holds 228 L, and only 100 L is to be placed."),
        ("in attic", "No room is called 'attic'."),
        ("in north", "'in north' says again what another line says."),
        ("into M27", "No lot is called 'M27'."),
        (
            "into M26 Uper Terrace",
            "No lot is called 'M26 Uper Terrace'. Check the label, or open the lot first. Did you mean 'M26 Upper Terrace'?",
        ),
        ("into W26 Chalk", "The lot 'W26 Chalk' is white but the wine is red."),
        ("as in", "'as in' says no amount."),
        ("as in M25", "No lot is called 'M25'."),
        ("as in M26 Oak", "M26 Oak lies in no barrel"),
    ] {
        let mut walk = page();
        walk.press(&format!("`{line}` enter"));
        let why = match &walk.fill_page().found {
            Found::Refused(why) => why.clone(),
            Found::Working(..) => {
                walk.comes();
                let Found::Refused(why) = &walk.fill_page().found else { panic!("{line} was taken") };
                why.clone()
            }
            other => panic!("{line}: {other:?}"),
        };
        assert!(why.starts_with(sentence), "{line}: {why}");
        walk.press("enter");
        assert_eq!((walk.said(), walk.facts().len()), (why.as_str(), 0), "{line}");
        assert!(walk.fill_page().lines.iter().any(|written| written == line), "{line} is gone");
    }
    let mut walk = page();
    walk.press("`forest:Alier>=50%` enter");
    keep(&walk, "fill-with-a-wrong-wish");
}

/// What is not placed stays, whether it was asked to stay or fills no barrel.
#[test]
fn of_litres_that_are_placed_the_rest_of_the_tank_stays() {
    let mut walk = page();
    walk.press("`1000 L` enter").comes();
    assert!(walk.text(80, 24).contains("4 barrels, 912.0 L, each filled full; 3088.0 L stay in T7"));
}

#[test]
fn a_line_is_changed_and_taken_away() {
    let mut walk = page();
    walk.press("`new>=5%` enter").comes();
    walk.press("up `x`");
    assert!(!walk.text(80, 24).contains("L  met") && walk.text(80, 24).contains("changed since"));
    walk.press("backspace");
    assert!(walk.text(80, 24).contains("L  met"));
    walk.press(&"backspace ".repeat(7));
    walk.press("backspace");
    assert_eq!(walk.fill_page().lines, ["in north", ""]);
    walk.press("enter").comes();
    assert!(plan(&walk).wishes.is_empty());
}

#[test]
fn the_mix_of_a_lot_is_taken_as_the_pattern_and_can_be_changed() {
    let mut walk = page();
    walk.press("tab");
    assert_eq!(walk.fill_page().lines[1], "as in C26 Long Wall");
    walk.press("tab tab");
    assert_eq!(walk.fill_page().lines[1], "as in W26 Chalk");
    walk.press("enter");
    let lines = walk.fill_page().lines.clone();
    assert_eq!(lines[1..5], ["new=50%", "forest:Missouri=50%", "toast:heavy=50%", "toast:light=50%"]);
    walk.comes();
    keep(&walk, "fill-as-in-another-lot");
}

#[test]
fn the_work_is_named_begun_and_walked() {
    let mut walk = page();
    walk.press("`12 barrels` enter").comes();
    walk.press("`into M26 Oak` enter").comes();
    assert!(walk.text(80, 24).contains("12 barrels, 2736.0 L, each filled full; 1264.0 L stay in T7"));
    walk.press("enter");
    keep(&walk, "fill-named");
    walk.press("esc enter");
    assert_eq!(walk.fill_page().name.as_deref(), Some("fill M26 Oak 25 Nov 2026"));
    walk.press(&"backspace ".repeat(24));
    walk.press("enter");
    assert!(walk.said().contains("1 to 40 characters"), "{}", walk.said());
    walk.press("`down M26` enter");
    assert!(walk.said().starts_with("Walking the work down M26."), "{}", walk.said());
    assert!(walk.said().contains("By the book 12 not soaked: the card says which."), "{}", walk.said());
    assert_eq!((walk.at_vessel(), walk.facts().len()), ("N00", 1));
    let set = walk.facts().remove(0);
    assert!(set.starts_with("work_set ") && set.contains(r#""from":"T7","lot":"M26 Oak""#), "{set}");
    assert_eq!(set.matches(r#""volume_ul":228000000"#).count(), 12);
    keep(&walk, "fill-under-way");
    walk.press("space `227.5` enter s u u");
    assert_eq!(walk.at_vessel(), "N01");
    let (_, work) = walk.model.state.works.iter().last().unwrap();
    assert_eq!((work.progress().done, work.progress().moved), (1, Volume::from_litres(228)));
    let lot = walk.model.state.vessels.by_label("N00").unwrap().lot.unwrap();
    assert_eq!(walk.model.state.lots.get(lot).label.as_str(), "M26 Oak");
}

#[test]
fn a_work_that_goes_on_in_another_room_says_so() {
    let mut walk = stocked();
    walk.press("/ `T7` enter d enter").comes();
    walk.press("enter enter");
    assert_eq!(walk.at_vessel(), "0419");
    walk.press("space");
    // 0436 lies beside another lot.
    assert_eq!(walk.said(), "0419 filled, 225.0 L. W-05 is next, in vault.");
    walk.press("space r");
    assert!(walk.said().starts_with("The rack: 2 barrels filled, 456.0 L."), "{}", walk.said());
    let mut again = walk.reopened();
    again.press("d enter");
    assert!(again.said().ends_with("is next, in north."), "{}", again.said());
}

/// A second plan beside an open work leaves it its barrels and its wine.
#[test]
fn an_open_work_keeps_its_barrels_and_its_wine() {
    let mut walk = page();
    walk.press("`12 barrels` enter").comes();
    walk.press("enter enter d / `T7` enter d down enter").comes();
    let text = walk.text(80, 24);
    assert!(text.contains("open works take 2736.0 L") && text.contains("12 in an open work"), "{text}");
    assert!(plan(&walk).answer.placed <= Volume::from_litres(4_000 - 2_736));
}

#[test]
fn a_cellar_that_is_written_by_others_is_asked_anew() {
    let mut walk = page();
    let number = walk.asked();
    let held = cellar::fact("11-25", r#""kind":"held","vessel":"N00","why":"sour""#).replace("T07", "T06");
    cellar::record(walk.path(), &[held]);
    walk.take(Message::Changed);
    assert_eq!(walk.asked(), number + 1);
    walk.comes();
    assert_eq!(plan(&walk).barrels.len(), 17);
    assert!(walk.text(80, 24).contains("1 held"));
}

#[test]
fn white_wine_is_kept_from_red_wood_in_the_plan_and_on_the_floor() {
    let mut walk = stocked();
    walk.press("/ `T8` enter d enter").comes();
    assert!(walk.text(80, 24).contains("1 stained red"), "{}", walk.text(80, 24));
    let set = cellar::fact(
        "11-25",
        r#""kind":"work_set","work":"white","task":"barrel_down","from":"T8","stops":[{"vessel":"N39"},{"vessel":"N38"}]"#,
    )
    .replace("T07", "T06");
    cellar::record(walk.path(), &[set]);
    walk.press("esc");
    walk.take(Message::Changed);
    walk.press("esc / `N39` enter d enter space");
    assert_eq!(
        walk.said(),
        "N39 has red wine in its wood and must not take white wine. Choose wood that never held red."
    );
    walk.press("h `mould` enter space");
    assert!(walk.said().starts_with("N39 is held: mould."), "{}", walk.said());
    assert_eq!(walk.model.state.vessels.by_label("N39").unwrap().volume(), Volume::ZERO);
}

#[test]
fn nothing_begins_in_a_cellar_that_is_only_read() {
    let mut walk = page();
    walk.model.read_only = Some("This cellar is open for reading only. Open it where it may be written.".to_owned());
    walk.press("enter");
    assert!(walk.said().starts_with("This cellar is open for reading only."), "{}", walk.said());
}
