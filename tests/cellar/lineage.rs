//! Where wine came from, and where it went.

use barrelwalk::cellar::core::evolve::evolve;
use barrelwalk::cellar::core::fact::{Device, FactId, Stamp};
use barrelwalk::cellar::core::label::Label;
use barrelwalk::cellar::jobs::wood::moving::Purpose;
use barrelwalk::cellar::views::books::lineage::{Flow, Since, Stream, Tracer};
use barrelwalk::cellar::views::books::lineage_tree::{Branch, Cut, End, Whose};
use serde_json::Value;

use crate::support::given::{Cellar, LITRE, Told, moment, moved, topped};

/// A tracer over the furnished cellar, after some facts.
fn traced(facts: Vec<Value>) -> Tracer {
    let Ok(device) = Device::new("tracer") else { panic!("a device") };
    let mut tracer = Tracer::default();
    tracer.state = Cellar::furnished().state;
    let start = moment("2026-10-01T08:00:00+02:00");
    for (fact, n) in facts.into_iter().zip(1_u32..) {
        let at = start.at_instant(start.instant() + i64::from(n) * 60_000_000);
        tracer.fold(&Stamp::new(FactId { device: device.clone(), n: n.into() }, at), &fact.what());
    }
    tracer
}

fn named(tracer: &Tracer, streams: &[Stream]) -> Vec<(String, String, u64, u32)> {
    let name = |fill: barrelwalk::cellar::views::books::lineage::Fill| {
        format!("{}#{}", tracer.state.vessels.get(fill.vessel).label, fill.number)
    };
    streams.iter().map(|stream| (name(stream.from), name(stream.to), stream.volume.as_ul(), stream.times)).collect()
}

fn line(from: &str, to: &str, microlitres: u64, times: u32) -> (String, String, u64, u32) {
    (from.into(), to.into(), microlitres, times)
}

fn fill(tracer: &Tracer, label: &str) -> barrelwalk::cellar::views::books::lineage::Fill {
    let Some(id) = tracer.state.vessels.find(label) else { panic!("no vessel {label}") };
    tracer.fill_of(id)
}

#[test]
fn wine_is_followed_back_through_other_vessels() {
    let tracer = traced(vec![
        moved("T", "E", 200 * LITRE),
        topped("E", "U", LITRE),
        topped("E", "U", LITRE),
        moved("E", "V", LITRE),
    ]);
    let back = tracer.back(&[fill(&tracer, "E")]).streams;
    assert_eq!(named(&tracer, &back), [line("T#1", "E#1", 200 * LITRE, 1), line("U#1", "E#1", 2 * LITRE, 2)]);
    assert_eq!((back[0].flow, back[1].flow), (Flow::Moved(Purpose::BarrelDown), Flow::Topping));
    let all = tracer.back(&[fill(&tracer, "V")]).streams;
    assert_eq!(all.len(), 3);
}

#[test]
fn what_came_after_the_wine_had_left_does_not_count() {
    let tracer = traced(vec![moved("B1", "E", 100 * LITRE), moved("U", "B1", 50 * LITRE)]);
    assert_eq!(named(&tracer, &tracer.back(&[fill(&tracer, "E")]).streams), [line("B1#1", "E#1", 100 * LITRE, 1)]);
    assert_eq!(
        named(&tracer, &tracer.forward(&[fill(&tracer, "U").into()])),
        [line("U#1", "B1#1", 50 * LITRE, 1)],
        "nor does what had left go forward"
    );
}

#[test]
fn another_fill_is_other_wine() {
    let tracer =
        traced(vec![moved("B1", "E", 225 * LITRE), moved("U", "B1", 225 * LITRE), moved("B1", "V", 10 * LITRE)]);
    assert_eq!(fill(&tracer, "B1").number, 2);
    let back = tracer.back(&[fill(&tracer, "V")]).streams;
    assert_eq!(named(&tracer, &back), [line("U#1", "B1#2", 225 * LITRE, 1), line("B1#2", "V#1", 10 * LITRE, 1)]);
}

#[test]
fn a_topping_of_a_dry_barrel_stays_in_its_fill() {
    let tracer = traced(vec![topped("B1", "U", 225 * LITRE)]);
    assert_eq!(named(&tracer, &tracer.back(&[fill(&tracer, "B1")]).streams), [line("U#1", "B1#1", 225 * LITRE, 1)]);
}

#[test]
fn what_has_no_effect_does_not_flow() {
    let tracer = traced(vec![moved("E", "V", LITRE), moved("T", "T", LITRE)]);
    assert_eq!(tracer.forward(&[fill(&tracer, "E").into(), fill(&tracer, "T").into()]), []);
}

#[test]
fn a_tracer_folds_as_the_cellar_does() {
    let fact = moved("T", "E", 225 * LITRE);
    let tracer = traced(vec![fact.clone()]);
    let mut state = Cellar::furnished().state;
    let Ok(device) = Device::new("tracer") else { panic!("a device") };
    evolve(&mut state, &Stamp::new(FactId { device, n: 1 }, moment("2026-10-01T08:01:00+02:00")), &fact.what());
    assert_eq!(tracer.state, state);
}

/// Wine that took another name where it lay is still what it was: forward it is followed under every name, back from then on.
#[test]
fn a_lot_is_followed_through_a_change_of_its_name() {
    let mut rename = moved("U", "B1", LITRE);
    rename["lot"] = "S".into();
    let seen = moved("T", "B1", LITRE);
    let tracer = traced(vec![seen, topped("B2", "B1", LITRE), rename, moved("B1", "E", 100 * LITRE)]);
    let lot = |label: &str| tracer.state.lots.find(label).into_iter().flat_map(|lot| tracer.fills_ever(lot)).collect();
    let targets = |sinces: Vec<Since>| {
        let streams = tracer.forward(&sinces);
        streams.iter().map(|its| tracer.state.vessels.get(its.to.vessel).label.to_string()).collect::<Vec<_>>()
    };
    assert_eq!(targets(lot("R")), ["B2", "E"], "R left B1 for B2 under its name, and for E under another");
    assert_eq!(targets(lot("S")), ["E"], "S came into B1 after the topping of B2");
}

/// The furnished cellar's own wine came in before the tracer looked on: only what it saw is told.
#[test]
fn what_came_into_the_book_is_the_end_of_the_way_back() {
    let received = |litres: u64| {
        serde_json::json!({"kind": "wine_received", "vessel": "U", "lot": "S", "parts": [
            {"origin": "block-2", "volume_ul": litres * LITRE}]})
    };
    let tracer = traced(vec![received(3), received(4), moved("U", "E", 200 * LITRE), received(5)]);
    let receipts = tracer.back(&[fill(&tracer, "E")]).receipts;
    assert_eq!(receipts.len(), 1, "the last one came after the wine had left");
    assert_eq!(receipts[0].volume.as_ul(), 7 * LITRE);
}

/// What flowed together for one reason is one branch, its litres are the sum, and a branch ends at the origins.
#[test]
fn a_tree_gathers_what_flowed_together() {
    let received = serde_json::json!({"kind": "wine_received", "vessel": "U", "lot": "S", "parts": [
        {"origin": "block-2", "volume_ul": 900 * LITRE}]});
    let tracer = traced(vec![
        received,
        moved("U", "E", 200 * LITRE),
        topped("E", "T", LITRE),
        topped("E", "T", 2 * LITRE),
        moved("E", "V", 3 * LITRE),
    ]);
    let Ok(label) = Label::new("E") else { panic!("a label") };
    let Some(tree) = tracer.tree(&Whose::Vessel(label)) else { panic!("E is there") };
    let told = |branch: &Branch| match &branch.end {
        End::Origin(origin) => format!("{origin} {}", branch.volume.as_ul() / LITRE),
        End::Vessels { vessel, count, flow, .. } => {
            let vessel = vessel.as_ref().map_or("", |vessel| vessel.as_str());
            format!("{vessel} {count} {} {} {}", flow.word(), branch.times, branch.volume.as_ul() / LITRE)
        }
    };
    assert_eq!(tree.back.iter().map(told).collect::<Vec<_>>(), ["U 1 barrel_down 1 200", "T 1 topping 2 3"]);
    assert_eq!(tree.back[0].branches.iter().map(told).collect::<Vec<_>>(), ["block-2 900"]);
    assert_eq!(tree.forward.iter().map(told).collect::<Vec<_>>(), ["V 1 barrel_down 1 3"]);
    assert_eq!(tracer.tree(&Whose::Lot(Label::new("nothing").unwrap_or_else(|error| panic!("{error}")))), None);
}

/// Wine that went round between two vessels is drawn once, and the page ends.
#[test]
fn a_tree_of_wine_that_went_round_ends() {
    let round = (0..6).flat_map(|_| [moved("U", "V", LITRE), moved("V", "U", LITRE)]).collect();
    let tracer = traced(round);
    let Ok(label) = Label::new("U") else { panic!("a label") };
    let Some(tree) = tracer.tree(&Whose::Vessel(label)) else { panic!("U is there") };
    assert_eq!((tree.back.len(), tree.back[0].times, tree.back[0].branches.len()), (1, 6, 1));
    let root_again = &tree.back[0].branches[0];
    assert_eq!((root_again.cut, root_again.branches.len()), (Some(Cut::Above), 0));
}
