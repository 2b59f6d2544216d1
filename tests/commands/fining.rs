//! `reckon fining` as people ask for it.

use crate::anywhere;
use crate::desk::{Desk, refused};

fn asked<'a>(words: &[&'a str]) -> Vec<&'a str> {
    [&["reckon", "fining"], words].concat()
}

/// Bentonite of 5 %: 0.5 g/L is 1 mL in a glass of 100 mL; 1 g/L in 225 L is 4.5 L, 2 % of the wine (27 CFR 24.246: 1 %).
#[test]
fn a_dose_is_scaled_to_glass_and_cellar() {
    let reckoned = |dose: &str| anywhere::json(&asked(&["--dose", dose, "--volume", "225L", "--stock", "5%"]));
    let half = reckoned("0.5g/L");
    assert_eq!((&half["stock_in_glass_ul"], &half["above_water_allowed"]), (&1_000.into(), &false.into()));
    let whole = reckoned("100 g/hL");
    assert_eq!((&whole["stock_ul"], &whole["amount_ug"]), (&4_500_000.into(), &225_000_000.into()));
    assert_eq!((&whole["above_water_allowed"], &whole["dose_lb_1000_gal"]), (&true.into(), &8.345.into()));
    let told = anywhere::done(&asked(&["--dose", "1", "--volume", "225", "--stock", "5"]));
    for part in ["27 CFR 24.246", "at least 10 %", "4 to 6"] {
        assert!(told.replace('\n', " ").contains(part), "{told}");
    }
}

#[test]
fn what_is_no_fining_is_refused() {
    for (words, code, part) in [
        (["--dose", "0", "--volume", "225", "--stock", "5"], 1, "A dose of 0 g/L"),
        (["--dose", "1", "--volume", "0", "--stock", "5"], 1, "No wine is said"),
        (["--dose", "1", "--volume", "225", "--stock", "80"], 1, "A stock of 80 %"),
        (["--dose", "1 oz/gal", "--volume", "225", "--stock", "5"], 2, "The unit 'oz/gal' is not known"),
    ] {
        refused(&anywhere::run(&asked(&words)), code, part);
    }
}

#[test]
fn a_trial_is_listed_shown_and_planned() {
    let facts = [
        r#""kind":"origin_declared","origin":"o","block":"Terrace","variety":"Syrah","vintage":2026,"appellation":"Hillside","colour":"red""#,
        r#""kind":"lot_opened","lot":"A","colour":"red""#,
        r#""kind":"vessel_registered","vessel":"T1","type":"tank","capacity_ul":2000000000"#,
        r#""kind":"wine_received","vessel":"T1","lot":"A","parts":[{"origin":"o","volume_ul":1000000000}]"#,
        r#""kind":"fining_trial","trial":"F1","vessel":"T1","material":"bentonite","stock_pct":5,"glasses":[{"dose_g_l":0,"text":"cloudy"},{"dose_g_l":0.4,"text":"clear","turbidity_ntu":1.2}],"chosen_g_l":0.4"#,
    ];
    let desk = Desk::with("2026-11-20", &facts);
    assert!(desk.told(&["list", "finings"]).contains("bentonite"));
    assert!(desk.told(&["show", "fining", "F1"]).contains("clear"));
    let plan = desk.told_json(&["plan", "fining", "F1", "--begin", "fine T1"]);
    assert_eq!((&plan["amount_ug"], &plan["solution_ul"]), (&400_000_000.into(), &8_000_000.into()));
    assert!(
        desk.told(&["export"])
            .contains(r#""kind":"work_set","work":"fine T1","task":"treating","material":"bentonite""#)
    );
    desk.refused(&["plan", "fining", "F2"], "No fining is called 'F2'. Did you mean 'F1'?");
}
