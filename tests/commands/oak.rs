//! Oak judged, as another program meets it: what is told of coopers whose barrels lie in the same lots, and what is said where nothing can be told.

use serde_json::Value;

use crate::desk::Desk;

/// Two lots of eight barrels each, four of either cooper, of one forest each; half of each medium, half heavy.
fn cellar() -> Desk {
    let mut lines = Vec::new();
    let mut say = |at: &str, by: &str, rest: String| lines.push(format!(r#"{{"at":"{at}","by":"{by}",{rest}}}"#));
    for (lot, tank) in [("M25", "T1"), ("C25", "T2")] {
        say(
            "2026-01-02T08:00:00+01:00",
            "mk",
            format!(
                r#""kind":"origin_declared","origin":"{lot}","block":"{lot}","variety":"Merlot","vintage":2025,"appellation":"Varrow Valley","colour":"red""#
            ),
        );
        say("2026-01-02T08:01:00+01:00", "mk", format!(r#""kind":"lot_opened","lot":"{lot}","colour":"red""#));
        say(
            "2026-01-02T08:02:00+01:00",
            "mk",
            format!(r#""kind":"vessel_registered","vessel":"{tank}","type":"tank","capacity_ul":3000000000"#),
        );
        say(
            "2026-01-02T08:03:00+01:00",
            "mk",
            format!(
                r#""kind":"wine_received","vessel":"{tank}","lot":"{lot}","parts":[{{"origin":"{lot}","volume_ul":2000000000}}]"#
            ),
        );
    }
    for barrel in 0..16 {
        let (cooper, forest) = if barrel % 2 == 0 { ("Besquerin", "Tronçais") } else { ("Lys", "Allier") };
        let (toast, tank) = (["medium", "heavy"][barrel / 2 % 2], ["T1", "T2"][barrel / 8]);
        let price = if cooper == "Lys" { r#","price":800"# } else { "" };
        say(
            "2026-01-03T08:00:00+01:00",
            "mk",
            format!(
                r#""kind":"vessel_registered","vessel":"B{barrel:02}","type":"barrel","capacity_ul":225000000,"cooper":"{cooper}","forest":"{forest}","toast":"{toast}"{price}"#
            ),
        );
        say(
            "2026-01-04T08:00:00+01:00",
            "mk",
            format!(
                r#""kind":"wine_moved","from":"{tank}","to":"B{barrel:02}","volume_ul":225000000,"purpose":"barrel_down""#
            ),
        );
    }
    for (sitting, (day, by)) in
        [("04-10", "anna"), ("04-10", "ben"), ("06-12", "anna"), ("06-12", "ben")].into_iter().enumerate()
    {
        for barrel in 0..16 {
            // The second lot is the finer one, Ben scores lower, and Besquerin is a point above Lys; the rest stands for chance.
            let chance = [0.0, 0.5, 0.0, -0.5, 0.5, 0.0, -0.5, 0.0, 0.5, -0.5][(barrel * 7 + sitting * 3) % 10];
            let score =
                13.0 + (barrel / 8) as f64 * 2.0 - (sitting % 2) as f64 + f64::from(u8::from(barrel % 2 == 0)) + chance;
            say(
                &format!("2026-{day}T10:00:00+02:00"),
                by,
                format!(r#""kind":"tasted","vessel":"B{barrel:02}","score":{score}"#),
            );
        }
    }
    let desk = Desk::new();
    desk.record(&lines);
    desk
}

fn by_kind<'a>(rows: &'a Value, kind: &str) -> &'a Value {
    rows.as_array().unwrap().iter().find(|row| row["kind"] == kind).unwrap()
}

/// What people read, without where its lines end.
fn in_one_line(told: &str) -> String {
    told.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_cooper_is_told_from_another_within_lots_for_programs_and_people() {
    let desk = cellar();
    let toasts = desk.told_json("list oak --by toast");
    assert_eq!(by_kind(&toasts, "medium")["standing"], "none_told");
    let coopers = desk.told_json("list oak --by cooper");
    let (one, other) = (by_kind(&coopers, "Besquerin"), by_kind(&coopers, "Lys"));
    // Each cooper's oak is of one forest: as they came they differ by a point, all else equal there is no number.
    assert!((one["as_it_came_points"].as_f64().unwrap() - 0.5).abs() < 0.15, "{one}");
    assert_eq!((&one["points"], &one["standing"]), (&Value::Null, &Value::from("cannot_be_told")));
    assert_eq!(one["against"][0]["tied_to"], serde_json::json!(["forest"]));
    assert_eq!((&one["barrels"], &one["tastes"], &one["lots"]), (&8.into(), &32.into(), &2.into()));
    assert_eq!((&other["price"], &one["price"]), (&Value::from(800.0), &Value::Null));
    let people = in_one_line(&desk.told("list oak --by cooper"));
    assert!(
        people.contains("Besquerin and Lys: what is the cooper's cannot be told from what is the forest's"),
        "{people}"
    );
    let sheet = in_one_line(&desk.told("sheet oak"));
    for part in ["By cooper", "By fill", "All barrels that were scored are of one kind, 1st fill", "eight times in ten"]
    {
        assert!(sheet.contains(part), "{part}: {sheet}");
    }
    assert!(desk.told("sheet oak --html").contains("<table"));
}

#[test]
fn a_forest_that_is_put_right_is_the_barrels_from_its_first_day() {
    let desk = cellar();
    // With the forests crossed, the coopers can be told.
    let crossed: Vec<String> = [1, 5, 11, 13]
        .map(|barrel| format!(r#""kind":"vessel_changed","vessel":"B{barrel:02}","forest":"Tronçais""#))
        .to_vec();
    desk.record_on("2026-07-01", &crossed);
    let coopers = desk.told_json("list oak --by cooper");
    let one = by_kind(&coopers, "Besquerin");
    assert_eq!(one["standing"], "best", "{one}");
    assert!(one["points_low"].as_f64().unwrap() > 0.0 && one["against"][0]["told"] == true, "{one}");
    assert_eq!(by_kind(&coopers, "Lys")["standing"], "below");
    let people = in_one_line(&desk.told("list oak --by cooper"));
    assert!(people.contains("Besquerin scored") && people.contains("above Lys, all else equal"), "{people}");
    let csv = desk.told("list oak --format csv");
    assert!(csv.starts_with("quality,kind,barrels,tastes,lots,standing,points,points_error"), "{csv}");
}

#[test]
fn where_nothing_was_learned_a_sentence_says_so() {
    let desk = Desk::new();
    assert!(desk.told("list oak --by cooper").contains("No barrel has a score there."));
    assert_eq!(desk.told_json("list oak"), serde_json::json!([]));
    desk.refused("list oak --lot M99", "No lot is called 'M99'");
    assert!(desk.told("sheet oak").contains("No barrel has a score there."));
    let desk = cellar();
    assert!(desk.told("list oak --by cooper --since 2027-01-01").contains("No barrel has a score there."));
    let seasoned = in_one_line(&desk.told("list oak --by seasoning"));
    assert!(seasoned.contains("The seasoning of no barrel that was scored is written down."), "{seasoned}");
    let one_lot = desk.told("list oak --by toast --lot M25");
    assert!(one_lot.contains("All of it is one lot"), "{one_lot}");
}
