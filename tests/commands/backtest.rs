//! `reckon headspace-backtest` as another program meets it.

use serde_json::Value;

use crate::desk::Desk;

#[test]
fn the_backtest_tells_how_near_the_estimate_came() {
    let desk = Desk::demo();
    let rows: Value = serde_json::from_str(&desk.done(&["reckon", "headspace-backtest", "--format", "json"])).unwrap();
    let rows = rows.as_array().unwrap();
    // All barrels, the known ones, and these in each of the three rooms.
    assert_eq!(rows.len(), 5);
    for row in rows {
        let error = |field: &str| row[field].as_u64().unwrap();
        let naive = ["fixed_rate_error_ul", "last_rate_error_ul", "room_rate_error_ul"].map(error);
        assert!(naive.iter().all(|naive| error("mean_error_ul") < *naive), "{row}");
        assert!((0.9..=1.0).contains(&row["inside_95"].as_f64().unwrap()), "{row}");
    }
    let table = desk.done(&["reckon", "headspace-backtest"]);
    assert!(table.contains("known, cave") && table.contains("each topping forecast before it was seen"), "{table}");
    let empty = Desk::new().done(&["reckon", "headspace-backtest"]);
    assert_eq!(empty, "No barrel was topped twice yet, so there is nothing to judge by.\n");
}
