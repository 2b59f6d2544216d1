//! `reckon surface` as another program meets it.

use serde_json::Value;

use crate::desk::Desk;

/// The yarn of the NIST/SEMATECH e-Handbook 5.5.4.6 as if it were tasted; its optimum is known.
const RATINGS: &str = "taster,score,north,south,press\n\
    mk,16.8,0,0,1\nmk,16.0,0,0,1\nmk,10.0,0,0.5,0.5\nmk,9.7,0,0.5,0.5\nmk,11.8,0,0.5,0.5\nmk,8.8,0,1,0\nmk,10.0,0,1,0\n\
    mk,17.7,0.5,0,0.5\nmk,16.4,0.5,0,0.5\nmk,16.6,0.5,0,0.5\nmk,15.0,0.5,0.5,0\nmk,14.8,0.5,0.5,0\nmk,16.1,50%,50%,0\n\
    mk,11.0,1,0,0\nmk,12.4,100,0,0\n";

#[test]
fn a_surface_is_read_from_a_file_of_ratings() {
    let desk = Desk::new();
    desk.write("r.csv", RATINGS);
    let told = desk.done(&["reckon", "surface", "r.csv"]);
    assert!(told.starts_with("The panel tells ratios apart (F 35.20 on 5 and 9, p below 0.001)."), "{told}");
    assert!(told.contains("Best allowed ratio: 29.4 % north, 70.6 % press"), "{told}");
    assert!(told.lines().all(|line| line.chars().count() <= 80), "{told}");
    let json: Value = serde_json::from_str(&desk.done(&["reckon", "surface", "r.csv", "--format", "json"])).unwrap();
    let close = |value: &Value, expected: f64| (value.as_f64().unwrap() - expected).abs() < 5e-7;
    assert!(close(&json["best"]["shares"][0], 0.293_860) && close(&json["best"]["predicted"]["score"], 17.384_430));
    assert_eq!(json["models"][2]["residual_deviation"], 0.8537);
    let csv = desk.done(&["reckon", "surface", "r.csv", "--format", "csv", "--most", "press=40%"]);
    assert!(
        csv.starts_with(
            "what,blend,glasses,ratings,mean,expected,error,below_best,below_error,worse,allowed\n\"best\","
        ),
        "{csv}"
    );
    assert!(csv.lines().nth(1).unwrap().contains("40 % press"), "{csv}");
}

#[test]
fn ratings_that_say_nothing_are_refused() {
    let desk = Desk::new();
    let refused = |text: &str, further: &[&str]| {
        desk.write("r.csv", text);
        desk.refused(&[&["reckon", "surface", "r.csv"], further].concat(), "")
    };
    assert!(
        refused("taster,score,a,b\nmk,14,1,0\nmk,14,0,1\nmk,14,0.5,0.5\n", &[])
            .contains("gave all glasses the same score")
    );
    assert!(refused("taster,score,a,b\nmk,14,1,0\nmk,x,0,1\n", &[]).contains("Line 3 of the ratings"));
    assert!(
        refused(RATINGS, &["--most", "press=10%", "--most", "north=10%", "--most", "south=10%"])
            .contains("leave no blend")
    );
    assert!(refused(RATINGS, &["--least", "east=10%"]).contains("No component is called 'east'"));
    assert!(refused("taster,score,a,b\n", &[]).contains("no ratings"));
    desk.refused(&["reckon", "surface", "nowhere.csv"], "could not be read");
}
