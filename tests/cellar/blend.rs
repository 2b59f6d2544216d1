//! The plan of a blend: what comes from where, what stays, and what the blend would be.
#![allow(clippy::unwrap_used)] // in what the tests share

use barrelwalk::cellar::core::fact::{Device, FactId, Stamp};
use barrelwalk::cellar::jobs::tests::testing::Analyte;
use barrelwalk::cellar::views::bench::blend::{BlendPlan, BlendRequest, Component, Expected, NoBlend, Source};
use barrelwalk::cellar::views::books::claims::Standing;
use barrelwalk::cellar::views::books::lineage::{NewWood, Tracer};
use barrelwalk::reckon::acidity::Acid;
use barrelwalk::reckon::blend::BlendedPh;
use barrelwalk::reckon::scale_up::{Limit, Tolerance};
use barrelwalk::units::{Shares, Volume};
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, Told, barrel_of, moment, moved, placed, tank_of};

/// The furnished cellar (red T with 1,550 L of lot R and two barrels of it, red U with 1,000 L, white V) and an empty tank X
/// of 4,000 L.
fn cellar() -> Cellar {
    Cellar::furnished().given(tank_of("X", 4_000))
}

fn component(cellar: &Cellar, label: &str) -> Component {
    let vessel = cellar.state.vessels.find(label).map(Source::Vessel);
    let source = vessel.or_else(|| cellar.state.lots.find(label).map(Source::Lot)).unwrap();
    Component { source, keep: Volume::ZERO, whole: false }
}

fn asked(cellar: &Cellar, shares: &[(&str, u32)], into: Option<&str>) -> BlendRequest {
    BlendRequest {
        components: shares.iter().map(|(label, _)| component(cellar, label)).collect(),
        shares: Shares::from_millionths(shares.iter().map(|(_, share)| *share).collect()).unwrap(),
        into: into.map(|label| cellar.state.vessels.find(label).unwrap()),
        tolerance: None,
        litres: None,
        barrels_first: false,
        despite: false,
    }
}

fn plan(cellar: &Cellar, request: BlendRequest) -> Result<BlendPlan, NoBlend> {
    cellar.state.plan_blend(request, &NewWood::default(), cellar.now())
}

#[track_caller]
fn refused(cellar: &Cellar, request: BlendRequest, sentence: &str) {
    assert_eq!(plan(cellar, request).unwrap_err().to_string(), sentence);
}

fn draws(cellar: &Cellar, plan: &BlendPlan) -> Vec<(String, u64)> {
    let label = |id| cellar.state.vessels.get(id).label.to_string();
    plan.draws.iter().map(|draw| (label(draw.vessel), draw.volume.as_ul())).collect()
}

fn expected(plan: &BlendPlan, analyte: Analyte) -> &Expected {
    plan.forecast.values.iter().find(|it| it.analyte == analyte).unwrap()
}

const HALF: [(&str, u32); 2] = [("T", 500_000), ("U", 500_000)];

#[test]
fn the_scarce_tank_sets_the_batch_and_goes_first() {
    let cellar = cellar();
    let found = plan(&cellar, asked(&cellar, &HALF, Some("X"))).unwrap();
    assert_eq!(found.batch.limit, Limit::Tanks(vec![1]));
    assert_eq!(draws(&cellar, &found), [("U".to_owned(), 1_000 * LITRE), ("T".to_owned(), 1_000 * LITRE)]);
    assert_eq!(found.batch.left, [Volume::from_litres(550), Volume::ZERO]);
    assert_eq!(found.batch.one_more_litre, [(1, Volume::from_litres(2))]);
    let mut kept = asked(&cellar, &HALF, Some("X"));
    kept.components[1].keep = Volume::from_litres(100);
    assert_eq!(plan(&cellar, kept).unwrap().batch.volume, Volume::from_litres(1_800));
    let tolerant = BlendRequest { tolerance: Some(Tolerance::USUAL), ..asked(&cellar, &HALF, Some("X")) };
    assert!(plan(&cellar, tolerant).unwrap().batch.volume > Volume::from_litres(2_040));
}

/// E is still to be filled from U with 225 L.
fn filling(cellar: Cellar) -> Cellar {
    cellar.given(json!({
        "kind": "work_set", "work": "down S", "task": "barrel_down", "from": "U", "stops": [{"vessel": "E"}],
    }))
}

#[test]
fn what_an_open_work_still_takes_is_left_to_it_and_said() {
    let cellar = filling(cellar());
    let found = plan(&cellar, asked(&cellar, &HALF, Some("X"))).unwrap();
    assert_eq!(draws(&cellar, &found), [("U".to_owned(), 775 * LITRE), ("T".to_owned(), 775 * LITRE)]);
    assert_eq!(found.promised, [Volume::ZERO, Volume::from_litres(225)]);
    let said = "Open works are still to take 225 L of U, which is left to them.";
    assert_eq!(found.promised_words().as_deref(), Some(said));
    // What is kept back is kept beside it, and both are left out of what the lot's vessels give.
    let mut kept = asked(&cellar, &[("T", 500_000), ("S", 500_000)], Some("X"));
    kept.components[1].keep = Volume::from_litres(75);
    assert_eq!(plan(&cellar, kept).unwrap().batch.volume, Volume::from_litres(1_400));
    let more = BlendRequest { litres: Some(Volume::from_litres(1_800)), ..asked(&cellar, &HALF, Some("X")) };
    let beyond = "1800.0 L cannot be made in this ratio: U gives out. The largest batch is 1550.0 L.";
    refused(&cellar, more, &format!("{beyond} {said}"));
    let sentence = "Open works are still to take 225 L from U. Do or end them first, or blend into another vessel.";
    refused(&cellar, asked(&cellar, &HALF, Some("U")), sentence);
    // A barrel that is filled is promised nothing any more.
    let down = json!({
        "kind": "wine_moved", "from": "U", "to": "E", "volume_ul": 225 * LITRE, "purpose": "barrel_down", "lot": "S",
    });
    let filled = cellar.given(down);
    assert_eq!(plan(&filled, asked(&filled, &HALF, Some("X"))).unwrap().promised_words(), None);
}

#[test]
fn two_blends_do_not_take_the_same_wine() {
    let cellar = cellar().given(tank_of("Y", 4_000)).given(json!({
        "kind": "work_set", "work": "first", "task": "blending", "into": "Y", "lot": "S",
        "stops": [{"vessel": "U", "volume_ul": 600 * LITRE}, {"vessel": "T", "volume_ul": 600 * LITRE}],
    }));
    let found = plan(&cellar, asked(&cellar, &HALF, Some("X"))).unwrap();
    assert_eq!(found.batch.volume, Volume::from_litres(800));
    // The first itself is not in its own way.
    let first = cellar.state.works.find("first").unwrap();
    assert_eq!(cellar.state.assemblage(first, cellar.now()).unwrap().correction.volume, Volume::from_litres(1_200));
}

#[test]
fn a_lot_gives_its_tank_before_its_barrels() {
    let cellar = cellar()
        .given(barrel_of("B3", 225))
        .given(placed("B3", "long/A-01-2-b"))
        .given(json!({"kind": "lot_opened", "lot": "Q", "colour": "red"}))
        .given(json!({
            "kind": "wine_moved", "from": "T", "to": "B3", "volume_ul": 225 * LITRE, "purpose": "barrel_down", "lot": "Q",
        }));
    // B1 and B2 hold lot R, as T does; T is one of its vessels.
    let found = plan(&cellar, asked(&cellar, &[("R", 800_000), ("B3", 200_000)], Some("X"))).unwrap();
    let labels = |found: &BlendPlan| draws(&cellar, found).into_iter().map(|(label, _)| label).collect::<Vec<_>>();
    assert_eq!(labels(&found), ["B3", "T"]);
    let barrels = BlendRequest { barrels_first: true, ..asked(&cellar, &[("R", 800_000), ("B3", 200_000)], Some("X")) };
    assert_eq!(labels(&plan(&cellar, barrels).unwrap()), ["B3", "B1", "B2", "T"], "where it is asked");
    assert_eq!(found.draws.iter().map(|draw| draw.volume).sum::<Volume>(), found.batch.volume);
    for (component, part) in found.batch.parts.iter().enumerate() {
        let its = found.draws.iter().filter(|draw| draw.component == component).map(|draw| draw.volume);
        assert_eq!(its.sum::<Volume>(), *part);
    }
    // Held barrels of a lot stay where they are.
    let held = cellar.given(json!({"kind": "held", "vessel": "B1", "why": "film"}));
    let found = plan(&held, asked(&held, &[("R", 800_000), ("B3", 200_000)], Some("X"))).unwrap();
    assert_eq!(found.held.len(), 1);
    assert!(draws(&held, &found).iter().all(|(label, _)| label != "B1"));
}

/// T holds 1,550 L and either barrel gives about 225 L: 1,600 L are one whole barrel and the rest of the tank, 1,850 L both of them,
/// and nobody leaves a barrel part-full.
#[test]
fn a_barrel_is_opened_where_the_tank_does_not_hold_enough_and_then_emptied() {
    let cellar = cellar();
    let of_lot = |litres: u64| {
        let request = BlendRequest {
            litres: Some(Volume::from_litres(litres)),
            ..asked(&cellar, &[("R", 1_000_000)], Some("X"))
        };
        draws(&cellar, &plan(&cellar, request).unwrap())
    };
    assert_eq!(of_lot(1_550), [("T".to_owned(), 1_550 * LITRE)]);
    let one = of_lot(1_600);
    assert_eq!(one.iter().map(|(label, _)| label.as_str()).collect::<Vec<_>>(), ["T", "B1"]);
    assert!(one[1].1 > 224 * LITRE && one[0].1 + one[1].1 == 1_600 * LITRE, "{one:?}");
    let both = of_lot(1_850);
    assert_eq!(both.iter().map(|(label, _)| label.as_str()).collect::<Vec<_>>(), ["T", "B1", "B2"]);
    assert!(both[0].1 < 1_402 * LITRE, "{both:?}");
}

#[test]
fn a_blend_is_made_around_what_is_in_place() {
    let cellar = cellar();
    let ratio = [("U", 400_000), ("T", 600_000)];
    let found = plan(&cellar, asked(&cellar, &ratio, Some("U"))).unwrap();
    assert_eq!(found.batch.volume, Volume::from_litres(2_500));
    assert_eq!(found.draws.iter().map(|draw| draw.in_place).collect::<Vec<_>>(), [true, false]);
    let mut kept = asked(&cellar, &ratio, Some("U"));
    kept.components[0].keep = Volume::from_litres(10);
    refused(
        &cellar,
        kept,
        "All of U is in the blend that is made in it. Keep nothing back of it, or blend into another vessel.",
    );
    let too_little = asked(&cellar, &[("U", 300_000), ("T", 700_000)], Some("U"));
    assert!(plan(&cellar, too_little).unwrap_err().to_string().starts_with("U cannot be taken whole"));
}

#[test]
fn what_cannot_be_blended_is_said() {
    let cellar = cellar();
    let both = |one, other| asked(&cellar, &[(one, 500_000), (other, 500_000)], Some("X"));
    refused(&cellar, both("T", "V"), "T is red and V is white. Choose wines of one colour.");
    refused(&cellar, both("R", "B1"), "B1 comes in twice. Name every vessel once, by itself or by its lot.");
    refused(
        &cellar,
        both("T", "E"),
        "E holds nothing by the book, but the ratio asks for it. If it was emptied since it was sampled, choose a ratio without it.",
    );
    let into_other = asked(&cellar, &[("T", 1_000_000)], Some("U"));
    refused(
        &cellar,
        into_other,
        "U holds 1000 L that is not in the ratio. Choose an empty vessel, or give its wine a share.",
    );
    let into_its_lot = asked(&cellar, &[("R", 500_000), ("U", 500_000)], Some("T"));
    refused(
        &cellar,
        into_its_lot,
        "T holds part of its lot. Name it as a component by itself, or blend into another vessel.",
    );
    let held = cellar.clone().given(json!({"kind": "held", "vessel": "T", "why": "film"}));
    let bars = "T is held: film. Free it first, or say why it is done despite the hold, at the desk with --despite.";
    refused(&held, asked(&held, &HALF, None), bars);
    refused(&held, asked(&held, &[("U", 1_000_000)], Some("T")), bars);
    let despite = plan(&held, BlendRequest { despite: true, ..asked(&held, &HALF, None) }).unwrap();
    assert_eq!(despite.despite, [held.state.vessels.find("T").unwrap()]);
    assert_eq!(draws(&held, &despite).len(), 2);
    let too_much = BlendRequest { litres: Some(Volume::from_litres(3_000)), ..asked(&cellar, &HALF, None) };
    refused(&cellar, too_much, "3000.0 L cannot be made in this ratio: U gives out. The largest batch is 2000.0 L.");
    let small = cellar.given(tank_of("Y", 500));
    let beyond = BlendRequest { litres: Some(Volume::from_litres(800)), ..asked(&small, &HALF, Some("Y")) };
    refused(
        &small,
        beyond,
        "800.0 L does not fit the receiving tank, which has room for 500.0 L. The largest batch that fits is 500.0 L.",
    );
}

fn tested(vessel: &str, ph: f64, alcohol: f64) -> Value {
    json!({"kind": "tested", "vessel": vessel, "ph": ph, "alcohol_pct": alcohol, "ta_g_l": 5.6, "free_so2_mg_l": 30})
}

#[test]
fn a_forecast_says_what_it_rests_on_and_what_is_not_known() {
    let cellar = cellar().given(tested("T", 3.5, 13.0)).days(10).given(tested("U", 3.7, 14.0)).days(5);
    let found = plan(&cellar, asked(&cellar, &HALF, Some("X"))).unwrap();
    let alcohol = expected(&found, Analyte::Alcohol);
    assert_eq!((alcohol.value, alcohol.oldest_days, alcohol.of_lot), (Some(13.5), Some(15), false));
    assert!(expected(&found, Analyte::FreeSo2).at_most);
    let malic = expected(&found, Analyte::Malic);
    assert_eq!((malic.value, malic.lacking.as_slice()), (None, &["U".to_owned(), "T".to_owned()][..]));
    let BlendedPh::Predicted(ph) = &found.forecast.ph else { panic!("{:?}", found.forecast.ph) };
    assert!(ph.low <= ph.ph && ph.ph <= ph.high && (ph.ph - 3.6).abs() < 0.05 && (ph.plain_mean - 3.6).abs() < 1e-9);
    assert_eq!(found.forecast.assumed.len(), 2);
    assert_eq!(found.forecast.assumed[0].1, Acid::ALL);
    assert!(found.forecast.molecular.is_some_and(|it| it.mg_l > 0.4 && it.mg_l < 0.6));
    assert!(found.forecast.changed_since.is_empty());
    // The claims are of what would be in it: all of one vintage, variety and place.
    assert!(!found.forecast.claims.is_empty() && found.forecast.claims.iter().any(Standing::held));

    let untested = self::cellar().given(tested("T", 3.5, 13.0));
    let found = plan(&untested, asked(&untested, &HALF, None)).unwrap();
    assert_eq!(expected(&found, Analyte::Ph).lacking, ["U"]);
    assert_eq!((expected(&found, Analyte::Ph).value, found.forecast.molecular), (None, None));
}

#[test]
fn wine_that_was_racked_since_has_the_tests_of_its_lot() {
    let cellar = cellar().given(tested("B1", 3.5, 13.0)).given(json!({
        "kind": "wine_moved", "from": "B1", "to": "X", "volume_ul": 200 * LITRE, "purpose": "racking", "empties": true,
    }));
    let found = plan(&cellar, asked(&cellar, &[("X", 1_000_000)], None)).unwrap();
    let alcohol = expected(&found, Analyte::Alcohol);
    assert_eq!((alcohol.value, alcohol.of_lot), (Some(13.0), true));
}

#[test]
fn what_was_added_since_a_test_is_said() {
    let treated = cellar().given(tested("T", 3.5, 13.0)).given(tested("U", 3.7, 14.0)).days(1).given(json!({
        "kind": "treated", "vessel": "U", "material": "tartaric acid", "amount_ug": 500_000_000, "purpose": "acid",
    }));
    let found = plan(&treated, asked(&treated, &HALF, None)).unwrap();
    assert_eq!(found.forecast.changed_since, ["U"]);
    let filled_up =
        cellar().given(tested("T", 3.5, 13.0)).given(tested("U", 3.7, 14.0)).days(1).given(moved("B1", "T", LITRE));
    let found = plan(&filled_up, asked(&filled_up, &HALF, None)).unwrap();
    assert_eq!(found.forecast.changed_since, ["T"]);
}

/// A tracer that has seen some facts from the beginning.
fn traced(facts: Vec<Value>) -> Tracer {
    let device = Device::new("tracer").unwrap();
    let start = moment("2026-10-01T08:00:00+02:00");
    let mut tracer = Tracer::default();
    for (fact, n) in facts.into_iter().zip(1_u32..) {
        let at = start.at_instant(start.instant() + i64::from(n) * 60_000_000);
        tracer.fold(&Stamp::new(FactId { device: device.clone(), n: n.into() }, at), &fact.what());
    }
    tracer
}

#[test]
fn wine_keeps_the_new_wood_that_it_came_through() {
    let received = |vessel: &str, litres: u64| {
        json!({
            "kind": "wine_received", "vessel": vessel, "lot": "L",
            "parts": [{"origin": "o", "volume_ul": litres * LITRE}],
        })
    };
    let used =
        json!({"kind": "vessel_registered", "vessel": "OLD", "type": "barrel", "capacity_ul": 225 * LITRE, "fills": 2});
    let mut facts = vec![
        json!({
            "kind": "origin_declared", "origin": "o", "block": "Terrace", "variety": "Syrah", "vintage": 2026,
            "appellation": "Hillside", "colour": "red",
        }),
        json!({"kind": "lot_opened", "lot": "L", "colour": "red"}),
        tank_of("T", 5_000),
        tank_of("X", 5_000),
        barrel_of("NEW", 225),
        used,
        received("T", 1_000),
        moved("T", "NEW", 200 * LITRE),
        moved("T", "OLD", 200 * LITRE),
        moved("NEW", "X", 100 * LITRE),
        moved("OLD", "X", 200 * LITRE),
        moved("T", "X", 100 * LITRE),
    ];
    let part = |tracer: &Tracer, label: &str| {
        let fill = tracer.fill_of(tracer.state.vessels.find(label).unwrap());
        tracer.new_wood().part(fill)
    };
    let tracer = traced(facts.clone());
    assert_eq!((part(&tracer, "T"), part(&tracer, "NEW"), part(&tracer, "X")), (Some(0.0), Some(1.0), Some(0.25)));
    // Into the old barrel it brings the part that it has.
    facts.push(moved("X", "OLD", 100 * LITRE));
    let tracer = traced(facts);
    assert_eq!(part(&tracer, "OLD"), Some(0.25));
    let id = |label: &str| tracer.state.vessels.find(label).unwrap();
    let request = BlendRequest {
        components: ["NEW", "X"]
            .map(|label| Component { source: Source::Vessel(id(label)), keep: Volume::ZERO, whole: false })
            .to_vec(),
        shares: Shares::from_millionths(vec![200_000, 800_000]).unwrap(),
        into: None,
        tolerance: None,
        litres: Some(Volume::from_litres(100)),
        barrels_first: false,
        despite: false,
    };
    let now = moment("2026-10-02T08:00:00+02:00");
    let found = tracer.state.plan_blend(request.clone(), &tracer.new_wood(), now).unwrap();
    assert!(found.forecast.new_wood.is_some_and(|part| (part - 0.4).abs() < 1e-9), "{:?}", found.forecast.new_wood);
    // A state alone knows the barrel, and nothing of what the tank's wine came through.
    let found = tracer.state.plan_blend(request, &NewWood::default(), now).unwrap();
    assert_eq!((found.forecast.new_wood, found.forecast.wood_lacking), (None, vec!["X".to_owned()]));
}
