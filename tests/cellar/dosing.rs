//! Dosing: how much sulfur dioxide each barrel is to be given, from what was last tested of it.
#![allow(clippy::unwrap_used)] // in what the tests share

use barrelwalk::cellar::core::fact::What;
use barrelwalk::cellar::core::label::Label;
use barrelwalk::cellar::core::refusal::Refusal;
use barrelwalk::cellar::jobs::floor::work::Tick;
use barrelwalk::cellar::jobs::tests::sulfuring::{TestOf, Unknown};
use barrelwalk::cellar::jobs::tests::testing::Analyte;
use barrelwalk::cellar::views::tests::dosing::{Dosed, Dosing, DosingAsked, Goal, LeftOut, Per};
use barrelwalk::reckon::limits::Judgement;
use barrelwalk::reckon::sulfur::{Form, Solution, USUAL_BOUND_SHARE};
use barrelwalk::units::{Mass, Volume};
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, barrel_of, moved, placed, topped};

fn tested(vessel: &str, readings: &Value) -> Value {
    let mut fact = json!({"kind": "tested", "vessel": vessel});
    fact.as_object_mut().unwrap().extend(readings.as_object().unwrap().clone());
    fact
}

fn sampled(vessel: &str, sample: &str) -> Value {
    json!({"kind": "sampled", "vessel": vessel, "volume_ul": 50_000, "sample": sample})
}

fn asked(cellar: &Cellar, lot: &str) -> DosingAsked {
    DosingAsked {
        of: Dosed { lot: Some(cellar.state.lots.find(lot).unwrap()), ..Dosed::default() },
        goal: Goal::Molecular(0.5),
        form: Form::Solution(Solution::USUAL),
        per: Per::Barrel,
        bound_share: USUAL_BOUND_SHARE,
    }
}

fn plan(cellar: &Cellar, asked: DosingAsked) -> Result<Dosing, Refusal> {
    cellar.state.plan_dosing(asked, cellar.now())
}

fn of_lot(cellar: &Cellar, lot: &str) -> Result<Dosing, Refusal> {
    plan(cellar, asked(cellar, lot))
}

#[track_caller]
fn refused(plan: Result<Dosing, Refusal>, part: &str) {
    let sentence = plan.unwrap_err().to_string();
    assert!(sentence.contains(part) && sentence.ends_with('.'), "{sentence}");
}

fn labels(cellar: &Cellar, plan: &Dosing) -> Vec<String> {
    plan.stops.iter().map(|stop| cellar.state.vessels.get(stop.vessel).label.to_string()).collect()
}

/// The why of each vessel that is left out.
fn left_out(cellar: &Cellar, plan: &Dosing) -> Vec<(String, String)> {
    let told = |(id, why): &(_, LeftOut)| (cellar.state.vessels.get(*id).label.to_string(), why.to_string());
    plan.left_out.iter().map(told).collect()
}

/// B1 and B2 with the lot `R`, both of pH 3.6 and 21 mg/L free.
fn known() -> Cellar {
    Cellar::furnished()
        .given(tested("B1", &json!({"ph": 3.6, "free_so2_mg_l": 21})))
        .given(tested("B2", &json!({"ph": 3.6, "free_so2_mg_l": 21})))
}

/// The plain table (University of California Cooperative Extension, Enology Briefs 1982) prints 31 mg/L free for 0.5
/// molecular at pH 3.6, by its constant 31.3. To raise 225 L by 10.3 free, a third being bound, are 15.5 mg/L in all: 3.49
/// g of sulfur dioxide, by 57.6 % 6.05 g of metabisulfite, 60.5 mL of 10 %.
#[test]
fn a_worked_dose() {
    let cellar = known();
    let plan = of_lot(&cellar, "R").unwrap();
    assert_eq!(labels(&cellar, &plan), ["B1", "B2"]);
    let stop = &plan.stops[0];
    assert_eq!((stop.solution, stop.amount), (Some(Volume::from_ml(61)), Mass::from_mg(6_100)));
    assert!((stop.wanted_free_mg_l.unwrap() - 31.3).abs() < 0.05, "{stop:?}");
    assert!((stop.molecular_mg_l.unwrap() - 0.335).abs() < 0.001, "{stop:?}");
    assert!((stop.molecular_then_mg_l.unwrap() - 0.5).abs() < 0.005, "{stop:?}");
    assert!((stop.total_rise_mg_l - 15.5).abs() < 0.2 && stop.total_then_mg_l.is_none(), "{stop:?}");
    assert_eq!(plan.solution, Some(stop.solution.unwrap() + plan.stops[1].solution.unwrap()));
    let powder = DosingAsked { form: Form::Powder, ..asked(&cellar, "R") };
    let powder = self::plan(&cellar, powder).unwrap();
    assert_eq!((powder.stops[0].amount, powder.solution), (Mass::from_mg(6_100), None));
    let gas = self::plan(&cellar, DosingAsked { form: Form::Gas, ..asked(&cellar, "R") }).unwrap();
    assert_eq!(gas.stops[0].amount, Mass::from_mg(3_500));
}

#[test]
fn a_barrels_own_test_goes_before_its_composites_and_that_before_its_lots() {
    let cellar = Cellar::furnished()
        .given(tested("B1", &json!({"ph": 3.5, "free_so2_mg_l": 20})))
        .days(10)
        .given(sampled("B1", "c"))
        .given(sampled("B2", "c"))
        .given(json!({"kind": "tested", "sample": "c", "ph": 3.6, "free_so2_mg_l": 15}))
        .given(barrel_of("B3", 225))
        .given(placed("B3", "long/A-02-1-a"))
        .given(moved("T", "B3", 225 * LITRE));
    let of = |cellar: &Cellar, vessel: &str| {
        let known =
            cellar.state.sulfur_known(cellar.state.vessels.find(vessel).unwrap(), USUAL_BOUND_SHARE, cellar.now());
        known.ph.map(|found| (found.of, found.value, cellar.now().days_since(found.at)))
    };
    assert_eq!(of(&cellar, "B1"), Some((TestOf::Own, 3.5, 10)));
    assert_eq!(of(&cellar, "B2"), Some((TestOf::Composite, 3.6, 0)));
    assert_eq!(of(&cellar, "B3"), Some((TestOf::Lot, 3.6, 0)));
    // Months later the composite says more of it than its own old test.
    let later = cellar
        .days(80)
        .given(sampled("B1", "d"))
        .given(sampled("B2", "d"))
        .given(json!({"kind": "tested", "sample": "d", "ph": 3.7}));
    assert_eq!(of(&later, "B1"), Some((TestOf::Composite, 3.7, 0)));
    // And a test of another barrel more than the old composite.
    let latest = later.days(61).given(tested("B3", &json!({"ph": 3.8})));
    assert_eq!(of(&latest, "B2"), Some((TestOf::Lot, 3.8, 0)));
}

/// Four barrels of one composite, of which one was tested by itself seven weeks ago, thirty days before: all hold the
/// same wine by what is known, whatever they lack and whenever they were topped.
#[test]
fn a_much_younger_composite_goes_before_an_own_test_and_gives_one_dose() {
    let mut cellar = Cellar::furnished()
        .given(barrel_of("B3", 225))
        .given(placed("B3", "long/A-02-1-a"))
        .given(moved("T", "B3", 223 * LITRE))
        .given(barrel_of("B4", 228))
        .given(placed("B4", "long/A-02-1-b"))
        .given(moved("T", "B4", 228 * LITRE))
        .given(tested("B1", &json!({"ph": 3.6, "free_so2_mg_l": 4})))
        .days(30);
    for barrel in ["B1", "B2", "B3", "B4"] {
        cellar = cellar.given(sampled(barrel, "c"));
    }
    let cellar = cellar
        .given(json!({"kind": "tested", "sample": "c", "ph": 3.6, "free_so2_mg_l": 24}))
        .given(topped("B2", "T", 2 * LITRE))
        .days(19);
    let doses = |cellar: &Cellar, goal: Goal| -> Vec<u64> {
        let plan = plan(cellar, DosingAsked { goal, ..asked(cellar, "R") }).unwrap();
        plan.stops.iter().map(|stop| stop.solution.unwrap().as_ul() / 1000).collect()
    };
    let one = doses(&cellar, Goal::Molecular(0.5));
    assert!(one.len() == 4 && one.iter().all(|dose| dose == &one[0]), "{one:?}");
    // 20 mg/L in all into a mean of 223 L: 4.46 g of sulfur dioxide, 7.74 g of metabisulfite.
    assert_eq!(doses(&cellar, Goal::Add(20.0)), [77, 77, 77, 77]);
    // One that was dosed since is known to differ, and one that is half empty holds less.
    let treated = json!({
        "kind": "treated", "vessel": "B3", "material": "potassium metabisulfite", "amount_ug": 1_500_000,
    });
    let other = doses(&cellar.given(treated).given(moved("B4", "T", 110 * LITRE)), Goal::Molecular(0.5));
    assert!(
        other.len() == 4 && other[0] == other[1] && other[2] < other[0] && other[3] * 10 < other[0] * 6,
        "{other:?}"
    );
}

#[test]
fn an_old_test_is_forecast_to_the_day_and_additions_since_are_counted() {
    let free = |cellar: &Cellar| {
        let id = cellar.state.vessels.find("B1").unwrap();
        cellar.state.sulfur_known(id, USUAL_BOUND_SHARE, cellar.now()).free_now.unwrap().free_mg_l
    };
    let old = known().days(60);
    let declined = free(&old);
    assert!(declined > 14.0 && declined < 20.0, "{declined}");
    assert!(of_lot(&old, "R").unwrap().amount > of_lot(&known(), "R").unwrap().amount);
    let treated = json!({
        "kind": "treated", "vessel": "B1", "material": "potassium metabisulfite", "amount_ug": 5_859_375,
    });
    // 5.86 g in 225 L are 15 mg/L in all, of which 10 stay free.
    let after = old.given(treated);
    assert!((free(&after) - declined - 10.0).abs() < 0.1, "{}", free(&after));
}

#[test]
fn a_fresh_test_stands_as_it_is() {
    let cellar = known().days(30).given(tested("B1", &json!({"free_so2_mg_l": 27}))).days(6);
    let free = |cellar: &Cellar| {
        let id = cellar.state.vessels.find("B1").unwrap();
        cellar.state.sulfur_known(id, USUAL_BOUND_SHARE, cellar.now()).free_now.unwrap()
    };
    let level = free(&cellar);
    assert!((level.free_mg_l - 27.0).abs() < 1e-9 && level.low_mg_l < 27.0 && level.high_mg_l > 27.0, "{level:?}");
    // Between 21 forecast to 19 and 27 tested once it is old.
    let later = free(&cellar.days(2));
    assert!(later.free_mg_l < 26.0 && later.free_mg_l > 19.0, "{later:?}");
}

#[test]
fn nothing_is_guessed() {
    refused(of_lot(&Cellar::furnished(), "R"), "The pH of B1 and 1 more is not known, and nothing is guessed");
    let half = Cellar::furnished()
        .given(barrel_of("BW", 225))
        .given(moved("V", "BW", 225 * LITRE))
        .given(tested("BW", &json!({"free_so2_mg_l": 12})));
    refused(of_lot(&half, "W"), "The pH of BW is not known");
    let free = DosingAsked { goal: Goal::Free(30.0), ..asked(&half, "W") };
    assert_eq!(plan(&half, free).unwrap().stops.len(), 1);
    // The OIV method asks for more.
    let oiv = known().given(json!({"kind": "practice_set", "so2_model": "oiv"}));
    refused(of_lot(&oiv, "R"), "The alcohol of B1 and 1 more is not known");
    let oiv = oiv.given(tested("B1", &json!({"alcohol_pct": 13, "temperature_c": 20})));
    // By the lot's last test, B1's, B2 is known as well. The constant of OIV-MA-AS323-04C at 20 °C lies between 1.916 at 10
    // and 2.014 at 15 % vol: at 13 % 2.3 % of the free is molecular at pH 3.6.
    let stronger =
        |cellar: &Cellar| plan(cellar, DosingAsked { goal: Goal::Molecular(0.8), ..asked(cellar, "R") }).unwrap();
    let dosed = stronger(&oiv);
    assert_eq!((dosed.model.word(), dosed.stops.len(), dosed.beyond()), ("oiv", 2, None));
    let share = 21.0 / (1.0 + 10_f64.powf(3.6 - (0.4 * 1.916 + 0.6 * 2.014)));
    assert!(dosed.stops.iter().all(|stop| (stop.molecular_mg_l.unwrap() - share).abs() < 1e-6), "{dosed:?}");
    let cold = oiv.given(tested("B1", &json!({"temperature_c": 14})));
    assert!(stronger(&cold).beyond().is_some(), "colder than the OIV table");
    let unknown = DosingAsked { goal: Goal::Add(1.0), ..asked(&Cellar::furnished(), "R") };
    let added = self::plan(&Cellar::furnished(), unknown).unwrap();
    assert_eq!((added.stops.len(), added.stops[0].free_then_mg_l), (2, None));
}

#[test]
fn what_is_held_empty_or_has_enough_is_left_out_and_named() {
    let cellar = known()
        .given(json!({"kind": "held", "vessel": "B2", "why": "film"}))
        .given(barrel_of("B3", 225))
        .given(placed("B3", "long/A-02-1-a"))
        .given(moved("T", "B3", 225 * LITRE))
        .given(tested("B3", &json!({"ph": 3.4, "free_so2_mg_l": 30})));
    let room = cellar.state.rooms.find("long").unwrap();
    let whole_row = DosingAsked { of: Dosed { slots: vec![(room, 0..8)], ..Dosed::default() }, ..asked(&cellar, "R") };
    let plan = plan(&cellar, whole_row).unwrap();
    assert_eq!(labels(&cellar, &plan), ["B1"]);
    let told = [("B2", "held: film"), ("E", "empty"), ("B3", "has enough")];
    assert_eq!(left_out(&cellar, &plan), told.map(|(who, why)| (who.to_owned(), why.to_owned())));
    let one_of_two = known().given(barrel_of("B4", 225)).given(moved("U", "B4", 225 * LITRE));
    let ids = ["B1", "B4"].map(|label| one_of_two.state.vessels.find(label).unwrap()).to_vec();
    let named = DosingAsked { of: Dosed { vessels: ids, ..Dosed::default() }, ..asked(&one_of_two, "R") };
    let plan = self::plan(&one_of_two, named).unwrap();
    assert_eq!(plan.left_out[0].1, LeftOut::Unknown(Unknown::Untested(Analyte::Ph)));
}

/// A hold lets one cure: the held barrel that is named is dosed, with its lot or alone; work over the lot leaves it out.
#[test]
fn a_held_barrel_that_is_named_is_dosed() {
    let cellar = known()
        .given(json!({"kind": "held", "vessel": "B1", "why": "volatile"}))
        .given(tested("B1", &json!({"ph": 3.6, "free_so2_mg_l": 6})));
    let (named, lot) = (vec![cellar.state.vessels.find("B1").unwrap()], cellar.state.lots.find("R"));
    let with = |vessels: &[_], lot| {
        let of = Dosed { lot, vessels: vessels.to_vec(), ..Dosed::default() };
        plan(&cellar, DosingAsked { of, ..asked(&cellar, "R") })
    };
    let over_the_lot = with(&[], lot);
    assert!(over_the_lot.is_err() || !labels(&cellar, &over_the_lot.unwrap()).contains(&"B1".to_owned()));
    for plan in [with(&named, None).unwrap(), with(&named, lot).unwrap()] {
        assert_eq!(labels(&cellar, &plan).iter().filter(|label| *label == "B1").count(), 1);
        assert!(left_out(&cellar, &plan).iter().all(|(who, _)| who != "B1"));
    }
}

#[test]
fn a_stack_and_a_lot_may_be_dosed_alike() {
    let cellar = Cellar::furnished()
        .given(tested("B1", &json!({"ph": 3.6, "free_so2_mg_l": 11})))
        .given(tested("B2", &json!({"ph": 3.6, "free_so2_mg_l": 21})))
        .given(barrel_of("B3", 225))
        .given(placed("B3", "long/A-02-1-a"))
        .given(moved("T", "B3", 225 * LITRE))
        .given(tested("B3", &json!({"ph": 3.6, "free_so2_mg_l": 26})));
    let rises = |per| -> Vec<f64> {
        let plan = plan(&cellar, DosingAsked { per, form: Form::Powder, ..asked(&cellar, "R") }).unwrap();
        plan.stops.iter().map(|stop| (stop.total_rise_mg_l / 1.5).round()).collect()
    };
    assert_eq!(rises(Per::Barrel), [20.0, 10.0, 5.0]);
    assert_eq!(rises(Per::Stack), [15.0, 15.0, 5.0]);
    assert_eq!(rises(Per::Lot), [12.0, 12.0, 12.0]);
}

/// EU 2019/934 Annex I B: 150 mg/L in red; US 27 CFR 4.22: 350 ppm.
#[test]
fn the_total_is_held_against_the_limit_of_the_houses_rules() {
    let judged = |total: u32, rules: Option<&str>| {
        let cellar = known()
            .given(tested("B1", &json!({"total_so2_mg_l": total})))
            .given(tested("B2", &json!({"total_so2_mg_l": 40})));
        let cellar = match rules {
            Some(rules) => cellar.given(json!({"kind": "practice_set", "rules": rules})),
            None => cellar,
        };
        let plan = of_lot(&cellar, "R").unwrap();
        let (stop, total, limit, judgement) = plan.highest_total().unwrap();
        assert_eq!(cellar.state.vessels.get(stop.vessel).label.as_str(), "B1");
        (format!("{total:.0}"), limit.section.to_owned(), judgement, plan.total_words(&cellar.state, cellar.now()))
    };
    let (total, section, judgement, words) = judged(130, Some("eu"));
    assert_eq!(
        (total.as_str(), section.as_str(), judgement),
        ("146", "EU 2019/934 Annex I B", Judgement::Amber),
        "{words}"
    );
    assert!(words.contains("amber, near the limit"), "{words}");
    let (_, section, judgement, words) = judged(140, None);
    assert_eq!((section.as_str(), judgement), ("EU 2019/934 Annex I B", Judgement::Red), "the stricter of both");
    assert!(words.contains("red, above the limit by 6"), "{words}");
    let (_, section, judgement, _) = judged(140, Some("us"));
    assert_eq!((section.as_str(), judgement), ("US 27 CFR 4.22", Judgement::Fine));
}

#[test]
fn absurd_goals_are_refused() {
    let cellar = known();
    for (goal, part) in [
        (Goal::Molecular(0.0), "A molecular target in mg/L of 0 is out of range. It must lie between 0.1 and 2."),
        (Goal::Molecular(30.0), "A molecular target in mg/L of 30 is out of range"),
        (Goal::Molecular(f64::NAN), "is out of range"),
        (Goal::Free(0.0), "Free SO2 in mg/L of 0 is out of range"),
        (Goal::Add(-5.0), "An addition of SO2 in mg/L of -5 is out of range"),
    ] {
        refused(plan(&cellar, DosingAsked { goal, ..asked(&cellar, "R") }), part);
    }
    refused(
        plan(&cellar, DosingAsked { bound_share: 2.0, ..asked(&cellar, "R") }),
        "A bound share of 2 is out of range",
    );
    refused(of_lot(&cellar, "S"), "Nothing asked for holds wine to be treated");
    // At pH 5 the target asks for more than any wine may hold.
    let basic = Cellar::furnished().given(tested("B1", &json!({"ph": 5.0, "free_so2_mg_l": 10})));
    refused(of_lot(&basic, "R"), "cannot be dosed. A rise of the total by");
}

#[test]
fn doses_are_begun_ticked_by_what_is_added_and_given_once() {
    let cellar = known();
    let plan = of_lot(&cellar, "R").unwrap();
    let set = plan.begin(&cellar.state, Label::new("sulfur").unwrap()).unwrap();
    let begun = cellar.given(What::WorkSet(Box::new(set)));
    refused(of_lot(&begun, "R"), "B1 is still to be done in the work 'sulfur'");
    let work = begun.state.works.find("sulfur").unwrap();
    let ids = ["B1", "B2"].map(|label| begun.state.vessels.find(label).unwrap());
    let half = Volume::from_ul(plan.stops[1].solution.unwrap().as_ul() / 2);
    let measured = begun.state.done_measured(work, ids[1], half, begun.now()).unwrap();
    let expected = begun.state.done_as_expected(work, &[ids[0]], begun.now()).unwrap();
    let done = measured.whats.into_iter().chain(expected.whats).fold(begun, Cellar::given);
    let added = |label: &str| done.vessel(label).additions[0].amount;
    assert_eq!((added("B1"), added("B2")), (plan.stops[0].amount, plan.stops[1].amount.part(1, 2)));
    let ticks: Vec<_> = done.state.works.get(work).stops.iter().map(|stop| stop.tick).collect();
    assert_eq!(ticks, [Some(Tick::Done(plan.stops[0].solution.unwrap())), Some(Tick::Done(half))]);
}

#[test]
fn kilograms_in_a_barrel_are_a_slip() {
    let cellar = known();
    let plan = plan(&cellar, DosingAsked { form: Form::Powder, ..asked(&cellar, "R") }).unwrap();
    let set = plan.begin(&cellar.state, Label::new("powder").unwrap()).unwrap();
    let begun = cellar.given(What::WorkSet(Box::new(set)));
    let work = begun.state.works.find("powder").unwrap();
    let barrel = begun.state.vessels.find("B1").unwrap();
    let litres = begun.state.done_measured(work, barrel, Volume::from_litres(1), begun.now()).unwrap_err().to_string();
    assert!(litres.contains("no litres are measured"), "{litres}");
    let mut deed = begun.state.done_weighed(work, barrel, Mass::from_grams(2_000), begun.now()).unwrap();
    begun.when(deed.whats.remove(0)).then_a_slip("2000 g of potassium metabisulfite into B1");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// What is weighed out brings every barrel to what is wanted, as near as it is measured, and the list sums to its whole.
    #[test]
    fn every_dose_reaches_what_is_wanted(
        ph in 2.9_f64..4.0,
        free in 0.0_f64..40.0,
        target in 0.3_f64..0.8,
        litres in 50_u64..600,
    ) {
        let cellar = Cellar::furnished()
            .given(barrel_of("P", litres))
            .given(moved("T", "P", litres * LITRE))
            .given(tested("P", &json!({"ph": ph, "free_so2_mg_l": free})));
        for form in [Form::Solution(Solution::USUAL), Form::Powder, Form::Gas] {
            let asked = DosingAsked { goal: Goal::Molecular(target), form, ..asked(&cellar, "R") };
            let plan = plan(&cellar, asked).unwrap();
            prop_assert_eq!(plan.stops.iter().map(|stop| stop.amount).sum::<Mass>(), plan.amount);
            for stop in &plan.stops {
                // Half a tenth of a gram, of gas all sulfur dioxide, two thirds free.
                let step = 50.0 / stop.holds.as_litres();
                let apart = stop.free_then_mg_l.unwrap() - stop.wanted_free_mg_l.unwrap();
                prop_assert!(apart.abs() <= step, "{} of {:?}", apart, stop);
            }
            prop_assert_eq!(plan.stops.len() + plan.left_out.len(), 3);
        }
    }
}
