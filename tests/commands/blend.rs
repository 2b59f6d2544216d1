//! Blends from the desk: `reckon acidity`, `reckon blend`, `reckon square` and `plan blend`, as another program meets them.

use serde_json::Value;

use crate::desk::{Desk, text};

fn value<'a>(told: &'a Value, quantity: &str) -> &'a Value {
    told["values"].as_array().unwrap().iter().find(|it| it["quantity"] == quantity).unwrap()
}

/// Pearson's square, as textbooks print it: 15 % and 11 % to 12 % is 1 : 3; 6 gal at 6.2 g/L with 7.0 to reach 6.5 take 3.6.
#[test]
fn a_square_of_two_wines() {
    let desk = Desk::bare();
    let square = desk.json(&["reckon", "square", "--first", "15", "--second", "11", "--wanted", "12"]);
    assert_eq!((&square["first_pct"], &square["second_pct"]), (&Value::from(25.0), &Value::from(75.0)));
    let words = ["reckon", "square", "--first", "6.2", "--second", "7", "--wanted", "6.5", "--litres", "6 gal"];
    let added = desk.json(&words)["to_add_ul"].as_f64().unwrap() / 3_785_411.784;
    assert!((added - 3.6).abs() < 1e-6, "{added}");
    desk.refused(
        &["reckon", "square", "--first", "6", "--second", "7", "--wanted", "8"],
        "does not lie between 6 and 7",
    );
}

#[test]
fn a_balance_names_what_it_assumes() {
    let desk = Desk::bare();
    let known = desk.json(&[
        "reckon",
        "acidity",
        "--ph",
        "3.45",
        "--tartaric",
        "2.6",
        "--malic",
        "0",
        "--lactic",
        "1.2",
        "--succinic",
        "0.9",
        "--va",
        "0.35",
    ]);
    assert_eq!(
        (&known["ta_g_l"], &known["strong_cations_mmol_l"]),
        (&Value::from(3.72), &Value::from(19.2)),
        "{known}"
    );
    assert_eq!(known["assumed"], Value::Array(vec![]));
    let guessed = desk.json(&["reckon", "acidity", "--ph", "3.6", "--ta", "5.6", "--malic", "2"]);
    assert_eq!(guessed["ta_g_l"], Value::from(5.6));
    assert!(guessed["notes"][0].as_str().unwrap().contains("without malolactic"), "{guessed}");
    insta::assert_snapshot!("acidity", desk.done(&["reckon", "acidity", "--ph", "3.6", "--ta", "5.6"]));
    desk.refused(&["reckon", "acidity", "--ph", "36"], "A pH of 36 is out of range");
    desk.refused(&["reckon", "acidity", "--ph", "3.6", "--alcohol", "19"], "stand from 0 to 16 % vol");
}

#[test]
fn a_blend_of_said_wines() {
    let desk = Desk::bare();
    let a = "A=300L ph=3.45 alcohol_pct=13 ta_g_l=6 free_so2_mg_l=30";
    let b = "B=100L ph=3.95 alcohol_pct=14.2 ta_g_l=4.4";
    let told = desk.json(&["reckon", "blend", "--wine", a, "--wine", b]);
    assert_eq!(value(&told, "alcohol")["value"], Value::from(13.3));
    assert_eq!(value(&told, "free SO2")["value"], Value::Null);
    assert_eq!(value(&told, "free SO2")["how"], Value::from("not known: not tested in B"));
    let ph = value(&told, "pH");
    let number = |field: &str| ph[field].as_f64().unwrap();
    assert!(number("low") <= number("value") && number("value") <= number("high") && ph["plain_mean"] == 3.575, "{ph}");
    insta::assert_snapshot!("blend", desk.done(&["reckon", "blend", "--wine", a, "--wine", b]));
    // The same wines in a spreadsheet.
    let sheet = "wine,litres,ph,alcohol_pct,ta_g_l,free_so2_mg_l\nA,300,3.45,13,6,30\nB,100,3.95,14.2,4.4,\n";
    desk.write("wines.csv", sheet);
    assert_eq!(desk.json(&["reckon", "blend", "wines.csv"]), told);
}

#[test]
fn what_is_wrong_with_a_wine_is_said() {
    let desk = Desk::bare();
    desk.write("bad.csv", "wine,litres,ph\nA,300,3.4\nB,a lot,3.5\n");
    desk.refused(&["reckon", "blend", "bad.csv"], "bad.csv, line 3: 'a lot' is not a number of litres");
    desk.write("odd.csv", "wine,litres,colour\nA,300,red\n");
    desk.refused(&["reckon", "blend", "odd.csv"], "odd.csv, line 2: 'colour' is not known");
    desk.write("none.csv", "name,litres\nA,300\n");
    desk.refused(&["reckon", "blend", "none.csv"], "has no column 'wine'");
    desk.refused(&["reckon", "blend", "missing.csv"], "missing.csv could not be read");
    desk.misused(&["reckon", "blend", "--wine", "A=300L acid=3"], "'acid' is not known. Use ph, alcohol_pct");
    desk.refused(&["reckon", "blend", "--wine", "A=300L alcohol_pct=130"], "out of range");
    desk.refused(&["reckon", "blend", "--wine", "A=0L ph=3.5"], "no wine to blend");
    desk.misused(&["reckon", "blend"], "required");
}

#[test]
fn a_blend_is_planned_from_the_cellar() {
    let desk = Desk::demo();
    let words = ["plan", "blend", "--share", "T1=20%", "--share", "T6=80%", "--into", "T3", "--on", "2026-11-25"];
    let told = desk.json(&words);
    let sum =
        |list: &str| told[list].as_array().unwrap().iter().map(|it| it["volume_ul"].as_u64().unwrap()).sum::<u64>();
    assert_eq!(
        (sum("components"), sum("transfers")),
        (told["volume_ul"].as_u64().unwrap(), told["volume_ul"].as_u64().unwrap())
    );
    assert_eq!(told["limit"], Value::from("wine"));
    assert_eq!(told["components"][1]["gives_out"], Value::from(true));
    insta::assert_snapshot!("plan", desk.done(&words));
    insta::assert_snapshot!("plan_csv", desk.done(&[&words[..], &["--format", "csv"]].concat()));
    let kept = [&words[..], &["--keep", "T6=200L", "--tolerance", "1%"]].concat();
    assert_eq!(desk.json(&kept)["components"][1]["stays_ul"], Value::from(200_000_000));
    let lot = [
        "plan",
        "blend",
        "--share",
        "C24 Long Wall=70%",
        "--share",
        "T1=30%",
        "--litres",
        "2000",
        "--on",
        "2026-11-25",
    ];
    insta::assert_snapshot!("plan_of_a_lot", desk.done(&lot));
}

#[test]
fn a_blend_without_a_trial_is_begun_as_a_work() {
    let desk = Desk::demo();
    let plan = |more: &[&'static str]| {
        let words = ["plan", "blend", "--share", "T1=60%", "--share", "T6=40%", "--litres", "1000", "--into"];
        [&words[..], more].concat()
    };
    let begin = plan(&["T3", "--begin", "assemble", "--lot", "N24", "--by", "mk"]);
    let output = desk.run(&begin);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    assert!(text(&output.stderr).contains("The work 'assemble' has begun."));
    let works = desk.json(&["list", "works"]);
    let work = works.as_array().unwrap().iter().find(|work| work["work"] == "assemble").unwrap();
    assert_eq!((&work["task"], &work["blend"]["lot"], &work["of"]), (&"blending".into(), &"N24".into(), &2.into()));
    assert_eq!(desk.json(&["show", "lot", "N24"])["colour"], "red");

    desk.refused(&begin, "already called 'assemble'");
    let again = plan(&["T3", "--begin", "other", "--lot", "N24"]);
    desk.refused(&again, "A blend is being made in T3 already, by the work 'assemble'");
    desk.refused(&plan(&["T5", "--begin", "other"]), "Name it with --lot");
    desk.refused(&plan(&["T9", "--begin", "other", "--lot", "N"]), "not in the ratio");
    desk.refused(&plan(&["T5", "--begin", "other", "--lot", "W25 Spring Garden"]), "is white but the wine is red");
    desk.refused(&plan(&["T4", "--begin", "other", "--lot", "N", "--on", "2026-11-25"]), "Leave out --on");
    assert_eq!(desk.run(&plan(&["T4", "--lot", "N"])).status.code(), Some(2));
    let nowhere = ["plan", "blend", "--share", "T1=100%", "--begin", "other", "--lot", "N"];
    desk.refused(&nowhere, "No vessel is named that the blend is made in");
}

#[test]
fn what_cannot_be_planned_is_said() {
    let desk = Desk::demo();
    let plan = |words: &[&'static str]| [&["plan", "blend"][..], words].concat();
    desk.refused(&plan(&["--share", "T1=40%", "--share", "T6=50%"]), "The shares sum to 90%. They must sum to 100%.");
    desk.misused(&plan(&["--share", "T1=40", "--share", "T6=60"]), "is not a percentage");
    desk.refused(&plan(&["--share", "T1=40%", "--share", "nowhere=60%"]), "nowhere");
    desk.refused(&plan(&["--share", "T1=40%", "--share", "T3=60%"]), "T3 holds nothing by the book");
    desk.refused(&plan(&["--share", "T1=100%", "--into", "T9"]), "not in the ratio");
    desk.refused(&plan(&["--share", "T1=100%", "--keep", "T2=10L"]), "'T2' has no share in the blend");
    desk.misused(&plan(&["--share", "T1=100%", "--tolerance", "0%"]), "No pump meets a ratio to nothing");
    desk.refused(&plan(&["--share", "T1=100%", "--litres", "9000"]), "The largest batch is");
    desk.refused(&plan(&["--share", "T1=50%", "--share", "T9=50%"]), "Choose wines of one colour");
}

#[test]
fn a_blend_under_way_is_brought_out() {
    let desk = Desk::bare();
    let ratio = ["reckon", "course", "--share", "A=40%", "--share", "B=60%", "--planned", "2000L"];
    let over = [&ratio[..], &["--arrived", "A=820L", "--there", "A=180L", "--there", "B=3000L"]].concat();
    let told = desk.json(&over);
    assert_eq!((&told["volume_ul"], &told["exact"]), (&Value::from(2_050_000_000_u64), &Value::from(true)), "{told}");
    assert_eq!(told["wines"][1]["still_ul"], Value::from(1_230_000_000));
    insta::assert_snapshot!("course", desk.done(&over));
    let done = [&ratio[..], &["--arrived", "A=820L", "--arrived", "B=1180L"]].concat();
    insta::assert_snapshot!("course_closed", desk.done(&done));
    desk.refused(&[&ratio[..], &["--arrived", "C=1L"]].concat(), "'C' has no share in the blend");
    desk.refused(
        &[&ratio[..], &["--arrived", "A=820L", "--room", "500L"]].concat(),
        "has no room for what has arrived",
    );
    desk.refused(&ratio, "Nothing has arrived, and nothing is there");
}
