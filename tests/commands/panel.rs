//! A panel's table and difference tests from the desk: `reckon panel`, `triangle`, `duo-trio` and `paired`, as another
//! program meets them.

use serde_json::Value;

use crate::desk::{self, Desk};

/// Runs the program where there is no cellar, with a text on standard input.
#[track_caller]
fn done(words: &str, input: &str) -> String {
    desk::done(&Desk::bare().fed(words, input))
}

#[track_caller]
fn json(words: &str, input: &str) -> Value {
    serde_json::from_str(&done(&format!("{words} --format json"), input)).unwrap()
}

/// Nine judges, ten red wines, scores of twenty, 2012: the R package rethinking, data Wines2012.
const WINE_PANEL: &str = "taster,1,2,3,4,5,6,7,8,9,10\n\
    a,14,16,11,16,14,15,13,11,10,15\nb,19,18,8,15,15,12,15,16,7,17\nc,15,19.5,14,12,13,16,14.5,15,16,16\n\
    d,15,11,12,16,14,11,14.5,13,10,14.5\ne,17.5,19,18,18,15,16,18,18,17,17.5\nf,13,14,17,16,15,17,14,15.5,13,18\n\
    g,10,17,9,14,19,12,15,10,11,18\nh,13,17,13,16,12,15,10,12,8,11\ni,14,11,16,12,14,13,14,12,13,11\n";

#[test]
fn a_panel_that_tells_nothing_apart_is_told_so() {
    let told = json("reckon panel -", WINE_PANEL);
    let words = told["words"][0].as_str().unwrap();
    assert!(words.starts_with("Nothing here tells these glasses apart"), "{told}");
    let numbers = told["numbers"].as_array().unwrap();
    let number = |name: &str| numbers.iter().rfind(|it| it["name"] == name).unwrap();
    assert_eq!(
        (number("Friedman")["value"].as_f64(), number("Friedman")["p"].as_f64()),
        (Some(12.4979), Some(0.186_671))
    );
    assert_eq!(number("Kendall's W")["value"].as_f64(), Some(0.1543));
    let best = &told["glasses"][0];
    assert_eq!((best["code"].as_str(), best["rank_sum"].as_f64()), (Some("2"), Some(35.0)));
}

#[test]
fn people_read_words_and_tables() {
    insta::assert_snapshot!(done(
        "reckon panel - --alike 412=207",
        "taster,code,score\n\
        ann,412,14\nann,207,13.5\nann,931,17\nann,555,9\nbo,412,15\nbo,207,12\nbo,931,18\nbo,555,10\n\
        cy,412,14\ncy,207,14\ncy,931,16.5\ncy,555,11\ndee,412,13\ndee,207,13.5\ndee,931,17\ndee,555,8\n\
        eve,412,12.5\neve,207,13\neve,931,16\neve,555,11\n"
    ));
}

#[test]
fn flights_ranks_and_an_expected_order() {
    let flights = "taster,A,B,C,D\na,1,2,3,\nb,,1,2,3\nc,1,,2,3\nd,1,2,,3\n";
    assert_eq!(json("reckon panel - --ranks", flights)["numbers"][0]["name"], "Durbin");
    let all = "taster,A,B,C\na,1,2,3\nb,1,2,3\nc,1,2,3\nd,2,1,3\n";
    let told = json("reckon panel - --ranks --order A,B,C", all);
    let numbers = told["numbers"].as_array().unwrap();
    let page = numbers.iter().find(|it| it["name"] == "Page's L").unwrap();
    // By hand: rank sums 5, 7, 12 are 5 + 14 + 36.
    assert_eq!((page["value"].as_f64(), page["by"].as_str()), (Some(55.0), Some("exact")));
    let csv = done("reckon panel - --ranks --format csv", all);
    assert!(csv.starts_with("code,tasters,rank_sum,mean_rank,") && csv.contains("\n\"A\",4,5,1.25,"), "{csv}");
}

#[test]
fn what_tells_nothing_is_a_sentence_and_no_error() {
    for (table, part) in [
        ("taster,1,2\n", "Nobody has tasted yet"),
        ("taster,1,2\na,12,13\n", "One taster's order"),
        ("taster,1,2\na,12,12\nb,13,13\n", "Every taster gave all glasses the same"),
        ("taster,1\na,12\nb,13\n", "Only one glass was tasted"),
    ] {
        let told = done("reckon panel -", table);
        assert!(told.starts_with(part) && !told.contains("NaN"), "{told}");
    }
}

#[test]
fn bad_tables_are_refused_with_their_lines() {
    for (words, table, part) in [
        ("reckon panel -", "taster,1,2\na,12,x\n", "Line 2: 'x' is no number."),
        ("reckon panel - --ranks", "taster,1,2\na,1,3\n", "a puts glass 2 at 3."),
        ("reckon panel - --alike 1=3", "taster,1,2\na,12,13\n", "No glass of the table has the code '3'."),
        ("reckon panel - --order 1,2,3", "taster,1,2,3\na,12,13,14\nb,12,13,\n", "here cells are missing"),
        ("reckon panel no-such-file.csv", "", "no-such-file.csv could not be read"),
        ("reckon triangle 10 11", "", "11 right answers of 10 can't be."),
        ("reckon duo-trio 0", "", "0 answers can't be judged."),
    ] {
        desk::refused(&Desk::bare().fed(words, table), 1, part);
    }
}

/// FAO Fisheries Technical Paper 348 (24: 13) and the exact binomial (30: 20); scipy 1.17.1 for the probability.
#[test]
fn difference_tests() {
    let triangle = json("reckon triangle 24 13", "");
    assert_eq!((triangle["least_right"].as_u64(), triangle["p"].as_f64()), (Some(13), Some(0.028_441)));
    assert_eq!((triangle["told"].as_bool(), triangle["discriminators_pct"].as_f64()), (Some(true), Some(31.2)));
    let duo_trio = json("reckon duo-trio 30", "");
    assert_eq!((duo_trio["least_right"].as_u64(), &duo_trio["p"]), (Some(20), &Value::Null));
    let (two, one) = (json("reckon paired 30 20", ""), json("reckon paired 30 20 --one-sided", ""));
    assert_eq!((two["told"].as_bool(), one["told"].as_bool()), (Some(false), Some(true)));
    assert!(two["words"].as_str().unwrap().contains("nothing here sets one above the other"), "{two}");
}
