//! Any list of barrels, written in any of the shapes that people use, is read as it was meant, asked about or refused; never otherwise.

use barrelwalk::cellar::core::fact::What;
use barrelwalk::cellar::core::state::State;
use barrelwalk::import::Answers;
use barrelwalk::import::fields::BARRELS;
use barrelwalk::units::Volume;
use proptest::prelude::*;
use proptest::strategy::ValueTree as _;

use crate::{proposal, told};

/// A barrel as it is meant.
#[derive(Clone, Debug, PartialEq)]
struct Meant {
    label: String,
    millilitres: u64,
    forest: Option<String>,
    made: Option<u16>,
    fills: u32,
    /// To the cent, as a text.
    price: Option<String>,
}

/// How a list is written.
#[derive(Clone, Debug)]
#[allow(clippy::struct_excessive_bools)] // each is a habit of its own
struct Shape {
    delimiter: char,
    comma: bool,
    groups: bool,
    language: usize,
    above: usize,
    blank_between: bool,
    total: bool,
    end: usize,
    quotes: bool,
    order: Vec<usize>,
}

const HEADS: [[&str; 6]; 5] = [
    ["Barrel", "Capacity (L)", "Oak", "Year", "Fills", "Price"],
    ["N° fût", "Contenance", "Forêt", "Année", "Vins", "Prix"],
    ["Nº barrica", "Capacidad", "Roble", "Año", "Usos", "Precio"],
    ["Botte", "Capacità", "Rovere", "Anno", "Passaggi", "Prezzo"],
    ["Fass-Nr.", "Inhalt", "Eiche", "Baujahr", "Belegungen", "Preis"],
];

fn meant() -> impl Strategy<Value = Meant> {
    let label = prop_oneof![
        "[A-Z]{1,2}-?[0-9]{1,4}",
        "0[0-9]{3}",
        "[1-9][0-9]{0,3}",
        "[A-Z][a-zéü]{2,8} [0-9]{1,2}",
        "=[A-Z]{2,4}",
        "Fass; [0-9]{3}",
    ];
    let forest =
        prop::option::of(prop_oneof![Just("Allier"), Just("Tronçais"), Just("Vosges; fine"), Just("Jura, \"old\"")]);
    let litres =
        prop_oneof![Just(225_000_u64), Just(228_500), 100_000..2_000_000_u64, (100..2_000_u64).prop_map(|l| l * 1_000)];
    let rest = (prop::option::of(1980_u16..2027), 0..6_u32, prop::option::of(10_000..200_000_u64));
    (label, litres, forest, rest).prop_map(|(label, millilitres, forest, (made, fills, cents))| Meant {
        label,
        millilitres,
        forest: forest.map(str::to_owned),
        made,
        fills,
        price: cents.map(|cents: u64| format!("{}.{:02}", cents / 100, cents % 100)),
    })
}

fn shape() -> impl Strategy<Value = Shape> {
    let delimiter = prop_oneof![Just(','), Just(';'), Just('\t'), Just('|')];
    let flags = (any::<bool>(), any::<bool>(), any::<bool>(), any::<bool>(), any::<bool>());
    let order = Just((0..6_usize).collect::<Vec<_>>()).prop_shuffle();
    (delimiter, flags, 0..5_usize, 0..4_usize, 0..3_usize, order).prop_map(
        |(delimiter, (comma, groups, blank_between, total, quotes), language, above, end, order)| Shape {
            delimiter,
            comma,
            groups,
            language,
            above,
            blank_between,
            total,
            end,
            quotes,
            order,
        },
    )
}

/// A number as a hand of this shape writes it.
fn number(thousandths: u64, shape: &Shape) -> String {
    let (sign, group) = if shape.comma { (',', '.') } else { ('.', ',') };
    let (whole, rest) = (thousandths / 1_000, thousandths % 1_000);
    let mut digits = whole.to_string();
    if shape.groups && whole >= 1_000 {
        digits.insert(digits.len() - 3, group);
    }
    let rest = format!("{rest:03}");
    match rest.trim_end_matches('0') {
        "" => digits,
        rest => format!("{digits}{sign}{rest}"),
    }
}

fn cell(text: &str, shape: &Shape) -> String {
    let text = if text.starts_with('=') { format!("'{text}") } else { text.to_owned() };
    if shape.quotes || text.contains([shape.delimiter, '"', '\n']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text
    }
}

fn written(barrels: &[Meant], shape: &Shape) -> String {
    let row = |cells: [String; 6]| {
        let cells: Vec<String> = shape.order.iter().map(|&at| cell(&cells[at], shape)).collect();
        cells.join(&shape.delimiter.to_string())
    };
    let mut lines: Vec<String> = (0..shape.above).map(|at| format!("Stock list, page {at}")).collect();
    lines.push(row(HEADS[shape.language].map(str::to_owned)));
    for barrel in barrels {
        if shape.blank_between {
            lines.push(String::new());
        }
        lines.push(row([
            barrel.label.clone(),
            number(barrel.millilitres, shape),
            barrel.forest.clone().unwrap_or_default(),
            barrel.made.map_or_else(String::new, |year| year.to_string()),
            barrel.fills.to_string(),
            barrel
                .price
                .as_ref()
                .map_or_else(String::new, |price| number(price.replace('.', "").parse::<u64>().unwrap() * 10, shape)),
        ]));
    }
    if shape.total {
        let sum = barrels.iter().map(|barrel| barrel.millilitres).sum();
        let mut cells = [const { String::new() }; 6];
        "Total".clone_into(&mut cells[shape.order[0]]);
        let litres = usize::from(shape.order[0] != 1);
        if litres == 1 {
            cells[1] = number(sum, shape);
        }
        lines.push(row(cells));
    }
    let end = ["\n", "\r\n", "\r"][shape.end];
    lines.join(end) + end
}

/// What came of a barrel, as it is meant.
fn read(what: &What) -> Meant {
    let What::VesselRegistered(vessel) = what else { panic!("{what:?}") };
    assert_eq!(vessel.capacity.as_ul() % 1_000, 0);
    Meant {
        label: vessel.vessel.to_string(),
        millilitres: vessel.capacity.as_ul() / Volume::from_ml(1).as_ul(),
        forest: vessel.wood.forest.as_ref().map(ToString::to_string),
        made: vessel.wood.made,
        fills: vessel.fills,
        price: vessel.wood.price.map(|price| format!("{price:.2}")),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    #[test]
    fn a_list_is_read_as_it_is_meant_or_asked_about(
        barrels in prop::collection::vec(meant(), 1..12),
        shape in shape(),
    ) {
        // A barrel stands in a list once.
        let mut barrels = barrels;
        let mut seen = std::collections::BTreeSet::new();
        barrels.retain(|barrel| seen.insert(barrel.label.clone()));
        let text = written(&barrels, &shape);
        let proposal = proposal(&BARRELS, text.as_bytes(), &Answers::default(), &State::default());
        if !proposal.questions.is_empty() {
            return Ok(());
        }
        let read: Vec<Meant> = proposal.facts.iter().map(|fact| read(&fact.what)).collect();
        prop_assert_eq!(&read, &barrels, "{}\n{}", text, told(&proposal));
        prop_assert!(proposal.refused.is_empty(), "{}", told(&proposal));
    }
}

#[test]
fn most_lists_ask_nothing() {
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let (mut asked, all) = (0, 400);
    for _ in 0..all {
        let barrels = prop::collection::vec(meant(), 3..12).new_tree(&mut runner).unwrap().current();
        let shape = shape().new_tree(&mut runner).unwrap().current();
        let proposal = proposal(&BARRELS, written(&barrels, &shape).as_bytes(), &Answers::default(), &State::default());
        asked += usize::from(!proposal.questions.is_empty());
    }
    assert!(asked * 20 <= all, "{asked} of {all} are asked about");
}
