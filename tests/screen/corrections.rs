//! What is typed at a barrel, a step or a glass that is done puts it right; nothing is written over without a word.

use barrelwalk::cellar::jobs::topping::round::Mark;
use barrelwalk::tui::bench::glasses::Bench;
use barrelwalk::tui::floor::ending::Ending;
use barrelwalk::units::Volume;

use crate::pictures::{keep, keep_both};
use crate::walk::Walk;

fn ml(millilitres: u64) -> Volume {
    Volume::from_ml(millilitres)
}

/// A round that was begun from the tank of the first barrels' lot, with its first rack topped.
fn begun() -> Walk {
    let mut walk = Walk::small();
    walk.press("b down enter enter r");
    walk
}

/// What a barrel took in the round, and what all took.
fn took(walk: &Walk, vessel: &str) -> (Option<Mark>, Volume) {
    let state = &walk.model.state;
    let round = state.rounds.iter().last().unwrap().1;
    (round.marks.get(&state.vessels.find(vessel).unwrap()).copied(), round.poured)
}

#[test]
fn litres_at_a_barrel_that_is_done_are_what_it_took() {
    let mut walk = begun();
    let (before, in_all) = took(&walk, "0401");
    let wrong = before.unwrap().poured();
    let source = walk.model.state.vessels.by_label("T1").unwrap().volume();
    walk.press("`0401` enter `2.9`");
    keep(&walk, "correcting-a-topping");
    walk.press("enter");
    let said = format!(
        "0401: 2.9 L in place of {}.",
        barrelwalk::cellar::core::doing::much(wrong, barrelwalk::units::Mass::ZERO)
    );
    assert!(walk.said().starts_with(&said), "{}", walk.said());
    assert_eq!(took(&walk, "0401"), (Some(Mark::Topped(ml(2_900))), (in_all + ml(2_900)).saturating_sub(wrong)));
    assert_eq!(walk.model.state.vessels.by_label("T1").unwrap().volume(), (source + wrong).saturating_sub(ml(2_900)));
    // The walk goes on to what is still to do.
    assert_ne!(walk.at_vessel(), "0401");
    walk.press("u");
    assert_eq!(walk.said(), "Undone: the correction: 0401 topped with 2.9 L from T1.");
    assert_eq!((walk.at_vessel(), took(&walk, "0401")), ("0401", (before, in_all)));
    walk.press("y");
    assert_eq!(took(&walk, "0401").0, Some(Mark::Topped(ml(2_900))));
    assert_eq!(walk.model.state.discrepancies.len(), 0);
}

#[test]
fn with_a_plus_more_is_poured_on_purpose() {
    let mut walk = begun();
    let (before, in_all) = took(&walk, "0401");
    let wrong = before.unwrap().poured();
    walk.press("`0401` enter `0.5+` enter");
    assert!(walk.said().starts_with("0401: 500 mL more, "), "{}", walk.said());
    assert_eq!(took(&walk, "0401"), (Some(Mark::Topped(wrong + ml(500))), in_all + ml(500)));
    assert!(walk.facts().last().unwrap().contains(r#""again":true"#));
    // What it took in all takes the place of both.
    walk.press("`0401` enter `2` enter");
    assert!(walk.said().starts_with("0401: 2.0 L in place of 4"), "{}", walk.said());
    assert!(walk.said().contains(" and 500 mL."), "{}", walk.said());
    assert_eq!(took(&walk, "0401").0, Some(Mark::Topped(ml(2_000))));
}

#[test]
fn a_barrel_topped_in_part_is_not_done_and_the_next_number_adds() {
    let mut walk = begun();
    walk.press("`0403` enter `0.3p` enter `0403` enter `0.9` enter");
    assert_eq!(took(&walk, "0403").0, Some(Mark::Topped(ml(1_200))));
    walk.press("`0403` enter `0.7p` enter");
    assert!(
        walk.said().starts_with("0403: 700 mL, not to the brim, in place of 300 mL and 900 mL."),
        "{}",
        walk.said()
    );
    assert_eq!(took(&walk, "0403").0, Some(Mark::InPart(ml(700))));
}

#[test]
fn an_improbable_correction_is_asked_once_and_may_be_cleared() {
    let mut walk = begun();
    let before = took(&walk, "0401");
    walk.press("`0401` enter `19` enter");
    assert!(
        walk.said().contains("19.0 L at 0401, where") && walk.said().ends_with("Press the same key again to confirm.")
    );
    assert_eq!(took(&walk, "0401"), before);
    walk.press("enter");
    assert_eq!(took(&walk, "0401").0, Some(Mark::Topped(ml(19_000))));
    walk.press("`0401` enter `90` enter");
    assert!(walk.said().contains("Check the litres"), "{}", walk.said());
    assert_eq!(took(&walk, "0401").0, Some(Mark::Topped(ml(19_000))));
}

#[test]
fn where_nothing_is_left_the_next_number_asks_before_it_writes_over() {
    let mut walk = Walk::small();
    walk.press("`W-01` enter b enter enter e");
    assert!(walk.said().contains("Every barrel of this round is done"), "{}", walk.said());
    let last = walk.at_vessel().to_owned();
    let before = took(&walk, &last);
    walk.press("`1.7` enter");
    assert!(walk.said().starts_with(&format!("{last} is done: 1.7 L in place of ")), "{}", walk.said());
    assert_eq!(took(&walk, &last), before);
    walk.press("enter");
    assert_eq!(took(&walk, &last).0, Some(Mark::Topped(ml(1_700))));
}

/// A racking of the vault's lot, of which the first barrel is done.
fn racking() -> Walk {
    let mut walk = Walk::small();
    walk.press("`W-01` enter d enter enter `224.5` enter");
    walk
}

#[test]
fn litres_at_a_step_that_is_done_take_the_place_of_the_move() {
    let mut walk = racking();
    let tank = |walk: &Walk| walk.model.state.vessels.by_label("T2").unwrap().volume();
    assert_eq!((walk.at_vessel(), tank(&walk)), ("W-03", ml(224_500)));
    walk.press("`W-01` enter `214.5` enter");
    assert!(walk.said().starts_with("W-01: 214.5 L in place of 224.5 L."), "{}", walk.said());
    assert_eq!((walk.at_vessel(), tank(&walk)), ("W-03", ml(214_500)));
    assert!(walk.model.state.vessels.by_label("W-01").unwrap().volume().is_zero());
    walk.press("u");
    assert_eq!((walk.at_vessel(), tank(&walk)), ("W-01", ml(224_500)));
    // An emptied barrel gives no more.
    walk.press("`3+` enter enter");
    assert!(walk.said().contains("holds nothing"), "{}", walk.said());
    assert_eq!(tank(&walk), ml(224_500));
}

#[test]
fn a_dose_at_a_step_that_is_done_is_what_was_given() {
    let set = concat!(
        r#""kind":"work_set","work":"dose","task":"treating","material":"potassium metabisulfite","stops":["#,
        r#"{"vessel":"0401","amount_ug":8000000,"volume_ul":80000},{"vessel":"0402","amount_ug":8000000,"volume_ul":80000}]"#
    );
    let mut walk = with(&[crate::cellar::fact("11-24", set)]);
    walk.press("d enter space `0401` enter `70` enter");
    assert!(walk.said().starts_with("0401: 70 mL in place of 80 mL."), "{}", walk.said());
    let given = |walk: &Walk| -> Vec<u64> {
        let additions = &walk.model.state.vessels.by_label("0401").unwrap().additions;
        additions.iter().map(|addition| addition.amount.as_ug()).collect()
    };
    assert_eq!(given(&walk), [7_000_000]);
    walk.press("`0401` enter `10+` enter");
    assert!(walk.said().contains("is expected. Press the same key again"), "{}", walk.said());
    walk.press("enter");
    assert_eq!(given(&walk), [7_000_000, 1_000_000]);
    walk.press("`0401` enter `75` enter");
    assert!(walk.said().starts_with("0401: 75 mL in place of 70 mL and 10 mL."), "{}", walk.said());
    assert_eq!(given(&walk).len(), 1);
}

#[test]
fn a_transfer_of_a_blend_is_corrected_on_the_page_that_closes_it() {
    let mut facts = Vec::new();
    for (tank, wine) in [("T4", 0), ("T5", 900)] {
        let set = format!(r#""kind":"vessel_registered","vessel":"{tank}","type":"tank","capacity_ul":3000000000"#);
        facts.push(crate::cellar::fact("09-01", &set));
        if wine > 0 {
            let wine = format!(
                r#""kind":"wine_received","vessel":"{tank}","lot":"C26 Long Wall","parts":[{{"origin":"C26 Long Wall","volume_ul":{wine}000000}}]"#
            );
            facts.push(crate::cellar::fact("09-02", &wine));
        }
    }
    facts.push(crate::cellar::fact("11-24", r#""kind":"lot_opened","lot":"Assemblage 26","colour":"red""#));
    let set = concat!(
        r#""kind":"work_set","work":"blend 26","task":"blending","into":"T4","lot":"Assemblage 26","stops":["#,
        r#"{"vessel":"T1","volume_ul":500000000},{"vessel":"T5","volume_ul":500000000}]"#
    );
    facts.push(crate::cellar::fact("11-24", set));
    let mut walk = with(&facts);
    let holds = |walk: &Walk| walk.model.state.vessels.by_label("T4").unwrap().volume();
    walk.press("d enter `480` enter `T1` enter `25` enter");
    assert_eq!(holds(&walk), Volume::from_litres(505));
    walk.press("z up up `450`");
    keep(&walk, "blend-correcting");
    walk.press("enter");
    assert_eq!(walk.said(), "T1: 450.0 L in place of 480.0 L.");
    assert_eq!(holds(&walk), Volume::from_litres(475));
    assert!(walk.model.page().is_some_and(|ending: &Ending| ending.given.is_none()));
    walk.press("esc u");
    assert_eq!(holds(&walk), Volume::from_litres(505));
}

/// The small cellar with these facts.
fn with(facts: &[String]) -> Walk {
    let before = Walk::small();
    crate::cellar::record(before.path(), facts);
    let mut walk = before.reopened();
    walk.keep_cellar_of(before);
    walk
}

/// What another laptop topped in the same round.
fn theirs(n: u64, vessel: &str, microlitres: u64) -> String {
    format!(
        r#"{{"device":"trolley-2","n":{n},"at":"2026-11-25T06:41:00+01:00","written":"2026-11-25T06:41:00+01:00","by":"jo","v":1,"kind":"topped","vessel":"{vessel}","from":"T1","volume_ul":{microlitres}}}"#
    )
}

#[test]
fn what_two_laptops_topped_is_settled_on_the_page_of_discrepancies() {
    let mut walk = begun();
    let ours = took(&walk, "0401").0.unwrap().poured();
    crate::cellar::record(walk.path(), &[theirs(1, "0401", 800_000), theirs(2, "0402", 700_000)]);
    walk.take(barrelwalk::tui::edge::screen::Message::Changed);
    assert!(
        walk.said().ends_with("2 things were done on two laptops: / and discrepancies settles them."),
        "{}",
        walk.said()
    );
    assert_eq!(took(&walk, "0401").0, Some(Mark::Topped(ours + ml(800))));
    walk.press("/ `discrep` enter");
    keep_both(&walk, "discrepancies");
    let text = walk.text(120, 30);
    assert!(text.contains("jo, Wed 25 Nov  06:41: 800 mL from T1"), "{text}");
    // Only theirs was done.
    walk.press("down enter");
    assert_eq!(walk.said(), "0401: it was done once, as jo entered it.");
    assert_eq!(took(&walk, "0401").0, Some(Mark::Topped(ml(800))));
    walk.press("u");
    assert_eq!(walk.model.state.done_twice().count(), 2);
    assert!(walk.said().starts_with("Undone: what was settled of 0401"), "{}", walk.said());
    // Both were.
    walk.press("home space");
    assert_eq!(walk.said(), "0401: both were done, and both count.");
    assert_eq!(took(&walk, "0401").0, Some(Mark::Topped(ours + ml(800))));
    assert_eq!(walk.model.state.done_twice().count(), 1);
    // The next is chosen, and with the last the page goes.
    walk.press("enter");
    assert!(walk.said().ends_with("Every fact fits now."), "{}", walk.said());
    assert!(walk.model.state.discrepancies.is_empty());
    assert!(walk.is_on_floor());
    walk.press("u u");
    assert_eq!(walk.model.state.done_twice().count(), 2);
    // Who comes to it by the barrel says what it took in all, and nothing is left to settle there.
    walk.press("`0401` enter `1.2` enter");
    assert!(walk.said().contains(" and 800 mL."), "{}", walk.said());
    assert_eq!(walk.model.state.done_twice().count(), 1);
}

/// A fact that was not done twice is put right at its vessel: enter goes there, and says so.
#[test]
fn a_fact_that_does_not_fit_says_who_entered_it_and_where_enter_goes() {
    let mut walk = begun();
    crate::cellar::record(walk.path(), &[theirs(1, "0419", 700_000)]);
    walk.take(barrelwalk::tui::edge::screen::Message::Changed);
    walk.press("/ `discrep` enter");
    let text = walk.text(80, 24);
    assert!(text.contains("jo, Wed 25 Nov  06:41: 700 mL from T1"), "{text}");
    assert!(text.contains("enter go to 0419") && !text.contains("two laptops"), "{text}");
    walk.press("enter");
    assert!(walk.is_on_floor());
    assert_eq!(walk.at_vessel(), "0419");
}

/// What is chosen stays chosen by what it is, whatever another program enters meanwhile; what is settled elsewhere is chosen
/// no more.
#[test]
fn what_is_chosen_among_the_discrepancies_is_kept_by_the_fact() {
    let mut walk = begun();
    crate::cellar::record(walk.path(), &[theirs(1, "0402", 700_000)]);
    walk.take(barrelwalk::tui::edge::screen::Message::Changed);
    walk.press("/ `discrep` enter down");
    crate::cellar::record(walk.path(), &[theirs(2, "0401", 800_000)]);
    walk.take(barrelwalk::tui::edge::screen::Message::Changed);
    walk.press("enter");
    assert_eq!(walk.said(), "0402: it was done once, as jo entered it.");
    assert_eq!(walk.model.state.done_twice().count(), 1);
    let mine = walk.model.state.done_twice().next().unwrap().twice[0].clone();
    let back = format!(
        r#"{{"at":"2026-11-25T06:41:00+01:00","by":"mk","kind":"retracted","of":{{"device":"{}","n":{}}},"why":"a slip"}}"#,
        mine.device, mine.n
    );
    crate::cellar::record(walk.path(), &[theirs(3, "0405", 800_000), back]);
    walk.take(barrelwalk::tui::edge::screen::Message::Changed);
    walk.press("space");
    assert!(walk.said().starts_with("Nothing is chosen."), "{}", walk.said());
}

#[test]
fn blind_glasses_are_not_written_over_without_a_word() {
    let mut walk = Walk::small();
    walk.press("`0401` enter + `0402` enter + :bench `15 pl` enter `14` enter");
    assert!(walk.said().starts_with("Every glass is tasted."), "{}", walk.said());
    walk.press("`13` enter");
    assert!(walk.said().starts_with("Glass 2 is tasted, 14"), "{}", walk.said());
    assert!(
        walk.said().contains("already: what is written takes its place. Press the same key again"),
        "{}",
        walk.said()
    );
    walk.press("enter");
    let said = |walk: &Walk| walk.model.kept.get::<Bench>().unwrap().flight.impressions().nth(1).unwrap().show();
    assert!(said(&walk).starts_with("13"), "{}", said(&walk));
}
