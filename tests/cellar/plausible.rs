//! A figure that is a thousand times too large, or a thousand times too small, has lost its unit: in every kind of fact it is a
//! slip of the hand, or is asked about.

use barrelwalk::cellar::core::fact::{Fact, IncomingFact, What};
use barrelwalk::cellar::core::fold::{Retractions, fold};
use barrelwalk::cellar::core::state::State;
use serde_json::Value;

/// The log of a small cellar with every kind of fact.
const FACTS: &str = include_str!("frozen.jsonl");

/// What the names of measured fields end with.
const UNITS: [&str; 8] = ["_ul", "_ug", "_mm", "_c", "_pct", "_g_l", "_mg_l", "_ntu"];

/// By how much a figure is off.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Off {
    /// A thousand times too large.
    Large,
    /// A thousand times too small.
    Small,
}

/// Measured fields that no fact of that log says.
const MORE: [&str; 7] = [
    r#""kind":"gauged","vessel":"T2","volume_ul":399000000"#,
    r#""kind":"count_begun","count":"C2","room":"long""#,
    r#""kind":"counted","count":"C2","vessel":"0417","volume_ul":220000000"#,
    r#""kind":"counted","count":"C2","vessel":"0417","dip_mm":30.0"#,
    r#""kind":"work_set","work":"w","task":"treating","material":"potassium metabisulfite","stops":[{"vessel":"0417","amount_ug":9000000,"volume_ul":90000}]"#,
    r#""kind":"practice_set","va_alarm_g_l":0.9,"va_rise_g_l":0.15,"va_risen_g_l":0.6,"dry_g_l":2.0,"malic_done_g_l":0.3,"most_oxygen_mg_l":1.0,"most_turbidity_ntu":2.0"#,
    r#""kind":"trial_set","trial":"bench 2","components":[{"vessel":"T1","available_ul":500000000,"reserve_ul":20000000},{"vessel":"T2"}],"glass_ul":50000,"glasses":[{"code":"354","shares_ppm":[500000,500000]}],"panel":["mk"],"servings":{"mk":[["354"]]}"#,
];

/// What may be so little, or so much, that nothing can be said against it, and why.
const LEFT: &[(&str, &str, Off)] = &[
    // It freezes in a barn.
    ("room_laid_out", "temperature_c", Off::Small),
    ("tested", "temperature_c", Off::Small),
    // There are tanks of every size.
    ("vessel_registered", "capacity_ul", Off::Large),
    // Little is lost where one works well.
    ("wine_moved", "loss_ul", Off::Small),
    ("wine_moved", "lees_ul", Off::Small),
    ("bottled", "loss_ul", Off::Small),
    ("lost", "volume_ul", Off::Small),
    // Nor does much air come into a good line.
    ("bottled", "oxygen_mg_l", Off::Small),
    // A barrel that was topped yesterday takes a spoonful.
    ("topped", "volume_ul", Off::Small),
    // What is planned is asked about when it is done.
    ("work_set", "volume_ul", Off::Small),
    // Must, and sweet wine.
    ("tested", "sugar_g_l", Off::Large),
    // Wine on its lees.
    ("fining_trial", "turbidity_ntu", Off::Large),
    // A count is blind: it asks nothing before it is compared.
    ("counted", "volume_ul", Off::Small),
    ("counted", "dip_mm", Off::Small),
    // Any part of a tank may be left for a blend, or kept back.
    ("trial_set", "available_ul", Off::Small),
    ("trial_set", "reserve_ul", Off::Small),
];

/// The measured figures of a fact: where each stands.
fn figures(value: &Value, at: &str, found: &mut Vec<(String, String)>) {
    match value {
        Value::Object(fields) => {
            for (name, inner) in fields {
                let here = format!("{at}/{name}");
                let is_measured = UNITS.iter().any(|unit| name.ends_with(unit));
                match inner {
                    Value::Number(number) if is_measured && number.as_f64() != Some(0.0) => {
                        found.push((here, name.clone()));
                    }
                    Value::Array(several) if is_measured && several.iter().all(Value::is_number) => {
                        found.push((format!("{here}/0"), name.clone()));
                    }
                    _ => figures(inner, &here, found),
                }
            }
        }
        Value::Array(several) => {
            for (index, inner) in several.iter().enumerate() {
                figures(inner, &format!("{at}/{index}"), found);
            }
        }
        _ => {}
    }
}

fn scaled(number: &Value, off: Off) -> Value {
    match (number.as_u64(), off) {
        (Some(whole), Off::Large) => (whole * 1_000).into(),
        (Some(whole), Off::Small) => (whole / 1_000).into(),
        (None, Off::Large) => (number.as_f64().expect("a number") * 1_000.0).into(),
        (None, Off::Small) => (number.as_f64().expect("a number") / 1_000.0).into(),
    }
}

/// What is said against a fact: why it is refused, or what is asked.
fn said_against(state: &State, fact: &Fact) -> Vec<String> {
    match fact.what.deed().permitted(state, true) {
        Err(refusal) => vec![refusal.to_string()],
        Ok(()) => state.questions(std::slice::from_ref(&fact.what), fact.at).iter().map(ToString::to_string).collect(),
    }
}

fn read(json: &Value) -> Option<Fact> {
    let text = json.to_string();
    let (incoming, _) = IncomingFact::from_json(&text).ok()?;
    Some(Fact {
        id: incoming.id?,
        at: incoming.at,
        written: incoming.written?,
        by: incoming.by,
        what: incoming.what,
        job: incoming.job,
        note: incoming.note,
        despite: incoming.despite,
    })
}

#[test]
fn a_figure_that_lost_its_unit_is_a_slip_or_is_asked_about() {
    let more = MORE.iter().zip(1_000..).map(|(fields, n)| {
        let at = "2026-11-30T08:00:00+00:00";
        format!(r#"{{"device":"desk-0001","n":{n},"at":"{at}","written":"{at}","by":"mk",{fields}}}"#)
    });
    let lines = FACTS.lines().map(str::to_owned).chain(more);
    let lines: Vec<Value> = lines.map(|line| serde_json::from_str(&line).unwrap()).collect();
    let mut state = State::default();
    let retractions = Retractions::default();
    let mut unsaid = Vec::new();
    for line in &lines {
        let fact = read(line).unwrap_or_else(|| panic!("{line}"));
        let mut found = Vec::new();
        figures(line, "", &mut found);
        for (at, name) in found {
            for off in [Off::Large, Off::Small] {
                let mut other = line.clone();
                let figure = other.pointer_mut(&at).unwrap();
                *figure = scaled(figure, off);
                // What cannot even be read is refused before anything is asked.
                let Some(other) = read(&other) else { continue };
                let said = said_against(&state, &other);
                let is_left = LEFT.contains(&(fact.what.kind(), name.as_str(), off));
                if (said.is_empty() || said == said_against(&state, &fact)) && !is_left {
                    unsaid.push(format!("{} {at} {off:?}: {said:?}", fact.what.kind()));
                }
            }
        }
        if !matches!(fact.what, What::Retracted(_)) {
            fold(&mut state, &retractions, &fact.stamp(), &fact.what);
        }
    }
    assert_eq!(unsaid, Vec::<String>::new(), "{unsaid:#?}");
}
