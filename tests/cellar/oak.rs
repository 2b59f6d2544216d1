//! What the facts tell of oak: which tastes count, how the wine kept, which fillings leaked.
#![allow(clippy::unwrap_used)] // in what the test reads

use barrelwalk::cellar::core::fact::{Device, FactId, Stamp};
use barrelwalk::cellar::core::label::Label;
use barrelwalk::cellar::views::wood::oak::{Asked, Oak, OakLine, Observer};
use barrelwalk::reckon::oak::{Factor, Untold};
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, Told, barrel_of, moment, moved};

/// Eight barrels of two coopers full of lot R since the first of October, and what was entered after that, each by somebody.
fn seen(asked: Asked, facts: &[(&str, &str, Value)]) -> Oak {
    let device = Device::new("observer").unwrap();
    let mut observer = Observer::new(asked);
    observer.state = Cellar::furnished().state;
    let barrels = (0..8).flat_map(|number| {
        let label = format!("N{number}");
        let mut barrel = barrel_of(&label, 100);
        barrel["cooper"] = ["Besquerin", "Lys"][number % 2].into();
        [
            ("2026-10-01T08:00:00+02:00", "mk", barrel),
            ("2026-10-01T09:00:00+02:00", "mk", moved("T", &label, 100 * LITRE)),
        ]
    });
    for (n, (at, by, fact)) in (1_u64..).zip(barrels.chain(facts.iter().cloned())) {
        let stamp = Stamp::new(FactId { device: device.clone(), n }, moment(at));
        observer.fold(by, &stamp, &fact.what());
    }
    observer.seen()
}

fn tasted(vessel: &str, score: f64) -> Value {
    json!({"kind": "tasted", "vessel": vessel, "score": score})
}

/// Every barrel tasted by somebody on a day, Besquerin a point above Lys but for what stands for chance.
fn sitting<'a>(at: &'a str, by: &'a str, level: f64) -> Vec<(&'a str, &'a str, Value)> {
    let chance = [0.0, 0.3, -0.3, 0.1, 0.2, -0.2, 0.1, -0.1];
    let score = |number: usize| level + if number.is_multiple_of(2) { 1.0 } else { 0.0 } + chance[number];
    (0..8).map(|number| (at, by, tasted(&format!("N{number}"), score(number)))).collect()
}

fn line(oak: &Oak, cooper: &str) -> OakLine {
    oak.judged(Factor::Cooper).lines.into_iter().find(|line| line.level == cooper).unwrap()
}

#[test]
fn each_person_and_day_has_a_level_of_its_own() {
    let one = sitting("2026-11-20T10:00:00+01:00", "anna", 14.0);
    let other = [one.clone(), sitting("2026-11-20T10:00:00+01:00", "ben", 9.0)].concat();
    let (alone, both) =
        (line(&seen(Asked::default(), &one), "Besquerin"), line(&seen(Asked::default(), &other), "Besquerin"));
    let points = |line: &OakLine| line.scored.as_ref().unwrap().all_else_equal.unwrap().value;
    // Half a point above the mean of both, and half of what chance put between them.
    assert!((points(&alone) - 0.4875).abs() < 1e-9, "{alone:?}");
    assert!((points(&both) - points(&alone)).abs() < 1e-6, "{both:?}");
    assert_eq!(both.scored.unwrap().times, 8);
}

#[test]
fn what_says_nothing_of_a_barrel_of_a_lot_is_left_out() {
    let mut facts = sitting("2026-11-20T10:00:00+01:00", "anna", 14.0);
    let count = |facts: &[_]| seen(Asked::default(), facts).judged(Factor::Cooper).tastes;
    assert_eq!(count(&facts), 8);
    // A tank, an empty barrel, a taste in words alone, a vessel that nobody knows.
    facts.push(("2026-11-20T11:00:00+01:00", "anna", tasted("T", 12.0)));
    facts.push(("2026-11-20T11:00:00+01:00", "anna", tasted("E", 12.0)));
    facts.push(("2026-11-20T11:00:00+01:00", "anna", json!({"kind": "tasted", "vessel": "N0", "text": "closed"})));
    facts.push(("2026-11-20T11:00:00+01:00", "anna", tasted("nowhere", 12.0)));
    assert_eq!(count(&facts), 8);
    let since = |at: &str| Asked { since: Some(moment(at)), ..Asked::default() };
    let later = seen(since("2026-11-21T00:00:00+01:00"), &facts).judged(Factor::Cooper);
    assert_eq!((later.tastes, later.scores.unwrap_err()), (0, Untold::Nothing));
    let other = Asked { lots: vec![Label::new("S").unwrap()], ..Asked::default() };
    assert_eq!(seen(other, &facts).judged(Factor::Cooper).tastes, 0);
    // Of whom no cooper is written down is counted and said.
    facts.push(("2026-11-20T12:00:00+01:00", "anna", tasted("B1", 12.0)));
    let judged = seen(Asked::default(), &facts).judged(Factor::Cooper);
    assert_eq!((judged.tastes, judged.unwritten), (9, 1));
}

/// Besquerin's wines gain 0.04 g/L of volatile acidity in 30.4 days, those of Lys 0.01; free SO2 falls 6 and 3 mg/L, and what is added since begins it anew.
#[test]
fn how_the_wine_kept_is_told_by_tests_of_single_barrels() {
    let test = |number: usize, va: f64, free: f64| json!({"kind": "tested", "vessel": format!("N{number}"), "va_g_l": va, "free_so2_mg_l": free});
    let mut facts = Vec::new();
    for number in 0..8 {
        let chance = [0.0, 0.001, 0.001, 0.0, -0.001, 0.001, 0.0, -0.001][number];
        let (rises, falls) = if number % 2 == 0 { (0.04, 6.0) } else { (0.01, 3.0) };
        facts.push(("2026-11-01T00:00:00+01:00", "lab", test(number, 0.4, 30.0)));
        facts.push((
            "2026-12-01T10:30:00+01:00",
            "lab",
            test(number, 0.4 + rises + chance, 30.0 - falls - 100.0 * chance),
        ));
    }
    let added =
        json!({"kind": "treated", "vessel": "N0", "material": "potassium metabisulfite", "amount_ug": 10_000_000});
    facts.push(("2026-12-02T08:00:00+01:00", "mk", added));
    facts.push(("2026-12-03T08:00:00+01:00", "lab", test(0, 0.44, 55.0)));
    let told = line(&seen(Asked::default(), &facts), "Besquerin");
    let (acid, sulfur) = (told.acid_rise.unwrap(), told.sulfur_fall.unwrap());
    assert!((acid.value - 0.015).abs() < 0.002 && (sulfur.value - 1.5).abs() < 0.2, "{acid:?} {sulfur:?}");
    assert_eq!(told.scored, None);
}

#[test]
fn a_filling_that_leaked_counts_once_among_the_years_under_observation() {
    let topped = |vessel: &str, litres: u64| json!({"kind": "topped", "vessel": vessel, "from": "U", "volume_ul": litres * LITRE});
    let leak = json!({"kind": "lost", "vessel": "N1", "volume_ul": LITRE, "cause": "leak"});
    let facts = [
        ("2026-10-31T09:00:00+01:00", "mk", topped("N0", 1)),
        ("2026-11-10T09:00:00+01:00", "mk", leak.clone()),
        ("2026-11-11T09:00:00+01:00", "mk", leak),
        ("2026-11-30T09:00:00+01:00", "mk", topped("N1", 3)),
    ];
    let oak = seen(Asked::default(), &facts);
    let (sound, leaking) = (line(&oak, "Besquerin").leaks, line(&oak, "Lys").leaks);
    assert_eq!((sound.leaks, leaking.leaks), (0, 1));
    let days = |years: f64| years * 365.25;
    assert!(
        (days(sound.barrel_years) - 30.0).abs() < 0.1 && (days(leaking.barrel_years) - 60.0).abs() < 0.1,
        "{sound:?} {leaking:?}"
    );
}
