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
    assert!(told.starts_with("Best: 42 / 0 / 58 (north / south / press); as good: "), "{told}");
    assert!(
        told.contains("The best glass, 50 / 0 / 50, loses 0.")
            && told.contains("The middle, 33.3 / 33.3 / 33.3, loses "),
        "{told}"
    );
    assert!(!told.contains("F 35.20"), "what only tells how sure it is stands behind its option: {told}");
    assert!(told.lines().all(|line| line.chars().count() <= 80), "{told}");
    let sure = desk.done(&["reckon", "surface", "r.csv", "--how-sure"]);
    assert!(sure.contains("F 35.20 on 5 and 9") && sure.contains("e to the 7.34"), "{sure}");
    let json: Value = serde_json::from_str(&desk.done(&["reckon", "surface", "r.csv", "--format", "json"])).unwrap();
    let close = |value: &Value, expected: f64, within: f64| (value.as_f64().unwrap() - expected).abs() < within;
    let best = &json["best"];
    assert!(close(&best["shares"][0], 0.42, 1e-9) && close(&best["predicted"]["score"], 16.91, 0.005), "{best}");
    assert!(close(&best["band"]["least"], 14.75, 0.02) && close(&best["band"]["most"], 19.07, 0.02), "{best}");
    assert!(
        close(&best["as_good"][1]["least"], 0.0, 1e-9) && best["as_good"][1]["most"].as_f64().unwrap() < 0.5,
        "{best}"
    );
    assert!(close(&json["ln_bf"], 7.336_036, 1e-6) && json["p"].as_f64().unwrap() <= 0.05, "{json}");
    assert_eq!((&json["verdict"], &json["model"], &json["lean"]), (&"tells".into(), &"averaged".into(), &Value::Null));
    assert_eq!(json["models"][2]["residual_deviation"], 0.8537);
    let csv = desk.done(&["reckon", "surface", "r.csv", "--format", "csv", "--most", "press=40%"]);
    let head =
        "what,blend,glasses,first_of,ratings,mean,expected,error,below_best,below_error,worse,allowed\n\"best\",";
    assert!(csv.starts_with(head), "{csv}");
    assert!(csv.lines().nth(1).unwrap().contains("40 % press"), "{csv}");
}

/// Two tasters in two flights, who score the second flight far lower: what lies between flights says nothing of the wine.
#[test]
fn flights_tasters_and_ranks_are_read_each_by_itself() {
    let desk = Desk::new();
    let mut scores = vec!["taster,flight,score,a,b".to_owned()];
    let mut ranks = scores.clone();
    for (taster, scale) in [("mk", 1.0), ("jl", 0.9), ("ko", 1.1)] {
        for flight in 0..2 {
            for (at, tenths) in [[0, 2, 4, 6, 8, 10], [1, 3, 5, 7, 9, 10]][flight].into_iter().enumerate() {
                let share = f64::from(tenths) / 10.0;
                let off = (share - 0.6).abs();
                let score = (90.0 - 40.0 * off * off) * scale - 30.0 * flight as f64 + ((at * 7) % 3) as f64 * 0.2;
                scores.push(format!("{taster},{flight},{score},{share},{}", 1.0 - share));
                let nearer = [[0, 2, 4, 6, 8, 10], [1, 3, 5, 7, 9, 10]][flight];
                let rank =
                    1 + nearer.iter().filter(|it| (f64::from(**it) / 10.0 - 0.61).abs() < (share - 0.61).abs()).count();
                ranks.push(format!("{taster},{flight},{rank},{share},{}", 1.0 - share));
            }
        }
    }
    desk.write("s.csv", &scores.join("\n"));
    desk.write("k.csv", &ranks.join("\n"));
    let json = |arguments: &[&str]| -> Value {
        let asked = [&["reckon", "surface", "--format", "json"], arguments].concat();
        serde_json::from_str(&desk.done(&asked)).unwrap()
    };
    for arguments in [&["s.csv"][..], &["k.csv", "--ranks"], &["s.csv", "--taster", "ko"]] {
        let told = json(arguments);
        let share = told["best"]["shares"][0].as_f64().unwrap();
        assert!((share - 0.6).abs() <= 0.06, "{arguments:?}: {}", told["words"]);
    }
    assert_eq!(json(&["s.csv", "--taster", "ko"])["tasters"], 1);
    desk.refused(&["reckon", "surface", "s.csv", "--taster", "nn"], "No taster is called 'nn'. There are: mk, jl, ko.");
}

/// Where chance says as much there is a lean and no best; where no scores could have told there is neither.
#[test]
fn a_panel_that_cannot_tell_leans_and_one_that_is_too_small_does_not() {
    let desk = Desk::new();
    let told = |text: &str| -> (String, Value) {
        desk.write("r.csv", text);
        let json = desk.done(&["reckon", "surface", "r.csv", "--format", "json"]);
        (desk.done(&["reckon", "surface", "r.csv"]), serde_json::from_str(&json).unwrap())
    };
    let (words, json) = told(
        "taster,score,a,b\nmk,14,1,0\nmk,12,0.75,0.25\nmk,14.5,0.5,0.5\nmk,12.5,0.25,0.75\nmk,14,0,1\n\
         jl,12,1,0\njl,14,0.75,0.25\njl,12,0.5,0.5\njl,14,0.25,0.75\njl,12.5,0,1\n",
    );
    assert!(
        words.starts_with("The panel can't tell. It leans to ")
            && words.contains("Choose by cost, or taste these again"),
        "{words}"
    );
    assert_eq!((&json["verdict"], &json["best"]), (&"alike".into(), &Value::Null));
    assert_eq!(json["lean"]["shares"].as_array().unwrap().len(), 2, "{json}");
    let (words, json) = told("taster,score,a,b\nmk,14,1,0\nmk,12,0,1\n");
    assert!(words.starts_with("The panel can't tell: with so few ratings"), "{words}");
    assert_eq!((&json["verdict"], &json["best"], &json["lean"]), (&"too_few".into(), &Value::Null, &Value::Null));
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
    assert!(
        refused("taster,flight,score,a,b\nmk,1,14,1,0\nmk,2,12,0,1\njl,1,13,1,0\njl,2,15,0,1\n", &[])
            .contains("Every flight of every taster held one glass")
    );
    assert!(
        refused(RATINGS, &["--least", "press=30%", "--most", "press=30%", "--most", "north=0%"])
            .contains("leave one blend alone")
    );
    // A wine that is in no glass cannot be asked for.
    assert!(
        refused(
            "taster,score,a,b,c\nmk,14,1,0,0\nmk,12,0,1,0\nmk,13,0.5,0.5,0\n",
            &["--least", "c=10%", "--most", "c=20%"]
        )
        .contains("No allowed blend is like the glasses")
    );
    desk.refused(&["reckon", "surface", "nowhere.csv"], "could not be read");
}
