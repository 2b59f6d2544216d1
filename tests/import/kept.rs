//! A dozen invented spreadsheets, each in three line ends and five codings: the same comes of all of them.

use std::fs;
use std::path::Path;

use barrelwalk::cellar::core::state::State;
use barrelwalk::import::Answers;
use barrelwalk::import::fields::{BARRELS, TASTES, Table, WINE};
use barrelwalk::import::likely::likely;
use barrelwalk::spreadsheet::{Grid, Wanted};

use crate::given::{Cellar, barrel_of};
use crate::{answers, proposal, told};

fn file(name: &str) -> String {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/spreadsheets");
    fs::read_to_string(folder.join(name)).unwrap()
}

/// A text in every coding that holds its letters.
fn coded(text: &str) -> Vec<Vec<u8>> {
    let sixteen = |order: fn(u16) -> [u8; 2]| text.encode_utf16().flat_map(order).collect::<Vec<u8>>();
    let marked = |mark: &[u8], bytes: Vec<u8>| [mark, &bytes].concat();
    let one_byte: Option<Vec<u8>> = text.chars().map(|sign| u8::try_from(u32::from(sign)).ok()).collect();
    let mut codings = vec![
        text.as_bytes().to_vec(),
        marked(&[0xef, 0xbb, 0xbf], text.as_bytes().to_vec()),
        marked(&[0xff, 0xfe], sixteen(u16::to_le_bytes)),
        marked(&[0xfe, 0xff], sixteen(u16::to_be_bytes)),
    ];
    codings.extend(one_byte);
    codings
}

/// The same comes of a file in all line ends and codings, and is kept.
fn keep(name: &str, table: &'static Table, said: &Answers, state: &State) {
    let text = file(&format!("{name}.csv"));
    let first = told(&proposal(table, text.as_bytes(), said, state));
    for end in ["\n", "\r\n", "\r"] {
        for bytes in coded(&text.replace('\n', end)) {
            assert_eq!(told(&proposal(table, &bytes, said, state)), first, "{name}, {end:?}");
        }
    }
    insta::assert_snapshot!(name, first);
}

fn empty() -> State {
    State::default()
}

/// A cellar in which the barrels 0181 to 0184 are empty.
fn four_barrels() -> State {
    let labels = ["0181", "0182", "0183", "0184"];
    labels.iter().fold(Cellar::new(), |cellar, label| cellar.given(barrel_of(label, 225))).state
}

#[test]
fn barrels_in_five_languages() {
    let long = answers(&[("room", "long")], true);
    keep("barrels-english", &BARRELS, &long, &empty());
    keep("barrels-french", &BARRELS, &Answers::default(), &empty());
    keep("barrels-german", &BARRELS, &long, &empty());
    keep("barrels-spanish", &BARRELS, &answers(&[], true), &empty());
    keep("barrels-italian", &BARRELS, &Answers::default(), &empty());
}

#[test]
fn the_kind_of_table_is_told_by_its_head() {
    let kind = |text: &str| {
        let grid = Grid::read(text.as_bytes(), &Wanted::default()).unwrap();
        likely(&grid, &empty()).map(|table| table.name)
    };
    for language in ["english", "french", "german", "spanish", "italian"] {
        assert_eq!(kind(&file(&format!("barrels-{language}.csv"))), Some("barrels"), "{language}");
    }
    assert_eq!(kind(&file("wine-english.csv")), Some("wine"));
    assert_eq!(kind("Barrel;Lot;Litres\n1;M26;225\n"), Some("wine"));
    assert_eq!(kind("Date;Sample;pH;Free SO2\n2026-11-02;T1;3.5;24\n"), Some("tests"));
    assert_eq!(kind(";T1;T2\nDate;2026-11-02;2026-11-02\npH;3.5;3.6\nVA;0.4;0.5\nFree SO2;20;30\n"), Some("tests"));
    assert_eq!(kind("Date;Barrel;Litres;From\n2026-11-02;1;0.4;K1\n"), Some("toppings"));
    assert_eq!(kind("Date;Barrel;Score;Remarks\n2026-11-02;1;14;plum\n"), Some("tastes"));
    // A list of both brings the barrels first, where there are none; where they are here it is one of wine.
    let both = "Barrel;Forest;Lot;Litres;Variety;Vintage;Appellation;Colour\n0181;Allier;M26;225;Merlot;2025;Varrow Valley;red\n";
    assert_eq!(kind(both), Some("barrels"));
    let grid = Grid::read(both.as_bytes(), &Wanted::default()).unwrap();
    assert_eq!(likely(&grid, &four_barrels()).map(|table| table.name), Some("wine"));
    // Of wine nothing is known without its lot.
    assert_eq!(kind("Tag;Holds;Oak;Year\nA1;225;Allier;2024\n"), Some("barrels"));
    assert_eq!(kind("A;B\n1;2\n"), None);
}

#[test]
fn what_cannot_be_told_is_asked() {
    keep("barrels-no-head", &BARRELS, &Answers::default(), &empty());
    keep("barrels-thousands", &BARRELS, &Answers::default(), &empty());
    keep("barrels-mixed-signs", &BARRELS, &Answers::default(), &empty());
    keep("barrels-two-capacities", &BARRELS, &Answers::default(), &empty());
    keep("wine-short", &WINE, &Answers::default(), &four_barrels());
}

#[test]
fn a_line_that_cannot_be_taken_is_named_by_its_number() {
    keep("barrels-mistakes", &BARRELS, &answers(&[("room", "long")], true), &empty());
    keep("wine-english", &WINE, &Answers::default(), &four_barrels());
}

#[test]
fn what_is_answered_is_asked_no_more() {
    let said = Answers {
        head: Some(0),
        columns: [("vessel", "1"), ("capacity", "2"), ("forest", "3"), ("made", "4")]
            .map(|(field, column)| (field.to_owned(), column.to_owned()))
            .to_vec(),
        ..Answers::default()
    };
    let proposal = proposal(&BARRELS, file("barrels-no-head.csv").as_bytes(), &said, &empty());
    assert_eq!((proposal.questions.len(), proposal.facts.len()), (0, 2), "{}", told(&proposal));
}

/// A French `Note` is a score or a remark: what stands below it in all lines tells, and where that is both it is asked.
#[test]
fn a_head_that_means_two_things_is_told_by_its_cells() {
    let said = |cells: [&str; 3], columns: &[(&str, &str)]| {
        let text = format!(
            "Date;Fût;Note\n02/11/2026;0181;{}\n13/11/2026;0182;{}\n14/11/2026;0183;{}\n",
            cells[0], cells[1], cells[2]
        );
        let columns = columns.iter().map(|(field, column)| ((*field).to_owned(), (*column).to_owned())).collect();
        let answers = Answers { columns, ..Answers::default() };
        let proposal = proposal(&TASTES, text.as_bytes(), &answers, &four_barrels());
        let asked: Vec<String> = proposal.questions.iter().map(|it| format!("{it} {}", it.option())).collect();
        (
            asked,
            proposal.facts.iter().map(|it| it.what.body().unwrap().clone()).collect::<Vec<_>>(),
            proposal.refused.len(),
        )
    };
    let (asked, facts, refused) = said(["14", "13,5", "12/20"], &[]);
    assert!(asked.is_empty() && refused == 0, "{asked:?}");
    assert_eq!(facts.iter().map(|it| it["score"].as_f64().unwrap()).collect::<Vec<_>>(), [14.0, 13.5, 12.0]);
    let (asked, facts, _) = said(["prune", "un peu fermé", "-"], &[]);
    assert!(asked.is_empty(), "{asked:?}");
    assert_eq!(facts.iter().map(|it| it["text"].as_str().unwrap()).collect::<Vec<_>>(), ["prune", "un peu fermé"]);
    let (asked, facts, _) = said(["14", "prune", "15"], &[]);
    assert_eq!(
        asked,
        [
            "Is the column 'Note' the score or the text? Some of its cells hold numbers, others words. --column 'score=Note' or --column 'text=Note'"
        ]
    );
    assert!(facts.is_empty());
    let (asked, facts, _) = said(["14", "prune", "15"], &[("text", "Note")]);
    assert!(asked.is_empty(), "{asked:?}");
    assert_eq!(facts.len(), 3);
}
