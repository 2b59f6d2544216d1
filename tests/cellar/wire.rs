//! The exchange form: what is written is read back, and no text stops the reader.

use barrelwalk::cellar::core::fact::{Device, Fact, FactId, IncomingFact, KINDS, Line};
use barrelwalk::cellar::core::label::is_unsafe;
use barrelwalk::cellar::core::moment::Moment;
use proptest::prelude::*;
use proptest::sample::{Index, select};
use serde_json::{Map, Value, json};

/// Every kind with its fields and what they hold; `?` where the field may be left out.
const FIELDS: &[(&str, &str)] = &[
    (
        "room_laid_out",
        "room:label rows:rows temperature_c?:number humidity_pct?:number round_days?:count tolerated_ul?:volume",
    ),
    (
        "vessel_registered",
        "vessel:label type:barrel|tank|keg capacity_ul:volume topped?:bool shape?:label bilge_mm?:number \
         head_mm?:number length_mm?:number cooper?:label forest?:label grain?:label seasoning_months?:count toast?:label heads_toasted?:bool made?:year price?:number fills?:count \
         stained?:red|white",
    ),
    (
        "vessel_changed",
        "vessel:label type?:barrel|tank|keg capacity_ul?:volume topped?:bool shape?:label bilge_mm?:number \
         head_mm?:number length_mm?:number cooper?:label forest?:label grain?:label seasoning_months?:count toast?:label heads_toasted?:bool made?:year price?:number fills?:count \
         stained?:red|white",
    ),
    ("vessel_placed", "vessel:label place:place"),
    ("rack_moved", "from:rack to:rack"),
    ("vessel_retired", "vessel:label why:text"),
    ("renamed", "what:vessel|lot|origin|room|store from:label to:label"),
    (
        "origin_declared",
        "origin:label block:label variety:label vintage:year appellation:label colour:red|white|rose estate?:bool \
         organic?:bool owner?:label",
    ),
    ("lot_opened", "lot:label colour:red|white|rose"),
    ("stage_set", "lot:label stage:soaking|malolactic|bung_up|rolled round_days?:count"),
    ("wine_received", "vessel:label lot:label parts:parts"),
    (
        "wine_moved",
        "from:label to:label volume_ul:volume purpose:barrel_down|racking|blend|filtration|other lees_ul?:volume \
         loss_ul?:volume empties?:bool evaporation_ul?:volume lot?:label filter?:text",
    ),
    ("topped", "vessel:label from:label volume_ul:volume full?:bool"),
    ("gauged", "vessel:label volume_ul?:volume dip_mm?:number cause?:evaporation|lees|handling"),
    ("kept_since", "what:toppings|all room?:label lot?:label vessel?:label"),
    ("lost", "vessel:label volume_ul:volume cause:spill|lees|leak|handling|other"),
    ("wine_out", "vessel:label volume_ul:volume to:text why?:text"),
    ("sampled", "vessel:label volume_ul:volume sample?:label purpose?:text"),
    ("tasted", "vessel:label score?:number marks?:labels text?:text"),
    ("held", "vessel:label why:text"),
    ("freed", "vessel:label why:text"),
    ("round_begun", "round:label room:label from?:label odd?:bool"),
    ("round_ended", "round:label room:label from?:label"),
    ("skipped", "vessel:label round?:label work?:label why?:text"),
    ("source_changed", "round:label from:label lot?:label"),
    ("work_set", "work:label task:racking to:label lot?:label stops:stops"),
    ("work_ended", "work:label why?:text"),
    (
        "tested",
        "vessel?:label sample?:label ph?:number free_so2_mg_l?:number total_so2_mg_l?:number ta_g_l?:number \
         va_g_l?:number alcohol_pct?:number malic_g_l?:number lactic_g_l?:number tartaric_g_l?:number \
         potassium_mg_l?:number sugar_g_l?:number turbidity_ntu?:number oxygen_mg_l?:number temperature_c?:number lab?:text \
         values?:values",
    ),
    ("treated", "vessel:label material:label amount_ug:volume solution_ul?:volume purpose?:text batch?:label"),
    ("stirred", "vessel:label"),
    ("blanketed", "vessel:label gas:label"),
    ("barrel_cared", "vessel:label care:rinsed|steamed|ozonated|sulfured|soaked|dried"),
    (
        "trial_set",
        "trial:label components:components glass_ul:volume glasses:glasses panel:labels servings:servings \
         bounds?:text limits?:text seed?:count salt?:label digest?:text",
    ),
    ("glass_rated", "trial:label taster:label code:code flight?:count score?:number rank?:number text?:text"),
    ("trial_revealed", "trial:label"),
    (
        "blend_chosen",
        "trial:label code?:code shares_ppm?:shares into:label volume_ul:volume lot:label work?:label keep_ul?:some_volumes \
         tolerance_ppm?:tolerance",
    ),
    (
        "bottled",
        "vessel:label run:label bottles:count bottle_ul:volume loss_ul?:volume empties?:bool lot_code:label \
         closure?:label minutes?:count fills_ul?:volumes oxygen_mg_l?:number materials?:materials",
    ),
    ("store_laid_out", "store:label rows:bins"),
    ("laid_away", "run:label bottles:count place:label release?:day from?:label lot_code?:label"),
    ("bottle_tasted", "run:label lot_code?:label from?:label bottles:count score?:number marks?:labels text?:text"),
    ("bottles_out", "run:label bottles:count why:text to?:text from?:label lot_code?:label"),
    ("bottles_counted", "run:label lot_code?:label place:label bottles:count why:text"),
    ("count_begun", "count:label room?:label store?:label"),
    (
        "counted",
        "count:label vessel?:label volume_ul?:volume dip_mm?:number full:bool run?:label lot_code?:label place:label \
         bottles?:count",
    ),
    ("count_ended", "count:label why?:text"),
    ("fining_trial", "trial:label vessel:label material:label stock_pct:number glasses:finings chosen_g_l?:number"),
    ("check_declared", "item:label required:bool text?:text lot?:label"),
    ("checked", "lot:label item:label met:bool value?:number text?:text"),
    ("check_waived", "lot:label item:label why:text"),
    (
        "practice_set",
        "so2_model?:plain|oiv molecular_so2_mg_l?:number rules?:us|eu sulfuring_days?:count soaking_days?:count \
         va_alarm_g_l?:number checklist?:holds|warns va_rise_g_l?:number va_risen_g_l?:number dry_g_l?:number \
         malic_done_g_l?:number most_oxygen_mg_l?:number most_turbidity_ntu?:number acid_unit?:tartaric|sulfuric|acetic|meq",
    ),
    ("mark_declared", "mark:label fault?:bool key?:label warns?:text"),
    ("analyte_declared", "analyte:label unit:label low?:number high?:number warn?:number"),
    (
        "material_declared",
        "material:label same_as?:label class?:so2|fining|acid|deacidifying|nutrient|tannin|other so2_pct?:number",
    ),
    ("retracted", "of:fact why:text"),
    ("noted", "about:label text:text"),
];

#[test]
fn every_kind_is_tried() {
    assert_eq!(FIELDS.iter().map(|(kind, _)| *kind).collect::<Vec<_>>(), KINDS);
}

fn label() -> BoxedStrategy<Value> {
    prop_oneof![4 => "[A-Za-z0-9 ._-]{1,12}", 1 => "[À-žéß酒 \"\\\\]{1,12}", 1 => Just("x".repeat(40))]
        .prop_map(Value::from)
        .boxed()
}

fn rack() -> BoxedStrategy<String> {
    ("[a-z]{1,8}(/[a-z]{1,3})?", "[A-Z]{1,2}(-[a-z]{1,4})?", 1_u16..1_000, 1_u16..10)
        .prop_map(|(room, row, stack, tier)| format!("{room}/{row}-{stack:02}-{tier}"))
        .boxed()
}

fn code() -> BoxedStrategy<String> {
    "[0-9]{3}".boxed()
}

/// The same for tasks of other fields than the first.
const OTHER_TASKS: &[(&str, &str)] = &[(
    "work_set",
    "work:label task:blending into:label lot:label shares_ppm?:shares tolerance_ppm?:tolerance stops:parts_of_blend",
)];

/// Millionths that sum to one.
fn shares() -> BoxedStrategy<Vec<u32>> {
    prop::collection::btree_set(0..1_000_000_u32, 0..5)
        .prop_map(|cuts| {
            let ends = cuts.iter().copied().chain([1_000_000]);
            ends.zip([0].into_iter().chain(cuts.iter().copied())).map(|(end, start)| end - start).collect()
        })
        .boxed()
}

#[allow(clippy::too_many_lines)] // an arm a kind: a table reads as a table
fn value(of: &'static str) -> BoxedStrategy<Value> {
    let volume = || prop_oneof![0_u64..300_000_000, any::<u64>()];
    match of {
        "label" => label(),
        "labels" => prop::collection::vec(label(), 0..4).prop_map(Value::from).boxed(),
        "text" => prop_oneof!["[ -~]{0,30}", "[\\n\\t\"\\\\à-ÿ🍇]{0,10}"].prop_map(Value::from).boxed(),
        "volume" => volume().prop_map(Value::from).boxed(),
        "volumes" => prop::collection::vec(volume(), 0..4).prop_map(Value::from).boxed(),
        "day" => (1900..3000, 1..13, 1..29)
            .prop_map(|(year, month, day)| format!("{year}-{month:02}-{day:02}").into())
            .boxed(),
        "materials" => prop::collection::vec((label(), prop::option::of(label())), 0..3)
            .prop_map(|materials| {
                let material = |(material, batch)| match batch {
                    Some(batch) => json!({"material": material, "batch": batch}),
                    None::<Value> => json!({"material": material}),
                };
                materials.into_iter().map(material).collect()
            })
            .boxed(),
        "count" => any::<u32>().prop_map(Value::from).boxed(),
        "year" => any::<u16>().prop_map(Value::from).boxed(),
        "bool" => any::<bool>().prop_map(Value::from).boxed(),
        "number" => prop_oneof![
            (-1_000_i32..100_000).prop_map(Value::from),
            (-1e6_f64..1e6).prop_map(Value::from),
            prop::num::f64::NORMAL.prop_map(Value::from),
        ]
        .boxed(),
        "rack" => rack().prop_map(Value::from).boxed(),
        "place" => prop_oneof![
            1 => Just(Value::Null),
            4 => (rack(), select(vec!['a', 'b', 'd'])).prop_map(|(rack, side)| format!("{rack}-{side}").into()),
        ]
        .boxed(),
        "bins" => prop::collection::vec((label(), any::<u16>()), 0..3)
            .prop_map(|rows| rows.into_iter().map(|(row, bins)| json!({"row": row, "bins": bins})).collect())
            .boxed(),
        "rows" => prop::collection::vec((label(), any::<u16>(), any::<u16>(), any::<u8>()), 0..3)
            .prop_map(|rows| {
                let row =
                    |(row, stacks, tiers, sides)| json!({"row": row, "stacks": stacks, "tiers": tiers, "sides": sides});
                rows.into_iter().map(row).collect()
            })
            .boxed(),
        "parts" => prop::collection::vec((label(), volume()), 0..3)
            .prop_map(|parts| {
                parts.into_iter().map(|(origin, ul)| json!({"origin": origin, "volume_ul": ul})).collect()
            })
            .boxed(),
        "stops" => prop::collection::vec((label(), 1..=u64::MAX), 0..3)
            .prop_map(|stops| {
                stops.into_iter().map(|(vessel, ul)| json!({"vessel": vessel, "volume_ul": ul})).collect()
            })
            .boxed(),
        "parts_of_blend" => {
            prop::collection::vec((label(), 1..=u64::MAX, 1..=u64::MAX, prop::option::of(any::<u32>())), 0..3)
                .prop_map(|stops| {
                    let stop = |(vessel, ul, keep, wine): (Value, u64, u64, Option<u32>)| match wine {
                        Some(wine) => json!({"vessel": vessel, "volume_ul": ul, "keep_ul": keep, "component": wine}),
                        None => json!({"vessel": vessel, "volume_ul": ul, "keep_ul": keep, "empties": true}),
                    };
                    stops.into_iter().map(stop).collect()
                })
                .boxed()
        }
        "tolerance" => (1..=200_000_u32).prop_map(Value::from).boxed(),
        "some_volumes" => prop::collection::vec(volume(), 1..4).prop_map(Value::from).boxed(),
        "code" => code().prop_map(Value::from).boxed(),
        "shares" => shares().prop_map(Value::from).boxed(),
        "components" => prop::collection::vec((label(), prop::option::of(volume()), prop::option::of(volume())), 0..4)
            .prop_map(|components| {
                let component = |(vessel, available, reserve): (Value, Option<u64>, Option<u64>)| {
                    let volumes = [("available_ul", available), ("reserve_ul", reserve)];
                    let mut object = json!({"vessel": vessel});
                    volumes
                        .into_iter()
                        .filter_map(|(name, ul)| Some((name, ul?)))
                        .for_each(|(name, ul)| object[name] = ul.into());
                    object
                };
                components.into_iter().map(component).collect()
            })
            .boxed(),
        "glasses" => prop::collection::vec((code(), shares(), prop::option::of(code())), 0..4)
            .prop_map(|glasses| {
                let glass = |(code, shares, repeats): (String, Vec<u32>, Option<String>)| match repeats {
                    Some(of) => json!({"code": code, "shares_ppm": shares, "repeat_of": of}),
                    None => json!({"code": code, "shares_ppm": shares}),
                };
                glasses.into_iter().map(glass).collect()
            })
            .boxed(),
        "finings" => prop::collection::vec((-1.0_f64..20.0, prop::option::of(0.0_f64..50.0)), 0..4)
            .prop_map(|glasses| {
                let glass = |(dose, turbidity): (f64, Option<f64>)| match turbidity {
                    Some(ntu) => json!({"dose_g_l": dose, "turbidity_ntu": ntu}),
                    None => json!({"dose_g_l": dose}),
                };
                glasses.into_iter().map(glass).collect()
            })
            .boxed(),
        "values" => prop::collection::btree_map("[0-9a-zé -]{1,12}", -1.0_f64..5_000.0, 1..4)
            .prop_map(|values| json!(values))
            .boxed(),
        "servings" => prop::collection::btree_map(
            "[A-Za-zé ]{1,12}",
            prop::collection::vec(prop::collection::vec(code(), 0..4), 0..3),
            0..3,
        )
        .prop_map(|servings| json!(servings))
        .boxed(),
        "fact" => ("[a-z0-9-]{1,40}", 1_u64..1_000).prop_map(|(device, n)| json!({"device": device, "n": n})).boxed(),
        words => select(words.split('|').collect::<Vec<_>>()).prop_map(Value::from).boxed(),
    }
}

/// The fields of a fact of some kind, in their order.
fn body() -> impl Strategy<Value = (&'static str, Map<String, Value>)> {
    select([FIELDS, OTHER_TASKS].concat()).prop_flat_map(|(kind, fields)| {
        let field = |field: &'static str| {
            let (name, of) = field.split_once(':').unwrap_or_else(|| panic!("{field}"));
            let always = !name.ends_with('?');
            let name = name.trim_end_matches('?');
            let value = value(of);
            let found = if always { value.prop_map(Some).boxed() } else { prop::option::of(value).boxed() };
            found.prop_map(move |value| Some((name.to_owned(), value?)))
        };
        let fields: Vec<_> = fields.split_whitespace().map(field).collect();
        fields.prop_map(move |fields| (kind, fields.into_iter().flatten().collect()))
    })
}

fn at() -> impl Strategy<Value = Moment> {
    let years = -2_200_000_000_000_000_i64..32_000_000_000_000_000;
    let offsets = select(vec![0, 60, 120, -480, 345, 825, -570, 1_439, -1_439]);
    (years, offsets, select(vec![1, 1_000, 1_000_000]))
        .prop_map(|(instant, offset, unit)| Moment::new(instant / unit * unit, offset))
}

fn line() -> impl Strategy<Value = Line> {
    let envelope = (("[a-z0-9-]{1,40}", 1..i64::MAX as u64), at(), at(), label());
    (envelope, prop::option::of(label()), prop::option::of(value("text")), body()).prop_map(
        |(((device, n), at, written, by), job, note, (kind, body))| {
            let text = |value: Value| value.as_str().unwrap_or_default().to_owned();
            Line {
                id: FactId { device: Device::new(&device).unwrap_or_else(|error| panic!("{error}")), n },
                at,
                written,
                by: barrelwalk::cellar::core::label::Label::new(&text(by)).unwrap_or_else(|error| panic!("{error}")),
                version: 1,
                kind: kind.into(),
                body: Value::Object(body).to_string(),
                job: job.map(|job| {
                    barrelwalk::cellar::core::label::Label::new(&text(job)).unwrap_or_else(|e| panic!("{e}"))
                }),
                note: note.map(|note| {
                    barrelwalk::cellar::core::label::Text::new(&text(note)).unwrap_or_else(|e| panic!("{e}"))
                }),
            }
        },
    )
}

/// Reads a line as the log would take it in.
fn read(json: &str) -> Result<(Fact, Line), String> {
    let (incoming, body) = IncomingFact::from_json(json).map_err(|error| error.to_string())?;
    let fact = Fact {
        id: incoming.id.ok_or("no name")?,
        at: incoming.at,
        written: incoming.written.ok_or("no time of writing")?,
        by: incoming.by,
        what: incoming.what,
        job: incoming.job,
        note: incoming.note,
        despite: incoming.despite,
    };
    let line = Line { body, ..Line::try_from(&fact).map_err(|error| error.to_string())? };
    Ok((fact, line))
}

/// Whatever is wrong is said in a sentence that disturbs no screen.
fn assert_sentence(sentence: &str) {
    assert!(sentence.ends_with('.') && !sentence.ends_with(".."), "{sentence}");
    assert!(sentence.chars().next().is_some_and(|first| first.is_uppercase() || first == '\''), "{sentence}");
    assert!(!sentence.chars().any(is_unsafe) && sentence.chars().count() < 500, "{sentence:?}");
}

fn assert_read_or_refused(text: &str) {
    match IncomingFact::from_json(text) {
        Ok((incoming, body)) => {
            assert_eq!(serde_json::from_str::<Value>(&body).map(|body| body.is_object()).ok(), Some(true));
            assert!(incoming.what.body().is_ok());
        }
        Err(error) => assert_sentence(&error.to_string()),
    }
}

proptest! {
    #[test]
    fn a_line_is_read_as_it_was_written(line in line()) {
        let written = line.to_json();
        let (fact, read_line) = read(&written).map_err(TestCaseError::fail)?;
        prop_assert_eq!(&read_line, &line);
        prop_assert_eq!(read_line.to_json(), written);
        prop_assert_eq!(&line.fact().map_err(|error| TestCaseError::fail(error.to_string()))?, &fact);
    }

    #[test]
    fn a_fact_is_read_as_it_was_written(line in line()) {
        let fact = line.fact().map_err(|error| TestCaseError::fail(error.to_string()))?;
        let written = Line::try_from(&fact).map_err(|error| TestCaseError::fail(error.to_string()))?;
        let (again, line_again) = read(&written.to_json()).map_err(TestCaseError::fail)?;
        prop_assert_eq!(&again, &fact);
        prop_assert_eq!(line_again, written);
    }

    #[test]
    fn no_text_stops_the_reader(text in "\\PC{0,60}|[\\[\\]{}\":,0-9a-z \\\\]{0,60}") {
        assert_read_or_refused(&text);
    }

    #[test]
    fn no_damaged_line_stops_the_reader(line in line(), cuts: Vec<(Index, char)>, keep in 0_usize..3) {
        let mut text: Vec<char> = line.to_json().chars().collect();
        for (index, with) in cuts.into_iter().take(4) {
            let at = index.index(text.len());
            match keep {
                0 => text[at] = with,
                1 => text.insert(at, with),
                _ => text.truncate(at.max(1)),
            }
        }
        assert_read_or_refused(&text.into_iter().collect::<String>());
    }

    #[test]
    fn no_field_of_another_type_stops_the_reader(line in line(), field: Index, other in 0_usize..8) {
        let mut value: Value = serde_json::from_str(&line.to_json()).map_err(|error| TestCaseError::fail(error.to_string()))?;
        let others = [
            Value::Null, json!(-1), json!(1.5), json!("\u{1b}[2J"), json!([]), json!({"a": 1}), json!(true), json!("x".repeat(3_000)),
        ];
        if let Some(fields) = value.as_object_mut() {
            let index = field.index(fields.len());
            if let Some((_, value)) = fields.iter_mut().nth(index) {
                *value = others[other].clone();
            }
        }
        assert_read_or_refused(&value.to_string());
    }

    #[test]
    fn an_unknown_field_is_refused(line in line(), name in "[a-z_]{12,50}") {
        let mut value: Value = serde_json::from_str(&line.to_json()).map_err(|error| TestCaseError::fail(error.to_string()))?;
        value[&name] = 1.into();
        let sentence = IncomingFact::from_json(&value.to_string()).err().map(|error| error.to_string());
        prop_assert!(sentence.as_deref().is_some_and(|sentence| sentence.contains("no field '")), "{:?}", sentence);
        assert_sentence(&sentence.unwrap_or_default());
    }
}
