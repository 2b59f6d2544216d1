//! `reckon evaporation` as another program meets it.

use barrelwalk::cellar::core::moment::Moment;
use barrelwalk::desk::create_demo;

use crate::desk::Desk;

/// What is asked.
const ASKED: [&str; 2] = ["reckon", "evaporation"];

fn morning() -> Moment {
    Moment::parse("2025-11-25T06:41:00+01:00").unwrap()
}

#[test]
fn months_are_listed_for_programs_and_people() {
    let desk = Desk::bare();
    create_demo(&desk.path("c"), morning()).unwrap();
    let all = desk.told_json(&ASKED);
    let rows = all.as_array().unwrap();
    assert!(rows.len() > 12);
    for row in rows {
        let number = |field: &str| row[field].as_f64().unwrap();
        let Some(daily) = row["ul_per_barrel_and_day"].as_f64() else { continue };
        let expected = number("evaporation_ul") / number("barrel_days");
        assert!((daily - expected).abs() <= 0.01 * expected + 1.0, "{row}");
    }
    let room = rows[0]["room"].as_str().unwrap();
    let one = desk.told(&[&ASKED[..], &["--room", room, "--format", "csv"]].concat());
    assert_eq!(one.lines().next(), Some("room,month,evaporation_l,barrel_days,ul_per_barrel_and_day"));
    assert_eq!(one.lines().count(), 1 + rows.iter().filter(|row| row["room"] == room).count());
    let people = desk.told(&ASKED);
    assert!(people.lines().next().unwrap().contains("mL per barrel and day"), "{people}");
}

#[test]
fn a_room_that_is_not_there_and_a_cellar_that_is_empty_give_sentences() {
    let desk = Desk::new();
    assert!(desk.told(&ASKED).ends_with("so nothing is known by month.\n"));
    desk.refused(&[&ASKED[..], &["--room", "attic"]].concat(), "No room is called 'attic'.");
}
