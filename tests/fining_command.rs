//! `reckon fining` as people ask for it.
#![allow(clippy::unwrap_used)] // in what the tests share

use std::process::{Command, Output};

use serde_json::Value;

fn run(words: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_barrelwalk")).args(["reckon", "fining"]).args(words).output().unwrap()
}

/// Bentonite of 5 %: 0.5 g/L is 1 mL in a glass of 100 mL; 1 g/L in 225 L is 4.5 L, 2 % of the wine (27 CFR 24.246: 1 %).
#[test]
fn a_dose_is_scaled_to_glass_and_cellar() {
    let reckoned = |dose: &str| -> Value {
        let output = run(&["--dose", dose, "--volume", "225L", "--stock", "5%", "--format", "json"]);
        serde_json::from_slice(&output.stdout).unwrap()
    };
    let half = reckoned("0.5g/L");
    assert_eq!((&half["stock_in_glass_ul"], &half["above_water_allowed"]), (&1_000.into(), &false.into()));
    let whole = reckoned("100 g/hL");
    assert_eq!((&whole["stock_ul"], &whole["amount_ug"]), (&4_500_000.into(), &225_000_000.into()));
    assert_eq!((&whole["above_water_allowed"], &whole["dose_lb_1000_gal"]), (&true.into(), &8.345.into()));
    let told = String::from_utf8(run(&["--dose", "1", "--volume", "225", "--stock", "5"]).stdout).unwrap();
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
        let output = run(&words);
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(output.status.code() == Some(code) && told.contains(part), "{told}");
    }
}
